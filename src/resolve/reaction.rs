//! Reactions: equation, how far, catalyst, heat; and whether the atoms balance.

use std::sync::Arc;

use super::cursor::{Cursor, Name};
use super::definitions::{Definitions, Extent, Rate, Reaction, Sourced, Sub};
use super::fields::{Field, head_name, lines};
use crate::chemistry::balance;
use crate::chemistry::formula::Formula;
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::kinds::Kind;
use crate::source::Span;
use crate::syntax::{Block, Line, Tok, Token};

/// Reads a reaction. `None` when its equation could not be read; that has been reported.
pub fn declare(block: &Block, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Option<Reaction> {
    let (name, span) = head_name(&block.head).map_err(|finding| findings.push(finding)).ok()?;
    let before = findings.len();
    let mut equation: Option<(Equation, Span)> = None;
    let mut extent: Option<(Extent, Span)> = None;
    let mut catalyst = None;
    let mut heat = None;
    let mut rate: Option<(Sourced<Rate>, Span)> = None;
    let broken = block.body.iter().any(|node| matches!(node, crate::syntax::Node::Line(line) if line.broken));
    for line in lines(block, findings) {
        if is_field(line) {
            let read = Field::of(line).and_then(|mut field| {
                match field.name {
                    "equilibrium" => {
                        let constant = positive(&mut field)?;
                        let activities = field.word("in");
                        if activities && !field.word("activities") {
                            return Err(field.failed(&field.cursor.failure("`activities`", false)));
                        }
                        let how = if activities { Extent::InActivities(constant) } else { Extent::Equilibrium(constant) };
                        extent = Some((how, line.span));
                    }
                    "rate" => rate = Some((read_rate(&mut field)?, line.span)),
                    "conversion" => {
                        let figure = field.figure(&[Kind::Ratio])?;
                        if !(figure.low > 0.0 && figure.low <= 1.0) {
                            return Err(Diagnostic::new(Code::OutOfRange, figure.span, "a conversion lies between 0 and 100 %")
                                .help("write the share of the limiting reactant that reacts: `conversion 92 %`"));
                        }
                        extent = Some((Extent::Conversion(figure.low), line.span));
                    }
                    "catalyst" => {
                        let at = field.cursor.here();
                        let name = field.name_or_text()?;
                        catalyst = Some((known(&Name { text: name, span: at }, defs)?, at));
                    }
                    "heat" => {
                        let figure = field.figure(&[Kind::MolarEnergy])?;
                        heat = Some(Sourced { value: figure.low, source: Arc::clone(&field.source), span: field.span });
                    }
                    _ => {
                        let how = if field.word("on_contact") {
                            Extent::OnContact
                        } else if field.word("slowly") {
                            Extent::Slowly
                        } else {
                            return Err(field.failed(&field.cursor.failure("`on_contact` or `slowly`", false)));
                        };
                        extent = Some((how, line.span));
                    }
                }
                field.end()
            });
            if let Err(finding) = read {
                findings.push(finding);
            }
        } else {
            match read_equation(line, defs, findings) {
                Some(read) if equation.is_none() => equation = Some((read, line.span)),
                Some(_) => findings.push(
                    Diagnostic::new(Code::SyntaxExpected, line.span, "a reaction has one equation")
                        .help("declare a second reaction for the second equation"),
                ),
                None => {}
            }
        }
    }
    if broken || findings.len() > before {
        return None;
    }
    let Some(((left, right, reversible), equation_span)) = equation else {
        findings.push(
            Diagnostic::new(Code::SyntaxExpected, block.head.span, format!("the reaction `{name}` has no equation"))
                .help("write it as `acid + alcohol <=> ester + water`, with names of substances"),
        );
        return None;
    };
    let extent = match (extent, reversible) {
        (Some((Extent::Equilibrium(_) | Extent::InActivities(_), at)), false) => {
            findings.push(
                Diagnostic::new(Code::SyntaxExpected, at, "an equilibrium constant belongs to a reversible equation, written with `<=>`")
                    .help("write `<=>` in the equation, or `conversion 95 %` in place of `equilibrium`"),
            );
            return None;
        }
        (Some((extent, _)), _) => extent,
        (None, _) => {
            let (field, sign) = if reversible { ("equilibrium 4.2", "<=>") } else { ("conversion 95 %", "->") };
            findings.push(
                Diagnostic::new(Code::SyntaxExpected, block.head.span, format!("the reaction `{name}` does not say how far it goes"))
                    .help(format!("with `{sign}` a line such as `{field}` belongs here")),
            );
            return None;
        }
    };
    if let Some((read, at)) = &rate
        && let Some(finding) = rate_fits(&read.value, *at, &left, &extent, catalyst.is_some())
    {
        findings.push(finding);
        return None;
    }
    balanced(&left, &right, defs, equation_span, findings).then_some(Reaction {
        name,
        span,
        equation_span,
        left,
        right,
        extent,
        catalyst,
        rate: rate.map(|(rate, _)| rate),
        heat,
    })
}

fn is_field(line: &Line) -> bool {
    let arrow = line.tokens.iter().any(|token| matches!(token.tok, Tok::Arrow | Tok::Equilibrium));
    !arrow && matches!(line.first_word(), Some("equilibrium" | "conversion" | "catalyst" | "rate" | "heat" | "runs"))
}

fn positive(field: &mut Field<'_>) -> Result<f64, Diagnostic> {
    let figure = field.figure(&[Kind::Ratio])?;
    if figure.low > 0.0 && figure.high.is_none() {
        Ok(figure.low)
    } else {
        Err(Diagnostic::new(Code::OutOfRange, figure.span, "an equilibrium constant is one number above zero"))
    }
}

/// `2e-5 L/mol/s at 80 degC, 60 kJ/mol, catalyst order 1`.
fn read_rate(field: &mut Field<'_>) -> Result<Sourced<Rate>, Diagnostic> {
    let constant = field.figure(&[Kind::RateConstant])?;
    if constant.low <= 0.0 || constant.high.is_some() {
        return Err(Diagnostic::new(Code::OutOfRange, constant.span, "a rate constant is one figure above zero"));
    }
    let Some(t) = field.at_temperature()? else {
        return Err(field.failed(&field.cursor.failure("the temperature of the constant, as in `at 80 degC`,", false)));
    };
    if !field.comma() {
        return Err(field.failed(&field.cursor.failure("a comma and the energy of activation, as in `, 60 kJ/mol`,", false)));
    }
    let energy = field.figure(&[Kind::MolarEnergy])?;
    if !(0.0..=400_000.0).contains(&energy.low) || energy.high.is_some() {
        return Err(Diagnostic::new(Code::OutOfRange, energy.span, "an energy of activation is one figure from 0 to 400 kJ/mol"));
    }
    let mut order = 0.0;
    if field.comma() {
        if !(field.word("catalyst") && field.word("order")) {
            return Err(field.failed(&field.cursor.failure("`catalyst order` and a number", false)));
        }
        let figure = field.figure(&[Kind::Ratio])?;
        if !(0.0..=3.0).contains(&figure.low) || figure.high.is_some() {
            return Err(Diagnostic::new(Code::OutOfRange, figure.span, "the order in the catalyst is one number from 0 to 3"));
        }
        order = figure.low;
    }
    let value = Rate { constant: constant.low, t, energy: energy.low, order };
    Ok(Sourced { value, source: Arc::clone(&field.source), span: field.span })
}

/// Why a rate does not go with the rest of the reaction.
fn rate_fits(rate: &Rate, at: Span, left: &Side, extent: &Extent, catalyst: bool) -> Option<Diagnostic> {
    let wrong = |message: &str, help: &str| Some(Diagnostic::new(Code::SyntaxExpected, at, message.to_owned()).help(help.to_owned()));
    if !matches!(extent, Extent::Equilibrium(_) | Extent::InActivities(_)) {
        return wrong(
            "a rate belongs to a reaction that comes to an equilibrium",
            "write the equation with `<=>` and an `equilibrium`; what goes to its end has a large constant: `equilibrium 1e6`",
        );
    }
    if left.len() != 2 {
        return wrong(
            "a rate in L/mol/s is that of two substances, each of first order, and these do not stand on the left of the equation",
            "leave `rate` out: the reaction then is at equilibrium as soon as it runs",
        );
    }
    if rate.order > 0.0 && !catalyst {
        return wrong(
            "the rate follows a catalyst, and the reaction names none",
            "add the line `catalyst NAME`, or leave out `catalyst order`",
        );
    }
    None
}

fn known(name: &Name, defs: &Definitions) -> Result<Sub, Diagnostic> {
    defs.find(&name.text).ok_or_else(|| unknown_substance(name, defs))
}

/// The finding for a substance that nothing declares.
#[must_use]
pub fn unknown_substance(name: &Name, defs: &Definitions) -> Diagnostic {
    let own = defs.substance_names.keys().map(String::as_str);
    let library = crate::library::names(&["substance", "agent", "solution"]);
    let finding = Diagnostic::new(
        Code::UnknownSubstance,
        name.span,
        format!("`{}` is not a substance that the library or this file declares", name.text),
    );
    let near = suggest::near(&name.text, own.chain(library), 3);
    match near.as_slice() {
        [] => finding.help("check the spelling, or declare it with a `substance` block"),
        [one] => finding.help(format!("did you mean `{one}`?")).guess(name.span, (*one).to_owned()),
        _ => finding.help(format!("did you mean {}?", suggest::listed(&near, "or"))),
    }
}

type Side = Vec<(f64, Sub)>;
type Equation = (Side, Side, bool);

fn read_equation(line: &Line, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Option<Equation> {
    let at = line.tokens.iter().position(|token| matches!(token.tok, Tok::Arrow | Tok::Equilibrium));
    let Some(at) = at else {
        findings.push(
            Diagnostic::new(Code::SyntaxExpected, line.span, "neither an equation nor a field of a reaction stands here")
                .help("an equation has `<=>` or `->` in it; the fields are `equilibrium`, `conversion`, `catalyst`, `rate` and `heat`"),
        );
        return None;
    };
    let reversible = line.tokens.get(at).is_some_and(|token| token.tok == Tok::Equilibrium);
    let left = side(line.tokens.get(..at)?, line.span, defs, findings);
    let right = side(line.tokens.get(at + 1..)?, line.span, defs, findings);
    Some((left?, right?, reversible))
}

fn side(tokens: &[Token], whole: Span, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Option<Side> {
    let mut cursor = Cursor::new(tokens, whole.after());
    let mut terms = Vec::new();
    let mut good = true;
    loop {
        let mut coefficient = 1.0;
        let name = match cursor.peek() {
            Some(Tok::Quantity(measure)) => {
                coefficient = measure.low;
                let unit = measure.unit.clone();
                cursor.advance();
                match unit {
                    Some((text, span)) => Ok(Name { text, span }),
                    None => cursor.name("the name of a substance"),
                }
            }
            _ => cursor.name("the name of a substance"),
        };
        match name {
            Ok(name) => match known(&name, defs) {
                Ok(sub) if coefficient > 0.0 => terms.push((coefficient, sub)),
                Ok(_) => {
                    findings.push(Diagnostic::new(Code::OutOfRange, name.span, "a coefficient is a number above zero"));
                    good = false;
                }
                Err(finding) => {
                    findings.push(finding);
                    good = false;
                }
            },
            Err(failure) => {
                findings.push(Diagnostic::new(
                    Code::SyntaxExpected,
                    failure.span,
                    format!("the name of a substance belongs in this equation; {} was met", failure.met),
                ));
                return None;
            }
        }
        if cursor.is_done() {
            return good.then_some(terms);
        }
        if !matches!(cursor.peek(), Some(Tok::Sign("+"))) {
            let failure = cursor.failure("`+`", false);
            findings.push(
                Diagnostic::new(Code::SyntaxExpected, failure.span, format!("`+` is missing before {}", failure.met))
                    .help("the terms of an equation are joined by `+`"),
            );
            return None;
        }
        cursor.advance();
    }
}

fn balanced(left: &Side, right: &Side, defs: &Definitions, span: Span, findings: &mut Vec<Diagnostic>) -> bool {
    fn formulas<'a>(side: &Side, defs: &'a Definitions) -> Result<Vec<(f64, &'a Formula)>, Sub> {
        side.iter().map(|(n, sub)| defs.substance(*sub).formula.as_ref().map(|formula| (*n, &formula.value)).ok_or(*sub)).collect()
    }
    let (left, right) = match (formulas(left, defs), formulas(right, defs)) {
        (Ok(left), Ok(right)) => (left, right),
        (Err(sub), _) | (_, Err(sub)) => {
            let name = &defs.substance(sub).name;
            findings.push(
                Diagnostic::new(
                    Code::NotKnown,
                    span,
                    format!("the formula of `{name}` is not known, so nothing can be said about its atoms"),
                )
                .help("give its formula where it is declared"),
            );
            return false;
        }
    };
    let difference = balance::imbalance(&left, &right);
    if difference.is_empty() {
        return true;
    }
    let mass = |side: &[(f64, &Formula)]| side.iter().map(|(n, formula)| n * formula.molar_mass() * 1e3).sum::<f64>();
    let (before, after) = (mass(&left), mass(&right));
    findings.push(
        Diagnostic::new(
            Code::Unbalanced,
            span,
            format!(
                "this equation does not balance: {before:.3} g/mol goes in and {after:.3} g/mol comes out; it lacks {}",
                balance::missing(&difference)
            ),
        )
        .help("write every by-product, water and gases too, and the coefficients: `2 acetic_acid`"),
    );
    false
}
