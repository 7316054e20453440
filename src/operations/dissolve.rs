//! Pouring a portion into a liquid, dissolving one thing in another, and bringing a portion to an end
//! point with an acid or a base.

use std::collections::BTreeMap;

use super::{keep, pace, react, warmth};
use crate::chemistry::stoichiometry;
use crate::diagnostics::Diagnostic;
use crate::evaluate::context::{Done, Taken};
use crate::evaluate::{Context, Fact, amounts};
use crate::kinds::{Kind, show, significant};
use crate::matter::mixture::models;
use crate::matter::portion::Portion;
use crate::resolve::definitions::Sub;

/// How much more than the equal moles an end point takes, as a fraction. Our own figure: paper turns a
/// little past it.
const PAST: f64 = 0.05;

/// The temperature at which two portions come together, K.
fn mixed(context: &Context<'_>, one: &Portion, other: &Portion) -> f64 {
    let (a, b) = (react::heat_capacity(context, one), react::heat_capacity(context, other));
    if a + b > 0.0 { (a * one.temperature + b * other.temperature) / (a + b) } else { one.temperature }
}

/// What goes in and the liquid that it goes into, joined before anything happens between them.
fn together(context: &mut Context<'_>) -> Result<(Taken, Taken, Portion), Box<Diagnostic>> {
    let what = context.one("what")?;
    context.settled(&what)?;
    let liquid = context.one("liquid")?;
    context.settled(&liquid)?;
    let start = mixed(context, &liquid.portion, &what.portion);
    warmth::poured(context, &liquid, &what);
    keep::portions(context, &what);
    let mut whole = liquid.portion.clone();
    whole.join(&what.portion, &mut context.eval.ledger, context.defs, &liquid.name);
    whole.temperature = start;
    Ok((what, liquid, whole))
}

/// A portion into a liquid, as when what was left of a reaction is destroyed or thrown down. The
/// temperature that it would reach by itself is worked out from the heats that are known.
///
/// # Errors
/// When an amount cannot be worked out.
pub fn quench(context: &mut Context<'_>) -> Done {
    let (what, liquid, mut whole) = together(context)?;
    let start = whole.temperature;
    pace::addition(context, &what, 1)?;
    super::mix::react_and_warm(context, &mut whole, &[&what.portion])?;
    pace::cooling(context, &liquid.portion, &[(&what, 1)], &whole);
    super::part::gas_sentence(context, &whole, "leave the vessel open, and let the foam fall before more goes in");
    peak(context, &mut whole, start);
    keep::keep(context, &mut whole)?;
    context.record().temperature = Some(whole.temperature);
    context.settle(&mut whole);
    let mass = whole.mass();
    context.give("whole", whole, mass);
    Ok(())
}

/// Brings a portion to the temperature that the heats noted so far come to, at most to where it boils.
fn peak(context: &mut Context<'_>, whole: &mut Portion, start: f64) {
    let capacity = react::heat_capacity(context, whole);
    let (dilution, heat) = (context.record().dilution, context.record().heat);
    let rise = dilution + if capacity > 0.0 { heat / capacity } else { 0.0 };
    // What hardly warms does not come to its boiling point.
    let boils = (rise > 1.0).then(|| context.boiling(&whole.liquid(context.defs.find("water")))).flatten();
    whole.temperature = (start + rise).min(boils.unwrap_or(f64::INFINITY).max(start));
}

/// One thing in a liquid. What does not dissolve is noted; the heat counts where it is known.
///
/// # Errors
/// When an amount cannot be worked out.
pub fn dissolve(context: &mut Context<'_>) -> Done {
    let (what, liquid, mut whole) = together(context)?;
    let start = whole.temperature;
    context.model(models::DISSOLVING);
    react::contact(context, &mut whole)?;
    let held = ["temperature", "ceiling", "band"].iter().any(|slot| context.figure(slot).is_some());
    if let Some(figure) = context.figure("temperature") {
        whole.temperature = figure.middle();
    }
    keep::keep(context, &mut whole)?;
    context.settle(&mut whole);
    warmth::dissolved(context, &[&what.portion], &whole);
    warmth::sum_up(context, start, &whole);
    pace::cooling(context, &liquid.portion, &[(&what, 1)], &whole);
    if !held {
        peak(context, &mut whole, start);
        context.settle(&mut whole);
    }
    context.record().temperature = Some(whole.temperature);
    let left = what.portion.contents.keys().filter_map(|sub| Some((*sub, *whole.solid.get(sub)?, what.portion.of(*sub))));
    if let Some((sub, undissolved, of)) = left.max_by(|a, b| a.1.total_cmp(&b.1))
        && context.defs.substance(sub).formula.is_some()
    {
        let fact = Fact::Undissolved { span: context.span(), sub, left: undissolved, of, temperature: whole.temperature };
        context.eval.facts.push(fact);
        context.expect(format!(
            "About {} of {} stays undissolved at {}.",
            show(undissolved, Kind::Mass, 2),
            context.defs.substance(sub).display(),
            show(whole.temperature, Kind::Temperature, 2)
        ));
    }
    let mass = whole.mass();
    context.give("whole", whole, mass);
    Ok(())
}

/// Moles of `agent` that the reactions on contact would use up if there were plenty of it.
fn used_up(context: &Context<'_>, portion: &Portion, agent: Sub) -> f64 {
    let defs = context.defs;
    let mut moles: BTreeMap<Sub, f64> = portion.contents.keys().map(|sub| (*sub, portion.moles(*sub, defs))).collect();
    let plenty = 100.0 * moles.values().sum::<f64>().max(1e-12);
    *moles.entry(agent).or_insert(0.0) += plenty;
    for reaction in context.procedure.contact.iter().chain(&defs.contact) {
        let numbers = reaction.numbers();
        let n0: Vec<f64> = numbers.keys().map(|sub| moles.get(sub).copied().unwrap_or(0.0)).collect();
        let nu: Vec<f64> = numbers.values().copied().collect();
        if let Some((_, extent)) = stoichiometry::limiting(&n0, &nu) {
            for (sub, nu) in &numbers {
                *moles.entry(*sub).or_insert(0.0) += nu * extent;
            }
        }
    }
    let own = portion.moles(agent, defs);
    (own + plenty - moles.get(&agent).copied().unwrap_or(0.0) - own).max(0.0)
}

/// An acid or a base to an end point: `enough` is what everything that reacts with it takes, and a
/// little more, so that the paper turns.
///
/// # Errors
/// When an amount cannot be worked out.
pub fn dose(context: &mut Context<'_>) -> Done {
    let pot = context.one("mixture")?;
    context.settled(&pot)?;
    let mut agent = context.one("agent")?;
    let sub = agent.material.as_ref().map(|material| material.sub).or_else(|| dosed(context, &agent));
    let Some(sub) = sub else { return context.settled(&agent) };
    let need = used_up(context, &pot.portion, sub);
    if agent.enough.is_some() {
        let Some(material) = agent.material.clone() else { return context.settled(&agent) };
        let Some(molar) = context.defs.substance(sub).molar_mass().filter(|_| need > 0.0) else { return context.settled(&agent) };
        let strength = amounts::mass_fraction(context.defs, &material)?;
        let operands: Vec<_> = pot.portion.contents.values().copied().collect();
        let mass = context.eval.ledger.model(
            "what reacts with it, and 5 % more",
            format!("mass of {} to the end point", agent.name),
            Kind::Mass,
            need * (1.0 + PAST) * molar / strength.max(1e-9),
            &operands,
        );
        context.size(&mut agent, mass)?;
    }
    let brings = agent.portion.moles(sub, context.defs);
    let start = mixed(context, &pot.portion, &agent.portion);
    warmth::poured(context, &pot, &agent);
    keep::portions(context, &agent);
    let mut whole = pot.portion.clone();
    whole.join(&agent.portion, &mut context.eval.ledger, context.defs, &pot.name);
    react::contact(context, &mut whole)?;
    context.settle(&mut whole);
    warmth::dissolved(context, &[&agent.portion], &whole);
    warmth::sum_up(context, start, &whole);
    pace::cooling(context, &pot.portion, &[(&agent, 1)], &whole);
    let fact = Fact::Dosed { span: agent.amount_span, agent: sub, need, brings };
    context.eval.facts.push(fact);
    super::part::gas_sentence(context, &whole, "leave the vessel open, and let the foam fall before more goes in");
    keep::keep(context, &mut whole)?;
    context.settle(&mut whole);
    let thrown: Vec<(Sub, f64)> = whole
        .solid
        .iter()
        .map(|(sub, mass)| (*sub, mass - pot.portion.solid.get(sub).copied().unwrap_or(0.0)))
        .filter(|(_, mass)| *mass > 1e-6)
        .collect();
    for (sub, mass) in thrown {
        context.expect(format!(
            "About {} g of {} comes out as a solid.",
            significant(mass * 1e3, 2),
            context.defs.substance(sub).display()
        ));
    }
    context.put(&pot, whole);
    Ok(())
}

/// The acid or base of a portion that is dosed with.
fn dosed(context: &Context<'_>, agent: &Taken) -> Option<Sub> {
    agent.portion.contents.keys().copied().find(|sub| {
        let substance = context.defs.substance(*sub);
        substance.gives_acid() > 0.0 || substance.takes_acid.is_some()
    })
}
