//! Small dense systems of equations, row by row in one slice.
#![allow(clippy::indexing_slicing, reason = "a numeric kernel: the sizes are checked on entry")]

/// The solution of `a x = b` in place of `b`, by elimination with the largest pivot of each column.
///
/// `None` if `a` is singular to rounding, not a number, or not as large as `b` asks.
pub(in crate::chemistry) fn solve(a: &mut [f64], b: &mut [f64]) -> Option<()> {
    let n = b.len();
    if a.len() != n * n {
        return None;
    }
    for column in 0..n {
        let pivot = (column..n).max_by(|i, j| a[i * n + column].abs().total_cmp(&a[j * n + column].abs()))?;
        let largest = a[pivot * n + column];
        if !largest.is_finite() || largest.abs() < 1e-300 {
            return None;
        }
        if pivot != column {
            for k in 0..n {
                a.swap(pivot * n + k, column * n + k);
            }
            b.swap(pivot, column);
        }
        for row in column + 1..n {
            let factor = a[row * n + column] / largest;
            if factor != 0.0 {
                for k in column..n {
                    a[row * n + k] -= factor * a[column * n + k];
                }
                b[row] -= factor * b[column];
            }
        }
    }
    for row in (0..n).rev() {
        let known: f64 = (row + 1..n).map(|k| a[row * n + k] * b[k]).sum();
        b[row] = (b[row] - known) / a[row * n + row];
    }
    b.iter().all(|value| value.is_finite()).then_some(())
}

/// The solution of `(a + shift) x = b` in place of `b`, for the first of some growing shifts of the diagonal
/// that makes the symmetric `a` positive definite: a step that leads downhill. Says whether none was needed.
pub(super) fn solve_downhill(a: &[f64], b: &mut [f64]) -> Option<bool> {
    let n = b.len();
    if a.len() != n * n {
        return None;
    }
    let mut root = vec![0.0; n * n];
    let mut shift = 0.0;
    for _ in 0..20 {
        if cholesky(a, shift, &mut root, n) {
            for row in 0..n {
                let known: f64 = (0..row).map(|k| root[row * n + k] * b[k]).sum();
                b[row] = (b[row] - known) / root[row * n + row];
            }
            for row in (0..n).rev() {
                let known: f64 = (row + 1..n).map(|k| root[k * n + row] * b[k]).sum();
                b[row] = (b[row] - known) / root[row * n + row];
            }
            return b.iter().all(|value| value.is_finite()).then_some(shift == 0.0);
        }
        shift = if shift == 0.0 { 1e-4 } else { 4.0 * shift };
    }
    None
}

/// Whether the symmetric `a` is positive definite, which costs less than its least eigenvalue.
pub(super) fn bends_upward(a: &[f64], n: usize) -> bool {
    a.len() == n * n && cholesky(a, 0.0, &mut vec![0.0; n * n], n)
}

fn cholesky(a: &[f64], shift: f64, root: &mut [f64], n: usize) -> bool {
    for row in 0..n {
        for column in 0..=row {
            let known: f64 = (0..column).map(|k| root[row * n + k] * root[column * n + k]).sum();
            let left = a[row * n + column] - known;
            if row == column {
                let diagonal = left + shift;
                if diagonal.is_nan() || diagonal <= 1e-12 {
                    return false;
                }
                root[row * n + row] = diagonal.sqrt();
            } else {
                root[row * n + column] = left / root[column * n + column];
            }
        }
    }
    true
}

/// The least eigenvalue of the symmetric `a` with its vector of length one, by Jacobi's rotations.
pub(super) fn least_eigenvalue(a: &[f64], n: usize) -> Option<(f64, Vec<f64>)> {
    if n == 0 || a.len() != n * n || !a.iter().all(|value| value.is_finite()) {
        return None;
    }
    let mut a = a.to_vec();
    let mut vectors = vec![0.0; n * n];
    (0..n).for_each(|i| vectors[i * n + i] = 1.0);
    for _ in 0..30 {
        let off: f64 = (0..n).flat_map(|i| (0..i).map(move |j| (i, j))).map(|(i, j)| a[i * n + j].powi(2)).sum();
        if off < 1e-24 {
            break;
        }
        for p in 0..n {
            for q in p + 1..n {
                if a[p * n + q] == 0.0 {
                    continue;
                }
                let theta = 0.5 * (a[q * n + q] - a[p * n + p]) / a[p * n + q];
                let t = theta.signum() / (theta.abs() + (theta * theta + 1.0).sqrt());
                let c = 1.0 / (t * t + 1.0).sqrt();
                let s = t * c;
                for k in 0..n {
                    let (kp, kq) = (a[k * n + p], a[k * n + q]);
                    (a[k * n + p], a[k * n + q]) = (c * kp - s * kq, s * kp + c * kq);
                }
                for k in 0..n {
                    let (pk, qk) = (a[p * n + k], a[q * n + k]);
                    (a[p * n + k], a[q * n + k]) = (c * pk - s * qk, s * pk + c * qk);
                    let (vp, vq) = (vectors[k * n + p], vectors[k * n + q]);
                    (vectors[k * n + p], vectors[k * n + q]) = (c * vp - s * vq, s * vp + c * vq);
                }
            }
        }
    }
    let least = (0..n).min_by(|i, j| a[i * n + i].total_cmp(&a[j * n + j]))?;
    Some((a[least * n + least], (0..n).map(|k| vectors[k * n + least]).collect()))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::super::close;
    use super::*;

    #[test]
    fn three_unknowns() {
        let a = [4.0, -2.0, 1.0, -2.0, 4.0, -2.0, 1.0, -2.0, 4.0];
        for solver in
            [|a: &[f64], b: &mut [f64]| solve(&mut a.to_vec(), b).is_some(), |a: &[f64], b: &mut [f64]| solve_downhill(a, b) == Some(true)]
        {
            let mut b = [11.0, -16.0, 17.0];
            assert!(solver(&a, &mut b));
            for (seen, wanted) in b.iter().zip([1.0, -2.0, 3.0]) {
                close("solution", *seen, wanted, 1e-12);
            }
        }
        assert!(solve(&mut [1.0, 2.0, 2.0, 4.0], &mut [1.0, 2.0]).is_none(), "singular");
        assert!(solve(&mut [f64::NAN], &mut [1.0]).is_none());
        assert!(solve(&mut [1.0], &mut [1.0, 2.0]).is_none());
        let (least, vector) = least_eigenvalue(&a, 3).unwrap();
        // The roots of the characteristic equation are 3 and (9 ± √33)/2.
        close("least", least, (9.0 - 33f64.sqrt()) / 2.0, 1e-12);
        let image: f64 = (0..3).map(|k| a[3 + k] * vector[k]).sum();
        close("its vector", image, least * vector[1], 1e-12);
        assert!(bends_upward(&a, 3) && !bends_upward(&[1.0, 2.0, 2.0, 1.0], 2) && !bends_upward(&a, 2));
        let mut b = [1.0, 0.0];
        assert_eq!(solve_downhill(&[-1.0, 0.0, 0.0, 1.0], &mut b), Some(false));
        assert!(b[0] > 0.0, "downhill though the curvature is negative");
    }
}
