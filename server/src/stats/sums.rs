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

/// Whether a sum of squares over some values is no more than what rounding leaves of nothing.
pub(super) fn is_rounding(squares: f64, values: impl Iterator<Item = f64>) -> bool {
    let (count, largest) =
        values.fold((0.0, 0.0), |(n, largest): (f64, f64), v| (n + 1.0, largest.max(v.abs())));
    squares <= count * (32.0 * f64::EPSILON * largest).powi(2)
}

/// Values beyond this could leave the range of `f64` once they are squared and added up.
const LARGEST: f64 = 1e100;

/// All values are finite numbers that can be squared and added up.
pub(super) fn finite(values: &[f64]) -> Result<(), Cannot> {
    if values.iter().all(|v| v.abs() <= LARGEST) { Ok(()) } else { Err(Cannot::NotFinite) }
}

/// All values are one and the same; also when there is none.
pub(super) fn all_equal(values: impl IntoIterator<Item = f64>) -> bool {
    let mut values = values.into_iter();
    let Some(first) = values.next() else { return true };
    values.all(|v| v == first)
}

/// How many tasters and teas a full table of finite scores has; two of each at least.
pub(super) fn full_table(rows: &[Vec<f64>]) -> Result<(usize, usize), Cannot> {
    let teas = rows.first().map_or(0, Vec::len);
    if rows.iter().any(|row| row.len() != teas) {
        return Err(Cannot::Uneven);
    }
    rows.iter().try_for_each(|row| finite(row))?;
    match (rows.len(), teas) {
        (0 | 1, _) => Err(Cannot::Tasters(2)),
        (_, 0 | 1) => Err(Cannot::Teas(2)),
        size => Ok(size),
    }
}

/// The scores of each tea.
pub(super) fn columns(rows: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let teas = rows.first().map_or(0, Vec::len);
    (0..teas).map(|tea| rows.iter().map(|row| row[tea]).collect()).collect()
}
