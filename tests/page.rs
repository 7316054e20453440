//! The sheet as a page: it says all that the Markdown says, stands alone, and what people wrote stays text.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

mod common;

use std::fs;
use std::process::Command;

use pulldown_cmark::{Event, Options, Parser, TextMergeStream};
use scruple::pipeline::Compilation;

/// Tags that have no end.
const VOID: &[&str] = &["meta", "br", "hr"];

/// Every example and sample, compiled.
fn compiled() -> Vec<(String, Compilation)> {
    let mut found: Vec<(String, Compilation)> = Vec::new();
    for entry in fs::read_dir(common::root().join("examples")).unwrap() {
        let path = entry.unwrap().path();
        // A bench has no page.
        let written = path.extension().is_some_and(|ending| ending == "scruple");
        if written && fs::read_to_string(&path).unwrap().contains("\nprocedure ") {
            found.push((path.display().to_string(), common::compile(fs::read(&path).unwrap(), None, None)));
        }
    }
    assert!(found.len() >= 5, "only {} examples were found", found.len());
    found.extend(common::SAMPLES.iter().map(|(name, text)| ((*name).to_owned(), common::compile(*text, None, None))));
    found
}

/// A tag, or the text between two.
#[derive(Debug, PartialEq)]
enum Piece {
    /// Name and attributes; `true` when it closes itself.
    Start(String, Vec<(String, String)>, bool),
    End(String),
    Text(String),
}

/// Takes a page apart, strictly: every attribute is quoted, and no letter of markup stands in text.
fn pieces(page: &str) -> Vec<Piece> {
    let mut found = Vec::new();
    let mut rest = page.strip_prefix("<!DOCTYPE html>\n").expect("the page begins with its type");
    let (before, after) = rest.split_once("<style>").unwrap();
    let (style, behind) = after.split_once("</style>").unwrap();
    assert!(!style.contains('<'), "the style holds markup");
    let without = format!("{before}{behind}");
    rest = &without;
    while !rest.is_empty() {
        let Some(inner) = rest.strip_prefix('<') else {
            let end = rest.find('<').unwrap_or(rest.len());
            let text = &rest[..end];
            assert!(!text.contains('>'), "a bracket in {text:?}");
            found.push(Piece::Text(read(text)));
            rest = &rest[end..];
            continue;
        };
        let (tag, behind) = inner.split_once('>').expect("a tag ends");
        rest = behind;
        if let Some(name) = tag.strip_prefix('/') {
            found.push(Piece::End(name.to_owned()));
            continue;
        }
        let (tag, closed) = tag.strip_suffix('/').map_or((tag, false), |tag| (tag, true));
        let (name, mut left) = tag.split_once(' ').unwrap_or((tag, ""));
        assert!(name.chars().all(|letter| letter.is_ascii_alphanumeric()), "a tag {tag:?}");
        let mut attributes = Vec::new();
        while !left.trim().is_empty() {
            let (key, behind) = left.trim_start().split_once("=\"").unwrap_or_else(|| panic!("attributes {left:?}"));
            let (value, behind) = behind.split_once('"').unwrap();
            attributes.push((key.to_owned(), read(value)));
            left = behind;
        }
        found.push(Piece::Start(name.to_owned(), attributes, closed));
    }
    found
}

/// Text as it is read.
fn read(text: &str) -> String {
    let mut bare = text.to_owned();
    for (entity, letter) in [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#39;", "'"), ("&amp;", "&")] {
        bare = bare.replace(entity, letter);
    }
    assert_eq!(bare.matches('&').count(), text.matches("&amp;").count(), "a bare ampersand in {text:?}");
    bare
}

/// Asserts that tags nest, headings follow one another, and nothing but what the page is made of stands in it.
fn well_formed(name: &str, page: &str) {
    let allowed = [
        "html",
        "head",
        "meta",
        "title",
        "body",
        "main",
        "section",
        "h1",
        "h2",
        "h3",
        "p",
        "ul",
        "ol",
        "li",
        "blockquote",
        "table",
        "thead",
        "tbody",
        "tr",
        "th",
        "td",
        "span",
        "b",
        "div",
        "code",
        "svg",
        "g",
        "path",
        "circle",
        "ellipse",
    ];
    let mut open: Vec<String> = Vec::new();
    let (mut level, mut firsts, mut titles) = (0, 0, 0);
    for piece in pieces(page) {
        match piece {
            Piece::Start(tag, attributes, closed) => {
                assert!(allowed.contains(&tag.as_str()), "{name}: a tag {tag}");
                for (key, _) in &attributes {
                    assert!(!key.starts_with("on") && !["href", "src", "style", "action"].contains(&key.as_str()), "{name}: {tag} {key}");
                }
                let has = |key: &str, value: &str| attributes.iter().any(|(k, v)| k == key && v == value);
                match tag.as_str() {
                    "th" => assert!(has("scope", "col"), "{name}: a head of a column without scope"),
                    "html" => assert!(has("lang", "en"), "{name}: no language"),
                    "svg" => assert!(attributes.iter().any(|(key, value)| key == "aria-label" && !value.is_empty()), "{name}: no label"),
                    "title" => titles += usize::from(!open.contains(&"svg".to_owned())),
                    "p" => assert!(!open.contains(&"p".to_owned()), "{name}: a paragraph in a paragraph"),
                    "h1" | "h2" | "h3" => {
                        let new = tag[1..].parse::<usize>().unwrap();
                        assert!(new <= level + 1, "{name}: {tag} under a heading of level {level}");
                        firsts += usize::from(new == 1);
                        level = new;
                    }
                    _ => {}
                }
                if !closed && !VOID.contains(&tag.as_str()) {
                    open.push(tag);
                }
            }
            Piece::End(tag) => assert_eq!(open.pop().as_deref(), Some(tag.as_str()), "{name}: an end of {tag}"),
            Piece::Text(_) => {}
        }
    }
    assert!(open.is_empty(), "{name}: left open: {open:?}");
    assert_eq!((firsts, titles), (1, 1), "{name}: one title, one first heading");
}

/// All that a page's body says, blanks drawn together.
fn said(page: &str) -> String {
    let text = pieces(page).into_iter().filter_map(|piece| match piece {
        Piece::Text(text) => Some(text),
        _ => None,
    });
    squeezed(&text.collect::<String>())
}

/// Without blanks: what is a line's end here is none there.
fn squeezed(text: &str) -> String {
    text.split_whitespace().collect()
}

#[test]
fn pages_are_well_formed_and_stand_alone() {
    for (name, compilation) in compiled() {
        let page = compilation.page().unwrap();
        well_formed(&name, &page);
        for outside in ["http", "src=", "@import", "url(", "href", "<script", "javascript"] {
            assert!(!page.contains(outside), "{name}: the page holds {outside:?}");
        }
    }
}

#[test]
fn the_page_says_what_the_markdown_says() {
    for (name, compilation) in compiled() {
        let (sheet, page) = (compilation.sheet().unwrap(), compilation.page().unwrap());
        let all = said(&page);
        let (mut rest, mut amounts) = (all.as_str(), 0);
        for event in TextMergeStream::new(Parser::new_ext(&sheet, Options::ENABLE_TABLES)) {
            let (Event::Text(text) | Event::Code(text)) = event else { continue };
            let wanted = squeezed(&text);
            amounts += usize::from(text.chars().next().is_some_and(|letter| letter.is_ascii_digit()));
            let at = rest.find(&wanted).unwrap_or_else(|| panic!("{name}: the page does not say {text:?} in its place"));
            rest = &rest[at + wanted.len()..];
        }
        assert!(amounts > 5, "{name}: {amounts} amounts were looked for");
        // A square for each tick of the Markdown, and one for each sentence of the work.
        let work = sheet.lines().filter(|line| line.split_once(". ").is_some_and(|(number, _)| number.parse::<usize>().is_ok())).count();
        let ticks = sheet.matches("| [ ] |").count() + sheet.matches("- [ ] ").count();
        assert!(work > 2 && ticks > 2, "{name}: {work} sentences, {ticks} ticks");
        assert_eq!(page.matches("<span class=\"box\">").count(), work + ticks, "{name}: squares");
        // A blank of the Markdown is a blank to write in here.
        assert_eq!(page.matches("<span class=\"blank\">").count(), sheet.matches("______").count(), "{name}: blanks");
    }
}

#[test]
fn the_same_bytes_twice() {
    for ((name, first), (_, second)) in compiled().into_iter().zip(compiled()) {
        assert_eq!(first.page(), second.page(), "{name}");
    }
}

/// A procedure whose every text is `hostile`; only a comment can hold a double quote.
fn with_texts(hostile: &str) -> String {
    let quoted = hostile.replace('"', "'");
    format!(
        r#"## {hostile}
procedure solution "{quoted}" {{
    basis salt

    take salt  = sodium_chloride, 5 g
    take water = water, 50 mL

    step "{quoted}" {{
        caution "{quoted}"
        note "{quoted}"
        combine salt, water -> brine_made
        expect "{quoted}"
        divide brine_made taking 50 % -> share sample, rest left
    }}

    discard left as "{quoted}"
    keep sample as "{quoted}" in bottle
}}
"#
    )
}

#[test]
fn what_people_wrote_stays_text() {
    let texts = [
        "<script>alert(1)</script>",
        "</title></style><script>alert(1)</script>",
        "x\" onerror=\"alert(1)",
        "' onload='alert(1)",
        "<img src=x onerror=alert(1)>",
        "[press](javascript:alert(1)) ![p](//evil.example/p.png)",
        "<javascript:alert(1)>",
        "&lt;script&gt;alert(1)&lt;/script&gt;",
        "<!-- --><div style='position:fixed'>",
        "a | b | <b>c</b> | `d`",
        "`<i>`",
    ];
    for hostile in texts {
        let compilation = common::compile(with_texts(hostile), None, None);
        let page = compilation.page().unwrap_or_else(|| panic!("{hostile}: {:?}", compilation.findings));
        well_formed(hostile, &page);
        for live in ["<script", "<img", "<a ", "<i>", "<div style", "<!--"] {
            assert!(!page.contains(live), "{hostile}: the page holds {live:?}");
        }
        let seen = read_twice(&said(&page));
        assert!(seen.contains(&squeezed(&read_twice(hostile))), "{hostile}: the comment is not said");
        // The title, the heading, a step, a caution, a note, what to expect and two labels.
        let times = seen.matches(&squeezed(&read_twice(&hostile.replace('"', "'")))).count();
        assert!(times >= 8, "{hostile}: said {times} times");
    }
}

/// Markdown reads an entity as its letter.
fn read_twice(text: &str) -> String {
    text.replace("&lt;", "<").replace("&gt;", ">")
}

#[test]
fn pictograms_stand_with_their_substances() {
    let text = r#"
substance strong_stuff {
    formula   C10H16
    density   0.858 g/mL at 20 degC
    hazard    H226, H302
    pictogram GHS02, GHS09
}

substance plain_stuff {
    formula C10H18
    density 0.9 g/mL at 20 degC
    hazard  H304, H315, H319
}

procedure mixed "Mixed" {
    basis one
    take one   = strong_stuff, 20 mL
    take other = plain_stuff, 20 mL
    combine one, other -> note
    keep note as "note" in bottle
}
"#;
    let compilation = common::compile(text, None, None);
    let page = compilation.page().unwrap_or_else(|| panic!("{:?}", compilation.findings));
    well_formed("pictograms", &page);
    let shown = |number: u8| {
        let (_, behind) = page.split_once(&format!("aria-label=\"GHS0{number} "))?;
        let (_, named) = behind.split_once("</b> ")?;
        named.split_once('<').map(|(substances, _)| substances)
    };
    // What is declared holds: H302 would have brought the exclamation mark.
    assert_eq!(shown(2), Some("strong stuff"));
    assert_eq!(shown(9), Some("strong stuff"));
    assert_eq!(shown(7), Some("plain stuff"));
    assert_eq!(shown(8), Some("plain stuff"));
    assert_eq!([1, 3, 4, 5, 6].map(shown), [None; 5]);
}

#[test]
fn the_ending_decides() {
    let folder = tempfile::tempdir().unwrap();
    let example = common::root().join("examples/isoamyl_acetate.scruple");
    let run = |arguments: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_scruple"));
        let output = command.current_dir(folder.path()).args(arguments).output().unwrap();
        assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    };
    let example = example.to_str().unwrap();
    let wrote = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
    let is_page = |text: &str| text.starts_with("<!DOCTYPE html>") && text.ends_with("</html>\n");
    for (file, page) in [("a.html", true), ("a.HTM", true), ("a.md", false), ("html", false)] {
        run(&["sheet", example, "-o", file]);
        assert_eq!((is_page(&wrote(file)), wrote(file).starts_with("# ")), (page, !page), "{file}");
    }
    run(&["sheet", example, "--format", "markdown", "-o", "b.html"]);
    assert!(wrote("b.html").starts_with("# "));
    assert!(is_page(&run(&["sheet", example, "--format", "html"])));
    assert!(run(&["sheet", example]).starts_with("# "));
    run(&["plan", example, "-o", "c.html"]);
    assert_eq!(wrote("c.html"), run(&["plan", example]));
    assert!(wrote("c.html").starts_with('{'));
}
