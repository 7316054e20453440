//! What the commands share that answer a question about a mixture.

use clap::Args;
use serde::Serialize;

use super::out::{Ended, Out, Stream};
use super::{DONE, FAILED, Findings};
use crate::asked::Asked;

/// The options of every question.
#[derive(Args)]
pub struct Question {
    /// Give the answer as JSON.
    #[arg(long)]
    json: bool,
    /// A file whose declarations hold too: substances, fits of pairs.
    #[arg(long = "use", value_name = "FILE")]
    path: Option<String>,
    #[command(flatten)]
    findings: Findings,
}

impl Question {
    /// The file whose declarations hold too.
    pub fn path(&self) -> Option<&str> {
        self.path.as_deref()
    }
}

/// Writes findings to standard error and the answer, where there is one, to standard output.
pub fn answered<T: Serialize>(
    answer: Option<&T>,
    asked: &Asked,
    question: &Question,
    out: &mut Out,
    text: impl FnOnce(&T) -> String,
) -> Ended {
    out.findings(Stream::Aside, &question.findings, &asked.findings, &asked.sources)?;
    let Some(answer) = answer.filter(|_| !asked.has_errors()) else { return Ok(FAILED) };
    let product = if question.json {
        serde_json::to_string_pretty(answer).map_err(|why| format!("the answer cannot be written as JSON: {why}"))? + "\n"
    } else {
        text(answer)
    };
    out.write(Stream::Product, &product)?;
    Ok(DONE)
}
