//! Texts to try the laws on: samples with other figures, samples with edits, words at random, and
//! procedures put together from operations at random.

use proptest::prelude::*;
use proptest::sample::Index;

use crate::{all_texts, figures, parse};

const TEXTS: usize = 12;

/// A sample or example in which some figures were changed by up to a factor.
pub fn varied(most: f64) -> impl Strategy<Value = String> {
    let changes = prop::collection::vec((any::<Index>(), -1.0..1.0_f64, 0_usize..6), 1..8);
    (0..TEXTS, changes).prop_map(move |(which, changes)| {
        let (_, text) = all_texts().nth(which).unwrap();
        let mut text = text.to_owned();
        for (at, power, count) in changes {
            let places = figures(&parse(&text).0);
            let (start, end, value, unit) = &places[at.index(places.len())];
            let changed = match unit.as_deref() {
                Some("times") => count.to_string(),
                // Coefficients of reactions and the like stay.
                None if value.fract() == 0.0 => continue,
                Some("eq") => format!("{:.3}", 0.5 + 4.5 * (power + 1.0) / 2.0),
                Some("degC") => format!("{:.1}", value + 10.0 * power),
                Some("%") | Some("% w/w") | Some("% v/v") => format!("{:.2}", (value * most.powf(power)).min(99.0)),
                _ => format!("{}", value * most.powf(power)),
            };
            text.replace_range(*start..*end, &changed);
        }
        text
    })
}

/// A sample or example with spans deleted, doubled, moved or swapped.
pub fn edited(most: usize) -> impl Strategy<Value = String> {
    let edits = prop::collection::vec((any::<Index>(), any::<Index>(), 0_usize..60, 0_usize..4), 1..most);
    (0..TEXTS, edits).prop_map(|(which, edits)| {
        let (_, text) = all_texts().nth(which).unwrap();
        let mut text: Vec<char> = text.chars().collect();
        for (a, b, length, what) in edits {
            let (a, b) = (a.index(text.len() + 1), b.index(text.len() + 1));
            let end = (a + length).min(text.len());
            let piece: Vec<char> = text[a..end].to_vec();
            match what {
                0 => drop(text.drain(a..end)),
                1 => drop(text.splice(b..b, piece)),
                2 => {
                    text.drain(a..end);
                    let b = b.min(text.len());
                    text.splice(b..b, piece);
                }
                _ if end <= b => {
                    let other_end = (b + length).min(text.len());
                    let other: Vec<char> = text.splice(b..other_end, piece).collect();
                    text.splice(a..end, other);
                }
                _ => {}
            }
        }
        text.into_iter().collect()
    })
}

const WORDS: &[&str] = &[
    "procedure",
    "step",
    "take",
    "basis",
    "x",
    "y",
    "pot",
    "=",
    "water",
    ",",
    "5",
    "mL",
    "%",
    "w/w",
    "{",
    "}",
    "\n",
    "\n    ",
    "\n                ",
    "->",
    "→",
    "<=>",
    "⇌",
    "combine",
    "wash",
    "with",
    "upper",
    "lower",
    "\"text\"",
    "\"",
    "“",
    "enough",
    "+",
    "20 %",
    "volume of",
    "per",
    "g",
    "(",
    ")",
    "running",
    "reaction",
    "r",
    "equilibrium",
    "conversion",
    "operation",
    "form",
    "<p: mixture>",
    "[",
    "]",
    "effect",
    "mix",
    "# remark\n",
    "##",
    "keep",
    "as",
    "in",
    "jar",
    "substance",
    "formula",
    "C2H6O",
    "1e9",
    "1e999",
    "..",
    "...",
    "-",
    "−",
    "–",
    "fixed",
    "eq",
    "2 times",
    "dry",
    "over",
    "for",
    "h",
    "5..",
    "1,5 g",
    "3-4 degC",
    ";",
    "°",
    "°C",
    "± 0.1",
    "+/- 1 g",
    "use",
    "\"text.scruple\"",
    "agent",
    "solution",
    "apparatus",
    "instrument",
    "source",
    "needs",
    "says",
    "when",
    "is",
    "0",
    "-1",
    "0 g",
    "mol%",
    "degC",
    "\0",
    "\u{FEFF}",
    "\u{A0}",
    "\t",
    "é",
    "水",
    "🜁",
    "distil",
    "collecting",
    "discard",
    "caution",
];

/// Words of the language in any order.
pub fn words(most: usize) -> impl Strategy<Value = String> {
    let glue = prop::sample::select(&[" ", " ", " ", "", "\n"][..]);
    prop::collection::vec((prop::sample::select(WORDS), glue), 0..most)
        .prop_map(|words| words.into_iter().map(|(word, glue)| format!("{word}{glue}")).collect())
}

const LIQUIDS: &[&str] = &[
    "water",
    "ethanol",
    "methanol",
    "acetone",
    "cyclohexane",
    "hexane",
    "toluene",
    "ethyl_acetate",
    "isoamyl_alcohol",
    "n_butanol",
    "acetic_acid",
    "benzyl_alcohol",
    "limonene",
    "acetic_anhydride",
    "isopropanol",
];

/// A procedure of operations at random on liquids at random, everything kept at the end.
pub fn assembled() -> impl Strategy<Value = String> {
    let takes = prop::collection::vec((prop::sample::select(LIQUIDS), 1.0..200.0_f64), 1..5);
    let steps = prop::collection::vec((0_usize..10, 0.05..3.0_f64, any::<bool>(), 1_u32..4), 0..7);
    (takes, steps).prop_map(|(takes, steps)| {
        let mut text = "procedure p \"At random\" {\n    basis t0\n".to_owned();
        let mut names = Vec::new();
        for (at, (what, amount)) in takes.iter().enumerate() {
            text += &format!("    take t{at} = {what}, {amount:.4} mL\n");
            names.push(format!("t{at}"));
        }
        let (mut statements, mut kept) = (String::new(), Vec::new());
        let mut pot = "t0".to_owned();
        if names.len() > 1 {
            statements += &format!("        combine {} -> p\n", names.join(", "));
            pot = "p".to_owned();
        }
        for (at, (what, figure, first, count)) in steps.into_iter().enumerate() {
            let (up, low) = if first { ("p", format!("k{at}")) } else { (&*format!("k{at}"), "p".to_owned()) };
            let layers = format!("upper {up}, lower {low}");
            let line = match what {
                0 => format!("wash {pot} with water, {figure:.3} * volume of {pot}, {count} times -> {layers}"),
                1 => format!("wash {pot} with sodium_bicarbonate, 5 % w/w, {figure:.3} * volume of {pot} -> {layers}"),
                2 => format!("extract {pot} with cyclohexane, {:.3} mL, {count} times -> {layers}", figure * 40.0),
                3 => format!(
                    "distil {pot}, collecting {:.1}..{:.1} degC -> cut p, residue k{at}",
                    55.0 + 30.0 * figure,
                    65.0 + 31.0 * figure
                ),
                4 => format!("evaporate {pot} -> distillate k{at}, residue p"),
                5 => format!("divide {pot}, taking {:.3} -> share p, rest k{at}", figure / 3.01),
                6 => format!("cool {pot} to {:.1} degC", 20.0 - 8.0 * figure),
                7 => format!("add ethanol, {:.3} mL to {pot}", figure * 20.0),
                8 => format!("heat {pot} to {:.1} degC", 25.0 + 10.0 * figure),
                _ => format!("dry {pot} over magnesium_sulfate, {:.3} g for 10 min -> dried p, spent k{at}", figure * 60.0),
            };
            statements += &format!("        {line}\n");
            if !matches!(what, 6..=8) {
                kept.push(format!("k{at}"));
                pot = "p".to_owned();
            }
        }
        text += &format!("    step \"Work\" {{\n{statements}    }}\n");
        for name in kept {
            text += &format!("    keep {name} as \"{name}\" in bottle\n");
        }
        text + &format!("    keep {pot} as \"what is left\" in bottle\n}}\n")
    })
}
