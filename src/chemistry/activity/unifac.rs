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
    /// r, the exponent's r, and q of each component.
    sizes: Vec<[f64; 3]>,
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
        Unifac { n: molecules.len(), mains, areas, sizes, interactions: pairs.collect(), names }
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
        Unifac {
            n: members().count(),
            mains: kept.len(),
            areas,
            sizes: members().map(|i| self.sizes[i]).collect(),
            interactions,
            names: kept.iter().map(|main| self.names[*main]).collect(),
        }
    }
}

/// The mixture at one temperature.
#[derive(Clone, Debug)]
pub(super) struct Warm<'a> {
    of: &'a Unifac,
    /// ψ_mn, row m.
    psi: Vec<f64>,
    /// The residual part of each component in its pure liquid.
    pure: Vec<f64>,
    /// Work space: A_m, T_m, A_m/T_m and L_m.
    surface: Vec<f64>,
    sums: Vec<f64>,
    shares: Vec<f64>,
    logs: Vec<f64>,
}

impl<'a> Warm<'a> {
    pub(super) fn new(of: &'a Unifac, t: f64) -> Warm<'a> {
        let room = vec![0.0; of.mains];
        let mut warm = Warm {
            of,
            psi: vec![1.0; of.mains * of.mains],
            pure: vec![0.0; of.n],
            surface: room.clone(),
            sums: room.clone(),
            shares: room.clone(),
            logs: room,
        };
        warm.warm_to(t);
        warm
    }

    pub(super) fn warm_to(&mut self, t: f64) {
        for (psi, pair) in self.psi.iter_mut().zip(&self.of.interactions) {
            *psi = match pair {
                Some([0.0, 0.0, 0.0]) | None => 1.0,
                Some([a, b, c]) => (-(a / t + b + c * t)).exp(),
            };
        }
        for i in 0..self.of.n {
            let own = i * self.of.mains;
            self.surface.copy_from_slice(&self.of.areas[own..own + self.of.mains]);
            self.residual();
            self.pure[i] = dot(&self.of.areas[own..own + self.of.mains], &self.logs);
        }
    }

    /// `L_m = ln Γ_m/Q_m` from the surfaces in `surface`.
    fn residual(&mut self) {
        let mains = self.of.mains;
        let whole: f64 = self.surface.iter().sum();
        for m in 0..mains {
            let mut sum = 0.0;
            for n in 0..mains {
                sum += self.surface[n] * self.psi[n * mains + m];
            }
            self.sums[m] = sum;
            self.shares[m] = self.surface[m] / sum;
        }
        for m in 0..mains {
            self.logs[m] = 1.0 - (self.sums[m] / whole).ln() - dot(&self.psi[m * mains..(m + 1) * mains], &self.shares);
        }
    }

    /// Volume, its power and surface of a mole of the mixture; what its groups do follows from their surfaces.
    fn mixed(&mut self, x: &[f64]) -> [f64; 3] {
        let Unifac { mains, ref areas, ref sizes, .. } = *self.of;
        self.surface.fill(0.0);
        let mut whole = [0.0; 3];
        for (i, (x, sizes)) in x.iter().zip(sizes).enumerate() {
            for (whole, own) in whole.iter_mut().zip(sizes) {
                *whole += x * own;
            }
            for m in 0..mains {
                self.surface[m] += x * areas[i * mains + m];
            }
        }
        self.residual();
        whole
    }

    /// `x` sums to one; both slices are as long as there are components.
    pub(super) fn ln_gamma(&mut self, x: &[f64], out: &mut [f64]) {
        let Unifac { n, mains, ref areas, ref sizes, .. } = *self.of;
        if x.len() != n || out.len() != n {
            return out.fill(f64::NAN);
        }
        let [r, bent, q] = self.mixed(x);
        for i in 0..n {
            let [own_r, own_bent, own_q] = sizes[i];
            let v = own_bent / bent;
            let over = own_r * q / (own_q * r);
            let combinatorial = 1.0 - v + v.ln() - 5.0 * own_q * (1.0 - over + over.ln());
            out[i] = combinatorial + dot(&areas[i * mains..(i + 1) * mains], &self.logs) - self.pure[i];
        }
    }

    /// `∂ ln γ_i/∂n_j` at one mole in all, row i; `x` sums to one and `out` is n × n.
    pub(super) fn slopes(&mut self, x: &[f64], out: &mut [f64]) {
        let Unifac { n, mains, ref areas, ref sizes, .. } = *self.of;
        if x.len() != n || out.len() != n * n {
            return out.fill(f64::NAN);
        }
        let [r, bent, q] = self.mixed(x);
        for j in 0..n {
            let [other_r, other_bent, other_q] = sizes[j];
            let other = &areas[j * mains..(j + 1) * mains];
            // What one more mole of j does to T_m, as a share, goes into the work space of L_m.
            for m in 0..mains {
                let change: f64 = other.iter().enumerate().map(|(k, other)| other * self.psi[k * mains + m]).sum();
                self.logs[m] = change / self.sums[m];
            }
            for i in 0..n {
                let [own_r, own_bent, own_q] = sizes[i];
                let v = own_bent / bent;
                let over = own_r * q / (own_q * r);
                let mut slope = (1.0 - v) * (1.0 - other_bent / bent) - 5.0 * own_q * (1.0 - over) * (other_q / q - other_r / r);
                for m in 0..mains {
                    let own = areas[i * mains + m];
                    if own == 0.0 {
                        continue;
                    }
                    let others = other
                        .iter()
                        .enumerate()
                        .map(|(k, other)| self.psi[m * mains + k] * (other / self.sums[k] - self.shares[k] * self.logs[k]));
                    slope += own * (other_q / q - self.logs[m] - others.sum::<f64>());
                }
                out[i * n + j] = slope;
            }
        }
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
