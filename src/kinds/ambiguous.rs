//! Units in use that mean several things, or nothing definite.

use super::unit::UnitError;

struct Row {
    spellings: &'static [&'static str],
    because: &'static str,
    write: &'static [&'static str],
}

#[rustfmt::skip]
const ROWS: &[Row] = &[
    Row {
        spellings: &["oz", "ozs", "ounce", "ounces"],
        because: "an ounce is 28.35 g (avoirdupois), 31.10 g (troy) or, of a liquid, 29.57 mL (US)",
        write: &["ounces_avoirdupois", "ounces_troy", "us_fluid_ounces"],
    },
    Row {
        spellings: &["fl oz", "fl. oz", "fl. oz.", "floz", "fluid ounce", "fluid ounces"],
        because: "a fluid ounce is 29.57 mL in the US and 28.41 mL in imperial measure",
        write: &["us_fluid_ounces", "imperial_fluid_ounces"],
    },
    Row {
        spellings: &["gal", "gals", "gallon", "gallons"],
        because: "a gallon is 3.785 L in the US and 4.546 L in imperial measure",
        write: &["us_gallons", "imperial_gallons"],
    },
    Row {
        spellings: &["qt", "qts", "quart", "quarts"],
        because: "a quart is 0.946 L in the US and 1.137 L in imperial measure",
        write: &["us_quarts", "imperial_quarts"],
    },
    Row {
        spellings: &["pt", "pts", "pint", "pints"],
        because: "a pint is 473 mL in the US and 568 mL in imperial measure",
        write: &["us_pints", "imperial_pints"],
    },
    Row {
        spellings: &["gr", "grs"],
        because: "it has been used for the gram and for the grain, which is 0.0648 g",
        write: &["g", "grains"],
    },
    Row {
        spellings: &["t", "ton", "tons", "tonne", "tonnes"],
        because: "a ton is 1000 kg, 1016 kg or 907 kg",
        write: &["kg"],
    },
    Row {
        spellings: &["Btu", "BTU", "btu", "btus"],
        because: "it is 1054.350 J (thermochemical), 1054.804 J (at 59 °F) or 1055.056 J (International Table)",
        write: &["Btu_th", "Btu_IT", "J"],
    },
    Row {
        spellings: &["Cal", "Calorie", "Calories"],
        because: "with a capital it is the calorie of food labels, which is a kilocalorie",
        write: &["kcal", "cal"],
    },
    Row {
        spellings: &["hp", "horsepower"],
        because: "a horsepower is 745.7 W (mechanical) or 735.5 W (metric)",
        write: &["horsepower_mechanical", "horsepower_metric", "W"],
    },
    Row {
        spellings: &["°", "deg", "degs", "degree", "degrees"],
        because: "the scale is missing",
        write: &["degC", "degF"],
    },
    Row {
        spellings: &["psig", "barg"],
        because: "a gauge pressure counts from the pressure of the room, which is not stated",
        write: &["psi", "bar"],
    },
    Row {
        spellings: &["micron", "microns"],
        because: "it is a length to a microscopist and a thousandth of a torr at a vacuum line",
        write: &["um", "mTorr"],
    },
    Row {
        spellings: &["N", "normal"],
        because: "normality depends on the reaction the solution is meant for",
        write: &["mol/L"],
    },
    Row {
        spellings: &["meq", "mEq"],
        because: "a milliequivalent depends on the charge or the reaction that is counted",
        write: &["mmol", "eq"],
    },
    Row {
        spellings: &["ppm", "ppb", "ppt"],
        because: "parts may be counted by mass, by volume or by mass per volume",
        write: &["mg/kg", "uL/L", "mg/L"],
    },
    Row {
        spellings: &["proof"],
        because: "US and British proof differ",
        write: &["% v/v"],
    },
    Row {
        spellings: &["vol", "vols", "volume", "volumes"],
        because: "a volume is 1 mL per g of some substance to one chemist, a volume equal to that of the batch to another, and a strength of peroxide to a third",
        write: &["mL/g", "mL", "% w/w"],
    },
    Row {
        spellings: &["drop", "drops", "gtt"],
        because: "a drop of water is about 0.05 mL, but that depends on the liquid and on the tip; weigh it or measure it",
        write: &["mL", "uL", "mg"],
    },
    Row {
        spellings: &["dash", "dashes", "pinch", "pinches", "spatula", "spatulas", "scoop", "scoops", "spoon", "spoons", "spoonful", "spoonfuls", "speck", "specks"],
        because: "it is not a measured amount; weigh it",
        write: &["g", "mg"],
    },
    Row {
        spellings: &["tsp", "teaspoon", "teaspoons", "tbsp", "tablespoon", "tablespoons", "cup", "cups"],
        because: "kitchen measures differ from country to country; measure the volume, or weigh a solid",
        write: &["mL", "g"],
    },
    Row {
        spellings: &["week", "weeks", "wk", "wks", "month", "months"],
        because: "a duration is given in days at the longest",
        write: &["d"],
    },
    Row {
        spellings: &["overnight"],
        because: "a night at the bench is anything from 10 to 18 hours",
        write: &["h"],
    },
];

/// The complaint about `text`, exactly as spelt in the table.
pub(super) fn complaint(text: &str) -> Option<UnitError> {
    find(text, |spelling| spelling == text)
}

/// As [`complaint`], upper and lower case taken as the same.
pub(super) fn complaint_ignoring_case(text: &str) -> Option<UnitError> {
    let lower = text.to_lowercase();
    find(text, |spelling| spelling.to_lowercase() == lower)
}

fn find(text: &str, matches: impl Fn(&str) -> bool) -> Option<UnitError> {
    ROWS.iter().find(|row| row.spellings.iter().any(|spelling| matches(spelling))).map(|row| UnitError::Ambiguous {
        written: text.to_owned(),
        because: row.because.to_owned(),
        write: row.write.iter().map(|&text| text.to_owned()).collect(),
    })
}

/// Every spelling with its remedies, for the test that each remedy is a unit.
#[cfg(test)]
pub(super) fn all() -> impl Iterator<Item = (&'static [&'static str], &'static [&'static str])> {
    ROWS.iter().map(|row| (row.spellings, row.write))
}
