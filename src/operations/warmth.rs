//! Heat of dilution and of reaction when things are brought together, and the temperature that it
//! would come to if nothing cooled it.

use super::{heats, keep, react};
use crate::chemistry::heat;
use crate::emit::words::capital;
use crate::evaluate::context::Taken;
use crate::evaluate::{Context, Fact};
use crate::kinds::{Kind, show};
use crate::matter::mixture::models;
use crate::matter::portion::Portion;
use crate::resolve::definitions::Sub;

/// Rise from which the sheet says what temperature it would come to, K. Our own figure.
const SAID: f64 = 3.0;

/// Rise from which it says to cool, K. Our own figure.
const COOLED: f64 = 15.0;

/// Share of strong acid in the whole pot from which what is poured in meets strong acid: below it the acid is
/// spread through so much else that the water takes it up all at once. Our own figure.
const STRONG_POT: f64 = 0.15;

/// Points at which an addition is looked at. Our own figure; the rise has one smooth maximum.
const MOMENTS: u32 = 40;

/// Heats of solution stored in portions of which `parts` are the shares, J: of every solute with known
/// integral heats, in all the water that is there.
pub(super) fn stored(context: &Context<'_>, parts: &[(&Portion, f64)]) -> f64 {
    let defs = context.defs;
    let Some(water) = defs.find("water") else { return 0.0 };
    let moles = |sub: Sub| parts.iter().map(|(portion, share)| share * portion.moles(sub, defs)).sum::<f64>();
    let n_water = moles(water);
    let subs: std::collections::BTreeSet<Sub> = parts.iter().flat_map(|(portion, _)| portion.contents.keys().copied()).collect();
    let heat = |sub: Sub| {
        let n = moles(sub);
        let each = defs.integral_heat(sub, n_water / n)?;
        (n > 0.0).then_some(n * each)
    };
    subs.into_iter().filter_map(heat).sum()
}

/// Counts the heat of solution of what was solid in `parts` and is dissolved in `whole`. Where integral
/// heats are known they are counted by `stored`; the others are those for much water, and count only there.
pub fn dissolved(context: &mut Context<'_>, parts: &[&Portion], whole: &Portion) {
    let defs = context.defs;
    let liquid = whole.mass() - parts.iter().flat_map(|portion| portion.solid.values()).sum::<f64>();
    if defs.find("water").is_none_or(|water| whole.of(water) <= 0.5 * liquid) {
        return;
    }
    let subs: std::collections::BTreeSet<Sub> = parts.iter().flat_map(|portion| portion.solid.keys().copied()).collect();
    for sub in subs {
        let substance = defs.substance(sub);
        let (Some(each), Some(molar)) = (&substance.dissolves_with, substance.molar_mass()) else { continue };
        if defs.integral_heat(sub, 1.0).is_some() {
            continue;
        }
        let was: f64 = parts.iter().filter_map(|portion| portion.solid.get(&sub)).sum();
        let gone = (was - whole.solid.get(&sub).copied().unwrap_or(0.0)).max(0.0);
        context.record().heat -= each.value * gone / molar;
    }
}

/// Whether most of a portion is water.
pub(super) fn watery(context: &Context<'_>, portion: &Portion) -> bool {
    context.defs.find("water").is_some_and(|water| portion.of(water) > 0.5 * portion.mass())
}

/// A pot below this boils nothing that is put to it, K. Our own figure: what boils lower comes as a gas.
const TEPID: f64 = 300.0;

/// Where what is added boils, K, if the pot is warm enough for that to matter.
fn into_warm(context: &mut Context<'_>, pot: &Taken, added: &Taken) -> Option<f64> {
    let liquid = added.portion.liquid(context.defs.find("water"));
    (pot.portion.temperature > TEPID).then(|| context.boiling(&liquid)).flatten()
}

/// Notes the heat of dilution of one thing poured into another, at its worst moment.
pub fn poured(context: &mut Context<'_>, pot: &Taken, added: &Taken) {
    let (before, own) = (stored(context, &[(&pot.portion, 1.0)]), stored(context, &[(&added.portion, 1.0)]));
    let capacities = (react::heat_capacity(context, &pot.portion), react::heat_capacity(context, &added.portion));
    let defs = context.defs;
    let acid: f64 = pot.portion.contents.iter().filter(|(sub, _)| defs.substance(**sub).is_strong_acid()).map(|(_, mass)| mass.si).sum();
    let strong = acid > STRONG_POT * pot.portion.mass();
    let mut rise: f64 = 0.0;
    // The first of the water meets strong acid, however much follows: then the worst moment counts.
    for moment in if strong { 1..=MOMENTS } else { MOMENTS..=MOMENTS } {
        let share = f64::from(moment) / f64::from(MOMENTS);
        let released = stored(context, &[(&pot.portion, 1.0), (&added.portion, share)]) - before - share * own;
        rise = rise.max(heat::adiabatic_rise(released.max(0.0), (capacities.0 + share * capacities.1).max(1e-9)));
    }
    context.record().dilution = rise;
    context.record().mixing = stored(context, &[(&pot.portion, 1.0), (&added.portion, 1.0)]) - before - own;
    let water = defs.find("water").map_or(0.0, |water| pot.portion.of(water));
    let hot = pot.portion.temperature;
    let boils = into_warm(context, pot, added);
    let base = super::acid_excess(defs, &added.portion) < -1e-4 && super::acid_excess(defs, &pot.portion) > 1e-4;
    let fact = Fact::Mixed {
        span: context.span(),
        added: added.name.clone(),
        into: pot.name.clone(),
        watery: watery(context, &added.portion),
        acid_strength: if strong { acid / (acid + water).max(1e-30) } else { 0.0 },
        rise,
        hot,
        boils,
        base,
    };
    context.eval.facts.push(fact);
    onto(context, pot, added);
    elsewhere(context, pot, added);
}

/// Says of strong acid that is poured into what is hardly water by how much it would warm as many molecules of water: its
/// heat in alcohols, ethers and acids, which it binds much as it binds water, is not known. Our own estimate.
fn elsewhere(context: &mut Context<'_>, pot: &Taken, added: &Taken) {
    let defs = context.defs;
    if watery(context, &pot.portion) {
        return;
    }
    let strong = |sub: &Sub| defs.substance(*sub).is_strong_acid() && defs.integral_heat(*sub, 1.0).is_some();
    let Some(acid) = added.portion.contents.keys().copied().find(|sub| strong(sub)) else { return };
    let (n, water) = (added.portion.moles(acid, defs), defs.find("water").map_or(0.0, |water| added.portion.moles(water, defs)));
    let takes = |sub: &Sub| {
        let substance = defs.substance(*sub);
        !substance.is_ionic() && substance.formula.as_ref().is_some_and(|formula| formula.value.atoms().contains_key("O"))
    };
    let around: f64 = pot.portion.contents.keys().filter(|sub| takes(sub)).map(|sub| pot.portion.moles(*sub, defs)).sum();
    let of = |around: f64| defs.integral_heat(acid, around / n).unwrap_or(0.0);
    let capacity = react::heat_capacity(context, &pot.portion) + react::heat_capacity(context, &added.portion);
    let rise = n * (of(water + around) - of(water)) / capacity.max(1e-9);
    if n <= 0.0 || rise <= SAID {
        return;
    }
    let name = defs.substance(acid).display();
    context.model(models::MIXING_HEAT);
    context.expect(format!(
        "How much heat {name} sets free in what is not water is not known: as many molecules of water it would warm by about {} K.",
        crate::kinds::significant(rise, 2)
    ));
    if rise > COOLED {
        context.caution(format!("{} grows hot in what it is added to: with the vessel in ice, a little at a time.", capital(&name)));
    }
    context.eval.assumed.insert(format!("The heat of {name} in liquids other than water is not known and not counted."));
    context.record().lacking.insert(format!("mixing with {name}"));
}

/// What gives gas or heat with water and alcohols, and is given to them and not they to it.
const REAGENTS: &[&str] = &["hydride", "reactive_metal", "acid_chloride", "anhydride", "acid_oxide"];

/// Notes water or an alcohol put to such a reagent, with what is known of their reaction.
fn onto(context: &mut Context<'_>, pot: &Taken, added: &Taken) {
    let defs = context.defs;
    let share = |portion: &Portion, sub: Sub| portion.of(sub) / portion.mass().max(1e-30);
    let most = |portion: &Portion, classes: &[&str]| {
        let own = portion.contents.keys().copied().filter(|sub| classes.iter().any(|class| defs.substance(*sub).is(class)));
        own.max_by(|a, b| portion.of(*a).total_cmp(&portion.of(*b)))
    };
    let (Some(reagent), Some(other)) = (most(&pot.portion, REAGENTS), most(&added.portion, &["water", "alcohol", "diol"])) else { return };
    if share(&added.portion, other) < 0.5 || added.portion.of(reagent) > 0.0 {
        return;
    }
    let all = defs.contact.iter().chain(&defs.known_reactions).chain(&context.procedure.reactions);
    let takes = |reaction: &&std::sync::Arc<crate::resolve::definitions::Reaction>| {
        let numbers = reaction.numbers();
        [reagent, other].iter().all(|sub| numbers.get(sub).is_some_and(|nu| *nu < 0.0))
    };
    let Some(reaction) = all.filter(takes).max_by_key(|reaction| heats::of(defs, reaction).is_some()) else { return };
    let numbers = reaction.numbers();
    let extent = [(reagent, &pot.portion), (other, &added.portion)]
        .iter()
        .filter_map(|(sub, portion)| numbers.get(sub).map(|nu| portion.moles(*sub, defs) / -nu))
        .fold(f64::INFINITY, f64::min);
    let capacity = react::heat_capacity(context, &pot.portion) + react::heat_capacity(context, &added.portion);
    let heat = heats::of(defs, reaction).map_or(0.0, |heat| -heat * extent);
    let fact = Fact::Onto {
        statement: context.number,
        span: context.span(),
        added: (added.name.clone(), other),
        into: (pot.name.clone(), reagent),
        share: share(&pot.portion, reagent),
        gas: numbers.iter().find(|(sub, nu)| **nu > 0.0 && defs.substance(**sub).is_gas()).map(|(sub, _)| *sub),
        rise: if capacity > 0.0 { heat / capacity } else { 0.0 },
    };
    context.eval.facts.push(fact);
}

/// Notes the heat of dilution of portions put together at once.
pub fn joined(context: &mut Context<'_>, parts: &[Taken]) {
    let all: Vec<(&Portion, f64)> = parts.iter().map(|part| (&part.portion, 1.0)).collect();
    let apart: f64 = all.iter().map(|part| stored(context, &[*part])).sum();
    let capacity: f64 = all.iter().map(|(portion, _)| react::heat_capacity(context, portion)).sum();
    let mixing = stored(context, &all) - apart;
    let rise = heat::adiabatic_rise(mixing.max(0.0), capacity.max(1e-9));
    context.record().dilution = rise;
    context.record().mixing = mixing;
    // What is named first stands there, and the others go into it.
    let [pot, others @ ..] = parts else { return };
    for added in others {
        let fact = Fact::Mixed {
            span: context.span(),
            added: added.name.clone(),
            into: pot.name.clone(),
            watery: false,
            acid_strength: 0.0,
            rise: 0.0,
            hot: pot.portion.temperature,
            boils: into_warm(context, pot, added),
            base: false,
        };
        context.eval.facts.push(fact);
        onto(context, pot, added);
    }
}

/// After what reacts has reacted: says what temperature the whole would come to from `start`, and
/// notes it.
pub fn sum_up(context: &mut Context<'_>, start: f64, whole: &Portion) {
    let capacity = react::heat_capacity(context, whole);
    let (dilution, heat) = (context.record().dilution, context.record().heat);
    let rise = dilution + if capacity > 0.0 { heat / capacity } else { 0.0 };
    // Asked only where it may matter.
    let boiling = (rise > SAID).then(|| context.boiling(&whole.liquid(context.defs.find("water")))).flatten();
    if rise.abs() > SAID {
        context.model(models::MIXING_HEAT);
    }
    let about = heats::how_much(context);
    if rise > SAID && !keep::would_reach(context, start, rise) {
        let cool = if rise > COOLED { ": cool it in ice" } else { "" };
        // Above its boiling point it would not come, but boil.
        let (from, to) = (show(start, Kind::Temperature, 2), show(start + rise, Kind::Temperature, 2));
        match boiling.filter(|boiling| start + rise > *boiling) {
            Some(boiling) => {
                let boiling = show(boiling, Kind::Temperature, 2);
                context
                    .expect(format!("All at once and uncooled it would boil, near {boiling}, with heat to spare{cool}, and add slowly."));
            }
            None => context.expect(format!("All at once and uncooled it would go from {from} to {about} {to}{cool}.")),
        }
    }
    if rise < -SAID {
        context.expect(format!("Dissolving cools it to about {}.", show(start + rise, Kind::Temperature, 2)));
    }
    let fact = Fact::Warmed { statement: context.number, span: context.span(), start, rise, boiling, at_least: about != "about" };
    context.eval.facts.push(fact);
}
