//! What is asked about a mixture without a procedure: one line that lists materials or substances,
//! read with the words, units and names of the language.

pub mod system;

use crate::diagnostics::{Code, Diagnostic, arrange, suggest};
use crate::evaluate::{Evaluation, amounts};
use crate::kinds::{Kind, unit};
use crate::library;
use crate::load::Loader;
use crate::matter::linear::{self, Material, Procedure};
use crate::matter::portion::Masses;
use crate::resolve::about::About;
use crate::resolve::cursor::{Cursor, Failure, Name};
use crate::resolve::definitions::{Definitions, Sub};
use crate::resolve::matcher::{self, RawMaterial, STRENGTH_KINDS};
use crate::resolve::reaction::unknown_substance;
use crate::resolve::{self, quantity};
use crate::source::{Sources, Span};
use crate::syntax::parse::parse_line;
use crate::syntax::{Line, Tok, Token};

/// The longest line that is read, in bytes, and the most materials on it.
const LONGEST: usize = 4096;
const MOST: usize = 24;

/// A line as it was read. Where a finding is an error, the rest is not complete.
#[derive(Debug, Default)]
pub struct Asked {
    /// All texts that were read.
    pub sources: Sources,
    /// All findings, errors first.
    pub findings: Vec<Diagnostic>,
    /// What the line names.
    pub defs: Definitions,
    /// Each substance with where it stands, in the order of the line; what a strength brings along
    /// stands behind what it thins.
    pub substances: Vec<(Sub, Span)>,
    /// How much there is of each, kg; nothing for a line of names.
    pub masses: Masses,
}

impl Asked {
    /// Whether an error was found.
    #[must_use]
    pub fn has_errors(&self) -> bool {
        self.findings.iter().any(Diagnostic::is_error)
    }

    /// Where a substance stands on the line.
    #[must_use]
    pub fn place(&self, sub: Sub) -> Option<Span> {
        self.substances.iter().find(|(own, _)| *own == sub).map(|(_, span)| *span)
    }

    /// Adds findings that came later, and puts all in order.
    pub fn report(&mut self, findings: impl IntoIterator<Item = Diagnostic>) {
        self.findings.extend(findings);
        arrange(&mut self.findings, &self.sources);
    }

    /// Reads what stands behind an option: one quantity of that kind.
    pub fn quantity(&mut self, option: &str, text: &str, kind: Kind) -> Option<(f64, Span)> {
        let id = self.sources.add(option, text.to_owned(), false);
        let whole = Span::new(id, 0..text.len());
        let (line, found) = parse_line(id, self.sources.get(id)?);
        let read = match (found.into_iter().next(), line.tokens.as_slice()) {
            (Some(finding), _) => Err(finding),
            (None, [Token { tok: Tok::Quantity(measure), .. }]) => quantity::read(measure, &[kind]),
            (None, _) => Err(Diagnostic::new(Code::SyntaxExpected, whole, format!("one quantity with its unit belongs behind `{option}`"))
                .help(format!("such as `{option} \"{}\"`", kind.example()))),
        };
        let read = read.and_then(|figure| match figure.high {
            None => Ok(figure.low),
            Some(_) => Err(Diagnostic::new(Code::OutOfRange, whole, format!("`{option}` wants one figure, not a range"))),
        });
        read.map(|value| (value, whole)).map_err(|finding| self.report([finding])).ok()
    }

    fn line(text: &str, name: &str, path: Option<&str>, loader: &dyn Loader) -> (Self, Option<Line>) {
        let mut asked = Self::default();
        let shown = text.get(..LONGEST.min(text.len())).unwrap_or("");
        let too_long = text.len() > LONGEST;
        let id = asked.sources.add(name, if too_long { shown } else { text }.to_owned(), false);
        if too_long {
            let at = Span::new(id, 0..0);
            asked.findings.push(Diagnostic::new(
                Code::SyntaxTooLarge,
                at,
                format!("this is longer than {LONGEST} bytes, the most that is read"),
            ));
            return (asked, None);
        }
        let Some((mut line, found)) = asked.sources.get(id).map(|file| parse_line(id, file)) else { return (asked, None) };
        line.tokens = with_long_names(&line.tokens);
        asked.findings.extend(found);
        asked.defs = resolve::of_line(&line, path, loader, &mut asked.sources, &mut asked.findings);
        (asked, Some(line))
    }
}

/// A mixture: materials as in a procedure, `ethanol, 96 % v/v, 80 mL`, with commas between them; the
/// comma between a name and its amount may be left out, `ethanol 80 g, water 10 g`. What `path`
/// declares holds beside the library.
#[must_use]
pub fn mixture(text: &str, path: Option<&str>, loader: &dyn Loader) -> Asked {
    let (mut asked, line) = Asked::line(text, "mixture", path, loader);
    let Some(line) = line else { return asked };
    if !line.broken {
        let mut found = Vec::new();
        let raws = materials(&line, &asked.defs, &mut found);
        let materials = linear::materials(&raws, &asked.defs, &mut found);
        // A figure that was found fault with would be found fault with again.
        let good = !found.iter().chain(&asked.findings).any(Diagnostic::is_error);
        for material in materials.iter().flatten().filter(|_| good) {
            asked.pour(material, &mut found);
        }
        asked.findings.extend(found);
    }
    asked.report([]);
    asked
}

/// Substances by name, with blanks or commas between them.
#[must_use]
pub fn substances(text: &str, path: Option<&str>, loader: &dyn Loader) -> Asked {
    let (mut asked, line) = Asked::line(text, "substances", path, loader);
    let Some(line) = line else { return asked };
    let mut found = Vec::new();
    for token in line.tokens.iter().filter(|_| !line.broken) {
        match &token.tok {
            Tok::Sign(",") => {}
            Tok::Word(word) => match asked.defs.find(word) {
                Some(sub) => match asked.place(sub) {
                    Some(first) => found.push(
                        Diagnostic::new(Code::Duplicate, token.span, format!("`{word}` is named a second time"))
                            .label(first, "the first is here"),
                    ),
                    None => asked.substances.push((sub, token.span)),
                },
                None => found.push(unknown(&Name { text: word.clone(), span: token.span }, &asked.defs)),
            },
            tok => found.push(
                Diagnostic::new(
                    Code::SyntaxExpected,
                    token.span,
                    format!("the name of a substance could stand here; `{}` was met", tok.written()),
                )
                .help("amounts play no part in azeotropes: write names only, `ethanol water toluene`"),
            ),
        }
    }
    asked.report(found);
    asked
}

impl Asked {
    /// Works out how much a material comes to, and adds it.
    fn pour(&mut self, material: &Material, findings: &mut Vec<Diagnostic>) {
        let name = &material.written.text;
        if material.amount.enough {
            findings.push(
                Diagnostic::new(Code::CannotSize, material.amount.span, format!("nothing decides how much `{name}` is enough here"))
                    .help("give an amount"),
            );
            return;
        }
        let procedure = nothing(material.span);
        let mut evaluation = Evaluation::new(1.0);
        match amounts::dispense(&mut evaluation, &procedure, &self.defs, material, name, false) {
            Ok(dispensed) => {
                let masses = dispensed.portion.masses();
                // The main substance first, then what it brings along.
                let others = masses.keys().copied().filter(|sub| *sub != material.sub);
                for sub in std::iter::once(material.sub).chain(others) {
                    if self.place(sub).is_none() {
                        self.substances.push((sub, material.span));
                    }
                    *self.masses.entry(sub).or_insert(0.0) += masses.get(&sub).copied().unwrap_or(0.0);
                }
            }
            Err(finding) => findings.push(match finding.code {
                // There is no basis here to count on.
                Code::CannotSize => Diagnostic { help: Some("give it by mass, volume or moles".to_owned()), ..*finding },
                _ => *finding,
            }),
        }
    }
}

/// A procedure in which nothing is done: what amounts are worked out in.
fn nothing(span: Span) -> Procedure {
    Procedure {
        name: String::new(),
        title: String::new(),
        variant: None,
        doc: String::new(),
        about: About::default(),
        span,
        end: span,
        basis: usize::MAX,
        basis_span: span,
        takes: Vec::new(),
        supplied: std::collections::BTreeSet::new(),
        reactions: Vec::new(),
        contact: Vec::new(),
        statements: Vec::new(),
        steps: Vec::new(),
        bindings: Vec::new(),
        allows: Vec::new(),
    }
}

/// The materials of a line.
fn materials(line: &Line, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Vec<RawMaterial> {
    let tokens = with_commas(&line.tokens);
    if tokens.is_empty() {
        findings.push(
            Diagnostic::new(Code::SyntaxExpected, line.span, "there is nothing in this mixture")
                .help("write materials with their amounts: `ethanol 80 g, water 10 g`"),
        );
    }
    let mut cursor = Cursor::new(&tokens, line.span.after());
    let mut read = Vec::new();
    while !cursor.is_done() {
        match material(&mut cursor, defs, findings) {
            Ok(raw) => read.push(raw),
            Err(failure) => {
                findings.push(failed(&failure));
                break;
            }
        }
        if read.len() > MOST {
            let at = read.last().map_or(line.span, |raw| raw.span);
            findings.push(Diagnostic::new(
                Code::SyntaxTooLarge,
                at,
                format!("these are more than {MOST} materials, the most that are read"),
            ));
            break;
        }
        if cursor.is_done() {
            break;
        }
        if !cursor.comma() {
            findings.push(
                Diagnostic::new(Code::SyntaxExpected, cursor.here(), "a comma belongs between two materials")
                    .help("such as `ethanol 80 g, water 10 g`")
                    .edit(cursor.before().after(), ","),
            );
            break;
        }
        cursor.advance();
        if cursor.is_done() {
            findings.push(failed(&cursor.failure("another material", false)));
        }
    }
    read
}

/// One material with its amount.
fn material(cursor: &mut Cursor<'_>, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Result<RawMaterial, Failure> {
    if let Some(Tok::Quantity(_)) = cursor.peek() {
        return Err(cursor.failure("the name of a material, before its amount,", false));
    }
    let name = cursor.name("the name of a material")?;
    // A name behind a comma is the next material: the amount of this one is missing.
    let next = cursor.comma().then(|| cursor.peek_at(1)).flatten();
    let lone = cursor.is_done()
        || matches!(next, Some(Tok::Word(word)) if defs.find(word).is_some() && !matches!(cursor.peek_at(2), Some(Tok::Sign(",")) if is_grade(&name, word, defs)));
    if lone || !cursor.comma() {
        let mut failure = cursor.failure(&format!("the amount of `{}`, such as `80 g`,", name.text), false);
        if lone {
            failure.span = name.span.after();
        }
        return Err(failure);
    }
    let raw = matcher::read_material(cursor, name, &[], findings)?;
    if raw.amount.is_none() {
        return Err(cursor.failure(&format!("the amount of `{}`, such as `80 g`,", raw.name.text), false));
    }
    Ok(raw)
}

/// Whether a word is a grade of a material although a substance has the same name.
fn is_grade(material: &Name, word: &str, defs: &Definitions) -> bool {
    let own = defs.find(&material.text).is_some_and(|sub| defs.substance(sub).grades.iter().any(|grade| grade == word));
    own || defs.solution_of(&material.text).is_some_and(|solution| solution.grades.contains_key(word))
}

/// Words in a name of one substance.
const LONG: usize = 4;

/// The tokens with names of several words as one, `ethyl alcohol`, and in quotation marks too; blanks may
/// stand for the underscores of a name.
fn with_long_names(tokens: &[Token]) -> Vec<Token> {
    let known = |name: &str| {
        ["substance", "agent", "solution"]
            .iter()
            .any(|sort| library::entries(name).iter().filter_map(|at| library::entry(*at)).any(|entry| entry.sort == *sort))
    };
    let mut out = Vec::with_capacity(tokens.len());
    let mut rest = tokens;
    while let Some((first, behind)) = rest.split_first() {
        let words: Vec<&str> =
            rest.iter().take(LONG).map_while(|token| if let Tok::Word(word) = &token.tok { Some(word.as_str()) } else { None }).collect();
        let long = (2..=words.len()).rev().find_map(|count| {
            let words = words.get(..count)?;
            [words.join(" "), words.join("_")].into_iter().find(|name| known(name)).map(|name| (count, name))
        });
        let text = if let Tok::Text(text) = &first.tok { Some(text).filter(|text| known(text)) } else { None };
        let (count, token) = match (long, text) {
            (Some((count, name)), _) => {
                let last = rest.get(count - 1).map_or(first.span, |token| token.span);
                (count, Token { tok: Tok::Word(name), span: first.span.to(last), breaks: first.breaks })
            }
            (None, Some(text)) => (1, Token { tok: Tok::Word(text.clone()), ..first.clone() }),
            (None, None) => (1, first.clone()),
        };
        out.push(token);
        rest = behind.get(count - 1..).unwrap_or(&[]);
    }
    out
}

/// The tokens with the commas that may be left out before an amount or a strength.
fn with_commas(tokens: &[Token]) -> Vec<Token> {
    let mut out: Vec<Token> = Vec::with_capacity(2 * tokens.len());
    for token in tokens {
        let behind = out.last().map(|last| (&last.tok, last.span));
        if let (Tok::Quantity(_), Some((before, span))) = (&token.tok, behind) {
            let missing = match before {
                // `at 60 degC` belongs together.
                Tok::Word(word) => !matches!(word.as_str(), "at" | "per" | "fixed" | "not"),
                Tok::Quantity(measure) => {
                    let kind = measure.unit.as_ref().and_then(|(text, _)| unit(text).ok()).map(|unit| unit.kind);
                    kind.is_some_and(|kind| STRENGTH_KINDS.contains(&kind))
                }
                _ => false,
            };
            if missing {
                out.push(Token { tok: Tok::Sign(","), span: span.after(), breaks: false });
            }
        }
        out.push(token.clone());
    }
    out
}

fn failed(failure: &Failure) -> Diagnostic {
    let expected: Vec<&str> = failure.expected.iter().map(String::as_str).collect();
    Diagnostic::new(Code::SyntaxExpected, failure.span, format!("{} could stand here; {} was met", expected.join(" or "), failure.met))
        .help("a mixture is materials with commas between them, each `name amount` or `name, grade, amount`: `ethanol 80 g, water 10 g`")
}

/// The finding for a name that no substance has.
fn unknown(name: &Name, defs: &Definitions) -> Diagnostic {
    let solution = defs.named_solution(&name.text).or_else(|| defs.solution_of(&name.text));
    match solution {
        Some(solution) => Diagnostic::new(Code::UnknownSubstance, name.span, format!("`{}` is a solution, not one substance", name.text))
            .help(format!("name its substances: {}", suggest::listed(&[solution.solute.as_str(), solution.solvent.as_str()], "and"))),
        None => unknown_substance(name, defs),
    }
}
