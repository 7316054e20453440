//! Vessels: which sizes are needed, and whether those that the author pinned are large enough.

use std::collections::BTreeMap;

use super::{Case, pieces};
use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::Fact;
use crate::kinds::{Kind, show, significant};
use crate::matter::linear::{Arg, BindingId};
use crate::resolve::bench::Bench;
use crate::resolve::definitions::Apparatus;
use crate::source::Span;

/// A vessel that the procedure uses.
#[derive(Clone, Debug, PartialEq)]
pub struct Chosen {
    /// Name of the apparatus.
    pub kind: String,
    /// Its size, m³, where it has sizes.
    pub size: Option<f64>,
    /// What it holds at its fullest, m³.
    pub volume: f64,
    /// How full that is, a fraction of the size.
    pub fill: Option<f64>,
    /// How full it may be.
    pub limit: Option<f64>,
    /// The portion that it holds throughout.
    pub holds: Option<BindingId>,
    /// What its contents are called.
    pub name: String,
    /// The statements that use it.
    pub statements: Vec<usize>,
}

/// One vessel's demands, gathered over the statements that use it.
#[derive(Clone, Debug)]
pub(super) struct Demand {
    pub(super) needed: String,
    /// Largest volume, the limit there with the rule that sets it, and where.
    pub(super) moments: Vec<(f64, Option<f64>, Option<&'static str>, Span)>,
    pub(super) pinned: Option<(String, Option<f64>, Span)>,
    pub(super) holds: Option<BindingId>,
    pub(super) name: String,
    pub(super) statements: Vec<usize>,
}

impl Demand {
    /// The kind that the author named, else the one that is needed.
    pub(super) fn wanted(&self) -> &str {
        self.pinned.as_ref().map_or(self.needed.as_str(), |(name, _, _)| name.as_str())
    }

    /// The same as one speaks of it.
    pub(super) fn wanted_title(&self) -> String {
        self.wanted().replace('_', " ")
    }
}

/// The plain flask that is taken where the procedure needs "a flask" and nothing more.
const PLAIN_FLASK: &str = "conical_flask";

/// Chooses a size for every vessel and reports those that overflow.
pub fn judge(case: &Case<'_>, findings: &mut Vec<Diagnostic>) -> Vec<Chosen> {
    let mut held: BTreeMap<BindingId, Demand> = BTreeMap::new();
    let mut others: Vec<Demand> = Vec::new();
    let mut first: BTreeMap<&str, usize> = BTreeMap::new();
    for fact in &case.evaluation.facts {
        match fact {
            Fact::Vessel { statement, holds, name, needed, fill, rule, volume, pinned, span } => {
                let demand = Demand {
                    needed: needed.clone(),
                    moments: vec![(*volume, *fill, *rule, pinned.as_ref().map_or(*span, |(_, _, at)| *at))],
                    pinned: pinned.as_ref().map(|(apparatus, size, at)| (apparatus.name.clone(), *size, *at)),
                    holds: *holds,
                    name: name.clone(),
                    statements: vec![*statement],
                };
                let kind = vessel(case, needed);
                match holds {
                    Some(id) if kind.is_some_and(|kind| kind.serves.iter().any(|word| word == "flask")) || needed == "flask" => {
                        match held.get_mut(id) {
                            Some(known) => merge(known, demand),
                            None => {
                                held.insert(*id, demand);
                            }
                        }
                    }
                    // A boiling flask for another job is another flask.
                    _ if kind.is_some_and(|kind| kind.serves.iter().any(|word| word == "flask")) => {
                        first.entry(needed).or_insert(others.len());
                        others.push(demand);
                    }
                    _ => {
                        let at = *first.entry(needed).or_insert(others.len());
                        match others.get_mut(at) {
                            Some(known) => merge_other(known, demand),
                            None => others.push(demand),
                        }
                    }
                }
            }
            Fact::Siphon { statement, span, size, part, bed, water, .. } if bed.2 > *size * part * (1.0 + 1e-9) => {
                let sizes = case.procedure.statements.get(*statement).and_then(|statement| match statement.args.get("extractor") {
                    Some(Arg::Apparatus(apparatus, ..)) => Some(apparatus.sizes.as_slice()),
                    _ => None,
                });
                bed_too_large((*span, sizes.unwrap_or_default()), (*size, *part), bed, *water, findings);
            }
            Fact::Siphon { span, needed, volatile, charge, size, part, .. } => {
                siphon(*span, (*needed, *volatile, *charge), (*size, *part), findings);
            }
            Fact::Thimble { span, name, mass, room, size } if room > size => findings.push(
                Diagnostic::new(
                    Code::BedTooLarge,
                    *span,
                    format!(
                        "{} of `{name}` fills {} as poured, and the extractor holds {}",
                        show(*mass, Kind::Mass, 3),
                        show(*room, Kind::Volume, 2),
                        show(*size, Kind::Volume, 3)
                    ),
                )
                .help(format!(
                    "draw it in {:.0} lots, take a larger extractor, or cut the batch to {:.0} %",
                    (room / size).ceil(),
                    100.0 * size / room
                )),
            ),
            _ => {}
        }
    }
    let demands: Vec<Demand> = held.into_values().chain(others).collect();
    let bench = case.defs.bench.as_deref();
    let mut missing = Vec::new();
    let mut chosen: Vec<Chosen> = match bench {
        Some(bench) => pieces::choose_all(case, bench, &demands, &mut missing, findings),
        None => demands.iter().filter_map(|demand| choose(case, demand, findings)).collect(),
    };
    for (number, statement) in case.procedure.statements.iter().enumerate() {
        for (slot, arg) in statement.args.iter() {
            if let Arg::Apparatus(apparatus, size, _) = arg
                && slot != "vessel"
                && slot != "condenser"
                && !apparatus.stores
                && !chosen.iter().any(|known| known.kind == apparatus.name && known.statements.contains(&number))
            {
                if let Some(bench) = bench {
                    pieces::note_absent(bench, &apparatus.name, size.map(|size| size.low), &mut missing);
                }
                chosen.push(Chosen {
                    kind: apparatus.name.clone(),
                    size: size.map(|size| size.low),
                    volume: 0.0,
                    fill: None,
                    limit: None,
                    holds: None,
                    // A means serves what the statement does.
                    name: if slot == "means" { String::new() } else { slot.replace('_', " ") },
                    statements: vec![number],
                });
            }
        }
    }
    for (volume, name) in [(false, "balance"), (true, "cylinder or pipette")] {
        let own = |bench: &Bench| bench.instruments.iter().any(|one| one.serves.is_none() && one.volume == volume);
        if bench.is_some_and(|bench| !own(bench)) && !missing.iter().any(|known| known == name) {
            missing.push(name.to_owned());
        }
    }
    if !missing.is_empty() {
        findings.push(
            Diagnostic::new(Code::BenchMissing, case.procedure.span, format!("not on this bench: {}", missing.join(", ")))
                .help("get it, name something else that is there, or add it to the bench"),
        );
    }
    chosen.sort_by(|a, b| (a.statements.first(), &a.kind).cmp(&(b.statements.first(), &b.kind)));
    chosen
}

pub(super) fn vessel<'a>(case: &'a Case<'_>, needed: &str) -> Option<&'a Apparatus> {
    let name = if needed == "flask" { PLAIN_FLASK } else { needed };
    case.defs.apparatus.get(name).map(std::sync::Arc::as_ref)
}

fn merge(known: &mut Demand, more: Demand) {
    // A particular kind of flask wins over "a flask".
    if known.needed == "flask" {
        known.needed = more.needed;
    }
    known.moments.extend(more.moments);
    known.statements.extend(more.statements);
    if known.pinned.is_none() {
        known.pinned = more.pinned;
    }
}

/// Vessels that hold nothing for long (funnels, condensers) are washed and used again.
fn merge_other(known: &mut Demand, more: Demand) {
    known.moments.extend(more.moments);
    known.statements.extend(more.statements);
    known.holds = None;
    if known.pinned.is_none() {
        known.pinned = more.pinned;
    }
}

/// What is chosen before its size is.
pub(super) fn base(case: &Case<'_>, demand: &Demand) -> Chosen {
    let wanted = demand.wanted();
    let mut statements = demand.statements.clone();
    statements.sort_unstable();
    statements.dedup();
    Chosen {
        kind: vessel(case, wanted).map_or_else(|| wanted.to_owned(), |apparatus| apparatus.name.clone()),
        size: None,
        volume: demand.moments.iter().map(|(volume, ..)| *volume).fold(0.0, f64::max),
        fill: None,
        limit: None,
        holds: demand.holds,
        name: demand.name.clone(),
        statements,
    }
}

pub(super) fn choose(case: &Case<'_>, demand: &Demand, findings: &mut Vec<Diagnostic>) -> Option<Chosen> {
    let apparatus = vessel(case, demand.wanted());
    let base = base(case, demand);
    let Some(apparatus) = apparatus.filter(|apparatus| !apparatus.sizes.is_empty()) else { return Some(base) };
    let own_limit = apparatus.fill.as_ref().map_or(1.0, |fill| fill.value);
    // The moment that needs the largest vessel.
    let mut fullest: Option<(f64, f64, f64, Option<&str>, Span)> = None;
    for (volume, limit, rule, at) in &demand.moments {
        let limit = limit.unwrap_or(own_limit);
        let needs = volume / limit;
        // Of moments that are as full as each other the first is named.
        if fullest.is_none_or(|(most, ..)| needs > most * (1.0 + 1e-9)) {
            fullest = Some((needs, *volume, limit, *rule, *at));
        }
    }
    let (needs, volume, limit, rule, at) = fullest?;
    // Where a finding follows from the rule, the rule and its source are named.
    let cited = || rule.and_then(|name| case.rule(name)).map_or_else(String::new, |rule| format!(" ({})", rule.cited()));
    let fits = |size: f64| size * (1.0 + 1e-9) >= needs;
    let smallest = apparatus.sizes.iter().copied().find(|size| fits(*size));
    let title = apparatus.name.replace('_', " ");
    if let Some((_, Some(size), pin)) = &demand.pinned {
        if !fits(*size) {
            let remedy = match smallest {
                Some(fit) => format!("use {}, or cut the batch to {:.0} % of this one", show(fit, Kind::Volume, 3), 100.0 * size / needs),
                None => format!("cut the batch to {:.0} % of this one", 100.0 * size / needs),
            };
            findings.push(
                Diagnostic::new(
                    Code::Overfilled,
                    *pin,
                    format!(
                        "{} in a {} {title} fills it to {:.0} %, and {:.0} % is the most",
                        show(volume, Kind::Volume, 2),
                        show(*size, Kind::Volume, 3),
                        100.0 * volume / size,
                        100.0 * limit
                    ),
                )
                .help(format!("{remedy}{}", cited())),
            );
        }
        return Some(Chosen { size: Some(*size), volume, fill: Some(volume / size), limit: Some(limit), ..base });
    }
    match smallest {
        Some(size) => Some(Chosen { size: Some(size), volume, fill: Some(volume / size), limit: Some(limit), ..base }),
        None => {
            let largest = apparatus.sizes.last().copied().unwrap_or(0.0);
            findings.push(
                Diagnostic::new(
                    Code::NoSize,
                    at,
                    format!(
                        "{} needs a {title} of {}; the largest that is listed holds {}",
                        show(volume, Kind::Volume, 2),
                        show(needs, Kind::Volume, 2),
                        show(largest, Kind::Volume, 3)
                    ),
                )
                .help(format!(
                    "cut the batch to {:.0} % of this one, or work it in several runs{}",
                    100.0 * largest / needs,
                    cited()
                )),
            );
            Some(base)
        }
    }
}

/// The bed is more than the extractor has room for: says which of room and water limits the batch.
fn bed_too_large(
    (span, sizes): (Span, &[f64]),
    (size, part): (f64, f64),
    (name, mass, poured): &(String, f64, f64),
    (arrives, holds): (f64, f64),
    findings: &mut Vec<Diagnostic>,
) {
    let grams = |kg: f64| format!("{} g", significant(kg * 1e3, 3));
    let room = size * part / poured;
    // What fits is a share of the bed, and holds that share of the water.
    let fits = room * holds / arrives.max(1e-30);
    let larger = sizes.iter().copied().find(|larger| *larger * part >= *poured);
    let remedy = if fits >= 1.0 {
        format!("{} of bed fit, and hold all the water that arrives: take no more than that", grams(mass * room))
    } else {
        let cut = format!("cut the batch to {:.0} % of this one", 100.0 * fits);
        match larger {
            Some(larger) => format!("use a {} extractor, or {cut}", show(larger, Kind::Volume, 3)),
            None => cut,
        }
    };
    findings.push(
        Diagnostic::new(
            Code::BedTooLarge,
            span,
            format!(
                "{} of `{name}` fills {} as poured, and the extractor holds {}: the room limits the batch, not the bed's {} of water",
                grams(*mass),
                show(*poured, Kind::Volume, 2),
                to_siphon(size, part),
                grams(holds)
            ),
        )
        .help(remedy),
    );
}

/// A size with the part of it that lies below the siphon, where that is less.
fn to_siphon(size: f64, part: f64) -> String {
    let whole = show(size, Kind::Volume, 3);
    if part < 1.0 { format!("{} to its siphon, of {whole} in all", show(size * part, Kind::Volume, 2)) } else { whole }
}

fn siphon(span: Span, (needed, volatile, charge): (f64, f64, f64), (size, part): (f64, f64), findings: &mut Vec<Diagnostic>) {
    let volume = |v: f64| show(v, Kind::Volume, 2);
    if volatile < needed {
        findings.push(
            Diagnostic::new(
                Code::SiphonNotReached,
                span,
                format!(
                    "a {} extractor needs {} of condensate to reach its siphon, and only {} of the charge can boil over",
                    show(size, Kind::Volume, 3),
                    volume(needed),
                    volume(volatile)
                ),
            )
            .help(format!("use a smaller extractor (to {} at most), or take more of the liquid that boils", volume(volatile / part))),
        );
    } else if charge - needed < 0.2 * charge {
        findings.push(
            Diagnostic::new(
                Code::SiphonNotReached,
                span,
                format!(
                    "when the extractor is full only {} of {} is left in the flask: it would boil dry",
                    volume(charge - needed),
                    volume(charge)
                ),
            )
            .help("use a smaller extractor, or take more of the liquid that boils"),
        );
    }
}
