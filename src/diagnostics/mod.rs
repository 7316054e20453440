//! Findings: the one [`Diagnostic`] type that every phase reports with, and the one table of
//! [`Code`]s it may carry.

pub mod codes;
pub mod explain;
pub mod json;
pub mod render;
pub mod sarif;
pub mod suggest;

pub use codes::{Code, Severity};

use crate::source::{Sources, Span};

/// A change of the source that would mend a finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// What is replaced; empty for an insertion.
    pub span: Span,
    /// What stands there instead.
    pub text: String,
    /// Whether it leaves no choice, so that it may be made by machine. A guess at a name does not.
    pub safe: bool,
}

/// One finding: a stable code, where it stands, why in plain words with the numbers in it, and,
/// where there is one, the remedy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// The rule that found it.
    pub code: Code,
    /// Where.
    pub span: Span,
    /// What is wrong, as a sentence.
    pub message: String,
    /// Other places that explain it, each with a few words.
    pub labels: Vec<(Span, String)>,
    /// What to do about it.
    pub help: Option<String>,
    /// The remedy as a change that can be applied by machine.
    pub edit: Option<Edit>,
}

impl Diagnostic {
    /// A finding with no labels, help or edit yet.
    #[must_use]
    pub fn new(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self { code, span, message: message.into(), labels: Vec::new(), help: None, edit: None }
    }

    /// Adds the remedy in words.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Adds another place.
    #[must_use]
    pub fn label(mut self, span: Span, text: impl Into<String>) -> Self {
        self.labels.push((span, text.into()));
        self
    }

    /// Adds the remedy as an edit that leaves no choice.
    #[must_use]
    pub fn edit(mut self, span: Span, text: impl Into<String>) -> Self {
        self.edit = Some(Edit { span, text: text.into(), safe: true });
        self
    }

    /// Adds an edit that may be what was meant: a person is to say so.
    #[must_use]
    pub fn guess(mut self, span: Span, text: impl Into<String>) -> Self {
        self.edit = Some(Edit { span, text: text.into(), safe: false });
        self
    }

    /// Whether it stops the compilation.
    #[must_use]
    pub fn is_error(&self) -> bool {
        self.code.severity() == Severity::Error
    }
}

/// Puts findings into the order in which they are shown: errors first, then by place, and takes
/// out repeats of one code at one place.
pub fn arrange(findings: &mut Vec<Diagnostic>, sources: &Sources) {
    findings.sort_by(|a, b| (a.code.severity(), a.span, a.code, &a.message).cmp(&(b.code.severity(), b.span, b.code, &b.message)));
    findings.dedup_by(|a, b| a.code == b.code && a.span == b.span);
    // A line that could not be read yields one syntax finding, the first.
    let mut last = None;
    findings.retain(|finding| {
        if finding.code.phase() != "syntax" {
            return true;
        }
        let here = (finding.span.file, sources.place(finding.span).line);
        let first = last != Some(here);
        last = Some(here);
        first
    });
}
