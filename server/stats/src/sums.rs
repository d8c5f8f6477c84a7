//! Sums, means and sums of squares that keep their digits, and the shape of a table.

use super::cannot::Cannot;

/// The mean of finite values, at least one: the mean of what is left after a first mean takes off that one's rounding.
pub(super) fn mean(values: &[f64]) -> f64 {
    let count = values.len() as f64;
    let rough = values.iter().sum::<f64>() / count;
    rough + values.iter().map(|v| v - rough).sum::<f64>() / count
}

/// The sum of squared distances from the mean, in two passes: Σx² − (Σx)²/n would lose all digits where large numbers
/// differ little.
pub(super) fn squares_about_mean(values: &[f64]) -> f64 {
    let mean = mean(values);
    values.iter().map(|v| (v - mean).powi(2)).sum()
}

/// Larger scores could leave the range of `f64` when squared, added up and divided.
const LARGEST: f64 = 1e50;
/// Sums of squares below this are taken as zero, for the same reason; no scale has steps of 1e-50.
const SMALLEST: f64 = 1e-100;
/// What rounding may leave of a difference, as a share of the largest score.
const ROUNDING: f64 = 32.0 * f64::EPSILON;

/// Whether a sum of squares over some scores is no more than what rounding leaves of nothing.
pub(super) fn is_rounding<'a>(sum: f64, scores: impl IntoIterator<Item = &'a f64>) -> bool {
    let (count, largest) =
        scores.into_iter().fold((0.0, 0.0), |(n, largest): (f64, f64), v| (n + 1.0, largest.max(v.abs())));
    sum <= (count * (ROUNDING * largest).powi(2)).max(SMALLEST)
}

/// A sum of squares, or zero if it is nothing but the rounding of these scores.
pub(super) fn unless_rounding<'a>(sum: f64, scores: impl IntoIterator<Item = &'a f64>) -> f64 {
    if is_rounding(sum, scores) { 0.0 } else { sum }
}

/// The sum of squared distances from the mean, zero if it is nothing but rounding.
pub(super) fn squares(values: &[f64]) -> f64 {
    unless_rounding(squares_about_mean(values), values)
}

/// All values are finite numbers that can be squared and added up.
pub(super) fn finite<'a>(values: impl IntoIterator<Item = &'a f64>) -> Result<(), Cannot> {
    if values.into_iter().all(|v| v.abs() <= LARGEST) { Ok(()) } else { Err(Cannot::NotFinite) }
}

/// All values are one and the same; also when there is none.
pub(super) fn all_equal(values: impl IntoIterator<Item = f64>) -> bool {
    let mut values = values.into_iter();
    let Some(first) = values.next() else { return true };
    values.all(|v| v == first)
}

/// The numbers of tasters and teas of a rectangular table, at least these numbers of each.
pub(super) fn size<T>(rows: &[Vec<T>], tasters: usize, teas: usize) -> Result<(usize, usize), Cannot> {
    let columns = rows.first().map_or(0, Vec::len);
    if rows.iter().any(|row| row.len() != columns) {
        Err(Cannot::Uneven)
    } else if rows.len() < tasters {
        Err(Cannot::Tasters(tasters))
    } else if columns < teas {
        Err(Cannot::Teas(teas))
    } else {
        Ok((rows.len(), columns))
    }
}

/// How many tasters and teas a full table of finite scores has; two of each at least.
pub(super) fn full_table(rows: &[Vec<f64>]) -> Result<(usize, usize), Cannot> {
    finite(rows.iter().flatten())?;
    size(rows, 2, 2)
}

/// The scores of each tea.
pub(super) fn columns(rows: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let teas = rows.first().map_or(0, Vec::len);
    (0..teas).map(|tea| rows.iter().map(|row| row[tea]).collect()).collect()
}

/// The means of a full table, and what they leave of its cells.
pub(super) struct Margins {
    pub(super) grand: f64,
    pub(super) tasters: Vec<f64>,
    pub(super) teas: Vec<f64>,
    /// The sum of squares that neither a taster's level nor a tea's explains.
    pub(super) apart: f64,
}

impl Margins {
    pub(super) fn of(rows: &[Vec<f64>]) -> Self {
        let grand = mean(&rows.concat());
        let tasters: Vec<f64> = rows.iter().map(|row| mean(row)).collect();
        let teas: Vec<f64> = columns(rows).iter().map(|column| mean(column)).collect();
        let of_taster = |(row, taster): (&Vec<f64>, &f64)| -> f64 {
            row.iter().zip(&teas).map(|(cell, tea)| ((cell - tea) - (taster - grand)).powi(2)).sum()
        };
        let apart = rows.iter().zip(&tasters).map(of_taster).sum();
        Self { grand, tasters, teas, apart }
    }

    /// The sum of squares of some means about the grand mean.
    pub(super) fn about_grand(&self, means: &[f64]) -> f64 {
        means.iter().map(|mean| (mean - self.grand).powi(2)).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_number_is_refused() {
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e200] {
            assert_eq!(finite(&[1.0, bad]), Err(Cannot::NotFinite));
        }
    }

    #[test]
    fn rounding_is_no_spread() {
        assert_eq!(squares(&[0.1 + 0.2, 0.3, 0.3]), 0.0);
        assert_eq!(squares(&[0.0, 0.0]), 0.0);
        assert!((squares(&[0.3, 0.3, 0.300_001]) - 6.666_667e-13).abs() < 1e-17);
    }

    #[test]
    fn tables_that_are_no_tables_are_refused_with_the_reason() {
        assert_eq!(size(&[vec![1.0, 2.0], vec![1.0]], 2, 2), Err(Cannot::Uneven));
        assert_eq!(size::<f64>(&[], 2, 2), Err(Cannot::Tasters(2)));
        assert_eq!(size(&[vec![1.0], vec![1.0]], 2, 2), Err(Cannot::Teas(2)));
        assert_eq!(size(&[vec![1.0, 2.0, 3.0], vec![1.0, 2.0, 3.0]], 2, 2), Ok((2, 3)));
    }
}
