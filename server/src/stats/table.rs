//! Checking tables, and sums that keep their accuracy.

use super::Undefined;

/// Larger scores could leave the range of f64 when squared and divided.
const LARGEST: f64 = 1e50;
/// Sums of squares below this are taken as zero, for the same reason; no scale has steps of 1e-50.
const SMALLEST: f64 = 1e-100;
/// What a sum of squares may come to by rounding alone, as a share of the squared scores: residuals of 1e-13.
const ROUNDING: f64 = 1e-26;

/// That every value can be calculated with.
pub(super) fn numbers<'a>(values: impl IntoIterator<Item = &'a f64>) -> Result<(), Undefined> {
    if values.into_iter().all(|v| v.abs() <= LARGEST) { Ok(()) } else { Err(Undefined::NotANumber) }
}

/// The numbers of tasters and teas of a rectangular table, at least so many of each.
pub(super) fn size<T>(rows: &[Vec<T>], tasters: usize, teas: usize) -> Result<(usize, usize), Undefined> {
    let columns = rows.first().map_or(0, Vec::len);
    if rows.iter().any(|row| row.len() != columns) {
        Err(Undefined::Ragged)
    } else if rows.len() < tasters {
        Err(Undefined::NeedsTasters(tasters))
    } else if columns < teas {
        Err(Undefined::NeedsTeas(teas))
    } else {
        Ok((rows.len(), columns))
    }
}

/// The arithmetic mean of at least one value. The mean of the differences from a first mean takes off its rounding.
pub(super) fn mean(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let rough = values.iter().sum::<f64>() / n;
    rough + values.iter().map(|v| v - rough).sum::<f64>() / n
}

/// The sum of squared differences from the mean, zero if it is nothing but rounding.
pub(super) fn squares(values: &[f64]) -> f64 {
    let middle = mean(values);
    unless_rounding(values.iter().map(|v| (v - middle).powi(2)).sum(), values)
}

/// A sum of squares, or zero if it is nothing but the rounding of these scores.
pub(super) fn unless_rounding<'a>(sum: f64, scores: impl IntoIterator<Item = &'a f64>) -> f64 {
    let whole: f64 = scores.into_iter().map(|v| v * v).sum();
    if sum <= (ROUNDING * whole).max(SMALLEST) { 0.0 } else { sum }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_that_are_no_tables_are_refused_with_the_reason() {
        assert_eq!(size(&[vec![1.0, 2.0], vec![1.0]], 2, 2), Err(Undefined::Ragged));
        assert_eq!(size::<f64>(&[], 2, 2), Err(Undefined::NeedsTasters(2)));
        assert_eq!(size(&[vec![1.0], vec![1.0]], 2, 2), Err(Undefined::NeedsTeas(2)));
        assert_eq!(size(&[vec![1.0, 2.0, 3.0], vec![1.0, 2.0, 3.0]], 2, 2), Ok((2, 3)));
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e200] {
            assert_eq!(numbers(&[1.0, bad]), Err(Undefined::NotANumber));
        }
    }

    #[test]
    fn rounding_is_no_spread() {
        assert_eq!(squares(&[0.1 + 0.2, 0.3, 0.3]), 0.0);
        assert_eq!(squares(&[0.0, 0.0]), 0.0);
        assert!((squares(&[0.3, 0.3, 0.300_001]) - 6.666_667e-13).abs() < 1e-17);
    }
}
