//! Which point of a sweep is the best, how much that is worth, and what the prediction does not depend on.

use super::{Point, Swept};
use crate::compare::{Prospect, currencies};

/// What is sought.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Aim {
    /// The greatest yield.
    Yield,
    /// The least waste to a kilogram of product.
    Waste,
    /// The least cost of a kilogram of product, at the prices of the bench.
    Cost,
    /// The least time that is stated to a gram of product.
    Time,
}

/// A figure by which points are compared.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Figure {
    /// Yield, %.
    Yield,
    /// Mass of product, g, where no reaction says what the yield is counted on.
    Product,
    /// Waste to a kilogram of product, kg.
    Waste,
    /// Cost of a kilogram of product, where it is all in one currency.
    Cost,
    /// Hours that are stated to a gram of product.
    Time,
}

impl Figure {
    /// The figure of a prospect; `None` where it is not known.
    #[must_use]
    pub fn of(self, prospect: &Prospect) -> Option<f64> {
        let figure = match self {
            Self::Yield => prospect.yield_percent,
            Self::Product => prospect.product_g,
            Self::Waste => prospect.e_factor,
            Self::Cost => match prospect.cost.as_ref()?.spent.as_slice() {
                [one] => one.per_kg,
                _ => None,
            },
            Self::Time => prospect.product_g.map(|mass| prospect.time.all_h / mass),
        };
        figure.filter(|figure| figure.is_finite())
    }

    /// Whether more of it is better.
    #[must_use]
    pub fn more_is_better(self) -> bool {
        matches!(self, Self::Yield | Self::Product)
    }

    /// What it is, without its unit.
    #[must_use]
    pub fn what(self) -> &'static str {
        match self {
            Self::Yield => "yield",
            Self::Product => "mass of product",
            Self::Waste => "waste per kg of product",
            Self::Cost => "cost per kg of product",
            Self::Time => "time that is stated per g of product",
        }
    }

    /// Its unit in a sweep.
    #[must_use]
    pub fn unit(self, swept: &Swept) -> String {
        match self {
            Self::Yield => "%".to_owned(),
            Self::Product => "g".to_owned(),
            Self::Waste => "kg".to_owned(),
            Self::Cost => currencies(swept.prospects()).join(", "),
            Self::Time => "h".to_owned(),
        }
    }
}

/// Points whose figure lies within this share of the best are as good as it. Our own figure: predictions are no finer.
pub const FLAT: f64 = 0.01;

/// Figures that differ by less than this share do not differ: what is left of rounding.
const SAME: f64 = 1e-9;

/// What a sweep comes to under an aim.
#[derive(Clone, Debug, PartialEq)]
pub struct Best {
    /// The figure that counts.
    pub figure: Figure,
    /// Its unit.
    pub unit: String,
    /// The best point, by its number from 0; `None` where no point has the figure, or all have the same.
    pub point: Option<usize>,
    /// For each parameter, whether the figure is the same whatever the parameter is.
    pub idle: Vec<bool>,
    /// For each parameter that the figure depends on, the end of its range at which the best point lies.
    pub end: Vec<Option<End>>,
    /// Points within [`FLAT`] of the best, the best among them.
    pub flat: Vec<usize>,
    /// Another figure, by which those are told apart: where the yield is the aim the cost if it is known, else the waste;
    /// where it is not the aim, the yield.
    pub beside: Figure,
    /// The best of those by that figure.
    pub thrifty: Option<usize>,
}

/// An end of a range.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum End {
    /// The lower one.
    Lower,
    /// The upper one.
    Upper,
}

fn same(one: f64, other: f64) -> bool {
    (one - other).abs() <= SAME * one.abs().max(other.abs())
}

/// The point's figure.
fn of(point: &Point, figure: Figure) -> Option<f64> {
    figure.of(point.outcome.as_ref().ok()?)
}

/// Finds the best point under an aim. Of points that are equally good it is the first.
#[must_use]
pub fn best(swept: &Swept, aim: Aim) -> Best {
    let known = |figure: Figure| swept.points.iter().any(|point| of(point, figure).is_some());
    let figure = match aim {
        Aim::Yield if known(Figure::Yield) => Figure::Yield,
        Aim::Yield => Figure::Product,
        Aim::Waste => Figure::Waste,
        Aim::Cost => Figure::Cost,
        Aim::Time => Figure::Time,
    };
    let unit = figure.unit(swept);
    let beside = match figure {
        Figure::Yield | Figure::Product if known(Figure::Cost) => Figure::Cost,
        Figure::Yield | Figure::Product => Figure::Waste,
        Figure::Waste | Figure::Cost | Figure::Time if known(Figure::Yield) => Figure::Yield,
        Figure::Waste | Figure::Cost | Figure::Time => Figure::Product,
    };
    let better = |one: f64, other: f64| !same(one, other) && (one > other) == figure.more_is_better();
    let mut found: Option<(usize, f64)> = None;
    for (at, point) in swept.points.iter().enumerate() {
        if let Some(own) = of(point, figure)
            && found.is_none_or(|(_, best)| better(own, best))
        {
            found = Some((at, own));
        }
    }
    let idle: Vec<bool> = (0..swept.parameters.len()).map(|number| is_idle(swept, figure, number)).collect();
    let Some((at, most)) = found.filter(|_| !idle.iter().all(|idle| *idle)) else {
        return Best { figure, unit, point: None, end: vec![None; idle.len()], idle, flat: Vec::new(), beside, thrifty: None };
    };
    let end = idle.iter().enumerate().map(|(number, idle)| if *idle { None } else { end_of(swept, at, number) }).collect();
    let near = |point: &Point| of(point, figure).is_some_and(|own| (own - most).abs() <= FLAT * most.abs());
    let flat: Vec<usize> = swept.points.iter().enumerate().filter(|(_, point)| near(point)).map(|(at, _)| at).collect();
    let mut thrifty: Option<(usize, f64)> = None;
    for at in &flat {
        let Some(own) = swept.points.get(*at).and_then(|point| of(point, beside)) else { continue };
        if thrifty.is_none_or(|(_, known)| !same(own, known) && (own > known) == beside.more_is_better()) {
            thrifty = Some((*at, own));
        }
    }
    Best { figure, unit, point: Some(at), idle, end, flat, beside, thrifty: thrifty.map(|(at, _)| at) }
}

/// Places of the points that differ from one another in one parameter only.
fn lines(swept: &Swept, number: usize) -> Vec<Vec<usize>> {
    let counts: Vec<usize> = swept.parameters.iter().map(|parameter| parameter.values.len()).collect();
    let stride: usize = counts.iter().skip(number + 1).product();
    let own = counts.get(number).copied().unwrap_or(1);
    let starts = (0..swept.points.len()).filter(|at| (at / stride.max(1)).is_multiple_of(own.max(1)));
    starts.map(|start| (0..own).map(|step| start + step * stride).collect()).collect()
}

/// Whether a figure is the same along one parameter, wherever it is known; not where it is known at one point only.
fn is_idle(swept: &Swept, figure: Figure, number: usize) -> bool {
    let mut compared = false;
    for line in lines(swept, number) {
        let known: Vec<f64> = line.iter().filter_map(|at| of(swept.points.get(*at)?, figure)).collect();
        let Some((first, rest)) = known.split_first() else { continue };
        if rest.iter().any(|own| !same(*own, *first)) {
            return false;
        }
        compared |= !rest.is_empty();
    }
    compared
}

/// The end of a parameter's range at which a point lies.
fn end_of(swept: &Swept, at: usize, number: usize) -> Option<End> {
    let (values, own) = (&swept.parameters.get(number)?.values, *swept.points.get(at)?.values.get(number)?);
    if values.first() == Some(&own) {
        Some(End::Lower)
    } else if values.last() == Some(&own) {
        Some(End::Upper)
    } else {
        None
    }
}
