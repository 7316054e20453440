//! A mixture at one temperature, and the search for the temperature.

use super::{PhaseError, System};
use crate::chemistry::activity::At;

/// No temperature is sought outside these, K; our own figures.
const LOWEST: f64 = 100.0;
const HIGHEST: f64 = 1000.0;

/// Steps granted to a search for a temperature.
const STEPS: usize = 100;

/// A temperature is found when it changes by no more than this share.
const SETTLED: f64 = 1e-12;

/// A secant step leaves an error near the product of itself and the step before it, as shares: what bends a vapour
/// pressure in 1/T is of the order of one. This leaves room for a hundred times as much.
const FORESEEN: f64 = 0.01;

/// Over what does not boil there is no more than this share of the pressure.
pub(super) const UNSEEN: f64 = 1e-30;

/// `amounts` made to sum to one; `None` if they sum to nothing.
pub(super) fn unit(amounts: &[f64]) -> Option<Vec<f64>> {
    let whole: f64 = amounts.iter().sum();
    (whole > 0.0 && whole.is_finite()).then(|| amounts.iter().map(|amount| amount / whole).collect())
}

/// A mixture at one temperature.
pub(super) struct Here<'a> {
    system: &'a System,
    pub(super) at: At<'a>,
    /// The pressure of single molecules over each pure liquid as what is dissolved holds it back, Pa; zero for what does not boil.
    pub(super) pure: Vec<f64>,
    /// Square root of each pairing constant; zero for what does not pair.
    pairing: Vec<f64>,
    /// Work space: partial pressures of single molecules.
    partial: Vec<f64>,
}

impl<'a> Here<'a> {
    pub(super) fn new(system: &'a System, t: f64) -> Here<'a> {
        let room = vec![0.0; system.len()];
        let mut here = Here { system, at: system.activity.at(t), pure: room.clone(), pairing: room.clone(), partial: room };
        here.set_pressures(t);
        here
    }

    pub(super) fn warm_to(&mut self, t: f64) {
        if t != self.at.temperature() {
            self.at.warm_to(t);
            self.set_pressures(t);
        }
    }

    fn set_pressures(&mut self, t: f64) {
        let places = self.pure.iter_mut().zip(&mut self.pairing);
        for (component, (pure, pairing)) in self.system.components.iter().zip(places) {
            let saturated = component.vapour.as_ref().map_or(0.0, |curve| curve.pressure(t));
            (*pure, *pairing) = match component.dimer {
                None => (saturated, 0.0),
                // p + K p² is the whole pressure; the root is written so that a small K loses no digits.
                Some(dimer) => {
                    let constant = dimer.constant(t);
                    (2.0 * saturated / (1.0 + (1.0 + 4.0 * constant * saturated).sqrt()), constant.sqrt())
                }
            };
        }
        for (pure, held) in self.pure.iter_mut().zip(&self.system.held) {
            *pure *= held.ln(t).exp();
        }
    }

    /// Pressure over a liquid, from the logarithms of its activity coefficients.
    ///
    /// Acids pair with each other with the constant `2 √(K1 K2)`, so that all pairs together have the
    /// pressure `(Σ √K p)²`.
    pub(super) fn pressure_over(&mut self, x: &[f64], logs: &[f64]) -> f64 {
        let (mut single, mut bound) = (0.0, 0.0);
        let mixture = x.iter().zip(logs).zip(self.pure.iter().zip(&self.pairing)).zip(&mut self.partial);
        for (((x, log), (pure, pairing)), partial) in mixture {
            *partial = if *x > 0.0 && *pure > 0.0 { x * log.exp() * pure } else { 0.0 };
            single += *partial;
            bound += pairing * *partial;
        }
        single + bound * bound
    }

    /// The vapour over a liquid.
    pub(super) fn vapour_over(&mut self, x: &[f64], logs: &[f64]) -> Vec<f64> {
        self.pressure_over(x, logs);
        let bound: f64 = self.partial.iter().zip(&self.pairing).map(|(partial, pairing)| partial * pairing).sum();
        let amounts: Vec<f64> =
            self.partial.iter().zip(&self.pairing).map(|(partial, pairing)| partial * (1.0 + 2.0 * pairing * bound)).collect();
        unit(&amounts).unwrap_or(amounts)
    }

    /// Over a liquid, the logarithms of how much of each component is in the vapour for what is in the liquid,
    /// all in one unit; and the pressure.
    pub(super) fn volatilities(&mut self, x: &[f64], logs: &[f64], out: &mut [f64]) -> f64 {
        let pressure = self.pressure_over(x, logs);
        let bound: f64 = self.partial.iter().zip(&self.pairing).map(|(partial, pairing)| partial * pairing).sum();
        for (out, (log, (pure, pairing))) in out.iter_mut().zip(logs.iter().zip(self.pure.iter().zip(&self.pairing))) {
            *out = log + pure.ln() + (2.0 * pairing * bound).ln_1p();
        }
        pressure
    }

    /// Partial pressures of single molecules over the pressures above the pure liquids and over `y`, as logarithms.
    ///
    /// Single molecules have `p_i = c y_i/(1 + 2 √K_i D)` with `D = Σ √K p`, and the pressure is `Σ p + D²`.
    pub(super) fn vapour_logs(&self, y: &[f64], p: f64, logs: &mut [f64]) {
        let sum = |bound: f64, weight: &dyn Fn(f64) -> f64| -> f64 {
            y.iter().zip(&self.pairing).map(|(y, pairing)| weight(*pairing) * y / (1.0 + 2.0 * pairing * bound)).sum()
        };
        let scale = |bound: f64| (p - bound * bound) / sum(bound, &|_| 1.0);
        let (mut low, mut high) = (0.0, p.sqrt());
        let mut bound = 0.0;
        if y.iter().zip(&self.pairing).any(|(y, pairing)| *y > 0.0 && *pairing > 0.0) {
            for _ in 0..60 {
                bound = 0.5 * (low + high);
                if bound < scale(bound) * sum(bound, &|pairing| pairing) { low = bound } else { high = bound }
            }
        }
        let whole = scale(bound);
        for (log, (pure, pairing)) in logs.iter_mut().zip(self.pure.iter().zip(&self.pairing)) {
            // What does not boil is kept out of the vapour by a pressure too small to see.
            *log = (whole / (1.0 + 2.0 * pairing * bound) / pure.max(UNSEEN * p)).ln();
        }
    }

    /// How [`Self::vapour_logs`] change with the amounts in one mole of vapour, row by row.
    pub(super) fn vapour_slopes(&self, y: &[f64], p: f64, out: &mut [f64]) {
        out.fill(0.0);
        if self.pairing.iter().all(|pairing| *pairing == 0.0) {
            return;
        }
        let n = y.len();
        let (mut below, mut above) = (vec![0.0; n], vec![0.0; n]);
        for (j, own) in y.iter().enumerate() {
            let step = (1e-4 * own).max(1e-9);
            let back = if *own > step { step } else { 0.0 };
            let moved = |by: f64, logs: &mut [f64]| {
                let moved: Vec<f64> = y.iter().enumerate().map(|(k, y)| (if k == j { y + by } else { *y }) / (1.0 + by)).collect();
                self.vapour_logs(&moved, p, logs);
            };
            moved(-back, &mut below);
            moved(step, &mut above);
            for (slope, (above, below)) in out.iter_mut().skip(j).step_by(n.max(1)).zip(above.iter().zip(&below)) {
                *slope = (above - below) / (step + back);
            }
        }
    }
}

/// The temperature at which `gap`, which rises like the logarithm of a vapour pressure, is zero.
///
/// Secant steps in 1/T from a slope that all liquids nearly share, halving once the root is bracketed and
/// a step leads out.
pub(super) fn temperature(guess: f64, mut gap: impl FnMut(f64) -> Result<f64, PhaseError>) -> Result<f64, PhaseError> {
    // 1/T of the nearest points known to be too warm and too cold.
    let (mut warm, mut cold) = (1.0 / HIGHEST, 1.0 / LOWEST);
    let mut here = (1.0 / guess).clamp(warm, cold);
    // Trouton: d ln p / d(1/T) is about −10.6 boiling points.
    let mut slope = -10.6 / here;
    let mut before: Option<(f64, f64)> = None;
    for _ in 0..STEPS {
        let value = gap(1.0 / here)?;
        if value.is_nan() {
            return Err(PhaseError::NoConvergence { what: "a temperature" });
        }
        if value == 0.0 {
            return Ok(1.0 / here);
        }
        if value > 0.0 {
            warm = warm.max(here);
        } else {
            cold = cold.min(here);
        }
        if cold - warm <= SETTLED * here {
            break;
        }
        let mut sure = false;
        if let Some((place, old)) = before
            && place != here
            && value.is_finite()
            && old.is_finite()
        {
            let secant = (value - old) / (here - place);
            if secant < 0.0 {
                slope = secant;
                sure = (value / slope).abs() * (here - place).abs() <= FORESEEN * SETTLED * here * here;
            }
        }
        before = Some((here, value));
        let mut next = here - value / slope;
        if (next - here).abs() <= SETTLED * here || (sure && next > warm && next < cold) {
            return Ok(1.0 / next);
        }
        if !(next > warm && next < cold) {
            next = 0.5 * (warm + cold);
        }
        here = next;
    }
    let found = 1.0 / here;
    if !(LOWEST * 1.001..=HIGHEST * 0.999).contains(&found) {
        return Err(PhaseError::NoTemperature { low: LOWEST, high: HIGHEST });
    }
    if cold - warm <= 1e-9 * here { Ok(found) } else { Err(PhaseError::NoConvergence { what: "a temperature" }) }
}

/// Where `x`, taken as one liquid, begins to boil at `p`; `here` is left at that temperature.
pub(super) fn bubble_temperature(here: &mut Here<'_>, x: &[f64], p: f64, guess: f64) -> Result<f64, PhaseError> {
    let mut logs = vec![0.0; x.len()];
    let t = temperature(guess, |t| {
        here.warm_to(t);
        here.at.ln_gamma(x, &mut logs);
        Ok((here.pressure_over(x, &logs) / p).ln())
    })?;
    here.warm_to(t);
    Ok(t)
}
