//! Activity coefficients of liquids: the ideal liquid, group contributions, declared binary fits.
//!
//! Temperatures are in K; compositions are mole fractions (amounts in any unit do as well). Salts, mineral
//! acids and other electrolytes are outside all of it.

mod fit;
mod groups;
mod unifac;

use std::fmt;

pub use fit::Fit;
pub use groups::{GroupId, Groups, Tables, group, group_names};
use unifac::{Unifac, Warm};

/// Two main groups whose interaction nobody has published.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MissingPair {
    /// The name of one.
    pub first: &'static str,
    /// The name of the other.
    pub second: &'static str,
}

impl fmt::Display for MissingPair {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "The interaction of the groups {} and {} is not published.", self.first, self.second)
    }
}

impl std::error::Error for MissingPair {}

/// What the activity coefficients of a mixture are worked out from.
#[derive(Clone, Debug)]
pub struct Activity {
    n: usize,
    groups: Option<Unifac>,
    /// Two components, the lower place first, and the fit for them.
    fits: Vec<(usize, usize, Fit)>,
}

impl Activity {
    /// An ideal liquid of `n` components: each coefficient is one.
    pub fn ideal(n: usize) -> Activity {
        Activity { n, groups: None, fits: Vec::new() }
    }

    /// Group contributions for all components.
    ///
    /// # Errors
    ///
    /// The first pair of main groups that is needed and not published. Groups of the other table count as such.
    pub fn groups(tables: Tables, molecules: &[Groups]) -> Result<Activity, MissingPair> {
        Activity::groups_and_fits(tables, molecules, &[])
    }

    /// Group contributions, with fits for some pairs of components.
    ///
    /// # Errors
    ///
    /// As for [`Activity::groups`]; but where a pair of components has a fit, it may lack interactions. They
    /// then count as nothing both in the mixture and in what the fit replaces.
    pub fn groups_and_fits(tables: Tables, molecules: &[Groups], fits: &[(usize, usize, Fit)]) -> Result<Activity, MissingPair> {
        for (group, _) in molecules.iter().flat_map(Groups::parts) {
            if group.tables() != tables {
                return Err(MissingPair { first: group.main_name(), second: group.main_name() });
            }
        }
        let model = Unifac::new(tables, molecules);
        let n = molecules.len();
        let fitted = |i: usize, j: usize| fits.iter().any(|(a, b, _)| (*a, *b) == (i, j) || (*a, *b) == (j, i));
        for i in 0..n {
            for j in i..n {
                // What one molecule lacks in itself every pair lacks that it is in.
                let covered = if i == j { n > 1 && (0..n).all(|k| k == i || fitted(i, k)) } else { fitted(i, j) };
                if covered {
                    continue;
                }
                if let Some((first, second)) = model.missing(i, j) {
                    return Err(MissingPair { first: groups::main_name(tables, first), second: groups::main_name(tables, second) });
                }
            }
        }
        let start = Activity { n, groups: Some(model), fits: Vec::new() };
        Ok(fits.iter().fold(start, |activity, (i, j, fit)| activity.with_fit(*i, *j, *fit)))
    }

    /// The same with a fit for components `i` and `j`, which takes precedence over groups and over a fit before it.
    ///
    /// Places that are no pair of this mixture change nothing.
    #[must_use]
    pub fn with_fit(mut self, i: usize, j: usize, fit: Fit) -> Activity {
        if i != j && i.max(j) < self.n {
            let (low, high, fit) = if i < j { (i, j, fit) } else { (j, i, fit.turned()) };
            self.fits.retain(|(a, b, _)| (*a, *b) != (low, high));
            self.fits.push((low, high, fit));
        }
        self
    }

    /// Number of components.
    pub fn len(&self) -> usize {
        self.n
    }

    /// Whether there is no component at all.
    pub fn is_empty(&self) -> bool {
        self.n == 0
    }

    /// The components at these places alone, in this order; places that are none are left out.
    pub fn subset(&self, members: &[usize]) -> Activity {
        let members: Vec<usize> = members.iter().copied().filter(|member| *member < self.n).collect();
        let place = |component: usize| members.iter().position(|member| *member == component);
        let mut part = Activity { n: members.len(), groups: self.groups.as_ref().map(|groups| groups.subset(&members)), fits: Vec::new() };
        for (i, j, fit) in &self.fits {
            if let (Some(i), Some(j)) = (place(*i), place(*j)) {
                part = part.with_fit(i, j, *fit);
            }
        }
        part
    }

    /// The mixture at `t` in K: many compositions at one temperature cost little.
    pub fn at(&self, t: f64) -> At<'_> {
        let room = vec![0.0; self.n];
        At {
            of: self,
            t,
            warm: self.groups.as_ref().map(|groups| Warm::new(groups, t)),
            x: room.clone(),
            pair: room.clone(),
            pair_logs: room,
        }
    }

    /// ln γ of each component at `t` in K and the composition `x`.
    ///
    /// Not a number where `x` is no composition, or `out` not as long as there are components.
    pub fn ln_gamma(&self, t: f64, x: &[f64], out: &mut [f64]) {
        self.at(t).ln_gamma(x, out);
    }

    /// Heat of mixing in J per mole of mixture, by the change of ln γ over 0.02 K (Gibbs-Helmholtz).
    pub fn excess_enthalpy(&self, t: f64, x: &[f64]) -> f64 {
        let whole: f64 = x.iter().sum();
        let gibbs = |t: f64| -> f64 {
            let mut logs = vec![0.0; self.n];
            self.ln_gamma(t, x, &mut logs);
            logs.iter().zip(x).map(|(log, x)| if *x > 0.0 { log * x / whole } else { 0.0 }).sum()
        };
        -super::gas::R * t * t * (gibbs(t + 0.01) - gibbs(t - 0.01)) / 0.02
    }
}

/// A mixture at one temperature.
#[derive(Clone, Debug)]
pub struct At<'a> {
    of: &'a Activity,
    t: f64,
    warm: Option<Warm<'a>>,
    x: Vec<f64>,
    pair: Vec<f64>,
    pair_logs: Vec<f64>,
}

impl At<'_> {
    /// The temperature, K.
    pub fn temperature(&self) -> f64 {
        self.t
    }

    /// The same mixture at another temperature, in K.
    pub fn warm_to(&mut self, t: f64) {
        if t != self.t {
            self.t = t;
            if let Some(warm) = &mut self.warm {
                warm.warm_to(t);
            }
        }
    }

    /// ln γ of each component at the composition `x`; see [`Activity::ln_gamma`].
    pub fn ln_gamma(&mut self, x: &[f64], out: &mut [f64]) {
        let whole: f64 = x.iter().sum();
        let sound = x.len() == self.of.n && out.len() == self.of.n && whole > 0.0 && whole.is_finite() && self.t > 0.0;
        if !sound || !x.iter().all(|x| *x >= 0.0) {
            return out.fill(f64::NAN);
        }
        let mut shares = std::mem::take(&mut self.x);
        shares.iter_mut().zip(x).for_each(|(share, x)| *share = x / whole);
        self.ln_gamma_of_shares(&shares, out);
        self.x = shares;
    }

    fn ln_gamma_of_shares(&mut self, x: &[f64], out: &mut [f64]) {
        match &mut self.warm {
            Some(warm) => warm.ln_gamma(x, out),
            None => out.fill(0.0),
        }
        self.add_fits(x, out);
    }

    /// What the fit of a pair gives more than the groups for ln γ of the two alone, the first at `share`.
    fn more(&mut self, i: usize, j: usize, fit: Fit, share: f64) -> (f64, f64) {
        let (mut more_i, mut more_j) = fit.ln_gamma(self.t, share);
        if let Some(warm) = &mut self.warm {
            put_pair(&mut self.pair, i, j, share);
            warm.ln_gamma(&self.pair, &mut self.pair_logs);
            more_i -= self.pair_logs.get(i).copied().unwrap_or(0.0);
            more_j -= self.pair_logs.get(j).copied().unwrap_or(0.0);
        }
        (more_i, more_j)
    }

    /// The excess Gibbs energy of a mixture is that of the groups and, for each pair with a fit,
    /// `(n_i + n_j)²/n` times what the fit gives more for the two alone: so the two alone have exactly their fit.
    fn add_fits(&mut self, x: &[f64], out: &mut [f64]) {
        let of = self.of;
        for (i, j, fit) in &of.fits {
            let Some((share, together)) = share_of_pair(x, *i, *j) else { continue };
            let (more_i, more_j) = self.more(*i, *j, *fit, share);
            // g and its slope follow from the two by Gibbs and Duhem.
            let more = share * more_i + (1.0 - share) * more_j;
            for (place, log) in out.iter_mut().enumerate() {
                *log -= together * together * more;
                if place == *i {
                    *log += together * (more + more_i);
                } else if place == *j {
                    *log += together * (more + more_j);
                }
            }
        }
    }

    /// The slopes of what [`Self::add_fits`] adds.
    fn add_slopes_of_fits(&mut self, x: &[f64], out: &mut [f64]) {
        let of = self.of;
        let n = of.n;
        for (i, j, fit) in &of.fits {
            let Some((share, together)) = share_of_pair(x, *i, *j) else { continue };
            let (more_i, more_j) = self.more(*i, *j, *fit, share);
            let more = share * more_i + (1.0 - share) * more_j;
            let bend = self.bend_of_pair(*i, *j, *fit, share);
            for (row, slopes) in out.chunks_exact_mut(n.max(1)).enumerate() {
                for (column, slope) in slopes.iter_mut().enumerate() {
                    let in_pair = column == *i || column == *j;
                    let widened = if in_pair { 1.0 - together } else { -together };
                    // The change of the share in the pair, times what the pair is of the whole.
                    let turned = if column == *i {
                        1.0 - share
                    } else if column == *j {
                        -share
                    } else {
                        0.0
                    };
                    *slope -= 2.0 * together * widened * more + together * (more_i - more_j) * turned;
                    let (own, own_bend) = if row == *i {
                        (more_i, (1.0 - share) * bend)
                    } else if row == *j {
                        (more_j, -share * bend)
                    } else {
                        continue;
                    };
                    *slope += widened * (more + own) + turned * (more_i - more_j + own_bend);
                }
            }
        }
    }

    /// The second derivative of what [`Self::more`] adds to g/RT, by the share of the first.
    fn bend_of_pair(&mut self, i: usize, j: usize, fit: Fit, share: f64) -> f64 {
        const STEP: f64 = 1e-5;
        let (above, below) = (fit.ln_gamma(self.t, share + STEP), fit.ln_gamma(self.t, share - STEP));
        let bend = (above.0 - above.1 - below.0 + below.1) / (2.0 * STEP);
        let Some(warm) = &mut self.warm else { return bend };
        let n = self.of.n;
        put_pair(&mut self.pair, i, j, share);
        let mut slopes = vec![0.0; n * n];
        warm.slopes(&self.pair, &mut slopes);
        let slope = |row: usize, column: usize| slopes.get(row * n + column).copied().unwrap_or(0.0);
        bend - (slope(i, i) - slope(i, j) - slope(j, i) + slope(j, j))
    }

    /// `∂ ln γ_i/∂n_j` at one mole in all, row by row in `out` (n × n).
    pub fn slopes(&mut self, x: &[f64], out: &mut [f64]) {
        let n = self.of.n;
        let whole: f64 = x.iter().sum();
        if x.len() != n || out.len() != n * n || !(whole > 0.0 && whole.is_finite()) || !x.iter().all(|x| *x >= 0.0) {
            return out.fill(f64::NAN);
        }
        let mut shares = std::mem::take(&mut self.x);
        shares.iter_mut().zip(x).for_each(|(share, x)| *share = x / whole);
        match &mut self.warm {
            Some(warm) => warm.slopes(&shares, out),
            None => out.fill(0.0),
        }
        self.add_slopes_of_fits(&shares, out);
        self.x = shares;
    }
}

/// The share of the first in a pair, and what the pair is of the whole.
fn share_of_pair(x: &[f64], i: usize, j: usize) -> Option<(f64, f64)> {
    let (first, second) = (x.get(i)?, x.get(j)?);
    let together = first + second;
    (together > 0.0).then_some((first / together, together))
}

/// Makes a composition of two components alone.
fn put_pair(x: &mut [f64], i: usize, j: usize, share: f64) {
    for (place, x) in x.iter_mut().enumerate() {
        *x = if place == i {
            share
        } else if place == j {
            1.0 - share
        } else {
            0.0
        };
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::close;
    use super::*;

    fn molecule(tables: Tables, parts: &[(&str, u32)]) -> Groups {
        Groups::new(&parts.iter().map(|(name, count)| (group(tables, name).unwrap(), *count)).collect::<Vec<_>>()).unwrap()
    }

    /// Acetone and pentane at 307 K: Poling, Prausnitz and O'Connell, The Properties of Gases and Liquids,
    /// 5th ed., example 8-12, from memory.
    #[test]
    fn acetone_in_pentane() {
        let acetone = molecule(Tables::Unifac, &[("CH3", 1), ("CH3CO", 1)]);
        let pentane = molecule(Tables::Unifac, &[("CH3", 2), ("CH2", 3)]);
        let mixture = Activity::groups(Tables::Unifac, &[acetone, pentane]).unwrap();
        let mut logs = [0.0; 2];
        mixture.ln_gamma(307.0, &[0.047, 0.953], &mut logs);
        close("acetone", logs[0].exp(), 4.99, 0.005);
        close("pentane", logs[1].exp(), 1.005, 0.0005);
        assert!(mixture.excess_enthalpy(307.0, &[0.5, 0.5]) > 500.0, "mixing them takes heat up");
        mixture.ln_gamma(307.0, &[0.0, 0.0], &mut logs);
        assert!(logs.iter().all(|log| log.is_nan()));
    }

    /// Slopes against differences of ln γ itself, with and without a fit.
    #[test]
    fn slopes_are_slopes() {
        for tables in [Tables::Unifac, Tables::Dortmund] {
            let alcohol = molecule(tables, &[("CH3", 1), ("CH2", 1), (if tables == Tables::Unifac { "OH" } else { "OH (P)" }, 1)]);
            let water = molecule(tables, &[("H2O", 1)]);
            let toluene = molecule(tables, &[("ACH", 5), ("ACCH3", 1)]);
            let plain = Activity::groups(tables, &[alcohol, water, toluene]).unwrap();
            let fitted = plain.clone().with_fit(1, 0, Fit::Nrtl { a12: 0.1, a21: 0.2, b12: 400.0, b21: 30.0, alpha: 0.3 });
            for mixture in [plain, fitted] {
                let x = [0.2, 0.5, 0.3];
                let mut at = mixture.at(350.0);
                let mut slopes = [0.0; 9];
                at.slopes(&x, &mut slopes);
                for j in 0..3 {
                    let moved = |by: f64| {
                        let mut n = x;
                        n[j] += by;
                        let mut logs = [0.0; 3];
                        mixture.ln_gamma(350.0, &n, &mut logs);
                        logs
                    };
                    let (above, below) = (moved(1e-5), moved(-1e-5));
                    for i in 0..3 {
                        close("slope", slopes[3 * i + j], (above[i] - below[i]) / 2e-5, 1e-7);
                    }
                }
            }
        }
    }

    #[test]
    fn what_is_not_published_is_an_error() {
        // An alkene and a diol's own group: the pair C=C and DOH is not published.
        let alkene = molecule(Tables::Unifac, &[("CH2=CH", 1), ("CH2", 3), ("CH3", 1)]);
        let glycol = molecule(Tables::Unifac, &[("DOH", 1)]);
        let missing = Activity::groups(Tables::Unifac, &[alkene.clone(), glycol.clone()]).unwrap_err();
        assert_eq!(missing, MissingPair { first: "C=C", second: "DOH" });
        assert!(missing.to_string().contains("C=C and DOH"));
        let fit = Fit::Margules { a12: 2.0, a21: 1.5 };
        let pair = [alkene.clone(), glycol.clone()];
        let mixture = Activity::groups_and_fits(Tables::Unifac, &pair, &[(1, 0, fit)]).unwrap();
        let (mut seen, x) = ([0.0; 2], [0.3, 0.7]);
        mixture.ln_gamma(300.0, &x, &mut seen);
        let (second, first) = fit.ln_gamma(300.0, 0.7);
        close("exactly the fit", seen[0], first, 1e-12);
        close("exactly the fit", seen[1], second, 1e-12);
        assert!(Activity::groups(Tables::Dortmund, &pair).is_err(), "groups of the other table");
    }
}
