//! How much of a person an operation asks for while it lasts: `attention sight`, or `attention sight when pot is hot`.

use serde::Serialize;

use super::definitions::When;
use super::fields::{Field, Read};
use crate::diagnostics::{Code, Diagnostic};

/// What is asked for, the least first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Attention {
    /// It goes on by itself, overnight too.
    None,
    /// It goes on by itself, and someone stays within sight of it.
    Sight,
    /// Someone works at it all the time.
    Hands,
}

/// The words of a declaration.
const WORDS: [(&str, Attention); 3] = [("none", Attention::None), ("sight", Attention::Sight), ("hands", Attention::Hands)];

impl Attention {
    /// The word of a declaration.
    #[must_use]
    pub fn word(self) -> &'static str {
        WORDS.iter().find(|(_, own)| *own == self).map_or("", |(word, _)| word)
    }

    /// Reads the word.
    ///
    /// # Errors
    /// A finding.
    pub fn read(field: &mut Field<'_>) -> Read<Self> {
        if let Some((_, found)) = WORDS.iter().find(|(word, _)| field.word(word)) {
            return Ok(*found);
        }
        Err(Diagnostic::new(Code::BadForm, field.cursor.here(), "what attention it asks for belongs here")
            .help("`hands` where someone works at it, `sight` where someone stays by it, `none` where it is left to itself, overnight too"))
    }
}

/// The most that is asked for by the lines whose condition holds. Where an operation declares none, someone works at it: what
/// is not known to go by itself is not left alone.
#[must_use]
pub fn most(lines: &[(When, Attention)], holds: impl Fn(&When) -> bool) -> Attention {
    lines.iter().filter(|(when, _)| holds(when)).map(|(_, own)| *own).max().unwrap_or(Attention::Hands)
}
