//! `scruple plan`: the plan of a procedure, in JSON, or the schema of plans.

use clap::Args;

use super::disk::Disk;
use super::out::{Ended, Out};
use super::sheet::{Batch, Make, Product, produce};
use super::{DONE, MISUSED};
use crate::emit::plan;
use crate::pipeline::Compilation;

#[derive(Args)]
pub struct Arguments {
    /// The file with the procedure; `-` reads standard input.
    #[arg(value_name = "FILE", required_unless_present = "schema")]
    file: Option<String>,
    /// Write the JSON Schema of plans instead.
    #[arg(long, conflicts_with_all = ["file", "procedure", "size", "scale", "bench", "runs"])]
    schema: bool,
    #[command(flatten)]
    batch: Batch,
    #[command(flatten)]
    product: Product,
}

/// Findings go to standard error, the plan to standard output or its file.
pub fn run(arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    if arguments.schema {
        let mut schema = plan::schema();
        if !schema.ends_with('\n') {
            schema.push('\n');
        }
        out.deliver(&schema, arguments.product.output())?;
        return Ok(DONE);
    }
    // The command line is not taken without a file or `--schema`.
    let Some(file) = &arguments.file else { return Ok(MISUSED) };
    let make = Make { what: "plan", from: Compilation::plan };
    produce(file, &arguments.batch, &arguments.product, &make, disk, out)
}
