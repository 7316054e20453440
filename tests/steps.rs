//! What the library's operations do: sums worked out by hand beside each, sentences on the sheet,
//! matter conserved.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod common;

use scruple::diagnostics::render::{Look, render};
use scruple::pipeline::Compilation;
use serde_json::Value;

/// A procedure of a few lines, with the lines that every one needs.
fn procedure(body: &str) -> String {
    format!("procedure bench \"At the bench\" {{\n{body}\n}}\n")
}

/// Compiles a body that must raise nothing.
fn quiet(body: &str) -> Compilation {
    let compilation = common::compile(procedure(body), None, None);
    assert!(compilation.findings.is_empty(), "{}", render(&compilation.findings, &compilation.sources, Look::Plain));
    closes(&compilation);
    compilation
}

fn plan(compilation: &Compilation) -> Value {
    serde_json::from_str(&compilation.plan().unwrap()).unwrap()
}

/// What went in comes out, element by element, and whole where there is no formula.
fn closes(compilation: &Compilation) {
    let plan = plan(compilation);
    let balance = &plan["material_balance"];
    let sides = balance["elements"].as_object().unwrap().iter().chain(balance["whole"].as_object().unwrap());
    for (what, sides) in sides {
        let (into, out) = (sides["in"].as_f64().unwrap(), sides["out"].as_f64().unwrap());
        assert!((into - out).abs() < 1e-6 * into.abs().max(1e-9), "{what}: {into} in, {out} out");
    }
}

fn near(what: &str, got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "{what}: {got} is not {wanted} ± {within}");
}

/// The portion of that address in the plan, as it was when it got its name.
fn portion(plan: &Value, address: &str) -> Value {
    let portions = plan["portions"].as_array().unwrap();
    portions.iter().find(|portion| portion["address"] == address).unwrap_or_else(|| panic!("no portion {address}")).clone()
}

/// Moles of a substance in a portion.
fn moles(portion: &Value, substance: &str) -> f64 {
    portion["moles"][substance].as_f64().unwrap_or(0.0)
}

fn said(compilation: &Compilation, wanted: &[&str]) {
    let sheet = compilation.sheet().unwrap();
    for sentence in wanted {
        assert!(sheet.contains(sentence), "`{sentence}` is not on the sheet:\n{sheet}");
    }
}

#[test]
fn a_temperature_kept_is_the_temperature_of_what_comes_out() {
    let compilation = quiet(
        r#"    basis oil
    take oil = toluene, 20 mL
    take spirit = ethyl_acetate, 20 mL
    combine oil, spirit, keeping below 10 degC -> pot
    add water, 20 mL to pot over 5 min, keeping 5..8 degC
    stir pot for 10 min, keeping 25..30 degC
    wash pot with water, 20 mL, keeping below 15 degC -> upper crude, lower washings
    keep crude as "solvent" in bottle
    discard washings as "aqueous, neutral""#,
    );
    let plan = plan(&compilation);
    let operations = plan["steps"][0]["operations"].as_array().unwrap();
    let temperatures: Vec<f64> = operations.iter().take(4).map(|operation| operation["temperature_C"].as_f64().unwrap()).collect();
    for (got, wanted) in temperatures.iter().zip([10.0, 8.0, 25.0, 15.0]) {
        near("temperature", *got, wanted, 1e-6);
    }
    near("the layer", portion(&plan, "crude#1")["temperature_C"].as_f64().unwrap(), 15.0, 1e-6);
    near("the time of the addition", operations[1]["duration_s"].as_f64().unwrap(), 300.0, 1e-9);
    said(&compilation, &["keeping it below 10 °C", "keeping it at 5 to 8 °C", "It comes at about 20 °C: cool it first."]);
}

#[test]
fn sums_use_the_bound_of_what_is_repeated_until_it_is_seen() {
    let body = |how: &str| {
        format!(
            r#"    basis oil
    take oil = toluene, 20 mL
    wash oil with water, 10 mL, {how} -> upper clean, lower washings
    keep clean as toluene in bottle
    discard washings as "aqueous, neutral""#
        )
    };
    let washings = |how: &str| portion(&plan(&common::compile(procedure(&body(how)), None, None)), "washings#1")["moles"]["water"].clone();
    assert_eq!(washings("until \"the washings are neutral\", at most 3 times"), washings("3 times"));
    let compilation = common::compile(procedure(&body("until \"the washings are neutral\", at most 3 times")), None, None);
    closes(&compilation);
    said(&compilation, &["until the washings are neutral, up to 3 times"]);
    let salted = quiet(
        r#"    basis lye
    take lye = water, 50 mL
    add sodium_carbonate, 1 g to lye until "a grain stays", at most 4 times
    stir lye until "the solid is dissolved", at most 30 min -> ready
    keep ready as "soda water" in bottle"#,
    );
    // 4 g of sodium carbonate, 105.988 g/mol.
    near("soda", moles(&portion(&plan(&salted), "ready#1"), "sodium_carbonate"), 4.0 / 105.988, 1e-5);
    said(&salted, &["until a grain stays, up to 4 times", "until the solid is dissolved, up to 30 min"]);
}

#[test]
fn a_portion_used_several_times_is_shared_out_and_not_multiplied() {
    let compilation = quiet(
        r#"    basis oil
    take oil = toluene, 20 mL
    take wet = water, 30 mL
    wash oil with wet, 3 times -> upper clean, lower washings
    keep clean as "toluene, wet" in bottle
    discard washings as "aqueous, neutral""#,
    );
    // 30 mL of water at 0.9982 g/mL, 18.015 g/mol, over both layers.
    let plan = plan(&compilation);
    let water = moles(&portion(&plan, "washings#1"), "water") + moles(&portion(&plan, "clean#1"), "water");
    near("water", water, 30.0 * 0.9982 / 18.015, 2e-3);
}

#[test]
fn what_is_added_in_portions_says_how_much_each_is() {
    let compilation = quiet(
        r#"    basis lye
    take lye = water, 50 mL
    add sodium_carbonate, 6 g to lye in 3 portions, over 10 min
    keep lye as "soda water" in bottle"#,
    );
    said(&compilation, &["in 3 portions over 10 min", "Each portion is about 2.0 g."]);
}

#[test]
fn a_reaction_runs_where_portions_are_combined() {
    let compilation = quiet(
        r#"    basis alcohol
    take alcohol = isoamyl_alcohol, 8.815 g
    take anhydride = acetic_anhydride, 1.5 eq
    reaction acetylation {
        isoamyl_alcohol + acetic_anhydride -> isoamyl_acetate + acetic_acid
        conversion 50 %
    }
    combine alcohol, anhydride, running acetylation, keeping below 40 degC -> pot
    keep pot as "crude ester" in bottle"#,
    );
    // 8.815 g at 88.15 g/mol is 0.1000 mol, half of it reacts.
    near("ester", moles(&portion(&plan(&compilation), "pot#1"), "isoamyl_acetate"), 0.05, 1e-5);
}
