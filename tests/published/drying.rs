//! Water bound in hydrates and by sieves: upper bounds by stoichiometry.

use scruple::chemistry::hydrate::hydrate_capacity;

use super::{Abs, Check, Mc, Rel, S, Sc, convert, molar, near, number, over, q, times};

const BOUND: &str = "upper bound by stoichiometry";
const SIEVE: &str = "supplier data sheet, molecularsieveadsorbent.com";

/// Water in g that one g of an anhydrous salt binds.
fn capacity(salt: &str, waters: f64) -> f64 {
    hydrate_capacity(waters, molar(salt).si)
}

#[rustfmt::skip]
pub(crate) const CHECKS: &[Check] = &[
    near("G001", "MgSO4 to ·7H2O, g/g", 1.048, Rel(0.01), BOUND, Mc, || capacity("MgSO4", 7.0)),
    near("G002", "MgSO4 to ·H2O, g/g", 0.150, Rel(0.01), BOUND, Mc, || capacity("MgSO4", 1.0)),
    near("G004", "CaCl2 to ·2H2O, g/g", 0.325, Rel(0.01), BOUND, Mc, || capacity("CaCl2", 2.0)),
    near("G005", "CaCl2 to ·6H2O, g/g", 0.974, Rel(0.01), BOUND, Mc, || capacity("CaCl2", 6.0)),
    near("G007", "K2CO3 to ·1.5H2O, g/g", 0.196, Rel(0.01), BOUND, Mc, || capacity("K2CO3", 1.5)),
    near("G008", "K2CO3 to ·2H2O, g/g", 0.261, Rel(0.01), BOUND, Mc, || capacity("K2CO3", 2.0)),
    // "2 g binds over 2.5 g of water" holds only for all ten waters.
    near("G010", "2 g of Na2SO4 to ·10H2O, g of water", 2.54, Rel(0.02), "laboratory handout as copied at geomatter.mu", S, || 2.0 * capacity("Na2SO4", 10.0)),
    near("G044", "heat of adsorption of 1800 Btu/lb, kJ/kg", 4187.0, Rel(0.005), SIEVE, Sc, || convert(1800.0, "Btu_IT/lb", "kJ/kg")),
    near("G044", "heat of adsorption of 1800 Btu/lb of water, kJ/mol", 75.4, Rel(0.005), SIEVE, Sc, || number(times(q(1800.0, "Btu_IT/lb"), molar("H2O")), "kJ/mol")),
    near("G064", "Na2SO4 that binds 2.00 g of water as ·10H2O, g", 1.58, Rel(0.01), BOUND, Mc, || 2.00 / capacity("Na2SO4", 10.0)),
    near("G065", "CaCl2 that binds 2.00 g of water as ·2H2O, g", 6.16, Rel(0.01), BOUND, Mc, || 2.00 / capacity("CaCl2", 2.0)),
    near("G067", "K2CO3 that binds 2.00 g of water as ·1.5H2O, g", 10.23, Rel(0.01), BOUND, Mc, || 2.00 / capacity("K2CO3", 1.5)),
    near("G068", "3A beads of 0.72 g/mL that bind 2.00 g of water at 20 % w/w, twice over, mL", 28.0, Rel(0.05), "computed from a capacity of 20 % w/w", Mc,
        || 2.0 * number(over(over(q(2.00, "g"), q(20.0, "% w/w")), q(0.72, "g/mL")), "mL")),
    near("D1", "25 g of K2CO3 to ·1.5H2O, g of water", 4.9, Abs(0.1), "Organic Syntheses Coll. Vol. 1, 1: acetal", Sc, || 25.0 * capacity("K2CO3", 1.5)),
    near("D10", "150 g of K2CO3 to ·1.5H2O, g of water", 29.3, Abs(0.1), "Vogel's Textbook: diethyl adipate", Sc, || 150.0 * capacity("K2CO3", 1.5)),
    near("D10", "150 g of K2CO3 to ·2H2O, g of water", 39.1, Abs(0.1), "Vogel's Textbook: diethyl adipate", Sc, || 150.0 * capacity("K2CO3", 2.0)),
    near("D13", "5 g of MgSO4 to ·7H2O, g of water", 5.2, Abs(0.1), "Vogel's Textbook: methyl benzoate", Sc, || 5.0 * capacity("MgSO4", 7.0)),
];
