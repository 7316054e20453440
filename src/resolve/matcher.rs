//! Reads a statement by the form of its operation. What does not fit becomes one finding that says
//! what was met, what could stand there, and the form in full.

use std::borrow::Cow;

use super::amount::{self, Amount};
use super::cursor::{Cursor, Failure, Name};
use super::form::{Clause, Form, Item, Slot, Sort};
use super::quantity::{self, Figure};
use super::slots::Slots;
use crate::diagnostics::Diagnostic;
use crate::kinds::{Kind, unit};
use crate::source::Span;
use crate::syntax::{Tok, Token};

/// A material as written: name, grade, amount.
#[derive(Clone, Debug, PartialEq)]
pub struct RawMaterial {
    /// The substance, solution or portion.
    pub name: Name,
    /// Grade words.
    pub grades: Vec<Name>,
    /// Its strength.
    pub strength: Option<Figure>,
    /// Its amount; absent for a bare name.
    pub amount: Option<Amount>,
    /// How warm it is when it is used, where that is said.
    pub at: Option<Figure>,
    /// From the name to the end of the amount.
    pub span: Span,
}

/// What a statement puts into a slot, names not yet looked up.
#[derive(Clone, Debug, PartialEq)]
pub enum RawArg {
    /// Portions or reactions by name.
    Names(Vec<Name>),
    /// A material or a portion.
    Material(Box<RawMaterial>),
    /// A figure.
    Figure(Figure),
    /// A time or a temperature that the source does not state.
    NotStated(Span),
    /// Figures of a slot that takes several.
    Figures(Vec<Figure>),
    /// A substance by name.
    Substance(Name),
    /// Apparatus, with its size in m³ where one is given.
    Apparatus(Name, Option<Figure>),
    /// A text.
    Text(String, Span),
    /// One of a slot's words.
    Word(String, Span),
}

/// A result as written.
#[derive(Clone, Debug, PartialEq)]
pub struct RawResult {
    /// Its role word.
    pub role: Option<Name>,
    /// The name it is given.
    pub name: Name,
}

/// A statement that fits a form.
#[derive(Clone, Debug, PartialEq)]
pub struct Matched {
    /// What fills the slots.
    pub args: Slots<RawArg>,
    /// The roles that the statement has, those of its clauses included.
    pub roles: Vec<String>,
    /// The results it names.
    pub results: Vec<RawResult>,
    /// Findings about units and kinds in it.
    pub findings: Vec<Diagnostic>,
}

/// Reads `tokens` by `form`.
///
/// # Errors
/// The failure furthest to the right.
pub fn read(form: &Form, tokens: &[Token], span: Span) -> Result<Matched, Failure> {
    let arrow = tokens.iter().rposition(|token| token.tok == Tok::Arrow);
    let head = arrow.map_or(tokens, |at| tokens.get(..at).unwrap_or(tokens));
    let mut matcher = Matcher {
        cursor: Cursor::new(head, span.after()),
        args: Slots::default(),
        roles: form.roles.clone(),
        findings: Vec::new(),
        best: None,
    };
    let words = literal_words(&form.items);
    matcher.items(&form.items, &words, true)?;
    if !matcher.cursor.is_done() {
        return Err(matcher.left_over(&form.items));
    }
    let Matcher { args, mut roles, findings, .. } = matcher;
    // The roles stand in the order of the form.
    let order = form.all_roles();
    roles.sort_by_key(|role| order.iter().position(|known| known == role));
    let results = match arrow {
        None => Vec::new(),
        Some(at) => results(form, &roles, tokens.get(at + 1..).unwrap_or(&[]), at + 1, span)?,
    };
    Ok(Matched { args, roles, results, findings })
}

/// Reads tokens as what fills one slot, with nothing behind it.
///
/// # Errors
/// A failure where they are not what the slot takes.
pub fn read_slot(slot: &Slot, tokens: &[Token], end: Span, findings: &mut Vec<Diagnostic>) -> Result<RawArg, Failure> {
    let mut matcher =
        Matcher { cursor: Cursor::new(tokens, end), args: Slots::default(), roles: Vec::new(), findings: Vec::new(), best: None };
    let arg = matcher.slot(slot, &[], None)?;
    if !matcher.cursor.is_done() {
        return Err(matcher.cursor.failure("the end", false));
    }
    findings.append(&mut matcher.findings);
    Ok(arg)
}

/// Every fixed word of a form that may follow a comma or end a list.
fn literal_words(items: &[Item]) -> Vec<&str> {
    let mut words = Vec::new();
    for item in items.iter().skip(1) {
        match item {
            Item::Word(word) => words.push(word.as_str()),
            Item::Slot(_) => {}
            Item::Clause(clause) => {
                if let Some(Item::Word(word)) = clause.items.first() {
                    words.push(word.as_str());
                }
            }
        }
    }
    words
}

fn results(form: &Form, roles: &[String], tokens: &[Token], offset: usize, span: Span) -> Result<Vec<RawResult>, Failure> {
    let mut cursor = Cursor::new(tokens, span.after());
    let shift = |mut failure: Failure| {
        failure.at += offset;
        failure
    };
    let role_list = || roles.iter().map(|role| format!("`{role} NAME`")).collect::<Vec<_>>().join(", ");
    let renames = roles.is_empty() && form.slots().iter().filter(|(slot, _)| slot.mode == super::form::Mode::Changes).count() == 1;
    if roles.is_empty() && !renames {
        return Err(shift(cursor.failure("nothing: this operation gives no results, it changes the portion that it names", false)));
    }
    let mut found: Vec<RawResult> = Vec::new();
    loop {
        let is_role = matches!(cursor.peek(), Some(Tok::Word(word)) if roles.contains(word));
        let followed = matches!(cursor.peek_at(1), Some(Tok::Word(_)));
        let role = if is_role && (followed || roles.len() > 1) {
            let role = cursor.name("a role")?;
            if !matches!(cursor.peek(), Some(Tok::Word(_))) {
                return Err(shift(cursor.failure(&format!("the name of what is `{}`", role.text), true)));
            }
            let several = form.repeats.contains(&role.text);
            if !several && found.iter().any(|result| result.role.as_ref().is_some_and(|r| r.text == role.text)) {
                let mut failure = cursor.failure("each role once", false);
                failure.span = role.span;
                failure.met = format!("a second `{}`", role.text);
                return Err(shift(failure));
            }
            Some(role)
        } else {
            None
        };
        let single = roles.len() <= 1;
        if role.is_none() && !single {
            let lost = !matches!(cursor.peek(), Some(Tok::Word(_)));
            return Err(shift(cursor.failure(&format!("a role word and a name: {}", role_list()), lost)));
        }
        if role.is_none() && followed {
            let expected = if renames { "one name".to_owned() } else { role_list() };
            return Err(shift(cursor.failure(&expected, false)));
        }
        if is_role && role.is_none() {
            // A role word alone: the name behind it is missing.
            let word = roles.first().map_or("", String::as_str);
            cursor.advance();
            return Err(shift(cursor.failure(&format!("the name of what is `{word}`"), true)));
        }
        let name = cursor.name("a name for the result").map_err(shift)?;
        found.push(RawResult { role, name });
        if cursor.is_done() {
            break;
        }
        if !cursor.comma() {
            let mut failure = cursor.failure("a comma or the end of the statement", false);
            if matches!(cursor.peek(), Some(Tok::Word(_))) {
                failure.comma = Some(cursor.before().after());
            }
            return Err(shift(failure));
        }
        if form.repeats.is_empty() && found.len() >= roles.len().max(1) {
            return Err(shift(cursor.failure("the end of the statement", false)));
        }
        cursor.advance();
    }
    Ok(found)
}

struct Matcher<'a> {
    cursor: Cursor<'a>,
    args: Slots<RawArg>,
    roles: Vec<String>,
    findings: Vec<Diagnostic>,
    /// The furthest failure inside a clause that was tried and given up.
    best: Option<Failure>,
}

impl Matcher<'_> {
    fn items(&mut self, items: &[Item], words: &[&str], outermost: bool) -> Result<(), Failure> {
        let mut at = 0;
        while let Some(item) = items.get(at) {
            match item {
                Item::Word(word) => {
                    // Behind a list a comma would ask for another name.
                    let behind_list = at
                        .checked_sub(1)
                        .and_then(|before| items.get(before))
                        .is_some_and(|item| matches!(item, Item::Slot(slot) if slot.many));
                    if !behind_list && self.cursor.comma() && matches!(self.cursor.peek_at(1), Some(Tok::Word(next)) if next == word) {
                        self.cursor.advance();
                    }
                    if !self.cursor.word_is(word) {
                        let lost = false;
                        return Err(self.further(self.cursor.failure(&format!("`{word}`"), lost)));
                    }
                    self.cursor.advance();
                    at += 1;
                }
                Item::Slot(slot) => {
                    let after = match items.get(at + 1) {
                        Some(Item::Word(word)) => Some(word.as_str()),
                        _ => None,
                    };
                    let arg = self.slot(slot, words, after)?;
                    self.args.insert(slot.name.clone(), arg);
                    at += 1;
                }
                Item::Clause(_) => {
                    let run: Vec<&Clause> = items
                        .iter()
                        .skip(at)
                        .map_while(|item| match item {
                            Item::Clause(clause) => Some(clause),
                            _ => None,
                        })
                        .collect();
                    at += run.len();
                    self.clauses(&run, words, outermost)?;
                }
            }
        }
        Ok(())
    }

    /// A run of clauses, in any order, each at most once. A comma may stand before one at the
    /// outermost level; inside a clause it would end it.
    fn clauses(&mut self, run: &[&Clause], words: &[&str], outermost: bool) -> Result<(), Failure> {
        let mut left: Vec<&Clause> = run.to_vec();
        loop {
            let before = self.cursor.clone();
            if self.cursor.comma() {
                if !outermost {
                    return Ok(());
                }
                self.cursor.advance();
            }
            // Of clauses that begin with the same word the one that fits furthest is meant.
            let fits = left.iter().enumerate().filter(|(_, clause)| self.begins(clause));
            let chosen = fits.max_by_key(|(at, clause)| (self.fits_behind(clause), std::cmp::Reverse(*at))).map(|(at, _)| at);
            let Some(clause) = chosen.map(|at| left.remove(at)) else {
                self.cursor = before;
                return Ok(());
            };
            let mut inner = words.to_vec();
            inner.extend(literal_words(&clause.items));
            self.items(&clause.items, &inner, false)?;
            self.roles.extend(clause.roles.iter().cloned());
        }
    }

    fn begins(&self, clause: &Clause) -> bool {
        let mut ahead = 0;
        for item in &clause.items {
            match item {
                Item::Word(word) => {
                    if !matches!(self.cursor.peek_at(ahead), Some(Tok::Word(found)) if found == word) {
                        return false;
                    }
                    ahead += 1;
                }
                Item::Slot(Slot { sort: Sort::Quantity(kind), .. }) if ahead == 0 => {
                    return match self.cursor.peek() {
                        Some(Tok::Quantity(measure)) => {
                            measure.unit.as_ref().and_then(|(text, _)| unit(text).ok()).is_some_and(|unit| unit.kind == *kind)
                        }
                        _ => false,
                    };
                }
                _ => break,
            }
        }
        ahead > 0
    }

    /// How far a clause whose words are there fits: its words, and whether what stands behind them is
    /// of the sort that it wants there.
    fn fits_behind(&self, clause: &Clause) -> (usize, bool) {
        let words = clause.lead().len();
        let fits = match (clause.items.get(words), self.cursor.peek_at(words)) {
            (Some(Item::Slot(Slot { sort: Sort::Quantity(kind), .. })), Some(Tok::Quantity(measure))) => {
                measure.unit.as_ref().and_then(|(text, _)| unit(text).ok()).is_some_and(|unit| unit.kind == *kind)
            }
            (Some(Item::Slot(Slot { sort: Sort::Quantity(_), .. })), _) => false,
            (Some(Item::Slot(Slot { sort: Sort::Text, .. })), found) => matches!(found, Some(Tok::Text(_))),
            (Some(Item::Slot(_)), found) => matches!(found, Some(Tok::Word(_))),
            _ => true,
        };
        (words, fits)
    }

    fn slot(&mut self, slot: &Slot, words: &[&str], after: Option<&str>) -> Result<RawArg, Failure> {
        // A quantity says by itself what was wanted.
        let wanted = if matches!(slot.sort, Sort::Quantity(_)) { Cow::Borrowed("") } else { slot.sort.wanted() };
        let named =
            matches!(slot.sort, Sort::Portion(_) | Sort::Reaction | Sort::Material | Sort::Substance | Sort::Label | Sort::Apparatus);
        if named && self.name_is_missing(words, after) {
            return Err(self.cursor.failure(&wanted, true));
        }
        match &slot.sort {
            Sort::Portion(_) | Sort::Reaction => {
                let mut names = vec![self.cursor.name(&wanted).map_err(|failure| self.further(failure))?];
                while slot.many && self.cursor.comma() {
                    match self.cursor.peek_at(1) {
                        Some(Tok::Word(word)) if !words.contains(&word.as_str()) => {
                            self.cursor.advance();
                            names.push(self.cursor.name(&wanted)?);
                        }
                        Some(Tok::Word(_)) if self.clause_follows(words) => break,
                        _ => {
                            self.cursor.advance();
                            return Err(self.cursor.failure(&wanted, true));
                        }
                    }
                }
                if slot.many
                    && let Some(Tok::Word(word)) = self.cursor.peek()
                    && !words.contains(&word.as_str())
                {
                    let mut failure = self.cursor.failure("a comma", false);
                    failure.comma = Some(self.cursor.before().after());
                    return Err(failure);
                }
                Ok(RawArg::Names(names))
            }
            Sort::Material => self.material(words).map(|material| RawArg::Material(Box::new(material))),
            Sort::Quantity(Kind::Duration | Kind::Temperature) if self.not_stated() => {
                let span = amount::not_stated(&mut self.cursor).unwrap_or_else(|| self.cursor.here());
                Ok(RawArg::NotStated(span))
            }
            Sort::Quantity(kind) if slot.many => {
                let mut figures = vec![self.quantity(*kind, None)?];
                while self.cursor.comma() && matches!(self.cursor.peek_at(1), Some(Tok::Quantity(_))) {
                    self.cursor.advance();
                    figures.push(self.quantity(*kind, None)?);
                }
                Ok(RawArg::Figures(figures))
            }
            Sort::Quantity(kind) => self.quantity(*kind, None).map(RawArg::Figure),
            Sort::Substance => Ok(RawArg::Substance(self.cursor.name(&wanted)?)),
            Sort::Apparatus => {
                let name = self.cursor.name(&wanted)?;
                let size = match self.cursor.peek() {
                    Some(Tok::Quantity(_)) => Some(self.quantity(Kind::Volume, Some("a size such as `100 mL`"))?),
                    _ => None,
                };
                Ok(RawArg::Apparatus(name, size))
            }
            Sort::Text => match self.cursor.peek() {
                Some(Tok::Text(text)) => {
                    let arg = RawArg::Text(text.clone(), self.cursor.here());
                    self.cursor.advance();
                    Ok(arg)
                }
                _ => Err(self.cursor.failure(&wanted, false)),
            },
            Sort::Label => match self.cursor.peek() {
                Some(Tok::Text(text)) => {
                    let arg = RawArg::Text(text.clone(), self.cursor.here());
                    self.cursor.advance();
                    Ok(arg)
                }
                _ => Ok(RawArg::Substance(self.cursor.name(&wanted)?)),
            },
            Sort::Reference(kind) => match (self.cursor.peek(), kind) {
                (Some(Tok::Quantity(_)), Some(kind)) => self.quantity(*kind, None).map(RawArg::Figure),
                (Some(Tok::Word(word)), _) => {
                    let arg = RawArg::Word(word.clone(), self.cursor.here());
                    self.cursor.advance();
                    Ok(arg)
                }
                _ => Err(self.cursor.failure(&wanted, false)),
            },
            Sort::Choice(choices) => match self.cursor.peek() {
                Some(Tok::Word(word)) if choices.contains(word) => {
                    let arg = RawArg::Word(word.clone(), self.cursor.here());
                    self.cursor.advance();
                    Ok(arg)
                }
                _ => Err(self.cursor.failure(&wanted, false)),
            },
        }
    }

    /// Whether a word of the form stands where a name should: `add to pot`. A portion may carry such
    /// a name all the same, where the form goes on behind it: `add to to pot`.
    fn name_is_missing(&self, words: &[&str], after: Option<&str>) -> bool {
        let is_form = matches!(self.cursor.peek(), Some(Tok::Word(word)) if words.contains(&word.as_str()));
        let goes_on = match (self.cursor.peek_at(1), after) {
            (None | Some(Tok::Sign(",")), _) => true,
            (Some(Tok::Word(next)), Some(after)) => next == after,
            (Some(Tok::Word(next)), None) => words.contains(&next.as_str()),
            _ => false,
        };
        is_form && !goes_on
    }

    /// Whether behind the comma here a clause begins and no further name of a list.
    fn clause_follows(&self, words: &[&str]) -> bool {
        matches!(self.cursor.peek_at(1), Some(Tok::Word(word)) if words.contains(&word.as_str()))
            && !matches!(self.cursor.peek_at(2), Some(Tok::Text(_)))
    }

    fn not_stated(&self) -> bool {
        amount::not_stated(&mut self.cursor.clone()).is_some()
    }

    fn quantity(&mut self, kind: Kind, wanted: Option<&str>) -> Result<Figure, Failure> {
        let Some(Tok::Quantity(measure)) = self.cursor.peek() else {
            let wanted = wanted.map_or_else(|| Sort::Quantity(kind).wanted(), Cow::Borrowed);
            return Err(self.cursor.failure(&wanted, false));
        };
        let measure = measure.clone();
        self.cursor.advance();
        // A compound duration: `1 h 30 min`.
        let mut more = Vec::new();
        while kind == Kind::Duration
            && let Some(Tok::Quantity(next)) = self.cursor.peek()
        {
            more.push(next.clone());
            self.cursor.advance();
        }
        let mut kinds = vec![kind];
        if kind == Kind::Count {
            kinds.push(Kind::Ratio);
        }
        let figure = quantity::read(&measure, &kinds);
        let span = quantity::span_of(&measure);
        let mut figure = figure.unwrap_or_else(|finding| {
            self.findings.push(finding);
            Figure { low: measure.low, high: measure.high, plus_minus: None, kind, span }
        });
        for next in more {
            match quantity::read(&next, &[kind]) {
                Ok(part) => {
                    figure.low += part.low;
                    figure.span = figure.span.to(part.span);
                }
                Err(finding) => self.findings.push(finding),
            }
        }
        if kind == Kind::Duration && figure.top() == 0.0 {
            self.findings.push(
                Diagnostic::new(crate::diagnostics::Code::OutOfRange, figure.span, "a time of nothing is no time")
                    .help("give the time; where the source has none, write `not stated`"),
            );
        }
        if kind == Kind::Count && (figure.low < 1.0 || figure.low > 100.0 || figure.low.fract() != 0.0) {
            self.findings.push(
                Diagnostic::new(crate::diagnostics::Code::OutOfRange, figure.span, "a number of times is a whole number from 1 to 100")
                    .help("write `2 times`"),
            );
        }
        Ok(figure)
    }

    /// `name, grade, amount`.
    fn material(&mut self, words: &[&str]) -> Result<RawMaterial, Failure> {
        let name = self.cursor.name("a portion, or a material with its amount").map_err(|failure| self.further(failure))?;
        let material = read_material(&mut self.cursor, name, words, &mut self.findings)?;
        Ok(material)
    }

    /// The failure, or one further to the right that was met on the way.
    fn further(&self, failure: Failure) -> Failure {
        match &self.best {
            Some(best) if best.at > failure.at => best.clone(),
            _ => failure,
        }
    }

    /// Tokens are left that no clause takes.
    fn left_over(&mut self, items: &[Item]) -> Failure {
        let after_comma = self.cursor.comma();
        if after_comma {
            self.cursor.advance();
        }
        let mut expected: Vec<String> = items
            .iter()
            .filter_map(|item| match item {
                Item::Clause(clause) => clause.items.first(),
                _ => None,
            })
            .map(|item| match item {
                Item::Word(word) => format!("`{word}`"),
                Item::Slot(slot) => slot.sort.wanted().into_owned(),
                Item::Clause(_) => String::new(),
            })
            .collect();
        expected.dedup();
        if !after_comma || expected.is_empty() {
            expected.push("the end of the statement".to_owned());
        }
        let mut failure = self.cursor.failure("", self.cursor.is_done());
        failure.expected = expected;
        self.further(failure)
    }
}

/// Reads the grade and the amount of a material whose name has been read. `words` are the words
/// that may follow it in the statement.
///
/// # Errors
/// A failure where neither a grade, a strength nor an amount can be made out.
pub fn read_material(cursor: &mut Cursor<'_>, name: Name, words: &[&str], findings: &mut Vec<Diagnostic>) -> Result<RawMaterial, Failure> {
    let mut material = RawMaterial { span: name.span, name, grades: Vec::new(), strength: None, amount: None, at: None };
    while cursor.comma() {
        match cursor.peek_at(1) {
            Some(Tok::Word(word)) if words.contains(&word.as_str()) => break,
            Some(Tok::Quantity(measure)) if is_count(measure) => break,
            _ => {}
        }
        cursor.advance();
        if let Some(Tok::Quantity(measure)) = cursor.peek() {
            let strength_kind = measure.unit.as_ref().and_then(|(text, _)| unit(text).ok()).map(|unit| unit.kind);
            if matches!(strength_kind, Some(kind) if STRENGTH_KINDS.contains(&kind)) {
                match quantity::read(measure, STRENGTH_KINDS) {
                    Ok(figure) => material.strength = Some(figure),
                    Err(finding) => findings.push(finding),
                }
                cursor.advance();
                continue;
            }
            let bare_percent = matches!(&measure.unit, Some((text, _)) if text == "%");
            let follows = matches!(cursor.peek_at(1), Some(Tok::Sign(",")));
            if bare_percent && follows {
                findings.push(quantity::percent_of_what(measure, quantity::span_of(measure)));
                cursor.advance();
                continue;
            }
        }
        if amount::begins(cursor) {
            material.amount = Some(amount::read(cursor, findings)?);
            material.at = chilled(cursor, words, findings);
            break;
        }
        match cursor.peek() {
            Some(Tok::Word(_)) => material.grades.push(cursor.name("a grade")?),
            _ => return Err(cursor.failure("a grade or an amount", false)),
        }
    }
    material.span = material.name.span.to(cursor.before());
    if material.amount.is_none() && (!material.grades.is_empty() || material.strength.is_some()) {
        return Err(cursor.failure("a comma and the amount, which ends a material", false));
    }
    Ok(material)
}

/// `at 2 degC` behind an amount: the material is chilled or warmed before it is used. Where the form
/// has an `at` of its own it belongs to the form.
fn chilled(cursor: &mut Cursor<'_>, words: &[&str], findings: &mut Vec<Diagnostic>) -> Option<Figure> {
    if !cursor.word_is("at") || words.contains(&"at") {
        return None;
    }
    let Some(Tok::Quantity(measure)) = cursor.peek_at(1) else { return None };
    let read = quantity::read(measure, &[Kind::Temperature]);
    cursor.advance();
    cursor.advance();
    read.map_err(|finding| findings.push(finding)).ok()
}

/// Kinds that say how strong a material is.
pub const STRENGTH_KINDS: &[Kind] =
    &[Kind::MassFraction, Kind::VolumeFraction, Kind::MassPerVolume, Kind::Concentration, Kind::Molality, Kind::Density];

fn is_count(measure: &crate::syntax::Measure) -> bool {
    matches!(&measure.unit, Some((text, _)) if matches!(text.as_str(), "times" | "time" | "portions" | "portion"))
}
