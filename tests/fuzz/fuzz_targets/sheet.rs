#![no_main]
//! See `targets.rs`.

#[path = "../targets.rs"]
#[allow(dead_code, reason = "each target is one of four")]
mod targets;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| targets::sheet(bytes));
