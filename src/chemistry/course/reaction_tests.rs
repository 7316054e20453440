#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use super::*;
use crate::chemistry::close;

/// Acid, alcohol, ester, water.
fn ester(k: f64) -> Reaction {
    Reaction { nu: vec![-1.0, -1.0, 1.0, 1.0], ends: Ends::Ratio(k), rate: None }
}

fn one(mut n: [f64; 4], k: f64, besides: Option<Besides>) -> f64 {
    equilibrium(&mut n, &[ester(k)], besides, &mut ideal).unwrap()[0]
}

/// Published exercises: equal moles (Lehman's text: "at most 67 %"), water held by a desiccant (chim.lu,
/// exercise 6), 99 % of the water carried off (worked out by hand from the quadratic equation).
#[test]
fn common_practice() {
    close("equal moles, K 4, %", 100.0 * one([1.0, 1.0, 0.0, 0.0], 4.0, None), 200.0 / 3.0, 1e-9);
    close("equal moles, K 4.2, %", 100.0 * one([1.0, 1.0, 0.0, 0.0], 4.2, None), 67.2, 0.3);
    close("water held at 0.2 mol", one([1.0, 3.0, 0.0, 0.0], 3.0, Some(Besides::Held(3, 0.2))), 0.968, 0.001);
    close("99 % of the water gone, %", 100.0 * one([1.0, 1.0, 0.0, 0.0], 4.0, Some(Besides::Kept(3, 0.01))), 95.2, 0.1);
}

/// Numbers between 0 and 1 that are the same each time.
pub(in crate::chemistry::course) struct Dice(pub u64);

impl Dice {
    pub(in crate::chemistry::course) fn roll(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// A diacid and an alcohol over the half ester to the ester, a second alcohol that takes its place: diacid,
/// alcohol, half ester, ester, water, other alcohol, mixed ester, diluent.
fn network(dice: &mut Dice) -> Vec<Reaction> {
    let mut k = || 10f64.powf(6.0 * dice.roll() - 3.0);
    [[-1.0, -1.0, 1.0, 0.0, 1.0, 0.0, 0.0, 0.0], [0.0, -1.0, -1.0, 1.0, 1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, -1.0, 0.0, -1.0, 1.0, 0.0]]
        .map(|nu| Reaction { nu: nu.to_vec(), ends: Ends::Ratio(k()), rate: None })
        .to_vec()
}

/// Three reactions over four orders of magnitude of charge: every constant met, nothing below zero, and both
/// conserved sums (acid parts, alcohol parts) close.
#[test]
fn several_at_once() {
    let mut dice = Dice(0x9e37_79b9_7f4a_7c15);
    for round in 0..500 {
        let reactions = network(&mut dice);
        let n0: Vec<f64> = (0..8).map(|at| if at < 2 || dice.roll() < 0.5 { 10f64.powf(4.0 * dice.roll() - 2.0) } else { 0.0 }).collect();
        let mut n = n0.clone();
        equilibrium(&mut n, &reactions, None, &mut ideal).unwrap_or_else(|error| panic!("round {round}: {error}"));
        for reaction in &reactions {
            if can_go(&n, reaction) {
                close("ln K", quotient(&n, reaction), constant(reaction.ends).ln(), 1e-6);
            }
        }
        let acid = |n: &[f64]| n[0] + n[2] + n[3] + n[6];
        let alcohol = |n: &[f64]| n[1] + n[2] + 2.0 * n[3] + n[6];
        close("acid", acid(&n) / acid(&n0), 1.0, 1e-12);
        close("alcohol", alcohol(&n) / alcohol(&n0), 1.0, 1e-12);
    }
}

/// The same equation twice with one constant is one reaction; with two it has no answer.
#[test]
fn reactions_that_depend_on_each_other() {
    let mut n = [1.0, 1.0, 0.0, 0.0];
    let twice = equilibrium(&mut n.clone(), &[ester(4.0), ester(4.0)], None, &mut ideal).unwrap();
    close("both", twice[0] + twice[1], 2.0 / 3.0, 1e-9);
    assert!(matches!(equilibrium(&mut n, &[ester(4.0), ester(9.0)], None, &mut ideal), Err(SolveError::NoConvergence { .. })));
}

/// With activity coefficients that depend on composition the quotient of activities is the constant.
#[test]
fn in_activities() {
    let mut reaction = ester(0.0);
    for k in [0.01, 1.0, 4.2, 50.0] {
        reaction.ends = Ends::Activity(k);
        // Water against all else, as in a Margules equation with A = 1.5.
        let mut activities = |n: &[f64]| {
            let water = n[3] / n.iter().sum::<f64>();
            let other = 1.5 * water * water;
            Ok(vec![other, other, other, 1.5 * (1.0 - water) * (1.0 - water)])
        };
        let mut n = [1.0, 1.3, 0.0, 0.2];
        equilibrium(&mut n, std::slice::from_ref(&reaction), None, &mut activities).unwrap();
        let gammas = activities(&n).unwrap();
        close("ln K", quotient(&n, &reaction) + lift(&reaction, &gammas), k.ln(), 1e-8);
    }
}

const PLACE: Where<'_> = Where { t: 353.15, volumes: &[1e-4; 4], gammas: &[0.0; 4] };

fn timed(k: f64, constant: f64) -> Reaction {
    let rate = Rate { constant, t: 353.15, energy: 60_000.0, catalyst: None };
    Reaction { rate: Some(rate), ..ester(k) }
}

/// Both reactants alike and no way back: `c = c0 / (1 + k c0 t)`, known to every textbook.
#[test]
fn second_order() {
    for (k, time) in [(1e-8, 3600.0), (1e-6, 3600.0), (1e-3, 3600.0), (1e-6, 1e6)] {
        let mut n = [1.0, 1.0, 0.0, 0.0];
        proceed(&mut n, &[timed(1e30, k)], PLACE, time).unwrap();
        // 1 mol in 2e-4 m³ is 5000 mol/m³.
        close("left", n[0], 1.0 / (1.0 + k * 5000.0 * time), 2e-5);
        close("atoms", n[0] + n[2], 1.0, 1e-12);
    }
}

#[test]
fn warmer_is_faster() {
    let mut n = [1.0, 1.0, 0.0, 0.0];
    let t = 363.15_f64;
    proceed(&mut n, &[timed(1e30, 1e-8)], Where { t, ..PLACE }, 3600.0).unwrap();
    let k = 1e-8 * (60_000.0 / R * (1.0 / 353.15 - 1.0 / t)).exp();
    close("left", n[0], 1.0 / (1.0 + k * 5000.0 * 3600.0), 2e-5);
    // Half the catalyst, half the speed; none, none at all.
    let rate = Rate { constant: 1e-8, t: 353.15, energy: 0.0, catalyst: Some((2, 1.0)) };
    let reaction = Reaction { nu: vec![-1.0, -1.0, 0.0, 2.0], ends: Ends::Ratio(1e30), rate: Some(rate) };
    let gone = |catalyst: f64| proceed(&mut [1.0, 1.0, catalyst, 0.0], std::slice::from_ref(&reaction), PLACE, 1.0).unwrap()[0];
    close("twice the catalyst", gone(0.002) / gone(0.001), 2.0, 0.002);
    assert_eq!(gone(0.0), 0.0);
}

/// Given time, it comes to the equilibrium from either side; one stretch of time is as good as a hundred.
#[test]
fn time_leads_to_equilibrium() {
    let mut dice = Dice(77);
    for _ in 0..200 {
        let k = 10f64.powf(8.0 * dice.roll() - 4.0);
        let n0: Vec<f64> = (0..4).map(|_| 10f64.powf(3.0 * dice.roll() - 2.0)).collect();
        let rest = equilibrium(&mut n0.clone(), &[timed(k, 1.0)], None, &mut ideal).unwrap()[0];
        let mut n = n0.clone();
        let gone = proceed(&mut n, &[timed(k, 1e-3)], PLACE, 1e6).unwrap()[0];
        let whole: f64 = n0.iter().sum();
        close("at rest", gone / whole, rest / whole, 1e-5);
        let (mut once, mut often) = (n0.clone(), n0.clone());
        let reaction = [timed(k, 1e-6)];
        proceed(&mut once, &reaction, PLACE, 500.0).unwrap();
        for _ in 0..100 {
            proceed(&mut often, &reaction, PLACE, 5.0).unwrap();
        }
        close("step", once[0] / whole, often[0] / whole, 2e-5);
        close("atoms", (once[0] + once[2]) / (n0[0] + n0[2]), 1.0, 1e-9);
    }
}

#[test]
fn bad_questions_are_refused() {
    let bad = |n: &[f64], reaction: Reaction| {
        assert!(matches!(equilibrium(&mut n.to_vec(), &[reaction], None, &mut ideal), Err(SolveError::BadInput { .. })));
    };
    bad(&[1.0; 3], ester(4.0));
    bad(&[1.0, -1.0, 0.0, 0.0], ester(4.0));
    bad(&[1.0, f64::NAN, 0.0, 0.0], ester(4.0));
    bad(&[1.0; 4], ester(0.0));
    assert!(proceed(&mut [1.0; 4], &[timed(4.0, 1.0)], PLACE, -1.0).is_err());
    assert!(proceed(&mut [1.0; 4], &[timed(4.0, 1.0)], Where { volumes: &[], ..PLACE }, 1.0).is_err());
}
