//! Solids: filtering, rinsing, crystallising.

use super::react;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::context::{Done, Taken};
use crate::evaluate::{Context, Fact, amounts};
use crate::kinds::{Kind, show};
use crate::matter::ledger::Num;
use crate::matter::mixture::{self, models};
use crate::matter::portion::{Masses, Portion};
use crate::resolve::definitions::{Definitions, Sub};

/// Mass of liquor that stays with a gram of solid on a filter sucked dry. Our own figure.
pub const CLINGS: f64 = 0.5;

/// Share of solvent beyond what dissolves the crude at the boil: some boils off meanwhile. Our own figure.
const SPARE: f64 = 0.1;

/// How far below the boil a solubility may be known that is used for it, K. Our own figure.
const NEAR: f64 = 15.0;

/// Share of a solvent from which a liquid in it is asked what it dissolves. Our own figure.
const BULK: f64 = 0.1;

/// Share of a crude that must be left at the boil for its solvent to be found too little. Our own figure: solubilities are
/// good to a tenth, and some solvent is always added.
const SHORT: f64 = 0.15;

/// Share of a crude that must be left, by a figure for a colder solvent, for it to be told. Our own figure: hot solvents
/// take several times what cold ones do.
const SPOKEN: f64 = 0.5;

/// Parts solid from liquid: cake, filtrate.
fn split(context: &mut Context<'_>, whole: &Portion) -> (Portion, Portion) {
    split_over(context, whole, 0.0)
}

/// The same where `more` kg of liquid stay besides what clings to the solid.
fn split_over(context: &mut Context<'_>, whole: &Portion, more: f64) -> (Portion, Portion) {
    context.model(models::FILTERING);
    let solid_mass: f64 = whole.solid.values().sum();
    let liquid_mass = (whole.mass() - solid_mass).max(0.0);
    let share = if liquid_mass > 0.0 { ((CLINGS * solid_mass + more) / liquid_mass).min(1.0) } else { 0.0 };
    let mut cake =
        Portion { temperature: whole.temperature, solid: whole.solid.clone(), bound_water: whole.bound_water, ..Portion::default() };
    let mut filtrate = Portion { temperature: whole.temperature, ..Portion::default() };
    for (sub, mass) in &whole.contents {
        let solid = whole.solid.get(sub).copied().unwrap_or(0.0).min(mass.si);
        let liquid = mass.si - solid;
        let name = context.defs.substance(*sub).display();
        let stays = solid + liquid * share;
        let kept = context.eval.ledger.model(models::FILTERING, format!("{name} in the cake"), Kind::Mass, stays, &[*mass]);
        let gone = context.eval.ledger.minus(format!("{name} in the filtrate"), Kind::Mass, *mass, kept);
        if kept.si > 0.0 {
            cake.contents.insert(*sub, kept);
        }
        if gone.si > 1e-15 * mass.si && gone.si > 0.0 {
            filtrate.contents.insert(*sub, gone);
        }
    }
    (cake, filtrate)
}

/// Filters, over a layer of filter aid where there is one; `enough` of it is its dose for the solid there is.
///
/// # Errors
/// When an amount is still undecided.
pub fn strain(context: &mut Context<'_>) -> Done {
    let mixture = context.one("mixture")?;
    context.settled(&mixture)?;
    let mut whole = mixture.portion.clone();
    context.settle(&mut whole);
    let mut more = 0.0;
    if let Some(mut aid) = context.take("aid", 1)?.into_iter().next() {
        let agent = aid.material.as_ref().map(|material| material.sub).or(aid.portion.main());
        let agent = agent.and_then(|sub| context.defs.substance(sub).agent.clone());
        if let (Some(dose), true) = (agent.as_ref().and_then(|agent| agent.dose.as_ref()), aid.enough.is_some()) {
            let solid: f64 = whole.solid.values().sum();
            let operands: Vec<Num> = whole.contents.values().copied().collect();
            let share = 0.5 * (dose.value.0 + dose.value.1);
            let what = format!("mass of {} for the solid in {}", aid.name, mixture.name);
            let need = context.eval.ledger.model("its dose for what it is to hold back", what, Kind::Mass, share * solid, &operands);
            context.size(&mut aid, need)?;
        }
        context.settled(&aid)?;
        // The layer keeps its own liquid instead of what clings to a cake.
        let layer = aid.portion.mass();
        let retains = agent.and_then(|agent| agent.retains).map_or(CLINGS, |retains| retains.value * 1000.0);
        more = layer * (retains - CLINGS);
        whole.join(&aid.portion, &mut context.eval.ledger, context.defs, &mixture.name);
        context.settle(&mut whole);
    }
    let mass = whole.mass();
    let (cake, filtrate) = split_over(context, &whole, more);
    context.give("cake", cake, mass);
    context.give("filtrate", filtrate, mass);
    Ok(())
}

/// Rinses a cake on the filter, `portions` times with the same amount.
///
/// # Errors
/// When an amount cannot be worked out.
pub fn rinse(context: &mut Context<'_>) -> Done {
    let cake = context.one("cake")?;
    context.settled(&cake)?;
    let times = super::keep::times(context)?;
    let Some(liquid) = context.take("liquid", times)?.into_iter().next() else { return Ok(()) };
    context.settled(&liquid)?;
    let shares = context.shares(&liquid, times);
    let mass = cake.portion.mass() + shares.iter().map(Portion::mass).sum::<f64>();
    let mut going = cake.portion.clone();
    let mut pooled = Portion::default();
    for share in &shares {
        let cold = going.temperature;
        let mut all = going.clone();
        all.join(share, &mut context.eval.ledger, context.defs, &cake.name);
        react::contact(context, &mut all)?;
        // The rinse is over before the cake has warmed through.
        all.temperature = cold;
        context.settle(&mut all);
        let (on, off) = split(context, &all);
        going = on;
        if pooled.contents.is_empty() {
            pooled = off;
        } else {
            pooled.join(&off, &mut context.eval.ledger, context.defs, "the rinsings");
        }
    }
    context.give("cake", going, mass);
    context.give("filtrate", pooled, mass);
    Ok(())
}

/// Dissolves hot and crystallises cold.
///
/// # Errors
/// When an amount cannot be worked out.
pub fn crystallise(context: &mut Context<'_>) -> Done {
    let solid = context.one("solid")?;
    context.settled(&solid)?;
    let mut solvent = context.one("solvent")?;
    if solvent.enough.is_some() {
        hot_solvent(context, &solid, &mut solvent)?;
    }
    context.settled(&solvent)?;
    let mut whole = solid.portion.clone();
    whole.join(&solvent.portion, &mut context.eval.ledger, context.defs, &solid.name);
    let boiling = context.boiling(&solvent.portion.masses());
    if let Some(boiling) = boiling {
        context.expect(format!("The solvent boils near {:.0} °C: add the last of it only as far as the solid needs.", boiling - 273.15));
    }
    let mut filtered_hot = false;
    if let Some(charcoal) = context.take("charcoal", 1)?.into_iter().next() {
        context.settled(&charcoal)?;
        filtered_hot = true;
        if let Some(agent) = charcoal.portion.main() {
            let water = context.defs.find("water").map_or(0.0, |water| solid.portion.of(water));
            let (mass, solid) = (charcoal.portion.mass(), solid.portion.mass() - water);
            context.eval.facts.push(Fact::Decolourised { span: charcoal.amount_span, agent, mass, solid });
        }
        let all = whole.mass() + charcoal.portion.mass();
        whole.join(&charcoal.portion, &mut context.eval.ledger, context.defs, &solid.name);
        // Filtered at the boil: what has not dissolved there stays with the carbon.
        whole.temperature = boiling.unwrap_or(whole.temperature);
        context.settle(&mut whole);
        lies_undissolved(context, &solid.portion, &whole);
        let (spent, clear) = split(context, &whole);
        context.give("spent", spent, all);
        whole = clear;
    }
    if context.outcome("insoluble").is_some() {
        filtered_hot = true;
        whole.temperature = boiling.unwrap_or(whole.temperature);
        context.settle(&mut whole);
        let all = whole.mass();
        let (left, clear) = split(context, &whole);
        context.give("insoluble", left, all);
        whole = clear;
    }
    if let Some(boiling) = boiling.filter(|_| !filtered_hot) {
        takes_hot(context, &solid.portion, &solvent.portion, &whole, boiling);
    }
    seeded(context, &whole, boiling);
    if let Some(cold) = context.figure("temperature") {
        whole.temperature = cold.middle();
    }
    context.settle(&mut whole);
    let main = whole.solid.iter().max_by(|a, b| a.1.total_cmp(b.1)).map(|(sub, mass)| (*sub, *mass));
    if let Some((sub, mass)) = main {
        let there: Option<Num> = whole.contents.get(&sub).copied();
        if let Some(there) = there {
            let lost = there.si - mass;
            let bulk = solvent.portion.main().map(|bulk| context.defs.substance(bulk));
            let ideal = bulk.is_some_and(|bulk| mixture::by_ideal_law(context.defs.substance(sub), bulk));
            context.model(if ideal { models::IDEAL } else { models::DISSOLVING });
            context.expect(format!(
                "About {} g of {} stays in the liquor at {:.0} °C{}: {} % of it comes out.",
                crate::kinds::significant(lost * 1e3, 2),
                context.defs.substance(sub).display(),
                whole.temperature - 273.15,
                if ideal { ", within a factor of three" } else { "" },
                crate::kinds::significant(100.0 * mass / there.si, 2)
            ));
        }
    }
    let mass = whole.mass();
    let (crystals, liquor) = split(context, &whole);
    context.record().temperature = Some(whole.temperature);
    context.give("crystals", crystals, mass);
    let liquor = second_crop(context, liquor)?;
    context.give("liquor", liquor, mass);
    Ok(())
}

/// The liquor after a second crop has been taken from it by cooling it further, where one is.
fn second_crop(context: &mut Context<'_>, liquor: Portion) -> Result<Portion, Box<Diagnostic>> {
    let Some(colder) = context.figure("colder") else { return Ok(liquor) };
    if let Some(first) = context.figure("temperature")
        && colder.middle() >= first.middle()
    {
        return Err(Box::new(
            Diagnostic::new(Code::OutOfRange, colder.span, "the second crop is no colder than the first: nothing more would come")
                .help("cool further for the second crop, or take some of the solvent off and recrystallise the rest"),
        ));
    }
    let mut whole = liquor;
    let mass = whole.mass();
    whole.temperature = colder.middle();
    context.settle(&mut whole);
    let (second, rest) = split(context, &whole);
    context.expect(format!(
        "The second crop is about {}, and less pure than the first: keep it apart.",
        show(whole.solid.values().sum(), Kind::Mass, 2)
    ));
    context.give("second", second, mass);
    Ok(rest)
}

/// Decides how much solvent is enough: what dissolves the crude at the boil, and a tenth more.
fn hot_solvent(context: &mut Context<'_>, crude: &Taken, solvent: &mut Taken) -> Done {
    let Some(material) = solvent.material.clone() else { return context.settled(solvent) };
    let strength = amounts::mass_fraction(context.defs, &material)?;
    let mut make_up: Masses = [(material.sub, strength)].into();
    let medium = material.solution.as_ref().map_or("water", |solution| solution.solvent.as_str());
    if let Some(medium) = context.defs.find(medium).filter(|_| strength < 1.0) {
        *make_up.entry(medium).or_insert(0.0) += 1.0 - strength;
    }
    let main = crude.portion.contents.iter().filter(|(sub, _)| context.defs.substance(**sub).formula.is_some());
    let main = main.max_by(|a, b| a.1.si.total_cmp(&b.1.si)).map(|(sub, mass)| (*sub, *mass));
    let (Some((main, mass)), Some(boiling)) = (main, context.boiling(&make_up)) else { return context.settled(solvent) };
    let substance = context.defs.substance(main);
    let bulk = make_up.iter().max_by(|a, b| a.1.total_cmp(b.1)).map(|(sub, _)| *sub);
    let ideal = bulk.is_some_and(|bulk| mixture::by_ideal_law(substance, context.defs.substance(bulk)));
    if !ideal && bulk.and_then(|bulk| hottest(context.defs, main, bulk)).is_none_or(|t| t < boiling - NEAR) {
        let name = substance.display();
        return Err(Box::new(
            Diagnostic::new(
                Code::NotKnown,
                solvent.amount_span,
                format!(
                    "how much {name} this solvent dissolves at its boil ({:.0} °C) is not known, so nothing says how much is enough",
                    boiling - 273.15
                ),
            )
            .help(format!(
                "give an amount, or declare `solubility in …, … g/L at {:.0} degC` of it, or its heat of `fusion`",
                boiling - 273.15
            )),
        ));
    }
    let left = |solvent_mass: f64| {
        let mut all: Masses = crude.portion.masses();
        for (sub, share) in &make_up {
            *all.entry(*sub).or_insert(0.0) += share * solvent_mass;
        }
        let solid = mixture::solids(&all, boiling, context.defs, &mut mixture::Assumed::new());
        solid.get(&main).copied().unwrap_or(0.0)
    };
    // From a tenth to a thousand times the crude: beyond that it is no solvent.
    let (mut low, mut high) = (0.1 * mass.si, 1e3 * mass.si);
    if left(high) > 0.0 {
        let message = format!("{} does not dissolve in a thousand times its mass of this solvent at the boil", substance.display());
        return Err(Box::new(Diagnostic::new(Code::CannotSize, solvent.amount_span, message).help("take another solvent")));
    }
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if left(middle) > 0.0 { low = middle } else { high = middle }
    }
    let name = substance.display();
    let what = format!("mass of {} that dissolves {name} at the boil, and a tenth more", solvent.name);
    let need = context.eval.ledger.model(models::DISSOLVING, what, Kind::Mass, high * (1.0 + SPARE), &[mass]);
    context.size(solvent, need)?;
    context.expect(format!(
        "At the boil {} of {name} needs about {} of it; a tenth more is taken, since some boils off.",
        show(mass.si, Kind::Mass, 3),
        show(high, Kind::Mass, 2)
    ));
    Ok(())
}

/// Whether the solvent takes the crude up at its boil: judged where its solubility is known as warm as that in all that
/// there is much of, else told by the figures that there are.
fn takes_hot(context: &mut Context<'_>, crude: &Portion, solvent: &Portion, whole: &Portion, boiling: f64) {
    let Some(main) = crystallises(context, whole) else { return };
    let (substance, there) = (context.defs.substance(main), crude.of(main));
    let ideal = solvent.main().is_some_and(|bulk| mixture::by_ideal_law(substance, context.defs.substance(bulk)));
    let warmest: Vec<Option<f64>> = solvent
        .contents
        .iter()
        .filter(|(_, mass)| mass.si > BULK * solvent.mass())
        .map(|(sub, _)| hottest(context.defs, main, *sub))
        .collect();
    if !ideal && warmest.iter().all(Option::is_none) {
        return;
    }
    let solid = mixture::solids(&whole.masses(), boiling, context.defs, &mut mixture::Assumed::new());
    let hot = Portion { temperature: boiling, solid, ..whole.clone() };
    let left = hot.solid.get(&main).copied().unwrap_or(0.0);
    if ideal || warmest.iter().all(|known| known.is_some_and(|known| known > boiling - NEAR)) {
        // A tenth more or less is what such figures are good for.
        if left > SHORT * there {
            lies_undissolved(context, crude, &hot);
        }
    } else if left > SPOKEN * there {
        context.expect(format!(
            "How much {} this solvent takes at its boil is not known: going by figures for the cold it takes {} of the {} at least. Try it with a little before all of it goes in.",
            substance.display(),
            show((there - left).max(0.0), Kind::Mass, 2),
            show(there, Kind::Mass, 2)
        ));
    }
}

/// The warmest temperature at which it is known how much of a substance a liquid takes, K.
fn hottest(defs: &Definitions, of: Sub, liquid: Sub) -> Option<f64> {
    let liquid = defs.substance(liquid);
    let key = (!liquid.is("water")).then_some(liquid.name.as_str());
    defs.substance(of).solubility_in(key).last().map(|(t, _)| *t)
}

/// Notes what of the crude has not dissolved at the boil.
fn lies_undissolved(context: &mut Context<'_>, crude: &Portion, hot: &Portion) {
    let left = crude.contents.iter().filter_map(|(sub, mass)| Some((*sub, *hot.solid.get(sub)?, mass.si)));
    if let Some((sub, left, of)) = left.max_by(|a, b| a.1.total_cmp(&b.1))
        && context.defs.substance(sub).formula.is_some()
    {
        let fact = Fact::Undissolved { span: context.span(), sub, left, of, temperature: hot.temperature };
        context.eval.facts.push(fact);
    }
}

/// Says at what temperature the first crystals can come, where a seed is put in: above it the seed dissolves.
fn seeded(context: &mut Context<'_>, whole: &Portion, boiling: Option<f64>) {
    let (Some(seed), Some(top)) = (context.figure("seed"), boiling) else { return };
    let Some(main) = crystallises(context, whole) else { return };
    let masses = whole.masses();
    let mut assumed = crate::matter::mixture::Assumed::new();
    let solid_at = |t: f64, assumed: &mut crate::matter::mixture::Assumed| {
        crate::matter::mixture::solids(&masses, t, context.defs, assumed).contains_key(&main)
    };
    let mut t = top;
    while t > 253.15 && !solid_at(t, &mut assumed) {
        t -= 1.0;
    }
    let name = context.defs.substance(main).display();
    context.expect(if seed.low > t + 1.0 {
        format!("The solution is saturated with {name} only near {:.0} °C: a seed put in warmer than that dissolves.", t - 273.15)
    } else {
        format!("The solution is saturated with {name} from about {:.0} °C downwards.", t - 273.15)
    });
}

/// The substance of which most lies as a solid at 0 °C: what is to crystallise.
fn crystallises(context: &Context<'_>, whole: &Portion) -> Option<crate::resolve::definitions::Sub> {
    let cold = crate::matter::mixture::solids(&whole.masses(), 273.15, context.defs, &mut crate::matter::mixture::Assumed::new());
    cold.into_iter().max_by(|a, b| a.1.total_cmp(&b.1)).map(|(sub, _)| sub)
}
