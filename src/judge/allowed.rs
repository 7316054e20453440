//! Findings that the author has allowed, each with a reason; and allowances that silence nothing.

use crate::diagnostics::{Code, Diagnostic};
use crate::matter::linear::Procedure;

/// A finding that was silenced, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Allowed {
    /// The finding.
    pub finding: Diagnostic,
    /// The author's reason.
    pub reason: String,
}

/// Takes out of `findings` what the procedure allows: each `allow` silences one finding, which may
/// have been made several times at its place.
/// One that silences nothing is found out at the batch as written; what is about the scale shows at
/// other batches only.
pub fn apply(procedure: &Procedure, scale: f64, findings: &mut Vec<Diagnostic>) -> Vec<Allowed> {
    let mut allowed = Vec::new();
    for allow in &procedure.allows {
        match findings.iter().position(|finding| allow.speaks_of(finding)) {
            Some(at) => {
                let finding = findings.remove(at);
                findings.retain(|other| other.code != finding.code || other.span != finding.span);
                allowed.push(Allowed { finding, reason: allow.reason.clone() });
            }
            None if scale != 1.0 || allow.code.phase() == "scale" => {}
            None => findings.push(
                Diagnostic::new(Code::AllowsNothing, allow.span, format!("`{}` is not found in what follows", allow.code.text()))
                    .help("take the `allow` out, or put it just before the statement that the finding is about")
                    .edit(allow.span, ""),
            ),
        }
    }
    allowed
}
