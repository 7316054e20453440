//! What follows the batch and what does not.

use scruple::chemistry::geometry::{sphere_radius, sphere_surface_to_volume, surface_to_volume_factor};

use super::bench::{codes, compiled, is_found, library, plan};
use super::{Abs, Check, Exact, M, Mc, Rel, S, near, reads};

const GEOMETRY: &str = "geometry";
const ILLINOIS: &str = "University of Illinois, scale-up of reactions";

/// The value of a rule in SI.
#[track_caller]
fn rule(name: &str) -> f64 {
    library(|defs| defs.rule(name).unwrap().setting.value)
}

/// What else is held of a rule, in SI.
#[track_caller]
fn others(name: &str) -> Vec<f64> {
    library(|defs| defs.rule(name).unwrap().others.iter().map(|other| other.value).collect())
}

/// Whether methyl salicylate, distilled with a condenser, is found at fault for it.
fn hot(condenser: &str) -> String {
    let text = format!(
        "basis ester\ntake ester = methyl_salicylate, 50 mL\ndistil ester, collecting 219..224 degC{condenser} -> cut product, residue rest\n\
         keep product as methyl_salicylate in bottle\ndiscard rest as \"flammable, halogen-free\""
    );
    is_found("apparatus::condenser", &text)
}

const ESTER: &str = "procedure pear \"Isoamyl acetate\" {\n    basis alcohol\n\n    take alcohol = isoamyl_alcohol, 10 mL\n    take acid    = acetic_acid, glacial, 20 mL\n\n    \
    reaction esterification {\n        isoamyl_alcohol + acetic_acid <=> isoamyl_acetate + water\n        equilibrium 4.2\n    }\n\n    \
    combine alcohol, acid -> pot\n    add sulfuric_acid, conc, 0.5 mL to pot over 2 min, with cooling\n    reflux pot for 90 min, running esterification\n    \
    keep pot as \"crude ester\" in bottle\n}\n";

/// Seconds of the boil at so many times the batch.
#[track_caller]
fn boil(scale: &str) -> f64 {
    let plan = plan(&compiled(ESTER, Some(scale)));
    let steps = plan["steps"].as_array().unwrap();
    let operations = steps.iter().flat_map(|step| step["operations"].as_array().unwrap());
    operations.filter(|operation| operation["operation"] == "reflux").map(|operation| operation["duration_s"].as_f64().unwrap()).sum()
}

/// mL of alcohol at so many times the batch.
#[track_caller]
fn alcohol(scale: &str) -> f64 {
    let plan = plan(&compiled(ESTER, Some(scale)));
    plan["materials"][0]["volume_mL"].as_f64().unwrap()
}

#[rustfmt::skip]
pub(crate) const CHECKS: &[Check] = &[
    near("I008", "how full a flask may be when it boils, as others hold", 0.5, Exact, "Vogel; ACS", M, || others("boiling_fill").into_iter().next().unwrap()),
    near("I013", "boiling point above which no water condenser, °C", 150.0, Abs(10.0), "prepchem.com, methyl salicylate; 140 to 150 °C in general", S, || rule("water_condenser") - super::ZERO),
    reads("I013", "methyl salicylate distilled under a condenser with water", "found", "prepchem.com, methyl salicylate; 140 to 150 °C in general", S, || hot(", with condenser")),
    reads("I013", "the same under an air condenser", "not found", "prepchem.com, methyl salicylate; 140 to 150 °C in general", S, || hot(", with air_condenser")),
    near("L001", "sphere of 250 mL: radius, cm", 3.91, Rel(0.01), GEOMETRY, Mc, || 100.0 * sphere_radius(250e-6)),
    near("L001", "sphere of 250 mL: surface to volume, 1/m", 76.8, Rel(0.01), GEOMETRY, Mc, || sphere_surface_to_volume(250e-6)),
    near("L002", "sphere of 1 m³: surface to volume, 1/m", 4.84, Rel(0.01), GEOMETRY, Mc, || sphere_surface_to_volume(1.0)),
    near("L005", "surface to volume at 10 times", 0.464, Rel(0.01), GEOMETRY, Mc, || surface_to_volume_factor(10.0)),
    near("L005", "surface to volume at 100 times", 0.215, Rel(0.01), GEOMETRY, Mc, || surface_to_volume_factor(100.0)),
    near("L005", "surface to volume at 1000 times", 0.100, Rel(0.01), GEOMETRY, Mc, || surface_to_volume_factor(1000.0)),
    near("L007", "least factor on the time of an addition at 10 times", 2.15, Rel(0.01), "heat balance", Mc, || 1.0 / surface_to_volume_factor(10.0)),
    reads("L007", "an addition that sets heat free, past the step that is judged", "found", "heat balance", Mc, || {
        let text = include_str!("../ui/scale/does_not_follow.scruple");
        let scale = text.lines().find_map(|line| line.strip_prefix("# scale: ")).unwrap();
        if codes(&compiled(text, Some(scale))).contains(&"scale::does_not_follow") { "found" } else { "not found" }.to_owned()
    }),
    near("L008", "a boil of 90 min at 10 times the batch, min", 90.0, Exact, "general; preparations D1 and D2", M, || boil("10") / 60.0),
    near("L008", "10 mL of alcohol at 10 times the batch, mL", 100.0, Rel(1e-9), "general; preparations D1 and D2", M, || alcohol("10")),
    near("L010", "largest single step where heat is set free", 3.0, Exact, ILLINOIS, S, || rule("scale_step")),
    near("L010", "the same by an older copy of the page", 5.0, Exact, ILLINOIS, S, || others("scale_step").into_iter().next().unwrap()),
    near("L016", "share lost on glass at 8 times, against the small batch", 0.5, Rel(0.01), GEOMETRY, Mc, || surface_to_volume_factor(8.0)),
    near("L017", "batch below which drops and films count, g", 1.0, Exact, "general", M, || 1000.0 * rule("small_batch")),
];
