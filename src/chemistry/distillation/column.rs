//! A column on a still: from the liquid that boils to what comes over at the head.

use super::plates::{Plates, Seen, plate};
use super::{Boiling, Vapour};
use crate::chemistry::phase::PhaseError;

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

    /// Temperature of the pot and what comes over at the head of a still that holds `x`, with what is then on the
    /// plates; `seen` is what was on them last, from which the search begins.
    pub(super) fn over(self, boil: Boiling<'_>, x: &[f64], seen: &Seen) -> Result<(Vapour, Seen), PhaseError> {
        let (t, y) = boil(x)?;
        let parts = self.parts()?;
        match self.reflux.filter(|reflux| reflux.is_finite()) {
            _ if parts.is_empty() => Ok(((t, y), Seen::default())),
            // Without reflux the vapour meets no liquid.
            Some(reflux) if reflux < 1e-9 => Ok(((t, y), Seen::default())),
            None => Ok(((t, climb(boil, y, &parts)?), Seen::default())),
            Some(reflux) => {
                let plates = Plates { boil, parts: &parts, y0: &y, back: reflux / (reflux + 1.0) };
                let seen = plates.settle(seen)?;
                let over = seen.over().cloned().unwrap_or(y);
                Ok(((t, over), seen))
            }
        }
    }
}

/// Total reflux: the liquid on each plate has the make-up of the vapour from below.
fn climb(boil: Boiling<'_>, mut y: Vec<f64>, parts: &[f64]) -> Result<Vec<f64>, PhaseError> {
    for part in parts {
        let k = plate(boil, &y, *part)?;
        y.iter_mut().zip(k).for_each(|(y, k)| *y *= k);
    }
    Ok(y)
}
