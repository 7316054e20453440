//! Whether an equation has the same atoms on both sides, and what would mend it.

use std::collections::BTreeMap;

use super::formula::{Formula, hill_order, number};

/// Atoms that differ by no more than this are in balance.
const NOTHING: f64 = 1e-9;

/// Small molecules that are often forgotten in an equation, with their atoms.
const SMALL: [(&str, &[(&str, f64)]); 11] = [
    ("H2O", &[("H", 2.0), ("O", 1.0)]),
    ("CO2", &[("C", 1.0), ("O", 2.0)]),
    ("HCl", &[("H", 1.0), ("Cl", 1.0)]),
    ("NH3", &[("N", 1.0), ("H", 3.0)]),
    ("H2", &[("H", 2.0)]),
    ("O2", &[("O", 2.0)]),
    ("N2", &[("N", 2.0)]),
    ("CH3OH", &[("C", 1.0), ("H", 4.0), ("O", 1.0)]),
    ("C2H5OH", &[("C", 2.0), ("H", 6.0), ("O", 1.0)]),
    ("HBr", &[("H", 1.0), ("Br", 1.0)]),
    ("SO2", &[("S", 1.0), ("O", 2.0)]),
];

/// Per element, atoms on the right minus atoms on the left, where they differ by more than 1e-9.
///
/// Each side is a list of stoichiometric number (positive) and formula.
pub fn imbalance(left: &[(f64, &Formula)], right: &[(f64, &Formula)]) -> BTreeMap<String, f64> {
    let mut sums: BTreeMap<String, f64> = BTreeMap::new();
    for (side, sign) in [(left, -1.0), (right, 1.0)] {
        for (times, formula) in side {
            for (symbol, count) in formula.atoms() {
                *sums.entry(symbol.clone()).or_insert(0.0) += sign * times * count;
            }
        }
    }
    sums.retain(|_, sum| sum.abs() > NOTHING);
    sums
}

/// What an equation lacks, as a fragment of a sentence: `"H2O on the right"`, `"C 2, H 6 on the left"`.
///
/// A common small molecule is named when a whole number of it is the whole
/// difference; otherwise the elements are listed in Hill order, and both sides
/// are named when each lacks something. `"nothing"` when the equation balances.
pub fn missing(imbalance: &BTreeMap<String, f64>) -> String {
    let lacking = |sign: f64| -> BTreeMap<String, f64> {
        imbalance.iter().map(|(symbol, sum)| (symbol.clone(), sum * sign)).filter(|(_, count)| *count > NOTHING).collect()
    };
    // What the right has too much of is missing on the left, and the other way round.
    let sides: Vec<String> = [(lacking(1.0), "left"), (lacking(-1.0), "right")]
        .into_iter()
        .filter(|(atoms, _)| !atoms.is_empty())
        .map(|(atoms, side)| {
            let what = small_molecule(&atoms).unwrap_or_else(|| element_list(&atoms));
            format!("{what} on the {side}")
        })
        .collect();
    if sides.is_empty() { "nothing".to_owned() } else { sides.join(" and ") }
}

fn element_list(atoms: &BTreeMap<String, f64>) -> String {
    hill_order(atoms).into_iter().map(|(symbol, count)| format!("{symbol} {}", number(count))).collect::<Vec<_>>().join(", ")
}

/// The small molecule of which `atoms` is a whole number, with that number when it is not one.
fn small_molecule(atoms: &BTreeMap<String, f64>) -> Option<String> {
    SMALL.iter().find_map(|(name, parts)| {
        let (first, per_molecule) = parts.first()?;
        let times = (atoms.get(*first)? / per_molecule).round();
        let fits = times >= 1.0
            && parts.len() == atoms.len()
            && parts.iter().all(|(symbol, count)| atoms.get(*symbol).is_some_and(|seen| (seen - times * count).abs() <= NOTHING * times));
        match fits {
            true if times == 1.0 => Some((*name).to_owned()),
            true => Some(format!("{} {name}", number(times))),
            false => None,
        }
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::close;
    use super::*;

    fn side(text: &str) -> Vec<(f64, Formula)> {
        text.split(" + ")
            .map(|term| match term.split_once(' ') {
                Some((times, formula)) => (times.parse().unwrap(), Formula::parse(formula).unwrap()),
                None => (1.0, Formula::parse(term).unwrap()),
            })
            .collect()
    }

    fn differ(equation: &str) -> BTreeMap<String, f64> {
        let (left, right) = equation.split_once(" -> ").unwrap();
        let (left, right) = (side(left), side(right));
        let left: Vec<(f64, &Formula)> = left.iter().map(|(n, f)| (*n, f)).collect();
        let right: Vec<(f64, &Formula)> = right.iter().map(|(n, f)| (*n, f)).collect();
        imbalance(&left, &right)
    }

    /// Equations as printed in OpenStax Chemistry 2e.
    #[test]
    fn published_equations_balance() {
        for equation in [
            "2 Al + 3 I2 -> 2 AlI3",
            "3 Ca(OH)2 + 2 H3PO4 -> Ca3(PO4)2 + 6 H2O",
            "4 Ga + 3 O2 -> 2 Ga2O3",
            "2 C8H18 + 25 O2 -> 16 CO2 + 18 H2O",
            "3 Si + 2 N2 -> Si3N4",
            "CCl4 + 2 HF -> CF2Cl2 + 2 HCl",
            "2 C6H5CH3 + 3 O2 -> 2 C6H5CO2H + 2 H2O",
            "2 C2H5OH + H2SO4 -> (C2H5)2O + H2SO4·H2O",
            "2 NaNO3 -> 2 NaNO2 + O2",
            "2 Ga + 6 HCl -> 2 GaCl3 + 3 H2",
            "SiO2 + 3 C -> SiC + 2 CO",
            "2 Cu(NO3)2 + 4 KI -> 2 CuI + I2 + 4 KNO3",
            "2 FeTiO3 + 4 HCl + Cl2 -> 2 FeCl3 + 2 TiO2 + 2 H2O",
            "P4 + 5 O2 -> P4O10",
        ] {
            assert_eq!(missing(&differ(equation)), "nothing", "{equation}");
        }
    }

    /// An esterification without its water lacks exactly water, 18.015 g/mol.
    #[test]
    fn a_forgotten_small_molecule_is_named() {
        let gap = differ("CH3COOH + C2H5OH -> CH3COOC2H5");
        assert_eq!(missing(&gap), "H2O on the right");
        let mass: f64 = gap.iter().map(|(symbol, n)| -n * super::super::weights::atomic_weight(symbol).unwrap()).sum();
        close("mass defect in g/mol", mass, 18.015, 1e-9);
        assert_eq!(missing(&differ("CH3COOC2H5 -> CH3COOH + C2H5OH")), "H2O on the left");
        assert_eq!(missing(&differ("C2H4 -> C2H6")), "H2 on the left");
        assert_eq!(missing(&differ("C6H10O4 + 2 C2H5OH -> C10H18O4")), "2 H2O on the right");
        assert_eq!(missing(&differ("CuCO3 -> CuO")), "CO2 on the right");
    }

    #[test]
    fn other_gaps_are_listed() {
        assert_eq!(missing(&differ("C2H4 -> C4H10")), "C 2, H 6 on the left");
        assert_eq!(missing(&differ("2 H2 + O2 -> H2O")), "H2O on the right");
        assert_eq!(missing(&differ("CO -> CO2")), "O 1 on the left");
        assert_eq!(missing(&differ("NaCl + H2O -> NaBr")), "Br 1 on the left and Cl 1, H 2, O 1 on the right");
    }
}
