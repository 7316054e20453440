//! The physical dimension of a quantity.

use std::fmt;

/// Exponents of the five SI base units a bench needs: kg, m, s, K, mol.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Dimension {
    /// Exponent of the kilogram.
    pub mass: i8,
    /// Exponent of the metre.
    pub length: i8,
    /// Exponent of the second.
    pub time: i8,
    /// Exponent of the kelvin.
    pub temperature: i8,
    /// Exponent of the mole.
    pub amount: i8,
}

impl Dimension {
    /// The dimension of a plain number.
    pub const NONE: Self = Self::new(0, 0, 0, 0, 0);

    /// Builds a dimension from the exponents of kg, m, s, K and mol.
    pub const fn new(mass: i8, length: i8, time: i8, temperature: i8, amount: i8) -> Self {
        Self { mass, length, time, temperature, amount }
    }

    /// The dimension of a product.
    ///
    /// Exponents saturate: no bench quantity comes near the limit, and a
    /// saturated exponent matches no kind, so a nonsense input stays an error.
    pub fn times(self, other: Self) -> Self {
        self.zip(other, i8::saturating_add)
    }

    /// The dimension of a quotient.
    pub fn over(self, other: Self) -> Self {
        self.zip(other, i8::saturating_sub)
    }

    /// The dimension of a power.
    pub fn pow(self, exponent: i8) -> Self {
        self.zip(Self::new(exponent, exponent, exponent, exponent, exponent), i8::saturating_mul)
    }

    fn zip(self, other: Self, combine: fn(i8, i8) -> i8) -> Self {
        Self::new(
            combine(self.mass, other.mass),
            combine(self.length, other.length),
            combine(self.time, other.time),
            combine(self.temperature, other.temperature),
            combine(self.amount, other.amount),
        )
    }
}

impl fmt::Display for Dimension {
    /// Writes base units with superscript exponents, as in `kg·m⁻³`; a plain
    /// number is `1`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let factors = [("kg", self.mass), ("m", self.length), ("s", self.time), ("K", self.temperature), ("mol", self.amount)];
        let mut separator = "";
        for (symbol, exponent) in factors.into_iter().filter(|(_, exponent)| *exponent != 0) {
            f.write_str(separator)?;
            f.write_str(symbol)?;
            if exponent != 1 {
                f.write_str(&superscript(exponent))?;
            }
            separator = "·";
        }
        if separator.is_empty() {
            f.write_str("1")?;
        }
        Ok(())
    }
}

fn superscript(exponent: i8) -> String {
    exponent
        .to_string()
        .chars()
        .map(|c| match c {
            '-' => '⁻',
            '0' => '⁰',
            '1' => '¹',
            '2' => '²',
            '3' => '³',
            '4' => '⁴',
            '5' => '⁵',
            '6' => '⁶',
            '7' => '⁷',
            '8' => '⁸',
            '9' => '⁹',
            other => other,
        })
        .collect()
}
