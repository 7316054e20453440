//! Samples have no finding at all; one slip of the pen anywhere in a sample is found on its own line;
//! slips and units that people write; texts that are none.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic, clippy::disallowed_methods, missing_docs)]

mod common;

use common::{SAMPLES, all, check, compile};
use scruple::source::Sources;
use scruple::syntax::{self, Line, Node, Tok};

#[test]
fn samples_have_no_findings() {
    for (name, text) in SAMPLES {
        assert_eq!(all(&check(*text)), [], "{name}");
    }
}

/// Tokens of a logical line with their place in the text; quantities in figures and unit too.
fn places(line: &Line) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    for token in &line.tokens {
        found.push((token.span.start, token.span.end));
        if let Tok::Quantity(measure) = &token.tok
            && let Some((_, unit)) = &measure.unit
        {
            found.push((measure.figures_span.start, measure.figures_span.end));
            found.push((unit.start, unit.end));
        }
    }
    found
}

fn walk(nodes: &[Node], found: &mut Vec<(usize, usize)>, pairs: &mut Vec<[(usize, usize); 2]>) {
    let mut line = |line: &Line, found: &mut Vec<(usize, usize)>| {
        found.extend(places(line));
        let whole: Vec<(usize, usize)> = line.tokens.iter().map(|token| (token.span.start, token.span.end)).collect();
        pairs.extend(whole.windows(2).map(|pair| [pair[0], pair[1]]));
    };
    let mut blocks = Vec::new();
    for node in nodes {
        match node {
            Node::Line(own) => line(own, found),
            Node::Block(block) => {
                line(&block.head, found);
                found.push((block.open.start, block.open.end));
                found.push((block.close.start, block.close.end));
                blocks.push(&block.body);
            }
            Node::Comment(_) => {}
        }
    }
    for body in blocks {
        walk(body, found, pairs);
    }
}

#[test]
fn one_token_deleted_or_swapped_is_found_on_its_line() {
    let mut wrong = Vec::new();
    let mut tried = 0;
    for (name, text) in SAMPLES {
        let mut sources = Sources::default();
        let id = sources.add(*name, (*text).to_owned(), false);
        let file = sources.get(id).unwrap();
        let (tree, _) = syntax::parse(id, file);
        let (mut single, mut pairs) = (Vec::new(), Vec::new());
        walk(&tree.nodes, &mut single, &mut pairs);
        let mut mutants: Vec<(usize, String, String)> = Vec::new();
        for (start, end) in single {
            let mutant = format!("{}{}", &text[..start], &text[end..]);
            mutants.push((start, format!("without `{}`", &text[start..end]), mutant));
        }
        for [a, b] in pairs {
            let mutant = format!("{}{}{}{}{}", &text[..a.0], &text[b.0..b.1], &text[a.1..b.0], &text[a.0..a.1], &text[b.1..]);
            mutants.push((a.0, format!("`{}` and `{}` swapped", &text[a.0..a.1], &text[b.0..b.1]), mutant));
        }
        for (at, what, mutant) in mutants {
            tried += 1;
            let line = file.place(at).line;
            let compilation = check(mutant.as_str());
            if let Some(first) = compilation.findings.first() {
                let found = common::line(&compilation, first);
                if found != line {
                    wrong.push(format!("{name}:{line}: {what}: {} on line {found}: {}", first.code.text(), first.message));
                }
            }
        }
    }
    assert!(tried > 1000, "only {tried} were tried");
    assert!(wrong.is_empty(), "{} of {tried}:\n{}", wrong.len(), wrong.join("\n"));
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
        ("take a = water, 5 µL", &[]),
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
