//! Water taken off while something boils: does the vapour carry it, and is there time enough?

use super::Case;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Fact;
use crate::kinds::{Kind, show, show_duration, significant};
use crate::matter::linear::Statement;
use crate::operations::course::{self, Course, Far, Limit, Way};
use crate::resolve::declare::WATER_MOLAR_MASS;

/// Share of the charge by mass below which water that comes is not worth a word. Our own figure.
const LITTLE: f64 = 0.002;

/// Judges dried returns and traps by their courses; those that cannot be followed are passed over.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    for (number, record) in &case.evaluation.records {
        let (Some(begins), Some(statement)) = (record.begins.as_deref(), case.procedure.statements.get(*number)) else { continue };
        let follow = |far| course::followed(begins, case.procedure, case.defs, *number, far).ok();
        let wanted = match &begins.way {
            _ if !begins.stated => continue,
            Way::Bed(_) => None,
            Way::Trap(_, water, _) => Some(*water),
            Way::Nothing(_) => continue,
        };
        let Some(near) = follow(Far::Stated) else { continue };
        let wanted = wanted.unwrap_or(near.reach);
        let taken = near.at_time.taken * WATER_MOLAR_MASS;
        if wanted < LITTLE * begins.portion.mass() || case.defs.rule("carried_off").is_none_or(|rule| taken >= rule.value() * wanted) {
            continue;
        }
        // How long it would take is looked for only where it is too long.
        if let Some(whole) = follow(Far::Whole) {
            findings.extend(short(case, statement, &whole, (taken, wanted)));
        }
    }
}

fn short(case: &Case<'_>, statement: &Statement, course: &Course, (taken, wanted): (f64, f64)) -> Option<Diagnostic> {
    // A trap in which nothing ever parts is told by itself.
    let single = case.evaluation.facts.iter().any(|fact| matches!(fact, Fact::NoLayer { span, .. } if *span == statement.span));
    let grams = |mass: f64| show(mass, Kind::Mass, 2);
    let percent = |share: f64| significant(100.0 * share, 2);
    let time = show_duration(course.begins.time);
    let longer = match course.hours.iter().flatten().last() {
        Some(hours) if *hours > course.begins.time => format!("boil it for {}", show_duration((hours / 600.0).ceil() * 600.0)),
        _ => format!("boil it for longer than {}", show_duration(course.rows.last().map_or(course.begins.time, |row| row.time))),
    };
    let harder = if course.begins.power.is_some() { "with more power" } else { "faster, with the heater that you name: `heating 200 W`" };
    let (vapour, flask) = course.first_water;
    let carrier = course.carrier.map_or_else(|| "the liquid".to_owned(), |(sub, _)| case.defs.substance(sub).display());
    let whither = match &course.begins.way {
        Way::Bed(bed) => format!("on the {}", bed.name.replace('_', " ")),
        _ => "in the trap".to_owned(),
    };
    let arrives = format!(
        "in {time} about {} of the {} of water that can be taken off {} {whither}",
        grams(taken),
        grams(wanted),
        if course.at_time.taken > 0.0 { "is" } else { "are" }
    );
    let (code, message, help) = match course.limit {
        Limit::Vapour => (
            Code::DryVapour,
            format!(
                "{arrives}: the vapour is mostly {carrier} and holds {} % of water, where there is {} % in the flask",
                percent(vapour),
                percent(flask)
            ),
            format!(
                "add a carrier that boils with water below {carrier} and does not dissolve it, such as cyclohexane (70 °C) or toluene (84 °C); or {longer}, or {harder}"
            ),
        ),
        Limit::OneLiquid if !single => (
            Code::DryVapour,
            format!("{arrives}: what condenses holds {} % of water and hardly parts, since {carrier} dissolves about as much", percent(vapour)),
            "add a carrier that does not dissolve water, such as cyclohexane or toluene; or take the water up with beads: `returning through bed in siphon_extractor 100 mL`".to_owned(),
        ),
        Limit::Time => (Code::BoiledTooShort, format!("{arrives}: the time is too short"), format!("{longer}, or boil it {harder}")),
        Limit::Rate => (Code::BoiledTooShort, format!("{arrives}: the reaction lags behind"), format!("{longer}, or take more catalyst")),
        _ => return None,
    };
    let help = case.citing(&help, "carried_off");
    Some(Diagnostic::new(code, statement.span, message).help(help))
}
