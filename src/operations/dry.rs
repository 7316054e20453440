//! Drying: over an agent, in air; and giving an agent its capacity back.

use super::binding;
use crate::chemistry::drying;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::context::Done;
use crate::evaluate::{Context, Fact};
use crate::kinds::{Kind, show_duration};
use crate::matter::mixture::models;
use crate::matter::portion::Portion;
use crate::resolve::definitions::Sub;

/// A wet liquid over a drying agent, which is filtered off: dried, spent.
///
/// # Errors
/// When an amount, a capacity or a density is needed and not known.
pub fn bind(context: &mut Context<'_>) -> Done {
    let liquid = context.one("liquid")?;
    context.settled(&liquid)?;
    let mut agent = context.one("agent")?;
    let Some(water) = context.defs.find("water") else { return Ok(()) };
    let sub = agent.material.as_ref().map(|material| material.sub).or_else(|| agent.portion.main());
    let Some(sub) = sub else { return context.settled(&agent) };
    let substance = context.defs.substance(sub).clone();
    let Some(properties) = substance.agent.clone() else {
        return Err(Box::new(
            Diagnostic::new(Code::NotKnown, agent.span, format!("{} is not declared as a drying agent", substance.display()))
                .help("dry over an agent of the library (magnesium_sulfate, sodium_sulfate, calcium_chloride, potassium_carbonate, sieve_3a …), or declare it with an `agent` block"),
        ));
    };
    let Some(capacity) = properties.capacity.clone() else {
        return Err(Box::new(
            Diagnostic::new(Code::NotKnown, agent.span, format!("how much water {} holds is not known", substance.display()))
                .help("declare its capacity, or the waters it binds, with a source"),
        ));
    };
    let meant = binding::meant(context, sub, &properties)?;
    let wet = liquid.portion.of(water);
    let volume = context.volume(&liquid.portion, &liquid.name, liquid.span)?;
    let sized = agent.enough.is_some();
    if sized {
        // What is sized is counted on the practical figure; what the author gives is judged by the bound.
        let (counted, practical) = properties.counted().unwrap_or((&capacity, false));
        let water_num = match liquid.portion.contents.get(&water) {
            Some(num) => *num,
            None => context.eval.ledger.model("no water in it", "water to be bound", Kind::Mass, 0.0, &[]),
        };
        let capacity_num = context.eval.ledger.datum(
            format!("water that {} holds{}, by mass", substance.display(), if practical { " in practice" } else { "" }),
            Kind::MassFraction,
            counted.value,
            &counted.source,
        );
        let mut mass =
            context.eval.ledger.over(format!("mass of {} that holds the water", agent.name), Kind::Mass, water_num, capacity_num);
        if let Some(more) = meant.and_then(|meant| meant.agent_for(context, &liquid.portion, &agent.name)) {
            mass = context.eval.ledger.sum(format!("mass of {} in all", agent.name), Kind::Mass, &[mass, more]);
        }
        if let Some(floor) = &properties.floor
            && floor.value * volume > mass.si
        {
            let parts: Vec<_> = liquid.portion.contents.values().copied().collect();
            let volume_num = context.eval.ledger.model(models::VOLUME, format!("volume of {}", liquid.name), Kind::Volume, volume, &parts);
            let floor_num =
                context.eval.ledger.datum(format!("least {} for a volume", substance.display()), Kind::Density, floor.value, &floor.source);
            mass = context.eval.ledger.times(format!("least mass of {}", agent.name), Kind::Mass, volume_num, floor_num);
        }
        context.size(&mut agent, mass)?;
        let how = if practical { "in practice" } else { "at most" };
        context.expect(format!(
            "Counted: {} takes up {} % of its mass {how}.",
            substance.display(),
            crate::kinds::significant(counted.value * 100.0, 2)
        ));
    }
    let agent_mass = agent.portion.of(sub);
    let holds = (agent_mass * capacity.value - agent.portion.bound_water).max(0.0);
    // Water as drops, not only dissolved: more than the liquids in it are known to take up.
    let dissolved: f64 = liquid
        .portion
        .contents
        .iter()
        .filter_map(|(sub, mass)| context.defs.substance(*sub).takes_up.as_ref().map(|w| w.value * mass.si))
        .sum();
    let mut refused: Vec<(String, Sub)> = liquid
        .portion
        .contents
        .iter()
        .filter(|(sub, mass)| **sub != water && meant.is_none_or(|meant| meant.sub != **sub) && mass.si > 0.01 * liquid.portion.mass())
        .filter_map(|(sub, _)| {
            let other = context.defs.substance(*sub);
            properties.refuses.iter().find(|class| other.is(&class.value)).map(|class| (class.value.clone(), *sub))
        })
        .collect();
    if properties.refuses.iter().any(|class| class.value == "free_water") && wet > dissolved * 1.05 + 1e-9 {
        refused.insert(0, ("free_water".to_owned(), water));
    }
    let fact = Fact::Dried {
        statement: context.number,
        span: agent.amount_span,
        agent: sub,
        name: agent.name.clone(),
        mass: agent_mass,
        sized,
        water: wet,
        capacity: holds,
        serves: holds,
        taken: wet.min(holds),
        meets: context.span(),
        refused,
        vapour: None,
        temperature: liquid.portion.temperature,
        effective_below: properties.effective_below.as_ref().map(|t| t.value),
        bed: false,
        time: context.figure("time").map(|time| time.top()),
    };
    context.eval.facts.push(fact);
    context.model(models::DRYING);
    what_is_left(context, &liquid.portion, &properties);
    in_time(context, &properties);
    context.record().duration = context.figure("time").map(|time| time.middle());
    // Too little agent is a finding of its own; what follows is worked out as if it were mended.
    let bound = wet;
    let taken_up = meant.map(|meant| (meant.sub, meant.bound(context, &liquid.portion, &agent, sub, capacity.value, wet)));
    let retained = properties.retains.as_ref().map_or(0.0, |retains| retains.value * agent_mass);
    let clings = if volume > 0.0 { (retained / volume).min(0.5) } else { 0.0 };
    let mut dried = Portion { temperature: liquid.portion.temperature, ..Portion::default() };
    let mut spent = agent.portion.clone();
    spent.bound_water += bound;
    for (each, mass) in &liquid.portion.contents {
        let name = context.defs.substance(*each).display();
        let held = taken_up.filter(|(own, _)| own == each).map_or(0.0, |(_, held)| held);
        let free = if *each == water { mass.si - bound } else { mass.si - held };
        // Salts from drops of a water layer have nothing left to dissolve in: they stay with the agent.
        let salt =
            context.defs.substance(*each).is_ionic() && context.defs.substance(*each).is_solid(crate::matter::mixture::ROOM) == Some(true);
        let to_agent = if salt { mass.si } else { free * clings + if *each == water { bound } else { held } };
        let taken = context.eval.ledger.model(models::DRYING, format!("{name} with the spent agent"), Kind::Mass, to_agent, &[*mass]);
        let left = context.eval.ledger.minus(format!("{name} in the dried liquid"), Kind::Mass, *mass, taken);
        if left.si > 1e-12 * mass.si {
            dried.contents.insert(*each, left);
        }
        if taken.si > 0.0 {
            spent.add(*each, taken, &mut context.eval.ledger, "spent agent");
        }
    }
    spent.solid.insert(sub, agent_mass);
    context.settle(&mut dried);
    let whole = liquid.portion.mass() + agent_mass;
    context.give("dried", dried, whole);
    context.give("spent", spent, whole);
    Ok(())
}

/// How far a drying agent gets in the time it is given.
#[derive(Clone, Debug)]
pub struct InTime {
    /// Share of the water that is taken up in the time stated, where one is.
    pub taken: Option<f64>,
    /// Share of it that is in any time.
    pub most: f64,
    /// s in which 99 % of that is.
    pub to_99: f64,
    /// The liquid in which it was found, the share that was taken up there, and s of it.
    pub found: (String, f64, f64),
}

/// Says how much of the water an agent takes up in the time stated, where that was found in some liquid. What was found
/// there after a longer time is the most that it takes up.
fn in_time(context: &mut Context<'_>, agent: &crate::resolve::definitions::Agent) {
    let Some(found) = agent.removes.first().map(|found| found.value.clone()) else { return };
    let (liquid, share, known) = &found;
    let time = context.figure("time").map(|time| time.middle()).filter(|time| *time > 0.0);
    let later = agent.removes.iter().map(|found| &found.value).filter(|later| later.0 == *liquid && later.2 > *known);
    let most = later.map(|later| later.1).reduce(f64::max).unwrap_or(1.0).max(*share);
    let taken = time.map(|time| drying::taken_up(*share, *known, most, time));
    let to_99 = drying::time_to(0.99, *share / most.max(1e-9), *known);
    let percent = |share: f64| crate::kinds::significant(100.0 * share, 2);
    let as_found = format!("as it was found in {} ({} % in {})", liquid.replace('_', " "), percent(*share), show_duration(*known));
    let in_full = super::pace::in_words(to_99);
    context.model(models::DRYING_IN_TIME);
    match (time, taken) {
        (Some(time), Some(taken)) if most < 0.99 => context.expect(format!(
            "In {} it takes up about {} % of the water, {as_found}, and no more than about {} % however long it stands.",
            super::pace::spoken(time),
            percent(taken),
            percent(most)
        )),
        _ if most < 0.99 => {
            context.expect(format!("It takes up no more than about {} % of the water, {as_found}, however long it stands.", percent(most)));
        }
        (Some(time), Some(taken)) if taken < 0.99 => context.expect(format!(
            "In {} it takes up about {} % of the water, {as_found}; 99 % takes {in_full}.",
            super::pace::spoken(time),
            percent(taken)
        )),
        (Some(_), _) => {}
        _ => context.expect(format!("99 % of the water is taken up in {in_full}, {as_found}.")),
    }
    context.record().drying = Some(InTime { taken, most, to_99, found });
}

/// Water in a m³ of air that has taken its fill at 25 °C, kg (textbook tables, from memory).
const SATURATED_AIR: f64 = 0.0230;

/// Says how much water is left in a liquid over an agent: as found for that liquid, else by the water in air over
/// the agent; else that it is not known.
fn what_is_left(context: &mut Context<'_>, liquid: &Portion, agent: &crate::resolve::definitions::Agent) {
    let defs = context.defs;
    let Some(main) = liquid.main() else { return };
    let amount = |share: f64| {
        if share >= 1e-3 {
            format!("{} %", crate::kinds::significant(share * 100.0, 1))
        } else {
            format!("{} mg/kg", crate::kinds::significant(share * 1e6, 1))
        }
    };
    if let Some(found) = agent.leaves.iter().find(|found| defs.find(&found.value.0) == Some(main)) {
        let (_, share, time) = &found.value;
        let (share, time) = (amount(*share), crate::kinds::show_duration(*time));
        context.model(models::FOUND);
        return context.expect(format!("In {time} over plenty of it about {share} of water was found to be left."));
    }
    let dry: f64 = liquid.contents.iter().filter(|(sub, _)| !defs.substance(**sub).is("water")).map(|(_, mass)| mass.si).sum();
    let takes = |sub: &Sub| defs.substance(*sub).takes_up.as_ref().map(|share| share.value);
    let known: f64 = liquid.contents.iter().filter(|(sub, _)| takes(sub).is_some()).map(|(_, mass)| mass.si).sum();
    match &agent.leaves_in_air {
        Some(air) if known > 0.9 * dry => {
            let full: f64 = liquid.contents.iter().filter_map(|(sub, mass)| Some(takes(sub)? * mass.si)).sum::<f64>() / dry;
            context.model(models::RESIDUE);
            let share = amount(full * (air.value / SATURATED_AIR).min(1.0));
            context.expect(format!("At best it leaves about {share} of water, to an order of magnitude."));
        }
        _ => context.expect("How much water it leaves is not known.".to_owned()),
    }
}

/// Leaves something in the air: unbound liquid evaporates.
///
/// # Errors
/// When an amount is still undecided.
pub fn air(context: &mut Context<'_>) -> Done {
    let what = context.one("what")?;
    context.settled(&what)?;
    context.model(models::AIRING);
    let mut portion = what.portion.clone();
    let mut liquid = portion.liquid(context.defs.find("water"));
    // The water within a plant dries off too; what else it holds stays.
    if let Some(water) = context.defs.find("water")
        && let Some(within) = crate::matter::plant::within(&portion.masses(), context.defs).get(&water)
    {
        *liquid.entry(water).or_insert(0.0) += within;
    }
    let dissolved_solids: Vec<Sub> = liquid
        .keys()
        .copied()
        .filter(|sub| context.defs.substance(*sub).is_solid(crate::matter::mixture::ROOM) == Some(true) || !evaporates(context, *sub))
        .collect();
    for (sub, mass) in liquid {
        if dissolved_solids.contains(&sub) {
            continue;
        }
        if let Some(there) = portion.contents.get(&sub).copied() {
            let name = context.defs.substance(sub).display();
            let gone = context.eval.ledger.model(models::AIRING, format!("{name} lost to the air"), Kind::Mass, mass, &[there]);
            let left = context.eval.ledger.minus(format!("{name} that stays"), Kind::Mass, there, gone);
            if left.si > 1e-12 * there.si {
                portion.contents.insert(sub, left);
            } else {
                portion.contents.remove(&sub);
            }
            context.air(sub, gone);
        }
    }
    portion.temperature = crate::matter::mixture::ROOM;
    context.settle(&mut portion);
    context.record().duration = context.figure("time").map(|time| time.middle());
    context.put(&what, portion);
    Ok(())
}

/// What boils below 180 °C dries off in air in a day or so. Our own figure.
fn evaporates(context: &Context<'_>, sub: Sub) -> bool {
    context.defs.substance(sub).boils.as_ref().is_some_and(|boils| boils.value < 453.15)
}

/// Heats a bed until it gives its water back.
///
/// # Errors
/// When an amount is still undecided.
pub fn regenerate(context: &mut Context<'_>) -> Done {
    let bed = context.one("bed")?;
    context.settled(&bed)?;
    let mut portion = bed.portion.clone();
    let temperature = context.figure("temperature");
    let agent = portion.contents.keys().copied().find(|sub| context.defs.substance(*sub).agent.is_some());
    let range = agent.and_then(|sub| context.defs.substance(sub).agent.as_ref().and_then(|agent| agent.regenerates.clone()));
    if let (Some(figure), Some(range)) = (temperature, &range)
        && (figure.top() < range.value.0 - 1.0 || figure.low > range.value.1 + 1.0)
    {
        return Err(Box::new(
            Diagnostic::new(
                Code::OutOfRange,
                figure.span,
                format!(
                    "`{}` gives its water back between {:.0} and {:.0} °C ({})",
                    bed.name,
                    range.value.0 - 273.15,
                    range.value.1 - 273.15,
                    range.source
                ),
            )
            .help("set a temperature in that range"),
        ));
    }
    let water = context.defs.find("water");
    let solvent = portion
        .liquid(water)
        .into_iter()
        .filter(|(sub, mass)| Some(*sub) != water && *mass > 1e-3 * bed.portion.mass())
        .max_by(|a, b| a.1.total_cmp(&b.1));
    if let Some(solvent) = solvent {
        let fact = Fact::WetBed {
            span: context.span(),
            name: bed.name.clone(),
            solvent,
            temperature: temperature.map_or(0.0, |figure| figure.top()),
        };
        context.eval.facts.push(fact);
    }
    let keep: Vec<Sub> = portion.contents.keys().copied().filter(|sub| Some(*sub) == agent).collect();
    let gone: Vec<(Sub, crate::matter::ledger::Num)> =
        portion.contents.iter().filter(|(sub, _)| !keep.contains(sub)).map(|(sub, mass)| (*sub, *mass)).collect();
    for (sub, mass) in gone {
        portion.contents.remove(&sub);
        context.air(sub, mass);
    }
    portion.bound_water = 0.0;
    portion.temperature = crate::matter::mixture::ROOM;
    context.model("all bound water is driven off");
    let record = context.record();
    record.duration = None;
    record.temperature = temperature.map(|figure| figure.middle());
    context.record().duration = context.figure("time").map(|time| time.middle());
    context.put(&bed, portion);
    Ok(())
}
