//! Every substance of the library that has groups, in random mixtures.

use std::collections::{BTreeMap, BTreeSet};

use scruple::chemistry::activity::{Groups, Tables, group};
use scruple::load::Memory;
use scruple::matter::system::Liquids;
use scruple::resolve::definitions::Definitions;
use scruple::source::Sources;

use super::robust::{Member, Random, hammer};

fn definitions(names: &[&str]) -> Definitions {
    let text = format!("operation name_all {{\n    form     name_all <what: {}>\n    says     \"{{what}}\"\n}}\n", names.join(" | "));
    let loader = Memory::new([("all.scruple", text.as_str())]);
    scruple::resolve::resolve("all.scruple", &loader, &mut Sources::default(), &mut Vec::new()).defs
}

/// The substances that have groups, and a name for each group that is none.
fn pool() -> (Vec<Member>, Vec<String>) {
    let names: Vec<&str> = scruple::library::names(&["substance"]).collect();
    let defs = definitions(&names);
    let (mut unknown, mut seen) = (Vec::new(), BTreeSet::new());
    let mut members = Vec::new();
    for name in names {
        let Some(sub) = defs.find(name).filter(|sub| seen.insert(*sub)) else { continue };
        let substance = defs.substance(sub);
        let declared = [(Tables::Unifac, &substance.groups), (Tables::Dortmund, &substance.dortmund_groups)];
        let groups = declared.map(|(tables, declared)| {
            let parts = declared.as_ref()?.value.iter().filter_map(|(count, named)| {
                let found = group(tables, named).map(|found| (found, u32::from(*count)));
                if found.is_none() {
                    unknown.push(format!("{name}: {named} of {tables:?}"));
                }
                found
            });
            Groups::new(&parts.collect::<Vec<_>>())
        });
        if groups.iter().all(Option::is_none) {
            continue;
        }
        let alone = Liquids::by(&BTreeMap::from([(sub, 1.0)]).into_iter().collect(), &defs, Tables::Unifac);
        if let [component] = alone.system.components() {
            members.push(Member { name: name.to_owned(), component: component.clone(), groups });
        }
    }
    (members, unknown)
}

#[test]
fn random_mixtures() {
    let (pool, unknown) = pool();
    assert!(unknown.is_empty(), "{unknown:?}");
    assert!(pool.len() > 150, "{}", pool.len());
    let tally = hammer(&pool, 1_000, &mut Random(1));
    println!("{tally:#?}");
    assert!(2 * tally.unpublished < tally.mixtures, "{tally:#?}");
    assert!(tally.unsettled() < 1e-3, "{tally:#?}");
}

/// Takes minutes: `cargo test --release --test equilibria -- --ignored --nocapture`.
#[test]
#[ignore = "takes minutes; run it with --release"]
fn a_hundred_thousand_random_mixtures() {
    let tally = hammer(&pool().0, 100_000, &mut Random(2));
    println!("{tally:#?}");
    assert!(tally.unsettled() < 1e-4, "{tally:#?}");
}
