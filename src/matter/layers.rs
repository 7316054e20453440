//! Parting into an organic and a watery layer: which substances are what, and what the models give.
//!
//! In order of precedence: how far a liquid and water dissolve in one another as measured; the groups of the
//! molecule for everything that mixes with both and for what stands beside; the octanol/water partition, to
//! which the groups of the rest are tied, and which stands alone where there are no groups. Ions stay in the
//! water. What the groups cannot take goes by the rule of `rough.rs`.

use super::mixture::{Assumed, ROOM, Widens, models, own_density, volume};
use super::portion::Masses;
use super::rough;
use crate::chemistry::acidity::Proton;
use crate::chemistry::activity::{Activity, Groups, Tables, group};
use crate::chemistry::shaking::{Passive, Shaken, Shaking, Tie};
use crate::resolve::declare::WATER_MOLAR_MASS;
use crate::resolve::definitions::{Definitions, Sub, Substance};

/// Two layers, or one liquid.
#[derive(Clone, Debug, Default)]
pub struct Layers {
    /// The layer of organic liquids, kg.
    pub organic: Masses,
    /// The layer of water, kg.
    pub aqueous: Masses,
    /// kg/m³.
    pub organic_density: f64,
    /// kg/m³.
    pub aqueous_density: f64,
    /// pH of the water, where an acid or a base is in it and it was worked out.
    pub ph: Option<f64>,
    /// The model.
    pub model: &'static str,
    /// Why there is but one liquid, when there is.
    pub single: Option<String>,
    /// What makes it doubtful whether it parts at all; the layers are then those of one that does.
    pub unsure: Option<String>,
}

/// Groups of the modified table: of the two it lies nearer to measured partitions.
const TABLES: Tables = Tables::Dortmund;

/// Share of the organic layer's volume that is carried over as drops of the water layer. Our own
/// figure, for careful parting.
pub const DROPS: f64 = 0.005;

/// Mass fraction of strong acid in acid and water above which groups say nothing of what dissolves in it.
/// Our own figure.
const STRONG: f64 = 0.5;

/// Share of the organic liquids that may lack groups. Our own figure.
const UNKNOWN: f64 = 0.1;

/// Share of a substance in the water, and of it in the whole, from which it is told that its sharing is only estimated. Our
/// own figure.
const SPREADS: f64 = 0.01;

/// mol of ionic strength in a litre of water from which salt may drive out of it what mixes with it. Our own figure.
const DRIVES_OUT: f64 = 0.8;

/// What common salt does not drive out, saturated though the water be: Fluid Phase Equilibria 2007, 251, 24 (abstract).
/// Propanols, acetone and what is less at home in water it does.
const NOT_BY_COMMON_SALT: [&str; 2] = ["methanol", "ethanol"];

/// Share of what mixes with both liquids below which it is not what holds them together. Our own figure.
const LITTLE: f64 = 0.02;

/// pKa of a base from which all of it is hydroxide in water.
const CAUSTIC: f64 = 14.0;

/// Parts a mixture into an organic and an aqueous layer.
///
/// # Errors
/// The substance whose density is not known and would be needed.
pub fn layers(masses: &Masses, defs: &Definitions, assumed: &mut Assumed) -> Result<Layers, Sub> {
    let water = defs.find("water").filter(|water| masses.get(water).is_some_and(|mass| *mass > 0.0));
    let Some(water) = water else {
        return Ok(Layers { single: Some("there is no water in it".to_owned()), ..Layers::default() });
    };
    let Some(sorted) = sort(masses, water, defs, assumed) else { return rough::layers(masses, defs, assumed) };
    let all_mix = sorted.active.iter().skip(1).all(|one| one.miscible) && sorted.passive.is_empty();
    if all_mix && !drives_out(masses, &sorted, defs) {
        return Ok(Layers { single: Some("everything in it mixes with water".to_owned()), ..Layers::default() });
    }
    let Some((activity, ties)) = model(&sorted) else { return rough::layers(masses, defs, assumed) };
    let n = ties.len();
    let pad = |mut values: Vec<f64>| {
        values.resize(n, 0.0);
        values
    };
    let shaking = Shaking {
        activity: &activity,
        temperature: ROOM,
        moles: pad(sorted.active.iter().map(|one| one.mass / one.molar).collect()),
        volumes: pad(sorted.active.iter().map(|one| one.molar / one.density).collect()),
        ties,
        miscible: sorted.active.iter().map(|one| one.miscible).collect(),
        taken: sorted.active.iter().map(taken).collect(),
        passive: sorted
            .passive
            .iter()
            .map(|(one, ratio)| Passive {
                moles: one.mass / one.molar,
                volume: one.molar / one.density,
                ratio: *ratio,
                proton: one.proton.clone(),
            })
            .collect(),
        ions: sorted.ions,
        strength: sorted.strength,
        ion_volume: sorted.ion_volume,
        hydroxide: sorted.hydroxide,
        protons: sorted.active.iter().map(|one| one.proton.clone()).collect(),
        in_water: sorted.in_water,
    };
    let bridge: f64 = sorted.active.iter().skip(1).filter(|one| one.miscible).map(|one| one.mass).sum();
    let (shares, ph) = match shaking.part() {
        Shaken::Two { shares, ph } => (shares, ph),
        one => {
            let why = match one {
                _ if all_mix => "everything in it mixes with water".to_owned(),
                Shaken::InOrganic => "the organic liquid dissolves all the water in it".to_owned(),
                Shaken::InWater => "the water dissolves all the organic liquid in it".to_owned(),
                // With next to nothing between them one dissolves the other, the greater the lesser.
                _ if bridge < LITTLE * masses.values().sum::<f64>() => {
                    let own = sorted.active.first().map_or(0.0, |water| water.mass);
                    let lesser = own < 0.5 * sorted.active.iter().map(|one| one.mass).sum::<f64>();
                    let (greater, lesser) = if lesser { ("organic liquid", "water") } else { ("water", "organic liquid") };
                    format!("the {greater} dissolves all the {lesser} in it")
                }
                _ => format!(
                    "{:.0} % of it mixes with both water and the organic liquid, and so holds them together",
                    100.0 * bridge / masses.values().sum::<f64>()
                ),
            };
            return Ok(Layers { single: Some(why), model: models::LAYERS, ..Layers::default() });
        }
    };
    let mut organic = Masses::new();
    let active = sorted.active.iter().zip(&shares);
    let passive = sorted.passive.iter().map(|(one, _)| one).zip(shares.iter().skip(n));
    for (one, share) in active.chain(passive) {
        organic.insert(one.sub, one.mass * share.clamp(0.0, 1.0));
    }
    let aqueous = masses.iter().map(|(sub, mass)| (*sub, mass - organic.get(sub).copied().unwrap_or(0.0))).collect();
    let total: f64 = masses.values().sum();
    for one in sorted.active.iter().skip(1) {
        let matters = organic.get(&one.sub).is_some_and(|mass| *mass > 0.05 * total);
        if matters && !one.miscible && one.substance.takes_up.is_none() && one.substance.is_solid(ROOM) == Some(false) {
            let name = one.substance.display();
            let sentence = format!("How much water {name} takes up is not declared; it is predicted from the groups of its molecule.");
            assumed.widen(Widens::WaterByGroups, sentence);
        }
    }
    let mut layers = finish(organic, aqueous, defs, assumed)?;
    for one in sorted.active.iter().skip(1).chain(sorted.passive.iter().map(|(one, _)| one)) {
        let goes = layers.aqueous.get(&one.sub).is_some_and(|mass| *mass > SPREADS * one.mass);
        if !one.miscible && goes && one.mass > SPREADS * total && one.substance.is_shared_by_estimate() {
            let by = if one.substance.partition.is_some() { "octanol/water partition, which is an estimate" } else { "groups" };
            assumed.insert(format!(
                "How {} is shared between water and organic liquid rests on its {by}: what water takes of it may be off by a factor of three.",
                one.substance.display()
            ));
        }
    }
    let beside = shaking.passive.iter().map(|one| &one.proton);
    let mut protons = shaking.protons.iter().chain(beside).flatten().chain(&shaking.in_water);
    layers.ph = (sorted.hydroxide > 0.0 || protons.any(|one| one.moles > 0.0)).then_some(ph);
    layers.model = models::LAYERS;
    if all_mix {
        // The rule parts spirit from brine too, which stays one liquid: that it parts is no more than a guess.
        let salts: Vec<String> = salts(masses, defs).map(Substance::display).collect();
        let liquids: Vec<String> = sorted.active.iter().skip(1).map(|one| one.substance.display()).collect();
        let (salts, liquids) = (salts.join(" and "), liquids.join(" and "));
        let unsure = format!("it may part, since {salts} may drive {liquids} out of the water, and no model here says whether and how far");
        assumed.insert(format!("Whether there are two layers is not known: {unsure}. It is worked out as if it did."));
        layers.unsure = Some(unsure);
    }
    Ok(layers)
}

/// What drives others out of water.
fn salts<'a>(masses: &'a Masses, defs: &'a Definitions) -> impl Iterator<Item = &'a Substance> {
    masses.keys().map(|sub| defs.substance(*sub)).filter(|one| one.is_ionic() && ionic_strength(one) > 0.0)
}

/// Whether there is so much salt that it may drive what mixes with water out of it.
fn drives_out(masses: &Masses, sorted: &Sorted<'_>, defs: &Definitions) -> bool {
    let litres = sorted.active.first().map_or(0.0, |water| water.mass / water.density * 1e3);
    let stay = sorted.active.iter().skip(1).all(|one| NOT_BY_COMMON_SALT.contains(&one.substance.name.as_str()))
        && salts(masses, defs).all(|salt| salt.name == "sodium_chloride");
    sorted.active.len() > 1 && sorted.strength > DRIVES_OUT * litres && !stay
}

/// Leaves drops of the water layer with the organic one, and weighs both.
pub(super) fn finish(mut organic: Masses, mut aqueous: Masses, defs: &Definitions, assumed: &mut Assumed) -> Result<Layers, Sub> {
    if organic.values().all(|mass| *mass <= 0.0) {
        return Ok(Layers { single: Some("everything in it mixes with water".to_owned()), ..Layers::default() });
    }
    let v_organic = volume(&organic, defs, assumed)?;
    let v_aqueous = volume(&aqueous, defs, assumed)?;
    let carried = (DROPS * v_organic / v_aqueous.max(1e-30)).min(0.2);
    for (sub, mass) in &mut aqueous {
        let drop = *mass * carried;
        *mass -= drop;
        *organic.entry(*sub).or_insert(0.0) += drop;
    }
    organic.retain(|_, mass| *mass > 0.0);
    aqueous.retain(|_, mass| *mass > 0.0);
    let density = |layer: &Masses, assumed: &mut Assumed| -> Result<f64, Sub> {
        let mass: f64 = layer.values().sum();
        Ok(mass / volume(layer, defs, assumed)?.max(1e-30))
    };
    let organic_density = density(&organic, assumed)?;
    let aqueous_density = density(&aqueous, assumed)?;
    Ok(Layers { organic, aqueous, organic_density, aqueous_density, ..Layers::default() })
}

/// A substance that may lie in either layer.
struct Liquid<'a> {
    sub: Sub,
    substance: &'a Substance,
    mass: f64,
    molar: f64,
    density: f64,
    miscible: bool,
    groups: Option<Groups>,
    proton: Option<Proton<'a>>,
}

/// What is in the mixture, by what it does when it is shaken.
struct Sorted<'a> {
    /// Water first.
    active: Vec<Liquid<'a>>,
    passive: Vec<(Liquid<'a>, f64)>,
    ions: f64,
    strength: f64,
    ion_volume: f64,
    hydroxide: f64,
    in_water: Vec<Proton<'a>>,
}

/// `None` where the model does not hold.
fn sort<'a>(masses: &Masses, water: Sub, defs: &'a Definitions, assumed: &mut Assumed) -> Option<Sorted<'a>> {
    let water_mass = masses.get(&water).copied().unwrap_or(0.0);
    let acid: f64 = masses.iter().filter(|(sub, _)| defs.substance(**sub).is_strong_acid()).map(|(_, mass)| mass).sum();
    if acid > STRONG * (acid + water_mass) {
        return None;
    }
    let mut active = Vec::new();
    let mut without = Vec::new();
    let mut charged: Vec<(&Substance, f64)> = Vec::new();
    let liquid = |sub: Sub, mass: f64| {
        let substance = defs.substance(sub);
        let molar = substance.molar_mass()?;
        let density = own_density(substance).unwrap_or(1200.0);
        Some(Liquid { sub, substance, mass, molar, density, miscible: substance.is_miscible(), groups: groups(substance), proton: None })
    };
    active.push(liquid(water, water_mass)?);
    let mut ion_volume = 0.0;
    for (sub, mass) in masses {
        let substance = defs.substance(*sub);
        if *sub == water || *mass <= 0.0 {
            continue;
        }
        let Some(molar) = substance.molar_mass() else { continue };
        if substance.is_ionic() {
            charged.push((substance, mass / molar));
            ion_volume += mass / own_density(substance).unwrap_or(2000.0);
            continue;
        }
        let one = liquid(*sub, *mass)?;
        if one.groups.is_some() { active.push(one) } else { without.push(one) }
    }
    active.first()?.groups.as_ref()?;
    keep_published(&mut active, &mut without);
    // Where what lacks groups makes up much of the organic liquid, the rest cannot be worked out around it.
    let neutral: f64 = active.iter().skip(1).chain(&without).map(|one| one.mass).sum();
    let unknown: f64 = without.iter().filter(|one| !one.miscible || one.substance.partition.is_some()).map(|one| one.mass).sum();
    if unknown > UNKNOWN * neutral {
        return None;
    }
    let mut passive: Vec<(Liquid<'_>, f64)> =
        without.into_iter().filter_map(|one| beside(one.substance, assumed).map(|ratio| (one, ratio))).collect();
    let mut salts: Vec<(&Substance, f64)> = charged.iter().map(|(substance, moles)| (*substance, *moles)).collect();
    for one in active.iter_mut().chain(passive.iter_mut().map(|(one, _)| one)) {
        if one.substance.acidity.is_empty() && one.substance.basicity.is_none() {
            continue;
        }
        let mut as_salt = 0.0;
        salts.retain(|(salt, moles)| {
            let own = salt.is("salt") && is_salt_of(salt, one.substance);
            as_salt += if own { *moles } else { 0.0 };
            !own
        });
        one.proton = Some(proton(one.substance, one.mass / one.molar, as_salt));
    }
    let mut in_water = Vec::new();
    let mut hydroxide = 0.0;
    for (substance, moles) in salts {
        if substance.basicity.as_ref().is_some_and(|pka| pka.value >= CAUSTIC) || substance.basicity.is_none() && substance.is("base") {
            hydroxide += moles * substance.takes_acid.unwrap_or(1.0);
        } else if !substance.acidity.is_empty() || substance.basicity.is_some() {
            in_water.push(proton(substance, moles, 0.0));
        }
    }
    let ions = charged.iter().map(|(substance, moles)| moles * (f64::from(charges(substance)) + 1.0)).sum();
    let strength = charged.iter().map(|(substance, moles)| moles * ionic_strength(substance)).sum();
    Some(Sorted { active, passive, ions, strength, ion_volume, hydroxide, in_water })
}

fn proton<'a>(substance: &'a Substance, moles: f64, as_salt: f64) -> Proton<'a> {
    Proton { moles, gives: &substance.acidity, takes: substance.basicity.as_ref().map(|pka| pka.value), as_salt, ratio: 0.0 }
}

/// Whether a salt is what an acid becomes with an alkali, or an amine with hydrogen halide.
fn is_salt_of(salt: &Substance, of: &Substance) -> bool {
    let (Some(salt), Some(own)) = (&salt.formula, &of.formula) else { return false };
    let own = own.value.atoms();
    let mut more = salt.value.atoms().clone();
    for (atom, count) in own {
        *more.entry(atom.clone()).or_insert(0.0) -= count;
    }
    more.retain(|_, count| *count != 0.0);
    let is = |wanted: [(&[&str], f64); 2]| {
        more.len() == 2
            && more.iter().all(|(atom, count)| wanted.iter().any(|(atoms, much)| atoms.contains(&atom.as_str()) && count == much))
    };
    if of.acidity.is_empty() { is([(&["H"], 1.0), (&["Cl", "Br", "I"], 1.0)]) } else { is([(&["H"], -1.0), (&["Na", "K", "Li"], 1.0)]) }
}

/// Charges on the ion that comes once in a formula: of the anion of an alkali salt, of an alkaline earth.
fn charges(salt: &Substance) -> u32 {
    let count = |symbols: &[&str]| -> f64 {
        let atoms = salt.formula.as_ref().map(|formula| formula.value.atoms());
        atoms.map_or(0.0, |atoms| symbols.iter().filter_map(|symbol| atoms.get(*symbol)).sum())
    };
    let alkali = count(&["Na", "K", "Li"]).round();
    if alkali > 1.0 {
        3_u32.min(alkali as u32)
    } else if count(&["Mg", "Ca", "Ba", "Cu", "Fe", "Zn"]) > 0.0 {
        2
    } else {
        1
    }
}

/// mol of ionic strength in a mol of what drives others out of water; acids do so hardly at all.
fn ionic_strength(substance: &Substance) -> f64 {
    if substance.is_strong_acid() && !substance.is("salt") {
        return 0.0;
    }
    let charges = f64::from(charges(substance));
    0.5 * charges * (charges + 1.0)
}

/// Moves to `without` what stands in no published interaction with the rest: the least of it first.
fn keep_published<'a>(active: &mut Vec<Liquid<'a>>, without: &mut Vec<Liquid<'a>>) {
    let published = |some: &[Liquid<'_>]| {
        let molecules: Vec<Groups> = some.iter().filter_map(|one| one.groups.clone()).collect();
        Activity::groups(TABLES, &molecules).is_ok()
    };
    if published(active) {
        return;
    }
    let mut rest: Vec<Liquid<'a>> = active.drain(1..).collect();
    rest.sort_by(|a, b| b.mass.total_cmp(&a.mass).then(a.sub.cmp(&b.sub)));
    for one in rest {
        active.push(one);
        if !published(active)
            && let Some(odd) = active.pop()
        {
            without.push(odd);
        }
    }
}

/// The activities, with octanol behind the components where a partition ties one to it, and the ties.
fn model(sorted: &Sorted<'_>) -> Option<(Activity, Vec<Tie>)> {
    let mut molecules: Vec<Groups> = sorted.active.iter().filter_map(|one| one.groups.clone()).collect();
    let n = molecules.len();
    let by: Vec<Measured> = sorted.active.iter().map(|one| measured(one.substance)).collect();
    let mut activity = Activity::groups(TABLES, &molecules).ok()?;
    let mut octanol = None;
    if by.iter().any(|by| matches!(by, Measured::Partition(_))) {
        molecules.push(named(&[("CH3", 1), ("CH2", 7), ("OH (P)", 1)])?);
        if let Ok(with) = Activity::groups(TABLES, &molecules) {
            activity = with;
            octanol = Some(n);
        }
    }
    let all = activity.len();
    let water = sorted.active.first().map(|water| water.molar / water.density)?;
    let mut at = activity.at(ROOM);
    let mut ties: Vec<Tie> = by
        .iter()
        .zip(&sorted.active)
        .enumerate()
        .map(|(i, (by, one))| {
            let size = one.molar / one.density / water;
            match (by, octanol) {
                (Measured::Solubility(dissolves, takes_up), _) => {
                    Tie::by_solubility(&mut at, all, i, (one.molar, size), *dissolves, *takes_up)
                }
                (Measured::Partition(log_p), Some(octanol)) => Tie::by_partition(&mut at, all, (i, size), octanol, *log_p),
                _ => Tie::default(),
            }
        })
        .collect();
    ties.resize(all, Tie::default());
    Some((activity, ties))
}

/// To what measurement a substance's groups are tied.
enum Measured {
    /// What water takes of it, kg/m³, and the mass fraction of water that it takes.
    Solubility(f64, Option<f64>),
    /// log10 of the partition between octanol and water.
    Partition(f64),
    /// None: the groups stand alone.
    Nothing,
}

fn measured(substance: &Substance) -> Measured {
    // Acids pair in what is not water, for which octanol does better than groups; other liquids that mix with
    // water are fitted well as they are.
    if substance.is("water") || substance.is_miscible() && substance.acidity.is_empty() {
        return Measured::Nothing;
    }
    let points = substance.solubility_in(None);
    let near = points.iter().min_by(|a, b| (a.0 - ROOM).abs().total_cmp(&(b.0 - ROOM).abs()));
    match (near, own_density(substance)) {
        (Some((_, s)), Some(own)) if substance.is_solid(ROOM) == Some(false) && *s > 0.0 && *s < 0.6 * own => {
            Measured::Solubility(*s, substance.takes_up.as_ref().map(|share| share.value))
        }
        _ => substance.partition.as_ref().map_or(Measured::Nothing, |partition| Measured::Partition(partition.value)),
    }
}

/// mol of a liquid in a mol of water that has taken its fill, and of water in a mol of the liquid.
fn taken(one: &Liquid<'_>) -> (f64, f64) {
    let Measured::Solubility(dissolves, takes_up) = measured(one.substance) else { return (0.0, 0.0) };
    let water = WATER_MOLAR_MASS;
    let share = takes_up.unwrap_or(0.0).clamp(0.0, 0.9);
    (dissolves / one.molar * water / 998.2, share / (1.0 - share) * one.molar / water)
}

/// The groups of a molecule.
fn groups(substance: &Substance) -> Option<Groups> {
    let declared = substance.dortmund_groups.as_ref()?;
    let parts: Vec<(&str, u32)> = declared.value.iter().map(|(count, name)| (name.as_str(), u32::from(*count))).collect();
    named(&parts)
}

fn named(parts: &[(&str, u32)]) -> Option<Groups> {
    let parts: Option<Vec<_>> = parts.iter().map(|(name, count)| Some((group(TABLES, name)?, *count))).collect();
    Groups::new(&parts?)
}

/// D of little of something beside a liquid that is known: its partition, since its own solubility tells of itself as the
/// solvent.
fn beside(substance: &Substance, assumed: &mut Assumed) -> Option<f64> {
    let partition = substance.partition.as_ref().map(|partition| 10_f64.powf(partition.value));
    partition.or_else(|| distribution(substance, assumed))
}

/// D = c(organic)/c(aqueous) where groups say nothing; `None` for what stays in the water altogether.
pub(super) fn distribution(substance: &Substance, assumed: &mut Assumed) -> Option<f64> {
    if substance.is_ionic() || substance.is("water") || substance.formula.is_none() {
        return None;
    }
    let water_takes = substance.solubility_in(None);
    let near = water_takes.iter().min_by(|a, b| (a.0 - ROOM).abs().total_cmp(&(b.0 - ROOM).abs()));
    let partition = substance.partition.as_ref().map(|p| 10_f64.powf(p.value));
    match (near, own_density(substance)) {
        // The pure liquid against its saturated solution; for solids the partition says more.
        (Some((_, s)), Some(own)) if substance.is_solid(ROOM) == Some(false) && *s < 0.2 * own => Some(own / s),
        _ if partition.is_some() => partition,
        (Some((_, s)), _) => Some(1000.0 / s.max(1e-9)),
        _ if substance.is_miscible() => None,
        _ => {
            let sentence = format!(
                "How {} is shared between water and organic liquid is not known; it is taken to stay in the organic layer.",
                substance.display()
            );
            assumed.widen(Widens::Unshared, sentence);
            Some(1e6)
        }
    }
}
