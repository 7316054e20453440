//! `scruple check`: findings only.

use clap::Args;

use super::disk::Disk;
use super::out::{Ended, Out, Stream, counted, put};
use super::{DONE, FAILED, Findings, Form};
use crate::diagnostics::sarif;
use crate::load::Loader as _;
use crate::mend;
use crate::pipeline;

#[derive(Args)]
pub struct Arguments {
    /// The files to check; `-` reads standard input.
    #[arg(value_name = "FILE", required = true)]
    files: Vec<String>,
    /// The file that lists what stands on the bench: apparatus, what measures, stock.
    #[arg(long, value_name = "FILE")]
    bench: Option<String>,
    /// Mend the slips that leave no choice, in the files themselves, and say what was mended.
    #[arg(long)]
    fix: bool,
    #[command(flatten)]
    findings: Findings,
}

/// Findings of each file go to standard output, a line that counts them to standard error.
pub fn run(arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    let mut code = DONE;
    let sarif = arguments.findings.form == Form::Sarif;
    let mut all = Vec::new();
    for file in &arguments.files {
        if arguments.fix && !fixed(file, disk, out) {
            code = FAILED;
        }
        let compilation = pipeline::check_on(file, arguments.bench.as_deref(), disk);
        if compilation.has_errors() {
            code = FAILED;
        }
        if sarif {
            all.push(compilation);
            continue;
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
    if sarif {
        // The files of one call make one document.
        let files: Vec<_> = all.iter().map(|one| (one.findings.as_slice(), &one.sources)).collect();
        out.write(Stream::Product, &sarif::document(&files))?;
    }
    Ok(code)
}

/// Mends a file where it stands; whether nothing stood in the way.
fn fixed(file: &str, disk: &Disk, out: &Out) -> bool {
    let name = disk.locate(file, None);
    let mended = mend::mend(file, disk);
    let Some(text) = mended.text else { return true };
    let written =
        if file == "-" { Err(format!("{name} cannot be mended where it stands: give a file")) } else { put(&name, text.as_bytes()) };
    match written {
        Ok(()) => {
            for (line, code) in mended.done {
                out.say(&format!("{name}:{line}: mended ({})", code.text()));
            }
            true
        }
        Err(why) => {
            out.say(&format!("scruple: {why}"));
            false
        }
    }
}
