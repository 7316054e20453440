//! `scruple explain`: what a finding means.

use clap::Args;

use super::out::{Ended, Out, Stream};
use super::{DONE, Findings, Form, MISUSED};
use crate::diagnostics::{Code, explain, suggest};

#[derive(Args)]
pub struct Arguments {
    /// The code of the finding, as `check` prints it; without one, all codes are listed.
    #[arg(value_name = "CODE")]
    code: Option<String>,
    #[command(flatten)]
    findings: Findings,
}

/// The page of a code, or the table of all codes.
pub fn run(arguments: &Arguments, out: &mut Out) -> Ended {
    let json = arguments.findings.form == Form::Json;
    let Some(asked) = &arguments.code else {
        let all = if json { Code::ALL.iter().map(|code| line(*code)).collect() } else { table() };
        out.write(Stream::Product, &all)?;
        return Ok(DONE);
    };
    if let Some(code) = Code::from_text(asked) {
        if json {
            out.write(Stream::Product, &line(code))?;
            return Ok(DONE);
        }
        out.write(Stream::Product, &explain::shown(code))?;
        return Ok(DONE);
    }
    let near = near(asked);
    let rest = if near.is_empty() {
        "`scruple explain` lists all codes".to_owned()
    } else {
        format!("did you mean {}?", suggest::listed(&near, "or"))
    };
    out.say(&format!("scruple: there is no code `{}`; {rest}", asked.escape_debug()));
    Ok(MISUSED)
}

/// The codes that may have been meant: near as a whole, or else near in their second half.
fn near(asked: &str) -> Vec<&'static str> {
    let codes = || Code::ALL.iter().map(|code| code.text());
    let whole = suggest::near(asked, codes(), 3);
    if !whole.is_empty() {
        return whole;
    }
    let half = |code: &'static str| code.split_once("::").map_or(code, |(_, name)| name);
    let halves = suggest::near(asked.rsplit("::").next().unwrap_or(asked), codes().map(half), 3);
    codes().filter(|code| halves.contains(&half(code))).collect()
}

/// A code as one line of JSON: what it is, a procedure that has it, the same procedure mended.
fn line(code: Code) -> String {
    let page = explain::page(code);
    let line = serde_json::json!({
        "code": code.text(),
        "severity": code.severity().word(),
        "title": code.title(),
        "raises": page.raises,
        "mended": page.mended,
    });
    format!("{line}\n")
}

fn table() -> String {
    let widest = Code::ALL.iter().map(|code| code.text().len()).max().unwrap_or(0);
    let mut out = String::new();
    for code in Code::ALL {
        let (text, severity, title) = (code.text(), code.severity().word(), code.title());
        out.push_str(&format!("{text:widest$}  {severity:7}  {title}\n"));
    }
    out
}
