//! Classes of flammable liquids, gas set free, and heat of dilution.

use scruple::chemistry::gas::{molar_volume, volume};
use scruple::chemistry::hazard::{FlammableLiquid, flammable_liquid};
use scruple::chemistry::heat::{adiabatic_rise, sulfuric_dilution};
use scruple::chemistry::label::pictograms;

use super::bench::{is_found, library, of};
use super::vapour::WATER;
use super::{ATM, Abs, Check, M, Mc, OPENSTAX, Rel, S, SM, Sc, ZERO, m, near, number, over, q, reads, si, times};

const FLASH: &str = "flash and boiling points of the package `chemicals` 1.5.2 (IEC 60079-20-1, NFPA 497, DIPPR); criteria of CLP Annex I 2.6 and UN GHS 2.6";
const CRITERIA: &str = "CLP Annex I 2.6.1; UN GHS 2.6";
const DISPUTE: &str = "NITE GHS result 21B3031 (ICSC flash point); Allen Petroleum data page (closed cup)";
const LISTS: &str = "CRC Handbook 16-22; ACS; lists of universities; AS 2243.10";
const IDEAL: &str = "ideal gas law";
const PETRUCCI: &str = "Petrucci, General Chemistry, 10th ed., problem 7-126";
const HOMEWORK: &str = "homeworkhost, dilution of sulfuric acid";

/// Hazard statement of a liquid with these flash and boiling points in °C, `"none"` if it has none.
fn code(flash: f64, boiling: f64) -> String {
    flammable_liquid(flash + ZERO, boiling + ZERO).map_or("none", FlammableLiquid::statement).to_owned()
}

/// Whether two materials brought together in a pot are found not to go together.
fn meet(one: &str, other: &str) -> String {
    is_found(
        "compatibility::together",
        &format!("basis one\ntake one = {one}\ntake other = {other}\ncombine one, other -> pot\nkeep pot as \"both\" in bottle"),
    )
}

/// The pairs of which the library says that they must not meet, though in a pot they may be meant: `none`
/// where it lacks one.
fn declared(pairs: &[&str]) -> String {
    let lacking: Vec<&str> =
        pairs.iter().copied().filter(|name| !library(|defs| defs.incompatible.iter().any(|pair| pair.name == *name))).collect();
    if lacking.is_empty() { "all".to_owned() } else { lacking.join(", ") }
}

/// Volume in mL of so many mmol of gas at a temperature in °C and 1 atm.
fn ml(mmol: f64, celsius: f64) -> f64 {
    volume(mmol / 1000.0, celsius + ZERO, ATM) * 1e6
}

/// Litres of dry gas in `litres` of gas over water at a temperature in °C and a pressure in torr.
fn dry(litres: f64, celsius: f64, torr: f64) -> f64 {
    let (t, p) = (celsius + ZERO, si(torr, "torr"));
    let amount = si(litres, "L") / molar_volume(t, p - WATER.pressure(t));
    volume(amount, t, p) * 1000.0
}

/// End in °C of 1 mol of acid poured into a litre (1060 g, 53.4 mol of water) of 1.00 M acid at 28.8 °C.
fn poured(heat: f64, grams: f64) -> f64 {
    28.8 + adiabatic_rise(heat, grams * 3.50)
}

#[rustfmt::skip]
pub(crate) const CHECKS: &[Check] = &[
    reads("J001", "diethyl ether, flash −45 °C, boils 34.5 °C", "H224", FLASH, S, || code(-45.0, 34.5)),
    reads("J002", "acetone, flash −20 °C, boils 56.1 °C", "H225", FLASH, S, || code(-20.0, 56.1)),
    reads("J004", "ethanol, flash 12 °C, boils 78.4 °C", "H225", FLASH, S, || code(12.0, 78.4)),
    reads("J005", "propan-1-ol, flash 15 °C, boils 97.0 °C", "H225", FLASH, S, || code(15.0, 97.0)),
    reads("J007", "butan-1-ol, flash 35 °C, boils 117.6 °C", "H226", FLASH, S, || code(35.0, 117.6)),
    reads("J008", "tert-butanol, flash 10 °C, boils 82.3 °C", "H225", FLASH, S, || code(10.0, 82.3)),
    reads("J010", "hexan-1-ol, flash 60 °C, boils 156.9 °C", "H226", FLASH, S, || code(60.0, 156.9)),
    reads("J011", "acetic acid, flash 39 °C, boils 117.9 °C", "H226", FLASH, S, || code(39.0, 117.9)),
    reads("J013", "acetic anhydride, flash 49 °C, boils 139.5 °C", "H226", FLASH, S, || code(49.0, 139.5)),
    reads("J014", "ethyl acetate, flash −4 °C, boils 77.1 °C", "H225", FLASH, S, || code(-4.0, 77.1)),
    reads("J016", "isobutyl acetate, flash 18 °C, boils 116.9 °C", "H225", FLASH, S, || code(18.0, 116.9)),
    reads("J017", "isopentyl acetate, flash 25 °C, boils 141.6 °C", "H226", FLASH, S, || code(25.0, 141.6)),
    reads("J019", "methyl benzoate, flash 77 °C, boils 199.0 °C", "H227", FLASH, S, || code(77.0, 199.0)),
    reads("J020", "ethyl benzoate, flash 87 °C, boils 212.5 °C", "H227", FLASH, S, || code(87.0, 212.5)),
    reads("J022", "1,4-dioxane, flash 11 °C, boils 101.2 °C", "H225", FLASH, S, || code(11.0, 101.2)),
    reads("J023", "MTBE, flash −27 °C, boils 55.1 °C", "H225", FLASH, S, || code(-27.0, 55.1)),
    reads("J025", "cyclohexane, flash −17 °C, boils 80.7 °C", "H225", FLASH, S, || code(-17.0, 80.7)),
    reads("J026", "cyclohexene, flash −17 °C, boils 82.9 °C", "H225", FLASH, S, || code(-17.0, 82.9)),
    reads("J028", "toluene, flash 4 °C, boils 110.6 °C", "H225", FLASH, S, || code(4.0, 110.6)),
    reads("J029", "o-xylene, flash 30 °C, boils 144.4 °C", "H226", FLASH, S, || code(30.0, 144.4)),
    reads("J031", "benzaldehyde, flash 64 °C, boils 178.7 °C", "H227", FLASH, S, || code(64.0, 178.7)),
    reads("J032", "dibutyl ether, flash 25 °C, boils 141.6 °C", "H226", FLASH, S, || code(25.0, 141.6)),
    reads("J034", "dimethylformamide, flash 58 °C, boils 152.8 °C", "H226", FLASH, S, || code(58.0, 152.8)),
    reads("J035", "1-bromobutane, flash 13 °C, boils 101.4 °C", "H225", FLASH, S, || code(13.0, 101.4)),
    // The sources dispute the flash point; the class follows whichever is taken.
    reads("J037", "butyl acetate, flash 22 °C", "H225", DISPUTE, S, || code(22.0, 126.0)),
    reads("J037", "butyl acetate, flash 27 °C", "H226", DISPUTE, S, || code(27.0, 126.0)),
    reads("J038", "flash 22.9 °C, boils 35.0 °C", "H224", CRITERIA, S, || code(22.9, 35.0)),
    reads("J038", "flash 22.9 °C, boils 35.1 °C", "H225", CRITERIA, S, || code(22.9, 35.1)),
    reads("J038", "flash 23.0 °C", "H226", CRITERIA, S, || code(23.0, 35.0)),
    reads("J038", "flash 60.0 °C", "H226", CRITERIA, S, || code(60.0, 150.0)),
    reads("J038", "flash 60.1 °C", "H227", CRITERIA, S, || code(60.1, 150.0)),
    reads("J038", "flash 93.0 °C", "H227", CRITERIA, S, || code(93.0, 150.0)),
    reads("J038", "flash 93.1 °C", "none", CRITERIA, S, || code(93.1, 150.0)),

    // Near a limit of its class the flash point says where it is from.
    reads("J218", "ethyl butyrate of the library, whether its flash point names a source", "yes", "supplier sheets give 24 to 26 °C, the package `chemicals` 1.5.2 gives 21", SM,
        || of("ethyl_butyrate", |substance| if substance.flash.as_ref().is_some_and(|flash| !flash.source.is_empty()) { "yes" } else { "no" }.to_owned())),

    reads("J175", "acetone and concentrated nitric acid", "found", LISTS, S, || meet("acetone, 10 g", "nitric_acid, 68 % w/w, 10 g")),
    // What may be meant is faulted in a waste and not in a pot.
    reads("J176", "acetic anhydride: pairs with water, alcohols and perchloric acid", "all", LISTS, S, || declared(&["anhydride_water", "anhydride_alcohols", "anhydride_perchloric"])),
    reads("J178", "aniline and concentrated nitric acid", "found", LISTS, S, || meet("aniline, 10 g", "nitric_acid, 68 % w/w, 10 g")),
    reads("J178", "aniline and concentrated hydrogen peroxide", "found", LISTS, S, || meet("aniline, 10 g", "hydrogen_peroxide, 30 % w/w, 10 g")),
    reads("J179", "hypochlorite and hydrochloric acid", "found", LISTS, S, || meet("sodium_hypochlorite, 5 g", "hydrochloric_acid, conc, 10 g")),
    reads("J179", "hypochlorite and activated carbon", "all", LISTS, S, || declared(&["hypochlorite_carbon"])),
    reads("J181", "hydrogen peroxide and acetone", "found", LISTS, S, || meet("hydrogen_peroxide, 30 % w/w, 10 g", "acetone, 10 g")),
    reads("J181", "hydrogen peroxide and ethanol", "found", LISTS, S, || meet("hydrogen_peroxide, 30 % w/w, 10 g", "ethanol, absolute, 10 g")),
    reads("J181", "hydrogen peroxide and a salt of copper", "all", LISTS, S, || declared(&["peroxide_metals"])),
    reads("J182", "alkali metals: pairs with water, halogenated liquids, carbon dioxide and halogens", "all", LISTS, S,
        || declared(&["alkali_metal_water", "alkali_metal_halogenated", "alkali_metal_carbon_dioxide", "alkali_metal_halogens"])),
    reads("J184", "activated carbon: pairs with hypochlorite and oxidisers", "all", LISTS, S, || declared(&["hypochlorite_carbon", "oxidiser_carbon", "peroxide_carbon"])),
    reads("J185", "calcium oxide and water", "all", LISTS, S, || declared(&["calcium_oxide_water"])),
    reads("J187", "concentrated nitric acid and acetic acid", "found", LISTS, SM, || meet("nitric_acid, 68 % w/w, 10 g", "acetic_acid, glacial, 10 g")),
    reads("J187", "concentrated nitric acid and hexane", "found", LISTS, SM, || meet("nitric_acid, 68 % w/w, 10 g", "hexane, 10 g")),
    reads("J188", "potassium permanganate and glycerol", "found", LISTS, M, || meet("potassium_permanganate, 5 g", "glycerol, 10 g")),
    reads("J188", "potassium permanganate and benzaldehyde", "found", LISTS, M, || meet("potassium_permanganate, 5 g", "benzaldehyde, 10 g")),
    reads("J188", "potassium permanganate and sulfuric acid", "found", LISTS, M, || meet("potassium_permanganate, 5 g", "sulfuric_acid, conc, 10 g")),

    // Dilute, acetone and nitric acid are no such pair.
    reads("J175", "acetone and nitric acid of 5 %", "not found", LISTS, S, || meet("acetone, 10 g", "nitric_acid, 5 % w/w, 10 g")),

    reads("J109", "H290 alone: pictograms by number", "5", "CLP; UN GHS", M, || pictograms(&["H290"]).iter().map(u8::to_string).collect::<Vec<_>>().join(" ")),
    near("J199", "1.000 mol at 0 °C and 1 atm, L", 22.41, Abs(0.02), IDEAL, Mc, || ml(1000.0, 0.0) / 1000.0),
    near("J199", "1.000 mol at 20 °C and 1 atm, L", 24.06, Abs(0.02), IDEAL, Mc, || ml(1000.0, 20.0) / 1000.0),
    near("J199", "1.000 mol at 25 °C and 1 atm, L", 24.47, Abs(0.02), IDEAL, Mc, || ml(1000.0, 25.0) / 1000.0),
    near("J200", "CO2 of 10.0 mmol of acid and NaHCO3 at 20 °C, mL", 241.0, Rel(0.01), IDEAL, Mc, || ml(10.0, 20.0)),
    near("J202", "CO2 of 1 g of acetic acid and 1.4 g of NaHCO3 at 0 °C, mL", 373.0, Rel(0.01), "chehesj blog", S,
        || ml(1000.0 * (1.0 / m("CH3COOH")).min(1.4 / m("NaHCO3")), 0.0)),
    near("J203", "CO2 of 10.0 mmol of acid and Na2CO3 at 20 °C, mL", 120.0, Rel(0.01), IDEAL, Mc, || ml(5.0, 20.0)),
    near("J205", "density of H2 at 17.0 °C and 760 torr, g/L", 0.0847, Abs(0.0003), OPENSTAX, S, || m("H2") / (ml(1000.0, 17.0) / 1000.0)),
    // With the vapour pressure of water from Wagner's equation in place of the source's table.
    near("J206", "0.560 L of wet O2 at 29.0 °C and 764 torr, dry, L", 0.537, Abs(0.002), OPENSTAX, S, || dry(0.560, 29.0, 764.0)),
    near("D16", "CO2 of 60 mmol at 20 °C, L", 1.4, Abs(0.1), "prepchem.com: methyl salicylate", Sc, || ml(60.0, 20.0) / 1000.0),
    near("D18", "CO2 of 3 g of Na2CO3 at 20 °C, L", 0.68, Abs(0.01), "isoamyl acetate, macroscale handout (studylib 10882289)", Sc, || ml(1000.0 * 3.0 / m("Na2CO3"), 20.0) / 1000.0),

    near("J208", "1 mol of H2SO4 into 10 mol of water, kJ", 66.5, Abs(0.1), PETRUCCI, S, || sulfuric_dilution(10.0) / 1000.0),
    near("J209", "1 mol of H2SO4 into 50 mol of water, kJ", 72.8, Abs(0.1), PETRUCCI, S, || sulfuric_dilution(50.0) / 1000.0),
    near("J211", "1 mol of H2SO4 into 1000 mol of water, kJ", 78.3, Abs(0.1), PETRUCCI, S, || sulfuric_dilution(1000.0) / 1000.0),
    near("J212", "1 mol of H2SO4 at infinite dilution, kJ", 95.3, Abs(0.1), PETRUCCI, S, || sulfuric_dilution(f64::INFINITY) / 1000.0),
    // The answer often printed, 54.5 °C, takes the heat at infinite dilution.
    near("J214", "1 mol of H2SO4 into 1 L of 1.00 M acid at 28.8 °C, °C", 47.0, Abs(2.0), HOMEWORK, Sc,
        || poured(2.0 * sulfuric_dilution(53.4 / 2.0) - sulfuric_dilution(53.4), 1060.0 + m("H2SO4"))).not(54.5),
    near("J215", "5.2 g of H2SO4 warm 140.2 g (4.2 J/(g K)) from 20.2 to 28.8 °C, kJ/mol", 95.5, Abs(1.0), "Kotz, Chemistry and Chemical Reactivity, 9th ed., question 5-42", S, || {
        let rise = q(28.8, "degC").checked_sub(q(20.2, "degC")).unwrap();
        let heat = times(times(q(4.2, "J/(g K)"), q(140.2, "g")), rise);
        number(over(heat, over(q(5.2, "g"), super::molar("H2SO4"))), "kJ/mol")
    }),
];
