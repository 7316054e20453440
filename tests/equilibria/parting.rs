//! Several phases: what boils as two liquids, splits, flashes and dew points.

use scruple::chemistry::activity::Tables;
use scruple::chemistry::phase::Liquid;
use scruple::matter::portion::Masses;
use scruple::matter::system::Liquids;

use super::{ATM, MODELS, ZERO, number, numbers, reference, strings, system};

/// How far apart the logarithms of the activities in some liquids are.
pub fn unlike_activities(liquids: &[Liquid]) -> f64 {
    let logs = |liquid: &Liquid| -> Vec<f64> { liquid.x.iter().zip(&liquid.gamma).map(|(x, gamma)| (x * gamma).ln()).collect() };
    let Some(first) = liquids.first().map(logs) else { return 0.0 };
    let off =
        |liquid: &Liquid| first.iter().zip(logs(liquid)).filter(|(a, _)| a.is_finite()).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    liquids.iter().map(off).fold(0.0, f64::max)
}

/// Temperatures where two liquids boil together, the vapour and the liquids, for every unstable point.
#[test]
fn two_liquids_of_the_reference() {
    let (mut count, mut stable, mut untold, mut worst_t, mut worst_x) = (0, 0, 0, 0.0_f64, 0.0_f64);
    for row in reference()["systems"].as_array().unwrap() {
        let names = strings(&row["components"]);
        for (model, tables) in MODELS {
            let mixture = system(&names, tables);
            for point in row["models"][model]["bubble_points"].as_array().unwrap() {
                let x = numbers(&point["x"]);
                let seen = mixture.boil(&x, ATM).unwrap_or_else(|error| panic!("{names:?} {model} {x:?}: {error}"));
                if point["one_liquid_phase_unstable"].as_bool() != Some(true) {
                    let off = seen.t - ZERO - number(&point["T_C"]);
                    assert!(seen.liquids.len() == 1 && off.abs() < 1e-5, "{names:?} {model} {x:?}: {} liquids", seen.liquids.len());
                    stable += 1;
                    continue;
                }
                assert_eq!(seen.liquids.len(), 2, "{names:?} {model} {x:?}");
                assert!(unlike_activities(&seen.liquids) < 1e-9, "{names:?} {model} {x:?}");
                if !point["true_T_C"].is_number() {
                    // The reference says no more of a gap beside which the azeotrope lies.
                    untold += 1;
                    continue;
                }
                let off = seen.t - ZERO - number(&point["true_T_C"]);
                assert!(off.abs() < 1e-4, "{names:?} {model} {x:?}: {off:e} K");
                worst_t = worst_t.max(off.abs());
                let mut compare = |seen: &[f64], printed: &[f64]| {
                    for (seen, printed) in seen.iter().zip(printed) {
                        assert!((seen - printed).abs() < 1e-5, "{names:?} {model} {x:?}: {seen} against {printed}");
                        worst_x = worst_x.max((seen - printed).abs());
                    }
                };
                compare(&seen.y, &numbers(&point["true_y"]));
                if point["liquid_I"].is_array() {
                    let (first, second) = (numbers(&point["liquid_I"]), numbers(&point["liquid_II"]));
                    let turned = (seen.liquids[0].x[0] - first[0]).abs() > (seen.liquids[0].x[0] - second[0]).abs();
                    let places = if turned { [1, 0] } else { [0, 1] };
                    compare(&seen.liquids[places[0]].x, &first);
                    compare(&seen.liquids[places[1]].x, &second);
                }
                count += 1;
            }
        }
    }
    println!("{count} of two liquids, {stable} of one: {worst_t:.1e} K, x {worst_x:.1e}");
    assert_eq!((stable, count, untold), (563, 360, 21));
}

/// The temperature in K above which two liquids mix in all proportions: tables after Francis, Critical Solution
/// Temperatures, and Sørensen and Arlt, from memory.
const CONSOLUTE: &[(&str, &str, f64)] = &[
    ("methanol", "pentane", 288.0),
    ("methanol", "hexane", 307.0),
    ("methanol", "heptane", 324.0),
    ("methanol", "octane", 340.0),
    ("methanol", "cyclohexane", 319.0),
    ("acetonitrile", "hexane", 350.0),
    ("acetonitrile", "heptane", 358.0),
    ("acetonitrile", "cyclohexane", 350.0),
];

/// What mixes in all proportions at 20 °C: common practice, and for limonene the closed gap of J. Chem. Eng. Data 1995, 40,
/// 578 (abstract).
const MIXING: &[(&str, &str)] = &[
    ("ethanol", "pentane"),
    ("ethanol", "hexane"),
    ("ethanol", "cyclohexane"),
    ("ethanol", "limonene"),
    ("ethanol", "toluene"),
    ("isopropanol", "hexane"),
    ("isopropanol", "octane"),
    ("isopropanol", "limonene"),
    ("ethyl_acetate", "hexane"),
    ("ethyl_acetate", "limonene"),
    ("acetone", "hexane"),
    ("acetone", "limonene"),
];

/// The same, which are parted all the same at some compositions.
const MIXING_KNOWN_TO_FAIL: &[(&str, &str)] = &[("ethanol", "heptane"), ("ethanol", "octane")];

/// Liquids without water: of the two tables of groups the one that `scruple layers` uses lies nearer by far.
#[test]
fn liquids_without_water_part_where_they_do() {
    let defs = crate::experiment::common::library();
    let find = |name: &str| defs.find(name).unwrap_or_else(|| panic!("{name}"));
    let parts = |liquids: &Liquids, moles: &[f64], t: f64| liquids.system.split(moles, t).is_ok_and(|parts| parts.len() > 1);
    let last = |a: &str, b: &str, tables: Tables| {
        let masses = Masses::from([(find(a), 0.05), (find(b), 0.05)]);
        let liquids = Liquids::by(&masses, &defs, tables);
        let moles = liquids.moles(&masses);
        (200..440).step_by(2).map(f64::from).filter(|t| parts(&liquids, &moles, *t)).fold(0.0, f64::max)
    };
    let off = |tables: Tables| -> Vec<f64> { CONSOLUTE.iter().map(|(a, b, measured)| (last(a, b, tables) - measured).abs()).collect() };
    let (used, other) = (off(Tables::Dortmund), off(Tables::Unifac));
    let mean = |off: &[f64]| off.iter().sum::<f64>() / off.len() as f64;
    assert!(mean(&used) < 15.0 && used.iter().all(|off| *off <= 28.0), "{used:?}");
    assert!(mean(&other) > 4.0 * mean(&used) && other.iter().all(|off| *off >= 59.0), "{other:?}");
    let mix = |a: &str, b: &str| {
        let shares = [0.1, 0.3, 0.5, 0.7, 0.9];
        shares.iter().all(|share| {
            let masses = Masses::from([(find(a), *share), (find(b), 1.0 - share)]);
            let liquids = Liquids::without_water(&masses, &defs);
            !parts(&liquids, &liquids.moles(&masses), 293.15)
        })
    };
    for (a, b) in MIXING {
        assert!(mix(a, b), "{a} and {b}");
    }
    for (a, b) in MIXING_KNOWN_TO_FAIL {
        assert!(!mix(a, b), "{a} and {b} mix: take them into the table");
    }
}
