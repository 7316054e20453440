//! What a batch costs by the prices of the bench.

use schemars::JsonSchema;
use serde::Serialize;

use crate::evaluate::Fact;
use crate::judge::Case;
use crate::judge::bench::wanted;
use crate::outcome::Outcome;

/// What is spent in one currency; currencies are never added.
#[derive(Clone, Debug, Serialize, JsonSchema, PartialEq)]
pub struct Spent {
    /// The currency, as the bench names it.
    pub currency: String,
    /// For one batch.
    pub batch: f64,
    /// For a kilogram of product.
    pub per_kg: Option<f64>,
}

/// What a batch costs.
#[derive(Clone, Debug, Default, Serialize, JsonSchema, PartialEq)]
pub struct Bill {
    /// By currency, of what has a price.
    pub spent: Vec<Spent>,
    /// What has a price, by name.
    pub priced: Vec<String>,
    /// What has none, by name; water comes from the tap and is not counted.
    pub unpriced: Vec<String>,
    /// What has a price and is put away to be used again, by name: it is counted as if it were used up.
    pub put_away: Vec<String>,
}

impl Bill {
    /// The bill of an outcome that makes so much product, kg. `None` without a bench that lists a stock.
    #[must_use]
    pub fn of(outcome: &Outcome, product: Option<f64>) -> Option<Self> {
        let bench = outcome.defs.bench.as_deref().filter(|bench| !bench.stock.is_empty())?;
        let case = Case::new(&outcome.procedure, &outcome.defs, &outcome.evaluation);
        let mut bill = Self::default();
        for wanted in wanted(&case, bench, 1) {
            let name = outcome.defs.substance(wanted.sub).display();
            let Some((cost, currency)) = wanted.cost(wanted.needed) else {
                add(&mut bill.unpriced, name);
                continue;
            };
            match bill.spent.iter_mut().find(|spent| spent.currency == currency) {
                Some(spent) => spent.batch += cost,
                None => bill.spent.push(Spent { currency: currency.to_owned(), batch: cost, per_kg: None }),
            }
            let kept = outcome.evaluation.facts.iter().any(|fact| match fact {
                Fact::Kept { binding, .. } => outcome.procedure.take_of(*binding).is_some_and(|(_, take)| take.material.sub == wanted.sub),
                _ => false,
            });
            if kept {
                add(&mut bill.put_away, name.clone());
            }
            add(&mut bill.priced, name);
        }
        for spent in &mut bill.spent {
            spent.per_kg = product.filter(|product| *product > 0.0).map(|product| spent.batch / product);
        }
        bill.spent.sort_by(|one, other| one.currency.cmp(&other.currency));
        Some(bill)
    }

    /// What is spent in a currency.
    #[must_use]
    pub fn of_currency(&self, currency: &str) -> Option<&Spent> {
        self.spent.iter().find(|spent| spent.currency == currency)
    }
}

fn add(to: &mut Vec<String>, name: String) {
    if !to.contains(&name) {
        to.push(name);
    }
}
