//! From trees to definitions and drafts of procedures: imports, the library, declarations, forms.

pub mod about;
pub mod allow;
pub mod amount;
pub mod azeotrope;
pub mod binary_fit;
pub mod cursor;
pub mod declare;
pub mod definitions;
pub mod fields;
pub mod form;
pub mod incompatible;
pub mod matcher;
pub mod operation;
pub mod plant;
pub mod procedure;
pub mod quantity;
pub mod reaction;
pub mod rule;
pub mod safety;
pub mod slots;
pub mod waste_word;

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use definitions::{Definitions, Sub};
use procedure::Draft;

use crate::diagnostics::{Code, Diagnostic};
use crate::library;
use crate::load::{Loader, take_in};
use crate::source::{Sources, Span};
use crate::syntax::{self, Block, Line, Node, Tok};

/// Everything that one compilation reads.
#[derive(Debug, Default)]
pub struct Resolved {
    /// Substances, operations and so on.
    pub defs: Definitions,
    /// The procedures of the file that was asked for.
    pub drafts: Vec<Draft>,
    /// The files read (not the library's), by name, with their bytes' hash.
    pub inputs: Vec<(String, String)>,
}

/// How deep files may use each other.
const MAX_USES: usize = 64;

/// Loads a file and what it uses, and reads all their declarations.
pub fn resolve(path: &str, loader: &dyn Loader, sources: &mut Sources, findings: &mut Vec<Diagnostic>) -> Resolved {
    let mut files = Vec::new();
    let mut inputs = Vec::new();
    let located = loader.locate(path, None);
    load(&located, None, loader, sources, findings, &mut files, &mut inputs, 0);
    let mut collector = Collector::default();
    // The user's own declarations first: the library gives way to them.
    for file in &files {
        collector.file(file, findings);
    }
    let mut drafts_from = Vec::new();
    if let Some(file) = files.first() {
        drafts_from.extend(procedures(file));
    }
    // With an error in what is written nothing is going to be judged.
    let judged = !findings.iter().any(Diagnostic::is_error);
    collector.library(&files, judged, sources, findings);
    let defs = collector.finish(findings);
    let drafts = drafts_from.into_iter().filter_map(|(block, doc)| procedure::read(block, doc, &defs, findings)).collect();
    Resolved { defs, drafts, inputs }
}

#[expect(clippy::too_many_arguments, reason = "the state of one recursive walk over imports")]
fn load(
    located: &str,
    asked: Option<Span>,
    loader: &dyn Loader,
    sources: &mut Sources,
    findings: &mut Vec<Diagnostic>,
    files: &mut Vec<syntax::File>,
    inputs: &mut Vec<(String, String)>,
    depth: usize,
) {
    if inputs.iter().any(|(name, _)| name == located) || depth > MAX_USES {
        return;
    }
    let bytes = match loader.load(located) {
        Ok(bytes) => bytes,
        Err(why) => {
            let span = asked.unwrap_or_else(|| Span::new(sources.add(located, String::new(), false), 0..0));
            let mut finding = Diagnostic::new(Code::MissingFile, span, format!("`{located}` cannot be read: {why}"));
            if asked.is_some() {
                finding = finding.help("the path is taken from the folder of the file that uses it");
            }
            findings.push(finding);
            return;
        }
    };
    inputs.push((located.to_owned(), hash(&bytes)));
    let (id, found) = take_in(sources, located, bytes);
    let unreadable = found.iter().any(|finding| finding.code == Code::SyntaxTooLarge);
    findings.extend(found);
    if unreadable {
        return;
    }
    let Some((tree, found)) = sources.get(id).map(|file| syntax::parse(id, file)) else { return };
    findings.extend(found);
    let uses = uses(&tree, findings);
    files.push(tree);
    for (path, span) in uses {
        let next = loader.locate(&path, Some(located));
        if next == located {
            findings.push(
                Diagnostic::new(Code::Duplicate, span, "this file uses itself, and it is read already")
                    .help("take the line out, or name another file"),
            );
        }
        load(&next, Some(span), loader, sources, findings, files, inputs, depth + 1);
    }
}

/// The SHA-256 of some bytes, in hexadecimal.
#[must_use]
pub fn hash(bytes: &[u8]) -> String {
    use sha2::Digest as _;
    use std::fmt::Write as _;
    sha2::Sha256::digest(bytes).iter().fold(String::new(), |mut out, byte| {
        let _ = write!(out, "{byte:02x}");
        out
    })
}

fn uses(tree: &syntax::File, findings: &mut Vec<Diagnostic>) -> Vec<(String, Span)> {
    let mut uses = Vec::new();
    for node in &tree.nodes {
        let Node::Line(line) = node else { continue };
        if line.first_word() != Some("use") || line.broken {
            continue;
        }
        if let [_, token] = line.tokens.as_slice()
            && let Tok::Text(path) = &token.tok
        {
            uses.push((path.clone(), token.span));
            continue;
        }
        findings.push(
            Diagnostic::new(Code::SyntaxExpected, line.span, "`use` is followed by one path in quotation marks")
                .help("write `use \"file.scruple\"`"),
        );
    }
    uses
}

/// Blocks at the outermost level with the doc comment above each.
fn blocks(file: &syntax::File) -> Vec<(&Block, String)> {
    let mut found = Vec::new();
    let mut doc: Vec<&str> = Vec::new();
    for node in &file.nodes {
        match node {
            Node::Comment(comment) => {
                if comment.blank_before {
                    doc.clear();
                }
                let text = comment.text.trim_start_matches('#').trim();
                if !text.is_empty() {
                    doc.push(text);
                }
            }
            Node::Block(block) => {
                // From its first example on, a doc comment is no sentence.
                let words: Vec<&str> = doc.iter().copied().take_while(|text| !text.starts_with(library::EXAMPLE)).collect();
                found.push((block, words.join(" ")));
                doc.clear();
            }
            Node::Line(_) => doc.clear(),
        }
    }
    found
}

fn procedures(file: &syntax::File) -> Vec<(&Block, String)> {
    blocks(file).into_iter().filter(|(block, _)| block.head.first_word() == Some("procedure")).collect()
}

/// The declarations that were met, before names can be looked up in them.
#[derive(Default)]
struct Collector {
    defs: Definitions,
    reactions: Vec<(Block, Span)>,
    /// Names declared by the user's own files, with where.
    own: BTreeMap<(&'static str, String), Span>,
    /// Library entries already read.
    read: BTreeSet<usize>,
}

impl Collector {
    fn file(&mut self, file: &syntax::File, findings: &mut Vec<Diagnostic>) {
        for (block, doc) in blocks(file) {
            self.block(block, &doc, false, findings);
        }
        for node in &file.nodes {
            if let Node::Line(line) = node {
                self.stray(line, findings);
            }
        }
    }

    fn stray(&mut self, line: &Line, findings: &mut Vec<Diagnostic>) {
        match line.first_word() {
            _ if line.broken || line.tokens.is_empty() => {}
            Some("use") => {}
            Some("hazard_text") => self.hazard_text(line, findings),
            _ => findings.push(
                Diagnostic::new(Code::SyntaxExpected, line.span, "this line stands outside of every block")
                    .help("statements stand inside `procedure NAME \"Title\" { … }`"),
            ),
        }
    }

    fn hazard_text(&mut self, line: &Line, findings: &mut Vec<Diagnostic>) {
        let read = fields::Field::of(line).and_then(|mut field| {
            let code = field.name_or_text()?;
            field.comma();
            let text = field.name_or_text()?;
            field.end()?;
            Ok((code, text, field.source))
        });
        match read {
            Ok((code, text, source)) => {
                self.defs.hazard_texts.entry(code).or_insert((text, source));
            }
            Err(finding) => findings.push(finding),
        }
    }

    /// Whether the name is new among the user's own; in the library the user's own stands.
    fn claim(&mut self, sort: &'static str, name: &str, span: Span, embedded: bool, findings: &mut Vec<Diagnostic>) -> bool {
        let key = (sort, name.to_owned());
        if let Some(first) = self.own.get(&key) {
            if !embedded {
                findings.push(
                    Diagnostic::new(Code::Duplicate, span, format!("`{name}` is declared a second time"))
                        .label(*first, "the first is here")
                        .help("take one of them out, or rename it"),
                );
            }
            return false;
        }
        if !embedded {
            self.own.insert(key, span);
        }
        true
    }

    fn block(&mut self, block: &Block, doc: &str, embedded: bool, findings: &mut Vec<Diagnostic>) {
        match block.head.first_word() {
            Some("procedure") => {}
            Some(sort @ ("substance" | "agent")) => {
                if let Some(substance) = declare::substance(block, doc, sort == "agent", findings)
                    && self.claim("substance", &substance.name, substance.span, embedded, findings)
                {
                    let sub = Sub(self.defs.substances.len());
                    for name in std::iter::once(&substance.name).chain(&substance.also) {
                        self.defs.substance_names.entry(name.clone()).or_insert(sub);
                    }
                    self.defs.substances.push(Rc::new(substance));
                }
            }
            Some("solution") => {
                if let Some(solution) = declare::solution(block, findings)
                    && self.claim("solution", &solution.name, solution.span, embedded, findings)
                {
                    self.defs.solutions.push(Rc::new(solution));
                }
            }
            Some("apparatus") => {
                if let Some(apparatus) = declare::apparatus(block, findings)
                    && self.claim("apparatus", &apparatus.name, apparatus.span, embedded, findings)
                {
                    self.defs.apparatus.insert(apparatus.name.clone(), Rc::new(apparatus));
                }
            }
            Some("instrument") => {
                if let Some(instrument) = declare::instrument(block, findings)
                    && self.claim("instrument", &instrument.name, block.head.span, embedded, findings)
                {
                    self.defs.instruments.push(Rc::new(instrument));
                }
            }
            Some("operation") => match operation::declare(block, doc, findings) {
                Some(operation) => {
                    if self.claim("operation", &operation.name, operation.span, embedded, findings) {
                        let verb = operation.form.verb().to_owned();
                        self.defs.operations.entry(verb).or_default().push(Rc::new(operation));
                    }
                }
                None => {
                    let forms = block.body.iter().filter_map(|node| match node {
                        Node::Line(line) if line.first_word() == Some("form") => line.word(1),
                        _ => None,
                    });
                    self.defs.broken_verbs.extend(forms.chain(block.head.word(1)).map(str::to_owned));
                }
            },
            Some("reaction") => self.reactions.push((block.clone(), block.head.span)),
            Some("incompatible") => {
                if let Some(pair) = incompatible::declare(block, findings)
                    && self.claim("incompatible", &pair.name, pair.span, embedded, findings)
                {
                    self.defs.incompatible.push(pair);
                }
            }
            Some("binary_fit") => {
                if let Some(fit) = binary_fit::declare(block, findings)
                    && self.claim("binary_fit", &fit.name, fit.span, embedded, findings)
                {
                    self.defs.binary_fits.push(fit);
                }
            }
            Some("azeotrope") => {
                if let Some(measured) = azeotrope::declare(block, findings)
                    && self.claim("azeotrope", &measured.name, measured.span, embedded, findings)
                {
                    self.defs.azeotropes.push(measured);
                }
            }
            Some("waste_word") => {
                if let Some(word) = waste_word::declare(block, findings)
                    && self.claim("waste_word", &word.name, word.span, embedded, findings)
                {
                    self.defs.waste_words.push(word);
                }
            }
            Some("rule") => {
                if let Some(rule) = rule::declare(block, findings) {
                    self.rule(rule, embedded, findings);
                }
            }
            _ => {
                if !block.head.broken {
                    let at = block.head.tokens.first().map_or(block.open, |token| token.span);
                    findings.push(Diagnostic::new(Code::SyntaxExpected, at, "no such block stands here").help(
                        "at the outermost level stand `procedure`, `operation`, `substance`, `agent`, `solution`, \
                             `reaction`, `apparatus`, `instrument`, `rule`, `incompatible`, `binary_fit`, `azeotrope` and `waste_word`",
                    ));
                }
            }
        }
    }

    /// The user's own value of a rule is in force; what the library holds stands beside it.
    fn rule(&mut self, rule: rule::Rule, embedded: bool, findings: &mut Vec<Diagnostic>) {
        if self.claim("rule", &rule.name, rule.span, embedded, findings) {
            self.defs.rules.insert(rule.name.clone(), rule::Rule { own: !embedded, ..rule });
        } else if embedded && let Some(own) = self.defs.rules.get_mut(&rule.name) {
            own.others.push(rule.setting);
            own.others.extend(rule.others);
        }
    }

    /// Reads of the library what the files name, and what that names, until nothing is new; and what
    /// only the judges and the sheet ask for, where they are going to.
    fn library(&mut self, files: &[syntax::File], judged: bool, sources: &mut Sources, findings: &mut Vec<Diagnostic>) {
        let mut words = BTreeSet::new();
        for file in files {
            gather(&file.nodes, &mut words);
        }
        words.extend(["water", "carbon_dioxide", "air_condenser", "conical_flask"].map(str::to_owned));
        if judged {
            words.extend(["*instruments", "*rules", "*waste_words"].map(str::to_owned));
        }
        let mut todo: Vec<String> = words.iter().cloned().collect();
        loop {
            while let Some(word) = todo.pop() {
                for number in library::entries(&word) {
                    self.entry(*number, sources, findings, &mut words, &mut todo);
                }
            }
            // A contact reaction is read when all its reactants are here.
            let mut ready = BTreeSet::new();
            let names: Vec<String> = self.defs.substances.iter().map(|substance| substance.name.clone()).collect();
            for name in &names {
                for number in library::entries(&format!("+{name}")) {
                    let all = library::entry(*number)
                        .is_some_and(|entry| reactants(entry.text).iter().all(|reactant| self.defs.find(reactant).is_some()));
                    if all && !self.read.contains(number) {
                        ready.insert(*number);
                    }
                }
            }
            if ready.is_empty() {
                break;
            }
            for number in ready {
                self.entry(number, sources, findings, &mut words, &mut todo);
            }
        }
        // What was measured of a pair is read when both are here.
        let names: Vec<String> = self.defs.substances.iter().map(|substance| substance.name.clone()).collect();
        let mut measured = BTreeSet::new();
        for name in &names {
            for number in library::entries(&format!("&{name}")) {
                let known = |entry: &library::Entry| between(entry.text).iter().all(|name| self.defs.find(name).is_some());
                if library::entry(*number).is_some_and(known) {
                    measured.insert(*number);
                }
            }
        }
        for number in measured {
            self.entry(number, sources, findings, &mut words, &mut todo);
        }
        if !judged {
            return;
        }
        // A pair that does not go together is read when both its sides are here.
        let present: BTreeSet<String> = self.defs.substances.iter().flat_map(|substance| incompatible::words(substance)).collect();
        let mut pairs = BTreeSet::new();
        for word in &present {
            for number in library::entries(&format!("!{word}")) {
                let sides = library::entry(*number).map(|entry| incompatible::sides(entry.text));
                if sides.is_some_and(|sides| sides.iter().all(|side| side.iter().any(|word| present.contains(*word)))) {
                    pairs.insert(*number);
                }
            }
        }
        for number in pairs {
            self.entry(number, sources, findings, &mut words, &mut todo);
        }
        // Hazard texts last: the codes of what was read.
        let codes: BTreeSet<String> = self
            .defs
            .substances
            .iter()
            .filter_map(|substance| substance.hazards.as_ref())
            .flat_map(|hazards| hazards.value.iter().cloned())
            .collect();
        for code in codes {
            for number in library::entries(&code) {
                self.entry(*number, sources, findings, &mut words, &mut todo);
            }
        }
    }

    fn entry(
        &mut self,
        number: usize,
        sources: &mut Sources,
        findings: &mut Vec<Diagnostic>,
        words: &mut BTreeSet<String>,
        todo: &mut Vec<String>,
    ) {
        if !self.read.insert(number) {
            return;
        }
        let Some(entry) = library::entry(number) else { return };
        let id = sources.add_part(entry.file, entry.text, entry.first_line);
        let Some((tree, found)) = sources.get(id).map(|file| syntax::parse_stored(id, file, entry.found())) else { return };
        findings.extend(found);
        // What a declaration names is loaded too: not from its sources or doc, only from its words.
        let mut named = BTreeSet::new();
        // What does not go together, or in one waste, need not be here for that.
        if !["incompatible", "waste_word", "binary_fit", "azeotrope"].contains(&entry.sort) {
            gather(&tree.nodes, &mut named);
        }
        for word in named {
            if words.insert(word.clone()) {
                todo.push(word);
            }
        }
        for (block, doc) in blocks(&tree) {
            self.block(block, &doc, true, findings);
        }
        for node in &tree.nodes {
            if let Node::Line(line) = node {
                self.stray(line, findings);
            }
        }
    }

    fn finish(mut self, findings: &mut Vec<Diagnostic>) -> Definitions {
        self.defs.waste_words.sort_by(|a, b| a.name.cmp(&b.name));
        self.defs
            .instruments
            .sort_by(|a, b| (a.volume, a.range.1).partial_cmp(&(b.volume, b.range.1)).unwrap_or(std::cmp::Ordering::Equal));
        let mut contact = Vec::new();
        for (block, _) in &self.reactions {
            match reaction::declare(block, &self.defs, findings) {
                Some(reaction) if reaction.extent == definitions::Extent::OnContact => contact.push(Rc::new(reaction)),
                Some(reaction) => self.defs.known_reactions.push(Rc::new(reaction)),
                None => {}
            }
        }
        // The strongest acid is served first.
        let strength = |reaction: &definitions::Reaction| {
            reaction.left.iter().filter_map(|(_, sub)| self.defs.substance(*sub).acidity.first().copied()).fold(f64::INFINITY, f64::min)
        };
        contact.sort_by(|a, b| strength(a).total_cmp(&strength(b)).then_with(|| a.name.cmp(&b.name)));
        self.defs.contact = contact;
        self.defs
    }
}

/// The names on the left of the equation in a reaction's text.
fn reactants(text: &str) -> Vec<&str> {
    text.lines()
        .find_map(|line| line.split_once("->").or_else(|| line.split_once("<=>")))
        .map(|(left, _)| left.split('+').filter_map(|term| term.split_whitespace().last()).collect())
        .unwrap_or_default()
}

/// The names behind `between` in a text.
fn between(text: &str) -> Vec<&str> {
    let names = text.lines().find_map(|line| line.trim().strip_prefix("between "));
    names.map(|names| names.split(',').map(str::trim).collect()).unwrap_or_default()
}

/// Fields of substances and agents whose words name no declaration: a class `ether` is not the liquid.
const WITHOUT_NAMES: &[&str] = &[
    "also",
    "cas",
    "class",
    "solubility",
    "groups",
    "dortmund_groups",
    "hazard",
    "classed",
    "signal",
    "pictogram",
    "precaution",
    "edition",
    "peroxides",
    "refuses",
];

/// Every word and every text that could name a declaration.
fn gather(nodes: &[Node], words: &mut BTreeSet<String>) {
    let line = |line: &Line, words: &mut BTreeSet<String>| {
        for token in &line.tokens {
            match &token.tok {
                Tok::Word(word) => {
                    words.insert(word.clone());
                }
                Tok::Quantity(measure) => words.extend(measure.unit.iter().map(|(text, _)| text.clone())),
                _ => {}
            }
        }
    };
    for node in nodes {
        match node {
            Node::Line(inner) => line(inner, words),
            Node::Block(block) => {
                line(&block.head, words);
                if matches!(block.head.first_word(), Some("substance" | "agent")) {
                    let names = |node: &&Node| matches!(node, Node::Line(line) if line.first_word().is_some_and(|word| !WITHOUT_NAMES.contains(&word)));
                    block.body.iter().filter(names).for_each(|node| gather(std::slice::from_ref(node), words));
                } else {
                    gather(&block.body, words);
                }
            }
            Node::Comment(_) => {}
        }
    }
}
