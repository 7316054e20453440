//! Variants of a procedure, and ways of making one thing set side by side.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

use scruple::compare::{Prospect, differing_hazards, prospect};
use scruple::emit::compare::shown;
use scruple::load::Memory;
use scruple::outcome::Outcome;
use scruple::pipeline::{Request, compile, ways};

const BASE: &str = include_str!("../examples/isoamyl_acetate.scruple");

fn outcome(text: &str, variant: Option<&str>, size: Option<&str>) -> Outcome {
    let request =
        Request { path: "a.scruple".to_owned(), variant: variant.map(str::to_owned), size: size.map(str::to_owned), ..Request::default() };
    let compilation = compile(&request, &Memory::new([("a.scruple", text)]));
    compilation.outcome.unwrap_or_else(|| panic!("{:?}", compilation.findings))
}

#[test]
fn a_variant_is_the_procedure_written_with_its_changes() {
    let text = format!("{BASE}\nvariant \"hardly any excess\" of isoamyl_acetate {{\n    acid = 1.05 eq\n}}\n");
    let written = with_amount(BASE, "take acid", "1.05 eq");
    let (by_variant, by_hand) = (outcome(&text, Some("hardly any excess"), None), outcome(&written, None, None));
    let (one, other) = (prospect("x", &by_variant), prospect("x", &by_hand));
    assert_eq!(one, other);
    assert!(by_variant.procedure.title.ends_with(": hardly any excess"));
    // The procedure itself is as it was.
    assert_eq!(prospect("x", &outcome(&text, None, None)), prospect("x", &outcome(BASE, None, None)));
    assert_eq!(ways("a.scruple", &Memory::new([("a.scruple", text.as_str())])).ways.len(), 2);
}

/// The line that begins so, with another amount behind its last comma.
fn with_amount(text: &str, begins: &str, amount: &str) -> String {
    let line = |line: &str| {
        if line.trim_start().starts_with(begins) {
            let (before, _) = line.rsplit_once(',').unwrap();
            format!("{before}, {amount}\n")
        } else {
            format!("{line}\n")
        }
    };
    text.lines().map(line).collect()
}

#[test]
fn at_the_same_product_a_better_yield_takes_less() {
    let text = format!("{BASE}\nvariant \"much acid\" of isoamyl_acetate {{\n    acid = 3 eq\n}}\n");
    let base = prospect("base", &outcome(&text, None, Some("product=50g")));
    let much = prospect("much acid", &outcome(&text, Some("much acid"), Some("product=50g")));
    assert!((base.product_g.unwrap() - 50.0).abs() < 1e-3 && (much.product_g.unwrap() - 50.0).abs() < 1e-3);
    assert!(much.yield_percent.unwrap() > base.yield_percent.unwrap());
    // What goes in is what comes out: waste and product, up to what is left in traces.
    for one in [&base, &much] {
        assert!(one.mass_intensity.unwrap() >= 1.0 + one.e_factor.unwrap() - 1e-6, "{one:?}");
        assert!((one.mass_intensity.unwrap() - 1.0 - one.e_factor.unwrap()).abs() < 0.05 * one.mass_intensity.unwrap(), "{one:?}");
    }
    assert!(differing_hazards(&[base.clone(), much.clone()]).is_empty(), "the same substances are met");
    let table = shown(&[base, much]);
    assert!(table.contains("2  much acid") && table.contains("All meet the same hazards"), "{table}");
}

#[test]
fn a_hazard_that_only_one_meets_is_named() {
    let text = "procedure wash \"Wash water\" {
    basis salt

    take salt    = sodium_chloride, 5 g
    take solvent = water, 95 mL

    combine salt, solvent -> mix
    keep mix as \"salt water\" in bottle
}

variant \"with spirit\" of wash {
    solvent = ethanol, 95 mL
}
";
    let all = [prospect("plain", &outcome(text, None, None)), prospect("with spirit", &outcome(text, Some("with spirit"), None))];
    let differing = differing_hazards(&all);
    assert!(differing.iter().any(|(what, have)| what.starts_with("H225 (ethanol)") && have == &["with spirit"]), "{differing:?}");
}

/// What a procedure comes to with the stock of a bench, whether it fits there or not.
fn made_on(procedure: &str, bench: &str) -> Outcome {
    let request = Request { path: "a.scruple".to_owned(), bench: Some("b.scruple".to_owned()), ..Request::default() };
    let loader = Memory::new([("a.scruple", procedure), ("b.scruple", bench)]);
    let compilation = compile(&Request { unfitted: true, ..request }, &loader);
    compilation.outcome.unwrap_or_else(|| panic!("{:?}", compilation.findings))
}

fn on_bench(procedure: &str, bench: &str) -> Prospect {
    prospect("x", &made_on(procedure, bench))
}

/// Brine made up and left standing: 50 g of salt in 150 g of water, with 10 g of spirit. All is invented.
const BRINE: &str = "procedure brine \"Brine with spirit\" {
    basis salt

    take salt    = sodium_chloride, 50 g
    take solvent = water, 150 g
    take spirit  = ethanol, 10 g

    combine salt, solvent, spirit -> mix
    stir mix for 2 h
    leave mix for 14 h
    heat mix at 60 degC for 30 min
    cool mix to 25 degC
    keep mix as \"brine with spirit\" in bottle
}
";

fn near(one: f64, other: f64) {
    assert!((one - other).abs() <= 1e-9 * other.abs().max(1.0), "{one} and not {other}");
}

#[test]
fn times_are_parted_by_what_they_ask_of_a_person() {
    let time = prospect("x", &outcome(BRINE, None, None)).time;
    // Stirred and left: 16 h; warmed: half an hour; combining and cooling state no time.
    for (found, expected) in [(time.none_h, 16.0), (time.sight_h, 0.5), (time.hands_h, 0.0), (time.all_h, 16.5)] {
        near(found, expected);
    }
    assert_eq!(time.untimed, 2);
    // The ester: added over 2 min; boiled for 75 min; dried for 15 min.
    let ester = prospect("x", &outcome(BASE, None, None)).time;
    near(ester.hands_h, 2.0 / 60.0);
    near(ester.sight_h, 1.25);
    near(ester.none_h, 0.25);
    near(ester.all_h, ester.hands_h + ester.sight_h + ester.none_h);
}

#[test]
fn cost_is_what_is_taken_at_the_prices_of_the_bench() {
    let bench = |salt: &str, spirit: &str| {
        format!("bench \"Shelf\" {{\n    stock sodium_chloride, 1 kg{salt}\n    stock ethanol, 500 g{spirit}\n}}\n")
    };
    assert_eq!(prospect("x", &outcome(BRINE, None, None)).cost, None, "no bench, no cost");
    // 50 g of a kilogram for 4 EUR, and 10 g at 12 EUR for 100 g.
    let all = on_bench(BRINE, &bench(", price 4 EUR", ", price 12 EUR per 100 g"));
    let bill = all.cost.unwrap();
    assert_eq!(bill.spent.len(), 1);
    near(bill.spent[0].batch, 0.05 * 4.0 + 0.1 * 12.0);
    assert_eq!(bill.spent[0].per_kg, None, "what is kept under a title of its own is no product");
    assert_eq!((bill.priced.len(), bill.unpriced.len()), (2, 0));
    // One price only: the other material is named.
    let half = on_bench(BRINE, &bench(", price 4 EUR", "")).cost.unwrap();
    near(half.spent[0].batch, 0.2);
    assert_eq!(half.unpriced, ["ethanol"]);
    // Two currencies stand by themselves.
    let two = on_bench(BRINE, &bench(", price 4 EUR", ", price 12 CHF per 100 g"));
    let spent: Vec<_> = two.cost.as_ref().unwrap().spent.iter().map(|spent| (spent.currency.as_str(), spent.batch)).collect();
    assert_eq!((spent[0].0, spent[1].0, spent.len()), ("CHF", "EUR", 2));
    near(spent[0].1, 1.2);
    near(spent[1].1, 0.2);
    let table = shown(&[two.clone(), two]);
    assert!(table.contains("cost of a batch, CHF") && table.contains("cost of a batch, EUR") && table.contains("not added"), "{table}");
    // None at all.
    let none = on_bench(BRINE, &bench("", "")).cost.unwrap();
    assert!(none.spent.is_empty() && none.unpriced.len() == 2);
}

#[test]
fn a_bed_that_is_put_away_is_counted_in_full_and_named() {
    let example = include_str!("../examples/fructone.scruple");
    let bench = include_str!("../examples/bench.scruple");
    let made = made_on(example, bench);
    let bed = made.procedure.takes.iter().position(|take| made.procedure.binding(take.binding).name == "bed").unwrap();
    let bed = made.evaluation.takes[&bed].mass.si;
    let column = prospect("x", &made);
    let bill = column.cost.unwrap();
    assert_eq!(bill.put_away, ["3A molecular sieve"]);
    // 20 mL of 500 mL for 31 EUR, and the bed at 48 EUR for 500 g.
    near(bill.spent[0].batch, 20.0 / 500.0 * 31.0 + 48.0 * bed / 0.5);
    near(bill.spent[0].per_kg.unwrap(), bill.spent[0].batch / (column.product_g.unwrap() / 1e3));
}
