//! Showing a value in the unit a bench would use.

use std::sync::OnceLock;

use super::decimal::Decimal;
use super::kind::Kind;
use super::read::unit;
use super::round::{MOST_DIGITS, TRUSTED_FIGURES, decimals, significant_trusted, trusted, unprintable};
use super::unit::Unit;

/// The units a kind is shown in, smallest first, each with the least number it
/// is used from.
///
/// The thresholds are the trade's and not powers of a thousand: a liquid is
/// 0.789 g/mL and never 789 g/L, a solution 0.100 M and not 100 mM, and a
/// reflux 90 min but not 120 min.
fn ladder(kind: Kind) -> &'static [(&'static str, f64)] {
    match kind {
        Kind::Mass => &[("µg", 0.0), ("mg", 1.0), ("g", 1.0), ("kg", 1.0)],
        Kind::Volume => &[("µL", 0.0), ("mL", 1.0), ("L", 1.0)],
        Kind::Amount => &[("µmol", 0.0), ("mmol", 1.0), ("mol", 1.0)],
        Kind::Duration => &[("s", 0.0), ("min", 2.0), ("h", 2.0), ("d", 2.0)],
        Kind::Temperature => &[("°C", 0.0)],
        Kind::TemperatureDifference => &[("K", 0.0)],
        Kind::Pressure => &[("mbar", 0.0), ("bar", 1.0)],
        Kind::Energy => &[("J", 0.0), ("kJ", 1.0), ("MJ", 1.0)],
        Kind::Power => &[("mW", 0.0), ("W", 1.0), ("kW", 1.0)],
        Kind::Length => &[("nm", 0.0), ("µm", 1.0), ("mm", 1.0), ("cm", 1.0), ("m", 1.0)],
        Kind::Density => &[("g/L", 0.0), ("g/mL", 0.1)],
        Kind::SpecificVolume => &[("mL/g", 0.0)],
        Kind::Concentration => &[("µM", 0.0), ("mM", 0.1), ("M", 0.01)],
        Kind::Molality => &[("mmol/kg", 0.0), ("mol/kg", 0.01)],
        Kind::MolarMass => &[("g/mol", 0.0)],
        Kind::MolarVolume => &[("mL/mol", 0.0), ("L/mol", 1.0)],
        Kind::MolarEnergy => &[("J/mol", 0.0), ("kJ/mol", 0.1)],
        Kind::MolarHeatCapacity => &[("J/(mol K)", 0.0)],
        Kind::SpecificHeatCapacity => &[("J/(g K)", 0.0)],
        Kind::HeatCapacity => &[("J/K", 0.0), ("kJ/K", 1.0)],
        Kind::SpecificEnergy => &[("J/g", 0.0), ("kJ/g", 1.0)],
        Kind::MassFraction => &[("% w/w", 0.0)],
        Kind::VolumeFraction => &[("% v/v", 0.0)],
        Kind::MassPerVolume => &[("% w/v", 0.0)],
        Kind::MoleFraction => &[("mol%", 0.0)],
        Kind::Equivalents => &[("eq", 0.0)],
        Kind::Frequency => &[("rpm", 0.0)],
        Kind::FlowRate => &[("µL/min", 0.0), ("mL/min", 1.0), ("L/min", 1.0)],
        Kind::HeatingRate => &[("K/min", 0.0)],
        Kind::RateConstant => &[("L/(mol s)", 0.0)],
        // Plain numbers are shown bare.
        Kind::Ratio | Kind::Count => &[],
    }
}

/// Shows an SI value in the unit a bench would use, rounded to `figures`
/// significant figures: `24.0 mL`, `1.20 kg`, `90 min`.
///
/// A whole count is never rounded: twelve portions are twelve. Celsius
/// temperatures are rounded as [`show_in`] says.
pub fn show(si: f64, kind: Kind, figures: usize) -> String {
    if !si.is_finite() {
        return unprintable(si);
    }
    match bench_unit(si, kind, figures) {
        Some(unit) => show_in(si, unit, figures),
        None if kind == Kind::Count && si == si.round() => decimals(si, 0),
        None => significant_trusted(si, figures),
    }
}

/// Shows an SI value in the unit given, rounded to `figures` significant
/// figures.
///
/// Where the zero of a scale is a convention, significant figures say little
/// about precision. A temperature is therefore never rounded more coarsely than
/// to the whole degree, nor more finely than a two-digit temperature would be:
/// to three figures, `150 °C`, `25.0 °C` and `0.0 °C`.
pub fn show_in(si: f64, unit: &Unit, figures: usize) -> String {
    if !si.is_finite() {
        return unprintable(si);
    }
    let value = unit.from_si(si);
    let number = match unit.kind {
        Kind::Temperature => degrees(value, figures),
        _ => significant_trusted(value, figures),
    };
    format!("{number} {}", unit.text)
}

fn degrees(value: f64, figures: usize) -> String {
    let Some(decimal) = Decimal::of_figures(value, TRUSTED_FIGURES) else { return unprintable(value) };
    let whole_digits = usize::try_from(decimal.whole_digits()).unwrap_or(1);
    let places = figures.saturating_sub(whole_digits.max(2)).min(MOST_DIGITS);
    decimal.to_places(i64::try_from(places).unwrap_or(0)).plain(places)
}

/// The rungs of a kind's ladder with their units.
fn rungs(kind: Kind) -> &'static [(Unit, f64)] {
    // Room for more kinds than there are.
    static RUNGS: [OnceLock<Vec<(Unit, f64)>>; 64] = [const { OnceLock::new() }; 64];
    // The ladder of differences names K, which alone reads as a temperature.
    let named = |text: &str| unit(text).ok().map(|unit| Unit { kind, ..unit });
    let read = || ladder(kind).iter().filter_map(|(text, least)| Some((named(text)?, *least))).collect();
    RUNGS.get(kind as usize).map_or(&[], |rungs| rungs.get_or_init(read))
}

/// The largest unit of the ladder in which the value is not below its least.
///
/// The value is rounded before the choice: 999.96 g to three figures is
/// 1.00 kg, not 1000 g.
fn bench_unit(si: f64, kind: Kind, figures: usize) -> Option<&'static Unit> {
    let (smallest, larger) = rungs(kind).split_first()?;
    let large_enough = |(unit, least): &&(Unit, f64)| {
        let value = unit.from_si(si).abs();
        // Every least has one figure: rounding lifts nothing over it from below its half, and takes
        // nothing that is above it under it.
        if value < 0.5 * least || value > *least * (1.0 + 1e-9) {
            return value > *least;
        }
        significant_trusted(value, figures).parse::<f64>().is_ok_and(|value| value >= *least)
    };
    larger.iter().rev().find(large_enough).map(|(unit, _)| unit).or(Some(&smallest.0))
}

const MINUTE: u64 = 60;
const HOUR: u64 = 60 * MINUTE;
const DAY: u64 = 24 * HOUR;

/// Beyond this many seconds (about 300 000 years) a duration is shown in days
/// with figures, for seconds can no longer be told apart.
const LONGEST: f64 = 1e13;

/// Shows a duration in the trade's manner: `45 s`, `90 min`, `2 h 30 min`,
/// `8 h`, `2 d`.
///
/// Up to two minutes it counts in seconds, up to two hours in minutes, up to
/// two days in hours; what does not come out even is spelt in parts. It is
/// rounded to the second below two hours and to the minute above.
pub fn show_duration(seconds: f64) -> String {
    if !seconds.is_finite() {
        return unprintable(seconds);
    }
    let magnitude = seconds.abs();
    if magnitude > 0.0 && !(1.0..=LONGEST).contains(&magnitude) {
        return show(seconds, Kind::Duration, 2);
    }
    let sign = if seconds < 0.0 { "-" } else { "" };
    format!("{sign}{}", spell(whole_seconds(magnitude)))
}

fn whole_seconds(magnitude: f64) -> u64 {
    let step = if magnitude < (2 * HOUR) as f64 { 1.0 } else { MINUTE as f64 };
    let rounded = trusted((magnitude / step).round_ties_even() * step);
    // The caller has bounded the value well within what a u64 holds.
    rounded as u64
}

fn spell(seconds: u64) -> String {
    if seconds < 2 * MINUTE && seconds != MINUTE {
        format!("{seconds} s")
    } else if seconds < 2 * HOUR && seconds != HOUR && seconds.is_multiple_of(MINUTE) {
        format!("{} min", seconds / MINUTE)
    } else if seconds < 2 * DAY {
        parts(&[(seconds / HOUR, "h"), (seconds % HOUR / MINUTE, "min"), (seconds % MINUTE, "s")])
    } else {
        parts(&[(seconds / DAY, "d"), (seconds % DAY / HOUR, "h"), (seconds % HOUR / MINUTE, "min")])
    }
}

fn parts(parts: &[(u64, &str)]) -> String {
    parts.iter().filter(|(count, _)| *count > 0).map(|(count, unit)| format!("{count} {unit}")).collect::<Vec<_>>().join(" ")
}
