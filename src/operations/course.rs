//! What takes its time, followed: a dried return, a water trap, a reaction with a rate.
//!
//! While a procedure is worked out, water that is taken off is followed to the stated time; the sheet, the plan and
//! `scruple course` follow it further, by the same steps. It is followed in a batch of the size that is written: what
//! comes of it holds at any size, as long as heat, extractor and trap grow with the batch.

use std::sync::Arc;

use super::pace::ARRIVES;
use super::pot::Pot;
use super::rated;
use super::remembered::{self, RestsOn};
use crate::chemistry::course::dried::{self, Bed, Row, State};
use crate::chemistry::course::flask::{Equilibria as _, Heating, Substances};
use crate::chemistry::course::trap::{self, Leaves};
use crate::chemistry::stoichiometry;
use crate::evaluate::{Context, Evaluation};
use crate::matter::linear::Procedure;
use crate::matter::mixture::{self, Assumed};
use crate::matter::model::Model;
use crate::matter::portion::{Masses, Portion};
use crate::resolve::declare::WATER_MOLAR_MASS;
use crate::resolve::definitions::{self, Definitions, Speed, Sub};

/// Condensate of a charge of [`CHARGE`] where no power is stated, m³/s: two drops of 0.05 mL a second. Our own
/// figure; of other charges it grows as their surface does.
const DRIPS: f64 = 1e-7;

/// See [`DRIPS`], m³.
const CHARGE: f64 = 150e-6;

/// Temperature of what has come down from a condenser into a trap, K. Our own figure.
const TRAP: f64 = 303.15;

/// Sizes of a trap where none is named, m³: those of `water_trap` in `stdlib/apparatus/glassware.scruple`, which is
/// loaded only where it is named.
const TRAP_SIZES: [f64; 6] = [2e-6, 5e-6, 10e-6, 15e-6, 20e-6, 25e-6];

/// Part of the charge that a trap whose size is not stated takes up at most. Our own figure.
const TRAP_PART: f64 = 1.0 / 3.0;

/// Room in a trap over the water that it is to hold, where its size is not stated. Our own figure.
const TRAP_ROOM: f64 = 1.5;

/// How many times the stated time a course is followed, in search of the hours to 99 %.
const FOLLOWED: f64 = 3.0;

/// No course is followed longer, s.
const LONGEST: f64 = 7.0 * 86_400.0;

/// Share of the liquid that clings to a bed up to which a substance in it is not counted. Our own figure.
const LEAST: f64 = 0.05;

/// Share of the water that is still in the flask from which a trap counts as one in which hardly anything parts. Our own
/// figure.
const STAYS: f64 = 0.4;

/// Share of the bed's capacity from which it counts as full.
const FULL: f64 = 0.97;

/// Share of what can be reached from which the work counts as done.
const DONE: f64 = 0.99;

/// A statement whose course can be followed: what it begins with.
#[derive(Clone, Debug)]
pub struct Begins {
    /// The name of the flask's portion.
    pub name: String,
    /// What is in it, with what goes to a stated share gone.
    pub portion: Portion,
    /// The size of the batch against the one written.
    pub scale: f64,
    /// Temperature before it is heated, K.
    pub cold: f64,
    /// Reactions that come to an equilibrium, by number.
    pub reactions: Vec<usize>,
    /// Time that is stated, or for which it is followed where none is, s.
    pub time: f64,
    /// Whether the time is stated.
    pub stated: bool,
    /// Power of the heater, W.
    pub power: Option<f64>,
    /// Whether it goes otherwise in a larger batch: the heater is what it is, or the extractor is chosen for the batch.
    pub by_size: bool,
    /// What takes the water away.
    pub way: Way,
}

/// What takes the water away.
#[derive(Clone, Debug)]
pub enum Way {
    /// A bed over which the condensate runs.
    Bed(Bedding),
    /// A trap: its size in m³ where stated (in the batch as written), the water that it may have to hold in kg, and
    /// the layer that leaves.
    Trap(Option<f64>, f64, Leaves),
    /// Nothing: reactions go on there.
    Nothing(rated::At),
}

/// A bed in the way of the condensate.
#[derive(Clone, Debug)]
pub struct Bedding {
    /// Its name.
    pub name: String,
    /// The agent.
    pub agent: Sub,
    /// Its mass, kg.
    pub mass: f64,
    /// Water that it holds already, kg.
    pub bound: f64,
    /// Whether its mass was worked out from what it holds in practice.
    pub sized: bool,
    /// Liquid to the siphon around it in the batch as written, m³, where it lies in an extractor.
    pub siphon: Option<f64>,
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
    /// How everything stands at the stated time.
    pub stands: Stands,
    /// Water that can be taken away in any time, kg; of a trap what came in the time it was followed.
    pub reach: f64,
    /// Hours to 90, 95 and 99 % of what can be reached, s.
    pub hours: [Option<f64>; 3],
    /// What holds the work back at the stated time.
    pub limit: Limit,
    /// m³/s of condensate at the start.
    pub drips: f64,
    /// Water that the bed was counted on for, kg.
    pub capacity: f64,
    /// What went over to the bed in the stated time, kg of each.
    pub passed: Masses,
    /// Acids among that, kg.
    pub acids: Vec<(Sub, f64)>,
    /// Least liquid in the flask, m³.
    pub least: f64,
    /// Of the layer in a trap at the end: kg of each.
    pub layer: Vec<(Sub, f64)>,
    /// The liquid that carries the water: the substance, and the share of it that is left in the flask at the stated time.
    pub carrier: Option<(Sub, f64)>,
    /// Whether two liquids ever lay in the trap.
    pub parts_in_trap: bool,
    /// Size of the trap, m³.
    pub trap: f64,
    /// The least and the greatest extent of the first reaction while the extractor fills once, around the stated time,
    /// mol; the figures at that time are averages over it.
    pub span: Option<(f64, f64)>,
    /// Share of water by mass in the first vapour, and in the flask under it.
    pub first_water: (f64, f64),
    /// The vapour where it begins to boil and at the stated time: K, and mole fractions.
    pub vapours: Vec<(f64, Vec<(Sub, f64)>)>,
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
            Way::Trap(_, _, Leaves::Watery) => "water trap",
            Way::Trap(..) => "trap that drains a layer",
            Way::Nothing(_) => "reaction with a rate",
        }
    }

    /// Whether the first vapour holds a smaller share of water than the flask.
    #[must_use]
    pub fn is_dry(&self) -> bool {
        self.first_water.0 < self.first_water.1
    }

    /// Share of the reactant of the first reaction that has reacted.
    #[must_use]
    pub fn conversion(&self, row: &Row, part: usize) -> Option<f64> {
        let most = self.parts.get(part)?.most;
        (most > 0.0).then(|| row.extents.get(part).copied().unwrap_or(0.0) / most)
    }
}

/// How everything stands at the stated time: kg in the flask, around the bed or beside what has parted, and on the
/// bed or parted; mol by which the reactions have gone.
#[derive(Clone, Debug, Default)]
pub struct Stands {
    /// In the flask.
    pub flask: Masses,
    /// Around the bed, or beside the parted layer in the trap.
    pub apart: Masses,
    /// Water on the bed, or the parted layer with what was drained of it.
    pub taken: Masses,
    /// What clings to the bed when it is drained, of what is around it.
    pub clings: Masses,
    /// Extents of the reactions.
    pub extents: Vec<f64>,
}

/// Why a course was not followed.
pub type Refused = String;

/// A course or why there is none.
pub type Answer = Result<Arc<Course>, Refused>;

/// How far a course is followed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Far {
    /// To the stated time.
    Stated,
    /// Until nothing more comes, or three times the stated time.
    Whole,
}

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
pub fn follow(evaluation: &Evaluation, procedure: &Procedure, defs: &Definitions, number: usize) -> Option<Answer> {
    let begins = evaluation.records.get(&number)?.begins.as_deref()?;
    Some(followed(begins, procedure, defs, number, Far::Whole))
}

/// Digits that count of what a course begins with: what differs by rounding goes the same way.
const DIGITS: i32 = 11;

fn rounded(figure: f64) -> f64 {
    to_digits(figure, DIGITS)
}

/// A figure with so many digits.
#[must_use]
pub fn to_digits(figure: f64, digits: i32) -> f64 {
    if figure == 0.0 || !figure.is_finite() {
        return figure;
    }
    let unit = 10f64.powi(digits - 1 - figure.abs().log10().floor() as i32);
    if unit.is_finite() && unit > 0.0 { (figure * unit).round() / unit } else { figure }
}

/// Follows what begins so, unless that is remembered.
pub fn followed(begins: &Begins, procedure: &Procedure, defs: &Definitions, number: usize, far: Far) -> Answer {
    let named = begins.reactions.iter().filter_map(|number| Some((*number, Arc::clone(procedure.reactions.get(*number)?))));
    let running: Vec<(usize, Arc<definitions::Reaction>)> = named.collect();
    let mut pot = Pot::new(defs, &begins.portion, &running);
    // The batch as it is written.
    let written = |figure: f64| rounded(figure / begins.scale);
    pot.moles.iter_mut().for_each(|n| *n = written(*n));
    let way = match &begins.way {
        Way::Bed(bed) => Way::Bed(Bedding {
            mass: written(bed.mass),
            bound: written(bed.bound),
            siphon: bed.siphon.map(rounded),
            name: bed.name.clone(),
            ..*bed
        }),
        Way::Trap(size, water, leaves) => Way::Trap(*size, written(*water), *leaves),
        Way::Nothing(rated::At::Held(t)) => Way::Nothing(rated::At::Held(rounded(*t))),
        Way::Nothing(rated::At::Boil(p, t)) => Way::Nothing(rated::At::Boil(rounded(*p), rounded(*t))),
    };
    let own = Begins { way, power: begins.power.map(written), cold: rounded(begins.cold), ..begins.clone() };
    let rests_on = RestsOn { begins: &own, pot: &pot, running: &running, room: procedure.about.room(), defs, number, far };
    let as_written = remembered::or_follow(&rests_on, || go(&own, &pot, &running, procedure, defs, number, far).map(Arc::new))?;
    Ok(Arc::new(Course::clone(&as_written).grown(begins)))
}

fn go(
    begins: &Begins,
    pot: &Pot<'_>,
    running: &[(usize, Arc<definitions::Reaction>)],
    procedure: &Procedure,
    defs: &Definitions,
    number: usize,
    far: Far,
) -> Result<Course, Refused> {
    if pot.moles.iter().all(|n| *n <= 0.0) {
        return Err("its course cannot be followed: nothing with a formula is in the flask".to_owned());
    }
    if let (Some(refusal), Way::Bed(_) | Way::Trap(..)) = (&pot.liquids().refusal, &begins.way) {
        return Err(format!("how much water the vapour carries is not known, since {}", refusal.reason(defs)));
    }
    let substances = pot.substances().ok_or("there is no water in the library that was loaded")?;
    let mut equilibria = pot.at(procedure.about.room());
    let failed = |error: crate::chemistry::solve::SolveError| format!("its course cannot be followed: {error}");
    let over = equilibria.vapour(&pot.moles).map_err(failed)?;
    let per_mole = |figures: &[f64]| over.y.iter().zip(figures).map(|(y, own)| y * own).sum::<f64>();
    let (latent, volume) = (per_mole(&substances.latent), per_mole(&substances.volumes));
    let charge = substances.volume(&pot.moles);
    let (heating, drips) = match begins.power {
        Some(watts) => (Heating::Power(ARRIVES * watts), ARRIVES * watts / latent.max(1e-9) * volume),
        None => {
            let drips = DRIPS * (charge / CHARGE).powf(2.0 / 3.0);
            (Heating::Flow(drips), drips)
        }
    };
    let time = match far {
        Far::Whole => (FOLLOWED * begins.time).min(LONGEST).max(begins.time),
        Far::Stated => begins.time,
    };
    let parts = parts(pot, running, defs);
    let mut course = Course {
        statement: number,
        begins: begins.clone(),
        rows: Vec::new(),
        at_time: Row { time: 0.0, t: over.t, volume: charge, water: 0.0, taken: 0.0, extents: Vec::new(), count: 0.0 },
        parts,
        rated: pot.reactions.iter().filter(|reaction| reaction.rate.is_some()).count(),
        stands: Stands::default(),
        reach: 0.0,
        hours: [None; 3],
        limit: Limit::Time,
        drips,
        capacity: 0.0,
        passed: Masses::new(),
        acids: Vec::new(),
        least: charge,
        layer: Vec::new(),
        carrier: carrier(pot, &over.y, &substances, defs),
        parts_in_trap: false,
        trap: 0.0,
        span: None,
        first_water: (0.0, 0.0),
        vapours: Vec::new(),
        model: pot.liquids().model,
        said: pot.liquids().said.clone(),
    };
    match &begins.way {
        Way::Bed(bed) => over_bed(&mut course, pot, &substances, heating, time, &mut equilibria, (bed, defs)).map_err(failed)?,
        Way::Trap(size, water, leaves) => {
            let size = size.unwrap_or_else(|| trap_for(*water, charge));
            in_trap(&mut course, pot, &substances, heating, time, &mut equilibria, (size, *leaves)).map_err(failed)?;
        }
        Way::Nothing(place) => at_rate(&mut course, pot, *place, time).map_err(failed)?,
    }
    Ok(course)
}

/// The smallest of the usual traps that has room for so much water, kg, with the liquid above it; else the largest,
/// which is drained as it fills; a side arm for a charge of few mL, m³.
fn trap_for(water: f64, charge: f64) -> f64 {
    let needed = TRAP_ROOM * water / 998.2;
    let largest = TRAP_SIZES.iter().copied().fold(0.0, f64::max);
    TRAP_SIZES.iter().copied().find(|size| *size >= needed).unwrap_or(largest).min(TRAP_PART * charge)
}

impl Course {
    /// The same in the batch at hand: all amounts, the drops, what is read; times and temperatures stay.
    fn grown(mut self, begins: &Begins) -> Self {
        let times = begins.scale;
        let row = |row: &mut Row, counts: bool| {
            row.volume *= times;
            row.water *= times;
            row.taken *= times;
            row.count *= if counts { 1.0 } else { times };
            row.extents.iter_mut().for_each(|extent| *extent *= times);
        };
        let cycles = matches!(begins.way, Way::Bed(_));
        self.rows.iter_mut().chain([&mut self.at_time]).for_each(|own| row(own, cycles));
        let Stands { flask, apart, taken, clings, extents } = &mut self.stands;
        let amounts = [flask, apart, taken, clings, &mut self.passed].into_iter().flat_map(|masses| masses.values_mut()).chain(extents);
        amounts.for_each(|amount| *amount *= times);
        for part in &mut self.parts {
            part.most *= times;
            part.reach *= times;
        }
        self.acids.iter_mut().chain(&mut self.layer).for_each(|(_, mass)| *mass *= times);
        if let Some((least, most)) = &mut self.span {
            *least *= times;
            *most *= times;
        }
        for figure in [&mut self.reach, &mut self.drips, &mut self.capacity, &mut self.least, &mut self.trap] {
            *figure *= times;
        }
        self.begins = begins.clone();
        self
    }
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
    (bedding, defs): (&Bedding, &Definitions),
) -> Result<(), crate::chemistry::solve::SolveError> {
    let Some(agent) = &defs.substance(bedding.agent).agent else { return Ok(()) };
    let mass = bedding.mass;
    let share = agent.hot.as_ref().map(|hot| 0.5 * (hot.value.0 + hot.value.1));
    // What is given is taken to hold what it holds at most, what is sized what it holds in practice.
    let most = agent.capacity.as_ref().map(|capacity| capacity.value).filter(|_| !bedding.sized);
    let share = share.or(most).or_else(|| agent.counted().map(|(capacity, _)| capacity.value)).unwrap_or(0.0);
    course.capacity = (mass * share - bedding.bound).max(0.0);
    // Time in which a fresh bed takes up all but a third of the water around it. Our own figures.
    let quick = match agent.speed.as_ref().map(|speed| speed.value) {
        Some(Speed::Fast) => 120.0,
        Some(Speed::Moderate) => 300.0,
        Some(Speed::Slow) | None => 600.0,
    };
    let keeps = agent.retains.as_ref().map_or(0.4e-3, |retains| retains.value) * mass;
    let bed = Bed { capacity: course.capacity / WATER_MOLAR_MASS, time: quick, siphon: bedding.siphon, keeps };
    if bed.hardly_drains() {
        course.said.insert(
            "The bed keeps more than half of what fills the extractor, so that its siphon hardly runs: half of it is reckoned to stay there each time."
                .to_owned(),
        );
    }
    let (charge, reactions) = (pot.moles.as_slice(), pot.reactions.as_slice());
    let question = dried::Question { charge, reactions, substances, heating, bed, time, stated: course.begins.time, finer: 1.0 };
    let found = dried::follow(&question, equilibria)?;
    course.reach = found.reach * WATER_MOLAR_MASS;
    course.parts.iter_mut().zip(&found.reach_extents).for_each(|(part, reach)| part.reach = *reach);
    course.rows = found.rows;
    course.span = found.span;
    course.at_time = Row { time: course.begins.time, ..found.stated.row.clone() };
    let (reach, rows) = (found.reach, &course.rows);
    course.hours = [0.9, 0.95, 0.99].map(|share| dried::hours_to(rows, share, |row| row.taken, reach).filter(|_| reach > 0.0));
    course.least = found.least.0;
    // A gas goes over whole.
    let gas = |at: usize| pot.subs.get(at).is_some_and(|sub| defs.substance(*sub).is_gas());
    let over = found.stated.passed.iter().zip(charge).enumerate();
    course.passed = pot.masses(&over.map(|(at, (n, whole))| if gas(at) { *whole } else { *n }).collect::<Vec<_>>());
    let acid = |sub: &Sub| ["acid", "strong_acid"].iter().any(|class| defs.substance(*sub).is(class));
    course.acids = course.passed.iter().filter(|(sub, mass)| acid(sub) && **mass > 1e-6).map(|(sub, mass)| (*sub, *mass)).collect();
    left(course, pot, &found.stated.flask, &found.stated.apart);
    let mut on_bed = vec![0.0; charge.len()];
    on_bed.iter_mut().skip(substances.water).take(1).for_each(|water| *water = found.stated.row.taken);
    stands(course, pot, &found.stated, &on_bed);
    // What a drained bed keeps of the liquid around it; where it lies in no extractor, of what runs through.
    let around = if bedding.siphon.is_some() { &found.stated.apart } else { &found.stated.vapour };
    let volume = substances.volume(around);
    let kept = if volume > 0.0 { keeps / volume } else { 0.0 };
    let kept = if bedding.siphon.is_some() { kept.min(1.0) } else { kept };
    let mut clings = pot.masses(&around.iter().map(|n| n * kept).collect::<Vec<_>>());
    let least = LEAST * clings.values().sum::<f64>();
    clings.retain(|_, mass| *mass > least);
    course.stands.clings = clings;
    course.first_water = first_water(&found.first, substances);
    course.vapours = vapours(pot, [&found.first, &found.stated]);
    let loaded = course.at_time.taken * WATER_MOLAR_MASS;

    course.limit = if found.ran_dry {
        Limit::Flask
    } else if course.at_time.taken >= DONE * found.reach && course.capacity > course.reach * 1.0001 {
        Limit::Done
    } else if course.capacity > 0.0 && loaded >= FULL * course.capacity {
        Limit::Bed
    } else if slow(pot, &course.at_time, &course.parts) {
        Limit::Rate
    } else if course.is_dry() {
        Limit::Vapour
    } else {
        Limit::Time
    };
    Ok(())
}

/// Shares of water by mass in the vapour and in the flask.
fn first_water(state: &State, substances: &Substances) -> (f64, f64) {
    let share = |n: &[f64]| {
        let of = |n: &[f64], at: usize| n.get(at).copied().unwrap_or(0.0) * substances.masses.get(at).copied().unwrap_or(0.0);
        of(n, substances.water) / substances.mass(n).max(1e-300)
    };
    (share(&state.vapour), share(&state.flask))
}

/// Temperature and vapour at these moments.
fn vapours(pot: &Pot<'_>, moments: [&State; 2]) -> Vec<(f64, Vec<(Sub, f64)>)> {
    let named = |state: &State| pot.subs.iter().copied().zip(state.vapour.iter().copied()).filter(|(_, y)| *y > 0.0).collect();
    moments.iter().map(|state| (state.row.t, named(state))).collect()
}

/// Notes how everything stands at the stated time.
fn stands(course: &mut Course, pot: &Pot<'_>, state: &State, taken: &[f64]) {
    course.stands = Stands {
        flask: pot.masses(&state.flask),
        apart: pot.masses(&state.apart),
        taken: pot.masses(taken),
        clings: Masses::new(),
        extents: state.row.extents.clone(),
    };
}

/// Whether a reaction with a rate is what lags: there is little water in the flask, and the reaction is not done.
fn slow(pot: &Pot<'_>, row: &Row, parts: &[Part]) -> bool {
    let lags = |((reaction, part), extent): ((&crate::chemistry::course::reaction::Reaction, &Part), &f64)| {
        reaction.rate.is_some() && *extent < DONE * part.reach.max(0.5 * part.most) && row.water < 0.1 * (part.most - extent)
    };
    pot.reactions.iter().zip(parts).zip(&row.extents).any(lags)
}

/// How much of the carrier is left in the flask, of what is there in all.
fn left(course: &mut Course, pot: &Pot<'_>, flask: &[f64], apart: &[f64]) {
    if let Some((sub, share)) = &mut course.carrier
        && let Some(at) = pot.place(*sub)
        && let (Some(ends), Some(apart)) = (flask.get(at), apart.get(at))
        && ends + apart > 0.0
    {
        *share = ends / (ends + apart);
    }
}

fn in_trap(
    course: &mut Course,
    pot: &Pot<'_>,
    substances: &Substances,
    heating: Heating,
    time: f64,
    equilibria: &mut super::pot::Boiling<'_>,
    (size, leaves): (f64, Leaves),
) -> Result<(), crate::chemistry::solve::SolveError> {
    course.trap = size;
    let (charge, reactions) = (pot.moles.as_slice(), pot.reactions.as_slice());
    let stated = course.begins.time;
    let question = trap::Question { charge, reactions, substances, heating, size, t: TRAP, leaves, time, stated, finer: 1.0 };
    let found = trap::follow(&question, equilibria)?;
    if found.hardly {
        course.said.insert(
            "For a time the layers in the trap differ by less than 1 % in density, so that they hardly settle: some of either is reckoned to be drained."
                .to_owned(),
        );
    }
    if found.change > trap::FINE {
        course.said.insert(format!(
            "Which layer in the trap is the upper one hangs on little: how much water leaves is good to {:.0} % of it at best.",
            (100.0 * found.change).ceil()
        ));
    }
    let last = found.end.row.clone();
    course.reach = last.taken * WATER_MOLAR_MASS;
    course.parts.iter_mut().zip(&last.extents).for_each(|(part, reach)| part.reach = *reach);
    course.rows = found.rows;
    course.at_time = Row { time: stated, ..found.stated.row.clone() };
    let rows = &course.rows;
    course.hours = [0.9, 0.95, 0.99].map(|share| dried::hours_to(rows, share, |row| row.taken, last.taken).filter(|_| last.taken > 0.0));
    course.least = found.least.0;
    course.parts_in_trap = found.parts;
    course.first_water = first_water(&found.first, substances);
    course.vapours = vapours(pot, [&found.first, &found.stated]);
    course.layer = pot.masses(&found.stated.passed).into_iter().filter(|(_, mass)| *mass > 1e-9).collect();
    left(course, pot, &found.stated.flask, &found.stated.apart);
    stands(course, pot, &found.stated, &found.stated.passed);

    course.limit = if found.ran_dry {
        Limit::Flask
    } else if !found.parts || last.water > STAYS * (last.water + last.taken) && found.rest.is_some() {
        Limit::OneLiquid
    } else if course.at_time.taken >= DONE * last.taken {
        Limit::Done
    } else if slow(pot, &course.at_time, &course.parts) {
        Limit::Rate
    } else if course.is_dry() {
        Limit::Vapour
    } else {
        Limit::Time
    };
    Ok(())
}

fn at_rate(course: &mut Course, pot: &Pot<'_>, place: rated::At, time: f64) -> Result<(), crate::chemistry::solve::SolveError> {
    let mut n = pot.moles.clone();
    let water = course_water(pot);
    let rows = &mut course.rows;
    let mut look = |time: f64, t: f64, n: &[f64], extents: &[f64]| {
        let volume = n.iter().zip(&pot.volumes).map(|(n, own)| n * own).sum::<f64>();
        let water = water.and_then(|at| n.get(at)).copied().unwrap_or(0.0);
        rows.push(Row { time, t, volume, water, taken: 0.0, extents: extents.to_vec(), count: 0.0 });
    };
    let stated = course.begins.time;
    rated::follow(pot, &pot.reactions, &mut n, place, (stated, time / stated.max(1e-9)), &mut look)?;
    let t = course.rows.last().map_or(mixture::ROOM, |row| row.t);
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
