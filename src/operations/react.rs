//! Reactions in a portion: to equilibrium, to a stated conversion, on contact, or while water is
//! carried off.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::chemistry::equilibrium;
use crate::chemistry::stoichiometry;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::context::Done;
use crate::evaluate::{Context, Fact, Run};
use crate::kinds::Kind;
use crate::matter::ledger::Num;
use crate::matter::mixture::models;
use crate::matter::portion::Portion;
use crate::resolve::declare::WATER_MOLAR_MASS;
use crate::resolve::definitions::{Extent, Reaction, Sub};

/// Share of the water that stays in the flask while the rest is carried off. Our own figure.
pub const KEPT: f64 = 0.01;

/// Runs reactions of the procedure in a portion, one after another.
///
/// # Errors
/// When an equilibrium cannot be solved.
pub fn run_all(context: &mut Context<'_>, portion: &mut Portion, numbers: &[usize], carried_off: Option<Sub>) -> Done {
    for number in numbers {
        let Some(reaction) = context.procedure.reactions.get(*number).cloned() else { continue };
        run(context, portion, &reaction, Some(*number), carried_off)?;
    }
    context.settle(portion);
    Ok(())
}

fn run(
    context: &mut Context<'_>,
    portion: &mut Portion,
    reaction: &Arc<Reaction>,
    number: Option<usize>,
    carried_off: Option<Sub>,
) -> Done {
    let numbers = reaction.numbers();
    let subs: Vec<Sub> = numbers.keys().copied().collect();
    let nu: Vec<f64> = numbers.values().copied().collect();
    let n0: Vec<f64> = subs.iter().map(|sub| portion.moles(*sub, context.defs)).collect();
    let missing = subs.iter().zip(&nu).zip(&n0).find(|((_, nu), n)| **nu < 0.0 && **n <= 0.0);
    if let Some(((sub, _), _)) = missing {
        if number.is_some() {
            let fact = Fact::CannotRun { span: context.span(), reaction: reaction.name.clone(), missing: *sub };
            context.eval.facts.push(fact);
        }
        return Ok(());
    }
    if let Some((catalyst, _)) = reaction.catalyst
        && portion.of(catalyst) <= 0.0
        && !hydrate_of(context, catalyst).is_some_and(|other| portion.of(other) > 0.0)
    {
        let fact = Fact::NoCatalyst { span: context.span(), reaction: reaction.name.clone(), catalyst };
        context.eval.facts.push(fact);
    }
    let Some((first, most)) = stoichiometry::limiting(&n0, &nu) else { return Ok(()) };
    let failed = |error: crate::chemistry::solve::SolveError| {
        Box::new(Diagnostic::new(
            Code::OutOfRange,
            reaction.span,
            format!("the equilibrium of `{}` cannot be worked out: {error}", reaction.name),
        ))
    };
    let others: f64 = portion.contents.keys().filter(|sub| !numbers.contains_key(sub)).map(|sub| portion.moles(*sub, context.defs)).sum();
    let removed = carried_off.and_then(|sub| subs.iter().position(|own| *own == sub));
    let (extent, model) = match (&reaction.extent, removed) {
        (Extent::Equilibrium(k), Some(at)) => {
            (equilibrium::extent_with_removal(&n0, &nu, *k, others, at, KEPT).map_err(failed)?, models::DRIVEN)
        }
        (Extent::Equilibrium(k), None) => (equilibrium::extent(&n0, &nu, *k, others).map_err(failed)?, models::EQUILIBRIUM),
        (Extent::Conversion(share), _) => (share * most, models::CONVERSION),
        (Extent::OnContact, _) => (most, models::CONTACT),
        (Extent::Slowly, _) => return Ok(()),
    };
    context.model(model);
    let operands: Vec<Num> = subs.iter().filter_map(|sub| portion.contents.get(sub).copied()).collect();
    let what = format!("extent of {}", reaction.name.replace('_', " "));
    let extent_num = context.eval.ledger.model(model, what, Kind::Amount, extent, &operands);
    let most_num = context.eval.ledger.model(
        "the limiting reactant used up",
        format!("largest extent of {}", reaction.name.replace('_', " ")),
        Kind::Amount,
        most,
        &operands,
    );
    for (sub, nu) in &numbers {
        let substance = context.defs.substance(*sub);
        let Some(molar) = substance.molar_mass() else { continue };
        let before = portion.of(*sub);
        let mut after = before + nu * extent * molar;
        if after < 1e-12 * before.max(extent * molar) {
            after = 0.0;
        }
        *context.eval.made.entry(*sub).or_insert(0.0) += after - before;
        let mut from: Vec<Num> = portion.contents.get(sub).copied().into_iter().collect();
        from.push(extent_num);
        let what = format!("{} after {}", substance.display(), reaction.name.replace('_', " "));
        let num = context.eval.ledger.model(model, what, Kind::Mass, after, &from);
        if after > 0.0 {
            portion.contents.insert(*sub, num);
        } else {
            portion.contents.remove(sub);
        }
    }
    if let (Some(number), Some(limiting)) = (number, subs.get(first)) {
        let run = Run {
            reaction: number,
            statement: context.number,
            limiting: *limiting,
            extent: extent_num,
            most: most_num,
            conversion: if most > 0.0 { extent / most } else { 0.0 },
            model,
        };
        context.eval.runs.push(run);
    }
    match context.defs.heat_of(reaction).map(|heat| heat.value) {
        Some(heat) => warm(context, portion, -heat * extent, &reaction.name),
        None if number.is_some() && scaled_up(context) => {
            let name = reaction.name.replace('_', " ");
            context.eval.assumed.insert(format!(
                "the heat of the {name} is not known and none is counted: at {} times the batch as written, with less surface to lose it, try a batch in between first",
                crate::kinds::significant(context.eval.scale, 3)
            ));
        }
        None => {}
    }
    release_gases(context, portion);
    Ok(())
}

/// Whether the batch is larger than a step of scale-up where heat is set free.
fn scaled_up(context: &Context<'_>) -> bool {
    context.defs.rule("scale_step").is_some_and(|rule| context.eval.scale > rule.value() * (1.0 + 1e-9))
}

/// The hydrate whose anhydrous substance this is, or the other way round.
fn hydrate_of(context: &Context<'_>, sub: Sub) -> Option<Sub> {
    let substance = context.defs.substance(sub);
    if let Some((dry, _)) = &substance.crystal_water {
        return context.defs.find(dry);
    }
    context.defs.substances.iter().position(|other| other.crystal_water.as_ref().is_some_and(|(dry, _)| *dry == substance.name)).map(Sub)
}

/// Says what temperature a heat would bring the portion to, uncooled.
fn warm(context: &mut Context<'_>, portion: &Portion, heat: f64, name: &str) {
    context.record().heat += heat;
    let capacity = heat_capacity(context, portion);
    if capacity <= 0.0 || heat <= 0.0 {
        return;
    }
    let rise = heat / capacity;
    if rise > 3.0 {
        let gives = format!(
            "The {} gives off about {} kJ",
            name.replace("_frees_", " that frees ").replace('_', " "),
            crate::kinds::significant(heat / 1e3, 2)
        );
        // Where things are brought together the temperature is said once for all the heats.
        let summed = ["mix", "pour", "neutralise", "part"];
        context.expect(if context.statement.operation.effects.iter().any(|call| summed.contains(&call.effect.as_str())) {
            format!("{gives}.")
        } else {
            format!("{gives}: uncooled and all at once it would warm the mixture by about {rise:.0} K.")
        });
    }
}

/// J/K of a portion: declared heat capacities, else 2.0 J/(g K), water 4.18.
#[must_use]
pub fn heat_capacity(context: &Context<'_>, portion: &Portion) -> f64 {
    portion
        .contents
        .iter()
        .map(|(sub, mass)| {
            let substance = context.defs.substance(*sub);
            match (&substance.heat_capacity, substance.molar_mass()) {
                (Some(capacity), Some(molar)) => mass.si / molar * capacity.value,
                _ if substance.is("water") => mass.si * 4180.0,
                _ => mass.si * 2000.0,
            }
        })
        .sum()
}

/// Runs what reacts on contact wherever there is water.
///
/// # Errors
/// As for [`run_all`].
pub fn contact(context: &mut Context<'_>, portion: &mut Portion) -> Done {
    let water = context.defs.find("water");
    if !water.is_some_and(|water| portion.of(water) > portion.bound_water) {
        return Ok(());
    }
    let contact: Vec<_> = context.procedure.contact.iter().chain(&context.defs.contact).cloned().collect();
    // What reacts as the anhydrous substance is dissolved first.
    for hydrate in hydrates(context, portion) {
        let dry = hydrate_of(context, hydrate);
        let others =
            |reaction: &Reaction| reaction.left.iter().all(|(_, sub)| Some(*sub) == dry || portion.moles(*sub, context.defs) > 1e-9);
        if contact.iter().any(|reaction| reaction.left.iter().any(|(_, sub)| Some(*sub) == dry) && others(reaction)) {
            free_crystal_water(context, portion, &[hydrate], "crystal water set free in solution");
        }
    }
    for reaction in contact {
        let ready = reaction.left.iter().all(|(_, sub)| portion.moles(*sub, context.defs) > 1e-9);
        if ready {
            run(context, portion, &reaction, None, None)?;
        }
    }
    release_gases(context, portion);
    Ok(())
}

/// The hydrates in a portion.
pub fn hydrates(context: &Context<'_>, portion: &Portion) -> Vec<Sub> {
    portion.contents.keys().copied().filter(|sub| context.defs.substance(*sub).crystal_water.is_some()).collect()
}

/// Hydrates give up their crystal water: boiled with a solvent, or dissolved.
pub fn free_crystal_water(context: &mut Context<'_>, portion: &mut Portion, hydrates: &[Sub], model: &'static str) {
    let Some(water) = context.defs.find("water") else { return };
    for &sub in hydrates {
        let substance = context.defs.substance(sub).clone();
        let Some((dry_name, waters)) = &substance.crystal_water else { continue };
        let (Some(dry), Some(molar), Some(mass)) =
            (context.defs.find(dry_name), substance.molar_mass(), portion.contents.get(&sub).copied())
        else {
            continue;
        };
        let from_water = mass.si / molar * waters * WATER_MOLAR_MASS;
        context.model(model);
        let freed = context.eval.ledger.model(model, format!("crystal water of {}", substance.display()), Kind::Mass, from_water, &[mass]);
        let dry_mass = context.eval.ledger.minus(format!("{} without its crystal water", substance.display()), Kind::Mass, mass, freed);
        for (own, change) in [(sub, -mass.si), (dry, dry_mass.si), (water, freed.si)] {
            *context.eval.made.entry(own).or_insert(0.0) += change;
        }
        portion.contents.remove(&sub);
        portion.solid.remove(&sub);
        let dry_name = format!("anhydrous {}", context.defs.substance(dry).display());
        portion.add(dry, dry_mass, &mut context.eval.ledger, &dry_name);
        portion.add(water, freed, &mut context.eval.ledger, "water in the flask");
    }
}

/// Gases that nothing holds leave the portion.
fn release_gases(context: &mut Context<'_>, portion: &mut Portion) {
    let gone: BTreeMap<Sub, Num> = portion
        .contents
        .iter()
        .filter(|(sub, _)| {
            let substance = context.defs.substance(**sub);
            // Gases that water holds as acids or bases stay in solution.
            substance.is("gas") && !substance.is_strong_acid() && !substance.is("base")
        })
        .map(|(sub, mass)| (*sub, *mass))
        .collect();
    for (sub, mass) in gone {
        portion.contents.remove(&sub);
        context.evolve(sub, mass);
    }
}
