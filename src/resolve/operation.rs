//! Declarations of operations: form, needs, effect, sentence, attention, cautions, checked where they stand.

use std::collections::BTreeSet;

use super::attention::Attention;
use super::definitions::{Operation, When};
use super::fields::{Field, Read, head_name, lines};
use super::form::{self, EffectArg, EffectCall, Form, Item, Mode, Need, Slot, Sort};
use super::matcher::{self, RawArg};
use super::quantity::Figure;
use super::rule::KNOWN;
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::kinds::Kind;
use crate::operations;
use crate::source::Span;
use crate::syntax::{Block, Line, Tok};

/// Properties of a portion that a caution may ask for.
pub const PROPERTIES: &[&str] =
    &["flammable", "corrosive", "toxic", "eye_damaging", "acidic", "basic", "hot", "gassing", "peroxide_forming", "peroxide_untested"];

/// The fields of an operation.
const FIELDS: &[&str] = &["form", "needs", "effect", "says", "attention", "caution"];

/// Reads an operation and checks that it holds together.
pub fn declare(block: &Block, doc: &str, findings: &mut Vec<Diagnostic>) -> Option<Operation> {
    let before = findings.len();
    let (name, span) = head_name(&block.head).map_err(|finding| findings.push(finding)).ok()?;
    let mut form = None;
    let mut needs = Vec::new();
    let mut effects = Vec::new();
    let mut says: Option<String> = None;
    let mut cautions = Vec::new();
    let mut attention = Vec::new();
    let body = lines(block, findings);
    // The form comes first in meaning, wherever it stands.
    for line in body.iter().filter(|line| line.first_word() == Some("form")) {
        match form::read(line.tokens.get(1..).unwrap_or(&[]), line.span) {
            Ok(read) => form = Some(read),
            Err(finding) => findings.push(finding),
        }
    }
    let Some(form) = form else {
        // A line that is no field, or could not be read, may be the form with a slip in it.
        for line in &body {
            if let Ok(field) = Field::of(line)
                && !FIELDS.contains(&field.name)
            {
                findings.push(field.unknown("an operation", FIELDS));
            }
        }
        let broken = block.body.iter().any(|node| matches!(node, crate::syntax::Node::Line(line) if line.broken));
        if findings.len() == before && !broken {
            findings.push(
                Diagnostic::new(Code::BadForm, span, format!("the operation `{name}` has no form"))
                    .help("write `form VERB <slot: sort> …` inside it"),
            );
        }
        return None;
    };
    for line in body {
        let read = match line.first_word() {
            Some("form") => Ok(()),
            Some("effect") => effect(line, &form).map(|call| effects.push(call)),
            _ => Field::of(line).and_then(|mut field| {
                match field.name {
                    "needs" => needs.extend(need_list(&mut field, &form)?),
                    "says" => says = Some(field.name_or_text()?),
                    "attention" => {
                        let word = Attention::read(&mut field)?;
                        attention.push((when(&mut field, &form)?, word));
                    }
                    "caution" => cautions.push(caution(&mut field, &form)?),
                    _ => return Err(field.unknown("an operation", FIELDS)),
                }
                field.end()
            }),
        };
        if let Err(finding) = read {
            findings.push(finding);
        }
    }
    let operation =
        Operation { name, doc: doc.to_owned(), span, form, needs, effects, says: says.unwrap_or_default(), attention, cautions };
    if findings.len() == before {
        holds_together(&operation, findings);
    }
    (findings.len() == before).then_some(operation)
}

fn need_list(field: &mut Field<'_>, form: &Form) -> Read<Vec<Need>> {
    let mut needs = Vec::new();
    loop {
        let apparatus = field.name_or_text()?;
        let (mut fill, mut rule) = (None, None);
        if field.word("filled") {
            field.word("at");
            field.word("most");
            let mut rules = KNOWN.iter().filter(|known| known.kind == Kind::Ratio);
            rule = rules.find(|known| field.word(known.name)).map(|known| known.name);
            fill = if rule.is_none() { Some(super::fields::fraction(field)?) } else { None };
        }
        needs.push(Need { apparatus, fill, rule, when: when(field, form)? });
        if !field.comma() {
            return Ok(needs);
        }
    }
}

/// `when SLOT is PROPERTY` or `when SLOT given`, where it stands.
fn when(field: &mut Field<'_>, form: &Form) -> Read<When> {
    if !field.word("when") {
        return Ok(When::Always);
    }
    let at = field.cursor.here();
    let slot = field.name_or_text()?;
    if form.slot(&slot).is_none() {
        return Err(no_slot(&slot, at, form));
    }
    if field.word("given") {
        return Ok(When::Given(slot));
    }
    if !field.word("is") {
        return Err(field.failed(&field.cursor.failure("`is` and a property, or `given`", false)));
    }
    let at = field.cursor.here();
    let property = field.name_or_text()?;
    if !PROPERTIES.contains(&property.as_str()) {
        return Err(Diagnostic::new(Code::BadForm, at, format!("`{property}` is not a property that can be asked for"))
            .help(format!("one of {}", suggest::listed(PROPERTIES, "or"))));
    }
    Ok(When::Is(slot, property))
}

fn caution(field: &mut Field<'_>, form: &Form) -> Read<(When, String)> {
    let when = when(field, form)?;
    match field.cursor.peek() {
        Some(Tok::Text(_)) => Ok((when, field.name_or_text()?)),
        _ => Err(field.failed(&field.cursor.failure("the caution in quotation marks", false))),
    }
}

fn no_slot(slot: &str, at: Span, form: &Form) -> Diagnostic {
    let slots = form.slots();
    let names: Vec<&str> = slots.iter().map(|(slot, _)| slot.name.as_str()).collect();
    Diagnostic::new(Code::BadForm, at, format!("the form has no slot `{slot}`"))
        .help(format!("its slots are {}", suggest::listed(&names, "and")))
}

/// An effect's form with every slot turned into the name of one of the operation's slots.
fn by_reference(items: &[Item]) -> Vec<Item> {
    items
        .iter()
        .map(|item| match item {
            Item::Word(word) => Item::Word(word.clone()),
            Item::Slot(slot) => {
                let kind = match slot.sort {
                    Sort::Quantity(kind) => Some(kind),
                    _ => None,
                };
                Item::Slot(Slot { sort: Sort::Reference(kind), many: false, mode: Mode::Takes, name: slot.name.clone() })
            }
            Item::Clause(clause) => Item::Clause(form::Clause { items: by_reference(&clause.items), roles: clause.roles.clone() }),
        })
        .collect()
}

fn effect(line: &Line, form: &Form) -> Read<EffectCall> {
    let tokens = line.tokens.get(1..).unwrap_or(&[]);
    let verb = line.word(1).unwrap_or("");
    let Some(physics) = operations::effect_form(verb) else {
        let verbs: Vec<&str> = operations::effect_verbs().collect();
        let at = tokens.first().map_or(line.span, |token| token.span);
        return Err(Diagnostic::new(Code::BadForm, at, format!("`{verb}` is not an effect"))
            .help(format!("the effects are {}", suggest::listed(&verbs, "and"))));
    };
    let arrow = tokens.iter().position(|token| token.tok == Tok::Arrow);
    let head = arrow.map_or(tokens, |at| tokens.get(..at).unwrap_or(tokens));
    let reference = Form { items: by_reference(&physics.items), roles: physics.roles.clone(), ..physics.clone() };
    let matched = matcher::read(&reference, head, line.span).map_err(|failure| {
        Diagnostic::new(Code::BadForm, failure.span, format!("{} belongs here; {} was met", failure.expected.join(" or "), failure.met))
            .help(format!("the effect reads `{}`", physics.text))
    })?;
    if let Some(finding) = matched.findings.into_iter().next() {
        return Err(finding);
    }
    let mut args = Vec::new();
    let mut otherwise = Vec::new();
    for (slot, arg) in matched.args {
        let given = match arg {
            RawArg::Word(word, at) => {
                let wanted = physics.slot(&slot).map(|slot| &slot.sort);
                match form.slot(&word) {
                    Some(own) => {
                        if let Some(wanted) = wanted
                            && !fits(&own.sort, wanted)
                        {
                            return Err(Diagnostic::new(
                                Code::BadForm,
                                at,
                                format!("`{word}` is {}, and the effect wants {}", own.sort.wanted(), wanted.wanted()),
                            ));
                        }
                        let mode = physics.slot(&slot).map_or(own.mode, |slot| slot.mode);
                        if matches!(own.sort, Sort::Portion(_) | Sort::Material) && mode != own.mode {
                            otherwise.push((word.clone(), own.mode, mode, at));
                        }
                        EffectArg::Slot(word)
                    }
                    None if matches!(wanted, Some(Sort::Choice(words)) if words.contains(&word)) => EffectArg::Word(word),
                    None => return Err(no_slot(&word, at, form)),
                }
            }
            RawArg::Figure(Figure { low, kind, .. }) => EffectArg::Quantity(low, kind),
            _ => continue,
        };
        args.push((slot, given));
    }
    if let Some(finding) = not_as_said(&otherwise, form) {
        return Err(finding);
    }
    let mut own_roles = Vec::new();
    if let Some(at) = arrow {
        for token in tokens.get(at + 1..).unwrap_or(&[]) {
            match &token.tok {
                Tok::Word(word) => own_roles.push((word.clone(), token.span)),
                Tok::Sign(",") => {}
                _ => return Err(Diagnostic::new(Code::BadForm, token.span, "role words belong behind the arrow")),
            }
        }
    }
    let physical: Vec<String> = matched.roles;
    if own_roles.len() != physical.len() {
        return Err(Diagnostic::new(
            Code::BadForm,
            line.span,
            format!(
                "this effect gives {} result{} ({}), and {} stand behind the arrow",
                physical.len(),
                if physical.len() == 1 { "" } else { "s" },
                physical.join(", "),
                own_roles.len()
            ),
        )
        .help(format!("the effect reads `{}`", physics.text)));
    }
    for (role, at) in &own_roles {
        if !form.all_roles().contains(&role.as_str()) {
            return Err(Diagnostic::new(Code::BadForm, *at, format!("the form gives no result `{role}`")));
        }
    }
    let roles = physical.into_iter().zip(own_roles.into_iter().map(|(role, _)| role)).collect();
    Ok(EffectCall { effect: verb.to_owned(), args, roles, span: line.span })
}

/// What an effect uses up, changes or reads, the form must say it uses up, changes or reads: else matter would be doubled
/// or lost. Each is a name, what the form says, what the effect does, and where the effect names it.
fn not_as_said(otherwise: &[(String, Mode, Mode, Span)], form: &Form) -> Option<Diagnostic> {
    let (word, own, mode, at) = otherwise.first()?;
    let says = |mode: &Mode| match mode {
        Mode::Takes => "takes",
        Mode::Changes => "changes",
        Mode::Reads => "reads",
    };
    let message = format!("the form {} `{word}`, and this effect {} it", says(own), says(mode));
    let help = format!("write `<{word}: {} …>` in the form", says(mode));
    // Where the form says nothing of it, and no two names stand in each other's place, the word is lacking there.
    let lacking = otherwise.len() == 1 && *own == Mode::Takes;
    Some(if lacking {
        Diagnostic::new(Code::BadForm, form.span, message).help(help).label(*at, "this effect")
    } else {
        Diagnostic::new(Code::BadForm, *at, message).help(help)
    })
}

/// Whether what stands in a slot of one sort can go where another is wanted.
fn fits(own: &Sort, wanted: &Sort) -> bool {
    match (own, wanted) {
        (Sort::Portion(_) | Sort::Material, Sort::Material) | (Sort::Portion(_), Sort::Portion(_)) => true,
        (Sort::Substance | Sort::Text | Sort::Label, Sort::Label) => true,
        (Sort::Choice(own), Sort::Choice(wanted)) => own.iter().all(|word| wanted.contains(word)),
        (a, b) => a == b,
    }
}

/// Every slot is used; matter comes out as it went in; every result is made.
fn holds_together(operation: &Operation, findings: &mut Vec<Diagnostic>) {
    let form = &operation.form;
    let mut in_effects: Vec<&str> = Vec::new();
    for call in &operation.effects {
        for (_, arg) in &call.args {
            if let EffectArg::Slot(slot) = arg {
                in_effects.push(slot);
            }
        }
    }
    let mentioned: BTreeSet<&str> = placeholders(&operation.says).into_iter().collect();
    for (slot, _) in form.slots() {
        let portion = matches!(slot.sort, Sort::Portion(_) | Sort::Material) && slot.mode == Mode::Takes;
        let uses = in_effects.iter().filter(|name| **name == slot.name).count();
        if portion && uses != 1 {
            let what = if uses == 0 {
                "goes into no effect: the matter in it would vanish"
            } else {
                "goes into two effects: its matter would be doubled"
            };
            findings.push(
                Diagnostic::new(Code::BadForm, form.span, format!("what stands in `{}` {what}", slot.name))
                    .help("name the slot on exactly one `effect` line"),
            );
        } else if uses == 0 && !mentioned.contains(slot.name.as_str()) && slot.sort != Sort::Apparatus {
            findings.push(
                Diagnostic::new(Code::BadForm, form.span, format!("the slot `{}` is used by no effect and no sentence", slot.name))
                    .help("name it on an `effect` line or as a `{placeholder}` in `says`, or take it out of the form"),
            );
        }
    }
    for place in &mentioned {
        if form.slot(place).is_none() {
            findings.push(no_slot(place, operation.span, form));
        }
    }
    let made: BTreeSet<&str> = operation.effects.iter().flat_map(|call| call.roles.iter().map(|(_, role)| role.as_str())).collect();
    for role in form.all_roles() {
        if !made.contains(role) {
            findings.push(
                Diagnostic::new(Code::BadForm, form.span, format!("no effect gives the result `{role}`"))
                    .help("name it behind the arrow of an `effect` line"),
            );
        }
    }
    if operation.says.is_empty() {
        findings.push(
            Diagnostic::new(Code::BadForm, operation.span, format!("the operation `{}` says nothing on the sheet", operation.name))
                .help("write `says \"…\"`"),
        );
    }
}

/// The names in braces of a sentence.
#[must_use]
pub fn placeholders(says: &str) -> Vec<&str> {
    says.split('{').skip(1).filter_map(|rest| rest.split_once('}')).map(|(name, _)| name).collect()
}
