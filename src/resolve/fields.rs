//! Reading the fields of a declaration: `name value, … [at condition] source "…"`.

use std::sync::Arc;

use super::cursor::{Cursor, Failure};
use super::definitions::Sourced;
use super::quantity;
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::kinds::Kind;
use crate::source::Span;
use crate::syntax::{Block, Line, Node, Tok};

/// One field: its name, a cursor over its value, its source.
#[derive(Debug)]
pub struct Field<'a> {
    /// The first word.
    pub name: &'a str,
    /// The whole line.
    pub span: Span,
    /// Over the tokens between the name and `source`.
    pub cursor: Cursor<'a>,
    /// The text behind `source`, empty where there is none.
    pub source: Arc<str>,
}

/// What reading a value gives.
pub type Read<T> = Result<T, Diagnostic>;

impl<'a> Field<'a> {
    /// The field on a line.
    ///
    /// # Errors
    /// A finding when the line does not begin with a word.
    pub fn of(line: &'a Line) -> Read<Self> {
        let Some(name) = line.first_word() else {
            return Err(Diagnostic::new(Code::SyntaxExpected, line.span, "a field begins with its name"));
        };
        // What stands behind the source belongs to a line of its own, whose head is missing.
        let is_source = |pair: &[crate::syntax::Token]| match pair {
            [word, text] => matches!((&word.tok, &text.tok), (Tok::Word(word), Tok::Text(_)) if word == "source"),
            _ => false,
        };
        if let Some(at) = line.tokens.windows(2).skip(1).position(is_source)
            && let Some(extra) = line.tokens.get(at + 3)
        {
            return Err(Diagnostic::new(Code::SyntaxExpected, extra.span, "a field ends with its source, and something follows here")
                .help("begin a line with the name of its field"));
        }
        let mut end = line.tokens.len();
        let mut source: Arc<str> = Arc::from("");
        if let [.., word, text] = line.tokens.as_slice()
            && let (Tok::Word(word), Tok::Text(text)) = (&word.tok, &text.tok)
            && word == "source"
        {
            end -= 2;
            source = Arc::from(text.as_str());
        }
        let tokens = line.tokens.get(1..end).unwrap_or(&[]);
        let first = line.tokens.first().map_or(line.span, |token| token.span);
        Ok(Self { name, span: line.span, cursor: Cursor::new(tokens, first.after()), source })
    }

    /// Turns a failure into a finding.
    #[must_use]
    pub fn failed(&self, failure: &Failure) -> Diagnostic {
        let expected = failure.expected.join(" or ");
        Diagnostic::new(Code::SyntaxExpected, failure.span, format!("{expected} belongs here in `{}`; {} was met", self.name, failure.met))
    }

    /// A figure of one of these kinds.
    ///
    /// # Errors
    /// A finding.
    pub fn figure(&mut self, kinds: &[Kind]) -> Read<quantity::Figure> {
        let Some(Tok::Quantity(measure)) = self.cursor.peek() else {
            let wanted = kinds.first().map_or("a figure", |kind| kind.article_name());
            return Err(self.failed(&self.cursor.failure(wanted, false)));
        };
        let figure = quantity::read(measure, kinds)?;
        self.cursor.advance();
        Ok(figure)
    }

    /// A plain number.
    ///
    /// # Errors
    /// A finding.
    pub fn number(&mut self) -> Read<f64> {
        self.figure(&[Kind::Ratio]).map(|figure| figure.low)
    }

    /// A name, as a word or as a text.
    ///
    /// # Errors
    /// A finding.
    pub fn name_or_text(&mut self) -> Read<String> {
        match self.cursor.peek() {
            Some(Tok::Word(text) | Tok::Text(text)) => {
                self.cursor.advance();
                Ok(text.clone())
            }
            _ => Err(self.failed(&self.cursor.failure("a name", false))),
        }
    }

    /// Whether a comma is here; goes past it.
    pub fn comma(&mut self) -> bool {
        let comma = self.cursor.comma();
        if comma {
            self.cursor.advance();
        }
        comma
    }

    /// Whether this word is here; goes past it.
    pub fn word(&mut self, word: &str) -> bool {
        let here = self.cursor.word_is(word);
        if here {
            self.cursor.advance();
        }
        here
    }

    /// `at 20 degC`, where it is given.
    ///
    /// # Errors
    /// A finding.
    pub fn at_temperature(&mut self) -> Read<Option<f64>> {
        if self.word("at") { self.figure(&[Kind::Temperature]).map(|figure| Some(figure.low)) } else { Ok(None) }
    }

    /// Names with commas between them.
    ///
    /// # Errors
    /// A finding.
    pub fn list(&mut self) -> Read<Vec<String>> {
        let mut list = vec![self.name_or_text()?];
        while self.comma() {
            list.push(self.name_or_text()?);
        }
        Ok(list)
    }

    /// That nothing is left.
    ///
    /// # Errors
    /// A finding at what is left.
    pub fn end(&self) -> Read<()> {
        if self.cursor.is_done() { Ok(()) } else { Err(self.failed(&self.cursor.failure("the end of the field", false))) }
    }

    /// The finding for a field that a declaration of this sort does not have.
    #[must_use]
    pub fn unknown(&self, sort: &str, known: &[&str]) -> Diagnostic {
        let near =
            suggest::sentence(self.name, known.iter().copied()).unwrap_or_else(|| format!("the fields of {sort} are {}", known.join(", ")));
        let name_span = Span { end: self.span.start + self.name.len(), ..self.span };
        Diagnostic::new(Code::UnknownField, name_span, format!("{sort} has no field `{}`", self.name)).help(near)
    }
}

/// The lines of a block; nested blocks are reported.
pub fn lines<'a>(block: &'a Block, findings: &mut Vec<Diagnostic>) -> Vec<&'a Line> {
    let mut lines = Vec::new();
    for node in &block.body {
        match node {
            Node::Line(line) if !line.broken && !line.tokens.is_empty() => lines.push(line),
            Node::Line(_) | Node::Comment(_) => {}
            Node::Block(inner) => {
                findings.push(Diagnostic::new(Code::SyntaxExpected, inner.head.span, "no block stands inside this declaration"))
            }
        }
    }
    lines
}

/// The name behind the first word of a head, and where it stands.
///
/// # Errors
/// A finding when there is none or more than a name.
pub fn head_name(head: &Line) -> Read<(String, Span)> {
    let sort = head.first_word().unwrap_or("this");
    match head.tokens.as_slice() {
        [_, name] => match &name.tok {
            Tok::Word(word) => Ok((word.clone(), name.span)),
            _ => Err(Diagnostic::new(Code::SyntaxExpected, name.span, format!("the name of the {sort} belongs here"))
                .help("a name is letters, digits and `_`: `isoamyl_acetate`")),
        },
        [.., last] if head.tokens.len() > 2 => {
            Err(Diagnostic::new(Code::SyntaxExpected, last.span, format!("a {sort} has one name and no more before `{{`")))
        }
        _ => Err(Diagnostic::new(Code::SyntaxExpected, head.span.after(), format!("this {sort} has no name"))
            .help("a name is letters, digits and `_`: `isoamyl_acetate`")),
    }
}

/// The value with the source and the place of its field.
pub fn sourced<T>(field: &Field<'_>, value: T) -> Sourced<T> {
    Sourced { value, source: Arc::clone(&field.source), span: field.span }
}

/// `at most 2/3`, or `at most 80 %`.
///
/// # Errors
/// A finding.
pub fn fraction(field: &mut Field<'_>) -> Read<f64> {
    field.word("at");
    field.word("most");
    let above = field.number()?;
    if matches!(field.cursor.peek(), Some(Tok::Sign("/"))) {
        field.cursor.advance();
        let below = field.number()?;
        if below > 0.0 {
            return Ok(above / below);
        }
    }
    Ok(above)
}
