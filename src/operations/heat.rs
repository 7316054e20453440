//! Holding at a temperature, and boiling: under reflux, over a bed of drying agent, with a water trap.

use super::course::{self, Bedding, Course, Way};
use super::rated::At;
use super::{gas, keep, pace, react, take_off, trap};
use crate::chemistry::course::trap::Leaves;
use crate::diagnostics::Diagnostic;
use crate::evaluate::context::{Done, Taken};
use crate::evaluate::{Carried, Context, Fact};
use crate::kinds::Kind;
use crate::matter::boiling;
use crate::matter::ledger::Num;
use crate::matter::mixture::{self, models};
use crate::matter::portion::{Masses, Portion};
use crate::resolve::declare::WATER_MOLAR_MASS;
use crate::resolve::definitions::{Agent, Sub};
use crate::source::Span;

/// Share of the condensate by mass above which what a bed refuses counts in the vapour. Our own figure.
const CARRIED: f64 = 1e-3;

/// kg of acid to a kg of bed above which it counts where all that goes over is known: a longer time brings no less of it.
/// Our own figure: a hundredth of the lattice may then be gone.
const DOSE: f64 = 0.01;

/// Digits that count of the room in an extractor that is chosen from the bench. Our own figure.
const EXTRACTOR_DIGITS: i32 = 3;

/// Share of any liquid that clings to a drained bed at most. Our own figure.
const CLINGS: f64 = 0.2;

/// kg/m³ of an agent as poured where nothing is declared. Our own figure.
const BULK: f64 = 700.0;

/// An open vessel: temperature, time, reactions.
///
/// # Errors
/// When an amount or an equilibrium cannot be worked out.
pub fn hold(context: &mut Context<'_>) -> Done {
    let pot = context.one("pot")?;
    context.settled(&pot)?;
    let mut portion = pot.portion.clone();
    let temperature = context.figure("temperature");
    let time = context.figure("time");
    if let Some(figure) = temperature {
        portion.temperature = figure.middle();
        pace::warming(context, &pot.portion, figure.middle());
    } else if context.not_stated("temperature").is_some() {
        context.eval.assumed.insert(format!(
            "A temperature of {} is not stated; it is taken to stay at {:.0} °C.",
            pot.name.replace('_', " "),
            portion.temperature - 273.15
        ));
    }
    keep::keep(context, &mut portion)?;
    let reactions = context.reactions("reactions");
    react::run_all(context, &mut portion, &reactions)?;
    if let Some(figure) = temperature.or_else(|| context.figure("band"))
        && figure.top() > 303.15
    {
        let boiling = context.boiling_told(&pot.portion.liquid(context.defs.find("water")), false);
        let fact = Fact::Held { statement: context.number, span: figure.span, name: pot.name.clone(), temperature: figure.top(), boiling };
        context.eval.facts.push(fact);
    }
    if timed(context, &reactions) {
        begins(context, &pot, &pot.portion.clone(), Way::Nothing(At::Held(portion.temperature)))?;
    }
    gas::absorb(context, &mut portion)?;
    context.settle(&mut portion);
    let record = context.record();
    record.temperature = Some(portion.temperature);
    record.duration = time.map(|time| time.middle());
    context.put(&pot, portion);
    Ok(())
}

/// Boiling under a condenser. The parts of it act together: reactions run while water is carried
/// to a bed or a trap.
///
/// # Errors
/// When an amount or an equilibrium cannot be worked out.
pub fn boil(context: &mut Context<'_>) -> Done {
    let pot = context.one("pot")?;
    context.settled(&pot)?;
    let mut portion = pot.portion.clone();
    if let Some(fresh) = context.take("fresh", 1)?.into_iter().next() {
        context.settled(&fresh)?;
        portion.join(&fresh.portion, &mut context.eval.ledger, context.defs, &pot.name);
    }
    let water = context.defs.find("water");
    let bed = context.take("bed", 1)?.into_iter().next();
    let parted = context.substance("what");
    let drains = context.choice("side");
    let carries = bed.is_some() || drains.is_some() || parted.is_some_and(|(sub, _)| Some(sub) == water);
    if carries {
        let hydrates = react::hydrates(context, &portion);
        react::free_crystal_water(context, &mut portion, &hydrates, "crystal water set free on boiling");
    }
    let before = portion.clone();
    let cold = pot.portion.temperature;
    let begins_to_boil = context.boiling(&before.liquid(water));
    if !carries && let Some(t) = begins_to_boil {
        pace::warming(context, &before, t);
    }
    if let (true, Some(water)) = (carries, water) {
        let bed = match bed {
            Some(bed) => match Lined::of(context, bed, &before, water)? {
                Some(lined) => Some(lined),
                None => return Ok(()),
            },
            None => None,
        };
        let trap =
            |leaves| Way::Trap(context.apparatus("trap").and_then(|(_, size, _)| size), water_at_most(context, &before, water), leaves);
        let way = match (&bed, drains) {
            (Some(bed), _) => bed.way(context),
            (None, Some("upper")) => trap(Leaves::Upper),
            (None, Some(_)) => trap(Leaves::Lower),
            (None, None) => trap(Leaves::Watery),
        };
        let course = take_off::react(context, &pot.name, cold, &mut portion, water, way)?;
        // What reacts at once has reacted by then, and its water boils with the rest.
        if let Some(t) = course.as_ref().and_then(|course| course.rows.first()).map(|row| row.t).or(begins_to_boil) {
            pace::warming(context, &before, t);
        }
        if course.is_none() {
            boiled_dry(context, &before, &mut portion, water);
        }
        context.record().temperature = Some(portion.temperature);
        context.record().duration = context.figure("time").map(|time| time.middle());
        gas::absorb(context, &mut portion)?;
        if let Some(bed) = bed {
            return over_bed(context, &pot, bed, &before, portion, water, course.as_deref());
        }
        if let Some(side) = drains {
            if !trap::drain(context, &before, &mut portion, water, side, course.as_deref())? {
                return Ok(());
            }
        } else {
            trap::fill(context, &before, &mut portion, water, course.as_deref())?;
        }
    } else {
        // Reactions take place at the boil.
        portion.temperature = begins_to_boil.unwrap_or(portion.temperature);
        let reactions = context.reactions("reactions");
        let place = At::Boil(context.procedure.about.room(), portion.temperature);
        react::run_all_at(context, &mut portion, &reactions, place)?;
        let boiling = context.boiling_told(&portion.liquid(water), true);
        if let Some(t) = boiling {
            context.record().temperature = Some(t);
            portion.temperature = t;
        }
        context.record().duration = context.figure("time").map(|time| time.middle());
        if timed(context, &reactions) {
            begins(context, &pot, &before, Way::Nothing(place))?;
        }
        gas::absorb(context, &mut portion)?;
        if parted.is_some() {
            context.give("trapped", Portion::default(), before.mass());
        }
    }
    context.settle(&mut portion);
    context.put(&pot, portion);
    Ok(())
}

/// Where it is not followed how the water goes: it boils where it boils with and without it.
fn boiled_dry(context: &mut Context<'_>, before: &Portion, portion: &mut Portion, water: Sub) {
    // What is carried off all the time no longer counts at the end.
    let mut boils = portion.liquid(Some(water));
    boils.remove(&water);
    let mut wet = before.liquid(Some(water));
    wet.insert(water, water_at_most(context, before, water));
    let first = context.boiling(&wet);
    let last = context.boiling_told(&boils, true);
    if let (Some(first), Some(last)) = (first, last)
        && last > first + 3.0
    {
        context.expect(format!(
            "It boils near {:.0} °C while water comes over, and rises to about {:.0} °C as it goes.",
            first - 273.15,
            last - 273.15
        ));
    }
    if let Some(t) = last {
        portion.temperature = t;
    }
}

/// Whether one of these reactions has a rate.
fn timed(context: &Context<'_>, reactions: &[usize]) -> bool {
    reactions.iter().filter_map(|number| context.procedure.reactions.get(*number)).any(|reaction| reaction.rate.is_some())
}

/// Notes what the statement begins with, so that its course can be followed.
fn begins(context: &mut Context<'_>, pot: &Taken, before: &Portion, way: Way) -> Done {
    let reactions = context.reactions("reactions");
    if let Some(begins) = take_off::begins(context, &pot.name, pot.portion.temperature, before, reactions, way) {
        course::note(context, begins);
    }
    Ok(())
}

/// Water that would have to be taken up if the reactions went to the end: what is there, and what
/// they can still make.
pub(super) fn water_at_most(context: &Context<'_>, before: &Portion, water: Sub) -> f64 {
    let mut arrives = before.of(water);
    for number in context.reactions("reactions") {
        let Some(reaction) = context.procedure.reactions.get(number) else { continue };
        let numbers = reaction.numbers();
        let nu: Vec<f64> = numbers.values().copied().collect();
        let n0: Vec<f64> = numbers.keys().map(|sub| before.moles(*sub, context.defs)).collect();
        let made = numbers.get(&water).copied().unwrap_or(0.0);
        if let Some((_, most)) = crate::chemistry::stoichiometry::limiting(&n0, &nu)
            && made > 0.0
        {
            arrives += made * most * WATER_MOLAR_MASS;
        }
    }
    arrives
}

/// A bed in the way of the condensate, with its amount decided.
struct Lined {
    bed: Taken,
    agent: Agent,
    sub: Sub,
    mass: f64,
    sized: bool,
    /// Water that can arrive, and what the bed can still hold of it cold and where it lies, kg.
    arrives: Num,
    holds: f64,
    serves: f64,
}

impl Lined {
    /// The bed in a statement; `None` where its amount cannot be decided.
    fn of(context: &mut Context<'_>, mut bed: Taken, before: &Portion, water: Sub) -> Result<Option<Self>, Box<Diagnostic>> {
        let arrives = water_at_most(context, before, water);
        let Some(sub) = bed.material.as_ref().map(|material| material.sub).or_else(|| bed.portion.main()) else {
            return context.settled(&bed).map(|()| None);
        };
        let substance = context.defs.substance(sub).clone();
        let Some((agent, capacity)) = substance.agent.clone().and_then(|agent| agent.capacity.clone().map(|c| (agent, c))) else {
            return Err(Box::new(Diagnostic::new(
                crate::diagnostics::Code::NotKnown,
                bed.span,
                format!("how much water {} holds is not known", substance.display()),
            )));
        };
        let sized = bed.enough.is_some();
        let operands: Vec<_> = before.contents.values().copied().collect();
        let arrives = context.eval.ledger.model(
            "all the water of the charge and of the reaction run to its end",
            "water that arrives at the bed",
            Kind::Mass,
            arrives,
            &operands,
        );
        if sized {
            let (counted, practical) = agent.counted().unwrap_or((&capacity, false));
            let (share, how, source) = match agent.washed() {
                Some((share, source)) => (share, " at least, washed by hot condensate", source),
                None => (counted.value, if practical { " in practice" } else { "" }, &counted.source),
            };
            let held = format!("water that {} holds{how}, by mass", substance.display());
            let capacity_num = context.eval.ledger.datum(held, Kind::MassFraction, share, source);
            let mass = context.eval.ledger.over(format!("mass of {} that holds the water", bed.name), Kind::Mass, arrives, capacity_num);
            context.size(&mut bed, mass)?;
        }
        let mass = bed.portion.of(sub);
        let left = |share: f64| (mass * share - bed.portion.bound_water).max(0.0);
        let (holds, serves) = (left(capacity.value), left(agent.washed().map_or(capacity.value, |(share, _)| share)));
        Ok(Some(Self { bed, agent, sub, mass, sized, arrives, holds, serves }))
    }

    /// The same for whoever follows the water.
    fn way(&self, context: &Context<'_>) -> Way {
        // An extractor that is named is that of the batch as written; one that is chosen for the batch at hand fits that.
        let (scale, held) = (context.eval.scale, context.eval.held);
        let siphon = if context.open("extractor") {
            // So rounded, a search that halves its steps meets the same extractor again.
            let needs = siphon_needs(context, self.mass / scale * held, &self.agent);
            needs.map(|own| course::to_digits(own.needed / held, EXTRACTOR_DIGITS))
        } else {
            siphon_needs(context, self.mass / scale, &self.agent).map(|own| own.needed)
        };
        let Taken { name, portion, .. } = &self.bed;
        Way::Bed(Bedding { name: name.clone(), agent: self.sub, mass: self.mass, bound: portion.bound_water, sized: self.sized, siphon })
    }
}

fn over_bed(
    context: &mut Context<'_>,
    pot: &Taken,
    lined: Lined,
    before: &Portion,
    mut portion: Portion,
    water: Sub,
    course: Option<&Course>,
) -> Done {
    let Lined { bed, agent, sub: agent_sub, mass: agent_mass, sized, arrives: arrives_num, holds, serves } = lined;
    let arrives = arrives_num.si;
    let carried = course.map_or_else(|| vapour_shares(context, before), |course| shares_of(&course.passed));
    let counts = |class: &str, sub: Sub, share: f64| match course {
        Some(course) if class.contains("acid") => course.passed.get(&sub).is_some_and(|mass| *mass > DOSE * agent_mass),
        _ => share > CARRIED,
    };
    let refused = refused(context, before, &agent, &carried, counts);
    let vapour = refused.first().map(|(_, sub, share)| {
        let filling = || siphon_needs(context, agent_mass, &agent).map(|own| own.needed * condensate_density(context, &carried) * share);
        let mass = match course {
            Some(course) => course.passed.get(sub).copied(),
            None => filling().map(|filling| filling.min(before.of(*sub))),
        };
        Carried { share: *share, mass, time: course.map(|course| course.begins.time) }
    });
    let refused: Vec<(String, Sub)> = refused.into_iter().map(|(class, sub, _)| (class, sub)).collect();
    let fact = Fact::Dried {
        statement: context.number,
        span: bed.amount_span,
        agent: agent_sub,
        name: bed.name.clone(),
        mass: agent_mass,
        sized,
        water: arrives,
        capacity: holds,
        serves,
        taken: course.map_or(arrives.min(holds), |course| {
            portion.of(water) * take_off::shares(course, &course.stands.taken).get(&water).copied().unwrap_or(0.0)
        }),
        meets: bed.span,
        refused,
        vapour,
        temperature: crate::matter::mixture::ROOM,
        effective_below: None,
        bed: true,
        time: None,
    };
    context.eval.facts.push(fact);
    let mut loaded = bed.portion.clone();
    // Of a flask that runs dry the temperature at the end says nothing.
    let first = course.and_then(|course| course.rows.first()).map(|row| row.t);
    let boiling = first.or(Some(portion.temperature));
    siphon(context, before, &bed.name, agent_mass, &agent, boiling, (arrives, serves));
    match course {
        Some(course) => {
            let whole = portion.clone();
            let held = take_off::shares(course, &course.stands.taken);
            take_off::carry(context, &mut portion, &mut loaded, &held, &whole, "on the bed");
            loaded.bound_water += whole.of(water) * held.get(&water).copied().unwrap_or(0.0);
            let clings = take_off::shares(course, &course.stands.clings);
            let clings = clings.into_iter().map(|(sub, share)| (sub, share.min(CLINGS))).collect();
            take_off::carry(context, &mut portion, &mut loaded, &clings, &whole, "in the liquid that clings to the bed");
        }
        None => unfollowed(
            context,
            &mut portion,
            &mut loaded,
            arrives_num,
            water,
            agent.retains.as_ref().map_or(0.0, |own| own.value) * agent_mass,
        ),
    }
    let clinging = loaded.contents.iter().filter(|(sub, _)| **sub != water && **sub != agent_sub);
    if let Some((sub, mass)) = clinging.max_by(|a, b| a.1.si.total_cmp(&b.1.si)) {
        context.expect(format!(
            "The drained bed still holds about {} g of {}.",
            crate::kinds::significant(mass.si * 1e3, 2),
            context.defs.substance(*sub).display()
        ));
    }
    let grams = |kg: f64| crate::kinds::significant(kg * 1e3, 3);
    let percent = |share: f64| crate::kinds::significant(share * 100.0, 2);
    let washed = agent.hot.as_ref().map_or_else(String::new, |hot| {
        let (low, high) = hot.value;
        let holds = |share: f64| (agent_mass * share - bed.portion.bound_water).max(0.0);
        let remedy = if sized && agent.washed().is_some() {
            ", by the least of which it is sized".to_owned()
        } else if arrives > holds(low) * (1.0 + 1e-9) {
            format!("; take {} g of it, or put in a fresh one half-way", grams(arrives / low.max(1e-9)))
        } else {
            ", which is enough too".to_owned()
        };
        format!(
            ", and {} to {} g ({} to {} %) washed by hot condensate{remedy}",
            grams(holds(low)),
            grams(holds(high)),
            percent(low),
            percent(high)
        )
    });
    let cold = agent.capacity.as_ref().map_or(0.0, |capacity| capacity.value);
    context.expect(format!(
        "At most {} g of water can arrive; the bed holds {} g cold ({} % of its mass){washed}.",
        grams(arrives),
        grams(holds),
        percent(cold)
    ));
    loaded.solid.insert(agent_sub, agent_mass);
    context.settle(&mut portion);
    context.put(pot, portion);
    put_bed(context, &bed, loaded);
    Ok(())
}

/// Where it is not followed how the water goes the bed takes what is there after the reaction, all but the share
/// kept, and what boils lowest clings to it. A bed too small is a finding of its own; what follows is worked out as
/// if it were mended.
fn unfollowed(context: &mut Context<'_>, portion: &mut Portion, loaded: &mut Portion, arrives: Num, water: Sub, retained: f64) {
    let taken = portion.of(water) * (1.0 - react::KEPT);
    if let Some(now) = portion.contents.get(&water).copied() {
        let moved = context.eval.ledger.model(models::DRIVEN, "water taken up by the bed", Kind::Mass, taken, &[now, arrives]);
        let left = context.eval.ledger.minus("water left in the flask", Kind::Mass, now, moved);
        portion.contents.insert(water, left);
        loaded.add(water, moved, &mut context.eval.ledger, "water on the bed");
        loaded.bound_water += taken;
    }
    if let Some(sub) = most_volatile(context, portion, water)
        && let Some(mass) = portion.contents.get(&sub).copied()
    {
        let density = context.defs.substance(sub).liquid_density().map_or(800.0, |density| density.value.1);
        let clings = (retained * density).min(CLINGS * mass.si);
        let moved = context.eval.ledger.model(
            "liquid that clings to a drained bed",
            format!("{} on the bed", context.defs.substance(sub).display()),
            Kind::Mass,
            clings,
            &[mass],
        );
        let left =
            context.eval.ledger.minus(format!("{} left in the flask", context.defs.substance(sub).display()), Kind::Mass, mass, moved);
        portion.contents.insert(sub, left);
        loaded.add(sub, moved, &mut context.eval.ledger, "liquid on the bed");
    }
}

fn put_bed(context: &mut Context<'_>, bed: &Taken, loaded: Portion) {
    if let Some(id) = bed.binding {
        context.eval.portions.insert(id, loaded.clone());
        context.record().outputs.push((String::new(), Some(id), loaded));
    }
}

/// An extractor with its beads in it.
struct Extractor {
    /// Liquid that fills it to its siphon around the beads, m³.
    needed: f64,
    /// Its nominal size, m³.
    size: f64,
    /// The part of that which fills before the siphon runs over.
    part: f64,
    /// Where it is named.
    span: Span,
}

fn siphon_needs(context: &Context<'_>, agent_mass: f64, agent: &Agent) -> Option<Extractor> {
    let (apparatus, size, span) = context.apparatus("extractor")?;
    let size = size.or_else(|| apparatus.sizes.first().copied())?;
    let part = apparatus.siphon.as_ref().map_or(1.0, |part| part.value);
    let beads = agent.bead.as_ref().map_or(agent_mass / 2000.0, |bead| agent_mass / bead.value);
    Some(Extractor { needed: (size * part - beads).max(0.0), size, part, span })
}

fn siphon(
    context: &mut Context<'_>,
    before: &Portion,
    name: &str,
    agent_mass: f64,
    agent: &Agent,
    boiling: Option<f64>,
    (arrives, holds): (f64, f64),
) {
    let Some(Extractor { needed, size, part, span }) = siphon_needs(context, agent_mass, agent) else { return };
    let poured = agent_mass / agent.bulk.as_ref().map_or(BULK, |bulk| bulk.value);
    // What boils no more than 25 K above the mixture goes over in quantity. Our own figure.
    let reach = boiling.unwrap_or(373.15) + 25.0;
    let mut assumed = mixture::Assumed::new();
    let mut volatile = Masses::new();
    for (sub, mass) in before.masses() {
        let substance = context.defs.substance(sub);
        if !substance.is("water") && substance.boils.as_ref().is_some_and(|boils| boils.value < reach) {
            volatile.insert(sub, mass);
        }
    }
    let water = context.defs.find("water");
    let volume = |masses: &Masses, assumed: &mut mixture::Assumed| mixture::volume(masses, context.defs, assumed).unwrap_or(0.0);
    let fact = Fact::Siphon {
        statement: context.number,
        span,
        needed,
        volatile: volume(&volatile, &mut assumed),
        charge: volume(&before.liquid(water), &mut assumed),
        size,
        part,
        bed: (name.to_owned(), agent_mass, poured),
        water: (arrives, holds),
    };
    context.eval.facts.push(fact);
    if arrives > 0.0 && poured > 0.0 && poured <= size * part {
        let (by_water, by_room) = (holds / arrives, size * part / poured);
        let times = |factor: f64| crate::kinds::significant(factor, 2);
        let room = crate::kinds::show(size, Kind::Volume, 3);
        context.expect(if by_water <= by_room {
            format!(
                "The water limits the batch: this bed would dry {} times as much; it fills {:.0} % of the {room} extractor.",
                times(by_water),
                100.0 * poured / size
            )
        } else {
            format!(
                "The extractor limits the batch: it has room for {} times this bed, and the bed would dry {} times as much.",
                times(by_room),
                times(by_water)
            )
        });
    }
}

/// What the agent refuses and the vapour carries to it, by the shares of the condensate by mass, where it `counts`: class,
/// substance, share; the most first.
fn refused(
    context: &Context<'_>,
    before: &Portion,
    agent: &Agent,
    shares: &Masses,
    counts: impl Fn(&str, Sub, f64) -> bool,
) -> Vec<(String, Sub, f64)> {
    let mut carried: Vec<(String, Sub, f64)> = before
        .contents
        .keys()
        .filter_map(|sub| {
            let substance = context.defs.substance(*sub);
            let class = agent.refuses.iter().find(|class| substance.is(&class.value))?;
            let share = shares.get(sub).copied().unwrap_or(0.0);
            counts(&class.value, *sub, share).then(|| (class.value.clone(), *sub, share))
        })
        .collect();
    carried.sort_by(|a, b| b.2.total_cmp(&a.2));
    carried
}

/// Each by its share of the whole.
fn shares_of(masses: &Masses) -> Masses {
    let all: f64 = masses.values().sum();
    masses.iter().map(|(sub, mass)| (*sub, mass / all.max(1e-30))).collect()
}

/// Share by mass of each substance in what goes over from a boiling portion, where it is not followed: as in the vapour at
/// first. A gas goes over whole.
fn vapour_shares(context: &Context<'_>, portion: &Portion) -> Masses {
    let liquid = portion.liquid(context.defs.find("water"));
    let Some(boil) = boiling::boils(&liquid, context.defs, context.room()) else { return Masses::new() };
    let weigh = |(sub, y): (&Sub, &f64)| (*sub, context.defs.substance(*sub).molar_mass().unwrap_or(0.0) * y);
    let mut shares = shares_of(&boil.vapour.iter().map(weigh).collect());
    let gases = portion.contents.keys().filter(|sub| context.defs.substance(**sub).is_gas());
    shares.extend(gases.map(|sub| (*sub, portion.of(*sub) / portion.mass())));
    shares
}

/// kg/m³ of what condenses, from the liquids' own densities.
fn condensate_density(context: &Context<'_>, shares: &Masses) -> f64 {
    mixture::volume(shares, context.defs, &mut mixture::Assumed::new()).map_or(800.0, |volume| 1.0 / volume.max(1e-6))
}

/// The liquid, other than water, that boils lowest among those that make up a tenth of the whole.
fn most_volatile(context: &Context<'_>, portion: &Portion, water: Sub) -> Option<Sub> {
    let total = portion.mass();
    portion
        .contents
        .iter()
        .filter(|(sub, mass)| **sub != water && mass.si > 0.1 * total)
        .filter_map(|(sub, _)| context.defs.substance(*sub).boils.as_ref().map(|boils| (*sub, boils.value)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(sub, _)| sub)
}
