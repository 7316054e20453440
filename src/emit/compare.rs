//! Ways of making one thing as a table, each in a column, with what differs in hazards under it.

use super::table::Table;
use crate::compare::{Prospect, differing_hazards};
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
    type Row = (&'static str, fn(&Prospect) -> Option<f64>);
    let rows: [Row; 9] = [
        ("product, g", |one| one.product_g),
        ("yield, %", |one| one.yield_percent),
        ("purity, %", |one| one.purity_percent),
        ("time that is stated, h", |one| Some(one.hours)),
        ("water to take up, g", |one| Some(one.water_g)),
        ("drying agent, g", |one| Some(one.agent_g)),
        ("waste per kg of product (E factor), kg", |one| one.e_factor),
        ("taken per kg of product (mass intensity), kg", |one| one.mass_intensity),
        ("hazard statements met", |one| Some(one.hazards.len() as f64)),
    ];
    for (what, of) in rows {
        let count = what.starts_with("hazard");
        let cell =
            |one: &Prospect| of(one).map_or_else(|| "–".to_owned(), |value| if count { format!("{value}") } else { significant(value, 3) });
        table.row(std::iter::once(what.to_owned()).chain(all.iter().map(cell)));
    }
    out.push_str(&table.text());
    let differing = differing_hazards(all);
    if differing.is_empty() {
        out.push_str("\nAll meet the same hazards.\n");
    } else {
        out.push_str("\nHazards that not all meet:\n\n");
        for (hazard, have) in differing {
            let numbers: Vec<String> =
                all.iter().enumerate().filter(|(_, one)| have.contains(&one.name)).map(|(at, _)| (at + 1).to_string()).collect();
            out.push_str(&format!("- {hazard}: only in {}\n", numbers.join(", ")));
        }
    }
    out.push_str("\nThese are predictions, and as good as their models: a difference of yield below 5 % says little.\n");
    out
}
