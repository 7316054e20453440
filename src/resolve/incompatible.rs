//! Pairs of substances, or of classes of them, that do not go together.

use std::collections::BTreeSet;

use super::definitions::{Sourced, Substance};
use super::fields::{Field, head_name, lines, sourced};
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::Kind;
use crate::source::Span;
use crate::syntax::Block;

/// What a pair gives when it meets, the worst first.
pub const GIVES: &[&str] = &["explosion", "toxic_gas", "fire", "gas", "peroxide", "heat", "solids"];

/// A pair that does not go together.
#[derive(Clone, Debug)]
pub struct Incompatible {
    /// Its name.
    pub name: String,
    /// Names and classes of the one side.
    pub between: Vec<String>,
    /// Names and classes of the other.
    pub and: Vec<String>,
    /// Strength of the first side in itself and water, a mass fraction, from which it holds.
    pub above: Option<Sourced<f64>>,
    /// What it gives: one of [`GIVES`].
    pub gives: String,
    /// Whether it is brought together on purpose at the bench, with care: then only a waste bottle
    /// is no place for it.
    pub meant: bool,
    /// What happens, in a sentence, with its source.
    pub because: Sourced<String>,
    /// Where it is declared.
    pub span: Span,
}

/// The fields of a pair.
const FIELDS: &[&str] = &["between", "and", "above", "gives", "meant", "because"];

/// Reads a pair.
pub fn declare(block: &Block, findings: &mut Vec<Diagnostic>) -> Option<Incompatible> {
    let (name, span) = head_name(&block.head).map_err(|finding| findings.push(finding)).ok()?;
    let before = findings.len();
    let (mut between, mut and, mut above, mut gives, mut meant, mut because) = (Vec::new(), Vec::new(), None, String::new(), false, None);
    for line in lines(block, findings) {
        let read = Field::of(line).and_then(|mut field| {
            match field.name {
                "between" => between.extend(field.list()?),
                "and" => and.extend(field.list()?),
                "above" => {
                    let figure = field.figure(&[Kind::MassFraction])?;
                    above = Some(sourced(&field, figure.low));
                }
                "gives" => {
                    gives = field.name_or_text()?;
                    if !GIVES.contains(&gives.as_str()) {
                        return Err(Diagnostic::new(Code::OutOfRange, field.span, format!("`{gives}` is not what a pair can give"))
                            .help(format!("a pair gives {}", crate::diagnostics::suggest::listed(GIVES, "or"))));
                    }
                }
                "meant" => meant = true,
                "because" => {
                    let text = field.name_or_text()?;
                    because = Some(sourced(&field, text));
                }
                _ => return Err(field.unknown("a pair", FIELDS)),
            }
            field.end()
        });
        if let Err(finding) = read {
            findings.push(finding);
        }
    }
    if findings.len() > before {
        return None;
    }
    let lacks = [("between", between.is_empty()), ("and", and.is_empty()), ("because", because.is_none()), ("gives", gives.is_empty())];
    if let Some((lacking, _)) = lacks.iter().find(|(_, lacks)| *lacks) {
        findings.push(
            Diagnostic::new(Code::SyntaxExpected, span, format!("this pair has no `{lacking}`"))
                .help("write `between NAME, CLASS`, `and NAME, CLASS`, `gives WORD` and `because \"…\" source \"…\"`"),
        );
        return None;
    }
    Some(Incompatible { name, between, and, above, gives, meant, because: because?, span })
}

/// The words of both sides in the text of a pair.
#[must_use]
pub fn sides(text: &str) -> [Vec<&str>; 2] {
    ["between", "and"].map(|side| {
        text.lines()
            .filter_map(|line| line.trim().strip_prefix(side)?.strip_prefix(' '))
            .flat_map(|rest| rest.split(',').map(str::trim))
            .collect()
    })
}

/// What a substance goes by in a pair: its names, its classes, and what its data say of it.
#[must_use]
pub fn words(substance: &Substance) -> BTreeSet<String> {
    let mut words: BTreeSet<String> = substance.classes.iter().cloned().collect();
    words.insert(substance.name.clone());
    let classed = |codes: &[&str]| substance.hazards.as_ref().is_some_and(|own| own.value.iter().any(|own| codes.contains(&own.as_str())));
    if classed(&["H224", "H225", "H226"]) || substance.flash.as_ref().is_some_and(|flash| flash.value < 333.15) {
        words.insert("flammable".to_owned());
    }
    if classed(&["H270", "H271", "H272"]) {
        words.insert("oxidiser".to_owned());
    }
    if classed(&["H224", "H225"]) {
        words.insert("highly_flammable".to_owned());
    }
    if classed(&["H314", "H318"]) {
        words.insert("corrosive".to_owned());
    }
    if substance.is_strong_acid() {
        words.insert("strong_acid".to_owned());
    }
    words
}
