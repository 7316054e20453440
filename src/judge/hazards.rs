//! Heat: boiling in the open, wet beds in hot ovens, water into acid, cuts that nothing boils into.

use std::collections::BTreeSet;

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Fact;
use crate::kinds::{Kind, show, significant};
use crate::matter::linear::Arg;
use crate::resolve::definitions::Sub;
use crate::source::Span;

/// Whether a statement gives its addition time, portions or cooling.
fn gentle(case: &Case<'_>, number: usize) -> bool {
    case.procedure.statements.get(number).is_some_and(|statement| {
        let cooled = matches!(statement.args.get("manner"), Some(Arg::Word(word, _)) if word == "cooling");
        let portions = statement.operation.form.verb() == "neutralise";
        cooled || portions || ["time", "rate", "portions", "ceiling", "band"].iter().any(|slot| statement.args.contains_key(slot))
    })
}

/// Judges heating, mixing and distilling.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let celsius = |t: f64| format!("{:.0} °C", t - 273.15);
    let mut into_acid: BTreeSet<Span> = BTreeSet::new();
    for fact in &case.evaluation.facts {
        match fact {
            Fact::Held { span, name, temperature, boiling: Some(boiling), .. }
                if *temperature > *boiling && case.rule("boiling_margin").is_some_and(|rule| *temperature > boiling + rule.value()) =>
            {
                findings.push(
                    Diagnostic::new(
                        Code::AboveBoiling,
                        *span,
                        format!(
                            "`{name}` boils near {}, so it cannot be held at {} in an open vessel",
                            celsius(*boiling),
                            celsius(*temperature)
                        ),
                    )
                    .help(format!("hold it below {}, or boil it under a condenser with `reflux`", celsius(*boiling))),
                );
            }
            Fact::WetBed { span, name, solvent, temperature } => {
                let substance = case.defs.substance(solvent.0);
                findings.push(
                    Diagnostic::new(
                        Code::WetBed,
                        *span,
                        format!(
                            "`{name}` still holds {} of {} when it is heated to {}",
                            show(solvent.1, Kind::Mass, 2),
                            substance.display(),
                            celsius(*temperature)
                        ),
                    )
                    .help(format!("let it stand in the hood first, away from flames: `dry {name} in air for 24 h`")),
                );
            }
            Fact::Mixed { span, added, watery: true, acid_strength, rise, .. }
                if case.past("strong_acid_share", *acid_strength) && case.past("sudden_rise", *rise) =>
            {
                into_acid.insert(*span);
                findings.push(
                    Diagnostic::new(
                        Code::WaterIntoAcid,
                        *span,
                        format!("`{added}` is poured into strong acid: the mixture would warm by {rise:.0} K, at first all in one spot, and spit"),
                    )
                    .help(case.citing("turn it round: pour the acid slowly into the water, with stirring and cooling", "sudden_rise")),
                );
            }

            Fact::Onto { statement, span, added, into, share, gas, rise } if case.past("reagent_bulk", *share) => {
                findings.extend(onto(case, *statement, *span, (added, into), *gas, *rise));
            }
            Fact::Bath { span, bath, top } if bath < top => {
                findings.push(
                    Diagnostic::new(
                        Code::BathTooCold,
                        *span,
                        format!(
                            "the bath is at {}, and what is to come over boils at {}: nothing of it would",
                            celsius(*bath),
                            celsius(*top)
                        ),
                    )
                    .help(format!("set the bath 20 to 30 K above what is to come over: {}", celsius(top + 25.0))),
                );
            }
            Fact::Steam { span, water, needed, share } if *water < 0.95 * needed => {
                findings.push(
                    Diagnostic::new(
                        Code::SteamShort,
                        *span,
                        format!(
                            "{} of water carries over about {:.0} % of what steam can take",
                            show(*water, Kind::Mass, 3),
                            share * 100.0
                        ),
                    )
                    .help(format!("use {} of water, or write `enough`", show(*needed, Kind::Mass, 3))),
                );
            }
            // What boils in the pot that it is poured into, and what foams there.
            Fact::Mixed { span, added, into, hot, boils, base, .. }
                if boils.is_some_and(|boils| boils < *hot) || *base && case.past("hot_acid", *hot) =>
            {
                let why = match boils.filter(|boils| boils < hot) {
                    Some(boils) => format!("it boils at {} and would come back out as vapour", celsius(boils)),
                    None => "base in hot acid boils and foams where it goes in".to_owned(),
                };
                let remedy = format!("cool first: `cool {into} to 25 degC`");
                let remedy = if boils.is_some_and(|boils| boils < *hot) { remedy } else { case.citing(&remedy, "hot_acid") };
                findings.push(
                    Diagnostic::new(Code::IntoHot, *span, format!("`{added}` is added to `{into}`, which is at {}: {why}", celsius(*hot)))
                        .help(remedy),
                );
            }
            Fact::Warmed { statement, span, start, rise, boiling, at_least } if !gentle(case, *statement) => {
                let boils = boiling.filter(|boiling| start + rise >= *boiling && case.past("sudden_rise", *rise));
                let steep = case.defs.rule("steep_rise").is_some_and(|rule| *rise >= rule.value());
                if boils.is_none() && (!steep || case.rule("steep_rise").is_none()) || into_acid.contains(span) {
                    continue;
                }
                let message = match boils {
                    Some(boils) => {
                        format!("the heat that comes free would take it from {} past {}, where it boils", celsius(*start), celsius(boils))
                    }
                    None => format!(
                        "the heat that comes free would take it from {} to {} {}",
                        celsius(*start),
                        if *at_least { "at least" } else { "about" },
                        celsius(start + rise)
                    ),
                };
                findings.push(
                    Diagnostic::new(Code::WouldBoil, *span, message).help(
                        "add the one to the other slowly and cool: `add X to Y over 20 min, with cooling`, or `keeping below 30 degC`",
                    ),
                );
            }
            Fact::Unstated { span, reagent, other, heat, rise }
                if !case.defs.substance(*other).is("water") && case.past("sudden_rise", *rise) =>
            {
                let (one, two) = (case.defs.substance(*reagent).display(), case.defs.substance(*other).display());
                let much = heat.map_or_else(
                    || "how much heat they set free is not known".to_owned(),
                    |heat| format!("they set free about {}, for {} K", show(heat, Kind::Energy, 2), significant(*rise, 2)),
                );
                findings.push(
                    Diagnostic::new(Code::Unstated, *span, format!("{one} meets {two} and no reaction of it is stated: {much}")).help(
                        case.citing(
                            "declare the reaction and run it: `reaction NAME { … }` and `running NAME`; and cool what is added",
                            "sudden_rise",
                        ),
                    ),
                );
            }
            Fact::NothingBoils { span, range, nearest: None, .. } if range.0 <= 0.0 => findings.push(
                Diagnostic::new(Code::NothingBoils, *span, "nothing in the mixture goes over with steam")
                    .help("what goes over has a vapour pressure of some 2 mmHg at 100 °C; distil it by itself, or name what it holds"),
            ),
            Fact::NothingBoils { span, range, nearest, shows } => {
                let mut help = match nearest {
                    Some((sub, t)) => format!("{} boils at {}", case.defs.substance(*sub).display(), celsius(*t)),
                    None => "no boiling point is known for what is in it".to_owned(),
                };
                // Of a pure liquid that says all.
                if let Some((low, high)) = shows.filter(|(low, high)| high - low > 2.0) {
                    help.push_str(&format!("; the head shows {} to {}", celsius(low).trim_end_matches(" °C"), celsius(high)));
                }
                // A thermometer may run through a range in which something boils by itself.
                let within = nearest.is_some_and(|(_, t)| (range.0..=range.1).contains(&t));
                let passes = within && shows.is_some_and(|(low, high)| low < range.0 && high > range.1);
                let what =
                    if passes { "next to nothing comes over while the head passes from" } else { "nothing in the mixture boils between" };
                let to = if passes { "to" } else { "and" };
                findings.push(
                    Diagnostic::new(Code::NothingBoils, *span, format!("{what} {} {to} {}", celsius(range.0), celsius(range.1))).help(help),
                );
            }
            _ => {}
        }
    }
}

/// Water or an alcohol on a reagent: each drop meets plenty of it. What fumes with water, or gives
/// hydrogen, is never in the pot first; of the rest a slow and cool addition is as good.
fn onto(
    case: &Case<'_>,
    number: usize,
    span: Span,
    (added, into): (&(String, Sub), &(String, Sub)),
    gas: Option<Sub>,
    rise: f64,
) -> Option<Diagnostic> {
    let (other, reagent) = (case.defs.substance(added.1), case.defs.substance(into.1));
    let hydrogen = reagent.is("hydride") || reagent.is("reactive_metal");
    let never = hydrogen || gas.is_some() && other.is("water");
    let warm = case.past("sudden_rise", rise);
    if gas.is_none() && !warm || !never && gentle(case, number) {
        return None;
    }
    let gives = match gas {
        Some(gas) if warm => format!("{} comes off at once, with heat for {rise:.0} K", case.defs.substance(gas).display()),
        Some(gas) => format!("{} comes off at once", case.defs.substance(gas).display()),
        None => format!("they give heat for {rise:.0} K"),
    };
    let remedy = if never {
        format!("turn it round: add `{}` to `{}` in small portions, with stirring and cooling", into.0, added.0)
    } else {
        format!("turn it round: add `{}` to `{}` slowly and cool; or add this one `over 20 min, with cooling`", into.0, added.0)
    };
    let message = format!(
        "`{}` goes onto `{}`, where each drop of {} meets plenty of {}: {gives}",
        added.0,
        into.0,
        other.display(),
        reagent.display()
    );
    Some(Diagnostic::new(Code::OntoReagent, span, message).help(remedy))
}
