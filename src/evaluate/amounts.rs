//! Amounts of materials: from what the author wrote to mass, volume and moles, with the medium
//! that a strength brings along.

use std::sync::Arc;

use super::{Dispensed, Evaluation};
use crate::chemistry::density;
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::kinds::{Kind, show};
use crate::matter::ledger::Num;
use crate::matter::linear::{BindingId, Material, Procedure, Strength};
use crate::matter::mixture::{self, ROOM};
use crate::matter::portion::Portion;
use crate::resolve::amount::{Amount, Expr, Facet, Operator};
use crate::resolve::definitions::{Definitions, Plant, Sourced, Sub};

type Fallible<T> = Result<T, Box<Diagnostic>>;

/// The least and the most that is taken as an amount, kg: a nanogram and a thousand tonnes.
const LEAST: f64 = 1e-12;
const MOST: f64 = 1e6;

/// The margin of an `enough` amount, as a fraction.
#[must_use]
pub fn margin(amount: &Amount) -> f64 {
    match &amount.expr {
        Some(Expr::Figure(figure)) if amount.enough => figure.low,
        _ => 0.0,
    }
}

/// The finding for an amount that is not stated where nothing can be worked out without it.
#[must_use]
pub fn nothing_stated(name: &str, span: crate::source::Span) -> Diagnostic {
    Diagnostic::new(
        Code::CannotSize,
        span,
        format!("the amount of `{name}` is not stated, and nothing here can be worked out without it"),
    )
    .help("give the amount that you use, and say so: `changed \"the amount of … is ours\"`; only what is sized by what it must hold or neutralise can stay open")
}

/// What an amount comes to.
struct Worth {
    num: Num,
    kind: Kind,
}

/// Works out a material's amount and what comes with it.
///
/// # Errors
/// A finding when a density or molar mass is needed and not known, or when nothing can be had of
/// the amount as written.
pub fn dispense(
    evaluation: &mut Evaluation,
    procedure: &Procedure,
    defs: &Definitions,
    material: &Material,
    name: &str,
    is_basis: bool,
) -> Fallible<Dispensed> {
    let Some(expr) = &material.amount.expr else {
        return Err(Box::new(
            Diagnostic::new(
                Code::CannotSize,
                material.amount.span,
                format!("nothing decides how much `{}` is enough here", material.written.text),
            )
            .help("give an amount"),
        ));
    };
    let worth = work_out(evaluation, procedure, defs, material, expr, material.amount.fixed, name)?;
    if !(worth.num.si.is_finite() && worth.num.si > 0.0) {
        return Err(Box::new(Diagnostic::new(
            Code::OutOfRange,
            material.amount.span,
            format!("this amount comes to {}, and nothing can be measured out of it", show(worth.num.si, worth.kind, 3)),
        )));
    }
    let dispensed = of_worth(evaluation, defs, material, &worth, name)?;
    if !(LEAST..=MOST).contains(&dispensed.mass.si) {
        return Err(Box::new(
            Diagnostic::new(
                Code::OutOfRange,
                material.amount.span,
                format!("this amount comes to {:e} g, which nobody can measure out at a bench", dispensed.mass.si * 1e3),
            )
            .help("look at the number and its unit again, or at the size of the batch"),
        ));
    }
    if is_basis {
        match dispensed.moles {
            Some(moles) => evaluation.basis_moles = Some(moles),
            // A plant is scaled by its mass; equivalents are told where they stand.
            None if defs.substance(material.sub).plant.is_some() => {}
            None => {
                return Err(Box::new(
                    Diagnostic::new(
                        Code::NotKnown,
                        procedure.basis_span,
                        format!("`{name}` has no formula, so equivalents cannot be counted on it"),
                    )
                    .help("take a substance with a formula as the basis"),
                ));
            }
        }
    }
    Ok(dispensed)
}

/// A take of this material that weighs `mass`, as when an operation has sized it.
///
/// # Errors
/// As for [`dispense`].
pub fn dispense_mass(evaluation: &mut Evaluation, defs: &Definitions, material: &Material, mass: Num, name: &str) -> Fallible<Dispensed> {
    of_worth(evaluation, defs, material, &Worth { num: mass, kind: Kind::Mass }, name)
}

/// A material of which there is as much as `figure` says, a mass or a volume, whatever the batch.
///
/// # Errors
/// As for [`dispense`].
pub fn stocked(defs: &Definitions, material: &Material, figure: &crate::resolve::quantity::Figure, name: &str) -> Fallible<Dispensed> {
    let mut scratch = Evaluation::new(1.0);
    let num = scratch.ledger.written(format!("{name} in stock"), figure.kind, figure.low, figure.span);
    of_worth(&mut scratch, defs, material, &Worth { num, kind: figure.kind }, name)
}

fn of_worth(evaluation: &mut Evaluation, defs: &Definitions, material: &Material, worth: &Worth, name: &str) -> Fallible<Dispensed> {
    let substance = defs.substance(material.sub).clone();
    let strength = mass_fraction(defs, material)?;
    let fraction = match &material.strength {
        Strength::Pure => None,
        Strength::Figure(figure) => Some(evaluation.ledger.written(
            format!("strength of {name} by mass, from its label"),
            Kind::MassFraction,
            strength,
            figure.span,
        )),
        Strength::Named(_, source) => {
            Some(evaluation.ledger.datum(format!("strength of {name} by mass"), Kind::MassFraction, strength, source))
        }
    };
    let density = density_of(defs, material, strength)?;
    let density_num = density
        .as_ref()
        .map(|density| evaluation.ledger.datum(format!("density of {name}"), Kind::Density, density.value, &density.source));
    let molar = substance.formula.as_ref().map(|formula| {
        let source: Arc<str> = Arc::from(format!("{} with CIAAW abridged atomic weights 2021", substance.formula_text));
        evaluation.ledger.datum(format!("molar mass of {}", substance.display()), Kind::MolarMass, formula.value.molar_mass(), &source)
    });
    let in_solution = fraction.is_some() && strength < 1.0;
    let solid = !in_solution && substance.is_solid(ROOM).unwrap_or(false);
    let what = format!("mass of {name}");
    let mass = match worth.kind {
        Kind::Mass => worth.num,
        Kind::Volume => {
            let Some(density) = density_num else {
                return Err(Box::new(no_density(material, &substance.display(), solid)));
            };
            if solid {
                return Err(Box::new(
                    Diagnostic::new(
                        Code::Mismatch,
                        material.amount.span,
                        format!("{} is a solid: it is weighed, not measured by volume", substance.display()),
                    )
                    .help("give its mass or its moles"),
                ));
            }
            evaluation.ledger.times(what, Kind::Mass, worth.num, density)
        }
        Kind::Amount => {
            let Some(molar) = molar else {
                return Err(Box::new(
                    Diagnostic::new(
                        Code::NotKnown,
                        material.amount.span,
                        format!("{} has no formula, so moles of it mean nothing", substance.display()),
                    )
                    .help("give its mass"),
                ));
            };
            let pure = evaluation.ledger.times(format!("mass of {} in {name}", substance.display()), Kind::Mass, worth.num, molar);
            match fraction {
                Some(fraction) => evaluation.ledger.over(what, Kind::Mass, pure, fraction),
                None => pure,
            }
        }
        _ => {
            return Err(Box::new(Diagnostic::new(Code::Mismatch, material.amount.span, "an amount of material is wanted here")));
        }
    };
    let volume = match (worth.kind, density_num) {
        (Kind::Volume, _) => Some(worth.num),
        (_, Some(density)) if !solid => Some(evaluation.ledger.over(format!("volume of {name}"), Kind::Volume, mass, density)),
        _ => None,
    };
    let mut portion = Portion { temperature: material.at.unwrap_or_else(|| defs.room_temperature()), ..Portion::default() };
    let pure = match fraction {
        Some(fraction) => evaluation.ledger.times(format!("{} in {name}", substance.display()), Kind::Mass, mass, fraction),
        None => mass,
    };
    portion.contents.insert(material.sub, pure);
    if let Some(plant) = &substance.plant {
        parted(evaluation, defs, material, plant, pure, &mut portion);
    }
    if fraction.is_some() && strength < 1.0 {
        let solvent_name = material.solution.as_ref().map_or("water", |solution| solution.solvent.as_str());
        let Some(solvent) = defs.find(solvent_name) else {
            return Err(Box::new(Diagnostic::new(Code::UnknownSubstance, material.span, format!("`{solvent_name}` is not declared"))));
        };
        let rest = evaluation.ledger.minus(format!("{} in {name}", defs.substance(solvent).display()), Kind::Mass, mass, pure);
        portion.contents.insert(solvent, rest);
    }
    if solid && substance.plant.is_some() {
        portion.solid = portion.masses();
    } else if solid {
        portion.solid.insert(material.sub, mass.si);
    }
    let moles = match (worth.kind, molar) {
        (Kind::Amount, _) => Some(worth.num),
        (_, Some(molar)) => Some(evaluation.ledger.over(format!("moles of {} in {name}", substance.display()), Kind::Amount, pure, molar)),
        _ => None,
    };
    Ok(Dispensed { portion, mass, volume, moles, strength, solid, times: 1 })
}

/// A plant as what it holds, its water, and the rest, each its own line of the balance.
fn parted(evaluation: &mut Evaluation, defs: &Definitions, material: &Material, plant: &Plant, mass: Num, portion: &mut Portion) {
    let title = defs.substance(material.sub).display();
    let mut shares: Vec<(Sub, f64, &Arc<str>)> = Vec::new();
    for held in &plant.holds {
        if let Some(sub) = defs.find(&held.value.0) {
            shares.push((sub, 0.5 * (held.value.1 + held.value.2), &held.source));
        }
    }
    match (&plant.moisture, defs.find("water")) {
        (Some(moisture), Some(water)) => shares.push((water, plant.water(), &moisture.source)),
        _ => {
            evaluation.assumed.insert(format!("How much water {title} holds is not known; none is counted."));
        }
    }
    let mut rest = mass;
    for (sub, share, source) in shares {
        let name = defs.substance(sub).display();
        let fraction =
            evaluation.ledger.datum(format!("{name} in {title} by mass, the middle of what is usual"), Kind::MassFraction, share, source);
        let own = evaluation.ledger.times(format!("{name} in {title}"), Kind::Mass, mass, fraction);
        rest = evaluation.ledger.minus(format!("{title} without what it holds"), Kind::Mass, rest, own);
        portion.contents.insert(sub, own);
    }
    portion.contents.insert(material.sub, rest);
    evaluation.assumed.insert(format!(
        "Of {title} what it holds and its water are counted by themselves; the rest has no formula and is conserved whole."
    ));
}

fn no_density(material: &Material, display: &str, solid: bool) -> Diagnostic {
    let finding = Diagnostic::new(
        Code::NotKnown,
        material.amount.span,
        format!("the density of {display} as it is taken here is not known, so its volume says nothing about its mass"),
    );
    if solid { finding.help("it is a solid: give its mass") } else { finding.help("give its mass, or declare its density with a source") }
}

/// The mass fraction of the main substance.
///
/// # Errors
/// A finding when a density is needed and not known, or the strength cannot be had.
pub fn mass_fraction(defs: &Definitions, material: &Material) -> Fallible<f64> {
    let figure = match &material.strength {
        Strength::Pure => return Ok(1.0),
        Strength::Named(value, _) => return Ok(*value),
        Strength::Figure(figure) => figure,
    };
    let substance = defs.substance(material.sub);
    let table: &[(f64, f64)] = material.solution.as_ref().map_or(&[], |solution| &solution.density);
    let lookup = |w: f64| density::interpolate(table, w);
    let value = figure.middle();
    let need_table = || {
        Box::new(
            Diagnostic::new(
                Code::NotKnown,
                figure.span,
                format!(
                    "how the density of {} solutions goes with their strength is not known, so this strength cannot be turned into mass",
                    substance.display()
                ),
            )
            .help("give the strength as `% w/w`, or declare a `solution` with its densities"),
        )
    };
    let grades: Vec<&str> = material.solution.iter().flat_map(|solution| solution.grades.keys().map(String::as_str)).collect();
    let grades = if grades.is_empty() { String::new() } else { format!(", or as {}", suggest::listed(&grades, "or")) };
    let out = |why: String| {
        Box::new(
            Diagnostic::new(Code::OutOfRange, figure.span, why)
                .help(format!("give the strength by mass, as `36 % w/w`{grades}; look at the label again")),
        )
    };
    let range = || match (table.first(), table.last()) {
        (Some(low), Some(high)) => format!("the table of its densities goes from {:.1} to {:.1} % w/w", low.0 * 100.0, high.0 * 100.0),
        _ => String::new(),
    };
    match figure.kind {
        Kind::MassFraction => {
            // A strength beyond what dissolves would be a slurry, not a solution.
            let top = table.last().map_or(1.0, |(w, _)| *w);
            if substance.is("salt") && !table.is_empty() && value > top + 0.005 {
                return Err(out(format!("{:.1} % w/w is more {} than water dissolves: {}", value * 100.0, substance.display(), range())));
            }
            Ok(value)
        }
        Kind::VolumeFraction => {
            let Some(pure) = substance.liquid_density() else { return Err(need_table()) };
            if table.is_empty() {
                return Err(need_table());
            }
            density::mass_fraction_from_volume(value, pure.value.1, lookup)
                .map_err(|_| out(format!("no strength by mass has this strength by volume: {}", range())))
        }
        Kind::MassPerVolume | Kind::Concentration => {
            let molar = substance.molar_mass();
            let per_volume = match (figure.kind, molar) {
                (Kind::MassPerVolume, _) => value,
                (_, Some(molar)) => value * molar,
                _ => return Err(need_table()),
            };
            if table.is_empty() {
                return Err(need_table());
            }
            density::mass_fraction_from_concentration(per_volume, lookup).map_err(|_| {
                let most = table.iter().map(|(w, density)| w * density).fold(0.0, f64::max);
                let most = if figure.kind == Kind::Concentration { most / molar.unwrap_or(1.0) } else { most };
                let (asked, most) = (show(value, figure.kind, 3), show(most, figure.kind, 3));
                out(format!(
                    "{} of {asked} cannot be had: the strongest that is tabulated has {most}, and {}",
                    substance.display(),
                    range()
                ))
            })
        }
        Kind::Molality => {
            let Some(molar) = substance.molar_mass() else { return Err(need_table()) };
            Ok(value * molar / (1.0 + value * molar))
        }
        Kind::Density => {
            let found: Vec<f64> = table
                .windows(2)
                .filter_map(|pair| match pair {
                    [(w1, d1), (w2, d2)] if (d1 - value) * (d2 - value) <= 0.0 && (d2 - d1).abs() > 0.0 => {
                        Some(w1 + (value - d1) / (d2 - d1) * (w2 - w1))
                    }
                    _ => None,
                })
                .collect();
            match found.as_slice() {
                [] => Err(if table.is_empty() {
                    need_table()
                } else {
                    let densities = || table.iter().map(|(_, density)| *density);
                    let (least, most) = (densities().fold(f64::INFINITY, f64::min), densities().fold(0.0, f64::max));
                    out(format!(
                        "no strength of {} has a density of {}: the table goes from {} to {}",
                        substance.display(),
                        show(value, Kind::Density, 4),
                        show(least, Kind::Density, 4),
                        show(most, Kind::Density, 4)
                    ))
                }),
                [one] => Ok(*one),
                _ => Err(out("more than one strength of it has this density".to_owned())),
            }
        }
        _ => Err(out("this does not say how strong it is".to_owned())),
    }
}

/// The density of the material as it is poured, with its source; `None` when not known.
fn density_of(defs: &Definitions, material: &Material, strength: f64) -> Fallible<Option<Sourced<f64>>> {
    let substance = defs.substance(material.sub);
    let diluted = !matches!(material.strength, Strength::Pure) && strength < 1.0;
    if diluted {
        if let Some(solution) = &material.solution
            && let Some(value) = density::interpolate(&solution.density, strength)
        {
            let source = Arc::clone(&solution.density_source);
            return Ok(Some(Sourced { value, source, span: solution.span }));
        }
        return Ok(None);
    }
    Ok(substance.liquid_density().map(|density| Sourced {
        value: density.value.1,
        source: Arc::clone(&density.source),
        span: density.span,
    }))
}

/// The portion that an amount refers to, in one facet.
fn facet(
    evaluation: &mut Evaluation,
    procedure: &Procedure,
    defs: &Definitions,
    id: BindingId,
    facet: Facet,
    span: crate::source::Span,
) -> Fallible<Num> {
    let binding = procedure.binding(id);
    let name = binding.name.clone();
    if let Some(dispensed) = procedure.take_of(id).and_then(|(number, _)| evaluation.takes.get(&number)) {
        let found = match facet {
            Facet::Mass => Some(dispensed.mass),
            Facet::Volume => dispensed.volume,
            Facet::Moles => dispensed.moles,
        };
        if let Some(found) = found {
            return Ok(found);
        }
    }
    let Some(portion) = evaluation.portions.get(&id).cloned() else {
        return Err(Box::new(
            Diagnostic::new(Code::CannotSize, span, format!("`{name}` has no amount yet where this one is worked out"))
                .help("refer to a portion taken, or made earlier"),
        ));
    };
    match facet {
        Facet::Mass => Ok(portion.total(&mut evaluation.ledger, &name)),
        Facet::Volume => {
            let liquid = portion.liquid(defs.find("water"));
            let volume =
                mixture::volume(&liquid, defs, &mut evaluation.assumed).map_err(|sub| Box::new(unknown_volume(defs, sub, &name, span)))?;
            let parts: Vec<Num> = portion.contents.values().copied().collect();
            Ok(evaluation.ledger.model(mixture::models::VOLUME, format!("volume of {name}"), Kind::Volume, volume, &parts))
        }
        Facet::Moles => {
            let main = portion.main();
            let (Some(main), Some(molar)) = (main, main.and_then(|main| defs.substance(main).molar_mass())) else {
                return Err(Box::new(Diagnostic::new(Code::NotKnown, span, format!("`{name}` has no substance with a formula"))));
            };
            let source: Arc<str> = Arc::from("CIAAW abridged atomic weights 2021");
            let molar =
                evaluation.ledger.datum(format!("molar mass of {}", defs.substance(main).display()), Kind::MolarMass, molar, &source);
            let Some(mass) = portion.contents.get(&main).copied() else {
                return Err(Box::new(Diagnostic::new(Code::NotKnown, span, format!("`{name}` is empty"))));
            };
            Ok(evaluation.ledger.over(format!("moles of {} in {name}", defs.substance(main).display()), Kind::Amount, mass, molar))
        }
    }
}

/// The finding for a volume that cannot be worked out.
#[must_use]
pub fn unknown_volume(defs: &Definitions, sub: crate::resolve::definitions::Sub, name: &str, span: crate::source::Span) -> Diagnostic {
    let substance = defs.substance(sub);
    Diagnostic::new(
        Code::NotKnown,
        span,
        format!("the volume of `{name}` is needed here, and the density of {} is not known", substance.display()),
    )
    .help(format!("declare `substance {}` with its density and the source of it", substance.name))
}

fn work_out(
    evaluation: &mut Evaluation,
    procedure: &Procedure,
    defs: &Definitions,
    material: &Material,
    expr: &Expr,
    fixed: bool,
    name: &str,
) -> Fallible<Worth> {
    match expr {
        Expr::Figure(figure) => {
            let value = figure.middle();
            match figure.kind {
                Kind::Mass | Kind::Volume | Kind::Amount => {
                    let kind_word = match figure.kind {
                        Kind::Mass => "mass",
                        Kind::Volume => "volume",
                        _ => "moles",
                    };
                    let written = evaluation.ledger.written(format!("{kind_word} of {name} as written"), figure.kind, value, figure.span);
                    let num = if fixed {
                        written
                    } else {
                        let scale = evaluation.scale_num;
                        evaluation.ledger.times(format!("{kind_word} of {name}"), figure.kind, written, scale)
                    };
                    Ok(Worth { num, kind: figure.kind })
                }
                Kind::Equivalents | Kind::MoleFraction => {
                    let Some(basis) = evaluation.basis_moles else {
                        return Err(Box::new(
                            Diagnostic::new(
                                Code::CannotSize,
                                figure.span,
                                "equivalents are counted on the basis, and the basis has no moles of its own here",
                            )
                            .help("give the basis by mass, volume or moles"),
                        ));
                    };
                    let what = if figure.kind == Kind::Equivalents { "equivalents" } else { "moles for a mole of the basis" };
                    let ratio = evaluation.ledger.written(format!("{what} of {name} as written"), figure.kind, value, figure.span);
                    let num = evaluation.ledger.times(format!("moles of {name}"), Kind::Amount, ratio, basis);
                    Ok(Worth { num, kind: Kind::Amount })
                }
                kind => {
                    let num = evaluation.ledger.written(format!("figure for {name} as written"), kind, value, figure.span);
                    Ok(Worth { num, kind })
                }
            }
        }
        Expr::Of(of, at) => {
            let Some(id) = material.refs.get(&at.text) else {
                return Err(Box::new(Diagnostic::new(Code::UnknownName, at.span, format!("no portion is called `{}` here", at.text))));
            };
            let num = facet(evaluation, procedure, defs, *id, *of, at.span)?;
            Ok(Worth { num, kind: of.kind() })
        }
        Expr::Per(figure, per, at) => {
            let Some(id) = material.refs.get(&at.text) else {
                return Err(Box::new(Diagnostic::new(Code::UnknownName, at.span, format!("no portion is called `{}` here", at.text))));
            };
            let of = match per.kind {
                Kind::Volume => Facet::Volume,
                Kind::Amount => Facet::Moles,
                _ => Facet::Mass,
            };
            let of = facet(evaluation, procedure, defs, *id, of, at.span)?;
            let each = evaluation.ledger.written(
                format!("{name} for each unit of {} as written", at.text),
                figure.kind,
                figure.middle(),
                figure.span,
            );
            let unit = evaluation.ledger.written(format!("the unit of {} that is meant", at.text), per.kind, per.low, per.span);
            let times = evaluation.ledger.over(format!("units of {}", at.text), Kind::Ratio, of, unit);
            let num = evaluation.ledger.times(format!("amount of {name}"), figure.kind, each, times);
            Ok(Worth { num, kind: figure.kind })
        }
        Expr::Binary(operator, left, right, span) => {
            let a = work_out(evaluation, procedure, defs, material, left, fixed, name)?;
            let b = work_out(evaluation, procedure, defs, material, right, fixed, name)?;
            let kind = match operator {
                Operator::Plus => crate::kinds::sum(a.kind, b.kind),
                Operator::Minus => crate::kinds::difference(a.kind, b.kind),
                Operator::Times => crate::kinds::product(a.kind, b.kind),
                Operator::Over => crate::kinds::quotient(a.kind, b.kind),
            };
            let Some(kind) = kind else {
                return Err(Box::new(Diagnostic::new(Code::Mismatch, *span, "these amounts do not go together")));
            };
            let what = format!("amount of {name}");
            let num = match operator {
                Operator::Plus => evaluation.ledger.sum(what, kind, &[a.num, b.num]),
                Operator::Minus => evaluation.ledger.minus(what, kind, a.num, b.num),
                Operator::Times => evaluation.ledger.times(what, kind, a.num, b.num),
                Operator::Over => evaluation.ledger.over(what, kind, a.num, b.num),
            };
            Ok(Worth { num, kind })
        }
    }
}
