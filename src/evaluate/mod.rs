//! Evaluation: a pure function of the scale. Amounts are worked out in the order of the graph, each
//! operation's effects are applied to portions, and what a judge will want to know is noted down
//! as [`Fact`]s.

pub mod amounts;
pub mod context;
pub mod fact;
pub mod run;

use std::collections::{BTreeMap, BTreeSet};

pub use context::Context;
pub use fact::{Carried, Fact};

use crate::diagnostics::Diagnostic;
use crate::kinds::Kind;
use crate::matter::ledger::{Ledger, Num};
use crate::matter::linear::{BindingId, Procedure};
use crate::matter::mixture::Assumed;
use crate::matter::model::Model;
use crate::matter::portion::{Masses, Portion};
use crate::resolve::definitions::{Definitions, Sub};

/// A material with its amount worked out.
#[derive(Clone, Debug)]
pub struct Dispensed {
    /// What it is, with what it brings along.
    pub portion: Portion,
    /// Mass, kg.
    pub mass: Num,
    /// Volume at 20 °C, m³, of what is poured.
    pub volume: Option<Num>,
    /// Moles of the main substance.
    pub moles: Option<Num>,
    /// Mass fraction of the main substance.
    pub strength: f64,
    /// Whether it is a solid to be weighed.
    pub solid: bool,
    /// How many portions of this amount are used.
    pub times: u32,
}

/// A reaction as it ran in one statement.
#[derive(Clone, Debug)]
pub struct Run {
    /// The reaction's number in the procedure.
    pub reaction: usize,
    /// The statement.
    pub statement: usize,
    /// The reactant that runs out first.
    pub limiting: Sub,
    /// Extent, mol.
    pub extent: Num,
    /// Extent at which the limiting reactant would be gone, mol.
    pub most: Num,
    /// Share of the limiting reactant that reacts.
    pub conversion: f64,
    /// The model.
    pub model: &'static str,
}

/// What came into one receiver of a still.
#[derive(Clone, Debug)]
pub struct Receiver {
    /// Role of the result.
    pub role: String,
    /// The result.
    pub binding: Option<BindingId>,
    /// Temperature at the head when it begins and ends, K.
    pub head: Option<(f64, f64)>,
    /// kg of each substance.
    pub masses: Masses,
    /// Of each substance the share of what was in the pot.
    pub recovered: BTreeMap<Sub, f64>,
}

/// How a distillation went.
#[derive(Clone, Debug)]
pub struct Distillation {
    /// Theoretical plates of the column, and its reflux ratio, where they are stated.
    pub plates: Option<f64>,
    /// Drops that run back to one that is taken.
    pub reflux: Option<f64>,
    /// What went where; last the residue.
    pub receivers: Vec<Receiver>,
    /// Temperature of the pot at first and last, K.
    pub pot: (f64, f64),
    /// Share of the mass of the charge that is over, and the temperature at the head then, K.
    pub course: Vec<(f64, f64)>,
    /// What it was worked out by.
    pub model: &'static Model,
}

/// What one statement did.
#[derive(Clone, Debug, Default)]
pub struct Record {
    /// Portions that went in or were changed, as they were before.
    pub inputs: Vec<(Option<BindingId>, Portion)>,
    /// Portions that came out or were changed, as they were after: role (empty for a changed one).
    pub outputs: Vec<(String, Option<BindingId>, Portion)>,
    /// Gas given off, kg.
    pub evolved: BTreeMap<Sub, Num>,
    /// Vapour lost to the air, kg.
    pub aired: BTreeMap<Sub, Num>,
    /// How long it takes, s.
    pub duration: Option<f64>,
    /// The temperature it is held at or reaches, K.
    pub temperature: Option<f64>,
    /// Heat that reactions set free (negative: took up), J.
    pub heat: f64,
    /// What sets heat free that is not known, by name: what is said of warming is then the least.
    pub lacking: BTreeSet<String>,
    /// Cautions beside those that the operation declares, in sentences.
    pub cautions: BTreeSet<String>,
    /// Rise by heat of dilution at its worst moment, K.
    pub dilution: f64,
    /// Heat that mixing sets free in all, J.
    pub mixing: f64,
    /// How an addition goes in time, and what it asks of a bath.
    pub addition: Option<crate::operations::pace::Addition>,
    /// How far a drying agent gets in the time it is given.
    pub drying: Option<crate::operations::dry::InTime>,
    /// How long warming up takes.
    pub warming: Option<crate::operations::pace::Warming>,
    /// Models used.
    pub models: BTreeSet<&'static str>,
    /// What comes over first asks for a condenser with water, and what follows for one with air.
    pub cooled_first: bool,
    /// Layers as they parted, portion by portion of what was shaken in.
    pub partings: Vec<crate::matter::mixture::Layers>,
    /// What to expect, in sentences.
    pub expects: Vec<String>,
    /// How it went, where a still was worked.
    pub distillation: Option<Distillation>,
    /// What it begins with, where its course in time can be followed.
    pub begins: Option<Box<crate::operations::course::Begins>>,
}

/// The outcome of one evaluation.
#[derive(Clone, Debug)]
pub struct Evaluation {
    /// The size of the batch against the one written.
    pub scale: f64,
    /// The size at which the power of a heater is what is stated and an extractor of the bench holds what it holds; at
    /// others they grow with the batch.
    pub held: f64,
    /// How every value follows.
    pub ledger: Ledger,
    /// The scale as a value.
    pub scale_num: Num,
    /// Each portion as it was last.
    pub portions: BTreeMap<BindingId, Portion>,
    /// Each portion as it was when it got its name.
    pub first: BTreeMap<BindingId, Portion>,
    /// What is taken, by take.
    pub takes: BTreeMap<usize, Dispensed>,
    /// Materials used from the shelf, by statement and slot.
    pub materials: BTreeMap<(usize, String), Dispensed>,
    /// Gases passed into a portion, by statement and slot: they are materials that no amount was written for.
    pub passed: BTreeMap<(usize, String), crate::matter::linear::Material>,
    /// `enough` portions not yet sized: the margin as a fraction.
    pub deferred: BTreeMap<BindingId, f64>,
    /// The liquids that were asked last how they boil, with the answer.
    pub boiled: Vec<(Masses, Option<crate::matter::boiling::Boil>)>,
    /// What each statement did.
    pub records: BTreeMap<usize, Record>,
    /// Reactions in the order in which they ran.
    pub runs: Vec<Run>,
    /// What the judges look at.
    pub facts: Vec<Fact>,
    /// What had to be assumed.
    pub assumed: Assumed,
    /// Moles of the basis substance.
    pub basis_moles: Option<Num>,
    /// Results left unnamed, kg.
    pub traces: Masses,
    /// What reactions made (or, negative, used up) of each substance, kg.
    pub made: Masses,
    /// Whether it broke off at a statement that cannot work, so that the rest is missing.
    pub stopped: bool,
    /// What could not be worked out.
    pub findings: Vec<Diagnostic>,
}

impl Evaluation {
    /// An evaluation in which nothing has been worked out yet.
    #[must_use]
    pub fn new(scale: f64) -> Self {
        let mut ledger = Ledger::default();
        let scale_num = ledger.scale(scale);
        Self {
            scale,
            held: scale,
            ledger,
            scale_num,
            portions: BTreeMap::new(),
            first: BTreeMap::new(),
            takes: BTreeMap::new(),
            materials: BTreeMap::new(),
            passed: BTreeMap::new(),
            deferred: BTreeMap::new(),
            boiled: Vec::new(),
            records: BTreeMap::new(),
            runs: Vec::new(),
            facts: Vec::new(),
            assumed: Assumed::new(),
            basis_moles: None,
            traces: Masses::new(),
            made: Masses::new(),
            stopped: false,
            findings: Vec::new(),
        }
    }

    /// Mass, volume or moles of a portion (for a take as dispensed, else as last), SI.
    #[must_use]
    pub fn figure(&self, procedure: &Procedure, defs: &Definitions, id: BindingId, kind: Kind) -> Option<f64> {
        let portion = self.first.get(&id)?;
        let dispensed = procedure.take_of(id).and_then(|(number, _)| self.takes.get(&number));
        match (kind, dispensed) {
            (Kind::Mass, Some(dispensed)) => Some(dispensed.mass.si),
            (Kind::Volume, Some(dispensed)) => dispensed.volume.map(|volume| volume.si),
            (Kind::Amount, Some(dispensed)) => dispensed.moles.map(|moles| moles.si),
            (Kind::Mass, None) => Some(portion.mass()),
            (Kind::Volume, None) => {
                let liquid = portion.liquid(defs.find("water"));
                crate::matter::mixture::volume(&liquid, defs, &mut Assumed::new()).ok()
            }
            (Kind::Amount, None) => portion.main().map(|main| portion.moles(main, defs)),
            _ => None,
        }
    }

    /// kg of `sub` if the limiting reactant of the reactions that make it went into it altogether;
    /// `None` when none makes it.
    #[must_use]
    pub fn theoretical(&self, procedure: &Procedure, defs: &Definitions, sub: Sub) -> Option<f64> {
        let molar = defs.substance(sub).molar_mass()?;
        let mut most: BTreeMap<usize, f64> = BTreeMap::new();
        let mut so_far: BTreeMap<usize, f64> = BTreeMap::new();
        for run in &self.runs {
            let Some(reaction) = procedure.reactions.get(run.reaction) else { continue };
            let Some((number, _)) = reaction.right.iter().find(|(_, made)| *made == sub) else { continue };
            // A reaction that goes on in a later statement begins where it was left.
            let before = so_far.get(&run.reaction).copied().unwrap_or(0.0);
            let could = most.entry(run.reaction).or_insert(0.0);
            *could = could.max((before + run.most.si) * number);
            so_far.insert(run.reaction, before + run.extent.si);
        }
        let moles: f64 = most.values().sum();
        (moles > 0.0).then_some(moles * molar)
    }

    /// kg of `sub` in all that is taken.
    #[must_use]
    pub fn taken(&self, sub: Sub) -> f64 {
        let shelf = self.materials.values().map(|dispensed| dispensed.portion.of(sub) * f64::from(dispensed.times));
        self.takes.values().map(|dispensed| dispensed.portion.of(sub)).chain(shelf).sum()
    }

    /// What a statement takes from the shelf, by slot.
    pub fn shelf(&self, statement: usize) -> impl Iterator<Item = (&str, &Dispensed)> {
        let range = (statement, String::new())..(statement + 1, String::new());
        self.materials.range(range).map(|((_, slot), dispensed)| (slot.as_str(), dispensed))
    }

    /// The portion as last seen.
    #[must_use]
    pub fn portion(&self, id: BindingId) -> Option<&Portion> {
        self.portions.get(&id)
    }
}

/// Puts a dispensed take where the operations find it.
pub(crate) fn place(evaluation: &mut Evaluation, binding: BindingId, number: usize, dispensed: Dispensed) {
    evaluation.portions.insert(binding, dispensed.portion.clone());
    evaluation.first.insert(binding, dispensed.portion.clone());
    evaluation.takes.insert(number, dispensed);
}
