//! Heats of mixing and what they do to the temperature.

/// Heat in J set free per mol of liquid sulfuric acid in so many moles of water, at 25 °C.
///
/// The first number is moles of water per mole of acid. The rows for 10, 50 and
/// 1000, and the value at infinite dilution, are differences of enthalpies of
/// formation in Petrucci, *General Chemistry*, 10th ed., problem 7-126. Those
/// for 1, 2, 5, 10 000 and 100 000 are from memory of the tables of the U.S.
/// National Bureau of Standards, good to about 1 %.
const SULFURIC: [(f64, f64); 9] = [
    (0.0, 0.0),
    (1.0, 27_900.0),
    (2.0, 41_500.0),
    (5.0, 57_600.0),
    (10.0, 66_500.0),
    (50.0, 72_800.0),
    (1_000.0, 78_300.0),
    (10_000.0, 86_800.0),
    (100_000.0, 93_300.0),
];

/// Heat set free at infinite dilution, J per mol of acid; taken as reached at a million moles of water.
const SULFURIC_LIMIT: (f64, f64) = (1_000_000.0, 95_300.0);

/// Heat taken up where a mole of protons and a mole of hydroxide make water, J/mol: heats of formation of water, −285.830,
/// and of hydroxide, −230.015 kJ/mol (CODATA key values).
pub const NEUTRALISATION: f64 = -55_815.0;

/// Integral heat of solution of sulfuric acid: J set free per mol of acid.
///
/// `water_per_acid` is moles of water per mole of acid in the finished
/// solution, pure liquid acid and water to begin with. For a stock that already
/// holds water take the difference of two values. See the table above for the
/// sources. Between rows up to 50 the heat is linear in n/(n + 1.8), the form
/// of Thomsen's equation; above that it is linear in ln n.
pub fn sulfuric_dilution(water_per_acid: f64) -> f64 {
    let n = water_per_acid;
    if n.is_nan() || n <= 0.0 {
        return 0.0;
    }
    let scale = |n: f64, dilute: bool| if dilute { n.ln() } else { n / (n + 1.8) };
    SULFURIC.iter().zip(SULFURIC.iter().skip(1).chain([&SULFURIC_LIMIT])).find(|(_, (to, _))| n <= *to).map_or(
        SULFURIC_LIMIT.1,
        |((from, q_from), (to, q_to))| {
            let dilute = *from >= 50.0;
            let start = scale(*from, dilute);
            let share = (scale(n, dilute) - start) / (scale(*to, dilute) - start);
            q_from + share * (q_to - q_from)
        },
    )
}

/// Integral heat of solution: J set free in all per mol of solute in `n` mol of solvent.
///
/// `rows` are (mol of solvent per mol of solute, J/mol), ascending. Between rows the heat is linear in
/// ln n; below the first it grows in proportion to n from nothing, and beyond the last it stays.
#[must_use]
pub fn integral(rows: &[(f64, f64)], n: f64) -> f64 {
    let (Some(first), Some(last)) = (rows.first(), rows.last()) else { return 0.0 };
    if n.is_nan() || n <= 0.0 {
        return 0.0;
    }
    if n <= first.0 {
        return first.1 * n / first.0;
    }
    rows.iter().zip(rows.iter().skip(1)).find(|(_, to)| n <= to.0).map_or(last.1, |(from, to)| {
        let share = (n / from.0).ln() / (to.0 / from.0).ln();
        from.1 + share * (to.1 - from.1)
    })
}

/// Rise of temperature in K when `heat` in J stays in a mass of heat capacity `heat_capacity` in J/K.
///
/// Infinite, with the sign of the heat, if there is nothing to take it up; zero
/// for no heat.
pub fn adiabatic_rise(heat: f64, heat_capacity: f64) -> f64 {
    if heat == 0.0 {
        return 0.0;
    }
    if heat_capacity <= 0.0 {
        return f64::INFINITY.copysign(heat);
    }
    heat / heat_capacity
}

#[cfg(test)]
mod tests {
    use super::super::close;
    use super::*;

    /// Petrucci, General Chemistry, 10th ed., problem 7-126: enthalpies of formation in kJ/mol, less −814.0.
    #[test]
    fn petrucci() {
        for (n, formation) in [(10.0, -880.5), (50.0, -886.8), (1000.0, -892.3), (f64::INFINITY, -909.3)] {
            close("kJ/mol", sulfuric_dilution(n) / 1000.0, -814.0 - formation, 0.1);
        }
    }

    #[test]
    fn rows_are_met_and_joined() {
        let rows = [(10.0, 66_500.0), (50.0, 72_800.0), (1000.0, 78_300.0)];
        for (n, heat) in rows {
            close("a row", integral(&rows, n), heat, 1e-9);
        }
        close("half of the first", integral(&rows, 5.0), 33_250.0, 1e-9);
        close("between, by ln n", integral(&rows, 500_f64.sqrt()), 69_650.0, 1e-6);
        close("beyond the last", integral(&rows, 1e9), 78_300.0, 1e-9);
        assert_eq!((integral(&rows, 0.0), integral(&rows, f64::NAN), integral(&[], 3.0)), (0.0, 0.0, 0.0));
    }

    #[test]
    fn more_water_more_heat() {
        assert_eq!(sulfuric_dilution(0.0), 0.0);
        assert_eq!(sulfuric_dilution(-1.0), 0.0);
        assert_eq!(sulfuric_dilution(f64::NAN), 0.0);
        let mut before = 0.0;
        for at in 0..400 {
            let here = sulfuric_dilution(1e-3 * (at as f64 * 0.06).exp());
            assert!(here >= before && here <= 95_300.0, "step {at}: {here} after {before}");
            before = here;
        }
    }

    /// A homework question: 1 mol of acid into 1 L of 1.00 M acid (1060 g, 3.50 J/(g·K)) from 28.8 °C.
    /// The heat at that strength leads to 45–49 °C; that at infinite dilution to the 54.5 °C often printed.
    #[test]
    fn acid_into_dilute_acid() {
        // One litre of 1.00 M acid, 1060 g less 98 g of acid, holds 53.4 mol of water.
        let (water, acid) = (53.4, 2.0);
        let heat = acid * sulfuric_dilution(water / acid) - sulfuric_dilution(water);
        let end = 28.8 + adiabatic_rise(heat, (1060.0 + 98.07) * 3.50);
        close("end, °C", end, 47.0, 2.0);
        let often = 28.8 + adiabatic_rise(95_300.0, 1060.0 * 3.50);
        close("as often printed, °C", often, 54.5, 0.1);
    }

    /// OpenStax Chemistry 2e, calorimetry: 3.00 g of KCl in 300 g of water cool it by 1.05 K.
    #[test]
    fn rise_and_fall() {
        close("KCl, K", adiabatic_rise(-1330.0, 303.0 * 4.184), -1.05, 0.01);
        assert_eq!(adiabatic_rise(0.0, 0.0), 0.0);
        assert_eq!(adiabatic_rise(1.0, 0.0), f64::INFINITY);
        assert_eq!(adiabatic_rise(-1.0, 0.0), f64::NEG_INFINITY);
    }
}
