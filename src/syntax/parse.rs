//! Reads logical lines with the grammar and builds the tree. The only user of pest besides the build script.

use std::ops::Range;

use pest::Parser;
use pest::iterators::Pairs;

use super::scan::{Piece, is_blank, scan};
use super::tree::{Block, Comment, File, Line, Measure, Node, Tok, Token};
use crate::diagnostics::{Code, Diagnostic};
use crate::library::stored;
use crate::source::{FileId, SourceFile, Span};

mod grammar {
    #![allow(missing_docs, reason = "the rules are described in the grammar itself")]

    #[derive(pest_derive::Parser)]
    #[grammar = "../grammar/procedure.pest"]
    pub struct LineParser;
}
use grammar::{LineParser, Rule};

/// The signs of the grammar, so that a token need not own its text.
const SIGNS: &[&str] = &["...", "..", ",", "+", "*", "/", "=", "(", ")", "[", "]", "<", ">", ":", "|", "-", "%"];

/// Words that stand behind a bare number and are no unit: they go on with the statement.
const NEVER_UNITS: &[&str] = &[
    "source",
    "from",
    "for",
    "to",
    "at",
    "in",
    "over",
    "with",
    "of",
    "per",
    "running",
    "as",
    "by",
    "collecting",
    "cooling",
    "taking",
    "returning",
    "parting",
    "until",
    "filled",
    "is",
];

/// What the grammar finds, flat: what stands inside of something follows it.
#[derive(Clone, Copy)]
struct Found {
    rule: Rule,
    start: usize,
    end: usize,
}

/// The bytes of one [`Found`] as the build script stores it: rule, start, end.
const STORED: usize = 5;

/// Parses a whole file. The tree holds whatever could be read; the findings say what could not.
#[must_use]
pub fn parse(id: FileId, file: &SourceFile) -> (File, Vec<Diagnostic>) {
    let (pieces, findings) = scan(id, file);
    tree(id, &file.text, pieces, None, findings)
}

/// The same for a text of the library, in which the build script has found everything already.
#[must_use]
pub fn parse_stored(id: FileId, text: &str, stored: &[u8]) -> (File, Vec<Diagnostic>) {
    let (mut pieces, mut found) = (Vec::new(), Vec::with_capacity(stored.len() / STORED));
    for [sort, a, b, c, d] in stored.as_chunks::<STORED>().0 {
        let (start, end) = (u16::from_le_bytes([*a, *b]).into(), u16::from_le_bytes([*c, *d]).into());
        let blank_before = sort & 1 != 0;
        match sort & !1 {
            stored::LINE => pieces.push(Piece::Line { start, end, blank_before }),
            stored::COMMENT => pieces.push(Piece::Comment { start, end, blank_before, same_line: false }),
            stored::OPEN => pieces.push(Piece::Open(Span::new(id, start..end))),
            stored::CLOSE => pieces.push(Piece::Close(Span::new(id, start..end))),
            _ => found.extend(Rule::all_rules().get(usize::from(*sort)).map(|rule| Found { rule: *rule, start, end })),
        }
    }
    tree(id, text, pieces, Some(&found), Vec::new())
}

fn tree(
    id: FileId,
    text: &str,
    pieces: Vec<Piece>,
    mut stored: Option<&[Found]>,
    mut findings: Vec<Diagnostic>,
) -> (File, Vec<Diagnostic>) {
    let mut stack: Vec<(Line, Span, Vec<Node>)> = Vec::new();
    let mut nodes: Vec<Node> = Vec::new();
    let mut pieces = pieces.into_iter().peekable();
    while let Some(piece) = pieces.next() {
        match piece {
            Piece::Comment { start, end, blank_before, same_line } => {
                nodes.push(Node::Comment(Comment {
                    text: text.get(start..end).unwrap_or("").trim_end_matches(is_trailing).to_owned(),
                    span: Span::new(id, start..end),
                    same_line,
                    blank_before,
                }));
            }
            Piece::Line { start, end, blank_before } => {
                let known = stored.map(|known| {
                    let (_, from) = known.split_at(known.partition_point(|found| found.start < start));
                    let (here, rest) = from.split_at(from.partition_point(|found| found.start < end));
                    stored = Some(rest);
                    here
                });
                let line = line(id, text, start, end, blank_before, known, &mut findings);
                if let Some(Piece::Open(span)) = pieces.peek() {
                    stack.push((line, *span, std::mem::take(&mut nodes)));
                    pieces.next();
                } else {
                    nodes.push(Node::Line(line));
                }
            }
            Piece::Open(span) => {
                findings.push(
                    Diagnostic::new(Code::SyntaxExpected, span, "a brace opens a block here, and nothing says of what")
                        .help("a block begins with `procedure`, `step`, `reaction`, `operation`, `substance` or the like"),
                );
                let head = Line { tokens: Vec::new(), comments: Vec::new(), span, blank_before: false, broken: true };
                stack.push((head, span, std::mem::take(&mut nodes)));
            }
            Piece::Close(span) => {
                if let Some((head, open, outer)) = stack.pop() {
                    let body = std::mem::replace(&mut nodes, outer);
                    nodes.push(Node::Block(Block { head, open, body, close: span }));
                }
            }
        }
    }
    // The scanner has balanced the braces; what is left open is closed at the end all the same.
    while let Some((head, open, outer)) = stack.pop() {
        let body = std::mem::replace(&mut nodes, outer);
        nodes.push(Node::Block(Block { close: open, head, open, body }));
    }
    (File { id, nodes }, findings)
}

/// Parses one logical line by itself, as for `--size NAME=QUANTITY`.
#[must_use]
pub fn parse_line(id: FileId, file: &SourceFile) -> (Line, Vec<Diagnostic>) {
    parse_part(id, file, 0..file.text.len())
}

/// Parses the logical line that a part of a text is, given in bytes.
#[must_use]
pub fn parse_part(id: FileId, file: &SourceFile, part: Range<usize>) -> (Line, Vec<Diagnostic>) {
    let mut findings = Vec::new();
    let line = line(id, &file.text, part.start, part.end, false, None, &mut findings);
    (line, findings)
}

/// The tokens of an effect's form: words, signs and arrows. It is part of the program, read whenever an
/// operation is, and needs no grammar.
#[must_use]
pub fn form_tokens(id: FileId, text: &str) -> Vec<Token> {
    let mut tokens = Vec::new();
    let mut at = 0;
    while let Some(rest) = text.get(at..).filter(|rest| !rest.is_empty()) {
        let word = rest.find(|c: char| !c.is_ascii_alphanumeric() && c != '_').unwrap_or(rest.len());
        let sign = SIGNS.iter().find(|sign| rest.starts_with(**sign));
        let (length, tok) = match (word, sign) {
            (1.., _) => (word, Some(Tok::Word(rest.get(..word).unwrap_or("").to_owned()))),
            _ if rest.starts_with("->") => (2, Some(Tok::Arrow)),
            (_, Some(sign)) => (sign.len(), Some(Tok::Sign(sign))),
            _ => (rest.chars().next().map_or(1, char::len_utf8), None),
        };
        tokens.extend(tok.map(|tok| Token { tok, span: Span::new(id, at..at + length), breaks: false }));
        at += length;
    }
    tokens
}

/// What is not part of a comment at its end: whatever the scanner takes for a blank, too.
fn is_trailing(c: char) -> bool {
    c.is_whitespace() || is_blank(c)
}

/// How a day is written.
const DATE: &str = "0000-00-00";

struct Builder<'a> {
    id: FileId,
    text: &'a str,
    findings: &'a mut Vec<Diagnostic>,
    line: Line,
}

fn line(
    id: FileId,
    text: &str,
    start: usize,
    end: usize,
    blank_before: bool,
    known: Option<&[Found]>,
    findings: &mut Vec<Diagnostic>,
) -> Line {
    let line = Line { tokens: Vec::new(), comments: Vec::new(), span: Span::new(id, start..end), blank_before, broken: false };
    let mut builder = Builder { id, text, findings, line };
    match known {
        Some(known) => builder.tokens(known),
        None => match LineParser::parse(Rule::line, text.get(start..end).unwrap_or("")) {
            Ok(pairs) => builder.tokens(&flat(pairs, start)),
            Err(error) => {
                let at = match error.location {
                    pest::error::InputLocation::Pos(at) | pest::error::InputLocation::Span((at, _)) => start + at,
                };
                builder.fault(Code::SyntaxExpected, at, at, "this line cannot be read from here on", None);
            }
        },
    }
    let mut line = builder.line;
    if let (Some(first), Some(last)) = (line.tokens.first(), line.tokens.last()) {
        line.span = first.span.to(last.span);
    }
    line
}

/// Everything that was found in a text that begins at byte `base`, without the line itself.
fn flat(pairs: Pairs<'_, Rule>, base: usize) -> Vec<Found> {
    pairs
        .flatten()
        .filter(|pair| pair.as_rule() != Rule::line)
        .map(|pair| {
            let span = pair.as_span();
            Found { rule: pair.as_rule(), start: base + span.start(), end: base + span.end() }
        })
        .collect()
}

impl Builder<'_> {
    fn tokens(&mut self, mut found: &[Found]) {
        while let Some((first, rest)) = found.split_first() {
            let (inside, rest) = rest.split_at(rest.iter().take_while(|inner| inner.start < first.end).count());
            found = self.date(*first, rest).unwrap_or_else(|| {
                self.token(*first, inside);
                rest
            });
        }
    }

    /// Reads a day, which the grammar meets as a dash between two numbers and a negative third: what follows it.
    fn date<'f>(&mut self, first: Found, rest: &'f [Found]) -> Option<&'f [Found]> {
        let (next, behind) = rest.split_first()?;
        let end = first.start + DATE.len();
        if first.rule != Rule::dash_range || next.rule != Rule::quantity || next.start != first.end {
            return None;
        }
        let (inside, behind) = behind.split_at(behind.iter().take_while(|inner| inner.start < next.end).count());
        // The third number ends the day, and what was read as its unit is a word behind it.
        let day_ends = inside.iter().rfind(|inner| inner.rule == Rule::number).is_some_and(|number| number.end == end);
        let written = self.text.get(first.start..end).filter(|_| day_ends)?;
        let fits = |(c, form): (char, char)| if form == '0' { c.is_ascii_digit() } else { c == form };
        if !written.chars().zip(DATE.chars()).all(fits) {
            return None;
        }
        self.push(Tok::Date(written.to_owned()), Span::new(self.id, first.start..end));
        if let Some(unit) = inside.iter().find(|inner| inner.rule == Rule::unit) {
            let word = self.text.get(unit.start..unit.end).unwrap_or("").to_owned();
            self.push(Tok::Word(word), Span::new(self.id, unit.start..unit.end));
        }
        Some(behind)
    }

    /// Reports what could not be read, once a line, and marks the line.
    fn fault(&mut self, code: Code, from: usize, to: usize, message: &str, mend: Option<String>) {
        let span = Span::new(self.id, from..to);
        let mut finding = Diagnostic::new(code, span, message);
        if let Some(mend) = mend {
            // `1,500 g` may be fifteen hundred as well.
            let thousands =
                message.contains("comma") && mend.chars().skip_while(|c| *c != '.').skip(1).take_while(char::is_ascii_digit).count() == 3;
            finding = finding.help(if mend.is_empty() { "take it out".to_owned() } else { format!("write `{mend}`") });
            finding = if thousands { finding.guess(span, mend) } else { finding.edit(span, mend) };
        }
        self.findings.push(finding);
        self.line.broken = true;
    }

    fn push(&mut self, tok: Tok, span: Span) {
        let before = self.line.tokens.last().map_or(0, |token| token.span.end);
        let breaks = !self.line.tokens.is_empty() && self.text.get(before..span.start).is_some_and(|gap| gap.contains('\n'));
        self.line.tokens.push(Token { tok, span, breaks });
    }

    fn token(&mut self, found: Found, inside: &[Found]) {
        let Found { rule, start: from, end: to } = found;
        let span = Span::new(self.id, from..to);
        let written = self.text.get(from..to).unwrap_or("");
        match rule {
            Rule::comment => {
                let comment =
                    Comment { text: written.trim_end_matches(is_trailing).to_owned(), span, same_line: true, blank_before: false };
                self.line.comments.push((self.line.tokens.len(), comment));
            }
            Rule::text => {
                let inside = inside.first().and_then(|inside| self.text.get(inside.start..inside.end)).unwrap_or("");
                self.push(Tok::Text(inside.to_owned()), span);
            }
            Rule::open_text => {
                let message = "this text is never closed: the second quotation mark is missing";
                self.fault(Code::SyntaxText, from, to, message, None);
                if let Some(finding) = self.findings.last_mut() {
                    finding.help = Some("close it on the same line with `\"`".to_owned());
                }
                let inside = written.trim_start_matches(['"', '\u{201C}', '\u{201D}']);
                self.push(Tok::Text(inside.to_owned()), span);
            }
            Rule::arrow => self.push(Tok::Arrow, span),
            Rule::equilibrium => self.push(Tok::Equilibrium, span),
            Rule::decimal_comma => {
                let mend = written.replacen(',', ".", 1);
                self.fault(Code::SyntaxSlip, from, to, "a decimal comma would be read as the comma of a list", Some(mend.clone()));
                self.measure_from(&mend, span);
            }
            Rule::dash_range => {
                let mend = written.replacen(['-', '\u{2013}', '\u{2014}'], "..", 1).replace(" ..", "..").replace(".. ", "..");
                self.fault(
                    Code::SyntaxSlip,
                    from,
                    to,
                    "a dash between two numbers could be a minus: a range is written with two dots",
                    Some(mend.clone()),
                );
                self.measure_from(&mend, span);
            }
            Rule::semicolon => {
                self.fault(Code::SyntaxSlip, from, to, "a statement ends with its line; it takes no semicolon", Some(String::new()));
            }
            Rule::quantity => {
                let mut measure = measure(self.text, inside, span);
                let after = measure.unit.take_if(|(text, _)| NEVER_UNITS.contains(&text.as_str()));
                match after {
                    None => self.push(Tok::Quantity(measure), span),
                    Some((text, at)) => {
                        let figures = measure.figures_span;
                        self.push(Tok::Quantity(measure), figures);
                        self.push(Tok::Word(text), at);
                    }
                }
            }
            Rule::word => self.push(Tok::Word(written.to_owned()), span),
            Rule::sign => {
                let plain = if matches!(written, "\u{2013}" | "\u{2212}") { "-" } else { written };
                if let Some(sign) = SIGNS.iter().find(|sign| **sign == plain) {
                    self.push(Tok::Sign(sign), span);
                }
            }
            Rule::stray => self.stray(written, from, to),
            _ => {}
        }
    }

    fn stray(&mut self, written: &str, from: usize, to: usize) {
        match written {
            "\u{B0}" => self.fault(Code::AmbiguousUnit, from, to, "a bare degree sign does not say which scale", Some("degC".to_owned())),
            "\0" => {
                self.fault(Code::SyntaxNotText, from, to, "a NUL byte stands here: this is not text", None);
                if let Some(finding) = self.findings.last_mut() {
                    finding.help = Some("take it out, or save the file again as plain UTF-8 text".to_owned());
                }
            }
            _ => {
                let name = written.chars().next().map_or(0, |c| c as u32);
                let message = format!("the character `{}` (U+{name:04X}) means nothing here", written.escape_debug());
                self.fault(Code::SyntaxExpected, from, to, &message, None);
            }
        }
    }

    fn measure_from(&mut self, mended: &str, span: Span) {
        let Ok(pairs) = LineParser::parse(Rule::quantity, mended) else { return };
        let mut measure = measure(mended, &flat(pairs, 0), span);
        // Places inside a mended text are not places of the source.
        measure.figures_span = span;
        if let Some(unit) = &mut measure.unit {
            unit.1 = span;
        }
        self.push(Tok::Quantity(measure), span);
    }
}

/// The quantity that a text holds at `span`.
fn measure(text: &str, inside: &[Found], span: Span) -> Measure {
    let mut numbers: Vec<f64> = Vec::new();
    let mut figures = String::new();
    let mut negative = false;
    let mut tolerance = false;
    let mut unit = None;
    let mut figures_end = span.start;
    for inner in inside {
        let written = text.get(inner.start..inner.end).unwrap_or("");
        match inner.rule {
            Rule::minus => negative = true,
            Rule::plus_minus => tolerance = true,
            Rule::number => {
                let value = written.parse::<f64>().unwrap_or(f64::INFINITY);
                if !numbers.is_empty() {
                    figures.push_str(if tolerance { " ± " } else { ".." });
                }
                if negative {
                    figures.push('-');
                }
                figures.push_str(written);
                numbers.push(if negative { -value } else { value });
                negative = false;
                figures_end = inner.end;
            }
            Rule::unit => {
                let mut text: String = written.split_whitespace().collect::<Vec<_>>().join(" ");
                if let Some(basis) = text.strip_prefix('%') {
                    text = format!("% {}", basis.trim()).trim_end().to_owned();
                }
                unit = Some((text, Span { start: inner.start, end: inner.end, ..span }));
            }
            _ => {}
        }
    }
    let second = numbers.get(1).copied();
    Measure {
        low: numbers.first().copied().unwrap_or(f64::NAN),
        high: if tolerance { None } else { second },
        plus_minus: if tolerance { second } else { None },
        figures,
        figures_span: Span { end: figures_end, ..span },
        unit,
    }
}
