//! Jars of drying agent over several runs: how often charged, how much water since they were last regenerated.

use std::collections::BTreeMap;

use serde::Serialize;

use super::review::{Charge, Review};

/// The history of one jar.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Jar {
    /// What is written on it.
    pub jar: String,
    /// Its charges, the oldest first.
    pub charges: Vec<Charge>,
    /// How often it was regenerated.
    pub regenerated: usize,
    /// Water taken up since it was last regenerated, g; absent where that of a charge is not known.
    pub water_since_g: Option<f64>,
    /// What the last charge holds at least where it worked, g: a bed that hot condensate washes holds less than a cold one.
    pub holds_g: Option<f64>,
    /// What it holds in the cold, g.
    pub holds_cold_g: Option<f64>,
}

/// The jars that the reviews name.
#[must_use]
pub fn jars(reviews: &[Review]) -> Vec<Jar> {
    let mut by_name: BTreeMap<&str, Vec<&Charge>> = BTreeMap::new();
    for charge in reviews.iter().flat_map(|review| &review.charges) {
        by_name.entry(&charge.jar).or_default().push(charge);
    }
    let history = |(jar, mut charges): (&str, Vec<&Charge>)| {
        charges.sort_by(|a, b| a.date.cmp(&b.date));
        let since = charges.iter().rposition(|charge| charge.regenerated.is_some()).map_or(0, |place| place + 1);
        Jar {
            jar: jar.to_owned(),
            regenerated: charges.iter().filter(|charge| charge.regenerated.is_some()).count(),
            water_since_g: charges.iter().skip(since).map(|charge| charge.water_g).sum(),
            holds_g: charges.last().and_then(|charge| charge.holds_g),
            holds_cold_g: charges.last().and_then(|charge| charge.holds_cold_g),
            charges: charges.into_iter().cloned().collect(),
        }
    };
    by_name.into_iter().map(history).collect()
}
