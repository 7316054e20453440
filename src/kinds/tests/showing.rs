//! Showing values in bench units.

use super::super::{Kind, show, show_duration, show_in};
use super::{read, si};

#[rustfmt::skip]
const SHOWN: &[(f64, &str, Kind, usize, &str)] = &[
    (24.0, "mL", Kind::Volume, 3, "24.0 mL"),
    (1200.0, "g", Kind::Mass, 3, "1.20 kg"),
    (999.96, "g", Kind::Mass, 3, "1.00 kg"),
    (0.05, "g", Kind::Mass, 2, "50 mg"),
    (0.4, "ug", Kind::Mass, 2, "0.40 µg"),
    (0.25, "mL", Kind::Volume, 2, "250 µL"),
    (2.5, "L", Kind::Volume, 2, "2.5 L"),
    (0.0125, "mol", Kind::Amount, 3, "12.5 mmol"),
    (90.0, "min", Kind::Duration, 2, "90 min"),
    (120.0, "min", Kind::Duration, 1, "2 h"),
    (36.0, "h", Kind::Duration, 2, "36 h"),
    (25.0, "degC", Kind::Temperature, 3, "25.0 °C"),
    (25.0, "degC", Kind::Temperature, 1, "25 °C"),
    (154.3, "degC", Kind::Temperature, 2, "154 °C"),
    (0.0, "degC", Kind::Temperature, 3, "0.0 °C"),
    (-78.5, "degC", Kind::Temperature, 3, "-78.5 °C"),
    (10.0, "K", Kind::TemperatureDifference, 2, "10 K"),
    (20.0, "mbar", Kind::Pressure, 2, "20 mbar"),
    (1.0, "atm", Kind::Pressure, 3, "1.01 bar"),
    (0.789, "g/mL", Kind::Density, 3, "0.789 g/mL"),
    (1.2, "g/L", Kind::Density, 2, "1.2 g/L"),
    (0.1, "M", Kind::Concentration, 3, "0.100 M"),
    (5.0, "mM", Kind::Concentration, 2, "5.0 mM"),
    (58.44, "g/mol", Kind::MolarMass, 4, "58.44 g/mol"),
    (-57.1, "kJ/mol", Kind::MolarEnergy, 3, "-57.1 kJ/mol"),
    (4.184, "J/(g K)", Kind::SpecificHeatCapacity, 4, "4.184 J/(g K)"),
    (37.0, "% w/w", Kind::MassFraction, 3, "37.0 % w/w"),
    (0.9, "% w/v", Kind::MassPerVolume, 1, "0.9 % w/v"),
    (5.0, "mol%", Kind::MoleFraction, 1, "5 mol%"),
    (1.2, "eq", Kind::Equivalents, 2, "1.2 eq"),
    (85.0, "%", Kind::Ratio, 2, "0.85"),
    (12.0, "portions", Kind::Count, 1, "12"),
    (2.5, "times", Kind::Count, 2, "2.5"),
    (2.0, "mL/min", Kind::FlowRate, 2, "2.0 mL/min"),
    (300.0, "rpm", Kind::Frequency, 3, "300 rpm"),
    (0.0, "g", Kind::Mass, 2, "0.0 µg"),
];

#[test]
fn values_are_shown_in_bench_units() {
    for (x, unit, kind, figures, expected) in SHOWN {
        assert_eq!(show(si(*x, unit), *kind, *figures), *expected);
    }
}

#[test]
fn every_kind_shows_its_own_units() {
    for kind in Kind::ALL {
        for exponent in -9..=9 {
            let shown = show(10_f64.powi(exponent), *kind, 3);
            let Some((_, text)) = shown.split_once(' ') else {
                assert!(matches!(kind, Kind::Ratio | Kind::Count), "{kind:?}");
                continue;
            };
            let dimension = read(text).kind.dimension();
            assert_eq!(dimension, kind.dimension(), "{shown}");
        }
    }
}

#[test]
fn values_are_shown_in_the_unit_given() {
    for (x, from, to, figures, expected) in [
        (1.0, "lb", "g", 3, "454 g"),
        (25.0, "mL", "L", 3, "0.0250 L"),
        (85.0, "%", "%", 2, "85 %"),
        (3.0, "portions", "portions", 1, "3 portions"),
        (25.0, "degC", "K", 3, "298 K"),
        (0.1, "degC", "degC", 3, "0.1 °C"),
        (0.25, "mL", "mL", 1, "0.2 mL"),
        (0.35, "mL", "mL", 1, "0.4 mL"),
    ] {
        assert_eq!(show_in(si(x, from), &read(to), figures), expected);
    }
}

#[test]
fn what_is_no_number_is_shown_without_a_unit() {
    assert_eq!(show(f64::NAN, Kind::Mass, 3), "not a number");
    assert_eq!(show_in(f64::INFINITY, &read("g"), 3), "infinite");
    assert_eq!(show_duration(f64::NAN), "not a number");
    for x in [f64::MAX, f64::MIN, f64::MIN_POSITIVE] {
        for kind in Kind::ALL {
            assert!(!show(x, *kind, 3).is_empty());
        }
        assert!(!show_duration(x).is_empty());
    }
}

#[test]
fn durations_in_the_trades_manner() {
    for (seconds, expected) in [
        (0.0, "0 s"),
        (0.5, "0.50 s"),
        (45.0, "45 s"),
        (60.0, "1 min"),
        (90.0, "90 s"),
        (119.7, "2 min"),
        (120.0, "2 min"),
        (150.0, "2 min 30 s"),
        (1200.0, "20 min"),
        (3600.0, "1 h"),
        (5400.0, "90 min"),
        (7199.6, "2 h"),
        (9000.0, "2 h 30 min"),
        (9029.0, "2 h 30 min"),
        (28_800.0, "8 h"),
        (86_400.0, "24 h"),
        (172_800.0, "2 d"),
        (178_200.0, "2 d 1 h 30 min"),
        (-5400.0, "-90 min"),
    ] {
        assert_eq!(show_duration(seconds), expected, "{seconds}");
    }
}
