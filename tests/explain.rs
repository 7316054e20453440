//! Every explain page keeps its word: the procedure that is to raise its code raises exactly that
//! code, and the mended one raises nothing.
//!
//! Conventions of the pages: a first line `# size: NAME=QUANTITY` (or `# scale: NUMBER`) says how
//! the sheet is asked for; `\0` stands for a NUL byte; the comment `# ... a line of N characters`
//! stands for a `note` of that length.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use scruple::diagnostics::explain::page;
use scruple::diagnostics::{Code, Diagnostic};
use scruple::load::Memory;
use scruple::pipeline::{Compilation, Request, check, compile};

const NAME: &str = "page.scruple";

/// What `# KEY: VALUE` says on the first line.
fn asked(snippet: &str, key: &str) -> Option<String> {
    let first = snippet.lines().next()?.strip_prefix('#')?.trim_start();
    Some(first.strip_prefix(key)?.trim_start().strip_prefix(':')?.trim().to_owned())
}

/// The text of a snippet with its conventions carried out.
fn meant(snippet: &str) -> String {
    let mut out = String::new();
    for line in snippet.lines() {
        let length = line
            .trim_start()
            .strip_prefix("# ... a line of ")
            .and_then(|rest| rest.strip_suffix(" characters"))
            .and_then(|number| number.replace(',', "").parse::<usize>().ok());
        match length {
            Some(length) => {
                let indent = line.len() - line.trim_start().len();
                out.push_str(&" ".repeat(indent));
                out.push_str(&format!("note \"{}\"", "x".repeat(length)));
            }
            None => out.push_str(&line.replace("\\0", "\0")),
        }
        out.push('\n');
    }
    out
}

fn compiled(snippet: &str) -> Compilation {
    // A route is gone through where its file is checked.
    if snippet.contains("\nroute ") {
        return check(NAME, &Memory::new([(NAME, meant(snippet))]));
    }
    let request = Request { path: NAME.to_owned(), size: asked(snippet, "size"), scale: asked(snippet, "scale"), ..Request::default() };
    compile(&request, &Memory::new([(NAME, meant(snippet))]))
}

fn told(compilation: &Compilation) -> String {
    let tell = |finding: &Diagnostic| {
        let place = compilation.sources.place(finding.span);
        format!("    {}:{}: {}: {}", place.line, place.column, finding.code.text(), finding.message)
    };
    if compilation.findings.is_empty() {
        return "    nothing".to_owned();
    }
    compilation.findings.iter().map(tell).collect::<Vec<_>>().join("\n")
}

#[test]
fn each_page_raises_its_code_and_mends_it() {
    let mut failures = Vec::new();
    for code in Code::ALL {
        let page = page(*code);
        let raised = compiled(&page.raises);
        let codes: Vec<Code> = raised.findings.iter().map(|finding| finding.code).collect();
        if codes != [*code] {
            failures.push(format!("{}: the first procedure raises\n{}", code.text(), told(&raised)));
        }
        let mended = compiled(&page.mended);
        if !mended.findings.is_empty() || mended.outcome.is_none() {
            failures.push(format!("{}: the mended procedure raises\n{}", code.text(), told(&mended)));
        }
    }
    assert!(failures.is_empty(), "{} of {} pages:\n{}", failures.len(), Code::ALL.len(), failures.join("\n"));
}

#[test]
fn the_conventions_are_carried_out() {
    assert_eq!(asked("# size: mix=20 g\n\nprocedure", "size").as_deref(), Some("mix=20 g"));
    assert_eq!(asked("procedure x\n# size: a=1 g", "size"), None);
    assert_eq!(meant("a\\0\n  # ... a line of 1,000 characters"), format!("a\0\n  note \"{}\"\n", "x".repeat(1000)));
}
