//! What the sheet and the plan both look up in an outcome: materials as they are measured out,
//! products, waste, reactions, sources.

use std::collections::{BTreeMap, BTreeSet};

use super::measure::{HEAP, Measured, alike, measure};
use super::words;
use crate::evaluate::{Dispensed, Fact, Run};
use crate::kinds::{Kind, significant};
use crate::matter::ledger::Rule;
use crate::matter::linear::{Arg, BindingId, Material, Strength};
use crate::matter::mixture::{ROOM, models};
use crate::matter::model;
use crate::matter::portion::Portion;
use crate::outcome::Outcome;
use crate::resolve::about::Check;
use crate::resolve::amount::Expr;
use crate::resolve::definitions::{Extent, Reaction, Sub, Substance};
use crate::resolve::procedure::{Entry, Step};
use crate::source::Sources;

/// A material as it is measured out.
pub struct Item<'a> {
    /// What the procedure calls it.
    pub name: String,
    /// Its binding, unless it comes from the shelf.
    pub binding: Option<BindingId>,
    /// The statement that takes it from the shelf.
    pub statement: Option<usize>,
    /// The slot it stands in there.
    pub slot: Option<&'a str>,
    /// As written.
    pub material: &'a Material,
    /// As worked out.
    pub dispensed: &'a Dispensed,
    /// As measured.
    pub measured: Measured,
    /// The ends of a range as measured: `10..15 mL`.
    pub ends: Option<(Measured, Measured)>,
    /// How many drops it is, where it was given in drops.
    pub drops: Option<f64>,
}

/// What is left open, to be filled in.
pub const BLANK: &str = "______ (not stated)";

impl Item<'_> {
    /// The amount as it is measured out, or a blank where the source does not state it.
    pub fn amount(&self) -> String {
        if self.material.amount.not_stated {
            return BLANK.to_owned();
        }
        let text = match &self.ends {
            Some((low, high)) => match (low.text.rsplit_once(' '), high.text.rsplit_once(' ')) {
                (Some((number, a)), Some((_, b))) if a == b => format!("{number} to {}", high.text),
                _ => format!("{} to {}", low.text, high.text),
            },
            None => self.measured.text.clone(),
        };
        match self.drops {
            Some(drops) => format!("{text} ({drops:.0} {})", if drops > 1.0 { "drops" } else { "drop" }),
            None => text,
        }
    }

    /// Equivalents from what is measured out, against the basis as it is measured out.
    pub fn equivalents(&self, basis: Option<f64>) -> Option<f64> {
        let moles = self.dispensed.moles?.si * self.measured.ratio();
        basis.filter(|basis| *basis > 0.0).map(|basis| moles / basis)
    }
}

/// Everything that is measured out: what is taken first, then what comes from the shelf, in order.
pub struct Items<'a> {
    /// The list.
    pub all: Vec<Item<'a>>,
    taken: BTreeMap<BindingId, usize>,
    shelf: BTreeMap<(usize, &'a str), usize>,
}

impl<'a> Items<'a> {
    fn of(all: Vec<Item<'a>>) -> Self {
        let taken = all.iter().enumerate().filter_map(|(at, item)| Some((item.binding?, at))).collect();
        let shelf = all.iter().enumerate().filter_map(|(at, item)| Some(((item.statement?, item.slot?), at))).collect();
        Self { all, taken, shelf }
    }

    /// What is taken under that binding.
    pub fn taken(&self, id: BindingId) -> Option<&Item<'a>> {
        self.taken.get(&id).and_then(|at| self.all.get(*at))
    }

    /// What a statement takes from the shelf into a slot.
    pub fn shelf(&self, statement: usize, slot: &str) -> Option<&Item<'a>> {
        self.shelf.get(&(statement, slot)).and_then(|at| self.all.get(*at))
    }
}

/// See [`Items`].
pub fn items<'a>(outcome: &'a Outcome, sources: &Sources) -> Items<'a> {
    let (procedure, evaluation, defs) = (&outcome.procedure, &outcome.evaluation, &outcome.defs);
    // The middle of a range is what the sums are made with; the instrument is one that holds its upper end.
    let written = |material: &Material| match &material.amount.expr {
        Some(Expr::Figure(figure)) if !material.amount.enough => Some(*figure),
        _ => None,
    };
    let measured = |material: &Material, dispensed: &Dispensed, good: f64| {
        let (si, volume) = match &dispensed.volume {
            Some(volume) if !dispensed.solid => (volume.si, true),
            _ => (dispensed.mass.si, false),
        };
        match material.amount.expr.as_ref().filter(|_| !material.amount.enough).and_then(Expr::ends) {
            // A bed has its margin; of anything else that is to be enough a little less is too little.
            None => {
                let bed = defs.substance(material.sub).agent.as_ref().is_some_and(|agent| agent.bead.is_some());
                (measure(defs, si, volume, good, material.amount.enough && !bed), None)
            }
            Some((low, high)) => {
                let top = measure(defs, si * high, volume, good, false);
                (alike(defs, si, &top), Some((alike(defs, si * low, &top), top)))
            }
        }
    };
    let drops = |material: &Material, dispensed: &Dispensed| {
        let drop = procedure.about.drop?;
        let in_drops =
            written(material).is_some_and(|figure| sources.slice(figure.span).trim_end().trim_end_matches('s').ends_with("drop"));
        dispensed.volume.filter(|_| in_drops).map(|volume| (volume.si / drop.low).round().max(1.0))
    };
    // A bed that limits the batch was given an amount; what the compiler sized may be a heap.
    let heap = |material: &Material| {
        material.amount.enough && defs.substance(material.sub).agent.as_ref().is_some_and(|agent| agent.bead.is_none())
    };
    let share = |rule: &str| defs.rule(rule).map_or(0.0, |rule| rule.value());
    let mut items = Vec::new();
    for (number, take) in procedure.takes.iter().enumerate() {
        let Some(dispensed) = evaluation.takes.get(&number) else { continue };
        let good = if heap(&take.material) { HEAP } else { share("good_measure") };
        let (measured, ends) = measured(&take.material, dispensed, good);
        items.push(Item {
            ends,
            drops: drops(&take.material, dispensed),
            name: procedure.binding(take.binding).name.clone(),
            binding: Some(take.binding),
            statement: None,
            slot: None,
            material: &take.material,
            dispensed,
            measured,
        });
    }
    let helpers = outcome.helped.iter().flat_map(|helped| &helped.materials);
    let helpers = helpers.filter(|((statement, _), _)| !std::ptr::eq(outcome.evaluation_of(*statement), evaluation));
    for ((statement, slot), dispensed) in evaluation.materials.iter().chain(helpers) {
        let arg = procedure.statements.get(*statement).and_then(|found| found.args.get(slot));
        let material = match arg {
            Some(Arg::Material(material)) => material.as_ref(),
            _ => match evaluation.passed.get(&(*statement, slot.clone())) {
                Some(material) => material,
                None => continue,
            },
        };
        let (measured, ends) = measured(material, dispensed, share("rough_measure"));
        items.push(Item {
            ends,
            drops: drops(material, dispensed),
            name: material.written.text.clone(),
            binding: None,
            statement: Some(*statement),
            slot: Some(slot),
            material,
            dispensed,
            measured,
        });
    }
    Items::of(items)
}

/// When a statement is done, where it is done only if needed.
pub fn only_if(outcome: &Outcome, statement: Option<usize>) -> Option<&str> {
    outcome.procedure.statements.get(statement?)?.only_if.as_deref()
}

/// Moles of the basis as it is measured out.
pub fn basis_moles(outcome: &Outcome, items: &Items<'_>) -> Option<f64> {
    let take = outcome.procedure.takes.get(outcome.procedure.basis)?;
    let item = items.taken(take.binding)?;
    item.dispensed.moles.map(|moles| moles.si * item.measured.ratio())
}

/// Grade words and strength as written, and how warm it is: `conc`, `1.18 g/mL`, `at 2 °C`. In `full`
/// with what a word or a density stands for: `conc, 36 % w/w`, `1.18 g/mL, that is 36.2 % w/w`.
pub fn grade(outcome: &Outcome, material: &Material, sources: &Sources, full: bool) -> String {
    let mut words: Vec<String> = material.grades.iter().map(|grade| words::plain(grade)).collect();
    let by_mass = |value: f64| format!("{} % w/w", significant(value * 100.0, 3));
    match &material.strength {
        Strength::Figure(figure) => {
            words.push(sources.slice(figure.span).split_whitespace().collect::<Vec<_>>().join(" "));
            if full
                && matches!(figure.kind, Kind::Density | Kind::Concentration | Kind::Molality)
                && let Ok(value) = crate::evaluate::amounts::mass_fraction(&outcome.defs, material)
            {
                words.push(format!("that is {}", by_mass(value)));
            }
        }
        // A solution with a name of its own says its strength by its name.
        Strength::Named(value, _) if full && !material.grades.is_empty() => words.push(by_mass(*value)),
        _ => {}
    }
    if let Some(kelvin) = material.at {
        words.push(format!("at {}", words::temperature(kelvin)));
    }
    words.join(", ")
}

/// Name and grade: `acetic acid (glacial)`, `sodium bicarbonate solution (5 % w/w)`.
pub fn material(outcome: &Outcome, material: &Material, sources: &Sources) -> String {
    named(outcome, material, grade(outcome, material, sources, false))
}

/// The same as it stands on the label: `acetic acid (glacial, 100 % w/w)`.
pub fn label(outcome: &Outcome, material: &Material, sources: &Sources) -> String {
    named(outcome, material, grade(outcome, material, sources, true))
}

fn named(outcome: &Outcome, material: &Material, grade: String) -> String {
    let substance = outcome.defs.substance(material.sub);
    let mut name = match &substance.title {
        Some(title) if substance.name == material.written.text => title.clone(),
        _ => words::plain(&material.written.text),
    };
    // A solid or a gas with a strength is a solution, even where only the solute is named.
    let own = substance.name == material.written.text || substance.also.contains(&material.written.text);
    let liquid = substance.is_solid(ROOM) != Some(true) && !substance.is_gas();
    if own && !liquid && material.solution.is_some() && !matches!(material.strength, Strength::Pure) {
        name.push_str(" solution");
    }
    if grade.is_empty() { name } else { format!("{name} ({grade})") }
}

/// What is kept.
pub struct Kept<'a> {
    /// Its binding.
    pub binding: BindingId,
    /// What it holds.
    pub portion: &'a Portion,
    /// The substance that it is kept as.
    pub sub: Option<Sub>,
    /// The most that the reactions could give of it, kg.
    pub theoretical: Option<f64>,
}

/// Everything that is kept, in order.
pub fn kept(outcome: &Outcome) -> Vec<Kept<'_>> {
    let mut most: BTreeMap<Sub, Option<f64>> = BTreeMap::new();
    let mut theoretical =
        |sub: Sub| *most.entry(sub).or_insert_with(|| outcome.evaluation.theoretical(&outcome.procedure, &outcome.defs, sub));
    outcome
        .evaluation
        .facts
        .iter()
        .filter_map(|fact| match fact {
            Fact::Kept { binding, portion, kept_as, .. } => {
                let theoretical = kept_as.and_then(&mut theoretical);
                Some(Kept { binding: *binding, portion, sub: *kept_as, theoretical })
            }
            _ => None,
        })
        .collect()
}

/// kg of what is kept in all that was taken, where nothing reacts: what recrystallising or distilling can give at the most.
pub fn recovered(outcome: &Outcome, kept: &Kept<'_>) -> Option<f64> {
    let taken = outcome.evaluation.taken(kept.sub?);
    (outcome.evaluation.runs.is_empty() && kept.theoretical.is_none() && taken > 0.0 && kept.portion.of(kept.sub?) <= taken * (1.0 + 1e-9))
        .then_some(taken)
}

/// One thing by which a product is known: what is looked at, and what it should be.
pub fn check(check: &Check) -> (String, String) {
    match check {
        Check::Text(word, text) => ((*word).to_owned(), text.clone()),
        Check::Figure(word, figure, at, written) => {
            let name = match *word {
                "melts" => "melting point",
                "boils" => "boiling point",
                "refraction" => "refractive index",
                other => other,
            };
            // A refractive index is a plain number and no percentage, and each of its digits counts.
            let stated = if figure.kind == Kind::Ratio { written.replace("..", " to ") } else { words::figure(figure) };
            let at = at.as_ref().map_or_else(String::new, |at| format!(" at {}", words::figure(at)));
            (name.to_owned(), format!("{stated}{at}"))
        }
    }
}

/// The reaction of a run, with its name.
pub fn reaction<'a>(outcome: &'a Outcome, run: &Run) -> Option<&'a Reaction> {
    outcome.procedure.reactions.get(run.reaction).map(AsRef::as_ref)
}

/// `isoamyl alcohol + acetic acid ⇌ isoamyl acetate + water`
pub fn equation(outcome: &Outcome, reaction: &Reaction) -> String {
    let side = |side: &[(f64, Sub)]| {
        side.iter()
            .map(|(number, sub)| {
                let name = outcome.defs.substance(*sub).display();
                if (*number - 1.0).abs() < 1e-9 { name } else { format!("{number} {name}") }
            })
            .collect::<Vec<_>>()
            .join(" + ")
    };
    let arrow = if matches!(reaction.extent, Extent::Equilibrium(_) | Extent::InActivities(_)) { "⇌" } else { "→" };
    format!("{} {arrow} {}", side(&reaction.left), side(&reaction.right))
}

/// What is thrown away: name, contents, label, in order.
pub fn waste(outcome: &Outcome) -> Vec<(&str, &Portion, &str)> {
    outcome
        .evaluation
        .facts
        .iter()
        .filter_map(|fact| match fact {
            Fact::Discarded { name, portion, label, .. } => Some((name.as_str(), portion, label.as_str())),
            _ => None,
        })
        .collect()
}

/// Whether this binding ends up in the waste.
pub fn is_discarded(outcome: &Outcome, id: BindingId) -> bool {
    let binding = outcome.procedure.binding(id);
    let user = binding.used_by.and_then(|number| outcome.procedure.statements.get(number));
    user.is_some_and(|statement| statement.operation.form.verb() == "discard")
}

/// The step in which a statement stands, from 0.
pub fn step_of(outcome: &Outcome, statement: usize) -> Option<usize> {
    outcome.procedure.statements.get(statement).and_then(|statement| statement.step)
}

/// `step 2`, `step 2, instruction 3`, or `instruction 3` where there are no steps: where a statement stands on the sheet.
pub fn place_of(outcome: &Outcome, statement: usize) -> Option<String> {
    let of = |step: &Step| -> Vec<usize> {
        let own = |entry: &Entry| if let Entry::Statement(own) = entry { Some(*own) } else { None };
        step.entries.iter().filter_map(own).collect()
    };
    let steps = &outcome.procedure.steps;
    let (number, own) = steps.iter().map(of).enumerate().find(|(_, own)| own.contains(&statement))?;
    let place = own.iter().position(|own| *own == statement).filter(|_| own.len() > 1);
    let step = (steps.len() > 1 || steps.iter().any(|step| step.title.is_some())).then(|| format!("step {}", number + 1));
    let parts: Vec<String> = step.into_iter().chain(place.map(|place| format!("instruction {}", place + 1))).collect();
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// Substances in the order in which the work meets them, each with the largest share of a portion
/// that it makes up, and whether it only ever comes off as a gas.
pub struct Met {
    /// The substance.
    pub sub: Sub,
    /// The largest mass fraction that it has anywhere.
    pub share: f64,
    /// Whether it is met only as it is given off.
    pub gas_only: bool,
}

/// See [`Met`].
pub fn met(outcome: &Outcome) -> Vec<Met> {
    let mut found: Vec<Met> = Vec::new();
    let mut note = |sub: Sub, share: f64, gas: bool| match found.iter_mut().find(|met| met.sub == sub) {
        Some(met) => {
            met.share = met.share.max(share);
            met.gas_only &= gas;
        }
        None => found.push(Met { sub, share, gas_only: gas }),
    };
    let portion = |portion: &Portion, note: &mut dyn FnMut(Sub, f64, bool)| {
        let whole = portion.mass();
        // Traces bring no hazard that would be worth a sentence.
        let least = (1e-3 * whole).max(f64::MIN_POSITIVE);
        let mut held: Vec<(Sub, f64)> =
            portion.contents.iter().map(|(sub, mass)| (*sub, mass.si)).filter(|(_, mass)| *mass >= least).collect();
        held.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        for (sub, mass) in held {
            note(sub, mass / whole, false);
        }
    };
    for (number, _) in outcome.procedure.statements.iter().enumerate() {
        let evaluation = outcome.evaluation_of(number);
        let Some(record) = evaluation.records.get(&number) else { continue };
        for (_, input) in &record.inputs {
            portion(input, &mut note);
        }
        for (_, dispensed) in evaluation.shelf(number) {
            portion(&dispensed.portion, &mut note);
        }
        for (_, _, output) in &record.outputs {
            portion(output, &mut note);
        }
        for sub in record.evolved.keys() {
            note(*sub, 0.0, true);
        }
    }
    found
}

/// Names of the models used, each once.
pub fn used_models(outcome: &Outcome) -> BTreeSet<String> {
    let recorded = outcome.evaluation.records.values().flat_map(|record| record.models.iter().copied());
    let derived = outcome.evaluation.ledger.iter().filter_map(|(_, line)| match line.rule {
        Rule::Model(name) => Some(name),
        _ => None,
    });
    let ran = outcome.evaluation.runs.iter().map(|run| run.model);
    recorded.chain(derived).chain(ran).filter(|name| !name.is_empty()).map(str::to_owned).collect()
}

/// What each figure rests on: source, and what is taken from it.
pub fn sources(outcome: &Outcome, texts: &Sources) -> BTreeMap<String, BTreeSet<String>> {
    let mut found: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut note = |what: String, source: &str| {
        if !source.is_empty() {
            found.entry(source.to_owned()).or_default().insert(what);
        }
    };
    for (_, line) in std::iter::once(&outcome.evaluation).chain(&outcome.helped).flat_map(|evaluation| evaluation.ledger.iter()) {
        if let (Rule::Datum, Some(source)) = (line.rule, &line.source) {
            match source.split_once(" with CIAAW") {
                // One source with the formulas in the list reads better than a source for each.
                Some((formula, rest)) => note(format!("{} ({formula})", words::plain(&line.what)), &format!("CIAAW{rest}")),
                None => note(words::plain(&line.what), source),
            }
        }
    }
    let models = used_models(outcome);
    let uses = |model: &str| models.contains(model);
    for met in met(outcome) {
        let substance = outcome.defs.substance(met.sub);
        let name = substance.display();
        if let Some(hazards) = &substance.hazards {
            note(format!("hazards of {name}"), &hazards.source);
            for code in super::before::codes(substance, &met).unwrap_or_default() {
                if let Some((_, source)) = outcome.defs.hazard_texts.get(&code) {
                    note(format!("text of {code}"), source);
                }
            }
        }
        model_data(substance, &name, &uses, &mut note);
    }
    for item in items(outcome, texts).all {
        let instrument = outcome.defs.instruments.iter().find(|one| Some(&one.title) == item.measured.instrument.as_ref());
        if let Some(tolerance) = instrument.and_then(|one| one.tolerance.as_ref()) {
            note(format!("tolerance of the {}", item.measured.instrument.unwrap_or_default()), &tolerance.source);
        }
    }
    found
}

/// Figures that the models read for themselves.
fn model_data(substance: &Substance, name: &str, uses: &dyn Fn(&str) -> bool, note: &mut dyn FnMut(String, &str)) {
    if (uses(models::BOILING) || uses(models::DISTILLING) || uses(models::DRIVEN) || uses(models::FOLLOWED))
        && let Some(boils) = &substance.boils
    {
        note(format!("boiling point of {name}"), &boils.source);
    }
    let boils = [models::BOILING, model::UNIFAC.what, model::DORTMUND.what];
    if boils.iter().any(|what| uses(what))
        && let Some(vapour) = &substance.vapour
    {
        note(format!("vapour pressure of {name}"), &vapour.source);
    }
    let layers = uses(models::LAYERS) || uses(models::ROUGH);
    if uses(models::LAYERS)
        && let Some(groups) = &substance.dortmund_groups
    {
        note(format!("groups of {name}"), &groups.source);
    }
    if layers {
        if let Some(partition) = &substance.partition {
            note(format!("octanol/water partition of {name}"), &partition.source);
        }
        if let Some(takes_up) = &substance.takes_up {
            note(format!("water taken up by {name}"), &takes_up.source);
        }
    }
    if layers || uses(models::DISSOLVING) {
        for solubility in &substance.solubility {
            let solvent = solubility.solvent.as_deref().unwrap_or("water");
            note(format!("solubility of {name} in {}", words::plain(solvent)), &solubility.source);
        }
    }
    if uses(models::IDEAL)
        && let Some(fusion) = &substance.fusion
    {
        note(format!("heat of fusion of {name}"), &fusion.source);
    }
    if let Some(agent) = &substance.agent {
        if uses(models::RESIDUE)
            && let Some(air) = &agent.leaves_in_air
        {
            note(format!("water in air over {name}"), &air.source);
        }
        if uses(models::FOUND) {
            agent
                .leaves
                .iter()
                .for_each(|found| note(format!("water that {name} left in {}", words::plain(&found.value.0)), &found.source));
        }
        if uses(models::DRYING_IN_TIME)
            && let [found, later @ ..] = agent.removes.as_slice()
        {
            note(format!("how fast {name} takes up water"), &found.source);
            later.iter().for_each(|later| note(format!("how much {name} takes up in the end"), &later.source));
        }
    }
    if uses(models::VOLUME)
        && let Some(density) = substance.liquid_density()
    {
        note(format!("density of {name}"), &density.source);
    }
    if uses(models::DRYING)
        && let Some((counted, practical)) = substance.agent.as_ref().and_then(|agent| agent.counted())
    {
        let figure = significant(counted.value, 2);
        let which = if practical { "is counted on for" } else { "holds at most" };
        note(format!("water that {name} {which} ({figure} g/g)"), &counted.source);
    }
}
