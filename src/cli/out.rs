//! Everything the program writes: to the terminal, fallibly; to files, whole or not at all.

use std::fs;
use std::io::{self, ErrorKind, IsTerminal, Write};
use std::path::{Path, PathBuf};

use super::{Findings, Form};
use crate::diagnostics::render::{self, Look};
use crate::diagnostics::{Diagnostic, Severity, json, sarif};
use crate::source::Sources;

/// What a command ends with: its exit code, or a sentence that says what could not be done.
pub type Ended = Result<u8, String>;

/// The two streams of a command.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Stream {
    /// Where the product of a command goes.
    Product,
    /// Where what is said about it goes.
    Aside,
}

/// Standard output and standard error, with what may be written on them.
pub struct Out {
    product: Look,
    aside: Look,
    /// Whether whoever read the product has had enough of it. The command goes on all the same: its
    /// exit code is to be right, and the files it was to write are to be written.
    closed: bool,
}

impl Out {
    /// Looks at the streams of this process.
    pub fn new() -> Self {
        Self { product: look(io::stdout().is_terminal()), aside: look(io::stderr().is_terminal()), closed: false }
    }

    /// Writes a text in one go; a closed pipe takes it quietly.
    pub fn write(&mut self, stream: Stream, text: &str) -> Result<(), String> {
        if stream == Stream::Aside {
            // Where standard error cannot be written, there is nowhere left to say so.
            let _ = io::stderr().lock().write_all(text.as_bytes());
            return Ok(());
        }
        if self.closed || text.is_empty() {
            return Ok(());
        }
        let mut to = io::stdout().lock();
        match to.write_all(text.as_bytes()).and_then(|()| to.flush()) {
            Err(error) if error.kind() == ErrorKind::BrokenPipe => {
                self.closed = true;
                Ok(())
            }
            written => written.map_err(|error| format!("standard output cannot be written: {}", reason(&error))),
        }
    }

    /// Says one line on standard error.
    pub fn say(&self, line: &str) {
        let _ = io::stderr().lock().write_all(format!("{line}\n").as_bytes());
    }

    /// Writes findings in the form that was asked for.
    pub fn findings(&mut self, stream: Stream, asked: &Findings, findings: &[Diagnostic], sources: &Sources) -> Result<(), String> {
        let text = match asked.form {
            Form::Sarif => sarif::document(&[(findings, sources)]),
            Form::Json => findings.iter().map(|finding| json::line(finding, sources) + "\n").collect(),
            Form::Text => {
                let look = if stream == Stream::Product { self.product } else { self.aside };
                render::render(findings, sources, look)
            }
        };
        self.write(stream, &text)
    }

    /// Hands a product over: to the file of that name, or where there is none to standard output.
    pub fn deliver(&mut self, product: &str, file: Option<&str>) -> Result<(), String> {
        match file {
            None | Some("-") => self.write(Stream::Product, product),
            Some(file) => put(file, product.as_bytes()),
        }
    }
}

/// `2 errors, 1 warning`; `None` when there are no findings.
pub fn counted(findings: &[Diagnostic]) -> Option<String> {
    let count = |severity: Severity| {
        let number = findings.iter().filter(|finding| finding.code.severity() == severity).count();
        (number > 0).then(|| format!("{number} {}{}", severity.word(), if number == 1 { "" } else { "s" }))
    };
    let words: Vec<String> = [count(Severity::Error), count(Severity::Warning)].into_iter().flatten().collect();
    (!words.is_empty()).then(|| words.join(", "))
}

/// Colour only on a terminal that can show it, and only when nobody asked for none.
fn look(terminal: bool) -> Look {
    if !terminal || std::env::var_os("TERM").is_some_and(|term| term == "dumb") {
        Look::Plain
    } else if std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty()) {
        Look::Drawn
    } else {
        Look::Coloured
    }
}

/// Writes a file whole or not at all: the new text is written beside it and then takes its place,
/// so that whoever reads the file meets the old text or the new one.
///
/// # Errors
/// A sentence that names the file and says why it stands as it was.
pub fn put(name: &str, bytes: &[u8]) -> Result<(), String> {
    let failed = |why: String| format!("`{name}` cannot be written: {why}");
    let path = Path::new(name);
    if name.is_empty() || name.ends_with(std::path::is_separator) || path.is_dir() {
        return Err(failed("it is a folder, not a file".to_owned()));
    }
    let target = followed(path).map_err(failed)?;
    let old = fs::metadata(&target).ok();
    if let Some(old) = &old {
        if !old.is_file() {
            // A device or a pipe is written to; nothing can take its place.
            let written = fs::OpenOptions::new().write(true).open(&target).and_then(|mut to| to.write_all(bytes));
            return written.or_else(closed_is_well).map_err(|error| failed(reason(&error)));
        }
        if old.permissions().readonly() {
            return Err(failed("it is protected against writing".to_owned()));
        }
    }
    let folder = match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    if !folder.is_dir() {
        return Err(failed(format!("there is no folder `{}`", folder.display())));
    }
    replace(&target, folder, old.as_ref(), bytes).map_err(|error| failed(reason(&error)))
}

fn replace(target: &Path, folder: &Path, old: Option<&fs::Metadata>, bytes: &[u8]) -> io::Result<()> {
    beside(folder, old, bytes)?.persist(target).map(drop).map_err(|error| error.error)
}

/// Writes files into a folder, all of them or none: a folder that is not there is made whole beside its place; into
/// one that is there all texts are written under other names before the first takes its place, and those that did are
/// taken away again where a later one cannot.
///
/// # Errors
/// A sentence that names the folder or the file and says why.
pub fn put_all(folder: &str, files: &[(String, String)]) -> Result<(), String> {
    let path = Path::new(folder);
    let failed = |error: &io::Error| format!("`{folder}` cannot be written: {}", reason(error));
    if folder.is_empty() || path.exists() && !path.is_dir() {
        return Err(format!("`{folder}` cannot be written: it is a file, not a folder"));
    }
    if !path.exists() {
        let parent = match path.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        if !parent.is_dir() {
            return Err(format!("`{folder}` cannot be written: there is no folder `{}`", parent.display()));
        }
        let mut builder = tempfile::Builder::new();
        builder.prefix(".scruple-").suffix(".part");
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o777));
        let whole = builder.tempdir_in(parent).map_err(|error| failed(&error))?;
        for (name, text) in files {
            beside(whole.path(), None, text.as_bytes())
                .and_then(|file| file.persist(whole.path().join(name)).map_err(|error| error.error))
                .map_err(|error| failed(&error))?;
        }
        return fs::rename(whole.path(), path).map_err(|error| failed(&error));
    }
    let mut ready = Vec::new();
    for (name, text) in files {
        let target = path.join(name);
        let old = fs::metadata(&target).ok();
        if old.as_ref().is_some_and(|old| !old.is_file() || old.permissions().readonly()) {
            return Err(format!("`{}` cannot be written: it is no file, or protected against writing", target.display()));
        }
        ready.push((target, old.is_none(), beside(path, old.as_ref(), text.as_bytes()).map_err(|error| failed(&error))?));
    }
    let mut new = Vec::new();
    for (target, is_new, file) in ready {
        if let Err(error) = file.persist(&target) {
            new.iter().for_each(|done: &PathBuf| drop(fs::remove_file(done)));
            return Err(failed(&error.error));
        }
        if is_new {
            new.push(target);
        }
    }
    Ok(())
}

/// A text under another name in the folder where it is to stand.
fn beside(folder: &Path, old: Option<&fs::Metadata>, bytes: &[u8]) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".scruple-").suffix(".part");
    // A temporary file is its owner's alone; a new file is what the user's mask makes of it.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut beside = builder.tempfile_in(folder)?;
    beside.write_all(bytes)?;
    if let Some(old) = old {
        beside.as_file().set_permissions(old.permissions())?;
        #[cfg(unix)]
        {
            use std::os::unix::fs::{MetadataExt as _, fchown};
            // Only the administrator can give a file away, and only then does its owner change.
            let _ = fchown(beside.as_file(), Some(old.uid()), Some(old.gid()));
        }
    }
    beside.as_file().sync_all()?;
    Ok(beside)
}

/// The file at the end of the links, so that a link stays one. What is no file is left to the
/// system: the name of an open pipe is a link too, and leads to nothing that has a path.
fn followed(path: &Path) -> Result<PathBuf, String> {
    if !path.is_symlink() || fs::metadata(path).is_ok_and(|found| !found.is_file()) {
        return Ok(path.to_owned());
    }
    fs::canonicalize(path).map_err(|_| "it is a link that leads nowhere".to_owned())
}

/// A pipe whose reader has had enough has been served.
fn closed_is_well(error: io::Error) -> io::Result<()> {
    if error.kind() == ErrorKind::BrokenPipe { Ok(()) } else { Err(error) }
}

/// Why something failed, in words for people.
pub fn reason(error: &io::Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => "there is no such file".to_owned(),
        ErrorKind::PermissionDenied => "that is not allowed to you".to_owned(),
        ErrorKind::StorageFull => "the disk is full".to_owned(),
        ErrorKind::IsADirectory => "it is a folder, not a file".to_owned(),
        ErrorKind::NotADirectory => "a part of its path is a file, not a folder".to_owned(),
        ErrorKind::ReadOnlyFilesystem => "the disk is protected against writing".to_owned(),
        _ => error.to_string(),
    }
}

/// Whether a file is one of those that were read, so that nothing is to be written over it.
pub fn was_read(sources: &Sources, file: &str) -> bool {
    sources.iter().any(|(_, source)| !source.embedded && same_file(&source.name, file))
}

/// Whether two names are those of one file.
pub fn same_file(one: &str, other: &str) -> bool {
    matches!((fs::canonicalize(one), fs::canonicalize(other)), (Ok(one), Ok(other)) if one == other)
}
