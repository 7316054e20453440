//! `scruple route`: procedures in a chain, sized backwards from what is wanted last.

use std::path::Path;

use clap::Args;

use super::disk::Disk;
use super::out::{Ended, Out, Stream, counted, put_all, was_read};
use super::{DONE, FAILED, Findings, Form};
use crate::emit::route;
use crate::load::Loader as _;
use crate::pipeline;
use crate::route::Asked;

#[derive(Args)]
pub struct Arguments {
    /// The file with the route; `-` reads standard input.
    #[arg(value_name = "FILE")]
    file: String,
    /// The route that is meant, by its title, where the file has several.
    #[arg(long, value_name = "TITLE")]
    route: Option<String>,
    /// How much of the last product is wanted, for example `25g`; it takes the place of what the route says.
    #[arg(long, value_name = "QUANTITY", allow_hyphen_values = true)]
    size: Option<String>,
    /// How much more of it is made in case something is lost, as a share, for example `1/3`.
    #[arg(long, value_name = "SHARE", allow_hyphen_values = true)]
    spare: Option<String>,
    /// How long a day at the bench is, for example `9h`; 7 h where it is not given.
    #[arg(long, value_name = "DURATION", allow_hyphen_values = true)]
    day: Option<String>,
    /// The file that lists what stands on the bench: apparatus, what measures, stock.
    #[arg(long, value_name = "FILE")]
    bench: Option<String>,
    /// Write the overview as one JSON document.
    #[arg(long)]
    json: bool,
    /// Write the overview and one sheet for each stage into this folder, all of them or none.
    #[arg(short, long, value_name = "FOLDER")]
    output: Option<String>,
    #[command(flatten)]
    findings: Findings,
}

/// Findings go to standard error, the overview to standard output or with the sheets to a folder.
pub fn run(arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    let Arguments { file, route: title, size, spare, day, bench, json, output, findings } = arguments;
    let asked = Asked { title: title.clone(), size: size.clone(), spare: spare.clone(), day: day.clone() };
    let compilation = pipeline::route(file, bench.as_deref(), &asked, disk);
    let sources = &compilation.sources;
    out.findings(Stream::Aside, findings, &compilation.findings, sources)?;
    let planned = compilation.routes.first().filter(|_| !compilation.has_errors());
    if findings.form == Form::Text {
        let name = disk.locate(file, None);
        match (counted(&compilation.findings), planned) {
            (Some(count), Some(_)) => out.say(&format!("{count} in {name}")),
            (count, None) => out.say(&format!("{} in {name}, so no route is planned", count.unwrap_or_else(|| "no findings".to_owned()))),
            (None, Some(_)) => {}
        }
    }
    let Some(planned) = planned else { return Ok(FAILED) };
    let overview = if *json {
        serde_json::to_string_pretty(planned).map_err(|why| format!("the route cannot be written as JSON: {why}"))? + "\n"
    } else {
        route::overview(planned, sources)
    };
    let Some(folder) = output else {
        out.write(Stream::Product, &overview)?;
        return Ok(DONE);
    };
    let mut files = vec![(format!("overview.{}", if *json { "json" } else { "md" }), overview)];
    for (number, stage) in planned.stages.iter().enumerate() {
        let sheet = route::stage_sheet(planned, number, sources).ok_or("a stage has no sheet (a fault of the program)")?;
        files.push((format!("{}.md", route::sheet_name(number, stage)), sheet));
    }
    for (name, _) in &files {
        let target = Path::new(folder).join(name);
        let target = target.to_string_lossy();
        if was_read(sources, &target) {
            return Err(format!("`{target}` is what the route was made from; it is left as it is, and nothing is written"));
        }
    }
    put_all(folder, &files)?;
    Ok(DONE)
}
