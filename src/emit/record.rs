//! A record to be filled in at the bench: a text of the language, with the planned figures as comments.

use super::{view, words};
use crate::kinds::{Kind, show};
use crate::matter::linear::{BindingId, Origin};
use crate::outcome::Outcome;
use crate::resolve::record::ordinal;

/// The record of a run on `day` of the procedure in the file that is used as `path`.
#[must_use]
pub fn blank(outcome: &Outcome, path: &str, day: &str) -> String {
    let procedure = &outcome.procedure;
    let evaluation = &outcome.evaluation;
    let mut out = format!("# {}\n", procedure.title);
    out.push_str("# Write what you measured in the place of `not stated`, with the instrument or the limits:\n");
    out.push_str("# `24.31 g on balance 0.01 g`, `30 mL in cylinder 50 mL`, `28.4 ± 0.1 g`. Lines behind `#` are not read.\n\n");
    let variant = procedure.variant.as_ref().map_or_else(String::new, |title| format!("\"{title}\" "));
    out.push_str(&format!("use \"{path}\"\n\nrecord of {} {variant}on {day} {{\n", procedure.name));
    if let Some(take) = procedure.takes.get(procedure.basis)
        && evaluation.scale != 1.0
    {
        let name = &procedure.binding(take.binding).name;
        let sized = outcome.sized_by.as_ref().filter(|sized| !sized.contains('#'));
        let by = |kind: Kind| evaluation.figure(procedure, &outcome.defs, take.binding, kind).map(|si| show(si, kind, 6));
        if let Some(sized) = sized.cloned().or_else(|| by(Kind::Mass).map(|amount| format!("{name} = {amount}"))) {
            out.push_str(&format!("    sized {}\n\n", apart(&sized)));
        }
    }
    out.push_str("    # Taken, as measured out.\n");
    for (number, take) in procedure.takes.iter().enumerate() {
        let planned = evaluation.takes.get(&number).map_or_else(
            || "not known".to_owned(),
            |dispensed| {
                let volume = dispensed.volume.map_or_else(String::new, |volume| format!(" ({})", words::volume(Some(volume.si))));
                format!("{}{volume}", words::mass(dispensed.mass.si))
            },
        );
        out.push_str(&format!("    {} not stated  # planned: {planned}\n", procedure.binding(take.binding).name));
    }
    out.push_str("\n    # Obtained, in the order of the work.\n");
    let is_product = |kept: &view::Kept<'_>| {
        procedure.take_of(kept.binding).is_none() && kept.sub.is_some_and(|sub| outcome.defs.substance(sub).agent.is_none())
    };
    let kept: Vec<BindingId> = view::kept(outcome).iter().filter(|kept| is_product(kept)).map(|kept| kept.binding).collect();
    for (number, binding) in procedure.bindings.iter().enumerate() {
        let id = BindingId(number);
        let (Origin::Result(..), Some(portion)) = (&binding.origin, evaluation.first.get(&id)) else { continue };
        let last = procedure.find(&binding.name) == Some(id);
        let name = match (last, ordinal(binding.occurrence)) {
            (true, _) => binding.name.clone(),
            (false, Some(word)) => format!("{word} {}", binding.name),
            (false, None) => continue,
        };
        let sign = if kept.contains(&id) { "" } else { "# " };
        out.push_str(&format!("    {sign}{name} not stated  # predicted: {}\n", words::mass(portion.mass())));
    }
    for name in kept.iter().map(|id| &procedure.binding(*id).name) {
        out.push_str(&format!("    # purity {name} 98.0 ± 0.5 % by area\n    # water {name} 0.2 % w/w\n"));
    }
    out.push_str("\n    # How it went.\n");
    for step in procedure.steps.iter().filter_map(|step| step.title.as_ref()) {
        out.push_str(&format!("    # step \"{step}\" took 60 min\n"));
    }
    out.push_str("    # collected 100..110 degC\n    # observed \"…\"\n    # deviation \"…\"\n    # note \"…\"\n");
    let agents: Vec<&str> = procedure
        .takes
        .iter()
        .filter(|take| outcome.defs.substance(take.material.sub).agent.is_some())
        .map(|take| procedure.binding(take.binding).name.as_str())
        .collect();
    agents.iter().for_each(|name| out.push_str(&format!("    # jar {name} \"A\"\n")));
    if !agents.is_empty() {
        out.push_str("    # regenerated \"A\" at 300 degC for 15 h\n");
    }
    out.push_str("}\n");
    out
}

/// `alcohol = 60mL` with a blank before the unit.
fn apart(sized: &str) -> String {
    let mut out = String::new();
    for c in sized.chars() {
        if c.is_alphabetic() && out.ends_with(|before: char| before.is_ascii_digit()) && out.contains('=') {
            out.push(' ');
        }
        out.push(c);
    }
    out
}
