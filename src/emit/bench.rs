//! What the bench says of a batch: what binds it, what is in stock and short, how long its heater takes.

use schemars::JsonSchema;
use serde::Serialize;

use super::view;
use super::words::{self, finite};
use crate::judge::Case;
use crate::judge::bench::{Wanted, wanted};
use crate::kinds::{Kind, show, significant};
use crate::operations::pace::ARRIVES;
use crate::outcome::Outcome;
use crate::reach::Reach;
use crate::resolve::bench::Bench as Own;

/// What warms in less time than this is not told, s. Our own figure.
const SOON: f64 = 60.0;
/// What comes over in these results was boiled.
const BOILED: [&str; 3] = ["forerun", "cut", "distillate"];

/// The bench that the batch is made on.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Bench {
    /// Its title.
    pub title: String,
    /// `largest` or `smallest`, where that batch was sought; null else.
    pub sought: Option<String>,
    /// What stands in the way of a larger (or smaller) one, nearest first: the first binds.
    pub limits: Vec<Limit>,
    /// What is taken from stock in all runs.
    pub stock: Vec<StockLine>,
    /// Power of its heater, W.
    #[serde(rename = "heater_W")]
    pub heater_w: Option<f64>,
    /// Pressure of the room, kPa.
    #[serde(rename = "pressure_kPa")]
    pub pressure_kpa: Option<f64>,
    /// Temperature of the room, °C.
    #[serde(rename = "temperature_C")]
    pub temperature_c: Option<f64>,
}

/// Something that stands in the way of another size.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Limit {
    /// Where it begins to fail, against the batch as written, a plain ratio.
    pub scale: Option<f64>,
    /// Code of the finding that a hundredth more (or less) has.
    pub code: String,
    /// Its message.
    pub message: String,
}

/// A material against its stock.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct StockLine {
    /// Name of the main substance.
    pub substance: String,
    /// Needed in all runs, g, of the strength that is in stock.
    pub needed_g: Option<f64>,
    /// In stock, g; null where there is none.
    pub there_g: Option<f64>,
    /// Short, g.
    pub short_g: Option<f64>,
    /// What that costs; null where it is not known.
    pub short_costs: Option<f64>,
    /// In what.
    pub currency: Option<String>,
    /// The day on which the stock was opened.
    pub opened: Option<String>,
    /// Whether the procedure leaves the grade open, so that the stock's counts.
    pub grade_of_stock: bool,
}

/// For the plan.
#[must_use]
pub fn plan(outcome: &Outcome) -> Option<Bench> {
    let own = outcome.defs.bench.as_deref()?;
    let case = case(outcome);
    let line = |wanted: &Wanted<'_>| {
        let short = wanted.short();
        let cost = wanted.cost(short).filter(|_| short > 0.0);
        StockLine {
            substance: outcome.defs.substance(wanted.sub).name.clone(),
            needed_g: finite(wanted.needed * 1e3),
            there_g: wanted.stock.and_then(|stock| finite(stock.mass * 1e3)),
            short_g: finite(short * 1e3),
            short_costs: cost.and_then(|(cost, _)| finite(cost)),
            currency: cost.map(|(_, currency)| currency.to_owned()),
            opened: wanted.stock.and_then(|stock| stock.opened.clone()),
            grade_of_stock: wanted.material.of_stock,
        }
    };
    Some(Bench {
        title: own.title.clone(),
        sought: outcome.reached.as_ref().map(|found| found.reach.word().to_owned()),
        limits: outcome.reached.iter().flat_map(|found| &found.limits).map(limit).collect(),
        stock: wanted(&case, own, outcome.runs).iter().map(line).collect(),
        heater_w: own.heater.and_then(|figure| finite(figure.low)),
        pressure_kpa: own.pressure.and_then(|figure| finite(figure.low / 1e3)),
        temperature_c: own.temperature.and_then(|figure| finite(figure.low - 273.15)),
    })
}

fn limit(limit: &crate::reach::Limit) -> Limit {
    Limit { scale: finite(limit.scale), code: limit.finding.code.text().to_owned(), message: limit.finding.message.clone() }
}

fn case(outcome: &Outcome) -> Case<'_> {
    Case { runs: outcome.runs, ..Case::new(&outcome.procedure, &outcome.defs, &outcome.evaluation) }
}

/// How the batch was sought, for the line that tells its size.
#[must_use]
pub fn sought(outcome: &Outcome) -> Option<&'static str> {
    Some(match outcome.reached.as_ref()?.reach {
        Reach::Largest => "the largest for which nothing fails on this bench",
        Reach::Smallest => "the smallest that is sensible on this bench",
    })
}

/// The section of the sheet.
pub fn section(outcome: &Outcome, out: &mut String) {
    let Some(own) = outcome.defs.bench.as_deref() else { return };
    out.push_str(&format!("## The bench\n\n{}\n\n", words::escape(&words::stop(&own.title))));
    limits(outcome, out);
    stock(outcome, own, out);
    warming(outcome, own, out);
}

fn limits(outcome: &Outcome, out: &mut String) {
    let Some(found) = &outcome.reached else { return };
    let (beyond, more) = match found.reach {
        Reach::Largest => ("larger", "times this batch"),
        Reach::Smallest => ("smaller", "of this batch"),
    };
    for (number, limit) in found.limits.iter().enumerate() {
        let message = super::sheet::said(&limit.finding.message);
        let ratio = limit.scale / outcome.evaluation.scale;
        if number == 0 || (ratio - 1.0).abs() < 1e-6 {
            out.push_str(&format!("- This binds; a hundredth {beyond}: {message}\n"));
        } else {
            out.push_str(&format!("- Next, at {} {more}: {message}\n", significant(ratio, 3)));
        }
    }
    out.push('\n');
}

fn stock(outcome: &Outcome, own: &Own, out: &mut String) {
    if own.stock.is_empty() {
        out.push_str("The bench lists no stock, so that nothing is said of what is short.\n\n");
        return;
    }
    let case = case(outcome);
    let all = wanted(&case, own, outcome.runs);
    if all.is_empty() {
        return;
    }
    out.push_str("| From stock | Needed | There | Short | Costs | Opened |\n| --- | ---: | ---: | ---: | ---: | --- |\n");
    for wanted in &all {
        let short = wanted.short();
        let cost = match wanted.cost(short) {
            Some((cost, currency)) if short > 0.0 => format!("{cost:.2} {currency}"),
            None if short > 0.0 => "not known".to_owned(),
            _ => "–".to_owned(),
        };
        let there = wanted.stock.map_or_else(|| "none".to_owned(), |stock| wanted.shown(stock.mass, 3));
        out.push_str(&format!(
            "| {} | {} | {there} | {} | {} | {} |\n",
            words::escape(&outcome.defs.substance(wanted.sub).display()),
            wanted.shown(wanted.needed, 3),
            if short > 0.0 { wanted.shown(short, 2) } else { "–".to_owned() },
            words::escape(cost.trim()),
            wanted.stock.and_then(|stock| stock.opened.as_deref()).unwrap_or("–"),
        ));
    }
    out.push('\n');
    let open: Vec<String> =
        all.iter().filter(|wanted| wanted.material.of_stock).map(|wanted| outcome.defs.substance(wanted.sub).display()).collect();
    if !open.is_empty() {
        let open = words::escape(&words::list(&open));
        out.push_str(&format!("The procedure leaves the grade open of {open}: the stock's is counted, with the water in it.\n\n"));
    }
}

/// How long the heater takes to warm what is warmed, and to boil over what is boiled over.
fn warming(outcome: &Outcome, own: &Own, out: &mut String) {
    let Some(heater) = own.heater else { return };
    let mut told = Vec::new();
    for (number, record) in &outcome.evaluation.records {
        let Some(statement) = outcome.procedure.statements.get(*number) else { continue };
        let heated = statement.operation.needs.iter().any(|need| need.apparatus == "heating_bath");
        if !heated {
            continue;
        }
        let warm = record.warming.as_ref().and_then(|warming| warming.time).unwrap_or(0.0);
        let over: f64 = record
            .outputs
            .iter()
            .filter(|(role, _, _)| BOILED.contains(&role.as_str()))
            .map(|(_, _, portion)| boiling(outcome, portion))
            .sum();
        let time = warm + over / (ARRIVES * heater.low);
        if time >= SOON {
            let verb = words::plain(statement.operation.form.verb());
            let step = view::step_of(outcome, *number).map_or_else(String::new, |step| format!(" in step {}", step + 1));
            told.push(format!("to {verb}{step} {}", show(time, Kind::Duration, 2)));
        }
    }
    if told.is_empty() {
        return;
    }
    let sentence = format!(
        "With {}, of which 60 % arrives (our own figure), the heat takes at least: {}.",
        show(heater.low, Kind::Power, 3),
        told.join(", ")
    );
    out.push_str(&format!("{}\n\n", words::escape(&sentence)));
}

/// J that boil a portion away, as far as heats of vaporisation are known.
fn boiling(outcome: &Outcome, portion: &crate::matter::portion::Portion) -> f64 {
    let heat = |(sub, mass): (&crate::resolve::definitions::Sub, &crate::matter::ledger::Num)| {
        let substance = outcome.defs.substance(*sub);
        Some(mass.si / substance.molar_mass()? * substance.vaporisation.as_ref()?.value)
    };
    portion.contents.iter().filter_map(heat).sum()
}
