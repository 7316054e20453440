//! Reactions in a portion: to equilibrium, to a stated conversion, on contact, or while water is
//! carried off.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::pot::Pot;
use super::rated::{self, At};
use super::{heats, warmth};
use crate::chemistry::course::reaction as course;
use crate::chemistry::stoichiometry;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::context::Done;
use crate::evaluate::{Context, Fact, Run};
use crate::kinds::Kind;
use crate::matter::ledger::Num;
use crate::matter::mixture::models;
use crate::matter::portion::Portion;
use crate::resolve::declare::WATER_MOLAR_MASS;
use crate::resolve::definitions::{Definitions, Extent, Reaction, Sub};

/// Share of the water that stays in the flask while the rest is carried off, where it cannot be followed how much the
/// vapour carries. Our own figure.
pub const KEPT: f64 = 0.01;

/// Runs reactions of the procedure in a portion: neighbours that come to an equilibrium all at once, others one
/// after another.
///
/// # Errors
/// When an equilibrium cannot be solved.
pub fn run_all(context: &mut Context<'_>, portion: &mut Portion, numbers: &[usize]) -> Done {
    let at = At::Held(portion.temperature);
    run_all_at(context, portion, numbers, at)
}

/// The same where those with a rate go on at the boil, or at a temperature that is held.
///
/// # Errors
/// As [`run_all`].
pub fn run_all_at(context: &mut Context<'_>, portion: &mut Portion, numbers: &[usize], at: At) -> Done {
    let named = numbers.iter().filter_map(|number| Some((*number, Arc::clone(context.procedure.reactions.get(*number)?))));
    let reactions: Vec<(usize, Arc<Reaction>)> = named.collect();
    for together in reactions.chunk_by(|(_, one), (_, next)| rests(one) && rests(next)) {
        match together {
            [(number, reaction)] if !rests(reaction) => run(context, portion, reaction, Some(*number))?,
            _ => {
                let can = |(number, reaction): &&(usize, Arc<Reaction>)| can_run(context, portion, reaction, Some(*number), together);
                let running: Vec<_> = together.iter().filter(can).cloned().collect();
                come_to_rest(context, portion, &running, None, at)?;
            }
        }
    }
    context.settle(portion);
    Ok(())
}

/// Runs those that go to a stated share or to their end, and gives those that come to an equilibrium and can run.
///
/// # Errors
/// When an amount cannot be worked out.
pub fn run_stated(
    context: &mut Context<'_>,
    portion: &mut Portion,
    numbers: &[usize],
) -> Result<Vec<(usize, Arc<Reaction>)>, Box<Diagnostic>> {
    let named = numbers.iter().filter_map(|number| Some((*number, Arc::clone(context.procedure.reactions.get(*number)?))));
    let (resting, stated): (Vec<_>, Vec<_>) = named.partition(|(_, reaction)| rests(reaction));
    for (number, reaction) in &stated {
        run(context, portion, reaction, Some(*number))?;
    }
    Ok(resting.iter().filter(|(number, reaction)| can_run(context, portion, reaction, Some(*number), &resting)).cloned().collect())
}

/// Reactions that come to an equilibrium do so while all but [`KEPT`] of the water is carried off.
///
/// # Errors
/// When an equilibrium cannot be solved.
pub fn rest(context: &mut Context<'_>, portion: &mut Portion, running: &[(usize, Arc<Reaction>)], water: Sub) -> Done {
    let at = At::Held(portion.temperature);
    come_to_rest(context, portion, running, Some(water), at)?;
    context.settle(portion);
    Ok(())
}

/// Reactions that were followed in time go as far as they went there, mol.
pub fn as_followed(context: &mut Context<'_>, portion: &mut Portion, running: &[(usize, Arc<Reaction>)], extents: &[f64]) {
    if !running.is_empty() {
        let pot = Pot::new(context.defs, portion, running);
        go(context, portion, &together(&pot, running, extents), models::FOLLOWED);
    }
    context.settle(portion);
}

/// Whether a reaction comes to an equilibrium.
fn rests(reaction: &Reaction) -> bool {
    matches!(reaction.extent, Extent::Equilibrium(_) | Extent::InActivities(_))
}

/// A reaction to a stated conversion, or to its end on contact.
fn run(context: &mut Context<'_>, portion: &mut Portion, reaction: &Arc<Reaction>, number: Option<usize>) -> Done {
    if !can_run(context, portion, reaction, number, &[]) {
        return Ok(());
    }
    let most = most(context, portion, reaction);
    let (extent, model) = match reaction.extent {
        Extent::Conversion(share) => (share * most, models::CONVERSION),
        Extent::OnContact => (most, models::CONTACT),
        Extent::Equilibrium(_) | Extent::InActivities(_) | Extent::Slowly => return Ok(()),
    };
    go(context, portion, &[Gone { reaction: Arc::clone(reaction), number, extent, most }], model);
    Ok(())
}

/// The extent at which the reactant that runs out first is gone, mol.
fn most(context: &Context<'_>, portion: &Portion, reaction: &Reaction) -> f64 {
    let numbers = reaction.numbers();
    let nu: Vec<f64> = numbers.values().copied().collect();
    let n0: Vec<f64> = numbers.keys().map(|sub| portion.moles(*sub, context.defs)).collect();
    stoichiometry::limiting(&n0, &nu).map_or(0.0, |(_, most)| most)
}

/// Whether all reactants are there, or made by one of the `others`; if not, and when the catalyst lacks, notes it.
fn can_run(
    context: &mut Context<'_>,
    portion: &Portion,
    reaction: &Arc<Reaction>,
    number: Option<usize>,
    others: &[(usize, Arc<Reaction>)],
) -> bool {
    let made = |sub: Sub| others.iter().any(|(_, other)| other.numbers().get(&sub).is_some_and(|nu| *nu > 0.0));
    let numbers = reaction.numbers();
    let missing = numbers.iter().find(|(sub, nu)| **nu < 0.0 && portion.of(**sub) <= 0.0 && !made(**sub));
    if let Some((sub, _)) = missing {
        if number.is_some() {
            let fact = Fact::CannotRun { span: context.span(), reaction: reaction.name.clone(), missing: *sub };
            context.eval.facts.push(fact);
        }
        return false;
    }
    if let Some((catalyst, _)) = reaction.catalyst
        && portion.of(catalyst) <= 0.0
        && !hydrate_of(context, catalyst).is_some_and(|other| portion.of(other) > 0.0)
    {
        let fact = Fact::NoCatalyst { span: context.span(), reaction: reaction.name.clone(), catalyst };
        context.eval.facts.push(fact);
    }
    true
}

/// Reactions that come to an equilibrium, all together: to the end of it, or as far as the time leads that the
/// statement gives them.
fn come_to_rest(
    context: &mut Context<'_>,
    portion: &mut Portion,
    running: &[(usize, Arc<Reaction>)],
    carried_off: Option<Sub>,
    at: At,
) -> Done {
    let Some((_, first)) = running.first() else { return Ok(()) };
    let failed = |error: crate::chemistry::solve::SolveError| {
        Box::new(Diagnostic::new(
            Code::OutOfRange,
            first.span,
            format!("the equilibrium of `{}` cannot be worked out: {error}", first.name),
        ))
    };
    let pot = Pot::new(context.defs, portion, running);
    let takes_part = |sub: Sub| running.iter().any(|(_, reaction)| reaction.numbers().contains_key(&sub));
    let carried = carried_off.filter(|sub| takes_part(*sub)).and_then(|sub| pot.place(sub));
    let timed = running.iter().any(|(_, reaction)| reaction.rate.is_some());
    let time = context.figure("time").map(|time| time.middle()).filter(|_| timed);
    if timed && time.is_none() {
        context.eval.assumed.insert(format!(
            "How long {} runs is not stated; it is taken to come to rest.",
            running.iter().map(|(_, reaction)| reaction.name.replace('_', " ")).collect::<Vec<_>>().join(" and ")
        ));
    }
    let mut n = pot.moles.clone();
    let (extents, model) = match time {
        Some(time) => {
            // What is carried off as it is made hardly holds the reaction back.
            let eased: Vec<course::Reaction> = pot.reactions.iter().map(|reaction| ease(reaction, carried)).collect();
            (rated::follow(&pot, &eased, &mut n, at, (time, 1.0), &mut |_, _, _, _| ()).map_err(failed)?, models::RATE)
        }
        None => {
            let besides = carried.map(|at| course::Besides::Kept(at, KEPT));
            let extents =
                course::equilibrium(&mut n, &pot.reactions, besides, &mut |n| pot.activities(n, portion.temperature)).map_err(failed)?;
            let in_activities = running.iter().any(|(_, reaction)| matches!(reaction.extent, Extent::InActivities(_)));
            let model = match (carried, in_activities) {
                (Some(_), _) => models::DRIVEN,
                (None, true) => models::ACTIVITIES,
                (None, false) => models::EQUILIBRIUM,
            };
            (extents, model)
        }
    };
    go(context, portion, &together(&pot, running, &extents), model);
    Ok(())
}

/// Reactions that have gone so far side by side.
fn together(pot: &Pot<'_>, running: &[(usize, Arc<Reaction>)], extents: &[f64]) -> Vec<Gone> {
    let mut gone = Vec::new();
    for (at, (number, reaction)) in running.iter().enumerate() {
        // What could be made of it when the others have gone as far as they go.
        let mut there = pot.moles.clone();
        for (other, (own, extent)) in pot.reactions.iter().zip(extents).enumerate() {
            if other != at {
                there.iter_mut().zip(&own.nu).for_each(|(n, nu)| *n += nu * extent);
            }
        }
        let nu = pot.reactions.get(at).map_or(&[][..], |own| &own.nu);
        let most = stoichiometry::limiting(&there, nu).map_or(0.0, |(_, most)| most);
        let extent = extents.get(at).copied().unwrap_or(0.0);
        gone.push(Gone { reaction: Arc::clone(reaction), number: Some(*number), extent, most });
    }
    gone
}

/// The same reaction where all but [`KEPT`] of one product is carried off as it is made.
fn ease(reaction: &course::Reaction, carried: Option<usize>) -> course::Reaction {
    let nu = carried.and_then(|at| reaction.nu.get(at)).copied().unwrap_or(0.0);
    let eased = |k: f64| k / KEPT.powf(nu);
    let ends = match reaction.ends {
        course::Ends::Ratio(k) => course::Ends::Ratio(eased(k)),
        course::Ends::Activity(k) => course::Ends::Activity(eased(k)),
    };
    course::Reaction { ends, ..reaction.clone() }
}

/// A reaction that has gone so far.
struct Gone {
    reaction: Arc<Reaction>,
    number: Option<usize>,
    extent: f64,
    most: f64,
}

/// Reactions go by these extents, all at once.
fn go(context: &mut Context<'_>, portion: &mut Portion, gone: &[Gone], model: &'static str) {
    context.model(model);
    let mut changes: BTreeMap<Sub, (f64, f64, Vec<Num>)> = BTreeMap::new();
    let mut runs = Vec::new();
    for Gone { reaction, number, extent, most } in gone {
        let numbers = reaction.numbers();
        let operands: Vec<Num> = numbers.keys().filter_map(|sub| portion.contents.get(sub).copied()).collect();
        let what = format!("extent of {}", reaction.name.replace('_', " "));
        let extent_num = context.eval.ledger.model(model, what, Kind::Amount, *extent, &operands);
        let most_num = context.eval.ledger.model(
            "the limiting reactant used up",
            format!("largest extent of {}", reaction.name.replace('_', " ")),
            Kind::Amount,
            *most,
            &operands,
        );
        for (sub, nu) in &numbers {
            let Some(molar) = context.defs.substance(*sub).molar_mass() else { continue };
            let change = changes.entry(*sub).or_default();
            change.0 += nu * extent * molar;
            change.1 = change.1.max((extent * molar).abs());
            change.2.push(extent_num);
        }
        let n0: Vec<f64> = numbers.keys().map(|sub| portion.moles(*sub, context.defs)).collect();
        let nu: Vec<f64> = numbers.values().copied().collect();
        let limiting = stoichiometry::limiting(&n0, &nu).and_then(|(first, _)| numbers.keys().nth(first));
        if let (Some(number), Some(limiting)) = (number, limiting) {
            runs.push(Run {
                reaction: *number,
                statement: context.number,
                limiting: *limiting,
                extent: extent_num,
                most: most_num,
                conversion: if *most > 0.0 { extent / most } else { 0.0 },
                model,
            });
        }
    }
    // What runs in water is counted as dissolved in much of it: what is not yet has that heat still to give.
    let dissolving = (model == models::CONTACT).then(|| warmth::stored(context, &[(portion, 1.0)]));
    let mut in_much_water = 0.0;
    let names = gone.iter().map(|gone| gone.reaction.name.replace('_', " ")).collect::<Vec<_>>().join(" and ");
    for (sub, (change, scale, extents)) in changes {
        let before = portion.of(sub);
        let mut after = before + change;
        if after < 1e-12 * before.max(scale) {
            after = 0.0;
        }
        *context.eval.made.entry(sub).or_insert(0.0) += after - before;
        if let (Some(limit), Some(molar)) = (context.defs.integral_heat(sub, f64::INFINITY), context.defs.substance(sub).molar_mass()) {
            in_much_water += limit * (after - before) / molar;
        }
        let mut from: Vec<Num> = portion.contents.get(&sub).copied().into_iter().collect();
        from.extend(extents);
        let what = format!("{} after {names}", context.defs.substance(sub).display());
        let num = context.eval.ledger.model(model, what, Kind::Mass, after, &from);
        if after > 0.0 {
            portion.contents.insert(sub, num);
        } else {
            portion.contents.remove(&sub);
        }
    }
    context.eval.runs.extend(runs);
    let dilution = dissolving.map_or(0.0, |before| warmth::stored(context, &[(portion, 1.0)]) - before - in_much_water);
    for Gone { reaction, number, extent, .. } in gone {
        heats::count(context, portion, reaction, *extent, dilution, number.is_some());
    }
    release_gases(context, portion);
}

/// Whether the batch is larger than a step of scale-up where heat is set free.
pub(super) fn scaled_up(context: &Context<'_>) -> bool {
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
pub(super) fn warm(context: &mut Context<'_>, portion: &Portion, heat: f64, name: &str) {
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
        context.model(models::REACTION_HEAT);
        context.expect(if context.statement.operation.effects.iter().any(|call| heats::TOGETHER.contains(&call.effect.as_str())) {
            format!("{gives}.")
        } else {
            format!("{gives}: uncooled and all at once it would warm the mixture by about {rise:.0} K.")
        });
    }
}

/// J/K of a portion: declared heat capacities, else 2.0 J/(g K), water 4.18.
#[must_use]
pub fn heat_capacity(context: &Context<'_>, portion: &Portion) -> f64 {
    capacity_of(context.defs, portion)
}

/// The same where there is no context.
#[must_use]
pub fn capacity_of(defs: &Definitions, portion: &Portion) -> f64 {
    portion.contents.iter().map(|(sub, mass)| own_heat_capacity(defs, *sub, mass.si)).sum()
}

/// J/K of so much of a substance.
#[must_use]
pub fn own_heat_capacity(defs: &Definitions, sub: Sub, mass: f64) -> f64 {
    let substance = defs.substance(sub);
    match (&substance.heat_capacity, substance.molar_mass()) {
        (Some(capacity), Some(molar)) => mass / molar * capacity.value,
        _ if substance.is("water") => mass * 4180.0,
        _ => mass * 2000.0,
    }
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
            run(context, portion, &reaction, None)?;
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
