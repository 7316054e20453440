//! What is said about a mixture at its boil: temperature, liquid or liquids, vapour, who comes over first.

use indexmap::IndexMap;
use serde::Serialize;

use super::shares::{Shares, celsius, degrees, display, percent, pressure};
use super::table::{Table, paragraph};
use super::words::{capital, list};
use crate::asked::Asked;
use crate::asked::system::{frozen, vapours};
use crate::chemistry::phase;
use crate::diagnostics::{Code, Diagnostic};
use crate::kinds::{decimals, significant};
use crate::matter::boiling;
use crate::matter::mixture::Assumed;
use crate::matter::model::{self, Model};
use crate::matter::portion::Masses;
use crate::matter::system::Liquids;
use crate::resolve::definitions::{Definitions, Sub};

/// How far off layers by activities are, from the comparison in `tests/equilibria/EXPERIMENT.md`.
pub const SPLITTING: &str =
    "mutual solubilities of esters and alcohols with water: half of them within a factor of 1.4, nine of ten within 5";

/// Where only the other table of groups has the liquids, without water.
const UNTRIED: &str = "60 to 110 K in the temperature up to which two liquids part, where alcohols and hydrocarbons are among them";

/// The same without water, as `tests/equilibria/parting.rs` finds it.
const DRY: &str = "the temperature up to which two liquids part: 14 K on average and 28 K at worst over eight pairs of methanol or acetonitrile with alkanes; ethanol is parted from heptane and octane at 20 °C, where they mix";

/// What is to be said of a band at another pressure than an atmosphere. Our own judgement.
pub(super) const ELSEWHERE: &str =
    "at this pressure nothing was compared: about twice as far in kelvin for each factor of ten from an atmosphere (our own judgement)";

/// A mixture at its boil.
#[derive(Clone, Debug, Serialize)]
#[expect(non_snake_case, reason = "the unit is part of the name of a figure in JSON")]
pub struct AtTheBoil {
    /// Pressure, Pa.
    pub pressure_Pa: f64,
    /// Where it begins to boil.
    pub temperature_C: f64,
    /// All the liquid there is.
    pub liquid: Shares,
    /// The first vapour.
    pub vapour: Shares,
    /// Activity of each substance over its mole fraction in all the liquid.
    pub gamma: IndexMap<String, f64>,
    /// What `gamma` is: of one liquid its activity coefficients, of several a figure over all of them.
    pub gamma_is: &'static str,
    /// Whether there is one liquid, and where there are more what each is, the largest first.
    pub liquids: Vec<OneLiquid>,
    /// Where each substance boils by itself at this pressure; `null` where that is not known.
    pub pure_boils_C: IndexMap<String, Option<f64>>,
    /// The substance of which the vapour holds the greatest multiple of what the liquid holds.
    pub first: String,
    /// What is worked out with.
    #[serde(flatten)]
    pub basis: Basis,
}

/// One of the liquids.
#[derive(Clone, Debug, Serialize)]
pub struct OneLiquid {
    /// Its share of the moles of all liquid.
    pub share_of_moles: f64,
    /// Its share of the mass of all liquid.
    pub share_of_mass: f64,
    /// What it holds.
    #[serde(flatten)]
    pub shares: Shares,
    /// Activity coefficients in it.
    pub gamma: IndexMap<String, f64>,
}

/// What an answer rests on.
#[derive(Clone, Debug, Serialize)]
pub struct Basis {
    /// The name of the model, by which `scruple explain` finds it.
    pub model: String,
    /// What the model is, in words.
    #[serde(skip)]
    pub what: String,
    /// What it takes for granted, and what had to be assumed here, in sentences.
    pub assumptions: Vec<String>,
    /// The latter alone.
    #[serde(skip)]
    pub said: Assumed,
    /// How far off it is.
    pub band: String,
}

impl Basis {
    /// What an answer by a model rests on, with what had to be assumed.
    #[must_use]
    pub fn by(model: &Model, said: Assumed) -> Self {
        let assumes = model.assumes.iter().map(|sentence| (*sentence).to_owned());
        Self {
            model: model.name.to_owned(),
            what: model.what.to_owned(),
            assumptions: assumes.chain(said.iter().cloned()).collect(),
            band: model::band(model, &said),
            said,
        }
    }

    /// The same for a mixture that parts and does not boil: its band is another.
    #[must_use]
    pub fn about_layers(self, water: bool) -> Self {
        let band = match () {
            () if water => SPLITTING,
            () if self.model == model::DORTMUND.name => DRY,
            () => UNTRIED,
        };
        Self { band: band.to_owned(), what: self.what.replace("vapour-liquid", "liquid-liquid"), ..self }
    }

    /// Adds what had to be assumed.
    pub fn add(&mut self, said: &Assumed) {
        self.assumptions.extend(said.iter().filter(|sentence| !self.said.contains(sentence)).cloned());
        // Of layers another band is told, which what is said of vapours does not widen.
        let own = model::find(&self.model).filter(|model| self.band.starts_with(model.band));
        for clause in own.map(|model| model::wider(model, said)).unwrap_or_default() {
            self.widen(clause);
        }
        self.said.extend(said.clone());
    }

    /// Adds a clause to how far off it is, once.
    pub fn widen(&mut self, clause: &str) {
        if !self.band.contains(clause) {
            self.band = format!("{}; {clause}", self.band);
        }
    }

    /// At the end of a text.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = String::from("\n");
        let page = if model::find(&self.model).is_some() { format!(" (`scruple explain {}`)", self.model) } else { String::new() };
        out.push_str(&paragraph(&format!("Model: {}{page}. How far off: {}.", self.what, self.band)));
        for sentence in &self.said {
            out.push_str(&paragraph(sentence));
        }
        out
    }
}

/// How many times the share of the liquid that of the vapour may be and still be called the same. Our own figure.
const SAME: f64 = 1.005;

/// Share of the moles from which a liquid is called nearly all of one substance. Our own figure.
const NEARLY: f64 = 0.9;

/// Share of the moles from which something that would go off counts. Our own figure.
const COUNTS: f64 = 0.005;

/// Mineral acids that boil below this go over with water, K. Our own figure, 200 °C: nitric acid does, sulfuric and
/// phosphoric acid do not.
const GOES_OVER: f64 = 473.15;

/// Refuses what is dissolved in water and leaves it as a gas or with the vapour, of which no model here knows how much.
fn goes_off(asked: &Asked, masses: &Masses, p: f64) -> Vec<Diagnostic> {
    let defs = &asked.defs;
    let moles = |sub: Sub| masses.get(&sub).copied().unwrap_or(0.0) / defs.substance(sub).molar_mass().unwrap_or(f64::INFINITY);
    let all: f64 = masses.keys().map(|sub| moles(*sub)).sum();
    let mut findings = Vec::new();
    for sub in masses.keys().filter(|sub| moles(**sub) > COUNTS * all) {
        let substance = defs.substance(*sub);
        let acid = substance.is_strong_acid() && substance.boils.as_ref().is_some_and(|boils| boils.value < GOES_OVER);
        if !substance.is_gas() && !acid || masses.len() < 2 {
            continue;
        }
        let Some(at) = asked.place(*sub).or_else(|| asked.substances.first().map(|(_, span)| *span)) else { continue };
        let name = substance.display();
        let how =
            if substance.is_gas() { "is a dissolved gas, which goes off" } else { "is a mineral acid that goes over with the vapour" };
        let with_water = defs.find("water").and_then(|water| super::azeotropes::measured(&[*sub, water], defs, p));
        let known = with_water.and_then(|measured| super::azeotropes::told(measured, *sub, defs));
        let known = known.map(|known| format!("what boils on unchanged is the azeotrope with water: {known}"));
        findings.push(
            Diagnostic::new(
                Code::NotKnown,
                at,
                format!("where this boils is not worked out: {name} {how}, and no model here knows how much"),
            )
            .help(known.unwrap_or_else(|| "leave it out, or look up the boiling point of the solution".to_owned())),
        );
    }
    findings
}

/// Where the mixture that is asked about boils; what stands in the way is a finding.
pub fn answer(asked: &mut Asked, p: f64) -> Option<AtTheBoil> {
    let masses = asked.masses.clone();
    let findings = goes_off(asked, &masses, p);
    if !findings.is_empty() {
        asked.report(findings);
        return None;
    }
    let liquids = asked.liquids(&masses)?;
    match liquids.boiling(&masses).boil(&liquids.moles(&masses), p) {
        Ok(boil) => Some(at_the_boil(asked, &liquids, &boil, p)),
        Err(error) => {
            asked.unanswered(&error);
            None
        }
    }
}

fn at_the_boil(asked: &Asked, liquids: &Liquids, boil: &phase::Boil, p: f64) -> AtTheBoil {
    let defs = &asked.defs;
    let names = |values: &[f64]| -> IndexMap<String, f64> {
        in_order(asked, liquids).filter_map(|(place, name)| Some((name, *values.get(place)?))).collect()
    };
    let moles = liquids.moles(&asked.masses);
    let all: f64 = moles.iter().sum();
    let z: Vec<f64> = moles.iter().map(|moles| moles / all).collect();
    let y = ordered(asked, liquids, &boil.y);
    let liquid = asked.everything();
    let weights: Vec<f64> = boil.liquids.iter().map(|one| one.share * liquids.masses(&one.x).values().sum::<f64>()).collect();
    let heavy: f64 = weights.iter().sum();
    let one = |(liquid, weight): (&phase::Liquid, &f64)| OneLiquid {
        share_of_moles: liquid.share,
        share_of_mass: weight / heavy,
        shares: Shares::of_moles(&ordered(asked, liquids, &liquid.x), defs),
        gamma: names(&liquid.gamma),
    };
    // In liquids at equilibrium the activities are the same: any one of them tells them.
    let largest = boil.liquids.first();
    let gamma: Vec<f64> = z
        .iter()
        .enumerate()
        .map(|(i, z)| {
            let part = largest.and_then(|liquid| Some((liquid.x.get(i)?, liquid.gamma.get(i)?)));
            part.map_or(f64::NAN, |(x, gamma)| if boil.liquids.len() > 1 && *z > 0.0 { x * gamma / z } else { *gamma })
        })
        .collect();
    let richer = |place: &usize| boil.y.get(*place).zip(z.get(*place)).map_or(0.0, |(y, z)| if *z > 0.0 { y / z } else { 0.0 });
    let first = (0..z.len()).max_by(|a, b| richer(a).total_cmp(&richer(b)));
    let pure = |sub: &Sub| boiling::boiling_point(defs.substance(*sub), p).map(celsius);
    let mut said = liquids.said.clone();
    vapours(&liquids.subs, defs, boil.t, &mut said);
    frozen(&liquids.subs, defs, boil.t, &mut said);
    asked.left_out(liquids, &mut said);
    if boil.liquids.len() > 1 && super::layers::mixes(&asked.masses, defs, boil.t) {
        said.insert("All in it mixes with water near room temperature: that it boils as two liquids is a fault of the model.");
    }
    let mut basis = Basis::by(liquids.model, said);
    if !(0.9..=1.1).contains(&(p / boiling::ATMOSPHERE)) {
        basis.widen(ELSEWHERE);
    }
    AtTheBoil {
        pressure_Pa: p,
        temperature_C: celsius(boil.t),
        liquid: Shares::of_moles(&liquid, defs),
        vapour: Shares::of_moles(&y, defs),
        gamma: names(&gamma),
        gamma_is: if boil.liquids.len() > 1 {
            "activity over the mole fraction in all the liquid; the activity coefficients in each liquid stand in `liquids`"
        } else {
            "activity coefficients"
        },
        liquids: boil.liquids.iter().zip(&weights).map(one).collect(),
        pure_boils_C: in_order(asked, liquids).filter_map(|(place, name)| Some((name, pure(liquids.subs.get(place)?)))).collect(),
        first: first.and_then(|place| liquids.subs.get(place)).map_or_else(String::new, |sub| defs.substance(*sub).name.clone()),
        basis,
    }
}

/// The places of a system's components in the order of the line, each with its name.
pub(super) fn in_order<'a>(asked: &'a Asked, liquids: &'a Liquids) -> impl Iterator<Item = (usize, String)> + 'a {
    asked.substances.iter().filter_map(|(sub, _)| {
        let place = liquids.subs.iter().position(|own| own == sub)?;
        Some((place, asked.defs.substance(*sub).name.clone()))
    })
}

/// A composition in the order of the line.
pub(super) fn ordered(asked: &Asked, liquids: &Liquids, moles: &[f64]) -> Vec<(Sub, f64)> {
    in_order(asked, liquids).filter_map(|(place, _)| Some((*liquids.subs.get(place)?, *moles.get(place)?))).collect()
}

impl AtTheBoil {
    /// For people.
    #[must_use]
    pub fn text(&self, defs: &Definitions) -> String {
        let kelvin = self.temperature_C + 273.15;
        let liquids = match self.liquids.len() {
            0 | 1 => "as one liquid".to_owned(),
            2 => "as two liquids, one over the other".to_owned(),
            more => format!("as {more} liquids, one over the other"),
        };
        let mut out = format!("Begins to boil at {} under {}, {liquids}.\n\n", degrees(kelvin), pressure(self.pressure_Pa));
        // Over several liquids there is no one coefficient.
        let gamma = if self.liquids.len() > 1 { "activity over mole" } else { "activity coefficient" };
        let mut table = Table::new(["", "liquid, mass", "mole", "vapour, mass", "mole", gamma, "boils alone"], &[]);
        for name in self.liquid.mole_fraction.keys() {
            let alone = self.pure_boils_C.get(name).copied().flatten();
            table.row([
                display(name, defs),
                percent(self.liquid.by_mass(name)),
                percent(self.liquid.by_mole(name)),
                percent(self.vapour.by_mass(name)),
                percent(self.vapour.by_mole(name)),
                self.gamma.get(name).map_or_else(|| "–".to_owned(), |gamma| coefficient(*gamma)),
                alone.map_or_else(|| "–".to_owned(), |t| degrees(t + 273.15)),
            ]);
        }
        out.push_str(&table.text());
        if self.liquids.len() > 1 {
            out.push('\n');
            out.push_str(&self.layers(defs));
        }
        let sentences = self.sentences(defs);
        if !sentences.is_empty() {
            out.push('\n');
            out.push_str(&paragraph(&sentences));
        }
        out.push_str(&self.basis.text());
        out
    }

    fn layers(&self, defs: &Definitions) -> String {
        let mut head = vec!["the liquids, by mass".to_owned()];
        head.extend(self.liquids.iter().map(|one| format!("{} of it", percent(one.share_of_mass))));
        let mut table = Table::new(head, &[]);
        let names = self.liquids.first().map(|one| one.shares.mass_fraction.keys()).into_iter().flatten();
        for name in names {
            let mut row = vec![display(name, defs)];
            row.extend(self.liquids.iter().map(|one| percent(one.shares.by_mass(name))));
            table.row(row);
        }
        let mut head = vec!["activity coefficients".to_owned()];
        head.extend(self.liquids.iter().map(|one| format!("in {}", percent(one.share_of_mass))));
        let mut coefficients = Table::new(head, &[]);
        for name in self.liquids.first().map(|one| one.gamma.keys()).into_iter().flatten() {
            let mut row = vec![display(name, defs)];
            row.extend(self.liquids.iter().map(|one| one.gamma.get(name).map_or_else(|| "–".to_owned(), |gamma| coefficient(*gamma))));
            coefficients.row(row);
        }
        format!("{}\n{}", table.text(), coefficients.text())
    }

    /// Whether the vapour holds of everything the share that the liquid holds; what is next to nothing counts too, since
    /// it is what shows that water with a little of something is no azeotrope.
    fn all_alike(&self) -> bool {
        self.liquid.mole_fraction.iter().all(|(name, x)| {
            let times = self.vapour.by_mole(name) / x;
            *x <= 0.0 || (1.0 / SAME..=SAME).contains(&times)
        })
    }

    fn sentences(&self, defs: &Definitions) -> String {
        let mut out = Vec::new();
        let (y, x) = (self.vapour.by_mole(&self.first), self.liquid.by_mole(&self.first));
        if self.vapour.mole_fraction.len() > 1 && x > 0.0 {
            let times = y / x;
            let first = display(&self.first, defs);
            if times > SAME {
                out.push(format!(
                    "{} comes over first: its share of the vapour, in moles, is {} times that of the liquid.",
                    capital(&first),
                    significant(times, if times < 1.2 { 3 } else { 2 })
                ));
            } else if self.all_alike() {
                out.push("The vapour is what the liquid is: it boils as an azeotrope.".to_owned());
            } else if x < NEARLY {
                out.push("The vapour is nearly what the liquid is: it boils close to an azeotrope.".to_owned());
            } else {
                out.push(format!(
                    "The vapour is nearly all {first}, as the liquid is; what is beside it is another share of the one than of the other."
                ));
            }
            out.push(format!("The first vapour is {} by mass.", self.vapour.said(defs)));
        }
        let stays: Vec<String> = self
            .vapour
            .mole_fraction
            .iter()
            .filter(|(name, y)| **y < 0.01 * self.liquid.by_mole(name))
            .map(|(name, _)| display(name, defs))
            .collect();
        if !stays.is_empty() {
            out.push(format!("Next to nothing comes over of {}.", list(&stays)));
        }
        out.join(" ")
    }
}

/// A coefficient to three figures, or what is beyond the use of figures.
fn coefficient(gamma: f64) -> String {
    if gamma > 9_999.0 {
        "over 9999".to_owned()
    } else if gamma < 0.01 {
        "under 0.01".to_owned()
    } else if gamma >= 100.0 {
        decimals(gamma, 0)
    } else {
        significant(gamma, 3)
    }
}
