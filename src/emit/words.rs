//! Figures and names as a chemist writes them.

use std::collections::BTreeMap;

use crate::kinds::{Kind, show, show_duration, significant};
use crate::matter::mixture::{self, Assumed};
use crate::matter::portion::{Masses, Portion};
use crate::resolve::definitions::{Definitions, Sub};
use crate::resolve::quantity::Figure;

/// Below this, in kg, a mass is called a trace: a milligram.
pub const TRACE: f64 = 1e-6;

/// Underscores become spaces.
pub fn plain(name: &str) -> String {
    name.replace('_', " ")
}

/// The name with its article; a single letter or a numbered name goes without.
pub fn the(name: &str) -> String {
    let plain = plain(name);
    if plain.chars().count() < 3 || plain.chars().any(|c| c.is_ascii_digit()) { plain } else { format!("the {plain}") }
}

/// The first letter in upper case.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The first letter in lower case.
pub fn uncapital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// A full stop at the end, where there is none.
pub fn stop(text: &str) -> String {
    let text = text.trim();
    if text.ends_with(['.', '!', '?', ':']) { text.to_owned() } else { format!("{text}.") }
}

/// `a, b and c`
pub fn list(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// For use inside brackets: `acetic acid, glacial`.
pub fn unbracketed(text: &str) -> String {
    text.replace(" (", ", ").replace(')', "")
}

/// What people wrote, so that Markdown takes no letter of it for its own.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\\' | '`' | '*' | '_' | '<' | '|' | '#' | '[' | ']' => {
                out.push('\\');
                out.push(letter);
            }
            letter if letter.is_control() => out.push(' '),
            letter => out.push(letter),
        }
    }
    out
}

/// A mass to three figures, or `a trace`.
pub fn mass(si: f64) -> String {
    // A gram and more to three figures, less to two, in grams: one column, one unit.
    if si.abs() < TRACE {
        "a trace".to_owned()
    } else if si < 1e-3 {
        format!("{} g", significant(si * 1e3, 2))
    } else {
        show(si, Kind::Mass, 3)
    }
}

/// Grams to three figures without the unit, for tables.
pub fn grams(si: f64) -> String {
    if si.abs() < TRACE { "–".to_owned() } else { significant(si * 1e3, 3) }
}

/// A volume to three figures, or `not known`.
pub fn volume(si: Option<f64>) -> String {
    si.map_or_else(|| "not known".to_owned(), |si| if si < 1e-6 { "less than 1 mL".to_owned() } else { show(si, Kind::Volume, 3) })
}

/// Moles to three figures: mol from a hundredth upwards.
pub fn moles(si: f64) -> String {
    if si >= 0.01 { format!("{} mol", significant(si, 3)) } else { show(si, Kind::Amount, 3) }
}

/// A share as a percentage to three figures; never a hundred that is not one.
pub fn percent(share: f64) -> String {
    let shown = significant(share * 100.0, 3);
    if shown == "100" && share < 0.999_999 { "over 99.5 %".to_owned() } else { format!("{shown} %") }
}

/// Takes off the zeros behind the point: `25.00 °C` is `25 °C`.
fn trimmed(text: &str) -> String {
    let (number, unit) = text.split_once(' ').map_or((text, ""), |(number, unit)| (number, unit));
    let number = if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { number };
    if unit.is_empty() { number.to_owned() } else { format!("{number} {unit}") }
}

/// A figure that the author gave, in bench units.
pub fn figure(figure: &Figure) -> String {
    let one = |si: f64| match figure.kind {
        Kind::Duration => show_duration(si),
        Kind::Count if si == 1.0 => "once".to_owned(),
        Kind::Count => format!("{} times", show(si, Kind::Count, 4)),
        Kind::Ratio => percent(si),
        kind => trimmed(&show(si, kind, 4)),
    };
    match figure.high {
        None => one(figure.low),
        Some(high) => {
            let (low, high) = (one(figure.low), one(high));
            // `1 h 30 min` has two units and stands whole.
            match (low.split_once(' '), high.split_once(' ')) {
                (Some((number, a)), Some((_, b))) if a == b && !a.contains(' ') => format!("{number} to {high}"),
                _ => format!("{low} to {high}"),
            }
        }
    }
}

/// A temperature to the degree.
pub fn temperature(kelvin: f64) -> String {
    show(kelvin, Kind::Temperature, 2)
}

/// The volume of what is liquid, m³; `None` when it is not known or nothing is liquid.
pub fn liquid_volume(portion: &Portion, defs: &Definitions) -> Option<f64> {
    let liquid = portion.liquid(defs.find("water"));
    let mass: f64 = liquid.values().sum();
    if mass < TRACE {
        return None;
    }
    mixture::volume(&liquid, defs, &mut Assumed::new()).ok().filter(|volume| volume.is_finite() && *volume > 0.0)
}

/// Whether it is a solid, dry or wet, rather than a liquid.
pub fn is_solid(portion: &Portion, defs: &Definitions) -> bool {
    let liquid: f64 = portion.liquid(defs.find("water")).values().sum();
    liquid < 0.5 * portion.mass()
}

/// Substances by falling mass.
pub fn by_mass(masses: &Masses) -> Vec<(Sub, f64)> {
    let mut sorted: Vec<(Sub, f64)> = masses.iter().map(|(sub, mass)| (*sub, *mass)).filter(|(_, mass)| *mass > 0.0).collect();
    sorted.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    sorted
}

/// What a portion holds, down to a thousandth: `water 94.1 %, acetic acid 5.9 %`.
pub fn contents(portion: &Portion, defs: &Definitions) -> String {
    let whole = portion.mass();
    if whole <= 0.0 {
        return "nothing".to_owned();
    }
    let sorted = by_mass(&portion.masses());
    let (named, rest): (Vec<_>, Vec<_>) = sorted.into_iter().partition(|(_, mass)| *mass >= 1e-3 * whole);
    let mut text: Vec<String> =
        named.iter().map(|(sub, mass)| format!("{} {}", defs.substance(*sub).display(), percent(mass / whole))).collect();
    // What rounding leaves over is nothing to anybody.
    if rest.iter().any(|(_, mass)| *mass >= 1e-9 * whole) {
        text.push("traces of others".to_owned());
    }
    text.join(", ")
}

/// `mostly isoamyl acetate (87.2 %)`, or `isoamyl acetate` when it is nearly pure.
pub fn mostly(portion: &Portion, defs: &Definitions) -> Option<String> {
    let main = portion.main()?;
    let share = portion.of(main) / portion.mass();
    let name = defs.substance(main).display();
    Some(match share {
        share if share >= 0.995 => name,
        share if share >= 0.5 => format!("mostly {name} ({})", percent(share)),
        _ => {
            let sorted = by_mass(&portion.masses());
            let first: Vec<String> = sorted
                .iter()
                .take(3)
                .map(|(sub, mass)| format!("{} ({})", defs.substance(*sub).display(), percent(mass / portion.mass())))
                .collect();
            format!("mainly {}", list(&first))
        }
    })
}

/// `now about 91 % isoamyl acetate, 6 % isoamyl alcohol and 2 % acetic acid`: what a wash leaves.
pub fn now(portion: &Portion, defs: &Definitions) -> Option<String> {
    let whole = portion.mass();
    let sorted = by_mass(&portion.masses());
    let first: Vec<String> = sorted
        .iter()
        .take(4)
        .filter(|(_, mass)| *mass >= 0.005 * whole)
        .map(|(sub, mass)| {
            let share = 100.0 * mass / whole;
            format!("{} % {}", significant(share, if share < 10.0 { 1 } else { 2 }), defs.substance(*sub).display())
        })
        .collect();
    match first.as_slice() {
        [_] => mostly(portion, defs),
        _ => Some(format!("now about {}", list(&first))),
    }
}

/// Two portions as one.
pub fn pool<'a>(portions: impl Iterator<Item = &'a Portion>) -> Masses {
    let mut pooled: Masses = BTreeMap::new();
    for portion in portions {
        for (sub, mass) in portion.masses() {
            *pooled.entry(sub).or_insert(0.0) += mass;
        }
    }
    pooled
}

/// A number that JSON can hold.
pub fn finite(value: f64) -> Option<f64> {
    // Adding zero turns a negative zero into a plain one.
    value.is_finite().then_some(value + 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zeros_behind_the_point_are_taken_off() {
        assert_eq!(trimmed("25.00 °C"), "25 °C");
        assert_eq!(trimmed("100 °C"), "100 °C");
    }

    #[test]
    fn nearly_all_is_not_said_to_be_all() {
        assert_eq!(percent(0.9999), "over 99.5 %");
        assert_eq!(percent(1.0), "100 %");
    }

    #[test]
    fn markdown_takes_no_letter_for_its_own() {
        assert_eq!(escape("a|b*c"), "a\\|b\\*c");
    }
}
