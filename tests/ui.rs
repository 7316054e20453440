//! Failing inputs are files: `tests/ui/<phase>/<name>.scruple` with the expected findings, rendered
//! plain, beside it as `<name>.txt`. The first line says what is meant:
//!
//! ```text
//! # expects: kinds::mismatch on line 9
//! # expects: syntax::expected on line 3, reaction::unbalanced on line 8
//! # expects: nothing
//! ```
//!
//! and a second one may say how the sheet is asked for: `# size: NAME=QUANTITY` or `# scale: NUMBER`.
//! `BLESS=1` writes the `.txt` afresh; it never changes what the first line says, which is compared
//! with all findings, warnings included. The samples under `tests/samples/` are the project's own.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use scruple::diagnostics::Code;
use scruple::diagnostics::render::{Look, render};
use scruple::kinds::Kind;
use scruple::load::Memory;
use scruple::pipeline::{Compilation, Request, check, compile};

/// The four samples.
const SAMPLES: [&str; 4] = ["isoamyl_acetate", "butyl_acetate", "fructone", "acetylsalicylic_acid"];

/// Codes that no file under `tests/ui/` can raise, each with the reason. There is none: a size that
/// cannot be had is asked for in the file's second line, and a file that cannot be read is one
/// that the file uses.
const UNREACHABLE: [(Code, &str); 0] = [];

fn tests() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests")
}

/// All files under a folder that end so, by path relative to `tests/`, in order.
fn files(folder: &str, ending: &str) -> BTreeSet<String> {
    fn walk(folder: &Path, ending: &str, found: &mut BTreeSet<String>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, ending, found);
            } else if path.extension().is_some_and(|extension| extension == ending) {
                let relative = path.strip_prefix(tests()).unwrap().to_str().unwrap().replace('\\', "/");
                found.insert(relative);
            }
        }
    }
    let mut found = BTreeSet::new();
    walk(&tests().join(folder), ending, &mut found);
    found
}

fn bytes(file: &str) -> Vec<u8> {
    fs::read(tests().join(file)).unwrap()
}

fn compiled(file: &str, size: Option<String>, scale: Option<String>) -> Compilation {
    let loader = Memory::new([(file, bytes(file))]);
    // A route is gone through where its file is checked.
    if String::from_utf8_lossy(&bytes(file)).contains("\nroute ") {
        return check(file, &loader);
    }
    let request = Request { path: file.to_owned(), size, scale, ..Request::default() };
    compile(&request, &loader)
}

/// What follows `# KEY:` on line `line` (from 0) of a file.
fn said(file: &str, line: usize, key: &str) -> Option<String> {
    let text = String::from_utf8_lossy(&bytes(file)).into_owned();
    let line = text.trim_start_matches('\u{FEFF}').lines().nth(line)?.to_owned();
    Some(line.strip_prefix('#')?.trim().strip_prefix(key)?.trim().strip_prefix(':')?.trim().to_owned())
}

/// The codes and lines that the first line of a file names, in order of line and code.
fn expected(file: &str) -> Vec<(usize, &'static str)> {
    let text = said(file, 0, "expects").unwrap_or_else(|| panic!("{file}: the first line is not `# expects: CODE on line N`"));
    if text == "nothing" {
        return Vec::new();
    }
    let mut all: Vec<(usize, &'static str)> = text
        .split(',')
        .map(|one| {
            let (code, line) = one.split_once(" on line ").unwrap_or_else(|| panic!("{file}: `{one}` is not `CODE on line N`"));
            let code = Code::from_text(code.trim()).unwrap_or_else(|| panic!("{file}: there is no code `{code}`"));
            (line.trim().parse().unwrap(), code.text())
        })
        .collect();
    all.sort_unstable();
    all
}

/// The codes and lines that were found, in order of line and code.
fn found(compilation: &Compilation, errors_only: bool) -> Vec<(usize, &'static str)> {
    let findings = compilation.findings.iter().filter(|finding| !errors_only || finding.is_error());
    let mut all: Vec<(usize, &'static str)> =
        findings.map(|finding| (compilation.sources.place(finding.span).line, finding.code.text())).collect();
    all.sort_unstable();
    all
}

fn told(compilation: &Compilation) -> String {
    render(&compilation.findings, &compilation.sources, Look::Plain)
}

fn report(failures: &[String]) {
    assert!(failures.is_empty(), "{} failures:\n{}", failures.len(), failures.join("\n"));
}

#[test]
fn each_file_gives_what_it_says_it_gives() {
    let bless = std::env::var_os("BLESS").is_some();
    let mut failures = Vec::new();
    let sources = files("ui", "scruple");
    assert!(sources.len() >= Code::ALL.len(), "only {} files were found", sources.len());
    for file in &sources {
        let compilation = compiled(file, said(file, 1, "size"), said(file, 1, "scale"));
        let (expected, got) = (expected(file), found(&compilation, false));
        if expected != got {
            failures.push(format!("{file}: expects {expected:?}, gives {got:?}\n{}", told(&compilation)));
            continue;
        }
        // A file stands in the folder of the family that it is about.
        let folder = file.split('/').nth(1).unwrap();
        if !["accepted", "several"].contains(&folder) && !expected.iter().any(|(_, code)| code.split("::").next() == Some(folder)) {
            failures.push(format!("{file}: it expects no code of its folder"));
        }
        if (folder == "accepted") != expected.is_empty() {
            failures.push(format!("{file}: what is accepted stands under `accepted`, and nothing else does"));
        }
        let beside = tests().join(file).with_extension("txt");
        let rendered = told(&compilation);
        match fs::read_to_string(&beside) {
            Ok(text) if text == rendered => {}
            _ if bless => fs::write(&beside, rendered).unwrap(),
            Ok(text) => {
                failures.push(format!("{file}: its findings changed (`BLESS=1` takes them over):\n--- before\n{text}--- now\n{rendered}"))
            }
            Err(_) => failures.push(format!("{file}: there is no `.txt` beside it (`BLESS=1` writes it)")),
        }
    }
    report(&failures);
}

#[test]
fn no_expectation_is_orphaned() {
    let sources: BTreeSet<String> = files("ui", "scruple").iter().map(|file| file.replace(".scruple", "")).collect();
    let orphans: Vec<String> = files("ui", "txt").into_iter().filter(|file| !sources.contains(&file.replace(".txt", ""))).collect();
    assert!(orphans.is_empty(), "no file belongs to {orphans:?}");
}

#[test]
fn every_code_has_a_file() {
    let mut covered: BTreeMap<&str, usize> = BTreeMap::new();
    for file in files("ui", "scruple") {
        for (_, code) in expected(&file) {
            *covered.entry(code).or_default() += 1;
        }
    }
    let unreachable: Vec<&str> = UNREACHABLE.iter().map(|(code, _)| code.text()).collect();
    let missing: Vec<&str> =
        Code::ALL.iter().map(|code| code.text()).filter(|code| !covered.contains_key(code) && !unreachable.contains(code)).collect();
    assert!(missing.is_empty(), "no file under tests/ui raises {missing:?}");
    assert!(unreachable.iter().all(|code| !covered.contains_key(code)), "a code said to be out of reach is raised");
}

#[test]
fn the_samples_have_no_errors() {
    let mut failures = Vec::new();
    for sample in SAMPLES {
        let compilation = compiled(&format!("samples/{sample}.scruple"), None, None);
        if compilation.has_errors() || compilation.sheet().is_none() || compilation.plan().is_none() {
            failures.push(format!("{sample}:\n{}", told(&compilation)));
        }
    }
    report(&failures);
}

#[test]
fn each_mistake_gives_one_error() {
    let mistakes = files("samples/mistakes", "scruple");
    assert!(mistakes.len() >= 17, "only {} were found", mistakes.len());
    let mut failures = Vec::new();
    for file in &mistakes {
        let compilation = compiled(file, None, None);
        let (expected, got) = (expected(file), found(&compilation, true));
        if expected != got || compilation.outcome.is_some() {
            failures.push(format!("{file}: expects {expected:?}, gives {got:?}\n{}", told(&compilation)));
        }
    }
    report(&failures);
}

#[test]
fn independent_mistakes_are_all_reported_once() {
    let file = "ui/several/independent_mistakes.scruple";
    let got = found(&compiled(file, None, None), false);
    let codes: BTreeSet<&str> = got.iter().map(|(_, code)| *code).collect();
    let wanted = ["syntax::expected", "resolve::unknown_substance", "kinds::mismatch", "matter::never_used", "reaction::unbalanced"];
    assert_eq!(codes, BTreeSet::from(wanted));
    assert_eq!(got, expected(file));
}

/// How much smaller a sample can be made. The extractor that fructone names holds 100 mL, and half
/// the carrier would not reach its siphon.
fn smaller(sample: &str) -> f64 {
    if sample == "fructone" { 0.8 } else { 0.5 }
}

/// How much larger a sample can be made. Beads for more than twice of fructone do not lie in the extractor that it names.
fn larger(sample: &str) -> f64 {
    if sample == "fructone" { 1.9 } else { 2.5 }
}

#[test]
fn the_bed_of_two_and_a_half_of_fructone_does_not_fit_the_extractor() {
    // 91 g of beads at 0.72 g/mL, since they hold 12 % washed by hot condensate.
    let much = compiled("samples/fructone.scruple", None, Some("2.5".to_owned()));
    assert_eq!(found(&much, true), [(22, "apparatus::bed_too_large")], "{}", told(&much));
}

#[test]
fn half_of_fructone_does_not_reach_the_siphon() {
    let half = compiled("samples/fructone.scruple", None, Some("0.5".to_owned()));
    assert_eq!(found(&half, true), [(22, "apparatus::siphon_not_reached")], "{}", told(&half));
}

/// Sizes a sample and reads the figure back.
fn sized(sample: &str, name: &str, kind: Kind, factor: f64, failures: &mut Vec<String>) {
    let file = format!("samples/{sample}.scruple");
    let figure = |compilation: &Compilation| {
        let outcome = compilation.outcome.as_ref()?;
        let id = outcome.procedure.find(name)?;
        outcome.evaluation.figure(&outcome.procedure, &outcome.defs, id, kind)
    };
    let written = compiled(&file, None, None);
    let Some(at_one) = figure(&written) else {
        if kind == Kind::Mass {
            failures.push(format!("{sample}: `{name}` has no mass"));
        }
        return;
    };
    // A solid has no volume to be sized by.
    if kind == Kind::Volume && at_one <= 0.0 {
        return;
    }
    let wanted = at_one * factor;
    let text = if kind == Kind::Mass { format!("{name}={} g", wanted * 1e3) } else { format!("{name}={} mL", wanted * 1e6) };
    let compilation = compiled(&file, Some(text.clone()), None);
    match figure(&compilation) {
        None => failures.push(format!("{sample} at {text}:\n{}", told(&compilation))),
        Some(got) if (got / wanted - 1.0).abs() < 1e-9 => {}
        Some(got) => failures.push(format!("{sample} at {text}: {got} is not {wanted} (SI)")),
    }
}

#[test]
fn each_sample_is_sized_by_what_it_gives_and_by_what_it_takes() {
    let mut failures = Vec::new();
    for sample in SAMPLES {
        let written = compiled(&format!("samples/{sample}.scruple"), None, None);
        let procedure = &written.outcome.as_ref().unwrap().procedure;
        let takes: Vec<String> = procedure.takes.iter().map(|take| procedure.binding(take.binding).name.clone()).collect();
        assert!(takes.len() >= 3, "{sample}: {takes:?}");
        for name in takes.iter().map(String::as_str).chain(["product"]) {
            for kind in [Kind::Mass, Kind::Volume] {
                for factor in [smaller(sample), larger(sample)] {
                    sized(sample, name, kind, factor, &mut failures);
                }
            }
        }
    }
    report(&failures);
}

#[test]
fn each_sample_compiles_smaller_and_larger() {
    let mut failures = Vec::new();
    for sample in SAMPLES {
        for scale in [smaller(sample), larger(sample)] {
            let scale = scale.to_string();
            let compilation = compiled(&format!("samples/{sample}.scruple"), None, Some(scale.clone()));
            let scaled = compilation.outcome.as_ref().map(|outcome| outcome.evaluation.scale);
            if scaled != scale.parse().ok() {
                failures.push(format!("{sample} at {scale}:\n{}", told(&compilation)));
            }
        }
    }
    report(&failures);
}
