//! The units known by name, each with its factor and where the factor is from.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use super::kind::Kind;

/// A factor to SI, kept as `mantissa × 10^ten`.
///
/// Powers of ten are kept apart so that a compound such as g/mL combines them
/// as integers and rounds once, giving 1000 and not 1000.0000000000001.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Scale {
    pub(super) mantissa: f64,
    pub(super) ten: i32,
}

impl Scale {
    pub(super) fn over(self, other: Self) -> Self {
        Self { mantissa: self.mantissa / other.mantissa, ten: self.ten - other.ten }
    }

    pub(super) fn factor(self) -> f64 {
        // Positive powers of ten are exact in a double, negative ones are not.
        let power = 10_f64.powi(self.ten.abs());
        if self.ten < 0 { self.mantissa / power } else { self.mantissa * power }
    }
}

/// One named unit, prefix included.
#[derive(Clone, Debug)]
pub(super) struct Atom {
    pub(super) text: String,
    pub(super) kind: Kind,
    pub(super) scale: Scale,
    pub(super) offset: f64,
    pub(super) source: &'static str,
}

/// An SI prefix: the spellings accepted, and the power of ten.
type Prefix = (&'static [&'static str], i32);

const NANO: Prefix = (&["n"], -9);
const MICRO: Prefix = (&["µ", "u"], -6);
const MILLI: Prefix = (&["m"], -3);
const CENTI: Prefix = (&["c"], -2);
const DECI: Prefix = (&["d"], -1);
const HECTO: Prefix = (&["h"], 2);
const KILO: Prefix = (&["k"], 3);
const MEGA: Prefix = (&["M"], 6);

struct Row {
    /// Spellings accepted; the canonical one is `text`.
    names: &'static [&'static str],
    text: &'static str,
    kind: Kind,
    scale: Scale,
    offset: f64,
    /// Only the prefixes a bench uses: each one more is a slip let through.
    prefixes: &'static [Prefix],
    source: &'static str,
}

impl Row {
    const fn prefixed(mut self, prefixes: &'static [Prefix]) -> Self {
        self.prefixes = prefixes;
        self
    }

    const fn zero_at(mut self, kelvin: f64) -> Self {
        self.offset = kelvin;
        self
    }
}

const fn row(names: &'static [&'static str], text: &'static str, kind: Kind, mantissa: f64, ten: i32, source: &'static str) -> Row {
    Row { names, text, kind, scale: Scale { mantissa, ten }, offset: 0.0, prefixes: &[], source }
}

const SI: &str = "BIPM SI brochure, 9th ed.; exact by definition";
const DEFINED: &str = "exact by definition";

/// Standard gravity, m/s² (BIPM SI brochure; exact by definition).
const GRAVITY: f64 = 9.80665;
/// The avoirdupois pound, kg (NIST SP 811; exact by definition).
const POUND: f64 = 0.453_592_37;
/// The foot, m (NIST SP 811; exact by definition).
const FOOT: f64 = 0.3048;
/// The inch, m (NIST SP 811; exact by definition).
const INCH: f64 = 0.0254;
/// The thermochemical calorie, J (NIST SP 811; exact by definition).
const CALORIE: f64 = 4.184;
/// The zero of the Celsius scale, K (BIPM SI brochure; exact by definition).
const CELSIUS_ZERO: f64 = 273.15;
/// The zero of the Fahrenheit scale, K (NIST SP 811; exact by definition).
const FAHRENHEIT_ZERO: f64 = 459.67 * 5.0 / 9.0;

#[rustfmt::skip]
const ROWS: &[Row] = &[
    // Mass, in kg.
    row(&["g"], "g", Kind::Mass, 1.0, -3, SI).prefixed(&[NANO, MICRO, MILLI, KILO]),
    row(&["lb", "pound", "pounds"], "lb", Kind::Mass, POUND, 0, "NIST SP 811, GNU Units 2.22: avoirdupois pound; exact by definition"),
    row(&["ounces_avoirdupois", "ounce_avoirdupois"], "ounces_avoirdupois", Kind::Mass, 28.349_523_125, -3, "NIST SP 811: 1/16 lb; exact by definition"),
    row(&["ounces_troy", "ounce_troy"], "ounces_troy", Kind::Mass, 31.103_476_8, -3, "NIST SP 811, GNU Units 2.22: 480 grains; exact by definition"),
    row(&["grains", "grain"], "grains", Kind::Mass, 64.798_91, -6, "NIST SP 811, GNU Units 2.22: 1/7000 lb; exact by definition"),
    // Volume, in m³.
    row(&["L", "l"], "L", Kind::Volume, 1.0, -3, SI).prefixed(&[NANO, MICRO, MILLI, CENTI, DECI, KILO]),
    row(&["mm3"], "mm³", Kind::Volume, 1.0, -9, SI),
    row(&["cm3"], "cm³", Kind::Volume, 1.0, -6, SI),
    row(&["dm3"], "dm³", Kind::Volume, 1.0, -3, SI),
    row(&["m3"], "m³", Kind::Volume, 1.0, 0, SI),
    row(&["in3"], "in³", Kind::Volume, 16.387_064, -6, "NIST SP 811: (0.0254 m)³; exact by definition"),
    row(&["ft3"], "ft³", Kind::Volume, 28.316_846_592, -3, "NIST SP 811, GNU Units 2.22: (0.3048 m)³; exact by definition"),
    row(&["us_gallons", "us_gallon"], "us_gallons", Kind::Volume, 3.785_411_784, -3, "NIST SP 811, GNU Units 2.22: 231 in³; exact by definition"),
    row(&["us_quarts", "us_quart"], "us_quarts", Kind::Volume, 0.946_352_946, -3, "GNU Units 2.22: US liquid quart, 1/4 US gallon; exact by definition"),
    row(&["us_pints", "us_pint"], "us_pints", Kind::Volume, 0.473_176_473, -3, "GNU Units 2.22: US liquid pint, 1/8 US gallon; exact by definition"),
    row(&["us_fluid_ounces", "us_fluid_ounce"], "us_fluid_ounces", Kind::Volume, 29.573_529_562_5, -6, "GNU Units 2.22: 1/128 US gallon; exact by definition"),
    row(&["imperial_gallons", "imperial_gallon"], "imperial_gallons", Kind::Volume, 4.546_09, -3, "NIST SP 811, GNU Units 2.22: exact by definition"),
    row(&["imperial_quarts", "imperial_quart"], "imperial_quarts", Kind::Volume, 1.136_522_5, -3, "GNU Units 2.22: 1/4 imperial gallon; exact by definition"),
    row(&["imperial_pints", "imperial_pint"], "imperial_pints", Kind::Volume, 0.568_261_25, -3, "GNU Units 2.22: 1/8 imperial gallon; exact by definition"),
    row(&["imperial_fluid_ounces", "imperial_fluid_ounce"], "imperial_fluid_ounces", Kind::Volume, 28.413_062_5, -6, "NIST SP 811, GNU Units 2.22: 1/160 imperial gallon; exact by definition"),
    // Amount of substance, in mol.
    row(&["mol"], "mol", Kind::Amount, 1.0, 0, SI).prefixed(&[NANO, MICRO, MILLI, KILO]),
    // Duration, in s.
    row(&["s"], "s", Kind::Duration, 1.0, 0, SI).prefixed(&[MICRO, MILLI]),
    row(&["min"], "min", Kind::Duration, 60.0, 0, SI),
    row(&["h"], "h", Kind::Duration, 3600.0, 0, SI),
    row(&["d"], "d", Kind::Duration, 86400.0, 0, SI),
    // Temperature, in K; the sizes of the degrees serve for differences too.
    row(&["K"], "K", Kind::Temperature, 1.0, 0, SI),
    row(&["°C", "degC"], "°C", Kind::Temperature, 1.0, 0, SI).zero_at(CELSIUS_ZERO),
    row(&["°F", "degF"], "°F", Kind::Temperature, 5.0 / 9.0, 0, "NIST SP 811: exact by definition").zero_at(FAHRENHEIT_ZERO),
    // Pressure, in Pa.
    row(&["Pa"], "Pa", Kind::Pressure, 1.0, 0, SI).prefixed(&[HECTO, KILO, MEGA]),
    row(&["bar"], "bar", Kind::Pressure, 1.0, 5, SI).prefixed(&[MILLI]),
    row(&["atm"], "atm", Kind::Pressure, 101_325.0, 0, "NIST SP 811, GNU Units 2.22: exact by definition"),
    row(&["Torr", "torr"], "Torr", Kind::Pressure, 101_325.0 / 760.0, 0, "NIST SP 811, GNU Units 2.22: 1/760 atm; exact by definition").prefixed(&[MILLI]),
    row(&["mmHg"], "mmHg", Kind::Pressure, 13_595.1 * GRAVITY, -3, "GNU Units 2.22: mercury of 13595.1 kg/m³ under standard gravity; exact by definition"),
    row(&["inHg"], "inHg", Kind::Pressure, 13_595.1 * GRAVITY * INCH, 0, "GNU Units 2.22: mercury of 13595.1 kg/m³ under standard gravity; exact by definition"),
    row(&["psi"], "psi", Kind::Pressure, POUND * GRAVITY / (INCH * INCH), 0, "NIST SP 811, GNU Units 2.22: pound-force per in²; exact by definition"),
    row(&["kgf/cm2"], "kgf/cm²", Kind::Pressure, GRAVITY, 4, "NIST SP 811, GNU Units 2.22: technical atmosphere; exact by definition"),
    // Energy, in J.
    row(&["J"], "J", Kind::Energy, 1.0, 0, SI).prefixed(&[MILLI, KILO, MEGA]),
    row(&["cal", "cal_th"], "cal", Kind::Energy, CALORIE, 0, "NIST SP 811, GNU Units 2.22: thermochemical calorie; exact by definition").prefixed(&[KILO]),
    row(&["cal_IT"], "cal_IT", Kind::Energy, 4.1868, 0, "NIST SP 811: International Table calorie; exact by definition").prefixed(&[KILO]),
    row(&["Btu_IT"], "Btu_IT", Kind::Energy, 4.1868e3 * POUND * 5.0 / 9.0, 0, "NIST SP 811, GNU Units 2.22: 1 cal_IT/(g K) through 1 lb and 1 °F; exact by definition"),
    row(&["Btu_th"], "Btu_th", Kind::Energy, CALORIE * 1e3 * POUND * 5.0 / 9.0, 0, "NIST SP 811, GNU Units 2.22: 1 cal_th/(g K) through 1 lb and 1 °F; exact by definition"),
    // Power, in W.
    row(&["W"], "W", Kind::Power, 1.0, 0, SI).prefixed(&[MILLI, KILO]),
    row(&["horsepower_mechanical"], "horsepower_mechanical", Kind::Power, 550.0 * FOOT * POUND * GRAVITY, 0, "NIST SP 811, GNU Units 2.22: 550 foot pound-force per second; exact by definition"),
    row(&["horsepower_metric"], "horsepower_metric", Kind::Power, 75.0 * GRAVITY, 0, "NIST SP 811: 75 metre kilogram-force per second; exact by definition"),
    // Length, in m.
    row(&["m"], "m", Kind::Length, 1.0, 0, SI).prefixed(&[NANO, MICRO, MILLI, CENTI, DECI, KILO]),
    row(&["in"], "in", Kind::Length, INCH, 0, "NIST SP 811, GNU Units 2.22: exact by definition"),
    row(&["ft"], "ft", Kind::Length, FOOT, 0, "NIST SP 811, GNU Units 2.22: exact by definition"),
    // Concentration, in mol/m³.
    row(&["M"], "M", Kind::Concentration, 1.0, 3, "1 mol/L; exact by definition").prefixed(&[NANO, MICRO, MILLI]),
    // Shares of a whole, from 0 to 1, and the mass per volume that is written like one.
    row(&["% w/w"], "% w/w", Kind::MassFraction, 1.0, -2, DEFINED),
    row(&["% v/v"], "% v/v", Kind::VolumeFraction, 1.0, -2, DEFINED),
    row(&["% w/v"], "% w/v", Kind::MassPerVolume, 1.0, 1, "1 g per 100 mL; exact by definition"),
    row(&["mol%"], "mol%", Kind::MoleFraction, 1.0, -2, DEFINED),
    // Plain numbers.
    row(&["eq"], "eq", Kind::Equivalents, 1.0, 0, DEFINED),
    row(&["%"], "%", Kind::Ratio, 1.0, -2, DEFINED),
    row(&["times", "time"], "times", Kind::Count, 1.0, 0, DEFINED),
    row(&["plates", "plate"], "plates", Kind::Count, 1.0, 0, DEFINED),
    row(&["portions", "portion"], "portions", Kind::Count, 1.0, 0, DEFINED),
    // Turning and cycles, in 1/s.
    row(&["rpm"], "rpm", Kind::Frequency, 1.0 / 60.0, 0, "NIST SP 811: one turn per minute; exact by definition"),
    row(&["Hz"], "Hz", Kind::Frequency, 1.0, 0, SI).prefixed(&[KILO]),
];

/// Every spelling of every named unit, prefixes spelt out.
pub(super) static ATOMS: LazyLock<BTreeMap<String, Atom>> = LazyLock::new(|| {
    let mut atoms = BTreeMap::new();
    for row in ROWS {
        let bare: Prefix = (&[""], 0);
        for (spellings, ten) in [bare].iter().chain(row.prefixes) {
            let canonical = spellings.first().copied().unwrap_or_default();
            let atom = Atom {
                text: format!("{canonical}{}", row.text),
                kind: row.kind,
                scale: Scale { ten: row.scale.ten + ten, ..row.scale },
                offset: row.offset,
                source: row.source,
            };
            for spelling in *spellings {
                for name in row.names {
                    atoms.insert(format!("{spelling}{name}"), atom.clone());
                }
            }
        }
    }
    atoms
});
