//! One liquid: activity coefficients and bubble points.

use scruple::chemistry::activity::{Activity, Fit};
use scruple::chemistry::phase::{Dimer, PhaseError, System};
use scruple::chemistry::vapour::VapourPressure;

use super::{ATM, MODELS, ZERO, component, numbers, reference, strings, system};

/// Half a unit of the last of six digits, as a share of the figure.
fn half_digit(figure: f64) -> f64 {
    0.5 * 10f64.powi(figure.abs().log10().floor() as i32 - 5) / figure.abs()
}

/// Coefficients agree to 1e-6 beyond what six printed digits leave open, temperatures to 1e-5 K.
#[test]
fn bubble_points_of_the_reference() {
    let (mut count, mut worst_t, mut worst_gamma, mut worst_y) = (0, 0.0_f64, 0.0_f64, 0.0_f64);
    for row in reference()["systems"].as_array().unwrap() {
        let names = strings(&row["components"]);
        for (model, tables) in MODELS {
            let mixture = system(&names, tables);
            for point in row["models"][model]["bubble_points"].as_array().unwrap() {
                let x = numbers(&point["x"]);
                let seen = mixture.bubble(&x, ATM).unwrap();
                let off = seen.t - ZERO - point["T_C"].as_f64().unwrap();
                assert!(off.abs() < 1e-5, "{names:?} {model} {x:?}: {off:e} K");
                worst_t = worst_t.max(off.abs());
                for (seen, printed) in seen.gamma.iter().zip(numbers(&point["gamma"])) {
                    let over = (seen / printed - 1.0).abs() - half_digit(printed);
                    assert!(over < 1e-6, "{names:?} {model} {x:?}: {seen} against {printed}");
                    worst_gamma = worst_gamma.max(over);
                }
                for (seen, printed) in seen.y.iter().zip(numbers(&point["y"])) {
                    worst_y = worst_y.max((seen - printed).abs());
                    assert!((seen - printed).abs() < 1e-6, "{names:?} {model} {x:?}: {seen} against {printed}");
                }
                count += 1;
            }
            if names.len() == 2 {
                let dilute = &row["models"][model]["gamma_inf_at_bp_of_solvent"];
                for (key, x) in [("first_in_second", [0.0, 1.0]), ("second_in_first", [1.0, 0.0])] {
                    let seen = mixture.bubble(&x, ATM).unwrap().gamma;
                    let seen = if x[0] == 0.0 { seen[0] } else { seen[1] };
                    let printed = dilute[key].as_f64().unwrap();
                    assert!((seen / printed - 1.0).abs() < half_digit(printed) + 1e-6, "{names:?} {model}: {seen} against {printed}");
                }
            }
        }
    }
    println!("{count} points: {worst_t:.1e} K, gamma {worst_gamma:.1e} beyond its digits, y {worst_y:.1e}");
    assert_eq!(count, 944);
}

#[test]
fn pure_liquids_and_what_is_absent() {
    for (_, tables) in MODELS {
        let mixture = system(&["ethanol", "water", "toluene"], tables);
        for (place, name) in ["ethanol", "water", "toluene"].into_iter().enumerate() {
            let boiling = component(name).vapour.unwrap().boiling_point(ATM).unwrap();
            let x: Vec<f64> = (0..3).map(|i| f64::from(u8::from(i == place))).collect();
            let seen = mixture.bubble(&x, ATM).unwrap();
            assert!((seen.t - boiling).abs() < 1e-7, "{name}");
            assert_eq!(seen.y, x);
            assert!((seen.gamma[place] - 1.0).abs() < 1e-12);
        }
        let two = system(&["ethanol", "water"], tables).bubble(&[0.3, 0.7], ATM).unwrap();
        let three = mixture.bubble(&[3.0, 7.0, 0.0], ATM).unwrap();
        assert!((two.t - three.t).abs() < 1e-9 && (two.y[0] - three.y[0]).abs() < 1e-12);
        assert!(three.gamma[2] > 1.0 && three.y[2] == 0.0, "toluene that is not there has a coefficient and no vapour");
    }
}

#[test]
fn what_makes_no_sense_is_refused() {
    let (_, tables) = MODELS[0];
    let mixture = system(&["ethanol", "water"], tables);
    for x in [&[][..], &[1.0], &[0.0, 0.0], &[-0.1, 1.1], &[f64::NAN, 1.0], &[f64::INFINITY, 1.0], &[1.0, 1.0, 1.0]] {
        assert!(matches!(mixture.bubble(x, ATM), Err(PhaseError::BadInput { .. })), "{x:?}");
    }
    for p in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(mixture.bubble(&[0.5, 0.5], p), Err(PhaseError::BadInput { .. })));
    }
    assert!(matches!(mixture.bubble(&[0.5, 0.5], 1e12), Err(PhaseError::NoTemperature { .. })));
    let wrong = System::new(vec![component("water")], Activity::ideal(2));
    assert!(wrong.bubble(&[1.0], ATM).is_err(), "activities of another mixture");
}

/// What does not boil thins the liquid: half as much again in moles lowers the pressure by a third.
#[test]
fn what_does_not_boil_counts_in_the_liquid() {
    let mut solid = component("toluene");
    solid.vapour = None;
    let mixture = System::new(vec![component("water"), solid], Activity::ideal(2));
    let seen = mixture.bubble(&[2.0, 1.0], ATM).unwrap();
    let curve: VapourPressure = component("water").vapour.unwrap();
    assert!((curve.pressure(seen.t) / (1.5 * ATM) - 1.0).abs() < 1e-9);
    assert_eq!(seen.y, [1.0, 0.0]);
    assert!(matches!(mixture.bubble(&[0.0, 1.0], ATM), Err(PhaseError::BadInput { .. })));
    assert!(matches!(mixture.bubble(&[1e-9, 1.0], ATM), Err(PhaseError::NoTemperature { .. })));
}

/// With acids in pairs the vapour over acetic acid and water is the richer in water all the way, as in
/// experiment; without, both models make an azeotrope.
#[test]
fn acetic_acid_and_water() {
    for (model, tables) in MODELS {
        let plain = system(&["acetic_acid", "water"], tables);
        let mut parts = plain.components().to_vec();
        parts[0].dimer = Some(Dimer::ACETIC);
        let paired = System::new(parts, plain.activity().clone());
        let richer = |mixture: &System| -> Vec<bool> {
            (1..200).map(|step| f64::from(step) / 200.0).map(|x| mixture.bubble(&[x, 1.0 - x], ATM).unwrap().y[0] < x).collect()
        };
        assert!(richer(&paired).iter().all(|less| *less), "{model}");
        assert!(richer(&plain).iter().any(|less| !less), "{model}");
        let pure = [&plain, &paired].map(|mixture| mixture.bubble(&[1.0, 0.0], ATM).unwrap().t);
        assert!((pure[0] - pure[1]).abs() < 1e-7, "the pure acid boils where it boils");
    }
    // Acetic acid at its boiling point has about 1.6 molecules to a particle of vapour, from memory.
    let constant = Dimer::ACETIC.constant(391.0);
    let single = ((1.0 + 4.0 * constant * ATM).sqrt() - 1.0) / (2.0 * constant);
    let particle = (single + 2.0 * constant * single * single) / ATM;
    assert!((1.5..1.75).contains(&particle), "{particle}");
}

/// A declared fit is the whole truth for its pair, and Gibbs and Duhem hold among three.
#[test]
fn a_fit_takes_precedence() {
    let (_, tables) = MODELS[1];
    let fit = Fit::Nrtl { a12: 0.2, a21: 0.1, b12: 300.0, b21: 150.0, alpha: 0.3 };
    let groups = system(&["water", "toluene", "ethanol"], tables).activity().clone();
    let fitted = groups.clone().with_fit(2, 0, fit);
    let mut logs = [0.0; 3];
    for x in [0.0, 1e-9, 0.2, 0.9, 1.0] {
        fitted.ln_gamma(340.0, &[1.0 - x, 0.0, x], &mut logs);
        let (ethanol, water) = fit.ln_gamma(340.0, x);
        assert!((logs[2] - ethanol).abs() < 1e-12 && (logs[0] - water).abs() < 1e-12);
    }
    let (mut without, x) = ([0.0; 3], [0.0, 0.4, 0.6]);
    fitted.ln_gamma(340.0, &x, &mut logs);
    groups.ln_gamma(340.0, &x, &mut without);
    assert!((logs[1] - without[1]).abs() < 1e-12 && (logs[2] - without[2]).abs() < 1e-12, "other pairs are as they were");
}
