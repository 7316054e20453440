//! In which named vessel a portion stands at each statement.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::Case;
use crate::evaluate::Fact;
use crate::matter::linear::{Arg, BindingId, Statement};
use crate::resolve::definitions::Apparatus;
use crate::source::Span;

/// A vessel that the author named, and where.
#[derive(Clone, Debug)]
pub struct Named {
    /// The vessel.
    pub vessel: Arc<Apparatus>,
    /// Its size, m³, where it is given.
    pub size: Option<f64>,
    /// Where it is named.
    pub span: Span,
}

/// For each statement the vessel that it names, or in which the portion that it changes was put by
/// an earlier one. What has no name anywhere is a vessel of the right sort, and not here.
#[must_use]
pub fn vessels(case: &Case<'_>) -> BTreeMap<usize, Named> {
    let mut holds: BTreeMap<BindingId, Named> = BTreeMap::new();
    let mut found = BTreeMap::new();
    for (number, statement) in case.procedure.statements.iter().enumerate() {
        let Some(record) = case.evaluation.records.get(&number) else { continue };
        // What is changed stays where it is; what is taken goes elsewhere.
        let stays = record.outputs.iter().any(|(role, _, _)| role.is_empty());
        let before = record.inputs.iter().filter_map(|(id, _)| id.and_then(|id| holds.get(&id))).next().filter(|_| stays);
        let Some(vessel) = pinned(statement).or_else(|| before.cloned()) else { continue };
        let one = record.outputs.len() == 1;
        for (role, id, _) in &record.outputs {
            if let Some(id) = id.filter(|_| role.is_empty() || one) {
                holds.insert(id, vessel.clone());
            }
        }
        found.insert(number, vessel);
    }
    found
}

/// What is held at a temperature at each statement, first: its name, the temperature.
#[must_use]
pub fn held<'a>(case: &Case<'a>) -> BTreeMap<usize, (&'a str, f64)> {
    let mut held = BTreeMap::new();
    for fact in &case.evaluation.facts {
        if let Fact::Held { statement, name, temperature, .. } = fact {
            held.entry(*statement).or_insert((name.as_str(), *temperature));
        }
    }
    held
}

fn pinned(statement: &Statement) -> Option<Named> {
    match statement.args.get("vessel") {
        Some(Arg::Apparatus(vessel, size, span)) => {
            Some(Named { vessel: Arc::clone(vessel), size: size.map(|size| size.low), span: *span })
        }
        _ => None,
    }
}
