//! The trap under a return condenser: filled with water, or drained of one layer of the condensate.

use super::course::Course;
use super::{react, take_off};
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::context::Done;
use crate::evaluate::{Context, Fact};
use crate::kinds::{Kind, show, significant};
use crate::matter::boiling;
use crate::matter::mixture::{self, Layers, models};
use crate::matter::portion::{Masses, Portion};
use crate::resolve::definitions::Sub;

/// Share of a vapour, by mass, from which what is not water in it carries the water over. Our own figure.
const CARRIES: f64 = 0.2;

/// Share of that which is enough to make a layer of its own with water, where it does not mix with it. Our own figure.
const APART: f64 = 0.1;

/// Water goes to the trap, all but the share kept, with what it dissolves of the liquids that boil
/// with it.
///
/// # Errors
/// When the liquid above the water is wanted and the trap's size is not known.
pub fn fill(context: &mut Context<'_>, before: &Portion, portion: &mut Portion, water: Sub, course: Option<&Course>) -> Done {
    let whole = before.mass();
    // Where a layer was seen to part there is one; where there is none that is a finding, and it goes on as if mended.
    let none = !course.is_some_and(|course| course.parts_in_trap) && no_layer(context, before, portion, water);
    if let Some(course) = course.filter(|_| !none) {
        let (came, most) = (before.of(water), super::heat::water_at_most(context, before, water));
        let ends = if most > came { ends(came, most) } else { String::new() };
        if !ends.is_empty() {
            context.expect(ends);
        }
        poured_back(context);
        return take_off::in_trap(context, course, portion, "trapped");
    }
    let mut trapped = Portion { temperature: mixture::ROOM, ..Portion::default() };
    if let Some(here) = portion.contents.get(&water).copied() {
        let moved = context.eval.ledger.model(models::DRIVEN, "water in the trap", Kind::Mass, here.si * (1.0 - react::KEPT), &[here]);
        let left = context.eval.ledger.minus("water left in the flask", Kind::Mass, here, moved);
        portion.contents.insert(water, left);
        trapped.contents.insert(water, moved);
        let soluble: Vec<(Sub, f64)> = portion
            .contents
            .iter()
            .filter(|(sub, mass)| **sub != water && mass.si > 0.05 * whole)
            .filter_map(|(sub, mass)| {
                let substance = context.defs.substance(*sub);
                let takes = substance.solubility_in(None).first().map(|(_, s)| *s)?;
                // Half the saturated figure: the trap's water meets a mixture, not the pure liquid.
                let dissolved = 0.5 * takes * moved.si / 998.2;
                (substance.is_solid(mixture::ROOM) == Some(false)).then_some((*sub, dissolved.min(0.1 * mass.si)))
            })
            .collect();
        for (sub, dissolved) in soluble {
            if let Some(mass) = portion.contents.get(&sub).copied() {
                let name = context.defs.substance(sub).display();
                let moved = context.eval.ledger.model(
                    "what water in a trap dissolves",
                    format!("{name} in the trap"),
                    Kind::Mass,
                    dissolved,
                    &[mass],
                );
                let left = context.eval.ledger.minus(format!("{name} left in the flask"), Kind::Mass, mass, moved);
                portion.contents.insert(sub, left);
                trapped.contents.insert(sub, moved);
            }
        }
        let mut assumed = mixture::Assumed::new();
        if let Ok(volume) = mixture::volume(&trapped.masses(), context.defs, &mut assumed) {
            let size = context.apparatus("trap").and_then(|(_, size, _)| size);
            let fills = match size {
                Some(size) if volume > size => {
                    format!(" The trap holds {} mL: drain it in time, into the same vessel.", significant(size * 1e6, 3))
                }
                _ => String::new(),
            };
            let came = before.of(water);
            let most = super::heat::water_at_most(context, before, water);
            context.expect(format!(
                "About {} mL collect in the trap's water layer.{fills} {}",
                significant(volume * 1e6, 2),
                ends(came, most)
            ));
            overlay(context, portion, size, volume, water, whole)?;
        }
    }
    context.give("trapped", trapped, whole);
    Ok(())
}

/// How much water ends it.
fn ends(came: f64, most: f64) -> String {
    format!(
        "{} of water came with the charge; a reaction that goes to its end brings {} over in all.",
        show(came, Kind::Mass, 2),
        show(most, Kind::Mass, 2)
    )
}

/// Says what becomes of the liquid above the water where the author does not name it; whether that is so.
fn poured_back(context: &mut Context<'_>) -> bool {
    let back = context.outcome("carrier").is_some_and(|(_, binding, _)| binding.is_none());
    if back {
        context.expect("What stands above the water in the trap at the end is poured back into the flask.".to_owned());
    }
    back
}

/// Notes that what comes over mixes with water, at the start and at the end, so that no layer of it stands in the trap;
/// whether that is so.
fn no_layer(context: &mut Context<'_>, before: &Portion, after: &Portion, water: Sub) -> bool {
    let mut most: Option<(Sub, f64)> = None;
    for portion in [before, after] {
        let vapour = vapour(context, portion, water);
        let organic: f64 = vapour.iter().filter(|(sub, _)| **sub != water).map(|(_, share)| share).sum();
        let apart = |sub: &Sub| *sub != water && !context.defs.substance(*sub).is_miscible();
        let apart: f64 = vapour.iter().filter(|(sub, _)| apart(sub)).map(|(_, share)| share).sum();
        if organic < CARRIES || apart > APART * organic {
            return false;
        }
        let carriers = vapour.iter().filter(|(sub, _)| **sub != water).map(|(sub, share)| (*sub, *share));
        most = most.or(carriers.max_by(|a, b| a.1.total_cmp(&b.1)));
    }
    if let Some((carrier, share)) = most {
        let fact = Fact::NoLayer { span: context.span(), carrier, share };
        context.eval.facts.push(fact);
    }
    most.is_some()
}

/// The liquid that stands above the water when the heat is taken away: it goes back into the flask, or is
/// a portion of its own where the author names it.
fn overlay(context: &mut Context<'_>, portion: &mut Portion, size: Option<f64>, filled: f64, water: Sub, whole: f64) -> Done {
    if context.outcome("carrier").is_none() || poured_back(context) {
        return Ok(());
    }
    let Some(size) = size else {
        return Err(Box::new(
            Diagnostic::new(Code::CannotSize, context.span(), "how much liquid stands above the water depends on the size of the trap")
                .help("give it: `parting water in water_trap 10 mL`"),
        ));
    };
    let mut carrier = Portion { temperature: mixture::ROOM, ..Portion::default() };
    let vapour = vapour(context, portion, water);
    let share: f64 = vapour.iter().filter(|(sub, _)| **sub != water).map(|(_, mass)| mass).sum();
    let above: Masses = vapour.into_iter().filter(|(sub, _)| *sub != water).map(|(sub, mass)| (sub, mass / share.max(1e-30))).collect();
    let density = mixture::volume(&above, context.defs, &mut mixture::Assumed::new()).map_or(800.0, |volume| 1.0 / volume.max(1e-9));
    let mass = (size - filled).max(0.0) * density;
    for (sub, part) in above {
        move_over(context, portion, &mut carrier, sub, part * mass, "above the water in the trap");
    }
    context.give("carrier", carrier, whole);
    Ok(())
}

/// kg of each in a kilogram of vapour over the portion with a little water in it.
fn vapour(context: &Context<'_>, portion: &Portion, water: Sub) -> Masses {
    let mut liquid = portion.liquid(Some(water));
    liquid.entry(water).or_insert(1e-3 * portion.mass());
    let Some(boil) = boiling::boils(&liquid, context.defs, context.room()) else { return Masses::new() };
    let weigh = |sub: &Sub, y: f64| context.defs.substance(*sub).molar_mass().unwrap_or(0.0) * y;
    let all: f64 = boil.vapour.iter().map(|(sub, y)| weigh(sub, *y)).sum();
    boil.vapour.iter().map(|(sub, y)| (*sub, weigh(sub, *y) / all.max(1e-30))).filter(|(_, mass)| *mass > 0.0).collect()
}

fn move_over(context: &mut Context<'_>, from: &mut Portion, to: &mut Portion, sub: Sub, mass: f64, whither: &str) {
    let Some(there) = from.contents.get(&sub).copied() else { return };
    let name = context.defs.substance(sub).display();
    let moved = context.eval.ledger.model(models::DRAINED, format!("{name} {whither}"), Kind::Mass, mass.min(0.5 * there.si), &[there]);
    let left = context.eval.ledger.minus(format!("{name} left in the flask"), Kind::Mass, there, moved);
    from.contents.insert(sub, left);
    to.contents.insert(sub, moved);
}

/// One layer of the condensate is drained all the time, the other runs back. The condensate has the make-up
/// of the vapour over what has reacted; the drained layer carries off what it holds beside the water. Returns
/// whether the work can go on.
///
/// # Errors
/// As for [`take_off::in_trap`].
pub fn drain(
    context: &mut Context<'_>,
    before: &Portion,
    portion: &mut Portion,
    water: Sub,
    side: &str,
    course: Option<&Course>,
) -> Result<bool, Box<Diagnostic>> {
    let whole = before.mass();
    if course.is_none() {
        context.model(models::DRAINED);
    }
    // Over what has reacted, with the water still in it: a plain mean of a charge that changes.
    let condensate = vapour(context, portion, water);
    let layers = mixture::layers(&condensate, context.defs, &mut context.eval.assumed)
        .unwrap_or(Layers { single: Some("a density that is needed is not known".to_owned()), ..Layers::default() });
    let drains_lower = side == "lower";
    let fact = Fact::Parting {
        statement: context.number,
        span: context.span(),
        organic: layers.organic_density,
        aqueous: layers.aqueous_density,
        upper: "the layer that runs back".to_owned(),
        lower: "the layer that is drained".to_owned(),
        claims_organic_upper: Some(drains_lower),
        by_order: None,
        single: layers.single.clone(),
        main: layers.organic.iter().max_by(|a, b| a.1.total_cmp(b.1)).map(|(sub, _)| *sub),
    };
    context.eval.facts.push(fact);
    if layers.single.is_some() {
        context.eval.stopped = true;
        return Ok(false);
    }
    if let Some(course) = course {
        take_off::in_trap(context, course, portion, "drained")?;
        return Ok(true);
    }
    let mut drained = Portion { temperature: mixture::ROOM, ..Portion::default() };
    let in_layer = layers.aqueous.get(&water).copied().unwrap_or(0.0);
    if let Some(here) = portion.contents.get(&water).copied() {
        let gone = here.si * (1.0 - react::KEPT);
        let moved = context.eval.ledger.model(models::DRAINED, "water drained", Kind::Mass, gone, &[here]);
        let left = context.eval.ledger.minus("water left in the flask", Kind::Mass, here, moved);
        portion.contents.insert(water, left);
        drained.contents.insert(water, moved);
        for (sub, mass) in &layers.aqueous {
            if *sub != water {
                move_over(context, portion, &mut drained, *sub, mass / in_layer.max(1e-30) * gone, "drained with the water");
            }
        }
        let volume = mixture::volume(&drained.masses(), context.defs, &mut mixture::Assumed::new()).unwrap_or(0.0);
        let other = if drains_lower { "upper" } else { "lower" };
        context.expect(format!(
            "About {} of the {side} layer is drained in all, with {} of water in it ({} came with the charge); the {other} layer runs back. No more parts when it is over.",
            show(volume, Kind::Volume, 2),
            show(gone, Kind::Mass, 2),
            show(before.of(water), Kind::Mass, 2)
        ));
    }
    context.give("drained", drained, whole);
    Ok(true)
}
