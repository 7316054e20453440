//! Heats: complete where they are known and said where they are not; one model of warming up; models and bands.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, missing_docs)]

mod common;

use scruple::diagnostics::render::{Look, render};
use scruple::pipeline::Compilation;
use serde_json::Value;

fn compiled(text: &str) -> Compilation {
    let compilation = common::compile(text.to_owned(), None, None);
    assert!(compilation.outcome.is_some(), "{}", render(&compilation.findings, &compilation.sources, Look::Plain));
    compilation
}

/// A procedure of one step at the bench.
fn bench(body: &str) -> Compilation {
    compiled(&format!("procedure bench \"At the bench\" {{\n    basis a\n{body}\n    keep m as \"m\" in bottle\n}}\n"))
}

fn plan(compilation: &Compilation) -> Value {
    serde_json::from_str(&compilation.plan().unwrap()).unwrap()
}

fn near(what: &str, got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "{what}: {got} is not {wanted} ± {within}");
}

/// Heat of the additions, J, in their order.
fn heats(compilation: &Compilation) -> Vec<f64> {
    let plan = plan(compilation);
    let statements = plan["steps"].as_array().unwrap().iter().flat_map(|step| step["operations"].as_array().unwrap().clone());
    statements.filter_map(|statement| statement["addition"]["heat_J"].as_f64()).collect()
}

/// Rises of what is brought together, K, in their order.
fn rises(compilation: &Compilation) -> Vec<f64> {
    let facts = &compilation.outcome.as_ref().unwrap().evaluation.facts;
    let rise = |fact: &scruple::evaluate::Fact| match fact {
        scruple::evaluate::Fact::Warmed { rise, .. } => Some(*rise),
        _ => None,
    };
    facts.iter().filter_map(rise).collect()
}

#[test]
fn sulfuric_acid_into_lye_as_heats_of_formation_have_it() {
    // H2SO4(l) -813.99, SO4 2-(aq) -909.34, OH-(aq) -230.015, H2O -285.83 kJ/mol (CODATA key values): 206.9 kJ for each
    // mole of the acid, less the heat that 0.11 moles of water have taken already; much water, 0.25 mol of lye.
    let mixed = bench(
        "    take a = sodium_hydroxide, 10 g\n    take w = water, 100 mL\n    combine w, a -> m\n    add sulfuric_acid, 98 % w/w, 5 mL to m over 20 min, with stirring",
    );
    let by_formation = 0.0917 * (909.34 - 813.99 + 2.0 * (285.83 - 230.015)) * 1e3 - 0.0917 * 0.11 * 27_800.0;
    near("J", heats(&mixed)[0], by_formation, 0.03 * by_formation);
    near("K", *rises(&mixed).last().unwrap(), 41.0, 2.0);
    let sheet = mixed.sheet().unwrap();
    assert!(sheet.contains("go from 20 °C to about 61 °C: cool it in ice") && sheet.contains("About 19 kJ come free"), "{sheet}");
}

#[test]
fn neutralisation_in_a_cup() {
    // OpenStax Chemistry 2e, example 5.5, from memory: 50.0 mL of 1.00 M acid and of lye warm by 6.9 K.
    let cup =
        bench("    take a = hydrochloric_acid, 1.00 mol/L, 50 mL\n    take b = sodium_hydroxide, 4 % w/w, 50 g\n    combine a, b -> m");
    near("K", rises(&cup)[0], 6.9, 0.69);
}

#[test]
fn an_acid_and_a_hydroxide_without_a_heat_of_their_own() {
    // Of salts that the library does not have: making water, of a weak acid within its ionisation (0.4 kJ/mol).
    let salts = |acid: &str, salt: &str, formula: &str| {
        format!(
            "substance {salt} {{\n    formula {formula} source \"by its name\"\n    class salt\n}}\n\nprocedure bench \"At the bench\" {{\n    basis a\n    take a = {acid}\n    take w = water, 100 mL\n    reaction taking_up {{\n        {} + lithium_hydroxide -> {salt} + water\n        runs on_contact\n    }}\n    combine a, w -> m\n    add lithium_hydroxide, 2.4 g to m over 20 min, with stirring\n    keep m as \"m\" in bottle\n}}\n",
            acid.split(',').next().unwrap()
        )
    };
    let lithium = "substance lithium_hydroxide {\n    formula LiOH source \"by its name\"\n    class base\n    takes_acid 1 source \"by its formula\"\n}\n\n";
    for (acid, salt, formula, each) in [
        ("nitric_acid, 68 % w/w, 10 g", "lithium_nitrate", "LiNO3", 55_815.0),
        ("acetic_acid, glacial, 10 g", "lithium_acetate", "C2H3LiO2", 55_815.0),
    ] {
        let text = format!("{lithium}{}", salts(acid, salt, formula));
        let mixed = common::compile(text.clone(), None, None);
        assert!(mixed.outcome.is_some(), "{text}\n{}", render(&mixed.findings, &mixed.sources, Look::Plain));
        let moles = 2.4 / 23.95;
        near(acid, heats(&mixed)[0], moles * each, 0.03 * moles * each);
    }
}

#[test]
fn what_is_not_known_is_said_and_makes_the_rise_a_least() {
    let mixed = bench(
        "    take a = acetyl_chloride, 7.1 mL\n    take l = linalool, 18 mL\n    reaction acetylation {\n        linalool + acetyl_chloride -> linalyl_acetate + hydrogen_chloride\n        conversion 90 %\n    }\n    combine l -> m\n    add a to m over 20 min, with stirring, running acetylation",
    );
    let sheet = mixed.sheet().unwrap();
    assert!(sheet.contains("The heat of the acetylation is not known and not counted"), "{sheet}");
    assert!(sheet.contains("Caution: How much heat the acetylation sets free is not known: add slowly, with the vessel in ice"), "{sheet}");
    // Where part of it is known, the rise is the least.
    let mixed = bench(
        "    take a = acetyl_chloride, 15.5 mL\n    take l = ethanol, absolute, 13 mL\n    reaction acetylation {\n        ethanol + acetyl_chloride -> ethyl_acetate + hydrogen_chloride\n        conversion 90 %\n    }\n    combine l -> m\n    add a to m over 5 min, with stirring, running acetylation",
    );
    let sheet = mixed.sheet().unwrap();
    assert!(sheet.contains("hydrogen chloride dissolves in what is not water is not known and not counted"), "{sheet}");
    assert!(sheet.contains("At least 4.1 kJ come free"), "{sheet}");
    // A trace is not worth a word, and water holds the gas with its heat counted.
    let quiet = bench(
        "    take a = acetyl_chloride, 5 mL\n    take w = water, 200 mL\n    combine w -> m\n    add a to m over 20 min, with stirring",
    );
    assert!(!quiet.sheet().unwrap().contains("at least"), "{}", quiet.sheet().unwrap());
}

#[test]
fn an_anhydride_meets_an_alcohol() {
    let alone = bench(
        "    take a = isoamyl_alcohol, 40 mL\n    take b = acetic_anhydride, 1.1 eq\n    combine a -> m\n    add b to m over 20 min, with stirring",
    );
    let codes: Vec<&str> = alone.findings.iter().map(|finding| finding.code.text()).collect();
    assert_eq!(codes, ["reaction::unstated"]);
    let sheet = alone.sheet().unwrap();
    assert!(
        sheet.contains("Caution: Acetic anhydride and isoamyl alcohol react with heat, slowly in the cold, and then suddenly"),
        "{sheet}"
    );
    // 0.368 mol at 62 kJ/mol.
    assert!(sheet.contains("what can react would set free about 23 kJ"), "{sheet}");
    let run = bench(
        "    take a = isoamyl_alcohol, 40 mL\n    take b = acetic_anhydride, 1.1 eq\n    reaction acetylation {\n        isoamyl_alcohol + acetic_anhydride -> isoamyl_acetate + acetic_acid\n        conversion 98 %\n    }\n    combine a -> m\n    add b to m over 60 min, with stirring, keeping below 40 degC, standing in ice_bath, running acetylation",
    );
    assert!(run.findings.is_empty(), "{}", render(&run.findings, &run.sources, Look::Plain));
    near("J", heats(&run)[0], 0.98 * 0.368 * 62_000.0, 300.0);
    // What binds the acid has no hydrogen to give.
    let base = bench("    take a = triethylamine, 20 mL\n    take b = acetic_anhydride, 0.5 eq\n    combine a, b -> m");
    assert!(base.findings.is_empty() && !base.sheet().unwrap().contains("react with heat"), "{}", base.sheet().unwrap());
}

/// A charge that boils while its water is taken off.
fn trap(heating: &str) -> String {
    format!(
        "procedure butyl_butyrate \"Butyl butyrate with a trap\" {{\n    basis acid\n    take acid = butyric_acid, 30 g\n    take alcohol = n_butanol, 1.2 eq\n    take carrier = cyclohexane, 60 mL\n    take catalyst = tosic_acid_monohydrate, 1 mol%\n    reaction esterification {{\n        n_butanol + butyric_acid <=> butyl_butyrate + water\n        equilibrium 4.2\n        catalyst tosic_acid_monohydrate\n        heat -4 kJ/mol source \"invented\"\n    }}\n    combine acid, alcohol, carrier, catalyst -> pot\n    reflux pot for 4 h, running esterification, parting water in water_trap 15 mL{heating} -> trapped trap_water\n    discard trap_water as \"aqueous, acidic\"\n    keep pot as \"butyl butyrate, crude\" in bottle\n}}\n"
    )
}

#[test]
fn one_model_of_warming_up() {
    let warm = compiled(&trap(", heating 100 W"));
    let plan = plan(&warm);
    let statements: Vec<Value> =
        plan["steps"].as_array().unwrap().iter().flat_map(|step| step["operations"].as_array().unwrap().clone()).collect();
    let boiled = statements.iter().find(|one| one["course"].is_object()).expect("a course");
    let (course, warming) = (&boiled["course"], &boiled["warming"]);
    assert_eq!(course["heating_s"], warming["time_s"]);
    let sheet = warm.sheet().unwrap();
    let (to, boils) = (sheet.split("Warming up to ").nth(1).unwrap(), sheet.split("It boils at ").nth(1).unwrap());
    assert_eq!(to.split(" °C").next(), boils.split(" °C").next().map(|text| text.trim_start_matches("about ")), "{sheet}");
    assert!(!sheet.contains("Heating to the boil"), "{sheet}");
    let weak = common::compile(trap(", heating 3 W"), None, None);
    let codes: Vec<&str> = weak.findings.iter().map(|finding| finding.code.text()).collect();
    assert_eq!(codes, ["temperature::heater_too_weak"]);
}

#[test]
fn a_time_that_something_takes_is_told_to_the_nearest_step() {
    use scruple::operations::pace::{about, in_words};
    assert_eq!((about(186.0), in_words(186.0)), ("3 min".to_owned(), "4 min".to_owned()));
    assert_eq!(
        (about(4.0), about(100.0), about(3_700.0)),
        ("10 s".to_owned(), "100 s".to_owned(), "60 min".replace("60 min", &about(3_600.0)))
    );
}

#[test]
fn carbonate_that_is_left_takes_the_gas_up() {
    let wash = |agent: &str| {
        let text = format!(
            "procedure wash \"A wash\" {{\n    basis a\n    take a = butyl_acetate, 40 mL\n    take b = acetic_acid, glacial, 0.5 g\n    combine a, b -> pot\n    wash pot with {agent}, 40 mL -> upper crude, lower base_wash\n    discard base_wash as \"aqueous, mildly basic\"\n    keep crude as \"crude\" in bottle\n}}\n"
        );
        compiled(&text).sheet().unwrap()
    };
    let (carbonate, bicarbonate) = (wash("sodium_carbonate, 5 % w/w"), wash("sodium_bicarbonate, 5 % w/w"));
    assert!(carbonate.contains("At most") && carbonate.contains("carbonate that is left over takes some of it up"), "{carbonate}");
    assert!(bicarbonate.contains("About 200 mL of carbon dioxide comes off"), "{bicarbonate}");
}

/// Sulfuric acid warms methanol much as it warms water, and by how much nobody has declared: the sheet says so, and to cool
/// where it is much. In water it is counted.
#[test]
fn strong_acid_in_an_alcohol_is_told() {
    let sheet = |liquid: &str, acid: &str| {
        compiled(&format!(
            "procedure warm \"Warm\" {{\n    basis a\n    take a = {liquid}\n    add sulfuric_acid, 98 % w/w, {acid} to a over 5 min, with stirring\n    keep a as \"a\" in bottle\n}}\n"
        ))
        .sheet()
        .unwrap()
    };
    // 73.5 mmol in 1.25 mol: 17 molecules to one, which set 71 kJ free for each mole in water, less what 2 % of water took.
    let methanol = sheet("methanol, 40 g", "4 mL");
    assert!(methanol.contains("as many molecules of water it would warm by about 4"), "{methanol}");
    assert!(methanol.contains("Caution: Sulfuric acid grows hot in what it is added to"), "{methanol}");
    let little = sheet("methanol, 40 g", "0.1 mL");
    assert!(!little.contains("as many molecules of water"), "{little}");
    let water = sheet("water, 100 g", "4 mL");
    assert!(!water.contains("as many molecules of water") && water.contains("All at once and uncooled it would go from 20 °C"), "{water}");
}

/// Acid that runs into carbonate makes bicarbonate of it first, which the sheet says; into bicarbonate it does not.
#[test]
fn gas_comes_late_from_carbonate() {
    let sheet = |base: &str| {
        let text = format!(
            "procedure salt \"A salt\" {{\n    basis acid\n    take acid = acetic_acid, 20 % w/w, 60 g\n    take base = {base}\n    take water = water, 100 mL\n    dissolve base in water -> pot\n    add acid to pot over 10 min, with stirring\n    keep pot as \"acetate in water\" in bottle\n}}\n"
        );
        compiled(&text).sheet().unwrap()
    };
    let (carbonate, bicarbonate) = (sheet("sodium_carbonate, 0.5 eq"), sheet("sodium_bicarbonate, 0.5 eq"));
    assert!(carbonate.contains("hardly any of it before half is in, and then up to twice as fast"), "{carbonate}");
    assert!(!bicarbonate.contains("hardly any of it before") && bicarbonate.contains("mL/min while it is added"), "{bicarbonate}");
}

/// Liquids of carbon, hydrogen, oxygen and nitrogen take between 1.5 and 2.85 J/(g K): what lies outside is a slip of a table.
#[test]
fn heat_capacities_are_such_as_liquids_have() {
    let defs = common::library();
    let mut asked = 0;
    for substance in &defs.substances {
        let (Some(capacity), Some(molar), Some(formula)) = (&substance.heat_capacity, substance.molar_mass(), &substance.formula) else {
            continue;
        };
        let plain = formula.value.atoms().keys().all(|atom| ["C", "H", "O", "N"].contains(&atom.as_str()));
        if plain && formula.value.atoms().contains_key("C") && substance.is_solid(293.15) == Some(false) {
            let per_gram = capacity.value / molar / 1e3;
            assert!((1.5..2.85).contains(&per_gram), "{}: {per_gram:.2} J/(g K)", substance.name);
            asked += 1;
        }
    }
    assert!(asked > 100, "{asked}");
}

/// Every model that a plan rests on has a name, sentences and a band.
#[test]
fn no_prediction_without_a_model() {
    let mut texts: Vec<String> = common::SAMPLES.iter().map(|(_, text)| (*text).to_owned()).collect();
    texts.push(common::GOOD.to_owned());
    texts.push(trap(", heating 100 W"));
    for text in texts {
        let compilation = compiled(&text);
        for model in plan(&compilation)["models"].as_array().unwrap() {
            assert!(model["name"].is_string() && model["band"].is_string() && !model["assumes"].as_array().unwrap().is_empty(), "{model}");
        }
    }
    let gas = bench(
        "    take a = acetic_acid, glacial, 10 g\n    take w = water, 50 mL\n    combine a, w -> m\n    add sodium_bicarbonate, 10 g to m in 5 portions over 20 min, with stirring\n    add sulfuric_acid, 98 % w/w, 10 mL to m dropwise at 0.5 mL/min, keeping below 30 degC, standing in ice_bath",
    );
    let plan = plan(&gas);
    let names: Vec<&str> = plan["models"].as_array().unwrap().iter().filter_map(|model| model["name"].as_str()).collect();
    for name in ["gas", "mixing_heat", "reaction_heat", "cooling"] {
        assert!(names.contains(&name), "{name} in {names:?}");
    }
}

/// Numbers of a table of this folder stand in the bands that are told of.
#[test]
fn bands_are_what_the_tables_have() {
    use scruple::matter::model::{DORTMUND, UNIFAC, find};
    let experiment = include_str!("equilibria/EXPERIMENT.md");
    for (row, band) in [("| as used | 35 ", UNIFAC.band), ("| Dortmund | 34 ", DORTMUND.band)] {
        let line = experiment.lines().find(|line| line.starts_with(row)).unwrap_or_else(|| panic!("no row {row}"));
        let cells: Vec<f64> = line.split('|').filter_map(|cell| cell.trim().parse().ok()).collect();
        let [count, mean, worst, by_mass, worst_by_mass] = cells[..] else { panic!("{line}") };
        let by_mass = if (by_mass - by_mass.round()).abs() < 0.05 { format!("{by_mass:.0}") } else { format!("{by_mass:.1}") };
        let worst = if (worst - worst.round()).abs() < 0.05 { format!("{worst:.0}") } else { format!("{worst:.1}") };
        // What is worst is never told as less.
        let wanted = format!("{mean:.1} K and {by_mass} % by mass on average, {worst} K and {:.0} % at worst", worst_by_mass.ceil());
        assert!(band.contains(&wanted) && band.contains(&format!("over {count}")), "{wanted} in {band}");
    }
    let taken = include_str!("equilibria/TAKE_OFF.md");
    let line = taken.lines().find_map(|line| line.strip_prefix("Short of all the water: ")).unwrap();
    let percent: Vec<&str> = line.split(" %").take(2).map(|part| part.rsplit(' ').next().unwrap()).collect();
    let band = find("followed").unwrap().band;
    assert!(band.contains(&format!("{} % short", percent[0])) && band.contains(&format!("{} % at worst", percent[1])), "{band}");
}
