//! Ways of making one thing as a table, each in a column, with what differs in hazards under it.

use super::runs::with_uncertainty;
use super::table::{Table, paragraph};
use super::words;
use crate::compare::runs::{Run, Tested};
use crate::compare::{Prospect, currencies, differing_hazards};
use crate::kinds::significant;
use crate::record::review::Figure;

/// The comparison of predictions in text.
#[must_use]
pub fn shown(all: &[Prospect]) -> String {
    beside(all, &[], &[])
}

/// Predictions, and runs with what their differences come to, in text.
#[must_use]
pub fn beside(all: &[Prospect], runs: &[Run], tested: &[Tested]) -> String {
    // Long titles stand above the table and are numbered in it.
    let mut out = String::new();
    let names = all.iter().map(|one| one.name.clone()).chain(runs.iter().map(|run| format!("{} (recorded)", run.name)));
    for (at, name) in names.enumerate() {
        out.push_str(&format!("{}  {name}\n", at + 1));
    }
    out.push('\n');
    out.push_str(&table(all, runs).text());
    if !all.is_empty() {
        hazards(all, &mut out);
    }
    if !runs.is_empty() {
        super::runs::told(runs, tested, all.len() + 1, &mut out);
    }
    if all.is_empty() {
        return out;
    }
    out.push_str(&format!("\n{}", paragraph(TIMES)));
    costs(all, &mut out);
    for (at, one) in all.iter().enumerate() {
        if let Some(why) = &one.unfit {
            out.push_str(&format!(
                "\n{}",
                paragraph(&format!("{} cannot be made on this bench at this size: {}", at + 1, words::stop(why)))
            ));
        }
    }
    let which = if runs.is_empty() { "These are predictions" } else { "Columns that are not recorded are predictions" };
    out.push_str(&format!(
        "\n{}",
        paragraph(&format!("{which}, and as good as their models: a difference of yield below 5 % says little."))
    ));
    out
}

/// A cell of a column.
type Of<'a, T> = &'a dyn Fn(&T) -> Option<String>;

fn table(all: &[Prospect], runs: &[Run]) -> Table {
    let count = all.len() + runs.len();
    let mut table = Table::new(std::iter::once(String::new()).chain((1..=count).map(|at| at.to_string())), &[]);
    let mut row = |what: &str, of: Of<'_, Prospect>, measured: Of<'_, Run>| {
        let cells: Vec<Option<String>> = all.iter().map(of).chain(runs.iter().map(measured)).collect();
        if cells.iter().any(Option::is_some) {
            let cells = cells.into_iter().map(|cell| cell.unwrap_or_else(|| "–".to_owned()));
            table.row(std::iter::once(what.to_owned()).chain(cells));
        }
    };
    let three = |value: f64| Some(significant(value, 3));
    let hours = |value: f64| Some(if value > 0.0 { significant(value, 3) } else { "0".to_owned() });
    let found = |figure: Option<Figure>| figure.map(|figure| with_uncertainty(&figure));
    let none = |_: &Run| None;
    row("product, g", &|one| three(one.product_g?), &|run| found(run.product_g));
    row("yield, %", &|one| three(one.yield_percent?), &|run| found(run.yield_percent));
    let area = |run: &Run| found(run.purity_percent).map(|text| if run.by_area { format!("{text} (area)") } else { text });
    row("purity, %", &|one| three(one.purity_percent?), &area);
    row("time at work, h", &|one| hours(one.time.hands_h), &none);
    row("time within sight, h", &|one| hours(one.time.sight_h), &none);
    row("time left to itself, h", &|one| hours(one.time.none_h), &none);
    row("time in all, h", &|one| hours(one.time.all_h), &none);
    row("operations that state no time", &|one| Some(one.time.untimed.to_string()), &none);
    row("steps whose time was taken, h", &|_| None, &|run| hours(run.timed_h?));
    row("water to take up, g", &|one| three(one.water_g), &none);
    row("drying agent, g", &|one| three(one.agent_g), &|run| three(run.agent_g?));
    row("waste per kg of product (E factor), kg", &|one| three(one.e_factor?), &none);
    row("taken per kg of product (mass intensity), kg", &|one| three(one.mass_intensity?), &|run| three(run.mass_intensity?));
    row("not accounted for, g", &|_| None, &|run| found(Some(run.unaccounted_g)));
    for currency in currencies(all) {
        let of = |one: &Prospect| one.cost.as_ref()?.of_currency(&currency).cloned();
        row(&format!("cost of a batch, {currency}"), &|one| three(of(one)?.batch), &none);
        row(&format!("cost per kg of product, {currency}"), &|one| three(of(one)?.per_kg?), &none);
    }
    row("hazard statements met", &|one| Some(one.hazards.len().to_string()), &none);
    table
}

fn hazards(all: &[Prospect], out: &mut String) {
    let differing = differing_hazards(all);
    if differing.is_empty() {
        out.push_str("\nAll meet the same hazards.\n");
        return;
    }
    out.push_str("\nHazards that not all meet:\n\n");
    for (hazard, have) in differing {
        out.push_str(&format!("- {hazard}: only in {}\n", numbers(all, |one| have.contains(&one.name))));
    }
}

const TIMES: &str = "Times are those that the procedure states, and no more is made up for operations that state none. At work: \
    someone's hands are in it; within sight: it goes by itself and someone stays by it; left to itself: overnight too.";

/// The numbers of the columns of which something holds.
fn numbers(all: &[Prospect], holds: impl Fn(&Prospect) -> bool) -> String {
    let own = all.iter().enumerate().filter(|(_, one)| holds(one)).map(|(at, _)| (at + 1).to_string());
    own.collect::<Vec<_>>().join(", ")
}

/// What the figures of cost are of, behind an empty line; nothing where none was asked for.
pub(super) fn costs(all: &[Prospect], out: &mut String) {
    let bills: Vec<_> = all.iter().filter_map(|one| one.cost.as_ref()).collect();
    if bills.is_empty() {
        return;
    }
    let of = |list: fn(&crate::compare::Bill) -> &Vec<String>| -> Vec<String> {
        let found: std::collections::BTreeSet<String> = bills.iter().flat_map(|bill| list(bill)).cloned().collect();
        found.into_iter().collect()
    };
    let (priced, unpriced, away) = (of(|bill| &bill.priced), of(|bill| &bill.unpriced), of(|bill| &bill.put_away));
    let mut text = String::new();
    if priced.is_empty() {
        text.push_str("The bench gives no price of anything that is taken, so no cost is known.");
    } else if unpriced.is_empty() {
        text.push_str("Cost is that of all that is taken, besides water from the tap.");
    } else {
        text.push_str(&format!(
            "Cost is of the priced materials alone: {}. Without a price on the bench, and not counted: {}.",
            words::list(&priced),
            words::list(&unpriced)
        ));
    }
    if !away.is_empty() {
        text.push_str(&format!(" Put away to be used again, and yet counted in full: {}.", words::list(&away)));
    }
    if currencies(all).len() > 1 {
        text.push_str(" Currencies are not added: the cost of a batch is the sum of what stands in each.");
    }
    out.push_str(&format!("\n{}", paragraph(&text)));
}
