//! Labels: statements and classifications of the library, which pictograms go with which classes,
//! what makes which statement redundant, and peroxide formers.

use scruple::resolve::definitions::{PeroxideList, Signal, Substance};

use super::bench::{body, is_found, library, of};
use super::{Check, M, S, SM, reads};

const CLP_TEXT: &str = "CLP, consolidated text of 2025-09-01, as transcribed in a public repository; organs, routes and effects left out";
const ANNEX: &str = "CLP Annex VI";
const SELF: &str = "classification by suppliers";
const RULES: &str = "CLP; UN GHS";
const OMITTED: &str = "statements that others make redundant, Wikipedia after UN GHS Rev. 9";
const LISTS: &str = "lists of peroxide formers of Ohio, New Mexico State, Cornell and Iowa State";

/// The text of a statement, or of several that are read one after the other.
#[track_caller]
fn text(codes: &str) -> String {
    let one = |code: &str| {
        library(|defs| defs.hazard_texts.get(code).map(|(text, _)| text.clone())).unwrap_or_else(|| panic!("no text of {code}"))
    };
    codes.split('+').map(one).collect::<Vec<_>>().join(" ")
}

/// Hazard statements of a substance; `none` when it is not classified.
#[track_caller]
fn hazards(name: &str) -> String {
    of(name, |substance| {
        let codes = &substance.hazards.as_ref().unwrap().value;
        if codes.is_empty() { "none".to_owned() } else { codes.join(" ") }
    })
}

/// Those of the wanted statements that a substance has, in the order wanted.
#[track_caller]
fn among(name: &str, wanted: &str) -> String {
    let has = hazards(name);
    wanted.split(' ').filter(|code| has.split(' ').any(|one| one == *code)).collect::<Vec<_>>().join(" ")
}

/// The substances that a rule faults; `none` if it faults none. At least one must be judged by it.
fn faulted(judged: impl Fn(&Substance) -> Option<bool>) -> String {
    library(|defs| {
        let verdicts: Vec<(&str, bool)> =
            defs.substances.iter().filter_map(|substance| Some((substance.name.as_str(), judged(substance)?))).collect();
        assert!(!verdicts.is_empty(), "no substance is judged by this rule");
        let names: Vec<&str> = verdicts.iter().filter(|(_, right)| !right).map(|(name, _)| *name).collect();
        if names.is_empty() { "none".to_owned() } else { names.join(", ") }
    })
}

/// Classes with categories, where they are known and there are any.
fn classes(substance: &Substance) -> Option<&Vec<String>> {
    substance.safety.classed.as_ref().map(|classed| &classed.value).filter(|classed| !classed.is_empty())
}

fn shows(substance: &Substance, pictogram: &str) -> bool {
    substance.safety.pictograms.as_ref().is_some_and(|shown| shown.value.iter().any(|one| one == pictogram))
}

/// Whether any class of a substance begins with one of these.
fn is_classed(substance: &Substance, starts: &[&str]) -> bool {
    classes(substance).is_some_and(|classed| classed.iter().any(|class| starts.iter().any(|start| class.starts_with(start))))
}

/// The substances of these classes that lack the pictogram, and those that bear it without one.
fn pictogram(which: &'static str, starts: &'static [&'static str]) -> String {
    faulted(|substance| {
        let classed = classes(substance).map(|_| is_classed(substance, starts))?;
        (classed || shows(substance, which)).then(|| classed == shows(substance, which))
    })
}

/// The substances that carry a statement beside one that makes it redundant.
fn redundant(strong: &'static str, weak: &'static str) -> String {
    faulted(|substance| {
        let codes = &substance.hazards.as_ref()?.value;
        let has = |wanted: &str| codes.iter().any(|code| code == wanted);
        has(strong).then(|| !has(weak))
    })
}

/// On which list of peroxide formers a substance is.
#[track_caller]
fn list(name: &str) -> &'static str {
    of(name, |substance| match &substance.safety.peroxides {
        None => "none",
        Some(peroxides) => match peroxides.value.list {
            PeroxideList::A => "A",
            PeroxideList::B => "B",
            PeroxideList::C => "C",
            PeroxideList::D => "D",
        },
    })
}

/// Months that a peroxide former keeps once opened.
#[track_caller]
fn months(name: &str) -> String {
    of(name, |substance| substance.safety.peroxides.as_ref().unwrap().value.keeps)
        .map_or_else(|| "not known".to_owned(), |seconds| format!("{:.0}", seconds / (365.25 / 12.0 * 86_400.0)))
}

#[rustfmt::skip]
pub(crate) const CHECKS: &[Check] = &[
    reads("J040", "H225", "Highly flammable liquid and vapour.", CLP_TEXT, S, || text("H225")),
    reads("J041", "H226", "Flammable liquid and vapour.", CLP_TEXT, S, || text("H226")),
    reads("J043", "H260", "In contact with water releases flammable gases which may ignite spontaneously.", CLP_TEXT, S, || text("H260")),
    reads("J044", "H271", "May cause fire or explosion; strong oxidiser.", CLP_TEXT, S, || text("H271")),
    reads("J046", "H280", "Contains gas under pressure; may explode if heated.", CLP_TEXT, S, || text("H280")),
    reads("J047", "H290", "May be corrosive to metals.", CLP_TEXT, S, || text("H290")),
    reads("J049", "H302", "Harmful if swallowed.", CLP_TEXT, S, || text("H302")),
    reads("J050", "H304", "May be fatal if swallowed and enters airways.", CLP_TEXT, S, || text("H304")),
    reads("J052", "H312", "Harmful in contact with skin.", CLP_TEXT, S, || text("H312")),
    reads("J053", "H314", "Causes severe skin burns and eye damage.", CLP_TEXT, S, || text("H314")),
    reads("J055", "H317", "May cause an allergic skin reaction.", CLP_TEXT, S, || text("H317")),
    reads("J056", "H318", "Causes serious eye damage.", CLP_TEXT, S, || text("H318")),
    reads("J058", "H331", "Toxic if inhaled.", CLP_TEXT, S, || text("H331")),
    reads("J059", "H332", "Harmful if inhaled.", CLP_TEXT, S, || text("H332")),
    reads("J061", "H335", "May cause respiratory irritation.", CLP_TEXT, S, || text("H335")),
    reads("J062", "H336", "May cause drowsiness or dizziness.", CLP_TEXT, S, || text("H336")),
    reads("J064", "H351", "Suspected of causing cancer.", CLP_TEXT, S, || text("H351")),
    reads("J065", "H361", "Suspected of damaging fertility or the unborn child.", CLP_TEXT, S, || text("H361")),
    reads("J067", "H372", "Causes damage to organs through prolonged or repeated exposure.", CLP_TEXT, S, || text("H372")),
    reads("J068", "H373", "May cause damage to organs through prolonged or repeated exposure.", CLP_TEXT, S, || text("H373")),
    reads("J070", "H410", "Very toxic to aquatic life with long lasting effects.", CLP_TEXT, S, || text("H410")),
    reads("J071", "H411", "Toxic to aquatic life with long lasting effects.", CLP_TEXT, S, || text("H411")),
    reads("J073", "P210", "Keep away from heat, hot surfaces, sparks, open flames and other ignition sources. No smoking.", CLP_TEXT, S, || text("P210")),
    reads("J074", "P220", "Keep away from clothing and other combustible materials.", CLP_TEXT, S, || text("P220")),
    reads("J076", "P233", "Keep container tightly closed.", CLP_TEXT, S, || text("P233")),
    reads("J077", "P240", "Ground and bond container and receiving equipment.", CLP_TEXT, S, || text("P240")),
    reads("J079", "P260", "Do not breathe dust/fume/gas/mist/vapours/spray.", CLP_TEXT, S, || text("P260")),
    reads("J080", "P261", "Avoid breathing dust/fume/gas/mist/vapours/spray.", CLP_TEXT, S, || text("P261")),
    reads("J082", "P273", "Avoid release to the environment.", CLP_TEXT, S, || text("P273")),
    reads("J083", "P280", "Wear protective gloves/protective clothing/eye protection/face protection.", CLP_TEXT, S, || text("P280")),
    reads("J085", "P303+P361+P353", "IF ON SKIN (or hair): Take off immediately all contaminated clothing. Rinse skin with water [or shower].", CLP_TEXT, S, || text("P303+P361+P353")),
    reads("J086", "P304+P340", "IF INHALED: Remove person to fresh air and keep comfortable for breathing.", CLP_TEXT, S, || text("P304+P340")),
    reads("J088", "P308+P313", "IF exposed or concerned: Get medical advice/attention.", CLP_TEXT, S, || text("P308+P313")),
    reads("J089", "P337+P313", "If eye irritation persists: Get medical advice/attention.", CLP_TEXT, S, || text("P337+P313")),
    reads("J091", "P403+P233", "Store in a well-ventilated place. Keep container tightly closed.", CLP_TEXT, S, || text("P403+P233")),
    reads("J092", "P403+P235", "Store in a well-ventilated place. Keep cool.", CLP_TEXT, S, || text("P403+P235")),
    reads("J094", "P501", "Dispose of contents/container to …", CLP_TEXT, S, || text("P501")),

    // What CLP leaves to the placeholder in brackets is left out. H410 makes H400 redundant (J106), so the latter is not given beside it.
    reads("J110", "methanol", "H225 H301 H311 H331 H370", ANNEX, M, || hazards("methanol")),
    reads("J112", "propan-1-ol", "H225 H318 H336", ANNEX, M, || hazards("n_propanol")),
    reads("J113", "propan-2-ol", "H225 H319 H336", ANNEX, M, || hazards("isopropanol")),
    reads("J115", "isobutanol", "H226 H315 H318 H335 H336", ANNEX, M, || hazards("isobutanol")),
    reads("J116", "butan-2-ol", "H226 H319 H335 H336", ANNEX, M, || hazards("sec_butanol")),
    reads("J118", "3-methylbutan-1-ol, at least", "H226 H332 H335 EUH066", ANNEX, M, || among("isoamyl_alcohol", "H226 H332 H335 EUH066")),
    reads("J119", "cyclohexanol", "H302 H315 H332 H335", ANNEX, M, || hazards("cyclohexanol")),
    reads("J121", "glycerol", "none", ANNEX, M, || hazards("glycerol")),
    reads("J122", "acetic acid, glacial", "H226 H314", ANNEX, SM, || hazards("acetic_acid")),
    reads("J124", "propanoic acid", "H226 H314", ANNEX, M, || hazards("propanoic_acid")),
    reads("J125", "acetic anhydride", "H226 H302 H314 H332", ANNEX, S, || hazards("acetic_anhydride")),
    reads("J128", "nitric acid, fuming or concentrated", "H272 H314 H331 EUH071", ANNEX, M, || hazards("nitric_acid")),
    reads("J130", "sodium hydroxide, at least", "H314", ANNEX, SM, || among("sodium_hydroxide", "H314")),
    reads("J131", "potassium hydroxide, at least", "H302 H314", ANNEX, M, || among("potassium_hydroxide", "H302 H314")),
    reads("J133", "sodium carbonate", "H319", ANNEX, M, || hazards("sodium_carbonate")),
    reads("J134", "potassium carbonate", "H315 H319 H335", SELF, M, || hazards("potassium_carbonate")),
    reads("J136", "calcium chloride", "H319", ANNEX, M, || hazards("calcium_chloride")),
    reads("J137", "diethyl ether", "H224 H302 H336 EUH019 EUH066", ANNEX, M, || hazards("diethyl_ether")),
    reads("J139", "1,4-dioxane", "H225 H319 H335 H350 EUH019 EUH066", ANNEX, M, || hazards("dioxane")),
    reads("J140", "tert-butyl methyl ether", "H225 H315", ANNEX, M, || hazards("mtbe")),
    reads("J142", "chloroform", "H302 H315 H319 H331 H351 H361d H372", ANNEX, M, || hazards("chloroform")),
    reads("J143", "hexane", "H225 H304 H315 H336 H361f H373 H411", ANNEX, M, || hazards("hexane")),
    reads("J145", "cyclohexane", "H225 H304 H315 H336 H410", ANNEX, M, || hazards("cyclohexane")),
    reads("J146", "cyclohexene", "H225 H302 H304 H411", SELF, M, || hazards("cyclohexene")),
    reads("J148", "o-xylene", "H226 H312 H315 H332", ANNEX, M, || hazards("o_xylene")),
    reads("J149", "acetone", "H225 H319 H336 EUH066", ANNEX, S, || hazards("acetone")),
    reads("J151", "acetonitrile", "H225 H302 H312 H319 H332", ANNEX, M, || hazards("acetonitrile")),
    reads("J152", "ethyl acetate", "H225 H319 H336 EUH066", ANNEX, M, || hazards("ethyl_acetate")),
    reads("J154", "isopropyl acetate", "H225 H319 H336 EUH066", ANNEX, M, || hazards("isopropyl_acetate")),
    reads("J155", "butyl acetate", "H226 H336 EUH066", ANNEX, M, || hazards("butyl_acetate")),
    reads("J157", "ethyl formate", "H225 H302 H319 H332 H335", ANNEX, M, || hazards("ethyl_formate")),
    reads("J158", "salicylic acid", "H302 H318 H361d", ANNEX, M, || hazards("salicylic_acid")),
    reads("J160", "aniline", "H301 H311 H317 H318 H331 H341 H351 H372 H400", ANNEX, M, || hazards("aniline")),
    reads("J161", "acetanilide", "H302", SELF, M, || hazards("acetanilide")),
    reads("J163", "pyridine", "H225 H302 H312 H332", ANNEX, M, || hazards("pyridine")),
    reads("J164", "triethylamine", "H225 H302 H312 H314 H332", ANNEX, M, || hazards("triethylamine")),
    reads("J166", "potassium permanganate", "H272 H302 H361d H410", ANNEX, M, || hazards("potassium_permanganate")),
    reads("J167", "sodium hypochlorite solution", "H314 H410 EUH031", ANNEX, M, || hazards("sodium_hypochlorite")),
    reads("J169", "copper(II) sulfate pentahydrate", "H302 H318 H410", ANNEX, M, || hazards("copper_sulfate_pentahydrate")),
    reads("J170", "adipic acid", "H319", ANNEX, M, || hazards("adipic_acid")),
    reads("J172", "furfural", "H301 H312 H315 H319 H331 H335 H351", ANNEX, M, || hazards("furfural")),
    reads("J173", "acetaldehyde", "H224 H319 H335 H341 H350", ANNEX, M, || hazards("acetaldehyde")),

    reads("J095", "classified substances that do not name the edition they follow", "none", "CLP; UN GHS Rev. 8 to 10 number the precautions otherwise", S,
        || faulted(|substance| classes(substance).map(|_| substance.safety.edition.is_some()))),
    reads("J097", "flame: substances with it and without a class for it, and the other way round", "none", RULES, S,
        || pictogram("GHS02", &["Flam. Liq. 1", "Flam. Liq. 2", "Flam. Liq. 3", "Flam. Sol.", "Flam. Gas 1", "Self-react.", "Pyr.", "Self-heat.", "Water-react."])),
    reads("J098", "flame over circle: the same", "none", RULES, M, || pictogram("GHS03", &["Ox."])),
    reads("J100", "corrosion: the same", "none", RULES, M, || pictogram("GHS05", &["Skin Corr. 1", "Eye Dam. 1", "Met. Corr. 1"])),
    reads("J101", "skull: the same", "none", RULES, M, || pictogram("GHS06", &["Acute Tox. 1", "Acute Tox. 2", "Acute Tox. 3"])),
    reads("J103", "health hazard: the same", "none", RULES, M,
        || pictogram("GHS08", &["Resp. Sens.", "Muta.", "Carc.", "Repr.", "STOT SE 1", "STOT SE 2", "STOT RE", "Asp. Tox."])),
    reads("J104", "environment: the same", "none", RULES, S, || pictogram("GHS09", &["Aquatic Acute 1", "Aquatic Chronic 1", "Aquatic Chronic 2"])),
    reads("J106", "H318 beside H314", "none", OMITTED, S, || redundant("H314", "H318")),
    reads("J106", "H400 beside H410", "none", OMITTED, S, || redundant("H410", "H400")),
    reads("J107", "substances of a class that asks for `danger` with another signal word", "none", RULES, M, || faulted(|substance| {
        let danger = is_classed(substance, &["Flam. Liq. 1", "Flam. Liq. 2", "Skin Corr. 1", "Eye Dam. 1", "Acute Tox. 1", "Acute Tox. 2", "Acute Tox. 3", "Carc. 1", "Muta. 1", "Repr. 1", "Asp. Tox. 1"]);
        danger.then(|| substance.safety.signal.as_ref().is_some_and(|signal| signal.value == Some(Signal::Danger)))
    })),

    reads("J190", "diethyl ether, list", "B", LISTS, S, || list("diethyl_ether").to_owned()),
    reads("J190", "diethyl ether, months once opened", "12", LISTS, S, || months("diethyl_ether")),
    reads("J190", "distilling diethyl ether: the caution", "Test for peroxides", LISTS, S, || {
        let text = "basis liquid\ntake liquid = diethyl_ether, 100 mL\ntake heavy = anisole, 20 mL\ncombine liquid, heavy -> pot\n\
            distil pot, collecting 33..36 degC -> forerun first, cut product, residue rest\n\
            keep product as diethyl_ether in bottle\ndiscard first, rest as \"flammable, halogen-free\"";
        let sheet = body(text).sheet().unwrap_or_default();
        if sheet.contains("Test for peroxides") { "Test for peroxides" } else { "nothing" }.to_owned()
    }),
    reads("J191", "THF, dioxane, cyclohexene, propan-2-ol, butan-2-ol, acetal: list", "B B B B B B", LISTS, S,
        || ["thf", "dioxane", "cyclohexene", "isopropanol", "sec_butanol", "acetal"].map(list).join(" ")),
    reads("J193", "3-methylbutan-1-ol, benzyl alcohol, 4-methylpentan-2-one: list", "B B B", LISTS, S, || ["isoamyl_alcohol", "benzyl_alcohol", "mibk"].map(list).join(" ")),
    reads("J194", "vinyl acetate, list", "C", LISTS, S, || list("vinyl_acetate").to_owned()),
    reads("J197", "cyclohexene distilled until hardly any is left", "found", LISTS, S, || {
        let text = "basis liquid\ntake liquid = cyclohexene, 100 mL\ndistil liquid, collecting 81..84 degC -> cut product, residue rest\n\
            keep product as cyclohexene in bottle\ndiscard rest as \"flammable, halogen-free\"";
        is_found("temperature::to_dryness", text)
    }),
    reads("J197", "distilling: the caution", "Never distil to dryness", LISTS, S, || {
        let text = "basis liquid\ntake liquid = ethyl_acetate, 100 mL\ndistil liquid, collecting 75..79 degC -> forerun first, cut product, residue rest\n\
            keep product as ethyl_acetate in bottle\ndiscard first, rest as \"flammable, halogen-free\"";
        let sheet = body(text).sheet().unwrap_or_default();
        if sheet.contains("Never distil to dryness") { "Never distil to dryness" } else { "nothing" }.to_owned()
    }),
];
