//! Dimensions, kinds, units, quantities and rounding.
//!
//! A *dimension* is what physics sees: exponents of kilogram, metre, second,
//! kelvin and mole. A *kind* is what a chemist means: a mass fraction and a
//! volume fraction are both plain numbers, yet adding one to the other is a
//! mistake. Every value is held in SI under its kind, and becomes a bench unit
//! again only when it is shown.
//!
//! This room knows nothing of syntax or of chemistry, and performs no I/O.

#![forbid(unsafe_code)]
#![deny(missing_docs)]
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic))]

mod algebra;
mod ambiguous;
mod atoms;
mod compound;
mod decimal;
mod dimension;
mod kind;
mod quantity;
mod read;
mod respell;
mod round;
mod show;
mod slips;
mod unit;

pub use algebra::{difference, product, quotient, sum};
pub use dimension::Dimension;
pub use kind::Kind;
pub use quantity::{KindError, Quantity};
pub use read::{difference_unit, unit, unit_source};
pub use round::{decimals, significant, to_step};
pub use show::{show, show_duration, show_in};
pub use unit::{Unit, UnitError};

#[cfg(test)]
mod tests;
