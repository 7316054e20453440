//! Waste: does the label fit what is in it?

use std::collections::BTreeSet;

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Fact;
use crate::kinds::significant;
use crate::operations::{acid_excess, portion_is};
use crate::source::Span;

/// Judges the labels of what is discarded; the worst of one statement only.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let mut seen: BTreeSet<Span> = BTreeSet::new();
    for fact in &case.evaluation.facts {
        let Fact::Discarded { span, name, portion, label, label_span } = fact else { continue };
        if seen.contains(label_span) {
            continue;
        }
        let total = portion.mass();
        if total <= 0.0 {
            continue;
        }
        let words: Vec<String> = label.to_lowercase().split([',', ';']).map(|word| word.trim().to_owned()).collect();
        let says = |word: &str| words.iter().any(|own| own == word || own.ends_with(&format!(" {word}")));
        let excess = acid_excess(case.defs, portion);
        // mol/kg; a hundredth of a mole in a kilogram is what paper would still show.
        let strength = excess / total;
        let mmol = |n: f64| format!("{} mmol", significant(n.abs() * 1e3, 2));
        let water = case.defs.find("water").map_or(0.0, |water| portion.of(water)) / total;
        let halogen = portion.contents.iter().any(|(sub, mass)| case.defs.substance(*sub).is("halogenated") && mass.si > 0.01 * total);
        let fault = if strength > 0.02 && (says("neutral") || says("basic")) {
            Some((format!("`{name}` still holds {} of acid", mmol(excess)), "aqueous, acidic"))
        } else if strength < -0.02 && (says("neutral") && strength < -0.05 || says("acidic")) {
            Some((format!("`{name}` holds {} of base", mmol(excess)), "aqueous, basic"))
        } else if says("halogen-free") && halogen {
            Some((format!("`{name}` holds a halogenated solvent"), "flammable, halogenated"))
        } else if says("aqueous") && water < 0.2 {
            let instead = match (strength > 0.02, halogen) {
                (true, true) => "acidic, halogenated",
                (true, false) => "acidic, halogen-free",
                (false, true) => "flammable, halogenated",
                (false, false) => "flammable, halogen-free",
            };
            Some((format!("`{name}` is only {:.0} % water", water * 100.0), instead))
        } else if says("neutral") && says("aqueous") && portion_is(case.defs, portion, "corrosive") {
            Some((format!("`{name}` is corrosive"), "aqueous, acidic"))
        } else {
            None
        };
        if let Some((why, instead)) = fault {
            seen.insert(*label_span);
            findings.push(
                Diagnostic::new(Code::Mislabelled, *label_span, format!("\"{label}\" does not fit: {why}"))
                    .help(format!(
                        "{}label it \"{instead}\", as the local waste rules have it",
                        if strength.abs() > 0.02 { "neutralise it first, or " } else { "" }
                    ))
                    .label(*span, "this portion"),
            );
        }
    }
}
