//! `scruple check`: findings only.

use clap::Args;

use super::disk::Disk;
use super::out::{Ended, Out, Stream, counted};
use super::{DONE, FAILED, Findings, Form};
use crate::load::Loader as _;
use crate::pipeline;

#[derive(Args)]
pub struct Arguments {
    /// The files to check; `-` reads standard input.
    #[arg(value_name = "FILE", required = true)]
    files: Vec<String>,
    #[command(flatten)]
    findings: Findings,
}

/// Findings of each file go to standard output, a line that counts them to standard error.
pub fn run(arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    let mut code = DONE;
    for file in &arguments.files {
        let compilation = pipeline::check(file, disk);
        if compilation.has_errors() {
            code = FAILED;
        }
        out.findings(Stream::Product, &arguments.findings, &compilation.findings, &compilation.sources)?;
        if arguments.findings.form == Form::Text {
            let name = disk.locate(file, None);
            out.say(&match counted(&compilation.findings) {
                Some(count) => format!("{count} in {name}"),
                None => format!("{name}: nothing found"),
            });
        }
    }
    Ok(code)
}
