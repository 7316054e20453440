//! Matter: portions and their bindings, linearity, derivations, phases, and the material balance.

pub mod assumed;
pub mod balance;
pub mod boiling;
pub mod grade;
pub mod held;
pub mod layers;
pub mod ledger;
pub mod linear;
pub mod mixture;
pub mod model;
pub mod plant;
pub mod portion;
pub mod rough;
pub mod system;
