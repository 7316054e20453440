//! The committed corpus of the fuzz targets is replayed: every input that was ever worth keeping,
//! among them each that once brought the program down.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

use std::fs;
use std::path::Path;

#[path = "fuzz/targets.rs"]
mod targets;

fn replay(target: &str, holds: fn(&[u8])) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus").join(target);
    let mut files: Vec<_> = fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    assert!(files.len() >= 20, "only {} inputs for {target}", files.len());
    for file in files {
        holds(&fs::read(&file).unwrap());
    }
}

#[test]
fn parse() {
    replay("parse", targets::parse);
}

#[test]
fn check() {
    replay("check", targets::check);
}

#[test]
fn sheet() {
    replay("sheet", targets::sheet);
}

#[test]
fn tidy() {
    replay("tidy", targets::tidy);
}
