//! Explain pages are tests: each raises exactly its code, and mended it raises nothing.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic, missing_docs)]

mod common;

use common::{check, compile};
use scruple::diagnostics::Code;
use scruple::diagnostics::explain::page;

fn found(code: Code, snippet: &str) -> Vec<&'static str> {
    let long = format!("    note \"{}\"", "x".repeat(70_000));
    let text = snippet.replace("\\0", "\0").replace("# ... a line of 70,000 characters", &long);
    let size = text.lines().next().and_then(|line| line.strip_prefix("# size: ")).map(str::to_owned);
    // A file of declarations alone is no mistake until a sheet is asked for.
    let compilation = if size.is_some() || code == Code::NoProcedure { compile(text, size.as_deref(), None) } else { check(text) };
    compilation.findings.iter().map(|finding| finding.code.text()).collect()
}

#[test]
fn every_page_raises_its_code_and_mends_it() {
    let mut wrong = Vec::new();
    for code in Code::ALL {
        let page = page(*code);
        let raised = found(*code, &page.raises);
        if raised != [code.text()] {
            wrong.push(format!("{}: raises {raised:?}", code.text()));
        }
        let mended = found(*code, &page.mended);
        if !mended.is_empty() {
            wrong.push(format!("{}: mended, it still has {mended:?}", code.text()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(Code::ALL.len() >= 50);
}
