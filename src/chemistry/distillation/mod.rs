//! Distilling: what comes over while a still boils down, cut by the temperature at its head.
//!
//! What leaves is at every moment in equilibrium with what boils (Rayleigh 1902), after as many theoretical plates
//! as the column has; the little that the column holds is left out of account, so that the column is steady at
//! every moment. The thermometer at the head shows the temperature at which what comes over would boil, since it is
//! wet with it. Amounts are in mol, temperatures in K.

mod banded;
mod boiler;
mod column;
mod plates;
mod still;

pub use boiler::{Boiler, GRANTED};
pub use column::Column;
pub use still::{Cut, Distilled, Ended, Still, distil};

use super::phase::{PhaseError, System};

/// Temperature, and mole fractions of the vapour.
pub type Vapour = (f64, Vec<f64>);

/// What a liquid of these mole fractions boils at, and its vapour.
pub type Boiling<'a> = &'a dyn Fn(&[f64]) -> Result<Vapour, PhaseError>;

/// Amounts made to sum to one; `None` if they sum to nothing.
fn fractions(amounts: &[f64]) -> Option<Vec<f64>> {
    let whole: f64 = amounts.iter().sum();
    (whole > 0.0 && whole.is_finite()).then(|| amounts.iter().map(|amount| amount / whole).collect())
}

/// Two substances that boil together without parting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Together {
    /// Temperature, K.
    pub t: f64,
    /// Mole fraction of the first.
    pub x: f64,
    /// Whether they boil below either of them.
    pub lowest: bool,
}

/// Where the components `i` and `j` boil together at `p`, if they do: where neither is enriched in the vapour.
///
/// Looked for between a millionth of either; of several the one found by halving is told.
pub fn together(system: &System, i: usize, j: usize, p: f64) -> Option<Together> {
    let pair = system.subset(&[i, j]);
    // Logarithm of the volatility of the first against the second.
    let at = |x: f64| -> Option<(f64, f64)> {
        let boil = pair.boil(&[x, 1.0 - x], p).ok()?;
        let [y, other] = boil.y.as_slice() else { return None };
        Some((boil.t, (y / x).ln() - (other / (1.0 - x)).ln()))
    };
    let (mut low, mut high) = (1e-6, 1.0 - 1e-6);
    let (first, last) = (at(low)?.1, at(high)?.1);
    if (first > 0.0) == (last > 0.0) {
        return None;
    }
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if at(middle)?.1 * first > 0.0 { low = middle } else { high = middle }
    }
    let x = 0.5 * (low + high);
    Some(Together { t: at(x)?.0, x, lowest: first > 0.0 })
}
