//! Which product meets which take: the stages of a route bound to their procedures, in the order of the work.

use std::collections::{BTreeMap, BTreeSet};

use super::Read;
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::evaluate::{Evaluation, Fact, run::evaluate};
use crate::graph::Graph;
use crate::matter::linear::{BindingId, Procedure, Strength};
use crate::pipeline;
use crate::record;
use crate::resolve::definitions::{Definitions, Sub};
use crate::resolve::procedure::Draft;
use crate::resolve::route::{Route, Stage, Use};
use crate::source::Span;

/// A take that an earlier stage meets.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Feed {
    /// The take, by its number in the procedure.
    pub take: usize,
    /// The stage that prepares it, by its number in the route as written.
    pub from: usize,
    /// Where the route says so.
    pub span: Span,
}

/// What a stage prepares.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Product {
    /// The portion that is kept.
    pub binding: BindingId,
    /// What it is kept as.
    pub sub: Sub,
}

/// A stage bound to its procedure.
#[derive(Clone, Debug)]
pub struct Linked {
    /// As written.
    pub stage: Stage,
    /// The procedure, which takes what is supplied without asking the stock for it.
    pub procedure: Procedure,
    /// The order of its work.
    pub graph: Graph,
    /// What it prepares.
    pub product: Product,
    /// What it takes of earlier stages.
    pub feeds: Vec<Feed>,
    /// Yields of its records, as shares of theory.
    pub yields: Vec<f64>,
}

/// A route whose stages fit together.
#[derive(Clone, Debug)]
pub struct Chain {
    /// Stages as written.
    pub stages: Vec<Linked>,
    /// Their order at the bench, each after those that it takes from.
    pub order: Vec<usize>,
    /// The one whose product is wanted.
    pub last: usize,
}

fn errors(findings: &[Diagnostic]) -> usize {
    findings.iter().filter(|finding| finding.is_error()).count()
}

/// Binds the stages; `None` where they do not fit together, which is reported.
pub fn link(route: &Route, read: &Read<'_>, findings: &mut Vec<Diagnostic>) -> Option<Chain> {
    let before = errors(findings);
    let names: BTreeMap<&str, usize> = route.stages.iter().enumerate().map(|(at, stage)| (stage.name.text.as_str(), at)).collect();
    for earlier in
        route.stages.iter().flat_map(|stage| &stage.uses).map(|used| &used.stage).chain(route.wanted.iter().map(|wanted| &wanted.stage))
    {
        if !names.contains_key(earlier.text.as_str()) {
            findings.push(unknown(earlier.span, "no stage of this route prepares", &earlier.text, names.keys().copied()));
        }
    }
    let drafts: Vec<Option<&Draft>> = route.stages.iter().map(|stage| draft(stage, read.known, findings)).collect();
    if errors(findings) > before {
        return None;
    }
    let order = order(route, &names, findings)?;
    let last = last(route, &names, &order, findings)?;
    let mut stages = Vec::new();
    for (stage, draft) in route.stages.iter().zip(drafts) {
        let draft = draft?;
        let (procedure, graph) = pipeline::bound(draft.clone(), read.defs, findings)?;
        let evaluation = evaluate(&procedure, read.defs, &graph, 1.0);
        if let Some(finding) = evaluation.findings.iter().find(|finding| finding.is_error()) {
            findings.push(finding.clone());
            return None;
        }
        let product = product(stage, &procedure, read.defs, &evaluation).map_err(|finding| findings.push(*finding)).ok();
        let records: Vec<_> =
            if stage.recorded { read.records.iter().flat_map(|sorted| record::of(sorted, draft)).collect() } else { Vec::new() };
        let reviews = record::review_all(&records, &procedure, read.defs, findings);
        let yields = product.map_or_else(Vec::new, |product| record::yields(&reviews, product.binding, &procedure));
        stages.push((stage, procedure, graph, product, yields));
    }
    if errors(findings) > before {
        return None;
    }
    let products: Vec<Product> = stages.iter().filter_map(|(_, _, _, product, _)| *product).collect();
    let mut linked = Vec::new();
    for (stage, mut procedure, graph, product, yields) in stages {
        let feeds = feeds(stage, &procedure, &products, &names, read.defs, findings);
        for feed in &feeds {
            procedure.supplied.insert(feed.take);
            if let Some(take) = procedure.takes.get_mut(feed.take).filter(|take| take.material.of_stock) {
                // What is made is no bottle of the bench.
                take.material.strength = Strength::Pure;
                take.material.of_stock = false;
                take.material.grades.clear();
            }
        }
        linked.push(Linked { stage: stage.clone(), procedure, graph, product: product?, feeds, yields });
    }
    (errors(findings) == before).then_some(Chain { stages: linked, order, last })
}

fn unknown<'a>(at: Span, what: &str, name: &str, known: impl Iterator<Item = &'a str> + Clone) -> Diagnostic {
    let listed: Vec<&str> = known.clone().collect();
    let help = match (suggest::sentence(name, known), listed.as_slice()) {
        (Some(sentence), _) => sentence,
        (None, []) => "name the file that has it with `use \"FILE\"`".to_owned(),
        (None, listed) => format!("there is {}", suggest::listed(listed, "and")),
    };
    Diagnostic::new(Code::UnknownName, at, format!("{what} `{name}`")).help(help)
}

fn draft<'a>(stage: &Stage, known: &'a [Draft], findings: &mut Vec<Diagnostic>) -> Option<&'a Draft> {
    let own = || known.iter().filter(|draft| draft.name.text == stage.procedure.text);
    let title = stage.variant.as_ref().map(|(title, _)| title);
    if let Some(found) = own().find(|draft| draft.variant.as_ref() == title) {
        return Some(found);
    }
    findings.push(match &stage.variant {
        Some((title, at)) if own().next().is_some() => {
            let titles = own().filter_map(|draft| draft.variant.as_deref());
            unknown(*at, &format!("`{}` has no variant", stage.procedure.text), title, titles)
        }
        _ => {
            let names: BTreeSet<&str> = known.iter().map(|draft| draft.name.text.as_str()).collect();
            unknown(stage.procedure.span, "no procedure is called", &stage.procedure.text, names.iter().copied())
        }
    });
    None
}

/// Stages with those first that others take from, else as written.
fn order(route: &Route, names: &BTreeMap<&str, usize>, findings: &mut Vec<Diagnostic>) -> Option<Vec<usize>> {
    let waits =
        |stage: &Stage| -> BTreeSet<usize> { stage.uses.iter().filter_map(|used| names.get(used.stage.text.as_str()).copied()).collect() };
    let mut order: Vec<usize> = Vec::new();
    loop {
        let ready = |(at, stage): &(usize, &Stage)| !order.contains(at) && waits(stage).iter().all(|earlier| order.contains(earlier));
        let Some((next, _)) = route.stages.iter().enumerate().find(ready) else { break };
        order.push(next);
    }
    if order.len() == route.stages.len() {
        return Some(order);
    }
    // What only waits for the circle is not in it.
    let mut circle: Vec<usize> = (0..route.stages.len()).filter(|at| !order.contains(at)).collect();
    loop {
        let needed: BTreeSet<usize> = circle.iter().filter_map(|at| route.stages.get(*at)).flat_map(waits).collect();
        let before = circle.len();
        circle.retain(|at| needed.contains(at));
        if circle.len() == before {
            break;
        }
    }
    let members: Vec<&Stage> = circle.iter().filter_map(|at| route.stages.get(*at)).collect();
    let (first, others) = members.split_first()?;
    let mut path: Vec<String> = members.iter().map(|stage| format!("`{}`", stage.name.text)).collect();
    path.push(format!("`{}`", first.name.text));
    let message = if others.is_empty() {
        format!("`{}` is made from itself", first.name.text)
    } else {
        format!("these stages wait for each other: {}", path.join(", "))
    };
    let finding = Diagnostic::new(Code::RouteCircle, first.span, message)
        .help("a route begins with what stands on the shelf: let one of them take its material from there");
    findings.push(others.iter().fold(finding, |finding, stage| finding.label(stage.span, "this waits too")));
    None
}

/// The stage whose product is wanted: the one that the route names, else the last that no other takes from.
fn last(route: &Route, names: &BTreeMap<&str, usize>, order: &[usize], findings: &mut Vec<Diagnostic>) -> Option<usize> {
    let used: BTreeSet<usize> =
        route.stages.iter().flat_map(|stage| &stage.uses).filter_map(|used| names.get(used.stage.text.as_str()).copied()).collect();
    let unused: Vec<usize> = order.iter().copied().filter(|at| !used.contains(at)).collect();
    let named = route.wanted.as_ref().and_then(|wanted| names.get(wanted.stage.text.as_str()).copied());
    let last = named.or_else(|| unused.iter().max().copied())?;
    let mut good = true;
    for stage in unused.iter().filter(|at| **at != last).filter_map(|at| route.stages.get(*at)) {
        let name = &stage.name.text;
        good = false;
        findings.push(
            Diagnostic::new(Code::RouteUnused, stage.span, format!("nothing uses `{name}`, and it is not what is wanted"))
                .help(format!("say which stage takes it: `using {name}`; or take this one out")),
        );
    }
    good.then_some(last)
}

/// What a procedure keeps to go on with.
fn product(stage: &Stage, procedure: &Procedure, defs: &Definitions, evaluation: &Evaluation) -> Result<Product, Box<Diagnostic>> {
    let kept: Vec<Product> = evaluation
        .facts
        .iter()
        .filter_map(|fact| match fact {
            Fact::Kept { binding, kept_as: Some(sub), .. } => Some(Product { binding: *binding, sub: *sub }),
            _ => None,
        })
        // A bed that is put away is no product.
        .filter(|product| procedure.take_of(product.binding).is_none() && defs.substance(product.sub).agent.is_none())
        .collect();
    let name = |product: &Product| procedure.binding(product.binding).name.as_str();
    let names: Vec<&str> = kept.iter().map(name).collect();
    if let Some(wanted) = &stage.taking {
        let found = kept.iter().copied().find(|product| name(product) == wanted.text);
        return found.ok_or_else(|| {
            Box::new(unknown(
                wanted.span,
                &format!("`{}` keeps nothing as a substance under the name", procedure.name),
                &wanted.text,
                names.iter().copied(),
            ))
        });
    }
    let made: Vec<Product> =
        kept.iter().copied().filter(|product| evaluation.theoretical(procedure, defs, product.sub).is_some()).collect();
    match (made.as_slice(), kept.as_slice()) {
        ([one], _) | ([], [one]) => Ok(*one),
        ([], []) => Err(Box::new(
            Diagnostic::new(
                Code::RouteNoProduct,
                stage.procedure.span,
                format!("`{}` keeps nothing that a later stage could take", procedure.name),
            )
            .help("keep its product as a substance: `keep product as benzoic_acid in jar`"),
        )),
        _ => Err(Box::new(
            Diagnostic::new(
                Code::RouteNoProduct,
                stage.procedure.span,
                format!("`{}` keeps {}", procedure.name, suggest::listed(&names, "and")),
            )
            .help(format!("say which of them goes on: `taking {}`", names.first().copied().unwrap_or("product"))),
        )),
    }
}

/// Which take of a stage each of its uses meets.
fn feeds(
    stage: &Stage,
    procedure: &Procedure,
    products: &[Product],
    names: &BTreeMap<&str, usize>,
    defs: &Definitions,
    findings: &mut Vec<Diagnostic>,
) -> Vec<Feed> {
    let mut feeds: Vec<Feed> = Vec::new();
    for used in &stage.uses {
        let Some((from, product)) = names.get(used.stage.text.as_str()).and_then(|from| Some((*from, products.get(*from)?))) else {
            continue;
        };
        match take(used, procedure, product, defs) {
            Ok(take) => {
                let span = used.take.as_ref().map_or(used.stage.span, |take| take.span);
                if let Some(first) = feeds.iter().find(|feed| feed.take == take) {
                    let name = procedure.takes.get(take).map_or("", |take| procedure.binding(take.binding).name.as_str());
                    findings.push(
                        Diagnostic::new(Code::Duplicate, span, format!("`{name}` is met a second time"))
                            .label(first.span, "the first is here")
                            .help("one take is met by one product; let each have its own take"),
                    );
                } else {
                    feeds.push(Feed { take, from, span });
                }
            }
            Err(finding) => findings.push(*finding),
        }
    }
    feeds
}

fn take(used: &Use, procedure: &Procedure, product: &Product, defs: &Definitions) -> Result<usize, Box<Diagnostic>> {
    let name = |number: usize| procedure.takes.get(number).map_or("", |take| procedure.binding(take.binding).name.as_str());
    let all = || 0..procedure.takes.len();
    let of_it: Vec<usize> =
        all().filter(|number| procedure.takes.get(*number).is_some_and(|take| take.material.sub == product.sub)).collect();
    let called = defs.substance(product.sub).display();
    if let Some(wanted) = &used.take {
        let Some(number) = all().find(|number| name(*number) == wanted.text) else {
            let what = format!("`{}` takes nothing under the name", procedure.name);
            return Err(Box::new(unknown(wanted.span, &what, &wanted.text, all().map(name))));
        };
        if of_it.contains(&number) {
            return Ok(number);
        }
        let taken = procedure.takes.get(number).map_or_else(String::new, |take| defs.substance(take.material.sub).display());
        return Err(Box::new(
            Diagnostic::new(
                Code::RouteOtherSubstance,
                wanted.span,
                format!("`{}` is {called}, and `{}` of `{}` is {taken}", used.stage.text, wanted.text, procedure.name),
            )
            .help("name the take of the same substance; what stands between the two is a stage of its own"),
        ));
    }
    match of_it.as_slice() {
        [one] => Ok(*one),
        [] => {
            let takes: Vec<&str> = all().map(name).collect();
            Err(Box::new(
                Diagnostic::new(
                    Code::RouteOtherSubstance,
                    used.stage.span,
                    format!("`{}` is {called}, and `{}` takes none", used.stage.text, procedure.name),
                )
                .help(format!("it takes {}", suggest::listed(&takes, "and"))),
            ))
        }
        several => {
            let takes: Vec<&str> = several.iter().map(|number| name(*number)).collect();
            Err(Box::new(
                Diagnostic::new(
                    Code::Ambiguous,
                    used.stage.span,
                    format!("`{}` takes {called} as {}", procedure.name, suggest::listed(&takes, "and")),
                )
                .help(format!(
                    "say which of them is meant: `using {} as {}`",
                    used.stage.text,
                    takes.first().copied().unwrap_or("acid")
                )),
            ))
        }
    }
}
