//! What an effect sees of the statement it works for: its slots, its results, its record.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::{Dispensed, Evaluation, Fact, amounts};
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::Kind;
use crate::matter::boiling::{self, Boil};
use crate::matter::ledger::Num;
use crate::matter::linear::{Arg, BindingId, Material, Procedure, Statement};
use crate::matter::mixture::{self, Assumed, ROOM};
use crate::matter::portion::{Masses, Portion};
use crate::resolve::definitions::{Apparatus, Definitions, Sub, When};
use crate::resolve::form::{EffectArg, EffectCall};
use crate::resolve::quantity::Figure;
use crate::source::Span;

/// What an effect returns: nothing, or why it cannot go on.
pub type Done = Result<(), Box<Diagnostic>>;

/// A result that holds less than this share of what went in may go unnamed. Our own figure.
pub const TRACE: f64 = 0.005;
/// How many boiling temperatures are remembered: enough for a pot and what goes into it.
const BOILED: usize = 4;

/// The statement as an effect sees it.
pub struct Context<'a> {
    /// The evaluation that goes on.
    pub eval: &'a mut Evaluation,
    /// The procedure.
    pub procedure: &'a Procedure,
    /// Everything declared.
    pub defs: &'a Definitions,
    /// The statement's number.
    pub number: usize,
    /// The statement.
    pub statement: &'a Statement,
    call: &'a EffectCall,
}

/// A portion or material as an effect receives it.
#[derive(Clone, Debug)]
pub struct Taken {
    /// Its binding, unless it comes from the shelf.
    pub binding: Option<BindingId>,
    /// Its name.
    pub name: String,
    /// What it is; empty when its amount is still to be decided.
    pub portion: Portion,
    /// Where it stands.
    pub span: Span,
    /// Where its amount stands, for findings about the amount.
    pub amount_span: Span,
    /// The margin of an amount to be decided by the effect.
    pub enough: Option<f64>,
    /// The material, when it comes from the shelf or from a `take`.
    pub material: Option<Material>,
}

impl<'a> Context<'a> {
    /// For one effect line of a statement.
    pub fn new(
        eval: &'a mut Evaluation,
        procedure: &'a Procedure,
        defs: &'a Definitions,
        number: usize,
        statement: &'a Statement,
        call: &'a EffectCall,
    ) -> Self {
        Self { eval, procedure, defs, number, statement, call }
    }

    /// The statement's span.
    #[must_use]
    pub fn span(&self) -> Span {
        self.statement.span
    }

    fn given(&self, slot: &str) -> Option<&'a EffectArg> {
        self.call.args.iter().find(|(name, _)| name == slot).map(|(_, arg)| arg)
    }

    fn arg(&self, slot: &str) -> Option<(&'a str, &'a Arg)> {
        match self.given(slot)? {
            EffectArg::Slot(own) => self.statement.args.get(own).map(|arg| (own.as_str(), arg)),
            _ => None,
        }
    }

    /// A figure.
    #[must_use]
    pub fn figure(&self, slot: &str) -> Option<Figure> {
        match self.given(slot)? {
            EffectArg::Slot(own) => match self.statement.args.get(own)? {
                Arg::Figure(figure) => Some(*figure),
                _ => None,
            },
            EffectArg::Quantity(si, kind) => {
                Some(Figure { low: *si, high: None, plus_minus: None, kind: *kind, span: self.statement.span })
            }
            EffectArg::Word(_) => None,
        }
    }

    /// Where a figure is said not to be stated.
    #[must_use]
    pub fn not_stated(&self, slot: &str) -> Option<Span> {
        match self.arg(slot)?.1 {
            Arg::NotStated(span) => Some(*span),
            _ => None,
        }
    }

    /// Every figure of a slot that takes several.
    #[must_use]
    pub fn figures(&self, slot: &str) -> Vec<Figure> {
        match self.arg(slot) {
            Some((_, Arg::Figures(figures))) => figures.clone(),
            _ => self.figure(slot).into_iter().collect(),
        }
    }

    /// How many times, 1 where nothing is said.
    #[must_use]
    pub fn times(&self, slot: &str) -> u32 {
        // A count was checked to be a whole number from 1 to 100 when it was read.
        self.figure(slot).map_or(1, |figure| figure.low.clamp(1.0, 100.0).round() as u32)
    }

    /// A fixed word of the effect line.
    #[must_use]
    pub fn word(&self, slot: &str) -> Option<&'a str> {
        match self.given(slot)? {
            EffectArg::Word(word) => Some(word),
            _ => None,
        }
    }

    /// The word that the author chose in a slot.
    #[must_use]
    pub fn choice(&self, slot: &str) -> Option<&'a str> {
        match self.arg(slot) {
            Some((_, Arg::Word(word, _))) => Some(word),
            _ => None,
        }
    }

    /// Reactions by number.
    #[must_use]
    pub fn reactions(&self, slot: &str) -> Vec<usize> {
        match self.arg(slot) {
            Some((_, Arg::Reactions(numbers))) => numbers.clone(),
            _ => Vec::new(),
        }
    }

    /// A substance.
    #[must_use]
    pub fn substance(&self, slot: &str) -> Option<(Sub, Span)> {
        match self.arg(slot)?.1 {
            Arg::Substance(sub, span) => Some((*sub, *span)),
            _ => None,
        }
    }

    /// Apparatus with its size in m³.
    #[must_use]
    pub fn apparatus(&self, slot: &str) -> Option<(Arc<Apparatus>, Option<f64>, Span)> {
        match self.arg(slot)?.1 {
            Arg::Apparatus(apparatus, size, span) => Some((Arc::clone(apparatus), size.map(|size| size.low), *span)),
            _ => None,
        }
    }

    /// Whether the size of the apparatus in a slot was left open by the author and chosen from the bench.
    #[must_use]
    pub fn open(&self, slot: &str) -> bool {
        matches!(self.arg(slot), Some((_, Arg::Apparatus(_, Some(size), span))) if size.span == *span)
    }

    /// A text, or the display name of a substance.
    #[must_use]
    pub fn label(&self, slot: &str) -> Option<(String, Option<Sub>, Span)> {
        match self.arg(slot)?.1 {
            Arg::Text(text, span) => Some((text.clone(), None, *span)),
            Arg::Substance(sub, span) => Some((self.defs.substance(*sub).display(), Some(*sub), *span)),
            _ => None,
        }
    }

    /// The pressure of the room, Pa.
    #[must_use]
    pub fn room(&self) -> f64 {
        self.procedure.about.room()
    }

    /// Boiling temperature of a liquid at the pressure of the room, K.
    #[must_use]
    pub fn boiling(&mut self, liquid: &Masses) -> Option<f64> {
        self.boil(liquid).map(|boil| boil.temperature)
    }

    /// How a liquid boils at the pressure of the room.
    fn boil(&mut self, liquid: &Masses) -> Option<&Boil> {
        if !self.eval.boiled.iter().any(|(of, _)| of == liquid) {
            let boils = boiling::boils(liquid, self.defs, self.room());
            // A pot that is stirred, warmed and left is the same for some statements.
            self.eval.boiled.truncate(BOILED - 1);
            self.eval.boiled.insert(0, (liquid.clone(), boils));
        }
        self.eval.boiled.iter().find(|(of, _)| of == liquid).and_then(|(_, boil)| boil.as_ref())
    }

    /// The same, where its temperature is told: with the model noted and what it assumed; where it really `boils` also
    /// what of its vapour is asked for beyond the equations.
    #[must_use]
    pub fn boiling_told(&mut self, liquid: &Masses, boils: bool) -> Option<f64> {
        let Some(boil) = self.boil(liquid).cloned() else {
            self.model(mixture::models::BOILING);
            return None;
        };
        self.model(boil.model.what);
        self.eval.assumed.extend(boil.said);
        if boils {
            let vapour = boil.vapour.iter().map(|(sub, y)| (*sub, *y));
            crate::operations::beyond::look(self, vapour, boil.temperature);
        }
        Some(boil.temperature)
    }

    /// The record of this statement.
    pub fn record(&mut self) -> &mut super::Record {
        self.eval.records.entry(self.number).or_default()
    }

    /// Notes a model.
    pub fn model(&mut self, model: &'static str) {
        self.record().models.insert(model);
    }

    /// Notes something to expect.
    pub fn expect(&mut self, sentence: String) {
        self.record().expects.push(sentence);
    }

    /// Notes a caution beside those that the operation declares.
    pub fn caution(&mut self, sentence: String) {
        self.record().cautions.insert(sentence);
    }

    /// Everything in a slot that takes or changes portions. A material from the shelf is worked
    /// out and noted, `times` of it.
    ///
    /// # Errors
    /// When its amount cannot be worked out.
    pub fn take(&mut self, slot: &str, times: u32) -> Result<Vec<Taken>, Box<Diagnostic>> {
        let Some((own, arg)) = self.arg(slot) else { return Ok(Vec::new()) };
        match arg {
            Arg::Portions(list) => {
                let mut taken = Vec::new();
                for (id, span) in list {
                    taken.push(self.portion(*id, *span)?);
                }
                Ok(taken)
            }
            Arg::Material(material) => {
                let name = material.written.text.replace('_', " ");
                if material.amount.enough {
                    return Ok(vec![Taken {
                        binding: None,
                        name,
                        portion: Portion { temperature: ROOM, ..Portion::default() },
                        span: material.span,
                        amount_span: material.amount.span,
                        enough: Some(amounts::margin(&material.amount)),
                        material: Some((**material).clone()),
                    }]);
                }
                let mut dispensed = amounts::dispense(self.eval, self.procedure, self.defs, material, &name, false)?;
                dispensed.times = times;
                let portion = dispensed.portion.clone();
                self.eval.materials.insert((self.number, own.to_owned()), dispensed);
                Ok(vec![Taken {
                    binding: None,
                    name,
                    portion,
                    span: material.span,
                    amount_span: material.amount.span,
                    enough: None,
                    material: Some((**material).clone()),
                }])
            }
            _ => Ok(Vec::new()),
        }
    }

    /// The one portion in a slot.
    ///
    /// # Errors
    /// When there is none with an amount.
    pub fn one(&mut self, slot: &str) -> Result<Taken, Box<Diagnostic>> {
        let span = self.span();
        self.take(slot, 1)?
            .into_iter()
            .next()
            .ok_or_else(|| Box::new(Diagnostic::new(Code::CannotSize, span, "nothing goes into this operation")))
    }

    fn portion(&mut self, id: BindingId, span: Span) -> Result<Taken, Box<Diagnostic>> {
        let binding = self.procedure.binding(id);
        let material = self.procedure.take_of(id).map(|(_, take)| take.material.clone());
        let amount_span = material.as_ref().map_or(span, |material| material.span);
        if let Some(margin) = self.eval.deferred.get(&id) {
            return Ok(Taken {
                binding: Some(id),
                name: binding.name.clone(),
                portion: Portion { temperature: ROOM, ..Portion::default() },
                span,
                amount_span,
                enough: Some(*margin),
                material,
            });
        }
        let Some(portion) = self.eval.portions.get(&id).cloned() else {
            return Err(Box::new(Diagnostic::new(Code::CannotSize, span, format!("`{}` has no amount where it is used", binding.name))));
        };
        self.record().inputs.push((Some(id), portion.clone()));
        Ok(Taken { binding: Some(id), name: binding.name.clone(), portion, span, amount_span, enough: None, material })
    }

    /// What is added each of `times` times: from the shelf the stated amount, of a portion its equal
    /// share, since there is only one of it.
    pub fn shares(&mut self, taken: &Taken, times: u32) -> Vec<Portion> {
        if times <= 1 || taken.binding.is_none() {
            return vec![taken.portion.clone(); times.max(1) as usize];
        }
        let share = 1.0 / f64::from(times);
        let mut part = || taken.portion.part(share, &mut self.eval.ledger, self.defs, mixture::models::DIVIDING, "an equal share");
        (0..times).map(|_| part()).collect()
    }

    /// Refuses a portion whose amount is still to be decided where nothing decides it.
    ///
    /// # Errors
    /// When it is one.
    pub fn settled(&self, taken: &Taken) -> Done {
        if taken.enough.is_none() {
            return Ok(());
        }
        if taken.material.as_ref().is_some_and(|material| material.amount.not_stated) {
            return Err(Box::new(amounts::nothing_stated(&taken.name, taken.amount_span)));
        }
        Err(Box::new(
            Diagnostic::new(Code::CannotSize, taken.amount_span, format!("nothing here decides how much `{}` is enough", taken.name)).help(
                "`enough` is for a drying agent that dries something, a bed in a dried return, or a base that neutralises; give an amount",
            ),
        ))
    }

    /// Decides an `enough` amount: `mass` kg before the margin.
    ///
    /// # Errors
    /// When the material cannot be had by mass.
    pub fn size(&mut self, taken: &mut Taken, mass: Num) -> Done {
        let Some(margin) = taken.enough else { return Ok(()) };
        let Some(material) = taken.material.clone() else { return Ok(()) };
        let factor = self.eval.ledger.written(format!("margin of {} as written", taken.name), Kind::Ratio, 1.0 + margin, taken.amount_span);
        let sized = if margin == 0.0 {
            mass
        } else {
            self.eval.ledger.times(format!("mass of {} with its margin", taken.name), Kind::Mass, mass, factor)
        };
        let dispensed = amounts::dispense_mass(self.eval, self.defs, &material, sized, &taken.name)?;
        taken.portion = dispensed.portion.clone();
        taken.enough = None;
        match taken.binding {
            Some(id) => {
                self.eval.deferred.remove(&id);
                if let Some(number) = self.procedure.take_of(id).map(|(number, _)| number) {
                    super::place(self.eval, id, number, dispensed);
                }
                self.record().inputs.push((Some(id), taken.portion.clone()));
            }
            None => {
                let slot = self.statement.args.iter().find_map(|(slot, arg)| match arg {
                    Arg::Material(own) if own.span == material.span => Some(slot.clone()),
                    _ => None,
                });
                if let Some(slot) = slot {
                    self.eval.materials.insert((self.number, slot), dispensed);
                }
            }
        }
        Ok(())
    }

    /// Puts a changed portion back under its name, or under its new one.
    pub fn put(&mut self, taken: &Taken, portion: Portion) {
        let Some(id) = taken.binding else { return };
        self.eval.portions.insert(id, portion.clone());
        let target = match self.statement.renamed {
            Some(new) => {
                self.eval.portions.insert(new, portion.clone());
                self.eval.first.insert(new, portion.clone());
                new
            }
            None => id,
        };
        self.record().outputs.push((String::new(), Some(target), portion));
    }

    /// The results of this statement as written for the given effect roles: role, name, binding,
    /// place among the written.
    #[must_use]
    pub fn outcome(&self, effect_role: &str) -> Option<(String, Option<BindingId>, usize)> {
        let own = self.call.roles.iter().find(|(role, _)| role == effect_role).map(|(_, own)| own)?;
        self.statement
            .outcomes
            .iter()
            .find(|outcome| outcome.role == *own)
            .map(|outcome| (outcome.role.clone(), outcome.binding, outcome.written))
    }

    /// Gives a result. `whole` is the mass of what went into the operation.
    pub fn give(&mut self, effect_role: &str, portion: Portion, whole: f64) {
        let Some((role, binding, _)) = self.outcome(effect_role) else { return };
        self.give_to(role, binding, portion, whole);
    }

    /// The results that a role with several has: role and binding, in the order written.
    #[must_use]
    pub fn outcomes(&self, effect_role: &str) -> Vec<(String, Option<BindingId>)> {
        let Some(own) = self.call.roles.iter().find(|(role, _)| role == effect_role).map(|(_, own)| own) else { return Vec::new() };
        let of_role = self.statement.outcomes.iter().filter(|outcome| outcome.role == *own);
        of_role.map(|outcome| (outcome.role.clone(), outcome.binding)).collect()
    }

    /// Gives a result under its binding.
    pub fn give_to(&mut self, role: String, binding: Option<BindingId>, portion: Portion, whole: f64) {
        let mass = portion.mass();
        let share = mass / whole.max(1e-30);
        match binding {
            Some(id) => {
                if share < 1e-6 {
                    let binding = self.procedure.binding(id);
                    let fact = Fact::Empty { span: binding.span, name: binding.name.clone(), role: role.clone() };
                    self.eval.facts.push(fact);
                }
                self.eval.first.insert(id, portion.clone());
                self.eval.portions.insert(id, portion.clone());
                self.record().outputs.push((role, Some(id), portion));
            }
            None => {
                if share > TRACE {
                    let fact = Fact::Unnamed { span: self.span(), role: role.clone(), mass, share, main: portion.main() };
                    self.eval.facts.push(fact);
                }
                for (sub, mass) in &portion.contents {
                    *self.eval.traces.entry(*sub).or_insert(0.0) += mass.si;
                }
                self.record().outputs.push((role, None, portion));
            }
        }
    }

    /// Lets a gas go.
    pub fn evolve(&mut self, sub: Sub, mass: Num) {
        let total = match self.eval.records.get(&self.number).and_then(|record| record.evolved.get(&sub)) {
            Some(there) => {
                let there = *there;
                self.eval.ledger.sum("gas given off", Kind::Mass, &[there, mass])
            }
            None => mass,
        };
        self.record().evolved.insert(sub, total);
    }

    /// Lets vapour go to the air.
    pub fn air(&mut self, sub: Sub, mass: Num) {
        let total = match self.eval.records.get(&self.number).and_then(|record| record.aired.get(&sub)) {
            Some(there) => {
                let there = *there;
                self.eval.ledger.sum("vapour lost", Kind::Mass, &[there, mass])
            }
            None => mass,
        };
        self.record().aired.insert(sub, total);
    }

    /// Works out again what of a portion is solid, at its temperature.
    pub fn settle(&mut self, portion: &mut Portion) {
        let mut masses = portion.masses();
        if let Some(water) = self.defs.find("water")
            && let Some(mass) = masses.get_mut(&water)
        {
            *mass = (*mass - portion.bound_water).max(0.0);
        }
        portion.solid = mixture::solids(&masses, portion.temperature, self.defs, &mut self.eval.assumed);
    }

    /// Volume of a portion: liquid and solid.
    ///
    /// # Errors
    /// When a density is needed and not known.
    pub fn volume(&mut self, portion: &Portion, name: &str, span: Span) -> Result<f64, Box<Diagnostic>> {
        let liquid = portion.liquid(self.defs.find("water"));
        let volume = mixture::volume(&liquid, self.defs, &mut self.eval.assumed)
            .map_err(|sub| Box::new(amounts::unknown_volume(self.defs, sub, name, span)))?;
        Ok(volume + mixture::solid_volume(&portion.solid, self.defs))
    }

    /// New contents from plain masses, each derived by `model` from what `from` holds of it.
    pub fn derived(&mut self, masses: &Masses, from: &Portion, model: &'static str, name: &str) -> BTreeMap<Sub, Num> {
        self.model(model);
        let operands: Vec<Num> = from.contents.values().copied().collect();
        masses
            .iter()
            .filter(|(_, mass)| **mass > 0.0)
            .map(|(sub, mass)| {
                let what = format!("{} in {name}", self.defs.substance(*sub).display());
                let own: Vec<Num> = from.contents.get(sub).copied().into_iter().collect();
                let operands = if own.is_empty() { &operands } else { &own };
                (*sub, self.eval.ledger.model(model, what, Kind::Mass, *mass, operands))
            })
            .collect()
    }
}

/// Whether the condition holds under which something is needed.
#[must_use]
pub fn is_needed(eval: &Evaluation, defs: &Definitions, number: usize, statement: &Statement, when: &When) -> bool {
    let has = |portion: &Portion, property: &str| crate::operations::portion_is(defs, portion, property);
    match when {
        When::Always => true,
        When::Given(slot) => statement.args.contains_key(slot),
        When::Is(slot, property) => match statement.args.get(slot) {
            Some(Arg::Portions(list)) => {
                let inputs = eval.records.get(&number).map_or(&[][..], |record| &record.inputs);
                let asked = |id: &Option<BindingId>| id.is_some_and(|id| list.iter().any(|(own, _)| *own == id));
                inputs.iter().any(|(id, portion)| asked(id) && has(portion, property))
            }
            _ => eval.shelf(number).any(|(own, dispensed)| own == slot && has(&dispensed.portion, property)),
        },
    }
}

/// Notes the vessels that a statement needs, from its operation's `needs`.
pub fn note_vessels(eval: &mut Evaluation, procedure: &Procedure, defs: &Definitions, number: usize, statement: &Statement) {
    let pinned = statement.args.iter().find_map(|(slot, arg)| match arg {
        // Other slots for apparatus (a trap, an extractor, a bottle) are not the vessel.
        Arg::Apparatus(apparatus, size, span) if slot == "vessel" => Some((Arc::clone(apparatus), size.map(|size| size.low), *span)),
        _ => None,
    });
    let Some(record) = eval.records.get(&number) else { return };
    let mut assumed = Assumed::new();
    let volume_of = |portion: &Portion, assumed: &mut Assumed| {
        let liquid = portion.liquid(defs.find("water"));
        mixture::filling(&liquid, defs, assumed) + mixture::solid_volume(&portion.solid, defs)
    };
    let before: f64 = record.inputs.iter().map(|(_, portion)| volume_of(portion, &mut assumed)).sum();
    let shelf: f64 = eval.shelf(number).map(|(_, dispensed)| volume_of(&dispensed.portion, &mut assumed)).sum();
    let outputs = &record.outputs;
    let mut facts = Vec::new();
    let unsized_need = |name: &str| Fact::Vessel {
        statement: number,
        holds: None,
        name: String::new(),
        needed: name.to_owned(),
        fill: None,
        rule: None,
        volume: 0.0,
        pinned: None,
        span: statement.span,
    };
    // The portion that stays, or the one result of a combination, is what the vessel holds.
    let stays = outputs.iter().find(|(role, id, _)| id.is_some() && (role.is_empty() || outputs.len() == 1));
    let hot = record.temperature.is_some_and(|t| t > crate::operations::distil::hot(defs));
    for need in &statement.operation.needs {
        if !is_needed(eval, defs, number, statement, &need.when) {
            continue;
        }
        let mut need = need.clone();
        // The condenser that the author named is the one that is needed.
        if need.apparatus == "condenser"
            && let Some(Arg::Apparatus(named, _, _)) = statement.args.get("condenser")
        {
            need.apparatus.clone_from(&named.name);
        } else if need.apparatus == "condenser" && hot && defs.apparatus.contains_key("air_condenser") {
            need.apparatus = "air_condenser".to_owned();
            if record.cooled_first {
                facts.push(unsized_need("condenser"));
            }
        }
        // So is the means of heating.
        if need.apparatus == "heating_bath"
            && let Some(Arg::Apparatus(named, _, _)) = statement.args.get("means")
        {
            need.apparatus.clone_from(&named.name);
        }
        let need = &need;
        let known = defs.apparatus.get(&need.apparatus);
        let sized = known.is_none_or(|apparatus| !apparatus.sizes.is_empty());
        if !sized {
            facts.push(unsized_need(&need.apparatus));
            continue;
        }
        let volume = match stays {
            Some((role, id, portion)) => {
                let earlier = record.inputs.iter().find(|(input, _)| role.is_empty() && input == id);
                volume_of(portion, &mut assumed).max(earlier.map_or(0.0, |(_, portion)| volume_of(portion, &mut assumed)))
            }
            None => before + shelf,
        };
        let own_pin = pinned.as_ref().filter(|(apparatus, _, _)| {
            apparatus.name == need.apparatus
                || apparatus.serves.contains(&need.apparatus)
                || statement.operation.needs.len() == 1
                || statement.operation.needs.first() == Some(need)
        });
        facts.push(Fact::Vessel {
            statement: number,
            holds: stays.and_then(|(_, id, _)| *id),
            name: stays.and_then(|(_, id, _)| *id).map_or_else(String::new, |id| procedure.binding(id).name.clone()),
            needed: need.apparatus.clone(),
            fill: need.rule.and_then(|name| defs.rule(name)).map(|rule| rule.value()).or(need.fill),
            rule: need.rule,
            volume,
            pinned: own_pin.cloned(),
            span: statement.span,
        });
    }
    eval.assumed.extend(assumed);
    eval.facts.extend(facts);
}

/// A dispensed material times the number of portions, for the balance and the list of materials.
#[must_use]
pub fn used(dispensed: &Dispensed) -> Masses {
    dispensed.portion.masses().into_iter().map(|(sub, mass)| (sub, mass * f64::from(dispensed.times))).collect()
}
