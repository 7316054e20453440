//! The largest and the smallest batch for which nothing fails, and what stands in the way of a larger or smaller one.
//!
//! What fails need not grow with the batch: a siphon is not reached in a small one, a flask overflows in a large
//! one. The reach is looked over on a grid; between two of its points each thing that fails is followed by itself,
//! so that a narrow window between two of them is found too. What comes and goes between two neighbours of the grid
//! unseen at both is not found; they lie a third apart.

use std::collections::BTreeMap;

use crate::diagnostics::{Code, Diagnostic};
use crate::source::FileId;

/// What is sought.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Reach {
    /// The largest batch.
    Largest,
    /// The smallest sensible batch.
    Smallest,
}

impl Reach {
    /// The word on the command line.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        match word.trim() {
            "largest" => Some(Self::Largest),
            "smallest" => Some(Self::Smallest),
            _ => None,
        }
    }

    /// The word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Largest => "largest",
            Self::Smallest => "smallest",
        }
    }

    /// Whether a finding counts as failing.
    #[must_use]
    pub fn counts(self, finding: &Diagnostic) -> bool {
        let small = matches!(finding.code, Code::TooCoarse | Code::TooEmpty);
        finding.is_error() || finding.code == Code::StockShort || self == Self::Smallest && small
    }
}

/// Something that fails beyond a size.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Where it begins to fail, against the batch as written.
    pub scale: f64,
    /// What fails, a hundredth beyond that.
    pub finding: Diagnostic,
}

/// A batch that was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Reached {
    /// What was sought.
    pub reach: Reach,
    /// Its size against the batch as written.
    pub scale: f64,
    /// What stands in the way, nearest first: the first binds.
    pub limits: Vec<Limit>,
}

/// Why there is none.
#[derive(Clone, Debug, PartialEq)]
pub enum Nowhere {
    /// Nothing fails however far it is taken.
    Endless,
    /// It fails everywhere; the finding that comes nearest to the batch as written.
    Never(Box<Diagnostic>),
}

/// Decades to each side of the batch as written, and points to a decade. Eight points lie a third apart.
const DECADES: i32 = 4;
const POINTS: i32 = 8;
/// Halvings of a step of the grid: to some 1e-9 of the size.
const HALVINGS: u32 = 28;
/// The same for limits that do not bind: to some 1e-5, of which three figures are told.
const COARSE: u32 = 14;
/// How many limits are told besides the one that binds.
const NEXT: usize = 2;

/// Into how many runs a batch is split at the most. Our own figure.
const MOST_RUNS: u32 = 12;

/// Where something fails that fewer at a time might mend, tries in how many runs nothing does, and says so at the first
/// finding that is an error. `trial` gives what is found of each of so many runs.
pub fn propose_runs(found: &mut [Diagnostic], trial: &dyn Fn(u32) -> Vec<Diagnostic>) {
    let Some(first) = found.iter_mut().find(|finding| finding.is_error()) else { return };
    let fits = |runs: &u32| !trial(*runs).iter().any(|finding| Reach::Largest.counts(finding));
    let help = first.help.take().unwrap_or_default();
    let tried = match (2..=MOST_RUNS).find(fits) {
        Some(runs) => format!("tried on this bench: in {runs} runs nothing fails (`--runs {runs}`)"),
        None if help.contains("--runs") => format!("tried on this bench: in up to {MOST_RUNS} runs something else still fails"),
        None => {
            first.help = Some(help).filter(|help| !help.is_empty());
            return;
        }
    };
    first.help = Some(if help.is_empty() { tried } else { format!("{help}; {tried}") });
}

/// One thing that fails, wherever it does.
type Key = (Code, FileId, usize);

struct Search<'a> {
    reach: Reach,
    trial: &'a dyn Fn(f64) -> Vec<Diagnostic>,
}

impl Search<'_> {
    /// The size at a place of the search, which goes towards what is sought.
    fn scale(&self, place: f64) -> f64 {
        let sign = if self.reach == Reach::Largest { 1.0 } else { -1.0 };
        10_f64.powf(sign * place)
    }

    fn fails(&self, place: f64) -> BTreeMap<Key, Diagnostic> {
        let found = (self.trial)(self.scale(place)).into_iter().filter(|finding| self.reach.counts(finding));
        let mut fails = BTreeMap::new();
        for finding in found {
            fails.entry((finding.code, finding.span.file, finding.span.start)).or_insert(finding);
        }
        fails
    }

    /// The last place before `to` at which `fails` is as at `from`, where the two differ.
    fn turn(&self, mut from: f64, mut to: f64, halvings: u32, fails: impl Fn(&BTreeMap<Key, Diagnostic>) -> bool) -> (f64, f64) {
        let before = fails(&self.fails(from));
        for _ in 0..halvings {
            let middle = 0.5 * (from + to);
            if fails(&self.fails(middle)) == before { from = middle } else { to = middle }
        }
        (from, to)
    }
}

/// Seeks the batch; `trial` gives what is found at a size.
///
/// # Errors
/// Why there is none.
pub fn seek(reach: Reach, trial: &dyn Fn(f64) -> Vec<Diagnostic>) -> Result<Reached, Nowhere> {
    let search = Search { reach, trial };
    // From the far end inwards, and no further than needed.
    let mut seen: Vec<(f64, BTreeMap<Key, Diagnostic>)> = Vec::new();
    for number in (-DECADES * POINTS..=DECADES * POINTS).rev() {
        let here = f64::from(number) / f64::from(POINTS);
        let fails = search.fails(here);
        if let Some((next, beyond)) = seen.last() {
            let throughout = fails.keys().any(|key| beyond.contains_key(key));
            if !throughout && let Some((last, first)) = window(&search, here, &fails, *next) {
                return Ok(Reached { reach, scale: search.scale(last), limits: limits(&search, &seen, last, first) });
            }
        } else if fails.is_empty() {
            return Err(Nowhere::Endless);
        }
        seen.push((here, fails));
    }
    let written = seen.iter().min_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
    // What fails at most sizes is told rather than what fails at this one.
    let count = |key: &Key| seen.iter().filter(|(_, fails)| fails.contains_key(key)).count();
    let worst = written.and_then(|(_, fails)| fails.iter().max_by_key(|(key, _)| count(key))).map(|(_, finding)| finding.clone());
    let any = || seen.iter().find_map(|(_, fails)| fails.values().next().cloned());
    worst.or_else(any).map_or(Err(Nowhere::Endless), |finding| Err(Nowhere::Never(Box::new(finding))))
}

/// The last place between two neighbours of the grid at which nothing fails, and the one just beyond it.
fn window(search: &Search<'_>, here: f64, fails: &BTreeMap<Key, Diagnostic>, next: f64) -> Option<(f64, f64)> {
    // Where the last of what fails here ceases to; what fails beyond must not have begun there.
    let ceases = |found: &BTreeMap<Key, Diagnostic>| fails.keys().any(|key| found.contains_key(key));
    let begins = if fails.is_empty() { here } else { search.turn(here, next, HALVINGS, ceases).1 };
    if !fails.is_empty() && !search.fails(begins).is_empty() {
        return None;
    }
    Some(search.turn(begins, next, HALVINGS, |found| !found.is_empty()))
}

/// What fails beyond `last`, nearest first; `first` is the place just beyond it.
fn limits(search: &Search<'_>, seen: &[(f64, BTreeMap<Key, Diagnostic>)], last: f64, first: f64) -> Vec<Limit> {
    // A hundredth further on the figures of a finding differ where they are read.
    let further =
        |place: f64, key: &Key, finding: &Diagnostic| search.fails(place + 1.01_f64.log10()).remove(key).unwrap_or_else(|| finding.clone());
    let binding = search.fails(first);
    let mut found: Vec<(f64, Key, Diagnostic)> = binding.iter().map(|(key, finding)| (last, *key, further(first, key, finding))).collect();
    let mut from = last;
    for (place, fails) in seen.iter().rev().filter(|(place, _)| *place > first) {
        if found.len() > NEXT + 1 {
            break;
        }
        let mut more: Vec<(f64, Key, Diagnostic)> = Vec::new();
        for (key, finding) in fails.iter().filter(|(key, _)| !found.iter().any(|(_, known, _)| known == *key)) {
            let (_, begins) = search.turn(from, *place, COARSE, |found| found.contains_key(key));
            more.push((begins, *key, further(begins, key, finding)));
        }
        more.sort_by(|a, b| a.0.total_cmp(&b.0));
        found.extend(more);
        from = *place;
    }
    found.truncate(NEXT + 1);
    found.into_iter().map(|(place, _, finding)| Limit { scale: search.scale(place), finding }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Span;

    fn finding(code: Code, at: usize) -> Diagnostic {
        Diagnostic::new(code, Span::new(FileId::of_entry(0), at..at), "it fails")
    }

    #[test]
    fn the_nearest_limit_binds_and_the_next_are_told_in_order() {
        let trial = |scale: f64| {
            let limits = [(3.0, 1), (1.7, 2), (5.0, 3), (80.0, 4)];
            limits.iter().filter(|(limit, _)| scale > *limit).map(|(_, at)| finding(Code::NoSize, *at)).collect()
        };
        let found = seek(Reach::Largest, &trial).unwrap_or_else(|why| panic!("{why:?}"));
        assert!((found.scale / 1.7 - 1.0).abs() < 1e-6 && found.scale <= 1.7, "{}", found.scale);
        let places: Vec<usize> = found.limits.iter().map(|limit| limit.finding.span.start).collect();
        assert_eq!(places, [2, 1, 3]);
        assert!((found.limits[1].scale / 3.0 - 1.0).abs() < 1e-4);
    }

    #[test]
    fn a_window_narrower_than_the_grid_is_found() {
        // Below 2.00 the siphon is not reached, above 2.05 the flask overflows.
        let trial = |scale: f64| {
            let mut found = Vec::new();
            if scale < 2.0 {
                found.push(finding(Code::SiphonNotReached, 1));
            }
            if scale > 2.05 {
                found.push(finding(Code::NoSize, 2));
            }
            found
        };
        let most = seek(Reach::Largest, &trial).unwrap_or_else(|why| panic!("{why:?}"));
        let least = seek(Reach::Smallest, &trial).unwrap_or_else(|why| panic!("{why:?}"));
        assert!((most.scale / 2.05 - 1.0).abs() < 1e-6 && (least.scale / 2.0 - 1.0).abs() < 1e-6, "{} {}", most.scale, least.scale);
        assert_eq!(least.limits[0].finding.code, Code::SiphonNotReached);
    }

    #[test]
    fn what_never_fails_and_what_always_fails_is_said() {
        assert_eq!(seek(Reach::Largest, &|_| Vec::new()), Err(Nowhere::Endless));
        let always = |_: f64| vec![finding(Code::WrongSide, 7)];
        assert!(matches!(seek(Reach::Largest, &always), Err(Nowhere::Never(finding)) if finding.span.start == 7));
    }

    #[test]
    fn runs_are_proposed_where_so_many_do() {
        let told = |help: &str, least: u32| {
            let mut found = vec![finding(Code::NoSize, 1).help(help)];
            propose_runs(&mut found, &|runs| if runs < least { vec![finding(Code::NoSize, 1)] } else { Vec::new() });
            found[0].help.clone().unwrap_or_default()
        };
        assert!(told("cut the batch", 3).ends_with("; tried on this bench: in 3 runs nothing fails (`--runs 3`)"));
        assert_eq!(told("cut the batch", 100), "cut the batch");
        assert!(told("work it in 2 runs (`--runs 2`)", 100).contains("something else still fails"));
    }

    #[test]
    fn the_upper_of_two_windows_is_the_largest() {
        let trial = |scale: f64| {
            if scale < 1.0 || scale > 4.0 && scale < 20.0 || scale > 50.0 { vec![finding(Code::NoSize, 1)] } else { Vec::new() }
        };
        let found = seek(Reach::Largest, &trial).unwrap_or_else(|why| panic!("{why:?}"));
        assert!((found.scale / 50.0 - 1.0).abs() < 1e-6);
    }
}
