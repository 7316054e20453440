//! The driver: one call a phase. See the crate's front page for the whole pipeline.

use crate::diagnostics::{Code, Diagnostic, arrange};
use crate::emit;
use crate::evaluate::{self, Evaluation};
use crate::graph::{self, Graph};
use crate::judge;
use crate::load::Loader;
use crate::matter::linear::{self, Procedure};
pub use crate::outcome::Outcome;
use crate::resolve::{self, definitions::Definitions};
use crate::size;
use crate::source::{Sources, Span};

/// What is asked for.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// The file.
    pub path: String,
    /// The procedure, where the file has several.
    pub procedure: Option<String>,
    /// `NAME=QUANTITY`.
    pub size: Option<String>,
    /// How many times the batch as written.
    pub scale: Option<String>,
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

/// Compiles one procedure at the batch asked for.
pub fn compile(request: &Request, loader: &dyn Loader) -> Compilation {
    run(request, loader, true)
}

/// Checks every procedure of a file at the batch as written.
pub fn check(path: &str, loader: &dyn Loader) -> Compilation {
    run(&Request { path: path.to_owned(), ..Request::default() }, loader, false)
}

fn run(request: &Request, loader: &dyn Loader, one: bool) -> Compilation {
    let mut compilation = Compilation::default();
    let Compilation { sources, findings, outcome } = &mut compilation;
    let mut resolved = resolve::resolve(&request.path, loader, sources, findings);
    if one {
        choose(request, &mut resolved, sources, findings);
    }
    let broken = findings.iter().any(Diagnostic::is_error);
    let mut done = None;
    for draft in resolved.drafts {
        let Some(procedure) = linear::bind(draft, &resolved.defs, findings) else { continue };
        let Some(graph) = graph::build(&procedure, findings) else { continue };
        // The gate: past it no procedure has an error in what was written.
        if broken || findings.iter().any(Diagnostic::is_error) {
            continue;
        }
        let Some((evaluation, sized_by)) = sized(request, &procedure, &resolved.defs, &graph, sources, findings) else { continue };
        let case = judge::Case::new(&procedure, &resolved.defs, &evaluation);
        let (found, mut vessels) = judge::judge(&case);
        let asked = case.asked.into_inner();
        findings.extend(found);
        let mut helped = None;
        for way in procedure.ways().into_iter().skip(1) {
            let with = evaluate::run::evaluate_with(&procedure, &resolved.defs, &graph, evaluation.scale, &way);
            let (found, chosen) = judge::judge(&judge::Case::new(&procedure, &resolved.defs, &with));
            judge::only_if(&procedure, &way, with.findings.iter().cloned().chain(found), findings);
            // The vessels must hold what is added if it is needed.
            vessels = chosen;
            helped = Some(with);
        }
        let again = (evaluation.scale != 1.0).then(|| evaluate::run::evaluate(&procedure, &resolved.defs, &graph, 1.0));
        let written = again.as_ref().unwrap_or(&evaluation);
        findings.extend(judge::judge_written(&judge::Case::new(&procedure, &resolved.defs, written)));
        let allowed = judge::allowed::apply(&procedure, evaluation.scale, findings);
        if !findings.iter().any(Diagnostic::is_error) {
            done = Some((procedure, evaluation, helped, vessels, asked, sized_by, allowed, graph));
        }
    }
    *outcome = done.map(|(procedure, evaluation, helped, vessels, asked, sized_by, allowed, graph)| {
        let (defs, inputs) = (resolved.defs, resolved.inputs);
        Outcome { procedure, defs, evaluation, helped, vessels, asked, sized_by, inputs, allowed, graph }
    });
    arrange(findings, sources);
    if compilation.has_errors() {
        compilation.outcome = None;
    }
    compilation
}

/// Keeps the one procedure that is meant.
fn choose(request: &Request, resolved: &mut resolve::Resolved, sources: &mut Sources, findings: &mut Vec<Diagnostic>) {
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
        (_, 0) => refuse("this file holds no procedure".to_owned(), "write `procedure NAME \"Title\" { … }`".to_owned(), sources, findings),
        (Some(name), _) if names.contains(name) => resolved.drafts.retain(|draft| draft.name.text == *name),
        (Some(name), _) => refuse(format!("this file has no procedure `{name}`"), format!("it has {listed}"), sources, findings),
        (None, 1) => {}
        (None, _) => {
            refuse("this file has several procedures".to_owned(), format!("say which with `--procedure`: {listed}"), sources, findings)
        }
    }
}

/// Evaluates at the scale asked for.
fn sized(
    request: &Request,
    procedure: &Procedure,
    defs: &Definitions,
    graph: &Graph,
    sources: &mut Sources,
    findings: &mut Vec<Diagnostic>,
) -> Option<(Evaluation, Option<String>)> {
    let (evaluation, sized_by) = match (&request.size, &request.scale) {
        (Some(text), _) => {
            let aim = size::read_aim(text, procedure, sources, findings)?;
            let evaluation = size::solve(&aim, procedure, defs, graph).map_err(|finding| findings.push(*finding)).ok()?;
            (evaluation, Some(aim.text))
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
            (evaluate::run::evaluate(procedure, defs, graph, scale), None)
        }
        (None, None) => (evaluate::run::evaluate(procedure, defs, graph, 1.0), None),
    };
    findings.extend(evaluation.findings.iter().cloned());
    Some((evaluation, sized_by))
}
