//! What is predicted beside what was measured: azeotropes of the library and mutual solubilities, by each
//! model. The table `EXPERIMENT.md` beside this file is what comes out; `BLESS=1` writes it.

use std::fmt::Write as _;

use scruple::chemistry::activity::Tables;
use scruple::chemistry::phase::{Kind, System};
use scruple::emit::boil::SPLITTING;
use scruple::kinds::{decimals, significant};
use scruple::matter::model;
use scruple::matter::portion::Masses;
use scruple::matter::system::Liquids;
use scruple::resolve::azeotrope::Measured;
use scruple::resolve::definitions::{Definitions, Sub};

use super::{ATM, ZERO};

#[path = "../common/mod.rs"]
pub mod common;

/// What is compared.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Way {
    /// One table of groups alone: no declared fit, no pairing in the vapour.
    Alone(Tables),
    /// What the program does: the default table, declared fits, acids that pair.
    Default,
}

const WAYS: [(&str, Way); 3] =
    [("UNIFAC", Way::Alone(Tables::Unifac)), ("Dortmund", Way::Alone(Tables::Dortmund)), ("as used", Way::Default)];

/// What one way says about a measured azeotrope.
#[derive(Clone, Debug)]
enum Said {
    /// The groups do not cover it.
    Nothing,
    /// There is no azeotrope of just these.
    None,
    /// It boils at that temperature, K, holds that by mass, and parts or does not.
    Azeotrope(f64, Vec<f64>, Kind),
}

fn system(subs: &[Sub], defs: &Definitions, way: Way) -> Option<System> {
    let masses: Masses = subs.iter().map(|sub| (*sub, 1.0)).collect();
    let liquids = match way {
        Way::Default => Liquids::of(&masses, defs),
        Way::Alone(tables) => {
            let plain = Definitions { binary_fits: Vec::new(), ..defs.clone() };
            Liquids::by(&masses, &plain, tables)
        }
    };
    if liquids.refusal.is_some() || liquids.subs.len() != subs.len() {
        return None;
    }
    // In the order asked for.
    let places: Vec<usize> = subs.iter().map(|sub| liquids.subs.iter().position(|own| own == sub).unwrap()).collect();
    let ordered = liquids.system.subset(&places);
    Some(match way {
        Way::Default => ordered,
        Way::Alone(_) => {
            let parts = ordered.components().iter().cloned().map(|mut part| {
                part.dimer = None;
                part
            });
            System::new(parts.collect(), ordered.activity().clone())
        }
    })
}

fn by_mass(system: &System, moles: &[f64]) -> Vec<f64> {
    let masses: Vec<f64> = system.components().iter().zip(moles).map(|(component, moles)| component.molar_mass * moles).collect();
    let all: f64 = masses.iter().sum();
    masses.into_iter().map(|mass| mass / all).collect()
}

fn said(between: &[String], pressure: f64, defs: &Definitions, way: Way) -> Said {
    let subs: Vec<Sub> = between.iter().map(|name| defs.find(name).unwrap()).collect();
    let Some(system) = system(&subs, defs, way) else { return Said::Nothing };
    let found = system.azeotropes(pressure).unwrap();
    match found.iter().find(|azeotrope| azeotrope.members.len() == subs.len()) {
        Some(azeotrope) => Said::Azeotrope(azeotrope.t, by_mass(&system, &azeotrope.y), azeotrope.kind),
        None => Said::None,
    }
}

/// A measured azeotrope, or that there is none, with what each way says.
struct Row {
    name: String,
    /// K; `None` where there is none.
    boils: Option<f64>,
    /// Mass fractions.
    holds: Option<Vec<f64>>,
    two_liquids: Option<bool>,
    said: Vec<Said>,
}

impl Row {
    fn of(measured: &Measured, defs: &Definitions) -> Row {
        Row {
            name: measured.between.join(", "),
            boils: measured.boils.as_ref().map(|boils| boils.value),
            holds: measured.holds.as_ref().map(|holds| holds.value.clone()),
            two_liquids: measured.two_liquids,
            said: WAYS.iter().map(|(_, way)| said(&measured.between, measured.pressure, defs, *way)).collect(),
        }
    }

    /// By how much a way is off: K, and the largest error of any mass fraction in per cent.
    fn off(&self, way: usize) -> Option<(f64, Option<f64>)> {
        let (Some(boils), Said::Azeotrope(t, shares, _)) = (self.boils, &self.said[way]) else { return None };
        let worst = |holds: &Vec<f64>| holds.iter().zip(shares).map(|(a, b)| 100.0 * (a - b).abs()).fold(0.0, f64::max);
        Some((t - boils, self.holds.as_ref().map(worst)))
    }

    /// What is wrong in kind: missed, invented, one liquid for two.
    fn failure(&self, way: usize) -> Option<String> {
        let what = match (&self.said[way], self.boils, self.two_liquids) {
            (Said::Nothing, _, _) => "not covered by the groups",
            (Said::None, Some(_), _) => "missed",
            (Said::Azeotrope(..), None, _) => "invented",
            (Said::Azeotrope(_, _, Kind::Heterogeneous), Some(_), Some(false)) => "two liquids instead of one",
            (Said::Azeotrope(_, _, Kind::Homogeneous), Some(_), Some(true)) => "one liquid instead of two",
            _ => return None,
        };
        Some(format!("{}: {what}", self.name))
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn worst(values: &[f64]) -> f64 {
    values.iter().copied().fold(0.0, f64::max)
}

/// Errors of a way over some rows: K, and per cent by mass.
fn errors(rows: &[Row], way: usize) -> (Vec<f64>, Vec<f64>) {
    let off: Vec<_> = rows.iter().filter_map(|row| row.off(way)).collect();
    (off.iter().map(|(kelvin, _)| kelvin.abs()).collect(), off.iter().filter_map(|(_, mass)| *mass).collect())
}

/// Mineral acids are outside of every model here.
fn electrolyte(measured: &Measured) -> bool {
    measured.between.iter().any(|name| ["hydrogen_chloride", "nitric_acid", "sulfuric_acid"].contains(&name.as_str()))
}

/// The source of where it boils. That there is none is of the same tables, save one from memory.
fn remembered(measured: &Measured) -> bool {
    match &measured.boils {
        Some(boils) => boils.source.contains("from memory"),
        None => measured.name == "ethanol_with_ethyl_benzoate",
    }
}

fn shares(values: &[f64]) -> String {
    values.iter().map(|share| decimals(100.0 * share, 1)).collect::<Vec<_>>().join(" / ")
}

fn cells(row: &Row) -> String {
    let measured = row.boils.map_or_else(|| "none".to_owned(), |t| decimals(t - ZERO, 2));
    let mut out = format!("| {} | {measured} | {} |", row.name, row.holds.as_deref().map_or_else(String::new, shares));
    for (way, said) in row.said.iter().enumerate() {
        match said {
            Said::Nothing => out.push_str(" not covered | | |"),
            Said::None => out.push_str(" none | | |"),
            Said::Azeotrope(t, holds, kind) => {
                let liquids = if *kind == Kind::Heterogeneous { ", two liquids" } else { "" };
                let off = row.off(way).map_or_else(String::new, |(kelvin, mass)| {
                    let sign = if kelvin > 0.0 { "+" } else { "" };
                    format!("{sign}{}; {}", decimals(kelvin, 2), mass.map_or_else(|| "–".to_owned(), |mass| decimals(mass, 1)))
                });
                write!(out, " {} | {}{liquids} | {off} |", decimals(t - ZERO, 2), shares(holds)).unwrap();
            }
        }
    }
    out
}

fn table(title: &str, rows: &[Row], out: &mut String) {
    write!(out, "\n## {title}\n\n| of | measured, °C | % by mass |").unwrap();
    for (name, _) in WAYS {
        write!(out, " {name}, °C | % by mass | off by K; % |").unwrap();
    }
    out.push_str("\n| --- | --- | --- |");
    out.push_str(&" --- | --- | --- |".repeat(WAYS.len()));
    out.push('\n');
    for row in rows {
        out.push_str(&cells(row));
        out.push('\n');
    }
}

fn summary(rows: &[Row], out: &mut String) {
    out.push_str("\n| | compared | mean, K | worst, K | mean, % by mass | worst, % by mass | wrong in kind |\n| --- | --- | --- | --- | --- | --- | --- |\n");
    for (way, (name, _)) in WAYS.iter().enumerate() {
        let (kelvin, mass) = errors(rows, way);
        let failures: Vec<String> = rows.iter().filter_map(|row| row.failure(way)).collect();
        writeln!(
            out,
            "| {name} | {} | {} | {} | {} | {} | {} |",
            kelvin.len(),
            decimals(mean(&kelvin), 2),
            decimals(worst(&kelvin), 2),
            decimals(mean(&mass), 1),
            decimals(worst(&mass), 1),
            if failures.is_empty() { "none".to_owned() } else { failures.join("; ") }
        )
        .unwrap();
    }
}

/// Azeotropes of which only the temperature is published: the id of the published check, of what, lowest and
/// highest figure in °C, source.
const TEMPERATURES: &[(&str, &[&str], f64, f64, &str)] = &[
    ("H059", &["benzene", "isopropanol"], 71.0, 72.0, "Organic Syntheses, notes"),
    ("H059", &["benzene", "isopropanol", "water"], 66.5, 66.5, "Organic Syntheses, notes"),
];

/// Layers at room temperature: the organic liquid, % by mass of it in its own layer and in that of water.
const LAYERS: &[(&str, f64, f64)] = &[
    ("n_butanol", 79.9, 7.7),
    ("isobutanol", 85.0, 8.7),
    ("ethyl_acetate", 96.7, 8.7),
    ("chloroform", 99.8, 0.8),
    ("dichloromethane", 99.9, 2.0),
];

/// % by mass of a substance in the layer of water and of water in its own; `None` for one liquid.
fn mutual(sub: Sub, defs: &Definitions, way: Way) -> Option<Option<(f64, f64)>> {
    let water = defs.find("water").unwrap();
    let system = system(&[sub, water], defs, way)?;
    let parts = system.split(&[0.3, 0.7], 293.15).unwrap();
    let share = |place: usize, of: usize| 100.0 * by_mass(&system, &parts[place].x)[of];
    if parts.len() < 2 {
        return Some(None);
    }
    let watery = usize::from(parts[0].x[1] < parts[1].x[1]);
    Some(Some((share(watery, 0), share(1 - watery, 1))))
}

/// Mutual solubilities of the esters and alcohols of the library with water, where the library has them.
fn solubilities(defs: &Definitions, out: &mut String) -> Vec<Vec<f64>> {
    out.push_str("\n## Mutual solubilities with water at 20 °C\n\nEsters and alcohols that are liquid and of which the library has the solubility in water near room temperature: % by\nmass in the layer of water, and where the library has it of water in their own layer. `x` is how many times too\nmuch or too little is predicted.\n\n| | in water | water in it |");
    for (name, _) in WAYS {
        write!(out, " {name}: in water | x | water in it | x |").unwrap();
    }
    out.push_str("\n| --- | --- | --- |");
    out.push_str(&" --- | --- | --- | --- |".repeat(WAYS.len()));
    out.push('\n');
    let mut factors: Vec<Vec<f64>> = vec![Vec::new(); WAYS.len()];
    for (number, substance) in defs.substances.iter().enumerate() {
        let near = substance.solubility_in(None).into_iter().find(|(t, s)| (t - 293.15).abs() < 8.0 && *s > 0.0);
        let fits = (substance.is("ester") || substance.is("alcohol")) && substance.is_solid(293.15) == Some(false);
        let Some((_, solubility)) = near.filter(|_| fits && substance.groups.is_some()) else { continue };
        let in_water = 100.0 * solubility / (998.2 + solubility);
        let of_water = substance.takes_up.as_ref().map(|takes| 100.0 * takes.value);
        let figure = |value: f64| significant(value, 2);
        write!(out, "| {} | {} | {} |", substance.name, figure(in_water), of_water.map_or_else(String::new, figure)).unwrap();
        for (way, (_, asked)) in WAYS.iter().enumerate() {
            let times = |seen: f64, wanted: f64| if seen > wanted { seen / wanted } else { wanted / seen };
            match mutual(Sub(number), defs, *asked) {
                None => out.push_str(" not covered | | | |"),
                Some(None) => out.push_str(" one liquid | | | |"),
                Some(Some((seen, wet))) => {
                    factors[way].push(times(seen, in_water));
                    let other = of_water.map(|wanted| {
                        factors[way].push(times(wet, wanted));
                        figure(times(wet, wanted))
                    });
                    write!(
                        out,
                        " {} | {} | {} | {} |",
                        figure(seen),
                        figure(times(seen, in_water)),
                        figure(wet),
                        other.unwrap_or_default()
                    )
                    .unwrap();
                }
            }
        }
        out.push('\n');
    }
    out.push_str("\n| | figures | off by a factor of, half of them below | nine of ten below |\n| --- | --- | --- | --- |\n");
    for ((name, _), factors) in WAYS.iter().zip(&mut factors) {
        factors.sort_by(f64::total_cmp);
        let at = |share: f64| significant(factors[((factors.len() - 1) as f64 * share) as usize], 2);
        writeln!(out, "| {name} | {} | {} | {} |", factors.len(), at(0.5), at(0.9)).unwrap();
    }
    out.push_str("\nLayers of tables after Lange, 10th ed., and CRC, 44th ed.: % by mass of the organic liquid in its own layer and in\nthat of water.\n\n| | measured |");
    for (name, _) in WAYS {
        write!(out, " {name} |").unwrap();
    }
    out.push_str("\n| --- | --- |");
    out.push_str(&" --- |".repeat(WAYS.len()));
    out.push('\n');
    for (name, own, other) in LAYERS {
        write!(out, "| {name} | {own} / {other} |").unwrap();
        for (_, way) in WAYS {
            let (seen, wet) = mutual(defs.find(name).unwrap(), defs, way).unwrap().unwrap();
            write!(out, " {} / {} |", decimals(100.0 - wet, 1), decimals(seen, 1)).unwrap();
        }
        out.push('\n');
    }
    factors
}

/// What is wrong in kind with what the program does, by name: nothing may come to it unseen.
const KNOWN: &[&str] = &["toluene, ethanol, water: two liquids instead of one"];

#[test]
fn predictions_beside_experiment() {
    let defs = common::library();
    let all: Vec<&Measured> = defs.azeotropes.iter().map(AsRef::as_ref).filter(|measured| !electrolyte(measured)).collect();
    let mut names: Vec<&&Measured> = all.iter().collect();
    names.sort_by_key(|measured| (measured.between.len(), measured.between.clone()));
    let rows = |memory: bool| -> Vec<Row> {
        names.iter().filter(|measured| remembered(measured) == memory).map(|measured| Row::of(measured, &defs)).collect()
    };
    let (looked_up, from_memory) = (rows(false), rows(true));
    let mut out = String::from(
        "# What is predicted beside what was measured\n\nWritten by the test `experiment.rs` beside this file; `BLESS=1 cargo test --test equilibria` writes it anew. UNIFAC and\nDortmund are the two tables of groups by themselves. *As used* is what the program does: original UNIFAC, the fits of\npairs in `stdlib/azeotropes/fits.scruple`, and formic, acetic and propanoic acid paired in the vapour. An error by mass\nis the largest of any substance of an azeotrope. Azeotropes with mineral acids are outside of all three.\n",
    );
    table("Azeotropes that were looked up", &looked_up, &mut out);
    summary(&looked_up, &mut out);
    table("Azeotropes from memory", &from_memory, &mut out);
    summary(&from_memory, &mut out);
    out.push_str("\n## Azeotropes of which only the temperature is published\n\n| of | published, °C | source |");
    for (name, _) in WAYS {
        write!(out, " {name}, °C |").unwrap();
    }
    out.push_str("\n| --- | --- | --- |");
    out.push_str(&" --- |".repeat(WAYS.len()));
    out.push('\n');
    for (id, between, low, high, source) in TEMPERATURES {
        let between: Vec<String> = between.iter().map(|name| (*name).to_owned()).collect();
        let range = if low == high { format!("{low}") } else { format!("{low} to {high}") };
        write!(out, "| {} | {range} | {source} ({id}) |", between.join(", ")).unwrap();
        for (_, way) in WAYS {
            let Said::Azeotrope(t, ..) = said(&between, ATM, &defs, way) else { panic!("{between:?}") };
            write!(out, " {} |", decimals(t - ZERO, 1)).unwrap();
            assert!((low - 1.5..high + 1.5).contains(&(t - ZERO)), "{between:?}: {}", t - ZERO);
        }
        out.push('\n');
    }
    let factors = solubilities(&defs, &mut out);

    let used = WAYS.len() - 1;
    let (kelvin, mass) = errors(&looked_up, used);
    assert!(kelvin.len() >= 35 && mean(&kelvin) <= 0.45 && mean(&mass) <= 3.5, "{} of {}, {}", mean(&kelvin), kelvin.len(), mean(&mass));
    assert!(worst(&kelvin) <= 1.25, "{}", worst(&kelvin));
    let parts = [
        format!("azeotropes {} K and {} % by mass on average", decimals(mean(&kelvin), 1), decimals(mean(&mass), 1)),
        format!("{} K and {} % at worst", decimals(worst(&kelvin), 1), decimals(worst(&mass), 0)),
        format!("over {}", kelvin.len()),
    ];
    for said in parts {
        assert!(model::UNIFAC.band.contains(&said), "the model's page says otherwise: {said}");
    }
    // No table of groups alone reaches it: what is declared is what brings it there.
    assert!((0..used).all(|way| mean(&errors(&looked_up, way).0) > mean(&kelvin) && mean(&errors(&looked_up, way).1) >= mean(&mass) - 0.1));
    let none = looked_up.iter().find(|row| row.name == "acetic_acid, water").unwrap();
    assert!(none.boils.is_none() && matches!(none.said[used], Said::None), "acetic acid and water have no azeotrope");
    let failures: Vec<String> = looked_up.iter().chain(&from_memory).filter_map(|row| row.failure(used)).collect();
    assert_eq!(failures, KNOWN);
    let factors = &factors[used];
    let within = |share: f64| factors[((factors.len() - 1) as f64 * share) as usize];
    assert!(factors.len() > 100 && within(0.5) < 1.45 && within(0.9) < 5.0, "{SPLITTING}: {} and {}", within(0.5), within(0.9));

    let path = common::root().join("tests/equilibria/EXPERIMENT.md");
    if std::env::var_os("BLESS").is_some() {
        std::fs::write(&path, &out).unwrap();
    }
    let stored = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(stored == out, "EXPERIMENT.md is not what comes out; `BLESS=1 cargo test --test equilibria` writes it anew");
}
