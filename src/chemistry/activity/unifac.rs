//! The group-contribution equations for one mixture.
//!
//! Sub-groups of one main group share their interactions, so everything is summed over main groups: with
//! `A_m = Σ_i x_i q_im` the surface that main group m has in the mixture, `T_m = Σ_n A_n ψ_nm` and
//! `ln Γ_m/Q_m = 1 − ln(T_m/A) − Σ_n A_n ψ_mn/T_n`, the residual part of component i is
//! `Σ_m q_im (ln Γ_m/Q_m − the same in pure i)`.
#![allow(clippy::indexing_slicing, reason = "a numeric kernel: all sizes are set when the mixture is made and checked on entry")]

use super::groups::{Groups, Interaction, Tables, interaction};

/// The mixture, without temperature.
#[derive(Clone, Debug)]
pub(super) struct Unifac {
    pub(super) n: usize,
    /// Main groups present.
    mains: usize,
    /// Surface of each component in each main group, component by component.
    areas: Vec<f64>,
    /// The same without those that are nothing: of each component where its own end, and each as main group and surface.
    ends: Vec<usize>,
    parts: Vec<(usize, f64)>,
    /// r, the exponent's r, and q of each component.
    sizes: Vec<[f64; 3]>,
    /// The logarithms of the exponent's r and of r/q.
    logs: Vec<[f64; 2]>,
    /// Row m, column n; a pair that no need calls for may be missing.
    interactions: Vec<Option<Interaction>>,
    /// The place of each main group in its table.
    names: Vec<usize>,
}

impl Unifac {
    /// Pairs that are not published are left missing: ask [`Self::missing`].
    pub(super) fn new(tables: Tables, molecules: &[Groups]) -> Unifac {
        let mut names: Vec<usize> = molecules.iter().flat_map(Groups::parts).map(|(group, _)| group.main()).collect();
        names.sort_unstable();
        names.dedup();
        let mains = names.len();
        let mut areas = vec![0.0; molecules.len() * mains];
        let mut sizes = Vec::with_capacity(molecules.len());
        for (molecule, areas) in molecules.iter().zip(areas.chunks_exact_mut(mains.max(1))) {
            let (mut r, mut q) = (0.0, 0.0);
            for (group, count) in molecule.parts() {
                let (volume, area) = group.size();
                let count = f64::from(*count);
                r += count * volume;
                q += count * area;
                if let Some(main) = names.iter().position(|main| *main == group.main()) {
                    areas[main] += count * area;
                }
            }
            let bent = if tables == Tables::Dortmund { r.powf(0.75) } else { r };
            sizes.push([r, bent, q]);
        }
        let pairs = names.iter().flat_map(|first| names.iter().map(|second| interaction(tables, *first, *second)));
        Unifac::of(mains, areas, sizes, pairs.collect(), names)
    }

    fn of(mains: usize, areas: Vec<f64>, sizes: Vec<[f64; 3]>, interactions: Vec<Option<Interaction>>, names: Vec<usize>) -> Unifac {
        let (mut ends, mut parts) = (Vec::with_capacity(sizes.len()), Vec::new());
        for areas in areas.chunks_exact(mains.max(1)) {
            parts.extend(areas.iter().copied().enumerate().filter(|(_, area)| *area != 0.0));
            ends.push(parts.len());
        }
        let logs = sizes.iter().map(|[r, bent, q]| [bent.ln(), (r / q).ln()]).collect();
        Unifac { n: sizes.len(), mains, areas, ends, parts, sizes, logs, interactions, names }
    }

    /// The main groups that component `i` has, each with its surface.
    fn parts(&self, i: usize) -> &[(usize, f64)] {
        let start = if i == 0 { 0 } else { self.ends[i - 1] };
        &self.parts[start..self.ends[i]]
    }

    /// The first pair of main groups, as places in their table, that component `i` beside `j` needs and nobody has published.
    pub(super) fn missing(&self, i: usize, j: usize) -> Option<(usize, usize)> {
        let holds = |component: usize, main: usize| self.areas[component * self.mains + main] > 0.0;
        for m in 0..self.mains {
            for n in 0..self.mains {
                if self.interactions[m * self.mains + n].is_none() && holds(i, m) && holds(j, n) {
                    return Some((self.names[m], self.names[n]));
                }
            }
        }
        None
    }

    /// The components at these places, in this order.
    pub(super) fn subset(&self, members: &[usize]) -> Unifac {
        let members = || members.iter().copied().filter(|member| *member < self.n);
        // Main groups that none of them has would cost time and change nothing.
        let kept: Vec<usize> = (0..self.mains).filter(|main| members().any(|i| self.areas[i * self.mains + main] > 0.0)).collect();
        let areas = members().flat_map(|i| kept.iter().map(move |main| self.areas[i * self.mains + main])).collect();
        let interactions = kept.iter().flat_map(|m| kept.iter().map(move |n| self.interactions[m * self.mains + n])).collect();
        let sizes = members().map(|i| self.sizes[i]).collect();
        Unifac::of(kept.len(), areas, sizes, interactions, kept.iter().map(|main| self.names[*main]).collect())
    }
}

/// The mixture at one temperature.
#[derive(Clone, Debug)]
pub(super) struct Warm<'a> {
    of: &'a Unifac,
    /// ψ_mn, row m.
    psi: Vec<f64>,
    /// ψ_nm, row m: sums run over whole rows of either.
    turned: Vec<f64>,
    /// The residual part of each component in its pure liquid.
    pure: Vec<f64>,
    /// Work space: A_m, T_m, A_m/T_m and L_m.
    surface: Vec<f64>,
    sums: Vec<f64>,
    shares: Vec<f64>,
    logs: Vec<f64>,
    /// Work space of slopes: how A_m/T_m changes.
    moved: Vec<f64>,
}

impl<'a> Warm<'a> {
    pub(super) fn new(of: &'a Unifac, t: f64) -> Warm<'a> {
        let room = vec![0.0; of.mains];
        let mut warm = Warm {
            of,
            psi: vec![1.0; of.mains * of.mains],
            turned: vec![1.0; of.mains * of.mains],
            pure: vec![0.0; of.n],
            surface: room.clone(),
            sums: room.clone(),
            shares: room.clone(),
            logs: room.clone(),
            moved: room,
        };
        warm.warm_to(t);
        warm
    }

    pub(super) fn warm_to(&mut self, t: f64) {
        let mains = self.of.mains;
        for (psi, pair) in self.psi.iter_mut().zip(&self.of.interactions) {
            *psi = match pair {
                Some([0.0, 0.0, 0.0]) | None => 1.0,
                Some([a, b, c]) => (-(a / t + b + c * t)).exp(),
            };
        }
        for (m, row) in self.psi.chunks_exact(mains.max(1)).enumerate() {
            for (n, psi) in row.iter().enumerate() {
                self.turned[n * mains + m] = *psi;
            }
        }
        for i in 0..self.of.n {
            self.pure[i] = self.alone(i);
        }
    }

    /// The residual part of a component in its pure liquid, which has no other groups than its own.
    fn alone(&mut self, i: usize) -> f64 {
        let (mains, parts) = (self.of.mains, self.of.parts(i));
        let whole: f64 = parts.iter().map(|(_, area)| area).sum();
        for (m, own) in parts {
            let sum = parts.iter().map(|(n, area)| area * self.psi[n * mains + m]).sum::<f64>();
            self.sums[*m] = sum;
            self.shares[*m] = own / sum;
        }
        let logs = parts.iter().map(|(m, own)| {
            let others = parts.iter().map(|(n, _)| self.psi[m * mains + n] * self.shares[*n]).sum::<f64>();
            own * (1.0 - (self.sums[*m] / whole).ln() - others)
        });
        logs.sum()
    }

    /// Volume, its power and surface of a mole of the mixture; with them go T_m and A_m/T_m.
    fn summed(&mut self, x: &[f64]) -> [f64; 3] {
        self.surface.fill(0.0);
        let mut whole = [0.0; 3];
        for (i, (x, sizes)) in x.iter().zip(&self.of.sizes).enumerate() {
            // A trial starts from a few components.
            if *x == 0.0 {
                continue;
            }
            for (whole, own) in whole.iter_mut().zip(sizes) {
                *whole += x * own;
            }
            for (m, area) in self.of.parts(i) {
                self.surface[*m] += x * area;
            }
        }
        weighed(&self.psi, &self.surface, &mut self.sums);
        for (share, (surface, sum)) in self.shares.iter_mut().zip(self.surface.iter().zip(&self.sums)) {
            *share = surface / sum;
        }
        whole
    }

    /// `x` sums to one; both slices are as long as there are components.
    pub(super) fn ln_gamma(&mut self, x: &[f64], out: &mut [f64]) {
        let of = self.of;
        if x.len() != of.n || out.len() != of.n {
            return out.fill(f64::NAN);
        }
        let [r, bent, q] = self.summed(x);
        // `L_m = ln Γ_m/Q_m`.
        weighed(&self.turned, &self.shares, &mut self.logs);
        for (log, sum) in self.logs.iter_mut().zip(&self.sums) {
            *log = 1.0 - (sum / q).ln() - *log;
        }
        let (bent_log, over_log) = (bent.ln(), (q / r).ln());
        for (i, out) in out.iter_mut().enumerate() {
            let ([own_r, own_bent, own_q], [own_bent_log, own_over_log]) = (of.sizes[i], of.logs[i]);
            let v = own_bent / bent;
            let over = own_r * q / (own_q * r);
            let combinatorial = 1.0 - v + (own_bent_log - bent_log) - 5.0 * own_q * (1.0 - over + (own_over_log + over_log));
            let residual: f64 = of.parts(i).iter().map(|(m, area)| area * self.logs[*m]).sum();
            *out = combinatorial + residual - self.pure[i];
        }
    }

    /// `∂ ln γ_i/∂n_j` at one mole in all, row i; `x` sums to one and `out` is n × n.
    pub(super) fn slopes(&mut self, x: &[f64], out: &mut [f64]) {
        let of = self.of;
        let n = of.n;
        if x.len() != n || out.len() != n * n {
            return out.fill(f64::NAN);
        }
        let [r, bent, q] = self.summed(x);
        for j in 0..n {
            let [other_r, other_bent, other_q] = of.sizes[j];
            // The surfaces are not needed any more; what one more mole of j does to T_m, as a share, takes their place.
            self.surface.fill(0.0);
            for (k, other) in of.parts(j) {
                let row = &self.psi[k * of.mains..(k + 1) * of.mains];
                self.surface.iter_mut().zip(row).for_each(|(change, psi)| *change += other * psi);
            }
            for (change, sum) in self.surface.iter_mut().zip(&self.sums) {
                *change /= sum;
            }
            // What it does to A_m/T_m.
            let mut moved = std::mem::take(&mut self.moved);
            for (moved, (share, change)) in moved.iter_mut().zip(self.shares.iter().zip(&self.surface)) {
                *moved = -share * change;
            }
            for (k, other) in of.parts(j) {
                moved[*k] += other / self.sums[*k];
            }
            weighed(&self.turned, &moved, &mut self.logs);
            self.moved = moved;
            // The slopes are those of one energy, so that i by j is j by i.
            for i in j..n {
                let [own_r, own_bent, own_q] = of.sizes[i];
                let v = own_bent / bent;
                let over = own_r * q / (own_q * r);
                let combinatorial = (1.0 - v) * (1.0 - other_bent / bent) - 5.0 * own_q * (1.0 - over) * (other_q / q - other_r / r);
                let residual: f64 = of.parts(i).iter().map(|(m, own)| own * (other_q / q - self.surface[*m] - self.logs[*m])).sum();
                out[i * n + j] = combinatorial + residual;
                out[j * n + i] = combinatorial + residual;
            }
        }
    }
}

/// The sum of the rows of a square, each as often as its weight says.
fn weighed(rows: &[f64], weights: &[f64], out: &mut [f64]) {
    out.fill(0.0);
    for (row, weight) in rows.chunks_exact(out.len().max(1)).zip(weights) {
        if *weight != 0.0 {
            out.iter_mut().zip(row).for_each(|(out, value)| *out += weight * value);
        }
    }
}
