//! A portion as the chemistry that takes its time sees it: amounts, figures of the substances, reactions.

use std::cell::OnceCell;
use std::sync::Arc;

use crate::chemistry::course::flask::{Equilibria, Over, Substances};
use crate::chemistry::course::reaction::{Ends, Rate, Reaction};
use crate::chemistry::phase::{Boil, Liquid, PhaseError};
use crate::chemistry::solve::SolveError;
use crate::matter::portion::{Masses, Portion};
use crate::matter::system::Liquids;
use crate::resolve::definitions::{self, Definitions, Extent, Sub, Substance};

/// kg/m³ of a liquid whose density is not known. Our own figure.
const DENSITY: f64 = 900.0;

/// J/(mol K) by which a liquid's heat of vaporisation follows from its boiling point: Trouton's rule.
const TROUTON: f64 = 88.0;

/// Heat of vaporisation where not even a boiling point is known, J/mol. Our own figure.
const LATENT: f64 = 45_000.0;

/// What is in a portion and takes part or dilutes.
#[derive(Clone, Debug)]
pub struct Pot<'a> {
    /// The substances, in the order of everything below.
    pub subs: Vec<Sub>,
    /// mol of each.
    pub moles: Vec<f64>,
    /// What goes on.
    pub reactions: Vec<Reaction>,
    /// Volume of a mole of each, m³.
    pub volumes: Vec<f64>,
    /// kg/mol of each.
    molar: Vec<f64>,
    defs: &'a Definitions,
    /// The equilibria, and the place in them of each that is part of them; made when they are asked for.
    system: OnceCell<(Liquids, Vec<Option<usize>>)>,
}

fn volume(substance: &Substance) -> f64 {
    let density = substance.liquid_density().map(|density| density.value.1);
    let density = density.or_else(|| substance.solid_density.as_ref().map(|density| density.value)).unwrap_or(DENSITY);
    substance.molar_mass().unwrap_or(0.0) / density
}

/// Heat of vaporisation, J/mol: declared, else by Trouton's rule.
fn latent(substance: &Substance) -> f64 {
    let declared = substance.vaporisation.as_ref().map(|heat| heat.value);
    declared.or_else(|| substance.boils.as_ref().map(|boils| TROUTON * boils.value)).unwrap_or(LATENT)
}

impl<'a> Pot<'a> {
    /// Of a portion in which these reactions run. What a bed holds or has no formula is no part of it.
    #[must_use]
    pub fn new(defs: &'a Definitions, portion: &Portion, running: &[(usize, Arc<definitions::Reaction>)]) -> Self {
        let water = defs.find("water");
        let mut masses: Masses = portion.masses();
        if let Some(mass) = water.and_then(|water| masses.get_mut(&water)) {
            *mass = (*mass - portion.bound_water).max(0.0);
        }
        for (_, reaction) in running {
            for sub in reaction.numbers().keys() {
                masses.entry(*sub).or_insert(0.0);
            }
            // A catalyst that is not there hastens nothing.
            if let Some((catalyst, _)) = reaction.catalyst {
                masses.entry(catalyst).or_insert(0.0);
            }
        }
        if let Some(water) = water {
            masses.entry(water).or_insert(0.0);
        }
        masses.retain(|sub, _| defs.substance(*sub).molar_mass().is_some());
        let subs: Vec<Sub> = masses.keys().copied().collect();
        let molar: Vec<f64> = subs.iter().map(|sub| defs.substance(*sub).molar_mass().unwrap_or(1.0)).collect();
        let moles = masses.values().zip(&molar).map(|(mass, molar)| mass / molar).collect();
        let volumes = subs.iter().map(|sub| volume(defs.substance(*sub))).collect();
        let reactions = running.iter().map(|(_, reaction)| translated(reaction, &subs)).collect();
        Self { subs, moles, reactions, volumes, molar, defs, system: OnceCell::new() }
    }

    /// The place of a substance.
    #[must_use]
    pub fn place(&self, sub: Sub) -> Option<usize> {
        self.subs.iter().position(|own| *own == sub)
    }

    /// kg of each.
    #[must_use]
    pub fn masses(&self, moles: &[f64]) -> Masses {
        self.subs.iter().zip(&self.molar).zip(moles).map(|((sub, molar), n)| (*sub, n * molar)).collect()
    }

    /// The figures that a course asks for; `None` where there is no water.
    #[must_use]
    pub fn substances(&self) -> Option<Substances> {
        Some(Substances {
            volumes: self.volumes.clone(),
            latent: self.subs.iter().map(|sub| latent(self.defs.substance(*sub))).collect(),
            masses: self.molar.clone(),
            water: self.place(self.defs.find("water")?)?,
        })
    }

    /// What the equilibria rest on.
    #[must_use]
    pub fn liquids(&self) -> &Liquids {
        &self.system().0
    }

    fn system(&self) -> &(Liquids, Vec<Option<usize>>) {
        self.system.get_or_init(|| {
            let liquids = Liquids::of(&self.masses(&self.moles), self.defs);
            let places = self.subs.iter().map(|sub| liquids.subs.iter().position(|own| own == sub)).collect();
            (liquids, places)
        })
    }

    /// Amounts of the system's components.
    fn inside(&self, n: &[f64]) -> Vec<f64> {
        let (liquids, places) = self.system();
        let mut inside = vec![0.0; liquids.subs.len()];
        for (place, n) in places.iter().zip(n) {
            if let Some(slot) = place.and_then(|place| inside.get_mut(place)) {
                *slot = *n;
            }
        }
        inside
    }

    /// Figures of the system's components for all substances; `other` for what is no part of it.
    fn outside(&self, figures: &[f64], other: f64) -> Vec<f64> {
        self.system().1.iter().map(|place| place.and_then(|place| figures.get(place)).copied().unwrap_or(other)).collect()
    }

    /// ln of activity over mole fraction of each, where these liquids lie side by side.
    fn gammas(&self, inside: &[f64], liquids: &[Liquid]) -> Vec<f64> {
        let whole: f64 = inside.iter().sum();
        let Some(most) = liquids.first() else { return vec![0.0; self.subs.len()] };
        let own = most.gamma.iter().zip(&most.x).zip(inside);
        // An activity is the same in every liquid, a coefficient is not.
        let logs: Vec<f64> = own
            .map(|((gamma, x), n)| match (*x > 0.0 && *n > 0.0, gamma.ln()) {
                (_, log) if !log.is_finite() => 0.0,
                (true, log) => log + (x / (n / whole)).ln(),
                (false, log) => log,
            })
            .collect();
        self.outside(&logs, 0.0)
    }

    /// ln of activity over mole fraction of each at `t` kelvin.
    ///
    /// # Errors
    /// Why they are not known.
    pub fn activities(&self, n: &[f64], t: f64) -> Result<Vec<f64>, SolveError> {
        let inside = self.inside(n);
        if inside.iter().sum::<f64>() <= 0.0 {
            return Ok(vec![0.0; n.len()]);
        }
        let liquids = self.liquids().system.split(&inside, t)?;
        Ok(self.gammas(&inside, &liquids))
    }

    /// Equilibria at a pressure, Pa.
    #[must_use]
    pub fn at(&self, p: f64) -> Boiling<'_> {
        Boiling { pot: self, p, single: Vec::new(), parted: None, apart: None, together: None }
    }
}

/// The equilibria of a pot at the pressure of the room.
#[derive(Clone, Debug)]
pub struct Boiling<'a> {
    pot: &'a Pot<'a>,
    p: f64,
    /// What was seen to be one liquid.
    single: Vec<Liquid>,
    /// What boiled last as several.
    parted: Option<Boil>,
    /// What parted last, at which temperature.
    apart: Option<(f64, Vec<Liquid>)>,
    /// What was seen last not to part, at which temperature.
    together: Option<(f64, Liquid)>,
}

/// What differs from a boiling liquid that does not part by no more than this in any activity is taken for one that does
/// not, either. Our own figure.
const ALIKE: f64 = 0.02;

/// The same of a cold liquid.
const ALIKE_COLD: f64 = 2e-3;

impl Boiling<'_> {
    /// Where these amounts boil.
    ///
    /// # Errors
    /// Why they do not.
    pub fn boil(&self, n: &[f64]) -> Result<Boil, PhaseError> {
        self.pot.liquids().boiling(&self.pot.masses(n)).boil(&self.pot.inside(n), self.p)
    }
}

impl Equilibria for Boiling<'_> {
    fn vapour(&mut self, n: &[f64]) -> Result<Over, SolveError> {
        let inside = self.pot.inside(n);
        let whole: f64 = inside.iter().sum();
        let x: Vec<f64> = inside.iter().map(|n| n / whole).collect();
        // Where it cannot be seen whether it parts it is taken for one liquid.
        let system = self.pot.liquids().boiling(&self.pot.masses(n));
        let near = self.parted.as_ref().and_then(|parted| system.boil_near(&inside, self.p, parted));
        let boil = match near {
            None if self.single.iter().rev().any(|seen| seen.is_like(&x, ALIKE)) => None,
            None => system.boil(&inside, self.p).ok(),
            near => near,
        };
        if let Some(boil) = boil {
            let over = Over { t: boil.t, y: self.pot.outside(&boil.y, 0.0), gammas: self.pot.gammas(&inside, &boil.liquids) };
            if let [single] = boil.liquids.as_slice() {
                self.single.push(single.clone());
                self.parted = None;
            } else {
                self.parted = Some(boil);
            }
            return Ok(over);
        }
        let bubble = system.bubble(&inside, self.p)?;
        let logs: Vec<f64> = bubble.gamma.iter().map(|gamma| gamma.ln()).map(|log| if log.is_finite() { log } else { 0.0 }).collect();
        Ok(Over { t: bubble.t, y: self.pot.outside(&bubble.y, 0.0), gammas: self.pot.outside(&logs, 0.0) })
    }

    fn liquids(&mut self, n: &[f64], t: f64) -> Result<Vec<Vec<f64>>, SolveError> {
        let inside = self.pot.inside(n);
        let whole: f64 = inside.iter().sum();
        let x: Vec<f64> = inside.iter().map(|n| n / whole).collect();
        if self.together.as_ref().is_some_and(|(at, seen)| *at == t && seen.is_like(&x, ALIKE_COLD)) {
            return Ok(vec![n.to_vec()]);
        }
        let system = &self.pot.liquids().system;
        let near = self.apart.as_ref().filter(|(at, _)| *at == t).and_then(|(_, near)| system.split_near(&inside, t, near));
        let liquids = match near.map_or_else(|| system.split(&inside, t), Ok) {
            Ok(liquids) => liquids,
            // On the border of parting the second liquid is as good as the first.
            Err(PhaseError::NoConvergence { .. }) => return Ok(vec![n.to_vec()]),
            Err(error) => return Err(error.into()),
        };
        if let [single] = liquids.as_slice() {
            self.together = Some((t, single.clone()));
        } else {
            self.apart = Some((t, liquids.clone()));
        }
        let mut parts: Vec<Vec<f64>> = liquids
            .iter()
            .map(|liquid| self.pot.outside(&liquid.x.iter().map(|x| x * liquid.share * whole).collect::<Vec<_>>(), 0.0))
            .collect();
        // What is no part of the system stays with the largest, and so does what rounding leaves.
        let sums: Vec<f64> = (0..n.len()).map(|at| parts.iter().filter_map(|part| part.get(at)).sum()).collect();
        if let Some(most) = parts.first_mut() {
            most.iter_mut().zip(n.iter().zip(&sums)).for_each(|(own, (n, sum))| *own = (*own + n - sum).max(0.0));
        }
        Ok(parts)
    }
}

/// A reaction of the language in terms of these substances.
fn translated(reaction: &definitions::Reaction, subs: &[Sub]) -> Reaction {
    let numbers = reaction.numbers();
    let ends = match reaction.extent {
        Extent::InActivities(k) => Ends::Activity(k),
        Extent::Equilibrium(k) => Ends::Ratio(k),
        _ => Ends::Ratio(1.0),
    };
    let catalyst = reaction.catalyst.and_then(|(sub, _)| subs.iter().position(|own| *own == sub));
    let rate = reaction.rate.as_ref().map(|rate| Rate {
        constant: rate.value.constant,
        t: rate.value.t,
        energy: rate.value.energy,
        catalyst: catalyst.filter(|_| rate.value.order > 0.0).map(|at| (at, rate.value.order)),
    });
    Reaction { nu: subs.iter().map(|sub| numbers.get(sub).copied().unwrap_or(0.0)).collect(), ends, rate }
}
