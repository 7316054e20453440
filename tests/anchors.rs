//! Figures worked out by hand, the plan against its schema, derivations recomputed.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic, missing_docs)]

mod common;

use common::{SAMPLES, check, compile};
use scruple::evaluate::Fact;
use scruple::matter::ledger::Rule;
use serde_json::Value;

fn plan(text: &str, size: Option<&str>) -> Value {
    serde_json::from_str(&compile(text, size, None).plan().unwrap()).unwrap()
}

fn near(what: &str, seen: f64, expected: f64, tolerance: f64) {
    assert!((seen - expected).abs() <= tolerance, "{what}: {seen}, and {expected} ± {tolerance} is expected");
}

fn material<'a>(plan: &'a Value, portion: &str) -> &'a Value {
    plan["materials"].as_array().unwrap().iter().find(|row| row["portion"] == portion).unwrap()
}

#[test]
fn isoamyl_acetate_as_by_hand() {
    let plan = plan(SAMPLES[3].1, None);
    near("alcohol, mol", material(&plan, "alcohol#1")["moles"].as_f64().unwrap(), 0.2206, 0.00005);
    let product = plan["products"].as_array().unwrap().iter().find(|row| row["portion"] == "product#1").unwrap();
    near("theoretical, g", product["theoretical_g"].as_f64().unwrap(), 28.7, 0.05);
    near("conversion", plan["reactions"][0]["conversion"].as_f64().unwrap(), 0.849, 0.0005);
    assert_eq!(plan["reactions"][0]["limiting"], "isoamyl_alcohol");
}

#[test]
fn fructone_as_by_hand() {
    let compilation = compile(SAMPLES[2].1, None, None);
    let outcome = compilation.outcome.as_ref().unwrap();
    let (water, capacity) = outcome
        .evaluation
        .facts
        .iter()
        .find_map(|fact| match fact {
            Fact::Dried { bed: true, water, capacity, .. } => Some((*water, *capacity)),
            _ => None,
        })
        .unwrap();
    // 26 g / 130.143 g/mol = 0.19978 mol: 3.599 g from the reaction, 1 mol% of it 0.036 g of crystal water.
    near("water that arrives, g", water * 1e3, 3.599 + 0.036, 0.001);
    near("sieve before the margin, g", water * 1e3 / 0.22, 16.5, 0.05);
    near("water it holds, g", capacity * 1e3, 1.2 * 3.635, 0.002);
    let plan: Value = serde_json::from_str(&compilation.plan().unwrap()).unwrap();
    near("sieve, g", material(&plan, "bed#1")["mass_g"].as_f64().unwrap(), 19.8, 0.05);
}

#[test]
fn rectified_spirit_as_the_tables_of_legal_metrology() {
    let text = "procedure x \"X\" {\n    basis a\n    take a = ethanol, 96 % v/v, 100 mL\n    keep a as \"spirit\" in bottle\n}\n";
    let row = &plan(text, None)["materials"][0];
    let (mass, moles) = (row["mass_g"].as_f64().unwrap(), row["moles"].as_f64().unwrap());
    // OIML R 22: 96 % by volume is 93.8 % by mass, 0.807 g/mL at 20 °C.
    near("g/mL", mass / 100.0, 0.807, 0.0005);
    near("mass fraction", moles * 46.069 / mass, 0.938, 0.0005);
}

#[test]
fn plans_fit_their_schema_and_repeat_to_the_byte() {
    let schema: Value = serde_json::from_str(&scruple::emit::plan::schema()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for (name, text) in SAMPLES {
        let first = compile(*text, None, None).plan().unwrap();
        assert_eq!(first, compile(*text, None, None).plan().unwrap(), "{name}");
        let mut plan: Value = serde_json::from_str(&first).unwrap();
        let faults: Vec<String> = validator.iter_errors(&plan).map(|error| error.to_string()).collect();
        assert!(faults.is_empty(), "{name}: {faults:?}");
        for field in [
            "format",
            "procedure",
            "language_version",
            "library_version",
            "inputs",
            "batch",
            "materials",
            "reactions",
            "apparatus",
            "steps",
            "portions",
            "products",
            "waste",
            "material_balance",
            "graph",
            "findings",
            "sources",
            "models",
        ] {
            assert!(plan.get(field).is_some(), "{name}: no `{field}`");
        }
        plan["batch"]["scale"] = Value::from("twice");
        assert!(!validator.is_valid(&plan), "{name}: a broken plan was let through");
    }
}

#[test]
fn matter_and_atoms_close() {
    for (name, text) in SAMPLES {
        for scale in ["1", "1.3", "2.9"] {
            let plan: Value = serde_json::from_str(&compile(*text, None, Some(scale)).plan().unwrap()).unwrap();
            let balance = &plan["material_balance"];
            for (element, line) in balance["elements"].as_object().unwrap() {
                let (into, out) = (line["in"].as_f64().unwrap(), line["out"].as_f64().unwrap());
                near(&format!("{name} {element}"), out, into, 1e-9 * into);
            }
            for (substance, line) in balance["substances"].as_object().unwrap() {
                near(&format!("{name} {substance}"), line["closure_g"].as_f64().unwrap(), 0.0, 1e-6);
            }
        }
    }
}

#[test]
fn every_value_follows_from_its_operands() {
    for (name, text) in SAMPLES {
        let outcome = compile(*text, None, None).outcome.unwrap();
        let ledger = &outcome.evaluation.ledger;
        let mut lines = 0;
        for (id, line) in ledger.iter() {
            lines += 1;
            let operands: Vec<f64> = line.from.iter().map(|id| ledger.get(*id).unwrap().si).collect();
            assert!(line.from.iter().all(|from| *from < id), "{name}: {} is worked out from what comes later", line.what);
            let again = match line.rule {
                Rule::Sum => Some(operands.iter().sum()),
                Rule::Difference => Some(operands[0] - operands[1]),
                Rule::Product => Some(operands[0] * operands[1]),
                Rule::Quotient => Some(operands[0] / operands[1]),
                Rule::Written => {
                    assert!(line.span.is_some(), "{name}: {} was written nowhere", line.what);
                    None
                }
                Rule::Datum => {
                    assert!(line.source.as_ref().is_some_and(|source| !source.is_empty()), "{name}: {} has no source", line.what);
                    None
                }
                Rule::Scale | Rule::Model(_) => None,
            };
            if let Some(again) = again {
                near(&format!("{name}: {}", line.what), line.si, again, 1e-12 * again.abs().max(1e-12));
            }
        }
        assert!(lines > 100, "{name}");
    }
}

#[test]
fn intensive_figures_do_not_follow_the_batch() {
    for (name, text) in SAMPLES {
        let text = text.replace("fixed ", "");
        let at = |scale: &str| compile(text.as_str(), None, Some(scale)).outcome.unwrap();
        let (one, other) = (at("1"), at("2.7"));
        for (id, portion) in &one.evaluation.portions {
            let scaled = &other.evaluation.portions[id];
            let (m, n) = (portion.mass(), scaled.mass());
            for (sub, mass) in &portion.contents {
                near(&format!("{name} {}", one.procedure.binding(*id).address()), scaled.of(*sub) / n, mass.si / m, 1e-9);
            }
            near("temperature", scaled.temperature, portion.temperature, 1e-6);
        }
        for (a, b) in one.evaluation.runs.iter().zip(&other.evaluation.runs) {
            near("conversion", b.conversion, a.conversion, 1e-9);
        }
    }
}

#[test]
fn a_file_of_ones_own_declares_what_the_library_lacks() {
    let text = r#"
## A drier of our own, invented for this test.
agent chalk_beads {
    capacity 0.1 g/g source "invented for this test"
    retains 0.2 mL/g source "invented for this test"
    hazard none source "invented for this test"
}

## An ester of our own, invented for this test.
substance school_ester {
    formula C7H14O2 source "invented for this test"
    class ester
    melts -80 degC source "invented for this test"
    boils 140 degC source "invented for this test"
    density 0.87 g/mL at 20 degC source "invented for this test"
    solubility 2 g/L at 20 degC source "invented for this test"
    takes_up 1 % w/w source "invented for this test"
    hazard H226 source "invented for this test"
}

## Weak brine, invented for this test.
solution weak_brine {
    solute sodium_chloride
    strength 5 % w/w source "invented for this test"
}

## Shake with a liquid and draw the layers off apart.
operation shake_out {
    form shake_out <mixture: mixture> against <liquid: material> -> floats, sinks
    needs separatory_funnel
    effect part mixture with liquid -> floats, sinks
    says "Shake {mixture} against {liquid} and draw the layers off apart."
    caution when mixture is flammable "Our own caution: no flame near the funnel."
}

procedure own "Of our own" {
    basis ester
    take ester = school_ester, 40 mL
    shake_out ester against weak_brine, 20 mL -> floats clean, sinks water_layer
    dry clean over chalk_beads, 8 g for 10 min -> dried product, spent used
    keep product as school_ester in bottle
    discard water_layer as "aqueous, neutral"
    discard used as "solids, flammable"
}
"#;
    let compilation = check(text);
    assert_eq!(common::all(&compilation), []);
    let sheet = compilation.sheet().unwrap();
    assert!(sheet.contains("Our own caution: no flame near the funnel."), "{sheet}");
    let plan: Value = serde_json::from_str(&compilation.plan().unwrap()).unwrap();
    let addresses: Vec<&str> = plan["portions"].as_array().unwrap().iter().map(|row| row["address"].as_str().unwrap()).collect();
    assert!(addresses.contains(&"clean#1") && addresses.contains(&"water_layer#1"), "{addresses:?}");
    // A declaration that does not hold together is found where it stands.
    for (from, to) in [
        ("effect part mixture with liquid -> floats, sinks", "effect part mixture -> floats, sinks"),
        ("effect part mixture with liquid -> floats, sinks", "effect part mixture with liquid -> floats, floats"),
        ("-> floats, sinks\n    needs", "-> floats, sinks, hovers\n    needs"),
        ("says \"Shake {mixture}", "says \"Shake {mixtur}"),
        ("when mixture is flammable", "when mixture is green"),
        ("effect part", "effect prat"),
    ] {
        let broken = text.replacen(from, to, 1);
        assert_ne!(broken, text, "{from}");
        let found: Vec<&str> = check(broken.as_str()).findings.iter().map(|finding| finding.code.text()).collect();
        assert!(found.contains(&"resolve::bad_form"), "{to}: {found:?}");
    }
}
