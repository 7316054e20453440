//! Words of waste labels: what each stands for, of what contents it is asked, and on which it fits.

use std::sync::Arc;

use super::fields::{Field, Read, head_name, lines};
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::Kind;
use crate::source::Span;
use crate::syntax::Block;

/// What a condition looks at.
#[derive(Clone, Debug, PartialEq)]
pub enum Measure {
    /// Acid less base, mol/kg.
    Acid,
    /// Base less acid, mol/kg.
    Base,
    /// The share by mass of what bears one of these words: names, classes, symbols of elements, `organic`, `solid`.
    Share(Vec<String>),
    /// The share by mass of water with what is dissolved in it and never boils over: salts, base, strong acid. None
    /// where next to nothing of those is in it.
    Brine,
}

/// `MEASURE above FIGURE` or `MEASURE below FIGURE`, with `unless WORD` behind it where another word changes it.
#[derive(Clone, Debug)]
pub struct Condition {
    /// What is looked at.
    pub measure: Measure,
    /// Whether it lies above the figure.
    pub above: bool,
    /// mol/kg for acid and base, else a mass fraction.
    pub limit: f64,
    /// A word that asks no longer for it when it stands on the same label, and that could stand there instead.
    pub unless: Option<String>,
    /// Where the figure comes from.
    pub source: Arc<str>,
}

/// A word of waste labels.
#[derive(Clone, Debug)]
pub struct WasteWord {
    /// Its name; `_` stands for a space or a hyphen of the label.
    pub name: String,
    /// Other spellings.
    pub also: Vec<String>,
    /// Its name and the other spellings, made [`plain`].
    pub plain: Vec<String>,
    /// What it stands for, in words.
    pub means: String,
    /// Each condition by itself asks for the word.
    pub asked: Vec<Condition>,
    /// Words of which one is on the labels of which it is asked; empty for all labels.
    pub asked_on: Vec<String>,
    /// What each portion under it must be, all of it.
    pub fits: Vec<Condition>,
    /// What all that is under it must be together, all of it.
    pub needs: Vec<Condition>,
    /// Words that say the contrary; those that could stand instead first.
    pub not_with: Vec<String>,
    /// Where it is declared.
    pub span: Span,
}

/// A word or a spelling as it is compared: small letters, with spaces for `_` and `-`.
#[must_use]
pub fn plain(text: &str) -> String {
    let spaced = text.to_lowercase().replace(['_', '-'], " ");
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

impl WasteWord {
    /// Whether an item of a label, made [`plain`], is this word.
    #[must_use]
    pub fn is(&self, item: &str) -> bool {
        self.plain.iter().any(|own| own == item)
    }

    /// As it is written on a label.
    #[must_use]
    pub fn written(&self) -> String {
        let own = self.plain.first();
        let spellings = self.also.iter().zip(self.plain.iter().skip(1));
        let same = spellings.filter(|(_, plain)| Some(*plain) == own).map(|(written, _)| written.clone()).next();
        same.unwrap_or_else(|| self.name.replace('_', " "))
    }
}

/// The fields of a word.
const FIELDS: &[&str] = &["means", "also", "asked", "asked_on", "fits", "needs", "not_with"];

/// Reads a word.
pub fn declare(block: &Block, findings: &mut Vec<Diagnostic>) -> Option<WasteWord> {
    let (name, span) = head_name(&block.head).map_err(|finding| findings.push(finding)).ok()?;
    let before = findings.len();
    let mut word = WasteWord {
        name,
        also: Vec::new(),
        plain: Vec::new(),
        means: String::new(),
        asked: Vec::new(),
        asked_on: Vec::new(),
        fits: Vec::new(),
        needs: Vec::new(),
        not_with: Vec::new(),
        span,
    };
    for line in lines(block, findings) {
        let read = Field::of(line).and_then(|mut field| {
            match field.name {
                "means" => {
                    word.means = field.name_or_text()?;
                    sourced(&field)?;
                }
                "also" => word.also.extend(field.list()?),
                "asked" => word.asked.push(condition(&mut field)?),
                "asked_on" => word.asked_on.extend(field.list()?),
                "fits" => word.fits.push(condition(&mut field)?),
                "needs" => word.needs.push(condition(&mut field)?),
                "not_with" => word.not_with.extend(field.list()?),
                _ => return Err(field.unknown("a waste word", FIELDS)),
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
    if word.means.is_empty() {
        findings.push(
            Diagnostic::new(Code::SyntaxExpected, span, format!("the waste word `{}` does not say what it means", word.name))
                .help("write `means \"…\" source \"…\"`"),
        );
        return None;
    }
    word.plain = std::iter::once(&word.name).chain(&word.also).map(|own| plain(own)).collect();
    Some(word)
}

fn condition(field: &mut Field<'_>) -> Read<Condition> {
    let what = field.list()?;
    let above = field.word("above");
    if !above && !field.word("below") {
        return Err(field.failed(&field.cursor.failure("`above` or `below`", false)));
    }
    let (measure, kind) = match what.as_slice() {
        [one] if one == "acid" => (Measure::Acid, Kind::Molality),
        [one] if one == "base" => (Measure::Base, Kind::Molality),
        [one] if one == "brine" => (Measure::Brine, Kind::MassFraction),
        _ => (Measure::Share(what), Kind::MassFraction),
    };
    let limit = field.figure(&[kind])?.low;
    let unless = if field.word("unless") { Some(field.name_or_text()?) } else { None };
    sourced(field)?;
    Ok(Condition { measure, above, limit, unless, source: field.source.clone() })
}

fn sourced(field: &Field<'_>) -> Read<()> {
    if !field.source.is_empty() {
        return Ok(());
    }
    Err(Diagnostic::new(Code::SyntaxExpected, field.span, "this does not say where it comes from")
        .help("write `source \"…\"` behind it, such as `source \"rule of our own laboratory\"`"))
}
