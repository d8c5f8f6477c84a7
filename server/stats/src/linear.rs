//! Small symmetric systems of equations.

/// The inverse of a symmetric positive definite matrix by Cholesky's square root, or nothing if it is not such a one,
/// to rounding.
pub(super) fn inverse(matrix: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let n = matrix.len();
    let mut lower = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let rest: f64 = matrix[i][j] - dot(&lower[i][..j], &lower[j][..j]);
            if i == j && (rest.is_nan() || rest <= 1e-10 * matrix[i][i]) {
                return None;
            }
            lower[i][j] = if i == j { rest.sqrt() } else { rest / lower[j][j] };
        }
    }
    // The columns of L⁻¹; the inverse is L⁻ᵀ·L⁻¹.
    let column = |j: usize| {
        let mut column = vec![0.0; n];
        for (i, row) in lower.iter().enumerate().skip(j) {
            let unit = if i == j { 1.0 } else { 0.0 };
            column[i] = (unit - dot(&row[j..i], &column[j..i])) / row[i];
        }
        column
    };
    let columns: Vec<Vec<f64>> = (0..n).map(column).collect();
    Some(columns.iter().map(|a| columns.iter().map(|b| dot(a, b)).collect()).collect())
}

/// A matrix times a column.
pub(super) fn times(matrix: &[Vec<f64>], column: &[f64]) -> Vec<f64> {
    matrix.iter().map(|row| dot(row, column)).collect()
}

/// The sum of products.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_has_no_inverse_gives_none() {
        assert_eq!(inverse(&[vec![1.0, 1.0], vec![1.0, 1.0]]), None);
        assert_eq!(inverse(&[vec![0.0]]), None);
        assert_eq!(inverse(&[vec![f64::NAN]]), None);
    }

    proptest! {
        #[test]
        fn a_matrix_times_its_inverse_changes_nothing(cells in prop::collection::vec(-3i32..4, 16)) {
            let at = |i: usize, j: usize| f64::from(cells[i * 4 + j]);
            let product = |i, j| (0..4).map(|k| at(k, i) * at(k, j)).sum::<f64>() + if i == j { 1.0 } else { 0.0 };
            let matrix: Vec<Vec<f64>> = (0..4).map(|i| (0..4).map(|j| product(i, j)).collect()).collect();
            let column = [1.0, -2.0, 3.0, 0.5];
            let back = times(&inverse(&matrix).unwrap(), &times(&matrix, &column));
            for (a, b) in back.iter().zip(column) {
                prop_assert!((a - b).abs() < 1e-9, "{back:?}");
            }
        }
    }
}
