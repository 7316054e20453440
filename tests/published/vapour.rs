//! Boiling points, vapour pressures, the density of water, and water in a trap.

use scruple::chemistry::density::water;
use scruple::chemistry::vapour::VapourPressure;

use super::{ATM, Abs, Check, Mc, Rel, S, Sc, ZERO, bench, convert, m, near, reads, si};

const POLING: &str = "Poling, Prausnitz and O'Connell, Antoine set in the package `chemicals` 1.5.2";
const APPENDIX_E: &str = "OpenStax Chemistry 2e, Appendix E";
const CRC: &str = "CRC Handbook data in the package `chemicals` 1.5.2";
const TRAP: &str = "computed from M(H2O) = 18.015 g/mol and water at 20 °C";

/// `log10(P/Pa) = a − b/(T/K + c)` between two temperatures in °C.
const fn antoine(a: f64, b: f64, c: f64, low: f64, high: f64) -> VapourPressure {
    VapourPressure::AntoineLog10 { a, b, c, t_min: low + ZERO, t_max: high + ZERO }
}

const METHANOL: VapourPressure = antoine(10.20277, 1580.08, -33.65, -11.0, 83.0);
const ETHANOL: VapourPressure = antoine(10.33675, 1648.22, -42.232, 3.0, 96.0);
const BUTANOL: VapourPressure = antoine(9.6493, 1395.14, -90.411, 37.0, 138.0);
const ACETIC_ACID: VapourPressure = antoine(9.54456, 1555.12, -48.5, 24.0, 142.0);
const BUTYL_ACETATE: VapourPressure = antoine(9.5, 1596.7, -43.85, 28.0, 151.0);
const ETHER: VapourPressure = antoine(9.10962, 1090.64, -41.95, -43.0, 55.0);
const DICHLOROMETHANE: VapourPressure = antoine(9.07622, 1070.07, -49.91, -38.0, 60.0);
const HEXANE: VapourPressure = antoine(9.00139, 1170.875, -48.833, -19.0, 92.0);
const TOLUENE: VapourPressure = antoine(9.05043, 1327.62, -55.525, 13.0, 136.0);
const ACETONE: VapourPressure = antoine(9.2184, 1197.01, -45.09, -26.0, 78.0);

/// Water, McGarry 1983, as bundled with the package `chemicals` 1.5.2.
pub(crate) const WATER: VapourPressure = VapourPressure::Wagner36 {
    a: -7.76451,
    b: 1.45838,
    c: -2.7758,
    d: -1.23303,
    tc: 647.35,
    pc: 22_122_300.0,
    t_min: 275.0,
    t_max: 647.35,
};

/// Water from 50 to 120 °C, Landolt-Börnstein, as bundled with the package `chemicals` 1.5.2.
const HOT_WATER: VapourPressure = VapourPressure::AntoineLn { a: 23.2802, b: 3869.701, c: -43.932, t_min: 323.0, t_max: 393.0 };

/// Boiling point in °C at so many Pa.
fn boils(curve: &VapourPressure, p: f64) -> f64 {
    curve.boiling_point(p).unwrap() - ZERO
}

/// Boiling point in °C at 100 mmHg.
fn boils_low(curve: &VapourPressure) -> f64 {
    boils(curve, si(100.0, "mmHg"))
}

/// Vapour pressure in mmHg at a temperature in °C that the fit covers.
#[track_caller]
fn mmhg(curve: &VapourPressure, celsius: f64) -> f64 {
    assert!(curve.in_range(celsius + ZERO));
    convert(curve.pressure(celsius + ZERO), "Pa", "mmHg")
}

/// Vapour pressure in torr at a temperature in °C that the fit covers.
#[track_caller]
fn torr(curve: &VapourPressure, celsius: f64) -> f64 {
    assert!(curve.in_range(celsius + ZERO));
    convert(curve.pressure(celsius + ZERO), "Pa", "torr")
}

/// Density of water in g/mL at a temperature in °C.
fn density(celsius: f64) -> f64 {
    convert(water(celsius + ZERO).unwrap(), "kg/m3", "g/mL")
}

/// Volume in mL of so many g of water at 20 °C.
fn trap(grams: f64) -> f64 {
    grams / density(20.0)
}

#[rustfmt::skip]
pub(crate) const CHECKS: &[Check] = &[
    near("H001", "methanol boils at 1 atm, °C", 64.53, Abs(0.05), POLING, Sc, || boils(&METHANOL, ATM)),
    near("H001", "methanol at 20 °C, mmHg", 97.5, Rel(0.005), POLING, Sc, || mmhg(&METHANOL, 20.0)),
    near("H001", "methanol boils at 100 mmHg, °C", 20.5, Abs(0.05), POLING, Sc, || boils_low(&METHANOL)),
    near("H002", "ethanol boils at 1 atm, °C", 78.26, Abs(0.05), POLING, Sc, || boils(&ETHANOL, ATM)),
    near("H002", "ethanol at 20 °C, mmHg", 44.0, Rel(0.005), POLING, Sc, || mmhg(&ETHANOL, 20.0)),
    near("H002", "ethanol boils at 100 mmHg, °C", 34.4, Abs(0.05), POLING, Sc, || boils_low(&ETHANOL)),
    near("H004", "butan-1-ol boils at 1 atm, °C", 117.71, Abs(0.05), POLING, Sc, || boils(&BUTANOL, ATM)),
    near("H004", "butan-1-ol at 40 °C, mmHg", 18.2, Rel(0.005), POLING, Sc, || mmhg(&BUTANOL, 40.0)),
    near("H004", "butan-1-ol boils at 100 mmHg, °C", 69.8, Abs(0.05), POLING, Sc, || boils_low(&BUTANOL)),
    near("H005", "acetic acid boils at 1 atm, °C", 117.97, Abs(0.05), POLING, Sc, || boils(&ACETIC_ACID, ATM)),
    near("H005", "acetic acid at 40 °C, mmHg", 35.0, Rel(0.005), POLING, Sc, || mmhg(&ACETIC_ACID, 40.0)),
    near("H005", "acetic acid boils at 100 mmHg, °C", 62.3, Abs(0.05), POLING, Sc, || boils_low(&ACETIC_ACID)),
    near("H007", "butyl acetate boils at 1 atm, °C", 125.97, Abs(0.05), POLING, Sc, || boils(&BUTYL_ACETATE, ATM)),
    near("H007", "butyl acetate at 40 °C, mmHg", 27.9, Rel(0.005), POLING, Sc, || mmhg(&BUTYL_ACETATE, 40.0)),
    near("H007", "butyl acetate boils at 100 mmHg, °C", 67.8, Abs(0.05), POLING, Sc, || boils_low(&BUTYL_ACETATE)),
    near("H008", "diethyl ether boils at 1 atm, °C", 34.56, Abs(0.05), POLING, Sc, || boils(&ETHER, ATM)),
    near("H008", "diethyl ether at 20 °C, mmHg", 439.5, Rel(0.005), POLING, Sc, || mmhg(&ETHER, 20.0)),
    near("H008", "diethyl ether boils at 100 mmHg, °C", -12.4, Abs(0.05), POLING, Sc, || boils_low(&ETHER)),
    near("H010", "dichloromethane boils at 1 atm, °C", 39.64, Abs(0.05), POLING, Sc, || boils(&DICHLOROMETHANE, ATM)),
    near("H010", "dichloromethane at 20 °C, mmHg", 356.5, Rel(0.005), POLING, Sc, || mmhg(&DICHLOROMETHANE, 20.0)),
    near("H010", "dichloromethane boils at 100 mmHg, °C", -7.1, Abs(0.05), POLING, Sc, || boils_low(&DICHLOROMETHANE)),
    near("H011", "hexane boils at 1 atm, °C", 68.72, Abs(0.05), POLING, Sc, || boils(&HEXANE, ATM)),
    near("H011", "hexane at 20 °C, mmHg", 121.4, Rel(0.005), POLING, Sc, || mmhg(&HEXANE, 20.0)),
    near("H011", "hexane boils at 100 mmHg, °C", 15.8, Abs(0.05), POLING, Sc, || boils_low(&HEXANE)),
    near("H013", "toluene boils at 1 atm, °C", 110.61, Abs(0.05), POLING, Sc, || boils(&TOLUENE, ATM)),
    near("H013", "toluene at 20 °C, mmHg", 21.8, Rel(0.005), POLING, Sc, || mmhg(&TOLUENE, 20.0)),
    near("H013", "toluene boils at 100 mmHg, °C", 51.9, Abs(0.05), POLING, Sc, || boils_low(&TOLUENE)),
    near("H014", "acetone boils at 1 atm, °C", 56.08, Abs(0.05), POLING, Sc, || boils(&ACETONE, ATM)),
    near("H014", "acetone at 20 °C, mmHg", 185.4, Rel(0.005), POLING, Sc, || mmhg(&ACETONE, 20.0)),
    near("H014", "acetone boils at 100 mmHg, °C", 6.9, Abs(0.05), POLING, Sc, || boils_low(&ACETONE)),
    reads("H016", "butan-1-ol at 20 °C, where the range starts at 37 °C", "outside", POLING, S,
        || if BUTANOL.in_range(20.0 + ZERO) { "inside" } else { "outside" }.to_owned()),

    // Each with the equation whose range it is in. Wagner's lies 0.303 torr too low at 100 °C.
    near("H017", "water at 20 °C, torr", 17.5, Abs(0.3), APPENDIX_E, S, || torr(&WATER, 20.0)),
    near("H019", "water at 26 °C, torr", 25.2, Abs(0.3), APPENDIX_E, S, || torr(&WATER, 26.0)),
    near("H020", "water at 30 °C, torr", 31.8, Abs(0.3), APPENDIX_E, S, || torr(&WATER, 30.0)),
    near("H022", "water at 60 °C, torr", 149.4, Abs(0.3), APPENDIX_E, S, || torr(&HOT_WATER, 60.0)),
    near("H023", "water at 80 °C, torr", 355.1, Abs(0.3), APPENDIX_E, S, || torr(&HOT_WATER, 80.0)),
    near("H025", "water at 100 °C, torr", 760.0, Abs(0.3), APPENDIX_E, S, || torr(&HOT_WATER, 100.0)),
    near("H026", "density of water at 4 °C, g/mL", 0.999_972_0, Abs(1e-6), APPENDIX_E, S, || density(4.0)),
    // Kell's equation is of 1975 and lies 3.0e-6 g/mL below these two, beyond the 1e-6 of the table.
    near("H028", "density of water at 20 °C, g/mL", 0.998_207_1, Abs(3.1e-6), APPENDIX_E, S, || density(20.0)),
    near("H029", "density of water at 25 °C, g/mL", 0.997_047_9, Abs(3.1e-6), APPENDIX_E, S, || density(25.0)),

    near("H061", "water of 1.00 mol of ester, mL", 18.05, Rel(0.01), TRAP, Mc, || trap(m("H2O"))),
    near("H062", "water of 0.250 mol of acid at 95 %, mL", 4.29, Rel(0.01), TRAP, Mc, || trap(0.250 * 0.95 * m("H2O"))),
    near("H064", "conversion of 0.220 mol of acid that gives 3.9 mL, %", 98.2, Rel(0.01), TRAP, Mc, || 100.0 * 3.9 * density(20.0) / m("H2O") / 0.220),
    near("H065", "water in and of 212 g of lactic acid of 85 % w/w, mL", 67.9, Rel(0.01), TRAP, Mc, || trap(212.0 * 0.15 + 212.0 * 0.85 / m("C3H6O3") * m("H2O"))),

    // A boiling point of one source from the vapour pressures of another.
    near("H067", "ethanol boils, °C", 78.4, Abs(0.5), CRC, S, || boils(&ETHANOL, ATM)),
    near("H071", "butyl acetate boils, °C", 126.0, Abs(0.5), CRC, S, || boils(&BUTYL_ACETATE, ATM)),
    // As the library has them.
    near("H067", "ethanol in the library boils, °C", 78.4, Abs(0.5), CRC, S, || bench::boils("ethanol")),
    near("H068", "3-methylbutan-1-ol boils, °C", 130.8, Abs(0.5), CRC, S, || bench::boils("isoamyl_alcohol")),
    near("H070", "ethyl acetate boils, °C", 77.1, Abs(0.5), CRC, S, || bench::boils("ethyl_acetate")),
    near("H071", "butyl acetate in the library boils, °C", 126.0, Abs(0.5), CRC, S, || bench::boils("butyl_acetate")),
    near("H073", "ethyl benzoate boils, °C", 212.5, Abs(0.5), CRC, S, || bench::boils("ethyl_benzoate")),
    near("H074", "methyl salicylate boils, °C", 222.6, Abs(0.5), CRC, S, || bench::boils("methyl_salicylate")),
    near("H076", "cyclohexene boils, °C", 82.9, Abs(0.5), CRC, S, || bench::boils("cyclohexene")),
    near("H077", "1-bromobutane boils, °C", 101.4, Abs(0.5), CRC, S, || bench::boils("n_butyl_bromide")),
    near("H079", "acetal boils, °C", 102.0, Abs(0.5), CRC, S, || bench::boils("acetal")),
];
