//! Source texts, byte spans in them, and the lines and columns that people count in.
//!
//! Every node and every finding carries a [`Span`]; the text itself is looked up only when a
//! finding is rendered.

use std::ops::Range;

/// A file among the [`Sources`] of one compilation.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct FileId(u32);

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
    pub name: String,
    /// The text. Bytes that are not UTF-8 were replaced when it was read, and reported.
    pub text: String,
    /// Whether it belongs to the embedded library.
    pub embedded: bool,
    lines: Vec<usize>,
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
        let lines = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Self { name, text, embedded, lines, lines_before: 0 }
    }

    /// The line and column of a byte offset, found by bisection of the line index.
    #[must_use]
    pub fn place(&self, offset: usize) -> Place {
        let line = self.lines.partition_point(|&start| start <= offset).max(1);
        let start = self.lines.get(line - 1).copied().unwrap_or(0);
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
        let start = *self.lines.get(line.checked_sub(1)?)?;
        let end = self.lines.get(line).map_or(self.text.len(), |next| next - 1);
        Some(start..end.max(start))
    }

    /// How many lines there are.
    #[must_use]
    pub fn line_count(&self) -> usize {
        self.lines.len()
    }
}

/// All source texts of one compilation, in the order in which they were met.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    files: Vec<SourceFile>,
}

impl Sources {
    /// Takes a text in and gives it an identity.
    pub fn add(&mut self, name: impl Into<String>, text: String, embedded: bool) -> FileId {
        let id = FileId(u32::try_from(self.files.len()).unwrap_or(u32::MAX));
        self.files.push(SourceFile::new(name.into(), text, embedded));
        id
    }

    /// Takes in a part of an embedded file that begins on line `first_line` of it.
    pub fn add_part(&mut self, name: &str, text: &str, first_line: usize) -> FileId {
        let id = self.add(name, text.to_owned(), true);
        if let Some(file) = self.files.last_mut() {
            file.lines_before = first_line.saturating_sub(1);
        }
        id
    }

    /// The file of that identity.
    #[must_use]
    pub fn get(&self, id: FileId) -> Option<&SourceFile> {
        self.files.get(id.0 as usize)
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
        self.files.iter().enumerate().map(|(i, f)| (FileId(u32::try_from(i).unwrap_or(u32::MAX)), f))
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
