//! Systems of equations in which each unknown meets only those near it.
#![allow(clippy::indexing_slicing, reason = "a numeric kernel: the sizes are checked on entry")]

/// A square matrix with entries only within `reach` of its diagonal, taken apart into two triangles by elimination
/// with the largest pivot of each column, so that it solves for many right-hand sides.
#[derive(Clone, Debug)]
pub(super) struct Banded {
    /// Row by row, of each the columns from `reach` before its diagonal to twice that behind it, since exchanged rows
    /// reach further.
    rows: Vec<f64>,
    /// Which row each was exchanged with.
    pivots: Vec<usize>,
    size: usize,
    reach: usize,
}

impl Banded {
    /// A matrix of nothing but zeros, to be filled by [`Self::add`] and then taken apart.
    pub(super) fn zeros(size: usize, reach: usize) -> Banded {
        Banded { rows: vec![0.0; size * (3 * reach + 1)], pivots: Vec::new(), size, reach }
    }

    fn place(&self, row: usize, column: usize) -> usize {
        row * (3 * self.reach + 1) + column + self.reach - row
    }

    /// Adds to an entry; what lies outside of the band is left out.
    pub(super) fn add(&mut self, row: usize, column: usize, value: f64) {
        if row.max(column) < self.size && row.abs_diff(column) <= self.reach {
            let place = self.place(row, column);
            self.rows[place] += value;
        }
    }

    /// Takes it apart; `None` if it is singular to rounding or holds what is no number.
    pub(super) fn apart(mut self) -> Option<Banded> {
        for column in 0..self.size {
            let last = (column + self.reach).min(self.size - 1);
            let end = (column + 2 * self.reach).min(self.size - 1);
            let size = |row: usize| self.rows[self.place(row, column)].abs();
            let pivot = (column..=last).max_by(|a, b| size(*a).total_cmp(&size(*b)))?;
            let largest = self.rows[self.place(pivot, column)];
            if !largest.is_finite() || largest.abs() < 1e-300 {
                return None;
            }
            self.pivots.push(pivot);
            if pivot != column {
                for k in column..=end {
                    let (a, b) = (self.place(pivot, k), self.place(column, k));
                    self.rows.swap(a, b);
                }
            }
            for row in column + 1..=last {
                let at = self.place(row, column);
                let factor = self.rows[at] / largest;
                self.rows[at] = factor;
                if factor != 0.0 {
                    for k in column + 1..=end {
                        let (to, from) = (self.place(row, k), self.place(column, k));
                        self.rows[to] -= factor * self.rows[from];
                    }
                }
            }
        }
        Some(self)
    }

    /// The solution in place of `b`, once it is taken apart; `None` where `b` does not fit or none is found.
    pub(super) fn solve(&self, b: &mut [f64]) -> Option<()> {
        if b.len() != self.size || self.pivots.len() != self.size {
            return None;
        }
        for (column, pivot) in self.pivots.iter().enumerate() {
            b.swap(column, *pivot);
            for row in column + 1..=(column + self.reach).min(self.size - 1) {
                b[row] -= self.rows[self.place(row, column)] * b[column];
            }
        }
        for row in (0..self.size).rev() {
            let end = (row + 2 * self.reach).min(self.size - 1);
            let known: f64 = (row + 1..=end).map(|k| self.rows[self.place(row, k)] * b[k]).sum();
            b[row] = (b[row] - known) / self.rows[self.place(row, row)];
        }
        b.iter().all(|value| value.is_finite()).then_some(())
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::super::close;
    use super::*;

    #[test]
    fn it_solves_what_was_multiplied() {
        // Entries without order, with zeros on the diagonal so that rows must be exchanged.
        let (size, reach) = (23, 3);
        let entry = |row: usize, column: usize| {
            if row == column && row.is_multiple_of(4) { 0.0 } else { ((7 * row + 13 * column) % 11) as f64 - 4.0 }
        };
        let wanted: Vec<f64> = (0..size).map(|row| 1.0 + row as f64).collect();
        let mut matrix = Banded::zeros(size, reach);
        let mut b = vec![0.0; size];
        for (row, b) in b.iter_mut().enumerate() {
            for (column, wanted) in wanted.iter().enumerate() {
                matrix.add(row, column, entry(row, column));
                if row.abs_diff(column) <= reach {
                    *b += entry(row, column) * wanted;
                }
            }
        }
        let apart = matrix.apart().unwrap();
        for _ in 0..2 {
            let mut found = b.clone();
            apart.solve(&mut found).unwrap();
            for (found, wanted) in found.iter().zip(&wanted) {
                close("solution", *found, *wanted, 1e-9);
            }
        }
        assert!(apart.solve(&mut [1.0]).is_none());
        assert!(Banded::zeros(3, 1).apart().is_none(), "singular");
        assert!(Banded::zeros(3, 1).solve(&mut [1.0, 1.0, 1.0]).is_none(), "not taken apart");
    }
}
