//! From trees to definitions and drafts of procedures: imports, the library, declarations, forms.

pub mod about;
pub mod allow;
pub mod amount;
pub mod attention;
pub mod azeotrope;
pub mod bench;
pub mod binary_fit;
pub mod cursor;
pub mod declare;
pub mod declared;
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
pub mod record;
pub mod route;
pub mod rule;
pub mod safety;
pub mod slots;
pub mod solution;
pub mod variant;
pub mod waste_word;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use declared::Declared;
use definitions::{Definitions, Sub};
use procedure::Draft;
use rule::Rule;

use crate::diagnostics::{Code, Diagnostic, suggest};
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
    /// The records of that file.
    pub records: Vec<record::Record>,
    /// The routes of that file.
    pub routes: Vec<route::Route>,
    /// Procedures and variants that only these routes name, of files that this one uses.
    pub staged: Vec<Draft>,
    /// Records in files that this one uses, where a route asks for recorded yields.
    pub earlier: Vec<record::Record>,
    /// The files read (not the library's), by name, with their bytes' hash.
    pub inputs: Vec<(String, String)>,
}

/// How deep files may use each other.
const MAX_USES: usize = 64;

/// Loads a file and what it uses, and reads all their declarations.
pub fn resolve(path: &str, loader: &dyn Loader, sources: &mut Sources, findings: &mut Vec<Diagnostic>) -> Resolved {
    resolve_on(path, None, loader, sources, findings)
}

/// The same on the bench of another file; without one the bench counts that the file itself, or one that it uses, holds.
pub fn resolve_on(path: &str, bench: Option<&str>, loader: &dyn Loader, sources: &mut Sources, findings: &mut Vec<Diagnostic>) -> Resolved {
    let mut files = Vec::new();
    let mut inputs = Vec::new();
    let located = loader.locate(path, None);
    load(&located, None, loader, sources, findings, &mut files, &mut inputs, 0);
    let asked = bench.map(|bench| loader.locate(bench, None));
    if let Some(bench) = &asked {
        load(bench, None, loader, sources, findings, &mut files, &mut inputs, 0);
    }
    let mut collector = Collector::default();
    // The user's own declarations first: the library gives way to them.
    for file in &files {
        collector.file(file, findings);
    }
    let mut drafts_from = Vec::new();
    let mut records_from = Vec::new();
    if let Some(file) = files.first() {
        drafts_from.extend(headed(file, "procedure"));
        records_from = headed(file, "record");
    }
    // A record is read with its procedure, which may stand in a file that this one uses.
    if drafts_from.is_empty() {
        let recorded = |block: &Block| records_from.iter().any(|(record, _)| record.head.word(2) == block.head.word(1));
        drafts_from.extend(files.iter().skip(1).flat_map(|file| headed(file, "procedure")).filter(|(block, _)| recorded(block)));
    }
    // With an error in what is written nothing is going to be judged.
    let judged = !findings.iter().any(Diagnostic::is_error);
    collector.library(&files, judged, sources, findings);
    let mut defs = collector.finish(findings);
    let found = bench_of(&files, asked.as_deref(), sources, findings);
    // What a bench names is known only where all that is written could be read.
    if judged && let Some(bench) = found.and_then(|block| bench::declare(block, &defs, findings)) {
        defs.stand_on(bench);
    }
    let mut drafts: Vec<Draft> = drafts_from.into_iter().filter_map(|(block, doc)| procedure::read(block, doc, &defs, findings)).collect();
    let records: Vec<record::Record> = records_from.into_iter().filter_map(|(block, _)| record::read(block, &defs, findings)).collect();
    // Of the variants that stand in files which this one uses, those of which there is a record.
    let recorded = |variant: &variant::Variant<'_>| {
        let title = Some(&variant.title);
        let own = |record: &record::Record| title == record.variant.as_ref().map(|(title, _)| title) || title == record.called.as_ref();
        records.iter().any(|record| record.of.text == variant.of.text && own(record))
    };
    for (number, file) in files.iter().enumerate() {
        drafts.extend(variants(file, &files, &|variant| number == 0 || recorded(variant), &defs, findings));
    }
    let mut resolved = Resolved { defs, drafts, records, inputs, ..Resolved::default() };
    if let Some((first, others)) = files.split_first() {
        routes(first, others, &files, &mut resolved, findings);
    }
    resolved
}

/// Reads the routes of a file, with what they need of the others that it uses.
fn routes(file: &syntax::File, others: &[syntax::File], files: &[syntax::File], resolved: &mut Resolved, findings: &mut Vec<Diagnostic>) {
    for (block, _) in headed(file, "route") {
        let Some(route) = route::read(block, findings) else { continue };
        if let Some(first) = resolved.routes.iter().find(|first| first.title == route.title) {
            findings.push(
                Diagnostic::new(Code::Duplicate, route.span, format!("there is a route \"{}\" already", route.title))
                    .label(first.span, "the first is here")
                    .help("give this one another title"),
            );
            continue;
        }
        resolved.routes.push(route);
    }
    let Resolved { defs, drafts, routes, staged, earlier, .. } = resolved;
    let stages: Vec<&route::Stage> = routes.iter().flat_map(|route| &route.stages).collect();
    let is_here = |known: &[Draft], name: &str, variant: Option<&String>| {
        known.iter().any(|draft| draft.name.text == name && draft.variant.as_ref() == variant)
    };
    for other in others {
        for (block, doc) in headed(other, "procedure") {
            let named = |stage: &&&route::Stage| block.head.word(1) == Some(stage.procedure.text.as_str());
            let Some(stage) = stages.iter().find(named) else { continue };
            if !is_here(drafts, &stage.procedure.text, None) && !is_here(staged, &stage.procedure.text, None) {
                staged.extend(procedure::read(block, doc, defs, findings));
            }
        }
        if stages.iter().any(|stage| stage.variant.is_some()) {
            let named = |draft: &Draft| {
                let stage = |stage: &&route::Stage| {
                    stage.procedure.text == draft.name.text && stage.variant.as_ref().map(|(title, _)| title) == draft.variant.as_ref()
                };
                stages.iter().any(stage) && !is_here(drafts, &draft.name.text, draft.variant.as_ref())
            };
            staged.extend(variants(other, files, &|_| true, defs, findings).into_iter().filter(named));
        }
        if stages.iter().any(|stage| stage.recorded) {
            earlier.extend(headed(other, "record").into_iter().filter_map(|(block, _)| record::read(block, defs, findings)));
        }
    }
}

/// The variants that a file declares, of procedures of its own or of files that it uses, as far as they are wanted.
fn variants(
    file: &syntax::File,
    files: &[syntax::File],
    wanted: &dyn Fn(&variant::Variant<'_>) -> bool,
    defs: &Definitions,
    findings: &mut Vec<Diagnostic>,
) -> Vec<Draft> {
    let known: Vec<(&Block, String)> = files.iter().flat_map(|file| headed(file, "procedure")).collect();
    let mut read = Vec::new();
    let mut titles: BTreeMap<(String, String), Span> = BTreeMap::new();
    for (block, _) in blocks(file).into_iter().filter(|(block, _)| block.head.first_word() == Some("variant")) {
        let Some(variant) = variant::head(block, findings) else { continue };
        if !wanted(&variant) {
            continue;
        }
        if let Some(first) = titles.insert((variant.of.text.clone(), variant.title.clone()), block.head.span) {
            findings.push(
                Diagnostic::new(Code::Duplicate, block.head.span, format!("there is a variant \"{}\" already", variant.title))
                    .label(first, "the first is here")
                    .help("give this one another title"),
            );
            continue;
        }
        let Some((procedure, doc)) = known.iter().find(|(block, _)| block.head.word(1) == Some(&variant.of.text)) else {
            let names: Vec<&str> = known.iter().filter_map(|(block, _)| block.head.word(1)).collect();
            let near = suggest::near(&variant.of.text, names.iter().copied(), 3);
            let help = match (near.as_slice(), names.as_slice()) {
                ([], []) => "the file has no procedure: name the one that has it with `use \"FILE\"`".to_owned(),
                ([], names) => format!("there is {}", suggest::listed(names, "and")),
                (near, _) => format!("did you mean {}?", suggest::listed(near, "or")),
            };
            findings.push(
                Diagnostic::new(Code::UnknownName, variant.of.span, format!("no procedure is called `{}`", variant.of.text)).help(help),
            );
            continue;
        };
        let Some(changed) = variant.applied(procedure, findings) else { continue };
        // What is wrong with the procedure itself has been told of it.
        let mut found = Vec::new();
        let draft = procedure::read(&changed, doc.clone(), defs, &mut found);
        findings.extend(
            found.into_iter().filter(|new| !findings.iter().any(|old| old.code == new.code && old.span == new.span)).collect::<Vec<_>>(),
        );
        if let Some(mut draft) = draft {
            draft.title = format!("{}: {}", draft.title, variant.title);
            draft.variant = Some(variant.title.clone());
            draft.file = block.head.span.file;
            read.push(draft);
        }
    }
    read
}

/// What one line that stands by itself names: declarations of the library, and before them those of the
/// file at `path` and of what it uses.
pub fn of_line(line: &Line, path: Option<&str>, loader: &dyn Loader, sources: &mut Sources, findings: &mut Vec<Diagnostic>) -> Definitions {
    let mut files = Vec::new();
    if let Some(path) = path {
        load(&loader.locate(path, None), None, loader, sources, findings, &mut files, &mut Vec::new(), 0);
    }
    let mut collector = Collector::default();
    for file in &files {
        collector.file(file, findings);
    }
    files.push(syntax::File { id: line.span.file, nodes: vec![Node::Line(line.clone())] });
    collector.library(&files, false, sources, findings);
    collector.finish(findings)
}

/// The bench that is meant: of the file that was asked for, else of the files that are read anyway.
fn bench_of<'a>(files: &'a [syntax::File], asked: Option<&str>, sources: &Sources, findings: &mut Vec<Diagnostic>) -> Option<&'a Block> {
    let of =
        |file: &'a syntax::File| blocks(file).into_iter().map(|(block, _)| block).filter(|block| block.head.first_word() == Some("bench"));
    let chosen = files.iter().filter(|file| asked.is_none_or(|asked| sources.get(file.id).is_some_and(|source| source.name == asked)));
    let mut benches = chosen.clone().flat_map(of);
    let first = benches.next();
    for second in benches {
        let mut finding = Diagnostic::new(Code::Duplicate, second.head.span, "this is a second bench, and work is done on one");
        if let Some(first) = first {
            finding = finding.label(first.head.span, "the first is here");
        }
        findings.push(finding.help("put each bench into a file of its own, and name the one that is meant with `--bench FILE`"));
    }
    if let (None, Some(asked), Some(file)) = (first, asked, chosen.clone().next_back()) {
        findings.push(
            Diagnostic::new(Code::NoBench, Span::new(file.id, 0..0), format!("`{asked}` holds no bench"))
                .help("a bench is written `bench \"The back kitchen\" { … }`, and lists what stands there"),
        );
    }
    first
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

/// The blocks of a file that begin with this word.
fn headed<'a>(file: &'a syntax::File, word: &str) -> Vec<(&'a Block, String)> {
    blocks(file).into_iter().filter(|(block, _)| block.head.first_word() == Some(word)).collect()
}

/// The declarations that were met, before names can be looked up in them.
#[derive(Default)]
struct Collector {
    defs: Definitions,
    reactions: Vec<Arc<Block>>,
    /// Names declared by the user's own files, with where.
    own: BTreeMap<&'static str, BTreeMap<String, Span>>,
    /// Library entries already read.
    read: BTreeSet<usize>,
    /// Keys of the library already met, and those of them to be looked up.
    met: BTreeSet<usize>,
    todo: Vec<usize>,
}

impl Collector {
    fn file(&mut self, file: &syntax::File, findings: &mut Vec<Diagnostic>) {
        for declared in declared::file(file, findings) {
            self.take(&declared, false, findings);
        }
    }

    /// Whether the name is new among the user's own; in the library the user's own stands.
    fn claim(&mut self, sort: &'static str, name: &str, span: Span, embedded: bool, findings: &mut Vec<Diagnostic>) -> bool {
        if let Some(first) = self.own.get(sort).and_then(|names| names.get(name)) {
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
            self.own.entry(sort).or_default().insert(name.to_owned(), span);
        }
        true
    }

    fn take(&mut self, declared: &Declared, embedded: bool, findings: &mut Vec<Diagnostic>) {
        let (sort, name, span) = match declared {
            Declared::Substance(substance) => ("substance", &substance.name, substance.span),
            Declared::Solution(solution) => ("solution", &solution.name, solution.span),
            Declared::Apparatus(apparatus) => ("apparatus", &apparatus.name, apparatus.span),
            Declared::Instrument(instrument, span) => ("instrument", &instrument.name, *span),
            Declared::Operation(operation) => ("operation", &operation.name, operation.span),
            Declared::Incompatible(pair) => ("incompatible", &pair.name, pair.span),
            Declared::BinaryFit(fit) => ("binary_fit", &fit.name, fit.span),
            Declared::Azeotrope(measured) => ("azeotrope", &measured.name, measured.span),
            Declared::WasteWord(word) => ("waste_word", &word.name, word.span),
            Declared::Rule(rule) => ("rule", &rule.name, rule.span),
            Declared::Broken(verbs) => return self.defs.broken_verbs.extend(verbs.iter().cloned()),
            Declared::Reaction(block) => return self.reactions.push(Arc::clone(block)),
            Declared::HazardText(code, text, source) => {
                let entry = self.defs.hazard_texts.entry(code.clone());
                entry.or_insert_with(|| (Arc::clone(text), Arc::clone(source)));
                return;
            }
        };
        let new = self.claim(sort, name, span, embedded, findings);
        let defs = &mut self.defs;
        match declared {
            Declared::Rule(rule) if new => {
                let rule = if embedded { Arc::clone(rule) } else { Arc::new(Rule { own: true, ..Rule::clone(rule) }) };
                defs.rules.insert(name.clone(), rule);
            }
            // The user's own value of a rule is in force; what the library holds stands beside it.
            Declared::Rule(rule) if embedded => {
                if let Some(own) = defs.rules.get_mut(name).map(Arc::make_mut) {
                    own.others.push(rule.setting.clone());
                    own.others.extend(rule.others.iter().cloned());
                }
            }
            _ if !new => {}
            Declared::Substance(substance) => {
                let sub = Sub(defs.substances.len());
                for name in std::iter::once(&substance.name).chain(&substance.also) {
                    defs.substance_names.entry(name.clone()).or_insert(sub);
                }
                defs.substances.push(Arc::clone(substance));
            }
            Declared::Solution(solution) => defs.solutions.push(Arc::clone(solution)),
            Declared::Apparatus(apparatus) => {
                defs.apparatus.insert(name.clone(), Arc::clone(apparatus));
            }
            Declared::Instrument(instrument, _) => defs.instruments.push(Arc::clone(instrument)),
            Declared::Operation(operation) => {
                defs.operations.entry(operation.form.verb().to_owned()).or_default().push(Arc::clone(operation));
            }
            Declared::Incompatible(pair) => defs.incompatible.push(Arc::clone(pair)),
            Declared::BinaryFit(fit) => defs.binary_fits.push(Arc::clone(fit)),
            Declared::Azeotrope(measured) => defs.azeotropes.push(Arc::clone(measured)),
            Declared::WasteWord(word) => defs.waste_words.push(Arc::clone(word)),
            _ => {}
        }
    }

    /// Reads of the library what the files name, and what that names, until nothing is new; and what
    /// only the judges and the sheet ask for, where they are going to.
    fn library(&mut self, files: &[syntax::File], judged: bool, sources: &mut Sources, findings: &mut Vec<Diagnostic>) {
        let mut words = BTreeSet::new();
        for file in files {
            gather(&file.nodes, &mut words);
        }
        words.extend(["water", "carbon_dioxide", "air_condenser", "conical_flask"]);
        // A temperature to be kept is kept by the usual bath where none is named.
        if words.contains("keeping") {
            words.extend(crate::operations::pace::BATHS);
        }
        if judged {
            words.extend(["*instruments", "*rules", "*waste_words"]);
            let records = |file: &syntax::File| !headed(file, "record").is_empty();
            let with_route = files.first().is_some_and(|file| !headed(file, "route").is_empty());
            if files.first().is_some_and(records) || with_route && files.iter().any(records) {
                words.insert("*every_instrument");
            }
        }
        // A bench calls what measures by its family and size.
        if files.iter().flat_map(blocks).any(|(block, _)| block.head.first_word() == Some("bench")) {
            words.extend(library::names(&["instrument"]));
        }
        self.name(words.into_iter().filter_map(library::find));
        let (mut looked_at, mut reactions) = (0, BTreeSet::new());
        loop {
            while let Some((_, answers)) = self.todo.pop().and_then(library::key) {
                for number in answers {
                    self.entry(*number, sources, findings);
                }
            }
            // A contact reaction is read when all its reactants are here.
            let new = self.defs.substances.get(looked_at..).unwrap_or(&[]);
            reactions.extend(new.iter().flat_map(|substance| library::entries(&format!("+{}", substance.name))));
            looked_at = self.defs.substances.len();
            let here = |number: &&usize| {
                let equation = library::entry(**number).map(|entry| reactants(entry.text));
                equation.is_some_and(|names| names.iter().all(|name| self.defs.find(name).is_some())) && !self.read.contains(*number)
            };
            let ready: Vec<usize> = reactions.iter().filter(here).copied().collect();
            if ready.is_empty() {
                break;
            }
            for number in ready {
                self.entry(number, sources, findings);
            }
        }
        // What was measured of a pair is read when both are here.
        let named = self.defs.substances.iter().flat_map(|substance| library::entries(&format!("&{}", substance.name)));
        let here = |number: &&usize| {
            library::entry(**number).is_some_and(|entry| between(entry.text).iter().all(|name| self.defs.find(name).is_some()))
        };
        let measured: BTreeSet<usize> = named.filter(here).copied().collect();
        for number in measured {
            self.entry(number, sources, findings);
        }
        if !judged {
            return;
        }
        // A pair that does not go together is read when both its sides are here.
        let present: BTreeSet<&str> = self.defs.substances.iter().flat_map(|substance| &substance.goes_by).map(String::as_str).collect();
        let mut pairs = BTreeSet::new();
        for number in present.iter().flat_map(|word| library::entries(&format!("!{word}"))) {
            let sides = library::entry(*number).map(|entry| incompatible::sides(entry.text));
            if sides.is_some_and(|sides| sides.iter().all(|side| side.iter().any(|word| present.contains(*word)))) {
                pairs.insert(*number);
            }
        }
        for number in pairs {
            self.entry(number, sources, findings);
        }
        // Hazard texts last: the codes of what was read.
        let hazards = self.defs.substances.iter().filter_map(|substance| substance.hazards.as_ref());
        let codes: BTreeSet<&str> = hazards.flat_map(|hazards| hazards.value.iter().map(String::as_str)).collect();
        let texts: Vec<usize> = codes.into_iter().flat_map(library::entries).copied().collect();
        for number in texts {
            self.entry(number, sources, findings);
        }
    }

    /// Notes keys of the library that were named and have not been before.
    fn name(&mut self, keys: impl Iterator<Item = usize>) {
        for key in keys {
            if self.met.insert(key) {
                self.todo.push(key);
            }
        }
    }

    fn entry(&mut self, number: usize, sources: &mut Sources, findings: &mut Vec<Diagnostic>) {
        if !self.read.insert(number) {
            return;
        }
        let (Some(entry), Some((declared, found))) = (library::entry(number), declared::entry(number)) else { return };
        sources.note_entry(number);
        findings.extend(found.iter().cloned());
        self.name(entry.names.iter().copied());
        for declared in declared {
            self.take(declared, true, findings);
        }
    }

    fn finish(mut self, findings: &mut Vec<Diagnostic>) -> Definitions {
        self.defs.waste_words.sort_by(|a, b| a.name.cmp(&b.name));
        self.defs
            .instruments
            .sort_by(|a, b| (a.volume, a.range.1).partial_cmp(&(b.volume, b.range.1)).unwrap_or(std::cmp::Ordering::Equal));
        let mut contact = Vec::new();
        for block in &self.reactions {
            match reaction::declare(block, &self.defs, findings) {
                Some(reaction) if reaction.extent == definitions::Extent::OnContact => contact.push(Arc::new(reaction)),
                Some(reaction) => self.defs.known_reactions.push(Arc::new(reaction)),
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

/// Every word and every text that could name a declaration.
fn gather<'a>(nodes: &'a [Node], words: &mut BTreeSet<&'a str>) {
    let line = |line: &'a Line, words: &mut BTreeSet<&'a str>| {
        for token in &line.tokens {
            match &token.tok {
                Tok::Word(word) => {
                    words.insert(word);
                }
                Tok::Quantity(measure) => words.extend(measure.unit.iter().map(|(text, _)| text.as_str())),
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
                    let names = |node: &&Node| matches!(node, Node::Line(line) if line.first_word().is_some_and(|word| !library::stored::WITHOUT_NAMES.contains(&word)));
                    block.body.iter().filter(names).for_each(|node| gather(std::slice::from_ref(node), words));
                } else {
                    gather(&block.body, words);
                }
            }
            Node::Comment(_) => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_an_entry_names_is_stored_with_it() {
        for (number, entry) in library::ENTRIES.iter().enumerate() {
            let Some(file) = library::file(number) else { continue };
            let (tree, _) = syntax::parse(crate::source::FileId::of_entry(number), file);
            let mut words = BTreeSet::new();
            if !library::stored::NAMING_NONE.contains(&entry.sort) {
                gather(&tree.nodes, &mut words);
            }
            let others = |key: &usize| library::key(*key).is_some_and(|(_, answers)| answers != [number]);
            let named: Vec<usize> = words.into_iter().filter_map(library::find).filter(others).collect();
            assert_eq!(named, entry.names, "{}", entry.name);
        }
    }
}
