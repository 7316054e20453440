//! What a still gives by the equilibria of what is in it, and where each part of it goes.

use std::collections::BTreeMap;

pub(super) use crate::chemistry::distillation::GRANTED;
use crate::chemistry::distillation::{self, Boiler, Column, Distilled, Together};
use crate::chemistry::phase::PhaseError;
use crate::emit::words::uncapital;
use crate::evaluate::Context;
use crate::kinds::{Kind, significant};
use crate::matter::boiling::{self, ATMOSPHERE};
use crate::matter::held;
use crate::matter::mixture;
use crate::matter::portion::{Masses, Portion};
use crate::matter::system::Liquids;
use crate::resolve::definitions::{Definitions, Sub};

/// What a step of a distillation may err by, as a share of the charge. Our own figure: what boils off is then right to
/// better than half a per cent of the charge.
const TOLERANCE: f64 = 3e-4;

/// The same where a thermometer says when the receiver is changed: where it hardly rises a small error is much of a cut.
const WATCHED: f64 = 1.5e-4;

/// Share of what goes in below which a part of a substance goes with the most of it. Our own figure.
const SPECK: f64 = 1e-6;

/// Share of the charge from which it is said that a vapour pressure is estimated. Our own figure.
const ESTIMATED: f64 = 0.02;

/// How a still is worked.
#[derive(Clone)]
pub(super) struct Work {
    /// Pa.
    pub p: f64,
    /// The column.
    pub column: Column,
    /// Whether a thermometer at the head is read.
    pub watched: bool,
    /// Temperatures at the head between which each cut is taken, K.
    pub ranges: Vec<(f64, f64)>,
    /// Share of what boils that stays behind.
    pub held: f64,
    /// Share of the charge that is run off before the first cut.
    pub first: f64,
    /// The warmest that the pot gets, K.
    pub warmest: f64,
    /// How often it may be asked what boils.
    pub granted: usize,
}

/// A still that was worked.
pub(super) struct Worked {
    /// What boiled.
    pub liquids: Liquids,
    /// How it went.
    pub run: Distilled,
    /// mol of what boiled, at first.
    charge: Vec<f64>,
}

/// Why a still was not worked.
#[derive(Debug)]
pub(super) enum Unworked {
    /// No model answers for what is in it; the reason in words.
    NoModel(String),
    /// The search for what comes over had no end.
    Search(PhaseError),
}

impl Unworked {
    /// The reason, to stand behind a comma.
    pub(super) fn reason(&self) -> String {
        match self {
            Unworked::NoModel(why) => why.trim_end_matches('.').to_owned(),
            Unworked::Search(error) => uncapital(error.to_string().trim_end_matches('.')).to_string(),
        }
    }
}

/// Works the still, or tells why there is no answer.
pub(super) fn work(portion: &Portion, defs: &Definitions, work: &Work) -> Result<Worked, Unworked> {
    let mut masses = portion.masses();
    // What is not dissolved dilutes nothing; other solids melt or dissolve in what is hot.
    for (sub, solid) in portion.solid.iter().filter(|(sub, _)| defs.substance(**sub).is_ionic()) {
        masses.entry(*sub).and_modify(|mass| *mass -= solid);
    }
    if let Some(water) = defs.find("water") {
        masses.entry(water).and_modify(|mass| *mass -= portion.bound_water);
    }
    // On a bath that hardly melts it, what is left as a solid holds no liquid.
    if work.warmest.is_finite() {
        masses.retain(|sub, _| {
            let substance = defs.substance(*sub);
            substance.is_solid(work.warmest) != Some(true) || substance.is_ionic() || held::is_tabulated(*sub, defs)
        });
    }
    masses.retain(|_, mass| *mass > 0.0);
    let mut liquids = Liquids::of(&masses, defs);
    estimated(&mut liquids, &masses, defs);
    if let Some(why) = &liquids.refusal {
        return Err(Unworked::NoModel(why.reason(defs)));
    }
    let (p, system) = (work.p, &liquids.system);
    let mut charge = liquids.moles(&masses);
    // What is dissolved and what only dilutes go along as things more that never boil.
    let still: Vec<f64> = liquids.dissolved(&masses).into_iter().chain([liquids.traces(&masses)]).collect();
    let boiler = Boiler::granting(system, p, work.granted);
    let boil = |x: &[f64]| {
        let (molecules, still) = x.split_at(liquids.subs.len().min(x.len()));
        let (traces, dissolved) = still.split_last().map_or((0.0, still), |(traces, dissolved)| (*traces, dissolved));
        let (t, mut y) = boiler.boil(molecules, liquids.held(molecules, dissolved, traces))?;
        y.resize(x.len(), 0.0);
        Ok((t, y))
    };
    let mut molar_masses: Vec<f64> = system.components().iter().map(|component| component.molar_mass).collect();
    let mut corrections: Vec<f64> =
        if work.watched { liquids.subs.iter().map(|sub| correction(*sub, defs, p)).collect() } else { Vec::new() };
    charge.extend(still);
    molar_masses.resize(charge.len(), 0.0);
    if work.watched {
        corrections.resize(charge.len(), 0.0);
    }
    let still = distillation::Still {
        boil: &boil,
        corrections: &corrections,
        molar_masses: &molar_masses,
        column: work.column,
        held: work.held,
        first: work.first,
        warmest: work.warmest,
        tolerance: if work.watched { WATCHED } else { TOLERANCE },
    };
    let run = distillation::distil(still, &charge, &work.ranges).map_err(Unworked::Search)?;
    Ok(Worked { liquids, run, charge })
}

/// Works the still; where the plates of its column are not found at the stated reflux, at total reflux. Also what is then
/// to be said of it.
pub(super) fn work_or_total(portion: &Portion, defs: &Definitions, asked: &Work) -> (Result<Worked, Unworked>, Option<String>) {
    let found = work(portion, defs, asked);
    let (Err(Unworked::Search(_)), Some(reflux)) = (&found, asked.column.reflux) else { return (found, None) };
    match work(portion, defs, &Work { column: Column { reflux: None, ..asked.column }, ..asked.clone() }) {
        Err(_) => (found, None),
        total => {
            let said = format!(
                "The plates of this column were not found at a reflux ratio of {}: these figures are for total reflux, the best that it can do.",
                significant(reflux, 3)
            );
            (total, Some(said))
        }
    }
}

/// Says of what there is more than a little of that its vapour pressure is estimated.
fn estimated(liquids: &mut Liquids, masses: &Masses, defs: &Definitions) {
    let whole: f64 = masses.values().sum();
    for (sub, _) in masses.iter().filter(|(_, mass)| **mass > ESTIMATED * whole) {
        let substance = defs.substance(*sub);
        if substance.vapour.is_none() && liquids.subs.contains(sub) && mixture::vapour_law(substance).is_some() {
            mixture::estimated_vapour(substance, &mut liquids.said);
        }
    }
}

/// By how much a pure substance boils above what its equation says, where it is declared, K.
fn correction(sub: Sub, defs: &Definitions, p: f64) -> f64 {
    let substance = defs.substance(sub);
    let by_law = mixture::vapour_law(substance).and_then(|law| law.boiling_point(p).ok());
    boiling::boiling_point(substance, p).zip(by_law).map_or(0.0, |(declared, by_law)| declared - by_law)
}

/// Of each substance the share in each receiver: the forerun, the cuts in their order, the pot.
pub(super) type Shares = BTreeMap<Sub, Vec<f64>>;

impl Worked {
    /// Where each substance that boiled went. What a drying agent holds of the water stays.
    pub(super) fn shares(&self, portion: &Portion) -> Shares {
        let mut shares = Shares::new();
        for (place, sub) in self.liquids.subs.iter().enumerate() {
            let of = |moles: &[f64]| moles.get(place).copied().unwrap_or(0.0);
            let charged = of(&self.charge);
            let there = portion.of(*sub);
            if charged <= 0.0 || there <= 0.0 {
                continue;
            }
            let molar = self.liquids.system.components().get(place).map_or(0.0, |component| component.molar_mass);
            let free = (charged * molar / there).min(1.0);
            let over = std::iter::once(&self.run.forerun).chain(&self.run.cuts).map(|cut| of(&cut.moles) / charged * free);
            let mut parts: Vec<f64> = over.map(|share| share.max(0.0)).collect();
            parts.push((1.0 - parts.iter().sum::<f64>()).max(0.0));
            shares.insert(*sub, parts);
        }
        shares
    }

    /// Lowest and highest temperature that the head showed, K, where it was read.
    pub(super) fn shown(&self) -> (f64, f64) {
        self.run.course.iter().fold((f64::INFINITY, 0.0), |(low, high), (_, head)| (head.min(low), head.max(high)))
    }

    /// How many times as volatile as `other` `one` is where there is as much of both.
    pub(super) fn volatility(&self, one: Sub, other: Sub, p: f64) -> Option<f64> {
        let place = |sub: Sub| self.liquids.subs.iter().position(|own| *own == sub);
        let boil = self.liquids.system.subset(&[place(one)?, place(other)?]).boil(&[0.5, 0.5], p).ok()?;
        let [y, beside] = boil.y.as_slice() else { return None };
        Some(y / beside).filter(|ratio| ratio.is_finite() && *ratio > 0.0)
    }

    /// Where two of its substances boil together at `p`.
    pub(super) fn together(&self, one: Sub, other: Sub, p: f64) -> Option<Together> {
        let place = |sub: Sub| self.liquids.subs.iter().position(|own| *own == sub);
        distillation::together(&self.liquids.system, place(one)?, place(other)?, p)
    }
}

/// Shares a portion out among receivers, the last of which gets what is in none of the others. A speck of a
/// substance goes with the most of it.
pub(super) fn receive(context: &mut Context<'_>, from: &Portion, shares: &Shares, receivers: usize, model: &'static str) -> Vec<Portion> {
    let mut out = vec![Portion { temperature: mixture::ROOM, ..Portion::default() }; receivers];
    let whole = from.mass();
    for (sub, mass) in &from.contents {
        let none: Vec<f64> = Vec::new();
        let parts = shares.get(sub).unwrap_or(&none);
        let most = (0..receivers).max_by(|a, b| {
            let of = |place: &usize| parts.get(*place).copied().unwrap_or(if place + 1 == receivers { 1e-300 } else { 0.0 });
            of(a).total_cmp(&of(b))
        });
        let name = context.defs.substance(*sub).display();
        let mut left = *mass;
        for (place, receiver) in out.iter_mut().enumerate() {
            let share = parts.get(place).copied().unwrap_or(0.0);
            if Some(place) == most || share * mass.si <= SPECK * whole {
                continue;
            }
            let what = if place + 1 == receivers { format!("{name} that stays") } else { format!("{name} that comes over") };
            let part = context.eval.ledger.model(model, what, Kind::Mass, share * mass.si, &[*mass]);
            left = context.eval.ledger.minus(format!("{name} besides"), Kind::Mass, left, part);
            receiver.contents.insert(*sub, part);
        }
        if let Some(receiver) = most.and_then(|most| out.get_mut(most)) {
            receiver.contents.insert(*sub, left);
        }
    }
    out
}

/// What is most of a portion and what else there is of it, each with its share by mass: the first `most` of at least
/// `least`.
pub(super) fn largest(masses: &Masses, most: usize, least: f64) -> Vec<(Sub, f64)> {
    let whole: f64 = masses.values().sum();
    let mut parts: Vec<(Sub, f64)> = masses.iter().map(|(sub, mass)| (*sub, mass / whole.max(1e-30))).collect();
    parts.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    parts.retain(|(_, share)| *share >= least);
    parts.truncate(most);
    parts
}

/// Whether `p` is one atmosphere.
pub(super) fn is_atmosphere(p: f64) -> bool {
    (p - ATMOSPHERE).abs() < 1.0
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests {
    use super::*;
    use crate::kinds::Kind;
    use crate::matter::ledger::Ledger;

    /// A search that is given up tells so, and what stands in for it is total reflux and nothing else.
    #[test]
    fn a_column_that_does_not_settle_is_worked_out_at_total_reflux() {
        let defs = crate::matter::system::tests::defs("ethanol | water | methanol");
        let (mut ledger, source) = (Ledger::default(), std::sync::Arc::from("a test"));
        let mut portion = Portion { temperature: mixture::ROOM, ..Portion::default() };
        for (name, mass) in [("methanol", 0.03), ("ethanol", 0.03), ("water", 0.03)] {
            portion.contents.insert(defs.find(name).unwrap(), ledger.datum("mass", Kind::Mass, mass, &source));
        }
        let asked = |reflux, granted| Work {
            p: ATMOSPHERE,
            column: Column { plates: 6.0, reflux },
            watched: true,
            ranges: vec![(337.0, 345.0)],
            held: 0.03,
            first: 0.0,
            warmest: f64::INFINITY,
            granted,
        };
        let (total, said) = work_or_total(&portion, &defs, &asked(None, GRANTED));
        let (total, none) = (total.unwrap().run, said);
        assert!(none.is_none());
        let (steady, said) = work_or_total(&portion, &defs, &asked(Some(2.5), GRANTED));
        assert!(said.is_none() && steady.unwrap().run != total);
        // Total reflux asks for so much and no more; the plates for many times as much.
        let (found, said) = work_or_total(&portion, &defs, &asked(Some(2.5), 500));
        assert_eq!(found.unwrap().run, total);
        let said = said.unwrap();
        assert!(said.contains("not found at a reflux ratio of 2.5") && said.contains("for total reflux"), "{said}");
        // Where not even that is found, the search is what is told.
        let (found, said) = work_or_total(&portion, &defs, &asked(Some(2.5), 20));
        assert!(said.is_none() && matches!(found, Err(Unworked::Search(_))));
    }
}
