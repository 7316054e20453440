//! How things stand on average over a filling of the extractor: where in it the work ends nobody can tell beforehand.

use super::dried::{NEAR, Row, State};

/// What is remembered of a dried return around the time at which it is looked at.
#[derive(Clone, Debug)]
pub(super) struct Cycle {
    /// The time at which it is looked at, s.
    stated: f64,
    /// How it stood after each step, and before and after the siphon ran over.
    states: Vec<State>,
    /// When the siphon ran over, s.
    runs: Vec<f64>,
    /// Whether enough has been seen: what comes after is not remembered.
    complete: bool,
}

/// How it stands on average.
#[derive(Clone, Debug)]
pub(super) struct Average {
    /// Amounts, temperature and vapour.
    pub state: State,
    /// The least and the greatest extent of the first reaction meanwhile, mol.
    pub span: Option<(f64, f64)>,
}

impl Cycle {
    pub(super) fn new(stated: f64, first: &State) -> Self {
        Self { stated, states: vec![first.clone()], runs: Vec::new(), complete: false }
    }

    pub(super) fn note(&mut self, state: &State) {
        if !self.complete {
            self.states.push(state.clone());
            self.complete = self.is_seen(state.row.time);
        }
    }

    pub(super) fn runs_over(&mut self, now: f64) {
        if self.complete {
            return;
        }
        self.runs.push(now);
        self.complete = self.is_seen(now);
    }

    /// Half the time over which is averaged, s, as far as is known at `now`, and whether more is to be known. It begins
    /// with nothing when the siphon has just run over for the first time, so that no figure jumps.
    fn half(&self, now: f64) -> (f64, bool) {
        let before = |run: &&f64| **run <= self.stated * (1.0 + NEAR);
        let (Some(first), Some(last)) = (self.runs.first().filter(before), self.runs.iter().rfind(before)) else { return (0.0, true) };
        let next = self.runs.iter().find(|run| !before(run));
        let (own, most) = (0.5 * (next.copied().unwrap_or(now) - last), self.stated - first);
        (own.min(most).max(0.0), next.is_some() || own >= most || now >= 2.0 * self.stated)
    }

    /// Whether enough has been seen.
    pub(super) fn is_complete(&self) -> bool {
        self.complete
    }

    fn is_seen(&self, now: f64) -> bool {
        let (half, known) = self.half(now);
        known && now >= (self.stated + half) * (1.0 - NEAR)
    }

    /// The average over the filling around the stated time; where all came to rest before, over the last one. `None`
    /// where the siphon did not run over by then: it stands as it stands.
    pub(super) fn average(&self, rests: bool) -> Option<Average> {
        let end = self.states.last()?.row.time;
        let (from, to) = match self.runs.as_slice() {
            [.., before, last] if rests => (*before, *last),
            _ if end < self.stated * (1.0 - NEAR) => return None,
            _ => {
                let half = self.half(end).0.min(end - self.stated);
                (self.stated - half, self.stated + half)
            }
        };
        over(&self.states, from, to)
    }
}

/// The average of states, straight lines between them, over a time.
fn over(states: &[State], from: f64, to: f64) -> Option<Average> {
    if to - from <= NEAR * to {
        return None;
    }
    let mut sum: Option<State> = None;
    let mut span: Option<(f64, f64)> = None;
    for (one, other) in states.iter().zip(states.iter().skip(1)) {
        let (start, end) = (one.row.time.max(from), other.row.time.min(to));
        let length = other.row.time - one.row.time;
        if end <= start || length <= 0.0 {
            continue;
        }
        // Straight lines have their average in the middle.
        let share = (0.5 * (start + end) - one.row.time) / length;
        let weight = (end - start) / (to - from);
        for (state, part) in [(one, 1.0 - share), (other, share)] {
            add(sum.get_or_insert_with(|| nothing(state)), state, part * weight);
            if let Some(extent) = state.row.extents.first() {
                let (least, most) = span.unwrap_or((*extent, *extent));
                span = Some((least.min(*extent), most.max(*extent)));
            }
        }
    }
    sum.map(|state| Average { state, span })
}

fn nothing(like: &State) -> State {
    let none = |list: &[f64]| vec![0.0; list.len()];
    State {
        row: Row { time: 0.0, t: 0.0, volume: 0.0, water: 0.0, taken: 0.0, extents: none(&like.row.extents), count: 0.0 },
        flask: none(&like.flask),
        apart: none(&like.apart),
        passed: none(&like.passed),
        vapour: none(&like.vapour),
    }
}

fn add(sum: &mut State, state: &State, weight: f64) {
    let figures = |state: &State| [state.row.time, state.row.t, state.row.volume, state.row.water, state.row.taken];
    let own = [&mut sum.row.time, &mut sum.row.t, &mut sum.row.volume, &mut sum.row.water, &mut sum.row.taken];
    own.into_iter().zip(figures(state)).for_each(|(sum, figure)| *sum += weight * figure);
    let lists = [
        (&mut sum.row.extents, &state.row.extents),
        (&mut sum.flask, &state.flask),
        (&mut sum.apart, &state.apart),
        (&mut sum.passed, &state.passed),
        (&mut sum.vapour, &state.vapour),
    ];
    for (sum, own) in lists {
        sum.iter_mut().zip(own).for_each(|(sum, own)| *sum += weight * own);
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests {
    use super::super::super::close;
    use super::*;

    fn state(time: f64, extent: f64) -> State {
        let row = Row { time, t: 350.0, volume: 1.0, water: 1.0 - extent, taken: 0.0, extents: vec![extent], count: 0.0 };
        State { row, flask: vec![extent, 1.0 - extent], apart: vec![0.0; 2], passed: vec![0.0; 2], vapour: vec![0.5; 2] }
    }

    /// A saw of period 10 whose tooth goes from 0 to 1, begun at -`late`.
    fn saw(stated: f64, late: f64) -> Cycle {
        let mut cycle = Cycle::new(stated, &state(0.0, late / 10.0));
        let mut now = 0.0;
        while !cycle.is_complete() || now < stated {
            let next = 10.0 - (now + late) % 10.0;
            let step = f64::min(1.0, next);
            now += step;
            let tooth = (now + late) % 10.0 / 10.0;
            if step == next {
                cycle.note(&state(now, 1.0));
                cycle.runs_over(now);
                cycle.note(&state(now, 0.0));
            } else {
                cycle.note(&state(now, tooth));
            }
        }
        cycle
    }

    #[test]
    fn where_in_its_filling_the_extractor_is_does_not_matter() {
        for late in [0.0, 1.0, 4.0, 7.5, 9.0] {
            let average = saw(43.0, late).average(false).unwrap();
            close("the middle of a tooth", average.state.row.extents[0], 0.5, 1e-9);
            close("what is there", average.state.flask.iter().sum::<f64>(), 1.0, 1e-12);
            close("around the stated time", average.state.row.time, 43.0, 1e-9);
            let (least, most) = average.span.unwrap();
            close("the root of a tooth", least, 0.0, 1e-9);
            close("its tip", most, 1.0, 1e-9);
        }
    }

    #[test]
    fn what_is_there_is_all_there_where_a_short_filling_comes_before_a_long_one() {
        let mut cycle = Cycle::new(20.5, &state(0.0, 0.0));
        for (runs, step) in [(2.0, 1.0), (18.0, 1.0), (20.0, 1.0), (60.0, 4.0)] {
            let mut now = cycle.states.last().unwrap().row.time;
            while now < runs {
                now += step;
                cycle.note(&state(now, 0.5));
            }
            cycle.runs_over(now);
            cycle.note(&state(now, 0.0));
        }
        assert!(cycle.is_complete());
        let average = cycle.average(false).unwrap();
        close("what is there", average.state.flask.iter().sum::<f64>(), 1.0, 1e-12);
        close("its temperature", average.state.row.t, 350.0, 1e-9);
        close("around the stated time", average.state.row.time, 20.5, 1e-9);
    }

    #[test]
    fn what_comes_after_the_average_is_not_remembered() {
        let mut cycle = saw(43.0, 1.0);
        let (seen, average) = (cycle.states.len(), cycle.average(false).unwrap());
        for late in 0..50 {
            cycle.note(&state(60.0 + f64::from(late), 0.3));
            cycle.runs_over(60.0 + f64::from(late));
        }
        assert_eq!(cycle.states.len(), seen);
        assert_eq!(cycle.average(false).unwrap().state, average.state);
    }

    #[test]
    fn before_the_siphon_has_run_over_it_stands_as_it_stands() {
        let cycle = saw(7.0, 0.0);
        assert!(cycle.average(false).is_none());
        // Just after it has, hardly anything is averaged.
        close("after the first", saw(10.5, 0.0).average(false).unwrap().state.row.extents[0], 0.05, 1e-9);
    }
}
