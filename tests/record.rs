//! Records: what was measured against what the procedure gives.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use scruple::emit::{record::blank, review::text};
use scruple::load::Loader;
use scruple::pipeline::{Compilation, Request, check, compile};
use scruple::record::Review;
use scruple::record::jars::jars;

/// Files below the project's folder, by paths taken from the file that uses them; texts given by hand come first.
#[derive(Default)]
struct Files(BTreeMap<String, String>);

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

impl Loader for Files {
    fn locate(&self, path: &str, from: Option<&str>) -> String {
        let joined = Path::new(from.unwrap_or("")).parent().unwrap_or(Path::new("")).join(path);
        let mut parts: Vec<&str> = Vec::new();
        for part in joined.to_str().unwrap().split('/') {
            if part == ".." {
                parts.pop();
            } else {
                parts.push(part);
            }
        }
        parts.join("/")
    }

    fn load(&self, located: &str) -> Result<Vec<u8>, String> {
        match self.0.get(located) {
            Some(text) => Ok(text.clone().into_bytes()),
            None => fs::read(root().join(located)).map_err(|error| error.to_string()),
        }
    }
}

fn told(compilation: &Compilation) -> Vec<String> {
    compilation.findings.iter().map(|finding| format!("{}: {}", finding.code.text(), finding.message)).collect()
}

fn reviewed(path: &str) -> Compilation {
    let compilation = check(path, &Files::default());
    assert!(!compilation.has_errors(), "{path}: {:?}", told(&compilation));
    compilation
}

/// A record of the pear drops of the explain pages, with these lines.
fn pear_drops(lines: &str) -> Compilation {
    let page = fs::read_to_string(root().join("tests/ui/accepted/a_record.scruple")).unwrap();
    let procedure = page.split("record of").next().unwrap();
    let text = format!("{procedure}\nrecord of pear_drops on 2026-03-14 {{\n{lines}\n}}\n");
    check("pear.scruple", &Files(BTreeMap::from([("pear.scruple".to_owned(), text)])))
}

fn near(what: &str, got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "{what}: {got} where {wanted} ± {within} is meant");
}

/// C5H12O and C7H14O2 with CIAAW abridged weights, g/mol.
const ALCOHOL: f64 = 88.150;
const ESTER: f64 = 130.187;

#[test]
fn a_yield_is_that_of_a_sum_by_hand() {
    let compilation = pear_drops(
        "alcohol 13.02 ± 0.03 g\nacid 21 g\nproduct 16.40 ± 0.06 g\npurity product 97.0 ± 0.6 % by area\nwater product 0.5 ± 0.1 % w/w",
    );
    assert!(compilation.findings.is_empty(), "{:?}", told(&compilation));
    let product = &compilation.reviews[0].products[0];
    let theory = 13.02 / ALCOHOL * ESTER;
    near("theory", product.theory_g.value, theory, 2e-3);
    near("crude", product.crude.of_theory.value, 16.40 / theory, 1e-4);
    let corrected = product.corrected.as_ref().unwrap();
    let wanted = 16.40 * 0.97 * 0.995 / theory;
    near("corrected", corrected.of_theory.value, wanted, 1e-4);
    // Limits over the root of three, relative, in squares: alcohol, product, purity, water.
    let parts = [0.03 / 13.02, 0.06 / 16.40, 0.6 / 97.0, 0.1 / 99.5].map(|part: f64| part * part / 3.0);
    let relative = parts.iter().sum::<f64>().sqrt();
    near("standard uncertainty", corrected.of_theory.standard, wanted * relative, 1e-3 * wanted * relative);
    near("expanded", corrected.of_theory.expanded, 2.0 * corrected.of_theory.standard, 1e-15);
    assert_eq!(corrected.budget[0].what, "purity of product");
    near("share of the purity", corrected.budget[0].share, parts[2] / parts.iter().sum::<f64>(), 1e-3);
    near("all shares", corrected.budget.iter().map(|part| part.share).sum(), 1.0, 1e-9);
}

#[test]
fn an_instrument_tells_how_far_a_reading_goes() {
    let standard = |line: &str| {
        let compilation = pear_drops(&format!("alcohol 13.00 g\n{line}"));
        assert!(compilation.findings.is_empty(), "{line}: {:?}", told(&compilation));
        compilation.reviews[0].products[0].found_g.standard
    };
    // Two readings in steps of 0.01 g; no tolerance is declared for it.
    near("balance", standard("product 16.40 g on balance 0.01 g"), 0.01 / 12_f64.sqrt() * 2_f64.sqrt(), 1e-9);
    near("digits", standard("product 16.4 g"), 0.05 / 3_f64.sqrt(), 1e-9);
    near("limits", standard("product 16.4 ± 0.2 g"), 0.2 / 3_f64.sqrt(), 1e-9);
    let analytical = standard("product 16.4000 g on balance 0.0001 g");
    assert!(analytical < 5e-4, "{analytical}");
    let (small, large) = (standard("product 19 mL in cylinder 25 mL"), standard("product 19 mL in cylinder 100 mL"));
    assert!(0.1 < small && small < large && large < 1.0, "{small}, {large}");
}

#[test]
fn more_than_theory_is_told_unless_the_readings_leave_it_open() {
    let codes = |lines: &str| -> Vec<&'static str> { pear_drops(lines).findings.iter().map(|finding| finding.code.text()).collect() };
    assert_eq!(codes("alcohol 13.00 g\nproduct 19.5 g"), ["record::above_theory"]);
    assert!(codes("alcohol 13 g\nproduct 19.5 g").is_empty());
    assert!(codes("alcohol 13.00 g\nproduct 19.5 g\npurity product 95 % w/w").is_empty());
    let open = pear_drops("alcohol 13 g\nproduct 19.5 g");
    assert!(open.reviews[0].points.iter().any(|point| point.contains("just above theory")), "{:?}", open.reviews[0].points);
}

#[test]
fn the_batch_is_followed_at_the_amounts_as_weighed() {
    let half = pear_drops("alcohol 6.50 g\nproduct 8.2 g");
    near("scale", half.reviews[0].scale, 0.5, 1e-9);
    let short = pear_drops("sized alcohol = 13 g\nalcohol 13.00 g\nacid 7.0 g\nproduct 5.0 g");
    let product = &short.reviews[0].products[0];
    // 7 g of the anhydride (102.089 g/mol) are fewer moles than 13 g of the alcohol.
    near("theory", product.theory_g.value, 7.0 / 102.089 * ESTER, 5e-3);
    assert_eq!(product.limiting.as_deref(), Some("acid"));
}

#[test]
fn the_balance_closes_over_what_was_weighed_and_what_was_not() {
    for path in records_of("examples/records") {
        for review in reviewed(&path).reviews {
            let balance = review.balance;
            let out = balance.out_weighed_g + balance.out_predicted_g + balance.gone_g;
            near(&path, balance.in_g - out, balance.unaccounted_g.value, 1e-9 * balance.in_g);
            let unexplained: f64 = review
                .differences
                .iter()
                .filter(|one| ["product", "spare_carrier", "second water_wash"].contains(&one.portion.as_str()))
                .map(|one| one.difference_g.value)
                .sum();
            assert!(unexplained.abs() < 10.0, "{path}: {unexplained}");
        }
    }
}

fn records_of(folder: &str) -> Vec<String> {
    let mut paths: Vec<String> = fs::read_dir(root().join(folder))
        .unwrap()
        .map(|entry| format!("{folder}/{}", entry.unwrap().file_name().to_str().unwrap()))
        .filter(|path| path.ends_with(".scruple"))
        .collect();
    paths.sort();
    paths
}

#[test]
fn four_runs_two_ways() {
    let paths = records_of("examples/records");
    assert_eq!(paths.len(), 4);
    let mut reviews: Vec<Review> = Vec::new();
    for path in &paths {
        let mut compilation = reviewed(path);
        let codes: Vec<&str> = compilation.findings.iter().map(|finding| finding.code.text()).collect();
        let wanted: &[&str] = if path.ends_with("4.scruple") { &["record::above_theory"] } else { &[] };
        assert_eq!(codes, wanted, "{path}: {:?}", told(&compilation));
        reviews.append(&mut compilation.reviews);
    }
    assert_eq!(
        reviews.iter().map(|review| review.date.as_str()).collect::<Vec<_>>(),
        ["2026-03-07", "2026-03-14", "2026-03-21", "2026-03-28"]
    );
    // The way with more glycol is predicted to give more, and gave more.
    let products: Vec<_> = reviews.iter().map(|review| &review.products[0]).collect();
    assert!(products[2].predicted > products[0].predicted);
    let corrected = |place: usize| products[place].corrected.as_ref().unwrap().of_theory;
    assert!(corrected(2).value - corrected(0).value > corrected(2).expanded + corrected(0).expanded);
    // What cannot be all product has no corrected yield, and is said to be something else.
    assert!(products[3].corrected.is_none() && products[3].crude.of_theory.value > 1.0);
    assert!(reviews[3].points.iter().any(|point| point.contains("is not fructone")), "{:?}", reviews[3].points);
    assert!(reviews[2].points.iter().any(|point| point.contains("product may have gone into")), "{:?}", reviews[2].points);
    assert!(reviews[1].points.iter().any(|point| point.contains("water was not removed")), "{:?}", reviews[1].points);

    let jars = jars(&reviews);
    assert_eq!((jars.len(), jars[0].charges.len(), jars[0].regenerated), (1, 4, 3));
    assert_eq!(jars[0].water_since_g, Some(0.0));
    let two = scruple::record::jars::jars(&reviews[..2]);
    assert_eq!(two[0].regenerated, 1);
    assert_eq!(two[0].water_since_g, reviews[1].charges[0].water_g);

    // 24.3 g hold 22 % of their mass cold and 12 % at least in hot condensate; what came is what the course brings over.
    let second = &reviews[1].charges[0];
    let (hot, cold) = (second.holds_g.unwrap(), second.holds_cold_g.unwrap());
    assert!((hot - 0.12 * second.charged_g).abs() < 1e-9 && (cold - 0.22 * second.charged_g).abs() < 1e-9, "{second:?}");
    assert!((2.7..2.9).contains(&second.water_g.unwrap()), "{second:?}");
    let both = text(&reviews[..2], &two);
    assert!(both.contains("holds washed by hot condensate (5.346 g cold)"), "{both}");

    let told = text(&reviews, &jars);
    assert_eq!(told.matches(": run of 2026-03-").count(), 4);
    assert!(told.contains("charged 4 times, regenerated 3 times"), "{told}");
}

#[test]
fn a_blank_reads_without_findings() {
    for (name, size) in [("isoamyl_acetate", Some("alcohol=60mL")), ("fructone", None), ("orange_oil", None), ("sodium_citrate", None)] {
        let path = format!("examples/{name}.scruple");
        let request = Request { path: path.clone(), size: size.map(str::to_owned), ..Request::default() };
        let compilation = compile(&request, &Files::default());
        let text = blank(compilation.outcome.as_ref().unwrap(), &format!("{name}.scruple"), "2026-03-14");
        let files = Files(BTreeMap::from([("examples/blank.scruple".to_owned(), text.clone())]));
        let read = check("examples/blank.scruple", &files);
        assert!(read.findings.is_empty(), "{name}: {:?}\n{text}", told(&read));
        assert!(read.reviews[0].products.is_empty());
        assert_eq!(read.reviews[0].scale, compilation.outcome.unwrap().evaluation.scale, "{name}\n{text}");
        // With every line that waits behind a sign, too: the figures there are of the form, not of the run.
        let whole: String = text
            .lines()
            .map(|line| line.replacen("    # ", "    ", 1) + "\n")
            .filter(|line| !line.contains("    How it went") && !line.contains("    Taken, as") && !line.contains("    Obtained, in"))
            .collect();
        let read = check("examples/blank.scruple", &Files(BTreeMap::from([("examples/blank.scruple".to_owned(), whole.clone())])));
        assert!(read.findings.is_empty(), "{name}: {:?}\n{whole}", told(&read));
    }
}

/// What was found in a reagent changes what theory allows, and enters the budget.
#[test]
fn an_assay_of_what_was_taken_counts() {
    let product = |lines: &str| {
        let compilation = pear_drops(lines);
        assert!(!compilation.has_errors(), "{lines}: {:?}", told(&compilation));
        compilation.reviews[0].products[0].clone()
    };
    let taken = "alcohol 13.02 ± 0.03 g\nacid 21 g\nproduct 15.40 ± 0.06 g\n";
    let theory = 13.02 / ALCOHOL * ESTER;
    near("as it is", product(taken).theory_g.value, theory, 2e-3);
    let by_area = product(&format!("{taken}purity alcohol 97.2 ± 0.3 % by area"));
    near("by area", by_area.theory_g.value, theory * 0.972, 2e-3);
    // Rectangular: 0.03 g of 13.02 g, and 0.3 % of 97.2 %.
    let (weighing, assay) = (0.03 / 13.02 / 3.0_f64.sqrt(), 0.003 / 0.972 / 3.0_f64.sqrt());
    near("u", by_area.theory_g.standard, theory * 0.972 * weighing.hypot(assay), 2e-4);
    let parts: Vec<&str> = by_area.crude.budget.iter().map(|part| part.what.as_str()).collect();
    assert!(parts.contains(&"purity of alcohol") && !parts.contains(&"water of alcohol"), "{parts:?}");
    let wet = product(&format!("{taken}purity alcohol 97.2 % by area\nwater alcohol 1.0 % w/w"));
    near("wet", wet.theory_g.value, theory * 0.972 * 0.99, 2e-3);
    // A share by mass has the water in it.
    let mass = product(&format!("{taken}purity alcohol 96.0 % w/w\nwater alcohol 1.0 % w/w"));
    near("by mass", mass.theory_g.value, theory * 0.96, 2e-3);
    // What was not weighed counts as planned: 13 g.
    let planned = product("product 15.40 g\npurity alcohol 90.0 % w/w");
    near("as planned", planned.theory_g.value, 13.0 * 0.9 / ALCOHOL * ESTER, 2e-3);
    // So little of the anhydride is left that it runs out first: C4H6O3 is 102.09 g/mol.
    let other = product("alcohol 13.02 g\nacid 20 g\nproduct 12 g\npurity acid 60 % w/w");
    assert_eq!(other.limiting.as_deref(), Some("acid"));
    near("acid", other.theory_g.value, 20.0 * 0.6 / 102.089 * ESTER, 5e-3);
    let review = pear_drops(&format!("{taken}purity alcohol 97.2 ± 0.3 % by area"));
    let told = text(&review.reviews, &[]);
    assert!(told.contains("Found of what was taken") && told.contains("% by area"), "{told}");
}

fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_scruple")).args(arguments).current_dir(root()).output().unwrap()
}

#[test]
fn what_cannot_be_gives_no_review() {
    for file in ["of_another_procedure", "purity_above_the_whole", "more_than_went_in"] {
        let output = run(&["review", "examples/records/fructone_1.scruple", &format!("tests/ui/record/{file}.scruple")]);
        assert_eq!(output.status.code(), Some(1), "{file}");
        assert!(output.stdout.is_empty(), "{file}");
        assert!(String::from_utf8_lossy(&output.stderr).contains("record::"), "{file}");
    }
    let none = run(&["review", "examples/fructone.scruple"]);
    assert_eq!((none.status.code(), none.stdout.is_empty()), (Some(1), true));
    let folder = tempfile::tempdir().unwrap();
    let target = folder.path().join("record.scruple");
    let target = target.to_str().unwrap();
    for arguments in [["--on", "2026-02-30"], ["--size", "nobody=3g"]] {
        let output = run(&["record", "examples/fructone.scruple", arguments[0], arguments[1], "-o", target]);
        assert_ne!(output.status.code(), Some(0));
        assert!(!Path::new(target).exists());
    }
    let made = run(&["record", "examples/fructone.scruple", "-o", target]);
    assert_eq!(made.status.code(), Some(0));
    let output = run(&["review", target, "--json"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let document: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(document["reviews"][0]["procedure"], "fructone");
}

/// The records of published preparations: yields in per cent as recomputed by others from the figures printed, with what is
/// allowed for their rounding, and the figures of the source that do not follow. Numbers are those of the published checks.
#[test]
fn published_yields_and_where_their_sources_contradict_themselves() {
    type Row = (&'static str, &'static [f64], f64, &'static [&'static str]);
    #[rustfmt::skip]
    const ROWS: &[Row] = &[
        ("C013", &[91.3],       0.1,  &[]),
        ("C014", &[87.6],       0.1,  &[]),
        ("C035", &[88.6],       0.2,  &[]),
        ("C037", &[74.8],       0.2,  &[]),
        ("C038", &[74.1],       0.2,  &[]),
        ("C040", &[14.8],       0.2,  &["0.0160 mol"]),
        ("C041", &[26.2],       0.5,  &["21.4 %"]),
        ("D1",   &[61.7, 63.7], 0.1,  &["61 %"]),
        ("D7",   &[60.5, 68.1], 0.1,  &[]),
        ("D8",   &[60.5],       0.1,  &[]),
        ("D10",  &[96.5],       0.1,  &[]),
        ("D13",  &[92.7],       0.1,  &["92 %"]),
        ("D16",  &[],           0.1,  &["0.2 mol", "30.4 g"]),
        ("D18",  &[61.5, 69.2], 0.1,  &[]),
        ("D20",  &[60.51],      0.05, &["60.68 %", "14.321 g"]),
        ("D22",  &[70.3],       0.1,  &["0.91 mL"]),
        ("D27",  &[77.9, 93.5], 0.1,  &[]),
    ];
    // The others of those sections, of which no record can be written.
    #[rustfmt::skip]
    const LEFT_OUT: &[(&str, &str)] = &[
        ("C010", "its substances have no place on a bench; the sum stands in `tests/published/stoichiometry.rs`"),
        ("C032", "what is weighed is a gas, and no gas is kept as a portion; the sum stands in `tests/published/stoichiometry.rs`"),
        ("C034", "white phosphorus has no place on a bench; the sum stands in `tests/published/stoichiometry.rs`"),
        ("D2",  "states nothing isolated"), ("D9",  "states nothing isolated"), ("D15", "states a theory and nothing isolated"),
        ("D17", "states nothing isolated"), ("D21", "states nothing isolated"), ("D23", "states nothing isolated"),
        ("D24", "states nothing isolated"), ("D25", "states a yield without a unit"), ("D26", "states nothing isolated"),
        ("D29", "states nothing isolated"), ("D30", "states nothing isolated"), ("D32", "states nothing isolated"),
        ("D34", "states nothing isolated"),
    ];
    for (id, why) in LEFT_OUT {
        assert!(!why.is_empty() && !root().join(format!("tests/published/records/{id}.scruple")).exists(), "{id}");
    }
    // Every preparation of section D is either reviewed or left out with a reason.
    for path in records_of("tests/published/preparations") {
        let id = Path::new(&path).file_stem().unwrap().to_str().unwrap().to_owned();
        assert!(ROWS.iter().any(|(known, ..)| *known == id) || LEFT_OUT.iter().any(|(known, _)| *known == id), "{id}");
    }
    let mut failures = Vec::new();
    for (id, yields, within, stated) in ROWS {
        let compilation = check(&format!("tests/published/records/{id}.scruple"), &Files::default());
        let got: Vec<f64> =
            compilation.reviews.iter().flat_map(|review| &review.products).map(|product| product.crude.of_theory.value * 100.0).collect();
        let at: Vec<&str> = compilation
            .findings
            .iter()
            .filter(|finding| finding.code.text() == "record::stated")
            .map(|finding| compilation.sources.slice(finding.span))
            .collect();
        let agrees = got.len() == yields.len() && got.iter().zip(*yields).all(|(got, wanted)| (got - wanted).abs() <= *within);
        let found = stated.to_vec();
        if !agrees || at != found || compilation.has_errors() {
            failures.push(format!("{id}: {got:?} for {yields:?}, {at:?} for {found:?}, {:?}", told(&compilation)));
        }
    }
    assert_eq!(ROWS.len(), records_of("tests/published/records").len());
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}
