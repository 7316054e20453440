//! Laws over random compositions.

use proptest::prelude::*;
use scruple::chemistry::activity::{Activity, Fit};
use scruple::chemistry::phase::{Dimer, System};

use super::parting::unlike_activities;
use super::{ATM, MODELS, system};

/// Mixtures with one liquid, with gaps narrow and wide, with three liquids within reach, with an acid that pairs.
const MIXTURES: [&[&str]; 7] = [
    &["ethanol", "water", "ethyl_acetate"],
    &["toluene", "ethanol", "water"],
    &["n_butanol", "butyl_acetate", "water"],
    &["cyclohexane", "ethanol"],
    &["hexane", "methanol", "water", "toluene"],
    &["acetic_acid", "water", "butyl_acetate"],
    &["acetic_acid", "ethanol", "ethyl_acetate", "water", "cyclohexane"],
];

fn mixture(which: usize, model: usize) -> System {
    let names = MIXTURES[which];
    let plain = system(names, MODELS[model].1);
    let mut parts = plain.components().to_vec();
    for (part, name) in parts.iter_mut().zip(names) {
        if *name == "acetic_acid" {
            part.dimer = Some(Dimer::ACETIC);
        }
    }
    System::new(parts, plain.activity().clone())
}

/// Amounts over nine decades.
fn amounts() -> impl Strategy<Value = Vec<f64>> {
    proptest::collection::vec((-9.0..0.0_f64).prop_map(|log| 10f64.powf(log)), 5)
        .prop_flat_map(|traces| (Just(traces), proptest::collection::vec(prop_oneof![3 => 0.0..1.0_f64, 1 => Just(0.0)], 5)))
        .prop_map(|(traces, plain)| traces.iter().zip(plain).map(|(trace, plain)| trace + plain).collect())
}

fn unit(amounts: &[f64]) -> Vec<f64> {
    let whole: f64 = amounts.iter().sum();
    amounts.iter().map(|amount| amount / whole).collect()
}

/// At the boiling point there is a little vapour just above and none just below; its dew point leads back.
fn agree(mixture: &System, z: &[f64], p: f64) -> Result<(), TestCaseError> {
    let boil = mixture.boil(z, p).unwrap();
    let below = mixture.flash(z, boil.t - 1e-3, p).unwrap();
    prop_assert!(below.vapour == 0.0 && below.liquids.len() == boil.liquids.len(), "{:?} {:?}", boil, below);
    let above = mixture.flash(z, boil.t + 1e-3, p).unwrap();
    prop_assert!(above.vapour > 0.0, "{:?} {:?}", boil, above);
    let dew = mixture.dew(&boil.y, p).unwrap();
    prop_assert!((dew.t - boil.t).abs() < 1e-5, "{:?} {:?}", boil, dew);
    let gone = mixture.flash(z, mixture.dew(z, p).unwrap().t + 1e-3, p).unwrap();
    prop_assert!(gone.liquids.is_empty(), "{:?}", gone);
    Ok(())
}

/// `LAWS=20` in the environment tries twenty times as many cases.
fn cases() -> ProptestConfig {
    let more = std::env::var("LAWS").ok().and_then(|more| more.parse().ok()).unwrap_or(1);
    ProptestConfig { cases: 60 * more, failure_persistence: None, max_shrink_iters: 400, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(cases())]

    /// Σ x d ln γ = 0 along any change at one temperature, with and without fits.
    #[test]
    fn gibbs_and_duhem(which in 0..7_usize, model in 0..2_usize, x in amounts(), t in 280.0..420.0_f64, fitted: bool) {
        let mixture = mixture(which, model);
        let n = mixture.len();
        let mut activity: Activity = mixture.activity().clone();
        if fitted {
            activity = activity.with_fit(0, 1, Fit::Nrtl { a12: 0.4, a21: 0.3, b12: 200.0, b21: 100.0, alpha: 0.3 });
            activity = activity.with_fit(n - 1, 0, Fit::Margules { a12: 1.1, a21: 0.6 });
        }
        let x = unit(&x[..n]);
        let mut slopes = vec![0.0; n * n];
        activity.at(t).slopes(&x, &mut slopes);
        for j in 0..n {
            let sum: f64 = (0..n).map(|i| x[i] * slopes[i * n + j]).sum();
            let size: f64 = (0..n).map(|i| (x[i] * slopes[i * n + j]).abs()).sum();
            prop_assert!(sum.abs() < 1e-6 * (1.0 + size), "{sum:e}");
            // The mixed derivatives of one energy are alike.
            for i in 0..n {
                prop_assert!((slopes[i * n + j] - slopes[j * n + i]).abs() < 1e-5 * (1.0 + slopes[i * n + j].abs()));
            }
        }
    }

    /// Liquids hold together what there is, at equal activities; no liquid of the answer parts again.
    #[test]
    fn liquids_part(which in 0..7_usize, model in 0..2_usize, z in amounts(), t in 280.0..380.0_f64) {
        let mixture = mixture(which, model);
        let z = unit(&z[..mixture.len()]);
        let liquids = mixture.split(&z, t).unwrap();
        prop_assert!(unlike_activities(&liquids) < 1e-7, "{:?}", liquids);
        for (i, z) in z.iter().enumerate() {
            let sum: f64 = liquids.iter().map(|liquid| liquid.share * liquid.x[i]).sum();
            prop_assert!((sum / z - 1.0).abs() < 1e-9);
        }
        for liquid in &liquids {
            let again = mixture.split(&liquid.x, t).unwrap();
            // On the edge of a gap, rounding may tell a trace of the other liquid.
            prop_assert!(again.len() == 1 || again[0].share > 1.0 - 1e-3, "{:?} parts into {:?}", liquid, again);
        }
    }

    /// Sought from where another mixture boils, be it near or far, the answer is the same.
    #[test]
    fn where_a_search_begins_changes_nothing(which in 0..7_usize, model in 0..2_usize, z in amounts(), x in amounts(), near: bool) {
        let mixture = mixture(which, model);
        let z = unit(&z[..mixture.len()]);
        let x: Vec<f64> = if near { z.iter().zip(&x).map(|(z, x)| z * (1.0 + 0.05 * x)).collect() } else { x[..mixture.len()].to_vec() };
        let (plain, seen) = (mixture.boil(&z, ATM).unwrap(), mixture.boil(&x, ATM).unwrap());
        let from = mixture.boil_from(&z, ATM, &x, &seen).unwrap();
        prop_assert!((plain.t - from.t).abs() < 1e-7, "{:?} {:?}", plain, from);
        prop_assert!(plain.y.iter().zip(&from.y).all(|(a, b)| (a - b).abs() < 1e-7), "{:?} {:?}", plain, from);
        prop_assert_eq!(plain.liquids.len(), from.liquids.len());
        let (plain, from) = (mixture.bubble(&z, ATM).unwrap(), mixture.bubble_from(&z, ATM, &x, &seen).unwrap());
        prop_assert!((plain.t - from.t).abs() < 1e-9, "{:?} {:?}", plain, from);
    }

    /// Other orders of the same components give the same answer in another order.
    #[test]
    fn order_does_not_matter(which in 0..7_usize, model in 0..2_usize, z in amounts(), turn in 1..5_usize) {
        let mixture = mixture(which, model);
        let n = mixture.len();
        let z = unit(&z[..n]);
        let order: Vec<usize> = (0..n).map(|i| (i + turn) % n).rev().collect();
        let turned: Vec<f64> = order.iter().map(|i| z[*i]).collect();
        let plain = mixture.boil(&z, ATM).unwrap();
        let other = mixture.subset(&order).boil(&turned, ATM).unwrap();
        prop_assert!((plain.t - other.t).abs() < 1e-6, "{} {}", plain.t, other.t);
        prop_assert_eq!(plain.liquids.len(), other.liquids.len());
        for (place, i) in order.iter().enumerate() {
            prop_assert!((plain.y[*i] - other.y[place]).abs() < 1e-7);
        }
    }

    /// At the boiling point there is a little vapour just above and none just below; its dew point leads back.
    #[test]
    fn boiling_flash_and_dew_agree(which in 0..7_usize, model in 0..2_usize, z in amounts(), log in 3.0..5.3_f64) {
        let mixture = mixture(which, model);
        let z = unit(&z[..mixture.len()]);
        agree(&mixture, &z, 10f64.powf(log))?;
    }

    /// In a flash the moles add up and the vapour is the one over each liquid.
    #[test]
    fn flashes_add_up(which in 0..7_usize, model in 0..2_usize, z in amounts(), share in 0.0..1.0_f64) {
        let mixture = mixture(which, model);
        let z = unit(&z[..mixture.len()]);
        let (low, high) = (mixture.boil(&z, ATM).unwrap().t, mixture.dew(&z, ATM).unwrap().t);
        prop_assert!(high > low - 1e-6);
        let flash = mixture.flash(&z, low + share * (high - low), ATM).unwrap();
        for (i, z) in z.iter().enumerate() {
            let vapour = if flash.vapour > 0.0 { flash.vapour * flash.y[i] } else { 0.0 };
            let sum: f64 = vapour + flash.liquids.iter().map(|liquid| liquid.share * liquid.x[i]).sum::<f64>();
            prop_assert!((sum / z - 1.0).abs() < 1e-9, "{:?}", flash);
        }
        prop_assert!(unlike_activities(&flash.liquids) < 1e-7, "{:?}", flash);
        if flash.vapour > 1e-3 && flash.vapour < 1.0 - 1e-3 {
            let boil = mixture.boil(&flash.liquids[0].x, ATM).unwrap();
            prop_assert!((boil.t - low - share * (high - low)).abs() < 1e-5);
            for (seen, y) in flash.y.iter().zip(&boil.y) {
                prop_assert!((seen - y).abs() < 1e-6);
            }
        }
    }
}

/// Cases of the law above that once failed: beside a plait point, and where hardly anything but one liquid is there.
#[test]
fn boiling_flash_and_dew_agree_where_phases_vanish() {
    let cases: [(usize, usize, &[f64], f64); 7] = [
        (2, 0, &[3.1619267422536614e-6, 1.8056707464022804e-8, 0.9809648716487172], 3.8105413436705167),
        (3, 0, &[0.5041917983127302, 0.339100981572652], 4.9916225576320645),
        (3, 1, &[1.4666824126555698e-6, 0.3987490322982316], 3.634976720506521),
        (3, 0, &[1.842134696643613, 1.0], 5.072263736147322),
        (3, 0, &[1.7116620676004959, 1.0], 5.043327014030411),
        (6, 0, &[0.3792807633930549, 8.422154530136896e-6, 0.527529905651322, 0.0842323233650722, 0.7680306445918551], 3.899138481053912),
        (6, 1, &[0.6988415672, 0.0745933709, 0.7114947479, 0.6243711898, 0.2944419881], 3.0383730869),
    ];
    for (which, model, z, log) in cases {
        let (mixture, z) = (mixture(which, model), unit(z));
        if let Err(TestCaseError::Fail(why) | TestCaseError::Reject(why)) = agree(&mixture, &z, 10f64.powf(log)) {
            panic!("{which} by {model}, {z:?}: {why}");
        }
    }
}
