//! `scruple record`: a record to be filled in, with the planned figures as comments.

use std::fs;
use std::path::{Component, Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use clap::Args;

use super::disk::Disk;
use super::out::{Ended, Out, Stream, counted, same_file};
use super::sheet::{Batch, Product};
use super::{DONE, FAILED, Form, MISUSED};
use crate::emit::record;
use crate::load::Loader as _;
use crate::pipeline;

#[derive(Args)]
pub struct Arguments {
    /// The file with the procedure.
    #[arg(value_name = "FILE")]
    file: String,
    #[command(flatten)]
    batch: Batch,
    /// The day of the run, as year, month and day; today where it is not given.
    #[arg(long = "on", value_name = "DAY")]
    day: Option<String>,
    #[command(flatten)]
    product: Product,
}

/// Findings go to standard error, the record to standard output or its file.
pub fn run(arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    let (file, form) = (&arguments.file, arguments.product.findings().form);
    if file == "-" {
        out.say("scruple: a record names the file of its procedure, and standard input has no name");
        return Ok(MISUSED);
    }
    let day = arguments.day.clone().unwrap_or_else(today);
    if !crate::resolve::record::is_day(&day) {
        out.say(&format!("scruple: there is no day {day}; write it as year, month and day: `--on 2026-03-14`"));
        return Ok(MISUSED);
    }
    let compilation = pipeline::compile(&arguments.batch.request(file), disk);
    let Some(outcome) = &compilation.outcome else {
        out.findings(Stream::Aside, arguments.product.findings(), &compilation.findings, &compilation.sources)?;
        if form == Form::Text {
            let count = counted(&compilation.findings).unwrap_or_else(|| "no findings".to_owned());
            out.say(&format!("{count} in {}, so no record is written", disk.locate(file, None)));
        }
        return Ok(FAILED);
    };
    if let Some(target) = arguments.product.output()
        && same_file(file, target)
    {
        return Err(format!("`{target}` is what the record is made from; it is left as it is"));
    }
    let text = record::blank(outcome, &used_as(file, arguments.product.output()), &day);
    out.deliver(&text, arguments.product.output())?;
    Ok(DONE)
}

/// The path of a file as one that is written to `output` uses it.
fn used_as(file: &str, output: Option<&str>) -> String {
    let folder = match output.filter(|output| *output != "-").map(Path::new).and_then(Path::parent) {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let (Ok(from), Ok(to)) = (fs::canonicalize(folder), fs::canonicalize(file)) else { return file.to_owned() };
    let shared = from.components().zip(to.components()).take_while(|(one, other)| one == other).count();
    let up = from.components().skip(shared).map(|_| Component::ParentDir);
    let path: PathBuf = up.chain(to.components().skip(shared)).collect();
    path.to_string_lossy().replace('\\', "/")
}

/// Today by the clock of this machine, in universal time.
fn today() -> String {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs());
    let mut days = seconds / 86_400;
    let leap = |year: u64| year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let mut year = 1970;
    while days >= 365 + u64::from(leap(year)) {
        days -= 365 + u64::from(leap(year));
        year += 1;
    }
    let february = 28 + u64::from(leap(year));
    let mut month = 1;
    for length in [31, february, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31] {
        if days < length {
            break;
        }
        days -= length;
        month += 1;
    }
    format!("{year:04}-{month:02}-{:02}", days + 1)
}
