//! What the author states beside the work: several figures of one amount, what the source isolated,
//! by what the product is known.

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::{Dispensed, Fact};
use crate::kinds::{Kind, show, significant};
use crate::matter::linear::{Arg, Material};
use crate::resolve::about::{self, Check, Identity, Isolated};
use crate::resolve::amount::{Beside, Expr};
use crate::resolve::cursor::Name;
use crate::resolve::definitions::Sub;
use crate::resolve::quantity::Figure;
use crate::source::Span;

/// Beyond this share no rounding excuses a difference: `30.4 g (0.2 mol)`. Our own figure.
const ROUNDED: f64 = 0.05;

/// A stated mass may be above theory by this share for the rounding of both. Our own figure.
const ABOVE: f64 = 0.005;

/// A density that lies further from the library's, as a share, is told. Our own figure.
const DENSITY_APART: f64 = 0.02;

/// Densities at temperatures so far apart, K, are compared as they are. Our own figure.
const WARMTH: f64 = 5.0;

/// Judges what is stated, on an evaluation of the batch as written.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let takes = case.procedure.takes.iter().enumerate();
    for (number, take) in takes {
        if let Some(dispensed) = case.evaluation.takes.get(&number) {
            figures(case, &take.material, dispensed, findings);
        }
    }
    for ((number, slot), dispensed) in &case.evaluation.materials {
        let arg = case.procedure.statements.get(*number).and_then(|statement| statement.args.get(slot));
        if let Some(Arg::Material(material)) = arg {
            figures(case, material, dispensed, findings);
        }
    }
    if case.evaluation.stopped {
        return;
    }
    for one in &case.procedure.about.isolated {
        if let Some((_, sub)) = kept(case, one.name.as_ref(), one.span, findings) {
            isolated(case, one, sub, findings);
        }
    }
    for one in &case.procedure.about.identity {
        if let Some((_, sub)) = kept(case, one.name.as_ref(), one.span, findings) {
            identity(case, one, sub, findings);
        }
    }
}

/// What the source does not state, at the size of this batch.
pub fn judge_open(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let takes = case.procedure.takes.iter().enumerate();
    let takes = takes.map(|(number, take)| (&take.material, case.evaluation.takes.get(&number)));
    let shelf = case.procedure.statements.iter().enumerate().flat_map(|(number, statement)| {
        statement.args.iter().filter_map(move |(slot, arg)| match arg {
            Arg::Material(material) => Some((material.as_ref(), case.evaluation.materials.get(&(number, slot.clone())))),
            _ => None,
        })
    });
    for (material, dispensed) in takes.chain(shelf).filter(|(material, _)| material.amount.not_stated) {
        // What could not be sized has been reported.
        let Some(dispensed) = dispensed else { continue };
        let name = case.defs.substance(material.sub).display();
        let mass = show(dispensed.mass.si, Kind::Mass, 3);
        findings.push(
            Diagnostic::new(
                Code::NotStated,
                material.amount.span,
                format!("how much {name} is not stated; the rest is worked out with {mass}, which is what it takes here"),
            )
            .help("the sheet has a blank for it: write in what you use"),
        );
    }
    for statement in &case.procedure.statements {
        for arg in statement.args.values() {
            if let Arg::NotStated(span) = arg {
                findings.push(
                    Diagnostic::new(
                        Code::NotStated,
                        *span,
                        format!("a figure of this `{}` is not stated", statement.operation.form.verb()),
                    )
                    .help("the sheet has a blank for it: write in what you did"),
                );
            }
        }
    }
}

/// The kept portion that is meant and the substance that it is kept as.
fn kept(case: &Case<'_>, name: Option<&Name>, span: Span, findings: &mut Vec<Diagnostic>) -> Option<(String, Sub)> {
    let kept: Vec<(&str, Sub)> = case
        .evaluation
        .facts
        .iter()
        .filter_map(|fact| match fact {
            Fact::Kept { binding, kept_as: Some(sub), .. } if case.defs.substance(*sub).agent.is_none() => {
                Some((case.procedure.binding(*binding).name.as_str(), *sub))
            }
            _ => None,
        })
        .collect();
    let names: Vec<&str> = kept.iter().map(|(name, _)| *name).collect();
    match about::meant(name, span, &names) {
        Ok(meant) => kept.iter().find(|(name, _)| *name == meant).map(|(name, sub)| ((*name).to_owned(), *sub)),
        Err(finding) => {
            findings.push(*finding);
            None
        }
    }
}

/// What the source isolated, against theory: what the limiting reactant gives, or, where no reaction
/// makes it, what is taken of it.
fn isolated(case: &Case<'_>, one: &Isolated, sub: Sub, findings: &mut Vec<Diagnostic>) {
    let name = case.defs.substance(sub).display();
    let made = case.evaluation.theoretical(case.procedure, case.defs, sub);
    let theory = made.unwrap_or_else(|| case.evaluation.taken(sub));
    if theory <= 0.0 {
        return;
    }
    let most = format!(
        "{} {} at most at the batch as written",
        show(theory, Kind::Mass, 4),
        if made.is_some() { "can be had" } else { "is taken" }
    );
    let why = limiting(case, sub).map_or_else(String::new, |limiting| format!(" ({limiting} runs out first)"));
    let above = |span: Span, message: String| {
        Diagnostic::new(Code::AboveTheory, span, message)
            .help("look up yield and amounts in the source; a weight above theory is a product that is not pure or not dry")
    };
    if let Some(mass) = &one.mass
        && mass.top() > theory * (1.0 + ABOVE)
    {
        findings.push(above(mass.span, format!("{} of {name} is more than theory allows: {most}{why}", show(mass.top(), Kind::Mass, 4))));
        return;
    }
    if let Some(share) = &one.share
        && share.top() > 1.0
    {
        findings.push(above(share.span, format!("a yield of {} % is more than theory allows", significant(share.top() * 100.0, 3))));
        return;
    }
    let (Some(mass), Some(share)) = (&one.mass, &one.share) else { return };
    let ends = [(mass.low, share.low), (mass.top(), share.top())];
    let Some(agree) = case.rule("yields_agree") else { return };
    let off = ends.iter().find(|(mass, share)| (mass / theory - share).abs() > agree.value());
    if let Some((mass, share)) = off {
        findings.push(
            Diagnostic::new(
                Code::YieldDisagrees,
                one.span,
                format!(
                    "{} of {name} is {} % of theory and not {} %: {most}{why}",
                    show(*mass, Kind::Mass, 4),
                    significant(mass / theory * 100.0, 3),
                    significant(share * 100.0, 3)
                ),
            )
            .help("look up yield and amounts in the source, and on which reactant it counts the yield"),
        );
    }
}

/// The reactant that limits the reaction which makes `sub`.
fn limiting(case: &Case<'_>, sub: Sub) -> Option<String> {
    let makes =
        |number: usize| case.procedure.reactions.get(number).is_some_and(|reaction| reaction.right.iter().any(|(_, made)| *made == sub));
    let run = case.evaluation.runs.iter().find(|run| makes(run.reaction))?;
    Some(case.defs.substance(run.limiting).display())
}

/// Melting and boiling point and density as stated, against the library's.
fn identity(case: &Case<'_>, one: &Identity, sub: Sub, findings: &mut Vec<Diagnostic>) {
    let substance = case.defs.substance(sub);
    let Some(apart) = case.rule("identity_apart").map(crate::resolve::rule::Rule::value) else { return };
    for check in &one.checks {
        let Check::Figure(word, figure, at, _) = check else { continue };
        let (known, apart) = match *word {
            "melts" if at.is_none() => (substance.melts.clone(), apart),
            "boils" if at.is_none() => (substance.boils.clone(), apart),
            "density" => {
                let known =
                    substance.liquid_density().filter(|density| at.is_none_or(|at| (at.middle() - density.value.0).abs() <= WARMTH));
                let known = known.map(|density| crate::resolve::definitions::Sourced {
                    value: density.value.1,
                    source: std::sync::Arc::clone(&density.source),
                    span: density.span,
                });
                let apart = known.as_ref().map_or(0.0, |density| density.value * DENSITY_APART);
                (known, apart)
            }
            _ => continue,
        };
        let Some(known) = known else { continue };
        let off = (figure.low - known.value).max(known.value - figure.top());
        if off > apart {
            findings.push(
                Diagnostic::new(
                    Code::IdentityDiffers,
                    figure.span,
                    format!(
                        "`{word}` says {}, and {} is what is known of {} ({})",
                        range(figure),
                        show(known.value, figure.kind, 4),
                        substance.display(),
                        known.source
                    ),
                )
                .help("look up the figure in the source; where it was found under another pressure, say so: `boils 138 degC at 20 mmHg`"),
            );
        }
    }
}

fn range(figure: &Figure) -> String {
    match figure.high {
        Some(high) => format!("{} to {}", show(figure.low, figure.kind, 4), show(high, figure.kind, 4)),
        None => show(figure.low, figure.kind, 4),
    }
}

/// The figures in brackets behind an amount.
fn figures(case: &Case<'_>, material: &Material, dispensed: &Dispensed, findings: &mut Vec<Diagnostic>) {
    let Some(Expr::Figure(first)) = &material.amount.expr else { return };
    for beside in &material.amount.beside {
        findings.extend(figure(case, material, dispensed, first, beside));
    }
}

fn figure(case: &Case<'_>, material: &Material, dispensed: &Dispensed, first: &Figure, beside: &Beside) -> Option<Diagnostic> {
    let kind = beside.figure.kind;
    let comes_to = match kind {
        Kind::Mass => Some(dispensed.mass.si),
        Kind::Volume => dispensed.volume.map(|volume| volume.si),
        Kind::Amount => dispensed.moles.map(|moles| moles.si),
        _ => dispensed.moles.zip(case.evaluation.basis_moles).map(|(moles, basis)| moles.si / basis.si),
    };
    let name = case.defs.substance(material.sub).display();
    let written = |figure: &Figure| words(figure.middle(), figure.kind);
    let (meant, other) = (written(first), written(&beside.figure));
    let finding = |message: String| Diagnostic::new(Code::Disagree, beside.figure.span, message).label(first.span, "this figure is meant");
    let Some(comes_to) = comes_to else {
        let why = match kind {
            Kind::Volume if dispensed.solid => "it is a solid, which is not measured by volume",
            Kind::Volume => "its density is not known",
            _ => "it has no formula",
        };
        return Some(
            finding(format!("{other} of {name} cannot be compared with {meant}: {why}"))
                .help("leave the figure out, or declare what is missing"),
        );
    };
    let off = (beside.figure.middle() - comes_to) / comes_to;
    let agree = case.rule("figures_agree")?.value();
    if off.abs() <= agree || off.abs() <= beside.rounding.min(ROUNDED) {
        return None;
    }
    let way = if off < 0.0 { "less" } else { "more" };
    let message = format!(
        "{meant} of {name}{} is {}, and {other} stands beside it: {} % {way}",
        strength(dispensed),
        words(comes_to, kind),
        significant(off.abs() * 100.0, 2)
    );
    let help = match fits(case, material, dispensed, beside, agree) {
        Some(fitting) => format!("{meant} is {other} of {fitting}: look up in the source which of them is meant"),
        None => "the first figure is meant, and it is used; look up in the source which of them is right, and whether substance and strength are those of the source".to_owned(),
    };
    Some(finding(message).help(help))
}

fn strength(dispensed: &Dispensed) -> String {
    if dispensed.strength < 1.0 { format!(" of {} % w/w", significant(dispensed.strength * 100.0, 3)) } else { String::new() }
}

/// Equivalents and shares are plain numbers; everything else has its unit.
fn words(value: f64, kind: Kind) -> String {
    match kind {
        Kind::Equivalents => format!("{} eq", significant(value, 3)),
        Kind::MoleFraction => format!("{} mol%", significant(value * 100.0, 3)),
        Kind::Amount if value >= 0.01 => format!("{} mol", significant(value, 3)),
        kind => show(value, kind, 3),
    }
}

/// Another substance of the reactions whose molar mass would make mass and moles agree.
fn fits(case: &Case<'_>, material: &Material, dispensed: &Dispensed, beside: &Beside, agree: f64) -> Option<String> {
    if beside.figure.kind != Kind::Amount || dispensed.strength < 1.0 {
        return None;
    }
    let reactions = case.procedure.reactions.iter();
    let substances = reactions.flat_map(|reaction| reaction.left.iter().chain(&reaction.right)).map(|(_, sub)| *sub);
    let molar = dispensed.mass.si / beside.figure.middle();
    let fitting = |own: f64| (own / molar - 1.0).abs() <= agree;
    substances
        .filter(|sub| *sub != material.sub)
        .map(|sub| case.defs.substance(sub))
        .find(|substance| substance.molar_mass().is_some_and(fitting))
        .map(|substance| substance.display())
}
