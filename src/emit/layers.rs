//! What is said about the layers that a mixture forms when it stands.

use indexmap::IndexMap;
use serde::Serialize;

use super::boil::{Basis, ordered};
use super::shares::{Shares, celsius, degrees, display, percent};
use super::table::{Table, paragraph};
use super::words::{capital, list};
use crate::asked::Asked;
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::{decimals, significant};
use crate::matter::boiling::ATMOSPHERE;
use crate::matter::mixture::{self, Assumed, ROOM};
use crate::matter::model;
use crate::matter::portion::Masses;
use crate::matter::system::Liquids;
use crate::resolve::definitions::{Definitions, Sub, Substance};

/// kg/m³ between two layers below which it is not called which lies on top; our own figure, that of the
/// rule `layer_gap`.
pub(super) const GAP: f64 = 20.0;

/// The layers of a mixture, the upper first.
#[derive(Clone, Debug, Serialize)]
#[expect(non_snake_case, reason = "the unit is part of the name of a figure in JSON")]
pub struct Standing {
    /// Temperature at which it stands.
    pub temperature_C: f64,
    /// What it is made of altogether.
    pub whole: Shares,
    /// One or more, the lightest first.
    pub layers: Vec<Layer>,
    /// What stays solid under them, kg of each.
    pub undissolved: IndexMap<String, f64>,
    /// Why it may part where no model says whether it does, and one liquid is given; else `null`.
    pub may_part: Option<String>,
    /// By how much the two lightest layers differ in density, kg/m³; `null` for one layer or an unknown density.
    pub density_difference: Option<f64>,
    /// pH of the layer of water, where it was worked out.
    pub pH: Option<f64>,
    /// Whether it can be said which lies on top.
    pub order_is_certain: bool,
    /// What is worked out with.
    #[serde(flatten)]
    pub basis: Basis,
}

/// One layer.
#[derive(Clone, Debug, Serialize)]
pub struct Layer {
    /// Its mass, kg.
    pub mass: f64,
    /// Its share of the whole mass.
    pub share_of_mass: f64,
    /// kg/m³ at 20 °C; `null` where a density is not known.
    pub density: Option<f64>,
    /// What it holds.
    #[serde(flatten)]
    pub shares: Shares,
}

/// The layers of the mixture that is asked about; what stands in the way is a finding.
pub fn answer(asked: &mut Asked, t: f64) -> Option<Standing> {
    let mut everything = asked.masses.clone();
    asked.some_liquid(&everything)?;
    let mut said = Assumed::new();
    everything.retain(|sub, _| {
        let substance = asked.defs.substance(*sub);
        // Of a gas that is in no table of solutions nobody knows how much stays, nor what room it takes.
        let stays = !substance.is_gas() || asked.defs.solutions.iter().any(|solution| solution.solute == substance.name);
        if !stays {
            said.insert(format!("{} is a gas, and left out.", capital(&substance.display())));
        }
        stays
    });
    let mut solid = mixture::solids(&everything, t, &asked.defs, &mut Assumed::new());
    solid.retain(|sub, _| mixture::stays_solid(asked.defs.substance(*sub)) && asked.defs.substance(*sub).formula.is_some());
    let mut masses = everything.clone();
    masses.iter_mut().for_each(|(sub, mass)| *mass -= solid.get(sub).copied().unwrap_or(0.0));
    masses.retain(|_, mass| *mass > 0.0);
    let water = asked.defs.find("water").is_some_and(|water| masses.contains_key(&water));
    let ion = asked.substances.iter().find(|(sub, _)| masses.contains_key(sub) && asked.defs.substance(*sub).is_ionic()).copied();
    if let Some((sub, at)) = ion.filter(|_| !water) {
        let finding = Diagnostic::new(
            Code::NotKnown,
            at,
            format!("what `{}` does in a liquid without water is in none of these models", asked.defs.substance(sub).name),
        )
        .help("layers with a strong acid or with ions are worked out where there is water too: add it, or leave the acid out");
        asked.report([finding]);
        return None;
    }
    if !water && !solid.is_empty() {
        said.insert(
            "How much of a salt dissolves in a liquid without water is not known here: all of it is taken to stay solid.".to_owned(),
        );
    }
    let ions = ion.is_some();
    let near = (t - ROOM).abs() <= NEAR;
    let by_solubility = ions
        || water && (near || mixes(&masses, &asked.defs, t) || turns(asked, &masses, t, &mut said))
        || misjudged(asked, &masses, t, &mut said);
    let (parts, ph, may_part, basis) = if by_solubility {
        with_solubilities(asked, &masses, &mut said)?
    } else {
        let (parts, basis) = by_activity(asked, &masses, t)?;
        (parts, None, None, basis)
    };
    let defs = &asked.defs;
    let whole: f64 = everything.values().sum();
    let moles_of = |part: &Masses| -> Vec<(Sub, f64)> {
        let moles = |sub: Sub| Some(part.get(&sub).copied().unwrap_or(0.0) / defs.substance(sub).molar_mass()?);
        asked.substances.iter().filter_map(|(sub, _)| Some((*sub, moles(*sub)?))).collect()
    };
    for (sub, _) in &asked.substances {
        let substance = defs.substance(*sub);
        if substance.melts.as_ref().is_some_and(|melts| melts.value > t) && !substance.is_ionic() {
            said.insert(format!("{} is a solid at {}: that it dissolves is taken for granted.", capital(&substance.display()), degrees(t)));
        }
    }
    if by_solubility && !near {
        said.insert("Solubilities are those near room temperature.".to_owned());
    }
    if (t - ROOM).abs() > 1.0 {
        said.insert("Densities are those at 20 °C: warm liquids are a little lighter, all of them.".to_owned());
    }
    let mut layers: Vec<Layer> = parts
        .iter()
        .map(|part| {
            let mass: f64 = part.values().sum();
            let density = mixture::volume(part, defs, &mut said).ok().filter(|volume| *volume > 0.0).map(|volume| mass / volume);
            Layer { mass, share_of_mass: mass / whole, density, shares: Shares::of_moles(&moles_of(part), defs) }
        })
        .collect();
    // What has no known density lies last, and is said not to be certain.
    layers.sort_by(|a, b| a.density.unwrap_or(f64::INFINITY).total_cmp(&b.density.unwrap_or(f64::INFINITY)));
    let difference = match layers.as_slice() {
        [upper, lower, ..] => lower.density.zip(upper.density).map(|(lower, upper)| lower - upper),
        _ => None,
    };
    let order_is_certain = layers.len() > 1 && difference.is_some_and(|difference| difference >= GAP);
    let mut basis = basis;
    basis.add(&said);
    Some(Standing {
        temperature_C: celsius(t),
        // Gases dissolve where there is water, and are left out elsewhere.
        whole: Shares::of_moles(&if by_solubility { moles_of(&everything) } else { asked.everything() }, defs),
        layers,
        undissolved: solid.iter().map(|(sub, mass)| (defs.substance(*sub).name.clone(), *mass)).collect(),
        may_part,
        density_difference: difference,
        pH: ph,
        order_is_certain,
        basis,
    })
}

/// K around room temperature within which measured solubilities are used as they stand; our own figure.
const NEAR: f64 = 10.0;

/// A factor by which the solubility of a substance in water may be predicted wrongly before the declared one is
/// used instead; our own figure.
const WRONG: f64 = 4.0;

/// K between which mutual solubilities of esters and alcohols with water were followed: 0 to 90 °C.
const FOLLOWED: std::ops::RangeInclusive<f64> = 273.0..=363.3;

/// Share of the whole from which a substance counts where it is asked what the liquids are. Our own figure.
const COUNTS: f64 = 0.05;

/// K between which what mixes with water near room temperature is taken to do so: tetrahydrofuran parts from it from 72 °C
/// on (handbooks, from memory), the first to do so of those in the library.
const MIXES: std::ops::Range<f64> = 273.0..344.0;

/// Whether all that lies beside water mixes with it, at a temperature that does not change this. A fit of a pair to its
/// boiling may say otherwise, as that of tetrahydrofuran does.
pub(super) fn mixes(masses: &Masses, defs: &Definitions, t: f64) -> bool {
    let whole: f64 = masses.values().sum();
    let beside = masses.iter().filter(|(_, mass)| **mass > COUNTS * whole).map(|(sub, _)| defs.substance(*sub));
    let mut beside = beside.filter(|one| !one.is("water") && !one.is_ionic()).peekable();
    MIXES.contains(&t) && beside.peek().is_some() && beside.all(Substance::is_miscible)
}

/// Whether all that lies beside water are esters and alcohols with a measured solubility. By the groups they dissolve the
/// more in water the warmer it is; measured, they do not, and what was measured near room temperature is nearer at 60 °C
/// (`tests/questions.rs`).
fn turns(asked: &Asked, masses: &Masses, t: f64, said: &mut Assumed) -> bool {
    let defs = &asked.defs;
    let whole: f64 = masses.values().sum();
    let beside: Vec<_> = masses
        .iter()
        .filter(|(_, mass)| **mass > COUNTS * whole)
        .map(|(sub, _)| defs.substance(*sub))
        .filter(|one| !one.is("water"))
        .collect();
    let known = |one: &Substance| (one.is("ester") || one.is("alcohol")) && !one.is_miscible() && !one.solubility_in(None).is_empty();
    let turns = FOLLOWED.contains(&t) && !beside.is_empty() && beside.into_iter().all(known);
    if turns {
        said.insert(
            "By their groups esters and alcohols dissolve the more in water the warmer it is; measured, esters dissolve the less, and alcohols least near 60 °C (J. Chem. Eng. Data 1986, 31, 56): so solubilities are used, which are off by up to a half between 0 and 90 °C (our own judgement).",
        );
    }
    turns
}

/// Whether activities get the solubility of something in water badly wrong where it is declared: then shares by
/// solubility say more about layers with water.
fn misjudged(asked: &Asked, masses: &Masses, t: f64, said: &mut Assumed) -> bool {
    let defs = &asked.defs;
    let Some(water) = defs.find("water").filter(|water| masses.contains_key(water)) else { return false };
    let whole: f64 = masses.values().sum();
    let wrong = masses.iter().find_map(|(sub, mass)| {
        let substance = defs.substance(*sub);
        let (_, declared) = *substance.solubility_in(None).iter().find(|(at, _)| (at - t).abs() < 15.0)?;
        if *sub == water || *mass < COUNTS * whole || declared <= 0.0 || substance.is_solid(t) == Some(true) {
            return None;
        }
        let two = Masses::from([(*sub, 0.5), (water, 0.5)]);
        let liquids = Liquids::of(&two, defs);
        let parts = liquids.system.split(&liquids.moles(&two), t).ok()?;
        let place = |wanted: Sub| liquids.subs.iter().position(|own| *own == wanted);
        let (own, place) = (place(*sub)?, place(water)?);
        // The layer of water, and kg of the substance on a m³ of water in it.
        let layer = parts.iter().max_by(|a, b| a.x.get(place).unwrap_or(&0.0).total_cmp(b.x.get(place).unwrap_or(&0.0)))?;
        let shares = liquids.by_mass(&layer.x);
        let predicted = 998.2 * shares.get(own)? / shares.get(place)?;
        let far = liquids.refusal.is_none() && (predicted > WRONG * declared || predicted < declared / WRONG);
        far.then(|| (substance.display(), predicted, declared))
    });
    let Some((name, predicted, declared)) = wrong else { return false };
    said.insert(format!(
        "Activities would put {} g of {name} into a litre of water where the library has {} g/L: so solubilities are used.",
        significant(predicted, 2),
        significant(declared, 2)
    ));
    true
}

/// Molecules alone: as many liquids as their activities make.
fn by_activity(asked: &mut Asked, masses: &Masses, t: f64) -> Option<(Vec<Masses>, Basis)> {
    let water = asked.defs.find("water").is_some_and(|water| masses.contains_key(&water));
    let liquids = if water { asked.liquids(masses) } else { asked.liquids_without_water(masses) }?;
    let moles = liquids.moles(masses);
    let all: f64 = moles.iter().sum();
    let parts = match liquids.system.split(&moles, t) {
        Ok(parts) => parts,
        Err(error) => {
            asked.unanswered(&error);
            return None;
        }
    };
    // Whether something boils matters here no more than that the whole does not.
    let mut said = liquids.said.clone();
    said.retain(|sentence| !sentence.starts_with("The boiling point of"));
    asked.left_out(&liquids, &mut said);
    if let Ok(boil) = liquids.system.boil(&moles, ATMOSPHERE)
        && boil.t < t
    {
        said.insert(format!("At one atmosphere it boils at {}, below this temperature.", degrees(boil.t)));
    }
    let part = |liquid: &crate::chemistry::phase::Liquid| {
        let moles: Vec<f64> = liquid.x.iter().map(|x| x * liquid.share * all).collect();
        let mut own = liquids.masses(&moles);
        own.retain(|sub, _| ordered(asked, &liquids, &moles).iter().any(|(known, _)| known == sub));
        own
    };
    let mut basis = Basis::by(liquids.model, said).about_layers(water);
    if water {
        // Those near room temperature are worked out otherwise.
        basis.widen("at this temperature nothing was compared");
    }
    Some((parts.iter().map(part).collect(), basis))
}

/// Layers, the pH of the water, why it may part where that is not known, and what it rests on.
type Parted = (Vec<Masses>, Option<f64>, Option<String>, Basis);

/// With water near room temperature, as the layers of a procedure: activities tied to measured solubilities, ions
/// in the water.
fn with_solubilities(asked: &mut Asked, masses: &Masses, said: &mut Assumed) -> Option<Parted> {
    let mut assumed = Assumed::new();
    match mixture::layers(masses, &asked.defs, &mut assumed) {
        Ok(layers) if layers.unsure.is_some() => {
            let basis = Basis::by(model::find(layers.model).unwrap_or(&model::LAYERS), Assumed::new());
            Some((vec![masses.clone()], None, layers.unsure, basis))
        }
        Ok(layers) => {
            said.append(&mut assumed);
            let parts = match &layers.single {
                Some(why) => {
                    said.insert(format!("One liquid, since {why}."));
                    vec![masses.clone()]
                }
                None => vec![layers.organic, layers.aqueous],
            };
            let basis = Basis::by(model::find(layers.model).unwrap_or(&model::LAYERS), Assumed::new());
            Some((parts, layers.ph, None, basis))
        }
        Err(sub) => {
            let at = asked.place(sub)?;
            let name = asked.defs.substance(sub).name.clone();
            let finding = crate::evaluate::amounts::unknown_volume(&asked.defs, sub, &name, at);
            asked.report([finding]);
            None
        }
    }
}

impl Standing {
    /// For people.
    #[must_use]
    pub fn text(&self, defs: &Definitions) -> String {
        let at = degrees(self.temperature_C + 273.15);
        let mut out = match self.layers.len() {
            0 | 1 if self.may_part.is_some() => format!("Whether layers form at {at} is not known.\n\n"),
            0 | 1 => format!("One liquid at {at}: no layers form.\n\n"),
            2 => format!("Two layers at {at}.\n\n"),
            more => format!("{more} layers at {at}.\n\n"),
        };
        let names = self.names();
        let mut head = vec!["by mass".to_owned(), "whole".to_owned()];
        if self.layers.len() > 1 {
            head.extend(names.iter().cloned());
        }
        let mut table = Table::new(head, &[]);
        for name in self.whole.mass_fraction.keys() {
            let mut row = vec![display(name, defs), percent(self.whole.by_mass(name))];
            if self.layers.len() > 1 {
                row.extend(self.layers.iter().map(|layer| percent(layer.shares.by_mass(name))));
            }
            table.row(row);
        }
        let liquid: f64 = self.layers.iter().map(|layer| layer.mass).sum();
        let mut mass = vec!["mass".to_owned(), grams(liquid + self.undissolved.values().sum::<f64>())];
        let mut density = vec!["density".to_owned(), String::new()];
        if let [only] = self.layers.as_slice() {
            density = vec!["density".to_owned(), grams_per_millilitre(only.density)];
        } else {
            mass.extend(self.layers.iter().map(|layer| grams(layer.mass)));
            density.extend(self.layers.iter().map(|layer| grams_per_millilitre(layer.density)));
        }
        table.row(mass);
        table.row(density);
        for (name, mass) in &self.undissolved {
            table.row(vec![format!("{}, undissolved", display(name, defs)), grams(*mass)]);
        }
        out.push_str(&table.text());
        let may_part = self.may_part.as_ref().map(|why| format!("{}. The organic liquid would lie on top.", capital(why)));
        // Where nothing gives or takes protons a digit behind the point says nothing.
        let ph = self.pH.map(|ph| match (ph - 7.0).abs() < 0.05 {
            true => "The water is neutral.".to_owned(),
            false => format!("The pH of the water is about {}.", decimals(ph, 1)),
        });
        let sentences: Vec<String> = [self.sentence(defs), may_part, ph].into_iter().flatten().collect();
        if !sentences.is_empty() {
            out.push('\n');
            out.push_str(&paragraph(&sentences.join(" ")));
        }
        out.push_str(&self.basis.text());
        out
    }

    fn names(&self) -> Vec<String> {
        match self.layers.len() {
            2 if self.order_is_certain => vec!["upper layer".to_owned(), "lower layer".to_owned()],
            count => (1..=count).map(|number| format!("layer {number}")).collect(),
        }
    }

    fn sentence(&self, defs: &Definitions) -> Option<String> {
        let [upper, lower, ..] = self.layers.as_slice() else { return None };
        let of = |layer: &Layer| {
            let mut shares: Vec<(&String, &f64)> = layer.shares.mass_fraction.iter().collect();
            shares.sort_by(|a, b| b.1.total_cmp(a.1));
            let mostly: Vec<String> = shares.iter().take_while(|(_, share)| **share > 0.3).map(|(name, _)| display(name, defs)).collect();
            list(&mostly)
        };
        let (first, second) = (of(upper), of(lower));
        let apart = self.density_difference.map(|difference| format!("{} g/mL", decimals(difference / 1e3, 3)));
        Some(match apart {
            Some(apart) if self.order_is_certain => {
                format!("The layer of {first} lies on top; it is {apart} lighter than the layer of {second}.")
            }
            Some(apart) => format!(
                "The layer of {first} and the layer of {second} differ by {apart}: too little to say which lies on top. Test a drop of one in water; salt makes a layer of water heavier."
            ),
            None => "A density is not known, so it cannot be said which layer lies on top: test a drop of one in water.".to_owned(),
        })
    }
}

fn grams(kg: f64) -> String {
    crate::kinds::show(kg, crate::kinds::Kind::Mass, 3)
}

fn grams_per_millilitre(density: Option<f64>) -> String {
    density.map_or_else(|| "not known".to_owned(), |density| format!("{} g/mL", significant(density / 1e3, 3)))
}
