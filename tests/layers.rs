//! Which layer lies on top: a table of pairs that are taught, and the rule over every liquid of the
//! library that water does not mix with. Densities are of the layers that are really there, so that
//! what each takes up of the other counts.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, missing_docs)]

mod common;

use common::library;
use scruple::diagnostics::Code;
use scruple::load::Memory;
use scruple::matter::mixture::{Assumed, Layers, ROOM, layers};
use scruple::matter::portion::Masses;
use scruple::pipeline::check;
use scruple::resolve::definitions::Definitions;

/// Media in which an organic liquid is shaken: name, solute, mass fraction, density in kg/m³ at 20 °C.
/// Densities from the tables that the library's solutions name.
const MEDIA: &[(&str, &str, f64, f64)] = &[
    ("water", "water", 0.0, 998.0),
    ("saturated brine", "sodium_chloride", 0.264, 1198.0),
    ("10 % sodium hydroxide", "sodium_hydroxide", 0.10, 1109.0),
    ("5 % sodium bicarbonate", "sodium_bicarbonate", 0.05, 1036.0),
    ("conc. sulfuric acid", "sulfuric_acid", 0.96, 1836.0),
    ("conc. hydrochloric acid", "hydrogen_chloride", 0.36, 1179.0),
];

fn shaken(defs: &Definitions, organic: &[(&str, f64)], medium: &str, grams: f64) -> Layers {
    let (_, solute, fraction, _) = MEDIA.iter().find(|(name, ..)| *name == medium).unwrap();
    let mut masses = Masses::new();
    for (name, grams) in organic {
        masses.insert(defs.find(name).unwrap_or_else(|| panic!("{name} is not in the library")), grams / 1e3);
    }
    *masses.entry(defs.find(solute).unwrap()).or_insert(0.0) += grams * fraction / 1e3;
    *masses.entry(defs.find("water").unwrap()).or_insert(0.0) += grams * (1.0 - fraction) / 1e3;
    layers(&masses, defs, &mut Assumed::new()).unwrap_or_else(|sub| panic!("density of {}", defs.substance(sub).name))
}

/// The library's rule `layer_gap`, kg/m³.
const TOO_CLOSE: f64 = 20.0;

/// Where the organic layer lies: `top`, `bottom` or `close`.
fn lies(layers: &Layers) -> &'static str {
    match layers.aqueous_density - layers.organic_density {
        gap if gap.abs() < TOO_CLOSE => "close",
        gap if gap > 0.0 => "top",
        _ => "bottom",
    }
}

#[test]
fn pairs_that_are_taught() {
    let defs = library();
    // F is a row of the published checks; D25 is its washing of 1-bromobutane.
    let table: &[(&str, &str, &str, &str)] = &[
        ("F022", "diethyl_ether", "water", "top"),
        ("F023", "ethyl_acetate", "water", "top"),
        ("F025", "toluene", "water", "top"),
        ("F025", "mtbe", "water", "top"),
        ("F025", "cyclohexene", "water", "top"),
        ("F026", "dichloromethane", "water", "bottom"),
        ("F026", "dichloromethane", "saturated brine", "bottom"),
        ("F028, D25", "n_butyl_bromide", "water", "bottom"),
        ("F028, D25", "n_butyl_bromide", "saturated brine", "bottom"),
        ("D25", "n_butyl_bromide", "10 % sodium hydroxide", "bottom"),
        ("F028, D25", "n_butyl_bromide", "conc. sulfuric acid", "top"),
        ("F029", "chlorobenzene", "water", "bottom"),
        ("F029", "chlorobenzene", "saturated brine", "top"),
        ("F031", "methyl_salicylate", "saturated brine", "close"),
        ("F031", "methyl_salicylate", "water", "bottom"),
        ("from memory", "dichloromethane", "conc. hydrochloric acid", "bottom"),
        ("from memory", "chloroform", "saturated brine", "bottom"),
        ("D13", "methyl_benzoate", "water", "bottom"),
        ("from memory", "methyl_benzoate", "saturated brine", "top"),
        ("from memory", "ethyl_benzoate", "water", "bottom"),
        ("from memory", "ethyl_benzoate", "saturated brine", "top"),
        ("F034", "tert_butyl_chloride", "conc. hydrochloric acid", "top"),
        ("F032", "diethyl_adipate", "water", "close"),
    ];
    let mut wrong = Vec::new();
    let mut made = 0;
    for (id, name, medium, wanted) in table {
        // A few of these are not in the library.
        if defs.find(name).is_none() {
            continue;
        }
        made += 1;
        let layers = shaken(&defs, &[(name, 50.0)], medium, 100.0);
        if layers.single.is_some() || lies(&layers) != *wanted {
            wrong.push(format!(
                "{id} {name} in {medium}: {} and not {wanted}, {:.0} against {:.0} {:?}",
                lies(&layers),
                layers.organic_density,
                layers.aqueous_density,
                layers.single
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(made >= 15, "only {made} of the pairs are in the library");
}

/// D25: the mixture in which 1-bromobutane is made is so heavy with salt and acid that it floats.
/// The salt here is the sulfate, as heavy in water as the bromide.
#[test]
fn a_reaction_mixture_full_of_salt_is_the_lower_layer() {
    let defs = library();
    let mut masses = Masses::new();
    for (name, grams) in [("n_butyl_bromide", 13.0), ("sodium_sulfate", 8.0), ("sulfuric_acid", 22.0), ("water", 18.0)] {
        masses.insert(defs.find(name).unwrap(), grams / 1e3);
    }
    let layers = layers(&masses, &defs, &mut Assumed::new()).unwrap();
    assert_eq!(lies(&layers), "top", "{:.0} against {:.0}", layers.organic_density, layers.aqueous_density);
}

/// For every liquid of the library that water hardly dissolves, in every medium: the layer that is
/// lighter by itself lies on top, unless the two are close, and the layers weigh what went in.
#[test]
fn every_pair_of_the_library_follows_the_densities() {
    let defs = library();
    let mut pairs = 0;
    let mut wrong = Vec::new();
    for substance in &defs.substances {
        let sparing = substance.solubility_in(None).iter().all(|(_, s)| *s < 20.0) && !substance.solubility_in(None).is_empty();
        let Some(density) = substance.liquid_density().map(|density| density.value.1) else { continue };
        // What the medium turns into salts is no neutral liquid there.
        let reacts = substance.is("amine") || substance.is("acid") || substance.is("phenol") || substance.is("base");
        if !sparing || substance.is_miscible() || substance.is_ionic() || substance.is_gas() || substance.agent.is_some() || reacts {
            continue;
        }
        if substance.is_solid(ROOM) != Some(false) {
            continue;
        }
        for (medium, _, _, own) in MEDIA {
            let layers = shaken(&defs, &[(&substance.name, 50.0)], medium, 100.0);
            pairs += 1;
            let mass: f64 = layers.organic.values().chain(layers.aqueous.values()).sum();
            let far = (density - own).abs() > 40.0;
            let on_top = layers.organic_density < layers.aqueous_density;
            if layers.single.is_some() || (mass - 0.15).abs() > 1e-9 || far && on_top != (density < *own) {
                wrong.push(format!(
                    "{} ({density:.0}) in {medium} ({own:.0}): {:.0} against {:.0}, {mass} kg, {:?}",
                    substance.name, layers.organic_density, layers.aqueous_density, layers.single
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(pairs > 100, "only {pairs} pairs");
}

/// Salt in the water leaves less of an organic liquid in it.
#[test]
fn salt_drives_organic_liquids_out_of_the_water() {
    let defs = library();
    let left = |medium: &str| shaken(&defs, &[("ethyl_acetate", 50.0)], medium, 100.0).aqueous[&defs.find("ethyl_acetate").unwrap()];
    assert!(left("saturated brine") < 0.5 * left("water"), "{} {}", left("saturated brine"), left("water"));
    // F052: ethyl acetate in 100 mL of water.
    assert!((7.0..9.5).contains(&(left("water") * 1e3)), "{}", left("water"));
}

/// A solvent dissolved in the organic layer decides which way up it lies, not the product alone.
#[test]
fn the_layers_that_are_there_are_judged_and_not_the_pure_product() {
    let defs = library();
    let with = |solvent: &str| lies(&shaken(&defs, &[("methyl_benzoate", 10.0), (solvent, 40.0)], "water", 100.0));
    assert_eq!(with("toluene"), "top");
    assert_eq!(with("dichloromethane"), "bottom");
}

/// The same seen from a procedure: a wash with water and one with brine of one liquid turn the layers.
#[test]
fn a_brine_wash_turns_the_layers_of_a_heavy_ester() {
    let text = |first: &str, second: &str| {
        format!(
            "procedure wash \"Wash methyl benzoate\" {{\n    basis ester\n\n    take ester = methyl_benzoate, 50 mL\n\n    \
             wash ester with water, 50 mL -> {first}\n    wash ester with brine, 50 mL -> {second}\n\n    \
             keep ester as \"washed ester, wet\" in bottle\n    discard washings, salty as \"aqueous, neutral\"\n}}\n"
        )
    };
    let found = |text: String| -> Vec<Code> {
        check("text.scruple", &Memory::new([("text.scruple", text)])).findings.iter().map(|finding| finding.code).collect()
    };
    assert_eq!(found(text("lower ester, upper washings", "upper ester, lower salty")), []);
    assert_eq!(found(text("upper ester, lower washings", "upper ester, lower salty")), [Code::WrongSide]);
    assert_eq!(found(text("lower ester, upper washings", "lower ester, upper salty")), [Code::WrongSide]);
}

/// Brine drives isopropyl alcohol out, so that two layers are no mistake, and the sheet says how little is known of them;
/// ethanol stays in the brine.
#[test]
fn two_layers_by_salting_out_are_the_authors_to_claim() {
    let compiled = |alcohol: &str| {
        let text = format!(
            "procedure salt_out \"Salt an alcohol out\" {{\n    basis spirit\n\n    take spirit = {alcohol}, 60 mL\n\n    \
             wash spirit with brine, 100 mL -> upper alcohol, lower salty\n\n    \
             keep alcohol as \"alcohol, wet\" in bottle\n    discard salty as \"aqueous, neutral\"\n}}\n"
        );
        check("text.scruple", &Memory::new([("text.scruple", text)]))
    };
    let found = |alcohol: &str| -> Vec<Code> { compiled(alcohol).findings.iter().map(|finding| finding.code).collect() };
    assert_eq!(found("isopropanol"), []);
    assert_eq!(found("ethanol"), [Code::SinglePhase]);
    let outcome = compiled("isopropanol").outcome.unwrap();
    let said: Vec<&String> =
        outcome.evaluation.assumed.iter().filter(|sentence| sentence.contains("Whether there are two layers")).collect();
    assert_eq!(said.len(), 1, "{:?}", outcome.evaluation.assumed);
}
