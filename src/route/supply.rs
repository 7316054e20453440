//! What a route takes from the shelf: every stock once, for all stages and all their runs together.

use serde::Serialize;

use super::PlannedStage;
use crate::diagnostics::{Code, Diagnostic};
use crate::emit::view;
use crate::judge::Case;
use crate::judge::bench::{Wanted, wanted};
use crate::resolve::bench::Bench;
use crate::source::{Sources, Span};

/// A material for all stages together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Supply {
    /// The substance.
    pub substance: String,
    /// The same with its grade, where it comes from no stock.
    pub material: String,
    /// Needed, g, of the strength that is in stock, else as the procedures have it.
    pub needed_g: f64,
    /// The same as it is measured.
    pub needed: String,
    /// In stock, g; absent where there is none, or no bench that lists any.
    pub there_g: Option<f64>,
    /// The same as it is measured.
    pub there: Option<String>,
    /// Short, g.
    pub short_g: f64,
    /// The same as it is measured.
    pub short: String,
    /// What that costs, and in what, where it is known.
    pub short_costs: Option<(f64, String)>,
    /// What each stage needs of it, g.
    pub stages: Vec<(String, f64)>,
    /// Where the stock is listed.
    #[serde(skip)]
    pub span: Option<Span>,
}

/// Everything that the stages take from the shelf.
#[must_use]
pub fn supplies(stages: &[PlannedStage], bench: Option<&Bench>, sources: &Sources) -> Vec<Supply> {
    let empty;
    let bench = match bench {
        Some(bench) => bench,
        None => {
            empty = Bench::bare();
            &empty
        }
    };
    let mut sums: Vec<(Wanted<'_>, Vec<(String, f64)>)> = Vec::new();
    for stage in stages {
        let outcome = &stage.outcome;
        let case = Case { runs: outcome.runs, ..Case::new(&outcome.procedure, &outcome.defs, &outcome.evaluation) };
        for one in wanted(&case, bench, outcome.runs) {
            let own = (stage.name.clone(), one.needed * 1e3);
            let same = |(sum, _): &&mut (Wanted<'_>, _)| {
                sum.sub == one.sub && sum.stock.map(|stock| stock.span) == one.stock.map(|stock| stock.span)
            };
            match sums.iter_mut().find(same) {
                Some((sum, by)) => {
                    sum.needed += one.needed;
                    by.push(own);
                }
                None => sums.push((one, vec![own])),
            }
        }
    }
    let listed = !bench.stock.is_empty();
    sums.into_iter()
        .filter_map(|(sum, by)| {
            let outcome = &stages.first()?.outcome;
            let defs = &outcome.defs;
            let material =
                if sum.stock.is_some() { defs.substance(sum.sub).display() } else { view::material(outcome, sum.material, sources) };
            let short = if listed { sum.short() } else { 0.0 };
            Some(Supply {
                substance: defs.substance(sum.sub).display(),
                material,
                needed_g: sum.needed * 1e3,
                needed: sum.shown(sum.needed, 3),
                there_g: sum.stock.map(|stock| stock.mass * 1e3),
                there: sum.stock.map(|stock| sum.shown(stock.mass, 3)),
                short_g: short * 1e3,
                short: sum.shown(short, 2),
                short_costs: sum.cost(short).filter(|_| short > 0.0).map(|(cost, currency)| (cost, currency.to_owned())),
                stages: by,
                span: sum.stock.map(|stock| stock.span),
            })
        })
        .collect()
}

/// Tells what is short for all stages together and was not for any by itself.
pub fn judge(supplies: &[Supply], stages: &[PlannedStage], bench: Option<&Bench>, at: Span, findings: &mut Vec<Diagnostic>) {
    if bench.is_none_or(|bench| bench.stock.is_empty()) {
        return;
    }
    for supply in supplies.iter().filter(|supply| supply.short_g > 0.0) {
        let (Some(there_g), Some(there), Some(span)) = (supply.there_g, &supply.there, supply.span) else { continue };
        // One stage that needs more than there is has said so itself.
        if supply.stages.len() < 2 || supply.stages.iter().any(|(_, needed)| *needed > there_g * (1.0 + 1e-9)) {
            continue;
        }
        let names: Vec<String> = supply.stages.iter().map(|(name, _)| format!("`{name}`")).collect();
        let cost =
            supply.short_costs.as_ref().map_or_else(String::new, |(cost, currency)| format!(" ({cost:.2} {currency})").replace(" )", ")"));
        findings.push(
            Diagnostic::new(
                Code::StockShort,
                at,
                format!(
                    "{} of {} is needed for {} together, and {there} is there",
                    supply.needed,
                    supply.substance,
                    crate::emit::words::list(&names)
                ),
            )
            .help(format!(
                "get {} more{cost}, or want less of `{}`",
                supply.short,
                stages.last().map_or("the product", |stage| stage.name.as_str())
            ))
            .label(span, "this is the stock"),
        );
    }
}
