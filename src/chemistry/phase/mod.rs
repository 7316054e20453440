//! Vapour and liquids at equilibrium: bubble and dew points, liquids that part, azeotropes.
//!
//! The vapour is an ideal gas, save that carboxylic acids pair in it. Temperatures are in K, pressures in Pa,
//! compositions mole fractions. Vapour pressures are followed where they lead, also outside the range of their
//! fit: whoever asks looks at [`VapourPressure::in_range`]. A vapour's composition counts an acid that pairs as
//! single molecules.

mod azeotrope;
mod boil;
mod here;
mod line;
pub(super) mod linear;
mod parting;
mod three;
mod trial;

use std::fmt;
use std::sync::Arc;

use super::activity::Activity;
use super::held::Held;
use super::solve::SolveError;
use super::vapour::VapourPressure;
pub use azeotrope::{Azeotrope, Extremum, Kind};
pub use boil::{Boil, Dew, Flash};
use here::{Here, bubble_temperature, unit};

/// An acid that pairs in the vapour: `log10(K·Pa) = a + b/T`, with `K = p(pair)/p(single)²`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dimer {
    /// The part without temperature; K in 1/Pa.
    pub a: f64,
    /// K.
    pub b: f64,
}

/// log10 of a mmHg in Pa.
const LOG_MMHG: f64 = 2.124_902_934_5;

impl Dimer {
    /// Formic acid; Marek and Standart as tabulated by Gmehling and Onken, from memory.
    pub const FORMIC: Dimer = Dimer { a: -10.743 - LOG_MMHG, b: 3083.0 };
    /// Acetic acid; the same source.
    pub const ACETIC: Dimer = Dimer { a: -10.4205 - LOG_MMHG, b: 3166.0 };
    /// Propanoic acid; the same source.
    pub const PROPANOIC: Dimer = Dimer { a: -10.843 - LOG_MMHG, b: 3316.0 };

    /// From `log10(K·mmHg) = a + b/T`, as the constants are published.
    pub fn of_mmhg(a: f64, b: f64) -> Dimer {
        Dimer { a: a - LOG_MMHG, b }
    }

    /// K in 1/Pa at `t` in K.
    pub fn constant(self, t: f64) -> f64 {
        ((self.a + self.b / t) * std::f64::consts::LN_10).exp()
    }
}

/// One substance of a mixture.
#[derive(Clone, Debug, PartialEq)]
pub struct Component {
    /// `None`: it does not boil, and counts in the liquid alone.
    pub vapour: Option<VapourPressure>,
    /// How it pairs in the vapour, if it does.
    pub dimer: Option<Dimer>,
    /// kg/mol.
    pub molar_mass: f64,
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum PhaseError {
    /// The question makes no sense.
    BadInput {
        /// One plain sentence.
        what: &'static str,
    },
    /// No temperature between these gives the pressure.
    NoTemperature {
        /// Lowest temperature looked at, K.
        low: f64,
        /// Highest temperature looked at, K.
        high: f64,
    },
    /// More than four phases would form, which is not worked out.
    TooManyPhases,
    /// A search did not settle in the iterations it was granted.
    NoConvergence {
        /// What was sought.
        what: &'static str,
    },
}

impl fmt::Display for PhaseError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PhaseError::BadInput { what } => out.write_str(what),
            PhaseError::NoTemperature { low, high } => {
                write!(out, "No temperature between {low:.0} and {high:.0} K gives this pressure.")
            }
            PhaseError::TooManyPhases => out.write_str("More than four phases would form, which is not worked out."),
            PhaseError::NoConvergence { what } => write!(out, "The search for {what} did not settle."),
        }
    }
}

impl std::error::Error for PhaseError {}

impl From<PhaseError> for SolveError {
    fn from(error: PhaseError) -> SolveError {
        SolveError::BadInput { what: error.to_string() }
    }
}

/// Where one liquid begins to boil.
#[derive(Clone, Debug, PartialEq)]
pub struct Bubble {
    /// Temperature, K.
    pub t: f64,
    /// The vapour.
    pub y: Vec<f64>,
    /// Activity coefficients in the liquid.
    pub gamma: Vec<f64>,
}

/// One of the liquids there are.
#[derive(Clone, Debug, PartialEq)]
pub struct Liquid {
    /// Its share of all moles (of the liquids; in a flash, of everything).
    pub share: f64,
    /// Its composition.
    pub x: Vec<f64>,
    /// Activity coefficients in it.
    pub gamma: Vec<f64>,
}

impl Liquid {
    /// Whether another composition differs by no more than `within` in any mole fraction, nor in any activity: a trace that
    /// hardly dissolves parts at an activity near one.
    #[must_use]
    pub fn is_like(&self, x: &[f64], within: f64) -> bool {
        self.x.iter().zip(x).zip(&self.gamma).all(|((own, x), gamma)| (own - x).abs() * gamma.max(1.0) <= within)
    }
}

/// Components and what their activities are worked out from.
#[derive(Clone, Debug)]
pub struct System {
    // Shared, since a course asks for the same mixture with ever other amounts dissolved.
    components: Arc<[Component]>,
    activity: Arc<Activity>,
    /// What is dissolved holds each component back by so much; empty where nothing does.
    held: Vec<Held>,
}

impl System {
    /// A mixture. Every question to one whose activity has another number of components is refused.
    pub fn new(components: Vec<Component>, activity: Activity) -> System {
        System { components: components.into(), activity: Arc::new(activity), held: Vec::new() }
    }

    /// The same where what is dissolved holds the vapour of each component back by so much.
    #[must_use]
    pub fn held_back(&self, held: Vec<Held>) -> System {
        System { components: Arc::clone(&self.components), activity: Arc::clone(&self.activity), held }
    }

    /// Number of components.
    pub fn len(&self) -> usize {
        self.components.len()
    }

    /// Whether there is no component at all.
    pub fn is_empty(&self) -> bool {
        self.components.is_empty()
    }

    /// The components.
    pub fn components(&self) -> &[Component] {
        &self.components
    }

    /// What the activities are worked out from.
    pub fn activity(&self) -> &Activity {
        &self.activity
    }

    /// The components at these places alone, in this order; places that are none are left out.
    pub fn subset(&self, members: &[usize]) -> System {
        let components = members.iter().filter_map(|member| self.components.get(*member).cloned()).collect();
        let held = members.iter().filter_map(|member| self.held.get(*member).copied()).collect();
        System { components, activity: Arc::new(self.activity.subset(members)), held }
    }

    /// Where `x`, taken as one liquid, begins to boil at `p`.
    ///
    /// If it parts into two liquids this is not the truth: ask [`System::boil`].
    ///
    /// # Errors
    ///
    /// `BadInput` for amounts or a pressure that make no sense or nothing that boils, `NoTemperature` or
    /// `NoConvergence` if none is found.
    pub fn bubble(&self, x: &[f64], p: f64) -> Result<Bubble, PhaseError> {
        let x = self.composition(x)?;
        self.pressure(p)?;
        let guess = self.boiling_guess(&x, p)?;
        self.bubble_near(x, p, guess)
    }

    /// The same, sought from where another mixture was seen to boil, `from` of it in all.
    ///
    /// # Errors
    ///
    /// As for [`System::bubble`].
    pub fn bubble_from(&self, x: &[f64], p: f64, from: &[f64], seen: &Boil) -> Result<Bubble, PhaseError> {
        let x = self.composition(x)?;
        self.pressure(p)?;
        self.volatile(&x)?;
        let guess = boil::beside(seen, from, &x);
        self.bubble_near(x, p, guess)
    }

    fn bubble_near(&self, x: Vec<f64>, p: f64, guess: f64) -> Result<Bubble, PhaseError> {
        let mut here = Here::new(self, guess);
        let t = bubble_temperature(&mut here, &x, p, guess)?;
        let mut gamma = vec![0.0; x.len()];
        here.at.ln_gamma(&x, &mut gamma);
        let y = here.vapour_over(&x, &gamma);
        gamma.iter_mut().for_each(|log| *log = log.exp());
        Ok(Bubble { t, y, gamma })
    }

    /// Mole fractions of amounts, or why they are none.
    fn composition(&self, amounts: &[f64]) -> Result<Vec<f64>, PhaseError> {
        if amounts.len() != self.len() || self.activity.len() != self.len() {
            return Err(PhaseError::BadInput { what: "There are not as many amounts or activities as components." });
        }
        if !amounts.iter().all(|amount| amount.is_finite() && *amount >= 0.0) {
            return Err(PhaseError::BadInput { what: "An amount is not a number at least zero." });
        }
        unit(amounts).ok_or(PhaseError::BadInput { what: "There is nothing of anything." })
    }

    fn pressure(&self, p: f64) -> Result<(), PhaseError> {
        if p.is_finite() && p > 0.0 { Ok(()) } else { Err(PhaseError::BadInput { what: "The pressure is not a number above zero." }) }
    }

    /// Refuses what does not boil at all.
    fn volatile(&self, x: &[f64]) -> Result<(), PhaseError> {
        if self.components.iter().zip(x).any(|(component, x)| component.vapour.is_some() && *x > 0.0) {
            return Ok(());
        }
        Err(PhaseError::BadInput { what: "Nothing in the liquid is volatile." })
    }

    /// A temperature near which the mixture might boil.
    fn boiling_guess(&self, x: &[f64], p: f64) -> Result<f64, PhaseError> {
        self.volatile(x)?;
        let (mut weight, mut inverse) = (0.0, 0.0);
        for (component, x) in self.components.iter().zip(x) {
            let Some(curve) = component.vapour.as_ref().filter(|_| *x > 0.0) else { continue };
            if let Ok(t) = curve.boiling_point(p) {
                weight += x;
                inverse += x / t;
            }
        }
        Ok(if weight > 0.0 { weight / inverse } else { 373.15 })
    }
}
