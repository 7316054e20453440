//! Judging: one file a family of rules, each a function of the facts that an evaluation noted.

pub mod apparatus;
pub mod capacity;
pub mod hazards;
pub mod layers;
pub mod matter;
pub mod scaling;
pub mod waste;

use crate::diagnostics::Diagnostic;
use crate::evaluate::Evaluation;
use crate::matter::linear::Procedure;
use crate::resolve::definitions::Definitions;

/// What a judge sees.
pub struct Case<'a> {
    /// The procedure.
    pub procedure: &'a Procedure,
    /// Everything declared.
    pub defs: &'a Definitions,
    /// The evaluation.
    pub evaluation: &'a Evaluation,
}

/// All findings, and the vessels that were chosen.
#[must_use]
pub fn judge(case: &Case<'_>) -> (Vec<Diagnostic>, Vec<apparatus::Chosen>) {
    let mut findings = Vec::new();
    let chosen = apparatus::judge(case, &mut findings);
    capacity::judge(case, &mut findings);
    hazards::judge(case, &mut findings);
    layers::judge(case, &mut findings);
    matter::judge(case, &mut findings);
    scaling::judge(case, &mut findings);
    waste::judge(case, &mut findings);
    (findings, chosen)
}
