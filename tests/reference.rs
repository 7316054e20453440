//! The reference holds: every operation has an example that compiles, every figure of the library can
//! be looked up with its source, and the page is what the declarations say. `BLESS=1` writes it anew.
#![allow(clippy::unwrap_used, clippy::panic, clippy::disallowed_methods, reason = "a test may stop where it stands, and reads files")]

mod common;

use std::fs;

use scruple::diagnostics::render::{Look, render};
use scruple::emit::reference::{Page, find, json, near, page, shown};
use scruple::library::ENTRIES;

fn operations() -> impl Iterator<Item = Page> {
    ENTRIES.iter().filter(|entry| entry.sort == "operation").map(Page::of)
}

#[test]
fn every_operation_has_an_example() {
    let without: Vec<String> =
        operations().filter(|page| page.examples.is_empty()).map(|page| format!("{} in {}", page.entry.name, page.entry.file)).collect();
    assert!(without.is_empty(), "no `## Example:` stands above {without:?}: write the body of a small procedure there");
}

/// The body of a procedure: the operation is used in it, and nothing is found wrong with it.
#[test]
fn every_example_compiles_and_uses_its_operation() {
    let mut failures = Vec::new();
    for page in operations() {
        for example in &page.examples {
            let body: String = example.lines().map(|line| format!("    {line}\n")).collect();
            let text = format!("procedure example \"Example\" {{\n{body}}}\n");
            let compilation = common::compile(text.clone(), None, None);
            if !compilation.findings.is_empty() {
                let found = render(&compilation.findings, &compilation.sources, Look::Plain);
                failures.push(format!("{}:\n{text}\n{found}", page.entry.name));
            } else if !compilation
                .outcome
                .as_ref()
                .is_some_and(|outcome| outcome.procedure.statements.iter().any(|statement| statement.operation.name == page.entry.name))
            {
                failures.push(format!("{} is not used in its example:\n{text}", page.entry.name));
            }
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

#[test]
fn whatever_is_declared_is_shown_with_its_source() {
    for entry in ENTRIES.iter() {
        let (text, read) = (shown(entry), Page::of(entry));
        assert!(!read.lines.is_empty() || entry.sort == "apparatus", "{} has no line", entry.name);
        for line in &read.lines {
            assert!(text.contains(&line.value) && text.contains(&line.source), "{}: {line:?} is not in\n{text}", entry.name);
        }
        // As many sources are read as the declaration has.
        let sources =
            |line: &str| line.split("source").skip(1).filter(|rest| rest.starts_with(' ') && rest.trim_start().starts_with('"')).count();
        let written: usize = entry.text.lines().filter(|line| !line.starts_with('#')).map(sources).sum();
        assert_eq!(read.lines.iter().filter(|line| !line.source.is_empty()).count(), written, "{}", entry.name);
        let value: serde_json::Value = serde_json::from_str(&json(entry)).unwrap();
        assert_eq!(value["name"], entry.name);
        assert!(find(entry.name).iter().any(|found| std::ptr::eq(*found, entry)), "{} is not found by its name", entry.name);
    }
}

#[test]
fn a_trade_name_finds_the_substance_and_a_misspelt_one_is_near() {
    assert!(find("MgSO4").iter().any(|entry| entry.name == "magnesium_sulfate"));
    assert!(find("dry").iter().any(|entry| entry.name == "dry_over"));
    assert!(find("*instruments").is_empty() && find("+water").is_empty());
    assert!(near("isoamyl_alchol").contains(&"isoamyl_alcohol"));
}

#[test]
fn what_is_not_known_is_said() {
    let entry = ENTRIES.iter().find(|entry| entry.name == "magnesium_sulfate").unwrap();
    let text = shown(entry);
    assert!(text.contains("Not known:") && text.contains("boiling point"), "{text}");
    // 120.36 g/mol and 7 × 18.015 g/mol: worked out by hand.
    assert!(text.contains("120.36 g/mol") && text.contains("1.05 g/g"), "{text}");
}

#[test]
fn the_page_is_what_the_declarations_say() {
    let path = common::root().join("stdlib/REFERENCE.md");
    let made = page();
    if std::env::var_os("BLESS").is_some() {
        fs::write(&path, &made).unwrap();
    }
    let stored = fs::read_to_string(&path).unwrap_or_default();
    let line = made.lines().zip(stored.lines()).position(|(made, stored)| made != stored).map_or(0, |at| at + 1);
    assert!(made == stored, "stdlib/REFERENCE.md differs from line {line}: BLESS=1 writes it anew");
}
