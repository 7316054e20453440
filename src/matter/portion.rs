//! A portion of matter: how much of each substance, what of it is solid or bound, how warm.

use std::collections::BTreeMap;

use super::ledger::{Ledger, Num};
use crate::kinds::Kind;
use crate::resolve::definitions::{Definitions, Sub};

/// kg of each substance as plain numbers.
pub type Masses = BTreeMap<Sub, f64>;

/// A portion of matter.
#[derive(Clone, Debug, Default)]
pub struct Portion {
    /// kg of each substance, dissolved, solid and bound together.
    pub contents: BTreeMap<Sub, Num>,
    /// kg of each that is there as a solid.
    pub solid: Masses,
    /// kg of water that a drying agent in it holds.
    pub bound_water: f64,
    /// Temperature, K.
    pub temperature: f64,
}

impl Portion {
    /// kg of each substance.
    #[must_use]
    pub fn masses(&self) -> Masses {
        self.contents.iter().map(|(sub, mass)| (*sub, mass.si)).collect()
    }

    /// kg of each substance that is liquid or dissolved.
    #[must_use]
    pub fn liquid(&self, water: Option<Sub>) -> Masses {
        self.contents
            .iter()
            .map(|(sub, mass)| {
                let solid = self.solid.get(sub).copied().unwrap_or(0.0);
                let bound = if Some(*sub) == water { self.bound_water } else { 0.0 };
                (*sub, (mass.si - solid - bound).max(0.0))
            })
            .filter(|(_, mass)| *mass > 0.0)
            .collect()
    }

    /// kg in all.
    #[must_use]
    pub fn mass(&self) -> f64 {
        self.contents.values().map(|mass| mass.si).sum()
    }

    /// kg of one substance.
    #[must_use]
    pub fn of(&self, sub: Sub) -> f64 {
        self.contents.get(&sub).map_or(0.0, |mass| mass.si)
    }

    /// mol of one substance; zero for what has no formula.
    #[must_use]
    pub fn moles(&self, sub: Sub, defs: &Definitions) -> f64 {
        defs.substance(sub).molar_mass().map_or(0.0, |molar| self.of(sub) / molar)
    }

    /// The substance of which there is most by mass.
    #[must_use]
    pub fn main(&self) -> Option<Sub> {
        self.contents.iter().max_by(|a, b| a.1.si.total_cmp(&b.1.si).then(b.0.cmp(a.0))).map(|(sub, _)| *sub)
    }

    /// The mass in all, with its derivation.
    pub fn total(&self, ledger: &mut Ledger, what: &str) -> Num {
        let parts: Vec<Num> = self.contents.values().copied().collect();
        ledger.sum(format!("mass of {what}"), Kind::Mass, &parts)
    }

    /// Adds one substance.
    pub fn add(&mut self, sub: Sub, mass: Num, ledger: &mut Ledger, what: &str) {
        let sum = match self.contents.get(&sub) {
            Some(there) => ledger.sum(what.to_owned(), Kind::Mass, &[*there, mass]),
            None => mass,
        };
        self.contents.insert(sub, sum);
    }

    /// Adds all of another portion; solids stay solid, temperatures are averaged by mass.
    pub fn join(&mut self, other: &Portion, ledger: &mut Ledger, defs: &Definitions, name: &str) {
        let (here, there) = (self.mass(), other.mass());
        if here + there > 0.0 {
            self.temperature = (self.temperature * here + other.temperature * there) / (here + there);
        }
        for (sub, mass) in &other.contents {
            self.add(*sub, *mass, ledger, &format!("{} in {name}", defs.substance(*sub).display()));
        }
        for (sub, mass) in &other.solid {
            *self.solid.entry(*sub).or_insert(0.0) += mass;
        }
        self.bound_water += other.bound_water;
    }

    /// A part of it: the fraction `share` of everything.
    pub fn part(&self, share: f64, ledger: &mut Ledger, defs: &Definitions, model: &'static str, name: &str) -> Portion {
        let mut part = Portion { temperature: self.temperature, bound_water: self.bound_water * share, ..Portion::default() };
        for (sub, mass) in &self.contents {
            let what = format!("{} in {name}", defs.substance(*sub).display());
            part.contents.insert(*sub, ledger.model(model, what, Kind::Mass, mass.si * share, &[*mass]));
        }
        part.solid = self.solid.iter().map(|(sub, mass)| (*sub, mass * share)).collect();
        part
    }
}
