//! Amounts, limiting reactants and yields: worked examples, and the arithmetic of published preparations.

use scruple::chemistry::balance::{imbalance, missing};
use scruple::chemistry::formula::Formula;
use scruple::chemistry::gas::volume;
use scruple::chemistry::stoichiometry::limiting;

use super::{ATM, Abs, Check, M, OPENSTAX, Rel, S, Sc, ZERO, m, molar, near, number, over, q, reads, si, times};

const QUESTION: &str = "OpenStax Chemistry 2e (question only)";
const TRO: &str = "Tro, Chemistry, problem on aspirin";
const ACETAL: &str = "Organic Syntheses Coll. Vol. 1, 1: acetal";
const LACTATE: &str = "Organic Syntheses Coll. Vol. 2, 365: isopropyl lactate";
const ACRYLATE: &str = "Organic Syntheses Coll. Vol. 3, 146: butyl acrylate";
const ADIPATE: &str = "Vogel's Textbook: diethyl adipate";
const BENZOATE: &str = "Vogel's Textbook: methyl benzoate";
const ETHYL_BENZOATE: &str = "class sheet (Scribd 845520611): ethyl benzoate";
const SALICYLATE: &str = "prepchem.com: methyl salicylate";
const ISOPENTYL: &str = "isoamyl acetate, macroscale handout (studylib 10882289)";
const GHENT: &str = "student protocol, Ghent University: isopentyl acetate";
const BUTYL: &str = "report on Williamson, experiment 40.1 (Course Hero): butyl acetate";
const CYCLOHEXENE: &str = "laboratory sheet (paperzz 8047374): cyclohexene";
const BROMOBUTANE: &str = "pre-laboratory report after Williamson (studymode): 1-bromobutane";
const DIBENZAL: &str = "pierpalab.com after Org. Synth. 1932, 12, 22: dibenzalacetone";

/// Amount in mol of so many g.
fn n(grams: f64, formula: &str) -> f64 {
    number(over(q(grams, "g"), molar(formula)), "mol")
}

/// Mass in g of so many mL at so many g/mL.
fn weighs(ml: f64, d: f64) -> f64 {
    number(times(q(ml, "mL"), q(d, "g/mL")), "g")
}

/// Reactants as formula, amount in mol and number in the equation.
type Charge = [(&'static str, f64, f64)];

/// What runs out first, and the extent in mol at which it does.
fn first(charge: &Charge) -> (&'static str, f64) {
    let n0: Vec<f64> = charge.iter().map(|(_, n, _)| *n).collect();
    let nu: Vec<f64> = charge.iter().map(|(_, _, nu)| -nu).collect();
    let (at, extent) = limiting(&n0, &nu).unwrap();
    (charge.get(at).unwrap().0, extent)
}

/// Extent in mol at which the first reactant runs out.
fn extent(charge: &Charge) -> f64 {
    first(charge).1
}

/// The reactant that runs out first.
fn runs_out(charge: &Charge) -> String {
    first(charge).0.to_owned()
}

/// Mass in g of a product at full conversion, made `per` mol to the mol of extent.
fn theory(charge: &Charge, product: &str, per: f64) -> f64 {
    per * extent(charge) * m(product)
}

/// Yield in % of so many g of a product.
fn percent(grams: f64, charge: &Charge, product: &str, per: f64) -> f64 {
    100.0 * grams / theory(charge, product, per)
}

/// One side of an equation as it is asked for.
fn lend(side: &[(f64, Formula)]) -> Vec<(f64, &Formula)> {
    side.iter().map(|(times, formula)| (*times, formula)).collect()
}

/// What an equation lacks.
fn lacks(left: &[(f64, &str)], right: &[(f64, &str)]) -> String {
    let parse = |side: &[(f64, &str)]| -> Vec<(f64, Formula)> {
        side.iter().map(|(times, text)| (*times, Formula::parse(text).unwrap())).collect()
    };
    let (left, right) = (parse(left), parse(right));
    missing(&imbalance(&lend(&left), &lend(&right)))
}

fn acetal() -> [(&'static str, f64, f64); 2] {
    [("C2H5OH", n(0.95 * 1050.0, "C2H5OH"), 2.0), ("CH3CHO", n(500.0, "CH3CHO"), 1.0)]
}

fn aspirin(ml: f64, grams: f64) -> [(&'static str, f64, f64); 2] {
    [("C7H6O3", n(grams, "C7H6O3"), 1.0), ("C4H6O3", n(weighs(ml, 1.08), "C4H6O3"), 1.0)]
}

fn ghent() -> [(&'static str, f64, f64); 2] {
    [("C5H12O", n(weighs(12.0, 0.8104), "C5H12O"), 1.0), ("C2H4O2", n(weighs(16.0, 1.049), "C2H4O2"), 1.0)]
}

#[rustfmt::skip]
pub(crate) const CHECKS: &[Check] = &[
    near("C001", "2 Al + 3 I2: I2 for 0.429 mol of Al, mol", 0.644, Abs(0.001), OPENSTAX, S, || 3.0 * extent(&[("Al", 0.429, 2.0)])),
    near("C002", "3 Ca(OH)2 + 2 H3PO4: Ca(OH)2 for 1.36 mol of acid, mol", 2.04, Abs(0.005), OPENSTAX, S, || 3.0 * extent(&[("H3PO4", 1.36, 2.0)])),
    near("C004", "4 Ga + 3 O2 → 2 Ga2O3: oxide of 29.0 g of Ga, g", 39.0, Abs(0.05), OPENSTAX, S, || theory(&[("Ga", n(29.0, "Ga"), 4.0)], "Ga2O3", 2.0)),
    near("C005", "2 C8H18 + 25 O2: O2 for 702 g of octane, g", 2.46e3, Abs(5.0), OPENSTAX, S, || theory(&[("C8H18", n(702.0, "C8H18"), 2.0)], "O2", 25.0)),
    near("C007", "2.00 g of Si, mol", 0.0712, Abs(0.0001), OPENSTAX, S, || n(2.00, "Si")),
    near("C007", "1.50 g of N2, mol", 0.0535, Abs(0.0001), OPENSTAX, S, || n(1.50, "N2")),
    reads("C007", "3 Si + 2 N2: 2.00 g and 1.50 g, what runs out", "Si", OPENSTAX, S, || runs_out(&[("Si", n(2.00, "Si"), 3.0), ("N2", n(1.50, "N2"), 2.0)])),
    near("C007", "3 Si + 2 N2 → Si3N4: of 2.00 g and 1.50 g, mol", 0.0237, Abs(0.0001), OPENSTAX, S, || extent(&[("Si", n(2.00, "Si"), 3.0), ("N2", n(1.50, "N2"), 2.0)])),
    reads("C008", "2 H2 + O2: 5.00 g and 10.0 g, what runs out", "O2", OPENSTAX, S, || runs_out(&[("H2", n(5.00, "H2"), 2.0), ("O2", n(10.0, "O2"), 1.0)])),
    near("C010", "CCl4 → CF2Cl2: 32.9 g give 12.5 g, %", 48.3, Abs(0.1), OPENSTAX, S, || percent(12.5, &[("CCl4", n(32.9, "CCl4"), 1.0)], "CF2Cl2", 1.0)),
    reads("C011", "2 Na + Cl2: 8 g of each, what runs out", "Cl2", OPENSTAX, S, || runs_out(&[("Na", n(8.0, "Na"), 2.0), ("Cl2", n(8.0, "Cl2"), 1.0)])),
    near("C013", "toluene → benzoic acid: 1.000 kg give 1.21 kg, %", 91.3, Abs(0.1), OPENSTAX, S, || percent(1210.0, &[("C7H8", n(1000.0, "C7H8"), 2.0)], "C7H6O2", 2.0)),
    near("C014", "2 ethanol → ether: 1.500 L (0.7894 g/mL) give 1.17 L (0.7134 g/mL), %", 87.6, Abs(0.1), OPENSTAX, S,
        || percent(weighs(1170.0, 0.7134), &[("C2H5OH", n(weighs(1500.0, 0.7894), "C2H5OH"), 2.0)], "(C2H5)2O", 1.0)),
    near("C016", "10.0 g of Na, mol", 0.435, Abs(0.0005), OPENSTAX, S, || n(10.0, "Na")),
    near("C016", "2 Na + Cl2: Cl2 for 10.0 g of Na, g", 15.4, Abs(0.05), OPENSTAX, S, || theory(&[("Na", n(10.0, "Na"), 2.0)], "Cl2", 1.0)),
    near("C017", "2 NaNO3 → O2: NaNO3 for 128 g of O2, g", 6.8e2, Rel(0.01), OPENSTAX, S, || 2.0 * n(128.0, "O2") * m("NaNO3")),
    near("C019", "CuCO3 → CuO: CuCO3 for 1.500 kg of CuO, kg", 2.330, Abs(0.002), OPENSTAX, S, || n(1500.0, "CuO") * m("CuCO3") / 1000.0),
    near("C020", "Mg + 2 HCl: Mg for 5.00 g of HCl, g", 1.67, Abs(0.01), OPENSTAX, S, || theory(&[("HCl", n(5.00, "HCl"), 2.0)], "Mg", 1.0)),
    near("C022", "6 HCl → 2 GaCl3: of 2.6 L of 1.44 M, g", 2.2e2, Rel(0.02), OPENSTAX, S, || theory(&[("HCl", number(times(q(2.6, "L"), q(1.44, "M")), "mol"), 6.0)], "GaCl3", 2.0)),
    near("C023", "SiO2 → SiC: SiO2 for 3.00 kg of SiC, kg", 4.50, Abs(0.02), OPENSTAX, S, || n(3000.0, "SiC") * m("SiO2") / 1000.0),
    near("C025", "2 Cu(NO3)2 + 4 KI: 0.2089 M KI for 43.88 mL of 0.3842 M, mL", 161.4, Abs(0.1), OPENSTAX, S, || {
        let copper = number(times(q(43.88, "mL"), q(0.3842, "M")), "mol");
        number(over(q(4.0 * extent(&[("Cu(NO3)2", copper, 2.0)]), "mol"), q(0.2089, "M")), "mL")
    }),
    near("C026", "FeTiO3 → TiO2: 379 g of ore of 88.3 %, g", 176.0, Abs(0.5), OPENSTAX, S, || theory(&[("FeTiO3", n(0.883 * 379.0, "FeTiO3"), 2.0)], "TiO2", 2.0)),
    near("C028", "2 Ga → 3 H2: of 8.88 g at 27 °C and 723 torr, L", 4.94, Abs(0.02), OPENSTAX, S,
        || volume(3.0 * extent(&[("Ga", n(8.88, "Ga"), 2.0)]), 27.0 + ZERO, si(723.0, "torr")) * 1000.0),
    near("C029", "S → SO2: of 1.00 kg at 343 °C and 1.21 atm, L", 1.30e3, Abs(10.0), OPENSTAX, S, || volume(n(1000.0, "S"), 343.0 + ZERO, 1.21 * ATM) * 1000.0),
    near("C031", "2 HNO3 + Na2CO3: Na2CO3 for 2.5 kg of acid, mol", 19.8, Abs(0.1), QUESTION, Sc, || extent(&[("HNO3", n(2500.0, "HNO3"), 2.0)])),
    reads("C031", "2 HNO3 + Na2CO3: 2.5 kg and 2.0 kg, what runs out", "Na2CO3", QUESTION, Sc, || runs_out(&[("HNO3", n(2500.0, "HNO3"), 2.0), ("Na2CO3", n(2000.0, "Na2CO3"), 1.0)])),
    near("C032", "CaCO3 → CO2: 1.31 g give 0.53 g, %", 92.0, Abs(1.0), QUESTION, Sc, || percent(0.53, &[("CaCO3", n(1.31, "CaCO3"), 1.0)], "CO2", 1.0)),
    reads("C034", "P4 + 5 O2: 0.200 mol of each, what runs out", "O2", QUESTION, Sc, || runs_out(&[("P4", 0.200, 1.0), ("O2", 0.200, 5.0)])),
    near("C034", "P4 + 5 O2 → P4O10: 0.200 mol of each give 10.0 g, %", 88.1, Abs(0.2), QUESTION, Sc, || percent(10.0, &[("P4", 0.200, 1.0), ("O2", 0.200, 5.0)], "P4O10", 1.0)),
    near("C035", "acetic acid → ethyl acetate: 10.0 g give 13.0 g, %", 88.6, Abs(0.2), QUESTION, Sc, || percent(13.0, &[("C2H4O2", n(10.0, "C2H4O2"), 1.0)], "C4H8O2", 1.0)),
    reads("C037", "aspirin of 3.00 mL and 1.25 g: what runs out", "C7H6O3", TRO, Sc, || runs_out(&aspirin(3.00, 1.25))),
    near("C037", "aspirin of 3.00 mL and 1.25 g: 1.22 g, %", 74.8, Abs(0.2), TRO, Sc, || percent(1.22, &aspirin(3.00, 1.25), "C9H8O4", 1.0)),
    near("C038", "aspirin of 5.00 mL and 2.08 g: 2.01 g, %", 74.1, Abs(0.2), "mywordsolution, variant of Tro's problem", Sc, || percent(2.01, &aspirin(5.00, 2.08), "C9H8O4", 1.0)),
    // The report claims 0.0160 mol of aspirin, more than its limiting reactant can give.
    near("C040", "aspirin of 2.0040 g of salicylic acid at most, mol", 0.01451, Abs(0.00001), "laboratory report (Scribd 139423038)", Sc, || extent(&aspirin(5.0, 2.0040))).not(0.0160),
    near("C040", "aspirin of 2.0040 g of salicylic acid: 0.3875 g, %", 14.8, Abs(0.2), "laboratory report (Scribd 139423038)", Sc, || percent(0.3875, &aspirin(5.0, 2.0040), "C9H8O4", 1.0)),
    // The report divides grams by grams and claims 21.4 %.
    near("C041", "cyclohexanol → cyclohexene: 2.0 g give 0.43 g, %", 26.2, Abs(0.5), "UMass BCRC student blog", Sc, || percent(0.43, &[("C6H12O", n(2.0, "C6H12O"), 1.0)], "C6H10", 1.0)).not(21.4),
    near("C043", "ibuprofen, 206 g of 514 g: atom economy, %", 40.0, Rel(0.01), OPENSTAX, S, || number(over(q(206.0, "g"), q(514.0, "g")), "%")),
    reads("C044", "what CH3COOH + C2H5OH → CH3COOC2H5 lacks", "H2O on the right", "conservation of mass", M, || lacks(&[(1.0, "CH3COOH"), (1.0, "C2H5OH")], &[(1.0, "CH3COOC2H5")])),
    reads("C044", "what it lacks with the water written", "nothing", "conservation of mass", M, || lacks(&[(1.0, "CH3COOH"), (1.0, "C2H5OH")], &[(1.0, "CH3COOC2H5"), (1.0, "H2O")])),

    near("D1", "200 g of CaCl2, mol", 1.80, Abs(0.01), ACETAL, Sc, || n(200.0, "CaCl2")),
    near("D1", "500 g of acetaldehyde, mol", 11.35, Abs(0.01), ACETAL, Sc, || n(500.0, "CH3CHO")),
    near("D1", "1050 g of ethanol of 95 % w/w, mol", 21.65, Abs(0.01), ACETAL, Sc, || n(0.95 * 1050.0, "C2H5OH")),
    // 95 % v/v is 92.4 % w/w; the published 21.7 mol takes the 95 % by mass.
    near("D1", "1050 g of ethanol of 92.4 % w/w, mol", 21.06, Abs(0.01), ACETAL, Sc, || n(0.924 * 1050.0, "C2H5OH")).not(21.7),
    reads("D1", "what runs out", "C2H5OH", ACETAL, Sc, || runs_out(&acetal())),
    near("D1", "acetal at full conversion, g", 1279.0, Abs(1.0), ACETAL, Sc, || theory(&acetal(), "C6H14O2", 1.0)),
    // Reckoned on acetaldehyde the yields would be 58.9 and 60.8 %.
    near("D1", "790 g, %", 61.7, Abs(0.1), ACETAL, Sc, || percent(790.0, &acetal(), "C6H14O2", 1.0)).not(58.9),
    near("D1", "815 g, %", 63.7, Abs(0.1), ACETAL, Sc, || percent(815.0, &acetal(), "C6H14O2", 1.0)).not(60.8),
    near("D1", "1050 g in 1305 mL, g/mL", 0.8046, Abs(0.0001), ACETAL, Sc, || number(over(q(1050.0, "g"), q(1305.0, "mL")), "g/mL")),
    near("D1", "500 g in 620 mL, g/mL", 0.806, Abs(0.001), ACETAL, Sc, || number(over(q(500.0, "g"), q(620.0, "mL")), "g/mL")),
    near("D2", "50 g of acetaldehyde, mol", 1.135, Abs(0.001), "illumina-chemie.org: acetal at a tenth of the scale", Sc, || n(50.0, "CH3CHO")),
    near("D7", "450 g of propan-2-ol, mol", 7.49, Abs(0.01), LACTATE, Sc, || n(450.0, "C3H8O")),
    near("D7", "212 g of lactic acid of 85 % w/w, mol", 2.000, Abs(0.001), LACTATE, Sc, || n(0.85 * 212.0, "C3H6O3")),
    near("D7", "ester at full conversion, g", 264.4, Abs(0.1), LACTATE, Sc, || theory(&[("C3H6O3", n(0.85 * 212.0, "C3H6O3"), 1.0), ("C3H8O", n(450.0, "C3H8O"), 1.0)], "C6H12O3", 1.0)),
    // Nearly half of the water comes with the acid; what the reaction makes is 36.0 g.
    near("D7", "water to remove, g", 67.8, Abs(0.1), LACTATE, Sc, || 0.15 * 212.0 + n(0.85 * 212.0, "C3H6O3") * m("H2O")).not(36.0),
    near("D8", "40 g from 53 g of lactic acid of 85 % w/w, %", 60.5, Abs(0.1), "Vogel's Textbook: isopropyl lactate", Sc, || percent(40.0, &[("C3H6O3", n(0.85 * 53.0, "C3H6O3"), 1.0)], "C6H12O3", 1.0)),
    near("D9", "water of 28 g of oleic acid, g", 1.79, Abs(0.01), "Vogel's Textbook: butyl oleate", Sc, || n(28.0, "C18H34O2") * m("H2O")),
    near("D10", "146 g of adipic acid, mol", 0.999, Abs(0.001), ADIPATE, Sc, || n(146.0, "C6H10O4")),
    near("D10", "195 g of ester, %", 96.5, Abs(0.1), ADIPATE, Sc, || percent(195.0, &[("C6H10O4", n(146.0, "C6H10O4"), 1.0), ("C2H5OH", n(285.0, "C2H5OH"), 2.0)], "C10H18O4", 1.0)),
    near("D13", "30 g of benzoic acid, mol", 0.2457, Abs(0.0001), BENZOATE, Sc, || n(30.0, "C7H6O2")),
    near("D13", "31 g of ester, %", 92.7, Abs(0.1), BENZOATE, Sc, || percent(31.0, &[("C7H6O2", n(30.0, "C7H6O2"), 1.0), ("CH3OH", n(80.0, "CH3OH"), 1.0)], "C8H8O2", 1.0)),
    // The sheet rounds the amount to 0.041 mol first and prints 6.16 g.
    near("D15", "ester of 5 g of benzoic acid, g", 6.149, Abs(0.001), ETHYL_BENZOATE, Sc, || theory(&[("C7H6O2", n(5.0, "C7H6O2"), 1.0)], "C9H10O2", 1.0)).not(6.16),
    near("D15", "20 mL of ethanol of 0.789 g/mL, mol", 0.3425, Abs(0.0001), ETHYL_BENZOATE, Sc, || n(weighs(20.0, 0.789), "C2H5OH")),
    // The source prints 0.2 mol: 30.4 g is 0.2 mol of the product.
    near("D16", "30.4 g of salicylic acid, mol", 0.220, Abs(0.001), SALICYLATE, Sc, || n(30.4, "C7H6O3")).not(0.2),
    near("D16", "ester at full conversion, g", 33.5, Abs(0.1), SALICYLATE, Sc, || theory(&[("C7H6O3", n(30.4, "C7H6O3"), 1.0), ("CH3OH", n(weighs(70.0, 0.792), "CH3OH"), 1.0)], "C8H8O3", 1.0)),
    near("D17", "ester of 1 g of salicylic acid, g", 1.102, Abs(0.001), "laboratory handout (studylib 8827289): methyl salicylate", Sc, || theory(&[("C7H6O3", n(1.0, "C7H6O3"), 1.0)], "C8H8O3", 1.0)),
    near("D18", "23 mL of acetic acid of 1.049 g/mL, mmol", 402.0, Abs(1.0), ISOPENTYL, Sc, || 1000.0 * n(weighs(23.0, 1.049), "C2H4O2")),
    near("D18", "ester of 8.8 g of alcohol, g", 13.00, Abs(0.01), ISOPENTYL, Sc, || theory(&[("C5H12O", n(8.8, "C5H12O"), 1.0), ("C2H4O2", n(weighs(23.0, 1.049), "C2H4O2"), 1.0)], "C7H14O2", 1.0)),
    near("D18", "3 g of Na2CO3, mmol", 28.3, Abs(0.1), ISOPENTYL, Sc, || 1000.0 * n(3.0, "Na2CO3")),
    // The report rounds the amount to 0.110 mol first and prints 14.321 g and 60.68 %.
    near("D20", "ester at full conversion, g", 14.362, Abs(0.001), GHENT, Sc, || theory(&ghent(), "C7H14O2", 1.0)).not(14.321),
    near("D20", "8.69 g, %", 60.51, Abs(0.01), GHENT, Sc, || percent(8.69, &ghent(), "C7H14O2", 1.0)).not(60.68),
    near("D21", "ester of 5.0 g of alcohol, g", 7.38, Abs(0.01), "report on Wissinger's manual (studymode): isopentyl acetate", Sc, || theory(&[("C5H12O", n(5.0, "C5H12O"), 1.0), ("C2H4O2", n(8.9, "C2H4O2"), 1.0)], "C7H14O2", 1.0)),
    near("D22", "0.749 g of butan-1-ol, mmol", 10.10, Abs(0.01), BUTYL, Sc, || 1000.0 * n(0.749, "C4H10O")),
    near("D22", "0.816 g of ester, %", 70.3, Abs(0.1), BUTYL, Sc, || percent(0.816, &[("C2H4O2", n(0.60, "C2H4O2"), 1.0), ("C4H10O", n(0.749, "C4H10O"), 1.0)], "C6H12O2", 1.0)),
    near("D23", "40 mL of cyclohexanol of 0.948 g/mL, mol", 0.379, Abs(0.001), CYCLOHEXENE, Sc, || n(weighs(40.0, 0.948), "C6H12O")),
    near("D23", "alkene at full conversion, g", 31.1, Abs(0.1), CYCLOHEXENE, Sc, || theory(&[("C6H12O", n(weighs(40.0, 0.948), "C6H12O"), 1.0)], "C6H10", 1.0)),
    near("D23", "water at full conversion, g", 6.82, Abs(0.01), CYCLOHEXENE, Sc, || theory(&[("C6H12O", n(weighs(40.0, 0.948), "C6H12O"), 1.0)], "H2O", 1.0)),
    near("D24", "alkene of 20 g of cyclohexanol, g", 16.4, Abs(0.1), "SQA Advanced Higher PPA (studylib): cyclohexene", Sc, || theory(&[("C6H12O", n(20.0, "C6H12O"), 1.0)], "C6H10", 1.0)),
    near("D25", "27 g of NaBr, mol", 0.2624, Abs(0.0001), BROMOBUTANE, Sc, || n(27.0, "NaBr")),
    reads("D25", "what runs out", "C4H10O", BROMOBUTANE, Sc, || runs_out(&[("NaBr", n(27.0, "NaBr"), 1.0), ("C4H10O", n(weighs(20.0, 0.81), "C4H10O"), 1.0)])),
    near("D26", "bromide of 30 g of NaBr and 18.5 g of butan-1-ol, g", 34.2, Abs(0.1), "chemistry-online.com: 1-bromobutane", Sc, || theory(&[("NaBr", n(30.0, "NaBr"), 1.0), ("C4H10O", n(18.5, "C4H10O"), 1.0)], "C4H9Br", 1.0)),
    near("D27", "371 g of butan-1-ol, mol", 5.005, Abs(0.001), ACRYLATE, Sc, || n(371.0, "C4H10O")),
    near("D27", "500 g, %", 77.9, Abs(0.1), ACRYLATE, Sc, || percent(500.0, &[("C4H10O", n(371.0, "C4H10O"), 1.0), ("C4H6O2", n(861.0, "C4H6O2"), 1.0)], "C7H12O2", 1.0)),
    near("D27", "600 g, %", 93.5, Abs(0.1), ACRYLATE, Sc, || percent(600.0, &[("C4H10O", n(371.0, "C4H10O"), 1.0), ("C4H6O2", n(861.0, "C4H6O2"), 1.0)], "C7H12O2", 1.0)),
    reads("D29", "what runs out", "C7H6O", DIBENZAL, Sc, || runs_out(&[("C7H6O", n(5.03, "C7H6O"), 2.0), ("C3H6O", n(1.45, "C3H6O"), 1.0)])),
    near("D29", "ketone at full conversion, g", 5.55, Abs(0.01), DIBENZAL, Sc, || theory(&[("C7H6O", n(5.03, "C7H6O"), 2.0), ("C3H6O", n(1.45, "C3H6O"), 1.0)], "C17H14O", 1.0)),
    near("D32", "aspirin of 0.23 g of salicylic acid, g", 0.300, Abs(0.001), "RSC Education 556: aspirin", Sc, || theory(&[("C7H6O3", n(0.23, "C7H6O3"), 1.0)], "C9H8O4", 1.0)),
];
