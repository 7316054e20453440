//! Build script: embeds `stdlib/**/*.scruple` and an index of what each file declares, so that a
//! compilation reads only the declarations that it names.
#![allow(clippy::disallowed_methods, clippy::disallowed_macros, reason = "a build script reads files and talks to cargo")]

use pest::Parser as _;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

mod grammar {
    #[derive(pest_derive::Parser)]
    #[grammar = "../grammar/procedure.pest"]
    pub struct LineParser;
}
use grammar::{LineParser, Rule};

/// Sorts of declaration that begin a line at the left margin.
const SORTS: &[&str] = &[
    "substance",
    "agent",
    "solution",
    "operation",
    "apparatus",
    "instrument",
    "reaction",
    "hazard_text",
    "rule",
    "incompatible",
    "waste_word",
    "binary_fit",
    "azeotrope",
];

fn main() -> io::Result<()> {
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR").map_err(io::Error::other)?).join("stdlib");
    println!("cargo::rerun-if-changed=grammar/procedure.pest");
    let mut files = Vec::new();
    walk(&root, &mut files)?;
    files.sort();
    let mut out = String::from("pub static ENTRIES: &[Entry] = &[\n");
    let mut index: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    let mut count = 0;
    let mut found = Vec::new();
    for path in &files {
        let text = fs::read_to_string(path)?;
        let name = path.strip_prefix(&root).map_err(io::Error::other)?.to_string_lossy().replace('\\', "/");
        for block in blocks(&text) {
            let body = text.get(block.start..block.end).unwrap_or("");
            let start = found.len();
            store(body, &mut found)?;
            writeln!(
                out,
                "    Entry {{ file: {:?}, first_line: {}, sort: {:?}, name: {:?}, text: {:?}, found: ({start}, {}) }},",
                format!("stdlib/{name}"),
                block.line,
                block.sort,
                block.name,
                body,
                found.len()
            )
            .map_err(io::Error::other)?;
            for key in keys(&block, body) {
                index.entry(key).or_default().push(count);
            }
            count += 1;
        }
    }
    out.push_str("];\npub static INDEX: &[(&str, &[usize])] = &[\n");
    for (key, entries) in &index {
        writeln!(out, "    ({key:?}, &{entries:?}),").map_err(io::Error::other)?;
    }
    out.push_str("];\n");
    let target = PathBuf::from(env::var("OUT_DIR").map_err(io::Error::other)?);
    fs::write(target.join("stdlib.found"), found)?;
    fs::write(target.join("stdlib.rs"), out)
}

/// What the grammar finds in a declaration, each as its rule, start and end. The whole is read as one
/// line: nothing that the grammar knows goes past the end of a line, and braces are strays to it.
fn store(body: &str, found: &mut Vec<u8>) -> io::Result<()> {
    let pairs = LineParser::parse(Rule::line, body).map_err(io::Error::other)?;
    for pair in pairs.flatten().filter(|pair| pair.as_rule() != Rule::line) {
        let Some(rule) = Rule::all_rules().iter().position(|rule| *rule == pair.as_rule()) else { continue };
        let span = pair.as_span();
        found.push(u8::try_from(rule).map_err(io::Error::other)?);
        for at in [span.start(), span.end()] {
            found.extend(u16::try_from(at).map_err(io::Error::other)?.to_le_bytes());
        }
    }
    Ok(())
}

fn walk(folder: &Path, files: &mut Vec<PathBuf>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            // Not the root: the reference, which is written from the library, stands there.
            println!("cargo::rerun-if-changed={}", path.display());
            walk(&path, files)?;
        } else if path.extension().is_some_and(|ending| ending == "scruple") {
            println!("cargo::rerun-if-changed={}", path.display());
            files.push(path);
        }
    }
    Ok(())
}

struct Block {
    sort: String,
    name: String,
    /// Bytes of the declaration with the doc comment above it.
    start: usize,
    end: usize,
    /// Line of `start`, from 1.
    line: usize,
}

/// Every declaration of a file: it begins at the left margin and ends with `}` there, or, for a
/// hazard text, with its line.
fn blocks(text: &str) -> Vec<Block> {
    let mut found = Vec::new();
    let mut doc: Option<(usize, usize)> = None;
    let mut open: Option<Block> = None;
    let mut at = 0;
    for (number, raw) in text.split_inclusive('\n').enumerate() {
        let line = raw.trim_end();
        let end = at + raw.len();
        if let Some(block) = &mut open {
            if line == "}" {
                block.end = end;
                found.extend(open.take());
            }
        } else if line.starts_with('#') {
            doc.get_or_insert((at, number + 1));
        } else {
            let mut words = line.split_whitespace();
            if let Some(sort) = words.next().filter(|word| SORTS.contains(word) && line.starts_with(*word)) {
                let (start, first) = doc.unwrap_or((at, number + 1));
                let name = words.next().unwrap_or("").to_owned();
                let block = Block { sort: sort.to_owned(), name, start, end, line: first };
                if line.ends_with('{') {
                    open = Some(block);
                } else {
                    found.push(block);
                }
            }
            doc = None;
        }
        at = end;
    }
    found
}

/// The words by which a declaration is found: its name, its trade names, an operation's verb, a
/// solution's solute, a contact reaction's reactants (each as `+name`).
fn keys(block: &Block, body: &str) -> Vec<String> {
    let mut keys = Vec::new();
    if block.sort != "operation" && block.sort != "reaction" {
        keys.push(block.name.clone());
    }
    for line in body.lines() {
        let line = line.split(" source ").next().unwrap_or(line);
        let mut words = line.split_whitespace();
        match words.next() {
            Some("also") => {
                let rest = line.trim_start().trim_start_matches("also");
                keys.extend(names(rest));
            }
            Some("between" | "and") if block.sort == "incompatible" => {
                let rest = line.trim_start().split_once(' ').map_or("", |(_, rest)| rest);
                keys.extend(rest.split(',').map(|name| format!("!{}", name.trim())));
            }
            Some("between") if block.sort == "binary_fit" || block.sort == "azeotrope" => {
                let rest = line.trim_start().split_once(' ').map_or("", |(_, rest)| rest);
                keys.extend(rest.split(',').map(|name| format!("&{}", name.trim())));
            }
            Some("form") if block.sort == "operation" => keys.extend(words.next().map(str::to_owned)),
            Some("solute") if block.sort == "solution" => keys.extend(words.next().map(str::to_owned)),
            _ => {}
        }
        if block.sort == "reaction"
            && let Some((left, _)) = line.split_once("->").or_else(|| line.split_once("<=>"))
        {
            let names = left.split('+').filter_map(|term| term.split_whitespace().last());
            keys.extend(names.map(|name| format!("+{name}")));
        }
    }
    // What serves another end than measuring out is read only when it is named.
    if block.sort == "instrument" && !body.lines().any(|line| line.trim_start().starts_with("serves ")) {
        keys.push("*instruments".to_owned());
    }
    if block.sort == "rule" {
        keys.push("*rules".to_owned());
    }
    // Labels are texts: their words are all read, and their other spellings are no names.
    if block.sort == "waste_word" {
        keys = vec![block.name.clone(), "*waste_words".to_owned()];
    }
    keys.sort();
    keys.dedup();
    keys
}

/// The names of a list with commas between them; a comma inside quotation marks belongs to the name.
fn names(list: &str) -> Vec<String> {
    let list = list.split_once("  #").map_or(list, |(list, _)| list);
    let mut names = vec![String::new()];
    let mut quoted = false;
    for c in list.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => names.push(String::new()),
            _ => names.iter_mut().last().into_iter().for_each(|name| name.push(c)),
        }
    }
    names.iter().map(|name| name.trim().to_owned()).filter(|name| !name.is_empty()).collect()
}
