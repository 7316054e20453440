//! The water trap: what boils off is condensed into a trap, parts there, and one layer runs back.

use super::dried::{NEAR, Row, State, until};
use super::flask::{Equilibria, Flask, Heating, Substances};
use super::reaction::Reaction;
use crate::chemistry::solve::SolveError;

/// Steps granted to one course.
const MOST_STEPS: usize = 20_000;

/// Share of what there is of water by which an hour must still move what is in the flask for the course to go on.
const STILL: f64 = 1e-3;

/// How often it is looked whether anything moves, s.
const WHILE: f64 = 600.0;

/// Share of water from which a layer counts as the watery one, by moles. Our own figure.
const WATERY: f64 = 0.5;

/// Share of the trap that a step's condensate fills at most.
const PART: f64 = 0.25;

/// Layers whose densities differ by less than this share of the lower one hardly settle, and no density of a mixture is
/// foretold better: some of either leaves. Our own figure.
const SETTLES: f64 = 0.01;

/// Share of [`PART`] that a step's condensate fills at most while layers hardly settle, or are about to.
const CAREFUL: f64 = 0.1;

/// Share of a usual step's condensate by which the moment is met at which a layer comes, goes or takes the other's place.
const MOMENT: f64 = 1.0 / 32.0;

/// So many steps are taken again for such moments: where layers come and go all the time none of them decides anything.
const MOMENTS: usize = 60;

/// Share of the water that finer steps may change.
pub const FINE: f64 = 0.01;

/// How much finer the steps become where coarser ones change more than that.
const FINER: [f64; 4] = [2.0, 4.0, 8.0, 16.0];

/// What is half settled leaves in the time in which this share of the trap is filled. Our own figure.
const WAITS: f64 = 0.25;

/// Which layer stays, or leaves.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Leaves {
    /// The one with most water in it.
    Watery,
    /// The upper one.
    Upper,
    /// The lower one.
    Lower,
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
    /// What the trap holds before it runs over into the flask, m³.
    pub size: f64,
    /// Its temperature, K.
    pub t: f64,
    /// The layer that is taken away.
    pub leaves: Leaves,
    /// How long it is followed at most, s.
    pub time: f64,
    /// The time at which it is looked at, s.
    pub stated: f64,
    /// How much finer than usual the steps are; 1 as usual.
    pub finer: f64,
}

/// What a trap comes to.
#[derive(Clone, Debug)]
pub struct Course {
    /// From the first drop on; `taken` is water parted, `count` the volume of the layer that is taken away.
    pub rows: Vec<Row>,
    /// How it stands when it begins to boil.
    pub first: State,
    /// How it stands at the stated time, or at the end where that comes before.
    pub stated: State,
    /// How it stands at the end.
    pub end: State,
    /// Liquid in the flask at its least, m³, and when, s.
    pub least: (f64, f64),
    /// Whether the flask ran dry before the trap was full.
    pub ran_dry: bool,
    /// Whether the condensate ever parted.
    pub parts: bool,
    /// Whether layers lay in the trap that hardly settle, since their densities are nearly the same, with the named one to
    /// leave.
    pub hardly: bool,
    /// Share of the water by which the finest steps still changed what had parted at the stated time; more than [`FINE`] where
    /// little decides how it goes. Zero where the watery layer leaves, where no steps but the first are made; one where finer
    /// steps give no answer.
    pub change: f64,
    /// Since when nothing more comes, where that was met, s.
    pub rest: Option<f64>,
}

/// Follows a water trap. It fills from the condensate; then what stands beside the parted layer runs over. A
/// parted layer that would leave no room is drained, and counts.
///
/// Where the upper or the lower layer leaves, another may become that on the way: while their densities differ by less
/// than a hundredth, some of either leaves, the more the nearer it is to being the named one, so that nothing hangs on a
/// hair. The moment at which a layer comes, goes or takes the place of another is met by short steps. Results change by less
/// than 1 % of the water when steps are made finer; where that is not so it is followed by ever finer ones, and what the
/// last of them still changed is told. Amounts close to rounding.
///
/// # Errors
/// `BadInput` for figures that make no sense; what the equilibria or the reactions say; `NoConvergence` where the
/// steps granted do not suffice.
pub fn follow(question: &Question<'_>, equilibria: &mut dyn Equilibria) -> Result<Course, SolveError> {
    let mut course = follow_once(question, equilibria)?;
    if question.leaves == Leaves::Watery {
        return Ok(course);
    }
    course.change = 1.0;
    let of_water = |n: &[f64]| n.get(question.substances.water).copied().unwrap_or(0.0);
    for times in FINER {
        let finer = Question { finer: times * question.finer, ..question.clone() };
        let Ok(fine) = follow_once(&finer, equilibria) else { break };
        let all = of_water(&fine.stated.flask) + of_water(&fine.stated.apart) + fine.stated.row.taken;
        let change = (fine.stated.row.taken - course.stated.row.taken).abs() / all.max(1e-300);
        course = Course { change, ..fine };
        if change <= FINE {
            break;
        }
    }
    Ok(course)
}

fn follow_once(question: &Question<'_>, equilibria: &mut dyn Equilibria) -> Result<Course, SolveError> {
    let Question { charge, reactions, substances, heating, size, t, time, stated, finer, .. } = question;
    if ![*size, *t, *time, *stated].iter().all(|figure| figure.is_finite() && *figure > 0.0) {
        return Err(SolveError::bad("A figure of the trap is not a number above zero."));
    }
    let mut flask = Flask::new(charge, reactions, substances, *heating, *finer, equilibria)?;
    let water = substances.water;
    let of_water = |n: &[f64]| n.get(water).copied().unwrap_or(0.0);
    let nothing = vec![0.0; charge.len()];
    let at = |now: f64, flask: &Flask<'_>, parted: &[f64]| Row {
        time: now,
        t: flask.over.t,
        volume: flask.volume(),
        water: of_water(&flask.n),
        taken: of_water(parted),
        extents: flask.extents.clone(),
        count: substances.volume(parted),
    };
    let begins = at(0.0, &flask, &nothing);
    let mut here =
        State { row: begins.clone(), flask: flask.n.clone(), apart: nothing.clone(), passed: nothing, vapour: flask.over.y.clone() };
    let mut course = Course {
        rows: vec![begins],
        first: here.clone(),
        stated: here.clone(),
        end: here.clone(),
        least: (flask.volume(), 0.0),
        ran_dry: false,
        parts: false,
        hardly: false,
        change: 0.0,
        rest: None,
    };
    let mut apart = f64::INFINITY;
    let usual = PART * size / finer;
    let (mut fills, mut lies, mut met) = (usual, None, 0);
    let mut now = 0.0;
    let mut mark = (0.0, flask.n.clone());
    for _ in 0..MOST_STEPS {
        if now <= *stated * (1.0 + NEAR) {
            course.stated = here.clone();
        }
        if now >= *time * (1.0 - NEAR) || course.ran_dry || course.rest.is_some() {
            course.end = here;
            return Ok(course);
        }
        let step = flask.step(false).min(until(now, *stated, *time));
        let before = (flask.clone(), here.clone());
        let most = usual * if apart < 2.0 * SETTLES { CAREFUL } else { 1.0 };
        let mut passed = Passed::default();
        let mut run_over = |condensate: &[f64], _: f64, equilibria: &mut dyn Equilibria| {
            passed = pass(question, [&before.1.apart, &before.1.passed], condensate, equilibria)?;
            Ok(passed.returns.clone())
        };
        let stepped = flask.boil(step, fills.min(most), equilibria, &mut run_over)?;
        let came = substances.volume(&stepped.condensate);
        apart = passed.apart;
        course.hardly |= apart < SETTLES;
        course.parts |= passed.parts;
        let seen = passed.lies;
        if lies.is_some_and(|lies| lies != seen) && came > MOMENT * usual && met < MOMENTS {
            met += 1;
            (flask, here) = before;
            fills = (0.25 * came).max(MOMENT * usual);
            continue;
        }
        lies = Some(seen);
        (here.apart, here.passed) = (passed.standing, passed.parted);
        fills = (2.0 * fills).min(usual);
        now += stepped.time;
        if flask.volume() < course.least.0 {
            course.least = (flask.volume(), now);
        }
        let volatile: f64 = flask.n.iter().zip(&flask.over.y).filter(|(_, y)| **y > 1e-9).map(|(n, _)| n).sum();
        here.becomes(at(now, &flask, &here.passed), &flask);
        course.rows.push(here.row.clone());
        course.ran_dry = volatile < 0.02 * (volatile + here.apart.iter().sum::<f64>());
        // A while in which nothing in the flask moves is the end of it: what parts or reacts moves it.
        if now - mark.0 >= WHILE {
            let whole = flask.n.iter().sum::<f64>();
            let scale = flask.extents.iter().fold(here.row.taken + here.row.water, |scale, own| scale.max(own.abs())).max(1e-6 * whole);
            let moved = flask.n.iter().zip(&mark.1).map(|(now, then)| (now - then).abs()).fold(0.0, f64::max);
            if moved < STILL * scale * (now - mark.0) / 3600.0 {
                course.rest = Some(mark.0);
            }
            mark = (now, flask.n.clone());
        }
    }
    Err(SolveError::NoConvergence { iterations: MOST_STEPS, last: now })
}

/// What became of a condensate in the trap.
#[derive(Clone, Default)]
struct Passed {
    /// What stands in the trap, mol.
    standing: Vec<f64>,
    /// What has parted in all, mol.
    parted: Vec<f64>,
    /// What ran back, mol.
    returns: Vec<f64>,
    /// By how much the densities of layers differ at least, as a share.
    apart: f64,
    /// Whether any of it left.
    parts: bool,
    /// What lies there at last.
    lies: Lies,
}

/// A condensate comes into the trap, in which so much stands and has parted.
///
/// It comes little by little, and what leaves changes meanwhile. So it is let in at once and by halves, and what that
/// changes is added once more, which leaves an error of the third order; of nothing more than there is.
fn pass(
    question: &Question<'_>,
    [standing, parted]: [&[f64]; 2],
    condensate: &[f64],
    equilibria: &mut dyn Equilibria,
) -> Result<Passed, SolveError> {
    let whole = pass_at_once(question, [standing, parted], condensate, equilibria)?;
    if whole.lies == Lies::Single && whole.returns.iter().all(|own| *own <= 0.0) {
        return Ok(whole);
    }
    let half: Vec<f64> = condensate.iter().map(|own| 0.5 * own).collect();
    let first = pass_at_once(question, [standing, parted], &half, equilibria)?;
    let second = pass_at_once(question, [&first.standing, &first.parted], &half, equilibria)?;
    let mut fine = Passed {
        returns: first.returns.iter().zip(&second.returns).map(|(first, second)| first + second).collect(),
        apart: whole.apart.min(first.apart).min(second.apart),
        parts: whole.parts || first.parts || second.parts,
        ..second
    };
    let nothing = vec![0.0; standing.len()];
    let share = part_of_change(&fine.standing, &whole.standing, &nothing)
        .min(part_of_change(&fine.parted, &whole.parted, parted))
        .min(part_of_change(&fine.returns, &whole.returns, &nothing));
    let on = |fine: &mut [f64], whole: &[f64]| fine.iter_mut().zip(whole).for_each(|(fine, whole)| *fine += share * (*fine - whole));
    on(&mut fine.standing, &whole.standing);
    on(&mut fine.parted, &whole.parted);
    on(&mut fine.returns, &whole.returns);
    Ok(fine)
}

/// How much of what halves changed may be added to them once more, at most all of it, until one would be below its least.
fn part_of_change(fine: &[f64], whole: &[f64], least: &[f64]) -> f64 {
    let falls = fine.iter().zip(whole).zip(least).map(|((fine, whole), least)| (whole - fine, fine - least));
    falls.filter(|(falls, room)| falls > room).fold(1.0, |share, (falls, room)| share.min(room.max(0.0) / falls))
}

fn pass_at_once(
    question: &Question<'_>,
    [standing, parted]: [&[f64]; 2],
    condensate: &[f64],
    equilibria: &mut dyn Equilibria,
) -> Result<Passed, SolveError> {
    let Question { substances, size, t, leaves, .. } = question;
    let mut standing: Vec<f64> = standing.iter().zip(condensate).map(|(own, come)| own + come).collect();
    let mut parted = parted.to_vec();
    let liquids = if standing.iter().sum::<f64>() > 0.0 { equilibria.liquids(&standing, *t)? } else { Vec::new() };
    let settled = settled(&liquids, *leaves, substances);
    let lies = Lies::of(&liquids, &settled, substances.water);
    let mut parts = false;
    for (layer, settled) in liquids.iter().zip(settled) {
        // What has settled leaves at once, what has not as the trap is filled.
        let waits = settled / (1.0 - settled) * substances.volume(condensate) / (WAITS * size);
        let gone = if settled < 1.0 { 1.0 - (-waits).exp() } else { 1.0 };
        parts |= gone > 0.0;
        for ((standing, parted), own) in standing.iter_mut().zip(&mut parted).zip(layer) {
            let own = (gone * own).min(*standing);
            *standing -= own;
            *parted += own;
        }
    }
    // The parted layer takes up room until it is drained, at two thirds of the trap.
    let room = match leaves {
        Leaves::Watery => size - substances.volume(&parted).min(2.0 / 3.0 * size),
        Leaves::Upper | Leaves::Lower => *size,
    };
    let filled = substances.volume(&standing);
    let over = if filled > room { 1.0 - room / filled } else { 0.0 };
    let returns: Vec<f64> = standing.iter().map(|own| own * over).collect();
    standing.iter_mut().zip(&returns).for_each(|(own, gone)| *own -= gone);
    let apart = unlike(&liquids, *leaves, substances);
    Ok(Passed { standing, parted, returns, apart, parts, lies })
}

/// What lies in the trap.
#[derive(Clone, Copy, PartialEq, Eq, Default)]
enum Lies {
    /// One liquid.
    #[default]
    Single,
    /// Layers of which the one with most water leaves, or most of what leaves.
    WateryLeaves,
    /// Layers of which that one stays.
    WateryStays,
}

impl Lies {
    fn of(liquids: &[Vec<f64>], settled: &[f64], water: usize) -> Self {
        let share = |n: &[f64]| n.get(water).copied().unwrap_or(0.0) / n.iter().sum::<f64>().max(1e-300);
        let watery = liquids.iter().zip(settled).max_by(|a, b| share(a.0).total_cmp(&share(b.0)));
        match watery {
            Some((_, settled)) if liquids.len() > 1 => {
                if *settled > 0.5 {
                    Self::WateryLeaves
                } else {
                    Self::WateryStays
                }
            }
            _ => Self::Single,
        }
    }
}

fn density(n: &[f64], substances: &Substances) -> f64 {
    substances.mass(n) / substances.volume(n).max(1e-300)
}

/// By how much the densities of two layers differ at least, as a share, where one of them is to leave for its place.
fn unlike(liquids: &[Vec<f64>], leaves: Leaves, substances: &Substances) -> f64 {
    let mut densities: Vec<f64> = liquids.iter().map(|layer| density(layer, substances)).collect();
    densities.sort_by(f64::total_cmp);
    let pairs = densities.windows(2).filter_map(|pair| if let [a, b] = pair { Some(b / a - 1.0) } else { None });
    if leaves == Leaves::Watery { f64::INFINITY } else { pairs.fold(f64::INFINITY, f64::min) }
}

/// Of each liquid, of those that lie one over another, how far it is the layer that is taken away: from nothing to one.
fn settled(liquids: &[Vec<f64>], leaves: Leaves, substances: &Substances) -> Vec<f64> {
    let none = vec![0.0; liquids.len()];
    if liquids.len() < 2 {
        return none;
    }
    // The upper one is lighter than all others.
    let lighter = |own: &[f64], other: &[f64]| {
        let (own, other) = (density(own, substances), density(other, substances));
        let by = ((other - own) / (SETTLES * own.min(other)).max(1e-300)).clamp(-1.0, 1.0);
        0.25 * (2.0 + 3.0 * by - by * by * by)
    };
    let beside = |at: usize| liquids.iter().enumerate().filter(move |(other, _)| *other != at).map(|(_, other)| other);
    let each = liquids.iter().enumerate();
    match leaves {
        Leaves::Watery => {
            let whole = |n: &[f64]| n.iter().sum::<f64>().max(1e-300);
            let water = |n: &[f64]| n.get(substances.water).copied().unwrap_or(0.0) / whole(n);
            let most = each.max_by(|a, b| water(a.1).total_cmp(&water(b.1))).filter(|(_, layer)| water(layer) > WATERY);
            let mut watery = none;
            watery.iter_mut().skip(most.map_or(usize::MAX, |(at, _)| at)).take(1).for_each(|own| *own = 1.0);
            watery
        }
        Leaves::Upper => each.map(|(at, own)| beside(at).map(|other| lighter(own, other)).product()).collect(),
        Leaves::Lower => each.map(|(at, own)| beside(at).map(|other| lighter(other, own)).product()).collect(),
    }
}

#[cfg(test)]
#[path = "trap_tests.rs"]
mod tests;
