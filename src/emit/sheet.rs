//! The sheet: what goes to the hood, in Markdown.

use std::collections::{BTreeMap, BTreeSet};

use indexmap::IndexSet;

use super::view::{self, BLANK, Item, Items};
use super::{before, bench, results, steps, words};
use crate::diagnostics::Diagnostic;
use crate::kinds::{Kind, show, significant};
use crate::outcome::Outcome;
use crate::resolve::definitions::Sub;
use crate::source::Sources;

/// The sheet of an outcome.
#[must_use]
pub fn sheet(outcome: &Outcome, findings: &[Diagnostic], sources: &Sources) -> String {
    let items = view::items(outcome, sources);
    let mut out = format!("# {}\n\n", words::escape(&outcome.procedure.title));
    let doc = outcome.procedure.doc.trim();
    if !doc.is_empty() {
        out.push_str(&format!("{}\n\n", words::escape(&words::stop(doc))));
    }
    origin(outcome, &mut out);
    batch(outcome, &items, sources, &mut out);
    warnings(outcome, findings, &mut out);
    before::section(outcome, &mut out);
    measure_out(outcome, &items, sources, &mut out);
    apparatus(outcome, &mut out);
    bench::section(outcome, &mut out);
    steps::section(outcome, &items, sources, &mut out);
    results::should_get(outcome, &mut out);
    results::waste(outcome, &mut out);
    results::balance(outcome, &mut out);
    results::assumptions(outcome, sources, &mut out);
    while out.ends_with("\n\n") {
        out.pop();
    }
    out
}

/// Where it comes from, and what was changed.
fn origin(outcome: &Outcome, out: &mut String) {
    let about = &outcome.procedure.about;
    for (what, texts) in [("Origin", &about.origin), ("Changed", &about.changed)] {
        for text in texts {
            out.push_str(&format!("{what}: {}\n\n", words::escape(&words::stop(text))));
        }
    }
}

fn batch(outcome: &Outcome, items: &Items<'_>, sources: &Sources, out: &mut String) {
    let scale = outcome.evaluation.scale;
    let take = outcome.procedure.takes.get(outcome.procedure.basis);
    let basis = take.and_then(|take| items.taken(take.binding));
    let mut line = "Batch: ".to_owned();
    if let Some(item) = basis {
        line.push_str(&format!("{} of {}", item.measured.text, view::material(outcome, item.material, sources)));
        if let Some(moles) = &item.dispensed.moles {
            line.push_str(&format!(" ({})", words::moles(moles.si * item.measured.ratio())));
        }
        line.push_str(", ");
    }
    let times = format!("{} times the batch as written", significant(scale, 3));
    if outcome.runs > 1 {
        line = format!("In {} runs. Everything here is for one of them. {line}", outcome.runs);
    }
    if let Some(sought) = bench::sought(outcome) {
        line.push_str(&format!("{sought}; "));
    }
    match &outcome.sized_by {
        Some(asked) => {
            let asked = asked
                .split_once('=')
                .map_or_else(|| asked.clone(), |(name, amount)| format!("{} = {}", words::plain(name.trim()), spaced(amount.trim())));
            let all = if outcome.runs > 1 { " in all" } else { "" };
            line.push_str(&format!("sized so that {asked}{all}; {times}"));
        }
        None if (scale - 1.0).abs() < 1e-12 => line.push_str("as written"),
        None => line.push_str(&times),
    }
    out.push_str(&format!("{}\n\n", words::escape(&words::stop(&line))));
}

/// `100g` as it is written: `100 g`.
fn spaced(amount: &str) -> String {
    match amount.find(|letter: char| !(letter.is_ascii_digit() || letter == '.')) {
        Some(at) if at > 0 => {
            let (number, unit) = amount.split_at(at);
            format!("{number} {}", unit.trim_start())
        }
        _ => amount.to_owned(),
    }
}

fn warnings(outcome: &Outcome, findings: &[Diagnostic], out: &mut String) {
    if findings.is_empty() && outcome.allowed.is_empty() {
        return;
    }
    out.push_str("## Read this first\n\n");
    for finding in findings {
        let help = finding.help.as_ref().map_or_else(String::new, |help| format!(" {}", said(help)));
        out.push_str(&format!("- {}{help} ({})\n", said(&finding.message), finding.code.text()));
    }
    for allowed in &outcome.allowed {
        let finding = &allowed.finding;
        let reason = words::escape(&words::stop(&allowed.reason));
        out.push_str(&format!("- {} The author stands by it: {reason} ({})\n", said(&finding.message), finding.code.text()));
    }
    out.push('\n');
}

/// The message of a finding as a sentence of the sheet.
pub(super) fn said(message: &str) -> String {
    // Names stand in backquotes in a finding; they may stay so in Markdown.
    unescape_quoted(&words::escape(&words::stop(&words::capital(message))).replace("\\`", "`"))
}

/// Between backquotes a backslash would be shown as it is.
fn unescape_quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let parts: Vec<&str> = text.split('`').collect();
    // A backquote without its fellow quotes nothing.
    if parts.len().is_multiple_of(2) {
        return text.replace('`', "\\`");
    }
    for (at, part) in parts.iter().enumerate() {
        let quoted = at % 2 == 1;
        out.push_str(if at == 0 { "" } else { "`" });
        out.push_str(&if quoted { part.replace('\\', "") } else { (*part).to_owned() });
    }
    out
}

fn measure_out(outcome: &Outcome, items: &Items<'_>, sources: &Sources, out: &mut String) {
    out.push_str("## Measure out\n\n");
    out.push_str("| Done | Measure | With | Material | Used as | Mass | Volume | Amount | Equivalents |\n");
    out.push_str("| --- | ---: | --- | --- | --- | ---: | ---: | ---: | ---: |\n");
    let basis = view::basis_moles(outcome, items);
    for item in &items.all {
        let ratio = item.measured.ratio();
        if item.material.amount.not_stated {
            // Nothing is invented: what it takes is told by the finding and in the balance.
            out.push_str(&format!(
                "| [ ] | {BLANK} | – | {} | {} | – | – | – | – |\n",
                words::escape(&view::label(outcome, item.material, sources)),
                words::escape(&used_as(outcome, item)),
            ));
            continue;
        }
        let times = item.dispensed.times;
        let amount = if times > 1 { format!("{times} × {}", item.amount()) } else { item.amount() };
        // Each portion of several is listed once; the figures hold for one.
        let each = if times > 1 { " each" } else { "" };
        let volume = item.dispensed.volume.map(|volume| volume.si * ratio).filter(|_| !item.dispensed.solid);
        let volume = match volume {
            Some(volume) => format!("{}{each}", words::volume(Some(volume))),
            None if item.dispensed.solid => "–".to_owned(),
            None => "not known".to_owned(),
        };
        let moles = item.dispensed.moles.map_or_else(|| "–".to_owned(), |moles| format!("{}{each}", words::moles(moles.si * ratio)));
        let equivalents = item.equivalents(basis).map_or_else(|| "–".to_owned(), |eq| format!("{}{each}", significant(eq, 3)));
        // Water for washing counts no equivalents.
        let counts = item.binding.is_some() || outcome.defs.substance(item.material.sub).name != "water";
        let equivalents = if counts { equivalents } else { "–".to_owned() };
        out.push_str(&format!(
            "| [ ] | {} | {} | {} | {} | {}{each} | {volume} | {moles} | {equivalents} |\n",
            amount,
            words::escape(&item.measured.with()),
            words::escape(&view::label(outcome, item.material, sources)),
            words::escape(&used_as(outcome, item)),
            words::mass(item.dispensed.mass.si * ratio),
        ));
    }
    out.push('\n');
    limiting(outcome, items, sources, out);
}

/// What it is called in the work, or the step that takes it from the shelf.
fn used_as(outcome: &Outcome, item: &Item<'_>) -> String {
    let used = match item.statement.and_then(|number| view::step_of(outcome, number)) {
        Some(step) => format!("in step {}", step + 1),
        None if item.statement.is_some() => "in the work".to_owned(),
        None => words::plain(&item.name),
    };
    if view::only_if(outcome, item.statement).is_some() { format!("{used}, only if needed") } else { used }
}

/// The limiting reagent of the reactions that make what is kept.
fn limiting(outcome: &Outcome, items: &Items<'_>, sources: &Sources, out: &mut String) {
    let mut said: IndexSet<String> = IndexSet::new();
    let mut taken: BTreeMap<Sub, &Item<'_>> = BTreeMap::new();
    for item in items.all.iter().filter(|item| item.binding.is_some()) {
        taken.entry(item.material.sub).or_insert(item);
    }
    let mut several = outcome.evaluation.runs.iter().map(|run| run.reaction).collect::<Vec<_>>();
    several.dedup();
    let kept: BTreeSet<Sub> = view::kept(outcome).into_iter().filter_map(|kept| kept.sub).collect();
    for run in &outcome.evaluation.runs {
        let Some(reaction) = view::reaction(outcome, run) else { continue };
        let wanted = several.len() < 2 || kept.is_empty() || reaction.right.iter().any(|(_, sub)| kept.contains(sub));
        if !wanted {
            continue;
        }
        let item = taken.get(&run.limiting);
        let name = item.map_or_else(
            || outcome.defs.substance(run.limiting).display(),
            |item| format!("{} ({})", words::the(&item.name), words::unbracketed(&view::material(outcome, item.material, sources))),
        );
        let sentence = if several.len() > 1 {
            format!("In the {}, {name} runs out first and limits what can be had.", words::plain(&reaction.name))
        } else {
            format!("{} runs out first: it is the limiting reagent.", words::capital(&name))
        };
        said.insert(sentence);
    }
    if !said.is_empty() {
        out.push_str(&format!("{}\n\n", words::escape(&said.into_iter().collect::<Vec<_>>().join(" "))));
    }
    if view::basis_moles(outcome, items).is_some() {
        out.push_str("Equivalents are counted on the basis as it is measured out. ");
    }
    out.push_str("Masses and volumes are those of the rounded amounts.\n\n");
}

fn apparatus(outcome: &Outcome, out: &mut String) {
    if outcome.vessels.is_empty() {
        return;
    }
    out.push_str("## Apparatus\n\n| Done | Apparatus | Size | Filled | For | Step |\n| --- | --- | ---: | ---: | --- | --- |\n");
    for chosen in &outcome.vessels {
        let mut steps: Vec<usize> =
            chosen.statements.iter().filter_map(|number| view::step_of(outcome, *number)).map(|step| step + 1).collect();
        steps.sort_unstable();
        steps.dedup();
        let steps: Vec<String> = steps.iter().map(ToString::to_string).collect();
        let filled = chosen.fill.map_or_else(
            || "–".to_owned(),
            |fill| {
                let limit = chosen.limit.map_or_else(String::new, |limit| format!(" (at most {} %)", significant(limit * 100.0, 2)));
                format!("{} %{limit}", significant(fill * 100.0, 2))
            },
        );
        let purpose = chosen.holds.map_or_else(
            || if chosen.name.is_empty() { work(outcome, &chosen.statements) } else { words::plain(&chosen.name) },
            |id| words::plain(&outcome.procedure.binding(id).name),
        );
        out.push_str(&format!(
            "| [ ] | {} | {} | {filled} | {} | {} |\n",
            words::escape(&words::plain(&chosen.kind)),
            chosen.size.map_or_else(|| "–".to_owned(), size),
            words::escape(&purpose),
            if steps.is_empty() { "–".to_owned() } else { steps.join(", ") },
        ));
    }
    out.push('\n');
}

/// What is done in a vessel that holds nothing for long: `wash, extract`.
fn work(outcome: &Outcome, statements: &[usize]) -> String {
    let mut verbs: Vec<String> = Vec::new();
    for number in statements {
        let Some(statement) = outcome.procedure.statements.get(*number) else { continue };
        let verb = words::plain(statement.operation.form.verb());
        if !verbs.contains(&verb) {
            verbs.push(verb);
        }
    }
    if verbs.is_empty() { "–".to_owned() } else { verbs.join(", ") }
}

/// A nominal size: `250 mL`, `1 L`, without zeros behind the point.
fn size(si: f64) -> String {
    let shown = show(si, Kind::Volume, 4);
    let (number, unit) = shown.split_once(' ').unwrap_or((&shown, ""));
    let number = if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { number };
    format!("{number} {unit}").trim_end().to_owned()
}
