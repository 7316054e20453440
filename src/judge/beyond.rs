//! Vapour pressures that are asked for far beyond their equations, or that miss the boiling point.

use std::collections::BTreeSet;

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Fact;
use crate::kinds::{Kind, show};
use crate::resolve::definitions::Sub;

/// Judges vapour pressures; each substance once, where it is first met.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let celsius = |t: f64| format!("{:.0} °C", t - 273.15);
    let mut told: BTreeSet<Sub> = BTreeSet::new();
    for fact in &case.evaluation.facts {
        let Fact::Vapour { span, sub, temperature, range, misses } = fact else { continue };
        let beyond = range.map_or(0.0, |(low, high)| (low - temperature).max(temperature - high));
        let name = case.defs.substance(*sub).display();
        let (message, remedy) = if let Some(misses) = misses {
            let side = if *misses < 0.0 { "below" } else { "above" };
            (
                format!(
                    "the vapour pressure equation of {name} gives its boiling point {} {side} the one that is declared",
                    show(misses.abs(), Kind::TemperatureDifference, 2)
                ),
                "one of the two is wrong: look up both, and mend the declaration".to_owned(),
            )
        } else if let Some((low, high)) = range
            && case.past("vapour_beyond", beyond)
        {
            let rule = case.rule("vapour_beyond").map_or_else(String::new, |rule| format!(" ({})", rule.cited()));
            (
                format!(
                    "{name} evaporates here at {}, and its vapour pressure equation holds from {} to {}: what comes over when is a guess",
                    celsius(*temperature),
                    celsius(*low),
                    celsius(*high)
                ),
                format!("work where it holds, at another pressure, or declare an equation that reaches further{rule}"),
            )
        } else {
            continue;
        };
        if told.insert(*sub) {
            findings.push(Diagnostic::new(Code::VapourPressure, *span, message).help(remedy));
        }
    }
}
