//! What is dissolved as ions and how it holds back the molecules that it is dissolved in: by the boiling points of its
//! solutions where the library has them, else as two particles to each mole.

use super::mixture::{self, Assumed, Widens};
use super::portion::Masses;
use crate::chemistry::held::{self, Curve, Held};
use crate::resolve::definitions::{Definitions, Sub, Substance};

/// Share of all molecules from which it is said how a solute is counted. Our own figure.
const TOLD: f64 = 1e-3;

/// Something that is no part of the molecules that mix and boil.
#[derive(Clone, Debug)]
struct Solute {
    sub: Sub,
    /// kg/mol.
    molar: f64,
    /// How strongly it holds water, where that is known.
    curve: Option<Curve>,
}

/// What is dissolved in a liquid.
#[derive(Clone, Debug, Default)]
pub struct Solutes {
    each: Vec<Solute>,
}

/// Whether a substance goes into a liquid as ions, or is no molecule that any model here knows how to mix: salts, strong acids
/// and bases, hydrates, and what has a table of how its solutions in water boil.
#[must_use]
pub fn dissolves(sub: Sub, defs: &Definitions) -> bool {
    let substance = defs.substance(sub);
    substance.is_ionic() || substance.crystal_water.is_some() || is_tabulated(sub, defs)
}

/// Whether it is known where its solutions in water boil.
#[must_use]
pub fn is_tabulated(sub: Sub, defs: &Definitions) -> bool {
    !rows(defs.substance(sub), defs).is_empty()
}

/// Whether molecules of this kind are held by what is dissolved among them: those with oxygen or nitrogen, each like one
/// of water. Ions do not go among the others. Our own rule.
#[must_use]
pub fn is_held(substance: &Substance) -> bool {
    let atoms = |formula: &crate::chemistry::formula::Formula| ["O", "N"].iter().any(|element| formula.atoms().contains_key(*element));
    substance.formula.as_ref().is_some_and(|formula| atoms(&formula.value))
}

/// Where solutions of a substance in water boil; of a hydrate, those of what it is without its water.
fn rows<'a>(substance: &Substance, defs: &'a Definitions) -> &'a [(f64, f64)] {
    let name = substance.crystal_water.as_ref().map_or(&substance.name, |(dry, _)| dry);
    let own = defs.solutions.iter().find(|solution| solution.solute == *name && !solution.boils.is_empty());
    own.map_or(&[], |solution| solution.boils.as_slice())
}

fn curve(substance: &Substance, defs: &Definitions) -> Option<Curve> {
    let rows = rows(substance, defs);
    let dry = substance.crystal_water.as_ref().map_or(Some(substance), |(dry, _)| Some(defs.substance(defs.find(dry)?)))?;
    let (sub, water) = (defs.find(&dry.name)?, defs.substance(defs.find("water")?));
    let law = mixture::vapour_law(water)?;
    let heat = |ratio: f64| defs.integral_heat(sub, ratio).unwrap_or(0.0);
    Curve::new(rows, (dry.molar_mass()?, water.molar_mass()?), |t| law.pressure(t), heat)
}

impl Solutes {
    /// What of these is dissolved.
    #[must_use]
    pub fn of(masses: &Masses, defs: &Definitions) -> Solutes {
        let solute = |(sub, mass): (&Sub, &f64)| {
            let substance = defs.substance(*sub);
            let molar = substance.molar_mass().filter(|_| *mass >= 0.0 && !substance.is_gas() && dissolves(*sub, defs))?;
            Some(Solute { sub: *sub, molar, curve: curve(substance, defs) })
        };
        Solutes { each: masses.iter().filter_map(solute).collect() }
    }

    /// Whether nothing is dissolved.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.each.is_empty()
    }

    /// Number of solutes.
    #[must_use]
    pub fn len(&self) -> usize {
        self.each.len()
    }

    /// mol of each.
    #[must_use]
    pub fn moles(&self, masses: &Masses) -> Vec<f64> {
        self.each.iter().map(|solute| masses.get(&solute.sub).copied().unwrap_or(0.0).max(0.0) / solute.molar).collect()
    }

    /// How far so many mol of each hold back `holding` mol of molecules.
    #[must_use]
    pub fn held(&self, moles: &[f64], holding: f64) -> Held {
        held::held(moles.iter().zip(&self.each).map(|(moles, solute)| (*moles, solute.curve.as_ref())), holding)
    }

    /// Particles that so many mol of each count for, all together, as their solutions boil at one atmosphere.
    #[must_use]
    pub fn particles(&self, moles: &[f64], holding: f64) -> f64 {
        let each = moles.iter().zip(&self.each).map(|(moles, solute)| (*moles, solute.curve.as_ref()));
        held::crowd(each, holding).map_or(0.0, |crowd| crowd.particles * holding)
    }

    /// What has to be said of them, in sentences: `molecules` mol of molecules are there, of which `holding` mol are held.
    pub fn say(&self, moles: &[f64], (molecules, holding): (f64, f64), defs: &Definitions, said: &mut Assumed) {
        let all: f64 = moles.iter().sum();
        let told = |(_, moles): &(&Solute, &f64)| **moles > TOLD * molecules;
        let (known, plain): (Vec<_>, Vec<_>) = self.each.iter().zip(moles).filter(told).partition(|(solute, _)| solute.curve.is_some());
        let names = |some: &[(&Solute, &f64)]| {
            some.iter().map(|(solute, _)| defs.substance(solute.sub).display()).collect::<Vec<_>>().join(" and ")
        };
        if !known.is_empty() {
            let [holds, whose] = if known.len() == 1 { ["holds", "its"] } else { ["hold", "their"] };
            said.widen(Widens::HeldByTable, format!(
                "How far {} {holds} water back is read from where {whose} solutions boil; other molecules with oxygen or nitrogen are held alike, mole for mole.",
                names(&known)
            ));
        }
        let beyond: Vec<_> = known
            .iter()
            .copied()
            .filter(|(solute, _)| solute.curve.as_ref().is_some_and(|curve| all > curve.strongest() * (1.0 + 1e-9) * holding))
            .collect();
        if !beyond.is_empty() {
            said.insert(format!(
                "There is more of {} in it than in the strongest solution of its table: it is taken to hold no more than that.",
                names(&beyond)
            ));
        }
        if !plain.is_empty() {
            let count = if plain.len() == 1 { "counts" } else { "each count" };
            said.widen(
                Widens::Ions,
                format!(
                    "Salts and mineral acids are outside the model of boiling: {} {count} as two particles that dilute what they are in.",
                    names(&plain)
                ),
            );
        }
    }
}
