//! `scruple explain`: what a finding means, and what a prediction rests on.

use clap::Args;

use super::out::{Ended, Out, Stream};
use super::{DONE, Findings, Form, MISUSED};
use crate::diagnostics::{Code, explain, suggest};
use crate::matter::model::{self, Model};

#[derive(Args)]
pub struct Arguments {
    /// The code of a finding, as `check` prints it, or the name of a model behind a prediction; without one, all
    /// are listed.
    #[arg(value_name = "CODE")]
    code: Option<String>,
    #[command(flatten)]
    findings: Findings,
}

/// The page of a code or a model, or the table of all.
pub fn run(arguments: &Arguments, out: &mut Out) -> Ended {
    let json = arguments.findings.form == Form::Json;
    let Some(asked) = &arguments.code else {
        let all = if json {
            Code::ALL.iter().map(|code| line(*code)).chain(model::ALL.iter().copied().map(model_line)).collect()
        } else {
            table()
        };
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
    if let Some(model) = model::find(asked) {
        out.write(Stream::Product, &if json { model_line(model) } else { model::shown(model) })?;
        return Ok(DONE);
    }
    let near = near(asked);
    let rest = if near.is_empty() {
        "`scruple explain` lists all of them".to_owned()
    } else {
        format!("did you mean {}?", suggest::listed(&near, "or"))
    };
    out.say(&format!("scruple: there is no code or model `{}`; {rest}", asked.escape_debug()));
    Ok(MISUSED)
}

/// A model as one line of JSON.
fn model_line(model: &Model) -> String {
    let line = serde_json::json!({
        "model": model.name,
        "what": model.what,
        "assumes": model.assumes,
        "band": model.band,
        "fails": model.fails,
    });
    format!("{line}\n")
}

/// The codes that may have been meant: near as a whole, or else near in their second half.
fn near(asked: &str) -> Vec<&'static str> {
    let codes = || Code::ALL.iter().map(|code| code.text()).chain(model::ALL.iter().map(|model| model.name));
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
    for model in model::ALL {
        out.push_str(&format!("{:widest$}  model    {}\n", model.name, model.what));
    }
    out
}
