//! The published tables of groups: what is embedded, read once.

use std::sync::OnceLock;

/// Which published set of groups and interactions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tables {
    /// UNIFAC: Fredenslund, Jones and Prausnitz 1975 with the published revisions.
    Unifac,
    /// Modified UNIFAC (Dortmund): Weidlich and Gmehling 1987, Gmehling, Li and Schiller 1993 and later.
    Dortmund,
}

/// One sub-group of a table.
#[derive(Debug)]
struct Group {
    tables: Tables,
    name: &'static str,
    /// Its main group, as a place in `Table::mains`.
    main: usize,
    volume: f64,
    area: f64,
}

/// A sub-group of one of the tables, found by [`group`].
#[derive(Clone, Copy, Debug)]
pub struct GroupId(&'static Group);

impl GroupId {
    /// The published name.
    pub fn name(self) -> &'static str {
        self.0.name
    }

    pub(super) fn tables(self) -> Tables {
        self.0.tables
    }

    pub(super) fn main(self) -> usize {
        self.0.main
    }

    /// R and Q, the relative volume and surface.
    pub(super) fn size(self) -> (f64, f64) {
        (self.0.volume, self.0.area)
    }

    /// The name of its main group.
    pub fn main_name(self) -> &'static str {
        main_name(self.0.tables, self.0.main)
    }
}

impl PartialEq for GroupId {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self.0, other.0)
    }
}

/// The groups of one molecule, each with its count; never empty.
#[derive(Clone, Debug, PartialEq)]
pub struct Groups(Vec<(GroupId, u32)>);

impl Groups {
    /// `None` if there is no group, a count is zero, two groups are of different tables, or none has a surface.
    pub fn new(parts: &[(GroupId, u32)]) -> Option<Groups> {
        let (first, _) = parts.first()?;
        let sound = parts.iter().all(|(group, count)| *count > 0 && group.tables() == first.tables());
        let surface = parts.iter().any(|(group, _)| group.0.area > 0.0);
        (sound && surface).then(|| Groups(parts.to_vec()))
    }

    /// Each group with its count.
    pub fn parts(&self) -> &[(GroupId, u32)] {
        &self.0
    }
}

/// `ψ = exp(−(a + b T + c T²)/T)` between two main groups.
pub(super) type Interaction = [f64; 3];

struct Table {
    groups: Vec<Group>,
    mains: Vec<&'static str>,
}

fn text(tables: Tables) -> &'static str {
    match tables {
        Tables::Unifac => include_str!("../../../stdlib/groups/unifac.tsv"),
        Tables::Dortmund => include_str!("../../../stdlib/groups/dortmund.tsv"),
    }
}

/// The groups, which every declared molecule asks for; without the interactions, which are many.
fn table(tables: Tables) -> &'static Table {
    static UNIFAC: OnceLock<Table> = OnceLock::new();
    static DORTMUND: OnceLock<Table> = OnceLock::new();
    match tables {
        Tables::Unifac => UNIFAC.get_or_init(|| read(tables)),
        Tables::Dortmund => DORTMUND.get_or_init(|| read(tables)),
    }
}

/// Bytes of a pair: three figures.
const PAIR: usize = 24;

/// Row by row, mains × mains, as the build script stores them, since reading so many takes longer than a short
/// compilation; no number is not published.
fn interactions(tables: Tables) -> &'static [u8] {
    match tables {
        Tables::Unifac => include_bytes!(concat!(env!("OUT_DIR"), "/unifac.pairs")),
        Tables::Dortmund => include_bytes!(concat!(env!("OUT_DIR"), "/dortmund.pairs")),
    }
}

/// A line that is not as it should be is left out; that none is, a test counts. The groups stand before
/// the interactions.
fn read(tables: Tables) -> Table {
    let mut table = Table { groups: Vec::new(), mains: Vec::new() };
    for line in text(tables).lines().take_while(|line| !line.starts_with("p\t")) {
        let fields: Vec<&'static str> = line.split('\t').collect();
        if let ["g", _number, name, main, volume, area] = fields.as_slice() {
            let (Ok(volume), Ok(area)) = (volume.parse(), area.parse()) else { continue };
            let main = table.mains.iter().position(|known| known == main).unwrap_or_else(|| {
                table.mains.push(main);
                table.mains.len() - 1
            });
            table.groups.push(Group { tables, name, main, volume, area });
        }
    }
    table
}

/// The parameters of a pair of main groups; `None` is not published, which is not zero.
pub(super) fn interaction(tables: Tables, first: usize, second: usize) -> Option<Interaction> {
    let count = table(tables).mains.len();
    if first.max(second) >= count {
        return None;
    }
    let (figures, _) = interactions(tables).get((first * count + second) * PAIR..)?.as_chunks();
    let figures: Interaction = figures.first_chunk().copied()?.map(f64::from_le_bytes);
    (!figures.iter().any(|figure| figure.is_nan())).then_some(figures)
}

/// The name of a main group.
pub(super) fn main_name(tables: Tables, main: usize) -> &'static str {
    table(tables).mains.get(main).copied().unwrap_or("")
}

/// A sub-group by its published name, blanks and case aside: `CH3`, `OH (P)`.
///
/// The ether's group that is published as CHO, like the aldehyde's, is `CH-O`.
pub fn group(tables: Tables, name: &str) -> Option<GroupId> {
    fn plain(name: &str) -> impl Iterator<Item = char> {
        name.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase)
    }
    table(tables).groups.iter().find(|group| plain(group.name).eq(plain(name))).map(GroupId)
}

/// The names of all sub-groups of a table, in its order.
pub fn group_names(tables: Tables) -> impl Iterator<Item = &'static str> {
    table(tables).groups.iter().map(|group| group.name)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn every_line_of_the_tables_is_read() {
        for (tables, groups, mains, figures) in [(Tables::Unifac, 113, 54, 1270), (Tables::Dortmund, 124, 62, 1484)] {
            let table = table(tables);
            let mains_of = || 0..table.mains.len();
            let pairs = mains_of().flat_map(|row| mains_of().map(move |column| (row, column)));
            let published = pairs.filter(|(row, column)| interaction(tables, *row, *column).is_some()).count() - table.mains.len();
            assert_eq!((table.groups.len(), table.mains.len(), published), (groups, mains, figures), "{tables:?}");
            for name in group_names(tables) {
                assert_eq!(group(tables, name).unwrap().name(), name, "no two names are alike");
            }
        }
        assert_eq!(group(Tables::Dortmund, "oh(p)").unwrap().main_name(), "OH");
        assert!(group(Tables::Unifac, "OH (P)").is_none());
        assert_eq!(group(Tables::Unifac, "CH-O").unwrap().main_name(), "CH2O");
        assert_eq!(group(Tables::Unifac, "CHO").unwrap().main_name(), "CHO");
    }

    #[test]
    fn groups_of_nothing_are_none() {
        let [methyl, bare] = ["CH3", "C"].map(|name| group(Tables::Unifac, name).unwrap());
        let other = group(Tables::Dortmund, "CH3").unwrap();
        for parts in [&[][..], &[(methyl, 0)], &[(bare, 1)], &[(methyl, 1), (other, 1)]] {
            assert!(Groups::new(parts).is_none());
        }
        assert_eq!(Groups::new(&[(methyl, 4), (bare, 1)]).unwrap().parts().len(), 2);
    }
}
