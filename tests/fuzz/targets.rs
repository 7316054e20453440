//! What must hold for any bytes whatever. Each function stops the program when it does not. They are
//! called by the fuzz targets, and by `tests/replay.rs` with the committed corpus.

use scruple::diagnostics::render::{Look, render};
use scruple::diagnostics::{json, sarif};
use scruple::load::{Memory, take_in};
use scruple::mend::mend;
use scruple::pipeline::{self, Compilation, Request};
use scruple::source::Sources;
use scruple::syntax::{self, print};

const NAME: &str = "a.scruple";

/// Any text has a tree, and every finding about it stands inside it, between two characters.
pub fn parse(bytes: &[u8]) {
    let mut sources = Sources::default();
    let (id, _) = take_in(&mut sources, NAME, bytes.to_vec());
    let file = sources.get(id).expect("the file was just taken in");
    let (_, findings) = syntax::parse(id, file);
    for finding in findings {
        assert!(finding.span.start <= finding.span.end && finding.span.end <= file.text.len(), "{finding:?}");
        assert!(file.text.is_char_boundary(finding.span.start) && file.text.is_char_boundary(finding.span.end), "{finding:?}");
        assert!(!finding.message.is_empty());
    }
}

/// Any file can be checked; its findings can be written in every form; mending it ends.
pub fn check(bytes: &[u8]) {
    let loader = Memory::new([(NAME, bytes)]);
    let compilation = pipeline::check(NAME, &loader);
    shown(&compilation);
    if compilation.findings.iter().any(|finding| finding.edit.as_ref().is_some_and(|edit| edit.safe)) {
        let _ = mend(NAME, &loader);
    }
}

/// Any file gives a sheet and a plan without a figure that is none, or a finding that is an error.
pub fn sheet(bytes: &[u8]) {
    let request = Request { path: NAME.to_owned(), ..Request::default() };
    let compilation = pipeline::compile(&request, &Memory::new([(NAME, bytes)]));
    match (compilation.sheet(), compilation.plan()) {
        (Some(sheet), Some(plan)) => {
            assert!(!compilation.has_errors());
            // A user's own text may say these; a figure never does.
            let text = String::from_utf8_lossy(bytes);
            for none in ["NaN", " inf "] {
                assert!(!sheet.contains(none) || text.contains(none.trim()), "{none} on the sheet:\n{sheet}");
            }
            assert!(plan.ends_with("}\n"));
        }
        (None, None) => assert!(compilation.has_errors(), "no sheet, and nothing that says why"),
        _ => panic!("a sheet without a plan, or a plan without a sheet"),
    }
}

/// A file that can be read says the same in the one layout, and is laid out once for all.
pub fn tidy(bytes: &[u8]) {
    let mut sources = Sources::default();
    let (id, found) = take_in(&mut sources, NAME, bytes.to_vec());
    if !found.is_empty() {
        return;
    }
    let file = sources.get(id).expect("the file was just taken in");
    let (tree, findings) = syntax::parse(id, file);
    if !findings.is_empty() {
        return;
    }
    let once = print::print(&tree);
    let again = sources.add(NAME, once.clone(), false);
    let (second, findings) = syntax::parse(again, sources.get(again).expect("it was just added"));
    assert!(findings.is_empty(), "laid out, it can no longer be read:\n{once}\n{findings:?}");
    assert_eq!(print::print(&second), once, "a second laying out changes it");
}

fn shown(compilation: &Compilation) {
    let Compilation { findings, sources, .. } = compilation;
    let text = render(findings, sources, Look::Plain);
    assert_eq!(text.is_empty(), findings.is_empty());
    for finding in findings {
        assert!(json::line(finding, sources).starts_with('{'));
    }
    assert!(sarif::document(&[(findings, sources)]).ends_with("}\n"));
}
