//! What an evaluation noted down for the judges: figures and places, no verdicts.

use std::sync::Arc;

use crate::matter::linear::BindingId;
use crate::matter::portion::Portion;
use crate::resolve::definitions::{Apparatus, Sub};
use crate::source::Span;

/// What vapour carries to a bed.
#[derive(Clone, Copy, Debug)]
pub struct Carried {
    /// Its share of the condensate, by mass.
    pub share: f64,
    /// Its mass in that time, or else in one filling of the extractor, kg; `None` without either.
    pub mass: Option<f64>,
    /// The time for which it was followed, s.
    pub time: Option<f64>,
}

/// One thing that a judge looks at. Figures are in SI.
#[derive(Clone, Debug)]
pub enum Fact {
    /// A vessel at one statement.
    Vessel {
        /// Statement.
        statement: usize,
        /// The portion in it; a transient vessel (a funnel) has none.
        holds: Option<BindingId>,
        /// Names to call the contents by.
        name: String,
        /// What is needed: a kind of apparatus, or the general word it serves.
        needed: String,
        /// How full it may be.
        fill: Option<f64>,
        /// The rule that says so.
        rule: Option<&'static str>,
        /// What it holds at its fullest, m³.
        volume: f64,
        /// What the author pinned: apparatus, size in m³.
        pinned: Option<(Arc<Apparatus>, Option<f64>, Span)>,
        /// Where.
        span: Span,
    },
    /// Two layers, or one liquid where two were claimed.
    Parting {
        /// Statement.
        statement: usize,
        /// Where.
        span: Span,
        /// Density of the organic layer.
        organic: f64,
        /// Density of the water layer.
        aqueous: f64,
        /// What the claimed upper layer is called.
        upper: String,
        /// What the claimed lower layer is called.
        lower: String,
        /// Whether the claim puts the organic layer on top; `None` when it cannot be told.
        claims_organic_upper: Option<bool>,
        /// The result written first, as what goes round again, where the claim follows only from that order.
        by_order: Option<String>,
        /// Why there is one liquid.
        single: Option<String>,
        /// The main substance of the organic layer.
        main: Option<Sub>,
    },
    /// A liquid over a drying agent, or a bed that takes up water.
    Dried {
        /// Statement.
        statement: usize,
        /// Where the agent's amount stands, or the statement.
        span: Span,
        /// The agent.
        agent: Sub,
        /// Its name.
        name: String,
        /// Its mass.
        mass: f64,
        /// Whether its amount was left to the compiler.
        sized: bool,
        /// Water that arrives.
        water: f64,
        /// Water that it holds in the cold.
        capacity: f64,
        /// Water that it holds at least where it works: less than in the cold for a bed that hot condensate washes.
        serves: f64,
        /// Water that it takes up, as predicted.
        taken: f64,
        /// Where it meets the liquid.
        meets: Span,
        /// Classes that it refuses and that it meets: class, substance.
        refused: Vec<(String, Sub)>,
        /// For a bed, how much of the first of them the vapour carries.
        vapour: Option<Carried>,
        /// Temperature of the liquid.
        temperature: f64,
        /// Temperature above which it binds nothing.
        effective_below: Option<f64>,
        /// Whether it is a bed in a return.
        bed: bool,
        /// How long the liquid is left over it, at most.
        time: Option<f64>,
    },
    /// A siphon extractor over a boiling flask.
    Siphon {
        /// Statement.
        statement: usize,
        /// Where the extractor is named.
        span: Span,
        /// Liquid needed to reach the siphon.
        needed: f64,
        /// Liquid that can boil over into it.
        volatile: f64,
        /// Liquid of the whole charge.
        charge: f64,
        /// Nominal size.
        size: f64,
        /// The part of it that fills before the siphon runs over.
        part: f64,
        /// The bed: its name, its mass, the room that it takes up as poured.
        bed: (String, f64, f64),
        /// Water that arrives, and water that the bed holds.
        water: (f64, f64),
    },
    /// Plant matter in the thimble of an extractor.
    Thimble {
        /// Where the extractor is named.
        span: Span,
        /// The portion's name.
        name: String,
        /// kg of it.
        mass: f64,
        /// m³ that it fills as poured.
        room: f64,
        /// m³ that the extractor holds.
        size: f64,
    },
    /// A portion held at a temperature in an open vessel.
    Held {
        /// Statement.
        statement: usize,
        /// Where.
        span: Span,
        /// The portion's name.
        name: String,
        /// The highest temperature stated.
        temperature: f64,
        /// Its boiling temperature.
        boiling: Option<f64>,
    },
    /// A reaction without its reactants.
    CannotRun {
        /// Where.
        span: Span,
        /// The reaction.
        reaction: String,
        /// What is missing.
        missing: Sub,
    },
    /// A reaction without its catalyst.
    NoCatalyst {
        /// Where.
        span: Span,
        /// The reaction.
        reaction: String,
        /// The catalyst.
        catalyst: Sub,
    },
    /// A bed heated with solvent still in it.
    WetBed {
        /// Where.
        span: Span,
        /// The bed.
        name: String,
        /// The solvent and its mass.
        solvent: (Sub, f64),
        /// The temperature.
        temperature: f64,
    },
    /// A basic wash.
    BaseWash {
        /// Where.
        span: Span,
        /// Moles of acid left.
        acid_left: f64,
        /// Moles of acid that were there.
        acid: f64,
        /// Moles of acid that the base could take.
        base: f64,
    },
    /// Something poured into something else, with the heat it makes.
    Mixed {
        /// Where.
        span: Span,
        /// What was added.
        added: String,
        /// Whether water or a watery solution was added.
        watery: bool,
        /// Mass fraction of strong acid in strong acid and water before; 0 where it is little of the whole.
        acid_strength: f64,
        /// What it was added to.
        into: String,
        /// Adiabatic rise by heat of dilution, at its worst moment, K.
        rise: f64,
        /// Temperature of what it was added to, K.
        hot: f64,
        /// Temperature at which the added liquid boils, K.
        boils: Option<f64>,
        /// Whether a base was added to an acid.
        base: bool,
    },
    /// Water or an alcohol put to a reagent that it sets gas or heat free from, as the bulk of the pot.
    Onto {
        /// Statement.
        statement: usize,
        /// Where.
        span: Span,
        /// What was added, and what of it reacts.
        added: (String, Sub),
        /// What it was added to, and the reagent there.
        into: (String, Sub),
        /// The part of the pot that the reagent is, by mass.
        share: f64,
        /// The gas that it sets free.
        gas: Option<Sub>,
        /// Rise by the reaction that is known, all at once, K.
        rise: f64,
    },
    /// What heat of dilution and reaction come to when things are brought together.
    Warmed {
        /// Statement.
        statement: usize,
        /// Where.
        span: Span,
        /// Temperature before, K.
        start: f64,
        /// Rise, uncooled and all at once, K.
        rise: f64,
        /// Temperature at which the whole boils, K.
        boiling: Option<f64>,
        /// Whether part of the heat is not known, so that this is the least.
        at_least: bool,
    },
    /// An anhydride or acid chloride that meets what it reacts with, where the procedure states no reaction of it.
    Unstated {
        /// Where.
        span: Span,
        /// The anhydride or acid chloride.
        reagent: Sub,
        /// What it reacts with.
        other: Sub,
        /// What all of it would set free, J, where that is known.
        heat: Option<f64>,
        /// The rise that this comes to, or that is reckoned with, K.
        rise: f64,
    },
    /// An addition that is stated over a time and at a rate.
    Paced {
        /// Where the rate stands.
        span: Span,
        /// The shortest and the longest time stated, s.
        time: (f64, f64),
        /// The least and the largest rate stated, m³/s.
        rate: (f64, f64),
        /// m³ that go in.
        volume: f64,
    },
    /// An addition whose heat a bath is to take up.
    Cooled {
        /// Statement.
        statement: usize,
        /// Where.
        span: Span,
        /// s that it takes.
        time: f64,
        /// What the bath must take up, and can.
        cooling: crate::operations::pace::Cooling,
    },
    /// A vapour pressure outside of what its equation was fitted to, or by an equation that misses the boiling point.
    Vapour {
        /// Where.
        span: Span,
        /// The substance.
        sub: Sub,
        /// K at which it was asked for.
        temperature: f64,
        /// K between which the equation holds, where that is not between them.
        range: Option<(f64, f64)>,
        /// K by which it misses the declared boiling point, where it does.
        misses: Option<f64>,
    },
    /// A result without a name.
    Unnamed {
        /// Where.
        span: Span,
        /// Its role.
        role: String,
        /// Its mass.
        mass: f64,
        /// Its share of what went in.
        share: f64,
        /// Its main substance.
        main: Option<Sub>,
    },
    /// A named result that holds next to nothing.
    Empty {
        /// Where the name stands.
        span: Span,
        /// Its name.
        name: String,
        /// Its role.
        role: String,
    },
    /// Nothing boils in the range to be collected.
    NothingBoils {
        /// Where.
        span: Span,
        /// The range, K.
        range: (f64, f64),
        /// What is there with its boiling point.
        nearest: Option<(Sub, f64)>,
        /// Lowest and highest temperature that the head shows, K, where that was worked out.
        shows: Option<(f64, f64)>,
    },
    /// Something that does not dissolve where it is said to.
    Undissolved {
        /// Where.
        span: Span,
        /// What.
        sub: Sub,
        /// kg left as a solid.
        left: f64,
        /// kg in all.
        of: f64,
        /// K.
        temperature: f64,
    },
    /// An acid or a base brought to an end point.
    Dosed {
        /// Where its amount stands.
        span: Span,
        /// The acid or base.
        agent: Sub,
        /// mol that react.
        need: f64,
        /// mol that it brings.
        brings: f64,
    },
    /// A gas led into an absorber.
    Absorbed {
        /// Where the absorber's amount stands.
        span: Span,
        /// The gas.
        gas: Sub,
        /// kg of it.
        mass: f64,
        /// mol of acid that it brings (negative: of base).
        brings: f64,
        /// mol of acid that the absorber takes (negative: of base).
        takes: f64,
    },
    /// A bath under a still.
    Bath {
        /// Where its temperature stands.
        span: Span,
        /// Its temperature, K.
        bath: f64,
        /// The highest temperature at which something is to come over, K.
        top: f64,
    },
    /// Steam sent through a mixture.
    Steam {
        /// Where its amount stands.
        span: Span,
        /// kg of water.
        water: f64,
        /// kg that would carry over what steam carries.
        needed: f64,
        /// Share of it that comes over.
        share: f64,
    },
    /// Charcoal put to what is to be decolourised.
    Decolourised {
        /// Where its amount stands.
        span: Span,
        /// The charcoal.
        agent: Sub,
        /// kg of it.
        mass: f64,
        /// kg of the solid that is recrystallised, without its water.
        solid: f64,
    },
    /// A trap whose water layer would take up all that comes over.
    NoLayer {
        /// Where.
        span: Span,
        /// What most of the vapour is, besides water.
        carrier: Sub,
        /// Its share of the vapour, by mass.
        share: f64,
    },
    /// A portion thrown away.
    Discarded {
        /// Where its name stands.
        span: Span,
        /// Its name.
        name: String,
        /// What it holds.
        portion: Portion,
        /// The label.
        label: String,
        /// Where the label stands.
        label_span: Span,
    },
    /// A portion kept.
    Kept {
        /// Where its name stands.
        span: Span,
        /// The binding.
        binding: BindingId,
        /// What it holds.
        portion: Portion,
        /// The substance it is kept as, if it is one.
        kept_as: Option<Sub>,
    },
}
