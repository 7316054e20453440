//! Distilling with steam.

use crate::evaluate::context::Done;
use crate::evaluate::{Context, Fact};
use crate::kinds::{Kind, show, significant};
use crate::matter::boiling;
use crate::matter::mixture::{self, models};
use crate::matter::portion::{Masses, Portion};
use crate::matter::system::Liquids;
use crate::resolve::definitions::{Definitions, Sub};

use super::distil::pressure;
use crate::chemistry::distillation::Boiler;

/// Distils with steam: what water does not mix with comes over below the boiling point of water, each in
/// the ratio of the pressures. Worked out in small steps, while the make-up of the pot changes.
///
/// # Errors
/// When an amount is still undecided or cannot be worked out.
pub fn steam(context: &mut Context<'_>) -> Done {
    let mixture = context.one("mixture")?;
    context.settled(&mixture)?;
    let mut water = context.one("water")?;
    let Some(water_sub) = context.defs.find("water") else { return Ok(()) };
    super::distil::within(context)?;
    let p = pressure(context);
    context.model(models::STEAM);
    super::draw::told(context, &mixture.portion);
    context.eval.assumed.insert("Steam that condenses in the pot while it warms up is not counted.".to_owned());
    let mut oils = Masses::new();
    for (sub, mass) in &mixture.portion.contents {
        let substance = context.defs.substance(*sub);
        let law = mixture::vapour_law(substance);
        let goes = law.is_some_and(|law| law.pressure(373.15) > GOES_WITH_STEAM) && !substance.is_ionic() && !substance.is_gas();
        if goes && *sub != water_sub {
            oils.insert(*sub, mass.si);
        }
    }
    let nothing = oils.values().sum::<f64>() < 1e-4 * mixture.portion.mass();
    if nothing {
        let fact = Fact::NothingBoils { span: context.span(), range: (0.0, 373.15), nearest: None, shows: None };
        context.eval.facts.push(fact);
        context.eval.stopped = true;
        return Ok(());
    }
    let all_wet: Masses = oils.iter().map(|(sub, mass)| (*sub, *mass)).chain([(water_sub, oils.values().sum())]).collect();
    let liquids = Liquids::of(&all_wet, context.defs);
    context.eval.assumed.extend(liquids.said.clone());
    context.model(liquids.model.what);
    let liquids = liquids.refusal.is_none().then_some(liquids);
    let boiler = liquids.as_ref().map(|liquids| (liquids, Boiler::new(&liquids.system, p)));
    let pot = Pot { defs: context.defs, water: water_sub, p, boiler };
    let at_first = pot.over(&oils).map(|(t, masses)| (t, masses.get(&water_sub).copied().unwrap_or(0.0)));
    let (needed, all_gone) = carried(&pot, &oils, f64::INFINITY);
    let plants: f64 =
        crate::matter::plant::plants(&mixture.portion.masses(), context.defs).iter().map(|(.., taken)| taken * FROM_PLANTS).sum();
    if water.enough.is_some() {
        let parts: Vec<_> = mixture.portion.contents.values().copied().collect();
        let mass = context.eval.ledger.model(models::STEAM, "water that carries it over", Kind::Mass, needed.max(plants), &parts);
        context.size(&mut water, mass)?;
    }
    let steam = water.portion.of(water_sub);
    let gone = if steam >= needed { all_gone } else { carried(&pot, &oils, steam).1 };
    let (all, came): (f64, f64) = (oils.values().sum(), gone.values().sum());
    let fact = Fact::Steam { span: water.amount_span, water: steam, needed, share: came / all.max(1e-30) };
    context.eval.facts.push(fact);
    // How much water each gram needs is as good as its vapour pressure, however little of it is in the vapour.
    super::beyond::look_at(context, &gone, at_first.as_ref().map_or(373.15, |(t, _)| *t));
    let whole = mixture.portion.mass() + water.portion.mass();
    let mut distillate = Portion { temperature: mixture::ROOM, ..Portion::default() };
    let mut residue = Portion { temperature: mixture::ROOM, ..mixture.portion.clone() };
    for (sub, mass) in gone {
        let Some(there) = residue.contents.get(&sub).copied() else { continue };
        let name = context.defs.substance(sub).display();
        let over = context.eval.ledger.model(models::STEAM, format!("{name} carried over"), Kind::Mass, mass.min(there.si), &[there]);
        let left = context.eval.ledger.minus(format!("{name} that stays"), Kind::Mass, there, over);
        distillate.contents.insert(sub, over);
        if left.si > 1e-12 * there.si {
            residue.contents.insert(sub, left);
        } else {
            residue.contents.remove(&sub);
        }
    }
    distillate.join(&water.portion, &mut context.eval.ledger, context.defs, "the distillate");
    distillate.temperature = mixture::ROOM;
    if plants > needed {
        context.expect(format!(
            "Oil that lay free would come over with {} of water; out of a plant it comes slowly, and about {} is collected.",
            show(needed, Kind::Mass, 2),
            show(plants, Kind::Mass, 2)
        ));
    }
    if let Some((temperature, of_water)) = at_first {
        let ratio = of_water / (1.0 - of_water).max(1e-6);
        context.record().temperature = Some(temperature);
        context.expect(format!(
            "It boils at about {}, below either liquid alone; at first each gram comes over with about {} g of water.",
            show(temperature, Kind::Temperature, 3),
            significant(ratio, 2)
        ));
    }
    context.expect(format!(
        "About {} of distillate in all, in two layers where the oil does not dissolve; go on until it runs clear.",
        show(steam / 998.0 + came / 900.0, Kind::Volume, 2)
    ));
    context.settle(&mut distillate);
    context.settle(&mut residue);
    context.give("distillate", distillate, whole);
    context.give("residue", residue, whole);
    Ok(())
}

/// Vapour pressure at 100 °C from which a substance is counted as going over with steam, Pa. Our own figure:
/// common rules say 5 mmHg, and the oils of cloves and cinnamon, at 3 to 4 mmHg, are taken over all the same.
const GOES_WITH_STEAM: f64 = 250.0;

/// kg of steam for a kg of plant: out of a plant oil comes more slowly than its pressure would have it. Our own
/// figure; teaching manuals collect as much distillate as they take of plant, or somewhat less (from memory).
const FROM_PLANTS: f64 = 1.0;

/// Share of what steam carries that is taken over before one stops. Our own figure.
const CARRIED: f64 = 0.98;

/// Steps in which the oils are carried over.
const STEPS: u32 = 24;

/// kg of water that the pot holds beside each kg of oil. Our own figure: steam condenses until all of it is hot.
const BESIDE: f64 = 1.0;

/// Oils over boiling water.
struct Pot<'a> {
    defs: &'a Definitions,
    water: Sub,
    p: f64,
    boiler: Option<(&'a Liquids, Boiler<'a>)>,
}

impl Pot<'_> {
    /// Boiling temperature, and kg of each thing in a kg of what comes over.
    fn over(&self, oils: &Masses) -> Option<(f64, Masses)> {
        let wet: Masses = [(self.water, BESIDE * oils.values().sum::<f64>())].into();
        let (t, mut masses) = match &self.boiler {
            Some((liquids, boiler)) => {
                let all: Masses = oils.iter().chain(&wet).map(|(sub, mass)| (*sub, *mass)).collect();
                let (t, y) = boiler.boil(&liquids.moles(&all), Vec::new()).ok()?;
                (t, liquids.masses(&y))
            }
            None => {
                let boil = boiling::of_layers(&[oils, &wet], self.defs, self.p)?;
                let molar = |sub: &Sub| self.defs.substance(*sub).molar_mass().unwrap_or(0.0);
                (boil.temperature, boil.vapour.iter().map(|(sub, y)| (*sub, y * molar(sub))).collect())
            }
        };
        let whole: f64 = masses.values().sum();
        masses.values_mut().for_each(|mass| *mass /= whole.max(1e-30));
        Some((t, masses))
    }

    /// kg of each oil, and of water, to the kg of oil that comes over.
    fn rates(&self, oils: &Masses) -> Option<(f64, Masses)> {
        let (_, mut masses) = self.over(oils)?;
        let of_water = masses.remove(&self.water).unwrap_or(0.0);
        let of_oil: f64 = masses.values().sum();
        masses.values_mut().for_each(|mass| *mass /= of_oil);
        (of_oil > 0.0).then_some((of_water / of_oil, masses))
    }
}

/// `left` after so much of what comes over has gone.
fn less(left: &Masses, rates: &Masses, taken: f64) -> Masses {
    left.iter().map(|(sub, mass)| (*sub, (mass - taken * rates.get(sub).copied().unwrap_or(0.0)).max(0.0))).collect()
}

/// kg of water used, and kg of each oil that come over, until all but a little has or the water is gone. In steps of
/// oil at the rates in their middle.
fn carried(pot: &Pot<'_>, oils: &Masses, most: f64) -> (f64, Masses) {
    let all: f64 = oils.values().sum();
    let mut left = oils.clone();
    let mut used = 0.0;
    let step = CARRIED * all / f64::from(STEPS);
    for _ in 0..STEPS {
        let rates = pot.rates(&left).and_then(|(_, rates)| pot.rates(&less(&left, &rates, 0.5 * step)));
        let Some((water, rates)) = rates else { break };
        let part = ((most - used) / (step * water).max(1e-30)).clamp(0.0, 1.0);
        used += part * step * water;
        left = less(&left, &rates, part * step);
        if part < 1.0 {
            break;
        }
    }
    let gone = oils.iter().map(|(sub, mass)| (*sub, mass - left.get(sub).copied().unwrap_or(0.0)));
    (used, gone.filter(|(_, mass)| *mass > 0.0).collect())
}
