//! What had to be assumed, in sentences; and of each whether it puts a prediction further off than the band of
//! its model says, and in which way.

use std::collections::BTreeMap;

/// In which way something assumed puts predictions further off; `model.rs` has the clause of each.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Widens {
    /// A vapour pressure is estimated from a boiling point.
    EstimatedVapour,
    /// A vapour pressure is asked outside the range of its equation.
    VapourBeyond,
    /// Ions hold water back as a table of their solutions has it.
    HeldByTable,
    /// Ions only dilute what they are in.
    Ions,
    /// Something has no groups.
    NoGroups,
    /// How something is shared between two liquids is not known.
    Unshared,
    /// The water that a liquid takes up is predicted and not declared.
    WaterByGroups,
}

/// Sentences in their order, each once.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Assumed(BTreeMap<String, Option<Widens>>);

impl Assumed {
    /// Nothing.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a sentence that leaves every band as it is.
    pub fn insert(&mut self, sentence: impl Into<String>) {
        self.0.entry(sentence.into()).or_insert(None);
    }

    /// Adds a sentence that widens bands.
    pub fn widen(&mut self, widens: Widens, sentence: impl Into<String>) {
        self.0.insert(sentence.into(), Some(widens));
    }

    /// Takes over all that another holds.
    pub fn append(&mut self, other: &mut Self) {
        self.0.append(&mut other.0);
    }

    /// The sentences.
    pub fn iter(&self) -> impl Iterator<Item = &String> {
        self.0.keys()
    }

    /// Whether there is that sentence.
    #[must_use]
    pub fn contains(&self, sentence: &str) -> bool {
        self.0.contains_key(sentence)
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Keeps the sentences of which that holds.
    pub fn retain(&mut self, mut holds: impl FnMut(&str) -> bool) {
        self.0.retain(|sentence, _| holds(sentence));
    }

    /// Whether something here widens a band in that way.
    #[must_use]
    pub fn widens(&self, way: Widens) -> bool {
        self.0.values().any(|own| *own == Some(way))
    }
}

// Only whole sentences with what they widen are handed on, so that nothing is lost on the way.
impl Extend<(String, Option<Widens>)> for Assumed {
    fn extend<T: IntoIterator<Item = (String, Option<Widens>)>>(&mut self, more: T) {
        self.0.extend(more);
    }
}

impl IntoIterator for Assumed {
    type Item = (String, Option<Widens>);
    type IntoIter = std::collections::btree_map::IntoIter<String, Option<Widens>>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}

impl<'a> IntoIterator for &'a Assumed {
    type Item = &'a String;
    type IntoIter = std::collections::btree_map::Keys<'a, String, Option<Widens>>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.keys()
    }
}
