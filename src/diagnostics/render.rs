//! Findings for people: the lines concerned with the place marked, why, and what to do. The only
//! file that knows miette.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;

use miette::{GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};

use super::{Diagnostic, Severity};
use crate::source::{FileId, SourceFile, Sources, Span};

/// Characters to a line of a report.
const WIDTH: usize = 80;

/// A marked stretch of more lines than this is marked on its first line only.
const MOST_LINES: usize = 3;

/// Bytes of a line that are shown; of a longer one a part around the place.
const MOST_BYTES: usize = 240;

/// Bytes shown on each side of the place in a line of which only a part is shown.
const AROUND: usize = 60;

/// How reports are drawn.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Look {
    /// Plain characters: for a file, a pipe, a test.
    Plain,
    /// Line-drawing characters without colour: a terminal whose user asked for none.
    Drawn,
    /// Line-drawing characters and colours: a terminal.
    Coloured,
}

impl Look {
    fn theme(self) -> GraphicalTheme {
        match self {
            Self::Plain => GraphicalTheme::none(),
            Self::Drawn => GraphicalTheme::unicode_nocolor(),
            Self::Coloured => GraphicalTheme::unicode(),
        }
    }
}

/// All findings in the order given, each followed by an empty line.
#[must_use]
pub fn render(findings: &[Diagnostic], sources: &Sources, look: Look) -> String {
    let handler = GraphicalReportHandler::new_themed(look.theme())
        .with_width(WIDTH)
        .with_break_words(false)
        .with_context_lines(0)
        .without_syntax_highlighting();
    // Each text is prepared once, however many findings it has.
    let mut snippets: BTreeMap<FileId, Snippet<'_>> = BTreeMap::new();
    for finding in findings {
        if let Some(file) = sources.get(finding.span.file) {
            snippets.entry(finding.span.file).or_insert_with(|| Snippet::new(file));
        }
    }
    let mut out = String::new();
    for finding in findings {
        let report = Report::new(finding, sources, snippets.get(&finding.span.file));
        let before = out.len();
        if handler.render_report(&mut out, &report).is_err() {
            // A finding is never lost to the way it is drawn.
            out.truncate(before);
            out.push_str(&format!("{}\n  {}\n", report.code, report.message));
        }
        out.push('\n');
    }
    out
}

/// A text as reports show it: bytes at their own offsets, one line break added at the end (so that
/// the place behind the last character lies on a line), nothing in it that a terminal would obey.
struct Snippet<'a> {
    file: &'a SourceFile,
    text: Cow<'a, str>,
}

impl<'a> Snippet<'a> {
    fn new(file: &'a SourceFile) -> Self {
        let text = &file.text;
        if text.ends_with('\n') && !text.contains(obeyed) {
            return Self { file, text: Cow::Borrowed(text) };
        }
        let mut shown: String = text.char_indices().map(|(at, c)| shown(c, text.get(at + 1..))).collect();
        if !shown.ends_with('\n') {
            shown.push('\n');
        }
        Self { file, text: Cow::Owned(shown) }
    }

    /// Number of the line (from 1, in this text) on which a byte lies.
    fn line(&self, offset: usize) -> usize {
        let before = self.file.place(0).line.saturating_sub(1);
        self.file.place(offset).line.saturating_sub(before)
    }

    /// First byte of a line and one past its line break.
    fn whole_line(&self, line: usize) -> (usize, usize) {
        let end = self.text.len();
        self.file.line_range(line).map_or((end, end), |range| (range.start, (range.end + 1).min(end)))
    }
}

impl SourceCode for Snippet<'_> {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        _lines_before: usize,
        _lines_after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let last = span.offset() + span.len().saturating_sub(1);
        let (from, to) = (self.line(span.offset()), self.line(last));
        let (mut start, mut end) = (self.whole_line(from).0, self.whole_line(to).1);
        if from == to && end - start > MOST_BYTES {
            if span.len() > MOST_BYTES {
                // Marks that are far apart are then shown each by itself.
                return Err(MietteError::OutOfBounds);
            }
            start = boundary(&self.text, start.max(span.offset().saturating_sub(AROUND)));
            end = boundary(&self.text, end.min(last + 1 + AROUND));
        }
        let data = self.text.get(start..end).ok_or(MietteError::OutOfBounds)?;
        let place = self.file.place(span.offset());
        // The line and column are those of the span and not of the data, since they are what the
        // report names.
        Ok(Box::new(MietteSpanContents::new_named(
            printable(&self.file.name),
            data.as_bytes(),
            (start, data.len()).into(),
            place.line.saturating_sub(1),
            place.column.saturating_sub(1),
            to.saturating_sub(from) + 1,
        )))
    }
}

/// One finding as miette wants it.
struct Report<'a> {
    severity: Severity,
    code: String,
    message: String,
    labels: Vec<LabeledSpan>,
    help: Option<String>,
    source: Option<&'a Snippet<'a>>,
}

impl<'a> Report<'a> {
    fn new(finding: &Diagnostic, sources: &Sources, snippet: Option<&'a Snippet<'a>>) -> Self {
        let severity = finding.code.severity();
        let mut notes = Vec::new();
        // There is nothing to show of a file that is empty or could not be read.
        let source = snippet.filter(|snippet| !snippet.file.text.is_empty());
        let labels = source.map(|source| marks(finding, sources, source, &mut notes)).unwrap_or_default();
        if source.is_none() {
            notes.extend(finding.labels.iter().map(|(span, text)| note(*span, text, sources)));
        }
        let help = finding.help.as_deref().map(printable).or_else(|| remedy(finding));
        notes.extend(help);
        Self {
            severity,
            code: format!("{}: {}", severity.word(), finding.code.text()),
            message: printable(&finding.message),
            labels,
            help: (!notes.is_empty()).then(|| notes.join("\n")),
            source,
        }
    }
}

impl miette::Diagnostic for Report<'_> {
    fn code<'b>(&'b self) -> Option<Box<dyn fmt::Display + 'b>> {
        Some(Box::new(&self.code))
    }

    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.severity {
            Severity::Error => miette::Severity::Error,
            Severity::Warning => miette::Severity::Warning,
        })
    }

    fn help<'b>(&'b self) -> Option<Box<dyn fmt::Display + 'b>> {
        self.help.as_ref().map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.source.map(|source| source as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        (!self.labels.is_empty()).then(|| Box::new(self.labels.iter().cloned()) as Box<dyn Iterator<Item = LabeledSpan>>)
    }
}

impl fmt::Display for Report<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl fmt::Debug for Report<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Report<'_> {}

/// The places to be marked in the finding's own file; what cannot be marked there becomes a note.
fn marks(finding: &Diagnostic, sources: &Sources, source: &Snippet<'_>, notes: &mut Vec<String>) -> Vec<LabeledSpan> {
    let main = clipped(finding.span, source);
    let mut own = Vec::new();
    let mut others: Vec<(usize, usize, String)> = Vec::new();
    for (span, text) in &finding.labels {
        let (start, end) = clipped(*span, source);
        // Marks that overlap would be drawn side by side, under the wrong characters.
        let apart = |from: usize, to: usize| end.max(start + 1) <= from || to.max(from + 1) <= start;
        if span.file == finding.span.file && (start, end) == main {
            own.push(printable(text));
        } else if span.file == finding.span.file && apart(main.0, main.1) && others.iter().all(|(from, to, _)| apart(*from, *to)) {
            others.push((start, end, printable(text)));
        } else {
            notes.push(note(*span, text, sources));
        }
    }
    if own.is_empty() && !others.is_empty() {
        // Of several marks one is where the finding stands.
        own.push("here".to_owned());
    }
    let text = (!own.is_empty()).then(|| own.join("; "));
    let mut marks = vec![LabeledSpan::new_primary_with_span(text, main.0..main.1)];
    marks.extend(others.into_iter().map(|(start, end, text)| LabeledSpan::at(start..end, text)));
    marks
}

/// The bytes to be marked for a span: inside the text, and not over half a page.
fn clipped(span: Span, source: &Snippet<'_>) -> (usize, usize) {
    let text = &source.file.text;
    let mut start = span.start.min(text.len());
    if start == text.len() && start > 0 && text.ends_with('\n') {
        // The empty line behind the last line break is no line to anybody: stay on the one before.
        start -= if text.ends_with("\r\n") { 2 } else { 1 };
    }
    let mut end = span.end.clamp(start, text.len());
    let (first, last) = (source.line(start), source.line(end.saturating_sub(1).max(start)));
    if last - first >= MOST_LINES {
        end = source.file.line_range(first).map_or(end, |range| range.end.max(start));
    }
    if end - start > MOST_BYTES {
        end = boundary(text, start + MOST_BYTES);
    }
    (start, end)
}

/// The nearest character boundary at or before a byte.
fn boundary(text: &str, mut at: usize) -> usize {
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// A label that cannot be drawn, as words that say where it is.
fn note(span: Span, text: &str, sources: &Sources) -> String {
    let place = sources.place(span);
    let name = sources.get(span.file).map_or("", |file| file.name.as_ref());
    format!("{}:{}:{}: {}", printable(name), place.line, place.column, printable(text))
}

/// The edit in words, for a finding that has no other remedy.
fn remedy(finding: &Diagnostic) -> Option<String> {
    let edit = finding.edit.as_ref()?;
    let text = edit.text.trim();
    Some(if text.is_empty() { "take it out".to_owned() } else { format!("write `{}`", printable(text)) })
}

/// Whether a terminal might obey the character, or be led to show the text in another order.
fn obeyed(c: char) -> bool {
    (c.is_control() && !matches!(c, '\n' | '\t'))
        || matches!(c, '\u{200E}' | '\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2066}'..='\u{2069}')
}

/// The character, or where it would be obeyed one of the same length in bytes.
fn shown(c: char, rest: Option<&str>) -> char {
    match c {
        '\r' if rest.is_some_and(|rest| rest.starts_with('\n')) => c,
        _ if !obeyed(c) => c,
        _ => match c.len_utf8() {
            1 => '?',
            2 => '\u{B7}',
            _ => '\u{FFFD}',
        },
    }
}

/// Words with nothing in them that a terminal would obey.
fn printable(text: &str) -> String {
    text.chars().map(|c| if c == '\n' { c } else { shown(c, None) }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostics::Code;

    fn drawn(text: &str, range: std::ops::Range<usize>, labels: &[(std::ops::Range<usize>, &str)]) -> String {
        let mut sources = Sources::default();
        let id = sources.add("a.scruple", text.to_owned(), false);
        let mut finding = Diagnostic::new(Code::UsedTwice, Span::new(id, range), "`crude` is used twice");
        for (range, text) in labels {
            finding = finding.label(Span::new(id, range.clone()), *text);
        }
        render(&[finding], &sources, Look::Plain)
    }

    #[test]
    fn the_mark_stands_under_the_place_and_the_place_is_named_in_characters() {
        let text = "take µ = water, 5 °C\ncool crude to 4 degC\n";
        let at = text.find("crude").unwrap_or(0);
        let report = drawn(text, at..at + 5, &[]);
        assert!(report.contains("[a.scruple:2:6]"), "{report}");
        let lines: Vec<&str> = report.lines().collect();
        let line = lines.iter().position(|line| line.contains("cool crude")).unwrap_or(0);
        let column = lines.get(line).and_then(|line| line.find("crude"));
        assert_eq!(lines.get(line + 1).and_then(|line| line.find('^')), column, "{report}");
    }

    #[test]
    fn a_label_elsewhere_in_the_file_is_drawn_and_one_that_overlaps_becomes_a_note() {
        let text = "cool crude\n\n\n\ndry crude\n";
        let report = drawn(text, 14..23, &[(5..10, "first used here"), (18..23, "this one")]);
        assert!(report.contains("`-- first used here"), "{report}");
        assert!(report.contains("a.scruple:5:5: this one"), "{report}");
    }

    #[test]
    fn no_place_is_too_odd_to_be_shown() {
        for text in ["", "\n", "a", "a\n", "a\r\n", "\r", "µ\r\n\n", "a\tb\u{1b}[31mc\u{9b}\u{202e}d\n", "1\n2\n3\n4\n5\n6"] {
            for start in (0..=text.len()).filter(|at| text.is_char_boundary(*at)) {
                for end in (start..=text.len()).filter(|at| text.is_char_boundary(*at)) {
                    let report = drawn(text, start..end, &[(0..0, "start"), (text.len()..text.len(), "end")]);
                    assert!(report.contains("used twice"));
                    assert!(!report.contains(obeyed), "{report:?}");
                    let marked = report.contains('^') || report.contains('>') || report.contains("`-- ");
                    assert!(text.is_empty() || marked, "{text:?} {start}..{end}\n{report}");
                }
            }
        }
    }

    #[test]
    fn of_a_very_long_line_only_the_part_concerned_is_shown() {
        let text = format!("x{}y{}z", "µ".repeat(30_000), " ,".repeat(15_000));
        for at in [0, 1, 3, 60_001, 60_002, text.len() - 1, text.len()] {
            for label in [0..1, 60_001..60_002, text.len() - 1..text.len(), 1..60_001] {
                let report = drawn(&text, at..(at + 1).min(text.len()), &[(label, "the label")]);
                assert!(report.len() < 2_000 && report.contains("the label"), "{report}");
                assert!(drawn(&text, 1..text.len() - 1, &[]).len() < 2_000);
            }
        }
    }

    #[test]
    fn a_place_in_a_part_of_a_file_has_the_line_of_the_whole_file() {
        let mut sources = Sources::default();
        let id = sources.take(SourceFile::part("stdlib/a.scruple", "agent x {\n    holds 3\n}\n", 40));
        let finding = Diagnostic::new(Code::Mismatch, Span::new(id, 20..21), "three of what?");
        let report = render(&[finding], &sources, Look::Plain);
        assert!(report.contains("[stdlib/a.scruple:41:11]"), "{report}");
        assert!(report.contains(" 41 |     holds 3"), "{report}");
    }
}
