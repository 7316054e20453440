//! With what an amount is measured out, and how finely.

use crate::kinds::{decimals, to_step};
use crate::resolve::definitions::{Definitions, Instrument};

/// A balance is fine enough when its step is at most this share of the amount. Our own figure.
const FINE: f64 = 0.01;

/// An amount as it is measured out.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// As it is read: `24.0 mL`.
    pub text: String,
    /// What is read, kg or m³.
    pub si: f64,
    /// What was worked out, kg or m³.
    pub exact: f64,
    /// Whether it is a volume.
    pub volume: bool,
    /// The instrument as the sheet calls it; `None` when none that is declared will do.
    pub instrument: Option<String>,
    /// How often the instrument is filled.
    pub fills: u32,
}

impl Measured {
    /// What is measured out against what was worked out.
    #[must_use]
    pub fn ratio(&self) -> f64 {
        if self.exact > 0.0 { self.si / self.exact } else { 1.0 }
    }

    /// The instrument in words: `25 mL cylinder`, `1000 mL cylinder, filled 3 times`.
    #[must_use]
    pub fn with(&self) -> String {
        match (&self.instrument, self.fills) {
            (None, _) => "no instrument for so little".to_owned(),
            (Some(title), 0 | 1) => title.clone(),
            (Some(title), fills) => format!("{title}, filled {fills} times"),
        }
    }
}

/// Good enough for a drying agent, of which a little more does no harm. Our own figure.
pub const HEAP: f64 = 0.2;

/// Measures out `si` kg or m³ of something, with an error of at most the share `good` if that can be;
/// `enough` is rather a step more than less.
#[must_use]
pub fn measure(defs: &Definitions, si: f64, volume: bool, good: f64, enough: bool) -> Measured {
    let own: Vec<&Instrument> =
        defs.instruments.iter().map(AsRef::as_ref).filter(|one| one.serves.is_none() && one.volume == volume).collect();
    let (chosen, fills) = choose(&own, si, volume, good);
    let Some(instrument) = chosen else {
        return Measured { text: rough(si, volume), si, exact: si, volume, instrument: None, fills: 1 };
    };
    let mut read = to_step(si, instrument.step);
    if enough && read < si * (1.0 - 1e-9) {
        read += instrument.step;
    }
    // A step must not round the whole amount away.
    let read = if read > 0.0 { read } else { si };
    Measured {
        text: written(read, instrument.step, volume),
        si: read,
        exact: si,
        volume,
        instrument: Some(instrument.title.clone()),
        fills,
    }
}

/// Another amount of the same thing with the instrument of `like`, as finely as that shows it.
#[must_use]
pub fn alike(defs: &Definitions, si: f64, like: &Measured) -> Measured {
    let own = defs.instruments.iter().find(|one| Some(&one.title) == like.instrument.as_ref());
    let Some(instrument) = own else { return Measured { text: rough(si, like.volume), si, exact: si, ..like.clone() } };
    let read = to_step(si, instrument.step);
    let read = if read > 0.0 { read } else { si };
    Measured { text: written(read, instrument.step, like.volume), si: read, exact: si, ..like.clone() }
}

/// The instrument and how often it is filled.
fn choose<'a>(own: &[&'a Instrument], si: f64, volume: bool, good: f64) -> (Option<&'a Instrument>, u32) {
    // The noise of arithmetic must not push 25 mL out of a 25 mL cylinder.
    let slack = si * 1e-9;
    let holds: Vec<&Instrument> = own.iter().copied().filter(|one| one.range.0 <= si + slack && si <= one.range.1 + slack).collect();
    if !holds.is_empty() {
        let found = if volume { smallest(&holds, si, good) } else { coarsest(&holds, si, good) };
        return (found, 1);
    }
    let largest = own.iter().copied().max_by(|a, b| a.range.1.total_cmp(&b.range.1));
    match largest {
        Some(largest) if si > largest.range.1 => {
            let fills = (si / largest.range.1 - 1e-9).ceil().clamp(1.0, 1e6);
            // Bounded by the clamp above.
            (Some(largest), fills as u32)
        }
        // Less than anything here measures.
        _ => (None, 1),
    }
}

/// How far off it may be, as a share of the amount.
fn error(instrument: &Instrument, si: f64) -> f64 {
    let tolerance = instrument.tolerance.as_ref().map_or(0.0, |tolerance| tolerance.value);
    (0.5 * instrument.step).max(tolerance) / si
}

/// Of what holds it, the smallest that measures it well, and of two such the handier; else the best
/// there is.
fn smallest<'a>(holds: &[&'a Instrument], si: f64, good: f64) -> Option<&'a Instrument> {
    let by_size = |a: &&Instrument, b: &&Instrument| a.range.1.total_cmp(&b.range.1).then(b.step.total_cmp(&a.step));
    let well = holds.iter().copied().filter(|one| error(one, si) <= good + 1e-9).min_by(by_size);
    well.or_else(|| holds.iter().copied().min_by(|a, b| error(a, si).total_cmp(&error(b, si)).then(by_size(a, b))))
}

/// Of the balances, the coarsest that is fine enough: nobody weighs a drying agent to the milligram.
fn coarsest<'a>(holds: &[&'a Instrument], si: f64, good: f64) -> Option<&'a Instrument> {
    let step = if good >= HEAP { 0.5 * good } else { FINE.min(2.0 * good) };
    let fine = holds.iter().copied().filter(|one| one.step <= step * si * (1.0 + 1e-9));
    fine.max_by(|a, b| a.step.total_cmp(&b.step).then(b.range.1.total_cmp(&a.range.1)))
        .or_else(|| holds.iter().copied().min_by(|a, b| a.step.total_cmp(&b.step)))
}

/// `24.0 mL`: as many digits as the step has.
fn written(si: f64, step: f64, volume: bool) -> String {
    // kg to g, m³ to mL.
    let (factor, unit) = if volume { (1e6, "mL") } else { (1e3, "g") };
    let step = step * factor;
    let places = (0..6_usize).find(|places| {
        let scaled = step * 10_f64.powi(i32::try_from(*places).unwrap_or(0));
        (scaled - scaled.round()).abs() < 1e-6 * scaled
    });
    format!("{} {unit}", decimals(si * factor, places.unwrap_or(3)))
}

fn rough(si: f64, volume: bool) -> String {
    let kind = if volume { crate::kinds::Kind::Volume } else { crate::kinds::Kind::Mass };
    crate::kinds::show(si, kind, 3)
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;

    const GOOD: f64 = 0.02;

    fn one(title: &str, volume: bool, range: (f64, f64), step: f64) -> Arc<Instrument> {
        Arc::new(Instrument {
            name: title.to_owned(),
            title: title.to_owned(),
            serves: None,
            volume,
            range,
            step,
            tolerance: None,
            class: None,
            classes: Default::default(),
        })
    }

    fn bench() -> Definitions {
        Definitions {
            instruments: vec![
                one("fine", false, (2e-5, 0.1), 1e-6),
                one("middle", false, (2e-4, 0.5), 1e-5),
                one("coarse", false, (2e-3, 5.0), 1e-4),
                one("cylinder 25", true, (2e-6, 25e-6), 5e-7),
                one("cylinder 100", true, (1e-5, 100e-6), 1e-6),
            ],
            ..Definitions::default()
        }
    }

    #[test]
    fn the_smallest_cylinder_that_holds_it_is_taken() {
        let found = measure(&bench(), 24.1e-6, true, GOOD, false);
        assert_eq!((found.text.as_str(), found.with().as_str()), ("24.0 mL", "cylinder 25"));
    }

    #[test]
    fn what_no_cylinder_holds_is_measured_in_fills() {
        let found = measure(&bench(), 250.2e-6, true, GOOD, false);
        assert_eq!((found.text.as_str(), found.with().as_str()), ("250 mL", "cylinder 100, filled 3 times"));
    }

    #[test]
    fn a_full_cylinder_is_one_fill() {
        assert_eq!(measure(&bench(), 100e-6, true, GOOD, false).fills, 1);
    }

    #[test]
    fn a_balance_is_no_finer_than_it_needs_to_be() {
        assert_eq!(measure(&bench(), 0.036_04, false, GOOD, false).text, "36.0 g");
        assert_eq!(measure(&bench(), 0.003_5, false, GOOD, false).text, "3.50 g");
        assert_eq!(measure(&bench(), 0.000_5, false, GOOD, false).text, "0.500 g");
    }

    #[test]
    fn what_is_too_little_is_said() {
        assert_eq!(measure(&bench(), 1e-8, true, GOOD, false).instrument, None);
    }
}
