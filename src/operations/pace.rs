//! Heat and gas in time: how long an addition takes, what must be cooled away meanwhile, how long warming up takes.

use super::{heats, react};
use crate::chemistry::warming;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::context::{Done, Taken};
use crate::evaluate::{Context, Fact};
use crate::kinds::{Kind, show, show_duration};
use crate::matter::linear::Arg;
use crate::matter::mixture::{self, models};
use crate::matter::portion::Portion;

/// W/(m² K) through a glass wall from a stirred liquid to a bath of water, or of ice and water. Our own figure: half as
/// much where neither is stirred.
const BATH: f64 = 200.0;

/// W/(m² K) from a wall to the air of the room. Our own figure.
const AIR: f64 = 10.0;

/// Share of a heater's power that arrives in the flask before what the flask loses to the room. Our own figure.
pub const ARRIVES: f64 = 0.6;

/// The part of a flask that is full where no size is stated. Our own figure.
const FULL: f64 = 0.5;

/// Where in its range, from the cold end, a bath stands that cools. Our own figure: an ice bath is at 1 °C.
const STANDS: f64 = 0.25;

/// Water from the tap in a bath, K. Our own figure.
const TAP: f64 = 288.15;

/// From what limit on a bath of water serves where no means of cooling is stated, and from what an ice bath, K. Our own
/// figures; below it is a bath of ice and salt.
const SERVES: (f64, f64) = (303.15, 276.15);

/// What serves where no means of cooling is stated: from the first limit on, from the second on, below it.
pub const BATHS: [&str; 3] = ["water_bath", "ice_bath", "ice_salt_bath"];

/// Rise or warming below which nothing is said, K. Our own figure.
const SAID: f64 = 3.0;

/// Heat in time from which it is told where no temperature is to be kept, W. Our own figure: a flask loses so much to
/// the air of itself.
const FELT: f64 = 10.0;

/// An addition over a time.
#[derive(Clone, Debug, Default)]
pub struct Addition {
    /// m³ that go in, where that is a liquid.
    pub volume: Option<f64>,
    /// m³/s that are stated.
    pub rate: Option<f64>,
    /// s that it takes.
    pub time: Option<f64>,
    /// J that come free.
    pub heat: f64,
    /// What has to be taken away to keep below a temperature.
    pub cooling: Option<Cooling>,
}

/// What a bath must take up, and can.
#[derive(Clone, Debug)]
pub struct Cooling {
    /// K that are not to be passed.
    pub limit: f64,
    /// The bath.
    pub means: String,
    /// Whether the author names it.
    pub stated: bool,
    /// K of the bath.
    pub bath: f64,
    /// m² of wall between them.
    pub wall: f64,
    /// W that it takes up at the limit.
    pub takes: f64,
    /// J to be taken up: what comes free, less what warms the whole to the limit.
    pub heat: f64,
    /// s that it needs for that.
    pub least: f64,
    /// Whether part of the heat is not known, so that these are the least.
    pub at_least: bool,
}

/// Warming up.
#[derive(Clone, Debug)]
pub struct Warming {
    /// W of the heater, where it is known.
    pub power: Option<f64>,
    /// Whether the author states them, or the bench has it.
    pub stated: bool,
    /// K from which and to which.
    pub span: (f64, f64),
    /// J/K of what is warmed.
    pub charge: f64,
    /// J/K of the glass.
    pub glass: f64,
    /// W/K that go to the room.
    pub loss: f64,
    /// s, where the power is known and is enough.
    pub time: Option<f64>,
}

/// How long an addition takes that is stated over a time or at a rate; notes both, so that they can be compared.
///
/// # Errors
/// When a rate is stated for what does not drip, or one that is nothing.
pub fn addition(context: &mut Context<'_>, what: &Taken, times: u32) -> Done {
    let stated = context.figure("time");
    let rate = context.figure("rate");
    let liquid = what.portion.liquid(context.defs.find("water"));
    let volume = mixture::volume(&liquid, context.defs, &mut mixture::Assumed::new()).ok();
    let volume = volume.map(|volume| volume * shares(what, times)).filter(|volume| *volume > 0.0);
    let mut time = stated.map(|time| time.middle()).filter(|time| *time > 0.0);
    if let Some(rate) = rate {
        let mass = what.portion.mass();
        let Some(volume) = volume.filter(|_| what.portion.solid.values().sum::<f64>() < 0.01 * mass && rate.low > 0.0) else {
            let why = if rate.low > 0.0 { "a solid does not drip, and it" } else { "at this rate nothing goes in, and this" };
            return Err(Box::new(
                Diagnostic::new(Code::OutOfRange, rate.span, format!("{why} is to be added at a rate"))
                    .help("give a liquid a rate above zero, such as `dropwise at 2 mL/min`; a solid goes `in 5 portions`"),
            ));
        };
        let by_rate = volume / rate.middle();
        if stated.is_none() {
            let drops = context.procedure.about.drop.map(|drop| format!(" (about {:.0} drops a minute)", 60.0 * rate.middle() / drop.low));
            let rate = show(rate.middle(), Kind::FlowRate, 2);
            context.expect(format!("At {rate}{} it takes about {}.", drops.unwrap_or_default(), about(by_rate)));
        }
        if let Some(stated) = stated {
            let fact = Fact::Paced { span: rate.span, time: (stated.low, stated.top()), rate: (rate.low, rate.top()), volume };
            context.eval.facts.push(fact);
        }
        time = time.or(Some(by_rate));
    }
    if time.is_some() {
        context.record().duration = time;
    }
    context.record().addition = Some(Addition { volume, rate: rate.map(|rate| rate.middle()), time, ..Addition::default() });
    Ok(())
}

/// How many times what is written goes in: a material from the shelf each time, a portion once in all.
fn shares(what: &Taken, times: u32) -> f64 {
    if what.binding.is_some() { 1.0 } else { f64::from(times.max(1)) }
}

/// What the heat of an addition asks of a bath, after what reacts has reacted: `what`, each so many times, went into `pot`,
/// and `whole` came of it.
pub fn cooling(context: &mut Context<'_>, pot: &Portion, what: &[(&Taken, u32)], whole: &Portion) {
    let heat = context.record().heat + context.record().mixing;
    let mut addition = context.record().addition.take().unwrap_or_default();
    addition.heat = heat;
    let capacity = react::heat_capacity(context, whole);
    let rise = if capacity > 0.0 { heat / capacity } else { 0.0 };
    let limit = context.figure("ceiling").map(|ceiling| ceiling.low).or_else(|| context.figure("band").map(|band| band.top()));
    addition.cooling = limit.filter(|_| rise > SAID).and_then(|limit| needed(context, pot, what, heat, limit));
    let time = addition.time;
    let joule = |heat: f64| show(heat, Kind::Energy, 2);
    let watts = |power: f64| show(power, Kind::Power, 2);
    let least = if heats::how_much(context) == "about" { "" } else { "at least " };
    match (&addition.cooling, time) {
        (Some(cooling), Some(time)) => {
            context.model(models::COOLING);
            context.expect(format!(
                "Of the heat {least}{} must be taken away, {} over {}; {} {} takes up to about {} below {}.",
                joule(cooling.heat),
                watts(cooling.heat / time),
                spoken(time),
                article(&cooling.means),
                cooling.means,
                watts(cooling.takes),
                show(cooling.limit, Kind::Temperature, 2)
            ));
            let fact = Fact::Cooled { statement: context.number, span: context.span(), time, cooling: cooling.clone() };
            context.eval.facts.push(fact);
        }
        (Some(cooling), None) if cooling.least >= 30.0 => {
            context.model(models::COOLING);
            context.expect(format!(
                "Of the heat {least}{} must be taken away, and {} {} takes up to about {} below {}: allow {} at least.",
                joule(cooling.heat),
                article(&cooling.means),
                cooling.means,
                watts(cooling.takes),
                show(cooling.limit, Kind::Temperature, 2),
                in_words(cooling.least)
            ));
        }
        (None, Some(time)) if rise > SAID && limit.is_none() && heat >= FELT * time => {
            context.expect(format!(
                "{} {} come free, {} over {}.",
                if least.is_empty() { "About" } else { "At least" },
                joule(heat),
                watts(heat / time),
                spoken(time)
            ));
        }
        _ => {}
    }
    context.record().addition = Some(addition);
}

fn article(name: &str) -> &'static str {
    if name.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" }
}

/// The steps in which so many s are told: minutes above two, tens of seconds below.
fn step(seconds: f64) -> f64 {
    match seconds {
        s if s > 7200.0 => 900.0,
        s if s > 1200.0 => 300.0,
        s if s > 120.0 => 60.0,
        _ => 10.0,
    }
}

/// A time that something needs, as one sets a clock by it; never shorter than it is.
#[must_use]
pub fn in_words(seconds: f64) -> String {
    let step = step(seconds);
    show_duration((seconds / step - 1e-6).ceil() * step)
}

/// A time that something takes, to the nearest step.
#[must_use]
pub fn about(seconds: f64) -> String {
    let step = step(seconds);
    show_duration((seconds / step).round().max(1.0) * step)
}

/// A time as it is stated, in whole minutes, or else as one sets a clock by it.
#[must_use]
pub fn spoken(seconds: f64) -> String {
    let minutes = seconds / 60.0;
    if (minutes - minutes.round()).abs() < 1e-6 { show_duration(seconds) } else { about(seconds) }
}

/// What must go into a bath so that the whole stays below `limit`; `None` where nothing must, or no bath is colder.
fn needed(context: &Context<'_>, pot: &Portion, what: &[(&Taken, u32)], heat: f64, limit: f64) -> Option<Cooling> {
    let added = |(what, times): &(&Taken, u32)| {
        react::heat_capacity(context, &what.portion) * shares(what, *times) * (limit - what.portion.temperature)
    };
    // A pot that comes hotter is cooled before.
    let warms = react::heat_capacity(context, pot) * (limit - pot.temperature).max(0.0) + what.iter().map(added).sum::<f64>();
    let heat = heat - warms;
    let (means, stated) = match context.statement.args.get("means") {
        Some(Arg::Apparatus(means, ..)) => (std::sync::Arc::clone(means), true),
        _ => {
            let [water, ice, salt] = BATHS;
            let usual = match limit {
                limit if limit >= SERVES.0 => water,
                limit if limit >= SERVES.1 => ice,
                _ => salt,
            };
            (std::sync::Arc::clone(context.defs.apparatus.get(usual)?), false)
        }
    };
    let (cold, warm) = means.range.as_ref()?.value;
    let in_air = means.name == "room_air";
    let bath = match in_air {
        true => context.defs.room_temperature(),
        false if cold >= TAP => cold,
        false => cold + STANDS * (warm.min(TAP) - cold),
    };
    let half_way = |(what, times): &(&Taken, u32)| 0.5 * filled(context, &what.portion) * shares(what, *times);
    let volume = filled(context, pot) + what.iter().map(half_way).sum::<f64>();
    let wall = warming::wetted(volume, size(context, volume));
    let takes = if in_air { AIR } else { BATH } * wall * (limit - bath);
    let useful = heat > 0.0 && limit - bath >= 1.0 && wall > 0.0;
    let means = means.name.replace('_', " ");
    useful.then(|| Cooling {
        limit,
        means,
        stated,
        bath,
        wall,
        takes,
        heat,
        least: heat / takes,
        at_least: heats::how_much(context) != "about",
    })
}

/// m³ that a portion fills.
fn filled(context: &Context<'_>, portion: &Portion) -> f64 {
    let liquid = portion.liquid(context.defs.find("water"));
    mixture::filling(&liquid, context.defs, &mut mixture::Assumed::new()) + mixture::solid_volume(&portion.solid, context.defs)
}

/// m³ of the vessel: as the statement pins it, else of one that is half full.
fn size(context: &Context<'_>, volume: f64) -> f64 {
    let pinned = match context.statement.args.get("vessel") {
        Some(Arg::Apparatus(_, Some(size), _)) => Some(size.low),
        _ => None,
    };
    pinned.unwrap_or(volume / FULL).max(volume)
}

/// Warming a portion up to `to` K, by the heater that is stated or that the bench has; says how long it takes.
pub fn warming(context: &mut Context<'_>, portion: &Portion, to: f64) {
    let from = portion.temperature;
    // What melts as it is warmed is not counted, nor what a drying agent holds.
    if to - from <= SAID || portion.contents.is_empty() {
        return;
    }
    let stated = context.figure("power").map(|power| power.middle()).filter(|power| *power > 0.0);
    let own = context.defs.bench.as_ref().and_then(|bench| bench.heater).map(|heater| heater.low);
    let power = stated.or(own);
    let volume = filled(context, portion);
    let size = size(context, volume);
    let (charge, glass, loss) = (react::heat_capacity(context, portion), warming::glass(size), AIR * warming::surface(size));
    let room = context.defs.room_temperature();
    let time = power.and_then(|power| warming::time_to_warm(charge + glass, ARRIVES * power, loss, (from, to), room));
    context.record().warming = Some(Warming { power, stated: stated.is_some(), span: (from, to), charge, glass, loss, time });
    let Some(power) = power else { return };
    context.model(models::WARMING);
    let (power, to) = (show(power, Kind::Power, 3), show(to, Kind::Temperature, 2));
    match time {
        Some(time) if time >= 60.0 => context.expect(format!("Warming up to {to} takes about {} with {power}.", about(time))),
        Some(_) => {}
        None => context.expect(format!("With {power} it does not come to {to}: the flask loses as much to the room before.")),
    }
}
