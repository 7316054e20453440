//! Reading units: what is accepted, what is corrected, what is refused.

use super::super::atoms::ATOMS;
use super::super::{Kind, UnitError, ambiguous as ambiguities, difference_unit, slips, unit};
use super::{ambiguous, assert_close, read, samples, slip, unknown};

/// text, canonical spelling, kind, SI value of one
#[rustfmt::skip]
const ACCEPTED: &[(&str, &str, Kind, f64)] = &[
    ("g", "g", Kind::Mass, 1e-3),
    ("kg", "kg", Kind::Mass, 1.0),
    ("mg", "mg", Kind::Mass, 1e-6),
    ("ug", "µg", Kind::Mass, 1e-9),
    ("mL", "mL", Kind::Volume, 1e-6),
    ("ml", "mL", Kind::Volume, 1e-6),
    ("µL", "µL", Kind::Volume, 1e-9),
    ("μL", "µL", Kind::Volume, 1e-9),
    ("uL", "µL", Kind::Volume, 1e-9),
    ("l", "L", Kind::Volume, 1e-3),
    ("cm3", "cm³", Kind::Volume, 1e-6),
    ("cm³", "cm³", Kind::Volume, 1e-6),
    ("dm3", "dm³", Kind::Volume, 1e-3),
    ("m³", "m³", Kind::Volume, 1.0),
    ("mm3", "mm³", Kind::Volume, 1e-9),
    ("mol", "mol", Kind::Amount, 1.0),
    ("mmol", "mmol", Kind::Amount, 1e-3),
    ("umol", "µmol", Kind::Amount, 1e-6),
    ("kmol", "kmol", Kind::Amount, 1e3),
    ("s", "s", Kind::Duration, 1.0),
    ("min", "min", Kind::Duration, 60.0),
    ("h", "h", Kind::Duration, 3600.0),
    ("d", "d", Kind::Duration, 86_400.0),
    ("K", "K", Kind::Temperature, 1.0),
    ("degC", "°C", Kind::Temperature, 274.15),
    ("°C", "°C", Kind::Temperature, 274.15),
    ("℃", "°C", Kind::Temperature, 274.15),
    ("ºC", "°C", Kind::Temperature, 274.15),
    ("bar", "bar", Kind::Pressure, 1e5),
    ("mbar", "mbar", Kind::Pressure, 100.0),
    ("hPa", "hPa", Kind::Pressure, 100.0),
    ("MPa", "MPa", Kind::Pressure, 1e6),
    ("mTorr", "mTorr", Kind::Pressure, 0.101_325 / 0.76),
    ("kgf/cm²", "kgf/cm²", Kind::Pressure, 98_066.5),
    ("kJ", "kJ", Kind::Energy, 1e3),
    ("kcal", "kcal", Kind::Energy, 4184.0),
    ("W", "W", Kind::Power, 1.0),
    ("nm", "nm", Kind::Length, 1e-9),
    ("M", "M", Kind::Concentration, 1e3),
    ("mM", "mM", Kind::Concentration, 1.0),
    ("uM", "µM", Kind::Concentration, 1e-3),
    ("mol/L", "mol/L", Kind::Concentration, 1e3),
    ("mmol/l", "mmol/L", Kind::Concentration, 1.0),
    ("mol/dm3", "mol/dm³", Kind::Concentration, 1e3),
    ("mol/kg", "mol/kg", Kind::Molality, 1.0),
    ("mmol/g", "mmol/g", Kind::Molality, 1.0),
    ("g/mL", "g/mL", Kind::Density, 1e3),
    ("g/cm³", "g/cm³", Kind::Density, 1e3),
    ("g/L", "g/L", Kind::Density, 1.0),
    ("kg/m³", "kg/m³", Kind::Density, 1.0),
    ("mg/dL", "mg/dL", Kind::Density, 1e-2),
    ("g/100mL", "g/100 mL", Kind::Density, 10.0),
    ("g/100 mL", "g/100 mL", Kind::Density, 10.0),
    ("mL/g", "mL/g", Kind::SpecificVolume, 1e-3),
    ("g/mol", "g/mol", Kind::MolarMass, 1e-3),
    ("L/mol", "L/mol", Kind::MolarVolume, 1e-3),
    ("kJ/mol", "kJ/mol", Kind::MolarEnergy, 1e3),
    ("J/mol/K", "J/(mol K)", Kind::MolarHeatCapacity, 1.0),
    ("J/(g K)", "J/(g K)", Kind::SpecificHeatCapacity, 1e3),
    ("J/g/K", "J/(g K)", Kind::SpecificHeatCapacity, 1e3),
    ("J/(g·K)", "J/(g K)", Kind::SpecificHeatCapacity, 1e3),
    ("J/(g*K)", "J/(g K)", Kind::SpecificHeatCapacity, 1e3),
    ("cal/(g degC)", "cal/(g °C)", Kind::SpecificHeatCapacity, 4184.0),
    ("J/K/g", "J/(K g)", Kind::SpecificHeatCapacity, 1e3),
    ("J/K", "J/K", Kind::HeatCapacity, 1.0),
    ("J/g", "J/g", Kind::SpecificEnergy, 1e3),
    ("g/g", "g/g", Kind::MassFraction, 1.0),
    ("mg/g", "mg/g", Kind::MassFraction, 1e-3),
    ("g/100g", "g/100 g", Kind::MassFraction, 1e-2),
    ("mL/mL", "mL/mL", Kind::VolumeFraction, 1.0),
    ("mol/mol", "mol/mol", Kind::MoleFraction, 1.0),
    ("% w/w", "% w/w", Kind::MassFraction, 1e-2),
    ("% v/v", "% v/v", Kind::VolumeFraction, 1e-2),
    ("% w/v", "% w/v", Kind::MassPerVolume, 10.0),
    ("mol%", "mol%", Kind::MoleFraction, 1e-2),
    ("%", "%", Kind::Ratio, 1e-2),
    ("eq", "eq", Kind::Equivalents, 1.0),
    ("times", "times", Kind::Count, 1.0),
    ("portions", "portions", Kind::Count, 1.0),
    ("mL/min", "mL/min", Kind::FlowRate, 1e-6 / 60.0),
    ("L/mol/s", "L/(mol s)", Kind::RateConstant, 1e-3),
    ("degC/min", "°C/min", Kind::HeatingRate, 1.0 / 60.0),
    ("rpm", "rpm", Kind::Frequency, 1.0 / 60.0),
    ("  mL ", "mL", Kind::Volume, 1e-6),
];

#[test]
fn units_are_read() {
    for (text, canonical, kind, one) in ACCEPTED {
        let unit = read(text);
        assert_eq!(unit.text, *canonical, "{text}");
        assert_eq!(unit.kind, *kind, "{text}");
        assert_close(unit.to_si(1.0), *one, 4e-16);
    }
}

#[test]
fn decimal_compounds_have_exact_factors() {
    for (text, factor) in [("g/mL", 1000.0), ("mol/L", 1000.0), ("mmol/mL", 1000.0)] {
        assert_eq!(read(text).factor, factor, "{text}");
    }
    assert_eq!(read("mL").to_si(24.0), 2.4e-5);
}

#[rustfmt::skip]
const SLIPS: &[(&str, &str)] = &[
    ("ML", "mL"), ("Ml", "mL"), ("KG", "kg"), ("Kg", "kg"), ("MIN", "min"), ("MMOL", "mmol"),
    ("cc", "mL"), ("sec", "s"), ("secs", "s"), ("hr", "h"), ("hrs", "h"), ("hours", "h"),
    ("Hours", "h"), ("mins", "min"), ("min.", "min"), ("day", "d"), ("days", "d"),
    ("C", "degC"), ("c", "degC"), ("deg C", "degC"), ("DEGC", "degC"), ("F", "degF"),
    ("celsius", "degC"), ("equiv", "eq"), ("eq.", "eq"), ("equiv.", "eq"),
    ("% m/m", "% w/w"), ("%w/w", "% w/w"), ("% wt", "% w/w"), ("wt%", "% w/w"),
    ("wt %", "% w/w"), ("%wt", "% w/w"), ("% (w/w)", "% w/w"), ("% W/W", "% w/w"),
    ("%v/v", "% v/v"), ("vol%", "% v/v"), ("% m/v", "% w/v"), ("%w/v", "% w/v"),
    ("mol %", "mol%"), ("Mol%", "mol%"), ("percent", "%"), ("w/w", "g/g"),
    ("mm Hg", "mmHg"), ("MMHG", "mmHg"), ("cm^3", "cm3"), ("m L", "mL"),
    ("mol L-1", "mol/L"), ("mol·L⁻¹", "mol/L"), ("kg m-3", "kg/m3"), ("kJ mol^-1", "kJ/mol"),
    ("J g-1 K-1", "J/(g K)"), ("J/g K", "J/(g K)"), ("J/mol·K", "J/(mol K)"),
    ("g per mL", "g/mL"), ("g / mL", "g/mL"), ("G/ML", "g/mL"), ("g/cc", "g/mL"),
    ("mL per minute", "mL/min"), ("mL/hr", "mL/h"), ("J/(g C)", "J/(g degC)"),
    ("moles/litre", "mol/L"), ("g/100ML", "g/100 mL"), ("lbs", "lb"), ("molal", "mol/kg"),
    ("mcg", "ug"), ("UL", "uL"), ("PSI", "psi"), ("k", "K"),
];

#[test]
fn slips_name_the_one_remedy() {
    for (text, write) in SLIPS {
        assert_eq!(slip(text), *write, "{text}");
    }
}

#[test]
fn ambiguous_units_offer_what_to_write() {
    assert_eq!(ambiguous("oz"), ["ounces_avoirdupois", "ounces_troy", "us_fluid_ounces"]);
    assert_eq!(ambiguous("°"), ["degC", "degF"]);
    assert_eq!(ambiguous("N"), ["mol/L"]);
    assert_eq!(ambiguous("MM"), ["mM", "mm"]);
    for text in [
        "OZ",
        "oz.",
        "gal",
        "qt",
        "pt",
        "pint",
        "hp",
        "ppm",
        "drop",
        "drops",
        "dash",
        "spoon",
        "teaspoon",
        "gr",
        "Cal",
        "psig",
        "overnight",
        "oz/gal",
        "drops/min",
        "ton",
    ] {
        assert!(!ambiguous(text).is_empty(), "{text}");
    }
}

#[test]
fn every_remedy_is_itself_a_unit() {
    for (spellings, write) in slips::all() {
        read(write);
        for spelling in *spellings {
            assert_eq!(slip(spelling), *write, "{spelling}");
        }
    }
    for (spellings, remedies) in ambiguities::all() {
        for remedy in remedies {
            read(remedy);
        }
        for spelling in spellings {
            assert_eq!(ambiguous(spelling), remedies, "{spelling}");
        }
    }
}

#[test]
fn unknown_units_offer_near_ones_or_nothing() {
    assert_eq!(unknown("mmoll"), ["mmol"]);
    assert_eq!(unknown("us_galon"), ["us_gallons"]);
    assert!(unknown("frobs").is_empty());
    assert!(unknown("").is_empty());
}

#[test]
fn compounds_that_mean_nothing_are_unknown() {
    for text in ["g/K", "mol/h", "J/L", "mol/M", "mL/times", "s/g", "/", "g/", "/g", "g/()", "g//g", "(g/mL)"] {
        unknown(text);
    }
}

#[test]
fn hostile_text_is_refused_without_panic() {
    for text in ["/////", "100", "g/100", "((((", "% % %", "-", "m--1", "µ", "ΩΩ/ΩΩ", "g-", "\u{0}", "\n"] {
        assert!(unit(text).is_err(), "{text:?}");
    }
    assert!(unit(&"g/".repeat(300)).is_err());
    assert!(unit(&"g per ".repeat(300)).is_err());
    assert!(unit(&"m".repeat(100_000)).is_err());
}

#[test]
fn differences_drop_the_zero_of_the_scale() {
    for (text, factor) in [("K", 1.0), ("degC", 1.0), ("°C", 1.0), ("degF", 5.0 / 9.0)] {
        let unit = difference_unit(text).unwrap();
        assert_eq!(unit.kind, Kind::TemperatureDifference);
        assert_eq!((unit.factor, unit.offset), (factor, 0.0));
    }
    assert!(matches!(difference_unit("C"), Err(UnitError::Slip { .. })));
    assert!(matches!(difference_unit("g"), Err(UnitError::Unknown { .. })));
}

#[test]
fn canonical_spellings_read_back_as_themselves() {
    let named = ATOMS.values().map(|atom| atom.text.as_str());
    for text in named.chain(ACCEPTED.iter().map(|(_, canonical, _, _)| *canonical)) {
        assert_eq!(read(text).text, text);
    }
}

#[test]
fn every_named_unit_has_a_source_and_a_usable_factor() {
    for (name, atom) in ATOMS.iter() {
        assert!(!atom.source.is_empty(), "{name}");
        let factor = atom.scale.factor();
        assert!(factor.is_finite() && factor > 0.0, "{name}");
    }
}

#[test]
fn to_si_and_from_si_undo_each_other() {
    for (name, _) in ATOMS.iter() {
        let unit = read(name);
        for x in samples(200) {
            let there_and_back = unit.from_si(unit.to_si(x));
            // A scale with an offset keeps ten places, others sixteen figures.
            let slack = if unit.offset == 0.0 { 4e-16 * x } else { 1e-10 + 4e-16 * x };
            assert!((there_and_back - x).abs() <= slack, "{x} {name}: {there_and_back}");
        }
    }
}

#[test]
fn errors_are_plain_sentences() {
    let message = |text: &str| unit(text).unwrap_err().to_string();
    assert_eq!(message("ML"), "`ML` is written `mL` here");
    assert_eq!(
        message("gal"),
        "`gal` does not say enough: a gallon is 3.785 L in the US and 4.546 L in imperial measure; \
         write `us_gallons` or `imperial_gallons`"
    );
    assert_eq!(message("mmoll"), "`mmoll` is not a unit known here; the nearest is `mmol`");
    assert_eq!(message("frobs"), "`frobs` is not a unit known here");
}
