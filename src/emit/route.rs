//! The overview of a route in Markdown, and what its stages' sheets say of it.

use super::{sheet, view, words};
use crate::kinds::{Kind, decimals, show, significant};
use crate::route::schedule::{Long, Schedule, Stretch};
use crate::route::supply::Supply;
use crate::route::tasks::words_for;
use crate::route::{Planned, PlannedStage};
use crate::source::Sources;

/// Grams as one weighs them.
fn grams(mass_g: f64) -> String {
    show(mass_g * 1e-3, Kind::Mass, 3)
}

/// A name of the route or the procedure, as code.
fn code(name: &str) -> String {
    format!("`{name}`")
}

/// The name of the file of a stage's sheet, without its ending.
#[must_use]
pub fn sheet_name(number: usize, stage: &PlannedStage) -> String {
    format!("{}_{}", number + 1, stage.name)
}

/// The overview.
#[must_use]
pub fn overview(route: &Planned, sources: &Sources) -> String {
    let mut out = format!("# {}\n\n", words::escape(&route.title));
    wanted(route, &mut out);
    warnings(route, &mut out);
    stages(route, sources, &mut out);
    notes(route, &mut out);
    supplies(route, &mut out);
    waste(route, &mut out);
    glass(route, &mut out);
    bench_work(&route.schedule, &mut out);
    out.push_str("## The sheets\n\n");
    for stage in &route.stages {
        let variant = stage.variant.as_ref().map_or_else(String::new, |title| format!(" --variant '{title}'"));
        let runs = if stage.runs > 1 { format!(" --runs {}", stage.runs) } else { String::new() };
        let scale = significant(stage.scale * f64::from(stage.runs), 9);
        let bench = route.bench_file.as_ref().map_or_else(String::new, |bench| format!(" --bench {bench}"));
        let command = format!("scruple sheet {} --procedure {}{variant} --scale {scale}{runs}{bench}", route.file, stage.procedure);
        out.push_str(&format!("- {}: `{}`\n", code(&stage.name), command.replace('`', "'")));
    }
    out.push_str("\n`scruple route` with `-o FOLDER` writes them all. What is said here is predicted. It replaces no local rules, no risk assessment and no trained supervision.\n");
    out
}

fn wanted(route: &Planned, out: &mut String) {
    let Some(last) = route.stages.last() else { return };
    let spare = if route.spare > 0.0 { format!(", and {} of it to spare", words::percent(route.spare)) } else { String::new() };
    let line = match &route.wanted {
        Some(wanted) => {
            format!("Wanted: {wanted} of {}{spare}. The last stage is sized to give {}.", last.substance, grams(last.as_weighed_g))
        }
        None => format!(
            "Nothing is wanted in particular: the last stage is made as written{spare}, and gives {} of {}.",
            grams(last.as_weighed_g),
            last.substance
        ),
    };
    out.push_str(&format!("{}\n\n", words::escape(&line)));
}

fn warnings(route: &Planned, out: &mut String) {
    if route.stages.iter().all(|stage| stage.findings.is_empty()) {
        return;
    }
    out.push_str("## Read this first\n\n");
    for stage in &route.stages {
        for finding in &stage.findings {
            let help = finding.help.as_ref().map_or_else(String::new, |help| format!(" {}", sheet::said(help)));
            out.push_str(&format!("- {}: {}{help} ({})\n", code(&stage.name), sheet::said(&finding.message), finding.code.text()));
        }
    }
    out.push('\n');
}

/// What a run is based on: `24.5 g of benzoic acid`.
fn batch(stage: &PlannedStage, sources: &Sources) -> String {
    let outcome = &stage.outcome;
    let items = view::items(outcome, sources);
    let take = outcome.procedure.takes.get(outcome.procedure.basis);
    let item = take.and_then(|take| items.taken(take.binding));
    let text = item.map(|item| format!("{} of {}", item.measured.text, view::material(outcome, item.material, sources)));
    let text = text.unwrap_or_else(|| format!("{} times as written", significant(stage.scale, 3)));
    if stage.runs > 1 { format!("{} runs, each {text}", stage.runs) } else { text }
}

fn stages(route: &Planned, sources: &Sources, out: &mut String) {
    out.push_str("## Stages\n\n| Stage | Makes | Batch | Theory | Expected | Yield | Purity | Goes on |\n| --- | --- | --- | ---: | ---: | ---: | ---: | ---: |\n");
    for (number, stage) in route.stages.iter().enumerate() {
        let goes_on = if number + 1 == route.stages.len() { "–".to_owned() } else { grams(stage.asked_g) };
        out.push_str(&format!(
            "| {}. {} | {} | {} | {} | {} | {} | {} | {goes_on} |\n",
            number + 1,
            words::escape(&words::plain(&stage.name)),
            words::escape(&stage.substance),
            words::escape(&batch(stage, sources)),
            grams(stage.theory_g),
            grams(stage.expected_g),
            words::percent(stage.expected_yield),
            words::percent(stage.purity),
        ));
    }
    out.push_str("\nTheory, what is expected and what goes on count the pure substance, of all runs together.");
    let percent = |share: f64| words::percent(share);
    match route.lines.as_slice() {
        [(names, share)] if names.len() > 1 => {
            let yields: Vec<String> = route.stages.iter().map(|stage| percent(stage.expected_yield)).collect();
            out.push_str(&format!(" Overall yield: {} ({}).", percent(*share), yields.join(" × ")));
        }
        [_] | [] => {}
        lines => {
            let told = lines
                .iter()
                .map(|(names, share)| format!("{} by way of {}", percent(*share), words::escape(&words::plain(&names.join(", ")))));
            out.push_str(&format!(" Overall yield: {}.", words::list(&told.collect::<Vec<_>>())));
        }
    }
    out.push_str("\n\n");
}

fn notes(route: &Planned, out: &mut String) {
    let mut told: Vec<String> = Vec::new();
    for stage in &route.stages {
        let name = code(&stage.name);
        for fed in &stage.feeds {
            told.push(format!(
                "{name} takes {} of {} as {}: {} as it is predicted to be.",
                grams(fed.pure_g),
                code(&fed.from),
                code(&fed.take),
                grams(fed.as_made_g)
            ));
        }
        match &stage.recorded {
            Some(own) => {
                let records = if own.records == 1 { "one record".to_owned() } else { format!("the mean of {} records", own.records) };
                let spread = if own.records == 1 {
                    String::new()
                } else {
                    format!(" ({} to {})", words::percent(own.low), words::percent(own.high))
                };
                told.push(format!(
                    "The yield of {name} is that of {records}: {}{spread}. Predicted are {}; what is expected is {} times that.",
                    words::percent(own.mean),
                    words::percent(stage.predicted_yield),
                    significant(own.factor, 3)
                ));
            }
            None if stage.asks_for_records => told.push(format!("No record gives the yield of {name}: it is as predicted.")),
            None => {}
        }
        if let Some(why) = &stage.split_because {
            told.push(format!("{name} is made in {} runs of one size, since in one: {}", stage.runs, sheet::said(why)));
        }
        if !stage.impurities.is_empty() {
            let shares: Vec<String> =
                stage.impurities.iter().map(|(other, share)| format!("{} {}", words::escape(other), words::percent(*share))).collect();
            told.push(format!("{name} also holds {}.", words::list(&shares)));
        }
    }
    if route.stages.iter().any(|stage| !stage.feeds.is_empty()) {
        told.push("What a stage takes of an earlier one is counted as pure substance: weigh so much of it that it holds as much, by the purity that you find. What else it holds goes in with it and is not counted.".to_owned());
    }
    if told.is_empty() {
        return;
    }
    out.push_str("## From stage to stage\n\n");
    told.iter().for_each(|line| out.push_str(&format!("- {line}\n")));
    out.push('\n');
}

fn supplies(route: &Planned, out: &mut String) {
    out.push_str("## What is needed\n\n");
    let stock = route.supplies.iter().any(|supply| supply.there.is_some());
    let by = |supply: &Supply| {
        let each: Vec<String> =
            supply.stages.iter().map(|(name, mass)| format!("{} {}", words::escape(&words::plain(name)), grams(*mass))).collect();
        each.join(", ")
    };
    if stock {
        out.push_str(
            "| From stock, for all stages | Needed | There | Short | Costs | Of it for |\n| --- | ---: | ---: | ---: | ---: | --- |\n",
        );
        for supply in &route.supplies {
            let short = supply.short_g > 0.0;
            let costs = match &supply.short_costs {
                Some((cost, currency)) => format!("{cost:.2} {currency}").trim().to_owned(),
                None if short => "not known".to_owned(),
                None => "–".to_owned(),
            };
            out.push_str(&format!(
                "| {} | {} | {} | {} | {} | {} |\n",
                words::escape(&supply.material),
                supply.needed,
                supply.there.as_deref().unwrap_or("none"),
                if short { supply.short.as_str() } else { "–" },
                words::escape(&costs),
                by(supply)
            ));
        }
        let short: Vec<String> =
            route.supplies.iter().filter(|supply| supply.short_g > 0.0).map(|supply| words::escape(&supply.substance)).collect();
        let line = if short.is_empty() { "Nothing is short.".to_owned() } else { format!("Short: {}.", words::list(&short)) };
        out.push_str(&format!("\n{line}\n\n"));
    } else {
        out.push_str("| From the shelf, for all stages | Needed | Of it for |\n| --- | ---: | --- |\n");
        for supply in &route.supplies {
            out.push_str(&format!("| {} | {} | {} |\n", words::escape(&supply.material), supply.needed, by(supply)));
        }
        out.push_str("\nNo bench lists any stock, so that nothing is said of what is short. Water comes from the tap.\n\n");
    }
}

fn waste(route: &Planned, out: &mut String) {
    let e_factor = route.e_factor.map_or_else(String::new, |value| {
        format!(": {} kg to a kilogram of the last product, water counted (the E factor of the whole)", significant(value, 3))
    });
    // Less than a microgram is the noise of the sums.
    let left = if route.waste_g < 1e-6 { "no waste".to_owned() } else { format!("{} of waste and vapour{e_factor}", grams(route.waste_g)) };
    out.push_str(&format!("## Waste\n\nAll stages take {} from the shelf and the tap, and leave {left}.", grams(route.taken_g)));
    for stage in &route.stages {
        let besides: Vec<String> = view::kept(&stage.outcome)
            .iter()
            .map(|kept| stage.outcome.procedure.binding(kept.binding).name.as_str())
            .filter(|name| *name != stage.portion)
            .map(|name| words::escape(&words::plain(name)))
            .collect();
        if !besides.is_empty() {
            out.push_str(&format!(" {} keeps {} besides.", code(&stage.name), words::list(&besides)));
        }
    }
    out.push_str("\n\n");
}

fn glass(route: &Planned, out: &mut String) {
    out.push_str("## Glass that stages share\n\n");
    if route.shared.is_empty() {
        out.push_str("No two stages need the same piece.\n\n");
        return;
    }
    for shared in &route.shared {
        let names: Vec<String> = shared.stages.iter().map(|(name, _)| code(name)).collect();
        let what = if shared.washed_between { "clean and dry between them" } else { "there are enough for each to have its own" };
        out.push_str(&format!("- {}: {}; {what}\n", words::capital(&words::escape(&shared.piece)), words::list(&names)));
    }
    if route.bench.is_none() {
        out.push_str("\nNo bench says how many there are: one set is assumed.\n");
    }
    out.push('\n');
}

/// Hours after the beginning of a day: `2:05`, and with the day where it is another one.
fn clock(day: u32, hours: f64) -> String {
    // Minutes of some days: far below what an integer holds.
    let minutes = (hours * 60.0).round().clamp(0.0, 1e9) as u64;
    let time = format!("{}:{:02}", minutes / 60 % 24, minutes % 60);
    let later = minutes / 60 / 24;
    if later > 0 { format!("{time} on day {}", u64::from(day) + later) } else { time }
}

fn hours(hours: f64) -> String {
    let text = if hours < 10.0 { decimals(hours, 1) } else { decimals(hours, 0) };
    format!("{} h", text.strip_suffix(".0").unwrap_or(&text))
}

fn bench_work(work: &Schedule, out: &mut String) {
    out.push_str("## The work at the bench\n\n");
    let told = |one: &Long| format!("{}, {}: {} ({})", code(&one.stage), words::escape(&one.step), one.what, hours(one.hours));
    if !work.unattended.is_empty() {
        out.push_str("Can go on overnight, or while nobody looks after it:\n\n");
        for one in &work.unattended {
            let more = match (one.hot, one.reacts) {
                (true, _) => "; it is hot, and local rules say whether it may be left alone",
                (_, true) => "; a reaction goes on in it, and local rules say whether it may be left alone",
                _ => "",
            };
            out.push_str(&format!("- {}{more}\n", told(one)));
        }
        out.push('\n');
    }
    if !work.attended.is_empty() {
        out.push_str("Long, and never left:\n\n");
        work.attended.iter().for_each(|one| out.push_str(&format!("- {}\n", told(one))));
        out.push('\n');
    }
    if work.stretches.is_empty() {
        out.push_str("There is too much to do for days to be laid out here.\n\n");
        return;
    }
    out.push_str(&format!(
        "In days of {} at the bench, with one pair of hands, this takes {} days: {} with someone there. The last product is there after {}, all is put away after {}.\n\n",
        hours(work.day_h),
        work.days,
        hours(work.attended_h),
        hours(work.product_after_h),
        hours(work.all_after_h)
    ));
    out.push_str("| Day | From | To | Stage | Step | What | Who |\n| ---: | ---: | ---: | --- | --- | --- | --- |\n");
    for stretch in &work.stretches {
        out.push_str(&row(stretch));
    }
    out.push_str("\nTimes count from the beginning of the day (h:min)");
    if work.stretches.iter().any(|stretch| !stretch.stated) {
        out.push_str("; those with a ~ hold figures of our own, since the procedures do not say how long it takes: a still gives 3 mL a minute, a wash takes ten minutes, warming up a quarter of an hour");
    }
    out.push_str(".\n\n");
    for one in &work.too_long {
        out.push_str(&format!(
            "- {} is longer than a day at the bench: make the day longer (`--day 9h`), or let two take turns.\n",
            told(one)
        ));
    }
    if !work.too_long.is_empty() {
        out.push('\n');
    }
    out.push_str("Who has to be there is what the operations declare, and our own rule: what is heated or boils is watched, a reflux of hours under a dried return too, since its water and its siphon can fail; what dries, stands cold or cools may be left. Whether anything may be heated while nobody is there is a matter for local rules.\n\n");
}

fn row(stretch: &Stretch) -> String {
    let run = if stretch.run > 1 { format!(", run {}", stretch.run) } else { String::new() };
    let about = if stretch.stated { "" } else { "~" };
    format!(
        "| {} | {} | {about}{} | {}{run} | {} | {} | {} |\n",
        stretch.day,
        clock(stretch.day, stretch.from_h),
        clock(stretch.day, stretch.to_h),
        words::escape(&words::plain(&stretch.stage)),
        words::escape(&stretch.step),
        words::escape(&stretch.what.join(", ")),
        words_for(stretch.attention)
    )
}

/// The sheet of a stage: that of its procedure, with what it has to do with the others under the title.
#[must_use]
pub fn stage_sheet(route: &Planned, number: usize, sources: &Sources) -> Option<String> {
    let stage = route.stages.get(number)?;
    let own = sheet::sheet(&stage.outcome, &stage.findings, sources);
    let mut note = format!("Stage {} of {} of “{}”.", number + 1, route.stages.len(), words::escape(&route.title));
    for fed in &stage.feeds {
        let place = route.stages.iter().position(|earlier| earlier.name == fed.from).map_or(0, |at| at + 1);
        let times = if stage.runs > 1 { format!(" for all {} runs", stage.runs) } else { String::new() };
        note.push_str(&format!(
            " The {} is what stage {place} makes: {} of it counted as pure{times}, which {} of it holds as predicted; go by the purity that you find.",
            words::escape(&words::plain(&fed.take)),
            grams(fed.pure_g),
            grams(fed.as_made_g)
        ));
    }
    for (at, later) in route.stages.iter().enumerate() {
        for fed in later.feeds.iter().filter(|fed| fed.from == stage.name) {
            note.push_str(&format!(" Of the product {} goes on to stage {}, counted as pure.", grams(fed.pure_g), at + 1));
        }
    }
    let (title, rest) = own.split_once("\n\n")?;
    Some(format!("{title}\n\n{note}\n\n{rest}"))
}
