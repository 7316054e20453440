//! Published values, one row each, against what the crate computes.
//!
//! What a row holds, and what the provenance marks mean, is told in the README beside this file.
//! Every table is checked to its end before a test fails, so that one run shows all that is off.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

mod apparatus;
mod bench;
mod drying;
mod equilibrium;
mod extraction;
mod hazards;
mod labels;
mod layers;
mod masses;
mod preparations;
mod scale;
mod statements;
mod stoichiometry;
mod substances;
mod take_off;
mod units;
mod vapour;

use std::collections::BTreeSet;

use scruple::chemistry::formula::Formula;
use scruple::diagnostics::Code;
use scruple::kinds::{Kind, Quantity, unit};

/// The fewest rows there may be: a table lost in an edit must not pass unnoticed.
const FEWEST: usize = 455;

/// Room for the rounding of a few floating-point operations, relative.
const ROUNDING: f64 = 1e-15;

/// The zero of the Celsius scale, K.
const ZERO: f64 = 273.15;

/// One standard atmosphere, Pa.
const ATM: f64 = 101_325.0;

/// OpenStax *Chemistry 2e*, named in many tables.
const OPENSTAX: &str = "OpenStax Chemistry 2e";

/// How the expected value came to be known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Known {
    /// The value was seen in the source.
    Seen,
    /// The value is from memory.
    Memory,
    /// The inputs were seen in the source, and the answer computed from them independently.
    SeenRecomputed,
    /// The inputs are from memory or plain definitions, and the answer computed independently.
    MemoryRecomputed,
    /// Part was seen and part is from memory.
    Mixed,
}

use Known::{Memory as M, Mixed as SM, Seen as S};
use Known::{MemoryRecomputed as Mc, SeenRecomputed as Sc};

/// How far from the expected value a number may lie.
#[derive(Clone, Copy)]
enum Tolerance {
    /// By so much in the unit of the value.
    Abs(f64),
    /// By such a share of the expected value.
    Rel(f64),
    /// By nothing but the rounding of floating-point operations.
    Exact,
}

use Tolerance::{Abs, Exact, Rel};

enum Value {
    Number { expected: f64, tolerance: Tolerance, seen: fn() -> f64 },
    Text { expected: &'static str, seen: fn() -> String },
}

/// One published value.
struct Check {
    id: &'static str,
    what: &'static str,
    value: Value,
    source: &'static str,
    known: Known,
    /// What the source prints instead, where the source is wrong.
    misprint: Option<f64>,
}

impl Check {
    /// The source prints this in place of the expected value; the crate must not agree with it.
    const fn not(mut self, misprint: f64) -> Self {
        self.misprint = Some(misprint);
        self
    }

    /// What is wrong with the row, or `None` if nothing is.
    fn fault(&self) -> Option<String> {
        let Self { id, what, source, .. } = self;
        match &self.value {
            Value::Number { expected, tolerance, seen } => {
                let seen = seen();
                let allowed = match tolerance {
                    Abs(by) => *by,
                    Rel(share) => share * expected.abs(),
                    Exact => ROUNDING * expected.abs(),
                };
                let near = |value: f64| (seen - value).abs() <= allowed;
                if !near(*expected) {
                    let off = seen - expected;
                    return Some(format!(
                        "{id}, {what}: {seen} against {expected} of {source}, off by {off:e} where {allowed:e} is allowed"
                    ));
                }
                self.misprint
                    .filter(|misprint| near(*misprint))
                    .map(|misprint| format!("{id}, {what}: {seen} agrees with {misprint}, which is wrong in {source}"))
            }
            Value::Text { expected, seen } => {
                let seen = seen();
                (seen != *expected).then(|| format!("{id}, {what}: `{seen}` against `{expected}` of {source}"))
            }
        }
    }
}

/// A row whose value is a number.
const fn near(
    id: &'static str,
    what: &'static str,
    expected: f64,
    tolerance: Tolerance,
    source: &'static str,
    known: Known,
    seen: fn() -> f64,
) -> Check {
    Check { id, what, value: Value::Number { expected, tolerance, seen }, source, known, misprint: None }
}

/// A row whose value is a text, to be met to the letter.
const fn reads(
    id: &'static str,
    what: &'static str,
    expected: &'static str,
    source: &'static str,
    known: Known,
    seen: fn() -> String,
) -> Check {
    Check { id, what, value: Value::Text { expected, seen }, source, known, misprint: None }
}

/// `x` of a unit, in SI.
#[track_caller]
fn si(x: f64, of: &str) -> f64 {
    unit(of).unwrap().to_si(x)
}

/// `x` of one unit in another of the same kind.
#[track_caller]
fn convert(x: f64, from: &str, to: &str) -> f64 {
    let (from, to) = (unit(from).unwrap(), unit(to).unwrap());
    assert_eq!(from.kind, to.kind);
    to.from_si(from.to_si(x))
}

/// A quantity as it would be written.
#[track_caller]
fn q(x: f64, of: &str) -> Quantity {
    let of = unit(of).unwrap();
    Quantity::checked(of.to_si(x), of.kind).unwrap()
}

/// The product of two quantities, if it means something on a bench.
#[track_caller]
fn times(a: Quantity, b: Quantity) -> Quantity {
    a.checked_mul(b).unwrap()
}

/// The quotient of two quantities, if it means something on a bench.
#[track_caller]
fn over(a: Quantity, b: Quantity) -> Quantity {
    a.checked_div(b).unwrap()
}

/// The number a quantity is in a unit of its own kind.
#[track_caller]
fn number(quantity: Quantity, of: &str) -> f64 {
    let of = unit(of).unwrap();
    assert_eq!(quantity.kind, of.kind);
    of.from_si(quantity.si)
}

/// Molar mass of a formula.
#[track_caller]
fn molar(formula: &str) -> Quantity {
    Quantity::checked(Formula::parse(formula).unwrap().molar_mass(), Kind::MolarMass).unwrap()
}

/// Molar mass of a formula in g/mol.
#[track_caller]
fn m(formula: &str) -> f64 {
    number(molar(formula), "g/mol")
}

fn tables() -> [(&'static str, &'static [Check]); 13] {
    [
        ("units", units::CHECKS),
        ("masses", masses::CHECKS),
        ("stoichiometry", stoichiometry::CHECKS),
        ("equilibrium", equilibrium::CHECKS),
        ("extraction", extraction::CHECKS),
        ("drying", drying::CHECKS),
        ("vapour", vapour::CHECKS),
        ("hazards", hazards::CHECKS),
        ("layers", layers::CHECKS),
        ("apparatus", apparatus::CHECKS),
        ("statements", statements::CHECKS),
        ("scale", scale::CHECKS),
        ("preparations", preparations::CHECKS),
    ]
}

fn all() -> impl Iterator<Item = &'static Check> {
    tables().into_iter().flat_map(|(_, checks)| checks)
}

#[track_caller]
fn agrees(checks: &[Check]) {
    let faults: Vec<String> = checks.iter().filter_map(Check::fault).collect();
    assert!(faults.is_empty(), "{} of {} rows are off:\n{}", faults.len(), checks.len(), faults.join("\n"));
}

#[test]
fn units_and_percentages() {
    agrees(units::CHECKS);
}

#[test]
fn atomic_weights_and_molar_masses() {
    agrees(masses::CHECKS);
}

#[test]
fn amounts_limits_and_yields() {
    agrees(stoichiometry::CHECKS);
}

#[test]
fn esterifications_at_equilibrium() {
    agrees(equilibrium::CHECKS);
}

#[test]
fn solutes_between_layers() {
    agrees(extraction::CHECKS);
}

#[test]
fn water_bound_in_hydrates() {
    agrees(drying::CHECKS);
}

#[test]
fn vapour_pressures_and_water_traps() {
    agrees(vapour::CHECKS);
}

#[test]
fn flammability_gas_and_heat() {
    agrees(hazards::CHECKS);
}

#[test]
fn layers_and_what_they_dissolve() {
    agrees(layers::CHECKS);
}

#[test]
fn vessels_and_instruments() {
    agrees(apparatus::CHECKS);
}

#[test]
fn labels_and_peroxides() {
    agrees(statements::CHECKS);
}

#[test]
fn what_follows_the_batch() {
    agrees(scale::CHECKS);
}

#[test]
fn preparations_add_up_and_are_faulted_as_they_should_be() {
    agrees(preparations::CHECKS);
}

#[test]
fn there_are_enough_rows() {
    for (name, checks) in tables() {
        assert!(!checks.is_empty(), "the table of {name} is empty");
    }
    let rows = all().count();
    assert!(rows >= FEWEST, "{rows} rows where there were {FEWEST}");
    let ids: BTreeSet<&str> = all().map(|check| check.id).collect();
    assert!(ids.len() >= FEWEST, "{} distinct ids", ids.len());
}

/// Ids at the head of the lines of a text, each once.
fn listed(text: &'static str, mark: &str, end: char) -> BTreeSet<&'static str> {
    let mut found = BTreeSet::new();
    for line in text.lines().filter_map(|line| line.strip_prefix(mark)) {
        let (id, rest) = line.split_once(end).unwrap_or((line, ""));
        assert!(!rest.trim().is_empty(), "{id} stands alone");
        assert!(found.insert(id), "{id} is listed twice");
    }
    found
}

/// Every published value is run or its absence told, and none is both.
#[test]
fn every_id_is_run_or_its_absence_told() {
    let known = listed(include_str!("ids.txt"), "", ' ');
    let absent = listed(include_str!("NOT_RUN.md"), "- ", ':');
    let run: BTreeSet<&str> = all().map(|check| check.id).collect();
    let both: Vec<_> = run.intersection(&absent).collect();
    assert!(both.is_empty(), "run, and told not to be: {both:?}");
    let told: BTreeSet<&str> = run.union(&absent).copied().collect();
    let neither: Vec<_> = known.difference(&told).collect();
    assert!(neither.is_empty(), "neither run nor told: {neither:?}");
    let unknown: Vec<_> = told.difference(&known).collect();
    assert!(unknown.is_empty(), "not in ids.txt: {unknown:?}");
    assert!(run.len() >= FEWEST, "{} ids are run where there were {FEWEST}", run.len());
}

/// The page on what a procedure must state names codes that exist, and leaves out no point.
#[test]
fn the_page_of_what_must_be_stated_names_codes_that_exist() {
    let page = include_str!("WHAT_A_PROCEDURE_MUST_STATE.md");
    let (mut unknown, mut named) = (BTreeSet::new(), BTreeSet::new());
    for word in page.split('`').skip(1).step_by(2).filter(|word| word.contains("::")) {
        named.insert(word);
        if Code::from_text(word).is_none() {
            unknown.insert(word);
        }
    }
    assert!(unknown.is_empty(), "no such codes: {unknown:?}");
    assert!(named.len() >= 40, "only {} codes are named", named.len());
    let points: Vec<&str> =
        page.lines().filter_map(|line| line.strip_prefix("| ")?.split(' ').next().filter(|number| number.parse::<u32>().is_ok())).collect();
    let wanted: Vec<String> = (1..=46).map(|number: u32| number.to_string()).collect();
    assert_eq!(points, wanted, "the points of the page");
    let cells = page.lines().filter(|line| line.starts_with("| ")).map(|line| line.matches('|').count());
    assert!(cells.into_iter().all(|bars| bars == 6), "a line of the table has another number of cells");
}

#[test]
fn every_row_says_what_it_is_and_where_it_is_from() {
    let mut known = BTreeSet::new();
    for Check { id, what, source, .. } in all() {
        assert!(!source.trim().is_empty(), "{id}, {what}: no source");
        assert!(!what.trim().is_empty(), "{id}: nothing said");
        assert!(
            id.starts_with(|letter: char| letter.is_ascii_uppercase())
                && id.len() >= 2
                && id.chars().skip(1).all(|digit| digit.is_ascii_digit()),
            "{id} is not a letter and a number"
        );
        assert!(known.insert((id, what)), "{id}, {what}: twice");
    }
}

/// A number off by a hair more than allowed is a fault, and so is agreeing with a misprint.
#[test]
fn a_row_that_is_off_is_found_out() {
    let row = |expected: f64, tolerance: Tolerance| near("Z1", "two", expected, tolerance, "arithmetic", M, || 2.0);
    assert!(row(2.0, Exact).fault().is_none());
    assert!(row(2.1, Abs(0.11)).fault().is_none());
    assert!(row(2.1, Abs(0.09)).fault().is_some());
    assert!(row(2.1, Rel(0.04)).fault().is_some());
    assert!(row(2.0, Abs(0.1)).not(2.05).fault().is_some());
    assert!(row(2.0, Abs(0.1)).not(2.5).fault().is_none());
    assert!(row(f64::NAN, Abs(1.0)).fault().is_some());
    assert!(near("Z2", "none", 1.0, Abs(1.0), "arithmetic", M, || f64::NAN).fault().is_some());
    let word = |expected| reads("Z3", "a word", expected, "a lexicon", M, || "two".to_owned());
    assert!(word("two").fault().is_none());
    assert!(word("three").fault().is_some());
}

/// Each mark is in use, and most rows rest on something that was seen.
#[test]
fn most_rows_rest_on_a_source_that_was_seen() {
    for mark in [S, M, Sc, Mc, SM] {
        assert!(all().any(|check| check.known == mark), "{mark:?} is not in use");
    }
    let seen = all().filter(|check| matches!(check.known, S | Sc)).count();
    assert!(2 * seen > all().count(), "only {seen} rows were seen");
}
