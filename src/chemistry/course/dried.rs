//! The dried return: what boils off is condensed onto a bed that takes up water, and runs back.

use super::cycle::Cycle;
use super::flask::{Equilibria, Flask, Heating, Substances};
use super::reaction::{Besides, Reaction, equilibrium};
use crate::chemistry::solve::SolveError;

/// Steps granted to one course.
const MOST_STEPS: usize = 20_000;

/// Share of the bed's capacity, or of what can be reached, at which a course counts as at its end.
const END: f64 = 0.9999;

/// Share of what can be reached that is looked for beyond the stated time.
const ENOUGH: f64 = 0.99;

/// Share of what fills the extractor that comes over in a step at most: the average over a filling takes straight lines
/// between the steps.
const FILLS: f64 = 0.25;

/// Two times that differ by no more than this share are the same.
pub(super) const NEAR: f64 = 1e-12;

/// Share of what can be reached by which the last hour must still have moved for the course to go on.
const STILL: f64 = 1e-6;

/// A bed of drying agent in the way of the condensate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bed {
    /// Water that it can still take up, mol.
    pub capacity: f64,
    /// Time in which it takes up all but 1/e of the water around it while it is fresh, s.
    pub time: f64,
    /// Liquid around it when the siphon runs over, m³; `None`: the condensate runs through it and back at once.
    pub siphon: Option<f64>,
    /// Liquid that stays with it when it is drained, or through which what runs through it passes, m³.
    pub keeps: f64,
}

/// Share of what fills the extractor that a bed keeps at most when it is drained: one that would keep more hardly lets the
/// siphon run, and what comes over then leaves drop by drop, which is as good as many small fillings.
const MOST_KEPT: f64 = 0.5;

impl Bed {
    /// Liquid that is reckoned to stay with it when the siphon has run over, m³.
    fn stays(&self) -> f64 {
        self.siphon.map_or(self.keeps, |siphon| self.keeps.min(MOST_KEPT * siphon))
    }

    /// Whether it keeps so much that it is reckoned to keep less.
    #[must_use]
    pub fn hardly_drains(&self) -> bool {
        self.stays() < self.keeps
    }
}

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The charge, mol.
    pub charge: &'a [f64],
    /// What goes on in it.
    pub reactions: &'a [Reaction],
    /// Figures of the substances.
    pub substances: &'a Substances,
    /// What makes it boil.
    pub heating: Heating,
    /// The bed.
    pub bed: Bed,
    /// How long it is followed at most, s.
    pub time: f64,
    /// The time at which it is looked at, and after which it is followed only until 99 % of what can be reached is there, s.
    pub stated: f64,
    /// How much finer than usual the steps are; 1 as usual.
    pub finer: f64,
}

/// How things stand at one time.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// s from the first drop.
    pub time: f64,
    /// Temperature in the flask, K.
    pub t: f64,
    /// Liquid in the flask, m³.
    pub volume: f64,
    /// Water in the flask, mol.
    pub water: f64,
    /// Water on the bed, or parted in the trap, mol.
    pub taken: f64,
    /// How far each reaction has gone, mol.
    pub extents: Vec<f64>,
    /// How often the siphon has run over, or volume of the water layer in m³.
    pub count: f64,
}

/// How everything stands at one time.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// The figures.
    pub row: Row,
    /// What is in the flask, mol.
    pub flask: Vec<f64>,
    /// What is around the bed, or stands beside the parted layer in the trap, mol.
    pub apart: Vec<f64>,
    /// What has gone over to the bed in all, or has parted in the trap, mol.
    pub passed: Vec<f64>,
    /// The vapour over the flask, in mole fractions.
    pub vapour: Vec<f64>,
}

impl State {
    /// What is in the flask and over it is now so; what is apart and what has passed stays.
    pub(super) fn becomes(&mut self, row: Row, flask: &Flask<'_>) {
        self.row = row;
        self.flask.clone_from(&flask.n);
        self.vapour.clone_from(&flask.over.y);
    }
}

/// What a dried return comes to.
#[derive(Clone, Debug)]
pub struct Course {
    /// From the first drop on.
    pub rows: Vec<Row>,
    /// How it stands when it begins to boil.
    pub first: State,
    /// How it stands at the stated time, or at the end where that comes before; once the siphon has run over, on average
    /// over the filling of the extractor around that time.
    pub stated: State,
    /// The least and the greatest extent of the first reaction during the filling over which is averaged, mol.
    pub span: Option<(f64, f64)>,
    /// How it stands at the end.
    pub end: State,
    /// Water that the bed would hold after any time, mol.
    pub reach: f64,
    /// How far each reaction would go after any time, mol.
    pub reach_extents: Vec<f64>,
    /// Least liquid that was in the flask, m³, and when, s.
    pub least: (f64, f64),
    /// Whether the flask ran dry before the siphon ran over.
    pub ran_dry: bool,
    /// The time after which nothing more happens, where that was met, s.
    pub rest: Option<f64>,
}

/// Follows a dried return.
///
/// Water on the bed changes by less than 0.5 % of what can be reached, and extents by less than 0.5 % of all the water,
/// when steps are made finer. A bed that keeps more than half of what fills the extractor is reckoned to keep half of it.
/// Amounts close to rounding.
///
/// # Errors
/// `BadInput` for figures that make no sense; what the equilibria or the reactions say; `NoConvergence` where the
/// steps granted do not suffice.
pub fn follow(question: &Question<'_>, equilibria: &mut dyn Equilibria) -> Result<Course, SolveError> {
    let Question { charge, reactions, substances, heating, bed, time, stated, finer } = question;
    let figures = [bed.capacity, bed.keeps, *time, bed.siphon.unwrap_or(1.0)];
    let times = stated.is_finite() && bed.time > 0.0;
    if !figures.iter().all(|figure| figure.is_finite() && *figure >= 0.0) || !times {
        return Err(SolveError::bad("A figure of the bed is not a number at least zero."));
    }
    let mut flask = Flask::new(charge, reactions, substances, *heating, *finer, equilibria)?;
    let (reach, reach_extents) = limit(question, equilibria)?;
    let water = substances.water;
    let of_water = |n: &[f64]| n.get(water).copied().unwrap_or(0.0);
    let begins = row(0.0, &flask, of_water(&flask.n), 0.0, 0.0);
    let nothing = vec![0.0; charge.len()];
    let mut here =
        State { row: begins.clone(), flask: flask.n.clone(), apart: nothing.clone(), passed: nothing, vapour: flask.over.y.clone() };
    let mut course = Course {
        rows: vec![begins],
        first: here.clone(),
        stated: here.clone(),
        span: None,
        end: here.clone(),
        reach,
        reach_extents,
        least: (flask.volume(), 0.0),
        ran_dry: false,
        rest: None,
    };
    let threshold = bed.siphon.unwrap_or(f64::INFINITY).max(1e-9);
    let (mut now, mut taken, mut cycles) = (0.0, 0.0, 0.0);
    let mut mark = (0.0, 0.0, flask.extents.clone());
    let mut cycle = Cycle::new(*stated, &here);
    for _ in 0..MOST_STEPS {
        let before_stated = now <= *stated * (1.0 + NEAR);
        if before_stated {
            course.stated = here.clone();
        }
        let enough = now >= *stated && course.reach > 0.0 && taken >= ENOUGH * course.reach;
        let ends = (now >= *time * (1.0 - NEAR) || enough) && (bed.siphon.is_none() || cycle.is_complete());
        if ends || course.ran_dry || course.rest.is_some() {
            course.end = here;
            if let Some(average) = cycle.average(course.rest.is_some_and(|rest| rest <= *stated)) {
                let Row { time, count, .. } = course.stated.row;
                course.stated = average.state;
                course.stated.row = Row { time, count, ..course.stated.row };
                course.span = average.span;
            }
            return Ok(course);
        }
        let room = (threshold - substances.volume(&here.apart)).min(FILLS * threshold / finer).max(1e-3 * threshold);
        let step = flask.step(bed.siphon.is_none()).min(until(now, *stated, *time));
        let mut got = 0.0;
        let mut run_through = |condensate: &[f64], time: f64, _: &mut dyn Equilibria| {
            if bed.siphon.is_some() {
                return Ok(Vec::new());
            }
            got = caught(bed, taken, of_water(condensate), substances.volume(condensate), time);
            let mut returns = condensate.to_vec();
            returns.iter_mut().skip(water).take(1).for_each(|water| *water -= got);
            Ok(returns)
        };
        let stepped = flask.boil(step, room, equilibria, &mut run_through)?;
        now += stepped.time;
        here.passed.iter_mut().zip(&stepped.condensate).for_each(|(passed, own)| *passed += own);
        if bed.siphon.is_some() {
            got = uptake(bed, taken, of_water(&here.apart), of_water(&stepped.condensate), stepped.time);
            here.apart.iter_mut().zip(&stepped.condensate).for_each(|(around, own)| *around += own);
            here.apart.iter_mut().skip(water).take(1).for_each(|water| *water -= got);
        }
        taken += got;
        let filled = substances.volume(&here.apart);
        let empties = filled >= 0.999 * threshold;
        if flask.volume() < course.least.0 {
            course.least = (flask.volume(), now);
        }
        let volatile: f64 = flask.n.iter().zip(&flask.over.y).filter(|(_, y)| **y > 1e-9).map(|(n, _)| n).sum();
        if volatile < 0.02 * (volatile + here.apart.iter().sum::<f64>()) && !empties {
            course.ran_dry = true;
        } else if empties {
            here.becomes(row(now, &flask, of_water(&flask.n), taken, cycles), &flask);
            course.rows.push(here.row.clone());
            cycle.note(&here);
            cycle.runs_over(now);
            let stays = (bed.stays() / filled).min(1.0);
            for (around, n) in here.apart.iter_mut().zip(&mut flask.n) {
                *n += *around * (1.0 - stays);
                *around *= stays;
            }
            cycles += 1.0;
            flask.renew(equilibria)?;
        }
        here.becomes(row(now, &flask, of_water(&flask.n), taken, cycles), &flask);
        course.rows.push(here.row.clone());
        if bed.siphon.is_some() {
            cycle.note(&here);
        }
        // An hour in which nothing moves, seen each time the siphon has run over, is the end of it.
        if now - mark.0 >= 3600.0 && (empties || bed.siphon.is_none()) {
            let scale =
                course.reach_extents.iter().fold(course.reach, |scale, own| scale.max(own.abs())).max(1e-6 * charge.iter().sum::<f64>());
            let moved = flask.extents.iter().zip(&mark.2).map(|(now, then)| (now - then).abs()).fold((taken - mark.1).abs(), f64::max);
            if moved < STILL * scale || (taken > END * course.reach && course.reach > 0.0 && moved < 1e-3 * scale) {
                course.rest = Some(mark.0);
            }
            mark = (now, taken, flask.extents.clone());
        }
    }
    Err(SolveError::NoConvergence { iterations: MOST_STEPS, last: now })
}

/// Time until a step has to end, s: at the stated time it is looked at how things stand. None has to end after the last.
pub(super) fn until(now: f64, stated: f64, time: f64) -> f64 {
    if now < stated * (1.0 - NEAR) {
        stated.min(time) - now
    } else if now < time * (1.0 - NEAR) {
        time - now
    } else {
        f64::INFINITY
    }
}

fn row(time: f64, flask: &Flask<'_>, water: f64, taken: f64, count: f64) -> Row {
    Row { time, t: flask.over.t, volume: flask.volume(), water, taken, extents: flask.extents.clone(), count }
}

/// Water that the bed takes up in a step: in proportion to what is around it and to the room that is left.
fn uptake(bed: &Bed, taken: f64, before: f64, arrives: f64, time: f64) -> f64 {
    let left = bed.capacity - taken;
    if left <= 0.0 || before + arrives <= 0.0 {
        return 0.0;
    }
    let mut got = 0.0;
    for _ in 0..3 {
        // The room in the middle of the step.
        let speed = ((left - 0.5 * got) / bed.capacity).max(0.0) / bed.time;
        let fading = (-speed * time).exp();
        let brought = if speed * time > 1e-9 { (1.0 - fading) / (speed * time) } else { 1.0 };
        got = (before * (1.0 - fading) + arrives * (1.0 - brought)).clamp(0.0, left);
    }
    got
}

/// Water that a bed takes up from what runs through the liquid that it holds.
fn caught(bed: &Bed, taken: f64, arrives: f64, volume: f64, time: f64) -> f64 {
    let left = bed.capacity - taken;
    if left <= 0.0 || arrives <= 0.0 || time <= 0.0 || bed.keeps <= 0.0 {
        return 0.0;
    }
    let washed = volume / time / bed.keeps;
    let mut got = 0.0;
    for _ in 0..3 {
        let speed = ((left - 0.5 * got) / bed.capacity).max(0.0) / bed.time;
        got = (arrives * speed / (speed + washed)).clamp(0.0, left);
    }
    got
}

/// Water on the bed and extents after any time: all of the water if it has room, else its capacity.
fn limit(question: &Question<'_>, equilibria: &mut dyn Equilibria) -> Result<(f64, Vec<f64>), SolveError> {
    let water = question.substances.water;
    let mut constants =
        |n: &mut Vec<f64>, besides| equilibrium(n, question.reactions, besides, &mut |n| equilibria.vapour(n).map(|over| over.gammas));
    let mut n = question.charge.to_vec();
    let mut extents = constants(&mut n, Some(Besides::Kept(water, 1e-15)))?;
    let all = n.get(water).copied().unwrap_or(0.0);
    if all <= question.bed.capacity {
        return Ok((all, extents));
    }
    // What finds no room stays in the flask and drives the reactions back.
    if let Some(water) = n.get_mut(water) {
        *water -= question.bed.capacity;
    }
    let back = constants(&mut n, None)?;
    extents.iter_mut().zip(&back).for_each(|(extent, back)| *extent += back);
    Ok((question.bed.capacity, extents))
}

/// The time at which a share of what can be reached is there, s; `None` where it is not reached.
#[must_use]
pub fn hours_to(rows: &[Row], share: f64, figure: impl Fn(&Row) -> f64, reach: f64) -> Option<f64> {
    let wanted = share * reach;
    let mut before: Option<(f64, f64)> = None;
    for row in rows {
        let here = (row.time, figure(row));
        if here.1 >= wanted {
            return Some(match before {
                Some(there) if here.1 > there.1 => there.0 + (wanted - there.1) / (here.1 - there.1) * (here.0 - there.0),
                _ => here.0,
            });
        }
        before = Some(here);
    }
    None
}

#[cfg(test)]
#[path = "dried_tests.rs"]
pub(super) mod tests;
