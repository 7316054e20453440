//! Peroxides: whether what forms them was tested, and how far it is boiled down.

use std::collections::BTreeSet;

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::{Evaluation, Record};
use crate::kinds::significant;
use crate::matter::linear::{Arg, BindingId, Origin, Procedure, Statement};
use crate::matter::portion::Portion;
use crate::resolve::definitions::{Definitions, PeroxideList, Substance};

/// Share of a portion from which a former of peroxides in it counts for whether it was tested. Our own figure.
const COUNTS: f64 = 0.01;

/// Judges what is distilled or evaporated.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    for (number, statement) in case.procedure.statements.iter().enumerate() {
        if let Some(record) = case.evaluation.records.get(&number) {
            residue(case, number, statement, record, findings);
        }
    }
}

fn has(statement: &Statement, effects: &[&str]) -> bool {
    statement.operation.effects.iter().any(|call| effects.contains(&call.effect.as_str()))
}

/// Whether a substance forms peroxides that a still would heap up.
fn forms_peroxides(substance: &Substance) -> bool {
    let listed = substance.safety.peroxides.as_ref().map(|own| own.value.list);
    listed.map_or_else(|| substance.is("peroxide_former"), |list| list != PeroxideList::D)
}

fn holds_a_former(defs: &Definitions, portion: &Portion) -> bool {
    let former = |substance: &Substance| forms_peroxides(substance) || substance.is("peroxide_former");
    portion.contents.iter().any(|(sub, mass)| mass.si > COUNTS * portion.mass() && former(defs.substance(*sub)))
}

/// Whether all that forms peroxides in what a statement works on was tested before, as it is or as what it was made from.
#[must_use]
pub fn tested(procedure: &Procedure, defs: &Definitions, evaluation: &Evaluation, number: usize) -> bool {
    let from_shelf = |number: usize| evaluation.shelf(number).any(|(_, dispensed)| holds_a_former(defs, &dispensed.portion));
    let inputs = |number: usize| {
        let inputs = evaluation.records.get(&number).map_or(&[][..], |record| &record.inputs);
        inputs.iter().filter(|(_, portion)| holds_a_former(defs, portion)).filter_map(move |(id, _)| Some(((*id)?, number)))
    };
    if from_shelf(number) {
        return false;
    }
    let mut open: Vec<(BindingId, usize)> = inputs(number).collect();
    let mut seen: BTreeSet<(BindingId, usize)> = BTreeSet::new();
    while let Some((id, before)) = open.pop() {
        if !seen.insert((id, before)) {
            continue;
        }
        let binding = procedure.binding(id);
        let mut earlier = procedure.statements.iter().enumerate().take(before);
        let since = earlier.rfind(|(_, statement)| tests(statement, id)).map(|(number, _)| number);
        let mut works: Vec<usize> =
            binding.changed_by.iter().copied().filter(|work| *work < before && since.is_none_or(|since| *work > since)).collect();
        match &binding.origin {
            _ if since.is_some() => {}
            Origin::Take(_) if evaluation.first.get(&id).is_some_and(|portion| holds_a_former(defs, portion)) => return false,
            Origin::Take(_) => {}
            Origin::Result(work, _) => works.push(*work),
        }
        if works.iter().any(|work| from_shelf(*work)) {
            return false;
        }
        open.extend(works.into_iter().flat_map(inputs).filter(|(other, _)| *other != id));
    }
    true
}

/// Whether a statement tests a portion, and in every case.
fn tests(statement: &Statement, id: BindingId) -> bool {
    let of = |arg: &Arg| matches!(arg, Arg::Portions(list) if list.iter().any(|(own, _)| *own == id));
    statement.only_if.is_none() && has(statement, &["test"]) && statement.args.values().any(of)
}

/// A peroxide former distilled or evaporated until too little is left.
fn residue(case: &Case<'_>, number: usize, statement: &Statement, record: &Record, findings: &mut Vec<Diagnostic>) {
    if !has(statement, &["distil", "evaporate"]) {
        return;
    }
    let Some((id, charge)) = record.inputs.first() else { return };
    let whole = charge.mass();
    let former = charge
        .contents
        .iter()
        .filter(|(sub, _)| forms_peroxides(case.defs.substance(**sub)))
        .map(|(sub, mass)| (*sub, mass.si))
        .max_by(|a, b| a.1.total_cmp(&b.1));
    let (Some((sub, mass)), Some((_, _, left))) = (former, record.outputs.iter().find(|(role, ..)| role == "residue")) else { return };
    if case.defs.rule("peroxide_share").is_none_or(|rule| mass < rule.value() * whole) {
        return;
    }
    // From here on both decide.
    let (Some(_), Some(rule)) = (case.rule("peroxide_share"), case.rule("dry_residue")) else { return };
    if left.mass() >= rule.value() * whole {
        return;
    }
    let name = id.map_or("the charge", |id| &case.procedure.binding(id).name);
    let percent = |share: f64| significant(share * 100.0, 2);
    findings.push(
        Diagnostic::new(
            Code::ToDryness,
            statement.span,
            format!(
                "{} % of `{name}` is {}, which forms peroxides, and {} % would be left: peroxides that do not boil over gather there and explode when it is dry",
                percent(mass / whole),
                case.defs.substance(sub).display(),
                percent(left.mass() / whole)
            ),
        )
        .help(format!(
            "{}stop while {} is left ({}), or add something that boils higher and stays behind",
            if tested(case.procedure, case.defs, case.evaluation, number) { "" } else { "test for peroxides first: `test X for peroxides`; " },
            rule.shown(),
            rule.setting.source
        )),
    );
}
