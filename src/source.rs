//! Source texts, byte spans in them, and the lines and columns that people count in.
//!
//! Every node and every finding carries a [`Span`]; the text itself is looked up only when a
//! finding is rendered.

use std::borrow::Cow;
use std::ops::Range;
use std::sync::OnceLock;

use crate::library;

/// A file among the [`Sources`] of one compilation, or a declaration of the embedded library: that has
/// the same identity in all of them, so that what was read of it can be kept.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct FileId(u32);

impl FileId {
    /// Set in the identities of the library's declarations, which come behind all files.
    const LIBRARY: u32 = 1 << 31;

    /// The identity of the library's declaration of that number.
    #[must_use]
    pub fn of_entry(number: usize) -> Self {
        Self(u32::try_from(number).map_or(u32::MAX, |number| number | Self::LIBRARY))
    }

    /// Whether it is a declaration of the library.
    #[must_use]
    pub fn is_library(self) -> bool {
        self.0 & Self::LIBRARY != 0
    }

    fn entry(self) -> Option<usize> {
        self.is_library().then_some((self.0 & !Self::LIBRARY) as usize)
    }
}

/// A stretch of bytes in one file. `start <= end`, both at character boundaries.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Span {
    /// The file.
    pub file: FileId,
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Span {
    /// The span of `range` in `file`.
    #[must_use]
    pub fn new(file: FileId, range: Range<usize>) -> Self {
        Self { file, start: range.start, end: range.end.max(range.start) }
    }

    /// The smallest span that covers both; the other's file is taken to be the same.
    #[must_use]
    pub fn to(self, other: Self) -> Self {
        Self { file: self.file, start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// An empty span just behind this one: where something is missing.
    #[must_use]
    pub fn after(self) -> Self {
        Self { start: self.end, ..self }
    }
}

/// One source text with its name as the user wrote it and an index of its lines.
#[derive(Clone, Debug)]
pub struct SourceFile {
    /// Path as given, `<stdin>`, or `stdlib/…` for the embedded library.
    pub name: Cow<'static, str>,
    /// The text. Bytes that are not UTF-8 were replaced when it was read, and reported.
    pub text: Cow<'static, str>,
    /// Whether it belongs to the embedded library.
    pub embedded: bool,
    /// Where each line begins, found when it is first asked for.
    lines: OnceLock<Vec<usize>>,
    /// Lines of the named file that stand before this text, where it is a part of one.
    lines_before: usize,
}

/// A place as a person counts it: both from 1, columns in Unicode characters.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Place {
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1, in Unicode characters (scalar values).
    pub column: usize,
}

impl SourceFile {
    fn new(name: String, text: String, embedded: bool) -> Self {
        Self { name: name.into(), text: text.into(), embedded, lines: OnceLock::new(), lines_before: 0 }
    }

    /// A part of an embedded file that begins on line `first_line` of it.
    #[must_use]
    pub const fn part(name: &'static str, text: &'static str, first_line: usize) -> Self {
        let lines_before = first_line.saturating_sub(1);
        Self { name: Cow::Borrowed(name), text: Cow::Borrowed(text), embedded: true, lines: OnceLock::new(), lines_before }
    }

    fn lines(&self) -> &[usize] {
        self.lines.get_or_init(|| std::iter::once(0).chain(self.text.match_indices('\n').map(|(at, _)| at + 1)).collect())
    }

    /// The line and column of a byte offset, found by bisection of the line index.
    #[must_use]
    pub fn place(&self, offset: usize) -> Place {
        let line = self.lines().partition_point(|&start| start <= offset).max(1);
        let start = self.lines().get(line - 1).copied().unwrap_or(0);
        let before = self.text.get(start..offset.min(self.text.len())).unwrap_or("");
        Place { line: line + self.lines_before, column: before.chars().count() + 1 }
    }

    /// The text of a span, empty when the span is not in this file.
    #[must_use]
    pub fn slice(&self, span: Span) -> &str {
        self.text.get(span.start..span.end).unwrap_or("")
    }

    /// Byte range of line `line` (from 1) without its line break.
    #[must_use]
    pub fn line_range(&self, line: usize) -> Option<Range<usize>> {
        let start = *self.lines().get(line.checked_sub(1)?)?;
        let end = self.lines().get(line).map_or(self.text.len(), |next| next - 1);
        Some(start..end.max(start))
    }

    /// How many lines there are.
    #[must_use]
    pub fn line_count(&self) -> usize {
        self.lines().len()
    }
}

/// All source texts of one compilation: the files in the order in which they were met, then the
/// declarations of the library in that order.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    files: Vec<SourceFile>,
    entries: Vec<usize>,
}

impl Sources {
    /// Takes a text in and gives it an identity.
    pub fn add(&mut self, name: impl Into<String>, text: String, embedded: bool) -> FileId {
        self.take(SourceFile::new(name.into(), text, embedded))
    }

    /// Takes in a text that is there already.
    pub fn take(&mut self, file: SourceFile) -> FileId {
        let id = FileId(u32::try_from(self.files.len()).unwrap_or(u32::MAX));
        self.files.push(file);
        id
    }

    /// Notes that the library's declaration of that number was read.
    pub fn note_entry(&mut self, number: usize) {
        self.entries.push(number);
    }

    /// The file of that identity.
    #[must_use]
    pub fn get(&self, id: FileId) -> Option<&SourceFile> {
        match id.entry() {
            Some(number) => library::file(number),
            None => self.files.get(id.0 as usize),
        }
    }

    /// The text of a span.
    #[must_use]
    pub fn slice(&self, span: Span) -> &str {
        self.get(span.file).map_or("", |file| file.slice(span))
    }

    /// Where a span begins.
    #[must_use]
    pub fn place(&self, span: Span) -> Place {
        self.get(span.file).map_or(Place { line: 1, column: 1 }, |file| file.place(span.start))
    }

    /// All files with their identities.
    pub fn iter(&self) -> impl Iterator<Item = (FileId, &SourceFile)> {
        let files = self.files.iter().enumerate().map(|(i, f)| (FileId(u32::try_from(i).unwrap_or(u32::MAX)), f));
        files.chain(self.entries.iter().filter_map(|number| Some((FileId::of_entry(*number), library::file(*number)?))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_count_characters_not_bytes() {
        let mut sources = Sources::default();
        let id = sources.add("a", "µL\n5 °C x\n".to_owned(), false);
        let file = sources.get(id).map(|f| f.place(10));
        assert_eq!(file, Some(Place { line: 2, column: 6 }));
    }

    #[test]
    fn an_offset_past_the_end_is_on_the_last_line() {
        let mut sources = Sources::default();
        let id = sources.add("a", "one\ntwo".to_owned(), false);
        assert_eq!(sources.get(id).map(|f| f.place(99).line), Some(2));
    }
}
