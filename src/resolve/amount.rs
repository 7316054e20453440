//! Amounts: quantities, ratios to other amounts, arithmetic over them, and `enough`.

use super::cursor::{Cursor, Failure, Name};
use super::quantity::{self, Figure};
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::kinds::{Kind, unit};
use crate::source::Span;
use crate::syntax::Tok;

/// Which figure of a portion an amount refers to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Facet {
    /// Its mass.
    Mass,
    /// Its volume.
    Volume,
    /// The moles of its main substance.
    Moles,
}

impl Facet {
    /// The word of the language for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Mass => "mass",
            Self::Volume => "volume",
            Self::Moles => "moles",
        }
    }

    /// The kind of its figure.
    #[must_use]
    pub fn kind(self) -> Kind {
        match self {
            Self::Mass => Kind::Mass,
            Self::Volume => Kind::Volume,
            Self::Moles => Kind::Amount,
        }
    }

    fn of_word(word: &str) -> Option<Self> {
        [Self::Mass, Self::Volume, Self::Moles].into_iter().find(|facet| facet.word() == word)
    }
}

/// An arithmetical sign.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[expect(missing_docs, reason = "the four operations of arithmetic")]
pub enum Operator {
    Plus,
    Minus,
    Times,
    Over,
}

/// An expression of amounts.
#[derive(Clone, Debug, PartialEq)]
pub enum Expr {
    /// `24 mL`
    Figure(Figure),
    /// `volume of crude`
    Of(Facet, Name),
    /// `6 mL per g of crude`: the figure, the quantity it is for, the portion.
    Per(Figure, Figure, Name),
    /// `0.3 * volume of crude`
    Binary(Operator, Box<Expr>, Box<Expr>, Span),
}

/// A further figure of an amount, in brackets behind the first: `24 mL (19.4 g, 0.22 mol)`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beside {
    /// What is written.
    pub figure: Figure,
    /// By how much it and the first figure together may be off for being rounded, as a share.
    pub rounding: f64,
}

/// An amount as written.
#[derive(Clone, Debug, PartialEq)]
pub struct Amount {
    /// What it comes to; `None` for `enough`, and then the expression is the margin.
    pub expr: Option<Expr>,
    /// Whether it is `enough`.
    pub enough: bool,
    /// Whether the source does not state it; it is worked out as `enough` where something sizes it.
    pub not_stated: bool,
    /// Whether it stays when the batch changes.
    pub fixed: bool,
    /// What stands in brackets behind it, to be checked against it.
    pub beside: Vec<Beside>,
    /// Where.
    pub span: Span,
}

impl Expr {
    /// Every portion that it refers to.
    pub fn names<'a>(&'a self, out: &mut Vec<&'a Name>) {
        match self {
            Self::Figure(_) => {}
            Self::Of(_, name) | Self::Per(_, _, name) => out.push(name),
            Self::Binary(_, left, right, _) => {
                left.names(out);
                right.names(out);
            }
        }
    }

    /// Where it stands.
    #[must_use]
    pub fn span(&self) -> Span {
        match self {
            Self::Figure(figure) => figure.span,
            Self::Of(_, name) => name.span,
            Self::Per(figure, _, name) => figure.span.to(name.span),
            Self::Binary(_, _, _, span) => *span,
        }
    }

    /// The ends of a range against its middle, where one figure decides the amount: `10..15 mL`,
    /// `5..6 mL per g of crude`, `0.3..0.4 * volume of crude`.
    #[must_use]
    pub fn ends(&self) -> Option<(f64, f64)> {
        match self {
            Self::Figure(figure) | Self::Per(figure, _, _) => Some((figure.low / figure.middle(), figure.high? / figure.middle())),
            Self::Of(..) | Self::Binary(Operator::Plus | Operator::Minus, ..) => None,
            Self::Binary(operator, left, right, _) => match (left.ends(), right.ends()) {
                (ends, None) => ends,
                (None, ends) if *operator == Operator::Times => ends,
                _ => None,
            },
        }
    }

    /// Its kind.
    ///
    /// # Errors
    /// A finding where kinds are mixed that do not go together.
    pub fn kind(&self) -> Result<Kind, Box<Diagnostic>> {
        match self {
            Self::Figure(figure) => Ok(figure.kind),
            Self::Of(facet, _) => Ok(facet.kind()),
            Self::Per(figure, _, _) => Ok(figure.kind),
            Self::Binary(operator, left, right, span) => {
                let (a, b) = (left.kind()?, right.kind()?);
                let kind = match operator {
                    Operator::Plus => crate::kinds::sum(a, b),
                    Operator::Minus => crate::kinds::difference(a, b),
                    Operator::Times => crate::kinds::product(a, b),
                    Operator::Over => crate::kinds::quotient(a, b),
                };
                kind.ok_or_else(|| {
                    let verb = match operator {
                        Operator::Plus => "added to",
                        Operator::Minus => "compared with",
                        Operator::Times => "multiplied with",
                        Operator::Over => "divided by",
                    };
                    Box::new(
                        Diagnostic::new(Code::Mismatch, *span, format!("{} cannot be {verb} {}", a.article_name(), b.article_name()))
                            .help("bring both to one kind: `mass of NAME`, `volume of NAME` or `moles of NAME`"),
                    )
                })
            }
        }
    }
}

/// Kinds that may stand as the amount of a material.
pub const AMOUNT_KINDS: &[Kind] = &[Kind::Mass, Kind::Volume, Kind::Amount, Kind::Equivalents, Kind::MoleFraction];

/// Whether an amount begins at the cursor.
#[must_use]
pub fn begins(cursor: &Cursor<'_>) -> bool {
    match cursor.peek() {
        Some(Tok::Quantity(_) | Tok::Sign("(")) => true,
        Some(Tok::Word(word)) => {
            matches!(word.as_str(), "fixed" | "enough")
                || word == "not" && matches!(cursor.peek_at(1), Some(Tok::Word(stated)) if stated == "stated")
                || Facet::of_word(word).is_some() && matches!(cursor.peek_at(1), Some(Tok::Word(of)) if of == "of")
        }
        _ => false,
    }
}

/// Goes past `not stated` where it stands here.
pub fn not_stated(cursor: &mut Cursor<'_>) -> Option<Span> {
    let here = cursor.word_is("not") && matches!(cursor.peek_at(1), Some(Tok::Word(word)) if word == "stated");
    here.then(|| {
        let start = cursor.here();
        cursor.advance();
        cursor.advance();
        start.to(cursor.before())
    })
}

/// Reads an amount. Findings about units and kinds go to `findings`; the amount is then still
/// returned, so that the statement keeps its shape.
///
/// # Errors
/// A failure where no amount can be made out.
pub fn read(cursor: &mut Cursor<'_>, findings: &mut Vec<Diagnostic>) -> Result<Amount, Failure> {
    let start = cursor.here();
    if let Some(span) = not_stated(cursor) {
        return Ok(Amount { expr: None, enough: true, not_stated: true, fixed: false, beside: Vec::new(), span });
    }
    if cursor.word_is("enough") {
        cursor.advance();
        let mut margin = None;
        if let Some(Tok::Sign(sign @ ("+" | "-"))) = cursor.peek() {
            let sign = *sign;
            let negative = sign == "-";
            cursor.advance();
            let Some(Tok::Quantity(measure)) = cursor.peek() else {
                return Err(cursor.failure("a margin such as `20 %`", false));
            };
            match quantity::read(measure, &[Kind::Ratio]) {
                Ok(figure) if measure.unit.is_none() => findings.push(
                    Diagnostic::new(Code::MissingUnit, figure.span, "a margin is a share, written in per cent")
                        .help(format!("write `enough {sign} {} %`", measure.figures))
                        .guess(figure.span.after(), " %"),
                ),
                Ok(figure) => {
                    let low = if negative { -figure.low } else { figure.low };
                    margin = Some(Expr::Figure(Figure { low, ..figure }));
                }
                Err(finding) => findings.push(finding),
            }
            cursor.advance();
        }
        return Ok(Amount {
            expr: margin,
            enough: true,
            not_stated: false,
            fixed: false,
            beside: Vec::new(),
            span: start.to(cursor.before()),
        });
    }
    let fixed = cursor.word_is("fixed");
    if fixed {
        cursor.advance();
    }
    let before = findings.len();
    let first = cursor.peek();
    let expr = sum(cursor, findings, 0)?;
    let span = start.to(cursor.before());
    if findings.len() == before {
        match expr.kind() {
            Ok(kind) if AMOUNT_KINDS.contains(&kind) => {}
            Ok(kind) => {
                let finding = if matches!(kind, Kind::Ratio) && matches!(expr, Expr::Figure(_)) {
                    Diagnostic::new(Code::MissingUnit, span, "an amount is wanted here, and this number has no unit")
                } else {
                    Diagnostic::new(
                        Code::Mismatch,
                        span,
                        format!("this is {}, and an amount of material is wanted here", kind.article_name()),
                    )
                };
                findings.push(
                    finding.help("write a mass, a volume, moles, equivalents or `enough`: `24 mL`, `2.0 eq`, `0.3 * volume of crude`"),
                );
            }
            Err(finding) => findings.push(*finding),
        }
    }
    let beside = match (&expr, first) {
        (Expr::Figure(figure), Some(Tok::Quantity(measure))) if matches!(cursor.peek(), Some(Tok::Sign("("))) => {
            beside(cursor, quantity::slack(measure, figure) / figure.middle(), findings)?
        }
        _ => Vec::new(),
    };
    Ok(Amount { expr: Some(expr), enough: false, not_stated: false, fixed, beside, span })
}

/// `(19.4 g, 0.22 mol)`: the same amount in other units.
fn beside(cursor: &mut Cursor<'_>, rounding: f64, findings: &mut Vec<Diagnostic>) -> Result<Vec<Beside>, Failure> {
    let mut found = Vec::new();
    loop {
        // Past the bracket or the comma.
        cursor.advance();
        let Some(Tok::Quantity(measure)) = cursor.peek() else {
            return Err(cursor.failure("the same amount in another unit, such as `19.4 g`", false));
        };
        match quantity::read(measure, AMOUNT_KINDS) {
            Ok(figure) => found.push(Beside { figure, rounding: rounding + quantity::slack(measure, &figure) / figure.middle() }),
            Err(finding) => findings.push(finding),
        }
        cursor.advance();
        match cursor.peek() {
            Some(Tok::Sign(",")) => {}
            Some(Tok::Sign(")")) => {
                cursor.advance();
                return Ok(found);
            }
            _ => return Err(cursor.failure("a comma or `)`", false)),
        }
    }
}

const MAX_NESTING: usize = 64;
/// Terms of one sum or factors of one product; more is refused, so that walks over them end.
const MAX_TERMS: usize = 128;

fn sum(cursor: &mut Cursor<'_>, findings: &mut Vec<Diagnostic>, depth: usize) -> Result<Expr, Failure> {
    let mut left = product(cursor, findings, depth)?;
    let mut terms = 1;
    while let Some(Tok::Sign(sign @ ("+" | "-"))) = cursor.peek() {
        let operator = if *sign == "+" { Operator::Plus } else { Operator::Minus };
        terms += 1;
        if terms > MAX_TERMS {
            return Err(cursor.failure("the end of an amount of so many terms", false));
        }
        cursor.advance();
        let right = product(cursor, findings, depth)?;
        let span = left.span().to(right.span());
        left = Expr::Binary(operator, Box::new(left), Box::new(right), span);
    }
    Ok(left)
}

fn product(cursor: &mut Cursor<'_>, findings: &mut Vec<Diagnostic>, depth: usize) -> Result<Expr, Failure> {
    let mut left = factor(cursor, findings, depth)?;
    let mut terms = 1;
    while let Some(Tok::Sign(sign @ ("*" | "/"))) = cursor.peek() {
        let operator = if *sign == "*" { Operator::Times } else { Operator::Over };
        terms += 1;
        if terms > MAX_TERMS {
            return Err(cursor.failure("the end of an amount of so many terms", false));
        }
        cursor.advance();
        let right = factor(cursor, findings, depth)?;
        let span = left.span().to(right.span());
        left = Expr::Binary(operator, Box::new(left), Box::new(right), span);
    }
    Ok(left)
}

fn factor(cursor: &mut Cursor<'_>, findings: &mut Vec<Diagnostic>, depth: usize) -> Result<Expr, Failure> {
    if depth > MAX_NESTING {
        return Err(cursor.failure("fewer brackets inside each other", false));
    }
    match cursor.peek() {
        Some(Tok::Sign("(")) => {
            cursor.advance();
            let inner = sum(cursor, findings, depth + 1)?;
            if !matches!(cursor.peek(), Some(Tok::Sign(")"))) {
                return Err(cursor.failure("`)`", false));
            }
            cursor.advance();
            Ok(inner)
        }
        Some(Tok::Word(word)) => {
            let Some(facet) = Facet::of_word(word) else {
                return Err(cursor.failure("an amount, such as `24 mL` or `0.3 * volume of crude`", false));
            };
            cursor.advance();
            if !cursor.word_is("of") {
                return Err(cursor.failure("`of` and the name of a portion", false));
            }
            cursor.advance();
            let name = cursor.name("the name of a portion")?;
            Ok(Expr::Of(facet, name))
        }
        Some(Tok::Quantity(measure)) => {
            let measure = measure.clone();
            let span = quantity::span_of(&measure);
            cursor.advance();
            let figure = match quantity::unit_of(&measure) {
                Ok(None) => quantity::read(&measure, &[Kind::Ratio]),
                Ok(Some(unit)) => quantity::read(&measure, &[unit.kind]),
                Err(finding) => Err(finding),
            };
            let figure = match figure {
                Ok(figure) => figure,
                Err(finding) => {
                    findings.push(finding);
                    Figure { low: measure.low, high: None, plus_minus: None, kind: Kind::Mass, span }
                }
            };
            if !cursor.word_is("per") {
                return Ok(Expr::Figure(figure));
            }
            cursor.advance();
            let per = per_quantity(cursor, findings)?;
            if !cursor.word_is("of") {
                return Err(cursor.failure("`of` and the name of a portion", false));
            }
            cursor.advance();
            let name = cursor.name("the name of a portion")?;
            Ok(Expr::Per(figure, per, name))
        }
        _ => Err(cursor.failure("an amount, such as `24 mL` or `2.0 eq`", false)),
    }
}

/// `g`, or `100 mL`, behind `per`.
fn per_quantity(cursor: &mut Cursor<'_>, findings: &mut Vec<Diagnostic>) -> Result<Figure, Failure> {
    const PER: &[Kind] = &[Kind::Mass, Kind::Volume, Kind::Amount];
    let span = cursor.here();
    let fallback = Figure { low: 1e-3, high: None, plus_minus: None, kind: Kind::Mass, span };
    let read = match cursor.peek() {
        Some(Tok::Quantity(measure)) => quantity::read(measure, PER),
        Some(Tok::Word(word)) => match unit(word) {
            Ok(unit) if PER.contains(&unit.kind) => {
                Ok(Figure { low: unit.to_si(1.0), high: None, plus_minus: None, kind: unit.kind, span })
            }
            Ok(_) | Err(crate::kinds::UnitError::Unknown { .. }) => {
                let near =
                    suggest::sentence(word, ["g", "kg", "mL", "L", "mol", "mmol"]).unwrap_or_else(|| "write `g`, `mL` or `mol`".to_owned());
                Err(Diagnostic::new(Code::Mismatch, span, format!("`{word}` is not a unit of mass, volume or moles")).help(near))
            }
            Err(error) => Err(quantity::unit_finding(&error, span)),
        },
        _ => return Err(cursor.failure("a unit such as `g` or `mL`", false)),
    };
    cursor.advance();
    Ok(read.unwrap_or_else(|finding| {
        findings.push(finding);
        fallback
    }))
}
