//! Gas: led away into a liquid that takes it up, and passed into a portion by weight.

use super::{keep, react};
use crate::chemistry::gas;
use crate::evaluate::context::Done;
use crate::evaluate::{Context, Fact, amounts};
use crate::kinds::{Kind, show};
use crate::matter::linear::{Material, Procedure, Strength};
use crate::matter::mixture::models;
use crate::matter::portion::Portion;
use crate::resolve::amount::{Amount, Expr};
use crate::resolve::cursor::Name;
use crate::resolve::definitions::{Definitions, Sub};

/// m³ of so much of a gas, kg, at the temperature and the pressure of the room.
#[must_use]
pub fn volume(procedure: &Procedure, defs: &Definitions, sub: Sub, mass: f64) -> f64 {
    let moles = defs.substance(sub).molar_mass().map_or(0.0, |molar| mass / molar);
    gas::volume(moles, defs.room_temperature(), procedure.about.room())
}

fn litres(context: &Context<'_>, sub: Sub, mass: f64) -> String {
    show(volume(context.procedure, context.defs, sub, mass), Kind::Volume, 2)
}

/// `(at 20 °C)`: the temperature at which volumes of gas are told.
#[must_use]
pub fn at_room(defs: &Definitions) -> String {
    format!("(at {})", show(defs.room_temperature(), Kind::Temperature, 2))
}

/// Whether what is left keeps carbon dioxide back: carbonate takes it up as bicarbonate.
#[must_use]
pub fn takes_up(defs: &Definitions, left: &Portion, gas: &str) -> bool {
    let carbonate = |sub: &Sub| {
        let substance = defs.substance(*sub);
        substance.name.ends_with("carbonate") && substance.takes_acid.is_some_and(|protons| protons > 1.5) && left.of(*sub) > 0.0
    };
    gas == "carbon dioxide" && super::acid_excess(defs, left) < 0.0 && left.contents.keys().any(carbonate)
}

/// `, 0.24 L/min while it is added`: how fast so much gas comes off, m³, where an addition takes a time; else nothing.
#[must_use]
pub fn in_time(context: &Context<'_>, volume: f64) -> String {
    let record = context.eval.records.get(&context.number);
    let time = record.and_then(|record| record.addition.as_ref()).and_then(|addition| addition.time);
    time.map_or_else(String::new, |time| format!(", {} while it is added", show(volume / time, Kind::FlowRate, 2)))
}

/// `, hardly any of it before half is in …`: where acid goes in time into carbonate, which becomes bicarbonate first; else
/// nothing.
#[must_use]
pub fn late(context: &Context<'_>, gas: &str) -> &'static str {
    let place = match context.statement.operation.effects.first().map(|call| call.effect.as_str()) {
        Some("pour") => 0,
        Some("quench") => 1,
        _ => return "",
    };
    let Some(record) = context.eval.records.get(&context.number) else { return "" };
    let timed = record.addition.as_ref().is_some_and(|addition| addition.time.is_some());
    // What lies undissolved gives its gas at once.
    let into_carbonate = record.inputs.get(place).is_some_and(|(_, standing)| {
        let mut dissolved = standing.clone();
        dissolved.contents.retain(|sub, mass| standing.solid.get(sub).is_none_or(|solid| *solid < 0.5 * mass.si));
        takes_up(context.defs, &dissolved, gas)
    });
    if timed && into_carbonate { ", hardly any of it before half is in, and then up to twice as fast" } else { "" }
}

/// Leads a gas away into an absorber, where the statement has one: all of it that is in the portion, or
/// came off in this statement, goes over.
///
/// # Errors
/// When an amount cannot be worked out.
pub fn absorb(context: &mut Context<'_>, portion: &mut Portion) -> Done {
    let Some((sub, _)) = context.substance("gas") else { return Ok(()) };
    let Some(absorber) = context.take("absorber", 1)?.into_iter().next() else { return Ok(()) };
    context.settled(&absorber)?;
    context.model(models::ABSORBING);
    let mut arriving = Portion { temperature: absorber.portion.temperature, ..Portion::default() };
    let here = portion.contents.remove(&sub);
    let off = context.record().evolved.remove(&sub);
    for mass in here.into_iter().chain(off) {
        arriving.add(sub, mass, &mut context.eval.ledger, "gas that goes over");
    }
    let mass = arriving.mass();
    let takes = -super::acid_excess(context.defs, &absorber.portion);
    let brings = super::acid_excess(context.defs, &arriving);
    let volume = volume(context.procedure, context.defs, sub, mass);
    let name = context.defs.substance(sub).display();
    if mass > 0.0 {
        context.model(models::GAS);
        let (rate, at) = (in_time(context, volume), at_room(context.defs));
        let volume = show(volume, Kind::Volume, 2);
        context.expect(format!("About {volume} of {name} {at} goes over into the absorber{rate}."));
    } else {
        context.expect(format!("No {name} is predicted to come off."));
    }
    let fact = Fact::Absorbed { span: absorber.amount_span, gas: sub, mass, brings, takes };
    context.eval.facts.push(fact);
    let whole = mass + absorber.portion.mass();
    let mut spent = absorber.portion.clone();
    spent.join(&arriving, &mut context.eval.ledger, context.defs, "the absorber");
    react::contact(context, &mut spent)?;
    context.settle(&mut spent);
    context.give("spent", spent, whole);
    Ok(())
}

/// A gas into a portion until it has gained a stated weight.
///
/// # Errors
/// When the amount cannot be worked out.
pub fn pass(context: &mut Context<'_>) -> Done {
    let pot = context.one("pot")?;
    context.settled(&pot)?;
    let (Some((sub, span)), Some(gain)) = (context.substance("gas"), context.figure("gain")) else { return Ok(()) };
    let text = context.defs.substance(sub).name.clone();
    let amount =
        Amount { expr: Some(Expr::Figure(gain)), enough: false, not_stated: false, fixed: false, beside: Vec::new(), span: gain.span };
    let material = Material {
        sub,
        written: Name { text, span },
        solution: None,
        grades: Vec::new(),
        strength: Strength::Pure,
        of_stock: false,
        amount,
        at: None,
        refs: Default::default(),
        span,
    };
    let name = context.defs.substance(sub).display();
    context.model(models::GAS);
    let dispensed = amounts::dispense(context.eval, context.procedure, context.defs, &material, &name, false)?;
    let mass = dispensed.mass.si;
    let (volume, at) = (litres(context, sub, mass), show(context.defs.room_temperature(), Kind::Temperature, 2));
    let mut whole = pot.portion.clone();
    whole.join(&dispensed.portion, &mut context.eval.ledger, context.defs, &pot.name);
    whole.temperature = pot.portion.temperature;
    context.eval.passed.insert((context.number, "gas".to_owned()), material);
    context.eval.materials.insert((context.number, "gas".to_owned()), dispensed);
    context.expect(format!(
        "About {} of {name}, {volume} at {at}: weigh the vessel before, and again as it goes on.",
        show(mass, Kind::Mass, 3)
    ));
    let reactions = context.reactions("reactions");
    react::run_all(context, &mut whole, &reactions)?;
    react::contact(context, &mut whole)?;
    keep::keep(context, &mut whole)?;
    context.settle(&mut whole);
    context.put(&pot, whole);
    Ok(())
}
