//! A liquid that boils while reactions go on in it: what goes over in a stretch of time.

use super::reaction::{Reaction, Where, proceed};
use crate::chemistry::solve::SolveError;
use crate::chemistry::stoichiometry;

/// The vapour over a boiling liquid.
#[derive(Clone, Debug, PartialEq)]
pub struct Over {
    /// Temperature, K.
    pub t: f64,
    /// The vapour, in mole fractions; zero for what does not boil.
    pub y: Vec<f64>,
    /// ln of activity over mole fraction of each.
    pub gammas: Vec<f64>,
}

/// What a course asks of the liquids it follows.
pub trait Equilibria {
    /// The vapour over these amounts in mol.
    ///
    /// # Errors
    /// Why there is none.
    fn vapour(&mut self, n: &[f64]) -> Result<Over, SolveError>;

    /// The liquids that these amounts part into at `t` kelvin, in mol.
    ///
    /// # Errors
    /// Why they are not known.
    fn liquids(&mut self, n: &[f64], t: f64) -> Result<Vec<Vec<f64>>, SolveError>;
}

/// What makes a liquid boil.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Heating {
    /// Heat that goes into vapour, W.
    Power(f64),
    /// So much condensate, m³/s.
    Flow(f64),
}

/// The substances of a course: a figure for each.
#[derive(Clone, Debug, PartialEq)]
pub struct Substances {
    /// Volume of a mole of liquid, m³.
    pub volumes: Vec<f64>,
    /// Heat of vaporisation, J/mol.
    pub latent: Vec<f64>,
    /// Mass of a mole, kg.
    pub masses: Vec<f64>,
    /// The place of water.
    pub water: usize,
}

impl Substances {
    /// Volume of amounts in mol, m³.
    #[must_use]
    pub fn volume(&self, n: &[f64]) -> f64 {
        n.iter().zip(&self.volumes).map(|(n, own)| n * own).sum()
    }

    /// Mass of amounts in mol, kg.
    #[must_use]
    pub fn mass(&self, n: &[f64]) -> f64 {
        n.iter().zip(&self.masses).map(|(n, own)| n * own).sum()
    }

    /// Whether there is a figure for each of `n` substances, and each makes sense.
    fn fits(&self, n: usize) -> bool {
        let lists = [&self.volumes, &self.latent, &self.masses];
        lists.iter().all(|list| list.len() == n && list.iter().all(|figure| figure.is_finite() && *figure >= 0.0)) && self.water < n
    }
}

/// Share of the flask that may boil off in a step.
const TURNOVER: f64 = 0.05;

/// Share of any one substance that may boil off in a step, unless that would ask for steps below [`SMALLEST`].
const DRAWN: f64 = 0.5;

/// Share of the flask below which steps are not made smaller for the sake of one substance.
const SMALLEST: f64 = 0.002;

/// Share of what there is of a substance, besides what runs back meanwhile, that leaves in a step at most.
const MOST_DRAWN: f64 = 0.9;

/// The first step's share of a usual one; each after it is at most twice the one before.
const FIRST: f64 = 1.0 / 64.0;

/// By how much what goes over of water in a step may differ between the vapour of its beginning and that of its middle,
/// as a share of all water there is or can be made. The step itself, which takes the middle, is off by a tenth of that.
const BEND: f64 = 0.005;

/// No step is made smaller than this share of a usual one for the sake of [`BEND`].
const LEAST: f64 = 1.0 / 256.0;

/// A boiling flask.
#[derive(Clone, Debug)]
pub struct Flask<'a> {
    /// mol of each substance.
    pub n: Vec<f64>,
    /// How far each reaction has gone, mol.
    pub extents: Vec<f64>,
    /// The vapour that came last.
    pub over: Over,
    /// Heat that went into vapour, J.
    pub heat: f64,
    reactions: &'a [Reaction],
    substances: &'a Substances,
    heating: Heating,
    /// How much finer than usual the steps are.
    finer: f64,
    /// The first steps are shorter, as are those in which the vapour changes: what happens at once happens then.
    share: f64,
    /// mol/s that ran back at once in the last step; nothing where nothing does.
    returned: Vec<f64>,
    /// Water there is and that can be made, mol.
    all_water: f64,
}

/// What of a condensate (mol, in so many s) runs back at once, mol; nothing at all for an empty list.
pub type Back<'a> = dyn FnMut(&[f64], f64, &mut dyn Equilibria) -> Result<Vec<f64>, SolveError> + 'a;

/// What a step gave.
#[derive(Clone, Debug)]
pub struct Stepped {
    /// How long it took, s.
    pub time: f64,
    /// What went over, mol.
    pub condensate: Vec<f64>,
}

impl<'a> Flask<'a> {
    /// A charge at the boil. Reactions that take no time are at equilibrium.
    ///
    /// # Errors
    /// `BadInput` for lists that do not fit each other, and what the equilibria say.
    pub fn new(
        n: &[f64],
        reactions: &'a [Reaction],
        substances: &'a Substances,
        heating: Heating,
        finer: f64,
        equilibria: &mut dyn Equilibria,
    ) -> Result<Self, SolveError> {
        if !substances.fits(n.len()) {
            return Err(SolveError::bad("The figures of the substances do not fit the charge."));
        }
        let (Heating::Power(strength) | Heating::Flow(strength)) = heating;
        if !(strength.is_finite() && strength > 0.0 && finer.is_finite() && finer >= 1.0) {
            return Err(SolveError::bad("The heating is not a number above zero."));
        }
        let mut flask = Self {
            n: n.to_vec(),
            extents: vec![0.0; reactions.len()],
            over: equilibria.vapour(n)?,
            heat: 0.0,
            reactions,
            substances,
            heating,
            finer,
            share: FIRST,
            returned: Vec::new(),
            all_water: n.get(substances.water).copied().unwrap_or(0.0) + made(n, reactions, substances.water),
        };
        // Activities follow the composition, and that follows them.
        for _ in 0..4 {
            let mut at = flask.n.clone();
            let gone = flask.react(&mut at, 0.0)?;
            let moved = gone.iter().map(|gone| gone.abs()).fold(0.0, f64::max);
            flask.n = at;
            flask.extents.iter_mut().zip(&gone).for_each(|(extent, gone)| *extent += gone);
            flask.over = equilibria.vapour(&flask.n)?;
            if moved <= 1e-6 * n.iter().sum::<f64>() {
                break;
            }
        }
        Ok(flask)
    }

    fn react(&self, n: &mut [f64], time: f64) -> Result<Vec<f64>, SolveError> {
        if self.reactions.is_empty() {
            return Ok(Vec::new());
        }
        let place = Where { t: self.over.t, volumes: &self.substances.volumes, gammas: &self.over.gammas };
        proceed(n, self.reactions, place, time)
    }

    /// mol/s that boil off as a vapour `y`.
    fn flow(&self, y: &[f64]) -> f64 {
        let per_mole = |figures: &[f64]| y.iter().zip(figures).map(|(y, own)| y * own).sum::<f64>().max(1e-30);
        match self.heating {
            Heating::Power(watts) => watts / per_mole(&self.substances.latent),
            Heating::Flow(volume) => volume / per_mole(&self.substances.volumes),
        }
    }

    /// Volume of what is in the flask, m³.
    #[must_use]
    pub fn volume(&self) -> f64 {
        self.substances.volume(&self.n)
    }

    /// Time in s until the next step should end. Where all that runs back does so in the very step in which it boiled off
    /// (`at_once`), only what does not is drawn from the flask.
    #[must_use]
    pub fn step(&self, at_once: bool) -> f64 {
        let (whole, flow) = (self.n.iter().sum::<f64>(), self.flow(&self.over.y));
        let back = |at: usize| if at_once { self.back(at) / flow } else { 0.0 };
        let lost = self.over.y.iter().enumerate().map(|(at, y)| y - back(at));
        let drawn = |((lost, n), own): ((f64, &f64), &f64)| (lost > 1e-12 && *n > 0.0 && *own > 0.0).then(|| DRAWN * n / (lost * whole));
        let most = lost.zip(&self.n).zip(&self.substances.masses).filter_map(drawn).fold(TURNOVER, f64::min);
        most.max(SMALLEST) * whole / flow / self.finer * self.share
    }

    /// mol/s of one substance that ran back at once in the last step.
    fn back(&self, at: usize) -> f64 {
        self.returned.get(at).copied().unwrap_or(0.0)
    }

    /// Something else has come into the flask: the vapour over it is another.
    ///
    /// # Errors
    /// What the equilibria say.
    pub fn renew(&mut self, equilibria: &mut dyn Equilibria) -> Result<(), SolveError> {
        self.over = equilibria.vapour(&self.n)?;
        Ok(())
    }

    /// Boils for at most `time` seconds, or until about `room` m³ have gone over; `back` says what of the
    /// condensate runs back at once. It may be asked again of the same step, and only its last answer holds.
    ///
    /// The reactions go on for half of the step, what goes over leaves with the vapour of its middle, and they go
    /// on for the other half: the error of a step is of the third order, however fast the reactions are. Where the
    /// vapour changes much until then, the step is shorter than `time`.
    ///
    /// # Errors
    /// What the equilibria or the reactions say.
    pub fn boil(&mut self, time: f64, room: f64, equilibria: &mut dyn Equilibria, back: &mut Back<'_>) -> Result<Stepped, SolveError> {
        let before = self.over.clone();
        let (leaves, least) = (self.flow(&before.y), LEAST * self.step(false) / self.share);
        let fills = |y: &[f64], flow: f64| room / (flow * self.substances.volume(y)).max(1e-30);
        // The middle is that of the step which is made, also where the room is what ends it.
        let mut step = time.min(fills(&before.y, leaves));
        let mut most = time;
        // What goes over of water by the vapour of the beginning and by that of the middle, as a share of all of it.
        let bend = loop {
            let mut middle = self.n.clone();
            for (at, (n, y)) in middle.iter_mut().zip(&before.y).enumerate() {
                *n -= (0.5 * step * (leaves * y - self.back(at))).min(MOST_DRAWN * *n);
            }
            self.over.clone_from(&before);
            self.react(&mut middle, 0.5 * step)?;
            self.over = equilibria.vapour(&middle)?;
            let of_water = |y: &[f64], flow: f64| y.get(self.substances.water).copied().unwrap_or(0.0) * flow;
            let bend = (of_water(&self.over.y, self.flow(&self.over.y)) - of_water(&before.y, leaves)).abs() * step
                / self.all_water.max(1e-300)
                / (BEND / (self.finer * self.finer));
            if bend <= 2.0 || step <= least {
                break bend;
            }
            step = (step * (0.9 / bend.sqrt()).max(0.1)).max(least);
            most = step;
        };
        let flow = self.flow(&self.over.y);
        let time = most.min(1.25 * step).min(fills(&self.over.y, flow));
        let mut begun = self.n.clone();
        let first = self.react(&mut begun, 0.5 * time)?;
        let draws = |back: &dyn Fn(usize) -> f64| -> Vec<f64> {
            let own = |(at, (n, y)): (usize, (&f64, &f64))| (time * flow * y).min(MOST_DRAWN * n + time * back(at)).max(0.0);
            begun.iter().zip(&self.over.y).enumerate().map(own).collect()
        };
        let mut condensate = draws(&|at| self.back(at));
        let mut returns = back(&condensate, time, equilibria)?;
        let left = |condensate: &[f64], returns: &[f64]| -> Vec<f64> {
            let back = |at: usize| returns.get(at).copied().unwrap_or(0.0);
            begun.iter().zip(condensate).enumerate().map(|(at, (n, gone))| n - gone + back(at)).collect()
        };
        let mut n = left(&condensate, &returns);
        // Less ran back than in the step before: no more leaves than is there.
        if n.iter().zip(&begun).any(|(n, begun)| *n < 0.5 * (1.0 - MOST_DRAWN) * begun) {
            condensate = draws(&|_| 0.0);
            returns = back(&condensate, time, equilibria)?;
            n = left(&condensate, &returns);
        }
        let second = self.react(&mut n, 0.5 * time)?;
        self.n = n;
        self.share = (self.share * (0.9 / bend.max(1e-12).sqrt()).clamp(0.1, 2.0)).clamp(LEAST, 1.0);
        self.returned = returns.iter().map(|own| own / time.max(1e-12)).collect();
        for (extent, (first, second)) in self.extents.iter_mut().zip(first.iter().zip(&second)) {
            *extent += first + second;
        }
        self.heat += condensate.iter().zip(&self.substances.latent).map(|(n, own)| n * own).sum::<f64>();
        Ok(Stepped { time, condensate })
    }
}

/// Water that the reactions can make of `n`, mol, each by itself.
fn made(n: &[f64], reactions: &[Reaction], water: usize) -> f64 {
    let one = |reaction: &Reaction| {
        let made = reaction.nu.get(water).copied().unwrap_or(0.0).max(0.0);
        stoichiometry::limiting(n, &reaction.nu).map_or(0.0, |(_, most)| made * most)
    };
    reactions.iter().map(one).sum()
}
