//! Sizes of vessels, how full they may be, and what instruments are good for.

use super::bench::{apparatus, body, codes, compiled, found, instrument, is_found, measures, plan, size_for, sizes, tolerance, weighs_on};
use super::{Abs, Check, Exact, M, Mc, S, SM, Sc, near, reads};

const ISO_FLASKS: &str = "ISO 24450 (preview)";
const COLORADO: &str = "University of Colorado Boulder, organic laboratory handbook";
const E1272: &str = "ASTM E1272-02, Table 1 (preview), class B";
const E969: &str = "ASTM E969, class A";
const E288: &str = "ASTM E288, class A";
const SUM: &str = "computed from the tolerances of ASTM E1272";

/// Which of the sizes in mL an apparatus lacks; `none` if it has them all.
#[track_caller]
fn lacks(name: &str, wanted: &[f64]) -> String {
    let known = sizes(name);
    let missing: Vec<String> = wanted.iter().filter(|size| !known.contains(size)).map(|size| format!("{size} mL")).collect();
    if missing.is_empty() { "none".to_owned() } else { missing.join(", ") }
}

/// Which of the sizes in mL an apparatus has; `none` if it has none of them.
#[track_caller]
fn has(name: &str, unwanted: &[f64]) -> String {
    let known = sizes(name);
    let found: Vec<String> = unwanted.iter().filter(|size| known.contains(size)).map(|size| format!("{size} mL")).collect();
    if found.is_empty() { "none".to_owned() } else { found.join(", ") }
}

/// So many mL of ethyl acetate in a flask of so many mL, distilled or boiled.
fn in_flask(verb: &str, ml: f64, flask: f64) -> String {
    let work = if verb == "distil" {
        format!(
            "distil liquid, collecting 75..79 degC, in round_flask {flask} mL -> cut product, residue rest\n\
             keep product as ethyl_acetate in bottle\ndiscard rest as \"flammable, halogen-free\""
        )
    } else {
        format!("reflux liquid for 1 h in round_flask {flask} mL\nkeep liquid as ethyl_acetate in bottle")
    };
    is_found("apparatus::overfilled", &format!("basis liquid\ntake liquid = ethyl_acetate, {ml} mL\n{work}"))
}

/// Size in mL of the vessel of a kind that a body needs.
#[track_caller]
fn chosen(kind: &str, text: &str) -> f64 {
    let plan = plan(&body(text));
    let found = plan["apparatus"].as_array().unwrap().iter().find(|one| one["kind"] == kind).unwrap();
    found["size_mL"].as_f64().unwrap().round()
}

fn shaken(funnel: &str) -> String {
    format!(
        "basis liquid\ntake liquid = toluene, 120 mL\nwash liquid with water, 240 mL{funnel} -> upper washed, lower washings\n\
         keep washed as \"toluene, wet\" in bottle\ndiscard washings as \"aqueous, neutral\""
    )
}

#[rustfmt::skip]
pub(crate) const CHECKS: &[Check] = &[
    reads("I001", "wide-necked round-bottomed flasks from 50 mL to 10 L: sizes lacking", "none", ISO_FLASKS, S, || lacks("round_flask", &[50.0, 100.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 6000.0, 10_000.0])),
    reads("I002", "wide-necked conical flasks from 50 mL to 1 L: sizes lacking", "none", ISO_FLASKS, S, || lacks("conical_flask", &[50.0, 100.0, 250.0, 500.0, 1000.0])),
    reads("I004", "ground-joint round-bottomed flasks from 10 to 500 mL: sizes lacking", "none", "ASTM E1403-97 (preview)", S, || lacks("round_flask", &[10.0, 25.0, 50.0, 100.0, 250.0, 500.0])),
    reads("I004", "flasks of 150, 200 and 750 mL, which are not made", "none", "ASTM E1403-97 (preview)", S, || has("round_flask", &[150.0, 200.0, 750.0])),
    reads("I007", "a distillation from a flask filled to 62 %", "not found", COLORADO, S, || in_flask("distil", 62.0, 100.0)),
    reads("I007", "a distillation from a flask filled to 72 %", "found", COLORADO, S, || in_flask("distil", 72.0, 100.0)),
    reads("I010", "a boil in a flask filled to 60 %", "not found", "most manuals", M, || in_flask("reflux", 60.0, 100.0)),
    reads("I010", "a boil in a flask filled to 72 %", "found", "most manuals", M, || in_flask("reflux", 72.0, 100.0)),
    near("I011", "how full a separatory funnel may be", 0.75, Exact, "most manuals; StonyLab says 2/3", SM, || apparatus("separatory_funnel").fill.as_ref().unwrap().value),
    reads("I011", "360 mL in a funnel of 500 mL", "not found", "most manuals; StonyLab says 2/3", SM, || is_found("apparatus::overfilled", &shaken(" in separatory_funnel 500 mL"))),
    reads("I011", "360 mL in a funnel of 400 mL", "found", "most manuals; StonyLab says 2/3", SM, || is_found("apparatus::overfilled", &shaken(" in separatory_funnel 400 mL"))),
    reads("I014", "the boil's caution on the top of the condenser", "Never close the top of the condenser.", "R. Beavon; UCLA", S, || {
        let sheet = body("basis liquid\ntake liquid = ethyl_acetate, 60 mL\nreflux liquid for 1 h\nkeep liquid as ethyl_acetate in bottle").sheet().unwrap();
        let at = sheet.find("Never close").unwrap();
        sheet[at..].split_inclusive('.').next().unwrap().to_owned()
    }),
    reads("I017", "siphon extractors from 30 mL to 1 L: sizes lacking", "none", "glassware catalogues", M, || lacks("siphon_extractor", &[30.0, 50.0, 100.0, 150.0, 250.0, 500.0, 1000.0])),
    reads("I020", "beads that reach above the siphon", "found", "general", M, || {
        let codes = codes(&compiled(include_str!("../ui/apparatus/bed_too_large.scruple"), None));
        if codes.contains(&"apparatus::bed_too_large") { "found" } else { "not found" }.to_owned()
    }),
    reads("I020", "beads that lie below the siphon", "nothing", "general", M, || {
        let codes = codes(&compiled(include_str!("../ui/accepted/bed_that_just_fits.scruple"), None));
        if codes.is_empty() { "nothing".to_owned() } else { codes.join(", ") }
    }),
    near("I022", "cylinder of 10 mL, mL", 0.20, Exact, E1272, S, || tolerance("cylinder_10")),
    near("I023", "cylinder of 25 mL, mL", 0.34, Exact, E1272, S, || tolerance("cylinder_25")),
    near("I025", "cylinder of 100 mL, mL", 1.00, Exact, E1272, S, || tolerance("cylinder_100")),
    near("I026", "cylinder of 250 mL, mL", 2.00, Exact, E1272, S, || tolerance("cylinder_250")),
    near("I028", "cylinder of 1000 mL, mL", 6.00, Exact, "ASTM E1272, class B", M, || tolerance("cylinder_1000")),
    near("I037", "transfer pipette of 1 mL, mL", 0.006, Exact, E969, M, || tolerance("transfer_pipette_1")),
    near("I038", "transfer pipette of 2 mL, mL", 0.006, Exact, E969, M, || tolerance("transfer_pipette_2")),
    near("I040", "transfer pipette of 10 mL, mL", 0.02, Exact, E969, M, || tolerance("transfer_pipette_10")),
    near("I041", "transfer pipette of 25 mL, mL", 0.03, Exact, E969, M, || tolerance("transfer_pipette_25")),
    near("I043", "transfer pipette of 100 mL, mL", 0.08, Exact, E969, M, || tolerance("transfer_pipette_100")),
    near("I044", "volumetric flask of 10 mL, mL", 0.02, Exact, E288, M, || tolerance("volumetric_flask_10")),
    near("I046", "volumetric flask of 50 mL, mL", 0.05, Exact, E288, M, || tolerance("volumetric_flask_50")),
    near("I047", "volumetric flask of 100 mL, mL", 0.08, Exact, E288, M, || tolerance("volumetric_flask_100")),
    near("I049", "volumetric flask of 500 mL, mL", 0.20, Exact, E288, M, || tolerance("volumetric_flask_500")),
    near("I050", "volumetric flask of 1000 mL, mL", 0.30, Exact, E288, M, || tolerance("volumetric_flask_1000")),
    near("I052", "piston pipette of 10 µL, systematic, µL", 0.12, Exact, "ISO 8655-2", M, || 1000.0 * tolerance("piston_pipette_10")),
    near("I052", "piston pipette of 100 µL, systematic, µL", 0.8, Exact, "ISO 8655-2", M, || 1000.0 * tolerance("piston_pipette_100")),
    near("I052", "piston pipette of 5000 µL, systematic, µL", 40.0, Exact, "ISO 8655-2", M, || 1000.0 * tolerance("piston_pipette_5000")),
    near("I055", "least that a burette of 10 mL is used for, mL", 3.0, Exact, "USP chapter 31", S, || instrument("burette_10").range.0 * 1e6),
    near("I055", "least that a burette of 25 mL is used for, mL", 7.5, Exact, "USP chapter 31", S, || instrument("burette_25").range.0 * 1e6),
    reads("I058", "what 11.3 mL is measured with", "25 mL cylinder", SUM, Sc, || measures(11.3)),
    near("I058", "error of 11.3 mL in a 100 mL cylinder, %", 8.8, Abs(0.1), SUM, Sc, || 100.0 * tolerance("cylinder_100") / 11.3),
    near("I058", "error of 11.3 mL in a 25 mL cylinder, %", 3.0, Abs(0.1), SUM, Sc, || 100.0 * tolerance("cylinder_25") / 11.3),
    reads("I059", "what 0.23 g is weighed on", "0.001 g balance", "computed: half a step of 0.01 g is 2.2 %", Mc, || weighs_on(0.23)),
    near("I061", "flask for 1755 mL at two thirds, mL", 4000.0, Exact, "computed from the ISO series", Mc, || size_for("round_flask", 1755.0, 2.0 / 3.0)),
    near("I061", "flask that the compiler takes to boil 1755 mL in, mL", 4000.0, Exact, "computed from the ISO series", Mc,
        || chosen("round_flask", "basis liquid\ntake liquid = toluene, 1755 mL\nreflux liquid for 1 h\nkeep liquid as toluene in bottle")),
    near("I062", "funnel for 120 and 240 mL, mL", 500.0, Exact, "computed: 360 mL at three quarters", Mc, || chosen("separatory_funnel", &shaken(""))),
    near("I062", "the same at two thirds, mL", 1000.0, Exact, "computed: 360 mL at two thirds", Mc, || size_for("separatory_funnel", 360.0, 2.0 / 3.0)),
    reads("J217", "concentrated sulfuric acid added to an alcohol and an acid, what it is faulted for", "nothing", "preparations D18 to D21", S, || {
        let text = "basis alcohol\ntake alcohol = isoamyl_alcohol, 8.8 g\ntake acid = acetic_acid, glacial, 23 mL\ncombine alcohol, acid -> pot\n\
            add sulfuric_acid, conc, 2 mL to pot over 2 min, with cooling\nkeep pot as \"charge\" in bottle";
        found(text)
    }),
];
