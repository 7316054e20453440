//! A course in time: the sentences of the sheet, the figures of the plan, a table, and a plot.

use schemars::JsonSchema;
use serde::Serialize;

use super::plot::{self, Axis, Line, Plot};
use super::words::{self, finite};
use crate::chemistry::course::dried::Row;
use crate::chemistry::course::trap::Leaves;
use crate::kinds::{Kind, show, show_duration, significant};
use crate::operations::course::{self, Course, Limit, Way};
use crate::outcome::Outcome;
use crate::resolve::declare::WATER_MOLAR_MASS;
use crate::resolve::procedure::Entry;

/// How far hours and cycles may be off. Our own figure: boil-up and the quickness of a bed are assumed.
const TIMES_BAND: &str = "times to a factor of two, since boil-up and how quickly a bed takes up water are assumed";

/// Share of what has reacted by which it must swing with the filling of the extractor to be told. Our own figure.
const SWING: f64 = 0.02;

/// Rows of a table.
const ROWS: usize = 24;

/// Where a statement stands: the number of its step, from 1, and the heading of that.
#[must_use]
pub fn place(outcome: &Outcome, statement: usize) -> (usize, String) {
    let within = |entry: &Entry| matches!(entry, Entry::Statement(number) if *number == statement);
    let found = outcome.procedure.steps.iter().position(|step| step.entries.iter().any(within));
    let title = found.and_then(|at| outcome.procedure.steps.get(at)).and_then(|step| step.title.clone());
    (found.map_or(0, |at| at + 1), title.unwrap_or_default())
}

fn hours(seconds: f64) -> String {
    let rounded = if seconds > 7200.0 { (seconds / 900.0).round() * 900.0 } else { (seconds / 60.0).round().max(1.0) * 60.0 };
    show_duration(rounded)
}

fn water(moles: f64) -> String {
    show(moles * WATER_MOLAR_MASS, Kind::Mass, 2)
}

/// Whether a reaction of the course has run in a statement before, so that shares are of what was left of it.
fn went_before(outcome: &Outcome, course: &Course) -> bool {
    let runs = &outcome.evaluation_of(course.statement).runs;
    runs.iter().any(|run| run.statement < course.statement && course.begins.reactions.contains(&run.reaction))
}

/// What the course says about how far it gets: the first reaction.
fn conversion(outcome: &Outcome, course: &Course, row: &Row) -> Option<String> {
    let part = course.parts.first()?;
    let share = course.conversion(row, 0)?;
    let left = if went_before(outcome, course) { " that was left" } else { "" };
    let name = outcome.defs.substance(part.limiting?).display();
    Some(format!("{} of the {name}{left} has reacted", words::percent(share.clamp(0.0, 1.0))))
}

/// What holds the work back and what helps, in a sentence.
fn limit(outcome: &Outcome, course: &Course) -> String {
    let bed = match &course.begins.way {
        Way::Bed(bed) => words::plain(&bed.name),
        _ => String::new(),
    };
    let display = |sub| outcome.defs.substance(sub).display();
    let more = |what: &str| match course.carrier {
        Some((sub, _)) => format!("{what}: take more {}", display(sub)),
        None => what.to_owned(),
    };
    match course.limit {
        Limit::Done => match &course.begins.way {
            Way::Trap(..) => "Then no more water comes".to_owned(),
            _ => "Then it is at its end".to_owned(),
        },
        Limit::Bed => {
            format!("The limit is the {bed}: it is full with {}, and what comes later runs back", show(course.capacity, Kind::Mass, 2))
        }
        Limit::Time => "The limit is the time".to_owned(),
        Limit::Vapour => "The limit is the vapour: it holds a smaller share of water than the flask".to_owned(),
        Limit::Rate => "The limit is the reaction itself: boiling faster gains nothing".to_owned(),
        Limit::Flask => more("The flask runs dry before the liquid comes back"),
        Limit::OneLiquid => {
            let little = if course.parts_in_trap { "hardly any water" } else { "no water" };
            format!("What condenses is one liquid: {little} parts from it")
        }
    }
}

/// Hours to 90 and 99 % of what can be reached, in words.
fn to_shares(course: &Course) -> String {
    let [to_90, _, to_99] = course.hours;
    let followed = course.rows.last().map_or(0.0, |row| row.time);
    match (to_90, to_99) {
        (Some(one), Some(other)) if hours(one) == hours(other) => format!("99 % after {}", hours(other)),
        (Some(one), Some(other)) => format!("90 % after {}, 99 % after {}", hours(one), hours(other)),
        (Some(one), None) => format!("90 % after {}, and not 99 % within {}", hours(one), hours(followed)),
        _ => format!("not 90 % within {}", hours(followed)),
    }
}

/// Where it boils, at first and at the stated time.
fn boils(course: &Course) -> String {
    let first = course.rows.first().map_or(course.at_time.t, |row| row.t);
    let last = course.at_time.t;
    if last > first + 2.0 {
        format!("It boils at {:.0} °C while water comes over, and rises to about {:.0} °C as it goes.", first - 273.15, last - 273.15)
    } else {
        format!("It boils at about {:.0} °C.", first - 273.15)
    }
}

/// How far what has reacted swings while the extractor fills, where that is more than a hair.
fn swings(course: &Course) -> Option<String> {
    let most = course.parts.first()?.most;
    let (least, greatest) = course.span.map(|(least, greatest)| (least / most, greatest / most))?;
    (most > 0.0 && greatest - least > SWING).then(|| {
        format!(
            "That is the average over a filling of the extractor, in which it goes from {} to {} and back: the more of the liquid stands around the bed when the boiling ends, the better.",
            words::percent(least.clamp(0.0, 1.0)),
            words::percent(greatest.clamp(0.0, 1.0))
        )
    })
}

/// What the sheet says of a course: where it boils, what comes over and how fast, what holds it back.
#[must_use]
pub fn sentences(outcome: &Outcome, course: &Course) -> Vec<String> {
    let row = &course.at_time;
    let drops = significant(course.drips / 5e-8, 2);
    let pace = match course.begins.power {
        Some(watts) => format!("With the heater at {} ({drops} drops a second)", show(watts, Kind::Power, 2)),
        None => format!("At {drops} drops a second"),
    };
    let time = show_duration(course.begins.time);
    let reacted = conversion(outcome, course, row).map_or_else(String::new, |said| format!(", and {said}"));
    let reach = show(course.reach, Kind::Mass, 2);
    let mut said = Vec::new();
    if !course.begins.stated {
        said.push(format!("No time is stated: it was followed for {time}."));
    }
    match &course.begins.way {
        Way::Bed(bed) => {
            said.push(boils(course));
            let name = words::plain(&bed.name);
            let runs = match bed.siphon {
                Some(_) if row.count >= 2.0 => {
                    format!("the siphon runs over every {}, {} times in all", hours(row.time / row.count), row.count.floor())
                }
                Some(_) if row.count >= 1.0 => "the siphon runs over once".to_owned(),
                Some(_) => "the siphon does not run over".to_owned(),
                None => "the condensate runs through and back".to_owned(),
            };
            said.push(format!("{pace} {runs}: after {time} the {name} holds {} of water{reacted}.", water(row.taken)));
            said.extend(swings(course));
            said.push(format!("Of the {reach} that it can take up: {}.", to_shares(course)));
            let acids: Vec<String> = course
                .acids
                .iter()
                .filter(|(_, mass)| *mass > 1e-5)
                .map(|(sub, mass)| format!("{} of {}", show(*mass, Kind::Mass, 2), outcome.defs.substance(*sub).display()))
                .collect();
            if !acids.is_empty() {
                said.push(format!("Besides water about {} goes over the {name} with the vapour.", words::list(&acids)));
            }
        }
        Way::Trap(size, _, leaves) => {
            said.push(boils(course));
            let volume = show(row.count, Kind::Volume, 2);
            let all = water(row.taken);
            if course.parts_in_trap {
                let layer = if *leaves == Leaves::Watery { "stand in the trap's water layer" } else { "are drained" };
                let back = match leaves {
                    Leaves::Watery => "",
                    Leaves::Upper => "; the lower layer runs back",
                    Leaves::Lower => "; the upper layer runs back",
                };
                said.push(format!("{pace}, after {time} {volume} {layer}, with {all} of water in it{reacted}{back}."));
                said.push(format!("Of the {reach} of water that comes: {}.", to_shares(course)));
            }
            if *leaves == Leaves::Watery && course.parts_in_trap {
                said.push(
                    "The liquid above it is reckoned to come from the flask: a trap that is filled beforehand needs that much more."
                        .to_owned(),
                );
            }
            // A trap whose size is stated stays as it is, whatever the batch.
            let holds = size.unwrap_or(course.trap);
            if *leaves == Leaves::Watery && row.count > holds {
                said.push(format!("The trap holds {}: drain it in time, into the same vessel.", show(holds, Kind::Volume, 3)));
            } else if size.is_none() && *leaves == Leaves::Watery {
                said.push(format!("No trap is named: one of {} is reckoned with.", show(course.trap, Kind::Volume, 3)));
            }
            if let Some((sub, share)) = course.carrier
                && share < 0.1
            {
                let name = outcome.defs.substance(sub).display();
                let little = if share < 0.01 { "Hardly any".to_owned() } else { format!("Only {}", words::percent(share)) };
                said.push(format!(
                    "{little} of the {name} is left in the flask while the trap is full: more of it is needed to carry the water."
                ));
            }
        }
        Way::Nothing(_) => {
            let what = conversion(outcome, course, row).unwrap_or_default();
            said.push(format!("By its rate, after {time} {what}; of what the equilibrium allows: {}.", to_shares(course)));
        }
    }
    said.push(format!("{}.", limit(outcome, course)));
    if !matches!(course.begins.way, Way::Nothing(_)) {
        let least = if course.parts.len() > course.rated {
            "These are the least times, since no rate of the reaction is stated, and good to a factor of two."
        } else {
            "Times are good to a factor of two."
        };
        said.push(least.to_owned());
    }
    said
}

/// A course for other programs.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Told {
    /// `dried return`, `water trap`, `trap that drains a layer` or `reaction with a rate`.
    pub what: String,
    /// The name of the model of the vapour.
    pub model: String,
    /// What the model is.
    pub model_is: String,
    /// What it assumes.
    pub assumes: Vec<String>,
    /// How far it was found to be off, and how far times are.
    pub band: String,
    /// Time that is stated, or for which it was followed where none is, s.
    pub stated_s: f64,
    /// Condensate, mL/min.
    pub boil_up_ml_min: Option<f64>,
    /// Heating to the boil with the heater that is stated, as the statement's `warming` has it, s.
    pub heating_s: Option<f64>,
    /// Water taken away at the stated time, g.
    pub water_taken_g: Option<f64>,
    /// Water in the liquid around the bed, or beside what has parted in the trap, at the stated time, g.
    pub water_beside_g: Option<f64>,
    /// Water that can be taken away in any time, g.
    pub water_in_reach_g: Option<f64>,
    /// Water in the flask at the stated time, g.
    pub water_left_g: Option<f64>,
    /// What the bed holds, g; null without a bed.
    pub capacity_g: Option<f64>,
    /// How often the siphon has run over by the stated time; null without one.
    pub cycles: Option<f64>,
    /// What is read in the trap at the stated time, mL; null without one.
    pub reading_ml: Option<f64>,
    /// Time to 90 % of what can be reached, s; null where it was not met.
    pub to_90_percent_s: Option<f64>,
    /// Time to 95 %, s.
    pub to_95_percent_s: Option<f64>,
    /// Time to 99 %, s.
    pub to_99_percent_s: Option<f64>,
    /// Share of the limiting reactant that has reacted at the stated time, by reaction.
    pub conversion: std::collections::BTreeMap<String, f64>,
    /// The least and the greatest such share of the first reaction during the filling of the extractor around the stated
    /// time, over which the figures are averaged; null where nothing is averaged.
    pub conversion_swings: Option<(f64, f64)>,
    /// `equilibrium` (what can be reached is reached), `bed`, `time`, `vapour`, `rate`, `flask` or `one_liquid`.
    pub limit: String,
    /// Least liquid in the flask, mL.
    pub least_in_flask_ml: Option<f64>,
    /// Acids that go over to the bed, g.
    pub acids_g: std::collections::BTreeMap<String, f64>,
}

/// A moment of a course for other programs.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Moment {
    /// s from the first drop.
    pub time_s: f64,
    /// °C in the flask.
    #[serde(rename = "temperature_C")]
    pub temperature_c: f64,
    /// Liquid in the flask, mL.
    pub flask_ml: f64,
    /// Water in the flask, g.
    pub water_left_g: f64,
    /// Water taken away, g.
    pub water_taken_g: f64,
    /// Cycles, or mL read in the trap.
    pub count: f64,
    /// Shares of the limiting reactants that have reacted.
    pub conversion: Vec<f64>,
}

/// A course as figures.
#[must_use]
pub fn told(outcome: &Outcome, course: &Course) -> Told {
    let row = &course.at_time;
    let is_bed = matches!(course.begins.way, Way::Bed(..));
    let has_siphon = matches!(&course.begins.way, Way::Bed(bed) if bed.siphon.is_some());
    let is_trap = matches!(course.begins.way, Way::Trap(..));
    let carries = is_bed || is_trap;
    let grams = |moles: f64| finite(moles * WATER_MOLAR_MASS * 1e3);
    let of_water =
        |masses: &crate::matter::portion::Masses| outcome.defs.find("water").and_then(|water| masses.get(&water)).copied().unwrap_or(0.0);
    let beside = finite(of_water(&course.stands.apart) * 1e3);
    let names = |at: usize| course.parts.get(at).map(|part| part.name.clone());
    let warming = outcome.evaluation.records.get(&course.statement).and_then(|record| record.warming.as_ref());
    let heating = warming.filter(|warming| warming.stated).and_then(|warming| warming.time);
    let [to_90, to_95, to_99] = course.hours.map(|time| time.and_then(finite));
    Told {
        what: course.what().to_owned(),
        model: course.model.name.to_owned(),
        model_is: course.model.what.to_owned(),
        assumes: course.said.iter().cloned().chain(course.model.assumes.iter().map(|text| (*text).to_owned())).collect(),
        band: format!("{}; {TIMES_BAND}", crate::matter::model::band(course.model, &course.said)),
        stated_s: course.begins.time,
        boil_up_ml_min: finite(course.drips * 6e7).filter(|_| carries),
        heating_s: heating.and_then(finite).filter(|_| carries),
        water_taken_g: grams(row.taken).filter(|_| carries),
        water_beside_g: beside.filter(|_| carries),
        water_in_reach_g: finite(course.reach * 1e3).filter(|_| carries),
        water_left_g: grams(row.water),
        capacity_g: finite(course.capacity * 1e3).filter(|_| is_bed),
        cycles: finite(row.count).filter(|_| has_siphon),
        reading_ml: finite(row.count * 1e6).filter(|_| is_trap),
        to_90_percent_s: to_90,
        to_95_percent_s: to_95,
        to_99_percent_s: to_99,
        conversion: (0..course.parts.len()).filter_map(|at| Some((names(at)?, finite(course.conversion(row, at)?)?))).collect(),
        conversion_swings: course.parts.first().filter(|part| part.most > 0.0).and_then(|part| {
            let (least, greatest) = course.span?;
            Some((finite(least / part.most)?, finite(greatest / part.most)?))
        }),
        limit: course.limit.word().to_owned(),
        least_in_flask_ml: finite(course.least * 1e6).filter(|_| carries),
        acids_g: course
            .acids
            .iter()
            .filter_map(|(sub, mass)| Some((outcome.defs.substance(*sub).name.clone(), finite(mass * 1e3)?)))
            .collect(),
    }
}

/// Whether the table shows what stands each time that the siphon is about to run over.
fn by_cycles(course: &Course) -> bool {
    matches!(&course.begins.way, Way::Bed(bed) if bed.siphon.is_some()) && course.rows.last().is_some_and(|row| row.count >= 2.0)
}

/// Rows of the table: evenly over the time, or over an extractor each when the siphon is about to run over, since what
/// lies between goes up and down.
fn shown(course: &Course) -> Vec<Row> {
    if !by_cycles(course) {
        return thinned(course, ROWS);
    }
    let runs = course.rows.iter().zip(course.rows.iter().skip(1)).filter(|(before, row)| row.count > before.count).map(|(row, _)| row);
    let first = course.rows.first().into_iter();
    let ends: Vec<&Row> = first.chain(runs).collect();
    let step = ends.len().div_ceil(ROWS).max(1);
    let mut rows: Vec<Row> = ends.iter().step_by(step).map(|row| Row::clone(row)).collect();
    if let Some(last) = ends.last().filter(|last| rows.last().is_none_or(|row| row.time < last.time)) {
        rows.push(Row::clone(last));
    }
    rows
}

/// So many rows, evenly over the time.
fn thinned(course: &Course, rows: usize) -> Vec<Row> {
    let end = course.rows.last().map_or(0.0, |row| row.time).max(1e-9);
    (0..=rows).map(|at| course::at(&course.rows, end * at as f64 / rows.max(1) as f64)).collect()
}

fn moment(course: &Course, row: &Row) -> Moment {
    let count = if matches!(course.begins.way, Way::Trap(..)) { row.count * 1e6 } else { row.count.floor() };
    Moment {
        time_s: row.time,
        temperature_c: row.t - 273.15,
        flask_ml: row.volume * 1e6,
        water_left_g: row.water * WATER_MOLAR_MASS * 1e3,
        water_taken_g: row.taken * WATER_MOLAR_MASS * 1e3,
        count,
        conversion: (0..course.parts.len()).filter_map(|at| course.conversion(row, at)).collect(),
    }
}

/// A course in JSON: where it stands, its figures, and moments of it.
#[must_use]
pub fn json(outcome: &Outcome, course: &Course) -> String {
    let (step, title) = place(outcome, course.statement);
    let moments: Vec<Moment> = thinned(course, 60).iter().map(|row| moment(course, row)).collect();
    let value = serde_json::json!({
        "format": "scruple course",
        "procedure": outcome.procedure.name,
        "step": step,
        "title": title,
        "course": told(outcome, course),
        "moments": moments,
    });
    serde_json::to_string_pretty(&value).map_or_else(|_| String::new(), |text| text + "\n")
}

/// What a row of the table says besides the time.
fn cells(moment: &Moment, course: &Course, carries: bool) -> Vec<String> {
    let mut cells = vec![format!("{:.1}", moment.temperature_c), format!("{:.1}", moment.flask_ml), format!("{:.2}", moment.water_left_g)];
    if carries {
        let digits = if matches!(course.begins.way, Way::Trap(..)) { 2 } else { 0 };
        cells.extend([format!("{:.2}", moment.water_taken_g), format!("{:.digits$}", moment.count)]);
    }
    cells.extend(moment.conversion.iter().map(|share| format!("{:.1}", share * 100.0)));
    cells
}

/// A course as a table, with what it says.
#[must_use]
pub fn text(outcome: &Outcome, course: &Course) -> String {
    let (step, title) = place(outcome, course.statement);
    let mut out = format!(
        "{}: {}, step {step}{}\n\n",
        outcome.procedure.title,
        course.what(),
        if title.is_empty() { String::new() } else { format!(" \"{title}\"") }
    );
    let (taken, count) = match course.begins.way {
        Way::Bed(..) => ("on the bed", "cycles"),
        Way::Trap(..) => ("parted", "read, mL"),
        Way::Nothing(_) => ("", ""),
    };
    let carries = !taken.is_empty();
    let mut head = vec!["time".to_owned(), "°C".to_owned(), "flask, mL".to_owned(), "water in it, g".to_owned()];
    if carries {
        head.extend([format!("{taken}, g"), count.to_owned()]);
    }
    let of = if went_before(outcome, course) { " of what was left" } else { "" };
    head.extend(course.parts.iter().map(|part| format!("{}, %{of}", words::plain(&part.name))));
    let mut table = super::table::Table::new(head, &[]);
    let ends = course.rows.last().map_or(0.0, |row| row.time);
    let shown = shown(course);
    // As many digits as tell one row from the next.
    let apart = shown.iter().zip(shown.iter().skip(1)).map(|(row, next)| next.time - row.time).fold(f64::INFINITY, f64::min);
    let digits = if apart >= 60.0 { 0 } else { 1 + usize::from(apart < 6.0) };
    let clock = |time: f64| if ends < 7200.0 { format!("{:.digits$} min", time / 60.0) } else { format!("{:.2} h", time / 3600.0) };
    let mut rows: Vec<(f64, Vec<String>)> = shown.iter().map(|row| (row.time, cells(&moment(course, row), course, carries))).collect();
    let all = rows.len();
    while matches!(rows.as_slice(), [.., (_, before), (_, last)] if before == last) {
        rows.pop();
    }
    let stays = rows.len() < all;
    for (time, cells) in rows {
        table.row([vec![clock(time)], cells].concat());
    }
    out.push_str(&table.text());
    if by_cycles(course) {
        out.push_str("Each row but the first: just before the siphon runs over.\n");
    }
    if stays {
        out.push_str("So it stays.\n");
    }
    out.push('\n');
    for sentence in sentences(outcome, course) {
        out.push_str(&sentence);
        out.push('\n');
    }
    for said in &course.said {
        out.push_str(&words::capital(&words::stop(said)));
        out.push('\n');
    }
    out.push_str(&format!("Model: {} ({}).\n", course.model.what, crate::matter::model::band(course.model, &course.said)));
    out
}

/// A course as a drawing that stands alone: grams of water on the left, shares that have reacted on the right.
#[must_use]
pub fn plot(outcome: &Outcome, course: &Course) -> String {
    let rows = thinned(course, 240);
    let end = rows.last().map_or(1.0, |row| row.time).max(1.0) / 3600.0;
    let grams = |moles: f64| moles * WATER_MOLAR_MASS * 1e3;
    let of = |figure: &dyn Fn(&Row) -> f64| rows.iter().map(|row| (row.time / 3600.0, figure(row))).collect::<Vec<_>>();
    let mut lines = vec![Line::new("water in the flask, g", of(&|row| grams(row.water)))];
    let taken = match course.begins.way {
        Way::Bed(..) => Some("water on the bed, g"),
        Way::Trap(..) => Some("water parted, g"),
        Way::Nothing(_) => None,
    };
    lines.extend(taken.map(|name| Line::new(name, of(&|row| grams(row.taken)))));
    let most = lines.iter().flat_map(|line| line.pieces.iter().flatten()).map(|(_, y)| *y).fold(0.0, f64::max);
    let mut reactions = Vec::new();
    for (at, part) in course.parts.iter().enumerate().take(2) {
        let share = of(&|row| 100.0 * course.conversion(row, at).unwrap_or(0.0));
        reactions.push(Line { right: true, ..Line::new(format!("{}, % reacted", words::plain(&part.name)), share) });
    }
    let right = (!reactions.is_empty()).then(|| Axis { label: "reacted, %".to_owned(), low: 0.0, high: 100.0, ticks: 5 });
    lines.extend(reactions);
    let (step, title) = place(outcome, course.statement);
    let span = plot::nice(end);
    let stated = course.begins.time / 3600.0;
    let drawing = Plot {
        heading: format!("{}: {}, step {step} {title}", outcome.procedure.title, course.what()),
        x: Axis { label: "time, h".to_owned(), low: 0.0, high: span, ticks: 5 },
        left: Axis { label: "water, g".to_owned(), low: 0.0, high: plot::nice(most.max(1e-6) * 1.05), ticks: 5 },
        right,
        lines,
        uprights: (stated < span).then(|| (stated, "time stated".to_owned())).into_iter().collect(),
        ..Plot::default()
    };
    plot::drawn(&drawing)
}
