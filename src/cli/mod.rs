//! The command line: one file for each command, with the disk and the terminal, which nothing else
//! in the crate touches.
#![allow(clippy::disallowed_methods, reason = "the only part of the crate that does input and output")]

mod azeotropes;
mod boil;
mod check;
mod compare;
mod course;
mod disk;
mod explain;
mod layers;
mod library;
mod out;
mod plan;
mod progress;
mod question;
mod record;
mod review;
mod route;
mod sheet;
mod sweep;
mod tidy;
mod why;

use std::process::ExitCode;

use clap::{Args, Parser, Subcommand, ValueEnum};

use disk::Disk;
use out::Out;

/// Nothing stands in the way.
const DONE: u8 = 0;
/// A finding is an error, or what was asked for could not be had.
const FAILED: u8 = 1;
/// The program was called in a way that it does not know.
const MISUSED: u8 = 2;

/// Checks bench procedures, sizes them to any batch, and prints the sheet that goes to the bench.
#[derive(Parser)]
#[command(
    name = "scruple",
    disable_help_subcommand = true,
    version,
    after_help = "Example: scruple sheet pear.scruple --size alcohol=60mL -o pear.md\n\
                  `scruple COMMAND --help` says more about each command."
)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Say what is wrong with procedures, and nothing else.
    ///
    /// Each file is read and every procedure in it is followed through at the batch as written. The
    /// program ends with 0 when no finding is an error, and with 1 when one is. With `--fix` slips that
    /// leave no choice are mended in the files first.
    #[command(after_help = "Example: scruple check pear.scruple rum.scruple")]
    Check(check::Arguments),
    /// Write the sheet of a procedure, in Markdown or as a page.
    ///
    /// A procedure with errors gets no sheet. Warnings stand on the sheet as well as here.
    #[command(after_help = "Example: scruple sheet pear.scruple --size alcohol=60mL -o pear.md")]
    Sheet(sheet::Arguments),
    /// Write the plan of a procedure, in JSON: every amount exact, for other programs.
    ///
    /// It holds what the sheet holds, unrounded. A procedure with errors gets no plan.
    #[command(after_help = "Example: scruple plan pear.scruple --scale 2.5 -o pear.json")]
    Plan(plan::Arguments),
    /// Set procedures and their variants side by side, as predicted: yield, purity, time, drying agent, waste, hazards.
    ///
    /// Each procedure and each variant of the files is a column, at the batch as written or as `--size` has it.
    #[command(after_help = "Example: scruple compare fructone.scruple --size product=50g")]
    Compare(compare::Arguments),
    /// Say where a number of the sheet or the plan comes from, down to what was written and the sources.
    ///
    /// Without a property every figure of the name is explained.
    #[command(after_help = "Example: scruple why pear.scruple acid.mass --size alcohol=60mL")]
    Why(why::Arguments),
    /// Write a record of a run to fill in, with the planned figures as comments.
    ///
    /// It names the procedure's file, so that it can be reviewed where it is written.
    #[command(after_help = "Example: scruple record pear.scruple --size alcohol=60mL -o pear_march.scruple")]
    Record(record::Arguments),
    /// Say what came of runs: yields with their uncertainty, the balance, and where a step went another way than predicted.
    ///
    /// The procedure is followed through at the amounts as weighed. Jars of drying agent are followed over all
    /// the records.
    #[command(after_help = "Example: scruple review pear_march.scruple pear_april.scruple")]
    Review(review::Arguments),
    /// Size the stages of a route backwards from what is wanted of its last product, and plan the work at the bench.
    ///
    /// The overview has the stages with their yields, what is short for all of them together, the waste, the glass
    /// that they share and the days at the bench. With `-o` it is written to a folder, with one sheet for each stage.
    #[command(after_help = "Example: scruple route niobe_oil.scruple --bench bench.scruple --size 25g --spare 1/3 -o niobe")]
    Route(route::Arguments),
    /// Say what a finding means, with a procedure that has it and the same procedure mended.
    ///
    /// Without a code, list all codes.
    #[command(after_help = "Example: scruple explain matter::used_twice")]
    Explain(explain::Arguments),
    /// Say what the library holds, or all that is known about one thing in it, each figure with its source.
    ///
    /// Without a name, list everything by family.
    #[command(after_help = "Example: scruple library magnesium_sulfate")]
    Library(library::Arguments),
    /// Say where a mixture boils, what its vapour is, and who comes over first.
    ///
    /// The liquid may part into two: then both are told. Names, units and trade names are those of the
    /// language.
    #[command(after_help = "Example: scruple boil \"ethanol 80 g, water 10 g, fructone 40 g\" --at \"760 mmHg\"")]
    Boil(boil::Arguments),
    /// Say which azeotropes substances have, beside what was measured, and what that means for taking water out.
    ///
    /// Every two and every three of up to five substances are gone through.
    #[command(after_help = "Example: scruple azeotropes ethanol water toluene --at \"1 atm\"")]
    Azeotropes(azeotropes::Arguments),
    /// Say what layers a mixture forms, what each holds, and which lies on top.
    #[command(after_help = "Example: scruple layers \"water 100 g, n_butanol 40 g\" --at \"25 degC\"")]
    Layers(layers::Arguments),
    /// Follow what takes its time: a dried return, a water trap, a reaction with a rate.
    ///
    /// The table has the flask, the water in it and what was taken away, cycles or the reading of the trap,
    /// and how far each reaction has gone. With `-o` it is drawn, too.
    #[command(after_help = "Example: scruple course ketal.scruple \"Make the ketal\" -o ketal.svg")]
    Course(course::Arguments),
    /// Vary one or two figures of a procedure, and say what is predicted at each point and which is the best.
    ///
    /// An amount that is taken is called by its name; a temperature, a time or an amount of the work by the name in the
    /// operation's form, with the verb or the step before it where several have one. Two figures give a grid. With `-o` it
    /// is drawn, too.
    #[command(after_help = "Example: scruple sweep ketal.scruple glycol=1..3eq carrier=100..200mL -o ketal.svg")]
    Sweep(sweep::Arguments),
    /// Lay procedures out in the one way, keeping every word and comment.
    ///
    /// Files are rewritten where they stand, and only when something changes. A file that cannot be
    /// read as a procedure is left as it is.
    #[command(after_help = "Example: scruple tidy pear.scruple rum.scruple")]
    Tidy(tidy::Arguments),
}

/// How findings are written.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Form {
    /// For people, with the lines concerned.
    Text,
    /// One JSON object a line.
    Json,
    /// One document in SARIF 2.1.0, for editors and code hosts.
    Sarif,
}

/// The flag of every command that has findings.
#[derive(Args)]
struct Findings {
    /// How to write findings: for people, as one JSON object a line, or as one SARIF document.
    #[arg(long = "findings", value_name = "FORM", value_enum, default_value_t = Form::Text)]
    form: Form,
}

/// Runs the program on the arguments of this process.
#[must_use]
pub fn run() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version come this way too. A closed pipe is no reason to complain.
            let _ = error.print();
            return ExitCode::from(if error.use_stderr() { MISUSED } else { DONE });
        }
    };
    let (disk, mut out) = (Disk::default(), Out::new());
    let ended = match cli.command {
        Command::Check(arguments) => check::run(&arguments, &disk, &mut out),
        Command::Sheet(arguments) => sheet::run(&arguments, &disk, &mut out),
        Command::Plan(arguments) => plan::run(&arguments, &disk, &mut out),
        Command::Compare(arguments) => compare::run(&arguments, &disk, &mut out),
        Command::Why(arguments) => why::run(&arguments, &disk, &mut out),
        Command::Record(arguments) => record::run(&arguments, &disk, &mut out),
        Command::Review(arguments) => review::run(&arguments, &disk, &mut out),
        Command::Route(arguments) => route::run(&arguments, &disk, &mut out),
        Command::Explain(arguments) => explain::run(&arguments, &mut out),
        Command::Library(arguments) => library::run(&arguments, &mut out),
        Command::Layers(arguments) => layers::run(&arguments, &disk, &mut out),
        Command::Azeotropes(arguments) => azeotropes::run(&arguments, &disk, &mut out),
        Command::Course(arguments) => course::run(&arguments, &disk, &mut out),
        Command::Boil(arguments) => boil::run(&arguments, &disk, &mut out),
        Command::Sweep(arguments) => sweep::run(&arguments, &disk, &mut out),
        Command::Tidy(arguments) => tidy::run(&arguments, &disk, &mut out),
    };
    ExitCode::from(match ended {
        Ok(code) => code,
        Err(why) => {
            out.say(&format!("scruple: {why}"));
            FAILED
        }
    })
}
