//! Reactions with a rate, followed in time: at a temperature that is held, or at the boil, which moves as they go.

use super::pot::Pot;
use crate::chemistry::course::flask::{Equilibria as _, Over};
use crate::chemistry::course::reaction::{Reaction, Where, proceed};
use crate::chemistry::solve::SolveError;

/// Moments at which the reactions are looked at within the stated time.
const MOMENTS: f64 = 120.0;

/// Where reactions go on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum At {
    /// At this temperature, K.
    Held(f64),
    /// At the boil under this pressure, Pa; at this temperature, K, where it cannot be said what boils.
    Boil(f64, f64),
}

/// A moment: s from the beginning, the temperature in K, what is there and how far the reactions have gone, both in mol.
pub type Moment<'a> = dyn FnMut(f64, f64, &[f64], &[f64]) + 'a;

/// Lets `reactions` go on in `n` mol for so many of the `stated` seconds, and gives how far each has gone, mol. The steps
/// hang on the stated time alone: whoever follows them further finds the same at that time.
///
/// # Errors
/// What the reactions say, and the activities of a liquid that is held at a temperature.
pub fn follow(
    pot: &Pot<'_>,
    reactions: &[Reaction],
    n: &mut [f64],
    at: At,
    (stated, times): (f64, f64),
    look: &mut Moment<'_>,
) -> Result<Vec<f64>, SolveError> {
    let mut extents = vec![0.0; reactions.len()];
    let held = |t: f64| Ok::<_, SolveError>(Over { t, y: Vec::new(), gammas: pot.activities(n, t)? });
    let mut boiling = None;
    let mut here = match at {
        At::Held(t) => held(t)?,
        At::Boil(p, otherwise) => {
            let mut equilibria = pot.at(p);
            match equilibria.vapour(n) {
                Ok(over) => {
                    boiling = Some(equilibria);
                    over
                }
                Err(_) => held(otherwise)?,
            }
        }
    };
    look(0.0, here.t, n, &extents);
    let step = stated / MOMENTS;
    for moment in 1..=(MOMENTS * times).round() as u32 {
        if let Some(equilibria) = &mut boiling {
            // It boils as in the middle of the step.
            let mut middle = n.to_vec();
            proceed(&mut middle, reactions, Where { t: here.t, volumes: &pot.volumes, gammas: &here.gammas }, 0.5 * step)?;
            if let Ok(over) = equilibria.vapour(&middle) {
                here = over;
            }
        }
        let gone = proceed(n, reactions, Where { t: here.t, volumes: &pot.volumes, gammas: &here.gammas }, step)?;
        extents.iter_mut().zip(&gone).for_each(|(extent, gone)| *extent += gone);
        look(f64::from(moment) * step, here.t, n, &extents);
    }
    Ok(extents)
}
