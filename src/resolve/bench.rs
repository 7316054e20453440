//! The bench: what is at hand. A document of its own, read when everything that it names has been.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::cursor::{Cursor, Name};
use super::definitions::{Apparatus, Definitions, Instrument, Sourced};
use super::matcher::read_material;
use super::quantity::{self, Figure};
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::evaluate::amounts;
use crate::kinds::{Kind, show};
use crate::matter::grade::material_of;
use crate::matter::linear::{Material, Strength};
use crate::source::Span;
use crate::syntax::{Block, Line, Node, Tok, Token};

/// What is at hand.
#[derive(Clone, Debug)]
pub struct Bench {
    /// Its title.
    pub title: String,
    /// Where the title stands.
    pub span: Span,
    /// Apparatus, each piece by itself.
    pub pieces: Vec<Piece>,
    /// What measures.
    pub instruments: Vec<Arc<Instrument>>,
    /// What all heaters give, W.
    pub heater: Option<Figure>,
    /// The pressure of the room.
    pub pressure: Option<Figure>,
    /// The temperature of the room.
    pub temperature: Option<Figure>,
    /// Materials.
    pub stock: Vec<Stock>,
}

/// One piece of apparatus.
#[derive(Clone, Debug)]
pub struct Piece {
    /// What it is; of a siphon extractor that says what its body holds, with its own siphon.
    pub apparatus: Arc<Apparatus>,
    /// Its size, m³, where it has one.
    pub size: Option<f64>,
    /// Where it is named.
    pub span: Span,
}

/// A material that is there.
#[derive(Clone, Debug)]
pub struct Stock {
    /// What it is, with its grade.
    pub material: Material,
    /// kg of it.
    pub mass: f64,
    /// m³ of it, where it is poured.
    pub volume: Option<f64>,
    /// Mass fraction of the main substance.
    pub strength: f64,
    /// What a kilogram costs, and in what.
    pub price: Option<(f64, String)>,
    /// The day on which it was opened.
    pub opened: Option<String>,
    /// Where it stands.
    pub span: Span,
}

impl Bench {
    /// A bench of which nothing is known.
    #[must_use]
    pub fn bare() -> Self {
        Self {
            title: String::new(),
            span: Span::new(crate::source::FileId::of_entry(0), 0..0),
            pieces: Vec::new(),
            instruments: Vec::new(),
            heater: None,
            pressure: None,
            temperature: None,
            stock: Vec::new(),
        }
    }

    /// The bench's own piece of that kind and size: for an extractor with its siphon.
    #[must_use]
    pub fn piece(&self, kind: &str, size: Option<f64>) -> Option<&Piece> {
        let mut own: Vec<&Piece> = self.pieces.iter().filter(|piece| piece.apparatus.name == kind).collect();
        own.sort_by(|a, b| a.size.unwrap_or(0.0).total_cmp(&b.size.unwrap_or(0.0)));
        own.into_iter().find(|piece| match (size, piece.size) {
            (Some(wanted), Some(has)) => same(wanted, has),
            (Some(_), None) => false,
            (None, _) => true,
        })
    }

    /// The stock from which a material of this strength is had: of the same strength, else one that is
    /// stronger, else any.
    #[must_use]
    pub fn stock_of(&self, sub: super::definitions::Sub, strength: f64) -> Option<(usize, &Stock)> {
        let own = || self.stock.iter().enumerate().filter(move |(_, stock)| stock.material.sub == sub);
        own()
            .find(|(_, stock)| (stock.strength - strength).abs() < ALIKE)
            .or_else(|| own().find(|(_, stock)| stock.strength > strength))
            .or_else(|| own().next())
    }
}

/// Strengths that differ by less than this mass fraction are one grade. Our own figure.
pub const ALIKE: f64 = 0.005;

/// What the lines of a bench begin with, besides the names of apparatus.
const WORDS: [&str; 5] = ["stock", "heater", "balance", "pressure", "temperature"];

/// Instruments by what the bench calls them: the library's name goes on with the size.
const FAMILIES: [&str; 7] = ["cylinder", "pipette", "transfer_pipette", "piston_pipette", "volumetric_flask", "burette", "syringe"];

/// Between how much a room's pressure (Pa) and temperature (K), a heater (W) and a piece of glass (m³) may be. Our own figures.
const ROOM_PRESSURE: (f64, f64) = (3e4, 1.2e5);
const ROOM_TEMPERATURE: (f64, f64) = (263.15, 323.15);
const HEATER: (f64, f64) = (1.0, 1e5);
const GLASS: (f64, f64) = (1e-7, 1.0);
const STOCK: (f64, f64) = (1e-9, 1e5);
/// The least that is weighed is so many steps of the balance. Our own figure, as for the library's balances.
const STEPS: f64 = 20.0;

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-6 * a.abs().max(b.abs())
}

type Read<T> = Result<T, Box<Diagnostic>>;

/// Reads a bench. `None` where something in it is wrong, which has been reported.
pub fn declare(block: &Block, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Option<Bench> {
    let before = findings.len();
    let head = &block.head;
    let (title, span) = match head.tokens.as_slice() {
        [_, Token { tok: Tok::Text(title), span, .. }] => (title.clone(), *span),
        _ => {
            let at = head.tokens.get(1).map_or(head.span.after(), |token| token.span);
            findings.push(
                Diagnostic::new(Code::SyntaxExpected, at, "a bench has a title in quotation marks, and nothing more before `{`")
                    .help("write `bench \"The back kitchen\" {`"),
            );
            return None;
        }
    };
    let mut reading = Reading { defs, bench: Bench { title, span, ..Bench::bare() }, lines: BTreeMap::new() };
    let mut any = false;
    for node in &block.body {
        match node {
            Node::Line(line) if !line.tokens.is_empty() => {
                any = true;
                if !line.broken
                    && let Err(finding) = reading.line(line, findings)
                {
                    findings.push(*finding);
                }
            }
            Node::Block(inner) => findings.push(Diagnostic::new(Code::SyntaxExpected, inner.head.span, "no block stands inside a bench")),
            _ => {}
        }
    }
    if !any {
        findings.push(
            Diagnostic::new(Code::BenchEmpty, span, format!("nothing stands on the bench \"{}\"", reading.bench.title))
                .help("list what there is: `round_flask 100 mL, 250 mL`, `balance 0.01 g to 320 g`, `stock ethanol, 95 % v/v, 2.5 L`"),
        );
    }
    let good = findings.iter().skip(before).all(|finding| !finding.is_error());
    good.then_some(reading.bench)
}

struct Reading<'a> {
    defs: &'a Definitions,
    bench: Bench,
    /// What has been listed, with where: each kind on one line.
    lines: BTreeMap<String, Span>,
}

impl Reading<'_> {
    fn line(&mut self, line: &Line, findings: &mut Vec<Diagnostic>) -> Read<()> {
        let Some(word) = line.first_word() else {
            return Err(Box::new(
                Diagnostic::new(Code::SyntaxExpected, line.span, "a line of a bench begins with what stands there")
                    .help("such as `round_flask 100 mL, 250 mL`"),
            ));
        };
        let at = line.tokens.first().map_or(line.span, |token| token.span);
        let mut cursor = Cursor::new(line.tokens.get(1..).unwrap_or(&[]), at.after());
        match word {
            "stock" => return self.stock(line, findings),
            "balance" => return self.balance(&mut cursor, line.span),
            "heater" | "pressure" | "temperature" => {
                self.once(word, at)?;
                let (kind, range, example) = match word {
                    "heater" => (Kind::Power, HEATER, "300 W"),
                    "pressure" => (Kind::Pressure, ROOM_PRESSURE, "101.3 kPa"),
                    _ => (Kind::Temperature, ROOM_TEMPERATURE, "21 degC"),
                };
                let figure = one(&mut cursor, word, kind, range, &format!("{word} {example}"))?;
                let place = match word {
                    "heater" => &mut self.bench.heater,
                    "pressure" => &mut self.bench.pressure,
                    _ => &mut self.bench.temperature,
                };
                *place = Some(figure);
                return end(&cursor, &format!("{word} {example}"));
            }
            _ => {}
        }
        if FAMILIES.contains(&word) {
            return self.measures(word, &mut cursor);
        }
        if let Some(apparatus) = self.defs.apparatus.get(word).cloned() {
            self.once(word, at)?;
            return self.pieces(&apparatus, &mut cursor, at);
        }
        if let Some(instrument) = self.defs.instruments.iter().find(|one| one.name == word).cloned() {
            self.once(word, at)?;
            self.bench.instruments.push(at_hand(&instrument, None));
            return end(&cursor, word);
        }
        let known =
            crate::library::names(&["apparatus"]).chain(self.defs.apparatus.keys().map(String::as_str)).chain(WORDS).chain(FAMILIES);
        let help = suggest::sentence(word, known).unwrap_or_else(|| {
            format!("a bench lists apparatus by name, {}, and {}", suggest::listed(&FAMILIES, "and"), suggest::listed(&WORDS, "and"))
        });
        Err(Box::new(
            Diagnostic::new(Code::UnknownApparatus, at, format!("`{word}` is nothing that stands on a bench, as far as is known here"))
                .help(help),
        ))
    }

    /// That what is listed has not been before.
    fn once(&mut self, what: &str, at: Span) -> Read<()> {
        match self.lines.insert(what.to_owned(), at) {
            None => Ok(()),
            Some(first) => Err(Box::new(
                Diagnostic::new(Code::Duplicate, at, format!("`{what}` is listed a second time"))
                    .label(first, "the first is here")
                    .help("put all of a kind on one line; a size that is there twice is written twice"),
            )),
        }
    }

    /// `100 mL, 250 mL` behind a kind of apparatus, or `body 100 mL, siphon 85 mL` of an extractor.
    fn pieces(&mut self, apparatus: &Arc<Apparatus>, cursor: &mut Cursor<'_>, at: Span) -> Read<()> {
        let name = &apparatus.name;
        if apparatus.sizes.is_empty() {
            self.bench.pieces.push(Piece { apparatus: Arc::clone(apparatus), size: None, span: at });
            return end(cursor, name);
        }
        let extractor = apparatus.siphon.is_some();
        let form = if extractor { format!("{name} body 100 mL, siphon 85 mL") } else { format!("{name} 100 mL, 250 mL") };
        loop {
            let span = cursor.here();
            if extractor && cursor.word_is("body") {
                cursor.advance();
                let body = one(cursor, name, Kind::Volume, GLASS, &form)?;
                if !cursor.comma() {
                    return Err(failed(cursor, "a comma and `siphon` with the volume at which it runs over", &form));
                }
                cursor.advance();
                if !cursor.word_is("siphon") {
                    return Err(failed(cursor, "`siphon` with the volume at which it runs over", &form));
                }
                cursor.advance();
                let siphon = one(cursor, name, Kind::Volume, GLASS, &form)?;
                if siphon.low > body.low * (1.0 + 1e-9) {
                    let (more, less) = (show(siphon.low, Kind::Volume, 3), show(body.low, Kind::Volume, 3));
                    return Err(Box::new(
                        Diagnostic::new(
                            Code::OutOfRange,
                            siphon.span,
                            format!("a body of {less} does not hold {more}: it would run over before its siphon does"),
                        )
                        .help("measure both with water: the siphon's volume is the smaller one"),
                    ));
                }
                let own = Apparatus {
                    siphon: Some(Sourced {
                        value: siphon.low / body.low,
                        source: Arc::from("measured, as the bench says"),
                        span: siphon.span,
                    }),
                    ..Apparatus::clone(apparatus)
                };
                self.bench.pieces.push(Piece { apparatus: Arc::new(own), size: Some(body.low), span: span.to(siphon.span) });
            } else {
                let size = one(cursor, name, Kind::Volume, GLASS, &form)?;
                self.bench.pieces.push(Piece { apparatus: Arc::clone(apparatus), size: Some(size.low), span: size.span });
            }
            if !cursor.comma() {
                return end(cursor, &form);
            }
            cursor.advance();
        }
    }

    /// `0.01 g to 320 g`
    fn balance(&mut self, cursor: &mut Cursor<'_>, span: Span) -> Read<()> {
        const FORM: &str = "balance 0.01 g to 320 g";
        let step = one(cursor, "balance", Kind::Mass, (1e-10, 1.0), FORM)?;
        if !cursor.word_is("to") {
            return Err(failed(cursor, "`to` and the most that it weighs", FORM));
        }
        cursor.advance();
        let most = one(cursor, "balance", Kind::Mass, (1e-6, 1e4), FORM)?;
        end(cursor, FORM)?;
        if step.low * STEPS > most.low {
            return Err(Box::new(
                Diagnostic::new(
                    Code::OutOfRange,
                    span,
                    format!(
                        "a balance that reads {} and weighs no more than {} weighs nothing",
                        show(step.low, Kind::Mass, 2),
                        show(most.low, Kind::Mass, 3)
                    ),
                )
                .help(format!("the finer figure comes first: `{FORM}`")),
            ));
        }
        let title = format!("{} balance", plainly(step.low * 1e3, "g"));
        if self.bench.instruments.iter().any(|one| one.title == title) {
            return Err(Box::new(
                Diagnostic::new(Code::Duplicate, span, format!("the {title} is listed a second time")).help("take one of them out"),
            ));
        }
        self.bench.instruments.push(Arc::new(Instrument {
            name: "balance".to_owned(),
            title,
            serves: None,
            volume: false,
            range: (STEPS * step.low, most.low),
            step: step.low,
            tolerance: None,
            class: None,
            classes: BTreeMap::new(),
        }));
        Ok(())
    }

    /// `10 mL, 100 mL`, or `class A 10 mL`, behind a family of instruments.
    fn measures(&mut self, family: &str, cursor: &mut Cursor<'_>) -> Read<()> {
        let form = format!("{family} class A 10 mL, 100 mL");
        let mut class: Option<(String, Span)> = None;
        loop {
            if cursor.word_is("class") {
                cursor.advance();
                let word = match cursor.peek() {
                    Some(Tok::Word(word)) if word == "A" || word == "B" => word.clone(),
                    _ => return Err(failed(cursor, "`A` or `B`", &form)),
                };
                class = Some((word, cursor.here()));
                cursor.advance();
            }
            let size = one(cursor, family, Kind::Volume, GLASS, &form)?;
            let sized = || {
                self.defs.instruments.iter().filter(|one| {
                    let rest = one.name.strip_prefix(family).and_then(|rest| rest.strip_prefix('_'));
                    rest.is_some_and(|rest| rest.starts_with(|first: char| first.is_ascii_digit()))
                })
            };
            let Some(instrument) = sized().find(|one| same(one.range.1, size.low)).cloned() else {
                let sizes: Vec<String> = sized().map(|one| show(one.range.1, Kind::Volume, 4)).map(|text| trimmed(&text)).collect();
                let sizes: Vec<&str> = sizes.iter().map(String::as_str).collect();
                return Err(Box::new(
                    Diagnostic::new(
                        Code::UnknownApparatus,
                        size.span,
                        format!(
                            "how far off a {} of {} may be is not known",
                            family.replace('_', " "),
                            trimmed(&show(size.low, Kind::Volume, 4))
                        ),
                    )
                    .help(format!(
                        "sizes that are known are {}; for another declare an `instrument` with its tolerance",
                        suggest::listed(&sizes, "and")
                    )),
                ));
            };
            let instrument = match &class {
                None => at_hand(&instrument, None),
                Some((word, _)) if instrument.classes.contains_key(word) || instrument.class.as_deref() == Some(word) => {
                    at_hand(&instrument, Some(word))
                }
                Some((word, span)) => {
                    return Err(Box::new(
                        Diagnostic::new(
                            Code::UnknownGrade,
                            *span,
                            format!("the tolerance of a {} of class {word} is not known", instrument.title),
                        )
                        .help("leave the class out, or declare an `instrument` of your own with its tolerance"),
                    ));
                }
            };
            self.once(&instrument.title, size.span)?;
            self.bench.instruments.push(instrument);
            if !cursor.comma() {
                return end(cursor, &form);
            }
            cursor.advance();
        }
    }

    /// `stock ethanol, 95 % v/v, 2.5 L, price 18 EUR, opened "2026-03-14"`
    fn stock(&mut self, line: &Line, findings: &mut Vec<Diagnostic>) -> Read<()> {
        const FORM: &str = "stock ethanol, 95 % v/v, 2.5 L, price 18 EUR per 1 L, opened \"2026-03-14\"";
        let tokens = line.tokens.get(1..).unwrap_or(&[]);
        let ends = |pair: &[Token]| match pair {
            [comma, word] => comma.tok == Tok::Sign(",") && matches!(&word.tok, Tok::Word(word) if word == "price" || word == "opened"),
            _ => false,
        };
        let cut = tokens.windows(2).position(ends).unwrap_or(tokens.len());
        let (first, rest) = tokens.split_at(cut);
        let mut cursor = Cursor::new(first, line.span.after());
        let name = match cursor.peek() {
            Some(Tok::Word(word)) => Name { text: word.clone(), span: cursor.here() },
            _ => return Err(failed(&cursor, "the name of a material", FORM)),
        };
        cursor.advance();
        let raw = read_material(&mut cursor, name, &[], findings).map_err(|failure| {
            Box::new(
                Diagnostic::new(
                    Code::SyntaxExpected,
                    failure.span,
                    format!("{} belongs here; {} was met", failure.expected.join(" or "), failure.met),
                )
                .help(format!("the form is `{FORM}`")),
            )
        })?;
        let Some(mut amount) = raw.amount.clone() else {
            return Err(failed(&cursor, "a comma and how much of it there is", FORM));
        };
        let figure = match &amount.expr {
            Some(super::amount::Expr::Figure(figure)) if !amount.enough && !amount.not_stated && figure.high.is_none() => *figure,
            _ => {
                return Err(Box::new(
                    Diagnostic::new(Code::Mismatch, amount.span, "a stock is one amount, by mass or by volume")
                        .help(format!("the form is `{FORM}`")),
                ));
            }
        };
        if !matches!(figure.kind, Kind::Mass | Kind::Volume) {
            return Err(Box::new(
                Diagnostic::new(
                    Code::Mismatch,
                    amount.span,
                    format!("a stock is one mass or one volume, and this is {}", figure.kind.article_name()),
                )
                .help(format!("the form is `{FORM}`")),
            ));
        }
        amount.fixed = true;
        // What it lacks has been reported.
        let Some(mut material) = material_of(&raw, self.defs, findings) else { return Ok(()) };
        material.amount = amount;
        let dispensed = amounts::stocked(self.defs, &material, &figure, &raw.name.text)?;
        let mass = dispensed.mass.si;
        if !(STOCK.0..=STOCK.1).contains(&mass) {
            return Err(impossible(&figure, "stock"));
        }
        let strength = dispensed.strength;
        let name = &self.defs.substance(material.sub).name;
        if let Some(known) =
            self.bench.stock.iter().find(|known| known.material.sub == material.sub && (known.strength - strength).abs() < ALIKE)
        {
            return Err(Box::new(
                Diagnostic::new(Code::Duplicate, raw.name.span, format!("`{name}` of this strength is in stock a second time"))
                    .label(known.span, "the first is here")
                    .help("add the two up"),
            ));
        }
        let (mut price, mut opened) = (None, None);
        let mut cursor = Cursor::new(rest, line.span.after());
        while cursor.comma() {
            cursor.advance();
            let at = cursor.here();
            if cursor.word_is("price") && price.is_none() {
                cursor.advance();
                price = Some(priced(&mut cursor, mass, dispensed.volume.map(|volume| volume.si), FORM)?);
            } else if cursor.word_is("opened") && opened.is_none() {
                cursor.advance();
                let Some(Tok::Text(text)) = cursor.peek() else {
                    return Err(failed(&cursor, "a date in quotation marks, as \"2026-03-14\"", FORM));
                };
                if !is_date(text) {
                    return Err(Box::new(
                        Diagnostic::new(Code::OutOfRange, cursor.here(), format!("\"{text}\" is no date"))
                            .help("a date is year, month and day: \"2026-03-14\""),
                    ));
                }
                opened = Some(text.clone());
                cursor.advance();
            } else {
                return Err(Box::new(
                    Diagnostic::new(
                        Code::UnknownField,
                        at,
                        "behind a stock stand its `price` and the day on which it was `opened`, each once",
                    )
                    .help(format!("the form is `{FORM}`")),
                ));
            }
        }
        end(&cursor, FORM)?;
        let volume = dispensed.volume.filter(|_| !dispensed.solid).map(|volume| volume.si);
        self.bench.stock.push(Stock { material, mass, volume, strength, price, opened, span: line.span });
        Ok(())
    }
}

/// `18 EUR per 1 L`: what a kilogram costs, and in what. Without `per` it is the price of all that is there.
fn priced(cursor: &mut Cursor<'_>, mass: f64, volume: Option<f64>, form: &str) -> Read<(f64, String)> {
    let Some(Tok::Quantity(measure)) = cursor.peek() else { return Err(failed(cursor, "a price, such as `18 EUR`", form)) };
    let (value, span) = (measure.low, quantity::span_of(measure));
    let currency = measure.unit.as_ref().map(|(text, _)| text.clone()).unwrap_or_default();
    let plain = measure.high.is_none() && measure.plus_minus.is_none();
    if !plain || !(0.0..1e9).contains(&value) || !currency.chars().all(char::is_alphabetic) || crate::kinds::unit(&currency).is_ok() {
        return Err(Box::new(
            Diagnostic::new(Code::OutOfRange, span, "this is no price").help("a price is a number and the name of a currency: `18 EUR`"),
        ));
    }
    cursor.advance();
    if !cursor.word_is("per") {
        return Ok((value / mass, currency));
    }
    cursor.advance();
    let Some(Tok::Quantity(measure)) = cursor.peek() else { return Err(failed(cursor, "the amount that costs so much", form)) };
    let figure = quantity::read(measure, &[Kind::Mass, Kind::Volume])?;
    let per = match (figure.kind, volume) {
        (Kind::Mass, _) => figure.low,
        (_, Some(volume)) if volume > 0.0 => figure.low * mass / volume,
        _ => {
            return Err(Box::new(
                Diagnostic::new(Code::Mismatch, figure.span, "this stock is weighed: its price is for a mass")
                    .help("such as `price 18 EUR per 500 g`"),
            ));
        }
    };
    if per <= 0.0 {
        return Err(impossible(&figure, "price"));
    }
    cursor.advance();
    Ok((value / per, currency))
}

/// Whether a text is year, month and day.
fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts.as_slice() else { return false };
    let digits = |part: &str, length: usize| part.len() == length && part.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(year, 4) || !digits(month, 2) || !digits(day, 2) {
        return false;
    }
    let (year, month, day) = (year.parse().unwrap_or(0_u32), month.parse().unwrap_or(0_u32), day.parse().unwrap_or(0_u32));
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let days = match month {
        2 if leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        1..=12 => 31,
        _ => 0,
    };
    year >= 1900 && (1..=days).contains(&day)
}

/// An instrument as it stands on this bench, of the class that is named. What only transfers is chosen by
/// amount too when it is at hand; what has one mark measures nothing but its own volume.
fn at_hand(instrument: &Arc<Instrument>, class: Option<&str>) -> Arc<Instrument> {
    let mut own = Instrument::clone(instrument);
    if let Some(class) = class {
        if let Some(tolerance) = own.classes.get(class) {
            own.tolerance = Some(tolerance.clone());
        }
        own.title = format!("{}, class {class}", own.title);
        own.class = Some(class.to_owned());
    }
    if own.serves.as_deref() == Some("transfer") {
        own.serves = None;
        if own.range.0 >= own.range.1
            && let Some(tolerance) = &own.tolerance
        {
            own.step = tolerance.value;
        }
    }
    Arc::new(own)
}

/// One figure of a kind in a range that makes sense.
fn one(cursor: &mut Cursor<'_>, what: &str, kind: Kind, (least, most): (f64, f64), form: &str) -> Read<Figure> {
    let Some(Tok::Quantity(measure)) = cursor.peek() else { return Err(failed(cursor, kind.article_name(), form)) };
    let figure = quantity::read(measure, &[kind])?;
    if figure.high.is_some() || !(least..=most).contains(&figure.low) {
        return Err(impossible(&figure, what));
    }
    cursor.advance();
    Ok(figure)
}

fn impossible(figure: &Figure, what: &str) -> Box<Diagnostic> {
    let shown = match figure.high {
        Some(_) => "a range".to_owned(),
        None if figure.low == 0.0 => "nothing".to_owned(),
        None => show(figure.low, figure.kind, 3),
    };
    Box::new(
        Diagnostic::new(Code::OutOfRange, figure.span, format!("{shown} is not a figure that a {} has", what.replace('_', " ")))
            .help("look at the number and its unit again"),
    )
}

/// Something else belongs here.
fn failed(cursor: &Cursor<'_>, wanted: &str, form: &str) -> Box<Diagnostic> {
    let failure = cursor.failure(wanted, false);
    Box::new(
        Diagnostic::new(Code::SyntaxExpected, failure.span, format!("{wanted} belongs here; {} was met", failure.met))
            .help(format!("the form is `{form}`")),
    )
}

fn end(cursor: &Cursor<'_>, form: &str) -> Read<()> {
    if cursor.is_done() { Ok(()) } else { Err(failed(cursor, "the end of the line", form)) }
}

/// A number without noise behind it: `0.01 g`.
fn plainly(value: f64, unit: &str) -> String {
    format!("{} {unit}", (value * 1e9).round() / 1e9)
}

fn trimmed(text: &str) -> String {
    let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
    let number = if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { number };
    format!("{number} {unit}")
}

/// Whether a material of the procedure is of a grade that the bench's stock is not: for a solution of a
/// solid none is, since it is made up.
#[must_use]
pub fn other_grade(stock: &Stock, material: &Material, strength: f64, defs: &Definitions) -> bool {
    let made_up = defs.substance(material.sub).is_solid(crate::matter::mixture::ROOM) == Some(true);
    !made_up && !matches!(material.strength, Strength::Pure) && (stock.strength - strength).abs() >= ALIKE
}
