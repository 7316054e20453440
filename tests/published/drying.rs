//! Water bound in hydrates and by sieves: upper bounds by stoichiometry.

use scruple::chemistry::hydrate::hydrate_capacity;
use scruple::resolve::definitions::{Agent, Speed};

use super::bench::{is_found, of};
use super::{Abs, Check, M, Mc, Rel, S, SM, Sc, ZERO, convert, molar, near, number, over, q, reads, times};

const BOUND: &str = "upper bound by stoichiometry";
const SIEVE: &str = "supplier data sheet, molecularsieveadsorbent.com";
const RSC: &str = "RSC Education, drying liquids";
const ROBERTSON: &str = "Robertson, Laboratory Practice of Organic Chemistry, 3rd ed. 1954, in an excerpt";
const WILLIAMS: &str = "Williams and Lawton, J. Org. Chem. 2010, 75, 8351";
const ETHER: &str = "Burfield and Smithers, J. Chem. Educ. 1982, 59, 703, as quoted in sci.chem 1997, yarchive.net; for ranking";
const GENERAL: &str = "general practice";

/// Water in g that one g of an anhydrous salt binds.
fn capacity(salt: &str, waters: f64) -> f64 {
    hydrate_capacity(waters, molar(salt).si)
}

/// Asks an agent of the library something.
#[track_caller]
fn agent<T>(name: &str, ask: impl FnOnce(&Agent) -> T) -> T {
    of(name, |substance| ask(substance.agent.as_ref().unwrap()))
}

/// Which of the classes of substance an agent does not refuse; `none` if it refuses them all.
#[track_caller]
fn takes(name: &str, classes: &[&str]) -> String {
    agent(name, |agent| {
        let taken: Vec<&str> =
            classes.iter().copied().filter(|class| !agent.refuses.iter().any(|refused| refused.value == *class)).collect();
        if taken.is_empty() { "none".to_owned() } else { taken.join(", ") }
    })
}

/// Whether an agent is said to suit a class.
#[track_caller]
fn suits(name: &str, class: &str) -> String {
    agent(name, |agent| if agent.suits.iter().any(|suited| suited.value == class) { "suits" } else { "is not for it" }.to_owned())
}

#[track_caller]
fn speed(name: &str) -> String {
    agent(name, |agent| {
        match agent.speed.as_ref().unwrap().value {
            Speed::Fast => "fast",
            Speed::Moderate => "moderate",
            Speed::Slow => "slow",
        }
        .to_owned()
    })
}

/// The upper bound of what an agent holds, g of water to the g.
#[track_caller]
fn holds(name: &str) -> f64 {
    agent(name, |agent| agent.capacity.as_ref().unwrap().value)
}

/// Water left in air over an agent, mg/L.
#[track_caller]
fn air(name: &str) -> f64 {
    agent(name, |agent| agent.leaves_in_air.as_ref().unwrap().value * 1e3)
}

/// Water that it was found to leave in a liquid, mg/kg.
#[track_caller]
fn left(name: &str, liquid: &str) -> f64 {
    agent(name, |agent| agent.leaves.iter().find(|found| found.value.0 == liquid).unwrap().value.1 * 1e6)
}

/// Of the water in 100 mL of ether, what 10 g of an agent is predicted to take up in a quarter of an hour, %.
#[track_caller]
fn taken_in_a_quarter(agent: &str) -> f64 {
    let text = format!(
        "procedure dry_ether \"Ether\" {{\nbasis liquid\ntake liquid = diethyl_ether, 100 mL\ntake wet = water, 0.5 g\ncombine liquid, wet -> liquid\n\
         dry liquid over {agent}, 10 g for 15 min -> dried dry, spent used\nkeep dry as diethyl_ether in bottle\ndiscard used as \"solids, flammable\"\n}}\n"
    );
    let request = scruple::pipeline::Request { path: "a".to_owned(), ..Default::default() };
    let compilation = scruple::pipeline::compile(&request, &scruple::load::Memory::new([("a", text.as_str())]));
    let plan: serde_json::Value = serde_json::from_str(&compilation.plan().unwrap()).unwrap();
    let operations = plan.pointer("/steps/0/operations").unwrap().as_array().unwrap();
    operations.iter().find_map(|one| one.pointer("/drying/taken_percent")?.as_f64()).unwrap()
}

/// Temperatures in °C at which it gives its water back.
#[track_caller]
fn regenerates(name: &str) -> (f64, f64) {
    agent(name, |agent| agent.regenerates.as_ref().unwrap().value)
}

/// Whether drying so much of a liquid over an agent is found at fault.
fn dried(code: &str, liquid: &str, over: &str) -> String {
    let text = format!(
        "basis liquid\ntake liquid = {liquid}, 100 mL\ndry liquid over {over}, 10 g for 30 min -> dried dry, spent used\n\
         keep dry as \"dried\" in bottle\ndiscard used as \"solids, flammable\""
    );
    is_found(code, &text)
}

#[rustfmt::skip]
pub(crate) const CHECKS: &[Check] = &[
    near("G001", "MgSO4 to ·7H2O, g/g", 1.048, Rel(0.01), BOUND, Mc, || capacity("MgSO4", 7.0)),
    near("G002", "MgSO4 to ·H2O, g/g", 0.150, Rel(0.01), BOUND, Mc, || capacity("MgSO4", 1.0)),
    near("G004", "CaCl2 to ·2H2O, g/g", 0.325, Rel(0.01), BOUND, Mc, || capacity("CaCl2", 2.0)),
    near("G005", "CaCl2 to ·6H2O, g/g", 0.974, Rel(0.01), BOUND, Mc, || capacity("CaCl2", 6.0)),
    near("G007", "K2CO3 to ·1.5H2O, g/g", 0.196, Rel(0.01), BOUND, Mc, || capacity("K2CO3", 1.5)),
    near("G008", "K2CO3 to ·2H2O, g/g", 0.261, Rel(0.01), BOUND, Mc, || capacity("K2CO3", 2.0)),
    // "2 g binds over 2.5 g of water" holds only for all ten waters.
    near("G010", "2 g of Na2SO4 to ·10H2O, g of water", 2.54, Rel(0.02), "laboratory handout as copied at geomatter.mu", S, || 2.0 * capacity("Na2SO4", 10.0)),
    near("G044", "heat of adsorption of 1800 Btu/lb, kJ/kg", 4187.0, Rel(0.005), SIEVE, Sc, || convert(1800.0, "Btu_IT/lb", "kJ/kg")),
    near("G044", "heat of adsorption of 1800 Btu/lb of water, kJ/mol", 75.4, Rel(0.005), SIEVE, Sc, || number(times(q(1800.0, "Btu_IT/lb"), molar("H2O")), "kJ/mol")),
    near("G064", "Na2SO4 that binds 2.00 g of water as ·10H2O, g", 1.58, Rel(0.01), BOUND, Mc, || 2.00 / capacity("Na2SO4", 10.0)),
    near("G065", "CaCl2 that binds 2.00 g of water as ·2H2O, g", 6.16, Rel(0.01), BOUND, Mc, || 2.00 / capacity("CaCl2", 2.0)),
    near("G067", "K2CO3 that binds 2.00 g of water as ·1.5H2O, g", 10.23, Rel(0.01), BOUND, Mc, || 2.00 / capacity("K2CO3", 1.5)),
    near("G068", "3A beads of 0.72 g/mL that bind 2.00 g of water at 20 % w/w, twice over, mL", 28.0, Rel(0.05), "computed from a capacity of 20 % w/w", Mc,
        || 2.0 * number(over(over(q(2.00, "g"), q(20.0, "% w/w")), q(0.72, "g/mL")), "mL")),
    near("D1", "25 g of K2CO3 to ·1.5H2O, g of water", 4.9, Abs(0.1), "Organic Syntheses Coll. Vol. 1, 1: acetal", Sc, || 25.0 * capacity("K2CO3", 1.5)),
    near("D10", "150 g of K2CO3 to ·1.5H2O, g of water", 29.3, Abs(0.1), "Vogel's Textbook: diethyl adipate", Sc, || 150.0 * capacity("K2CO3", 1.5)),
    near("D10", "150 g of K2CO3 to ·2H2O, g of water", 39.1, Abs(0.1), "Vogel's Textbook: diethyl adipate", Sc, || 150.0 * capacity("K2CO3", 2.0)),
    near("D13", "5 g of MgSO4 to ·7H2O, g of water", 5.2, Abs(0.1), "Vogel's Textbook: methyl benzoate", Sc, || 5.0 * capacity("MgSO4", 7.0)),

    near("G040", "the least that a sieve of 3 Å takes, h", 24.0, Rel(1e-9), "J. Org. Chem. 2010, 75, 8351", M, || agent("sieve_3a", |agent| agent.acts_in.as_ref().unwrap().value.0) / 3600.0),
    near("G014", "air over CaSO4, mg/L", 0.005, Rel(0.01), ROBERTSON, S, || air("calcium_sulfate")),
    near("G016", "air over CaCl2, mg/L", 0.036, Rel(0.01), ROBERTSON, S, || air("calcium_chloride")),
    near("G019", "air over MgSO4, mg/L", 1.0, Rel(0.01), ROBERTSON, S, || air("magnesium_sulfate")),
    near("G020", "air over CuSO4, mg/L", 2.8, Rel(0.01), ROBERTSON, S, || air("copper_sulfate")),
    near("G025", "of the water in ether, over CaCl2 for 15 min, %", 84.0, Abs(0.5), ETHER, S, || taken_in_a_quarter("calcium_chloride")),
    near("G026", "of the water in ether, over MgSO4 for 15 min, %", 80.0, Abs(0.5), ETHER, S, || taken_in_a_quarter("magnesium_sulfate")),
    near("G028", "of the water in ether, over CaSO4 for 15 min, %", 22.0, Abs(0.5), ETHER, S, || taken_in_a_quarter("calcium_sulfate")),
    near("G029", "of the water in ether, over Na2SO4 for 15 min, %", 18.0, Abs(0.5), ETHER, S, || taken_in_a_quarter("sodium_sulfate")),
    near("G031", "tetrahydrofuran over a sieve of 3 Å, mg/kg", 4.0, Rel(0.01), WILLIAMS, S, || left("sieve_3a", "thf")),
    near("G034", "toluene over a sieve of 3 Å, mg/kg", 0.9, Rel(0.01), WILLIAMS, M, || left("sieve_3a", "toluene")),
    near("G035", "toluene over silica gel, mg/kg", 2.1, Rel(0.01), WILLIAMS, M, || left("silica_gel", "toluene")),
    near("G035", "toluene over alumina, mg/kg", 3.1, Rel(0.01), WILLIAMS, M, || left("alumina", "toluene")),
    near("G037", "acetonitrile over a sieve of 3 Å, mg/kg", 0.5, Rel(0.01), WILLIAMS, M, || left("sieve_3a", "acetonitrile")),
    near("G038", "methanol over a sieve of 3 Å, mg/kg", 10.0, Rel(0.01), WILLIAMS, M, || left("sieve_3a", "methanol")),
    near("G041", "sieve of 4 Å, g of water in 100 g", 21.5, Abs(1.0), SIEVE, S, || 100.0 * holds("sieve_4a")),
    reads("G043", "methanol dried over a sieve of 4 Å", "found", SIEVE, S, || dried("compatibility::agent_destroyed", "methanol", "sieve_4a, activated")),
    reads("G043", "methanol dried over a sieve of 3 Å", "not found", SIEVE, S, || dried("compatibility::agent_destroyed", "methanol", "sieve_3a, activated")),
    near("G046", "a sieve of 3 Å is regenerated from, °C", 247.5, Abs(72.5), "UMass Microscopy; nboler; scienceaq; chemtips: 175 to 320 °C", S, || regenerates("sieve_3a").0 - ZERO),
    near("G046", "a sieve of 3 Å is regenerated up to, °C", 247.5, Abs(72.6), "UMass Microscopy; nboler; scienceaq; chemtips: 175 to 320 °C", S, || regenerates("sieve_3a").1 - ZERO),
    reads("G047", "an oven of 120 °C for a sieve of 3 Å", "too cold", "chemtips", S, || if regenerates("sieve_3a").0 > 120.0 + ZERO { "too cold" } else { "hot enough" }.to_owned()),
    near("G049", "silica gel is regenerated from, °C", 135.0, Abs(15.1), GENERAL, M, || regenerates("silica_gel").0 - ZERO),
    near("G049", "silica gel is regenerated up to, °C", 135.0, Abs(15.1), GENERAL, M, || regenerates("silica_gel").1 - ZERO),
    near("G049", "silica gel, g of water to the g", 0.3, Abs(0.1), GENERAL, M, || holds("silica_gel")),
    reads("G050", "a sieve of 3 Å for ketones", "is not for it", "chemtips: acetone turns to diacetone alcohol and water over it", S, || suits("sieve_3a", "ketone")),
    reads("G052", "of what calcium chloride binds, what is not refused", "none", RSC, S, || takes("calcium_chloride", &["alcohol", "phenol", "amine", "ketone"])),
    reads("G053", "magnesium sulfate", "fast", "RSC Education, drying liquids; wizedu", S, || speed("magnesium_sulfate")),
    near("G053", "magnesium sulfate at most, g of water to the g", 1.05, Abs(0.01), "RSC Education, drying liquids; wizedu: high capacity", S, || holds("magnesium_sulfate")),
    reads("G055", "calcium sulfate", "fast", "RSC Education, drying liquids; wizedu", S, || speed("calcium_sulfate")),
    near("G055", "calcium sulfate at most, g of water to the g", 0.066, Abs(0.001), "RSC Education, drying liquids; wizedu: low capacity", S, || holds("calcium_sulfate")),
    reads("G056", "of acids, what potassium carbonate does not refuse", "none", RSC, S, || takes("potassium_carbonate", &["acid", "strong_acid", "phenol"])),
    reads("G056", "potassium carbonate for alcohols", "suits", RSC, S, || suits("potassium_carbonate", "alcohol")),
    reads("G058", "of what sodium must not meet, what is not refused", "none", GENERAL, M, || takes("sodium", &["halogenated", "alcohol", "acid"])),
    reads("G058", "of what calcium hydride must not meet, what is not refused", "none", GENERAL, M, || takes("calcium_hydride", &["halogenated", "alcohol", "acid"])),
    near("G059", "sodium sulfate gives its water back above, °C", 32.4, Abs(0.05), "University of Alberta tutorial; the temperature from memory", SM,
        || agent("sodium_sulfate", |agent| agent.effective_below.as_ref().unwrap().value) - ZERO),
    reads("G059", "a liquid distilled off its drying agent", "found", "University of Alberta tutorial", SM, || {
        let text = "basis spirit\ntake spirit = ethyl_acetate, 100 g\ntake damp = water, 2 g\ntake drier = magnesium_sulfate, 6 g\n\
            combine spirit, damp, drier -> slurry\ndistil slurry, collecting 75..79 degC -> forerun first, cut product, residue rest\n\
            keep product as ethyl_acetate in bottle\ndiscard first as \"flammable, halogen-free\"\ndiscard rest as \"solids, flammable\"";
        is_found("order::agent_left_in", text)
    }),
    near("G061", "sieve of 3 Å that `enough` takes at least, g to 100 mL", 15.0, Abs(5.1), "chemtips: 10 to 20", S, || agent("sieve_3a", |agent| agent.floor.as_ref().unwrap().value) / 10.0),
    // A hydride is refused where there is water of its own; other agents hold less than what is there.
    reads("G062", "toluene with a layer of water, over calcium hydride", "found", "LibreTexts, Nichols 7.19", S, || {
        let text = "basis liquid\ntake liquid = toluene, 100 mL\ntake damp = water, 5 mL\ncombine liquid, damp -> wet\n\
            dry wet over calcium_hydride, 20 g for 12 h -> dried dry, spent used\nkeep dry as toluene in bottle\ndiscard used as \"solids, flammable\"";
        is_found("compatibility::agent_destroyed", text)
    }),
];
