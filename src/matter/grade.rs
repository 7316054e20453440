//! What a material is, by its name and grade: the substance, its strength, and whose word that is.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::linear::{Material, PLAIN_GRADES, Strength};
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::resolve::cursor::Name;
use crate::resolve::definitions::{Definitions, Solution, Sub};
use crate::resolve::matcher::RawMaterial;
use crate::resolve::reaction::unknown_substance;

/// What a material is, by its name and grade.
pub(super) struct Graded {
    pub(super) sub: Sub,
    pub(super) solution: Option<Arc<Solution>>,
    pub(super) strength: Strength,
    pub(super) grades: Vec<String>,
    pub(super) good: bool,
    pub(super) of_stock: bool,
}

/// Looks up name and grade of a material; where no grade is written, the bench's stock has the say.
pub(super) fn graded(raw: &RawMaterial, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Option<Graded> {
    let own_strength = defs.named_solution(&raw.name.text).cloned();
    let solution = own_strength.clone().or_else(|| defs.solution_of(&raw.name.text).cloned());
    let name = own_strength.as_ref().or(solution.as_ref()).map_or(&raw.name.text, |solution| &solution.solute);
    let Some(sub) = defs.find(name) else {
        findings.push(unknown_substance(&Name { text: name.clone(), span: raw.name.span }, defs));
        return None;
    };
    // A solution with a strength of its own takes its densities from its solute's table.
    let table = if own_strength.is_some() { defs.solution_of(&defs.substance(sub).name).cloned() } else { solution };
    let mut strength = match &own_strength {
        Some(own) => own.strength.as_ref().map_or(Strength::Pure, |s| Strength::Named(s.value, Arc::clone(&s.source))),
        None => Strength::Pure,
    };
    if let Some(figure) = raw.strength {
        strength = Strength::Figure(figure);
    }
    let substance = defs.substance(sub);
    let mut good = true;
    for grade in &raw.grades {
        if let Some(named) = table.as_ref().and_then(|table| table.grades.get(&grade.text)) {
            strength = Strength::Named(named.value, Arc::clone(&named.source));
        } else if !substance.grades.contains(&grade.text) && !PLAIN_GRADES.contains(&grade.text.as_str()) {
            let mut known: Vec<&str> = substance.grades.iter().map(String::as_str).collect();
            if let Some(table) = &table {
                known.extend(table.grades.keys().map(String::as_str));
            }
            known.extend(PLAIN_GRADES);
            let help =
                format!("the grades of `{}` are {}; a strength is written `96 % w/w`", raw.name.text, suggest::listed(&known, "and"));
            findings.push(
                Diagnostic::new(Code::UnknownGrade, grade.span, format!("`{}` has no grade `{}`", raw.name.text, grade.text)).help(help),
            );
            good = false;
        }
    }
    let grades = raw.grades.iter().map(|grade| grade.text.clone()).collect();
    let silent = raw.grades.is_empty() && raw.strength.is_none() && own_strength.is_none();
    let stock = defs.bench.as_ref().filter(|_| silent).and_then(|bench| bench.stock.iter().find(|stock| stock.material.sub == sub));
    Some(match stock {
        Some(stock) => Graded {
            sub,
            solution: stock.material.solution.clone(),
            strength: stock.material.strength.clone(),
            grades: stock.material.grades.clone(),
            good,
            of_stock: !stock.material.grades.is_empty() || stock.material.strength != Strength::Pure,
        },
        None => Graded { sub, solution: table, strength, grades, good, of_stock: false },
    })
}

/// A material that stands by itself, as in the stock of a bench; its amount refers to no portion.
pub fn material_of(raw: &RawMaterial, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Option<Material> {
    let Graded { sub, solution, strength, grades, good, of_stock } = graded(raw, defs, findings)?;
    good.then_some(Material {
        sub,
        written: raw.name.clone(),
        solution,
        grades,
        strength,
        of_stock,
        amount: raw.amount.clone()?,
        at: raw.at.map(|at| at.middle()),
        refs: BTreeMap::new(),
        span: raw.span,
    })
}
