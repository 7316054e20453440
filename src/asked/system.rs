//! What a question is answered with: the system of its substances, or a finding that says why there is none.

use super::Asked;
use crate::chemistry::phase::PhaseError;
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::emit::words::{capital, uncapital};
use crate::kinds::{Kind, show};
use crate::matter::boiling::PRESSURES;
use crate::matter::mixture::{self, Assumed, Widens};
use crate::matter::portion::Masses;
use crate::matter::system::{Liquids, Refusal};
use crate::resolve::definitions::{Definitions, Sub};
use crate::source::Span;

/// Temperatures at which layers are answered for, K. Our own figures: the groups were fitted to data
/// between these.
pub const TEMPERATURES: (f64, f64) = (253.15, 423.15);

impl Asked {
    /// The pressure behind `--at`; one atmosphere where nothing is said.
    pub fn pressure(&mut self, at: Option<&str>) -> Option<f64> {
        let Some(text) = at else { return Some(crate::matter::boiling::ATMOSPHERE) };
        self.within(text, Kind::Pressure, PRESSURES)
    }

    /// The temperature behind `--at`; that of a room where nothing is said.
    pub fn temperature(&mut self, at: Option<&str>) -> Option<f64> {
        let Some(text) = at else { return Some(mixture::ROOM) };
        self.within(text, Kind::Temperature, TEMPERATURES)
    }

    fn within(&mut self, text: &str, kind: Kind, (low, high): (f64, f64)) -> Option<f64> {
        let (value, span) = self.quantity("--at", text, kind)?;
        // A figure of another unit may miss the end by its last digit.
        if (low * (1.0 - 1e-9)..=high * (1.0 + 1e-9)).contains(&value) {
            return Some(value);
        }
        let (what, low, high) = (show(value, kind, 3), show(low, kind, 3), show(high, kind, 3));
        self.report([Diagnostic::new(Code::OutOfRange, span, format!("{what} lies outside of what the models were compared with"))
            .help(format!("give something between {low} and {high}"))]);
        None
    }

    /// The system of what is asked about; a finding where no model of activity answers.
    pub fn liquids(&mut self, masses: &Masses) -> Option<Liquids> {
        let liquids = self.some_liquid(masses)?;
        self.answering(liquids)
    }

    /// The same where nothing boils and there is no water.
    pub fn liquids_without_water(&mut self, masses: &Masses) -> Option<Liquids> {
        self.some_liquid(masses)?;
        self.answering(Liquids::without_water(masses, &self.defs))
    }

    fn answering(&mut self, liquids: Liquids) -> Option<Liquids> {
        let Some(refusal) = &liquids.refusal else { return Some(liquids) };
        let finding = self.refused(refusal)?;
        self.report([finding]);
        None
    }

    /// The same, by Raoult's law where no model answers; a finding where nothing is a liquid.
    pub fn some_liquid(&mut self, masses: &Masses) -> Option<Liquids> {
        let liquids = Liquids::of(masses, &self.defs);
        if !liquids.subs.is_empty() {
            return Some(liquids);
        }
        let (_, at) = *self.substances.first()?;
        self.report([Diagnostic::new(Code::NotKnown, at, "nothing here is a liquid whose molecules are known")
            .help("salts and mineral acids only dilute, gases and what has no formula are left out: name a liquid too")]);
        None
    }

    fn refused(&self, refusal: &Refusal) -> Option<Diagnostic> {
        let (_, start) = *self.substances.first()?;
        Some(match refusal {
            Refusal::NoGroups(subs) => {
                let at = subs.iter().find_map(|sub| self.place(*sub)).unwrap_or(start);
                let names: Vec<&str> = subs.iter().map(|sub| self.defs.substance(*sub).name.as_str()).collect();
                let known = match names.len() {
                    1 => "behaves in a mixture is not known: it has no assignment of groups",
                    _ => "behave in a mixture is not known: they have no assignment of groups",
                };
                Diagnostic::new(Code::NotKnown, at, format!("how {} {known}", suggest::listed(&names, "and")))
                    .help("in a file of yours declare the substance with `groups \"2 CH3, CH2, COOH\" source \"…\"`, or a `binary_fit` with each of the others, and name the file with `--use FILE`")
            }
            Refusal::Missing(pair) => {
                let between = self.lacking();
                let (first, second) =
                    between.map_or(("NAME", "NAME"), |(a, b)| (self.defs.substance(a).name.as_str(), self.defs.substance(b).name.as_str()));
                let mut finding = Diagnostic::new(
                    Code::NotKnown,
                    between.and_then(|(a, _)| self.place(a)).unwrap_or(start),
                    format!("how `{first}` and `{second}` behave together is not known: the interaction of their groups {} and {} is not published", pair.first, pair.second),
                )
                .help(format!(
                    "in a file of yours declare what was measured of the two, and name the file with `--use FILE`: `binary_fit {first}_with_{second} {{ … }}` with `between {first}, {second}` and `nrtl a12, a21, b12, b21, alpha source \"…\"`"
                ));
                if let Some(other) = between.and_then(|(_, b)| self.place(b)) {
                    finding = finding.label(other, "the other is here");
                }
                finding
            }
        })
    }

    /// The first two substances that no model knows together.
    fn lacking(&self) -> Option<(Sub, Sub)> {
        let subs: Vec<Sub> = self.substances.iter().map(|(sub, _)| *sub).collect();
        let lacks = |a: Sub, b: Sub| {
            let two = Liquids::of(&Masses::from([(a, 1.0), (b, 1.0)]), &self.defs);
            matches!(two.refusal, Some(Refusal::Missing(_)))
        };
        let mut pairs = subs.iter().enumerate().flat_map(|(at, a)| subs.iter().skip(at + 1).map(move |b| (*a, *b)));
        pairs.find(|(a, b)| a != b && lacks(*a, *b))
    }

    /// All that is counted in moles, in the order of the line.
    #[must_use]
    pub fn everything(&self) -> Vec<(Sub, f64)> {
        let moles = |sub: Sub| {
            let substance = self.defs.substance(sub);
            (!substance.is_gas()).then_some(self.masses.get(&sub)? / substance.molar_mass()?)
        };
        self.substances.iter().filter_map(|(sub, _)| Some((*sub, moles(*sub)?))).collect()
    }

    /// Says what no model takes into account at all.
    pub fn left_out(&self, liquids: &Liquids, said: &mut Assumed) {
        for (sub, _) in self.substances.iter().filter(|(sub, _)| !liquids.subs.contains(sub)) {
            let substance = self.defs.substance(*sub);
            if substance.is_gas() {
                said.insert(format!("{} is a gas, and left out.", capital(&substance.display())));
            } else if substance.molar_mass().is_none() {
                said.insert(format!("{} has no formula, and is left out.", capital(&substance.display())));
            }
        }
    }

    /// Where the line begins.
    #[must_use]
    pub fn start(&self) -> Option<Span> {
        self.sources.iter().find(|(_, file)| !file.embedded).map(|(id, _)| Span::new(id, 0..0))
    }

    /// Tells that a search had no answer.
    pub fn unanswered(&mut self, error: &PhaseError) {
        let Some((_, first)) = self.substances.first() else { return };
        let at = self.substances.last().map_or(*first, |(_, last)| first.to(*last));
        let what = error.to_string();
        let what = what.trim_end_matches('.');
        let finding = Diagnostic::new(Code::NotKnown, at, format!("this has no answer here: {}", uncapital(what)));
        self.report([finding]);
    }
}

/// What is to be said about vapour pressures at `t` in K: where they are estimated, unknown, or used outside
/// the range for which they were fitted.
pub fn vapours(subs: &[Sub], defs: &Definitions, t: f64, said: &mut Assumed) {
    for sub in subs {
        let substance = defs.substance(*sub);
        let name = substance.display();
        match &substance.vapour {
            Some(law) if law.value.in_range(t) => {}
            Some(law) => {
                let range = law.value.limits().map_or_else(String::new, |(low, high)| {
                    format!(", which holds from {} to {}", show(low, Kind::Temperature, 2), show(high, Kind::Temperature, 2))
                });
                let at = show(t, Kind::Temperature, 2);
                let sentence = format!("The vapour pressure of {name} at {at} lies outside the range of its equation{range}.");
                said.widen(Widens::VapourBeyond, sentence);
            }
            None if mixture::vapour_law(substance).is_some() => {
                mixture::estimated_vapour(substance, said);
            }
            // That it is not known stands in what the system says.
            None => {}
        }
    }
}

/// Says of what would melt only above `t` in K that it may freeze there, since no solid is worked out.
pub fn frozen(subs: &[Sub], defs: &Definitions, t: f64, said: &mut Assumed) {
    for sub in subs {
        let substance = defs.substance(*sub);
        if let Some(melts) = substance.melts.as_ref().filter(|melts| melts.value > t) {
            said.insert(format!(
                "{} melts at {}: at {} it may be a solid, by itself or out of the mixture, and no solid is worked out.",
                capital(&substance.display()),
                show(melts.value, Kind::Temperature, 2),
                show(t, Kind::Temperature, 2)
            ));
        }
    }
}
