//! Derivations: every evaluated value knows what it was worked out from, by which rule and from
//! which source, so that "why?" is a walk and not a second calculation.

use std::sync::Arc;

use crate::kinds::Kind;
use crate::source::Span;

/// A value in SI with its place in the [`Ledger`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Num {
    /// The value.
    pub si: f64,
    /// Its derivation.
    pub id: Id,
}

/// A derivation's place in the ledger.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Id(u32);

/// How a value follows from its operands.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Rule {
    /// The author wrote it.
    Written,
    /// A declaration gives it.
    Datum,
    /// The size of the batch.
    Scale,
    /// The operands added.
    Sum,
    /// The first less the second.
    Difference,
    /// The operands multiplied.
    Product,
    /// The first divided by the second.
    Quotient,
    /// A physical model, by name; the operands are what it was given.
    Model(&'static str),
}

/// One line of the ledger.
#[derive(Clone, Debug)]
pub struct Derivation {
    /// What it is: "mass of isoamyl acetate in pot#1".
    pub what: Arc<str>,
    /// Its kind.
    pub kind: Kind,
    /// Its value, SI.
    pub si: f64,
    /// How it follows.
    pub rule: Rule,
    /// From what.
    pub from: Vec<Id>,
    /// The source of a datum.
    pub source: Option<Arc<str>>,
    /// Where it was written.
    pub span: Option<Span>,
}

/// All derivations of one evaluation.
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    lines: Vec<Derivation>,
}

impl Ledger {
    fn push(&mut self, line: Derivation) -> Num {
        let id = Id(u32::try_from(self.lines.len()).unwrap_or(u32::MAX));
        let si = line.si;
        self.lines.push(line);
        Num { si, id }
    }

    fn derive(&mut self, what: impl Into<Arc<str>>, kind: Kind, si: f64, rule: Rule, from: &[Num]) -> Num {
        let from = from.iter().map(|num| num.id).collect();
        self.push(Derivation { what: what.into(), kind, si, rule, from, source: None, span: None })
    }

    /// A value that the author wrote.
    pub fn written(&mut self, what: impl Into<Arc<str>>, kind: Kind, si: f64, span: Span) -> Num {
        self.push(Derivation { what: what.into(), kind, si, rule: Rule::Written, from: Vec::new(), source: None, span: Some(span) })
    }

    /// A value that a declaration gives.
    pub fn datum(&mut self, what: impl Into<Arc<str>>, kind: Kind, si: f64, source: &Arc<str>) -> Num {
        let source = Some(Arc::clone(source));
        self.push(Derivation { what: what.into(), kind, si, rule: Rule::Datum, from: Vec::new(), source, span: None })
    }

    /// The size of the batch.
    pub fn scale(&mut self, factor: f64) -> Num {
        self.derive("size of the batch against the one written", Kind::Ratio, factor, Rule::Scale, &[])
    }

    /// The sum of the operands.
    pub fn sum(&mut self, what: impl Into<Arc<str>>, kind: Kind, parts: &[Num]) -> Num {
        match parts {
            [one] => *one,
            _ => {
                let si = parts.iter().map(|part| part.si).sum();
                self.derive(what, kind, si, Rule::Sum, parts)
            }
        }
    }

    /// `a - b`.
    pub fn minus(&mut self, what: impl Into<Arc<str>>, kind: Kind, a: Num, b: Num) -> Num {
        self.derive(what, kind, a.si - b.si, Rule::Difference, &[a, b])
    }

    /// `a * b`.
    pub fn times(&mut self, what: impl Into<Arc<str>>, kind: Kind, a: Num, b: Num) -> Num {
        self.derive(what, kind, a.si * b.si, Rule::Product, &[a, b])
    }

    /// `a / b`.
    pub fn over(&mut self, what: impl Into<Arc<str>>, kind: Kind, a: Num, b: Num) -> Num {
        self.derive(what, kind, a.si / b.si, Rule::Quotient, &[a, b])
    }

    /// What a model gives from its operands.
    pub fn model(&mut self, name: &'static str, what: impl Into<Arc<str>>, kind: Kind, si: f64, from: &[Num]) -> Num {
        self.derive(what, kind, si, Rule::Model(name), from)
    }

    /// The line of that identity.
    #[must_use]
    pub fn get(&self, id: Id) -> Option<&Derivation> {
        self.lines.get(id.0 as usize)
    }

    /// All lines in the order in which they were derived: operands come before results.
    pub fn iter(&self) -> impl Iterator<Item = (Id, &Derivation)> {
        self.lines.iter().enumerate().map(|(at, line)| (Id(u32::try_from(at).unwrap_or(u32::MAX)), line))
    }
}
