//! Water and an organic liquid shaken together until neither takes more of the other.
//!
//! Activity coefficients come from groups; measured solubilities are laid over them by a [`Tie`], so that a
//! liquid and water alone dissolve in one another as measured. Ions stay in the water, drive out what has no
//! charge, and lower the activity of the water as if it were thinned.
#![allow(clippy::indexing_slicing, reason = "a numeric kernel: all slices are as long as there are components")]

use super::acidity::{Proton, ph};
use super::activity::{Activity, At};

/// Molar mass of water, kg/mol.
const WATER: f64 = 0.018_015;

/// Density of water at 20 °C, kg/m³.
const WATER_DENSITY: f64 = 998.2;

/// m³/mol of octan-1-ol, and the mole fraction of water in it when it is saturated (from memory).
const OCTANOL: (f64, f64) = (158e-6, 0.27);

/// Rounds granted to one search.
const ROUNDS: usize = 120;

/// Rounds in which neither layer is given up.
const EARLY: usize = 12;

/// How much smaller ln γ of a component may be where there is little of it in water than where there is much.
/// Our own figure.
const SAGS: f64 = 0.6;

/// log10 of what a mol/L of ionic strength does to the activity of what has no charge. Constants of
/// Setschenow's law for sodium chloride lie between 0.1 and 0.2 L/mol for most (from memory); one value for
/// all is our own figure.
const SALTS_OUT: f64 = 0.15;

/// Ionic strength beyond which no more is counted, mol/L: about what water takes of common salt.
const SATURATED: f64 = 6.0;

/// What measurements add to the activity coefficients of groups, between water and one component: over RT and
/// for the molar volume of water, `φ_w φ_i (a φ_w + b φ_i)` with volume fractions of the mixture (after Margules). The first
/// counts where there is much water, the second where there is little.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Tie {
    /// ln γ of the component in much water, for each molar volume of water that it has.
    pub a: f64,
    /// ln γ of water in much of the component.
    pub b: f64,
}

impl Tie {
    /// What it adds for each volume of the component, of water, and of everything.
    fn parts(self, water: f64, own: f64) -> (f64, f64, f64) {
        let (wet, dry) = (self.a * water, self.b * own);
        (water * (wet + 2.0 * dry), own * (2.0 * wet + dry), -2.0 * water * own * (wet + dry))
    }

    /// What it adds to ln γ of the component, of `size` times the molar volume of water, and of water, for the
    /// two alone at the mole fraction `x` of water.
    fn logs(self, size: f64, x: f64) -> (f64, f64) {
        let water = x / (x + (1.0 - x) * size);
        let (own, wet, all) = self.parts(water, 1.0 - water);
        (size * (own + all), wet + all)
    }

    /// For component `i` of `size` times the molar volume of water and of the molar mass `molar`, of which
    /// water takes `dissolves` kg/m³ and which takes up the mass fraction `takes_up` of water, where that is known.
    pub fn by_solubility(at: &mut At<'_>, n: usize, i: usize, (molar, size): (f64, f64), dissolves: f64, takes_up: Option<f64>) -> Tie {
        let own = dissolves / molar;
        let aqueous = 1.0 - own / (own + WATER_DENSITY / WATER);
        let mut logs = vec![0.0; n];
        let mut x = vec![0.0; n];
        let mut groups = |water: f64| {
            x.fill(0.0);
            x[0] = water;
            x[i] = 1.0 - water;
            at.ln_gamma(&x, &mut logs);
            (logs[i], logs[0])
        };
        let in_water = groups(aqueous);
        // What is to be made up for, for the component and for water.
        let lacks = |organic: f64, in_organic: (f64, f64)| {
            (
                (1.0 - organic).ln() + in_organic.0 - (1.0 - aqueous).ln() - in_water.0,
                organic.ln() + in_organic.1 - aqueous.ln() - in_water.1,
            )
        };
        let one = |a: f64, b: f64, organic: f64| {
            let (here, there) = (Tie { a, b }.logs(size, aqueous), Tie { a, b }.logs(size, organic));
            (here.0 - there.0, here.1 - there.1)
        };
        // A little of it is not more at home in water than much of it is, and nearer to saturation each layer
        // holds more of the other at a greater activity: else the layers would not be stable.
        let sound = |groups: &mut dyn FnMut(f64) -> (f64, f64), tie: Tie, organic: f64| {
            let mut own = |x: f64| groups(x).0 + tie.logs(size, x).0;
            let saturated = own(aqueous);
            let less = 1.0 - 0.9 * (1.0 - aqueous);
            let stays = own(1.0 - 1e-6) > saturated - SAGS && own(less) + 0.9_f64.ln() < saturated;
            let mut water = |x: f64| groups(x).1 + tie.logs(size, x).1 + x.ln();
            stays && water(0.9 * organic) < water(organic)
        };
        let mut b = 0.0;
        if let Some(mass) = takes_up.filter(|mass| *mass > 0.0 && *mass < 1.0) {
            let organic = (mass / WATER) / (mass / WATER + (1.0 - mass) / molar);
            let (own, water) = lacks(organic, groups(organic));
            let ((a_own, a_water), (b_own, b_water)) = (one(1.0, 0.0, organic), one(0.0, 1.0, organic));
            let det = a_own * b_water - a_water * b_own;
            if det.abs() > 1e-9 {
                let tie = Tie { a: (own * b_water - water * b_own) / det, b: (a_own * water - a_water * own) / det };
                if sound(&mut groups, tie, organic) {
                    return tie;
                }
                b = tie.b;
            }
        }
        // What water takes of it counts for more than the water that it takes: the latter is met in part, or
        // left to the groups.
        let mut tie = Tie::default();
        for part in [0.75, 0.5, 0.25, 0.0] {
            tie = Tie { a: 0.0, b: b * part };
            let mut organic: f64 = 0.02;
            for _ in 0..12 {
                let in_organic = groups(organic);
                let each = one(1.0, 0.0, organic).0;
                let lack = lacks(organic, in_organic).0 - one(0.0, tie.b, organic).0;
                tie.a = if each.abs() > 1e-9 { lack / each } else { 0.0 };
                let (here, there) = (tie.logs(size, aqueous).1, tie.logs(size, organic).1);
                organic = (aqueous.ln() + in_water.1 + here - in_organic.1 - there).exp().clamp(1e-7, 0.6);
            }
            if b == 0.0 || sound(&mut groups, tie, organic) {
                break;
            }
        }
        tie
    }

    /// For component `i` of `size` times the molar volume of water with the measured logarithm of its
    /// partition between octanol, the component `octanol`, and water.
    pub fn by_partition(at: &mut At<'_>, n: usize, (i, size): (usize, f64), octanol: usize, log_p: f64) -> Tie {
        let (mut logs, mut x) = (vec![0.0; n], vec![0.0; n]);
        x[0] = 1.0;
        at.ln_gamma(&x, &mut logs);
        let in_water = logs[i];
        let (volume, wet) = OCTANOL;
        x[0] = wet;
        x[octanol] = 1.0 - wet;
        at.ln_gamma(&x, &mut logs);
        let own = WATER / WATER_DENSITY;
        let ratio = own / (wet * own + (1.0 - wet) * volume);
        // In octanol so little of it is left that it is not counted.
        Tie { a: (log_p * std::f64::consts::LN_10 - (in_water - logs[i] + ratio.ln())) / size, b: 0.0 }
    }
}

/// What is shared by a ratio of concentrations alone, since nothing more is known of it.
#[derive(Clone, Debug)]
pub struct Passive<'a> {
    /// mol.
    pub moles: f64,
    /// m³/mol.
    pub volume: f64,
    /// Concentration in the organic layer over that in the water.
    pub ratio: f64,
    /// What it does as an acid or a base.
    pub proton: Option<Proton<'a>>,
}

/// What is shaken.
#[derive(Debug)]
pub struct Shaking<'a> {
    /// Activities of the liquids; component 0 is water.
    pub activity: &'a Activity,
    /// K.
    pub temperature: f64,
    /// mol of each component.
    pub moles: Vec<f64>,
    /// m³/mol of each component.
    pub volumes: Vec<f64>,
    /// What measurements add, for each component; that of water counts nothing.
    pub ties: Vec<Tie>,
    /// Which components mix with water altogether.
    pub miscible: Vec<bool>,
    /// mol of each component that a mol of water takes, and of water that a mol of it takes, where they are measured:
    /// the search begins there.
    pub taken: Vec<(f64, f64)>,
    /// What is shared by a ratio alone.
    pub passive: Vec<Passive<'a>>,
    /// mol of ions in the water.
    pub ions: f64,
    /// mol of ionic strength of what drives others out.
    pub strength: f64,
    /// m³ that ions take up in the water.
    pub ion_volume: f64,
    /// mol of strong base.
    pub hydroxide: f64,
    /// What each component does as an acid or a base; nothing where the list ends before it.
    pub protons: Vec<Option<Proton<'a>>>,
    /// Acids and bases that stay in the water.
    pub in_water: Vec<Proton<'a>>,
}

/// What shaking comes to.
#[derive(Clone, Debug, PartialEq)]
pub enum Shaken {
    /// Two layers: the share of each component and each passive in the organic one, and the pH of the water.
    Two {
        /// Shares of the components, then of the passives.
        shares: Vec<f64>,
        /// pH of the water.
        ph: f64,
    },
    /// All the organic liquid goes into the water.
    InWater,
    /// All the water goes into the organic liquid.
    InOrganic,
    /// What mixes with both makes one liquid of them.
    Bridged,
}

impl Shaking<'_> {
    /// Shakes until nothing changes.
    ///
    /// Two beginnings are tried: with what mixes with water in the water, and in the organic liquid.
    #[must_use]
    pub fn part(&self) -> Shaken {
        let first = self.from(true);
        if matches!(first, Shaken::Two { .. }) || !self.miscible.iter().skip(1).any(|miscible| *miscible) {
            return first;
        }
        match self.from(false) {
            Shaken::Two { shares, ph } => Shaken::Two { shares, ph },
            _ => first,
        }
    }

    fn from(&self, miscible_in_water: bool) -> Shaken {
        let n = self.moles.len();
        let whole: f64 = self.moles.iter().sum();
        let z: Vec<f64> = self.moles.iter().map(|moles| moles / whole).collect();
        let begins_wet = |i: usize| i == 0 || self.miscible.get(i).copied().unwrap_or(false) && miscible_in_water;
        let taken = |i: usize| self.taken.get(i).copied().unwrap_or_default();
        let (mut wet, mut dry): (Vec<f64>, Vec<f64>) = z
            .iter()
            .enumerate()
            .map(|(i, z_i)| {
                let wet = if begins_wet(i) { (1.0 - 1e-9) * z_i } else { (taken(i).0 * z[0]).clamp(1e-9 * z_i, 0.9 * z_i) };
                (wet, z_i - wet)
            })
            .unzip();
        let water: f64 = (1..n).map(|i| dry[i] * taken(i).1).sum::<f64>().clamp(1e-9 * z[0], 0.9 * z[0]);
        (wet[0], dry[0]) = (z[0] - water, water);
        let mut share: f64 = dry.iter().sum();
        unit(&mut wet);
        unit(&mut dry);
        let mut at = self.activity.at(self.temperature);
        let (mut in_wet, mut in_dry) = (vec![0.0; n], vec![0.0; n]);
        let mut k = vec![1.0; n];
        let mut passive = vec![0.0; self.passive.len()];
        let mut acidity = 7.0;
        for round in 0..ROUNDS {
            self.weigh(&mut at, &wet, &mut in_wet);
            self.weigh(&mut at, &dry, &mut in_dry);
            let inside = share.clamp(1e-9, 1.0 - 1e-9);
            let volume = |x: &[f64], of: f64| -> f64 { whole * of * x.iter().zip(&self.volumes).map(|(x, v)| x * v).sum::<f64>() };
            let held = |of: &dyn Fn(f64) -> f64| -> f64 {
                self.passive.iter().zip(&passive).map(|(one, share)| one.moles * one.volume * of(*share)).sum()
            };
            let v_dry = volume(&dry, inside) + held(&|share| share);
            let v_wet = volume(&wet, 1.0 - inside) + held(&|share| 1.0 - share) + self.ion_volume;
            let salted = (std::f64::consts::LN_10 * SALTS_OUT) * (self.strength / v_wet / 1e3).min(SATURATED);
            let thinned = (1.0 + self.ions / (whole * (1.0 - inside))).ln();
            let mut next: Vec<f64> =
                (0..n).map(|i| (in_wet[i] - in_dry[i] + if i == 0 { -thinned } else { salted }).clamp(-80.0, 80.0).exp()).collect();
            let mut ratios: Vec<f64> = self.passive.iter().map(|one| one.ratio * salted.exp() * v_dry / v_wet).collect();
            let over = inside / (1.0 - inside);
            let components = self.protons.iter().zip(&mut next).map(|(proton, k)| (proton, k, over));
            let beside = self.passive.iter().zip(&mut ratios).map(|(one, ratio)| (&one.proton, ratio, 1.0));
            // Each goes with the very number that it changes.
            let mut shared: Vec<(Proton<'_>, &mut f64, f64)> = components
                .chain(beside)
                .filter_map(|(proton, k, each)| Some((Proton { ratio: *k * each, ..proton.clone()? }, k, each)))
                .collect();
            if !shared.is_empty() || !self.in_water.is_empty() {
                let all: Vec<Proton<'_>> = shared.iter().map(|(proton, ..)| proton).chain(&self.in_water).cloned().collect();
                acidity = ph(v_wet, self.hydroxide, &all);
                shared.iter_mut().for_each(|(proton, k, each)| **k = proton.ratio_at(acidity) / *each);
            }
            passive.iter_mut().zip(&ratios).for_each(|(share, ratio)| *share = ratio / (1.0 + ratio));
            let moved = k.iter().zip(&next).map(|(old, new)| (new / old).ln().abs()).fold(0.0, f64::max);
            k = next;
            share = match phases(&z, &k) {
                Ok(share) => share,
                Err(none) if round >= EARLY => return none,
                Err(none) => {
                    // Far from the end one layer may seem not to be there: it is kept until they know each other.
                    match none {
                        Shaken::InOrganic => k[0] = 0.5,
                        Shaken::InWater => k.iter_mut().skip(1).for_each(|k| *k *= 1e3),
                        _ => return none,
                    }
                    match phases(&z, &k) {
                        Ok(share) => share.clamp(1e-3, 1.0 - 1e-3),
                        Err(none) => return none,
                    }
                }
            };
            for i in 0..n {
                wet[i] = z[i] / (1.0 + share * (k[i] - 1.0));
                dry[i] = k[i] * wet[i];
            }
            unit(&mut wet);
            unit(&mut dry);
            if moved < 1e-9 && round > 1 {
                break;
            }
        }
        let apart: f64 = wet.iter().zip(&dry).map(|(wet, dry)| (wet - dry).abs()).sum();
        if apart < 1e-3 || apart.is_nan() {
            return Shaken::Bridged;
        }
        if share <= 0.0 {
            return Shaken::InWater;
        }
        if share >= 1.0 {
            return Shaken::InOrganic;
        }
        let parts = k.iter().map(|k| k * share / (1.0 - share + k * share));
        Shaken::Two { shares: parts.chain(passive.iter().copied()).collect(), ph: acidity }
    }

    /// ln γ with what measurements add.
    fn weigh(&self, at: &mut At<'_>, x: &[f64], logs: &mut [f64]) {
        at.ln_gamma(x, logs);
        let whole: f64 = x.iter().zip(&self.volumes).map(|(x, v)| x * v).sum();
        let water = x[0] * self.volumes[0] / whole;
        let mut all = 0.0;
        for (i, tie) in self.ties.iter().enumerate().skip(1) {
            let own = x[i] * self.volumes[i] / whole;
            let (more, wet, both) = tie.parts(water, own);
            logs[i] += self.volumes[i] / self.volumes[0] * more;
            logs[0] += wet;
            all += both;
        }
        logs.iter_mut().zip(&self.volumes).for_each(|(log, v)| *log += v / self.volumes[0] * all);
    }
}

fn unit(x: &mut [f64]) {
    let whole: f64 = x.iter().sum();
    x.iter_mut().for_each(|x| *x /= whole);
}

/// The mole fraction that the organic liquid makes up, where a value beyond 0 or 1 means that it, or the
/// water, is not there (Rachford and Rice; the negative flash of Whitson and Michelsen).
fn phases(z: &[f64], k: &[f64]) -> Result<f64, Shaken> {
    let there = || z.iter().zip(k).filter(|(z, _)| **z > 0.0);
    let most = there().map(|(_, k)| *k).fold(0.0, f64::max);
    let least = there().map(|(_, k)| *k).fold(f64::INFINITY, f64::min);
    if most.is_nan() || least.is_nan() || (most - least).abs() < 1e-9 {
        return Err(Shaken::Bridged);
    }
    if most <= 1.0 {
        return Err(Shaken::InWater);
    }
    if least >= 1.0 {
        return Err(Shaken::InOrganic);
    }
    let (mut low, mut high) = (1.0 / (1.0 - most), 1.0 / (1.0 - least));
    let mut share: f64 = if low < 0.5 && high > 0.5 { 0.5 } else { 0.5 * (low + high) };
    for _ in 0..80 {
        let (mut sum, mut slope) = (0.0, 0.0);
        for (z, k) in there() {
            let part = (k - 1.0) / (1.0 + share * (k - 1.0));
            sum += z * part;
            slope += z * part * part;
        }
        if sum > 0.0 {
            low = share
        } else {
            high = share
        }
        let mut next = share + sum / slope;
        if !(next > low && next < high) {
            next = 0.5 * (low + high);
        }
        let done = (next - share).abs() < 1e-14;
        share = next;
        if done {
            break;
        }
    }
    Ok(share)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use super::super::activity::{Groups, Tables, group};
    use super::super::close;
    use super::*;

    fn molecule(parts: &[(&str, u32)]) -> Groups {
        Groups::new(&parts.iter().map(|(name, count)| (group(Tables::Dortmund, name).unwrap(), *count)).collect::<Vec<_>>()).unwrap()
    }

    fn shaking<'a>(activity: &'a Activity, moles: &[f64], ties: &[Tie]) -> Shaking<'a> {
        Shaking {
            activity,
            temperature: 293.15,
            moles: moles.to_vec(),
            volumes: vec![18e-6, 98e-6, 58e-6][..moles.len()].to_vec(),
            ties: ties.to_vec(),
            miscible: vec![true, false, true][..moles.len()].to_vec(),
            taken: Vec::new(),
            passive: Vec::new(),
            ions: 0.0,
            strength: 0.0,
            ion_volume: 0.0,
            hydroxide: 0.0,
            protons: Vec::new(),
            in_water: Vec::new(),
        }
    }

    /// A tie makes the pair dissolve as measured; a third liquid that mixes with both makes one of them.
    #[test]
    fn ties_and_bridges() {
        let water = molecule(&[("H2O", 1)]);
        let ester = molecule(&[("CH3", 1), ("CH2", 1), ("CH3COO", 1)]);
        let ethanol = molecule(&[("CH3", 1), ("CH2", 1), ("OH (P)", 1)]);
        let pair = Activity::groups(Tables::Dortmund, &[water.clone(), ester.clone()]).unwrap();
        // Ethyl acetate: 83 g in a litre of water, 3.0 % of water in it.
        let tie = Tie::by_solubility(&mut pair.at(293.15), 2, 1, (0.08811, 98.0 / 18.0), 83.0, Some(0.03));
        let ties = [Tie::default(), tie, Tie::default()];
        let Shaken::Two { shares, .. } = shaking(&pair, &[10.0, 2.0], &ties[..2]).part() else { panic!("one liquid") };
        let grams = |moles: f64, molar: f64| moles * molar * 1e3;
        let (wet, dry) = (grams(10.0 * (1.0 - shares[0]), WATER), grams(10.0 * shares[0], WATER));
        close("g in a litre of water", grams(2.0 * (1.0 - shares[1]), 0.08811) / wet * 998.2, 83.0, 0.05);
        close("water in it", dry / (dry + grams(2.0 * shares[1], 0.08811)), 0.03, 1e-5);
        let three = Activity::groups(Tables::Dortmund, &[water, ester, ethanol]).unwrap();
        assert!(matches!(shaking(&three, &[10.0, 2.0, 0.5], &ties).part(), Shaken::Two { .. }));
        assert!(!matches!(shaking(&three, &[10.0, 2.0, 8.0], &ties).part(), Shaken::Two { .. }));
        assert_eq!(shaking(&pair, &[10.0, 0.01], &ties[..2]).part(), Shaken::InWater);
        assert_eq!(shaking(&pair, &[0.01, 2.0], &ties[..2]).part(), Shaken::InOrganic);
    }
}
