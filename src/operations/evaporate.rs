//! Taking a solvent off.

use super::beyond;
use super::distil::{celsius, within};
use super::still::{self, Shares};
use crate::chemistry::distillation::Column;
use crate::evaluate::context::Done;
use crate::evaluate::{Context, Fact};
use crate::kinds::{Kind, show};
use crate::matter::boiling;
use crate::matter::model::EVAPORATION;
use crate::matter::portion::Portion;
use crate::resolve::definitions::Sub;

/// Bath of an evaporator where none is stated, K: 40 °C, common practice.
const WARM: f64 = 313.15;

/// Pressure of an evaporator where none is stated, Pa: what a membrane pump reaches with ease. Our own figure.
const PUMPED: f64 = 2000.0;

/// Share of what boils that wets the residue, whatever the vacuum. Our own figure.
const WETS: f64 = 0.01;

/// Share of the residue from which the solvent in it is spoken of. Our own figure.
const SPOKEN: f64 = 0.03;

/// Takes off what boils, as on a rotary evaporator, until what is left boils at the bath's temperature at that
/// pressure: distillate, residue. Where no model answers, what by itself boils below the bath's temperature goes.
///
/// # Errors
/// When an amount is still undecided.
pub fn evaporate(context: &mut Context<'_>) -> Done {
    let mixture = context.one("mixture")?;
    context.settled(&mixture)?;
    within(context)?;
    let p = context.figure("pressure").map_or(PUMPED, |figure| figure.middle());
    let warmest = context.figure("bath").map_or(WARM, |figure| figure.middle());
    let whole = mixture.portion.mass();
    let work = still::Work {
        p,
        column: Column::default(),
        watched: false,
        ranges: Vec::new(),
        held: WETS,
        first: 0.0,
        warmest,
        granted: still::GRANTED,
    };
    let worked = still::work(&mixture.portion, context.defs, &work);
    let mut shares: Shares = match &worked {
        Ok(worked) => {
            context.eval.assumed.extend(worked.liquids.said.clone());
            context.model(worked.liquids.model.what);
            // Nothing runs ahead of anything here.
            worked.shares(&mixture.portion).into_iter().map(|(sub, parts)| (sub, parts.into_iter().skip(1).collect())).collect()
        }
        Err(why) => {
            context
                .eval
                .assumed
                .insert(format!("What is taken off is worked out by the boiling points of the pure substances, since {}.", why.reason()));
            let boils = |sub: &Sub| boiling::boiling_point(context.defs.substance(*sub), p).is_some_and(|t| t < warmest);
            mixture.portion.contents.keys().filter(|sub| boils(sub)).map(|sub| (*sub, vec![1.0 - WETS, WETS])).collect()
        }
    };
    for sub in mixture.portion.contents.keys().filter(|sub| context.defs.substance(**sub).is_gas()) {
        shares.insert(*sub, vec![1.0]);
    }
    context.model(EVAPORATION.what);
    let received = still::receive(context, &mixture.portion, &shares, 2, EVAPORATION.what);
    let over = received.first().map_or(0.0, |distillate| distillate.mass());
    if let Some(bath) = context.figure("bath")
        && over < 0.005 * whole
    {
        let lowest = mixture.portion.contents.keys().filter_map(|sub| boiling::boiling_point(context.defs.substance(*sub), p));
        let fact = Fact::Bath { span: bath.span, bath: bath.top(), top: lowest.fold(f64::INFINITY, f64::min) };
        context.eval.facts.push(fact);
        context.eval.stopped = true;
        return Ok(());
    }
    // What stays of the solvent, and what goes with it, is decided where it ends.
    let ends = worked.as_ref().map_or(warmest, |worked| worked.run.pot.1.min(warmest));
    if let Some(distillate) = received.first() {
        beyond::look_at(context, &distillate.masses(), ends);
    }
    if worked.is_ok() {
        stays(context, &mixture.portion, &received, (warmest, p));
    }
    for (role, mut portion) in ["distillate", "residue"].into_iter().zip(received) {
        context.settle(&mut portion);
        context.give(role, portion, whole);
    }
    Ok(())
}

/// Says how much of the solvent stays, where it is more than wets the residue.
fn stays(context: &mut Context<'_>, before: &Portion, received: &[Portion], (warmest, p): (f64, f64)) {
    let [distillate, residue] = received else { return };
    let Some(solvent) = distillate.main() else { return };
    let left = residue.of(solvent);
    if left < SPOKEN * residue.mass() || left < 2.0 * WETS * before.of(solvent) {
        return;
    }
    let named = context.outcome("residue").and_then(|(_, binding, _)| binding);
    let called = named.map_or_else(|| "residue".to_owned(), |id| context.procedure.binding(id).name.replace('_', " "));
    context.expect(format!(
        "{} of {} stays in the {called}: at {} and {} it boils no more; a better vacuum takes out more.",
        show(left, Kind::Mass, 2),
        context.defs.substance(solvent).display(),
        celsius(warmest),
        show(p, Kind::Pressure, 2)
    ));
}
