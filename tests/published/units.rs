//! Units, temperatures, strengths of solutions, and rounding.

use scruple::kinds::{Kind, Quantity, UnitError, decimals, difference_unit, show, significant, unit};

use super::bench::is_found;
use super::{Abs, Check, Exact, M, OPENSTAX, Rel, S, Sc, convert, m, molar, near, number, over, q, reads, si, times};

const GNU: &str = "GNU Units 2.22";
const BOTH: &str = "GNU Units 2.22; OpenStax Chemistry 2e";
const APPENDIX_F: &str = "OpenStax Chemistry 2e, Appendix F";
const CALORIMETRY: &str = "OpenStax Chemistry 2e, calorimetry";

/// As far as conversion factors are printed.
const PRINTED: super::Tolerance = Rel(1e-6);

/// Concentration in mol/L of a solution of density `d` in g/mL with `percent` % w/w of a substance.
fn molarity(percent: f64, d: f64, formula: &str) -> f64 {
    let strength = times(q(percent, "% w/w"), q(d, "g/mL"));
    number(over(strength, molar(formula)), "mol/L")
}

/// Mass in g of a substance in `volume` L of a solution of `c` mol/L.
fn dissolved(c: f64, volume: f64, formula: &str) -> Quantity {
    times(times(q(c, "mol/L"), q(volume, "L")), molar(formula))
}

fn verdict<T, E>(result: Result<T, E>) -> String {
    if result.is_ok() { "taken" } else { "refused" }.to_owned()
}

/// Heat taken up by `grams` that warm from one temperature to the other in °C, at 4.184 J/(g K).
fn heat(grams: f64, from: f64, to: f64) -> Quantity {
    let rise = q(to, "degC").checked_sub(q(from, "degC")).unwrap();
    times(times(q(4.184, "J/(g K)"), q(grams, "g")), rise)
}

#[rustfmt::skip]
pub(crate) const CHECKS: &[Check] = &[
    near("A001", "1 mmHg in Pa", 133.322_387_4, PRINTED, GNU, S, || convert(1.0, "mmHg", "Pa")),
    near("A002", "1 torr in Pa", 133.322_368_4, PRINTED, GNU, S, || convert(1.0, "torr", "Pa")),
    near("A004", "1 atm in Pa", 101_325.0, Exact, GNU, S, || convert(1.0, "atm", "Pa")),
    near("A005", "1 psi in Pa", 6_894.757_293, PRINTED, GNU, S, || convert(1.0, "psi", "Pa")),
    near("A007", "1 inHg in Pa", 3_386.388_64, PRINTED, GNU, S, || convert(1.0, "inHg", "Pa")),
    near("A008", "1 kgf/cm² in Pa", 98_066.5, Exact, GNU, S, || convert(1.0, "kgf/cm2", "Pa")),
    near("A010", "1 in in cm", 2.54, Exact, BOTH, S, || convert(1.0, "in", "cm")),
    near("A011", "1 lb in g", 453.592_37, Exact, GNU, S, || convert(1.0, "lb", "g")),
    near("A013", "1 troy ounce in g", 31.103_476_8, Exact, GNU, S, || convert(1.0, "ounce_troy", "g")),
    near("A014", "1 grain in mg", 64.798_91, Exact, GNU, S, || convert(1.0, "grain", "mg")),
    near("A016", "1 imperial gallon in L", 4.546_09, Exact, GNU, S, || convert(1.0, "imperial_gallon", "L")),
    near("A017", "1 US fluid ounce in mL", 29.573_529_56, PRINTED, GNU, S, || convert(1.0, "us_fluid_ounce", "mL")),
    near("A019", "1 US liquid quart in L", 0.946_352_946, PRINTED, GNU, S, || convert(1.0, "us_quart", "L")),
    near("A020", "1 US pint in mL", 473.176_473, PRINTED, GNU, S, || convert(1.0, "us_pint", "mL")),
    near("A022", "1 ft³ in L", 28.316_846_59, PRINTED, GNU, S, || convert(1.0, "ft3", "L")),
    near("A023", "1 thermochemical calorie in J", 4.184, Exact, BOTH, S, || convert(1.0, "cal", "J")),
    near("A025", "1 Btu_IT in J", 1_055.055_853, PRINTED, GNU, S, || convert(1.0, "Btu_IT", "J")),
    near("A026", "1 Btu_th in J", 1_054.350_264, PRINTED, GNU, S, || convert(1.0, "Btu_th", "J")),
    near("A028", "1 mechanical horsepower in W", 745.699_871_6, PRINTED, GNU, S, || convert(1.0, "horsepower_mechanical", "W")),
    near("A029", "1 kcal/mol in kJ/mol", 4.184, Exact, GNU, S, || convert(1.0, "kcal/mol", "kJ/mol")),

    near("A031", "37.0 °C in K", 310.15, Abs(0.01), OPENSTAX, S, || convert(37.0, "degC", "K")),
    near("A031", "37.0 °C in °F", 98.6, Abs(0.01), OPENSTAX, S, || convert(37.0, "degC", "degF")),
    near("A032", "80.92 °C in K", 354.07, Abs(0.01), OPENSTAX, S, || convert(80.92, "degC", "K")),
    near("A032", "80.92 °C in °F", 177.66, Abs(0.01), OPENSTAX, S, || convert(80.92, "degC", "degF")),
    // Printed to 0.1 °C, so met as a text; the exact value is 232.222… °C.
    reads("A034", "450 °F in °C", "232.2", OPENSTAX, S, || significant(convert(450.0, "degF", "degC"), 4)),
    near("A035", "a difference of 18 °F in K", 10.0, Abs(0.01), "NIST SP 811, Appendix B", M, || difference_unit("degF").unwrap().to_si(18.0)),
    near("A037", "−40 °C in °F", -40.0, Abs(0.01), "definition of the scales", M, || convert(-40.0, "degC", "degF")),
    reads("A038", "20 °C and 30 °C added", "refused", "rule of quantities: temperatures do not add", M, || verdict(q(20.0, "degC").checked_add(q(30.0, "degC")))),
    reads("A040", "−300 °C", "refused", "definition of absolute zero", M, || verdict(Quantity::checked(si(-300.0, "degC"), Kind::Temperature))),

    near("A041", "135 g of HCl and 775 g of water, % w/w", 14.8, Abs(0.05), OPENSTAX, S,
        || number(over(q(135.0, "g"), q(135.0, "g").checked_add(q(775.0, "g")).unwrap()), "%")),
    near("A043", "hydrochloric acid of 37.2 % w/w, 1.19 g/mL, that holds 125 g of HCl, mL", 282.0, Abs(1.0), OPENSTAX, S,
        || number(over(q(125.0, "g"), times(q(37.2, "% w/w"), q(1.19, "g/mL"))), "mL")),
    near("A044", "propan-2-ol (0.785 g/mL) in 355 mL of 70 % v/v, g", 195.0, Abs(0.5), OPENSTAX, S,
        || number(times(q(0.785, "g/mL"), times(q(70.0, "% v/v"), q(355.0, "mL"))), "g")),
    near("A046", "NaCl in 100 mL of 0.9 % w/v, g", 0.9, Exact, OPENSTAX, S, || number(times(q(0.9, "% w/v"), q(100.0, "mL")), "g")),
    near("A047", "3.75 mg of glucose in 5.0 g, % w/w", 0.075, Exact, OPENSTAX, S, || number(over(q(3.75, "mg"), q(5.0, "g")), "%")),
    near("A049", "nitric acid of 68.0 % w/w for 400.0 g of 10.0 % w/w, g", 58.8, Abs(0.05), OPENSTAX, S,
        || number(over(times(q(10.0, "% w/w"), q(400.0, "g")), q(68.0, "% w/w")), "g")),
    near("A050", "NaOH of 97.0 % for 1.00 L of 10.0 % w/w, 1.109 g/mL, g", 114.0, Abs(0.5), OPENSTAX, S,
        || number(over(times(q(10.0, "% w/w"), times(q(1.109, "g/mL"), q(1.0, "L"))), q(97.0, "% w/w")), "g")),
    // 1 % w/v is 1000 mg/dL.
    near("A052", "5.3 mmol/L of glucose in mg/dL", 95.0, Abs(0.5), OPENSTAX, S, || 1000.0 * number(times(q(5.3, "mmol/L"), molar("C6H12O6")), "% w/v")),
    near("A053", "H2SO4 of 40.0 % w/w, 1.3057 g/mL, mol/L", 5.325, Abs(0.01), OPENSTAX, Sc, || molarity(40.0, 1.3057, "H2SO4")),
    near("A055", "HCl in 45.0 mL of 37.21 % w/w, 1.19 g/mL, g", 19.93, Abs(0.05), OPENSTAX, Sc,
        || number(times(times(q(37.21, "% w/w"), q(1.19, "g/mL")), q(45.0, "mL")), "g")),
    near("A056", "0.133 mol in 355 mL, mol/L", 0.375, Abs(0.0005), OPENSTAX, S, || number(over(q(0.133, "mol"), q(355.0, "mL")), "mol/L")),
    // Rounding the amount to 1.32 mol on the way gives the wrong 77.1 g.
    near("A058", "NaCl in 0.250 L of 5.30 M, g", 77.4, Abs(0.05), OPENSTAX, S, || number(dissolved(5.30, 0.250, "NaCl"), "g")).not(77.1),
    reads("A058", "NaCl in 0.250 L of 5.30 M, as shown", "77.4 g", OPENSTAX, S, || show(dissolved(5.30, 0.250, "NaCl").si, Kind::Mass, 3)),
    near("A059", "CaCl2 in 250.0 mL of 0.200 M, g", 5.55, Abs(0.005), OPENSTAX, S, || number(dissolved(0.200, 0.2500, "CaCl2"), "g")),
    near("A061", "1.50 M solution that holds 66.0 g of KBr, L", 0.370, Abs(0.001), OPENSTAX, S,
        || number(over(over(q(66.0, "g"), molar("KBr")), q(1.50, "mol/L")), "L")),
    near("A062", "0.850 L of 5.00 M made up to 1.80 L, mol/L", 2.36, Abs(0.005), OPENSTAX, S,
        || number(over(times(q(5.00, "mol/L"), q(0.850, "L")), q(1.80, "L")), "mol/L")),
    reads("A062", "0.850 L of 5.00 M made up to 1.80 L, as shown", "2.36 M", OPENSTAX, S,
        || show(over(times(q(5.00, "mol/L"), q(0.850, "L")), q(1.80, "L")).si, Kind::Concentration, 3)),
    near("A064", "0.125 M made of 0.250 L of 1.88 M, L", 3.76, Abs(0.005), OPENSTAX, S,
        || number(over(times(q(1.88, "mol/L"), q(0.250, "L")), q(0.125, "mol/L")), "L")),
    reads("A064", "0.125 M made of 0.250 L of 1.88 M, as shown", "3.76 L", OPENSTAX, S,
        || show(over(times(q(1.88, "mol/L"), q(0.250, "L")), q(0.125, "mol/L")).si, Kind::Volume, 3)),
    near("A065", "KOH of 1.59 M for 5.00 L of 0.100 M, L", 0.314, Abs(0.001), OPENSTAX, S,
        || number(over(times(q(0.100, "mol/L"), q(5.00, "L")), q(1.59, "mol/L")), "L")),
    // The source is wrong: it takes 128.9 g/mol for CoCl2 and prints 0.674 M.
    near("A067", "molar mass of CoCl2, g/mol", 129.83, Abs(0.01), OPENSTAX, S, || m("CoCl2")).not(128.9),
    near("A067", "6.52 g of CoCl2 in 75.0 mL, mol/L", 0.670, Abs(0.001), OPENSTAX, S,
        || number(over(over(q(6.52, "g"), molar("CoCl2")), q(75.0, "mL")), "mol/L")).not(0.674),
    near("A068", "acetic acid of 99.5 % w/w, 1.05 g/mL, mol/L", 17.4, Abs(0.1), APPENDIX_F, S, || molarity(99.5, 1.05, "CH3COOH")),
    near("A070", "hydrochloric acid of 36 % w/w, 1.18 g/mL, mol/L", 11.6, Abs(0.1), APPENDIX_F, S, || molarity(36.0, 1.18, "HCl")),
    near("A071", "nitric acid of 71 % w/w, 1.42 g/mL, mol/L", 16.0, Abs(0.1), APPENDIX_F, S, || molarity(71.0, 1.42, "HNO3")),
    near("A073", "sodium hydroxide of 50 % w/w, 1.53 g/mL, mol/L", 19.1, Abs(0.1), APPENDIX_F, S, || molarity(50.0, 1.53, "NaOH")),
    near("A074", "sulfuric acid of 96 % w/w, 1.84 g/mL, mol/L", 18.0, Abs(0.1), APPENDIX_F, S, || molarity(96.0, 1.84, "H2SO4")),

    reads("A076", "8.1649 to three figures", "8.16", OPENSTAX, S, || significant(8.1649, 3)),
    reads("A077", "0.051065 to four figures, a tie", "0.05106", OPENSTAX, S, || significant(0.051065, 4)),
    reads("A079", "0.424 to two figures", "0.42", OPENSTAX, S, || significant(0.424, 2)),
    reads("A080", "0.0038661 to three figures", "0.00387", OPENSTAX, S, || significant(0.0038661, 3)),
    reads("A082", "28 683.5 to five figures, a tie", "28684", OPENSTAX, S, || significant(28_683.5, 5)),
    reads("A083", "1.0023 g and 4.383 g, g", "5.385", OPENSTAX, S, || decimals(1.0023 + 4.383, 3)),
    reads("A085", "2.334 mL and 0.31 mL, mL", "2.64", OPENSTAX, S, || decimals(2.334 + 0.31, 2)),
    reads("A086", "56.533 m less 55.8752 m, m", "0.658", OPENSTAX, S, || decimals(56.533 - 55.8752, 3)),
    reads("A088", "421.23 g in 486 mL", "0.867 g/mL", OPENSTAX, S, || show(over(q(421.23, "g"), q(486.0, "mL")).si, Kind::Density, 3)),
    reads("A089", "2.334 cm by 0.320 cm, cm²", "0.747", OPENSTAX, S, || significant(2.334 * 0.320, 3)),
    reads("A091", "31.1415 g in 30.13 cm³", "1.034 g/mL", OPENSTAX, S, || show(over(q(31.1415, "g"), q(30.13, "cm3")).si, Kind::Density, 4)),
    reads("A092", "9.345 qt in L", "8.844", OPENSTAX, S, || significant(convert(9.345, "us_quarts", "L"), 4)),
    reads("A094", "125 g in oz", "4.41", OPENSTAX, S, || significant(convert(125.0, "g", "ounces_avoirdupois"), 3)),
    reads("A095", "4.00 qt that weigh 9.26 lb", "1.11 g/mL", OPENSTAX, S, || show(over(q(9.26, "lb"), q(4.00, "us_quarts")).si, Kind::Density, 3)),
    reads("A098", "32.00 to four figures keeps its noughts", "32.00", "ASTM E29-02, section 3 (preview)", S, || significant(32.0, 4)),
    reads("A098", "1270 to four figures", "1270", "ASTM E29-02, section 3 (preview)", S, || significant(1270.0, 4)),
    reads("A100", "hydrochloric acid of 37 % of what is not said", "found", "NIST SP 811, section 7.10", M,
        || is_found("kinds::percent_of_what", "basis acid\ntake acid = hydrochloric_acid, 37 %, 10 mL\nkeep acid as \"acid\" in bottle")),
    reads("A100", "a temperature as shown", "25 °C", "NIST SP 811, section 7.10", M, || show(25.0 + 273.15, Kind::Temperature, 2)),
    // Appendix C gives 1054.804 J, the unit at 59 °F; GNU Units has two more of the name.
    reads("A101", "an unqualified BTU, and what to write instead", "Btu_th, Btu_IT, J", "OpenStax Chemistry 2e, Appendix C; GNU Units 2.22", S,
        || match unit("BTU") {
            Err(UnitError::Ambiguous { write, .. }) => write.join(", "),
            other => format!("{other:?}"),
        }),

    // The source is wrong by a thousand in its first figure: "1.34 × 10^3 kJ, or 1.34 kJ".
    near("A103", "100 mL and 100 mL of water from 21.9 to 23.5 °C, kJ", 1.34, Abs(0.01), CALORIMETRY, S, || number(heat(200.0, 21.9, 23.5), "kJ")).not(1.34e3),
    near("A104", "3.00 g of KCl in 300 g of water that cool by 1.05 K, kJ", -1.33, Abs(0.01), CALORIMETRY, S, || number(heat(303.0, 25.00, 23.95), "kJ")),
];
