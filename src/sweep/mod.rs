//! One or two figures of a procedure varied between two ends, with what is predicted at each point.
//!
//! The file is read once. A point is a draft of the procedure with the figures of that point in it, compiled like any
//! other, so that it comes out exactly as the procedure does in which they are written by hand.

pub mod best;
pub mod parameter;
pub mod place;

use std::collections::BTreeSet;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use crate::compare::{Prospect, prospect};
use crate::diagnostics::{Code, Diagnostic, Severity};
use crate::emit::view::used_models;
use crate::load::Loader;
use crate::pipeline::{self, Compilation, Opened, Request};
pub use best::Aim;
pub use parameter::Parameter;

/// Most points of a sweep. Our own figure: they take a minute or so.
pub const MOST_POINTS: usize = 10_000;
/// Points of one parameter, and of the second of two, where nothing is asked. Our own figures.
const POINTS: [usize; 2] = [9, 5];

/// Stack of a thread, bytes: what the first one has on most systems.
const STACK: usize = 8 << 20;

/// A sweep that can be run: the file is read, and what is varied is found in it.
#[derive(Debug)]
pub struct Sweep {
    /// What is asked of the compiler besides.
    request: Request,
    /// The procedure as it was read.
    opened: Opened,
    /// What is varied.
    pub parameters: Vec<Parameter>,
}

/// What is predicted at a point.
#[derive(Clone, Debug)]
pub struct Point {
    /// The figures of the parameters, in their units; empty for the procedure as written.
    pub values: Vec<f64>,
    /// What it comes to, or the first error.
    pub outcome: Result<Prospect, Fault>,
    /// Codes of warnings.
    pub warnings: BTreeSet<Code>,
    /// Models that the prediction rests on.
    pub models: BTreeSet<String>,
}

/// Why nothing is predicted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The code of the first finding that is an error.
    pub code: Code,
    /// What it says.
    pub message: String,
}

/// A sweep that was run.
#[derive(Debug)]
pub struct Swept {
    /// The procedure's name.
    pub procedure: String,
    /// Its title.
    pub title: String,
    /// What was varied.
    pub parameters: Vec<Parameter>,
    /// The procedure as it is written.
    pub written: Point,
    /// The points, the first parameter's figures one after the other, and for each of them the second's.
    pub points: Vec<Point>,
    /// Models that the predictions rest on.
    pub models: BTreeSet<String>,
    /// Those of them by which reactions run.
    pub ran: BTreeSet<String>,
    /// The compilation as written: what was read, and what was found.
    pub compilation: Compilation,
    /// The compilation of the first point, where no point has a prediction.
    pub failed: Option<Compilation>,
}

/// Reads how many points each parameter has: `9`, or `9x5` for two.
///
/// # Errors
/// A sentence that says what to write.
pub fn points(text: Option<&str>, parameters: usize) -> Result<Vec<usize>, String> {
    let Some(text) = text else { return Ok(POINTS.into_iter().take(parameters).collect()) };
    let numbers: Vec<usize> = text.trim().split('x').map_while(|part| part.trim().parse().ok()).collect();
    if numbers.len() != text.split('x').count() || numbers.len() > parameters {
        let form = if parameters == 2 { "`9` for both parameters, or `9x5`" } else { "a whole number such as `9`" };
        return Err(format!("`{}` is not a number of points; write {form}", text.escape_debug()));
    }
    let each: Vec<usize> = numbers.iter().copied().cycle().take(parameters).collect();
    if each.iter().any(|points| *points < 2) {
        return Err("a sweep has at least 2 points of each parameter: both ends of the range".to_owned());
    }
    let all = each.iter().try_fold(1_usize, |all, points| all.checked_mul(*points)).filter(|all| *all <= MOST_POINTS);
    match all {
        Some(_) => Ok(each),
        None => Err(format!(
            "{} are more than {MOST_POINTS} points, the most that are gone through; ask for fewer with `--points`",
            text.trim()
        )),
    }
}

/// Reads the file and what is to be varied.
///
/// # Errors
/// A compilation without an outcome: what is wrong with the file, or with what was asked.
pub fn prepare(request: &Request, asked: &[String], points: &[usize], loader: &dyn Loader) -> Result<Sweep, Compilation> {
    let opened = pipeline::open(request, loader)?;
    let (mut sources, mut findings) = (opened.sources.clone(), Vec::new());
    let mut parameters: Vec<Parameter> = Vec::new();
    for (text, points) in asked.iter().zip(points) {
        let Some(read) = parameter::read(text, *points, &opened, &mut sources, &mut findings) else { continue };
        if let Some(first) = parameters.iter().find(|known| known.place == read.place) {
            findings.push(
                Diagnostic::new(Code::Duplicate, read.span, format!("`{}` is varied already", read.name))
                    .label(first.span, "here")
                    .help("two parameters are two figures of the procedure"),
            );
        }
        parameters.push(read);
    }
    if findings.is_empty() {
        return Ok(Sweep { request: request.clone(), opened, parameters });
    }
    Err(Compilation { sources, findings, ..Compilation::default() })
}

/// One compilation with what is kept of it.
struct Worked {
    point: Point,
    ran: BTreeSet<String>,
    compilation: Option<Compilation>,
}

impl Swept {
    /// What the points come to that do not fail.
    pub fn prospects(&self) -> impl Iterator<Item = &Prospect> {
        self.points.iter().filter_map(|point| point.outcome.as_ref().ok())
    }
}

impl Sweep {
    /// Whether the bench has the price of anything, so that a cost can be known.
    #[must_use]
    pub fn has_prices(&self) -> bool {
        self.opened.defs.bench.as_ref().is_some_and(|bench| bench.stock.iter().any(|stock| stock.price.is_some()))
    }

    /// The figures of every point, in order.
    fn grid(&self) -> Vec<Vec<f64>> {
        let mut grid = vec![Vec::new()];
        for parameter in &self.parameters {
            let with = |known: &Vec<f64>| {
                let known = known.clone();
                parameter.values.iter().map(move |value| known.iter().copied().chain([*value]).collect::<Vec<_>>())
            };
            grid = grid.iter().flat_map(with).collect();
        }
        grid
    }

    /// How many compilations it takes: every point, and the procedure as written.
    #[must_use]
    pub fn jobs(&self) -> usize {
        self.parameters.iter().map(|parameter| parameter.values.len()).product::<usize>() + 1
    }

    /// Runs it on so many threads. `told` hears how many compilations are done; what comes out does not depend on how
    /// many threads there are.
    #[must_use]
    pub fn run(&self, threads: usize, told: &(dyn Fn(usize) + Sync)) -> Swept {
        let grid = self.grid();
        let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
        let work = || {
            let mut own = Vec::new();
            loop {
                let job = next.fetch_add(1, Ordering::Relaxed);
                let values = match job.checked_sub(1) {
                    None => None,
                    Some(at) => match grid.get(at) {
                        Some(values) => Some((at, values.as_slice())),
                        None => return own,
                    },
                };
                own.push((job, self.worked(values)));
                told(done.fetch_add(1, Ordering::Relaxed) + 1);
            }
        };
        let mut all = Vec::new();
        thread::scope(|scope| {
            // This thread works, too; where no other can be had it does everything.
            let others = 1..threads.min(self.jobs());
            let workers: Vec<_> = others.map_while(|_| thread::Builder::new().stack_size(STACK).spawn_scoped(scope, work).ok()).collect();
            all.extend(work());
            for worker in workers {
                match worker.join() {
                    Ok(own) => all.extend(own),
                    Err(fault) => std::panic::resume_unwind(fault),
                }
            }
        });
        all.sort_by_key(|(job, _)| *job);
        let mut all = all.into_iter().map(|(_, worked)| worked);
        let first = all.next();
        let mut swept = Swept {
            procedure: self.opened.draft.name.text.clone(),
            title: self.opened.draft.title.clone(),
            parameters: self.parameters.clone(),
            written: first.as_ref().map_or_else(nothing, |worked| worked.point.clone()),
            points: Vec::new(),
            models: BTreeSet::new(),
            ran: BTreeSet::new(),
            compilation: first.and_then(|worked| worked.compilation).unwrap_or_default(),
            failed: None,
        };
        for mut worked in all {
            swept.models.extend(worked.point.models.iter().cloned());
            swept.ran.append(&mut worked.ran);
            swept.failed = swept.failed.or(worked.compilation);
            swept.points.push(worked.point);
        }
        if swept.points.iter().any(|point| point.outcome.is_ok()) {
            swept.failed = None;
        }
        swept
    }

    /// Compiles one point, or where there is none the procedure as written. The whole compilation is kept of the
    /// procedure as written and of the first point.
    fn worked(&self, point: Option<(usize, &[f64])>) -> Worked {
        let (mut draft, mut sources, mut findings) = (self.opened.draft.clone(), self.opened.sources.clone(), Vec::new());
        if let Some((number, values)) = point {
            let source = format!("point {} of the sweep", number + 1);
            parameter::put(&self.parameters, values, source, &mut draft, &mut sources, &mut findings);
        }
        let mut compilation = self.opened.compile(&self.request, draft, sources, findings);
        let values = point.map(|(_, values)| values.to_vec()).unwrap_or_default();
        let warnings = compilation.findings.iter().filter(|finding| finding.code.severity() == Severity::Warning);
        let warnings = warnings.map(|finding| finding.code).collect();
        let keep = point.is_none_or(|(number, _)| number == 0);
        let (outcome, models, ran) = match &compilation.outcome {
            Some(outcome) => {
                let title = match point {
                    None => "as written".to_owned(),
                    Some((_, values)) => {
                        let written = self.parameters.iter().zip(values);
                        let written = written.map(|(parameter, value)| format!("{} = {}", parameter.name, parameter.amount(*value)));
                        written.collect::<Vec<_>>().join(", ")
                    }
                };
                let ran = outcome.evaluation.runs.iter().map(|run| run.model.to_owned()).filter(|model| !model.is_empty());
                (Ok(prospect(&title, outcome)), used_models(outcome), ran.collect())
            }
            None => (Err(fault(&compilation)), BTreeSet::new(), BTreeSet::new()),
        };
        // A point that fails has no outcome; that of one that does not is large.
        compilation.outcome = None;
        Worked { point: Point { values, outcome, warnings, models }, ran, compilation: keep.then_some(compilation) }
    }
}

/// The first error of a compilation.
fn fault(compilation: &Compilation) -> Fault {
    match compilation.findings.iter().find(|finding| finding.is_error()) {
        Some(finding) => Fault { code: finding.code, message: finding.message.clone() },
        None => Fault { code: Code::NotKnown, message: "it cannot be worked out".to_owned() },
    }
}

/// Where not even the procedure as written was gone through, which `run` never leaves out.
fn nothing() -> Point {
    Point { values: Vec::new(), outcome: Err(fault(&Compilation::default())), warnings: BTreeSet::new(), models: BTreeSet::new() }
}
