//! Vapour and liquids at equilibrium: against a reference computed with the same equations, and against laws.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::disallowed_macros,
    clippy::disallowed_methods
)]

mod azeotropes;
mod boils;
mod bubble;
mod columns;
mod distillation;
mod experiment;
mod held;
mod laws;
mod library;
mod parting;
mod robust;
mod simulations;

use std::sync::OnceLock;

use scruple::chemistry::activity::{Activity, Groups, Tables, group};
use scruple::chemistry::phase::{Component, System};
use scruple::chemistry::vapour::VapourPressure;
use serde_json::Value;

/// One standard atmosphere, Pa.
const ATM: f64 = 101_325.0;

/// The zero of the Celsius scale, K.
const ZERO: f64 = 273.15;

/// The two models, as the reference names them.
const MODELS: [(&str, Tables); 2] = [("UNIFAC", Tables::Unifac), ("UNIFAC_DORTMUND", Tables::Dortmund)];

/// Bubble points, splits and azeotropes computed with another program from the same tables and vapour
/// pressures; what and how, its note says.
fn reference() -> &'static Value {
    static READ: OnceLock<Value> = OnceLock::new();
    READ.get_or_init(|| serde_json::from_str(include_str!("data/reference.json")).unwrap())
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| value.as_str().unwrap().parse().unwrap())
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

fn strings(value: &Value) -> Vec<&str> {
    value.as_array().unwrap().iter().map(|item| item.as_str().unwrap()).collect()
}

/// The vapour pressure and molar mass of a substance of the reference.
fn component(name: &str) -> Component {
    let pure = &reference()["pure"][name];
    let of = |key: &str| number(&pure["coeffs"][key]);
    let [t_min, t_max] = [0, 1].map(|end| number(&pure["range"][end]));
    let vapour = match pure["form"].as_str().unwrap() {
        "wagner_3_6" => {
            VapourPressure::Wagner36 { a: of("a"), b: of("b"), c: of("c"), d: of("d"), tc: of("Tc"), pc: of("Pc"), t_min, t_max }
        }
        "wagner_2.5_5" => {
            VapourPressure::Wagner25 { a: of("a"), b: of("b"), c: of("c"), d: of("d"), tc: of("Tc"), pc: of("Pc"), t_min, t_max }
        }
        "dippr101" => VapourPressure::Dippr101 { c1: of("C1"), c2: of("C2"), c3: of("C3"), c4: of("C4"), c5: of("C5"), t_min, t_max },
        "antoine_log10" => VapourPressure::AntoineLog10 { a: of("A"), b: of("B"), c: of("C"), t_min, t_max },
        "antoine_ln" => VapourPressure::AntoineLn { a: of("A"), b: of("B"), c: of("C"), t_min, t_max },
        other => panic!("{other}"),
    };
    Component { vapour: Some(vapour), dimer: None, molar_mass: number(&pure["molar_mass"]) / 1000.0 }
}

fn groups(name: &str, tables: Tables) -> Groups {
    let key = if tables == Tables::Unifac { "unifac" } else { "dortmund" };
    let parts = reference()["pure"][name][key].as_object().unwrap();
    let parts: Vec<_> = parts.iter().map(|(name, count)| (group(tables, name).unwrap(), number(count) as u32)).collect();
    Groups::new(&parts).unwrap()
}

fn system(names: &[&str], tables: Tables) -> System {
    let molecules: Vec<Groups> = names.iter().map(|name| groups(name, tables)).collect();
    let activity = Activity::groups(tables, &molecules).unwrap();
    System::new(names.iter().map(|name| component(name)).collect(), activity)
}
