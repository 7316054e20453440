//! The line on which two liquids of three components boil together at one pressure.
//!
//! It is followed from where it begins by steps along its tangent, each put right by Newton's method. Unknown
//! are the logarithms of the mole fractions in both liquids and of the temperature.
#![allow(clippy::indexing_slicing, reason = "a numeric kernel: there are always three components and seven unknowns")]

use super::System;
use super::here::Here;
use super::linear::solve;

/// Weight of the temperature's logarithm among the unknowns, so that a step means as much in each.
const WEIGHT: f64 = 20.0;

/// Steps granted to one line, and their greatest and least length.
const STEPS: usize = 400;
const LONGEST: f64 = 0.6;
const SHORTEST: f64 = 1e-5;

/// Where the liquids differ by less, in logarithms of mole fractions, the line ends in one liquid.
const ALIKE: f64 = 0.02;

/// A component of which both liquids have less is not there: the line ends on a side.
const NONE: f64 = 1e-8;

pub(super) type Unknowns = [f64; 7];

/// A point of the line.
#[derive(Clone, Copy, Debug)]
pub(super) struct Point {
    pub(super) at: Unknowns,
    tangent: Unknowns,
    /// How far the vapour lies beside the line between the two liquids, with a sign.
    pub(super) beside: f64,
    /// Where between the two it lies, from zero at the first to one at the second.
    pub(super) between: f64,
    pub(super) y: [f64; 3],
}

impl Point {
    pub(super) fn t(&self) -> f64 {
        (self.at[6] / WEIGHT).exp()
    }

    /// The two liquids.
    pub(super) fn liquids(&self) -> [[f64; 3]; 2] {
        [0, 3].map(|start| [0, 1, 2].map(|i| self.at[start + i].exp()))
    }
}

/// The six equations of the line at some point, how they change with the unknowns, and the vapour there.
struct Equations {
    value: [f64; 6],
    change: [[f64; 7]; 6],
    y: [f64; 3],
}

pub(super) struct Line<'a> {
    here: Here<'a>,
    p: f64,
    /// The component whose share grows from nothing where the line begins.
    third: usize,
}

impl<'a> Line<'a> {
    pub(super) fn new(system: &'a System, p: f64, third: usize) -> Line<'a> {
        Line { here: Here::new(system, 350.0), p, third }
    }

    /// Where two liquids of two components boil and the third is a trace in them.
    pub(super) fn beginning(&mut self, t: f64, liquids: [[f64; 3]; 2]) -> Option<Point> {
        let mut logs = [[0.0; 3]; 2];
        self.here.warm_to(t);
        for (x, logs) in liquids.iter().zip(&mut logs) {
            self.here.at.ln_gamma(x, logs);
        }
        let trace = 1e-7_f64.ln();
        // The liquid that takes more of the trace has it as it is.
        let more = logs[0][self.third] - logs[1][self.third];
        let traces = [trace - more.max(0.0), trace + more.min(0.0)];
        let mut at = [0.0; 7];
        for (k, x) in liquids.iter().enumerate() {
            for i in 0..3 {
                at[3 * k + i] = if i == self.third { traces[k] } else { x[i].ln() };
            }
        }
        at[6] = WEIGHT * t.ln();
        let mut onward = [0.0; 7];
        onward[self.third] = std::f64::consts::FRAC_1_SQRT_2;
        onward[3 + self.third] = std::f64::consts::FRAC_1_SQRT_2;
        self.put_right(at, onward)
    }

    /// A point near two liquids known to boil together; the way onward is either of the two.
    pub(super) fn amid(&mut self, t: f64, liquids: [[f64; 3]; 2]) -> Option<Point> {
        let mut at = [0.0; 7];
        for (k, x) in liquids.iter().enumerate() {
            for i in 0..3 {
                at[3 * k + i] = x[i].ln();
            }
        }
        at[6] = WEIGHT * t.ln();
        (0..7).find_map(|unknown| {
            let mut onward = [0.0; 7];
            onward[unknown] = 1.0;
            self.put_right(at, onward)
        })
    }

    /// Six equations that are zero on the line, with how they change.
    fn equations(&mut self, at: &Unknowns) -> Option<Equations> {
        const WARMER: f64 = 1e-3;
        let t = (at[6] / WEIGHT).exp();
        if !(t > 100.0 && t < 1000.0 && at.iter().all(|value| value.is_finite())) {
            return None;
        }
        let mut value = [0.0; 6];
        let mut change = [[0.0; 7]; 6];
        let x = [0, 3].map(|start| [0, 1, 2].map(|i| at[start + i].exp()));
        let (mut logs, mut warmer) = ([[0.0; 3]; 2], [[0.0; 3]; 2]);
        self.here.warm_to(t + WARMER);
        for k in 0..2 {
            self.here.at.ln_gamma(&x[k], &mut warmer[k]);
        }
        let pressure_warmer = self.here.pressure_over(&x[0], &warmer[0]);
        self.here.warm_to(t);
        let mut slopes = [[0.0; 9]; 2];
        for k in 0..2 {
            self.here.at.ln_gamma(&x[k], &mut logs[k]);
            self.here.at.slopes(&x[k], &mut slopes[k]);
        }
        let by_temperature = t / (WARMER * WEIGHT);
        for i in 0..3 {
            value[i] = at[i] + logs[0][i] - at[3 + i] - logs[1][i];
            for (k, sign) in [(0, 1.0), (1, -1.0)] {
                let whole: f64 = x[k].iter().sum();
                change[i][3 * k + i] += sign;
                for j in 0..3 {
                    change[i][3 * k + j] += sign * slopes[k][3 * i + j] * x[k][j] / whole;
                }
            }
            change[i][6] = (warmer[0][i] - logs[0][i] - warmer[1][i] + logs[1][i]) * by_temperature;
        }
        for k in 0..2 {
            value[3 + k] = x[k].iter().sum::<f64>() - 1.0;
            change[3 + k][3 * k..3 * k + 3].copy_from_slice(&x[k]);
        }
        let mut volatility = [0.0; 3];
        let pressure = self.here.volatilities(&x[0], &logs[0], &mut volatility);
        value[5] = (pressure / self.p).ln();
        let over = [0, 1, 2].map(|i| x[0][i] * volatility[i].exp());
        let whole: f64 = x[0].iter().sum();
        for j in 0..3 {
            let others: f64 = (0..3).map(|i| over[i] * slopes[0][3 * i + j]).sum();
            change[5][j] = (over[j] + others * x[0][j] / whole) / pressure;
        }
        change[5][6] = (pressure_warmer / pressure).ln() * by_temperature;
        let sum: f64 = over.iter().sum();
        Some(Equations { value, change, y: over.map(|over| over / sum) })
    }

    /// The point of the line in the plane through `at` across `onward`.
    fn put_right(&mut self, at: Unknowns, onward: Unknowns) -> Option<Point> {
        let mut now = at;
        for _ in 0..12 {
            let Equations { value, change, y } = self.equations(&now)?;
            let mut matrix = [0.0; 49];
            for (row, change) in change.iter().chain([&onward]).enumerate() {
                matrix[7 * row..7 * row + 7].copy_from_slice(change);
            }
            let worst = value.iter().fold(0.0_f64, |worst, value| worst.max(value.abs()));
            if worst < 1e-11 {
                let mut tangent = [0.0; 7];
                tangent[6] = 1.0;
                solve(&mut matrix, &mut tangent)?;
                let length = tangent.iter().map(|part| part * part).sum::<f64>().sqrt();
                tangent.iter_mut().for_each(|part| *part /= length);
                return Some(self.point(now, tangent, y));
            }
            let mut step = [0.0; 7];
            for (step, value) in step.iter_mut().zip(value) {
                *step = -value;
            }
            step[6] = (0..7).map(|i| onward[i] * (at[i] - now[i])).sum();
            solve(&mut matrix, &mut step)?;
            let longest = step.iter().fold(0.0_f64, |most, step| most.max(step.abs()));
            let scale = if longest > 1.0 { 1.0 / longest } else { 1.0 };
            for (now, step) in now.iter_mut().zip(step) {
                *now += scale * step;
            }
        }
        None
    }

    fn point(&self, at: Unknowns, tangent: Unknowns, y: [f64; 3]) -> Point {
        let [first, second] = [0, 3].map(|start| [0, 1, 2].map(|i| at[start + i].exp()));
        // The area that vapour and liquids span is the same in any two components, but for a sign that must stay.
        let other = usize::from(self.third == 0);
        let way = [second[other] - first[other], second[self.third] - first[self.third]];
        let there = [y[other] - first[other], y[self.third] - first[self.third]];
        let beside = (there[0] * way[1] - there[1] * way[0]) / (first[self.third] + second[self.third]);
        let between = (there[0] * way[0] + there[1] * way[1]) / (way[0] * way[0] + way[1] * way[1]);
        Point { at, tangent, beside, between, y }
    }

    /// The next point, and the length of the step that led to it.
    fn next(&mut self, from: &Point, length: f64) -> Option<(Point, f64)> {
        let mut length = length;
        while length > SHORTEST {
            if let Some(point) = self.along(from, length) {
                // A turn that is too sharp may be another line.
                let along: f64 = (0..7).map(|i| point.tangent[i] * from.tangent[i]).sum();
                let far = (0..7).map(|i| (point.at[i] - from.at[i]).powi(2)).sum::<f64>().sqrt();
                if along > 0.8 && far < 1.5 * length {
                    return Some((point, length));
                }
            }
            length *= 0.4;
        }
        None
    }

    fn along(&mut self, from: &Point, length: f64) -> Option<Point> {
        let mut at = from.at;
        for (at, part) in at.iter_mut().zip(from.tangent) {
            *at += length * part;
        }
        self.put_right(at, from.tangent)
    }

    /// The points where the vapour lies between the two liquids, on the whole line from `start` onward.
    pub(super) fn azeotropes(&mut self, start: Point) -> Vec<Point> {
        let mut found = Vec::new();
        let mut here = start;
        let mut length: f64 = 0.3;
        for _ in 0..STEPS {
            let Some((point, taken)) = self.next(&here, length) else { break };
            if (point.beside > 0.0) != (here.beside > 0.0)
                && let Some(root) = self.root(&here, &point, taken)
                && root.between > 0.0
                && root.between < 1.0
            {
                found.push(root);
            }
            let [first, second] = point.liquids();
            let alike = (0..3).all(|i| (point.at[i] - point.at[3 + i]).abs() < ALIKE);
            if alike || (0..3).any(|i| first[i].max(second[i]) < NONE) {
                break;
            }
            length = (1.6 * taken).min(LONGEST);
            here = point;
        }
        found
    }

    /// The same, both ways from a point amid the line.
    pub(super) fn azeotropes_both_ways(&mut self, start: Point) -> Vec<Point> {
        let mut back = start;
        back.tangent = start.tangent.map(|part| -part);
        let mut found = self.azeotropes(start);
        found.extend(self.azeotropes(back));
        found
    }

    /// Where between two points the vapour lies on the line between the liquids.
    fn root(&mut self, low: &Point, high: &Point, length: f64) -> Option<Point> {
        let (mut a, mut at_a, mut b, mut at_b) = (0.0, low.beside, length, high.beside);
        let mut best = if at_a.abs() < at_b.abs() { *low } else { *high };
        let mut side = 0;
        for _ in 0..60 {
            let middle = (a * at_b - b * at_a) / (at_b - at_a);
            let middle = if middle > a && middle < b { middle } else { 0.5 * (a + b) };
            best = self.along(low, middle)?;
            if best.beside.abs() < 1e-12 || b - a < 1e-12 {
                break;
            }
            if (best.beside > 0.0) == (at_a > 0.0) {
                (a, at_a) = (middle, best.beside);
                if side == 1 {
                    at_b *= 0.5;
                }
                side = 1;
            } else {
                (b, at_b) = (middle, best.beside);
                if side == 2 {
                    at_a *= 0.5;
                }
                side = 2;
            }
        }
        Some(best)
    }
}
