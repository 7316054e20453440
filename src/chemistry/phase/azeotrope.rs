//! Azeotropes of two and of three components.

use super::boil::boil_present;
use super::here::{Here, bubble_temperature, unit};
use super::parting::{Phase, part};
use super::three::of_three;
use super::{Liquid, PhaseError, System};

/// Whether the boiling liquid is one or several.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// One liquid of the vapour's composition.
    Homogeneous,
    /// Two liquids that together have the vapour's composition.
    Heterogeneous,
}

/// What the boiling temperature is among those of the mixtures of the members around.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Extremum {
    /// The lowest.
    Minimum,
    /// The highest.
    Maximum,
    /// Neither.
    Saddle,
}

/// A mixture that boils without change of composition.
#[derive(Clone, Debug, PartialEq)]
pub struct Azeotrope {
    /// The places of its components, in rising order.
    pub members: Vec<usize>,
    /// Temperature, K.
    pub t: f64,
    /// Its composition, of all components of the mixture; zero for those that are no members.
    pub y: Vec<f64>,
    /// One liquid or several.
    pub kind: Kind,
    /// Among the mixtures around it.
    pub extremum: Extremum,
    /// The liquids, the largest first.
    pub liquids: Vec<Liquid>,
}

/// An azeotrope in terms of its members alone.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub(super) t: f64,
    pub(super) y: Vec<f64>,
    pub(super) extremum: Extremum,
    /// The compositions of the liquids and their shares.
    pub(super) liquids: Vec<(f64, Vec<f64>)>,
}

/// Two liquids of two components that boil together.
#[derive(Clone, Debug)]
pub(super) struct Gap {
    pub(super) t: f64,
    pub(super) liquids: [Vec<f64>; 2],
}

/// What there is to know of two components.
#[derive(Clone, Debug, Default)]
pub(super) struct OfTwo {
    pub(super) azeotropes: Vec<Found>,
    pub(super) gap: Option<Gap>,
}

/// Compositions are scanned between these logarithms of the ratio of the two, and in this many steps.
const REACH: f64 = 14.0;
const SCAN: usize = 48;

impl System {
    /// Every azeotrope at `p` of two and of three components that boil; between 100 Pa and 2 bar the search
    /// has been tried.
    ///
    /// A component of which there is less than one part in a million is not looked for.
    ///
    /// # Errors
    ///
    /// As for [`System::boil`].
    pub fn azeotropes(&self, p: f64) -> Result<Vec<Azeotrope>, PhaseError> {
        self.pressure(p)?;
        if self.activity.len() != self.len() {
            return Err(PhaseError::BadInput { what: "There are not as many amounts or activities as components." });
        }
        let volatile = self.components.iter().enumerate().filter(|(_, component)| component.vapour.is_some());
        let volatile: Vec<usize> = volatile.map(|(place, _)| place).collect();
        let mut found = Vec::new();
        let mut pairs: Vec<([usize; 2], OfTwo)> = Vec::new();
        for (at, first) in volatile.iter().enumerate() {
            for second in volatile.iter().skip(at + 1) {
                let two = of_two(&self.subset(&[*first, *second]), p)?;
                found.extend(two.azeotropes.iter().map(|azeotrope| self.tell(&[*first, *second], azeotrope)));
                pairs.push(([*first, *second], two));
            }
        }
        let pair = |first: usize, second: usize| pairs.iter().find(|(members, _)| *members == [first, second]).map(|(_, two)| two);
        for (at, first) in volatile.iter().enumerate() {
            for (further, second) in volatile.iter().enumerate().skip(at + 1) {
                for third in volatile.iter().skip(further + 1) {
                    let members = [*first, *second, *third];
                    let edges = [pair(*first, *second), pair(*first, *third), pair(*second, *third)];
                    let three = of_three(&self.subset(&members), p, edges)?;
                    found.extend(three.iter().map(|azeotrope| self.tell(&members, azeotrope)));
                }
            }
        }
        Ok(found)
    }

    fn tell(&self, members: &[usize], found: &Found) -> Azeotrope {
        let spread = |values: &[f64]| -> Vec<f64> {
            let mut all = vec![0.0; self.len()];
            for (member, value) in members.iter().zip(values) {
                if let Some(place) = all.get_mut(*member) {
                    *place = *value;
                }
            }
            all
        };
        let mut at = self.activity.at(found.t);
        let mut liquids: Vec<Liquid> = found
            .liquids
            .iter()
            .map(|(share, x)| {
                let x = spread(x);
                let mut gamma = vec![0.0; self.len()];
                at.ln_gamma(&x, &mut gamma);
                gamma.iter_mut().for_each(|log| *log = log.exp());
                Liquid { share: *share, x, gamma }
            })
            .collect();
        liquids.sort_by(|a, b| b.share.total_cmp(&a.share));
        Azeotrope {
            members: members.to_vec(),
            t: found.t,
            y: spread(&found.y),
            kind: if liquids.len() > 1 { Kind::Heterogeneous } else { Kind::Homogeneous },
            extremum: found.extremum,
            liquids,
        }
    }
}

pub(super) fn liquids_of(phases: &[Phase]) -> Vec<(f64, Vec<f64>)> {
    phases.iter().map(|phase| (phase.whole(), phase.fractions())).collect()
}

/// The composition whose logarithm of the ratio of first to second this is.
fn of_ratio(log: f64) -> [f64; 2] {
    [1.0 / (1.0 + (-log).exp()), 1.0 / (1.0 + log.exp())]
}

/// The curve of two components boiling as one liquid.
struct Curve<'a> {
    here: Here<'a>,
    p: f64,
    t: f64,
}

impl Curve<'_> {
    /// `ln(K1/K2)`, and how `ln(a1/a2)` changes with the logarithm of the ratio: below zero no liquid is stable.
    fn at(&mut self, log: f64) -> Result<(f64, f64), PhaseError> {
        let x = of_ratio(log);
        self.t = bubble_temperature(&mut self.here, &x, self.p, self.t)?;
        let mut logs = [0.0; 2];
        self.here.at.ln_gamma(&x, &mut logs);
        let mut k = [0.0; 2];
        self.here.volatilities(&x, &logs, &mut k);
        let mut slopes = [0.0; 4];
        self.here.at.slopes(&x, &mut slopes);
        let ([first, second], [a, b, c, d], [k1, k2]) = (x, slopes, k);
        Ok((k1 - k2, 1.0 + first * second * (a - b - c + d)))
    }

    /// The ratio between two at which one of the two figures is zero.
    fn root(&mut self, low: (f64, f64), high: (f64, f64)) -> Result<f64, PhaseError> {
        let ((mut low, mut below), (mut high, mut above)) = (low, high);
        // Regula falsi with the kept end halved (Illinois), never more than so many steps.
        let mut side = 0;
        for _ in 0..100 {
            let mut middle = (low * above - high * below) / (above - below);
            if !(middle > low && middle < high) {
                middle = 0.5 * (low + high);
            }
            let value = self.at(middle)?.0;
            if value == 0.0 || high - low < 1e-13 || (middle - low).min(high - middle) < 1e-14 {
                return Ok(middle);
            }
            if (value > 0.0) == (below > 0.0) {
                (low, below) = (middle, value);
                if side == 1 {
                    above *= 0.5;
                }
                side = 1;
            } else {
                (high, above) = (middle, value);
                if side == 2 {
                    below *= 0.5;
                }
                side = 2;
            }
            if value.abs() < 1e-12 {
                return Ok(middle);
            }
        }
        Ok(0.5 * (low + high))
    }

    /// The least of a figure between two ratios, by golden sections; stops at the first value that is no longer above zero.
    fn least(&mut self, low: f64, high: f64, figure: impl Fn((f64, f64)) -> f64) -> Result<(f64, f64), PhaseError> {
        const GOLDEN: f64 = 0.381_966_011_250_105;
        let (mut low, mut high) = (low, high);
        let (mut a, mut b) = (low + GOLDEN * (high - low), high - GOLDEN * (high - low));
        let (mut at_a, mut at_b) = (figure(self.at(a)?), figure(self.at(b)?));
        for _ in 0..24 {
            if at_a.min(at_b) <= 0.0 {
                break;
            }
            if at_a < at_b {
                (high, b, at_b) = (b, a, at_a);
                a = low + GOLDEN * (high - low);
                at_a = figure(self.at(a)?);
            } else {
                (low, a, at_a) = (a, b, at_b);
                b = high - GOLDEN * (high - low);
                at_b = figure(self.at(b)?);
            }
        }
        Ok(if at_a < at_b { (a, at_a) } else { (b, at_b) })
    }
}

/// A point of the scan: the logarithm of the ratio and the two figures.
type Point = (f64, f64, f64);

/// The azeotropes of a system of two components that boil, and its gap.
fn of_two(system: &System, p: f64) -> Result<OfTwo, PhaseError> {
    let start = of_ratio(-REACH);
    let guess = system.boiling_guess(&start, p)?;
    let mut curve = Curve { here: Here::new(system, guess), p, t: guess };
    let mut points: Vec<Point> = Vec::with_capacity(SCAN + 3);
    for step in 0..=SCAN {
        let log = REACH * (2.0 * step as f64 / SCAN as f64 - 1.0);
        let (volatility, stable) = curve.at(log)?;
        points.push((log, volatility, stable));
    }
    // Two roots between two points hide each other: where the figure comes close to zero its least is looked for.
    let mut further: Vec<Point> = Vec::new();
    let mut unstable: Option<f64> = points.iter().filter(|(_, _, stable)| *stable <= 0.0).map(|(log, ..)| *log).next();
    for three in points.windows(3) {
        let [(low, before, bend_before), (_, middle, bend), (high, after, bend_after)] = three else { continue };
        let sign = middle.signum();
        if before.signum() == sign
            && after.signum() == sign
            && middle.abs() < before.abs()
            && middle.abs() <= after.abs()
            && middle.abs() < 0.5
        {
            let (log, least) = curve.least(*low, *high, |(volatility, _)| sign * volatility)?;
            if least <= 0.0 {
                further.push((log, sign * least, 1.0));
            }
        }
        if unstable.is_none() && *bend < 0.5 && bend < bend_before && bend <= bend_after {
            let (log, least) = curve.least(*low, *high, |(_, stable)| stable)?;
            if least <= 0.0 {
                unstable = Some(log);
            }
        }
    }
    points.extend(further);
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut two = OfTwo::default();
    let mut between = None;
    for pair in points.windows(2) {
        let [(low, below, _), (high, above, _)] = pair else { continue };
        // A figure of exactly zero belongs to the interval that it ends.
        if (*below > 0.0) == (*above > 0.0) || *below == 0.0 {
            continue;
        }
        let log = curve.root((*low, *below), (*high, *above))?;
        let x = of_ratio(log);
        curve.at(log)?;
        let t = curve.t;
        curve.here.warm_to(t);
        let phases = part(&mut curve.here, &x, None, &[])?;
        if phases.len() > 1 {
            between = between.or(Some(log));
            continue;
        }
        let extremum = if *below > 0.0 { Extremum::Minimum } else { Extremum::Maximum };
        two.azeotropes.push(Found { t, y: x.to_vec(), extremum, liquids: liquids_of(&phases) });
    }
    if let Some(log) = between.or(unstable) {
        let (t, phases, y) = boil_present(system, &of_ratio(log), p, curve.t)?;
        if let [first, second] = phases.as_slice() {
            let liquids = [first.fractions(), second.fractions()];
            if let ([a, _], [b, _], [y_first, _]) = (liquids[0].as_slice(), liquids[1].as_slice(), y.as_slice()) {
                let share = (y_first - b) / (a - b);
                if share > 0.0 && share < 1.0 {
                    let shares = vec![(share, liquids[0].clone()), (1.0 - share, liquids[1].clone())];
                    two.azeotropes.push(Found { t, y, extremum: Extremum::Minimum, liquids: shares });
                }
            }
            two.gap = Some(Gap { t, liquids });
        }
    }
    Ok(two)
}

/// What an azeotrope of three is among the mixtures around, by the curvature of the boiling temperature.
///
/// With two liquids there is none along the line between them. Beside them, what is richer in either boils
/// hotter, so that the hottest point where both boil is a saddle.
pub(super) fn extremum_of(system: &System, p: f64, t: f64, y: &[f64], liquids: usize) -> Result<Extremum, PhaseError> {
    /// How far around, in logarithms of ratios.
    const AROUND: f64 = 0.02;
    let around = |u: f64, v: f64| -> Result<f64, PhaseError> {
        let moved: Vec<f64> = y.iter().zip([u, v, 0.0]).map(|(y, shift)| y * (AROUND * shift).exp()).collect();
        let moved = unit(&moved).ok_or(PhaseError::NoConvergence { what: "an azeotrope" })?;
        Ok(boil_present(system, &moved, p, t)?.0 - t)
    };
    let first = around(1.0, 0.0)? + around(-1.0, 0.0)?;
    let second = around(0.0, 1.0)? + around(0.0, -1.0)?;
    let mixed = 0.5 * (around(1.0, 1.0)? + around(-1.0, -1.0)? - first - second);
    Ok(if liquids > 1 {
        if first + second < 0.0 { Extremum::Saddle } else { Extremum::Minimum }
    } else if first * second < mixed * mixed {
        Extremum::Saddle
    } else if first + second < 0.0 {
        Extremum::Maximum
    } else {
        Extremum::Minimum
    })
}
