//! Laws by property test.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic, missing_docs)]

mod common;

use common::{SAMPLES, check, compile};
use proptest::prelude::*;
use scruple::kinds::{self, Kind};
use scruple::matter::balance::balance;
use scruple::source::Sources;
use scruple::syntax::{self, File, Node};

/// An esterification with its figures open.
fn ester(alcohol: f64, eq: f64, k: f64, water: f64, base: f64, washes: u32, brine: f64) -> String {
    format!(
        r#"procedure ester "An ester" {{
    basis alcohol
    take alcohol  = isoamyl_alcohol, {alcohol:.3} mL
    take acid     = acetic_acid, glacial, {eq:.3} eq
    take catalyst = sulfuric_acid, 98 % w/w, 0.04 eq
    take drier    = magnesium_sulfate, enough + 10 %
    reaction esterification {{
        isoamyl_alcohol + acetic_acid <=> isoamyl_acetate + water
        equilibrium {k:.3}
        catalyst sulfuric_acid
    }}
    step "Work" {{
        combine alcohol, acid, catalyst -> pot
        reflux pot for 90 min, running esterification
        cool pot to 25 degC
        wash pot with water, {water:.3} * volume of pot -> upper crude, lower acid_wash
        wash crude with sodium_bicarbonate, 5 % w/w, {base:.3} * volume of crude, {washes} times -> upper crude, lower base_wash
        wash crude with brine, {brine:.3} * volume of crude -> upper crude, lower salt_wash
        dry crude over drier for 20 min -> dried crude, spent used
        distil crude, collecting 137..143 degC -> forerun first, cut product, residue bottoms
    }}
    keep acid_wash as "acid wash" in bottle
    keep base_wash as "base wash" in bottle
    keep salt_wash as "salt wash" in bottle
    keep used as "spent drier" in jar
    keep first as "forerun" in bottle
    keep bottoms as "residue" in bottle
    keep product as isoamyl_acetate in bottle
}}
"#
    )
}

fn figures() -> impl Strategy<Value = (f64, f64, f64, f64, f64, u32, f64)> {
    (5.0..200.0, 0.6..4.0, 0.5..20.0, 0.8..3.0, 0.8..3.0, 1_u32..4, 0.2..1.0)
}

fn tokens(nodes: &[Node], out: &mut Vec<String>) {
    for node in nodes {
        match node {
            Node::Line(line) => line_tokens(line, out),
            Node::Comment(comment) => out.push(comment.text.clone()),
            Node::Block(block) => {
                line_tokens(&block.head, out);
                out.push("{".to_owned());
                tokens(&block.body, out);
                out.push("}".to_owned());
            }
        }
    }
}

fn line_tokens(line: &syntax::Line, out: &mut Vec<String>) {
    out.extend(line.tokens.iter().map(|token| token.tok.written()));
    out.extend(line.comments.iter().map(|(_, comment)| comment.text.clone()));
    out.push("\n".to_owned());
}

fn parse(text: &str) -> (File, bool) {
    let mut sources = Sources::default();
    let id = sources.add("text", text.to_owned(), false);
    let (file, findings) = syntax::parse(id, sources.get(id).unwrap());
    (file, findings.is_empty())
}

fn round_trip(text: &str) {
    let (tree, good) = parse(text);
    if !good {
        return;
    }
    let printed = syntax::print::print(&tree);
    let (again, good) = parse(&printed);
    assert!(good, "{printed}");
    let (mut a, mut b) = (Vec::new(), Vec::new());
    tokens(&tree.nodes, &mut a);
    tokens(&again.nodes, &mut b);
    assert_eq!(a, b, "{printed}");
    assert_eq!(syntax::print::print(&again), printed);
}

#[test]
fn printing_and_parsing_the_library_and_the_samples_changes_nothing() {
    for (_, text) in SAMPLES {
        round_trip(text);
    }
    for entry in scruple::library::ENTRIES.iter() {
        round_trip(entry.text);
    }
}

fn close(what: &str, seen: f64, expected: f64, tolerance: f64) {
    assert!((seen - expected).abs() <= tolerance, "{what}: {seen}, and {expected} ± {tolerance} is expected");
}

#[test]
fn intensive_figures_do_not_follow_the_batch() {
    for (name, text) in SAMPLES {
        let text = text.replace("fixed ", "");
        let at = |scale: &str| compile(text.as_str(), None, Some(scale)).outcome.unwrap();
        let (one, other) = (at("1"), at("1.7"));
        for (id, portion) in &one.evaluation.portions {
            let scaled = &other.evaluation.portions[id];
            let (m, n) = (portion.mass(), scaled.mass());
            for (sub, mass) in &portion.contents {
                close(&format!("{name} {}", one.procedure.binding(*id).address()), scaled.of(*sub) / n, mass.si / m, 1e-9);
            }
            close("temperature", scaled.temperature, portion.temperature, 1e-6);
        }
        for (a, b) in one.evaluation.runs.iter().zip(&other.evaluation.runs) {
            close("conversion", b.conversion, a.conversion, 1e-9);
        }
    }
}

/// The laws would be empty if the procedure they vary did not compile.
#[test]
fn the_procedure_that_is_varied_compiles() {
    for k in [0.6, 4.2, 19.0] {
        let compilation = compile(ester(24.0, 1.2, k, 1.5, 1.5, 2, 0.4), None, None);
        assert!(compilation.outcome.is_some(), "{:?}", compilation.findings);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn atoms_in_are_atoms_out(figures in figures()) {
        let (alcohol, eq, k, water, base, washes, brine) = figures;
        let compilation = compile(ester(alcohol, eq, k, water, base, washes, brine), None, None);
        let Some(outcome) = &compilation.outcome else {
            // What does not compile says why.
            prop_assert!(compilation.has_errors());
            return Ok(());
        };
        let balance = balance(&outcome.procedure, &outcome.defs, &outcome.evaluation);
        for (element, (into, out)) in &balance.elements {
            prop_assert!((into - out).abs() <= 1e-9 * into, "{element}: {into} mol in, {out} mol out");
        }
        for (sub, line) in &balance.per_substance {
            let name = &outcome.defs.substance(*sub).name;
            prop_assert!((line.taken + line.made - line.out).abs() <= 1e-9 * balance.mass_in, "{name}: {line:?}");
        }
        prop_assert!((balance.mass_in - balance.mass_out).abs() <= 1e-9 * balance.mass_in);
        for (id, portion) in &outcome.evaluation.portions {
            for mass in portion.contents.values() {
                prop_assert!(mass.si >= 0.0 && mass.si.is_finite(), "{}", outcome.procedure.binding(*id).address());
            }
        }
    }

    #[test]
    fn a_batch_sized_by_what_a_scale_gives_has_that_scale(figures in figures(), scale in 0.2..30.0_f64) {
        let (alcohol, eq, k, water, base, washes, brine) = figures;
        let text = ester(alcohol.min(60.0), eq, k, water, base, washes, brine);
        let Some(scaled) = compile(text.as_str(), None, Some(&scale.to_string())).outcome else { return Ok(()) };
        let id = scaled.procedure.find("product").unwrap();
        let mass = scaled.evaluation.figure(&scaled.procedure, &scaled.defs, id, Kind::Mass).unwrap();
        let sized = compile(text.as_str(), Some(&format!("product={} g", mass * 1e3)), None).outcome.unwrap();
        prop_assert!((sized.evaluation.scale / scale - 1.0).abs() < 1e-9, "{} for {scale}", sized.evaluation.scale);
    }

    #[test]
    fn units_there_and_back(x in -1e9..1e9_f64, at in 0_usize..24) {
        const UNITS: [&str; 24] = [
            "g", "kg", "mg", "lb", "mL", "L", "µL", "cm³", "mol", "mmol", "s", "min", "h", "d", "degC", "degF", "K", "bar", "mbar",
            "mmHg", "psi", "kJ/mol", "g/mL", "% w/w",
        ];
        let unit = kinds::unit(UNITS[at]).unwrap();
        let back = unit.from_si(unit.to_si(x));
        prop_assert!((back - x).abs() <= 1e-9 * x.abs().max(1e3), "{} {}: {back}", x, UNITS[at]);
    }

    #[test]
    fn a_product_divided_by_one_factor_is_the_other(a in 0_usize..64, b in 0_usize..64) {
        let (a, b) = (Kind::ALL[a % Kind::ALL.len()], Kind::ALL[b % Kind::ALL.len()]);
        if let Some(product) = kinds::product(a, b) {
            prop_assert_eq!(product.dimension(), a.dimension().times(b.dimension()));
            if let Some(quotient) = kinds::quotient(product, b) {
                prop_assert_eq!(quotient.dimension(), a.dimension());
            }
        }
    }

    #[test]
    fn any_bytes_end_in_findings_or_none(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        let compilation = check(bytes);
        prop_assert!(compilation.outcome.is_none());
    }

    #[test]
    fn any_words_of_the_language_never_panic(words in prop::collection::vec(prop::sample::select(vec![
        "procedure", "step", "take", "basis", "x", "y", "=", "water", ",", "5", "mL", "%", "w/w", "{", "}", "\n", "\n    ", "->", "<=>",
        "combine", "wash", "with", "upper", "lower", "\"text\"", "enough", "+", "20 %", "volume of", "per", "g", "(", ")", "running",
        "reaction", "r", "equilibrium", "conversion", "operation", "form", "<p: mixture>", "[", "]", "effect", "mix", "#", "keep", "as",
        "in", "jar", "substance", "formula", "C2H6O", "1e9", "..", "fixed", "eq", "2 times", "dry", "over", "for", "h",
    ]), 0..80)) {
        let _ = compile(words.join(" "), None, None);
    }

    #[test]
    fn samples_with_holes_never_panic_and_tidy_keeps_their_tokens(
        which in 0_usize..4, cuts in prop::collection::vec((0_usize..2000, 0_usize..60), 1..6), moved in 0_usize..2000
    ) {
        let mut text = SAMPLES[which].1.to_owned();
        for (at, length) in cuts {
            let start = text.floor_char_boundary(at % text.len().max(1));
            let end = text.floor_char_boundary((start + length).min(text.len()));
            let piece = text[start..end].to_owned();
            text.replace_range(start..end, "");
            let to = text.floor_char_boundary(moved % text.len().max(1));
            text.insert_str(to, &piece);
        }
        let _ = compile(text.as_str(), None, None);
        round_trip(&text);
    }
}
