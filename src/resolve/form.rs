//! Forms: what a statement of an operation looks like, read from its declaration.
//!
//! `reflux <pot: changes mixture> for <time: duration> [running <reactions: reaction...>]
//! [returning through <bed: changes agent> [in <extractor: apparatus>]] -> upper, lower`

use std::borrow::Cow;

use super::definitions::When;
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::Kind;
use crate::source::Span;
use crate::syntax::{Tok, Token};

/// What an operation does with a portion.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Mode {
    /// It goes in; what comes out has other names.
    Takes,
    /// It stays under its name.
    Changes,
    /// It is looked at.
    Reads,
}

/// What may stand in a slot.
#[derive(Clone, PartialEq, Debug)]
pub enum Sort {
    /// A portion (`matter`, `mixture`, `liquid`, `solid` or `agent`, the word kept for findings).
    Portion(String),
    /// A portion, or a material with its amount.
    Material,
    /// A quantity of a kind, or a range of it.
    Quantity(Kind),
    /// A reaction of the procedure.
    Reaction,
    /// A substance.
    Substance,
    /// A kind of apparatus, with a size where it has sizes.
    Apparatus,
    /// A text in quotes.
    Text,
    /// A substance or a text.
    Label,
    /// One of these words.
    Choice(Vec<String>),
    /// On an `effect` line: the name of a slot, or a fixed quantity of that kind.
    Reference(Option<Kind>),
}

impl Sort {
    /// The sort as a finding names it.
    #[must_use]
    pub fn wanted(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Self::Portion(word) if word == "agent" => "the name of a drying agent or bed",
            Self::Portion(_) => "the name of a portion",
            Self::Material => "a portion, or a material with its amount",
            Self::Quantity(kind) => return format!("{} (such as `{}`)", kind.article_name(), kind.example()).into(),
            Self::Reaction => "the name of a reaction",
            Self::Substance => "the name of a substance",
            Self::Apparatus => "a vessel or other apparatus",
            Self::Text => "a text in quotation marks",
            Self::Label => "a substance, or a text in quotation marks",
            Self::Reference(_) => "the name of a slot of the form",
            Self::Choice(words) => return words.iter().map(|w| format!("`{w}`")).collect::<Vec<_>>().join(" or ").into(),
        })
    }
}

/// A place in a form that a statement fills.
#[derive(Clone, PartialEq, Debug)]
pub struct Slot {
    /// Its name.
    pub name: String,
    /// What is done with a portion in it.
    pub mode: Mode,
    /// What may stand in it.
    pub sort: Sort,
    /// Whether it takes a list.
    pub many: bool,
}

/// A part of a form.
#[derive(Clone, PartialEq, Debug)]
pub enum Item {
    /// A fixed word.
    Word(String),
    /// A slot.
    Slot(Slot),
    /// A clause that may be left out.
    Clause(Clause),
}

/// `[parting <what: substance> [in <trap: apparatus>] -> trapped]`
#[derive(Clone, PartialEq, Debug)]
pub struct Clause {
    /// Its parts.
    pub items: Vec<Item>,
    /// Results that it adds.
    pub roles: Vec<String>,
}

/// A whole form.
#[derive(Clone, PartialEq, Debug)]
pub struct Form {
    /// Its parts; the first is the verb.
    pub items: Vec<Item>,
    /// Role words of its results, in order.
    pub roles: Vec<String>,
    /// Roles of which there may be several, written `cut...`.
    pub repeats: Vec<String>,
    /// As declared, on one line.
    pub text: String,
    /// Where it is declared.
    pub span: Span,
}

/// What an operation needs: a kind of apparatus and how full it may be.
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    /// The apparatus.
    pub apparatus: String,
    /// How full it may be, a fraction; the apparatus's own limit where this is absent.
    pub fill: Option<f64>,
    /// The rule that says how full it may be.
    pub rule: Option<&'static str>,
    /// When it is needed.
    pub when: When,
}

/// An argument on an `effect` line.
#[derive(Clone, Debug, PartialEq)]
pub enum EffectArg {
    /// What stands in this slot of the operation.
    Slot(String),
    /// A fixed word.
    Word(String),
    /// A fixed quantity in SI.
    Quantity(f64, Kind),
}

/// One `effect` line: which effect, what goes where.
#[derive(Clone, Debug, PartialEq)]
pub struct EffectCall {
    /// The effect's verb.
    pub effect: String,
    /// The effect's slot and what fills it.
    pub args: Vec<(String, EffectArg)>,
    /// The effect's role and the operation's role for it.
    pub roles: Vec<(String, String)>,
    /// Where it stands.
    pub span: Span,
}

impl Form {
    /// The verb.
    #[must_use]
    pub fn verb(&self) -> &str {
        match self.items.first() {
            Some(Item::Word(word)) => word,
            _ => "",
        }
    }

    /// Every slot, those in clauses included, each with whether it may be left out.
    #[must_use]
    pub fn slots(&self) -> Vec<(&Slot, bool)> {
        let mut found = Vec::new();
        gather(&self.items, false, &mut found);
        found
    }

    /// The slot of that name.
    #[must_use]
    pub fn slot(&self, name: &str) -> Option<&Slot> {
        find(&self.items, name)
    }

    /// Every role word, those of clauses included.
    #[must_use]
    pub fn all_roles(&self) -> Vec<&str> {
        fn clauses<'a>(items: &'a [Item], out: &mut Vec<&'a str>) {
            for item in items {
                if let Item::Clause(clause) = item {
                    out.extend(clause.roles.iter().map(String::as_str));
                    clauses(&clause.items, out);
                }
            }
        }
        let mut roles: Vec<&str> = self.roles.iter().map(String::as_str).collect();
        clauses(&self.items, &mut roles);
        roles
    }

    /// The form as it is shown to people: slots by name only.
    #[must_use]
    pub fn shown(&self) -> String {
        let mut out = String::new();
        show(&self.items, &mut out);
        if !self.roles.is_empty() {
            out.push_str(" -> ");
            out.push_str(&self.roles.iter().map(|role| format!("{role} NAME")).collect::<Vec<_>>().join(", "));
        }
        out
    }
}

fn show(items: &[Item], out: &mut String) {
    for item in items {
        if !out.is_empty() && !out.ends_with('[') {
            out.push(' ');
        }
        match item {
            Item::Word(word) => out.push_str(word),
            Item::Slot(slot) => {
                out.push('<');
                out.push_str(&slot.name.replace('_', " "));
                out.push_str(if slot.many { ", ...>" } else { ">" });
            }
            Item::Clause(clause) => {
                out.push('[');
                show(&clause.items, out);
                if !clause.roles.is_empty() {
                    out.push_str(" -> ");
                    out.push_str(&clause.roles.iter().map(|role| format!("{role} NAME")).collect::<Vec<_>>().join(", "));
                }
                out.push(']');
            }
        }
    }
}

fn find<'a>(items: &'a [Item], name: &str) -> Option<&'a Slot> {
    items.iter().find_map(|item| match item {
        Item::Word(_) => None,
        Item::Slot(slot) => (slot.name == name).then_some(slot),
        Item::Clause(clause) => find(&clause.items, name),
    })
}

fn gather<'a>(items: &'a [Item], optional: bool, out: &mut Vec<(&'a Slot, bool)>) {
    for item in items {
        match item {
            Item::Word(_) => {}
            Item::Slot(slot) => out.push((slot, optional)),
            Item::Clause(clause) => gather(&clause.items, true, out),
        }
    }
}

/// Reads a form from the tokens behind `form` (or of an effect's own form).
///
/// # Errors
/// A finding at the token that does not fit.
pub fn read(tokens: &[Token], whole: Span) -> Result<Form, Diagnostic> {
    let mut reader = Reader { tokens, at: 0, whole, repeats: Vec::new() };
    let (items, roles) = reader.items(false, 0)?;
    let text = crate::syntax::print::line_text(tokens);
    if !matches!(items.first(), Some(Item::Word(_))) {
        return Err(bad(whole, "a form begins with the operation's verb"));
    }
    let form = Form { items, roles, repeats: reader.repeats, text, span: whole };
    let mut seen = std::collections::BTreeSet::new();
    for (slot, _) in form.slots() {
        if !seen.insert(slot.name.clone()) {
            return Err(bad(whole, &format!("the slot `{}` stands twice in this form", slot.name)));
        }
    }
    distinct_clause_words(&form.items, whole)?;
    Ok(form)
}

/// Clauses are told apart by how they begin, so their beginnings differ: in the words, or in what
/// stands behind the words (a quantity of a kind, a text, a name).
fn distinct_clause_words(items: &[Item], whole: Span) -> Result<(), Diagnostic> {
    let mut seen = std::collections::BTreeSet::new();
    for item in items {
        if let Item::Clause(clause) = item {
            let words = clause.lead();
            if let Some(word) = words.first() {
                let behind = match clause.items.get(words.len()) {
                    Some(Item::Slot(Slot { sort: Sort::Quantity(kind), .. })) => kind.article_name(),
                    Some(Item::Slot(Slot { sort: Sort::Text, .. })) => "a text",
                    _ => "a name",
                };
                if !seen.insert((words.clone(), behind)) {
                    return Err(bad(whole, &format!("two clauses of this form begin with `{word}`")));
                }
            }
            distinct_clause_words(&clause.items, whole)?;
        }
    }
    Ok(())
}

impl Clause {
    /// The fixed words with which it begins.
    #[must_use]
    pub fn lead(&self) -> Vec<&str> {
        self.items
            .iter()
            .map_while(|item| match item {
                Item::Word(word) => Some(word.as_str()),
                _ => None,
            })
            .collect()
    }
}

fn bad(span: Span, message: &str) -> Diagnostic {
    Diagnostic::new(Code::BadForm, span, message)
        .help("a form reads like `rinse <cake: takes solid> with <liquid: material> [<times: count>] -> cake, filtrate`")
}

struct Reader<'a> {
    tokens: &'a [Token],
    at: usize,
    whole: Span,
    repeats: Vec<String>,
}

impl Reader<'_> {
    fn peek(&self) -> Option<&Tok> {
        self.tokens.get(self.at).map(|token| &token.tok)
    }

    fn here(&self) -> Span {
        self.tokens.get(self.at).map_or(self.whole.after(), |token| token.span)
    }

    fn sign(&mut self, sign: &str) -> bool {
        let found = matches!(self.peek(), Some(Tok::Sign(s)) if *s == sign);
        self.at += usize::from(found);
        found
    }

    fn word(&mut self) -> Result<String, Diagnostic> {
        match self.peek() {
            Some(Tok::Word(word)) => {
                let word = word.clone();
                self.at += 1;
                Ok(word)
            }
            _ => Err(bad(self.here(), "a word belongs here")),
        }
    }

    fn role(&mut self) -> Result<String, Diagnostic> {
        let role = self.word()?;
        if self.sign("...") {
            self.repeats.push(role.clone());
        }
        Ok(role)
    }

    fn items(&mut self, inside: bool, depth: usize) -> Result<(Vec<Item>, Vec<String>), Diagnostic> {
        if depth > 16 {
            return Err(bad(self.here(), "clauses are nested too deep"));
        }
        let mut items = Vec::new();
        let mut roles = Vec::new();
        loop {
            match self.peek() {
                None if inside => return Err(bad(self.here(), "a `]` is missing")),
                None => break,
                Some(Tok::Sign("]")) if inside => {
                    self.at += 1;
                    break;
                }
                Some(Tok::Word(_)) => items.push(Item::Word(self.word()?)),
                Some(Tok::Sign("<")) => {
                    self.at += 1;
                    items.push(Item::Slot(self.slot()?));
                }
                Some(Tok::Sign("[")) => {
                    self.at += 1;
                    let (items_in, roles_in) = self.items(true, depth + 1)?;
                    items.push(Item::Clause(Clause { items: items_in, roles: roles_in }));
                }
                Some(Tok::Arrow) => {
                    self.at += 1;
                    roles.push(self.role()?);
                    while self.sign(",") {
                        roles.push(self.role()?);
                    }
                }
                Some(_) => return Err(bad(self.here(), "only words, slots `<…>`, clauses `[…]` and an arrow stand in a form")),
            }
        }
        Ok((items, roles))
    }

    fn slot(&mut self) -> Result<Slot, Diagnostic> {
        let name = self.word()?;
        if !self.sign(":") {
            return Err(bad(self.here(), "a slot says what may stand in it: `<pot: changes mixture>`"));
        }
        let first_at = self.here();
        let first = self.word()?;
        let mode = match first.as_str() {
            "takes" => Some(Mode::Takes),
            "changes" => Some(Mode::Changes),
            "reads" => Some(Mode::Reads),
            _ => None,
        };
        let (sort_at, word) = if mode.is_some() { (self.here(), self.word()?) } else { (first_at, first) };
        let sort = match word.as_str() {
            "matter" | "mixture" | "liquid" | "solid" | "agent" => Sort::Portion(word),
            "material" => Sort::Material,
            "reaction" => Sort::Reaction,
            "substance" => Sort::Substance,
            "apparatus" => Sort::Apparatus,
            "text" => Sort::Text,
            "label" => Sort::Label,
            "duration" => Sort::Quantity(Kind::Duration),
            "temperature" => Sort::Quantity(Kind::Temperature),
            "ratio" => Sort::Quantity(Kind::Ratio),
            "count" => Sort::Quantity(Kind::Count),
            "volume" => Sort::Quantity(Kind::Volume),
            "mass" => Sort::Quantity(Kind::Mass),
            "pressure" => Sort::Quantity(Kind::Pressure),
            "power" => Sort::Quantity(Kind::Power),
            "length" => Sort::Quantity(Kind::Length),
            "flow" => Sort::Quantity(Kind::FlowRate),
            _ if matches!(self.peek(), Some(Tok::Sign("|"))) => {
                let mut words = vec![word];
                while self.sign("|") {
                    words.push(self.word()?);
                }
                Sort::Choice(words)
            }
            _ => {
                let known = "matter, mixture, liquid, solid, agent, material, reaction, substance, apparatus, text, label, \
                    duration, temperature, ratio, count, volume, mass, pressure, power, length, flow, or words joined by `|`";
                return Err(bad(sort_at, &format!("`{word}` is no sort of slot")).help(format!("a slot is one of {known}")));
            }
        };
        let many = self.sign("...");
        if !self.sign(">") {
            return Err(bad(self.here(), "a `>` is missing"));
        }
        let portion = matches!(sort, Sort::Portion(_) | Sort::Material);
        if mode.is_some() && !portion {
            return Err(bad(first_at, "only a portion can be taken, changed or read"));
        }
        Ok(Slot { name, mode: mode.unwrap_or(Mode::Takes), sort, many })
    }
}
