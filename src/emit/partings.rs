//! Layers in the plan.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::plan::grams;
use super::words::finite;
use crate::matter::mixture::Layers;
use crate::matter::portion::Masses;
use crate::outcome::Outcome;

/// Two layers of liquid, as predicted.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Parting {
    /// Mass of each substance in the organic layer, g, by name; acids and bases with what of them is an ion.
    pub organic_g: BTreeMap<String, f64>,
    /// Mass of each substance in the layer of water, g, by name.
    pub aqueous_g: BTreeMap<String, f64>,
    /// Density of the organic layer, g/mL.
    #[serde(rename = "organic_density_g_per_mL")]
    pub organic_density: Option<f64>,
    /// Density of the layer of water, g/mL.
    #[serde(rename = "aqueous_density_g_per_mL")]
    pub aqueous_density: Option<f64>,
    /// pH of the water; null where neither an acid nor a base is in it, or it was not worked out.
    #[serde(rename = "pH")]
    pub ph: Option<f64>,
    /// The model.
    pub model: String,
}

/// The layers of one shaking.
pub(super) fn parting(outcome: &Outcome, layers: &Layers) -> Parting {
    let by_name = |layer: &Masses| grams(outcome, layer.iter().map(|(sub, mass)| (*sub, *mass)));
    Parting {
        organic_g: by_name(&layers.organic),
        aqueous_g: by_name(&layers.aqueous),
        organic_density: finite(layers.organic_density / 1e3),
        aqueous_density: finite(layers.aqueous_density / 1e3),
        ph: layers.ph.and_then(finite),
        model: layers.model.to_owned(),
    }
}
