//! Build script: embeds `stdlib/**/*.scruple` and an index of what each file declares, so that a
//! compilation reads only the declarations that it names.
#![allow(clippy::disallowed_methods, clippy::disallowed_macros, reason = "a build script reads files and talks to cargo")]

use pest::Parser as _;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

mod grammar {
    #[derive(pest_derive::Parser)]
    #[grammar = "../grammar/procedure.pest"]
    pub struct LineParser;
}
use grammar::{LineParser, Rule};

mod stored;
use stored::{CLOSE, COMMENT, DEEPER, LINE, NAMING_NONE, OPEN, WITHOUT_NAMES};

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

/// What the program holds of the library: tables of numbers only, and one text, so that nothing needs to
/// be put in its place when the program starts.
#[derive(Default)]
struct Tables {
    /// Every text, one behind the other.
    texts: String,
    /// What the grammar finds in the declarations.
    found: Vec<u8>,
    /// Numbers of declarations, list behind list: those that answer to each key.
    answers: Vec<usize>,
    /// Numbers of keys, list behind list: those that each declaration names.
    names: Vec<usize>,
    /// One line a declaration, and a key.
    records: String,
    keys: String,
    /// The keys themselves, close together since they are searched.
    words: String,
}

impl Tables {
    /// Where a text stands; short ones only once.
    fn text(&mut self, text: &str) -> (usize, usize) {
        let at = if text.len() < 64 { self.texts.find(text) } else { None };
        let at = at.unwrap_or(self.texts.len());
        if at == self.texts.len() {
            self.texts.push_str(text);
        }
        (at, at + text.len())
    }
}

fn main() -> io::Result<()> {
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR").map_err(io::Error::other)?).join("stdlib");
    println!("cargo::rerun-if-changed=grammar/procedure.pest");
    let mut files = Vec::new();
    walk(&root, &mut files)?;
    files.sort();
    let mut tables = Tables::default();
    let mut index: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    let mut blocks_of = Vec::new();
    for path in &files {
        let text = fs::read_to_string(path)?;
        let name = path.strip_prefix(&root).map_err(io::Error::other)?.to_string_lossy().replace('\\', "/");
        for block in blocks(&text) {
            let body = text.get(block.start..block.end).unwrap_or("").to_owned();
            for key in keys(&block, &body) {
                index.entry(key).or_default().push(blocks_of.len());
            }
            blocks_of.push((format!("stdlib/{name}"), block, body));
        }
    }
    for (number, (file, block, body)) in blocks_of.iter().enumerate() {
        let parts = [tables.text(body), tables.text(file), tables.text(&block.sort), tables.text(&block.name)];
        let (found, names) = (tables.found.len(), tables.names.len());
        let words = store(block, body, &mut tables.found)?;
        // A word that only the declaration itself answers to leads nowhere.
        let known = index.iter().enumerate().filter(|(_, (key, answers))| words.contains(*key) && answers.as_slice() != [number]);
        tables.names.extend(known.map(|(key, _)| key));
        let (found, names) = ((found, tables.found.len()), (names, tables.names.len()));
        let [text, file, sort, name] = parts;
        let line = block.line;
        writeln!(
            tables.records,
            "    Record {{ file: {file:?}, first_line: {line}, sort: {sort:?}, name: {name:?}, text: {text:?}, found: {found:?}, names: {names:?} }},"
        )
        .map_err(io::Error::other)?;
    }
    for (key, entries) in &index {
        let (text, from) = ((tables.words.len(), tables.words.len() + key.len()), tables.answers.len());
        tables.words.push_str(key);
        tables.answers.extend(entries);
        writeln!(tables.keys, "    ({text:?}, ({from}, {})),", tables.answers.len()).map_err(io::Error::other)?;
    }
    let Tables { texts, found, answers, names, records, keys, words } = tables;
    let out = format!(
        "pub static RECORDS: [Record; {}] = [\n{records}];\npub static KEYS: [(Part, Part); {}] = [\n{keys}];\n\
         pub static ANSWERS: [usize; {}] = {answers:?};\npub static NAMES: [usize; {}] = {names:?};\n",
        blocks_of.len(),
        index.len(),
        answers.len(),
        names.len(),
    );
    let target = PathBuf::from(env::var("OUT_DIR").map_err(io::Error::other)?);
    fs::write(target.join("stdlib.text"), texts)?;
    fs::write(target.join("stdlib.words"), words)?;
    fs::write(target.join("stdlib.found"), found)?;
    fs::write(target.join("stdlib.rs"), out)?;
    for name in ["unifac", "dortmund"] {
        let path = root.join(format!("groups/{name}.tsv"));
        println!("cargo::rerun-if-changed={}", path.display());
        fs::write(target.join(format!("{name}.pairs")), pairs(&fs::read_to_string(path)?)?)?;
    }
    Ok(())
}

/// The interactions of a table of groups: row by row, mains in the order in which the groups name them, three
/// figures a pair. A pair that is not published has no number in its place; a group meets its like at zero.
fn pairs(text: &str) -> io::Result<Vec<u8>> {
    let lines: Vec<Vec<&str>> = text.lines().map(|line| line.split('\t').collect()).collect();
    let mut mains: Vec<&str> = Vec::new();
    for line in &lines {
        if let ["g", _, _, main, ..] = line.as_slice()
            && !mains.contains(main)
        {
            mains.push(main);
        }
    }
    let mut found: BTreeMap<(usize, usize), [f64; 3]> = (0..mains.len()).map(|main| ((main, main), [0.0; 3])).collect();
    for line in &lines {
        let ["p", first, second, figures @ ..] = line.as_slice() else { continue };
        let place = |name: &str| mains.iter().position(|known| *known == name).ok_or_else(|| io::Error::other(line.join(" ")));
        let figures = figures.iter().map(|figure| figure.parse()).collect::<Result<Vec<f64>, _>>().map_err(io::Error::other)?;
        let (there, back) = match figures.as_slice() {
            [there, back] => ([*there, 0.0, 0.0], [*back, 0.0, 0.0]),
            [a, b, c, d, e, f] => ([*a, *b, *c], [*d, *e, *f]),
            _ => return Err(io::Error::other(line.join(" "))),
        };
        let (first, second) = (place(first)?, place(second)?);
        found.extend([((first, second), there), ((second, first), back)]);
    }
    let cells = (0..mains.len()).flat_map(|row| (0..mains.len()).map(move |column| (row, column)));
    Ok(cells.flat_map(|cell| found.get(&cell).copied().unwrap_or([f64::NAN; 3])).flat_map(f64::to_le_bytes).collect())
}

/// Stores the pieces of a declaration and what the grammar finds in it, each as its sort, start and end,
/// and gives the words that may name another. The whole is read as one line: nothing that the grammar
/// knows goes past the end of a line, and braces are strays to it.
fn store(block: &Block, body: &str, found: &mut Vec<u8>) -> io::Result<BTreeSet<String>> {
    let mut record = |sort: u8, start: usize, end: usize| -> io::Result<()> {
        found.push(sort);
        for at in [start, end] {
            found.extend(u16::try_from(at).map_err(io::Error::other)?.to_le_bytes());
        }
        Ok(())
    };
    let pieces = pieces(body);
    for (sort, start, end) in &pieces {
        record(*sort, *start, *end)?;
    }
    let pairs = LineParser::parse(Rule::line, body).map_err(io::Error::other)?;
    let mut words = BTreeSet::new();
    let names_none = NAMING_NONE.contains(&block.sort.as_str());
    let matter = ["substance", "agent"].contains(&block.sort.as_str());
    for pair in pairs.flatten().filter(|pair| pair.as_rule() != Rule::line) {
        let Some(rule) = Rule::all_rules().iter().position(|rule| *rule == pair.as_rule()) else { continue };
        let span = pair.as_span();
        record(u8::try_from(rule).map_err(io::Error::other)?, span.start(), span.end())?;
        let line = pieces.iter().rfind(|(_, start, _)| *start <= span.start()).and_then(|(_, start, end)| body.get(*start..*end));
        let field = line.and_then(|line| line.split_whitespace().next()).unwrap_or("");
        if [Rule::word, Rule::unit].contains(&pair.as_rule()) && !names_none && !(matter && WITHOUT_NAMES.contains(&field)) {
            words.insert(span.as_str().split_whitespace().collect::<Vec<_>>().join(" "));
        }
    }
    Ok(words)
}

/// The pieces of a declaration as the scanner finds them in the one layout: sort, start, end.
fn pieces(body: &str) -> Vec<(u8, usize, usize)> {
    let mut pieces: Vec<(u8, usize, usize)> = Vec::new();
    // The indent of the line that may go on, and whether a blank line was just met.
    let (mut open, mut blank, mut at) = (None, false, 0);
    for raw in body.split_inclusive('\n') {
        let text = raw.trim();
        let indent = raw.len() - raw.trim_start().len();
        let (start, end) = (at + indent, at + indent + text.len());
        at += raw.len();
        let goes_on = open.is_some_and(|above| indent >= above + DEEPER);
        if text.is_empty() {
            (open, blank) = (None, true);
            continue;
        } else if text == "}" {
            pieces.push((CLOSE, start, end));
            open = None;
        } else if let Some(last) = pieces.last_mut().filter(|_| goes_on) {
            last.2 = end;
        } else if text.starts_with('#') {
            pieces.push((COMMENT | u8::from(blank), start, end));
            open = None;
        } else if let Some(head) = text.strip_suffix('{') {
            pieces.extend([(LINE | u8::from(blank), start, start + head.trim_end().len()), (OPEN, end - 1, end)]);
            open = None;
        } else {
            pieces.push((LINE | u8::from(blank), start, end));
            open = Some(indent);
        }
        blank = false;
    }
    pieces
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
    if block.sort == "instrument" {
        keys.push("*every_instrument".to_owned());
    }
    // What serves another end than measuring out is read only when it is named, or for a record.
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
