//! Every number of the sheet and of the plan has an answer to "why?", and the answer is that number.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

use std::collections::BTreeSet;
use std::fs;
use std::sync::Arc;

use scruple::emit::why::{Case, Reason, leaves};
use scruple::load::Memory;
use scruple::pipeline::{Compilation, Request, compile};
use serde_json::Value;

fn files() -> Vec<(String, String)> {
    let mut found = Vec::new();
    for folder in ["examples", "tests/samples"] {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|ending| ending == "scruple") {
                found.push((path.to_string_lossy().into_owned(), fs::read_to_string(&path).unwrap()));
            }
        }
    }
    found.sort();
    assert!(found.len() >= 12);
    found
}

/// The compilation of a procedure; `None` for a document of another kind.
fn compiled(name: &str, text: &str, scale: Option<&str>) -> Option<Compilation> {
    let request = Request { path: name.to_owned(), scale: scale.map(str::to_owned), ..Request::default() };
    let compilation = compile(&request, &Memory::new([(name, text)]));
    compilation.outcome.is_some().then_some(compilation)
}

/// Every figure that a reason rests on, each once; what several rest on is shared.
fn each(reason: &Reason, seen: &mut BTreeSet<*const Reason>, say: &mut dyn FnMut(&Reason)) {
    say(reason);
    for inner in &reason.from {
        if seen.insert(Arc::as_ptr(inner)) {
            each(inner, seen, say);
        }
    }
}

#[test]
fn every_number_of_the_plan_has_a_reason_that_is_it() {
    let mut numbers = 0;
    let mut literal = 0;
    for (name, text) in files() {
        for scale in [None, Some("2.5")] {
            let Some(compilation) = compiled(&name, &text, scale) else { continue };
            let case = Case::new(compilation.outcome.as_ref().unwrap(), &compilation.findings, &compilation.sources);
            for path in leaves("", case.plan()) {
                let Some(value) = case.plan().pointer(&path).and_then(Value::as_f64) else { continue };
                let reason = case.answer(&path).unwrap_or_else(|unknown| panic!("{name} {path}: {unknown:?}"));
                let seen = reason.value.unwrap_or_else(|| panic!("{name} {path}: no figure in {reason:?}"));
                assert!((seen - value).abs() <= 1e-9 * value.abs().max(1e-12), "{name} {path}: {seen} against {value}");
                assert!(!reason.how.is_empty() && !reason.what.is_empty(), "{name} {path}");
                numbers += 1;
                literal += usize::from(reason.how == "as it stands in the plan");
                // A sum is the sum of what stands under it, and so on.
                each(&reason, &mut BTreeSet::new(), &mut |inner| check(inner, &name, &path));
            }
        }
    }
    assert!(numbers > 3000, "{numbers}");
    assert_eq!(literal, 0, "figures without any derivation");
}

/// Where a figure follows by one rule of arithmetic from figures in SI, the rule gives it.
fn check(reason: &Reason, name: &str, path: &str) {
    let Some(value) = reason.value else { return };
    let from: Option<Vec<f64>> = reason.from.iter().map(|inner| inner.value).collect();
    let Some(from) = from.filter(|from| from.len() > 1) else { return };
    let follows = match reason.how.as_str() {
        "the product of" => from.iter().product::<f64>(),
        _ => return,
    };
    // The top of an answer is in the unit of the plan, what stands under it in SI.
    let ratio = value / follows;
    let unit = [1.0, 1e3, 1e6].iter().any(|unit| (ratio / unit - 1.0).abs() < 1e-9);
    assert!(follows == value || unit, "{name} {path}: {value} against {follows} in {reason:?}");
}

/// Numbers as a text writes them, with how many digits stand behind the point.
fn numbers(text: &str) -> Vec<(String, f64, usize)> {
    let mut found = Vec::new();
    let mut word = String::new();
    let letters: Vec<char> = text.chars().chain([' ']).collect();
    let mut before = ' ';
    for (at, letter) in letters.iter().enumerate() {
        let point = *letter == '.' && letters.get(at + 1).is_some_and(char::is_ascii_digit);
        if letter.is_ascii_digit() || point && !word.is_empty() && !word.contains('.') {
            if word.is_empty() {
                before = if at == 0 { ' ' } else { letters[at - 1] };
            }
            word.push(*letter);
        } else if !word.is_empty() {
            // `H315`, `C7H14O2`, `pot2` are names.
            if !before.is_alphabetic() && before != '_' && before != '#' {
                let places = word.split_once('.').map_or(0, |(_, places)| places.len());
                found.push((word.clone(), word.parse().unwrap(), places));
            }
            word.clear();
        }
    }
    found
}

#[test]
fn every_number_of_the_sheet_is_one_that_can_be_explained() {
    for (name, text) in files() {
        let Some(compilation) = compiled(&name, &text, None) else { continue };
        let outcome = compilation.outcome.as_ref().unwrap();
        let case = Case::new(outcome, &compilation.findings, &compilation.sources);
        let (mut values, mut texts) = (BTreeSet::new(), String::new());
        for path in leaves("", case.plan()) {
            let reason = case.answer(&path).unwrap();
            each(&reason, &mut BTreeSet::new(), &mut |inner| {
                values.extend(inner.value.map(f64::to_bits));
                for text in [&inner.shown, &inner.what, &inner.how] {
                    texts.push_str(text);
                    texts.push('\n');
                }
            });
        }
        let said: BTreeSet<String> = numbers(&texts).into_iter().chain(numbers(&text)).map(|(word, ..)| word).collect();
        let values: Vec<f64> = values.into_iter().map(f64::from_bits).collect();
        let sheet = compilation.sheet().unwrap();
        let mut misses = Vec::new();
        // Hashes and the name of their sort are no figures.
        for line in sheet.lines().filter(|line| !line.contains("SHA-256")) {
            for (word, value, places) in numbers(line) {
                let step = 0.5000001 * 10_f64.powi(-i32::try_from(places).unwrap());
                // A figure is shown in other units, and a volume or a mass to three figures.
                let step = step.max(0.005 * value);
                let units = [1.0, 1e3, 1e-3, 1e6, 1e2, 1e-2, 1.0 / 60.0, 1.0 / 3600.0];
                let known = said.contains(&word) || value <= 20.0 && places == 0;
                let known = known || values.iter().any(|own| units.iter().any(|unit| (own.abs() * unit - value).abs() <= step));
                let known = known || values.iter().any(|own| (own - 273.15 - value).abs() <= step);
                if !known {
                    misses.push(format!("{word} in: {line}"));
                }
            }
        }
        assert!(misses.is_empty(), "{name}:\n{}", misses.join("\n"));
    }
}

#[test]
fn people_ask_by_name() {
    let (name, text) = files().into_iter().find(|(name, _)| name.ends_with("samples/isoamyl_acetate.scruple")).unwrap();
    let compilation = compiled(&name, &text, None).unwrap();
    let case = Case::new(compilation.outcome.as_ref().unwrap(), &compilation.findings, &compilation.sources);
    for (asked, value) in [
        ("alcohol.volume", Some(24.0)),
        ("acid.eq", Some(2.0)),
        ("product.yield", None),
        ("crude#1.water", None),
        ("round_flask.size", None),
        ("esterification.conversion", None),
        ("batch.scale", Some(1.0)),
        ("balance.mass_in", None),
        ("step1", None),
    ] {
        let reason = case.answer(asked).unwrap_or_else(|unknown| panic!("{asked}: {unknown:?}"));
        if let Some(value) = value {
            assert!((reason.value.unwrap() - value).abs() < 1e-9, "{asked}: {reason:?}");
        } else {
            assert!(!reason.from.is_empty(), "{asked}");
        }
    }
    // 24 mL of isoamyl alcohol, 0.8104 g/mL, 88.15 g/mol, twice as much acid of 60.052 g/mol: worked out by hand.
    let acid = case.answer("acid.mass").unwrap();
    assert!((acid.value.unwrap() - 24.0 * 0.8104 / 88.15 * 2.0 * 60.052).abs() < 2e-3, "{acid:?}");
    for (asked, said) in [("acdi.mass", "acid"), ("acid.colour", "equivalents"), ("/materials/99/mass_g", "begin with 0"), ("", "alcohol")]
    {
        let unknown = case.answer(asked).unwrap_err();
        assert!(unknown.help.contains(said), "{asked}: {unknown:?}");
    }
}
