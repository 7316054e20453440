//! The one layout: printing loses nothing, and printing what was printed changes nothing.

use proptest::prelude::*;
use scruple::syntax::{Line, Node, print::print};

use crate::generate::{edited, words};
use crate::{all_texts, cases, parse};

/// All that a file says. A comment between a head and its brace is laid out behind the brace, so
/// comments are compared in order among themselves and tokens among themselves.
fn said(nodes: &[Node], tokens: &mut Vec<String>, comments: &mut Vec<String>) {
    let line = |line: &Line, tokens: &mut Vec<String>, comments: &mut Vec<String>| {
        tokens.extend(line.tokens.iter().map(|token| token.tok.written()));
        comments.extend(line.comments.iter().map(|(_, comment)| comment.text.clone()));
    };
    for node in nodes {
        match node {
            Node::Line(own) => {
                line(own, tokens, comments);
                tokens.push("\n".to_owned());
            }
            Node::Comment(comment) => comments.push(comment.text.clone()),
            Node::Block(block) => {
                line(&block.head, tokens, comments);
                tokens.push(" {\n".to_owned());
                said(&block.body, tokens, comments);
                tokens.push(" }\n".to_owned());
            }
        }
    }
}

/// Whether the text could be read, and so was tried.
fn round_trip(text: &str) -> bool {
    let (tree, good) = parse(text);
    if !good {
        // No promise but that it ends.
        let _ = print(&tree);
        return false;
    }
    let printed = print(&tree);
    let (again, good) = parse(&printed);
    assert!(good, "what was printed cannot be read:\n{text}\n---\n{printed}");
    let mut before = (Vec::new(), Vec::new());
    let mut after = (Vec::new(), Vec::new());
    said(&tree.nodes, &mut before.0, &mut before.1);
    said(&again.nodes, &mut after.0, &mut after.1);
    assert_eq!(before, after, "{text}\n---\n{printed}");
    assert_eq!(print(&again), printed, "{text}");
    assert!(printed.is_empty() || printed.ends_with('\n') && !printed.ends_with("\n\n"), "{printed:?}");
    assert!(printed.lines().all(|line| line.trim_end() == line), "blanks at a line's end:\n{printed}");
    true
}

#[test]
fn samples_examples_and_the_library() {
    for (_, text) in all_texts() {
        assert!(round_trip(text));
    }
    for entry in scruple::library::ENTRIES.iter() {
        assert!(round_trip(entry.text), "{}", entry.name);
    }
}

/// Every way to break a line between two tokens, and every place for a comment.
#[test]
fn line_breaks_and_comments_anywhere() {
    // A few hundred of the places, spread over all the texts.
    let mut number = 0;
    for (name, text) in all_texts() {
        let (tree, _) = parse(text);
        let mut lines = Vec::new();
        crate::lines(&tree.nodes, &mut lines);
        for line in lines {
            for pair in line.tokens.windows(2) {
                number += 1;
                if number % 7 != 0 {
                    continue;
                }
                let at = pair[1].span.start;
                for between in ["\n                ", "  # here\n                ", "\n        # here\n                "] {
                    let mutant = format!("{}{between}{}", &text[..at], &text[at..]);
                    // A comment in a head may leave it without its brace: then it says so.
                    if !round_trip(&mutant) {
                        let (tree, _) = parse(&mutant);
                        let _ = print(&tree);
                        assert!(!crate::check(mutant.as_str()).findings.is_empty(), "{name}: {mutant}");
                    }
                }
            }
        }
    }
}

proptest! {
    #![proptest_config(cases(200))]

    #[test]
    fn texts_with_edits(text in edited(6)) {
        round_trip(&text);
    }

    #[test]
    fn texts_of_random_words(text in words(100)) {
        round_trip(&text);
    }

    /// Comments, blank lines, blanks and line ends strewn over whole lines.
    #[test]
    fn strewn_comments(which in 0_usize..12, seeds in prop::collection::vec((any::<prop::sample::Index>(), 0_usize..9), 1..12)) {
        let (_, text) = all_texts().nth(which).unwrap();
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        for (at, what) in seeds {
            let at = at.index(lines.len());
            match what {
                0 => lines.insert(at, "# alone".to_owned()),
                1 => lines.insert(at, "                # far in".to_owned()),
                2 => lines.insert(at, String::new()),
                3 => lines.insert(at, "   \t ".to_owned()),
                4 => lines[at].push_str("   # behind"),
                5 => lines[at].push('\r'),
                6 => lines[at] = lines[at].replace(' ', "\u{A0}"),
                7 => lines[at] = lines[at].replace("    ", "\t"),
                _ => lines[at] = format!("  {}", lines[at]),
            }
        }
        round_trip(&lines.join("\n"));
    }
}
