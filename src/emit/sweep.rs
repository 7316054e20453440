//! A sweep as a table, in sentences and in JSON.

use std::collections::BTreeSet;

use schemars::JsonSchema;
use serde::Serialize;

use super::compare::costs;
use super::plot::trimmed;
use super::table::{Table, paragraph};
use super::words;
use crate::compare::Prospect;
use crate::diagnostics::Code;
use crate::kinds::significant;
use crate::matter::model;
use crate::sweep::best::{Best, End, FLAT, Figure};
use crate::sweep::{Parameter, Point, Swept};

/// Letters of a message that stand in a table; the document in JSON has it whole.
const SHORT: usize = 72;

/// A column of the table: its head, and its figure.
type Column = (&'static str, fn(&Prospect) -> Option<f64>);

const COLUMNS: [Column; 8] = [
    ("yield, %", |one| one.yield_percent),
    ("purity, %", |one| one.purity_percent),
    ("product, g", |one| one.product_g),
    ("water to take up, g", |one| Some(one.water_g)),
    ("drying agent, g", |one| Some(one.agent_g)),
    ("E factor, kg/kg", |one| one.e_factor),
    ("cost per kg", |one| Figure::Cost.of(one)),
    ("time in all, h", |one| Some(one.time.all_h)),
];

/// The figures of a parameter as they are written, to six digits, which is more than is measured out.
fn figure(value: f64) -> String {
    trimmed(&significant(value, 6))
}

fn cell(value: Option<f64>) -> String {
    value.map_or_else(|| "–".to_owned(), |value| significant(value, 3))
}

/// The values of a point in words: `glycol = 1.25 eq, carrier = 100 mL`.
fn place(parameters: &[Parameter], point: &Point) -> String {
    let said = parameters.iter().zip(&point.values).map(|(parameter, value)| {
        let rounded = figure(*value).parse().unwrap_or(*value);
        format!("{} = {}", parameter.name, parameter.amount(rounded))
    });
    said.collect::<Vec<_>>().join(", ")
}

fn short(message: &str) -> String {
    if message.chars().count() <= SHORT {
        return message.to_owned();
    }
    let cut: String = message.chars().take(SHORT).collect();
    // Whole words only.
    format!("{} …", cut.rsplit_once(' ').map_or(cut.as_str(), |(whole, _)| whole).trim_end_matches([',', ';', ':']))
}

/// The sweep in text: what is varied, a table, and what it comes to.
#[must_use]
pub fn text(swept: &Swept, best: &Best) -> String {
    let ranges = swept.parameters.iter().map(|parameter| {
        let (low, high) = (parameter.values.first().copied().unwrap_or(0.0), parameter.values.last().copied().unwrap_or(0.0));
        format!("{} from {} to {}", parameter.name, figure(low), parameter.amount(figure(high).parse().unwrap_or(high)))
    });
    let ranges: Vec<String> = ranges.collect();
    let mut out = format!("{}\n{}, {} points\n\n", swept.title, ranges.join("; "), swept.points.len());
    match swept.parameters.as_slice() {
        [first, second] => grid(swept, best, first, second, &mut out),
        _ => column(swept, best, &mut out),
    }
    out.push('\n');
    for sentence in sentences(swept, best) {
        out.push_str(&paragraph(&sentence));
    }
    let all: Vec<Prospect> = swept.prospects().cloned().collect();
    costs(&all, &mut out);
    out
}

/// One parameter: a row for each point.
fn column(swept: &Swept, best: &Best, out: &mut String) {
    let head = swept.parameters.first().map(Parameter::heading).unwrap_or_default();
    // What no point has is no column.
    let known =
        |of: fn(&Prospect) -> Option<f64>| swept.points.iter().filter_map(|point| point.outcome.as_ref().ok()).any(|one| of(one).is_some());
    let columns: Vec<Column> = COLUMNS.into_iter().filter(|(_, of)| known(*of)).collect();
    let paid = Figure::Cost.unit(swept);
    let heads = columns.iter().map(|(name, _)| if name.starts_with("cost") { format!("{name}, {paid}") } else { (*name).to_owned() });
    let mut table = Table::new(std::iter::once(head).chain(heads).chain([String::new()]), &[columns.len() + 1]);
    let mut row = |name: String, point: &Point, note: &str| {
        let figures = columns.iter().map(|(_, of)| cell(point.outcome.as_ref().ok().and_then(of)));
        let note = match &point.outcome {
            Ok(_) => note.to_owned(),
            Err(fault) => format!("{}: {}", fault.code.text(), short(&fault.message)),
        };
        table.row(std::iter::once(name).chain(figures).chain([note]));
    };
    let written = swept.parameters.first().and_then(|parameter| parameter.written);
    let written = written.map_or_else(|| "as written".to_owned(), |value| format!("as written, {}", figure(value)));
    row(written, &swept.written, "");
    for (at, point) in swept.points.iter().enumerate() {
        let name = point.values.first().map_or_else(String::new, |value| figure(*value));
        row(name, point, if best.point == Some(at) { "best" } else { "" });
    }
    out.push_str(&table.text());
}

/// Two parameters: the figure that counts, the first parameter's in rows and the second's in columns.
fn grid(swept: &Swept, best: &Best, first: &Parameter, second: &Parameter, out: &mut String) {
    out.push_str(&format!("{}, {}; in columns: {}\n\n", words::capital(best.figure.what()), best.unit, second.heading()));
    let mut faults: Vec<(Code, &str, usize)> = Vec::new();
    let mut table = Table::new(std::iter::once(first.heading()).chain(second.values.iter().map(|value| figure(*value))), &[]);
    for (number, points) in swept.points.chunks(second.values.len().max(1)).enumerate() {
        let name = first.values.get(number).map_or_else(String::new, |value| figure(*value));
        let mut cells = vec![name];
        for (column, point) in points.iter().enumerate() {
            cells.push(match &point.outcome {
                Ok(one) => {
                    let is_best = best.point == Some(number * second.values.len() + column);
                    format!("{}{}", cell(best.figure.of(one)), if is_best { "*" } else { "" })
                }
                Err(fault) => {
                    let known = faults.iter().position(|(code, ..)| *code == fault.code);
                    let at = known.unwrap_or_else(|| {
                        faults.push((fault.code, &fault.message, 0));
                        faults.len() - 1
                    });
                    if let Some((_, _, count)) = faults.get_mut(at) {
                        *count += 1;
                    }
                    format!("[{}]", at + 1)
                }
            });
        }
        table.row(cells);
    }
    out.push_str(&table.text());
    if best.point.is_some() {
        out.push_str("\n  *  best\n");
    }
    for (at, (code, message, count)) in faults.iter().enumerate() {
        let at_first = if *count > 1 { format!(" (at {count} points; so the first)") } else { String::new() };
        out.push_str(&format!("  [{}]  {}: {}{at_first}\n", at + 1, code.text(), short(message)));
    }
}

/// What a sweep comes to, in sentences.
#[must_use]
pub fn sentences(swept: &Swept, best: &Best) -> Vec<String> {
    let mut said = Vec::new();
    idle(swept, best, &mut said);
    match best.point.and_then(|at| swept.points.get(at)) {
        Some(point) => found(swept, best, point, &mut said),
        None if best.idle.iter().all(|idle| *idle) => {}
        None => said.push(format!("The {} is known at no point, so that none is the best.", best.figure.what())),
    }
    failures(swept, &mut said);
    warnings(swept, &mut said);
    partial(swept, &mut said);
    said.push(models(swept));
    said.push("These are predictions, and as good as their models: a difference of yield below 5 % says little.".to_owned());
    said
}

/// What the figure does not depend on, and why.
fn idle(swept: &Swept, best: &Best, said: &mut Vec<String>) {
    for (parameter, _) in swept.parameters.iter().zip(&best.idle).filter(|(_, idle)| **idle) {
        let mut sentence = format!("The predicted {} does not depend on {} at all.", best.figure.what(), parameter.name);
        if best.figure == Figure::Yield || best.figure == Figure::Product {
            for known in swept.ran.iter().filter_map(|name| model::find(name)) {
                sentence.push_str(&format!(
                    " The model by which the reaction runs, `{}`, assumes: {}",
                    known.name,
                    known.assumes.join(" ")
                ));
            }
        }
        said.push(sentence);
    }
}

/// The best point against the procedure as written, the ends of the ranges, and what is nearly as good.
fn found(swept: &Swept, best: &Best, point: &Point, said: &mut Vec<String>) {
    let figure_of = |point: &Point| point.outcome.as_ref().ok().and_then(|one| best.figure.of(one));
    let Some(most) = figure_of(point) else { return };
    let (what, unit) = (best.figure.what(), best.unit.as_str());
    let shown = |value: f64| format!("{} {unit}", significant(value, 3));
    let superlative = if best.figure.more_is_better() { "greatest" } else { "least" };
    let begin = format!("The {superlative} {what} is that at {}: {}", place(&swept.parameters, point), shown(most));
    said.push(match (&swept.written.outcome, figure_of(&swept.written)) {
        (_, Some(written)) => format!("{begin}; {}.", against(best, most, written)),
        (Err(fault), _) => {
            format!("{begin}. The procedure as written fails: {}: {}.", fault.code.text(), fault.message.trim_end_matches('.'))
        }
        (Ok(_), None) => format!("{begin}."),
    });
    for (parameter, end) in swept.parameters.iter().zip(&best.end) {
        let Some(end) = end else { continue };
        let (word, value) = match end {
            End::Lower => ("lower", parameter.values.first()),
            End::Upper => ("upper", parameter.values.last()),
        };
        said.push(format!(
            "That is the {word} end of the range of {}: what lies beyond {} may be better still, so widen the range.",
            parameter.name,
            parameter.amount(value.copied().unwrap_or(f64::NAN))
        ));
    }
    flat(swept, best, said);
}

/// `5.1 percentage points more than the 88.1 % of the procedure as written`
fn against(best: &Best, most: f64, written: f64) -> String {
    let figure = best.figure;
    let of = format!("the {} {} of the procedure as written", significant(written, 3), best.unit);
    let difference = most - written;
    if difference.abs() <= 1e-9 * written.abs() {
        return format!("the procedure as written has as {}", if figure.more_is_better() { "much" } else { "little" });
    }
    let word = if difference > 0.0 { "more" } else { "less" };
    match figure {
        Figure::Yield => format!("{} percentage points {word} than {of}", significant(difference.abs(), 2)),
        _ if written == 0.0 => format!("{word} than {of}"),
        _ => format!("{} % {word} than {of}", significant(100.0 * difference.abs() / written.abs(), 2)),
    }
}

/// Where these points are: points of one parameter that lie side by side are told by the ends of the stretch.
fn where_at(swept: &Swept, points: &[usize]) -> String {
    let (count, all) = (points.len(), swept.points.len());
    if let ([parameter], Some(first), Some(last)) = (swept.parameters.as_slice(), points.first(), points.last())
        && last - first + 1 == count
        && let (Some(low), Some(high)) = (parameter.values.get(*first), parameter.values.get(*last))
    {
        let high = parameter.amount(figure(*high).parse().unwrap_or(*high));
        return if count == 1 { format!("at {high}") } else { format!("from {} to {high}", figure(*low)) };
    }
    format!("at {count} of the {all} points")
}

/// The places of the points of which something holds.
fn of_which(swept: &Swept, holds: impl Fn(&Point) -> bool) -> Vec<usize> {
    swept.points.iter().enumerate().filter(|(_, point)| holds(point)).map(|(at, _)| at).collect()
}

/// Where the gain is small: the points that come near the best, and the thriftiest of them.
fn flat(swept: &Swept, best: &Best, said: &mut Vec<String>) {
    let share = trimmed(&significant(100.0 * FLAT, 2));
    let count = best.flat.len();
    if count < 2 {
        return said.push(format!("No other point comes within {share} % of it."));
    }
    let places = words::capital(&where_at(swept, &best.flat));
    let mut sentence = format!("{places} the {} stays within {share} % of the best (our own figure)", best.figure.what());
    if let Some(point) = best.thrifty.and_then(|at| swept.points.get(at))
        && let Ok(one) = &point.outcome
        && let (Some(own), Some(other)) = (best.figure.of(one), best.beside.of(one))
    {
        sentence.push_str(&format!(
            "; of these points {} has the {} {}: {} {}, at {} {}",
            place(&swept.parameters, point),
            if best.beside.more_is_better() { "greatest" } else { "least" },
            best.beside.what(),
            significant(other, 3),
            best.beside.unit(swept),
            significant(own, 3),
            best.unit
        ));
    }
    said.push(sentence + ".");
}

fn failures(swept: &Swept, said: &mut Vec<String>) {
    let failed = swept.points.iter().filter(|point| point.outcome.is_err()).count();
    if failed > 0 {
        said.push(format!("Nothing is predicted at {failed} of the {} points, for what is said there.", swept.points.len()));
    }
}

/// Warnings that the procedure as written does not have.
fn warnings(swept: &Swept, said: &mut Vec<String>) {
    let codes: BTreeSet<Code> = swept.points.iter().flat_map(|point| &point.warnings).copied().collect();
    for code in codes.difference(&swept.written.warnings) {
        let found = where_at(swept, &of_which(swept, |point| point.warnings.contains(code)));
        let title = words::uncapital(code.title());
        said.push(format!("{} comes a warning that is not found as written: `{}`, {title}.", words::capital(&found), code.text()));
    }
}

/// Models that serve at some points only: between those and the others a figure may jump.
fn partial(swept: &Swept, said: &mut Vec<String>) {
    let known = swept.prospects().count();
    for name in &swept.models {
        let serving = of_which(swept, |point| point.models.contains(name));
        if serving.len() < known {
            let (name, at) = (short_name(name), where_at(swept, &serving));
            said.push(format!("The model `{name}` serves {at} only: where it begins or ends to, a figure may jump."));
        }
    }
}

/// What the predictions rest on.
fn models(swept: &Swept) -> String {
    let told = |name: &str| match model::find(name) {
        Some(known) => format!("{} (`{}`; {})", known.what, known.name, known.band.split(';').next().unwrap_or(known.band)),
        None => name.to_owned(),
    };
    let ran: Vec<String> = swept.ran.iter().map(|name| told(name)).collect();
    let others = swept.models.iter().filter(|name| !swept.ran.contains(*name)).filter_map(|name| model::find(name));
    let others: Vec<String> = others.map(|known| format!("`{}`", known.name)).collect();
    let mut sentence = match ran.as_slice() {
        [] => "Nothing reacts in this procedure.".to_owned(),
        ran => format!("The reaction runs by: {}.", ran.join("; ")),
    };
    if !others.is_empty() {
        sentence.push_str(&format!(" Other models: {}.", words::list(&others)));
    }
    sentence + " `scruple explain NAME` says what each assumes."
}

/// A sweep for other programs.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Told {
    /// `scruple sweep`.
    pub format: String,
    /// The procedure's name.
    pub procedure: String,
    /// Its title.
    pub title: String,
    /// What was varied.
    pub parameters: Vec<ToldParameter>,
    /// The figure by which points are compared, with its unit.
    pub figure: String,
    /// The procedure as written.
    pub as_written: ToldPoint,
    /// The points: the first parameter's figures one after the other, and for each of them the second's.
    pub points: Vec<ToldPoint>,
    /// The number of the best point, from 0; null where none is better than another.
    pub best: Option<usize>,
    /// Numbers of the points within 1 % of it.
    pub flat: Vec<usize>,
    /// Another figure, by which those are told apart: cost or waste where the yield is the aim, else the yield.
    pub beside: String,
    /// The number of that one of them which is best by that figure.
    pub thrifty: Option<usize>,
    /// What it comes to, in sentences.
    pub says: Vec<String>,
    /// Names of the models that the predictions rest on.
    pub models: Vec<String>,
}

/// What was varied.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ToldParameter {
    /// Its name as asked.
    pub name: String,
    /// The unit of its figures; empty for a plain number.
    pub unit: String,
    /// Its figures.
    pub values: Vec<f64>,
    /// What the procedure has, in that unit; null where that is no plain figure of the same kind.
    pub as_written: Option<f64>,
    /// Whether the figure that counts is the same whatever it is.
    pub without_effect: bool,
    /// `lower` or `upper` where the best point lies at that end of its range.
    pub best_at_end: Option<String>,
}

/// A point.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ToldPoint {
    /// The parameters' figures; none for the procedure as written.
    pub values: Vec<f64>,
    /// What is written in the procedure at each.
    pub written: Vec<String>,
    /// What it comes to; null where it fails.
    pub prospect: Option<Prospect>,
    /// The first error; null where there is none.
    pub fault: Option<ToldFault>,
    /// Codes of warnings.
    pub warnings: Vec<String>,
    /// Names of the models that its prediction rests on.
    pub models: Vec<String>,
}

/// Why nothing is predicted.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ToldFault {
    /// The code of the finding.
    pub code: String,
    /// What it says.
    pub message: String,
}

/// The word by which `scruple explain` finds a model, where it has a page.
fn short_name(model: &str) -> String {
    model::find(model).map_or(model, |known| known.name).to_owned()
}

fn told_point(parameters: &[Parameter], point: &Point) -> ToldPoint {
    ToldPoint {
        values: point.values.clone(),
        written: parameters.iter().zip(&point.values).map(|(parameter, value)| parameter.amount(*value)).collect(),
        prospect: point.outcome.as_ref().ok().cloned(),
        fault: point.outcome.as_ref().err().map(|fault| ToldFault { code: fault.code.text().to_owned(), message: fault.message.clone() }),
        warnings: point.warnings.iter().map(|code| code.text().to_owned()).collect(),
        models: point.models.iter().map(|name| short_name(name)).collect(),
    }
}

/// A sweep as figures.
#[must_use]
pub fn told(swept: &Swept, best: &Best) -> Told {
    let parameters = swept.parameters.iter().zip(&best.idle).zip(&best.end).map(|((parameter, idle), end)| ToldParameter {
        name: parameter.name.clone(),
        unit: parameter.unit.clone(),
        values: parameter.values.clone(),
        as_written: parameter.written,
        without_effect: *idle,
        best_at_end: end.map(|end| if end == End::Lower { "lower" } else { "upper" }.to_owned()),
    });
    Told {
        format: "scruple sweep".to_owned(),
        procedure: swept.procedure.clone(),
        title: swept.title.clone(),
        parameters: parameters.collect(),
        figure: format!("{}, {}", best.figure.what(), best.unit),
        beside: format!("{}, {}", best.beside.what(), best.beside.unit(swept)),
        as_written: told_point(&[], &swept.written),
        points: swept.points.iter().map(|point| told_point(&swept.parameters, point)).collect(),
        best: best.point,
        flat: best.flat.clone(),
        thrifty: best.thrifty,
        says: sentences(swept, best),
        models: swept.models.iter().map(|name| short_name(name)).collect(),
    }
}

/// A sweep in JSON.
#[must_use]
pub fn json(swept: &Swept, best: &Best) -> String {
    serde_json::to_string_pretty(&told(swept, best)).map_or_else(|_| String::new(), |text| text + "\n")
}
