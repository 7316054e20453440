//! Routes: the product of one procedure is a reactant of the next, and what is wanted last sizes every stage
//! before it.
//!
//! A take that an earlier stage meets is counted by what it holds of its substance, pure: the stage before makes
//! as much of the pure substance as is charged, and what else its product holds is told and not charged.

pub mod glass;
pub mod link;
pub mod schedule;
mod sizes;
pub mod supply;
pub mod tasks;

pub use sizes::{Fed, Planned, PlannedStage, Recorded};

use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::record::{self, Sorted};
use crate::resolve::Resolved;
use crate::resolve::definitions::Definitions;
use crate::resolve::procedure::Draft;
use crate::source::{Sources, Span};

/// What is asked of a route on the command line.
#[derive(Clone, Debug, Default)]
pub struct Asked {
    /// Its title, where the file has several.
    pub title: Option<String>,
    /// How much of the last product is wanted: `25g`, `oil=25g`.
    pub size: Option<String>,
    /// How much more is made in case something is lost: `1/3`, `20 %`.
    pub spare: Option<String>,
    /// Hours that a day at the bench has, as a duration: `7 h`.
    pub day: Option<String>,
}

/// What was read of the file.
pub struct Read<'a> {
    /// Everything declared.
    pub defs: &'a Definitions,
    /// Procedures and variants that a stage can name.
    pub known: &'a [Draft],
    /// Records that a yield can come from.
    pub records: &'a [&'a [Sorted]],
    /// Files read, with the hash of each.
    pub inputs: &'a [(String, String)],
}

/// Sizes the routes of a file, or the one that is asked for.
pub(crate) fn plan_all(
    resolved: Resolved,
    own: &[Sorted],
    known: &[Draft],
    asked: &Asked,
    (sources, path): (&mut Sources, &str),
    findings: &mut Vec<Diagnostic>,
) -> Vec<Planned> {
    let Resolved { defs, routes, earlier, inputs, .. } = resolved;
    let earlier = earlier.into_iter().filter(|record| known.iter().any(|draft| draft.name.text == record.of.text)).collect();
    let earlier = record::sorted(earlier, known, findings);
    let read = Read { defs: &defs, known, records: &[own, &earlier], inputs: &inputs };
    let titles: Vec<&str> = routes.iter().map(|route| route.title.as_str()).collect();
    let mut nowhere = |message: String, help: String| {
        let first = sources.iter().next().map(|(id, _)| id);
        let at = first.unwrap_or_else(|| sources.add(path, String::new(), false));
        findings.push(Diagnostic::new(Code::NoRoute, Span::new(at, 0..0), message).help(help));
        Vec::new()
    };
    let chosen: Vec<_> = match &asked.title {
        Some(title) if !titles.contains(&title.as_str()) => {
            let help = if titles.is_empty() { "it has none".to_owned() } else { format!("it has {}", suggest::listed(&titles, "and")) };
            return nowhere(format!("this file has no route \"{title}\""), help);
        }
        Some(title) => routes.iter().filter(|route| route.title == *title).collect(),
        None => routes.iter().collect(),
    };
    chosen.into_iter().filter_map(|route| sizes::plan(route, &read, asked, sources, findings)).collect()
}

/// What to say where a file that is asked for a route has none, or several.
pub(crate) fn not_one(planned: &[Planned], sources: &Sources) -> Option<Diagnostic> {
    let at = Span::new(sources.iter().next().map(|(id, _)| id)?, 0..0);
    let titles: Vec<&str> = planned.iter().map(|route| route.title.as_str()).collect();
    match titles.as_slice() {
        [_] => None,
        [] => Some(
            Diagnostic::new(Code::NoRoute, at, "this file holds no route")
                .help("write `route \"Title\" { … }`, with `prepare NAME from PROCEDURE` for each stage"),
        ),
        several => Some(
            Diagnostic::new(Code::NoRoute, at, "this file has several routes")
                .help(format!("say which with `--route`: {}", suggest::listed(several, "and"))),
        ),
    }
}
