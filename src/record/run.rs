//! The procedure at the amounts as weighed.

use std::cell::RefCell;
use std::collections::BTreeMap;

use super::bound::Weighed;
use crate::diagnostics::Diagnostic;
use crate::evaluate::{Evaluation, run::evaluate};
use crate::graph::{self, Graph};
use crate::kinds::Kind;
use crate::matter::balance;
use crate::matter::linear::{BindingId, Procedure};
use crate::resolve::amount::{Amount, Expr};
use crate::resolve::definitions::{Definitions, Sub};
use crate::resolve::quantity::Figure;
use crate::resolve::record::Record;
use crate::size::{self, Aim};

/// A procedure at the batch of a record.
pub struct Run<'a> {
    /// As written.
    pub written: &'a Procedure,
    /// Everything declared.
    pub defs: &'a Definitions,
    /// The batch as planned.
    pub plan: Evaluation,
}

impl<'a> Run<'a> {
    /// At the size that the record names, else at that of the basis as weighed, else as written.
    ///
    /// # Errors
    /// A finding where that batch cannot be had.
    pub fn new(record: &Record, written: &'a Procedure, defs: &'a Definitions) -> Result<Option<Self>, Box<Diagnostic>> {
        let Some(graph) = graph::build(written, &mut Vec::new()) else { return Ok(None) };
        let basis = written.takes.get(written.basis).map(|take| take.binding);
        let as_weighed = || {
            record.measured.iter().find_map(|line| {
                let binding = written.find(&line.which.name.text)?;
                let figure = line.reading.as_ref()?.figure;
                (Some(binding) == basis).then_some((binding, figure))
            })
        };
        let sized = match &record.sized {
            Some((name, figure)) => {
                let which = crate::resolve::record::Which { name: name.clone(), occurrence: None };
                Some((super::bound::find(&which, written)?, *figure))
            }
            None => as_weighed(),
        };
        let plan = match sized {
            Some((binding, figure)) => {
                let aim = Aim { binding, kind: figure.kind, value: figure.low, text: String::new(), span: figure.span };
                size::solve(&aim, written, defs, &graph)?
            }
            None => evaluate(written, defs, &graph, 1.0),
        };
        if plan.stopped || plan.findings.iter().any(Diagnostic::is_error) {
            return plan.findings.iter().find(|finding| finding.is_error()).map_or(Ok(None), |finding| Err(Box::new(finding.clone())));
        }
        Ok(Some(Self { written, defs, plan }))
    }

    /// kg of all that goes in, as weighed where it was.
    #[must_use]
    pub fn mass_in(&self, weighed: &[Weighed<'_>]) -> f64 {
        let planned = balance::balance(self.written, self.defs, &self.plan).mass_in;
        let more = weighed.iter().filter_map(|one| {
            let (number, _) = self.written.take_of(one.binding)?;
            Some(one.mass - self.plan.takes.get(&number)?.mass.si)
        });
        planned + more.sum::<f64>()
    }
}

/// The procedure with what was weighed in the place of what was written.
pub struct AsWeighed<'a> {
    defs: &'a Definitions,
    procedure: RefCell<Procedure>,
    graph: Graph,
    scale: f64,
    /// The takes that were weighed, in the order of the masses.
    takes: Vec<usize>,
    last: RefCell<Option<(Vec<f64>, Evaluation)>>,
    /// What theory allows at masses that were asked before: an evaluation is dear.
    known: RefCell<BTreeMap<(Vec<u64>, Sub), f64>>,
}

impl<'a> AsWeighed<'a> {
    /// `None` where the amounts cannot be put into an order.
    #[must_use]
    pub fn new(run: &Run<'a>, takes: Vec<usize>) -> Option<Self> {
        let mut procedure = run.written.clone();
        for number in &takes {
            let take = procedure.takes.get_mut(*number)?;
            let span = take.material.amount.span;
            let figure = Figure { low: 1.0, high: None, plus_minus: None, kind: Kind::Mass, span };
            let expr = Some(Expr::Figure(figure));
            take.material.amount = Amount { expr, enough: false, not_stated: false, fixed: true, beside: Vec::new(), span };
            take.material.refs.clear();
        }
        let graph = graph::build(&procedure, &mut Vec::new())?;
        let scale = run.plan.scale;
        Some(Self {
            defs: run.defs,
            procedure: RefCell::new(procedure),
            graph,
            scale,
            takes,
            last: RefCell::new(None),
            known: RefCell::default(),
        })
    }

    /// Asks something of the evaluation at these masses, kg; the last one is remembered.
    pub fn at<T>(&self, masses: &[f64], ask: impl FnOnce(&Evaluation, &Procedure) -> T) -> T {
        let fresh = self.last.borrow().as_ref().is_none_or(|(known, _)| known != masses);
        if fresh {
            for (number, mass) in self.takes.iter().zip(masses) {
                if let Some(Expr::Figure(figure)) =
                    self.procedure.borrow_mut().takes.get_mut(*number).and_then(|take| take.material.amount.expr.as_mut())
                {
                    figure.low = *mass;
                }
            }
            let evaluation = evaluate(&self.procedure.borrow(), self.defs, &self.graph, self.scale);
            *self.last.borrow_mut() = Some((masses.to_vec(), evaluation));
        }
        let last = self.last.borrow();
        match last.as_ref() {
            Some((_, evaluation)) => ask(evaluation, &self.procedure.borrow()),
            None => ask(&Evaluation::new(self.scale), &self.procedure.borrow()),
        }
    }

    /// kg of a substance that these masses can give at the most: what theory allows, or where nothing makes it all that
    /// was taken; not a number where neither can be said.
    #[must_use]
    pub fn theory(&self, masses: &[f64], sub: Sub) -> f64 {
        let key = (masses.iter().map(|mass| mass.to_bits()).collect::<Vec<u64>>(), sub);
        if let Some(theory) = self.known.borrow().get(&key) {
            return *theory;
        }
        let theory = self.at(masses, |evaluation, procedure| {
            let made = evaluation.theoretical(procedure, self.defs, sub);
            let taken = Some(evaluation.taken(sub)).filter(|taken| *taken > 0.0);
            made.or(taken).unwrap_or(f64::NAN)
        });
        self.known.borrow_mut().insert(key, theory);
        theory
    }

    /// kg of a portion as it gets its name.
    #[must_use]
    pub fn mass(&self, masses: &[f64], binding: BindingId) -> f64 {
        self.at(masses, |evaluation, _| evaluation.first.get(&binding).map_or(f64::NAN, crate::matter::portion::Portion::mass))
    }
}
