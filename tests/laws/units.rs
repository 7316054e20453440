//! The algebra of units: there and back, undoing, agreement of dimensions, and showing any number.

use proptest::prelude::*;
use scruple::kinds::{self, Kind, difference_unit, product, quotient, show, show_duration, show_in, unit};

use crate::cases;

const UNITS: &[&str] = &[
    "g", "kg", "mg", "lb", "mL", "L", "µL", "cm³", "mol", "mmol", "s", "min", "h", "d", "degC", "degF", "K", "bar", "mbar", "mmHg", "psi",
    "kPa", "kJ/mol", "J/mol/K", "g/mL", "kg/L", "g/mol", "mol/L", "mL/min", "K/min", "% w/w", "% v/v", "% w/v", "mol%", "eq", "times",
    "mm", "cm", "kJ", "W", "g/L", "mol/kg",
];

fn units() -> impl Strategy<Value = kinds::Unit> {
    prop::sample::select(UNITS).prop_map(|text| unit(text).unwrap_or_else(|error| panic!("{text}: {error}")))
}

fn kind() -> impl Strategy<Value = Kind> {
    prop::sample::select(Kind::ALL)
}

proptest! {
    #![proptest_config(cases(256))]

    /// Within what binary fractions can hold beside the zero of the scale.
    #[test]
    fn there_and_back(unit in units(), x in prop::num::f64::NORMAL) {
        prop_assume!((1e-200..1e200).contains(&x.abs()));
        let back = unit.from_si(unit.to_si(x));
        let slack = 1e-14 * x.abs() + if unit.offset == 0.0 { 0.0 } else { 1e-9 };
        prop_assert!((back - x).abs() <= slack, "{x} {}: {back}", unit.text);
        let si = unit.to_si(unit.from_si(x));
        prop_assert!((si - x).abs() <= 1e-14 * x.abs() + if unit.offset == 0.0 { 0.0 } else { 1e-9 }, "{x} SI {}: {si}", unit.text);
    }

    /// A unit is read again from its own canonical text.
    #[test]
    fn a_unit_is_read_from_its_own_text(one in units()) {
        let again = unit(&one.text);
        prop_assert_eq!(again.as_ref(), Ok(&one));
    }

    /// A compound measures what its parts make, dimension for dimension and number for number.
    #[test]
    fn a_compound_is_its_parts(above in units(), below in units(), x in 1e-3..1e3_f64) {
        let text = format!("{}/{}", above.text, below.text);
        if let Ok(compound) = unit(&text) {
            let dimension = above.kind.dimension().over(below.kind.dimension());
            prop_assert_eq!(compound.kind.dimension(), dimension, "{}", text);
            let expected = x * above.factor / below.factor;
            prop_assert!((compound.to_si(x) / expected - 1.0).abs() < 1e-12, "{text}: {} for {expected}", compound.to_si(x));
        }
    }

    #[test]
    fn dimensions_agree_and_quotients_undo_products(a in kind(), b in kind()) {
        if let Some(whole) = product(a, b) {
            prop_assert_eq!(whole.dimension(), a.dimension().times(b.dimension()));
            // The name may be another one (see the table), the dimension may not.
            if let Some(back) = quotient(whole, b) {
                prop_assert_eq!(back.dimension(), a.dimension());
                prop_assert_eq!(product(back, b), Some(whole));
            }
        }
        if let Some(part) = quotient(a, b) {
            prop_assert_eq!(part.dimension(), a.dimension().over(b.dimension()));
        }
    }

    #[test]
    fn quantities_undo(x in 1e-30..1e30_f64, y in 1e-30..1e30_f64, a in kind(), b in kind()) {
        let (Ok(a), Ok(b)) = (kinds::Quantity::checked(x, a), kinds::Quantity::checked(y, b)) else { return Ok(()) };
        if let Ok(whole) = a.checked_mul(b) && let Ok(back) = whole.checked_div(b) {
            prop_assert!((back.si / x - 1.0).abs() < 1e-14);
        }
        if let Ok(whole) = a.checked_add(b) && let Ok(back) = whole.checked_sub(b) {
            prop_assert!((back.si - x).abs() <= 1e-15 * (x + y) * 2.0);
        }
    }

    #[test]
    fn any_number_can_be_shown(bits in any::<u64>(), kind in kind(), unit in units(), figures in 0_usize..400) {
        let x = f64::from_bits(bits);
        for shown in [show(x, kind, figures), show_in(x, &unit, figures), show_duration(x), kinds::significant(x, figures),
            kinds::decimals(x, figures)] {
            prop_assert!(!shown.is_empty());
        }
        let _ = kinds::to_step(x, f64::from_bits(bits.rotate_left(17)));
    }

    /// What is shown is what was meant, to the figures asked for.
    #[test]
    fn what_is_shown_reads_back(x in 1e-6..1e6_f64, unit in units()) {
        prop_assume!(unit.offset == 0.0 && unit.kind != Kind::Count);
        let shown = show_in(unit.to_si(x), &unit, 4);
        let number: String = shown.chars().take_while(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | 'e' | '+')).collect();
        let number: f64 = number.parse().map_err(|_| TestCaseError::fail(format!("{x} {} shown {shown}", unit.text)))?;
        prop_assert!((number / x - 1.0).abs() <= 5.01e-4, "{x} {} shown {shown}", unit.text);
    }

    #[test]
    fn any_text_is_a_unit_or_an_error(text in any::<String>()) {
        if let Err(error) = unit(&text) {
            prop_assert!(!error.to_string().is_empty());
        }
        let _ = difference_unit(&text);
    }
}

/// Numbers at the edges, in every kind.
#[test]
fn edges_can_be_shown() {
    let edges = [
        0.0,
        -0.0,
        f64::MIN_POSITIVE,
        f64::from_bits(1),
        f64::MAX,
        f64::MIN,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NAN,
        0.999_999_999_999,
        59.999_999_999,
        86_399.999_999,
        1e21,
        9.995,
        99.95,
        1e-300,
    ];
    for kind in Kind::ALL {
        for x in edges {
            for figures in [0, 1, 3, 17, usize::MAX] {
                assert!(!show(x, *kind, figures).is_empty());
            }
        }
    }
    for x in edges {
        assert!(!show_duration(x).is_empty());
    }
}
