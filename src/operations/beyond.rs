//! Vapour pressures asked for where their equations do not hold.

use crate::evaluate::{Context, Fact};
use crate::matter::mixture;
use crate::matter::portion::Masses;
use crate::resolve::definitions::Sub;

/// Mole fraction of the vapour from which it matters whether the vapour pressure of a substance is right. Our own figure.
const MATTERS: f64 = 0.02;

/// By how much an equation may miss the declared boiling point before it is told, K. Our own figure: those of the library
/// are within 2.5 K.
const MISSES: f64 = 5.0;

/// Notes what of a vapour, in mole fractions, has a vapour pressure at `t` K that its equation was not fitted to, or an
/// equation that misses the boiling point that is declared. Whether it is far enough to be told is for the judge.
pub fn look(context: &mut Context<'_>, vapour: impl Iterator<Item = (Sub, f64)>, t: f64) {
    let mut facts = Vec::new();
    for (sub, _) in vapour.filter(|(_, y)| *y > MATTERS) {
        let substance = context.defs.substance(sub);
        // No gas is asked how it boils: it goes over whole.
        if substance.is_gas() {
            continue;
        }
        let Some(law) = mixture::vapour_law(substance) else { continue };
        let declared = substance.boils.as_ref().map(|boils| boils.value);
        let by_law = law.boiling_point(crate::matter::boiling::ATMOSPHERE).ok();
        let misses = declared.zip(by_law).map_or(0.0, |(declared, by_law)| by_law - declared);
        let range = law.limits().filter(|(low, high)| t < *low || t > *high);
        if range.is_some() || misses.abs() > MISSES {
            let misses = Some(misses).filter(|misses| misses.abs() > MISSES);
            facts.push(Fact::Vapour { span: context.span(), sub, temperature: t, range, misses });
        }
    }
    context.eval.facts.extend(facts);
}

/// The same of what has come over, in kg, where that is decided at `t` K.
pub fn look_at(context: &mut Context<'_>, over: &Masses, t: f64) {
    let moles = |(sub, mass): (&Sub, &f64)| context.defs.substance(*sub).molar_mass().map(|molar| (*sub, mass / molar));
    let moles: Vec<(Sub, f64)> = over.iter().filter_map(moles).collect();
    let all: f64 = moles.iter().map(|(_, moles)| moles).sum();
    look(context, moles.into_iter().map(|(sub, moles)| (sub, moles / all)), t);
}
