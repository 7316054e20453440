//! `scruple course`: what takes its time, as a table and as a plot.

use clap::Args;

use super::disk::Disk;
use super::out::{Ended, Out, Stream, counted, was_read};
use super::sheet::Batch;
use super::{DONE, FAILED, Findings, Form};
use crate::emit::course;
use crate::load::Loader as _;
use crate::outcome::Outcome;
use crate::pipeline;

#[derive(Args)]
pub struct Arguments {
    /// The file with the procedure; `-` reads standard input.
    #[arg(value_name = "FILE")]
    file: String,
    /// The step that is meant, by its number or its heading, where several take their time.
    #[arg(value_name = "STEP")]
    step: Option<String>,
    #[command(flatten)]
    batch: Batch,
    /// Write a plot to this file, in SVG; the table goes to standard output all the same.
    #[arg(short, long, value_name = "PLOT")]
    output: Option<String>,
    /// Write figures in JSON instead of the table.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    findings: Findings,
}

/// Findings go to standard error, the table to standard output, the plot to its file.
pub fn run(arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    let request = arguments.batch.request(&arguments.file);
    let compilation = pipeline::compile(&request, disk);
    out.findings(Stream::Aside, &arguments.findings, &compilation.findings, &compilation.sources)?;
    let name = disk.locate(&arguments.file, None);
    let Some(outcome) = compilation.outcome.as_ref().filter(|_| !compilation.has_errors()) else {
        if arguments.findings.form == Form::Text {
            let count = counted(&compilation.findings).unwrap_or_else(|| "no findings".to_owned());
            out.say(&format!("{count} in {name}, so no course is followed"));
        }
        return Ok(FAILED);
    };
    let number = chosen(outcome, arguments.step.as_deref())?;
    let followed = outcome.course(number).ok_or_else(|| "that step has no course".to_owned())??;
    let text = if arguments.json { course::json(outcome, &followed) } else { course::text(outcome, &followed) };
    if let Some(target) = arguments.output.as_deref() {
        if was_read(&compilation.sources, target) {
            return Err(format!("`{target}` is what the course was made from; it is left as it is"));
        }
        out.deliver(&course::plot(outcome, &followed), Some(target))?;
        if target == "-" {
            return Ok(DONE);
        }
    }
    out.write(Stream::Product, &text)?;
    Ok(DONE)
}

/// The statement that is meant.
fn chosen(outcome: &Outcome, step: Option<&str>) -> Result<usize, String> {
    let all = outcome.courses();
    if all.is_empty() {
        return Err("nothing in this procedure takes its time in a way that can be followed: no dried return, no water trap, \
                    and no reaction with a rate that runs at a stated temperature or under reflux"
            .to_owned());
    }
    let title = |number: &usize| {
        let (step, title) = course::place(outcome, *number);
        if title.is_empty() { format!("step {step}") } else { format!("step {step}, `{title}`") }
    };
    let listed: Vec<String> = all.iter().map(title).collect();
    let Some(asked) = step else {
        return match all.as_slice() {
            [one] => Ok(*one),
            _ => Err(format!("several steps take their time: {}; say which", listed.join("; "))),
        };
    };
    let meant = |number: &&usize| {
        let (step, title) = course::place(outcome, **number);
        asked.trim() == step.to_string() || asked.trim().eq_ignore_ascii_case(title.trim())
    };
    let found: Vec<usize> = all.iter().filter(meant).copied().collect();
    match found.as_slice() {
        [one, ..] => Ok(*one),
        [] => Err(format!("step `{}` has no course that can be followed; there is {}", asked.escape_debug(), listed.join("; "))),
    }
}
