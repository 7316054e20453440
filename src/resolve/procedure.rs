//! Procedures: statements are read by the forms of their operations. Names are not looked up yet.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::about::{self, About};
use super::allow::{self, Allow};
use super::cursor::{Cursor, Failure, Name};
use super::definitions::{Definitions, Operation, Reaction};
use super::matcher::{self, Matched, RawMaterial};
use super::reaction;
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::source::{FileId, Span};
use crate::syntax::{Block, Line, Node, Tok, Token};

/// What could not be read, so that findings which would only follow from it stay silent.
#[derive(Clone, Debug, Default)]
pub struct Taint {
    /// Every word of a statement that could not be read.
    pub words: BTreeSet<String>,
    /// Whether a name may be missing altogether.
    pub lost: bool,
}

impl Taint {
    /// Whether a finding about this name could follow from something that could not be read.
    #[must_use]
    pub fn covers(&self, name: &str) -> bool {
        // Two words that ran together still cover both.
        self.lost || self.words.contains(name) || name.len() >= 3 && self.words.iter().any(|word| word.contains(name))
    }

    fn line(&mut self, line: &Line) {
        for token in &line.tokens {
            match &token.tok {
                Tok::Word(word) => {
                    self.words.insert(word.clone());
                }
                Tok::Quantity(measure) => self.words.extend(measure.unit.iter().map(|(text, _)| text.clone())),
                Tok::Text(text) if line.broken => {
                    self.words.extend(text.split(|c: char| !(c.is_alphanumeric() || c == '_')).map(str::to_owned));
                    self.lost = true;
                }
                _ => {}
            }
        }
    }

    fn nodes(&mut self, nodes: &[Node]) {
        for node in nodes {
            match node {
                Node::Line(line) => self.line(line),
                Node::Block(block) => {
                    self.line(&block.head);
                    self.nodes(&block.body);
                }
                Node::Comment(_) => {}
            }
        }
    }
}

/// `take NAME = material`
#[derive(Clone, Debug)]
pub struct DraftTake {
    /// The portion's name.
    pub name: Name,
    /// What is taken.
    pub material: RawMaterial,
    /// The whole statement.
    pub span: Span,
}

/// A statement that fits its operation's form.
#[derive(Clone, Debug)]
pub struct DraftStatement {
    /// The operation.
    pub operation: Arc<Operation>,
    /// What fills its form.
    pub matched: Matched,
    /// When it is done, where it is done only if needed.
    pub only_if: Option<Arc<str>>,
    /// The whole statement.
    pub span: Span,
    /// The step it stands in.
    pub step: Option<usize>,
}

/// What stands in a step or between steps, in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Entry {
    /// The statement of that number.
    Statement(usize),
    /// `note "…"`
    Note(String),
    /// `caution "…"`
    Caution(String),
    /// `expect "…"`
    Expect(String),
    /// `atmosphere nitrogen`, from there to the end of the step.
    Atmosphere(String),
}

/// A heading with what stands under it.
#[derive(Clone, Debug)]
pub struct Step {
    /// The heading; `None` for statements outside of steps.
    pub title: Option<String>,
    /// What stands under it.
    pub entries: Vec<Entry>,
}

/// A procedure before its names are looked up.
#[derive(Clone, Debug)]
pub struct Draft {
    /// Its name.
    pub name: Name,
    /// Its title.
    pub title: String,
    /// The variant of it that this is, by its title.
    pub variant: Option<String>,
    /// The file that declares it: of a variant that with the variant.
    pub file: FileId,
    /// The head of its block.
    pub span: Span,
    /// Where it ends.
    pub end: Span,
    /// The doc comment above it.
    pub doc: String,
    /// What it says about itself.
    pub about: About,
    /// The portion that it is based on.
    pub basis: Option<Name>,
    /// What is taken.
    pub takes: Vec<DraftTake>,
    /// Reactions by declaration.
    pub reactions: Vec<Arc<Reaction>>,
    /// Statements in order.
    pub statements: Vec<DraftStatement>,
    /// Steps in order.
    pub steps: Vec<Step>,
    /// Findings that the author stands by.
    pub allows: Vec<Allow>,
    /// What could not be read.
    pub taint: Taint,
}

/// Lines that no finding of a judge is about, so that an allowance is not for them.
const SAYS: [&str; 5] = ["allow", "basis", "note", "caution", "expect"];

struct Reader<'a> {
    defs: &'a Definitions,
    findings: &'a mut Vec<Diagnostic>,
    draft: Draft,
    basis_seen: bool,
    /// Allowances that wait for the statement they stand before.
    pending: Vec<Allow>,
}

/// Reads a procedure.
pub fn read(block: &Block, doc: String, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Option<Draft> {
    let (name, title) = match block.head.tokens.as_slice() {
        [_, Token { tok: Tok::Word(name), span, .. }, rest @ ..] => {
            let title = match rest {
                [] => name.replace('_', " "),
                [Token { tok: Tok::Text(title), .. }] => title.clone(),
                [token, ..] => {
                    let token = match token.tok {
                        Tok::Text(_) => rest.get(1).unwrap_or(token),
                        _ => token,
                    };
                    findings.push(
                        Diagnostic::new(Code::SyntaxExpected, token.span, "the title in quotation marks and the opening brace belong here")
                            .help("a procedure begins `procedure NAME \"Title\" {`"),
                    );
                    return None;
                }
            };
            (Name { text: name.clone(), span: *span }, title)
        }
        _ => {
            let at = block.head.tokens.get(1).map_or(block.head.span.after(), |token| token.span);
            findings.push(
                Diagnostic::new(Code::SyntaxExpected, at, "the name of the procedure belongs here")
                    .help("a procedure begins `procedure NAME \"Title\" {`"),
            );
            return None;
        }
    };
    let draft = Draft {
        name,
        title,
        variant: None,
        file: block.head.span.file,
        span: block.head.span,
        end: block.close,
        doc,
        about: About::default(),
        basis: None,
        takes: Vec::new(),
        reactions: Vec::new(),
        statements: Vec::new(),
        steps: Vec::new(),
        allows: Vec::new(),
        taint: Taint::default(),
    };
    let mut reader = Reader { defs, findings, draft, basis_seen: false, pending: Vec::new() };
    reader.reactions(&block.body);
    reader.about(&block.body);
    reader.body(&block.body, None);
    for allow in std::mem::take(&mut reader.pending) {
        reader.findings.push(
            Diagnostic::new(Code::CannotAllow, allow.span, "nothing follows that this could be about")
                .help("an `allow` stands just before the statement that the finding is about"),
        );
    }
    if !reader.basis_seen && !reader.draft.taint.lost {
        let finding = Diagnostic::new(Code::SyntaxExpected, reader.draft.span, "this procedure does not say what it is based on")
            .help("write `basis NAME` with the name of a portion taken: equivalents and yields are counted on it");
        if reader.draft.taint.words.is_empty() {
            reader.findings.push(finding);
        }
    }
    Some(reader.draft)
}

impl Reader<'_> {
    /// Reactions are declared before any statement runs them, wherever they stand.
    fn reactions(&mut self, nodes: &[Node]) {
        for node in nodes {
            let Node::Block(block) = node else { continue };
            if block.head.first_word() != Some("reaction") {
                continue;
            }
            match reaction::declare(block, self.defs, self.findings) {
                Some(read) => {
                    if let Some(first) = self.draft.reactions.iter().find(|known| known.name == read.name) {
                        self.findings.push(
                            Diagnostic::new(Code::Duplicate, read.span, format!("a second reaction is called `{}`", read.name))
                                .label(first.span, "the first is here")
                                .help("give one of them another name"),
                        );
                    }
                    self.draft.reactions.push(Arc::new(read));
                }
                None => {
                    self.draft.taint.line(&block.head);
                    if block.head.tokens.len() != 2 {
                        self.draft.taint.lost = true;
                    }
                }
            }
        }
    }

    /// What the procedure says about itself is read before its work: a drop has a size everywhere.
    fn about(&mut self, nodes: &[Node]) {
        for node in nodes {
            match node {
                Node::Line(line) if !line.broken && self.is_about(line) => {
                    if let Err(finding) = about::line(line, self.defs, &mut self.draft.about) {
                        self.findings.push(*finding);
                    }
                }
                Node::Block(block) if block.head.first_word() == Some("identity") => {
                    self.draft.about.identity.extend(about::identity(block, self.findings));
                }
                _ => {}
            }
        }
    }

    /// Whether a line is about the procedure; an operation of that name comes first.
    fn is_about(&self, line: &Line) -> bool {
        line.first_word().is_some_and(|word| about::LINES.contains(&word) && !self.defs.operations.contains_key(word))
    }

    fn body(&mut self, nodes: &[Node], step: Option<usize>) {
        for node in nodes {
            match node {
                Node::Comment(_) => {}
                Node::Line(line) if line.tokens.is_empty() => {}
                Node::Line(line) if line.broken => self.draft.taint.line(line),
                Node::Line(line) => self.line(&about::without_drops(line, self.draft.about.drop.as_ref()), step),
                Node::Block(block) => match block.head.first_word() {
                    Some("reaction") => self.attach(block.head.span.to(block.close)),
                    Some("identity") if step.is_none() => {}
                    Some("step") if step.is_none() => self.step(block),
                    _ => {
                        if !block.head.broken {
                            let at = block.head.tokens.first().map_or(block.open, |token| token.span);
                            self.findings.push(
                                Diagnostic::new(Code::SyntaxExpected, at, "no such block stands inside a procedure").help(
                                    "inside a procedure stand `reaction NAME { … }`, `step \"Title\" { … }` and `identity NAME { … }`",
                                ),
                            );
                        }
                        self.draft.taint.line(&block.head);
                        self.draft.taint.nodes(&block.body);
                        self.draft.taint.lost = true;
                    }
                },
            }
        }
    }

    fn step(&mut self, block: &Block) {
        let title = match block.head.tokens.as_slice() {
            [_, Token { tok: Tok::Text(title), .. }] => title.clone(),
            tokens => {
                if !block.head.broken {
                    let wrong = tokens.iter().skip(1).find(|token| !matches!(token.tok, Tok::Text(_)));
                    let at = wrong.map_or(block.head.span.after(), |token| token.span);
                    self.findings.push(
                        Diagnostic::new(Code::SyntaxExpected, at, "a step has a title in quotation marks and nothing else before `{`")
                            .help("write `step \"Esterify\" {`"),
                    );
                }
                String::new()
            }
        };
        let number = self.draft.steps.len();
        self.draft.steps.push(Step { title: Some(title), entries: Vec::new() });
        self.body(&block.body, Some(number));
    }

    fn entry(&mut self, step: Option<usize>, entry: Entry) {
        match step.and_then(|number| self.draft.steps.get_mut(number)) {
            Some(step) => step.entries.push(entry),
            None => match self.draft.steps.last_mut() {
                Some(last) if last.title.is_none() => last.entries.push(entry),
                _ => self.draft.steps.push(Step { title: None, entries: vec![entry] }),
            },
        }
    }

    fn line(&mut self, line: &Line, step: Option<usize>) {
        if !line.first_word().is_some_and(|word| SAYS.contains(&word)) {
            self.attach(line.span);
        }
        match line.first_word() {
            Some("basis") => self.basis(line),
            Some("allow") => match allow::read(line) {
                Ok(allow) => self.pending.push(allow),
                Err(finding) => self.findings.push(finding),
            },
            Some("take") => self.take(line),
            Some(word @ ("note" | "caution" | "expect")) => match line.tokens.as_slice() {
                [_, Token { tok: Tok::Text(text), .. }] => {
                    let text = text.clone();
                    let entry = match word {
                        "note" => Entry::Note(text),
                        "caution" => Entry::Caution(text),
                        _ => Entry::Expect(text),
                    };
                    self.entry(step, entry);
                }
                tokens => {
                    let at = tokens.get(1).map_or(line.span.after(), |token| token.span);
                    self.findings.push(
                        Diagnostic::new(Code::SyntaxExpected, at, format!("`{word}` is followed by one text in quotation marks"))
                            .help(format!("write `{word} \"…\"`")),
                    );
                }
            },
            Some(_) if self.is_about(line) => match (line.first_word(), step) {
                (_, None) => {}
                (Some("atmosphere"), Some(_)) => self.atmosphere(line, step),
                _ => self.findings.push(about::misplaced(line)),
            },
            Some("if") if !self.defs.operations.contains_key("if") => self.only_if(line, step),
            Some(verb) => self.statement(line, verb, None, step),
            None => {
                let at = line.tokens.first().map_or(line.span, |token| token.span);
                self.findings.push(Diagnostic::new(
                    Code::SyntaxExpected,
                    at,
                    "a statement begins with a verb: `combine`, `reflux`, `wash` …",
                ));
                self.draft.taint.line(line);
            }
        }
    }

    /// `if "the layers do not part" add brine, 20 mL to crude`
    fn only_if(&mut self, line: &Line, step: Option<usize>) {
        const FORM: &str = "if \"the layers do not part\" add brine, 20 mL to crude";
        let mut cursor = Cursor::new(line.tokens.get(1..).unwrap_or(&[]), line.span.after());
        let Some(Tok::Text(when)) = cursor.peek() else {
            return self.failed(&cursor.failure("a text in quotation marks", false), FORM, line);
        };
        cursor.advance();
        let rest = Line { tokens: line.tokens.get(2..).unwrap_or(&[]).to_vec(), comments: Vec::new(), ..*line };
        match rest.first_word() {
            Some(verb) => self.statement(&rest, verb, Some(Arc::from(when.as_str())), step),
            None => self.failed(&cursor.failure("an operation", false), FORM, line),
        }
    }

    /// An atmosphere that holds from here to the end of the step.
    fn atmosphere(&mut self, line: &Line, step: Option<usize>) {
        let mut cursor = Cursor::new(line.tokens.get(1..).unwrap_or(&[]), line.span.after());
        let read = about::atmosphere(&mut cursor, self.defs);
        match read {
            Ok(Ok(gas)) if cursor.is_done() => self.entry(step, Entry::Atmosphere(gas)),
            Ok(Err(finding)) => self.findings.push(*finding),
            Ok(_) => self.failed(&cursor.failure("the end of the line", false), "atmosphere nitrogen", line),
            Err(failure) => self.failed(&failure, "atmosphere nitrogen", line),
        }
    }

    /// What the allowances before a statement are about is now known.
    fn attach(&mut self, statement: Span) {
        let first = self.draft.allows.is_empty() && self.draft.takes.is_empty() && self.draft.statements.is_empty();
        for mut allow in self.pending.drain(..) {
            allow.covers.push(statement);
            if first {
                allow.covers.push(self.draft.span);
            }
            self.draft.allows.push(allow);
        }
    }

    fn basis(&mut self, line: &Line) {
        self.basis_seen = true;
        match line.tokens.as_slice() {
            [_, Token { tok: Tok::Word(name), span, .. }] => {
                let name = Name { text: name.clone(), span: *span };
                if self.draft.basis.is_some() {
                    self.findings.push(Diagnostic::new(Code::Duplicate, line.span, "a procedure has one basis, and this is the second"));
                } else {
                    self.draft.basis = Some(name);
                }
            }
            tokens => {
                let at = tokens.get(if tokens.len() > 2 { 2 } else { 1 }).map_or(line.span.after(), |token| token.span);
                self.findings.push(
                    Diagnostic::new(Code::SyntaxExpected, at, "`basis` is followed by the name of one portion taken")
                        .help("write `basis NAME`"),
                );
            }
        }
    }

    fn take(&mut self, line: &Line) {
        let mut cursor = Cursor::new(line.tokens.get(1..).unwrap_or(&[]), line.span.after());
        let mut findings = Vec::new();
        let read = (|| -> Result<(Name, RawMaterial), Failure> {
            let name = cursor.name("the name that the portion is to have")?;
            if !matches!(cursor.peek(), Some(Tok::Sign("="))) {
                return Err(cursor.failure("`=`", false));
            }
            cursor.advance();
            let what = cursor.name("a substance")?;
            let material = matcher::read_material(&mut cursor, what, &[], &mut findings)?;
            if !cursor.is_done() {
                return Err(cursor.failure(if material.amount.is_some() { "the end of the statement" } else { "a comma" }, false));
            }
            if material.amount.is_none() {
                return Err(cursor.failure("a comma and the amount", false));
            }
            Ok((name, material))
        })();
        match read {
            Ok((name, material)) => {
                self.findings.extend(findings);
                self.draft.takes.push(DraftTake { name, material, span: line.span });
            }
            Err(failure) => {
                self.findings.extend(findings);
                self.failed(&failure, "take NAME = material, grade, amount", line);
            }
        }
    }

    fn failed(&mut self, failure: &Failure, form: &str, line: &Line) {
        self.draft.taint.line(line);
        self.draft.taint.lost |= failure.lost;
        let finding = if let Some(comma) = failure.comma {
            Diagnostic::new(Code::SyntaxExpected, failure.span, format!("a comma is missing before {}", failure.met))
                .help(format!("write the names of a list with commas between them: `{form}`"))
                .edit(comma, ",")
        } else {
            let expected: Vec<&str> = failure.expected.iter().map(String::as_str).filter(|text| !text.is_empty()).collect();
            let expected = match expected.as_slice() {
                [] => "nothing more".to_owned(),
                [one] => (*one).to_owned(),
                [init @ .., last] => format!("{} or {last}", init.join(", ")),
            };
            Diagnostic::new(Code::SyntaxExpected, failure.span, format!("{expected} could stand here; {} was met", failure.met))
                .help(format!("the form is `{form}`"))
        };
        self.findings.push(finding);
    }

    fn statement(&mut self, line: &Line, verb: &str, only_if: Option<Arc<str>>, step: Option<usize>) {
        let at = line.tokens.first().map_or(line.span, |token| token.span);
        if self.defs.broken_verbs.contains(verb) {
            self.draft.taint.line(line);
            self.draft.taint.lost = true;
            return;
        }
        let Some(candidates) = self.defs.operations.get(verb) else {
            let own = self.defs.operations.keys().map(String::as_str);
            let library = crate::library::names(&["operation"]);
            let built_in = ["take", "basis", "note", "caution", "expect", "allow"];
            let near = suggest::near(verb, own.chain(library).chain(built_in).chain(about::LINES.iter().copied()), 3);
            let mut finding = Diagnostic::new(Code::UnknownOperation, at, format!("no operation is called `{verb}`"));
            finding = match near.as_slice() {
                [] => finding.help("a statement begins with a verb; declare a new one with `operation`"),
                [one] => finding.help(format!("did you mean `{one}`?")).guess(at, (*one).to_owned()),
                _ => finding.help(format!("did you mean {}?", suggest::listed(&near, "or"))),
            };
            self.findings.push(finding);
            self.draft.taint.line(line);
            return;
        };
        let mut worst: Option<(Failure, &Arc<Operation>)> = None;
        let mut lost = false;
        for operation in candidates {
            match matcher::read(&operation.form, &line.tokens, line.span) {
                Ok(matched) => {
                    self.findings.extend(matched.findings.iter().cloned());
                    let number = self.draft.statements.len();
                    self.draft.statements.push(DraftStatement {
                        operation: Arc::clone(operation),
                        matched,
                        only_if,
                        span: line.span,
                        step,
                    });
                    self.entry(step, Entry::Statement(number));
                    return;
                }
                Err(failure) => {
                    // Whichever form was meant, a name that one of them misses may be lost.
                    lost |= failure.lost;
                    if worst.as_ref().is_none_or(|(known, _)| failure.at > known.at) {
                        worst = Some((failure, operation));
                    }
                }
            }
        }
        if let Some((failure, operation)) = worst {
            self.draft.taint.lost |= lost;
            self.failed(&failure, &operation.form.shown(), line);
        }
    }
}
