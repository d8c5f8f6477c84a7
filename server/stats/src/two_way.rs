//! Two-way analysis of variance of tea × taster, each cup scored once.

use super::anova::{Effect, Leftover};
use super::cannot::Cannot;
use super::sums;

/// A two-way analysis of variance without replicates.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoWay {
    /// How many scores.
    pub scores: usize,
    /// The mean of all scores.
    pub grand_mean: f64,
    /// Each tea's mean.
    pub tea_means: Vec<f64>,
    /// Each taster's mean.
    pub taster_means: Vec<f64>,
    /// Between teas, against what is left over.
    pub teas: Effect,
    /// Between tasters, who use the scale differently, against what is left over.
    pub tasters: Effect,
    /// What is left over: tasters who see the teas differently, and chance; without replicates the two can't be told
    /// apart.
    pub residual: Leftover,
}

/// The analysis of a full table; two tasters and two teas at least.
pub fn two_way(rows: &[Vec<f64>]) -> Result<TwoWay, Cannot> {
    let (tasters, teas) = sums::full_table(rows)?;
    let all = rows.concat();
    if sums::all_equal(all.iter().copied()) {
        return Err(Cannot::AllEqual);
    }
    let grand_mean = sums::mean(&all);
    let taster_means: Vec<f64> = rows.iter().map(|row| sums::mean(row)).collect();
    let tea_means: Vec<f64> = sums::columns(rows).iter().map(|column| sums::mean(column)).collect();
    let left = |row: &[f64], taster_mean: f64| -> f64 {
        row.iter()
            .zip(&tea_means)
            .map(|(score, tea)| ((score - tea) - (taster_mean - grand_mean)).powi(2))
            .sum()
    };
    let residual = rows.iter().zip(&taster_means).map(|(row, &mean)| left(row, mean)).sum();
    if sums::is_rounding(residual, &all) {
        return Err(Cannot::NothingLeft);
    }
    let about_grand = |means: &[f64]| -> f64 { means.iter().map(|m| (m - grand_mean).powi(2)).sum() };
    let residual = Leftover::new(residual, (teas - 1) * (tasters - 1));
    Ok(TwoWay {
        teas: residual.test(tasters as f64 * about_grand(&tea_means), teas - 1)?,
        tasters: residual.test(teas as f64 * about_grand(&taster_means), tasters - 1)?,
        scores: tasters * teas,
        grand_mean,
        tea_means,
        taster_means,
        residual,
    })
}

#[cfg(test)]
mod tests;
