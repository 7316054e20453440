//! What takes its time, followed: a dried return, a water trap, a reaction with a rate. Nothing here runs while a
//! procedure is checked; the sheet, the plan and `scruple course` ask for it.

use std::sync::Arc;

use super::pot::Pot;
use super::react;
use crate::chemistry::course::dried::{self, Bed, Row};
use crate::chemistry::course::flask::{Equilibria as _, Heating, Substances};
use crate::chemistry::course::reaction::{Where, proceed};
use crate::chemistry::course::trap::{self, Leaves};
use crate::chemistry::stoichiometry;
use crate::evaluate::{Context, Evaluation};
use crate::matter::linear::Procedure;
use crate::matter::mixture::{self, Assumed};
use crate::matter::model::Model;
use crate::matter::portion::Portion;
use crate::resolve::declare::WATER_MOLAR_MASS;
use crate::resolve::definitions::{self, Definitions, Extent, Speed, Sub};

/// Condensate of a charge of [`CHARGE`] where no power is stated, m³/s: two drops of 0.05 mL a second. Our own
/// figure; of other charges it grows as their surface does.
const DRIPS: f64 = 1e-7;

/// See [`DRIPS`], m³.
const CHARGE: f64 = 150e-6;

/// Share of a heater's power that goes into vapour. Our own figure.
const USED: f64 = 0.6;

/// Temperature of what has come down from a condenser into a trap, K. Our own figure.
const TRAP: f64 = 303.15;

/// Size of a trap where none is stated, m³. Our own figure.
const TRAP_SIZE: f64 = 10e-6;

/// How many times the stated time a course is followed, in search of the hours to 99 %.
const FOLLOWED: f64 = 3.0;

/// No course is followed longer, s.
const LONGEST: f64 = 7.0 * 86_400.0;

/// Share of the bed's capacity from which it counts as full.
const FULL: f64 = 0.97;

/// Share of what can be reached from which the work counts as done.
const DONE: f64 = 0.99;

/// A statement whose course can be followed: what it begins with.
#[derive(Clone, Debug)]
pub struct Begins {
    /// The name of the flask's portion.
    pub name: String,
    /// What is in it.
    pub portion: Portion,
    /// Temperature before it is heated, K.
    pub cold: f64,
    /// Reactions by number.
    pub reactions: Vec<usize>,
    /// Time that is stated, or for which it is followed where none is, s.
    pub time: f64,
    /// Whether the time is stated.
    pub stated: bool,
    /// Power of the heater, W.
    pub power: Option<f64>,
    /// What takes the water away.
    pub way: Way,
}

/// What takes the water away.
#[derive(Clone, Debug)]
pub enum Way {
    /// A bed: name, agent, its mass in kg, water on it in kg, liquid to the siphon around it in m³.
    Bed(String, Sub, f64, f64, Option<f64>),
    /// A trap: its size in m³ where stated, and the layer that leaves.
    Trap(Option<f64>, Leaves),
    /// Nothing: reactions go on at this temperature, K.
    Nothing(f64),
}

/// What holds the work back.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Limit {
    /// Nothing: what can be reached is reached.
    Done,
    /// The bed is full.
    Bed,
    /// The time is too short.
    Time,
    /// The vapour carries less water than there is in the flask.
    Vapour,
    /// The reaction is slow.
    Rate,
    /// The flask runs dry while the extractor or the trap fills.
    Flask,
    /// The condensate does not part.
    OneLiquid,
}

impl Limit {
    /// A word for programs.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Done => "equilibrium",
            Self::Bed => "bed",
            Self::Time => "time",
            Self::Vapour => "vapour",
            Self::Rate => "rate",
            Self::Flask => "flask",
            Self::OneLiquid => "one_liquid",
        }
    }
}

/// A reaction in a course.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its name.
    pub name: String,
    /// The substance that runs out first.
    pub limiting: Option<Sub>,
    /// Extent at which that is gone, mol.
    pub most: f64,
    /// Extent that can be reached in any time, mol.
    pub reach: f64,
}

/// A course that was followed.
#[derive(Clone, Debug)]
pub struct Course {
    /// The statement.
    pub statement: usize,
    /// What it began with.
    pub begins: Begins,
    /// How it went.
    pub rows: Vec<Row>,
    /// The same at the stated time.
    pub at_time: Row,
    /// Reactions.
    pub parts: Vec<Part>,
    /// How many of the reactions have a rate.
    pub rated: usize,
    /// Water that can be taken away in any time, kg; of a trap what came in the time it was followed.
    pub reach: f64,
    /// Hours to 90, 95 and 99 % of what can be reached, s.
    pub hours: [Option<f64>; 3],
    /// What holds the work back at the stated time.
    pub limit: Limit,
    /// m³/s of condensate at the start.
    pub drips: f64,
    /// Time of heating to the boil with the heat that then makes the vapour, s.
    pub heating: f64,
    /// Water that the bed was counted on for, kg.
    pub capacity: f64,
    /// Acids that went over, kg, in the time that was followed.
    pub acids: Vec<(Sub, f64)>,
    /// Least liquid in the flask, m³.
    pub least: f64,
    /// Of the layer in a trap at the end: kg of each.
    pub layer: Vec<(Sub, f64)>,
    /// The liquid that carries the water: the substance, and the share of it that is left in the flask.
    pub carrier: Option<(Sub, f64)>,
    /// The model of the vapour.
    pub model: &'static Model,
    /// What it assumed.
    pub said: Assumed,
}

impl Course {
    /// What the course is called.
    #[must_use]
    pub fn what(&self) -> &'static str {
        match self.begins.way {
            Way::Bed(..) => "dried return",
            Way::Trap(_, Leaves::Watery) => "water trap",
            Way::Trap(..) => "trap that drains a layer",
            Way::Nothing(_) => "reaction with a rate",
        }
    }

    /// Share of the reactant of the first reaction that has reacted.
    #[must_use]
    pub fn conversion(&self, row: &Row, part: usize) -> Option<f64> {
        let most = self.parts.get(part)?.most;
        (most > 0.0).then(|| row.extents.get(part).copied().unwrap_or(0.0) / most)
    }
}

/// Why a course was not followed.
pub type Refused = String;

/// Notes what a statement begins with, for whoever wants it followed.
pub fn note(context: &mut Context<'_>, begins: Begins) {
    context.record().begins = Some(Box::new(begins));
}

/// Statements whose course can be followed, by number.
#[must_use]
pub fn followable(evaluation: &Evaluation) -> Vec<usize> {
    evaluation.records.iter().filter(|(_, record)| record.begins.is_some()).map(|(number, _)| *number).collect()
}

/// Follows the course of a statement; `None` where it has none.
pub fn follow(evaluation: &Evaluation, procedure: &Procedure, defs: &Definitions, number: usize) -> Option<Result<Course, Refused>> {
    let begins = evaluation.records.get(&number)?.begins.as_deref()?;
    Some(followed(begins, procedure, defs, number))
}

fn followed(begins: &Begins, procedure: &Procedure, defs: &Definitions, number: usize) -> Result<Course, Refused> {
    let named = begins.reactions.iter().filter_map(|number| Some((*number, Arc::clone(procedure.reactions.get(*number)?))));
    let all: Vec<(usize, Arc<definitions::Reaction>)> = named.collect();
    let mut pot = Pot::new(defs, &begins.portion, &all);
    // What goes to a stated share is there from the start; what comes to an equilibrium goes on.
    let mut running = Vec::new();
    for (named, own) in all.iter().zip(std::mem::take(&mut pot.reactions)) {
        match named.1.extent {
            Extent::Equilibrium(_) | Extent::InActivities(_) => {
                running.push(named.clone());
                pot.reactions.push(own);
            }
            Extent::Conversion(share) => {
                let most = stoichiometry::limiting(&pot.moles, &own.nu).map_or(0.0, |(_, most)| most);
                pot.moles.iter_mut().zip(&own.nu).for_each(|(n, nu)| *n = (*n + nu * share * most).max(0.0));
            }
            Extent::OnContact | Extent::Slowly => {}
        }
    }
    let substances = pot.substances().ok_or("there is no water in the library that was loaded")?;
    let mut equilibria = pot.at(procedure.about.room());
    let failed = |error: crate::chemistry::solve::SolveError| format!("its course cannot be followed: {error}");
    let over = equilibria.vapour(&pot.moles).map_err(failed)?;
    let per_mole = |figures: &[f64]| over.y.iter().zip(figures).map(|(y, own)| y * own).sum::<f64>();
    let (latent, volume) = (per_mole(&substances.latent), per_mole(&substances.volumes));
    let charge = substances.volume(&pot.moles);
    let (heating, drips) = match begins.power {
        Some(watts) => (Heating::Power(USED * watts), USED * watts / latent.max(1e-9) * volume),
        None => {
            let drips = DRIPS * (charge / CHARGE).powf(2.0 / 3.0);
            (Heating::Flow(drips), drips)
        }
    };
    let time = (FOLLOWED * begins.time).min(LONGEST).max(begins.time);
    let parts = parts(&pot, &running, defs);
    let mut course = Course {
        statement: number,
        begins: begins.clone(),
        rows: Vec::new(),
        at_time: Row { time: 0.0, t: over.t, volume: charge, water: 0.0, taken: 0.0, extents: Vec::new(), count: 0.0 },
        parts,
        rated: pot.reactions.iter().filter(|reaction| reaction.rate.is_some()).count(),
        reach: 0.0,
        hours: [None; 3],
        limit: Limit::Time,
        drips,
        heating: heat_capacity(&pot, defs) * (over.t - begins.cold).max(0.0) / (drips / volume.max(1e-12) * latent).max(1e-9),
        capacity: 0.0,
        acids: Vec::new(),
        least: charge,
        layer: Vec::new(),
        carrier: carrier(&pot, &over.y, &substances, defs),
        model: pot.liquids().model,
        said: pot.liquids().said.clone(),
    };
    match &begins.way {
        Way::Bed(..) => over_bed(&mut course, &pot, &substances, heating, time, &mut equilibria, defs).map_err(failed)?,
        Way::Trap(size, leaves) => {
            in_trap(&mut course, &pot, &substances, heating, time, &mut equilibria, (*size, *leaves)).map_err(failed)?;
        }
        Way::Nothing(t) => at_rate(&mut course, &pot, *t, time).map_err(failed)?,
    }
    Ok(course)
}

/// The reactions with what limits them at the start.
fn parts(pot: &Pot<'_>, running: &[(usize, Arc<definitions::Reaction>)], defs: &Definitions) -> Vec<Part> {
    let one = |((_, reaction), own): (&(usize, Arc<definitions::Reaction>), &crate::chemistry::course::reaction::Reaction)| {
        let limiting = stoichiometry::limiting(&pot.moles, &own.nu);
        Part {
            name: reaction.name.clone(),
            limiting: limiting.and_then(|(first, _)| pot.subs.get(first).copied()).filter(|sub| defs.substance(*sub).formula.is_some()),
            most: limiting.map_or(0.0, |(_, most)| most),
            reach: 0.0,
        }
    };
    running.iter().zip(&pot.reactions).map(one).collect()
}

fn heat_capacity(pot: &Pot<'_>, defs: &Definitions) -> f64 {
    pot.masses(&pot.moles).iter().map(|(sub, mass)| react::own_heat_capacity(defs, *sub, *mass)).sum()
}

/// What most of the vapour is besides water, with all of it left.
fn carrier(pot: &Pot<'_>, y: &[f64], substances: &Substances, defs: &Definitions) -> Option<(Sub, f64)> {
    let mass = |at: usize| y.get(at).copied().unwrap_or(0.0) * substances.masses.get(at).copied().unwrap_or(0.0);
    let others = (0..y.len()).filter(|at| *at != substances.water && mass(*at) > 0.0);
    let most = others.max_by(|a, b| mass(*a).total_cmp(&mass(*b)))?;
    pot.subs.get(most).filter(|sub| defs.substance(**sub).formula.is_some()).map(|sub| (*sub, 1.0))
}

fn over_bed(
    course: &mut Course,
    pot: &Pot<'_>,
    substances: &Substances,
    heating: Heating,
    time: f64,
    equilibria: &mut super::pot::Boiling<'_>,
    defs: &Definitions,
) -> Result<(), crate::chemistry::solve::SolveError> {
    let Way::Bed(_, agent_sub, mass, bound, siphon) = &course.begins.way else { return Ok(()) };
    let Some(agent) = &defs.substance(*agent_sub).agent else { return Ok(()) };
    let share = agent.hot.as_ref().map(|hot| 0.5 * (hot.value.0 + hot.value.1));
    let share = share.or_else(|| agent.counted().map(|(capacity, _)| capacity.value)).unwrap_or(0.0);
    course.capacity = (mass * share - bound).max(0.0);
    // Time in which a fresh bed takes up all but a third of the water around it. Our own figures.
    let quick = match agent.speed.as_ref().map(|speed| speed.value) {
        Some(Speed::Fast) => 120.0,
        Some(Speed::Moderate) => 300.0,
        Some(Speed::Slow) | None => 600.0,
    };
    let keeps = agent.retains.as_ref().map_or(0.4e-3, |retains| retains.value) * mass;
    let bed = Bed { capacity: course.capacity / WATER_MOLAR_MASS, time: quick, siphon: *siphon, keeps };
    let (charge, reactions) = (pot.moles.as_slice(), pot.reactions.as_slice());
    let question = dried::Question { charge, reactions, substances, heating, bed, time, stated: course.begins.time, finer: 1.0 };
    let found = dried::follow(&question, equilibria)?;
    course.reach = found.reach * WATER_MOLAR_MASS;
    course.parts.iter_mut().zip(&found.reach_extents).for_each(|(part, reach)| part.reach = *reach);
    course.rows = found.rows;
    course.at_time = at(&course.rows, course.begins.time);
    let (reach, rows) = (found.reach, &course.rows);
    course.hours = [0.9, 0.95, 0.99].map(|share| dried::hours_to(rows, share, |row| row.taken, reach).filter(|_| reach > 0.0));
    course.least = found.least.0;
    let acid =
        |at: usize| pot.subs.get(at).copied().filter(|sub| ["acid", "strong_acid"].iter().any(|class| defs.substance(*sub).is(class)));
    let passed = found.passed.iter().zip(&substances.masses).enumerate();
    course.acids = passed.filter_map(|(at, (n, molar))| Some((acid(at)?, n * molar))).filter(|(_, mass)| *mass > 1e-6).collect();
    left(course, pot, &found.flask);
    let loaded = course.at_time.taken * WATER_MOLAR_MASS;

    course.limit = if found.ran_dry {
        Limit::Flask
    } else if course.at_time.taken >= DONE * found.reach && course.capacity > course.reach * 1.0001 {
        Limit::Done
    } else if course.capacity > 0.0 && loaded >= FULL * course.capacity {
        Limit::Bed
    } else if slow(pot, &course.at_time, &course.parts) {
        Limit::Rate
    } else if found.volatility < 1.0 {
        Limit::Vapour
    } else {
        Limit::Time
    };
    Ok(())
}

/// Whether a reaction with a rate is what lags: there is little water in the flask, and the reaction is not done.
fn slow(pot: &Pot<'_>, row: &Row, parts: &[Part]) -> bool {
    let lags = |((reaction, part), extent): ((&crate::chemistry::course::reaction::Reaction, &Part), &f64)| {
        reaction.rate.is_some() && *extent < DONE * part.reach.max(0.5 * part.most) && row.water < 0.1 * (part.most - extent)
    };
    pot.reactions.iter().zip(parts).zip(&row.extents).any(lags)
}

/// How much of the carrier is left in the flask.
fn left(course: &mut Course, pot: &Pot<'_>, flask: &[f64]) {
    if let Some((sub, share)) = &mut course.carrier
        && let Some(at) = pot.place(*sub)
        && let (Some(began), Some(ends)) = (pot.moles.get(at), flask.get(at))
        && *began > 0.0
    {
        *share = ends / began;
    }
}

fn in_trap(
    course: &mut Course,
    pot: &Pot<'_>,
    substances: &Substances,
    heating: Heating,
    time: f64,
    equilibria: &mut super::pot::Boiling<'_>,
    (size, leaves): (Option<f64>, Leaves),
) -> Result<(), crate::chemistry::solve::SolveError> {
    let size = size.unwrap_or(TRAP_SIZE);
    let (charge, reactions) = (pot.moles.as_slice(), pot.reactions.as_slice());
    let question = trap::Question { charge, reactions, substances, heating, size, t: TRAP, leaves, time, finer: 1.0 };
    let found = trap::follow(&question, equilibria)?;
    let last = found.rows.last().cloned().unwrap_or_else(|| course.at_time.clone());
    course.reach = last.taken * WATER_MOLAR_MASS;
    course.parts.iter_mut().zip(&last.extents).for_each(|(part, reach)| part.reach = *reach);
    course.rows = found.rows;
    course.at_time = at(&course.rows, course.begins.time);
    let rows = &course.rows;
    course.hours = [0.9, 0.95, 0.99].map(|share| dried::hours_to(rows, share, |row| row.taken, last.taken).filter(|_| last.taken > 0.0));
    course.least = found.least.0;
    course.layer = pot.masses(&found.parted).into_iter().filter(|(_, mass)| *mass > 1e-9).collect();
    left(course, pot, &found.flask);

    course.limit = if found.ran_dry {
        Limit::Flask
    } else if !found.parts {
        Limit::OneLiquid
    } else if course.at_time.taken >= DONE * last.taken {
        Limit::Done
    } else if slow(pot, &course.at_time, &course.parts) {
        Limit::Rate
    } else {
        Limit::Time
    };
    Ok(())
}

/// Moments at which a reaction with a rate is looked at.
const MOMENTS: u32 = 120;

fn at_rate(course: &mut Course, pot: &Pot<'_>, t: f64, time: f64) -> Result<(), crate::chemistry::solve::SolveError> {
    let gammas = pot.activities(&pot.moles, t)?;
    let place = Where { t, volumes: &pot.volumes, gammas: &gammas };
    let mut n = pot.moles.clone();
    let mut extents = vec![0.0; pot.reactions.len()];
    let water = course_water(pot);
    let volume = |n: &[f64]| n.iter().zip(&pot.volumes).map(|(n, own)| n * own).sum::<f64>();
    let row = |now: f64, n: &[f64], extents: &[f64]| Row {
        time: now,
        t,
        volume: volume(n),
        water: water.and_then(|at| n.get(at)).copied().unwrap_or(0.0),
        taken: 0.0,
        extents: extents.to_vec(),
        count: 0.0,
    };
    course.rows.push(row(0.0, &n, &extents));
    let step = time / f64::from(MOMENTS);
    for moment in 1..=MOMENTS {
        let gone = proceed(&mut n, &pot.reactions, place, step)?;
        extents.iter_mut().zip(&gone).for_each(|(extent, gone)| *extent += gone);
        course.rows.push(row(f64::from(moment) * step, &n, &extents));
    }
    let mut rest = pot.moles.clone();
    let reach = crate::chemistry::course::reaction::equilibrium(&mut rest, &pot.reactions, None, &mut |n| pot.activities(n, t))?;
    course.parts.iter_mut().zip(&reach).for_each(|(part, reach)| part.reach = *reach);
    course.at_time = at(&course.rows, course.begins.time);
    let (rows, reach) = (&course.rows, reach.first().copied().unwrap_or(0.0));
    let first = |row: &Row| row.extents.first().copied().unwrap_or(0.0);
    course.hours = [0.9, 0.95, 0.99].map(|share| dried::hours_to(rows, share, first, reach).filter(|_| reach > 0.0));
    course.limit = if first(&course.at_time) >= DONE * reach { Limit::Done } else { Limit::Rate };
    course.carrier = None;
    Ok(())
}

fn course_water(pot: &Pot<'_>) -> Option<usize> {
    pot.substances().map(|substances| substances.water)
}

/// How things stand at a time, between the rows beside it; at the end where it ended before.
#[must_use]
pub fn at(rows: &[Row], time: f64) -> Row {
    let after = rows.iter().position(|row| row.time >= time);
    let between = |low: f64, high: f64, share: f64| low + share * (high - low);
    match after.and_then(|after| Some((rows.get(after.checked_sub(1)?)?, rows.get(after)?))) {
        Some((one, other)) if other.time > one.time => {
            let share = (time - one.time) / (other.time - one.time);
            Row {
                time,
                t: between(one.t, other.t, share),
                volume: between(one.volume, other.volume, share),
                water: between(one.water, other.water, share),
                taken: between(one.taken, other.taken, share),
                extents: one.extents.iter().zip(&other.extents).map(|(a, b)| between(*a, *b, share)).collect(),
                count: between(one.count, other.count, share),
            }
        }
        _ => {
            let nothing = Row { time, t: 0.0, volume: 0.0, water: 0.0, taken: 0.0, extents: Vec::new(), count: 0.0 };
            let edge = if after.is_some() { rows.first() } else { rows.last() };
            Row { time, ..edge.cloned().unwrap_or(nothing) }
        }
    }
}

/// The volume of a parted layer, m³, for whoever has its masses.
#[must_use]
pub fn layer_volume(layer: &[(Sub, f64)], defs: &Definitions) -> f64 {
    let masses = layer.iter().copied().collect();
    mixture::volume(&masses, defs, &mut Assumed::new()).unwrap_or(0.0)
}
