//! Findings in the Static Analysis Results Interchange Format, version 2.1.0 (an OASIS standard),
//! for editors and code hosts.

use serde_json::{Value, json};

use super::{Code, Diagnostic, Severity};
use crate::source::{Sources, Span};

/// One document for any number of files, each given by its findings and its sources.
#[must_use]
pub fn document(files: &[(&[Diagnostic], &Sources)]) -> String {
    let found = |code: &Code| files.iter().any(|(findings, _)| findings.iter().any(|finding| finding.code == *code));
    // Only rules that are spoken of, in the order of the table.
    let codes: Vec<Code> = Code::ALL.iter().copied().filter(found).collect();
    let results: Vec<Value> =
        files.iter().flat_map(|(findings, sources)| findings.iter().map(|finding| result(finding, sources, &codes))).collect();
    let document = json!({
        "$schema": "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
        "version": "2.1.0",
        "runs": [{
            "tool": {"driver": {
                "name": "scruple",
                "semanticVersion": env!("CARGO_PKG_VERSION"),
                "rules": codes.iter().map(|code| rule(*code)).collect::<Vec<_>>(),
            }},
            "columnKind": "unicodeCodePoints",
            "results": results,
        }],
    });
    // A document of texts and integers always serialises.
    serde_json::to_string_pretty(&document).unwrap_or_default() + "\n"
}

fn level(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    }
}

fn rule(code: Code) -> Value {
    json!({
        "id": code.text(),
        "shortDescription": {"text": code.title()},
        "help": {"text": code.page(), "markdown": code.page()},
        "defaultConfiguration": {"level": level(code.severity())},
    })
}

fn result(finding: &Diagnostic, sources: &Sources, codes: &[Code]) -> Value {
    let text = match &finding.help {
        Some(help) => format!("{}. {help}", finding.message.trim_end_matches('.')),
        None => finding.message.clone(),
    };
    let mut result = json!({
        "ruleId": finding.code.text(),
        "ruleIndex": codes.iter().position(|code| *code == finding.code),
        "level": level(finding.code.severity()),
        "message": {"text": text},
        "locations": [location(finding.span, sources, None)],
    });
    let related: Vec<Value> = finding.labels.iter().map(|(span, text)| location(*span, sources, Some(text))).collect();
    if let Some(fields) = result.as_object_mut() {
        if !related.is_empty() {
            fields.insert("relatedLocations".to_owned(), Value::Array(related));
        }
        if let Some(edit) = finding.edit.as_ref().filter(|edit| edit.safe) {
            fields.insert(
                "fixes".to_owned(),
                json!([{
                    "description": {"text": finding.help.as_deref().unwrap_or(&finding.message)},
                    "artifactChanges": [{
                        "artifactLocation": {"uri": uri(edit.span, sources)},
                        "replacements": [{
                            "deletedRegion": region(edit.span, sources),
                            "insertedContent": {"text": edit.text},
                        }],
                    }],
                }]),
            );
        }
    }
    result
}

fn location(span: Span, sources: &Sources, message: Option<&str>) -> Value {
    let mut location = json!({
        "physicalLocation": {"artifactLocation": {"uri": uri(span, sources)}, "region": region(span, sources)},
    });
    if let (Some(text), Some(fields)) = (message, location.as_object_mut()) {
        fields.insert("message".to_owned(), json!({"text": text}));
    }
    location
}

fn region(span: Span, sources: &Sources) -> Value {
    let (from, to) = (sources.place(span), sources.place(span.after()));
    json!({"startLine": from.line, "startColumn": from.column, "endLine": to.line, "endColumn": to.column})
}

/// The file's name as a relative reference: what a reference cannot hold is written as its bytes.
fn uri(span: Span, sources: &Sources) -> String {
    let name = sources.get(span.file).map_or("", |file| file.name.as_ref()).replace('\\', "/");
    let mut out = String::with_capacity(name.len());
    for byte in name.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
    out
}
