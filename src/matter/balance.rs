//! The material balance: what was taken, what reactions made and used, what came out; per substance
//! and per element.

use std::collections::BTreeMap;

use super::linear::Procedure;
use super::portion::Masses;
use crate::evaluate::{Evaluation, context};
use crate::resolve::definitions::{Definitions, Sub};

/// One substance's line, kg.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Line {
    /// Taken.
    pub taken: f64,
    /// Made by reactions; negative when used up by them.
    pub made: f64,
    /// Come out: kept, discarded, given off, lost to the air, left in unnamed traces.
    pub out: f64,
}

/// The balance of a whole procedure.
#[derive(Clone, Debug, Default)]
pub struct Balance {
    /// By substance.
    pub per_substance: BTreeMap<Sub, Line>,
    /// mol of each element in and out.
    pub elements: BTreeMap<String, (f64, f64)>,
    /// What has no formula, kg in and out.
    pub whole: BTreeMap<Sub, (f64, f64)>,
    /// kg in.
    pub mass_in: f64,
    /// kg out.
    pub mass_out: f64,
}

/// Draws up the balance.
#[must_use]
pub fn balance(procedure: &Procedure, defs: &Definitions, evaluation: &Evaluation) -> Balance {
    let mut taken = Masses::new();
    let mut out = Masses::new();
    let add = |to: &mut Masses, masses: Masses| {
        for (sub, mass) in masses {
            *to.entry(sub).or_insert(0.0) += mass;
        }
    };
    for dispensed in evaluation.takes.values() {
        add(&mut taken, dispensed.portion.masses());
    }
    for dispensed in evaluation.materials.values() {
        add(&mut taken, context::used(dispensed));
    }
    for (number, binding) in procedure.bindings.iter().enumerate() {
        let ends = binding.used_by.is_none_or(|by| {
            procedure
                .statements
                .get(by)
                .is_some_and(|statement| statement.operation.effects.iter().any(|call| matches!(call.effect.as_str(), "store" | "discard")))
        });
        if ends && let Some(portion) = evaluation.portions.get(&super::linear::BindingId(number)) {
            add(&mut out, portion.masses());
        }
    }
    for record in evaluation.records.values() {
        for gone in [&record.evolved, &record.aired] {
            add(&mut out, gone.iter().map(|(sub, mass)| (*sub, mass.si)).collect());
        }
    }
    add(&mut out, evaluation.traces.clone());
    let mut balance = Balance { mass_in: taken.values().sum(), mass_out: out.values().sum(), ..Balance::default() };
    for sub in taken.keys().chain(out.keys()) {
        let (taken, out) = (taken.get(sub).copied().unwrap_or(0.0), out.get(sub).copied().unwrap_or(0.0));
        let substance = defs.substance(*sub);
        if balance.per_substance.contains_key(sub) {
            continue;
        }
        balance.per_substance.insert(*sub, Line { taken, made: 0.0, out });
        match &substance.formula {
            Some(formula) => {
                let molar = formula.value.molar_mass();
                for (element, count) in formula.value.atoms() {
                    let line = balance.elements.entry(element.clone()).or_insert((0.0, 0.0));
                    line.0 += taken / molar * count;
                    line.1 += out / molar * count;
                }
            }
            None => {
                balance.whole.insert(*sub, (taken, out));
            }
        }
    }
    // What reactions and hydrates made or used: each run's change of each substance.
    for (sub, made) in &evaluation.made {
        balance.per_substance.entry(*sub).or_default().made += made;
    }
    balance
}
