//! A parameter as it is asked for: `glycol=1..3eq`, `temperature=60..100degC`, `bed=enough + 0..50%`.

use super::place::{self, Place};
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::Unit;
use crate::pipeline::Opened;
use crate::resolve::about::without_drops;
use crate::resolve::amount::Expr;
use crate::resolve::matcher::RawArg;
use crate::resolve::procedure::Draft;
use crate::resolve::quantity;
use crate::source::{FileId, Sources, Span};
use crate::syntax::parse::parse_part;
use crate::syntax::{Line, Measure, Tok};

/// What is varied, and the figures that it is given.
#[derive(Clone, Debug)]
pub struct Parameter {
    /// Its name as asked.
    pub name: String,
    /// Where it stands in the procedure.
    pub place: Place,
    /// What is written before the figure: nothing, `fixed`, `enough +`, `volume of crude *`.
    pub before: String,
    /// The figure's unit as asked; empty for a plain number.
    pub unit: String,
    /// What is written behind the figure and its unit: nothing, `per g of crude`.
    pub behind: String,
    /// The figures, rising.
    pub values: Vec<f64>,
    /// What the procedure has there as it is written, in the same unit, where that is a plain figure of the same kind.
    pub written: Option<f64>,
    /// Where it was asked for.
    pub span: Span,
}

impl Parameter {
    /// What is written at the place for one of its figures: `1.25 eq`.
    #[must_use]
    pub fn amount(&self, value: f64) -> String {
        let value = value.to_string();
        let parts = [self.before.as_str(), value.as_str(), self.unit.as_str(), self.behind.as_str()];
        parts.iter().copied().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
    }

    /// What the figures stand under: `glycol, eq`.
    #[must_use]
    pub fn heading(&self) -> String {
        let unit = if self.unit.is_empty() { String::new() } else { format!(", {}", self.unit) };
        if self.behind.is_empty() && (self.before.is_empty() || self.before == FIXED) {
            return format!("{}{unit}", self.name);
        }
        let parts = [self.before.as_str(), "…", self.behind.as_str()];
        let around = parts.iter().copied().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ");
        format!("{} = {around}{unit}", self.name)
    }
}

const FIXED: &str = "fixed";

/// Figures evenly from one end to the other, without the last digits that binary numbers bring.
fn spaced(low: f64, high: f64, points: usize) -> Vec<f64> {
    let last = points.saturating_sub(1).max(1) as f64;
    let tidy = |value: f64| format!("{value:.11e}").parse::<f64>().unwrap_or(value);
    (0..points).map(|at| tidy((low * (last - at as f64) + high * at as f64) / last)).collect()
}

/// Reads what is to be varied. What is asked for stands among the sources, so that findings point into it.
pub fn read(text: &str, points: usize, opened: &Opened, sources: &mut Sources, findings: &mut Vec<Diagnostic>) -> Option<Parameter> {
    let id = sources.add("what is varied", text.to_owned(), false);
    match parameter(text, points, opened, id, sources, findings) {
        Ok(parameter) => Some(parameter),
        Err(finding) => {
            findings.extend(finding.map(|finding| *finding));
            None
        }
    }
}

/// A finding that ends the reading; `None` where it is among the findings already.
type Refused = Option<Box<Diagnostic>>;

fn refused(code: Code, span: Span, message: impl Into<String>, help: impl Into<String>) -> Refused {
    Some(Box::new(Diagnostic::new(code, span, message).help(help)))
}

const FORM: &str = "write NAME=LOW..HIGH with a unit: `glycol=1..3eq`, `temperature=60..100degC`";

fn parameter(
    text: &str,
    points: usize,
    opened: &Opened,
    id: FileId,
    sources: &Sources,
    findings: &mut Vec<Diagnostic>,
) -> Result<Parameter, Refused> {
    let whole = Span::new(id, 0..text.len());
    let Some((name, amount)) = text.rsplit_once('=') else {
        return Err(refused(Code::SyntaxExpected, whole, "this does not say between which figures something is varied", FORM));
    };
    let name_span = Span::new(id, 0..name.len());
    let name = name.trim().to_owned();
    if name.is_empty() {
        return Err(refused(Code::SyntaxExpected, name_span, "the name of what is varied stands before the `=`", FORM));
    }
    let place = place::find(&name, &opened.draft, name_span).map_err(Some)?;
    let begin = text.len() - amount.len();
    let line = line_of(id, begin..text.len(), sources, findings).ok_or(None)?;
    // Drops are varied as the volume that the procedure gives them.
    let line = without_drops(&line, opened.draft.about.drop.as_ref());
    let span = Span::new(id, begin..text.len());
    let ranges: Vec<(usize, &Measure)> = line
        .tokens
        .iter()
        .enumerate()
        .filter_map(|(at, token)| match &token.tok {
            Tok::Quantity(measure) if measure.high.is_some() => Some((at, measure)),
            _ => None,
        })
        .collect();
    let (at, measure, high) = match ranges.as_slice() {
        [(at, measure)] => (*at, *measure, measure.high.unwrap_or(f64::NAN)),
        [] => {
            let one = line.tokens.iter().any(|token| matches!(token.tok, Tok::Quantity(_)));
            let message = if one { "this is one figure, and nothing to vary" } else { "a range belongs behind the `=`" };
            return Err(refused(Code::SyntaxExpected, span, message, FORM));
        }
        _ => return Err(refused(Code::SyntaxExpected, span, "two ranges stand here, and a parameter has one", FORM)),
    };
    // A range may stand as an amount itself, so that it is judged as one: its unit, its kind, its order.
    let mut trial = opened.draft.clone();
    let mut found = Vec::new();
    place.put(&mut trial, &line.tokens, span.after(), &mut found).map_err(Some)?;
    if !found.is_empty() {
        findings.extend(found);
        return Err(None);
    }
    if !(measure.low.is_finite() && high.is_finite() && measure.low < high) {
        let message = format!("both ends of this range are {}, and nothing is varied between them", measure.low);
        return Err(refused(Code::OutOfRange, span, message, "write the smaller figure first and a greater one behind the dots"));
    }
    let count = place.is_count(&opened.draft);
    let values = if count { counted(measure.low, high, points) } else { spaced(measure.low, high, points) };
    if values.len() < 2 || !values.windows(2).all(|pair| matches!(pair, [one, next] if one < next)) {
        return Err(refused(
            Code::OutOfRange,
            span,
            format!("this range is too narrow for {points} points"),
            "widen it, or ask for fewer points with `--points`",
        ));
    }
    let words = |tokens: &[crate::syntax::Token]| {
        let written: Vec<String> = tokens.iter().map(|token| token.tok.written()).collect();
        written.join(" ")
    };
    let mut before = words(line.tokens.get(..at).unwrap_or(&[]));
    let behind = words(line.tokens.get(at + 1..).unwrap_or(&[]));
    // What stays when the batch changes goes on doing so.
    if before.is_empty() && place.amount(&opened.draft).is_some_and(|amount| amount.fixed) {
        FIXED.clone_into(&mut before);
    }
    let plain = behind.is_empty() && (before.is_empty() || before == FIXED);
    let unit = quantity::unit_of(measure).ok().flatten();
    let written = unit.as_ref().filter(|_| plain).and_then(|unit| as_written(&place, &opened.draft, unit));
    let unit = measure.unit.as_ref().map_or_else(String::new, |(unit, _)| unit.clone());
    Ok(Parameter { name, place, before, unit, behind, values, written, span: whole })
}

/// Whole numbers from one end to the other, at most as many as asked for.
fn counted(low: f64, high: f64, points: usize) -> Vec<f64> {
    let mut values: Vec<f64> = spaced(low, high, points).into_iter().map(f64::round).collect();
    values.dedup();
    values
}

/// The figure that the procedure has at a place, in that unit.
fn as_written(place: &Place, draft: &Draft, unit: &Unit) -> Option<f64> {
    let figure = match (place.amount(draft), place.arg(draft)) {
        (Some(amount), _) if !amount.enough => match amount.expr.as_ref()? {
            Expr::Figure(figure) => figure,
            _ => return None,
        },
        (None, Some(RawArg::Figure(figure))) => figure,
        _ => return None,
    };
    (figure.kind == unit.kind).then(|| unit.from_si(figure.middle()))
}

/// The tokens of a part of a text; `None` where they cannot be read, which has been reported.
fn line_of(id: FileId, part: std::ops::Range<usize>, sources: &Sources, findings: &mut Vec<Diagnostic>) -> Option<Line> {
    let (line, found) = parse_part(id, sources.get(id)?, part);
    let read = found.is_empty() && !line.broken;
    findings.extend(found);
    read.then_some(line)
}

/// Puts one point into a draft: each parameter's figure is written out and read like what stands in a file. The text is
/// added to the sources, so that findings point into it.
pub fn put(
    parameters: &[Parameter],
    values: &[f64],
    source: String,
    draft: &mut Draft,
    sources: &mut Sources,
    findings: &mut Vec<Diagnostic>,
) {
    let (mut text, mut amounts) = (String::new(), Vec::new());
    for (parameter, value) in parameters.iter().zip(values) {
        text.push_str(&format!("{} = ", parameter.name));
        let begin = text.len();
        text.push_str(&parameter.amount(*value));
        amounts.push(begin..text.len());
        text.push('\n');
    }
    let id = sources.add(source, text, false);
    for (parameter, part) in parameters.iter().zip(amounts) {
        let end = Span::new(id, part.end..part.end);
        let Some(line) = line_of(id, part, sources, findings) else { continue };
        if let Err(finding) = parameter.place.put(draft, &line.tokens, end, findings) {
            findings.push(*finding);
        }
    }
}
