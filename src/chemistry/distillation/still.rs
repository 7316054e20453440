//! The still boils down: amounts in the pot against what has gone over.

use super::plates::Seen;
use super::{Boiling, Column, fractions};
use crate::chemistry::phase::PhaseError;

/// Steps granted to one distillation.
const STEPS: usize = 2000;

/// Rounds granted to finding where the head reaches a temperature, and how near it must come, K.
const ROUNDS: usize = 20;
const MET: f64 = 0.001;

/// Where what lies between is less than this share of what a step may err by, it does not matter where exactly.
const NO_MATTER: f64 = 0.1;

/// The longest step: the part of the pot that is left after it is `exp(-LONGEST)`.
const LONGEST: f64 = 0.5;

/// The shortest step.
const SHORTEST: f64 = 1e-12;

/// A still, and how it is worked.
#[derive(Clone, Copy)]
pub struct Still<'a> {
    /// What a liquid boils at, and its vapour.
    pub boil: Boiling<'a>,
    /// What to add for each substance, by its part in what comes over, to the temperature that the head shows, K:
    /// by how much the pure substance boils above what its equation says. None at all where nobody reads a thermometer
    /// there: nothing is then told of it.
    pub corrections: &'a [f64],
    /// kg/mol of each substance.
    pub molar_masses: &'a [f64],
    /// The column.
    pub column: Column,
    /// Share of the mass of what boils that stays behind, since no still is boiled dry.
    pub held: f64,
    /// Share of the mass of the charge that comes over before the first cut, whatever the thermometer shows.
    pub first: f64,
    /// The warmest that the pot gets, K: what boils only above it stays.
    pub warmest: f64,
    /// What a step may err by, as a share of the charge.
    pub tolerance: f64,
}

/// What came over into one receiver.
#[derive(Clone, Debug, PartialEq)]
pub struct Cut {
    /// mol of each substance.
    pub moles: Vec<f64>,
    /// Temperature at the head when it begins and ends, K; `None` if nothing came over or nobody reads it.
    pub head: Option<(f64, f64)>,
}

/// Why a distillation ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// The head left the last range.
    Above,
    /// The pot was as empty as it may be.
    Empty,
    /// The pot was as warm as it gets.
    Warm,
}

/// A distillation.
#[derive(Clone, Debug, PartialEq)]
pub struct Distilled {
    /// What came over before and between the ranges.
    pub forerun: Cut,
    /// What came over in each range.
    pub cuts: Vec<Cut>,
    /// mol of each substance left in the pot.
    pub residue: Vec<f64>,
    /// Temperature of the pot at first and last, K.
    pub pot: (f64, f64),
    /// Share of the mass of the charge that is over and the temperature at the head then, from the start to the end;
    /// empty where nobody reads it.
    pub course: Vec<(f64, f64)>,
    /// Why it ended.
    pub ended: Ended,
}

/// The pot at one moment: logarithms of the amounts, the rates at which they fall, what the thermometers show, and
/// what is on the plates.
struct Moment {
    logs: Vec<f64>,
    rates: Vec<f64>,
    pot: f64,
    head: f64,
    plates: Seen,
}

fn moles(logs: &[f64]) -> Vec<f64> {
    logs.iter().map(|log| log.exp()).collect()
}

/// The still while it works.
struct Work<'a> {
    still: Still<'a>,
}

/// Temperature of the pot, rates, what comes over, and what is on the plates.
type Rates = (f64, Vec<f64>, Vec<f64>, Seen);

impl Work<'_> {
    /// The rate at which each substance goes while the pot goes down by the share `dτ = −dN/N`: what there is of it
    /// in what comes over against what there is in the pot. The plates are sought from what was on them at a moment
    /// that is behind, so that the answer does not hang on what was tried meanwhile.
    fn rates(&self, logs: &[f64], seen: &Seen) -> Result<Rates, PhaseError> {
        let x = fractions(&moles(logs)).ok_or(PhaseError::BadInput { what: "There is nothing of anything." })?;
        let ((pot, over), plates) = self.still.column.over(self.still.boil, &x, seen)?;
        let rates: Vec<f64> = x.iter().zip(&over).map(|(x, y)| if *x > 0.0 { y / x } else { 0.0 }).collect();
        if !pot.is_finite() || rates.iter().any(|rate| !rate.is_finite()) {
            return Err(PhaseError::NoConvergence { what: "what comes over" });
        }
        Ok((pot, rates, over, plates))
    }

    fn moment(&self, logs: Vec<f64>, (pot, rates, over, plates): Rates) -> Result<Moment, PhaseError> {
        let head = if self.still.corrections.is_empty() {
            f64::NAN
        } else {
            let (shown, _) = (self.still.boil)(&over)?;
            shown + over.iter().zip(self.still.corrections).map(|(y, by)| y * by).sum::<f64>()
        };
        Ok(Moment { logs, rates, pot, head, plates })
    }

    fn moment_at(&self, logs: Vec<f64>, seen: &Seen) -> Result<Moment, PhaseError> {
        let rates = self.rates(&logs, seen)?;
        self.moment(logs, rates)
    }

    fn mass(&self, logs: &[f64]) -> f64 {
        logs.iter().zip(self.still.molar_masses).map(|(log, molar)| log.exp() * molar).sum()
    }

    /// One step: the pot after it, the rates there, and the share of the charge that it may err by.
    fn step(&self, from: &Moment, step: f64, charge: &[f64]) -> Result<(Vec<f64>, Rates, f64), PhaseError> {
        let one = &from.rates;
        let (_, two, _, half) = self.rates(&after(&from.logs, step, &[(0.5, one)]), &from.plates)?;
        let (_, three, _, most) = self.rates(&after(&from.logs, step, &[(0.75, &two)]), &half)?;
        let logs = after(&from.logs, step, &[(2.0 / 9.0, one), (1.0 / 3.0, &two), (4.0 / 9.0, &three)]);
        let last = self.rates(&logs, &most)?;
        let four = &last.1;
        let other = after(&from.logs, step, &[(7.0 / 24.0, one), (0.25, &two), (1.0 / 3.0, &three), (0.125, four)]);
        let whole: f64 = charge.iter().sum();
        // A trace need be right only against itself, and there a thousand times less.
        let weigh = |log: f64, charged: f64| log.exp() * (1.0 / whole + 1e-3 / charged);
        let differ = logs.iter().zip(&other).zip(charge).filter(|(_, charged)| **charged > 0.0);
        let error = differ.map(|((a, b), charged)| (a - b).abs() * weigh(*a, *charged)).fold(0.0, f64::max);
        Ok((logs, last, error))
    }
}

/// `logs` after `step` at the rates, in the stated parts.
fn after(logs: &[f64], step: f64, parts: &[(f64, &Vec<f64>)]) -> Vec<f64> {
    let mut out = logs.to_vec();
    for (part, rates) in parts {
        out.iter_mut().zip(*rates).for_each(|(log, rate)| *log -= step * part * rate);
    }
    out
}

/// What lies between two moments.
struct Stretch<'a> {
    from: &'a Moment,
    to: &'a Moment,
    step: f64,
}

impl Stretch<'_> {
    /// The pot when the part `at` of the stretch is over, by the cubic that has the values and slopes of its ends, the
    /// slopes no steeper than keeps it falling all the way (Fritsch and Carlson 1980).
    fn logs(&self, at: f64) -> Vec<f64> {
        let (square, cube) = (at * at, at * at * at);
        let bend = (cube - 2.0 * square + at, cube - square);
        let ends = self.from.logs.iter().zip(&self.from.rates).zip(self.to.logs.iter().zip(&self.to.rates));
        ends.map(|((a, fall_a), (b, fall_b))| {
            let fall = a - b;
            let slope = |rate: &f64| (self.step * rate).clamp(0.0, 3.0 * fall.max(0.0));
            let shape = (3.0 * square - 2.0 * cube) * fall + bend.0 * slope(fall_a) + bend.1 * slope(fall_b);
            if a.is_finite() { a - shape } else { *a }
        })
        .collect()
    }

    /// The part of the stretch, from `least` on, after which `gone` is true for good.
    fn since(&self, least: f64, gone: impl Fn(&[f64]) -> bool) -> f64 {
        if gone(&self.logs(least)) {
            return least;
        }
        let (mut low, mut high) = (least, 1.0);
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if gone(&self.logs(middle)) { high = middle } else { low = middle }
        }
        high
    }

    /// The part of the stretch at which a thermometer reaches `limit`, from `low` on, and what it shows there, if that is
    /// found.
    fn reaches(&self, work: &Work<'_>, shows: fn(&Moment) -> f64, limit: f64, low: (f64, f64)) -> (f64, Option<f64>) {
        let (mut low, mut high) = (low, (1.0, shows(self.to)));
        if low.1 >= limit {
            return (low.0, Some(low.1));
        }
        for round in 0..ROUNDS {
            // Straight between the ends, and now and then halves, so that one end does not stay for ever.
            let straight = low.0 + (high.0 - low.0) * ((limit - low.1) / (high.1 - low.1)).clamp(0.05, 0.95);
            let at = if round % 3 == 2 { 0.5 * (low.0 + high.0) } else { straight };
            let moment = work.moment_at(self.logs(at), &self.from.plates).or_else(|_| work.moment_at(self.logs(at), &self.to.plates));
            // Where the plates are not found there, what lies between is less than a step may err by.
            let Ok(moment) = moment else { return (at, None) };
            let shown = shows(&moment);
            if (shown - limit).abs() < MET || (high.0 - low.0) * self.step < work.still.tolerance * NO_MATTER {
                return (at, Some(shown));
            }
            if shown < limit { low = (at, shown) } else { high = (at, shown) }
        }
        (high.0, Some(high.1))
    }
}

/// The receivers, and which of them is in place.
struct Receivers {
    forerun: Cut,
    cuts: Vec<Cut>,
    /// The receiver changes at each of these, K; in place after the first, third and so on is that of a cut.
    limits: Vec<f64>,
    passed: usize,
}

impl Receivers {
    fn collect(&mut self, from: &[f64], to: &[f64], head: (f64, f64)) {
        let cut = match self.passed.checked_sub(1) {
            _ if self.limits.is_empty() => self.cuts.first_mut(),
            Some(place) if place % 2 == 0 => self.cuts.get_mut(place / 2),
            _ => Some(&mut self.forerun),
        };
        let Some(cut) = cut else { return };
        for (moles, (from, to)) in cut.moles.iter_mut().zip(from.iter().zip(to)) {
            *moles += from - to;
        }
        if !head.1.is_nan() {
            cut.head = Some((cut.head.map_or(head.0, |(first, _)| first), head.1));
        }
    }
}

/// Works a still until the head leaves the last of `ranges`, which rise, or the pot is as empty as it may be.
/// Without ranges all that comes over is the one cut.
///
/// The pot is followed by its logarithm, in steps of third order with one of second beside it to judge them
/// (Bogacki and Shampine 1989), so that traces that fly off at once need no small steps. What comes over is what
/// the pot loses, so that nothing is lost.
///
/// # Errors
///
/// `BadInput` for amounts or ranges that make no sense or a charge that does not boil; what the boiling says;
/// `NoConvergence` if the steps granted do not suffice.
pub fn distil(still: Still<'_>, charge: &[f64], ranges: &[(f64, f64)]) -> Result<Distilled, PhaseError> {
    let watched = !still.corrections.is_empty();
    let sound = charge.len() == still.molar_masses.len()
        && (watched || ranges.is_empty())
        && charge.iter().all(|moles| moles.is_finite() && *moles >= 0.0);
    let rising = ranges.iter().all(|(low, top)| low <= top) && ranges.windows(2).all(|pair| matches!(pair, [a, b] if a.1 <= b.0));
    if !sound || !rising || still.tolerance.is_nan() || still.tolerance <= 0.0 {
        return Err(PhaseError::BadInput { what: "The charge or the ranges of a distillation make no sense." });
    }
    let work = Work { still };
    let mut here = work.moment_at(charge.iter().map(|moles| moles.ln()).collect(), &Seen::default())?;
    // What does not boil at first never will.
    let boils: Vec<f64> = here.rates.iter().zip(still.molar_masses).map(|(rate, molar)| if *rate > 0.0 { *molar } else { 0.0 }).collect();
    let boiling = |logs: &[f64]| -> f64 { logs.iter().zip(&boils).map(|(log, molar)| log.exp() * molar).sum() };
    let keep = still.held.max(1e-9) * boiling(&here.logs);
    let charged = work.mass(&here.logs);
    let nothing = Cut { moles: vec![0.0; charge.len()], head: None };
    let mut receivers = Receivers {
        forerun: nothing.clone(),
        cuts: vec![nothing; ranges.len().max(1)],
        limits: ranges.iter().flat_map(|(low, top)| [*low, *top]).collect(),
        passed: 0,
    };
    let mut course = if watched { vec![(0.0, here.head)] } else { Vec::new() };
    let pot_first = here.pot;
    if here.pot >= still.warmest {
        let Receivers { forerun, cuts, .. } = receivers;
        return Ok(Distilled { forerun, cuts, residue: charge.to_vec(), pot: (pot_first, pot_first), course, ended: Ended::Warm });
    }
    let mut size = 0.02;
    for _ in 0..STEPS {
        let (logs, last, error) = match work.step(&here, size, charge) {
            Ok(step) => step,
            Err(why) if size <= SHORTEST => return Err(why),
            Err(_) => {
                size *= 0.1;
                continue;
            }
        };
        let by = (0.9 * (error / still.tolerance).max(1e-9).powf(-1.0 / 3.0)).clamp(0.2, 4.0);
        let mut step = size;
        size = (size * by).clamp(SHORTEST, LONGEST);
        if error > still.tolerance && step > SHORTEST {
            continue;
        }
        let mut next = match work.moment(logs, last) {
            Ok(next) => next,
            Err(why) if step <= SHORTEST => return Err(why),
            Err(_) => {
                size = 0.1 * step;
                continue;
            }
        };
        let mut ended = None;
        if boiling(&next.logs) <= keep {
            let stretch = Stretch { from: &here, to: &next, step };
            let part = stretch.since(0.0, |logs| boiling(logs) <= keep);
            next = work.moment_at(stretch.logs(part), &here.plates)?;
            step *= part;
            ended = Some(Ended::Empty);
        }
        if next.pot > still.warmest {
            let stretch = Stretch { from: &here, to: &next, step };
            let (part, _) = stretch.reaches(&work, |moment| moment.pot, still.warmest, (0.0, here.pot));
            next = work.moment_at(stretch.logs(part), &here.plates)?;
            step *= part;
            ended = Some(Ended::Warm);
        }
        let stretch = Stretch { from: &here, to: &next, step };
        let (mut done, mut head, mut left) = (0.0, here.head, moles(&here.logs));
        while let Some(limit) = receivers.limits.get(receivers.passed).copied() {
            let first = if receivers.passed == 0 { still.first } else { 0.0 };
            if next.head < limit || 1.0 - work.mass(&next.logs) / charged < first {
                break;
            }
            let (reached, seen) = stretch.reaches(&work, |moment| moment.head, limit, (done, head));
            let at = stretch.since(reached, |logs| 1.0 - work.mass(logs) / charged >= first);
            if at > done {
                let to = moles(&stretch.logs(at));
                let shows = match seen {
                    Some(seen) if at == reached => seen,
                    _ if at < 1.0 => work.moment_at(stretch.logs(at), &here.plates).map_or(limit, |moment| moment.head),
                    _ => next.head,
                };
                receivers.collect(&left, &to, (head, shows));
                (done, head, left) = (at, shows, to);
            }
            receivers.passed += 1;
        }
        if !receivers.limits.is_empty() && receivers.passed == receivers.limits.len() {
            ended = Some(Ended::Above);
            let pot = here.pot + done * (next.pot - here.pot);
            next = Moment { logs: stretch.logs(done), rates: Vec::new(), pot, head, plates: Seen::default() };
        } else {
            receivers.collect(&left, &moles(&next.logs), (head, next.head));
            left = moles(&next.logs);
        }
        if watched {
            course.push((1.0 - work.mass(&next.logs) / charged, next.head));
        }
        here = next;
        if let Some(ended) = ended {
            let Receivers { forerun, cuts, .. } = receivers;
            return Ok(Distilled { forerun, cuts, residue: left, pot: (pot_first, here.pot), course, ended });
        }
    }
    Err(PhaseError::NoConvergence { what: "the end of a distillation" })
}
