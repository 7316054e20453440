//! The figures of a plan, each with what it follows from.

use super::super::view::{self, Item};
use super::super::words::{self, plain};
use super::{Case, Reason, label};
use crate::evaluate::Record;
use crate::kinds::significant;
use crate::matter::ledger::Num;
use crate::matter::linear::BindingId;
use crate::matter::portion::Portion;
use crate::resolve::definitions::Sub;

impl Case<'_> {
    pub(super) fn material(&self, at: usize, rest: &[&str]) -> Option<Reason> {
        let items = view::items(self.outcome, self.sources);
        let item = items.all.get(at)?;
        self.item(item, rest)
    }

    fn item(&self, item: &Item<'_>, rest: &[&str]) -> Option<Reason> {
        let name = plain(&item.name);
        let dispensed = item.dispensed;
        let mass = || self.num(&format!("mass of {name}"), "g", 1e3, dispensed.mass);
        match rest {
            ["mass_g"] => Some(mass()),
            ["volume_mL"] => Some(self.num(&format!("volume of {name}"), "mL", 1e6, dispensed.volume?)),
            ["moles"] => Some(self.num(&format!("moles of {name}"), "mol", 1.0, dispensed.moles?)),
            ["equivalents"] => {
                let (moles, basis) = (dispensed.moles?, self.outcome.evaluation.basis_moles?);
                let reason = Reason::figure(format!("equivalents of {name}"), moles.si / basis.si, "", "the first divided by the second");
                Some(
                    reason.from([
                        self.num(&format!("moles of {name}"), "mol", 1.0, moles),
                        self.num("moles of the basis", "mol", 1.0, basis),
                    ]),
                )
            }
            ["temperature_C"] => {
                let t = item.material.at? - 273.15;
                Some(Reason::figure(format!("temperature of {name} when it is used"), t, "°C", "the author wrote it behind the amount"))
            }
            ["times"] => Some(Reason::figure(
                format!("portions of {name}"),
                f64::from(dispensed.times),
                "",
                "the author wrote how many times; once where nothing is said",
            )),
            ["measured", "equivalents"] => {
                let what = format!("equivalents of {name} as measured");
                let how = "moles as measured, against those of the basis as measured";
                let value = self.plan_figure(item, "equivalents")?;
                Some(Reason::figure(what, value, "", how).from(self.item(item, &["equivalents"])).from(self.measured(item, "value")))
            }
            ["measured", what @ ("mass_g" | "volume_mL" | "moles")] => {
                let (unit, plain) = match *what {
                    "mass_g" => ("g", "mass"),
                    "volume_mL" => ("mL", "volume"),
                    _ => ("mol", "moles"),
                };
                let how = "the exact figure times what is measured against what was worked out";
                let value = self.plan_figure(item, what)?;
                let reason = Reason::figure(format!("{plain} of {name} as measured"), value, unit, how);
                Some(reason.from(self.item(item, &[what])).from(self.measured(item, "value")))
            }
            ["measured", what] => self.measured(item, what),
            _ => None,
        }
    }

    /// A figure of the plan of what is measured of an item.
    fn plan_figure(&self, item: &Item<'_>, what: &str) -> Option<f64> {
        let items = view::items(self.outcome, self.sources);
        let at = items.all.iter().position(|own| own.name == item.name && own.statement == item.statement && own.slot == item.slot)?;
        self.plan.pointer(&format!("/materials/{at}/measured/{what}"))?.as_f64()
    }

    fn measured(&self, item: &Item<'_>, what: &str) -> Option<Reason> {
        let name = plain(&item.name);
        let (measured, of) = match what {
            "value" | "fills" => (&item.measured, "amount"),
            "least" => (&item.ends.as_ref()?.0, "lower end of the range"),
            "most" => (&item.ends.as_ref()?.1, "upper end of the range"),
            "drops" => {
                let drops = item.drops?;
                let how = "the volume divided by that of a drop, which the procedure gives, to whole drops";
                return Some(Reason::figure(format!("drops of {name}"), drops, "", how).from(self.item(item, &["volume_mL"])));
            }
            _ => return None,
        };
        let exact = if measured.volume { self.item(item, &["volume_mL"]) } else { self.item(item, &["mass_g"]) };
        let by = measured.instrument.clone().unwrap_or_else(|| "no instrument that is declared measures it; its exact amount".to_owned());
        if what == "fills" {
            let how = format!("as often as the {by} must be filled");
            return Some(Reason::figure(format!("fillings for {name}"), f64::from(measured.fills), "", how).from(exact));
        }
        let (value, unit) = if measured.volume { (measured.si * 1e6, "mL") } else { (measured.si * 1e3, "g") };
        let how = format!("rounded to what can be read: {by}");
        Some(Reason::figure(format!("{of} of {name} as measured"), value, unit, how).from(exact))
    }

    pub(super) fn reaction(&self, at: usize, rest: &[&str]) -> Option<Reason> {
        let run = self.outcome.evaluation.runs.get(at)?;
        let reaction = view::reaction(self.outcome, run);
        let name = reaction.map_or_else(String::new, |reaction| plain(&reaction.name));
        let extent = || self.num(&format!("extent of {name}"), "mol", 1.0, run.extent);
        let most = || self.num(&format!("largest extent of {name}"), "mol", 1.0, run.most);
        match rest {
            ["extent_mol"] => Some(extent()),
            ["conversion"] => {
                let how =
                    format!("the first divided by the second; {} runs out first", self.outcome.defs.substance(run.limiting).display());
                Some(Reason::figure(format!("conversion of {name}"), run.conversion, "", how).from([extent(), most()]))
            }
            ["theoretical_g", product] => {
                let sub = self.outcome.defs.find(product)?;
                let (number, _) = reaction?.right.iter().find(|(_, made)| *made == sub)?;
                let molar = self.outcome.defs.substance(sub).molar_mass()?;
                let how = format!("{number} mol of it for each of the equation, times its molar mass");
                let what = format!("most of {} that {name} can give", self.outcome.defs.substance(sub).display());
                Some(Reason::figure(what, run.most.si * number * molar * 1e3, "g", how).from([most()]).from(self.molar_mass(sub)))
            }
            _ => None,
        }
    }

    pub(super) fn vessel(&self, at: usize, rest: &[&str]) -> Option<Reason> {
        let chosen = self.outcome.vessels.get(at)?;
        let kind = plain(&chosen.kind);
        let holds = if chosen.name.is_empty() { String::new() } else { format!(" of {}", plain(&chosen.name)) };
        let volume = || {
            let how = "the largest volume over the statements that use it, liquids and solids at 20 °C; from what is in it";
            let inside = chosen.holds.and_then(|id| {
                let portion = self.outcome.evaluation.first.get(&id)?;
                self.portion(&self.outcome.procedure.binding(id).address(), Some(id), portion, &["mass_g"])
            });
            Reason::figure(format!("fullest moment of the {kind}{holds}"), chosen.volume * 1e6, "mL", how).from(inside)
        };
        let size = || {
            let size = chosen.size?;
            let filled = chosen.limit.map_or_else(String::new, |limit| format!(", filled at most {} %", significant(limit * 100.0, 3)));
            let mut reason = Reason::figure(
                format!("size of the {kind}"),
                size * 1e6,
                "mL",
                format!("pinned by the author, or the smallest standard size that holds it{filled}"),
            );
            reason.source = self.outcome.defs.apparatus.get(&chosen.kind).map(|apparatus| apparatus.source.to_string());
            Some(reason)
        };
        match rest {
            ["size_mL"] => size().map(|size| size.from([volume()])),
            ["volume_mL"] => Some(volume()),
            ["fill_at_most"] => {
                let how = "the author's vessel, or a declared rule for it; the sheet names the rule that was asked for";
                Some(Reason::figure(format!("how full the {kind} may be"), chosen.limit?, "", how))
            }
            ["fill"] => {
                let reason = Reason::figure(format!("fill of the {kind}"), chosen.fill?, "", "the first divided by the second");
                Some(reason.from([volume()]).from(size()))
            }
            _ => None,
        }
    }

    pub(super) fn operation(&self, step: usize, at: usize, rest: &[&str]) -> Option<Reason> {
        let entries = &self.outcome.procedure.steps.get(step)?.entries;
        let number = entries
            .iter()
            .filter_map(|entry| match entry {
                crate::resolve::procedure::Entry::Statement(number) => Some(*number),
                _ => None,
            })
            .filter(|number| self.outcome.procedure.statements.get(*number).is_some())
            .nth(at)?;
        let statement = self.outcome.procedure.statements.get(number)?;
        let record = self.outcome.evaluation_of(number).records.get(&number)?;
        let name = plain(&statement.operation.name);
        let line = self.sources.place(statement.span).line;
        match rest {
            ["evolved_mol", sub] => {
                let sub = self.outcome.defs.find(sub)?;
                let mass = *record.evolved.get(&sub)?;
                let molar = self.outcome.defs.substance(sub).molar_mass()?;
                let what = format!("{} given off by {name}", self.outcome.defs.substance(sub).display());
                let reason = Reason::figure(what, mass.si / molar, "mol", "the first divided by the second");
                Some(reason.from([self.num("mass given off", "g", 1e3, mass)]).from(self.molar_mass(sub)))
            }
            ["aired_g", sub] => {
                let sub = self.outcome.defs.find(sub)?;
                let what = format!("{} lost to the air by {name}", self.outcome.defs.substance(sub).display());
                Some(self.num(&what, "g", 1e3, *record.aired.get(&sub)?))
            }
            ["duration_s"] => {
                let how = format!("the author wrote it in the statement in line {line}; the middle, where it is a range");
                Some(Reason::figure(format!("time of {name}"), record.duration?, "s", how))
            }
            ["addition" | "drying" | "warming", .., last] => {
                let (what, unit, how, from) = crate::emit::pace::derivation(record, rest)?;
                let pointer = format!("/steps/{step}/operations/{at}/{}", rest.join("/"));
                let value = self.plan.pointer(&pointer)?.as_f64()?;
                let within = pointer.strip_suffix(last).unwrap_or(&pointer).trim_end_matches('/').to_owned();
                let parts: Vec<&str> = within.split('/').skip(5).collect();
                let below = from.iter().filter_map(|name| {
                    let path: Vec<&str> = parts.iter().chain([name]).copied().collect();
                    self.operation(step, at, &path).or_else(|| self.operation(step, at, &[parts.first()?, name]))
                });
                let below: Vec<Reason> = below.collect();
                let rests_on_matter = ["volume_mL", "heat_J", "wall_cm2", "charge_J_K", "glass_J_K", "loss_W_K"].contains(last);
                let inputs = if below.is_empty() && rests_on_matter { self.inputs(record) } else { Vec::new() };
                Some(Reason::figure(format!("{what} of {name}"), value, unit, how).from(below).from(inputs))
            }
            _ => {
                let escaped: Vec<String> = rest.iter().map(|part| part.replace('~', "~0").replace('/', "~1")).collect();
                let pointer = self.plan.pointer(&format!("/steps/{step}/operations/{at}/{}", escaped.join("/")))?;
                let (what, unit) = match rest {
                    ["temperature_C"] => (format!("temperature of {name}"), "°C"),
                    _ => (format!("{} of {name}", label(rest)), ""),
                };
                let models = record.models.iter().copied().collect::<Vec<_>>().join("; ");
                let how = if models.is_empty() {
                    format!("from the statement in line {line} and what goes into it")
                } else {
                    format!("from the statement in line {line} and what goes into it, by the model: {models}")
                };
                let reason = match pointer.as_f64() {
                    Some(value) => Reason::figure(what, value, unit, how),
                    None => Reason::new(what, pointer.as_str().map_or_else(|| pointer.to_string(), str::to_owned), how),
                };
                Some(reason.from(self.inputs(record)))
            }
        }
    }

    fn inputs(&self, record: &Record) -> Vec<Reason> {
        record
            .inputs
            .iter()
            .filter_map(|(id, portion)| {
                let name = id.map_or_else(|| "what goes in".to_owned(), |id| self.outcome.procedure.binding(id).address());
                self.portion(&name, *id, portion, &["mass_g"])
            })
            .collect()
    }

    pub(super) fn portion(&self, name: &str, id: Option<BindingId>, portion: &Portion, rest: &[&str]) -> Option<Reason> {
        let display = |sub: Sub| self.outcome.defs.substance(sub).display();
        let content = |sub: Sub, num: Num| self.num(&format!("{} in {}", display(sub), plain(name)), "g", 1e3, num);
        let contents = || portion.contents.iter().map(|(sub, num)| content(*sub, *num));
        match rest {
            ["mass_g"] => {
                Some(Reason::figure(format!("mass of {}", plain(name)), portion.mass() * 1e3, "g", "the sum of").from(contents()))
            }
            ["volume_mL"] => {
                let volume = words::liquid_volume(portion, &self.outcome.defs)?;
                let how = format!("by the model: {}; from", crate::matter::mixture::models::VOLUME);
                let densities = portion.contents.keys().filter_map(|sub| {
                    let density = self.outcome.defs.substance(*sub).liquid_density()?;
                    let mut reason = Reason::figure(
                        format!("density of {}", display(*sub)),
                        density.value.1 / 1e3,
                        "g/mL",
                        format!("a property, at {:.0} °C", density.value.0 - 273.15),
                    );
                    reason.source = Some(density.source.to_string());
                    Some(reason)
                });
                Some(Reason::figure(format!("volume of {}", plain(name)), volume * 1e6, "mL", how).from(contents()).from(densities))
            }
            ["moles", sub] => {
                let sub = self.outcome.defs.find(sub)?;
                let num = *portion.contents.get(&sub)?;
                let what = format!("moles of {} in {}", display(sub), plain(name));
                let reason = Reason::figure(what, portion.moles(sub, &self.outcome.defs), "mol", "the first divided by the second");
                Some(reason.from([content(sub, num)]).from(self.molar_mass(sub)))
            }
            ["whole_g" | "contents_g", sub] => {
                let sub = self.outcome.defs.find(sub)?;
                Some(content(sub, *portion.contents.get(&sub)?))
            }
            ["percent", sub] => {
                let sub = self.outcome.defs.find(sub)?;
                let num = *portion.contents.get(&sub)?;
                let what = format!("{} in {}, by mass", display(sub), plain(name));
                let reason = Reason::figure(what, 100.0 * num.si / portion.mass(), "%", "the first divided by the second");
                Some(reason.from([content(sub, num)]).from(self.portion(name, id, portion, &["mass_g"])))
            }
            ["temperature_C"] => {
                let maker = id.and_then(|id| {
                    let records = self.outcome.evaluation.records.iter();
                    records.clone().find(|(_, record)| record.outputs.iter().any(|(_, own, _)| *own == Some(id)))
                });
                let how = maker.and_then(|(number, _)| self.outcome.procedure.statements.get(*number)).map_or_else(
                    || "room temperature, or as the author wrote behind the amount".to_owned(),
                    |statement| {
                        format!("as {} in line {} leaves it", plain(&statement.operation.name), self.sources.place(statement.span).line)
                    },
                );
                Some(Reason::figure(format!("temperature of {}", plain(name)), portion.temperature - 273.15, "°C", how))
            }
            _ => None,
        }
    }

    pub(super) fn product(&self, at: usize, rest: &[&str]) -> Option<Reason> {
        let kept = view::kept(self.outcome);
        let kept = kept.get(at)?;
        let name = self.outcome.procedure.binding(kept.binding).address();
        let mass = || self.portion(&name, Some(kept.binding), kept.portion, &["mass_g"]);
        let pure = || self.portion(&name, Some(kept.binding), kept.portion, &["contents_g", &self.outcome.defs.substance(kept.sub?).name]);
        let theoretical = || {
            let most = kept.theoretical?;
            let sub = kept.sub?;
            let runs = self.outcome.evaluation.runs.iter().enumerate().filter(|(_, run)| {
                view::reaction(self.outcome, run).is_some_and(|reaction| reaction.right.iter().any(|(_, made)| *made == sub))
            });
            let product = self.outcome.defs.substance(sub).name.clone();
            let parts: Vec<Reason> = runs.filter_map(|(at, _)| self.reaction(at, &["theoretical_g", &product])).collect();
            let how =
                "what the limiting reactant would give if all of it went into it; a reaction that goes on in a later statement counts once";
            Some(Reason::figure(format!("most of {} that can be had", plain(&product)), most * 1e3, "g", how).from(parts))
        };
        let share = |what: &str, whole: f64, below: Option<Reason>| {
            let part = kept.portion.of(kept.sub?);
            let reason =
                Reason::figure(format!("{what} of {}", plain(&name)), 100.0 * part / whole, "%", "the first divided by the second");
            Some(reason.from(pure()).from(below))
        };
        match rest {
            ["mass_g"] => mass(),
            ["theoretical_g"] => theoretical(),
            ["yield_percent"] => share("yield", kept.theoretical?, theoretical()),
            ["taken_g"] => self.taken(kept),
            ["recovery_percent"] => share("recovery", view::recovered(self.outcome, kept)?, self.taken(kept)),
            ["purity_percent"] => share("purity", kept.portion.mass(), mass()),
            _ => None,
        }
    }

    /// All that was taken of what only comes back.
    fn taken(&self, kept: &view::Kept<'_>) -> Option<Reason> {
        let sub = kept.sub?;
        let items = view::items(self.outcome, self.sources);
        let parts: Vec<Reason> = items.all.iter().filter_map(|item| self.content_of(item, sub)).collect();
        let what = format!("{} taken", self.outcome.defs.substance(sub).display());
        let how = "the sum over what is taken, each as often as it is used";
        Some(Reason::figure(what, view::recovered(self.outcome, kept)? * 1e3, "g", how).from(parts))
    }

    /// How much of a substance an item brings.
    fn content_of(&self, item: &Item<'_>, sub: Sub) -> Option<Reason> {
        let num = *item.dispensed.portion.contents.get(&sub)?;
        let what = format!("{} in {}", self.outcome.defs.substance(sub).display(), plain(&item.name));
        Some(self.num(&what, "g", 1e3, num))
    }

    pub(super) fn balance(&self, rest: &[&str]) -> Option<Reason> {
        let pointer = format!("/material_balance/{}", rest.join("/"));
        let value = self.plan.pointer(&pointer)?.as_f64()?;
        let defs = &self.outcome.defs;
        let of_item = |item: &Item<'_>, sub: Option<Sub>| match sub {
            None => self.item(item, &["mass_g"]),
            Some(sub) => self.content_of(item, sub),
        };
        let items = view::items(self.outcome, self.sources);
        let taken = |sub: Option<Sub>| items.all.iter().filter_map(|item| of_item(item, sub)).collect::<Vec<_>>();
        let out = |sub: Option<Sub>| {
            let mut out = Vec::new();
            for kept in view::kept(self.outcome) {
                let name = self.outcome.procedure.binding(kept.binding).address();
                match sub {
                    None => out.extend(self.portion(&name, Some(kept.binding), kept.portion, &["mass_g"])),
                    Some(sub) => out.extend(self.portion(&name, None, kept.portion, &["contents_g", &defs.substance(sub).name])),
                }
            }
            for (name, portion, _) in view::waste(self.outcome) {
                match sub {
                    None => out.extend(self.portion(name, None, portion, &["mass_g"])),
                    Some(sub) => out.extend(self.portion(name, None, portion, &["contents_g", &defs.substance(sub).name])),
                }
            }
            out
        };
        let (what, unit, how, from) = match rest {
            ["mass_in_g"] => ("all that goes in".to_owned(), "g", "the sum of what is taken, each as often as it is used", taken(None)),
            ["mass_out_g"] => (
                "all that comes out".to_owned(),
                "g",
                "the sum of what is kept and thrown away, gas given off, vapour lost and traces left unnamed",
                out(None),
            ),
            ["substances", name, line] => {
                let sub = defs.find(name);
                let display = sub.map_or_else(|| plain(name), |sub| defs.substance(sub).display());
                match *line {
                    "in_g" => (format!("{display} taken"), "g", "the sum over what is taken, each as often as it is used", taken(sub)),
                    "made_g" => {
                        let runs = (0..self.outcome.evaluation.runs.len()).filter_map(|at| self.reaction(at, &["extent_mol"])).collect();
                        (
                            format!("{display} made, less what was used up"),
                            "g",
                            "the change in each reaction: extent times coefficient times molar mass; from",
                            runs,
                        )
                    }
                    "out_g" => {
                        (format!("{display} that comes out"), "g", "the sum over what is kept, thrown away, given off or lost", out(sub))
                    }
                    _ => (format!("what the balance of {display} leaves open"), "g", "taken and made, less what comes out", Vec::new()),
                }
            }
            ["elements", symbol, side] => {
                let how = "moles of each substance times the atoms of it in a molecule, summed";
                (format!("atoms of {symbol}, {side}"), "mol", how, if *side == "in" { taken(None) } else { out(None) })
            }
            ["whole", name, side] => {
                let sub = defs.find(name);
                (
                    format!("{}, {side}", plain(name)),
                    "g",
                    "what has no formula is conserved whole; the sum of",
                    if *side == "in" { taken(sub) } else { out(sub) },
                )
            }
            _ => return None,
        };
        Some(Reason::figure(what, value, unit, how).from(from))
    }
}
