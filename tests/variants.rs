//! Variants of a procedure, and ways of making one thing set side by side.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

use scruple::compare::{differing_hazards, prospect};
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
    assert_eq!(ways("a.scruple", &Memory::new([("a.scruple", text.as_str())])).len(), 2);
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
