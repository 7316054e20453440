//! Samples have no finding at all; slips and units that people write; batches out of reach; texts that
//! are none.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic, clippy::disallowed_methods, missing_docs)]

mod common;

use common::{SAMPLES, all, check, compile};

#[test]
fn samples_have_no_findings() {
    for (name, text) in SAMPLES {
        assert_eq!(all(&check(*text)), [], "{name}");
    }
}

#[test]
fn what_cannot_be_reached_is_answered_with_what_can() {
    let text = SAMPLES[0].1;
    let compilation = compile(text, Some("rinsings=1 g"), None);
    let finding = compilation.findings.first().unwrap();
    assert_eq!(finding.code.text(), "amounts::out_of_reach");
    assert!(finding.help.as_deref().unwrap().contains("the least"), "{finding:?}");
    for (asked, code) in [
        ("prodct=1 g", "resolve::unknown_name"),
        ("product=1 s", "kinds::mismatch"),
        ("product=5", "kinds::missing_unit"),
        ("product", "syntax::expected"),
        ("product=-5 g", "kinds::out_of_range"),
        ("product=5 oz", "kinds::ambiguous_unit"),
    ] {
        let compilation = compile(text, Some(asked), None);
        assert_eq!(compilation.findings.first().map(|finding| finding.code.text()), Some(code), "{asked}");
    }
}

/// Statements that people are likely to write, each with the code it must get (or none).
#[test]
fn slips_and_units() {
    let cases: &[(&str, &[&str])] = &[
        ("take a = water, 5 oz", &["kinds::ambiguous_unit"]),
        ("take a = water, 10 drops", &["kinds::ambiguous_unit"]),
        ("take a = water, 3 BTU", &["kinds::ambiguous_unit"]),
        ("take a = water, 15 ML", &["syntax::slip"]),
        ("take a = water, 1,5 g", &["syntax::slip"]),
        ("take a = water, 5", &["kinds::missing_unit"]),
        ("take a = water", &["syntax::expected"]),
        ("take a = water, 96 %, 5 mL", &["kinds::percent_of_what"]),
        ("take a = water, 1 h", &["kinds::mismatch"]),
        ("take a = water, 2 mL + 3 g", &["kinds::mismatch"]),
        ("take a = sodium_chloride, 90 % w/w, 5 mL", &["kinds::out_of_range"]),
        ("take a = water, 5 furlong", &["kinds::unknown_unit"]),
        ("take a = water, 5 mL;", &["syntax::slip"]),
        ("take a = water, \"5 mL", &["syntax::text"]),
        ("take a = water, 5 lb", &[]),
        ("take a = water, 5 ounces_avoirdupois", &[]),
        ("take a = water, 80ml", &[]),
        ("take a = water, 500 µL", &[]),
        ("take a\u{A0}= water, 5\u{A0}mL", &[]),
        ("take a = water, 15.0 ± 0.1 mL", &[]),
        ("take a = water, 10..15 mL", &[]),
        ("take a = water, 10 mL\n    heat a at 136-143 degC for 5 min", &["syntax::slip"]),
        ("take a = water, 10 mL\n    heat a at 25C for 5 min", &["syntax::slip"]),
        ("take a = water, 10 mL\n    heat a at 30 ° for 5 min", &["kinds::ambiguous_unit"]),
        ("take a = water, 10 mL\n    heat a at -300 degC for 5 min", &["kinds::out_of_range"]),
        ("take a = water, 10 mL\n    heat a at 20 degC + 30 degC for 5 min", &["syntax::expected"]),
        ("take a = water, 10 mL\n    heat a at 60 degC for 1 h 30 min", &[]),
        ("take z = water, 10 mL\n    combine z, q2 → a", &["resolve::unknown_name"]),
    ];
    for (statement, wanted) in cases {
        let text = format!(
            "\u{FEFF}procedure x “Smart quotes and a byte-order mark” {{\n    basis q\n    take q = water, 5 mL\n    {statement}\n    \
             keep q as water in jar\n    keep a as water in jar\n}}\n"
        );
        let found: Vec<&str> = check(text.as_str()).findings.iter().map(|finding| finding.code.text()).collect();
        assert_eq!(found, *wanted, "{statement}");
    }
}

#[test]
fn the_ten_megabyte_line_and_its_kin_end_promptly() {
    let open = "procedure x \"X\" {\n    basis a\n    take a = water, ";
    let cases: Vec<Vec<u8>> = vec![
        format!("{open}{}5 mL\n}}\n", "(".repeat(60_000)).into_bytes(),
        "{".repeat(100_000).into_bytes(),
        (0..300).map(|n| format!("{}step \"x\" {{\n", " ".repeat(n))).collect::<String>().into_bytes(),
        format!("{open}{}\n}}\n", "x".repeat(10_000_000)).into_bytes(),
        vec![0; 10_000],
        (0..=255).cycle().take(20_000).collect(),
        b"\xFF\xFEprocedure".to_vec(),
        Vec::new(),
        b"# only a comment".to_vec(),
        format!("operation x {{\n    form x {}\n}}\n", "[".repeat(20_000)).into_bytes(),
        "\"".repeat(50_000).into_bytes(),
    ];
    for (number, case) in cases.into_iter().enumerate() {
        let quiet = number == 7 || number == 8;
        let compilation = check(case);
        assert_eq!(compilation.findings.is_empty(), quiet, "case {number}");
    }
}
