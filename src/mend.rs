//! Mending by machine: the edits of findings that leave no choice, applied and checked again.

use crate::diagnostics::{Code, Diagnostic, Edit};
use crate::load::Loader;
use crate::pipeline;
use crate::source::Sources;

/// Rounds of mending: one slip may hide another on its line, and no line hides this many.
const ROUNDS: usize = 16;

/// What became of a file.
#[derive(Clone, Debug, Default)]
pub struct Mended {
    /// The new text; `None` when nothing was mended.
    pub text: Option<String>,
    /// What was mended: the line, and the code of the finding.
    pub done: Vec<(usize, Code)>,
}

/// A loader that gives a new text for one file.
struct Over<'a> {
    under: &'a dyn Loader,
    name: &'a str,
    text: Option<&'a str>,
}

impl Loader for Over<'_> {
    fn locate(&self, path: &str, from: Option<&str>) -> String {
        self.under.locate(path, from)
    }

    fn load(&self, located: &str) -> Result<Vec<u8>, String> {
        match self.text {
            Some(text) if located == self.name => Ok(text.as_bytes().to_vec()),
            _ => self.under.load(located),
        }
    }
}

/// Mends the file at `path`: safe edits inside it are applied and the file is checked again, until
/// nothing more can be mended. An edit after which its own finding still stands is taken back.
#[must_use]
pub fn mend(path: &str, loader: &dyn Loader) -> Mended {
    let name = loader.locate(path, None);
    let mut mended = Mended::default();
    let mut refused: Vec<Edit> = Vec::new();
    for _ in 0..ROUNDS {
        let over = Over { under: loader, name: &name, text: mended.text.as_deref() };
        let before = pipeline::check(path, &over);
        // The bytes of a file that is not text would not come back as they were.
        if before.findings.iter().any(|finding| finding.code == Code::SyntaxNotText) {
            break;
        }
        let Some(text) = text_of(&before.sources, &name) else { break };
        let edits: Vec<(&Diagnostic, &Edit)> =
            safe(&before.findings, &before.sources, &name).into_iter().filter(|(_, edit)| !refused.contains(edit)).collect();
        if edits.is_empty() {
            break;
        }
        let changed = apply(text, &edits.iter().map(|(_, edit)| *edit).collect::<Vec<_>>());
        let again = pipeline::check(path, &Over { under: loader, name: &name, text: Some(&changed) });
        let count = |findings: &[Diagnostic], code: Code| findings.iter().filter(|finding| finding.code == code).count();
        // Each code that was mended is found less often, or the edits did not do what they say.
        let better = edits.iter().all(|(finding, _)| count(&again.findings, finding.code) < count(&before.findings, finding.code));
        if better {
            mended.done.extend(edits.iter().map(|(finding, _)| (before.sources.place(finding.span).line, finding.code)));
            mended.text = Some(changed);
        } else if edits.len() > 1 {
            // One of them is at fault: the others are tried without the last.
            refused.extend(edits.last().map(|(_, edit)| (*edit).clone()));
        } else {
            break;
        }
    }
    mended
}

fn text_of<'a>(sources: &'a Sources, name: &str) -> Option<&'a str> {
    sources.iter().find(|(_, file)| !file.embedded && file.name == name).map(|(_, file)| file.text.as_ref())
}

/// The safe edits inside the named file, none overlapping another, by place.
fn safe<'a>(findings: &'a [Diagnostic], sources: &Sources, name: &str) -> Vec<(&'a Diagnostic, &'a Edit)> {
    let inside = |edit: &Edit| sources.get(edit.span.file).is_some_and(|file| !file.embedded && file.name == name);
    let mut edits: Vec<(&Diagnostic, &Edit)> = findings
        .iter()
        .filter_map(|finding| Some((finding, finding.edit.as_ref()?)))
        .filter(|(_, edit)| edit.safe && inside(edit))
        .collect();
    edits.sort_by_key(|(_, edit)| edit.span);
    edits.dedup_by(|later, earlier| later.1.span.start < earlier.1.span.end || later.1.span == earlier.1.span);
    edits
}

/// The text with the edits made; they are in order and do not overlap.
#[must_use]
pub fn apply(text: &str, edits: &[&Edit]) -> String {
    let mut out = String::with_capacity(text.len());
    let mut from = 0;
    for edit in edits {
        out.push_str(text.get(from..edit.span.start).unwrap_or(""));
        out.push_str(&edit.text);
        from = edit.span.end;
    }
    out.push_str(text.get(from..).unwrap_or(""));
    out
}
