//! The physical effects behind operations: few, orthogonal, each with a form of its own, so that an
//! `effect` line is checked by the same matcher as a statement.

pub mod beyond;
pub mod binding;
pub mod course;
pub mod dissolve;
pub mod distil;
pub mod draw;
pub mod dry;
pub mod ends;
pub mod evaporate;
pub mod gas;
pub mod heat;
pub mod heats;
pub mod keep;
pub mod mix;
pub mod pace;
pub mod part;
pub mod pot;
pub mod rated;
pub mod react;
pub mod remembered;
pub mod solids;
pub mod steam;
mod still;
pub mod take_off;
pub mod told;
pub mod trap;
pub mod warmth;

use std::sync::OnceLock;

use crate::evaluate::Context;
use crate::evaluate::context::Done;
use crate::matter::portion::Portion;
use crate::resolve::definitions::Definitions;
use crate::resolve::form::{self, Form};
use crate::source::{Sources, Span};
use crate::syntax::parse::form_tokens;

/// What an effect does.
pub type Effect = fn(&mut Context<'_>) -> Done;

/// Every effect: its form, which begins with its verb, and what it does.
const EFFECTS: &[(&str, Effect)] = &[
    (
        "mix <parts: takes matter...> [with <reactions: reaction...>] [below <ceiling: temperature>] [within <band: temperature>] -> whole",
        mix::mix,
    ),
    (
        "pour <what: takes material> into <pot: changes mixture> [by <times: count>] [in <portions: count>] [for <time: duration>] \
         [rate <rate: flow>] [with <reactions: reaction...>] [below <ceiling: temperature>] [within <band: temperature>] \
         [absorbing <gas: substance> into <absorber: takes material> -> spent]",
        mix::pour,
    ),
    (
        "hold <pot: changes mixture> [at <temperature: temperature>] [for <time: duration>] [with <reactions: reaction...>] \
         [powered <power: power>] [below <ceiling: temperature>] [within <band: temperature>] \
         [absorbing <gas: substance> into <absorber: takes material> -> spent]",
        heat::hold,
    ),
    (
        "boil <pot: changes mixture> for <time: duration> [with <reactions: reaction...>] \
         [over <bed: changes agent> [in <extractor: apparatus>]] [parting <what: substance> [in <trap: apparatus>] -> trapped, carrier] \
         [layer <side: upper | lower> -> drained] [fed <fresh: takes material>] [powered <power: power>] \
         [absorbing <gas: substance> into <absorber: takes material> -> spent]",
        heat::boil,
    ),
    (
        "part <mixture: takes mixture> [with <liquid: takes material> [by <portions: count>] [most <bound: count>]] \
         [below <ceiling: temperature>] [within <band: temperature>] [keeping <first: washed | either>] -> upper, lower",
        part::part,
    ),
    (
        "bind <liquid: takes liquid> over <agent: takes material> [for <time: duration>] [binding <bound: substance>] -> dried, spent",
        dry::bind,
    ),
    ("air <what: changes matter> for <time: duration>", dry::air),
    ("regenerate <bed: changes agent> at <temperature: temperature> for <time: duration>", dry::regenerate),
    ("strain <mixture: takes mixture> [over <aid: takes material>] -> cake, filtrate", solids::strain),
    (
        "rinse <cake: takes solid> with <liquid: takes material> [by <portions: count>] [most <bound: count>] -> cake, filtrate",
        solids::rinse,
    ),
    (
        "crystallise <solid: takes matter> from <solvent: takes material> to <temperature: temperature> \
         [seed <seed: temperature>] [carbon <charcoal: takes material> -> spent] [hot -> insoluble] \
         [again <colder: temperature> -> second] -> crystals, liquor",
        solids::crystallise,
    ),
    (
        "distil <mixture: takes mixture> [within <range: temperature...>] [at <pressure: pressure>] [bath <bath: temperature>] \
         [condenser <condenser: apparatus>] [height <height: length>] [plates <plates: count>] [reflux <reflux: ratio>] [fed <fresh: takes material>] \
         [with <reactions: reaction...>] [powered <power: power>] -> forerun, cut, residue",
        distil::distil,
    ),
    ("steam <mixture: takes mixture> with <water: takes material> [at <pressure: pressure>] -> distillate, residue", steam::steam),
    (
        "evaporate <mixture: takes mixture> [at <pressure: pressure>] [bath <bath: temperature>] -> distillate, residue",
        evaporate::evaporate,
    ),
    (
        "neutralise <mixture: changes mixture> with <base: takes material> [in <portions: count>] \
         [below <ceiling: temperature>] [within <band: temperature>]",
        mix::neutralise,
    ),
    ("divide <mixture: takes matter> by <share: ratio> -> share, rest", ends::divide),
    (
        "quench <what: takes mixture> into <liquid: takes material> [in <portions: count>] [for <time: duration>] [rate <rate: flow>] \
         [with <reactions: reaction...>] [below <ceiling: temperature>] [within <band: temperature>] -> whole",
        dissolve::quench,
    ),
    (
        "dissolve <what: takes material> in <liquid: takes material> [at <temperature: temperature>] [by <portions: count>] \
         [below <ceiling: temperature>] [within <band: temperature>] -> whole",
        dissolve::dissolve,
    ),
    (
        "dose <mixture: changes mixture> with <agent: takes material> [in <portions: count>] \
         [below <ceiling: temperature>] [within <band: temperature>]",
        dissolve::dose,
    ),
    (
        "pass <gas: substance> into <pot: changes mixture> until <gain: mass> [with <reactions: reaction...>] \
         [below <ceiling: temperature>] [within <band: temperature>]",
        gas::pass,
    ),
    (
        "steep <what: takes matter> in <solvent: takes material> [at <temperature: temperature>] [for <time: duration>] \
         [by <portions: count>] -> extract, marc",
        draw::steep,
    ),
    (
        "draw <what: takes matter> with <solvent: takes material> in <extractor: apparatus> for <time: duration> -> extract, marc",
        draw::draw,
    ),
    ("weigh <what: reads matter>", ends::weigh),
    ("test <what: reads matter>", ends::test),
    ("store <what: takes matter> as <name: label>", ends::store),
    ("discard <what: takes matter...> as <stream: text>", ends::discard),
];

/// The form of an effect, read when it is first asked for.
#[must_use]
pub fn effect_form(verb: &str) -> Option<&'static Form> {
    static FORMS: [OnceLock<Option<Form>>; EFFECTS.len()] = [const { OnceLock::new() }; EFFECTS.len()];
    let at = effect_verbs().position(|known| known == verb)?;
    let (text, _) = EFFECTS.get(at)?;
    let form = FORMS.get(at)?.get_or_init(|| {
        let mut sources = Sources::default();
        let id = sources.add("effects", String::new(), true);
        form::read(&form_tokens(id, text), Span::new(id, 0..0)).ok()
    });
    form.as_ref()
}

/// The effect of that verb.
#[must_use]
pub fn effect(verb: &str) -> Option<Effect> {
    EFFECTS.iter().zip(effect_verbs()).find(|(_, known)| *known == verb).map(|((_, effect), _)| *effect)
}

/// The verbs of all effects.
pub fn effect_verbs() -> impl Iterator<Item = &'static str> {
    EFFECTS.iter().map(|(text, _)| text.split(' ').next().unwrap_or_default())
}

/// Whether a portion has a property that a caution asks for. A property that is not known counts
/// as absent here; the sheet says separately what is not known.
#[must_use]
pub fn portion_is(defs: &Definitions, portion: &Portion, property: &str) -> bool {
    let total = portion.mass();
    let has = |codes: &[&str], least: f64| {
        portion
            .contents
            .iter()
            .filter(|(sub, _)| {
                defs.substance(**sub)
                    .hazards
                    .as_ref()
                    .is_some_and(|hazards| hazards.value.iter().any(|code| codes.iter().any(|wanted| code.starts_with(wanted))))
            })
            .map(|(_, mass)| mass.si)
            .sum::<f64>()
            > least * total
    };
    match property {
        "flammable" => {
            has(&["H224", "H225", "H226", "H228"], 0.1)
                || portion.contents.iter().any(|(sub, mass)| {
                    mass.si > 0.1 * total && defs.substance(*sub).flash.as_ref().is_some_and(|flash| flash.value < 333.15)
                })
        }
        "corrosive" => has(&["H314"], 0.05),
        // What burns the skin, too, is told as that.
        "eye_damaging" => has(&["H318"], 0.03) && !has(&["H314"], 0.05),
        "toxic" => has(&["H300", "H301", "H310", "H311", "H330", "H331", "H350", "H340", "H360"], 0.01),
        "acidic" => acid_excess(defs, portion) > 1e-4,
        "basic" => acid_excess(defs, portion) < -1e-4,
        "hot" => portion.temperature > 318.15,
        "gassing" => acid_excess(defs, portion).abs() > 1e-4,
        // Whether it was tested is not to be seen from the portion: who asks looks at what was done before.
        "peroxide_forming" | "peroxide_untested" => {
            portion.contents.iter().any(|(sub, mass)| mass.si > 0.2 * total && defs.substance(*sub).is("peroxide_former"))
        }
        _ => false,
    }
}

/// Moles of acid that bicarbonate would take, less moles of base.
#[must_use]
pub fn acid_excess(defs: &Definitions, portion: &Portion) -> f64 {
    portion
        .contents
        .keys()
        .map(|sub| {
            let substance = defs.substance(*sub);
            let moles = portion.moles(*sub, defs);
            moles * (substance.gives_acid() - substance.takes_acid.unwrap_or(0.0))
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::parse::parse_line;

    #[test]
    fn every_effect_has_a_form_that_reads() {
        assert!(effect_verbs().all(|verb| effect_form(verb).is_some_and(|form| form.verb() == verb)));
    }

    #[test]
    fn the_grammar_reads_the_forms_of_effects_alike() {
        for (text, _) in EFFECTS {
            let mut sources = Sources::default();
            let id = sources.add("effects", (*text).to_owned(), true);
            let read = sources.get(id).map(|file| parse_line(id, file).0.tokens).unwrap_or_default();
            assert_eq!(format!("{read:?}"), format!("{:?}", form_tokens(id, text)));
        }
    }
}
