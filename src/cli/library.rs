//! `scruple library`: what the library holds, and all that is known about one thing in it.

use clap::Args;

use super::out::{Ended, Out, Stream};
use super::{DONE, Findings, Form, MISUSED};
use crate::diagnostics::suggest;
use crate::emit::reference;
use crate::library::ENTRIES;

#[derive(Args)]
pub struct Arguments {
    /// A substance, solution, agent, operation, apparatus, instrument, reaction or hazard code, by its
    /// name or a trade name; without one, everything is listed.
    #[arg(value_name = "NAME")]
    name: Option<String>,
    #[command(flatten)]
    findings: Findings,
}

/// Everything, or what answers to a name.
pub fn run(arguments: &Arguments, out: &mut Out) -> Ended {
    let json = arguments.findings.form == Form::Json;
    let Some(asked) = &arguments.name else {
        let all = if json { ENTRIES.iter().map(reference::json).collect() } else { reference::contents() };
        out.write(Stream::Product, &all)?;
        return Ok(DONE);
    };
    let found = reference::find(asked);
    if found.is_empty() {
        let near = reference::near(asked);
        let rest = if near.is_empty() {
            "`scruple library` lists all there is".to_owned()
        } else {
            format!("did you mean {}?", suggest::listed(&near, "or"))
        };
        out.say(&format!("scruple: the library has no `{}`; {rest}", asked.escape_debug()));
        return Ok(MISUSED);
    }
    let shown: Vec<String> = found.into_iter().map(if json { reference::json } else { reference::shown }).collect();
    out.write(Stream::Product, &shown.join(if json { "" } else { "\n" }))?;
    Ok(DONE)
}
