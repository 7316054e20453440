//! Ways of making one thing side by side: what each gives, takes, costs in time and money and leaves as waste.

pub mod cost;
pub mod runs;
pub mod time;

use std::collections::{BTreeMap, BTreeSet};

use schemars::JsonSchema;
use serde::Serialize;

pub use cost::Bill;
pub use time::Times;

use crate::evaluate::{Evaluation, Fact};
use crate::matter::balance;
use crate::outcome::Outcome;

/// What one way of making something comes to, as predicted. A figure that is absent is not known.
#[derive(Clone, Debug, Serialize, JsonSchema, PartialEq)]
pub struct Prospect {
    /// What it is called.
    pub name: String,
    /// Mass of what is kept as the product, g.
    pub product_g: Option<f64>,
    /// Yield of it, %.
    pub yield_percent: Option<f64>,
    /// Its purity by mass, %.
    pub purity_percent: Option<f64>,
    /// Time that the statements give for themselves.
    pub time: Times,
    /// What it costs; absent without a bench that lists a stock.
    pub cost: Option<Bill>,
    /// Why the batch cannot be made on the bench at this size, where it was tried and cannot.
    pub unfit: Option<String>,
    /// Water that a bed or a drying agent has to take, g.
    pub water_g: f64,
    /// Drying agent for it, g.
    pub agent_g: f64,
    /// Waste to a kilogram of product, kg, water counted: the E factor.
    pub e_factor: Option<f64>,
    /// All that is taken to a kilogram of product, kg: the process mass intensity.
    pub mass_intensity: Option<f64>,
    /// Hazard statements of what is met, with the substances.
    pub hazards: BTreeMap<String, Vec<String>>,
}

/// What an outcome comes to.
#[must_use]
pub fn prospect(name: &str, outcome: &Outcome) -> Prospect {
    let (procedure, defs, evaluation) = (&outcome.procedure, &outcome.defs, &outcome.evaluation);
    let mut products: Vec<_> = evaluation
        .facts
        .iter()
        .filter_map(|fact| match fact {
            Fact::Kept { portion, kept_as: Some(sub), .. } => Some((portion, *sub)),
            _ => None,
        })
        .collect();
    let theoretical = |sub| evaluation.theoretical(procedure, defs, sub);
    // The product is what is kept of what a reaction makes; where nothing reacts, what is kept first.
    if let Some(sub) = products.iter().find(|(_, sub)| theoretical(*sub).is_some()).or(products.first()).map(|(_, sub)| *sub) {
        products.retain(|(_, own)| *own == sub);
    }
    let mass: f64 = products.iter().map(|(portion, _)| portion.mass()).sum();
    let pure: f64 = products.iter().map(|(portion, sub)| portion.of(*sub)).sum();
    let most = products.first().and_then(|(_, sub)| theoretical(*sub)).filter(|most| *most > 0.0);
    let known = mass > 0.0;
    let (mut water, mut agent) = (0.0, 0.0);
    for fact in &evaluation.facts {
        if let Fact::Dried { water: own, mass, .. } = fact {
            water += own;
            agent += mass;
        }
    }
    let mut hazards: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for portion in evaluation.first.values().chain(evaluation.portions.values()) {
        for sub in portion.contents.keys() {
            let substance = defs.substance(*sub);
            for code in substance.hazards.iter().flat_map(|hazards| &hazards.value) {
                let of = hazards.entry(code.clone()).or_default();
                if !of.contains(&substance.display()) {
                    of.push(substance.display());
                }
            }
        }
    }
    Prospect {
        name: name.to_owned(),
        product_g: known.then_some(mass * 1e3),
        yield_percent: most.map(|most| 100.0 * pure / most),
        purity_percent: known.then(|| 100.0 * pure / mass),
        time: Times::of(outcome),
        cost: Bill::of(outcome, known.then_some(mass)),
        unfit: None,
        water_g: water * 1e3,
        agent_g: agent * 1e3,
        e_factor: known.then(|| waste(evaluation) / mass),
        mass_intensity: known.then(|| balance::balance(procedure, defs, evaluation).mass_in / mass),
        hazards,
    }
}

/// The currencies that any of them is paid in, in the order of their letters.
#[must_use]
pub fn currencies<'a>(all: impl IntoIterator<Item = &'a Prospect>) -> Vec<String> {
    let spent = all.into_iter().filter_map(|one| one.cost.as_ref()).flat_map(|bill| &bill.spent);
    let found: BTreeSet<String> = spent.map(|spent| spent.currency.clone()).collect();
    found.into_iter().collect()
}

/// kg that are thrown away, given off or lost to the air.
#[must_use]
pub fn waste(evaluation: &Evaluation) -> f64 {
    let discarded = evaluation.facts.iter().map(|fact| if let Fact::Discarded { portion, .. } = fact { portion.mass() } else { 0.0 });
    let gone = evaluation.records.values().flat_map(|record| record.evolved.values().chain(record.aired.values())).map(|mass| mass.si);
    discarded.sum::<f64>() + gone.sum::<f64>()
}

/// Hazards that some have and others lack: statement and substance, with the names of those that have it.
#[must_use]
pub fn differing_hazards(all: &[Prospect]) -> Vec<(String, Vec<String>)> {
    let mut found: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for one in all {
        for (code, of) in &one.hazards {
            for substance in of {
                found.entry(format!("{code} ({substance})")).or_default().push(one.name.clone());
            }
        }
    }
    found.into_iter().filter(|(_, have)| have.len() < all.len()).collect()
}
