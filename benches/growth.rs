//! How speed and memory grow with the length of a procedure, against pest's bare parse of the same
//! text; and how long the program takes to start, against an empty one:
//! `cargo bench --bench growth`, or with `-- 10000` up to that many operations only.
#![allow(clippy::disallowed_methods, clippy::disallowed_macros, reason = "a bench reads the clock and prints")]
#![allow(clippy::unwrap_used, missing_docs)]

use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use pest::Parser as _;
use scruple::load::Memory;
use scruple::pipeline::{self, Request};
use scruple::source::Sources;
use scruple::syntax;

/// The grammar alone, without what the project does with it.
mod bare {
    #[derive(pest_derive::Parser)]
    #[grammar = "../grammar/procedure.pest"]
    pub struct Bare;
}

/// A procedure of `n` operations: washing, stirring, warming and cooling by turns.
fn procedure(n: usize) -> String {
    let mut text = "procedure long \"Many small steps\" {\n    basis pot\n\n    take pot = toluene, 1 L\n\n".to_owned();
    let mut waste = Vec::new();
    for number in 0..n.saturating_sub(2) {
        match number % 8 {
            0 => {
                text.push_str(&format!("    wash pot with water, 10 mL -> upper pot, lower waste_{number}\n"));
                waste.push(format!("waste_{number}"));
            }
            2 => text.push_str("    heat pot to 40 degC\n"),
            4 => text.push_str("    cool pot to 25 degC\n"),
            6 => text.push_str("    leave pot for 10 min\n"),
            _ => text.push_str("    stir pot for 5 min\n"),
        }
    }
    // A line has an end: the waste goes in several.
    for some in waste.chunks(500) {
        text.push_str(&format!("\n    discard {} as \"aqueous, neutral\"\n", some.join(", ")));
    }
    text.push_str("\n    keep pot as \"toluene, wet\" in bottle\n}\n");
    text
}

/// The shortest of some rounds.
fn shortest(rounds: usize, mut work: impl FnMut()) -> Duration {
    (0..rounds)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed()
        })
        .min()
        .unwrap()
}

fn sheet(text: &str) -> usize {
    let request = Request { path: "a".to_owned(), ..Request::default() };
    let compilation = pipeline::compile(&request, &Memory::new([("a", text)]));
    compilation.sheet().map_or(0, |sheet| sheet.len())
}

/// Peak memory of this process so far, kB, where the system tells.
fn peak() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?.split_whitespace().next()?.parse().ok()
}

/// Peak memory of a process that makes the sheet of `n` operations, kB.
fn peak_of(n: usize) -> Option<u64> {
    let own = std::env::current_exe().ok()?;
    let output = Command::new(own).args(["--peak", &n.to_string()]).output().ok()?;
    String::from_utf8(output.stdout).ok()?.trim().parse().ok()
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).filter(|argument| argument != "--bench").collect();
    if let [flag, n] = arguments.as_slice()
        && flag == "--peak"
    {
        let n: usize = n.parse().unwrap();
        if n > 0 {
            assert!(sheet(&procedure(n)) > 0);
        }
        println!("{}", peak().unwrap_or(0));
        return;
    }
    let most: usize = arguments.first().and_then(|n| n.parse().ok()).unwrap_or(100_000);

    println!("operations      bare parse     parse/bare   check/bare   sheet/bare   µs an operation (sheet)   memory/text");
    let empty = peak_of(0).unwrap_or(0);
    for n in [100, 1_000, 10_000, 100_000].into_iter().filter(|n| *n <= most) {
        let text = procedure(n);
        let rounds = if n <= 1_000 { 7 } else { 3 };
        let lines: Vec<&str> = text.lines().collect();
        let base = shortest(rounds, || {
            for line in &lines {
                let read = bare::Bare::parse(bare::Rule::line, line).map(|pairs| pairs.flatten().count());
                assert!(read.is_ok());
            }
        });
        let parse = shortest(rounds, || {
            let mut sources = Sources::default();
            let id = sources.add("a", text.clone(), false);
            let _ = syntax::parse(id, sources.get(id).unwrap());
        });
        let check = shortest(rounds, || {
            let compilation = pipeline::check("a", &Memory::new([("a", text.as_str())]));
            assert!(!compilation.has_errors());
        });
        let sheet = shortest(rounds, || assert!(sheet(&text) > 0));
        let against = |time: Duration| time.as_secs_f64() / base.as_secs_f64();
        let memory = peak_of(n).map_or(0.0, |peak| peak.saturating_sub(empty) as f64 * 1024.0 / text.len() as f64);
        println!(
            "{n:>10} {base:>15?} {:>14.2} {:>12.2} {:>12.2} {:>27.1} {memory:>13.0}",
            against(parse),
            against(check),
            against(sheet),
            sheet.as_secs_f64() * 1e6 / n as f64,
        );
    }

    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.scruple");
    std::fs::write(&file, procedure(5)).unwrap();
    let start = |program: &str, arguments: &[&str]| {
        shortest(200, || {
            Command::new(program).args(arguments).stdout(Stdio::null()).stderr(Stdio::null()).status().unwrap();
        })
    };
    let program = env!("CARGO_BIN_EXE_scruple");
    let nothing = start("true", &[]);
    let against = |time: Duration| time.as_secs_f64() / nothing.as_secs_f64();
    println!("start-up against an empty process ({nothing:?})");
    println!("  `scruple --version`               {:6.2}", against(start(program, &["--version"])));
    println!("  `scruple check` of five operations {:5.2}", against(start(program, &["check", file.to_str().unwrap()])));
}
