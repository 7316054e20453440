//! From substances of the language to the equilibria of `chemistry::phase`: which of a portion's contents
//! boil and mix as molecules, by which model, and what had to be assumed.

use std::borrow::Cow;
use std::collections::BTreeSet;

use super::held::{self, Solutes};
use super::mixture::{self, Assumed, Widens};
use super::model::{self, Model};
use super::portion::Masses;
use crate::chemistry::activity::{Activity, Fit, Groups, MissingPair, Tables, group};
use crate::chemistry::held::Held;
use crate::chemistry::phase::{Component, Dimer, System};
use crate::resolve::binary_fit::Equation;
use crate::resolve::definitions::{Definitions, Sub, Substance};

/// Share of all molecules up to which something without groups only dilutes, so that a model still
/// answers for the rest. Our own figure.
const TRACE: f64 = 0.02;

/// The model that answers where it can.
pub const DEFAULT: Tables = Tables::Unifac;

/// The molecules of a liquid, as a system of `chemistry::phase`.
#[derive(Clone, Debug)]
pub struct Liquids {
    /// The substances in the order of the system's components.
    pub subs: Vec<Sub>,
    /// What is dissolved as ions and holds the molecules back.
    solutes: Solutes,
    /// Whether each component is held by them.
    are_held: Vec<bool>,
    /// A trace that only dilutes, with moles to a kilogram.
    traces: Vec<(Sub, f64)>,
    /// kg/mol of each component.
    molar: Vec<f64>,
    /// The equilibria.
    pub system: System,
    /// What they rest on.
    pub model: &'static Model,
    /// What had to be assumed, in sentences.
    pub said: Assumed,
    /// Why no model of activity answers, where none does.
    pub refusal: Option<Refusal>,
}

/// Why activities are not predicted.
#[derive(Clone, Debug, PartialEq)]
pub enum Refusal {
    /// These substances have no groups.
    NoGroups(Vec<Sub>),
    /// Two groups whose interaction is not published.
    Missing(MissingPair),
}

impl Refusal {
    /// The reason, in words.
    #[must_use]
    pub fn reason(&self, defs: &Definitions) -> String {
        match self {
            Refusal::NoGroups(subs) => {
                let names: Vec<String> = subs.iter().map(|sub| defs.substance(*sub).display()).collect();
                format!("there is no assignment of groups for {}", names.join(", "))
            }
            Refusal::Missing(pair) => format!("the interaction of the groups {} and {} is not published", pair.first, pair.second),
        }
    }
}

/// The groups of a molecule in one of the tables; `None` where none are declared or one has no such name.
fn groups_of(substance: &Substance, tables: Tables) -> Option<Groups> {
    let declared = match tables {
        Tables::Unifac => substance.groups.as_ref(),
        Tables::Dortmund => substance.dortmund_groups.as_ref(),
    }?;
    let parts: Option<Vec<_>> =
        declared.value.iter().map(|(count, name)| group(tables, name).map(|group| (group, u32::from(*count)))).collect();
    Groups::new(&parts?)
}

/// Whether a substance takes part as molecules that mix and may boil: not what dissolves as ions, a gas or what has no formula.
fn molecular(sub: Sub, defs: &Definitions) -> bool {
    let substance = defs.substance(sub);
    substance.formula.is_some() && !substance.is_gas() && !held::dissolves(sub, defs)
}

fn component(substance: &Substance) -> Component {
    Component {
        vapour: mixture::vapour_law(substance),
        dimer: substance.dimerises.as_ref().map(|dimer| Dimer::of_mmhg(dimer.value.0, dimer.value.1)),
        molar_mass: substance.molar_mass().unwrap_or(0.0),
    }
}

/// The declared fits between these substances.
fn fits_of(subs: &[Sub], defs: &Definitions) -> Vec<(usize, usize, Fit)> {
    let place = |name: &str| defs.find(name).and_then(|sub| subs.iter().position(|own| *own == sub));
    let fit = |equation: &Equation| match *equation {
        Equation::Margules([a12, a21]) => Fit::Margules { a12, a21 },
        Equation::Nrtl([a12, a21, b12, b21, alpha]) => Fit::Nrtl { a12, a21, b12, b21, alpha },
    };
    defs.binary_fits
        .iter()
        .filter_map(|declared| {
            let [first, second] = &declared.between;
            Some((place(first)?, place(second)?, fit(&declared.equation.value)))
        })
        .collect()
}

/// Activities of these substances by the given tables.
///
/// # Errors
/// What is not known.
fn activity(subs: &[Sub], defs: &Definitions, tables: Tables) -> Result<Activity, Refusal> {
    // Alone a molecule has nothing to differ from.
    if let [_] = subs {
        return Ok(Activity::ideal(1));
    }
    let fits = fits_of(subs, defs);
    let fitted = |i: usize, j: usize| fits.iter().any(|(a, b, _)| (*a, *b) == (i, j) || (*a, *b) == (j, i));
    let all_fitted = (0..subs.len()).all(|i| (0..i).all(|j| fitted(i, j)));
    let molecules: Vec<Option<Groups>> = subs.iter().map(|sub| groups_of(defs.substance(*sub), tables)).collect();
    let without: Vec<Sub> = subs.iter().zip(&molecules).filter(|(_, groups)| groups.is_none()).map(|(sub, _)| *sub).collect();
    if !without.is_empty() {
        // Where every pair was measured no groups are needed.
        if all_fitted {
            return Ok(fits.iter().fold(Activity::ideal(subs.len()), |ideal, (i, j, fit)| ideal.with_fit(*i, *j, *fit)));
        }
        return Err(Refusal::NoGroups(without));
    }
    let molecules: Vec<Groups> = molecules.into_iter().flatten().collect();
    Activity::groups_and_fits(tables, &molecules, &fits).map_err(Refusal::Missing)
}

impl Liquids {
    /// The system of what is in a liquid. Where the default model does not know a molecule or a pair of groups
    /// the other one is asked; where neither does it is Raoult's law, and `refusal` says why.
    #[must_use]
    pub fn of(masses: &Masses, defs: &Definitions) -> Self {
        Self::first_by(masses, defs, DEFAULT)
    }

    /// The same for liquids without water that stand and may part: there original UNIFAC parts alcohols and hydrocarbons
    /// up to temperatures that are 60 to 110 K too high, and Dortmund 14 K off on average (`tests/equilibria/parting.rs`).
    #[must_use]
    pub fn without_water(masses: &Masses, defs: &Definitions) -> Self {
        Self::first_by(masses, defs, Tables::Dortmund)
    }

    fn first_by(masses: &Masses, defs: &Definitions, tables: Tables) -> Self {
        let other = if tables == Tables::Dortmund { Tables::Unifac } else { Tables::Dortmund };
        let first = Self::by(masses, defs, tables);
        if first.refusal.is_none() {
            return first;
        }
        let second = Self::by(masses, defs, other);
        if second.refusal.is_none() { second } else { first }
    }

    /// The same by one of the tables alone.
    #[must_use]
    pub fn by(masses: &Masses, defs: &Definitions, tables: Tables) -> Self {
        let mut said = Assumed::new();
        let mut subs: Vec<Sub> = masses.iter().filter(|(sub, mass)| **mass >= 0.0 && molecular(**sub, defs)).map(|(sub, _)| *sub).collect();
        let solutes = Solutes::of(masses, defs);
        let mut traces: Vec<(Sub, f64)> = Vec::new();
        let amount = |sub: &Sub| masses.get(sub).copied().unwrap_or(0.0) / defs.substance(*sub).molar_mass().unwrap_or(1.0);
        let all: f64 = subs.iter().map(amount).sum();
        let mut refusal = None;
        let found = match activity(&subs, defs, tables) {
            Err(Refusal::NoGroups(without)) if all > 0.0 && without.iter().map(amount).sum::<f64>() <= TRACE * all => {
                let kept: BTreeSet<Sub> = without.iter().copied().collect();
                for sub in &without {
                    let sentence = format!(
                        "How {} behaves in a mixture is not known (no assignment of groups); it is taken to dilute the liquid and not to boil over, however much of it there is.",
                        defs.substance(*sub).display()
                    );
                    said.widen(Widens::NoGroups, sentence);
                }
                subs.retain(|sub| !kept.contains(sub));
                traces.extend(without.iter().map(|sub| (*sub, 1.0 / defs.substance(*sub).molar_mass().unwrap_or(1.0))));
                activity(&subs, defs, tables)
            }
            found => found,
        };
        let (activity, model) = match found {
            Ok(activity) => (activity, if tables == Tables::Dortmund { &model::DORTMUND } else { &model::UNIFAC }),
            Err(why) => {
                said.insert(format!("Vapour and liquid are worked out by Raoult's law, since {}.", why.reason(defs)));
                refusal = Some(why);
                (Activity::ideal(subs.len()), &model::RAOULT)
            }
        };
        let are_held: Vec<bool> = subs.iter().map(|sub| held::is_held(defs.substance(*sub))).collect();
        let holding: f64 = subs.iter().zip(&are_held).filter(|(_, held)| **held).map(|(sub, _)| amount(sub)).sum();
        solutes.say(&solutes.moles(masses), (all, holding), defs, &mut said);
        let components: Vec<Component> = subs.iter().map(|sub| component(defs.substance(*sub))).collect();
        for (sub, component) in subs.iter().zip(&components) {
            if component.vapour.is_none() && amount(sub) > 1e-3 * all {
                said.insert(format!("The boiling point of {} is not known; it is taken not to boil.", defs.substance(*sub).display()));
            }
        }
        let molar = components.iter().map(|component| component.molar_mass).collect();
        Self { subs, solutes, are_held, traces, molar, system: System::new(components, activity), model, said, refusal }
    }

    /// mol of each component.
    #[must_use]
    pub fn moles(&self, masses: &Masses) -> Vec<f64> {
        let of = |sub: &Sub| masses.get(sub).copied().unwrap_or(0.0).max(0.0);
        self.subs.iter().zip(&self.molar).map(|(sub, molar)| of(sub) / molar.max(1e-30)).collect()
    }

    /// kg of each component.
    #[must_use]
    pub fn masses(&self, moles: &[f64]) -> Masses {
        self.subs.iter().zip(&self.molar).zip(moles).map(|((sub, molar), moles)| (*sub, moles * molar)).collect()
    }

    /// Mass fractions of a composition in moles.
    #[must_use]
    pub fn by_mass(&self, moles: &[f64]) -> Vec<f64> {
        let masses: Vec<f64> = self.molar.iter().zip(moles).map(|(molar, moles)| molar * moles).collect();
        let all: f64 = masses.iter().sum();
        masses.into_iter().map(|mass| mass / all.max(f64::MIN_POSITIVE)).collect()
    }

    /// mol of each thing that is dissolved as ions.
    #[must_use]
    pub fn dissolved(&self, masses: &Masses) -> Vec<f64> {
        self.solutes.moles(masses)
    }

    /// mol of what only dilutes.
    #[must_use]
    pub fn traces(&self, masses: &Masses) -> f64 {
        self.traces.iter().map(|(sub, per)| masses.get(sub).copied().unwrap_or(0.0).max(0.0) * per).sum()
    }

    /// How far each of so many mol of the molecules is held back by so many mol of what is dissolved as ions and of what only
    /// dilutes; nothing where none of them is there.
    #[must_use]
    pub fn held(&self, moles: &[f64], dissolved: &[f64], traces: f64) -> Vec<Held> {
        if traces <= 0.0 && dissolved.iter().all(|moles| *moles <= 0.0) {
            return Vec::new();
        }
        let all: f64 = moles.iter().sum();
        let holding: f64 = moles.iter().zip(&self.are_held).filter(|(_, held)| **held).map(|(moles, _)| *moles).sum();
        let diluted = Held::diluted(if all > 0.0 { traces / all } else { 0.0 });
        let held = diluted.and(self.solutes.held(dissolved, holding));
        self.are_held.iter().map(|is_held| if *is_held { held } else { diluted }).collect()
    }

    /// The system as it boils with what is dissolved in these masses.
    #[must_use]
    pub fn boiling(&self, masses: &Masses) -> Cow<'_, System> {
        let held = self.held(&self.moles(masses), &self.dissolved(masses), self.traces(masses));
        if held.is_empty() { Cow::Borrowed(&self.system) } else { Cow::Owned(self.system.held_back(held)) }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
pub(crate) mod tests {
    use super::*;
    use crate::chemistry::close;
    use crate::load::Memory;
    use crate::source::Sources;

    /// The library's definitions of these.
    pub(crate) fn defs(words: &str) -> Definitions {
        let text = format!("operation name_all {{\n    form     name_all <what: {words}>\n    says     \"{{what}}\"\n}}\n");
        let loader = Memory::new([("all.scruple", text.as_str())]);
        crate::resolve::resolve("all.scruple", &loader, &mut Sources::default(), &mut Vec::new()).defs
    }

    fn masses(defs: &Definitions, parts: &[(&str, f64)]) -> Masses {
        parts.iter().map(|(name, mass)| (defs.find(name).unwrap(), *mass)).collect()
    }

    #[test]
    fn alcohol_and_water_boil_near_their_azeotrope() {
        let defs = defs("ethanol | water");
        let masses = masses(&defs, &[("ethanol", 0.955), ("water", 0.045)]);
        let liquids = Liquids::of(&masses, &defs);
        assert_eq!(liquids.refusal, None);
        let bubble = liquids.boiling(&masses).bubble(&liquids.moles(&masses), 101_325.0).unwrap();
        // Tables after Lange, 10th ed.: 78.1 °C.
        close("azeotrope", bubble.t - 273.15, 78.1, 0.3);
    }

    #[test]
    fn salt_raises_the_boiling_point_of_water() {
        let defs = defs("sodium_chloride | sodium_acetate | water");
        let boils = |salt: &str, share: f64| {
            let masses = masses(&defs, &[(salt, share), ("water", 1.0 - share)]);
            let liquids = Liquids::of(&masses, &defs);
            (liquids.boiling(&masses).bubble(&liquids.moles(&masses), 101_325.0).unwrap().t - 273.15, liquids.said)
        };
        // Handbooks give 108.7 °C for brine that is saturated at the boil, from memory; it is a row of the library.
        let (brine, said) = boils("sodium_chloride", 0.284);
        close("brine", brine, 108.7, 0.01);
        assert!(said.iter().any(|said| said.contains("read from where its solutions boil")));
        let (acetate, said) = boils("sodium_acetate", 0.284);
        assert!(acetate > 103.0 && acetate < brine, "{acetate}");
        assert!(said.iter().any(|said| said.contains("two particles")));
    }

    #[test]
    fn ions_hold_what_takes_them_up() {
        let defs = defs("sodium_chloride | water | toluene");
        let masses = masses(&defs, &[("sodium_chloride", 0.1), ("water", 0.5), ("toluene", 0.5)]);
        let liquids = Liquids::of(&masses, &defs);
        let held = liquids.held(&liquids.moles(&masses), &liquids.dissolved(&masses), 0.0);
        let of = |name: &str| held[liquids.subs.iter().position(|sub| *sub == defs.find(name).unwrap()).unwrap()].ln(360.0);
        assert!(of("toluene") == 0.0 && of("water") < -0.1, "{held:?}");
        assert_eq!(liquids.held(&liquids.moles(&masses), &[0.0], 0.0), Vec::new(), "nothing is dissolved");
        // What only dilutes does so with all of them.
        let traces = liquids.held(&[1.0, 1.0], &[0.0], 0.2);
        assert!(traces.iter().all(|held| (held.ln(360.0) + 1.1_f64.ln()).abs() < 1e-12), "{traces:?}");
    }

    #[test]
    fn what_has_no_groups_is_said() {
        let defs = defs("acetyl_chloride | toluene");
        let half = masses(&defs, &[("acetyl_chloride", 0.5), ("toluene", 0.5)]);
        let liquids = Liquids::of(&half, &defs);
        assert_eq!(liquids.model, &model::RAOULT);
        assert!(matches!(&liquids.refusal, Some(Refusal::NoGroups(subs)) if subs.len() == 1));
        let trace = masses(&defs, &[("acetyl_chloride", 0.005), ("toluene", 0.995)]);
        let liquids = Liquids::of(&trace, &defs);
        assert_eq!(liquids.refusal, None);
        assert_eq!(liquids.subs.len(), 1, "a trace only dilutes");
    }
}
