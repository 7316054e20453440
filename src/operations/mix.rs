//! Mixing, pouring in, neutralising.

use super::{gas, heats, keep, pace, part, react, warmth};
use crate::evaluate::context::{Done, Taken};
use crate::evaluate::{Context, Fact};
use crate::kinds::Kind;
use crate::matter::mixture::models;
use crate::matter::portion::Portion;

/// What happens between things that have come together at the temperature of `whole`: reactions asked
/// for and on contact, what `added` sets free as it dissolves, and what temperature that comes to.
///
/// # Errors
/// As for [`react::run_all`].
pub fn react_and_warm(context: &mut Context<'_>, whole: &mut Portion, added: &[&Portion]) -> Done {
    let start = whole.temperature;
    context.model(models::MIXING);
    let reactions = context.reactions("reactions");
    react::run_all(context, whole, &reactions)?;
    react::contact(context, whole)?;
    context.settle(whole);
    warmth::dissolved(context, added, whole);
    warmth::sum_up(context, start, whole);
    Ok(())
}

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
    warmth::joined(context, &parts);
    let portions: Vec<&Portion> = parts.iter().map(|part| &part.portion).collect();
    react_and_warm(context, &mut whole, &portions)?;
    heats::meet(context, &portions, &whole);
    // What is named first stands there, and the others go into it.
    if let [pot, others @ ..] = parts.as_slice()
        && (context.figure("ceiling").is_some() || context.figure("band").is_some())
    {
        let others: Vec<(&Taken, u32)> = others.iter().map(|part| (part, 1)).collect();
        pace::cooling(context, &pot.portion, &others, &whole);
    }
    part::gas_sentence(context, &whole, "leave the vessel open, and let the foam fall before more goes in");
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
    warmth::poured(context, &pot, &what);
    keep::portions(context, &what);
    pace::addition(context, &what, times)?;
    let mut whole = pot.portion.clone();
    for share in context.shares(&what, times) {
        whole.join(&share, &mut context.eval.ledger, context.defs, &pot.name);
    }
    react_and_warm(context, &mut whole, &[&what.portion])?;
    heats::meet(context, &[&pot.portion, &what.portion], &whole);
    pace::cooling(context, &pot.portion, &[(&what, times)], &whole);
    gas::absorb(context, &mut whole)?;
    part::gas_sentence(context, &whole, "leave the vessel open, and let the foam fall before more goes in");
    keep::keep(context, &mut whole)?;
    context.settle(&mut whole);
    context.put(&pot, whole);
    Ok(())
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
    warmth::poured(context, &pot, &base);
    keep::portions(context, &base);
    let mut whole = pot.portion.clone();
    whole.join(&base.portion, &mut context.eval.ledger, context.defs, &pot.name);
    let start = whole.temperature;
    react::contact(context, &mut whole)?;
    context.settle(&mut whole);
    warmth::dissolved(context, &[&base.portion], &whole);
    warmth::sum_up(context, start, &whole);
    pace::cooling(context, &pot.portion, &[(&base, 1)], &whole);
    part::gas_sentence(context, &whole, "leave the vessel open, and let the foam fall before more goes in");
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
