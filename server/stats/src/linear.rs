//! Small symmetric systems of equations.

/// What is left of a diagonal element is rounding below this share of it.
const ROUNDING: f64 = 1e-10;

/// Cholesky's square root L of a symmetric positive definite matrix L·Lᵀ.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Root {
    lower: Vec<Vec<f64>>,
    alike: usize,
}

impl Root {
    /// Nothing if the matrix is not positive definite, to rounding.
    pub(super) fn of(matrix: &[Vec<f64>]) -> Option<Self> {
        Self::passing_over(matrix, 0)
    }

    /// The same, where the first `free` columns may say what those before them say: such a one is passed over, and its share
    /// of any solution is zero.
    pub(super) fn passing_over(matrix: &[Vec<f64>], free: usize) -> Option<Self> {
        let n = matrix.len();
        let (mut lower, mut alike) = (vec![vec![0.0; n]; n], 0);
        for i in 0..n {
            for j in 0..i {
                lower[i][j] = (matrix[i][j] - dot(&lower[i][..j], &lower[j][..j])) / lower[j][j];
            }
            let rest = matrix[i][i] - dot(&lower[i][..i], &lower[i][..i]);
            if rest > ROUNDING * matrix[i][i] {
                lower[i][i] = rest.sqrt();
            } else if i < free && !rest.is_nan() {
                // Whatever is divided by it is zero.
                lower[i] = vec![0.0; n];
                lower[i][i] = f64::INFINITY;
                alike += 1;
            } else {
                return None;
            }
        }
        Some(Self { lower, alike })
    }

    /// How many columns were passed over.
    pub(super) fn alike(&self) -> usize {
        self.alike
    }

    /// L⁻¹ times a column. Of a least squares' totals its squares are what each column in turn takes off the sum of squares.
    pub(super) fn forward(&self, column: &[f64]) -> Vec<f64> {
        let mut found: Vec<f64> = Vec::with_capacity(column.len());
        for (row, value) in self.lower.iter().zip(column) {
            let i = found.len();
            found.push((value - dot(&row[..i], &found)) / row[i]);
        }
        found
    }

    /// L⁻ᵀ times a column; after [`Self::forward`], the solution of the equations.
    pub(super) fn back(&self, column: &[f64]) -> Vec<f64> {
        let mut found = column.to_vec();
        for i in (0..column.len()).rev() {
            found[i] /= self.lower[i][i];
            for j in 0..i {
                found[j] -= self.lower[i][j] * found[i];
            }
        }
        found
    }

    /// L times a column: of independent deviations of variance 1, deviations whose covariances are the matrix.
    pub(super) fn times(&self, column: &[f64]) -> Vec<f64> {
        self.lower.iter().map(|row| dot(row, column)).collect()
    }

    /// The natural logarithm of the determinant; none of the columns may have been passed over.
    pub(super) fn log_determinant(&self) -> f64 {
        2.0 * self.lower.iter().enumerate().map(|(i, row)| row[i].ln()).sum::<f64>()
    }

    /// The inverse of the matrix.
    pub(super) fn inverse(&self) -> Vec<Vec<f64>> {
        let n = self.lower.len();
        // The columns of L⁻¹; the inverse is L⁻ᵀ·L⁻¹.
        let column = |j: usize| {
            let mut column = vec![0.0; n];
            for (i, row) in self.lower.iter().enumerate().skip(j) {
                let unit = if i == j { 1.0 } else { 0.0 };
                column[i] = (unit - dot(&row[j..i], &column[j..i])) / row[i];
            }
            column
        };
        let columns: Vec<Vec<f64>> = (0..n).map(column).collect();
        columns.iter().map(|a| columns.iter().map(|b| dot(a, b)).collect()).collect()
    }
}

/// The inverse of a symmetric positive definite matrix, or nothing if it is not such a one, to rounding.
pub(super) fn inverse(matrix: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    Some(Root::of(matrix)?.inverse())
}

/// A·M·Aᵀ of a matrix A, by its rows, and a symmetric M: the covariances of A·v, if those of v are M.
pub(super) fn sandwich(rows: &[Vec<f64>], matrix: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let half: Vec<Vec<f64>> = rows.iter().map(|row| times(matrix, row)).collect();
    rows.iter().map(|row| half.iter().map(|half| dot(row, half)).collect()).collect()
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

    #[test]
    fn a_column_that_says_what_others_say_has_no_share() {
        let twice = [vec![2.0, 2.0, 1.0], vec![2.0, 2.0, 1.0], vec![1.0, 1.0, 3.0]];
        assert_eq!(Root::of(&twice), None);
        let root = Root::passing_over(&twice, 2).unwrap();
        let solved = root.back(&root.forward(&[3.0, 3.0, 4.0]));
        assert_eq!((root.alike(), solved[1]), (1, 0.0));
        let determinant = Root::of(&[vec![2.0, 1.0], vec![1.0, 3.0]]).unwrap().log_determinant().exp();
        assert!((determinant - 5.0).abs() < 1e-12);
        assert!((solved[0] - 1.0).abs() < 1e-12 && (solved[2] - 1.0).abs() < 1e-12, "{solved:?}");
    }

    proptest! {
        #[test]
        fn a_matrix_times_its_inverse_changes_nothing(cells in prop::collection::vec(-3i32..4, 16)) {
            let at = |i: usize, j: usize| f64::from(cells[i * 4 + j]);
            let product = |i, j| (0..4).map(|k| at(k, i) * at(k, j)).sum::<f64>() + if i == j { 1.0 } else { 0.0 };
            let matrix: Vec<Vec<f64>> = (0..4).map(|i| (0..4).map(|j| product(i, j)).collect()).collect();
            let column = [1.0, -2.0, 3.0, 0.5];
            let totals = times(&matrix, &column);
            let root = Root::of(&matrix).unwrap();
            for back in [times(&root.inverse(), &totals), root.back(&root.forward(&totals))] {
                for (a, b) in back.iter().zip(column) {
                    prop_assert!((a - b).abs() < 1e-9, "{back:?}");
                }
            }
        }
    }
}
