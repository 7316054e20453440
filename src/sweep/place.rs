//! What of a procedure can be varied: the amount of anything taken, and the figures and amounts that its statements have.

use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::kinds::Kind;
use crate::resolve::amount::{self, Amount};
use crate::resolve::cursor::{Cursor, Failure};
use crate::resolve::form::Sort;
use crate::resolve::matcher::{RawArg, read_slot};
use crate::resolve::procedure::{Draft, DraftStatement};
use crate::source::Span;
use crate::syntax::Token;

/// A place in a procedure where a figure can be varied.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// The amount of the `take` of that number.
    Take(usize),
    /// What stands in a slot of a statement.
    Slot {
        /// The statement's number.
        statement: usize,
        /// The slot's name.
        slot: String,
    },
}

/// A figure of a statement, with all by which it can be called.
struct Figure {
    place: Place,
    /// The step's number, from 1, and its heading.
    step: Option<(usize, String)>,
    verb: String,
    /// The how-manieth statement of that verb in its step, and of how many.
    occurrence: (usize, usize),
    /// The slot, and for a material its name.
    names: Vec<String>,
    /// Whether the statement runs a reaction.
    runs: bool,
}

impl Figure {
    /// The statement as it is called: `"Make the ketal".reflux`.
    fn statement(&self) -> String {
        let step = self.step.as_ref().map_or_else(String::new, |(_, title)| format!("\"{title}\"."));
        let (at, of) = self.occurrence;
        let which = if of > 1 { format!("#{at}") } else { String::new() };
        format!("{step}{}{which}", self.verb)
    }

    /// The whole address: `"Make the ketal".reflux.time`.
    fn address(&self) -> String {
        format!("{}.{}", self.statement(), self.names.first().map_or("", String::as_str))
    }

    /// Whether these parts of a name, all but the last, lead to its statement: a step, a verb, or both.
    fn is_under(&self, parts: &[String]) -> bool {
        (0..=parts.len()).any(|split| {
            let (step, verb) = parts.split_at(split);
            let of_step = step.is_empty()
                || self.step.as_ref().is_some_and(|(number, title)| {
                    // A heading that is written without quotation marks may hold full stops.
                    let asked = step.join(".");
                    asked.trim() == number.to_string() || asked.trim().eq_ignore_ascii_case(title.trim())
                });
            let of_verb = match verb {
                [] => true,
                [verb] => match verb.split_once('#') {
                    Some((verb, at)) => verb == self.verb && at == self.occurrence.0.to_string(),
                    None => *verb == self.verb,
                },
                _ => false,
            };
            of_step && of_verb
        })
    }
}

/// Every figure of the work, in the order of the statements.
fn figures(draft: &Draft) -> Vec<Figure> {
    let mut found = Vec::new();
    for (number, statement) in draft.statements.iter().enumerate() {
        let verb = statement.operation.form.verb();
        let alike = |other: &&DraftStatement| other.step == statement.step && other.operation.form.verb() == verb;
        let occurrence = (draft.statements.iter().take(number + 1).filter(alike).count(), draft.statements.iter().filter(alike).count());
        let step = statement.step.and_then(|at| Some((at + 1, draft.steps.get(at)?.title.clone()?)));
        let sort_of = |slot: &str| statement.operation.form.slot(slot).map(|slot| &slot.sort);
        let runs = statement.matched.args.iter().any(|(slot, _)| sort_of(slot) == Some(&Sort::Reaction));
        for (slot, arg) in statement.matched.args.iter() {
            let names = match arg {
                RawArg::Figure(_) | RawArg::NotStated(_) => vec![slot.clone()],
                RawArg::Material(material) if material.amount.is_some() => vec![material.name.text.clone(), slot.clone()],
                _ => continue,
            };
            let place = Place::Slot { statement: number, slot: slot.clone() };
            found.push(Figure { place, step: step.clone(), verb: verb.to_owned(), occurrence, names, runs });
        }
    }
    found
}

/// The parts of a name between full stops; what stands in quotation marks is one part.
fn parts(name: &str) -> Vec<String> {
    let mut found = vec![String::new()];
    let mut quoted = false;
    for letter in name.chars() {
        match letter {
            '"' | '\u{201C}' | '\u{201D}' => quoted = !quoted,
            '.' if !quoted => found.push(String::new()),
            _ => {
                if let Some(last) = found.last_mut() {
                    last.push(letter);
                }
            }
        }
    }
    found.iter().map(|part| part.trim().to_owned()).collect()
}

/// What a name means in a procedure: something that is taken, else a figure of the work, such as `temperature`,
/// `reflux.time` or `"Make the ketal".time`. Of several figures of one name that of the statement is meant that runs a
/// reaction, where it is one.
///
/// # Errors
/// A finding at `span` that offers what there is.
pub fn find(name: &str, draft: &Draft, span: Span) -> Result<Place, Box<Diagnostic>> {
    if let Some(at) = draft.takes.iter().position(|take| take.name.text == name) {
        return Ok(Place::Take(at));
    }
    let figures = figures(draft);
    let parts = parts(name);
    let Some((last, before)) = parts.split_last() else { return Err(unknown(name, draft, &figures, span)) };
    let mut meant: Vec<&Figure> = figures.iter().filter(|figure| figure.names.contains(last) && figure.is_under(before)).collect();
    if meant.len() > 1 && meant.iter().any(|figure| figure.runs) {
        meant.retain(|figure| figure.runs);
    }
    match meant.as_slice() {
        [one] => Ok(one.place.clone()),
        [] => Err(unknown(name, draft, &figures, span)),
        [first, ..] => {
            let listed: Vec<String> = meant.iter().map(|figure| figure.address()).collect();
            let listed: Vec<&str> = listed.iter().map(String::as_str).collect();
            let message = format!("`{name}` could be that of {} statements", meant.len());
            Err(Box::new(Diagnostic::new(Code::UnknownName, span, message).help(format!(
                "say which: {}; in a shell the whole stands in single quotation marks, such as `'{}=…'`",
                suggest::listed(&listed, "or"),
                first.address()
            ))))
        }
    }
}

fn unknown(name: &str, draft: &Draft, figures: &[Figure], span: Span) -> Box<Diagnostic> {
    let taken: Vec<&str> = draft.takes.iter().map(|take| take.name.text.as_str()).collect();
    let addresses: Vec<String> = figures.iter().map(Figure::address).collect();
    let single = figures.iter().flat_map(|figure| figure.names.iter().map(String::as_str));
    let finding = Diagnostic::new(
        Code::UnknownName,
        span,
        format!("nothing that is taken is called `{name}`, and no statement has a figure of that name"),
    );
    let help = suggest::sentence(name, taken.iter().copied().chain(single).chain(addresses.iter().map(String::as_str)));
    Box::new(finding.help(help.unwrap_or_else(|| {
        let addresses: Vec<&str> = addresses.iter().map(String::as_str).collect();
        let work = if addresses.is_empty() { String::new() } else { format!("; the work has {}", suggest::listed(&addresses, "and")) };
        format!("the procedure takes {}{work}", suggest::listed(&taken, "and"))
    })))
}

impl Place {
    /// Puts into a draft what `tokens` say, which are to stand there alone. A material keeps its grade and its strength; an
    /// `allow` of the statement holds for what is put there, too. Findings about units and kinds go to `findings`.
    ///
    /// # Errors
    /// A finding where the tokens are nothing that could stand there.
    pub fn put(&self, draft: &mut Draft, tokens: &[Token], end: Span, findings: &mut Vec<Diagnostic>) -> Result<(), Box<Diagnostic>> {
        let whole = match (tokens.first(), tokens.last()) {
            (Some(first), Some(last)) => first.span.to(last.span),
            _ => end,
        };
        let amount = |findings: &mut Vec<Diagnostic>| {
            let mut cursor = Cursor::new(tokens, end);
            let amount = amount::read(&mut cursor, findings)?;
            if cursor.is_done() { Ok(amount) } else { Err(cursor.failure("the end of the amount", false)) }
        };
        let statement = match self {
            Self::Take(at) => {
                let Some(take) = draft.takes.get_mut(*at) else { return Ok(()) };
                take.material.amount = Some(amount(findings).map_err(|failure| misread(&failure))?);
                take.span
            }
            Self::Slot { statement, slot } => {
                let Some(statement) = draft.statements.get_mut(*statement) else { return Ok(()) };
                let form = statement.operation.form.slot(slot);
                match (statement.matched.args.get_mut(slot), form) {
                    (Some(RawArg::Material(material)), _) => {
                        material.amount = Some(amount(findings).map_err(|failure| misread(&failure))?);
                    }
                    (Some(arg), Some(form)) => {
                        *arg = read_slot(form, tokens, end, findings).map_err(|failure| misread(&failure))?;
                    }
                    _ => {}
                }
                statement.span
            }
        };
        let inside = |outer: &Span| outer.file == statement.file && outer.start <= statement.start && statement.end <= outer.end;
        for allow in draft.allows.iter_mut().filter(|allow| allow.covers.iter().any(inside)) {
            allow.covers.push(whole);
        }
        Ok(())
    }

    /// The amount that stands there, for a material.
    #[must_use]
    pub fn amount<'a>(&self, draft: &'a Draft) -> Option<&'a Amount> {
        match (self, self.arg(draft)) {
            (Self::Take(at), _) => draft.takes.get(*at)?.material.amount.as_ref(),
            (_, Some(RawArg::Material(material))) => material.amount.as_ref(),
            _ => None,
        }
    }

    /// The figure that stands there, where it is one of the work.
    #[must_use]
    pub fn arg<'a>(&self, draft: &'a Draft) -> Option<&'a RawArg> {
        match self {
            Self::Take(_) => None,
            Self::Slot { statement, slot } => draft.statements.get(*statement)?.matched.args.get(slot),
        }
    }

    /// Whether only whole numbers can stand there.
    #[must_use]
    pub fn is_count(&self, draft: &Draft) -> bool {
        match self {
            Self::Take(_) => false,
            Self::Slot { statement, slot } => draft
                .statements
                .get(*statement)
                .and_then(|statement| statement.operation.form.slot(slot))
                .is_some_and(|slot| slot.sort == Sort::Quantity(Kind::Count)),
        }
    }
}

fn misread(failure: &Failure) -> Box<Diagnostic> {
    let expected: Vec<&str> = failure.expected.iter().map(String::as_str).filter(|text| !text.is_empty()).collect();
    let expected = if expected.is_empty() { "a quantity".to_owned() } else { expected.join(" or ") };
    Box::new(Diagnostic::new(Code::SyntaxExpected, failure.span, format!("{expected} could stand here; {} was met", failure.met)))
}
