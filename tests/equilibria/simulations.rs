//! Dried returns, traps, stills and washes of random mixtures of the library: an answer or a clear refusal, what goes
//! in comes out, and finer steps change nothing beyond what is said of them.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use scruple::chemistry::course::dried::{self, Bed};
use scruple::chemistry::course::flask::{Heating, Substances};
use scruple::chemistry::course::reaction::{Ends, Reaction};
use scruple::chemistry::course::trap::{self, Leaves};
use scruple::chemistry::distillation::{Column, Still, distil};
use scruple::kinds::Kind;
use scruple::matter::ledger::Ledger;
use scruple::matter::mixture::{Assumed, layers};
use scruple::matter::portion::{Masses, Portion};
use scruple::matter::system::Liquids;
use scruple::operations::pot::Pot;
use scruple::resolve::definitions::{Definitions, Sub};

use super::ATM;
use super::experiment::common;
use super::robust::Random;

/// What goes in comes out, as a share of all there is.
const CLOSES: f64 = 1e-9;

/// What finer steps may change: as said of a dried return, of a trap, and of a cut of a still.
const DRIED: f64 = 5e-3;
const TRAPPED: f64 = 1e-2;
const CUT: f64 = 5e-3;

fn library() -> &'static (Definitions, Vec<Sub>) {
    static READ: OnceLock<(Definitions, Vec<Sub>)> = OnceLock::new();
    READ.get_or_init(|| {
        let defs = common::library();
        let liquid = |sub: &Sub| {
            let substance = defs.substance(*sub);
            substance.formula.is_some() && substance.boils.is_some() && !substance.is_ionic() && !substance.is_gas()
        };
        let subs = (0..defs.substances.len()).map(Sub).filter(liquid).collect();
        (defs, subs)
    })
}

/// What came of some simulations.
#[derive(Debug, Default)]
struct Tally {
    asked: usize,
    answered: usize,
    /// Refused, by the reason.
    refused: BTreeMap<String, usize>,
    /// The largest change by finer steps, as a share, and of what.
    coarsest: (f64, String),
    /// Simulations that finer steps changed by more than is said.
    coarse: Vec<String>,
}

impl Tally {
    fn refuse(&mut self, why: &impl ToString) {
        *self.refused.entry(why.to_string()).or_default() += 1;
    }

    fn change(&mut self, change: f64, within: f64, what: &str) {
        assert!(change.is_finite(), "{what}");
        if change > self.coarsest.0 {
            self.coarsest = (change, what.to_owned());
        }
        if change > within {
            self.coarse.push(format!("{:.2} %: {what}", 100.0 * change));
        }
    }

    fn tell(&self, what: &str) {
        let share = 100.0 * (self.asked - self.answered) as f64 / self.asked.max(1) as f64;
        println!(
            "{what}: {} asked, {} answered, {share:.1} % refused {:?}; the largest change by half the step {:.3} % ({}); {} changed by more than is said",
            self.asked,
            self.answered,
            self.refused,
            100.0 * self.coarsest.0,
            self.coarsest.1,
            self.coarse.len()
        );
    }
}

/// Water and one to four others, some of them traces; now and then the four of an esterification.
fn mixture(random: &mut Random) -> (Masses, bool) {
    let (defs, subs) = library();
    let water = defs.find("water").unwrap();
    let mut masses = Masses::new();
    let amount = |random: &mut Random| if random.share() < 0.2 { 10f64.powf(-9.0 * random.share()) } else { random.share() } * 0.1;
    masses.insert(water, amount(random));
    let reacts = random.share() < 0.3;
    if reacts {
        for name in ["acetic_acid", "n_butanol", "butyl_acetate"] {
            masses.insert(defs.find(name).unwrap(), amount(random));
        }
    }
    for _ in 0..1 + random.below(4 - 2 * usize::from(reacts)) {
        masses.insert(subs[random.below(subs.len())], amount(random));
    }
    (masses, reacts)
}

fn name(masses: &Masses) -> String {
    let defs = &library().0;
    masses.iter().map(|(sub, mass)| format!("{} {:.3e} g", defs.substance(*sub).name, mass * 1e3)).collect::<Vec<_>>().join(", ")
}

/// A charge as the operations see it.
struct Charge {
    pot: Pot<'static>,
    substances: Substances,
    reactions: Vec<Reaction>,
    named: String,
}

impl Charge {
    fn of(masses: &Masses, reacts: bool) -> Charge {
        let defs = &library().0;
        let (mut ledger, source) = (Ledger::default(), Arc::from("random"));
        let contents = masses.iter().map(|(sub, mass)| (*sub, ledger.datum("mass", Kind::Mass, *mass, &source))).collect();
        let pot = Pot::new(defs, &Portion { contents, temperature: 293.15, ..Portion::default() }, &[]);
        let substances = pot.substances().unwrap();
        let mut nu = vec![0.0; pot.subs.len()];
        for (name, number) in [("acetic_acid", -1.0), ("n_butanol", -1.0), ("butyl_acetate", 1.0), ("water", 1.0)] {
            if let Some(at) = pot.place(defs.find(name).unwrap()) {
                nu[at] = number;
            }
        }
        let reactions = if reacts { vec![Reaction { nu, ends: Ends::Ratio(4.2), rate: None }] } else { Vec::new() };
        Charge { pot, substances, reactions, named: name(masses) }
    }

    /// Each substance that went in or was made is in one of `places`, and none is below zero.
    fn closes(&self, extents: &[f64], places: &[&[f64]]) {
        let whole: f64 = self.pot.moles.iter().sum();
        for at in 0..self.pot.moles.len() {
            let made: f64 = self.reactions.iter().zip(extents).map(|(reaction, extent)| reaction.nu[at] * extent).sum();
            let out: f64 = places.iter().map(|place| place[at]).sum();
            assert!(places.iter().all(|place| place[at].is_finite() && place[at] >= -CLOSES * whole), "{}: {places:?}", self.named);
            let open = self.pot.moles[at] + made - out;
            assert!(open.abs() <= CLOSES * whole, "{}: {open:e} of {whole} is lost at {at}", self.named);
        }
    }

    /// Water there is, and that can still be made, mol.
    fn water(&self) -> f64 {
        let of = |name: &str| self.pot.place(library().0.find(name).unwrap()).map_or(0.0, |at| self.pot.moles[at]);
        of("water") + if self.reactions.is_empty() { 0.0 } else { of("acetic_acid").min(of("n_butanol")) }
    }
}

fn dried_return(random: &mut Random, tally: &mut Tally) {
    let (masses, reacts) = mixture(random);
    let charge = Charge::of(&masses, reacts);
    let whole = charge.substances.volume(&charge.pot.moles);
    let keeps = 0.02 * whole;
    let bed = Bed {
        capacity: charge.water() * 2.0 * random.share(),
        time: 120.0 + 480.0 * random.share(),
        siphon: (random.share() < 0.5).then(|| 2.0 * keeps + 0.3 * random.share() * whole),
        keeps,
    };
    let ask = |finer: f64| {
        let question = dried::Question {
            charge: &charge.pot.moles,
            reactions: &charge.reactions,
            substances: &charge.substances,
            heating: Heating::Flow(1e-7),
            bed,
            time: 3600.0,
            stated: 3600.0,
            finer,
        };
        dried::follow(&question, &mut charge.pot.at(ATM))
    };
    tally.asked += 1;
    let course = match ask(1.0) {
        Ok(course) => course,
        Err(why) => return tally.refuse(&why),
    };
    tally.answered += 1;
    // As it stands at the end, and on average at the stated time.
    for state in [&course.end, &course.stated] {
        let mut taken = vec![0.0; charge.pot.moles.len()];
        taken[charge.substances.water] = state.row.taken;
        charge.closes(&state.row.extents, &[&state.flask, &state.apart, &taken]);
        assert!(state.row.taken <= bed.capacity * (1.0 + 1e-9) + 1e-15, "{}: the bed holds more than it can", charge.named);
    }
    if let Ok(finer) = ask(2.0) {
        let (one, other) = (&course.stated.row, &finer.stated.row);
        let water = charge.water().max(1e-12);
        let extents = one.extents.iter().zip(&other.extents).map(|(a, b)| (a - b).abs() / water);
        let change = extents.fold((one.taken - other.taken).abs() / course.reach.max(1e-3 * water), f64::max);
        tally.change(change, DRIED, &format!("{}, {bed:?}", charge.named));
    }
}

fn water_trap(random: &mut Random, tally: &mut Tally) {
    let (masses, reacts) = mixture(random);
    let charge = Charge::of(&masses, reacts);
    let size = (1.0 + 9.0 * random.share()) * 1e-6;
    let leaves = [Leaves::Watery, Leaves::Upper, Leaves::Lower][random.below(3)];
    let ask = |finer: f64| {
        let question = trap::Question {
            charge: &charge.pot.moles,
            reactions: &charge.reactions,
            substances: &charge.substances,
            heating: Heating::Flow(1e-7),
            size,
            t: 303.15,
            leaves,
            time: 1800.0,
            stated: 1800.0,
            finer,
        };
        trap::follow(&question, &mut charge.pot.at(ATM))
    };
    tally.asked += 1;
    let course = match ask(1.0) {
        Ok(course) => course,
        Err(why) => return tally.refuse(&why),
    };
    tally.answered += 1;
    let last = course.rows.last().unwrap();
    charge.closes(&last.extents, &[&course.end.flask, &course.end.apart, &course.end.passed]);
    if let Ok(finer) = ask(2.0) {
        let time = last.time.min(finer.rows.last().unwrap().time);
        let at = |rows: &[dried::Row]| scruple::operations::course::at(rows, time).taken;
        let change = (at(&course.rows) - at(&finer.rows)).abs() / charge.water().max(1e-9);
        // Which layer is the upper one may change as a trap fills, at times by a hair: of that nothing is said.
        let within = if leaves == Leaves::Watery { TRAPPED } else { f64::INFINITY };
        tally.change(change, within, &format!("{}, {leaves:?} of a trap of {size:e} m³", charge.named));
    }
}

fn still(random: &mut Random, tally: &mut Tally) {
    let (masses, _) = mixture(random);
    let defs = &library().0;
    let liquids = Liquids::of(&masses, defs);
    tally.asked += 1;
    if let Some(why) = &liquids.refusal {
        let kind = if why.reason(defs).contains("published") { "an interaction is not published" } else { "no groups" };
        return tally.refuse(&kind);
    }
    let charge = liquids.moles(&masses);
    let boil = |x: &[f64]| liquids.system.boil(x, ATM).map(|boil| (boil.t, boil.y));
    let molar_masses: Vec<f64> = liquids.system.components().iter().map(|component| component.molar_mass).collect();
    let low = 350.0 + 60.0 * random.share();
    let ranges = [(low, low + 5.0 + 30.0 * random.share())];
    let ask = |tolerance: f64| {
        let still = Still {
            boil: &boil,
            corrections: &vec![0.0; charge.len()],
            molar_masses: &molar_masses,
            column: Column::default(),
            held: 0.03,
            first: 0.0,
            warmest: 480.0,
            tolerance,
        };
        distil(still, &charge, &ranges)
    };
    let run = match ask(3e-4) {
        Ok(run) => run,
        Err(why) => return tally.refuse(&why),
    };
    tally.answered += 1;
    let whole: f64 = charge.iter().sum();
    for at in 0..charge.len() {
        let out = run.forerun.moles[at] + run.cuts[0].moles[at] + run.residue[at];
        assert!((charge[at] - out).abs() <= CLOSES * whole, "{}: {:e} lost", name(&masses), charge[at] - out);
        assert!([&run.forerun.moles, &run.cuts[0].moles, &run.residue].iter().all(|part| part[at] >= -CLOSES * whole));
    }
    if let Ok(finer) = ask(1.5e-4) {
        let mass = |moles: &[f64]| moles.iter().zip(&molar_masses).map(|(n, molar)| n * molar).sum::<f64>();
        let change = (mass(&run.cuts[0].moles) - mass(&finer.cuts[0].moles)).abs() / mass(&charge);
        tally.change(change, CUT, &format!("{}, {ranges:?}", name(&masses)));
    }
}

fn wash(random: &mut Random, tally: &mut Tally) {
    let (mut masses, _) = mixture(random);
    let defs = &library().0;
    // Now and then with salt, or with something that takes acid.
    let salts = ["sodium_chloride", "sodium_bicarbonate", "sodium_carbonate"];
    if random.share() < 0.5 {
        masses.insert(defs.find(salts[random.below(3)]).unwrap(), 0.02 * random.share());
    }
    *masses.entry(defs.find("water").unwrap()).or_insert(0.0) += 0.1 * random.share();
    tally.asked += 1;
    let parted = match layers(&masses, defs, &mut Assumed::new()) {
        Ok(parted) => parted,
        Err(_) => return tally.refuse(&"a density is not known"),
    };
    tally.answered += 1;
    if parted.single.is_some() {
        return;
    }
    let whole: f64 = masses.values().sum();
    for (sub, mass) in &masses {
        let of = |layer: &Masses| layer.get(sub).copied().unwrap_or(0.0);
        let (organic, aqueous) = (of(&parted.organic), of(&parted.aqueous));
        assert!(organic >= -CLOSES * whole && aqueous >= -CLOSES * whole, "{}: {parted:?}", name(&masses));
        assert!((mass - organic - aqueous).abs() <= CLOSES * whole, "{}: {parted:?}", name(&masses));
    }
    assert!(parted.organic_density.is_finite() && parted.aqueous_density.is_finite(), "{}: {parted:?}", name(&masses));
}

/// One simulation, counted.
type Simulation = fn(&mut Random, &mut Tally);

/// Runs so many of each, and tells what came of them.
fn hammer(seed: u64, counts: [usize; 4]) -> [Tally; 4] {
    let mut random = Random(seed);
    let sorts: [(&str, Simulation); 4] =
        [("dried returns", dried_return), ("water traps", water_trap), ("stills", still), ("washes", wash)];
    let mut tallies: [Tally; 4] = Default::default();
    for ((tally, (what, one)), count) in tallies.iter_mut().zip(sorts).zip(counts) {
        (0..count).for_each(|_| one(&mut random, tally));
        tally.tell(what);
    }
    tallies
}

/// Of those asked at least half are answered; all are as fine as is said of them.
fn hold(tallies: &[Tally; 4]) {
    for tally in tallies {
        assert!(2 * tally.answered >= tally.asked, "{tally:#?}");
        assert!(tally.coarse.is_empty(), "{tally:#?}");
    }
}

#[test]
fn simulations_of_random_mixtures() {
    hold(&hammer(1, [6, 6, 20, 170]));
}

/// `cargo test --release --test equilibria many_simulations -- --ignored --nocapture`
#[test]
#[ignore = "takes minutes; run it after work on the simulations"]
fn many_simulations_of_random_mixtures() {
    hold(&hammer(2, [5_000, 5_000, 10_000, 80_000]));
}
