//! The scanner: which physical lines make one logical line, and where blocks begin and end.
//!
//! Braces decide. Only where they do not balance does the indentation say which one is missing,
//! so that the finding stands where the brace should.

use crate::diagnostics::{Code, Diagnostic};
pub use crate::library::stored::DEEPER;
use crate::source::{FileId, SourceFile, Span};

/// How deep blocks may nest.
pub const MAX_DEPTH: usize = 256;
/// How long a logical line may be, in bytes.
pub const MAX_LINE: usize = 64 * 1024;

/// Words that begin a block wherever they begin a line.
pub const BLOCK_WORDS: &[&str] =
    &["procedure", "step", "reaction", "operation", "substance", "solution", "agent", "apparatus", "instrument"];

/// What the scanner hands on, in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Piece {
    /// Bytes `start..end` are one logical line.
    Line {
        /// First byte.
        start: usize,
        /// One past the last byte.
        end: usize,
        /// Whether a blank line stands before it.
        blank_before: bool,
    },
    /// The line before it opens a block.
    Open(Span),
    /// A block ends.
    Close(Span),
    /// A comment by itself.
    Comment {
        /// First byte.
        start: usize,
        /// One past the last byte.
        end: usize,
        /// Whether a blank line stands before it.
        blank_before: bool,
        /// Whether it stands behind a brace.
        same_line: bool,
    },
}

struct Scanner<'a> {
    file: &'a SourceFile,
    id: FileId,
    pieces: Vec<(Piece, usize)>,
    findings: Vec<Diagnostic>,
    open_line: Option<OpenLine>,
}

struct OpenLine {
    start: usize,
    end: usize,
    indent: usize,
    blank_before: bool,
    first_line_end: usize,
}

/// Cuts a file into pieces with balanced `Open` and `Close`.
#[must_use]
pub fn scan(id: FileId, file: &SourceFile) -> (Vec<Piece>, Vec<Diagnostic>) {
    let mut scanner = Scanner { file, id, pieces: Vec::new(), findings: Vec::new(), open_line: None };
    scanner.lines();
    let Scanner { pieces, mut findings, .. } = scanner;
    let pieces = balance(pieces, id, file, &mut findings);
    (pieces, findings)
}

impl Scanner<'_> {
    fn lines(&mut self) {
        let mut blank = false;
        for number in 1..=self.file.line_count() {
            let Some(range) = self.file.line_range(number) else { continue };
            let text = self.file.text.get(range.clone()).unwrap_or("");
            let body = text.trim_start_matches(is_blank);
            if body.trim_end_matches(is_blank).is_empty() {
                self.finish();
                blank = true;
                continue;
            }
            let indent: usize = text
                .chars()
                .take_while(|&c| is_blank(c))
                .map(|c| match c {
                    '\t' => 4,
                    '\u{FEFF}' => 0,
                    _ => 1,
                })
                .sum();
            self.physical(range.start + (text.len() - body.len()), range.end, indent, blank);
            blank = false;
        }
        self.finish();
    }

    /// One physical line from its first visible byte.
    fn physical(&mut self, start: usize, end: usize, indent: usize, blank: bool) {
        let text = self.file.text.get(start..end).unwrap_or("");
        let continues = self.open_line.as_ref().is_some_and(|line| indent >= line.indent + DEEPER) && !text.starts_with(['}', '{']);
        if !continues {
            self.finish();
        }
        let mut from = start;
        let mut blank = blank;
        for (at, brace) in braces(text) {
            let at = start + at;
            self.segment(from, at, indent, blank, start);
            let span = Span::new(self.id, at..at + 1);
            self.finish();
            self.pieces.push((if brace == '{' { Piece::Open(span) } else { Piece::Close(span) }, indent));
            from = at + 1;
            blank = false;
        }
        self.segment(from, end, indent, blank, start);
    }

    /// A stretch of one physical line between braces.
    fn segment(&mut self, from: usize, to: usize, indent: usize, blank: bool, line_start: usize) {
        let raw = self.file.text.get(from..to).unwrap_or("");
        let text = raw.trim_matches(is_blank);
        if text.is_empty() {
            return;
        }
        let from = from + (raw.len() - raw.trim_start_matches(is_blank).len());
        let to = from + text.len();
        if text.starts_with('#') && self.open_line.is_none() {
            let same_line = from != line_start;
            self.pieces.push((Piece::Comment { start: from, end: to, blank_before: blank, same_line }, indent));
            return;
        }
        match &mut self.open_line {
            Some(line) => line.end = to,
            None => {
                self.open_line = Some(OpenLine { start: from, end: to, indent, blank_before: blank, first_line_end: to });
            }
        }
        // A block's first line without its brace: the lines below it are its body, not its tail.
        let headless = self.open_line.as_ref().is_some_and(|line| {
            let first = self.file.text.get(line.start..line.first_line_end).unwrap_or("");
            let word: String = first.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            BLOCK_WORDS.contains(&word.as_str()) && line.end == line.first_line_end
        });
        let line_end = self.file.text.get(to..).and_then(|rest| rest.find('\n')).map_or(self.file.text.len(), |n| to + n);
        let rest = self.file.text.get(to..line_end).unwrap_or("").trim_start_matches(is_blank);
        if headless && !rest.starts_with('{') && self.next_is_deeper(line_end, indent) {
            let code_end = from + comment_start(text).map_or(text.len(), |at| text.get(..at).unwrap_or("").trim_end().len());
            let place = Span::new(self.id, code_end..code_end);
            self.findings.push(
                Diagnostic::new(Code::SyntaxBrace, place, "the block that begins here has no opening brace")
                    .help("write `{` at the end of this line")
                    .edit(place, " {"),
            );
            self.finish();
            self.pieces.push((Piece::Open(place), indent));
        }
    }

    fn next_is_deeper(&self, line_end: usize, indent: usize) -> bool {
        let rest = self.file.text.get(line_end..).unwrap_or("");
        rest.lines().find(|line| !line.trim().is_empty()).is_some_and(|line| {
            line.chars().take_while(|&c| is_blank(c)).map(|c| if c == '\t' { 4 } else { 1 }).sum::<usize>() > indent
                && !line.trim_start().starts_with('{')
        })
    }

    fn finish(&mut self) {
        let Some(line) = self.open_line.take() else { return };
        if line.end - line.start > MAX_LINE {
            let span = Span::new(self.id, line.start..line.start);
            self.findings.push(
                Diagnostic::new(
                    Code::SyntaxTooLarge,
                    span,
                    format!("this line is {} bytes long; the longest that is read is {MAX_LINE}", line.end - line.start),
                )
                .help("break it into statements, one a line"),
            );
            return;
        }
        self.pieces.push((Piece::Line { start: line.start, end: line.end, blank_before: line.blank_before }, line.indent));
    }
}

pub(super) fn is_blank(c: char) -> bool {
    matches!(c, ' ' | '\t' | '\r' | '\u{A0}' | '\u{2009}' | '\u{202F}' | '\u{FEFF}')
}

/// Where a comment begins in a physical line, outside of texts.
fn comment_start(text: &str) -> Option<usize> {
    let mut quoted = false;
    for (at, c) in text.char_indices() {
        match c {
            '"' | '\u{201C}' | '\u{201D}' => quoted = !quoted,
            '#' if !quoted => return Some(at),
            _ => {}
        }
    }
    None
}

/// The braces of a physical line outside of texts and comments.
fn braces(text: &str) -> Vec<(usize, char)> {
    let code = text.get(..comment_start(text).unwrap_or(text.len())).unwrap_or("");
    let mut quoted = false;
    let mut found = Vec::new();
    for (at, c) in code.char_indices() {
        match c {
            '"' | '\u{201C}' | '\u{201D}' => quoted = !quoted,
            '{' | '}' if !quoted => found.push((at, c)),
            _ => {}
        }
    }
    found
}

/// Makes opens and closes match, reporting each that is missing or one too many.
fn balance(pieces: Vec<(Piece, usize)>, id: FileId, file: &SourceFile, findings: &mut Vec<Diagnostic>) -> Vec<Piece> {
    let opens = pieces.iter().filter(|(piece, _)| matches!(piece, Piece::Open(_))).count();
    let closes = pieces.iter().filter(|(piece, _)| matches!(piece, Piece::Close(_))).count();
    let balanced = opens == closes && never_below_zero(&pieces);
    let mut out = Vec::with_capacity(pieces.len());
    let mut stack: Vec<(usize, Span)> = Vec::new();
    // The end of the last line that holds something, behind which a missing brace belongs.
    let mut last_end = 0;
    let mut too_deep = false;
    for (piece, indent) in pieces {
        match &piece {
            Piece::Open(span) => {
                if stack.len() >= MAX_DEPTH {
                    if !too_deep {
                        findings.push(Diagnostic::new(
                            Code::SyntaxTooLarge,
                            *span,
                            format!("blocks are nested more than {MAX_DEPTH} deep"),
                        ));
                    }
                    too_deep = true;
                }
                stack.push((indent, *span));
                last_end = span.end;
            }
            Piece::Close(span) => {
                if !balanced {
                    while stack.len() > 1 && stack.last().is_some_and(|(of, _)| indent < *of) {
                        if let Some((_, opened)) = stack.pop() {
                            out.push(missing_close(opened, last_end, id, file, findings));
                        }
                    }
                    let stray = match stack.last() {
                        None => true,
                        Some((of, _)) => closes > opens && indent > *of,
                    };
                    if stray {
                        findings.push(
                            Diagnostic::new(Code::SyntaxBrace, *span, "this brace closes nothing").help("take it out").edit(*span, ""),
                        );
                        continue;
                    }
                }
                stack.pop();
                last_end = span.end;
            }
            Piece::Line { end, .. } | Piece::Comment { end, .. } => {
                if !balanced && matches!(piece, Piece::Line { .. }) {
                    while stack.last().is_some_and(|(of, _)| indent <= *of) {
                        if let Some((_, opened)) = stack.pop() {
                            out.push(missing_close(opened, last_end, id, file, findings));
                        }
                    }
                }
                // A comment no deeper than the open block stands behind it, not in it.
                let outside = matches!(piece, Piece::Comment { .. }) && stack.last().is_some_and(|(of, _)| indent <= *of);
                if !outside {
                    last_end = last_end.max(*end);
                }
            }
        }
        if !too_deep {
            out.push(piece);
        }
    }
    if too_deep {
        return Vec::new();
    }
    while let Some((_, opened)) = stack.pop() {
        out.push(missing_close(opened, last_end, id, file, findings));
    }
    out
}

fn never_below_zero(pieces: &[(Piece, usize)]) -> bool {
    let mut depth = 0_usize;
    for (piece, _) in pieces {
        match piece {
            Piece::Open(_) => depth += 1,
            Piece::Close(_) => match depth.checked_sub(1) {
                Some(less) => depth = less,
                None => return false,
            },
            _ => {}
        }
    }
    true
}

fn missing_close(opened: Span, last_end: usize, id: FileId, file: &SourceFile, findings: &mut Vec<Diagnostic>) -> Piece {
    let line = file.place(last_end).line;
    let at = file.line_range(line + 1).map_or(file.text.len(), |range| range.end);
    let span = Span::new(id, at..at);
    findings.push(
        Diagnostic::new(Code::SyntaxBrace, span, "a closing brace is missing here")
            .label(opened, "the block that begins here is never closed")
            .help("write `}` on a line of its own"),
    );
    Piece::Close(span)
}
