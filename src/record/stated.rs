//! What a source states beside what it measured, against what follows from its own figures.

use super::bound::Weighed;
use super::review::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::{Kind, show, significant};
use crate::matter::linear::BindingId;
use crate::resolve::definitions::Sub;
use crate::resolve::quantity::Figure;
use crate::source::Span;

/// How far two amounts of one thing may differ for densities and molar masses from other tables. Our own figure, as for
/// figures in brackets in a procedure.
const AMOUNT_SLACK: f64 = 0.01;
/// However it is rounded, what differs by more is told. Our own figure.
const AMOUNT_MOST: f64 = 0.05;
/// How far a theory or a yield may differ beyond its rounding. Our own figure.
const YIELD_SLACK: f64 = 0.001;

/// Reports what does not follow.
pub(super) fn judge(case: &Case<'_>, kept: &[(BindingId, Sub)], findings: &mut Vec<Diagnostic>) {
    for one in case.weighed {
        let product = kept.iter().find(|(id, _)| *id == one.binding).map(|(_, sub)| *sub);
        for (figure, half) in &one.line.beside {
            match figure.kind {
                Kind::Ratio => yields(case, one, product, figure, *half, findings),
                kind => amounts(case, one, product, (figure, kind), *half, findings),
            }
        }
    }
    for (which, figure, half) in &case.record.theory {
        let found = super::bound::find(which, case.run.written);
        let sub = match found {
            Ok(id) => kept.iter().find(|(own, _)| *own == id).map(|(_, sub)| *sub),
            Err(finding) => {
                findings.push(*finding);
                continue;
            }
        };
        let theory = sub.map(|sub| case.now.theory(&case.counted(), sub)).filter(|theory| theory.is_finite());
        let Some(theory) = theory else {
            findings.push(of_no_product(which.name.span));
            continue;
        };
        if (figure.low - theory).abs() > half + YIELD_SLACK * theory {
            findings.push(differs(
                figure.span,
                format!("the source gives {} as what theory allows", show(figure.low, Kind::Mass, 4)),
                format!("{} follows from the amounts taken", show(theory, Kind::Mass, 4)),
            ));
        }
    }
}

fn of_no_product(at: Span) -> Diagnostic {
    Diagnostic::new(Code::RecordImpossible, at, "this is not kept as a substance that is made here, so it has no yield")
        .help("a yield and a theory are of what the procedure keeps")
}

fn differs(at: Span, stated: String, follows: String) -> Diagnostic {
    Diagnostic::new(Code::RecordStated, at, format!("{stated}, and {follows}"))
        .help("the review goes by what was measured; look for a figure rounded on the way, or divided by the wrong one")
}

fn yields(case: &Case<'_>, one: &Weighed<'_>, product: Option<Sub>, figure: &Figure, half: f64, findings: &mut Vec<Diagnostic>) {
    let theory = product.map(|sub| case.now.theory(&case.counted(), sub)).filter(|theory| theory.is_finite());
    let Some(theory) = theory else { return findings.push(of_no_product(figure.span)) };
    let found = one.mass / theory;
    let low = figure.low - half - YIELD_SLACK * found;
    let high = figure.top() + half + YIELD_SLACK * found;
    if !(low..=high).contains(&found) {
        findings.push(differs(
            figure.span,
            format!("the source gives a yield of {} %", significant(figure.middle() * 100.0, 4)),
            format!(
                "{} % follows from its masses ({} of {})",
                significant(found * 100.0, 4),
                show(one.mass, Kind::Mass, 4),
                show(theory, Kind::Mass, 4)
            ),
        ));
    }
}

fn amounts(
    case: &Case<'_>,
    one: &Weighed<'_>,
    product: Option<Sub>,
    (figure, kind): (&Figure, Kind),
    half: f64,
    findings: &mut Vec<Diagnostic>,
) {
    let plan = &case.run.plan;
    let mass = plan.figure(case.run.written, case.run.defs, one.binding, Kind::Mass).filter(|mass| *mass > 0.0);
    let of_product = product.filter(|_| kind == Kind::Amount).and_then(|sub| case.run.defs.substance(sub).molar_mass());
    let follows = match of_product {
        // What is weighed of a product counts as the product.
        Some(molar) => Some(one.mass / molar),
        None => {
            mass.and_then(|mass| plan.figure(case.run.written, case.run.defs, one.binding, kind).map(|figure| figure / mass * one.mass))
        }
    };
    let Some(follows) = follows else { return };
    let own = one.line.reading.as_ref().map_or(0.0, |reading| reading.half / reading.figure.low);
    let slack = AMOUNT_SLACK.max((half / figure.middle() + own).min(AMOUNT_MOST));
    if (figure.middle() / follows - 1.0).abs() > slack {
        let written = one.line.reading.as_ref().map_or_else(String::new, |reading| show(reading.figure.low, reading.figure.kind, 4));
        findings.push(differs(
            figure.span,
            format!("the source gives {} for {written}", show(figure.middle(), kind, 3)),
            format!("{written} is {}", show(follows, kind, 3)),
        ));
    }
}
