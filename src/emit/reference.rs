//! The library as people look it up: what is in it, one entry with every property and its source, and
//! the whole as one page. It is read from the declarations as they are written, so it says no more
//! and no less than they do.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use super::words::capital;
use crate::chemistry::formula::Formula;
use crate::chemistry::hydrate::hydrate_capacity;
use crate::diagnostics::{Code, suggest};
use crate::kinds::significant;
use crate::library::{self, ENTRIES, EXAMPLE, Entry};
use crate::source::{SourceFile, Sources};
use crate::syntax::print::line_text;
use crate::syntax::{self, Node, Tok, Token};

/// One line of a declaration.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The field's name; empty for an equation.
    pub name: String,
    /// What it says, as written.
    pub value: String,
    /// Where that comes from; empty where the declaration names nothing.
    pub source: String,
}

/// A declaration taken apart.
#[derive(Clone, Debug)]
pub struct Page {
    /// What it was read from.
    pub entry: &'static Entry,
    /// The doc comment without its examples.
    pub doc: String,
    /// The examples, each the body of a procedure.
    pub examples: Vec<String>,
    /// The lines in order.
    pub lines: Vec<Line>,
}

/// Families in the order of the reference: sort of declaration and heading.
const FAMILIES: &[(&str, &str)] = &[
    ("operation", "Operations"),
    ("substance", "Substances"),
    ("agent", "Drying agents and adsorbents"),
    ("solution", "Solutions"),
    ("apparatus", "Apparatus"),
    ("instrument", "Instruments"),
    ("reaction", "Reactions"),
    ("rule", "Rules"),
    ("waste_word", "Words of waste labels"),
    ("azeotrope", "Azeotropes as measured"),
    ("binary_fit", "Activity coefficients of pairs as measured"),
];

/// Fields of a substance that a chemist looks for: where one is absent the page says so.
const LOOKED_FOR: &[(&str, &str)] = &[
    ("melts", "melting point"),
    ("boils", "boiling point"),
    ("density", "density"),
    ("solubility", "solubility in water"),
    ("partition", "partition"),
    ("vapour", "vapour pressure"),
    ("flash", "flash point"),
    ("hazard", "hazards"),
];

/// The same of a drying agent.
const AGENT_LOOKED_FOR: &[(&str, &str)] = &[("suits", "what it suits"), ("speed", "speed"), ("activation", "how it is made fit for use")];

impl Page {
    /// Takes a declaration apart.
    #[must_use]
    pub fn of(entry: &'static Entry) -> Self {
        let (doc, examples) = doc_of(entry.text);
        let mut sources = Sources::default();
        let id = sources.take(entry.source());
        let mut lines = Vec::new();
        if let Some(file) = sources.get(id) {
            let (tree, _) = syntax::parse(id, file);
            for node in &tree.nodes {
                match node {
                    Node::Block(block) => lines.extend(block.body.iter().filter_map(|node| match node {
                        Node::Line(line) => Some(line_of(line, file)),
                        _ => None,
                    })),
                    // A hazard text is a line of its own.
                    Node::Line(line) => lines.push(line_of(line, file)),
                    Node::Comment(_) => {}
                }
            }
        }
        Self { entry, doc, examples, lines }
    }

    /// The values of a field, in order.
    pub fn values(&self, name: &str) -> impl Iterator<Item = &str> {
        self.lines.iter().filter(move |line| line.name == name).map(|line| line.value.as_str())
    }

    /// The first value of a field, or nothing.
    #[must_use]
    pub fn value(&self, name: &str) -> &str {
        self.lines.iter().find(|line| line.name == name).map_or("", |line| &line.value)
    }

    /// The first sentence of the doc comment.
    #[must_use]
    pub fn brief(&self) -> &str {
        self.doc.split_once(". ").map_or(self.doc.as_str(), |(first, _)| first).trim_end_matches('.')
    }

    /// kg/mol, of what has a formula.
    fn molar_mass(&self) -> Option<f64> {
        Formula::parse(self.value("formula").trim_matches('"')).ok().map(|formula| formula.molar_mass())
    }

    /// What is looked for and not there.
    fn unknown(&self) -> Vec<&'static str> {
        let has = |field: &str| {
            let other = (field == "density").then_some("solid_density");
            self.lines.iter().any(|line| line.name == field || Some(line.name.as_str()) == other)
        };
        let more: &[_] = if self.entry.sort == "agent" { AGENT_LOOKED_FOR } else { &[] };
        let looked_for: &[_] = match self.entry.sort {
            "substance" | "agent" if self.molar_mass().is_some() => LOOKED_FOR,
            _ => &[],
        };
        looked_for.iter().chain(more).filter(|(field, _)| !has(field)).map(|(_, name)| *name).collect()
    }
}

/// The doc comment of a declaration, and its examples.
fn doc_of(text: &str) -> (String, Vec<String>) {
    let (mut doc, mut examples): (Vec<&str>, Vec<String>) = (Vec::new(), Vec::new());
    for line in text.lines().map_while(|line| line.strip_prefix("##")) {
        if line.trim() == EXAMPLE {
            examples.push(String::new());
        } else if let Some(example) = examples.last_mut() {
            // Five blanks stand before each line of an example.
            let _ = writeln!(example, "{}", line.strip_prefix("     ").unwrap_or(line.trim_start()));
        } else if !line.trim().is_empty() {
            doc.push(line.trim());
        }
    }
    (doc.join(" "), examples)
}

fn line_of(line: &syntax::Line, file: &SourceFile) -> Line {
    let written = |tokens: &[Token]| match tokens {
        [] => String::new(),
        // A comment inside would be read along.
        tokens if line.comments.iter().any(|(before, _)| *before < line.tokens.len()) => line_text(tokens),
        [first, ..] => {
            let last = tokens.last().map_or(first.span, |last| last.span);
            file.slice(first.span.to(last)).split_whitespace().collect::<Vec<_>>().join(" ")
        }
    };
    let mut tokens = line.tokens.as_slice();
    let mut source = String::new();
    if let [rest @ .., word, text] = tokens
        && let (Tok::Word(word), Tok::Text(text)) = (&word.tok, &text.tok)
        && word == "source"
    {
        tokens = rest;
        source.clone_from(text);
    }
    let equation = tokens.iter().any(|token| matches!(token.tok, Tok::Equilibrium))
        || line.tokens.iter().any(|token| token.tok == Tok::Arrow) && !matches!(line.first_word(), Some("form" | "effect"));
    match tokens {
        [first, rest @ ..] if !equation => {
            Line { name: line.first_word().map_or_else(|| first.tok.written(), str::to_owned), value: written(rest), source }
        }
        _ => Line { name: String::new(), value: written(tokens), source },
    }
}

/// The declarations that answer to a name: a name of record, a trade name, a verb, a solution's solute.
#[must_use]
pub fn find(name: &str) -> Vec<&'static Entry> {
    let mut numbers: BTreeSet<usize> = library::entries(name).iter().copied().collect();
    if name.starts_with(['+', '*', '!', '&']) {
        numbers.clear();
    }
    numbers.extend(ENTRIES.iter().enumerate().filter(|(_, entry)| entry.name == name).map(|(number, _)| number));
    let mut found: Vec<&'static Entry> = numbers.into_iter().filter_map(|number| ENTRIES.get(number)).collect();
    // The substance before its solutions.
    found.sort_by_key(|entry| FAMILIES.iter().position(|(sort, _)| *sort == entry.sort));
    found
}

/// Names near one that nothing answers to.
#[must_use]
pub fn near(name: &str) -> Vec<&'static str> {
    let indexed = library::INDEX.iter().map(|(key, _)| *key).filter(|key| !key.starts_with(['+', '*', '!', '&']));
    let named = ENTRIES.iter().map(|entry| entry.name);
    let all: BTreeSet<&str> = indexed.chain(named).collect();
    suggest::near(name, all, 5)
}

/// A family's pages, by name.
fn pages(sort: &str) -> Vec<Page> {
    let mut pages: Vec<Page> = ENTRIES.iter().filter(|entry| entry.sort == sort).map(Page::of).collect();
    pages.sort_by(|a, b| a.entry.name.cmp(b.entry.name));
    pages
}

/// What is in the library, by family, a line each.
#[must_use]
pub fn contents() -> String {
    let mut out = String::new();
    for (sort, heading) in FAMILIES {
        let pages = pages(sort);
        let _ = writeln!(out, "{heading} ({})\n", pages.len());
        let widest = pages.iter().map(|page| page.entry.name.len()).max().unwrap_or(0);
        for page in &pages {
            let _ = writeln!(out, "  {:widest$}  {}", page.entry.name, page.brief());
        }
        out.push('\n');
    }
    out.push_str("`scruple library NAME` says all that is known about one of them.\n");
    out
}

/// A declaration as it is looked up.
#[must_use]
pub fn shown(entry: &'static Entry) -> String {
    let page = Page::of(entry);
    let article = if matches!(entry.sort, "agent" | "apparatus" | "instrument" | "operation") { "an" } else { "a" };
    let sort = match entry.sort {
        "agent" => "agent, a substance too",
        "apparatus" => "apparatus",
        sort => sort,
    };
    let head = if entry.sort == "apparatus" {
        "apparatus".to_owned()
    } else {
        format!("{article} {}", sort.replace("hazard_text", "hazard statement"))
    };
    let mut out = format!("{}: {head} ({}, line {})\n", entry.name, entry.file, entry.first_line);
    if !page.doc.is_empty() {
        let _ = writeln!(out, "{}", page.doc);
    }
    out.push('\n');
    let mut rows: Vec<(String, String, &str)> = Vec::new();
    for line in &page.lines {
        rows.push((label(entry.sort, &line.name), line.value.clone(), line.source.as_str()));
        if line.name == "formula"
            && let Some(mass) = page.molar_mass()
        {
            let from = "the formula, with the abridged atomic weights of CIAAW 2021";
            rows.push(("Molar mass".to_owned(), format!("{} g/mol", significant(mass * 1e3, 5)), from));
        }
        if line.name == "binds"
            && let Some(mass) = page.molar_mass()
            && let Some(waters) = line.value.split([',', ' ']).next().and_then(|number| number.parse::<f64>().ok())
        {
            let holds = format!("{} g/g", significant(hydrate_capacity(waters, mass), 3));
            rows.push(("Holds at most".to_owned(), holds, "the hydrate's formula"));
        }
    }
    table(&mut out, &rows);
    let unknown = page.unknown();
    if !unknown.is_empty() {
        let _ = writeln!(out, "\nNot known: {}.", unknown.join(", "));
    }
    if matches!(entry.sort, "substance" | "agent") {
        related(&mut out, entry.name);
    }
    for example in &page.examples {
        out.push_str("\nExample:\n\n");
        for line in example.lines() {
            let _ = writeln!(out, "    {line}");
        }
    }
    out
}

/// Rows in three columns: what, the value, its source. A label that repeats is left out.
fn table(out: &mut String, rows: &[(String, String, &str)]) {
    let first = rows.iter().map(|row| row.0.chars().count()).max().unwrap_or(0);
    // A long value stands alone, with its source on the next line.
    let short = |value: &str| value.chars().count() <= 40;
    let second = rows.iter().map(|row| row.1.chars().count()).filter(|width| *width <= 40).max().unwrap_or(0);
    let mut before = "";
    for (label, value, source) in rows {
        let shown = if label == before { "" } else { label.as_str() };
        before = label;
        let line = match (source.is_empty(), short(value)) {
            (true, _) => format!("{shown:first$}  {value}"),
            (false, true) => format!("{shown:first$}  {value:second$}  ({source})"),
            (false, false) => format!("{shown:first$}  {value}\n{:first$}  ({source})", ""),
        };
        let _ = writeln!(out, "{}", line.trim_end());
    }
}

/// Solutions of a substance and reactions in which it is used up.
fn related(out: &mut String, name: &str) {
    let mut say = |what: &str, names: Vec<&str>| {
        if !names.is_empty() {
            let _ = writeln!(out, "\n{what}: {}.", names.join(", "));
        }
    };
    let of = |key: &str, sort: &'static str| {
        library::entries(key)
            .iter()
            .filter_map(|number| library::entry(*number))
            .filter(|entry| entry.sort == sort)
            .map(|entry| entry.name)
            .collect()
    };
    say("Solutions", of(name, "solution"));
    say("Reactions that use it up", of(&format!("+{name}"), "reaction"));
}

/// A field's name as it is printed.
fn label(sort: &str, name: &str) -> String {
    let words = match (sort, name) {
        (_, "also") => "Also called",
        (_, "cas") => "CAS number",
        (_, "melts") => "Melting point",
        ("substance" | "agent", "boils") => "Boiling point",
        ("apparatus", "boils") => "Boiled in",
        (_, "vaporisation") => "Heat of vaporisation",
        (_, "vapour") => "Vapour pressure",
        (_, "flash") => "Flash point",
        (_, "partition") => "Partition, log10 of octanol over water",
        (_, "takes_up") => "Takes up water",
        (_, "acidity") => "pKa",
        (_, "takes_acid") => "Takes up acid, mol per mol",
        (_, "hazard") => "Hazards",
        (_, "binds") => "Binds water, mol per mol",
        (_, "practical") => "Counted on in practice",
        (_, "hot") => "Holds under hot condensate",
        (_, "floor") => "At least",
        (_, "retains") => "Liquid that clings to it",
        (_, "bulk") => "Density as poured",
        (_, "bead") => "Density of a bead",
        (_, "fusion") => "Heat of fusion",
        (_, "leaves") => "Left of water",
        (_, "removes") => "Takes up water in time",
        (_, "leaves_in_air") => "Water left in air",
        (_, "acts_in") => "Acts in",
        (_, "activation") => "How it is made fit for use",
        (_, "regenerates") => "Gives its water back at",
        (_, "effective_below") => "Binds nothing above",
        (_, "dose") => "Used of what it treats",
        ("solution", "heat") => "Heat set free, in so many mol of solvent",
        ("solution", "boils") => "Boils at 1 atm, at a strength",
        ("reaction", "heat") => "Heat taken up",
        ("reaction", "") => "Equation",
        ("reaction", "runs") => "Runs",
        ("solution", "source") => "Densities from",
        (_, "fill") => "Filled",
        ("apparatus", "range") => "Serves from … to …",
        (_, "says") => "On the sheet",
        (_, other) => return capital(&other.replace('_', " ")),
    };
    words.to_owned()
}

/// A declaration as one line of JSON.
#[must_use]
pub fn json(entry: &'static Entry) -> String {
    let page = Page::of(entry);
    let lines: Vec<serde_json::Value> =
        page.lines.iter().map(|line| serde_json::json!({ "field": line.name, "value": line.value, "source": line.source })).collect();
    let value = serde_json::json!({
        "sort": entry.sort,
        "name": entry.name,
        "file": entry.file,
        "line": entry.first_line,
        "doc": page.doc,
        "fields": lines,
        "not_known": page.unknown(),
        "examples": page.examples,
    });
    format!("{value}\n")
}

/// The whole library on one page, in Markdown.
#[must_use]
pub fn page() -> String {
    let mut out = String::from(
        "# Reference\n\nWritten from the declarations of the library and held to them by a test: `BLESS=1 cargo test --test reference` \
         writes it anew. `scruple library NAME` gives each figure with its source.\n\n",
    );
    for (sort, heading) in FAMILIES {
        let pages = pages(sort);
        let _ = writeln!(out, "- [{heading}](#{}) ({})", heading.to_lowercase().replace(' ', "-"), pages.len());
    }
    let _ = writeln!(out, "- [Findings](#findings) ({})", Code::ALL.len());
    for (sort, heading) in FAMILIES {
        let _ = writeln!(out, "\n## {heading}\n");
        let pages = pages(sort);
        match *sort {
            "operation" => pages.iter().for_each(|page| operation(&mut out, page)),
            sort => {
                let (heads, row) = columns(sort);
                let _ = writeln!(out, "| {} |\n|{}", heads.join(" | "), " --- |".repeat(heads.len()));
                for page in &pages {
                    let cells: Vec<String> = row(page).into_iter().map(|cell| cell.replace('|', "\\|")).collect();
                    let _ = writeln!(out, "| {} |", cells.join(" | "));
                }
            }
        }
    }
    out.push_str("\n## Findings\n\n`scruple explain CODE` shows a procedure that has it and the same one mended.\n\n| code | severity | finding |\n| --- | --- | --- |\n");
    for code in Code::ALL {
        let _ = writeln!(out, "| `{}` | {} | {} |", code.text(), code.severity().word(), code.title().replace('|', "\\|"));
    }
    out
}

fn operation(out: &mut String, page: &Page) {
    let _ = writeln!(out, "### {}\n\n{}\n\n```text", page.entry.name, page.doc);
    let rows: Vec<(String, String, &str)> = page.lines.iter().map(|line| (line.name.clone(), line.value.clone(), "")).collect();
    table(out, &rows);
    out.push_str("```\n\n");
    for example in &page.examples {
        let _ = writeln!(out, "```scruple\n{example}```\n");
    }
}

/// Where the values of a field begin and end: `0..100 % w/w`.
fn ends(page: &Page, field: &str) -> String {
    let values: Vec<&str> = page.values(field).filter_map(|value| value.split(',').next()).collect();
    match values.as_slice() {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first, .., last] => format!("{} to {last}", first.split(' ').next().unwrap_or(first)),
    }
}

type Row = fn(&Page) -> Vec<String>;

/// The columns of a family's table.
fn columns(sort: &str) -> (&'static [&'static str], Row) {
    fn name(page: &Page) -> String {
        format!("`{}`", page.entry.name)
    }
    fn all(page: &Page, field: &str) -> String {
        page.values(field).collect::<Vec<_>>().join(", ")
    }
    fn mass(page: &Page) -> String {
        page.molar_mass().map_or_else(String::new, |mass| significant(mass * 1e3, 5))
    }
    match sort {
        "substance" => (&["name", "formula", "g/mol", "melts", "boils", "density", "flash point", "hazards"], |page| {
            let density = if page.value("density").is_empty() { page.value("solid_density") } else { page.value("density") };
            vec![
                name(page),
                page.value("formula").trim_matches('"').to_owned(),
                mass(page),
                page.value("melts").to_owned(),
                page.value("boils").to_owned(),
                density.to_owned(),
                page.value("flash").to_owned(),
                page.value("hazard").to_owned(),
            ]
        }),
        "agent" => (&["name", "what for", "holds at most", "in practice", "speed", "suits", "refuses"], |page| {
            let most = match (page.values("binds").next(), page.molar_mass()) {
                (Some(binds), Some(mass)) => {
                    let waters = binds.split([',', ' ']).next().and_then(|number| number.parse::<f64>().ok()).unwrap_or(0.0);
                    format!("{} g/g", significant(hydrate_capacity(waters, mass), 3))
                }
                _ => page.value("capacity").to_owned(),
            };
            vec![
                name(page),
                page.brief().to_owned(),
                most,
                page.value("practical").to_owned(),
                page.value("speed").to_owned(),
                page.value("suits").to_owned(),
                page.value("refuses").to_owned(),
            ]
        }),
        "solution" => (&["name", "also", "solute", "densities", "named strengths", "heats", "boils"], |page| {
            let heats = page.values("heat").count();
            vec![
                name(page),
                all(page, "also"),
                page.value("solute").to_owned(),
                ends(page, "density"),
                page.values("grade").chain(page.values("strength")).collect::<Vec<_>>().join("; "),
                if heats > 0 { format!("{heats} rows") } else { String::new() },
                ends(page, "boils"),
            ]
        }),
        "apparatus" => (&["name", "what for", "sizes", "filled", "boiled in", "range"], |page| {
            vec![
                name(page),
                page.brief().to_owned(),
                page.value("sizes").to_owned(),
                page.value("fill").to_owned(),
                page.value("boils").to_owned(),
                page.value("range").to_owned(),
            ]
        }),
        "instrument" => (&["name", "called", "serves", "measures", "step", "tolerance"], |page| {
            vec![
                name(page),
                page.value("title").trim_matches('"').to_owned(),
                page.value("serves").to_owned(),
                page.value("measures").to_owned(),
                page.value("step").to_owned(),
                page.value("tolerance").to_owned(),
            ]
        }),
        "rule" => (&["name", "what", "value", "others"], |page| {
            vec![name(page), page.doc.clone(), page.value("value").to_owned(), all(page, "others")]
        }),
        "waste_word" => (&["word", "also", "means", "asked", "fits", "needs", "not with"], |page| {
            let means = page.value("means").split(" source ").next().unwrap_or("").trim_matches('"').to_owned();
            vec![
                name(page),
                all(page, "also"),
                means,
                all(page, "asked"),
                all(page, "fits"),
                all(page, "needs"),
                page.value("not_with").to_owned(),
            ]
        }),
        "azeotrope" => (&["between", "boils", "holds by mass", "liquids"], |page| {
            let boils = if page.value("boils").is_empty() { "none" } else { page.value("boils") };
            vec![page.value("between").to_owned(), boils.to_owned(), page.value("holds").to_owned(), page.value("liquids").to_owned()]
        }),
        "binary_fit" => (&["between", "Margules", "NRTL"], |page| {
            vec![page.value("between").to_owned(), page.value("margules").to_owned(), page.value("nrtl").to_owned()]
        }),
        _ => (&["name", "equation", "how", "heat taken up"], |page| {
            let how = ["runs", "equilibrium", "conversion"].into_iter().map(|field| page.value(field)).find(|value| !value.is_empty());
            vec![name(page), page.value("").to_owned(), how.unwrap_or("").replace('_', " "), page.value("heat").to_owned()]
        }),
    }
}
