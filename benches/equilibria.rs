//! How long phase equilibria take: `cargo bench --bench equilibria`. With `-- --json` one line for
//! `benches/equilibria.py`, which sets the same cases of a general-purpose library beside it.
#![allow(clippy::disallowed_methods, clippy::disallowed_macros, reason = "a bench reads the clock and prints")]
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic, missing_docs)]

use std::hint::black_box;
use std::time::{Duration, Instant};

use scruple::chemistry::activity::{Activity, Groups, Tables, group};
use scruple::chemistry::phase::{Component, System};
use scruple::chemistry::vapour::VapourPressure;
use scruple::load::Memory;
use scruple::operations::remembered;
use serde_json::{Value, json};

const ATM: f64 = 101_325.0;

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| value.as_str().unwrap().parse().unwrap())
}

/// A system of the tests' reference, by the first set of groups.
fn system(reference: &Value, names: &[&str]) -> System {
    let mut components = Vec::new();
    let mut molecules = Vec::new();
    for name in names {
        let pure = &reference["pure"][*name];
        let of = |key: &str| number(&pure["coeffs"][key]);
        let [t_min, t_max] = [0, 1].map(|end| number(&pure["range"][end]));
        assert_eq!(pure["form"], "wagner_3_6", "{name}");
        let vapour = VapourPressure::Wagner36 { a: of("a"), b: of("b"), c: of("c"), d: of("d"), tc: of("Tc"), pc: of("Pc"), t_min, t_max };
        components.push(Component { vapour: Some(vapour), dimer: None, molar_mass: number(&pure["molar_mass"]) / 1000.0 });
        let parts = pure["unifac"].as_object().unwrap();
        let parts: Vec<_> = parts.iter().map(|(name, count)| (group(Tables::Unifac, name).unwrap(), number(count) as u32)).collect();
        molecules.push(Groups::new(&parts).unwrap());
    }
    System::new(components, Activity::groups(Tables::Unifac, &molecules).unwrap())
}

/// Time that this program has spent at work, where the system tells; else what the clock says.
fn now(start: Instant) -> Duration {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let at_work = told.and_then(|text| text.split_whitespace().next()?.parse().ok());
    at_work.map_or_else(|| start.elapsed(), Duration::from_nanos)
}

/// The shortest time of one run, of some rounds of many: the clock of work may tick as slowly as 4 ms.
fn time(mut work: impl FnMut()) -> Duration {
    let zero = Instant::now();
    let mut runs = 1_u32;
    let mut round = |runs: u32| {
        let start = now(zero);
        (0..runs).for_each(|_| work());
        now(zero).saturating_sub(start)
    };
    while round(runs) < Duration::from_millis(100) {
        runs *= 2;
    }
    (0..5).map(|_| round(runs) / runs).min().unwrap()
}

fn main() {
    let reference: Value = serde_json::from_str(include_str!("../tests/equilibria/data/reference.json")).unwrap();
    let two = system(&reference, &["ethanol", "water"]);
    let three = system(&reference, &["toluene", "ethanol", "water"]);
    let mixed = system(&reference, &["ethanol", "ethyl_acetate", "water"]);
    let x = [0.2, 0.5, 0.3];
    let mut logs = [0.0; 3];
    let mut at = three.activity().at(350.0);
    let mut t = 350.0;
    // A ketal under a dried return of seven hours, followed to the end, as the sheet asks for it.
    let example = Memory::new([("fructone.scruple", include_bytes!("../examples/fructone.scruple").to_vec())]);
    let outcome = scruple::pipeline::check("fructone.scruple", &example).outcome.unwrap();
    let course = outcome.courses()[0];
    let cases: Vec<(&str, Duration)> = vec![
        ("gamma_vector", time(|| at.ln_gamma(black_box(&x), &mut logs))),
        ("gamma_vector_new_temperature", {
            let mut at = three.activity().at(350.0);
            time(|| {
                t += 1e-6;
                at.warm_to(black_box(t));
                at.ln_gamma(&x, &mut logs);
            })
        }),
        ("bubble_two", time(|| drop(black_box(two.bubble(black_box(&[0.3, 0.7]), ATM).unwrap())))),
        ("bubble_three", time(|| drop(black_box(three.bubble(black_box(&[0.05, 0.9, 0.05]), ATM).unwrap())))),
        ("boil_three_one_liquid", time(|| drop(black_box(three.boil(black_box(&[0.05, 0.9, 0.05]), ATM).unwrap())))),
        ("boil_three_two_liquids", time(|| drop(black_box(three.boil(black_box(&[0.4, 0.2, 0.4]), ATM).unwrap())))),
        ("split_three", time(|| drop(black_box(three.split(black_box(&[0.4, 0.2, 0.4]), 300.0).unwrap())))),
        ("flash_three", time(|| drop(black_box(three.flash(black_box(&[0.4, 0.2, 0.4]), 348.0, ATM).unwrap())))),
        ("dew_three", time(|| drop(black_box(three.dew(black_box(&[0.4, 0.2, 0.4]), ATM).unwrap())))),
        ("ten_flashes_three", {
            let flash = || drop(black_box(three.flash(black_box(&[0.4, 0.2, 0.4]), 348.0, ATM).unwrap()));
            time(|| (0..10).for_each(|_| flash()))
        }),
        (
            "dried_return",
            time(|| {
                // Nothing is remembered of the run before.
                remembered::forget();
                drop(black_box(outcome.course(course).unwrap().unwrap()));
            }),
        ),
        ("azeotropes_two", time(|| assert_eq!(two.azeotropes(black_box(ATM)).unwrap().len(), 1))),
        ("azeotropes_three_two_liquids", time(|| assert_eq!(three.azeotropes(black_box(ATM)).unwrap().len(), 4))),
        ("azeotropes_three", time(|| assert_eq!(mixed.azeotropes(black_box(ATM)).unwrap().len(), 4))),
    ];
    if std::env::args().any(|argument| argument == "--json") {
        let seconds: serde_json::Map<String, Value> =
            cases.iter().map(|(name, time)| ((*name).to_owned(), json!(time.as_secs_f64()))).collect();
        println!("{}", Value::Object(seconds));
        return;
    }
    let unit = cases[0].1.as_secs_f64();
    println!("{:<32} {:>12} {:>16}", "", "time", "gamma vectors");
    for (name, time) in &cases {
        println!("{name:<32} {time:>12.2?} {:>16.1}", time.as_secs_f64() / unit);
    }
}
