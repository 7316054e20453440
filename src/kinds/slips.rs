//! Spellings with one clear meaning that are not how the unit is written.

/// Each row is a list of spellings and the one thing to write instead.
///
/// Wrong case alone needs no row: it is found by comparing without case.
const SLIPS: &[(&[&str], &str)] = &[
    (&["gm", "gms", "gs", "gram", "grams", "gramme", "grammes"], "g"),
    (&["kilogram", "kilograms", "kilo", "kilos", "kgs"], "kg"),
    (&["milligram", "milligrams", "mgs"], "mg"),
    (&["microgram", "micrograms", "mcg"], "ug"),
    (&["lbs"], "lb"),
    (&["litre", "litres", "liter", "liters", "ltr", "ℓ"], "L"),
    (&["cc", "ccs", "ccm", "mls", "millilitre", "millilitres", "milliliter", "milliliters"], "mL"),
    (&["microlitre", "microlitres", "microliter", "microliters", "mcl"], "uL"),
    (&["mole", "moles", "mols"], "mol"),
    (&["millimole", "millimoles", "mmols"], "mmol"),
    (&["micromole", "micromoles"], "umol"),
    (&["sec", "secs", "second", "seconds"], "s"),
    (&["mins", "minute", "minutes", "mn"], "min"),
    (&["hr", "hrs", "hour", "hours"], "h"),
    (&["day", "days"], "d"),
    (
        &[
            "C",
            "deg C",
            "deg. C",
            "degs C",
            "degree C",
            "degrees C",
            "celsius",
            "centigrade",
            "degree Celsius",
            "degrees Celsius",
            "degrees centigrade",
            "° C",
            "°c",
        ],
        "degC",
    ),
    (
        &["F", "deg F", "deg. F", "degs F", "degree F", "degrees F", "fahrenheit", "degree Fahrenheit", "degrees Fahrenheit", "° F", "°f"],
        "degF",
    ),
    (&["kelvin", "kelvins", "degK", "deg K", "°K", "° K"], "K"),
    (&["bars", "bara"], "bar"),
    (&["millibar", "millibars", "mbars"], "mbar"),
    (&["pascal", "pascals"], "Pa"),
    (&["kilopascal", "kilopascals"], "kPa"),
    (&["atmosphere", "atmospheres", "atms"], "atm"),
    (&["torrs"], "torr"),
    (&["millitorr"], "mTorr"),
    (&["mm of Hg", "mm of mercury", "mm mercury"], "mmHg"),
    (&["in of Hg", "inches of mercury", "inches Hg"], "inHg"),
    (&["psia", "lb/in2", "lbf/in2"], "psi"),
    (&["kg/cm2"], "kgf/cm2"),
    (&["joule", "joules"], "J"),
    (&["kilojoule", "kilojoules"], "kJ"),
    (&["calorie", "calories", "cals"], "cal"),
    (&["kilocalorie", "kilocalories", "kcals"], "kcal"),
    (&["watt", "watts"], "W"),
    (&["metre", "metres", "meter", "meters"], "m"),
    (&["centimetre", "centimetres", "centimeter", "centimeters"], "cm"),
    (&["millimetre", "millimetres", "millimeter", "millimeters"], "mm"),
    (&["nanometre", "nanometres", "nanometer", "nanometers"], "nm"),
    (&["inch", "inches"], "in"),
    (&["foot", "feet"], "ft"),
    (&["cubic foot", "cubic feet", "cu ft"], "ft3"),
    (&["molar"], "M"),
    (&["millimolar"], "mM"),
    (&["micromolar"], "uM"),
    (&["molal"], "mol/kg"),
    (
        &[
            "% m/m",
            "% (w/w)",
            "% (m/m)",
            "% wt",
            "% wt/wt",
            "wt%",
            "% w",
            "% by weight",
            "% by mass",
            "% weight",
            "% mass",
            "w/w %",
            "m/m %",
            "w/w%",
            "mass%",
            "wt.%",
            "wt. %",
        ],
        "% w/w",
    ),
    (&["% vol", "% vol/vol", "% (v/v)", "vol%", "% v", "% by volume", "% volume", "v/v %", "v/v%", "% abv", "vol.%", "vol. %"], "% v/v"),
    (&["% m/v", "% (w/v)", "% (m/v)", "% wt/vol", "w/v %", "w/v%", "m/v %"], "% w/v"),
    (&["% mol", "mole%", "mole %", "% mole", "mol-%", "% n/n"], "mol%"),
    // Without a per cent sign the number before it is a fraction, not a percentage.
    (&["w/w", "m/m", "wt/wt"], "g/g"),
    (&["v/v", "vol/vol"], "mL/mL"),
    (&["w/v", "m/v", "wt/vol"], "g/mL"),
    (&["percent", "per cent", "pct"], "%"),
    (&["equiv", "equivs", "equivalent", "equivalents", "eqs", "eqv", "eqiv"], "eq"),
    (&["x", "×"], "times"),
    (&["aliquot", "aliquots"], "portions"),
    (&["r/min", "revs/min", "rev/min", "turns/min"], "rpm"),
];

/// What to write instead of `text`, exactly as spelt in the table.
pub(super) fn remedy(text: &str) -> Option<&'static str> {
    find(|spelling| spelling == text)
}

/// As [`remedy`], upper and lower case taken as the same.
pub(super) fn remedy_ignoring_case(text: &str) -> Option<&'static str> {
    let text = text.to_lowercase();
    find(|spelling| spelling.to_lowercase() == text)
}

fn find(matches: impl Fn(&str) -> bool) -> Option<&'static str> {
    SLIPS.iter().find(|(spellings, _)| spellings.iter().any(|spelling| matches(spelling))).map(|(_, write)| *write)
}

/// Every table entry, for the test that each remedy is itself a unit.
#[cfg(test)]
pub(super) fn all() -> &'static [(&'static [&'static str], &'static str)] {
    SLIPS
}
