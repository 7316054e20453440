//! At what temperature a portion boils, as one liquid or as two that do not mix, and what its vapour is.

use std::collections::BTreeMap;

use super::held::{self, Solutes};
use super::mixture::{self, Assumed};
use super::model::{self, Model};
use super::portion::Masses;
use super::system::Liquids;
use crate::chemistry::vapour::{Liquid, VapourPressure, bubble_point_of_layers};
use crate::resolve::definitions::{Definitions, Sub, Substance};

/// One standard atmosphere, Pa: the room's pressure where none is stated.
pub const ATMOSPHERE: f64 = 101_325.0;

/// Pressures that are answered for, Pa: from 1 mbar, below which pumps and not liquids decide, to 2 bar,
/// above which the vapour is no ideal gas. Our own figures.
pub const PRESSURES: (f64, f64) = (100.0, 200_000.0);

/// Share of all molecules below which a substance does not count where a mixture boils. Our own figure: even water in
/// a hydrocarbon then makes up less than a thousandth of the vapour.
const SPECK: f64 = 1e-7;

/// A boiling mixture.
#[derive(Clone, Debug)]
pub struct Boil {
    /// Temperature, K.
    pub temperature: f64,
    /// Mole fractions of the vapour.
    pub vapour: BTreeMap<Sub, f64>,
    /// Whether two liquids boil together.
    pub two_liquids: bool,
    /// What it was worked out by.
    pub model: &'static Model,
    /// What had to be assumed, in sentences.
    pub said: Assumed,
}

/// The boiling point of a pure substance at `p` Pa: the declared one at an atmosphere, else by its vapour
/// pressure equation; `None` when it is not known to boil.
#[must_use]
pub fn boiling_point(substance: &Substance, p: f64) -> Option<f64> {
    let law = mixture::vapour_law(substance)?;
    let declared = substance.boils.as_ref().map(|boils| boils.value);
    if (p - ATMOSPHERE).abs() < 1.0 {
        return declared.or_else(|| law.boiling_point(p).ok());
    }
    law.boiling_point(p).ok()
}

/// The temperature at which a mixture boils at `p` Pa and what its vapour is: by the equilibria of all the liquids that
/// it parts into, and where no model knows their activities by Raoult's law in each layer, with the reason said. `None`
/// when nothing in it is known to boil.
#[must_use]
pub fn boils(masses: &Masses, defs: &Definitions, p: f64) -> Option<Boil> {
    let whole: f64 = masses.values().sum();
    let counts = |(_, mass): &(&Sub, &f64)| **mass > SPECK * whole;
    let masses: Masses = masses.iter().filter(counts).map(|(sub, mass)| (*sub, *mass)).collect();
    let liquids = Liquids::of(&masses, defs);
    if liquids.refusal.is_none()
        && let Some(boil) = by_equilibria(&liquids, &masses, p)
    {
        return Some(boil);
    }
    let mut boil = by_raoult(&masses, defs, p)?;
    // The reason is among what the liquids say.
    boil.said = liquids.said;
    if liquids.refusal.is_none() {
        boil.said
            .insert("Vapour and liquid are worked out by Raoult's law, since the search for their equilibria did not settle.".to_owned());
    }
    Some(boil)
}

/// The same by the equilibria of the liquids.
fn by_equilibria(liquids: &Liquids, masses: &Masses, p: f64) -> Option<Boil> {
    let (moles, system) = (liquids.moles(masses), liquids.boiling(masses));
    let named = |y: &[f64]| liquids.subs.iter().copied().zip(y.iter().copied()).filter(|(_, y)| *y > 0.0).collect();
    let (temperature, vapour, two_liquids) = match moles.iter().filter(|moles| **moles > 0.0).count() {
        0 => return None,
        // One substance cannot part.
        1 => system.bubble(&moles, p).map(|bubble| (bubble.t, named(&bubble.y), false)).ok()?,
        _ => system.boil(&moles, p).map(|boil| (boil.t, named(&boil.y), boil.liquids.len() > 1)).ok()?,
    };
    Some(Boil { temperature, vapour, two_liquids, model: liquids.model, said: liquids.said.clone() })
}

/// The same by Raoult's law: in each of two liquids where the rough rule parts them, and then the sum of both pressures.
fn by_raoult(masses: &Masses, defs: &Definitions, p: f64) -> Option<Boil> {
    // What had to be assumed about layers is said where layers are parted.
    let parted = super::rough::layers(masses, defs, &mut Assumed::new()).ok().filter(|layers| layers.single.is_none());
    match &parted {
        Some(layers) => of_layers(&[&layers.organic, &layers.aqueous], defs, p),
        None => of_layers(&[masses], defs, p),
    }
}

/// Where liquids that are known to lie apart boil together, by Raoult's law in each.
#[must_use]
pub fn of_layers(layers: &[&Masses], defs: &Definitions, p: f64) -> Option<Boil> {
    let mut volatile: Vec<(Sub, usize, f64, VapourPressure)> = Vec::new();
    let mut rest: Vec<f64> = Vec::new();
    for masses in layers {
        let number = rest.len();
        let before = volatile.len();
        let (mut still, mut holding) = (0.0, 0.0);
        for (sub, mass) in *masses {
            let substance = defs.substance(*sub);
            let Some(molar) = substance.molar_mass().filter(|_| !held::dissolves(*sub, defs)) else { continue };
            if held::is_held(substance) {
                holding += mass / molar;
            }
            match mixture::vapour_law(substance) {
                Some(law) if !substance.is_gas() => volatile.push((*sub, number, mass / molar, law)),
                _ => still += mass / molar,
            }
        }
        let solutes = Solutes::of(masses, defs);
        still += solutes.particles(&solutes.moles(masses), holding);
        // A liquid of which nothing boils adds no pressure.
        if volatile.len() > before {
            rest.push(still);
        }
    }
    let of = |number: usize| volatile.iter().filter(move |(_, own, ..)| *own == number).map(|(_, _, moles, law)| (*moles, law));
    let liquids: Vec<Liquid<'_>> = rest.iter().enumerate().map(|(number, rest)| (of(number).collect(), *rest)).collect();
    let (temperature, fractions) = bubble_point_of_layers(&liquids, p).ok()?;
    let mut vapour = BTreeMap::new();
    for ((sub, ..), y) in volatile.iter().zip(fractions) {
        *vapour.entry(*sub).or_insert(0.0) += y;
    }
    Some(Boil { temperature, vapour, two_liquids: rest.len() > 1, model: &model::RAOULT, said: Assumed::new() })
}
