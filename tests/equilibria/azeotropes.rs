//! Azeotropes: those of the reference, and what holds for each.

use scruple::chemistry::phase::{Azeotrope, Extremum, Kind};

use super::parting::unlike_activities;
use super::{ATM, MODELS, ZERO, number, numbers, reference, strings, system};

/// All are found, none is invented, and they agree.
#[test]
fn azeotropes_of_the_reference() {
    let (mut count, mut worst_t, mut worst_y, mut wrong) = (0, 0.0_f64, 0.0_f64, Vec::new());
    for row in reference()["systems"].as_array().unwrap() {
        let names = strings(&row["components"]);
        for (model, tables) in MODELS {
            let mixture = system(&names, tables);
            let seen: Vec<Azeotrope> = mixture.azeotropes(ATM).unwrap();
            let seen: Vec<&Azeotrope> = seen.iter().filter(|azeotrope| azeotrope.members.len() == names.len()).collect();
            let printed = row["models"][model]["azeotropes"].as_array().cloned().unwrap_or_default();
            let tell = || seen.iter().map(|a| format!("{:.4} {:?} {:?} {:?}", a.t - ZERO, a.y, a.kind, a.extremum)).collect::<Vec<_>>();
            if seen.len() != printed.len() {
                wrong.push(format!("{names:?} {model}: {:?} against {printed:?}", tell()));
                continue;
            }
            for azeotrope in &printed {
                let y = numbers(&azeotrope["y_mole"]);
                let kind = if azeotrope["kind"] == "homogeneous" { Kind::Homogeneous } else { Kind::Heterogeneous };
                let apart = |seen: &Azeotrope| seen.y.iter().zip(&y).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
                let Some(best) = seen.iter().min_by(|a, b| apart(a).total_cmp(&apart(b))) else { continue };
                let off = (best.t - ZERO - number(&azeotrope["T_C"])).abs();
                worst_t = worst_t.max(off);
                worst_y = worst_y.max(apart(best));
                let extremum = match azeotrope["extremum"].as_str() {
                    Some("min") => Some(Extremum::Minimum),
                    Some("max") => Some(Extremum::Maximum),
                    _ => None,
                };
                if off > 1e-3 || apart(best) > 1e-3 || best.kind != kind || extremum.is_some_and(|extremum| extremum != best.extremum) {
                    wrong.push(format!("{names:?} {model}: {:?} against {azeotrope:?}, off {off:.1e} K {:.1e}", tell(), apart(best)));
                }
                count += 1;
            }
        }
    }
    println!("{count} azeotropes: {worst_t:.1e} K, {worst_y:.1e} mole fraction");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn short(all: &[Azeotrope]) -> String {
    all.iter()
        .map(|azeotrope| format!("{:.4} K {:.5?} {:?} {:?}; ", azeotrope.t, azeotrope.y, azeotrope.kind, azeotrope.extremum))
        .collect()
}

/// At any pressure an azeotrope boils unchanged, as the liquids that it names; the order of components does not
/// matter, and a component that does not boil has none.
#[test]
fn azeotropes_boil_unchanged() {
    let mut count = 0;
    for names in [
        &["ethanol", "water", "toluene", "ethyl_acetate"][..],
        &["n_butanol", "butyl_acetate", "water"],
        &["acetone", "chloroform", "methanol", "hexane"],
        &["cyclohexane", "ethanol", "water"],
    ] {
        for (model, tables) in MODELS {
            let mixture = system(names, tables);
            for p in [100.0, 2e5] {
                let seen = mixture.azeotropes(p).unwrap_or_else(|error| panic!("{names:?} {model} {p}: {error}"));
                for azeotrope in &seen {
                    let boil = mixture.boil(&azeotrope.y, p).unwrap();
                    assert!((boil.t - azeotrope.t).abs() < 1e-6, "{names:?} {model} {p}: {azeotrope:?} {boil:?}");
                    for (a, b) in azeotrope.y.iter().zip(&boil.y) {
                        assert!((a - b).abs() < 1e-7, "{names:?} {model} {p}: {azeotrope:?} {boil:?}");
                    }
                    assert_eq!(azeotrope.liquids.len(), boil.liquids.len(), "{names:?} {model} {p}: {azeotrope:?} {boil:?}");
                    assert!(unlike_activities(&azeotrope.liquids) < 1e-7);
                    for (place, y) in azeotrope.y.iter().enumerate() {
                        assert_eq!(*y > 0.0, azeotrope.members.contains(&place));
                        let sum: f64 = azeotrope.liquids.iter().map(|liquid| liquid.share * liquid.x[place]).sum();
                        assert!((sum - y).abs() < 1e-8);
                    }
                }
                let order: Vec<usize> = (0..names.len()).rev().collect();
                let mut turned = mixture.subset(&order).azeotropes(p).unwrap();
                for azeotrope in &mut turned {
                    azeotrope.y.reverse();
                }
                assert_eq!(turned.len(), seen.len(), "{names:?} {model} {p}: {} {}", short(&seen), short(&turned));
                for azeotrope in &seen {
                    let same = |other: &&Azeotrope| azeotrope.y.iter().zip(&other.y).all(|(a, b)| (a - b).abs() < 1e-5);
                    let other = turned.iter().find(same).unwrap_or_else(|| panic!("{azeotrope:?} {turned:?}"));
                    let alike =
                        (other.t - azeotrope.t).abs() < 1e-6 && other.kind == azeotrope.kind && other.extremum == azeotrope.extremum;
                    assert!(
                        alike,
                        "{names:?} {model} {p}: {} {}",
                        short(std::slice::from_ref(azeotrope)),
                        short(std::slice::from_ref(other))
                    );
                }
                count += seen.len();
            }
        }
    }
    println!("{count} azeotropes");
    assert!(count > 75, "{count}");
    let mut parts = system(&["ethanol", "water", "toluene"], MODELS[0].1).components().to_vec();
    parts[2].vapour = None;
    let mixture = scruple::chemistry::phase::System::new(parts, system(&["ethanol", "water", "toluene"], MODELS[0].1).activity().clone());
    let seen = mixture.azeotropes(ATM).unwrap();
    assert_eq!(seen.iter().map(|azeotrope| azeotrope.members.clone()).collect::<Vec<_>>(), [[0, 1]]);
}
