//! Declared fits for a pair of components.

/// Equation and parameters for two components, the first and the second.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fit {
    /// Margules with two constants: `g/RT = x1 x2 (a21 x1 + a12 x2)`; ln γ at infinite dilution are a12 and a21.
    Margules {
        /// ln γ of the first in much of the second.
        a12: f64,
        /// ln γ of the second in much of the first.
        a21: f64,
    },
    /// NRTL (Renon and Prausnitz 1968): `τ = a + b/T`, `G = exp(−α τ)`.
    Nrtl {
        /// The part of τ12 without temperature.
        a12: f64,
        /// The part of τ21 without temperature.
        a21: f64,
        /// K.
        b12: f64,
        /// K.
        b21: f64,
        /// The non-randomness α.
        alpha: f64,
    },
}

impl Fit {
    /// The same fit with first and second exchanged.
    #[must_use]
    pub fn turned(self) -> Fit {
        match self {
            Fit::Margules { a12, a21 } => Fit::Margules { a12: a21, a21: a12 },
            Fit::Nrtl { a12, a21, b12, b21, alpha } => Fit::Nrtl { a12: a21, a21: a12, b12: b21, b21: b12, alpha },
        }
    }

    /// ln γ of first and second at `t` in K, where the first has the mole fraction `x`.
    pub fn ln_gamma(self, t: f64, x: f64) -> (f64, f64) {
        let (first, second) = (x, 1.0 - x);
        match self {
            Fit::Margules { a12, a21 } => {
                (second * second * (a12 + 2.0 * (a21 - a12) * first), first * first * (a21 + 2.0 * (a12 - a21) * second))
            }
            Fit::Nrtl { a12, a21, b12, b21, alpha } => {
                let (t12, t21) = (a12 + b12 / t, a21 + b21 / t);
                let (g12, g21) = ((-alpha * t12).exp(), (-alpha * t21).exp());
                let (low, high) = (first + second * g21, second + first * g12);
                (
                    second * second * (t21 * (g21 / low).powi(2) + t12 * g12 / (high * high)),
                    first * first * (t12 * (g12 / high).powi(2) + t21 * g21 / (low * low)),
                )
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::close;
    use super::*;

    #[test]
    fn ends_and_turning() {
        let nrtl = Fit::Nrtl { a12: 0.3, a21: -0.1, b12: 500.0, b21: 120.0, alpha: 0.3 };
        let (t12, t21): (f64, f64) = (0.3 + 500.0 / 350.0, -0.1 + 120.0 / 350.0);
        close("first, dilute", nrtl.ln_gamma(350.0, 0.0).0, t21 + t12 * (-0.3 * t12).exp(), 1e-12);
        close("second, dilute", nrtl.ln_gamma(350.0, 1.0).1, t12 + t21 * (-0.3 * t21).exp(), 1e-12);
        let margules = Fit::Margules { a12: 1.2, a21: 0.7 };
        assert_eq!((margules.ln_gamma(300.0, 0.0).0, margules.ln_gamma(300.0, 1.0).1), (1.2, 0.7));
        for fit in [nrtl, margules] {
            let (first, second) = fit.ln_gamma(320.0, 0.25);
            let (turned_second, turned_first) = fit.turned().ln_gamma(320.0, 0.75);
            close("turned", turned_first, first, 1e-12);
            close("turned", turned_second, second, 1e-12);
        }
    }
}
