//! Which layer floats, what water takes up of a liquid and a liquid of water, and what a wash takes along.

use scruple::chemistry::density::interpolate;

use super::bench::{body, codes, dissolves, dissolves_percent, library, moles, plan, takes_up};
use super::{Abs, Check, M, Mc, Rel, S, SM, m, near, reads};

const DENSITIES: &str =
    "densities of the CRC Handbook in the package `chemicals` 1.5.2; brine of a public table and of a university's handbook";
const HANDBOOKS: &str = "CRC Handbook; Burdick and Jackson solvent guide";
const OUR_SUM: &str = "computed from the solubility in water";

/// A saturated brine.
const BRINE: &str = "sodium_chloride, 26.4 % w/w";

/// Where a liquid lies when it is shaken with as much of a watery one: `top` or `bottom`, `too close`
/// where that cannot be said.
fn lies(liquid: &str, with: &str) -> String {
    let text = format!(
        "basis liquid\ntake liquid = {liquid}, 40 mL\nwash liquid with {with}, 40 mL -> upper washed, lower washings\n\
         keep washed as \"washed\" in bottle\ndiscard washings as \"rest\""
    );
    let codes = codes(&body(&text));
    let has = |code| codes.contains(&code);
    let unread = codes.iter().any(|code| ["syntax", "resolve", "kinds", "data", "matter"].iter().any(|phase| code.starts_with(phase)));
    if unread {
        return codes.join(", ");
    }
    match (has("layers::too_close"), has("layers::wrong_side")) {
        (true, _) => "too close",
        (_, true) => "bottom",
        _ => "top",
    }
    .to_owned()
}

/// Grams of a liquid that so many mL of water take out of so many grams of it, in so many washes.
#[track_caller]
fn lost(liquid: &str, formula: &str, grams: f64, ml: f64, times: u32) -> f64 {
    let again = if times > 1 { format!(", {times} times") } else { String::new() };
    let text = format!(
        "basis liquid\ntake liquid = {liquid}, {grams} g\nwash liquid with water, {ml} mL{again} -> upper washed, lower washings\n\
         keep washed as {liquid} in bottle\ndiscard washings as \"aqueous, neutral\""
    );
    moles(&plan(&body(&text)), "washings", liquid) * m(formula)
}

/// Density in g/mL of the solution that the library calls brine.
fn brine() -> f64 {
    library(|defs| {
        let brine = defs.named_solution("brine").unwrap();
        let strength = brine.strength.as_ref().unwrap().value;
        let table = &defs.solution_of(&brine.solute).unwrap().density;
        interpolate(table, strength).unwrap() / 1000.0
    })
}

#[rustfmt::skip]
pub(crate) const CHECKS: &[Check] = &[
    reads("F022", "diethyl ether on water", "top", DENSITIES, S, || lies("diethyl_ether", "water")),
    reads("F023", "ethyl acetate on water", "top", DENSITIES, S, || lies("ethyl_acetate", "water")),
    reads("F025", "toluene on water", "top", DENSITIES, S, || lies("toluene", "water")),
    reads("F025", "tert-butyl methyl ether on water", "top", DENSITIES, S, || lies("mtbe", "water")),
    reads("F025", "cyclohexene on water", "top", DENSITIES, S, || lies("cyclohexene", "water")),
    reads("F026", "dichloromethane under water", "bottom", DENSITIES, S, || lies("dichloromethane", "water")),
    reads("F026", "dichloromethane under saturated brine", "bottom", DENSITIES, S, || lies("dichloromethane", BRINE)),
    reads("F028", "1-bromobutane under water", "bottom", DENSITIES, S, || lies("n_butyl_bromide", "water")),
    reads("F028", "1-bromobutane under saturated brine", "bottom", DENSITIES, S, || lies("n_butyl_bromide", BRINE)),
    reads("F028", "1-bromobutane on concentrated sulfuric acid", "top", DENSITIES, S, || lies("n_butyl_bromide", "sulfuric_acid, conc")),
    reads("F029", "chlorobenzene under water", "bottom", DENSITIES, S, || lies("chlorobenzene", "water")),
    reads("F029", "chlorobenzene on saturated brine: the layers turn over", "top", DENSITIES, S, || lies("chlorobenzene", BRINE)),
    reads("F031", "methyl salicylate and saturated brine", "too close", DENSITIES, S, || lies("methyl_salicylate", BRINE)),
    reads("F032", "diethyl adipate and water", "too close", DENSITIES, S, || lies("diethyl_adipate", "water")),
    reads("F032", "diethyl succinate under water", "bottom", DENSITIES, S, || lies("diethyl_succinate", "water")),
    reads("F034", "tert-butyl chloride on concentrated hydrochloric acid", "top", DENSITIES, S, || lies("tert_butyl_chloride", "hydrochloric_acid, conc")),
    near("F037", "the brine of the library, g/mL", 1.2, Abs(0.01), "University of Colorado, organic laboratory handbook", S, brine),

    near("F040", "water in ethyl acetate, % w/w", 3.0, Rel(0.10), "fact-archive, ethyl acetate", S, || takes_up("ethyl_acetate")),
    near("F041", "butyl acetate in water at 20 °C, % w/w", 0.7, Rel(0.30), "Allen Petroleum data page", SM, || dissolves_percent("butyl_acetate", 20.0)),
    // The sources give 1.2 and 1.6.
    near("F041", "water in butyl acetate, % w/w", 1.4, Rel(0.30), "Allen Petroleum data page; Eastman data sheet", SM, || takes_up("butyl_acetate")),
    near("F043", "diethyl ether in water at 20 °C, % w/w", 6.45, Rel(0.10), HANDBOOKS, M, || dissolves_percent("diethyl_ether", 20.0)),
    near("F043", "water in diethyl ether, % w/w", 1.35, Rel(0.12), HANDBOOKS, M, || takes_up("diethyl_ether")),
    near("F044", "dichloromethane in water, % w/w", 1.45, Rel(0.20), HANDBOOKS, M, || dissolves_percent("dichloromethane", 25.0)),
    near("F044", "water in dichloromethane, % w/w", 0.22, Rel(0.20), HANDBOOKS, M, || takes_up("dichloromethane")),
    near("F046", "tert-butyl methyl ether in water, % w/w", 4.5, Rel(0.10), HANDBOOKS, M, || dissolves_percent("mtbe", 20.0)),
    near("F046", "water in tert-butyl methyl ether, % w/w", 1.4, Rel(0.10), HANDBOOKS, M, || takes_up("mtbe")),
    near("F047", "isopentyl acetate in 100 mL of water, g", 0.2, Rel(0.20), "CRC Handbook", M, || dissolves("isoamyl_acetate", 20.0) / 10.0),
    near("F049", "sodium bicarbonate in 100 mL of water at 20 °C, g", 9.6, Rel(0.02), "CRC Handbook", M, || dissolves("sodium_bicarbonate", 20.0) / 10.0),
    near("F049", "the same as a share of the solution, % w/w", 8.8, Rel(0.02), "CRC Handbook", M, || dissolves_percent("sodium_bicarbonate", 20.0)),
    near("F052", "10.0 g of ethyl acetate and 100 mL of water: lost, g", 8.0, Rel(0.20), OUR_SUM, Mc, || lost("ethyl_acetate", "C4H8O2", 10.0, 100.0, 1)),
    // Past half of the product what is warned of is no longer a loss but a product thrown away.
    reads("F052", "the same, what it is faulted for", "yield::thrown_away", OUR_SUM, Mc, || {
        let text = "basis liquid\ntake liquid = ethyl_acetate, 10.0 g\nwash liquid with water, 100 mL -> upper washed, lower washings\n\
            dry washed over magnesium_sulfate, 2 g for 10 min -> dried dry, spent used\n\
            keep dry as ethyl_acetate in bottle\ndiscard washings as \"aqueous, neutral\"\ndiscard used as \"solids, flammable\"";
        codes(&body(text)).into_iter().filter(|code| code.starts_with("yield")).collect::<Vec<_>>().join(", ")
    }),
    near("F053", "13.0 g of isopentyl acetate and 3 × 25 mL of water: lost, g", 0.15, Rel(0.30), OUR_SUM, Mc, || lost("isoamyl_acetate", "C7H14O2", 13.0, 25.0, 3)),
];
