//! The plan: everything that was worked out, exactly, for other programs to read.

mod document;

use std::collections::BTreeMap;

use super::partings::parting;
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

pub use document::*;

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
            runs: outcome.runs,
        },
        materials: {
            let basis = view::basis_moles(outcome, &items);
            items.all.iter().map(|item| material(outcome, item, basis, sources)).collect()
        },
        reactions: reactions(outcome),
        apparatus: apparatus(outcome),
        bench: super::bench::plan(outcome),
        steps: steps(outcome, &items, sources),
        portions: portions(outcome),
        met: view::met(outcome)
            .into_iter()
            .map(|met| Met { substance: name(outcome, met.sub), most_percent: finite(100.0 * met.share), gas_only: met.gas_only })
            .collect(),
        products: products(outcome),
        waste: waste(outcome),
        waste_streams: waste_streams(outcome),
        material_balance: material_balance(outcome),
        graph: graph(outcome),
        findings: findings.iter().map(|found| finding(found, sources)).collect(),
        allowed: outcome
            .allowed
            .iter()
            .map(|allowed| Allowed { finding: finding(&allowed.finding, sources), reason: allowed.reason.clone() })
            .collect(),
        sources: by_what(outcome, sources),
        models: view::used_models(outcome).into_iter().map(|what| model(what, &outcome.evaluation.assumed)).collect(),
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

fn model(what: String, assumed: &crate::matter::mixture::Assumed) -> Model {
    let known = crate::matter::model::find(&what);
    let sentences = |model: &crate::matter::model::Model| model.assumes.iter().map(|&sentence| sentence.to_owned()).collect();
    Model {
        name: known.map(|model| model.name.to_owned()),
        assumes: known.map(sentences).unwrap_or_default(),
        band: known.map(|model| crate::matter::model::band(model, assumed)),
        fails: known.map(|model| model.fails.to_owned()),
        what,
    }
}

fn name(outcome: &Outcome, sub: Sub) -> String {
    outcome.defs.substance(sub).name.clone()
}

pub(super) fn grams(outcome: &Outcome, masses: impl Iterator<Item = (Sub, f64)>) -> BTreeMap<String, f64> {
    masses.filter_map(|(sub, mass)| Some((name(outcome, sub), finite(mass * 1e3)?))).collect()
}

fn percent(outcome: &Outcome, portion: &Portion) -> BTreeMap<String, f64> {
    let whole = portion.mass();
    portion.masses().into_iter().filter_map(|(sub, mass)| Some((name(outcome, sub), finite(100.0 * mass / whole)?))).collect()
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

fn material(outcome: &Outcome, item: &Item<'_>, basis_measured: Option<f64>, sources: &Sources) -> Material {
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
            mass_g: g(dispensed.mass.si * measured.ratio()),
            volume_ml: dispensed.volume.and_then(|volume| ml(volume.si * measured.ratio())),
            moles: dispensed.moles.and_then(|moles| finite(moles.si * measured.ratio())),
            equivalents: item.equivalents(basis_measured).and_then(finite),
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
            fill_at_most: chosen.limit.and_then(finite),
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
        partings: record.partings.iter().map(|layers| parting(outcome, layers)).collect(),
        course: outcome.course(number).and_then(Result::ok).map(|course| super::course::told(outcome, &course)),
        addition: super::pace::addition(outcome, record),
        drying: record.drying.as_ref().map(super::pace::drying),
        warming: record.warming.as_ref().map(super::pace::warming),
        evolved_mol: evolved.collect(),
        aired_g: grams(outcome, record.aired.iter().map(|(sub, mass)| (*sub, mass.si))),
        models: record.models.iter().map(|model| (*model).to_owned()).collect(),
        distillation: record.distillation.as_ref().map(|one| super::distilled::Distillation::of(outcome, one)),
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
        percent: percent(outcome, portion),
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
                taken_g: view::recovered(outcome, &kept).and_then(g),
                recovery_percent: view::recovered(outcome, &kept).and_then(percent),
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
            percent: percent(outcome, portion),
        })
        .collect()
}

fn waste_streams(outcome: &Outcome) -> Vec<WasteStream> {
    let mut streams: Vec<(&str, f64)> = Vec::new();
    for (_, portion, label) in view::waste(outcome) {
        match streams.iter_mut().find(|(own, _)| *own == label) {
            Some((_, mass)) => *mass += portion.mass(),
            None => streams.push((label, portion.mass())),
        }
    }
    streams.into_iter().map(|(stream, mass)| WasteStream { stream: stream.to_owned(), mass_g: g(mass) }).collect()
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
