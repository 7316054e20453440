//! Recorded runs side by side: what was measured, which runs are one way of working, and whether two ways differ by more than
//! is uncertain about them.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

use std::process::{Command, Output};

use scruple::compare::runs::{Run, Tested, tested};
use scruple::emit::compare::beside;
use scruple::load::Memory;
use scruple::pipeline::{Compilation, check};

/// Isoamyl acetate from the anhydride; all figures are invented.
const PEAR_DROPS: &str = include_str!("ui/accepted/a_record.scruple");

fn near(what: &str, got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "{what}: {got} where {wanted} ± {within} is meant");
}

/// The comparison in one line, since where its lines break is no matter.
fn flat(runs: &[Run], tested: &[Tested]) -> String {
    beside(&[], runs, tested).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The procedure, with a variant and these records.
fn read(records: &str) -> Compilation {
    let procedure = PEAR_DROPS.split("record of").next().unwrap();
    let text = format!("{procedure}\nvariant \"much anhydride\" of pear_drops {{\n    acid = acetic_anhydride, 24 g\n}}\n\n{records}");
    check("pear.scruple", &Memory::new([("pear.scruple", text.as_str())]))
}

fn told(compilation: &Compilation) -> Vec<String> {
    compilation.findings.iter().map(|finding| format!("{}: {}", finding.code.text(), finding.message)).collect()
}

fn runs(records: &str) -> (Vec<Run>, Vec<Tested>) {
    let compilation = read(records);
    assert!(!compilation.has_errors(), "{:?}", told(&compilation));
    let mut runs: Vec<Run> = compilation.reviews.iter().map(Run::of).collect();
    let tested = tested(&mut runs);
    (runs, tested)
}

/// A run of the procedure, or of the variant that is named, with so much of the product.
fn run_of(variant: &str, day: usize, acid: f64, product: f64, more: &str) -> String {
    format!(
        "record of pear_drops {variant}on 2026-03-{day:02} {{\n    alcohol 13.00 ± 0.01 g\n    acid {acid} g\n    product {product:.2} ± 0.01 g\n{more}}}\n\n"
    )
}

/// What theory allows of 13.00 g of the alcohol, g: C5H12O and C7H14O2 with CIAAW abridged weights.
const THEORY: f64 = 13.0 / 88.150 * 130.187;

#[test]
fn two_ways_are_told_apart_where_their_runs_agree() {
    let mut text = String::new();
    let (plain, much) = ([16.00, 16.10, 16.20], [17.00, 17.10, 17.20]);
    for (day, product) in plain.iter().enumerate() {
        text += &run_of("", day + 1, 20.0, *product, "");
    }
    for (day, product) in much.iter().enumerate() {
        text += &run_of("\"much anhydride\" ", day + 11, 24.0, *product, "");
    }
    // Records of the variant come after those of the procedure.
    let (runs, tested) = runs(&text);
    assert_eq!((runs.len(), tested.len()), (6, 1), "{tested:?}");
    let test = &tested[0];
    assert_eq!((test.quantity, test.ways.len(), test.pairs.len()), ("yield", 2, 1));
    near("mean", test.ways[0].mean, 100.0 * 16.10 / THEORY, 0.01);
    // A standard deviation of 0.1 g of three runs each: u = 0.1 √(2/3), four degrees of freedom, t = 2.87.
    let pair = &test.pairs[0];
    near("difference", pair.difference, 100.0 / THEORY, 0.01);
    near("degrees of freedom", pair.freedom.unwrap(), 4.0, 1e-6);
    near("expanded", pair.expanded, 100.0 * 2.87 * 0.1 * (2.0_f64 / 3.0).sqrt() / THEORY, 0.01);
    assert!(pair.beyond && pair.runs_needed.is_none());
    let text = flat(&runs, &tested);
    assert!(text.contains("B beat A by 5.2 percentage points") && text.contains("more than is uncertain"), "{text}");
}

#[test]
fn runs_that_scatter_are_not_told_apart_and_more_of_them_would_be() {
    let mut text = String::new();
    for (day, product) in [15.5, 16.5].iter().enumerate() {
        text += &run_of("", day + 1, 20.0, *product, "");
    }
    for (day, product) in [16.5, 17.5].iter().enumerate() {
        text += &run_of("\"much anhydride\" ", day + 11, 24.0, *product, "");
    }
    let (runs, tested) = runs(&text);
    let pair = &tested[0].pairs[0];
    assert!(!pair.beyond, "{pair:?}");
    // s = 0.7071 g; t(2n - 2) s √(2/n) < 1 g first at n = 6: t(10) = 2.28 gives 0.931; at 5 it is 2.37 × 0.447 = 1.060.
    assert_eq!(pair.runs_needed, Some(6));
    let text = flat(&runs, &tested);
    assert!(text.contains("not told apart") && text.contains("6 runs of each would tell: 4 more of A, 4 more of B"), "{text}");
}

#[test]
fn single_runs_go_by_their_readings_and_that_is_said() {
    let text = run_of("", 1, 20.0, 16.0, "") + &run_of("\"much anhydride\" ", 2, 24.0, 17.0, "");
    let (runs, tested) = runs(&text);
    let pair = &tested[0].pairs[0];
    assert!(pair.beyond && !pair.scatter_known && pair.factor == 2.0);
    // Each yield: 0.01/√3 of 16 g and of 13 g, together; twice that for both.
    let of =
        |product: f64| 100.0 * product / THEORY * (0.01 / 3.0_f64.sqrt()) * ((1.0 / product).powi(2) + (1.0_f64 / 13.0).powi(2)).sqrt();
    near("expanded", pair.expanded, 2.0 * of(16.0).hypot(of(17.0)), 2e-3);
    assert!(flat(&runs, &tested).contains("how runs of one way scatter is not known"));
}

#[test]
fn runs_of_other_amounts_or_a_deviation_are_another_way() {
    let deviation = "    deviation \"Stood over night.\"\n";
    let text = run_of("", 1, 20.0, 16.0, "")
        + &run_of("", 2, 20.6, 16.1, "")
        + &run_of("", 3, 24.0, 16.4, "")
        + &run_of("", 4, 20.0, 16.2, deviation);
    let (_, tested) = runs(&text);
    let groups: Vec<&[usize]> = tested[0].ways.iter().map(|way| way.runs.as_slice()).collect();
    assert_eq!(groups, [&[0, 1][..], &[2], &[3]]);
    assert!(tested[0].ways[2].told.contains("Stood over night"));
}

#[test]
fn what_cannot_be_set_beside_the_others_is_shown_and_not_tested() {
    let pure = "    purity product 97 ± 1 % by area\n";
    let text = run_of("", 1, 20.0, 16.0, pure)
        + &run_of("", 2, 20.0, 16.1, pure)
        + &run_of("", 3, 20.0, 16.2, "")
        + &run_of("", 4, 20.0, 25.0, pure);
    let (runs, tested) = runs(&text);
    let left: Vec<Option<&str>> = runs.iter().map(|run| run.left_out.as_deref()).collect();
    assert_eq!((left[0], left[1], left[2]), (None, None, Some("its purity was not found")));
    assert!(left[3].unwrap().contains("more than theory"), "{left:?}");
    assert_eq!(tested.iter().map(|test| test.quantity).collect::<Vec<_>>(), ["yield", "purity"]);
    let text = flat(&runs, &tested);
    assert!(text.contains("Shown and not tested: 3 (its purity was not found); 4"), "{text}");
}

fn scruple(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_scruple")).args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).output().unwrap()
}

const RECORDS: [&str; 4] = [
    "examples/records/fructone_1.scruple",
    "examples/records/fructone_2.scruple",
    "examples/records/fructone_3.scruple",
    "examples/records/fructone_4.scruple",
];

/// The example: the procedure, its two variants, and four runs that are made two ways.
#[test]
fn four_runs_of_two_ways_beside_what_is_predicted() {
    let arguments: Vec<&str> = ["compare", "--json", "examples/fructone_variants.scruple"].into_iter().chain(RECORDS).collect();
    let output = scruple(&arguments);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let all: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let names: Vec<&str> = all["ways"].as_array().unwrap().iter().map(|way| way["name"].as_str().unwrap()).collect();
    assert_eq!(names.len(), 3, "the procedure and two variants: {names:?}");
    assert!(names[1].ends_with("hardly any excess of glycol") && names[2].ends_with("twice the glycol"));
    let runs = all["runs"].as_array().unwrap();
    assert_eq!(
        runs.iter().map(|run| run["variant"].as_str()).collect::<Vec<_>>(),
        [None, None, Some("twice the glycol"), Some("twice the glycol")]
    );
    // By hand, with C6H10O3 and C8H14O4: 20.58 g of ketoester are 27.55 g of ketal; 24.31 × 0.968 × 0.998 of it.
    let theory = |grams: f64| grams / 130.143 * 174.196;
    let yields = [24.31 * 0.968 * 0.998 / theory(20.58), 24.02 * 0.961 * 0.994 / theory(20.61), 24.87 * 0.979 * 0.997 / theory(20.60)];
    for (run, wanted) in runs.iter().zip(yields) {
        near("yield", run["yield_percent"]["value"].as_f64().unwrap(), 100.0 * wanted, 0.01);
    }
    assert!(runs[3]["left_out"].as_str().unwrap().contains("more than theory"));
    let test = &all["tested"][0];
    assert_eq!(test["ways"][0]["runs"], serde_json::json!([0, 1]));
    let pair = &test["pairs"][0];
    // One degree of freedom, factor 13.97, s √(1 + 1/2): the second way looks better and is not told apart.
    let scatter = 100.0 * (yields[0] - yields[1]) / 2.0_f64.sqrt();
    near("difference", pair["difference"].as_f64().unwrap(), 100.0 * (yields[2] - 0.5 * (yields[0] + yields[1])), 0.01);
    near("expanded", pair["expanded"].as_f64().unwrap(), 13.97 * scatter * 1.5_f64.sqrt(), 0.05);
    assert_eq!((pair["beyond"].as_bool(), pair["runs_needed"].as_u64()), (Some(false), Some(3)));
}

#[test]
fn a_record_of_another_procedure_is_shown_and_not_tested() {
    let other = "tests/published/records/D22.scruple";
    let arguments: Vec<&str> = std::iter::once("compare").chain(RECORDS[..3].iter().copied()).chain([other]).collect();
    let output = scruple(&arguments);
    let text = String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(text.contains("4 (it is of another procedure,"), "{text}");
    let one = scruple(&["compare", RECORDS[0]]);
    assert_eq!((one.status.code(), one.stdout.is_empty()), (Some(2), true));
    let gone = scruple(&["compare", RECORDS[0], "tests/ui/record/of_another_procedure.scruple"]);
    assert_eq!((gone.status.code(), gone.stdout.is_empty()), (Some(1), true));
}

#[test]
fn a_record_is_of_the_variant_that_it_names() {
    let review = |head: &str| read(&format!("record of pear_drops {head} {{\n    alcohol 13.0 g\n    product 16 g\n}}\n"));
    for (head, variant, called) in [
        ("on 2026-03-14", None, None),
        ("on 2026-03-14 \"much anhydride\"", Some("much anhydride"), Some("much anhydride")),
        ("\"much anhydride\" on 2026-03-14", Some("much anhydride"), None),
        ("\"much anhydride\" on 2026-03-14 \"the second\"", Some("much anhydride"), Some("the second")),
    ] {
        let compilation = review(head);
        assert!(!compilation.has_errors(), "{head}: {:?}", told(&compilation));
        let found = &compilation.reviews[0];
        assert_eq!((found.variant.as_deref(), found.called.as_deref()), (variant, called), "{head}");
    }
    let none = review("\"little anhydride\" on 2026-03-14");
    assert_eq!(none.findings.iter().map(|finding| finding.code.text()).collect::<Vec<_>>(), ["record::procedure"], "{:?}", told(&none));
    assert!(none.findings[0].help.as_deref().unwrap_or("").contains("much anhydride"));
}

#[test]
fn a_blank_record_of_a_variant_names_it() {
    let folder = tempfile::tempdir().unwrap();
    let target = folder.path().join("run.scruple");
    let target = target.to_str().unwrap();
    let made =
        scruple(&["record", "examples/fructone_variants.scruple", "--variant", "twice the glycol", "--on", "2026-03-14", "-o", target]);
    assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
    let output = scruple(&["review", target, "--json"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let document: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(document["reviews"][0]["variant"], "twice the glycol");
}
