//! What boils in a still, asked for many compositions that lie close together.

use std::borrow::Cow;
use std::cell::{Cell, RefCell};
use std::collections::VecDeque;

use super::{Vapour, fractions};
use crate::chemistry::held::Held;
use crate::chemistry::phase::{Boil, PhaseError, System};

/// How far from a composition that is one liquid another is taken for one without asking whether it parts, in mole
/// fractions. Over the edge to two liquids the vapour changes without a jump, so that this is not seen in it.
const NEAR: f64 = 2e-4;

/// The same in activities: what hardly dissolves changes the vapour much by little of it.
const NEAR_IN_ACTIVITY: f64 = 2e-3;

/// Compositions that are remembered: those of some rounds on the plates of a column.
const REMEMBERED: usize = 96;

/// How often one distillation may ask what boils: a column that asks more often does not settle in a time that anybody
/// waits for.
pub const GRANTED: usize = 200_000;

/// A mixture at a pressure, with the compositions at which it was seen to boil.
pub struct Boiler<'a> {
    system: &'a System,
    p: f64,
    seen: RefCell<VecDeque<(Vec<f64>, Boil)>>,
    left: Cell<usize>,
}

impl<'a> Boiler<'a> {
    /// A mixture at `p` Pa.
    #[must_use]
    pub fn new(system: &'a System, p: f64) -> Boiler<'a> {
        Boiler::granting(system, p, GRANTED)
    }

    /// The same where so many questions are granted.
    #[must_use]
    pub fn granting(system: &'a System, p: f64, granted: usize) -> Boiler<'a> {
        Boiler { system, p, seen: RefCell::new(VecDeque::new()), left: Cell::new(granted) }
    }

    /// Where `x` boils and what its vapour is, where what is dissolved holds each component back by so much; nothing does
    /// where `held` is empty.
    ///
    /// # Errors
    ///
    /// As for [`System::boil`]; `NoConvergence` once it was asked more often than is granted.
    pub fn boil(&self, x: &[f64], held: Vec<Held>) -> Result<Vapour, PhaseError> {
        let left = self.left.get().checked_sub(1).ok_or(PhaseError::NoConvergence { what: "the plates of a column" })?;
        self.left.set(left);
        let system = if held.is_empty() { Cow::Borrowed(self.system) } else { Cow::Owned(self.system.held_back(held)) };
        let x = fractions(x).ok_or(PhaseError::BadInput { what: "There is nothing of anything." })?;
        let mut seen = self.seen.borrow_mut();
        let mut nearest: Option<(f64, &(Vec<f64>, Boil))> = None;
        for one in seen.iter().rev() {
            let far = one.0.iter().zip(&x).fold(0.0_f64, |far, (a, b)| far.max((a - b).abs()));
            if far < NEAR
                && let [single] = one.1.liquids.as_slice()
                && single.is_like(&x, NEAR_IN_ACTIVITY)
            {
                return system.bubble_from(&x, self.p, &one.0, &one.1).map(|bubble| (bubble.t, bubble.y));
            }
            if nearest.is_none_or(|(least, _)| far < least) {
                nearest = Some((far, one));
            }
        }
        let boil = match nearest {
            Some((_, (other, near))) => system.boil_from(&x, self.p, other, near)?,
            None => system.boil(&x, self.p)?,
        };
        if seen.len() >= REMEMBERED {
            seen.pop_front();
        }
        let vapour = (boil.t, boil.y.clone());
        seen.push_back((x, boil));
        Ok(vapour)
    }
}
