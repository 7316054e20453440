//! `scruple review`: what was measured in runs against what the procedure gives.

use clap::Args;
use serde::Serialize;

use super::disk::Disk;
use super::out::{Ended, Out, Stream, counted};
use super::{DONE, FAILED, Findings, Form};
use crate::emit::review;
use crate::load::Loader as _;
use crate::pipeline::{self, Compilation};
use crate::record::Review;
use crate::record::jars::{Jar, jars};

#[derive(Args)]
pub struct Arguments {
    /// Files with records; `-` reads standard input.
    #[arg(value_name = "RECORD", required = true)]
    files: Vec<String>,
    /// Write the reviews as one JSON document.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    findings: Findings,
}

#[derive(Serialize)]
struct Document<'a> {
    reviews: &'a [Review],
    jars: &'a [Jar],
}

/// Findings go to standard error, the reviews to standard output, all of them or none.
pub fn run(arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    let mut reviews = Vec::new();
    let mut failed = false;
    for file in &arguments.files {
        let mut compilation = pipeline::check(file, disk);
        let name = disk.locate(file, None);
        only_of(&mut compilation, &name);
        out.findings(Stream::Aside, &arguments.findings, &compilation.findings, &compilation.sources)?;
        let none = compilation.reviews.is_empty();
        if arguments.findings.form == Form::Text {
            match counted(&compilation.findings) {
                Some(count) if compilation.has_errors() => out.say(&format!("{count} in {name}, so no review is written")),
                Some(count) => out.say(&format!("{count} in {name}")),
                None if none => out.say(&format!("scruple: {name} holds no record")),
                None => {}
            }
        }
        failed |= none || compilation.has_errors();
        reviews.append(&mut compilation.reviews);
    }
    if failed {
        return Ok(FAILED);
    }
    let jars = jars(&reviews);
    let text = if arguments.json {
        let document = Document { reviews: &reviews, jars: &jars };
        serde_json::to_string_pretty(&document).map_err(|why| format!("the reviews cannot be written as JSON: {why}"))? + "\n"
    } else {
        review::text(&reviews, &jars)
    };
    out.write(Stream::Product, &text)?;
    Ok(DONE)
}

/// Keeps errors and what is found in the file itself: what is worth a warning in a procedure is said when that is checked.
pub fn only_of(compilation: &mut Compilation, name: &str) {
    let Compilation { sources, findings, .. } = compilation;
    findings.retain(|finding| finding.is_error() || sources.get(finding.span.file).is_some_and(|source| source.name == name));
}
