//! Arithmetic on quantities, and its refusals.

use super::super::{Kind, KindError, Quantity};
use super::{assert_close, si};

fn quantity(x: f64, text: &str, kind: Kind) -> Quantity {
    Quantity::checked(si(x, text), kind).unwrap()
}

#[test]
fn arithmetic_carries_the_kind() {
    let volume = quantity(250.0, "mL", Kind::Volume);
    let strength = quantity(5.30, "M", Kind::Concentration);
    let molar_mass = quantity(58.44, "g/mol", Kind::MolarMass);
    let amount = strength.checked_mul(volume).unwrap();
    let mass = amount.checked_mul(molar_mass).unwrap();
    assert_eq!((amount.kind, mass.kind), (Kind::Amount, Kind::Mass));
    // OpenStax Chemistry 2e: 0.250 L of 5.30 M sodium chloride holds 77.4 g.
    assert_close(mass.si, 0.0774, 1e-3);
    assert_eq!(volume.checked_add(volume).unwrap().checked_sub(volume), Ok(volume));
}

#[test]
fn temperatures_move_by_differences() {
    let room = quantity(20.0, "degC", Kind::Temperature);
    let hot = quantity(50.0, "degC", Kind::Temperature);
    let rise = hot.checked_sub(room).unwrap();
    assert_eq!(rise.kind, Kind::TemperatureDifference);
    assert_close(rise.si, 30.0, 1e-14);
    assert_eq!(room.checked_add(rise).unwrap().kind, Kind::Temperature);
    let plunge = Quantity::checked(400.0, Kind::TemperatureDifference).unwrap();
    assert!(matches!(room.checked_sub(plunge), Err(KindError::BelowAbsoluteZero { .. })));
}

#[test]
fn heat_is_mass_times_capacity_times_rise() {
    let water = quantity(200.0, "g", Kind::Mass);
    let capacity = quantity(4.184, "J/(g K)", Kind::SpecificHeatCapacity);
    let rise = Quantity::checked(1.6, Kind::TemperatureDifference).unwrap();
    let one_way = capacity.checked_mul(water).and_then(|c| c.checked_mul(rise));
    let other_way = capacity.checked_mul(rise).and_then(|c| c.checked_mul(water));
    // OpenStax Chemistry 2e, calorimetry: 1.34 kJ.
    for heat in [one_way.unwrap(), other_way.unwrap()] {
        assert_eq!(heat.kind, Kind::Energy);
        assert_close(heat.si, 1340.0, 1e-2);
    }
}

#[test]
fn refusals_are_plain_sentences() {
    let mass = quantity(1.0, "g", Kind::Mass);
    let volume = quantity(1.0, "mL", Kind::Volume);
    let room = quantity(20.0, "degC", Kind::Temperature);
    let none = Quantity::checked(0.0, Kind::Volume).unwrap();
    let said = |refused: Result<Quantity, KindError>| refused.unwrap_err().to_string();
    assert_eq!(said(mass.checked_add(volume)), "a mass and a volume cannot be added");
    assert_eq!(said(mass.checked_sub(volume)), "a volume cannot be subtracted from a mass");
    assert_eq!(said(mass.checked_mul(mass)), "a mass cannot be multiplied by a mass");
    assert_eq!(said(room.checked_div(mass)), "a temperature cannot be divided by a mass");
    assert_eq!(said(mass.checked_div(none)), "the divisor, a volume, is zero");
    assert_eq!(
        said(room.checked_add(room)),
        "two temperatures cannot be added; \
         a temperature difference can be added to a temperature"
    );
    assert_eq!(
        said(Quantity::checked(-26.85, Kind::Temperature)),
        "-26.85 K is below absolute zero, which is 0 K, -273.15 °C or -459.67 °F"
    );
}

#[test]
fn values_that_are_no_number_are_refused() {
    for x in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert_eq!(Quantity::checked(x, Kind::Mass), Err(KindError::NotFinite));
    }
    let vast = Quantity::checked(f64::MAX, Kind::Mass).unwrap();
    assert_eq!(vast.checked_add(vast), Err(KindError::NotFinite));
}
