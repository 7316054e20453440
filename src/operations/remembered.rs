//! Courses that were followed in this process, so that none is followed twice: not by the many evaluations of one procedure,
//! and not by the many procedures of a sweep, a route or a comparison that share a flask. What is remembered is what would
//! be found again: nothing that can be seen depends on it.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use super::course::{Answer, Begins, Far, Way};
use super::pot::Pot;
use super::rated;
use crate::resolve::binary_fit::BinaryFit;
use crate::resolve::definitions::{Definitions, Reaction, Solution, Substance};

/// Courses that are remembered.
const REMEMBERED: usize = 64;

/// What decides how a course goes.
pub(super) struct RestsOn<'a> {
    /// What it begins with, in the batch as written.
    pub begins: &'a Begins,
    /// What is in the flask.
    pub pot: &'a Pot<'a>,
    /// The reactions, by number.
    pub running: &'a [(usize, Arc<Reaction>)],
    /// Pressure of the room, Pa.
    pub room: f64,
    /// What the substances are.
    pub defs: &'a Definitions,
    /// The statement.
    pub number: usize,
    /// How far it is followed.
    pub far: Far,
}

/// The figures of what a course rests on, the addresses of the declarations, and the reactions in words.
type Key = (Vec<u64>, String);

/// Everything that is declared: what the library declares is the same one in every compilation.
type Declared = (Vec<Arc<Substance>>, Vec<Arc<Solution>>, Vec<Arc<BinaryFit>>);

/// An answer, with the declarations that it rests on: while they are kept no others can have their addresses.
type Known = (Answer, Declared);

static KNOWN: Mutex<BTreeMap<Key, Known>> = Mutex::new(BTreeMap::new());

impl RestsOn<'_> {
    fn key(&self, (substances, solutions, fits): &Declared) -> Key {
        let begins = self.begins;
        let mut figures = vec![begins.time, begins.power.unwrap_or(-1.0), begins.cold, self.room];
        match &begins.way {
            Way::Bed(bed) => figures.extend([1.0, bed.mass, bed.bound, bed.siphon.unwrap_or(-1.0), f64::from(u8::from(bed.sized))]),
            Way::Trap(size, water, leaves) => figures.extend([2.0, size.unwrap_or(-1.0), *water, f64::from(*leaves as u8)]),
            Way::Nothing(rated::At::Held(t)) => figures.extend([3.0, *t]),
            Way::Nothing(rated::At::Boil(p, t)) => figures.extend([4.0, *p, *t]),
        }
        figures.extend(&self.pot.moles);
        let numbers = [self.number, usize::from(self.far == Far::Whole)].into_iter().chain(begins.reactions.iter().copied());
        let places = self.pot.subs.iter().map(|sub| sub.0).chain(numbers);
        let addresses = substances.iter().map(|own| Arc::as_ptr(own) as usize);
        let addresses = addresses.chain(solutions.iter().map(|own| Arc::as_ptr(own) as usize));
        let addresses = addresses.chain(fits.iter().map(|own| Arc::as_ptr(own) as usize));
        let names: Vec<&str> = self.running.iter().map(|(_, reaction)| reaction.name.as_str()).collect();
        let figures = figures.iter().map(|figure| figure.to_bits()).chain(places.chain(addresses).map(|number| number as u64)).collect();
        (figures, format!("{names:?} {:?}", self.pot.reactions))
    }
}

/// The course that rests on this: as it is remembered, else as it is followed now.
pub(super) fn or_follow(rests_on: &RestsOn<'_>, follow: impl FnOnce() -> Answer) -> Answer {
    let Definitions { substances, solutions, binary_fits, .. } = rests_on.defs;
    let declared = (substances.clone(), solutions.clone(), binary_fits.clone());
    let key = rests_on.key(&declared);
    if let Some((answer, _)) = KNOWN.lock().ok().and_then(|known| known.get(&key).cloned()) {
        return answer;
    }
    // Nobody waits meanwhile for the course of another: two that want the same one both follow it.
    let answer = follow();
    if let Ok(mut known) = KNOWN.lock() {
        if known.len() >= REMEMBERED {
            known.clear();
        }
        known.insert(key, (answer.clone(), declared));
    }
    answer
}

/// Forgets what is remembered, for whoever measures how long a course takes.
pub fn forget() {
    if let Ok(mut known) = KNOWN.lock() {
        known.clear();
    }
}
