//! The laws, by property test and by walking every case where that is possible. One module a law.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic, clippy::disallowed_methods, clippy::disallowed_macros, missing_docs)]
// `!(a <= b)` also fails on a NaN, which is what a law wants.
#![allow(clippy::neg_cmp_op_on_partial_ord)]

mod closure;
mod generate;
mod hostile;
mod layout;
mod mutate;
mod scale;
mod units;

use proptest::test_runner::Config;
use scruple::load::Memory;
use scruple::pipeline::{self, Compilation, Request};
use scruple::source::Sources;
use scruple::syntax::{self, File, Line, Node, Tok};

macro_rules! texts {
    ($folder:literal: $($name:literal),* $(,)?) => { &[$(($name, include_str!(concat!("../../", $folder, "/", $name, ".scruple")))),*] };
}

pub const SAMPLES: &[(&str, &str)] = texts!("tests/samples": "acetylsalicylic_acid", "butyl_acetate", "fructone", "isoamyl_acetate");

pub const EXAMPLES: &[(&str, &str)] = texts!("examples":
    "benzyl_acetate", "ethyl_butyrate", "fructone", "geranyl_acetate", "hexyl_acetate", "isoamyl_acetate", "methyl_salicylate",
    "vanillin_recrystallised");

/// Samples and examples.
pub fn all_texts() -> impl Iterator<Item = (&'static str, &'static str)> {
    SAMPLES.iter().chain(EXAMPLES).copied()
}

/// A configuration that writes no files. `LAWS=20` in the environment tries twenty times as many cases.
pub fn cases(cases: u32) -> Config {
    let more = std::env::var("LAWS").ok().and_then(|more| more.parse().ok()).unwrap_or(1);
    let cases = cases * more;
    Config { cases, failure_persistence: None, max_shrink_iters: 400, ..Config::default() }
}

pub fn check(text: impl Into<Vec<u8>>) -> Compilation {
    pipeline::check("text.scruple", &Memory::new([("text.scruple", text.into())]))
}

pub fn compile(text: &str, size: Option<String>, scale: Option<f64>) -> Compilation {
    let request = Request {
        path: "text.scruple".to_owned(),
        procedure: None,
        size,
        scale: scale.map(|scale| scale.to_string()),
        ..Request::default()
    };
    pipeline::compile(&request, &Memory::new([("text.scruple", text.as_bytes().to_vec())]))
}

/// The tree of a text, and whether it could be read without a finding.
pub fn parse(text: &str) -> (File, bool) {
    let mut sources = Sources::default();
    let id = sources.add("text", text.to_owned(), false);
    let (file, findings) = syntax::parse(id, sources.get(id).unwrap());
    (file, findings.is_empty())
}

/// Every logical line, heads of blocks included, in order.
pub fn lines<'a>(nodes: &'a [Node], found: &mut Vec<&'a Line>) {
    for node in nodes {
        match node {
            Node::Line(line) => found.push(line),
            Node::Block(block) => {
                found.push(&block.head);
                lines(&block.body, found);
            }
            Node::Comment(_) => {}
        }
    }
}

/// The bytes of every quantity's figures, with its unit, in order.
pub fn figures(file: &File) -> Vec<(usize, usize, f64, Option<String>)> {
    let mut all = Vec::new();
    lines(&file.nodes, &mut all);
    all.into_iter()
        .flat_map(|line| &line.tokens)
        .filter_map(|token| match &token.tok {
            Tok::Quantity(measure) if measure.high.is_none() && measure.plus_minus.is_none() => {
                let unit = measure.unit.as_ref().map(|(text, _)| text.clone());
                Some((measure.figures_span.start, measure.figures_span.end, measure.low, unit))
            }
            _ => None,
        })
        .collect()
}
