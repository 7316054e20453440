//! A column on a still: from the liquid that boils to what comes over at the head.

use super::{Boiling, Vapour, fractions};
use crate::chemistry::phase::PhaseError;

/// Rounds granted to the equilibria on the plates of a column with a stated reflux, and to the balances of each.
const ROUNDS: usize = 100;
const BALANCES: usize = 1000;

/// The plates have settled when no mole fraction moves by more than this share of itself and a millionth.
const SETTLED: f64 = 1e-6;

/// More plates than this are not worked out.
const MOST: f64 = 100.0;

/// A column. The boiling pot counts as a plate of its own and is not among these.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Column {
    /// Theoretical plates; what is over a whole number is part of a plate.
    pub plates: f64,
    /// Drops that run back to one that is taken; `None`: as if nothing were taken (total reflux).
    pub reflux: Option<f64>,
}

impl Column {
    /// The powers to which each plate, from the lowest, raises what an equilibrium does.
    fn parts(self) -> Result<Vec<f64>, PhaseError> {
        if !(0.0..=MOST).contains(&self.plates) || self.reflux.is_some_and(|reflux| reflux.is_nan() || reflux < 0.0) {
            return Err(PhaseError::BadInput { what: "A column has from 0 to 100 plates and a reflux of at least nothing." });
        }
        let whole = self.plates.floor();
        let part = self.plates - whole;
        let mut parts = vec![1.0; whole as usize];
        if part > 1e-9 {
            parts.push(part);
        }
        Ok(parts)
    }

    /// Temperature of the pot and what comes over at the head of a still that holds `x`; `seen` are the liquids on
    /// the plates as they were last, from which the search begins, and become those of now.
    pub(super) fn over(self, boil: Boiling<'_>, x: &[f64], seen: &mut Vec<Vec<f64>>) -> Result<Vapour, PhaseError> {
        let (t, y) = boil(x)?;
        let parts = self.parts()?;
        match self.reflux.filter(|reflux| reflux.is_finite()) {
            _ if parts.is_empty() => Ok((t, y)),
            // Without reflux the vapour meets no liquid.
            Some(reflux) if reflux < 1e-9 => Ok((t, y)),
            None => Ok((t, climb(boil, y, &parts)?)),
            Some(reflux) => Ok((t, settle(boil, &y, &parts, reflux, seen)?)),
        }
    }
}

/// What an equilibrium does to each mole fraction, a part of it where a plate is only part of one.
fn plate(boil: Boiling<'_>, x: &[f64], part: f64) -> Result<Vec<f64>, PhaseError> {
    let (_, y) = boil(x)?;
    let raised = x.iter().zip(&y).map(|(x, y)| match (*x > 0.0, part < 1.0) {
        (false, _) => 0.0,
        (_, false) => y / x,
        (_, true) => (y / x).powf(part),
    });
    let raised: Vec<f64> = raised.collect();
    // A part of an equilibrium must sum to one again.
    let sum: f64 = raised.iter().zip(x).map(|(k, x)| k * x).sum();
    Ok(raised.into_iter().map(|k| k / sum.max(1e-300)).collect())
}

/// Total reflux: the liquid on each plate has the make-up of the vapour from below.
fn climb(boil: Boiling<'_>, mut y: Vec<f64>, parts: &[f64]) -> Result<Vec<f64>, PhaseError> {
    for part in parts {
        let k = plate(boil, &y, *part)?;
        y.iter_mut().zip(k).for_each(|(y, k)| *y *= k);
    }
    Ok(y)
}

/// A stated reflux, molar flows alike on all plates. The equilibria give volatilities, with these the plates are
/// balanced, and that gives equilibria again, until nothing moves.
fn settle(boil: Boiling<'_>, y0: &[f64], parts: &[f64], reflux: f64, seen: &mut Vec<Vec<f64>>) -> Result<Vec<f64>, PhaseError> {
    const UNSETTLED: PhaseError = PhaseError::NoConvergence { what: "the plates of a column" };
    let back = reflux / (reflux + 1.0);
    let fits = seen.len() == parts.len() && seen.iter().all(|x| x.iter().zip(y0).all(|(x, y)| (*x > 0.0) == (*y > 0.0)));
    if !fits {
        *seen = vec![y0.to_vec(); parts.len()];
    }
    let (mut last, mut weight) = (f64::INFINITY, 1.0);
    for _ in 0..ROUNDS {
        let volatilities: Vec<Vec<f64>> = seen.iter().zip(parts).map(|(x, part)| plate(boil, x, *part)).collect::<Result<_, _>>()?;
        let mut plates = seen.clone();
        for _ in 0..BALANCES {
            let next = balanced(&plates, &volatilities, y0, back);
            let moved = draw_near(&mut plates, next, 1.0).ok_or(UNSETTLED)?;
            if moved < 0.1 * SETTLED {
                break;
            }
        }
        let top = plates.last().zip(volatilities.last());
        let y = top.and_then(|(x, k)| fractions(&x.iter().zip(k).map(|(x, k)| x * k).collect::<Vec<f64>>()));
        let moved = draw_near(seen, plates, weight).ok_or(UNSETTLED)?;
        if moved < SETTLED {
            return y.ok_or(UNSETTLED);
        }
        // What swings is damped.
        weight = if moved > last { 0.7_f64 * weight } else { 1.1 * weight }.clamp(0.1, 1.0);
        last = moved;
    }
    Err(UNSETTLED)
}

/// Moves `plates` to `new`, as far as `weight` says; by how much that is, against each mole fraction and a millionth.
fn draw_near(plates: &mut [Vec<f64>], new: Vec<Vec<f64>>, weight: f64) -> Option<f64> {
    let mut moved: f64 = 0.0;
    for (x, new) in plates.iter_mut().zip(new) {
        for (x, new) in x.iter_mut().zip(fractions(&new)?) {
            moved = moved.max((new - *x).abs() / (new + 1e-6));
            *x = if weight < 1.0 { x.powf(1.0 - weight) * new.powf(weight) } else { new };
        }
    }
    moved.is_finite().then_some(moved)
}

/// Amounts of each substance in the liquid on each plate, from the lowest, for one mole of vapour that enters and
/// `back` of liquid that runs down. On each plate what comes from above and from below leaves again,
/// `back x(above) + K(below) x(below) = (back + K) x`; the highest gets what its own vapour gives, condensed.
fn balanced(plates: &[Vec<f64>], volatilities: &[Vec<f64>], y0: &[f64], back: f64) -> Vec<Vec<f64>> {
    // Each plate is as warm as what is on it boils: what it gives off must sum to one.
    let warm = plates.iter().zip(volatilities).map(|(x, volatilities)| {
        let sum: f64 = x.iter().zip(volatilities).map(|(x, k)| x * k).sum::<f64>() / x.iter().sum::<f64>();
        volatilities.iter().map(|k| k / sum).collect()
    });
    let k: Vec<Vec<f64>> = warm.collect();
    // From the highest down: the liquid on each plate over the vapour that enters it.
    let mut shares: Vec<Vec<f64>> = Vec::new();
    for here in k.iter().rev() {
        let share: Vec<f64> = match shares.last() {
            // The liquid above is its share of the vapour from here.
            Some(above) => here.iter().zip(above).map(|(own, above)| 1.0 / (back + own - back * above * own).max(1e-300)).collect(),
            None => here.iter().map(|own| 1.0 / (back + own - back * own).max(1e-300)).collect(),
        };
        shares.push(share);
    }
    let mut entering = y0.to_vec();
    let mut liquids = Vec::new();
    for (share, own) in shares.iter().rev().zip(&k) {
        let liquid: Vec<f64> = share.iter().zip(&entering).map(|(share, vapour)| share * vapour).collect();
        entering = liquid.iter().zip(own).map(|(x, k)| x * k).collect();
        liquids.push(liquid);
    }
    liquids
}
