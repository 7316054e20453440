//! Distilling against what can be worked out by hand, and against laws.

use proptest::prelude::*;
use scruple::chemistry::activity::{Activity, Tables};
use scruple::chemistry::distillation::{Column, Distilled, Ended, Still, distil, together};
use scruple::chemistry::phase::{Component, PhaseError, System};
use scruple::chemistry::vapour::VapourPressure;

use super::{ATM, ZERO, system};

/// An ideal mixture in which each substance is `volatility` times as volatile as the last, at every temperature.
fn constant(volatilities: &[f64]) -> System {
    let component = |volatility: &f64| {
        let a = 10.0 + volatility.log10();
        let vapour = VapourPressure::AntoineLog10 { a, b: 1800.0, c: 0.0, t_min: 200.0, t_max: 600.0 };
        Component { vapour: Some(vapour), dimer: None, molar_mass: 0.1 }
    };
    System::new(volatilities.iter().map(component).collect(), Activity::ideal(volatilities.len()))
}

struct Bench {
    system: System,
    p: f64,
    column: Column,
    held: f64,
    warmest: f64,
    tolerance: f64,
}

impl Bench {
    fn new(system: System) -> Bench {
        Bench { system, p: ATM, column: Column::default(), held: 0.03, warmest: f64::INFINITY, tolerance: 3e-5 }
    }

    fn try_distil(&self, charge: &[f64], ranges: &[(f64, f64)]) -> Result<Distilled, PhaseError> {
        let boil = |x: &[f64]| self.system.boil(x, self.p).map(|boil| (boil.t, boil.y));
        let molar_masses: Vec<f64> = self.system.components().iter().map(|component| component.molar_mass).collect();
        let still = Still {
            boil: &boil,
            corrections: &vec![0.0; charge.len()],
            molar_masses: &molar_masses,
            column: self.column,
            held: self.held,
            first: 0.0,
            warmest: self.warmest,
            tolerance: self.tolerance,
        };
        distil(still, charge, ranges)
    }

    fn distil(&self, charge: &[f64], ranges: &[(f64, f64)]) -> Distilled {
        self.try_distil(charge, ranges).unwrap()
    }
}

fn sum(moles: &[f64]) -> f64 {
    moles.iter().sum()
}

/// Share by mass of the component in `moles`.
fn by_mass(system: &System, moles: &[f64], component: usize) -> f64 {
    let masses: Vec<f64> = system.components().iter().zip(moles).map(|(component, moles)| component.molar_mass * moles).collect();
    masses[component] / sum(&masses)
}

#[test]
fn a_bare_still_keeps_to_rayleigh() {
    // With constant relative volatility ln(n1/n1₀) = α ln(n2/n2₀).
    for alpha in [1.2, 2.0, 5.0, 50.0] {
        let mut bench = Bench::new(constant(&[alpha, 1.0]));
        bench.held = 0.2;
        let charge = [0.4, 0.6];
        let run = bench.distil(&charge, &[]);
        let left = &run.residue;
        assert!((sum(left) - 0.2).abs() < 1e-9, "{left:?}");
        // The heavy one left, from the balance and the law, by halving.
        let (mut low, mut high) = (0.0, 0.2);
        for _ in 0..100 {
            let heavy = 0.5 * (low + high);
            let light = charge[0] * f64::powf(heavy / charge[1], alpha);
            if heavy + light < 0.2 { low = heavy } else { high = heavy }
        }
        assert!((left[1] - low).abs() < 1e-4, "{alpha}: {} against {low}", left[1]);
        assert_eq!(run.ended, Ended::Empty);
    }
}

#[test]
fn a_head_that_nobody_watches_changes_nothing_below_it() {
    let bench = Bench::new(system(&["methanol", "ethanol", "water"], Tables::Unifac));
    let charge = [0.2, 0.3, 0.5];
    let watched = bench.distil(&charge, &[]);
    let boil = |x: &[f64]| bench.system.boil(x, bench.p).map(|boil| (boil.t, boil.y));
    let molar_masses: Vec<f64> = bench.system.components().iter().map(|component| component.molar_mass).collect();
    let still = Still {
        boil: &boil,
        corrections: &[],
        molar_masses: &molar_masses,
        column: bench.column,
        held: bench.held,
        first: 0.0,
        warmest: bench.warmest,
        tolerance: bench.tolerance,
    };
    let alone = distil(still, &charge, &[]).unwrap();
    assert_eq!((&alone.residue, &alone.cuts[0].moles, alone.pot), (&watched.residue, &watched.cuts[0].moles, watched.pot));
    assert!(watched.cuts[0].head.is_some() && watched.course.len() > 2);
    assert!(alone.cuts[0].head.is_none() && alone.course.is_empty());
    // Without a thermometer nobody knows when to change the receiver.
    assert!(matches!(distil(still, &charge, &[(340.0, 350.0)]), Err(PhaseError::BadInput { .. })));
}

#[test]
fn total_reflux_keeps_to_fenske() {
    for (plates, alpha) in [(1.0, 2.0), (4.0, 2.0), (5.0, 1.3), (2.5, 1.5), (9.0, 1.2)] {
        let mut bench = Bench::new(constant(&[alpha, 1.0]));
        bench.column = Column { plates, reflux: None };
        bench.held = 0.999;
        let run = bench.distil(&[0.5, 0.5], &[]);
        let over = &run.cuts[0].moles;
        // The pot is one plate more. The pot changes a little while a thousandth comes over.
        let expected = f64::powf(alpha, plates + 1.0);
        let found = over[0] / over[1];
        assert!((found / expected - 1.0).abs() < 0.01, "{plates} plates, {alpha}: {found} against {expected}");
    }
}

/// The steps of McCabe and Thiele for a binary of constant relative volatility, from the top down: the pot that gives
/// `top` over so many plates.
fn stepped(top: f64, plates: usize, reflux: f64, alpha: f64) -> f64 {
    let liquid = |y: f64| y / (alpha - (alpha - 1.0) * y);
    let mut y = top;
    for _ in 0..plates {
        y = (reflux * liquid(y) + top) / (reflux + 1.0);
    }
    liquid(y)
}

#[test]
fn a_stated_reflux_keeps_to_steps_along_the_operating_line() {
    for (plates, reflux, alpha, pot) in [(3, 2.0, 2.0, 0.4), (8, 5.0, 1.5, 0.3), (10, 1.0, 3.0, 0.5), (1, 0.5, 2.0, 0.5)] {
        let mut bench = Bench::new(constant(&[alpha, 1.0]));
        bench.column = Column { plates: f64::from(plates), reflux: Some(reflux) };
        bench.held = 0.9999;
        let run = bench.distil(&[pot, 1.0 - pot], &[]);
        let over = &run.cuts[0].moles;
        let found = over[0] / sum(over);
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..100 {
            let top = 0.5 * (low + high);
            if stepped(top, plates as usize, reflux, alpha) < pot { low = top } else { high = top }
        }
        assert!((found - low).abs() < 1e-3, "{plates} plates, reflux {reflux}, {alpha}: {found} against {low}");
    }
}

#[test]
fn more_reflux_comes_near_to_total_reflux_and_none_is_a_bare_still() {
    let over = |column: Column| {
        let mut bench = Bench::new(constant(&[2.0, 1.0]));
        bench.column = column;
        bench.held = 0.7;
        let run = bench.distil(&[0.5, 0.5], &[]);
        by_mass(&bench.system, &run.cuts[0].moles, 0)
    };
    let bare = over(Column::default());
    let none = over(Column { plates: 5.0, reflux: Some(0.0) });
    let some: Vec<f64> = [0.5, 2.0, 10.0, 1000.0].map(|reflux| over(Column { plates: 5.0, reflux: Some(reflux) })).to_vec();
    let total = over(Column { plates: 5.0, reflux: None });
    assert!((bare - none).abs() < 1e-9);
    assert!(bare < some[0] && some[0] < some[1] && some[1] < some[2] && some[2] < some[3] && some[3] < total + 1e-9);
    assert!(total - some[3] < 1e-3);
}

#[test]
fn a_pure_liquid_comes_over_at_its_boiling_point() {
    let bench = Bench::new(system(&["toluene"], Tables::Unifac));
    let run = bench.distil(&[1.0], &[(ZERO + 110.0, ZERO + 111.5)]);
    let (first, last) = run.cuts[0].head.unwrap();
    assert!((first - last).abs() < 1e-6 && (first - (ZERO + 110.6)).abs() < 0.1, "{first} {last}");
    assert!((run.cuts[0].moles[0] - 0.97).abs() < 1e-6);
    assert!(run.forerun.head.is_none());
}

#[test]
fn no_column_gives_ethanol_stronger_than_its_azeotrope() {
    // Published: 95.6 % by mass boils together at 78.2 °C (Evans); the model by 0.2 % and 0.2 K otherwise.
    let system = system(&["ethanol", "water"], Tables::Unifac);
    let found = together(&system, 0, 1, ATM).unwrap();
    let azeotrope = by_mass(&system, &[found.x, 1.0 - found.x], 0);
    assert!((azeotrope - 0.956).abs() < 0.005 && (found.t - ZERO - 78.2).abs() < 0.3 && found.lowest, "{azeotrope} {found:?}");
    let mut last = 0.0;
    for plates in [0.0, 1.0, 3.0, 10.0, 30.0, 60.0] {
        let mut bench = Bench::new(system.clone());
        bench.column = Column { plates, reflux: None };
        bench.tolerance = 1e-3;
        let run = bench.distil(&[0.2, 0.8], &[(ZERO + 77.0, ZERO + 85.0)]);
        let share = by_mass(&system, &run.cuts[0].moles, 0);
        assert!(share <= azeotrope + 1e-6 && share >= last - 1e-3, "{plates}: {share}");
        last = share;
    }
    assert!(azeotrope - last < 0.01, "{last}");
}

#[test]
fn toluene_takes_water_over_as_two_liquids() {
    let bench = Bench::new(system(&["toluene", "water"], Tables::Unifac));
    let run = bench.distil(&[1.0, 0.3], &[(ZERO + 83.0, ZERO + 86.0), (ZERO + 109.0, ZERO + 112.0)]);
    // 19.6 to 20.2 % by mass of water comes over with toluene at 84 to 85 °C (handbook tables).
    let water = by_mass(&bench.system, &run.cuts[0].moles, 1);
    assert!((0.17..0.22).contains(&water), "{water}");
    assert!(run.cuts[0].moles[1] > 0.97 * 0.3, "{:?}", run.cuts[0].moles);
    assert!(by_mass(&bench.system, &run.cuts[1].moles, 0) > 0.999);
    assert!((run.cuts[0].head.unwrap().0 - ZERO - 84.4).abs() < 0.5);
}

#[test]
fn what_does_not_boil_stays_and_does_not_warm_the_head() {
    let mut components = system(&["acetone"], Tables::Unifac).components().to_vec();
    components.push(Component { vapour: None, dimer: None, molar_mass: 0.3 });
    let bench = Bench::new(System::new(components, Activity::ideal(2)));
    let run = bench.distil(&[0.8, 0.2], &[(ZERO + 55.0, ZERO + 57.5)]);
    assert_eq!(run.residue[1], 0.2);
    assert!((run.cuts[0].moles[0] - 0.97 * 0.8).abs() < 1e-6, "{run:?}");
    assert!(run.pot.1 > run.pot.0 + 20.0, "the pot grows hotter: {:?}", run.pot);
}

#[test]
fn what_boils_above_the_bath_stays() {
    // As on a rotary evaporator: ethyl acetate off benzyl alcohol at 10 kPa from a bath at 40 °C.
    let mut bench = Bench::new(system(&["ethyl_acetate", "benzyl_alcohol"], Tables::Unifac));
    bench.p = 1e4;
    bench.warmest = ZERO + 40.0;
    bench.held = 0.01;
    let run = bench.distil(&[0.8, 0.2], &[]);
    assert_eq!(run.ended, Ended::Warm);
    assert!((run.pot.1 - bench.warmest).abs() < 0.02);
    let left = bench.system.bubble(&run.residue, 1e4).unwrap();
    assert!((left.t - bench.warmest).abs() < 0.02, "{}", left.t);
    assert!(run.cuts[0].moles[1] < 1e-3);
}

#[test]
fn results_do_not_hang_on_the_steps() {
    let system = system(&["ethanol", "water", "ethyl_acetate", "toluene"], Tables::Unifac);
    let charge = [0.3, 0.1, 0.4, 0.2];
    let ranges = [(ZERO + 69.0, ZERO + 74.0), (ZERO + 100.0, ZERO + 112.0)];
    let run = |tolerance: f64| {
        let mut bench = Bench::new(system.clone());
        bench.tolerance = tolerance;
        bench.distil(&charge, &ranges)
    };
    let fine = run(1e-8);
    for (tolerance, allowed) in [(3e-5, 1e-3), (3e-4, 5e-3)] {
        let coarse = run(tolerance);
        for (a, b) in coarse.cuts.iter().chain([&coarse.forerun]).zip(fine.cuts.iter().chain([&fine.forerun])) {
            for (a, b) in a.moles.iter().zip(&b.moles) {
                assert!((a - b).abs() < allowed, "{tolerance}: {a} against {b}");
            }
        }
    }
}

#[test]
fn a_range_that_the_head_never_shows_stays_empty() {
    let bench = Bench::new(system(&["ethanol", "toluene"], Tables::Unifac));
    let run = bench.distil(&[0.5, 0.5], &[(ZERO + 40.0, ZERO + 50.0), (ZERO + 60.0, ZERO + 79.0)]);
    assert!(sum(&run.cuts[0].moles) == 0.0 && sum(&run.cuts[1].moles) > 0.1, "{run:?}");
    assert!(bench.try_distil(&[0.5, 0.5], &[(350.0, 340.0)]).is_err());
    assert!(bench.try_distil(&[f64::NAN, 0.5], &[]).is_err());
    assert!(bench.try_distil(&[0.0, 0.0], &[]).is_err());
}

const NAMES: [&str; 6] = ["ethanol", "water", "ethyl_acetate", "toluene", "acetone", "n_butanol"];

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_is_lost_and_nothing_is_no_number(
        places in proptest::sample::subsequence(vec![0usize, 1, 2, 3, 4, 5], 2..5),
        logs in proptest::collection::vec(-9.0f64..0.0, 5),
        plates in 0.0f64..4.0,
        p in 5e3f64..1.5e5,
    ) {
        let names: Vec<&str> = places.iter().map(|place| NAMES[*place]).collect();
        let charge: Vec<f64> = logs.iter().take(names.len()).map(|log| f64::powf(10.0, *log)).collect();
        let mut bench = Bench::new(system(&names, Tables::Unifac));
        bench.p = p;
        bench.tolerance = 1e-3;
        bench.column = Column { plates: plates.floor(), reflux: None };
        let run = bench.distil(&charge, &[(300.0, 330.0), (330.0, 360.0)]);
        for (place, charged) in charge.iter().enumerate() {
            let cuts: f64 = run.cuts.iter().map(|cut| cut.moles[place]).sum();
            let out = cuts + run.forerun.moles[place] + run.residue[place];
            prop_assert!((out / charged - 1.0).abs() < 1e-9, "{out} of {charged}");
            prop_assert!(run.cuts.iter().all(|cut| cut.moles[place] >= -1e-12 * charged));
        }
        prop_assert!(run.course.iter().all(|(over, head)| over.is_finite() && head.is_finite()));
    }

    #[test]
    fn more_plates_never_make_the_first_tenth_less_pure(
        volatilities in proptest::collection::vec(1.05f64..4.0, 2),
        share in 0.05f64..0.9,
        reflux in proptest::option::of(0.5f64..10.0),
    ) {
        let system = constant(&[volatilities[0] * volatilities[1], volatilities[1], 1.0]);
        let charge = [share, 0.5 * (1.0 - share), 0.5 * (1.0 - share)];
        let mut last = 0.0;
        for plates in [0.0, 1.0, 2.0, 5.0, 10.0] {
            let mut bench = Bench::new(system.clone());
            bench.column = Column { plates, reflux };
            bench.held = 0.9;
            bench.tolerance = 1e-4;
            let run = bench.distil(&charge, &[]);
            let purity = by_mass(&system, &run.cuts[0].moles, 0);
            prop_assert!(purity >= last - 1e-4, "{plates}: {purity} after {last}");
            last = purity;
        }
    }

    #[test]
    fn the_order_of_the_substances_does_not_matter(charge in proptest::collection::vec(0.01f64..1.0, 3)) {
        let run = |names: [&str; 3], charge: [f64; 3]| {
            let bench = Bench::new(system(&names, Tables::Unifac));
            bench.distil(&charge, &[(340.0, 352.0)])
        };
        let one = run(["ethanol", "water", "ethyl_acetate"], [charge[0], charge[1], charge[2]]);
        let other = run(["ethyl_acetate", "ethanol", "water"], [charge[2], charge[0], charge[1]]);
        for (a, b) in [(0, 1), (1, 2), (2, 0)] {
            prop_assert!((one.cuts[0].moles[a] - other.cuts[0].moles[b]).abs() < 1e-5);
        }
    }
}
