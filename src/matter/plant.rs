//! What plants hold, as long as nothing has drawn it out of them.

use super::portion::Masses;
use crate::resolve::definitions::{Definitions, Plant, Sub};

/// A plant among what there is, with the kg of it as it was taken.
#[must_use]
pub fn plants<'a>(masses: &Masses, defs: &'a Definitions) -> Vec<(Sub, &'a Plant, f64)> {
    let known = masses.iter().filter_map(|(sub, mass)| defs.substance(*sub).plant.as_ref().map(|plant| (*sub, plant, *mass)));
    known.filter(|(_, plant, _)| plant.rest() > 0.0).map(|(sub, plant, mass)| (sub, plant, mass / plant.rest())).collect()
}

/// kg of each substance that lies within the plants: no more than they hold when they are fresh. It is
/// not in the liquid around them.
#[must_use]
pub fn within(masses: &Masses, defs: &Definitions) -> Masses {
    let mut held = Masses::new();
    for (_, plant, taken) in plants(masses, defs) {
        let water = defs.find("water").map(|water| (water, plant.water()));
        let contents = plant.holds.iter().filter_map(|own| Some((defs.find(&own.value.0)?, 0.5 * (own.value.1 + own.value.2))));
        for (sub, share) in contents.chain(water) {
            let there = masses.get(&sub).copied().unwrap_or(0.0);
            let own = held.entry(sub).or_insert(0.0);
            *own = (*own + share * taken).min(there);
        }
    }
    held.retain(|_, mass| *mass > 0.0);
    held
}
