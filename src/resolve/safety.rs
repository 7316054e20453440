//! The fields of a substance that tell its dangers: limits, exposure, classification, peroxides.

use super::definitions::{Exposure, ExposureTime, Limit, PeroxideList, Peroxides, Safety, Signal};
use super::fields::{Field, Read, sourced};
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::Kind;
use crate::source::Span;
use crate::syntax::Tok;

/// The fields read here.
pub const FIELDS: &[&str] =
    &["flammable_limits", "ignites", "exposure", "classed", "signal", "pictogram", "precaution", "edition", "peroxides"];

/// Seconds in the twelfth of a year of 365.25 days: the month of a shelf life.
const MONTH: f64 = 365.25 / 12.0 * 86_400.0;

/// Reads the field into `safety`; `false` when it is none of [`FIELDS`].
///
/// # Errors
/// A finding.
pub fn field(safety: &mut Safety, field: &mut Field<'_>) -> Read<bool> {
    match field.name {
        "flammable_limits" => {
            let figure = field.figure(&[Kind::VolumeFraction])?;
            safety.flammable_limits = Some(sourced(field, (figure.low, figure.high)));
        }
        "ignites" => {
            let figure = field.figure(&[Kind::Temperature])?;
            safety.ignites = Some(sourced(field, figure.middle()));
        }
        "exposure" => {
            let limit = exposure(field)?;
            safety.exposure.push(sourced(field, limit));
        }
        "classed" => {
            let mut classes = field.list()?;
            classes.retain(|class| class != "none");
            safety.classed = Some(sourced(field, classes));
        }
        "signal" => {
            let signal = one_of(field, "`danger`, `warning` or `none`", |word| match word {
                "danger" => Some(Some(Signal::Danger)),
                "warning" => Some(Some(Signal::Warning)),
                "none" => Some(None),
                _ => None,
            })?;
            safety.signal = Some(sourced(field, signal));
        }
        "pictogram" => {
            let at = field.cursor.here();
            let mut pictograms = field.list()?;
            pictograms.retain(|pictogram| pictogram != "none");
            let known = |text: &String| text.strip_prefix("GHS0").is_some_and(|digit| matches!(digit.as_bytes(), [b'1'..=b'9']));
            if let Some(odd) = pictograms.iter().find(|pictogram| !known(pictogram)) {
                return Err(out_of_range(at, format!("`{odd}` is no pictogram"), "the pictograms are GHS01 to GHS09"));
            }
            safety.pictograms = Some(sourced(field, pictograms));
        }
        "precaution" => {
            let mut codes = vec![code(field)?];
            while field.comma() {
                codes.push(code(field)?);
            }
            safety.precautions = Some(sourced(field, codes));
        }
        "edition" => safety.edition = Some(field.name_or_text()?),
        "peroxides" => {
            let list = one_of(field, "`list_a`, `list_b`, `list_c` or `list_d`", |word| match word {
                "list_a" => Some(PeroxideList::A),
                "list_b" => Some(PeroxideList::B),
                "list_c" => Some(PeroxideList::C),
                "list_d" => Some(PeroxideList::D),
                _ => None,
            })?;
            let keeps = if field.comma() { Some(shelf_life(field)?) } else { None };
            safety.peroxides = Some(sourced(field, Peroxides { list, keeps }));
        }
        _ => return Ok(false),
    }
    Ok(true)
}

fn out_of_range(at: Span, message: String, help: &str) -> Diagnostic {
    Diagnostic::new(Code::OutOfRange, at, message).help(help.to_owned())
}

/// A word that `known` answers to.
fn one_of<T>(field: &mut Field<'_>, wanted: &str, known: impl Fn(&str) -> Option<T>) -> Read<T> {
    match field.cursor.peek() {
        Some(Tok::Word(word)) if known(word).is_some() => {
            field.cursor.advance();
            known(word).ok_or_else(|| field.failed(&field.cursor.failure(wanted, false)))
        }
        _ => Err(field.failed(&field.cursor.failure(wanted, false))),
    }
}

/// `P210`, or several statements that are read as one: `P303 + P361 + P353`.
fn code(field: &mut Field<'_>) -> Read<String> {
    let mut code = field.name_or_text()?;
    while matches!(field.cursor.peek(), Some(Tok::Sign("+"))) {
        field.cursor.advance();
        code.push('+');
        code.push_str(&field.name_or_text()?);
    }
    Ok(code)
}

/// `100 ppm`, `2 mg/m3`, with `short_term` or `ceiling` behind it.
fn exposure(field: &mut Field<'_>) -> Read<Exposure> {
    let limit = match field.cursor.peek() {
        // Parts of vapour in a million parts of air, by volume: in a limit there is no other reading.
        Some(Tok::Quantity(measure)) if measure.unit.as_ref().is_some_and(|(unit, _)| unit == "ppm") => {
            if measure.low <= 0.0 || measure.high.is_some() {
                let what = "an exposure limit is one figure above nothing";
                return Err(Diagnostic::new(Code::OutOfRange, measure.figures_span, what));
            }
            field.cursor.advance();
            Limit::Share(measure.low * 1e-6)
        }
        _ => Limit::Mass(field.figure(&[Kind::Density])?.low),
    };
    let time = if field.word("short_term") {
        ExposureTime::ShortTerm
    } else if field.word("ceiling") {
        ExposureTime::Ceiling
    } else {
        ExposureTime::Shift
    };
    Ok(Exposure { limit, time })
}

/// `12 months`, which for a shelf life need not say which months, or a duration in days; in s.
fn shelf_life(field: &mut Field<'_>) -> Read<f64> {
    match field.cursor.peek() {
        Some(Tok::Quantity(measure)) if measure.unit.as_ref().is_some_and(|(unit, _)| unit == "months" || unit == "month") => {
            field.cursor.advance();
            Ok(measure.low * MONTH)
        }
        _ => field.figure(&[Kind::Duration]).map(|figure| figure.low),
    }
}
