//! Where texts come from. The core reads nothing itself: it asks a [`Loader`]. The one that reads
//! the disk lives in `cli/`; tests use [`Memory`].

use std::collections::BTreeMap;

use crate::diagnostics::{Code, Diagnostic};
use crate::source::{FileId, Sources, Span};

/// The largest file that is read, in bytes.
pub const MAX_FILE: usize = 16 * 1024 * 1024;

/// Something that can give the bytes of a named file.
pub trait Loader {
    /// The name by which a file named `path` inside `from` is to be loaded (`from` is `None` for
    /// the files of the command line).
    fn locate(&self, path: &str, from: Option<&str>) -> String;

    /// The bytes of a located file.
    ///
    /// # Errors
    /// A sentence that says why it cannot be had.
    fn load(&self, located: &str) -> Result<Vec<u8>, String>;
}

/// Files held in memory.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    files: BTreeMap<String, Vec<u8>>,
}

impl Memory {
    /// A loader of these files.
    pub fn new<N: Into<String>, B: Into<Vec<u8>>>(files: impl IntoIterator<Item = (N, B)>) -> Self {
        Self { files: files.into_iter().map(|(name, bytes)| (name.into(), bytes.into())).collect() }
    }
}

impl Loader for Memory {
    fn locate(&self, path: &str, _from: Option<&str>) -> String {
        path.to_owned()
    }

    fn load(&self, located: &str) -> Result<Vec<u8>, String> {
        self.files.get(located).cloned().ok_or_else(|| "there is no such file".to_owned())
    }
}

/// Takes bytes in as a source text. Bytes that are not UTF-8 are reported once, at the first.
pub fn take_in(sources: &mut Sources, name: &str, bytes: Vec<u8>) -> (FileId, Vec<Diagnostic>) {
    if bytes.len() > MAX_FILE {
        let id = sources.add(name, String::new(), false);
        let finding = Diagnostic::new(
            Code::SyntaxTooLarge,
            Span::new(id, 0..0),
            format!("this file is longer than {MAX_FILE} bytes, the most that is read"),
        )
        .help("split it, and join the parts with `use \"file\"`");
        return (id, vec![finding]);
    }
    match String::from_utf8(bytes) {
        Ok(text) => (sources.add(name, text, false), Vec::new()),
        Err(error) => {
            let at = error.utf8_error().valid_up_to();
            let text = String::from_utf8_lossy(error.as_bytes()).into_owned();
            let id = sources.add(name, text, false);
            let finding = Diagnostic::new(
                Code::SyntaxNotText,
                Span::new(id, at..at),
                "the bytes here are not UTF-8: this is not text, or text in an older encoding",
            )
            .help("save the file as UTF-8");
            (id, vec![finding])
        }
    }
}
