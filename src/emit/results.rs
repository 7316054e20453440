//! The end of the sheet: what should have come of it, where everything goes, and what it rests on.

use indexmap::IndexMap;
use std::sync::Arc;

use super::view;
use super::words;
use crate::kinds::{Kind, significant};
use crate::matter::balance;
use crate::matter::portion::Portion;
use crate::outcome::Outcome;
use crate::resolve::definitions::Sub;
use crate::resolve::quantity::Figure;
use crate::resolve::rule::{self, Rule, Setting};
use crate::source::Sources;

/// Theoretical and expected mass, yield and purity, with blanks.
pub fn should_get(outcome: &Outcome, out: &mut String) {
    let kept = view::kept(outcome);
    let products: Vec<_> = kept.iter().filter(|kept| kept.sub.is_some_and(|sub| outcome.defs.substance(sub).agent.is_none())).collect();
    if products.is_empty() && outcome.evaluation.runs.is_empty() {
        return;
    }
    out.push_str("## What you should get\n\n");
    for run in &outcome.evaluation.runs {
        let Some(reaction) = view::reaction(outcome, run) else { continue };
        // One reaction may run in several places, each time with what is there then.
        let again = outcome.evaluation.runs.iter().filter(|other| other.reaction == run.reaction).count() > 1;
        let place = view::place_of(outcome, run.statement).filter(|_| again);
        let line = format!(
            "{}: {}. Predicted{}: {} of the {}{} reacts ({}).",
            words::capital(&words::plain(&reaction.name)),
            view::equation(outcome, reaction),
            place.as_ref().map_or_else(String::new, |place| format!(" in {place}")),
            words::percent(run.conversion),
            outcome.defs.substance(run.limiting).display(),
            if again { " that is there then" } else { "" },
            words::moles(run.extent.si),
        );
        out.push_str(&format!("{}\n\n", words::escape(&line)));
    }
    if products.is_empty() {
        return;
    }
    out.push_str("| Portion | Substance | Theoretical | Expected | Yield | Purity | Measured | Yield found |\n");
    out.push_str("| --- | --- | ---: | ---: | ---: | ---: | --- | --- |\n");
    for kept in &products {
        let Some(sub) = kept.sub else { continue };
        let (pure, mass) = (kept.portion.of(sub), kept.portion.mass());
        let unknown = || "not known".to_owned();
        let taken = view::recovered(outcome, kept);
        let yield_of = kept.theoretical.or(taken).map_or_else(|| "–".to_owned(), |most| words::percent(pure / most));
        out.push_str(&format!(
            "| {} | {} | {} | {} | {yield_of} | {} | ______ g | {} |\n",
            words::escape(&words::plain(&outcome.procedure.binding(kept.binding).name)),
            words::escape(&outcome.defs.substance(sub).display()),
            match (kept.theoretical, taken) {
                (Some(most), _) => words::mass(most),
                (None, Some(taken)) => format!("{} taken", words::mass(taken)),
                (None, None) => "–".to_owned(),
            },
            words::mass(mass),
            if mass <= 0.0 {
                unknown()
            } else if pure / mass > 0.995 {
                "nearly pure".to_owned()
            } else {
                words::percent(pure / mass)
            },
            if kept.theoretical.or(taken).is_some() { "______ %" } else { "–" },
        ));
    }
    out.push_str("\nExpected mass, yield and purity are predictions, and upper bounds as far as the models hold: they know nothing of spills, of side reactions that are not written down, or of what stays on the glass.");
    back(outcome, &products, out);
    if products.iter().any(|kept| kept.theoretical.or(view::recovered(outcome, kept)).is_some()) {
        out.push_str(" Yield found = 100 × mass measured × purity / theoretical mass.");
    }
    out.push_str("\n\n");
    isolated(outcome, &products, out);
    identity(outcome, out);
}

/// How much of what was taken comes back, crops and portions together, where nothing is made.
fn back(outcome: &Outcome, products: &[&view::Kept<'_>], out: &mut String) {
    let mut all: IndexMap<Sub, (f64, f64)> = IndexMap::new();
    for kept in products {
        if let (Some(sub), Some(taken)) = (kept.sub, view::recovered(outcome, kept)) {
            all.entry(sub).or_insert((taken, 0.0)).1 += kept.portion.of(sub);
        }
    }
    if all.is_empty() {
        return;
    }
    let each = |(sub, (taken, back)): (&Sub, &(f64, f64))| {
        format!(
            "of the {} of {} taken, at most {} come back",
            words::mass(*taken),
            outcome.defs.substance(*sub).display(),
            words::mass(*back)
        )
    };
    let parts: Vec<String> = all.iter().map(each).collect();
    out.push_str(&words::escape(&format!(" Nothing is made here: {}.", parts.join("; "))));
}

/// What the source had, and what that is at this size.
fn isolated(outcome: &Outcome, products: &[&view::Kept<'_>], out: &mut String) {
    for one in &outcome.procedure.about.isolated {
        let called =
            |kept: &&&view::Kept<'_>| one.name.as_ref().is_none_or(|name| outcome.procedure.binding(kept.binding).name == name.text);
        let theory = products.iter().find(called).and_then(|kept| kept.theoretical);
        let scaled = |figure: &Figure, factor: f64| {
            let to = Figure { low: figure.low * factor, high: figure.high.map(|high| high * factor), kind: Kind::Mass, ..*figure };
            words::figure(&to)
        };
        // As the source has it: `61 to 64 %`, without zeros that nobody wrote.
        let percent = |figure: &Figure| {
            let one = |share: f64| {
                let text = significant(share * 100.0, 3);
                if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
            };
            match figure.high {
                Some(high) => format!("{} to {} %", one(figure.low), one(high)),
                None => format!("{} %", one(figure.low)),
            }
        };
        let of = one.name.as_ref().map_or_else(String::new, |name| format!(" of {}", words::the(&name.text)));
        let (had, here) = match (&one.mass, &one.share) {
            (Some(mass), share) => {
                let share = share.as_ref().map_or_else(String::new, |share| format!(" ({} of theory)", percent(share)));
                (format!("{}{of}{share} at the batch as written", words::figure(mass)), Some(scaled(mass, outcome.evaluation.scale)))
            }
            (None, Some(share)) => (format!("{} of theory{of}", percent(share)), theory.map(|theory| scaled(share, theory))),
            (None, None) => continue,
        };
        let here = here.map_or_else(String::new, |here| format!("; in proportion that is {here} for this batch"));
        out.push_str(&format!("The source isolated {}.\n\n", words::escape(&format!("{had}{here}"))));
    }
}

/// By what the product is known, with blanks.
fn identity(outcome: &Outcome, out: &mut String) {
    for identity in &outcome.procedure.about.identity {
        let what = identity.name.as_ref().map_or_else(|| "the product".to_owned(), |name| words::the(&name.text));
        out.push_str(&format!("Check what {} is:\n\n", words::escape(&what)));
        for check in &identity.checks {
            let (word, stated) = view::check(check);
            out.push_str(&format!("- [ ] {}: {}. Found: ______\n", words::capital(&words::escape(&word)), words::escape(&stated)));
        }
        out.push('\n');
    }
}

fn volume_or_mass(portion: &Portion, outcome: &Outcome) -> String {
    let mass = words::mass(portion.mass());
    match words::liquid_volume(portion, &outcome.defs) {
        Some(volume) if !words::is_solid(portion, &outcome.defs) => format!("{} ({mass})", words::volume(Some(volume))),
        _ => mass,
    }
}

/// Where everything goes that is not the product.
pub fn waste(outcome: &Outcome, out: &mut String) {
    let waste = view::waste(outcome);
    let reused: Vec<_> = view::kept(outcome).into_iter().filter(|kept| kept.sub.is_none() || kept.theoretical.is_none()).collect();
    if waste.is_empty() && reused.is_empty() {
        return;
    }
    out.push_str("## Waste and reuse\n\n");
    if !waste.is_empty() {
        let mut containers: IndexMap<&str, Vec<(&str, &Portion)>> = IndexMap::new();
        for (name, portion, label) in waste {
            containers.entry(label).or_default().push((name, portion));
        }
        out.push_str("| Container | Portion | How much | What is in it |\n| --- | --- | ---: | --- |\n");
        for (label, here) in &containers {
            for (name, portion) in here {
                out.push_str(&format!(
                    "| {} | {} | {} | {} |\n",
                    words::escape(label),
                    words::escape(&words::plain(name)),
                    volume_or_mass(portion, outcome),
                    words::escape(&words::contents(portion, &outcome.defs)),
                ));
            }
            if here.len() > 1 {
                let pooled = words::pool(here.iter().map(|(_, portion)| *portion));
                let mass: f64 = pooled.values().sum();
                out.push_str(&format!("| {} | together | {} | |\n", words::escape(label), words::mass(mass)));
            }
        }
        out.push('\n');
        out.push_str("The labels are the author's. Which container they mean, and whether it may go there, the local rules decide.\n\n");
    }
    if !reused.is_empty() {
        out.push_str("Kept, in labelled containers:\n\n");
        for kept in &reused {
            out.push_str(&format!(
                "- {}: {}; {}.\n",
                words::escape(&words::capital(&words::plain(&outcome.procedure.binding(kept.binding).name))),
                volume_or_mass(kept.portion, outcome),
                words::escape(&words::contents(kept.portion, &outcome.defs)),
            ));
        }
        out.push('\n');
    }
}

/// What goes in against what comes out.
pub fn balance(outcome: &Outcome, out: &mut String) {
    let balance = balance::balance(&outcome.procedure, &outcome.defs, &outcome.evaluation);
    out.push_str("## Material balance\n\n");
    out.push_str(&format!(
        "In: {}. Out, with what is kept, thrown away, given off and left behind: {}.\n\n",
        words::mass(balance.mass_in),
        words::mass(balance.mass_out),
    ));
    out.push_str("| Substance | In, g | Made, g | Out, g |\n| --- | ---: | ---: | ---: |\n");
    let mut traces: Vec<String> = Vec::new();
    for (sub, line) in &balance.per_substance {
        let name = outcome.defs.substance(*sub).display();
        if [line.taken, line.made, line.out].iter().all(|mass| mass.abs() < words::TRACE) {
            traces.push(name);
            continue;
        }
        out.push_str(&format!(
            "| {} | {} | {} | {} |\n",
            words::escape(&name),
            words::grams(line.taken),
            words::grams(line.made),
            words::grams(line.out),
        ));
    }
    for (sub, (into, left)) in &balance.whole {
        if balance.per_substance.contains_key(sub) {
            continue;
        }
        let name = outcome.defs.substance(*sub).display();
        out.push_str(&format!("| {} | {} | – | {} |\n", words::escape(&name), words::grams(*into), words::grams(*left)));
    }
    out.push('\n');
    if !traces.is_empty() {
        out.push_str(&format!("Traces, less than 1 mg each: {}.\n\n", words::escape(&words::list(&traces))));
    }
    if balance.per_substance.values().any(|line| line.made < -words::TRACE) {
        out.push_str("A negative figure under Made is what the reactions used up.\n\n");
    }
    if outcome.helped.is_some() {
        out.push_str("What is added only if needed is not counted here, nor in what is expected: it goes where the portion goes to which it is added.\n\n");
    }
    let worst =
        balance.elements.values().map(|(into, left)| (into - left).abs() / into.abs().max(left.abs()).max(1e-12)).fold(0.0_f64, f64::max);
    if !balance.elements.is_empty() {
        let names: Vec<String> = balance.elements.keys().cloned().collect();
        let within = if worst < 1e-6 {
            "to better than 1 part in a million".to_owned()
        } else {
            format!("to within {} %", significant(worst * 100.0, 2))
        };
        out.push_str(&format!("Every element ({}) closes {within}.\n\n", names.join(", ")));
    }
}

/// The rules that the user set, and of those that a check asked for the ones on which others
/// differ: each with its value, its source, and what others say.
fn rules(outcome: &Outcome) -> Vec<String> {
    let in_force = |rule: &&Arc<Rule>| rule.own || outcome.asked.contains(&rule.name) && !rule.others.is_empty();
    let said = |limit: &Setting, kind| format!("{} ({})", rule::shown(limit.value, kind), limit.source);
    outcome
        .defs
        .rules
        .values()
        .filter(in_force)
        .map(|rule| {
            let others: Vec<String> = rule.others.iter().map(|limit| said(limit, rule.kind)).collect();
            let others = if others.is_empty() { String::new() } else { format!("; others have {}", words::list(&others)) };
            format!("{}: {}{others}", words::capital(rule.about), said(&rule.setting, rule.kind))
        })
        .collect()
}

/// Models that others rest on, by name: the sheet tells of these what widens their bands.
const BASIC: &[&str] = &["dortmund", "unifac", "raoult", "layers", "layers_by_rule"];

/// What was assumed, which models were used, where data come from, and from which files.
pub fn assumptions(outcome: &Outcome, texts: &Sources, out: &mut String) {
    out.push_str("## Assumptions and sources\n\n");
    if !outcome.evaluation.assumed.is_empty() {
        out.push_str("Assumed:\n\n");
        for sentence in &outcome.evaluation.assumed {
            out.push_str(&format!("- {}\n", words::escape(&words::stop(sentence))));
        }
        out.push('\n');
    }
    let models = view::used_models(outcome);
    if !models.is_empty() {
        out.push_str(
            "Models, and how far they lie from experiment (`scruple explain NAME` tells what each assumes and where it fails):\n\n",
        );
        for model in &models {
            let line = match crate::matter::model::find(model) {
                // The page says the rest.
                Some(known) => {
                    let band = known.band.split(';').next().unwrap_or(known.band);
                    let wider = crate::matter::model::wider(known, &outcome.evaluation.assumed);
                    // What rests on another model is as wide as that one, which stands in the same list.
                    let wider = if BASIC.contains(&known.name) { wider } else { Vec::new() };
                    let wider: String = wider.iter().map(|clause| format!("; {clause}")).collect();
                    format!("{} ({}): {band}{wider}", words::capital(model), known.name)
                }
                None => words::capital(model),
            };
            out.push_str(&format!("- {}\n", words::escape(&words::stop(&line))));
        }
        out.push('\n');
    }
    let rules = rules(outcome);
    if !rules.is_empty() {
        out.push_str("Rules in force:\n\n");
        for rule in &rules {
            out.push_str(&format!("- {}\n", words::escape(&words::stop(rule))));
        }
        out.push('\n');
    }
    let sources = view::sources(outcome, texts);
    if !sources.is_empty() {
        out.push_str("Sources:\n\n");
        for (source, whats) in &sources {
            let whats: Vec<&str> = whats.iter().map(String::as_str).collect();
            out.push_str(&format!("- {}: {}.\n", words::escape(source), words::escape(&whats.join("; "))));
        }
        out.push('\n');
    }
    out.push_str(&format!("Made with the library of version {}", crate::library::VERSION));
    if outcome.inputs.is_empty() {
        out.push_str(".\n\n");
        return;
    }
    out.push_str(" from these files (SHA-256):\n\n");
    for (name, hash) in &outcome.inputs {
        out.push_str(&format!("- {}: {hash}\n", words::escape(name)));
    }
    out.push('\n');
}
