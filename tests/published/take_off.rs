//! Published preparations with a take-off of water, followed in time, against what is published of them:
//! `tests/equilibria/TAKE_OFF.md`, written by this test with `BLESS=1`.

use std::fmt::Write as _;

use scruple::emit::course::told;

use super::bench::compiled;
use super::preparations::TEXTS;

/// A text: its id, water in g, least and greatest isolated yield, and why less than all of it is taken off.
type Published = (&'static str, f64, Option<(f64, f64)>, &'static str);

/// Id, water that comes if the reaction goes to its end (formed and brought along), g, and the isolated yield that
/// is published, of theory; from the arithmetic of each text in `preparations/`.
const PUBLISHED: &[Published] = &[
    (
        "D7",
        67.8,
        Some((0.605, 0.681)),
        "it ends when what condenses is one liquid: the layer that runs back holds 2 % of water, and so does the vapour",
    ),
    ("D8", 17.0, Some((0.605, 0.605)), "as D7"),
    (
        "D9",
        1.79,
        None,
        "butanol alone hardly carries it: cold it dissolves a fifth of its mass of water and the vapour holds less, so that all but the first drops run back; five moles of it to one of acid bring as much all the same",
    ),
    ("D10", 36.0, Some((0.965, 0.965)), "150 g of carbonate take up 29.3 g at most, as the sesquihydrate; as printed"),
    (
        "D22",
        0.180,
        Some((0.703, 0.703)),
        "no trap is named: a side arm of a third of the charge; equal moles, and 7 % of them are left when what condenses no longer parts",
    ),
];

#[test]
fn preparations_with_water_take_off_are_followed() {
    let mut table = String::from(
        "# Taking water off: followed in time, against the published texts\n\n\
         Written by `tests/published/take_off.rs`. No text gives a rate, so that the reaction is taken to keep up and times are the \
         least; none says how much was collected, so that water stands against what the equation and the reagents bring. A published \
         yield is of what was isolated, and bounds the conversion from below.\n\n\
         No other preparation of the collection takes water off so that the rest runs back: D23 and D24 distil it with the product, D27 \
         distils methanol. Where no trap is named one is reckoned with that holds half as much again as all the water, up to 25 mL and \
         a third of the charge, and is drained as it fills.\n\n\
         | text | water in all, g | parted or on the bed, g | in the liquid beside it, g | together | read, mL | reacted | isolated, published | hours to 99 % | limit | what is missing |\n\
         | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | --- | --- | --- |\n",
    );
    let (mut worst, mut sum) = (0.0_f64, 0.0);
    for (id, water, isolated, missing) in PUBLISHED {
        let (_, text) = TEXTS.iter().find(|(known, _)| known == id).unwrap();
        let compilation = compiled(text, None);
        let outcome = compilation.outcome.as_ref().unwrap_or_else(|| panic!("{id} does not compile"));
        let courses = outcome.courses();
        let course = outcome.course(*courses.first().unwrap()).unwrap().unwrap_or_else(|why| panic!("{id}: {why}"));
        let figures = told(outcome, &course);
        let parted = figures.water_taken_g.unwrap();
        let beside = figures.water_beside_g.unwrap();
        let taken = parted + beside;
        let reacted = figures.conversion.values().next().copied();
        assert!(taken > 0.0 && taken <= water * 1.02, "{id}: {taken} g of {water} g");
        let off = 1.0 - taken / water;
        worst = worst.max(off);
        sum += off;
        if let (Some((low, _)), Some(reacted)) = (isolated, reacted) {
            assert!((*low..=1.0 + 1e-9).contains(&reacted), "{id}: {reacted} reacted, {low} isolated");
        }
        writeln!(
            table,
            "| {id} | {water} | {parted:.3} | {beside:.3} | {:.0} % | {} | {} | {} | {} | {} | {missing} |",
            100.0 * taken / water,
            figures.reading_ml.map_or_else(|| "bed".to_owned(), |read| format!("{read:.2}")),
            reacted.map_or_else(|| "as stated".to_owned(), |share| format!("{:.1} %", 100.0 * share)),
            isolated.map_or_else(
                || "not given".to_owned(),
                |(low, high)| {
                    if low == high { format!("{:.1} %", 100.0 * low) } else { format!("{:.1} to {:.1} %", 100.0 * low, 100.0 * high) }
                }
            ),
            figures.to_99_percent_s.map_or_else(|| "not met".to_owned(), |time| format!("{:.2}", time / 3600.0)),
            figures.limit,
        )
        .unwrap();
    }
    let mean = sum / PUBLISHED.len() as f64;
    writeln!(
        table,
        "\nShort of all the water: {:.0} % on average, {:.0} % at worst. What is missing stays in the flask, or finds no room on the bed.",
        100.0 * mean,
        100.0 * worst
    )
    .unwrap();
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/equilibria/TAKE_OFF.md");
    if std::env::var_os("BLESS").is_some() {
        std::fs::write(path, &table).unwrap();
    }
    assert_eq!(std::fs::read_to_string(path).unwrap_or_default(), table, "run with BLESS=1 and read the difference");
}
