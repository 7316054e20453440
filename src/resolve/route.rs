//! A `route`: procedures in a chain, the product of one a reactant of the next. Its lines are read here; whether
//! the procedures fit together is looked up in `crate::route`.
//!
//! ```text
//! route "Oil of niobe out of the preservative" {
//!     prepare acid from benzoic_acid
//!     prepare oil  from niobe_oil "a longer boil", using acid as acid, yield recorded
//!     wanted oil 25 g, spare 1/3
//! }
//! ```

use super::cursor::Name;
use super::fields::{Field, Read, lines};
use super::quantity::{self, Figure};
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::Kind;
use crate::source::Span;
use crate::syntax::{Block, Line, Tok, Token};

/// An earlier product that meets a take.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Use {
    /// The stage that prepares it.
    pub stage: Name,
    /// The take that it meets; where it is left out, the only one of its substance.
    pub take: Option<Name>,
}

/// One stage.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stage {
    /// What its product is called.
    pub name: Name,
    /// The procedure.
    pub procedure: Name,
    /// The variant of it, by its title.
    pub variant: Option<(String, Span)>,
    /// The portion that goes on, where the procedure keeps several.
    pub taking: Option<Name>,
    /// Earlier products that it takes.
    pub uses: Vec<Use>,
    /// Whether its yield is that of the records.
    pub recorded: bool,
    /// The whole line.
    pub span: Span,
}

/// How much of the last product is wanted.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// The stage that makes it.
    pub stage: Name,
    /// How much of it.
    pub figure: Figure,
    /// How much more is made in case something is lost, as a share of it.
    pub spare: f64,
}

/// A route as written.
#[derive(Clone, Debug)]
pub struct Route {
    /// Its title.
    pub title: String,
    /// The head.
    pub span: Span,
    /// Its stages, as written.
    pub stages: Vec<Stage>,
    /// What is wanted of it.
    pub wanted: Option<Wanted>,
}

/// The most that is made to spare, as a share of what is wanted. Our own figure.
pub const MOST_SPARE: f64 = 10.0;

const CLAUSES: [&str; 3] = ["using", "taking", "yield"];
const SHAPE: &str = "write `prepare NAME from PROCEDURE`, with `using NAME as TAKE` behind it for what an earlier stage prepares";

/// Reads a route; `None` where its head cannot be read.
pub fn read(block: &Block, findings: &mut Vec<Diagnostic>) -> Option<Route> {
    let title = match block.head.tokens.as_slice() {
        [_, Token { tok: Tok::Text(title), .. }] => title.clone(),
        _ if block.head.broken => return None,
        _ => {
            let at = block.head.tokens.get(1).map_or(block.head.span.after(), |token| token.span);
            findings.push(
                Diagnostic::new(Code::SyntaxExpected, at, "a route has a title in quotation marks, and nothing more before `{`")
                    .help("write `route \"Oil of niobe out of the preservative\" {`"),
            );
            return None;
        }
    };
    let mut route = Route { title, span: block.head.span, stages: Vec::new(), wanted: None };
    let before = findings.len();
    for line in lines(block, findings) {
        if let Err(finding) = read_line(line, &mut route) {
            findings.push(finding);
        }
    }
    if route.stages.is_empty() && findings.len() == before {
        findings.push(
            Diagnostic::new(Code::NoRoute, route.span, format!("the route \"{}\" has no stages", route.title))
                .help("write `prepare NAME from PROCEDURE`, one line for each"),
        );
    }
    Some(route)
}

fn read_line(line: &Line, route: &mut Route) -> Read<()> {
    let mut field = Field::of(line)?;
    match field.name {
        "prepare" => {
            let stage = stage(&mut field)?;
            if let Some(first) = route.stages.iter().find(|first| first.name.text == stage.name.text) {
                return Err(Diagnostic::new(Code::Duplicate, stage.name.span, format!("`{}` is prepared a second time", stage.name.text))
                    .label(first.name.span, "the first is here")
                    .help("give the product of this stage another name"));
            }
            route.stages.push(stage);
        }
        "wanted" => {
            let wanted = wanted(&mut field)?;
            if let Some(first) = &route.wanted {
                return Err(Diagnostic::new(Code::Duplicate, field.span, "what is wanted is said a second time")
                    .label(first.stage.span, "the first is here")
                    .help("a route makes one last product: take one of the lines out"));
            }
            route.wanted = Some(wanted);
        }
        _ => return Err(field.unknown("a route", &["prepare", "wanted"])),
    }
    field.end()
}

fn name(field: &mut Field<'_>, what: &str) -> Read<Name> {
    field.cursor.name(what).map_err(|failure| field.failed(&failure))
}

fn stage(field: &mut Field<'_>) -> Read<Stage> {
    let own = name(field, "the name of what is prepared")?;
    if !field.word("from") {
        return Err(field.failed(&field.cursor.failure("`from` with the name of a procedure", false)).help(SHAPE));
    }
    let procedure = name(field, "the name of a procedure")?;
    let mut variant = None;
    if let Some(Tok::Text(title)) = field.cursor.peek() {
        variant = Some((title.clone(), field.cursor.here()));
        field.cursor.advance();
    }
    let mut stage = Stage { name: own, procedure, variant, taking: None, uses: Vec::new(), recorded: false, span: field.span };
    loop {
        let comma = field.comma();
        if field.cursor.is_done() && !comma {
            return Ok(stage);
        }
        if field.word("using") {
            uses(field, &mut stage.uses)?;
        } else if field.word("taking") {
            stage.taking = Some(name(field, "the name of a portion that the procedure keeps")?);
        } else if field.word("yield") {
            if !field.word("recorded") {
                return Err(field
                    .failed(&field.cursor.failure("`recorded`", false))
                    .help("a yield that is not `recorded` is as predicted"));
            }
            stage.recorded = true;
        } else {
            let expected = "`using NAME as TAKE`, `taking PORTION` or `yield recorded`";
            return Err(field.failed(&field.cursor.failure(expected, false)).help(SHAPE));
        }
    }
}

/// `acid as reagent, base`
fn uses(field: &mut Field<'_>, uses: &mut Vec<Use>) -> Read<()> {
    loop {
        let stage = name(field, "the name of an earlier product")?;
        let take = if field.word("as") { Some(name(field, "the name of a take of the procedure")?) } else { None };
        uses.push(Use { stage, take });
        let goes_on = field.cursor.comma() && matches!(field.cursor.peek_at(1), Some(Tok::Word(word)) if !CLAUSES.contains(&word.as_str()));
        if !goes_on {
            return Ok(());
        }
        field.cursor.advance();
    }
}

fn wanted(field: &mut Field<'_>) -> Read<Wanted> {
    let stage = name(field, "the name of what is prepared last")?;
    let figure = field.figure(&[Kind::Mass, Kind::Volume, Kind::Amount])?;
    if !(figure.low > 0.0 && figure.high.is_none()) {
        return Err(Diagnostic::new(Code::OutOfRange, figure.span, "what is wanted is one amount above zero"));
    }
    field.comma();
    let mut spare = 0.0;
    if field.word("spare") {
        let (share, read) = share(field.cursor.rest(), field.cursor.here())?;
        (0..read).for_each(|_| field.cursor.advance());
        spare = share;
    }
    Ok(Wanted { stage, figure, spare })
}

/// `1/3` or `20 %` at the beginning of these tokens, with how many of them it is.
///
/// # Errors
/// A finding; `at` is where the tokens begin.
pub fn share(tokens: &[Token], at: Span) -> Read<(f64, usize)> {
    let number = |token: Option<&Token>| match token {
        Some(Token { tok: Tok::Quantity(measure), .. }) => quantity::read(measure, &[Kind::Ratio]).map(|figure| Some(figure.low)),
        _ => Ok(None),
    };
    let wrong = || Diagnostic::new(Code::SyntaxExpected, at, "a share belongs here").help("write `spare 1/3` or `spare 20 %`");
    let above = number(tokens.first())?.ok_or_else(wrong)?;
    let (share, read) = if matches!(tokens.get(1), Some(Token { tok: Tok::Sign("/"), .. })) {
        (above / number(tokens.get(2))?.ok_or_else(wrong)?, 3)
    } else {
        (above, 1)
    };
    if !(0.0..=MOST_SPARE).contains(&share) {
        return Err(Diagnostic::new(Code::OutOfRange, at, "what is made to spare is a share between 0 and ten times what is wanted")
            .help("write `spare 1/3` or `spare 20 %`"));
    }
    Ok((share, read))
}
