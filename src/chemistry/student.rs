//! Coverage factors from Student's distribution (JCGM 100:2008, annex G), and means of few runs set against each other.

use std::f64::consts::FRAC_PI_2;

/// The level of confidence at which a normal distribution has the coverage factor 2, so that what is known from many
/// readings has the factor that is used elsewhere (JCGM 100, table G.2).
pub const LEVEL: f64 = 0.954_5;
/// With more degrees of freedom than this the distribution is taken as normal, whose factor then is 2.
const MANY: f64 = 1e4;
/// Cells of a sum over the distribution.
const CELLS: u32 = 800;
/// How many runs of each way are thought of at the most. Our own figure.
const MOST_RUNS: u32 = 100;

/// The coverage factor for a level of [`LEVEL`] with so many degrees of freedom, which need not be whole (G.4.1 lets a
/// factor be had between whole numbers); below one it is not known.
#[must_use]
pub fn factor(freedom: f64) -> Option<f64> {
    if freedom.is_nan() || freedom < 1.0 {
        return None;
    }
    if freedom > MANY {
        return Some(super::uncertainty::COVERAGE);
    }
    // With t = √ν tan θ the distribution is that of cos^(ν-1) θ.
    let density = |angle: f64| angle.cos().max(0.0).powf(freedom - 1.0);
    let below = |angle: f64| {
        let step = angle / f64::from(CELLS);
        let inner: f64 = (1..CELLS).map(|cell| density(step * f64::from(cell)) * if cell % 2 == 1 { 4.0 } else { 2.0 }).sum();
        (density(0.0) + inner + density(angle)) * step / 3.0
    };
    let wanted = LEVEL * below(FRAC_PI_2);
    let (mut low, mut high) = (0.0, FRAC_PI_2);
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if below(middle) < wanted { low = middle } else { high = middle }
    }
    Some(freedom.sqrt() * (0.5 * (low + high)).tan())
}

/// What some runs of one way come to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mean {
    /// How many runs.
    pub runs: usize,
    /// Their mean.
    pub value: f64,
    /// Standard deviation of one run, where there are several.
    pub scatter: Option<f64>,
    /// Standard uncertainty of the mean.
    pub standard: f64,
    /// Its degrees of freedom; `None` where it comes from what is known of the readings, and is taken as exact.
    pub freedom: Option<f64>,
}

impl Mean {
    /// The mean of runs, each with its own standard uncertainty. The scatter of the runs holds what their readings bring, so
    /// the two are not added (JCGM 100, 4.3.10); the larger counts, since few runs may agree by chance.
    #[must_use]
    pub fn of(runs: &[(f64, f64)]) -> Option<Self> {
        let count = runs.len();
        let known = super::uncertainty::together(&runs.iter().map(|(_, standard)| *standard).collect::<Vec<_>>()) / count as f64;
        let values: Vec<f64> = runs.iter().map(|(value, _)| *value).collect();
        let Some((value, scatter, of_mean)) = super::uncertainty::repeated(&values) else {
            let (value, standard) = *runs.first()?;
            return Some(Self { runs: 1, value, scatter: None, standard, freedom: None });
        };
        let freedom = (of_mean > known).then_some(count as f64 - 1.0);
        Some(Self { runs: count, value, scatter: Some(scatter), standard: of_mean.max(known), freedom })
    }

    /// The same for a single run that is taken to scatter as others do: with so large a standard deviation and so many degrees
    /// of freedom of it.
    #[must_use]
    fn scattering(self, scatter: f64, freedom: f64) -> Self {
        if self.runs > 1 || scatter <= self.standard { self } else { Self { standard: scatter, freedom: Some(freedom), ..self } }
    }
}

/// Two means against each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Against {
    /// The second less the first.
    pub difference: f64,
    /// The standard uncertainty of that.
    pub standard: f64,
    /// Effective degrees of freedom by Welch and Satterthwaite (G.4.1); `None` where both are taken as exact.
    pub freedom: Option<f64>,
    /// The coverage factor.
    pub factor: f64,
    /// Whether the scatter of one stands for that of the other, which was done once.
    pub borrowed: bool,
    /// Runs of each way that would tell them apart, where these do not: if the difference stays and the runs go on
    /// scattering as they did. `None` where these tell, where no scatter is known, or where even a hundred would not do.
    pub runs_needed: Option<usize>,
}

impl Against {
    /// The expanded uncertainty of the difference.
    #[must_use]
    pub fn expanded(&self) -> f64 {
        self.factor * self.standard
    }

    /// Whether the difference is more than that.
    #[must_use]
    pub fn beyond(&self) -> bool {
        self.difference.abs() > self.expanded()
    }
}

/// Sets two means against each other. Where only one of them is of several runs, the other is taken to scatter alike.
#[must_use]
pub fn against(one: &Mean, other: &Mean) -> Option<Against> {
    let freedom_of = |mean: &Mean| (mean.runs as f64 - 1.0).max(1.0);
    let (first, second) = match (one.scatter, other.scatter) {
        (Some(scatter), None) => (*one, other.scattering(scatter, freedom_of(one))),
        (None, Some(scatter)) => (one.scattering(scatter, freedom_of(other)), *other),
        _ => (*one, *other),
    };
    let borrowed = first != *one || second != *other;
    let standard = super::uncertainty::together(&[first.standard, second.standard]);
    // A scatter that serves twice is known no better for it: its degrees of freedom stay those of the runs that showed it.
    let freedom = if borrowed {
        [first.freedom, second.freedom].into_iter().flatten().reduce(f64::min)
    } else {
        super::uncertainty::effective(standard, &[(first.standard, first.freedom), (second.standard, second.freedom)])
    };
    let factor = freedom.map_or(Some(super::uncertainty::COVERAGE), factor)?;
    let mut found = Against { difference: second.value - first.value, standard, freedom, factor, borrowed, runs_needed: None };
    if !found.beyond() {
        let scatters: Vec<f64> = [one.scatter, other.scatter].into_iter().flatten().collect();
        found.runs_needed = needed(found.difference, &scatters, one.runs.max(other.runs));
    }
    Some(found)
}

/// The least number of runs of each way, beyond those there are, at which a difference is more than the expanded uncertainty of two means:
/// t(2n - 2) s √(2/n) < |d|, with the mean square of the standard deviations that were seen. Our own formula, from the
/// coverage factor above; it counts on these staying as they are.
fn needed(difference: f64, scatters: &[f64], has: usize) -> Option<usize> {
    if scatters.is_empty() {
        return None;
    }
    let scatter = (scatters.iter().map(|scatter| scatter * scatter).sum::<f64>() / scatters.len() as f64).sqrt();
    let first = u32::try_from(has).ok()?.max(2);
    let tells = |runs: &u32| {
        let count = f64::from(*runs);
        factor(2.0 * count - 2.0).is_some_and(|factor| factor * scatter * (2.0 / count).sqrt() < difference.abs())
    };
    (first..=MOST_RUNS).find(tells).and_then(|runs| usize::try_from(runs).ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_factor_is_that_of_the_table() {
        // JCGM 100:2008, table G.2, column 95.45 %.
        let table = [(1.0, 13.97), (2.0, 4.53), (3.0, 3.31), (4.0, 2.87), (5.0, 2.65), (6.0, 2.52), (7.0, 2.43), (8.0, 2.37)];
        let more = [(9.0, 2.32), (10.0, 2.28), (15.0, 2.18), (20.0, 2.13), (30.0, 2.09), (50.0, 2.05), (100.0, 2.025)];
        for (freedom, wanted) in table.into_iter().chain(more) {
            let got = factor(freedom).unwrap_or(f64::NAN);
            assert!((got - wanted).abs() < 0.006, "{freedom}: {got} and not {wanted}");
        }
        assert!((factor(9e3).unwrap_or(0.0) - 2.0).abs() < 1e-3);
        assert_eq!((factor(0.5), factor(f64::NAN), factor(1e9)), (None, None, Some(2.0)));
    }

    #[test]
    fn scatter_and_readings_are_not_counted_twice() {
        let scattered = Mean::of(&[(0.85, 0.002), (0.83, 0.002)]).unwrap();
        assert!((scattered.standard - 0.01).abs() < 1e-12 && scattered.freedom == Some(1.0));
        // Two runs that agree by chance are no better than their readings.
        let agreeing = Mean::of(&[(0.85, 0.004), (0.85, 0.004)]).unwrap();
        assert!((agreeing.standard - 0.004 / 2.0_f64.sqrt()).abs() < 1e-12 && agreeing.freedom.is_none());
        assert_eq!(Mean::of(&[]), None);
    }

    #[test]
    fn few_runs_need_a_larger_difference() {
        let way = |values: &[f64]| Mean::of(&values.iter().map(|value| (*value, 0.002)).collect::<Vec<_>>()).unwrap();
        // Two runs of each, a standard deviation of 0.01 each: u = 0.01, 2 degrees of freedom, t = 4.53.
        let half = 0.01 / 2.0_f64.sqrt();
        let (one, other) = (way(&[0.80 - half, 0.80 + half]), way(&[0.83 - half, 0.83 + half]));
        let found = against(&one, &other).unwrap();
        assert!((found.difference - 0.03).abs() < 1e-12 && (found.standard - 0.01).abs() < 1e-12);
        assert!((found.freedom.unwrap() - 2.0).abs() < 1e-9 && (found.expanded() - 0.0453).abs() < 1e-4 && !found.beyond());
        // Three of each: t(4) = 2.87, and 2.87 × 0.01 × √(2/3) = 0.0234 < 0.03.
        assert_eq!(found.runs_needed, Some(3));
        let three = against(&way(&[0.79, 0.80, 0.81]), &way(&[0.82, 0.83, 0.84])).unwrap();
        assert!(three.beyond() && three.runs_needed.is_none(), "{three:?}");
    }

    #[test]
    fn one_run_is_taken_to_scatter_as_the_others_do() {
        let (two, single) = (Mean::of(&[(0.80, 0.003), (0.82, 0.003)]).unwrap(), Mean::of(&[(0.90, 0.003)]).unwrap());
        let found = against(&two, &single).unwrap();
        let scatter = 0.02 / 2.0_f64.sqrt();
        assert!(found.borrowed && (found.standard - scatter * 1.5_f64.sqrt()).abs() < 1e-12 && found.freedom == Some(1.0));
        // Two single runs: nothing is known but their readings.
        let pair = against(&Mean::of(&[(0.80, 0.003)]).unwrap(), &single).unwrap();
        assert!(pair.beyond() && !pair.borrowed && pair.factor == 2.0 && pair.freedom.is_none());
        let close = against(&Mean::of(&[(0.895, 0.003)]).unwrap(), &single).unwrap();
        assert!(!close.beyond() && close.runs_needed.is_none(), "no scatter is known");
    }
}
