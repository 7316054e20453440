//! Findings as JSON lines, for editors and scripts. The shape is ours and stable: see
//! [`FindingLine`].

use serde::Serialize;

use super::Diagnostic;
use crate::source::Sources;

/// One finding as it is written on one line of `--findings json`.
#[derive(Serialize)]
pub struct FindingLine<'a> {
    code: &'static str,
    severity: &'static str,
    file: &'a str,
    line: usize,
    column: usize,
    end_line: usize,
    end_column: usize,
    /// What the columns count.
    columns_count: &'static str,
    message: &'a str,
    help: Option<&'a str>,
    labels: Vec<LabelLine<'a>>,
    edit: Option<EditLine<'a>>,
}

#[derive(Serialize)]
struct LabelLine<'a> {
    file: &'a str,
    line: usize,
    column: usize,
    text: &'a str,
}

#[derive(Serialize)]
struct EditLine<'a> {
    line: usize,
    column: usize,
    end_line: usize,
    end_column: usize,
    text: &'a str,
    /// Whether it leaves no choice.
    safe: bool,
}

/// The finding as one line of JSON without the line break.
#[must_use]
pub fn line(finding: &Diagnostic, sources: &Sources) -> String {
    let name = |span: crate::source::Span| sources.get(span.file).map_or("", |file| file.name.as_ref());
    let (from, to) = (sources.place(finding.span), sources.place(finding.span.after()));
    let line = FindingLine {
        code: finding.code.text(),
        severity: finding.code.severity().word(),
        file: name(finding.span),
        line: from.line,
        column: from.column,
        end_line: to.line,
        end_column: to.column,
        columns_count: "unicode characters",
        message: &finding.message,
        help: finding.help.as_deref(),
        labels: finding
            .labels
            .iter()
            .map(|(span, text)| {
                let at = sources.place(*span);
                LabelLine { file: name(*span), line: at.line, column: at.column, text }
            })
            .collect(),
        edit: finding.edit.as_ref().map(|edit| {
            let (from, to) = (sources.place(edit.span), sources.place(edit.span.after()));
            EditLine { line: from.line, column: from.column, end_line: to.line, end_column: to.column, text: &edit.text, safe: edit.safe }
        }),
    };
    // A structure of strings and integers always serialises.
    serde_json::to_string(&line).unwrap_or_default()
}
