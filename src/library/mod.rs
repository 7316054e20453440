//! The embedded standard library: the declarations of `stdlib/`, found by name and read only when
//! a procedure names them.

use std::ops::Range;
use std::sync::{LazyLock, OnceLock};

use crate::source::SourceFile;

pub mod stored;

/// One declaration of the library, its doc comment included.
#[derive(Clone, Copy, Debug)]
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
    /// What the grammar finds in the text, for [`crate::syntax::parse_stored`].
    pub found: &'static [u8],
    /// Numbers (for [`key`]) of the words in it that may name other declarations, in order.
    pub names: &'static [usize],
}

/// Every text of the library, one behind the other.
static TEXTS: &str = include_str!(concat!(env!("OUT_DIR"), "/stdlib.text"));

/// Every key, in order.
static WORDS: &str = include_str!(concat!(env!("OUT_DIR"), "/stdlib.words"));

/// What the grammar finds in each text, stored by the build script, since reading a text anew takes
/// most of the time of a short compilation.
static FOUND: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/stdlib.found"));

/// From where to where.
type Part = (u32, u32);

/// An [`Entry`] as the build script stores it: a program whose tables hold addresses has to put each in
/// its place when it starts.
struct Record {
    file: Part,
    first_line: usize,
    sort: Part,
    name: Part,
    text: Part,
    found: Part,
    names: Part,
}

mod embedded {
    use super::{Part, Record};
    include!(concat!(env!("OUT_DIR"), "/stdlib.rs"));
}
use embedded::{ANSWERS, KEYS, NAMES, RECORDS};

/// How many declarations there are.
pub const COUNT: usize = RECORDS.len();

/// Every declaration.
pub static ENTRIES: LazyLock<Vec<Entry>> = LazyLock::new(|| (0..COUNT).filter_map(entry).collect());

/// Every key, with the numbers of the declarations that answer to it.
pub static INDEX: LazyLock<Vec<(&'static str, &'static [usize])>> = LazyLock::new(|| (0..KEYS.len()).filter_map(key).collect());

fn text(part: Part) -> &'static str {
    TEXTS.get(range(part)).unwrap_or("")
}

fn word(part: Part) -> &'static str {
    WORDS.get(range(part)).unwrap_or("")
}

fn range(part: Part) -> Range<usize> {
    part.0 as usize..part.1 as usize
}

impl Entry {
    /// The text as a part of its file.
    #[must_use]
    pub fn source(&self) -> SourceFile {
        SourceFile::part(self.file, self.text, self.first_line)
    }
}

/// The line of a doc comment that begins an example: the body of a procedure, up to the end of the comment.
pub const EXAMPLE: &str = "Example:";

/// The version of the library, which the plan names.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

/// Numbers (into [`ENTRIES`]) of the declarations that answer to `key`: a name of record, a trade
/// name, an operation's verb, a solution's solute, `+reactant` for a contact reaction, `!word` for
/// a side of a pair that does not go together, or `&name` for a substance of a measured pair.
#[must_use]
pub fn entries(key: &str) -> &'static [usize] {
    find(key).and_then(self::key).map_or(&[], |(_, answers)| answers)
}

/// The number of a key.
#[must_use]
pub fn find(key: &str) -> Option<usize> {
    KEYS.binary_search_by(|(known, _)| word(*known).cmp(key)).ok()
}

/// The key of that number, with the numbers of the declarations that answer to it.
#[must_use]
pub fn key(number: usize) -> Option<(&'static str, &'static [usize])> {
    let (key, answers) = KEYS.get(number)?;
    Some((word(*key), ANSWERS.get(range(*answers))?))
}

/// The declaration of that number. Most who ask want one part of it, which inlining leaves.
#[must_use]
#[inline]
pub fn entry(number: usize) -> Option<Entry> {
    let record = RECORDS.get(number)?;
    Some(Entry {
        file: text(record.file),
        first_line: record.first_line,
        sort: text(record.sort),
        name: text(record.name),
        text: text(record.text),
        found: FOUND.get(range(record.found))?,
        names: NAMES.get(range(record.names))?,
    })
}

/// The text of the declaration of that number, for findings in it.
#[must_use]
pub fn file(number: usize) -> Option<&'static SourceFile> {
    // Few of them are ever asked for: the table is to be small.
    static FILES: [OnceLock<Box<SourceFile>>; COUNT] = [const { OnceLock::new() }; COUNT];
    let entry = entry(number)?;
    Some(FILES.get(number)?.get_or_init(|| Box::new(entry.source())))
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
