//! Water that drying agents can bind.

/// Molar mass of water, kg/mol, from the CIAAW abridged standard atomic weights 2021.
const WATER: f64 = 0.018015;

/// Water that an anhydrous salt can bind in a hydrate: kg of water per kg of salt.
///
/// `waters` are the moles of water in the hydrate per mole of salt, `molar_mass`
/// that of the anhydrous salt in kg/mol: `waters · M(H2O) / M(salt)`. This is
/// the upper bound by stoichiometry, and a salt in use binds less. Zero if the
/// molar mass is not above zero.
pub fn hydrate_capacity(waters: f64, molar_mass: f64) -> f64 {
    if molar_mass > 0.0 { waters * WATER / molar_mass } else { 0.0 }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::close;
    use super::super::formula::Formula;
    use super::*;

    fn capacity(salt: &str, waters: f64) -> f64 {
        hydrate_capacity(waters, Formula::parse(salt).unwrap().molar_mass())
    }

    /// Upper bounds by stoichiometry.
    #[test]
    fn capacities() {
        for (salt, waters, expected) in [
            ("MgSO4", 7.0, 1.048),
            ("MgSO4", 1.0, 0.150),
            ("CaCl2", 2.0, 0.325),
            ("CaCl2", 6.0, 0.974),
            ("K2CO3", 1.5, 0.196),
            ("K2CO3", 2.0, 0.261),
        ] {
            close(salt, capacity(salt, waters), expected, 0.01 * expected);
        }
        // A lab handout (geomatter.mu) claims that 2 g of Na2SO4 bind over 2.5 g of water:
        // true only up to the full decahydrate.
        close("2 g of Na2SO4, g", 2.0 * capacity("Na2SO4", 10.0), 2.54, 0.05);
    }

    /// Least mass in g of a salt that binds 2.00 g of water.
    #[test]
    fn least_salt_for_two_grams() {
        for (salt, waters, grams) in [("Na2SO4", 10.0, 1.58), ("CaCl2", 2.0, 6.16), ("K2CO3", 1.5, 10.23)] {
            close(salt, 2.00 / capacity(salt, waters), grams, 0.01 * grams);
        }
        // 3A beads hold 20 % of their mass; a factor of two for safety, bulk density 0.72 g/mL.
        let beads = 2.0 * 2.00 / 0.20;
        close("beads, g", beads, 20.0, 1.0);
        close("beads, mL", beads / 0.72, 28.0, 1.4);
        assert_eq!(hydrate_capacity(2.0, 0.0), 0.0);
    }

    /// Organic Syntheses Coll. Vol. 1, 1: 25 g of potassium carbonate bind 4.9 g of water.
    #[test]
    fn carbonate_for_acetal() {
        close("g", 25.0 * capacity("K2CO3", 1.5), 4.9, 0.05);
    }
}
