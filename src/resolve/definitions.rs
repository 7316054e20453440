//! What the declarations of the language come to: substances, solutions, apparatus, instruments,
//! operations and reactions, each field with its source. All figures are in SI.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::form::{EffectCall, Form, Need};
use crate::chemistry::formula::Formula;
use crate::chemistry::vapour::VapourPressure;
use crate::source::Span;

/// A value, where it was written, and where it comes from.
#[derive(Clone, Debug)]
pub struct Sourced<T> {
    /// The value, in SI where it is a figure.
    pub value: T,
    /// The source as the declaration names it; empty when it names none.
    pub source: Arc<str>,
    /// Where it stands.
    pub span: Span,
}

/// A substance's place in [`Definitions::substances`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Sub(pub usize);

/// A solubility: how much of the substance a solvent takes.
#[derive(Clone, Debug)]
pub struct Solubility {
    /// The solvent's name; `None` is water.
    pub solvent: Option<String>,
    /// kg per m³ of solvent and the temperature in K; `None` when miscible.
    pub point: Option<(f64, f64)>,
    /// The source.
    pub source: Arc<str>,
}

/// What makes a material a drying agent or adsorbent.
#[derive(Clone, Debug, Default)]
pub struct Agent {
    /// kg of water per kg at most: by stoichiometry, or at equilibrium in the cold.
    pub capacity: Option<Sourced<f64>>,
    /// kg of water per kg that it is counted on for in practice.
    pub practical: Option<Sourced<f64>>,
    /// kg of water per kg that it holds when hot condensate runs over it.
    pub hot: Option<Sourced<(f64, f64)>>,
    /// The hydrate it becomes, as written.
    pub hydrate: Option<String>,
    /// kg per m³ of liquid below which `enough` does not go.
    pub floor: Option<Sourced<f64>>,
    /// m³ of liquid that clings to a kg of it.
    pub retains: Option<Sourced<f64>>,
    /// kg per m³ as poured.
    pub bulk: Option<Sourced<f64>>,
    /// kg per m³ of a bead.
    pub bead: Option<Sourced<f64>>,
    /// Moles of a class of substance that a mole of it binds.
    pub bonds: Option<Sourced<(f64, String)>>,
    /// Classes of substance, or `free_water`, that destroy it or that it binds.
    pub refuses: Vec<Sourced<String>>,
    /// Temperature above which it binds nothing, K.
    pub effective_below: Option<Sourced<f64>>,
    /// Temperatures at which it gives its water back, K.
    pub regenerates: Option<Sourced<(f64, f64)>>,
    /// How quickly it works.
    pub speed: Option<Sourced<Speed>>,
    /// The time after which it has done its work, s.
    pub acts_in: Option<Sourced<(f64, f64)>>,
    /// Classes of substance for which it is right.
    pub suits: Vec<Sourced<String>>,
    /// How it is made fit for use, in words.
    pub activation: Option<Sourced<String>>,
    /// kg of water left in a m³ of air that stands over it at 25 °C.
    pub leaves_in_air: Option<Sourced<f64>>,
    /// What it was found to leave: the liquid's name, mass fraction of water, s of standing.
    pub leaves: Vec<Sourced<(String, f64, f64)>>,
    /// How much of the water it was found to take up: the liquid's name, the share, s of standing.
    pub removes: Vec<Sourced<(String, f64, f64)>>,
    /// kg per kg of what is treated with it, for an adsorbent.
    pub dose: Option<Sourced<(f64, f64)>>,
}

/// How quickly a drying agent works.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Speed {
    /// In minutes.
    Fast,
    /// In half an hour or so.
    Moderate,
    /// In hours.
    Slow,
}

impl Agent {
    /// kg of water per kg that it holds at least in a return, washed by hot condensate, with the source; `None` where it is
    /// not known to hold less there.
    #[must_use]
    pub fn washed(&self) -> Option<(f64, &Arc<str>)> {
        let hot = self.hot.as_ref()?;
        let (counted, _) = self.counted()?;
        (hot.value.0 < counted.value).then_some((hot.value.0, &hot.source))
    }

    /// The capacity with which an amount is worked out: the practical one where it is declared and
    /// smaller; with whether it is that one.
    #[must_use]
    pub fn counted(&self) -> Option<(&Sourced<f64>, bool)> {
        match (&self.capacity, &self.practical) {
            (Some(capacity), Some(practical)) if practical.value >= capacity.value => Some((capacity, false)),
            (_, Some(practical)) => Some((practical, true)),
            (capacity, None) => capacity.as_ref().map(|capacity| (capacity, false)),
        }
    }
}

/// What is known of a substance's dangers besides its hazard statements. What is absent is not known.
#[derive(Clone, Debug, Default)]
pub struct Safety {
    /// Shares of the vapour in air, by volume, between which it burns; the upper one may be unknown.
    pub flammable_limits: Option<Sourced<(f64, Option<f64>)>>,
    /// Temperature at which the vapour takes fire by itself, K.
    pub ignites: Option<Sourced<f64>>,
    /// How much of it the air of a workplace may hold.
    pub exposure: Vec<Sourced<Exposure>>,
    /// Classes and categories, `Flam. Liq. 2`; empty when not classified.
    pub classed: Option<Sourced<Vec<String>>>,
    /// The signal word; `Some(None)` when it carries none.
    pub signal: Option<Sourced<Option<Signal>>>,
    /// Pictograms, `GHS02`; empty when it carries none.
    pub pictograms: Option<Sourced<Vec<String>>>,
    /// Precautionary statements, `P210` or `P303+P361+P353`.
    pub precautions: Option<Sourced<Vec<String>>>,
    /// The rules by which it was classified, with their date.
    pub edition: Option<String>,
    /// Whether it forms peroxides in air.
    pub peroxides: Option<Sourced<Peroxides>>,
}

/// A limit of exposure at work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exposure {
    /// How much.
    pub limit: Limit,
    /// Over which time.
    pub time: ExposureTime,
}

/// How much of something the air holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Limit {
    /// A share by volume, from 0 to 1.
    Share(f64),
    /// kg per m³ of air.
    Mass(f64),
}

/// The time over which a limit of exposure holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ExposureTime {
    /// The mean of a shift of eight hours.
    Shift,
    /// The mean of fifteen minutes.
    ShortTerm,
    /// Never more.
    Ceiling,
}

/// A signal word of the GHS.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Signal {
    /// Danger.
    Danger,
    /// Warning.
    Warning,
}

/// How a substance forms peroxides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peroxides {
    /// Which list it is on.
    pub list: PeroxideList,
    /// How long it keeps once opened, s.
    pub keeps: Option<f64>,
}

/// The lists of peroxide formers that laboratories keep.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum PeroxideList {
    /// Dangerous without being concentrated.
    A,
    /// Dangerous when concentrated, as by distilling.
    B,
    /// Peroxides set off its polymerisation.
    C,
    /// Forms peroxides slowly, or is on none of the other lists though it forms them.
    D,
}

/// A substance or an agent. An absent field is not known.
#[derive(Clone, Debug)]
pub struct Substance {
    /// Name of record.
    pub name: String,
    /// The name as the sheet prints it, where that is not the name of record with blanks.
    pub title: Option<String>,
    /// Trade names.
    pub also: Vec<String>,
    /// The doc comment.
    pub doc: String,
    /// Where it is declared.
    pub span: Span,
    /// The formula; what has none is conserved whole.
    pub formula: Option<Sourced<Formula>>,
    /// The formula as written.
    pub formula_text: String,
    /// CAS number.
    pub cas: Option<String>,
    /// Class words.
    pub classes: Vec<String>,
    /// What it goes by where others are named by class: [`super::incompatible::words`] of it.
    pub goes_by: BTreeSet<String>,
    /// Melting point, K.
    pub melts: Option<Sourced<f64>>,
    /// Heat of fusion at the melting point, J/mol.
    pub fusion: Option<Sourced<f64>>,
    /// Boiling point at 1 atm, K.
    pub boils: Option<Sourced<f64>>,
    /// Liquid density: (K, kg/m³).
    pub density: Vec<Sourced<(f64, f64)>>,
    /// Density of the solid, kg/m³.
    pub solid_density: Option<Sourced<f64>>,
    /// Vapour pressure.
    pub vapour: Option<Sourced<VapourPressure>>,
    /// Heat of vaporisation at the boiling point, J/mol.
    pub vaporisation: Option<Sourced<f64>>,
    /// Heat capacity of the liquid, J/(mol K).
    pub heat_capacity: Option<Sourced<f64>>,
    /// Flash point, K.
    pub flash: Option<Sourced<f64>>,
    /// log10 of the octanol/water partition constant.
    pub partition: Option<Sourced<f64>>,
    /// Solubilities.
    pub solubility: Vec<Solubility>,
    /// Mass fraction of water that the liquid dissolves near room temperature.
    pub takes_up: Option<Sourced<f64>>,
    /// pKa values, strongest first.
    pub acidity: Vec<f64>,
    /// pKa of what a base becomes when it has taken up a proton.
    pub basicity: Option<Sourced<f64>>,
    /// Moles of acid that a mole takes up.
    pub takes_acid: Option<f64>,
    /// Refractive index at the sodium D line: (K, n).
    pub refraction: Option<Sourced<(f64, f64)>>,
    /// Heat taken up per mole that dissolves in much water, J/mol (negative: set free).
    pub dissolves_with: Option<Sourced<f64>>,
    /// Hazard statement codes; `None` when not known, empty when not classified.
    pub hazards: Option<Sourced<Vec<String>>>,
    /// Limits, exposure, classification, peroxides.
    pub safety: Safety,
    /// The anhydrous substance and the waters per mole, for a hydrate.
    pub crystal_water: Option<(String, f64)>,
    /// Grade words it may carry.
    pub grades: Vec<String>,
    /// Set for drying agents and adsorbents.
    pub agent: Option<Agent>,
    /// Groups of the molecule after UNIFAC: how many of each, by its published name.
    pub groups: Option<Sourced<Vec<(u16, String)>>>,
    /// Groups after the modified UNIFAC (Dortmund), which parts molecules otherwise in places.
    pub dortmund_groups: Option<Sourced<Vec<(u16, String)>>>,
    /// a and b (K) of log10(K·mmHg) = a + b/T, where K is the constant of its pairing in the vapour.
    pub dimerises: Option<Sourced<(f64, f64)>>,
    /// Set for what has grown: no formula, and something in it that can be drawn out.
    pub plant: Option<Plant>,
}

/// What matter that has grown holds. The rest of it is conserved whole.
#[derive(Clone, Debug, Default)]
pub struct Plant {
    /// Substances in it: name, least and greatest mass fraction of the matter as it is taken.
    pub holds: Vec<Sourced<(String, f64, f64)>>,
    /// Mass fraction of water, least and greatest.
    pub moisture: Option<Sourced<(f64, f64)>>,
    /// m³ of liquid that a kg of it, as taken, keeps when it is drained.
    pub retains: Option<Sourced<f64>>,
    /// kg per m³ as poured.
    pub bulk: Option<Sourced<f64>>,
}

impl Plant {
    /// Mass fraction of the water in it with which is reckoned: the middle.
    #[must_use]
    pub fn water(&self) -> f64 {
        self.moisture.as_ref().map_or(0.0, |moisture| 0.5 * (moisture.value.0 + moisture.value.1))
    }

    /// Mass fraction of what it is besides its water and what it holds.
    #[must_use]
    pub fn rest(&self) -> f64 {
        1.0 - self.water() - self.holds.iter().map(|held| 0.5 * (held.value.1 + held.value.2)).sum::<f64>()
    }
}

impl Substance {
    /// The name as the sheet prints it.
    #[must_use]
    pub fn display(&self) -> String {
        self.title.clone().unwrap_or_else(|| self.name.replace('_', " "))
    }

    /// kg/mol, when it has a formula.
    #[must_use]
    pub fn molar_mass(&self) -> Option<f64> {
        self.formula.as_ref().map(|formula| formula.value.molar_mass())
    }

    /// Whether it carries a class word.
    #[must_use]
    pub fn is(&self, class: &str) -> bool {
        self.classes.iter().any(|known| known == class)
    }

    /// Whether it is a gas at room temperature.
    #[must_use]
    pub fn is_gas(&self) -> bool {
        self.is("gas") || self.boils.as_ref().is_some_and(|boils| boils.value < 278.15)
    }

    /// An acid whose first proton is gone in water: pKa below 2.
    #[must_use]
    pub fn is_strong_acid(&self) -> bool {
        self.is("strong_acid") || self.acidity.first().is_some_and(|pka| *pka < 2.0)
    }

    /// Moles of acid that a mole gives to bicarbonate: protons with a pKa below 6.5,
    /// a little above that of carbonic acid, since its gas leaves.
    #[must_use]
    pub fn gives_acid(&self) -> f64 {
        f64::from(u8::try_from(self.acidity.iter().filter(|pka| **pka < 6.5).count()).unwrap_or(0))
    }

    /// Whether it is made of ions in water and stays out of organic layers.
    #[must_use]
    pub fn is_ionic(&self) -> bool {
        self.is("salt") || self.is("base") && !self.is("amine") || self.is_strong_acid()
    }

    /// Whether it is a solid at `t` kelvin; `None` when that is not known.
    #[must_use]
    pub fn is_solid(&self, t: f64) -> Option<bool> {
        if self.is_gas() {
            return Some(false);
        }
        if self.is("salt") || self.formula.is_none() || self.agent.is_some() {
            return Some(true);
        }
        match &self.melts {
            Some(melts) => Some(melts.value > t),
            None if !self.density.is_empty() => Some(false),
            None if self.solid_density.is_some() => Some(true),
            None => None,
        }
    }

    /// The liquid's density nearest 20 °C, kg/m³.
    #[must_use]
    pub fn liquid_density(&self) -> Option<&Sourced<(f64, f64)>> {
        self.density.iter().min_by(|a, b| (a.value.0 - 293.15).abs().total_cmp(&(b.value.0 - 293.15).abs()))
    }

    /// Whether water takes any amount of it.
    #[must_use]
    pub fn is_miscible(&self) -> bool {
        self.solubility.iter().any(|entry| entry.solvent.is_none() && entry.point.is_none())
    }

    /// Whether nothing that was measured says how it is shared between water and organic liquids.
    #[must_use]
    pub fn is_shared_by_estimate(&self) -> bool {
        let solubility = self.solubility.iter().filter(|entry| entry.solvent.is_none()).map(|entry| &entry.source);
        solubility.chain(self.partition.iter().map(|partition| &partition.source)).all(|source| source.contains("estimate"))
    }

    /// The points (K, kg/m³) of its solubility in `solvent` (`None` for water), by temperature.
    #[must_use]
    pub fn solubility_in(&self, solvent: Option<&str>) -> Vec<(f64, f64)> {
        let mut points: Vec<(f64, f64)> = self
            .solubility
            .iter()
            .filter(|entry| entry.solvent.as_deref() == solvent)
            .filter_map(|entry| entry.point.map(|(s, t)| (t, s)))
            .collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        points
    }
}

/// A solution: density against strength, named strengths, and, for one like brine, a strength of
/// its own.
#[derive(Clone, Debug)]
pub struct Solution {
    /// Name of record.
    pub name: String,
    /// Trade names.
    pub also: Vec<String>,
    /// Where it is declared.
    pub span: Span,
    /// The solute's name.
    pub solute: String,
    /// The solvent's name.
    pub solvent: String,
    /// (mass fraction, kg/m³) at 20 °C, ascending.
    pub density: Vec<(f64, f64)>,
    /// Where the densities come from.
    pub density_source: Arc<str>,
    /// (mol of solvent per mol of solute, J set free in all per mol of solute), ascending: pure solute
    /// in the state in which it is pure at room temperature, and solvent, to begin with.
    pub heats: Vec<(f64, f64)>,
    /// Where the heats come from.
    pub heat_source: Arc<str>,
    /// (mass fraction, K at which it boils under 101 325 Pa), ascending in both.
    pub boils: Vec<(f64, f64)>,
    /// Named strengths as mass fractions.
    pub grades: BTreeMap<String, Sourced<f64>>,
    /// Its own strength, a mass fraction.
    pub strength: Option<Sourced<f64>>,
}

/// Whether a liquid is boiled in a vessel.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Boils {
    /// Yes, under a condenser too.
    Yes,
    /// Only open: nothing is distilled or boiled under a condenser from it.
    Open,
    /// No.
    No,
}

/// A kind of vessel or other apparatus.
#[derive(Clone, Debug)]
pub struct Apparatus {
    /// Name of record.
    pub name: String,
    /// The general word it serves as (`flask`).
    pub serves: Vec<String>,
    /// Standard sizes, m³, ascending; empty for what has no size.
    pub sizes: Vec<f64>,
    /// How full it may be, a fraction of its size.
    pub fill: Option<Sourced<f64>>,
    /// Whether it is closed on top and goes on holding things (a bottle, a jar).
    pub stores: bool,
    /// Whether a liquid is boiled in it; the source says why not.
    pub boils: Option<Sourced<Boils>>,
    /// Whether it is closed while it is used, so that gas has no way out.
    pub closed: bool,
    /// Whether it is, or has, an open flame.
    pub flame: bool,
    /// Temperatures for which it serves, K: of a bath, or of what boils under a condenser.
    pub range: Option<Sourced<(f64, f64)>>,
    /// Theoretical plates of a column.
    pub plates: Option<Sourced<f64>>,
    /// The part of the body that fills before a siphon runs over, a fraction of its size.
    pub siphon: Option<Sourced<f64>>,
    /// Where the sizes come from.
    pub source: Arc<str>,
    /// Where it is declared.
    pub span: Span,
}

/// A measuring instrument.
#[derive(Clone, Debug)]
pub struct Instrument {
    /// Name of record.
    pub name: String,
    /// Its name on the sheet.
    pub title: String,
    /// What it is for, where that is not measuring out (`titration`, `temperature` …): it is not
    /// chosen for an amount on the sheet.
    pub serves: Option<String>,
    /// Whether it measures volume (else mass, or temperature where it serves that).
    pub volume: bool,
    /// The least and the most it measures, SI.
    pub range: (f64, f64),
    /// The step to which it is read, SI.
    pub step: f64,
    /// Tolerance, SI.
    pub tolerance: Option<Sourced<f64>>,
    /// The class that has this tolerance, where there are classes.
    pub class: Option<String>,
    /// Tolerances of the other classes, SI.
    pub classes: BTreeMap<String, Sourced<f64>>,
}

/// How far a reaction goes.
#[derive(Clone, Debug, PartialEq)]
pub enum Extent {
    /// To equilibrium with this constant, in mole ratio.
    Equilibrium(f64),
    /// To equilibrium with this constant, in activities.
    InActivities(f64),
    /// To this fraction of the limiting reactant.
    Conversion(f64),
    /// To the end, by itself, where its reactants meet in the presence of water.
    OnContact,
    /// By itself, but so slowly that no operation is predicted with it.
    Slowly,
}

/// How fast a reaction goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rate {
    /// The constant at `t`, m³/(mol s): with the catalyst, where one hastens it, at 1 mol/L.
    pub constant: f64,
    /// K.
    pub t: f64,
    /// Energy of activation, J/mol.
    pub energy: f64,
    /// The power of the catalyst's concentration over 1 mol/L.
    pub order: f64,
}

/// A balanced reaction.
#[derive(Clone, Debug)]
pub struct Reaction {
    /// Its name.
    pub name: String,
    /// Where the name stands.
    pub span: Span,
    /// Where the equation stands.
    pub equation_span: Span,
    /// Coefficients and substances.
    pub left: Vec<(f64, Sub)>,
    /// Coefficients and substances.
    pub right: Vec<(f64, Sub)>,
    /// How far it goes.
    pub extent: Extent,
    /// The catalyst.
    pub catalyst: Option<(Sub, Span)>,
    /// How fast it is; where that is not said it is at equilibrium as soon as it runs.
    pub rate: Option<Sourced<Rate>>,
    /// Heat taken up per mole of reaction as written, J (negative: set free), with its source.
    pub heat: Option<Sourced<f64>>,
}

impl Reaction {
    /// Stoichiometric numbers: negative on the left.
    #[must_use]
    pub fn numbers(&self) -> BTreeMap<Sub, f64> {
        let mut numbers = BTreeMap::new();
        for (n, sub) in &self.left {
            *numbers.entry(*sub).or_insert(0.0) -= n;
        }
        for (n, sub) in &self.right {
            *numbers.entry(*sub).or_insert(0.0) += n;
        }
        numbers
    }
}

/// When a caution is printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum When {
    /// Always.
    Always,
    /// When the portion in a slot has a property.
    Is(String, String),
    /// When the slot is given.
    Given(String),
}

/// A declared operation.
#[derive(Clone, Debug)]
pub struct Operation {
    /// Its name.
    pub name: String,
    /// The doc comment.
    pub doc: String,
    /// Where it is declared.
    pub span: Span,
    /// What a statement of it looks like.
    pub form: Form,
    /// Apparatus.
    pub needs: Vec<Need>,
    /// The physics.
    pub effects: Vec<EffectCall>,
    /// The sentence on the sheet.
    pub says: String,
    /// How much of a person it asks for, with its conditions.
    pub attention: Vec<(When, super::attention::Attention)>,
    /// Cautions with their conditions.
    pub cautions: Vec<(When, String)>,
}

/// Everything that is declared and loaded.
#[derive(Clone, Debug, Default)]
pub struct Definitions {
    /// Substances and agents.
    pub substances: Vec<Arc<Substance>>,
    /// Names of record and trade names of substances.
    pub substance_names: BTreeMap<String, Sub>,
    /// Solutions.
    pub solutions: Vec<Arc<Solution>>,
    /// Apparatus by name.
    pub apparatus: BTreeMap<String, Arc<Apparatus>>,
    /// Instruments in order of their range.
    pub instruments: Vec<Arc<Instrument>>,
    /// Operations by verb.
    pub operations: BTreeMap<String, Vec<Arc<Operation>>>,
    /// Verbs of operations whose declaration has an error, which was reported.
    pub broken_verbs: BTreeSet<String>,
    /// Reactions that run on contact.
    pub contact: Vec<Arc<Reaction>>,
    /// Reactions that are declared outside of procedures and run slowly or not by themselves: their
    /// heat serves a procedure's own reaction of the same equation.
    pub known_reactions: Vec<Arc<Reaction>>,
    /// Hazard statements: text and source.
    pub hazard_texts: BTreeMap<String, (Arc<str>, Arc<str>)>,
    /// Pairs that do not go together.
    pub incompatible: Vec<Arc<super::incompatible::Incompatible>>,
    /// Activity coefficients of pairs as they were measured.
    pub binary_fits: Vec<Arc<super::binary_fit::BinaryFit>>,
    /// Azeotropes as they were measured.
    pub azeotropes: Vec<Arc<super::azeotrope::Measured>>,
    /// Words of waste labels.
    pub waste_words: Vec<Arc<super::waste_word::WasteWord>>,
    /// What is at hand, where that is said.
    pub bench: Option<Arc<super::bench::Bench>>,
    /// Thresholds of judges, by name.
    pub rules: BTreeMap<String, Arc<super::rule::Rule>>,
}

impl Definitions {
    /// The substance of that identity.
    ///
    /// # Panics
    /// Never for an identity that these definitions gave, and there are no others.
    #[must_use]
    #[expect(clippy::indexing_slicing, reason = "a `Sub` is only ever made where the substance is pushed")]
    pub fn substance(&self, sub: Sub) -> &Substance {
        &self.substances[sub.0]
    }

    /// The rule of that name, one of [`super::rule::KNOWN`]: its value in force and its source. The
    /// library declares all of them, so that there is none only where nothing was loaded.
    #[must_use]
    pub fn rule(&self, name: &str) -> Option<&super::rule::Rule> {
        self.rules.get(name).map(AsRef::as_ref)
    }

    /// Work is done on this bench: what measures is what stands there. Where nothing there weighs, or nothing
    /// measures volumes, that is told elsewhere, and the usual instruments go on being named.
    pub fn stand_on(&mut self, bench: super::bench::Bench) {
        for volume in [false, true] {
            let own = bench.instruments.iter().filter(|one| one.serves.is_none() && one.volume == volume);
            if own.clone().next().is_some() {
                self.instruments.retain(|one| one.volume != volume);
                self.instruments.extend(own.cloned());
            }
        }
        self.instruments.sort_by(|a, b| (a.volume, a.range.1).partial_cmp(&(b.volume, b.range.1)).unwrap_or(std::cmp::Ordering::Equal));
        self.bench = Some(Arc::new(bench));
    }

    /// The temperature of the room, K: of the bench, else the usual one.
    #[must_use]
    pub fn room_temperature(&self) -> f64 {
        let own = self.bench.as_ref().and_then(|bench| bench.temperature);
        own.map_or(crate::matter::mixture::ROOM, |figure| figure.middle())
    }

    /// The substance of that name or trade name.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<Sub> {
        self.substance_names.get(name).copied()
    }

    /// J set free in all when a mole of the substance, pure and in its state at room temperature, goes
    /// into so many moles of water; `None` where no solution of it declares its heats. For a stock
    /// that holds water already take the difference of two values.
    #[must_use]
    pub fn integral_heat(&self, sub: Sub, water_per_mol: f64) -> Option<f64> {
        let name = &self.substance(sub).name;
        let solution = self.solutions.iter().find(|s| s.solute == *name && s.solvent == "water" && !s.heats.is_empty())?;
        Some(crate::chemistry::heat::integral(&solution.heats, water_per_mol))
    }

    /// Heat taken up per mole of a reaction as written, J: its own, or that of the library's reaction
    /// of the same equation.
    #[must_use]
    pub fn heat_of<'a>(&'a self, reaction: &'a Reaction) -> Option<&'a Sourced<f64>> {
        reaction.heat.as_ref().or_else(|| {
            let numbers = reaction.numbers();
            let mut known = self.known_reactions.iter().chain(&self.contact);
            known.find(|other| other.heat.is_some() && other.numbers() == numbers)?.heat.as_ref()
        })
    }

    /// The solution that carries that name, or whose solute that is.
    #[must_use]
    pub fn named_solution(&self, name: &str) -> Option<&Arc<Solution>> {
        self.solutions.iter().find(|s| s.strength.is_some() && (s.name == name || s.also.iter().any(|a| a == name)))
    }

    /// The solution (without a strength of its own) under which `name` is known: its own name, a
    /// trade name, or its solute's.
    #[must_use]
    pub fn solution_of(&self, name: &str) -> Option<&Arc<Solution>> {
        let solute = self.find(name).map(|sub| self.substance(sub).name.clone());
        self.solutions
            .iter()
            .find(|s| s.strength.is_none() && (s.name == name || s.also.iter().any(|a| a == name) || Some(&s.solute) == solute.as_ref()))
    }
}
