//! `scruple why`: where a number of the sheet or the plan comes from.

use clap::Args;

use super::disk::Disk;
use super::out::{Ended, Out, Stream, counted};
use super::sheet::Batch;
use super::{DONE, FAILED, Findings, Form, MISUSED};
use crate::emit::why;
use crate::load::Loader as _;
use crate::pipeline;

#[derive(Args)]
pub struct Arguments {
    /// The file with the procedure; `-` reads standard input.
    #[arg(value_name = "FILE")]
    file: String,
    /// What is asked: a material, portion, reaction, vessel or step with a property of it, such as
    /// `acid.mass`, `crude#2.water`, `product.yield` or `round_flask.size`; or a JSON Pointer into the plan.
    #[arg(value_name = "NAME[.PROPERTY]")]
    asked: String,
    #[command(flatten)]
    batch: Batch,
    /// Write the answer as one JSON document.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    findings: Findings,
}

/// Findings go to standard error, the answer to standard output.
pub fn run(arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    let compilation = pipeline::compile(&arguments.batch.request(&arguments.file), disk);
    let Some(outcome) = &compilation.outcome else {
        out.findings(Stream::Aside, &arguments.findings, &compilation.findings, &compilation.sources)?;
        if arguments.findings.form == Form::Text {
            let count = counted(&compilation.findings).unwrap_or_else(|| "no findings".to_owned());
            out.say(&format!("{count} in {}, so there is nothing to explain", disk.locate(&arguments.file, None)));
        }
        return Ok(FAILED);
    };
    match why::Case::new(outcome, &compilation.findings, &compilation.sources).answer(&arguments.asked) {
        Ok(reason) => {
            let text = if arguments.json {
                serde_json::to_string_pretty(&why::told_once(&reason)).map_err(|error| error.to_string())? + "\n"
            } else {
                why::shown(&reason)
            };
            out.write(Stream::Product, &text)?;
            Ok(DONE)
        }
        Err(unknown) => {
            out.say(&format!("scruple: {}; {}", unknown.message, unknown.help));
            Ok(MISUSED)
        }
    }
}
