//! Ideal gases.

/// The molar gas constant, J/(mol·K): exact in the SI since 2019, here to ten figures (CODATA 2018).
pub const R: f64 = 8.314462618;

/// Molar volume in m³/mol of an ideal gas at `t` in K and `p` in Pa.
///
/// Zero at or below absolute zero; infinite where there is no pressure.
pub fn molar_volume(t: f64, p: f64) -> f64 {
    if t <= 0.0 {
        return 0.0;
    }
    if p <= 0.0 {
        return f64::INFINITY;
    }
    R * t / p
}

/// Volume in m³ of `n` mol of an ideal gas at `t` in K and `p` in Pa; zero for no gas.
pub fn volume(n: f64, t: f64, p: f64) -> f64 {
    if n <= 0.0 {
        return 0.0;
    }
    n * molar_volume(t, p)
}

#[cfg(test)]
mod tests {
    use super::super::close;
    use super::*;

    const ATM: f64 = 101_325.0;
    const TORR: f64 = ATM / 760.0;
    const ZERO: f64 = 273.15;

    /// Molar volumes of CO2 as an ideal gas, and gas set free in washes, in L.
    #[test]
    fn gas_from_a_wash() {
        for (celsius, litres) in [(0.0, 22.41), (20.0, 24.06), (25.0, 24.47)] {
            close("1.000 mol", volume(1.0, celsius + ZERO, ATM) * 1000.0, litres, 0.02);
        }
        close("10.0 mmol with bicarbonate, mL", volume(0.010, 20.0 + ZERO, ATM) * 1e6, 241.0, 2.41);
        close("10.0 mmol with carbonate, mL", volume(0.005, 20.0 + ZERO, ATM) * 1e6, 120.0, 1.2);
        // The chehesj blog: 1 g of acetic acid and 1.4 g of sodium bicarbonate, equimolar.
        let (acid, bicarbonate): (f64, f64) = (1.0 / 60.052, 1.4 / 84.006);
        close("at 0 °C, mL", volume(acid.min(bicarbonate), ZERO, ATM) * 1e6, 373.0, 3.73);
    }

    /// OpenStax Chemistry 2e, gas laws and gas stoichiometry.
    #[test]
    fn openstax() {
        let hydrogen = 2.016 / (molar_volume(17.0 + ZERO, ATM) * 1000.0);
        close("density of H2, g/L", hydrogen, 0.0847, 0.0003);
        // The vapour pressure of water at 29 °C is 30.0 torr.
        close("dry O2, L", 0.560 * (764.0 - 30.0) / 764.0, 0.537, 0.002);
        let from_gallium = 1.5 * 8.88 / 69.723;
        close("H2 from Ga, mol", from_gallium, 0.191, 0.0005);
        let litres = volume(from_gallium, 27.0 + ZERO, 723.0 * TORR) * 1000.0;
        close("H2 from Ga, L", litres, 4.94, 0.02);
        let dioxide = volume(1000.0 / 32.06, 343.0 + ZERO, 1.21 * ATM) * 1000.0;
        close("SO2 from S, L", dioxide, 1.30e3, 10.0);
    }

    #[test]
    fn no_gas_no_volume() {
        assert_eq!(volume(0.0, 300.0, 0.0), 0.0);
        assert_eq!(molar_volume(-1.0, 1.0), 0.0);
        assert_eq!(molar_volume(300.0, 0.0), f64::INFINITY);
    }
}
