//! Heat: boiling in the open, wet beds in hot ovens, water into acid, cuts that nothing boils into.

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Fact;
use crate::kinds::{Kind, show};

/// The rise at which water into strong acid is a finding, K. Our own figure.
const RISE: f64 = 15.0;
/// Mass fraction of acid in acid and water above which the order matters. Our own figure.
const STRONG: f64 = 0.3;

/// Judges heating, mixing and distilling.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let celsius = |t: f64| format!("{:.0} °C", t - 273.15);
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
                            "`{name}` boils near {} (by Raoult's law), so it cannot be held at {} in an open vessel",
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
            Fact::Mixed { span, added, watery: true, acid_strength, rise } if *acid_strength > STRONG && *rise > RISE => {
                findings.push(
                    Diagnostic::new(
                        Code::WaterIntoAcid,
                        *span,
                        format!("`{added}` is poured into strong acid: the mixture would warm by {rise:.0} K, at first all in one spot, and spit"),
                    )
                    .help("turn it round: pour the acid slowly into the water, with stirring and cooling"),
                );
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
            Fact::NothingBoils { span, range, nearest } => {
                let help = match nearest {
                    Some((sub, t)) => format!("{} boils at {}", case.defs.substance(*sub).display(), celsius(*t)),
                    None => "no boiling point is known for what is in it".to_owned(),
                };
                findings.push(
                    Diagnostic::new(
                        Code::NothingBoils,
                        *span,
                        format!("nothing in the mixture boils between {} and {}", celsius(range.0), celsius(range.1)),
                    )
                    .help(help),
                );
            }
            _ => {}
        }
    }
}
