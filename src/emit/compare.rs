//! Ways of making one thing as a table, each in a column, with what differs in hazards under it.

use super::table::{Table, paragraph};
use super::words;
use crate::compare::{Prospect, currencies, differing_hazards};
use crate::kinds::significant;

/// The comparison in text.
#[must_use]
pub fn shown(all: &[Prospect]) -> String {
    // Long titles stand above the table and are numbered in it.
    let mut out = String::new();
    for (at, one) in all.iter().enumerate() {
        out.push_str(&format!("{}  {}\n", at + 1, one.name));
    }
    out.push('\n');
    let mut table = Table::new(std::iter::once(String::new()).chain((1..=all.len()).map(|at| at.to_string())), &[]);
    let mut row = |what: &str, of: &dyn Fn(&Prospect) -> Option<f64>, figures: fn(f64) -> String| {
        let cell = |one: &Prospect| of(one).map_or_else(|| "–".to_owned(), figures);
        table.row(std::iter::once(what.to_owned()).chain(all.iter().map(cell)));
    };
    let three = |value: f64| significant(value, 3);
    let count = |value: f64| format!("{value:.0}");
    row("product, g", &|one| one.product_g, three);
    row("yield, %", &|one| one.yield_percent, three);
    row("purity, %", &|one| one.purity_percent, three);
    row("time at work, h", &|one| Some(one.time.hands_h), three);
    row("time within sight, h", &|one| Some(one.time.sight_h), three);
    row("time left to itself, h", &|one| Some(one.time.none_h), three);
    row("time in all, h", &|one| Some(one.time.all_h), three);
    row("operations that state no time", &|one| Some(one.time.untimed as f64), count);
    row("water to take up, g", &|one| Some(one.water_g), three);
    row("drying agent, g", &|one| Some(one.agent_g), three);
    row("waste per kg of product (E factor), kg", &|one| one.e_factor, three);
    row("taken per kg of product (mass intensity), kg", &|one| one.mass_intensity, three);
    for currency in currencies(all) {
        let of = |one: &Prospect| one.cost.as_ref()?.of_currency(&currency).cloned();
        row(&format!("cost of a batch, {currency}"), &|one| Some(of(one)?.batch), three);
        row(&format!("cost per kg of product, {currency}"), &|one| of(one)?.per_kg, three);
    }
    row("hazard statements met", &|one| Some(one.hazards.len() as f64), count);
    out.push_str(&table.text());
    let differing = differing_hazards(all);
    if differing.is_empty() {
        out.push_str("\nAll meet the same hazards.\n");
    } else {
        out.push_str("\nHazards that not all meet:\n\n");
        for (hazard, have) in differing {
            out.push_str(&format!("- {hazard}: only in {}\n", numbers(all, |one| have.contains(&one.name))));
        }
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
    out.push_str("\nThese are predictions, and as good as their models: a difference of yield below 5 % says little.\n");
    out
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
