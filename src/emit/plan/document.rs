//! The document that a plan is: these structures are its schema.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::emit::distilled::Distillation;
use crate::emit::partings::Parting;

/// The version of this format. It changes when a field changes its meaning or goes.
pub const VERSION: u32 = 2;

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
    /// The bench that the batch is made on; null where none is given.
    pub bench: Option<crate::emit::bench::Bench>,
    /// Steps in order.
    pub steps: Vec<Step>,
    /// Every portion as it is when it gets its name.
    pub portions: Vec<PortionState>,
    /// Substances in the order in which the work meets them.
    pub met: Vec<Met>,
    /// What is kept.
    pub products: Vec<Product>,
    /// What is thrown away.
    pub waste: Vec<Waste>,
    /// The same by label.
    pub waste_streams: Vec<WasteStream>,
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
    /// Models used.
    pub models: Vec<Model>,
    /// What had to be assumed, in sentences.
    pub assumed: Vec<String>,
}

/// A model behind figures of the plan.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Model {
    /// The word by which `scruple explain` finds it; null for a plain rule that is said whole.
    pub name: Option<String>,
    /// What it is, as operations and reactions name it.
    pub what: String,
    /// What it takes for granted, in sentences.
    pub assumes: Vec<String>,
    /// How far it lies from experiment.
    pub band: Option<String>,
    /// Where it does not hold.
    pub fails: Option<String>,
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
    /// How many runs of this size are made. Everything else in the plan is for one of them.
    pub runs: u32,
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
    /// Mass of it as measured, g.
    pub mass_g: Option<f64>,
    /// Volume of it as measured, mL.
    #[serde(rename = "volume_mL")]
    pub volume_ml: Option<f64>,
    /// Moles of the main substance as measured, mol.
    pub moles: Option<f64>,
    /// Moles as measured to a mole of the basis as measured, a plain ratio.
    pub equivalents: Option<f64>,
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
    /// How full it may be, a fraction of its size.
    pub fill_at_most: Option<f64>,
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
    /// Layers as they parted, one for each portion that was shaken in.
    pub partings: Vec<Parting>,
    /// How it goes in time, where that was followed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub course: Option<crate::emit::course::Told>,
    /// How an addition goes in time, where a time, a rate or a temperature to be kept is stated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub addition: Option<crate::emit::pace::Addition>,
    /// How far a drying agent gets in the time it is given, where that was ever found.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drying: Option<crate::emit::pace::Drying>,
    /// How it warms up, where it does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub warming: Option<crate::emit::pace::Warming>,
    /// Gas given off, mol, by name.
    pub evolved_mol: BTreeMap<String, f64>,
    /// Vapour lost to the air, g, by name.
    pub aired_g: BTreeMap<String, f64>,
    /// Models used, by name.
    pub models: Vec<String>,
    /// How a distillation goes; null for everything else.
    pub distillation: Option<Distillation>,
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
    /// Share of each substance by mass, %, by name.
    pub percent: BTreeMap<String, f64>,
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

/// A substance that the work meets.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Met {
    /// Its name.
    pub substance: String,
    /// The largest share by mass that it has of any portion, %.
    pub most_percent: Option<f64>,
    /// Whether it is met only as it is given off.
    pub gas_only: bool,
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
    /// Mass of the substance in all that was taken, where nothing reacts and it only comes back, g.
    pub taken_g: Option<f64>,
    /// Substance in the portion against what was taken, where nothing reacts, %.
    pub recovery_percent: Option<f64>,
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
    /// Share of each substance by mass, %, by name.
    pub percent: BTreeMap<String, f64>,
}

/// All that goes into one waste container.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct WasteStream {
    /// Its label.
    pub stream: String,
    /// Mass, g.
    pub mass_g: Option<f64>,
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
