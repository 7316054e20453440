//! Distilling by boiling range, at any pressure, with steam; and evaporating.

use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::context::Done;
use crate::evaluate::{Context, Fact};
use crate::kinds::{Kind, show, significant};
use crate::matter::boiling::{self, ATMOSPHERE};
use crate::matter::mixture::{self, models};
use crate::matter::portion::{Masses, Portion};
use crate::resolve::definitions::Sub;
use crate::resolve::quantity::Figure;

/// Share of the cut that stays behind as hold-up: what is left in the still has the make-up of what
/// came over last. Our own figure, for 20 to 200 mL.
pub const HOLD_UP: f64 = 0.03;

/// Boiling point above which a water-cooled condenser is not used, K (common rule, 140 to 150 °C by source).
pub const HOT: f64 = 423.15;

/// How far the estimated boiling point at reduced pressure may lie from the true one, K. Our own figure.
const ESTIMATE: f64 = 12.0;

/// Height of a column with indentations that does the work of one theoretical plate, m. Our own figure;
/// such columns lie between 7 and 12 cm.
const PLATE: f64 = 0.1;

/// A condenser that serves only above this is cooled by air, K. Our own figure, 60 °C.
const ROOM_COOLS: f64 = 333.15;

/// How far below its range a condenser cooled by air still serves, K. Our own figure.
const BELOW: f64 = 20.0;

/// The boiling point above which a condenser is not cooled with water, K, by the rule in force.
#[must_use]
pub fn hot(defs: &crate::resolve::definitions::Definitions) -> f64 {
    defs.rule("water_condenser").map_or(HOT, |rule| rule.value())
}

/// The pressure of the work, Pa. Where none is stated the room's is taken as one atmosphere, and the
/// sheet says so.
fn pressure(context: &mut Context<'_>) -> f64 {
    match context.figure("pressure") {
        Some(figure) => figure.middle(),
        // The sheet says it once for the whole procedure.
        None if context.procedure.about.room_pressure.is_some() => context.room(),
        None => {
            context.eval.assumed.insert(
                "Boiling temperatures hold at a room pressure of 101.3 kPa (760 mmHg); for each kPa less they lie 0.3 to 0.4 K lower."
                    .to_owned(),
            );
            ATMOSPHERE
        }
    }
}

/// Forerun, cuts and residue by boiling point.
///
/// # Errors
/// When an amount is still undecided, or the ranges do not go with the cuts.
pub fn distil(context: &mut Context<'_>) -> Done {
    let mixture = context.one("mixture")?;
    context.settled(&mixture)?;
    let mut still = mixture.portion.clone();
    if let Some(fresh) = context.take("fresh", 1)?.into_iter().next() {
        context.settled(&fresh)?;
        still.join(&fresh.portion, &mut context.eval.ledger, context.defs, &mixture.name);
    }
    let reactions = context.reactions("reactions");
    super::react::run_all(context, &mut still, &reactions, None)?;
    let p = pressure(context);
    let ranges = context.figures("range");
    let cut_names = context.outcomes("cut");
    check_ranges(context, &ranges, cut_names.len())?;
    let (low, top) = match (ranges.first(), ranges.last()) {
        (Some(first), Some(last)) => (first.low, last.top()),
        _ => (0.0, f64::INFINITY),
    };
    context.model(models::DISTILLING);
    let whole = still.mass();
    let mut forerun = Portion { temperature: mixture::ROOM, ..Portion::default() };
    let mut cuts: Vec<Portion> = ranges.iter().map(|_| Portion { temperature: mixture::ROOM, ..Portion::default() }).collect();
    if cuts.is_empty() {
        cuts.push(Portion { temperature: mixture::ROOM, ..Portion::default() });
    }
    let mut residue = Portion { temperature: mixture::ROOM, ..Portion::default() };
    let mut nearest: Option<(Sub, f64)> = None;
    let mut places: Vec<(Sub, f64, i64)> = Vec::new();
    // The cut within whose range water and a liquid that it does not mix with boil together.
    let together = boiling::boils(&still.masses(), context.defs, p)
        .filter(|boil| boil.two_liquids)
        .and_then(|boil| ranges.iter().position(|range| (range.low - 0.5..=range.top() + 0.5).contains(&boil.temperature)));
    for (sub, mass) in &still.contents {
        let substance = context.defs.substance(*sub);
        let name = substance.display();
        let boils = boiling::boiling_point(substance, p);
        if boils.is_none() && mass.si > 0.02 * whole && !substance.is_ionic() {
            context.eval.assumed.insert(format!("The boiling point of {name} is not known; it is taken to stay in the residue."));
        }
        if let (Some(t), Some(law)) = (boils, mixture::vapour_law(substance))
            && (p - ATMOSPHERE).abs() > 1.0
            && mass.si > 0.02 * whole
            && !law.in_range(t)
        {
            context.eval.assumed.insert(format!("The vapour pressure of {name} is carried on beyond the range of its equation."));
        }
        // What makes up most of the pot, and whose boiling point at this pressure is only estimated, is
        // what the author's range is meant for.
        let estimated = (p - ATMOSPHERE).abs() > 1.0 && substance.vapour.is_none();
        let slack = if estimated && mass.si > 0.5 * whole { ESTIMATE } else { 0.5 };
        if let Some(t) = boils.filter(|_| estimated && mass.si > 0.02 * whole) {
            context.eval.assumed.insert(format!(
                "The vapour pressure of {name} is not known; that it boils at about {} at {} is estimated from its boiling point, to some ten kelvin.",
                celsius(t),
                kilopascals(p)
            ));
        }
        // 0 is the forerun, 1 and on the cuts.
        let place = match boils {
            // What is left of water comes over first, with whatever boils with it.
            Some(_) if substance.is("water") && low > 0.0 => Some(together.map_or(0, |at| at + 1)),
            Some(t) if t < low - slack => Some(0),
            Some(t) if ranges.is_empty() || t <= top + slack => {
                // What comes over between two cuts goes with the forerun.
                Some(if ranges.is_empty() {
                    1
                } else {
                    ranges.iter().position(|range| t >= range.low - slack && t <= range.top() + slack).map_or(0, |at| at + 1)
                })
            }
            _ => None,
        };
        if let Some(t) = boils
            && mass.si > 0.05 * whole
            && nearest.is_none_or(|(_, known)| (t - low).abs() < (known - low).abs())
        {
            nearest = Some((*sub, t));
        }
        if let Some(t) = boils
            && mass.si > 0.02 * whole
        {
            places.push((*sub, t, place.map_or(-1, |at| at as i64)));
        }
        let target = match place {
            Some(0) => Some((&mut forerun, 0.0)),
            Some(at) => cuts.get_mut(at - 1).map(|cut| (cut, HOLD_UP)),
            None => None,
        };
        match target {
            Some((target, held)) => {
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
    for (figure, cut) in ranges.iter().zip(&cuts) {
        if cut.mass() < 0.005 * whole {
            let fact = Fact::NothingBoils { span: figure.span, range: (figure.low, figure.top()), nearest };
            context.eval.facts.push(fact);
            // What is kept and thrown away further on would only follow from this.
            context.eval.stopped = true;
            return Ok(());
        }
    }
    if let (Some(bath), Some(last)) = (context.figure("bath"), ranges.last()) {
        let fact = Fact::Bath { span: bath.span, bath: bath.top(), top: last.top() };
        context.eval.facts.push(fact);
    }
    let hottest = places.iter().filter(|(_, _, place)| *place >= 1).map(|(_, t, _)| *t).fold(0.0, f64::max);
    let first = places.iter().filter(|(_, _, place)| *place == 0).map(|(_, t, _)| *t).fold(f64::INFINITY, f64::min);
    condensing(context, hottest, first);
    separating(context, &places);
    if let Some(boil) = boiling::boils(&still.masses(), context.defs, p) {
        let middle = ranges.first().map(|figure| figure.middle());
        context.record().temperature = middle.or(Some(boil.temperature));
    }
    if (p - ATMOSPHERE).abs() > 1.0 {
        let below: Vec<String> = places
            .iter()
            .filter(|(_, _, place)| *place >= 1)
            .filter_map(|(sub, t, _)| {
                let substance = context.defs.substance(*sub);
                let normal = substance.boils.as_ref()?.value;
                Some(format!(
                    "{} boils near {} at {} (at one atmosphere {})",
                    substance.display(),
                    celsius(*t),
                    kilopascals(p),
                    celsius(normal)
                ))
            })
            .collect();
        for sentence in below {
            context.expect(format!("{sentence}."));
        }
        if p < 0.5 * ATMOSPHERE {
            context.expect("Use sound, round glass behind a shield; let the air in only when the flask has cooled.".to_owned());
        }
    }
    context.settle(&mut forerun);
    context.settle(&mut residue);
    context.give("forerun", forerun, whole);
    let mut names = cut_names.into_iter();
    for mut cut in cuts {
        context.settle(&mut cut);
        let (role, binding) = names.next().unwrap_or_else(|| ("cut".to_owned(), None));
        context.give_to(role, binding, cut, whole);
    }
    context.give("residue", residue, whole);
    Ok(())
}

fn celsius(t: f64) -> String {
    format!("{:.0} °C", t - 273.15)
}

fn kilopascals(p: f64) -> String {
    format!("{} kPa ({} mmHg)", significant(p / 1e3, 3), significant(p / 133.322, 3))
}

/// Ranges rise, and there is a cut for each.
fn check_ranges(context: &Context<'_>, ranges: &[Figure], cuts: usize) -> Done {
    for pair in ranges.windows(2) {
        if let [one, next] = pair
            && next.low < one.top()
        {
            return Err(Box::new(
                Diagnostic::new(Code::OutOfRange, next.span, "this cut begins before the one before it ends")
                    .help("write the ranges in the order in which they come over"),
            ));
        }
    }
    if cuts > ranges.len().max(1) {
        let at = ranges.last().map_or(context.span(), |range| range.span);
        return Err(Box::new(
            Diagnostic::new(Code::SyntaxExpected, at, format!("{cuts} cuts are named, and {} to be collected", counted(ranges.len())))
                .help("give a range for each cut: `collecting 78..80 degC, 100..104 degC -> cut a, cut b`"),
        ));
    }
    Ok(())
}

fn counted(ranges: usize) -> String {
    if ranges == 1 { "one range is".to_owned() } else { format!("{ranges} ranges are") }
}

/// Which condenser suits what comes over, of which the first boils at `first`.
fn condensing(context: &mut Context<'_>, hottest: f64, first: f64) {
    let range = context.apparatus("condenser").and_then(|(apparatus, _, _)| apparatus.range.as_ref().map(|range| range.value));
    // What the named condenser is for, and a little below that it still serves.
    let warmest = range.is_some_and(|range| hottest > 0.0 && range.0 > ROOM_COOLS && hottest < range.0 - BELOW);
    if warmest {
        context.expect(format!(
            "What boils at {} hardly condenses in air: cool the receiver in ice, or take a condenser with water.",
            celsius(hottest)
        ));
    } else if hottest > hot(context.defs) && range.is_none_or(|range| range.1 <= hot(context.defs)) {
        context.expect(
            "This boils above 150 °C: let the vapour condense in an air condenser; cold water in a hot jacket can crack it.".to_owned(),
        );
        if first < hot(context.defs) - BELOW {
            context.record().cooled_first = true;
            context.expect(format!(
                "The first runnings boil from about {} and do not condense in air: take them over with a water condenser, let the flask cool, and change it for the air condenser.",
                celsius(first)
            ));
        }
    }
}

/// Whether the still has the plates that a clean cut would need, by Fenske's equation at total reflux for
/// 95 % on either side. Only the nearest pair is named.
fn separating(context: &mut Context<'_>, places: &[(Sub, f64, i64)]) {
    let column = context.figure("plates").map(|plates| plates.low).or_else(|| context.figure("height").map(|height| height.low / PLATE));
    let there = 1.0 + column.unwrap_or(0.0);
    let mut worst: Option<(f64, Sub, Sub)> = None;
    for (sub, t, place) in places.iter().filter(|(.., place)| *place >= 1) {
        for (other, t_other, _) in places.iter().filter(|(.., other)| other != place) {
            let (a, b) = (context.defs.substance(*sub), context.defs.substance(*other));
            let (Some(law_a), Some(law_b)) = (mixture::vapour_law(a), mixture::vapour_law(b)) else { continue };
            if a.is("water") || b.is("water") {
                continue;
            }
            let middle = 0.5 * (t + t_other);
            let ratio = (law_a.pressure(middle) / law_b.pressure(middle)).ln().abs();
            let need = 2.0 * 19_f64.ln() / ratio.max(1e-3);
            if worst.is_none_or(|(most, ..)| need > most) {
                worst = Some((need, *sub, *other));
            }
        }
    }
    // A single distillation parts what needs hardly more; our own margins.
    if let Some((need, sub, other)) = worst
        && need > (1.5 * there).max(4.0)
    {
        let (a, b) = (context.defs.substance(sub).display(), context.defs.substance(other).display());
        let is = if column.is_some() { format!("about {there:.0}") } else { "hardly more than one".to_owned() };
        let most = if need > 50.0 { "more than 50".to_owned() } else { format!("about {need:.0}") };
        context.expect(format!(
            "To keep {b} out of the {a} a still needs {most} theoretical plates; this one has {is}: the cut will not be as sharp as these figures."
        ));
    }
}

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
        let fact = Fact::NothingBoils { span: context.span(), range: (0.0, 373.15), nearest: None };
        context.eval.facts.push(fact);
        context.eval.stopped = true;
        return Ok(());
    }
    let at_first = over(&oils, water_sub, context, p);
    let (needed, _) = carried(&oils, water_sub, context, p, f64::INFINITY);
    let plants: f64 =
        crate::matter::plant::plants(&mixture.portion.masses(), context.defs).iter().map(|(.., taken)| taken * FROM_PLANTS).sum();
    if water.enough.is_some() {
        let parts: Vec<_> = mixture.portion.contents.values().copied().collect();
        let mass = context.eval.ledger.model(models::STEAM, "water that carries it over", Kind::Mass, needed.max(plants), &parts);
        context.size(&mut water, mass)?;
    }
    let steam = water.portion.of(water_sub);
    let (_, gone) = carried(&oils, water_sub, context, p, steam);
    let (all, came): (f64, f64) = (oils.values().sum(), gone.values().sum());
    let fact = Fact::Steam { span: water.amount_span, water: steam, needed, share: came / all.max(1e-30) };
    context.eval.facts.push(fact);
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
    if let Some((temperature, ratio)) = at_first {
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

/// Boiling temperature over water and kg of water to the kg of oil that come over.
fn over(oils: &Masses, water: Sub, context: &Context<'_>, p: f64) -> Option<(f64, f64)> {
    let wet: Masses = [(water, 1.0)].into();
    let boil = boiling::of_layers(&[oils, &wet], context.defs, p)?;
    let mass = |sub: &Sub, y: f64| context.defs.substance(*sub).molar_mass().unwrap_or(0.0) * y;
    let of_water = boil.vapour.get(&water).map_or(0.0, |y| mass(&water, *y));
    let of_oil: f64 = boil.vapour.iter().filter(|(sub, _)| **sub != water).map(|(sub, y)| mass(sub, *y)).sum();
    Some((boil.temperature, of_water / of_oil.max(1e-30)))
}

/// kg of water used, and kg of each oil that come over, until all but a little has or the water is gone.
fn carried(oils: &Masses, water: Sub, context: &Context<'_>, p: f64, most: f64) -> (f64, Masses) {
    let wet: Masses = [(water, 1.0)].into();
    let all: f64 = oils.values().sum();
    let mut left = oils.clone();
    let mut used = 0.0;
    let step = all / 200.0;
    for _ in 0..400 {
        let remaining: f64 = left.values().sum();
        if remaining <= (1.0 - CARRIED) * all {
            break;
        }
        let Some(boil) = boiling::of_layers(&[&left, &wet], context.defs, p) else { break };
        let weight = |sub: &Sub, y: f64| context.defs.substance(*sub).molar_mass().unwrap_or(0.0) * y;
        let of_water = boil.vapour.get(&water).map_or(0.0, |y| weight(&water, *y));
        let parts: Vec<(Sub, f64)> = boil.vapour.iter().filter(|(sub, _)| **sub != water).map(|(sub, y)| (*sub, weight(sub, *y))).collect();
        let of_oil: f64 = parts.iter().map(|(_, mass)| mass).sum();
        if of_oil <= 0.0 {
            break;
        }
        let mut taken = step.min(remaining - (1.0 - CARRIED) * all);
        let water_for_it = taken * of_water / of_oil;
        if used + water_for_it > most {
            taken *= ((most - used) / water_for_it.max(1e-30)).max(0.0);
        }
        used += taken * of_water / of_oil;
        for (sub, mass) in parts {
            if let Some(there) = left.get_mut(&sub) {
                *there = (*there - taken * mass / of_oil).max(0.0);
            }
        }
        if used >= most * (1.0 - 1e-12) {
            break;
        }
    }
    let gone =
        oils.iter().map(|(sub, mass)| (*sub, mass - left.get(sub).copied().unwrap_or(0.0))).filter(|(_, mass)| *mass > 0.0).collect();
    (used, gone)
}

/// Bath of an evaporator where a pressure is stated and no bath, K: 40 °C, common practice.
const WARM: f64 = 313.15;

/// Takes off what boils below 130 °C at 1 atm, as on a rotary evaporator; where a pressure or a bath is
/// stated, what boils below the bath's temperature at that pressure: distillate, residue.
///
/// # Errors
/// When an amount is still undecided.
pub fn evaporate(context: &mut Context<'_>) -> Done {
    let mixture = context.one("mixture")?;
    context.settled(&mixture)?;
    let stated = context.figure("pressure").map(|figure| figure.middle());
    let bath = context.figure("bath").map(|figure| figure.middle());
    // Without a pressure the pump is taken to do what a bath needs: what boils below 130 °C goes.
    let (p, limit) = match (stated, bath) {
        (Some(p), bath) => (p, bath.unwrap_or(WARM)),
        _ => (ATMOSPHERE, 403.15),
    };
    context.model(if stated.is_some() {
        "what boils below the bath's temperature at the stated pressure is taken off, all but 1 %"
    } else {
        "what boils below 130 °C at 1 atm is taken off, all but 1 %"
    });
    let whole = mixture.portion.mass();
    let mut distillate = Portion { temperature: mixture::ROOM, ..Portion::default() };
    let mut residue = Portion { temperature: mixture::ROOM, ..Portion::default() };
    for (sub, mass) in &mixture.portion.contents {
        let substance = context.defs.substance(*sub);
        let boils = boiling::boiling_point(substance, p);
        let share = if boils.is_some_and(|t| t < limit) { 0.99 } else { 0.0 };
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
    if let Some(bath) = context.figure("bath")
        && distillate.mass() < 0.005 * whole
    {
        let lowest = mixture.portion.contents.keys().filter_map(|sub| boiling::boiling_point(context.defs.substance(*sub), p));
        let fact = Fact::Bath { span: bath.span, bath: bath.top(), top: lowest.fold(f64::INFINITY, f64::min) };
        context.eval.facts.push(fact);
        context.eval.stopped = true;
        return Ok(());
    }
    context.settle(&mut distillate);
    context.settle(&mut residue);
    context.give("distillate", distillate, whole);
    context.give("residue", residue, whole);
    Ok(())
}
