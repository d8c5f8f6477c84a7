//! Means on a scale, row under row: what is called how, its scores, its mean and its letters.

use super::{GAP, NAME, set};
use crate::text::charts::Scale;
use stats::say::signed;
use unicode_width::UnicodeWidthStr;

/// The columns of a mean and of what is around it.
const MEAN: usize = 6;

/// One row.
pub(in crate::text) struct Row<'a> {
    /// What it is called.
    pub(in crate::text) called: String,
    /// The scores behind the mean, as far as they are drawn.
    pub(in crate::text) scores: &'a [f64],
    /// The mean.
    pub(in crate::text) mean: f64,
    /// Its letters.
    pub(in crate::text) letters: &'a str,
}

/// The rows under the axis of a scale with these ends, `name` above what they are called.
pub(in crate::text) fn picture(name: &str, ends: (f64, f64), rows: &[Row<'_>], width: usize) -> Vec<String> {
    let letters = rows.iter().map(|row| row.letters.len()).max().unwrap_or(0);
    let head = name.to_uppercase();
    let columns = called(rows.iter().map(|row| row.called.as_str()))
        .max(head.width().min(NAME).saturating_sub(GAP.len()));
    let scale = Scale::new(ends.0, ends.1, width - 3 * GAP.len() - columns - MEAN - letters);
    let axis = format!("{}{GAP}{}", set(&head, columns + GAP.len()), scale.axis());
    let drawn = scale.columns() + columns + 2 * GAP.len();
    let row = |row: &Row<'_>| {
        let (called, drawn) = (set(&row.called, columns), scale.dots_and_mean(row.scores, row.mean));
        format!("{GAP}{called}{GAP}{drawn}{:>5} {}", signed(row.mean), row.letters)
    };
    let lines = std::iter::once(format!("{axis:drawn$} mean")).chain(rows.iter().map(row));
    lines.map(|line| line.trim_end().to_string()).collect()
}

/// How wide what rows are called is, at most.
pub(in crate::text) fn called<'a>(names: impl Iterator<Item = &'a str>) -> usize {
    names.map(|name| name.width()).max().unwrap_or(0).min(NAME)
}
