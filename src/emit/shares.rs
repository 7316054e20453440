//! What a liquid or a vapour is made of, by mole and by mass, as the answers on the command line give it.

use indexmap::IndexMap;
use serde::Serialize;

use crate::kinds::{Kind, decimals, show};
use crate::resolve::definitions::{Definitions, Sub};

/// °C of a temperature in K, free of the last digits that only the subtraction makes.
#[must_use]
pub fn celsius(kelvin: f64) -> f64 {
    ((kelvin - 273.15) * 1e9).round() / 1e9
}

/// Shares by the name of each substance; each of the two sums to one.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Shares {
    /// Of all moles.
    pub mole_fraction: IndexMap<String, f64>,
    /// Of the mass.
    pub mass_fraction: IndexMap<String, f64>,
}

impl Shares {
    /// Of moles of each substance. What has no formula cannot be counted in moles, and is not here.
    #[must_use]
    pub fn of_moles(moles: &[(Sub, f64)], defs: &Definitions) -> Self {
        let whole: f64 = moles.iter().map(|(_, moles)| moles).sum();
        let mass = |sub: Sub, moles: f64| moles * defs.substance(sub).molar_mass().unwrap_or(0.0);
        let heavy: f64 = moles.iter().map(|(sub, moles)| mass(*sub, *moles)).sum();
        let name = |sub: Sub| defs.substance(sub).name.clone();
        Self {
            mole_fraction: moles.iter().map(|(sub, moles)| (name(*sub), share(*moles, whole))).collect(),
            mass_fraction: moles.iter().map(|(sub, moles)| (name(*sub), share(mass(*sub, *moles), heavy))).collect(),
        }
    }

    /// The share of the mass that a substance has.
    #[must_use]
    pub fn by_mass(&self, name: &str) -> f64 {
        self.mass_fraction.get(name).copied().unwrap_or(0.0)
    }

    /// The share of the moles that a substance has.
    #[must_use]
    pub fn by_mole(&self, name: &str) -> f64 {
        self.mole_fraction.get(name).copied().unwrap_or(0.0)
    }

    /// `68.0 % ethanol and 32.0 % toluene` by mass, without what is not there.
    #[must_use]
    pub fn said(&self, defs: &Definitions) -> String {
        let parts: Vec<String> = self
            .mass_fraction
            .iter()
            .filter(|(_, share)| **share > 0.0)
            .map(|(name, share)| format!("{} {}", percent(*share), display(name, defs)))
            .collect();
        super::words::list(&parts)
    }
}

fn share(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}

/// The name of a substance as the sheet prints it.
#[must_use]
pub fn display(name: &str, defs: &Definitions) -> String {
    defs.find(name).map_or_else(|| super::words::plain(name), |sub| defs.substance(sub).display())
}

/// A share in per cent, to a tenth; what is there is never nothing, what is not all never a hundred.
#[must_use]
pub fn percent(share: f64) -> String {
    if share <= 0.0 {
        "–".to_owned()
    } else if share < 0.000_5 {
        "< 0.1 %".to_owned()
    } else if share > 0.999_5 && share < 1.0 - 1e-9 {
        "> 99.9 %".to_owned()
    } else {
        format!("{} %", decimals(100.0 * share, 1))
    }
}

/// A temperature to a tenth of a degree, which is finer than any model here.
#[must_use]
pub fn degrees(kelvin: f64) -> String {
    format!("{} °C", decimals(kelvin - 273.15, 1))
}

/// A pressure in the units of a bench: `760 mmHg (1.013 bar)`.
#[must_use]
pub fn pressure(pascal: f64) -> String {
    let mmhg = pascal / 133.322_387_415;
    let figures = if mmhg >= 100.0 { decimals(mmhg, 0) } else { crate::kinds::significant(mmhg, 3) };
    format!("{figures} mmHg ({})", show(pascal, Kind::Pressure, 4))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_read_as_what_they_are() {
        assert_eq!([0.0, 1e-6, 0.25, 0.9999, 1.0].map(percent), ["–", "< 0.1 %", "25.0 %", "> 99.9 %", "100.0 %"]);
        assert_eq!(degrees(351.276), "78.1 °C");
        assert_eq!(pressure(101_325.0), "760 mmHg (1.013 bar)");
        assert_eq!(pressure(100.0), "0.750 mmHg (1.000 mbar)");
    }
}
