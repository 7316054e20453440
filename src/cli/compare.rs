//! `scruple compare`: procedures, their variants and recorded runs side by side.

use clap::Args;

use super::disk::Disk;
use super::out::{Ended, Out, Stream, counted};
use super::review::only_of;
use super::{DONE, FAILED, Findings, Form, MISUSED};
use crate::compare::runs::{Run, tested};
use crate::compare::{Prospect, prospect};
use crate::emit::compare::beside;
use crate::load::Loader as _;
use crate::pipeline::{self, Compilation, Request};

#[derive(Args)]
pub struct Arguments {
    /// Files with procedures, variants and records; each of them is a column, of records with what was measured.
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
    let mut all: Vec<Prospect> = Vec::new();
    let mut runs: Vec<Run> = Vec::new();
    let mut asked: Vec<Request> = Vec::new();
    let mut failed = false;
    for file in &arguments.files {
        let found = pipeline::ways(file, disk);
        for way in found.ways {
            // One procedure is one column, in however many files its variants stand.
            let place = Request { path: disk.locate(&way.path, None), ..way.clone() };
            if asked.contains(&place) {
                continue;
            }
            asked.push(place);
            let (compilation, unfit) = compiled(Request { size: arguments.size.clone(), bench: arguments.bench.clone(), ..way }, disk);
            let Some(outcome) = &compilation.outcome else {
                failed = true;
                refused(arguments, file, &compilation, disk, out)?;
                break;
            };
            all.push(Prospect { unfit, ..prospect(&outcome.procedure.title, outcome) });
        }
        if found.records {
            let mut compilation = pipeline::check(file, disk);
            only_of(&mut compilation, &disk.locate(file, None));
            if compilation.has_errors() {
                failed = true;
                refused(arguments, file, &compilation, disk, out)?;
            } else {
                out.findings(Stream::Aside, &arguments.findings, &compilation.findings, &compilation.sources)?;
            }
            runs.extend(compilation.reviews.iter().map(Run::of));
        }
    }
    if failed {
        return Ok(FAILED);
    }
    if all.len() + runs.len() < 2 {
        out.say("scruple: there is one way only, and nothing to set beside it; name a second file, or declare a `variant` in this one");
        return Ok(MISUSED);
    }
    let tested = tested(&mut runs);
    let text = if arguments.json {
        let document = serde_json::json!({ "ways": all, "runs": runs, "tested": tested });
        serde_json::to_string_pretty(&document).map_err(|error| error.to_string())? + "\n"
    } else {
        beside(&all, &runs, &tested)
    };
    out.write(Stream::Product, &text)?;
    Ok(DONE)
}

/// Compiles a way; with what the bench cannot hold and why, where it can be made elsewhere.
fn compiled(request: Request, disk: &Disk) -> (Compilation, Option<String>) {
    let compilation = pipeline::compile(&request, disk);
    if compilation.outcome.is_some() || request.bench.is_none() {
        return (compilation, None);
    }
    let anyhow = pipeline::compile(&Request { unfitted: true, ..request }, disk);
    if anyhow.outcome.is_none() {
        return (compilation, None);
    }
    let why = compilation.findings.iter().find(|finding| finding.is_error()).map(|finding| finding.message.clone());
    (anyhow, why)
}

fn refused(arguments: &Arguments, file: &str, compilation: &Compilation, disk: &Disk, out: &mut Out) -> Result<(), String> {
    out.findings(Stream::Aside, &arguments.findings, &compilation.findings, &compilation.sources)?;
    if arguments.findings.form == Form::Text {
        let count = counted(&compilation.findings).unwrap_or_else(|| "no findings".to_owned());
        out.say(&format!("{count} in {}, so nothing is compared", disk.locate(file, None)));
    }
    Ok(())
}
