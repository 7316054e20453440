//! Whether another liquid would form: the tangent plane distance of Michelsen (Fluid Phase Equilibria 9, 1982, 1).
//!
//! With `d` the logarithms of the activities that are there, a liquid `w` forms if
//! `Σ w (ln w + ln γ(w) − d)` is below zero for it.
#![allow(clippy::indexing_slicing, reason = "a numeric kernel: all slices are as long as there are components")]

use super::here::unit;
use super::linear::{bends_upward, least_eigenvalue, solve_downhill};
use crate::chemistry::activity::At;

/// Substitutions granted to one search, and Newton's steps after them.
const SUBSTITUTIONS: usize = 15;
const NEWTON: usize = 40;

/// A trial liquid and its distance.
pub(super) struct Trial {
    pub(super) distance: f64,
    pub(super) w: Vec<f64>,
}

/// The places to search from: each pure component, and the halves of each two.
fn corners(n: usize) -> impl Iterator<Item = Vec<f64>> {
    let alone = (0..n).map(move |i| (i, i));
    let halves = (0..if n > 2 { n } else { 0 }).flat_map(|i| (0..i).map(move |j| (i, j)));
    alone.chain(halves).map(move |(i, j)| {
        let mut start = vec![0.0; n];
        start[i] += 0.5;
        start[j] += 0.5;
        start
    })
}

/// Places more to search from: along the weakest curvature at `z` where the liquid is no liquid at all, since Gibbs
/// energy bends downward there.
fn curved(at: &mut At<'_>, z: &[f64]) -> Vec<Vec<f64>> {
    let n = z.len();
    let mut bend = vec![0.0; n * n];
    at.slopes(z, &mut bend);
    for i in 0..n {
        for j in 0..n {
            bend[i * n + j] *= (z[i] * z[j]).sqrt();
        }
        bend[i * n + i] += 1.0;
    }
    if bends_upward(&bend, n) {
        return Vec::new();
    }
    match least_eigenvalue(&bend, n) {
        Some((least, vector)) if least < 0.0 => {
            let scaled: Vec<f64> = vector.iter().zip(z).map(|(v, z)| v / z.sqrt()).collect();
            let largest = scaled.iter().fold(0.0_f64, |most, v| most.max(v.abs()));
            let beside = |by: f64| unit(&z.iter().zip(&scaled).map(|(z, v)| z * (by * v / largest).exp()).collect::<Vec<_>>());
            [0.5, -0.5, 0.05, -0.05].into_iter().filter_map(beside).collect()
        }
        _ => Vec::new(),
    }
}

/// A trial so far below is taken without looking for a better one.
const PLENTY: f64 = 1e-2;

/// A trial with a distance below `-enough` from the usual starts and `more`, followed down to its least; near a spinodal line the first found is
/// almost `z` itself, and a better one is looked for.
pub(super) fn forms(at: &mut At<'_>, z: &[f64], d: &[f64], enough: f64, more: &[Vec<f64>]) -> Option<Trial> {
    let mut best: Option<Trial> = None;
    // Whether the best is good enough to end with.
    let mut better = |at: &mut At<'_>, start: Vec<f64>| {
        let Some(found) = search(at, z, d, start, Some(enough)) else { return false };
        let further = search(at, &[], d, found.w.clone(), None).filter(|further| further.distance <= found.distance);
        let found = further.unwrap_or(found);
        let plenty = found.distance < -PLENTY;
        if plenty || best.as_ref().is_none_or(|best| found.distance < best.distance) {
            best = Some(found);
        }
        plenty
    };
    if !corners(z.len()).any(|start| better(at, start)) && !curved(at, z).into_iter().any(|start| better(at, start)) {
        more.iter().any(|start| better(at, start.clone()));
    }
    best
}

/// The least distance from any start, `z` among them.
pub(super) fn nearest(at: &mut At<'_>, z: &[f64], d: &[f64]) -> Option<Trial> {
    let curved = curved(at, z);
    let starts = corners(z.len()).chain(curved).chain([z.to_vec()]);
    let trials = starts.filter_map(|start| search(at, &[], d, start, None));
    trials.min_by(|a, b| a.distance.total_cmp(&b.distance))
}

/// The least distance near one trial liquid.
pub(super) fn followed(at: &mut At<'_>, d: &[f64], w: &[f64]) -> Option<Trial> {
    search(at, &[], d, w.to_vec(), None)
}

fn distance(w: &[f64], logs: &[f64], d: &[f64]) -> f64 {
    w.iter().zip(logs).zip(d).map(|((w, log), d)| if *w > 0.0 { w * (w.ln() + log - d) } else { 0.0 }).sum()
}

/// Two liquids are one but for rounding where the logarithm of no share of one against that of the other is as large as
/// this; in shares, so that traces count.
const ALIKE: f64 = 1e-4;

/// The same where a search does not move any more.
const UNMOVED: f64 = 1e-11;

/// Whether no logarithm of a share of `w` against that of `z` is as large as `by`, which is small.
fn alike(w: &[f64], z: &[f64], by: f64) -> bool {
    // ln(1 + d) is below `by` where d is below `by + by²/2`, and above `-by` where d is above `by²/2 - by`.
    let (low, high) = (1.0 - by + 0.5 * by * by, 1.0 + by + 0.5 * by * by);
    !z.is_empty() && w.iter().zip(z).all(|(w, z)| *w > low * z && *w < high * z && *z > 0.0)
}

/// From `start` downhill. With `enough`, the first trial below its negative, and nothing if there is none;
/// without, the place where the search ends.
fn search(at: &mut At<'_>, z: &[f64], d: &[f64], start: Vec<f64>, enough: Option<f64>) -> Option<Trial> {
    let n = d.len();
    let mut w = start;
    let mut logs = vec![0.0; n];
    let is_enough = |seen: f64| enough.is_some_and(|enough| seen < -enough);
    let end = |distance: f64, w: Vec<f64>| (enough.is_none() && distance.is_finite()).then_some(Trial { distance, w });
    let mut amounts = vec![0.0; n];
    // Logarithms of `w`, which are at hand but for the first time.
    let mut shares: Vec<f64> = w.iter().map(|w| if *w > 0.0 { w.ln() } else { 0.0 }).collect();
    for _ in 0..SUBSTITUTIONS {
        at.ln_gamma(&w, &mut logs);
        let seen = (0..n).map(|i| if w[i] > 0.0 { w[i] * (shares[i] + logs[i] - d[i]) } else { 0.0 }).sum();
        if is_enough(seen) {
            return Some(Trial { distance: seen, w });
        }
        for i in 0..n {
            shares[i] = (d[i] - logs[i]).clamp(-600.0, 600.0);
            amounts[i] = shares[i].exp();
        }
        let whole: f64 = amounts.iter().sum();
        if !(whole > 0.0 && whole.is_finite()) {
            return None;
        }
        let by = whole.ln();
        let mut moved = false;
        for i in 0..n {
            let next = amounts[i] / whole;
            moved |= !alike(&[next], &[w[i]], UNMOVED);
            w[i] = next;
            shares[i] -= by;
        }
        if alike(&w, z, ALIKE) {
            return None;
        }
        if !moved {
            at.ln_gamma(&w, &mut logs);
            return end(distance(&w, &logs, d), w);
        }
    }
    // Newton's steps in 2 √W, where W are amounts that need not sum to one.
    let mut slopes = vec![0.0; n * n];
    let mut value = f64::INFINITY;
    let mut step = vec![0.0; n];
    let mut before = amounts.clone();
    let mut length = 1.0;
    for _ in 0..NEWTON {
        let whole: f64 = amounts.iter().sum();
        w = unit(&amounts)?;
        at.ln_gamma(&w, &mut logs);
        let seen = distance(&w, &logs, d);
        if is_enough(seen) {
            return Some(Trial { distance: seen, w });
        }
        let rest: Vec<f64> = (0..n).map(|i| amounts[i].ln() + logs[i] - d[i]).collect();
        let here = 1.0 + (0..n).map(|i| amounts[i] * (rest[i] - 1.0)).sum::<f64>();
        if here > value + 1e-13 && length > 1e-3 {
            length *= 0.5;
            for i in 0..n {
                amounts[i] = stepped(before[i], length * step[i]);
            }
            continue;
        }
        if alike(&w, z, ALIKE) {
            return None;
        }
        let residual = (0..n).map(|i| amounts[i].sqrt() * rest[i].abs()).fold(0.0, f64::max);
        if residual < 1e-12 {
            return end(seen, w);
        }
        value = here;
        at.slopes(&w, &mut slopes);
        for i in 0..n {
            for j in 0..n {
                slopes[i * n + j] *= (amounts[i] * amounts[j]).sqrt() / whole;
            }
            slopes[i * n + i] += 1.0 + 0.5 * rest[i].max(-1.9);
            step[i] = -amounts[i].sqrt() * rest[i];
        }
        solve_downhill(&slopes, &mut step)?;
        length = 1.0;
        before.copy_from_slice(&amounts);
        for i in 0..n {
            amounts[i] = stepped(before[i], step[i]);
        }
    }
    end(distance(&w, &logs, d), w)
}

/// An amount after a step in twice its root, which stays above zero.
fn stepped(amount: f64, step: f64) -> f64 {
    let root = amount.sqrt();
    let moved = root + 0.5 * step;
    moved.max(0.2 * root).powi(2).max(1e-300)
}
