//! What the tables read from the library, and the small procedures that they compile.

use std::sync::Arc;

use scruple::emit::measure::measure;
use scruple::library::INDEX;
use scruple::load::Memory;
use scruple::pipeline::{self, Compilation, Request};
use scruple::resolve::definitions::{Apparatus, Definitions, Instrument, Substance};
use scruple::resolve::resolve;
use scruple::source::Sources;
use serde_json::Value;

use super::{ZERO, convert};

thread_local! {
    static LIBRARY: Definitions = everything();
}

/// What a file loads that names these words.
fn naming(words: &[&str]) -> Definitions {
    let text = format!("operation name_all {{\n    form     name_all <what: {} | all>\n    says     \"{{what}}\"\n}}\n", words.join(" | "));
    resolve("all.scruple", &Memory::new([("all.scruple", text)]), &mut Sources::default(), &mut Vec::new()).defs
}

/// The whole library.
fn everything() -> Definitions {
    let plain =
        |key: &&str| key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_') && key.starts_with(|c: char| c.is_ascii_alphabetic());
    naming(&INDEX.iter().map(|(key, _)| *key).filter(plain).collect::<Vec<_>>())
}

/// Asks the whole library something.
pub(crate) fn library<T>(ask: impl FnOnce(&Definitions) -> T) -> T {
    LIBRARY.with(ask)
}

/// Asks a substance or an agent something.
#[track_caller]
pub(crate) fn of<T>(name: &str, ask: impl FnOnce(&Substance) -> T) -> T {
    let defs = naming(&[name]);
    let sub = defs.find(name).unwrap_or_else(|| panic!("the library has no {name}"));
    ask(defs.substance(sub))
}

/// An apparatus.
#[track_caller]
pub(crate) fn apparatus(name: &str) -> Arc<Apparatus> {
    naming(&[name]).apparatus.get(name).cloned().unwrap_or_else(|| panic!("the library has no {name}"))
}

/// An instrument.
#[track_caller]
pub(crate) fn instrument(name: &str) -> Arc<Instrument> {
    let defs = naming(&[name]);
    defs.instruments.iter().find(|one| one.name == name).cloned().unwrap_or_else(|| panic!("the library has no {name}"))
}

/// Tolerance of an instrument for volumes in mL.
#[track_caller]
pub(crate) fn tolerance(name: &str) -> f64 {
    let one = instrument(name);
    assert!(one.volume);
    convert(one.tolerance.as_ref().unwrap().value, "m3", "mL")
}

/// The instrument that a material of so many mL is measured with.
pub(crate) fn measures(ml: f64) -> String {
    measure(&naming(&["water"]), ml / 1e6, true, 0.02, false).with()
}

/// The instrument that a material of so many g is weighed with.
pub(crate) fn weighs_on(g: f64) -> String {
    measure(&naming(&["water"]), g / 1e3, false, 0.02, false).with()
}

/// Sizes of an apparatus in mL, the smallest first.
#[track_caller]
pub(crate) fn sizes(name: &str) -> Vec<f64> {
    apparatus(name).sizes.iter().map(|size| (size * 1e6).round()).collect()
}

/// The smallest of its sizes in mL that holds so many mL at a fill.
#[track_caller]
pub(crate) fn size_for(name: &str, ml: f64, fill: f64) -> f64 {
    sizes(name).into_iter().find(|size| size * fill >= ml).unwrap_or(f64::NAN)
}

/// Boiling point in °C at 1 atm.
#[track_caller]
pub(crate) fn boils(name: &str) -> f64 {
    of(name, |substance| substance.boils.as_ref().unwrap().value) - ZERO
}

/// Water in a liquid saturated with it, % w/w.
#[track_caller]
pub(crate) fn takes_up(name: &str) -> f64 {
    of(name, |substance| 100.0 * substance.takes_up.as_ref().unwrap().value)
}

/// What a litre of water dissolves of it nearest to a temperature in °C, g.
#[track_caller]
pub(crate) fn dissolves(name: &str, celsius: f64) -> f64 {
    of(name, |substance| {
        let points = substance.solubility_in(None);
        let off = |point: &(f64, f64)| (point.0 - ZERO - celsius).abs();
        points.into_iter().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap().1
    })
}

/// The same as a share of the solution, % w/w, water taken at 998 g/L.
#[track_caller]
pub(crate) fn dissolves_percent(name: &str, celsius: f64) -> f64 {
    let grams = dissolves(name, celsius);
    100.0 * grams / (998.0 + grams)
}

/// Compiles the body of a procedure.
pub(crate) fn body(text: &str) -> Compilation {
    compiled(&format!("procedure check \"A check\" {{\n{text}\n}}\n"), None)
}

/// Compiles a file, perhaps at so many times its batch.
pub(crate) fn compiled(text: &str, scale: Option<&str>) -> Compilation {
    let request = Request { path: "check.scruple".to_owned(), scale: scale.map(str::to_owned), ..Request::default() };
    pipeline::compile(&request, &Memory::new([("check.scruple", text)]))
}

/// The codes of what was found, each once, in their order.
pub(crate) fn codes(compilation: &Compilation) -> Vec<&'static str> {
    let mut codes: Vec<&'static str> = Vec::new();
    for finding in &compilation.findings {
        if !codes.contains(&finding.code.text()) {
            codes.push(finding.code.text());
        }
    }
    codes
}

/// The codes of what a body is faulted for, or `nothing`.
pub(crate) fn found(text: &str) -> String {
    let codes = codes(&body(text));
    if codes.is_empty() { "nothing".to_owned() } else { codes.join(", ") }
}

/// Whether a code is among what a body is faulted for; what could not be read at all is told.
pub(crate) fn is_found(code: &str, text: &str) -> String {
    raised(code, &codes(&body(text)))
}

/// Whether a code is among others; that a text could not be read is told, since then nothing else is found.
pub(crate) fn raised(code: &str, codes: &[&str]) -> String {
    let unread = codes.iter().find(|code| ["syntax", "resolve", "kinds", "matter", "data"].iter().any(|phase| code.starts_with(phase)));
    match unread {
        Some(unread) if *unread != code => format!("not read: {}", codes.join(", ")),
        _ if codes.contains(&code) => "found".to_owned(),
        _ => "not found".to_owned(),
    }
}

/// The plan of a compilation without errors.
#[track_caller]
pub(crate) fn plan(compilation: &Compilation) -> Value {
    let told: Vec<&str> = compilation.findings.iter().map(|finding| finding.message.as_str()).collect();
    serde_json::from_str(&compilation.plan().unwrap_or_else(|| panic!("no plan: {told:?}"))).unwrap()
}

/// Moles of a substance in a portion when it gets its name; none where it is not in it.
#[track_caller]
pub(crate) fn moles(plan: &Value, address: &str, substance: &str) -> f64 {
    let portions = plan["portions"].as_array().unwrap();
    let named =
        |portion: &&Value| portion["address"].as_str().is_some_and(|known| known == address || known.split('#').next() == Some(address));
    let portion = portions.iter().find(named);
    portion.unwrap_or_else(|| panic!("no {address}"))["moles"][substance].as_f64().unwrap_or(0.0)
}
