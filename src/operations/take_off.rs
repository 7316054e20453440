//! Water taken off a boiling liquid, as it was followed in time: how far the reactions go, and what lies on the bed,
//! in the trap and in the flask at the stated time.

use std::sync::Arc;

use super::beyond;
use super::course::{self, Begins, Course, Far, Limit, Way};
use super::react;
use crate::evaluate::Context;
use crate::evaluate::context::Done;
use crate::kinds::Kind;
use crate::matter::mixture::{self, models};
use crate::matter::portion::{Masses, Portion};
use crate::resolve::definitions::Sub;

/// How long a boiling is followed whose time is not stated, s. Our own figure.
const UNSTATED: f64 = 6.0 * 3600.0;

/// What a statement begins with, where it says how long it lasts or that this is not stated.
pub fn begins(context: &Context<'_>, name: &str, cold: f64, portion: &Portion, reactions: Vec<usize>, way: Way) -> Option<Begins> {
    let stated = context.figure("time").map(|time| time.middle()).filter(|time| *time > 0.0);
    if stated.is_none() && context.not_stated("time").is_none() {
        return None;
    }
    let power = context.figure("power").map(|power| power.middle() * context.eval.scale / context.eval.held).filter(|power| *power > 0.0);
    Some(Begins {
        name: name.to_owned(),
        portion: portion.clone(),
        scale: context.eval.scale,
        cold,
        reactions,
        time: stated.unwrap_or(UNSTATED),
        stated: stated.is_some(),
        by_size: power.is_some() || context.open("extractor"),
        power,
        way,
    })
}

/// Reactions run while the water is carried off: as far as the course says where that can be followed, else as if
/// all but a hundredth of the water were gone, and why that is so is said.
///
/// # Errors
/// When an amount or an equilibrium cannot be worked out.
pub fn react(
    context: &mut Context<'_>,
    name: &str,
    cold: f64,
    portion: &mut Portion,
    water: Sub,
    way: Way,
) -> Result<Option<Arc<Course>>, Box<crate::diagnostics::Diagnostic>> {
    let numbers = context.reactions("reactions");
    let mut begun = portion.clone();
    let resting = react::run_stated(context, &mut begun, &numbers)?;
    let running: Vec<usize> = resting.iter().map(|(number, _)| *number).collect();
    let why = match begins(context, name, cold, &begun, running, way) {
        Some(begins) => match course::followed(&begins, context.procedure, context.defs, context.number, Far::Stated) {
            Ok(course) => {
                course::note(context, begins);
                context.model(models::FOLLOWED);
                context.model(course.model.what);
                context.eval.assumed.extend(course.said.clone());
                // A flask that runs dry is told by itself; how hot it gets then says nothing.
                let moments = if course.limit == Limit::Flask { 1 } else { course.vapours.len() };
                for (t, vapour) in course.vapours.iter().take(moments) {
                    beyond::look(context, vapour.iter().copied(), *t);
                }
                if context.eval.scale != 1.0 {
                    context.eval.assumed.insert(
                        "What is followed in time is followed in the batch as written: heat, extractor and trap are taken to grow with the batch, save a heater whose power is stated."
                            .to_owned(),
                    );
                }
                *portion = begun;
                portion.temperature = course.at_time.t;
                react::as_followed(context, portion, &resting, &course.stands.extents);
                return Ok(Some(course));
            }
            Err(why) => why,
        },
        None => "no time is given for it".to_owned(),
    };
    context.eval.assumed.insert(format!(
        "How the water is carried off the {} is not followed in time ({why}): 99 % of it is taken to go.",
        name.replace('_', " ")
    ));
    *portion = begun;
    react::rest(context, portion, &resting, water)?;
    Ok(None)
}

/// Of what is in the flask and apart from it when the work ends, the share of each that `part` holds.
#[must_use]
pub fn shares(course: &Course, part: &Masses) -> Masses {
    let stands = &course.stands;
    let of = |masses: &Masses, sub: &Sub| masses.get(sub).copied().unwrap_or(0.0);
    let share = |(sub, mass): (&Sub, &f64)| {
        let whole = of(&stands.flask, sub) + of(&stands.apart, sub) + of(&stands.taken, sub);
        (*mass > 0.0 && whole > 0.0).then(|| (*sub, (mass / whole).clamp(0.0, 1.0)))
    };
    part.iter().filter_map(share).collect()
}

/// Moves these shares of what is in `from`, and notes each move.
pub fn carry(context: &mut Context<'_>, from: &mut Portion, to: &mut Portion, shares: &Masses, whole: &Portion, whither: &str) {
    for (sub, share) in shares {
        let (Some(here), Some(all)) = (from.contents.get(sub).copied(), whole.contents.get(sub).copied()) else { continue };
        let name = context.defs.substance(*sub).display();
        let mass = (all.si * share).min(here.si);
        if mass <= 0.0 {
            continue;
        }
        let moved = context.eval.ledger.model(models::FOLLOWED, format!("{name} {whither}"), Kind::Mass, mass, &[all]);
        let left = context.eval.ledger.minus(format!("{name} left in the flask"), Kind::Mass, here, moved);
        if left.si > 0.0 {
            from.contents.insert(*sub, left);
        } else {
            from.contents.remove(sub);
        }
        to.add(*sub, moved, &mut context.eval.ledger, &format!("{name} {whither}"));
    }
}

/// What has parted in the trap, or was drained of it, leaves the flask; what stands beside it is poured back, or is
/// a portion of its own where the author names it.
///
/// # Errors
/// Never; the signature is that of its like.
pub fn in_trap(context: &mut Context<'_>, course: &Course, portion: &mut Portion, role: &str) -> Done {
    let whole = portion.clone();
    let all = whole.mass();
    let mut trapped = Portion { temperature: mixture::ROOM, ..Portion::default() };
    let whither = if role == "drained" { "drained with the water" } else { "in the trap" };
    carry(context, portion, &mut trapped, &shares(course, &course.stands.taken), &whole, whither);
    if role == "trapped" && context.outcome("carrier").is_some_and(|(_, binding, _)| binding.is_some()) {
        let mut above = Portion { temperature: mixture::ROOM, ..Portion::default() };
        carry(context, portion, &mut above, &shares(course, &course.stands.apart), &whole, "above the water in the trap");
        context.give("carrier", above, all);
    }
    context.give(role, trapped, all);
    Ok(())
}
