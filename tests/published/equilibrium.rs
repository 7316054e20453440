//! How far esterifications go: acid + alcohol = ester + water.

use scruple::chemistry::equilibrium::{extent, extent_with_held, extent_with_removal};
use scruple::chemistry::solve::brent;

use super::{Abs, Check, Mc, OPENSTAX, S, Sc, near};

const COMPUTED: &str = "computed from the law of mass action";

const NU: [f64; 4] = [-1.0, -1.0, 1.0, 1.0];

/// Ester formed in mol from acid and alcohol.
fn ester(acid: f64, alcohol: f64, k: f64) -> f64 {
    extent(&[acid, alcohol, 0.0, 0.0], &NU, k, 0.0).unwrap()
}

/// The constant at which acid and alcohol give that much ester.
fn constant(acid: f64, alcohol: f64, formed: f64) -> f64 {
    brent(|k| ester(acid, alcohol, k) - formed, 0.01, 1000.0, 1e-9, 200).unwrap()
}

/// Extent of the second check, whose charge holds more ester than it keeps.
fn backwards() -> f64 {
    extent(&[0.15, 0.15, 0.40, 0.40], &NU, 4.0, 0.0).unwrap()
}

#[rustfmt::skip]
pub(crate) const CHECKS: &[Check] = &[
    near("E001", "K where a third of each of 1 mol and 1 mol is left", 4.0, Abs(0.01), OPENSTAX, S, || constant(1.0, 1.0, 2.0 / 3.0)),
    near("E002", "acid left of 0.15 M acid, 0.15 M alcohol, 0.40 M ester, 0.40 M water at K = 4.0, M", 0.18, Abs(0.005), OPENSTAX, S, || 0.15 - backwards()),
    near("E002", "ester left in the same, M", 0.37, Abs(0.005), OPENSTAX, S, || 0.40 + backwards()),
    near("E004", "K where 0.33 mol of formic acid and 0.58 mol of ethanol give 0.26 mol of ester", 3.02, Abs(0.05), "chim.lu, exercise on esterification", S, || constant(0.33, 0.58, 0.26)),
    near("E005", "ester of 1 mol of butyric acid and 3 mol of ethanol at K = 3.00, water held at 0.2 mol", 0.968, Abs(0.001), "chim.lu, exercise 6", S,
        || extent_with_held(&[1.0, 3.0, 0.0, 0.0], &NU, 3.00, 0.0, 3, 0.2).unwrap()),
    // The answer given there, 5.39, leaves the water out.
    near("E007", "K where 2.00 mol of acid and 1.00 mol of ethanol give 0.86 mol of ester", 4.63, Abs(0.02), "askanewquestion.com", Sc, || constant(2.00, 1.00, 0.86)).not(5.39),
    near("E008", "1 : 1 at K = 4.2, %", 67.2, Abs(0.3), "Lehman, laboratory text on isopentyl acetate, as quoted: at most 67 %", S, || 100.0 * ester(1.0, 1.0, 4.2)),
    near("E010", "acid 1 : alcohol 2 at K = 4.0, %", 84.5, Abs(0.1), COMPUTED, Mc, || 100.0 * ester(1.0, 2.0, 4.0)),
    near("E011", "acid 1 : alcohol 3 at K = 4.0, %", 90.3, Abs(0.1), COMPUTED, Mc, || 100.0 * ester(1.0, 3.0, 4.0)),
    near("E013", "acid 1 : alcohol 5 at K = 4.0, %", 94.5, Abs(0.1), COMPUTED, Mc, || 100.0 * ester(1.0, 5.0, 4.0)),
    near("E014", "acid 1 : alcohol 10 at K = 4.0, %", 97.4, Abs(0.1), COMPUTED, Mc, || 100.0 * ester(1.0, 10.0, 4.0)),
    near("E016", "acid 4 : alcohol 1 at K = 4.2, %", 93.3, Abs(0.1), COMPUTED, Mc, || 100.0 * ester(4.0, 1.0, 4.2)),
    near("E017", "acid 2 : alcohol 1 at K = 4.2, %", 85.0, Abs(0.1), COMPUTED, Mc, || 100.0 * ester(2.0, 1.0, 4.2)),
    near("E019", "1 : 1 at K = 4.0 with 99 % of the water removed, %", 95.2, Abs(0.1), COMPUTED, Mc,
        || 100.0 * extent_with_removal(&[1.0, 1.0, 0.0, 0.0], &NU, 4.0, 0.0, 3, 0.01).unwrap()),
    near("D18", "100 mmol of alcohol and 400 mmol of acid at K = 4.2, % of theory", 93.0, Abs(1.0), "isoamyl acetate, macroscale handout (studylib 10882289)", Sc, || 100.0 * ester(0.400, 0.100, 4.2) / 0.100),
];
