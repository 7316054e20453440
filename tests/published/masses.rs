//! Atomic weights and molar masses.

use scruple::chemistry::weights::{YEAR, atomic_weight};

use super::{Abs, Check, Exact, M, Mc, S, SM, m, near, reads};

const CIAAW: &str = "CIAAW, Standard Atomic Weights 2021";
const COMPUTED: &str = "computed from the CIAAW abridged weights of 2021";
const OLD: &str = "IUPAC 1995 table as scanned at old.iupac.org";

/// For molar masses up to 300 g/mol; above, twice as much.
const NEAR: super::Tolerance = Abs(0.01);
const NEAR_LARGE: super::Tolerance = Abs(0.02);

fn weight(symbol: &str) -> f64 {
    atomic_weight(symbol).unwrap()
}

#[rustfmt::skip]
pub(crate) const CHECKS: &[Check] = &[
    near("B001", "H, standard [1.00784, 1.00811]", 1.0080, Exact, CIAAW, SM, || weight("H")),
    near("B002", "C, standard [12.0096, 12.0116]", 12.011, Exact, CIAAW, SM, || weight("C")),
    near("B004", "O, standard [15.99903, 15.99977]", 15.999, Exact, CIAAW, SM, || weight("O")),
    near("B005", "Na, standard 22.98976928(2)", 22.990, Exact, CIAAW, SM, || weight("Na")),
    near("B007", "Al, standard 26.9815384(3)", 26.982, Exact, CIAAW, SM, || weight("Al")),
    near("B008", "Si, standard [28.084, 28.086]", 28.085, Exact, CIAAW, SM, || weight("Si")),
    near("B010", "S, standard [32.059, 32.076]", 32.06, Exact, CIAAW, SM, || weight("S")),
    near("B011", "Cl, standard [35.446, 35.457]", 35.45, Exact, CIAAW, SM, || weight("Cl")),
    near("B013", "Ca, standard 40.078(4)", 40.078, Exact, CIAAW, SM, || weight("Ca")),
    near("B014", "Mn, standard 54.938043(2)", 54.938, Exact, CIAAW, SM, || weight("Mn")),
    near("B016", "Cu, standard 63.546(3)", 63.546, Exact, CIAAW, SM, || weight("Cu")),
    near("B017", "Zn, standard 65.38(2)", 65.38, Exact, CIAAW, SM, || weight("Zn")),
    near("B019", "Li, standard [6.938, 6.997]", 6.94, Exact, CIAAW, SM, || weight("Li")),
    near("B020", "B, standard [10.806, 10.821]", 10.81, Exact, CIAAW, SM, || weight("B")),
    reads("B022", "the year of the table", "2021", "CIAAW press release 2024: later changes touch Gd, Lu and Zr only", M, || YEAR.to_string()),
    // The scan is wrong: it prints 40.974 for P and 24.4050 for Mg.
    near("B023", "P", 30.974, Exact, OLD, S, || weight("P")).not(40.974),
    near("B023", "Mg", 24.305, Exact, OLD, S, || weight("Mg")).not(24.4050),

    near("B025", "methanol", 32.042, NEAR, COMPUTED, Mc, || m("CH4O")),
    near("B026", "ethanol", 46.069, NEAR, COMPUTED, Mc, || m("C2H6O")),
    near("B028", "butan-1-ol", 74.123, NEAR, COMPUTED, Mc, || m("C4H10O")),
    near("B029", "3-methylbutan-1-ol", 88.150, NEAR, COMPUTED, Mc, || m("C5H12O")),
    near("B031", "cyclohexene", 82.146, NEAR, COMPUTED, Mc, || m("C6H10")),
    near("B032", "acetic acid", 60.052, NEAR, COMPUTED, Mc, || m("C2H4O2")),
    near("B034", "ethyl acetate", 88.106, NEAR, COMPUTED, Mc, || m("C4H8O2")),
    near("B035", "butyl acetate", 116.160, NEAR, COMPUTED, Mc, || m("C6H12O2")),
    near("B037", "benzoic acid", 122.123, NEAR, COMPUTED, Mc, || m("C7H6O2")),
    near("B038", "methyl benzoate", 136.150, NEAR, COMPUTED, Mc, || m("C8H8O2")),
    near("B040", "salicylic acid", 138.122, NEAR, COMPUTED, Mc, || m("C7H6O3")),
    near("B041", "methyl salicylate", 152.149, NEAR, COMPUTED, Mc, || m("C8H8O3")),
    near("B043", "aniline", 93.129, NEAR, COMPUTED, Mc, || m("C6H7N")),
    near("B044", "acetanilide", 135.166, NEAR, COMPUTED, Mc, || m("C8H9NO")),
    near("B046", "diethyl adipate", 202.250, NEAR, COMPUTED, Mc, || m("C10H18O4")),
    near("B047", "succinic anhydride", 100.073, NEAR, COMPUTED, Mc, || m("C4H4O3")),
    near("B049", "lactic acid", 90.078, NEAR, COMPUTED, Mc, || m("C3H6O3")),
    near("B050", "isopropyl lactate", 132.159, NEAR, COMPUTED, Mc, || m("C6H12O3")),
    near("B052", "acetone", 58.080, NEAR, COMPUTED, Mc, || m("C3H6O")),
    near("B053", "dibenzalacetone", 234.298, NEAR, COMPUTED, Mc, || m("C17H14O")),
    near("B055", "1-bromobutane", 137.020, NEAR, COMPUTED, Mc, || m("C4H9Br")),
    near("B056", "tert-butyl chloride", 92.566, NEAR, COMPUTED, Mc, || m("C4H9Cl")),
    near("B058", "sulfuric acid", 98.072, NEAR, COMPUTED, Mc, || m("H2SO4")),
    near("B059", "phosphoric acid", 97.994, NEAR, COMPUTED, Mc, || m("H3PO4")),
    near("B061", "potassium carbonate sesquihydrate", 165.227, NEAR, COMPUTED, Mc, || m("K2CO3·1.5H2O")),
    near("B062", "magnesium sulfate", 120.361, NEAR, COMPUTED, Mc, || m("MgSO4")),
    near("B064", "sodium sulfate decahydrate", 322.186, NEAR_LARGE, COMPUTED, Mc, || m("Na2SO4·10H2O")),
    near("B065", "calcium chloride dihydrate", 147.008, NEAR, COMPUTED, Mc, || m("CaCl2·2H2O")),
    near("B067", "copper(II) sulfate pentahydrate", 249.677, NEAR, COMPUTED, Mc, || m("CuSO4·5H2O")),
    near("B068", "calcium acetate", 158.166, NEAR, COMPUTED, Mc, || m("Ca(CH3CO2)2")),
    near("B070", "copper(II) nitrate", 187.554, NEAR, COMPUTED, Mc, || m("Cu(NO3)2")),
    near("B071", "glyceryl tristearate", 891.501, NEAR_LARGE, COMPUTED, Mc, || m("C57H110O6")),
];
