//! How liquids share what is shaken between them: pairs against what was measured, third substances against
//! published partitions, and laws over random mixtures of the library.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, missing_docs)]

mod common;

use common::library;
use scruple::chemistry::activity::{Activity, Groups, Tables, group};
use scruple::chemistry::shaking::{Shaken, Shaking, Tie};
use scruple::matter::mixture::{Assumed, Layers, ROOM, layers, models};
use scruple::matter::portion::Masses;
use scruple::resolve::definitions::{Definitions, Sub, Substance};

fn shaken(defs: &Definitions, grams: &[(&str, f64)]) -> (Masses, Layers) {
    let masses: Masses = grams.iter().map(|(name, grams)| (defs.find(name).unwrap_or_else(|| panic!("{name}")), grams / 1e3)).collect();
    let layers = layers(&masses, defs, &mut Assumed::new()).unwrap_or_else(|sub| panic!("density of {}", defs.substance(sub).name));
    (masses, layers)
}

fn of(layer: &Masses, sub: Sub) -> f64 {
    layer.get(&sub).copied().unwrap_or(0.0)
}

/// Mass of a substance in the organic layer for each gram in the water.
fn ratio(defs: &Definitions, layers: &Layers, name: &str) -> f64 {
    let sub = defs.find(name).unwrap();
    of(&layers.organic, sub) / of(&layers.aqueous, sub)
}

/// c(organic)/c(water).
fn partition(defs: &Definitions, layers: &Layers, name: &str) -> f64 {
    let volume = |layer: &Masses, density: f64| layer.values().sum::<f64>() / density;
    ratio(defs, layers, name) * volume(&layers.aqueous, layers.aqueous_density) / volume(&layers.organic, layers.organic_density)
}

/// Liquids that dissolve in water as measured, but not so water in them (groups and measurement are too far apart
/// for one to be bent to the other without breaking the liquid apart), and one within 6 K of its critical point.
const KNOWN_TO_FAIL: &[&str] = &["cyclohexanone", "cyclopentanone", "dimethoxymethane", "isobutyric_acid", "methyl_thf"];

/// Every liquid of the library with a measured solubility, shaken with as much water: the esters and alcohols of the
/// handbooks among them.
#[test]
fn pairs_dissolve_as_measured() {
    let defs = library();
    let water = defs.find("water").unwrap();
    let near = |substance: &Substance| {
        let points = substance.solubility_in(None);
        points.into_iter().min_by(|a, b| (a.0 - ROOM).abs().total_cmp(&(b.0 - ROOM).abs())).map(|(_, s)| s)
    };
    let (mut off, mut count, mut sum) = (Vec::new(), 0, 0.0);
    for substance in &defs.substances {
        let Some(measured) = near(substance) else { continue };
        let liquid = substance.is_solid(ROOM) == Some(false) && !substance.is_miscible() && !substance.is_gas();
        // What gives or takes protons dissolves as more than itself.
        let plain = !substance.is_ionic() && substance.agent.is_none() && substance.acidity.is_empty() && substance.basicity.is_none();
        if !liquid || !plain && substance.name != "isobutyric_acid" || substance.dortmund_groups.is_none() {
            continue;
        }
        let (_, layers) = shaken(&defs, &[(&substance.name, 100.0), ("water", 100.0)]);
        if layers.single.is_some() {
            off.push(format!("{}: {:?}", substance.name, layers.single));
            continue;
        }
        // Where an interaction is not published the rule of thumb serves, which takes solubilities as they are.
        if layers.model != models::LAYERS {
            continue;
        }
        let sub = defs.find(&substance.name).unwrap();
        let dissolves = of(&layers.aqueous, sub) / of(&layers.aqueous, water) * 998.2;
        let wet = of(&layers.organic, water) / layers.organic.values().sum::<f64>();
        let far = (dissolves / measured).ln().abs();
        // Drops of the other layer come on top.
        let wetter = substance.takes_up.as_ref().map_or(0.0, |share| (wet - share.value).abs());
        count += 1;
        sum += far;
        if far > 0.02 || wetter > 0.009 {
            off.push(format!("{}: {dissolves:.2} against {measured:.2} g/L, water {:.1} %", substance.name, 100.0 * wet));
        }
    }
    let names: Vec<&str> = off.iter().filter_map(|line| line.split(':').next()).collect();
    let mut known = KNOWN_TO_FAIL.to_vec();
    known.sort_by_key(|name| names.iter().position(|own| own == name));
    assert_eq!(names, known, "{}", off.join("\n"));
    assert!(count > 80 && sum / f64::from(count) < 0.03, "{count} pairs, {} on average", sum / f64::from(count));
}

/// log10 of c(organic)/c(water) near 25 °C, of little of a substance: tables after Leo, Hansch and Elkins, Chemical
/// Reviews 1971, 71, 525, from memory.
const PARTITIONS: &[(&str, &str, f64)] = &[
    ("acetic_acid", "diethyl_ether", -0.35),
    ("acetic_acid", "ethyl_acetate", -0.05),
    ("propanoic_acid", "diethyl_ether", 0.27),
    ("butanoic_acid", "diethyl_ether", 0.81),
    ("benzoic_acid", "diethyl_ether", 1.89),
    ("methanol", "diethyl_ether", -0.85),
    ("ethanol", "diethyl_ether", -0.57),
    ("ethanol", "toluene", -1.6),
    ("isopropanol", "diethyl_ether", -0.19),
    ("n_propanol", "diethyl_ether", 0.3),
    ("n_butanol", "diethyl_ether", 0.89),
    ("n_butanol", "toluene", -0.12),
    ("acetone", "diethyl_ether", -0.21),
    ("acetone", "toluene", -0.31),
    ("acetone", "chloroform", 0.72),
    ("phenol", "diethyl_ether", 1.64),
    ("phenol", "toluene", 0.36),
    ("aniline", "toluene", 0.9),
];

/// Acids in what pairs them, as the page of the model says: the groups give too much.
const PARTITIONS_KNOWN_TO_FAIL: &[(&str, &str, f64)] =
    &[("acetic_acid", "toluene", -1.7), ("acetic_acid", "chloroform", -1.6), ("benzoic_acid", "chloroform", 0.5)];

#[test]
fn third_substances_against_published_partitions() {
    let defs = library();
    let off = |(solute, solvent, published): &(&str, &str, f64)| {
        let (_, layers) = shaken(&defs, &[(solute, 0.1), ("water", 100.0), (solvent, 100.0)]);
        (format!("{solute} in {solvent}"), partition(&defs, &layers, solute).log10() - published)
    };
    let table: Vec<(String, f64)> = PARTITIONS.iter().map(off).collect();
    let shown: Vec<String> = table.iter().map(|(name, off)| format!("{name}: {off:+.2}")).collect();
    let mean = table.iter().map(|(_, off)| off.abs()).sum::<f64>() / table.len() as f64;
    let worst = table.iter().map(|(_, off)| off.abs()).fold(0.0, f64::max);
    assert!(mean < 0.3 && worst < 0.5, "mean {mean:.2}, worst {worst:.2}\n{}", shown.join("\n"));
    for case in PARTITIONS_KNOWN_TO_FAIL {
        let (name, off) = off(case);
        assert!(off > 0.5, "{name} is off by {off:+.2} only: take it into the table");
    }
}

/// What mixes with both: ethanol between toluene and water at the make-up of their azeotrope parts, as tables after
/// Lange have it (from memory); as much spirit as ester and water together does not.
#[test]
fn bridges() {
    let defs = library();
    assert_eq!(shaken(&defs, &[("toluene", 51.0), ("ethanol", 37.0), ("water", 12.0)]).1.single, None);
    assert!(shaken(&defs, &[("ethyl_acetate", 30.0), ("ethanol", 50.0), ("water", 20.0)]).1.single.is_some());
    assert!(shaken(&defs, &[("ethanol", 50.0), ("water", 20.0)]).1.single.is_some());
    // A hundred grams of water take eight of ethyl acetate.
    assert!(shaken(&defs, &[("ethyl_acetate", 5.0), ("water", 100.0)]).1.single.is_some());
}

/// The same numbers each time: a linear congruential generator (Knuth's constants).
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn of<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[(self.roll() * list.len() as f64) as usize]
    }
}

/// Water and two to five substances of the library, some of them traces: what goes in comes out, and nothing is
/// no number.
#[test]
fn nothing_is_lost_and_every_answer_is_a_number() {
    let defs = library();
    let water = defs.find("water").unwrap();
    let known: Vec<Sub> = defs
        .substances
        .iter()
        .filter(|substance| substance.formula.is_some() && !substance.is_gas() && substance.agent.is_none())
        .map(|substance| defs.find(&substance.name).unwrap())
        .collect();
    let mut dice = Dice(4);
    let (mut two, mut refused) = (0, 0);
    for _ in 0..1500 {
        let mut masses = Masses::from([(water, 10_f64.powf(-2.0 * dice.roll()))]);
        for _ in 0..2 + (4.0 * dice.roll()) as usize {
            let size = if dice.roll() < 0.2 { 1e-9 } else { 10_f64.powf(-2.0 * dice.roll()) };
            masses.insert(*dice.of(&known), size);
        }
        let names = || masses.iter().map(|(sub, mass)| format!("{} {mass}", defs.substance(*sub).name)).collect::<Vec<_>>().join(", ");
        let Ok(layers) = layers(&masses, &defs, &mut Assumed::new()) else {
            refused += 1;
            continue;
        };
        if layers.single.is_some() {
            continue;
        }
        two += 1;
        for (sub, mass) in &masses {
            let (organic, aqueous) = (of(&layers.organic, *sub), of(&layers.aqueous, *sub));
            assert!((organic + aqueous - mass).abs() <= 1e-9 * mass, "{}: {organic} + {aqueous}", names());
            assert!(organic >= 0.0 && aqueous >= -1e-15 * mass, "{}: {organic}, {aqueous}", names());
        }
        assert!(
            layers.organic_density > 0.0 && layers.aqueous_density > 0.0 && layers.ph.is_none_or(f64::is_finite),
            "{}: {layers:?}",
            names()
        );
    }
    assert!(two > 500 && refused < 150, "{two} with two layers, {refused} refused");
}

/// More water takes more, and more salt takes less, of what has no charge.
#[test]
fn washes_are_monotone() {
    let defs = library();
    let solutes =
        ["ethanol", "acetone", "n_butanol", "isoamyl_alcohol", "ethyl_acetate", "benzyl_alcohol", "vanillin", "phenol", "fructone"];
    for solvent in ["toluene", "mtbe", "isoamyl_acetate", "cyclohexane"] {
        for solute in solutes {
            let sub = defs.find(solute).unwrap();
            let mut last = 0.0;
            for water in [20.0, 50.0, 100.0, 200.0, 400.0] {
                let (_, layers) = shaken(&defs, &[(solvent, 50.0), (solute, 3.0), ("water", water)]);
                assert_eq!(layers.single, None, "{solute} in {solvent}");
                let taken = of(&layers.aqueous, sub);
                assert!(taken > last, "{solute} in {solvent}, {water} g of water: {taken} after {last}");
                last = taken;
            }
            last = f64::INFINITY;
            for salt in [0.0, 5.0, 10.0, 20.0, 30.0] {
                let (_, layers) = shaken(&defs, &[(solvent, 50.0), (solute, 3.0), ("water", 100.0), ("sodium_chloride", salt)]);
                let taken = of(&layers.aqueous, sub);
                assert!(taken <= last * (1.0 + 1e-9), "{solute} in {solvent}, {salt} g of salt: {taken} after {last}");
                last = taken;
            }
        }
    }
}

/// Far below its pKa an acid is shared as such, far above it lies in the water as an ion, and a base the other way.
#[test]
fn acids_and_bases_follow_the_ph() {
    let defs = library();
    for (solute, acid) in [("phenol", true), ("benzoic_acid", true), ("butanoic_acid", true), ("aniline", false), ("triethylamine", false)]
    {
        let with = |other: &str| {
            let (_, layers) = shaken(&defs, &[("diethyl_ether", 50.0), (solute, 0.5), ("water", 100.0), (other, 3.0)]);
            (ratio(&defs, &layers, solute), layers.ph.unwrap())
        };
        let ((sour, low), (caustic, high)) = (with("hydrogen_chloride"), with("sodium_hydroxide"));
        assert!(low < 1.0 && high > 13.0, "{low} {high}");
        let (free, bound) = if acid { (sour, caustic) } else { (caustic, sour) };
        // Drops of the water are all that the organic layer then holds.
        assert!(free > 0.5 && bound < 0.01, "{solute}: {free} free, {bound} bound");
    }
    // Half of what binds it leaves half of it free: the rest is shared as before.
    let (_, layers) = shaken(&defs, &[("diethyl_ether", 50.0), ("phenol", 9.41), ("water", 100.0), ("sodium_hydroxide", 2.0)]);
    let organic = of(&layers.organic, defs.find("phenol").unwrap()) * 1e3;
    assert!((3.5..4.8).contains(&organic), "{organic} g of 9.41 g, of which half is bound");
}

/// A weak acid holds a base in the water as a strong one does, whether or not it is tied to octanol itself.
#[test]
fn weak_acids_hold_bases_in_the_water() {
    let defs = library();
    for (base, solvent) in [("triethylamine", "diethyl_ether"), ("n_butylamine", "mtbe"), ("aniline", "toluene")] {
        let with = |acid: &str, grams: f64| {
            let (_, layers) = shaken(&defs, &[(solvent, 50.0), (base, 0.5), ("water", 100.0), (acid, grams)]);
            (ratio(&defs, &layers, base), layers.ph.unwrap())
        };
        let (free, _) = with("acetic_acid", 1e-6);
        for acid in ["acetic_acid", "citric_acid"] {
            let mut last = free;
            for grams in [0.1, 0.3, 1.0, 3.0] {
                let (now, ph) = with(acid, grams);
                assert!(now < last, "{base} with {grams} g of {acid}, pH {ph}: {now} after {last}");
                last = now;
            }
        }
        let (bound, ph) = with("citric_acid", 3.0);
        assert!(ph < 3.2 && bound < 0.05 * free, "{base} at pH {ph}: {bound} and {free} free");
    }
}

/// Worked out on paper. pKa: aniline 4.60, triethylamine 10.75, benzoic acid 4.20, acetic acid 4.76, citric acid
/// 3.13, 4.76, 6.40; partitions are those of the table above.
#[test]
fn shares_at_a_ph_by_hand() {
    let defs = library();
    let organic = |layers: &Layers, name: &str| of(&layers.organic, defs.find(name).unwrap()) * 1e3;
    let near = |what: &str, seen: f64, wanted: f64, within: f64| {
        assert!((seen - wanted).abs() < within, "{what}: {seen} against {wanted}");
    };
    // Aniline 0.0537 mol, of which 0.0274 mol of hydrogen chloride bind 2.55 g. Free are 2.45 g; with a ratio of
    // 10^0.9 and 59 mL of toluene over 103 mL of water 7.94·59/103 = 4.55 times as much lies in the toluene: 2.01 g.
    // In the water 0.44 g or 0.0047 mol are free: pH = 4.60 + log(0.0047/0.0274) = 3.84.
    let (_, layers) = shaken(&defs, &[("toluene", 50.0), ("aniline", 5.0), ("water", 100.0), ("hydrogen_chloride", 1.0)]);
    near("aniline in toluene over acid", organic(&layers, "aniline"), 2.01, 0.12);
    near("pH of it", layers.ph.unwrap(), 3.84, 0.1);
    // With 0.0167 mol of acetic acid, nearly all in the water: what aniline takes up, 0.0537·h/(h + 1 + 4.7) with
    // h = 10^(4.60 - pH), is what the acid gives, 0.0167·r/(1 + r) with r = 10^(pH - 4.76). At pH 4.65 both are
    // 0.0073 mol: 0.68 g are bound, and of the 4.32 g left 4.7/5.7 or 3.56 g lie in the toluene.
    let (_, layers) = shaken(&defs, &[("toluene", 50.0), ("aniline", 5.0), ("water", 100.0), ("acetic_acid", 1.0)]);
    near("aniline in toluene over weak acid", organic(&layers, "aniline"), 3.56, 0.25);
    near("pH of it", layers.ph.unwrap(), 4.65, 0.1);
    // Triethylamine 0.04941 mol binds as much of 0.04996 mol of acetic acid: 0.00055 mol are left, a fifth of it in
    // the ether (0.45·62/115). pH = 4.76 + log(0.0494/0.00044) = 6.81, at which 10^(6.81 - 10.75), a ten-thousandth
    // of the amine in the water, is free; drops bring half a percent of the water's 5 g by the volumes, 0.013 g.
    let (_, layers) = shaken(&defs, &[("diethyl_ether", 50.0), ("triethylamine", 5.0), ("water", 100.0), ("acetic_acid", 3.0)]);
    near("triethylamine in ether", organic(&layers, "triethylamine"), 0.015, 0.005);
    near("pH of it", layers.ph.unwrap(), 6.81, 0.1);
    // Benzoic acid 0.0246 mol, half of it, 1.53 g, bound by 0.0125 mol of caustic soda. The rest, 1.47 g, lies in 62 mL
    // of ether over 105 mL of water at 10^1.89·62/105 = 45.8 to one: 1.44 g and 0.031 g or 0.00026 mol.
    // pH = 4.20 + log(0.0125/0.00026) = 5.89.
    let (_, layers) = shaken(&defs, &[("diethyl_ether", 50.0), ("benzoic_acid", 3.0), ("water", 100.0), ("sodium_hydroxide", 0.5)]);
    near("benzoic acid in ether", organic(&layers, "benzoic_acid"), 1.44, 0.03);
    near("pH of it", layers.ph.unwrap(), 5.89, 0.3);
    // Butylamine 0.0684 mol takes 2.627 protons from each of 0.0260 mol of citric acid: two wholly, of the third
    // 0.63. pH = 6.40 + log(0.63/0.37) = 6.63; the amine's pKa is so much higher that nothing of it is free.
    let (_, layers) = shaken(&defs, &[("mtbe", 50.0), ("n_butylamine", 5.0), ("water", 100.0), ("citric_acid", 5.0)]);
    near("butylamine in MTBE", organic(&layers, "n_butylamine"), 0.014, 0.005);
    near("pH of it", layers.ph.unwrap(), 6.63, 0.05);
}

/// Beside every acid and base a trace of its twin that neither gives nor takes protons: what lies in the organic layer of
/// the two is in the ratio that the equation of Henderson and Hasselbalch gives at the pH reported.
#[test]
fn shares_follow_henderson_and_hasselbalch() {
    let mut defs = library();
    let is = |substance: &Substance| !substance.is_ionic() && substance.molar_mass().is_some() && !substance.is_gas();
    let of_kind = |acid: bool| -> Vec<Sub> {
        let weak = |substance: &Substance| {
            if acid { substance.acidity.first().is_some_and(|pka| *pka > 2.0) } else { substance.basicity.is_some() }
        };
        (0..defs.substances.len()).map(Sub).filter(|sub| is(defs.substance(*sub)) && weak(defs.substance(*sub))).collect()
    };
    let (acids, bases) = (of_kind(true), of_kind(false));
    assert!(acids.len() > 20 && bases.len() > 8, "{} acids, {} bases", acids.len(), bases.len());
    let twins: std::collections::BTreeMap<Sub, Sub> = acids
        .iter()
        .chain(&bases)
        .map(|own| {
            // What it takes up of water is a tie to how much there is of itself, which a twin has not.
            let mut twin = (*defs.substances[own.0]).clone();
            twin.takes_up = None;
            defs.substances[own.0] = std::sync::Arc::new(twin.clone());
            twin.acidity.iter_mut().for_each(|pka| *pka = 60.0);
            twin.basicity.iter_mut().for_each(|pka| pka.value = -60.0);
            defs.substances.push(std::sync::Arc::new(twin));
            (*own, Sub(defs.substances.len() - 1))
        })
        .collect();
    let sub = |name: &str| defs.find(name).unwrap();
    let salt = sub("sodium_chloride");
    let mut dice = Dice(7);
    let mut checked = 0;
    for _ in 0..300 {
        let size = |dice: &mut Dice| 0.01 * 10_f64.powf(-2.0 * dice.roll());
        let mut masses = Masses::from([(sub("water"), 0.1), (salt, 1e-6)]);
        masses.insert(sub(dice.of::<&str>(&["toluene", "diethyl_ether", "mtbe", "ethyl_acetate"])), 0.05);
        let pair = [*dice.of(&acids), *dice.of(&bases)];
        for own in pair {
            masses.insert(own, size(&mut dice));
            masses.insert(twins[&own], 1e-9);
        }
        if dice.roll() < 0.5 {
            masses.insert(sub(dice.of::<&str>(&["hydrogen_chloride", "sodium_hydroxide"])), 0.1 * size(&mut dice));
        }
        let Ok(layers) = layers(&masses, &defs, &mut Assumed::new()) else { continue };
        let Some(ph) = layers.ph.filter(|_| layers.single.is_none() && layers.model == models::LAYERS) else { continue };
        // Salt is in the organic layer with the drops only, which are taken off before anything is compared.
        let drops = of(&layers.organic, salt) / masses[&salt];
        let shared = |own: Sub| {
            let water = of(&layers.aqueous, own) / (1.0 - drops);
            (masses[&own] - water) / water
        };
        for own in pair {
            let substance = defs.substance(own);
            let less: f64 = substance.acidity.iter().map(|pka| 1.0 + 10_f64.powf(ph - pka)).product();
            let more = substance.basicity.as_ref().map_or(0.0, |pka| 10_f64.powf(pka.value - ph));
            let (seen, wanted) = (shared(own), shared(twins[&own]) / (less + more));
            // So little beside the drops is rounding.
            if wanted < 1e-7 {
                assert!(seen < 1e-6, "{}: {seen} against {wanted}", substance.name);
                continue;
            }
            checked += 1;
            let names: Vec<&str> = masses.keys().map(|sub| defs.substance(*sub).name.as_str()).collect();
            assert!((seen / wanted - 1.0).abs() < 1e-3, "{} at pH {ph}: {seen} against {wanted}, {names:?}", substance.name);
        }
    }
    assert!(checked > 250, "{checked}");
}

/// Salt and a liquid that mixes with water: pairs that are salted out in practice (from memory; acetone and propanols by
/// common salt: Fluid Phase Equilibria 2007, 251, 24, abstract). Nothing here says how far, so it is called unsure; little
/// salt, acid, and spirit with common salt make one liquid.
#[test]
fn what_salt_may_drive_out_is_not_called_one_liquid() {
    let defs = library();
    let with = |organic: &str, grams: f64, salt: &str, much: f64| shaken(&defs, &[("water", 100.0), (organic, grams), (salt, much)]).1;
    for (organic, grams, salt, much) in [
        ("ethanol", 40.0, "potassium_carbonate", 80.0),
        ("acetone", 60.0, "potassium_carbonate", 60.0),
        ("acetone", 60.0, "sodium_chloride", 30.0),
        ("isopropanol", 60.0, "sodium_chloride", 35.0),
        ("n_propanol", 50.0, "sodium_chloride", 30.0),
        ("thf", 50.0, "sodium_chloride", 30.0),
        ("acetonitrile", 50.0, "sodium_chloride", 30.0),
    ] {
        let layers = with(organic, grams, salt, much);
        assert!(layers.single.is_none() && layers.unsure.is_some(), "{organic} and {salt}: {layers:?}");
        // Should it part, the organic liquid lies on top and the salt below.
        let (above, below) = (ratio(&defs, &layers, organic), ratio(&defs, &layers, salt));
        assert!(layers.organic_density < layers.aqueous_density && above > 1.0 && below < 0.05, "{organic} and {salt}: {layers:?}");
    }
    for (organic, grams, salt, much) in [
        ("ethanol", 40.0, "sodium_chloride", 35.0),
        ("methanol", 40.0, "sodium_chloride", 35.0),
        ("isopropanol", 60.0, "sodium_chloride", 2.0),
        ("ethanol", 40.0, "sodium_bicarbonate", 5.0),
        ("acetone", 60.0, "hydrogen_chloride", 20.0),
    ] {
        let layers = with(organic, grams, salt, much);
        assert!(layers.single.is_some() && layers.unsure.is_none(), "{organic} and {salt}: {layers:?}");
    }
    // Where a liquid that water does not dissolve is there too nothing is unsure.
    let (_, layers) = shaken(&defs, &[("water", 100.0), ("ethanol", 10.0), ("toluene", 50.0), ("potassium_carbonate", 40.0)]);
    assert!(layers.single.is_none() && layers.unsure.is_none(), "{layers:?}");
}

/// Strong acid that is nearly free of water takes up esters, ethers and the like, nobody here says how far; out of a
/// hydrocarbon it takes them, and dilute acid leaves them.
#[test]
fn what_strong_acid_may_take_up_is_not_called_two_liquids() {
    let defs = library();
    let with = |parts: &[(&str, f64)]| shaken(&defs, parts).1;
    for organic in ["butyl_acetate", "diethyl_ether", "n_hexanol"] {
        let layers = with(&[("water", 5.0), ("sulfuric_acid", 95.0), (organic, 30.0)]);
        assert!(
            layers.single.is_some() || layers.unsure.as_ref().is_some_and(|why| why.contains("may be one liquid")),
            "{organic}: {layers:?}"
        );
        let beside = with(&[("water", 5.0), ("sulfuric_acid", 95.0), (organic, 10.0), ("toluene", 50.0)]);
        assert!(beside.single.is_none() && beside.unsure.is_none() && ratio(&defs, &beside, organic) < 0.1, "{organic}: {beside:?}");
        let dilute = with(&[("water", 90.0), ("sulfuric_acid", 10.0), (organic, 30.0)]);
        assert!(dilute.single.is_none() && dilute.unsure.is_none(), "{organic}: {dilute:?}");
    }
}

/// The order of the components changes nothing.
#[test]
fn permuted_components_are_shared_alike() {
    let molecule = |parts: &[(&str, u32)]| {
        Groups::new(&parts.iter().map(|(name, count)| (group(Tables::Dortmund, name).unwrap(), *count)).collect::<Vec<_>>()).unwrap()
    };
    // Water, ethyl acetate, ethanol, toluene: groups, mol, m³/mol, whether it mixes with water.
    let all = [
        (molecule(&[("H2O", 1)]), 5.0, 18e-6, true),
        (molecule(&[("CH3", 1), ("CH2", 1), ("CH3COO", 1)]), 0.4, 98e-6, false),
        (molecule(&[("CH3", 1), ("CH2", 1), ("OH (P)", 1)]), 0.3, 58e-6, true),
        (molecule(&[("ACH", 5), ("ACCH3", 1)]), 0.7, 106e-6, false),
    ];
    let ties = [Tie::default(), Tie { a: 0.1, b: 0.2 }, Tie::default(), Tie { a: 0.05, b: 0.4 }];
    let shares = |order: [usize; 4]| {
        let activity = Activity::groups(Tables::Dortmund, &order.map(|i| all[i].0.clone())).unwrap();
        let shaking = Shaking {
            activity: &activity,
            temperature: ROOM,
            moles: order.map(|i| all[i].1).to_vec(),
            volumes: order.map(|i| all[i].2).to_vec(),
            ties: order.map(|i| ties[i]).to_vec(),
            miscible: order.map(|i| all[i].3).to_vec(),
            taken: Vec::new(),
            passive: Vec::new(),
            ions: 0.1,
            strength: 0.1,
            ion_volume: 1e-6,
            hydroxide: 0.0,
            protons: Vec::new(),
            in_water: Vec::new(),
        };
        let Shaken::Two { shares, .. } = shaking.part() else { panic!("one liquid") };
        let mut back = [0.0; 4];
        order.iter().zip(shares).for_each(|(i, share)| back[*i] = share);
        back
    };
    let straight = shares([0, 1, 2, 3]);
    for order in [[0, 2, 1, 3], [0, 3, 2, 1], [0, 1, 3, 2]] {
        for (one, other) in straight.iter().zip(shares(order)) {
            assert!((one - other).abs() < 1e-7, "{order:?}: {one} {other}");
        }
    }
}
