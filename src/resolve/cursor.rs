//! A place in a row of tokens, and what to say when the row does not go on as it should.

use crate::source::Span;
use crate::syntax::{Tok, Token};

/// A name as written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Name {
    /// Its text.
    pub text: String,
    /// Where.
    pub span: Span,
}

/// Why a row of tokens could not be read as what was wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// How many tokens had been read.
    pub at: usize,
    /// Where it stopped.
    pub span: Span,
    /// What was met there, in words.
    pub met: String,
    /// What could stand there.
    pub expected: Vec<String>,
    /// Whether a name may have been lost, so that later findings about names would follow from
    /// this one.
    pub lost: bool,
    /// Where a missing comma belongs, if that is it.
    pub comma: Option<Span>,
}

/// A cursor over tokens.
#[derive(Clone, Debug)]
pub struct Cursor<'a> {
    tokens: &'a [Token],
    at: usize,
    end: Span,
}

impl<'a> Cursor<'a> {
    /// At the first of `tokens`; `end` is where they end.
    #[must_use]
    pub fn new(tokens: &'a [Token], end: Span) -> Self {
        Self { tokens, at: 0, end: tokens.last().map_or(end, |last| last.span.after()) }
    }

    /// How many tokens have been read.
    #[must_use]
    pub fn at(&self) -> usize {
        self.at
    }

    /// Whether all have been read.
    #[must_use]
    pub fn is_done(&self) -> bool {
        self.at >= self.tokens.len()
    }

    /// The token here.
    #[must_use]
    pub fn peek(&self) -> Option<&'a Tok> {
        self.peek_at(0)
    }

    /// The token `ahead` of here.
    #[must_use]
    pub fn peek_at(&self, ahead: usize) -> Option<&'a Tok> {
        self.tokens.get(self.at + ahead).map(|token| &token.tok)
    }

    /// The tokens from here on.
    #[must_use]
    pub fn rest(&self) -> &'a [Token] {
        self.tokens.get(self.at..).unwrap_or(&[])
    }

    /// Where the token here stands, or the end.
    #[must_use]
    pub fn here(&self) -> Span {
        self.tokens.get(self.at).map_or(self.end, |token| token.span)
    }

    /// Where the token before here stands.
    #[must_use]
    pub fn before(&self) -> Span {
        self.at.checked_sub(1).and_then(|at| self.tokens.get(at)).map_or(self.end, |token| token.span)
    }

    /// Goes on by one.
    pub fn advance(&mut self) {
        self.at += 1;
    }

    /// Whether this word is here.
    #[must_use]
    pub fn word_is(&self, word: &str) -> bool {
        matches!(self.peek(), Some(Tok::Word(found)) if found == word)
    }

    /// Whether a comma is here.
    #[must_use]
    pub fn comma(&self) -> bool {
        matches!(self.peek(), Some(Tok::Sign(",")))
    }

    /// Reads a name.
    ///
    /// # Errors
    /// A failure that expects `what`.
    pub fn name(&mut self, what: &str) -> Result<Name, Failure> {
        match self.peek() {
            Some(Tok::Word(word)) => {
                let name = Name { text: word.clone(), span: self.here() };
                self.advance();
                Ok(name)
            }
            _ => Err(self.failure(what, true)),
        }
    }

    /// A failure here.
    #[must_use]
    pub fn failure(&self, expected: &str, lost: bool) -> Failure {
        let met = match self.peek() {
            None => "the end of the statement".to_owned(),
            Some(Tok::Text(_)) => "a text".to_owned(),
            Some(tok) => format!("`{}`", tok.written()),
        };
        Failure { at: self.at, span: self.here(), met, expected: vec![expected.to_owned()], lost, comma: None }
    }
}
