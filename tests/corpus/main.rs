//! How many mistakes are caught, and how many false alarms there are: a hundred mistakes seeded into
//! correct procedures, and thirty correct procedures.
//!
//! A mistake is caught when a finding of its code is made at all and the procedure had none of that
//! code before. What is not caught is listed in `MISSED` with the reason, and nothing else may be.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

mod mistakes;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use mistakes::MISTAKES;
use scruple::diagnostics::Code;
use scruple::diagnostics::render::{Look, render};
use scruple::load::Memory;
use scruple::pipeline::{Compilation, Request, compile};

/// Mistakes that are not caught, by their place in the table, with the reason.
const MISSED: &[(usize, &str)] = &[];

/// Codes that no seeded mistake can have, with the reason.
const NOT_SEEDED: &[(&str, &str)] = &[
    ("syntax::not_text", "bytes that are not text cannot be seeded into a text; see tests/ui"),
    ("syntax::too_large", "a whole file, not a slip in one; see tests/laws/hostile.rs"),
    ("resolve::ambiguous", "a clash of a user's declaration with the library's; see tests/ui"),
    ("resolve::missing_file", "these procedures use no other file; see tests/ui"),
    ("resolve::no_procedure", "asked for on the command line; see tests/ui"),
    ("amounts::out_of_reach", "asked for on the command line; see tests/ui"),
    ("data::not_known", "needs a substance of one's own with a gap; see tests/ui"),
    ("temperature::flame", "needs an operation of one's own that names a flame; see tests/ui"),
    ("capacity::absorber_short", "needs a gas led away; see tests/ui"),
    ("order::onto_reagent", "needs an acid chloride, a hydride or a metal in the pot; see tests/ui"),
    ("capacity::steam_short", "needs a distillation with steam; see tests/ui"),
    ("bench::none", "a bench is a document of its own: `tests/bench.rs` and `tests/ui/bench`"),
    ("bench::empty", "a bench is a document of its own: `tests/bench.rs` and `tests/ui/bench`"),
    ("record::procedure", "a record is a document of its own: `tests/record.rs` and `tests/ui/record`"),
    ("record::impossible", "a record is a document of its own: `tests/record.rs` and `tests/ui/record`"),
    ("record::instrument", "a record is a document of its own: `tests/record.rs` and `tests/ui/record`"),
    ("record::above_theory", "a record is a document of its own: `tests/record.rs` and `tests/ui/record`"),
    ("record::wet", "a record is a document of its own: `tests/record.rs` and `tests/ui/record`"),
    ("record::stated", "a record is a document of its own: `tests/record.rs` and `tests/ui/record`"),
    ("route::none", "a route is a document of its own: `tests/route.rs` and `tests/ui/route`"),
    ("route::circle", "a route is a document of its own: `tests/route.rs` and `tests/ui/route`"),
    ("route::unused", "a route is a document of its own: `tests/route.rs` and `tests/ui/route`"),
    ("route::no_product", "a route is a document of its own: `tests/route.rs` and `tests/ui/route`"),
    ("route::other_substance", "a route is a document of its own: `tests/route.rs` and `tests/ui/route`"),
    ("route::impure", "a route is a document of its own: `tests/route.rs` and `tests/ui/route`"),
    ("route::does_not_fit", "a route is a document of its own: `tests/route.rs` and `tests/ui/route`"),
    ("bench::missing", "a bench is a document of its own: `tests/bench.rs` and `tests/ui/bench`"),
    ("bench::in_use", "a bench is a document of its own: `tests/bench.rs` and `tests/ui/bench`"),
    ("bench::short", "a bench is a document of its own: `tests/bench.rs` and `tests/ui/bench`"),
    ("bench::grade", "a bench is a document of its own: `tests/bench.rs` and `tests/ui/bench`"),
    ("bench::too_empty", "a bench is a document of its own: `tests/bench.rs` and `tests/ui/bench`"),
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn procedure(name: &str) -> String {
    let folders = ["examples", "tests/samples", "tests/corpus/correct"];
    let path = folders.iter().map(|folder| root().join(folder).join(format!("{name}.scruple"))).find(|path| path.is_file());
    fs::read_to_string(path.unwrap_or_else(|| panic!("no procedure {name}"))).unwrap()
}

/// The text with one blank for several, but for those that begin a line: columns are no matter here.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut begins = true;
    for c in text.chars() {
        if c == ' ' && !begins && out.ends_with(' ') {
            continue;
        }
        begins = c == '\n' || begins && c == ' ';
        out.push(c);
    }
    out
}

fn compiled(text: &str, scale: Option<&str>) -> Compilation {
    let request = Request { path: "a.scruple".to_owned(), scale: scale.map(str::to_owned), ..Request::default() };
    compile(&request, &Memory::new([("a.scruple", text)]))
}

fn told(compilation: &Compilation) -> String {
    render(&compilation.findings, &compilation.sources, Look::Plain)
}

#[test]
fn mistakes_are_caught() {
    assert!(MISTAKES.len() >= 100, "{} mistakes", MISTAKES.len());
    let mut missed = Vec::new();
    for (number, (name, code, edits)) in MISTAKES.iter().enumerate() {
        let code = Code::from_text(code).unwrap_or_else(|| panic!("there is no code `{code}`"));
        let mut text = plain(&procedure(name));
        let mut scale = None;
        for (old, new) in *edits {
            if *old == "SCALE" {
                scale = Some(*new);
                continue;
            }
            let old = plain(old);
            assert!(text.contains(&old), "{name}: `{old}` does not stand there");
            text = text.replacen(&old, new, 1);
        }
        let has = |compilation: &Compilation| compilation.findings.iter().any(|finding| finding.code == code);
        assert!(!has(&compiled(&procedure(name), None)), "{name} has {} without a mistake", code.text());
        let compilation = compiled(&text, scale);
        if !has(&compilation) {
            missed.push((number, format!("{number}: {name}, {}: {edits:?}\n{}", code.text(), told(&compilation))));
        }
    }
    let numbers: Vec<usize> = missed.iter().map(|(number, _)| *number).collect();
    let known: Vec<usize> = MISSED.iter().map(|(number, _)| *number).collect();
    let texts: Vec<&str> = missed.iter().map(|(_, text)| text.as_str()).collect();
    assert_eq!(numbers, known, "\n{}", texts.join("\n"));
    let share = 1.0 - missed.len() as f64 / MISTAKES.len() as f64;
    assert!(share >= 0.98, "{:.1} % are caught", share * 100.0);
}

#[test]
fn every_code_is_seeded() {
    let seeded: BTreeSet<&str> = MISTAKES.iter().map(|(_, code, _)| *code).collect();
    let left_out: BTreeSet<&str> = NOT_SEEDED.iter().map(|(code, _)| *code).collect();
    let wrong: Vec<&str> =
        Code::ALL.iter().map(|code| code.text()).filter(|code| seeded.contains(code) == left_out.contains(code)).collect();
    assert!(wrong.is_empty(), "neither seeded nor left out with a reason, or both: {wrong:?}");
}

/// Correct procedures: the examples, the samples, and those written for this purpose.
#[test]
fn correct_procedures_raise_no_alarm() {
    let mut files: Vec<PathBuf> = Vec::new();
    for folder in ["examples", "tests/samples", "tests/corpus/correct"] {
        let entries = fs::read_dir(root().join(folder)).unwrap().map(|entry| entry.unwrap().path());
        let read = entries.filter(|path| path.extension().is_some_and(|extension| extension == "scruple"));
        // A bench is no procedure.
        files.extend(read.filter(|path| fs::read_to_string(path).unwrap().contains("\nprocedure ") || folder != "examples"));
    }
    files.sort();
    assert!(files.len() >= 30, "only {} procedures", files.len());
    let alarms: Vec<String> = files
        .iter()
        .filter_map(|file| {
            let compilation = compiled(&fs::read_to_string(file).unwrap(), None);
            (!compilation.findings.is_empty()).then(|| format!("{}:\n{}", file.display(), told(&compilation)))
        })
        .collect();
    assert!(alarms.is_empty(), "{} of {} raise an alarm:\n{}", alarms.len(), files.len(), alarms.join("\n"));
}
