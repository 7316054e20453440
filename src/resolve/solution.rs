//! What is declared of a solution: density, heat and boiling point against strength, strengths with a name.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::definitions::Solution;
use super::fields::{Field, Read, head_name, lines, sourced};
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::Kind;
use crate::syntax::Block;

/// The fields that there are.
const FIELDS: &[&str] = &["also", "solute", "solvent", "source", "density", "heat", "boils", "grade", "strength"];

/// Where water boils at one atmosphere and where it is no liquid any more, K: between them a solution in it boils.
const BOILS: (f64, f64) = (373.15, 647.0);

/// A solution.
pub fn solution(block: &Block, findings: &mut Vec<Diagnostic>) -> Option<Solution> {
    let (name, span) = head_name(&block.head).map_err(|finding| findings.push(finding)).ok()?;
    let mut solution = Solution {
        name,
        also: Vec::new(),
        span,
        solute: String::new(),
        solvent: "water".to_owned(),
        density: Vec::new(),
        density_source: Arc::from(""),
        heats: Vec::new(),
        heat_source: Arc::from(""),
        boils: Vec::new(),
        grades: BTreeMap::new(),
        strength: None,
    };
    let fractions = &[Kind::MassFraction];
    for line in lines(block, findings) {
        let read = Field::of(line).and_then(|mut field| {
            match field.name {
                "also" => solution.also.extend(field.list()?),
                "solute" => solution.solute = field.name_or_text()?,
                "solvent" => solution.solvent = field.name_or_text()?,
                "source" => solution.density_source = Arc::clone(&field.source),
                "density" => {
                    let strength = field.figure(fractions)?.low;
                    field.comma();
                    let density = field.figure(&[Kind::Density])?.low;
                    solution.density.push((strength, density));
                    if !field.source.is_empty() {
                        solution.density_source = Arc::clone(&field.source);
                    }
                }
                "heat" => {
                    let per_mol = field.number()?;
                    field.comma();
                    let figure = field.figure(&[Kind::MolarEnergy])?;
                    if per_mol <= 0.0 {
                        return Err(Diagnostic::new(
                            Code::OutOfRange,
                            field.span,
                            "moles of solvent to one of solute are a number above zero",
                        )
                        .help("write `heat 10, 66.5 kJ/mol`: in 10 mol of water a mole sets free so much in all"));
                    }
                    solution.heats.push((per_mol, figure.low));
                    if !field.source.is_empty() {
                        solution.heat_source = Arc::clone(&field.source);
                    }
                }
                "boils" => {
                    let row = boils(&mut field, solution.boils.last())?;
                    solution.boils.push(row);
                }
                "grade" => {
                    let word = field.name_or_text()?;
                    field.comma();
                    let strength = field.figure(fractions)?.low;
                    solution.grades.insert(word, sourced(&field, strength));
                }
                "strength" => {
                    let strength = field.figure(fractions)?.low;
                    solution.strength = Some(sourced(&field, strength));
                }
                _ => {
                    return Err(field.unknown("a solution", FIELDS));
                }
            }
            field.end()
        });
        if let Err(finding) = read {
            findings.push(finding);
        }
    }
    if !solution.boils.is_empty() && solution.solvent != "water" {
        let finding = Diagnostic::new(Code::SyntaxExpected, span, "only of a solution in water it is asked where it boils")
            .help("write `solvent water`, or leave the rows `boils` out");
        findings.push(finding);
        solution.boils.clear();
    }
    solution.density.sort_by(|a, b| a.0.total_cmp(&b.0));
    solution.heats.sort_by(|a, b| a.0.total_cmp(&b.0));
    if solution.solute.is_empty() {
        findings.push(
            Diagnostic::new(Code::SyntaxExpected, block.head.span, "this solution does not say what is dissolved")
                .help("write `solute NAME`"),
        );
        return None;
    }
    Some(solution)
}

/// Where a solution of some strength boils: weaker ones stand before it and boil lower.
fn boils(field: &mut Field<'_>, before: Option<&(f64, f64)>) -> Read<(f64, f64)> {
    let strength = field.figure(&[Kind::MassFraction])?.low;
    field.comma();
    let t = field.figure(&[Kind::Temperature])?.low;
    let wrong = |what: &str, help: &str| Err(Diagnostic::new(Code::OutOfRange, field.span, what).help(help));
    if !(strength > 0.0 && strength < 1.0) {
        return wrong("water boils off a solution that holds some: its strength lies above 0 and below 100 %", "leave the row out");
    }
    if !(t > BOILS.0 && t < BOILS.1) {
        return wrong(
            "a solution in water boils above 100 °C, and below 373 °C, where water is no liquid any more",
            "write where it boils at 1 atm; what boils lower is no salt, mineral acid or base",
        );
    }
    if before.is_some_and(|(weaker, lower)| *weaker >= strength || *lower >= t) {
        return wrong(
            "a row does not go on from the one above it",
            "let the rows go from weak to strong: each boils higher than the one before it",
        );
    }
    if field.source.is_empty() {
        return Err(Diagnostic::new(
            Code::SyntaxExpected,
            field.span,
            "a boiling point names its source; that of the solution is for its densities",
        )
        .help("end the row with `source \"…\"`"));
    }
    Ok((strength, t))
}
