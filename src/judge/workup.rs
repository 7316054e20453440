//! The work-up: what should be gone before a distillation, and product that goes the wrong way.

use std::collections::BTreeSet;

use super::{Case, matter};
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::evaluate::Fact;
use crate::kinds::{Kind, show, significant};
use crate::matter::linear::{Arg, Binding, BindingId, Origin, Statement};
use crate::matter::mixture::ROOM;
use crate::matter::portion::Portion;
use crate::resolve::definitions::Sub;
use crate::resolve::rule::Rule;

/// Mass fraction of water above which water is a part of the charge and not a leftover. Our own figure.
const WATERY: f64 = 0.2;
/// Temperature above which hydrates are taken to give water back, K. Our own figure, 50 °C.
const WARM: f64 = 323.15;
/// Mass fraction of a hydrate-forming agent above which it counts as left in. Our own figure.
const LEFT_IN: f64 = 0.01;

/// Judges the work-up.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let sought = sought(case);
    for (number, statement) in case.procedure.statements.iter().enumerate() {
        agent_left_in(case, number, statement, findings);
        if does(statement, "distil") {
            charge(case, number, statement, &sought, findings);
        }
    }
    if case.evaluation.stopped || findings.iter().any(|finding| finding.code == Code::NothingKept) {
        return;
    }
    let mut reported = BTreeSet::new();
    for (number, statement) in case.procedure.statements.iter().enumerate() {
        if does(statement, "part") {
            lost(case, number, statement, &sought, &mut reported, findings);
        }
    }
    lost_together(case, &sought, &mut reported, findings);
    thrown_away(case, &sought, &reported, findings);
}

/// The rule that limits a loss of this substance: `name`, or where nothing measured says how it is shared and that allows
/// more, the one for estimates.
fn limit_of<'a>(case: &Case<'a>, name: &'a str, sub: Sub) -> Option<(&'a str, f64)> {
    let plain = case.defs.rule(name).map(Rule::value)?;
    let by_estimate = case.defs.rule("loss_by_estimate").map(Rule::value).filter(|_| case.defs.substance(sub).is_shared_by_estimate());
    Some(by_estimate.filter(|more| *more > plain).map_or((name, plain), |more| ("loss_by_estimate", more)))
}

/// What the procedure is for: the heaviest product of its main reaction, or what is kept by name.
fn sought(case: &Case<'_>) -> Vec<Sub> {
    if let Some(main) = matter::wanted(case).first() {
        return vec![*main];
    }
    let kept = case.evaluation.facts.iter().filter_map(|fact| match fact {
        Fact::Kept { kept_as: Some(sub), .. } => Some(*sub),
        _ => None,
    });
    kept.filter(|sub| case.defs.substance(*sub).agent.is_none() && !case.defs.substance(*sub).is("water")).collect()
}

fn does(statement: &Statement, effect: &str) -> bool {
    statement.operation.effects.iter().any(|call| call.effect == effect)
}

fn runs_reactions(statement: &Statement) -> bool {
    statement.args.values().any(|arg| matches!(arg, Arg::Reactions(list) if !list.is_empty()))
}

/// The portion that a statement works on, as it was before.
fn worked_on<'a>(case: &'a Case<'_>, number: usize) -> Option<(Option<BindingId>, &'a Portion)> {
    case.evaluation.records.get(&number)?.inputs.first().map(|(id, portion)| (*id, portion))
}

fn named(case: &Case<'_>, id: Option<BindingId>) -> String {
    id.map_or_else(|| "the charge".to_owned(), |id| format!("`{}`", case.procedure.binding(id).name))
}

/// An agent that binds water as a hydrate gives it back in the heat.
fn agent_left_in(case: &Case<'_>, number: usize, statement: &Statement, findings: &mut Vec<Diagnostic>) {
    let boils = ["distil", "evaporate", "boil"].iter().any(|effect| does(statement, effect));
    let record = case.evaluation.records.get(&number);
    let held = does(statement, "hold") && record.and_then(|record| record.temperature).is_some_and(|t| t > WARM);
    if !boils && !held || runs_reactions(statement) {
        return;
    }
    let Some((id, portion)) = worked_on(case, number) else { return };
    let water = case.defs.find("water").map_or(0.0, |water| portion.of(water));
    let total = portion.mass();
    // In much water the salt is there for another reason.
    if water <= 0.0 || water > 0.5 * total {
        return;
    }
    let left = portion.solid.iter().find(|(sub, mass)| {
        let substance = case.defs.substance(**sub);
        **mass > LEFT_IN * total && substance.agent.as_ref().is_some_and(|agent| agent.hydrate.is_some())
    });
    let Some((sub, mass)) = left else { return };
    let agent = case.defs.substance(*sub).display();
    findings.push(
        Diagnostic::new(
            Code::AgentLeftIn,
            statement.span,
            format!(
                "{} still holds {} of {agent}, and a hydrate gives its water back when it is heated",
                named(case, id),
                show(*mass, Kind::Mass, 2)
            ),
        )
        .help("filter the agent off first: `filter` it, or dry with `dry X over AGENT for 20 min -> dried X, spent used`"),
    );
}

/// How the liquid in a portion was last treated.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Last {
    Parted,
    Dried,
    Other,
}

/// What was done last to a portion, of parting and drying, before statement `before`: of all that went into it
/// whatever left it wettest.
fn last_treated(case: &Case<'_>, id: BindingId, before: usize) -> Last {
    let mut open = vec![(id, before)];
    let mut seen = BTreeSet::new();
    let mut found = Last::Other;
    while let Some((id, before)) = open.pop() {
        if !seen.insert((id, before)) {
            continue;
        }
        let binding = case.procedure.binding(id);
        let origin = match binding.origin {
            Origin::Result(number, _) => Some(number),
            Origin::Take(_) => None,
        };
        let mut works: Vec<usize> = binding.changed_by.iter().copied().chain(origin).filter(|number| *number < before).collect();
        works.sort_unstable();
        for number in works.into_iter().rev() {
            let Some(statement) = case.procedure.statements.get(number) else { continue };
            if does(statement, "part") {
                return Last::Parted;
            }
            if does(statement, "bind") {
                found = Last::Dried;
                break;
            }
            if ["distil", "evaporate", "boil", "crystallise"].iter().any(|effect| does(statement, effect)) {
                break;
            }
            if Some(number) == origin {
                let inputs = statement.args.values().filter_map(|arg| match arg {
                    Arg::Portions(list) => Some(list),
                    _ => None,
                });
                open.extend(inputs.flatten().map(|(from, _)| (*from, number)));
            }
        }
    }
    found
}

/// Water and strong acid in the charge of a distillation.
fn charge(case: &Case<'_>, number: usize, statement: &Statement, sought: &[Sub], findings: &mut Vec<Diagnostic>) {
    if runs_reactions(statement) {
        return;
    }
    let Some((id, portion)) = worked_on(case, number) else { return };
    let Some(record) = case.evaluation.records.get(&number) else { return };
    let total = portion.mass();
    let water = case.defs.find("water");
    let free = water.and_then(|water| portion.liquid(Some(water)).get(&water).copied()).unwrap_or(0.0);
    let output = |role: &str| record.outputs.iter().find(|(own, ..)| own.starts_with(role)).map(|(.., portion)| portion);
    let cut = output("cut").and_then(Portion::main);
    let percent = |share: f64| significant(100.0 * share, 2);

    let acid: f64 = portion
        .contents
        .iter()
        .filter(|(sub, _)| case.defs.substance(**sub).is_strong_acid() && Some(**sub) != cut)
        .map(|(_, mass)| mass.si)
        .sum();
    if free < WATERY * total && case.past("acid_left", acid / total) {
        findings.push(
            Diagnostic::new(
                Code::AcidDistilled,
                statement.span,
                format!(
                    "{} still holds {} of strong acid ({} %): hot, and with the volatile liquid gone, it turns the reaction back or chars what is left",
                    named(case, id),
                    show(acid, Kind::Mass, 2),
                    percent(acid / total)
                ),
            )
            .help(case.citing(
                "wash it out with sodium_bicarbonate first and dry; if the acid is meant to act here, say which reaction is `running`",
                "acid_left",
            )),
        );
    }

    let Some(cut) = cut.filter(|cut| sought.contains(cut)) else { return };
    let Some(carries) = case.defs.rule("carrier_ratio").map(Rule::value) else { return };
    let carried = output("forerun").is_some_and(|forerun| {
        forerun
            .contents
            .iter()
            .any(|(sub, mass)| Some(*sub) != water && *sub != cut && !case.defs.substance(*sub).is_miscible() && mass.si > carries * free)
    });
    let treated = id.map_or(Last::Other, |id| last_treated(case, id, number));
    let wet = free < WATERY * total && !carried && !case.defs.substance(cut).is_miscible() && treated == Last::Parted;
    if wet && case.past("water_left", free / total) {
        findings.push(
            Diagnostic::new(
                Code::NotDried,
                statement.span,
                format!(
                    "{} comes from a wash and holds {} of water ({} %): it comes over first, takes {} along and clouds the cut",
                    named(case, id),
                    show(free, Kind::Mass, 2),
                    percent(free / total),
                    case.defs.substance(cut).display()
                ),
            )
            .help(case.citing("dry it first: `dry X over magnesium_sulfate, enough for 20 min -> dried X, spent used`", "water_left")),
        );
    }
}

/// What a layer that is thrown away takes along.
fn lost<'a>(
    case: &Case<'a>,
    number: usize,
    statement: &Statement,
    sought: &[Sub],
    reported: &mut BTreeSet<(Sub, &'a str)>,
    findings: &mut Vec<Diagnostic>,
) {
    let Some(record) = case.evaluation.records.get(&number) else { return };
    for sub in sought {
        let Some((rule, limit)) = limit_of(case, "wash_loss", *sub) else { return };
        let whole: f64 = record.outputs.iter().map(|(.., portion)| portion.of(*sub)).sum();
        if case.rule(rule).is_none() {
            return;
        }
        for (binding, portion) in discarded(case, number) {
            let gone = portion.of(*sub);
            if gone < limit * whole || gone > 0.5 * whole || gone <= 0.0 {
                continue;
            }
            reported.insert((*sub, &binding.name));
            let watery = case.defs.find("water").is_some_and(|water| portion.of(water) > 0.5 * portion.mass());
            let substance = case.defs.substance(*sub).display();
            let remedy = if watery {
                format!(
                    "take less water or brine in its place, or shake `{}` out again with a solvent and put that with the rest",
                    binding.name
                )
            } else {
                format!("shake `{}` out once more and put that with the rest", binding.name)
            };
            findings.push(
                Diagnostic::new(
                    Code::LostInWash,
                    statement.span,
                    format!(
                        "`{}` takes {} of {substance} along, {} % of what is there, and it is thrown away",
                        binding.name,
                        show(gone, Kind::Mass, 2),
                        significant(100.0 * gone / whole, 2)
                    ),
                )
                .help(case.citing(&remedy, rule)),
            );
        }
    }
}

/// The layers of a parting that are thrown away.
fn discarded<'a>(case: &Case<'a>, number: usize) -> Vec<(&'a Binding, &'a Portion)> {
    let Some(record) = case.evaluation.records.get(&number) else { return Vec::new() };
    let thrown = |binding: &Binding| binding.used_by.and_then(|by| case.procedure.statements.get(by)).is_some_and(|by| does(by, "discard"));
    let outputs = record.outputs.iter().filter_map(|(_, id, portion)| Some((case.procedure.binding((*id)?), portion)));
    outputs.filter(|(binding, _)| thrown(binding)).collect()
}

/// What all layers that are thrown away take along together, where none by itself takes too much.
fn lost_together<'a>(case: &Case<'a>, sought: &[Sub], reported: &mut BTreeSet<(Sub, &'a str)>, findings: &mut Vec<Diagnostic>) {
    for sub in sought.iter().filter(|sub| !reported.iter().any(|(own, _)| own == *sub)).copied().collect::<Vec<_>>() {
        let mut washes: Vec<(&Binding, f64)> = Vec::new();
        let mut whole = made(case, sub);
        let mut last = None;
        for (number, statement) in case.procedure.statements.iter().enumerate().filter(|(_, statement)| does(statement, "part")) {
            let Some(record) = case.evaluation.records.get(&number) else { continue };
            let here: f64 = record.outputs.iter().map(|(.., portion)| portion.of(sub)).sum();
            whole = whole.max(here);
            for (binding, portion) in discarded(case, number) {
                let gone = portion.of(sub);
                if gone > 0.0 && gone <= 0.5 * here {
                    washes.push((binding, gone));
                    last = Some(statement.span);
                }
            }
        }
        let Some((rule, limit)) = limit_of(case, "washes_loss", sub) else { return };
        let gone: f64 = washes.iter().map(|(_, gone)| gone).sum();
        let Some(span) = last.filter(|_| washes.len() > 1) else { continue };
        if case.rule(rule).is_none() || gone < limit * whole {
            continue;
        }
        reported.extend(washes.iter().map(|(binding, _)| (sub, binding.name.as_str())));
        let names: Vec<&str> = washes.iter().filter(|(_, own)| *own > 0.05 * gone).map(|(binding, _)| binding.name.as_str()).collect();
        findings.push(
            Diagnostic::new(
                Code::LostInWash,
                span,
                format!(
                    "{} together take {} of {} along, {} % of all of it, and they are thrown away",
                    suggest::listed(&names, "and"),
                    show(gone, Kind::Mass, 2),
                    case.defs.substance(sub).display(),
                    significant(100.0 * gone / whole, 2)
                ),
            )
            .help(case.citing(
                "wash with less water or with brine, or fewer times; or shake them out again together and put that with the rest",
                rule,
            )),
        );
    }
}

/// Mass of a substance that the reactions of the procedure make in all.
fn made(case: &Case<'_>, sub: Sub) -> f64 {
    let each = |run: &crate::evaluate::Run| {
        let nu = case.procedure.reactions.get(run.reaction)?.numbers().get(&sub).copied().filter(|nu| *nu > 0.0)?;
        Some(nu * run.extent.si * case.defs.substance(sub).molar_mass()?)
    };
    case.evaluation.runs.iter().filter_map(each).sum()
}

/// More than a tenth of the product in one waste.
fn thrown_away(case: &Case<'_>, sought: &[Sub], reported: &BTreeSet<(Sub, &str)>, findings: &mut Vec<Diagnostic>) {
    let crystallised = case.procedure.bindings.iter().filter(|binding| {
        matches!(binding.origin, Origin::Result(number, _)
            if case.procedure.statements.get(number).is_some_and(|statement| does(statement, "crystallise")))
    });
    let liquors: BTreeSet<&str> = crystallised.map(|binding| binding.name.as_str()).collect();
    // What a still does not part well, beside its cuts.
    let distilled = case.procedure.bindings.iter().filter(|binding| {
        matches!(&binding.origin, Origin::Result(number, role) if role != "cut"
            && case.evaluation.records.get(number).is_some_and(|record| record.distillation.is_some()))
    });
    let runnings: BTreeSet<&str> = distilled.map(|binding| binding.name.as_str()).collect();
    for sub in sought {
        let kept: f64 = case
            .evaluation
            .facts
            .iter()
            .filter_map(|fact| match fact {
                Fact::Kept { portion, .. } => Some(portion.of(*sub)),
                _ => None,
            })
            .sum();
        let discarded = |fact: &Fact| match fact {
            Fact::Discarded { portion, .. } => portion.of(*sub),
            _ => 0.0,
        };
        let Some((thrown, limit)) = limit_of(case, "thrown_away", *sub) else { return };
        // What was made of it counts too, though an acid or base turned it into something else since.
        let whole = (kept + case.evaluation.facts.iter().map(discarded).sum::<f64>()).max(made(case, *sub));
        for fact in &case.evaluation.facts {
            let Fact::Discarded { span, name, portion, .. } = fact else { continue };
            let gone = portion.of(*sub);
            let known = reported.contains(&(*sub, name.as_str()));
            let liquor = liquors.contains(name.as_str());
            // Asked only where it decides.
            let name_of_rule = match () {
                () if liquor => "liquor_loss",
                () if runnings.contains(name.as_str()) => "runnings_loss",
                () => thrown,
            };
            let most = if name_of_rule == thrown { limit } else { case.defs.rule(name_of_rule).map_or(limit, Rule::value) };
            if known || gone <= most * whole || case.rule(name_of_rule).is_none() {
                continue;
            }
            let substance = case.defs.substance(*sub).display();
            findings.push(
                Diagnostic::new(
                    Code::ThrownAway,
                    *span,
                    format!(
                        "`{name}` holds {} of {substance}, {:.0} % of all of it, and it is thrown away",
                        show(gone, Kind::Mass, 2),
                        100.0 * gone / whole
                    ),
                )
                .help(case.citing(
                    if liquor {
                        "take less solvent or cool further, or boil the liquor down for a second crop"
                    } else if case.defs.substance(*sub).is_solid(ROOM) == Some(true) {
                        "get it back: boil it down or cool it, and filter"
                    } else {
                        "get it back: shake it out with a solvent, or distil it again"
                    },
                    name_of_rule,
                )),
            );
        }
    }
}
