//! One slip of the pen anywhere: every single token left out, every two neighbours of a line
//! swapped. Nothing panics, and where there is a finding the first one stands on the slip's line.

use scruple::source::Sources;
use scruple::syntax::{self, Line, Node, Tok};

use crate::{EXAMPLES, SAMPLES, check};

/// Violations that are listed; the rest are counted.
const LISTED: usize = 40;

/// A text with one slip in it.
struct Mutant {
    /// Whether it stands in the form of an operation that the text declares. Another form may be
    /// as good a form; that it was not meant shows only where the operation is used.
    in_form: Option<String>,
    /// Where the slip stands, in bytes of the text before it.
    at: usize,
    /// The lines on which the first finding may stand: from, to.
    lines: (usize, usize),
    what: String,
    text: String,
}

type Range = (usize, usize);

/// The rows of tokens that are neighbours: a logical line's, with the brace that it opens.
fn rows(nodes: &[Node], rows: &mut Vec<Vec<Range>>, single: &mut Vec<Range>) {
    for node in nodes {
        match node {
            Node::Line(line) => rows.push(row(line, single)),
            Node::Block(block) => {
                let mut head = row(&block.head, single);
                let (open, close) = ((block.open.start, block.open.end), (block.close.start, block.close.end));
                single.extend([open, close]);
                head.push(open);
                rows.push(head);
                self::rows(&block.body, rows, single);
            }
            Node::Comment(_) => {}
        }
    }
}

/// A line's tokens; and everything that can be left out of it, a quantity's figures and unit too.
fn row(line: &Line, single: &mut Vec<Range>) -> Vec<Range> {
    let mut row = Vec::new();
    for token in &line.tokens {
        let whole = (token.span.start, token.span.end);
        single.push(whole);
        row.push(whole);
        if let Tok::Quantity(measure) = &token.tok
            && let Some((_, unit)) = &measure.unit
        {
            single.extend([(measure.figures_span.start, measure.figures_span.end), (unit.start, unit.end)]);
        }
    }
    row
}

fn mutants(text: &str) -> Vec<Mutant> {
    let mut sources = Sources::default();
    let id = sources.add("text", text.to_owned(), false);
    let file = sources.get(id).unwrap();
    let (tree, findings) = syntax::parse(id, file);
    assert!(findings.is_empty());
    let (mut all_rows, mut single, mut out) = (Vec::new(), Vec::new(), Vec::new());
    rows(&tree.nodes, &mut all_rows, &mut single);
    let line = |at: usize| file.place(at).line;
    // The verb whose form holds the place, behind the words `form VERB`.
    let mut all = Vec::new();
    crate::lines(&tree.nodes, &mut all);
    let verb = |at: usize| {
        let form = all.iter().find(|line| line.first_word() == Some("form") && line.span.start < at && at < line.span.end)?;
        (form.tokens[1].span.end <= at).then(|| form.word(1).unwrap().to_owned())
    };
    for (start, end) in single {
        let what = format!("deleted `{}`", &text[start..end]);
        out.push(Mutant {
            in_form: verb(start),
            at: start,
            lines: (line(start), line(start)),
            what,
            text: format!("{}{}", &text[..start], &text[end..]),
        });
    }
    let mut swap = |a: Range, b: Range| {
        let what = format!("swapped `{}` and `{}`", &text[a.0..a.1], &text[b.0..b.1]);
        // Two words that would run together are held apart: they would be another word.
        let parts = [&text[..a.0], &text[b.0..b.1], &text[a.1..b.0], &text[a.0..a.1], &text[b.1..]];
        let mut mutant = String::new();
        for part in parts {
            let joins = |c: char| c.is_alphanumeric() || c == '_' || c == '"';
            if mutant.ends_with(joins) && part.starts_with(joins) {
                mutant.push(' ');
            }
            mutant.push_str(part);
        }
        out.push(Mutant { in_form: verb(a.0), at: a.0, lines: (line(a.0), line(b.0)), what, text: mutant });
    };
    for row in &all_rows {
        row.windows(2).for_each(|pair| swap(pair[0], pair[1]));
    }
    // A number and its unit are neighbours too.
    for token in all.iter().flat_map(|line| &line.tokens) {
        if let Tok::Quantity(measure) = &token.tok
            && let Some((_, unit)) = &measure.unit
        {
            swap((measure.figures_span.start, measure.figures_span.end), (unit.start, unit.end));
        }
    }
    out.sort_by_key(|mutant| mutant.at);
    out
}

/// Tries every `stride`th mutant from `first` on, and says what was wrong.
fn walk(name: &str, text: &str, first: usize, stride: usize) {
    let mut sources = Sources::default();
    let id = sources.add(name, text.to_owned(), false);
    let file = sources.get(id).unwrap();
    let (mut wrong, mut tried, mut silent, mut further) = (Vec::new(), 0, 0, 0);
    for mutant in mutants(text).into_iter().skip(first).step_by(stride) {
        tried += 1;
        let compilation = check(mutant.text.as_str());
        let Some(finding) = compilation.findings.first() else {
            silent += 1;
            let place = file.place(mutant.at);
            println!("{name} {} {}: {} -> nothing to say", place.line, place.column, mutant.what);
            continue;
        };
        let found = compilation.sources.place(finding.span).line;
        let used = |line: usize| {
            let text = file.line_range(line).and_then(|range| file.text.get(range)).unwrap_or("").trim_start();
            mutant.in_form.as_ref().is_some_and(|verb| text.split(' ').next() == Some(verb))
        };
        let own = |line: usize| (mutant.lines.0..=mutant.lines.1).contains(&line) || used(line);
        if !own(found) {
            let place = file.place(mutant.at);
            let (code, message) = (finding.code.text(), &finding.message);
            wrong.push(format!("{name} {} {}: {} -> {code} at line {found}: {message}", place.line, place.column, mutant.what));
        }
        let elsewhere =
            |finding: &&scruple::diagnostics::Diagnostic| finding.is_error() && !own(compilation.sources.place(finding.span).line);
        further += usize::from(own(found) && compilation.findings.iter().any(|finding| elsewhere(&finding)));
    }
    println!("{name}: {tried} slips, {silent} of them valid procedures, {further} with further errors on other lines");
    let more = wrong.len().saturating_sub(LISTED);
    assert!(wrong.is_empty(), "{} of {tried}:\n{}\nand {more} more", wrong.len(), wrong[..wrong.len() - more].join("\n"));
}

macro_rules! each_sample {
    ($($name:ident = $at:literal),*) => { $(
        #[test]
        fn $name() {
            let (name, text) = SAMPLES[$at];
            walk(name, text, 0, 1);
        }
    )* };
}
each_sample!(slips_in_acetylsalicylic_acid = 0, slips_in_butyl_acetate = 1, slips_in_fructone = 2, slips_in_isoamyl_acetate = 3);

/// A part of the slips of the examples; `every_slip_in_the_examples` walks them all.
#[test]
fn some_slips_in_the_examples() {
    for (number, (name, text)) in EXAMPLES.iter().enumerate() {
        walk(name, text, number, 23);
    }
}

#[test]
#[ignore = "takes minutes"]
fn every_slip_in_the_examples() {
    let mut failed = Vec::new();
    for (name, text) in EXAMPLES {
        if let Err(cause) = std::panic::catch_unwind(|| walk(name, text, 0, 1)) {
            failed.push(cause.downcast_ref::<String>().cloned().unwrap_or_else(|| format!("{name}: a panic")));
        }
    }
    assert!(failed.is_empty(), "{}", failed.join("\n"));
}

/// A slip that is a valid procedure must not be another one: `20` for `20 %` is a hundredfold.
#[test]
fn a_margin_without_its_percent_sign_is_found() {
    let (_, text) = SAMPLES[2];
    let mutant = text.replace("enough + 20 %", "enough + 20");
    assert_ne!(mutant, text);
    let compilation = check(mutant.as_str());
    assert!(!compilation.findings.is_empty(), "2000 % more than enough, and nothing is said");
}
