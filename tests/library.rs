//! The library holds together: every declaration loads without a finding, every figure names its
//! source, and every file is in the one layout.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use scruple::chemistry::activity::{self, Tables};
use scruple::chemistry::label;
use scruple::diagnostics::Diagnostic;
use scruple::diagnostics::render::{Look, render};
use scruple::library::{ENTRIES, INDEX, entries};
use scruple::load::{Memory, take_in};
use scruple::resolve::rule::KNOWN;
use scruple::resolve::{Resolved, resolve};
use scruple::source::Sources;
use scruple::syntax::{self, print};

/// A file that names all words by which the library is searched, as the choices of one slot: there
/// any word may stand and none is looked up.
fn naming(words: &[&str]) -> String {
    format!("operation name_everything {{\n    form     name_everything <what: {}>\n    says     \"{{what}}\"\n}}\n", words.join(" | "))
}

/// The words of the index that are written as words.
fn words() -> Vec<&'static str> {
    let plain =
        |key: &&str| key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_') && key.starts_with(|c: char| c.is_ascii_alphabetic());
    INDEX.iter().map(|(key, _)| *key).filter(plain).collect()
}

fn resolved(text: &str) -> (Resolved, Sources, Vec<Diagnostic>) {
    let (mut sources, mut findings) = (Sources::default(), Vec::new());
    let resolved = resolve("all.scruple", &Memory::new([("all.scruple", text)]), &mut sources, &mut findings);
    (resolved, sources, findings)
}

#[test]
fn everything_loads_without_a_finding() {
    let (resolved, sources, findings) = resolved(&naming(&words()));
    assert!(findings.is_empty(), "{}", render(&findings, &sources, Look::Plain));
    let loaded: BTreeSet<(String, usize)> =
        sources.iter().filter(|(_, file)| file.embedded).map(|(_, file)| (file.name.to_string(), file.place(0).line)).collect();
    let left: Vec<String> = ENTRIES
        .iter()
        .filter(|entry| !loaded.contains(&(entry.file.to_owned(), entry.first_line)))
        .map(|entry| format!("{}:{}: {} {}", entry.file, entry.first_line, entry.sort, entry.name))
        .collect();
    assert!(left.is_empty(), "not loaded:\n{}", left.join("\n"));
    let count = |sort: &str| ENTRIES.iter().filter(|entry| entry.sort == sort).count();
    assert_eq!(resolved.defs.substances.len(), count("substance") + count("agent"));
    assert_eq!(resolved.defs.solutions.len(), count("solution"));
    assert_eq!(resolved.defs.apparatus.len(), count("apparatus"));
    assert_eq!(resolved.defs.instruments.len(), count("instrument"));
    assert_eq!(resolved.defs.hazard_texts.len(), count("hazard_text"));
    assert_eq!(resolved.defs.incompatible.len(), count("incompatible"));
    assert_eq!(resolved.defs.waste_words.len(), count("waste_word"));
    let rules: BTreeSet<&str> = resolved.defs.rules.keys().map(String::as_str).collect();
    assert_eq!(rules, KNOWN.iter().map(|known| known.name).collect(), "each rule that a check asks for is declared");
    assert_eq!(resolved.defs.contact.len() + resolved.defs.known_reactions.len(), count("reaction"));
    // One is the file's own.
    assert_eq!(resolved.defs.operations.values().map(Vec::len).sum::<usize>(), count("operation") + 1);
}

/// A rule that nothing asks for would be set in vain.
#[test]
fn each_rule_is_asked_for() {
    fn texts(folder: &std::path::Path, all: &mut String) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                texts(&path, all);
            } else if !path.ends_with("resolve/rule.rs")
                && path.extension().is_some_and(|extension| extension == "rs" || extension == "scruple")
            {
                all.push_str(&std::fs::read_to_string(path).unwrap());
            }
        }
    }
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut all = String::new();
    texts(&root.join("src"), &mut all);
    texts(&root.join("stdlib/operations"), &mut all);
    let asked = |name: &str| all.contains(&format!("\"{name}\"")) || all.contains(&format!("at most {name}"));
    let idle: Vec<&str> = KNOWN.iter().map(|known| known.name).filter(|name| !asked(name)).collect();
    assert!(idle.is_empty(), "nothing asks for {idle:?}");
}

/// What a declaration names is loaded with it, so that none depends on another being named.
#[test]
fn each_declaration_loads_by_itself() {
    let mut failures = Vec::new();
    let known = words();
    // One word a declaration, for a trade name loads the same; a hazard text names nothing.
    let mut met = BTreeSet::new();
    for word in
        known.into_iter().filter(|word| entries(word).iter().any(|number| ENTRIES[*number].sort != "hazard_text" && met.insert(*number)))
    {
        let (_, sources, findings) = resolved(&naming(&[word, "nothing_else"]));
        if !findings.is_empty() {
            failures.push(format!("{word}:\n{}", render(&findings, &sources, Look::Plain)));
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

#[test]
fn what_is_stored_is_what_the_grammar_finds() {
    let mut sources = Sources::default();
    for entry in ENTRIES.iter() {
        let id = sources.take(entry.source());
        let file = sources.get(id).unwrap();
        assert_eq!(format!("{:?}", syntax::parse_stored(id, entry.text, entry.found)), format!("{:?}", syntax::parse(id, file)));
    }
}

#[test]
fn every_entry_is_found_by_its_name() {
    let mut names: BTreeMap<(&str, &str), &str> = BTreeMap::new();
    for (number, entry) in ENTRIES.iter().enumerate() {
        if let Some(other) = names.insert((entry.sort, entry.name), entry.file) {
            panic!("the {} {} is declared in {other} and in {}", entry.sort, entry.name, entry.file);
        }
        if !["operation", "reaction"].contains(&entry.sort) {
            assert!(entries(entry.name).contains(&number), "{} {}", entry.sort, entry.name);
        }
        assert!(
            entry.sort == "hazard_text" || entry.text.starts_with("##"),
            "{}: {} {} has no doc comment",
            entry.file,
            entry.sort,
            entry.name
        );
    }
}

/// The solvents of solubilities are not loaded with the solute; their names are checked here.
#[test]
fn every_solvent_is_a_substance() {
    let (resolved, ..) = resolved(&naming(&words()));
    let mut asked = 0;
    for substance in &resolved.defs.substances {
        for solvent in substance.solubility.iter().filter_map(|entry| entry.solvent.as_deref()) {
            asked += 1;
            assert!(resolved.defs.find(solvent).is_some(), "{}: soluble in {solvent}", substance.name);
        }
    }
    assert!(asked > 20, "only {asked} were looked at");
}

/// The pictograms that a substance declares are those that its hazard statements bring.
#[test]
fn pictograms_follow_from_the_statements() {
    let (resolved, ..) = resolved(&naming(&words()));
    let mut asked = 0;
    for substance in &resolved.defs.substances {
        let (Some(hazards), Some(declared)) = (&substance.hazards, &substance.safety.pictograms) else { continue };
        asked += 1;
        let brought: Vec<String> = label::pictograms(&hazards.value).iter().map(|number| format!("GHS0{number}")).collect();
        assert_eq!(declared.value, brought, "{}: {:?}", substance.name, hazards.value);
    }
    assert!(asked > 100, "only {asked} were looked at");
}

/// A substance's name or trade name stands for one substance.
#[test]
fn no_two_substances_share_a_name() {
    let matter = |number: &usize| ["substance", "agent"].contains(&ENTRIES[*number].sort);
    let shared: Vec<String> = INDEX
        .iter()
        .filter(|(key, found)| !key.starts_with(['+', '*', '!']) && found.iter().filter(|number| matter(number)).count() > 1)
        .map(|(key, _)| (*key).to_owned())
        .collect();
    assert!(shared.is_empty(), "{shared:?}");
}

/// The part of a line outside of texts and comments.
fn code(line: &str) -> String {
    let mut out = String::new();
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            '#' if !quoted => break,
            _ if quoted => {}
            _ => out.push(c),
        }
    }
    out
}

/// Words of a code line that are figures: `0.8104`, `26.7`, `2/3`, `137..143`.
fn has_figure(code: &str) -> bool {
    code.split_whitespace().any(|word| word.trim_start_matches(['-', '+']).starts_with(|c: char| c.is_ascii_digit()))
}

#[test]
fn every_figure_names_its_source() {
    let mut failures = Vec::new();
    let mut checked = 0;
    for entry in ENTRIES.iter().filter(|entry| entry.sort != "operation") {
        // The source named in a solution holds for its whole table of densities.
        let table = entry.text.lines().any(|line| line.trim_start().starts_with("source "));
        for (at, line) in entry.text.lines().enumerate() {
            let code = code(line);
            let first = code.split_whitespace().next().unwrap_or("");
            let equation = entry.sort == "reaction" && (code.contains("->") || code.contains("<=>"));
            if !has_figure(&code) || equation || (table && first == "density") {
                continue;
            }
            checked += 1;
            let source = line.rsplit_once("source \"").map(|(_, rest)| rest.trim_end().trim_end_matches('"').trim());
            if source.is_none_or(str::is_empty) {
                failures.push(format!("{}:{}: {}", entry.file, entry.first_line + at, line.trim()));
            }
        }
    }
    assert!(checked > 500, "only {checked} lines were looked at");
    assert!(failures.is_empty(), "{} lines without a source:\n{}", failures.len(), failures.join("\n"));
}

/// Data that are not figures name their source as well.
#[test]
fn every_formula_and_hazard_names_its_source() {
    let mut failures = Vec::new();
    for entry in ENTRIES.iter().filter(|entry| ["substance", "agent"].contains(&entry.sort)) {
        for (at, line) in entry.text.lines().enumerate() {
            let first = line.split_whitespace().next().unwrap_or("");
            if ["formula", "cas", "hazard", "refuses", "binds", "solubility"].contains(&first) && !line.contains(" source \"") {
                failures.push(format!("{}:{}: {}", entry.file, entry.first_line + at, line.trim()));
            }
        }
    }
    assert!(failures.is_empty(), "{} lines without a source:\n{}", failures.len(), failures.join("\n"));
}

fn files() -> Vec<PathBuf> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, found);
            } else if path.extension().is_some_and(|extension| extension == "scruple") {
                found.push(path);
            }
        }
    }
    let mut found = Vec::new();
    walk(&PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("stdlib"), &mut found);
    found.sort();
    found
}

fn tidied(name: &str, text: &str) -> String {
    let mut sources = Sources::default();
    let (id, found) = take_in(&mut sources, name, text.as_bytes().to_vec());
    assert!(found.is_empty(), "{name}: {found:?}");
    let (tree, found) = syntax::parse(id, sources.get(id).unwrap());
    assert!(found.is_empty(), "{name}: {}", render(&found, &sources, Look::Plain));
    print::print(&tree)
}

#[test]
fn every_file_is_in_the_one_layout() {
    let files = files();
    assert!(files.len() >= 20, "only {} were found", files.len());
    let mut untidy = Vec::new();
    for path in files {
        let (name, text) = (path.display().to_string(), fs::read_to_string(&path).unwrap());
        let once = tidied(&name, &text);
        assert_eq!(once, tidied(&name, &once), "{name}: laid out twice it changes again");
        if once != text {
            let line = once.lines().zip(text.lines()).position(|(a, b)| a != b).map_or(0, |at| at + 1);
            untidy.push(format!("{name}:{line}"));
        }
    }
    assert!(untidy.is_empty(), "`scruple tidy` would change {untidy:?}");
}

#[test]
fn every_group_is_of_its_table() {
    let (resolved, _, _) = resolved(&naming(&words()));
    let mut met = 0;
    for substance in &resolved.defs.substances {
        for (groups, tables) in [(&substance.groups, Tables::Unifac), (&substance.dortmund_groups, Tables::Dortmund)] {
            for (_, name) in groups.iter().flat_map(|groups| &groups.value) {
                met += 1;
                assert!(activity::group(tables, name).is_some(), "{}: {name} is no group of {tables:?}", substance.name);
            }
        }
    }
    assert!(met > 200, "{met} groups");
}
