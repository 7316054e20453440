//! The program as it is called: exit codes, streams, files.
#![allow(clippy::disallowed_methods, reason = "these tests start the program and look at files")]
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop where it stands")]

mod common;

use std::fs;
use std::io::{Read as _, Write as _};
use std::path::Path;
use std::process::{Command, Output, Stdio};

use common::GOOD;

/// Can be read, and names a substance that nothing declares.
fn bad() -> String {
    GOOD.replace("isoamyl_alcohol, 24 mL", "mystery_alcohol, 24 mL")
}

/// Cannot be read.
fn unreadable() -> String {
    GOOD.replace("basis alcohol", "basis \"alcohol")
}

/// Says what [`GOOD`] says in another layout.
fn untidy() -> String {
    GOOD.replace("    basis alcohol", "  basis   alcohol").replace("catalyst = ", "catalyst=")
}

fn scruple(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_scruple"));
    command.current_dir(folder).env_remove("NO_COLOR").stdin(Stdio::null());
    command
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    scruple(folder).args(arguments).output().unwrap()
}

fn run_with(folder: &Path, arguments: &[&str], input: &str) -> Output {
    let mut command = scruple(folder);
    command.args(arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    // A program that ends before it has read everything closes the pipe; that is its right.
    let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
    child.wait_with_output().unwrap()
}

fn code(output: &Output) -> i32 {
    output.status.code().unwrap_or_else(|| panic!("{}", err(output)))
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// A folder with `good.scruple`, `bad.scruple`, `unreadable.scruple` and `untidy.scruple`.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [("good", GOOD.to_owned()), ("bad", bad()), ("unreadable", unreadable()), ("untidy", untidy())] {
        fs::write(folder.path().join(format!("{name}.scruple")), text).unwrap();
    }
    folder
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// Every line as JSON.
fn lines(text: &str) -> Vec<serde_json::Value> {
    text.lines().map(|line| serde_json::from_str(line).unwrap_or_else(|why| panic!("{why}: {line}"))).collect()
}

#[test]
fn check_ends_with_0_without_errors_and_with_1_with_one() {
    let folder = folder();
    let good = run(folder.path(), &["check", "good.scruple"]);
    assert_eq!(code(&good), 0, "{}{}", out(&good), err(&good));
    let both = run(folder.path(), &["check", "good.scruple", "bad.scruple"]);
    assert_eq!(code(&both), 1);
    assert!(out(&both).contains("resolve::unknown_substance"), "{}", out(&both));
    assert!(out(&both).contains("mystery_alcohol, 24 mL"), "{}", out(&both));
    assert!(err(&both).lines().any(|line| line.ends_with(" in bad.scruple") && line.contains("error")), "{}", err(&both));
    assert_eq!(code(&run(folder.path(), &["check", "unreadable.scruple"])), 1);
    assert_eq!(code(&run(folder.path(), &["check", "no_such.scruple"])), 1);
    assert_eq!(code(&run(folder.path(), &["check", "."])), 1);
}

#[test]
fn misuse_ends_with_2_and_says_so_on_standard_error() {
    let folder = folder();
    for arguments in [
        &[][..],
        &["boil"],
        &["check"],
        &["check", "--colour", "good.scruple"],
        &["check", "--findings", "xml", "good.scruple"],
        &["sheet"],
        &["sheet", "good.scruple", "bad.scruple"],
        &["sheet", "good.scruple", "--scale", "2", "--size", "alcohol=60mL"],
        &["plan"],
        &["plan", "--schema", "good.scruple"],
        &["explain", "matter::used_thrice"],
        &["library", "isoamyl_alchol"],
        &["library", "+water"],
        &["tidy"],
    ] {
        let output = run(folder.path(), arguments);
        assert_eq!(code(&output), 2, "{arguments:?}");
        assert!(out(&output).is_empty(), "{arguments:?}");
        assert!(!err(&output).is_empty(), "{arguments:?}");
    }
}

#[test]
fn help_and_version_are_no_misuse() {
    let folder = folder();
    let version = run(folder.path(), &["--version"]);
    assert_eq!((code(&version), out(&version)), (0, format!("scruple {}\n", env!("CARGO_PKG_VERSION"))));
    for arguments in [
        &["--help"][..],
        &["check", "--help"],
        &["sheet", "-h"],
        &["plan", "--help"],
        &["explain", "--help"],
        &["library", "--help"],
        &["tidy", "--help"],
    ] {
        let output = run(folder.path(), arguments);
        assert_eq!(code(&output), 0, "{arguments:?}");
        assert!(out(&output).contains("Example: scruple "), "{arguments:?}");
    }
}

#[test]
fn findings_as_json_are_lines_of_json() {
    let folder = folder();
    let check = run(folder.path(), &["check", "--findings", "json", "bad.scruple", "unreadable.scruple", "gone.scruple"]);
    assert_eq!(code(&check), 1);
    assert_eq!(err(&check), "");
    let found = lines(&out(&check));
    for (code, file) in
        [("resolve::unknown_substance", "bad.scruple"), ("syntax::text", "unreadable.scruple"), ("resolve::missing_file", "gone.scruple")]
    {
        let finding = found.iter().find(|finding| finding["code"] == code).unwrap_or_else(|| panic!("{code}"));
        assert_eq!((finding["file"].as_str(), finding["severity"].as_str()), (Some(file), Some("error")));
        assert!(finding["line"].as_u64() >= Some(1) && finding["column"].as_u64() >= Some(1));
    }
    for command in ["sheet", "plan", "tidy"] {
        let output = run(folder.path(), &[command, "--findings", "json", "unreadable.scruple"]);
        assert_eq!((code(&output), out(&output)), (1, String::new()), "{command}");
        assert!(lines(&err(&output)).iter().any(|finding| finding["code"] == "syntax::text"), "{command}");
    }
}

#[test]
fn a_sheet_goes_to_standard_output_or_to_its_file() {
    let folder = folder();
    let shown = run(folder.path(), &["sheet", "good.scruple"]);
    assert_eq!(code(&shown), 0, "{}", err(&shown));
    assert!(!out(&shown).is_empty() && out(&shown).ends_with('\n'));
    let written = run(folder.path(), &["sheet", "good.scruple", "-o", "good.md"]);
    assert_eq!((code(&written), out(&written)), (0, String::new()));
    assert_eq!(fs::read_to_string(folder.path().join("good.md")).unwrap(), out(&shown));
    let plan = run(folder.path(), &["plan", "good.scruple", "--scale", "2.5"]);
    assert_eq!(code(&plan), 0, "{}", err(&plan));
    assert!(serde_json::from_str::<serde_json::Value>(&out(&plan)).unwrap().is_object());
    let schema = run(folder.path(), &["plan", "--schema"]);
    assert_eq!(code(&schema), 0);
    assert!(serde_json::from_str::<serde_json::Value>(&out(&schema)).unwrap().is_object());
}

#[test]
fn a_bad_size_is_a_finding_in_a_source_of_its_own() {
    let folder = folder();
    for (flag, value) in [("--size", "alcohol=60furlong"), ("--size", "alcohol"), ("--scale", "-1")] {
        let output = run(folder.path(), &["sheet", "good.scruple", flag, value, "--findings", "json"]);
        assert_eq!((code(&output), out(&output)), (1, String::new()), "{value}");
        assert!(lines(&err(&output)).iter().any(|finding| finding["severity"] == "error"), "{value}");
    }
    let output = run(folder.path(), &["sheet", "good.scruple", "--size", "alcohol=60furlong"]);
    assert!(err(&output).contains("--size:1:"), "{}", err(&output));
}

#[test]
fn a_procedure_with_errors_leaves_the_output_file_as_it_was() {
    let folder = folder();
    let before = names(folder.path());
    let none = run(folder.path(), &["sheet", "bad.scruple", "-o", "bad.md"]);
    assert_eq!((code(&none), out(&none)), (1, String::new()));
    assert_eq!(names(folder.path()), before);
    fs::write(folder.path().join("bad.md"), "the sheet of yesterday").unwrap();
    assert_eq!(code(&run(folder.path(), &["sheet", "bad.scruple", "-o", "bad.md"])), 1);
    assert_eq!(fs::read_to_string(folder.path().join("bad.md")).unwrap(), "the sheet of yesterday");
}

#[test]
fn a_bench_that_is_none_leaves_nothing_behind() {
    let folder = folder();
    fs::write(folder.path().join("bare.scruple"), "bench \"Bare\" {\n}\n").unwrap();
    fs::write(folder.path().join("shelf.scruple"), "bench \"A shelf\" {\n    round_flask 250 mL\n}\n").unwrap();
    for (bench, code_text) in [("bare.scruple", "bench::empty"), ("good.scruple", "bench::none"), ("gone.scruple", "resolve::missing_file")]
    {
        let none = run(folder.path(), &["sheet", "good.scruple", "--bench", bench, "--size", "largest", "-o", "out.md"]);
        assert_eq!(code(&none), 1, "{bench}");
        assert!(err(&none).contains(code_text), "{}", err(&none));
        assert!(!folder.path().join("out.md").exists(), "{bench}");
    }
    let checked = run(folder.path(), &["check", "good.scruple", "--bench", "shelf.scruple"]);
    assert!(out(&checked).contains("bench::missing"), "{}", out(&checked));
}

#[test]
fn an_output_that_cannot_be_written_is_an_error_and_leaves_nothing_behind() {
    let folder = folder();
    fs::create_dir(folder.path().join("sheets")).unwrap();
    let before = names(folder.path());
    for target in ["missing/good.md", "sheets", "sheets/", "good.scruple", "./sheets/../good.scruple", "good.scruple/x.md", ""] {
        let output = run(folder.path(), &["sheet", "good.scruple", "-o", target]);
        assert_eq!((code(&output), out(&output)), (1, String::new()), "{target}");
        assert!(err(&output).contains("scruple: "), "{target}: {}", err(&output));
        assert_eq!(names(folder.path()), before, "{target}");
    }
    assert!(names(&folder.path().join("sheets")).is_empty());
    assert_eq!(fs::read_to_string(folder.path().join("good.scruple")).unwrap(), GOOD);
}

#[cfg(unix)]
#[test]
fn permissions_links_and_devices_are_respected() {
    use std::os::unix::fs::{PermissionsExt as _, symlink};
    let folder = folder();
    let path = |name: &str| folder.path().join(name);
    let mode = |name: &str| fs::metadata(path(name)).unwrap().permissions().mode() & 0o777;
    fs::write(path("plain"), "").unwrap();
    assert_eq!(code(&run(folder.path(), &["sheet", "good.scruple", "-o", "new.md"])), 0);
    assert_eq!(mode("new.md"), mode("plain"), "a new file is what the user's mask makes of it");
    fs::set_permissions(path("new.md"), fs::Permissions::from_mode(0o640)).unwrap();
    symlink("new.md", path("link.md")).unwrap();
    assert_eq!(code(&run(folder.path(), &["plan", "good.scruple", "-o", "link.md"])), 0);
    assert!(path("link.md").is_symlink() && fs::read_to_string(path("new.md")).unwrap().starts_with('{'));
    assert_eq!(mode("new.md"), 0o640);
    fs::set_permissions(path("new.md"), fs::Permissions::from_mode(0o440)).unwrap();
    assert_eq!(code(&run(folder.path(), &["sheet", "good.scruple", "-o", "new.md"])), 1);
    assert!(fs::read_to_string(path("new.md")).unwrap().starts_with('{'));
    symlink("nowhere.md", path("dangling.md")).unwrap();
    assert_eq!(code(&run(folder.path(), &["sheet", "good.scruple", "-o", "dangling.md"])), 1);
    assert_eq!(code(&run(folder.path(), &["sheet", "good.scruple", "-o", "/dev/null"])), 0);
    assert!(!fs::metadata("/dev/null").unwrap().is_file());
}

#[test]
fn standard_input_is_read_for_a_dash() {
    let folder = folder();
    let check = run_with(folder.path(), &["check", "-"], &bad());
    assert_eq!(code(&check), 1);
    assert!(out(&check).contains("[<stdin>:"), "{}", out(&check));
    assert!(err(&check).contains(" in <stdin>"), "{}", err(&check));
    assert_eq!(code(&run_with(folder.path(), &["check", "-", "-"], GOOD)), 0);
    assert_eq!(code(&run_with(folder.path(), &["sheet", "-"], GOOD)), 0);
    let tidied = run_with(folder.path(), &["tidy", "-"], &untidy());
    assert_eq!((code(&tidied), out(&tidied)), (0, GOOD.to_owned()));
    let refused = run_with(folder.path(), &["tidy", "-"], &unreadable());
    assert_eq!((code(&refused), out(&refused)), (1, String::new()));
}

#[test]
fn bytes_that_are_not_text_and_odd_texts_are_findings() {
    let folder = folder();
    for bytes in [&b"procedure \xff\xfe {\n"[..], b"\0\0\0", b"}\n", b"\x1b[2J\xc2\x9b", b"a\rb\x1b["] {
        fs::write(folder.path().join("odd.scruple"), bytes).unwrap();
        let check = run(folder.path(), &["check", "odd.scruple"]);
        assert_eq!(code(&check), 1, "{bytes:?}: {}", err(&check));
        assert!(!out(&check).contains(['\u{1b}', '\u{9b}', '\r']), "{bytes:?}");
    }
    for bytes in [&b""[..], b"\n", b"\xef\xbb\xbf", b"# only a comment"] {
        fs::write(folder.path().join("odd.scruple"), bytes).unwrap();
        assert!(matches!(code(&run(folder.path(), &["check", "odd.scruple"])), 0 | 1), "{bytes:?}");
        assert_eq!(code(&run(folder.path(), &["tidy", "odd.scruple"])), 0, "{bytes:?}");
    }
}

#[test]
fn explain_shows_the_page_or_lists_the_codes_or_suggests() {
    let folder = folder();
    let page = run(folder.path(), &["explain", "matter::used_twice"]);
    assert_eq!(code(&page), 0);
    for part in
        ["A portion that is used twice\n", "matter::used_twice (error)\n", "that has it:\n\n    procedure", "mended.", ":\n\n    procedure"]
    {
        assert!(out(&page).contains(part), "{}", out(&page));
    }
    let table = run(folder.path(), &["explain"]);
    assert_eq!(code(&table), 0);
    for code in scruple::diagnostics::Code::ALL {
        assert!(out(&table).lines().any(|line| line.starts_with(code.text()) && line.ends_with(code.title())));
    }
    for asked in ["matter::used_twise", "used_twice", "used_twise", "mater::used_twice", "Matter::Used_Twice"] {
        let output = run(folder.path(), &["explain", asked]);
        assert_eq!(code(&output), 2);
        assert!(err(&output).contains("`matter::used_twice`"), "{asked}: {}", err(&output));
    }
}

#[test]
fn library_lists_everything_or_shows_one_thing_with_its_sources_or_suggests() {
    let folder = folder();
    let all = run(folder.path(), &["library"]);
    assert_eq!(code(&all), 0);
    for name in ["reflux", "water", "magnesium_sulfate", "brine", "round_flask", "cylinder_10", "acetic_acid_with_bicarbonate"] {
        assert!(out(&all).lines().any(|line| line.starts_with(&format!("  {name} "))), "{name} is not listed");
    }
    // By a trade name; each figure with its source, and what is worked out from it.
    let one = run(folder.path(), &["library", "MgSO4"]);
    assert_eq!(code(&one), 0);
    for part in ["magnesium_sulfate: an agent", "hydrate formula", "120.36 g/mol", "1.05 g/g", "Not known: "] {
        assert!(out(&one).contains(part), "{part} is not in\n{}", out(&one));
    }
    let operation = run(folder.path(), &["library", "reflux"]);
    for part in ["reflux <pot: changes mixture> for <time: duration>", "round_flask filled at most boiling_fill", "Example:\n\n    basis "]
    {
        assert!(out(&operation).contains(part), "{part} is not in\n{}", out(&operation));
    }
    let json = run(folder.path(), &["library", "--findings", "json", "acetic_acid"]);
    assert_eq!(code(&json), 0);
    let lines: Vec<serde_json::Value> = out(&json).lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!((lines[0]["sort"].as_str(), lines[0]["name"].as_str()), (Some("substance"), Some("acetic_acid")));
    let near = run(folder.path(), &["library", "isoamyl_alchol"]);
    assert!(err(&near).contains("`isoamyl_alcohol`"), "{}", err(&near));
}

#[test]
fn tidy_rewrites_only_what_changes_and_a_second_time_nothing() {
    let folder = folder();
    let path = |name: &str| folder.path().join(name);
    let check = run(folder.path(), &["tidy", "--check", "good.scruple", "untidy.scruple"]);
    assert_eq!((code(&check), out(&check)), (1, "untidy.scruple\n".to_owned()));
    assert_eq!(fs::read_to_string(path("untidy.scruple")).unwrap(), untidy());
    let untouched = fs::metadata(path("good.scruple")).unwrap().modified().unwrap();
    let tidied = run(folder.path(), &["tidy", "good.scruple", "untidy.scruple"]);
    assert_eq!((code(&tidied), out(&tidied)), (0, String::new()));
    assert_eq!(fs::read_to_string(path("untidy.scruple")).unwrap(), GOOD);
    assert_eq!(fs::metadata(path("good.scruple")).unwrap().modified().unwrap(), untouched);
    let again = run(folder.path(), &["tidy", "--check", "good.scruple", "untidy.scruple"]);
    assert_eq!((code(&again), out(&again), err(&again)), (0, String::new(), String::new()));
}

#[test]
fn tidy_leaves_what_it_cannot_read_and_does_the_rest() {
    let folder = folder();
    let output = run(folder.path(), &["tidy", "unreadable.scruple", "gone.scruple", "untidy.scruple"]);
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("syntax::text") && err(&output).contains("resolve::missing_file"), "{}", err(&output));
    assert_eq!(fs::read_to_string(folder.path().join("unreadable.scruple")).unwrap(), unreadable());
    assert_eq!(fs::read_to_string(folder.path().join("untidy.scruple")).unwrap(), GOOD);
    assert!(!folder.path().join("gone.scruple").exists());
}

#[test]
fn a_closed_pipe_ends_quietly() {
    let folder = folder();
    for arguments in
        [&["library"][..], &["explain"], &["explain", "matter::used_twice"], &["sheet", "good.scruple"], &["plan", "--schema"], &["--help"]]
    {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let output = scruple(folder.path()).args(arguments).stdout(writer).stderr(Stdio::piped()).output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{arguments:?}");
        assert!(!err(&output).contains("panic") && !err(&output).contains("pipe"), "{arguments:?}: {}", err(&output));
    }
    // The exit code is that of the work, whether anybody reads on or not.
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let output = scruple(folder.path()).args(["check", "bad.scruple"]).stdout(writer).output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let output = scruple(folder.path()).args(["sheet", "good.scruple", "-o", "good.md"]).stderr(writer).output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert!(folder.path().join("good.md").is_file());
}

#[test]
fn no_colours_but_on_a_terminal() {
    let folder = folder();
    for value in [None, Some(""), Some("1")] {
        let mut command = scruple(folder.path());
        if let Some(value) = value {
            command.env("NO_COLOR", value);
        }
        let output = command.args(["check", "bad.scruple", "unreadable.scruple"]).output().unwrap();
        assert_eq!(code(&output), 1);
        assert!(!out(&output).contains('\u{1b}') && !err(&output).contains('\u{1b}'), "{value:?}");
    }
}

/// `script` of util-linux gives a program a terminal; where there is none the test says nothing.
#[cfg(target_os = "linux")]
#[test]
fn colours_on_a_terminal_unless_no_color_is_set() {
    let folder = folder();
    let on_terminal = |no_color: Option<&str>| {
        let mut command = Command::new("script");
        command.args(["-qec", concat!("'", env!("CARGO_BIN_EXE_scruple"), "' check bad.scruple"), "/dev/null"]);
        command.current_dir(folder.path()).env("TERM", "xterm").env_remove("NO_COLOR").stdin(Stdio::null());
        if let Some(value) = no_color {
            command.env("NO_COLOR", value);
        }
        let mut child = command.stdout(Stdio::piped()).spawn().ok()?;
        let mut text = String::new();
        child.stdout.take()?.read_to_string(&mut text).ok()?;
        child.wait().ok()?;
        Some(text)
    };
    let Some(coloured) = on_terminal(None) else { return };
    assert!(coloured.contains("resolve::unknown_substance") && coloured.contains("\u{1b}["), "{coloured}");
    let plain = on_terminal(Some("1")).unwrap_or_default();
    assert!(plain.contains("resolve::unknown_substance") && !plain.contains("\u{1b}["), "{plain}");
}

#[test]
fn one_of_several_procedures_is_chosen_by_name() {
    let folder = folder();
    let two = format!("{GOOD}\n{}", GOOD.replace("procedure isoamyl_acetate ", "procedure second_batch "));
    fs::write(folder.path().join("two.scruple"), two).unwrap();
    let chosen = run(folder.path(), &["sheet", "two.scruple", "--procedure", "second_batch"]);
    assert_eq!(code(&chosen), 0, "{}", err(&chosen));
    let unknown = run(folder.path(), &["sheet", "two.scruple", "--procedure", "third_batch"]);
    assert_eq!((code(&unknown), out(&unknown)), (1, String::new()));
    assert!(err(&unknown).contains("resolve::no_procedure"), "{}", err(&unknown));
}

#[test]
fn a_file_used_by_another_is_found_from_its_folder_and_read_once() {
    let folder = folder();
    fs::create_dir(folder.path().join("shelf")).unwrap();
    let substance = "substance house_oil {\n    formula C10H22\n}\n";
    fs::write(folder.path().join("shelf/oils.scruple"), format!("use \"../main.scruple\"\n\n{substance}")).unwrap();
    fs::write(folder.path().join("main.scruple"), format!("use \"shelf/oils.scruple\"\n\n{GOOD}")).unwrap();
    for name in ["main.scruple", "./main.scruple", "shelf/../main.scruple"] {
        let output = run(folder.path(), &["check", name, "--findings", "json"]);
        assert_eq!(code(&output), 0, "{name}: {}", out(&output));
    }
    fs::remove_file(folder.path().join("shelf/oils.scruple")).unwrap();
    let output = run(folder.path(), &["check", "main.scruple", "--findings", "json"]);
    assert_eq!(code(&output), 1);
    let found = lines(&out(&output));
    let missing = found.iter().find(|finding| finding["code"] == "resolve::missing_file").unwrap();
    assert_eq!((missing["file"].as_str(), missing["line"].as_u64()), (Some("main.scruple"), Some(1)));
}

#[test]
fn check_mends_slips_in_the_file_and_says_so() {
    let folder = folder();
    let path = folder.path().join("slips.scruple");
    fs::write(&path, GOOD.replace("24 mL", "24 ML").replace("137..143", "137-143")).unwrap();
    let output = run(folder.path(), &["check", "--fix", "slips.scruple"]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    assert_eq!(fs::read_to_string(&path).unwrap(), GOOD);
    assert!(err(&output).contains("slips.scruple:6: mended (syntax::slip)"), "{}", err(&output));
    // A name that nothing declares is not guessed at, and the file is left as it is.
    fs::write(&path, bad()).unwrap();
    assert_eq!(code(&run(folder.path(), &["check", "--fix", "slips.scruple"])), 1);
    assert_eq!(fs::read_to_string(&path).unwrap(), bad());
    // Standard input has no place where it stands.
    let output = run_with(folder.path(), &["check", "--fix", "-"], &GOOD.replace("24 mL", "24 ML"));
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("give a file"), "{}", err(&output));
}

#[test]
fn findings_as_sarif_are_one_document() {
    let folder = folder();
    fs::write(folder.path().join("a b.scruple"), GOOD.replace("24 mL", "24 ML")).unwrap();
    fs::write(folder.path().join("bad.scruple"), bad()).unwrap();
    fs::write(folder.path().join("good.scruple"), GOOD).unwrap();
    let output = run(folder.path(), &["check", "--findings", "sarif", "a b.scruple", "bad.scruple", "good.scruple"]);
    assert_eq!(code(&output), 1);
    let document: serde_json::Value = serde_json::from_str(&out(&output)).unwrap();
    assert_eq!(document["version"], "2.1.0");
    let run = &document["runs"][0];
    assert_eq!(run["columnKind"], "unicodeCodePoints");
    let results = run["results"].as_array().unwrap();
    assert_eq!(results.len(), 2);
    let rules = run["tool"]["driver"]["rules"].as_array().unwrap();
    for result in results {
        let index = usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap();
        assert_eq!(rules.get(index).unwrap()["id"], result["ruleId"]);
    }
    let place = &results[0]["locations"][0]["physicalLocation"];
    assert_eq!(place["artifactLocation"]["uri"], "a%20b.scruple");
    assert_eq!((place["region"]["startLine"].as_u64(), place["region"]["endColumn"].as_u64()), (Some(6), Some(43)));
    assert_eq!(results[0]["fixes"][0]["artifactChanges"][0]["replacements"][0]["insertedContent"]["text"], "mL");
    assert_eq!(results[1]["ruleId"], "resolve::unknown_substance");
    // Nothing found is a document too.
    let output = run_clean(folder.path());
    let document: serde_json::Value = serde_json::from_str(&output).unwrap();
    assert_eq!(document["runs"][0]["results"].as_array().unwrap().len(), 0);
}

fn run_clean(folder: &Path) -> String {
    out(&run(folder, &["check", "--findings", "sarif", "good.scruple"]))
}

/// A ketal with a dried return, and a second step that takes no time worth following.
const DRIED: &str = include_str!("samples/fructone.scruple");

#[test]
fn a_course_is_told_drawn_and_refused() {
    let folder = folder();
    fs::write(folder.path().join("ketal.scruple"), DRIED).unwrap();
    fs::write(folder.path().join("good.scruple"), GOOD).unwrap();
    let output = run(folder.path(), &["course", "ketal.scruple", "-o", "ketal.svg"]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    let table = out(&output);
    assert!(table.contains("on the bed, g") && table.contains("The limit is") && table.contains("99 %"), "{table}");
    let plot = fs::read_to_string(folder.path().join("ketal.svg")).unwrap();
    assert!(plot.starts_with("<svg xmlns=") && plot.trim_end().ends_with("</svg>"), "{plot}");
    assert!(plot.contains("time, h") && plot.contains("water, g") && plot.contains("reacted, %"), "{plot}");
    assert!(!plot.contains("NaN") && !plot.contains("inf") && !plot.contains("<script") && !plot.contains("href"), "{plot}");
    let output = run(folder.path(), &["course", "ketal.scruple", "1", "--json"]);
    let told: serde_json::Value = serde_json::from_str(&out(&output)).unwrap();
    let (course, moments) = (&told["course"], told["moments"].as_array().unwrap());
    assert_eq!(course["what"], "dried return");
    assert!(course["cycles"].as_f64().unwrap() > 5.0 && course["water_taken_g"].as_f64().unwrap() > 0.5, "{course}");
    // What is on the bed never grows less.
    let taken: Vec<f64> = moments.iter().map(|moment| moment["water_taken_g"].as_f64().unwrap()).collect();
    assert!(taken.is_sorted(), "{taken:?}");
    for (arguments, why) in [
        (["course", "ketal.scruple", "99"].as_slice(), "has no course"),
        (["course", "good.scruple"].as_slice(), "nothing in this procedure takes its time"),
    ] {
        let output = run(folder.path(), arguments);
        assert_eq!(code(&output), 1);
        assert!(err(&output).contains(why), "{}", err(&output));
    }
}
