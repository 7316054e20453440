//! Rounding as it is taught at the bench: on decimals, ties to even.

use super::decimal::Decimal;

/// The most digits ever printed after rounding.
///
/// A double carries seventeen; the bound keeps an absurd request from filling
/// memory with zeros.
pub(super) const MOST_DIGITS: usize = 40;

/// The figures of a double that mean something once arithmetic has been done.
pub(super) const TRUSTED_FIGURES: usize = 14;

/// Rounds to a number of significant figures, in plain decimal notation.
///
/// A tie goes to the even digit (`0.051065` to four is `0.05106`), trailing
/// zeros that are significant are kept (`24.0`), and there is never a `-0`.
/// Asking for no figures is taken as asking for one. What cannot be rounded
/// reads `not a number` or `infinite`.
pub fn significant(x: f64, figures: usize) -> String {
    Decimal::shortest(x).map_or_else(|| unprintable(x), |decimal| to_figures(&decimal, figures))
}

/// [`significant`] of a [`trusted`] value.
pub(super) fn significant_trusted(x: f64, figures: usize) -> String {
    Decimal::of_figures(x, TRUSTED_FIGURES).map_or_else(|| unprintable(x), |decimal| to_figures(&decimal, figures))
}

fn to_figures(decimal: &Decimal, figures: usize) -> String {
    let figures = figures.clamp(1, MOST_DIGITS);
    let wanted = i64::try_from(figures).unwrap_or(1);
    let rounded = decimal.to_figures(wanted);
    // The places are counted after rounding, for 9.996 becomes 10.0 and not 10.00.
    let places = usize::try_from(wanted - rounded.leading_position()).unwrap_or(0);
    rounded.plain(places)
}

/// Rounds to a number of digits after the decimal point.
///
/// Ties, zeros and what cannot be rounded are treated as by [`significant`].
pub fn decimals(x: f64, places: usize) -> String {
    let places = places.min(MOST_DIGITS);
    match Decimal::shortest(x) {
        Some(decimal) => decimal.to_places(i64::try_from(places).unwrap_or(0)).plain(places),
        None => unprintable(x),
    }
}

/// The multiple of `step` nearest to `x`, a tie going to the even multiple.
///
/// The result is freed of binary noise: three steps of 0.1 are 0.3. A step that
/// is not a positive number leaves `x` as it is.
pub fn to_step(x: f64, step: f64) -> f64 {
    let usable = x.is_finite() && step.is_finite() && step > 0.0;
    let steps = x / step;
    if !usable || !steps.is_finite() {
        return x;
    }
    let multiple = trusted(steps).round_ties_even() * step;
    // Adding zero turns a negative zero into a plain one.
    trusted(multiple) + 0.0
}

/// The value with the noise of earlier arithmetic rounded away.
pub(super) fn trusted(x: f64) -> f64 {
    if !x.is_finite() {
        return x;
    }
    format!("{x:.*e}", TRUSTED_FIGURES - 1).parse().unwrap_or(x)
}

/// What is printed for a value that is no finite number.
pub(super) fn unprintable(x: f64) -> String {
    let text = if x.is_nan() {
        "not a number"
    } else if x < 0.0 {
        "minus infinite"
    } else {
        "infinite"
    };
    text.to_owned()
}
