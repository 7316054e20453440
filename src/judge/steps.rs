//! Steps that do not do what they are for: a solid that does not dissolve, an end point that is
//! not reached, an absorber that is full, charcoal by the spoon.

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Fact;
use crate::kinds::{Kind, show, significant};
use crate::resolve::definitions::Sub;
use crate::source::Span;

/// Share of a solid that may stay undissolved. Our own figure.
const LEFT: f64 = 0.02;

/// Temperature up to which dissolving it warmer is advised, K: 50 °C. Our own figure.
const WARM: f64 = 323.15;

/// Judges single steps.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let temperature = |t: f64| show(t, Kind::Temperature, 2);
    let mmol = |n: f64| format!("{} mmol", significant(n * 1e3, 2));
    for fact in &case.evaluation.facts {
        match fact {
            Fact::Undissolved { span, sub, left, of, temperature: t } if *left > LEFT * of => findings.push(
                Diagnostic::new(
                    Code::NotDissolved,
                    *span,
                    format!(
                        "{} of {} of {} stays undissolved at {}",
                        show(*left, Kind::Mass, 2),
                        show(*of, Kind::Mass, 2),
                        case.defs.substance(*sub).display(),
                        temperature(*t)
                    ),
                )
                .help(format!(
                    "take about {} times as much liquid{}",
                    significant(of / (of - left).max(1e-12), 2),
                    // What is hot already cannot be had warmer.
                    if *t < WARM { ", or dissolve it warmer: `at 60 degC`" } else { "" }
                )),
            ),
            Fact::Dosed { span, agent, need, brings } if *need > *brings * 1.02 && *brings > 0.0 => findings.push(
                Diagnostic::new(
                    Code::DoseShort,
                    *span,
                    format!(
                        "what is there takes {} of {}, and this brings {}: the end point is not reached",
                        mmol(*need),
                        case.defs.substance(*agent).display(),
                        mmol(*brings)
                    ),
                )
                .help(format!("use {} times as much, or write `enough`", significant(need / brings, 3))),
            ),
            Fact::Absorbed { span, gas, brings, takes, .. } if brings.abs() > 1e-6 && brings.abs() > takes * brings.signum() => {
                let what = if *brings > 0.0 { "base" } else { "acid" };
                let there = (takes * brings.signum()).max(0.0);
                findings.push(
                    Diagnostic::new(
                        Code::AbsorberShort,
                        *span,
                        format!(
                            "{} of {} goes over, and the absorber has {what} for {}",
                            mmol(brings.abs()),
                            case.defs.substance(*gas).display(),
                            mmol(there)
                        ),
                    )
                    .help(if there > 0.0 {
                        format!("take at least {} times as much of it", significant(1.1 * brings.abs() / there, 2))
                    } else {
                        format!("lead it into a solution that holds {what}")
                    }),
                );
            }
            Fact::Decolourised { span, agent, mass, solid } => findings.extend(too_much_carbon(case, *span, *agent, *mass, *solid)),
            _ => {}
        }
    }
}

/// More charcoal than takes the colour: it takes the product too.
fn too_much_carbon(case: &Case<'_>, span: Span, agent: Sub, mass: f64, solid: f64) -> Option<Diagnostic> {
    let limit = case.defs.rule("carbon_share")?.value();
    if mass <= limit * solid * (1.0 + 1e-9) {
        return None;
    }
    let rule = case.rule("carbon_share")?;
    let percent = |share: f64| significant(100.0 * share, 2);
    let message = format!(
        "{} of {} is {} % of the solid: it takes up product too, and is hard to filter off",
        show(mass, Kind::Mass, 2),
        case.defs.substance(agent).display(),
        percent(mass / solid.max(1e-12))
    );
    let help = format!("take {} to {} ({})", show(0.01 * solid, Kind::Mass, 2), show(0.05 * solid, Kind::Mass, 2), rule.cited());
    Some(Diagnostic::new(Code::TooMuchCarbon, span, message).help(help))
}
