//! The plates of a column that is steady at a stated reflux.
//!
//! On each plate what comes from above and from below leaves again:
//! `back x(above) + y(below) = back x + y`, for one mole of vapour and `back` of liquid, with `y` in equilibrium with
//! `x`; the highest plate gets its own vapour, condensed. All plates are solved for together by Newton's method in the
//! logarithms of the mole fractions, with slopes of the equilibria by differences, which are kept as long as they serve
//! (Naphtali and Sandholm 1971 solved columns so). Where that does not settle, the column is followed in time from
//! wherever it is, each plate holding a little liquid, in steps that grow as it comes to rest: where the equations
//! have an answer that a column would come to, this finds it.

use std::rc::Rc;

use super::banded::Banded;
use super::{Boiling, fractions};
use crate::chemistry::phase::PhaseError;

/// Steps granted with slopes that are kept, and to a column that is followed in time.
const QUICK: usize = 12;
const PATIENT: usize = 250;

/// The plates have settled when no mole fraction moves by more than this share of itself and a billionth.
const SETTLED: f64 = 1e-6;

/// The same where a step leads no nearer.
const NOISE: f64 = 1e-4;

/// The plates rest when all that they gain, in moles for each of vapour, is less than this.
const RESTS: f64 = 1e-9;

/// By how much a mole fraction may move in one step.
const FAR: f64 = 0.3;

/// A step by which slopes are found, in mole fractions: far above the noise of an equilibrium.
const SLOPE: f64 = 1e-5;

/// What is less than this in the vapour that enters is not followed on the plates.
const ABSENT: f64 = 1e-100;

/// The plates as they were last: the search begins from these.
#[derive(Clone, Debug, Default)]
pub(super) struct Seen {
    /// Mole fractions in the liquid on each plate, from the lowest.
    x: Vec<Vec<f64>>,
    /// Mole fractions in the vapour that each gives off.
    y: Vec<Vec<f64>>,
    slopes: Option<Rc<Slopes>>,
}

impl Seen {
    /// What leaves the highest plate.
    pub(super) fn over(&self) -> Option<&Vec<f64>> {
        self.y.last()
    }
}

/// How the balances of the plates change with what is on them, taken apart.
#[derive(Debug)]
struct Slopes {
    matrix: Banded,
    /// The mole fractions against which rows and columns are counted.
    scale: Vec<f64>,
}

/// A column into which a vapour rises.
pub(super) struct Plates<'a> {
    pub(super) boil: Boiling<'a>,
    /// The power to which each plate, from the lowest, raises what an equilibrium does.
    pub(super) parts: &'a [f64],
    /// The vapour that enters.
    pub(super) y0: &'a [f64],
    /// Liquid that runs down for each mole of vapour.
    pub(super) back: f64,
}

/// What an equilibrium does to each mole fraction, a part of it where a plate is only part of one.
pub(super) fn plate(boil: Boiling<'_>, x: &[f64], part: f64) -> Result<Vec<f64>, PhaseError> {
    let (_, y) = boil(x)?;
    let raised = x.iter().zip(&y).map(|(x, y)| match (*x > 0.0, part < 1.0) {
        (false, _) => 0.0,
        (_, false) => y / x,
        (_, true) => (y / x).powf(part),
    });
    let raised: Vec<f64> = raised.collect();
    // A part of an equilibrium must sum to one again.
    let sum: f64 = raised.iter().zip(x).map(|(k, x)| k * x).sum();
    if !(sum > 0.0 && sum.is_finite()) {
        return Err(PhaseError::NoConvergence { what: "what comes over" });
    }
    Ok(raised.into_iter().map(|k| k / sum).collect())
}

impl Plates<'_> {
    /// The steady state, sought from what was seen last and, if there is none near it, from total reflux and from
    /// plates that all hold what enters.
    ///
    /// # Errors
    ///
    /// `NoConvergence` if none is found, or what the boiling says.
    pub(super) fn settle(&self, seen: &Seen) -> Result<Seen, PhaseError> {
        let entering: Vec<f64> = self.y0.iter().map(|y| if *y > ABSENT { *y } else { 0.0 }).collect();
        let fits = seen.x.len() == self.parts.len()
            && seen.x.iter().all(|x| x.len() == entering.len() && x.iter().zip(&entering).all(|(x, y)| (*x > 0.0) == (*y > 0.0)));
        if fits && let Some(settled) = self.quick(seen.clone()).or_else(|| self.patient(seen.x.clone(), 0.05)) {
            return Ok(settled);
        }
        let flat = vec![entering.clone(); self.parts.len()];
        let total = self.total_reflux(&entering);
        let starts = total.into_iter().chain([flat]);
        let mut found = starts.filter_map(|start| self.patient(start, 0.5));
        found.next().ok_or(PhaseError::NoConvergence { what: "the plates of a column" })
    }

    /// The liquids on the plates at total reflux.
    fn total_reflux(&self, entering: &[f64]) -> Option<Vec<Vec<f64>>> {
        let mut x = entering.to_vec();
        let mut out = Vec::new();
        for part in self.parts {
            out.push(x.clone());
            let k = plate(self.boil, &x, *part).ok()?;
            // Nothing that is there may vanish.
            x.iter_mut().zip(k).for_each(|(x, k)| *x = if *x > 0.0 { (*x * k).max(ABSENT) } else { 0.0 });
        }
        Some(out)
    }

    fn vapours(&self, x: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
        let vapour = |(x, part): (&Vec<f64>, &f64)| {
            let k = plate(self.boil, x, *part).ok()?;
            let y: Vec<f64> = x.iter().zip(&k).map(|(x, k)| x * k).collect();
            y.iter().all(|y| y.is_finite()).then_some(y)
        };
        x.iter().zip(self.parts).map(vapour).collect()
    }

    /// What more of each comes to each plate than leaves it.
    fn gains(&self, x: &[Vec<f64>], y: &[Vec<f64>]) -> Vec<f64> {
        let below = std::iter::once(self.y0).chain(y.iter().map(Vec::as_slice));
        // What runs down on the highest is its own vapour.
        let above = x.iter().skip(1).chain(y.last());
        let plates = x.iter().zip(y).zip(below.zip(above));
        plates
            .flat_map(|((x, y), (below, above))| {
                let sides = x.iter().zip(y).zip(below.iter().zip(above));
                sides.map(|((x, y), (below, above))| if *x > 0.0 { self.back * (above - x) + below - y } else { 0.0 })
            })
            .collect()
    }

    /// How the gains change with the mole fractions, less `held` on the diagonal, which is what a plate holds over the
    /// length of a step in time.
    fn slopes(&self, x: &[Vec<f64>], bends: &[Vec<f64>], held: f64) -> Option<Slopes> {
        let n = self.y0.len();
        let scale: Vec<f64> = x.iter().flatten().map(|x| if *x > 0.0 { *x } else { 1.0 }).collect();
        let mut matrix = Banded::zeros(scale.len(), (2 * n).saturating_sub(1));
        let there: Vec<bool> = x.iter().flatten().map(|x| *x > 0.0).collect();
        let mut add = |row: usize, column: usize, value: f64| {
            if let (Some(own), Some(other)) = (scale.get(row), scale.get(column)) {
                matrix.add(row, column, value * other / own);
            }
        };
        let last = x.len().saturating_sub(1);
        for (place, bend) in bends.iter().enumerate() {
            for (row, slopes) in bend.chunks_exact(n.max(1)).enumerate() {
                let own = place * n + row;
                if !there.get(own).copied().unwrap_or(false) {
                    // What is not there stays away.
                    add(own, own, -1.0);
                    continue;
                }
                add(own, own, -self.back - held);
                for (column, slope) in slopes.iter().enumerate() {
                    // What leaves the highest comes back in part.
                    let leaves = if place == last { 1.0 - self.back } else { 1.0 };
                    add(own, place * n + column, -leaves * slope);
                    if place < last {
                        add(own + n, place * n + column, *slope);
                    }
                }
                if place < last {
                    add(own, own + n, self.back);
                }
            }
        }
        Some(Slopes { matrix: matrix.apart()?, scale })
    }

    /// How the vapour of each plate changes with each mole fraction in its liquid, row by row.
    fn bends(&self, x: &[Vec<f64>], y: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
        let bend = |((x, y), part): ((&Vec<f64>, &Vec<f64>), &f64)| {
            let n = x.len();
            let k: Vec<f64> = x.iter().zip(y).map(|(x, y)| if *x > 0.0 { y / x } else { 0.0 }).collect();
            let mut out = vec![0.0; n * n];
            for (column, _) in x.iter().enumerate().filter(|(_, x)| **x > 0.0) {
                let mut moved = x.clone();
                if let Some(moved) = moved.get_mut(column) {
                    *moved += SLOPE;
                }
                let other = plate(self.boil, &moved, *part).ok()?;
                for (row, ((x, k), other)) in x.iter().zip(&k).zip(&other).enumerate() {
                    // What more of it in the vapour is only because there is more of it in all counts in `k`.
                    let sum: f64 = moved.iter().sum();
                    if let Some(slope) = out.get_mut(row * n + column) {
                        *slope = x * (other * sum - k) / SLOPE + if row == column { *k } else { 0.0 };
                    }
                }
            }
            Some(out)
        };
        x.iter().zip(y).zip(self.parts).map(bend).collect()
    }

    /// By how much each mole fraction is to move.
    fn moves(&self, slopes: &Slopes, gains: &[f64]) -> Option<Vec<f64>> {
        let mut b: Vec<f64> = gains.iter().zip(&slopes.scale).map(|(gain, scale)| -gain / scale).collect();
        slopes.matrix.solve(&mut b)?;
        Some(b.into_iter().zip(&slopes.scale).map(|(by, scale)| by * scale).collect())
    }

    /// From near the answer, with slopes that are kept.
    fn quick(&self, seen: Seen) -> Option<Seen> {
        let Seen { mut x, mut y, mut slopes } = seen;
        let mut last = f64::INFINITY;
        for _ in 0..QUICK {
            let (kept, fresh) = match slopes.take() {
                Some(slopes) => (slopes, false),
                None => (Rc::new(self.slopes(&x, &self.bends(&x, &y)?, 0.0)?), true),
            };
            let by = self.moves(&kept, &self.gains(&x, &y))?;
            let moved = shift(&x, &by);
            if moved > 0.4 * last || farthest(&by) > FAR {
                if fresh {
                    return None;
                }
                last = f64::INFINITY;
                continue;
            }
            x = moved_by(&x, &by)?;
            y = self.vapours(&x)?;
            slopes = Some(kept);
            // What is still to come shrinks from step to step by what it has shrunk by.
            let shrinks = if last.is_finite() { moved / last } else { 1.0 };
            if moved < SETTLED || moved * shrinks < 0.5 * SETTLED {
                return Some(Seen { x, y, slopes });
            }
            last = moved;
        }
        None
    }

    /// From anywhere, in time: each plate holds a mole, and `held` is one over the first step.
    fn patient(&self, mut x: Vec<Vec<f64>>, mut held: f64) -> Option<Seen> {
        let mut y = self.vapours(&x)?;
        let mut gains = self.gains(&x, &y);
        let mut bends = self.bends(&x, &y)?;
        // One over the longest step: at the edge to two liquids Newton's method alone would go to and fro.
        let mut least: f64 = 0.0;
        for _ in 0..PATIENT {
            let off = total(&gains);
            let tried = self.slopes(&x, &bends, held).and_then(|slopes| {
                let by = self.moves(&slopes, &gains)?;
                if farthest(&by) > FAR {
                    return None;
                }
                let new = moved_by(&x, &by)?;
                Some((shift(&x, &by), self.vapours(&new)?, new, slopes))
            });
            let Some((moved, vapours, new, slopes)) = tried else {
                held = 4.0 * held + 0.05;
                if held > 1e9 {
                    return None;
                }
                continue;
            };
            (x, y) = (new, vapours);
            gains = self.gains(&x, &y);
            let rests = total(&gains) / off.max(1e-300);
            if total(&gains) < RESTS || held == 0.0 && (moved < SETTLED || moved < NOISE && rests > 0.3) {
                let slopes = Some(Rc::new(slopes)).filter(|_| held == 0.0);
                return Some(Seen { x, y, slopes });
            }
            bends = self.bends(&x, &y)?;
            if held <= least && rests > 1.0 && moved > 1e-3 {
                least = (4.0 * least).max(0.02);
                held = least;
            } else {
                // A front that wanders along the column gains as much all the time: the steps grow all the same.
                held = (held * (0.6 * rests).clamp(0.1, 1.5)).max(least);
            }
            if held < 1e-3 {
                held = 0.0;
            }
        }
        None
    }
}

fn total(gains: &[f64]) -> f64 {
    gains.iter().map(|gain| gain.abs()).sum()
}

fn farthest(by: &[f64]) -> f64 {
    by.iter().fold(0.0, |most: f64, by| if by.is_finite() { most.max(by.abs()) } else { f64::INFINITY })
}

/// The largest move, against each mole fraction and a billionth.
fn shift(x: &[Vec<f64>], by: &[f64]) -> f64 {
    x.iter().flatten().zip(by).map(|(x, by)| by.abs() / (x + 1e-9)).fold(0.0, f64::max)
}

/// The plates after a step; nothing that is there goes below a fifth of itself at a time.
fn moved_by(x: &[Vec<f64>], by: &[f64]) -> Option<Vec<Vec<f64>>> {
    let mut by = by.iter();
    let plates = x.iter().map(|x| {
        let moved: Vec<f64> = x.iter().zip(&mut by).map(|(x, by)| if *x > 0.0 { (x + by).max(0.2 * x).max(ABSENT) } else { 0.0 }).collect();
        fractions(&moved)
    });
    plates.collect()
}
