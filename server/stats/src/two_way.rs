//! Two-way analysis of variance of tea × taster, each cup scored once.

use super::anova::{Effect, Leftover};
use super::cannot::Cannot;
use super::sums;

/// A two-way analysis of variance without replicates.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoWay {
    pub scores: usize,
    pub grand_mean: f64,
    pub tea_means: Vec<f64>,
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
    let means = sums::Margins::of(rows);
    if sums::is_rounding(means.apart, &all) {
        return Err(Cannot::NothingLeft);
    }
    let residual = Leftover::new(means.apart, (teas - 1) * (tasters - 1));
    Ok(TwoWay {
        teas: residual.test(tasters as f64 * means.about_grand(&means.teas), teas - 1)?,
        tasters: residual.test(teas as f64 * means.about_grand(&means.tasters), tasters - 1)?,
        scores: tasters * teas,
        grand_mean: means.grand,
        tea_means: means.teas,
        taster_means: means.tasters,
        residual,
    })
}

#[cfg(test)]
mod tests;
