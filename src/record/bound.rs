//! A record with its names looked up and its amounts as masses.

use super::run::Run;
use crate::chemistry::uncertainty::{Input, readability, rectangular, together, warmth};
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::kinds::{Kind, show};
use crate::matter::linear::{BindingId, Procedure};
use crate::resolve::record::{Found, How, Measured, Reading, Record, Share, Which, ordinal};

/// By how much the room may be off the 20 °C for which glass is marked, K. Our own figure, for a room without control.
const ROOM_OFF: f64 = 4.0;
/// Expansion of an organic liquid, 1/K: a usual figure, from memory (water 2.1e-4, ethanol 1.1e-3).
const EXPANSION: f64 = 1.0e-3;

/// A portion that was weighed or measured.
#[derive(Clone, Debug)]
pub struct Weighed<'a> {
    /// The portion.
    pub binding: BindingId,
    /// kg.
    pub mass: f64,
    /// Its standard uncertainty, kg.
    pub standard: f64,
    /// The line of the record.
    pub line: &'a Measured,
}

/// The standard uncertainty of a reading, in its own unit.
fn standard(reading: &Reading) -> f64 {
    let value = reading.figure.low;
    let volume = reading.figure.kind == Kind::Volume;
    let room = if volume { warmth(value, EXPANSION, ROOM_OFF) } else { 0.0 };
    match &reading.how {
        How::Digits | How::Limits => together(&[rectangular(reading.half), room]),
        How::With(instrument) => {
            // What has one mark is not read on a scale; a balance is read twice, empty and full.
            let one_mark = instrument.range.0 >= instrument.range.1;
            let read = if one_mark { 0.0 } else { readability(instrument.step) };
            let read = if volume { read } else { read * 2.0_f64.sqrt() };
            let fills = (value / instrument.range.1 - 1e-9).ceil().max(1.0);
            together(&[read * fills.sqrt(), rectangular(reading.half) * fills, room])
        }
    }
}

/// The binding that a name of the record means.
pub fn find(which: &Which, procedure: &Procedure) -> Result<BindingId, Box<Diagnostic>> {
    let name = &which.name.text;
    let address = which.occurrence.map_or_else(|| name.clone(), |number| format!("{name}#{number}"));
    procedure.find(&address).ok_or_else(|| {
        let count = procedure.bindings.iter().filter(|binding| binding.name == *name).count();
        let finding = if count > 0 {
            let message = format!("`{name}` is the name of {count} portion{} and no more", if count == 1 { "" } else { "s" });
            Diagnostic::new(Code::UnknownName, which.name.span, message).help("count them in the order of the work")
        } else {
            let names = procedure.bindings.iter().map(|binding| binding.name.as_str());
            let help = suggest::sentence(name, names)
                .unwrap_or_else(|| "a record measures what the procedure takes and makes, under the names that it has there".to_owned());
            Diagnostic::new(Code::UnknownName, which.name.span, format!("no portion of `{}` is called `{name}`", procedure.name)).help(help)
        };
        Box::new(finding)
    })
}

/// Looks up every amount of a record and makes a mass of it; what cannot be is reported.
pub fn weighed<'a>(record: &'a Record, run: &Run<'_>, findings: &mut Vec<Diagnostic>) -> Vec<Weighed<'a>> {
    let mut found: Vec<Weighed<'a>> = Vec::new();
    for line in &record.measured {
        let binding = match find(&line.which, run.written) {
            Ok(binding) => binding,
            Err(finding) => {
                findings.push(*finding);
                continue;
            }
        };
        if let Some(first) = found.iter().find(|one| one.binding == binding) {
            findings.push(
                Diagnostic::new(Code::Duplicate, line.span, format!("`{}` is measured a second time", line.which.name.text))
                    .label(first.line.span, "the first is here")
                    .help("a name that several portions bear is told apart by `first`, `second` and so on; without, the last is meant"),
            );
            continue;
        }
        let Some(reading) = &line.reading else { continue };
        let per = if reading.figure.kind == Kind::Volume {
            let both = [Kind::Mass, Kind::Volume].map(|kind| run.plan.figure(run.written, run.defs, binding, kind));
            match both {
                [Some(mass), Some(volume)] if mass > 0.0 && volume > 0.0 => mass / volume,
                _ => {
                    findings.push(
                        Diagnostic::new(
                            Code::NotKnown,
                            reading.figure.span,
                            format!("how much `{}` weighs for its volume cannot be worked out", line.which.name.text),
                        )
                        .help("weigh it"),
                    );
                    continue;
                }
            }
        } else {
            1.0
        };
        let (mass, standard) = (reading.figure.low * per, standard(reading) * per);
        found.push(Weighed { binding, mass, standard, line });
    }
    // What a record says is there cannot be more than all that was taken. A tenth of it for what was not weighed: our own figure.
    let most = 1.1 * run.mass_in(&found);
    for one in found.iter().filter(|one| run.written.take_of(one.binding).is_none() && one.mass > most) {
        findings.push(
            Diagnostic::new(
                Code::RecordImpossible,
                one.line.span,
                format!(
                    "`{}` is said to weigh {}, and all that goes into this batch weighs {}",
                    one.line.which.name.text,
                    show(one.mass, Kind::Mass, 3),
                    show(run.mass_in(&found), Kind::Mass, 3)
                ),
            )
            .help("look at the figure and its unit again, or say for which batch this is: `sized NAME = AMOUNT`"),
        );
    }
    found
}

/// What was found of a portion's purity, as a share of its mass.
#[derive(Clone, Debug, Default)]
pub struct Purity<'a> {
    /// By mass or by area, with whether it is by area.
    pub share: Option<(&'a Found, bool)>,
    /// Water.
    pub water: Option<&'a Found>,
}

impl Purity<'_> {
    /// The inputs that it brings, under the name of its portion: the share of the substance, then water.
    pub fn inputs(&self, name: &str) -> [Input; 2] {
        let input = |what: &str, found: Option<&Found>, otherwise: f64| {
            let (value, standard) = found.map_or((otherwise, 0.0), |found| (found.reading.figure.low, Self::standard(found)));
            Input::new(format!("{what} of {name}"), value, standard)
        };
        [input("purity", self.share.map(|(found, _)| found), 1.0), input("water", self.water, 0.0)]
    }

    /// The part of the whole that is the substance, at these values of [`Self::inputs`]: a share by mass has the water in what
    /// it is a share of; one by area does not see it.
    pub fn part(&self, share: f64, water: f64) -> f64 {
        share * if self.share.is_none_or(|(_, area)| area) { 1.0 - water } else { 1.0 }
    }

    /// By what the mass of a taken material of that strength is to be multiplied, so that it counts for as much of the
    /// substance as was found in it. A share by area without a water content says nothing of the water that the strength has.
    pub fn factor(&self, share: f64, water: f64, strength: f64) -> f64 {
        let by_area_alone = self.water.is_none() && self.share.is_some_and(|(_, area)| area);
        self.part(share, water) / if by_area_alone { 1.0 } else { strength.max(1e-12) }
    }

    /// Its standard uncertainty.
    #[must_use]
    pub fn standard(found: &Found) -> f64 {
        rectangular(found.reading.half)
    }
}

/// The purity that was found of a kept portion or of one that is taken; every entry of the record is checked once.
pub fn purities<'a>(
    record: &'a Record,
    procedure: &Procedure,
    kept: &[BindingId],
    findings: &mut Vec<Diagnostic>,
) -> Vec<(BindingId, Purity<'a>)> {
    let mut all: Vec<(BindingId, Purity<'a>)> = Vec::new();
    for found in &record.found {
        let binding = match find(&found.which, procedure) {
            Ok(binding) => binding,
            Err(finding) => {
                findings.push(*finding);
                continue;
            }
        };
        if !kept.contains(&binding) && procedure.take_of(binding).is_none() {
            findings.push(
                Diagnostic::new(
                    Code::RecordImpossible,
                    found.which.name.span,
                    format!("`{}` is neither taken nor kept as a substance, so it has no purity here", found.which.name.text),
                )
                .help("purity and water are found of what the procedure takes, as it stood on the shelf, and of what it keeps"),
            );
            continue;
        }
        let place = all.iter().position(|(known, _)| *known == binding).unwrap_or_else(|| {
            all.push((binding, Purity::default()));
            all.len() - 1
        });
        let Some((_, purity)) = all.get_mut(place) else { continue };
        match found.share {
            Share::Water => purity.water = Some(found),
            share => purity.share = Some((found, share == Share::Area)),
        }
    }
    for (_, purity) in &all {
        if let (Some((share, false)), Some(water)) = (&purity.share, &purity.water) {
            let sum = share.reading.figure.low + water.reading.figure.low;
            if sum > 1.0 + share.reading.half + water.reading.half {
                findings.push(
                    Diagnostic::new(
                        Code::RecordImpossible,
                        water.span,
                        format!("purity and water come to {} % by mass together", crate::kinds::significant(sum * 100.0, 4)),
                    )
                    .label(share.span, "the purity is here")
                    .help("a share of a chromatogram's area does not see the water: write it `98.2 % by area`"),
                );
            }
        }
    }
    all
}

/// The name of a portion, as `third crude` where several bear it.
#[must_use]
pub fn name_of(binding: BindingId, procedure: &Procedure) -> String {
    let own = procedure.binding(binding);
    let many = procedure.bindings.iter().filter(|other| other.name == own.name).count() > 1;
    match ordinal(own.occurrence) {
        _ if !many => own.name.clone(),
        Some(word) => format!("{word} {}", own.name),
        None => own.address(),
    }
}
