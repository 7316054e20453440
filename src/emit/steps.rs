//! The work itself: sentences with their slots filled in, cautions, what to expect.

use std::collections::BTreeSet;
use std::iter::Peekable;
use std::str::Chars;

use super::view::{self, BLANK, Items};
use super::words;
use crate::evaluate::Record;
use crate::judge::peroxides;
use crate::kinds::{Kind, show_duration, significant};
use crate::matter::linear::{Arg, BindingId, Origin, Statement};
use crate::matter::portion::Portion;
use crate::operations;
use crate::outcome::Outcome;
use crate::resolve::definitions::When;
use crate::resolve::procedure::{Entry, Step};
use crate::source::Sources;

/// Share of all that goes off as vapour below which a substance is not told. Our own figure.
const GOES_OFF: f64 = 0.005;

/// The sentence of a statement. A taken portion comes with its amount when it is met first; `seen`
/// remembers which were.
pub fn sentence(outcome: &Outcome, number: usize, items: &Items<'_>, sources: &Sources, seen: &mut BTreeSet<BindingId>) -> String {
    let Some(statement) = outcome.procedure.statements.get(number) else { return String::new() };
    let filler = Filler { outcome, number, statement, items, sources };
    let text = filler.fill(&statement.operation.says, Some(seen));
    match &statement.only_if {
        Some(when) => format!("Only if {}: {}", when.trim(), words::uncapital(&text)),
        None => text,
    }
}

/// Cautions of the operation whose conditions are met.
pub fn cautions(outcome: &Outcome, number: usize, items: &Items<'_>, sources: &Sources) -> Vec<String> {
    let Some(statement) = outcome.procedure.statements.get(number) else { return Vec::new() };
    let filler = Filler { outcome, number, statement, items, sources };
    let mut found: Vec<String> = Vec::new();
    for (when, text) in &statement.operation.cautions {
        let holds = match when {
            When::Always => true,
            When::Given(slot) => statement.args.contains_key(slot),
            When::Is(slot, property) => {
                let evaluation = outcome.evaluation_of(number);
                let quiet = match property.as_str() {
                    // What is known to give off nothing needs no warning of gas.
                    "gassing" => evaluation.records.get(&number).is_some_and(|record| record.evolved.is_empty()),
                    // Beside what burns the skin, too, it goes without saying.
                    "eye_damaging" => {
                        filler.portions(slot).iter().any(|portion| operations::portion_is(&outcome.defs, portion, "corrosive"))
                    }
                    "peroxide_untested" => peroxides::tested(&outcome.procedure, &outcome.defs, evaluation, number),
                    _ => false,
                };
                !quiet && filler.portions(slot).iter().any(|portion| operations::portion_is(&outcome.defs, portion, property))
            }
        };
        if holds {
            let text = filler.fill(text, None);
            if !found.contains(&text) {
                found.push(text);
            }
        }
    }
    let own = outcome.evaluation_of(number).records.get(&number);
    found.extend(own.iter().flat_map(|record| &record.cautions).map(|text| words::capital(text)));
    found
}

struct Filler<'a> {
    outcome: &'a Outcome,
    number: usize,
    statement: &'a Statement,
    items: &'a Items<'a>,
    sources: &'a Sources,
}

impl Filler<'_> {
    /// What stands in a slot as it goes in.
    fn portions(&self, slot: &str) -> Vec<Portion> {
        let evaluation = self.outcome.evaluation_of(self.number);
        match self.statement.args.get(slot) {
            Some(Arg::Portions(list)) => {
                let inputs = evaluation.records.get(&self.number).map_or(&[][..], |record| &record.inputs);
                list.iter()
                    .filter_map(|(id, _)| {
                        let as_input = inputs.iter().find(|(input, _)| *input == Some(*id)).map(|(_, portion)| portion);
                        as_input.or_else(|| evaluation.first.get(id)).cloned()
                    })
                    .collect()
            }
            Some(Arg::Material(_)) => {
                let shelf = evaluation.materials.get(&(self.number, slot.to_owned()));
                shelf.map(|dispensed| dispensed.portion.clone()).into_iter().collect()
            }
            _ => Vec::new(),
        }
    }

    /// A text with its slots filled in, as a sentence.
    fn fill(&self, text: &str, mut seen: Option<&mut BTreeSet<BindingId>>) -> String {
        let mut letters = text.chars().peekable();
        let mut filled = String::with_capacity(2 * text.len());
        self.segment(&mut letters, false, &mut filled, &mut seen);
        // One blank between words, and none before a comma or a full stop.
        let mut tidy = String::with_capacity(filled.len() + 1);
        for word in filled.split_whitespace() {
            if !tidy.is_empty() && !word.starts_with([',', '.', ';']) {
                tidy.push(' ');
            }
            tidy.push_str(word);
        }
        words::stop(&words::capital(&tidy))
    }

    /// Writes up to the closing bracket of an optional part, or to the end; says whether every slot in it
    /// is given.
    fn segment(
        &self,
        letters: &mut Peekable<Chars<'_>>,
        nested: bool,
        out: &mut String,
        seen: &mut Option<&mut BTreeSet<BindingId>>,
    ) -> bool {
        let mut whole = true;
        while let Some(letter) = letters.next() {
            match letter {
                '{' => {
                    let slot: String = letters.by_ref().take_while(|letter| *letter != '}').collect();
                    match self.slot(&slot, out, seen) {
                        Some(text) => out.push_str(&text),
                        None => whole = false,
                    }
                }
                '[' => {
                    let before = out.len();
                    if !self.segment(letters, true, out, seen) {
                        out.truncate(before);
                    }
                }
                ']' if nested => return whole,
                letter => out.push(letter),
            }
        }
        whole
    }

    fn slot(&self, slot: &str, before: &str, seen: &mut Option<&mut BTreeSet<BindingId>>) -> Option<String> {
        let bare = before.trim_end().rsplit(' ').next().is_some_and(|word| word.eq_ignore_ascii_case("the"));
        Some(match self.statement.args.get(slot)? {
            Arg::Portions(list) => {
                let names: Vec<String> = list.iter().map(|(id, _)| self.portion(*id, bare, seen)).collect();
                words::list(&names)
            }
            Arg::Material(material) => {
                let item = self.items.shelf(self.number, slot);
                let name = view::material(self.outcome, material, self.sources);
                match item {
                    // A caution speaks of the material, not of its amount.
                    Some(item) if seen.is_some() => format!("{} of {name}", item.amount()),
                    _ => name,
                }
            }
            // A number of portions or plates is no number of times.
            Arg::Figure(figure) if figure.kind == Kind::Count && before.trim_end().ends_with(" in") => {
                words::figure(figure).replace("once", "1 portion").replace("times", "portions")
            }
            Arg::Figure(figure) if figure.kind == Kind::Count && before.trim_end().ends_with("column of") => {
                words::figure(figure).replace("once", "1 plate").replace("times", "plates")
            }
            Arg::Figure(figure) if figure.kind == Kind::Ratio && before.trim_end().ends_with("ratio of") => figure.low.to_string(),
            // A pressure is read off the gauge that the author had.
            Arg::Figure(figure) if figure.kind == Kind::Pressure => {
                self.sources.slice(figure.span).split_whitespace().collect::<Vec<_>>().join(" ")
            }
            Arg::Figure(figure) => words::figure(figure),
            Arg::NotStated(_) => BLANK.to_owned(),
            Arg::Figures(figures) => words::list(&figures.iter().map(words::figure).collect::<Vec<_>>()),
            Arg::Reactions(numbers) => {
                let reactions = numbers.iter().filter_map(|number| self.outcome.procedure.reactions.get(*number));
                words::list(&reactions.map(|reaction| words::plain(&reaction.name)).collect::<Vec<_>>())
            }
            Arg::Substance(sub, _) => self.outcome.defs.substance(*sub).display(),
            Arg::Apparatus(apparatus, size, _) => match size {
                Some(size) => format!("{} {}", words::figure(size), words::plain(&apparatus.name)),
                None => words::plain(&apparatus.name),
            },
            Arg::Text(text, _) => text.clone(),
            Arg::Word(word, _) => words::plain(word),
        })
    }

    fn portion(&self, id: BindingId, bare: bool, seen: &mut Option<&mut BTreeSet<BindingId>>) -> String {
        let name = &self.outcome.procedure.binding(id).name;
        let called = if bare { words::plain(name) } else { words::the(name) };
        let Some(seen) = seen else { return called };
        let item = self.items.taken(id);
        let first = seen.insert(id);
        let put_away = matches!(self.statement.operation.form.verb(), "keep" | "discard");
        match item {
            Some(item) if first && !put_away => {
                let what = view::material(self.outcome, item.material, self.sources);
                let of = if what == words::plain(name) { String::new() } else { format!(" of {}", words::unbracketed(&what)) };
                format!("{called} ({}{of})", item.amount())
            }
            _ => called,
        }
    }
}

/// What to expect of a statement: what the operation says, then what comes out of it.
pub fn expects(outcome: &Outcome, number: usize) -> Vec<String> {
    let Some(statement) = outcome.procedure.statements.get(number) else { return Vec::new() };
    let Some(record) = outcome.evaluation_of(number).records.get(&number) else { return Vec::new() };
    let mut found: Vec<String> = record.expects.iter().map(|text| words::capital(&words::stop(text))).collect();
    match outcome.course(number) {
        Some(Ok(course)) => found.extend(super::course::sentences(outcome, &course).iter().map(|text| words::capital(text))),
        Some(Err(why)) => found.push(words::capital(&words::stop(&why))),
        None => {}
    }
    let said = found.join(" ");
    let figures = |wanted: Kind| {
        let all = statement.args.values().flat_map(|arg| match arg {
            Arg::Figure(figure) => std::slice::from_ref(figure),
            Arg::Figures(figures) => figures.as_slice(),
            _ => &[],
        });
        all.filter(move |figure| figure.kind == wanted).map(|figure| (figure.low - 1.5, figure.top() + 1.5))
    };
    if let Some(t) = record.temperature
        && !said.contains("°C")
        && !(291.0..=299.0).contains(&t)
        && !figures(Kind::Temperature).any(|(low, high)| (low..=high).contains(&t))
    {
        found.push(format!("The temperature is about {}.", words::temperature(t)));
    }
    if let Some(seconds) = record.duration
        && seconds >= 60.0
        && figures(Kind::Duration).next().is_none()
        && !said.contains(" min")
        && !said.contains(" h")
    {
        found.push(format!("This takes about {}.", show_duration(seconds)));
    }
    if !matches!(statement.operation.form.verb(), "keep" | "discard") {
        found.extend(record.outputs.iter().filter_map(|(role, id, portion)| {
            let id = (*id)?;
            (!role.is_empty() || has_changed(record, id, statement, portion)).then(|| result(outcome, role, id, portion))
        }));
    }
    for (sub, mass) in &record.evolved {
        let substance = outcome.defs.substance(*sub);
        let name = substance.display();
        if !said.contains(&name) && mass.si >= words::TRACE {
            let litres = 1e3 * operations::gas::volume(&outcome.procedure, &outcome.defs, *sub, mass.si);
            let at = operations::gas::at_room(&outcome.defs);
            found.push(format!("About {} L of {name} is given off {at}.", significant(litres, 2)));
        }
    }
    let least = GOES_OFF * record.aired.values().map(|mass| mass.si).sum::<f64>();
    let aired: Vec<String> = record
        .aired
        .iter()
        .map(|(sub, mass)| (outcome.defs.substance(*sub).display(), mass.si))
        .filter(|(name, mass)| *mass >= words::TRACE.max(least) && !said.contains(name))
        .map(|(name, mass)| format!("{} of {name}", words::mass(mass)))
        .collect();
    if !aired.is_empty() {
        found.push(format!("About {} go{} off as vapour.", words::list(&aired), if aired.len() == 1 { "es" } else { "" }));
    }
    found
}

/// Whether a portion that keeps its place is another in mass or composition than before.
fn has_changed(record: &Record, id: BindingId, statement: &Statement, after: &Portion) -> bool {
    if statement.renamed == Some(id) {
        return true;
    }
    let Some((_, before)) = record.inputs.iter().find(|(input, _)| *input == Some(id)) else { return false };
    let whole = before.mass().max(after.mass());
    let old = before.masses();
    let subs: BTreeSet<_> = old.keys().chain(after.contents.keys()).copied().collect();
    subs.into_iter().any(|sub| (before.of(sub) - after.of(sub)).abs() > 0.005 * whole)
}

/// `The crude is the upper layer: about 27.3 g, 31.2 mL, mostly isoamyl acetate (87.2 %).`
fn result(outcome: &Outcome, role: &str, id: BindingId, portion: &Portion) -> String {
    let name = words::the(&outcome.procedure.binding(id).name);
    let called = match role {
        "upper" | "lower" => format!("{name}, the {role} layer"),
        "forerun" | "cut" | "residue" => words::the(&operations::told::called(&outcome.procedure.binding(id).name, role)),
        _ => name,
    };
    let mut figures = vec![format!("about {}", words::mass(portion.mass()))];
    if portion.mass() < words::TRACE {
        return words::capital(&format!("{called}: next to nothing."));
    }
    if !words::is_solid(portion, &outcome.defs)
        && let Some(volume) = words::liquid_volume(portion, &outcome.defs)
    {
        let solid: f64 = portion.solid.values().sum();
        let shown = words::volume(Some(volume));
        figures.push(if solid > 0.1 * portion.mass() { format!("{shown} of it liquid") } else { shown });
    }
    let all = matches!(role, "upper" | "lower") && portion.main() != outcome.defs.find("water");
    let made_up = if all { words::now(portion, &outcome.defs) } else { words::mostly(portion, &outcome.defs) };
    figures.extend(made_up);
    words::capital(&format!("{called}: {}.", figures.join(", ")))
}

/// Results that are weighed where they come out.
const WEIGHED: &[&str] = &["cut", "crystals", "cake", "residue", "dried", "trapped"];

/// Blanks to fill in: what is weighed, what is measured.
fn blanks(outcome: &Outcome, number: usize) -> Vec<String> {
    let Some(statement) = outcome.procedure.statements.get(number) else { return Vec::new() };
    let Some(record) = outcome.evaluation_of(number).records.get(&number) else { return Vec::new() };
    let verb = statement.operation.form.verb();
    let mut found = Vec::new();
    if verb == "discard" {
        return found;
    }
    let named = || statement.args.values().filter_map(|arg| if let Arg::Portions(list) = arg { Some(list) } else { None }).flatten();
    if statement.operation.effects.iter().any(|call| call.effect == "test") {
        return named().map(|(id, _)| format!("Shown: {} ______", words::plain(&outcome.procedure.binding(*id).name))).collect();
    }
    if verb == "keep" || verb == "weigh" {
        for arg in statement.args.values() {
            if let Arg::Portions(list) = arg {
                for (id, _) in list {
                    // It was weighed where it came out.
                    let weighed =
                        matches!(&outcome.procedure.binding(*id).origin, Origin::Result(_, role) if WEIGHED.contains(&role.as_str()));
                    if weighed && verb == "keep" {
                        continue;
                    }
                    found.push(format!("Measured: {} ______ g", words::plain(&outcome.procedure.binding(*id).name)));
                }
            }
        }
        return found;
    }
    for (role, id, portion) in &record.outputs {
        let Some(id) = id else { continue };
        if role.is_empty() || view::is_discarded(outcome, *id) || portion.mass() < words::TRACE {
            continue;
        }
        let name = words::plain(&outcome.procedure.binding(*id).name);
        match role.as_str() {
            "upper" | "lower" => found.push(format!("Measured: {name} ______ mL")),
            role if WEIGHED.contains(&role) => found.push(format!("Measured: {name} ______ g")),
            _ => {}
        }
    }
    found
}

/// The section of the steps.
pub fn section(outcome: &Outcome, items: &Items<'_>, sources: &Sources, out: &mut String) {
    out.push_str("## Steps\n\n");
    if let Some(gas) = &outcome.procedure.about.atmosphere {
        out.push_str(&format!("Work under {} throughout.\n\n", words::escape(gas)));
    }
    let mut seen = BTreeSet::new();
    for (at, step) in outcome.procedure.steps.iter().enumerate() {
        if step.entries.is_empty() {
            continue;
        }
        let title = step.title.as_ref().map_or_else(|| untitled(outcome, step), |title| words::escape(title));
        out.push_str(&format!("### {}. {title}\n\n", at + 1));
        let mut line = 0;
        for entry in &step.entries {
            // What belongs to a line is indented under it.
            let indent = " ".repeat(line.to_string().len() + 2);
            let indent = if line == 0 { "" } else { indent.as_str() };
            match entry {
                Entry::Caution(text) => out.push_str(&format!("> Caution: {}\n\n", words::escape(&words::stop(text)))),
                Entry::Note(text) => out.push_str(&format!("{indent}Note: {}\n\n", words::escape(&words::stop(text)))),
                Entry::Atmosphere(gas) => {
                    out.push_str(&format!("{indent}Work under {} from here to the end of this step.\n\n", words::escape(gas)));
                }
                Entry::Expect(text) => out.push_str(&format!("{indent}Expect: {}\n\n", words::escape(&words::stop(text)))),
                Entry::Statement(number) => {
                    line += 1;
                    statement(outcome, *number, line, items, sources, &mut seen, out);
                }
            }
        }
    }
}

fn untitled(outcome: &Outcome, step: &Step) -> String {
    if !step.entries.iter().any(|entry| matches!(entry, Entry::Statement(_))) {
        return "Notes".to_owned();
    }
    let put_away = step.entries.iter().all(|entry| match entry {
        Entry::Statement(number) => {
            outcome.procedure.statements.get(*number).is_some_and(|statement| matches!(statement.operation.form.verb(), "keep" | "discard"))
        }
        _ => true,
    });
    if put_away { "Put away and clear up" } else { "Work on" }.to_owned()
}

fn statement(
    outcome: &Outcome,
    number: usize,
    line: usize,
    items: &Items<'_>,
    sources: &Sources,
    seen: &mut BTreeSet<BindingId>,
    out: &mut String,
) {
    let cautions = cautions(outcome, number, items, sources);
    let cautions: Vec<String> = cautions.iter().map(|text| format!("> Caution: {}\n", words::escape(text))).collect();
    if !cautions.is_empty() {
        out.push_str(&cautions.join(">\n"));
        out.push('\n');
    }
    let text = sentence(outcome, number, items, sources, seen);
    // The underscores of a blank stand on their own and mark nothing in Markdown.
    let text = words::escape(&text).replace(&words::escape(BLANK), BLANK);
    out.push_str(&format!("{line}. {text}\n"));
    let indent = " ".repeat(line.to_string().len() + 2);
    let expected = expects(outcome, number);
    if !expected.is_empty() {
        out.push_str(&format!("\n{indent}Expect: {}\n", words::escape(&expected.join(" "))));
    }
    for blank in blanks(outcome, number) {
        // The underscores of a blank stand on their own and mark nothing in Markdown.
        out.push_str(&format!("\n{indent}{blank}\n"));
    }
    out.push('\n');
}
