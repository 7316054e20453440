//! The stock of a bench: is there enough, and is it what the procedure asks for?

use std::collections::BTreeMap;

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Dispensed;
use crate::kinds::{Kind, show, significant};
use crate::matter::linear::{Arg, Material};
use crate::resolve::bench::{Bench, Stock, other_grade};
use crate::resolve::definitions::{Agent, Definitions, Sub};
use crate::source::Span;

/// `3 runs (--runs 3)` for what is so many times too large.
#[must_use]
pub fn in_runs(times: f64) -> String {
    let runs = (times - 1e-9).ceil().clamp(2.0, 1e6);
    format!("{runs:.0} runs (`--runs {runs:.0}`)")
}

/// A material that is needed, against what there is of it.
#[derive(Clone, Debug)]
pub struct Wanted<'a> {
    /// The material that asks for it first.
    pub material: &'a Material,
    /// Where its first amount stands.
    pub span: Span,
    /// The main substance.
    pub sub: Sub,
    /// kg, of the strength of the stock where there is one, else as written.
    pub needed: f64,
    /// What there is.
    pub stock: Option<&'a Stock>,
    /// Whether the procedure states a grade that the stock is not, with its strength.
    pub other_grade: Option<f64>,
}

impl Wanted<'_> {
    /// kg that are short: all of it where there is no stock.
    #[must_use]
    pub fn short(&self) -> f64 {
        // The noise of arithmetic must not make a full bottle short.
        let left = self.needed - self.stock.map_or(0.0, |stock| stock.mass * (1.0 + 1e-9));
        left.max(0.0)
    }

    /// A mass of it as one speaks of it: by volume where the stock is poured.
    #[must_use]
    pub fn shown(&self, mass: f64, digits: usize) -> String {
        match self.stock.and_then(|stock| Some((stock.volume?, stock.mass))) {
            Some((volume, all)) if all > 0.0 => show(mass * volume / all, Kind::Volume, digits),
            _ => show(mass, Kind::Mass, digits),
        }
    }

    /// What that much of it costs, where that is known.
    #[must_use]
    pub fn cost(&self, mass: f64) -> Option<(f64, &str)> {
        let (per, currency) = self.stock?.price.as_ref()?;
        Some((per * mass, currency))
    }
}

/// Everything that is taken from stock, `runs` times over, each stock once; water comes from the tap.
#[must_use]
pub fn wanted<'a>(case: &Case<'a>, bench: &'a Bench, runs: u32) -> Vec<Wanted<'a>> {
    let mut found: Vec<Wanted<'a>> = Vec::new();
    let mut by_stock: BTreeMap<(Sub, Option<usize>), usize> = BTreeMap::new();
    let mut add = |material: &'a Material, dispensed: &Dispensed| {
        let substance = case.defs.substance(material.sub);
        if substance.is("water") || substance.name == "water" {
            return;
        }
        let stock = bench.stock_of(material.sub, dispensed.strength);
        let pure = dispensed.mass.si * dispensed.strength * f64::from(dispensed.times) * f64::from(runs);
        let needed = pure / stock.map_or(dispensed.strength, |(_, stock)| stock.strength).max(1e-12);
        let other = stock.filter(|(_, stock)| other_grade(stock, material, dispensed.strength, case.defs)).map(|_| dispensed.strength);
        let key = (material.sub, stock.map(|(number, _)| number));
        match by_stock.get(&key).and_then(|at| found.get_mut(*at)) {
            Some(known) => {
                known.needed += needed;
                known.other_grade = known.other_grade.or(other);
            }
            None => {
                by_stock.insert(key, found.len());
                let stock = stock.map(|(_, stock)| stock);
                found.push(Wanted { material, span: material.amount.span, sub: material.sub, needed, stock, other_grade: other });
            }
        }
    };
    for (number, take) in case.procedure.takes.iter().enumerate() {
        if let Some(dispensed) = case.evaluation.takes.get(&number).filter(|_| !case.procedure.supplied.contains(&number)) {
            add(&take.material, dispensed);
        }
    }
    for ((statement, slot), dispensed) in &case.evaluation.materials {
        let arg = case.procedure.statements.get(*statement).and_then(|found| found.args.get(slot));
        if let Some(Arg::Material(material)) = arg {
            add(material, dispensed);
        }
    }
    found
}

/// Judges the stock.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let Some(bench) = case.defs.bench.as_deref().filter(|bench| !bench.stock.is_empty()) else { return };
    let mut absent: Vec<String> = Vec::new();
    let mut first = None;
    for wanted in wanted(case, bench, case.runs) {
        let name = case.defs.substance(wanted.sub).display();
        let Some(stock) = wanted.stock else {
            if !absent.contains(&name) {
                absent.push(name);
            }
            first = first.or(Some(wanted.span));
            continue;
        };
        if let Some(strength) = wanted.other_grade {
            let percent = |w: f64| format!("{} % w/w", significant(100.0 * w, 3));
            let remedy = if stock.strength > strength {
                "dilute it, and weigh what you mix"
            } else {
                "it is too weak to be made into what is asked for"
            };
            findings.push(
                Diagnostic::new(
                    Code::StockGrade,
                    wanted.material.span,
                    format!("{name} of {} is asked for, and the stock is of {}", percent(strength), percent(stock.strength)),
                )
                .help(format!("{remedy}; or leave the grade out, and the stock's counts with the water in it"))
                .label(stock.span, "this is the stock"),
            );
        }
        if wanted.short() > 0.0 {
            let times = if case.runs > 1 { format!(" for {} runs", case.runs) } else { String::new() };
            findings.push(
                Diagnostic::new(
                    Code::StockShort,
                    wanted.span,
                    format!(
                        "{} of {name} is needed{times}, and {} is there{}",
                        wanted.shown(wanted.needed, 3),
                        wanted.shown(stock.mass, 3),
                        holds(case.defs, &wanted, stock)
                    ),
                )
                .help(format!("{}, or cut the batch to {:.0} % of this one", buy(&wanted), 100.0 * stock.mass / wanted.needed))
                .label(stock.span, "this is the stock"),
            );
        }
    }
    if let Some(span) = first {
        findings.push(
            Diagnostic::new(Code::BenchMissing, span, format!("not in stock: {}", absent.join(", ")))
                .help("get it, or add what there is to the bench: `stock NAME, GRADE, AMOUNT`"),
        );
    }
}

/// `get 12 g more (3.40 EUR)`.
fn buy(wanted: &Wanted<'_>) -> String {
    let short = wanted.short();
    let cost = wanted.cost(short).map_or_else(String::new, |(cost, currency)| format!(" ({cost:.2} {currency})").replace(" )", ")"));
    format!("get {} more{cost}", wanted.shown(short, 2))
}

/// What a drying agent in stock holds of water.
fn holds(defs: &Definitions, wanted: &Wanted<'_>, stock: &Stock) -> String {
    let agent = defs.substance(wanted.sub).agent.as_ref();
    agent.and_then(|agent| agent.capacity.as_ref()).map_or_else(String::new, |capacity| {
        let water = |share: f64| show(share * stock.mass * stock.strength, Kind::Mass, 3);
        let washed = agent.and_then(Agent::washed);
        let hot = washed.map_or_else(String::new, |(share, _)| format!(" cold, and {} at least washed by hot condensate", water(share)));
        format!(": {} holds {} of water{hot}", wanted.shown(stock.mass, 3), water(capacity.value))
    })
}
