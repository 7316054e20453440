//! Bad input, for every command that reads some: a clear finding with its code, nothing on standard output, nothing written.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;

/// A folder with the example, its bench, broken benches, and one record for each thing that cannot be.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    for name in ["fructone.scruple", "bench.scruple"] {
        fs::copy(examples.join(name), at(name)).unwrap();
    }
    fs::create_dir(at("folder")).unwrap();
    fs::write(at("empty.scruple"), "bench \"Nothing\" {\n}\n").unwrap();
    fs::write(at("two.scruple"), "bench \"One\" {\n    beaker 100 mL\n}\n\nbench \"Two\" {\n    beaker 250 mL\n}\n").unwrap();
    fs::write(at("broken.scruple"), "procedure fructone {\n    take\n").unwrap();
    // The procedure as it was changed since: a portion of the record is there no more.
    let text = fs::read_to_string(examples.join("fructone.scruple")).unwrap();
    fs::write(at("changed.scruple"), text.replace("spare_carrier", "carrier_again")).unwrap();
    for (name, (head, line, _)) in records() {
        let of = if name == "changed" { "changed" } else { "fructone" };
        let text = format!("use \"{of}.scruple\"\n\nrecord of {head} {{\n    ketoester 20.58 g\n    {line}\n}}\n");
        fs::write(at(&format!("r_{name}.scruple")), text).unwrap();
    }
    folder
}

/// Records that cannot be, by name: head, line, code.
fn records() -> BTreeMap<&'static str, (&'static str, &'static str, &'static str)> {
    const HEAD: &str = "fructone on 2026-03-07";
    BTreeMap::from([
        ("of_another", ("frukton on 2026-03-07", "product 24 g", "record::procedure")),
        ("of_no_variant", ("fructone \"none such\" on 2026-03-07", "product 24 g", "record::procedure")),
        ("no_portion", (HEAD, "produkt 24 g", "resolve::unknown_name")),
        ("changed", (HEAD, "spare_carrier 88.6 g", "resolve::unknown_name")),
        ("no_occurrence", (HEAD, "ninth crude 24 g", "resolve::unknown_name")),
        ("no_step", (HEAD, "step \"Dance\" took 2 h", "resolve::unknown_name")),
        ("no_jar", (HEAD, "jar beds \"A\"", "resolve::unknown_name")),
        ("negative", (HEAD, "product -24 g", "kinds::out_of_range")),
        ("endless", (HEAD, "product 1e400 g", "kinds::out_of_range")),
        ("nothing", (HEAD, "product 0 g", "record::impossible")),
        ("nothing_at_all", (HEAD, "product 0 ± 0 g", "record::impossible")),
        ("exact", (HEAD, "product 24 ± 0 g", "record::impossible")),
        ("more_than_went_in", (HEAD, "product 24 kg", "record::impossible")),
        ("purity_140", (HEAD, "purity product 140 % by area", "record::impossible")),
        ("purity_exact", (HEAD, "purity product 97 ± 0 % by area", "record::impossible")),
        ("purity_of_which", (HEAD, "purity product 97 %", "kinds::percent_of_what")),
        ("purity_between", (HEAD, "purity pot 97 % w/w", "record::impossible")),
        ("assay_140", (HEAD, "purity glycol 140 % w/w", "kinds::out_of_range")),
        ("no_time", (HEAD, "step \"Wash\" took 0 h", "record::impossible")),
        ("time_back", (HEAD, "step \"Wash\" took -2 h", "kinds::out_of_range")),
        ("colder_than_cold", (HEAD, "collected -300..-290 degC", "kinds::out_of_range")),
        ("no_day", ("fructone on 2026-02-30", "product 24 g", "record::impossible")),
        ("no_month", ("fructone on 2026-13-01", "product 24 g", "record::impossible")),
        ("no_balance", (HEAD, "product 24 g on balance 7 g", "record::instrument")),
    ])
}

/// What a command does in the folder: its exit code, standard output, standard error.
fn ran(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_scruple")).args(arguments).current_dir(folder).env("NO_COLOR", "1").output().unwrap();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code().unwrap_or(-1), text(&output.stdout), text(&output.stderr))
}

/// Every file of the folder with its bytes.
fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_file());
    files.map(|path| (path.file_name().unwrap().to_str().unwrap().to_owned(), fs::read(&path).unwrap())).collect()
}

/// Runs each line; `wanted` must be said, with exit code 1 for a finding and 2 for misuse, and nothing be written.
fn refuse(rows: &[(Vec<String>, &str)]) {
    let folder = folder();
    let before = contents(folder.path());
    let mut wrong = Vec::new();
    for (line, wanted) in rows {
        let arguments: Vec<&str> = line.iter().map(String::as_str).collect();
        let (code, out, aside) = ran(folder.path(), &arguments);
        // `check` writes its findings to standard output; that is what it is for.
        let checks = line[0] == "check";
        let said = if checks { &out } else { &aside };
        let silent = checks || out.is_empty();
        let codes = if wanted.contains("::") { 1 } else { 2 };
        if code != codes || !silent || !said.contains(wanted) || aside.contains("panicked") {
            wrong.push(format!("{}: {code} for {codes}, wanted {wanted}\n{out}\n{aside}", arguments.join(" ")));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n---\n"));
    assert!(contents(folder.path()) == before, "something was written");
}

fn line(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

#[test]
fn records_of_what_cannot_have_been() {
    let mut rows = Vec::new();
    for (name, (_, _, code)) in records() {
        let file = format!("r_{name}.scruple");
        rows.push((line(&["check", &file]), code));
        rows.push((line(&["review", &file]), code));
        rows.push((line(&["review", &file, "--json"]), code));
        rows.push((line(&["compare", "fructone.scruple", &file]), code));
    }
    refuse(&rows);
}

#[test]
fn files_that_are_none() {
    let mut rows = Vec::new();
    for (file, code) in [
        ("folder", "resolve::missing_file"),
        ("nowhere.scruple", "resolve::missing_file"),
        ("broken.scruple", "syntax::"),
        ("empty.scruple", "bench::empty"),
        ("two.scruple", "resolve::duplicate"),
    ] {
        for command in ["check", "sheet", "plan", "record", "review", "compare", "course"] {
            rows.push((line(&[command, file]), code));
        }
        rows.push((line(&["why", file, "product"]), code));
        rows.push((line(&["sheet", file, "-o", "new.md"]), code));
        rows.push((line(&["record", file, "-o", "new.scruple"]), code));
    }
    for file in ["folder", "nowhere.scruple", "broken.scruple"] {
        rows.push((line(&["tidy", file]), if file == "broken.scruple" { "syntax::" } else { "resolve::missing_file" }));
    }
    for file in ["folder", "nowhere.scruple"] {
        for (command, mixture) in [("boil", "ethanol 5 g"), ("layers", "water 5 mL")] {
            rows.push((line(&[command, mixture, "--use", file]), "resolve::missing_file"));
        }
        rows.push((line(&["azeotropes", "ethanol", "water", "--use", file]), "resolve::missing_file"));
    }
    refuse(&rows);
}

#[test]
fn benches_that_are_none() {
    let mut rows = Vec::new();
    for (bench, code) in [
        ("folder", "resolve::missing_file"),
        ("nowhere.scruple", "resolve::missing_file"),
        ("empty.scruple", "bench::empty"),
        ("two.scruple", "resolve::duplicate"),
        ("fructone.scruple", "bench::none"),
    ] {
        for command in ["check", "sheet", "plan", "record", "compare"] {
            rows.push((line(&[command, "fructone.scruple", "--bench", bench]), code));
        }
    }
    refuse(&rows);
}

#[test]
fn figures_that_cannot_be() {
    let range = "kinds::out_of_range";
    let rows = [
        (line(&["sheet", "fructone.scruple", "--scale", "-1"]), range),
        (line(&["plan", "fructone.scruple", "--scale", "0"]), range),
        (line(&["sheet", "fructone.scruple", "--size", "product=0g"]), range),
        (line(&["plan", "fructone.scruple", "--size", "product=-5g"]), range),
        (line(&["record", "fructone.scruple", "--size", "product=-5g"]), range),
        (line(&["compare", "fructone.scruple", "--size", "product=-5g"]), range),
        (line(&["sheet", "fructone.scruple", "--runs", "0"]), range),
        (line(&["sheet", "fructone.scruple", "--runs", "-2"]), range),
        (line(&["record", "fructone.scruple", "--on", "2026-02-30"]), "there is no day"),
        (line(&["why", "fructone.scruple", "nobody"]), "nothing here is called"),
        (line(&["library", "nonsense"]), "the library has no"),
        (line(&["explain", "nonsense::code"]), "there is no code"),
        (line(&["boil", "ethanol -5 g, water 10 g"]), range),
        (line(&["boil", "ethanol 0 g"]), range),
        (line(&["boil", "ethanol 140 % w/w, 5 g"]), range),
        (line(&["boil", "nonsense 5 g"]), "resolve::unknown_substance"),
        (line(&["boil", "ethanol 80 g", "--at", "-5 mmHg"]), "kinds::"),
        (line(&["layers", "water -5 mL"]), range),
        (line(&["layers", ""]), "syntax::expected"),
        (line(&["layers", "water 50 mL, n_butanol 20 mL", "--at", "-300 degC"]), "kinds::"),
        (line(&["azeotropes", "ethanol"]), "syntax::expected"),
        (line(&["azeotropes", "ethanol", "nonsense"]), "resolve::unknown_substance"),
    ];
    refuse(&rows);
}
