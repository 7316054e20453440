//! Mixing, pouring in, neutralising.

use super::{keep, react};
use crate::chemistry::heat;
use crate::evaluate::context::{Done, Taken};
use crate::evaluate::{Context, Fact};
use crate::kinds::Kind;
use crate::matter::mixture::models;
use crate::matter::portion::Portion;
use crate::resolve::definitions::Sub;

/// Several portions into one.
///
/// # Errors
/// When an amount cannot be worked out.
pub fn mix(context: &mut Context<'_>) -> Done {
    let parts = context.take("parts", 1)?;
    let mut whole = Portion::default();
    for part in &parts {
        context.settled(part)?;
        whole.join(&part.portion, &mut context.eval.ledger, context.defs, "the mixture");
    }
    context.model(models::MIXING);
    let reactions = context.reactions("reactions");
    react::run_all(context, &mut whole, &reactions, None)?;
    react::contact(context, &mut whole)?;
    keep::keep(context, &mut whole)?;
    context.settle(&mut whole);
    let mass = whole.mass();
    context.give("whole", whole, mass);
    Ok(())
}

/// A material into a portion that stays.
///
/// # Errors
/// When an amount cannot be worked out.
pub fn pour(context: &mut Context<'_>) -> Done {
    let pot = context.one("pot")?;
    let times = context.times("times");
    let Some(what) = context.take("what", times)?.into_iter().next() else { return Ok(()) };
    context.settled(&what)?;
    context.settled(&pot)?;
    note_heat(context, &pot, &what);
    keep::portions(context, &what);
    let mut whole = pot.portion.clone();
    for share in context.shares(&what, times) {
        whole.join(&share, &mut context.eval.ledger, context.defs, &pot.name);
    }
    context.model(models::MIXING);
    let reactions = context.reactions("reactions");
    react::run_all(context, &mut whole, &reactions, None)?;
    react::contact(context, &mut whole)?;
    keep::keep(context, &mut whole)?;
    if let Some(time) = context.figure("time") {
        context.record().duration = Some(time.middle());
    }
    context.settle(&mut whole);
    context.put(&pot, whole);
    Ok(())
}

/// The heat that sulfuric acid and water make when they meet.
pub fn note_heat(context: &mut Context<'_>, pot: &Taken, added: &Taken) {
    let defs = context.defs;
    let Some(water) = defs.find("water") else { return };
    let moles = |portion: &Portion, sub: Sub| portion.moles(sub, defs);
    let strong = |portion: &Portion| -> f64 {
        portion.contents.iter().filter(|(sub, _)| defs.substance(**sub).is_strong_acid()).map(|(_, mass)| mass.si).sum()
    };
    let watery = added.portion.of(water) > 0.5 * added.portion.mass();
    let capacities = (react::heat_capacity(context, &pot.portion), react::heat_capacity(context, &added.portion));
    let mut rise: f64 = 0.0;
    if let Some(acid) = defs.find("sulfuric_acid") {
        let stored = |n: f64, n_water: f64| if n > 0.0 { n * heat::sulfuric_dilution(n_water / n) } else { 0.0 };
        let before = stored(moles(&pot.portion, acid), moles(&pot.portion, water));
        let of_added = stored(moles(&added.portion, acid), moles(&added.portion, water));
        // The first of the water meets strong acid, however much follows: the worst moment counts.
        let moments = if watery { 40 } else { 1 };
        for moment in 1..=moments {
            let share = f64::from(moment) / f64::from(moments);
            let n = moles(&pot.portion, acid) + share * moles(&added.portion, acid);
            let n_water = moles(&pot.portion, water) + share * moles(&added.portion, water);
            let released = stored(n, n_water) - before - share * of_added;
            rise = rise.max(heat::adiabatic_rise(released.max(0.0), (capacities.0 + share * capacities.1).max(1e-9)));
        }
    }
    let acid_mass = strong(&pot.portion);
    let acid_strength = acid_mass / (acid_mass + pot.portion.of(water)).max(1e-30);
    if rise > 3.0 {
        context.expect(format!("Diluting the acid would warm the mixture by about {rise:.0} K if nothing cools it."));
    }
    keep::would_reach(context, pot.portion.temperature, rise);
    let fact = Fact::Mixed {
        span: context.span(),
        added: added.name.clone(),
        watery,
        acid_strength: if acid_mass > 0.02 * pot.portion.mass() { acid_strength } else { 0.0 },
        rise,
    };
    context.eval.facts.push(fact);
}

/// A base into an acidic portion; `enough` is what the acid needs.
///
/// # Errors
/// When an amount cannot be worked out.
pub fn neutralise(context: &mut Context<'_>) -> Done {
    let pot = context.one("mixture")?;
    context.settled(&pot)?;
    let mut base = context.one("base")?;
    let acid = super::acid_excess(context.defs, &pot.portion);
    if base.enough.is_some() {
        let Some(material) = base.material.clone() else { return context.settled(&base) };
        let substance = context.defs.substance(material.sub).clone();
        let own = substance.takes_acid.unwrap_or(0.0) - substance.gives_acid();
        let molar = substance.molar_mass();
        let need = match molar {
            // A base for an acid, or an acid for a base.
            Some(molar) if own * acid > 0.0 => acid / own * molar,
            _ => return context.settled(&base),
        };
        let strength = crate::evaluate::amounts::mass_fraction(context.defs, &material)?;
        let operands: Vec<_> = pot.portion.contents.values().copied().collect();
        let mass = context.eval.ledger.model(
            "acid and base in equal moles",
            format!("mass of {} that neutralises", base.name),
            Kind::Mass,
            need / strength.max(1e-9),
            &operands,
        );
        context.size(&mut base, mass)?;
    }
    note_heat(context, &pot, &base);
    keep::portions(context, &base);
    let mut whole = pot.portion.clone();
    whole.join(&base.portion, &mut context.eval.ledger, context.defs, &pot.name);
    react::contact(context, &mut whole)?;
    let left = super::acid_excess(context.defs, &whole);
    let base_could = super::acid_excess(context.defs, &base.portion).min(0.0).abs();
    if acid > 0.0 && base_could > 0.0 {
        let fact = Fact::BaseWash { span: context.span(), acid_left: left.max(0.0), acid, base: base_could };
        context.eval.facts.push(fact);
    }
    keep::keep(context, &mut whole)?;
    context.settle(&mut whole);
    context.put(&pot, whole);
    Ok(())
}
