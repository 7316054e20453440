//! Heat and gas in time, for other programs, and where each figure of that comes from.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::words::finite;
use crate::evaluate::Record;
use crate::operations::{gas, pace};
use crate::outcome::Outcome;

/// An addition in time.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Addition {
    /// What goes in, mL; null for a solid.
    #[serde(rename = "volume_mL")]
    pub volume_ml: Option<f64>,
    /// The rate that is stated, mL/min.
    #[serde(rename = "rate_mL_min")]
    pub rate_ml_min: Option<f64>,
    /// How long it takes, s; null where neither a time nor a rate is stated.
    pub time_s: Option<f64>,
    /// Heat that comes free, J.
    #[serde(rename = "heat_J")]
    pub heat_j: Option<f64>,
    /// The same over the time, W.
    #[serde(rename = "heat_W")]
    pub heat_w: Option<f64>,
    /// Gas that comes off, litres at the room's temperature and pressure, by name.
    #[serde(rename = "gas_L")]
    pub gas_l: BTreeMap<String, f64>,
    /// The same over the time, L/min.
    #[serde(rename = "gas_L_min")]
    pub gas_l_min: BTreeMap<String, f64>,
    /// What a bath must take up, where a temperature is to be kept and something must be taken up.
    pub cooling: Option<Cooling>,
}

/// What a bath must take up, and can.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Cooling {
    /// The temperature not to be passed, °C.
    #[serde(rename = "below_C")]
    pub below_c: Option<f64>,
    /// The bath.
    pub means: String,
    /// Whether the author names it; else it is the usual one for that temperature.
    pub stated: bool,
    /// Its temperature, °C.
    #[serde(rename = "bath_C")]
    pub bath_c: Option<f64>,
    /// Wall between the two, cm².
    pub wall_cm2: Option<f64>,
    /// Heat to be taken up, J.
    #[serde(rename = "heat_J")]
    pub heat_j: Option<f64>,
    /// Heat to be taken up over the time, W.
    #[serde(rename = "needed_W")]
    pub needed_w: Option<f64>,
    /// What the bath takes up at the most, W.
    #[serde(rename = "takes_W")]
    pub takes_w: Option<f64>,
    /// The shortest time in which it does, s.
    pub least_s: Option<f64>,
}

/// Drying in time.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Drying {
    /// Of the water in the liquid, what the agent takes up in the time stated, %; null without a time.
    pub taken_percent: Option<f64>,
    /// Of it, what the agent takes up in any time, %.
    pub most_percent: Option<f64>,
    /// Time in which it takes up 99 % of the most, s.
    pub to_99_percent_s: Option<f64>,
    /// The liquid in which that was found.
    pub found_in: String,
    /// What was taken up there, %.
    pub found_percent: Option<f64>,
    /// The time in which it was, s.
    pub found_s: Option<f64>,
}

/// How a drying agent gets on.
#[must_use]
pub fn drying(own: &crate::operations::dry::InTime) -> Drying {
    let (liquid, share, time) = &own.found;
    Drying {
        taken_percent: own.taken.and_then(|taken| finite(100.0 * taken)),
        most_percent: finite(100.0 * own.most),
        to_99_percent_s: finite(own.to_99),
        found_in: liquid.clone(),
        found_percent: finite(100.0 * share),
        found_s: finite(*time),
    }
}

/// Warming up.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Warming {
    /// From where, °C.
    #[serde(rename = "from_C")]
    pub from_c: Option<f64>,
    /// To where, °C.
    #[serde(rename = "to_C")]
    pub to_c: Option<f64>,
    /// Heat that the charge and the glass take up, J.
    #[serde(rename = "heat_J")]
    pub heat_j: Option<f64>,
    /// Heat capacity of the charge, J/K.
    #[serde(rename = "charge_J_K")]
    pub charge_j_k: Option<f64>,
    /// Heat capacity of the glass, J/K.
    #[serde(rename = "glass_J_K")]
    pub glass_j_k: Option<f64>,
    /// What the flask loses to the room, W/K.
    #[serde(rename = "loss_W_K")]
    pub loss_w_k: Option<f64>,
    /// Power of the heater, W; null where neither the procedure nor a bench states one.
    #[serde(rename = "power_W")]
    pub power_w: Option<f64>,
    /// How long it takes, s; null without a power, or where it never gets there.
    pub time_s: Option<f64>,
}

/// The addition of a statement, where there is something to say of it in time.
#[must_use]
pub fn addition(outcome: &Outcome, record: &Record) -> Option<Addition> {
    let own = record.addition.as_ref()?;
    if own.time.is_none() && own.cooling.is_none() {
        return None;
    }
    let volume = |sub, mass: f64| gas::volume(&outcome.procedure, &outcome.defs, sub, mass);
    let gases = || record.evolved.iter().map(|(sub, mass)| (outcome.defs.substance(*sub).name.clone(), volume(*sub, mass.si)));
    Some(Addition {
        volume_ml: own.volume.and_then(|volume| finite(volume * 1e6)),
        rate_ml_min: own.rate.and_then(|rate| finite(rate * 6e7)),
        time_s: own.time.and_then(finite),
        heat_j: finite(own.heat),
        heat_w: own.time.and_then(|time| finite(own.heat / time)),
        gas_l: gases().filter_map(|(name, volume)| Some((name, finite(volume * 1e3)?))).collect(),
        gas_l_min: gases().filter_map(|(name, volume)| Some((name, finite(volume * 6e4 / own.time?)?))).collect(),
        cooling: own.cooling.as_ref().map(|cooling| Cooling {
            below_c: finite(cooling.limit - 273.15),
            means: cooling.means.clone(),
            stated: cooling.stated,
            bath_c: finite(cooling.bath - 273.15),
            wall_cm2: finite(cooling.wall * 1e4),
            heat_j: finite(cooling.heat),
            needed_w: own.time.and_then(|time| finite(cooling.heat / time)),
            takes_w: finite(cooling.takes),
            least_s: finite(cooling.least),
        }),
    })
}

/// How a statement warms up.
#[must_use]
pub fn warming(own: &pace::Warming) -> Warming {
    Warming {
        from_c: finite(own.span.0 - 273.15),
        to_c: finite(own.span.1 - 273.15),
        heat_j: finite((own.charge + own.glass) * (own.span.1 - own.span.0)),
        charge_j_k: finite(own.charge),
        glass_j_k: finite(own.glass),
        loss_w_k: finite(own.loss),
        power_w: own.power.and_then(finite),
        time_s: own.time.and_then(finite),
    }
}

/// What a figure of these is, its unit, how it follows, and which other figures it follows from; `None` for what is none.
#[must_use]
pub fn derivation(record: &Record, rest: &[&str]) -> Option<(&'static str, &'static str, &'static str, &'static [&'static str])> {
    let powered = record.warming.as_ref().is_some_and(|warming| warming.stated);
    Some(match rest {
        ["addition", "volume_mL"] => ("volume that goes in", "mL", "volumes of liquids add up", &[]),
        ["addition", "rate_mL_min"] => ("rate of the addition", "mL/min", "the author wrote it", &[]),
        ["addition", "time_s"] => ("time of the addition", "s", "the author wrote it, or the volume divided by the rate", &[]),
        ["addition", "heat_J"] => (
            "heat of the addition",
            "J",
            "heats of solution before and after, and of the reactions that ran, as far as they are declared",
            &[],
        ),
        ["addition", "heat_W"] => ("heat of the addition in time", "W", "the heat divided by the time", &["heat_J", "time_s"]),
        ["addition", "gas_L", _] => ("volume of gas", "L", "an ideal gas at the temperature and pressure of the room", &[]),
        ["addition", "gas_L_min", _] => ("gas in time", "L/min", "the volume divided by the time, evenly", &["time_s"]),
        ["addition", "cooling", "below_C"] => ("temperature to be kept", "°C", "the author wrote it", &[]),
        ["addition", "cooling", "bath_C"] => {
            ("temperature of the bath", "°C", "a quarter of its range above its cold end; water from the tap where it begins", &[])
        }
        ["addition", "cooling", "wall_cm2"] => {
            ("wall between liquid and bath", "cm²", "what the liquid wets half-way, of the flask stated or a half-full one", &[])
        }
        ["addition", "cooling", "heat_J"] => {
            ("heat to be taken away", "J", "what comes free, less what warms everything to the temperature to be kept", &[])
        }
        ["addition", "cooling", "needed_W"] => {
            ("cooling needed", "W", "the heat to be taken away divided by the time of the addition", &["heat_J"])
        }
        ["addition", "cooling", "takes_W"] => (
            "cooling that the bath can give",
            "W",
            "200 W/(m² K), of still air 10 (our own figures), times the wall and the difference of temperature",
            &["wall_cm2", "below_C", "bath_C"],
        ),
        ["addition", "cooling", "least_s"] => {
            ("shortest time of the addition", "s", "the heat to be taken away divided by what the bath takes", &["heat_J", "takes_W"])
        }
        ["drying", "taken_percent"] => {
            let from = &["found_percent", "found_s", "most_percent"];
            ("water taken up in the time stated", "%", "each part of the rest up to the most as fast as the part before", from)
        }
        ["drying", "most_percent"] => (
            "water that is taken up in any time",
            "%",
            "what was found after a longer time, a property of the agent with its source in the library; all of it where none was",
            &[],
        ),
        ["drying", "to_99_percent_s"] => {
            let from = &["found_percent", "found_s", "most_percent"];
            ("time to take up 99 % of the most", "s", "each part of the rest up to the most as fast as the part before", from)
        }
        ["drying", "found_percent"] => {
            ("water that was found to be taken up", "%", "a property of the agent, with its source in the library", &[])
        }
        ["drying", "found_s"] => ("time in which that was found", "s", "a property of the agent, with its source in the library", &[]),
        ["warming", "from_C"] => ("temperature before warming up", "°C", "as the statements before leave it", &[]),
        ["warming", "to_C"] => ("temperature after warming up", "°C", "as it is stated, or where it boils", &[]),
        ["warming", "heat_J"] => {
            ("heat of warming up", "J", "charge and glass, times the rise", &["charge_J_K", "glass_J_K", "from_C", "to_C"])
        }
        ["warming", "charge_J_K"] => {
            ("heat capacity of the charge", "J/K", "each mass times its own, as declared, else 2.0 J/(g K), of water 4.18", &[])
        }
        ["warming", "glass_J_K"] => {
            ("heat capacity of the glass", "J/K", "5.8 kg to the m² of the flask (our own figure) times 830 J/(kg K), from memory", &[])
        }
        ["warming", "loss_W_K"] => ("loss to the room", "W/K", "10 W/(m² K) (our own figure) times the wall of the flask", &[]),
        ["warming", "power_W"] if powered => ("power of the heater", "W", "the author wrote it", &[]),
        ["warming", "power_W"] => ("power of the heater", "W", "the heater of the bench", &[]),
        ["warming", "time_s"] => (
            "time of warming up",
            "s",
            "60 % of the power, less what is lost to the room, warms charge and glass",
            &["heat_J", "power_W", "loss_W_K"],
        ),
        _ => return None,
    })
}
