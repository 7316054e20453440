//! Rules: the thresholds of judges, each declared with its value and source, so that a file of
//! one's own can set another.

use std::sync::Arc;

use super::fields::{Field, Read, fraction, head_name, lines};
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::kinds::{Kind, show, significant};
use crate::source::Span;
use crate::syntax::Block;

/// What a rule is called, what it says, the kind of its value, and between which values it makes
/// sense at all (SI).
pub struct Known {
    /// Its name.
    pub name: &'static str,
    /// What its value is, in words.
    pub about: &'static str,
    /// The kind of its value.
    pub kind: Kind,
    /// The least and the most that it may be set to.
    pub bounds: (f64, f64),
}

const fn known(name: &'static str, about: &'static str, kind: Kind, low: f64, high: f64) -> Known {
    Known { name, about, kind, bounds: (low, high) }
}

/// Every rule that a judge asks for; the library declares each.
pub const KNOWN: &[Known] = &[
    known("boiling_fill", "how full a flask may be when it boils", Kind::Ratio, 0.1, 0.9),
    known("boiling_margin", "how far above its predicted boiling point a liquid may be held", Kind::TemperatureDifference, 0.0, 50.0),
    known("water_condenser", "the boiling point up to which a condenser is cooled with water", Kind::Temperature, 373.15, 473.15),
    known("vapour_beyond", "how far beyond its range a vapour pressure equation is followed", Kind::TemperatureDifference, 0.0, 300.0),
    known("air_condenser", "the boiling point from which air is cold enough to condense", Kind::Temperature, 323.15, 473.15),
    known("tap_water_condenser", "the boiling point from which tap water is cold enough to condense", Kind::Temperature, 273.15, 323.15),
    known("flash_margin", "how far below its flash point a liquid stays in an open vessel", Kind::TemperatureDifference, 0.0, 60.0),
    known("dry_residue", "the share of a peroxide former's charge that is left in the flask", Kind::Ratio, 0.0, 0.5),
    known("peroxide_share", "the share of peroxide former from which a residue is asked for", Kind::Ratio, 0.0, 1.0),
    known("closed_heat", "the temperature up to which a closed vessel may be warmed", Kind::Temperature, 283.15, 373.15),
    known("closed_pressure", "the pressure above the air's that a closed vessel may come to", Kind::Pressure, 0.0, 2e5),
    known("layer_gap", "the difference of density below which layers are too close to call", Kind::Density, 0.0, 200.0),
    known("wash_loss", "the share of the product that a wash may take along", Kind::Ratio, 0.0, 0.9),
    known("washes_loss", "the share of the product that all washes together may take along", Kind::Ratio, 0.0, 0.9),
    known(
        "loss_by_estimate",
        "the share of the product that a wash, or all of them, may take along where that is estimated",
        Kind::Ratio,
        0.0,
        0.9,
    ),
    known("coarse_measure", "the share of an amount that its measurement may be off", Kind::Ratio, 0.001, 0.5),
    known("good_measure", "the share of an amount that the instrument for it may be off", Kind::Ratio, 0.001, 0.5),
    known("rough_measure", "the same share for what only washes, rinses or is poured into", Kind::Ratio, 0.001, 0.5),
    known("carbon_share", "the share of a solid up to which charcoal is put to it", Kind::Ratio, 0.005, 1.0),
    known("drying_time", "the part of the time an agent needs that a liquid is left over it at least", Kind::Ratio, 0.0, 1.0),
    known("carried_off", "the share of the water that is taken off at least in the stated time", Kind::Ratio, 0.0, 0.99),
    known("thrown_away", "the share of the product in one waste at which it is told", Kind::Ratio, 0.0, 0.9),
    known("steep_rise", "the rise from which a slow addition is asked for", Kind::TemperatureDifference, 5.0, 200.0),
    known("cooling_used", "the part of what a bath can take up that the heat of an addition may come to", Kind::Ratio, 0.05, 10.0),
    known("pace_apart", "the share by which a time and a rate of one addition may lie apart", Kind::Ratio, 0.0, 2.0),
    known("sudden_rise", "the rise from which what is brought together at once is told", Kind::TemperatureDifference, 2.0, 100.0),
    known(
        "strong_acid_share",
        "the share of strong acid, in acid and water, from which no water is poured into it",
        Kind::Ratio,
        0.05,
        1.0,
    ),
    known("reagent_bulk", "the share of a pot from which a reagent is the bulk of it", Kind::Ratio, 0.01, 1.0),
    known("hot_acid", "the temperature up to which base is put into acid", Kind::Temperature, 273.15, 373.15),
    known("acid_left", "the share of strong acid up to which a charge is distilled", Kind::Ratio, 0.0, 0.1),
    known("water_left", "the share of water, or of solvent on crystals, up to which something counts as dry", Kind::Ratio, 0.0, 0.1),
    known("carrier_ratio", "how many times its mass of a lower-boiling solvent carries water off", Kind::Ratio, 1.0, 1000.0),
    known("liquor_loss", "the share of the product that the liquor of a crystallisation may keep", Kind::Ratio, 0.0, 0.9),
    known("runnings_loss", "the share of the product that the first runnings or the residue of a still may keep", Kind::Ratio, 0.0, 0.9),
    known("stopper_margin", "how far below its boiling point a liquid stands closed", Kind::TemperatureDifference, 0.0, 50.0),
    known("scale_step", "the largest step of scale-up where heat is set free", Kind::Ratio, 1.0, 100.0),
    known("scale_step_mild", "the largest step of scale-up where little heat is set free", Kind::Ratio, 1.0, 1000.0),
    known("figures_agree", "the share by which figures of one amount may differ", Kind::Ratio, 0.0, 0.05),
    known("yields_agree", "the part of theory by which a mass and a percentage of one yield may differ", Kind::Ratio, 0.0, 0.2),
    known("identity_apart", "how far from the known a melting or boiling point may be stated", Kind::TemperatureDifference, 0.0, 50.0),
    known("small_batch", "the batch below which drops and films on glass count", Kind::Mass, 0.0, 0.1),
];

/// A value of a rule, with where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// SI.
    pub value: f64,
    /// The source.
    pub source: Arc<str>,
}

/// A threshold that judges ask for: the value in force, and what others say.
#[derive(Clone, Debug)]
pub struct Rule {
    /// Its name.
    pub name: String,
    /// What its value is, in words.
    pub about: &'static str,
    /// The kind of its value.
    pub kind: Kind,
    /// The value in force.
    pub setting: Setting,
    /// Other values, with who holds them.
    pub others: Vec<Setting>,
    /// Where it is declared.
    pub span: Span,
    /// Whether a file of the user's own set it.
    pub own: bool,
}

impl Rule {
    /// The value in force, SI.
    #[must_use]
    pub fn value(&self) -> f64 {
        self.setting.value
    }

    /// The value as it is read: `2/3`, `5 %`, `150 °C`.
    #[must_use]
    pub fn shown(&self) -> String {
        shown(self.setting.value, self.kind)
    }

    /// `rule boiling_fill: 2/3, common practice`, for the end of a finding's help.
    #[must_use]
    pub fn cited(&self) -> String {
        format!("rule `{}`: {} ({})", self.name, self.shown(), self.setting.source)
    }
}

/// The fields of a rule.
const FIELDS: &[&str] = &["value", "others"];

/// Reads a rule.
pub fn declare(block: &Block, findings: &mut Vec<Diagnostic>) -> Option<Rule> {
    let (name, span) = head_name(&block.head).map_err(|finding| findings.push(finding)).ok()?;
    let Some(known) = KNOWN.iter().find(|known| known.name == name) else {
        let names = || KNOWN.iter().map(|known| known.name);
        let near = suggest::sentence(&name, names())
            .unwrap_or_else(|| format!("the rules are {}", suggest::listed(&names().collect::<Vec<_>>(), "and")));
        findings.push(Diagnostic::new(Code::UnknownName, span, format!("no check asks for a rule `{name}`")).help(near));
        return None;
    };
    let (mut value, mut others) = (None, Vec::new());
    let before = findings.len();
    for line in lines(block, findings) {
        let read = Field::of(line).and_then(|mut field| {
            let limit = match field.name {
                "value" | "others" => limit(&mut field, known)?,
                _ => return Err(field.unknown("a rule", FIELDS)),
            };
            field.end()?;
            if limit.source.is_empty() {
                return Err(Diagnostic::new(Code::SyntaxExpected, line.span, "this value does not say where it comes from")
                    .help("write `source \"…\"` behind it, such as `source \"rule of our own laboratory\"`"));
            }
            if field.name == "value" {
                value = Some(limit)
            } else {
                others.push(limit)
            }
            Ok(())
        });
        if let Err(finding) = read {
            findings.push(finding);
        }
    }
    let Some(setting) = value else {
        if findings.len() == before {
            findings.push(
                Diagnostic::new(Code::SyntaxExpected, span, format!("the rule `{name}` has no value"))
                    .help(format!("write `value …` with {} and its source", known.kind.article_name())),
            );
        }
        return None;
    };
    Some(Rule { name, about: known.about, kind: known.kind, setting, others, span, own: false })
}

fn limit(field: &mut Field<'_>, known: &Known) -> Read<Setting> {
    let value = match known.kind {
        Kind::Ratio => fraction(field)?,
        // A difference is written in kelvins, which by themselves are read as a temperature.
        Kind::TemperatureDifference => field.figure(&[known.kind, Kind::Temperature])?.low,
        kind => field.figure(&[kind])?.low,
    };
    let (low, high) = known.bounds;
    if !(low..=high).contains(&value) {
        return Err(Diagnostic::new(
            Code::OutOfRange,
            field.span,
            format!("{} is not a value that makes sense here", shown(value, known.kind)),
        )
        .help(format!("`{}` lies between {} and {}", known.name, shown(low, known.kind), shown(high, known.kind))));
    }
    Ok(Setting { value, source: field.source.clone() })
}

/// A rule's value as it is read: `2/3`, `5 %`, `150 °C`.
#[must_use]
pub fn shown(value: f64, kind: Kind) -> String {
    let plain = |value: f64| {
        let text = significant(value, 3);
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
    };
    match kind {
        Kind::Ratio if (value - 2.0 / 3.0).abs() < 1e-6 => "2/3".to_owned(),
        Kind::Ratio if value < 1.0 => format!("{} %", plain(value * 100.0)),
        Kind::Ratio => plain(value),
        Kind::Temperature => format!("{} °C", plain(value - 273.15)),
        kind => show(value, kind, 3),
    }
}
