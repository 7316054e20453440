//! Random mixtures: each gives an answer that holds or a clear refusal.

use std::collections::BTreeMap;

use scruple::chemistry::activity::{Activity, Groups, Tables};
use scruple::chemistry::phase::{Component, Liquid, PhaseError, System};

/// A substance with its groups after both tables, where it has them.
pub struct Member {
    pub name: String,
    pub component: Component,
    pub groups: [Option<Groups>; 2],
}

/// What came of some random mixtures.
#[derive(Debug, Default)]
pub struct Tally {
    pub mixtures: usize,
    /// Mixtures refused since an interaction of groups is not published.
    pub unpublished: usize,
    /// Questions asked to the others.
    pub questions: usize,
    /// Questions refused, by the reason.
    pub refused: BTreeMap<String, usize>,
    /// Answers with two and with more liquids.
    pub parted: [usize; 2],
    /// A few of the questions that did not settle.
    pub examples: Vec<String>,
}

impl Tally {
    /// Questions that the searches failed at, as a share.
    pub fn unsettled(&self) -> f64 {
        let failed: usize = self.refused.iter().filter(|(reason, _)| reason.contains("settle")).map(|(_, count)| count).sum();
        failed as f64 / self.questions.max(1) as f64
    }
}

/// SplitMix64: random enough, and the same everywhere.
pub struct Random(pub u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From zero to one.
    pub fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn below(&mut self, count: usize) -> usize {
        (self.next() % count as u64) as usize
    }
}

fn sound(fractions: &[f64]) -> bool {
    let sum: f64 = fractions.iter().sum();
    fractions.iter().all(|x| x.is_finite() && *x >= 0.0) && (sum - 1.0).abs() < 1e-9
}

/// Liquids hold what there is of everything, at equal activities.
fn check_liquids(liquids: &[Liquid], what: &str) {
    let mut first: Option<Vec<f64>> = None;
    for liquid in liquids {
        assert!(sound(&liquid.x) && liquid.share > 0.0, "{what}: {liquid:?}");
        assert!(liquid.gamma.iter().all(|gamma| gamma.is_finite() && *gamma > 0.0), "{what}: {liquid:?}");
        let logs: Vec<f64> = liquid.x.iter().zip(&liquid.gamma).map(|(x, gamma)| x.ln() + gamma.ln()).collect();
        if let Some(first) = &first {
            for (a, b) in first.iter().zip(&logs) {
                assert!(a == b || (a - b).abs() < 1e-6, "{what}: {liquids:?}");
            }
        } else {
            first = Some(logs);
        }
    }
}

/// Asks where random mixtures of two to five of these boil, part, flash and condense.
pub fn hammer(pool: &[Member], mixtures: usize, random: &mut Random) -> Tally {
    let mut tally = Tally { mixtures, ..Tally::default() };
    for _ in 0..mixtures {
        let model = random.below(2);
        let tables = [Tables::Unifac, Tables::Dortmund][model];
        let wanted = 2 + random.below(4);
        let mut members: Vec<&Member> = Vec::new();
        while members.len() < wanted {
            let member = &pool[random.below(pool.len())];
            if member.groups[model].is_some() && !members.iter().any(|other| other.name == member.name) {
                members.push(member);
            }
        }
        let amounts: Vec<f64> = members
            .iter()
            .map(|_| match random.below(4) {
                0 => 10f64.powf(-9.0 * random.share()),
                1 => 1e-9,
                _ => random.share(),
            })
            .collect();
        let p = 10f64.powf(2.0 + 3.3 * random.share());
        let cool = 270.0 + 130.0 * random.share();
        let names: Vec<&str> = members.iter().map(|member| member.name.as_str()).collect();
        let what = format!("{tables:?} {names:?} {amounts:?} {p} Pa");
        let molecules: Vec<Groups> = members.iter().filter_map(|member| member.groups[model].clone()).collect();
        let Ok(activity) = Activity::groups(tables, &molecules) else {
            tally.unpublished += 1;
            continue;
        };
        let system = System::new(members.iter().map(|member| member.component.clone()).collect(), activity);
        let refuse = |tally: &mut Tally, error: &PhaseError, asked: &str| {
            if error.to_string().contains("settle") && tally.examples.len() < 12 {
                tally.examples.push(format!("{asked}: {what}: {error}"));
            }
            *tally.refused.entry(error.to_string()).or_default() += 1;
        };
        tally.questions += 4;
        match system.boil(&amounts, p) {
            Ok(boil) => {
                assert!(sound(&boil.y) && boil.t.is_finite(), "{what}: {boil:?}");
                check_liquids(&boil.liquids, &what);
                if boil.liquids.len() > 1 {
                    tally.parted[usize::from(boil.liquids.len() > 2)] += 1;
                }
                match system.flash(&amounts, boil.t + 5.0 * random.share(), p) {
                    Ok(flash) => {
                        check_liquids(&flash.liquids, &what);
                        assert!(flash.vapour == 0.0 || sound(&flash.y), "{what}: {flash:?}");
                        assert!(flash.vapour > 0.0 || boil.liquids.len() == flash.liquids.len(), "{what}: {boil:?} {flash:?}");
                    }
                    Err(error) => refuse(&mut tally, &error, "flash"),
                }
            }
            Err(error) => {
                refuse(&mut tally, &error, "boil");
                tally.questions -= 1;
            }
        }
        match system.split(&amounts, cool) {
            Ok(liquids) => check_liquids(&liquids, &what),
            Err(error) => refuse(&mut tally, &error, &format!("split at {cool}")),
        }
        match system.dew(&amounts, p) {
            Ok(dew) => assert!(sound(&dew.x) && dew.t.is_finite() && dew.gamma.iter().all(|gamma| gamma.is_finite()), "{what}: {dew:?}"),
            Err(error) => refuse(&mut tally, &error, "dew"),
        }
    }
    tally
}
