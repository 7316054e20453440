//! Beds of beads in a hot return: what reaches them, and what they hold there.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

mod common;

use scruple::pipeline::Compilation;
use serde_json::Value;

/// An ester of a volatile acid whose water a bed holds; `lines` come before the boiling.
fn ester(lines: &str, time: &str, bed: &str) -> Compilation {
    let text = format!(
        "procedure ester_dried \"An ester, the water held by a bed\" {{\n\
         take alcohol = n_hexanol, 25 mL\n take acid = acetic_acid, glacial, 1.0 eq\n take carrier = cyclohexane, 120 mL\n\
         take catalyst = tosic_acid_monohydrate, 1 mol%\n take bed = sieve_3a, activated, {bed}\n basis alcohol\n\
         reaction esterification {{\n n_hexanol + acetic_acid <=> hexyl_acetate + water\n equilibrium 4.2\n\
         catalyst tosic_acid_monohydrate\n }}\n\
         combine alcohol, acid, carrier, catalyst -> pot\n {lines}\
         reflux pot for {time}, running esterification, returning through bed in siphon_extractor 100 mL\n\
         cool pot to 20 degC\n dry bed in air for 24 h\n keep bed as sieve_3a in jar\n keep pot as \"crude ester\" in bottle\n}}\n"
    );
    common::compile(text, None, None)
}

const STANDS_BY: &str = "allow compatibility::agent_destroyed \"a trial\"\n";

fn plan(compilation: &Compilation) -> Value {
    let findings: Vec<&str> = compilation.findings.iter().map(|finding| finding.message.as_str()).collect();
    serde_json::from_str(&compilation.plan().unwrap_or_else(|| panic!("{findings:?}"))).unwrap()
}

/// Grams of acetic acid that the plan's course has over the bed.
fn over_g(plan: &Value) -> f64 {
    let mut operations = plan["steps"].as_array().unwrap().iter().flat_map(|step| step["operations"].as_array().unwrap());
    operations.find_map(|operation| operation["course"]["acids_g"]["acetic_acid"].as_f64()).unwrap()
}

/// A mass as the sheet has it.
fn grams(mass: f64) -> String {
    format!("{mass:.1} g")
}

#[test]
fn acid_that_goes_over_is_the_same_in_the_finding_on_the_sheet_and_in_the_plan() {
    let allowed = ester(STANDS_BY, "6 h", "40 g");
    assert!(allowed.findings.is_empty(), "{:?}", allowed.findings);
    let over = over_g(&plan(&allowed));
    // More than nothing, and no more than a few times the 12 g that were charged.
    assert!(over > 1.0 && over < 40.0, "{over} g");
    let sheet = allowed.sheet().unwrap();
    let said = format!("Besides water about {} of acetic acid goes over the bed with the vapour.", grams(over));
    assert!(sheet.contains(&said), "`{said}` is not on the sheet:\n{sheet}");
    let told = ester("", "6 h", "40 g").findings;
    let finding = told.iter().find(|finding| finding.code.text() == "compatibility::agent_destroyed").unwrap();
    assert!(finding.message.contains(&format!("carries acetic acid to the bed, {} in 6 h", grams(over))), "{}", finding.message);
}

#[test]
fn a_longer_time_brings_no_less_acid_to_the_bed() {
    let mut before = 0.0;
    for time in ["10 min", "1 h", "6 h", "12 h"] {
        let over = over_g(&plan(&ester(STANDS_BY, time, "40 g")));
        assert!(over >= before, "{over} g in {time}, {before} g before");
        before = over;
        let told = ester("", time, "40 g").findings;
        let destroyed = told.iter().any(|finding| finding.code.text() == "compatibility::agent_destroyed");
        // A hundredth of the bed.
        assert_eq!(destroyed, over > 0.4, "{over} g in {time}");
    }
}

/// The bed of a ketal: mass as sized, g; what is said of it; the word for what limits the work.
fn ketal(bed: &str) -> (f64, String, String) {
    let text = format!(
        "procedure ketal \"A ketal under a dried return\" {{\n basis ketone\n take ketone = cyclohexanone, 20 g\n\
         take glycol = ethylene_glycol, 1.2 eq\n take carrier = cyclohexane, 120 mL\n\
         take catalyst = tosic_acid_monohydrate, 1 mol%\n take bed = {bed}\n\
         reaction ketal {{\n cyclohexanone + ethylene_glycol <=> cyclohexanone_ethylene_ketal + water\n equilibrium 1.5\n\
         catalyst tosic_acid_monohydrate\n }}\n\
         combine ketone, glycol, carrier, catalyst -> pot\n\
         reflux pot for 16 h, running ketal, returning through bed in siphon_extractor 100 mL\n\
         dry bed in air for 24 h\n keep bed as \"spent bed\" in jar\n keep pot as \"crude ketal\" in bottle\n}}\n"
    );
    let compilation = common::compile(text, None, None);
    let plan = plan(&compilation);
    let mut takes = plan["materials"].as_array().unwrap().iter();
    let mass = takes.find(|take| take["portion"] == "bed#1").unwrap()["mass_g"].as_f64().unwrap();
    let mut operations = plan["steps"].as_array().unwrap().iter().flat_map(|step| step["operations"].as_array().unwrap());
    let limit = operations.find_map(|operation| operation["course"]["limit"].as_str()).unwrap().to_owned();
    (mass, compilation.sheet().unwrap(), limit)
}

/// Water that can arrive, g: that of 20 g of ketone, mol for mol, and of the catalyst's crystals.
const ARRIVES: f64 = 20.0 / 98.145 * 1.01 * 18.015;

#[test]
fn enough_of_a_bed_in_a_hot_return_is_enough() {
    let (mass, sheet, limit) = ketal("sieve_3a, activated, enough");
    assert!((mass - ARRIVES / 0.12).abs() < 0.005 * mass, "{mass} g for {ARRIVES} g of water");
    assert_eq!(limit, "equilibrium");
    assert!(sheet.contains("(12 to 16 %) washed by hot condensate, by the least of which it is sized."), "{sheet}");
    assert!(!sheet.contains("put in a fresh one half-way"), "{sheet}");
}

#[test]
fn a_bed_sized_by_the_cold_figure_is_full_before_the_end() {
    let given = format!("sieve_3a, activated, {:.1} g", ARRIVES / 0.22 + 0.1);
    let (_, sheet, limit) = ketal(&given);
    assert_eq!(limit, "bed");
    assert!(sheet.contains(&format!("take {:.1} g of it, or put in a fresh one half-way", ARRIVES / 0.12)), "{sheet}");
}

#[test]
fn standing_in_the_cold_it_is_still_the_cold_figure() {
    let text = "procedure dried \"Toluene over beads\" {\n basis wet\n take wet = toluene, 20 mL\n take water_in = water, 2 g\n\
                take beads = sieve_3a, activated, enough\n combine wet, water_in -> liquid\n\
                dry liquid over beads for 24 h -> dried clear, spent used\n\
                discard used as \"solids, flammable\"\n keep clear as toluene in bottle\n}\n";
    let plan = plan(&common::compile(text, None, None));
    let mut takes = plan["materials"].as_array().unwrap().iter();
    let mass = takes.find(|take| take["portion"] == "beads#1").unwrap()["mass_g"].as_f64().unwrap();
    assert!((mass - 2.0 / 0.22).abs() < 0.01 * mass, "{mass} g");
}
