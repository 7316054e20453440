//! Rounding on decimals.

use super::super::{decimals, significant, to_step};
use super::{assert_close, samples};

#[test]
fn significant_figures() {
    for (x, figures, expected) in [
        (24.0, 3, "24.0"),
        (9.996, 3, "10.0"),
        (0.099_96, 3, "0.100"),
        (1234.0, 2, "1200"),
        (-0.051_065, 4, "-0.05106"),
        (0.051_055, 4, "0.05106"),
        (2.5, 1, "2"),
        (3.5, 1, "4"),
        (2.500_000_1, 1, "3"),
        (0.0, 3, "0.00"),
        (-0.0, 1, "0"),
        (7.0, 0, "7"),
        (1e21, 2, "1000000000000000000000"),
        (1e-7, 1, "0.0000001"),
        (5e-324, 1, &format!("0.{}5", "0".repeat(323))),
    ] {
        assert_eq!(significant(x, figures), expected, "{x} to {figures}");
    }
}

#[test]
fn decimal_places() {
    for (x, places, expected) in [
        (2.675, 2, "2.68"),
        (2.665, 2, "2.66"),
        (1.005, 2, "1.00"),
        (0.5, 0, "0"),
        (1.5, 0, "2"),
        (0.51, 0, "1"),
        (99.95, 1, "100.0"),
        (99.85, 1, "99.8"),
        (0.0004, 2, "0.00"),
        (-0.0004, 2, "0.00"),
        (0.004, 2, "0.00"),
        (0.006, 2, "0.01"),
        (0.005, 2, "0.00"),
        (0.015, 2, "0.02"),
        (12.0, 3, "12.000"),
        (-3.25, 1, "-3.2"),
        (1e-300, 2, "0.00"),
    ] {
        assert_eq!(decimals(x, places), expected, "{x} to {places}");
    }
}

#[test]
fn what_is_no_number_is_named() {
    for print in [significant, decimals] {
        assert_eq!(print(f64::NAN, 3), "not a number");
        assert_eq!(print(f64::INFINITY, 3), "infinite");
        assert_eq!(print(f64::NEG_INFINITY, 3), "minus infinite");
    }
    assert!(to_step(f64::NAN, 0.1).is_nan());
    assert_eq!(to_step(f64::INFINITY, 0.1), f64::INFINITY);
}

#[test]
fn absurd_requests_stay_small() {
    assert!(significant(1.0, usize::MAX).len() < 60);
    assert!(decimals(1.0, usize::MAX).len() < 60);
    assert!(significant(f64::MAX, 3).starts_with("180000"));
}

#[test]
fn steps() {
    for (x, step, expected) in [
        (0.31, 0.1, 0.3),
        (0.15, 0.1, 0.2),
        (0.25, 0.1, 0.2),
        (12.4, 5.0, 10.0),
        (12.5, 5.0, 10.0),
        (17.5, 5.0, 20.0),
        (-12.6, 5.0, -15.0),
        (7.0, 0.0, 7.0),
        (7.0, -1.0, 7.0),
        (7.0, f64::NAN, 7.0),
        (0.02, 0.05, 0.0),
    ] {
        assert_eq!(to_step(x, step), expected, "{x} to {step}");
    }
    assert_eq!(to_step(3.0 * 0.1, 0.1).to_string(), "0.3");
    assert_eq!(to_step(-0.02, 0.05).to_string(), "0");
}

#[test]
fn rounding_never_moves_by_more_than_half_a_place() {
    for x in samples(2000) {
        for figures in 1..=6 {
            let rounded: f64 = significant(x, figures).parse().unwrap();
            let most = 0.5 * 10_f64.powi(x.log10().floor() as i32 + 1 - figures as i32);
            assert!((rounded - x).abs() <= most * (1.0 + 1e-9), "{x} to {figures}");
        }
    }
}

#[test]
fn enough_figures_give_the_value_back() {
    for x in samples(2000) {
        let back: f64 = significant(x, 17).parse().unwrap();
        assert_eq!(back, x);
        assert_close(significant(x, 15).parse().unwrap(), x, 1e-14);
    }
}

#[test]
fn rounding_twice_is_rounding_once() {
    for x in samples(2000) {
        let once = significant(x, 4);
        assert_eq!(significant(once.parse().unwrap(), 4), once);
    }
}
