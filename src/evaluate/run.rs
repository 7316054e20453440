//! The evaluation itself: works through the graph in its order.

use std::collections::BTreeSet;

use super::context::{self, Context};
use super::{Evaluation, Record, amounts, place};
use crate::diagnostics::{Code, Diagnostic};
use crate::graph::{Graph, Work};
use crate::matter::linear::Procedure;
use crate::operations;
use crate::resolve::definitions::Definitions;

/// Evaluates the procedure at one scale, without what is done only if needed.
#[must_use]
pub fn evaluate(procedure: &Procedure, defs: &Definitions, graph: &Graph, scale: f64) -> Evaluation {
    evaluate_with(procedure, defs, graph, scale, &BTreeSet::new())
}

/// The same with those statements that are done only if needed whose numbers are in `helpers`.
#[must_use]
pub fn evaluate_with(procedure: &Procedure, defs: &Definitions, graph: &Graph, scale: f64, helpers: &BTreeSet<usize>) -> Evaluation {
    work(Evaluation::new(scale), procedure, defs, graph, helpers)
}

/// The same as [`evaluate`] with heaters whose power is stated, and extractors of the bench, taken as they are at another
/// scale, for a search that changes one after the other.
#[must_use]
pub fn evaluate_held(procedure: &Procedure, defs: &Definitions, graph: &Graph, scale: f64, held: f64) -> Evaluation {
    work(Evaluation { held, ..Evaluation::new(scale) }, procedure, defs, graph, &BTreeSet::new())
}

fn work(mut evaluation: Evaluation, procedure: &Procedure, defs: &Definitions, graph: &Graph, helpers: &BTreeSet<usize>) -> Evaluation {
    if procedure.about.room_pressure.is_some() {
        let p = procedure.about.room();
        evaluation.assumed.insert(format!(
            "Boiling temperatures hold at the room pressure that is stated, {} kPa ({} mmHg).",
            crate::kinds::significant(p / 1e3, 3),
            crate::kinds::significant(p / 133.322, 3)
        ));
    }
    for work in &graph.order {
        let before = evaluation.findings.len();
        match work {
            Work::Take(number) => take(&mut evaluation, procedure, defs, *number),
            Work::Statement(number) => {
                let left_out = procedure.statements.get(*number).is_some_and(|statement| statement.only_if.is_some());
                if !left_out || helpers.contains(number) {
                    statement(&mut evaluation, procedure, defs, *number);
                }
            }
        }
        evaluation.stopped |= evaluation.findings.iter().skip(before).any(Diagnostic::is_error);
        if evaluation.stopped {
            break;
        }
    }
    if evaluation.findings.is_empty()
        && !evaluation.stopped
        && let Some((id, _)) = evaluation.deferred.iter().next()
    {
        let binding = procedure.binding(*id);
        let open = procedure.take_of(*id).is_some_and(|(_, take)| take.material.amount.not_stated);
        evaluation.findings.push(if open {
            amounts::nothing_stated(&binding.name, binding.span)
        } else {
            Diagnostic::new(Code::CannotSize, binding.span, format!("nothing decides how much `{}` is enough", binding.name)).help(
                "`enough` is for a drying agent that dries something, a bed in a dried return, or a base that neutralises; give an amount",
            )
        });
    }
    evaluation
}

fn take(evaluation: &mut Evaluation, procedure: &Procedure, defs: &Definitions, number: usize) {
    let Some(take) = procedure.takes.get(number) else { return };
    let name = &procedure.binding(take.binding).name;
    if take.material.amount.enough {
        // Sized by the operation that uses it up.
        if !evaluation.portions.contains_key(&take.binding) {
            let margin = amounts::margin(&take.material.amount);
            evaluation.deferred.insert(take.binding, margin);
        }
        return;
    }
    match amounts::dispense(evaluation, procedure, defs, &take.material, name, number == procedure.basis) {
        Ok(dispensed) => place(evaluation, take.binding, number, dispensed),
        Err(finding) => evaluation.findings.push(*finding),
    }
}

fn statement(evaluation: &mut Evaluation, procedure: &Procedure, defs: &Definitions, number: usize) {
    let Some(statement) = procedure.statements.get(number) else { return };
    evaluation.records.insert(number, Record::default());
    for call in &statement.operation.effects {
        let Some(effect) = operations::effect(&call.effect) else { continue };
        let mut context = Context::new(evaluation, procedure, defs, number, statement, call);
        if let Err(finding) = effect(&mut context) {
            evaluation.findings.push(*finding);
            return;
        }
    }
    context::note_vessels(evaluation, procedure, defs, number, statement);
}
