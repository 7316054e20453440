#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use super::super::dried::tests::Plain;
use super::super::flask::Over;
use super::super::reaction::Ends;
use super::super::reaction::tests::Dice;
use super::*;
use crate::chemistry::close;

/// Constant volatilities in the flask; in the trap water keeps a share of each, and a share of it stays outside.
struct Parting(Plain);

/// What of each substance goes with the water, and what of the water does not.
const WITH: [f64; 5] = [0.6, 0.08, 0.01, 0.99, 0.001];

impl Equilibria for Parting {
    fn vapour(&mut self, n: &[f64]) -> Result<Over, SolveError> {
        self.0.vapour(n)
    }

    fn liquids(&mut self, n: &[f64], _: f64) -> Result<Vec<Vec<f64>>, SolveError> {
        let with: Vec<f64> = n.iter().zip(&WITH).map(|(n, share)| n * share).collect();
        let without = n.iter().zip(&with).map(|(n, with)| n - with).collect();
        Ok(vec![without, with])
    }
}

fn parting() -> Parting {
    Parting(Plain(vec![0.05, 0.2, 0.05, 5.0, 1.0]))
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

fn asked<'a>(charge: &'a [f64], reactions: &'a [Reaction], substances: &'a Substances, hours: f64, finer: f64) -> Question<'a> {
    let heating = Heating::Power(40.0);
    Question {
        charge,
        reactions,
        substances,
        heating,
        size: 2e-5,
        t: 298.15,
        leaves: Leaves::Watery,
        time: hours * 3600.0,
        stated: hours * 3600.0,
        finer,
    }
}

fn esterification() -> Vec<Reaction> {
    vec![Reaction { nu: vec![-1.0, -1.0, 1.0, 1.0, 0.0], ends: Ends::Ratio(4.0), rate: None }]
}

const CHARGE: [f64; 5] = [1.0, 1.1, 0.0, 0.0, 1.5];

/// The water comes over, with what it dissolves, so that more is read than was made.
#[test]
fn more_is_read_than_is_made() {
    let (substances, reactions) = (substances(), esterification());
    let course = follow(&asked(&CHARGE, &reactions, &substances, 40.0, 1.0), &mut parting()).unwrap();
    let last = course.rows.last().unwrap();
    assert!(course.parts && !course.ran_dry && last.extents[0] > 0.9, "{last:?}");
    assert!(last.count > last.taken * 1.8e-5 * 1.02, "read {} for {} mol", last.count, last.taken);
    // The trap holds its size, and no more.
    close("standing", substances.volume(&course.end.apart), 2e-5 - last.count.min(2.0 / 3.0 * 2e-5), 1e-9);
}

#[test]
fn amounts_close_and_finer_steps_change_little() {
    let mut dice = Dice(9);
    let (substances, reactions) = (substances(), esterification());
    for _ in 0..20 {
        let charge: Vec<f64> = CHARGE.iter().map(|n| n * (0.3 + 1.5 * dice.roll()) + 0.01).collect();
        let at = |finer: f64| follow(&asked(&charge, &reactions, &substances, 4.0, finer), &mut parting()).unwrap();
        let (coarse, fine) = (at(1.0), at(4.0));
        let (one, other) = (coarse.rows.last().unwrap(), fine.rows.last().unwrap());
        let water = charge[0].min(charge[1]) + charge[3];
        close("water parted, share", one.taken / water, other.taken / water, 0.01);
        close("ester, share", one.extents[0] / water, other.extents[0] / water, 0.01);
        for (at, sign) in [(0, 1.0), (1, 1.0), (2, -1.0), (3, -1.0), (4, 0.0)] {
            let end = coarse.end.flask[at] + coarse.end.apart[at] + coarse.end.passed[at];
            close("moved by the reaction", charge[at] - end, sign * one.extents[0], 1e-9);
        }
    }
}

/// Where nothing parts nothing is taken, and it comes to the equilibrium of the flask.
#[test]
fn a_condensate_that_does_not_part_takes_nothing() {
    let (substances, reactions) = (substances(), esterification());
    let mut plain = Plain(vec![0.05, 0.2, 0.05, 5.0, 1.0]);
    let course = follow(&asked(&CHARGE, &reactions, &substances, 20.0, 1.0), &mut plain).unwrap();
    assert!(!course.parts && course.rest.is_some());
    assert_eq!(course.rows.last().unwrap().taken, 0.0);
}

#[test]
fn the_layer_named_leaves() {
    let substances = substances();
    let liquids = [vec![0.0, 0.1, 0.0, 0.1, 1.0], vec![0.0, 0.0, 0.0, 1.0, 0.0]];
    let settled = |liquids: &[Vec<f64>], leaves| settled(liquids, leaves, &substances);
    assert_eq!(settled(&liquids, Leaves::Watery), [0.0, 1.0]);
    assert_eq!(settled(&liquids, Leaves::Lower), [0.0, 1.0]);
    assert_eq!(settled(&liquids, Leaves::Upper), [1.0, 0.0]);
    assert_eq!(settled(&liquids[..1], Leaves::Upper), [0.0]);
    assert!(follow(&Question { size: 0.0, ..asked(&CHARGE, &[], &substances, 1.0, 1.0) }, &mut parting()).is_err());
}
