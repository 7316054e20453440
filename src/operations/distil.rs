//! Distilling by boiling range, and evaporating.

use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::context::Done;
use crate::evaluate::{Context, Fact};
use crate::kinds::Kind;
use crate::matter::mixture::{self, models};
use crate::matter::portion::Portion;

/// Share of the cut that stays behind as hold-up: what is left in the still has the make-up of what
/// came over last. Our own figure, for 20 to 200 mL.
pub const HOLD_UP: f64 = 0.03;

/// Boiling point above which a water-cooled condenser is not used, K (common rule, 140 to 150 °C by source).
pub const HOT: f64 = 423.15;

/// Forerun, cut and residue by boiling point.
///
/// # Errors
/// When an amount is still undecided.
pub fn distil(context: &mut Context<'_>) -> Done {
    let mixture = context.one("mixture")?;
    context.settled(&mixture)?;
    if let Some(span) = context.not_stated("range") {
        return Err(Box::new(
            Diagnostic::new(Code::CannotSize, span, "what comes over cannot be told without the range in which it is collected")
                .help("give the range; the boiling points of what is there are a help"),
        ));
    }
    let range = context.figure("range");
    let (low, high) = range.map_or((0.0, f64::INFINITY), |figure| (figure.low, figure.top()));
    context.model(models::DISTILLING);
    let whole = mixture.portion.mass();
    let mut forerun = Portion { temperature: mixture::ROOM, ..Portion::default() };
    let mut cut = Portion { temperature: mixture::ROOM, ..Portion::default() };
    let mut residue = Portion { temperature: mixture::ROOM, ..Portion::default() };
    let mut nearest: Option<(crate::resolve::definitions::Sub, f64)> = None;
    for (sub, mass) in &mixture.portion.contents {
        let substance = context.defs.substance(*sub);
        let boils = mixture::vapour_law(substance).and(substance.boils.as_ref()).map(|boils| boils.value);
        if boils.is_none() && mass.si > 0.02 * whole && !substance.is_ionic() {
            let name = substance.display();
            context.eval.assumed.insert(format!("The boiling point of {name} is not known; it is taken to stay in the residue."));
        }
        let name = substance.display();
        let (target, held) = match boils {
            // What is left of water comes over first, with whatever boils with it.
            Some(_) if substance.is("water") => (Some(&mut forerun), 0.0),
            Some(t) if t < low - 0.5 => (Some(&mut forerun), 0.0),
            Some(t) if t <= high + 0.5 => (Some(&mut cut), HOLD_UP),
            _ => (None, 0.0),
        };
        if let Some(t) = boils
            && mass.si > 0.05 * whole
            && nearest.is_none_or(|(_, known)| (t - low).abs() < (known - low).abs())
        {
            nearest = Some((*sub, t));
        }
        match target {
            Some(target) => {
                let over = context.eval.ledger.model(
                    models::DISTILLING,
                    format!("{name} that comes over"),
                    Kind::Mass,
                    mass.si * (1.0 - held),
                    &[*mass],
                );
                let stays = context.eval.ledger.minus(format!("{name} held up"), Kind::Mass, *mass, over);
                target.contents.insert(*sub, over);
                if stays.si > 0.0 {
                    residue.contents.insert(*sub, stays);
                }
            }
            None => {
                residue.contents.insert(*sub, *mass);
            }
        }
    }
    if let Some(figure) = range
        && cut.mass() < 0.005 * whole
    {
        let fact = Fact::NothingBoils { span: figure.span, range: (low, high), nearest };
        context.eval.facts.push(fact);
        // What is kept and thrown away further on would only follow from this.
        context.eval.stopped = true;
        return Ok(());
    }
    if cut.contents.keys().any(|sub| context.defs.substance(*sub).boils.as_ref().is_some_and(|boils| boils.value > HOT)) {
        context.expect(
            "This boils above 150 °C: let the vapour condense in an air condenser; cold water in a hot jacket can crack it.".to_owned(),
        );
    }
    if let Some(boiling) = mixture::boiling(&mixture.portion.masses(), context.defs) {
        context.record().temperature = range.map(|figure| figure.middle()).or(Some(boiling));
    }
    for portion in [&mut forerun, &mut cut, &mut residue] {
        context.settle(portion);
    }
    context.give("forerun", forerun, whole);
    context.give("cut", cut, whole);
    context.give("residue", residue, whole);
    Ok(())
}

/// Takes off what boils below 130 °C at 1 atm, as on a rotary evaporator: distillate, residue.
///
/// # Errors
/// When an amount is still undecided.
pub fn evaporate(context: &mut Context<'_>) -> Done {
    let mixture = context.one("mixture")?;
    context.settled(&mixture)?;
    context.model("what boils below 130 °C at 1 atm is taken off, all but 1 %");
    let whole = mixture.portion.mass();
    let mut distillate = Portion { temperature: mixture::ROOM, ..Portion::default() };
    let mut residue = Portion { temperature: mixture::ROOM, ..Portion::default() };
    for (sub, mass) in &mixture.portion.contents {
        let substance = context.defs.substance(*sub);
        let boils = mixture::vapour_law(substance).and(substance.boils.as_ref()).map(|boils| boils.value);
        let share = if boils.is_some_and(|t| t < 403.15) { 0.99 } else { 0.0 };
        let name = substance.display();
        if share > 0.0 {
            let over = context.eval.ledger.model("evaporation", format!("{name} taken off"), Kind::Mass, mass.si * share, &[*mass]);
            let stays = context.eval.ledger.minus(format!("{name} that stays"), Kind::Mass, *mass, over);
            distillate.contents.insert(*sub, over);
            residue.contents.insert(*sub, stays);
        } else {
            residue.contents.insert(*sub, *mass);
        }
    }
    context.settle(&mut distillate);
    context.settle(&mut residue);
    context.give("distillate", distillate, whole);
    context.give("residue", residue, whole);
    Ok(())
}
