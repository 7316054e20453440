//! What there is to do in a stage, and who has to be there: each statement as a task, with the time that the
//! procedure gives for it, else with one of our own.

use std::collections::BTreeSet;

use super::PlannedStage;
use crate::emit::words;
use crate::graph::Work;
use crate::matter::linear::{Arg, Statement};
use crate::outcome::Outcome;
use crate::resolve::attention::Attention;

/// Who has to be there, in words for a table.
#[must_use]
pub fn words_for(attention: Attention) -> &'static str {
    match attention {
        Attention::Hands => "hands",
        Attention::Sight => "watched",
        Attention::None => "by itself",
    }
}

/// Something to do.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    /// The statement; absent for getting ready and for washing up.
    pub statement: Option<usize>,
    /// The step, by its title.
    pub step: String,
    /// What is done, as a verb.
    pub what: String,
    /// Who has to be there.
    pub attention: Attention,
    /// How long it takes, s.
    pub seconds: f64,
    /// Whether the procedure says so.
    pub stated: bool,
    /// Whether it is hot.
    pub hot: bool,
    /// Whether what goes on to the next stage waits for it.
    pub on_the_way: bool,
    /// The task before which it cannot begin, among those of the stage.
    pub after: Option<usize>,
}

/// What is warmer than this is hot, K. Our own figure.
const WARM: f64 = 303.15;

// How long it takes at a bench where the procedure does not say, s. All are our own figures, for one portion.
const MEASURE_OUT: f64 = 20.0 * 60.0;
const POUR: f64 = 5.0 * 60.0;
const SHAKE: f64 = 10.0 * 60.0;
const FILTER: f64 = 15.0 * 60.0;
const HANDLE: f64 = 5.0 * 60.0;
const SET_UP_STILL: f64 = 20.0 * 60.0;
const WARM_UP: f64 = 15.0 * 60.0;
const COOL: f64 = 20.0 * 60.0;
const RECRYSTALLISE: f64 = 90.0 * 60.0;
const DRAW: f64 = 3.0 * 3600.0;
/// Washing glass and drying it for another stage.
pub const WASH_UP: f64 = 30.0 * 60.0;
/// What comes over, m³/s: 3 mL a minute from a still, one or two drops a second; 10 mL a minute where solvent is
/// taken off. Our own figures.
const DRIPS: f64 = 3e-6 / 60.0;
const STREAMS: f64 = 1e-5 / 60.0;

/// The tasks of one run of a stage, in the order of the sheet.
#[must_use]
pub fn tasks(stage: &PlannedStage) -> Vec<Task> {
    let outcome = &stage.outcome;
    let way = way(stage);
    let ready = Task {
        statement: None,
        step: "Get ready".to_owned(),
        what: "measure out".to_owned(),
        attention: Attention::Hands,
        seconds: MEASURE_OUT,
        stated: false,
        hot: false,
        on_the_way: true,
        after: None,
    };
    let mut tasks = vec![ready];
    for (number, statement) in outcome.procedure.statements.iter().enumerate().filter(|(_, statement)| statement.only_if.is_none()) {
        let (seconds, stated) = time(outcome, number, statement);
        let step = statement.step.and_then(|step| outcome.procedure.steps.get(step)).and_then(|step| step.title.clone());
        let ends = has(statement, &["store", "discard"]);
        // What is weighed or tested on the way is not put away before.
        let on_the_way = way.contains(&number) || has(statement, &["weigh", "test"]);
        // On the way the order is the author's; what stands beside it waits for what it is made of.
        let after = if on_the_way { tasks.iter().rposition(|task| task.on_the_way) } else { behind(outcome, number, &tasks) };
        tasks.push(Task {
            statement: Some(number),
            step: step.unwrap_or_else(|| if ends { "Put away".to_owned() } else { stage.title.clone() }),
            what: words::plain(statement.operation.form.verb()),
            attention: outcome.attention(number),
            seconds,
            stated,
            hot: is_warm(outcome, number),
            on_the_way,
            after: after.or(Some(0)),
        });
    }
    tasks
}

fn has(statement: &Statement, effects: &[&str]) -> bool {
    statement.operation.effects.iter().any(|call| effects.contains(&call.effect.as_str()))
}

/// The last task whose work this statement needs.
fn behind(outcome: &Outcome, number: usize, tasks: &[Task]) -> Option<usize> {
    let needs = |task: &Task| {
        let edge = |before: usize| outcome.graph.edges.contains(&(Work::Statement(before), Work::Statement(number)));
        task.statement.is_some_and(edge)
    };
    tasks.iter().rposition(needs)
}

/// The statements that the product waits for.
fn way(stage: &PlannedStage) -> BTreeSet<usize> {
    let outcome = &stage.outcome;
    let Some(product) = outcome.procedure.find(&stage.portion) else { return BTreeSet::new() };
    let mut open: Vec<usize> = outcome.procedure.binding(product).used_by.into_iter().collect();
    let mut way = BTreeSet::new();
    while let Some(number) = open.pop() {
        if way.insert(number) {
            let before = outcome.graph.edges.iter().filter(|(_, to)| *to == Work::Statement(number));
            open.extend(before.filter_map(|(from, _)| if let Work::Statement(from) = from { Some(*from) } else { None }));
        }
    }
    way
}

fn is_warm(outcome: &Outcome, number: usize) -> bool {
    outcome.evaluation.records.get(&number).and_then(|record| record.temperature).is_some_and(|temperature| temperature > WARM)
}

/// How long it takes, and whether the procedure says all of it.
fn time(outcome: &Outcome, number: usize, statement: &Statement) -> (f64, bool) {
    let record = outcome.evaluation.records.get(&number);
    let stated = record.and_then(|record| record.duration);
    let times = f64::from(outcome.evaluation.shelf(number).map(|(_, dispensed)| dispensed.times).max().unwrap_or(1));
    let before = record.map_or(0.0, |record| record.inputs.iter().map(|(_, portion)| portion.temperature).fold(0.0, f64::max));
    let heated = record.and_then(|record| record.temperature).is_some_and(|temperature| temperature > before && temperature > WARM);
    if has(statement, &["boil"]) || heated && has(statement, &["hold"]) {
        return (stated.unwrap_or(0.0) + WARM_UP, false);
    }
    if let Some(stated) = stated {
        return (stated, true);
    }
    let own = if has(statement, &["distil", "steam"]) {
        SET_UP_STILL + over(outcome, number) / DRIPS
    } else if has(statement, &["evaporate"]) {
        SET_UP_STILL + over(outcome, number) / STREAMS
    } else if has(statement, &["crystallise"]) {
        RECRYSTALLISE
    } else if has(statement, &["draw", "steep", "regenerate"]) {
        DRAW
    } else if has(statement, &["hold", "air", "bind"]) {
        COOL
    } else if has(statement, &["part"]) {
        SHAKE * times
    } else if has(statement, &["strain"]) {
        FILTER
    } else if has(statement, &["mix", "pour", "quench", "dissolve", "dose", "neutralise", "rinse", "pass"]) {
        POUR * times
    } else {
        HANDLE
    };
    (own, false)
}

/// m³ that come over in a distillation.
fn over(outcome: &Outcome, number: usize) -> f64 {
    let outputs = outcome.evaluation.records.get(&number).map_or(&[][..], |record| &record.outputs);
    let came = outputs.iter().filter(|(role, _, _)| role != "residue");
    came.filter_map(|(_, _, portion)| words::liquid_volume(portion, &outcome.defs)).sum()
}

/// Whether a statement runs a reaction by name.
#[must_use]
pub fn reacts(stage: &PlannedStage, number: usize) -> bool {
    let statement = stage.outcome.procedure.statements.get(number);
    statement.is_some_and(|statement| statement.args.values().any(|arg| matches!(arg, Arg::Reactions(list) if !list.is_empty())))
}
