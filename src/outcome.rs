//! What a compilation hands to the back ends.

use crate::evaluate::Evaluation;
use crate::evaluate::context::is_needed;
use crate::graph::Graph;
use crate::judge::allowed::Allowed;
use crate::judge::apparatus::Chosen;
use crate::matter::linear::Procedure;
use crate::operations::course;
use crate::reach::Reached;
use crate::resolve::attention::{self, Attention};
use crate::resolve::definitions::Definitions;

/// A procedure that compiled, with everything worked out.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The procedure.
    pub procedure: Procedure,
    /// Everything declared.
    pub defs: Definitions,
    /// The evaluation at the scale asked for.
    pub evaluation: Evaluation,
    /// The same with everything that is done only if needed, where there is such.
    pub helped: Option<Evaluation>,
    /// Vessels.
    pub vessels: Vec<Chosen>,
    /// Rules that a check asked for, by name.
    pub asked: std::collections::BTreeSet<String>,
    /// What the batch was sized by, as asked.
    pub sized_by: Option<String>,
    /// What was found where the largest or the smallest batch was asked for.
    pub reached: Option<Reached>,
    /// How many runs of this batch are made.
    pub runs: u32,
    /// Files read, with the hash of each.
    pub inputs: Vec<(String, String)>,
    /// Findings that the author stands by.
    pub allowed: Vec<Allowed>,
    /// What depends on what.
    pub graph: Graph,
}

impl Outcome {
    /// Statements whose course in time can be followed.
    #[must_use]
    pub fn courses(&self) -> Vec<usize> {
        course::followable(&self.evaluation)
    }

    /// The course of a statement, followed; `None` where it has none.
    #[must_use]
    pub fn course(&self, statement: usize) -> Option<course::Answer> {
        course::follow(self.evaluation_of(statement), &self.procedure, &self.defs, statement)
    }

    /// How much of a person a statement asks for while it lasts.
    #[must_use]
    pub fn attention(&self, statement: usize) -> Attention {
        let evaluation = self.evaluation_of(statement);
        self.procedure.statements.get(statement).map_or(Attention::Hands, |own| {
            attention::most(&own.operation.attention, |when| is_needed(evaluation, &self.defs, statement, own, when))
        })
    }

    /// The evaluation in which a statement is done.
    #[must_use]
    pub fn evaluation_of(&self, statement: usize) -> &Evaluation {
        let only_if = self.procedure.statements.get(statement).is_some_and(|statement| statement.only_if.is_some());
        self.helped.as_ref().filter(|_| only_if).unwrap_or(&self.evaluation)
    }
}
