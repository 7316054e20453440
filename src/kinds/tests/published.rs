//! Published values, each with its source.

use super::super::{Kind, KindError, Quantity, decimals, difference, difference_unit, significant, sum};
use super::{ambiguous, assert_close, convert, read, si};

/// id, number, from, to, expected, relative tolerance, source
type Conversion = (&'static str, f64, &'static str, &'static str, f64, f64, &'static str);

/// Looser than the printed figures, tighter than any confusion of units.
const PRINTED: f64 = 1e-6;
/// Exact but for the rounding of one or two floating-point operations.
const EXACT: f64 = 4e-16;

#[rustfmt::skip]
const CONVERSIONS: &[Conversion] = &[
    ("A001", 1.0, "mmHg", "Pa", 133.322_387_4, PRINTED, "GNU Units 2.22"),
    ("A002", 1.0, "torr", "Pa", 133.322_368_4, PRINTED, "GNU Units 2.22"),
    ("A004", 1.0, "atm", "Pa", 101_325.0, EXACT, "GNU Units 2.22"),
    ("A005", 1.0, "psi", "Pa", 6_894.757_293, PRINTED, "GNU Units 2.22"),
    ("A007", 1.0, "inHg", "Pa", 3_386.388_64, PRINTED, "GNU Units 2.22"),
    ("A008", 1.0, "kgf/cm2", "Pa", 98_066.5, EXACT, "GNU Units 2.22"),
    ("A010", 1.0, "in", "cm", 2.54, EXACT, "GNU Units 2.22; OpenStax Chemistry 2e"),
    ("A011", 1.0, "lb", "g", 453.592_37, EXACT, "GNU Units 2.22"),
    ("A013", 1.0, "ounce_troy", "g", 31.103_476_8, EXACT, "GNU Units 2.22"),
    ("A014", 1.0, "grain", "mg", 64.798_91, EXACT, "GNU Units 2.22"),
    ("A016", 1.0, "imperial_gallon", "L", 4.546_09, EXACT, "GNU Units 2.22"),
    ("A017", 1.0, "us_fluid_ounce", "mL", 29.573_529_56, PRINTED, "GNU Units 2.22"),
    ("A019", 1.0, "us_quart", "L", 0.946_352_946, PRINTED, "GNU Units 2.22"),
    ("A020", 1.0, "us_pint", "mL", 473.176_473, PRINTED, "GNU Units 2.22"),
    ("A022", 1.0, "ft3", "L", 28.316_846_59, PRINTED, "GNU Units 2.22"),
    ("A023", 1.0, "cal", "J", 4.184, EXACT, "GNU Units 2.22; OpenStax Chemistry 2e"),
    ("A025", 1.0, "Btu_IT", "J", 1_055.055_853, PRINTED, "GNU Units 2.22"),
    ("A026", 1.0, "Btu_th", "J", 1_054.350_264, PRINTED, "GNU Units 2.22"),
    ("A028", 1.0, "horsepower_mechanical", "W", 745.699_871_6, PRINTED, "GNU Units 2.22"),
    ("A029", 1.0, "kcal/mol", "kJ/mol", 4.184, EXACT, "GNU Units 2.22"),
];

#[test]
fn conversions_agree_with_their_sources() {
    for (id, number, from, to, expected, tolerance, source) in CONVERSIONS {
        let got = convert(*number, from, to);
        assert!((got - expected).abs() <= tolerance * expected, "{id}: {number} {from} is {got} {to}, but {expected} in {source}");
    }
}

/// id, number, from, to, expected, source; all to 0.01 of a degree
#[rustfmt::skip]
const TEMPERATURES: &[(&str, f64, &str, &str, f64, &str)] = &[
    ("A031", 37.0, "degC", "K", 310.15, "OpenStax Chemistry 2e"),
    ("A031", 37.0, "degC", "degF", 98.6, "OpenStax Chemistry 2e"),
    ("A032", 80.92, "degC", "K", 354.07, "OpenStax Chemistry 2e"),
    ("A032", 80.92, "degC", "degF", 177.656, "OpenStax Chemistry 2e"),
    ("A034", 450.0, "degF", "degC", 232.22, "OpenStax Chemistry 2e"),
    ("A037", -40.0, "degC", "degF", -40.0, "definition of the scales"),
];

#[test]
fn temperatures_agree_with_their_sources() {
    for (id, number, from, to, expected, source) in TEMPERATURES {
        let got = convert(*number, from, to);
        assert!((got - expected).abs() <= 0.01, "{id}: {number} {from} is {got} {to}, but {expected} in {source}");
    }
}

/// A035, NIST SP 811 appendix B: an interval converts without the offset.
#[test]
fn an_interval_of_eighteen_fahrenheit_degrees_is_ten_kelvin() {
    let fahrenheit = difference_unit("degF").unwrap();
    let celsius = difference_unit("degC").unwrap();
    assert_eq!(fahrenheit.kind, Kind::TemperatureDifference);
    assert_close(fahrenheit.to_si(18.0), 10.0, 1e-15);
    assert_close(celsius.from_si(fahrenheit.to_si(18.0)), 10.0, 1e-15);
}

/// A038, rule of quantities: temperatures do not add, but differences do.
#[test]
fn two_temperatures_do_not_add() {
    assert_eq!(sum(Kind::Temperature, Kind::Temperature), None);
    assert_eq!(sum(Kind::Temperature, Kind::TemperatureDifference), Some(Kind::Temperature));
    assert_eq!(difference(Kind::Temperature, Kind::Temperature), Some(Kind::TemperatureDifference));
    let at = |celsius| Quantity::checked(si(celsius, "degC"), Kind::Temperature).unwrap();
    assert_eq!(at(20.0).checked_add(at(30.0)), Err(KindError::CannotAdd { left: Kind::Temperature, right: Kind::Temperature }));
}

/// A040, definition: nothing is colder than −273.15 °C.
#[test]
fn nothing_is_below_absolute_zero() {
    let refused = Quantity::checked(si(-300.0, "degC"), Kind::Temperature);
    assert!(matches!(refused, Err(KindError::BelowAbsoluteZero { .. })));
    for (zero, scale) in [(-273.15, "degC"), (-459.67, "degF"), (0.0, "K")] {
        let quantity = Quantity::checked(si(zero, scale), Kind::Temperature).unwrap();
        assert_eq!(quantity.si, 0.0, "{zero} {scale}");
    }
}

/// A041, OpenStax Chemistry 2e: 135 g of HCl in 775 g of water is 14.8 % by mass.
#[test]
fn a_mass_fraction_is_part_over_whole() {
    let (part, rest) = (si(135.0, "g"), si(775.0, "g"));
    let percent = read("% w/w").from_si(part / (part + rest));
    assert_eq!(significant(percent, 3), "14.8");
}

/// A046, OpenStax Chemistry 2e: 0.9 % (m/v) is 0.9 g per 100 mL of solution.
#[test]
fn mass_per_volume_is_grams_per_hundred_millilitres() {
    assert_close(si(0.9, "% w/v"), si(0.9, "g/100mL"), EXACT);
    let strength = Quantity::checked(si(0.9, "% w/v"), Kind::MassPerVolume).unwrap();
    let volume = Quantity::checked(si(100.0, "mL"), Kind::Volume).unwrap();
    let mass = strength.checked_mul(volume).unwrap();
    assert_eq!(mass.kind, Kind::Mass);
    assert_close(mass.si, si(0.9, "g"), 1e-15);
}

/// A047, OpenStax Chemistry 2e: 3.75 mg of glucose in 5.0 g is 0.075 % by mass.
#[test]
fn a_small_mass_fraction_keeps_its_place() {
    let percent = read("% w/w").from_si(si(3.75, "mg") / si(5.0, "g"));
    assert_eq!(significant(percent, 2), "0.075");
}

/// id, value, significant figures, expected; all OpenStax Chemistry 2e
#[rustfmt::skip]
const SIGNIFICANT: &[(&str, f64, usize, &str)] = &[
    ("A076", 8.1649, 3, "8.16"),
    ("A077", 0.051065, 4, "0.05106"),
    ("A079", 0.424, 2, "0.42"),
    ("A080", 0.0038661, 3, "0.00387"),
    ("A082", 28_683.5, 5, "28684"),
    ("A088", 421.23 / 486.0, 3, "0.867"),
    ("A089", 2.334 * 0.320, 3, "0.747"),
    ("A091", 31.1415 / 30.13, 4, "1.034"),
];

#[test]
fn significant_figures_agree_with_their_source() {
    for (id, value, figures, expected) in SIGNIFICANT {
        assert_eq!(significant(*value, *figures), *expected, "{id}");
    }
}

/// id, value, places, expected; all OpenStax Chemistry 2e
#[rustfmt::skip]
const PLACES: &[(&str, f64, usize, &str)] = &[
    ("A083", 1.0023 + 4.383, 3, "5.385"),
    ("A085", 2.334 + 0.31, 2, "2.64"),
    ("A086", 56.533 - 55.8752, 3, "0.658"),
];

#[test]
fn decimal_places_agree_with_their_source() {
    for (id, value, places, expected) in PLACES {
        assert_eq!(decimals(*value, *places), *expected, "{id}");
    }
}

/// A088 and A091 again, OpenStax Chemistry 2e, this time through the kinds.
#[test]
fn densities_come_out_as_densities() {
    for (mass, volume, unit, figures, expected) in [(421.23, 486.0, "mL", 3, "0.867"), (31.1415, 30.13, "cm3", 4, "1.034")] {
        let mass = Quantity::checked(si(mass, "g"), Kind::Mass).unwrap();
        let volume = Quantity::checked(si(volume, unit), Kind::Volume).unwrap();
        let density = mass.checked_div(volume).unwrap();
        assert_eq!(density.kind, Kind::Density);
        let shown = significant(read("g/mL").from_si(density.si), figures);
        assert_eq!(shown, expected);
    }
}

/// A092, A094 and A095, OpenStax Chemistry 2e.
#[test]
fn customary_measures_convert_to_the_printed_figures() {
    let litres = convert(9.345, "us_quarts", "L");
    assert_eq!(significant(litres, 4), "8.844", "A092");
    let ounces = convert(125.0, "g", "ounces_avoirdupois");
    assert_eq!(significant(ounces, 3), "4.41", "A094");
    let density = si(9.26, "lb") / si(4.00, "us_quarts");
    let density = read("g/mL").from_si(density);
    assert_eq!(significant(density, 3), "1.11", "A095");
}

/// A101, OpenStax Chemistry 2e appendix C against GNU Units 2.22: three units
/// go by the name, so the bare name is refused.
#[test]
fn an_unqualified_british_thermal_unit_is_refused() {
    for text in ["BTU", "Btu", "btu"] {
        assert_eq!(ambiguous(text), ["Btu_th", "Btu_IT", "J"]);
    }
    let difference = si(1.0, "Btu_IT") - si(1.0, "Btu_th");
    assert!(difference > 0.7 && difference < 0.71);
}
