//! What does not go together: in a pot, in a bottle that is kept, and in one waste bottle.

use std::collections::{BTreeMap, BTreeSet};

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Fact;
use crate::matter::portion::Masses;
use crate::resolve::definitions::Sub;
use crate::resolve::incompatible::{GIVES, Incompatible};
use crate::source::Span;

/// Share of a portion below which a substance is a trace that sets nothing off. Our own figure.
const TRACE: f64 = 0.01;
/// The same in a bottle, which is stoppered: 2 g of bicarbonate in a litre make half a litre of gas.
/// Our own figure.
const STOPPERED: f64 = 0.002;

/// Judges what is brought together.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let known: BTreeMap<Sub, &BTreeSet<String>> =
        (0..case.defs.substances.len()).map(|number| (Sub(number), &case.defs.substance(Sub(number)).goes_by)).collect();
    let said = pots(case, &known, findings);
    bottles(case, &known, &said, findings);
    streams(case, &known, findings);
}

/// The substance of a side that most of is in a portion, if more than a trace is.
fn most(side: &[String], portion: &Masses, known: &BTreeMap<Sub, &BTreeSet<String>>, trace: f64) -> Option<Sub> {
    let total: f64 = portion.values().sum();
    portion
        .iter()
        .filter(|(sub, mass)| **mass > trace * total && known.get(sub).is_some_and(|own| side.iter().any(|word| own.contains(word))))
        .max_by(|a, b| a.1.total_cmp(b.1))
        .map(|(sub, _)| *sub)
}

/// Whether a substance is as strong in a portion as the pair asks for.
fn strong(case: &Case<'_>, pair: &Incompatible, sub: Sub, portion: &Masses) -> bool {
    let Some(above) = &pair.above else { return true };
    let own = portion.get(&sub).copied().unwrap_or(0.0);
    let water = case.defs.find("water").and_then(|water| portion.get(&water)).copied().unwrap_or(0.0);
    own >= above.value * (own + water)
}

/// The first substances of a pair that two portions bring together; none where one of the portions
/// holds them both already.
fn meets(
    case: &Case<'_>,
    pair: &Incompatible,
    known: &BTreeMap<Sub, &BTreeSet<String>>,
    parts: &[Masses],
    trace: f64,
) -> Option<(usize, usize, Sub, Sub)> {
    // Two of each substance are enough: one of them is another portion.
    let mut seconds: Vec<(usize, Sub)> = Vec::new();
    for (other, second) in parts.iter().enumerate() {
        if let Some(b) = most(&pair.and, second, known, trace)
            && seconds.iter().filter(|(_, known)| *known == b).count() < 2
        {
            seconds.push((other, b));
        }
    }
    if seconds.is_empty() {
        return None;
    }
    for (one, first) in parts.iter().enumerate() {
        let Some(a) = most(&pair.between, first, known, trace).filter(|a| strong(case, pair, *a, first)) else { continue };
        if most(&pair.and, first, known, trace).is_some_and(|b| b != a) {
            continue;
        }
        if let Some((other, b)) = seconds.iter().find(|(other, b)| *other != one && *b != a) {
            return Some((one, *other, a, *b));
        }
    }
    None
}

/// Whether a reaction is declared in which both take part: then it is meant to run.
fn is_reaction(case: &Case<'_>, a: Sub, b: Sub) -> bool {
    let own = case.procedure.reactions.iter();
    own.chain(&case.defs.contact).chain(&case.defs.known_reactions).any(|reaction| {
        let takes = |sub: Sub| {
            reaction.left.iter().any(|(_, left)| *left == sub) || reaction.catalyst.as_ref().is_some_and(|(catalyst, _)| *catalyst == sub)
        };
        takes(a) && takes(b)
    })
}

/// What only warms, and is brought together on purpose, is too dilute in a bottle to matter.
fn matters_stoppered(pair: &Incompatible) -> bool {
    !pair.meant || pair.gives != "heat"
}

/// What one portion brings into the other; the pairs that were told.
fn pots<'a>(case: &Case<'a>, known: &BTreeMap<Sub, &BTreeSet<String>>, findings: &mut Vec<Diagnostic>) -> BTreeSet<&'a str> {
    let mut said: BTreeSet<&str> = BTreeSet::new();
    for (number, statement) in case.procedure.statements.iter().enumerate() {
        let ends = statement.operation.effects.iter().any(|call| ["discard", "store", "weigh"].contains(&call.effect.as_str()));
        let Some(record) = case.evaluation.records.get(&number).filter(|_| !ends) else { continue };
        let shelf = case.evaluation.shelf(number).map(|(_, dispensed)| dispensed.portion.masses());
        let parts: Vec<Masses> = record.inputs.iter().map(|(_, portion)| portion.masses()).chain(shelf).collect();
        for pair in case.defs.incompatible.iter().filter(|pair| !pair.meant) {
            if said.contains(pair.name.as_str()) {
                continue;
            }
            let Some((_, _, a, b)) = meets(case, pair, known, &parts, TRACE) else { continue };
            let (first, second) = (case.defs.substance(a), case.defs.substance(b));
            // What a drying agent stands is a rule of its own.
            if first.agent.is_some() || second.agent.is_some() || is_reaction(case, a, b) {
                continue;
            }
            said.insert(&pair.name);
            findings.push(
                Diagnostic::new(
                    Code::Together,
                    statement.span,
                    format!("{} meets {} here. {}", first.display(), second.display(), pair.because.value),
                )
                .help(format!(
                    "keep them apart; where it is what you want, declare the reaction between them, or declare `incompatible {}` again with `meant` ({})",
                    pair.name, pair.because.source
                )),
            );
        }
    }
    said
}

/// A bottle that is kept and holds both sides of a pair; the worst pair that was not told for the pot.
fn bottles(case: &Case<'_>, known: &BTreeMap<Sub, &BTreeSet<String>>, said: &BTreeSet<&str>, findings: &mut Vec<Diagnostic>) {
    for fact in &case.evaluation.facts {
        let Fact::Kept { span, binding, portion, .. } = fact else { continue };
        let held = portion.masses();
        let found = case
            .defs
            .incompatible
            .iter()
            .filter(|pair| matters_stoppered(pair) && !said.contains(pair.name.as_str()))
            .filter_map(|pair| {
                let a = most(&pair.between, &held, known, STOPPERED).filter(|a| strong(case, pair, *a, &held))?;
                let b = most(&pair.and, &held, known, STOPPERED)?;
                (a != b && !is_reaction(case, a, b)).then_some((pair, a, b))
            })
            .min_by_key(|(pair, ..)| worst(pair));
        let Some((pair, a, b)) = found else { continue };
        let name = &case.procedure.binding(*binding).name;
        findings.push(
            Diagnostic::new(
                Code::Together,
                *span,
                format!(
                    "`{name}` is kept with {} and {} in it. {}",
                    case.defs.substance(a).display(),
                    case.defs.substance(b).display(),
                    pair.because.value
                ),
            )
            .help(format!(
                "part them or let them react in the open before the bottle is closed; where the two go together here, `allow {}` says why ({})",
                Code::Together.text(),
                pair.because.source
            )),
        );
    }
}

/// Where a pair stands among what pairs give, the worst first, and by name.
fn worst(pair: &Incompatible) -> (Option<usize>, &str) {
    (GIVES.iter().position(|gives| *gives == pair.gives), &pair.name)
}

/// What one waste bottle gathers: name, where it stands, where its label stands, contents.
type Stream<'a> = Vec<(&'a str, Span, Span, Masses)>;

fn streams(case: &Case<'_>, known: &BTreeMap<Sub, &BTreeSet<String>>, findings: &mut Vec<Diagnostic>) {
    let mut bottles: BTreeMap<String, Stream<'_>> = BTreeMap::new();
    for fact in &case.evaluation.facts {
        if let Fact::Discarded { span, name, portion, label, label_span } = fact {
            bottles.entry(label.trim().to_lowercase()).or_default().push((name, *span, *label_span, portion.masses()));
        }
    }
    let mislabelled: BTreeSet<Span> = findings.iter().filter(|known| known.code == Code::Mislabelled).map(|known| known.span).collect();
    for held in bottles.values() {
        // What is in the wrong bottle comes out of it first.
        if held.iter().any(|(_, _, label, _)| mislabelled.contains(label)) {
            continue;
        }
        let parts: Vec<Masses> = held.iter().map(|(_, _, _, masses)| masses.clone()).collect();
        let found = case
            .defs
            .incompatible
            .iter()
            .filter(|pair| matters_stoppered(pair))
            .filter_map(|pair| meets(case, pair, known, &parts, STOPPERED).map(|met| (pair, met)))
            .min_by_key(|(pair, _)| worst(pair));
        let Some((pair, (one, other, a, b))) = found else { continue };
        let (Some((first, ..)), Some((second, at, label, _))) = (held.get(one), held.get(other)) else { continue };
        findings.push(
            Diagnostic::new(
                Code::WasteTogether,
                *at,
                format!(
                    "`{first}` brings {} and `{second}` brings {} into one waste. {}",
                    case.defs.substance(a).display(),
                    case.defs.substance(b).display(),
                    pair.because.value
                ),
            )
            .help(format!("give them to two wastes, or let them react in the open first, in portions ({})", pair.because.source))
            .label(*label, "both go here"),
        );
    }
}
