//! Judging: one file a family of rules, each a function of the facts that an evaluation noted.

pub mod allowed;
pub mod apparatus;
pub mod bench;
pub mod beyond;
pub mod capacity;
pub mod closed;
pub mod hazards;
pub mod heating;
pub mod incompatible;
pub mod layers;
pub mod matter;
pub mod measure;
pub mod pace;
pub mod peroxides;
mod pieces;
pub mod scaling;
pub mod stands;
pub mod stated;
pub mod steps;
pub mod take_off;
pub mod waste;
pub mod workup;

use std::cell::RefCell;
use std::collections::BTreeSet;

use crate::diagnostics::Diagnostic;
use crate::evaluate::Evaluation;
use crate::matter::linear::Procedure;
use crate::resolve::definitions::Definitions;
use crate::resolve::rule::Rule;

/// What a judge sees.
pub struct Case<'a> {
    /// The procedure.
    pub procedure: &'a Procedure,
    /// Everything declared.
    pub defs: &'a Definitions,
    /// The evaluation.
    pub evaluation: &'a Evaluation,
    /// How many runs of the batch are made.
    pub runs: u32,
    /// The rules that were asked for, which the sheet names with their sources.
    pub asked: RefCell<BTreeSet<String>>,
}

impl<'a> Case<'a> {
    /// A case with nothing asked yet.
    #[must_use]
    pub fn new(procedure: &'a Procedure, defs: &'a Definitions, evaluation: &'a Evaluation) -> Self {
        Self { procedure, defs, evaluation, runs: 1, asked: RefCell::default() }
    }

    /// A threshold with its source, noted down as asked for: ask only where it decides something.
    #[must_use]
    pub fn rule(&self, name: &str) -> Option<&'a Rule> {
        let rule = self.defs.rule(name)?;
        self.asked.borrow_mut().insert(rule.name.clone());
        Some(rule)
    }

    /// Whether a value lies above a threshold, which is noted down as asked for only then.
    #[must_use]
    pub fn past(&self, name: &str, value: f64) -> bool {
        let past = self.defs.rule(name).is_some_and(|rule| value > rule.value());
        past && self.rule(name).is_some()
    }

    /// A remedy with the rule behind it.
    #[must_use]
    pub fn citing(&self, remedy: &str, name: &str) -> String {
        self.rule(name).map_or_else(|| remedy.to_owned(), |rule| format!("{remedy} ({})", rule.cited()))
    }
}

/// Findings about what the author states of the batch as written: `case` is evaluated at that size,
/// so that they are the same at every other.
#[must_use]
pub fn judge_written(case: &Case<'_>) -> Vec<Diagnostic> {
    let mut findings = Vec::new();
    stated::judge(case, &mut findings);
    findings
}

/// Adds what is found of a way in which something is done that is done only if needed, as far as it was
/// not found without it.
pub fn only_if(procedure: &Procedure, way: &BTreeSet<usize>, found: impl Iterator<Item = Diagnostic>, findings: &mut Vec<Diagnostic>) {
    let when: Vec<&str> = way.iter().filter_map(|number| procedure.statements.get(*number)?.only_if.as_deref()).collect();
    let when = when.join("” and “");
    for mut finding in found {
        if !findings.iter().any(|known| known.code == finding.code && known.span == finding.span) {
            finding.message = format!("if “{when}”: {}", finding.message);
            findings.push(finding);
        }
    }
}

/// All findings, and the vessels that were chosen.
#[must_use]
pub fn judge(case: &Case<'_>) -> (Vec<Diagnostic>, Vec<apparatus::Chosen>) {
    let mut findings = Vec::new();
    let chosen = apparatus::judge(case, &mut findings);
    bench::judge(case, &mut findings);
    beyond::judge(case, &mut findings);
    capacity::judge(case, &mut findings);
    closed::judge(case, &mut findings);
    hazards::judge(case, &mut findings);
    heating::judge(case, &mut findings);
    peroxides::judge(case, &mut findings);
    layers::judge(case, &mut findings);
    matter::judge(case, &mut findings);
    measure::judge(case, &mut findings);
    pace::judge(case, &mut findings);
    scaling::judge(case, &mut findings);
    steps::judge(case, &mut findings);
    stated::judge_open(case, &mut findings);
    take_off::judge(case, &mut findings);
    waste::judge(case, &mut findings);
    incompatible::judge(case, &mut findings);
    workup::judge(case, &mut findings);
    (findings, chosen)
}
