//! Fields of what has grown: what it holds, its moisture, the liquid that it keeps, its room as poured.

use super::definitions::{Plant, Substance};
use super::fields::{Field, Read, sourced};
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::Kind;

/// One field.
///
/// # Errors
/// A finding when it cannot be read.
pub fn field(plant: &mut Plant, field: &mut Field<'_>) -> Read<()> {
    match field.name {
        "holds" => {
            let name = field.name_or_text()?;
            field.comma();
            let figure = field.figure(&[Kind::MassFraction])?;
            plant.holds.push(sourced(field, (name, figure.low, figure.top())));
        }
        "moisture" => {
            let figure = field.figure(&[Kind::MassFraction])?;
            plant.moisture = Some(sourced(field, (figure.low, figure.top())));
        }
        "retains" => {
            let figure = field.figure(&[Kind::SpecificVolume])?;
            plant.retains = Some(sourced(field, figure.middle()));
        }
        _ => {
            let figure = field.figure(&[Kind::Density])?;
            plant.bulk = Some(sourced(field, figure.middle()));
        }
    }
    Ok(())
}

/// That what holds something has no formula of its own, holds each thing once, and not more than there is of it.
pub fn check(substance: &Substance, findings: &mut Vec<Diagnostic>) {
    let Some(plant) = &substance.plant else { return };
    if let Some(formula) = &substance.formula {
        findings.push(
            Diagnostic::new(Code::OutOfRange, formula.span, "what has a formula is one substance, and holds no other")
                .help("leave the formula out: what a plant holds has its own, and the rest is conserved whole"),
        );
    }
    let mut top = plant.moisture.as_ref().map_or(0.0, |moisture| moisture.value.1);
    for (number, held) in plant.holds.iter().enumerate() {
        if plant.holds.iter().take(number).any(|other| other.value.0 == held.value.0) {
            findings.push(
                Diagnostic::new(Code::Duplicate, held.span, format!("how much {} it holds is given a second time", held.value.0))
                    .help("give one range"),
            );
        }
        top += held.value.2;
    }
    if top >= 1.0 {
        let last = plant.holds.last().map(|held| held.span).or(plant.moisture.as_ref().map(|moisture| moisture.span));
        findings.push(
            Diagnostic::new(
                Code::OutOfRange,
                last.unwrap_or(substance.span),
                format!("what it holds comes to {:.1} % with its moisture, and nothing would be left of the plant itself", top * 100.0),
            )
            .help("the shares are of the matter as it is taken, by mass"),
        );
    }
}
