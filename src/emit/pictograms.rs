//! The pictograms of the GHS, drawn here: a red diamond, and black on white what the UN standard shows.

use std::collections::BTreeMap;

use super::page::text;
use super::{before, view};
use crate::chemistry::label;
use crate::outcome::Outcome;

/// The frame that all of them share, on a field of 100 by 100.
const FRAME: &str = r##"<path d="M50 3L97 50 50 97 3 50z" fill="#fff" stroke="#d8171e" stroke-width="4"/>"##;

/// GHS01 to GHS09: the name, and the symbol inside the frame.
const DRAWN: [(&str, &str); 9] = [
    (
        "exploding bomb",
        concat!(
            r#"<g transform="translate(9.52 5.96) scale(0.84)"><circle cx="45" cy="63" r="12"/>"#,
            r#"<path d="M53 52l5-5 4 4-5 5zM60 46L55 36l8 6 1-13 5 12 8-8-3 11 9 1-9 4 5 8-9-4-3 9-2-10zM38 44L30 40l9-1z"#,
            r#"M45 40l-4-14 8 12zM70 64l13-6-8 9zM63 72l7 9-10-6zM28 52l-10-2 9-4z"/></g>"#,
        ),
    ),
    (
        "flame",
        concat!(
            r#"<g transform="translate(5 4.8) scale(0.9)">"#,
            r#"<path d="M49 17c3 9 15 16 16 30 3-2 4-5 4-9 6 8 6 19-1 26-3 3-7 5-11 5 4-4 5-9 2-14-1 4-3 5-5 6 1-8-3-13-8-16 1"#,
            r#" 8-7 11-7 18 0 3 1 5 3 6-8-1-14-7-14-16 0-12 12-15 15-24 1-4 2-8 6-12zM33 73h34v5H33z"/></g>"#,
        ),
    ),
    (
        "flame over circle",
        concat!(
            r#"<g transform="translate(6 4.76) scale(0.88)">"#,
            r#"<path fill-rule="evenodd" d="M50 49a12 12 0 1 1 0 24 12 12 0 0 1 0-24zm0 5a7 7 0 1 0 0 14 7 7 0 0 0 0-14z"/>"#,
            r#"<path d="M50 15c2 7 11 11 12 21 2-2 3-4 3-7 5 7 5 15-2 22-2-3-5-6-9-7 1-3 0-6-3-9 0 4-5 5-5 9-4 1-7 3-9 7-6-4-8"#,
            r#"-13-3-20 4-5 11-8 16-16zM34 76h32v5H34z"/></g>"#,
        ),
    ),
    (
        "gas cylinder",
        concat!(
            r#"<g transform="translate(7.5 7.5) scale(0.85)"><g transform="rotate(-32 50 50)">"#,
            r#"<path d="M23 42h42c6 0 8 4 11 5h5v6h-5c-3 1-5 5-11 5H23c-2 0-3-2-3-4v-8c0-2 1-4 3-4zM79 44h5v12h-5z"/>"#,
            r#"</g></g>"#,
        ),
    ),
    (
        "corrosion",
        concat!(
            r#"<g transform="translate(5 5.5) scale(0.9)"><path d="M25 31l20-6.5 2.5 7-20 6.5z"/>"#,
            r#"<path d="M75 31l-20-6.5-2.5 7 20 6.5z"/>"#,
            r#"<path d="M28.5 39c1.5 3 2 4 2 5a2 2 0 0 1-4 0c0-1 .5-2 2-5zM28.5 46.5c1.5 3 2 4 2 5a2 2 0 0 1-4 0c0-1 .5-2 2-5z"#,
            r#"M71.5 39c1.5 3 2 4 2 5a2 2 0 0 1-4 0c0-1 .5-2 2-5zM71.5 46.5c1.5 3 2 4 2 5a2 2 0 0 1-4 0c0-1 .5-2 2-5z"/>"#,
            r#"<path d="M17 56h8l2 4h3l2-4h14v7H24z"/>"#,
            r#"<path d="M53 63c2-5 6-7 11-7h4l1 4h4l2-4h8l-6 6-6 6H56c-1 1-1 3 0 4h12l-4 4H50l-3-4z"/></g>"#,
        ),
    ),
    (
        "skull and crossbones",
        concat!(
            r#"<g transform="translate(11 7) scale(0.78)">"#,
            r#"<path d="M50 18c11 0 18 7 18 16 0 6-3 9-6 11v6H38v-6c-3-2-6-5-6-11 0-9 7-16 18-16z"/><g fill="white">"#,
            r#"<ellipse cx="43" cy="36" rx="4.5" ry="5"/><ellipse cx="57" cy="36" rx="4.5" ry="5"/>"#,
            r#"<path d="M50 41l2.5 4.5h-5z"/><path d="M44 48h1.5v4H44zM49.2 48h1.5v4h-1.5zM54.5 48H56v4h-1.5z"/></g>"#,
            r#"<path d="M26 55l48 20M74 55L26 75" fill="none" stroke="black" stroke-width="5"/><g>"#,
            r#"<circle cx="25" cy="53" r="3.2"/><circle cx="23.5" cy="57" r="3.2"/><circle cx="75" cy="53" r="3.2"/>"#,
            r#"<circle cx="76.5" cy="57" r="3.2"/><circle cx="25" cy="77" r="3.2"/><circle cx="23.5" cy="73" r="3.2"/>"#,
            r#"<circle cx="75" cy="77" r="3.2"/><circle cx="76.5" cy="73" r="3.2"/></g></g>"#,
        ),
    ),
    ("exclamation mark", r#"<path d="M50 18c5 0 8 3 7.5 8L54 58h-8l-3.5-32c-.5-5 2.5-8 7.5-8z"/><circle cx="50" cy="70" r="6.5"/>"#),
    (
        "health hazard",
        concat!(
            r#"<g transform="translate(10 9.2) scale(0.8)"><circle cx="50" cy="24" r="9"/>"#,
            r#"<path d="M44 31h12c0 4 3 5 8 6 7 2 11 5 12 12l2 14-10 12-18 12-18-12-10-12 2-14c1-7 5-10 12-12 5-1 8-2 8-6z"/>"#,
            r#"<path fill="white" d="M50 38l3.5 12 9-8-5 11 12 3-12 3.5 6 10-10-6.5-3.5 13-3.5-13-10 6.5 6-10-12-3.5 12-3-5-11"#,
            r#" 9 8z"/></g>"#,
        ),
    ),
    (
        "environment",
        concat!(
            r#"<g transform="translate(10.52 12.3) scale(0.74)">"#,
            r#"<path d="M13 62l4 0c4-1 8-1 14-1l1-13-8-6 1-2 7 5 1-9-6-5 1-2 6 4 1-10h4l0 9 7-8 2 1-9 11 0 9 10-7 1 2-11 9 1"#,
            r#" 12c6 0 10 1 14 2v3H17z"/>"#,
            r#"<path fill-rule="evenodd" d="M47 76c4-8 12-12 20-10 3 .7 5 2 8 3l8-6-1 9 2 7-9-4c-3 2-7 5-13 5-6 0-11-1-15-4z"#,
            r#"m6-.5a1.8 1.8 0 1 0 3.6 0 1.8 1.8 0 0 0-3.6 0z"/></g>"#,
        ),
    ),
];

/// The pictograms of the substances that the work meets, each with its substances. Empty when there is none.
pub fn strip(outcome: &Outcome) -> String {
    let mut shown: BTreeMap<u8, Vec<String>> = BTreeMap::new();
    let mut unknown: Vec<String> = Vec::new();
    for met in view::met(outcome) {
        let name = outcome.defs.substance(met.sub).display();
        match carried(outcome, &met) {
            Some(numbers) => numbers.into_iter().for_each(|number| shown.entry(number).or_default().push(name.clone())),
            None => unknown.push(name),
        }
    }
    if shown.is_empty() {
        return String::new();
    }
    let mut out = "<ul class=\"pictograms\">\n".to_owned();
    for (number, (name, symbol)) in (1..).zip(DRAWN) {
        let Some(substances) = shown.get(&number) else { continue };
        out.push_str(&format!(
            "<li><svg viewBox=\"0 0 100 100\" role=\"img\" aria-label=\"GHS0{number} {name}\"><title>GHS0{number} {name}</title>{FRAME}{symbol}</svg>\
             <div><b>{name}</b> {}</div></li>\n",
            text(&substances.join(", "))
        ));
    }
    out.push_str("</ul>\n");
    if !unknown.is_empty() {
        out.push_str(&format!("<p>Pictograms not known: {}.</p>\n", text(&unknown.join(", "))));
    }
    out
}

/// Numbers of the pictograms of a substance as the work meets it; `None` when they are not known.
fn carried(outcome: &Outcome, met: &view::Met) -> Option<Vec<u8>> {
    let substance = outcome.defs.substance(met.sub);
    let here = before::codes(substance, met).map(|codes| label::pictograms(&codes));
    let Some(declared) = &substance.safety.pictograms else { return here.map(|found| found.into_iter().collect()) };
    // What is said of the pure substance goes where the statement behind it goes.
    let pure = substance.hazards.as_ref().map(|hazards| label::pictograms(&hazards.value)).unwrap_or_default();
    let here = here.unwrap_or_default();
    let numbers = declared.value.iter().filter_map(|name| name.strip_prefix("GHS0")?.parse().ok());
    let mut numbers: Vec<u8> = numbers.filter(|number| here.contains(number) || !pure.contains(number)).collect();
    numbers.sort_unstable();
    numbers.dedup();
    Some(numbers)
}
