//! How amounts part over phases at one temperature and pressure: the least Gibbs energy.
//!
//! Phases are added one by one where a trial says that another would form, and what follows is Newton's
//! method downhill in the amounts, so that a phase like another cannot be the answer.
#![allow(clippy::indexing_slicing, reason = "a numeric kernel: all slices are as long as there are components")]

use super::PhaseError;
use super::here::{Here, UNSEEN, unit};
use super::linear::solve_downhill;
use super::trial::forms;

/// More than this many phases are not worked out.
const MOST: usize = 4;

/// Steps granted to one search.
const STEPS: usize = 100;

/// A trial no further below than this may be left out where its phase does not settle.
const NO_MATTER: f64 = 1e-8;

/// A phase with less than this share that has not settled in all the steps granted is vanishing: near the end of a phase
/// the energy hardly falls with what is left of it.
const VANISHING: f64 = 1e-6;

/// Phases of one kind whose fractions differ by less than this share of each are one.
const ONE: f64 = 1e-7;

/// By less than this, twice over, no step is seen to lower the Gibbs energy.
const UNTOLD: f64 = 1e-13;

/// A phase with less than this share is taken out; if it belongs there, a trial finds it again.
const LITTLE: f64 = 1e-9;

/// Logarithms of activities agree to this, or better, in every answer.
const AGREE: f64 = 1e-8;

/// A trial counts when it is this far below: nearer, the phases are one but for rounding.
const BELOW: f64 = 1e-12;

/// The same where phases have been found already, each only to rounding on the plane of the others.
const FURTHER_BELOW: f64 = 1e-9;

/// One phase: amounts of each component and the logarithms of what activity is over mole fraction.
#[derive(Clone, Debug)]
pub(super) struct Phase {
    pub(super) vapour: bool,
    pub(super) amounts: Vec<f64>,
    pub(super) logs: Vec<f64>,
}

impl Phase {
    fn new(vapour: bool, amounts: Vec<f64>) -> Phase {
        let logs = vec![0.0; amounts.len()];
        Phase { vapour, amounts, logs }
    }

    pub(super) fn whole(&self) -> f64 {
        self.amounts.iter().sum()
    }

    pub(super) fn fractions(&self) -> Vec<f64> {
        unit(&self.amounts).unwrap_or_else(|| self.amounts.clone())
    }

    /// Logarithms of the activities.
    pub(super) fn activities(&self) -> Vec<f64> {
        let whole = self.whole();
        self.amounts.iter().zip(&self.logs).map(|(amount, log)| (amount / whole).ln() + log).collect()
    }

    fn weigh(&mut self, here: &mut Here<'_>, p: f64) {
        let x = self.fractions();
        if self.vapour { here.vapour_logs(&x, p, &mut self.logs) } else { here.at.ln_gamma(&x, &mut self.logs) }
    }
}

/// Gibbs energy over RT of all phases together.
fn gibbs(phases: &[Phase]) -> f64 {
    phases
        .iter()
        .map(|phase| {
            let whole = phase.whole();
            let parts = phase.amounts.iter().zip(&phase.logs);
            parts.map(|(amount, log)| if *amount > 0.0 { amount * ((amount / whole).ln() + log) } else { 0.0 }).sum::<f64>()
        })
        .sum()
}

/// Phases of an equilibrium nearby made those of `z` at the temperature of `here`, without a look for others;
/// `None` where they have become one or lie no lower than one.
pub(super) fn follow(here: &mut Here<'_>, z: &[f64], p: Option<f64>, known: &[Phase]) -> Option<Vec<Phase>> {
    if known.len() < 2 {
        return None;
    }
    let pressure = p.unwrap_or(1.0);
    let mut single = Phase::new(false, z.to_vec());
    single.weigh(here, pressure);
    let mut phases = known.to_vec();
    fit_to(&mut phases, z);
    phases.iter_mut().for_each(|phase| phase.weigh(here, pressure));
    let lower = gibbs(&phases) < gibbs(&[single]) - BELOW;
    (lower && minimise(here, &mut phases, z, pressure).is_ok() && phases.len() == known.len()).then_some(phases)
}

/// The phases that `z` parts into at the temperature of `here`; liquids only if `p` is `None`.
///
/// All of `z` are above zero and sum to one. `known` are phases of an equilibrium nearby.
pub(super) fn part(here: &mut Here<'_>, z: &[f64], p: Option<f64>, known: &[Phase]) -> Result<Vec<Phase>, PhaseError> {
    let pressure = p.unwrap_or(1.0);
    let mut phases = follow(here, z, p, known).unwrap_or_else(|| {
        let mut single = Phase::new(false, z.to_vec());
        single.weigh(here, pressure);
        vec![single]
    });
    for _ in 0..2 * MOST {
        let enough = if phases.len() == 1 { BELOW } else { FURTHER_BELOW };
        let Some((new, distance)) = another(here, z, &phases, p, enough) else { return Ok(phases) };
        if phases.len() == MOST {
            return Err(PhaseError::TooManyPhases);
        }
        let (count, energy) = (phases.len(), gibbs(&phases));
        let before = phases.clone();
        let settled = add(here, &mut phases, new, z, pressure).and_then(|()| minimise(here, &mut phases, z, pressure));
        if let Err(error) = settled {
            // So close to a plait point a phase more or less makes no difference.
            return if distance > -NO_MATTER { Ok(before) } else { Err(error) };
        }
        if phases.len() == count && gibbs(&phases) > energy - BELOW {
            // What would form is less than is told apart.
            return Ok(phases);
        }
    }
    Err(PhaseError::NoConvergence { what: "the phases" })
}

/// A phase that would form beside those there are, and how far below their plane it lies.
fn another(here: &mut Here<'_>, z: &[f64], phases: &[Phase], p: Option<f64>, enough: f64) -> Option<(Phase, f64)> {
    let most = phases.iter().max_by(|a, b| a.whole().total_cmp(&b.whole()))?;
    let d = most.activities();
    if let Some(p) = p
        && !phases.iter().any(|phase| phase.vapour)
    {
        let x = most.fractions();
        let pressure = here.pressure_over(&x, &most.logs);
        if pressure > p * (1.0 + enough) {
            let vapour = here.vapour_over(&x, &most.logs).into_iter().map(|y| y.max(UNSEEN)).collect();
            return Some((Phase::new(true, vapour), -(pressure / p).ln()));
        }
    }
    // Two liquids of two components leave no freedom for a third.
    let liquids = phases.iter().filter(|phase| !phase.vapour).count();
    if z.len() == liquids {
        return None;
    }
    let beside = if most.vapour { z.to_vec() } else { most.fractions() };
    // A third phase may lie between two, or where all together do.
    let mut more = Vec::new();
    if phases.len() > 1 {
        more.push(z.to_vec());
        for (k, first) in phases.iter().enumerate() {
            for second in phases.iter().skip(k + 1) {
                more.push(first.fractions().iter().zip(second.fractions()).map(|(a, b)| 0.5 * (a + b)).collect());
            }
        }
    }
    forms(&mut here.at, &beside, &d, enough, &more).map(|trial| (Phase::new(false, trial.w), trial.distance))
}

/// Two phases, each of its own make-up, made as much of each as there is in `z`; others are left as they are.
pub(super) fn share_out(phases: &mut [Phase], z: &[f64]) {
    let [first, second] = phases else { return };
    let k: Vec<f64> = first.fractions().iter().zip(second.fractions()).map(|(a, b)| b / a).collect();
    let Some(share) = rachford_rice(z, &k) else { return };
    for (i, (z, k)) in z.iter().zip(&k).enumerate() {
        let own = z / (1.0 + share * (k - 1.0));
        (first.amounts[i], second.amounts[i]) = ((1.0 - share) * own, share * k * own);
    }
}

/// Amounts of all phases together made what there is, in proportion.
fn fit_to(phases: &mut [Phase], z: &[f64]) {
    for (i, z) in z.iter().enumerate() {
        let sum: f64 = phases.iter().map(|phase| phase.amounts[i]).sum();
        let count = phases.len() as f64;
        for phase in phases.iter_mut() {
            phase.amounts[i] = if sum > 0.0 { phase.amounts[i] * z / sum } else { z / count };
        }
    }
}

/// Adds a little of a new phase, as much as lowers the Gibbs energy; beside one phase alone, as much as
/// a few exchanges by distribution make of it.
fn add(here: &mut Here<'_>, phases: &mut Vec<Phase>, mut new: Phase, z: &[f64], p: f64) -> Result<(), PhaseError> {
    let start = gibbs(phases);
    if let [old] = phases.as_mut_slice()
        && let Some(two) = distribute(here, old, &new, z, p)
        && gibbs(&two) < start
    {
        *phases = two.into();
        return Ok(());
    }
    let likeness = new.amounts.clone();
    let mut share = 0.5;
    for _ in 0..60 {
        let mut tried = phases.clone();
        // What the new phase takes comes from the others as they hold it.
        new.amounts = likeness.iter().zip(z).map(|(w, z)| (share * w).min(0.5 * z)).collect();
        for (i, z) in z.iter().enumerate() {
            for phase in &mut tried {
                phase.amounts[i] *= 1.0 - new.amounts[i] / z;
            }
        }
        tried.push(new.clone());
        tried.iter_mut().for_each(|phase| phase.weigh(here, p));
        if gibbs(&tried) < start {
            *phases = tried;
            return Ok(());
        }
        share *= 0.5;
    }
    // Below what rounding resolves: the phase is taken as it stands, and what follows decides.
    Err(PhaseError::NoConvergence { what: "another phase" })
}

/// Two phases by successive substitution (Rachford and Rice).
fn distribute(here: &mut Here<'_>, old: &Phase, new: &Phase, z: &[f64], p: f64) -> Option<[Phase; 2]> {
    let mut two = [old.clone(), new.clone()];
    two[1].weigh(here, p);
    let mut best: Option<[Phase; 2]> = None;
    let mut least = f64::INFINITY;
    for _ in 0..12 {
        let k: Vec<f64> = two[0].logs.iter().zip(&two[1].logs).map(|(a, b)| (a - b).clamp(-600.0, 600.0).exp()).collect();
        let share = rachford_rice(z, &k)?;
        for (i, z) in z.iter().enumerate() {
            let first = z / (1.0 + share * (k[i] - 1.0));
            two[0].amounts[i] = (1.0 - share) * first;
            two[1].amounts[i] = share * k[i] * first;
        }
        two.iter_mut().for_each(|phase| phase.weigh(here, p));
        let energy = gibbs(&two);
        if energy.is_nan() || energy > least - 1e-8 {
            break;
        }
        least = energy;
        best = Some(two.clone());
    }
    best
}

/// The share of the second phase, strictly between none and all.
fn rachford_rice(z: &[f64], k: &[f64]) -> Option<f64> {
    let sum = |share: f64| z.iter().zip(k).map(|(z, k)| z * (k - 1.0) / (1.0 + share * (k - 1.0))).sum::<f64>();
    if !(sum(0.0) > 0.0 && sum(1.0) < 0.0) {
        return None;
    }
    let (mut low, mut high) = (0.0, 1.0);
    let mut share = 0.5;
    for _ in 0..100 {
        let value = sum(share);
        if value > 0.0 {
            low = share
        } else {
            high = share
        }
        let slope: f64 = z.iter().zip(k).map(|(z, k)| z * ((k - 1.0) / (1.0 + share * (k - 1.0))).powi(2)).sum();
        let mut next = share + value / slope;
        if !(next > low && next < high) {
            next = 0.5 * (low + high);
        }
        if (next - share).abs() < 1e-14 {
            break;
        }
        share = next;
    }
    (share > 0.0 && share < 1.0).then_some(share)
}

/// Newton's method downhill to the least Gibbs energy; a phase that vanishes is taken out.
fn minimise(here: &mut Here<'_>, phases: &mut Vec<Phase>, z: &[f64], p: f64) -> Result<(), PhaseError> {
    let failed = PhaseError::NoConvergence { what: "the phases" };
    let n = z.len();
    let mut last = f64::INFINITY;
    for _ in 0..STEPS {
        if phases.len() < 2 {
            return Ok(());
        }
        if let Some((kept, gone)) = same(phases) {
            let other = phases.remove(gone);
            phases[kept].amounts.iter_mut().zip(&other.amounts).for_each(|(own, other)| *own += other);
            phases[kept].weigh(here, p);
            last = f64::INFINITY;
            continue;
        }
        // Each component is counted by what all phases hold of it but the one that holds most.
        let holder: Vec<usize> =
            (0..n).map(|i| (0..phases.len()).max_by(|a, b| phases[*a].amounts[i].total_cmp(&phases[*b].amounts[i])).unwrap_or(0)).collect();
        let unknowns: Vec<(usize, usize)> =
            (0..phases.len()).flat_map(|k| (0..n).map(move |i| (i, k))).filter(|(i, k)| holder[*i] != *k).collect();
        let activities: Vec<Vec<f64>> = phases.iter().map(Phase::activities).collect();
        let mut step: Vec<f64> = unknowns.iter().map(|(i, k)| activities[holder[*i]][*i] - activities[*k][*i]).collect();
        let worst = step.iter().fold(0.0_f64, |worst, off| worst.max(off.abs()));
        if worst.is_nan() {
            return Err(failed);
        }
        let bends: Vec<Vec<f64>> = phases.iter().map(|phase| bend(here, phase, p)).collect();
        let scale: Vec<f64> = unknowns.iter().map(|(i, k)| phases[*k].amounts[*i].sqrt()).collect();
        let size = unknowns.len();
        let mut matrix = vec![0.0; size * size];
        for (a, (i, k)) in unknowns.iter().enumerate() {
            for (b, (j, m)) in unknowns.iter().enumerate() {
                let mut sum = 0.0;
                for (phase, bend) in bends.iter().enumerate() {
                    let sign =
                        |own: usize, component: usize| f64::from(u8::from(own == phase)) - f64::from(u8::from(holder[component] == phase));
                    sum += sign(*k, *i) * sign(*m, *j) * bend[i * n + j];
                }
                matrix[a * size + b] = sum * scale[a] * scale[b];
            }
            step[a] *= scale[a];
        }
        let downhill = step.clone();
        let sure = solve_downhill(&matrix, &mut step).ok_or_else(|| failed.clone())?;
        // What the step is to lower the energy by, twice over.
        let slope: f64 = downhill.iter().zip(&step).map(|(down, step)| down * step).sum();
        // On a ridge the activities agree as well, and it is not the end.
        if sure && (worst < 1e-12 || (worst < AGREE && worst >= 0.5 * last)) {
            return Ok(());
        }
        last = worst;
        step.iter_mut().zip(&scale).for_each(|(step, scale)| *step *= scale);
        let longest = longest_step(phases, &holder, &unknowns, &step);
        let take = |here: &mut Here<'_>, length: f64| {
            let mut tried = phases.clone();
            for ((i, k), step) in unknowns.iter().zip(&step) {
                tried[*k].amounts[*i] += length * step;
            }
            for i in 0..n {
                let others: f64 = (0..tried.len()).filter(|k| *k != holder[i]).map(|k| tried[k].amounts[i]).sum();
                tried[holder[i]].amounts[i] = (z[i] - others).max(1e-300);
            }
            tried.iter_mut().for_each(|phase| phase.weigh(here, p));
            let energy = gibbs(&tried);
            (tried, energy)
        };
        let energy = gibbs(phases);
        let mut length = longest.min(1.0);
        let (mut next, mut reached) = take(here, length);
        if sure {
            // Close to the end the energy no longer tells one step from another, and Newton needs no watch. Beside a plait
            // point it does though the activities nearly agree, and there a step too far makes one phase of two.
            for _ in 0..30 {
                if slope < UNTOLD || reached <= energy + 2e-15 {
                    break;
                }
                length *= 0.5;
                (next, reached) = take(here, length);
            }
        } else {
            // Along a ridge the step is only a direction: as far as it leads down.
            while length < longest {
                let further = (4.0 * length).min(longest);
                let (beyond, lower) = take(here, further);
                if lower.is_nan() || lower >= reached {
                    break;
                }
                (next, reached, length) = (beyond, lower, further);
            }
            for _ in 0..30 {
                if reached < energy {
                    break;
                }
                length *= 0.5;
                (next, reached) = take(here, length);
            }
        }
        if reached.is_nan() || (slope >= UNTOLD && reached > energy + 2e-15) {
            return Err(failed);
        }
        *phases = next;
        if let Some(small) = (0..phases.len()).find(|k| phases[*k].whole() < LITTLE) {
            phases.remove(small);
            fit_to(phases, z);
            phases.iter_mut().for_each(|phase| phase.weigh(here, p));
            last = f64::INFINITY;
        }
    }
    let small = (0..phases.len()).find(|k| phases[*k].whole() < VANISHING).ok_or(failed)?;
    phases.remove(small);
    fit_to(phases, z);
    phases.iter_mut().for_each(|phase| phase.weigh(here, p));
    minimise(here, phases, z, p)
}

/// Two phases that have become one: the first, and the other that is behind it.
fn same(phases: &[Phase]) -> Option<(usize, usize)> {
    let alike = |a: &Phase, b: &Phase| {
        let (x, y) = (a.fractions(), b.fractions());
        a.vapour == b.vapour && x.iter().zip(&y).all(|(x, y)| (x - y).abs() <= ONE * y)
    };
    (1..phases.len()).find_map(|b| (0..b).find(|a| alike(&phases[*a], &phases[b])).map(|a| (a, b)))
}

/// The longest step, in parts of `step`, that leaves something of everything.
fn longest_step(phases: &[Phase], holder: &[usize], unknowns: &[(usize, usize)], step: &[f64]) -> f64 {
    let mut change: Vec<Vec<f64>> = phases.iter().map(|phase| vec![0.0; phase.amounts.len()]).collect();
    for ((i, k), step) in unknowns.iter().zip(step) {
        change[*k][*i] += step;
        change[holder[*i]][*i] -= step;
    }
    let amounts = phases.iter().flat_map(|phase| &phase.amounts);
    let falling = amounts.zip(change.iter().flatten()).filter(|(_, change)| **change < 0.0);
    falling.map(|(amount, change)| -0.95 * amount / change).fold(1e6, f64::min)
}

/// How the logarithms of the activities in a phase change with its amounts.
fn bend(here: &mut Here<'_>, phase: &Phase, p: f64) -> Vec<f64> {
    let n = phase.amounts.len();
    let whole = phase.whole();
    let x = phase.fractions();
    let mut slopes = vec![0.0; n * n];
    if phase.vapour {
        here.vapour_slopes(&x, p, &mut slopes)
    } else {
        here.at.slopes(&x, &mut slopes)
    }
    for i in 0..n {
        for j in 0..n {
            slopes[i * n + j] = (slopes[i * n + j] - 1.0) / whole;
        }
        slopes[i * n + i] += 1.0 / phase.amounts[i];
    }
    slopes
}
