//! Drawing out what plants hold: steeping, and the siphon extractor.

use crate::diagnostics::{Code, Diagnostic};
use crate::evaluate::context::{Done, Taken};
use crate::evaluate::{Context, Fact};
use crate::kinds::{Kind, show, significant};
use crate::matter::mixture::{self, models};
use crate::matter::plant;
use crate::matter::portion::{Masses, Portion};
use crate::resolve::definitions::Sub;

/// m³ of liquid that a kg of drained plant keeps where nothing is declared. Our own figure.
const KEEPS: f64 = 1.0e-3;

/// kg/m³ of plant as poured where nothing is declared. Our own figure.
const BULK: f64 = 300.0;

/// kg/m³ of the plant's own substance, between which the liquid stands. Our own figure.
const DENSE: f64 = 1200.0;

/// The time between two emptyings of a siphon extractor, s. Our own figure: they lie between 5 and 20 min.
const EMPTIES: f64 = 600.0;

/// Lets a plant stand in a liquid and drains it, `portions` times with the same amount.
///
/// # Errors
/// When an amount cannot be worked out, or what the plant holds is not declared.
pub fn steep(context: &mut Context<'_>) -> Done {
    let what = context.one("what")?;
    context.settled(&what)?;
    let times = context.times("portions");
    let Some(solvent) = context.take("solvent", times)?.into_iter().next() else { return Ok(()) };
    context.settled(&solvent)?;
    declared(context, &what)?;
    told(context, &what.portion);
    context.model(models::STEEPING);
    context.eval.assumed.insert("Steeping is taken to go on until the liquid is as strong within the plant as around it.".to_owned());
    let shares = context.shares(&solvent, times);
    let whole = what.portion.mass() + shares.iter().map(Portion::mass).sum::<f64>();
    let before = what.portion.masses();
    let temperature = context.figure("temperature");
    let mut marc = what.portion.clone();
    let mut pooled = Portion::default();
    for share in &shares {
        let mut all = marc.clone();
        all.join(share, &mut context.eval.ledger, context.defs, &what.name);
        if let Some(figure) = temperature {
            all.temperature = figure.middle();
        }
        let stays = drained(context, &all, &share.masses(), &what.name)?;
        let (kept, extract) = parted(context, &all, &stays, models::STEEPING);
        marc = kept;
        if pooled.contents.is_empty() {
            pooled = extract;
        } else {
            pooled.join(&extract, &mut context.eval.ledger, context.defs, "the extract");
        }
    }
    if let Some(figure) = temperature
        && figure.top() > 303.15
    {
        let boiling = context.boiling(&solvent.portion.liquid(context.defs.find("water")));
        let fact = Fact::Held { statement: context.number, span: figure.span, name: what.name.clone(), temperature: figure.top(), boiling };
        context.eval.facts.push(fact);
        context.record().temperature = Some(figure.middle());
    }
    context.record().duration = context.figure("time").map(|time| time.middle());
    drew(context, &before, &pooled, &marc);
    finish(context, pooled, marc, whole);
    Ok(())
}

/// Boils a solvent under a siphon extractor with the plant in it.
///
/// # Errors
/// When an amount cannot be worked out, or what the plant holds is not declared.
pub fn draw(context: &mut Context<'_>) -> Done {
    let what = context.one("what")?;
    context.settled(&what)?;
    let solvent = context.one("solvent")?;
    context.settled(&solvent)?;
    declared(context, &what)?;
    told(context, &what.portion);
    context.model(models::DRAWN);
    let before = what.portion.masses();
    let whole = what.portion.mass() + solvent.portion.mass();
    let time = context.figure("time").map_or(0.0, |time| time.middle());
    let liquid = solvent.portion.liquid(context.defs.find("water"));
    let boiling = context.boiling(&liquid);
    let charge = context.volume(&solvent.portion, &solvent.name, solvent.span)?;
    let taken = plant::plants(&before, context.defs);
    let room: f64 = taken.iter().map(|(_, plant, mass)| mass / plant.bulk.as_ref().map_or(BULK, |bulk| bulk.value)).sum();
    let own: f64 = taken.iter().map(|(_, _, mass)| mass / DENSE).sum();
    let mut left = 1.0;
    if let Some((apparatus, size, span)) = context.apparatus("extractor")
        && let Some(size) = size.or_else(|| apparatus.sizes.first().copied())
    {
        let part = apparatus.siphon.as_ref().map_or(1.0, |part| part.value);
        let needed = (size * part - own).max(0.0);
        context.eval.facts.push(Fact::Thimble { span, name: what.name.clone(), mass: what.portion.mass(), room, size });
        context.eval.facts.push(Fact::Siphon {
            statement: context.number,
            span,
            needed,
            volatile: charge,
            charge,
            size,
            part,
            bed: (what.name.clone(), what.portion.mass(), 0.0),
            water: (0.0, 0.0),
        });
        let cycles = (time / EMPTIES).floor();
        left = (keeps(context, &before) / needed.max(1e-9)).min(1.0).powf(cycles);
        let times = if cycles == 1.0 { "once".to_owned() } else { format!("about {cycles:.0} times") };
        context.expect(format!("The extractor empties {times} in this time; go on until what runs over is colourless."));
    }
    let mut all = what.portion.clone();
    all.join(&solvent.portion, &mut context.eval.ledger, context.defs, &what.name);
    all.temperature = boiling.unwrap_or(mixture::ROOM);
    // The liquid that clings is fresh condensate, in which the last trace of what is drawn is left.
    let clings = (keeps(context, &before) / charge.max(1e-30)).min(1.0);
    let with_water = mixes_with_water(context, &liquid);
    let mut stays = Masses::new();
    for (sub, mass) in all.masses() {
        let brought = liquid.get(&sub).copied().unwrap_or(0.0);
        let own = (mass - brought).max(0.0);
        let substance = context.defs.substance(sub);
        let within = substance.formula.is_none() || substance.is("water") && !with_water;
        stays.insert(sub, brought * clings + if within { own } else { own * left });
    }
    let (mut marc, mut extract) = parted(context, &all, &stays, models::DRAWN);
    marc.temperature = mixture::ROOM;
    extract.temperature = mixture::ROOM;
    context.record().temperature = boiling;
    context.record().duration = Some(time);
    drew(context, &before, &extract, &marc);
    finish(context, extract, marc, whole);
    Ok(())
}

/// Refuses matter of which nothing is known that could be drawn.
fn declared(context: &Context<'_>, what: &Taken) -> Done {
    if plant::plants(&what.portion.masses(), context.defs).iter().any(|(_, plant, _)| !plant.holds.is_empty()) {
        return Ok(());
    }
    Err(Box::new(
        Diagnostic::new(Code::NotKnown, what.span, format!("what `{}` holds that could be drawn is not known", what.name))
            .help("declare it: `substance my_plant { class plant; holds limonene, 1..2 % w/w source \"…\" }`, a line each; a solid that dissolves is dissolved"),
    ))
}

/// m³ of liquid that the plants keep when they are drained.
fn keeps(context: &mut Context<'_>, masses: &Masses) -> f64 {
    let mut all = 0.0;
    for (sub, plant, taken) in plant::plants(masses, context.defs) {
        if plant.retains.is_none() {
            let name = context.defs.substance(sub).display();
            context.eval.assumed.insert(format!("How much liquid drained {name} keeps is not known; 1 mL to the gram is counted."));
        }
        all += taken * plant.retains.as_ref().map_or(KEEPS, |retains| retains.value);
    }
    all
}

/// Whether the main substance of a liquid takes up any amount of water.
fn mixes_with_water(context: &Context<'_>, liquid: &Masses) -> bool {
    let main = liquid.iter().max_by(|a, b| a.1.total_cmp(b.1)).map(|(sub, _)| context.defs.substance(*sub));
    main.is_some_and(|main| main.is("water") || main.is_miscible())
}

/// kg of each that stay with the plant when it is drained.
fn drained(context: &mut Context<'_>, all: &Portion, solvent: &Masses, name: &str) -> Result<Masses, Box<Diagnostic>> {
    let masses = all.masses();
    let with_water = mixes_with_water(context, solvent);
    // What takes part: all but the plant itself, and its water where that does not mix with the liquid.
    let mut free = masses.clone();
    free.retain(|sub, _| {
        let substance = context.defs.substance(*sub);
        substance.formula.is_some() && (with_water || !substance.is("water"))
    });
    let undissolved = undissolved(context, &free, all.temperature);
    for (sub, left) in &undissolved {
        if let Some(mass) = free.get_mut(sub) {
            *mass -= left;
        }
    }
    let volume = mixture::volume(&free, context.defs, &mut context.eval.assumed)
        .map_err(|sub| Box::new(crate::evaluate::amounts::unknown_volume(context.defs, sub, name, context.span())))?;
    let share = (keeps(context, &masses) / volume.max(1e-30)).min(1.0);
    Ok(masses.iter().map(|(sub, mass)| (*sub, mass - free.get(sub).map_or(0.0, |free| free * (1.0 - share)))).collect())
}

/// kg of each that the liquid does not dissolve: solids by their solubility, oils where it is water.
fn undissolved(context: &mut Context<'_>, free: &Masses, t: f64) -> Masses {
    let mut left = mixture::solids(free, t, context.defs, &mut context.eval.assumed);
    let total: f64 = free.values().sum();
    let Some(water) = context.defs.find("water") else { return left };
    let wet = free.get(&water).copied().unwrap_or(0.0);
    if wet < 0.8 * total {
        return left;
    }
    for (sub, mass) in free {
        let substance = context.defs.substance(*sub);
        let points = substance.solubility_in(None);
        let near = points.iter().min_by(|a, b| (a.0 - t).abs().total_cmp(&(b.0 - t).abs()));
        if *sub != water
            && !substance.is_miscible()
            && substance.is_solid(t) == Some(false)
            && let Some((_, limit)) = near
            && mass - limit * wet / 998.2 > 0.0
        {
            left.insert(*sub, mass - limit * wet / 998.2);
        }
    }
    left
}

/// Two portions: what stays, and the rest.
fn parted(context: &mut Context<'_>, all: &Portion, stays: &Masses, model: &'static str) -> (Portion, Portion) {
    let mut marc = Portion { temperature: all.temperature, ..Portion::default() };
    let mut extract = Portion { temperature: all.temperature, ..Portion::default() };
    for (sub, mass) in &all.contents {
        let name = context.defs.substance(*sub).display();
        let kept = stays.get(sub).copied().unwrap_or(0.0).clamp(0.0, mass.si);
        let kept = context.eval.ledger.model(model, format!("{name} in the marc"), Kind::Mass, kept, &[*mass]);
        let gone = context.eval.ledger.minus(format!("{name} in the extract"), Kind::Mass, *mass, kept);
        if kept.si > 0.0 {
            marc.contents.insert(*sub, kept);
        }
        if gone.si > 1e-15 * mass.si && gone.si > 0.0 {
            extract.contents.insert(*sub, gone);
        }
    }
    (marc, extract)
}

fn finish(context: &mut Context<'_>, mut extract: Portion, mut marc: Portion, whole: f64) {
    context.settle(&mut extract);
    context.settle(&mut marc);
    context.give("extract", extract, whole);
    context.give("marc", marc, whole);
}

/// Says how much the plants in a portion hold, with the range that is usual.
pub fn told(context: &mut Context<'_>, portion: &Portion) {
    let masses = portion.masses();
    let mut sentences = Vec::new();
    for (sub, plant, taken) in plant::plants(&masses, context.defs) {
        for held in &plant.holds {
            let (name, low, high) = &held.value;
            let Some(content) = context.defs.find(name) else { continue };
            let (there, middle) = (masses.get(&content).copied().unwrap_or(0.0), 0.5 * (low + high));
            // What has been drawn already holds less than the range says.
            if there < 0.99 * taken * middle {
                continue;
            }
            sentences.push(format!(
                "{} of {} holds {} to {} of {} ({} to {} %, {}); the sums use {}.",
                show(taken, Kind::Mass, 3),
                context.defs.substance(sub).display(),
                show(taken * low, Kind::Mass, 2),
                show(taken * high, Kind::Mass, 2),
                context.defs.substance(content).display(),
                significant(low * 100.0, 2),
                significant(high * 100.0, 2),
                held.source,
                show(taken * middle, Kind::Mass, 2),
            ));
        }
    }
    for sentence in sentences {
        context.expect(sentence);
    }
}

/// Says how much of it was drawn, and what the marc keeps.
fn drew(context: &mut Context<'_>, before: &Masses, extract: &Portion, marc: &Portion) {
    let held: Vec<Sub> = plant::plants(before, context.defs)
        .iter()
        .flat_map(|(_, plant, _)| plant.holds.iter().filter_map(|held| context.defs.find(&held.value.0)))
        .collect();
    for sub in held {
        let name = context.defs.substance(sub).display();
        let (drawn, there) = (extract.of(sub), before.get(&sub).copied().unwrap_or(0.0));
        context.expect(format!("About {} of {} of {name} goes into the extract.", show(drawn, Kind::Mass, 2), show(there, Kind::Mass, 2)));
    }
    context.expect(format!("The drained marc weighs about {}, with the liquid that it keeps.", show(marc.mass(), Kind::Mass, 2)));
}
