//! Mixtures by plain, stated models: volume, what dissolves, layers, boiling temperature. Each
//! takes masses in kg and gives plain numbers; what it had to assume it says in `assumed`.

use std::borrow::Cow;

pub use super::layers::{DROPS, Layers, layers};
use super::portion::Masses;
use crate::chemistry::vapour::{VapourPressure, trouton};
use crate::chemistry::{density, solubility};
use crate::resolve::definitions::{Definitions, Sub, Substance};

/// Names of the models, as the plan states them.
pub mod models {
    /// Volumes of mixtures.
    pub const VOLUME: &str = "volumes added at 20 °C, solutes in water by their density tables";
    /// Parting of layers.
    pub const LAYERS: &str = "layers at equilibrium: activities from groups (modified UNIFAC), tied to measured solubilities and partitions; acids and bases by the pH of the water; salt drives out what has no charge; ions stay in water";
    /// Parting of layers by the rough rule.
    pub const ROUGH: &str = "each substance shared by its water solubility or octanol/water partition, less to the water by what salt there is in it; ions stay in water";
    /// What dissolves.
    pub const DISSOLVING: &str = "solubility tables; log-linear in mixed solvents";
    /// What dissolves by the ideal law.
    pub const IDEAL: &str = "ideal law of solubility from the heat of fusion, within a factor of three in liquids like the solid";
    /// Water left by a drying agent.
    pub const RESIDUE: &str = "water left over a drying agent as in air over it: the same activity";
    /// Water that an agent was found to leave in the very liquid.
    pub const FOUND: &str = "water left over a drying agent as it was found in that liquid";
    /// Boiling temperature.
    pub const BOILING: &str = "Raoult's law in each liquid, vapour pressures of the pure substances";
    /// Equilibrium.
    pub const EQUILIBRIUM: &str = "equilibrium in mole ratio, constant K";
    /// Equilibrium with activities.
    pub const ACTIVITIES: &str = "equilibrium in activities, constant K";
    /// A rate.
    pub const RATE: &str = "rate of first order in each reactant, nothing at equilibrium, by Arrhenius with the temperature";
    /// Conversion.
    pub const CONVERSION: &str = "stated conversion of the limiting reactant";
    /// Reaction on contact.
    pub const CONTACT: &str = "reaction on contact, to the end";
    /// Equilibrium while water is taken away.
    pub const DRIVEN: &str = "equilibrium in mole ratio while 99 % of the water is carried off";
    /// Water taken off, followed in time.
    pub const FOLLOWED: &str = "followed in time: what the vapour over the flask carries off, and how far the reactions go meanwhile";
    /// Drying.
    pub const DRYING: &str = "all water up to the agent's capacity is bound";
    /// Drying in time.
    pub const DRYING_IN_TIME: &str = "what a drying agent takes up in time, each part of the rest as fast as the part before";
    /// Filtering.
    pub const FILTERING: &str = "solids stay behind with half their mass of liquor";
    /// Distilling.
    pub const DISTILLING: &str = "sharp cuts by boiling point; 3 % of the cut stays behind as hold-up";
    /// Distilling with steam.
    pub const STEAM: &str = "steam carries over each substance in the ratio of its pressure to that of water, over two liquids";
    /// A trap that drains a layer.
    pub const DRAINED: &str = "the condensate has the make-up of the vapour over what has reacted, and parts as layers do";
    /// Leading a gas away.
    pub const ABSORBING: &str = "the gas named goes over whole into the absorber";
    /// Drawing out of plants.
    pub const STEEPING: &str = "what a plant holds spreads evenly through the liquid, of which the drained plant keeps its share";
    /// Drawing in a siphon extractor.
    pub const DRAWN: &str = "each emptying of the extractor leaves the share that the drained plant keeps; one in ten minutes";
    /// Drying in air.
    pub const AIRING: &str = "all unbound liquid evaporates";
    /// Cooling.
    pub const COOLING: &str = "heat of an addition taken up by a bath through the wetted wall of the flask, 200 W/(m² K)";
    /// Gases that come off.
    pub const GAS: &str = "an ideal gas at the temperature and pressure of the room, all of it off, evenly over an addition";
    /// What heat comes to where things are brought together.
    pub const MIXING_HEAT: &str = "all heat of dilution, of dissolving and of reaction stays in what is mixed";
    /// Heat of a reaction.
    pub const REACTION_HEAT: &str = "heat of reaction as declared, in much water, times the extent";
    /// Warming up.
    pub const WARMING: &str = "charge and glass warmed by 60 % of the heater's power, less what the flask loses to the room";
    /// Dividing.
    pub const DIVIDING: &str = "divided in the stated ratio";
    /// Adding up.
    pub const MIXING: &str = "masses added";
}

pub use super::assumed::{Assumed, Widens};

/// The temperature to which tables refer, K.
pub const ROOM: f64 = 293.15;

/// Density in kg/m³ with which a substance takes its place in a mixture by itself.
pub(super) fn own_density(substance: &Substance) -> Option<f64> {
    substance
        .liquid_density()
        .map(|density| density.value.1)
        .or_else(|| substance.agent.as_ref().and_then(|agent| agent.bead.as_ref()).map(|bead| bead.value))
        .or_else(|| substance.solid_density.as_ref().map(|density| density.value))
}

/// Volume of a liquid mixture at 20 °C in m³.
///
/// # Errors
/// The substance whose density is not known, when it makes up more than 2 % of the mass.
pub fn volume(masses: &Masses, defs: &Definitions, assumed: &mut Assumed) -> Result<f64, Sub> {
    let water = defs.find("water");
    let masses = &*dissolved(masses, defs);
    let water_mass = water.and_then(|water| masses.get(&water)).copied().unwrap_or(0.0);
    let total: f64 = masses.values().sum();
    let water_density = density::water(ROOM).unwrap_or(998.2);
    let mut volume = water_mass / water_density;
    for (sub, mass) in masses {
        if Some(*sub) == water || *mass <= 0.0 {
            continue;
        }
        let substance = defs.substance(*sub);
        let fraction = mass / (mass + water_mass);
        let table = defs
            .solutions
            .iter()
            .find(|solution| solution.strength.is_none() && solution.solute == substance.name && solution.solvent == "water");
        let mixed = table
            .filter(|_| water_mass > 0.0)
            .and_then(|table| density::interpolate(&table.density, fraction))
            .map(|mixed| density::apparent_volume(*mass, water_mass, mixed, water_density));
        volume += match mixed.or_else(|| own_density(substance).map(|density| mass / density)) {
            Some(own) => own,
            None if *mass <= 0.02 * total || substance.is_solid(ROOM) == Some(true) => {
                let guess = if substance.is("salt") { 1500.0 } else { 1200.0 };
                assumed.insert(format!(
                    "The density of {} is not known; {} g/mL is used where its volume counts.",
                    substance.display(),
                    guess / 1e3
                ));
                mass / guess
            }
            None => return Err(*sub),
        };
    }
    Ok(volume.max(0.0))
}

/// The same masses with hydrates as what they are in water: the anhydrous substance and water.
fn dissolved<'a>(masses: &'a Masses, defs: &Definitions) -> Cow<'a, Masses> {
    let mut out = Cow::Borrowed(masses);
    let Some(water) = defs.find("water").filter(|water| masses.contains_key(water)) else { return out };
    for (sub, mass) in masses {
        let hydrate = defs.substance(*sub);
        let Some((dry, own)) = hydrate.crystal_water.as_ref().and_then(|(dry, _)| {
            let dry = defs.find(dry)?;
            Some((dry, defs.substance(dry).molar_mass()? / hydrate.molar_mass()?))
        }) else {
            continue;
        };
        let out = out.to_mut();
        out.remove(sub);
        *out.entry(dry).or_insert(0.0) += mass * own;
        *out.entry(water).or_insert(0.0) += mass * (1.0 - own);
    }
    out
}

/// The volume of a portion for the fill of a vessel, m³: where a density is not known, that of water
/// is used, and said.
pub fn filling(masses: &Masses, defs: &Definitions, assumed: &mut Assumed) -> f64 {
    volume(masses, defs, assumed).unwrap_or_else(|sub| {
        assumed.insert(format!("The density of {} is not known; 1 g/mL is used for how full a vessel is.", defs.substance(sub).display()));
        masses.values().sum::<f64>() / 1e3
    })
}

/// Volume in m³ that solids take up, for the fill of a vessel.
#[must_use]
pub fn solid_volume(solid: &Masses, defs: &Definitions) -> f64 {
    solid.iter().map(|(sub, mass)| mass / own_density(defs.substance(*sub)).unwrap_or(1500.0)).sum()
}

/// Whether what liquids do not take of it stays solid under layers, and does not go into the organic one.
#[must_use]
pub fn stays_solid(substance: &Substance) -> bool {
    substance.is_ionic() || substance.formula.is_none()
}

/// Which of the contents are solid at `t` kelvin, in kg: what melts above `t` and does not
/// dissolve in the liquids that are there.
#[must_use]
pub fn solids(masses: &Masses, t: f64, defs: &Definitions, assumed: &mut Assumed) -> Masses {
    let water = defs.find("water");
    let mut solvents: Vec<(Sub, f64)> = Vec::new();
    let mut candidates: Vec<(Sub, f64)> = Vec::new();
    // What plants hold lies with the solid.
    let held = super::plant::within(masses, defs);
    for (sub, all) in masses {
        let mass = &(all - held.get(sub).copied().unwrap_or(0.0));
        if *mass <= 0.0 && held.contains_key(sub) {
            continue;
        }
        let substance = defs.substance(*sub);
        match substance.is_solid(t) {
            Some(true) => candidates.push((*sub, *mass)),
            Some(false) if !substance.is_gas() => {
                let volume = mass / own_density(substance).unwrap_or(1000.0);
                solvents.push((*sub, volume));
            }
            Some(false) => {}
            None => {
                assumed.insert(format!("Whether {} is solid or liquid is not known; it is taken as liquid.", substance.display()));
                solvents.push((*sub, mass / 1000.0));
            }
        }
    }
    let every_liquid = solvents;
    let water_volume = every_liquid.iter().find(|(sub, _)| Some(*sub) == water).map_or(0.0, |(_, volume)| *volume);
    let mut solid = Masses::new();
    for (sub, mass) in candidates {
        let substance = defs.substance(sub);
        // A salt in water knows nothing of a liquid that lies over it.
        let mut solvents = every_liquid.clone();
        if substance.is_ionic() && water_volume > 0.0 {
            solvents.retain(|(sub, _)| Some(*sub) == water || defs.substance(*sub).is_miscible());
        }
        let total: f64 = solvents.iter().map(|(_, volume)| volume).sum();
        if substance.formula.is_none() || substance.agent.as_ref().is_some_and(|agent| agent.bead.is_some()) {
            solid.insert(sub, mass);
            continue;
        }
        if total <= 0.0 {
            solid.insert(sub, mass);
            continue;
        }
        // How much of it each solvent takes, kg per m³; `None` where that is not known.
        let ionic_dry = water_volume <= 0.0 && substance.is_ionic() && !substance.is_strong_acid();
        let known: Vec<(f64, Option<f64>)> = solvents
            .iter()
            .filter(|_| !ionic_dry)
            .map(|(solvent, volume)| {
                let name = &defs.substance(*solvent).name;
                let key = if Some(*solvent) == water { None } else { Some(name.as_str()) };
                if key.is_none() && substance.is_miscible() {
                    return (*volume, Some(f64::INFINITY));
                }
                (*volume, dissolves(substance, key, t, assumed))
            })
            .collect();
        let mostly_water = water_volume > 0.5 * total;
        let limit = if mostly_water {
            let water_takes = known.iter().zip(&solvents).find(|(_, (sub, _))| Some(*sub) == water).and_then(|((_, s), _)| *s);
            match water_takes {
                Some(takes) if takes.is_infinite() => f64::INFINITY,
                Some(takes) => {
                    // Solvents for which nothing is declared count as water.
                    let parts: Vec<(f64, f64)> = known.iter().map(|(volume, s)| (volume / total, s.unwrap_or(takes))).collect();
                    solubility::cosolvent(&parts).unwrap_or(takes) * total
                }
                None if substance.is_ionic() => f64::INFINITY,
                None => {
                    let law = if substance.fusion.is_some() { " (the ideal law does not hold in water)" } else { "" };
                    assumed.insert(format!(
                        "How much {} water dissolves is not known{law}; it is taken as staying solid.",
                        substance.display()
                    ));
                    0.0
                }
            }
        } else if substance.is_ionic() && !substance.is_strong_acid() {
            if water_volume > 0.0 { water_volume * dissolves(substance, None, t, assumed).unwrap_or(f64::INFINITY) } else { 0.0 }
        } else if known.iter().filter(|(_, s)| s.is_some()).map(|(volume, _)| volume).sum::<f64>() >= 0.5 * total {
            // Solvents for which nothing is declared are counted as dissolving none.
            known.iter().map(|(volume, s)| volume * s.unwrap_or(0.0)).sum()
        } else if let Some(takes) = ideally(substance, masses, &solvents, water_volume / total, t, defs) {
            assumed.insert(format!(
                "How much {} dissolves in the liquid around it is not declared; it is worked out by the ideal law from its heat of fusion, \
                 within a factor of three in liquids like it.",
                substance.display()
            ));
            takes
        } else {
            assumed.insert(format!(
                "How much {} dissolves in the liquid around it is not known; it is taken as dissolved.",
                substance.display()
            ));
            f64::INFINITY
        };
        let left = mass - limit;
        if left > 1e-9 * mass {
            solid.insert(sub, left);
        }
    }
    for (sub, mass) in held {
        *solid.entry(sub).or_insert(0.0) += mass;
    }
    solid
}

/// Share of water in the liquid, by volume, up to which the ideal law is used. Our own figure.
const NEARLY_DRY: f64 = 0.1;

/// What a liquid takes of a solid by the ideal law, kg; `None` where that does not hold: in water, among ions, or
/// without a heat of fusion.
fn ideally(substance: &Substance, masses: &Masses, solvents: &[(Sub, f64)], wet: f64, t: f64, defs: &Definitions) -> Option<f64> {
    let x = solubility::ideal(substance.fusion.as_ref()?.value, substance.melts.as_ref()?.value, t)?;
    let own = substance.molar_mass()?;
    let of = |sub: &Sub| Some(masses.get(sub)? / defs.substance(*sub).molar_mass()?);
    if wet > NEARLY_DRY || x >= 1.0 || solvents.iter().any(|(sub, _)| defs.substance(*sub).is_ionic()) {
        return None;
    }
    let moles: f64 = solvents.iter().filter_map(|(sub, _)| of(sub)).sum();
    Some(x / (1.0 - x) * moles * own)
}

/// Whether what is known of a solid in these liquids is the ideal law alone.
#[must_use]
pub fn by_ideal_law(substance: &Substance, bulk: &Substance) -> bool {
    substance.fusion.is_some()
        && substance.melts.is_some()
        && !bulk.is("water")
        && !bulk.is_ionic()
        && substance.solubility_in(Some(&bulk.name)).is_empty()
}

/// Solubility at `t`, kg per m³ of solvent, from the declared points.
fn dissolves(substance: &Substance, solvent: Option<&str>, t: f64, assumed: &mut Assumed) -> Option<f64> {
    let points = substance.solubility_in(solvent);
    if let Some(value) = solubility::at_temperature(&points, t) {
        return Some(value);
    }
    let nearest = points.iter().min_by(|a, b| (a.0 - t).abs().total_cmp(&(b.0 - t).abs()))?;
    if (nearest.0 - t).abs() > 2.0 {
        assumed.insert(format!(
            "The solubility of {} in {} is known nearest at {:.0} °C; that figure is used at {:.0} °C too.",
            substance.display(),
            solvent.unwrap_or("water").replace('_', " "),
            nearest.0 - 273.15,
            t - 273.15
        ));
    }
    Some(nearest.1)
}

/// The vapour pressure law of a substance, or the one that its boiling point and heat of
/// vaporisation give; `None` when it has no boiling point.
#[must_use]
pub fn vapour_law(substance: &Substance) -> Option<VapourPressure> {
    if substance.is("salt") || substance.is_strong_acid() && substance.boils.as_ref().is_none_or(|b| b.value > 500.0) {
        return None;
    }
    substance.vapour.as_ref().map(|law| law.value.clone()).or_else(|| {
        let boiling = substance.boils.as_ref()?.value;
        let heat = substance.vaporisation.as_ref().map_or_else(|| trouton(boiling), |heat| heat.value);
        Some(VapourPressure::Estimated { boiling, heat })
    })
}

/// Says of a vapour pressure that it is not declared.
pub fn estimated_vapour(substance: &Substance, said: &mut Assumed) {
    let sentence = format!("The vapour pressure of {} is estimated from its boiling point and heat of vaporisation.", substance.display());
    said.widen(Widens::EstimatedVapour, sentence);
}

/// Boiling temperature in K of a mixture at `p` Pa, of two liquids where it parts; `None` when nothing
/// in it is known to boil.
#[must_use]
pub fn boiling(masses: &Masses, defs: &Definitions, p: f64) -> Option<f64> {
    super::boiling::boils(masses, defs, p).map(|boil| boil.temperature)
}
