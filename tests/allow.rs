//! What the author stands by: one finding silenced, with its reason on the sheet and in the plan.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

use scruple::load::Memory;
use scruple::pipeline::{Compilation, Request, compile};

const WASH: &str = r#"procedure wash "Wash chlorobenzene" {
    ALLOW_BATCH
    basis solvent

    take solvent = chlorobenzene, 20 mL
    take drier   = calcium_chloride, enough

    ALLOW_WASH
    wash solvent with sodium_chloride, 14 % w/w, 20 mL -> lower washed, upper washings
    heat washed to 40 degC
    cool washed to 25 degC
    dry washed over drier for 20 min                   -> dried clean, spent used_drier

    keep clean as chlorobenzene in bottle
    discard washings as LABEL
    discard used_drier as "solids, halogenated"
}
"#;

fn compiled(batch: &str, wash: &str, label: &str, scale: Option<&str>) -> Compilation {
    let text = WASH.replace("ALLOW_BATCH", batch).replace("ALLOW_WASH", wash).replace("LABEL", label);
    let request = Request { path: "a.scruple".to_owned(), scale: scale.map(str::to_owned), ..Request::default() };
    compile(&request, &Memory::new([("a.scruple", text)]))
}

fn codes(compilation: &Compilation) -> Vec<&'static str> {
    compilation.findings.iter().map(|finding| finding.code.text()).collect()
}

#[test]
fn an_allowed_finding_is_silent_and_stands_on_sheet_and_plan_with_its_reason() {
    let plain = compiled("", "", "\"aqueous, neutral\"", None);
    assert_eq!(codes(&plain), ["layers::too_close"]);
    let allowed = compiled("", "allow layers::too_close \"a drop of each is tried in water\"", "\"aqueous, neutral\"", None);
    assert_eq!(codes(&allowed), [""; 0]);
    let sheet = allowed.sheet().unwrap();
    assert!(sheet.contains("The author stands by it: a drop of each is tried in water. (layers::too_close)"), "{sheet}");
    let plan: serde_json::Value = serde_json::from_str(&allowed.plan().unwrap()).unwrap();
    assert_eq!(plan["findings"].as_array().unwrap().len(), 0);
    assert_eq!(plan["allowed"][0]["finding"]["code"], "layers::too_close");
    assert_eq!(plan["allowed"][0]["reason"], "a drop of each is tried in water");
}

/// One `allow` silences one finding: another code at the same statement, and the same code at
/// another, still stand.
#[test]
fn only_what_is_named_is_silenced() {
    let other = compiled("", "allow apparatus::overfilled \"seen\"", "\"aqueous, neutral\"", None);
    assert_eq!(codes(&other), ["allow::nothing_silenced", "layers::too_close"]);
}

/// What a judge calls an error can be stood by too, and there is a sheet then.
#[test]
fn an_error_of_a_judge_can_be_allowed() {
    let swapped = |allow: &str| {
        let text = WASH.replace("ALLOW_BATCH", "").replace("ALLOW_WASH", allow).replace("LABEL", "\"aqueous, neutral\"");
        let text =
            text.replace("sodium_chloride, 14 % w/w", "water").replace("lower washed, upper washings", "upper washed, lower washings");
        let request = Request { path: "a.scruple".to_owned(), ..Request::default() };
        compile(&request, &Memory::new([("a.scruple", text)]))
    };
    assert_eq!(codes(&swapped("")), ["layers::wrong_side"]);
    assert!(swapped("").sheet().is_none());
    let allowed = swapped("allow layers::wrong_side \"the names are the school's\"");
    assert_eq!(codes(&allowed), [""; 0]);
    assert!(allowed.sheet().unwrap().contains("The author stands by it: the names are the school's."));
}

#[test]
fn a_finding_about_the_batch_is_allowed_before_everything_else() {
    let silent = "allow layers::too_close \"seen\"";
    let large = compiled("", silent, "\"aqueous, neutral\"", Some("20"));
    assert!(codes(&large).contains(&"scale::does_not_follow"), "{:?}", codes(&large));
    let allowed = compiled("allow scale::does_not_follow \"no heat is made\"", silent, "\"aqueous, neutral\"", Some("20"));
    assert!(!codes(&allowed).contains(&"scale::does_not_follow"), "{:?}", codes(&allowed));
    assert!(allowed.sheet().unwrap().contains("The author stands by it: no heat is made."));
    // At the batch as written there is nothing to silence, and nothing is said about it.
    let small = compiled("allow scale::does_not_follow \"no heat is made\"", silent, "\"aqueous, neutral\"", None);
    assert_eq!(codes(&small), [""; 0]);
}
