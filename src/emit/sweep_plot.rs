//! A sweep as a drawing: of one parameter yield, purity and what a gram or a kilogram of product costs besides; of two the
//! figure that counts, a curve for each figure of the second.

use super::plot::{self, Axis, Line, MOST_LINES, Plot, trimmed};
use super::words;
use crate::compare::Prospect;
use crate::kinds::significant;
use crate::sweep::best::{Best, Figure};
use crate::sweep::{Parameter, Point, Swept};

/// The sweep as a drawing that stands alone.
#[must_use]
pub fn plot(swept: &Swept, best: &Best) -> String {
    let drawing = match swept.parameters.as_slice() {
        [first, second] => curves(swept, best, first, second),
        [one, ..] => single(swept, best, one),
        [] => Plot::default(),
    };
    plot::drawn(&drawing)
}

/// Points of a curve, broken where nothing is known.
fn pieces<'a>(points: impl Iterator<Item = &'a Point>, of: &dyn Fn(&Prospect) -> Option<f64>) -> Vec<Vec<(f64, f64)>> {
    let mut found = vec![Vec::new()];
    for point in points {
        let y = point.outcome.as_ref().ok().and_then(of);
        match (point.values.first(), y, found.last_mut()) {
            (Some(x), Some(y), Some(piece)) => piece.push((*x, y)),
            _ => found.push(Vec::new()),
        }
    }
    found.retain(|piece| !piece.is_empty());
    found
}

fn figures(lines: &[Line]) -> impl Iterator<Item = f64> {
    lines.iter().flat_map(|line| line.pieces.iter().flatten()).map(|(_, y)| *y)
}

fn axis(parameter: &Parameter) -> Axis {
    Axis::holding(parameter.heading(), parameter.values.iter().copied()).unwrap_or_default()
}

fn single(swept: &Swept, best: &Best, parameter: &Parameter) -> Plot {
    let line = |name: String, right: bool, of: &dyn Fn(&Prospect) -> Option<f64>| {
        let pieces = pieces(swept.points.iter(), of);
        if pieces.is_empty() { None } else { Some(Line { name, pieces, right, dots: true }) }
    };
    let yields = line("yield, %".to_owned(), false, &|one| one.yield_percent);
    let (label, mut lines): (&str, Vec<Line>) = match yields {
        Some(yields) => {
            let purity = line("purity, %".to_owned(), false, &|one| one.purity_percent);
            ("yield and purity, %", std::iter::once(yields).chain(purity).collect())
        }
        None => ("product, g", line("product, g".to_owned(), false, &|one| one.product_g).into_iter().collect()),
    };
    let left = Axis::holding(label.to_owned(), figures(&lines)).unwrap_or_default();
    let beside = if matches!(best.figure, Figure::Time | Figure::Cost) { best.figure } else { Figure::Waste };
    let name = format!("{}, {}", beside.what(), beside.unit(swept));
    let beside = line(name.clone(), true, &|one| beside.of(one));
    let right = beside.as_ref().and_then(|line| Axis::holding(name, figures(std::slice::from_ref(line))));
    lines.extend(beside);
    let x = axis(parameter);
    let best_at = best.point.and_then(|at| swept.points.get(at)?.values.first().copied()).map(|value| (value, "best".to_owned()));
    let written = parameter.written.filter(|value| (x.low..=x.high).contains(value)).map(|value| (value, "as written".to_owned()));
    Plot {
        heading: format!("{}: {}", swept.title, words::plain(&parameter.name)),
        x,
        left,
        right,
        lines,
        uprights: best_at.into_iter().chain(written).collect(),
        ..Plot::default()
    }
}

fn curves(swept: &Swept, best: &Best, first: &Parameter, second: &Parameter) -> Plot {
    let columns = second.values.len();
    // No more curves than part from one another, evenly over the range.
    let drawn = columns.min(MOST_LINES);
    let chosen = (0..drawn).map(|at| if drawn < 2 { at } else { (at * (columns - 1) + (drawn - 1) / 2) / (drawn - 1) });
    let figure = best.figure;
    let lines: Vec<Line> = chosen
        .filter_map(|column| {
            let points = swept.points.iter().skip(column).step_by(columns.max(1));
            let value = second.values.get(column)?;
            let name = format!("{} {}", trimmed(&significant(*value, 4)), second.unit);
            let pieces = pieces(points, &|one| figure.of(one));
            if pieces.is_empty() { None } else { Some(Line { name: name.trim().to_owned(), pieces, right: false, dots: true }) }
        })
        .collect();
    let label = format!("{}, {}", figure.what(), best.unit);
    let ring = best.point.and_then(|at| {
        let point = swept.points.get(at)?;
        Some((*point.values.first()?, figure.of(point.outcome.as_ref().ok()?)?, "best".to_owned()))
    });
    Plot {
        heading: format!("{}: {} and {}", swept.title, words::plain(&first.name), words::plain(&second.name)),
        x: axis(first),
        left: Axis::holding(label, figures(&lines)).unwrap_or_default(),
        lines,
        rings: ring.into_iter().collect(),
        at_ends: Some(words::plain(&second.name)),
        ..Plot::default()
    }
}
