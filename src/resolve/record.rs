//! A `record`: what happened in one run of a procedure. Every line is read here by itself; whether the
//! procedure has such portions and steps is looked up in `crate::record`.

use std::sync::Arc;

use super::cursor::Name;
use super::definitions::{Definitions, Instrument};
use super::fields::{Field, Read, lines};
use super::quantity::{self, Figure, slack};
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::kinds::Kind;
use crate::source::Span;
use crate::syntax::{Block, Line, Tok, Token};

/// A portion as a record names it: `crude`, or `first crude` where the name is bound several times.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Which {
    /// Its name.
    pub name: Name,
    /// The how-manieth of that name, from 1; the last where nothing is said.
    pub occurrence: Option<usize>,
}

/// How a figure was come by, which decides how uncertain it is.
#[derive(Clone, Debug)]
pub enum How {
    /// Nothing is said: half a unit of the last digit either way.
    Digits,
    /// Limits behind `±`.
    Limits,
    /// The instrument that is named.
    With(Arc<Instrument>),
}

/// A figure with the limits within which it lies.
#[derive(Clone, Debug)]
pub struct Reading {
    /// The figure.
    pub figure: Figure,
    /// Half the distance of the limits, SI.
    pub half: f64,
    /// How it was come by.
    pub how: How,
}

/// An amount that was measured.
#[derive(Clone, Debug)]
pub struct Measured {
    /// The portion.
    pub which: Which,
    /// How much of it; `None` for `not stated`.
    pub reading: Option<Reading>,
    /// What the source states beside it, in brackets: other figures of the amount, or a yield; each with half
    /// a unit of its last digit.
    pub beside: Vec<(Figure, f64)>,
    /// The whole line.
    pub span: Span,
}

/// Of what a purity was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Share {
    /// By mass, of everything in the portion.
    Mass,
    /// By area of a chromatogram, of everything but water.
    Area,
    /// Water by mass.
    Water,
}

/// `purity product 98.2 ± 0.3 % by area`, `water product 0.4 % w/w`
#[derive(Clone, Debug)]
pub struct Found {
    /// The portion.
    pub which: Which,
    /// What the figure is a share of.
    pub share: Share,
    /// The figure.
    pub reading: Reading,
    /// The whole line.
    pub span: Span,
}

/// `step "Esterify" took 95 min at 116..118 degC`
#[derive(Clone, Debug)]
pub struct Timed {
    /// The title of the step.
    pub title: (String, Span),
    /// How long it took.
    pub took: Option<Figure>,
    /// How warm it was.
    pub at: Option<Figure>,
}

/// `regenerated "A" at 300 degC for 15 h`
#[derive(Clone, Debug)]
pub struct Regenerated {
    /// The jar of drying agent.
    pub jar: String,
    /// How hot.
    pub at: Option<Figure>,
    /// How long.
    pub time: Option<Figure>,
}

/// A record.
#[derive(Clone, Debug)]
pub struct Record {
    /// The procedure.
    pub of: Name,
    /// The variant of it, by its title, where one stands behind the name: `record of fructone "more glycol" on 2026-03-14`.
    pub variant: Option<(String, Span)>,
    /// The day, as written: `2026-03-14`.
    pub date: String,
    /// What is said in quotation marks behind the day.
    pub called: Option<String>,
    /// The head.
    pub span: Span,
    /// `sized alcohol = 60 mL`
    pub sized: Option<(Name, Figure)>,
    /// Amounts.
    pub measured: Vec<Measured>,
    /// Purities and water contents.
    pub found: Vec<Found>,
    /// `theory product 14.3 g`: what the source says theory allows, with half a unit of its last digit.
    pub theory: Vec<(Which, Figure, f64)>,
    /// `collected 138..142 degC`
    pub collected: Vec<Figure>,
    /// Steps.
    pub steps: Vec<Timed>,
    /// `note`, `observed` and `deviation`, each with its text.
    pub texts: Vec<(&'static str, String)>,
    /// `jar drier "A"`
    pub jars: Vec<(Which, String)>,
    /// Drying agents that were regenerated after the run.
    pub regenerated: Vec<Regenerated>,
}

const TEXTS: [&str; 3] = ["note", "observed", "deviation"];
const FIELDS: [&str; 12] =
    ["sized", "purity", "water", "theory", "collected", "step", "jar", "regenerated", "note", "observed", "deviation", "NAME AMOUNT"];
const ORDINALS: [&str; 9] = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth"];

/// The word for the how-manieth, where there is one.
#[must_use]
pub fn ordinal(occurrence: usize) -> Option<&'static str> {
    ORDINALS.get(occurrence.checked_sub(1)?).copied()
}

/// Reads a record; `None` where the head cannot be read.
pub fn read(block: &Block, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Option<Record> {
    let mut record = head(&block.head).map_err(|finding| findings.push(finding)).ok().flatten()?;
    for line in lines(block, findings) {
        if let Err(finding) = field(line, defs, &mut record) {
            findings.push(finding);
        }
    }
    for (number, one) in record.measured.iter().enumerate() {
        if let Some(first) = record.measured.iter().take(number).find(|first| same(&first.which, &one.which)) {
            findings.push(
                Diagnostic::new(Code::Duplicate, one.span, format!("`{}` is measured a second time", one.which.name.text))
                    .label(first.span, "the first is here")
                    .help("a name that several portions bear is told apart by `first`, `second` and so on"),
            );
        }
    }
    Some(record)
}

/// Whether two names mean one portion as far as can be seen without the procedure.
fn same(one: &Which, other: &Which) -> bool {
    one.name.text == other.name.text && one.occurrence == other.occurrence
}

fn head(line: &Line) -> Read<Option<Record>> {
    if line.broken {
        return Ok(None);
    }
    let wrong = |at: Span, what: &str| {
        Err(Diagnostic::new(Code::SyntaxExpected, at, what.to_owned())
            .help("a record begins `record of PROCEDURE on 2026-03-14 {`, with a text behind the day where there is more than one"))
    };
    // The title of a variant may stand behind the name.
    let (variant, tokens): (_, Vec<&Token>) = match line.tokens.get(3) {
        Some(Token { tok: Tok::Text(title), span, .. }) => (
            Some((title.clone(), *span)),
            line.tokens.iter().enumerate().filter(|(place, _)| *place != 3).map(|(_, token)| token).collect(),
        ),
        _ => (None, line.tokens.iter().collect()),
    };
    let (of, day, called) = match tokens.as_slice() {
        [_, of, name, on, day, rest @ ..] if is(of, "of") && is(on, "on") => match (&name.tok, &day.tok, rest) {
            (Tok::Word(text), Tok::Date(date), []) => (Name { text: text.clone(), span: name.span }, (date, day.span), None),
            (Tok::Word(text), Tok::Date(date), [Token { tok: Tok::Text(called), .. }]) => {
                (Name { text: text.clone(), span: name.span }, (date, day.span), Some(called.clone()))
            }
            (Tok::Word(_), Tok::Date(_), [extra, ..]) => {
                return wrong(extra.span, "a record's head ends with the day, or a text behind it");
            }
            (Tok::Word(_), ..) => return wrong(day.span, "the day of the run belongs here, as year, month and day"),
            _ => return wrong(name.span, "the name of a procedure belongs here"),
        },
        _ => return wrong(line.span, "a record says of which procedure it is, and on which day"),
    };
    if !is_day(day.0) {
        return Err(Diagnostic::new(Code::RecordImpossible, day.1, format!("there is no day {}", day.0))
            .help("a day is written as year, month and day: `2026-03-14`"));
    }
    Ok(Some(Record {
        of,
        variant,
        date: day.0.clone(),
        called,
        span: line.span,
        sized: None,
        measured: Vec::new(),
        found: Vec::new(),
        theory: Vec::new(),
        collected: Vec::new(),
        steps: Vec::new(),
        texts: Vec::new(),
        jars: Vec::new(),
        regenerated: Vec::new(),
    }))
}

fn is(token: &Token, word: &str) -> bool {
    matches!(&token.tok, Tok::Word(found) if found == word)
}

/// Whether the calendar has such a day, written as `2026-03-14`.
#[must_use]
pub fn is_day(text: &str) -> bool {
    let lengths = text.split('-').map(str::len).eq([4, 2, 2]);
    let parts: Vec<u32> = text.split('-').filter_map(|part| part.parse().ok()).collect();
    let ([year, month, day], true) = (parts.as_slice(), lengths) else { return false };
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let days = match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        _ => 0,
    };
    (1..=days).contains(day)
}

fn field(line: &Line, defs: &Definitions, record: &mut Record) -> Read<()> {
    let mut field = Field::of(line)?;
    let stated = (line.word(1), line.word(2)) != (Some("not"), Some("stated"));
    let is_amount = !stated || matches!(line.tokens.get(1).map(|token| &token.tok), Some(Tok::Quantity(_)));
    let duplicate = |what: &str| Err(Diagnostic::new(Code::Duplicate, line.span, format!("{what} is given a second time")));
    match field.name {
        "sized" if !is_amount => {
            let name = name(&mut field)?;
            if !matches!(field.cursor.peek(), Some(Tok::Sign("="))) {
                return Err(field.failed(&field.cursor.failure("`=`", false)));
            }
            field.cursor.advance();
            let figure = above_zero(field.figure(&[Kind::Volume, Kind::Mass, Kind::Amount])?)?;
            if record.sized.replace((name, figure)).is_some() {
                return duplicate("the size of the batch");
            }
        }
        word @ ("purity" | "water") if !is_amount => {
            let which = which(&mut field)?;
            let found = found(&mut field, word == "water", which, line.span)?;
            if record.found.iter().any(|one| same(&one.which, &found.which) && (one.share == Share::Water) == (found.share == Share::Water))
            {
                return duplicate(if word == "water" { "the water of this portion" } else { "the purity of this portion" });
            }
            record.found.push(found);
        }
        "theory" if !is_amount => {
            let which = which(&mut field)?;
            let measure = field.cursor.peek();
            let figure = above_zero(field.figure(&[Kind::Mass])?)?;
            let half = if let Some(Tok::Quantity(measure)) = measure { slack(measure, &figure) } else { 0.0 };
            record.theory.push((which, figure, half));
        }
        "collected" => record.collected.push(field.figure(&[Kind::Temperature])?),
        "step" if !is_amount => {
            let title = text(&mut field)?;
            let mut timed = Timed { title, took: None, at: None };
            loop {
                if field.word("took") {
                    let took = field.figure(&[Kind::Duration])?;
                    if took.low <= 0.0 {
                        return Err(Diagnostic::new(Code::RecordImpossible, took.span, "a step takes some time")
                            .help("leave `took` out where it was not taken"));
                    }
                    timed.took = Some(took);
                } else if field.word("at") {
                    timed.at = Some(field.figure(&[Kind::Temperature])?);
                } else {
                    break;
                }
            }
            if timed.took.is_none() && timed.at.is_none() {
                return Err(field.failed(&field.cursor.failure("`took 95 min` or `at 116..118 degC`", false)));
            }
            record.steps.push(timed);
        }
        word if TEXTS.contains(&word) && !is_amount => {
            let word = TEXTS.iter().find(|known| **known == word).copied().unwrap_or("note");
            record.texts.push((word, text(&mut field)?.0));
        }
        "jar" if !is_amount => {
            let which = which(&mut field)?;
            let (label, _) = text(&mut field)?;
            record.jars.push((which, label));
        }
        "regenerated" if !is_amount => {
            let (jar, _) = text(&mut field)?;
            let mut one = Regenerated { jar, at: None, time: None };
            if field.word("at") {
                one.at = Some(field.figure(&[Kind::Temperature])?);
            }
            if field.word("for") {
                one.time = Some(field.figure(&[Kind::Duration])?);
            }
            record.regenerated.push(one);
        }
        _ => {
            let measured = measured(line, &mut field, defs)?;
            record.measured.push(measured);
        }
    }
    field.end()
}

fn name(field: &mut Field<'_>) -> Read<Name> {
    field.cursor.name("the name of a portion").map_err(|failure| field.failed(&failure))
}

/// `crude`, `first crude`
fn which(field: &mut Field<'_>) -> Read<Which> {
    let first = name(field)?;
    let occurrence = ORDINALS.iter().position(|word| *word == first.text).map(|place| place + 1);
    if occurrence.is_some() && matches!(field.cursor.peek(), Some(Tok::Word(word)) if word != "not") {
        return Ok(Which { name: name(field)?, occurrence });
    }
    Ok(Which { name: first, occurrence: None })
}

fn text(field: &mut Field<'_>) -> Read<(String, Span)> {
    match field.cursor.peek() {
        Some(Tok::Text(text)) => {
            let at = field.cursor.here();
            field.cursor.advance();
            Ok((text.clone(), at))
        }
        _ => Err(field.failed(&field.cursor.failure("a text in quotation marks", false))),
    }
}

/// That limits behind `±` leave something open: no reading is exact.
fn open(figure: Figure) -> Read<Figure> {
    if figure.plus_minus.is_some_and(|width| width <= 0.0) {
        return Err(Diagnostic::new(Code::RecordImpossible, figure.span, "no reading is exact, and `± 0` says that this one is")
            .help("write the limits, name the instrument, or leave `±` out: then the last digit counts"));
    }
    Ok(figure)
}

fn above_zero(figure: Figure) -> Read<Figure> {
    let figure = open(figure)?;
    if figure.low > 0.0 && figure.high.is_none() {
        return Ok(figure);
    }
    Err(Diagnostic::new(Code::RecordImpossible, figure.span, "an amount that was measured is one figure above zero")
        .help("take the line out where nothing was measured, or write `not stated`"))
}

/// `98.2 ± 0.3 % by area`, `98.2 % w/w`
fn found(field: &mut Field<'_>, water: bool, which: Which, span: Span) -> Read<Found> {
    let Some(Tok::Quantity(measure)) = field.cursor.peek() else {
        return Err(field.failed(&field.cursor.failure("a percentage", false)));
    };
    let bare = matches!(&measure.unit, Some((unit, _)) if unit == "%");
    let by_area = bare
        && matches!((field.cursor.peek_at(1), field.cursor.peek_at(2)), (Some(Tok::Word(by)), Some(Tok::Word(area))) if by == "by" && area == "area");
    let mut figure = if by_area && !water {
        quantity::read(measure, &[Kind::Ratio])?
    } else {
        let figure = quantity::read(measure, &[Kind::MassFraction]);
        figure.map_err(|finding| {
            let both = "write `98.2 % by area` for a share of a chromatogram's area, `98.2 % w/w` for one by mass";
            if finding.code == Code::PercentOfWhat && !water { finding.help(both) } else { finding }
        })?
    };
    figure.kind = Kind::MassFraction;
    open(figure)?;
    if !(0.0..=1.0).contains(&figure.low) || figure.high.is_some() {
        return Err(Diagnostic::new(Code::RecordImpossible, figure.span, "a share is one figure between 0 and 100 %")
            .help("look at the figure again"));
    }
    let half = slack(measure, &figure);
    let how = if figure.plus_minus.is_some() { How::Limits } else { How::Digits };
    field.cursor.advance();
    if by_area {
        field.cursor.advance();
        field.cursor.advance();
    }
    let share = match (water, by_area) {
        (true, _) => Share::Water,
        (false, true) => Share::Area,
        (false, false) => Share::Mass,
    };
    Ok(Found { which, share, reading: Reading { figure, half, how }, span })
}

/// `alcohol 48.71 g`, `product 48.1 ± 0.1 g (78 %)`, `acid 60 mL in cylinder 100 mL`, `first crude not stated`
fn measured(line: &Line, field: &mut Field<'_>, defs: &Definitions) -> Read<Measured> {
    let first = Name { text: field.name.to_owned(), span: line.tokens.first().map_or(line.span, |token| token.span) };
    let occurrence = ORDINALS.iter().position(|word| *word == first.text).map(|place| place + 1);
    let counted = occurrence.is_some() && matches!(field.cursor.peek(), Some(Tok::Word(word)) if word != "not");
    let which = if counted { Which { name: name(field)?, occurrence } } else { Which { name: first, occurrence: None } };
    if field.word("not") {
        if !field.word("stated") {
            return Err(field.failed(&field.cursor.failure("`stated`", false)));
        }
        return Ok(Measured { which, reading: None, beside: Vec::new(), span: line.span });
    }
    let Some(Tok::Quantity(measure)) = field.cursor.peek() else {
        let near = suggest::sentence(field.name, FIELDS.iter().copied().filter(|known| !known.contains(' ')));
        let help = near.unwrap_or_else(|| format!("the lines of a record are {}", FIELDS.join(", ")));
        return Err(Diagnostic::new(
            Code::SyntaxExpected,
            field.cursor.here(),
            format!("how much of `{}` there was belongs here", which.name.text),
        )
        .help(help));
    };
    let figure = above_zero(quantity::read(measure, &[Kind::Mass, Kind::Volume])?)?;
    let limits = slack(measure, &figure);
    field.cursor.advance();
    let mut beside = Vec::new();
    if matches!(field.cursor.peek(), Some(Tok::Sign("("))) {
        loop {
            field.cursor.advance();
            let Some(Tok::Quantity(measure)) = field.cursor.peek() else {
                return Err(field.failed(&field.cursor.failure("another figure of the amount", false)));
            };
            let other = quantity::read(measure, &[Kind::Amount, Kind::Ratio, Kind::Mass, Kind::Volume])?;
            if other.kind == Kind::Ratio && measure.unit.is_none() {
                return Err(field.failed(&field.cursor.failure("a figure with its unit, or a yield in per cent,", false)));
            }
            beside.push((other, slack(measure, &other)));
            field.cursor.advance();
            if !field.cursor.comma() {
                break;
            }
        }
        if !matches!(field.cursor.peek(), Some(Tok::Sign(")"))) {
            return Err(field.failed(&field.cursor.failure("`)`", false)));
        }
        field.cursor.advance();
    }
    let mut how = if figure.plus_minus.is_some() { How::Limits } else { How::Digits };
    let mut half = limits;
    let at = field.cursor.here();
    if field.word("on") || field.word("in") || field.word("with") {
        let instrument = instrument(field, defs, at)?;
        if let Some(instrument) = instrument {
            fits(&instrument, &figure)?;
            half = instrument.tolerance.as_ref().map_or(0.0, |tolerance| tolerance.value);
            how = How::With(instrument);
        }
    }
    Ok(Measured { which, reading: Some(Reading { figure, half, how }), beside, span: line.span })
}

/// The instrument behind `on`, `in` or `with`: `balance 0.01 g`, `cylinder 100 mL`. `None` where the library was not read,
/// because something else is wrong.
fn instrument(field: &mut Field<'_>, defs: &Definitions, from: Span) -> Read<Option<Arc<Instrument>>> {
    let name = field.cursor.name("an instrument, such as `balance 0.01 g`").map_err(|failure| field.failed(&failure))?;
    let mut title = name.text.replace('_', " ");
    let mut end = name.span;
    if let Some(Tok::Quantity(measure)) = field.cursor.peek() {
        let unit = measure.unit.as_ref().map_or("", |(unit, _)| unit.as_str()).replace("uL", "µL");
        title = format!("{} {unit} {title}", measure.figures);
        end = field.cursor.here();
        field.cursor.advance();
    }
    let mut known = defs.instruments.iter();
    if let Some(found) = known.find(|one| one.name == name.text || one.title == title) {
        return Ok(Some(Arc::clone(found)));
    }
    if defs.instruments.is_empty() {
        return Ok(None);
    }
    let word = name.text.replace('_', " ");
    let sizes: Vec<&str> = defs
        .instruments
        .iter()
        .filter(|one| one.title.ends_with(&word))
        .filter_map(|one| one.title.strip_suffix(&word))
        .map(str::trim)
        .collect();
    let help = if sizes.is_empty() {
        "the library has balances, cylinders, graduated and transfer pipettes, burettes, syringes: `on balance 0.01 g`, `in cylinder 100 mL`".to_owned()
    } else {
        format!("there is one of {}", suggest::listed(&sizes, "and"))
    };
    Err(Diagnostic::new(Code::RecordInstrument, from.to(end), format!("no instrument is called {title}")).help(help))
}

/// That the instrument can have measured this.
fn fits(instrument: &Instrument, figure: &Figure) -> Read<()> {
    let kind = if instrument.volume { Kind::Volume } else { Kind::Mass };
    if instrument.serves.as_deref() == Some("temperature") || figure.kind != kind {
        return Err(Diagnostic::new(
            Code::RecordInstrument,
            figure.span,
            format!("a {} does not measure {}", instrument.title, figure.kind.article_name()),
        )
        .help("name the instrument that was used, or write what was read on it"));
    }
    // Twice filled is twice read; what is far above its range was not measured with it. Our own figure.
    if figure.low > instrument.range.1 * 10.0 || figure.low < instrument.step {
        return Err(Diagnostic::new(
            Code::RecordInstrument,
            figure.span,
            format!("a {} does not measure {}", instrument.title, crate::kinds::show(figure.low, kind, 3)),
        )
        .help("name the instrument that was used, or write the limits: `48.1 ± 0.1 g`"));
    }
    Ok(())
}
