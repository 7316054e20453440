//! A unit, and what can be wrong with the writing of one.

use std::fmt;

use super::kind::Kind;

/// A unit of measurement, with the way from it to SI.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// The unit in its canonical spelling: `mL`, `°C`, `J/(g K)`.
    pub text: String,
    /// What the unit measures.
    pub kind: Kind,
    /// How many SI units one of this unit is.
    pub factor: f64,
    /// The SI value of this unit's zero, in K; other than 0 only for °C and °F.
    pub offset: f64,
}

impl Unit {
    /// Converts a number in this unit to SI.
    pub fn to_si(&self, x: f64) -> f64 {
        match self.divisor() {
            Some(divisor) => x / divisor + self.offset,
            None => x * self.factor + self.offset,
        }
    }

    /// Converts an SI value to a number in this unit.
    pub fn from_si(&self, x: f64) -> f64 {
        let above_zero = x - self.offset;
        let value = match self.divisor() {
            Some(divisor) => above_zero * divisor,
            None => above_zero / self.factor,
        };
        if self.offset == 0.0 { value } else { without_cancellation_noise(value) }
    }

    /// The whole number this unit divides SI by, where there is one.
    ///
    /// A thousandth has no exact binary form but a thousand has, so dividing
    /// by 1000 rounds once where multiplying by 0.001 rounds twice; 24 mL then
    /// comes out as the very double that `2.4e-5` names.
    fn divisor(&self) -> Option<f64> {
        let divisor = (1.0 / self.factor).round();
        let exact = (2.0..1e15).contains(&divisor) && 1.0 / divisor == self.factor;
        exact.then_some(divisor)
    }
}

/// Drops what subtracting a large offset leaves in the last binary places.
///
/// 273.25 K − 273.15 K comes out as 0.10000000000002274; no thermometer reads
/// to a ten-billionth of a degree, so rounding there loses nothing.
fn without_cancellation_noise(degrees: f64) -> f64 {
    const STEPS_PER_DEGREE: f64 = 1e10;
    let steps = (degrees * STEPS_PER_DEGREE).round();
    if steps.abs() < 1e15 { steps / STEPS_PER_DEGREE } else { degrees }
}

/// Why a text is not a unit.
#[derive(Clone, Debug, PartialEq)]
pub enum UnitError {
    /// The text is in use for more than one thing, or for nothing definite:
    /// `oz`, `BTU`, `°`, `drops`.
    Ambiguous {
        /// The unit as it was written.
        written: String,
        /// A clause saying what the trouble is, fit to follow a colon.
        because: String,
        /// What could be written instead.
        write: Vec<String>,
    },
    /// The text can mean only one thing but is not how it is written: `ML`,
    /// `hrs`, `cc`.
    Slip {
        /// The unit as it was written.
        written: String,
        /// The one thing to write instead.
        write: String,
    },
    /// The text is no unit known here.
    Unknown {
        /// The unit as it was written.
        written: String,
        /// Known units spelt nearly so, nearest first; often empty.
        near: Vec<String>,
    },
}

impl fmt::Display for UnitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Ambiguous { written, because, write } => {
                write!(f, "`{written}` does not say enough: {because}")?;
                if !write.is_empty() {
                    write!(f, "; write {}", alternatives(write))?;
                }
                Ok(())
            }
            Self::Slip { written, write } => {
                write!(f, "`{written}` is written `{write}` here")
            }
            Self::Unknown { written, near } => {
                write!(f, "`{written}` is not a unit known here")?;
                if !near.is_empty() {
                    write!(f, "; the nearest is {}", alternatives(near))?;
                }
                Ok(())
            }
        }
    }
}

impl std::error::Error for UnitError {}

/// Joins texts as a sentence does: `a`, `b` or `c`.
fn alternatives(texts: &[String]) -> String {
    let quoted: Vec<String> = texts.iter().map(|text| format!("`{text}`")).collect();
    match quoted.split_last() {
        None => String::new(),
        Some((only, [])) => only.clone(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
    }
}
