//! Layers: is there more than one liquid, and does the lighter one lie where the author says?

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Fact;
use crate::kinds::significant;

/// Judges partings.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    for fact in &case.evaluation.facts {
        if let Fact::NoLayer { span, carrier, share } = fact {
            let name = case.defs.substance(*carrier).display();
            findings.push(
                Diagnostic::new(
                    Code::SinglePhase,
                    *span,
                    format!(
                        "no water parts in the trap: {:.0} % of the vapour is {name}, which mixes with water, and the trap fills with both",
                        share * 100.0
                    ),
                )
                .help("add a carrier that water does not dissolve, such as cyclohexane or toluene; or take the water up with beads: `returning through bed in siphon_extractor 100 mL`"),
            );
            continue;
        }
        let Fact::Parting { span, organic, aqueous, upper, lower, claims_organic_upper, by_order, single, main, .. } = fact else {
            continue;
        };
        if let Some(why) = single {
            findings.push(
                Diagnostic::new(Code::SinglePhase, *span, format!("there would be one liquid here and nothing to part: {why}")).help(
                    "wash with water or a watery solution; add brine or a solvent that water does not dissolve, so that two layers form",
                ),
            );
            continue;
        }
        let g = |density: f64| significant(density / 1e3, 3);
        let of = main.map_or_else(String::new, |main| format!(" (mostly {})", case.defs.substance(main).display()));
        if case.rule("layer_gap").is_some_and(|gap| (organic - aqueous).abs() < gap.value()) {
            findings.push(
                Diagnostic::new(
                    Code::TooClose,
                    *span,
                    format!(
                        "the organic layer{of} is about {} g/mL and the water layer {} g/mL: too close to say which lies on top",
                        g(*organic),
                        g(*aqueous)
                    ),
                )
                .help("add salt to make the water heavier, or a light solvent to the organic layer; then test a drop in water"),
            );
        } else if claims_organic_upper.is_some_and(|claim| claim != (organic < aqueous)) {
            if let Some(first) = by_order {
                let (first, other) =
                    if first == upper { (("upper", upper), ("lower", lower)) } else { (("lower", lower), ("upper", upper)) };
                findings.push(
                    Diagnostic::new(
                        Code::WrongSide,
                        *span,
                        format!(
                            "`{}` is named first, as what goes round again, and would have to be the {} layer; but what is extracted lies in the {} one: the organic layer{of} is about {} g/mL and the water layer {} g/mL",
                            first.1, first.0, other.0,
                            g(*organic),
                            g(*aqueous)
                        ),
                    )
                    .help(format!(
                        "if the layers are as you mean them, only the order is wrong: `-> {} {}, {} {}`; else `upper` and `lower` are to change places",
                        other.0, other.1, first.0, first.1
                    )),
                );
                continue;
            }
            let (top, bottom) = if organic < aqueous { ("organic", "water") } else { ("water", "organic") };
            findings.push(
                Diagnostic::new(
                    Code::WrongSide,
                    *span,
                    format!(
                        "the {top} layer lies on top: the organic layer{of} is about {} g/mL and the water layer {} g/mL, so `{lower}` and `{upper}` are the wrong way round",
                        g(*organic),
                        g(*aqueous)
                    ),
                )
                .help(format!(
                        "write `upper` for the {top} layer and `lower` for the {bottom} layer; what is washed or extracted, and goes round again, is named first or bears its old name"
                    )),
            );
        }
    }
}
