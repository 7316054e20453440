//! Pictograms of the GHS: which hazard statements bring which, and which of them take another's place.
//!
//! The rules are those of the EU's CLP, Annex I, and its article 26 for the order among pictograms;
//! the codes of each class are from memory.

use std::collections::BTreeSet;

/// Statements, without the letters that may follow, that bring each of GHS01 to GHS09.
///
/// H221 brings none: it is said of gases that carry the flame and of others that do not.
const BROUGHT: [&[&str]; 9] = [
    &["H200", "H201", "H202", "H203", "H204", "H240", "H241"],
    &[
        "H206", "H207", "H208", "H220", "H222", "H223", "H224", "H225", "H226", "H228", "H230", "H231", "H232", "H241", "H242", "H250",
        "H251", "H252", "H260", "H261", "H282", "H283",
    ],
    &["H270", "H271", "H272"],
    &["H280", "H281", "H282", "H283", "H284"],
    &["H290", "H314", "H318"],
    &["H300", "H301", "H310", "H311", "H330", "H331"],
    &["H302", "H312", "H315", "H317", "H319", "H332", "H335", "H336", "H420"],
    &["H304", "H334", "H340", "H341", "H350", "H351", "H360", "H361", "H370", "H371", "H372", "H373"],
    &["H400", "H410", "H411"],
];

/// Statements that bring no exclamation mark beside the corrosion.
const BESIDE_CORROSION: &[&str] = &["H315", "H319"];
/// Statements that bring no exclamation mark where the airways may be sensitised.
const BESIDE_SENSITISED_AIRWAYS: &[&str] = &["H315", "H317", "H319"];

/// Numbers of the pictograms, 1 to 9, that hazard statements bring: `H225, H319` bring 2 and 7.
///
/// The optional gas cylinder beside a flame or a skull is kept, and so is the flame beside the bomb.
pub fn pictograms<S: AsRef<str>>(codes: &[S]) -> BTreeSet<u8> {
    let bare = |code: &S| code.as_ref().get(..4).unwrap_or_default().to_owned();
    let mut bare: BTreeSet<String> = codes.iter().map(bare).collect();
    let brings = |bare: &BTreeSet<String>, wanted: &[&str]| wanted.iter().any(|code| bare.contains(*code));
    let numbered = || (1..).zip(BROUGHT);
    let mut found: BTreeSet<u8> = numbered().filter(|(_, wanted)| brings(&bare, wanted)).map(|(number, _)| number).collect();
    let airways = bare.contains("H334");
    if found.contains(&5) {
        bare.retain(|code| !BESIDE_CORROSION.contains(&code.as_str()));
    }
    if airways {
        bare.retain(|code| !BESIDE_SENSITISED_AIRWAYS.contains(&code.as_str()));
    }
    let marked = numbered().any(|(number, wanted)| number == 7 && brings(&bare, wanted));
    // The skull leaves no room for the exclamation mark at all.
    if found.contains(&6) || !marked {
        found.remove(&7);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(codes: &[&str]) -> Vec<u8> {
        pictograms(codes).into_iter().collect()
    }

    #[test]
    fn statements_bring_their_pictograms() {
        assert_eq!(of(&["H225", "H319", "H336"]), [2, 7]);
        assert_eq!(of(&["H226", "H304", "H317", "H411"]), [2, 7, 8, 9]);
        assert_eq!(of(&["H361d"]), [8]);
        assert_eq!(of(&["H272"]), [3]);
        assert_eq!(of(&["H290"]), [5]);
        assert_eq!(of(&["H241"]), [1, 2]);
        assert_eq!(of(&[]), [0; 0]);
    }

    #[test]
    fn what_carries_no_pictogram_brings_none() {
        assert_eq!(of(&["H412", "H413", "H227", "H303", "EUH066", "H", "Hé31"]), [0; 0]);
    }

    #[test]
    fn one_pictogram_takes_the_place_of_another() {
        // Methanol, propan-1-ol: EU harmonised classification, CLP Annex VI.
        assert_eq!(of(&["H225", "H301", "H311", "H331", "H370"]), [2, 6, 8]);
        assert_eq!(of(&["H225", "H318", "H336"]), [2, 5, 7]);
        assert_eq!(of(&["H314", "H319"]), [5]);
        assert_eq!(of(&["H302", "H314"]), [5, 7]);
        assert_eq!(of(&["H317", "H334"]), [8]);
        assert_eq!(of(&["H301", "H317"]), [6]);
    }
}
