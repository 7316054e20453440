//! A distillation in the plan.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::words::finite;
use crate::evaluate;
use crate::outcome::Outcome;

/// How a distillation goes, as it was worked out.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Distillation {
    /// What vapour and liquid were worked out by.
    pub model: String,
    /// How far that lies from experiment.
    pub band: String,
    /// Theoretical plates of the column, a count; null for a bare still.
    pub plates: Option<f64>,
    /// Drops that run back to one that is taken, a plain ratio; null where none is stated.
    pub reflux_ratio: Option<f64>,
    /// What comes into each receiver, and last what stays.
    pub receivers: Vec<Receiver>,
    /// Temperature of the pot at first and at last, °C.
    #[serde(rename = "pot_C")]
    pub pot_c: (Option<f64>, Option<f64>),
    /// From the start to the end.
    pub course: Vec<Moment>,
}

/// One receiver of a still.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Receiver {
    /// Role of the result: `forerun`, `cut`, `residue`.
    pub role: String,
    /// Address of the portion; null where it has no name.
    pub portion: Option<String>,
    /// Mass, g.
    pub mass_g: Option<f64>,
    /// Temperature at the head when it begins and when it ends, °C; null for the residue.
    #[serde(rename = "head_C")]
    pub head_c: Option<(Option<f64>, Option<f64>)>,
    /// Name of the main substance.
    pub main: Option<String>,
    /// The main substance in it by mass, %.
    pub purity_percent: Option<f64>,
    /// Of each substance the share of what was in the pot, %, by name.
    pub recovered_percent: BTreeMap<String, f64>,
}

/// A moment of a distillation.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Moment {
    /// Share of the mass of the charge that is over, %.
    pub over_percent: Option<f64>,
    /// Temperature at the head, °C.
    #[serde(rename = "head_C")]
    pub head_c: Option<f64>,
}

impl Distillation {
    /// A distillation as the plan has it.
    pub(super) fn of(outcome: &Outcome, one: &evaluate::Distillation) -> Self {
        let name = |sub| outcome.defs.substance(sub).name.clone();
        let celsius = |kelvin: f64| finite(kelvin - 273.15);
        let receivers = one.receivers.iter().map(|receiver| {
            let mass: f64 = receiver.masses.values().sum();
            let main = receiver.masses.iter().max_by(|a, b| a.1.total_cmp(b.1));
            let recovered = receiver.recovered.iter().filter_map(|(sub, share)| Some((name(*sub), finite(100.0 * share)?)));
            Receiver {
                role: receiver.role.clone(),
                portion: receiver.binding.map(|id| outcome.procedure.binding(id).address()),
                mass_g: finite(1e3 * mass),
                head_c: receiver.head.map(|(first, last)| (celsius(first), celsius(last))),
                main: main.map(|(sub, _)| name(*sub)),
                purity_percent: main.and_then(|(_, of_main)| finite(100.0 * of_main / mass)),
                recovered_percent: recovered.collect(),
            }
        });
        Self {
            model: one.model.what.to_owned(),
            band: one.model.band.to_owned(),
            plates: one.plates.and_then(finite),
            reflux_ratio: one.reflux.and_then(finite),
            receivers: receivers.collect(),
            pot_c: (celsius(one.pot.0), celsius(one.pot.1)),
            course: one.course.iter().map(|(over, head)| Moment { over_percent: finite(100.0 * over), head_c: celsius(*head) }).collect(),
        }
    }
}
