//! A double seen as the decimal number a person would write for it.

/// The shortest decimal that names a given double: `0.d₁d₂d₃… × 10^point`.
///
/// Rounding works on this form and not on the binary value. 0.051065 is stored
/// as a double slightly off the tie; a chemist who wrote `0.051065` wrote a
/// tie, and expects it to be rounded as one.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Decimal {
    negative: bool,
    digits: Vec<u8>,
    point: i64,
}

impl Decimal {
    /// The shortest decimal that reads back as `x`; `None` if `x` is not finite.
    pub(super) fn shortest(x: f64) -> Option<Self> {
        if !x.is_finite() {
            return None;
        }
        Self::read(&format!("{:e}", x.abs()), x < 0.0)
    }

    /// The decimal of the first `figures` figures of `x`, at most fifteen: so many a double tells apart, so
    /// that it is what [`Decimal::shortest`] gives of the double so rounded.
    pub(super) fn of_figures(x: f64, figures: usize) -> Option<Self> {
        if !x.is_normal() {
            return Self::shortest(x);
        }
        let mut decimal = Self::read(&format!("{:.*e}", figures.clamp(1, 15) - 1, x.abs()), x < 0.0)?;
        let zeros = decimal.digits.iter().rev().take_while(|digit| **digit == 0).count();
        decimal.digits.truncate(decimal.digits.len() - zeros);
        Some(decimal)
    }

    /// Reads `2.4e-5`.
    fn read(text: &str, negative: bool) -> Option<Self> {
        let (mantissa, exponent) = text.split_once('e')?;
        let exponent: i64 = exponent.parse().ok()?;
        let digits = mantissa.bytes().filter(u8::is_ascii_digit).map(|byte| byte - b'0').collect();
        Some(Self { negative, digits, point: exponent + 1 })
    }

    /// How many digits stand before the decimal point; 1 for 0.5 and for 0.
    pub(super) fn whole_digits(&self) -> i64 {
        self.point.max(1)
    }

    /// The place of the leading digit: 2 for 24.0, 0 for 0.24, 1 for 0 itself.
    pub(super) fn leading_position(&self) -> i64 {
        self.point
    }

    /// Rounds to `figures` significant digits, a tie going to the even digit.
    ///
    /// Fewer than one figure leaves nothing, or a single 1 if rounding carries.
    pub(super) fn to_figures(&self, figures: i64) -> Self {
        let keep = usize::try_from(figures.max(0)).unwrap_or(usize::MAX);
        if figures < 0 {
            return self.with(Vec::new(), self.point);
        }
        let mut digits: Vec<u8> = self.digits.iter().copied().take(keep).collect();
        let mut dropped = self.digits.iter().skip(keep);
        let first_dropped = dropped.next().copied().unwrap_or(0);
        let more_follows = dropped.any(|digit| *digit != 0);
        let last_kept_is_odd = digits.last().is_some_and(|digit| digit % 2 == 1);
        let up = match first_dropped {
            0..=4 => false,
            5 => more_follows || last_kept_is_odd,
            _ => true,
        };
        let mut point = self.point;
        if up && carry(&mut digits) {
            digits.insert(0, 1);
            point += 1;
        }
        self.with(digits, point)
    }

    /// Rounds to `places` digits after the decimal point.
    pub(super) fn to_places(&self, places: i64) -> Self {
        self.to_figures(self.point.saturating_add(places))
    }

    /// Plain notation with exactly `places` digits after the point.
    ///
    /// Digits beyond `places` are not rounded but dropped, so round first.
    pub(super) fn plain(&self, places: usize) -> String {
        let digit_at = |position: i64| -> char {
            // Position 0 is the first digit after the decimal point.
            usize::try_from(position + self.point)
                .ok()
                .and_then(|index| self.digits.get(index))
                .map_or('0', |digit| char::from(b'0' + digit))
        };
        let mut text = String::new();
        if self.negative && self.digits.iter().any(|digit| *digit != 0) {
            text.push('-');
        }
        text.extend((-self.whole_digits()..0).map(digit_at));
        if places > 0 {
            text.push('.');
            text.extend((0..).take(places).map(digit_at));
        }
        text
    }

    fn with(&self, digits: Vec<u8>, point: i64) -> Self {
        Self { negative: self.negative, digits, point }
    }
}

/// Adds one to the last digit; `true` if the carry ran off the front.
fn carry(digits: &mut [u8]) -> bool {
    for digit in digits.iter_mut().rev() {
        if *digit < 9 {
            *digit += 1;
            return false;
        }
        *digit = 0;
    }
    true
}
