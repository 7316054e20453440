//! Solutes shaken from one layer into another, and the strength of brine.

use scruple::chemistry::extraction::{left_after, portions_needed, share};
use scruple::chemistry::solve::brent;

use super::{Abs, Check, Exact, Rel, S, SM, Sc, molar, near, number, over, q, times};

const QAMMUNITY: &str = "qammunity, caffeine and dichloromethane";
const WIZEDU: &str = "wizedu, caffeine and dichloromethane";
const HARVEY: &str = "Harvey, Analytical Chemistry 2.1, chapter 7";
const BRINE: &str = "Wikipedia, table of sodium chloride solutions";

/// Amount of `total` that `n` portions take out.
fn out(total: f64, d: f64, volume: f64, each: f64, n: u32) -> f64 {
    total * (1.0 - left_after(d, volume, each, n))
}

/// Amount of `total` that is left after `n` portions.
fn left(total: f64, d: f64, volume: f64, each: f64, n: u32) -> f64 {
    total * left_after(d, volume, each, n)
}

/// NaCl in mol/L of a solution of so many % w/w and kg/m³.
fn brine(percent: f64, density: f64) -> f64 {
    let strength = times(q(percent, "% w/w"), q(density, "kg/m3"));
    number(over(strength, molar("NaCl")), "mol/L")
}

#[rustfmt::skip]
pub(crate) const CHECKS: &[Check] = &[
    near("F001", "D 7.5: 5.00 g in 50 mL, 1 × 50 mL, g out", 4.41, Abs(0.01), "justaaa.com, hexane and water", S, || out(5.00, 7.5, 50.0, 50.0, 1)),
    near("F002", "D 3: 100 mL, 1 × 500 mL, % left", 6.25, Abs(0.1), "justaaa.com, benzene and water", S, || left(100.0, 3.0, 100.0, 500.0, 1)),
    near("F004", "D 10: 1 g in 50 mL, 1 × 60 mL, g left", 0.077, Abs(0.001), "wizedu, one portion against two", S, || left(1.0, 10.0, 50.0, 60.0, 1)),
    near("F005", "D 10: 1 g in 50 mL, 2 × 30 mL, g left", 0.020, Abs(0.001), "wizedu, one portion against two", S, || left(1.0, 10.0, 50.0, 30.0, 2)),
    near("F007", "D 9.0: 100 mg in 200 mL, 1 × 200 mL, mg left", 10.0, Abs(0.1), QAMMUNITY, S, || left(100.0, 9.0, 200.0, 200.0, 1)),
    near("F008", "D 9.0: 100 mg in 200 mL, the first of 2 × 100 mL, mg left", 18.18, Abs(0.1), QAMMUNITY, S, || left(100.0, 9.0, 200.0, 100.0, 1)),
    near("F008", "D 9.0: 100 mg in 200 mL, 2 × 100 mL, mg left", 3.3, Abs(0.1), QAMMUNITY, S, || left(100.0, 9.0, 200.0, 100.0, 2)),
    // The handout is wrong in its third step: it prints 0.0430 g, and so 0.5567 g in all.
    near("F010", "D 8.4: 0.600 g in 100 mL, step 3 of 3 × 20 mL, g out", 0.0524, Abs(0.0005), "Course Hero handout, caffeine", Sc,
        || out(0.600, 8.4, 100.0, 20.0, 3) - out(0.600, 8.4, 100.0, 20.0, 2)).not(0.0430),
    near("F010", "D 8.4: 0.600 g in 100 mL, 3 × 20 mL, g out", 0.5688, Abs(0.0005), "Course Hero handout, caffeine", Sc, || out(0.600, 8.4, 100.0, 20.0, 3)).not(0.5567),
    near("F011", "D 4.6: 70 mg in 2.0 mL, the first of 3 × 1.0 mL, mg left", 21.21, Abs(0.1), WIZEDU, S, || left(70.0, 4.6, 2.0, 1.0, 1)),
    // The source misprints the second step as 4.43.
    near("F011", "D 4.6: 70 mg in 2.0 mL, two of 3 × 1.0 mL, mg left", 6.43, Abs(0.1), WIZEDU, S, || left(70.0, 4.6, 2.0, 1.0, 2)).not(4.43),
    near("F011", "D 4.6: 70 mg in 2.0 mL, 3 × 1.0 mL, mg left", 1.95, Abs(0.1), WIZEDU, S, || left(70.0, 4.6, 2.0, 1.0, 3)),
    near("F011", "D 4.6: 70 mg in 2.0 mL, 3 × 1.0 mL, % recovered", 97.2, Abs(0.1), WIZEDU, S, || out(100.0, 4.6, 2.0, 1.0, 3)),
    // The source rounds on the way and prints 0.0689.
    near("F013", "D 4.6: 0.070 g in 4.0 mL, 3 × 2.0 mL, g out", 0.0681, Abs(0.0003), WIZEDU, S, || out(0.070, 4.6, 4.0, 2.0, 3)).not(0.0689),
    // The source is wrong: it turns D upside down and prints 0.045 g.
    near("F014", "D 4.6: 0.170 g in 10 mL, 3 × 5 mL, g out", 0.1653, Abs(0.0005), "qammunity 12894089", Sc, || out(0.170, 4.6, 10.0, 5.0, 3)).not(0.045),
    near("F016", "D 10: 100 mL, portions of 20 mL that take out 99.5 %", 5.0, Exact, "qammunity, number of portions", S,
        || f64::from(portions_needed(10.0, 100.0, 20.0, 0.005, 100).unwrap())),
    near("F016", "D 10: 50.0 g in 100 mL, 5 × 20 mL, g out", 49.79, Abs(0.01), "qammunity, number of portions", S, || out(50.0, 10.0, 100.0, 20.0, 5)),
    near("F017", "D 4: 10 g in 100 mL, 1 × 100 mL, g out", 8.0, Abs(0.05), "notetube.ai", S, || 10.0 * share(4.0, 100.0, 100.0)),
    near("F019", "D 3: 6 g in 600 mL, 4 × 150 mL, g out", 5.36, Abs(0.01), "tutorsglobe, benzoic acid and dichloromethane (question only)", Sc, || out(6.0, 3.0, 600.0, 150.0, 4)),
    near("F019", "D 3: 600 mL, 4 × 150 mL, % out", 89.3, Abs(0.1), "tutorsglobe, benzoic acid and dichloromethane (question only)", Sc, || out(100.0, 3.0, 600.0, 150.0, 4)),
    near("F020", "D 5.00: 50.00 mL, 1 × 15.00 mL, % out", 60.0, Abs(0.1), HARVEY, SM, || out(100.0, 5.00, 50.00, 15.00, 1)),
    near("F020", "D 5.00: 50.00 mL, the one portion that takes out 99.9 %, mL", 9990.0, Rel(0.001), HARVEY, SM,
        || brent(|each| left_after(5.00, 50.00, each, 1) - 0.001, 1.0, 1e6, 1e-6, 200).unwrap()),
    near("F035", "saturated brine of 26.4 % w/w, 1197.8 kg/m³, mol/L", 5.40, Rel(0.005), BRINE, S, || brine(26.4, 1197.8)),
    near("F038", "brine of 20 % w/w, 1147.8 kg/m³, mol/L", 3.928, Rel(0.001), BRINE, S, || brine(20.0, 1147.8)),
];
