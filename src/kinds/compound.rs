//! Units made of others with a stroke: `g/mL`, `J/(g K)`, `g/100 mL`.

use super::algebra::quotient;
use super::atoms::{ATOMS, Scale};
use super::dimension::Dimension;
use super::kind::Kind;
use super::unit::Unit;

/// The texts above and below the stroke of a compound unit.
pub(super) fn split(text: &str) -> Option<(&str, Vec<&str>)> {
    let (above, below) = text.split_once('/')?;
    let divisors = match below.strip_prefix('(').and_then(|b| b.strip_suffix(')')) {
        Some(group) => group.split([' ', '·']).collect(),
        None => below.split('/').collect(),
    };
    Some((above, divisors))
}

/// A divisor without the `100` of `g/100 mL`, and the power of ten that is.
///
/// A hundred is the only number let in, because "per 100 mL" and "per 100 g"
/// are the only such units in the trade.
pub(super) fn per_hundred(divisor: &str) -> (&str, i32) {
    match divisor.strip_prefix("100") {
        Some(rest) => (rest.trim_start(), 2),
        None => (divisor, 0),
    }
}

/// A compound whose parts are all named units, and whose kind is one that units
/// are made for.
pub(super) fn compound(text: &str) -> Option<Unit> {
    let (above, divisors) = split(text)?;
    let numerator = ATOMS.get(above)?;
    let mut kind = as_factor(numerator.kind);
    let mut scale = numerator.scale;
    let mut below = Vec::new();
    for divisor in divisors {
        let (name, ten) = per_hundred(divisor);
        let atom = ATOMS.get(name)?;
        kind = per(kind, as_factor(atom.kind))?;
        scale = scale.over(Scale { ten: atom.scale.ten + ten, ..atom.scale });
        let hundred = if ten == 0 { "" } else { "100 " };
        below.push(format!("{hundred}{}", atom.text));
    }
    let text = match below.as_slice() {
        [only] => format!("{}/{only}", numerator.text),
        _ => format!("{}/({})", numerator.text, below.join(" ")),
    };
    is_written_as_quotient(kind).then(|| Unit { text, kind, factor: scale.factor(), offset: 0.0 })
}

/// Within a compound a degree is the size of a step, not a point on the scale.
fn as_factor(kind: Kind) -> Kind {
    match kind {
        Kind::Temperature => Kind::TemperatureDifference,
        other => other,
    }
}

/// The kind of a quotient *of units*.
///
/// A unit `g/g` is written only to say that a part is measured against a whole,
/// so here like over like is a fraction, where a calculation gives a ratio.
fn per(above: Kind, below: Kind) -> Option<Kind> {
    match (above, below) {
        (Kind::Mass, Kind::Mass) => Some(Kind::MassFraction),
        (Kind::Volume, Kind::Volume) => Some(Kind::VolumeFraction),
        (Kind::Amount, Kind::Amount) => Some(Kind::MoleFraction),
        _ if below.dimension() == Dimension::NONE => None,
        _ => quotient(above, below),
    }
}

/// Whether a unit of this kind is ever written with a stroke.
///
/// The algebra would make a pressure of J/L and a volume of mol/M; nobody who
/// wrote that meant it.
fn is_written_as_quotient(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::Density
            | Kind::SpecificVolume
            | Kind::Concentration
            | Kind::Molality
            | Kind::MolarMass
            | Kind::MolarVolume
            | Kind::MolarEnergy
            | Kind::MolarHeatCapacity
            | Kind::SpecificHeatCapacity
            | Kind::HeatCapacity
            | Kind::SpecificEnergy
            | Kind::MassFraction
            | Kind::VolumeFraction
            | Kind::MoleFraction
            | Kind::FlowRate
            | Kind::HeatingRate
            | Kind::RateConstant
    )
}
