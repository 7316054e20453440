//! The arithmetic of uncertainty against worked examples of published guides. Figures only, each example with its
//! source; those from memory say so. A result is to agree within half a unit of the last digit that is printed.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use scruple::chemistry::uncertainty::{
    Combined, Input, correlated, effective, propagate, readability, rectangular, repeated, together, triangular, warmth,
};

fn input(what: &str, value: f64, standard: f64) -> Input {
    Input::new(what, value, standard)
}

fn free(what: &str, value: f64, standard: f64, freedom: f64) -> Input {
    Input { freedom: Some(freedom), ..Input::new(what, value, standard) }
}

/// Within half a unit of the last digit of `printed`.
#[track_caller]
fn printed(what: &str, got: f64, printed: &str) {
    let decimals = printed.split_once('.').map_or(0, |(_, behind)| behind.len());
    let half = 0.5 * 10_f64.powi(-i32::try_from(decimals).unwrap());
    let wanted: f64 = printed.parse().unwrap();
    assert!((got - wanted).abs() <= half * (1.0 + 1e-9), "{what}: {got} where {printed} is printed");
}

fn part(combined: &Combined, what: &str) -> f64 {
    combined.budget.iter().find(|line| line.what == what).unwrap().part.abs()
}

/// JCGM 100:2008, 4.4.3 and table 1 (twenty readings of a temperature), from memory.
#[test]
fn repeated_readings_of_a_temperature() {
    let readings = [
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57,
        101.84, 102.36, 102.72,
    ];
    let (mean, one, of_mean) = repeated(&readings).unwrap();
    printed("mean", mean, "100.145");
    printed("standard deviation of a reading", one, "1.489");
    printed("standard deviation of the mean", of_mean, "0.333");
    assert_eq!(repeated(&[20.0]), None);
}

/// JCGM 100:2008, 4.4.5 and 4.4.6 (limits of 4 K, alike likely and more likely in the middle) and F.2.2.1, from memory.
#[test]
fn limits_become_standard_uncertainties() {
    printed("rectangular", rectangular(4.0), "2.3");
    printed("triangular", triangular(4.0), "1.6");
    printed("a step of 1", readability(1.0), "0.29");
}

/// JCGM 100:2008, annex H.1 (calibration of an end gauge of 50 mm, lengths in nm), from memory.
#[test]
fn end_gauge() {
    let comparison = [(5.8, Some(24.0)), (3.9, Some(5.0)), (6.7, Some(8.0))];
    let difference = together(&comparison.map(|(part, _)| part));
    printed("u(d)", difference, "9.7");
    // The guide goes on with the rounded figure.
    let freedom = effective(9.7, &comparison).unwrap();
    printed("effective degrees of freedom of d", freedom, "25.6");
    let inputs = [
        free("length of the standard", 50_000_623.0, 25.0, 18.0),
        free("difference", 215.0, difference, freedom),
        input("expansion", 11.5e-6, 1.2e-6),
        input("deviation from 20 degC", -0.1, 0.41),
        free("difference of expansion", 0.0, 0.58e-6, 50.0),
        free("difference of temperature", 0.0, 0.029, 2.0),
    ];
    let length = propagate(&inputs, |x| x[0] + x[1] - x[0] * (x[4] * x[3] + x[2] * x[5])).unwrap();
    printed("length", length.value, "50000838");
    printed("difference of expansion", part(&length, "difference of expansion"), "2.9");
    printed("difference of temperature", part(&length, "difference of temperature"), "16.7");
    assert!(part(&length, "expansion") < 1e-6 && part(&length, "deviation from 20 degC") < 1e-6);
    printed("combined", length.standard, "32");
    // The guide cuts 16.7 off to 16 and counts 16.6 nm for the difference of temperature.
    assert!((length.freedom.unwrap() - 16.7).abs() < 0.1, "{:?}", length.freedom);
}

/// JCGM 100:2008, annex H.2 (resistance, reactance and impedance from five sets of readings that go together), from memory.
#[test]
fn impedance_from_correlated_readings() {
    let inputs = [input("V", 4.9990, 0.0032), input("I", 19.6610e-3, 0.0095e-3), input("phase", 1.044_46, 0.000_75)];
    let pairs = [(0, 1, -0.36), (0, 2, 0.86), (1, 2, -0.65)];
    let of = |function: &dyn Fn(&[f64]) -> f64| correlated(&inputs, &pairs, function).unwrap();
    let resistance = of(&|x| x[0] / x[1] * x[2].cos());
    let reactance = of(&|x| x[0] / x[1] * x[2].sin());
    let impedance = of(&|x| x[0] / x[1]);
    // The coefficients are printed with two digits: the estimates agree within one unit of the last.
    assert!((resistance.value - 127.732).abs() < 1.5e-3 && (resistance.standard - 0.071).abs() < 2e-3, "{resistance:?}");
    assert!((reactance.value - 219.847).abs() < 1.5e-3 && (reactance.standard - 0.295).abs() < 2e-3, "{reactance:?}");
    assert!((impedance.value - 254.260).abs() < 1.5e-3 && (impedance.standard - 0.236).abs() < 2e-3, "{impedance:?}");
}

/// Eurachem/CITAC guide "Quantifying uncertainty in analytical measurement", third edition, A1 (a calibration standard of
/// cadmium), from memory.
#[test]
fn calibration_standard() {
    let volume = together(&[triangular(0.1), 0.02, warmth(100.0, 2.1e-4, 4.0)]);
    printed("u(V)", volume, "0.07");
    printed("u(P)", rectangular(0.0001), "0.000058");
    let inputs = [input("mass", 100.28, 0.05), input("purity", 0.9999, rectangular(0.0001)), input("volume", 100.0, 0.07)];
    let strength = propagate(&inputs, |x| 1000.0 * x[0] * x[1] / x[2]).unwrap();
    printed("strength", strength.value, "1002.7");
    printed("combined", strength.standard, "0.9");
    // Twice the rounded 0.9 is what is printed.
    assert!((strength.expanded() - 1.8).abs() < 0.1);
}

/// The same guide, A2 (sodium hydroxide against potassium hydrogen phthalate), from memory.
#[test]
fn sodium_hydroxide_against_phthalate() {
    let inputs = [
        input("repeatability", 1.0, 0.0005),
        input("mass", 0.3888, 0.000_13),
        input("purity", 1.0, 0.000_29),
        input("molar mass", 204.2212, 0.0038),
        input("volume", 18.64, 0.013),
    ];
    let strength = propagate(&inputs, |x| 1000.0 * x[0] * x[1] * x[2] / (x[3] * x[4])).unwrap();
    printed("strength", strength.value, "0.10214");
    printed("combined", strength.standard, "0.00010");
    printed("relative", strength.standard / strength.value, "0.00097");
    let most = strength.budget.iter().max_by(|a, b| a.share.total_cmp(&b.share)).unwrap();
    assert_eq!(most.what, "volume");
    assert!((strength.budget.iter().map(|line| line.share).sum::<f64>() - 1.0).abs() < 1e-12);
}

/// The same guide, A3 (hydrochloric acid against that sodium hydroxide), from its components: a balance with ±0.15 mg
/// of linearity read twice, burettes of ±0.03 mL and a pipette of ±0.02 mL, ±4 K of room temperature. From memory; the
/// values of the inputs were also seen in the table of an earlier edition.
#[test]
fn hydrochloric_acid() {
    let mass = together(&[rectangular(0.15e-3), rectangular(0.15e-3)]);
    let second = together(&[triangular(0.03), warmth(15.0, 2.1e-4, 4.0)]);
    let first = together(&[triangular(0.03), warmth(19.0, 2.1e-4, 4.0)]);
    let aliquot = together(&[triangular(0.02), warmth(15.0, 2.1e-4, 4.0)]);
    printed("u(m)", mass, "0.00012");
    printed("u(second volume)", second, "0.014");
    printed("u(first volume)", first, "0.015");
    printed("u(aliquot)", aliquot, "0.011");
    let inputs = [
        input("repeatability", 1.0, 0.001),
        input("mass", 0.3888, mass),
        input("purity", 1.0, rectangular(0.0005)),
        input("second volume", 14.89, second),
        input("first volume", 18.64, first),
        input("molar mass", 204.2212, 0.0038),
        input("aliquot", 15.0, aliquot),
    ];
    let strength = propagate(&inputs, |x| 1000.0 * x[0] * x[1] * x[2] * x[3] / (x[4] * x[5] * x[6])).unwrap();
    printed("strength", strength.value, "0.10139");
    printed("combined", strength.standard, "0.00018");
}

/// EA-4/02, supplement 1, S3 (a resistor of 10 kΩ against a standard, in Ω), from memory.
#[test]
fn resistor() {
    let inputs = [
        input("standard", 10_000.053, 2.5e-3),
        input("drift", 0.020, rectangular(10e-3)),
        input("temperature of the standard", 0.0, rectangular(2.75e-3)),
        input("temperature of the resistor", 0.0, rectangular(5.5e-3)),
        input("parasitic voltages", 1.0, triangular(1.0e-6)),
        input("ratio", 1.000_010_5, 0.07e-6),
    ];
    let resistance = propagate(&inputs, |x| (x[0] + x[1] + x[2]) * x[4] * x[5] - x[3]).unwrap();
    printed("resistance", resistance.value, "10000.178");
    printed("combined, mΩ", resistance.standard * 1e3, "8.33");
    printed("expanded, mΩ", resistance.expanded() * 1e3, "17");
}

/// Sums and products have derivatives that are exact but for rounding, and quotients nearly so.
#[test]
fn derivatives() {
    let inputs = [input("a", 3.7, 0.1), input("b", -2.4, 0.2), input("c", 512.0, 1.0)];
    let sum = propagate(&inputs, |x| x[0] - 2.0 * x[1] + x[2]).unwrap();
    for (line, wanted) in sum.budget.iter().zip([1.0, -2.0, 1.0]) {
        assert!((line.sensitivity - wanted).abs() < 1e-9, "{line:?}");
    }
    let product = propagate(&inputs, |x| x[0] * x[1] * x[2]).unwrap();
    for (line, wanted) in product.budget.iter().zip([-2.4 * 512.0, 3.7 * 512.0, 3.7 * -2.4]) {
        assert!((line.sensitivity / wanted - 1.0).abs() < 1e-10, "{line:?}");
    }
    let quotient = propagate(&inputs, |x| x[0] / x[2]).unwrap();
    assert!((quotient.budget[2].sensitivity / (-3.7 / 512.0_f64.powi(2)) - 1.0).abs() < 1e-9);
    assert_eq!(propagate(&inputs, |x| (x[1]).sqrt()), None);
}
