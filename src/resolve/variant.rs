//! Variants: a procedure with some amounts, steps, reactions or vessels of it replaced.
//!
//! `variant "hardly any excess" of fructone { glycol = 1.02 eq }`. What it does not name stays as the procedure
//! has it, so that a mend of the procedure mends its variants too.

use super::cursor::Name;
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::source::Span;
use crate::syntax::{Block, Line, Node, Tok, Token};

/// A variant as written.
#[derive(Clone, Debug)]
pub struct Variant<'a> {
    /// Its title.
    pub title: String,
    /// The procedure that it is one of.
    pub of: Name,
    /// The block.
    block: &'a Block,
}

/// Reads the head of a variant.
pub fn head<'a>(block: &'a Block, findings: &mut Vec<Diagnostic>) -> Option<Variant<'a>> {
    if let [_, title, of, name] = block.head.tokens.as_slice()
        && let (Tok::Text(title), Tok::Word(of), Tok::Word(text)) = (&title.tok, &of.tok, &name.tok)
        && of == "of"
    {
        return Some(Variant { title: title.clone(), of: Name { text: text.clone(), span: name.span }, block });
    }
    if !block.head.broken {
        findings.push(
            Diagnostic::new(Code::SyntaxExpected, block.head.span, "a variant says what it is and of which procedure")
                .help("write `variant \"hardly any excess\" of PROCEDURE { … }`"),
        );
    }
    None
}

impl Variant<'_> {
    /// The procedure's block with what the variant replaces. What it names and the procedure does not have is a
    /// finding each.
    pub fn applied(&self, procedure: &Block, findings: &mut Vec<Diagnostic>) -> Option<Block> {
        let before = findings.len();
        let mut out = procedure.clone();
        let mut any = false;
        for node in &self.block.body {
            any |= !matches!(node, Node::Comment(_));
            let replaced = match node {
                Node::Comment(_) => Ok(()),
                Node::Line(line) if line.broken => Ok(()),
                Node::Line(line) => replace_line(line, &mut out),
                Node::Block(block) => replace_block(block, &mut out),
            };
            if let Err(finding) = replaced {
                findings.push(*finding);
            }
        }
        if !any {
            findings.push(
                Diagnostic::new(Code::VariantReplacesNothing, self.block.head.span, "this variant replaces nothing")
                    .help("write what differs: `glycol = 1.02 eq`, a `step \"Title\" { … }` of the procedure, or `round_flask 250 mL`"),
            );
        }
        (findings.len() == before).then_some(out)
    }
}

type Replaced = Result<(), Box<Diagnostic>>;

/// `NAME = AMOUNT`, `NAME = SUBSTANCE, GRADE, AMOUNT` or `APPARATUS SIZE`.
fn replace_line(line: &Line, procedure: &mut Block) -> Replaced {
    match line.tokens.as_slice() {
        [name, Token { tok: Tok::Sign("="), .. }, new @ ..] if !new.is_empty() => {
            let Tok::Word(wanted) = &name.tok else { return Err(misread(line)) };
            replace_amount(wanted, name.span, new, procedure)
        }
        [kind, size] => match (&kind.tok, &size.tok) {
            (Tok::Word(wanted), Tok::Quantity(_)) => replace_size(wanted, kind.span, size, procedure),
            _ => Err(misread(line)),
        },
        _ => Err(misread(line)),
    }
}

fn misread(line: &Line) -> Box<Diagnostic> {
    Box::new(
        Diagnostic::new(Code::SyntaxExpected, line.span, "this does not say what a variant replaces")
            .help("write `NAME = AMOUNT`, `APPARATUS SIZE`, or a whole `step \"Title\" { … }` or `reaction NAME { … }`"),
    )
}

/// The place of the last comma outside of brackets: what stands behind it is the amount.
fn last_comma(tokens: &[Token]) -> Option<usize> {
    let mut depth = 0_i32;
    let mut found = None;
    for (at, token) in tokens.iter().enumerate() {
        match token.tok {
            Tok::Sign("(") => depth += 1,
            Tok::Sign(")") => depth -= 1,
            Tok::Sign(",") if depth == 0 => found = Some(at),
            _ => {}
        }
    }
    found
}

fn replace_amount(wanted: &str, span: Span, new: &[Token], procedure: &mut Block) -> Replaced {
    let mut known = Vec::new();
    for node in &mut procedure.body {
        let Node::Line(line) = node else { continue };
        if line.first_word() != Some("take") {
            continue;
        }
        let Some(name) = line.word(1).map(str::to_owned) else { continue };
        if name != wanted {
            known.push(name);
            continue;
        }
        // `take NAME = material`
        let keep = if last_comma(new).is_some() { 3 } else { last_comma(&line.tokens).map_or(line.tokens.len(), |at| at + 1) };
        line.tokens.truncate(keep);
        line.tokens.extend(new.iter().cloned());
        line.comments.clear();
        return Ok(());
    }
    Err(absent(wanted, "is not taken by the procedure", span, &known))
}

fn replace_size(wanted: &str, span: Span, size: &Token, procedure: &mut Block) -> Replaced {
    let mut found = false;
    let mut known = Vec::new();
    each_line(&mut procedure.body, &mut |line| {
        for at in 1..line.tokens.len() {
            let (before, after) = line.tokens.split_at_mut(at);
            let (Some(Token { tok: Tok::Word(kind), .. }), Some(token)) = (before.last(), after.first_mut()) else { continue };
            let Tok::Quantity(_) = &token.tok else { continue };
            if kind == wanted {
                *token = Token { breaks: token.breaks, ..size.clone() };
                found = true;
            } else {
                known.push(kind.clone());
            }
        }
    });
    if found { Ok(()) } else { Err(absent(wanted, "is not pinned to a size by the procedure", span, &known)) }
}

fn each_line(nodes: &mut [Node], change: &mut dyn FnMut(&mut Line)) {
    for node in nodes {
        match node {
            Node::Line(line) => change(line),
            Node::Block(block) => each_line(&mut block.body, change),
            Node::Comment(_) => {}
        }
    }
}

/// `step "Title" { … }` or `reaction NAME { … }` takes the place of the one with the same head.
fn replace_block(block: &Block, procedure: &mut Block) -> Replaced {
    let key = |block: &Block| block.head.tokens.iter().map(|token| token.tok.written()).collect::<Vec<_>>().join(" ");
    let wanted = key(block);
    let mut known = Vec::new();
    for node in &mut procedure.body {
        let Node::Block(own) = node else { continue };
        if key(own) == wanted {
            *own = block.clone();
            return Ok(());
        }
        known.push(key(own));
    }
    Err(absent(&wanted, "is no part of the procedure", block.head.span, &known))
}

fn absent(wanted: &str, what: &str, span: Span, known: &[String]) -> Box<Diagnostic> {
    let mut listed: Vec<&str> = known.iter().map(String::as_str).collect();
    listed.dedup();
    let near = suggest::near(wanted, listed.iter().copied(), 3);
    let finding = Diagnostic::new(Code::VariantReplacesNothing, span, format!("`{wanted}` {what}, so there is nothing to replace"));
    let finding = if near.is_empty() {
        if listed.is_empty() { finding } else { finding.help(format!("it has {}", suggest::listed(&listed, "and"))) }
    } else {
        finding.help(format!("did you mean {}?", suggest::listed(&near, "or")))
    };
    Box::new(finding)
}
