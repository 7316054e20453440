//! Solids: filtering, rinsing, crystallising.

use super::react;
use crate::evaluate::context::Done;
use crate::evaluate::{Context, Fact};
use crate::kinds::Kind;
use crate::matter::ledger::Num;
use crate::matter::mixture::models;
use crate::matter::portion::Portion;

/// Mass of liquor that stays with a gram of solid on a filter sucked dry. Our own figure.
pub const CLINGS: f64 = 0.5;

/// Parts solid from liquid: cake, filtrate.
fn split(context: &mut Context<'_>, whole: &Portion) -> (Portion, Portion) {
    context.model(models::FILTERING);
    let solid_mass: f64 = whole.solid.values().sum();
    let liquid_mass = (whole.mass() - solid_mass).max(0.0);
    let share = if liquid_mass > 0.0 { (CLINGS * solid_mass / liquid_mass).min(1.0) } else { 0.0 };
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

/// Filters.
///
/// # Errors
/// When an amount is still undecided.
pub fn strain(context: &mut Context<'_>) -> Done {
    let mixture = context.one("mixture")?;
    context.settled(&mixture)?;
    let mut whole = mixture.portion.clone();
    context.settle(&mut whole);
    let mass = whole.mass();
    let (cake, filtrate) = split(context, &whole);
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
    let times = if context.figure("bound").is_some() { context.times("bound") } else { context.times("portions") };
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
    let solvent = context.one("solvent")?;
    context.settled(&solvent)?;
    let mut whole = solid.portion.clone();
    whole.join(&solvent.portion, &mut context.eval.ledger, context.defs, &solid.name);
    let boiling = context.boiling(&solvent.portion.masses());
    if let Some(boiling) = boiling {
        context.expect(format!("The solvent boils near {:.0} °C: add the last of it only as far as the solid needs.", boiling - 273.15));
    }
    if let Some(charcoal) = context.take("charcoal", 1)?.into_iter().next() {
        context.settled(&charcoal)?;
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
    seeded(context, &whole, boiling);
    if let Some(cold) = context.figure("temperature") {
        whole.temperature = cold.middle();
    }
    context.model(models::DISSOLVING);
    context.settle(&mut whole);
    let main = whole.solid.iter().max_by(|a, b| a.1.total_cmp(b.1)).map(|(sub, mass)| (*sub, *mass));
    if let Some((sub, mass)) = main {
        let there: Option<Num> = whole.contents.get(&sub).copied();
        if let Some(there) = there {
            let lost = there.si - mass;
            context.expect(format!(
                "About {} g of {} stays in the liquor at {:.0} °C.",
                crate::kinds::significant(lost * 1e3, 2),
                context.defs.substance(sub).display(),
                whole.temperature - 273.15
            ));
        }
    }
    let mass = whole.mass();
    let (crystals, liquor) = split(context, &whole);
    context.record().temperature = Some(whole.temperature);
    context.give("crystals", crystals, mass);
    context.give("liquor", liquor, mass);
    Ok(())
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
