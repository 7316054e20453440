//! How far one reaction goes before it is at equilibrium.
//!
//! Throughout, `n0` are amounts in mol at the start, `nu` the stoichiometric
//! numbers (below zero for reactants, above for products), `k` the equilibrium
//! constant as a ratio of mole fractions,
//! `K = Π n_i^nu_i · (Σn)^(−Σnu)`, and `inert` the moles that only dilute. For
//! `Σnu = 0`, as in an esterification, the total cancels and plain mole numbers
//! serve. The mixture is taken as ideal.
//!
//! The extent is sought between those at which a species runs out, as the
//! logarithm of the ratio of the distances to the two ends: so an extent within
//! a hair of either end loses no figures, and plain halving takes a fixed
//! number of steps.

use super::solve::SolveError;

/// Halvings of the search range; it is 1400 wide, so that 64 bring it below rounding.
const HALVINGS: usize = 64;

/// Half the width of the search range, in units of the logarithm.
const REACH: f64 = 700.0;

/// What happens to a species besides the reaction.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Fate {
    /// What the reaction leaves of it stays in the pot.
    Stays,
    /// Only this share of what there would be stays in the pot.
    Kept(f64),
    /// There are always this many moles of it.
    Held(f64),
}

/// Extent in mol of one reaction at equilibrium.
///
/// Below zero when the net reaction runs backwards. See the module for the
/// meaning of the arguments. Good to 1e-12 of the way between the two extents
/// at which a species runs out.
///
/// # Errors
///
/// `BadInput` for lists of unequal length, amounts below zero, a `k` that is
/// not above zero, or a reaction that lacks a reactant or a product.
pub fn extent(n0: &[f64], nu: &[f64], k: f64, inert: f64) -> Result<f64, SolveError> {
    solve(n0, nu, k, inert, None)
}

/// Extent in mol when only the share `kept` (0 to 1) of species `removed` is left in the pot.
///
/// The rest of what there would be of it is taken away, as water to a trap or
/// to a bed of sieves. `kept = 1` is [`extent`]; `kept = 0` drives the reaction
/// until a reactant is gone. Removal of a species of a reaction with `Σnu ≠ 0`
/// can in rare mixtures leave more than one extent at equilibrium; one of them
/// is returned.
///
/// # Errors
///
/// As [`extent`], and `BadInput` for a share outside 0 to 1 or an index that is
/// not there.
pub fn extent_with_removal(n0: &[f64], nu: &[f64], k: f64, inert: f64, removed: usize, kept: f64) -> Result<f64, SolveError> {
    if !(0.0..=1.0).contains(&kept) {
        return Err(SolveError::bad("The share kept lies between 0 and 1."));
    }
    solve(n0, nu, k, inert, Some((removed, Fate::Kept(kept))))
}

/// Extent in mol when there are always `moles` of species `held` in the pot.
///
/// As a drying agent holds water at a level; whatever the reaction makes of it
/// goes elsewhere and whatever it uses is made good, so that the species sets
/// no limit to the extent. Its starting amount is ignored.
///
/// # Errors
///
/// As [`extent`], and `BadInput` for moles below zero, an index that is not
/// there, or a reaction in which nothing else limits the extent on one side.
pub fn extent_with_held(n0: &[f64], nu: &[f64], k: f64, inert: f64, held: usize, moles: f64) -> Result<f64, SolveError> {
    if !moles.is_finite() || moles < 0.0 {
        return Err(SolveError::bad("The moles held are not a number at least zero."));
    }
    solve(n0, nu, k, inert, Some((held, Fate::Held(moles))))
}

/// One species, with what is left of it at the end towards which it runs out.
struct Species {
    nu: f64,
    at_end: f64,
    fate: Fate,
}

pub(super) fn solve(n0: &[f64], nu: &[f64], k: f64, inert: f64, special: Option<(usize, Fate)>) -> Result<f64, SolveError> {
    check(n0, nu, k, inert, special)?;
    let fate = |at: usize| match special {
        Some((which, fate)) if which == at => fate,
        _ => Fate::Stays,
    };
    // A held species never runs out, so it does not bound the extent.
    let bounding = || n0.iter().zip(nu).enumerate().filter(|(at, _)| !matches!(fate(*at), Fate::Held(_))).map(|(_, (n0, nu))| (*n0, *nu));
    let low = bounding().filter(|(_, nu)| *nu > 0.0).map(|(n0, nu)| -n0 / nu).fold(f64::NEG_INFINITY, f64::max);
    let high = bounding().filter(|(_, nu)| *nu < 0.0).map(|(n0, nu)| n0 / -nu).fold(f64::INFINITY, f64::min);
    if !low.is_finite() || !high.is_finite() {
        return Err(SolveError::bad("An equilibrium needs a reactant and a product whose amounts are free."));
    }
    let width = high - low;
    if width <= 0.0 {
        // A reactant and a product are both absent, so that nothing can happen.
        return Ok(low);
    }
    let species: Vec<Species> = n0
        .iter()
        .zip(nu)
        .enumerate()
        .map(|(at, (n0, nu))| {
            let end = if *nu > 0.0 {
                low
            } else if *nu < 0.0 {
                high
            } else {
                0.0
            };
            Species { nu: *nu, at_end: (n0 + nu * end).max(0.0), fate: fate(at) }
        })
        .collect();
    let target = k.ln();
    let (mut below, mut above) = (-REACH, REACH);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (below + above);
        let (from_low, from_high) = distances(middle, width);
        if quotient(&species, from_low, from_high, inert) < target {
            below = middle;
        } else {
            above = middle;
        }
    }
    let middle = 0.5 * (below + above);
    let (from_low, from_high) = distances(middle, width);
    Ok(if middle < 0.0 { low + from_low } else { high - from_high })
}

fn check(n0: &[f64], nu: &[f64], k: f64, inert: f64, special: Option<(usize, Fate)>) -> Result<(), SolveError> {
    if n0.len() != nu.len() {
        return Err(SolveError::bad("There are not as many amounts as stoichiometric numbers."));
    }
    if !n0.iter().chain([&inert]).all(|n| n.is_finite() && *n >= 0.0) {
        return Err(SolveError::bad("An amount is not a number at least zero."));
    }
    if !nu.iter().all(|nu| nu.is_finite()) {
        return Err(SolveError::bad("A stoichiometric number is not a number."));
    }
    if !k.is_finite() || k <= 0.0 {
        return Err(SolveError::bad("An equilibrium constant is a number above zero."));
    }
    if special.is_some_and(|(which, _)| which >= n0.len()) {
        return Err(SolveError::bad("There is no species of that index."));
    }
    Ok(())
}

/// How far an extent lies from the lower and from the upper end, neither by subtraction.
fn distances(logit: f64, width: f64) -> (f64, f64) {
    (width / (1.0 + (-logit).exp()), width / (1.0 + logit.exp()))
}

/// ln of the reaction quotient in mole fractions.
fn quotient(species: &[Species], from_low: f64, from_high: f64, inert: f64) -> f64 {
    let mut total = inert;
    let mut order = 0.0;
    let mut log = 0.0;
    for one in species {
        let made = match one.nu {
            nu if nu > 0.0 => one.at_end + nu * from_low,
            nu => one.at_end - nu * from_high,
        };
        let there = match one.fate {
            Fate::Stays => made,
            Fate::Kept(share) => share * made,
            Fate::Held(moles) => moles,
        };
        total += there;
        order += one.nu;
        if one.nu != 0.0 {
            log += one.nu * ln(there);
        }
    }
    if order == 0.0 { log } else { log - order * ln(total) }
}

/// ln that stays finite for nothing at all.
fn ln(amount: f64) -> f64 {
    amount.max(f64::MIN_POSITIVE).ln()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests {
    use super::super::close;
    use super::*;

    /// Acid, alcohol, ester, water.
    const ESTER: [f64; 4] = [-1.0, -1.0, 1.0, 1.0];

    /// OpenStax Chemistry 2e: acetic acid and ethanol in dioxane, K = 4.
    #[test]
    fn two_thirds_of_an_equimolar_charge() {
        let x = extent(&[1.0, 1.0, 0.0, 0.0], &ESTER, 4.0, 0.0).unwrap();
        close("ester, mol", x, 2.0 / 3.0, 1e-12);
        let k = (1.0 - 1.0 / 3.0_f64).powi(2) / (1.0 / 3.0_f64).powi(2);
        close("K from a third of each left", k, 4.0, 0.01);
    }

    /// OpenStax Chemistry 2e: with much ester and water to begin with, the net reaction is hydrolysis.
    #[test]
    fn net_hydrolysis() {
        let x = extent(&[0.15, 0.15, 0.40, 0.40], &ESTER, 4.0, 0.0).unwrap();
        close("extent", x, -0.0333, 5e-5);
        close("acid", 0.15 - x, 0.18, 0.005);
        close("ester", 0.40 + x, 0.37, 0.005);
    }

    /// Exercises published at chim.lu (Luxembourg).
    #[test]
    fn exercises_of_chim_lu() {
        let k = 0.26_f64.powi(2) / (0.07 * 0.32);
        close("K", k, 3.02, 0.05);
        let x = extent(&[0.33, 0.58, 0.0, 0.0], &ESTER, k, 0.0).unwrap();
        close("ester, mol", x, 0.26, 1e-9);
        let dried = extent_with_held(&[1.0, 3.0, 0.0, 0.0], &ESTER, 3.00, 0.0, 3, 0.2).unwrap();
        close("water held at 0.2 mol", dried, 0.968, 0.001);
    }

    /// A question at askanewquestion.com: the answer printed there, 5.39, leaves out the water.
    #[test]
    fn constant_from_a_published_amount() {
        let k = 0.86_f64.powi(2) / (0.14 * 1.14);
        close("K", k, 4.63, 0.02);
        let x = extent(&[2.0, 1.0, 0.0, 0.0], &ESTER, k, 0.0).unwrap();
        close("ester, mol", x, 0.86, 1e-9);
    }

    /// Lehman's text for isopentyl acetate ("at most 67 %"); the others by the quadratic formula.
    #[test]
    fn conversions() {
        for (k, acid, alcohol, percent, tolerance) in [
            (4.2, 1.0, 1.0, 67.2, 0.3),
            (4.0, 1.0, 2.0, 84.5, 0.1),
            (4.0, 1.0, 3.0, 90.3, 0.1),
            (4.0, 1.0, 5.0, 94.5, 0.1),
            (4.0, 1.0, 10.0, 97.4, 0.1),
            (4.2, 4.0, 1.0, 93.3, 0.1),
            (4.2, 2.0, 1.0, 85.0, 0.1),
        ] {
            let x = extent(&[acid, alcohol, 0.0, 0.0], &ESTER, k, 0.0).unwrap();
            close("conversion, %", 100.0 * x, percent, tolerance);
        }
        let x = extent_with_removal(&[1.0, 1.0, 0.0, 0.0], &ESTER, 4.0, 0.0, 3, 0.01).unwrap();
        close("99 % of the water removed", 100.0 * x, 95.2, 0.1);
    }

    #[test]
    fn removal_has_the_right_ends() {
        let n0 = [1.0, 2.0, 0.1, 0.3];
        let plain = extent(&n0, &ESTER, 4.0, 0.5).unwrap();
        let kept = extent_with_removal(&n0, &ESTER, 4.0, 0.5, 3, 1.0).unwrap();
        close("all kept", kept, plain, 1e-14);
        let none = extent_with_removal(&n0, &ESTER, 4.0, 0.5, 3, 0.0).unwrap();
        close("none kept", none, 1.0, 1e-12);
        let dry = extent_with_held(&n0, &ESTER, 4.0, 0.5, 3, 0.0).unwrap();
        close("held at nothing", dry, 1.0, 1e-12);
    }

    #[test]
    fn the_quotient_at_the_answer_is_the_constant() {
        for k in [1e-30, 1e-6, 0.3, 4.0, 1e9, 1e30] {
            for inert in [0.0, 5.0] {
                for (n0, nu) in [
                    (vec![1.0, 0.0, 0.0], vec![-1.0, 1.0, 1.0]),
                    (vec![1.0, 3.0, 0.2], vec![-1.0, -3.0, 2.0]),
                    (vec![0.5, 0.7, 0.1, 2.0, 1.0], vec![-1.0, -1.0, 1.0, 1.0, 0.0]),
                ] {
                    let x = extent(&n0, &nu, k, inert).unwrap();
                    let left: Vec<f64> = n0.iter().zip(&nu).map(|(n, nu)| n + nu * x).collect();
                    assert!(left.iter().all(|n| *n >= -1e-15), "k {k}: {left:?}");
                    // Amounts recomputed by subtraction carry no figures near an end.
                    if left.iter().all(|n| *n > 1e-5) {
                        let total: f64 = left.iter().sum::<f64>() + inert;
                        let log: f64 = left.iter().zip(&nu).map(|(n, nu)| nu * (n / total).ln()).sum();
                        close("ln K", log, k.ln(), 1e-9);
                    }
                }
            }
        }
    }

    #[test]
    fn nothing_there_nothing_happens() {
        assert_eq!(extent(&[0.0, 1.0, 0.0, 1.0], &ESTER, 4.0, 0.0), Ok(0.0));
        assert_eq!(extent(&[0.0; 4], &ESTER, 4.0, 0.0), Ok(0.0));
    }

    #[test]
    fn bad_questions_are_refused() {
        let n0 = [1.0, 1.0, 0.0, 0.0];
        let bad = |answer: Result<f64, SolveError>| {
            assert!(matches!(answer, Err(SolveError::BadInput { .. })), "{answer:?}");
        };
        bad(extent(&n0[..3], &ESTER, 4.0, 0.0));
        bad(extent(&n0, &ESTER, 0.0, 0.0));
        bad(extent(&n0, &ESTER, f64::NAN, 0.0));
        bad(extent(&n0, &ESTER, 4.0, -1.0));
        bad(extent(&[-1.0, 1.0, 0.0, 0.0], &ESTER, 4.0, 0.0));
        bad(extent(&[1.0], &[-1.0], 4.0, 0.0));
        bad(extent(&[], &[], 4.0, 0.0));
        bad(extent_with_removal(&n0, &ESTER, 4.0, 0.0, 4, 0.5));
        bad(extent_with_removal(&n0, &ESTER, 4.0, 0.0, 3, 1.5));
        bad(extent_with_held(&n0, &ESTER, 4.0, 0.0, 3, f64::NAN));
        bad(extent_with_held(&[1.0, 0.0], &[-1.0, 1.0], 4.0, 0.0, 1, 0.1));
    }
}
