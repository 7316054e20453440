//! What a comparison of runs comes to, in words.

use super::table::paragraph;
use super::words;
use crate::compare::runs::{Pair, Run, Tested, Way};
use crate::kinds::{Kind, decimals, show, significant};
use crate::record::review::Figure;

/// A figure with its expanded uncertainty, rounded to the same place: to its first digit, or the second where the first is
/// a one or a two.
#[must_use]
pub fn with_uncertainty(figure: &Figure) -> String {
    rounded(figure.value, figure.expanded)
}

fn rounded(value: f64, expanded: f64) -> String {
    if !(expanded.is_finite() && expanded > 0.0) {
        return significant(value, 3);
    }
    let place = -expanded.log10().floor();
    let leading = expanded * 10.0_f64.powf(place);
    let places = if leading < 2.95 { place + 1.0 } else { place }.clamp(0.0, 6.0);
    // Between 0 and 6 by the clamp.
    let places = places as usize;
    format!("{} ± {}", decimals(value, places), decimals(expanded, places))
}

/// Everything that stands below the table about runs; `first` is the number of their first column.
pub fn told(runs: &[Run], tested: &[Tested], first: usize, out: &mut String) {
    for one in tested {
        test(one, first, out);
    }
    let left: Vec<String> =
        runs.iter().enumerate().filter_map(|(place, run)| Some(format!("{} ({})", first + place, run.left_out.as_deref()?))).collect();
    if runs.len() > 1 && !left.is_empty() {
        out.push_str(&format!("\n{}", paragraph(&format!("Shown and not tested: {}.", left.join("; ")))));
    }
    let went: Vec<String> = runs.iter().enumerate().flat_map(|(place, run)| went(first + place, run)).collect();
    if !went.is_empty() {
        out.push_str("\nAs recorded:\n\n");
        went.iter().for_each(|line| out.push_str(line));
    }
    out.push_str(&format!("\n{}", paragraph(MEASURED)));
}

const MEASURED: &str = "Behind ± stands the expanded uncertainty: coverage factor 2, and where it comes from the scatter of few runs Student's \
    factor for the same level, 95.45 %, with the degrees of freedom of Welch and Satterthwaite (JCGM 100:2008, annex G). What was not \
    measured is blank; the balance counts what was not weighed as predicted.";

fn columns(way: &Way, first: usize) -> String {
    let numbers: Vec<String> = way.runs.iter().map(|place| (first + place).to_string()).collect();
    format!("column{} {}", if numbers.len() == 1 { "" } else { "s" }, words::list(&numbers))
}

fn test(tested: &Tested, first: usize, out: &mut String) {
    out.push_str(&format!("\nIs the {} different?\n\n", tested.quantity));
    for way in &tested.ways {
        let mean = match way.scatter {
            Some(scatter) => {
                let scatters = scatter > way.readings;
                format!(
                    "mean of {} runs {} %, standard deviation of a run {} % ({} their readings explain: {} %)",
                    way.runs.len(),
                    way.expanded.map_or_else(|| significant(way.mean, 3), |expanded| rounded(way.mean, expanded)),
                    significant(scatter, 2),
                    if scatters { "more than" } else { "no more than" },
                    significant(way.readings, 2),
                )
            }
            None => format!("one run, {} % by its readings", rounded(way.mean, way.expanded.unwrap_or(f64::NAN))),
        };
        let line = format!("- {}, {}, {}: {mean}.", way.letter, columns(way, first), words::uncapital(&way.told));
        out.push_str(&paragraph(&line));
    }
    for pair in &tested.pairs {
        out.push_str(&format!("\n{}", paragraph(&verdict(tested, pair))));
    }
}

/// A difference in percentage points.
fn points(value: f64) -> String {
    significant(value.abs(), 2)
}

fn verdict(tested: &Tested, pair: &Pair) -> String {
    let (more, less) = if pair.difference >= 0.0 { (pair.other, pair.one) } else { (pair.one, pair.other) };
    let freedom = pair.freedom.map_or_else(String::new, |freedom| {
        let whole = (freedom - freedom.round()).abs() < 1e-6;
        let number = if whole { decimals(freedom, 0) } else { decimals(freedom, 1) };
        format!(", {number} degree{} of freedom", if number == "1" { "" } else { "s" })
    });
    let k = format!("k = {}{freedom}", significant(pair.factor, 3));
    let difference = format!("{} percentage points, ± {} ({k})", points(pair.difference), points(pair.expanded));
    let mut text = if pair.beyond {
        format!("{more} beat {less} by {difference}: more than is uncertain about it.")
    } else {
        format!("{more} is above {less} by {difference}: they are not told apart.")
    };
    if pair.borrowed {
        text.push_str(" The one run is taken to scatter as the others do.");
    }
    if !pair.scatter_known {
        text.push_str(" This goes by the readings of single runs: how runs of one way scatter is not known until one is repeated.");
    } else if let Some(needed) = pair.runs_needed {
        let more = |letter: char| {
            let has = tested.ways.iter().find(|way| way.letter == letter).map_or(0, |way| way.runs.len());
            format!("{} more of {letter}", needed.saturating_sub(has))
        };
        text.push_str(&format!(
            " If the difference and the scatter stay as they are, {needed} runs of each would tell: {}, {}.",
            more(pair.one),
            more(pair.other)
        ));
    } else if !pair.beyond {
        text.push_str(" If the difference and the scatter stay as they are, even 100 runs of each would not tell.");
    }
    text
}

/// How a run went, for the steps that say so.
fn went(number: usize, run: &Run) -> Vec<String> {
    let steps = run.steps.iter().map(|step| {
        let took = step.took_s.map_or_else(String::new, |took| format!(" took {}", show(took, Kind::Duration, 3)));
        let at = step.at.as_ref().map_or_else(String::new, |at| format!(" at {at}"));
        format!("- {number}: “{}”{took}{at}.\n", step.title)
    });
    steps.collect()
}
