//! What a block declares by itself, before the names in it are looked up. What the library declares is
//! read once a process and kept: it is the same for every compilation.

use std::sync::{Arc, OnceLock};

use super::azeotrope::{self, Measured};
use super::binary_fit::{self, BinaryFit};
use super::definitions::{Apparatus, Instrument, Operation, Solution, Substance};
use super::incompatible::{self, Incompatible};
use super::rule::{self, Rule};
use super::waste_word::{self, WasteWord};
use super::{blocks, declare, fields, operation, solution};
use crate::diagnostics::{Code, Diagnostic};
use crate::library::{self, COUNT};
use crate::source::{FileId, Span};
use crate::syntax::{self, Block, Line, Node};

/// A declaration.
#[derive(Clone, Debug)]
pub enum Declared {
    /// A substance or an agent.
    Substance(Arc<Substance>),
    /// A solution.
    Solution(Arc<Solution>),
    /// A kind of apparatus.
    Apparatus(Arc<Apparatus>),
    /// An instrument, with where it is declared.
    Instrument(Arc<Instrument>, Span),
    /// An operation.
    Operation(Arc<Operation>),
    /// The verbs of an operation that has an error, which was reported.
    Broken(Vec<String>),
    /// A reaction, to be read when all substances are known.
    Reaction(Arc<Block>),
    /// A pair that does not go together.
    Incompatible(Arc<Incompatible>),
    /// Activity coefficients of a pair, as they were measured.
    BinaryFit(Arc<BinaryFit>),
    /// An azeotrope, as it was measured.
    Azeotrope(Arc<Measured>),
    /// A word of waste labels.
    WasteWord(Arc<WasteWord>),
    /// A threshold of a judge.
    Rule(Arc<Rule>),
    /// A hazard statement: its code, its text, its source.
    HazardText(String, Arc<str>, Arc<str>),
}

/// What a block at the outermost level declares. `None` for a procedure, a bench, a record or a route, and for what could not
/// be read, which has been reported.
pub fn block(block: &Block, doc: &str, findings: &mut Vec<Diagnostic>) -> Option<Declared> {
    Some(match block.head.first_word() {
        Some("procedure" | "bench" | "variant" | "record" | "route") => return None,
        Some(sort @ ("substance" | "agent")) => Declared::Substance(Arc::new(declare::substance(block, doc, sort == "agent", findings)?)),
        Some("solution") => Declared::Solution(Arc::new(solution::solution(block, findings)?)),
        Some("apparatus") => Declared::Apparatus(Arc::new(declare::apparatus(block, findings)?)),
        Some("instrument") => Declared::Instrument(Arc::new(declare::instrument(block, findings)?), block.head.span),
        Some("operation") => match operation::declare(block, doc, findings) {
            Some(operation) => Declared::Operation(Arc::new(operation)),
            None => {
                let forms = block.body.iter().filter_map(|node| match node {
                    Node::Line(line) if line.first_word() == Some("form") => line.word(1),
                    _ => None,
                });
                Declared::Broken(forms.chain(block.head.word(1)).map(str::to_owned).collect())
            }
        },
        Some("reaction") => Declared::Reaction(Arc::new(block.clone())),
        Some("incompatible") => Declared::Incompatible(Arc::new(incompatible::declare(block, findings)?)),
        Some("binary_fit") => Declared::BinaryFit(Arc::new(binary_fit::declare(block, findings)?)),
        Some("azeotrope") => Declared::Azeotrope(Arc::new(azeotrope::declare(block, findings)?)),
        Some("waste_word") => Declared::WasteWord(Arc::new(waste_word::declare(block, findings)?)),
        Some("rule") => Declared::Rule(Arc::new(rule::declare(block, findings)?)),
        _ => {
            if !block.head.broken {
                let at = block.head.tokens.first().map_or(block.open, |token| token.span);
                findings.push(Diagnostic::new(Code::SyntaxExpected, at, "no such block stands here").help(
                    "at the outermost level stand `procedure`, `bench`, `variant`, `record`, `route`, `operation`, `substance`, `agent`, \
                         `solution`, \
                         `reaction`, `apparatus`, `instrument`, `rule`, `incompatible`, `binary_fit`, `azeotrope` and `waste_word`",
                ));
            }
            return None;
        }
    })
}

/// What a line outside of every block declares.
pub fn line(line: &Line, findings: &mut Vec<Diagnostic>) -> Option<Declared> {
    match line.first_word() {
        _ if line.broken || line.tokens.is_empty() => None,
        Some("use") => None,
        Some("hazard_text") => {
            let read = fields::Field::of(line).and_then(|mut field| {
                let code = field.name_or_text()?;
                field.comma();
                let text = field.name_or_text()?;
                field.end()?;
                Ok(Declared::HazardText(code, Arc::from(text), field.source))
            });
            read.map_err(|finding| findings.push(finding)).ok()
        }
        _ => {
            findings.push(
                Diagnostic::new(Code::SyntaxExpected, line.span, "this line stands outside of every block")
                    .help("statements stand inside `procedure NAME \"Title\" { … }`"),
            );
            None
        }
    }
}

/// All that a file declares: its blocks, then its lines.
pub fn file(file: &syntax::File, findings: &mut Vec<Diagnostic>) -> Vec<Declared> {
    let mut found: Vec<Declared> = blocks(file).into_iter().filter_map(|(inner, doc)| block(inner, &doc, findings)).collect();
    for node in &file.nodes {
        if let Node::Line(inner) = node {
            found.extend(line(inner, findings));
        }
    }
    found
}

type Kept = Box<(Vec<Declared>, Vec<Diagnostic>)>;

/// What an entry of the library declares, and what is wrong with it.
pub fn entry(number: usize) -> Option<&'static (Vec<Declared>, Vec<Diagnostic>)> {
    static KEPT: [OnceLock<Kept>; COUNT] = [const { OnceLock::new() }; COUNT];
    let entry = library::entry(number)?;
    Some(KEPT.get(number)?.get_or_init(|| {
        let (tree, mut findings) = syntax::parse_stored(FileId::of_entry(number), entry.text, entry.found);
        Box::new((file(&tree, &mut findings), findings))
    }))
}
