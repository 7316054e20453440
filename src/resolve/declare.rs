//! Declarations of substances, solutions, agents, apparatus, instruments and hazard texts.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::definitions::{Agent, Apparatus, Boils, Instrument, Safety, Solubility, Sourced, Speed, Substance};
use super::fields::{Field, Read, fraction, head_name, lines, sourced};
use super::{incompatible, plant, safety};
use crate::chemistry::activity::{self, Tables};
use crate::chemistry::formula::Formula;
use crate::chemistry::hydrate::hydrate_capacity;
use crate::chemistry::vapour::VapourPressure;
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::kinds::Kind;
use crate::source::Span;
use crate::syntax::Block;

/// kg/mol of water, with which a hydrate's capacity is worked out (CIAAW abridged weights 2021).
pub const WATER_MOLAR_MASS: f64 = 18.015e-3;
/// The temperature to which glassware and tables refer, K.
const ROOM: f64 = 293.15;

const SUBSTANCE_FIELDS: &[&str] = &[
    "title",
    "also",
    "formula",
    "cas",
    "class",
    "melts",
    "fusion",
    "boils",
    "density",
    "solid_density",
    "vapour",
    "vaporisation",
    "heat_capacity",
    "flash",
    "partition",
    "solubility",
    "takes_up",
    "acidity",
    "basicity",
    "takes_acid",
    "refraction",
    "dissolves_with",
    "hazard",
    "crystal_water",
    "grade",
    "groups",
    "dortmund_groups",
    "dimerises",
    "holds",
    "moisture",
    "retains",
    "bulk",
];
const AGENT_FIELDS: &[&str] = &[
    "binds",
    "capacity",
    "practical",
    "hot",
    "floor",
    "retains",
    "bulk",
    "bead",
    "bonds",
    "speed",
    "acts_in",
    "suits",
    "refuses",
    "activation",
    "regenerates",
    "effective_below",
    "leaves_in_air",
    "leaves",
    "removes",
    "dose",
];

/// Fields that may stand more than once: a value at each temperature, for each solvent, from each source.
const REPEATED: &[&str] = &["density", "solubility", "exposure", "also", "class", "grade", "refuses", "leaves", "removes", "holds"];

/// A substance, or an agent when `agent` is set.
pub fn substance(block: &Block, doc: &str, agent: bool, findings: &mut Vec<Diagnostic>) -> Option<Substance> {
    let (name, span) = head_name(&block.head).map_err(|finding| findings.push(finding)).ok()?;
    let mut substance = Substance {
        name,
        title: None,
        also: Vec::new(),
        doc: doc.to_owned(),
        span,
        formula: None,
        formula_text: String::new(),
        cas: None,
        classes: Vec::new(),
        goes_by: BTreeSet::new(),
        melts: None,
        fusion: None,
        boils: None,
        density: Vec::new(),
        solid_density: None,
        vapour: None,
        vaporisation: None,
        heat_capacity: None,
        flash: None,
        partition: None,
        solubility: Vec::new(),
        takes_up: None,
        acidity: Vec::new(),
        basicity: None,
        takes_acid: None,
        refraction: None,
        dissolves_with: None,
        hazards: None,
        safety: Safety::default(),
        crystal_water: None,
        grades: Vec::new(),
        groups: None,
        dortmund_groups: None,
        dimerises: None,
        agent: agent.then(Agent::default),
        plant: None,
    };
    let mut binds = None;
    let mut given: BTreeMap<&str, Span> = BTreeMap::new();
    for line in lines(block, findings) {
        let read = Field::of(line).and_then(|mut field| {
            once(&field, &mut given)?;
            substance_field(&mut substance, &mut field, &mut binds)?;
            field.end()
        });
        if let Err(finding) = read {
            findings.push(finding);
        }
    }
    if let (Some((waters, source, at)), Some(mass)) = (binds, substance.molar_mass())
        && let Some(agent) = &mut substance.agent
        && agent.capacity.is_none()
    {
        let capacity = hydrate_capacity(waters, mass);
        agent.capacity = Some(Sourced { value: capacity, source, span: at });
    }
    plant::check(&substance, findings);
    substance.goes_by = incompatible::words(&substance);
    Some(substance)
}

/// That a field which has one value is given once.
fn once<'a>(field: &Field<'a>, given: &mut BTreeMap<&'a str, Span>) -> Read<()> {
    match given.insert(field.name, field.span) {
        Some(first) if !REPEATED.contains(&field.name) => {
            let message = format!("`{}` is given a second time", field.name);
            Err(Diagnostic::new(Code::Duplicate, field.span, message)
                .label(first, "the first is here")
                .help("take one of them out: which is meant would depend on the order of the lines"))
        }
        _ => Ok(()),
    }
}

fn substance_field(substance: &mut Substance, field: &mut Field<'_>, binds: &mut Option<(f64, Arc<str>, Span)>) -> Read<()> {
    match field.name {
        "title" => substance.title = Some(field.name_or_text()?),
        "also" => substance.also.extend(field.list()?),
        "formula" => {
            let at = field.cursor.here();
            let text = field.name_or_text()?;
            let formula = Formula::parse(&text)
                .map_err(|error| Diagnostic::new(Code::OutOfRange, at, format!("the formula `{text}` cannot be read: {}", error.what)))?;
            substance.formula = Some(sourced(field, formula));
            substance.formula_text = text;
        }
        "cas" => substance.cas = Some(field.name_or_text()?),
        "class" => substance.classes.extend(field.list()?),
        "melts" => substance.melts = Some(temperature(field)?),
        "boils" => substance.boils = Some(temperature(field)?),
        "flash" => substance.flash = Some(temperature(field)?),
        "density" => {
            let figure = field.figure(&[Kind::Density])?;
            let at = field.at_temperature()?.unwrap_or(ROOM);
            substance.density.push(sourced(field, (at, figure.low)));
        }
        "solid_density" => {
            let figure = field.figure(&[Kind::Density])?;
            field.at_temperature()?;
            substance.solid_density = Some(sourced(field, figure.low));
        }
        "vapour" => {
            let law = vapour(field)?;
            substance.vapour = Some(sourced(field, law));
        }
        "vaporisation" => {
            let figure = field.figure(&[Kind::MolarEnergy])?;
            substance.vaporisation = Some(sourced(field, figure.low));
        }
        "heat_capacity" => {
            let figure = field.figure(&[Kind::MolarHeatCapacity])?;
            substance.heat_capacity = Some(sourced(field, figure.low));
        }
        "partition" => {
            let value = field.number()?;
            substance.partition = Some(sourced(field, value));
        }
        "solubility" => solubility(substance, field)?,
        "takes_up" => {
            let figure = field.figure(&[Kind::MassFraction])?;
            field.at_temperature()?;
            substance.takes_up = Some(sourced(field, figure.low));
        }
        "acidity" => {
            substance.acidity.push(field.number()?);
            while field.comma() {
                substance.acidity.push(field.number()?);
            }
        }
        "basicity" => {
            let pka = field.number()?;
            substance.basicity = Some(sourced(field, pka));
        }
        "takes_acid" => substance.takes_acid = Some(field.number()?),
        "hazard" => {
            let mut codes = field.list()?;
            codes.retain(|code| code != "none");
            substance.hazards = Some(sourced(field, codes));
        }
        "crystal_water" => {
            let of = field.name_or_text()?;
            field.comma();
            substance.crystal_water = Some((of, field.number()?));
        }
        "grade" => substance.grades.extend(field.list()?),
        "refraction" => {
            let index = field.number()?;
            let at = field.at_temperature()?.unwrap_or(ROOM);
            substance.refraction = Some(sourced(field, (at, index)));
        }
        "fusion" => {
            let figure = field.figure(&[Kind::MolarEnergy])?;
            substance.fusion = Some(sourced(field, figure.low));
        }
        "dissolves_with" => {
            let figure = field.figure(&[Kind::MolarEnergy])?;
            substance.dissolves_with = Some(sourced(field, figure.low));
        }
        "groups" => substance.groups = Some(groups(field, Tables::Unifac)?),
        "dortmund_groups" => substance.dortmund_groups = Some(groups(field, Tables::Dortmund)?),
        "dimerises" => {
            let a = field.number()?;
            field.comma();
            let b = field.figure(&[Kind::Temperature])?.low;
            substance.dimerises = Some(sourced(field, (a, b)));
        }
        name if AGENT_FIELDS.contains(&name) && substance.agent.is_some() => agent_field(substance, field, binds)?,
        "holds" | "moisture" | "retains" | "bulk" => plant::field(substance.plant.get_or_insert_default(), field)?,
        _ => {
            if safety::field(&mut substance.safety, field)? {
                return Ok(());
            }
            let mut known = SUBSTANCE_FIELDS.to_vec();
            known.extend(safety::FIELDS);
            let sort = if substance.agent.is_some() {
                known.extend(AGENT_FIELDS);
                "an agent"
            } else {
                "a substance"
            };
            return Err(field.unknown(sort, &known));
        }
    }
    Ok(())
}

/// `"2 CH3, CH2, COOH"`: the groups of a molecule, each with how many there are of it.
fn groups(field: &mut Field<'_>, tables: Tables) -> Read<Sourced<Vec<(u16, String)>>> {
    let at = field.cursor.here();
    let text = field.name_or_text()?;
    let one = |part: &str| {
        let part = part.trim();
        match part.split_once(' ') {
            Some((count, name)) => count.parse().ok().filter(|count| *count > 0).map(|count| (count, name.trim().to_owned())),
            None => (!part.is_empty()).then(|| (1, part.to_owned())),
        }
    };
    let found: Option<Vec<_>> = text.split(',').map(one).collect();
    // The library's own are held to the tables by a test, so that these are not read for them.
    let own = !at.file.is_library();
    if let Some((_, unknown)) = found.iter().flatten().find(|(_, name)| own && activity::group(tables, name).is_none()) {
        let near = suggest::near(unknown, activity::group_names(tables), 3);
        let help = if near.is_empty() {
            "the published groups have names such as `CH3`, `CH2`, `OH`, `COOH`, `ACH`".to_owned()
        } else {
            format!("did you mean {}?", suggest::listed(&near, "or"))
        };
        return Err(Diagnostic::new(Code::OutOfRange, at, format!("`{unknown}` is not a group of this table")).help(help));
    }
    found.map(|found| sourced(field, found)).ok_or_else(|| {
        Diagnostic::new(Code::SyntaxExpected, at, format!("`{text}` is not a list of groups"))
            .help("write `\"2 CH3, CH2, COOH\"`: names with commas between them, each behind its number where that is more than one")
    })
}

fn temperature(field: &mut Field<'_>) -> Read<Sourced<f64>> {
    let figure = field.figure(&[Kind::Temperature])?;
    if field.word("at") {
        field.figure(&[Kind::Pressure])?;
    }
    Ok(sourced(field, figure.middle()))
}

fn vapour(field: &mut Field<'_>) -> Read<VapourPressure> {
    let at = field.cursor.here();
    let form = field.name_or_text()?;
    let mut c = Vec::new();
    while field.comma() && !field.cursor.word_is("from") {
        // Tc and Pc may carry their units; K and Pa are SI already.
        c.push(field.figure(&[Kind::Ratio, Kind::Temperature, Kind::Pressure])?.low);
    }
    let range = if field.word("from") {
        let low = field.figure(&[Kind::Temperature])?.low;
        if !field.word("to") {
            return Err(field.failed(&field.cursor.failure("`to` and a temperature", false)));
        }
        (low, field.figure(&[Kind::Temperature])?.low)
    } else {
        (0.0, f64::INFINITY)
    };
    let (t_min, t_max) = range;
    match (form.as_str(), c.as_slice()) {
        ("antoine_log10", &[a, b, c]) => Ok(VapourPressure::AntoineLog10 { a, b, c, t_min, t_max }),
        ("antoine_ln", &[a, b, c]) => Ok(VapourPressure::AntoineLn { a, b, c, t_min, t_max }),
        ("wagner_3_6", &[a, b, c, d, tc, pc]) => Ok(VapourPressure::Wagner36 { a, b, c, d, tc, pc, t_min, t_max }),
        ("wagner_25_5", &[a, b, c, d, tc, pc]) => Ok(VapourPressure::Wagner25 { a, b, c, d, tc, pc, t_min, t_max }),
        ("dippr101", &[c1, c2, c3, c4, c5]) => Ok(VapourPressure::Dippr101 { c1, c2, c3, c4, c5, t_min, t_max }),
        _ => Err(Diagnostic::new(
            Code::OutOfRange,
            at,
            format!("`{form}` with {} coefficients is not a vapour pressure equation that is known", c.len()),
        )
        .help(
            "write `antoine_log10, A, B, C`, `antoine_ln, A, B, C`, `dippr101, C1, C2, C3, C4, C5`, or \
             `wagner_3_6` or `wagner_25_5` with `a, b, c, d, Tc, Pc`, then `from … K to … K`",
        )),
    }
}

fn solubility(substance: &mut Substance, field: &mut Field<'_>) -> Read<()> {
    let solvent = if field.word("in") {
        let solvent = field.name_or_text()?;
        field.comma();
        (solvent != "water").then_some(solvent)
    } else {
        None
    };
    let point = if field.word("miscible") {
        None
    } else {
        let figure = field.figure(&[Kind::Density, Kind::MassPerVolume])?;
        Some((figure.low, field.at_temperature()?.unwrap_or(ROOM)))
    };
    substance.solubility.push(Solubility { solvent, point, source: Arc::clone(&field.source) });
    Ok(())
}

fn agent_field(substance: &mut Substance, field: &mut Field<'_>, binds: &mut Option<(f64, Arc<str>, Span)>) -> Read<()> {
    let Some(agent) = &mut substance.agent else { return Ok(()) };
    match field.name {
        "binds" => {
            let waters = field.number()?;
            if field.comma() {
                field.word("as");
                agent.hydrate = Some(field.name_or_text()?);
            }
            *binds = Some((waters, Arc::clone(&field.source), field.span));
        }
        "capacity" => {
            let figure = field.figure(&[Kind::MassFraction, Kind::Ratio])?;
            agent.capacity = Some(sourced(field, figure.low));
        }
        "practical" => {
            let figure = field.figure(&[Kind::MassFraction, Kind::Ratio])?;
            agent.practical = Some(sourced(field, figure.low));
        }
        "hot" => {
            let figure = field.figure(&[Kind::MassFraction, Kind::Ratio])?;
            agent.hot = Some(sourced(field, (figure.low, figure.top())));
        }
        "speed" => {
            let speed = if field.word("fast") {
                Speed::Fast
            } else if field.word("moderate") {
                Speed::Moderate
            } else if field.word("slow") {
                Speed::Slow
            } else {
                return Err(field.failed(&field.cursor.failure("`fast`, `moderate` or `slow`", false)));
            };
            agent.speed = Some(sourced(field, speed));
        }
        "acts_in" => {
            let figure = field.figure(&[Kind::Duration])?;
            agent.acts_in = Some(sourced(field, (figure.low, figure.top())));
        }
        "suits" => {
            for class in field.list()? {
                agent.suits.push(sourced(field, class));
            }
        }
        "activation" => {
            let how = field.name_or_text()?;
            agent.activation = Some(sourced(field, how));
        }
        "leaves_in_air" => {
            let figure = field.figure(&[Kind::Density, Kind::MassPerVolume])?;
            agent.leaves_in_air = Some(sourced(field, figure.low));
        }
        "leaves" => {
            let liquid = field.name_or_text()?;
            field.comma();
            let share = field.figure(&[Kind::MassFraction])?.low;
            field.comma();
            let time = field.figure(&[Kind::Duration])?.low;
            agent.leaves.push(sourced(field, (liquid, share, time)));
        }
        "removes" => {
            let liquid = field.name_or_text()?;
            field.comma();
            let share = fraction(field)?;
            field.comma();
            let time = field.figure(&[Kind::Duration])?.low;
            agent.removes.push(sourced(field, (liquid, share, time)));
        }
        "dose" => {
            let figure = field.figure(&[Kind::MassFraction, Kind::Ratio])?;
            agent.dose = Some(sourced(field, (figure.low, figure.top())));
        }
        "floor" => {
            let figure = field.figure(&[Kind::Density])?;
            agent.floor = Some(sourced(field, figure.low));
        }
        "retains" => {
            let figure = field.figure(&[Kind::SpecificVolume])?;
            agent.retains = Some(sourced(field, figure.low));
        }
        "bulk" => {
            let figure = field.figure(&[Kind::Density])?;
            agent.bulk = Some(sourced(field, figure.low));
        }
        "bead" => {
            let figure = field.figure(&[Kind::Density])?;
            agent.bead = Some(sourced(field, figure.low));
        }
        "effective_below" => {
            let figure = field.figure(&[Kind::Temperature])?;
            agent.effective_below = Some(sourced(field, figure.low));
        }
        "bonds" => {
            let moles = field.number()?;
            field.comma();
            let class = field.name_or_text()?;
            agent.bonds = Some(sourced(field, (moles, class)));
        }
        "refuses" => {
            for class in field.list()? {
                agent.refuses.push(sourced(field, class));
            }
        }
        _ => {
            let figure = field.figure(&[Kind::Temperature])?;
            if field.comma() {
                field.figure(&[Kind::Duration])?;
            }
            agent.regenerates = Some(sourced(field, (figure.low, figure.top())));
        }
    }
    Ok(())
}

/// A kind of apparatus.
pub fn apparatus(block: &Block, findings: &mut Vec<Diagnostic>) -> Option<Apparatus> {
    let (name, span) = head_name(&block.head).map_err(|finding| findings.push(finding)).ok()?;
    let mut apparatus = Apparatus {
        name,
        serves: Vec::new(),
        sizes: Vec::new(),
        fill: None,
        stores: false,
        boils: None,
        closed: false,
        flame: false,
        range: None,
        plates: None,
        siphon: None,
        source: Arc::from(""),
        span,
    };
    for line in lines(block, findings) {
        let read = Field::of(line).and_then(|mut field| {
            match field.name {
                "serves" => apparatus.serves.extend(field.list()?),
                "sizes" => {
                    apparatus.source = Arc::clone(&field.source);
                    apparatus.sizes.push(field.figure(&[Kind::Volume])?.low);
                    while field.comma() {
                        apparatus.sizes.push(field.figure(&[Kind::Volume])?.low);
                    }
                }
                "fill" => {
                    let fraction = fraction(&mut field)?;
                    apparatus.fill = Some(sourced(&field, fraction));
                }
                "stores" => apparatus.stores = true,
                "closed" => apparatus.closed = true,
                "flame" => apparatus.flame = yes_or_no(&mut field)?,
                "boils" => {
                    let boils = if field.word("open") {
                        Boils::Open
                    } else if yes_or_no(&mut field)? {
                        Boils::Yes
                    } else {
                        Boils::No
                    };
                    apparatus.boils = Some(sourced(&field, boils));
                }
                "range" => {
                    let figure = field.figure(&[Kind::Temperature])?;
                    apparatus.range = Some(sourced(&field, (figure.low, figure.top())));
                }
                "plates" => {
                    let plates = field.number()?;
                    apparatus.plates = Some(sourced(&field, plates));
                }
                "siphon" => {
                    let part = fraction(&mut field)?;
                    apparatus.siphon = Some(sourced(&field, part));
                }
                _ => {
                    return Err(field.unknown(
                        "apparatus",
                        &["serves", "sizes", "fill", "stores", "closed", "boils", "flame", "range", "plates", "siphon"],
                    ));
                }
            }
            field.end()
        });
        if let Err(finding) = read {
            findings.push(finding);
        }
    }
    apparatus.sizes.sort_by(f64::total_cmp);
    Some(apparatus)
}

/// `yes` or `no`.
fn yes_or_no(field: &mut Field<'_>) -> Read<bool> {
    if field.word("yes") {
        Ok(true)
    } else if field.word("no") {
        Ok(false)
    } else {
        Err(field.failed(&field.cursor.failure("`yes` or `no`", false)))
    }
}

/// A measuring instrument.
pub fn instrument(block: &Block, findings: &mut Vec<Diagnostic>) -> Option<Instrument> {
    let (name, span) = head_name(&block.head).map_err(|finding| findings.push(finding)).ok()?;
    let mut instrument = Instrument {
        title: name.replace('_', " "),
        name,
        serves: None,
        volume: true,
        range: (0.0, 0.0),
        step: 0.0,
        tolerance: None,
        class: None,
        classes: BTreeMap::new(),
    };
    const KINDS: &[Kind] = &[Kind::Volume, Kind::Mass, Kind::Temperature];
    for line in lines(block, findings) {
        let read = Field::of(line).and_then(|mut field| {
            match field.name {
                "title" => instrument.title = field.name_or_text()?,
                "serves" => instrument.serves = Some(field.name_or_text()?),
                "measures" => {
                    let figure = field.figure(KINDS)?;
                    instrument.volume = figure.kind == Kind::Volume;
                    instrument.range = (figure.low, figure.top());
                }
                "step" => instrument.step = field.figure(KINDS)?.low,
                "tolerance" => {
                    let figure = field.figure(KINDS)?;
                    instrument.tolerance = Some(sourced(&field, figure.low));
                }
                "class" => instrument.class = Some(field.name_or_text()?),
                "class_a" | "class_b" => {
                    let class = if field.name == "class_a" { "A" } else { "B" };
                    let figure = field.figure(KINDS)?;
                    instrument.classes.insert(class.to_owned(), sourced(&field, figure.low));
                }
                _ => {
                    let fields = ["title", "serves", "measures", "step", "tolerance", "class", "class_a", "class_b"];
                    return Err(field.unknown("an instrument", &fields));
                }
            }
            field.end()
        });
        if let Err(finding) = read {
            findings.push(finding);
        }
    }
    if instrument.step <= 0.0 || instrument.range.1 <= 0.0 {
        findings.push(
            Diagnostic::new(Code::SyntaxExpected, span, "an instrument says what it measures and to which step")
                .help("write `measures 1..10 mL` and `step 0.2 mL`"),
        );
        return None;
    }
    Some(instrument)
}
