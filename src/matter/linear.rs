//! Names become portions, and each portion is used exactly once: it goes into the next operation,
//! is divided, kept or discarded. Using one twice, or never, is found here, before any number.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::grade::{Graded, graded};
use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::resolve::about::About;
use crate::resolve::allow::Allow;
use crate::resolve::amount::Amount;
use crate::resolve::cursor::Name;
use crate::resolve::definitions::{Apparatus, Definitions, Extent, Operation, Reaction, Solution, Sub};
use crate::resolve::form::{Mode, Slot, Sort};
use crate::resolve::matcher::{RawArg, RawMaterial};
use crate::resolve::procedure::{Draft, DraftStatement, Step, Taint};
use crate::resolve::quantity::Figure;
use crate::resolve::reaction::unknown_substance;
use crate::resolve::slots::Slots;
use crate::source::Span;

/// A binding's place in [`Procedure::bindings`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct BindingId(pub usize);

/// Where a portion comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Origin {
    /// The `take` of that number.
    Take(usize),
    /// A statement's result of that role.
    Result(usize, String),
}

/// A name bound to a portion. One name may be bound several times: `crude#1`, `crude#2`.
#[derive(Clone, Debug)]
pub struct Binding {
    /// The name.
    pub name: String,
    /// The how-manieth binding of that name, from 1.
    pub occurrence: usize,
    /// Where it comes from.
    pub origin: Origin,
    /// Where the name stands.
    pub span: Span,
    /// The statement that uses it up.
    pub used_by: Option<usize>,
    /// The statements that change it and leave it its name.
    pub changed_by: Vec<usize>,
}

impl Binding {
    /// Name and occurrence: `crude#2`.
    #[must_use]
    pub fn address(&self) -> String {
        format!("{}#{}", self.name, self.occurrence)
    }
}

/// How strong a material is, as written.
#[derive(Clone, Debug, PartialEq)]
pub enum Strength {
    /// Nothing is said: taken as pure.
    Pure,
    /// A figure on the label.
    Figure(Figure),
    /// A named strength as a mass fraction, with its source.
    Named(f64, Arc<str>),
}

/// A material with everything looked up.
#[derive(Clone, Debug)]
pub struct Material {
    /// The main substance: what is dissolved, for a solution.
    pub sub: Sub,
    /// The name as written.
    pub written: Name,
    /// The solution whose densities apply, when it is one.
    pub solution: Option<Arc<Solution>>,
    /// Grade words as written.
    pub grades: Vec<String>,
    /// Its strength.
    pub strength: Strength,
    /// Whether its grade is that of the bench's stock, since none is written.
    pub of_stock: bool,
    /// Its amount.
    pub amount: Amount,
    /// How warm it is when it is used, K; the room's temperature where nothing is said.
    pub at: Option<f64>,
    /// The portions to which the amount refers.
    pub refs: BTreeMap<String, BindingId>,
    /// The whole material.
    pub span: Span,
}

/// What fills a slot, looked up.
#[derive(Clone, Debug)]
pub enum Arg {
    /// Portions, each with where its name stands.
    Portions(Vec<(BindingId, Span)>),
    /// A material from the shelf.
    Material(Box<Material>),
    /// A figure.
    Figure(Figure),
    /// A time or a temperature that the source does not state.
    NotStated(Span),
    /// Figures of a slot that takes several.
    Figures(Vec<Figure>),
    /// Reactions of the procedure.
    Reactions(Vec<usize>),
    /// A substance.
    Substance(Sub, Span),
    /// Apparatus and, where given, its size in m³.
    Apparatus(Arc<Apparatus>, Option<Figure>, Span),
    /// A text.
    Text(String, Span),
    /// A word of the form.
    Word(String, Span),
}

/// A result of a statement.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Its role.
    pub role: String,
    /// Its portion; absent when it was left unnamed.
    pub binding: Option<BindingId>,
    /// Its place among the results as written, from 0; unnamed ones come last.
    pub written: usize,
}

/// A statement with everything looked up.
#[derive(Clone, Debug)]
pub struct Statement {
    /// The operation.
    pub operation: Arc<Operation>,
    /// What fills its slots.
    pub args: Slots<Arg>,
    /// Its results, by role in the order of the form.
    pub outcomes: Vec<Outcome>,
    /// The new name of the portion that it changes.
    pub renamed: Option<BindingId>,
    /// When it is done, where it is done only if needed.
    pub only_if: Option<Arc<str>>,
    /// The whole statement.
    pub span: Span,
    /// The step it stands in.
    pub step: Option<usize>,
}

/// `take NAME = material`
#[derive(Clone, Debug)]
pub struct Take {
    /// The portion.
    pub binding: BindingId,
    /// What is taken.
    pub material: Material,
    /// The whole statement.
    pub span: Span,
}

/// A procedure in which every name stands for a portion that is used exactly once.
#[derive(Clone, Debug)]
pub struct Procedure {
    /// Its name.
    pub name: String,
    /// Its title.
    pub title: String,
    /// The variant that it is, by its title.
    pub variant: Option<String>,
    /// What the comment above it says.
    pub doc: String,
    /// What it says about itself.
    pub about: About,
    /// Its head.
    pub span: Span,
    /// Where it ends.
    pub end: Span,
    /// The take it is based on.
    pub basis: usize,
    /// Where the basis is named.
    pub basis_span: Span,
    /// What is taken.
    pub takes: Vec<Take>,
    /// Takes that earlier work supplies, so that they come from no stock.
    pub supplied: BTreeSet<usize>,
    /// Reactions.
    pub reactions: Vec<Arc<Reaction>>,
    /// Those of them that run on contact, and that no statement runs by name.
    pub contact: Vec<Arc<Reaction>>,
    /// Statements in order.
    pub statements: Vec<Statement>,
    /// Steps in order.
    pub steps: Vec<Step>,
    /// Every binding.
    pub bindings: Vec<Binding>,
    /// Findings that the author stands by.
    pub allows: Vec<Allow>,
}

impl Procedure {
    /// The procedure with each extractor of the bench, smallest first, in the place of those whose size the author
    /// leaves open; by itself where there is nothing to choose.
    #[must_use]
    pub fn with_extractors(self, defs: &Definitions) -> Vec<Self> {
        // A size that nobody wrote stands where the name does.
        let open =
            |arg: &Arg| matches!(arg, Arg::Apparatus(apparatus, Some(size), span) if apparatus.siphon.is_some() && size.span == *span);
        let is_open = self.statements.iter().any(|statement| statement.args.iter().any(|(_, arg)| open(arg)));
        let Some(bench) = defs.bench.as_ref().filter(|_| is_open) else { return vec![self] };
        let mut pieces: Vec<_> = bench.pieces.iter().filter(|piece| piece.apparatus.siphon.is_some()).collect();
        pieces.sort_by(|a, b| a.size.unwrap_or(0.0).total_cmp(&b.size.unwrap_or(0.0)));
        let with = |piece: &crate::resolve::bench::Piece| {
            let mut own = self.clone();
            for statement in &mut own.statements {
                let slots = statement.args.iter().filter(|(_, arg)| open(arg)).map(|(slot, arg)| (slot.to_owned(), arg.clone()));
                for (slot, arg) in slots.collect::<Vec<_>>() {
                    if let (Arg::Apparatus(kind, Some(size), span), Some(low)) = (arg, piece.size)
                        && kind.name == piece.apparatus.name
                    {
                        statement.args.insert(slot, Arg::Apparatus(Arc::clone(&piece.apparatus), Some(Figure { low, ..size }), span));
                    }
                }
            }
            own
        };
        pieces.into_iter().map(with).collect()
    }

    /// The ways in which the work can go: without anything that is done only if needed, with each of
    /// those by itself, and last with all of them. Each way is the statements that it adds.
    #[must_use]
    pub fn ways(&self) -> Vec<BTreeSet<usize>> {
        let helpers = self.statements.iter().enumerate().filter(|(_, statement)| statement.only_if.is_some()).map(|(number, _)| number);
        let helpers: BTreeSet<usize> = helpers.collect();
        let mut ways = vec![BTreeSet::new()];
        if helpers.len() > 1 {
            ways.extend(helpers.iter().map(|number| BTreeSet::from([*number])));
        }
        if !helpers.is_empty() {
            ways.push(helpers);
        }
        ways
    }

    /// The binding of that identity.
    ///
    /// # Panics
    /// Never for an identity that this procedure gave, and there are no others.
    #[must_use]
    #[expect(clippy::indexing_slicing, reason = "a `BindingId` is only ever made where the binding is pushed")]
    pub fn binding(&self, id: BindingId) -> &Binding {
        &self.bindings[id.0]
    }

    /// The take that binds this portion, with its number.
    #[must_use]
    pub fn take_of(&self, id: BindingId) -> Option<(usize, &Take)> {
        match self.binding(id).origin {
            Origin::Take(number) => self.takes.get(number).map(|take| (number, take)),
            Origin::Result(..) => None,
        }
    }

    /// The binding that `NAME` or `NAME#2` addresses: the last of that name where none is said.
    #[must_use]
    pub fn find(&self, address: &str) -> Option<BindingId> {
        let (name, occurrence) = match address.split_once('#') {
            Some((name, number)) => (name, Some(number.parse::<usize>().ok()?)),
            None => (address, None),
        };
        self.bindings
            .iter()
            .rposition(|binding| binding.name == name && occurrence.is_none_or(|wanted| wanted == binding.occurrence))
            .map(BindingId)
    }
}

struct Binder<'a> {
    defs: &'a Definitions,
    findings: &'a mut Vec<Diagnostic>,
    taint: &'a Taint,
    bindings: Vec<Binding>,
    /// What each name stands for now.
    current: BTreeMap<String, BindingId>,
    /// Names that were reported as standing for nothing: once is enough.
    unknown: BTreeSet<String>,
    /// Whether a reaction was run under a name that none has.
    unknown_reaction: bool,
    good: bool,
}

/// Looks up materials that stand by themselves, outside of any procedure; `None` for one of which
/// something was found.
pub fn materials(raws: &[RawMaterial], defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Vec<Option<Material>> {
    let taint = Taint::default();
    let mut binder = Binder::new(defs, findings, &taint);
    raws.iter().map(|raw| binder.material(raw)).collect()
}

/// Looks up every name of a draft and checks that each portion is used exactly once.
///
/// `None` when something was found; the findings say what.
pub fn bind(draft: Draft, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Option<Procedure> {
    let errors_before = findings.iter().filter(|finding| finding.is_error()).count();
    let taint = draft.taint.clone();
    let mut binder = Binder::new(defs, findings, &taint);

    let mut taken = Vec::new();
    for (number, take) in draft.takes.iter().enumerate() {
        if let Some(first) = binder.called(&take.name.text).map(|known| known.span) {
            binder.report(
                Diagnostic::new(Code::Duplicate, take.name.span, format!("two portions are taken under the name `{}`", take.name.text))
                    .label(first, "the first is here")
                    .help("give one of them another name"),
            );
            continue;
        }
        taken.push(binder.bind(&take.name, Origin::Take(number)));
    }
    let takes: Vec<Option<Material>> = draft.takes.iter().map(|take| binder.material(&take.material)).collect();

    let mut runs = vec![false; draft.reactions.len()];
    let mut statements = Vec::new();
    for (number, statement) in draft.statements.iter().enumerate() {
        let mut args = Slots::default();
        let mut whole = true;
        let mut changed = None;
        // Slots are looked up in the order of the form, so that findings are too.
        for (slot, _) in statement.operation.form.slots() {
            let Some(raw) = statement.matched.args.get(&slot.name) else { continue };
            let arg = match raw {
                RawArg::Names(names) if slot.sort == Sort::Reaction => binder.reactions(names, &draft, &mut runs).map(Arg::Reactions),
                RawArg::Names(names) => {
                    let mut portions = Vec::new();
                    for name in names {
                        if let Some(id) = binder.portion(name, slot.mode, number) {
                            portions.push((id, name.span));
                        }
                    }
                    if slot.mode == Mode::Changes {
                        changed = portions.first().map(|(id, _)| *id);
                    }
                    (portions.len() == names.len()).then_some(Arg::Portions(portions))
                }
                RawArg::Material(material) => binder.portion_or_material(material, slot.mode, number),
                RawArg::Figure(figure) => Some(Arg::Figure(*figure)),
                RawArg::NotStated(span) => Some(Arg::NotStated(*span)),
                RawArg::Figures(figures) => Some(Arg::Figures(figures.clone())),
                RawArg::Substance(name) => {
                    let found = binder.substance(name);
                    found.map(|sub| Arg::Substance(sub, name.span))
                }
                RawArg::Apparatus(name, size) => binder.apparatus(name, size.as_ref()),
                RawArg::Text(text, span) => Some(Arg::Text(text.clone(), *span)),
                RawArg::Word(word, span) => Some(Arg::Word(word.clone(), *span)),
            };
            match arg {
                Some(arg) => {
                    args.insert(slot.name.clone(), arg);
                }
                None => whole = false,
            }
        }
        let mut outcomes: Vec<Outcome> =
            statement.matched.roles.iter().map(|role| Outcome { role: role.clone(), binding: None, written: usize::MAX }).collect();
        let mut renamed = None;
        for (place, result) in statement.matched.results.iter().enumerate() {
            let role = result.role.as_ref().map(|role| role.text.as_str()).or_else(|| statement.matched.roles.first().map(String::as_str));
            let role = role.map(str::to_owned);
            match role {
                Some(role) => {
                    let id = binder.bind(&result.name, Origin::Result(number, role.clone()));
                    match outcomes.iter_mut().find(|outcome| outcome.role == role) {
                        // A second result of a role that may have several.
                        Some(first) if first.binding.is_some() => {
                            outcomes.push(Outcome { role, binding: Some(id), written: place });
                        }
                        Some(outcome) => {
                            outcome.binding = Some(id);
                            outcome.written = place;
                        }
                        None => {}
                    }
                }
                None => {
                    // The portion that is changed goes on under another name.
                    if let Some(old) = changed {
                        binder.use_up(old, number);
                    }
                    renamed = Some(binder.bind(&result.name, Origin::Result(number, "renamed".to_owned())));
                }
            }
        }
        binder.good &= whole;
        binder.may_be_left_out(statement);
        statements.push(Statement {
            operation: Arc::clone(&statement.operation),
            args,
            outcomes,
            renamed,
            only_if: statement.only_if.clone(),
            span: statement.span,
            step: statement.step,
        });
    }
    binder.never_used();
    for (number, (reaction, ran)) in draft.reactions.iter().zip(&runs).enumerate() {
        // A second reaction of one name has been reported as such.
        let second = draft.reactions.iter().take(number).any(|known| known.name == reaction.name);
        if !ran && !second && reaction.extent != Extent::OnContact && !binder.unknown_reaction && !taint.covers(&reaction.name) {
            binder.findings.push(
                Diagnostic::new(Code::NeverRuns, reaction.span, format!("no operation runs the reaction `{}`", reaction.name))
                    .help(format!("write `running {}` where it happens, or take it out", reaction.name)),
            );
        }
    }
    let on_contact = draft.reactions.iter().zip(&runs).filter(|(reaction, ran)| !**ran && reaction.extent == Extent::OnContact);
    let contact: Vec<_> = on_contact.map(|(reaction, _)| Arc::clone(reaction)).collect();
    let basis = draft.basis.as_ref().and_then(|name| {
        let take = draft.takes.iter().position(|take| take.name.text == name.text);
        if take.is_none() && !taint.covers(&name.text) {
            let names = draft.takes.iter().map(|take| take.name.text.as_str());
            let help = suggest::sentence(&name.text, names).unwrap_or_else(|| "the basis is the name of a portion taken".to_owned());
            binder.report(
                Diagnostic::new(Code::UnknownName, name.span, format!("`{}` is not taken in this procedure", name.text)).help(help),
            );
        }
        take
    });
    let good = binder.good;
    let bindings = std::mem::take(&mut binder.bindings);
    let errors = findings.iter().filter(|finding| finding.is_error()).count() > errors_before;
    if errors || !good || taint.lost || !taint.words.is_empty() {
        return None;
    }
    let takes = takes
        .into_iter()
        .zip(taken)
        .zip(&draft.takes)
        .map(|((material, binding), draft)| Some(Take { binding, material: material?, span: draft.span }))
        .collect::<Option<Vec<_>>>()?;
    Some(Procedure {
        name: draft.name.text,
        title: draft.title,
        variant: draft.variant,
        doc: draft.doc,
        about: draft.about,
        span: draft.span,
        end: draft.end,
        basis: basis?,
        basis_span: draft.basis?.span,
        takes,
        supplied: BTreeSet::new(),
        contact,
        reactions: draft.reactions,
        statements,
        steps: draft.steps,
        bindings,
        allows: draft.allows,
    })
}

impl<'a> Binder<'a> {
    fn new(defs: &'a Definitions, findings: &'a mut Vec<Diagnostic>, taint: &'a Taint) -> Self {
        Self {
            defs,
            findings,
            taint,
            bindings: Vec::new(),
            current: BTreeMap::new(),
            unknown: BTreeSet::new(),
            unknown_reaction: false,
            good: true,
        }
    }

    fn report(&mut self, finding: Diagnostic) {
        self.good = false;
        self.findings.push(finding);
    }

    /// What is done only if needed leaves every portion there is under its name, done or not.
    fn may_be_left_out(&mut self, statement: &DraftStatement) {
        if statement.only_if.is_none() {
            return;
        }
        let takes = |(slot, _): &(&Slot, _)| {
            let named = match statement.matched.args.get(&slot.name) {
                Some(RawArg::Names(_)) => true,
                Some(RawArg::Material(material)) => material.amount.is_none(),
                _ => false,
            };
            slot.mode == Mode::Takes && named
        };
        let uses_up = statement.operation.form.slots().iter().any(takes);
        if uses_up || !statement.matched.roles.is_empty() || !statement.matched.results.is_empty() {
            let why = if uses_up { "uses up a portion" } else { "makes a portion" };
            self.report(
                Diagnostic::new(
                    Code::OnlyIf,
                    statement.span,
                    format!("this may be left out, and it {why}: what becomes of that without it?"),
                )
                .help(
                    "what is done only if needed changes one portion with a material from the shelf: `if \"…\" add brine, 20 mL to crude`",
                ),
            );
        }
    }

    /// What a name stands for now.
    fn called(&self, name: &str) -> Option<&Binding> {
        self.current.get(name).and_then(|id| self.bindings.get(id.0))
    }

    fn bind(&mut self, name: &Name, origin: Origin) -> BindingId {
        let occurrence = 1 + self.called(&name.text).map_or(0, |last| last.occurrence);
        let id = BindingId(self.bindings.len());
        self.bindings.push(Binding { name: name.text.clone(), occurrence, origin, span: name.span, used_by: None, changed_by: Vec::new() });
        self.current.insert(name.text.clone(), id);
        id
    }

    fn use_up(&mut self, id: BindingId, by: usize) {
        if let Some(binding) = self.bindings.get_mut(id.0) {
            binding.used_by = Some(by);
        }
    }

    /// The portion of that name, used as `mode` says.
    fn portion(&mut self, name: &Name, mode: Mode, by: usize) -> Option<BindingId> {
        let Some(id) = self.current.get(&name.text).copied() else {
            if !self.taint.covers(&name.text) && self.unknown.insert(name.text.clone()) {
                let mut finding = Diagnostic::new(Code::UnknownName, name.span, format!("no portion is called `{}` here", name.text));
                finding = match suggest::sentence(&name.text, self.current.keys().map(String::as_str)) {
                    Some(sentence) => finding.help(sentence),
                    None => finding.help("a portion is named by `take`, or behind the arrow of an earlier statement"),
                };
                self.findings.push(finding);
            }
            self.good = false;
            return None;
        };
        let binding = self.bindings.get_mut(id.0)?;
        if let Some(_first) = binding.used_by {
            let span = binding.span;
            if !self.taint.covers(&name.text) {
                let finding = Diagnostic::new(
                    Code::UsedTwice,
                    name.span,
                    format!("`{}` was used up before: a portion of matter can be used only once", name.text),
                )
                .label(span, "it was named here")
                .help("use the result of the earlier operation, or `divide` the portion before");
                self.findings.push(finding);
            }
            self.good = false;
            return None;
        }
        match mode {
            Mode::Takes => binding.used_by = Some(by),
            Mode::Changes => binding.changed_by.push(by),
            Mode::Reads => {}
        }
        Some(id)
    }

    fn portion_or_material(&mut self, raw: &RawMaterial, mode: Mode, by: usize) -> Option<Arg> {
        let bound = self.called(&raw.name.text).is_some();
        let spent = self.called(&raw.name.text).is_some_and(|binding| binding.used_by.is_some());
        if raw.amount.is_none() {
            if !bound {
                if let Some(sub) = self.defs.find(&raw.name.text) {
                    let example = if self.defs.substance(sub).is("salt") { "5 g" } else { "50 mL" };
                    self.report(
                        Diagnostic::new(
                            Code::SyntaxExpected,
                            raw.name.span.after(),
                            format!("`{}` is a substance here, and its amount is missing", raw.name.text),
                        )
                        .help(format!("write `{}, {example}`", raw.name.text)),
                    );
                    return None;
                }
                if self.defs.named_solution(&raw.name.text).is_some() {
                    self.report(
                        Diagnostic::new(
                            Code::SyntaxExpected,
                            raw.name.span.after(),
                            format!("the amount of `{}` is missing", raw.name.text),
                        )
                        .help(format!("write `{}, 50 mL`", raw.name.text)),
                    );
                    return None;
                }
            }
            return self.portion(&raw.name, mode, by).map(|id| Arg::Portions(vec![(id, raw.name.span)]));
        }
        if bound && !spent && !self.taint.covers(&raw.name.text) {
            self.report(
                Diagnostic::new(
                    Code::Ambiguous,
                    raw.name.span,
                    format!("`{0}` is a portion here and, with an amount, reads as `{0}` from the shelf", raw.name.text),
                )
                .help(format!(
                    "for the portion write `{0}` alone (and `divide` it first for a part); for the substance give the portion another name",
                    raw.name.text
                )),
            );
            return None;
        }
        let material = self.material(raw)?;
        Some(Arg::Material(Box::new(material)))
    }

    fn substance(&mut self, name: &Name) -> Option<Sub> {
        let found = self.defs.find(&name.text);
        if found.is_none() {
            if !self.taint.covers(&name.text) {
                self.findings.push(unknown_substance(name, self.defs));
            }
            self.good = false;
        }
        found
    }

    fn material(&mut self, raw: &RawMaterial) -> Option<Material> {
        let mut found = Vec::new();
        let looked_up = graded(raw, self.defs, &mut found);
        let unknown = |finding: &Diagnostic| finding.code == Code::UnknownSubstance;
        for finding in found {
            // What was lost where a statement could not be read is not missed again.
            if !unknown(&finding) || !self.taint.covers(&raw.name.text) {
                self.findings.push(finding);
            }
            self.good = false;
        }
        let Graded { sub, solution, strength, grades, mut good, of_stock } = looked_up?;
        let amount = raw.amount.clone()?;
        let mut refs = BTreeMap::new();
        let mut names = Vec::new();
        if let Some(expr) = &amount.expr {
            expr.names(&mut names);
        }
        for name in names {
            match self.current.get(&name.text) {
                Some(id) => {
                    refs.insert(name.text.clone(), *id);
                }
                None => {
                    if !self.taint.covers(&name.text) && self.unknown.insert(name.text.clone()) {
                        let mut finding =
                            Diagnostic::new(Code::UnknownName, name.span, format!("no portion is called `{}` here", name.text));
                        if let Some(sentence) = suggest::sentence(&name.text, self.current.keys().map(String::as_str)) {
                            finding = finding.help(sentence);
                        }
                        self.findings.push(finding);
                    }
                    good = false;
                }
            }
        }
        self.good &= good;
        good.then_some(Material {
            sub,
            written: raw.name.clone(),
            solution,
            grades,
            strength,
            of_stock,
            amount,
            at: raw.at.map(|at| at.middle()),
            refs,
            span: raw.span,
        })
    }

    fn reactions(&mut self, names: &[Name], draft: &Draft, runs: &mut [bool]) -> Option<Vec<usize>> {
        let mut found = Vec::new();
        for name in names {
            match draft.reactions.iter().position(|reaction| reaction.name == name.text) {
                Some(number) => {
                    if let Some(ran) = runs.get_mut(number) {
                        *ran = true;
                    }
                    found.push(number);
                }
                None => {
                    if !self.taint.covers(&name.text) {
                        let known = draft.reactions.iter().map(|reaction| reaction.name.as_str());
                        let help =
                            suggest::sentence(&name.text, known).unwrap_or_else(|| format!("declare it: `reaction {} {{ … }}`", name.text));
                        // A reaction that was declared and could not be read has been reported.
                        self.findings.push(
                            Diagnostic::new(Code::UnknownReaction, name.span, format!("no reaction is called `{}`", name.text)).help(help),
                        );
                    }
                    self.unknown_reaction = true;
                    self.good = false;
                }
            }
        }
        (found.len() == names.len()).then_some(found)
    }

    fn apparatus(&mut self, name: &Name, size: Option<&Figure>) -> Option<Arg> {
        let Some(apparatus) = self.defs.apparatus.get(&name.text).cloned() else {
            if !self.taint.covers(&name.text) {
                let known = crate::library::names(&["apparatus"]).chain(self.defs.apparatus.keys().map(String::as_str));
                let help = suggest::sentence(&name.text, known).unwrap_or_else(|| {
                    "the library has round_flask, conical_flask, beaker, separatory_funnel, siphon_extractor, water_trap, bottle, jar, vial and others"
                        .to_owned()
                });
                self.findings.push(
                    Diagnostic::new(Code::UnknownApparatus, name.span, format!("`{}` is not apparatus that is known here", name.text))
                        .help(help),
                );
            }
            self.good = false;
            return None;
        };
        let piece = self.defs.bench.as_ref().and_then(|bench| bench.piece(&name.text, size.map(|size| size.low)));
        let Some(piece) = piece else { return Some(Arg::Apparatus(apparatus, size.copied(), name.span)) };
        // An extractor's size decides what is in the flask, so that it is known before anything is worked out.
        let own = piece.size.filter(|_| apparatus.siphon.is_some());
        let own = own.map(|low| Figure { low, high: None, plus_minus: None, kind: crate::kinds::Kind::Volume, span: name.span });
        Some(Arg::Apparatus(Arc::clone(&piece.apparatus), size.copied().or(own), name.span))
    }

    fn never_used(&mut self) {
        let taint = self.taint;
        let mut found = Vec::new();
        for binding in &self.bindings {
            if binding.used_by.is_some() || taint.covers(&binding.name) {
                continue;
            }
            let is_take = matches!(binding.origin, Origin::Take(_));
            let message = if is_take {
                format!("`{}` is taken and never used", binding.name)
            } else {
                format!("`{}` is made here and never dealt with", binding.name)
            };
            found.push(
                Diagnostic::new(Code::NeverUsed, binding.span, message)
                    .help(format!("use it in an operation, or write `keep {0} as … in …` or `discard {0} as \"…\"`", binding.name)),
            );
        }
        for finding in found {
            self.report(finding);
        }
    }
}

/// Words of quality and of a solid's form that change no figure; every material may have them.
pub const PLAIN_GRADES: &[&str] = &[
    "anhydrous",
    "crystals",
    "distilled",
    "dried",
    "dry",
    "flakes",
    "freshly_distilled",
    "fused",
    "granular",
    "lump",
    "pellets",
    "powdered",
    "pure",
    "technical",
];
