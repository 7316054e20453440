//! Tests of the kinds room.

mod algebra;
mod published;
mod quantities;
mod rounding;
mod showing;
mod units;

use super::{Unit, UnitError, unit};

/// The unit, or a failure that says why it was not read.
fn read(text: &str) -> Unit {
    unit(text).unwrap_or_else(|error| panic!("{error}"))
}

fn si(x: f64, text: &str) -> f64 {
    read(text).to_si(x)
}

fn convert(x: f64, from: &str, to: &str) -> f64 {
    let (from, to) = (read(from), read(to));
    assert_eq!(from.kind, to.kind, "{} and {}", from.text, to.text);
    to.from_si(from.to_si(x))
}

#[track_caller]
fn assert_close(got: f64, wanted: f64, relative: f64) {
    let error = (got - wanted).abs();
    assert!(error <= relative * wanted.abs(), "{got} is not {wanted}");
}

#[track_caller]
fn slip(text: &str) -> String {
    match unit(text) {
        Err(UnitError::Slip { written, write }) => {
            assert_eq!(written, text);
            write
        }
        other => panic!("{text}: {other:?}"),
    }
}

#[track_caller]
fn ambiguous(text: &str) -> Vec<String> {
    match unit(text) {
        Err(UnitError::Ambiguous { write, .. }) => write,
        other => panic!("{text}: {other:?}"),
    }
}

#[track_caller]
fn unknown(text: &str) -> Vec<String> {
    match unit(text) {
        Err(UnitError::Unknown { near, .. }) => near,
        other => panic!("{text}: {other:?}"),
    }
}

/// A small generator of doubles spread over many magnitudes, always the same.
fn samples(count: usize) -> impl Iterator<Item = f64> {
    let mut state: u64 = 0x2545_f491_4f6c_dd1d;
    std::iter::repeat_with(move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let fraction = (state >> 11) as f64 / (1_u64 << 53) as f64;
        let exponent = (state >> 3) % 13;
        (fraction + 0.1) * 10_f64.powi(exponent as i32 - 6)
    })
    .take(count)
}
