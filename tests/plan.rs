//! The plan: it keeps its schema, it is the same every time, its figures are those worked out by hand
//! (the arithmetic stands beside each), matter is conserved in it, and every derivation behind it can
//! be recomputed.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;

use scruple::diagnostics::render::{Look, render};
use scruple::emit::plan::schema;
use scruple::evaluate::Fact;
use scruple::load::Memory;
use scruple::matter::ledger::{Id, Rule};
use scruple::pipeline::{Compilation, Request, compile};
use serde_json::{Value, json};

const SAMPLES: [&str; 4] = ["isoamyl_acetate", "butyl_acetate", "fructone", "acetylsalicylic_acid"];

fn compiled_text(name: &str, text: &[u8], size: Option<&str>) -> Compilation {
    let request = Request { path: name.to_owned(), size: size.map(str::to_owned), ..Request::default() };
    let compilation = compile(&request, &Memory::new([(name, text)]));
    assert!(!compilation.has_errors(), "{}", render(&compilation.findings, &compilation.sources, Look::Plain));
    compilation
}

fn text_of(sample: &str) -> Vec<u8> {
    fs::read(PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(format!("tests/samples/{sample}.scruple"))).unwrap()
}

fn compiled(sample: &str) -> Compilation {
    compiled_text(&format!("{sample}.scruple"), &text_of(sample), None)
}

fn plan_of(compilation: &Compilation) -> Value {
    serde_json::from_str(&compilation.plan().unwrap()).unwrap()
}

fn plan(sample: &str) -> Value {
    plan_of(&compiled(sample))
}

fn list<'a>(value: &'a Value, key: &str) -> &'a Vec<Value> {
    value[key].as_array().unwrap_or_else(|| panic!("`{key}` is no list"))
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

/// The entry of a list whose `key` is `is`.
fn entry<'a>(plan: &'a Value, list_key: &str, key: &str, is: &str) -> &'a Value {
    list(plan, list_key).iter().find(|entry| entry[key] == is).unwrap_or_else(|| panic!("no {list_key} with {key} {is}"))
}

fn near(what: &str, got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "{what}: {got} is not {wanted} ± {within}");
}

#[test]
fn plans_keep_their_schema() {
    let schema: Value = serde_json::from_str(&schema()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for sample in SAMPLES {
        let plan = plan(sample);
        let errors: Vec<String> = validator.iter_errors(&plan).map(|error| error.to_string()).collect();
        assert!(errors.is_empty(), "{sample}: {errors:?}");
    }
    // The plan of another size, of a procedure with warnings.
    let sized = plan_of(&compiled_text("isoamyl_acetate.scruple", &text_of("isoamyl_acetate"), Some("product=100 g")));
    assert!(validator.is_valid(&sized));
    assert_eq!(sized["batch"]["sized_by"], "product = 100 g");
    near("the product", number(&sized["products"][0]["mass_g"]), 100.0, 1e-7);
}

#[test]
fn the_schema_refuses_a_broken_plan() {
    let schema: Value = serde_json::from_str(&schema()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let good = plan("isoamyl_acetate");
    assert!(validator.is_valid(&good));
    let broken: [(&str, Value); 8] = [
        ("/format/version", json!("one")),
        ("/materials/0/mass_g", json!("heavy")),
        ("/reactions/0/theoretical_g", json!([28.7])),
        ("/steps", json!({})),
        ("/steps/0/operations/0/inputs", json!("pot#1")),
        ("/portions/0/address", Value::Null),
        ("/material_balance/elements/C", json!(12)),
        ("/graph/edges/0", json!(["take:acid", "statement:1"])),
    ];
    for (at, value) in broken {
        let mut plan = good.clone();
        *plan.pointer_mut(at).unwrap_or_else(|| panic!("the plan has no {at}")) = value;
        assert!(!validator.is_valid(&plan), "{at}");
    }
    let mut without = good.clone();
    without.as_object_mut().unwrap().remove("material_balance");
    assert!(!validator.is_valid(&without), "a plan without its balance");
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    for sample in SAMPLES {
        let (one, two) = (compiled(sample), compiled(sample));
        assert_eq!(one.plan(), two.plan(), "{sample}");
        assert_eq!(one.sheet(), two.sheet(), "{sample}");
    }
    assert_eq!(schema(), schema());
}

/// `value` has these keys; they may be null.
fn has(what: &str, value: &Value, keys: &[&str]) {
    let object = value.as_object().unwrap_or_else(|| panic!("{what} is no object"));
    for key in keys {
        assert!(object.contains_key(*key), "{what} has no `{key}`; it has {:?}", object.keys().collect::<Vec<_>>());
    }
}

#[test]
fn every_field_is_there() {
    for sample in SAMPLES {
        let text = text_of(sample);
        let plan = plan(sample);
        let top = [
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
        ];
        has("the plan", &plan, &top);
        has("format", &plan["format"], &["name", "version"]);
        assert_eq!(plan["procedure"]["name"], sample);
        assert!(plan["language_version"].is_u64() && plan["library_version"].is_string());
        let input = &list(&plan, "inputs")[0];
        assert_eq!(input["name"], format!("{sample}.scruple"));
        assert_eq!(input["sha256"], scruple::resolve::hash(&text));
        has("batch", &plan["batch"], &["scale", "basis", "basis_mol", "sized_by"]);
        let each: [(&str, &[&str]); 8] = [
            ("materials", &["portion", "substance", "grade", "mass_g", "volume_mL", "moles", "equivalents", "measured"]),
            ("reactions", &["name", "limiting", "extent_mol", "conversion", "theoretical_g"]),
            ("apparatus", &["kind", "size_mL", "fill", "step"]),
            ("steps", &["number", "title", "operations"]),
            ("portions", &["address", "moles", "mass_g", "volume_mL", "phases", "temperature_C"]),
            ("products", &["portion", "substance", "mass_g", "theoretical_g", "yield_percent", "purity_percent"]),
            ("waste", &["portion", "stream", "mass_g"]),
            ("findings", &["code", "severity", "line", "message"]),
        ];
        for (key, keys) in each {
            assert!(key == "findings" || !list(&plan, key).is_empty(), "{sample}: there are no {key}");
            for value in list(&plan, key) {
                has(key, value, keys);
            }
        }
        for step in list(&plan, "steps") {
            for operation in list(step, "operations") {
                let keys = ["operation", "inputs", "outputs", "duration_s", "temperature_C", "text", "cautions"];
                has("an operation", operation, &keys);
                assert!(!operation["text"].as_str().unwrap().is_empty());
            }
        }
        has("the balance", &plan["material_balance"], &["substances", "elements", "mass_in_g", "mass_out_g"]);
        assert!(!plan["sources"].as_object().unwrap().is_empty() && !list(&plan, "models").is_empty());
    }
}

#[test]
fn names_in_the_plan_lead_somewhere() {
    for sample in SAMPLES {
        let plan = plan(sample);
        let portions: BTreeSet<&str> = list(&plan, "portions").iter().map(|portion| portion["address"].as_str().unwrap()).collect();
        for step in list(&plan, "steps") {
            for operation in list(step, "operations") {
                for end in ["inputs", "outputs"] {
                    for address in list(operation, end) {
                        assert!(portions.contains(address.as_str().unwrap()), "{sample}: {address}");
                    }
                }
            }
        }
        for product in list(&plan, "products") {
            assert!(portions.contains(product["portion"].as_str().unwrap()), "{sample}: {product}");
        }
        let nodes = list(&plan["graph"], "nodes");
        let place = |node: &Value| nodes.iter().position(|known| known == node).unwrap_or_else(|| panic!("{sample}: no node {node}"));
        let edges = list(&plan["graph"], "edges");
        assert!(!edges.is_empty());
        for edge in edges {
            assert!(place(&edge["from"]) < place(&edge["to"]), "{sample}: {edge} goes against the order");
        }
        assert_eq!(nodes.iter().map(Value::to_string).collect::<BTreeSet<_>>().len(), nodes.len(), "{sample}: a node twice");
    }
}

#[test]
fn isoamyl_acetate_by_hand() {
    let plan = plan("isoamyl_acetate");
    // 24 mL of 0.8104 g/mL at 88.15 g/mol.
    near("moles of alcohol", number(&entry(&plan, "materials", "portion", "alcohol#1")["moles"]), 0.2206, 0.0002);
    near("basis", number(&plan["batch"]["basis_mol"]), 0.2206, 0.0002);
    near("equivalents of acid", number(&entry(&plan, "materials", "portion", "acid#1")["equivalents"]), 2.0, 1e-12);
    let reaction = entry(&plan, "reactions", "name", "esterification");
    assert_eq!(reaction["limiting"], "isoamyl_alcohol");
    // 0.2206 mol at 130.18 g/mol.
    near("theoretical", number(&reaction["theoretical_g"]["isoamyl_acetate"]), 28.7, 0.1);
    // x² / ((1 - x)(2 - x)) = 4.2, with what water the acids bring.
    near("conversion", number(&reaction["conversion"]), 0.849, 0.001);
    let product = &list(&plan, "products")[0];
    near("theoretical of the product", number(&product["theoretical_g"]), 28.7, 0.1);
    let (mass, pure) = (number(&product["mass_g"]), number(&product["purity_percent"]) / 100.0);
    near("yield", number(&product["yield_percent"]), 100.0 * mass * pure / number(&product["theoretical_g"]), 1e-9);
}

#[test]
fn fructone_by_hand() {
    let compilation = compiled("fructone");
    let plan = plan_of(&compilation);
    let reaction = entry(&plan, "reactions", "name", "ketal");
    // 26 g at 130.14 g/mol is 0.1998 mol; as much water, at 18.015 g/mol.
    let made = number(&reaction["theoretical_g"]["water"]);
    near("water of the reaction", made, 3.60, 0.005);
    // 1 mol% of a monohydrate.
    let crystal = number(&entry(&plan, "materials", "portion", "catalyst#1")["moles"]) * 18.015;
    near("crystal water", crystal, 0.036, 0.0005);
    // 0.12 g/g, the least that the beads hold washed by hot condensate (it was 0.22, what they hold cold), and a fifth more.
    let bed = number(&entry(&plan, "materials", "portion", "bed#1")["mass_g"]);
    near("bed before the margin", bed / 1.2, 30.3, 0.05);
    near("bed", bed, 36.4, 0.05);
    near("bed from the water", bed, (made + crystal) / 0.12 * 1.2, 0.001);
    assert_eq!(entry(&plan, "materials", "portion", "bed#1")["measured"]["text"], "36.4 g");
    let facts = &compilation.outcome.as_ref().unwrap().evaluation.facts;
    let arrives = facts.iter().find_map(|fact| match fact {
        Fact::Dried { water, .. } => Some(*water * 1e3),
        _ => None,
    });
    near("water that arrives", arrives.unwrap(), 3.60 + 0.036, 0.005);
}

#[test]
fn spirit_by_the_oiml_table() {
    // OIML R 22: 96 % by volume at 20 °C is 93.84 % by mass, 0.8074 g/mL.
    let text = r#"procedure spirit "Spirit" {
    basis spirit
    take spirit = ethanol, 96 % v/v, 100 mL
    keep spirit as "spirit" in bottle
}
"#;
    let compilation = compiled_text("spirit.scruple", text.as_bytes(), None);
    let plan = plan_of(&compilation);
    let spirit = &list(&plan, "materials")[0];
    near("density", number(&spirit["mass_g"]) / number(&spirit["volume_mL"]), 0.807, 0.0005);
    let share = number(&spirit["moles"]) * 46.068 / number(&spirit["mass_g"]);
    near("strength by mass", share, 0.938, 0.0005);
    let dispensed = compilation.outcome.as_ref().unwrap().evaluation.takes.values().next().unwrap().strength;
    near("strength", dispensed, 0.9384, 0.0002);
}

#[test]
fn matter_is_conserved() {
    for sample in SAMPLES {
        let plan = plan(sample);
        let balance = &plan["material_balance"];
        let (into, out) = (number(&balance["mass_in_g"]), number(&balance["mass_out_g"]));
        near(&format!("{sample}: mass"), out / into, 1.0, 1e-9);
        let elements = balance["elements"].as_object().unwrap();
        assert!(["C", "H", "O"].iter().all(|symbol| elements.contains_key(*symbol)), "{sample}");
        for (symbol, line) in elements {
            near(&format!("{sample}: {symbol}"), number(&line["out"]) / number(&line["in"]), 1.0, 1e-9);
        }
        for (name, line) in balance["whole"].as_object().unwrap() {
            near(&format!("{sample}: {name}"), number(&line["out"]), number(&line["in"]), 1e-9 * into);
        }
        for (name, line) in balance["substances"].as_object().unwrap() {
            let closure = number(&line["in_g"]) + number(&line["made_g"]) - number(&line["out_g"]);
            near(&format!("{sample}: {name}"), closure, 0.0, 1e-9 * into);
            near(&format!("{sample}: closure of {name}"), number(&line["closure_g"]), closure, 1e-9 * into);
            assert!(number(&line["in_g"]) >= 0.0 && number(&line["out_g"]) >= -1e-9 * into, "{sample}: {name} is below nothing");
        }
        let sum = |key: &str| balance["substances"].as_object().unwrap().values().map(|line| number(&line[key])).sum::<f64>();
        near(&format!("{sample}: sum in"), sum("in_g"), into, 1e-9 * into);
        near(&format!("{sample}: sum out"), sum("out_g"), out, 1e-9 * into);
        near(&format!("{sample}: sum made"), sum("made_g"), 0.0, 1e-6 * into);
        for portion in list(&plan, "portions") {
            assert!(number(&portion["mass_g"]) >= 0.0, "{sample}: {portion}");
            for (name, moles) in portion["moles"].as_object().unwrap() {
                assert!(number(moles) >= 0.0, "{sample}: {} holds {moles} mol of {name}", portion["address"]);
            }
        }
    }
}

#[test]
fn every_derivation_can_be_recomputed() {
    let mut failures = Vec::new();
    for sample in SAMPLES {
        let compilation = compiled(sample);
        let evaluation = &compilation.outcome.as_ref().unwrap().evaluation;
        let mut known: BTreeMap<Id, f64> = BTreeMap::new();
        let mut rules: BTreeMap<&str, usize> = BTreeMap::new();
        for (id, line) in evaluation.ledger.iter() {
            let what = format!("{sample}: {} ({:?} = {})", line.what, line.rule, line.si);
            let operands: Vec<f64> = line.from.iter().filter_map(|from| known.get(from).copied()).collect();
            if operands.len() != line.from.len() {
                failures.push(format!("{what}: an operand does not come before it"));
            }
            if line.what.trim().is_empty() {
                failures.push(format!("{what}: it does not say what it is"));
            }
            if !line.si.is_finite() {
                failures.push(format!("{what}: it is not finite"));
            }
            let again = match (line.rule, operands.as_slice()) {
                (Rule::Sum, parts) => Some(parts.iter().sum()),
                (Rule::Difference, [a, b]) => Some(a - b),
                (Rule::Product, [a, b]) => Some(a * b),
                (Rule::Quotient, [a, b]) => Some(a / b),
                (Rule::Difference | Rule::Product | Rule::Quotient, _) => {
                    failures.push(format!("{what}: it has {} operands", operands.len()));
                    None
                }
                _ => None,
            };
            // A sum or difference of large operands is as exact as these are.
            let size = operands.iter().fold(line.si.abs(), |size, operand| match line.rule {
                Rule::Sum | Rule::Difference => size.max(operand.abs()),
                _ => size,
            });
            if let Some(again) = again
                && (again - line.si).abs() > 1e-12 * size
            {
                failures.push(format!("{what}: recomputed it is {again}"));
            }
            let leaf = line.from.is_empty();
            match line.rule {
                Rule::Written if line.span.is_none() => failures.push(format!("{what}: it does not say where it was written")),
                Rule::Datum if line.source.as_ref().is_none_or(|source| source.trim().is_empty()) => {
                    failures.push(format!("{what}: it has no source"));
                }
                Rule::Model(name) if name.trim().is_empty() => failures.push(format!("{what}: the model has no name")),
                Rule::Sum | Rule::Difference | Rule::Product | Rule::Quotient if leaf && line.si != 0.0 => {
                    failures.push(format!("{what}: a leaf that is worked out from nothing"));
                }
                Rule::Written | Rule::Datum | Rule::Scale if !leaf => failures.push(format!("{what}: a leaf with operands")),
                _ => {}
            }
            let rule = match line.rule {
                Rule::Model(_) => "model",
                Rule::Written => "written",
                Rule::Datum => "datum",
                Rule::Scale => "scale",
                _ => "arithmetic",
            };
            *rules.entry(rule).or_default() += 1;
            known.insert(id, line.si);
        }
        assert_eq!(rules.len(), 5, "{sample}: {rules:?}");
    }
    failures.truncate(40);
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// The plan says no more than the ledger: masses of what is taken, portions and extents have a line.
#[test]
fn what_is_taken_and_run_is_in_the_ledger() {
    for sample in SAMPLES {
        let compilation = compiled(sample);
        let evaluation = &compilation.outcome.as_ref().unwrap().evaluation;
        for dispensed in evaluation.takes.values().chain(evaluation.materials.values()) {
            for num in [Some(dispensed.mass), dispensed.volume, dispensed.moles].into_iter().flatten() {
                assert_eq!(evaluation.ledger.get(num.id).unwrap().si, num.si, "{sample}");
            }
        }
        for portion in evaluation.portions.values().chain(evaluation.first.values()) {
            for num in portion.contents.values() {
                assert_eq!(evaluation.ledger.get(num.id).unwrap().si, num.si, "{sample}");
            }
        }
        for run in &evaluation.runs {
            assert_eq!(evaluation.ledger.get(run.extent.id).unwrap().si, run.extent.si, "{sample}");
        }
    }
}
