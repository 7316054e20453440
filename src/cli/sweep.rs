//! `scruple sweep`: what is predicted over one or two figures of a procedure, as a table and as a plot.

use std::num::NonZeroUsize;
use std::thread;

use clap::{Args, ValueEnum};

use super::disk::Disk;
use super::out::{Ended, Out, Stream, counted, was_read};
use super::progress::Progress;
use super::sheet::Batch;
use super::{DONE, FAILED, Findings, Form, MISUSED};
use crate::emit::{sweep as shown, sweep_plot};
use crate::load::Loader as _;
use crate::pipeline::Compilation;
use crate::sweep::best::{Figure, best};
use crate::sweep::{self, Aim};

/// Most figures that are varied at once.
const MOST: usize = 2;

const NO_PRICES: &str = "nothing that is taken has a price, so no cost is known; name a bench with `--bench FILE`, and write there what \
                         you paid: `stock ethyl_acetoacetate, 500 mL, price 31 EUR`";
const ONE_CURRENCY: &str = "write the prices of the stock in one";

#[derive(Args)]
pub struct Arguments {
    /// The file with the procedure; `-` reads standard input.
    #[arg(value_name = "FILE")]
    file: String,
    /// What is varied, one or two of them: an amount that is taken (`glycol=1..3eq`), or a figure of the work
    /// (`temperature=60..100degC`, `reflux.time=1..8h`, `'"Make the ketal".time=1..8h'`).
    #[arg(value_name = "NAME=LOW..HIGH", required = true)]
    parameters: Vec<String>,
    /// How many points, both ends among them: `9`, or for two parameters `9x5`.
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    points: Option<String>,
    /// What is sought: the greatest yield, or the least waste, cost or stated time for the same mass of product.
    #[arg(long, value_name = "AIM", value_enum, default_value_t = Asked::Yield)]
    best: Asked,
    #[command(flatten)]
    batch: Batch,
    /// Write a plot to this file, in SVG; the table goes to standard output all the same.
    #[arg(short, long, value_name = "PLOT")]
    output: Option<String>,
    /// Write figures in JSON instead of the table.
    #[arg(long)]
    json: bool,
    /// On how many threads; without it on as many as the machine runs at once. What comes out is the same.
    #[arg(long, value_name = "N")]
    threads: Option<NonZeroUsize>,
    #[command(flatten)]
    findings: Findings,
}

/// What is sought.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Asked {
    /// The greatest yield.
    Yield,
    /// The least waste per kilogram of product.
    Waste,
    /// The least cost per kilogram of product, at the prices of the bench.
    Cost,
    /// The least time that is stated per gram of product.
    Time,
}

impl Asked {
    fn aim(self) -> Aim {
        match self {
            Self::Yield => Aim::Yield,
            Self::Waste => Aim::Waste,
            Self::Cost => Aim::Cost,
            Self::Time => Aim::Time,
        }
    }
}

/// Findings go to standard error, the table to standard output, the plot to its file.
pub fn run(arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    if arguments.parameters.len() > MOST {
        out.say("scruple: one or two figures can be varied at once; hold the others as they are, or write a `variant` with them");
        return Ok(MISUSED);
    }
    let points = match sweep::points(arguments.points.as_deref(), arguments.parameters.len()) {
        Ok(points) => points,
        Err(why) => {
            out.say(&format!("scruple: {why}"));
            return Ok(MISUSED);
        }
    };
    let request = arguments.batch.request(&arguments.file);
    let sweep = match sweep::prepare(&request, &arguments.parameters, &points, disk) {
        Ok(sweep) => sweep,
        Err(refused) => return failed(&refused, arguments, disk, out),
    };
    let priceless = || Err(NO_PRICES.to_owned());
    if arguments.best == Asked::Cost && !sweep.has_prices() {
        return priceless();
    }
    let threads = arguments.threads.or_else(|| thread::available_parallelism().ok()).map_or(1, NonZeroUsize::get);
    // The procedure as written is compiled too, and is no point.
    let progress = Progress::new("points", sweep.jobs().saturating_sub(1));
    let swept = sweep.run(threads, &|done| progress.told(done.saturating_sub(1)));
    progress.end();
    if let Some(first) = &swept.failed {
        return failed(first, arguments, disk, out);
    }
    // Where the procedure as written fails, the table says so beside the points that do not.
    if swept.written.outcome.is_ok() {
        out.findings(Stream::Aside, &arguments.findings, &swept.compilation.findings, &swept.compilation.sources)?;
    }
    let best = best(&swept, arguments.best.aim());
    if best.figure == Figure::Cost && !swept.prospects().any(|one| best.figure.of(one).is_some()) {
        return if best.unit.contains(',') {
            Err(format!("it is paid in {}, and currencies are not added: {ONE_CURRENCY}", best.unit))
        } else {
            priceless()
        };
    }
    let text = if arguments.json { shown::json(&swept, &best) } else { shown::text(&swept, &best) };
    if let Some(target) = arguments.output.as_deref() {
        if was_read(&swept.compilation.sources, target) {
            return Err(format!("`{target}` is what the sweep was made from; it is left as it is"));
        }
        out.deliver(&sweep_plot::plot(&swept, &best), Some(target))?;
        if target == "-" {
            return Ok(DONE);
        }
    }
    out.write(Stream::Product, &text)?;
    Ok(DONE)
}

/// Says why there is no sweep.
fn failed(compilation: &Compilation, arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    out.findings(Stream::Aside, &arguments.findings, &compilation.findings, &compilation.sources)?;
    if arguments.findings.form == Form::Text {
        let count = counted(&compilation.findings).unwrap_or_else(|| "no findings".to_owned());
        out.say(&format!("{count} in {}, so nothing is swept", disk.locate(&arguments.file, None)));
    }
    Ok(FAILED)
}
