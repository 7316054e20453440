//! The syntax tree: blocks of logical lines, each line a row of tokens. It holds everything that
//! was written, comments too, so that it can be printed again without loss.

use crate::source::{FileId, Span};

/// A whole file.
#[derive(Clone, Debug)]
pub struct File {
    /// Which file.
    pub id: FileId,
    /// Its lines and blocks in order.
    pub nodes: Vec<Node>,
}

/// A line, a block or a comment that stands by itself.
#[derive(Clone, Debug)]
pub enum Node {
    /// A statement or field on one logical line.
    Line(Line),
    /// `head { body }`.
    Block(Block),
    /// A comment of its own, or behind a brace.
    Comment(Comment),
}

/// A block in braces.
#[derive(Clone, Debug)]
pub struct Block {
    /// What stands before the opening brace.
    pub head: Line,
    /// The opening brace, or the empty place where it should stand.
    pub open: Span,
    /// What stands between the braces.
    pub body: Vec<Node>,
    /// The closing brace, or the empty place where it should stand.
    pub close: Span,
}

/// A comment with its sign: `# …` or, where it documents what follows, `## …`.
#[derive(Clone, Debug)]
pub struct Comment {
    /// As written, from the sign to the end of the line, without trailing blanks.
    pub text: String,
    /// Where.
    pub span: Span,
    /// Whether it stands behind a brace on the brace's line.
    pub same_line: bool,
    /// Whether a blank line stands before it.
    pub blank_before: bool,
}

/// A logical line: a line and its deeper-indented followers.
#[derive(Clone, Debug)]
pub struct Line {
    /// The tokens without comments.
    pub tokens: Vec<Token>,
    /// Comments with the number of tokens that stand before each.
    pub comments: Vec<(usize, Comment)>,
    /// From the first token to the last.
    pub span: Span,
    /// Whether a blank line stands before it.
    pub blank_before: bool,
    /// Whether something in it could not be read; that has been reported.
    pub broken: bool,
}

/// A token and where it stands.
#[derive(Clone, Debug)]
pub struct Token {
    /// What it is.
    pub tok: Tok,
    /// Where.
    pub span: Span,
    /// Whether a line break stands before it, inside its logical line.
    pub breaks: bool,
}

/// What a token can be.
#[derive(Clone, Debug, PartialEq)]
pub enum Tok {
    /// A name or a word of an operation's form.
    Word(String),
    /// A text in quotes, without them.
    Text(String),
    /// A number, with whatever stood behind it as a unit.
    Quantity(Measure),
    /// A day as `2026-03-14`.
    Date(String),
    /// `->`
    Arrow,
    /// `<=>`
    Equilibrium,
    /// One of the signs of the grammar.
    Sign(&'static str),
}

/// A number or a range or a number with its uncertainty, and what stood behind it as a unit. Which
/// unit that is, and whether it is one, is for a later phase.
#[derive(Clone, Debug)]
pub struct Measure {
    /// The number, or the lower end of a range.
    pub low: f64,
    /// The upper end of a range.
    pub high: Option<f64>,
    /// The half-width after `±`.
    pub plus_minus: Option<f64>,
    /// The figures as written, tidied: `137..143`, `15.0 ± 0.1`.
    pub figures: String,
    /// Where the figures stand.
    pub figures_span: Span,
    /// The text behind the figures that was read as a unit.
    pub unit: Option<(String, Span)>,
}

impl PartialEq for Measure {
    fn eq(&self, other: &Self) -> bool {
        self.figures == other.figures && self.unit.as_ref().map(|unit| &unit.0) == other.unit.as_ref().map(|unit| &unit.0)
    }
}

impl Line {
    /// The first token when it is a word.
    #[must_use]
    pub fn first_word(&self) -> Option<&str> {
        self.word(0)
    }

    /// Token number `at` when it is a word.
    #[must_use]
    pub fn word(&self, at: usize) -> Option<&str> {
        match &self.tokens.get(at)?.tok {
            Tok::Word(word) => Some(word),
            _ => None,
        }
    }
}

impl Tok {
    /// How the token is written in the one layout.
    #[must_use]
    pub fn written(&self) -> String {
        let mut out = String::new();
        self.write(&mut out);
        out
    }

    /// Writes it so behind what is there.
    pub fn write(&self, out: &mut String) {
        match self {
            Self::Word(word) | Self::Date(word) => out.push_str(word),
            Self::Text(text) => out.extend(["\"", text, "\""]),
            Self::Quantity(measure) => {
                out.push_str(&measure.figures);
                if let Some((unit, _)) = &measure.unit {
                    out.extend([" ", unit]);
                }
            }
            Self::Arrow => out.push_str("->"),
            Self::Equilibrium => out.push_str("<=>"),
            Self::Sign(sign) => out.push_str(sign),
        }
    }
}

impl Node {
    /// Whether a blank line stands before it.
    #[must_use]
    pub fn blank_before(&self) -> bool {
        match self {
            Self::Line(line) => line.blank_before,
            Self::Block(block) => block.head.blank_before,
            Self::Comment(comment) => comment.blank_before,
        }
    }
}
