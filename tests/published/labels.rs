//! Labels of the library against the rules of the EU's CLP: statements, pictograms and signal word follow
//! from the classes, and what another makes redundant is left out.
//!
//! Checks J097 to J109 and J106 of the table of published values: CLP Annex I (classes, statements, signal
//! words), Annex V (pictograms), Articles 26 and 27 (precedence of pictograms and statements).

use std::collections::BTreeSet;

use scruple::library::{ENTRIES, entries};
use scruple::load::Memory;
use scruple::resolve::definitions::{Definitions, PeroxideList, Signal};
use scruple::resolve::resolve;
use scruple::source::Sources;

/// Fewest substances with a classification of their own.
const FEWEST: usize = 120;

/// Class, statement, pictogram (empty for none), whether it calls for the word danger.
const RULES: &[(&str, &str, &str, bool)] = &[
    ("Flam. Gas 1", "H220", "GHS02", true),
    ("Flam. Gas 2", "H221", "", true),
    ("Flam. Liq. 1", "H224", "GHS02", true),
    ("Flam. Liq. 2", "H225", "GHS02", true),
    ("Flam. Liq. 3", "H226", "GHS02", false),
    ("Flam. Sol. 1", "H228", "GHS02", true),
    ("Flam. Sol. 2", "H228", "GHS02", false),
    ("Self-heat. 1", "H251", "GHS02", true),
    ("Self-heat. 2", "H252", "GHS02", false),
    ("Water-react. 1", "H260", "GHS02", true),
    ("Water-react. 2", "H261", "GHS02", true),
    ("Ox. Gas 1", "H270", "GHS03", true),
    ("Ox. Liq. 1", "H271", "GHS03", true),
    ("Ox. Liq. 2", "H272", "GHS03", true),
    ("Ox. Liq. 3", "H272", "GHS03", false),
    ("Ox. Sol. 1", "H271", "GHS03", true),
    ("Ox. Sol. 2", "H272", "GHS03", true),
    ("Ox. Sol. 3", "H272", "GHS03", false),
    ("Press. Gas", "H280", "GHS04", false),
    ("Met. Corr. 1", "H290", "GHS05", false),
    ("Acute Tox. 1 (oral)", "H300", "GHS06", true),
    ("Acute Tox. 2 (oral)", "H300", "GHS06", true),
    ("Acute Tox. 3 (oral)", "H301", "GHS06", true),
    ("Acute Tox. 4 (oral)", "H302", "GHS07", false),
    ("Acute Tox. 1 (dermal)", "H310", "GHS06", true),
    ("Acute Tox. 2 (dermal)", "H310", "GHS06", true),
    ("Acute Tox. 3 (dermal)", "H311", "GHS06", true),
    ("Acute Tox. 4 (dermal)", "H312", "GHS07", false),
    ("Acute Tox. 1 (inhalation)", "H330", "GHS06", true),
    ("Acute Tox. 2 (inhalation)", "H330", "GHS06", true),
    ("Acute Tox. 3 (inhalation)", "H331", "GHS06", true),
    ("Acute Tox. 4 (inhalation)", "H332", "GHS07", false),
    ("Asp. Tox. 1", "H304", "GHS08", true),
    ("Skin Corr. 1", "H314", "GHS05", true),
    ("Skin Corr. 1A", "H314", "GHS05", true),
    ("Skin Corr. 1B", "H314", "GHS05", true),
    ("Skin Corr. 1C", "H314", "GHS05", true),
    ("Skin Irrit. 2", "H315", "GHS07", false),
    ("Skin Sens. 1", "H317", "GHS07", false),
    ("Skin Sens. 1A", "H317", "GHS07", false),
    ("Skin Sens. 1B", "H317", "GHS07", false),
    ("Eye Dam. 1", "H318", "GHS05", true),
    ("Eye Irrit. 2", "H319", "GHS07", false),
    ("Resp. Sens. 1", "H334", "GHS08", true),
    ("STOT SE 3", "H335", "GHS07", false),
    ("STOT SE 3", "H336", "GHS07", false),
    ("Muta. 1A", "H340", "GHS08", true),
    ("Muta. 1B", "H340", "GHS08", true),
    ("Muta. 2", "H341", "GHS08", false),
    ("Carc. 1A", "H350", "GHS08", true),
    ("Carc. 1B", "H350", "GHS08", true),
    ("Carc. 2", "H351", "GHS08", false),
    ("Repr. 1A", "H360", "GHS08", true),
    ("Repr. 1B", "H360", "GHS08", true),
    ("Repr. 2", "H361", "GHS08", false),
    ("STOT SE 1", "H370", "GHS08", true),
    ("STOT SE 2", "H371", "GHS08", false),
    ("STOT RE 1", "H372", "GHS08", true),
    ("STOT RE 2", "H373", "GHS08", false),
    ("Aquatic Acute 1", "H400", "GHS09", false),
    ("Aquatic Chronic 1", "H410", "GHS09", false),
    ("Aquatic Chronic 2", "H411", "GHS09", false),
    ("Aquatic Chronic 3", "H412", "", false),
];

/// Classes that carry no signal word.
const NO_WORD: &[&str] = &["Aquatic Chronic 2", "Aquatic Chronic 3"];

/// A statement that makes another redundant (CLP Article 27, Annex I 4.1.4).
const REDUNDANT: &[(&str, &str)] = &[("H314", "H318"), ("H410", "H400"), ("H411", "H401"), ("H412", "H402")];

/// The rules of one class; several where the class has several statements.
fn rules(class: &str) -> impl Iterator<Item = &'static (&'static str, &'static str, &'static str, bool)> {
    RULES.iter().filter(move |(known, ..)| *known == class)
}

fn pictograms(classes: &[&str]) -> BTreeSet<&'static str> {
    let mut shown: BTreeSet<&str> = classes.iter().flat_map(|class| rules(class)).map(|(_, _, pictogram, _)| *pictogram).collect();
    shown.remove("");
    // Article 26: the exclamation mark gives way for what a stronger pictogram says already.
    let irritant = |class: &str| class.starts_with("Skin Irrit.") || class.starts_with("Eye Irrit.");
    let sensitises_lungs = classes.iter().any(|class| class.starts_with("Resp. Sens."));
    let stays = classes.iter().any(|class| {
        rules(class).any(|(_, _, pictogram, _)| *pictogram == "GHS07")
            && !(shown.contains("GHS05") && irritant(class))
            && !(sensitises_lungs && (irritant(class) || class.starts_with("Skin Sens.")))
    });
    if shown.contains("GHS06") || !stays {
        shown.remove("GHS07");
    }
    shown
}

fn signal(classes: &[&str]) -> Option<Signal> {
    let words = classes.iter().filter(|class| !NO_WORD.contains(class));
    words
        .map(|class| if rules(class).any(|(.., danger)| *danger) { Signal::Danger } else { Signal::Warning })
        .min_by_key(|word| *word != Signal::Danger)
}

/// What is wrong with the statements of these classes.
fn statements(classes: &[&str], codes: &[&str]) -> Vec<String> {
    let mut faults = Vec::new();
    // `H361d` is `H361` with its effect named; EUH statements follow from no class.
    let bare = |code: &str| code.get(..4).unwrap_or(code).to_owned();
    let said: BTreeSet<String> = codes.iter().filter(|code| !code.starts_with("EUH")).map(|code| bare(code)).collect();
    for class in classes {
        let mut wanted = rules(class).map(|(_, code, ..)| *code).peekable();
        if wanted.peek().is_none() {
            faults.push(format!("the class `{class}` is not known"));
        }
        let needless = |code: &str| REDUNDANT.iter().any(|(by, what)| *what == code && said.contains(*by));
        if !wanted.any(|code| said.contains(code) || needless(code)) {
            faults.push(format!("nothing is said for `{class}`"));
        }
    }
    for code in &said {
        if !classes.iter().flat_map(|class| rules(class)).any(|(_, known, ..)| known == code) {
            faults.push(format!("{code} follows from no class"));
        }
        if let Some((by, _)) = REDUNDANT.iter().find(|(by, what)| what == code && said.contains(*by)) {
            faults.push(format!("{by} makes {code} redundant"));
        }
    }
    faults
}

fn library() -> Definitions {
    let names: Vec<&str> = ENTRIES.iter().filter(|entry| ["substance", "agent"].contains(&entry.sort)).map(|entry| entry.name).collect();
    let text = format!("operation name_all {{\n    form     name_all <what: {}>\n    says     \"{{what}}\"\n}}\n", names.join(" | "));
    let (mut sources, mut findings) = (Sources::default(), Vec::new());
    let resolved = resolve("all.scruple", &Memory::new([("all.scruple", text.as_str())]), &mut sources, &mut findings);
    assert!(findings.is_empty(), "{findings:?}");
    resolved.defs
}

#[test]
fn labels_follow_from_the_classes() {
    let (mut faults, mut classified) = (Vec::new(), 0);
    for substance in &library().substances {
        let safety = &substance.safety;
        let mut fault = |what: String| faults.push(format!("{}: {what}", substance.name));
        let Some(classed) = &safety.classed else {
            if safety.signal.is_some() || safety.pictograms.is_some() || safety.precautions.is_some() || safety.edition.is_some() {
                fault("a label without classes".to_owned());
            }
            continue;
        };
        let classes: Vec<&str> = classed.value.iter().map(String::as_str).collect();
        classified += usize::from(!classes.is_empty());
        if safety.edition.as_ref().is_none_or(|edition| edition.is_empty()) {
            fault("no edition".to_owned());
        }
        let (Some(codes), Some(shown), Some(word)) = (&substance.hazards, &safety.pictograms, &safety.signal) else {
            fault("classes without statements, pictograms or signal word".to_owned());
            continue;
        };
        let codes: Vec<&str> = codes.value.iter().map(String::as_str).collect();
        statements(&classes, &codes).into_iter().for_each(&mut fault);
        let found: BTreeSet<&str> = shown.value.iter().map(String::as_str).collect();
        if found != pictograms(&classes) || found.len() != shown.value.len() {
            fault(format!("{:?} against {:?}", shown.value, pictograms(&classes)));
        }
        if word.value != signal(&classes) {
            fault(format!("{:?} against {:?}", word.value, signal(&classes)));
        }
    }
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
    assert!(classified >= FEWEST, "only {classified} are classified");
}

/// Each code of a substance has its text, part by part where statements are joined.
#[test]
fn every_statement_has_its_text() {
    let (mut missing, mut asked) = (BTreeSet::new(), 0);
    for substance in &library().substances {
        let hazards = substance.hazards.iter().flat_map(|codes| &codes.value);
        let precautions = substance.safety.precautions.iter().flat_map(|codes| &codes.value);
        for code in hazards.chain(precautions).flat_map(|code| code.split('+')) {
            asked += 1;
            if !entries(code).iter().any(|number| ENTRIES[*number].sort == "hazard_text") {
                missing.insert(code.to_owned());
            }
        }
    }
    assert!(asked > 500, "only {asked} were looked at");
    assert!(missing.is_empty(), "{missing:?}");
}

/// What is on the lists A, B or C carries the class by which cautions are printed.
#[test]
fn peroxide_formers_are_of_their_class() {
    let mut listed = 0;
    for substance in &library().substances {
        let Some(peroxides) = &substance.safety.peroxides else { continue };
        listed += 1;
        if peroxides.value.list != PeroxideList::D {
            assert!(substance.is("peroxide_former"), "{}", substance.name);
        }
    }
    assert!(listed >= 20, "only {listed} are listed");
}

/// The rules as the table of published values has them.
#[test]
fn rules_as_published() {
    let shown = |classes: &[&str]| pictograms(classes).into_iter().collect::<Vec<_>>().join(" ");
    assert_eq!(shown(&["Flam. Liq. 3"]), "GHS02", "J097");
    assert_eq!(shown(&["Ox. Sol. 2"]), "GHS03", "J098");
    assert_eq!(shown(&["Skin Corr. 1B"]), "GHS05", "J100");
    assert_eq!(shown(&["Eye Dam. 1"]), "GHS05", "J100");
    assert_eq!(shown(&["Acute Tox. 3 (oral)", "Acute Tox. 4 (dermal)"]), "GHS06", "J101");
    assert_eq!(shown(&["STOT RE 2", "Asp. Tox. 1", "Repr. 2"]), "GHS08", "J103");
    assert_eq!(shown(&["Aquatic Chronic 2"]), "GHS09", "J104");
    assert_eq!(shown(&["Aquatic Chronic 3"]), "", "J104");
    assert_eq!(shown(&["Skin Corr. 1B", "Skin Irrit. 2"]), "GHS05", "CLP Article 26");
    assert_eq!(shown(&["Skin Corr. 1B", "Acute Tox. 4 (oral)"]), "GHS05 GHS07", "CLP Article 26");
    assert_eq!(shown(&["Resp. Sens. 1", "Skin Sens. 1"]), "GHS08", "CLP Article 26");
    assert!(!statements(&["Skin Corr. 1B", "Eye Dam. 1"], &["H314", "H318"]).is_empty(), "J106");
    assert!(statements(&["Skin Corr. 1B", "Eye Dam. 1"], &["H314"]).is_empty(), "J106");
    assert!(!statements(&["Aquatic Acute 1", "Aquatic Chronic 1"], &["H400", "H410"]).is_empty(), "J106");
    assert_eq!(signal(&["Flam. Liq. 3", "Eye Dam. 1"]), Some(Signal::Danger), "J107");
    assert_eq!(signal(&["Flam. Liq. 3", "Eye Irrit. 2"]), Some(Signal::Warning), "J107");
    assert_eq!((shown(&["Met. Corr. 1"]).as_str(), signal(&["Met. Corr. 1"])), ("GHS05", Some(Signal::Warning)), "J109");
    assert!(!statements(&["Flam. Liq. 2"], &["H226"]).is_empty(), "another category has another statement");
}
