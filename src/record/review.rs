//! The review of one record.

use serde::Serialize;

use super::bound::{self, Purity, Weighed, name_of, purities, weighed};
use super::run::{AsWeighed, Run};
use super::{points, stated};
use crate::chemistry::uncertainty::{COVERAGE, Combined, Input, propagate, together};
use crate::diagnostics::{Code, Diagnostic};
use crate::emit::words;
use crate::evaluate::Fact;
use crate::kinds::{Kind, show, significant};
use crate::matter::linear::{BindingId, Procedure};
use crate::resolve::definitions::{Definitions, Sub};
use crate::resolve::record::Record;

/// A figure with its uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Figure {
    /// The estimate.
    pub value: f64,
    /// Combined standard uncertainty.
    pub standard: f64,
    /// Expanded uncertainty, coverage factor 2.
    pub expanded: f64,
}

impl Figure {
    /// With this standard uncertainty.
    #[must_use]
    pub fn new(value: f64, standard: f64) -> Self {
        Self { value, standard, expanded: COVERAGE * standard }
    }

    /// In another unit.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self::new(self.value * factor, self.standard * factor.abs())
    }
}

impl From<&Combined> for Figure {
    fn from(combined: &Combined) -> Self {
        Self::new(combined.value, combined.standard)
    }
}

/// One line of a budget.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Part {
    /// What contributes.
    pub what: String,
    /// Its share of the squared uncertainty.
    pub share: f64,
}

/// A yield.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Yield {
    /// As a share of theory.
    pub of_theory: Figure,
    /// What contributes to its uncertainty, the most first.
    pub budget: Vec<Part>,
}

/// A purity as found.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Share {
    /// Of the mass, or of the area of a chromatogram.
    pub of: Figure,
    /// Whether it is of the area.
    pub by_area: bool,
}

/// A portion that was taken and weighed or measured.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Taken {
    /// The portion.
    pub portion: String,
    /// How much of it, g.
    pub found_g: Figure,
    /// Whether it is a drying agent.
    pub agent: bool,
    /// Its purity as it stood on the shelf, as a share, where it was found.
    pub purity: Option<Share>,
    /// Its water, likewise.
    pub water: Option<Figure>,
}

/// What came of one product.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Product {
    /// The portion.
    pub portion: String,
    /// The substance.
    pub substance: String,
    /// What runs out first, by the name of its take, where one does.
    pub limiting: Option<String>,
    /// Whether that was weighed.
    pub limiting_weighed: bool,
    /// What was found, g.
    pub found_g: Figure,
    /// What theory allows at the amounts as weighed, g.
    pub theory_g: Figure,
    /// Whether nothing makes it, so that theory is what was taken.
    pub recovered: bool,
    /// Its purity as found, as a share.
    pub purity: Option<Share>,
    /// Its water as found, as a share of its mass.
    pub water: Option<Figure>,
    /// As weighed.
    pub crude: Yield,
    /// With the purity and the water found; absent where neither was.
    pub corrected: Option<Yield>,
    /// What was predicted at the amounts as weighed, as a share of theory.
    pub predicted: Option<f64>,
}

/// A portion found against the prediction.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Difference {
    /// The portion.
    pub portion: String,
    /// The step that makes it.
    pub step: Option<String>,
    /// What was found, g.
    pub found_g: Figure,
    /// What was predicted at the amounts as weighed, g, with the uncertainty that these amounts bring; the model's own
    /// is not known and not in it.
    pub predicted_g: Figure,
    /// Found less predicted, g.
    pub difference_g: Figure,
    /// Whether the difference is more than its expanded uncertainty.
    pub beyond: bool,
    #[serde(skip)]
    pub(super) binding: BindingId,
}

/// The balance of masses.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Balance {
    /// All that went in, g: as weighed, and as planned where it was not.
    pub in_g: f64,
    /// Of that, weighed.
    pub in_weighed_g: f64,
    /// Kept and thrown away, as weighed, g.
    pub out_weighed_g: f64,
    /// Kept and thrown away but not weighed, as predicted, g.
    pub out_predicted_g: f64,
    /// Given off and lost to the air, as predicted, g.
    pub gone_g: f64,
    /// In less out, g.
    pub unaccounted_g: Figure,
}

/// A charge of drying agent out of a jar.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Charge {
    /// The jar.
    pub jar: String,
    /// The day.
    pub date: String,
    /// The portion.
    pub portion: String,
    /// How much was charged, g.
    pub charged_g: f64,
    /// Water that it took up, g, as predicted at the amounts as weighed.
    pub water_g: Option<f64>,
    /// What it holds at least where it worked, g: a bed that hot condensate washes holds less than a cold one.
    pub holds_g: Option<f64>,
    /// What it holds in the cold, g.
    pub holds_cold_g: Option<f64>,
    /// By how much it had gained, g, where it was weighed after; solvent in it counts.
    pub gained_g: Option<f64>,
    /// Whether it was regenerated after the run, and how.
    pub regenerated: Option<String>,
}

/// How a step went.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StepFound {
    /// Its title.
    pub title: String,
    /// How long it took, s.
    pub took_s: Option<f64>,
    /// The working times that the procedure gives for it, s.
    pub planned_s: Option<f64>,
    /// How warm it was, in words.
    pub at: Option<String>,
}

/// A review.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Review {
    /// The procedure.
    pub procedure: String,
    /// Its title.
    pub title: String,
    /// The variant of it, by its title.
    pub variant: Option<String>,
    /// The day.
    pub date: String,
    /// What the run is called.
    pub called: Option<String>,
    /// The size of the batch against the one written.
    pub scale: f64,
    /// Portions that were taken, as weighed.
    pub taken: Vec<Taken>,
    /// Portions taken that were not weighed: they are counted as planned.
    pub as_planned: Vec<String>,
    /// Products.
    pub products: Vec<Product>,
    /// Portions in the order of the work.
    pub differences: Vec<Difference>,
    /// The balance.
    pub balance: Balance,
    /// What the figures point to, in sentences.
    pub points: Vec<String>,
    /// Drying agents.
    pub charges: Vec<Charge>,
    /// Steps.
    pub steps: Vec<StepFound>,
    /// The range that was collected, in words.
    pub collected: Vec<String>,
    /// Notes, observations, deviations: the word and the text.
    pub texts: Vec<(String, String)>,
}

/// What the parts of a review share.
pub(super) struct Case<'a> {
    pub record: &'a Record,
    pub run: &'a Run<'a>,
    pub weighed: &'a [Weighed<'a>],
    pub now: &'a AsWeighed<'a>,
    /// The masses of the takes that were weighed, kg, in the order in which `now` has them.
    pub masses: Vec<f64>,
    /// What each of them is, with its uncertainty.
    pub inputs: Vec<Input>,
    /// What was found in what was taken: which of the masses, its strength as written, and its purity.
    pub assays: Vec<(usize, f64, Purity<'a>)>,
}

/// Reviews a record; `None` where something in it cannot be, which is reported.
pub fn review(record: &Record, procedure: &Procedure, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Option<Review> {
    let errors = |findings: &[Diagnostic]| findings.iter().filter(|finding| finding.is_error()).count();
    let before = errors(findings);
    let run = Run::new(record, procedure, defs).map_err(|finding| findings.push(*finding)).ok().flatten()?;
    let weighed = weighed(record, &run, findings);
    let kept: Vec<(BindingId, Sub)> = run
        .plan
        .facts
        .iter()
        .filter_map(|fact| if let Fact::Kept { binding, kept_as, .. } = fact { Some((*binding, (*kept_as)?)) } else { None })
        // A bed that is put away is no product.
        .filter(|(binding, sub)| procedure.take_of(*binding).is_none() && defs.substance(*sub).agent.is_none())
        .collect();
    let products: Vec<BindingId> = kept.iter().map(|(binding, _)| *binding).collect();
    let purities = purities(record, procedure, &products, findings);
    let steps = steps(record, &run, findings);
    for (which, _) in &record.jars {
        findings.extend(bound::find(which, procedure).err().map(|finding| *finding));
    }
    if errors(findings) > before {
        return None;
    }
    let mut takes: Vec<(usize, BindingId, f64, f64)> = weighed
        .iter()
        .filter_map(|one| procedure.take_of(one.binding).map(|(number, _)| (number, one.binding, one.mass, one.standard)))
        .collect();
    let mut assays = Vec::new();
    for (binding, purity) in &purities {
        let Some((number, _)) = procedure.take_of(*binding) else { continue };
        let Some(planned) = run.plan.takes.get(&number) else { continue };
        let place = takes.iter().position(|(known, ..)| *known == number).unwrap_or_else(|| {
            // What was found in it changes what it counts for, even where it was not weighed.
            takes.push((number, *binding, planned.mass.si, 0.0));
            takes.len() - 1
        });
        assays.push((place, planned.strength, purity.clone()));
    }
    let inputs: Vec<Input> = takes
        .iter()
        .map(|(_, binding, mass, standard)| Input::new(format!("mass of {}", name_of(*binding, procedure)), *mass, *standard))
        .collect();
    let now = AsWeighed::new(&run, takes.iter().map(|(number, ..)| *number).collect())?;
    let masses = inputs.iter().map(|input| input.value).collect();
    let case = Case { record, run: &run, weighed: &weighed, now: &now, masses, inputs, assays };
    let stuck = case.now.at(&case.counted(), |evaluation, _| evaluation.findings.iter().find(|finding| finding.is_error()).cloned());
    if let Some(finding) = stuck {
        findings.push(
            Diagnostic::new(
                Code::RecordImpossible,
                record.span,
                format!("with the amounts of this record the procedure cannot be worked out: {}", finding.message),
            )
            .help("look at the amounts taken again"),
        );
        return None;
    }
    let found: Vec<Product> = kept
        .iter()
        .filter_map(|(binding, sub)| {
            let own = purities.iter().find(|(known, _)| known == binding).map(|(_, purity)| purity.clone()).unwrap_or_default();
            case.product(*binding, *sub, &own, findings)
        })
        .collect();
    stated::judge(&case, &kept, findings);
    let differences = case.differences();
    let points = points::points(&case, &differences, &found, findings);
    Some(Review {
        procedure: procedure.name.clone(),
        title: procedure.title.clone(),
        variant: procedure.variant.clone(),
        date: record.date.clone(),
        called: record.called.clone(),
        scale: run.plan.scale,
        as_planned: procedure
            .takes
            .iter()
            .filter(|take| !weighed.iter().any(|one| one.binding == take.binding))
            .map(|take| name_of(take.binding, procedure))
            .collect(),
        taken: case.taken(),
        products: found,
        balance: case.balance(),
        differences,
        points,
        charges: case.charges(),
        steps,
        collected: record.collected.iter().map(words::figure).collect(),
        texts: record.texts.iter().map(|(word, text)| ((*word).to_owned(), text.clone())).collect(),
    })
}

fn steps(record: &Record, run: &Run<'_>, findings: &mut Vec<Diagnostic>) -> Vec<StepFound> {
    let procedure = run.written;
    let mut steps = Vec::new();
    for timed in &record.steps {
        let (title, span) = &timed.title;
        let Some(number) = procedure.steps.iter().position(|step| step.title.as_deref() == Some(title.as_str())) else {
            let known: Vec<&str> = procedure.steps.iter().filter_map(|step| step.title.as_deref()).collect();
            let help = crate::diagnostics::suggest::sentence(title, known.iter().copied())
                .unwrap_or_else(|| format!("its steps are {}", crate::diagnostics::suggest::listed(&known, "and")));
            findings.push(Diagnostic::new(Code::UnknownName, *span, format!("no step of `{}` is called so", procedure.name)).help(help));
            continue;
        };
        let own = procedure.statements.iter().enumerate().filter(|(_, statement)| statement.step == Some(number));
        let planned: f64 = own.filter_map(|(place, _)| run.plan.records.get(&place).and_then(|record| record.duration)).sum();
        steps.push(StepFound {
            title: title.clone(),
            took_s: timed.took.map(|figure| figure.middle()),
            planned_s: (planned > 0.0).then_some(planned),
            at: timed.at.as_ref().map(words::figure),
        });
    }
    steps
}

impl Case<'_> {
    pub(super) fn weighed(&self, binding: BindingId) -> Option<&Weighed<'_>> {
        self.weighed.iter().find(|one| one.binding == binding)
    }

    pub(super) fn name(&self, binding: BindingId) -> String {
        name_of(binding, self.run.written)
    }

    fn product(&self, binding: BindingId, sub: Sub, purity: &Purity<'_>, findings: &mut Vec<Diagnostic>) -> Option<Product> {
        let one = self.weighed(binding)?;
        let name = self.name(binding);
        let mut inputs = self.inputs.clone();
        for (place, _, purity) in &self.assays {
            let name = inputs.get(*place).map_or("", |input| input.what.trim_start_matches("mass of ")).to_owned();
            inputs.extend(purity.inputs(&name));
        }
        let theory_at = |x: &[f64]| self.now.theory(&self.counted_at(x), sub);
        let theory = propagate(&inputs, theory_at)?;
        let count = inputs.len();
        inputs.push(Input::new(format!("mass of {name}"), one.mass, one.standard));
        let found_at = |x: &[f64]| x.get(count).copied().unwrap_or(f64::NAN);
        let crude = propagate(&inputs, |x| found_at(x) / theory_at(x))?;
        let mut corrected = None;
        if purity.share.is_some() || purity.water.is_some() {
            inputs.extend(purity.inputs(&name));
            corrected = propagate(&inputs, |x| {
                let (share, water) = (x.get(count + 1).copied().unwrap_or(1.0), x.get(count + 2).copied().unwrap_or(0.0));
                found_at(x) * purity.part(share, water) / theory_at(x)
            });
        }
        let best = corrected.as_ref().unwrap_or(&crude);
        if best.value > 1.0 + best.expanded() {
            let over = (best.value - 1.0) * theory.value;
            findings.push(
                Diagnostic::new(
                    Code::RecordAboveTheory,
                    one.line.span,
                    format!(
                        "this is {} % of theory, {} % at the least: the amounts taken give at most {} of {}",
                        significant(best.value * 100.0, 4),
                        significant((best.value - best.expanded()) * 100.0, 4),
                        show(theory.value, Kind::Mass, 3),
                        self.run.defs.substance(sub).display()
                    ),
                )
                .help(format!(
                    "about {} of it is something else: water, solvent or a reagent; dry it and weigh again, or say what was found: `purity {name} 98 % by area`, `water {name} 1 % w/w`",
                    show(over, Kind::Mass, 2)
                )),
            );
        }
        let (limiting, made) = self.limiting(sub);
        let predicted = self.now.at(&self.counted(), |evaluation, _| evaluation.portion(binding).map(|portion| portion.of(sub)));
        Some(Product {
            portion: name,
            substance: self.run.defs.substance(sub).display(),
            limiting_weighed: limiting.is_some_and(|id| self.weighed(id).is_some()),
            limiting: limiting.map(|id| self.name(id)),
            found_g: Figure::new(one.mass, one.standard).times(1e3),
            theory_g: Figure::from(&theory).times(1e3),
            recovered: !made,
            purity: share_of(purity),
            water: water_of(purity),
            crude: of_theory(&crude),
            corrected: corrected.as_ref().map(of_theory),
            predicted: predicted.map(|mass| mass / theory.value).filter(|share| share.is_finite()),
        })
    }

    /// The masses that what was taken counts for, by what was found in it; `x` are the masses and behind them what each assay
    /// brings.
    fn counted_at(&self, x: &[f64]) -> Vec<f64> {
        let count = self.inputs.len();
        let mut masses = x.get(..count).unwrap_or(&[]).to_vec();
        for (number, (place, strength, purity)) in self.assays.iter().enumerate() {
            let at = |offset: usize, otherwise: f64| x.get(count + 2 * number + offset).copied().unwrap_or(otherwise);
            if let Some(mass) = masses.get_mut(*place) {
                *mass *= purity.factor(at(0, 1.0), at(1, 0.0), *strength);
            }
        }
        masses
    }

    /// The same at what was found.
    pub(super) fn counted(&self) -> Vec<f64> {
        let mut x = self.masses.clone();
        x.extend(self.assays.iter().flat_map(|(_, _, purity)| purity.inputs("")).map(|input| input.value));
        self.counted_at(&x)
    }

    fn taken(&self) -> Vec<Taken> {
        let procedure = self.run.written;
        let weighed = self.weighed.iter().filter_map(|one| Some((one, procedure.take_of(one.binding)?)));
        weighed
            .map(|(one, (_, take))| {
                let name = self.name(one.binding);
                let mass = format!("mass of {name}");
                let own = self.assays.iter().find(|(place, ..)| self.inputs.get(*place).is_some_and(|input| input.what == mass));
                Taken {
                    portion: name,
                    found_g: Figure::new(one.mass, one.standard).times(1e3),
                    agent: self.run.defs.substance(take.material.sub).agent.is_some(),
                    purity: own.and_then(|(_, _, purity)| share_of(purity)),
                    water: own.and_then(|(_, _, purity)| water_of(purity)),
                }
            })
            .collect()
    }

    /// The take of what runs out first in the reaction that makes `sub`, and whether one makes it.
    fn limiting(&self, sub: Sub) -> (Option<BindingId>, bool) {
        self.now.at(&self.counted(), |evaluation, procedure| {
            let makes = |run: &&crate::evaluate::Run| {
                procedure.reactions.get(run.reaction).is_some_and(|reaction| reaction.right.iter().any(|(_, made)| *made == sub))
            };
            let run = evaluation.runs.iter().find(makes);
            let wanted = run.map_or(sub, |run| run.limiting);
            let take = procedure.takes.iter().find(|take| take.material.sub == wanted);
            (take.map(|take| take.binding), run.is_some())
        })
    }

    fn differences(&self) -> Vec<Difference> {
        let procedure = self.run.written;
        let measured: Vec<BindingId> = self.weighed.iter().map(|one| one.binding).filter(|id| procedure.take_of(*id).is_none()).collect();
        let all = |masses: &[f64]| -> Vec<f64> { measured.iter().map(|id| self.now.mass(masses, *id)).collect() };
        // The amounts as weighed are off by their uncertainty, one after the other.
        let mut spreads = vec![Vec::new(); measured.len()];
        for (place, input) in self.inputs.iter().enumerate() {
            let moved = |by: f64| {
                let mut masses = self.masses.clone();
                if let Some(mass) = masses.get_mut(place) {
                    *mass += by;
                }
                all(&masses)
            };
            for (parts, (more, less)) in spreads.iter_mut().zip(moved(input.standard).into_iter().zip(moved(-input.standard))) {
                parts.push(0.5 * (more - less));
            }
        }
        let spread = |binding: BindingId| {
            let place = measured.iter().position(|id| *id == binding);
            place.and_then(|place| spreads.get(place)).map_or(f64::NAN, |parts| together(parts))
        };
        let mut found: Vec<Difference> = self
            .weighed
            .iter()
            .filter(|one| procedure.take_of(one.binding).is_none())
            .filter_map(|one| {
                let predicted = self.now.mass(&self.masses, one.binding);
                let spread = spread(one.binding);
                let joint = together(&[one.standard, spread]);
                let off = one.mass - predicted;
                let step = match procedure.binding(one.binding).origin {
                    crate::matter::linear::Origin::Result(number, _) => {
                        let step = procedure.statements.get(number).and_then(|statement| statement.step);
                        step.and_then(|step| procedure.steps.get(step)).and_then(|step| step.title.clone())
                    }
                    crate::matter::linear::Origin::Take(_) => None,
                };
                (predicted.is_finite() && joint.is_finite()).then(|| Difference {
                    portion: self.name(one.binding),
                    step,
                    found_g: Figure::new(one.mass, one.standard).times(1e3),
                    predicted_g: Figure::new(predicted, spread).times(1e3),
                    difference_g: Figure::new(off, joint).times(1e3),
                    beyond: off.abs() > COVERAGE * joint,
                    binding: one.binding,
                })
            })
            .collect();
        found.sort_by_key(|one| one.binding);
        found
    }

    fn balance(&self) -> Balance {
        let procedure = self.run.written;
        let is_take = |one: &&Weighed<'_>| procedure.take_of(one.binding).is_some();
        self.now.at(&self.masses, |evaluation, now| {
            let balance = crate::matter::balance::balance(now, self.run.defs, evaluation);
            let ends = |id: BindingId| {
                procedure.binding(id).used_by.is_none_or(|by| {
                    let effects = procedure.statements.get(by).map(|statement| &statement.operation.effects);
                    effects.is_some_and(|effects| effects.iter().any(|call| matches!(call.effect.as_str(), "store" | "discard")))
                })
            };
            let of = |id: BindingId| evaluation.portions.get(&id).map_or(0.0, crate::matter::portion::Portion::mass);
            let (mut measured, mut predicted) = (0.0, 0.0);
            let mut parts: Vec<f64> = self.weighed.iter().filter(is_take).map(|one| one.standard).collect();
            for number in 0..procedure.bindings.len() {
                let id = BindingId(number);
                if !ends(id) || !evaluation.portions.contains_key(&id) {
                    continue;
                }
                match self.weighed(id) {
                    Some(one) => {
                        measured += one.mass;
                        parts.push(one.standard);
                    }
                    None => predicted += of(id),
                }
            }
            let as_predicted: f64 = (0..procedure.bindings.len()).map(BindingId).filter(|id| ends(*id)).map(of).sum();
            let gone = (balance.mass_out - as_predicted).max(0.0);
            let off = balance.mass_in - measured - predicted - gone;
            Balance {
                in_g: balance.mass_in * 1e3,
                in_weighed_g: self.weighed.iter().filter(is_take).map(|one| one.mass).sum::<f64>() * 1e3,
                out_weighed_g: measured * 1e3,
                out_predicted_g: predicted * 1e3,
                gone_g: gone * 1e3,
                unaccounted_g: Figure::new(off, together(&parts)).times(1e3),
            }
        })
    }

    fn charges(&self) -> Vec<Charge> {
        let procedure = self.run.written;
        let mut charges = Vec::new();
        for (which, jar) in &self.record.jars {
            let Ok(id) = bound::find(which, procedure) else { continue };
            let name = self.name(id);
            let (charged, dried) = self.now.at(&self.masses, |evaluation, _| {
                let dried = evaluation.facts.iter().find_map(|fact| match fact {
                    Fact::Dried { name: own, taken, serves, capacity, .. } if *own == which.name.text => Some((*taken, *serves, *capacity)),
                    _ => None,
                });
                (evaluation.first.get(&id).map(crate::matter::portion::Portion::mass), dried)
            });
            let charged = self.weighed(id).map(|one| one.mass).or(charged).unwrap_or(0.0);
            // What it is called when it has done its work.
            let user = procedure.binding(id).used_by.and_then(|number| procedure.statements.get(number));
            let spent = user.and_then(|statement| statement.outcomes.iter().find(|outcome| outcome.role == "spent"));
            let after = spent.and_then(|outcome| outcome.binding).and_then(|id| self.weighed(id));
            let regenerated = self.record.regenerated.iter().find(|one| one.jar == *jar).map(|one| {
                let at = one.at.as_ref().map(|figure| format!(" at {}", words::figure(figure))).unwrap_or_default();
                let time = one.time.as_ref().map(|figure| format!(" for {}", words::figure(figure))).unwrap_or_default();
                format!("regenerated{at}{time}")
            });
            charges.push(Charge {
                jar: jar.clone(),
                date: self.record.date.clone(),
                portion: name,
                charged_g: charged * 1e3,
                water_g: dried.map(|(taken, ..)| taken * 1e3),
                holds_g: dried.map(|(_, serves, _)| serves * 1e3),
                holds_cold_g: dried.map(|(.., capacity)| capacity * 1e3),
                gained_g: after.map(|after| (after.mass - charged) * 1e3),
                regenerated,
            });
        }
        charges
    }
}

fn share_of(purity: &Purity<'_>) -> Option<Share> {
    let (found, by_area) = purity.share?;
    Some(Share { of: Figure::new(found.reading.figure.low, Purity::standard(found)), by_area })
}

fn water_of(purity: &Purity<'_>) -> Option<Figure> {
    purity.water.map(|found| Figure::new(found.reading.figure.low, Purity::standard(found)))
}

fn of_theory(combined: &Combined) -> Yield {
    let mut budget: Vec<Part> =
        combined.budget.iter().filter(|line| line.share > 0.0).map(|line| Part { what: line.what.clone(), share: line.share }).collect();
    budget.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.what.cmp(&b.what)));
    Yield { of_theory: Figure::from(combined), budget }
}
