//! Azeotropes as they were measured, and pairs that were found to have none: to set beside a prediction.

use super::definitions::Sourced;
use super::fields::{Field, head_name, lines, sourced};
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::Kind;
use crate::matter::boiling::ATMOSPHERE;
use crate::source::Span;
use crate::syntax::Block;

/// A measured azeotrope, or that there is none.
#[derive(Clone, Debug)]
pub struct Measured {
    /// Its name.
    pub name: String,
    /// Names of the two or three substances.
    pub between: Vec<String>,
    /// Pressure, Pa.
    pub pressure: f64,
    /// Temperature in K; `None` where it was found that there is no azeotrope.
    pub boils: Option<Sourced<f64>>,
    /// Mass fraction of each substance in the order of `between`, where it is known.
    pub holds: Option<Sourced<Vec<f64>>>,
    /// Whether two liquids lie under it, where that is known.
    pub two_liquids: Option<bool>,
    /// Where it is declared.
    pub span: Span,
}

/// The fields of an azeotrope.
const FIELDS: &[&str] = &["between", "at", "boils", "holds", "liquids", "none"];

/// Reads an azeotrope.
pub fn declare(block: &Block, findings: &mut Vec<Diagnostic>) -> Option<Measured> {
    let (name, span) = head_name(&block.head).map_err(|finding| findings.push(finding)).ok()?;
    let before = findings.len();
    let mut read = Measured { name, between: Vec::new(), pressure: ATMOSPHERE, boils: None, holds: None, two_liquids: None, span };
    let mut none = false;
    for line in lines(block, findings) {
        let outcome = Field::of(line).and_then(|mut field| {
            match field.name {
                "between" => read.between = field.list()?,
                "at" => read.pressure = field.figure(&[Kind::Pressure])?.low,
                "boils" => {
                    let figure = field.figure(&[Kind::Temperature])?;
                    read.boils = Some(sourced(&field, figure.low));
                }
                "holds" => {
                    let mut shares = vec![field.figure(&[Kind::MassFraction])?.low];
                    while field.comma() {
                        shares.push(field.figure(&[Kind::MassFraction])?.low);
                    }
                    read.holds = Some(sourced(&field, shares));
                }
                "liquids" => {
                    let at = field.span;
                    read.two_liquids = match field.number()? {
                        1.0 => Some(false),
                        2.0 => Some(true),
                        _ => return Err(Diagnostic::new(Code::OutOfRange, at, "there are one or two liquids under an azeotrope")),
                    };
                }
                "none" => none = true,
                _ => return Err(field.unknown("an azeotrope", FIELDS)),
            }
            field.end()
        });
        if let Err(finding) = outcome {
            findings.push(finding);
        }
    }
    if findings.len() > before {
        return None;
    }
    let shares = read.holds.as_ref().map(|holds| &holds.value);
    let fault = if !(2..=3).contains(&read.between.len()) {
        Some("an azeotrope is of two or three substances")
    } else if none == read.boils.is_some() {
        Some("an azeotrope says at what temperature it boils, or that there is none")
    } else if shares.is_some_and(|shares| shares.len() != read.between.len() || (shares.iter().sum::<f64>() - 1.0).abs() > 0.006) {
        Some("the shares of an azeotrope are one for each substance and come to 100 %")
    } else {
        None
    };
    if let Some(fault) = fault {
        findings.push(
            Diagnostic::new(Code::SyntaxExpected, span, fault).help(
                "write `between NAME, NAME`, `boils 78.1 degC source \"…\"` and `holds 95.5 % w/w, 4.5 % w/w`, or `none source \"…\"`",
            ),
        );
        return None;
    }
    Some(read)
}
