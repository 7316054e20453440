//! Where a number comes from: any figure of the sheet or the plan as a tree, down to what the author wrote,
//! molar masses and densities with their sources, and the model of a prediction.
//!
//! A figure is asked for as people speak of it (`alcohol.mass`, `crude#2.water`, `product.yield`,
//! `round_flask.size`) or as a JSON Pointer (RFC 6901) into the plan (`/materials/0/mass_g`).

mod figures;
mod names;

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use serde::Serialize;
use serde_json::Value;

use super::plan;
use super::view;
use super::words::plain;
use crate::diagnostics::Diagnostic;
use crate::kinds::{Kind, show, significant};
use crate::matter::ledger::{Id, Num, Rule};
use crate::outcome::Outcome;
use crate::resolve::definitions::Sub;
use crate::source::{Sources, Span};

/// Why a figure is what it is.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Reason {
    /// What it is: `mass of acid`.
    pub what: String,
    /// Its value with its unit, to six figures where it is a number.
    pub shown: String,
    /// Its value in the unit of the plan (g, mL, mol, °C, s, plain or %), where it is a number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// How it follows from what stands under it.
    pub how: String,
    /// Where a datum comes from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// What it follows from. What several figures follow from is shared: see [`told_once`].
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub from: Vec<Arc<Reason>>,
}

/// What was asked for and is not there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unknown {
    /// Why.
    pub message: String,
    /// What may be asked for.
    pub help: String,
}

impl Reason {
    fn new(what: impl Into<String>, shown: impl Into<String>, how: impl Into<String>) -> Self {
        Self { what: what.into(), shown: shown.into(), value: None, how: how.into(), source: None, from: Vec::new() }
    }

    fn figure(what: impl Into<String>, value: f64, unit: &str, how: impl Into<String>) -> Self {
        let number = significant(value, 6);
        let shown = if unit.is_empty() { number } else { format!("{number} {unit}") };
        Self { value: Some(value), ..Self::new(what, shown, how) }
    }

    fn from(mut self, from: impl IntoIterator<Item = Reason>) -> Self {
        self.from.extend(from.into_iter().map(Arc::new));
        self
    }
}

/// How a figure follows that was told before.
const ABOVE: &str = "as above";

/// The same reason as a tree in which each figure is taken apart once, where it is met first.
#[must_use]
pub fn told_once(reason: &Reason) -> Reason {
    fn once(reason: &Reason, told: &mut BTreeSet<String>) -> Reason {
        let mut own = Reason { from: Vec::new(), ..reason.clone() };
        if !reason.from.is_empty() {
            if told.insert(format!("{} {}", reason.what, reason.shown)) {
                own.from = reason.from.iter().map(|inner| Arc::new(once(inner, told))).collect();
            } else {
                ABOVE.clone_into(&mut own.how);
            }
        }
        own
    }
    once(reason, &mut BTreeSet::new())
}

/// The reason in lines of text, what a figure follows from under it.
#[must_use]
pub fn shown(reason: &Reason) -> String {
    fn tell(reason: &Reason, depth: usize, out: &mut String) {
        let source = reason.source.as_ref().filter(|source| !source.is_empty()).map_or_else(String::new, |source| format!(" ({source})"));
        out.push_str(&format!("{:indent$}{} = {}: {}{source}\n", "", reason.what, reason.shown, reason.how, indent = 2 * depth));
        reason.from.iter().for_each(|inner| tell(inner, depth + 1, out));
    }
    let mut out = String::new();
    tell(&told_once(reason), 0, &mut out);
    out
}

/// Answers to many questions of one outcome.
pub struct Case<'a> {
    outcome: &'a Outcome,
    sources: &'a Sources,
    plan: Value,
    /// Derivations that were taken apart before.
    known: RefCell<BTreeMap<Id, Arc<Reason>>>,
}

impl<'a> Case<'a> {
    /// An outcome to be asked.
    #[must_use]
    pub fn new(outcome: &'a Outcome, findings: &[Diagnostic], sources: &'a Sources) -> Self {
        let plan = serde_json::to_value(plan::plan(outcome, findings, sources)).unwrap_or(Value::Null);
        Self { outcome, sources, plan, known: RefCell::default() }
    }

    /// The answer to a question: a name with a property, or a JSON Pointer into the plan.
    ///
    /// # Errors
    /// When there is no such figure, with what there is.
    pub fn answer(&self, asked: &str) -> Result<Reason, Unknown> {
        if asked.starts_with('/') { self.pointer(asked) } else { self.named(asked) }
    }

    /// The plan that is asked about.
    #[must_use]
    pub fn plan(&self) -> &Value {
        &self.plan
    }

    /// The figure at a JSON Pointer into the plan.
    ///
    /// # Errors
    /// When nothing stands there.
    pub fn pointer(&self, pointer: &str) -> Result<Reason, Unknown> {
        let Some(leaf) = self.plan.pointer(pointer) else {
            return Err(Unknown {
                message: format!("the plan has nothing at `{}`", pointer.escape_debug()),
                help: "`scruple plan` shows what it has; counts of lists begin with 0".to_owned(),
            });
        };
        let parts: Vec<String> = pointer.split('/').skip(1).map(|part| part.replace("~1", "/").replace("~0", "~")).collect();
        let parts: Vec<&str> = parts.iter().map(String::as_str).collect();
        if leaf.is_object() || leaf.is_array() {
            let inner = children(pointer, leaf).into_iter().filter_map(|path| self.pointer(&path).ok());
            return Ok(Reason::new(label(&parts), "several figures", "each by itself").from(inner));
        }
        let reason = self.at(&parts).unwrap_or_else(|| self.literal(&parts, leaf));
        Ok(reason)
    }

    fn at(&self, parts: &[&str]) -> Option<Reason> {
        let number = |text: &str| text.parse::<usize>().ok();
        match parts {
            ["batch", "scale"] => Some(self.num("size of the batch against the one written", "", 1.0, self.outcome.evaluation.scale_num)),
            ["batch", "basis_mol"] => {
                let moles = self.outcome.evaluation.basis_moles?;
                Some(self.num("moles of the basis", "mol", 1.0, moles))
            }
            ["materials", at, rest @ ..] => self.material(number(at)?, rest),
            ["reactions", at, rest @ ..] => self.reaction(number(at)?, rest),
            ["apparatus", at, rest @ ..] => self.vessel(number(at)?, rest),
            ["steps", step, "operations", at, rest @ ..] => self.operation(number(step)?, number(at)?, rest),
            ["portions", at, rest @ ..] => {
                let (id, portion) = self.outcome.evaluation.first.iter().nth(number(at)?)?;
                self.portion(&self.outcome.procedure.binding(*id).address(), Some(*id), portion, rest)
            }
            ["products", at, rest @ ..] => self.product(number(at)?, rest),
            ["waste", at, rest @ ..] => {
                let waste = view::waste(self.outcome);
                let (name, portion, _) = waste.get(number(at)?)?;
                match rest {
                    ["contents", sub] => self.portion(name, None, portion, &["contents_g", sub]),
                    _ => self.portion(name, None, portion, rest),
                }
            }
            ["waste_streams", at, "mass_g"] => {
                let label = self.plan.pointer(&format!("/waste_streams/{at}/stream"))?.as_str()?;
                let value = self.plan.pointer(&format!("/waste_streams/{at}/mass_g"))?.as_f64()?;
                let parts = view::waste(self.outcome).into_iter().filter(|(.., own)| *own == label);
                let parts: Vec<Reason> = parts.filter_map(|(name, portion, _)| self.portion(name, None, portion, &["mass_g"])).collect();
                Some(Reason::figure(format!("all that goes into `{label}`"), value, "g", "the sum of").from(parts))
            }
            ["bench", "stock", at, "needed_g"] => {
                let line = |field: &str| self.plan.pointer(&format!("/bench/stock/{at}/{field}"));
                let substance = line("substance")?.as_str()?;
                let materials = self.plan.get("materials")?.as_array()?;
                let own = materials.iter().enumerate().filter(|(_, one)| one.get("substance").and_then(Value::as_str) == Some(substance));
                let parts: Vec<Reason> = own.filter_map(|(number, _)| self.material(number, &["mass_g"])).collect();
                let how = "the sum of what is taken of it, each times its portions and the runs, at the strength of the stock, from";
                Some(Reason::figure(format!("{substance} that is needed from stock"), line("needed_g")?.as_f64()?, "g", how).from(parts))
            }
            ["material_balance", rest @ ..] => self.balance(rest),
            _ => None,
        }
    }

    /// What is no result of arithmetic: a count, a place, a figure that was only carried over.
    fn literal(&self, parts: &[&str], leaf: &Value) -> Reason {
        let how = match parts {
            ["about", ..] => "the author says so in the procedure",
            ["format" | "language_version" | "library_version", ..] => "a property of this program",
            ["findings" | "allowed", ..] => "a place in a file",
            [.., "step" | "number"] => "steps are counted from 1 in the order of the file",
            ["met", ..] => "the largest share by mass in any portion before or after a statement; the portions show theirs",
            ["batch", "runs"] => "as asked for; one where nothing is asked",
            ["bench", "limits", ..] => "found by trying sizes: nearer to the batch it does not fail, and beyond it does",
            ["bench", "stock", _, "short_g"] => "what is needed less what is there",
            ["bench", "stock", _, "short_costs"] => "what is short at the price that the bench gives",
            ["bench", ..] => "the bench says so",
            ["steps", ..] => "worked out with the operation that it belongs to",
            _ => "as it stands in the plan",
        };
        let shown = leaf.as_str().map_or_else(|| leaf.to_string(), str::to_owned);
        Reason { value: leaf.as_f64(), ..Reason::new(label(parts), shown, how) }
    }

    /// The derivation of a value.
    fn num(&self, what: &str, unit: &str, factor: f64, num: Num) -> Reason {
        let inner = self.derivation(num.id);
        let mut reason = Reason::figure(what, num.si * factor, unit, inner.how.clone());
        reason.source.clone_from(&inner.source);
        reason.from.clone_from(&inner.from);
        reason
    }

    fn derivation(&self, id: Id) -> Arc<Reason> {
        if let Some(known) = self.known.borrow().get(&id) {
            return Arc::clone(known);
        }
        let reason = Arc::new(self.taken_apart(id));
        self.known.borrow_mut().insert(id, Arc::clone(&reason));
        reason
    }

    fn taken_apart(&self, id: Id) -> Reason {
        let Some(line) = self.outcome.evaluation.ledger.get(id).or_else(|| self.outcome.helped.as_ref()?.ledger.get(id)) else {
            return Reason::new("a figure", "not known", "its derivation was not kept");
        };
        let shown = if line.kind == Kind::Ratio { significant(line.si, 6) } else { show(line.si, line.kind, 6) };
        let how = match line.rule {
            Rule::Written => self.written(line.span),
            Rule::Datum => "a property, from the library or the file".to_owned(),
            Rule::Scale => match (&self.outcome.sized_by, &self.outcome.reached) {
                (Some(by), _) => format!("found so that {}", by.replace('=', " is ")),
                (None, Some(found)) => {
                    let binds = found.limits.first().map_or_else(String::new, |limit| format!("; beyond it, {}", limit.finding.message));
                    format!("the {} for which nothing fails on the bench{binds}", found.reach.word())
                }
                (None, None) => "as asked for; 1 is the batch as written".to_owned(),
            },
            Rule::Sum => "the sum of".to_owned(),
            Rule::Difference => "the first less the second".to_owned(),
            Rule::Product => "the product of".to_owned(),
            Rule::Quotient => "the first divided by the second".to_owned(),
            Rule::Model(name) => format!("by the model: {name}; from"),
        };
        Reason {
            value: Some(line.si),
            source: line.source.as_ref().map(ToString::to_string),
            from: line.from.iter().map(|id| self.derivation(*id)).collect(),
            ..Reason::new(line.what.to_string(), shown, how)
        }
    }

    fn written(&self, span: Option<Span>) -> String {
        let Some(span) = span else { return "written by the author".to_owned() };
        let text = self.sources.slice(span).split_whitespace().collect::<Vec<_>>().join(" ");
        let file = self.sources.get(span.file).map_or_else(String::new, |file| file.name.to_string());
        let by = if self.sources.get(span.file).is_some_and(|file| file.embedded) { "the library" } else { "the author" };
        format!("{by} wrote `{text}` in {file}, line {}", self.sources.place(span).line)
    }

    fn molar_mass(&self, sub: Sub) -> Option<Reason> {
        let substance = self.outcome.defs.substance(sub);
        let molar = substance.molar_mass()?;
        let how = format!("from the formula {} with the abridged standard atomic weights of the CIAAW (2021)", substance.formula_text);
        let mut reason = Reason::figure(format!("molar mass of {}", substance.display()), molar * 1e3, "g/mol", how);
        reason.source = substance.formula.as_ref().map(|formula| formula.source.to_string());
        Some(reason)
    }
}

/// A path as words.
fn label(parts: &[&str]) -> String {
    parts.iter().map(|part| plain(part)).collect::<Vec<_>>().join(", ")
}

/// Pointers to what stands directly under a value.
fn children(pointer: &str, value: &Value) -> Vec<String> {
    match value {
        Value::Object(map) => map.keys().map(|key| format!("{pointer}/{}", key.replace('~', "~0").replace('/', "~1"))).collect(),
        Value::Array(list) => (0..list.len()).map(|at| format!("{pointer}/{at}")).collect(),
        _ => Vec::new(),
    }
}

/// Pointers to every leaf under a value; the value itself where it is one.
#[must_use]
pub fn leaves(pointer: &str, value: &Value) -> Vec<String> {
    let mut found = Vec::new();
    let mut todo = vec![(pointer.to_owned(), value)];
    while let Some((pointer, value)) = todo.pop() {
        match value {
            Value::Object(map) => {
                todo.extend(
                    map.iter().rev().map(|(key, value)| (format!("{pointer}/{}", key.replace('~', "~0").replace('/', "~1")), value)),
                );
            }
            Value::Array(list) => todo.extend(list.iter().enumerate().rev().map(|(at, value)| (format!("{pointer}/{at}"), value))),
            _ => found.push(pointer),
        }
    }
    found
}
