//! Heat and glass: vessels that are not for boiling, flames, condensers.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::Case;
use super::stands::{self, Named};
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Record;
use crate::kinds::{Kind, show};
use crate::matter::linear::{Arg, Statement};
use crate::matter::mixture;
use crate::matter::portion::Portion;
use crate::operations::pace::{ARRIVES, Warming};
use crate::operations::portion_is;
use crate::resolve::definitions::{Apparatus, Boils, Sub};
use crate::source::Span;

/// Share of a charge from which a volatile part of it counts. Our own figure.
const COUNTS: f64 = 0.05;

/// Judges what is heated, and in what.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    vessels(case, findings);
    for (number, statement) in case.procedure.statements.iter().enumerate() {
        let Some(record) = case.evaluation.records.get(&number) else { continue };
        flame(case, statement, record, findings);
        means(case, statement, record, findings);
        power(case, statement, record, findings);
        condenser(case, statement, record, findings);
    }
}

fn has(statement: &Statement, effects: &[&str]) -> bool {
    statement.operation.effects.iter().any(|call| effects.contains(&call.effect.as_str()))
}

/// Apparatus that a statement names, with where.
fn named(statement: &Statement) -> impl Iterator<Item = (&Arc<Apparatus>, Span)> {
    statement.args.values().filter_map(|arg| match arg {
        Arg::Apparatus(apparatus, _, span) => Some((apparatus, *span)),
        _ => None,
    })
}

/// Boiling, distilling or heating in a vessel that is not for it; each vessel once.
fn vessels(case: &Case<'_>, findings: &mut Vec<Diagnostic>) {
    let mut said: BTreeSet<Span> = BTreeSet::new();
    let held = stands::held(case);
    for (number, Named { vessel, span, .. }) in stands::vessels(case) {
        let (Some(statement), Some(boils)) = (case.procedure.statements.get(number), &vessel.boils) else { continue };
        if said.contains(&span) {
            continue;
        }
        let title = vessel.name.replace('_', " ");
        let under = has(statement, &["boil", "distil", "steam"]);
        let hot = held
            .get(&number)
            .copied()
            .filter(|(_, temperature)| case.defs.rule("closed_heat").is_some_and(|rule| *temperature > rule.value()));
        let fault = match (boils.value, hot) {
            (Boils::No | Boils::Open, _) if under => {
                Some((Code::NotForBoiling, format!("a {title} is not for boiling or distilling: {}", boils.source)))
            }
            // What is closed is a rule of its own.
            (Boils::No, Some((name, temperature))) if !vessel.closed => Some((
                Code::NotForBoiling,
                format!("a {title} is not for heating, and `{name}` is held at {:.0} °C in it: {}", temperature - 273.15, boils.source),
            )),
            (Boils::Open, Some((name, temperature))) => near_flash(case, statement, number, temperature)
                .map(|why| (Code::NearFlash, format!("`{name}` is held at {:.0} °C in an open {title}: {why}", temperature - 273.15))),
            _ => None,
        };
        let Some((code, message)) = fault else { continue };
        // Asked only here, where it decides: what boils in it is at fault however hot it is.
        let limit = hot.filter(|_| !under).and_then(|_| case.rule("closed_heat"));
        said.insert(span);
        let remedy = if code == Code::NearFlash {
            "take a flask with a return condenser, heated in a bath, and no flame in the room"
        } else {
            "take a round-bottomed flask: `in round_flask 250 mL`"
        };
        let remedy = match limit {
            Some(rule) => format!("{remedy}; up to {} is no heating ({})", rule.shown(), rule.setting.source),
            None => remedy.to_owned(),
        };
        findings.push(Diagnostic::new(code, statement.span, message).help(remedy).label(span, "this vessel"));
    }
}

/// Why the vapour over a liquid could be lit: by Le Chatelier's rule, the vapour pressures as shares
/// of those at each flash point come to one.
fn near_flash(case: &Case<'_>, statement: &Statement, number: usize, temperature: f64) -> Option<String> {
    let rule = case.rule("flash_margin")?;
    let record = case.evaluation.records.get(&number)?;
    let portion = record.inputs.first().map(|(_, portion)| portion).filter(|_| !statement.args.is_empty())?;
    let liquid = portion.liquid(case.defs.find("water"));
    let moles: f64 = liquid.keys().map(|sub| portion.moles(*sub, case.defs)).sum();
    let mut index = 0.0;
    let mut most: Option<(Sub, f64)> = None;
    for sub in liquid.keys() {
        let substance = case.defs.substance(*sub);
        let (Some(flash), Some(law)) = (&substance.flash, mixture::vapour_law(substance)) else { continue };
        let at_flash = law.pressure(flash.value);
        let share = portion.moles(*sub, case.defs) / moles.max(1e-30) * law.pressure(temperature + rule.value()) / at_flash.max(1e-9);
        index += share;
        if most.is_none_or(|(_, known)| share > known) {
            most = Some((*sub, share));
        }
    }
    let (sub, _) = most.filter(|_| index >= 1.0)?;
    let substance = case.defs.substance(sub);
    let flash = substance.flash.as_ref().map_or(0.0, |flash| flash.value - 273.15);
    Some(format!(
        "its vapour can be lit ({} flashes at {flash:.0} °C; {} below the flash point is the rule, {})",
        substance.display(),
        rule.shown(),
        rule.setting.source
    ))
}

/// A flame under or beside something flammable.
fn flame(case: &Case<'_>, statement: &Statement, record: &Record, findings: &mut Vec<Diagnostic>) {
    let Some((apparatus, span)) = named(statement).find(|(apparatus, _)| apparatus.flame) else { return };
    let Some((id, _)) = record.inputs.iter().find(|(_, portion)| portion_is(case.defs, portion, "flammable")) else { return };
    let name = id.map_or("what is in it", |id| &case.procedure.binding(id).name);
    findings.push(
        Diagnostic::new(Code::Flame, span, format!("`{name}` is flammable, and a {} is an open flame", apparatus.name.replace('_', " ")))
            .help("heat in a bath or a mantle, and let no flame burn in the room"),
    );
}

/// How much warmer than what boils in it a bath is, K: so much drives the vapour over briskly. Our own figure.
const DRIVES: f64 = 10.0;

/// A means of heating or cooling (the slot `means`) that does not reach the temperature.
fn means(case: &Case<'_>, statement: &Statement, record: &Record, findings: &mut Vec<Diagnostic>) {
    let Some(Arg::Apparatus(means, _, span)) = statement.args.get("means") else { return };
    let Some((id, before)) = record.inputs.first() else { return };
    let name = id.map_or("what is in it", |id| &case.procedure.binding(id).name);
    let title = means.name.replace('_', " ");
    let Some(range) = &means.range else {
        findings.push(
            Diagnostic::new(
                Code::MeansOutOfRange,
                *span,
                format!("no temperatures are declared of a {title}: nothing is known to be heated or cooled by it"),
            )
            .help("take a bath (water_bath, oil_bath, ice_bath …), or declare a means of your own with a `range`"),
        );
        return;
    };
    let figure = |slot: &str| match statement.args.get(slot) {
        Some(Arg::Figure(figure)) => Some(figure.top()),
        Some(Arg::Figures(figures)) => figures.last().map(|figure| figure.top()),
        _ => None,
    };
    // What is only to be kept below something is to be cooled, however cold it comes.
    let ceiling = figure("ceiling").or(figure("band").filter(|top| before.temperature > *top - 15.0));
    let Some(wanted) = figure("range").or(ceiling).or(record.temperature) else { return };
    let boils = has(statement, &["boil", "distil", "draw"]);
    let celsius = |t: f64| format!("{:.0} °C", t - 273.15);
    let reach = format!("a {title} reaches {} to {} ({})", celsius(range.value.0), celsius(range.value.1), range.source);
    // What is colder than the room, or than it was, is cooled; a bath that is stated is what must be reached.
    let cooled = !boils && (ceiling.is_some() || wanted < mixture::ROOM || before.temperature > wanted + 1.0);
    let needs = if boils { figure("bath").unwrap_or(wanted + DRIVES) } else { wanted };
    let (reached, message) = if cooled {
        (range.value.0 <= wanted + 0.5, format!("{reach}, and `{name}` is to be cooled to {}", celsius(wanted)))
    } else if boils {
        let why = if figure("bath").is_some() { "the bath is to be at" } else { "to boil it the bath must be at about" };
        (range.value.1 >= needs - 0.5, format!("{reach}; `{name}` boils up to {}: {why} {}", celsius(wanted), celsius(needs)))
    } else {
        (range.value.1 >= needs - 0.5, format!("{reach}, and `{name}` is to be held at {}", celsius(wanted)))
    };
    if !reached {
        let help = if cooled {
            "take a colder bath: ice_bath, ice_salt_bath, dry_ice_bath, or one of your own with its `range`"
        } else {
            "take a hotter bath: steam_bath, oil_bath, sand_bath, heating_mantle, or one of your own with its `range`"
        };
        findings.push(Diagnostic::new(Code::MeansOutOfRange, *span, message).help(help));
    }
}

/// A heater, stated or of the bench, under which the flask loses as much to the room as it gets before it is as warm as
/// it is to be.
fn power(case: &Case<'_>, statement: &Statement, record: &Record, findings: &mut Vec<Diagnostic>) {
    let Some(own @ Warming { power: Some(power), time: None, .. }) = &record.warming else { return };
    let Some((id, _)) = record.inputs.first() else { return };
    let name = id.map_or("what is in it", |id| &case.procedure.binding(id).name);
    let least = own.loss * (own.span.1 - case.defs.room_temperature()) / ARRIVES;
    let (watts, celsius) = (|power: f64| show(power, Kind::Power, 2), show(own.span.1, Kind::Temperature, 2));
    let heater = if own.stated { "this heater" } else { "the heater of the bench" };
    let span = match statement.args.get("power") {
        Some(Arg::Figure(figure)) if own.stated => figure.span,
        _ => statement.span,
    };
    let message = format!(
        "with the {} of {heater} `{name}` never comes to {celsius}: there the flask loses more to the room than the {:.0} % of them that arrive",
        watts(*power),
        100.0 * ARRIVES
    );
    let help = format!("give it more than {}, which only holds it there; three times as much warms it in good time", watts(least));
    findings.push(Diagnostic::new(Code::HeaterTooWeak, span, message).help(help));
}

/// A condenser that is too warm or too cold for what it condenses.
fn condenser(case: &Case<'_>, statement: &Statement, record: &Record, findings: &mut Vec<Diagnostic>) {
    let evacuated = statement.args.contains_key("pressure");
    if !has(statement, &["boil", "distil"]) || evacuated {
        return;
    }
    let own = match statement.args.get("condenser") {
        Some(Arg::Apparatus(apparatus, _, span)) => Some((apparatus, *span)),
        _ => None,
    };
    // What condenses from tap water's temperature on is cooled with water.
    let tap = case.defs.rule("tap_water_condenser").map_or(0.0, |rule| rule.value());
    let cooled = own.filter(|(apparatus, _)| apparatus.range.as_ref().is_some_and(|range| range.value.0 <= tap));
    if let (Some((apparatus, span)), Some(t)) = (cooled, record.temperature)
        && let Some(rule) = case.rule("water_condenser")
        && t > rule.value()
    {
        findings.push(
            Diagnostic::new(
                Code::Condenser,
                span,
                format!(
                    "vapour of {:.0} °C goes into a {} cooled with water: past {} the glass can crack ({})",
                    t - 273.15,
                    apparatus.name.replace('_', " "),
                    rule.shown(),
                    rule.setting.source
                ),
            )
            .help("write `with air_condenser`"),
        );
        return;
    }
    let uncooled = own.filter(|(apparatus, _)| apparatus.range.as_ref().is_some_and(|range| range.value.0 > tap));
    if let (Some((apparatus, span)), Some(t)) = (uncooled, record.temperature) {
        findings.extend(too_warm(case, apparatus, span, t));
        return;
    }
    let Some((_, portion)) = record.inputs.first() else { return };
    let lightest = lightest(case, portion);
    if let Some((sub, boils)) = lightest
        && own.is_none_or(|(apparatus, _)| apparatus.range.as_ref().is_none_or(|range| range.value.0 > boils))
        && case.defs.rule("tap_water_condenser").is_some_and(|rule| boils < rule.value())
        && let Some(rule) = case.rule("tap_water_condenser")
    {
        findings.push(
            Diagnostic::new(
                Code::TooVolatile,
                statement.span,
                format!(
                    "{} boils at {:.0} °C: tap water hardly condenses it, and it goes out of the top of the condenser ({})",
                    case.defs.substance(sub).display(),
                    boils - 273.15,
                    rule.setting.source
                ),
            )
            .help("run iced water through the condenser and stand the receiver in ice: write `with iced_condenser`"),
        );
    }
}

/// A condenser that nothing cools, over what boils too low for it.
fn too_warm(case: &Case<'_>, condenser: &Apparatus, span: Span, boils: f64) -> Option<Diagnostic> {
    let range = condenser.range.as_ref()?;
    let in_air = condenser.name == "air_condenser";
    let least = if in_air { case.defs.rule("air_condenser")?.value() } else { range.value.0 };
    if boils >= least {
        return None;
    }
    let rule = case.rule("air_condenser").filter(|_| in_air);
    let source = rule.map_or(&range.source, |rule| &rule.setting.source);
    let title = condenser.name.replace('_', " ");
    let message = format!(
        "vapour of {:.0} °C goes into {} {title}, which holds back what boils above {:.0} °C: it goes out of the top ({source})",
        boils - 273.15,
        if title.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" },
        least - 273.15
    );
    Some(Diagnostic::new(Code::TooVolatile, span, message).help("cool it with water: write `with condenser`"))
}

/// The liquid of a portion that boils lowest, traces and gases apart.
fn lightest(case: &Case<'_>, portion: &Portion) -> Option<(Sub, f64)> {
    let whole = portion.mass();
    portion
        .contents
        .iter()
        .filter(|(sub, mass)| mass.si > COUNTS * whole && !case.defs.substance(**sub).is_gas())
        .filter_map(|(sub, _)| case.defs.substance(*sub).boils.as_ref().map(|boils| (*sub, boils.value)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
}
