//! `scruple tidy`: the one layout.

use clap::Args;

use super::disk::Disk;
use super::out::{Ended, Out, Stream, counted, put};
use super::{DONE, FAILED, Findings, Form};
use crate::diagnostics::{Code, Diagnostic, arrange};
use crate::load::{Loader as _, take_in};
use crate::source::{Sources, Span};
use crate::syntax::{self, Node, Tok, print};

#[derive(Args)]
pub struct Arguments {
    /// The files to lay out; `-` reads standard input and writes standard output.
    #[arg(value_name = "FILE", required = true)]
    files: Vec<String>,
    /// Change nothing; name the files that would change, and end with 1 if there are any.
    #[arg(long)]
    check: bool,
    #[command(flatten)]
    findings: Findings,
}

/// Rewrites each file, or with `--check` names it, when its layout is not the one layout.
pub fn run(arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    let people = arguments.findings.form == Form::Text;
    let mut code = DONE;
    for file in &arguments.files {
        let name = disk.locate(file, None);
        let (before, tidied) = match disk.load(&name) {
            Ok(bytes) => (bytes.clone(), tidied(&name, bytes)),
            Err(why) => (Vec::new(), unreadable(&name, &why)),
        };
        let tidied = match tidied {
            Tidied::Text(text) => text,
            Tidied::Unreadable(findings, sources) => {
                out.findings(Stream::Aside, &arguments.findings, &findings, &sources)?;
                if people {
                    let count = counted(&findings).unwrap_or_default();
                    out.say(&format!("{count} in {name}, so it is left as it is"));
                }
                code = FAILED;
                continue;
            }
            Tidied::Altered => {
                out.say(&format!("scruple: {name} is left as it is: laid out, it would no longer say the same (a fault of the program)"));
                code = FAILED;
                continue;
            }
        };
        let changes = tidied.as_bytes() != before;
        if arguments.check {
            if changes {
                out.write(Stream::Product, &format!("{name}\n"))?;
                code = FAILED;
            }
        } else if file == "-" {
            out.write(Stream::Product, &tidied)?;
        } else if changes {
            match put(&name, tidied.as_bytes()) {
                Ok(()) if people => out.say(&format!("{name}: laid out afresh")),
                Ok(()) => {}
                // The other files are laid out all the same.
                Err(why) => {
                    out.say(&format!("scruple: {why}"));
                    code = FAILED;
                }
            }
        }
    }
    Ok(code)
}

/// What becomes of a file.
enum Tidied {
    /// Its text in the one layout.
    Text(String),
    /// It cannot be read as procedures; these findings say why.
    Unreadable(Vec<Diagnostic>, Sources),
    /// The layout would lose or alter something.
    Altered,
}

fn unreadable(name: &str, why: &str) -> Tidied {
    let mut sources = Sources::default();
    let span = Span::new(sources.add(name, String::new(), false), 0..0);
    let finding = Diagnostic::new(Code::MissingFile, span, format!("`{name}` cannot be read: {why}"));
    Tidied::Unreadable(vec![finding], sources)
}

fn tidied(name: &str, bytes: Vec<u8>) -> Tidied {
    let mut sources = Sources::default();
    let (id, mut findings) = take_in(&mut sources, name, bytes);
    let Some((tree, found)) = sources.get(id).map(|file| syntax::parse(id, file)) else { return Tidied::Altered };
    findings.extend(found);
    arrange(&mut findings, &sources);
    if findings.iter().any(Diagnostic::is_error) {
        return Tidied::Unreadable(findings, sources);
    }
    let text = print::print(&tree);
    // A file is replaced only by a text that says the same and is itself in the one layout.
    let again = sources.add(name, text, false);
    let Some(file) = sources.get(again) else { return Tidied::Altered };
    let (second, found) = syntax::parse(again, file);
    if !found.is_empty() || said(&second.nodes) != said(&tree.nodes) || print::print(&second) != file.text {
        return Tidied::Altered;
    }
    Tidied::Text(file.text.clone().into_owned())
}

/// One thing that a file says.
#[derive(PartialEq)]
enum Said<'a> {
    Tok(&'a Tok),
    Comment(&'a str),
    LineEnd,
    Open,
    Close,
}

/// All that a file says, without its layout, in order.
fn said(nodes: &[Node]) -> Vec<Said<'_>> {
    let mut all = Vec::new();
    for node in nodes {
        match node {
            Node::Comment(comment) => all.push(Said::Comment(&comment.text)),
            Node::Line(line) => {
                line_says(line, &mut all);
                all.push(Said::LineEnd);
            }
            Node::Block(block) => {
                // A comment between the head and its brace moves behind the brace.
                let mut head = Vec::new();
                line_says(&block.head, &mut head);
                let (comments, tokens): (Vec<_>, Vec<_>) = head.into_iter().partition(|said| matches!(said, Said::Comment(_)));
                all.extend(tokens);
                all.push(Said::Open);
                all.extend(comments);
                all.extend(said(&block.body));
                all.push(Said::Close);
            }
        }
    }
    all
}

fn line_says<'a>(line: &'a syntax::Line, all: &mut Vec<Said<'a>>) {
    let mut comments = line.comments.iter().peekable();
    for (at, token) in line.tokens.iter().enumerate() {
        while let Some((_, comment)) = comments.next_if(|(position, _)| *position <= at) {
            all.push(Said::Comment(&comment.text));
        }
        all.push(Said::Tok(&token.tok));
    }
    all.extend(comments.map(|(_, comment)| Said::Comment(&comment.text)));
}
