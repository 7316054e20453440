//! Parting by a rough rule, for what the activity model cannot take: liquids whose groups are not known, or
//! whose interactions nobody has published, and concentrated acid.

use super::layers::{Layers, distribution, finish};
use super::mixture::{Assumed, ROOM, models, own_density, volume};
use super::portion::Masses;
use crate::chemistry::extraction;
use crate::resolve::definitions::{Definitions, Sub, Substance};

/// Mass of water that a gram of something which mixes with both liquids holds in the organic one. Our
/// own figure; it matters only where water is scarce.
const HELD: f64 = 0.3;

/// Mass fraction of strong acid in acid and water above which it takes up what holds oxygen. Our own
/// figure: sulfuric acid of 80 % and more dissolves ethers and alcohols.
const CONCENTRATED: f64 = 0.8;

/// Parts a mixture into an organic and an aqueous layer.
///
/// Each neutral substance is shared by D = c(organic)/c(aqueous): the pure liquid's density over its
/// solubility in water where that is declared, else 10^logP, raised by the salt in the water. Ions
/// stay in the water. The organic
/// layer takes up water by mass as its substances do, and drops of the water layer.
///
/// # Errors
/// The substance whose density is not known and would be needed.
pub fn layers(masses: &Masses, defs: &Definitions, assumed: &mut Assumed) -> Result<Layers, Sub> {
    let water = defs.find("water");
    let total: f64 = masses.values().sum();
    let water_mass = water.and_then(|water| masses.get(&water)).copied().unwrap_or(0.0);
    let acid: f64 = masses.iter().filter(|(sub, _)| defs.substance(**sub).is_strong_acid()).map(|(_, mass)| mass).sum();
    // It takes them out of another liquid that stays; what they do with the acid alone is not predicted.
    let stays = |substance: &Substance| !substance.is_ionic() && !substance.is("water") && !goes_into_acid(substance);
    let strong = acid > CONCENTRATED * (acid + water_mass);
    let concentrated = strong && masses.keys().any(|sub| stays(defs.substance(*sub)));
    let mut ratio: Vec<(Sub, f64, Option<f64>)> = Vec::new();
    let mut between = 0.0;
    let mut immiscible = 0.0;
    let mut immiscible_dissolves: f64 = 0.0;
    for (sub, mass) in masses {
        if Some(*sub) == water {
            continue;
        }
        let substance = defs.substance(*sub);
        let d = if concentrated && goes_into_acid(substance) { None } else { distribution(substance, assumed) };
        if let Some(d) = d {
            if substance.is_miscible() {
                between += mass;
            } else {
                immiscible += mass;
                let own = own_density(substance).unwrap_or(1000.0);
                // No more of it can dissolve than is there.
                immiscible_dissolves += (water_mass / 998.2 * (own / d.max(1e-9)).min(own)).min(*mass);
            }
        }
        ratio.push((*sub, *mass, d));
    }
    // Both liquids must be more than the other dissolves, and what mixes with both must not
    // bridge them. A bridge of half the mass makes one liquid of most pairs; our own figure.
    let bridge = between / total.max(1e-30);
    let bridged = (bridge / 0.5).powi(2).min(1.0);
    let takes_up: f64 = masses
        .iter()
        .filter(|(sub, _)| Some(**sub) != water)
        .filter_map(|(sub, mass)| defs.substance(*sub).takes_up.as_ref().map(|w| mass * w.value))
        .sum();
    let single = if water_mass <= 0.0 {
        Some("there is no water in it".to_owned())
    } else if immiscible <= 0.0 {
        let known = |(sub, _): (&Sub, &f64)| {
            let substance = defs.substance(*sub);
            substance.is("water") || substance.is_ionic() || substance.is_miscible()
        };
        Some(match masses.iter().all(known) || concentrated {
            true => "everything in it mixes with water".to_owned(),
            false => "nothing in it is known not to mix with water".to_owned(),
        })
    } else if bridge >= 0.5 {
        Some(format!("{:.0} % of it mixes with both water and the organic liquid, and so holds them together", bridge * 100.0))
    } else if water_mass <= takes_up + bridged * water_mass + HELD * between {
        Some("the organic liquid dissolves all the water in it".to_owned())
    } else if immiscible <= immiscible_dissolves + bridged * immiscible {
        Some("the water dissolves all the organic liquid in it".to_owned())
    } else {
        None
    };
    if let Some(why) = single {
        return Ok(Layers { single: Some(why), ..Layers::default() });
    }
    let mut organic: Masses = ratio.iter().filter(|(_, _, d)| d.is_some_and(|d| d > 1.0)).map(|(s, m, _)| (*s, *m)).collect();
    let mut aqueous: Masses = masses.iter().filter(|(sub, _)| !organic.contains_key(sub)).map(|(s, m)| (*s, *m)).collect();
    for _ in 0..12 {
        let v_organic = volume(&organic, defs, assumed)?;
        let v_aqueous = volume(&aqueous, defs, assumed)?;
        let mut next_organic = Masses::new();
        let mut next_aqueous = Masses::new();
        let salted = salting_out(&aqueous, v_aqueous, defs);
        for (sub, mass, d) in &ratio {
            let share = d.map_or(0.0, |d| extraction::share(d * salted, v_organic, v_aqueous));
            next_organic.insert(*sub, mass * share);
            next_aqueous.insert(*sub, mass * (1.0 - share));
        }
        if let Some(water) = water {
            let dissolved: f64 =
                next_organic.iter().filter_map(|(sub, mass)| defs.substance(*sub).takes_up.as_ref().map(|w| mass * w.value)).sum();
            let dissolved = dissolved.min(0.5 * water_mass);
            next_organic.insert(water, dissolved);
            next_aqueous.insert(water, water_mass - dissolved);
        }
        let settled = next_organic == organic && next_aqueous == aqueous;
        organic = next_organic;
        aqueous = next_aqueous;
        if settled {
            break;
        }
    }
    for (sub, mass) in masses {
        let substance = defs.substance(*sub);
        let matters = organic.get(sub).copied().unwrap_or(0.0) > 0.05 * total;
        if *mass > 0.05 * total && matters && substance.takes_up.is_none() && substance.is_solid(ROOM) == Some(false) {
            assumed.insert(format!("How much water {} takes up is not known; only drops carried over are counted.", substance.display()));
        }
    }
    let mut layers = finish(organic, aqueous, defs, assumed)?;
    if strong && !concentrated && layers.single.is_none() {
        let unsure =
            "it may be one liquid, since strong acid takes up what holds oxygen or nitrogen, and no model here says whether and how far";
        assumed.insert(format!("Whether there are two layers is not known: {unsure}. It is worked out as if it parted."));
        layers.unsure = Some(unsure.to_owned());
    }
    Ok(Layers { model: models::ROUGH, ..layers })
}

/// The factor by which salt in the water drives neutral substances out of it: log10 of it is 0.15
/// L/mol of salt. Constants of Setschenow's law for sodium chloride lie between 0.1 and 0.2 L/mol
/// for most (from memory); one value for all is our own figure.
fn salting_out(aqueous: &Masses, volume: f64, defs: &Definitions) -> f64 {
    let salt: f64 = aqueous
        .iter()
        .map(|(sub, mass)| (defs.substance(*sub), mass))
        .filter(|(substance, _)| substance.is("salt"))
        .filter_map(|(substance, mass)| Some(mass / substance.molar_mass()?))
        .sum();
    // 6 mol/L is about what water takes of common salt.
    10_f64.powf(0.15 * (salt / volume.max(1e-30) / 1000.0).min(6.0))
}

/// Whether strong acid that is nearly free of water takes it out of an organic liquid, as alcohols and
/// ethers are taken out of halides and hydrocarbons (textbook practice, from memory).
fn goes_into_acid(substance: &Substance) -> bool {
    ["alcohol", "diol", "ether", "acetal", "ester", "ketone", "aldehyde", "amine"].iter().any(|class| substance.is(class))
}
