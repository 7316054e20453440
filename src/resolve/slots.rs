//! What fills the slots of one statement. They are few: a row in the order of their names takes a
//! tenth of the room of a map.

/// Values by the names of their slots.
#[derive(Clone, Debug, PartialEq)]
pub struct Slots<T>(Vec<(String, T)>);

impl<T> Default for Slots<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<T> Slots<T> {
    /// Puts a value into a slot, in place of what stood there.
    pub fn insert(&mut self, slot: String, value: T) {
        match self.0.binary_search_by(|(own, _)| own.cmp(&slot)) {
            Ok(at) => {
                if let Some(known) = self.0.get_mut(at) {
                    known.1 = value;
                }
            }
            Err(at) => {
                self.0.reserve_exact(1);
                self.0.insert(at, (slot, value));
            }
        }
    }

    /// What stands in a slot.
    #[must_use]
    pub fn get(&self, slot: &str) -> Option<&T> {
        self.0.iter().find(|(own, _)| own == slot).map(|(_, value)| value)
    }

    /// What stands in a slot, to be changed.
    pub fn get_mut(&mut self, slot: &str) -> Option<&mut T> {
        self.0.iter_mut().find(|(own, _)| own == slot).map(|(_, value)| value)
    }

    /// Whether anything stands in a slot.
    #[must_use]
    pub fn contains_key(&self, slot: &str) -> bool {
        self.get(slot).is_some()
    }

    /// Whether no slot is filled.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// All slots with what stands in them.
    pub fn iter(&self) -> impl Iterator<Item = (&String, &T)> {
        self.0.iter().map(|(slot, value)| (slot, value))
    }

    /// What stands in the slots.
    pub fn values(&self) -> impl Iterator<Item = &T> {
        self.0.iter().map(|(_, value)| value)
    }
}

impl<T> IntoIterator for Slots<T> {
    type Item = (String, T);
    type IntoIter = std::vec::IntoIter<(String, T)>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}
