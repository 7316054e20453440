//! Vessels of a bench: each job gets the smallest piece that fits at its fullest moment, and no piece
//! two jobs at one time.
//!
//! A vessel that holds a portion is in use from the statement that first needs it to the one that uses the
//! portion up, both counted; one that holds nothing for long (a funnel, a receiver) at its own statements only,
//! and is washed between them.

use super::Case;
use super::apparatus::{Chosen, Demand, base, choose, vessel};
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::{Kind, show};
use crate::resolve::bench::{Bench, Piece};
use crate::resolve::definitions::{Apparatus, Boils};
use crate::source::Span;

/// What does the work of another piece of apparatus. Common practice.
const STANDS_FOR: [(&str, &[&str]); 6] = [
    ("receiver", &["round_flask", "conical_flask", "distilling_flask"]),
    ("air_condenser", &["condenser"]),
    ("iced_condenser", &["condenser"]),
    ("heating_bath", &["water_bath", "oil_bath", "sand_bath", "steam_bath", "heating_mantle", "hot_plate"]),
    ("suction_filter", &["buchner_funnel"]),
    ("stirrer", &["hot_plate"]),
];

/// How full a vessel is at least, lest most of it be left on the glass. Our own figure.
const EMPTY: f64 = 0.1;

/// How many ways of giving out the pieces are tried.
const TRIES: u32 = 20_000;

/// A job for a vessel, with the pieces that would do.
struct Job<'a> {
    demand: &'a Demand,
    /// The statements during which it is in use, ends included.
    busy: Vec<(usize, usize)>,
    /// Piece, how large it must be at least, what it then holds, how full it may be; smallest piece first.
    fits: Vec<(usize, Need)>,
    /// The largest piece that there is, and how large it would have to be.
    largest: Option<(f64, Need)>,
}

/// A vessel's fullest moment.
#[derive(Clone, Copy)]
struct Need {
    size: f64,
    volume: f64,
    limit: f64,
    span: Span,
}

/// Whether a piece of that kind does the work of `wanted`.
fn serves(piece: &Apparatus, wanted: &str) -> bool {
    let stands = STANDS_FOR.iter().any(|(needed, others)| *needed == wanted && others.contains(&piece.name.as_str()));
    piece.name == wanted || stands || piece.serves.iter().any(|word| word == wanted)
}

/// Notes what is needed and not there: a kind, or a size of it.
pub(super) fn note_absent(bench: &Bench, wanted: &str, size: Option<f64>, missing: &mut Vec<String>) {
    let heated = wanted == "heating_bath" && bench.heater.is_some();
    let stocked = bench.stock.iter().any(|stock| stock.material.written.text == wanted);
    let weighed = wanted == "balance" && bench.instruments.iter().any(|one| !one.volume);
    let room = wanted == "room_air";
    let there = bench.pieces.iter().any(|piece| {
        serves(&piece.apparatus, wanted) && (size.is_none() || piece.apparatus.name == wanted && bench.piece(wanted, size).is_some())
    });
    if there || heated || stocked || weighed || room {
        return;
    }
    let title = wanted.replace('_', " ");
    let name = match size {
        Some(size) => format!("{title} of {}", show(size, Kind::Volume, 3)),
        None => title,
    };
    if !missing.contains(&name) {
        missing.push(name);
    }
}

/// Chooses a piece for each job.
pub(super) fn choose_all(
    case: &Case<'_>,
    bench: &Bench,
    demands: &[Demand],
    missing: &mut Vec<String>,
    findings: &mut Vec<Diagnostic>,
) -> Vec<Chosen> {
    let mut chosen = Vec::new();
    let mut jobs = Vec::new();
    for demand in demands {
        let wanted = demand.wanted();
        let Some(apparatus) = vessel(case, wanted).filter(|apparatus| !apparatus.sizes.is_empty()) else {
            note_absent(bench, wanted, None, missing);
            let exact = bench.pieces.iter().any(|piece| piece.apparatus.name == wanted);
            let stands = bench.pieces.iter().find(|piece| !exact && serves(&piece.apparatus, wanted));
            let named = |chosen: Chosen| Chosen { kind: stands.map_or(chosen.kind, |piece| piece.apparatus.name.clone()), ..chosen };
            chosen.extend(choose(case, demand, findings).map(named));
            continue;
        };
        let pin = demand.pinned.as_ref().map(|(name, size, _)| (name.as_str(), *size));
        let would_do = |piece: &Piece| match pin {
            Some((name, size)) => {
                piece.apparatus.name == name && size.is_none_or(|size| piece.size.is_some_and(|has| (has / size - 1.0).abs() < 1e-6))
            }
            None => serves(&piece.apparatus, if demand.needed == "flask" { "flask" } else { &apparatus.name }),
        };
        let pieces = || bench.pieces.iter().enumerate().filter(|(_, piece)| would_do(piece));
        let mut fits: Vec<(usize, f64, Need)> = Vec::new();
        let mut largest: Option<(f64, Need)> = None;
        for (number, piece) in pieces() {
            let (Some(size), Some(need)) = (piece.size, fullest(demand, apparatus, &piece.apparatus)) else { continue };
            if size * (1.0 + 1e-9) >= need.size {
                fits.push((number, size, need));
            }
            // Of pieces of several kinds the one that comes nearest.
            if largest.as_ref().is_none_or(|(best, known)| size / need.size > best / known.size) {
                largest = Some((size, need));
            }
        }
        if largest.is_none() || pin.is_some_and(|(_, size)| size.is_some()) && fits.is_empty() {
            // Nothing of the kind is there, or what the author named is too small: judged as without a bench.
            let pieceless = choose(case, demand, findings);
            if largest.is_none() {
                let size = pieceless.as_ref().and_then(|chosen| chosen.size);
                note_absent(bench, &apparatus.name, size, missing);
            }
            chosen.extend(pieceless);
            continue;
        }
        // The kind that is wanted before one that stands in for it.
        let kind = |number: &usize| bench.pieces.get(*number).is_some_and(|piece| piece.apparatus.name != apparatus.name);
        fits.sort_by(|a, b| a.1.total_cmp(&b.1).then(kind(&a.0).cmp(&kind(&b.0))).then(a.0.cmp(&b.0)));
        let fits = fits.into_iter().map(|(number, _, need)| (number, need)).collect();
        jobs.push(Job { demand, busy: busy(case, demand), fits, largest });
    }
    // The job that needs the most first: what is left is small and finds its place.
    jobs.sort_by(|a, b| size_of(b).total_cmp(&size_of(a)).then(a.busy.cmp(&b.busy)));
    let (able, unable): (Vec<Job<'_>>, Vec<Job<'_>>) = jobs.into_iter().partition(|job| !job.fits.is_empty());
    for job in &unable {
        findings.extend(too_small(job));
        chosen.push(base(case, job.demand));
    }
    let mut given: Vec<(usize, usize)> = Vec::new();
    let mut tries = TRIES;
    let mut furthest = 0;
    let all = give(&able, 0, &mut given, &mut tries, &mut furthest);
    if !all {
        given = one_by_one(&able);
    }
    for (number, job) in able.iter().enumerate() {
        let piece = given.iter().find(|(at, _)| *at == number).and_then(|(_, piece)| bench.pieces.get(*piece).map(|own| (*piece, own)));
        let Some((at, piece)) = piece else {
            findings.extend(in_use(case, bench, &able, job, &given));
            chosen.push(base(case, job.demand));
            continue;
        };
        let need = job.fits.iter().find(|(own, _)| *own == at).map(|(_, need)| *need);
        let (Some(size), Some(need)) = (piece.size, need) else { continue };
        let fill = need.volume / size;
        findings.extend(too_empty(piece, size, &need));
        chosen.push(Chosen {
            kind: piece.apparatus.name.clone(),
            size: Some(size),
            volume: need.volume,
            fill: Some(fill),
            limit: Some(need.limit),
            ..base(case, job.demand)
        });
    }
    chosen
}

/// The moment that needs the largest piece of this kind.
fn fullest(demand: &Demand, wanted: &Apparatus, piece: &Apparatus) -> Option<Need> {
    let own = wanted.fill.as_ref().map_or(1.0, |fill| fill.value);
    let stand_in = piece.fill.as_ref().filter(|_| piece.name != wanted.name && wanted.name != "receiver").map_or(1.0, |fill| fill.value);
    let mut found: Option<Need> = None;
    for (volume, limit, _, span) in &demand.moments {
        let limit = limit.unwrap_or(own).min(stand_in);
        let size = volume / limit;
        if found.is_none_or(|most| size > most.size * (1.0 + 1e-9)) {
            found = Some(Need { size, volume: *volume, limit, span: *span });
        }
    }
    found
}

/// The statements during which a vessel is in use.
fn busy(case: &Case<'_>, demand: &Demand) -> Vec<(usize, usize)> {
    let first = demand.statements.iter().min().copied().unwrap_or(0);
    let last = demand.statements.iter().max().copied().unwrap_or(0);
    match demand.holds {
        Some(id) => vec![(first, case.procedure.binding(id).used_by.unwrap_or(last).max(last))],
        None => demand.statements.iter().map(|number| (*number, *number)).collect(),
    }
}

fn at_once(a: &[(usize, usize)], b: &[(usize, usize)]) -> bool {
    a.iter().any(|one| b.iter().any(|other| one.0 <= other.1 && other.0 <= one.1))
}

fn size_of(job: &Job<'_>) -> f64 {
    job.fits.first().map(|(_, need)| need.size).or(job.largest.map(|(_, need)| need.size)).unwrap_or(0.0)
}

/// Gives out pieces, smallest first, going back where a job is left without.
fn give(jobs: &[Job<'_>], next: usize, given: &mut Vec<(usize, usize)>, tries: &mut u32, furthest: &mut usize) -> bool {
    let Some(job) = jobs.get(next) else { return true };
    *furthest = (*furthest).max(next);
    for (piece, _) in &job.fits {
        if *tries == 0 {
            return false;
        }
        *tries -= 1;
        if is_free(jobs, job, *piece, given) {
            given.push((next, *piece));
            if give(jobs, next + 1, given, tries, furthest) {
                return true;
            }
            given.pop();
        }
    }
    false
}

fn is_free(jobs: &[Job<'_>], job: &Job<'_>, piece: usize, given: &[(usize, usize)]) -> bool {
    let others = given.iter().filter(|(_, other)| *other == piece);
    !others.filter_map(|(number, _)| jobs.get(*number)).any(|other| at_once(&other.busy, &job.busy))
}

/// What can be given out when there are too few pieces: each job in turn takes the smallest that is free.
fn one_by_one(jobs: &[Job<'_>]) -> Vec<(usize, usize)> {
    let mut given = Vec::new();
    for (number, job) in jobs.iter().enumerate() {
        let free = job.fits.iter().map(|(piece, _)| *piece).find(|piece| is_free(jobs, job, *piece, &given));
        if let Some(piece) = free {
            given.push((number, piece));
        }
    }
    given
}

fn too_small(job: &Job<'_>) -> Option<Diagnostic> {
    let (size, need) = job.largest?;
    let title = job.demand.wanted_title();
    let volume = |v: f64, digits: usize| show(v, Kind::Volume, digits);
    Some(
        Diagnostic::new(
            Code::NoSize,
            need.span,
            format!(
                "{} needs a {title} of {}; the largest on this bench that would do holds {}",
                volume(need.volume, 3),
                volume(need.size, 3),
                volume(size, 3)
            ),
        )
        .help(format!(
            "cut the batch to {:.0} % of this one, or work it in {}",
            100.0 * size / need.size,
            super::bench::in_runs(need.size / size)
        )),
    )
}

fn in_use(case: &Case<'_>, bench: &Bench, jobs: &[Job<'_>], job: &Job<'_>, given: &[(usize, usize)]) -> Option<Diagnostic> {
    let (piece, need) = job.fits.first()?;
    let called = |job: &Job<'_>| {
        let name = job.demand.holds.map_or(job.demand.name.as_str(), |id| case.procedure.binding(id).name.as_str());
        if name.is_empty() { "other work".to_owned() } else { format!("`{name}`") }
    };
    let title = job.demand.wanted_title();
    let taken = given.iter().find_map(|(number, other)| {
        let fits = job.fits.iter().any(|(own, _)| own == other);
        jobs.get(*number).filter(|holder| fits && at_once(&holder.busy, &job.busy))
    });
    let mut others: Vec<String> = Vec::new();
    for (own, _) in &job.fits {
        let size = bench
            .pieces
            .get(*own)
            .and_then(|piece| Some(format!("{} {}", show(piece.size?, Kind::Volume, 3), piece.apparatus.name.replace('_', " "))));
        others.extend(size.filter(|size| !others.contains(size)));
    }
    let holder = taken.map_or_else(String::new, |holder| format!(" while {} is in it", called(holder)));
    let finding = Diagnostic::new(
        Code::InUse,
        need.span,
        format!(
            "{} needs a {title} of {} here, and the {} is in use{holder}",
            called(job),
            show(need.size, Kind::Volume, 2),
            others.join(" or the ")
        ),
    )
    .help("add another to the bench (a size that is there twice is written twice), or make a smaller batch, which a smaller one holds");
    Some(match bench.pieces.get(*piece) {
        Some(piece) => finding.label(piece.span, "this is what there is"),
        None => finding,
    })
}

fn too_empty(piece: &Piece, size: f64, need: &Need) -> Option<Diagnostic> {
    let boils = piece.apparatus.boils.as_ref().is_some_and(|boils| boils.value == Boils::Yes);
    let held = boils || piece.apparatus.name == "separatory_funnel";
    let fill = need.volume / size;
    if !held || need.volume <= 0.0 || fill >= EMPTY * (1.0 - 1e-9) {
        return None;
    }
    Some(
        Diagnostic::new(
            Code::TooEmpty,
            need.span,
            format!(
                "{} fills the smallest {} that is free here, of {}, to {:.1} %: much of it would be left on the glass",
                show(need.volume, Kind::Volume, 2),
                piece.apparatus.name.replace('_', " "),
                show(size, Kind::Volume, 3),
                100.0 * fill
            ),
        )
        .help(format!("make at least {} times this batch, or use a smaller vessel", crate::kinds::significant(EMPTY / fill, 2)))
        .label(piece.span, "this is what there is"),
    )
}
