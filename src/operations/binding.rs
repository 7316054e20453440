//! An agent that is meant to bind something besides water, such as calcium chloride an alcohol.

use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Context;
use crate::evaluate::context::Taken;
use crate::kinds::Kind;
use crate::matter::ledger::Num;
use crate::matter::portion::Portion;
use crate::resolve::definitions::{Agent, Sub};

/// Share of what is to be bound that may stay without a finding. Our own figure.
const STAYS: f64 = 0.05;

/// What is bound on purpose: the substance, the moles of it that a mole of agent takes, and where
/// that is asked for.
#[derive(Clone, Copy)]
pub struct Meant {
    /// The substance.
    pub sub: Sub,
    each: f64,
    molar: (f64, f64),
    span: crate::source::Span,
}

/// What the statement's `binding` clause asks for.
///
/// # Errors
/// When the agent is not known to bind it.
pub fn meant(context: &Context<'_>, agent: Sub, properties: &Agent) -> Result<Option<Meant>, Box<Diagnostic>> {
    let Some((sub, span)) = context.substance("bound") else { return Ok(None) };
    let (other, own) = (context.defs.substance(sub), context.defs.substance(agent));
    let bonds = properties.bonds.as_ref().filter(|bonds| other.is(&bonds.value.1));
    let (Some(bonds), Some(molar), Some(own_molar)) = (bonds, other.molar_mass(), own.molar_mass()) else {
        return Err(Box::new(
            Diagnostic::new(
                Code::NotKnown,
                span,
                format!("whether {} binds {}, and how much, is not known", own.display(), other.display()),
            )
            .help(
                "calcium_chloride binds alcohols; for another agent declare it with a `bonds` line and its source, or leave `binding` out",
            ),
        ));
    };
    Ok(Some(Meant { sub, each: bonds.value.0, molar: (molar, own_molar), span }))
}

impl Meant {
    /// Mass of agent that binds all of it, besides the agent for the water.
    pub fn agent_for(&self, context: &mut Context<'_>, liquid: &Portion, name: &str) -> Option<Num> {
        let there = liquid.contents.get(&self.sub).copied()?;
        let need = there.si / self.molar.0 / self.each * self.molar.1;
        let what = format!("mass of {name} that binds {}", context.defs.substance(self.sub).display());
        Some(context.eval.ledger.model("moles bound to a mole of agent, as declared", what, Kind::Mass, need, &[there]))
    }

    /// Mass that the agent binds; a finding when that leaves more than a little.
    pub fn bound(&self, context: &mut Context<'_>, liquid: &Portion, agent: &Taken, agent_sub: Sub, capacity: f64, water: f64) -> f64 {
        let mass = agent.portion.of(agent_sub);
        // The agent that the water takes is not there for the rest.
        let free = (mass - water / capacity.max(1e-9)).max(0.0);
        let there = liquid.of(self.sub);
        let takes = free / self.molar.1 * self.each * self.molar.0;
        let name = context.defs.substance(self.sub).display();
        let grams = |kg: f64| format!("{} g", crate::kinds::significant(kg * 1e3, 3));
        if takes < (1.0 - STAYS) * there {
            let need = there / self.molar.0 / self.each * self.molar.1 + water / capacity.max(1e-9);
            context.eval.findings.push(
                Diagnostic::new(
                    Code::DryingAgent,
                    self.span,
                    format!("{} of {} binds {} of {name}; {} is there", grams(mass), agent.name, grams(takes), grams(there)),
                )
                .help(format!("use {}, or `enough`; or wash most of it out with water first", grams(need))),
            );
        }
        context.expect(format!("The agent can bind {} of {name}; {} is there.", grams(takes), grams(there)));
        takes.min(there)
    }
}
