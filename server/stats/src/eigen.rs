//! The directions in which a symmetric matrix only stretches.

use super::linear::dot;

/// Sweeps at most; a handful is enough for any small matrix.
const SWEEPS: usize = 60;

/// One direction of a symmetric matrix.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// How much it stretches: the eigenvalue.
    pub value: f64,
    /// The direction, of length 1; its largest part is positive.
    pub direction: Vec<f64>,
}

/// The eigenvalues and eigenvectors of a symmetric matrix of finite numbers, the largest eigenvalue first, by Jacobi's rotations.
pub(super) fn axes(matrix: &[Vec<f64>]) -> Vec<Axis> {
    let n = matrix.len();
    let mut rest = matrix.to_vec();
    let mut directions: Vec<Vec<f64>> =
        (0..n).map(|i| (0..n).map(|j| f64::from(u8::from(i == j))).collect()).collect();
    let pairs: Vec<(usize, usize)> = (0..n).flat_map(|i| (0..i).map(move |j| (j, i))).collect();
    for _ in 0..SWEEPS {
        if pairs.iter().all(|&(i, j)| rest[i][j] == 0.0) {
            break;
        }
        for &(i, j) in &pairs {
            if rest[i][j] != 0.0 {
                turn(&mut rest, &mut directions, i, j);
            }
        }
    }
    let mut axes: Vec<Axis> =
        directions.into_iter().enumerate().map(|(i, direction)| Axis::new(rest[i][i], direction)).collect();
    axes.sort_by(|a, b| b.value.total_cmp(&a.value));
    axes
}

impl Axis {
    fn new(value: f64, mut direction: Vec<f64>) -> Self {
        let length = dot(&direction, &direction).sqrt();
        let largest = direction.iter().copied().max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(1.0);
        direction.iter_mut().for_each(|part| *part /= length.copysign(largest));
        Self { value, direction }
    }
}

/// Turns the axes `i` and `j` so that their cross element is gone.
fn turn(rest: &mut [Vec<f64>], directions: &mut [Vec<f64>], i: usize, j: usize) {
    let cross = rest[i][j];
    let slant = (rest[j][j] - rest[i][i]) / (2.0 * cross);
    let tangent = 1.0_f64.copysign(slant) / (slant.abs() + slant.hypot(1.0));
    let cosine = 1.0 / tangent.hypot(1.0);
    let sine = tangent * cosine;
    for row in rest.iter_mut() {
        (row[i], row[j]) = (cosine * row[i] - sine * row[j], sine * row[i] + cosine * row[j]);
    }
    for k in 0..rest.len() {
        let (a, b) = (rest[i][k], rest[j][k]);
        (rest[i][k], rest[j][k]) = (cosine * a - sine * b, sine * a + cosine * b);
        let (a, b) = (directions[i][k], directions[j][k]);
        (directions[i][k], directions[j][k]) = (cosine * a - sine * b, sine * a + cosine * b);
    }
    (rest[i][j], rest[j][i]) = (0.0, 0.0);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::linear::times;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn along_an_axis_a_matrix_only_stretches(cells in prop::collection::vec(-4i32..5, 16), n in 1usize..5) {
            let at = |i: usize, j: usize| f64::from(cells[i.min(j) * 4 + i.max(j)]);
            let matrix: Vec<Vec<f64>> = (0..n).map(|i| (0..n).map(|j| at(i, j)).collect()).collect();
            let found = axes(&matrix);
            prop_assert!(found.is_sorted_by(|a, b| a.value >= b.value));
            for (k, axis) in found.iter().enumerate() {
                for (stretched, part) in times(&matrix, &axis.direction).iter().zip(&axis.direction) {
                    prop_assert!((stretched - axis.value * part).abs() < 1e-10, "{found:?}");
                }
                for (l, other) in found.iter().enumerate() {
                    let unit = if k == l { 1.0 } else { 0.0 };
                    prop_assert!((dot(&axis.direction, &other.direction) - unit).abs() < 1e-12, "{found:?}");
                }
            }
        }
    }
}
