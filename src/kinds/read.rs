//! Reading the text of a unit.

use std::collections::BTreeSet;

use super::ambiguous::{complaint, complaint_ignoring_case};
use super::atoms::ATOMS;
use super::compound::{compound, per_hundred, split};
use super::kind::Kind;
use super::respell::{guesses, tidy, typed};
use super::slips::{remedy, remedy_ignoring_case};
use super::unit::{Unit, UnitError};

/// The longest text that is compared for likeness; no unit is near this long.
const LONGEST_COMPARED: usize = 40;

/// How many near spellings are offered for an unknown unit.
const MOST_NEAR: usize = 3;

/// Reads the whole text of a unit, number excluded: `mL`, `kJ/mol`, `% w/w`.
///
/// # Errors
///
/// [`UnitError`], which says what to write instead where that can be known.
pub fn unit(text: &str) -> Result<Unit, UnitError> {
    let written = text.trim();
    let text = tidy(text);
    if let Some(verdict) = judge(&text) {
        return verdict.map_err(|error| as_written(error, written));
    }
    let guesses = guesses(&text);
    let respelt = guesses.iter().find_map(|guess| Some(as_slip(judge(guess)?, written)));
    if let Some(error) = respelt {
        return Err(error);
    }
    let faults: Vec<UnitError> = std::iter::once(&text).chain(&guesses).filter_map(|candidate| part_at_fault(candidate, written)).collect();
    // A fault with a remedy says more than a part that is merely unknown.
    let told = faults.iter().find(|fault| !matches!(fault, UnitError::Unknown { .. })).or(faults.first());
    Err(told.cloned().unwrap_or_else(|| UnitError::Unknown { written: written.to_owned(), near: near(&text) }))
}

/// Reads a unit of temperature as a unit of temperature *difference*.
///
/// The zero of the scale drops out: a difference of 18 °F is 10 K.
///
/// # Errors
///
/// As for [`unit()`]; a unit of anything but temperature is unknown here.
pub fn difference_unit(text: &str) -> Result<Unit, UnitError> {
    let scale = unit(text)?;
    if scale.kind == Kind::Temperature {
        Ok(Unit { kind: Kind::TemperatureDifference, offset: 0.0, ..scale })
    } else {
        Err(UnitError::Unknown { written: text.trim().to_owned(), near: ["K", "degC", "degF"].map(str::to_owned).to_vec() })
    }
}

/// Where the conversion factor of a named unit comes from.
///
/// A compound has no source of its own, only those of its parts.
pub fn unit_source(text: &str) -> Option<&'static str> {
    ATOMS.get(&tidy(text)).map(|atom| atom.source)
}

/// What the tables say of a text; `None` if they say nothing.
///
/// The order is from certain to guessed: a unit as it stands, a known slip, a
/// known ambiguity, and only then the same three without regard to case.
fn judge(text: &str) -> Option<Result<Unit, UnitError>> {
    let slip = |write: String| UnitError::Slip { written: text.to_owned(), write };
    named(text)
        .or_else(|| compound(text))
        .map(Ok)
        .or_else(|| remedy(text).map(|write| Err(slip(write.to_owned()))))
        .or_else(|| complaint(text).map(Err))
        .or_else(|| wrong_case(text).map(Err))
        .or_else(|| remedy_ignoring_case(text).map(|write| Err(slip(write.to_owned()))))
        .or_else(|| complaint_ignoring_case(text).map(Err))
}

fn named(text: &str) -> Option<Unit> {
    ATOMS.get(text).map(|atom| Unit { text: atom.text.clone(), kind: atom.kind, factor: atom.scale.factor(), offset: atom.offset })
}

/// A named unit that differs from `text` only in capitals.
fn wrong_case(text: &str) -> Option<UnitError> {
    let lower = text.to_lowercase();
    let meant: BTreeSet<String> =
        ATOMS.iter().filter(|(name, _)| name.to_lowercase() == lower).map(|(_, atom)| typed(&atom.text)).collect();
    let mut meant: Vec<String> = meant.into_iter().collect();
    match (meant.pop(), meant.is_empty()) {
        (None, _) => None,
        (Some(write), true) => Some(UnitError::Slip { written: text.to_owned(), write }),
        (Some(last), false) => {
            meant.push(last);
            Some(UnitError::Ambiguous { written: text.to_owned(), because: "capitals tell these units apart".to_owned(), write: meant })
        }
    }
}

/// The fault of a compound, sought in its parts: `G/ML`, `oz/mL`, `J/(g C)`.
fn part_at_fault(text: &str, written: &str) -> Option<UnitError> {
    let (above, divisors) = split(text)?;
    let mut parts = Vec::new();
    for part in std::iter::once(above).chain(divisors) {
        let (name, ten) = per_hundred(part);
        let hundred = if ten == 0 { "" } else { "100 " };
        match unit(name) {
            Ok(_) => parts.push(part.to_owned()),
            Err(UnitError::Slip { write, .. }) => parts.push(format!("{hundred}{write}")),
            Err(other) => return Some(other),
        }
    }
    compound(&parts.join("/")).map(|unit| as_slip(Ok(unit), written))
}

/// The verdict on a respelling, told of what was written.
///
/// A respelling that is a unit makes the writing a slip.
fn as_slip(verdict: Result<Unit, UnitError>, written: &str) -> UnitError {
    match verdict {
        Ok(unit) => UnitError::Slip { written: written.to_owned(), write: typed(&unit.text) },
        Err(error) => as_written(error, written),
    }
}

fn as_written(error: UnitError, text: &str) -> UnitError {
    let written = text.to_owned();
    match error {
        UnitError::Ambiguous { because, write, .. } => UnitError::Ambiguous { written, because, write },
        UnitError::Slip { write, .. } => UnitError::Slip { written, write },
        UnitError::Unknown { near, .. } => UnitError::Unknown { written, near },
    }
}

/// The known units spelt most nearly like `text`.
fn near(text: &str) -> Vec<String> {
    let length = text.chars().count();
    if length > LONGEST_COMPARED {
        return Vec::new();
    }
    // One letter in three may be wrong; more, and the likeness is chance.
    let tolerated = length / 3;
    let by_distance: BTreeSet<(usize, String)> = ATOMS
        .iter()
        .map(|(name, atom)| {
            let distance = strsim::damerau_levenshtein(text, name);
            (distance, typed(&atom.text))
        })
        .filter(|(distance, _)| *distance <= tolerated)
        .collect();
    let mut near: Vec<String> = Vec::new();
    for (_, name) in by_distance {
        if near.len() < MOST_NEAR && !near.contains(&name) {
            near.push(name);
        }
    }
    near
}
