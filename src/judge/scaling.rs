//! What does not follow the batch: surface, heating, adding and parting take longer in a large
//! vessel; films and drops count in a small one; fixed amounts stay behind.

use std::collections::BTreeSet;

use super::Case;
use crate::chemistry::geometry::surface_to_volume_factor;
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::evaluate::Fact;
use crate::kinds::{Kind, show, significant};
use crate::matter::linear::{Arg, Material, Statement};
use crate::operations::heats;
use crate::source::Span;

/// A rise that a mixture makes by itself from which it counts as setting heat free, K. Our own figure.
const WARMS: f64 = 5.0;
/// A change of the batch that a fixed amount stands. Our own figure.
const STAYS: f64 = 0.2;

/// Judges the scale.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let scale = case.evaluation.scale;
    if scale > 1.0 {
        up(case, scale, findings);
    } else {
        down(case, scale, findings);
    }
    if (scale - 1.0).abs() > STAYS {
        fixed(case, findings);
    }
}

/// Why a statement does not follow the batch.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Why {
    /// It sets heat free.
    Heat,
    /// Something is added over a time.
    Addition,
    /// It is heated, cooled or boiled.
    Bath,
    /// Layers part, or something is filtered.
    Settling,
}

impl Why {
    fn sentence(self, longer: &str) -> String {
        match self {
            Self::Heat => format!(
                "what sets heat free is added or warmed at least {longer} times as slowly, with a bath to cool ready and the temperature watched"
            ),
            Self::Addition => format!("an addition takes at least {longer} times as long"),
            Self::Bath => "heating up and cooling down take longer: count the time from when the inside is warm".to_owned(),
            Self::Settling => "layers and solids take longer to part: wait, and do not count on the time of a small batch".to_owned(),
        }
    }

    fn label(self) -> &'static str {
        match self {
            Self::Heat => "this sets heat free, and there is less surface to lose it",
            Self::Addition => "this is added over a time",
            Self::Bath => "this is heated or cooled through the wall",
            Self::Settling => "this has to settle",
        }
    }
}

/// The statements that set heat free: a reaction or a mixing for which a heat is known.
fn warms(case: &Case<'_>) -> BTreeSet<Span> {
    let mut spans: BTreeSet<Span> = case
        .evaluation
        .facts
        .iter()
        .filter_map(|fact| match fact {
            Fact::Mixed { span, rise, .. } | Fact::Warmed { span, rise, .. } if *rise > WARMS => Some(*span),
            Fact::Warmed { span, at_least: true, .. } => Some(*span),
            _ => None,
        })
        .collect();
    for run in &case.evaluation.runs {
        let heat = case.procedure.reactions.get(run.reaction).and_then(|reaction| heats::of(case.defs, reaction));
        if heat.is_some_and(|heat| heat < 0.0)
            && let Some(statement) = case.procedure.statements.get(run.statement)
        {
            spans.insert(statement.span);
        }
    }
    spans
}

/// Why a statement does not follow, besides the heat it sets free.
fn slow(statement: &Statement) -> Option<Why> {
    let effects: Vec<&str> = statement.operation.effects.iter().map(|call| call.effect.as_str()).collect();
    let any = |wanted: &[&str]| effects.iter().any(|effect| wanted.contains(effect));
    let figure = |kind: Kind| statement.args.values().any(|arg| matches!(arg, Arg::Figure(figure) if figure.kind == kind));
    if any(&["boil", "distil", "evaporate"]) || any(&["hold"]) && figure(Kind::Temperature) {
        Some(Why::Bath)
    } else if any(&["pour"]) && figure(Kind::Duration) {
        Some(Why::Addition)
    } else if any(&["part", "strain", "crystallise"]) {
        Some(Why::Settling)
    } else {
        None
    }
}

fn up(case: &Case<'_>, scale: f64, findings: &mut Vec<Diagnostic>) {
    let warm = warms(case);
    let (Some(strict), Some(mild)) = (case.defs.rule("scale_step"), case.defs.rule("scale_step_mild")) else { return };
    let past = |limit: f64| scale > limit * (1.0 + 1e-9);
    let (hot, rest) = (!warm.is_empty() && past(strict.value()), past(mild.value()));
    if !hot && !rest {
        return;
    }
    let Some(rule) = case.rule(if hot { "scale_step" } else { "scale_step_mild" }) else { return };
    let mut found: Vec<(Why, &Statement)> = Vec::new();
    for statement in &case.procedure.statements {
        let why = if warm.contains(&statement.span) { Some(Why::Heat) } else { slow(statement).filter(|_| rest) };
        found.extend(why.map(|why| (why, statement)));
    }
    found.sort_by_key(|(why, _)| *why);
    let mut whys: Vec<Why> = found.iter().map(|(why, _)| *why).collect();
    whys.dedup();
    if whys.is_empty() {
        return;
    }
    let verbs = |why: Why| {
        let mut verbs: Vec<&str> =
            found.iter().filter(|(own, _)| *own == why).map(|(_, statement)| statement.operation.form.verb()).collect();
        verbs.dedup();
        suggest::listed(&verbs, "and")
    };
    let surface = surface_to_volume_factor(scale);
    let longer = significant(1.0 / surface, 2);
    let steps: Vec<String> = whys.iter().map(|why| verbs(*why)).collect();
    let todo: Vec<String> = whys.iter().map(|why| format!("{}: {}", verbs(*why), why.sentence(&longer))).collect();
    let mut finding = Diagnostic::new(
        Code::Scaling,
        case.procedure.span,
        format!(
            "at {} times the batch as written a vessel has {:.0} % of the cooling surface for each millilitre; these steps do not follow the batch: {}",
            significant(scale, 3),
            surface * 100.0,
            steps.join(", ")
        ),
    )
    .help(format!("work up to it in steps of at most {} times ({}); {}", rule.shown(), rule.setting.source, todo.join("; ")));
    for why in whys {
        if let Some((_, first)) = found.iter().find(|(own, _)| *own == why) {
            finding = finding.label(first.span, why.label());
        }
    }
    findings.push(finding);
}

fn down(case: &Case<'_>, scale: f64, findings: &mut Vec<Diagnostic>) {
    let Some(basis) = case.evaluation.takes.get(&case.procedure.basis).map(|take| take.mass.si) else { return };
    if scale > 1.0 - STAYS || case.defs.rule("small_batch").is_none_or(|rule| basis >= rule.value()) {
        return;
    }
    let Some(rule) = case.rule("small_batch") else { return };
    let distils = |statement: &&Statement| statement.operation.effects.iter().any(|call| call.effect == "distil");
    let parts = |statement: &&Statement| statement.operation.effects.iter().any(|call| call.effect == "part");
    let todo = match (case.procedure.statements.iter().find(distils), case.procedure.statements.iter().find(parts)) {
        (Some(_), _) => "a still holds back more than there is to collect: purify by a short path, a column or crystals instead",
        (None, Some(_)) => "part the layers in a vial with a pipette, and rinse each vessel into the next",
        (None, None) => return,
    };
    findings.push(
        Diagnostic::new(
            Code::Scaling,
            case.procedure.span,
            format!(
                "at {} times the batch as written `{}` is {}: films on glass take {} times the share that they take of the batch as written",
                significant(scale, 2),
                case.procedure.takes.get(case.procedure.basis).map_or("", |take| &case.procedure.binding(take.binding).name),
                show(basis, Kind::Mass, 2),
                significant(surface_to_volume_factor(scale), 2),
            ),
        )
        .help(format!("{todo}; measure in drops or by weight (below {}: {})", rule.shown(), rule.setting.source)),
    );
}

/// Fixed amounts of what takes part in a reaction.
fn fixed(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let taken = case.procedure.takes.iter().map(|take| &take.material);
    let shelf = case.procedure.statements.iter().flat_map(|statement| statement.args.values()).filter_map(|arg| match arg {
        Arg::Material(material) => Some(material.as_ref()),
        _ => None,
    });
    for material in taken.chain(shelf).filter(|material| material.amount.fixed) {
        let Some(part) = part_played(case, material) else { continue };
        findings.push(
            Diagnostic::new(
                Code::FixedAmount,
                material.amount.span,
                format!(
                    "{} is {part}, and its amount stays while the batch is {} times as large",
                    case.defs.substance(material.sub).display(),
                    significant(case.evaluation.scale, 3)
                ),
            )
            .help("write it without `fixed`, or in proportion: `0.1 eq`, `2 mol%`, `0.05 mL per g of …`"),
        );
    }
}

/// What a material is to the reactions of the procedure.
fn part_played(case: &Case<'_>, material: &Material) -> Option<&'static str> {
    let reactions = &case.procedure.reactions;
    if reactions.iter().any(|reaction| reaction.catalyst.as_ref().is_some_and(|(sub, _)| *sub == material.sub)) {
        Some("a catalyst")
    } else if reactions.iter().any(|reaction| reaction.left.iter().any(|(_, sub)| *sub == material.sub)) {
        Some("used up by a reaction")
    } else if case.defs.substance(material.sub).is("inhibitor") {
        Some("an inhibitor")
    } else {
        None
    }
}
