//! Waste: is the label made of known words, and does it fit what is in it?

use std::collections::{BTreeMap, BTreeSet};

use super::Case;
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::evaluate::Fact;
use crate::kinds::significant;
use crate::matter::portion::Portion;
use crate::operations::acid_excess;
use crate::resolve::definitions::{Sub, Substance};
use crate::resolve::waste_word::{Condition, Measure, WasteWord, plain};
use crate::source::Span;

/// Share from which what a label names by its own name is in it. Our own figure.
const NAMED: f64 = 0.001;

/// Mass fraction of dissolved salts, base and strong acid from which water is taken for a salt solution. Our own figure.
const SALTED: f64 = 0.005;

/// What is wrong with a label: why, and what could stand on it instead.
struct Fault {
    why: String,
    instead: String,
    /// Whether neutralising first would help.
    strong: bool,
}

/// One portion under a label, its name, and all that goes into the same bottle.
struct Under<'a> {
    items: &'a [Item<'a>],
    name: &'a str,
    portion: &'a Portion,
    bottle: Vec<&'a Portion>,
    /// Whether it is the first of them, with which the bottle is judged.
    first: bool,
}

/// An item of a label, and the word that it is.
#[derive(Clone, Copy)]
struct Item<'a> {
    text: &'a str,
    word: Option<&'a WasteWord>,
}

/// Judges the labels of what is discarded; the worst of one statement only.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let all: Vec<_> = case
        .evaluation
        .facts
        .iter()
        .filter_map(|fact| match fact {
            Fact::Discarded { span, name, portion, label, label_span } if portion.mass() > 0.0 => {
                Some((span, name, portion, label, label_span))
            }
            _ => None,
        })
        .collect();
    // Labels that differ in spelling only stand on one bottle.
    let mut spellings: BTreeMap<&str, String> = BTreeMap::new();
    for (_, _, _, label, _) in &all {
        spellings.entry(label.as_str()).or_insert_with(|| plain(label));
    }
    let bottle = |label: &str| spellings.get(label).map_or("", String::as_str);
    let mut bottles: BTreeMap<&str, Vec<&Portion>> = BTreeMap::new();
    for (_, _, portion, label, _) in &all {
        bottles.entry(bottle(label)).or_default().push(portion);
    }
    let (mut seen, mut unknown): (BTreeSet<Span>, BTreeSet<Span>) = Default::default();
    let mut labels: BTreeMap<&str, Vec<Item<'_>>> = BTreeMap::new();
    for (span, name, portion, label, label_span) in &all {
        // Many portions have the same label.
        let items = labels.entry(label.as_str()).or_insert_with(|| {
            let texts = label.split([',', ';']).map(str::trim).filter(|item| !item.is_empty());
            texts.map(|text| Item { text, word: word(case, text) }).collect::<Vec<Item<'_>>>()
        });
        // The bottle as a whole is looked at with the first that goes into it.
        let whole = bottles.remove(bottle(label));
        let first = whole.is_some();
        let under = Under { items, name, portion, bottle: whole.unwrap_or_else(|| vec![portion]), first };
        if !seen.contains(label_span)
            && let Some(fault) = fault(case, items, &under)
        {
            seen.insert(**label_span);
            let first = if fault.strong { "neutralise it first, or " } else { "" };
            findings.push(
                Diagnostic::new(Code::Mislabelled, **label_span, format!("\"{label}\" does not fit: {}", fault.why))
                    .help(format!("{first}label it \"{}\", as the local waste rules have it", fault.instead))
                    .label(**span, "this portion"),
            );
        }
        if let Some(item) = items.iter().find(|item| item.word.is_none() && named(case, item.text).is_none())
            && !unknown.contains(label_span)
        {
            unknown.insert(**label_span);
            findings.push(not_declared(case, item.text, **label_span));
        }
    }
}

fn not_declared(case: &Case<'_>, item: &str, at: Span) -> Diagnostic {
    let written: Vec<String> = case.defs.waste_words.iter().map(|word| word.written()).collect();
    let written: Vec<&str> = written.iter().map(String::as_str).collect();
    let near = suggest::sentence(&plain(item), written.iter().copied())
        .unwrap_or_else(|| format!("known are {}", suggest::listed(&written, "and")));
    let name = plain(item).replace(|c: char| !c.is_alphanumeric(), "_");
    Diagnostic::new(Code::UnknownWord, at, format!("`{item}` is no word of waste labels that is declared")).help(format!(
        "{near}\na word of your own is declared so: `waste_word {name} {{ means \"…\" source \"…\" }}`, on lines of their own"
    ))
}

/// The word that an item of a label is.
fn word<'a>(case: &Case<'a>, item: &str) -> Option<&'a WasteWord> {
    let item = plain(item);
    case.defs.waste_words.iter().map(AsRef::as_ref).find(|word| word.is(&item))
}

/// The substance that an item of a label names: `spent sulfuric acid`.
fn named(case: &Case<'_>, item: &str) -> Option<Sub> {
    let item = plain(item);
    let ends = |name: &String| {
        let name = plain(name);
        item == name || item.strip_suffix(&name).is_some_and(|before| before.ends_with(' '))
    };
    let is = |substance: &Substance| std::iter::once(&substance.name).chain(&substance.also).chain(&substance.title).any(ends);
    case.defs.substances.iter().position(|substance| is(substance)).map(Sub)
}

/// The first condition of a word that a portion does not meet, or, where `whole` is set, all in its bottle.
fn fails<'a>(case: &Case<'_>, word: &'a WasteWord, under: &Under<'_>, whole: bool) -> Option<&'a Condition> {
    let said = |condition: &&Condition| condition.unless.as_ref().is_some_and(|name| on_label(under.items, name));
    let fits = word.fits.iter().filter(|condition| !said(condition)).find(|condition| !holds(case, condition, &[under.portion]));
    fits.or_else(|| word.needs.iter().filter(|_| whole).find(|condition| !holds(case, condition, &under.bottle)))
}

/// Whether the word of that name is among the items of a label.
fn on_label(items: &[Item<'_>], name: &str) -> bool {
    items.iter().any(|item| item.word.is_some_and(|word| word.name == name))
}

fn fault(case: &Case<'_>, items: &[Item<'_>], under: &Under<'_>) -> Option<Fault> {
    let words: Vec<&WasteWord> = items.iter().filter_map(|item| item.word).collect();
    let has = |name: &str| words.iter().any(|word| word.name == name);
    let fit = |word: &&WasteWord| fails(case, word, under, true).is_none();
    for own in &words {
        if let Some(failed) = fails(case, own, under, under.first) {
            // What could stand in its place: the first of its contraries that fits, beside what is there.
            let beside = |other: &&WasteWord| !other.not_with.iter().any(|name| has(name) && *name != own.name);
            let contraries = failed.unless.iter().chain(&own.not_with);
            let other = contraries.filter_map(|name| word(case, name)).filter(fit).find(beside);
            let acidity = matches!(failed.measure, Measure::Acid | Measure::Base);
            let strong = acidity && !failed.above && (acid_excess(case.defs, under.portion) / under.portion.mass()).abs() > 0.02;
            return Some(Fault { why: why(case, own, failed, under), instead: mended(case, items, own, other, under), strong });
        }
        if let Some(contrary) = own.not_with.iter().filter(|name| has(name)).find_map(|name| word(case, name)) {
            let wrong = if fit(&contrary) { own } else { contrary };
            let why = format!("`{}` and `{}` exclude each other", own.written(), contrary.written());
            return Some(Fault { why, instead: mended(case, items, wrong, None, under), strong: false });
        }
    }
    if let Some((asked, condition)) = asked(case, items, under).first() {
        let why = format!("`{}` holds {}, and `{}` is not on it", under.name, amount(case, condition, &[under.portion]), asked.written());
        return Some(Fault { why, instead: with_asked(case, items, under), strong: false });
    }
    let mass: f64 = under.bottle.iter().map(|portion| portion.mass()).sum();
    let absent = |sub: &Sub| under.bottle.iter().map(|portion| portion.of(*sub)).sum::<f64>() < NAMED * mass;
    let unknown = items.iter().filter(|item| item.word.is_none());
    let (item, sub) = unknown.filter_map(|item| Some((item.text, named(case, item.text).filter(absent)?))).next()?;
    let others: Vec<&str> = items.iter().map(|own| own.text).filter(|own| *own != item).collect();
    let why = format!("there is no {} in `{}`", case.defs.substance(sub).display(), under.name);
    Some(Fault { why, instead: if others.is_empty() { "…".to_owned() } else { others.join(", ") }, strong: false })
}

/// The words that the portion asks for and that are not on the label.
fn asked<'a>(case: &Case<'a>, items: &[Item<'_>], under: &Under<'_>) -> Vec<(&'a WasteWord, &'a Condition)> {
    let has = |name: &String| items.iter().any(|item| item.word.is_some_and(|word| word.name == *name));
    let words = case
        .defs
        .waste_words
        .iter()
        .map(AsRef::as_ref)
        .filter(|word| !has(&word.name) && (word.asked_on.is_empty() || word.asked_on.iter().any(has)));
    words.filter_map(|word| Some((word, word.asked.iter().find(|condition| holds(case, condition, &[under.portion]))?))).collect()
}

/// The label with all that is asked for, without what says the contrary.
fn with_asked(case: &Case<'_>, items: &[Item<'_>], under: &Under<'_>) -> String {
    let asked = asked(case, items, under);
    let contrary = |item: &Item<'_>| item.word.is_some_and(|own| asked.iter().any(|(asked, _)| asked.not_with.contains(&own.name)));
    let kept = items.iter().filter(|item| !contrary(item)).map(|item| item.text.to_owned());
    let words: Vec<String> = kept.chain(asked.iter().map(|(asked, _)| asked.written())).collect();
    if words.is_empty() { "…".to_owned() } else { words.join(", ") }
}

/// The label with a word taken out, or another in its place, and with all that is asked for.
fn mended(case: &Case<'_>, items: &[Item<'_>], wrong: &WasteWord, other: Option<&WasteWord>, under: &Under<'_>) -> String {
    let written = other.map(WasteWord::written);
    let instead = written.as_deref().map(|text| Item { text, word: other });
    let is_wrong = |item: &Item<'_>| item.word.is_some_and(|word| word.name == wrong.name);
    let items: Vec<Item<'_>> = items.iter().filter_map(|item| if is_wrong(item) { instead } else { Some(*item) }).collect();
    with_asked(case, &items, under)
}

/// Acid less base of portions together, mol/kg.
fn acidity(case: &Case<'_>, portions: &[&Portion]) -> f64 {
    let mass: f64 = portions.iter().map(|portion| portion.mass()).sum();
    portions.iter().map(|portion| acid_excess(case.defs, portion)).sum::<f64>() / mass
}

fn holds(case: &Case<'_>, condition: &Condition, portions: &[&Portion]) -> bool {
    let value = match &condition.measure {
        Measure::Acid if condition.above && distilled(case, portions) => return true,
        Measure::Acid => acidity(case, portions),
        Measure::Base => -acidity(case, portions),
        Measure::Share(words) => share(case, words, portions),
        Measure::Brine => brine(case, portions),
    };
    if condition.above { value > condition.limit } else { value < condition.limit }
}

/// Whether portions could have come over from an acid mixture: free of base and of salts, while acid is
/// used. The sums of a trap leave out the little acid that comes along, so that nothing is said of it.
fn distilled(case: &Case<'_>, portions: &[&Portion]) -> bool {
    let salt = |sub: &Sub| case.defs.substance(*sub).is_ionic() && !case.defs.substance(*sub).is_strong_acid();
    let sour = |portion: &Portion| acid_excess(case.defs, portion) > 0.0;
    let used = case.evaluation.records.values().any(|record| record.inputs.iter().any(|(_, portion)| sour(portion)));
    used && acidity(case, portions) >= 0.0 && !portions.iter().any(|portion| portion.contents.keys().any(salt))
}

/// The substances of portions that bear one of the words, with their masses.
fn bears(case: &Case<'_>, words: &[String], portions: &[&Portion]) -> BTreeMap<Sub, f64> {
    let is = |substance: &Substance| {
        let atoms = substance.formula.as_ref().map(|formula| formula.value.atoms());
        let atom = |symbol: &str| atoms.is_some_and(|atoms| atoms.contains_key(symbol));
        words.iter().any(|word| substance.goes_by.contains(word) || atom(word))
    };
    let solid = words.iter().any(|word| word == "solid");
    let mut found = BTreeMap::new();
    for portion in portions {
        for (sub, mass) in &portion.contents {
            let mass =
                if is(case.defs.substance(*sub)) { mass.si } else { portion.solid.get(sub).copied().filter(|_| solid).unwrap_or(0.0) };
            if mass > 0.0 {
                *found.entry(*sub).or_insert(0.0) += mass;
            }
        }
    }
    found
}

fn share(case: &Case<'_>, words: &[String], portions: &[&Portion]) -> f64 {
    let mass: f64 = portions.iter().map(|portion| portion.mass()).sum();
    bears(case, words, portions).values().fold(0.0, |sum, mass| sum + mass) / mass
}

/// The share of water and of what is dissolved in it that never boils over, where there is enough of the latter.
fn brine(case: &Case<'_>, portions: &[&Portion]) -> f64 {
    let mass: f64 = portions.iter().map(|portion| portion.mass()).sum();
    let liquid = |of: &dyn Fn(&Sub) -> bool| -> f64 {
        let all = portions.iter().flat_map(|portion| portion.liquid(case.defs.find("water")));
        all.filter(|(sub, _)| of(sub)).map(|(_, mass)| mass).sum()
    };
    let salted = |sub: &Sub| case.defs.substance(*sub).is_ionic() && !case.defs.substance(*sub).is_gas();
    let (salts, water) = (liquid(&salted), liquid(&|sub| case.defs.substance(*sub).is("water")));
    if salts < SALTED * mass { 0.0 } else { (salts + water) / mass }
}

/// `3.2 % of dichloromethane`, `4.1 mmol of acid`.
fn amount(case: &Case<'_>, condition: &Condition, portions: &[&Portion]) -> String {
    let Measure::Share(words) = &condition.measure else {
        let excess: f64 = portions.iter().map(|portion| acid_excess(case.defs, portion)).sum();
        return format!("{} mmol of {}", significant(excess.abs() * 1e3, 2), if excess < 0.0 { "base" } else { "acid" });
    };
    let bears = bears(case, words, portions);
    let more = if bears.len() > 1 { " and the like" } else { "" };
    let most = bears.iter().max_by(|a, b| a.1.total_cmp(b.1)).map_or_else(String::new, |(sub, _)| case.defs.substance(*sub).display());
    format!("{} % of {most}{more}", significant(100.0 * share(case, words, portions), 2))
}

/// Why a word does not fit.
fn why(case: &Case<'_>, word: &WasteWord, failed: &Condition, under: &Under<'_>) -> String {
    let name = under.name;
    match (&failed.measure, failed.above) {
        (Measure::Brine, _) => {
            format!("`{name}` is water with salts, acid or base in it, {} % of it", significant(100.0 * brine(case, &[under.portion]), 3))
        }
        (Measure::Share(words), true) if words.len() == 1 => {
            let what = words.concat().replace('_', " ");
            format!("`{name}` is only {:.0} % {what}", 100.0 * share(case, words, &[under.portion]))
        }
        (Measure::Share(_), true) => format!("it means {}, and nothing of that is in `{name}`", word.means),
        (Measure::Share(_), false) => format!("`{name}` holds {}", amount(case, failed, &[under.portion])),
        (_, true) if acidity(case, &under.bottle).abs() < failed.limit.abs() => format!("`{name}` holds next to no acid and no base"),
        (_, true) => format!("`{name}` holds {}", amount(case, failed, &under.bottle)),
        (_, false) => format!("`{name}` still holds {}", amount(case, failed, &[under.portion])),
    }
}
