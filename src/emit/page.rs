//! The sheet as one page that stands alone: HTML made from the Markdown, with a style of its own and nothing from outside.
//!
//! What people wrote is only ever text here: no HTML of the Markdown, no address of a link and no
//! picture passes through.

use pulldown_cmark::{Alignment, Event, HeadingLevel, Options, Parser, Tag, TagEnd, TextMergeStream};

use super::{before, pictograms, sheet};
use crate::diagnostics::Diagnostic;
use crate::outcome::Outcome;
use crate::source::Sources;

/// The style, for the screen and for paper.
const STYLE: &str = include_str!("page.css");
/// What is to be ticked, in Markdown.
const TICK: &str = "[ ]";
/// A square to tick; without the style it reads as in Markdown.
const BOX: &str = "<span class=\"box\">[ ]</span>";
/// Underscores in a row that leave room to write; fewer are a name's own.
const BLANK: usize = 3;

/// The page of an outcome.
#[must_use]
pub fn page(outcome: &Outcome, findings: &[Diagnostic], sources: &Sources) -> String {
    let markdown = sheet::sheet(outcome, findings, sources);
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{}</title>\n<style>\n{STYLE}</style>\n</head>\n\
         <body>\n<main>\n{}</main>\n</body>\n</html>\n",
        text(&outcome.procedure.title),
        body(&markdown, &pictograms::strip(outcome)),
    )
}

/// Text as HTML takes it, between tags and in attributes.
pub fn text(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            letter if letter.is_control() && letter != '\n' => out.push(' '),
            letter => out.push(letter),
        }
    }
    out
}

/// The Markdown as HTML, with `hazards` under the heading of the section that speaks of them.
fn body(markdown: &str, hazards: &str) -> String {
    let mut writer = Writer { hazards, ..Writer::default() };
    for event in TextMergeStream::new(Parser::new_ext(markdown, Options::ENABLE_TABLES)) {
        writer.event(event);
    }
    writer.sections_down_to(HeadingLevel::H1);
    writer.out
}

/// Where text stands, as far as it matters for how it is written.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
enum Place {
    /// Nothing of note.
    #[default]
    Within,
    /// At the beginning of a table's cell or of an item, where a tick may stand.
    Start,
    /// At the beginning of a paragraph in an item or a quotation, where a label may stand: `Expect:`.
    Under,
}

#[derive(Default)]
struct Writer<'a> {
    out: String,
    hazards: &'a str,
    /// Headings of the sections that are open.
    sections: Vec<HeadingLevel>,
    /// The text of the heading that is being written.
    heading: Option<String>,
    /// Whether each list that is open is numbered.
    lists: Vec<bool>,
    /// Quotations that are open.
    quotations: usize,
    columns: Vec<Alignment>,
    /// The heads of the columns, as text.
    heads: Vec<String>,
    in_head: bool,
    column: usize,
    place: Place,
    /// Whether the item that is open has begun with a paragraph.
    begun: bool,
}

impl Writer<'_> {
    fn event(&mut self, event: Event<'_>) {
        match event {
            Event::Start(tag) => self.start(tag),
            Event::End(tag) => self.end(tag),
            Event::Text(text) | Event::Html(text) | Event::InlineHtml(text) => self.text(&text),
            Event::Code(code) => {
                self.note(&code);
                self.out.push_str(&format!("<code>{}</code>", text(&code)));
                self.place = Place::Within;
            }
            Event::SoftBreak => self.out.push('\n'),
            Event::HardBreak => self.out.push_str("<br>"),
            Event::Rule => self.out.push_str("<hr>\n"),
            // These come with extensions that are not asked for; as text they say what they said.
            Event::InlineMath(text) | Event::DisplayMath(text) | Event::FootnoteReference(text) => self.text(&text),
            Event::TaskListMarker(_) => self.out.push_str(BOX),
        }
    }

    fn start(&mut self, tag: Tag<'_>) {
        match tag {
            Tag::Heading { level, .. } => {
                self.sections_down_to(level);
                if level > HeadingLevel::H1 {
                    self.out.push_str("<section>\n");
                    self.sections.push(level);
                }
                self.out.push_str(&format!("<{level}>"));
                self.heading = Some(String::new());
            }
            Tag::Paragraph => {
                self.out.push_str("<p>");
                self.place = match (self.lists.is_empty(), self.begun) {
                    (false, false) if self.quotations == 0 => Place::Start,
                    (true, _) if self.quotations == 0 => Place::Within,
                    _ => Place::Under,
                };
                self.begun = true;
            }
            Tag::HtmlBlock => self.out.push_str("<p>"),
            Tag::BlockQuote(_) => {
                self.quotations += 1;
                self.out.push_str("<blockquote>\n");
            }
            Tag::CodeBlock(_) => self.out.push_str("<pre>"),
            Tag::List(first) => {
                self.lists.push(first.is_some());
                match first {
                    None => self.out.push_str("<ul>\n"),
                    Some(1) => self.out.push_str("<ol>\n"),
                    Some(first) => self.out.push_str(&format!("<ol start=\"{first}\">\n")),
                }
            }
            Tag::Item => {
                // Numbered items are work, others are read.
                let square = if self.lists.last() == Some(&true) { BOX } else { "" };
                self.out.push_str(&format!("<li>{square}"));
                self.begun = false;
                self.place = Place::Start;
            }
            Tag::Table(columns) => {
                self.columns = columns;
                self.heads.clear();
                self.out.push_str("<table>\n");
            }
            Tag::TableHead => {
                self.in_head = true;
                self.row("<thead>\n<tr>");
            }
            Tag::TableRow => self.row("<tr>"),
            Tag::TableCell => self.cell(),
            Tag::Emphasis => self.out.push_str("<em>"),
            Tag::Strong => self.out.push_str("<strong>"),
            // What stands inside is written; where a link leads and what a picture shows is not.
            _ => {}
        }
    }

    fn end(&mut self, tag: TagEnd) {
        match tag {
            TagEnd::Heading(level) => {
                self.out.push_str(&format!("</{level}>\n"));
                if self.heading.take().is_some_and(|heading| heading == before::HEADING) {
                    self.out.push_str(std::mem::take(&mut self.hazards));
                }
            }
            TagEnd::Paragraph | TagEnd::HtmlBlock => self.out.push_str("</p>\n"),
            TagEnd::BlockQuote(_) => {
                self.quotations = self.quotations.saturating_sub(1);
                self.out.push_str("</blockquote>\n");
            }
            TagEnd::CodeBlock => self.out.push_str("</pre>\n"),
            TagEnd::List(numbered) => {
                self.lists.pop();
                self.out.push_str(if numbered { "</ol>\n" } else { "</ul>\n" });
            }
            TagEnd::Item => self.out.push_str("</li>\n"),
            TagEnd::Table => self.out.push_str("</tbody>\n</table>\n"),
            TagEnd::TableHead => {
                self.in_head = false;
                self.out.push_str("</tr>\n</thead>\n<tbody>\n");
            }
            TagEnd::TableRow => self.out.push_str("</tr>\n"),
            TagEnd::TableCell => {
                self.out.push_str(if self.in_head { "</th>" } else { "</td>" });
                self.column += 1;
            }
            TagEnd::Emphasis => self.out.push_str("</em>"),
            TagEnd::Strong => self.out.push_str("</strong>"),
            _ => {}
        }
    }

    /// Closes the sections of headings of this level and below.
    fn sections_down_to(&mut self, level: HeadingLevel) {
        while self.sections.last().is_some_and(|open| *open >= level) {
            self.sections.pop();
            self.out.push_str("</section>\n");
        }
    }

    fn row(&mut self, opened: &str) {
        self.column = 0;
        self.out.push_str(opened);
    }

    fn cell(&mut self) {
        let right = if self.columns.get(self.column) == Some(&Alignment::Right) { " class=\"figure\"" } else { "" };
        if self.in_head {
            self.heads.push(String::new());
            self.out.push_str(&format!("<th scope=\"col\"{right}>"));
        } else {
            // On a narrow screen a row is a list of its cells, and each says what it is.
            let head = self.heads.get(self.column).map_or("", String::as_str);
            self.out.push_str(&format!("<td{right} data-head=\"{}\">", text(head)));
        }
        self.place = Place::Start;
    }

    /// Remembers what a heading or the head of a column says.
    fn note(&mut self, said: &str) {
        if let Some(heading) = &mut self.heading {
            heading.push_str(said);
        }
        if self.in_head
            && let Some(head) = self.heads.last_mut()
        {
            head.push_str(said);
        }
    }

    fn text(&mut self, said: &str) {
        self.note(said);
        let mut rest = said;
        match std::mem::take(&mut self.place) {
            Place::Start => {
                if let Some(behind) = rest.strip_prefix(TICK) {
                    self.out.push_str(BOX);
                    rest = behind;
                }
            }
            Place::Under => {
                if let Some((label, behind)) = rest.split_once(": ").filter(|(label, _)| label.chars().all(char::is_alphabetic)) {
                    self.out.push_str(&format!("<b>{}:</b> ", text(label)));
                    rest = behind;
                }
            }
            Place::Within => {}
        }
        self.blanks(rest);
    }

    /// Text in which rows of underscores are room to write.
    fn blanks(&mut self, said: &str) {
        let mut rest = said;
        while let Some(at) = rest.find('_') {
            let (before, from) = rest.split_at(at);
            let end = from.find(|letter| letter != '_').unwrap_or(from.len());
            let (row, behind) = from.split_at(end);
            self.out.push_str(&text(before));
            self.out.push_str(&if end < BLANK { row.to_owned() } else { format!("<span class=\"blank\">{row}</span>") });
            rest = behind;
        }
        self.out.push_str(&text(rest));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_of_the_text_is_text() {
        let made = body("a <script>alert(1)</script> <b onclick=\"x\">b</b>\n\n<div>\n\n[a](javascript:b) ![c](http://d)\n", "");
        assert_eq!(
            made,
            "<p>a &lt;script&gt;alert(1)&lt;/script&gt; &lt;b onclick=&quot;x&quot;&gt;b&lt;/b&gt;</p>\n<p>&lt;div&gt;\n</p>\n<p>a c</p>\n"
        );
    }

    #[test]
    fn work_is_ticked_and_blanks_are_ruled() {
        assert_eq!(body("1. Go.\n", ""), "<ol>\n<li><span class=\"box\">[ ]</span>Go.</li>\n</ol>\n");
        let made = body("2. Weigh it.\n\n   Found: a_b ______ g\n\n- [ ] colour\n", "");
        let wanted = "<ol start=\"2\">\n<li><span class=\"box\">[ ]</span><p>Weigh it.</p>\n\
                      <p><b>Found:</b> a_b <span class=\"blank\">______</span> g</p>\n</li>\n</ol>\n\
                      <ul>\n<li><span class=\"box\">[ ]</span> colour</li>\n</ul>\n";
        assert_eq!(made, wanted);
    }

    #[test]
    fn a_table_has_heads_and_squares() {
        let made = body("| Done | A\"B |\n| --- | ---: |\n| [ ] | 5 g |\n", "");
        let wanted = "<table>\n<thead>\n<tr><th scope=\"col\">Done</th><th scope=\"col\" class=\"figure\">A&quot;B</th></tr>\n</thead>\n<tbody>\n\
                      <tr><td data-head=\"Done\"><span class=\"box\">[ ]</span></td><td class=\"figure\" data-head=\"A&quot;B\">5 g</td></tr>\n\
                      </tbody>\n</table>\n";
        assert_eq!(made, wanted);
    }

    #[test]
    fn sections_hold_their_headings() {
        let made = body("# A\n\n## Before you start\n\n### B\n\n## C\n", "<hr>");
        let wanted = "<h1>A</h1>\n<section>\n<h2>Before you start</h2>\n<hr><section>\n<h3>B</h3>\n</section>\n</section>\n\
                      <section>\n<h2>C</h2>\n</section>\n";
        assert_eq!(made, wanted);
    }
}
