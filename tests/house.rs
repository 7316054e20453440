//! The house is tidy: no file has grown too long, the map names what is there, nothing is left open.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

use std::fs;
use std::path::{Path, PathBuf};

/// Lines to a file.
const MOST_LINES: usize = 800;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            walk(&path, found);
        } else {
            found.push(path);
        }
    }
}

/// The sources of the crate with their text.
fn sources() -> Vec<(String, String)> {
    let mut paths = Vec::new();
    walk(&root().join("src"), &mut paths);
    paths.sort();
    let rust = paths.iter().filter(|path| path.extension().is_some_and(|extension| extension == "rs"));
    rust.map(|path| (path.strip_prefix(root()).unwrap().display().to_string(), fs::read_to_string(path).unwrap())).collect()
}

#[test]
fn no_source_file_is_too_long() {
    let grown: Vec<String> = sources()
        .iter()
        .filter(|(_, text)| text.lines().count() > MOST_LINES)
        .map(|(name, text)| format!("{name}: {} lines", text.lines().count()))
        .collect();
    assert!(grown.is_empty(), "more than {MOST_LINES} lines: {grown:?}");
}

#[test]
fn nothing_is_left_open() {
    let words = ["todo!", "unimplemented!", "FIXME"];
    let mut found = Vec::new();
    for (name, text) in sources() {
        for (number, line) in text.lines().enumerate() {
            if words.iter().any(|word| line.contains(word)) {
                found.push(format!("{name}:{}: {}", number + 1, line.trim()));
            }
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// The texts between backquotes, blocks of code left out.
fn quoted(markdown: &str) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    let mut in_block = false;
    for (number, line) in markdown.lines().enumerate() {
        if line.trim_start().starts_with("```") {
            in_block = !in_block;
        } else if !in_block {
            found.extend(line.split('`').skip(1).step_by(2).map(|text| (number + 1, text.to_owned())));
        }
    }
    found
}

#[test]
fn the_map_names_what_is_there() {
    let Ok(map) = fs::read_to_string(root().join("DEVELOPERS.md")) else { return };
    let rooms = ["src/", "tests/", "stdlib/", "grammar/", "examples/"];
    let mut missing = Vec::new();
    for (line, path) in quoted(&map) {
        // What stands for a name (`tests/ui/<phase>/…`, `src/cli/*.rs`) ends the part that is looked for.
        if !rooms.iter().any(|room| path.starts_with(room)) || path.contains(char::is_whitespace) {
            continue;
        }
        let fixed: PathBuf = path.split('/').take_while(|part| !part.contains(['<', '*', '{', '…'])).collect();
        if !root().join(fixed).exists() {
            missing.push(format!("DEVELOPERS.md:{line}: `{path}`"));
        }
    }
    assert!(missing.is_empty(), "there is no\n{}", missing.join("\n"));
}
