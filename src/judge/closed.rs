//! Closed vessels: gas, heat and vapour have no way out.

use std::collections::BTreeSet;

use super::Case;
use super::stands::{self, Named};
use crate::chemistry::gas;
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Record;
use crate::kinds::{Kind, show, significant};
use crate::matter::mixture::{self, Assumed, ROOM};
use crate::matter::portion::Portion;
use crate::source::Span;

/// The pressure of the air, Pa.
const AIR: f64 = 101_325.0;

/// Judges closed vessels, each once; a volatile liquid only where it stands there.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let mut said: BTreeSet<Span> = BTreeSet::new();
    let held = stands::held(case);
    for (number, named) in stands::vessels(case).iter().filter(|(_, named)| named.vessel.closed) {
        let (Some(statement), Some(record)) = (case.procedure.statements.get(*number), case.evaluation.records.get(number)) else {
            continue;
        };
        // A funnel is vented while its layers are shaken, which its operation says.
        let has = |effect: &str| statement.operation.effects.iter().any(|call| call.effect == effect);
        if said.contains(&named.span)
            || statement.operation.effects.iter().any(|call| ["part", "discard", "store"].contains(&call.effect.as_str()))
        {
            continue;
        }
        let Some((_, id, portion)) = record.outputs.first() else { continue };
        let name = id.map_or("what is in it", |id| &case.procedure.binding(id).name);
        let title = named.vessel.name.replace('_', " ");
        let fault = gas_in(case, record, portion, named)
            .map(|why| (why, "leave it open, or with a bubbler or a loose plug, until no more gas comes"))
            .or_else(|| {
                held.get(number)
                    .and_then(|(_, temperature)| warmed(case, *temperature))
                    .map(|why| (why, "work in a flask under a condenser, open at the top"))
            })
            .or_else(|| {
                volatile(case, portion)
                    .filter(|_| has("hold"))
                    .map(|why| (why, "keep it cold, well below its boiling point, and open it cold; or work under a condenser"))
            });
        if let Some((why, remedy)) = fault {
            said.insert(named.span);
            findings.push(
                Diagnostic::new(Code::Closed, statement.span, format!("`{name}` stands in a closed {title}, and {why}"))
                    .help(remedy)
                    .label(named.span, "closed"),
            );
        }
    }
}

/// Gas set free into a closed vessel, with the pressure that it makes.
fn gas_in(case: &Case<'_>, record: &Record, portion: &Portion, named: &Named) -> Option<String> {
    let moles: f64 =
        record.evolved.iter().filter_map(|(sub, mass)| case.defs.substance(*sub).molar_mass().map(|molar| mass.si / molar)).sum();
    let litres = gas::volume(moles, ROOM, AIR);
    let liquid = mixture::volume(&portion.liquid(case.defs.find("water")), case.defs, &mut Assumed::new()).unwrap_or(0.0);
    // Where no size is given the vessel is taken to be half full.
    let room = named.size.map_or(liquid, |size| size - liquid).max(0.02 * liquid);
    if litres <= 0.0 || room <= 0.0 {
        return None;
    }
    let pressure = AIR * litres / room;
    let rule = case.rule("closed_pressure")?;
    (pressure > rule.value()).then(|| {
        format!(
            "{} of gas comes off: in {} of room that is {} bar above the air's pressure, and {} is the most ({})",
            show(litres, Kind::Volume, 2),
            show(room, Kind::Volume, 2),
            significant(pressure / 1e5, 2),
            rule.shown(),
            rule.setting.source
        )
    })
}

fn warmed(case: &Case<'_>, highest: f64) -> Option<String> {
    let rule = case.rule("closed_heat")?;
    (highest > rule.value())
        .then(|| format!("it is held at {:.0} °C: {} is the most ({})", highest - 273.15, rule.shown(), rule.setting.source))
}

fn volatile(case: &Case<'_>, portion: &Portion) -> Option<String> {
    let boils = mixture::boiling(&portion.liquid(case.defs.find("water")), case.defs, case.procedure.about.room())?;
    let margin = case.defs.rule("stopper_margin")?.value();
    if boils - portion.temperature >= margin {
        return None;
    }
    case.rule("stopper_margin").map(|_| {
        format!("it boils near {:.0} °C and stands at {:.0} °C: its vapour lifts the stopper", boils - 273.15, portion.temperature - 273.15)
    })
}
