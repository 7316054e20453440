//! The one layout: what `tidy` writes. Printing a parsed file and parsing it again gives the same
//! tree, and printing that gives the same text.

use super::tree::{Comment, File, Line, Node, Tok, Token};

/// Blanks for each level of a block.
const INDENT: usize = 4;

/// Characters from the indent beyond which an arrow or a `source` draws no others after it: a line
/// that is longer runs over, and its neighbours keep their column.
const FURTHEST_ARROW: usize = 64;
const FURTHEST_SOURCE: usize = 48;

/// The whole file in the one layout, ending in one line break when it holds anything.
#[must_use]
pub fn print(file: &File) -> String {
    let mut out = String::new();
    nodes(&file.nodes, 0, false, &mut out);
    out
}

/// The tokens of one line with single blanks where blanks belong.
#[must_use]
pub fn line_text(tokens: &[Token]) -> String {
    let mut out = String::new();
    for (at, token) in tokens.iter().enumerate() {
        if spaced(tokens, at) {
            out.push(' ');
        }
        token.tok.write(&mut out);
    }
    out
}

/// Where columns of a run of lines stand, in characters from the indent.
#[derive(Clone, Copy, Default)]
struct Columns {
    /// Of what follows the first word, in declarations.
    value: usize,
    /// Of `=` in a run of `take` lines.
    equals: usize,
    /// Of the arrow in a run of statements.
    arrow: usize,
    /// Of `source` in declarations.
    source: usize,
}

fn nodes(list: &[Node], depth: usize, declaration: bool, out: &mut String) {
    let columns = columns(list, declaration);
    for (at, node) in list.iter().enumerate() {
        if let Node::Comment(comment) = node
            && comment.same_line
            && out.ends_with('\n')
            && !out.is_empty()
        {
            // A comment behind a brace stays on the brace's line.
            out.pop();
            out.push_str("  ");
            out.push_str(&comment.text);
            out.push('\n');
            continue;
        }
        if at > 0 && node.blank_before() {
            out.push('\n');
        }
        match node {
            Node::Comment(comment) => {
                pad(out, depth * INDENT);
                out.push_str(&comment.text);
                out.push('\n');
            }
            Node::Line(line) => one_line(line, depth, columns.get(at).copied().unwrap_or_default(), "", out),
            Node::Block(block) => {
                one_line(&block.head, depth, Columns::default(), " {", out);
                let declares = depth == 0 && block.head.first_word() != Some("procedure");
                nodes(&block.body, depth + 1, declares, out);
                pad(out, depth * INDENT);
                out.push_str("}\n");
            }
        }
    }
}

fn one_line(line: &Line, depth: usize, columns: Columns, tail: &str, out: &mut String) {
    let start = out.len();
    pad(out, depth * INDENT);
    let width_of = |out: &String, from: usize| out.get(from..).map_or(0, |text| text.chars().count());
    let mut row = start + depth * INDENT;
    let mut comments = line.comments.iter().peekable();
    // Where the last comment ends: two on one line would be one.
    let mut commented = usize::MAX;
    for (at, token) in line.tokens.iter().enumerate() {
        let mut broken = token.breaks;
        while let Some((_, comment)) = comments.next_if(|(position, _)| *position <= at) {
            trailing(out, comment, &mut commented, depth * INDENT + 2 * INDENT);
            broken = true;
        }
        if broken && at > 0 {
            out.push('\n');
            row = out.len();
            pad(out, depth * INDENT + 2 * INDENT);
        } else if at > 0 {
            let column = match &token.tok {
                Tok::Arrow => columns.arrow,
                Tok::Sign("=") => columns.equals,
                Tok::Word(word) if word == "source" => columns.source,
                _ if at == 1 => columns.value,
                _ => 0,
            };
            let width = width_of(out, row);
            let blanks = column.saturating_sub(width).max(usize::from(spaced(&line.tokens, at)));
            pad(out, blanks);
        }
        match bare_figure(token) {
            Some(figures) if columns.source > 0 => {
                out.push_str(figures);
                pad(out, columns.source.saturating_sub(width_of(out, row)).max(1));
                out.push_str("source");
            }
            _ => out.push_str(&token.tok.written()),
        }
    }
    out.push_str(if line.tokens.is_empty() { tail.trim_start() } else { tail });
    // Behind a brace a further comment stands in the block.
    let column = depth * INDENT + if tail.is_empty() { 2 * INDENT } else { INDENT };
    for (_, comment) in comments {
        trailing(out, comment, &mut commented, column);
    }
    while out.ends_with(' ') {
        out.pop();
    }
    out.push('\n');
}

fn trailing(out: &mut String, comment: &Comment, commented: &mut usize, column: usize) {
    if *commented == out.len() {
        out.push('\n');
        pad(out, column);
    } else if !out.ends_with(' ') {
        out.push_str("  ");
    }
    out.push_str(&comment.text);
    *commented = out.len();
}

fn pad(out: &mut String, blanks: usize) {
    out.extend(std::iter::repeat_n(' ', blanks));
}

/// Whether a blank stands between two neighbouring tokens.
fn spaced(all: &[Token], at: usize) -> bool {
    let (Some(before), Some(token)) = (at.checked_sub(1).and_then(|before| all.get(before)), all.get(at)) else { return false };
    let in_form = all.first().is_some_and(|first| matches!(&first.tok, Tok::Word(word) if word == "form"));
    let bare = |tok: &Tok| matches!(tok, Tok::Quantity(measure) if measure.unit.is_none());
    match (&before.tok, &token.tok) {
        // `8 degC%` would be one unit, and so would the word behind a number with a `%` upon it.
        (Tok::Quantity(_) | Tok::Word(_), Tok::Sign("%")) => true,
        (Tok::Sign(".." | "..."), Tok::Sign(".." | "...")) => true,
        // `layers::too_close` is one code.
        (Tok::Sign(":"), Tok::Word(_)) if at >= 2 && matches!(all.get(at - 2).map(|token| &token.tok), Some(Tok::Sign(":"))) => false,
        (_, Tok::Sign("," | ")" | "]" | ":" | "..." | "%")) | (Tok::Sign("(" | "[" | ".."), _) | (_, Tok::Sign("..")) => false,
        (Tok::Sign("<"), _) | (_, Tok::Sign(">")) => !in_form,
        // `2/3` is a figure; `a / b` is a division.
        (left, Tok::Sign("/")) => !(bare(left) && all.get(at + 1).is_some_and(|next| bare(&next.tok))),
        (Tok::Sign("/"), right) => !(bare(right) && at >= 2 && all.get(at - 2).is_some_and(|left| bare(&left.tok))),
        _ => true,
    }
}

/// The columns of each line, shared by runs of lines that belong together.
fn columns(list: &[Node], declaration: bool) -> Vec<Columns> {
    let mut columns = vec![Columns::default(); list.len()];
    if declaration {
        let lines = || {
            list.iter().filter_map(|node| match node {
                Node::Line(line) if line.tokens.len() > 1 => Some(line),
                _ => None,
            })
        };
        let value = lines().filter_map(|line| line.first_word()).map(|word| word.chars().count() + 1).max().unwrap_or(0);
        // An equation begins with a name and is no field.
        let value = if lines().any(is_equation) { 0 } else { value.max(9) };
        let source = lines()
            .filter_map(|line| {
                let at = line.tokens.iter().position(is_source)?;
                let head = line.tokens.first()?.tok.written().chars().count().max(value.saturating_sub(1));
                let rest = line_text(line.tokens.get(1..at)?).chars().count();
                let figure = line.tokens.get(at).and_then(bare_figure).map_or(0, |figures| figures.chars().count());
                Some(head + 1 + rest + usize::from(rest > 0 && figure > 0) + figure + 1)
            })
            .filter(|width| *width <= FURTHEST_SOURCE)
            .max()
            .unwrap_or(0);
        for column in &mut columns {
            *column = Columns { value, source, ..Columns::default() };
        }
        return columns;
    }
    share(
        list,
        &mut columns,
        |line| {
            let at = line.tokens.iter().position(|token| token.tok == Tok::Sign("="))?;
            (line.first_word() == Some("take") && at == 2).then(|| before_width(line, at)).flatten()
        },
        |column, width| column.equals = width,
    );
    share(
        list,
        &mut columns,
        |line| {
            let at = line.tokens.iter().position(|token| token.tok == Tok::Arrow)?;
            let whole = line.tokens.iter().all(|token| !token.breaks) && line.comments.iter().all(|(n, _)| *n > at);
            (whole && at > 0).then(|| before_width(line, at)).flatten()
        },
        |column, width| column.arrow = width,
    );
    columns
}

fn is_equation(line: &Line) -> bool {
    line.tokens.iter().any(|token| matches!(token.tok, Tok::Equilibrium))
        || (line.first_word() != Some("form")
            && line.first_word() != Some("effect")
            && line.tokens.iter().any(|token| matches!(token.tok, Tok::Arrow)))
}

fn is_source(token: &Token) -> bool {
    matches!(&token.tok, Tok::Word(word) if word == "source") || bare_figure(token).is_some()
}

/// The figures of a bare number before `source`, which was read as its unit.
fn bare_figure(token: &Token) -> Option<&str> {
    match &token.tok {
        Tok::Quantity(measure) if measure.unit.as_ref().is_some_and(|(unit, _)| unit == "source") => Some(&measure.figures),
        _ => None,
    }
}

fn before_width(line: &Line, at: usize) -> Option<usize> {
    Some(line_text(line.tokens.get(..at)?).chars().count() + 1)
}

/// Gives each run of neighbouring lines for which `width` answers the widest of its widths.
fn share(list: &[Node], columns: &mut [Columns], width: impl Fn(&Line) -> Option<usize>, set: impl Fn(&mut Columns, usize)) {
    let widths: Vec<Option<usize>> = list
        .iter()
        .map(|node| match node {
            Node::Line(line) => width(line),
            _ => None,
        })
        .collect();
    let mut from = 0;
    while from < list.len() {
        let mut to = from;
        while to < list.len()
            && widths.get(to).is_some_and(Option::is_some)
            && (to == from || !list.get(to).is_some_and(Node::blank_before))
        {
            to += 1;
        }
        let widest = widths.get(from..to).unwrap_or(&[]).iter().flatten().copied();
        let widest = widest.filter(|width| *width <= FURTHEST_ARROW).max().unwrap_or(0);
        for column in columns.get_mut(from..to).unwrap_or(&mut []) {
            set(column, widest);
        }
        from = to.max(from + 1);
    }
}
