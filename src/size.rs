//! The batch: one number, the scale, found by solving for whatever the user fixed.

use crate::chemistry::solve::brent;
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::evaluate::{Evaluation, run::evaluate_held};
use crate::graph::Graph;
use crate::kinds::{Kind, show};
use crate::matter::linear::{BindingId, Procedure};
use crate::resolve::definitions::Definitions;
use crate::resolve::quantity;
use crate::source::{FileId, Sources, Span};
use crate::syntax::Tok;
use crate::syntax::parse::parse_line;

/// The least and the greatest scale that is looked for.
const REACH: (f64, f64) = (1e-6, 1e6);
/// How finely the reach is searched for the smallest answer.
const STEPS: u32 = 96;

/// What the batch is sized by.
#[derive(Clone, Debug, PartialEq)]
pub struct Aim {
    /// The portion.
    pub binding: BindingId,
    /// Mass, volume or amount of substance.
    pub kind: Kind,
    /// How much, SI.
    pub value: f64,
    /// As asked.
    pub text: String,
    /// Where it was asked, for findings.
    pub span: Span,
}

/// Reads `NAME=QUANTITY`.
pub fn read_aim(text: &str, procedure: &Procedure, sources: &mut Sources, findings: &mut Vec<Diagnostic>) -> Option<Aim> {
    let id = sources.add("--size", text.to_owned(), false);
    let span = Span::new(id, 0..text.len());
    let expected = |findings: &mut Vec<Diagnostic>| {
        findings.push(
            Diagnostic::new(Code::SyntaxExpected, span, "the batch is sized by NAME=QUANTITY")
                .help("write the name of a portion and how much of it there is to be: `alcohol=60mL`, `product=100g`"),
        );
    };
    let Some((name, amount)) = text.split_once('=') else {
        expected(findings);
        return None;
    };
    let name = name.trim();
    let Some(binding) = procedure.find(name) else {
        let mut names: Vec<&str> = procedure.bindings.iter().map(|binding| binding.name.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        let help = suggest::sentence(name, names.iter().copied())
            .unwrap_or_else(|| format!("the portions are {}", suggest::listed(&names, "and")));
        let at = Span::new(id, 0..name.len());
        findings.push(Diagnostic::new(Code::UnknownName, at, format!("no portion of this procedure is called `{name}`")).help(help));
        return None;
    };
    let offset = text.len() - amount.len();
    let (kind, value) = quantity_of(amount, offset, id, findings)?;
    Some(Aim { binding, kind, value, text: format!("{name} = {}", amount.trim()), span })
}

/// Reads a mass, a volume or moles at `offset` in the text `id`.
pub(crate) fn quantity_of(amount: &str, offset: usize, id: FileId, findings: &mut Vec<Diagnostic>) -> Option<(Kind, f64)> {
    let mut own = Sources::default();
    let own_id = own.add("--size", amount.to_owned(), false);
    let file = own.get(own_id)?;
    let (line, found) = parse_line(own_id, file);
    let whole = Span::new(id, offset..offset + amount.len());
    let moved = |mut finding: Diagnostic| {
        finding.span = whole;
        finding.edit = None;
        finding
    };
    if let Some(finding) = found.into_iter().next() {
        findings.push(moved(finding));
        return None;
    }
    let [token] = line.tokens.as_slice() else {
        findings.push(
            Diagnostic::new(Code::SyntaxExpected, whole, "one quantity with its unit belongs behind `=`").help("such as `product=100g`"),
        );
        return None;
    };
    let Tok::Quantity(measure) = &token.tok else {
        findings.push(
            Diagnostic::new(Code::SyntaxExpected, whole, "a quantity with its unit belongs behind `=`").help("such as `product=100g`"),
        );
        return None;
    };
    match quantity::read(measure, &[Kind::Mass, Kind::Volume, Kind::Amount]) {
        Ok(figure) if figure.low > 0.0 && figure.high.is_none() => Some((figure.kind, figure.low)),
        Ok(_) => {
            findings.push(Diagnostic::new(Code::OutOfRange, whole, "the batch is sized by one amount above zero"));
            None
        }
        Err(finding) => {
            findings.push(moved(finding));
            None
        }
    }
}

/// How often heater and extractor are set anew to the size that was found.
const ROUNDS: usize = 24;

/// How near two sizes are that are one.
const STILL: f64 = 1e-11;

/// A figure of an evaluation that is to have a value.
pub struct Goal<'a> {
    /// What has it, for findings.
    pub name: &'a str,
    /// Its kind.
    pub kind: Kind,
    /// The value, SI.
    pub value: f64,
    /// Where it was asked, for findings.
    pub span: Span,
    /// The figure; `None` where it cannot be worked out.
    pub of: &'a dyn Fn(&Evaluation) -> Option<f64>,
}

/// Finds the scale at which the aim is met. Evaluations that fail count as having nothing.
///
/// A heater whose power is stated does not grow with the batch, so that the water comes more slowly in a larger one,
/// and an extractor of the bench is what it is. Both are held while the size is sought, and set anew until the size
/// stands still.
///
/// # Errors
/// A finding that says the range that can be had.
pub fn solve(aim: &Aim, procedure: &Procedure, defs: &Definitions, graph: &Graph) -> Result<Evaluation, Box<Diagnostic>> {
    let of = |evaluation: &Evaluation| evaluation.figure(procedure, defs, aim.binding, aim.kind);
    let name = &procedure.binding(aim.binding).name;
    reach(&Goal { name, kind: aim.kind, value: aim.value, span: aim.span, of: &of }, procedure, defs, graph)
}

/// The same for any figure of an evaluation.
///
/// # Errors
/// A finding that says the range that can be had.
pub fn reach(aim: &Goal<'_>, procedure: &Procedure, defs: &Definitions, graph: &Graph) -> Result<Evaluation, Box<Diagnostic>> {
    let mut found = held(aim, procedure, defs, graph, 1.0)?;
    let by_size = |record: &crate::evaluate::Record| record.begins.as_ref().is_some_and(|begins| begins.by_size);
    for _ in 0..ROUNDS {
        if !found.records.values().any(by_size) || (found.scale / found.held - 1.0).abs() < STILL {
            break;
        }
        found = held(aim, procedure, defs, graph, found.scale)?;
    }
    Ok(found)
}

/// The same with heaters held as they are at a scale.
fn held(aim: &Goal<'_>, procedure: &Procedure, defs: &Definitions, graph: &Graph, held: f64) -> Result<Evaluation, Box<Diagnostic>> {
    let evaluate = |procedure, defs, graph, scale| evaluate_held(procedure, defs, graph, scale, held);
    let figure = |scale: f64| {
        let evaluation = evaluate(procedure, defs, graph, scale);
        if evaluation.findings.iter().any(Diagnostic::is_error) {
            return None;
        }
        (aim.of)(&evaluation)
    };
    let name = aim.name;
    let Some(at_one) = figure(1.0) else {
        let evaluation = evaluate(procedure, defs, graph, 1.0);
        if let Some(finding) = evaluation.findings.into_iter().find(Diagnostic::is_error) {
            return Err(Box::new(finding));
        }
        return Err(Box::new(
            Diagnostic::new(
                Code::NotKnown,
                aim.span,
                format!(
                    "`{name}` has no {} that can be worked out",
                    aim.kind.article_name().trim_start_matches("a ").trim_start_matches("an ")
                ),
            )
            .help("size the batch by its mass"),
        ));
    };
    // Most procedures are proportional: one step is exact there.
    if at_one > 0.0 {
        let guess = aim.value / at_one;
        if (REACH.0..=REACH.1).contains(&guess)
            && let Some(got) = figure(guess)
            && (got / aim.value - 1.0).abs() < 1e-12
        {
            return Ok(evaluate(procedure, defs, graph, guess));
        }
    }
    let no_batch = || Diagnostic::new(Code::OutOfReach, aim.span, format!("no batch gives {} of `{name}`", show(aim.value, aim.kind, 3)));
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut before: Option<(f64, f64)> = None;
    for step in 0..=STEPS {
        let share = f64::from(step) / f64::from(STEPS);
        let scale = REACH.0 * (REACH.1 / REACH.0).powf(share);
        let Some(got) = figure(scale) else {
            before = None;
            continue;
        };
        (least, most) = (least.min(got), most.max(got));
        let here = (scale, got - aim.value);
        if let Some(there) = before
            && there.1.signum() != here.1.signum()
            && let Ok(root) = brent(|scale| figure(scale).map_or(f64::NAN, |got| got - aim.value), there.0, here.0, 1e-14, 200)
            && figure(root).is_some_and(|got| (got / aim.value - 1.0).abs() < 1e-6)
        {
            return Ok(evaluate(procedure, defs, graph, root));
        }
        before = Some(here);
    }
    let help = if !least.is_finite() {
        "no size of batch can be worked out at all; look at the findings at the batch as written".to_owned()
    } else if (most - least).abs() < 1e-9 * most {
        format!("it is {} in every batch: its amount is fixed", show(least, aim.kind, 3))
    } else if aim.value < least {
        format!("{} of it is the least that can be had: part of it is fixed", show(least, aim.kind, 3))
    } else {
        format!(
            "between {} and {} of it can be had, in batches of up to a million times the one written",
            show(least, aim.kind, 3),
            show(most, aim.kind, 3)
        )
    };
    Err(Box::new(no_batch().help(help)))
}
