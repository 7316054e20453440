//! Edits by machine: each safe edit that a finding offers does away with that finding, guesses are
//! left to people, and a file says nothing else afterwards.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

mod common;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use common::GOOD;
use scruple::diagnostics::Code;
use scruple::load::Memory;
use scruple::mend::mend;
use scruple::pipeline::check;

fn mended(text: &str) -> (Option<String>, Vec<(usize, Code)>) {
    let mended = mend("a.scruple", &Memory::new([("a.scruple", text)]));
    (mended.text, mended.done)
}

/// What is written wrongly, what the machine makes of it, and the code.
const SAFE: [(&str, &str, &str); 9] = [
    ("isoamyl_alcohol, 24 mL", "isoamyl_alcohol, 24 ML", "syntax::slip"),
    ("isoamyl_alcohol, 24 mL", "isoamyl_alcohol, 24 cc", "syntax::slip"),
    ("glacial, 2.0 eq", "glacial, 2,0 eq", "syntax::slip"),
    ("137..143 degC", "137-143 degC", "syntax::slip"),
    ("137..143 degC", "137 – 143 degC", "syntax::slip"),
    ("to 25 degC", "to 25 C", "syntax::slip"),
    ("combine alcohol, acid -> pot", "combine alcohol acid -> pot", "syntax::expected"),
    ("cool pot to 25 degC", "cool pot to 25 degC;", "syntax::slip"),
    ("step \"Esterify\" {", "step \"Esterify\"", "syntax::brace"),
];

#[test]
fn each_safe_edit_gives_back_what_was_meant() {
    assert!(check("a.scruple", &Memory::new([("a.scruple", GOOD)])).findings.is_empty());
    for (right, wrong, code) in SAFE {
        assert_eq!(GOOD.matches(right).count(), 1, "{right}");
        let text = GOOD.replace(right, wrong);
        let (after, done) = mended(&text);
        assert_eq!(done.iter().map(|(_, code)| code.text()).collect::<Vec<_>>(), [code], "{wrong}");
        assert_eq!(after.as_deref(), Some(GOOD), "{wrong}");
    }
}

#[test]
fn several_slips_are_mended_at_once_each_on_its_line() {
    let text = SAFE.iter().skip(1).fold(GOOD.to_owned(), |text, (right, wrong, _)| text.replacen(right, wrong, 1));
    let (after, done) = mended(&text);
    assert_eq!(after.as_deref(), Some(GOOD));
    let lines: BTreeSet<usize> = done.iter().map(|(line, _)| *line).collect();
    assert_eq!(lines, BTreeSet::from([6, 7, 17, 18, 21, 32]));
}

/// A name that is nearly another, a margin without its sign and a comma that may part thousands
/// have more than one reading.
#[test]
fn guesses_are_left_to_people() {
    for (right, wrong) in [
        ("isoamyl_alcohol, 24 mL", "isoamyl_alcohl, 24 mL"),
        ("reflux pot for", "refluks pot for"),
        ("magnesium_sulfate, enough", "magnesium_sulfate, enough + 20"),
        ("brine, 0.3 * volume of crude", "brine, 1,500 mL"),
    ] {
        let text = GOOD.replace(right, wrong);
        assert!(!check("a.scruple", &Memory::new([("a.scruple", text.as_str())])).findings.is_empty(), "{wrong}");
        assert_eq!(mended(&text), (None, Vec::new()), "{wrong}");
    }
}

#[test]
fn an_allowance_that_silences_nothing_is_taken_out() {
    let text = GOOD.replace("    basis alcohol\n", "    basis alcohol\n    allow layers::too_close \"seen\"\n");
    let (after, done) = mended(&text);
    assert_eq!(done, [(5, Code::AllowsNothing)]);
    let after = after.unwrap();
    assert!(!after.contains("allow"));
    assert!(check("a.scruple", &Memory::new([("a.scruple", after)])).findings.is_empty());
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "scruple") {
            found.push(path);
        }
    }
}

/// Over every input that has a finding: a mended file has none of the findings that were mended on
/// their lines, gains no other code, and a second mending changes nothing.
#[test]
fn no_mending_makes_a_file_worse() {
    let mut files = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/ui"), &mut files);
    let mut changed = 0;
    for file in files {
        let bytes = fs::read(&file).unwrap();
        let before = check("a.scruple", &Memory::new([("a.scruple", bytes.clone())]));
        let Some(after) = mend("a.scruple", &Memory::new([("a.scruple", bytes)])).text else { continue };
        changed += 1;
        let again = check("a.scruple", &Memory::new([("a.scruple", after.clone())]));
        let count = |findings: &[scruple::diagnostics::Diagnostic], syntax: bool| {
            findings.iter().filter(|finding| (finding.code.phase() == "syntax") == syntax).count()
        };
        assert!(count(&again.findings, true) < count(&before.findings, true) || count(&before.findings, true) == 0, "{}", file.display());
        assert_eq!(mended(&after).0, None, "{}", file.display());
    }
    assert!(changed >= 6, "only {changed} inputs could be mended");
}
