//! Activity coefficients of a pair as they were measured: constants of an equation, which take
//! precedence over what is predicted from groups.

use super::definitions::Sourced;
use super::fields::{Field, head_name, lines, sourced};
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::Kind;
use crate::source::Span;
use crate::syntax::Block;

/// Constants of an equation for a pair; the first substance is the first named.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Equation {
    /// Margules with two constants: ln γ of each at infinite dilution in the other.
    Margules([f64; 2]),
    /// NRTL: τ12 = a12 + b12/T, τ21 = a21 + b21/T, with b in K, and α.
    Nrtl([f64; 5]),
}

/// A declared fit.
#[derive(Clone, Debug)]
pub struct BinaryFit {
    /// Its name.
    pub name: String,
    /// Names of the two substances.
    pub between: [String; 2],
    /// The equation with its source.
    pub equation: Sourced<Equation>,
    /// Where it is declared.
    pub span: Span,
}

/// The fields of a fit.
const FIELDS: &[&str] = &["between", "margules", "nrtl"];

/// Reads a fit.
pub fn declare(block: &Block, findings: &mut Vec<Diagnostic>) -> Option<BinaryFit> {
    let (name, span) = head_name(&block.head).map_err(|finding| findings.push(finding)).ok()?;
    let before = findings.len();
    let (mut between, mut equation) = (Vec::new(), None);
    for line in lines(block, findings) {
        let outcome = Field::of(line).and_then(|mut field| {
            match field.name {
                "between" => between = field.list()?,
                "margules" | "nrtl" => {
                    let mut constants = Vec::new();
                    loop {
                        constants.push(field.figure(&[Kind::Ratio, Kind::Temperature])?.low);
                        if !field.comma() {
                            break;
                        }
                    }
                    let read = match (field.name, constants.as_slice()) {
                        ("margules", &[a12, a21]) => Equation::Margules([a12, a21]),
                        ("nrtl", &[a12, a21, b12, b21, alpha]) => Equation::Nrtl([a12, a21, b12, b21, alpha]),
                        _ => {
                            return Err(Diagnostic::new(
                                Code::OutOfRange,
                                field.span,
                                format!("{} constants do not make this equation", constants.len()),
                            )
                            .help("write `margules A12, A21` or `nrtl a12, a21, b12, b21, alpha`, with b in K"));
                        }
                    };
                    equation = Some(sourced(&field, read));
                }
                _ => return Err(field.unknown("a fit of a pair", FIELDS)),
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
    match (<[String; 2]>::try_from(between), equation) {
        (Ok(between), Some(equation)) => Some(BinaryFit { name, between, equation, span }),
        _ => {
            findings.push(
                Diagnostic::new(Code::SyntaxExpected, span, "a fit names two substances and gives the constants of an equation").help(
                    "write `between NAME, NAME` and `margules A12, A21 source \"…\"` or `nrtl a12, a21, b12, b21, alpha source \"…\"`",
                ),
            );
            None
        }
    }
}
