//! The azeotropes of three components together.

use super::azeotrope::{Found, OfTwo, extremum_of, liquids_of};
use super::boil::boil_present;
use super::here::{Here, bubble_temperature};
use super::line::{Line, Point};
use super::linear::solve;
use super::parting::part;
use super::trial::forms;
use super::{PhaseError, System};

/// Searches for one liquid start from the inner points of a triangle with so many steps to a side.
const TO_A_SIDE: usize = 8;

/// Less than this of a component is none.
const NONE: f64 = 1e-6;

/// Two answers nearer than this are one.
const SAME: f64 = 1e-5;

/// Newton's steps granted to one search.
const STEPS: usize = 40;

/// The azeotropes of all three of a system of three components that boil; `edges` tells of the first and
/// second, the first and third, and the second and third.
pub(super) fn of_three(system: &System, p: f64, edges: [Option<&OfTwo>; 3]) -> Result<Vec<Found>, PhaseError> {
    let mut found: Vec<Found> = Vec::new();
    let sides = [[0, 1, 2], [0, 2, 1], [1, 2, 0]];
    for ([first, second, third], two) in sides.into_iter().zip(edges) {
        let Some(gap) = two.and_then(|two| two.gap.as_ref()) else { continue };
        let spread = |x: &[f64]| -> [f64; 3] {
            let mut all = [0.0; 3];
            for (place, x) in [first, second].into_iter().zip(x) {
                if let Some(all) = all.get_mut(place) {
                    *all = *x;
                }
            }
            all
        };
        let mut line = Line::new(system, p, third);
        let [one, other] = &gap.liquids;
        if let Some(start) = line.beginning(gap.t, [spread(one), spread(other)]) {
            let points = line.azeotropes(start);
            add_points(system, p, &points, &mut found)?;
        }
    }
    let mut parted = Vec::new();
    for start in starts(edges) {
        let Some((t, x)) = one_liquid(system, p, &start) else { continue };
        if known(&found, &x) || parted.iter().any(|other: &Vec<f64>| near(other, &x)) {
            continue;
        }
        let mut here = Here::new(system, t);
        let phases = part(&mut here, &x, None, &[])?;
        if phases.len() > 1 {
            parted.push(x);
            continue;
        }
        let extremum = extremum_of(system, p, t, &x, 1)?;
        found.push(Found { t, y: x, extremum, liquids: liquids_of(&phases) });
    }
    // A gap that no side has is found only by what would be an azeotrope in it.
    if !found.iter().any(|azeotrope| azeotrope.liquids.len() > 1) {
        for x in &parted {
            let (t, phases, _) = boil_present(system, x, p, 350.0)?;
            let [first, second] = phases.as_slice() else { continue };
            let [Ok(first), Ok(second)] = [first, second].map(|phase| <[f64; 3]>::try_from(phase.fractions())) else { continue };
            let mut line = Line::new(system, p, 2);
            if let Some(start) = line.amid(t, [first, second]) {
                let points = line.azeotropes_both_ways(start);
                add_points(system, p, &points, &mut found)?;
            }
        }
    }
    Ok(found)
}

fn near(a: &[f64], b: &[f64]) -> bool {
    a.iter().zip(b).all(|(a, b)| (a - b).abs() < SAME)
}

fn known(found: &[Found], y: &[f64]) -> bool {
    found.iter().any(|azeotrope| near(&azeotrope.y, y))
}

/// Takes points of a line for azeotropes where no third liquid would form.
fn add_points(system: &System, p: f64, points: &[Point], found: &mut Vec<Found>) -> Result<(), PhaseError> {
    for point in points {
        if known(found, &point.y) || point.y.iter().any(|y| *y < NONE) {
            continue;
        }
        let [first, second] = point.liquids();
        let mut here = Here::new(system, point.t());
        let mut d = vec![0.0; 3];
        here.at.ln_gamma(&first, &mut d);
        d.iter_mut().zip(first).for_each(|(d, x)| *d += x.ln());
        if forms(&mut here.at, &first, &d, 1e-8, &[]).is_some() {
            continue;
        }
        let extremum = extremum_of(system, p, point.t(), &point.y, 2)?;
        let liquids = vec![(1.0 - point.between, first.to_vec()), (point.between, second.to_vec())];
        found.push(Found { t: point.t(), y: point.y.to_vec(), extremum, liquids });
    }
    Ok(())
}

/// Compositions to search from: all over, and beside the azeotropes of two.
fn starts(edges: [Option<&OfTwo>; 3]) -> Vec<[f64; 3]> {
    let mut found = Vec::new();
    for i in 1..TO_A_SIDE {
        for j in 1..TO_A_SIDE - i {
            let k = TO_A_SIDE - i - j;
            found.push([i, j, k].map(|part| part as f64 / TO_A_SIDE as f64));
        }
    }
    for ([first, second, third], two) in [[0, 1, 2], [0, 2, 1], [1, 2, 0]].into_iter().zip(edges) {
        for azeotrope in two.iter().flat_map(|two| &two.azeotropes) {
            for trace in [0.03, 0.001] {
                let mut x = [0.0; 3];
                let own =
                    [(first, 0), (second, 1)].map(|(place, own)| (place, azeotrope.y.get(own).copied().unwrap_or(0.5) * (1.0 - trace)));
                for (place, value) in own.into_iter().chain([(third, trace)]) {
                    if let Some(x) = x.get_mut(place) {
                        *x = value;
                    }
                }
                found.push(x);
            }
        }
    }
    found
}

/// A liquid of three components at its bubble point, by the logarithms of the ratios of the first and the
/// second to the third.
struct Boiling<'a> {
    here: Here<'a>,
    p: f64,
    t: f64,
    /// Whether no component pairs in the vapour, which the slopes leave out.
    single: bool,
}

fn composition([first, second]: [f64; 2]) -> [f64; 3] {
    let all = [first.exp(), second.exp(), 1.0];
    let sum: f64 = all.iter().sum();
    all.map(|amount| amount / sum)
}

impl Boiling<'_> {
    /// The logarithms of what the vapour has of each component for what the liquid has, in one unit.
    fn volatilities(&mut self, x: &[f64; 3]) -> [f64; 3] {
        let (mut logs, mut k) = ([0.0; 3], [0.0; 3]);
        self.here.at.ln_gamma(x, &mut logs);
        self.here.volatilities(x, &logs, &mut k);
        k
    }

    /// By how much the first and the second are more volatile than the third.
    fn apart(&mut self, at: [f64; 2]) -> Option<[f64; 2]> {
        let x = composition(at);
        self.t = bubble_temperature(&mut self.here, &x, self.p, self.t).ok()?;
        let [first, second, third] = self.volatilities(&x);
        Some([first - third, second - third])
    }

    /// How [`Self::apart`] changes with each ratio, row by row; `value` is what it was last, at `at`.
    fn slopes(&mut self, at: [f64; 2], value: [f64; 2]) -> Option<[f64; 4]> {
        let [u, v] = at;
        if !self.single {
            const STEP: f64 = 1e-5;
            let [f, g] = value;
            let t = self.t;
            let [fu, gu] = self.apart([u + STEP, v])?;
            self.t = t;
            let [fv, gv] = self.apart([u, v + STEP])?;
            self.t = t;
            return Some([(fu - f) / STEP, (fv - f) / STEP, (gu - g) / STEP, (gv - g) / STEP]);
        }
        const WARMER: f64 = 1e-3;
        let x = composition(at);
        let volatility = self.volatilities(&x);
        let mut gammas = [0.0; 9];
        self.here.at.slopes(&x, &mut gammas);
        self.here.warm_to(self.t + WARMER);
        let warmer = self.volatilities(&x);
        self.here.warm_to(self.t);
        let mut weights = [0.0; 3];
        for (weight, (x, log)) in weights.iter_mut().zip(x.iter().zip(volatility)) {
            *weight = x * log.exp();
        }
        let all: f64 = weights.iter().sum();
        let mut by_warmth = [0.0; 3];
        for (slope, (warm, cool)) in by_warmth.iter_mut().zip(warmer.iter().zip(volatility)) {
            *slope = (warm - cool) / WARMER;
        }
        let pressure_by_warmth: f64 = weights.iter().zip(by_warmth).map(|(weight, slope)| weight * slope).sum();
        let mut columns = [[0.0; 3]; 2];
        for (k, (column, own)) in columns.iter_mut().zip(x).enumerate() {
            // ln γ does not change when all amounts grow alike, so that only the own amount counts.
            let direct: Vec<f64> = gammas.iter().skip(k).step_by(3).map(|slope| slope * own).collect();
            let liquid = |i: usize| f64::from(u8::from(i == k)) - own;
            let pressure: f64 = weights.iter().zip(&direct).enumerate().map(|(i, (weight, direct))| weight * (direct + liquid(i))).sum();
            let warmth = -pressure / pressure_by_warmth;
            for (slope, (direct, by_warmth)) in column.iter_mut().zip(direct.iter().zip(by_warmth)) {
                *slope = direct + by_warmth * warmth;
            }
        }
        let [[fu, gu, lu], [fv, gv, lv]] = columns;
        (all > 0.0).then_some([fu - lu, fv - lv, gu - lu, gv - lv])
    }
}

/// One liquid with the composition of its vapour, sought from `start` by Newton's method.
fn one_liquid(system: &System, p: f64, start: &[f64; 3]) -> Option<(f64, Vec<f64>)> {
    let guess = system.boiling_guess(start, p).ok()?;
    let single = system.components().iter().all(|component| component.dimer.is_none());
    let mut boiling = Boiling { here: Here::new(system, guess), p, t: guess, single };
    let [first, second, third] = *start;
    let mut at = [(first / third).ln(), (second / third).ln()];
    let size = |[a, b]: [f64; 2]| a * a + b * b;
    let found = |at: [f64; 2], t: f64| Some((t, composition(at).to_vec())).filter(|(_, x)| x.iter().all(|x| *x > NONE));
    let mut value = boiling.apart(at)?;
    for _ in 0..STEPS {
        if size(value) < 1e-22 {
            return found(at, boiling.t);
        }
        let mut slopes = boiling.slopes(at, value)?;
        let [f, g] = value;
        let mut step = [-f, -g];
        solve(&mut slopes, &mut step)?;
        let longest = step.iter().fold(0.0_f64, |most, step| most.max(step.abs()));
        let mut length = if longest > 1.5 { 1.5 / longest } else { 1.0 };
        let mut moved = None;
        for _ in 0..8 {
            let ([u, v], [du, dv]) = (at, step);
            let tried = [u + length * du, v + length * dv];
            let seen = boiling.apart(tried)?;
            if size(seen) < size(value) {
                moved = Some((tried, seen));
                break;
            }
            length *= 0.5;
        }
        let Some((tried, seen)) = moved else {
            // At the limit of rounding there is no better step.
            boiling.apart(at)?;
            return if size(value) < 1e-18 { found(at, boiling.t) } else { None };
        };
        (at, value) = (tried, seen);
        // Beyond, a component is less than is looked for.
        if at.iter().any(|log| log.abs() > 17.0) {
            return None;
        }
    }
    None
}
