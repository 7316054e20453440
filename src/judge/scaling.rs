//! What does not follow the batch: heating, cooling and adding take longer in a large vessel.

use super::Case;
use crate::chemistry::geometry::surface_to_volume_factor;
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::significant;

/// Judges the scale.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let scale = case.evaluation.scale;
    let Some(rule) = (scale > 1.0).then(|| case.rule("scale_step")).flatten() else { return };
    if scale <= rule.value() * (1.0 + 1e-9) {
        return;
    }
    let verbs = ["add", "reflux", "heat", "cool", "distil", "evaporate", "recrystallise"];
    let mut steps: Vec<&str> = Vec::new();
    for statement in &case.procedure.statements {
        let verb = statement.operation.form.verb();
        if verbs.contains(&verb) && !steps.contains(&verb) {
            steps.push(verb);
        }
    }
    if steps.is_empty() {
        return;
    }
    let surface = surface_to_volume_factor(scale);
    findings.push(
        Diagnostic::new(
            Code::Scaling,
            case.procedure.span,
            format!(
                "at {} times the batch as written a vessel has {:.0} % of the cooling surface for each millilitre; these steps do not follow the batch: {}",
                significant(scale, 3),
                surface * 100.0,
                steps.join(", ")
            ),
        )
        .help(format!(
            "work up to it in steps of at most {} times ({}); give additions at least {} times as long and watch the temperature; allow longer for heating, cooling and parting",
            rule.shown(),
            rule.setting.source,
            significant(1.0 / surface, 2)
        )),
    );
}
