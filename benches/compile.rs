//! Speed as ratios, which are steadier than times: `cargo bench --bench compile`.
#![allow(clippy::disallowed_methods, clippy::disallowed_macros, reason = "a bench reads the clock and prints")]
#![allow(clippy::unwrap_used, missing_docs)]

use std::time::{Duration, Instant};

use scruple::diagnostics::json;
use scruple::load::Memory;
use scruple::pipeline::{self, Request};
use scruple::source::Sources;
use scruple::syntax;

const SAMPLE: &str = include_str!("../tests/samples/fructone.scruple");

/// The shortest of several rounds of `times` calls, for one call.
fn shortest(times: u32, mut work: impl FnMut()) -> Duration {
    (0..7)
        .map(|_| {
            let start = Instant::now();
            (0..times).for_each(|_| work());
            start.elapsed() / times
        })
        .min()
        .unwrap()
}

fn compile(text: &str, size: Option<&str>) -> pipeline::Compilation {
    let request = Request { path: "a".to_owned(), size: size.map(str::to_owned), ..Request::default() };
    // Nothing is remembered of the run before.
    scruple::operations::remembered::forget();
    pipeline::compile(&request, &Memory::new([("a", text)]))
}

fn main() {
    let parse = shortest(50, || {
        let mut sources = Sources::default();
        let id = sources.add("a", SAMPLE.to_owned(), false);
        let _ = syntax::parse(id, sources.get(id).unwrap());
    });
    let whole = shortest(20, || drop(compile(SAMPLE, None)));
    let sized = shortest(20, || drop(compile(SAMPLE, Some("product=100g"))));
    let sheet = shortest(20, || drop(compile(SAMPLE, None).sheet()));
    // Everything in the library, named in one file.
    let names: String = scruple::library::ENTRIES.iter().map(|entry| format!("    note_{0} {0}\n", entry.name)).collect();
    let all = format!("{SAMPLE}\nprocedure names \"Names\" {{\n{names}}}\n");
    let library = shortest(5, || drop(pipeline::check("a", &Memory::new([("a", all.as_str())]))));
    let found = |n: usize| compile(&"wrong line\n".repeat(n), None);
    let render = |n: usize| {
        let compilation = found(n);
        shortest(5, || {
            for finding in &compilation.findings {
                drop(json::line(finding, &compilation.sources));
            }
        })
    };
    let (ten, thousand) = (render(10), render(1000));
    let ratio = |a: Duration, b: Duration| a.as_secs_f64() / b.as_secs_f64();
    println!("a compilation against its parse               {:8.1}", ratio(whole, parse));
    println!("sized by the product against as written       {:8.2}", ratio(sized, whole));
    println!("with its sheet against without                {:8.2}", ratio(sheet, whole));
    println!("whole library named against what a sample is  {:8.1}", ratio(library, whole));
    println!("a thousand findings written against ten       {:8.1}", ratio(thousand, ten));
    println!("one compilation, for orientation              {whole:?}");
}
