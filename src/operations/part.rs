//! Parting of layers, with or without a liquid shaken in before.

use super::{react, warmth};
use crate::evaluate::amounts::unknown_volume;
use crate::evaluate::context::Done;
use crate::evaluate::{Context, Fact};
use crate::matter::mixture::{self, Layers, models};
use crate::matter::portion::Portion;
use crate::resolve::definitions::Sub;

/// Difference of density below which layers are said to part slowly, kg/m³. Our own figure: ethyl acetate and water, which
/// differ by 90, part at once.
const SLOW: f64 = 50.0;

/// Which layer a result is.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Organic,
    Aqueous,
}

impl Side {
    fn other(self) -> Self {
        match self {
            Self::Organic => Self::Aqueous,
            Self::Aqueous => Self::Organic,
        }
    }
}

/// Shakes (perhaps with a liquid, perhaps several times) and parts. The first result as written
/// goes round again; the others are pooled.
///
/// # Errors
/// When an amount or a density cannot be worked out.
pub fn part(context: &mut Context<'_>) -> Done {
    let mixture_in = context.one("mixture")?;
    context.settled(&mixture_in)?;
    let times = super::keep::times(context)?;
    let liquid = context.take("liquid", times)?.into_iter().next();
    if let Some(liquid) = &liquid {
        context.settled(liquid)?;
    }
    let (Some(upper), Some(lower)) = (context.outcome("upper"), context.outcome("lower")) else { return Ok(()) };
    let first_is_upper = upper.2 <= lower.2;
    let shares = liquid.as_ref().map(|liquid| context.shares(liquid, times)).unwrap_or_default();
    let whole = mixture_in.portion.mass() + shares.iter().map(Portion::mass).sum::<f64>();
    let mut going = mixture_in.portion.clone();
    let mut pooled = Portion::default();
    let mut first: Option<Layers> = None;
    let mut goes_round = Side::Organic;
    let mut kept_at = mixture::ROOM;
    for round in 0..times {
        let mut all = going.clone();
        if let (Some(liquid), Some(share)) = (&liquid, shares.get(round as usize)) {
            if round == 0 {
                let pot = crate::evaluate::context::Taken { portion: going.clone(), ..mixture_in.clone() };
                warmth::poured(context, &pot, liquid);
            }
            let acid = super::acid_excess(context.defs, &going);
            let base = super::acid_excess(context.defs, share).min(0.0).abs();
            all.join(share, &mut context.eval.ledger, context.defs, &mixture_in.name);
            let start = all.temperature;
            react::contact(context, &mut all)?;
            if round == 0 {
                warmth::sum_up(context, start, &all);
            }
            if base > 0.0 && acid > 1e-5 && round + 1 == times {
                let left = super::acid_excess(context.defs, &all).max(0.0);
                let fact = Fact::BaseWash { span: context.span(), acid_left: left, acid, base };
                context.eval.facts.push(fact);
            }
        } else {
            react::contact(context, &mut all)?;
        }
        if round == 0 {
            super::keep::keep(context, &mut all)?;
            kept_at = all.temperature;
        } else if context.figure("ceiling").is_some() || context.figure("band").is_some() {
            all.temperature = kept_at;
        }
        context.settle(&mut all);
        // Organic solids dissolve in the organic layer; salts and minerals beyond what water takes do not.
        all.solid.retain(|sub, _| mixture::stays_solid(context.defs.substance(*sub)));
        let solid = all.solid.clone();
        let liquid_masses = all.liquid(context.defs.find("water"));
        let layers = mixture::layers(&liquid_masses, context.defs, &mut context.eval.assumed)
            .map_err(|sub| Box::new(unknown_volume(context.defs, sub, &mixture_in.name, mixture_in.span)))?;
        context.model(if layers.model.is_empty() { models::LAYERS } else { layers.model });
        if layers.single.is_some() {
            note(context, &layers, None, None, &upper.1, &lower.1);
            // Findings further on would only follow from this one.
            context.eval.stopped = true;
            return Ok(());
        }
        if round == 0 {
            // The layer that goes round is the one in which most of what was washed lies, where the
            // claim is wrong; else the claim decides.
            let organic_upper = layers.organic_density < layers.aqueous_density;
            let claimed = match (first_is_upper, organic_upper) {
                (true, true) | (false, false) => Side::Organic,
                _ => Side::Aqueous,
            };
            goes_round = claimed;
            let by_matter = lies_in(&mixture_in.portion, &layers, context.defs);
            // The result that bears the washed portion's name, or goes round again, or that a wash
            // names first, is meant to be the washed liquid; else the layers are taken as named.
            let bears =
                |id: &Option<crate::matter::linear::BindingId>| id.is_some_and(|id| context.procedure.binding(id).name == mixture_in.name);
            let first_is_meant = if bears(&upper.1) {
                Some(first_is_upper)
            } else if bears(&lower.1) {
                Some(!first_is_upper)
            } else if liquid.is_some() && (times > 1 || context.word("first") == Some("washed")) {
                Some(true)
            } else {
                None
            };
            let meant = match first_is_meant {
                Some(true) => by_matter,
                Some(false) => by_matter.other(),
                None => claimed,
            };
            // A wash names the washed liquid first; that an extraction goes on with its first result is easily missed.
            let by_order = !bears(&upper.1) && !bears(&lower.1) && first_is_meant.is_some() && context.word("first") != Some("washed");
            let first_name = if first_is_upper { &upper.1 } else { &lower.1 };
            let by_order = first_name.filter(|_| by_order).map(|id| context.procedure.binding(id).name.clone());
            note(context, &layers, Some((meant == Side::Organic) == first_is_upper), by_order, &upper.1, &lower.1);
            if meant != claimed {
                goes_round = meant;
            }
            first = Some(layers.clone());
        }
        context.record().partings.push(layers.clone());
        let mut organic = Portion { temperature: all.temperature, ..Portion::default() };
        organic.contents = context.derived(&layers.organic, &all, layers.model, "the organic layer");
        let mut aqueous = Portion { temperature: all.temperature, ..Portion::default() };
        aqueous.contents = context.derived(&layers.aqueous, &all, layers.model, "the water layer");
        // Solids that dissolve in neither lie with the lower layer.
        for (sub, mass) in solid {
            if let Some(num) = all.contents.get(&sub).copied() {
                let num = context.eval.ledger.model(models::LAYERS, "solid with the lower layer", crate::kinds::Kind::Mass, mass, &[num]);
                let target = if layers.organic_density < layers.aqueous_density { &mut aqueous } else { &mut organic };
                target.add(sub, num, &mut context.eval.ledger, "solid");
                target.solid.insert(sub, mass);
            }
        }
        let (on, off) = if goes_round == Side::Organic { (organic, aqueous) } else { (aqueous, organic) };
        going = on;
        if pooled.contents.is_empty() {
            pooled = off;
        } else {
            pooled.join(&off, &mut context.eval.ledger, context.defs, "the pooled layers");
            // Acid left over in one portion meets the base left over in the next.
            react::contact(context, &mut pooled)?;
        }
    }
    let water_layer = if goes_round == Side::Organic { &pooled } else { &going };
    gas_sentence(context, water_layer, "swirl open first, then vent often");
    if let Some(layers) = &first {
        let organic_upper = layers.organic_density < layers.aqueous_density;
        let g = |density: f64| crate::kinds::significant(density / 1e3, 3);
        let (top, bottom) =
            if organic_upper { (layers.organic_density, layers.aqueous_density) } else { (layers.aqueous_density, layers.organic_density) };
        context.expect(format!(
            "The {} layer is the upper one: about {} g/mL against {} g/mL.",
            if organic_upper { "organic" } else { "water" },
            g(top),
            g(bottom)
        ));
        let gap = (bottom - top).abs();
        if gap < SLOW {
            context.expect(format!(
                "They differ by only {} g/mL and part slowly: give them time, and do not shake hard.",
                crate::kinds::significant(gap / 1e3, 2)
            ));
        }
    }
    taken_over(context, goes_round);
    let (upper_portion, lower_portion) = if first_is_upper { (going, pooled) } else { (pooled, going) };
    context.give("upper", upper_portion, whole);
    context.give("lower", lower_portion, whole);
    Ok(())
}

/// Share of what is shaken below which a wash takes nothing worth a word. Our own figure.
const WORTH: f64 = 0.005;

/// Says what each portion of a wash takes into its layer, and how acid or basic the water is in the end.
fn taken_over(context: &mut Context<'_>, goes_round: Side) {
    let defs = context.defs;
    let Some(record) = context.eval.records.get(&context.number) else { return };
    let Some(last) = record.partings.last() else { return };
    let off = |layers: &Layers, sub: Sub| {
        let side = if goes_round == Side::Organic { &layers.aqueous } else { &layers.organic };
        side.get(&sub).copied().unwrap_or(0.0)
    };
    let on = if goes_round == Side::Organic { &last.organic } else { &last.aqueous };
    let whole: f64 = on.values().sum();
    let mut takes: Vec<(Sub, Vec<f64>)> = record
        .partings
        .first()
        .into_iter()
        .flat_map(|first| first.organic.keys().chain(first.aqueous.keys()))
        .collect::<std::collections::BTreeSet<_>>()
        .into_iter()
        .filter(|sub| {
            let substance = defs.substance(**sub);
            !substance.is_ionic() && !substance.is("water") && substance.formula.is_some()
        })
        .map(|sub| (*sub, record.partings.iter().map(|layers| off(layers, *sub)).collect::<Vec<f64>>()))
        .filter(|(_, each)| each.iter().sum::<f64>() > WORTH * whole)
        .collect();
    takes.sort_by(|a, b| b.1.iter().sum::<f64>().total_cmp(&a.1.iter().sum()).then(a.0.cmp(&b.0)));
    takes.truncate(2);
    let layer = if goes_round == Side::Organic { "water" } else { "organic liquid" };
    let named: Vec<String> = takes
        .iter()
        .enumerate()
        .map(|(at, (sub, each))| taken(each, &defs.substance(*sub).display(), (at == 0).then_some(layer)))
        .collect();
    let told = match takes.iter().map(|(_, each)| each.as_slice()).collect::<Vec<_>>().as_slice() {
        [] => None,
        some if some.iter().all(|each| each.len() == 1) => Some(format!("The {layer} takes about {}.", named.join(" and "))),
        _ => Some(format!("{}.", named.join("; "))),
    };
    let few = record.partings.len() <= ORDINALS.len();
    let ph = last.ph.filter(|ph| *ph < 5.5 || *ph > 9.0);
    if let Some(told) = told.filter(|_| few) {
        context.expect(told);
    }
    if let Some(ph) = ph {
        context.expect(format!("The water has a pH of about {} then.", crate::kinds::significant(ph, if ph < 10.0 { 1 } else { 2 })));
    }
}

/// Names of portions; a wash in more of them is not told portion by portion.
const ORDINALS: [&str; 7] = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh"];

/// Share by which portions may differ and are still told as one. Our own figure.
const ALIKE: f64 = 0.1;

/// Share of the largest portion below which another counts as none. Our own figure.
const NONE: f64 = 0.02;

/// What portions of a liquid take of a substance, kg each, in words; the liquid is named with the first that is told.
fn taken(each: &[f64], name: &str, layer: Option<&str>) -> String {
    let most = each.iter().copied().fold(0.0, f64::max);
    let is_none = |mass: &f64| *mass <= NONE * most;
    let grams = |mass: f64| if is_none(&mass) { "none".to_owned() } else { format!("{} g", crate::kinds::significant(mass * 1e3, 2)) };
    let [first, rest @ ..] = each else { return String::new() };
    if rest.is_empty() {
        return format!("{} of {name}", grams(*first));
    }
    let of = layer.map_or_else(String::new, |layer| format!(" portion of {layer}"));
    if each.iter().all(|mass| most - mass <= ALIKE * most) {
        let subject = if layer.is_some() { "Each" } else { "each" };
        return format!("{subject}{of} takes about {} of {name}", grams(*first));
    }
    let subject = if layer.is_some() { "The" } else { "the" };
    let mut told = vec![format!("{subject} first{of} takes about {} of {name}", grams(*first))];
    for (at, (ordinal, mass)) in ORDINALS.iter().skip(1).zip(rest).enumerate() {
        if rest.iter().skip(at).all(is_none) {
            told.push("then none".to_owned());
            break;
        }
        told.push(format!("the {ordinal} {}", grams(*mass)));
    }
    told.join(", ")
}

/// The layer in which what was washed lies: the organic one when it held more of liquids that water
/// does not mix with than water, else the one in which its main substance lies.
fn lies_in(washed: &Portion, layers: &Layers, defs: &crate::resolve::definitions::Definitions) -> Side {
    let water = defs.find("water").map_or(0.0, |water| washed.of(water));
    let immiscible: f64 = washed
        .contents
        .iter()
        .filter(|(sub, _)| {
            let substance = defs.substance(**sub);
            !substance.is_miscible() && !substance.is_ionic() && !substance.is("water")
        })
        .map(|(_, mass)| mass.si)
        .sum();
    if immiscible > water {
        return Side::Organic;
    }
    let in_layer = |layer: &crate::matter::portion::Masses| washed.main().and_then(|main| layer.get(&main)).copied().unwrap_or(0.0);
    if in_layer(&layers.organic) >= in_layer(&layers.aqueous) { Side::Organic } else { Side::Aqueous }
}

fn note(
    context: &mut Context<'_>,
    layers: &Layers,
    claims_organic_upper: Option<bool>,
    by_order: Option<String>,
    upper: &Option<crate::matter::linear::BindingId>,
    lower: &Option<crate::matter::linear::BindingId>,
) {
    let name = |id: &Option<crate::matter::linear::BindingId>, role: &str| {
        id.map_or_else(|| format!("the {role} layer"), |id| context.procedure.binding(id).name.clone())
    };
    let fact = Fact::Parting {
        statement: context.number,
        span: context.span(),
        organic: layers.organic_density,
        aqueous: layers.aqueous_density,
        upper: name(upper, "upper"),
        lower: name(lower, "lower"),
        claims_organic_upper,
        by_order,
        single: layers.single.clone(),
        main: layers.organic.iter().max_by(|a, b| a.1.total_cmp(b.1)).map(|(sub, _)| *sub),
    };
    context.eval.facts.push(fact);
}

/// Says how much gas comes off, in litres at 20 °C, and what to do about it.
pub fn gas_sentence(context: &mut Context<'_>, left: &Portion, what: &str) {
    let Some(record) = context.eval.records.get(&context.number) else { return };
    let volume = |sub: Sub, mass: f64| super::gas::volume(context.procedure, context.defs, sub, mass);
    let gases: Vec<(String, f64)> =
        record.evolved.iter().map(|(sub, mass)| (context.defs.substance(*sub).display(), volume(*sub, mass.si))).collect();
    let at = super::gas::at_room(context.defs);
    for (name, volume) in gases {
        if volume > 1e-6 {
            let amount = crate::kinds::show(volume, crate::kinds::Kind::Volume, 2);
            let rate = super::gas::in_time(context, volume);
            let late = super::gas::late(context, &name);
            context.model(models::GAS);
            context.expect(if super::gas::takes_up(context.defs, left, &name) {
                format!("At most {amount} of {name} comes off {at}{rate}{late}; carbonate that is left over takes some of it up: {what}.")
            } else {
                format!("About {amount} of {name} comes off {at}{rate}{late}: {what}.")
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::taken;

    #[test]
    fn portions_read_as_what_they_are() {
        assert_eq!(taken(&[0.00095], "fructone", Some("water")), "0.95 g of fructone");
        assert_eq!(taken(&[0.00095, 0.00096], "fructone", Some("water")), "Each portion of water takes about 0.95 g of fructone");
        assert_eq!(taken(&[0.00039, 0.00031], "ester", None), "the first takes about 0.39 g of ester, the second 0.31 g");
        assert_eq!(taken(&[0.00029, 0.0], "acid", None), "the first takes about 0.29 g of acid, then none");
        let three = [0.001, 0.0, 0.0005, 1e-9];
        assert_eq!(
            taken(&three, "X", Some("water")),
            "The first portion of water takes about 1.0 g of X, the second none, the third 0.50 g, then none"
        );
    }
}
