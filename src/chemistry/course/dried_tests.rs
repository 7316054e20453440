#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use super::super::reaction::tests::Dice;
use super::super::reaction::{Ends, Rate};
use super::*;
use crate::chemistry::close;
use crate::chemistry::course::flask::Over;

/// Substances with constant volatilities, all in one liquid.
pub(in crate::chemistry::course) struct Plain(pub Vec<f64>);

impl Equilibria for Plain {
    fn vapour(&mut self, n: &[f64]) -> Result<Over, SolveError> {
        let pull: Vec<f64> = n.iter().zip(&self.0).map(|(n, own)| n * own).collect();
        let whole: f64 = pull.iter().sum();
        if whole <= 0.0 {
            return Err(SolveError::BadInput { what: "Nothing boils.".to_owned() });
        }
        Ok(Over { t: 350.0, y: pull.iter().map(|pull| pull / whole).collect(), gammas: vec![0.0; n.len()] })
    }

    fn liquids(&mut self, n: &[f64], _: f64) -> Result<Vec<Vec<f64>>, SolveError> {
        Ok(vec![n.to_vec()])
    }
}

/// Acid, alcohol, ester, water, carrier.
fn substances() -> Substances {
    Substances {
        volumes: vec![5.7e-5, 9e-5, 1.3e-4, 1.8e-5, 1.1e-4],
        latent: vec![40e3, 45e3, 38e3, 40.7e3, 30e3],
        masses: vec![0.060, 0.074, 0.116, 0.018, 0.084],
        water: 3,
    }
}

fn esterification(rate: Option<Rate>) -> Vec<Reaction> {
    vec![Reaction { nu: vec![-1.0, -1.0, 1.0, 1.0, 0.0], ends: Ends::Ratio(4.0), rate }]
}

const CHARGE: [f64; 5] = [1.0, 1.0, 0.0, 0.0, 1.5];

fn bed(capacity: f64) -> Bed {
    Bed { capacity, time: 600.0, siphon: Some(6e-5), keeps: 1e-5 }
}

fn asked<'a>(charge: &'a [f64], reactions: &'a [Reaction], substances: &'a Substances, bed: Bed, hours: f64, finer: f64) -> Question<'a> {
    Question { charge, reactions, substances, heating: Heating::Flow(1e-7), bed, time: hours * 3600.0, stated: hours * 3600.0, finer }
}

fn volatilities() -> Plain {
    Plain(vec![0.0, 0.2, 0.05, 5.0, 1.0])
}

/// With room for all the water it ends at one mole of ester, with room for less at the equilibrium of what is
/// left, and without a bed at two thirds.
#[test]
fn any_time_gives_what_the_balance_allows() {
    let (substances, reactions) = (substances(), esterification(None));
    for (capacity, ester) in [(5.0, 1.0), (0.4, 0.0), (0.0, 2.0 / 3.0)] {
        // Nothing is on its way: it runs through the bed and back.
        let small = Bed { siphon: None, ..bed(capacity) };
        let course = follow(&asked(&CHARGE, &reactions, &substances, small, 150.0, 1.0), &mut volatilities()).unwrap();
        let last = course.rows.last().unwrap();
        let wanted = if ester > 0.0 {
            ester
        } else {
            // x² = 4 (1 − x)(1 − x) with water x − 0.4.
            let (a, b, c) = (3.0, -(8.0 - 0.4), 4.0);
            (-b - f64::sqrt(b * b - 4.0 * a * c)) / (2.0 * a)
        };
        close("ester, mol", course.reach_extents[0], wanted, 1e-6);
        close("followed", last.extents[0], wanted, 0.01);
        close("on the bed", last.taken, course.reach, 0.003);
        assert!(capacity > 0.0 || course.rest.is_some());
    }
}

#[test]
fn finer_steps_change_little() {
    let substances = substances();
    let rate = Rate { constant: 3e-8, t: 350.0, energy: 6e4, catalyst: None };
    for reactions in [esterification(None), esterification(Some(rate)), esterification(Some(Rate { constant: 1e-3, ..rate }))] {
        for hours in [0.5, 2.0, 5.0] {
            let at = |finer: f64| follow(&asked(&CHARGE, &reactions, &substances, bed(1.2), hours, finer), &mut volatilities()).unwrap();
            let (coarse, fine) = (at(1.0), at(4.0));
            let (coarse, fine) = (&coarse.stated.row, &fine.stated.row);
            close("ester, of 1 mol", coarse.extents[0], fine.extents[0], 0.005);
            close("water, of 1 mol", coarse.taken, fine.taken, 0.005);
        }
    }
}

/// Acid parts, alcohol parts, water and what is made of it, and the mass close, whatever the charge.
#[test]
fn amounts_close() {
    let mut dice = Dice(41);
    let substances = substances();
    let mut answered = 0;
    for round in 0..80 {
        let charge: Vec<f64> = (0..5).map(|_| if dice.roll() < 0.2 { 0.0 } else { 10f64.powf(3.0 * dice.roll() - 2.0) }).collect();
        let rate =
            (dice.roll() < 0.5).then(|| Rate { constant: 10f64.powf(6.0 * dice.roll() - 9.0), t: 350.0, energy: 6e4, catalyst: None });
        let reactions = esterification(rate);
        let own = Bed {
            capacity: dice.roll(),
            time: 10f64.powf(2.0 * dice.roll() + 1.0),
            siphon: (dice.roll() < 0.7).then(|| 2e-5 + 1e-4 * dice.roll()),
            keeps: 1e-5 * dice.roll(),
        };
        let mut volatile = Plain((0..5).map(|at| if at == 0 { 0.0 } else { 10f64.powf(3.0 * dice.roll() - 1.5) }).collect());
        let question = asked(&charge, &reactions, &substances, own, 1.0 + 4.0 * dice.roll(), 1.0);
        let Ok(course) = follow(&question, &mut volatile) else { continue };
        answered += 1;
        let last = course.rows.last().unwrap();
        let end: Vec<f64> = course
            .end
            .flask
            .iter()
            .zip(&course.end.apart)
            .enumerate()
            .map(|(at, (a, b))| a + b + if at == 3 { last.taken } else { 0.0 })
            .collect();
        assert!(end.iter().all(|n| n.is_finite() && *n >= 0.0), "round {round}: {end:?}");
        for (at, sign) in [(0, 1.0), (1, 1.0), (2, -1.0), (3, -1.0), (4, 0.0)] {
            close("moved by the reaction", charge[at] - end[at], sign * last.extents[0], 1e-9);
        }
        close("mass", substances.mass(&end) / substances.mass(&charge), 1.0, 1e-9);
        assert!(last.taken <= own.capacity * (1.0 + 1e-12));
    }
    assert!(answered > 50, "{answered} of 80");
}

/// So much goes over in so much time: the siphon runs over that often.
#[test]
fn the_siphon_is_counted() {
    let (substances, reactions) = (substances(), Vec::new());
    // A little water that hardly goes over keeps the course going.
    let charge = [0.0, 0.0, 0.0, 0.5, 3.0];
    let mut volatile = Plain(vec![0.0, 0.0, 0.0, 0.1, 1.0]);
    let course = follow(&asked(&charge, &reactions, &substances, bed(1.0), 5.0, 1.0), &mut volatile).unwrap();
    let flowed: f64 = 1e-7 * 5.0 * 3600.0;
    // The first filling takes 60 mL, the others 50, since 10 stay.
    let wanted = ((flowed - 6e-5) / 5e-5 + 1.0).floor();
    close("cycles", course.stated.row.count, wanted, 1.0);
    // On average over the filling around that time.
    close("gone over", substances.volume(&course.stated.passed), flowed, 1e-3 * flowed);
    assert!(course.least.0 > 2.6e-4 && course.least.0 < 2.8e-4, "{:?}", course.least);
}

#[test]
fn a_flask_that_holds_too_little_runs_dry() {
    let (substances, reactions) = (substances(), Vec::new());
    let course = follow(&asked(&[1.0, 0.0, 0.0, 0.0, 0.4], &reactions, &substances, bed(1.0), 5.0, 1.0), &mut volatilities()).unwrap();
    assert!(course.ran_dry);
    assert!(follow(&asked(&[1.0, 0.0, 0.0, 0.0, 0.0], &reactions, &substances, bed(1.0), 5.0, 1.0), &mut volatilities()).is_err());
    assert!(follow(&asked(&[1.0; 4], &reactions, &substances, bed(1.0), 5.0, 1.0), &mut volatilities()).is_err());
}

#[test]
fn times_are_read_between_rows() {
    let row = |time: f64, taken: f64| Row { time, t: 0.0, volume: 0.0, water: 0.0, taken, extents: Vec::new(), count: 0.0 };
    let rows = [row(0.0, 0.0), row(100.0, 0.5), row(200.0, 1.0)];
    assert_eq!(hours_to(&rows, 0.9, |row| row.taken, 1.0), Some(180.0));
    assert_eq!(hours_to(&rows, 0.9, |row| row.taken, 2.0), None);
}
