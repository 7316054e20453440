//! The sizes of a route's stages, backwards from what is wanted.

use serde::Serialize;

use super::link::{self, Chain, Linked};
use super::schedule::{self, Schedule};
use super::supply::{self, Supply};
use super::{Asked, Read, glass};
use crate::compare;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Evaluation;
use crate::kinds::{Kind, significant};
use crate::matter::balance;
use crate::matter::linear::Strength;
use crate::matter::portion::Portion;
use crate::outcome::Outcome;
use crate::pipeline::{self, Work};
use crate::resolve::definitions::Definitions;
use crate::resolve::quantity::Figure;
use crate::resolve::route::{self, Route};
use crate::size::{self, Goal};
use crate::source::{Sources, Span};
use crate::syntax::parse::parse_line;

/// In how many runs a stage is made at the most; past it the work is no longer that of a bench. Our own figure.
pub const MOST_RUNS: u32 = 12;

/// How many lines of stages are told: what forks and joins again and again has very many. Our own figure.
const MOST_LINES: usize = 32;

/// Yields from records.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Recorded {
    /// How many records give one.
    pub records: usize,
    /// Their mean, as a share of theory.
    pub mean: f64,
    /// The lowest and the highest.
    pub low: f64,
    /// See `low`.
    pub high: f64,
    /// The mean against what is predicted for the batch.
    pub factor: f64,
}

/// A take that an earlier stage meets.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fed {
    /// The take.
    pub take: String,
    /// The stage that prepares it, by its name.
    pub from: String,
    /// Of the pure substance, in all runs, g.
    pub pure_g: f64,
    /// Of the product as it is predicted to be, g: what is weighed for it.
    pub as_made_g: f64,
}

/// A stage at its size.
#[derive(Clone, Debug, Serialize)]
pub struct PlannedStage {
    /// What its product is called in the route.
    pub name: String,
    /// The procedure.
    pub procedure: String,
    /// Its title.
    pub title: String,
    /// The variant.
    pub variant: Option<String>,
    /// In how many runs it is made; every run is of the same size.
    pub runs: u32,
    /// Why it is not made in one.
    pub split_because: Option<String>,
    /// The size of one run against the batch as written.
    pub scale: f64,
    /// The portion that goes on.
    pub portion: String,
    /// The substance.
    pub substance: String,
    /// What theory allows in all runs, g of the pure substance; where nothing makes it, all of it that is taken.
    pub theory_g: f64,
    /// Whether nothing makes it.
    pub recovered: bool,
    /// What is expected in all runs, g of the pure substance.
    pub expected_g: f64,
    /// The same as it is weighed, with what else it holds, g.
    pub as_weighed_g: f64,
    /// What is asked of it: g of the pure substance that later stages take; of the last stage what is expected of it.
    pub asked_g: f64,
    /// Expected yield, a share of theory.
    pub expected_yield: f64,
    /// Predicted yield, a share of theory.
    pub predicted_yield: f64,
    /// What records say of it, where the route asks for that and there are any.
    pub recorded: Option<Recorded>,
    /// Whether the route asks for the yield of records.
    pub asks_for_records: bool,
    /// Predicted purity, a mass fraction.
    pub purity: f64,
    /// What else the product holds: name and mass fraction.
    pub impurities: Vec<(String, f64)>,
    /// What it takes of earlier stages.
    pub feeds: Vec<Fed>,
    /// What was found of it at this size, as `CODE: message`.
    pub found: Vec<String>,
    /// The evaluation of one run and all that belongs to it.
    #[serde(skip)]
    pub outcome: Outcome,
    /// The findings themselves.
    #[serde(skip)]
    pub findings: Vec<Diagnostic>,
}

/// A route with every stage sized.
#[derive(Clone, Debug, Serialize)]
pub struct Planned {
    /// Its title.
    pub title: String,
    /// What is wanted, as asked; absent where nothing is, and the last stage is made as written.
    pub wanted: Option<String>,
    /// What is made to spare, as a share of it.
    pub spare: f64,
    /// Stages in the order of the work.
    pub stages: Vec<PlannedStage>,
    /// Yields from each beginning to the end: the stages by name, and the product of their yields.
    pub lines: Vec<(Vec<String>, f64)>,
    /// All that is taken from the shelf, for all stages together.
    pub supplies: Vec<Supply>,
    /// Waste of all stages, g, water and what goes into the air counted.
    pub waste_g: f64,
    /// All that is taken from the shelf, g.
    pub taken_g: f64,
    /// Waste to a kilogram of the last product, kg: the E factor of the whole.
    pub e_factor: Option<f64>,
    /// Pieces that more than one stage needs.
    pub shared: Vec<glass::Shared>,
    /// The work at the bench.
    pub schedule: Schedule,
    /// The name of the bench, where there is one.
    pub bench: Option<String>,
    /// The file.
    #[serde(skip)]
    pub file: String,
    /// The file that the bench was asked for from.
    #[serde(skip)]
    pub bench_file: Option<String>,
}

/// What a run is to give.
struct Target {
    kind: Kind,
    /// SI; `None` for the batch as written times so much.
    value: Result<f64, f64>,
    /// Whether it is of the pure substance.
    pure: bool,
    name: String,
    span: Span,
}

/// Sizes a route.
pub(super) fn plan(
    route: &Route,
    read: &Read<'_>,
    asked: &Asked,
    sources: &mut Sources,
    findings: &mut Vec<Diagnostic>,
) -> Option<Planned> {
    let day = schedule::read_day(asked.day.as_deref(), sources, findings)?;
    let chain = link::link(route, read, findings)?;
    let (wanted, spare) = wanted(route, &chain, asked, sources, findings)?;
    let mut made: Vec<Option<PlannedStage>> = chain.stages.iter().map(|_| None).collect();
    let mut needed: Vec<f64> = chain.stages.iter().map(|_| 0.0).collect();
    let mut good = true;
    for at in chain.order.iter().rev().copied() {
        let linked = chain.stages.get(at)?;
        let own = &linked.stage;
        let asked_of_it = needed.get(at).copied().unwrap_or(0.0);
        let target = if at == chain.last {
            let name = linked.stage.name.text.clone();
            match &wanted {
                Some((figure, _)) => {
                    Target { kind: figure.kind, value: Ok(figure.low * (1.0 + spare)), pure: false, name, span: figure.span }
                }
                None => Target { kind: Kind::Mass, value: Err(1.0 + spare), pure: false, name, span: own.span },
            }
        } else {
            Target { kind: Kind::Mass, value: Ok(asked_of_it), pure: true, name: own.name.text.clone(), span: own.span }
        };
        let mut stage = sized(linked, &target, read, findings)?;
        stage.asked_g = if at == chain.last { stage.expected_g } else { asked_of_it * 1e3 };
        for feed in &linked.feeds {
            let evaluation = &stage.outcome.evaluation;
            let Some(dispensed) = evaluation.takes.get(&feed.take) else { continue };
            let pure = dispensed.portion.of(chain.stages.get(feed.from)?.product.sub) * f64::from(stage.runs);
            if let Some(sum) = needed.get_mut(feed.from) {
                *sum += pure;
            }
            let take =
                linked.procedure.takes.get(feed.take).map_or_else(String::new, |take| linked.procedure.binding(take.binding).name.clone());
            let from = chain.stages.get(feed.from)?.stage.name.text.clone();
            stage.feeds.push(Fed { take, from, pure_g: pure * 1e3, as_made_g: f64::NAN });
        }
        if let Some(slot) = made.get_mut(at) {
            *slot = Some(stage);
        }
    }
    // What is charged is weighed as it was made, and must be as pure as the take asks for.
    let purities: Vec<(String, f64)> = made.iter().flatten().map(|stage| (stage.name.clone(), stage.purity)).collect();
    let purity_of = |name: &str| purities.iter().find(|(known, _)| known == name).map_or(f64::NAN, |(_, purity)| *purity);
    for (stage, linked) in made.iter_mut().zip(&chain.stages) {
        let Some(stage) = stage else { continue };
        for (fed, feed) in stage.feeds.iter_mut().zip(&linked.feeds) {
            let purity = purity_of(&fed.from);
            fed.as_made_g = fed.pure_g / purity;
            if let Some(finding) =
                impure(stage.outcome.evaluation.takes.get(&feed.take).map(|dispensed| dispensed.strength), purity, fed, linked, feed)
            {
                findings.push(finding);
                good = false;
            }
        }
    }
    if !good {
        return None;
    }
    let mut by_place: Vec<Option<PlannedStage>> = made;
    let stages: Vec<PlannedStage> = chain.order.iter().filter_map(|at| by_place.get_mut(*at)?.take()).collect();
    report(&stages, &chain, findings);
    let bench = read.defs.bench.as_deref();
    let supplies = supply::supplies(&stages, bench, sources);
    supply::judge(&supplies, &stages, bench, route.span, findings);
    let shared = glass::shared(&stages, bench);
    let schedule = schedule::schedule(&stages, &shared, bench, day);
    let waste: f64 = stages.iter().map(waste).sum();
    let taken: f64 = stages.iter().map(taken).sum();
    let last = stages.iter().find(|stage| chain.stages.get(chain.last).is_some_and(|linked| linked.stage.name.text == stage.name))?;
    let e_factor = Some(waste * 1e3 / last.as_weighed_g).filter(|value| value.is_finite());
    Some(Planned {
        title: route.title.clone(),
        wanted: wanted.map(|(_, text)| text),
        spare,
        lines: lines(&stages, &last.name),
        supplies,
        waste_g: waste * 1e3,
        taken_g: taken * 1e3,
        e_factor,
        shared,
        schedule,
        bench: bench.map(|bench| bench.title.clone()),
        bench_file: None,
        file: read.inputs.first().map_or_else(String::new, |(name, _)| name.clone()),
        stages,
    })
}

/// What is wanted of the last stage and what more is made, by the command line or by the route.
fn wanted(
    route: &Route,
    chain: &Chain,
    asked: &Asked,
    sources: &mut Sources,
    findings: &mut Vec<Diagnostic>,
) -> Option<(Option<(Figure, String)>, f64)> {
    let last = chain.stages.get(chain.last)?;
    let mut wanted = route.wanted.as_ref().map(|wanted| (wanted.figure, crate::emit::words::figure(&wanted.figure)));
    let mut spare = route.wanted.as_ref().map_or(0.0, |wanted| wanted.spare);
    if let Some(text) = &asked.size {
        let id = sources.add("--size", text.clone(), false);
        let (name, amount) = text.split_once('=').map_or((None, text.as_str()), |(name, amount)| (Some(name.trim()), amount));
        let portion = last.procedure.binding(last.product.binding).name.as_str();
        if let Some(name) = name.filter(|name| *name != last.stage.name.text && *name != portion) {
            findings.push(
                Diagnostic::new(
                    Code::UnknownName,
                    Span::new(id, 0..name.len()),
                    format!("what this route prepares last is not called `{name}`"),
                )
                .help(format!("it is `{}`: a route is sized by its last product", last.stage.name.text)),
            );
            return None;
        }
        let (kind, value) = size::quantity_of(amount, text.len() - amount.len(), id, findings)?;
        let figure = Figure { low: value, high: None, plus_minus: None, kind, span: Span::new(id, 0..text.len()) };
        wanted = Some((figure, crate::emit::words::figure(&figure)));
    }
    if let Some(text) = &asked.spare {
        let id = sources.add("--spare", text.clone(), false);
        let at = Span::new(id, 0..text.len());
        let tokens = sources.get(id).map(|file| parse_line(id, file).0.tokens).unwrap_or_default();
        spare = match route::share(&tokens, at) {
            Ok((share, read)) if read == tokens.len() => share,
            Ok(_) => {
                findings
                    .push(Diagnostic::new(Code::SyntaxExpected, at, "one share belongs here").help("write `--spare 1/3` or `--spare 20%`"));
                return None;
            }
            Err(finding) => {
                findings.push(finding);
                return None;
            }
        };
    }
    Some((wanted, spare))
}

/// kg of the pure substance that a run is expected to give.
fn expected(linked: &Linked, evaluation: &Evaluation, defs: &Definitions) -> Option<f64> {
    let pure = evaluation.portion(linked.product.binding)?.of(linked.product.sub);
    match mean(&linked.yields) {
        Some(mean) => Some(mean * theory(linked, evaluation, defs)?),
        None => Some(pure),
    }
}

/// kg of the pure substance that theory allows in a run, or where nothing makes it all that is taken.
fn theory(linked: &Linked, evaluation: &Evaluation, defs: &Definitions) -> Option<f64> {
    let sub = linked.product.sub;
    evaluation.theoretical(&linked.procedure, defs, sub).or_else(|| Some(evaluation.taken(sub)).filter(|taken| *taken > 0.0))
}

fn mean(yields: &[f64]) -> Option<f64> {
    // No more records than a page holds: the count is exact as a float.
    (!yields.is_empty()).then(|| yields.iter().sum::<f64>() / yields.len() as f64)
}

/// Finds the smallest number of runs in which a stage works.
fn sized(linked: &Linked, target: &Target, read: &Read<'_>, findings: &mut Vec<Diagnostic>) -> Option<PlannedStage> {
    let defs = read.defs;
    let mut first: Option<Diagnostic> = None;
    let mut last = None;
    for runs in 1..=MOST_RUNS {
        let of = |evaluation: &Evaluation| {
            let pure = evaluation.portion(linked.product.binding)?.of(linked.product.sub);
            let expected = expected(linked, evaluation, defs)?;
            if target.pure {
                return Some(expected);
            }
            Some(evaluation.figure(&linked.procedure, defs, linked.product.binding, target.kind)? * expected / pure)
        };
        let mut size = |work: &Work<'_>, found: &mut Vec<Diagnostic>| {
            let share = 1.0 / f64::from(work.runs);
            let evaluation = match target.value {
                Ok(value) => {
                    let goal = Goal { name: &target.name, kind: target.kind, value: value * share, span: target.span, of: &of };
                    size::reach(&goal, work.procedure, work.defs, work.graph).map_err(|finding| found.push(*finding)).ok()?
                }
                Err(scale) => crate::evaluate::run::evaluate(work.procedure, work.defs, work.graph, scale * share),
            };
            found.extend(evaluation.findings.iter().cloned());
            Some((evaluation, None, None))
        };
        let mut found = Vec::new();
        let made = pipeline::made(&mut size, linked.procedure.clone(), (defs, defs), linked.graph.clone(), runs, &mut found);
        let error = found.iter().find(|finding| finding.is_error()).cloned();
        match (made, error) {
            (Some(made), None) => {
                let outcome = made.outcome(defs.clone(), read.inputs.to_vec(), runs);
                return planned(linked, outcome, runs, first.map(|finding| finding.message), found, defs);
            }
            (Some(_), Some(error)) => {
                first = first.or_else(|| Some(error.clone()));
                last = Some(error);
            }
            (None, error) if first.is_none() => {
                // Sizes that cannot be had at all are no matter of vessels.
                findings.extend(error.map(|finding| finding.label(linked.stage.span, "this stage")));
                return None;
            }
            (None, _) => break,
        }
    }
    let (first, last) = (first?, last?);
    let also = if last.code == first.code { String::new() } else { format!("; in {MOST_RUNS} runs: {}", last.message) };
    findings.push(
        Diagnostic::new(
            Code::RouteDoesNotFit,
            linked.stage.span,
            format!("`{}` works neither in one run nor in up to {MOST_RUNS}; in one: {}{also}", target.name, first.message),
        )
        .label(first.span, "this is in the way")
        .help(first.help.clone().unwrap_or_else(|| "want less of the last product, or add what is missing to the bench".to_owned())),
    );
    None
}

/// The figures of a stage that was made.
fn planned(
    linked: &Linked,
    outcome: Outcome,
    runs: u32,
    split: Option<String>,
    findings: Vec<Diagnostic>,
    defs: &Definitions,
) -> Option<PlannedStage> {
    let evaluation = &outcome.evaluation;
    let times = f64::from(runs);
    let portion = evaluation.portion(linked.product.binding)?;
    let pure = portion.of(linked.product.sub);
    let theory_kg = theory(linked, evaluation, defs)?;
    let expected_kg = expected(linked, evaluation, defs)?;
    let recorded = mean(&linked.yields).map(|mean| Recorded {
        records: linked.yields.len(),
        mean,
        low: linked.yields.iter().copied().fold(f64::INFINITY, f64::min),
        high: linked.yields.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        factor: mean * theory_kg / pure,
    });
    Some(PlannedStage {
        name: linked.stage.name.text.clone(),
        procedure: linked.procedure.name.clone(),
        title: linked.procedure.title.clone(),
        variant: linked.stage.variant.as_ref().map(|(title, _)| title.clone()),
        runs,
        split_because: split,
        scale: evaluation.scale,
        portion: linked.procedure.binding(linked.product.binding).name.clone(),
        substance: defs.substance(linked.product.sub).display(),
        theory_g: theory_kg * times * 1e3,
        recovered: evaluation.theoretical(&linked.procedure, defs, linked.product.sub).is_none(),
        expected_g: expected_kg * times * 1e3,
        as_weighed_g: portion.mass() * expected_kg / pure * times * 1e3,
        asked_g: f64::NAN,
        expected_yield: expected_kg / theory_kg,
        predicted_yield: pure / theory_kg,
        recorded,
        asks_for_records: linked.stage.recorded,
        purity: pure / portion.mass(),
        impurities: impurities(linked, portion, defs),
        feeds: Vec::new(),
        found: findings.iter().map(|finding| format!("{}: {}", finding.code.text(), finding.message)).collect(),
        outcome,
        findings,
    })
}

/// What a product holds besides, the most first, down to a hundredth of a per cent. Our own figure.
fn impurities(linked: &Linked, portion: &Portion, defs: &Definitions) -> Vec<(String, f64)> {
    let whole = portion.mass();
    let mut others: Vec<(String, f64)> = portion
        .masses()
        .into_iter()
        .filter(|(sub, mass)| *sub != linked.product.sub && *mass >= 1e-4 * whole)
        .map(|(sub, mass)| (defs.substance(sub).display(), mass / whole))
        .collect();
    others.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    others
}

/// A product below the grade that a take states.
fn impure(strength: Option<f64>, purity: f64, fed: &Fed, linked: &Linked, feed: &link::Feed) -> Option<Diagnostic> {
    let take = linked.procedure.takes.get(feed.take)?;
    let asked = strength.filter(|_| take.material.strength != Strength::Pure)?;
    if purity >= asked * (1.0 - 1e-9) {
        return None;
    }
    let percent = |share: f64| format!("{} % w/w", significant(100.0 * share, 3));
    Some(
        Diagnostic::new(
            Code::RouteImpure,
            feed.span,
            format!("`{}` asks for {}, and `{}` is predicted to be of {}", fed.take, percent(asked), fed.from, percent(purity)),
        )
        .label(take.material.span, "the grade is asked for here")
        .help("purify it in a stage of its own, or take the strength out: then what it holds of the pure substance is counted"),
    )
}

/// Tells what was found of the stages, each under its name, as far as it was not found already.
fn report(stages: &[PlannedStage], chain: &Chain, findings: &mut Vec<Diagnostic>) {
    for stage in stages {
        let own = chain.stages.iter().find(|linked| linked.stage.name.text == stage.name).map(|linked| linked.stage.span);
        for finding in &stage.findings {
            if findings.iter().any(|known| known.code == finding.code && known.span == finding.span) {
                continue;
            }
            let mut finding = finding.clone();
            finding.message = format!("`{}`: {}", stage.name, finding.message);
            finding.edit = None;
            findings.push(match own {
                Some(span) => finding.label(span, "at the size of this stage"),
                None => finding,
            });
        }
    }
}

/// kg of waste of all runs; where records give less than is predicted, what is lost counts too.
fn waste(stage: &PlannedStage) -> f64 {
    let lost = stage.predicted_yield / stage.expected_yield - 1.0;
    f64::from(stage.runs) * compare::waste(&stage.outcome.evaluation) + stage.as_weighed_g * 1e-3 * lost.max(0.0)
}

/// kg that all runs take from the shelf.
fn taken(stage: &PlannedStage) -> f64 {
    let Outcome { procedure, defs, evaluation, .. } = &stage.outcome;
    let supplied = procedure.supplied.iter().filter_map(|take| evaluation.takes.get(take)).map(|dispensed| dispensed.portion.mass());
    f64::from(stage.runs) * (balance::balance(procedure, defs, evaluation).mass_in - supplied.sum::<f64>())
}

/// The lines of stages that lead to the last one, each with the product of its yields.
fn lines(stages: &[PlannedStage], last: &str) -> Vec<(Vec<String>, f64)> {
    let mut open: Vec<(Vec<String>, f64)> = vec![(vec![last.to_owned()], 1.0)];
    let mut done = Vec::new();
    while let Some((names, share)) = open.pop().filter(|_| done.len() < MOST_LINES) {
        let Some(stage) = names.last().and_then(|name| stages.iter().find(|stage| stage.name == *name)) else { continue };
        let share = share * stage.expected_yield;
        let mut from: Vec<&str> = stage.feeds.iter().map(|fed| fed.from.as_str()).collect();
        from.sort_unstable();
        from.dedup();
        if from.is_empty() {
            done.push((names.iter().rev().cloned().collect(), share));
        }
        for earlier in from.into_iter().rev() {
            let mut longer = names.clone();
            longer.push(earlier.to_owned());
            open.push((longer, share));
        }
    }
    done
}
