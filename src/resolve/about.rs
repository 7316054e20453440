//! What a procedure says about itself beside its work: where it comes from, what was changed, what
//! the source isolated, under which atmosphere, how large a drop is, how the product is known.

use super::cursor::{Cursor, Failure, Name};
use super::definitions::Definitions;
use super::fields::{Field, Read};
use super::quantity::{self, Figure};
use super::reaction::unknown_substance;
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::kinds::Kind;
use crate::source::Span;
use crate::syntax::{Block, Line, Node, Tok, Token};

/// What a procedure says about itself.
#[derive(Clone, Debug, Default)]
pub struct About {
    /// `origin "…"`, as often as it stands there.
    pub origin: Vec<String>,
    /// `changed "…"`, as often as it stands there.
    pub changed: Vec<String>,
    /// `isolated …`
    pub isolated: Vec<Isolated>,
    /// `drop 0.05 mL`
    pub drop: Option<Figure>,
    /// `room_pressure 95 kPa`
    pub room_pressure: Option<Figure>,
    /// `atmosphere nitrogen`
    pub atmosphere: Option<String>,
    /// `identity NAME { … }`
    pub identity: Vec<Identity>,
}

impl About {
    /// The pressure of the room, Pa: one atmosphere where none is stated.
    #[must_use]
    pub fn room(&self) -> f64 {
        self.room_pressure.map_or(101_325.0, |figure| figure.middle())
    }
}

/// `isolated product, 790..815 g (61..64 %)`: what the source had of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Isolated {
    /// The portion; the one product where none is named.
    pub name: Option<Name>,
    /// Its mass.
    pub mass: Option<Figure>,
    /// Its share of what theory allows.
    pub share: Option<Figure>,
    /// The whole line.
    pub span: Span,
}

/// `identity NAME { … }`: by what a product is known.
#[derive(Clone, Debug)]
pub struct Identity {
    /// The portion; the one product where none is named.
    pub name: Option<Name>,
    /// What is looked at, in order.
    pub checks: Vec<Check>,
    /// The head of the block.
    pub span: Span,
}

/// One thing by which a product is known.
#[derive(Clone, Debug, PartialEq)]
pub enum Check {
    /// `melts 135..136 degC`, `refraction 1.4003 at 20 degC`: the word, the figure, at what, the figure
    /// as written.
    Figure(&'static str, Figure, Option<Figure>, String),
    /// `appearance "white needles"`
    Text(&'static str, String),
}

/// The lines of a procedure that are about it.
pub const LINES: &[&str] = &["origin", "changed", "isolated", "drop", "room_pressure", "atmosphere"];

/// The checks that are figures: word, kind, the kind behind `at`.
const FIGURES: &[(&str, Kind, Kind)] = &[
    ("melts", Kind::Temperature, Kind::Pressure),
    ("boils", Kind::Temperature, Kind::Pressure),
    ("density", Kind::Density, Kind::Temperature),
    ("refraction", Kind::Ratio, Kind::Temperature),
];

/// The checks that are texts.
const TEXTS: &[&str] = &["appearance", "odour"];

/// Reads a line whose first word is one of [`LINES`] into `about`.
///
/// # Errors
/// A finding that shows the form.
pub fn line(line: &Line, defs: &Definitions, about: &mut About) -> Result<(), Box<Diagnostic>> {
    let word = line.first_word().unwrap_or_default();
    let mut cursor = Cursor::new(line.tokens.get(1..).unwrap_or(&[]), line.span.after());
    let form = match word {
        "origin" | "changed" => format!("{word} \"…\""),
        "isolated" => "isolated NAME, 195 g (96 %)".to_owned(),
        "drop" => "drop 0.05 mL".to_owned(),
        "room_pressure" => "room_pressure 95 kPa".to_owned(),
        _ => "atmosphere nitrogen".to_owned(),
    };
    let failed = |failure: Failure| {
        Box::new(
            Diagnostic::new(
                Code::SyntaxExpected,
                failure.span,
                format!("{} belongs here; {} was met", failure.expected.join(" or "), failure.met),
            )
            .help(format!("the form is `{form}`")),
        )
    };
    match word {
        "origin" => about.origin.push(text(&mut cursor).map_err(failed)?),
        "changed" => about.changed.push(text(&mut cursor).map_err(failed)?),
        "isolated" => about.isolated.push(isolated(&mut cursor, line.span, failed)?),
        "drop" => {
            let Some(Tok::Quantity(measure)) = cursor.peek() else {
                return Err(failed(cursor.failure("the volume of one drop", false)));
            };
            let figure = quantity::read(measure, &[Kind::Volume])?;
            cursor.advance();
            // A size that cannot be is told once, and not again at every amount.
            let second = about.drop.replace(figure).is_some();
            // A drop of any liquid from any dropper; our own figures.
            if figure.high.is_some() || !(5e-9..=2e-7).contains(&figure.low) {
                return Err(Box::new(
                    Diagnostic::new(Code::OutOfRange, figure.span, "a drop is one volume between 0.005 and 0.2 mL")
                        .help("count the drops of a millilitre; of water from a usual dropper there are about 20: `drop 0.05 mL`"),
                ));
            }
            if second {
                return Err(Box::new(Diagnostic::new(Code::Duplicate, line.span, "the size of a drop is given a second time")));
            }
        }
        "room_pressure" => {
            let Some(Tok::Quantity(measure)) = cursor.peek() else {
                return Err(failed(cursor.failure("the pressure of the air", false)));
            };
            let figure = quantity::read(measure, &[Kind::Pressure])?;
            cursor.advance();
            let second = about.room_pressure.replace(figure).is_some();
            // From a village at 5000 m to a high at the sea.
            if figure.low < 5e4 || figure.top() > 1.1e5 {
                return Err(Box::new(
                    Diagnostic::new(Code::OutOfRange, figure.span, "the air of a room has between 50 and 110 kPa")
                        .help("read the barometer as it stands, not reduced to the level of the sea; a pump's pressure belongs to its step: `distil crude at 20 mmHg`"),
                ));
            }
            if second {
                return Err(Box::new(Diagnostic::new(Code::Duplicate, line.span, "the pressure of the room is given a second time")));
            }
        }
        _ => {
            let named = atmosphere(&mut cursor, defs).map_err(failed)??;
            if about.atmosphere.replace(named).is_some() {
                return Err(Box::new(
                    Diagnostic::new(Code::Duplicate, line.span, "the atmosphere of the whole procedure is given a second time")
                        .help("where it changes, say so inside the step"),
                ));
            }
        }
    }
    if cursor.is_done() { Ok(()) } else { Err(failed(cursor.failure("the end of the line", false))) }
}

/// The gas behind `atmosphere`: a substance that is one, or a text.
///
/// # Errors
/// A failure where there is none; a finding where the substance is not known or no gas.
pub fn atmosphere(cursor: &mut Cursor<'_>, defs: &Definitions) -> Result<Result<String, Box<Diagnostic>>, Failure> {
    if matches!(cursor.peek(), Some(Tok::Text(_))) {
        return text(cursor).map(Ok);
    }
    let name = cursor.name("the name of a gas")?;
    let Some(sub) = defs.find(&name.text) else {
        let finding = unknown_substance(&name, defs);
        return Ok(Err(Box::new(if finding.edit.is_some() {
            finding
        } else {
            finding.help("or write it as a text: `atmosphere \"dry air\"`")
        })));
    };
    let substance = defs.substance(sub);
    if !substance.is_gas() {
        return Ok(Err(Box::new(
            Diagnostic::new(Code::Mismatch, name.span, format!("{} is no gas, and nothing is done under it", substance.display()))
                .help("name the gas that keeps the air away: `atmosphere nitrogen`"),
        )));
    }
    Ok(Ok(substance.display()))
}

fn text(cursor: &mut Cursor<'_>) -> Result<String, Failure> {
    match cursor.peek() {
        Some(Tok::Text(text)) => {
            cursor.advance();
            Ok(text.clone())
        }
        _ => Err(cursor.failure("a text in quotation marks", false)),
    }
}

fn isolated(cursor: &mut Cursor<'_>, span: Span, failed: impl Fn(Failure) -> Box<Diagnostic>) -> Result<Isolated, Box<Diagnostic>> {
    let mut isolated = Isolated { name: None, mass: None, share: None, span };
    if matches!(cursor.peek(), Some(Tok::Word(_))) {
        isolated.name = Some(cursor.name("the name of what is kept").map_err(&failed)?);
        if !cursor.comma() {
            return Err(failed(cursor.failure("a comma and a mass", false)));
        }
        cursor.advance();
    }
    let Some(Tok::Quantity(measure)) = cursor.peek() else {
        return Err(failed(cursor.failure("a mass or a percentage", false)));
    };
    let figure = quantity::read(measure, &[Kind::Mass, Kind::Ratio])?;
    cursor.advance();
    if figure.kind == Kind::Mass {
        isolated.mass = Some(figure);
        if matches!(cursor.peek(), Some(Tok::Sign("("))) {
            cursor.advance();
            let Some(Tok::Quantity(measure)) = cursor.peek() else {
                return Err(failed(cursor.failure("a percentage", false)));
            };
            isolated.share = Some(share(measure, quantity::read(measure, &[Kind::Ratio])?)?);
            cursor.advance();
            if !matches!(cursor.peek(), Some(Tok::Sign(")"))) {
                return Err(failed(cursor.failure("`)`", false)));
            }
            cursor.advance();
        }
    } else {
        isolated.share = Some(share(measure, figure)?);
    }
    Ok(isolated)
}

/// A share is written in per cent, and is above zero.
fn share(measure: &crate::syntax::Measure, figure: Figure) -> Result<Figure, Box<Diagnostic>> {
    if measure.unit.is_none() {
        return Err(Box::new(
            Diagnostic::new(
                Code::MissingUnit,
                figure.span,
                format!("`{}` has no unit: a mass or a percentage is wanted here", measure.figures),
            )
            .help(format!("write `{0} g` or `{0} %`", measure.figures)),
        ));
    }
    if figure.low <= 0.0 {
        return Err(Box::new(Diagnostic::new(Code::OutOfRange, figure.span, "a yield is above zero").help("look it up in the source")));
    }
    Ok(figure)
}

/// Reads an `identity` block.
pub fn identity(block: &Block, findings: &mut Vec<Diagnostic>) -> Option<Identity> {
    let name = match block.head.tokens.as_slice() {
        [_] => None,
        [_, Token { tok: Tok::Word(name), span, .. }] => Some(Name { text: name.clone(), span: *span }),
        tokens => {
            let at = tokens.get(1).map_or(block.open, |token| token.span);
            findings.push(
                Diagnostic::new(Code::SyntaxExpected, at, "only the name of what is kept stands between `identity` and `{`")
                    .help("write `identity NAME {`"),
            );
            return None;
        }
    };
    let mut identity = Identity { name, checks: Vec::new(), span: block.head.span };
    for node in &block.body {
        let line = match node {
            Node::Line(line) if !line.broken && !line.tokens.is_empty() => line,
            Node::Block(inner) => {
                findings.push(Diagnostic::new(Code::SyntaxExpected, inner.head.span, "no block stands inside `identity`"));
                continue;
            }
            _ => continue,
        };
        match Field::of(line).and_then(|mut field| check(&mut field)) {
            Ok(check) => identity.checks.push(check),
            Err(finding) => findings.push(finding),
        }
    }
    Some(identity)
}

fn check(field: &mut Field<'_>) -> Read<Check> {
    let check = if let Some((word, kind, at)) = FIGURES.iter().find(|(word, ..)| *word == field.name) {
        let written = match field.cursor.peek() {
            Some(Tok::Quantity(measure)) => measure.figures.clone(),
            _ => String::new(),
        };
        let figure = field.figure(&[*kind])?;
        let at = if field.word("at") { Some(field.figure(&[*at])?) } else { None };
        // From water ice to the densest glasses; our own figures.
        if *word == "refraction" && !(1.2..=2.0).contains(&figure.middle()) {
            return Err(Diagnostic::new(
                Code::OutOfRange,
                figure.span,
                "the refractive index of a liquid or a solid lies between 1.2 and 2",
            )
            .help("look at the figure again"));
        }
        Check::Figure(word, figure, at, written)
    } else if let Some(word) = TEXTS.iter().find(|word| **word == field.name) {
        match field.cursor.peek() {
            Some(Tok::Text(text)) => {
                field.cursor.advance();
                Check::Text(word, text.clone())
            }
            _ => return Err(field.failed(&field.cursor.failure("a text in quotation marks", false))),
        }
    } else {
        let known: Vec<&str> = FIGURES.iter().map(|(word, ..)| *word).chain(TEXTS.iter().copied()).collect();
        return Err(field.unknown("an identity", &known));
    };
    field.end()?;
    Ok(check)
}

/// The line with drops as the volume that they have, `40 drops/min` as a rate, where the size of a drop is given.
#[must_use]
pub fn without_drops(line: &Line, drop: Option<&Figure>) -> Line {
    let mut line = line.clone();
    let Some(drop) = drop else { return line };
    for token in &mut line.tokens {
        if let Tok::Quantity(measure) = &mut token.tok
            && let Some((unit, _)) = &mut measure.unit
            && let Some(per) =
                unit.strip_prefix("drops").or_else(|| unit.strip_prefix("drop")).filter(|per| per.is_empty() || per.starts_with('/'))
        {
            let unit_then = format!("mL{per}");
            let ml = drop.low * 1e6;
            measure.low *= ml;
            measure.high = measure.high.map(|high| high * ml);
            measure.plus_minus = measure.plus_minus.map(|width| width * ml);
            measure.figures = crate::kinds::significant(measure.low, 3);
            *unit = unit_then;
        }
    }
    line
}

/// What to say of a line that belongs to the whole procedure and stands inside a step.
#[must_use]
pub fn misplaced(line: &Line) -> Diagnostic {
    let word = line.first_word().unwrap_or_default();
    Diagnostic::new(Code::SyntaxExpected, line.span, format!("`{word}` is said of the whole procedure, and this is inside a step"))
        .help("put it outside of every step, near the beginning")
}

/// The portion that an `isolated` or `identity` means, among the names of what is kept.
///
/// # Errors
/// A finding when the name is none of them, or none is given and there are several.
pub fn meant<'a>(name: Option<&Name>, span: Span, kept: &[&'a str]) -> Result<&'a str, Box<Diagnostic>> {
    match name {
        Some(name) => kept.iter().copied().find(|kept| *kept == name.text).ok_or_else(|| {
            let help = suggest::sentence(&name.text, kept.iter().copied())
                .unwrap_or_else(|| "name a portion that the procedure keeps as a substance".to_owned());
            Box::new(
                Diagnostic::new(Code::UnknownName, name.span, format!("`{}` is not kept as a substance in this procedure", name.text))
                    .help(help),
            )
        }),
        None => match kept {
            [one] => Ok(one),
            [] => Err(Box::new(
                Diagnostic::new(Code::UnknownName, span, "nothing is kept as a substance in this procedure, so this speaks of nothing")
                    .help("write `keep NAME as SUBSTANCE in …`"),
            )),
            several => Err(Box::new(
                Diagnostic::new(Code::Ambiguous, span, format!("several portions are kept: {}", suggest::listed(several, "and")))
                    .help("name the one that is meant: `isolated NAME, 195 g`, `identity NAME {`"),
            )),
        },
    }
}
