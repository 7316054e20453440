//! Which reactant runs out first.

/// The reactant that runs out first: its index, and the extent in mol at which it does.
///
/// `n0` are the amounts in mol at the start, `nu` the stoichiometric numbers,
/// below zero for reactants and above zero for products; species are paired by
/// position and a surplus in either list is ignored. Of reactants that run out
/// together the first is named. An amount below zero counts as none. `None`
/// when there is no reactant.
pub fn limiting(n0: &[f64], nu: &[f64]) -> Option<(usize, f64)> {
    n0.iter()
        .zip(nu)
        .enumerate()
        .filter(|(_, (_, nu))| **nu < 0.0)
        .map(|(at, (n0, nu))| (at, n0.max(0.0) / -nu))
        .min_by(|left, right| left.1.total_cmp(&right.1))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests {
    use super::super::close;
    use super::super::formula::Formula;
    use super::*;

    /// Molar mass in g/mol.
    fn m(text: &str) -> f64 {
        Formula::parse(text).unwrap().molar_mass() * 1000.0
    }

    /// Worked examples and exercises of OpenStax Chemistry 2e, amount to amount.
    #[test]
    fn amounts_of_one_species_from_another() {
        let from = |amount: f64, nu: f64| limiting(&[amount], &[nu]).unwrap().1;
        close("I2 for Al, mol", 3.0 * from(0.429, -2.0), 0.644, 0.001);
        close("Ca(OH)2 for H3PO4, mol", 3.0 * from(1.36, -2.0), 2.04, 0.005);
        let gallium = from(29.0 / m("Ga"), -4.0);
        close("Ga2O3 from Ga, g", 2.0 * gallium * m("Ga2O3"), 39.0, 0.05);
        let octane = from(702.0 / m("C8H18"), -2.0);
        close("O2 for octane, g", 25.0 * octane * m("O2"), 2.46e3, 5.0);
        let sodium = 10.0 / m("Na");
        close("Na, mol", sodium, 0.435, 0.0005);
        close("Cl2 for Na, mol", from(sodium, -2.0), 0.217, 0.0006);
        close("Cl2 for Na, g", from(sodium, -2.0) * m("Cl2"), 15.4, 0.05);
        let oxygen = 128.0 / m("O2");
        close("NaNO3 for O2, mol", 2.0 * oxygen, 8.00, 0.01);
        close("NaNO3 for O2, g", 2.0 * oxygen * m("NaNO3"), 6.8e2, 6.8);
        let oxide = 1500.0 / m("CuO");
        close("CuO, mol", oxide, 18.86, 0.01);
        close("CuCO3, kg", oxide * m("CuCO3") / 1000.0, 2.330, 0.002);
        let magnesium = from(5.00 / m("HCl"), -2.0);
        close("Mg for HCl, mol", magnesium, 0.0686, 0.0001);
        close("Mg for HCl, g", magnesium * m("Mg"), 1.67, 0.01);
        let chloride = 2.0 * from(2.6 * 1.44, -6.0);
        close("GaCl3, mol", chloride, 1.25, 0.01);
        close("GaCl3, g", chloride * m("GaCl3"), 2.2e2, 4.4);
        close("SiO2 for SiC, kg", 3.00 / m("SiC") * m("SiO2"), 4.50, 0.02);
        let iodide = 4.0 * from(43.88e-3 * 0.3842, -2.0);
        close("KI solution, mL", iodide / 0.2089 * 1000.0, 161.4, 0.1);
        let titania = 2.0 * from(379.0 * 0.883 / m("FeTiO3"), -2.0);
        close("TiO2, g", titania * m("TiO2"), 176.0, 0.5);
    }

    /// OpenStax Chemistry 2e: which reactant is limiting.
    #[test]
    fn the_first_to_run_out() {
        let nitride = [2.00 / m("Si"), 1.50 / m("N2"), 0.0];
        let (at, extent) = limiting(&nitride, &[-3.0, -2.0, 1.0]).unwrap();
        assert_eq!(at, 0, "silicon");
        close("Si, mol", nitride[0], 0.0712, 0.0001);
        close("N2, mol", nitride[1], 0.0535, 0.0001);
        close("Si3N4, mol", extent, 0.0237, 0.0001);
        let water = [5.00 / m("H2"), 10.0 / m("O2")];
        assert_eq!(limiting(&water, &[-2.0, -1.0]).unwrap().0, 1, "oxygen");
        let salt = [8.0 / m("Na"), 8.0 / m("Cl2")];
        assert_eq!(limiting(&salt, &[-2.0, -1.0]).unwrap().0, 1, "chlorine");
        let spill = [2500.0 / m("HNO3"), 2000.0 / m("Na2CO3")];
        let (at, extent) = limiting(&spill, &[-2.0, -1.0]).unwrap();
        assert_eq!(at, 1, "there is not carbonate enough for the spilt acid");
        close("carbonate needed, mol", spill[0] / 2.0, 19.8, 0.1);
        close("carbonate there, mol", extent, 18.87, 0.1);
    }

    /// Percent yields: OpenStax Chemistry 2e; the aspirin ones from Tro, Chemistry.
    #[test]
    fn yields_from_the_limiting_reactant() {
        let yields = |n0: &[f64], nu: &[f64], made: f64, times: f64, product: &str| {
            100.0 * made / (times * limiting(n0, nu).unwrap().1 * m(product))
        };
        close("CF2Cl2", yields(&[32.9 / m("CCl4")], &[-1.0], 12.5, 1.0, "CF2Cl2"), 48.3, 0.1);
        close("benzoic acid", yields(&[1000.0 / m("C7H8")], &[-2.0], 1210.0, 2.0, "C7H6O2"), 91.3, 0.1);
        let ethanol = 1500.0 * 0.7894 / m("C2H6O");
        close("ether", yields(&[ethanol], &[-2.0], 1170.0 * 0.7134, 1.0, "C4H10O"), 87.6, 0.1);
        close("CO2 from CaCO3", yields(&[1.31 / m("CaCO3")], &[-1.0], 0.53, 1.0, "CO2"), 92.0, 1.0);
        close("P4O10", yields(&[0.200, 0.200], &[-1.0, -5.0], 10.0, 1.0, "P4O10"), 88.1, 0.2);
        close("ethyl acetate", yields(&[10.0 / m("C2H4O2")], &[-1.0], 13.0, 1.0, "C4H8O2"), 88.6, 0.2);
        for (anhydride, acid, made, theory, published) in [(3.00, 1.25, 1.22, 1.630, 74.8), (5.00, 2.08, 2.01, 2.713, 74.1)] {
            let n0 = [acid / m("C7H6O3"), anhydride * 1.08 / m("C4H6O3")];
            assert_eq!(limiting(&n0, &[-1.0, -1.0]).unwrap().0, 0, "salicylic acid");
            close("aspirin", yields(&n0, &[-1.0, -1.0], made, 1.0, "C9H8O4"), published, 0.2);
            close("aspirin, g", n0[0] * m("C9H8O4"), theory, 0.002);
        }
        // A student sheet claims 0.0160 mol of aspirin from 0.0145 mol of acid; the yield is 14.8 %.
        let sheet = [2.0040 / m("C7H6O3"), 0.0529];
        close("sheet", yields(&sheet, &[-1.0, -1.0], 0.3875, 1.0, "C9H8O4"), 14.8, 0.2);
        assert!(limiting(&sheet, &[-1.0, -1.0]).unwrap().1 < 0.0160);
        // A report in the UMass BCRC student blog divides grams by grams and prints 21.4 %.
        close("cyclohexene", yields(&[2.0 / m("C6H12O")], &[-1.0], 0.43, 1.0, "C6H10"), 26.2, 0.5);
    }

    /// Organic Syntheses Coll. Vol. 1, 1: the published yield rests on ethanol, which is limiting.
    #[test]
    fn acetal_is_limited_by_ethanol() {
        let n0 = [500.0 / m("C2H4O"), 1050.0 * 0.95 / m("C2H6O")];
        close("acetaldehyde, mol", n0[0], 11.35, 0.01);
        close("ethanol, mol", n0[1], 21.65, 0.01);
        let (at, extent) = limiting(&n0, &[-1.0, -2.0]).unwrap();
        assert_eq!(at, 1);
        close("acetal, g", extent * m("C6H14O2"), 1279.0, 1.0);
    }

    #[test]
    fn odd_input_gives_no_nonsense() {
        assert_eq!(limiting(&[], &[]), None);
        assert_eq!(limiting(&[1.0], &[1.0]), None);
        assert_eq!(limiting(&[1.0, 1.0], &[-1.0, -1.0]), Some((0, 1.0)));
        assert_eq!(limiting(&[-1.0], &[-1.0]), Some((0, 0.0)));
    }
}
