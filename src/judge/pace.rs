//! Additions in time: faster than a bath can cool, and a time and a rate that do not go together.

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Fact;
use crate::kinds::{Kind, show};
use crate::operations::pace::{Cooling, about, in_words, spoken};
use crate::source::Span;

/// Judges how fast things are added.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    for fact in &case.evaluation.facts {
        match fact {
            Fact::Cooled { span, time, cooling, .. } => findings.extend(too_fast(case, *span, *time, cooling)),
            Fact::Paced { span, time, rate, volume } => findings.extend(apart(case, *span, *time, *rate, *volume)),
            _ => {}
        }
    }
}

/// Heat that comes faster than the bath takes it up.
fn too_fast(case: &Case<'_>, span: Span, time: f64, cooling: &Cooling) -> Option<Diagnostic> {
    let comes = cooling.heat / time;
    let part = comes / cooling.takes;
    if !case.past("cooling_used", part) {
        return None;
    }
    let rule = case.rule("cooling_used")?;
    let watts = |power: f64| show(power, Kind::Power, 2);
    let limit = show(cooling.limit, Kind::Temperature, 2);
    let (means, even) = (&cooling.means, if cooling.stated { "" } else { "even " });
    let article = if means.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    let message = format!(
        "over {} the heat comes at {}{}, and below {limit} {even}{article} {means} takes up about {} from so much: it would not stay below",
        spoken(time),
        if cooling.at_least { "at least " } else { "" },
        watts(comes),
        watts(cooling.takes)
    );
    let help = format!(
        "add it over at least {}, or cool with something colder ({})",
        in_words(cooling.least / rule.value().max(1e-3)),
        rule.cited()
    );
    Some(Diagnostic::new(Code::TooFast, span, message).help(help))
}

/// A time and a rate that cannot both be kept, at the size of this batch.
fn apart(case: &Case<'_>, span: Span, time: (f64, f64), rate: (f64, f64), volume: f64) -> Option<Diagnostic> {
    let (shortest, longest) = (volume / rate.1.max(1e-30), volume / rate.0.max(1e-30));
    let by = (shortest / time.1.max(1e-9)).max(time.0 / longest.max(1e-9)) - 1.0;
    if !case.past("pace_apart", by) {
        return None;
    }
    let rule = case.rule("pace_apart")?;
    let middle = 0.5 * (shortest + longest);
    let message = format!(
        "at this rate {} go in within {}, and {} are stated",
        show(volume, Kind::Volume, 3),
        about(middle),
        spoken(0.5 * (time.0 + time.1))
    );
    let needs = show(volume / (0.5 * (time.0 + time.1)).max(1e-9), Kind::FlowRate, 2);
    let help = format!("leave out the one that is not meant: the time alone asks for {needs} here ({})", rule.cited());
    Some(Diagnostic::new(Code::PaceDiffers, span, message).help(help))
}
