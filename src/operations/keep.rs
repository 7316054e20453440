//! Temperature kept while something else is done, and amounts given in portions.

use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Context;
use crate::evaluate::context::{Done, Taken};
use crate::kinds::{Kind, show};
use crate::matter::portion::Portion;

/// How far apart two temperatures are before a sentence says so, K. Our own figure.
const APART: f64 = 3.0;

/// Brings a portion to the temperature that is kept: into the band of `within`, under the ceiling of
/// `below`. Bounds that leave nothing between them, and a stated temperature outside of them, are refused.
///
/// # Errors
/// When the bounds contradict each other or the temperature stated.
pub fn keep(context: &mut Context<'_>, portion: &mut Portion) -> Done {
    let ceiling = context.figure("ceiling");
    let band = context.figure("band");
    for bound in ceiling.iter().chain(&band) {
        if let Some(stated) = context.figure("temperature")
            && (stated.top() > bound.top() + 1e-9 || ceiling.is_none() && stated.low < bound.low - 1e-9)
        {
            return Err(Box::new(
                Diagnostic::new(
                    Code::OutOfRange,
                    bound.span,
                    format!("the temperature stated, {}, lies outside of what is to be kept", show(stated.top(), Kind::Temperature, 3)),
                )
                .help("give the temperature, or what it is to be kept within, not both"),
            ));
        }
    }
    if let (Some(ceiling), Some(band)) = (ceiling, band)
        && ceiling.low < band.low
    {
        return Err(Box::new(
            Diagnostic::new(Code::OutOfRange, ceiling.span, "nothing lies below this and within the range that is to be kept")
                .help("write one `keeping`"),
        ));
    }
    let before = portion.temperature;
    if let Some(band) = band {
        portion.temperature = before.clamp(band.low, band.top());
        if band.high.is_none() {
            portion.temperature = band.low;
        }
    }
    if let Some(ceiling) = ceiling {
        portion.temperature = portion.temperature.min(ceiling.low);
    }
    let limit = ceiling.map(|ceiling| ceiling.low).or(band.map(|band| band.top()));
    if let Some(limit) = limit {
        context.record().temperature = Some(portion.temperature);
        if before > limit + APART {
            context.expect(format!("It comes at about {}: cool it first.", show(before, Kind::Temperature, 2)));
        } else if band.is_some_and(|band| before < band.low - APART) {
            context.expect(format!("It comes at about {}: warm it first.", show(before, Kind::Temperature, 2)));
        }
    }
    Ok(())
}

/// Says what a rise without cooling would come to, where that is more than is to be kept; whether it did.
pub fn would_reach(context: &mut Context<'_>, start: f64, rise: f64) -> bool {
    let limit = context.figure("ceiling").map(|ceiling| ceiling.low).or_else(|| context.figure("band").map(|band| band.top()));
    if let Some(limit) = limit
        && rise > APART
        && start + rise > limit
    {
        let about = super::heats::how_much(context);
        context.expect(format!(
            "All at once and uncooled it would reach {about} {}: cool, and add only as fast as it stays below {}.",
            show(start + rise, Kind::Temperature, 2),
            show(limit, Kind::Temperature, 2)
        ));
        return true;
    }
    false
}

/// How often something is done: so many times, or until a sign is seen, at most so many times; never both.
///
/// # Errors
/// When both are given.
pub fn times(context: &Context<'_>) -> Result<u32, Box<Diagnostic>> {
    match (context.figure("portions"), context.figure("bound")) {
        (Some(_), Some(bound)) => Err(Box::new(
            Diagnostic::new(Code::OutOfRange, bound.span, "both a number of times and an end with its own bound are given")
                .help("write `2 times`, or `until \"…\", at most 3 times`, not both"),
        )),
        (_, Some(_)) => Ok(context.times("bound")),
        _ => Ok(context.times("portions")),
    }
}

/// How much each of the stated portions is.
pub fn portions(context: &mut Context<'_>, what: &Taken) {
    let Some(count) = context.figure("portions") else { return };
    let mass = what.portion.mass() / count.low;
    let volume = crate::matter::mixture::volume(&what.portion.liquid(context.defs.find("water")), context.defs, &mut Default::default());
    let each = match volume {
        Ok(volume) if what.portion.solid.is_empty() => show(volume / count.low, Kind::Volume, 2),
        _ => show(mass, Kind::Mass, 2),
    };
    context.expect(format!("Each portion is about {each}."));
}
