//! Matter: unnamed and empty results, reactions that cannot run, what runs out first, what is kept.

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Fact;
use crate::kinds::{Kind, show};
use crate::resolve::definitions::Sub;

/// Share of what a reaction made that may still be there when it has been worked up to something
/// else. Our own figure.
const WORKED_UP: f64 = 0.1;
/// Boiling point below which a liquid on crystals dries off in air, K. Our own figure, 180 °C.
const AIRS: f64 = 453.15;

/// Judges results and reactions.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    for fact in &case.evaluation.facts {
        match fact {
            Fact::Unnamed { span, role, mass, share, main } => {
                let what = main.map_or_else(String::new, |main| format!(", mostly {}", case.defs.substance(main).display()));
                findings.push(
                    Diagnostic::new(
                        Code::UnnamedResult,
                        *span,
                        format!(
                            "the `{role}` has no name, and it would hold {} ({:.1} % of what went in{what})",
                            show(*mass, Kind::Mass, 2),
                            share * 100.0
                        ),
                    )
                    .help(format!("name it behind the arrow, `{role} NAME`, and keep or discard it")),
                );
            }
            Fact::Empty { span, name, role } => findings.push(
                Diagnostic::new(Code::EmptyResult, *span, format!("`{name}` (the {role}) would hold next to nothing"))
                    .help("leave it unnamed, or look at the step before"),
            ),
            Fact::CannotRun { span, reaction, missing } => findings.push(
                Diagnostic::new(
                    Code::CannotRun,
                    *span,
                    format!("`{reaction}` cannot run here: there is no {} in the mixture", case.defs.substance(*missing).display()),
                )
                .help("add it before, or run the reaction where it is"),
            ),
            Fact::NoCatalyst { span, reaction, catalyst } => findings.push(
                Diagnostic::new(
                    Code::NoCatalyst,
                    *span,
                    format!(
                        "`{reaction}` names {} as its catalyst, and there is none in the mixture",
                        case.defs.substance(*catalyst).display()
                    ),
                )
                .help("add it before, or take the `catalyst` line out"),
            ),
            _ => {}
        }
    }
    limiting(case, findings);
    if !case.evaluation.stopped {
        kept(case, findings);
    }
}

/// The basis should be what runs out first in the main reaction.
fn limiting(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let Some(basis) = case.procedure.takes.get(case.procedure.basis) else { return };
    let basis_sub = basis.material.sub;
    let run = case.evaluation.runs.iter().find(|run| {
        case.procedure.reactions.get(run.reaction).is_some_and(|reaction| reaction.left.iter().any(|(_, sub)| *sub == basis_sub))
    });
    if let Some(run) = run
        && run.limiting != basis_sub
    {
        let name = &case.procedure.binding(basis.binding).name;
        findings.push(
            Diagnostic::new(
                Code::NotLimiting,
                case.procedure.basis_span,
                format!(
                    "{} runs out before `{name}`, so yields counted on `{name}` come out too low",
                    case.defs.substance(run.limiting).display()
                ),
            )
            .help("base the procedure on what runs out first, or take more of it"),
        );
    }
}

/// Substances that reactions of the procedure make on purpose: the products of the run that takes
/// the basis, or of the first run, except water.
#[must_use]
pub fn wanted(case: &Case<'_>) -> Vec<Sub> {
    let basis = case.procedure.takes.get(case.procedure.basis).map(|take| take.material.sub);
    let by_basis = case.evaluation.runs.iter().find(|run| {
        case.procedure.reactions.get(run.reaction).is_some_and(|reaction| reaction.left.iter().any(|(_, sub)| Some(*sub) == basis))
    });
    let run = by_basis.or_else(|| case.evaluation.runs.first());
    let Some(reaction) = run.and_then(|run| case.procedure.reactions.get(run.reaction)) else { return Vec::new() };
    let mut made: Vec<Sub> = reaction
        .right
        .iter()
        .map(|(_, sub)| *sub)
        .filter(|sub| {
            let substance = case.defs.substance(*sub);
            !substance.is("water") && !substance.is_gas()
        })
        .collect();
    // The heaviest is what the name on the label stands for.
    made.sort_by(|a, b| {
        let mass = |sub: &Sub| case.defs.substance(*sub).molar_mass().unwrap_or(0.0);
        mass(b).total_cmp(&mass(a))
    });
    made
}

/// Whether a substance that a reaction made has become something else since, as a salt from which
/// the acid is set free: of what was made hardly any is thrown away.
fn worked_up(case: &Case<'_>, sub: Sub) -> bool {
    let molar = case.defs.substance(sub).molar_mass().unwrap_or(0.0);
    let made: f64 = case
        .evaluation
        .runs
        .iter()
        .filter_map(|run| Some((run, case.procedure.reactions.get(run.reaction)?)))
        .map(|(run, reaction)| run.extent.si * reaction.numbers().get(&sub).copied().unwrap_or(0.0).max(0.0) * molar)
        .sum();
    let gone: f64 = case
        .evaluation
        .facts
        .iter()
        .filter_map(|fact| match fact {
            Fact::Discarded { portion, .. } | Fact::Kept { portion, .. } => Some(portion.of(sub)),
            _ => None,
        })
        .sum();
    gone < WORKED_UP * made
}

fn kept(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let mut kept_main = false;
    let wanted = wanted(case);
    let main = wanted.first().copied();
    for fact in &case.evaluation.facts {
        let Fact::Kept { span, binding, portion, kept_as } = fact else { continue };
        let name = &case.procedure.binding(*binding).name;
        if let Some(main) = main
            && portion.of(main) > 0.2 * portion.mass()
        {
            kept_main = true;
        }
        let Some(kept_as) = kept_as else { continue };
        let mut wet = false;
        let water = case.defs.find("water");
        let substance = case.defs.substance(*kept_as);
        if let Some(water) = water
            && *kept_as != water
            && substance.agent.is_none()
        {
            let free = portion.liquid(Some(water)).get(&water).copied().unwrap_or(0.0);
            let hydrophilic = substance.is_miscible();
            if !hydrophilic && case.past("water_left", free / portion.mass().max(1e-30)) {
                wet = true;
                findings.push(
                    Diagnostic::new(
                        Code::WetProduct,
                        *span,
                        format!("`{name}` is kept as {} with {:.1} % of water in it", substance.display(), 100.0 * free / portion.mass()),
                    )
                    .help(case.citing("dry it over an agent, in air, or distil it before it is kept", "water_left")),
                );
            }
        }
        let solvent = portion
            .liquid(water)
            .into_iter()
            .filter(|(sub, _)| *sub != *kept_as && Some(*sub) != water)
            .filter(|(sub, _)| case.defs.substance(*sub).boils.as_ref().is_some_and(|boils| boils.value < AIRS))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((solvent, mass)) = solvent
            && !wet
            && portion.of(*kept_as) >= 0.5 * portion.mass()
            && portion.solid.get(kept_as).is_some_and(|solid| *solid > 0.5 * portion.of(*kept_as))
            && substance.agent.is_none()
            && case.past("water_left", mass / portion.mass().max(1e-30))
        {
            findings.push(
                Diagnostic::new(
                    Code::WetProduct,
                    *span,
                    format!(
                        "`{name}` is kept as {} with {:.1} % of {} still on the crystals",
                        substance.display(),
                        100.0 * mass / portion.mass(),
                        case.defs.substance(solvent).display()
                    ),
                )
                .help(case.citing(&format!("let it dry first: `dry {name} in air for 12 h`"), "water_left")),
            );
        }
        if portion.of(*kept_as) < 0.5 * portion.mass() && portion.mass() > 0.0 {
            let others = portion.contents.iter().filter(|(sub, _)| *sub != kept_as);
            let mostly =
                others.max_by(|a, b| a.1.si.total_cmp(&b.1.si)).map_or_else(String::new, |(sub, _)| case.defs.substance(*sub).display());
            findings.push(
                Diagnostic::new(
                    Code::NothingKept,
                    *span,
                    format!(
                        "`{name}` is kept as {}, and only {:.0} % of it is that; the rest is mostly {mostly}",
                        substance.display(),
                        100.0 * portion.of(*kept_as) / portion.mass()
                    ),
                )
                .help("keep the portion that holds the product, or label this one by what it is"),
            );
        }
    }
    if let Some(main) = main
        && !kept_main
        && !worked_up(case, main)
    {
        // Where the most of it goes instead.
        let gone = case
            .evaluation
            .facts
            .iter()
            .filter_map(|fact| match fact {
                Fact::Discarded { span, name, portion, .. } if portion.of(main) > 0.0 => Some((portion.of(main), *span, name.clone())),
                _ => None,
            })
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let substance = case.defs.substance(main);
        let already = findings.iter().any(|finding| finding.code == Code::NothingKept);
        if already {
            return;
        }
        let (span, message) = match gone {
            Some((mass, span, name)) => (
                span,
                format!(
                    "`{name}` holds {} of {}, which the reaction was run for, and it is thrown away",
                    show(mass, Kind::Mass, 3),
                    substance.display()
                ),
            ),
            None => (case.procedure.span, format!("no portion that holds {} is kept", substance.display())),
        };
        findings.push(Diagnostic::new(Code::NothingKept, span, message).help(format!("write `keep NAME as {} in bottle`", substance.name)));
    }
}
