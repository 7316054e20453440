//! `scruple compare`: procedures and their variants side by side.

use clap::Args;

use super::disk::Disk;
use super::out::{Ended, Out, Stream, counted};
use super::{DONE, FAILED, Findings, Form, MISUSED};
use crate::compare::{Prospect, prospect};
use crate::emit::compare::shown;
use crate::load::Loader as _;
use crate::pipeline::{self, Request};

#[derive(Args)]
pub struct Arguments {
    /// Files with procedures; each procedure and each variant in them is a column.
    #[arg(value_name = "FILE", required = true)]
    files: Vec<String>,
    /// Size each batch so that this portion has this amount, for example `product=100g`.
    #[arg(long, value_name = "NAME=QUANTITY", allow_hyphen_values = true)]
    size: Option<String>,
    /// The file with the bench that it is made on: its prices give the cost.
    #[arg(long, value_name = "FILE")]
    bench: Option<String>,
    /// Write the figures as one JSON document.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    findings: Findings,
}

/// Findings go to standard error, the comparison to standard output.
pub fn run(arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    let mut all = Vec::new();
    let mut failed = false;
    for file in &arguments.files {
        for (procedure, variant) in pipeline::ways(file, disk) {
            let request = Request {
                path: file.clone(),
                procedure,
                variant,
                size: arguments.size.clone(),
                bench: arguments.bench.clone(),
                ..Request::default()
            };
            let mut compilation = pipeline::compile(&request, disk);
            let mut unfit = None;
            if compilation.outcome.is_none() && request.bench.is_some() {
                // What a bench cannot hold can still be compared.
                let anyhow = pipeline::compile(&Request { unfitted: true, ..request }, disk);
                if anyhow.outcome.is_some() {
                    unfit = compilation.findings.iter().find(|finding| finding.is_error()).map(|finding| finding.message.clone());
                    compilation = anyhow;
                }
            }
            match &compilation.outcome {
                Some(outcome) => all.push(Prospect { unfit, ..prospect(&outcome.procedure.title, outcome) }),
                None => {
                    failed = true;
                    out.findings(Stream::Aside, &arguments.findings, &compilation.findings, &compilation.sources)?;
                    if arguments.findings.form == Form::Text {
                        let count = counted(&compilation.findings).unwrap_or_else(|| "no findings".to_owned());
                        out.say(&format!("{count} in {}, so nothing is compared", disk.locate(file, None)));
                    }
                    break;
                }
            }
        }
    }
    if failed {
        return Ok(FAILED);
    }
    if all.len() < 2 {
        out.say("scruple: there is one way only, and nothing to set beside it; name a second file, or declare a `variant` in this one");
        return Ok(MISUSED);
    }
    let text = if arguments.json {
        serde_json::to_string_pretty(&serde_json::json!({ "ways": all })).map_err(|error| error.to_string())? + "\n"
    } else {
        shown(&all)
    };
    out.write(Stream::Product, &text)?;
    Ok(DONE)
}
