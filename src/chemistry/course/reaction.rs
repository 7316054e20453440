//! Several reactions in one liquid: where they come to rest together, and how far they get in a time.
//!
//! `n` are amounts in mol, one for each substance there is; what takes part in no reaction dilutes. A constant
//! is a ratio of mole fractions or of activities, `K = Π x^ν` or `Π (γ x)^ν`. The rate of a reaction is
//! `k c(catalyst)^m Π c(reactant) (1 − Q/K)`: of first order in each substance on the left of its equation, and
//! nothing at equilibrium, whichever way it is reached.
#![allow(clippy::indexing_slicing, reason = "a numeric kernel: the sizes are checked on entry")]

use crate::chemistry::equilibrium::{self, Fate};
use crate::chemistry::gas::R;
use crate::chemistry::phase::linear;
use crate::chemistry::solve::SolveError;

/// What a reaction comes to rest at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ends {
    /// A constant in mole fractions.
    Ratio(f64),
    /// A constant in activities.
    Activity(f64),
}

/// How fast a reaction goes: the constant at one temperature, and how it grows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rate {
    /// The constant at `t`, per second, concentrations in mol/m³, that of the catalyst over 1000 mol/m³.
    pub constant: f64,
    /// K.
    pub t: f64,
    /// Energy of activation, J/mol.
    pub energy: f64,
    /// Which substance hastens it, and with what power of its concentration.
    pub catalyst: Option<(usize, f64)>,
}

impl Rate {
    /// The constant at another temperature, by Arrhenius.
    fn at(&self, t: f64) -> f64 {
        self.constant * (self.energy / R * (1.0 / self.t - 1.0 / t)).exp()
    }
}

/// A reaction among the substances of a liquid.
#[derive(Clone, Debug, PartialEq)]
pub struct Reaction {
    /// Stoichiometric numbers, one for each substance: below zero for reactants.
    pub nu: Vec<f64>,
    /// Where it ends.
    pub ends: Ends,
    /// How fast it is; `None`: it is at equilibrium as soon as it may be.
    pub rate: Option<Rate>,
}

/// What becomes of one substance besides the reactions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Besides {
    /// There are always so many moles of it.
    Held(usize, f64),
    /// Only this share of what there would be stays.
    Kept(usize, f64),
}

/// The logarithms of activity over mole fraction for amounts in mol.
pub type Activities<'a> = dyn FnMut(&[f64]) -> Result<Vec<f64>, SolveError> + 'a;

/// An ideal liquid.
///
/// # Errors
/// Never.
pub fn ideal(n: &[f64]) -> Result<Vec<f64>, SolveError> {
    Ok(vec![0.0; n.len()])
}

/// Rounds of one reaction after the other; each brings them nearer, and Newton's steps in between end it.
const ROUNDS: usize = 400;

/// Newton steps granted at a time.
const STEPS: usize = 40;

/// How well the logarithm of each constant is met.
const MET: f64 = 1e-10;

/// Rounds in which activity coefficients may still change.
const ACTIVITY_ROUNDS: usize = 200;

/// Brings all reactions to rest, and says by how many mol each went. `n` becomes what there is when a substance
/// that is held or carried off is left out of account, and stays as it was where there is no answer.
///
/// Each constant is met to 1e-9 of its logarithm. Reactions that depend on each other may be given as long as
/// their constants agree.
///
/// # Errors
/// `BadInput` for lists of unequal length or figures that make no sense, `NoConvergence` where constants
/// contradict each other or activities do not settle, and whatever `activities` returns.
pub fn equilibrium(
    n: &mut [f64],
    reactions: &[Reaction],
    besides: Option<Besides>,
    activities: &mut Activities<'_>,
) -> Result<Vec<f64>, SolveError> {
    check(n, reactions)?;
    let plain: Vec<f64> = reactions.iter().map(|reaction| constant(reaction.ends).ln()).collect();
    let mut logs = plain.clone();
    let in_activities = reactions.iter().any(|reaction| matches!(reaction.ends, Ends::Activity(_)));
    // Steps are shortened when the constants swing to and fro.
    let (mut share, mut before) = (1.0, f64::INFINITY);
    for _ in 0..ACTIVITY_ROUNDS {
        let mut here = n.to_vec();
        let extents = at_constants(&mut here, reactions, &logs, besides)?;
        let mut off: f64 = 0.0;
        if in_activities {
            let gammas = activities(&present(&here, besides))?;
            for ((log, plain), reaction) in logs.iter_mut().zip(&plain).zip(reactions) {
                let wanted = plain - lift(reaction, &gammas);
                off = off.max((wanted - *log).abs());
                *log += share * (wanted - *log);
            }
        }
        if off < MET {
            n.copy_from_slice(&here);
            return Ok(extents);
        }
        if off > 0.9 * before {
            share = (0.5 * share).max(0.05);
        }
        before = off;
    }
    Err(SolveError::NoConvergence { iterations: ACTIVITY_ROUNDS, last: before })
}

fn constant(ends: Ends) -> f64 {
    match ends {
        Ends::Ratio(k) | Ends::Activity(k) => k,
    }
}

fn check(n: &[f64], reactions: &[Reaction]) -> Result<(), SolveError> {
    if reactions.iter().any(|reaction| reaction.nu.len() != n.len()) {
        return Err(SolveError::bad("There are not as many amounts as stoichiometric numbers."));
    }
    if !n.iter().all(|n| n.is_finite() && *n >= 0.0) {
        return Err(SolveError::bad("An amount is not a number at least zero."));
    }
    for reaction in reactions {
        let k = constant(reaction.ends);
        if !k.is_finite() || k <= 0.0 {
            return Err(SolveError::bad("An equilibrium constant is a number above zero."));
        }
    }
    Ok(())
}

/// One reaction goes so far; what rounding leaves below nothing is nothing.
fn go(n: &mut [f64], reaction: &Reaction, extent: f64) {
    for (n, nu) in n.iter_mut().zip(&reaction.nu) {
        if *nu != 0.0 {
            *n = (*n + nu * extent).max(0.0);
        }
    }
}

fn present(n: &[f64], besides: Option<Besides>) -> Vec<f64> {
    let mut there = n.to_vec();
    match besides {
        Some(Besides::Held(at, moles)) => there.iter_mut().skip(at).take(1).for_each(|n| *n = moles),
        Some(Besides::Kept(at, share)) => there.iter_mut().skip(at).take(1).for_each(|n| *n *= share),
        None => {}
    }
    there
}

/// As [`equilibrium()`] with the logarithms of constants in mole fractions.
fn at_constants(n: &mut [f64], reactions: &[Reaction], logs: &[f64], besides: Option<Besides>) -> Result<Vec<f64>, SolveError> {
    let special = besides.map(|besides| match besides {
        Besides::Held(at, moles) => (at, Fate::Held(moles)),
        Besides::Kept(at, share) => (at, Fate::Kept(share)),
    });
    let mut extents = vec![0.0; reactions.len()];
    if newton(n, reactions, logs, besides, &mut extents) {
        return Ok(extents);
    }
    let whole: f64 = n.iter().sum();
    for _ in 0..ROUNDS {
        let mut change: f64 = 0.0;
        for ((reaction, log), extent) in reactions.iter().zip(logs).zip(&mut extents) {
            let step = equilibrium::solve(n, &reaction.nu, log.exp(), 0.0, special)?;
            go(n, reaction, step);
            *extent += step;
            change = change.max(step.abs());
        }
        if reactions.len() == 1 || change <= 1e-15 * whole {
            return if reactions.len() == 1 || agree(n, reactions, logs, besides) { Ok(extents) } else { break };
        }
        if newton(n, reactions, logs, besides, &mut extents) {
            return Ok(extents);
        }
    }
    Err(SolveError::NoConvergence { iterations: ROUNDS, last: extents.first().copied().unwrap_or(0.0) })
}

/// Whether every reaction that could go is at its constant.
fn agree(n: &[f64], reactions: &[Reaction], logs: &[f64], besides: Option<Besides>) -> bool {
    let there = present(n, besides);
    reactions.iter().zip(logs).all(|(reaction, log)| !can_go(&there, reaction) || (quotient(&there, reaction) - log).abs() < 1e-6)
}

fn can_go(there: &[f64], reaction: &Reaction) -> bool {
    reaction.nu.iter().zip(there).all(|(nu, n)| *nu == 0.0 || *n > 0.0)
}

/// ln of the quotient in mole fractions.
fn quotient(there: &[f64], reaction: &Reaction) -> f64 {
    let total: f64 = there.iter().sum();
    reaction.nu.iter().zip(there).filter(|(nu, _)| **nu != 0.0).map(|(nu, n)| nu * (n / total).max(f64::MIN_POSITIVE).ln()).sum()
}

/// Whether neither way is open: a reactant and a product are both lacking.
fn blocked(there: &[f64], reaction: &Reaction) -> bool {
    let lacks = |sign: f64| reaction.nu.iter().zip(there).any(|(nu, n)| sign * nu > 0.0 && *n <= 0.0);
    lacks(1.0) && lacks(-1.0)
}

/// Newton's steps from where the reactions stand, each cut so that no substance loses more than nine tenths.
/// Says whether all constants are met; if not, `n` and `extents` are as they were.
fn newton(n: &mut [f64], reactions: &[Reaction], logs: &[f64], besides: Option<Besides>, extents: &mut [f64]) -> bool {
    let start = present(n, besides);
    let moves = |r: &usize| reactions[*r].nu.iter().any(|nu| *nu != 0.0) && !blocked(&start, &reactions[*r]);
    let live: Vec<usize> = (0..reactions.len()).filter(moves).collect();
    let size = live.len();
    let mut here = n.to_vec();
    let mut gone = vec![0.0; reactions.len()];
    for _ in 0..STEPS {
        let there = present(&here, besides);
        if !live.iter().all(|r| can_go(&there, &reactions[*r])) {
            return false;
        }
        let total: f64 = there.iter().sum();
        // How much of what is there follows what is made of each.
        let follows = |at: usize| match besides {
            Some(Besides::Held(held, _)) if held == at => 0.0,
            Some(Besides::Kept(kept, share)) if kept == at => share,
            _ => 1.0,
        };
        let order = |r: usize| reactions[r].nu.iter().sum::<f64>();
        let drift = |r: usize| reactions[r].nu.iter().enumerate().map(|(at, nu)| follows(at) * nu).sum::<f64>();
        let mut off: Vec<f64> = live.iter().map(|r| logs[*r] - quotient(&there, &reactions[*r])).collect();
        let worst = off.iter().fold(0.0, |worst: f64, off| worst.max(off.abs()));
        if worst < MET {
            n.copy_from_slice(&here);
            extents.iter_mut().zip(&gone).for_each(|(extent, gone)| *extent += gone);
            return true;
        }
        let mut slopes = vec![0.0; size * size];
        for (row, r) in live.iter().enumerate() {
            for (column, s) in live.iter().enumerate() {
                let pull = reactions[*r].nu.iter().zip(&reactions[*s].nu).zip(&there).enumerate();
                let direct: f64 =
                    pull.filter(|(_, ((a, b), _))| **a != 0.0 && **b != 0.0).map(|(at, ((a, b), n))| a * b * follows(at) / n).sum();
                slopes[row * size + column] = direct - order(*r) * drift(*s) / total;
            }
        }
        if linear::solve(&mut slopes, &mut off).is_none() {
            return false;
        }
        let mut change = vec![0.0; here.len()];
        for (r, step) in live.iter().zip(&off) {
            change.iter_mut().zip(&reactions[*r].nu).for_each(|(change, nu)| *change += nu * step);
        }
        let bounds = here.iter().zip(&change).enumerate().filter(|(at, (_, change))| follows(*at) > 0.0 && **change < 0.0);
        let most = bounds.map(|(_, (n, change))| 0.9 * n / -change);
        let share = most.fold(1.0, f64::min);
        if share.is_nan() || share < 1e-6 {
            return false;
        }
        for (r, step) in live.iter().zip(&off) {
            gone[*r] += share * step;
        }
        here.iter_mut().zip(&change).for_each(|(n, change)| *n = (*n + share * change).max(0.0));
    }
    false
}

/// A liquid in which reactions take their time.
#[derive(Clone, Copy, Debug)]
pub struct Where<'a> {
    /// Temperature, K.
    pub t: f64,
    /// Volume of a mole of each substance, m³.
    pub volumes: &'a [f64],
    /// ln of activity over mole fraction, taken as it is for the while.
    pub gammas: &'a [f64],
}

/// Share of all moles by which one step may err.
const TOLERANCE: f64 = 1e-6;

/// Steps granted to one stretch of time.
const MOST_STEPS: usize = 20_000;

/// Lets the reactions go on for `time` seconds, and says by how many mol each went.
///
/// Those without a rate are at equilibrium at the end. Steps are chosen so that the error of each stays below
/// 1e-6 of all moles (a Rosenbrock method of second order that damps whatever is fast: ROS2 of Verwer and
/// others, 1999, from memory).
///
/// # Errors
/// As [`equilibrium()`]; `NoConvergence` where the steps do not suffice.
pub fn proceed(n: &mut [f64], reactions: &[Reaction], place: Where<'_>, time: f64) -> Result<Vec<f64>, SolveError> {
    check(n, reactions)?;
    if place.volumes.len() != n.len() || place.gammas.len() != n.len() {
        return Err(SolveError::bad("There are not as many volumes or activities as amounts."));
    }
    if !(time >= 0.0 && place.t > 0.0) {
        return Err(SolveError::bad("A time or a temperature is not a number above zero."));
    }
    let mut extents = vec![0.0; reactions.len()];
    let slow: Vec<usize> = (0..reactions.len()).filter(|r| reactions[*r].rate.is_some()).collect();
    if !slow.is_empty() {
        slowly(n, reactions, &slow, place, time, &mut extents)?;
    }
    let quick: Vec<usize> = (0..reactions.len()).filter(|r| reactions[*r].rate.is_none()).collect();
    if !quick.is_empty() {
        let own: Vec<Reaction> = quick.iter().map(|r| reactions[*r].clone()).collect();
        let logs: Vec<f64> = own.iter().map(|reaction| constant(reaction.ends).ln() - lift(reaction, place.gammas)).collect();
        let steps = at_constants(n, &own, &logs, None)?;
        quick.iter().zip(&steps).for_each(|(r, step)| extents[*r] += step);
    }
    Ok(extents)
}

/// What activity coefficients add to the logarithm of the quotient.
fn lift(reaction: &Reaction, gammas: &[f64]) -> f64 {
    match reaction.ends {
        Ends::Ratio(_) => 0.0,
        Ends::Activity(_) => reaction.nu.iter().zip(gammas).map(|(nu, gamma)| nu * gamma).sum(),
    }
}

/// mol/s of one reaction.
fn speed(n: &[f64], reaction: &Reaction, place: Where<'_>) -> f64 {
    let Some(rate) = &reaction.rate else { return 0.0 };
    let volume: f64 = n.iter().zip(place.volumes).map(|(n, own)| n * own).sum();
    if volume <= 0.0 {
        return 0.0;
    }
    let hastened = rate.catalyst.map_or(1.0, |(at, power)| (n.get(at).copied().unwrap_or(0.0) / volume / 1000.0).powf(power));
    let left: f64 = reaction.nu.iter().zip(n).filter(|(nu, _)| **nu < 0.0).map(|(_, n)| (n / volume).max(1e-200).ln()).sum();
    let back = quotient(n, reaction) + lift(reaction, place.gammas) - constant(reaction.ends).ln();
    rate.at(place.t) * hastened * volume * (left.exp() - (left + back).min(600.0).exp())
}

fn slowly(
    n: &mut [f64],
    reactions: &[Reaction],
    slow: &[usize],
    place: Where<'_>,
    time: f64,
    extents: &mut [f64],
) -> Result<(), SolveError> {
    // L-stable for this figure.
    let gamma = 1.0 - std::f64::consts::FRAC_1_SQRT_2;
    let size = slow.len();
    let whole: f64 = n.iter().sum();
    let allowed = TOLERANCE * whole.max(f64::MIN_POSITIVE);
    let shifted = |n: &[f64], steps: &[f64]| -> Option<Vec<f64>> {
        let mut to = n.to_vec();
        for (r, step) in slow.iter().zip(steps) {
            to.iter_mut().zip(&reactions[*r].nu).for_each(|(n, nu)| *n += nu * step);
        }
        to.iter().all(|n| *n >= 0.0).then_some(to)
    };
    let speeds = |n: &[f64]| -> Vec<f64> { slow.iter().map(|r| speed(n, &reactions[*r], place)).collect() };
    let (mut now, mut step) = (0.0, time);
    for _ in 0..MOST_STEPS {
        if now >= time || time - now <= 1e-14 * time {
            return Ok(());
        }
        step = step.min(time - now);
        let here = speeds(n);
        if here.iter().all(|speed| *speed == 0.0) {
            return Ok(());
        }
        // d(speed)/d(extent), by a difference small beside what there is of every substance.
        let mut slopes = vec![0.0; size * size];
        for (column, r) in slow.iter().enumerate() {
            let nu = &reactions[*r].nu;
            // The way that leads to nothing below zero.
            let room = |sign: f64| nu.iter().zip(&*n).filter(|(nu, _)| sign * **nu < 0.0).map(|(nu, n)| n / nu.abs()).fold(whole, f64::min);
            let sign = if room(1.0) >= room(-1.0) { 1.0 } else { -1.0 };
            let small = sign * (1e-6 * room(sign)).max(1e-14 * whole);
            let mut steps = vec![0.0; size];
            steps[column] = small;
            let Some(beside) = shifted(n, &steps) else { continue };
            for (row, (there, here)) in speeds(&beside).iter().zip(&here).enumerate() {
                slopes[row * size + column] = (there - here) / small;
            }
        }
        let matrix = |step: f64| -> Vec<f64> {
            let mut matrix: Vec<f64> = slopes.iter().map(|slope| -gamma * step * slope).collect();
            (0..size).for_each(|row| matrix[row * size + row] += 1.0);
            matrix
        };
        let attempt = (|| {
            let mut first = here.clone();
            linear::solve(&mut matrix(step), &mut first)?;
            let middle = shifted(n, &first.iter().map(|k| step * k).collect::<Vec<_>>())?;
            let mut second: Vec<f64> = speeds(&middle).iter().zip(&first).map(|(f, k)| f - 2.0 * k).collect();
            linear::solve(&mut matrix(step), &mut second)?;
            let gone: Vec<f64> = first.iter().zip(&second).map(|(a, b)| step * (1.5 * a + 0.5 * b)).collect();
            let error = first.iter().zip(&second).map(|(a, b)| (0.5 * step * (a + b)).abs()).fold(0.0, f64::max);
            shifted(n, &gone).map(|to| (to, gone, error))
        })();
        match attempt {
            Some((to, gone, error)) if error <= allowed => {
                n.copy_from_slice(&to);
                slow.iter().zip(&gone).for_each(|(r, gone)| extents[*r] += gone);
                now += step;
                step *= (0.8 * (allowed / error.max(1e-300)).sqrt()).clamp(0.5, 5.0);
            }
            Some((.., error)) => step *= (0.8 * (allowed / error).sqrt()).clamp(0.1, 0.8),
            None => step *= 0.25,
        }
        if step < 1e-18 * time {
            break;
        }
    }
    Err(SolveError::NoConvergence { iterations: MOST_STEPS, last: now })
}

#[cfg(test)]
#[path = "reaction_tests.rs"]
pub(super) mod tests;
