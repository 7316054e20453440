//! `scruple sheet`: the sheet of a procedure, in Markdown or as a page; and what it shares with `scruple plan`.

use std::path::Path;

use clap::{Args, ValueEnum};

use super::disk::Disk;
use super::out::{Ended, Out, Stream, counted, was_read};
use super::{DONE, FAILED, Findings, Form};
use crate::load::Loader as _;
use crate::pipeline::{self, Compilation, Request};

#[derive(Args)]
pub struct Arguments {
    /// The file with the procedure; `-` reads standard input.
    #[arg(value_name = "FILE")]
    file: String,
    #[command(flatten)]
    batch: Batch,
    #[command(flatten)]
    product: Product,
    /// How to write the sheet; without it the ending of OUT decides, and `.html` is a page.
    #[arg(long, value_name = "FORMAT", value_enum)]
    format: Option<Format>,
}

/// How a sheet is written.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// As text.
    Markdown,
    /// As one page that stands alone, to be read on a screen and printed.
    Html,
}

impl Format {
    /// What a file's ending asks for.
    fn of(file: &str) -> Self {
        let ending = Path::new(file).extension().and_then(|ending| ending.to_str());
        let page = ending.is_some_and(|ending| ending.eq_ignore_ascii_case("html") || ending.eq_ignore_ascii_case("htm"));
        if page { Self::Html } else { Self::Markdown }
    }
}

/// Which procedure, and how much of it.
#[derive(Args)]
pub struct Batch {
    /// The procedure that is meant, where the file has several.
    #[arg(long, value_name = "NAME")]
    procedure: Option<String>,
    /// The variant of the procedure that is meant, by its title; without it the procedure itself.
    #[arg(long, value_name = "TITLE")]
    variant: Option<String>,
    /// Size the batch so that this portion has this amount, for example `alcohol=60mL`; or make it the
    /// `largest`, or the `smallest` sensible one, for which nothing fails on the bench.
    #[arg(long, value_name = "NAME=QUANTITY", conflicts_with = "scale", allow_hyphen_values = true)]
    size: Option<String>,
    /// Size the batch to so many times what is written, for example `2.5`.
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    scale: Option<String>,
    /// The file that lists what stands on the bench: apparatus, what measures, stock.
    #[arg(long, value_name = "FILE")]
    bench: Option<String>,
    /// Make the batch in so many runs of the same size; the product is that of one run.
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    runs: Option<String>,
}

impl Batch {
    /// What is asked of the compiler.
    pub fn request(&self, file: &str) -> Request {
        let Self { procedure, variant, size, scale, bench, runs } = self;
        Request {
            path: file.to_owned(),
            procedure: procedure.clone(),
            variant: variant.clone(),
            size: size.clone(),
            scale: scale.clone(),
            bench: bench.clone(),
            runs: runs.clone(),
            ..Request::default()
        }
    }
}

/// Where the product goes, and how findings are written.
#[derive(Args)]
pub struct Product {
    /// Write to this file, whole or not at all, instead of to standard output.
    #[arg(short, long, value_name = "OUT")]
    output: Option<String>,
    #[command(flatten)]
    findings: Findings,
}

impl Product {
    /// The file to write to, if not standard output.
    pub fn output(&self) -> Option<&str> {
        self.output.as_deref()
    }

    /// How findings are written.
    pub fn findings(&self) -> &Findings {
        &self.findings
    }
}

/// Findings go to standard error, the sheet to standard output or its file.
pub fn run(arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    let format = arguments.format.or_else(|| arguments.product.output().map(Format::of));
    let from = if format == Some(Format::Html) { Compilation::page } else { Compilation::sheet };
    let make = Make { what: "sheet", from };
    produce(&arguments.file, &arguments.batch, &arguments.product, &make, disk, out)
}

/// What is to be made of a compilation.
pub struct Make {
    /// What people call it.
    pub what: &'static str,
    /// How it is had; `None` when the procedure has errors.
    pub from: fn(&Compilation) -> Option<String>,
}

/// Compiles, says what was found, and delivers the product when nothing found is an error.
pub fn produce(file: &str, batch: &Batch, product: &Product, make: &Make, disk: &Disk, out: &mut Out) -> Ended {
    let compilation = pipeline::compile(&batch.request(file), disk);
    out.findings(Stream::Aside, &product.findings, &compilation.findings, &compilation.sources)?;
    let text = if compilation.has_errors() { None } else { (make.from)(&compilation) };
    let (count, name) = (counted(&compilation.findings), disk.locate(file, None));
    if product.findings.form == Form::Text && (count.is_some() || text.is_none()) {
        let none = if text.is_none() { format!(", so no {} is written", make.what) } else { String::new() };
        out.say(&format!("{} in {name}{none}", count.unwrap_or_else(|| "no findings".to_owned())));
    }
    let Some(text) = text else { return Ok(FAILED) };
    if let Some(target) = product.output()
        && was_read(&compilation.sources, target)
    {
        return Err(format!("`{target}` is what the {} was made from; it is left as it is", make.what));
    }
    out.deliver(&text, product.output())?;
    Ok(DONE)
}
