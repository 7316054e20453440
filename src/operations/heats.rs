//! The heat of what reacts: as it is declared, by the formation of water where an acid meets a hydroxide, else not
//! known, which is said.

use super::{react, warmth};
use crate::chemistry::heat::NEUTRALISATION;
use crate::evaluate::{Context, Fact};
use crate::kinds::{Kind, show};
use crate::matter::mixture::models;
use crate::matter::portion::Portion;
use crate::resolve::definitions::{Definitions, Reaction, Sub};

/// Heat that a reaction could set free whose heat is not known, J/mol. Our own figure: neutralising, taking water up and
/// what anhydrides do with alcohols come to about that.
const COULD: f64 = 60_000.0;

/// Rise from which a heat that is not known is worth a word, K. Our own figure.
const COUNTS: f64 = 3.0;

/// Effects that bring things together: there heat comes as something is added.
pub const TOGETHER: &[&str] = &["mix", "pour", "neutralise", "part"];

/// Heat taken up per mole of a reaction as written, J (negative: set free): as declared of it or of the library's reaction
/// of the same equation, else as an acid and a hydroxide have it; `None` where it is not known.
#[must_use]
pub fn of(defs: &Definitions, reaction: &Reaction) -> Option<f64> {
    defs.heat_of(reaction).map(|heat| heat.value).or_else(|| neutralised(defs, reaction))
}

/// An acid and a hydroxide: each proton makes a mole of water. What it takes to come off a weak acid is within 5 kJ/mol
/// for those whose protons count here.
fn neutralised(defs: &Definitions, reaction: &Reaction) -> Option<f64> {
    let [first, second] = reaction.left.as_slice() else { return None };
    let water = defs.find("water")?;
    let made = reaction.numbers().get(&water).copied().unwrap_or(0.0);
    if made <= 0.0 || reaction.right.iter().any(|(_, sub)| defs.substance(*sub).is_gas()) {
        return None;
    }
    let hydroxide = |sub: Sub| {
        let substance = defs.substance(sub);
        substance.is("base") && !substance.is("amine") && substance.gives_acid() <= 0.0
    };
    let (acid, (m, base)) = if hydroxide(second.1) { (first.1, *second) } else { (second.1, *first) };
    let protons = m * defs.substance(base).takes_acid?;
    // One proton to one molecule of water: an oxide takes two for one.
    if !hydroxide(base) || defs.substance(acid).gives_acid() <= 0.0 || protons > made + 1e-9 {
        return None;
    }
    Some(NEUTRALISATION * protons)
}

/// Counts the heat of a reaction that went by `extent` mol in a portion, with `dilution` J besides for what was not yet
/// dissolved in much water; says where it is not known.
pub fn count(context: &mut Context<'_>, portion: &Portion, reaction: &Reaction, extent: f64, dilution: f64, stated: bool) {
    match of(context.defs, reaction) {
        Some(heat) => {
            if context.defs.heat_of(reaction).is_none() {
                context.eval.assumed.insert(format!(
                    "The heat of the {} is taken to be that of making water, −55.8 kJ for each mole of protons.",
                    plain(reaction)
                ));
            }
            react::warm(context, portion, -heat * extent + dilution, &reaction.name);
            stays_dissolved(context, portion, reaction, extent);
        }
        None => unknown(context, portion, reaction, extent, stated),
    }
}

/// A gas that a liquid other than water holds sets free heat in it, which is not known.
fn stays_dissolved(context: &mut Context<'_>, portion: &Portion, reaction: &Reaction, extent: f64) {
    let defs = context.defs;
    let held = |sub: &Sub| defs.substance(*sub).is_gas() && defs.substance(*sub).is_strong_acid();
    let Some((_, gas)) = reaction.right.iter().find(|(_, sub)| held(sub)) else { return };
    let capacity = react::heat_capacity(context, portion);
    if warmth::watery(context, portion) || COULD * extent.abs() <= COUNTS * capacity {
        return;
    }
    let name = context.defs.substance(*gas).display();
    context.record().lacking.insert(name.clone());
    context.eval.assumed.insert(format!(
        "The heat with which {name} dissolves in what is not water is not known and not counted: what is said of warming is the least."
    ));
}

/// Its name as one says it.
fn plain(reaction: &Reaction) -> String {
    reaction.name.replace("_frees_", " that frees ").replace('_', " ")
}

fn unknown(context: &mut Context<'_>, portion: &Portion, reaction: &Reaction, extent: f64, stated: bool) {
    let capacity = react::heat_capacity(context, portion);
    let name = plain(reaction);
    if stated && react::scaled_up(context) {
        context.eval.assumed.insert(format!(
            "the heat of the {name} is not known and none is counted: at {} times the batch as written, with less surface to lose it, try a batch in between first",
            crate::kinds::significant(context.eval.scale, 3)
        ));
    }
    if COULD * extent.abs() <= COUNTS * capacity {
        return;
    }
    if context.statement.operation.effects.iter().any(|call| TOGETHER.contains(&call.effect.as_str())) {
        context
            .eval
            .assumed
            .insert(format!("The heat of the {name} is not known and not counted: what is said of warming where it runs is the least."));
        context.caution(format!(
            "How much heat the {name} sets free is not known: add slowly, with the vessel in ice, and watch the thermometer before more goes in."
        ));
        context.record().lacking.insert(name);
    } else if !react::scaled_up(context) {
        context.eval.assumed.insert(format!("The heat of the {name} is not known, and none is counted."));
    }
}

/// `at least` where part of the heat is not known, else `about`.
#[must_use]
pub fn how_much(context: &Context<'_>) -> &'static str {
    let lacks = context.eval.records.get(&context.number).is_some_and(|record| !record.lacking.is_empty());
    if lacks { "at least" } else { "about" }
}

/// What takes up alcohols, amines and water with heat, sooner or later.
const REAGENTS: &[&str] = &["anhydride", "acid_chloride"];

/// What it takes up.
const PARTNERS: &[&str] = &["alcohol", "diol", "amine", "water"];

/// Amines that have no hydrogen to give: they bind the acid that others make.
const TERTIARY: &[&str] = &["triethylamine", "pyridine", "diisopropylethylamine", "dmap"];

/// An anhydride or acid chloride that meets what it reacts with, in parts that hold one of the two: says so, with the
/// heat as far as that is known, whether a reaction is stated or not. A reaction that runs here says it for itself.
pub fn meet(context: &mut Context<'_>, parts: &[&Portion], whole: &Portion) {
    let defs = context.defs;
    let most = |classes: &[&str]| {
        let own = whole.contents.keys().copied().filter(|sub| {
            let substance = defs.substance(*sub);
            classes.iter().any(|class| substance.is(class)) && !substance.is("salt") && !TERTIARY.contains(&substance.name.as_str())
        });
        own.max_by(|a, b| whole.moles(*a, defs).total_cmp(&whole.moles(*b, defs)))
    };
    let (Some(reagent), Some(other)) = (most(REAGENTS), most(PARTNERS)) else { return };
    let met = parts.iter().any(|part| part.of(reagent) > 0.0 && part.of(other) > 0.01 * whole.of(other));
    if met || reagent == other {
        return;
    }
    let takes = |reaction: &Reaction, sub: Sub| reaction.numbers().get(&sub).is_some_and(|nu| *nu < 0.0);
    let own = context.reactions("reactions");
    let running = own.iter().filter_map(|number| context.procedure.reactions.get(*number));
    if running.into_iter().any(|reaction| takes(reaction, reagent)) {
        return;
    }
    let all = defs.contact.iter().chain(&defs.known_reactions).chain(&context.procedure.reactions);
    let known = all.filter(|reaction| takes(reaction, reagent) && takes(reaction, other)).max_by_key(|one| of(defs, one).is_some());
    let extent = match known.map(|reaction| reaction.numbers()) {
        Some(numbers) => {
            [reagent, other].iter().filter_map(|sub| numbers.get(sub).map(|nu| whole.moles(*sub, defs) / -nu)).fold(f64::INFINITY, f64::min)
        }
        None => whole.moles(reagent, defs).min(whole.moles(other, defs)),
    };
    let heat = known.and_then(|reaction| of(defs, reaction)).map(|heat| -heat * extent);
    let capacity = react::heat_capacity(context, whole);
    let rise = heat.unwrap_or(COULD * extent) / capacity.max(1e-9);
    if rise <= COUNTS {
        return;
    }
    let stated = context.procedure.reactions.iter().any(|reaction| takes(reaction, reagent));
    let (reagent_name, other_name) = (defs.substance(reagent).display(), defs.substance(other).display());
    let acid = whole.contents.keys().any(|sub| defs.substance(*sub).is_strong_acid() && !defs.substance(*sub).is_gas());
    let how = if acid { "at once, since there is strong acid" } else { "slowly in the cold, and then suddenly" };
    context.caution(format!(
        "{} and {other_name} react with heat, {how}: add slowly, with the vessel in ice, and watch the thermometer before more goes in.",
        reagent_name
    ));
    if let Some(heat) = heat {
        context.model(models::MIXING_HEAT);
        context.expect(format!(
            "Of the {reagent_name} and the {other_name} what can react would set free about {}, enough to warm it by about {} K{}.",
            show(heat, Kind::Energy, 2),
            crate::kinds::significant(rise, 2),
            if stated { "; it is counted where the reaction runs" } else { "" }
        ));
    }
    if !stated {
        let told = if heat.is_some() { "its heat is told and not counted" } else { "its heat is not known" };
        context
            .eval
            .assumed
            .insert(format!("No reaction of {reagent_name} with {other_name} is stated, and none is taken to run; {told}."));
        let fact = Fact::Unstated { span: context.span(), reagent, other, heat, rise };
        context.eval.facts.push(fact);
    }
}
