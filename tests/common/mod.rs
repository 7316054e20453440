//! What the test suites share: compiling texts in memory.
#![allow(dead_code, missing_docs)]

use std::path::PathBuf;

use scruple::diagnostics::{Diagnostic, Severity};
use scruple::load::Memory;
use scruple::pipeline::{self, Compilation, Request};

pub const SAMPLES: &[(&str, &str)] = &[
    ("acetylsalicylic_acid", include_str!("../samples/acetylsalicylic_acid.scruple")),
    ("butyl_acetate", include_str!("../samples/butyl_acetate.scruple")),
    ("fructone", include_str!("../samples/fructone.scruple")),
    ("isoamyl_acetate", include_str!("../samples/isoamyl_acetate.scruple")),
];

pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

pub fn check(text: impl Into<Vec<u8>>) -> Compilation {
    pipeline::check("text.scruple", &Memory::new([("text.scruple", text.into())]))
}

pub fn compile(text: impl Into<Vec<u8>>, size: Option<&str>, scale: Option<&str>) -> Compilation {
    let request =
        Request { path: "text.scruple".to_owned(), procedure: None, size: size.map(str::to_owned), scale: scale.map(str::to_owned) };
    pipeline::compile(&request, &Memory::new([("text.scruple", text.into())]))
}

pub fn line(compilation: &Compilation, finding: &Diagnostic) -> usize {
    compilation.sources.place(finding.span).line
}

pub fn errors(compilation: &Compilation) -> Vec<(&'static str, usize)> {
    compilation
        .findings
        .iter()
        .filter(|finding| finding.code.severity() == Severity::Error)
        .map(|finding| (finding.code.text(), line(compilation, finding)))
        .collect()
}

pub fn all(compilation: &Compilation) -> Vec<(&'static str, usize)> {
    compilation.findings.iter().map(|finding| (finding.code.text(), line(compilation, finding))).collect()
}

/// The whole library: a file that names every word by which it is searched.
pub fn library() -> scruple::resolve::definitions::Definitions {
    let plain =
        |key: &&str| key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_') && key.starts_with(|c: char| c.is_ascii_alphabetic());
    let words: Vec<&str> = scruple::library::INDEX.iter().map(|(key, _)| *key).filter(plain).collect();
    let text = format!(
        "operation name_everything {{\n    form     name_everything <what: {}>\n    says     \"{{what}}\"\n}}\n",
        words.join(" | ")
    );
    let (mut sources, mut findings) = (scruple::source::Sources::default(), Vec::new());
    scruple::resolve::resolve("all.scruple", &Memory::new([("all.scruple", text)]), &mut sources, &mut findings).defs
}
