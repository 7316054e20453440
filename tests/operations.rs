//! Operations, substances, solutions and agents of a user's own: declared in the file or in one that
//! it uses, they do what those of the library do; a declaration that does not hold together is
//! reported where it stands.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use scruple::diagnostics::render::{Look, render};
use scruple::diagnostics::{Code, Diagnostic};
use scruple::load::Memory;
use scruple::pipeline::{Compilation, Request, compile};
use scruple::resolve::attention::Attention;

/// An operation with two results and a caution, and matter for it. All figures are invented.
const HOUSE: &str = r#"## Shake out with a measured liquid, the house's way.
operation shake_out {
    form     shake_out <mixture: mixture> using <liquid: material> [gently <manner: swirling | rolling>] -> top, bottom
    needs    separatory_funnel
    effect   part mixture with liquid -> top, bottom
    says     "Shake {mixture} out with {liquid}[, {manner}]; draw the bottom off."
    caution  "Rufus minds the stopcock."
    caution  when manner given "Roll it on the felt, not on the stone."
    caution  when mixture is flammable "No lamp near the shaking bench."
}

## An ester of the house.
substance quincyl_acetate {
    title      "quincyl acetate"
    formula    C9H18O2          source "invented for this test"
    class      ester
    boils      190 degC         source "invented for this test"
    density    0.870 g/mL at 20 degC source "invented for this test"
    flash      68 degC          source "invented for this test"
    solubility 0.2 g/L at 20 degC source "invented for this test"
    takes_up   0.5 % w/w        source "invented for this test"
    partition  3.3              source "invented for this test"
    hazard     none             source "invented for this test"
}

## Salt water of the house, made up in a jug.
solution jug_brine {
    solute   sodium_chloride
    solvent  water
    strength 20 % w/w source "invented for this test"
}

## A drying clay.
agent house_clay {
    capacity 0.10 g/g    source "invented for this test"
    bulk     0.80 g/mL   source "invented for this test"
    bead     1.60 g/mL   source "invented for this test"
    floor    0.05 g/mL   source "invented for this test"
    retains  0.3 mL/g    source "invented for this test"
    hazard   none        source "invented for this test"
}
"#;

const PROCEDURE: &str = r#"procedure quince "Quince ester, shaken out" {
    basis ester

    take ester = quincyl_acetate, 50 g
    take clay  = house_clay, enough + 10 %

    shake_out ester using jug_brine, 40 mL gently rolling -> top washed, bottom brine_wash
    dry washed over clay for 30 min                       -> dried clean, spent used_clay

    keep clean as quincyl_acetate in bottle
    discard brine_wash as "aqueous, neutral"
    discard used_clay as "solids, flammable"
}
"#;

fn compiled(files: &[(&str, &str)]) -> Compilation {
    let request = Request { path: files[0].0.to_owned(), ..Request::default() };
    compile(&request, &Memory::new(files.iter().map(|(name, text)| (*name, *text))))
}

fn told(compilation: &Compilation) -> String {
    render(&compilation.findings, &compilation.sources, Look::Plain)
}

fn check(compilation: &Compilation) {
    assert!(compilation.findings.is_empty(), "{}", told(compilation));
    let sheet = compilation.sheet().unwrap();
    for caution in ["Rufus minds the stopcock.", "Roll it on the felt, not on the stone."] {
        assert!(sheet.contains(caution), "`{caution}` is not on the sheet:\n{sheet}");
    }
    assert!(sheet.contains("Shake the ester"), "{sheet}");
    assert!(!sheet.contains("No lamp"), "what flashes at 68 degC is no flammable liquid:\n{sheet}");

    let plan: serde_json::Value = serde_json::from_str(&compilation.plan().unwrap()).unwrap();
    let operations: Vec<&serde_json::Value> =
        plan["steps"].as_array().unwrap().iter().flat_map(|step| step["operations"].as_array().unwrap()).collect();
    let shaken = operations.iter().find(|operation| operation["operation"] == "shake_out").unwrap();
    assert_eq!(shaken["outputs"], serde_json::json!(["washed#1", "brine_wash#1"]));
    assert_eq!(shaken["inputs"], serde_json::json!(["ester#1"]));
    assert!(shaken["cautions"].as_array().unwrap().iter().any(|caution| caution == "Rufus minds the stopcock."));
    let portion = |address: &str| {
        let portions = plan["portions"].as_array().unwrap();
        portions.iter().find(|portion| portion["address"] == address).unwrap_or_else(|| panic!("{address} is not in the plan")).clone()
    };
    // The ester floats, the brine (20 % of salt) lies below it.
    assert!(portion("washed#1")["mass_g"].as_f64().unwrap() > 48.0);
    let brine = portion("brine_wash#1");
    assert!(brine["mass_g"].as_f64().unwrap() > 40.0);
    let salt = brine["moles"]["sodium_chloride"].as_f64().unwrap() * 58.44;
    let share = salt / brine["mass_g"].as_f64().unwrap();
    assert!((share - 0.2).abs() < 0.005, "the brine holds {share}");
    assert!(portion("clay#1")["whole_g"]["house_clay"].as_f64().unwrap() > 0.0);
    assert_eq!(plan["products"][0]["substance"], "quincyl_acetate");
    // The drying clay takes what the ester holds of water and no more is given than was taken.
    assert!(portion("clean#1")["mass_g"].as_f64().unwrap() < portion("washed#1")["mass_g"].as_f64().unwrap());
}

#[test]
fn declarations_in_the_file_itself() {
    check(&compiled(&[("quince.scruple", &format!("{HOUSE}\n{PROCEDURE}"))]));
}

#[test]
fn declarations_in_a_file_that_is_used() {
    let own = format!("use \"house.scruple\"\n\n{PROCEDURE}");
    let compilation = compiled(&[("quince.scruple", &own), ("house.scruple", HOUSE)]);
    check(&compilation);
    let inputs: Vec<&str> = compilation.outcome.as_ref().unwrap().inputs.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(inputs, ["quince.scruple", "house.scruple"]);
}

#[test]
fn declarations_in_a_file_that_a_used_file_uses() {
    let own = format!("use \"bench.scruple\"\n\n{PROCEDURE}");
    let bench = "use \"house.scruple\"\n";
    check(&compiled(&[("quince.scruple", &own), ("bench.scruple", bench), ("house.scruple", HOUSE)]));
}

/// Mends nothing and breaks one thing of the house's declarations; the finding stands on the line
/// that holds `mark`, in the file that declares it, and is the only one.
fn breaks(from: &str, to: &str, mark: &str, says: &str) {
    assert_eq!(HOUSE.matches(from).count(), 1, "{from}");
    let house = HOUSE.replace(from, to);
    let line = house.lines().position(|line| line.contains(mark)).unwrap() + 1;
    let own = format!("use \"house.scruple\"\n\n{PROCEDURE}");
    let compilation = compiled(&[("quince.scruple", &own), ("house.scruple", &house)]);
    let bad: Vec<_> = compilation.findings.iter().filter(|finding| finding.code == Code::BadForm).collect();
    assert_eq!(bad.len(), 1, "`{to}` gives\n{}", told(&compilation));
    let file = compilation.sources.get(bad[0].span.file).unwrap();
    assert_eq!((file.name.as_ref(), compilation.sources.place(bad[0].span).line), ("house.scruple", line), "{}", told(&compilation));
    assert!(bad[0].message.contains(says), "{}", told(&compilation));
    assert!(compilation.outcome.is_none());
}

const CLAUSE: &str = " [gently <manner: swirling | rolling>] -> top, bottom\n";

#[test]
fn a_slot_that_is_not_used() {
    breaks(CLAUSE, " [gently <manner: swirling | rolling>] [for <time: duration>] -> top, bottom\n", "form ", "`time`");
}

#[test]
fn matter_that_is_used_twice() {
    breaks(
        "    effect   part mixture with liquid -> top, bottom\n",
        "    effect   part mixture with liquid -> top, bottom\n    effect   evaporate mixture -> top, bottom\n",
        "form ",
        "`mixture`",
    );
}

#[test]
fn matter_that_goes_nowhere() {
    breaks("    effect   part mixture with liquid -> top, bottom\n", "    effect   part mixture -> top, bottom\n", "form ", "`liquid`");
}

#[test]
fn a_result_that_no_effect_gives() {
    breaks(CLAUSE, " [gently <manner: swirling | rolling>] -> top, bottom, middle\n", "form ", "`middle`");
}

#[test]
fn two_clauses_with_one_first_word() {
    breaks(CLAUSE, " [gently <manner: swirling | rolling>] [gently <what: substance>] -> top, bottom\n", "form ", "`gently`");
}

#[test]
fn a_slot_that_the_form_does_not_have() {
    breaks("out with {liquid}[", "out with {fluid}[", "operation shake_out", "`fluid`");
}

#[test]
fn a_caution_that_asks_for_no_property() {
    breaks("when mixture is flammable", "when mixture is sticky", "sticky", "`sticky`");
}

#[test]
fn a_sort_that_is_none() {
    breaks("<liquid: material>", "<liquid: fluid>", "form ", "`fluid`");
}

#[test]
fn an_effect_that_is_none() {
    let house = HOUSE.replace("effect   part mixture", "effect   shake mixture");
    let line = house.lines().position(|line| line.contains("effect ")).unwrap() + 1;
    let compilation = compiled(&[("quince.scruple", &format!("use \"house.scruple\"\n\n{PROCEDURE}")), ("house.scruple", &house)]);
    let here = |finding: &&Diagnostic| compilation.sources.get(finding.span.file).is_some_and(|file| file.name == "house.scruple");
    let lines: Vec<usize> = compilation.findings.iter().filter(here).map(|finding| compilation.sources.place(finding.span).line).collect();
    assert_eq!(lines, [line], "{}", told(&compilation));
}

/// Where a declaration is broken, its uses are silent: they would be right were it mended.
#[test]
fn a_broken_declaration_raises_nothing_where_it_is_used() {
    let mut failures = Vec::new();
    for (from, to) in [
        (CLAUSE, " [gently <manner: swirling | rolling>] -> top, bottom, middle\n"),
        ("density    0.870 g/mL", "density    0.870 g"),
        ("strength 20 % w/w", "strength 20 min"),
        ("capacity 0.10 g/g", "capacity 0.10 min"),
    ] {
        let house = HOUSE.replace(from, to);
        assert_ne!(house, HOUSE, "{from}");
        let compilation = compiled(&[("quince.scruple", &format!("use \"house.scruple\"\n\n{PROCEDURE}")), ("house.scruple", &house)]);
        let files: Vec<&str> =
            compilation.findings.iter().map(|finding| compilation.sources.get(finding.span.file).unwrap().name.as_ref()).collect();
        if files != ["house.scruple"] {
            failures.push(format!("`{to}` gives\n{}", told(&compilation)));
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// What a statement of the house's operation asks of a person, with these lines in its declaration.
fn attention(lines: &str) -> Attention {
    let says = "    says     \"Shake {mixture} out";
    let house = HOUSE.replace(says, &format!("{lines}{says}"));
    let compilation = compiled(&[("quince.scruple", &format!("{house}\n{PROCEDURE}"))]);
    let outcome = compilation.outcome.as_ref().unwrap_or_else(|| panic!("{}", told(&compilation)));
    let number = outcome.procedure.statements.iter().position(|statement| statement.operation.name == "shake_out").unwrap();
    outcome.attention(number)
}

#[test]
fn what_an_operation_asks_of_a_person_is_declared() {
    assert_eq!(attention(""), Attention::Hands, "what is not known to go by itself is not left alone");
    assert_eq!(attention("    attention none\n"), Attention::None);
    assert_eq!(attention("    attention none\n    attention sight when mixture is toxic\n"), Attention::None);
    assert_eq!(attention("    attention none\n    attention sight when liquid given\n"), Attention::Sight);
    assert_eq!(attention("    attention hands when mixture is corrosive\n    attention none\n"), Attention::None);
    breaks("    needs    separatory_funnel\n", "    attention half\n    needs    separatory_funnel\n", "attention", "attention");
}

#[test]
fn every_operation_of_the_library_declares_what_it_asks_of_a_person() {
    let operations = scruple::library::ENTRIES.iter().filter(|entry| entry.sort == "operation");
    let silent: Vec<&str> = operations.filter(|entry| !entry.text.contains("\n    attention ")).map(|entry| entry.name).collect();
    assert!(silent.is_empty(), "{silent:?}");
}
