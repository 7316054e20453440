//! What is said about azeotropes: each with what was measured of it, the pairs that have none, and what it
//! means for taking water out.

use indexmap::IndexMap;
use serde::Serialize;

use super::boil::{Basis, ELSEWHERE, ordered};
use super::shares::{Shares, celsius, degrees, display, percent, pressure};
use super::table::{Table, paragraph};
use super::takeoff;
use super::words::list;
use crate::asked::Asked;
use crate::asked::system::{frozen, vapours};
use crate::chemistry::phase;
use crate::diagnostics::{Code, Diagnostic};
use crate::matter::boiling;
use crate::matter::portion::Masses;
use crate::matter::system::Liquids;
use crate::resolve::azeotrope::Measured;
use crate::resolve::definitions::{Definitions, Sub};

/// The most substances that are looked at: every two and every three of them.
const MOST: usize = 5;

/// A pressure is that of a measurement when it differs by no more than this share; our own figure.
const SAME: f64 = 0.01;

/// What is to be said at another pressure of whether there is an azeotrope at all.
const VANISHES: &str = "whether there still is one that is nearly pure is open: that of ethanol with water is measured to vanish near 93 mbar (handbooks, from memory)";

/// All azeotropes of some substances.
#[derive(Clone, Debug, Serialize)]
#[expect(non_snake_case, reason = "the unit is part of the name of a figure in JSON")]
pub struct Azeotropes {
    /// Pressure, Pa.
    pub pressure_Pa: f64,
    /// Every azeotrope of two or three of them, the lowest first.
    pub azeotropes: Vec<One>,
    /// Pairs that have none.
    pub without: Vec<Without>,
    /// What was measured and is not predicted.
    pub missed: Vec<Missed>,
    /// Where each substance boils by itself; `null` where that is not known.
    pub pure_boils_C: IndexMap<String, Option<f64>>,
    /// What it means for taking water out, in sentences; empty where no water is asked about.
    pub taking_water_out: Vec<String>,
    /// What is worked out with.
    #[serde(flatten)]
    pub basis: Basis,
}

/// One azeotrope.
#[derive(Clone, Debug, Serialize)]
#[expect(non_snake_case, reason = "the unit is part of the name of a figure in JSON")]
pub struct One {
    /// Its substances.
    pub substances: Vec<String>,
    /// Where it boils.
    pub temperature_C: f64,
    /// What it holds.
    #[serde(flatten)]
    pub shares: Shares,
    /// `homogeneous`, one liquid, or `heterogeneous`, two.
    pub kind: &'static str,
    /// Whether it boils lowest or highest of the mixtures around it, or neither.
    pub boils: &'static str,
    /// What was measured of it, where the library has that.
    pub published: Option<Published>,
}

/// A measurement.
#[derive(Clone, Debug, Serialize)]
#[expect(non_snake_case, reason = "the unit is part of the name of a figure in JSON")]
pub struct Published {
    /// Where it boils; `null` where none was found.
    pub temperature_C: Option<f64>,
    /// What it holds by mass, where that is known.
    pub mass_fraction: Option<IndexMap<String, f64>>,
    /// One liquid or two, where that is known.
    pub kind: Option<&'static str>,
    /// Who says so.
    pub source: String,
}

/// A pair without an azeotrope.
#[derive(Clone, Debug, Serialize)]
pub struct Without {
    /// The two.
    pub substances: Vec<String>,
    /// Whether it was measured that there is none.
    pub measured: bool,
}

/// A measured azeotrope that the model does not find.
#[derive(Clone, Debug, Serialize)]
pub struct Missed {
    /// Its substances.
    pub substances: Vec<String>,
    /// What was measured of it.
    #[serde(flatten)]
    pub published: Published,
}

/// Every azeotrope of the substances that are asked about; what stands in the way is a finding.
pub fn answer(asked: &mut Asked, p: f64) -> Option<Azeotropes> {
    let findings = unfit(asked, p);
    if !findings.is_empty() {
        asked.report(findings);
        return None;
    }
    let moles = |(sub, _): &(Sub, _)| (*sub, asked.defs.substance(*sub).molar_mass().unwrap_or(0.0));
    let masses: Masses = asked.substances.iter().map(moles).collect();
    let liquids = asked.liquids(&masses)?;
    match liquids.system.azeotropes(p) {
        Ok(found) => Some(all(asked, &liquids, &found, p)),
        Err(error) => {
            asked.unanswered(&error);
            None
        }
    }
}

/// What cannot be asked about azeotropes.
fn unfit(asked: &Asked, p: f64) -> Vec<Diagnostic> {
    let mut findings = Vec::new();
    let whole = asked.substances.first().zip(asked.substances.last()).map(|((_, first), (_, last))| first.to(*last));
    let Some(whole) = whole.or_else(|| asked.start()) else { return findings };
    if asked.substances.len() < 2 {
        findings.push(
            Diagnostic::new(Code::SyntaxExpected, whole, "an azeotrope is of two substances or more")
                .help("such as `ethanol water toluene`"),
        );
    } else if asked.substances.len() > MOST {
        findings.push(
            Diagnostic::new(
                Code::OutOfRange,
                whole,
                format!("these are {} substances, and at most {MOST} are looked at", asked.substances.len()),
            )
            .help("every two and every three of them are gone through: leave out what boils far above the rest"),
        );
    }
    for (sub, span) in &asked.substances {
        let substance = asked.defs.substance(*sub);
        let why = if substance.is_gas() {
            "is a gas at room temperature"
        } else if substance.molar_mass().is_none() {
            "has no formula"
        } else if substance.is_ionic() {
            "is a salt, a strong acid or a strong base, of which no model here knows the activity"
        } else if crate::matter::mixture::vapour_law(substance).is_none() {
            "has no boiling point in the library"
        } else {
            continue;
        };
        // What was measured stands all the same.
        let known: Vec<String> = asked
            .substances
            .iter()
            .filter(|(other, _)| other != sub)
            .filter_map(|(other, _)| {
                let held = told(measured(&[*sub, *other], &asked.defs, p)?, *sub, &asked.defs)?;
                Some(format!("measured of it with {}: {held}", asked.defs.substance(*other).display()))
            })
            .collect();
        let help = match known.as_slice() {
            [] if substance.is_gas() || substance.is_ionic() => "leave it out".to_owned(),
            [] => "leave it out, or declare in a file of yours what is known of it and name the file with `--use FILE`".to_owned(),
            known => known.join("; "),
        };
        findings.push(
            Diagnostic::new(Code::NotKnown, *span, format!("azeotropes of {} are not worked out: it {why}", substance.display()))
                .help(help),
        );
    }
    findings
}

fn all(asked: &Asked, liquids: &Liquids, found: &[phase::Azeotrope], p: f64) -> Azeotropes {
    let defs = &asked.defs;
    let name = |sub: Sub| defs.substance(sub).name.clone();
    let order: Vec<Sub> = asked.substances.iter().map(|(sub, _)| *sub).collect();
    let members = |azeotrope: &phase::Azeotrope| -> Vec<Sub> {
        let own: Vec<Sub> = azeotrope.members.iter().filter_map(|place| liquids.subs.get(*place).copied()).collect();
        order.iter().copied().filter(|sub| own.contains(sub)).collect()
    };
    let one = |azeotrope: &phase::Azeotrope| {
        let own = members(azeotrope);
        let moles: Vec<(Sub, f64)> = ordered(asked, liquids, &azeotrope.y).into_iter().filter(|(sub, _)| own.contains(sub)).collect();
        One {
            substances: own.iter().map(|sub| name(*sub)).collect(),
            temperature_C: celsius(azeotrope.t),
            shares: Shares::of_moles(&moles, defs),
            kind: kind(azeotrope.kind == phase::Kind::Heterogeneous),
            boils: match azeotrope.extremum {
                phase::Extremum::Minimum => "lowest",
                phase::Extremum::Maximum => "highest",
                phase::Extremum::Saddle => "between",
            },
            published: measured(&own, defs, p).map(|measured| published(measured, &own, defs)),
        }
    };
    let mut azeotropes: Vec<One> = found.iter().map(one).collect();
    azeotropes.sort_by(|a, b| a.temperature_C.total_cmp(&b.temperature_C));
    let predicted: Vec<Vec<Sub>> = found.iter().map(members).collect();
    let pairs = order.iter().enumerate().flat_map(|(at, a)| order.iter().skip(at + 1).map(move |b| vec![*a, *b]));
    let without = pairs
        .filter(|pair| !predicted.contains(pair))
        .map(|pair| Without {
            measured: measured(&pair, defs, p).is_some_and(|measured| measured.boils.is_none()),
            substances: pair.into_iter().map(name).collect(),
        })
        .collect();
    let missed = defs
        .azeotropes
        .iter()
        .filter(|measured| measured.boils.is_some() && same(measured.pressure, p))
        .filter_map(|measured| {
            let own: Vec<Sub> = measured.between.iter().map(|name| defs.find(name)).collect::<Option<_>>()?;
            let listed: Vec<Sub> = order.iter().copied().filter(|sub| own.contains(sub)).collect();
            (listed.len() == own.len() && !predicted.contains(&listed)).then(|| Missed {
                substances: listed.iter().map(|sub| name(*sub)).collect(),
                published: published(measured, &listed, defs),
            })
        })
        .collect();
    let pure = |sub: &Sub| boiling::boiling_point(defs.substance(*sub), p).map(celsius);
    let mut said = liquids.said.clone();
    for azeotrope in found {
        vapours(&members(azeotrope), defs, azeotrope.t, &mut said);
        frozen(&members(azeotrope), defs, azeotrope.t, &mut said);
    }
    // Where there is none, that too was found at the temperatures at which they boil.
    for sub in &order {
        let Some(t) = boiling::boiling_point(defs.substance(*sub), p) else { continue };
        let told = found.iter().any(|azeotrope| members(azeotrope).contains(sub));
        vapours(&order.iter().copied().filter(|own| own == sub && !told).collect::<Vec<_>>(), defs, t, &mut said);
        frozen(&[*sub], defs, t, &mut said);
    }
    let mut basis = Basis::by(liquids.model, said);
    if !(0.9..=1.1).contains(&(p / boiling::ATMOSPHERE)) {
        basis.widen(ELSEWHERE);
        basis.widen(VANISHES);
    }
    Azeotropes {
        pressure_Pa: p,
        taking_water_out: takeoff::sentences(asked, liquids, found, p),
        azeotropes,
        without,
        missed,
        pure_boils_C: order.iter().map(|sub| (name(*sub), pure(sub))).collect(),
        basis,
    }
}

fn kind(two: bool) -> &'static str {
    if two { "heterogeneous" } else { "homogeneous" }
}

fn same(one: f64, other: f64) -> bool {
    (one / other - 1.0).abs() < SAME
}

/// What was measured of just these substances at this pressure.
pub(super) fn measured<'a>(subs: &[Sub], defs: &'a Definitions, p: f64) -> Option<&'a Measured> {
    let of = |measured: &Measured| {
        let own: Vec<Option<Sub>> = measured.between.iter().map(|name| defs.find(name)).collect();
        own.len() == subs.len() && subs.iter().all(|sub| own.contains(&Some(*sub)))
    };
    defs.azeotropes.iter().map(std::convert::AsRef::as_ref).find(|measured| same(measured.pressure, p) && of(measured))
}

/// `20.2 % at 108.6 °C (source)`: how much of a substance what was measured holds, and where it boils.
pub(super) fn told(measured: &Measured, sub: Sub, defs: &Definitions) -> Option<String> {
    let place = measured.between.iter().position(|own| defs.find(own) == Some(sub))?;
    let (share, boils) = (measured.holds.as_ref()?.value.get(place)?, measured.boils.as_ref()?);
    Some(format!("{} at {} ({})", percent(*share), degrees(boils.value), boils.source))
}

fn published(measured: &Measured, order: &[Sub], defs: &Definitions) -> Published {
    let share = |sub: &Sub| {
        let at = measured.between.iter().position(|name| defs.find(name) == Some(*sub))?;
        Some((defs.substance(*sub).name.clone(), *measured.holds.as_ref()?.value.get(at)?))
    };
    let source = measured.boils.as_ref().map(|boils| boils.source.to_string());
    Published {
        temperature_C: measured.boils.as_ref().map(|boils| celsius(boils.value)),
        mass_fraction: order.iter().map(share).collect(),
        kind: measured.two_liquids.map(kind),
        source: source.unwrap_or_else(|| "the library, where none was found".to_owned()),
    }
}

impl Azeotropes {
    /// For people.
    #[must_use]
    pub fn text(&self, defs: &Definitions) -> String {
        let mut out = format!("Under {}, by mass:\n\n", pressure(self.pressure_Pa));
        let names: Vec<&String> = self.pure_boils_C.keys().collect();
        let mut head = vec!["boils".to_owned()];
        head.extend(names.iter().map(|name| display(name, defs)));
        head.push("liquids".to_owned());
        head.push(String::new());
        let last = head.len() - 1;
        let mut table = Table::new(head, &[last - 1, last]);
        let mut rows: Vec<(f64, Vec<Vec<String>>)> = Vec::new();
        for one in &self.azeotropes {
            let mut own = vec![row(
                &degrees(one.temperature_C + 273.15),
                &names,
                |name| one.shares.mass_fraction.get(name).copied(),
                liquids(one.kind),
                how(one.boils),
            )];
            own.extend(one.published.as_ref().map(|published| measured_row(published, &names)));
            rows.push((one.temperature_C, own));
        }
        for missed in &self.missed {
            let t = missed.published.temperature_C.unwrap_or(f64::INFINITY);
            let mut own = measured_row(&missed.published, &names);
            if let Some(last) = own.last_mut() {
                *last = format!("{last}; not predicted");
            }
            rows.push((t, vec![own]));
        }
        for (name, t) in &self.pure_boils_C {
            let shown = t.map_or_else(|| "–".to_owned(), |t| degrees(t + 273.15));
            rows.push((
                t.unwrap_or(f64::INFINITY),
                vec![row(&shown, &names, |other| (other == name.as_str()).then_some(1.0), "", "alone")],
            ));
        }
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        for row in rows.into_iter().flat_map(|(_, own)| own) {
            table.row(row);
        }
        out.push_str(&table.text());
        let pair = |substances: &[String]| list(&substances.iter().map(|name| display(name, defs)).collect::<Vec<_>>());
        let none: Vec<String> = self
            .without
            .iter()
            .map(|pair_| format!("{}{}", pair(&pair_.substances), if pair_.measured { " (nor was one measured)" } else { "" }))
            .collect();
        if !none.is_empty() {
            out.push('\n');
            out.push_str(&paragraph(&format!("No azeotrope: {}.", none.join("; "))));
        }
        if !self.taking_water_out.is_empty() {
            out.push('\n');
            out.push_str(&paragraph(&format!("Taking water out: {}", self.taking_water_out.join(" "))));
        }
        out.push_str(&self.basis.text());
        let mut sources: Vec<&str> =
            self.azeotropes.iter().filter_map(|one| one.published.as_ref()).map(|published| published.source.as_str()).collect();
        sources.extend(self.missed.iter().map(|missed| missed.published.source.as_str()));
        sources.sort_unstable();
        sources.dedup();
        if !sources.is_empty() {
            out.push_str(&paragraph(&format!("Measured: {}", super::words::stop(&sources.join("; ")))));
        }
        out
    }
}

fn row(boils: &str, names: &[&String], share: impl Fn(&str) -> Option<f64>, liquids: &str, note: &str) -> Vec<String> {
    let mut row = vec![boils.to_owned()];
    row.extend(names.iter().map(|name| share(name).map_or_else(|| "–".to_owned(), percent)));
    row.extend([liquids.to_owned(), note.to_owned()]);
    row
}

fn measured_row(published: &Published, names: &[&String]) -> Vec<String> {
    let boils = published.temperature_C.map_or_else(|| "none".to_owned(), |t| degrees(t + 273.15));
    let share = |name: &str| published.mass_fraction.as_ref().and_then(|shares| shares.get(name).copied());
    let note = if published.temperature_C.is_some() { "measured" } else { "measured: there is none" };
    row(&boils, names, share, published.kind.map_or("", liquids), note)
}

fn liquids(kind: &str) -> &'static str {
    if kind == "heterogeneous" { "two" } else { "one" }
}

fn how(boils: &str) -> &'static str {
    match boils {
        "highest" => "boils highest",
        "between" => "boils neither lowest nor highest",
        _ => "",
    }
}
