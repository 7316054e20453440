//! `allow CODE "reason"`: the author has seen a finding about the next statement and stands by it.

use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::source::Span;
use crate::syntax::{Line, Tok};

/// One `allow`, with what it stands before.
#[derive(Clone, Debug)]
pub struct Allow {
    /// The code that it silences once.
    pub code: Code,
    /// Why, in the author's words.
    pub reason: String,
    /// Where it stands.
    pub span: Span,
    /// The statement behind it, and the procedure's head where it stands before everything else.
    pub covers: Vec<Span>,
}

impl Allow {
    /// Whether a finding at this place is one that it speaks of.
    #[must_use]
    pub fn speaks_of(&self, finding: &Diagnostic) -> bool {
        let inside = |outer: &Span| outer.file == finding.span.file && outer.start <= finding.span.start && finding.span.end <= outer.end;
        finding.code == self.code && self.covers.iter().any(inside)
    }
}

/// Reads an `allow` line.
///
/// # Errors
/// A finding at the part that does not fit.
pub fn read(line: &Line) -> Result<Allow, Diagnostic> {
    const FORM: &str = "write `allow family::name \"reason\"` on a line of its own, just before the statement";
    let expected = |at: usize, what: &str| {
        let span = line.tokens.get(at).map_or(line.span.after(), |token| token.span);
        Diagnostic::new(Code::SyntaxExpected, span, format!("{what} belongs here")).help(FORM)
    };
    let colon = |at: usize| matches!(line.tokens.get(at).map(|token| &token.tok), Some(Tok::Sign(":")));
    let (Some(family), true, true, Some(name)) = (line.word(1), colon(2), colon(3), line.word(4)) else {
        let at = (1..=4).find(|at| if matches!(at, 1 | 4) { line.word(*at).is_none() } else { !colon(*at) }).unwrap_or(1);
        return Err(expected(at, "the code of a finding"));
    };
    let text = format!("{family}::{name}");
    let place = line.tokens.get(1).zip(line.tokens.get(4)).map_or(line.span, |(first, last)| first.span.to(last.span));
    let Some(code) = Code::from_text(&text) else {
        let near = suggest::sentence(&text, Code::ALL.iter().map(|code| code.text()));
        let help = near.unwrap_or_else(|| "`scruple explain` lists all codes".to_owned());
        return Err(Diagnostic::new(Code::CannotAllow, place, format!("no finding has the code `{text}`")).help(help));
    };
    if !code.can_be_allowed() {
        return Err(Diagnostic::new(Code::CannotAllow, place, format!("`{text}` cannot be allowed: {}", code.title()))
            .help("nothing further can be worked out with it; mend it"));
    }
    match line.tokens.get(5).map(|token| &token.tok) {
        Some(Tok::Text(reason)) if !reason.trim().is_empty() => match line.tokens.get(6) {
            None => Ok(Allow { code, reason: reason.trim().to_owned(), span: line.span, covers: Vec::new() }),
            Some(_) => Err(expected(6, "nothing more")),
        },
        _ => Err(expected(5, "the reason in quotation marks")),
    }
}
