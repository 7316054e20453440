//! `scruple boil`: where a mixture boils and what its vapour is.

use clap::Args;

use super::disk::Disk;
use super::out::{Ended, Out};
use super::question::{Question, answered};
use crate::asked;
use crate::emit;

#[derive(Args)]
pub struct Arguments {
    /// Materials with their amounts and commas between them: `ethanol 80 g, water 10 g`, or as in a
    /// procedure, `ethanol, 96 % v/v, 80 mL`.
    #[arg(value_name = "MIXTURE")]
    mixture: String,
    /// The pressure, from 1 mbar to 2 bar; 760 mmHg where nothing is said.
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    at: Option<String>,
    #[command(flatten)]
    question: Question,
}

/// Findings go to standard error, the answer to standard output.
pub fn run(arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    let mut asked = asked::mixture(&arguments.mixture, arguments.question.path(), disk);
    let p = asked.pressure(arguments.at.as_deref());
    let answer = p.filter(|_| !asked.has_errors()).and_then(|p| emit::boil::answer(&mut asked, p));
    answered(answer.as_ref(), &asked, &arguments.question, out, |answer| answer.text(&asked.defs))
}
