//! The embedded standard library: the declarations of `stdlib/`, found by name and read only when
//! a procedure names them.

/// One declaration of the library, its doc comment included.
#[derive(Debug)]
pub struct Entry {
    /// `stdlib/…`, for findings and sources.
    pub file: &'static str,
    /// Line of that file on which [`Entry::text`] begins.
    pub first_line: usize,
    /// `substance`, `agent`, `solution`, `operation`, `apparatus`, `instrument`, `reaction`,
    /// `hazard_text`, `rule`, `incompatible`, `waste_word`, `binary_fit` or `azeotrope`.
    pub sort: &'static str,
    /// Its name of record.
    pub name: &'static str,
    /// The text of the declaration.
    pub text: &'static str,
    /// Where in [`FOUND`] it stands what the grammar finds in the text.
    found: (usize, usize),
}

/// What the grammar finds in each text, stored by the build script, since reading a text anew takes
/// most of the time of a short compilation.
static FOUND: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/stdlib.found"));

impl Entry {
    /// What the grammar finds in the text, for [`crate::syntax::parse_stored`].
    #[must_use]
    pub fn found(&self) -> &'static [u8] {
        FOUND.get(self.found.0..self.found.1).unwrap_or(&[])
    }
}

mod embedded {
    #![allow(missing_docs, reason = "written by the build script")]
    use super::Entry;
    include!(concat!(env!("OUT_DIR"), "/stdlib.rs"));
}
pub use embedded::{ENTRIES, INDEX};

/// The line of a doc comment that begins an example: the body of a procedure, up to the end of the comment.
pub const EXAMPLE: &str = "Example:";

/// The version of the library, which the plan names.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

/// Numbers (into [`ENTRIES`]) of the declarations that answer to `key`: a name of record, a trade
/// name, an operation's verb, a solution's solute, `+reactant` for a contact reaction, `!word` for
/// a side of a pair that does not go together, or `&name` for a substance of a measured pair.
#[must_use]
pub fn entries(key: &str) -> &'static [usize] {
    INDEX.binary_search_by(|(known, _)| (*known).cmp(key)).ok().and_then(|at| INDEX.get(at)).map_or(&[], |(_, found)| found)
}

/// The declaration of that number.
#[must_use]
pub fn entry(number: usize) -> Option<&'static Entry> {
    ENTRIES.get(number)
}

/// Names of all declarations of the given sorts, trade names included, in order.
pub fn names<'a>(sorts: &'static [&'static str]) -> impl Iterator<Item = &'a str> {
    INDEX
        .iter()
        .filter(move |(key, found)| {
            !key.starts_with(['+', '*', '!', '&'])
                && found.iter().filter_map(|number| entry(*number)).any(|entry| sorts.contains(&entry.sort))
        })
        .map(|(key, _)| *key)
}
