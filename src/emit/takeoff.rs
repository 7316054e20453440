//! What azeotropes mean for taking water out: what comes over first, how much water it carries, whether it
//! parts in a trap.

use super::boil::ordered;
use super::layers::GAP;
use super::shares::{Shares, degrees, percent};
use super::words::list;
use crate::asked::Asked;
use crate::chemistry::phase::{Azeotrope, Extremum, Liquid};
use crate::kinds::significant;
use crate::matter::boiling;
use crate::matter::mixture::{self, Assumed, ROOM};
use crate::matter::system::Liquids;
use crate::resolve::definitions::Sub;

/// Sentences; none where no water is asked about.
pub fn sentences(asked: &Asked, liquids: &Liquids, found: &[Azeotrope], p: f64) -> Vec<String> {
    let defs = &asked.defs;
    let Some(water) = defs.find("water").filter(|water| asked.place(*water).is_some()) else { return Vec::new() };
    let place = |wanted: Sub| liquids.subs.iter().position(|sub| *sub == wanted);
    let Some(at) = place(water) else { return Vec::new() };
    let holds = |azeotrope: &Azeotrope| azeotrope.members.contains(&at);
    let pure = |sub: &Sub| Some((boiling::boiling_point(defs.substance(*sub), p)?, *sub));
    let lowest = found.iter().min_by(|a, b| a.t.total_cmp(&b.t));
    let lowest_pure = liquids.subs.iter().filter_map(pure).min_by(|a, b| a.0.total_cmp(&b.0));
    let first_azeotrope = lowest.filter(|azeotrope| lowest_pure.is_none_or(|(t, _)| azeotrope.t < t));
    let carrier =
        found.iter().filter(|azeotrope| holds(azeotrope) && azeotrope.extremum != Extremum::Maximum).min_by(|a, b| a.t.total_cmp(&b.t));
    let mut out = Vec::new();
    match (first_azeotrope, lowest_pure) {
        (Some(first), _) if holds(first) => {
            out.push(format!("the azeotrope of {} comes over first, at {}.", of(first, asked, liquids), degrees(first.t)))
        }
        (Some(first), _) => out.push(format!(
            "the azeotrope of {} comes over first, at {}, and carries no water.",
            of(first, asked, liquids),
            degrees(first.t)
        )),
        (None, Some((t, sub))) if sub == water => {
            out.push(format!("water comes over first, at {}, with some of the rest beside it.", degrees(t)))
        }
        (None, Some((t, sub))) => {
            out.push(format!("{} comes over first, at {}, and leaves water behind.", defs.substance(sub).display(), degrees(t)))
        }
        (None, None) => {}
    }
    let Some(carrier) = carrier else {
        let last = found.iter().find(|azeotrope| holds(azeotrope));
        out.push(match last {
            Some(last) => format!(
                "The azeotrope of {} boils highest, at {}: it is what stays in the flask, and keeps its water.",
                of(last, asked, liquids),
                degrees(last.t)
            ),
            None => "No azeotrope holds water: what distils takes it along only as the vapour over the mixture does, which \
                     `scruple boil` tells."
                .to_owned(),
        });
        return out;
    };
    let shares = Shares::of_moles(&ordered(asked, liquids, &carrier.y), defs);
    let wet = shares.by_mass("water");
    if !first_azeotrope.is_some_and(holds) {
        out.push(format!("Water is carried by the azeotrope of {} at {}.", of(carrier, asked, liquids), degrees(carrier.t)));
    }
    out.push(format!("100 g of it carry {} g of water.", significant(100.0 * wet, if wet < 0.1 { 2 } else { 3 })));
    out.push(trap(asked, liquids, carrier, at));
    out
}

/// A layer in the trap.
struct Layer {
    /// Its share of the mass.
    share: f64,
    /// m³ for a kg of all, where densities are known.
    volume: Option<f64>,
    /// Mass fraction of water in it.
    wet: f64,
}

impl Layer {
    fn density(&self) -> Option<f64> {
        Some(self.share / self.volume?)
    }
}

/// What the condensed azeotrope does in a trap at room temperature.
fn trap(asked: &Asked, liquids: &Liquids, azeotrope: &Azeotrope, water: usize) -> String {
    let Ok(parts) = liquids.system.split(&azeotrope.y, ROOM) else {
        return "Whether it parts in a trap is not worked out.".to_owned();
    };
    let whole: f64 = liquids.masses(&azeotrope.y).values().sum();
    let layer = |part: &Liquid| {
        let moles: Vec<f64> = part.x.iter().map(|x| x * part.share).collect();
        let mut masses = liquids.masses(&moles);
        masses.retain(|_, mass| *mass > 0.0);
        let volume = mixture::volume(&masses, &asked.defs, &mut Assumed::new()).ok();
        Layer {
            share: masses.values().sum::<f64>() / whole,
            volume: volume.map(|volume| volume / whole),
            wet: liquids.by_mass(&part.x).get(water).copied().unwrap_or(0.0),
        }
    };
    let mut layers: Vec<Layer> = parts.iter().map(layer).collect();
    layers.sort_by(|a, b| b.wet.total_cmp(&a.wet));
    let [watery, other, ..] = layers.as_slice() else {
        return "Condensed and cooled to 20 °C it stays one liquid: a trap takes nothing out of it. Lead it through a drying agent on its \
                way back, or distil it off for good."
            .to_owned();
    };
    let side = match watery.density().zip(other.density()) {
        Some((own, other)) if own > other + GAP => "the lower layer, that of water, is",
        Some((own, other)) if own < other - GAP => "the upper layer, that of water, is",
        _ => "the layers are too close in density to say which lies on top; that of water is",
    };
    let millilitres = watery.volume.map_or_else(String::new, |volume| format!(" ({} mL)", significant(volume * 1e5, 2)));
    format!(
        "In a trap at 20 °C it parts: {side} {} g{millilitres} of each 100 g, and {} water; drained off, it takes a gram of water out with \
         every {} g that come over, and the rest goes back.",
        significant(100.0 * watery.share, 2),
        percent(watery.wet),
        significant(1.0 / (watery.share * watery.wet), 2)
    )
}

fn of(azeotrope: &Azeotrope, asked: &Asked, liquids: &Liquids) -> String {
    let own: Vec<Sub> = azeotrope.members.iter().filter_map(|place| liquids.subs.get(*place).copied()).collect();
    let listed = asked.substances.iter().map(|(sub, _)| *sub).filter(|sub| own.contains(sub));
    list(&listed.map(|sub| asked.defs.substance(sub).display()).collect::<Vec<_>>())
}
