//! The plan: everything that was worked out, exactly, for other programs to read.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::view::{self, Item, Items};
use super::words::{self, finite};
use crate::diagnostics::Diagnostic;
use crate::evaluate::Record;
use crate::graph::Work;
use crate::matter::balance;
use crate::matter::linear::{Arg, BindingId};
use crate::matter::portion::Portion;
use crate::outcome::Outcome;
use crate::resolve::definitions::Sub;
use crate::resolve::procedure::Entry;
use crate::source::Sources;

/// The version of this format. It changes when a field changes its meaning or goes.
pub const VERSION: u32 = 1;

/// The version of the language that the plan speaks of.
pub const LANGUAGE: u32 = 1;

/// A plan: a procedure sized to one batch, with everything that was worked out for it. Figures are
/// exact as worked out; the sheet rounds them. An absent or null figure is not known.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Plan {
    /// What this document is.
    pub format: Format,
    /// The procedure.
    pub procedure: ProcedureName,
    /// What the procedure says about itself.
    pub about: About,
    /// The version of the language.
    pub language_version: u32,
    /// The version of the standard library.
    pub library_version: String,
    /// Every file that was read.
    pub inputs: Vec<Input>,
    /// How large the batch is.
    pub batch: Batch,
    /// What is measured out.
    pub materials: Vec<Material>,
    /// Reactions in the order in which they run.
    pub reactions: Vec<Reaction>,
    /// Apparatus.
    pub apparatus: Vec<Apparatus>,
    /// Steps in order.
    pub steps: Vec<Step>,
    /// Every portion as it is when it gets its name.
    pub portions: Vec<PortionState>,
    /// What is kept.
    pub products: Vec<Product>,
    /// What is thrown away.
    pub waste: Vec<Waste>,
    /// What goes in against what comes out.
    pub material_balance: MaterialBalance,
    /// What waits for what.
    pub graph: Graph,
    /// Findings.
    pub findings: Vec<Finding>,
    /// Findings that the author stands by.
    pub allowed: Vec<Allowed>,
    /// Where the data come from: only what was used.
    pub sources: BTreeMap<String, String>,
    /// Models used, by name.
    pub models: Vec<String>,
    /// What had to be assumed, in sentences.
    pub assumed: Vec<String>,
}

/// What this document is.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Format {
    /// Always `scruple plan`.
    pub name: String,
    /// The version of the format.
    pub version: u32,
}

/// The procedure.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ProcedureName {
    /// Its name.
    pub name: String,
    /// Its title.
    pub title: String,
}

/// What the procedure says about itself.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct About {
    /// Where it comes from.
    pub origin: Vec<String>,
    /// What was changed against that.
    pub changed: Vec<String>,
    /// The gas under which all of it is done; null for air.
    pub atmosphere: Option<String>,
    /// What the source isolated, at the batch as written.
    pub isolated: Vec<Isolated>,
    /// By what the products are known.
    pub identity: Vec<Identity>,
}

/// What the source isolated, at the batch as written; one figure is given as a range of no width.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Isolated {
    /// Name of the portion; null for the one product.
    pub portion: Option<String>,
    /// The least mass, g.
    pub least_g: Option<f64>,
    /// The greatest mass, g.
    pub most_g: Option<f64>,
    /// The least yield, %.
    pub least_percent: Option<f64>,
    /// The greatest yield, %.
    pub most_percent: Option<f64>,
}

/// One thing by which a product is known.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Identity {
    /// Name of the portion; null for the one product.
    pub portion: Option<String>,
    /// What is looked at: `melting point`, `appearance`.
    pub what: String,
    /// What it should be, as the sheet has it.
    pub stated: String,
}

/// A file that was read.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Input {
    /// Its name as it was given.
    pub name: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
}

/// How large the batch is.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Batch {
    /// Size against the batch as written, a plain ratio.
    pub scale: Option<f64>,
    /// Name of the portion that equivalents are counted on.
    pub basis: String,
    /// Moles of the basis substance, mol.
    pub basis_mol: Option<f64>,
    /// What the batch was sized by, as it was asked for; null when as written.
    pub sized_by: Option<String>,
}

/// Something that is measured out.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Material {
    /// Address of the portion; for what comes from the shelf, the name of the material.
    pub portion: String,
    /// Name of the main substance.
    pub substance: String,
    /// Grade words and strength as written, with the strength by mass that a word or a density stands
    /// for; empty when nothing is said.
    pub grade: String,
    /// How warm it is when it is used, °C; null where nothing is said.
    #[serde(rename = "temperature_C")]
    pub temperature_c: Option<f64>,
    /// Mass of one portion of it, medium included, g.
    pub mass_g: Option<f64>,
    /// Volume of one portion of it at 20 °C, mL.
    #[serde(rename = "volume_mL")]
    pub volume_ml: Option<f64>,
    /// Moles of the main substance in one portion of it, mol.
    pub moles: Option<f64>,
    /// Moles per mole of the basis, both exact, a plain ratio.
    pub equivalents: Option<f64>,
    /// Whether the source does not state the amount; the figures are then what the work takes.
    pub not_stated: bool,
    /// How one portion of it is measured out.
    pub measured: Measured,
    /// How many portions of it are used.
    pub times: u32,
    /// When it is used, in words; null for what is always used.
    pub only_if: Option<String>,
    /// Number of the step that takes it from the shelf, from 1; null for what is taken at the start.
    pub step: Option<usize>,
}

/// An amount rounded to what the instrument shows.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Measured {
    /// As it is read, with its unit.
    pub text: String,
    /// The figure, in `unit`.
    pub value: Option<f64>,
    /// `g` or `mL`.
    pub unit: String,
    /// The instrument; null when none that is declared measures so little.
    pub instrument: Option<String>,
    /// How often the instrument is filled, a count.
    pub fills: u32,
    /// The lower end in `unit`, where a range was given; `value` is then its middle.
    pub least: Option<f64>,
    /// The upper end in `unit`, where a range was given.
    pub most: Option<f64>,
    /// How many drops it is, where it was given in drops.
    pub drops: Option<f64>,
}

/// A reaction as it runs in one statement.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Reaction {
    /// Its name.
    pub name: String,
    /// Substance of the reactant that runs out first.
    pub limiting: String,
    /// Extent, mol of the equation as written.
    pub extent_mol: Option<f64>,
    /// Share of the limiting reactant that reacts, a fraction.
    pub conversion: Option<f64>,
    /// Mass of each product if the limiting reactant reacted altogether, g, by name.
    pub theoretical_g: BTreeMap<String, f64>,
    /// The model.
    pub model: String,
    /// Number of the step in which it runs, from 1.
    pub step: Option<usize>,
}

/// A vessel or other apparatus.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Apparatus {
    /// Its kind, by name.
    pub kind: String,
    /// Nominal size, mL; null for what has none.
    #[serde(rename = "size_mL")]
    pub size_ml: Option<f64>,
    /// How full it is at its fullest, a fraction of its size.
    pub fill: Option<f64>,
    /// What it holds at its fullest, mL.
    #[serde(rename = "volume_mL")]
    pub volume_ml: Option<f64>,
    /// Address of the portion it holds.
    pub holds: Option<String>,
    /// Number of the step that first uses it, from 1.
    pub step: Option<usize>,
}

/// A step.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Step {
    /// Its number, from 1.
    pub number: usize,
    /// Its heading; null for what stands outside of steps.
    pub title: Option<String>,
    /// The gas under which it is done from that place on; null where nothing is said.
    pub atmosphere: Option<String>,
    /// Notes of the author.
    pub notes: Vec<String>,
    /// Cautions of the author.
    pub cautions: Vec<String>,
    /// What the author says to expect.
    pub expects: Vec<String>,
    /// What is done, in order.
    pub operations: Vec<Operation>,
}

/// One operation on portions.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Operation {
    /// Its name.
    pub operation: String,
    /// Addresses of the portions that go in or are changed.
    pub inputs: Vec<String>,
    /// Addresses of the portions that come out or are changed.
    pub outputs: Vec<String>,
    /// How long it takes, s.
    pub duration_s: Option<f64>,
    /// The temperature it is held at or reaches, °C.
    #[serde(rename = "temperature_C")]
    pub temperature_c: Option<f64>,
    /// When it is done, in words; null for what is always done. Its figures hold for when it is done;
    /// those of everything after it for when it is not.
    pub only_if: Option<String>,
    /// The sentence of the sheet.
    pub text: String,
    /// Cautions.
    pub cautions: Vec<String>,
    /// What to expect, in sentences.
    pub expects: Vec<String>,
    /// Gas given off, mol, by name.
    pub evolved_mol: BTreeMap<String, f64>,
    /// Vapour lost to the air, g, by name.
    pub aired_g: BTreeMap<String, f64>,
    /// Models used, by name.
    pub models: Vec<String>,
}

/// A portion as it is when it gets its name.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PortionState {
    /// Name and occurrence: `crude#2`.
    pub address: String,
    /// Moles of each substance that has a formula, mol, by name.
    pub moles: BTreeMap<String, f64>,
    /// Mass of each substance that has no formula, g, by name.
    pub whole_g: BTreeMap<String, f64>,
    /// Mass, g.
    pub mass_g: Option<f64>,
    /// Volume of what is liquid at 20 °C, mL; null when not known or nothing is liquid.
    #[serde(rename = "volume_mL")]
    pub volume_ml: Option<f64>,
    /// Which of `solid` and `liquid` are there.
    pub phases: Vec<String>,
    /// Temperature, °C.
    #[serde(rename = "temperature_C")]
    pub temperature_c: Option<f64>,
}

/// What is kept.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Product {
    /// Address of the portion.
    pub portion: String,
    /// The substance that it is kept as; null when it is kept as a text.
    pub substance: Option<String>,
    /// Mass, g.
    pub mass_g: Option<f64>,
    /// Mass of the substance if the limiting reactant went into it altogether, g.
    pub theoretical_g: Option<f64>,
    /// Substance in the portion against the theoretical mass, %.
    pub yield_percent: Option<f64>,
    /// Substance in the portion by mass, %.
    pub purity_percent: Option<f64>,
}

/// What is thrown away.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Waste {
    /// Name of the portion.
    pub portion: String,
    /// Label of the waste stream.
    pub stream: String,
    /// Mass, g.
    pub mass_g: Option<f64>,
    /// Volume of what is liquid at 20 °C, mL; null when not known or nothing is liquid.
    #[serde(rename = "volume_mL")]
    pub volume_ml: Option<f64>,
    /// Mass of each substance, g, by name.
    pub contents: BTreeMap<String, f64>,
}

/// What goes in against what comes out.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct MaterialBalance {
    /// By name of the substance.
    pub substances: BTreeMap<String, SubstanceLine>,
    /// By symbol of the element, mol of atoms.
    pub elements: BTreeMap<String, InOut>,
    /// What has no formula, by name, g.
    pub whole: BTreeMap<String, InOut>,
    /// All that goes in, g.
    pub mass_in_g: Option<f64>,
    /// All that comes out, g.
    pub mass_out_g: Option<f64>,
}

/// One substance in the balance.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct SubstanceLine {
    /// Taken, g.
    pub in_g: Option<f64>,
    /// Made, g; negative when used up.
    pub made_g: Option<f64>,
    /// Kept, thrown away or lost, g.
    pub out_g: Option<f64>,
    /// Taken and made less what comes out, g.
    pub closure_g: Option<f64>,
}

/// In and out.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct InOut {
    /// What goes in.
    #[serde(rename = "in")]
    pub into: Option<f64>,
    /// What comes out.
    pub out: Option<f64>,
}

/// What waits for what. A node is `take:NAME` or `statement:N`, N from 1.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Graph {
    /// Nodes in the order of the work.
    pub nodes: Vec<String>,
    /// Edges: the first comes before the second.
    pub edges: Vec<Edge>,
}

/// An edge of the graph.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Edge {
    /// What comes before.
    pub from: String,
    /// What comes after.
    pub to: String,
}

/// A finding.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Finding {
    /// Its code.
    pub code: String,
    /// `error` or `warning`.
    pub severity: String,
    /// The file it stands in.
    pub file: String,
    /// The line, from 1.
    pub line: usize,
    /// Why.
    pub message: String,
    /// What to do about it.
    pub help: Option<String>,
}

/// A finding that the author stands by.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Allowed {
    /// The finding.
    pub finding: Finding,
    /// Why, in the author's words.
    pub reason: String,
}

/// The JSON Schema of plans.
#[must_use]
pub fn schema() -> String {
    let schema = schemars::schema_for!(Plan);
    // A schema is made of texts, numbers and lists, which always serialise.
    serde_json::to_string_pretty(&schema).unwrap_or_default()
}

/// The plan of an outcome.
#[must_use]
pub fn plan(outcome: &Outcome, findings: &[Diagnostic], sources: &Sources) -> Plan {
    let items = view::items(outcome, sources);
    let Outcome { procedure, evaluation, .. } = outcome;
    let basis = procedure.takes.get(procedure.basis).map(|take| procedure.binding(take.binding).name.clone());
    Plan {
        format: Format { name: "scruple plan".to_owned(), version: VERSION },
        procedure: ProcedureName { name: procedure.name.clone(), title: procedure.title.clone() },
        about: about(outcome),
        language_version: LANGUAGE,
        library_version: crate::library::VERSION.to_owned(),
        inputs: outcome.inputs.iter().map(|(name, sha256)| Input { name: name.clone(), sha256: sha256.clone() }).collect(),
        batch: Batch {
            scale: finite(evaluation.scale),
            basis: basis.unwrap_or_default(),
            basis_mol: evaluation.basis_moles.and_then(|moles| finite(moles.si)),
            sized_by: outcome.sized_by.clone(),
        },
        materials: items.all.iter().map(|item| material(outcome, item, sources)).collect(),
        reactions: reactions(outcome),
        apparatus: apparatus(outcome),
        steps: steps(outcome, &items, sources),
        portions: portions(outcome),
        products: products(outcome),
        waste: waste(outcome),
        material_balance: material_balance(outcome),
        graph: graph(outcome),
        findings: findings.iter().map(|found| finding(found, sources)).collect(),
        allowed: outcome
            .allowed
            .iter()
            .map(|allowed| Allowed { finding: finding(&allowed.finding, sources), reason: allowed.reason.clone() })
            .collect(),
        sources: by_what(outcome, sources),
        models: view::used_models(outcome).into_iter().collect(),
        assumed: evaluation.assumed.iter().cloned().collect(),
    }
}

fn about(outcome: &Outcome) -> About {
    let about = &outcome.procedure.about;
    let isolated = about.isolated.iter().map(|one| Isolated {
        portion: one.name.as_ref().map(|name| name.text.clone()),
        least_g: one.mass.and_then(|mass| g(mass.low)),
        most_g: one.mass.and_then(|mass| g(mass.top())),
        least_percent: one.share.and_then(|share| finite(share.low * 100.0)),
        most_percent: one.share.and_then(|share| finite(share.top() * 100.0)),
    });
    let identity = about.identity.iter().flat_map(|one| {
        one.checks.iter().map(|check| {
            let (what, stated) = view::check(check);
            Identity { portion: one.name.as_ref().map(|name| name.text.clone()), what, stated }
        })
    });
    About {
        origin: about.origin.clone(),
        changed: about.changed.clone(),
        atmosphere: about.atmosphere.clone(),
        isolated: isolated.collect(),
        identity: identity.collect(),
    }
}

fn name(outcome: &Outcome, sub: Sub) -> String {
    outcome.defs.substance(sub).name.clone()
}

fn grams(outcome: &Outcome, masses: impl Iterator<Item = (Sub, f64)>) -> BTreeMap<String, f64> {
    masses.filter_map(|(sub, mass)| Some((name(outcome, sub), finite(mass * 1e3)?))).collect()
}

/// Grams of a mass.
fn g(kg: f64) -> Option<f64> {
    finite(kg * 1e3)
}

/// Millilitres of a volume.
fn ml(m3: f64) -> Option<f64> {
    finite(m3 * 1e6)
}

fn celsius(kelvin: f64) -> Option<f64> {
    finite(kelvin - 273.15)
}

fn address(outcome: &Outcome, id: BindingId) -> String {
    outcome.procedure.binding(id).address()
}

fn material(outcome: &Outcome, item: &Item<'_>, sources: &Sources) -> Material {
    let dispensed = item.dispensed;
    let measured = &item.measured;
    let in_unit = |one: &super::measure::Measured| if one.volume { ml(one.si) } else { g(one.si) };
    let basis = outcome.evaluation.basis_moles.map(|moles| moles.si).filter(|moles| *moles > 0.0);
    let equivalents = dispensed.moles.and_then(|moles| basis.and_then(|basis| finite(moles.si / basis)));
    Material {
        portion: item.binding.map_or_else(|| item.name.clone(), |id| address(outcome, id)),
        substance: name(outcome, item.material.sub),
        grade: view::grade(outcome, item.material, sources, true),
        temperature_c: item.material.at.and_then(celsius),
        mass_g: g(dispensed.mass.si),
        volume_ml: dispensed.volume.and_then(|volume| ml(volume.si)),
        moles: dispensed.moles.and_then(|moles| finite(moles.si)),
        equivalents,
        not_stated: item.material.amount.not_stated,
        measured: Measured {
            text: item.amount(),
            value: in_unit(measured),
            unit: if measured.volume { "mL" } else { "g" }.to_owned(),
            instrument: measured.instrument.clone(),
            fills: measured.fills,
            least: item.ends.as_ref().and_then(|(low, _)| in_unit(low)),
            most: item.ends.as_ref().and_then(|(_, high)| in_unit(high)),
            drops: item.drops.and_then(finite),
        },
        times: dispensed.times,
        only_if: view::only_if(outcome, item.statement).map(str::to_owned),
        step: item.statement.and_then(|number| view::step_of(outcome, number)).map(|step| step + 1),
    }
}

fn reactions(outcome: &Outcome) -> Vec<Reaction> {
    let runs = outcome.evaluation.runs.iter();
    runs.map(|run| {
        let reaction = view::reaction(outcome, run);
        let right = reaction.map_or(&[][..], |reaction| &reaction.right);
        let theoretical_g = right
            .iter()
            .filter_map(|(number, sub)| {
                let molar = outcome.defs.substance(*sub).molar_mass()?;
                Some((name(outcome, *sub), g(run.most.si * number * molar)?))
            })
            .collect();
        Reaction {
            name: reaction.map_or_else(String::new, |reaction| reaction.name.clone()),
            limiting: name(outcome, run.limiting),
            extent_mol: finite(run.extent.si),
            conversion: finite(run.conversion),
            theoretical_g,
            model: run.model.to_owned(),
            step: view::step_of(outcome, run.statement).map(|step| step + 1),
        }
    })
    .collect()
}

fn apparatus(outcome: &Outcome) -> Vec<Apparatus> {
    let chosen = outcome.vessels.iter();
    chosen
        .map(|chosen| Apparatus {
            kind: chosen.kind.clone(),
            size_ml: chosen.size.and_then(ml),
            fill: chosen.fill.and_then(finite),
            volume_ml: ml(chosen.volume).filter(|volume| *volume > 0.0),
            holds: chosen.holds.map(|id| address(outcome, id)),
            step: chosen.statements.iter().filter_map(|number| view::step_of(outcome, *number)).min().map(|step| step + 1),
        })
        .collect()
}

fn steps(outcome: &Outcome, items: &Items<'_>, sources: &Sources) -> Vec<Step> {
    let mut seen = std::collections::BTreeSet::new();
    let steps = outcome.procedure.steps.iter().enumerate();
    steps
        .map(|(at, step)| {
            let mut out = Step {
                number: at + 1,
                title: step.title.clone(),
                atmosphere: None,
                notes: Vec::new(),
                cautions: Vec::new(),
                expects: Vec::new(),
                operations: Vec::new(),
            };
            for entry in &step.entries {
                match entry {
                    Entry::Atmosphere(gas) => out.atmosphere = Some(gas.clone()),
                    Entry::Note(text) => out.notes.push(text.clone()),
                    Entry::Caution(text) => out.cautions.push(text.clone()),
                    Entry::Expect(text) => out.expects.push(text.clone()),
                    Entry::Statement(number) => {
                        out.operations.extend(operation(outcome, *number, items, sources, &mut seen));
                    }
                }
            }
            out
        })
        .collect()
}

fn operation(
    outcome: &Outcome,
    number: usize,
    items: &Items<'_>,
    sources: &Sources,
    seen: &mut std::collections::BTreeSet<BindingId>,
) -> Option<Operation> {
    let statement = outcome.procedure.statements.get(number)?;
    let empty = Record::default();
    let record = outcome.evaluation_of(number).records.get(&number).unwrap_or(&empty);
    let mut inputs: Vec<String> = Vec::new();
    for arg in statement.args.values() {
        if let Arg::Portions(list) = arg {
            inputs.extend(list.iter().map(|(id, _)| address(outcome, *id)));
        }
    }
    let outputs = record.outputs.iter().filter_map(|(_, id, _)| id.map(|id| address(outcome, id)));
    let evolved = record.evolved.iter().filter_map(|(sub, mass)| {
        let molar = outcome.defs.substance(*sub).molar_mass()?;
        Some((name(outcome, *sub), finite(mass.si / molar)?))
    });
    Some(Operation {
        operation: statement.operation.name.clone(),
        inputs,
        outputs: outputs.collect(),
        duration_s: record.duration.and_then(finite),
        temperature_c: record.temperature.and_then(celsius),
        only_if: view::only_if(outcome, Some(number)).map(str::to_owned),
        text: super::steps::sentence(outcome, number, items, sources, seen),
        cautions: super::steps::cautions(outcome, number, items, sources),
        expects: super::steps::expects(outcome, number),
        evolved_mol: evolved.collect(),
        aired_g: grams(outcome, record.aired.iter().map(|(sub, mass)| (*sub, mass.si))),
        models: record.models.iter().map(|model| (*model).to_owned()).collect(),
    })
}

fn portions(outcome: &Outcome) -> Vec<PortionState> {
    let first = outcome.evaluation.first.iter();
    first.map(|(id, portion)| state(outcome, *id, portion)).collect()
}

fn state(outcome: &Outcome, id: BindingId, portion: &Portion) -> PortionState {
    let has_formula = |sub: Sub| outcome.defs.substance(sub).formula.is_some();
    let moles = portion.contents.keys().filter(|sub| has_formula(**sub));
    let whole = portion.masses().into_iter().filter(|(sub, _)| !has_formula(*sub));
    let solid: f64 = portion.solid.values().sum();
    let liquid: f64 = portion.liquid(outcome.defs.find("water")).values().sum();
    let phases = [("solid", solid), ("liquid", liquid)];
    PortionState {
        address: address(outcome, id),
        moles: moles.filter_map(|sub| Some((name(outcome, *sub), finite(portion.moles(*sub, &outcome.defs))?))).collect(),
        whole_g: grams(outcome, whole),
        mass_g: g(portion.mass()),
        volume_ml: words::liquid_volume(portion, &outcome.defs).and_then(ml),
        phases: phases.iter().filter(|(_, mass)| *mass > words::TRACE).map(|(phase, _)| (*phase).to_owned()).collect(),
        temperature_c: if portion.temperature > 0.0 { celsius(portion.temperature) } else { None },
    }
}

fn products(outcome: &Outcome) -> Vec<Product> {
    view::kept(outcome)
        .into_iter()
        .map(|kept| {
            let pure = kept.sub.map(|sub| kept.portion.of(sub));
            let mass = kept.portion.mass();
            let percent = |whole: f64| pure.filter(|_| whole > 0.0).and_then(|pure| finite(100.0 * pure / whole));
            Product {
                portion: address(outcome, kept.binding),
                substance: kept.sub.map(|sub| name(outcome, sub)),
                mass_g: g(mass),
                theoretical_g: kept.theoretical.and_then(g),
                yield_percent: kept.theoretical.and_then(percent),
                purity_percent: percent(mass),
            }
        })
        .collect()
}

fn waste(outcome: &Outcome) -> Vec<Waste> {
    view::waste(outcome)
        .into_iter()
        .map(|(portion_name, portion, label)| Waste {
            portion: portion_name.to_owned(),
            stream: label.to_owned(),
            mass_g: g(portion.mass()),
            volume_ml: words::liquid_volume(portion, &outcome.defs).and_then(ml),
            contents: grams(outcome, portion.masses().into_iter()),
        })
        .collect()
}

fn material_balance(outcome: &Outcome) -> MaterialBalance {
    let balance = balance::balance(&outcome.procedure, &outcome.defs, &outcome.evaluation);
    let substances = balance.per_substance.iter().map(|(sub, line)| {
        let entry = SubstanceLine {
            in_g: g(line.taken),
            made_g: g(line.made),
            out_g: g(line.out),
            closure_g: g(line.taken + line.made - line.out),
        };
        (name(outcome, *sub), entry)
    });
    let elements = balance.elements.iter().map(|(symbol, (into, out))| (symbol.clone(), InOut { into: finite(*into), out: finite(*out) }));
    let whole = balance.whole.iter().map(|(sub, (into, out))| (name(outcome, *sub), InOut { into: g(*into), out: g(*out) }));
    MaterialBalance {
        substances: substances.collect(),
        elements: elements.collect(),
        whole: whole.collect(),
        mass_in_g: g(balance.mass_in),
        mass_out_g: g(balance.mass_out),
    }
}

fn graph(outcome: &Outcome) -> Graph {
    let node = |work: &Work| match work {
        Work::Take(number) => {
            let take = outcome.procedure.takes.get(*number);
            format!("take:{}", take.map_or("", |take| outcome.procedure.binding(take.binding).name.as_str()))
        }
        Work::Statement(number) => format!("statement:{}", number + 1),
    };
    Graph {
        nodes: outcome.graph.order.iter().map(node).collect(),
        edges: outcome.graph.edges.iter().map(|(from, to)| Edge { from: node(from), to: node(to) }).collect(),
    }
}

fn finding(found: &Diagnostic, sources: &Sources) -> Finding {
    Finding {
        code: found.code.text().to_owned(),
        severity: found.code.severity().word().to_owned(),
        file: sources.get(found.span.file).map_or_else(String::new, |file| file.name.to_string()),
        line: sources.place(found.span).line,
        message: found.message.clone(),
        help: found.help.clone(),
    }
}

/// Each datum with its source; two sources of one datum stand side by side.
fn by_what(outcome: &Outcome, texts: &Sources) -> BTreeMap<String, String> {
    let mut found: BTreeMap<String, String> = BTreeMap::new();
    for (source, whats) in view::sources(outcome, texts) {
        for what in whats {
            found.entry(what).and_modify(|known| *known = format!("{known}; {source}")).or_insert_with(|| source.clone());
        }
    }
    found
}
