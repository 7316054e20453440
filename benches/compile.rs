//! How long things take, as ratios: what a machine is good for cancels out.
//!
//! `cargo bench --bench compile`, or `cargo bench --bench compile -- 50` for fifty rounds.
#![allow(missing_docs)]

use std::hint::black_box;
use std::time::{Duration, Instant};

use scruple::diagnostics::render::{Look, render};
use scruple::load::Memory;
use scruple::pipeline::{Compilation, Request, check, compile};
use scruple::source::Sources;
use scruple::{library, syntax};

const SAMPLES: [(&str, &str); 4] = [
    ("acetylsalicylic_acid", include_str!("../tests/samples/acetylsalicylic_acid.scruple")),
    ("butyl_acetate", include_str!("../tests/samples/butyl_acetate.scruple")),
    ("fructone", include_str!("../tests/samples/fructone.scruple")),
    ("isoamyl_acetate", include_str!("../tests/samples/isoamyl_acetate.scruple")),
];

fn main() {
    // `cargo bench` adds flags of its own.
    let rounds = std::env::args().filter_map(|word| word.parse().ok()).next().unwrap_or(30);
    println!("the best of {rounds} rounds each\n");
    println!("{:<24}{:>12}{:>12}{:>10}{:>12}{:>10}", "", "parse", "compile", "ratio", "sized", "ratio");
    for (name, text) in SAMPLES {
        let parsed = best(rounds, || parse(text));
        let compiled = best(rounds, || compiled(text, None));
        let sized = best(rounds, || self::compiled(text, Some("product=50 g")));
        let (a, b) = (ratio(compiled, parsed), ratio(sized, compiled));
        println!("{name:<24}{:>12}{:>12}{a:>10.1}{:>12}{b:>10.1}", shown(parsed), shown(compiled), shown(sized));
    }
    println!();
    // What the samples name of the library is read with them; here is all of it, as one would read it.
    let whole = best(rounds, || library::ENTRIES.iter().map(|entry| parse(entry.text)).sum::<usize>());
    for (name, text) in SAMPLES {
        let request = Request { path: "text".to_owned(), ..Request::default() };
        let sources = compile(&request, &Memory::new([("text", text)])).sources;
        let named: Vec<&str> = sources.iter().filter(|(_, file)| file.embedded).map(|(_, file)| file.text.as_str()).collect();
        let some = best(rounds, || named.iter().map(|text| parse(text)).sum::<usize>());
        println!(
            "{name}: {} of the library's {} declarations read in {}; all of it takes {:.1} times as long",
            named.len(),
            library::ENTRIES.len(),
            shown(some),
            ratio(whole, some)
        );
    }
    println!();
    let (few, many) = (faulty(10), faulty(1000));
    let [found_few, found_many] = [&few, &many].map(|text| check("text", &Memory::new([("text", text.as_str())])));
    let checked = [&few, &many].map(|text| best(rounds.min(5), || check("text", &Memory::new([("text", text.as_str())])).findings.len()));
    let written = [&found_few, &found_many].map(|found| best(rounds.min(5), || rendered(found)));
    let (a, b) = (found_few.findings.len(), found_many.findings.len());
    println!(
        "{b} findings against {a}: found in {:.1} times as long, rendered in {:.1} times as long",
        ratio(checked[1], checked[0]),
        ratio(written[1], written[0])
    );
}

fn parse(text: &str) -> usize {
    let mut sources = Sources::default();
    let id = sources.add("text", text.to_owned(), false);
    sources.get(id).map_or(0, |file| syntax::parse(id, file).0.nodes.len())
}

fn compiled(text: &str, size: Option<&str>) -> bool {
    let request = Request { path: "text".to_owned(), size: size.map(str::to_owned), ..Request::default() };
    compile(&request, &Memory::new([("text", text)])).outcome.is_some()
}

fn rendered(found: &Compilation) -> usize {
    render(&found.findings, &found.sources, Look::Plain).len()
}

/// A procedure with so many faults, one a line.
fn faulty(count: usize) -> String {
    let takes: String = (0..count).map(|n| format!("    take a{n} = water, 5 furlong\n")).collect();
    format!("procedure x \"X\" {{\n    basis q\n    take q = water, 5 mL\n{takes}    keep q as water in jar\n}}\n")
}

fn best<T>(rounds: usize, mut run: impl FnMut() -> T) -> Duration {
    let once = |_| {
        let start = Instant::now();
        black_box(run());
        start.elapsed()
    };
    (0..rounds.max(1)).map(once).min().unwrap_or_default()
}

fn ratio(a: Duration, b: Duration) -> f64 {
    a.as_secs_f64() / b.as_secs_f64().max(1e-9)
}

fn shown(time: Duration) -> String {
    format!("{:.0} µs", time.as_secs_f64() * 1e6)
}
