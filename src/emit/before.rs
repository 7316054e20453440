//! What the sheet says before the work begins: protection, local rules, hazards.

use indexmap::IndexSet;

use super::view::{self, Met};
use super::words;
use crate::outcome::Outcome;
use crate::resolve::definitions::Substance;

/// Codes of compressed gas and of gases and vapours that burn or are breathed in: they say nothing
/// about the same substance dissolved in water.
const GAS_CODES: &[&str] = &["H220", "H221", "H270", "H280", "H281", "H330", "H331", "H332"];

/// Codes of liquids that burn.
const BURNING: &[&str] = &["H224", "H225", "H226"];

/// The heading of the section that speaks of hazards.
pub const HEADING: &str = "Before you start";

/// Below this mass fraction a liquid that burns does not make its mixture burn, and what a
/// substance does as such says little. Our own figure.
const DILUTE: f64 = 0.10;

/// Hazard codes of a substance as the work meets it; `None` when they are not known.
pub fn codes(substance: &Substance, met: &Met) -> Option<Vec<String>> {
    let all = &substance.hazards.as_ref()?.value;
    let dissolved = substance.is_gas() && !met.gas_only;
    let leave_out = |code: &str| {
        // What is given off by the work comes from no gas bottle.
        (substance.is_gas() && code == "H280")
            || dissolved && GAS_CODES.iter().any(|gas| code.starts_with(gas))
            || !substance.is_gas() && met.share < DILUTE && BURNING.iter().any(|burns| code.starts_with(burns))
    };
    Some(all.iter().filter(|code| !leave_out(code)).cloned().collect())
}

/// The section before the start.
pub fn section(outcome: &Outcome, out: &mut String) {
    let met = view::met(outcome);
    let known: Vec<(&Met, Option<Vec<String>>)> = met.iter().map(|met| (met, codes(outcome.defs.substance(met.sub), met))).collect();
    let any = |wanted: &[&str]| {
        known.iter().any(|(_, codes)| codes.iter().flatten().any(|code| wanted.iter().any(|wanted| code.starts_with(wanted))))
    };
    out.push_str(&format!("## {HEADING}\n\n"));
    let mut protection = if any(&["H314"]) {
        "Wear tight-fitting goggles, a closed lab coat and gloves that stand up to what is handled; something here burns skin and eyes, so have running water and an eye wash in reach.".to_owned()
    } else if any(&["H318"]) {
        "Wear tight-fitting goggles, a closed lab coat and gloves that stand up to what is handled; something here damages the eyes for good, so have an eye wash in reach.".to_owned()
    } else {
        "Wear safety glasses, a closed lab coat and gloves that stand up to what is handled.".to_owned()
    };
    if any(&["H330", "H331", "H332", "H335", "H336", "H334", "H340", "H341", "H350", "H351", "H360", "H361"]) || any(BURNING) {
        protection.push_str(" Work in a fume hood that draws.");
    }
    if any(&["H220", "H221", "H224", "H225", "H226", "H260", "H261"]) {
        protection.push_str(" Keep flames, sparks and hot surfaces away from what burns, and know where the extinguisher is.");
    }
    if any(&["H340", "H350", "H360", "H341", "H351", "H361"]) {
        protection.push_str(" Some substances here may do lasting harm: ask who may not work with them under the local rules.");
    }
    out.push_str(&protection);
    out.push_str("\n\n");
    let ready = ready(outcome);
    if !ready.is_empty() {
        out.push_str(&format!("Have ready: {}.\n\n", words::escape(&ready.join("; "))));
    }
    out.push_str(
        "This sheet does not replace the local rules, a risk assessment or trained supervision. That a hazard is not named here does not mean that there is none.\n\n",
    );
    out.push_str("Hazards, in the order in which the work meets the substances:\n\n");
    let mut harmless: Vec<String> = Vec::new();
    for (met, codes) in &known {
        let substance = outcome.defs.substance(met.sub);
        match codes {
            Some(codes) if codes.is_empty() && !substance.is_gas() => harmless.push(substance.display()),
            codes => out.push_str(&format!("- {}\n", words::escape(&hazard(outcome, met, codes.as_deref())))),
        }
    }
    if !harmless.is_empty() {
        out.push_str(&format!(
            "- No hazard statement applies to these as they are met here: {}.\n",
            words::escape(&words::list(&harmless))
        ));
    }
    out.push('\n');
}

fn hazard(outcome: &Outcome, met: &Met, codes: Option<&[String]>) -> String {
    let substance = outcome.defs.substance(met.sub);
    let mut name = substance.display();
    if substance.is_gas() {
        name.push_str(if met.gas_only { ", given off as a gas" } else { ", in solution" });
    }
    let Some(codes) = codes else { return format!("{name}: hazards not known.") };
    let mut sentences: Vec<String> = Vec::new();
    for code in codes {
        sentences.push(match outcome.defs.hazard_texts.get(code) {
            Some((text, _)) => words::stop(text),
            None => format!("The text of {code} is not known."),
        });
    }
    if met.gas_only {
        sentences.push("Let it escape freely, never from a closed vessel; in a small room it displaces the air.".to_owned());
    }
    if sentences.is_empty() {
        sentences.push("No hazard statement applies to it as it is met here.".to_owned());
    }
    let mut text = format!("{name}: {}", sentences.join(" "));
    if !codes.is_empty() {
        text.push_str(&format!(" ({})", codes.join(", ")));
        if met.share < DILUTE && !met.gas_only {
            text.push_str(&format!(
                " This holds for the substance as such; here it is never more than {} of a portion.",
                words::percent(met.share)
            ));
        }
    }
    text
}

/// What should stand ready.
fn ready(outcome: &Outcome) -> Vec<String> {
    let mut ready = vec!["everything listed under Measure out and under Apparatus, clean and dry".to_owned()];
    let labels: IndexSet<String> = view::waste(outcome).into_iter().map(|(_, _, label)| format!("“{label}”")).collect();
    let labels: Vec<String> = labels.into_iter().collect();
    if !labels.is_empty() {
        let container = if labels.len() == 1 { "a labelled waste container for" } else { "labelled waste containers for" };
        ready.push(format!("{container} {}", words::list(&labels)));
    }
    let kept: Vec<String> = view::kept(outcome).iter().map(|kept| words::the(&outcome.procedure.binding(kept.binding).name)).collect();
    if !kept.is_empty() {
        let container = if kept.len() == 1 { "a weighed, labelled container" } else { "weighed, labelled containers" };
        ready.push(format!("{container} for {}", words::list(&kept)));
    }
    ready
}
