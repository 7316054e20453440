//! The loader that reads the disk and standard input.

use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Read};
use std::path::{Component, Path, PathBuf};

use super::out::reason;
use crate::load::{Loader, MAX_FILE};

/// The name under which standard input is shown.
pub const STDIN: &str = "<stdin>";

/// Reads files and, as `-`, standard input, which is read once however often it is asked for.
#[derive(Default)]
pub struct Disk {
    stdin: OnceCell<Result<Vec<u8>, String>>,
    /// The name under which each file was first met, so that one file is loaded once by whatever
    /// path it is used.
    met: RefCell<BTreeMap<PathBuf, String>>,
}

impl Loader for Disk {
    fn locate(&self, path: &str, from: Option<&str>) -> String {
        let Some(from) = from else {
            return match path {
                "-" => STDIN.to_owned(),
                // A file that happens to be called so.
                STDIN => format!("./{STDIN}"),
                _ => self.first_name(path.to_owned()),
            };
        };
        let joined = match Path::new(from).parent() {
            Some(folder) if from != STDIN => folder.join(path),
            _ => PathBuf::from(path),
        };
        let plain = straightened(&joined);
        // `a/../b` is not `b` where `a` is a link: the short name serves only where it is the same file.
        let same = matches!((fs::canonicalize(&joined), fs::canonicalize(&plain)), (Ok(one), Ok(other)) if one == other);
        let name = if same { plain } else { joined }.to_string_lossy().into_owned();
        self.first_name(if name == STDIN { format!("./{STDIN}") } else { name })
    }

    fn load(&self, located: &str) -> Result<Vec<u8>, String> {
        if located == STDIN {
            let read = || limited(io::stdin().lock()).map_err(|error| reason(&error));
            return self.stdin.get_or_init(read).clone();
        }
        if Path::new(located).is_dir() {
            return Err("it is a folder, not a file".to_owned());
        }
        match fs::File::open(located).and_then(limited) {
            Ok(bytes) => Ok(bytes),
            Err(error) => {
                let longer = format!("{located}.scruple");
                let hint = error.kind() == io::ErrorKind::NotFound && Path::new(&longer).is_file();
                Err(if hint { format!("{}, but there is `{longer}`", reason(&error)) } else { reason(&error) })
            }
        }
    }
}

impl Disk {
    fn first_name(&self, name: String) -> String {
        match fs::canonicalize(&name) {
            Ok(path) => self.met.borrow_mut().entry(path).or_insert(name).clone(),
            Err(_) => name,
        }
    }
}

/// All there is to read, or one byte more than is ever taken: enough to see that it is too much.
fn limited(from: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    from.take(MAX_FILE as u64 + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The path without `.` and without `name/..`.
fn straightened(path: &Path) -> PathBuf {
    let mut plain = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir if matches!(plain.components().next_back(), Some(Component::Normal(_))) => {
                plain.pop();
            }
            _ => plain.push(part),
        }
    }
    plain
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_taken_from_the_folder_of_the_file_that_uses_them() {
        let disk = Disk::default();
        assert_eq!(disk.locate("-", None), STDIN);
        assert_eq!(disk.locate(STDIN, None), "./<stdin>");
        assert_eq!(disk.locate("b.scruple", Some("no/such/a.scruple")), "no/such/b.scruple");
        assert_eq!(disk.locate("b.scruple", Some("a.scruple")), "b.scruple");
        assert_eq!(disk.locate("b.scruple", Some(STDIN)), "b.scruple");
        assert_eq!(disk.locate("-", Some("a.scruple")), "-");
    }

    #[test]
    fn one_file_has_one_name() {
        let disk = Disk::default();
        let first = disk.locate("src/load.rs", None);
        assert_eq!(disk.locate("../load.rs", Some("src/cli/mod.rs")), first);
        assert_eq!(disk.locate("./src/cli/../load.rs", None), first);
    }

    #[test]
    fn paths_are_straightened_but_never_above_their_start() {
        assert_eq!(straightened(Path::new("./a/./b/../c")), Path::new("a/c"));
        assert_eq!(straightened(Path::new("../../a")), Path::new("../../a"));
        assert_eq!(straightened(Path::new("/../a")), Path::new("/../a"));
    }
}
