//! Published data that several tests compute on, each with its source.

/// Holds a figure to a printed one, of whose last place `digit` is the unit.
#[track_caller]
pub(crate) fn near(found: f64, printed: f64, digit: f64) {
    assert!((found - printed).abs() <= 0.5001 * digit, "{found} is not {printed}");
}

/// Scores of one digit, a row for each taster; anything else is a gap.
pub(crate) fn table(rows: &[&str]) -> Vec<Vec<Option<f64>>> {
    rows.iter().map(|row| row.chars().map(|c| c.to_digit(10).map(f64::from)).collect()).collect()
}

/// Own data: 8 tasters × 4 teas.
pub(crate) const EIGHT_BY_FOUR: [[f64; 4]; 8] = [
    [7.0, 5.0, 6.0, 3.0],
    [8.0, 6.0, 5.0, 4.0],
    [6.0, 6.0, 7.0, 5.0],
    [9.0, 7.0, 4.0, 4.0],
    [7.0, 8.0, 5.0, 3.0],
    [6.0, 5.0, 5.0, 4.0],
    [8.0, 7.0, 6.0, 2.0],
    [7.0, 6.0, 4.0, 5.0],
];

/// Rounding first base, 22 players × 3 ways (Hollander & Wolfe, Nonparametric Statistical Methods, 1973, p. 140). Slower
/// is higher.
pub(crate) const FIRST_BASE: [[f64; 3]; 22] = [
    [5.40, 5.50, 5.55],
    [5.85, 5.70, 5.75],
    [5.20, 5.60, 5.50],
    [5.55, 5.50, 5.40],
    [5.90, 5.85, 5.70],
    [5.45, 5.55, 5.60],
    [5.40, 5.40, 5.35],
    [5.45, 5.50, 5.35],
    [5.25, 5.15, 5.00],
    [5.85, 5.80, 5.70],
    [5.25, 5.20, 5.10],
    [5.65, 5.55, 5.45],
    [5.60, 5.35, 5.45],
    [5.05, 5.00, 4.95],
    [5.50, 5.50, 5.40],
    [5.45, 5.55, 5.50],
    [5.55, 5.55, 5.35],
    [5.45, 5.50, 5.55],
    [5.50, 5.45, 5.25],
    [5.65, 5.60, 5.40],
    [5.70, 5.65, 5.55],
    [6.30, 6.30, 6.25],
];

/// Shrout & Fleiss, Intraclass correlations (Psychological Bulletin 86, 1979): six targets in rows, four judges in columns.
/// The article was not seen; what is computed of it agrees with what reports of it print.
pub(crate) const SHROUT_AND_FLEISS: [[f64; 4]; 6] = [
    [9.0, 2.0, 5.0, 8.0],
    [6.0, 1.0, 3.0, 2.0],
    [8.0, 4.0, 6.0, 8.0],
    [7.0, 1.0, 2.0, 6.0],
    [10.0, 5.0, 6.0, 9.0],
    [6.0, 2.0, 4.0, 7.0],
];

/// A worked example of a general data-analysis program's manual, kept in a public collection of mathematics texts.
pub(crate) const MANUAL: [[f64; 4]; 6] = [
    [4.04, 5.08, 2.83, 3.06],
    [4.91, 4.68, 3.17, 2.71],
    [2.94, 1.90, 1.61, 2.02],
    [5.95, 5.26, 4.85, 4.45],
    [3.90, 4.85, 2.69, 2.93],
    [5.72, 5.14, 4.39, 3.29],
];

/// ISO 8586-1:1993, annex example: assessor, sample, three scores.
pub(crate) const ISO_8586: [[[f64; 3]; 6]; 4] = [
    [[8.0, 8.0, 9.0], [6.0, 8.0, 7.0], [4.0, 5.0, 5.0], [6.0, 6.0, 5.0], [4.0, 5.0, 3.0], [5.0, 6.0, 6.0]],
    [[5.0, 8.0, 9.0], [6.0, 7.0, 4.0], [5.0, 2.0, 3.0], [6.0, 4.0, 6.0], [3.0, 2.0, 4.0], [4.0, 2.0, 7.0]],
    [[6.0, 7.0, 5.0], [5.0, 4.0, 7.0], [4.0, 3.0, 5.0], [4.0, 2.0, 4.0], [4.0, 4.0, 5.0], [5.0, 4.0, 6.0]],
    [[9.0, 8.0, 8.0], [7.0, 7.0, 6.0], [5.0, 5.0, 5.0], [6.0, 5.0, 5.0], [4.0, 5.0, 4.0], [7.0, 5.0, 7.0]],
];

/// Differences of paired plants in Darwin's maize (Wilcoxon, Biometrics Bulletin 1, 1945).
pub(crate) const MAIZE: [f64; 15] =
    [14.0, 56.0, 60.0, 16.0, 6.0, 8.0, -48.0, 49.0, 24.0, 28.0, 29.0, 41.0, -67.0, 23.0, 75.0];
