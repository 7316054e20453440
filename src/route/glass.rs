//! Pieces of apparatus that several stages of a route need.

use serde::Serialize;

use super::PlannedStage;
use crate::judge::apparatus::Chosen;
use crate::kinds::{Kind, show};
use crate::resolve::bench::Bench;

/// Apparatus without a size that is washed after use, by name. Common practice.
const WASHED: [&str; 11] = [
    "condenser",
    "air_condenser",
    "iced_condenser",
    "distilling_head",
    "claisen_head",
    "column",
    "packed_column",
    "suction_filter",
    "buchner_funnel",
    "suction_flask",
    "gravity_funnel",
];

/// A piece that several stages need.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Shared {
    /// Its kind and size in words.
    pub piece: String,
    /// The stages that need it, with how many of it each.
    pub stages: Vec<(String, usize)>,
    /// How many of it the bench has; absent without a bench, where one set is assumed.
    pub there: Option<usize>,
    /// Whether it must be cleaned and dry between the stages: there are not enough of it for each to have its own.
    pub washed_between: bool,
    /// Its kind and size.
    #[serde(skip)]
    pub key: Key,
}

/// A kind of apparatus with its size in picolitres, so that it can be compared.
pub type Key = (String, u64);

/// The kind and size of a piece that is washed between two uses; `None` for what holds no matter, or goes on holding it.
#[must_use]
pub fn key(stage: &PlannedStage, chosen: &Chosen) -> Option<Key> {
    let kind = stage.outcome.defs.apparatus.get(&chosen.kind);
    let stores = kind.is_some_and(|kind| kind.stores);
    let vessel = chosen.size.is_some() || WASHED.contains(&chosen.kind.as_str());
    (vessel && !stores).then(|| (chosen.kind.clone(), picolitres(chosen.size)))
}

fn picolitres(size: Option<f64>) -> u64 {
    // Glass is between a tenth of a millilitre and a cubic metre.
    size.map_or(0, |size| (size * 1e15).round().clamp(0.0, 1e15) as u64)
}

/// The statements between which a vessel is in use, both counted.
#[must_use]
pub fn busy(stage: &PlannedStage, chosen: &Chosen) -> (usize, usize) {
    let first = chosen.statements.iter().min().copied().unwrap_or(0);
    let last = chosen.statements.iter().max().copied().unwrap_or(0);
    let until = chosen.holds.and_then(|id| stage.outcome.procedure.binding(id).used_by);
    (first, until.map_or(last, |until| until.max(last)))
}

/// How many such pieces a stage has in use at once, at the most.
fn at_once(stage: &PlannedStage, wanted: &Key) -> usize {
    let own = stage.outcome.vessels.iter().filter(|chosen| key(stage, chosen).as_ref() == Some(wanted));
    let spans: Vec<(usize, usize)> = own.map(|chosen| busy(stage, chosen)).collect();
    let during = |at: usize| spans.iter().filter(|(first, last)| (*first..=*last).contains(&at)).count();
    spans.iter().map(|(first, _)| during(*first)).max().unwrap_or(0)
}

/// Pieces that more than one stage needs.
#[must_use]
pub fn shared(stages: &[PlannedStage], bench: Option<&Bench>) -> Vec<Shared> {
    let mut found: Vec<Shared> = Vec::new();
    for stage in stages {
        for chosen in &stage.outcome.vessels {
            let Some(key) = key(stage, chosen) else { continue };
            let there = bench
                .map(|bench| bench.pieces.iter().filter(|piece| piece.apparatus.name == key.0 && picolitres(piece.size) == key.1).count());
            let at = found.iter().position(|one| one.key == key).unwrap_or_else(|| {
                let title = key.0.replace('_', " ");
                let piece = chosen.size.map_or_else(|| title.clone(), |size| format!("{title} of {}", show(size, Kind::Volume, 3)));
                found.push(Shared { piece, stages: Vec::new(), there, washed_between: false, key });
                found.len() - 1
            });
            let Some(own) = found.get_mut(at).filter(|own| own.stages.iter().all(|(name, _)| *name != stage.name)) else { continue };
            own.stages.push((stage.name.clone(), at_once(stage, &own.key)));
        }
    }
    found.retain(|one| one.stages.len() > 1);
    for one in &mut found {
        let wanted: usize = one.stages.iter().map(|(_, count)| count).sum();
        one.washed_between = one.there.is_none_or(|there| there < wanted);
    }
    found
}
