//! Drying agents and basic washes: do they hold what arrives, and do they stand what they meet?

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::{Carried, Fact};
use crate::kinds::{Kind, show, show_duration, significant};
use crate::resolve::definitions::Sub;
use crate::source::Span;

/// Judges drying agents and basic washes.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    for fact in &case.evaluation.facts {
        match fact {
            Fact::Dried {
                span,
                agent,
                name,
                mass,
                sized,
                water,
                capacity,
                meets,
                refused,
                vapour,
                temperature,
                effective_below,
                bed,
                time,
                ..
            } => {
                let substance = case.defs.substance(*agent);
                if let Some((class, other)) = refused.first() {
                    let other = case.defs.substance(*other);
                    let reactive = substance.is("hydride");
                    let message = match (class.as_str(), reactive) {
                        ("free_water", true) => format!(
                            "{} meets a wet liquid with {} of water in it: hydrogen comes off, with heat enough to light it",
                            substance.display(),
                            show(*water, Kind::Mass, 2)
                        ),
                        (_, true) => format!("{} reacts with {}: hydrogen comes off, with heat", substance.display(), other.display()),
                        ("acid" | "strong_acid", _) if vapour.is_some() => brought(vapour.as_ref(), &other.display(), &substance.display()),
                        ("acid" | "strong_acid", _) => format!("{} destroys {}", other.display(), substance.display()),
                        _ => format!("{} binds {} itself, so product is lost and little is dried", substance.display(), other.display()),
                    };
                    findings.push(
                        Diagnostic::new(Code::AgentDestroyed, *meets, message)
                            .help(if vapour.is_some() && class.contains("acid") {
                                "take the water off in a trap instead, `parting water`, or make the acid the lesser part and let it react first"
                            } else if reactive {
                                "dry over magnesium_sulfate or sodium_sulfate first, filter, and keep the hydride for a liquid that is nearly dry"
                            } else if substance.agent.as_ref().and_then(|agent| agent.bonds.as_ref()).is_some_and(|bonds| other.is(&bonds.value.1)) {
                                "choose another agent: magnesium_sulfate or sodium_sulfate suit most liquids; if it is meant to be bound, say so with `binding`"
                            } else {
                                "choose another agent: magnesium_sulfate or sodium_sulfate suit most liquids"
                            })
                            .label(*span, format!("`{name}` is {}", substance.display())),
                    );
                    continue;
                }
                let works = effective_below.is_none_or(|limit| *temperature <= limit);
                if !works {
                    findings.push(
                        Diagnostic::new(
                            Code::DryingAgent,
                            *meets,
                            format!(
                                "{} binds no water above {:.0} °C, and the liquid is at {:.0} °C",
                                substance.display(),
                                effective_below.map_or(0.0, |t| t - 273.15),
                                temperature - 273.15
                            ),
                        )
                        .help("cool the liquid first"),
                    );
                } else if !sized && *water > *capacity * (1.0 + 1e-9) {
                    let per = substance.agent.as_ref().and_then(|agent| agent.capacity.as_ref()).map_or(0.0, |c| c.value);
                    let need = water / per.max(1e-9);
                    let basis =
                        case.procedure.takes.get(case.procedure.basis).map(|take| case.procedure.binding(take.binding).name.clone());
                    let grams = |kg: f64| format!("{} g", significant(kg * 1e3, 3));
                    findings.push(
                        Diagnostic::new(
                            Code::DryingAgent,
                            *span,
                            format!(
                                "{} of {} holds {} of water; {} arrives",
                                grams(*mass),
                                substance.display(),
                                grams(*capacity),
                                grams(*water)
                            ),
                        )
                        .help(format!(
                            "use {}, or cut the batch to {:.0} %{}",
                            grams(need),
                            100.0 * capacity / water,
                            basis.map_or_else(String::new, |name| format!(" of its `{name}`"))
                        ))
                        .label(*meets, if *bed { "the water arrives here" } else { "the liquid is dried here" }),
                    );
                }
                if let Some(time) = time {
                    findings.extend(too_short(case, *agent, *time, *meets));
                }
            }
            Fact::BaseWash { span, acid_left, acid, base } if *acid_left > 0.02 * acid && *acid_left > 1e-4 => {
                let mmol = |n: f64| format!("{} mmol", significant(n * 1e3, 2));
                findings.push(
                    Diagnostic::new(
                        Code::BaseShort,
                        *span,
                        format!(
                            "{} of acid is there and the base takes {} a portion: {} of acid is left",
                            mmol(*acid),
                            mmol(*base),
                            mmol(*acid_left)
                        ),
                    )
                    .help("use more portions or a stronger solution, or wash with water first; test the washings with indicator paper"),
                );
            }
            _ => {}
        }
    }
}

/// A liquid left over an agent for less than the declared part of the time that it needs.
fn too_short(case: &Case<'_>, agent: Sub, time: f64, meets: Span) -> Option<Diagnostic> {
    let substance = case.defs.substance(agent);
    let needs = substance.agent.as_ref()?.acts_in.as_ref()?;
    // The rule counts as asked only where it decides.
    let least = needs.value.0 * case.defs.rule("drying_time")?.value();
    if time >= least * (1.0 - 1e-9) {
        return None;
    }
    let rule = case.rule("drying_time")?;
    let span = |t: f64| show(t, Kind::Duration, 2);
    let wanted =
        if needs.value.1 > needs.value.0 { format!("{} to {}", span(needs.value.0), span(needs.value.1)) } else { span(needs.value.0) };
    Some(
        Diagnostic::new(
            Code::TooShort,
            meets,
            format!("{} needs {wanted} ({}), and the liquid is left over it for {}", substance.display(), needs.source, span(time)),
        )
        .help(format!(
            "leave it for {}, or take an agent that works faster; less than {} of the time is too short ({})",
            span(needs.value.0),
            rule.shown(),
            rule.setting.source
        )),
    )
}

/// What the vapour brings to a bed.
fn brought(carried: Option<&Carried>, acid: &str, agent: &str) -> String {
    let percent = carried.map_or(0.0, |carried| 100.0 * carried.share);
    let percent = significant(percent, 2);
    let mass = carried.and_then(|carried| carried.mass).map(|mass| show(mass, Kind::Mass, 2));
    let brings = match (mass, carried.and_then(|carried| carried.time)) {
        (Some(mass), Some(time)) => format!("{mass} in {} ({percent} % of the condensate)", show_duration(time)),
        (Some(mass), None) => format!("{percent} % of the condensate ({mass} with each filling of the extractor)"),
        (None, _) => format!("{percent} % of the condensate ({percent} g in 100 g)"),
    };
    format!("the vapour carries {acid} to the bed, {brings}, and acid destroys {agent}")
}
