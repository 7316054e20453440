//! Solubilities between measured points and in mixed solvents.

/// Solubility at `t` in K from measured points (T in K, S in any unit), in the unit of the points.
///
/// ln S is linear in 1/T between neighbours, as van 't Hoff's equation has it
/// over a short span. The points may come in any order. `None` beyond the
/// outermost points, or where a neighbour's solubility is not above zero.
pub fn at_temperature(points: &[(f64, f64)], t: f64) -> Option<f64> {
    if t.is_nan() || t <= 0.0 {
        return None;
    }
    let mut sorted = points.to_vec();
    sorted.sort_by(|left, right| left.0.total_cmp(&right.0));
    if let Some((_, s)) = sorted.iter().find(|(at, _)| *at == t) {
        return Some(*s);
    }
    sorted.windows(2).find_map(|pair| match pair {
        [(t0, s0), (t1, s1)] if *t0 > 0.0 && *t0 < t && t < *t1 && *s0 > 0.0 && *s1 > 0.0 => {
            let share = (1.0 / t0 - 1.0 / t) / (1.0 / t0 - 1.0 / t1);
            Some((s0.ln() + share * (s1.ln() - s0.ln())).exp())
        }
        _ => None,
    })
}

/// Solubility in a mixed solvent from volume fraction and solubility in each part, in the unit given.
///
/// The log-linear model of S. H. Yalkowsky: `ln S = Σ φ_i ln S_i`. The
/// fractions are those before mixing and are scaled to sum to one. An estimate:
/// factors of two are common. `None` without parts, for fractions below zero or
/// all zero, or for a solubility not above zero in a part that is there.
pub fn cosolvent(parts: &[(f64, f64)]) -> Option<f64> {
    let sound =
        parts.iter().all(|(fraction, s)| fraction.is_finite() && *fraction >= 0.0 && (*fraction == 0.0 || (s.is_finite() && *s > 0.0)));
    let total: f64 = parts.iter().map(|(fraction, _)| fraction).sum();
    if !sound || total <= 0.0 {
        return None;
    }
    let log: f64 = parts.iter().filter(|(fraction, _)| *fraction > 0.0).map(|(fraction, s)| fraction / total * s.ln()).sum();
    Some(log.exp())
}

/// The mole fraction of a solid in an ideal liquid that has taken its fill at `t` K: `ln x = −ΔH/R (1/T − 1/T_m)`.
///
/// `fusion` in J/mol, `melts` in K; one at and above the melting point. Heat capacities are left out. `None` for
/// figures that are none.
pub fn ideal(fusion: f64, melts: f64, t: f64) -> Option<f64> {
    let sound = fusion > 0.0 && melts > 0.0 && t > 0.0 && fusion.is_finite() && melts.is_finite();
    sound.then(|| (-fusion / super::gas::R * (1.0 / t - 1.0 / melts)).min(0.0).exp())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::close;
    use super::*;

    #[test]
    fn between_points_and_no_further() {
        let points = [(353.15, 9.0), (273.15, 1.0), (313.15, 4.0)];
        assert_eq!(at_temperature(&points, 313.15), Some(4.0));
        let middle = 2.0 / (1.0 / 273.15 + 1.0 / 313.15);
        close("half way in 1/T", at_temperature(&points, middle).unwrap(), 2.0, 1e-12);
        for t in [273.0, 353.2, f64::NAN, 0.0, -1.0] {
            assert_eq!(at_temperature(&points, t), None);
        }
        assert_eq!(at_temperature(&[], 300.0), None);
        assert_eq!(at_temperature(&[(300.0, 2.0)], 300.0), Some(2.0));
        assert_eq!(at_temperature(&[(300.0, 0.0), (310.0, 2.0)], 305.0), None);
    }

    /// Naphthalene (19.01 kJ/mol, 80.3 °C) in benzene, which is much like it: 0.241 at 20 °C and 0.29 at 25 °C were
    /// measured, after Scatchard 1931, from memory.
    #[test]
    fn ideal_solutions() {
        close("20 °C", ideal(19_010.0, 353.4, 293.15).unwrap(), 0.241, 0.03);
        close("25 °C", ideal(19_010.0, 353.4, 298.15).unwrap(), 0.29, 0.03);
        assert_eq!(ideal(19_010.0, 353.4, 360.0), Some(1.0));
        for (fusion, melts, t) in [(0.0, 300.0, 290.0), (1e4, f64::NAN, 290.0), (1e4, 300.0, 0.0), (f64::INFINITY, 300.0, 290.0)] {
            assert_eq!(ideal(fusion, melts, t), None);
        }
    }

    #[test]
    fn log_linear() {
        close("half and half", cosolvent(&[(0.5, 1.0), (0.5, 100.0)]).unwrap(), 10.0, 1e-12);
        close("scaled", cosolvent(&[(1.0, 1.0), (1.0, 100.0)]).unwrap(), 10.0, 1e-12);
        close("one part", cosolvent(&[(1.0, 3.0), (0.0, 0.0)]).unwrap(), 3.0, 1e-12);
        for parts in [vec![], vec![(0.0, 1.0)], vec![(-0.5, 1.0), (1.5, 1.0)], vec![(1.0, 0.0)], vec![(f64::NAN, 1.0)]] {
            assert_eq!(cosolvent(&parts), None);
        }
    }
}
