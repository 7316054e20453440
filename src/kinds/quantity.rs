//! A value with its kind, and arithmetic that refuses nonsense.

use std::fmt;

use super::algebra::{difference, product, quotient, sum};
use super::kind::Kind;
use super::round::significant;

/// A value in SI, together with what it measures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// The value in the SI unit of its kind.
    pub si: f64,
    /// What the value measures.
    pub kind: Kind,
}

/// How far below 0 K a value may fall by floating-point rounding alone, in K.
///
/// −459.67 °F is absolute zero by definition, yet its conversion misses zero by
/// about 1e-14 K; that is not the reader's mistake.
const ABSOLUTE_ZERO_SLACK: f64 = 1e-9;

impl Quantity {
    /// A quantity, unless the value is not finite or is a temperature below
    /// absolute zero.
    ///
    /// # Errors
    ///
    /// [`KindError::NotFinite`] and [`KindError::BelowAbsoluteZero`].
    pub fn checked(si: f64, kind: Kind) -> Result<Self, KindError> {
        if !si.is_finite() {
            return Err(KindError::NotFinite);
        }
        if kind == Kind::Temperature && si < 0.0 {
            return if si < -ABSOLUTE_ZERO_SLACK { Err(KindError::BelowAbsoluteZero { kelvin: si }) } else { Ok(Self { si: 0.0, kind }) };
        }
        Ok(Self { si, kind })
    }

    /// The sum of two quantities.
    ///
    /// # Errors
    ///
    /// [`KindError::CannotAdd`] where the kinds do not add, or as for
    /// [`Quantity::checked`].
    pub fn checked_add(self, other: Self) -> Result<Self, KindError> {
        let kind = sum(self.kind, other.kind).ok_or(KindError::CannotAdd { left: self.kind, right: other.kind })?;
        Self::checked(self.si + other.si, kind)
    }

    /// The difference of two quantities.
    ///
    /// # Errors
    ///
    /// [`KindError::CannotSubtract`] where the kinds do not subtract, or as for
    /// [`Quantity::checked`].
    pub fn checked_sub(self, other: Self) -> Result<Self, KindError> {
        let kind = difference(self.kind, other.kind).ok_or(KindError::CannotSubtract { left: self.kind, right: other.kind })?;
        Self::checked(self.si - other.si, kind)
    }

    /// The product of two quantities.
    ///
    /// # Errors
    ///
    /// [`KindError::CannotMultiply`] where the product means nothing, or as for
    /// [`Quantity::checked`].
    pub fn checked_mul(self, other: Self) -> Result<Self, KindError> {
        let kind = product(self.kind, other.kind).ok_or(KindError::CannotMultiply { left: self.kind, right: other.kind })?;
        Self::checked(self.si * other.si, kind)
    }

    /// The quotient of two quantities.
    ///
    /// # Errors
    ///
    /// [`KindError::CannotDivide`] where the quotient means nothing,
    /// [`KindError::DivisionByZero`], or as for [`Quantity::checked`].
    pub fn checked_div(self, other: Self) -> Result<Self, KindError> {
        let kind = quotient(self.kind, other.kind).ok_or(KindError::CannotDivide { left: self.kind, right: other.kind })?;
        if other.si == 0.0 {
            return Err(KindError::DivisionByZero { right: other.kind });
        }
        Self::checked(self.si / other.si, kind)
    }
}

/// Why a calculation with quantities is refused.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum KindError {
    /// The two kinds do not add.
    CannotAdd {
        /// The kind on the left of the sign.
        left: Kind,
        /// The kind on the right of the sign.
        right: Kind,
    },
    /// The second kind cannot be taken from the first.
    CannotSubtract {
        /// The kind on the left of the sign.
        left: Kind,
        /// The kind on the right of the sign.
        right: Kind,
    },
    /// The product of the two kinds means nothing.
    CannotMultiply {
        /// The kind on the left of the sign.
        left: Kind,
        /// The kind on the right of the sign.
        right: Kind,
    },
    /// The quotient of the two kinds means nothing.
    CannotDivide {
        /// The kind on the left of the sign.
        left: Kind,
        /// The kind on the right of the sign.
        right: Kind,
    },
    /// The divisor is zero.
    DivisionByZero {
        /// The kind of the divisor.
        right: Kind,
    },
    /// The temperature cannot exist.
    BelowAbsoluteZero {
        /// The temperature asked for, in K; negative.
        kelvin: f64,
    },
    /// The value is infinite or not a number.
    NotFinite,
}

impl fmt::Display for KindError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::CannotAdd { left: Kind::Temperature, right: Kind::Temperature } => f.write_str(
                "two temperatures cannot be added; \
                 a temperature difference can be added to a temperature",
            ),
            Self::CannotAdd { left, right } => write!(f, "{} and {} cannot be added", left.article_name(), right.article_name()),
            Self::CannotSubtract { left, right } => write!(f, "{} cannot be subtracted from {}", right.article_name(), left.article_name()),
            Self::CannotMultiply { left, right } => write!(f, "{} cannot be multiplied by {}", left.article_name(), right.article_name()),
            Self::CannotDivide { left, right } => write!(f, "{} cannot be divided by {}", left.article_name(), right.article_name()),
            Self::DivisionByZero { right } => {
                write!(f, "the divisor, {}, is zero", right.article_name())
            }
            Self::BelowAbsoluteZero { kelvin } => {
                write!(f, "{} K is below absolute zero, which is 0 K, -273.15 °C or -459.67 °F", significant(*kelvin, 4))
            }
            Self::NotFinite => f.write_str("the value is too large, or is not a number"),
        }
    }
}

impl std::error::Error for KindError {}
