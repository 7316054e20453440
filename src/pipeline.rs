//! The driver: one call a phase. See the crate's front page for the whole pipeline.

use crate::diagnostics::{Code, Diagnostic, arrange};
use crate::emit;
use crate::evaluate::{self, Evaluation};
use crate::graph::{self, Graph};
use crate::judge;
use crate::load::Loader;
use crate::matter::linear::{self, Procedure};
pub use crate::outcome::Outcome;
use crate::reach::{self, Nowhere, Reach, Reached};
use crate::record::{self, Review};
use crate::resolve::{self, definitions::Definitions, procedure::Draft, record::Record};
use crate::route::{self, Planned};
use crate::size;
use crate::source::{Sources, Span};

/// What is asked for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Request {
    /// The file.
    pub path: String,
    /// The procedure, where the file has several.
    pub procedure: Option<String>,
    /// The variant of the procedure, by its title; `None` is the procedure itself.
    pub variant: Option<String>,
    /// `NAME=QUANTITY`.
    pub size: Option<String>,
    /// How many times the batch as written.
    pub scale: Option<String>,
    /// The file with the bench that it is made on.
    pub bench: Option<String>,
    /// In how many runs it is made.
    pub runs: Option<String>,
    /// Whether the batch need not fit the bench, which then says what is in stock and how the room is, and no more.
    pub unfitted: bool,
}

/// The result of a compilation.
#[derive(Debug, Default)]
pub struct Compilation {
    /// All texts that were read.
    pub sources: Sources,
    /// All findings, errors first.
    pub findings: Vec<Diagnostic>,
    /// The procedure asked for, when nothing found is an error.
    pub outcome: Option<Outcome>,
    /// Reviews of the file's records.
    pub reviews: Vec<Review>,
    /// The file's routes, sized.
    pub routes: Vec<Planned>,
}

impl Compilation {
    /// Whether an error was found.
    #[must_use]
    pub fn has_errors(&self) -> bool {
        self.findings.iter().any(Diagnostic::is_error)
    }

    /// The sheet, in Markdown.
    #[must_use]
    pub fn sheet(&self) -> Option<String> {
        self.outcome.as_ref().map(|outcome| emit::sheet::sheet(outcome, &self.findings, &self.sources))
    }

    /// The sheet as a page that stands alone, in HTML.
    #[must_use]
    pub fn page(&self) -> Option<String> {
        self.outcome.as_ref().map(|outcome| emit::page::page(outcome, &self.findings, &self.sources))
    }

    /// The plan, in JSON.
    #[must_use]
    pub fn plan(&self) -> Option<String> {
        let plan = emit::plan::plan(self.outcome.as_ref()?, &self.findings, &self.sources);
        serde_json::to_string_pretty(&plan).ok().map(|text| text + "\n")
    }
}

/// What a file holds that can be set side by side.
#[derive(Clone, Debug, Default)]
pub struct Ways {
    /// Its procedures and variants, each as what is to be asked for. Before variants of a procedure that stands in another
    /// file comes that procedure. Where the file cannot be read it is the file itself, so that a compilation says why.
    pub ways: Vec<Request>,
    /// Whether it holds records.
    pub records: bool,
}

/// What a file holds that can be set side by side.
#[must_use]
pub fn ways(path: &str, loader: &dyn Loader) -> Ways {
    let mut sources = Sources::default();
    let resolved = resolve::resolve(path, loader, &mut sources, &mut Vec::new());
    let own = sources.iter().next().map(|(id, _)| id);
    let mut found = Ways { ways: Vec::new(), records: !resolved.records.is_empty() };
    let mut add = |path: &str, name: &str, variant: Option<String>| {
        let request = Request { path: path.to_owned(), procedure: Some(name.to_owned()), variant, ..Request::default() };
        if !found.ways.contains(&request) {
            found.ways.push(request);
        }
    };
    for draft in resolved.drafts.into_iter().filter(|draft| Some(draft.file) == own) {
        let name = draft.name.text;
        if Some(draft.name.span.file) != own
            && let Some(source) = sources.get(draft.name.span.file)
        {
            add(&source.name, &name, None);
        }
        add(path, &name, draft.variant);
    }
    if found.ways.is_empty() && !found.records {
        found.ways.push(Request { path: path.to_owned(), ..Request::default() });
    }
    found
}

/// Compiles one procedure at the batch asked for.
pub fn compile(request: &Request, loader: &dyn Loader) -> Compilation {
    run(request, loader, &Whole::One)
}

/// Checks every procedure of a file at the batch as written.
pub fn check(path: &str, loader: &dyn Loader) -> Compilation {
    check_on(path, None, loader)
}

/// The same on the bench of another file.
pub fn check_on(path: &str, bench: Option<&str>, loader: &dyn Loader) -> Compilation {
    run(&Request { path: path.to_owned(), bench: bench.map(str::to_owned), ..Request::default() }, loader, &Whole::All)
}

/// Sizes the routes of a file, or the one that is asked for.
pub fn route(path: &str, bench: Option<&str>, asked: &route::Asked, loader: &dyn Loader) -> Compilation {
    let request = Request { path: path.to_owned(), bench: bench.map(str::to_owned), ..Request::default() };
    run(&request, loader, &Whole::Routes(asked))
}

/// How much of a file is worked out.
enum Whole<'a> {
    /// The one procedure that is asked for.
    One,
    /// Every procedure and every route.
    All,
    /// The routes: what is found of their procedures is found at the size that the route gives them.
    Routes(&'a route::Asked),
}

/// A file that was read, with the one procedure that is meant, before anything of it is worked out: what is to be compiled
/// several times with changes is read once.
#[derive(Debug)]
pub struct Opened {
    /// All texts that were read.
    pub sources: Sources,
    /// What was found in reading, none of it an error.
    pub findings: Vec<Diagnostic>,
    /// Everything declared.
    pub defs: Definitions,
    /// The procedure that is meant.
    pub draft: Draft,
    /// Files read, with the hash of each.
    inputs: Vec<(String, String)>,
}

/// Reads a file and finds the procedure that is meant.
///
/// # Errors
/// A compilation without an outcome, where something that is written is wrong.
pub fn open(request: &Request, loader: &dyn Loader) -> Result<Opened, Compilation> {
    let (mut sources, mut findings) = (Sources::default(), Vec::new());
    let mut resolved = resolve::resolve_on(&request.path, request.bench.as_deref(), loader, &mut sources, &mut findings);
    choose(request, &mut resolved, &mut sources, &mut findings);
    let draft = if findings.iter().any(Diagnostic::is_error) { None } else { resolved.drafts.pop() };
    match draft {
        Some(draft) => Ok(Opened { sources, findings, defs: resolved.defs, draft, inputs: resolved.inputs }),
        None => {
            arrange(&mut findings, &sources);
            Err(Compilation { sources, findings, ..Compilation::default() })
        }
    }
}

impl Opened {
    /// Compiles a draft of the procedure, as it was read or with changes; `sources` are those that were read and whatever
    /// the changes were read from, and `found` is what was found in those.
    #[must_use]
    pub fn compile(&self, request: &Request, draft: Draft, sources: Sources, found: Vec<Diagnostic>) -> Compilation {
        let mut compilation = Compilation { sources, findings: self.findings.clone(), ..Compilation::default() };
        let Compilation { sources, findings, outcome, reviews, .. } = &mut compilation;
        findings.extend(found);
        let runs = how_many(request, sources, findings);
        let unfitted = unfitted(request, &self.defs);
        let judges = unfitted.as_ref().unwrap_or(&self.defs);
        let work = Asked { request, defs: &self.defs, judges, runs, broken: findings.iter().any(Diagnostic::is_error) };
        let done = work_out(&work, draft, &[], sources, findings, reviews);
        *outcome = done.map(|done| done.outcome(self.defs.clone(), self.inputs.clone(), runs));
        compilation.arranged()
    }
}

impl Compilation {
    /// With its findings in order, and without an outcome where one of them is an error.
    fn arranged(mut self) -> Self {
        arrange(&mut self.findings, &self.sources);
        // What a procedure and its variants have in common is told once.
        self.findings.dedup_by(|one, other| one.code == other.code && one.span == other.span && one.message == other.message);
        if self.has_errors() {
            self.outcome = None;
            self.reviews.clear();
            self.routes.clear();
        }
        self
    }
}

fn run(request: &Request, loader: &dyn Loader, whole: &Whole<'_>) -> Compilation {
    let mut compilation = Compilation::default();
    let Compilation { sources, findings, outcome, reviews, routes } = &mut compilation;
    let mut resolved = resolve::resolve_on(&request.path, request.bench.as_deref(), loader, sources, findings);
    let records = record::sorted(std::mem::take(&mut resolved.records), &resolved.drafts, findings);
    if let Whole::One = whole {
        choose(request, &mut resolved, sources, findings);
    }
    let runs = how_many(request, sources, findings);
    let unfitted = unfitted(request, &resolved.defs);
    let work = Asked {
        request,
        defs: &resolved.defs,
        judges: unfitted.as_ref().unwrap_or(&resolved.defs),
        runs,
        broken: findings.iter().any(Diagnostic::is_error),
    };
    let drafts = std::mem::take(&mut resolved.drafts);
    let known: Vec<Draft> = if resolved.routes.is_empty() { Vec::new() } else { drafts.iter().chain(&resolved.staged).cloned().collect() };
    let mut done = None;
    for draft in drafts {
        if let Whole::Routes(_) = whole {
            // A stage is judged at the size that its route gives it: as written it need not fit the bench.
            bound(draft, work.defs, findings);
            continue;
        }
        let own = record::of(&records, &draft);
        done = work_out(&work, draft, &own, sources, findings, reviews).or(done);
    }
    *outcome = done.map(|done| done.outcome(resolved.defs.clone(), resolved.inputs.clone(), runs));
    let everywhere = route::Asked::default();
    let (asked, one) = if let Whole::Routes(asked) = whole { (*asked, true) } else { (&everywhere, false) };
    if !matches!(whole, Whole::One) && !findings.iter().any(Diagnostic::is_error) {
        *routes = route::plan_all(resolved, &records, &known, asked, (sources, request.path.as_str()), findings);
        routes.iter_mut().for_each(|route| route.bench_file = request.bench.clone());
        if one && !findings.iter().any(Diagnostic::is_error) {
            findings.extend(route::not_one(routes, sources));
        }
    }
    compilation.arranged()
}

/// Definitions without the bench, where it is not to be fitted on one.
fn unfitted(request: &Request, defs: &Definitions) -> Option<Definitions> {
    request.unfitted.then(|| Definitions { bench: None, ..defs.clone() })
}

/// What is asked of every procedure of a file.
struct Asked<'a> {
    request: &'a Request,
    defs: &'a Definitions,
    /// What it is judged by: the same, or without the bench.
    judges: &'a Definitions,
    runs: u32,
    /// Whether something written is wrong, so that nothing is worked out.
    broken: bool,
}

/// Binds the names of a draft and puts its work into an order.
pub(crate) fn bound(draft: Draft, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Option<(Procedure, Graph)> {
    let mut procedure = linear::bind(draft, defs, findings)?;
    let pressure = defs.bench.as_ref().and_then(|bench| bench.pressure);
    procedure.about.room_pressure = procedure.about.room_pressure.or(pressure);
    let graph = graph::build(&procedure, findings)?;
    Some((procedure, graph))
}

/// A procedure that was sized and judged, at its batch and in what it states of the batch as written.
pub(crate) struct Done {
    fitted: Fitted,
    allowed: Vec<judge::allowed::Allowed>,
    graph: Graph,
}

impl Done {
    /// What the back ends are given.
    pub(crate) fn outcome(self, defs: Definitions, inputs: Vec<(String, String)>, runs: u32) -> Outcome {
        let Self { fitted, allowed, graph } = self;
        let Fitted { procedure, evaluation, sized_by, reached, judged: Judged { vessels, asked, helped } } = fitted;
        Outcome { procedure, defs, evaluation, helped, vessels, asked, sized_by, reached, runs, inputs, allowed, graph }
    }
}

/// Follows one procedure through; `None` where anything found is an error.
fn work_out(
    work: &Asked<'_>,
    draft: Draft,
    own: &[&Record],
    sources: &mut Sources,
    findings: &mut Vec<Diagnostic>,
    reviews: &mut Vec<Review>,
) -> Option<Done> {
    let Asked { request, defs, judges, runs, broken } = *work;
    let (procedure, graph) = bound(draft, defs, findings)?;
    // The gate: past it no procedure has an error in what was written.
    if broken || findings.iter().any(Diagnostic::is_error) {
        return None;
    }
    let mut size = |work: &Work<'_>, findings: &mut Vec<Diagnostic>| sized(request, work, sources, findings);
    let done = made(&mut size, procedure, (defs, judges), graph, runs, findings)?;
    reviews.extend(record::review_all(own, &done.fitted.procedure, defs, findings));
    (!findings.iter().any(Diagnostic::is_error)).then_some(done)
}

/// Sizes and judges a procedure, at its batch and in what it states of the batch as written; `judges` is what the judges
/// go by.
pub(crate) fn made(
    size: Size<'_>,
    procedure: Procedure,
    (defs, judges): (&Definitions, &Definitions),
    graph: Graph,
    runs: u32,
    findings: &mut Vec<Diagnostic>,
) -> Option<Done> {
    let fitted = fitted(size, procedure, (defs, judges), &graph, runs, findings)?;
    let Fitted { procedure, evaluation, .. } = &fitted;
    let again = (evaluation.scale != 1.0).then(|| evaluate::run::evaluate(procedure, defs, &graph, 1.0));
    let written = again.as_ref().unwrap_or(evaluation);
    findings.extend(judge::judge_written(&judge::Case::new(procedure, defs, written)));
    let allowed = judge::allowed::apply(procedure, evaluation.scale, findings);
    Some(Done { fitted, allowed, graph })
}

/// Keeps the one procedure that is meant.
fn choose(request: &Request, resolved: &mut resolve::Resolved, sources: &mut Sources, findings: &mut Vec<Diagnostic>) {
    // Variants are asked for by their titles; a file of nothing else has no other procedures.
    let titles: Vec<String> = resolved.drafts.iter().filter_map(|draft| draft.variant.clone()).collect();
    let listed_titles = titles.iter().map(|title| format!("\"{title}\"")).collect::<Vec<_>>().join(", ");
    let only_variants = resolved.drafts.iter().all(|draft| draft.variant.is_some()) && !titles.is_empty();
    match &request.variant {
        Some(wanted) => resolved.drafts.retain(|draft| draft.variant.as_ref() == Some(wanted)),
        None if only_variants => {}
        None => resolved.drafts.retain(|draft| draft.variant.is_none()),
    }
    let names: Vec<String> = resolved.drafts.iter().map(|draft| draft.name.text.clone()).collect();
    let listed: Vec<&str> = names.iter().map(String::as_str).collect();
    let listed = crate::diagnostics::suggest::listed(&listed, "and");
    let refuse = |message: String, help: String, sources: &mut Sources, findings: &mut Vec<Diagnostic>| {
        let first = sources.iter().next().map(|(id, _)| id);
        let at = match first {
            Some(id) => Span::new(id, 0..0),
            None => Span::new(sources.add(request.path.as_str(), String::new(), false), 0..0),
        };
        findings.push(Diagnostic::new(Code::NoProcedure, at, message).help(help));
    };
    match (&request.procedure, names.len()) {
        (_, 0) if findings.iter().any(Diagnostic::is_error) => {}
        (_, 0) if request.variant.is_some() => {
            let wanted = request.variant.as_deref().unwrap_or("");
            let help = if titles.is_empty() {
                "it has none: write `variant \"Title\" of PROCEDURE { … }`".to_owned()
            } else {
                format!("it has {listed_titles}")
            };
            refuse(format!("this file has no variant \"{wanted}\""), help, sources, findings);
        }
        (_, 0) => refuse("this file holds no procedure".to_owned(), "write `procedure NAME \"Title\" { … }`".to_owned(), sources, findings),
        (Some(name), _) if names.contains(name) => resolved.drafts.retain(|draft| draft.name.text == *name),
        (Some(name), _) => refuse(format!("this file has no procedure `{name}`"), format!("it has {listed}"), sources, findings),
        (None, 1) => {}
        (None, _) if only_variants && request.variant.is_none() => {
            refuse("this file has several variants".to_owned(), format!("say which with `--variant`: {listed_titles}"), sources, findings);
        }
        (None, _) => {
            refuse("this file has several procedures".to_owned(), format!("say which with `--procedure`: {listed}"), sources, findings)
        }
    }
}

/// A procedure that is to be worked out.
pub(crate) struct Work<'a> {
    pub(crate) procedure: &'a Procedure,
    pub(crate) defs: &'a Definitions,
    /// What the judges go by: the same, with the bench only where the batch has to fit it.
    judges: &'a Definitions,
    pub(crate) graph: &'a Graph,
    pub(crate) runs: u32,
}

/// An evaluation at the size wanted, with what it was sized by and what was sought.
pub(crate) type Sized = (Evaluation, Option<String>, Option<Reached>);

/// How a batch is sized; what stands in the way is a finding.
pub(crate) type Size<'a> = &'a mut dyn FnMut(&Work<'_>, &mut Vec<Diagnostic>) -> Option<Sized>;

/// What judging gives besides findings.
struct Judged {
    vessels: Vec<judge::apparatus::Chosen>,
    asked: std::collections::BTreeSet<String>,
    helped: Option<Evaluation>,
}

/// Judges an evaluation, and the ways in which something is done that is done only if needed.
fn judged(work: &Work<'_>, evaluation: &Evaluation, findings: &mut Vec<Diagnostic>) -> Judged {
    let Work { procedure, defs, judges, graph, runs } = work;
    let case = judge::Case { runs: *runs, ..judge::Case::new(procedure, judges, evaluation) };
    let (found, mut vessels) = judge::judge(&case);
    let asked = case.asked.into_inner();
    findings.extend(found);
    let mut helped = None;
    for way in procedure.ways().into_iter().skip(1) {
        let with = evaluate::run::evaluate_with(procedure, defs, graph, evaluation.scale, &way);
        let (found, chosen) = judge::judge(&judge::Case { runs: *runs, ..judge::Case::new(procedure, judges, &with) });
        judge::only_if(procedure, &way, with.findings.iter().cloned().chain(found), findings);
        // The vessels must hold what is added if it is needed.
        vessels = chosen;
        helped = Some(with);
    }
    Judged { vessels, asked, helped }
}

/// A procedure with the extractor that fits, sized and judged.
struct Fitted {
    procedure: Procedure,
    evaluation: Evaluation,
    sized_by: Option<String>,
    reached: Option<Reached>,
    judged: Judged,
}

/// Sizes and judges a procedure, with each extractor of the bench in turn where the author leaves open which:
/// the smallest that holds its bed and whose siphon is reached, or that lets the batch be as large (or small) as is sought.
fn fitted(
    size: Size<'_>,
    procedure: Procedure,
    (defs, judges): (&Definitions, &Definitions),
    graph: &Graph,
    runs: u32,
    findings: &mut Vec<Diagnostic>,
) -> Option<Fitted> {
    let mut best: Option<((bool, f64), Fitted, Vec<Diagnostic>)> = None;
    let mut failed = Vec::new();
    for procedure in procedure.with_extractors(defs) {
        let work = Work { procedure: &procedure, defs, judges, graph, runs };
        let mut found = Vec::new();
        let Some((evaluation, sized_by, reached)) = size(&work, &mut found) else {
            failed = if failed.is_empty() { found } else { failed };
            continue;
        };
        let judged = judged(&work, &evaluation, &mut found);
        let misfit = found.iter().any(|finding| matches!(finding.code, Code::SiphonNotReached | Code::BedTooLarge));
        let towards = reached.as_ref().map_or(0.0, |found| if found.reach == Reach::Largest { -found.scale } else { found.scale });
        let rank = (misfit, towards);
        if best.as_ref().is_none_or(|(known, ..)| rank < *known) {
            best = Some((rank, Fitted { procedure, evaluation, sized_by, reached, judged }, found));
        }
    }
    let Some((_, fitted, mut found)) = best else {
        findings.extend(failed);
        return None;
    };
    if runs == 1 && fitted.reached.is_none() && judges.bench.is_some() {
        let trial = |runs: u32| {
            let work = Work { procedure: &fitted.procedure, defs, judges, graph, runs };
            tried(&work, fitted.evaluation.scale / f64::from(runs))
        };
        reach::propose_runs(&mut found, &trial);
    }
    findings.extend(found);
    Some(fitted)
}

/// Everything that is found of a batch of this size.
fn tried(work: &Work<'_>, scale: f64) -> Vec<Diagnostic> {
    let evaluation = evaluate::run::evaluate(work.procedure, work.defs, work.graph, scale);
    let mut found = evaluation.findings.clone();
    judged(work, &evaluation, &mut found);
    judge::allowed::apply(work.procedure, scale, &mut found);
    found
}

/// In how many runs the batch is made.
fn how_many(request: &Request, sources: &mut Sources, findings: &mut Vec<Diagnostic>) -> u32 {
    let Some(text) = &request.runs else { return 1 };
    let runs = text.trim().parse::<u32>().ok().filter(|runs| (1..=1000).contains(runs));
    if runs.is_none() {
        let at = Span::new(sources.add("--runs", text.clone(), false), 0..text.len());
        findings.push(
            Diagnostic::new(Code::OutOfRange, at, format!("`{text}` is not a number of runs"))
                .help("write a whole number from 1 to 1000, such as `3`"),
        );
    }
    runs.unwrap_or(1)
}

/// Seeks the largest or the smallest batch for which nothing fails.
fn reached(reach: Reach, text: &str, work: &Work<'_>, sources: &mut Sources, findings: &mut Vec<Diagnostic>) -> Option<Reached> {
    let word = reach.word();
    let at = Span::new(sources.add("--size", text.to_owned(), false), 0..text.len());
    if work.defs.bench.is_none() {
        findings.push(
            Diagnostic::new(Code::NoBench, at, format!("the {word} batch is that of a bench, and none is given"))
                .help("name the file that lists what stands there: `--bench FILE`"),
        );
        return None;
    }
    let trial = |scale: f64| tried(work, scale);
    match reach::seek(reach, &trial) {
        Ok(found) => Some(found),
        Err(Nowhere::Endless) => {
            findings.push(
                Diagnostic::new(
                    Code::OutOfReach,
                    at,
                    format!("nothing on this bench says which batch is the {word}: nothing fails however far it is taken"),
                )
                .help("list the glassware with its sizes, and what is in stock"),
            );
            None
        }
        Err(Nowhere::Never(why)) => {
            findings.push(
                Diagnostic::new(Code::OutOfReach, at, format!("no batch works on this bench: {}", why.message))
                    .help(why.help.clone().unwrap_or_else(|| "mend what is found first".to_owned()))
                    .label(why.span, "this fails"),
            );
            None
        }
    }
}

/// Evaluates at the scale asked for, one run of several.
fn sized(request: &Request, work: &Work<'_>, sources: &mut Sources, findings: &mut Vec<Diagnostic>) -> Option<Sized> {
    let Work { procedure, defs, graph, runs, .. } = work;
    let share = 1.0 / f64::from(*runs);
    let at = |scale: f64| evaluate::run::evaluate(procedure, defs, graph, scale);
    let (evaluation, sized_by, reached) = match (&request.size, &request.scale) {
        (Some(text), _) if Reach::of_word(text).is_some() => {
            let reach = Reach::of_word(text)?;
            let found = reached(reach, text, work, sources, findings)?;
            (at(found.scale), None, Some(found))
        }
        (Some(text), _) => {
            let mut aim = size::read_aim(text, procedure, sources, findings)?;
            aim.value *= share;
            let evaluation = size::solve(&aim, procedure, defs, graph).map_err(|finding| findings.push(*finding)).ok()?;
            (evaluation, Some(aim.text), None)
        }
        (None, Some(text)) => {
            let scale = text.trim().parse::<f64>().ok().filter(|scale| (1e-9..=1e9).contains(scale));
            let Some(scale) = scale else {
                let at = Span::new(sources.add("--scale", text.clone(), false), 0..text.len());
                findings.push(
                    Diagnostic::new(Code::OutOfRange, at, format!("`{text}` is not a number of times that a batch can be made"))
                        .help("write a number above zero, such as `2.5`"),
                );
                return None;
            };
            (at(scale * share), None, None)
        }
        (None, None) => (at(share), None, None),
    };
    findings.extend(evaluation.findings.iter().cloned());
    Some((evaluation, sized_by, reached))
}
