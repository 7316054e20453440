//! `scruple azeotropes`: the azeotropes of some substances.

use clap::Args;

use super::disk::Disk;
use super::out::{Ended, Out};
use super::question::{Question, answered};
use crate::asked;
use crate::emit;

#[derive(Args)]
pub struct Arguments {
    /// Two to five substances by name.
    #[arg(value_name = "SUBSTANCE", required = true)]
    substances: Vec<String>,
    /// The pressure, from 1 mbar to 2 bar; 1 atm where nothing is said.
    #[arg(long, value_name = "PRESSURE")]
    at: Option<String>,
    #[command(flatten)]
    question: Question,
}

/// Findings go to standard error, the answer to standard output.
pub fn run(arguments: &Arguments, disk: &Disk, out: &mut Out) -> Ended {
    let mut asked = asked::substances(&arguments.substances.join(" "), arguments.question.path(), disk);
    let p = asked.pressure(arguments.at.as_deref());
    let answer = p.filter(|_| !asked.has_errors()).and_then(|p| emit::azeotropes::answer(&mut asked, p));
    answered(answer.as_ref(), &asked, &arguments.question, out, |answer| answer.text(&asked.defs))
}
