//! What the sheet says of a distillation: which receiver gets what, and what stands in the way of more.

use std::cell::OnceCell;

use super::distil::{HEAD, celsius, plates};
use super::still::{self, Work, Worked, largest};
use crate::chemistry::distillation::Column;
use crate::emit::words::percent;
use crate::evaluate::{Context, Distillation, Receiver};
use crate::kinds::significant;
use crate::matter::portion::{Masses, Portion};
use crate::resolve::definitions::Sub;

/// Share of a cut from which something beside the main substance is spoken of.
const SPOKEN: f64 = 0.001;

/// Share of a cut from which it is said why something is in it. Our own figure.
const EXPLAINED: f64 = 0.02;

/// The reflux is what is wanting where at total reflux there would be less than this share of what stands beside the main
/// substance. Our own figure.
const WANTING: f64 = 0.5;

/// By how much a predicted azeotrope may lie beside what a cut reaches, by mass. Our own figure, from the comparison of
/// the models with experiment.
const BESIDE: f64 = 0.02;

/// Notes how the still worked, and says what goes where.
pub(super) fn cuts(context: &mut Context<'_>, worked: &Worked, work: &Work, still: &Portion, received: &[Portion]) {
    let cut_names = context.outcomes("cut").into_iter();
    let forerun = context.outcome("forerun").map(|(role, binding, _)| (role, binding));
    let residue = context.outcome("residue").map(|(role, binding, _)| (role, binding));
    let names: Vec<_> = std::iter::once(forerun)
        .chain(cut_names.map(Some).chain(std::iter::repeat(None)).take(received.len().saturating_sub(2)))
        .chain([residue])
        .collect();
    let run = &worked.run;
    let heads = std::iter::once(run.forerun.head).chain(run.cuts.iter().map(|cut| cut.head)).chain([None]);
    let mut receivers = Vec::new();
    let total = OnceCell::new();
    let last = received.len().saturating_sub(1);
    for (place, ((portion, head), name)) in received.iter().zip(heads).zip(names).enumerate() {
        let Some((role, binding)) = name else { continue };
        let recovered = portion.contents.iter().map(|(sub, mass)| (*sub, mass.si / still.of(*sub).max(1e-30))).collect();
        let called = binding.map(|id| called(&context.procedure.binding(id).name, &role));
        if let (Some(called), Some((from, to)), true) = (&called, head, place < last) {
            if place == 0 && portion.mass() > 0.005 * still.mass() {
                context.expect(format!("The {called} {} over from {} at the head.", come(called), celsius(from)));
            } else if place > 0 {
                let share = sentence(context, called, (from, to), portion, still);
                context.expect(share);
            }
        }
        if place > 0 && place < last {
            // What the same plates give at total reflux, in this receiver.
            let best = || {
                let worked = total.get_or_init(|| total_reflux(context, work, still)).as_ref()?;
                let parts = worked.shares(still);
                let share = |sub: &Sub| parts.get(sub).and_then(|parts| parts.get(place)).copied().unwrap_or(0.0);
                Some(still.contents.keys().map(|sub| (*sub, share(sub) * still.of(*sub))).collect::<Masses>())
            };
            if let Some(why) = reason(context, worked, &portion.masses(), work, &best) {
                context.expect(why);
            }
        }
        receivers.push(Receiver { role, binding, head, masses: portion.masses(), recovered });
    }
    let distillation = Distillation {
        plates: plates(context),
        reflux: context.figure("reflux").map(|reflux| reflux.low),
        receivers,
        pot: run.pot,
        course: run.course.clone(),
        model: worked.liquids.model,
    };
    context.record().distillation = Some(distillation);
}

/// The still as it is, but at total reflux; `None` where that is how it was worked, or there is no answer.
fn total_reflux(context: &Context<'_>, work: &Work, still: &Portion) -> Option<Worked> {
    work.column.reflux?;
    let column = Column { reflux: None, ..work.column };
    still::work(still, context.defs, &Work { column, ..work.clone() }).ok()
}

/// Names that say where a cut lies and not what it is.
const PLACES: [&str; 16] = [
    "between", "middle", "first", "second", "third", "fourth", "fifth", "last", "one", "two", "three", "four", "main", "rest", "next",
    "other",
];

/// What a receiver is called on the sheet: by the name that the author gave it, and where that is none of a thing by
/// the trade's word for its role.
#[must_use]
pub fn called(name: &str, role: &str) -> String {
    let says = name.chars().count() > 2 && !PLACES.contains(&name);
    match role {
        _ if says => name.replace('_', " "),
        "forerun" => "first runnings".to_owned(),
        "residue" => "residue".to_owned(),
        _ if name == "between" || name == "middle" => "intermediate cut".to_owned(),
        _ => format!("cut {name}"),
    }
}

fn come(name: &str) -> &'static str {
    if name.ends_with('s') { "come" } else { "comes" }
}

/// `The product comes over while the head shows 139 to 142 °C: 88 % of the isoamyl acetate there is, with 5.3 % of …`
fn sentence(context: &Context<'_>, called: &str, head: (f64, f64), portion: &Portion, still: &Portion) -> String {
    let (from, to) = (celsius(head.0), celsius(head.1));
    let shows = if from == to {
        format!("at {from} at the head")
    } else {
        format!("while the head shows {} to {to}", from.trim_end_matches(" °C"))
    };
    let parts = largest(&portion.masses(), 3, SPOKEN);
    let name = |sub: Sub| context.defs.substance(sub).display();
    let Some(((main, purity), others)) = parts.split_first() else { return format!("The {called} {} over {shows}.", come(called)) };
    let recovered = 100.0 * portion.of(*main) / still.of(*main).max(1e-30);
    let others: Vec<String> = others.iter().map(|(sub, share)| format!("{} % of {}", significant(100.0 * share, 2), name(*sub))).collect();
    let with = if others.is_empty() { String::new() } else { format!(", {} pure, with {}", percent(*purity), others.join(" and ")) };
    format!("The {called} {} over {shows}: {} % of the {} there is{with}.", come(called), significant(recovered, 2), name(*main))
}

/// Why a cut holds something beside its main substance: what boils together, too little reflux, or too few plates.
/// `best` is what the same plates would give at total reflux.
fn reason(context: &Context<'_>, worked: &Worked, cut: &Masses, work: &Work, best: &dyn Fn() -> Option<Masses>) -> Option<String> {
    let parts = largest(cut, 2, EXPLAINED);
    let [(main, share), (other, beside)] = parts.as_slice() else { return None };
    let (a, b) = (context.defs.substance(*main).display(), context.defs.substance(*other).display());
    let molar = |sub: Sub| context.defs.substance(sub).molar_mass().unwrap_or(0.0);
    if let Some(together) = worked.together(*main, *other, work.p) {
        let masses = (together.x * molar(*main), (1.0 - together.x) * molar(*other));
        let predicted = masses.0 / (masses.0 + masses.1);
        let measured = still::is_atmosphere(work.p).then(|| measured(context, *main, *other)).flatten();
        let (t, of_main, by) = match measured {
            Some((t, of_main)) => (t, of_main, "as measured"),
            None => (together.t, predicted, "by the model"),
        };
        let known = format!("{a} and {b} boil together at {:.1} °C with {:.1} % by mass of {a} ({by})", t - 273.15, 100.0 * of_main);
        return together.lowest.then(|| {
            if share / (share + beside) <= predicted + BESIDE {
                format!("{known}: no still brings it further than that.")
            } else {
                format!("{known}, and that comes over first.")
            }
        });
    }
    if let (Some(reflux), Some(best)) = (work.column.reflux, best()) {
        let of = |masses: &Masses, sub: &Sub| masses.get(sub).copied().unwrap_or(0.0);
        let pair = of(&best, main) + of(&best, other);
        let left = of(&best, other) / pair;
        if pair > 0.0 && left < WANTING * beside / (share + beside) {
            return Some(format!(
                "To keep {b} out of the {a} the reflux ratio of {} is too low, not the plates too few: at total reflux they would leave {} % of it.",
                significant(reflux, 3),
                significant(100.0 * left, 2)
            ));
        }
    }
    let there = 1.0 + plates(context).unwrap_or(HEAD).max(HEAD);
    let ratio = worked.volatility(*main, *other, work.p)?;
    // Fenske's equation at total reflux, for 95 % on either side.
    let need = 2.0 * 19_f64.ln() / ratio.ln().abs().max(1e-3);
    let most = if need > 50.0 { "more than 50".to_owned() } else { format!("about {need:.0}") };
    (need > there).then(|| format!("To keep {b} out of the {a} a still needs {most} theoretical plates; this one has about {there:.0}."))
}

/// Temperature and mass fraction of `main` where it boils together with `other` at an atmosphere, as measured.
fn measured(context: &Context<'_>, main: Sub, other: Sub) -> Option<(f64, f64)> {
    let of = |sub: Sub| context.defs.substance(sub).name.as_str();
    let found = context.defs.azeotropes.iter().find(|one| {
        let names = one.between.iter().map(String::as_str);
        still::is_atmosphere(one.pressure)
            && one.between.len() == 2
            && names.clone().any(|name| name == of(main))
            && names.clone().any(|name| name == of(other))
    })?;
    let place = found.between.iter().position(|name| name == of(main))?;
    Some((found.boils.as_ref()?.value, *found.holds.as_ref()?.value.get(place)?))
}
