//! The time that a procedure gives for itself, by how much of a person it asks for.

use schemars::JsonSchema;
use serde::Serialize;

use crate::outcome::Outcome;
use crate::resolve::attention::Attention;

/// Times as the statements give them, each added up, h. What states no time is counted and not made up, so that each sum
/// is the least that it takes.
#[derive(Clone, Copy, Debug, Default, Serialize, JsonSchema, PartialEq)]
pub struct Times {
    /// Someone works at it.
    pub hands_h: f64,
    /// It goes by itself, and someone stays within sight of it.
    pub sight_h: f64,
    /// It goes by itself, overnight too.
    pub none_h: f64,
    /// All of them.
    pub all_h: f64,
    /// Operations that state no time, besides putting away and throwing away.
    pub untimed: usize,
}

impl Times {
    /// The times of an outcome, without what is done only if needed.
    #[must_use]
    pub fn of(outcome: &Outcome) -> Self {
        let mut times = Self::default();
        for (number, record) in &outcome.evaluation.records {
            let Some(hours) = record.duration.map(|seconds| seconds / 3600.0) else {
                let statement = outcome.procedure.statements.get(*number);
                let ends = |effect: &str| matches!(effect, "store" | "discard");
                let works = statement.is_some_and(|own| !own.operation.effects.iter().any(|call| ends(&call.effect)));
                times.untimed += usize::from(works);
                continue;
            };
            let part = match outcome.attention(*number) {
                Attention::Hands => &mut times.hands_h,
                Attention::Sight => &mut times.sight_h,
                Attention::None => &mut times.none_h,
            };
            *part += hours;
            times.all_h += hours;
        }
        times
    }
}
