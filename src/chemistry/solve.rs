//! Roots of functions of one variable, each search bounded.

use std::fmt;

/// More intervals than this in one scan is a mistake of the caller's.
const MOST_STEPS: usize = 1_000_000;

/// Iterations granted to the refinement of a root that a scan has found.
const REFINE: usize = 200;

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum SolveError {
    /// The function does not change sign between `low` and `high`.
    NoBracket {
        /// Lower end of the range searched.
        low: f64,
        /// Upper end of the range searched.
        high: f64,
        /// Least value of the function seen.
        min: f64,
        /// Greatest value of the function seen.
        max: f64,
    },
    /// The search did not settle in the iterations it was granted.
    NoConvergence {
        /// Iterations spent.
        iterations: usize,
        /// Where the search stood.
        last: f64,
    },
    /// The question makes no sense.
    BadInput {
        /// One plain sentence.
        what: String,
    },
}

impl SolveError {
    /// A [`SolveError::BadInput`] with this sentence.
    pub(super) fn bad(what: impl Into<String>) -> SolveError {
        SolveError::BadInput { what: what.into() }
    }
}

impl fmt::Display for SolveError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SolveError::NoBracket { low, high, min, max } => {
                write!(out, "There is no solution between {low} and {high}: the difference stays between {min} and {max}.")
            }
            SolveError::NoConvergence { iterations, last } => {
                write!(out, "The search did not settle in {iterations} iterations; it stood at {last}.")
            }
            SolveError::BadInput { what } => out.write_str(what),
        }
    }
}

impl std::error::Error for SolveError {}

/// A root of `f` between `a` and `b`, where `f` must differ in sign, to within `tol`.
///
/// `tol` is absolute, in the unit of x; rounding adds a few ulp. R. P. Brent,
/// *Algorithms for Minimization without Derivatives*, 1973, ch. 4: inverse
/// quadratic and secant steps, bisection where they do not help.
///
/// # Errors
///
/// `NoBracket` if `f` has one sign at both ends, `NoConvergence` after
/// `max_iter` iterations, `BadInput` for ends that are not finite, a tolerance
/// that is not a number at least zero, or an `f` that is not a number somewhere.
pub fn brent(mut f: impl FnMut(f64) -> f64, a: f64, b: f64, tol: f64, max_iter: usize) -> Result<f64, SolveError> {
    if !a.is_finite() || !b.is_finite() || tol.is_nan() || tol < 0.0 {
        return Err(SolveError::bad("A root is sought between ends or to a tolerance that are not numbers."));
    }
    let mut value = |x: f64| -> Result<f64, SolveError> {
        let y = f(x);
        if y.is_nan() {
            return Err(SolveError::bad(format!("The function has no value at {x}.")));
        }
        Ok(y)
    };
    let (mut a, mut b) = (a, b);
    let (mut fa, mut fb) = (value(a)?, value(b)?);
    if fa == 0.0 {
        return Ok(a);
    }
    if fb == 0.0 {
        return Ok(b);
    }
    if (fa > 0.0) == (fb > 0.0) {
        return Err(SolveError::NoBracket { low: a.min(b), high: a.max(b), min: fa.min(fb), max: fa.max(fb) });
    }
    let (mut c, mut fc) = (a, fa);
    let mut step = b - a;
    let mut step_before = step;
    for _ in 0..max_iter {
        if (fb > 0.0) == (fc > 0.0) {
            (c, fc) = (a, fa);
            step = b - a;
            step_before = step;
        }
        if fc.abs() < fb.abs() {
            (a, fa) = (b, fb);
            (b, fb) = (c, fc);
            (c, fc) = (a, fa);
        }
        let small = 2.0 * f64::EPSILON * b.abs() + 0.5 * tol;
        let half = 0.5 * (c - b);
        if half.abs() <= small || fb == 0.0 {
            return Ok(b);
        }
        let interpolate = step_before.abs() >= small && fa.abs() > fb.abs() && fa.is_finite() && fc.is_finite();
        let mut accepted = None;
        if interpolate {
            let s = fb / fa;
            let (mut p, mut q) = if a == c {
                (2.0 * half * s, 1.0 - s)
            } else {
                let (q, r) = (fa / fc, fb / fc);
                (s * (2.0 * half * q * (q - r) - (b - a) * (r - 1.0)), (q - 1.0) * (r - 1.0) * (s - 1.0))
            };
            if p > 0.0 {
                q = -q;
            }
            p = p.abs();
            let near_enough = (3.0 * half * q - (small * q).abs()).min((step_before * q).abs());
            if 2.0 * p < near_enough {
                accepted = Some(p / q);
            }
        }
        match accepted {
            Some(length) => {
                step_before = step;
                step = length;
            }
            None => {
                step = half;
                step_before = half;
            }
        }
        (a, fa) = (b, fb);
        b += if step.abs() > small { step } else { small.copysign(half) };
        fb = value(b)?;
    }
    Err(SolveError::NoConvergence { iterations: max_iter, last: b })
}

/// Smallest x in `[lo, hi]` with `f(x) = 0`, found by scanning `steps` intervals equally spaced in ln x.
///
/// The first interval in which `f` changes sign is refined by [`brent`] to
/// `tol`, which is absolute in the unit of x. Two roots inside one interval
/// hide each other. Points at which `f` has no value are stepped over; a jump
/// through zero counts as a root.
///
/// # Errors
///
/// `NoBracket` with the least and the greatest `f` seen if it keeps its sign,
/// `BadInput` unless `0 < lo < hi` and `1 <= steps <= 1 000 000`, or if `f` has
/// no value anywhere.
pub fn smallest_root(mut f: impl FnMut(f64) -> f64, lo: f64, hi: f64, steps: usize, tol: f64) -> Result<f64, SolveError> {
    if !(lo.is_finite() && hi.is_finite() && lo > 0.0 && hi > lo) {
        return Err(SolveError::bad("A scan in the logarithm needs two ends above zero, the lower one first."));
    }
    if steps == 0 || steps > MOST_STEPS {
        return Err(SolveError::bad("A scan takes between one and a million steps."));
    }
    let ratio = (hi / lo).ln();
    let mut before: Option<(f64, f64)> = None;
    let (mut min, mut max) = (f64::INFINITY, f64::NEG_INFINITY);
    for at in 0..=steps {
        let x = if at == steps { hi } else { lo * (ratio * at as f64 / steps as f64).exp() };
        let y = f(x);
        if y.is_nan() {
            before = None;
            continue;
        }
        if y == 0.0 {
            return Ok(x);
        }
        if let Some((x_before, y_before)) = before
            && (y_before > 0.0) != (y > 0.0)
        {
            return brent(&mut f, x_before, x, tol, REFINE);
        }
        min = min.min(y);
        max = max.max(y);
        before = Some((x, y));
    }
    if min > max {
        return Err(SolveError::bad("The function has no value anywhere in the range."));
    }
    Err(SolveError::NoBracket { low: lo, high: hi, min, max })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::close;
    use super::*;

    #[test]
    fn roots_that_are_known() {
        // Wallis's example, x³ − 2x − 5 = 0, root 2.0945514815423265.
        let root = brent(|x| x.powi(3) - 2.0 * x - 5.0, 2.0, 3.0, 1e-14, 100).unwrap();
        close("Wallis's cubic", root, 2.0945514815423265, 1e-13);
        let root = brent(|x| x.cos() - x, 0.0, 1.0, 1e-14, 100).unwrap();
        close("cos x = x", root, 0.7390851332151607, 1e-13);
        let root = brent(|x| x.cos() - x, 1.0, 0.0, 1e-14, 100).unwrap();
        close("ends in either order", root, 0.7390851332151607, 1e-13);
        let root = brent(|x| if x < 0.3 { f64::NEG_INFINITY } else { x }, -1.0, 1.0, 1e-12, 200);
        close("a jump from minus infinity", root.unwrap(), 0.3, 1e-11);
    }

    #[test]
    fn no_root_no_answer() {
        let error = brent(|x| x * x + 1.0, -1.0, 2.0, 1e-9, 50).unwrap_err();
        assert_eq!(error, SolveError::NoBracket { low: -1.0, high: 2.0, min: 2.0, max: 5.0 });
        assert!(error.to_string().contains("no solution"));
        assert!(matches!(brent(|x| x.powi(9), -1.0, 1.5, 0.0, 3), Err(SolveError::NoConvergence { iterations: 3, .. })));
        for (a, b, tol) in [(f64::NAN, 1.0, 0.1), (0.0, f64::INFINITY, 0.1), (0.0, 1.0, -1.0)] {
            assert!(matches!(brent(|x| x - 0.5, a, b, tol, 50), Err(SolveError::BadInput { .. })));
        }
        assert!(matches!(
            brent(
                |x| if x == 0.0 {
                    -1.0
                } else if x == 1.0 {
                    1.0
                } else {
                    f64::NAN
                },
                0.0,
                1.0,
                0.0,
                9
            ),
            Err(SolveError::BadInput { .. })
        ));
    }

    #[test]
    fn the_smallest_of_several_roots() {
        let f = |x: f64| (x - 1e-3) * (x - 1.0) * (x - 50.0);
        close("smallest", smallest_root(f, 1e-6, 1e3, 200, 1e-15).unwrap(), 1e-3, 1e-12);
        close("above it", smallest_root(f, 1e-2, 1e3, 200, 1e-15).unwrap(), 1.0, 1e-12);
        assert_eq!(smallest_root(|x| x - 2.0, 2.0, 3.0, 10, 1e-9), Ok(2.0));
        assert_eq!(smallest_root(|x| x, 1.0, 4.0, 2, 1e-9), Err(SolveError::NoBracket { low: 1.0, high: 4.0, min: 1.0, max: 4.0 }));
        for (lo, hi, steps) in [(0.0, 1.0, 5), (2.0, 1.0, 5), (1.0, 2.0, 0), (1.0, 2.0, usize::MAX)] {
            assert!(matches!(smallest_root(|x| x, lo, hi, steps, 1e-9), Err(SolveError::BadInput { .. })));
        }
        assert!(smallest_root(|_| f64::NAN, 1.0, 2.0, 5, 1e-9).is_err());
    }
}
