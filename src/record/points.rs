//! What the figures of a record point to: sentences for a person, with the figures that lead there.

use super::review::{Case, Difference, Product};
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Fact;
use crate::kinds::{Kind, show};
use crate::matter::linear::{BindingId, Origin};
use crate::resolve::definitions::Sub;

/// A mass in g as a person writes it.
fn grams(g: f64) -> String {
    show(g.abs() * 1e-3, Kind::Mass, 2)
}

/// What the differences and the yields point to. A portion that must hold something else is reported too.
pub(super) fn points(case: &Case<'_>, differences: &[Difference], products: &[Product], findings: &mut Vec<Diagnostic>) -> Vec<String> {
    let mut points = Vec::new();
    for product in products {
        let best = product.corrected.as_ref().unwrap_or(&product.crude).of_theory;
        if best.value > 1.0 + best.expanded {
            points.push(format!(
                "The {} is more than can have been made: {} of it is not {}.",
                words(&product.portion),
                grams((best.value - 1.0) * product.theory_g.value),
                product.substance
            ));
        } else if product.crude.of_theory.value > 1.0 && product.corrected.is_none() {
            points.push(format!("The {} is just above theory, within what the weighings leave open.", words(&product.portion)));
        }
        if product.corrected.is_none() {
            points.push(format!("The purity of the {} is not known: its yield is that of the crude product.", words(&product.portion)));
        }
    }
    for one in differences {
        wet(case, one, findings, &mut points);
    }
    let wash = differences.iter().find(|one| one.beyond && one.difference_g.value > 0.0 && role(case, one.binding) == Role::Thrown);
    // How much of it was missing earlier in the work.
    let before = |one: &Difference| {
        let earlier = differences.iter().rfind(|other| {
            other.binding < one.binding
                && other.beyond
                && (one.difference_g.value..0.0).contains(&other.difference_g.value)
                && main_product(case, other.binding).is_some()
        });
        earlier
            .map_or_else(String::new, |other| format!(" ({} of it up to the {})", grams(other.difference_g.value), words(&other.portion)))
    };
    for one in differences.iter().filter(|one| one.beyond) {
        let off = one.difference_g.value;
        let name = words(&one.portion);
        match (role(case, one.binding), off > 0.0) {
            (Role::Made, true) if came_from(case, one.binding, "dried") => points.push(format!(
                "The {name} weighs {} more than predicted after it was dried: water was not removed, or more of it came along than the agent holds.",
                grams(off)
            )),
            (Role::Made, true) => points.push(format!(
                "The {name} weighs {} more than predicted: look for water or solvent in it, or a reagent that the washes left.",
                grams(off)
            )),
            (Role::Made, false) if main_product(case, one.binding).is_none() => points.push(format!(
                "The {name} weighs {} less than predicted: part of it went elsewhere, or was lost on the way.",
                grams(off)
            )),
            (Role::Made, false) => match wash {
                Some(wash) => points.push(format!(
                    "The {name} weighs {} less than predicted, and the {} {} more: product may have gone into the {1}.",
                    grams(off),
                    words(&wash.portion),
                    grams(wash.difference_g.value)
                )),
                None => points.push(format!(
                    "The {name} weighs {} less than predicted{}: less was made, or it was lost on the way; weighing the washes and the residue tells which.",
                    grams(off),
                    before(one)
                )),
            },
            (Role::Spent, true) => {
                points.push(format!("The {name} weighs {} more than predicted: it holds more liquid, product too.", grams(off)));
            }
            (Role::Spent, false) => points.push(format!(
                "The {name} weighs {} less than predicted: it took up less water, which then is still in what it dried.",
                grams(off)
            )),
            (Role::Thrown, true) => points.push(format!("The {name} weighs {} more than predicted: product may be in it.", grams(off))),
            (Role::Thrown, false) => {
                points.push(format!("The {name} weighs {} less than predicted: part of it may have stayed with the other layer.", grams(off)));
            }
        }
    }
    points
}

fn words(name: &str) -> String {
    crate::emit::words::plain(name)
}

/// Whether a portion is a result of this role.
fn came_from(case: &Case<'_>, id: BindingId, role: &str) -> bool {
    matches!(&case.run.written.binding(id).origin, Origin::Result(_, own) if own == role)
}

/// What a portion is in the work.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Role {
    /// It goes on, or is kept.
    Made,
    /// A drying agent or a cake that has done its work.
    Spent,
    /// It is thrown away.
    Thrown,
}

fn role(case: &Case<'_>, id: BindingId) -> Role {
    let procedure = case.run.written;
    let binding = procedure.binding(id);
    if came_from(case, id, "spent") {
        return Role::Spent;
    }
    let thrown = binding
        .used_by
        .and_then(|by| procedure.statements.get(by))
        .is_some_and(|statement| statement.operation.effects.iter().any(|call| call.effect == "discard"));
    if thrown { Role::Thrown } else { Role::Made }
}

/// A portion on its way to a product that weighs more than the product theory allows and all that is predicted beside it, but
/// for water.
fn wet(case: &Case<'_>, one: &Difference, findings: &mut Vec<Diagnostic>, points: &mut Vec<String>) {
    if role(case, one.binding) != Role::Made {
        return;
    }
    let Some(sub) = main_product(case, one.binding) else { return };
    let Some(line) = case.weighed(one.binding) else { return };
    let theory = case.now.theory(&case.counted(), sub);
    let water = case.run.defs.find("water");
    let beside: Option<f64> = case.now.at(&case.masses, |evaluation, _| {
        let portion = evaluation.first.get(&one.binding)?;
        Some(portion.contents.iter().filter(|(own, _)| **own != sub && Some(**own) != water).map(|(_, mass)| mass.si).sum())
    });
    let (Some(beside), true) = (beside, theory.is_finite()) else { return };
    let kept = case.run.plan.facts.iter().any(|fact| matches!(fact, Fact::Kept { binding, .. } if *binding == one.binding));
    let over = line.mass - theory - beside;
    // What is kept is told as a yield above theory.
    if kept || over <= one.difference_g.expanded * 1e-3 {
        return;
    }
    let name = words(&one.portion);
    points.push(format!(
        "The {name} must be wet, or hold a reagent still: even with all the {} that theory allows, {} of it is something else.",
        case.run.defs.substance(sub).display(),
        show(over, Kind::Mass, 2)
    ));
    findings.push(
        Diagnostic::new(
            Code::RecordWet,
            line.line.span,
            format!(
                "all the {} that theory allows ({}) with what is predicted beside it ({}) is less than this by {}",
                case.run.defs.substance(sub).display(),
                show(theory, Kind::Mass, 3),
                show(beside, Kind::Mass, 2),
                show(over, Kind::Mass, 2)
            ),
        )
        .help("it holds water, solvent, or a reagent that the washes left; a mass from here says nothing of the yield"),
    );
}

/// The product that a portion is on the way to: what is kept as a substance and is most of it.
fn main_product(case: &Case<'_>, id: BindingId) -> Option<Sub> {
    let kept = case.run.plan.facts.iter().filter_map(|fact| if let Fact::Kept { kept_as, .. } = fact { *kept_as } else { None });
    let kept: Vec<Sub> = kept.collect();
    case.now.at(&case.masses, |evaluation, procedure| {
        let portion = evaluation.first.get(&id)?;
        let made = |sub: &Sub| evaluation.theoretical(procedure, case.run.defs, *sub).is_some();
        let sub = portion.main().filter(|main| kept.contains(main) && made(main))?;
        // A pot in which it is still to be made, or a solution of it, says nothing.
        (portion.of(sub) > 0.5 * portion.mass()).then_some(sub)
    })
}
