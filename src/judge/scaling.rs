//! What does not follow the batch: heating, cooling and adding take longer in a large vessel.

use super::Case;
use crate::chemistry::geometry::surface_to_volume_factor;
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::significant;

/// The factor past which steps are named. A step of three is a usual limit for reactions that make
/// heat (university guidance on scaling up; sources differ between 3 and 5).
pub const FACTOR: f64 = 3.0;

/// Judges the scale.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let scale = case.evaluation.scale;
    if scale <= FACTOR * (1.0 + 1e-9) {
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
            "work up to it in steps of three; give additions at least {} times as long and watch the temperature; allow longer for heating, cooling and parting",
            significant(1.0 / surface, 2)
        )),
    );
}
