//! Measuring: is there an instrument fine enough for what decides the outcome?

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::{Kind, show, significant};
use crate::matter::linear::Take;
use crate::resolve::amount::Expr;
use crate::resolve::definitions::Instrument;

/// Judges the amounts of what limits a reaction and of its catalysts, and of anything of which there
/// is too little to be measured at all.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    for (number, take) in case.procedure.takes.iter().enumerate() {
        let Some(dispensed) = case.evaluation.takes.get(&number) else { continue };
        let by_weight = dispensed.solid || written_by_mass(take) || dispensed.volume.is_none();
        let poured = dispensed.volume.filter(|_| !by_weight).map_or(dispensed.mass.si, |volume| volume.si);
        let best = finest(case, poured, !by_weight);
        // With what stands on the bench it is to be measured well; elsewhere there may be something finer.
        let rule = if case.defs.bench.is_some() { "good_measure" } else { "coarse_measure" };
        let Some(limit) = case.defs.rule(rule).map(|rule| rule.value()) else { return };
        let critical = critical(case, take);
        if poured <= 0.0 || best.is_some_and(|(off, _)| off <= limit || !critical) {
            continue;
        }
        let Some(rule) = case.rule(rule) else { return };
        let kind = if by_weight { Kind::Mass } else { Kind::Volume };
        let name = &case.procedure.binding(take.binding).name;
        let percent = |share: f64| significant(share * 100.0, 2);
        let message = match best {
            Some((off, instrument)) => format!(
                "{} of `{name}` with the {} may be {} % off, and the outcome hangs on it",
                show(poured, kind, 2),
                instrument.title,
                percent(off)
            ),
            None => {
                let hangs = if critical { ", and the outcome hangs on it" } else { "" };
                let none = if case.defs.bench.is_some() {
                    "nothing on this bench measures"
                } else {
                    "nothing that is declared measures as little as"
                };
                format!("{none} {} of `{name}`{hangs}", show(poured, kind, 2))
            }
        };
        let weighed = finest(case, dispensed.mass.si, false).filter(|(off, _)| !by_weight && *off <= limit);
        let help = match weighed {
            Some((off, balance)) => format!(
                "weigh it, and write its amount as a mass: {} on the {} is within {} %",
                show(dispensed.mass.si, Kind::Mass, 2),
                balance.title,
                percent(off)
            ),
            None => "take it from a solution of known strength, or make a larger batch".to_owned(),
        };
        findings.push(Diagnostic::new(Code::TooCoarse, take.material.amount.span, message).help(format!("{help} ({})", rule.cited())));
    }
}

/// Whether the outcome hangs on it: what runs out first, and catalysts.
fn critical(case: &Case<'_>, take: &Take) -> bool {
    let limits = case.evaluation.runs.iter().any(|run| run.limiting == take.material.sub);
    let catalyses =
        case.procedure.reactions.iter().any(|reaction| reaction.catalyst.as_ref().is_some_and(|(sub, _)| *sub == take.material.sub));
    (limits || catalyses) && !take.material.amount.enough
}

/// Whether the author gave a mass, and so weighs.
fn written_by_mass(take: &Take) -> bool {
    matches!(&take.material.amount.expr, Some(Expr::Figure(figure)) if figure.kind == Kind::Mass)
}

/// The instrument that is least off, and the share of the amount by which it may be.
fn finest<'a>(case: &Case<'a>, si: f64, volume: bool) -> Option<(f64, &'a Instrument)> {
    let instruments = case.defs.instruments.iter().map(AsRef::as_ref).filter(|instrument| instrument.volume == volume);
    let off = |instrument: &Instrument| {
        let tolerance = instrument.tolerance.as_ref().map_or(0.0, |tolerance| tolerance.value);
        (0.5 * instrument.step).max(tolerance) / si
    };
    // What is more than the largest holds is filled several times, which is fine enough.
    let largest = instruments.clone().max_by(|a, b| a.range.1.total_cmp(&b.range.1)).filter(|largest| largest.range.1 < si);
    instruments
        .filter(|instrument| instrument.range.0 <= si * (1.0 + 1e-9) && si <= instrument.range.1 * (1.0 + 1e-9))
        .chain(largest)
        .map(|instrument| (off(instrument), instrument))
        .min_by(|a, b| a.0.total_cmp(&b.0))
}
