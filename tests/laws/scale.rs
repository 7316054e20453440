//! The size of the batch: what it is sized by is what comes out, and nothing intensive follows it.

use std::collections::BTreeMap;

use proptest::prelude::*;
use scruple::kinds::Kind;
use scruple::matter::mixture::volume;
use scruple::outcome::Outcome;

use crate::generate::varied;
use crate::{all_texts, cases, compile};

/// Every figure that does not follow the size of the batch, by name, with its tolerance.
fn intensive(outcome: &Outcome) -> BTreeMap<String, (f64, f64)> {
    let mut found = BTreeMap::new();
    let evaluation = &outcome.evaluation;
    for (when, portions) in [("first", &evaluation.first), ("last", &evaluation.portions)] {
        for (id, portion) in portions {
            let name = outcome.procedure.binding(*id).address();
            let mass = portion.mass();
            for (sub, part) in &portion.contents {
                let substance = &outcome.defs.substance(*sub).name;
                found.insert(format!("{when} {name}: share of {substance}"), (part.si / mass, 1e-9));
                let solid = portion.solid.get(sub).copied().unwrap_or(0.0);
                found.insert(format!("{when} {name}: solid {substance}"), (solid / mass, 1e-9));
            }
            // First runnings of which there are none have no density.
            if let Ok(volume) = volume(&portion.masses(), &outcome.defs, &mut Default::default())
                && mass > 0.0
            {
                found.insert(format!("{when} {name}: density"), (volume / mass * 1e3, 1e-9));
            }
            found.insert(format!("{when} {name}: temperature"), (portion.temperature, 1e-6));
        }
    }
    for (number, run) in evaluation.runs.iter().enumerate() {
        found.insert(format!("run {number}: conversion"), (run.conversion, 1e-9));
        found.insert(format!("run {number}: extent"), (run.extent.si / run.most.si, 1e-9));
        found.insert(format!("run {number}: limiting"), (number_of(&outcome.defs.substance(run.limiting).name), 0.0));
    }
    let dispensed = evaluation.takes.iter().map(|(number, what)| (format!("take {number}"), what));
    let materials = evaluation.materials.iter().map(|((number, slot), what)| (format!("statement {number} {slot}"), what));
    for (name, what) in dispensed.chain(materials) {
        found.insert(format!("{name}: strength"), (what.strength, 1e-9));
        if let Some(volume) = what.volume {
            found.insert(format!("{name}: density"), (volume.si / what.mass.si * 1e3, 1e-9));
        }
        if let (Some(moles), Some(basis)) = (what.moles, evaluation.basis_moles) {
            found.insert(format!("{name}: equivalents"), (moles.si / basis.si, 1e-9 * (1.0 + moles.si / basis.si)));
        }
        found.insert(format!("{name}: times"), (f64::from(what.times), 0.0));
    }
    found.insert("findings".to_owned(), (evaluation.findings.len() as f64, 0.0));
    found
}

/// A name as a number, to be compared like the rest.
fn number_of(name: &str) -> f64 {
    name.bytes().fold(0.0, |sum, byte| sum * 31.0 % 1e9 + f64::from(byte))
}

fn compared(one: &Outcome, other: &Outcome) -> Vec<String> {
    let (one, other) = (intensive(one), intensive(other));
    let mut wrong: Vec<String> = one.keys().filter(|key| !other.contains_key(*key)).map(|key| format!("{key} is gone")).collect();
    wrong.extend(other.iter().filter_map(|(key, (b, slack))| match one.get(key) {
        None => Some(format!("{key} is new")),
        Some((a, _)) if (a - b).abs() <= *slack => None,
        Some((a, _)) => Some(format!("{key}: {a} and {b}")),
    }));
    wrong
}

/// The extensive figure of every portion that has one, and how it follows the scale.
fn figures(outcome: &Outcome) -> Vec<(String, Kind, f64)> {
    let mut found = Vec::new();
    for binding in &outcome.procedure.bindings {
        let name = binding.name.clone();
        // A name bound twice is sized by one of its portions, the one that `find` gives.
        let Some(id) = outcome.procedure.find(&name) else { continue };
        for kind in [Kind::Mass, Kind::Volume, Kind::Amount] {
            if let Some(value) = outcome.evaluation.figure(&outcome.procedure, &outcome.defs, id, kind)
                && value > 1e-9
                && !found.iter().any(|(known, of, _)| *known == name && *of == kind)
            {
                found.push((name.clone(), kind, value));
            }
        }
    }
    found
}

fn asked(name: &str, kind: Kind, value: f64) -> String {
    match kind {
        Kind::Mass => format!("{name}={} kg", value),
        Kind::Volume => format!("{name}={} L", value * 1e3),
        _ => format!("{name}={} mol", value),
    }
}

/// The scale at which the evaluation stands, sized so; `None` where the batch has a judge's error.
fn sized(text: &str, name: &str, kind: Kind, value: f64) -> Result<Option<Outcome>, String> {
    let compilation = compile(text, Some(asked(name, kind, value)), None);
    let reach = |code: &str| matches!(code, "amounts::out_of_reach" | "amounts::cannot_size" | "data::not_known" | "data::no_density");
    match compilation.findings.iter().find(|finding| reach(finding.code.text())) {
        Some(finding) => Err(format!("{}: {} {:?}", asked(name, kind, value), finding.message, finding.help)),
        None => Ok(compilation.outcome),
    }
}

proptest! {
    #![proptest_config(cases(24))]

    #[test]
    fn nothing_intensive_follows_the_batch(which in 0_usize..12, scale in 0.2..50.0_f64) {
        let (name, text) = all_texts().nth(which).unwrap();
        let text = text.replace("fixed ", "");
        let one = compile(&text, None, None).outcome.unwrap();
        let Some(other) = compile(&text, None, Some(scale)).outcome else { return Ok(()) };
        let wrong = compared(&one, &other);
        prop_assert!(wrong.is_empty(), "{name} at {scale}:\n{}", wrong.join("\n"));
    }

    #[test]
    fn nor_with_other_figures(text in varied(1.5), scale in 0.2..8.0_f64) {
        let text = text.replace("fixed ", "");
        let Some(one) = compile(&text, None, None).outcome else { return Ok(()) };
        let Some(other) = compile(&text, None, Some(scale)).outcome else { return Ok(()) };
        let wrong = compared(&one, &other);
        prop_assert!(wrong.is_empty(), "at {scale}:\n{}\n{text}", wrong.join("\n"));
    }

    #[test]
    fn scaled_and_then_sized_by_what_is_read_gives_the_scale(
        which in 0_usize..12, scale in 0.2..20.0_f64, at in any::<prop::sample::Index>(), fixed in any::<bool>()
    ) {
        let (name, text) = all_texts().nth(which).unwrap();
        let text = if fixed { text.to_owned() } else { text.replace("fixed ", "") };
        let Some(scaled) = compile(&text, None, Some(scale)).outcome else { return Ok(()) };
        let all = figures(&scaled);
        let (portion, kind, value) = &all[at.index(all.len())];
        let resolved = resolution(&text, portion, *kind, scale, *value);
        let again = match sized(&text, portion, *kind, *value) {
            // What is the same in every batch says nothing of the batch, and may as well not be found.
            Err(_) if resolved < 1e-9 => return Ok(()),
            again => again.map_err(|why| TestCaseError::fail(format!("{name} at {scale}: {why}")))?,
        };
        let Some(again) = again else { return Err(TestCaseError::fail(format!("{name} at {scale}: {portion} {kind:?}: no outcome"))) };
        // Read back.
        let id = again.procedure.find(portion).unwrap();
        let back = again.evaluation.figure(&again.procedure, &again.defs, id, *kind).unwrap();
        prop_assert!((back / value - 1.0).abs() < 1e-9, "{name} at {scale}: {portion} {kind:?} {value} came back as {back}");
        // What is the same in every batch is that at any other, too.
        if resolved < 1e-9 {
            return Ok(());
        }
        // A portion that is partly fixed says little of the batch; its scale is known as well as it resolves it.
        let slack = 1e-9 / resolved.max(1e-3);
        let got = again.evaluation.scale;
        prop_assert!((got / scale - 1.0).abs() < slack, "{name}: {portion} {kind:?} = {value}: {got} for {scale}");
    }

    #[test]
    fn sized_by_an_amount_in_reach_reads_it_back(which in 0_usize..12, at in any::<prop::sample::Index>(), factor in 0.3..5.0_f64) {
        let (name, text) = all_texts().nth(which).unwrap();
        let text = text.replace("fixed ", "");
        let one = compile(&text, None, None).outcome.unwrap();
        let all = figures(&one);
        let (portion, kind, value) = &all[at.index(all.len())];
        let value = value * factor;
        let again = sized(&text, portion, *kind, value).map_err(|why| TestCaseError::fail(format!("{name}: {why}")))?;
        // The vessels of the library may not reach so far.
        let Some(again) = again else { return Ok(()) };
        let id = again.procedure.find(portion).unwrap();
        let back = again.evaluation.figure(&again.procedure, &again.defs, id, *kind).unwrap();
        prop_assert!((back / value - 1.0).abs() < 1e-9, "{name}: {portion} {kind:?} {value} came back as {back}");
    }
}

/// d ln(figure) / d ln(scale), as seen between this batch and one a tenth of a percent larger.
fn resolution(text: &str, portion: &str, kind: Kind, scale: f64, value: f64) -> f64 {
    let Some(other) = compile(text, None, Some(scale * 1.001)).outcome else { return 1.0 };
    let id = other.procedure.find(portion).unwrap();
    let figure = other.evaluation.figure(&other.procedure, &other.defs, id, kind).unwrap_or(value);
    ((figure / value - 1.0) / 0.001).abs()
}
