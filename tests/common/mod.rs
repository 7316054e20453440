//! What the test suites share: compiling texts in memory.
#![allow(dead_code, missing_docs, clippy::disallowed_methods)]

use std::fs;
use std::path::{Path, PathBuf};

use scruple::diagnostics::{Diagnostic, Severity};
use scruple::load::{Loader, Memory};
use scruple::pipeline::{self, Compilation, Request};

pub const SAMPLES: &[(&str, &str)] = &[
    ("acetylsalicylic_acid", include_str!("../samples/acetylsalicylic_acid.scruple")),
    ("butyl_acetate", include_str!("../samples/butyl_acetate.scruple")),
    ("fructone", include_str!("../samples/fructone.scruple")),
    ("isoamyl_acetate", include_str!("../samples/isoamyl_acetate.scruple")),
];

/// A procedure that raises nothing.
pub const GOOD: &str = r#"# Isoamyl acetate, the pear-and-banana ester.

procedure isoamyl_acetate "Isoamyl acetate by Fischer esterification" {
    basis alcohol

    take alcohol  = isoamyl_alcohol, 24 mL
    take acid     = acetic_acid, glacial, 2.0 eq
    take catalyst = sulfuric_acid, 98 % w/w, 1 mL
    take drier    = magnesium_sulfate, enough

    reaction esterification {
        isoamyl_alcohol + acetic_acid <=> isoamyl_acetate + water
        equilibrium 4.2
        catalyst sulfuric_acid
    }

    step "Esterify" {
        combine alcohol, acid -> pot
        add catalyst to pot over 2 min, with swirling
        reflux pot for 90 min, running esterification
        cool pot to 25 degC
    }

    step "Wash out the acid" {
        wash pot with water, 80 mL                                  -> upper crude, lower acid_wash
        wash crude with sodium_bicarbonate, 5 % w/w, 60 mL, 2 times -> upper crude, lower base_wash
        wash crude with brine, 0.3 * volume of crude                -> upper crude, lower salt_wash
    }

    step "Dry and distil" {
        dry crude over drier for 20 min        -> dried crude, spent used_drier
        distil crude, collecting 137..143 degC -> forerun first_runnings, cut product, residue bottoms
    }

    discard acid_wash as "aqueous, acidic"
    discard base_wash, salt_wash as "aqueous, mildly basic"
    discard used_drier as "solids, flammable"
    discard first_runnings, bottoms as "flammable, halogen-free"
    keep product as isoamyl_acetate in bottle
}
"#;

pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

pub fn check(text: impl Into<Vec<u8>>) -> Compilation {
    pipeline::check("text.scruple", &Memory::new([("text.scruple", text.into())]))
}

pub fn compile(text: impl Into<Vec<u8>>, size: Option<&str>, scale: Option<&str>) -> Compilation {
    let request = Request {
        path: "text.scruple".to_owned(),
        procedure: None,
        size: size.map(str::to_owned),
        scale: scale.map(str::to_owned),
        ..Request::default()
    };
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

/// Reads files under the crate's folder, whatever folder the tests are run from.
pub struct Crate;

impl Loader for Crate {
    fn locate(&self, path: &str, from: Option<&str>) -> String {
        match from.and_then(|from| Path::new(from).parent()) {
            Some(folder) => folder.join(path).to_string_lossy().into_owned(),
            None => path.to_owned(),
        }
    }

    fn load(&self, located: &str) -> Result<Vec<u8>, String> {
        fs::read(root().join(located)).map_err(|error| error.to_string())
    }
}
