//! Any bytes end in findings or none: never a panic, never without end.

use proptest::prelude::*;
use scruple::diagnostics::render::{Look, render};
use scruple::pipeline::Compilation;
use scruple::source::Sources;
use scruple::syntax::{self, print::print};

use crate::generate::{edited, varied, words};
use crate::{all_texts, cases, check, compile, parse};

/// Checks, and writes out whatever came of it.
fn survive(bytes: &[u8]) -> Compilation {
    let compilation = check(bytes);
    let shown = render(&compilation.findings, &compilation.sources, Look::Plain);
    assert_eq!(shown.is_empty(), compilation.findings.is_empty());
    for finding in &compilation.findings {
        let spans = std::iter::once(finding.span).chain(finding.labels.iter().map(|(span, _)| *span));
        for span in spans.chain(finding.edit.iter().map(|edit| edit.span)) {
            let file = compilation.sources.get(span.file).unwrap();
            let inside = span.start <= span.end && span.end <= file.text.len();
            assert!(inside && file.text.is_char_boundary(span.start) && file.text.is_char_boundary(span.end), "{finding:?}");
        }
        assert!(!finding.message.is_empty());
    }
    if let Ok(text) = std::str::from_utf8(bytes) {
        let _ = print(&parse(text).0);
    }
    compilation
}

proptest! {
    #![proptest_config(cases(150))]

    #[test]
    fn random_bytes(bytes in prop::collection::vec(any::<u8>(), 0..2000)) {
        survive(&bytes);
    }

    #[test]
    fn random_characters(text in any::<String>()) {
        survive(text.as_bytes());
    }

    #[test]
    fn random_words(text in words(150)) {
        survive(text.as_bytes());
    }

    #[test]
    fn words_inside_a_procedure(text in words(60)) {
        survive(format!("procedure x \"X\" {{\n    basis a\n    take a = water, 5 mL\n    {text}\n}}\n").as_bytes());
    }

    #[test]
    fn samples_with_edits(text in edited(10)) {
        survive(text.as_bytes());
    }

    #[test]
    fn samples_with_bytes_put_in(which in 0_usize..12, puts in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..8)) {
        let mut bytes = all_texts().nth(which).unwrap().1.as_bytes().to_vec();
        for (at, byte) in puts {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        survive(&bytes);
    }

    #[test]
    fn figures_beyond_all_measure(text in varied(1e12)) {
        survive(text.as_bytes());
    }

    #[test]
    fn a_line_by_itself(text in any::<String>()) {
        let mut sources = Sources::default();
        let id = sources.add("a", text, false);
        let _ = syntax::parse::parse_line(id, sources.get(id).unwrap());
    }
}

proptest! {
    #![proptest_config(cases(24))]

    #[test]
    fn requests_of_any_kind(size in any::<String>(), scale in any::<f64>(), words in words(8)) {
        let text = all_texts().next().unwrap().1;
        for size in [size.clone(), words.clone(), format!("product={size}"), format!("product={words}"), format!("product={scale}g")] {
            let compilation = compile(text, Some(size), None);
            let _ = render(&compilation.findings, &compilation.sources, Look::Plain);
        }
        let _ = compile(text, None, Some(scale));
    }
}

/// Nested, long, and of bytes that are no text: each ends, with a finding where there is something to find.
#[test]
fn deep_long_and_empty() {
    let head = "procedure x \"X\" {\n    basis a\n    take a = water, ";
    let quiet: Vec<Vec<u8>> = vec![b"".to_vec(), b"\n\n".to_vec(), b"# only\n  # comments".to_vec(), "\u{FEFF}".into(), b"\r\n".to_vec()];
    for (number, case) in quiet.iter().enumerate() {
        assert!(survive(case).findings.is_empty(), "{number}");
    }
    let loud: Vec<Vec<u8>> = vec![
        "(".repeat(100_000).into_bytes(),
        format!("{head}{}5 mL\n}}\n", "(".repeat(100_000)).into_bytes(),
        format!("{head}{}5 mL{}\n}}\n", "(".repeat(30_000), ")".repeat(30_000)).into_bytes(),
        "{".repeat(100_000).into_bytes(),
        "}".repeat(100_000).into_bytes(),
        "{}".repeat(50_000).into_bytes(),
        "a {\n".repeat(30_000).into_bytes(),
        (0..300).map(|n| format!("{}step \"x\" {{\n", " ".repeat(n))).collect::<String>().into_bytes(),
        (0..2_000).map(|n| format!("{}step \"x\"\n", " ".repeat(n))).collect::<String>().into_bytes(),
        format!("{head}{}\n}}\n", "x".repeat(10_000_000)).into_bytes(),
        format!("{head}{}\n}}\n", "5 mL, ".repeat(1_700_000)).into_bytes(),
        format!("{head}\"{}", "y".repeat(10_000_000)).into_bytes(),
        format!("{head}{}\n}}\n", "9".repeat(60_000)).into_bytes(),
        format!("{head}5 {}\n}}\n", "m/".repeat(30_000)).into_bytes(),
        "take\n".repeat(100_000).into_bytes(),
        "a b\n".repeat(100_000).into_bytes(),
        format!("{head}5 mL\n{}}}\n", "    combine a, b -> c\n".repeat(4_000)).into_bytes(),
        format!("operation x {{\n    form x {}\n}}\n", "[".repeat(60_000)).into_bytes(),
        format!("operation x {{\n    form x {}\n}}\n", "<a: b> [".repeat(8_000)).into_bytes(),
        format!("substance x {{\n    formula \"{}\"\n}}\n", "(".repeat(60_000)).into_bytes(),
        format!("substance x {{\n    formula \"{}H{}\"\n}}\n", "(".repeat(30_000), ")9".repeat(20_000)).into_bytes(),
        format!("procedure x \"X\" {{\n    reaction r {{\n        {}water -> water\n    }}\n}}\n", "water + ".repeat(8_000)).into_bytes(),
        "use \"text.scruple\"\n".into(),
        vec![0; 100_000],
        b"procedure x \"X\" {\n\0\n}".to_vec(),
        (0..=255).cycle().take(100_000).collect(),
        vec![0xFF; 100_000],
        b"\xFF\xFEp\0r\0o\0c\0".to_vec(),
        "\"".repeat(100_001).into_bytes(),
        vec![b'x'; scruple::load::MAX_FILE + 1],
    ];
    for (number, case) in loud.iter().enumerate() {
        let start = std::time::Instant::now();
        let compilation = survive(case);
        // For whoever looks with `--nocapture`; nothing is asserted about it.
        println!("case {number}: {} findings in {} ms", compilation.findings.len(), start.elapsed().as_millis());
        // A file that uses itself may be nothing to speak of.
        assert!(!compilation.findings.is_empty() || number == 22, "case {number} is found right");
    }
}

/// An amount of many terms: as deep a tree as a line can hold.
#[test]
fn thousands_of_terms() {
    for terms in [" + 5 mL", " * 5 mL", " * 1.0"] {
        let terms = terms.repeat(9_000);
        let text = format!("procedure x \"X\" {{\n    basis a\n    take a = water, 5 mL{terms}\n    keep a as water in jar\n}}\n");
        survive(text.as_bytes());
    }
}
