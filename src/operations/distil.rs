//! Distilling by boiling range, at any pressure, bare or through a column.

use super::beyond;
use super::still::{self, Shares, Unworked, Worked};
use super::told;
use crate::chemistry::distillation::Column;
use crate::diagnostics::{Code, Diagnostic};
use crate::emit::words::capital;
use crate::evaluate::context::Done;
use crate::evaluate::{Context, Fact};
use crate::kinds::{Kind, show, significant};
use crate::matter::boiling::{self, ATMOSPHERE, PRESSURES};
use crate::matter::mixture::{self, models};
use crate::matter::model;
use crate::matter::portion::Portion;
use crate::resolve::definitions::Sub;
use crate::resolve::quantity::Figure;

/// Share of the cut that stays behind as hold-up: what is left in the still has the make-up of what
/// came over last. Our own figure, for 20 to 200 mL.
pub const HOLD_UP: f64 = 0.03;

/// Share of the charge that is run off as first runnings, where these are named and something boils below the range,
/// though the thermometer may show the range at once. Our own figure: it wets head and condenser.
const FIRST: f64 = 0.01;

/// Share of the charge from which what boils below the range counts. Our own figure.
const LIGHT: f64 = 0.002;

/// Theoretical plates that a bare head is worth besides the boiling itself, by what its walls condense. Our own figure:
/// textbooks count a simple still as one to two (from memory), and common practice parts in it what boils 70 K apart,
/// for which one would not do.
pub(super) const HEAD: f64 = 1.0;

/// How far beside a stated range the head may lie, K. Our own figure: thermometers are read to half a kelvin, and boiling
/// temperatures are predicted to about one.
const NEAR: f64 = 1.0;

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
pub(super) fn pressure(context: &mut Context<'_>) -> f64 {
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

/// Refuses a pressure that glass does not stand and no model here was compared with, and says of one that is lower than
/// what they were that this is so.
///
/// # Errors
/// A stated pressure above 2 bar.
pub(super) fn within(context: &mut Context<'_>) -> Done {
    let Some(figure) = context.figure("pressure") else { return Ok(()) };
    let ((low, high), p) = (PRESSURES, figure.top());
    if p > high * (1.0 + 1e-9) {
        let message = format!("{} is more than glass stands and than any model here was compared with", show(p, Kind::Pressure, 3));
        return Err(Box::new(
            Diagnostic::new(Code::OutOfRange, figure.span, message)
                .help(format!("work at the pressure of the room or below; {} is the most", show(high, Kind::Pressure, 3))),
        ));
    }
    if figure.low < low * (1.0 - 1e-9) {
        let said = format!(
            "{} lies below {}, the least that the models are meant for: what boils where may be off by ten kelvin and more.",
            show(figure.low, Kind::Pressure, 2),
            show(low, Kind::Pressure, 2)
        );
        context.eval.assumed.insert(said);
    }
    Ok(())
}

/// Where the parts of a charge go.
struct Parted {
    shares: Shares,
    model: &'static str,
    worked: Option<Worked>,
    /// Whether it is the still that was asked about, and not what stands in for it: only then the ranges can be judged.
    sure: bool,
    /// How the still is worked.
    work: still::Work,
}

/// Forerun, cuts and residue, by what boils at each moment and what the head then shows.
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
    super::react::run_all(context, &mut still, &reactions)?;
    within(context)?;
    let p = pressure(context);
    let ranges = context.figures("range");
    let cut_names = context.outcomes("cut");
    check_ranges(context, &ranges, cut_names.len())?;
    let slack = slack(context, &still, p);
    let parted = part(context, &still, &ranges, slack, p);
    context.model(parted.model);
    let whole = still.mass();
    let receivers = ranges.len().max(1) + 2;
    let received = still::receive(context, &still, &parted.shares, receivers, parted.model);
    let low = ranges.first().map_or(0.0, |range| range.low);
    let places = places(context, &still, &parted.shares, p);
    let cuts = received.get(1..receivers - 1).unwrap_or_default();
    for (figure, cut) in ranges.iter().zip(cuts) {
        beyond::look_at(context, &cut.masses(), figure.middle());
        if cut.mass() < 0.005 * whole && !parted.sure {
            context.expect(format!(
                "By these figures next to nothing comes over between {} and {}: go by what the thermometer shows.",
                celsius(figure.low),
                celsius(figure.top())
            ));
        } else if cut.mass() < 0.005 * whole {
            let near = |t: f64| (t - low).abs();
            let nearest = places.iter().filter(|(sub, ..)| still.of(*sub) > 0.05 * whole).min_by(|a, b| near(a.1).total_cmp(&near(b.1)));
            let fact = Fact::NothingBoils {
                span: figure.span,
                range: (figure.low, figure.top()),
                nearest: nearest.map(|(sub, t, _)| (*sub, *t)),
                shows: parted.worked.as_ref().map(Worked::shown),
            };
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
    match &parted.worked {
        Some(worked) => told::cuts(context, worked, &parted.work, &still, &received),
        None => separating(context, &places),
    }
    let begins = match &parted.worked {
        Some(worked) => Some(worked.run.pot.0),
        None => boiling::boils(&still.masses(), context.defs, p).map(|boil| boil.temperature),
    };
    if let Some(begins) = begins {
        super::pace::warming(context, &still, begins);
    }
    let middle = ranges.first().map(|figure| figure.middle());
    if let Some(temperature) = begins.map(|begins| middle.unwrap_or(begins)) {
        context.record().temperature = Some(temperature);
    }
    if !still::is_atmosphere(p) {
        rarefied(context, &places, p);
    }
    let mut names = cut_names.into_iter();
    for (place, mut portion) in received.into_iter().enumerate() {
        context.settle(&mut portion);
        match place {
            0 => context.give("forerun", portion, whole),
            last if last + 1 == receivers => context.give("residue", portion, whole),
            _ => {
                let (role, binding) = names.next().unwrap_or_else(|| ("cut".to_owned(), None));
                context.give_to(role, binding, portion, whole);
            }
        }
    }
    Ok(())
}

/// By how much the head may lie beside a stated range, K.
fn slack(context: &mut Context<'_>, still: &Portion, p: f64) -> f64 {
    let whole = still.mass();
    let mut slack = NEAR;
    for (sub, mass) in &still.contents {
        let substance = context.defs.substance(*sub);
        if mass.si <= 0.02 * whole {
            continue;
        }
        let name = substance.display();
        let Some(t) = boiling::boiling_point(substance, p) else {
            continue;
        };
        if still::is_atmosphere(p) {
            continue;
        }
        if substance.vapour.is_none() {
            context.eval.assumed.insert(format!(
                "The vapour pressure of {name} is not known; that it boils at about {} at {} is estimated from its boiling point, to some ten kelvin.",
                celsius(t),
                kilopascals(p)
            ));
            // What makes up most of the pot is what the author's range is meant for.
            if mass.si > 0.5 * whole {
                slack = ESTIMATE;
            }
        } else if mixture::vapour_law(substance).is_some_and(|law| !law.in_range(t)) {
            context.eval.assumed.insert(format!("The vapour pressure of {name} is carried on beyond the range of its equation."));
        }
    }
    slack
}

/// Works the still; where no model answers for what is in it, parts it by the boiling points of the pure substances.
fn part(context: &mut Context<'_>, still: &Portion, ranges: &[Figure], slack: f64, p: f64) -> Parted {
    let stated = plates(context);
    let column = Column { plates: stated.unwrap_or(HEAD).max(HEAD), reflux: context.figure("reflux").map(|reflux| reflux.low) };
    let named = context.outcome("forerun").is_some_and(|(_, binding, _)| binding.is_some());
    let low = ranges.first().map_or(0.0, |range| range.low - slack);
    let lighter =
        still.contents.iter().filter(|(sub, _)| boiling::boiling_point(context.defs.substance(**sub), p).is_some_and(|t| t < low));
    let runs_ahead = lighter.map(|(_, mass)| mass.si).sum::<f64>() > LIGHT * still.mass();
    let work = still::Work {
        p,
        column,
        watched: true,
        ranges: windows(ranges, slack),
        held: HOLD_UP,
        first: if named && runs_ahead { FIRST } else { 0.0 },
        warmest: f64::INFINITY,
        granted: still::GRANTED,
    };
    let (found, stands_in) = still::work_or_total(still, context.defs, &work);
    let sure = stands_in.is_none();
    if let Some(said) = stands_in {
        context.expect(said);
    }
    let worked = match found {
        Ok(worked) => worked,
        Err(why) => {
            let said = format!("The distillation is worked out by the boiling points of the pure substances, since {}.", why.reason());
            let searched = matches!(why, Unworked::Search(_));
            if searched {
                context.expect(said);
            } else {
                context.eval.assumed.insert(said);
            }
            let shares = sharp(context, still, ranges, slack, p);
            return Parted { shares, model: models::DISTILLING, worked: None, sure: !searched, work };
        }
    };
    if stated.is_some() && column.reflux.is_none() {
        context
            .eval
            .assumed
            .insert("No reflux ratio is stated: the column is worked out at total reflux, which is the best that it can do.".to_owned());
    }
    context.eval.assumed.extend(worked.liquids.said.clone());
    context.model(worked.liquids.model.what);
    let mut shares = worked.shares(still);
    // A gas is gone before anything boils.
    for sub in still.contents.keys().filter(|sub| context.defs.substance(**sub).is_gas()) {
        shares.insert(*sub, vec![1.0]);
    }
    let model = if stated.is_some() { &model::COLUMN } else { &model::STILL };
    Parted { shares, model: model.what, worked: Some(worked), sure, work }
}

/// Theoretical plates of the column, if there is one.
pub(super) fn plates(context: &Context<'_>) -> Option<f64> {
    context.figure("plates").map(|plates| plates.low).or_else(|| context.figure("height").map(|height| height.low / PLATE))
}

/// The ranges with what the thermometer may be off on either side; of two that lie close none takes from the other.
fn windows(ranges: &[Figure], slack: f64) -> Vec<(f64, f64)> {
    let mut out: Vec<(f64, f64)> = ranges.iter().map(|range| (range.low - slack, range.top() + slack)).collect();
    for (place, pair) in ranges.windows(2).enumerate() {
        let [one, next] = pair else { continue };
        let middle = 0.5 * (one.top() + next.low);
        if let Some([window, beyond]) = out.get_mut(place..place + 2) {
            window.1 = window.1.min(middle);
            beyond.0 = beyond.0.max(middle);
        }
    }
    out
}

/// What makes up more than a little of the charge, where it boils by itself, and where most of it goes: 0 for the
/// forerun, 1 and on for the cuts, -1 for the residue.
fn places(context: &Context<'_>, still: &Portion, shares: &Shares, p: f64) -> Vec<(Sub, f64, i64)> {
    let whole = still.mass();
    let of = still.contents.iter().filter(|(_, mass)| mass.si > 0.02 * whole);
    of.filter_map(|(sub, _)| {
        let t = boiling::boiling_point(context.defs.substance(*sub), p)?;
        let over = shares.get(sub).map(|parts| parts.iter().take(context.figures("range").len().max(1) + 1).copied().enumerate());
        let most = over.and_then(|over| over.max_by(|a, b| a.1.total_cmp(&b.1))).filter(|(_, share)| *share > 0.3);
        Some((*sub, t, most.map_or(-1, |(place, _)| place as i64)))
    })
    .collect()
}

/// Each substance whole into the receiver in whose range it boils by itself.
fn sharp(context: &mut Context<'_>, still: &Portion, ranges: &[Figure], slack: f64, p: f64) -> Shares {
    let (low, top) = match (ranges.first(), ranges.last()) {
        (Some(first), Some(last)) => (first.low, last.top()),
        _ => (0.0, f64::INFINITY),
    };
    let whole = still.mass();
    // The cut within whose range water and a liquid that it does not mix with boil together.
    let together = boiling::boils(&still.masses(), context.defs, p)
        .filter(|boil| boil.two_liquids)
        .and_then(|boil| ranges.iter().position(|range| (range.low - 0.5..=range.top() + 0.5).contains(&boil.temperature)));
    let mut goes: Vec<(Sub, usize)> = Vec::new();
    for (sub, mass) in &still.contents {
        let substance = context.defs.substance(*sub);
        if mixture::vapour_law(substance).is_none() && mass.si > 0.02 * whole && !substance.is_ionic() {
            let name = substance.display();
            context.eval.assumed.insert(format!("The boiling point of {name} is not known; it is taken to stay in the residue."));
        }
        let slack = if mass.si > 0.5 * whole { slack } else { NEAR };
        // 0 is the forerun, 1 and on the cuts.
        let place = match boiling::boiling_point(substance, p) {
            // What is left of water comes over first, with whatever boils with it.
            Some(_) if substance.is("water") && low > 0.0 => Some(together.map_or(0, |at| at + 1)),
            Some(t) if t < low - slack => Some(0),
            Some(_) if ranges.is_empty() => Some(1),
            // What comes over between two cuts goes with the forerun.
            Some(t) if t <= top + slack => {
                Some(ranges.iter().position(|range| t >= range.low - slack && t <= range.top() + slack).map_or(0, |at| at + 1))
            }
            _ => None,
        };
        goes.extend(place.map(|place| (*sub, place)));
    }
    // What is left in the still is of what came over last.
    let last = goes.iter().map(|(_, place)| *place).max().unwrap_or(0);
    let shares = goes.into_iter().map(|(sub, place)| {
        let left = if place == last && place > 0 { HOLD_UP } else { 0.0 };
        let mut parts = vec![0.0; place];
        parts.push(1.0 - left);
        parts.resize(ranges.len().max(1) + 1, 0.0);
        parts.push(left);
        (sub, parts)
    });
    shares.collect()
}

/// What work at reduced pressure brings.
fn rarefied(context: &mut Context<'_>, places: &[(Sub, f64, i64)], p: f64) {
    for (sub, t, _) in places.iter().filter(|(_, _, place)| *place >= 1) {
        let substance = context.defs.substance(*sub);
        let Some(normal) = substance.boils.as_ref().map(|boils| boils.value) else { continue };
        context.expect(format!(
            "{} boils near {} at {} (at one atmosphere {}).",
            capital(&substance.display()),
            celsius(*t),
            kilopascals(p),
            celsius(normal)
        ));
    }
    // At one atmosphere the judge of condensers says it.
    let tap = context.defs.rule("tap_water_condenser").map_or(0.0, |rule| rule.value());
    let cold = context.apparatus("condenser").is_some_and(|(own, ..)| own.range.as_ref().is_some_and(|range| range.value.0 < tap));
    let escapes = |place: &&(Sub, f64, i64)| place.2 >= 0 && place.1 < tap;
    let lightest = places.iter().filter(escapes).min_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((sub, t, _)) = lightest.filter(|_| !cold) {
        context.expect(format!(
            "{} boils at {} here: tap water does not condense it, and it goes to the pump. Take it off at a higher pressure first, or stand a cold trap before the pump.",
            capital(&context.defs.substance(*sub).display()),
            celsius(*t)
        ));
    }
    if p < 0.5 * ATMOSPHERE {
        context.expect("Use sound, round glass behind a shield; let the air in only when the flask has cooled.".to_owned());
    }
}

pub(super) fn celsius(t: f64) -> String {
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
    let column = plates(context);
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
