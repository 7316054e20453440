//! The pages of `scruple explain`: one for each code, in Markdown, each with a procedure that
//! raises its code and the same procedure mended.

use pulldown_cmark::{CodeBlockKind, Event, Parser, Tag, TagEnd};

use super::Code;

/// The info string of the block that raises the code.
const RAISES: &str = "scruple raises";
/// The info string of the block that is mended.
const MENDED: &str = "scruple mended";
/// Characters to a line of prose.
const WIDTH: usize = 80;

/// What a page holds. A page that lacks a part has it empty; a test sees to it that none does.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Page {
    /// The prose before the first of the two procedures, as written.
    pub text_before: String,
    /// The prose between the two procedures: what the mending is.
    pub text_between: String,
    /// The prose behind them.
    pub text_after: String,
    /// A procedure that raises the code.
    pub raises: String,
    /// The same procedure without the fault.
    pub mended: String,
}

/// The page of a code.
#[must_use]
pub fn page(code: Code) -> Page {
    read(code.page())
}

/// What `scruple explain` prints: title, code, severity, prose, the two procedures.
#[must_use]
pub fn shown(code: Code) -> String {
    let page = page(code);
    let mut title = code.title().to_owned();
    if let Some(first) = title.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    let mut out = format!("{title}\n{} ({})\n", code.text(), code.severity().word());
    prose(&page.text_before, &mut out);
    prose("A procedure that has it:", &mut out);
    snippet(&page.raises, &mut out);
    prose(&format!("The same procedure, mended. {}", page.text_between), &mut out);
    snippet(&page.mended, &mut out);
    prose(&page.text_after, &mut out);
    out
}

/// Adds paragraphs, each after an empty line, broken at blanks into lines of at most [`WIDTH`]
/// characters. Whatever is no plain paragraph (a list, a block) keeps its lines.
fn prose(text: &str, out: &mut String) {
    for paragraph in text.split("\n\n").map(str::trim_end).filter(|paragraph| !paragraph.is_empty()) {
        out.push('\n');
        if paragraph.starts_with([' ', '-', '*', '|', '`', '#', '>']) {
            out.push_str(paragraph);
            out.push('\n');
            continue;
        }
        let mut width = 0;
        for word in paragraph.split_whitespace() {
            let length = word.chars().count();
            if width > 0 {
                let fits = width + 1 + length <= WIDTH;
                out.push(if fits { ' ' } else { '\n' });
                width = if fits { width + 1 } else { 0 };
            }
            out.push_str(word);
            width += length;
        }
        out.push('\n');
    }
}

/// Adds a procedure, indented, after an empty line.
fn snippet(procedure: &str, out: &mut String) {
    out.push('\n');
    for line in procedure.lines() {
        if !line.is_empty() {
            out.push_str("    ");
        }
        out.push_str(line);
        out.push('\n');
    }
}

/// Takes a page apart. Of several blocks with one info string the first counts.
fn read(markdown: &str) -> Page {
    let mut page = Page::default();
    // Where the prose before, between and behind the two blocks begins and ends.
    let mut blocks: Vec<std::ops::Range<usize>> = Vec::new();
    let mut block: Option<String> = None;
    let mut text = String::new();
    for (event, range) in Parser::new(markdown).into_offset_iter() {
        match event {
            Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) => {
                let info = info.split_whitespace().collect::<Vec<_>>().join(" ");
                if info == RAISES || info == MENDED {
                    blocks.push(range);
                    block = Some(info);
                    text.clear();
                }
            }
            Event::Text(part) if block.is_some() => text.push_str(&part),
            Event::End(TagEnd::CodeBlock) => {
                let place = match block.take().as_deref() {
                    Some(RAISES) => &mut page.raises,
                    Some(MENDED) => &mut page.mended,
                    _ => continue,
                };
                if place.is_empty() {
                    *place = std::mem::take(&mut text);
                }
            }
            _ => {}
        }
    }
    let prose = |from: usize, to: usize| markdown.get(from..to).unwrap_or("").trim().to_owned();
    let first = blocks.first().cloned().unwrap_or(markdown.len()..markdown.len());
    let second = blocks.get(1).cloned().unwrap_or(first.end..first.end);
    page.text_before = prose(0, first.start);
    page.text_between = prose(first.end, second.start);
    page.text_after = prose(second.end, markdown.len());
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_is_taken_apart() {
        let page = read("Why.\n\n```text\nno\n```\n\n```scruple raises\na {\n\n}\n```\nSo:\n\n``` scruple  mended\nb\n```\nEnd.\n");
        assert_eq!(page.text_before, "Why.\n\n```text\nno\n```");
        assert_eq!((page.text_between.as_str(), page.text_after.as_str()), ("So:", "End."));
        assert_eq!((page.raises.as_str(), page.mended.as_str()), ("a {\n\n}\n", "b\n"));
    }

    #[test]
    fn every_page_has_its_parts_and_each_procedure_once() {
        for code in Code::ALL {
            let (page, markdown) = (page(*code), code.page());
            let name = code.text();
            assert!(!page.text_before.is_empty() && !page.raises.is_empty() && !page.mended.is_empty(), "{name}");
            assert_ne!(page.raises, page.mended, "{name}");
            assert_eq!(markdown.matches("```scruple raises\n").count(), 1, "{name}");
            assert_eq!(markdown.matches("```scruple mended\n").count(), 1, "{name}");
        }
    }
}
