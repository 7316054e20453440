//! Densities and the conversions that hang on them.

use super::solve::{SolveError, brent};

/// Points at which the range of a density function is probed.
const PROBES: usize = 200;

/// Halvings that find where a density function begins or ends.
const HALVINGS: usize = 60;

/// Value at `x` of a table of points by straight lines between neighbours; `None` outside the table.
///
/// The points are in ascending order of x. Of points with the same x the first
/// pair that holds `x` decides.
pub fn interpolate(table: &[(f64, f64)], x: f64) -> Option<f64> {
    if let [(only, y)] = table {
        return (*only == x).then_some(*y);
    }
    table.windows(2).find_map(|pair| match pair {
        [(x0, y0), (x1, y1)] if *x0 <= x && x <= *x1 => {
            if x1 == x0 {
                return Some(*y0);
            }
            let share = (x - x0) / (x1 - x0);
            Some(y0 * (1.0 - share) + y1 * share)
        }
        _ => None,
    })
}

/// Density in kg/m³ of air-free water at 101 325 Pa and `t` in K; `None` outside 0 to 100 °C.
///
/// G. S. Kell, *J. Chem. Eng. Data* 1975, 20, 97, equation 16 (fitted on the
/// temperature scale of 1968, which differs by at most 0.026 K here; at 20 and
/// 25 °C it lies 0.003 kg/m³ below the tables of today), the constants from memory and confirmed in several public programs; beware of
/// copies with 16.897850e-3 in the denominator.
pub fn water(t: f64) -> Option<f64> {
    let c = t - 273.15;
    // A hair of room keeps 0 and 100 °C inside after the conversion to kelvin.
    if !(-1e-9..=100.0 + 1e-9).contains(&c) {
        return None;
    }
    let above = 999.83952 + c * (16.945176 + c * (-7.9870401e-3 + c * (-46.170461e-6 + c * (105.56302e-9 + c * -280.54253e-12))));
    Some(above / (1.0 + 16.879850e-3 * c))
}

/// Volume in m³ that `m_s` kg of a solute seems to take up in `m_w` kg of water.
///
/// `rho_mix` is the density of the mixture and `rho_w` that of water, both in
/// kg/m³: `V = (m_s + m_w)/rho_mix − m_w/rho_w`. It can be below zero.
pub fn apparent_volume(m_s: f64, m_w: f64, rho_mix: f64, rho_w: f64) -> f64 {
    (m_s + m_w) / rho_mix - m_w / rho_w
}

/// Mass fraction of a solution from its volume fraction (0 to 1).
///
/// The volume fraction is the volume of pure solute per volume of finished
/// solution. `rho_pure` is the density of the pure solute and `density(w)` that
/// of the mixture at mass fraction `w`, both in kg/m³ at the temperature the
/// percentage is stated for, mostly 20 °C: `w = phi·rho_pure/density(w)`.
///
/// # Errors
///
/// `NoBracket` if `density` is not known as far as that, `BadInput` for a
/// fraction outside 0 to 1 or a density not above zero.
pub fn mass_fraction_from_volume(phi: f64, rho_pure: f64, density: impl Fn(f64) -> Option<f64>) -> Result<f64, SolveError> {
    if !(0.0..=1.0).contains(&phi) {
        return Err(SolveError::bad("A volume fraction lies between 0 and 1."));
    }
    if !rho_pure.is_finite() || rho_pure <= 0.0 {
        return Err(SolveError::bad("A density is a number above zero."));
    }
    mass_fraction_from_concentration(phi * rho_pure, density)
}

/// Mass fraction of a solution from its concentration `c` in kg of solute per m³ of solution.
///
/// `density(w)` is the density of the mixture in kg/m³ at mass fraction `w`:
/// `w = c/density(w)`. The smallest such fraction is returned.
///
/// # Errors
///
/// `NoBracket` if `density` is not known as far as that or no mixture is so
/// concentrated, `BadInput` for a concentration below zero.
pub fn mass_fraction_from_concentration(c: f64, density: impl Fn(f64) -> Option<f64>) -> Result<f64, SolveError> {
    if !c.is_finite() || c < 0.0 {
        return Err(SolveError::bad("A concentration is a number at least zero."));
    }
    if c == 0.0 {
        return Ok(0.0);
    }
    let gap = |w: f64| density(w).map(|rho| w * rho - c).filter(|gap| !gap.is_nan());
    // Rounding may leave the end of a table a hair short of its own concentration.
    let enough = 1e-12 * c;
    let (mut min, mut max) = (f64::INFINITY, f64::NEG_INFINITY);
    let (mut low, mut high) = (f64::NAN, f64::NAN);
    let mut before: Option<(f64, f64)> = None;
    for w in probes(gap) {
        let Some(here) = gap(w) else {
            before = None;
            continue;
        };
        if here.abs() <= enough {
            return Ok(w);
        }
        if let Some((w_before, gap_before)) = before
            && (gap_before > 0.0) != (here > 0.0)
        {
            return brent(|w| gap(w).unwrap_or(f64::NAN), w_before, w, 1e-13, 200);
        }
        low = low.min(w);
        high = high.max(w);
        min = min.min(here);
        max = max.max(here);
        before = Some((w, here));
    }
    if min > max {
        return Err(SolveError::bad("The density of the mixture is not known anywhere."));
    }
    Err(SolveError::NoBracket { low, high, min, max })
}

/// Mass fractions from 0 to 1, with the places at which `gap` begins or ends put in.
fn probes(gap: impl Fn(f64) -> Option<f64>) -> Vec<f64> {
    let mut all = Vec::with_capacity(PROBES + 3);
    let mut last: Option<(f64, bool)> = None;
    for at in 0..=PROBES {
        let w = at as f64 / PROBES as f64;
        let known = gap(w).is_some();
        if let Some((w_last, known_last)) = last
            && known != known_last
        {
            let (mut inside, mut outside) = if known { (w, w_last) } else { (w_last, w) };
            for _ in 0..HALVINGS {
                let middle = 0.5 * (inside + outside);
                if gap(middle).is_some() {
                    inside = middle;
                } else {
                    outside = middle;
                }
            }
            all.push(inside);
        }
        all.push(w);
        last = Some((w, known));
    }
    all
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::close;
    use super::*;

    /// OpenStax Chemistry 2e, Appendix E, in kg/m³. Kell's equation meets the first within 1e-3 and
    /// lies 3.0e-3 below the other two, three parts in a million; each row states the gap allowed.
    #[test]
    fn water_against_the_table() {
        for (celsius, published, tolerance) in [(4.0, 999.9720, 1e-3), (20.0, 998.2071, 3.1e-3), (25.0, 997.0479, 3.1e-3)] {
            close("water, kg/m³", water(celsius + 273.15).unwrap(), published, tolerance);
        }
        assert!(water(273.15).is_some() && water(373.15).is_some());
        for t in [272.0, 374.0, f64::NAN] {
            assert_eq!(water(t), None);
        }
    }

    /// Trap readings in mL at 20 °C, computed with M(H2O) = 18.015 g/mol.
    #[test]
    fn water_in_a_trap() {
        let (molar, rho) = (0.018015, water(293.15).unwrap());
        let ml = |kg: f64| kg / rho * 1e6;
        close("1.00 mol", ml(molar), 18.05, 0.01);
        close("0.250 mol at 95 %", ml(0.250 * 0.95 * molar), 4.29, 0.01);
        close("3.9 mL from 0.220 mol, %", 3.9e-6 * rho / molar / 0.220 * 100.0, 98.2, 0.1);
        // 212 g of 85 % lactic acid bring 31.8 g of water and make 36.0 g more.
        let lactic = 0.212 * 0.15 + 0.212 * 0.85 / 0.090078 * molar;
        close("lactic acid, g", lactic * 1000.0, 67.8, 0.05);
        close("lactic acid, mL", ml(lactic), 67.9, 0.1);
    }

    #[test]
    fn tables_end_where_they_end() {
        let table = [(0.0, 10.0), (1.0, 20.0), (3.0, 0.0)];
        assert_eq!(interpolate(&table, 0.0), Some(10.0));
        assert_eq!(interpolate(&table, 0.25), Some(12.5));
        assert_eq!(interpolate(&table, 2.0), Some(10.0));
        assert_eq!(interpolate(&table, 3.0), Some(0.0));
        for x in [-0.1, 3.1, f64::NAN] {
            assert_eq!(interpolate(&table, x), None);
        }
        assert_eq!(interpolate(&[], 1.0), None);
        assert_eq!(interpolate(&[(1.0, 7.0)], 1.0), Some(7.0));
        assert_eq!(interpolate(&[(1.0, 7.0)], 1.5), None);
        assert_eq!(interpolate(&[(1.0, 7.0), (1.0, 8.0)], 1.0), Some(7.0));
    }

    /// Ethanol and water at 20 °C (OIML R 22, from memory): 95 % by volume is 92.4 % by mass,
    /// as the note on the acetal of Organic Syntheses Coll. Vol. 1, 1 has it.
    #[test]
    fn spirit_by_volume_and_by_mass() {
        let table = [(0.0, 998.20), (0.90, 817.97), (0.92, 812.54), (0.94, 806.93), (1.0, 789.24)];
        let density = |w: f64| interpolate(&table, w);
        let w = mass_fraction_from_volume(0.95, 789.24, density).unwrap();
        close("95 % by volume", w, 0.924, 5e-4);
        close("it is consistent", w * density(w).unwrap(), 0.95 * 789.24, 1e-6);
        assert_eq!(mass_fraction_from_volume(0.0, 789.24, density), Ok(0.0));
        close("pure", mass_fraction_from_volume(1.0, 789.24, density).unwrap(), 1.0, 1e-12);
        assert!(mass_fraction_from_volume(1.1, 789.24, density).is_err());
        assert!(mass_fraction_from_volume(0.5, f64::NAN, density).is_err());
    }

    /// Sodium chloride at 20 °C: 20 % by mass, 1147.8 kg/m³, 3.928 mol/L (NaCl–water table, Wikipedia).
    #[test]
    fn brine_from_its_concentration() {
        let table = [(0.0, 998.2), (0.1, 1070.7), (0.2, 1147.8), (0.26, 1197.0)];
        let density = |w: f64| interpolate(&table, w);
        let c = 3928.0 * 0.05844;
        close("20 % by mass", mass_fraction_from_concentration(c, density).unwrap(), 0.20, 2e-4);
        let end = 0.26 * 1197.0;
        close("at the end", mass_fraction_from_concentration(end, density).unwrap(), 0.26, 1e-9);
        let off = [(0.0, 998.2), (0.2613, 1198.0)];
        let off_density = |w: f64| interpolate(&off, w);
        let near = mass_fraction_from_concentration(0.2612 * 1197.9, off_density).unwrap();
        close("between the last probe and the end", near, 0.2612, 1e-4);
        assert!(matches!(mass_fraction_from_concentration(400.0, density), Err(SolveError::NoBracket { .. })));
        assert!(mass_fraction_from_concentration(1.0, |_| None).is_err());
        assert!(mass_fraction_from_concentration(-1.0, density).is_err());
    }

    #[test]
    fn apparent_volume_of_no_change() {
        close("ideal", apparent_volume(0.1, 1.0, 1.1 / 1.1e-3, 1000.0), 1e-4, 1e-15);
        assert_eq!(apparent_volume(0.0, 1.0, 1000.0, 1000.0), 0.0);
    }
}
