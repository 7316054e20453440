//! Every row of `data/substances.csv`, a table of properties collected from handbooks, against the library.
//!
//! What the table gives and does not flag, the library gives alike, within the rounding of the
//! table; what the table flags, the library leaves out or says beside the figure why it takes it.

use std::collections::{BTreeMap, BTreeSet};

use scruple::chemistry::vapour::VapourPressure;
use scruple::load::Memory;
use scruple::resolve::definitions::{Definitions, ExposureTime, Limit, Sourced, Substance};
use scruple::resolve::resolve;
use scruple::source::Sources;

use super::ZERO;

const TABLE: &str = include_str!("data/substances.csv");

/// Rows of the table.
const ROWS: usize = 291;

/// Columns that are not compared, each with the reason.
const NOT_COMPARED: &[(&str, &str)] = &[
    ("common_name", "a name for people; the key is compared"),
    ("iupac_name", "a name for people, at times of an unusual dialect; the key is compared"),
    ("smiles", "the library has formulas only"),
    ("formula_as_written", "the same formula in another order"),
    ("mp_spread_K", "how far sources lie apart; the flags tell when it is too far"),
    ("bp_spread_K", "how far sources lie apart; the flags tell when it is too far"),
    ("density_crc_g_mL", "chosen as the best density where it is that"),
    ("density_solid_g_mL", "chosen as the best density where it is that"),
    ("antoine_A", "the best vapour pressure equation is compared"),
    ("antoine_B", "the best vapour pressure equation is compared"),
    ("antoine_C", "the best vapour pressure equation is compared"),
    ("antoine_form", "the best vapour pressure equation is compared"),
    ("antoine_Tmin_K", "the best vapour pressure equation is compared"),
    ("antoine_Tmax_K", "the best vapour pressure equation is compared"),
    ("antoine_bp_error_K", "the best vapour pressure equation is compared"),
    ("psat_bp_error_K", "a mismatch is flagged"),
    ("water_solubility_g_L_25C", "empty throughout"),
    ("pKa", "empty throughout"),
    ("logP_crippen", "an estimate from the structure"),
    ("dipole_D", "nothing asks for it"),
    ("unifac_groups", "not a field of the library"),
    ("unifac_groups_src", "not a field of the library"),
    ("unifac_dortmund_groups", "not a field of the library"),
    ("unifac_dortmund_groups_src", "not a field of the library"),
    ("sources", "the library names them in its own words"),
];

/// Columns that are compared, or that tell how another is to be compared.
const COMPARED: &[&str] = &[
    "key",
    "cas",
    "classes",
    "formula_hill",
    "molar_mass_g_mol",
    "state_25C",
    "mp_C",
    "bp_C",
    "density_20C_g_mL",
    "density_25C_g_mL",
    "density_best_g_mL",
    "density_best_T_C",
    "hvap_bp_kJ_mol",
    "cp_liq_25C_J_mol_K",
    "psat_form",
    "psat_coeffs",
    "psat_Tmin_K",
    "psat_Tmax_K",
    "flash_C",
    "autoignition_C",
    "lfl_vol_pct",
    "ufl_vol_pct",
    "twa_ppm",
    "twa_mg_m3",
    "stel_ppm",
    "stel_mg_m3",
    "ceiling_ppm",
    "ceiling_mg_m3",
    "logP",
    "refractive_index",
    "refractive_index_T_C",
    "flags",
];

/// Where the library differs on purpose: key, what, why. A line that is not needed is a fault.
#[rustfmt::skip]
const DIFFERENT: &[(&str, &str, &str)] = &[
    ("acetic_anhydride", "density", "the value of the CRC table is taken, at 20 °C; the correlation is off by a little"),
    ("acetic_anhydride", "heat capacity", "1.22 J/(g K) is too little for such a liquid; measured at 30 °C it is 168.2 J/mol/K"),
    ("acetophenone", "lower limit", "a limit of nothing is a slip of the table"),
    ("activated_carbon", "molar mass", "of no fixed formula: it leaves as it came"),
    ("aspirin", "exposure", "0.679 ppm is 5 mg/m³ of dust"),
    ("benzamide", "density", "the table's figure for the solid is the liquid's, so it stands as that"),
    ("benzoic_acid", "vapour", "the table's range of temperatures is a slip; another equation is taken"),
    ("benzyl_alcohol", "flash", "the table has none, the library another source"),
    ("benzyl_acetate", "heat capacity", "0.99 J/(g K) is too little for any such liquid; that of its isomer stands for it"),
    ("butyl_acetate", "density", "the value of the CRC table is taken, at 20 °C; the correlation is off by a little"),
    ("calcium_sulfate_hemihydrate", "molar mass", "the table counts two of the salt to one of formula; the library one"),
    ("celite", "exposure", "parts per million of dust without a molar mass"),
    ("cyclohexanol", "density", "the table's figure for the solid is the liquid's, so it stands as that"),
    ("cyclohexanone", "density", "the value of the CRC table is taken, at 20 °C; the correlation is off by a little"),
    ("cyclohexanone_ethylene_ketal", "partition", "the table has none, the library another source"),
    ("dichloromethane", "density", "the value of the CRC table is taken, at 20 °C; the correlation is off by a little"),
    ("ethanol", "density", "OIML R 22 is exact to five figures"),
    ("ethyl_acetate", "density", "the value of the CRC table is taken, at 20 °C; the correlation is off by a little"),
    ("ethyl_acetoacetate", "density", "the table's figure is of 10 °C; 1.028 g/mL is the usual one at 20 °C"),
    ("ethyl_butyrate", "partition", "the table has none, the library another source"),
    ("formic_acid", "density", "the value of the CRC table is taken, at 20 °C; the correlation is off by a little"),
    ("fructone", "partition", "the table has none, the library another source"),
    ("hexyl_acetate", "density", "the table's figure is of 15 °C"),
    ("hexyl_acetate", "partition", "the table has none, the library another source"),
    ("imidazole", "density", "the table's figure for the solid is the liquid's, so it stands as that"),
    ("isoamyl_acetate", "density", "the table's figure is of 15 °C"),
    ("isoamyl_acetate", "partition", "the table has none, the library another source"),
    ("isoamyl_alcohol", "density", "the value of the CRC table is taken, at 20 °C; the correlation is off by a little"),
    ("isoamyl_alcohol", "heat capacity", "the table's figure is a slip of the correlation, eight times too large"),
    ("isoamyl_butyrate", "partition", "the table has none, the library another source"),
    ("lauric_acid", "density", "the table's figure for the solid is the liquid's, so it stands as that"),
    ("levulinic_acid", "density", "the table's figure for the solid is the liquid's, so it stands as that"),
    ("maleic_anhydride", "density", "the table's figure for the solid is the liquid's, so it stands as that"),
    ("n_butanol", "density", "the value of the CRC table is taken, at 20 °C; the correlation is off by a little"),
    ("n_octanol", "lower limit", "a limit below nothing is a slip of the table"),
    ("n_octanol", "upper limit", "the lower limit beside it is a slip of the table"),
    ("nmp", "heat capacity", "3.10 J/(g K) is too much for any such liquid"),
    ("p_aminophenol", "flash", "500 °C is no flash point"),
    ("p_toluidine", "density", "the table's figure for the solid is the liquid's, so it stands as that"),
    ("phenol", "density", "the table's figure for the solid is the liquid's, so it stands as that"),
    ("potassium_carbonate_sesquihydrate", "molar mass", "the table counts two of the salt to one of formula; the library one"),
    ("silica_gel", "molar mass", "of no fixed formula: it leaves as it came"),
    ("sulfuric_acid", "density", "the CRC table itself, which the correlation rounds"),
    ("tert_butanol", "density", "the table's figure for the solid is the liquid's, so it stands as that"),
    ("triethylamine", "density", "the value of the CRC table is taken, at 20 °C; the correlation is off by a little"),
];

/// One row, by column.
struct Row(BTreeMap<&'static str, String>);

impl Row {
    fn text(&self, column: &str) -> &str {
        &self.0[column]
    }

    fn number(&self, column: &str) -> Option<f64> {
        let text = self.text(column);
        (!text.is_empty()).then(|| text.parse().unwrap_or_else(|_| panic!("{}: {column}: {text}", self.text("key"))))
    }

    fn flagged(&self, flag: &str) -> bool {
        self.text("flags").split(';').any(|found| found == flag)
    }

    /// The method behind a value, of the column `sources`.
    fn source(&self, of: &str) -> &str {
        self.text("sources").split(';').find_map(|entry| entry.strip_prefix(of)?.strip_prefix('=')).unwrap_or("")
    }
}

fn rows() -> Vec<Row> {
    let mut lines = TABLE.lines();
    let header = cells(lines.next().unwrap());
    let header: Vec<&'static str> = header.into_iter().map(|name| &*name.leak()).collect();
    lines.map(|line| Row(header.iter().copied().zip(cells(line)).collect())).collect()
}

/// The cells of one line; a cell between quotation marks may hold commas, and doubled marks for one.
fn cells(line: &str) -> Vec<String> {
    let (mut cells, mut quoted) = (vec![String::new()], false);
    let mut chars = line.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '"' if quoted && chars.next_if_eq(&'"').is_some() => cells.last_mut().unwrap().push('"'),
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            _ => cells.last_mut().unwrap().push(c),
        }
    }
    cells
}

fn library(keys: &[&str]) -> Definitions {
    let words = keys.join(" | ");
    let text = format!("operation name_all {{\n    form     name_all <what: {words}>\n    says     \"{{what}}\"\n}}\n");
    let (mut sources, mut findings) = (Sources::default(), Vec::new());
    let resolved = resolve("all.scruple", &Memory::new([("all.scruple", text.as_str())]), &mut sources, &mut findings);
    assert!(findings.is_empty(), "{findings:?}");
    resolved.defs
}

/// What is off, by key and field.
#[derive(Default)]
struct Faults(BTreeMap<(String, &'static str), String>);

impl Faults {
    fn add(&mut self, row: &Row, what: &'static str, why: String) {
        self.0.insert((row.text("key").to_owned(), what), why);
    }

    /// A value that both give or neither gives.
    fn figure(&mut self, row: &Row, what: &'static str, table: Option<f64>, library: Option<f64>, within: f64) {
        match (table, library) {
            (Some(table), Some(library)) if (table - library).abs() > within => self.add(row, what, format!("{table} against {library}")),
            (Some(table), None) => self.add(row, what, format!("{table} against nothing")),
            (None, Some(library)) => self.add(row, what, format!("nothing against {library}")),
            _ => {}
        }
    }

    /// A value that the table flags for its sources disagree: the library leaves it out, or says so.
    fn conflict(&mut self, row: &Row, what: &'static str, library: Option<&Sourced<f64>>) {
        if let Some(sourced) = library.filter(|sourced| !sourced.source.contains("disagree")) {
            self.add(row, what, format!("{} though its sources disagree", sourced.value));
        }
    }
}

fn celsius(kelvin: Option<&Sourced<f64>>) -> Option<f64> {
    kelvin.map(|sourced| sourced.value - ZERO)
}

fn points(row: &Row, substance: &Substance, faults: &mut Faults) {
    if row.flagged("mp_conflict") {
        faults.conflict(row, "melts", substance.melts.as_ref());
    } else {
        faults.figure(row, "melts", row.number("mp_C"), celsius(substance.melts.as_ref()), 0.0051);
    }
    if row.flagged("bp_conflict") {
        faults.conflict(row, "boils", substance.boils.as_ref());
    } else {
        faults.figure(row, "boils", row.number("bp_C"), celsius(substance.boils.as_ref()), 0.0051);
    }
    faults.figure(row, "flash", row.number("flash_C"), celsius(substance.flash.as_ref()), 0.051);
    faults.figure(row, "ignites", row.number("autoignition_C"), celsius(substance.safety.ignites.as_ref()), 0.51);
    let limits = substance.safety.flammable_limits.as_ref().map(|limits| limits.value);
    faults.figure(row, "lower limit", row.number("lfl_vol_pct"), limits.map(|(low, _)| low * 100.0), 0.0051);
    faults.figure(row, "upper limit", row.number("ufl_vol_pct"), limits.and_then(|(_, high)| high).map(|high| high * 100.0), 0.0051);
}

/// The density at a temperature in °C, g/mL.
fn density_at(substance: &Substance, celsius: f64) -> Option<f64> {
    substance.density.iter().find(|sourced| (sourced.value.0 - ZERO - celsius).abs() < 0.01).map(|sourced| sourced.value.1 / 1000.0)
}

fn densities(row: &Row, substance: &Substance, faults: &mut Faults) {
    let best = row.source("density_best");
    let Some(value) = row.number("density_best_g_mL") else { return };
    if row.text("state_25C") == "gas" {
        faults.figure(row, "density", None, density_at(substance, 20.0), 0.0);
    } else if best.starts_with("est:") {
        // An estimate is no density: what stands in its place has a source of its own.
        let estimate = |kg: f64| (kg / 1000.0 - value).abs() < 0.000_05;
        if let Some(sourced) = substance.density.iter().find(|sourced| estimate(sourced.value.1) || sourced.source.contains(", via")) {
            faults.add(row, "density", format!("{} of {}", sourced.value.1, sourced.source));
        }
    } else if row.text("state_25C") == "solid" || row.text("density_best_T_C").starts_with("solid") {
        faults.figure(row, "density", Some(value), substance.solid_density.as_ref().map(|sourced| sourced.value / 1000.0), 0.0005);
    } else if best.starts_with("CRC") {
        faults.figure(row, "density", Some(value), density_at(substance, 20.0), 0.000_051);
    } else {
        faults.figure(row, "density", row.number("density_20C_g_mL"), density_at(substance, 20.0), 0.000_051);
        // Where another source is taken at 20 °C, the correlation is not mixed with it.
        if !faults.0.contains_key(&(row.text("key").to_owned(), "density")) {
            // Where another source is taken at 20 °C, the correlation is not mixed with it.
            if !faults.0.contains_key(&(row.text("key").to_owned(), "density")) {
                faults.figure(row, "density at 25", row.number("density_25C_g_mL"), density_at(substance, 25.0), 0.000_051);
            }
        }
    }
}

/// The coefficients of an equation, with the range of temperatures behind them, and the table's name for it.
fn coefficients(law: &VapourPressure) -> (&'static str, Vec<f64>) {
    match *law {
        VapourPressure::AntoineLog10 { a, b, c, t_min, t_max } => ("antoine_log10", vec![a, b, c, t_min, t_max]),
        VapourPressure::AntoineLn { a, b, c, t_min, t_max } => ("antoine_ln", vec![a, b, c, t_min, t_max]),
        VapourPressure::Wagner36 { a, b, c, d, tc, pc, t_min, t_max } => ("wagner_3_6", vec![a, b, c, d, tc, pc, t_min, t_max]),
        VapourPressure::Wagner25 { a, b, c, d, tc, pc, t_min, t_max } => ("wagner_2.5_5", vec![a, b, c, d, tc, pc, t_min, t_max]),
        VapourPressure::Dippr101 { c1, c2, c3, c4, c5, t_min, t_max } => ("dippr101", vec![c1, c2, c3, c4, c5, t_min, t_max]),
        // The table has no other form.
        _ => ("another", Vec::new()),
    }
}

fn vapour(row: &Row, substance: &Substance, faults: &mut Faults) {
    let library = substance.vapour.as_ref().map(|sourced| coefficients(&sourced.value));
    // The equations of salts hold for the melt: carried down to the bench they say nothing.
    let melt = row.number("psat_Tmin_K").is_some_and(|lowest| lowest > 900.0);
    let usable = !row.text("psat_form").is_empty() && !row.flagged("psat_bp_mismatch") && !melt;
    let table = usable.then(|| {
        // `{"a": -7.76, "b": 1.45}`: the numbers in their order.
        let inside = row.text("psat_coeffs").trim_matches(['{', '}']);
        let numbers = inside.split(',').map(|pair| pair.split_once(':').unwrap().1.trim().parse().unwrap());
        let range = [row.number("psat_Tmin_K").unwrap(), row.number("psat_Tmax_K").unwrap()];
        (row.text("psat_form"), numbers.chain(range).collect::<Vec<f64>>())
    });
    let same = match (&table, &library) {
        (Some((form, numbers)), Some((found, values))) => {
            form == found && numbers.len() == values.len() && numbers.iter().zip(values).all(|(a, b)| (a - b).abs() <= 1e-6 * a.abs())
        }
        (table, library) => table.is_none() && library.is_none(),
    };
    if !same {
        faults.add(row, "vapour", format!("{table:?} against {library:?}"));
    }
}

fn exposures(row: &Row, substance: &Substance, faults: &mut Faults) {
    for (name, time) in [("twa", ExposureTime::Shift), ("stel", ExposureTime::ShortTerm), ("ceiling", ExposureTime::Ceiling)] {
        let library = substance.safety.exposure.iter().find(|sourced| sourced.value.time == time).map(|sourced| sourced.value.limit);
        let (ppm, mass) = (row.number(&format!("{name}_ppm")), row.number(&format!("{name}_mg_m3")));
        // The table counts parts per million even of mists and dust, by an older molar mass at 25 °C:
        // what comes out with many figures was a round mass of them.
        let mass = mass.or_else(|| {
            let figures = row.text(&format!("{name}_ppm")).replace('.', "");
            (figures.trim_matches('0').len() > 3).then_some(())?;
            Some(ppm? * row.number("molar_mass_g_mol")? / 24.45)
        });
        let agrees = match (library, mass, ppm) {
            (Some(Limit::Mass(kg)), Some(mg), _) => (kg * 1e6 - mg).abs() <= 0.02 * mg,
            (Some(Limit::Share(share)), None, Some(ppm)) => (share * 1e6 - ppm).abs() <= 1e-6 * ppm,
            (None, None, None) => true,
            _ => false,
        };
        if !agrees {
            faults.add(row, "exposure", format!("{name}: {ppm:?} ppm, {mass:?} mg/m³ against {library:?}"));
        }
    }
}

fn identity(row: &Row, substance: &Substance, faults: &mut Faults) {
    let cas = (!row.text("cas").is_empty()).then(|| row.text("cas"));
    if substance.cas.as_deref() != cas {
        faults.add(row, "cas", format!("{cas:?} against {:?}", substance.cas));
    }
    faults.figure(row, "molar mass", row.number("molar_mass_g_mol"), substance.molar_mass().map(|kg| kg * 1000.0), 0.001_6);
    assert_eq!(row.text("formula_hill").is_empty(), row.text("molar_mass_g_mol").is_empty(), "{}", row.text("key"));
    let solid = substance.is_solid(ZERO + 25.0);
    let state = match row.text("state_25C") {
        "gas" => substance.is_gas() || substance.boils.as_ref().is_some_and(|boils| boils.value <= ZERO + 25.0),
        "solid" => solid != Some(false),
        "liquid" => solid != Some(true) && !substance.is_gas(),
        _ => true,
    };
    if !state {
        faults.add(row, "state", format!("{} against solid {solid:?}", row.text("state_25C")));
    }
    for class in row.text("classes").split(';') {
        let is = |classes: &[&str]| classes.iter().any(|class| substance.is(class));
        let agrees = match class {
            "alcohol" => is(&["alcohol", "diol"]),
            "carboxylic_acid" => is(&["acid"]),
            "acyl_chloride" => is(&["acid_chloride"]),
            "mineral_acid" => is(&["acid", "strong_acid"]),
            "oxidant" => is(&["oxidiser"]),
            "ester" | "ketone" | "aldehyde" | "ether" | "acetal" | "hydrocarbon" | "halogenated" | "anhydride" | "amine" | "amide"
            | "phenol" => is(&[class]),
            "salt" => is(&["salt", "base"]),
            "hydrate" => substance.crystal_water.is_some(),
            // How it is used says nothing of what it is.
            "solvent" | "product" | "reagent" | "reductant" | "catalyst" | "drying_agent" | "material" | "acid" | "base" => true,
            _ => false,
        };
        if !agrees {
            faults.add(row, "classes", format!("{class} against {:?}", substance.classes));
        }
    }
}

#[test]
fn the_library_agrees_with_the_table() {
    let rows = rows();
    assert_eq!(rows.len(), ROWS);
    let keys: Vec<&str> = rows.iter().map(|row| row.text("key")).collect();
    assert_eq!(keys.iter().collect::<BTreeSet<_>>().len(), ROWS, "a key stands twice");
    let defs = library(&keys);
    let mut faults = Faults::default();
    for row in &rows {
        let Some(sub) = defs.find(row.text("key")) else {
            faults.add(row, "key", "not in the library".to_owned());
            continue;
        };
        let substance = defs.substance(sub);
        identity(row, substance, &mut faults);
        points(row, substance, &mut faults);
        densities(row, substance, &mut faults);
        vapour(row, substance, &mut faults);
        exposures(row, substance, &mut faults);
        let value = |sourced: &Option<Sourced<f64>>| sourced.as_ref().map(|sourced| sourced.value);
        faults.figure(row, "vaporisation", row.number("hvap_bp_kJ_mol"), value(&substance.vaporisation).map(|j| j / 1000.0), 0.0051);
        faults.figure(row, "heat capacity", row.number("cp_liq_25C_J_mol_K"), value(&substance.heat_capacity), 0.051);
        faults.figure(row, "partition", row.number("logP"), value(&substance.partition), 0.0051);
        let refraction = substance.refraction.as_ref().map(|sourced| sourced.value);
        let at = row.number("refractive_index_T_C");
        faults.figure(row, "refraction", at.and(row.number("refractive_index")), refraction.map(|(_, n)| n), 0.000_051);
        faults.figure(row, "refraction", at, refraction.map(|(t, _)| t - ZERO), 0.01);
    }
    let meant: BTreeSet<(String, &str)> = DIFFERENT.iter().map(|(key, what, _)| ((*key).to_owned(), *what)).collect();
    assert_eq!(meant.len(), DIFFERENT.len(), "a difference stands twice");
    let unmeant: Vec<String> =
        faults.0.iter().filter(|(place, _)| !meant.contains(*place)).map(|((key, what), why)| format!("{key}: {what}: {why}")).collect();
    assert!(unmeant.is_empty(), "{} differences:\n{}", unmeant.len(), unmeant.join("\n"));
    let needless: Vec<_> = meant.iter().filter(|place| !faults.0.contains_key(*place)).collect();
    assert!(needless.is_empty(), "these do not differ: {needless:?}");
}

#[test]
fn every_column_is_compared_or_has_a_reason() {
    let header = cells(TABLE.lines().next().unwrap());
    let known: Vec<&str> = COMPARED.iter().copied().chain(NOT_COMPARED.iter().map(|(column, _)| *column)).collect();
    assert_eq!(header.iter().map(String::as_str).collect::<BTreeSet<_>>(), known.iter().copied().collect());
    assert_eq!(header.len(), known.len(), "a column stands twice");
    assert!(NOT_COMPARED.iter().all(|(_, reason)| !reason.is_empty()) && DIFFERENT.iter().all(|(_, _, reason)| !reason.is_empty()));
    // What is said to be empty is.
    for row in rows() {
        assert!(row.text("pKa").is_empty() && row.text("water_solubility_g_L_25C").is_empty(), "{}", row.text("key"));
    }
}

/// Doubled quotation marks, commas inside a cell, an empty last cell.
#[test]
fn a_line_of_the_table_is_read_cell_by_cell() {
    assert_eq!(cells(r#"a,"{""x"": 1, ""y"": 2}",,c,"#), ["a", r#"{"x": 1, "y": 2}"#, "", "c", ""]);
}
