//! The algebra of kinds against the algebra of dimensions.

use std::collections::BTreeSet;

use super::super::algebra::DEFINITIONS;
use super::super::{Dimension, Kind, difference, difference_unit, product, quotient, sum, unit};

fn pairs() -> impl Iterator<Item = (Kind, Kind)> {
    let all = || Kind::ALL.iter().copied();
    all().flat_map(move |a| all().map(move |b| (a, b)))
}

#[test]
fn all_lists_every_kind_once() {
    let distinct: BTreeSet<Kind> = Kind::ALL.iter().copied().collect();
    assert_eq!(distinct.len(), Kind::ALL.len());
    // The kinds are numbered from zero, so the last one tells how many there are.
    assert_eq!(Kind::RateConstant as usize + 1, Kind::ALL.len());
}

#[test]
fn dimensions_agree_under_product_and_quotient() {
    for (a, b) in pairs() {
        if let Some(kind) = product(a, b) {
            let expected = a.dimension().times(b.dimension());
            assert_eq!(kind.dimension(), expected, "{a:?} · {b:?} = {kind:?}");
        }
        if let Some(kind) = quotient(a, b) {
            let expected = a.dimension().over(b.dimension());
            assert_eq!(kind.dimension(), expected, "{a:?} / {b:?} = {kind:?}");
        }
    }
}

#[test]
fn dimensions_agree_under_sum_and_difference() {
    for (a, b) in pairs() {
        for kind in [sum(a, b), difference(a, b)].into_iter().flatten() {
            assert_eq!(kind.dimension(), a.dimension());
            assert_eq!(kind.dimension(), b.dimension());
        }
    }
}

#[test]
fn products_and_sums_commute() {
    for (a, b) in pairs() {
        assert_eq!(product(a, b), product(b, a), "{a:?} · {b:?}");
        assert_eq!(sum(a, b), sum(b, a), "{a:?} + {b:?}");
    }
}

#[test]
fn quotients_undo_products() {
    for (first, second, whole) in DEFINITIONS {
        assert_eq!(product(*first, *second), Some(*whole));
        for (divisor, other) in [(first, second), (second, first)] {
            let back = quotient(*whole, *divisor);
            // Where two rows share a quotient the earlier one gives its name,
            // but multiplying back must still reach the same whole.
            let again = back.and_then(|back| product(back, *divisor));
            assert_eq!(again, Some(*whole), "{whole:?} / {divisor:?} = {back:?}");
            let dimension = back.map(Kind::dimension);
            assert_eq!(dimension, Some(other.dimension()));
        }
    }
}

#[test]
fn what_is_divided_multiplies_back() {
    // Two pairs stand outside the rule by design: a neat concentration comes
    // back as a mass of solute per volume, and a count of ratios as a count.
    let apart = [(Kind::Density, Kind::MolarMass), (Kind::Ratio, Kind::Count)];
    for (a, b) in pairs().filter(|pair| !apart.contains(pair)) {
        if let Some(kind) = quotient(a, b) {
            assert_eq!(product(kind, b), Some(a), "{a:?} / {b:?} = {kind:?}");
        }
    }
}

#[test]
fn the_products_a_bench_uses() {
    for (a, b, whole) in [
        (Kind::Ratio, Kind::Mass, Some(Kind::Mass)),
        (Kind::Count, Kind::Volume, Some(Kind::Volume)),
        (Kind::Density, Kind::Volume, Some(Kind::Mass)),
        (Kind::Concentration, Kind::Volume, Some(Kind::Amount)),
        (Kind::MolarMass, Kind::Amount, Some(Kind::Mass)),
        (Kind::MassFraction, Kind::Mass, Some(Kind::Mass)),
        (Kind::Equivalents, Kind::Amount, Some(Kind::Amount)),
        (Kind::MassFraction, Kind::Volume, None),
        (Kind::VolumeFraction, Kind::Mass, None),
        (Kind::Temperature, Kind::Ratio, None),
        (Kind::Mass, Kind::Mass, None),
    ] {
        assert_eq!(product(a, b), whole, "{a:?} · {b:?}");
    }
}

#[test]
fn the_quotients_a_bench_uses() {
    for (a, b, part) in [
        (Kind::Mass, Kind::Mass, Some(Kind::Ratio)),
        (Kind::Mass, Kind::Volume, Some(Kind::Density)),
        (Kind::Mass, Kind::Density, Some(Kind::Volume)),
        (Kind::Mass, Kind::Amount, Some(Kind::MolarMass)),
        (Kind::Mass, Kind::MolarMass, Some(Kind::Amount)),
        (Kind::Mass, Kind::MassFraction, Some(Kind::Mass)),
        (Kind::Mass, Kind::Count, Some(Kind::Mass)),
        (Kind::MassPerVolume, Kind::MolarMass, Some(Kind::Concentration)),
        (Kind::Density, Kind::MolarMass, Some(Kind::Concentration)),
        (Kind::Temperature, Kind::Temperature, None),
        (Kind::Temperature, Kind::Duration, None),
    ] {
        assert_eq!(quotient(a, b), part, "{a:?} / {b:?}");
    }
}

#[test]
fn kinds_of_one_dimension_do_not_add() {
    for (a, b) in pairs().filter(|(a, b)| a != b && a.dimension() == b.dimension()) {
        let temperatures = [Kind::Temperature, Kind::TemperatureDifference];
        if temperatures.contains(&a) && temperatures.contains(&b) {
            continue;
        }
        assert_eq!(sum(a, b), None, "{a:?} + {b:?}");
    }
    assert_eq!(difference(Kind::TemperatureDifference, Kind::Temperature), None);
}

#[test]
fn every_example_is_of_its_kind() {
    for kind in Kind::ALL {
        let (_, text) = kind.example().split_once(' ').unwrap();
        let read = match kind {
            Kind::TemperatureDifference => difference_unit(text),
            _ => unit(text),
        };
        assert_eq!(read.map(|unit| unit.kind), Ok(*kind));
        assert!(kind.article_name().starts_with("a ") || kind.article_name().starts_with("an "));
    }
}

#[test]
fn si_symbols_are_units_of_factor_one() {
    for kind in Kind::ALL {
        // 1/s is no unit to be written, only the SI name of a rate of turning.
        if kind.si_symbol().is_empty() || *kind == Kind::Frequency {
            continue;
        }
        let unit = unit(kind.si_symbol());
        // A unit of temperature serves for differences as well, and one of
        // density for any mass per volume, so only the dimension is compared.
        let dimension = unit.as_ref().map(|unit| unit.kind.dimension());
        assert_eq!(dimension, Ok(kind.dimension()), "{kind:?}");
        assert_eq!(unit.map(|unit| unit.factor), Ok(1.0), "{kind:?}");
    }
}

#[test]
fn dimensions_print_with_superscripts() {
    assert_eq!(Kind::Density.dimension().to_string(), "kg·m⁻³");
    assert_eq!(Kind::Mass.dimension().to_string(), "kg");
    assert_eq!(Kind::MolarHeatCapacity.dimension().to_string(), "kg·m²·s⁻²·K⁻¹·mol⁻¹");
    assert_eq!(Dimension::NONE.to_string(), "1");
    assert_eq!(Dimension::new(0, 1, 0, 0, 0).pow(-12).to_string(), "m⁻¹²");
}

#[test]
fn dimension_exponents_saturate() {
    let long = Dimension::new(0, 100, 0, 0, 0);
    assert_eq!(long.times(long).length, i8::MAX);
    assert_eq!(long.pow(-100).length, i8::MIN);
}
