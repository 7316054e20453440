//! The work of a route at the bench: one pair of hands, one thing watched at a time, days of so many hours.
//!
//! A stage begins when what it takes is there and when the glass is free that it shares; of what can be begun, that
//! is done first that can be begun first. What stands by itself goes on through the night.

use std::collections::BTreeMap;

use serde::Serialize;

use super::glass::{self, Key, Shared};
use super::tasks::{self, Task, WASH_UP};
use super::{PlannedStage, sizes::Planned};
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::Kind;
use crate::resolve::attention::Attention;
use crate::resolve::bench::Bench;
use crate::resolve::quantity;
use crate::source::{Sources, Span};
use crate::syntax::Tok;
use crate::syntax::parse::parse_line;

/// The hours of a day at the bench where nothing is said, s. Our own figure.
pub const DAY: f64 = 7.0 * 3600.0;
const DAY_NIGHT: f64 = 24.0 * 3600.0;
/// What takes at least so long is told by itself, s. Our own figure.
pub const LONG_TIME: f64 = 3600.0;
/// Below this two times are one, s.
const MOMENT: f64 = 1e-3;
/// With more to do than this, no days are made of it. Our own figure.
const MOST_TASKS: usize = 1000;

/// A stretch of work.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stretch {
    /// The day, from 1.
    pub day: u32,
    /// When it begins, h after the beginning of the day.
    pub from_h: f64,
    /// When it ends, h after the beginning of the day on which it begins.
    pub to_h: f64,
    /// The stage.
    pub stage: String,
    /// The run, from 1.
    pub run: u32,
    /// The step.
    pub step: String,
    /// What is done.
    pub what: Vec<String>,
    /// Who has to be there.
    pub attention: Attention,
    /// Whether all its times are the procedure's own.
    pub stated: bool,
}

/// Something that takes long.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Long {
    /// The stage.
    pub stage: String,
    /// The step.
    pub step: String,
    /// What is done.
    pub what: String,
    /// How long, h.
    pub hours: f64,
    /// Who has to be there.
    pub attention: Attention,
    /// Whether it is hot.
    pub hot: bool,
    /// Whether a reaction goes on in it.
    pub reacts: bool,
}

/// The work of all stages.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Schedule {
    /// Hours of a day at the bench.
    pub day_h: f64,
    /// What is done, in the order in which it begins.
    pub stretches: Vec<Stretch>,
    /// What takes at least an hour and can go on while nobody looks after it.
    pub unattended: Vec<Long>,
    /// What takes at least an hour and is not left.
    pub attended: Vec<Long>,
    /// Steps that are longer than a day.
    pub too_long: Vec<Long>,
    /// Days on which someone is at the bench.
    pub days: u32,
    /// Hours with someone at the bench.
    pub attended_h: f64,
    /// Hours from the beginning until the last product is there.
    pub product_after_h: f64,
    /// Hours from the beginning until everything is put away.
    pub all_after_h: f64,
}

/// Reads the hours of a day.
pub(super) fn read_day(text: Option<&str>, sources: &mut Sources, findings: &mut Vec<Diagnostic>) -> Option<f64> {
    let Some(text) = text else { return Some(DAY) };
    let id = sources.add("--day", text.to_owned(), false);
    let at = Span::new(id, 0..text.len());
    let tokens = sources.get(id).map(|file| parse_line(id, file).0.tokens).unwrap_or_default();
    let read = match tokens.as_slice() {
        [token] => match &token.tok {
            Tok::Quantity(measure) => quantity::read(measure, &[Kind::Duration]).ok().filter(|figure| figure.high.is_none()),
            _ => None,
        },
        _ => None,
    };
    match read.map(|figure| figure.low).filter(|seconds| (1800.0..=DAY_NIGHT).contains(seconds)) {
        Some(seconds) => Some(seconds),
        None => {
            findings.push(
                Diagnostic::new(Code::OutOfRange, at, format!("`{text}` is not the length of a day at the bench"))
                    .help("write a duration from half an hour to a whole day, such as `7h`"),
            );
            None
        }
    }
}

/// One run of a stage.
struct Job<'a> {
    stage: &'a PlannedStage,
    run: u32,
    tasks: Vec<Task>,
    /// The stages that it waits for.
    waits: Vec<&'a str>,
    /// When each task ended.
    ended: Vec<Option<f64>>,
    /// The shared pieces that it uses: how many, and the task after which each is free.
    glass: Vec<(Key, usize, usize)>,
    begun: bool,
}

impl Job<'_> {
    /// The tasks that could be begun, as far as the job itself goes: the next on the way and the next beside it.
    fn next(&self) -> Vec<usize> {
        let open = |way: bool| self.tasks.iter().zip(&self.ended).position(|(task, ended)| ended.is_none() && task.on_the_way == way);
        let ready = |at: &usize| {
            let after = self.tasks.get(*at).and_then(|task| task.after);
            after.is_none_or(|after| self.ended.get(after).is_some_and(Option::is_some))
        };
        [open(true), open(false)].into_iter().flatten().filter(ready).collect()
    }

    /// When what goes on to the next stage is there.
    fn product_at(&self) -> Option<f64> {
        let on_the_way = self.tasks.iter().zip(&self.ended).filter(|(task, _)| task.on_the_way);
        on_the_way.map(|(_, ended)| *ended).try_fold(0.0, |latest: f64, ended| Some(latest.max(ended?)))
    }
}

/// Lays the work of the stages out in days.
#[must_use]
pub fn schedule(stages: &[PlannedStage], shared: &[Shared], bench: Option<&Bench>, day: f64) -> Schedule {
    let mut jobs = jobs(stages, shared);
    let count: usize = jobs.iter().map(|job| job.tasks.len()).sum();
    let mut out = Schedule {
        day_h: day / 3600.0,
        stretches: Vec::new(),
        unattended: Vec::new(),
        attended: Vec::new(),
        too_long: Vec::new(),
        days: 0,
        attended_h: 0.0,
        product_after_h: 0.0,
        all_after_h: 0.0,
    };
    long_tasks(stages, day, &mut out);
    if count > MOST_TASKS {
        return out;
    }
    let there = |key: &Key| shared.iter().find(|one| one.key == *key).and_then(|one| one.there).filter(|_| bench.is_some()).unwrap_or(1);
    let mut hands = 0.0_f64;
    let mut watch = 0.0_f64;
    // Begins and ends of what was done with someone there.
    let mut attended: Vec<(f64, f64)> = Vec::new();
    let mut placed: Vec<(f64, f64, usize, usize)> = Vec::new();
    while let Some((start, job, at)) = first_to_begin(&jobs, hands, watch, day, &there) {
        let Some(own) = jobs.get_mut(job) else { break };
        let Some(task) = own.tasks.get(at) else { break };
        let end = start + task.seconds;
        match task.attention {
            Attention::Hands => hands = end,
            Attention::Sight => watch = end,
            Attention::None => {}
        }
        if task.attention != Attention::None {
            attended.push((start, end));
        }
        own.begun = true;
        if let Some(slot) = own.ended.get_mut(at) {
            *slot = Some(end);
        }
        placed.push((start, end, job, at));
    }
    for (start, end, job, at) in placed {
        if let Some((job, task)) = jobs.get(job).and_then(|job| Some((job, job.tasks.get(at)?))) {
            lay(start, end, job, task, &mut out);
        }
    }
    out.stretches.sort_by(|a, b| (a.day, a.from_h).partial_cmp(&(b.day, b.from_h)).unwrap_or(std::cmp::Ordering::Equal));
    let last = stages.last().map(|stage| stage.name.as_str());
    let product = jobs.iter().filter(|job| Some(job.stage.name.as_str()) == last).filter_map(Job::product_at).fold(0.0, f64::max);
    out.product_after_h = product / 3600.0;
    out.all_after_h = jobs.iter().flat_map(|job| &job.ended).flatten().copied().fold(0.0, f64::max) / 3600.0;
    out.attended_h = union(attended) / 3600.0;
    let mut days: Vec<u32> = out.stretches.iter().map(|stretch| stretch.day).collect();
    days.dedup();
    out.days = u32::try_from(days.len()).unwrap_or(u32::MAX);
    out
}

fn jobs<'a>(stages: &'a [PlannedStage], shared: &[Shared]) -> Vec<Job<'a>> {
    let mut jobs = Vec::new();
    let mut used_before: Vec<Key> = Vec::new();
    for stage in stages {
        let mut tasks = tasks::tasks(stage);
        let mut pieces: BTreeMap<Key, usize> = BTreeMap::new();
        for chosen in &stage.outcome.vessels {
            let Some(key) = glass::key(stage, chosen).filter(|key| stage.runs > 1 || shared.iter().any(|one| one.key == *key)) else {
                continue;
            };
            let (_, last) = glass::busy(stage, chosen);
            let free = tasks.iter().rposition(|task| task.statement.is_some_and(|own| own <= last)).unwrap_or(0);
            let until = pieces.entry(key).or_insert(free);
            *until = free.max(*until);
        }
        let washed = shared.iter().any(|one| one.washed_between && pieces.contains_key(&one.key) && used_before.contains(&one.key));
        if washed && let Some(first) = tasks.first_mut() {
            first.what = "wash and dry what is used again, measure out".to_owned();
            first.seconds += WASH_UP;
        }
        used_before.extend(pieces.keys().cloned());
        let count = |key: &Key| {
            let of = shared.iter().find(|one| one.key == *key);
            of.and_then(|one| one.stages.iter().find(|(name, _)| *name == stage.name)).map_or(1, |(_, count)| *count)
        };
        let glass: Vec<(Key, usize, usize)> = pieces.into_iter().map(|(key, free)| (key.clone(), count(&key), free)).collect();
        let waits: Vec<&str> = stage.feeds.iter().map(|fed| fed.from.as_str()).collect();
        for run in 1..=stage.runs {
            let ended = vec![None; tasks.len()];
            jobs.push(Job { stage, run, tasks: tasks.clone(), waits: waits.clone(), ended, glass: glass.clone(), begun: false });
        }
    }
    jobs
}

/// What can be begun first, with when: among equals the earlier stage, and what is on the way.
fn first_to_begin(jobs: &[Job<'_>], hands: f64, watch: f64, day: f64, there: &dyn Fn(&Key) -> usize) -> Option<(f64, usize, usize)> {
    let mut best: Option<(f64, usize, usize)> = None;
    for (number, job) in jobs.iter().enumerate() {
        // What it takes of earlier stages is there when every run of them has given it.
        let supplied = job.waits.iter().try_fold(0.0_f64, |latest, name| {
            let earlier = jobs.iter().filter(|other| other.stage.name == *name);
            earlier.map(Job::product_at).try_fold(latest, |latest, at| Some(latest.max(at?)))
        });
        let Some(supplied) = supplied else { continue };
        let free = if job.begun { Some(0.0) } else { glass_free(jobs, job, there) };
        let Some(free) = free else { continue };
        for at in job.next() {
            let Some(task) = job.tasks.get(at) else { continue };
            let after = task.after.and_then(|after| job.ended.get(after).copied().flatten()).unwrap_or(0.0);
            let ready = supplied.max(free).max(after);
            let start = match task.attention {
                Attention::Hands => fit(ready.max(hands), task.seconds, day),
                Attention::Sight => fit(ready.max(hands).max(watch), task.seconds, day),
                // Someone puts it there.
                Attention::None => fit(ready, 0.0, day),
            };
            if best.is_none_or(|(known, ..)| start < known - MOMENT) {
                best = Some((start, number, at));
            }
        }
    }
    best
}

/// When all the glass that a job shares is free; `None` while a piece is in use and nobody knows how long.
fn glass_free(jobs: &[Job<'_>], job: &Job<'_>, there: &dyn Fn(&Key) -> usize) -> Option<f64> {
    let mut free = 0.0_f64;
    for (key, count, _) in &job.glass {
        // Those that began before and have it, each with when it gives it back.
        let mut holders: Vec<(f64, usize)> = Vec::new();
        for other in jobs.iter().filter(|other| other.begun) {
            for (own, number, until) in other.glass.iter().filter(|(own, ..)| own == key) {
                let _ = own;
                let ended = other.tasks.iter().zip(&other.ended).take(until + 1).map(|(_, ended)| *ended);
                let given_back = ended.into_iter().try_fold(0.0_f64, |latest, ended| Some(latest.max(ended?)));
                holders.push((given_back.unwrap_or(f64::INFINITY), *number));
            }
        }
        holders.sort_by(|a, b| b.0.total_cmp(&a.0));
        // The latest to give back decide, down to as many as there are beside what this job needs.
        let spare = there(key).saturating_sub(*count);
        let mut in_use = 0;
        for (given_back, number) in holders {
            in_use += number;
            if in_use > spare {
                free = free.max(given_back);
                break;
            }
        }
    }
    free.is_finite().then_some(free)
}

/// The first time from `ready` on at which something of that length is done within a day; what is longer than a day
/// begins with one.
fn fit(ready: f64, length: f64, day: f64) -> f64 {
    let number = (ready / DAY_NIGHT).floor();
    let begins = number * DAY_NIGHT;
    let at_once = ready - begins <= MOMENT || ready + length <= begins + day + MOMENT;
    if ready <= begins + day + MOMENT && at_once { ready } else { begins + DAY_NIGHT }
}

/// Adds a task to the stretches, to the one before it where it goes on in the same way.
fn lay(start: f64, end: f64, job: &Job<'_>, task: &Task, out: &mut Schedule) {
    let number = (start / DAY_NIGHT).floor();
    let within = |time: f64| (time - number * DAY_NIGHT) / 3600.0;
    // A day's number is small and not negative.
    let day = number.clamp(0.0, 1e6) as u32 + 1;
    let goes_on = |known: &&mut Stretch| {
        known.day == day
            && known.stage == job.stage.name
            && known.run == job.run
            && known.step == task.step
            && known.attention == task.attention
            && (known.to_h - within(start)).abs() * 3600.0 < 1.0
    };
    if let Some(known) = out.stretches.iter_mut().rev().find(goes_on) {
        known.to_h = within(end);
        known.stated &= task.stated;
        if !known.what.contains(&task.what) {
            known.what.push(task.what.clone());
        }
        return;
    }
    out.stretches.push(Stretch {
        day,
        from_h: within(start),
        to_h: within(end),
        stage: job.stage.name.clone(),
        run: job.run,
        step: task.step.clone(),
        what: vec![task.what.clone()],
        attention: task.attention,
        stated: task.stated,
    });
}

/// Notes what takes long, by who has to be there.
fn long_tasks(stages: &[PlannedStage], day: f64, out: &mut Schedule) {
    for stage in stages {
        for task in tasks::tasks(stage).iter().filter(|task| task.seconds >= LONG_TIME) {
            let one = Long {
                stage: stage.name.clone(),
                step: task.step.clone(),
                what: task.what.clone(),
                hours: task.seconds / 3600.0,
                attention: task.attention,
                hot: task.hot,
                reacts: task.statement.is_some_and(|number| tasks::reacts(stage, number)),
            };
            if task.attention != Attention::None && task.seconds > day {
                out.too_long.push(one.clone());
            }
            if task.attention != Attention::None { out.attended.push(one) } else { out.unattended.push(one) }
        }
    }
}

/// The length of all of these together, each moment counted once.
fn union(mut spans: Vec<(f64, f64)>) -> f64 {
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut sum, mut until) = (0.0, f64::NEG_INFINITY);
    for (start, end) in spans {
        sum += (end - start.max(until)).max(0.0);
        until = until.max(end);
    }
    sum
}

impl Planned {
    /// Whether the days were laid out; not where there is too much to do.
    #[must_use]
    pub fn is_laid_out(&self) -> bool {
        !self.schedule.stretches.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const H: f64 = 3600.0;

    #[test]
    fn what_does_not_fit_into_a_day_begins_the_next() {
        assert_eq!(fit(0.0, 3.0 * H, 7.0 * H), 0.0);
        assert_eq!(fit(4.0 * H, 3.0 * H, 7.0 * H), 4.0 * H);
        assert_eq!(fit(5.0 * H, 3.0 * H, 7.0 * H), 24.0 * H);
        // What is longer than a day begins with one.
        assert_eq!(fit(1.0 * H, 9.0 * H, 7.0 * H), 24.0 * H);
        assert_eq!(fit(24.0 * H, 9.0 * H, 7.0 * H), 24.0 * H);
        // Nothing is put out at night.
        assert_eq!(fit(12.0 * H, 0.0, 7.0 * H), 24.0 * H);
    }

    #[test]
    fn a_moment_is_counted_once() {
        assert_eq!(union(vec![(0.0, 2.0), (1.0, 3.0), (5.0, 6.0)]), 4.0);
    }
}
