//! Chemistry as plain arithmetic: pure functions over numbers in SI units.
//!
//! Masses are in kg, volumes in m³, amounts in mol, temperatures in K,
//! pressures in Pa and heats in J, unless an item says otherwise. Nothing here
//! knows of the language, reads a file or keeps state: the same numbers in give
//! the same numbers out. Every iteration is bounded, and one that does not
//! settle returns a [`solve::SolveError`] instead of a doubtful number.

pub mod acidity;
pub mod activity;
pub mod balance;
pub mod course;
pub mod density;
pub mod distillation;
pub mod drying;
pub mod equilibrium;
pub mod extraction;
pub mod formula;
pub mod gas;
pub mod geometry;
pub mod hazard;
pub mod heat;
pub mod held;
pub mod hydrate;
pub mod label;
pub mod phase;
pub mod shaking;
pub mod solubility;
pub mod solve;
pub mod stoichiometry;
pub mod student;
pub mod uncertainty;
pub mod vapour;
pub mod warming;
pub mod weights;

/// Asserts that `seen` is within `tolerance` of the `published` value, and says by how much it is off.
#[cfg(test)]
#[track_caller]
pub(crate) fn close(what: &str, seen: f64, published: f64, tolerance: f64) {
    let off = seen - published;
    assert!(off.abs() <= tolerance, "{what}: {seen} against the published {published}, off by {off:e} where {tolerance:e} is allowed");
}
