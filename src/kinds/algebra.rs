//! Which kinds may be multiplied, divided, added and subtracted.

use super::kind::Kind;

/// Each row reads `first · second = third`; the two quotients follow from it.
///
/// Order matters only where two rows would give the same quotient: the earlier
/// row wins, so mass over volume is a density, not a mass of solute per volume.
pub(super) const DEFINITIONS: &[(Kind, Kind, Kind)] = &[
    (Kind::Density, Kind::Volume, Kind::Mass),
    (Kind::SpecificVolume, Kind::Mass, Kind::Volume),
    (Kind::Density, Kind::SpecificVolume, Kind::Ratio),
    (Kind::Concentration, Kind::Volume, Kind::Amount),
    (Kind::Molality, Kind::Mass, Kind::Amount),
    (Kind::MolarMass, Kind::Amount, Kind::Mass),
    (Kind::MolarVolume, Kind::Amount, Kind::Volume),
    (Kind::MolarVolume, Kind::Density, Kind::MolarMass),
    (Kind::SpecificVolume, Kind::MolarMass, Kind::MolarVolume),
    (Kind::MolarEnergy, Kind::Amount, Kind::Energy),
    (Kind::SpecificEnergy, Kind::Mass, Kind::Energy),
    (Kind::SpecificEnergy, Kind::MolarMass, Kind::MolarEnergy),
    (Kind::HeatCapacity, Kind::TemperatureDifference, Kind::Energy),
    (Kind::MolarHeatCapacity, Kind::TemperatureDifference, Kind::MolarEnergy),
    (Kind::SpecificHeatCapacity, Kind::TemperatureDifference, Kind::SpecificEnergy),
    (Kind::MolarHeatCapacity, Kind::Amount, Kind::HeatCapacity),
    (Kind::SpecificHeatCapacity, Kind::Mass, Kind::HeatCapacity),
    (Kind::SpecificHeatCapacity, Kind::MolarMass, Kind::MolarHeatCapacity),
    (Kind::Power, Kind::Duration, Kind::Energy),
    (Kind::Pressure, Kind::Volume, Kind::Energy),
    (Kind::FlowRate, Kind::Duration, Kind::Volume),
    (Kind::HeatingRate, Kind::Duration, Kind::TemperatureDifference),
    (Kind::RateConstant, Kind::Duration, Kind::MolarVolume),
    (Kind::Frequency, Kind::Duration, Kind::Count),
    // The solute's share of a solution's density is a mass of solute per volume.
    (Kind::MassFraction, Kind::Density, Kind::MassPerVolume),
    (Kind::MassPerVolume, Kind::Volume, Kind::Mass),
    (Kind::Concentration, Kind::MolarMass, Kind::MassPerVolume),
    // A neat liquid has a concentration too: its density over its molar mass.
    (Kind::MolarVolume, Kind::Concentration, Kind::Ratio),
];

/// Numbers that say "this much of that", and what each may be taken of.
///
/// A share of a thing is a thing of the same kind. The reverse quotient,
/// thing over thing, is a plain ratio, because the division alone cannot tell a
/// part of a whole from two unrelated masses.
const SHARES: &[(Kind, Kind)] = &[
    (Kind::MassFraction, Kind::Mass),
    (Kind::VolumeFraction, Kind::Volume),
    (Kind::MoleFraction, Kind::Amount),
    (Kind::Equivalents, Kind::Amount),
];

fn is_share_of(share: Kind, whole: Kind) -> bool {
    SHARES.contains(&(share, whole))
}

/// The kind of `a · b`, or `None` where the product means nothing on a bench.
///
/// Multiplication commutes. A temperature multiplies with nothing: twice 25 °C
/// depends on where zero is put.
pub fn product(a: Kind, b: Kind) -> Option<Kind> {
    match (a, b) {
        (Kind::Temperature, _) | (_, Kind::Temperature) => None,
        (Kind::Ratio, other) | (other, Kind::Ratio) => Some(other),
        (Kind::Count, other) | (other, Kind::Count) => Some(other),
        _ if is_share_of(a, b) => Some(b),
        _ if is_share_of(b, a) => Some(a),
        _ => DEFINITIONS.iter().find(|(x, y, _)| (*x, *y) == (a, b) || (*x, *y) == (b, a)).map(|(_, _, whole)| *whole),
    }
}

/// The kind of `a / b`, or `None` where the quotient means nothing on a bench.
///
/// Like over like is a plain ratio, except that a ratio of two temperatures is
/// refused for the reason their product is.
pub fn quotient(a: Kind, b: Kind) -> Option<Kind> {
    match (a, b) {
        (Kind::Temperature, _) | (_, Kind::Temperature) => None,
        _ if a == b => Some(Kind::Ratio),
        (_, Kind::Ratio | Kind::Count) => Some(a),
        _ if is_share_of(b, a) => Some(a),
        _ => DEFINITIONS
            .iter()
            .find_map(|(x, y, whole)| match *whole == a {
                true if *y == b => Some(*x),
                true if *x == b => Some(*y),
                _ => None,
            })
            .or_else(|| neat_concentration(a, b)),
    }
}

/// Density over molar mass is the concentration of a neat substance.
///
/// It is not a row of the table, because the reverse product, concentration
/// times molar mass, is a mass of solute per volume and not a density.
fn neat_concentration(a: Kind, b: Kind) -> Option<Kind> {
    (a == Kind::Density && b == Kind::MolarMass).then_some(Kind::Concentration)
}

/// The kind of `a + b`, or `None` where the two may not be added.
///
/// Only like adds to like; two temperatures do not add, but a temperature and a
/// difference make a temperature.
pub fn sum(a: Kind, b: Kind) -> Option<Kind> {
    match (a, b) {
        (Kind::Temperature, Kind::Temperature) => None,
        (Kind::Temperature, Kind::TemperatureDifference) | (Kind::TemperatureDifference, Kind::Temperature) => Some(Kind::Temperature),
        _ => (a == b).then_some(a),
    }
}

/// The kind of `a − b`, or `None` where `b` may not be taken from `a`.
///
/// The difference of two temperatures is a temperature difference.
pub fn difference(a: Kind, b: Kind) -> Option<Kind> {
    match (a, b) {
        (Kind::Temperature, Kind::Temperature) => Some(Kind::TemperatureDifference),
        (Kind::Temperature, Kind::TemperatureDifference) => Some(Kind::Temperature),
        _ => (a == b).then_some(a),
    }
}
