//! How fast a drying agent takes up water from the liquid it stands in.

/// Share of the water that is taken up in `time` s where `share` of it was in `known` s and no more than `most` of it ever
/// is, each part of the rest up to that as fast as the part before. Nothing where no time was known.
#[must_use]
pub fn taken_up(share: f64, known: f64, most: f64, time: f64) -> f64 {
    if known <= 0.0 || time <= 0.0 || most <= 0.0 {
        return 0.0;
    }
    most * (1.0 - (1.0 - (share / most).clamp(0.0, 1.0)).powf(time / known))
}

/// Time in s in which `wanted` of what can be taken up is, where `share` of that was in `known` s; infinite where never.
#[must_use]
pub fn time_to(wanted: f64, share: f64, known: f64) -> f64 {
    let (left, was_left) = (1.0 - wanted.clamp(0.0, 1.0), 1.0 - share.clamp(0.0, 1.0));
    if was_left <= 0.0 {
        return known;
    }
    // Nothing was taken up in the time known, and nothing ever is.
    if was_left >= 1.0 {
        return f64::INFINITY;
    }
    known * left.ln() / was_left.ln()
}

#[cfg(test)]
mod tests {
    use super::super::close;
    use super::*;

    #[test]
    fn what_is_left_halves_again_and_again() {
        close("as found", taken_up(0.5, 900.0, 1.0, 900.0), 0.5, 1e-12);
        close("twice as long", taken_up(0.5, 900.0, 1.0, 1800.0), 0.75, 1e-12);
        // Of a quarter at most: a fifth as found, of what is left a fifth is left again.
        close("as found, of a quarter", taken_up(0.2, 900.0, 0.25, 900.0), 0.2, 1e-12);
        close("twice as long, of a quarter", taken_up(0.2, 900.0, 0.25, 1800.0), 0.24, 1e-12);
        close("to three quarters", time_to(0.75, 0.5, 900.0), 1800.0, 1e-9);
        assert_eq!((taken_up(0.5, 0.0, 1.0, 60.0), taken_up(0.5, 900.0, 1.0, 0.0)), (0.0, 0.0));
        assert_eq!((time_to(0.9, 0.0, 900.0), time_to(0.9, 1.0, 900.0)), (f64::INFINITY, 900.0));
    }
}
