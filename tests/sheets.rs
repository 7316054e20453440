//! Every example compiles, sizes, and gives the sheet that stands beside it. `BLESS=1` writes the
//! sheets afresh.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

mod common;

use std::collections::BTreeSet;
use std::fs;

use common::{Crate, root};
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
use scruple::diagnostics::Diagnostic;
use scruple::load::Memory;
use scruple::pipeline::{Compilation, Request, compile};

/// The names, without their ending, of the examples' files that end so.
fn named(ending: &str) -> BTreeSet<String> {
    fs::read_dir(root().join("examples"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|found| found == ending))
        // A bench has no sheet.
        .filter(|path| ending == "md" || fs::read_to_string(path).unwrap().contains("\nprocedure "))
        .map(|path| path.file_stem().unwrap().to_str().unwrap().to_owned())
        .collect()
}

/// The examples, of which there are some.
fn examples() -> BTreeSet<String> {
    let names = named("scruple");
    assert!(names.len() >= 5, "only {} examples were found", names.len());
    names
}

fn compiled(name: &str, size: Option<&str>) -> Compilation {
    let request = Request { path: format!("examples/{name}.scruple"), size: size.map(str::to_owned), ..Request::default() };
    let compilation = compile(&request, &Crate);
    let errors: Vec<String> = compilation.findings.iter().filter(|finding| finding.is_error()).map(told).collect();
    assert!(errors.is_empty(), "{name} at {size:?} has errors:\n{}", errors.join("\n"));
    compilation
}

fn told(finding: &Diagnostic) -> String {
    format!("{finding:?}")
}

fn blessing() -> bool {
    std::env::var("BLESS").is_ok_and(|value| value == "1")
}

/// The first line in which two texts differ, for a message one can read.
fn first_difference(stored: &str, made: &str) -> String {
    let (mut old, mut new) = (stored.lines(), made.lines());
    for number in 1.. {
        match (old.next(), new.next()) {
            (None, None) => break,
            (before, now) if before != now => {
                return format!("line {number}\n  stored: {}\n  made:   {}", before.unwrap_or("(its end)"), now.unwrap_or("(its end)"));
            }
            _ => {}
        }
    }
    "only in the ends of lines".to_owned()
}

#[test]
fn each_example_has_its_sheet() {
    let mut wrong = Vec::new();
    for name in examples() {
        let made = compiled(&name, None).sheet().unwrap();
        let path = root().join("examples").join(format!("{name}.md"));
        if blessing() {
            fs::write(&path, &made).unwrap();
            continue;
        }
        match fs::read_to_string(&path) {
            Err(error) => wrong.push(format!("examples/{name}.md: {error}")),
            Ok(stored) if stored != made => wrong.push(format!("examples/{name}.md differs in {}", first_difference(&stored, &made))),
            Ok(_) => {}
        }
    }
    assert!(wrong.is_empty(), "{}\nIf the new sheets are right, run this again with BLESS=1.", wrong.join("\n"));
}

#[test]
fn each_sheet_has_its_example() {
    let orphans: Vec<String> = named("md").difference(&examples()).map(|name| format!("examples/{name}.md")).collect();
    assert!(orphans.is_empty(), "no procedure stands beside {}", orphans.join(", "));
}

#[test]
fn examples_as_written_are_without_findings() {
    for name in examples() {
        let findings: Vec<String> = compiled(&name, None).findings.iter().map(told).collect();
        assert!(findings.is_empty(), "{name}:\n{}", findings.join("\n"));
    }
}

/// The instrument that the sheet names follows the rules `good_measure` and `rough_measure`.
#[test]
fn instruments_follow_the_rules() {
    let sheet = |rules: &str| {
        let text = format!(
            "{rules}\nprocedure a \"Washed\" {{\n    basis oil\n    take oil = limonene, 10 mL\n    \
             wash oil with water, 10 mL -> upper oil, lower spent\n    keep oil as \"limonene, moist\" in bottle\n    \
             discard spent as \"aqueous\"\n}}\n"
        );
        let request = Request { path: "a.scruple".to_owned(), ..Request::default() };
        compile(&request, &Memory::new([("a.scruple", text.as_str())])).sheet().unwrap()
    };
    let rule = |name: &str| format!("rule {name} {{\n    value 0.5 % source \"rule of our own school: invented for this test\"\n}}\n");
    let line = |sheet: &str, what: &str| sheet.lines().find(|line| line.starts_with("| [ ]") && line.contains(what)).unwrap().to_owned();
    let as_they_are = sheet("");
    for (name, changed, same) in [("good_measure", "limonene", "water"), ("rough_measure", "water", "limonene")] {
        let strict = sheet(&rule(name));
        assert_ne!(line(&strict, changed), line(&as_they_are, changed), "{name}");
        assert_eq!(line(&strict, same), line(&as_they_are, same), "{name}");
    }
}

#[test]
fn the_same_bytes_twice() {
    for name in examples() {
        let (first, second) = (compiled(&name, None), compiled(&name, None));
        assert!(first.plan().is_some(), "{name} has no plan");
        assert_eq!(first.plan(), second.plan(), "the plan of {name}");
        assert_eq!(first.sheet(), second.sheet(), "the sheet of {name}");
    }
}

#[test]
fn sized_to_a_hundred_grams_of_product() {
    for name in examples() {
        let wanted = match name.as_str() {
            // Peel holds little oil: for a hundred grams there is no flask large enough.
            "orange_oil" => 20.0,
            // The beads for more, which hold 12 % in a hot return, do not lie in the extractor that it names.
            "fructone" => 60.0,
            _ => 100.0,
        };
        let plan = compiled(&name, Some(&format!("product={wanted}g"))).plan().unwrap();
        let plan: serde_json::Value = serde_json::from_str(&plan).unwrap();
        let products = plan["products"].as_array().unwrap();
        let mass = products.iter().find(|product| product["portion"].as_str().unwrap().starts_with("product#"));
        let mass = mass.unwrap_or_else(|| panic!("{name} keeps no `product`"))["mass_g"].as_f64().unwrap();
        assert!((mass - wanted).abs() < 1e-9 * wanted, "{name} sized to {wanted} g of product gives {mass} g");
    }
}

#[test]
fn sheets_are_well_formed() {
    for name in examples() {
        let sheet = compiled(&name, None).sheet().unwrap();
        let (mut tables, mut headings) = (Vec::new(), Vec::new());
        let mut heading: Option<String> = None;
        let mut cells = 0;
        for event in Parser::new_ext(&sheet, Options::ENABLE_TABLES) {
            match event {
                Event::Start(Tag::Heading { .. }) => heading = Some(String::new()),
                Event::Text(text) | Event::Code(text) => {
                    if let Some(heading) = &mut heading {
                        heading.push_str(&text);
                    }
                    // A line that begins with a bar outside a table is a table that did not parse.
                    assert!(!text.starts_with("| "), "{name}: a table does not parse at {text:?}");
                }
                Event::End(TagEnd::Heading(_)) => headings.extend(heading.take()),
                Event::Start(Tag::Table(columns)) => tables.push((columns.len(), 0)),
                Event::End(TagEnd::TableHead | TagEnd::TableRow) => {
                    let (columns, rows) = tables.last_mut().unwrap();
                    assert_eq!(cells, *columns, "{name}: a row of a table is short or long");
                    *rows += 1;
                    cells = 0;
                }
                Event::End(TagEnd::TableCell) => cells += 1,
                Event::Html(html) | Event::InlineHtml(html) => panic!("{name}: the sheet holds HTML: {html}"),
                _ => {}
            }
        }
        assert!(tables.len() >= 4, "{name} has {} tables", tables.len());
        assert!(tables.iter().all(|(_, rows)| *rows >= 2), "{name} has a table without rows");
        for wanted in ["Before you start", "Measure out", "Apparatus", "Steps", "What you should get", "Waste and reuse"] {
            assert_eq!(headings.iter().filter(|found| *found == wanted).count(), 1, "{name}: the heading {wanted:?} among {headings:?}");
        }
        assert!(sheet.ends_with('\n') && !sheet.ends_with("\n\n"), "{name}: one newline ends the sheet");
        for unfilled in ["{", "}", "NaN", "inf "] {
            assert!(!sheet.contains(unfilled), "{name}: the sheet holds {unfilled:?}");
        }
    }
}
