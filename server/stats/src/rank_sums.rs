//! Which teas differ by their rank sums, after Friedman's test.

use super::cannot::Cannot;
use super::dist::{chance, normal_quantile, normal_upper};
use super::friedman::Friedman;
use super::studentized_range::StudentizedRange;

/// All pairs of teas by their rank sums.
#[derive(Clone, Debug, PartialEq)]
pub struct RankSumPairs {
    /// The level, for instance 0.05.
    pub level: f64,
    /// The least significant difference of two rank sums, each pair at the level by itself: z·√(n·k·(k + 1)/6) for n
    /// tasters and k teas (ISO 8587). It means something only after a significant test over all teas; with many pairs
    /// some will pass it by chance.
    pub least_significant_difference: f64,
    /// The difference that keeps the level over all pairs together: q·√(n·k·(k + 1)/12), q of the studentized range
    /// with infinite degrees of freedom (Nemenyi).
    pub family_difference: f64,
    /// Every pair once, in the order of the teas.
    pub pairs: Vec<RankSumPair>,
}

/// Two teas by their rank sums.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RankSumPair {
    /// One tea, counted from 0.
    pub first: usize,
    /// The other, after it.
    pub second: usize,
    /// First rank sum less second.
    pub difference: f64,
    /// p of this pair by itself, without regard to the others.
    pub p_alone: f64,
    /// p with all pairs looked at.
    pub p_family: f64,
}

impl RankSumPair {
    /// Whether the pair differs with all pairs looked at.
    pub fn differs(&self, level: f64) -> bool {
        self.p_family <= level
    }
}

/// All pairs of teas of a Friedman test, at a level between 0 and 1 (both excluded).
///
/// Both differences take every taster's ranks to be without ties; with ties they are a little too wide.
pub fn compare(test: &Friedman, level: f64) -> Result<RankSumPairs, Cannot> {
    chance(level)?;
    let (n, k) = (test.tasters as f64, test.teas as f64);
    let one_difference = (n * k * (k + 1.0) / 6.0).sqrt();
    let one_sum = (n * k * (k + 1.0) / 12.0).sqrt();
    let range = StudentizedRange::new(test.teas, f64::INFINITY)?;
    let mut pairs = Vec::new();
    for first in 0..test.teas {
        for second in first + 1..test.teas {
            let difference = test.rank_sums[first] - test.rank_sums[second];
            let p_alone = 2.0 * normal_upper(difference.abs() / one_difference)?;
            let p_family = range.upper(difference.abs() / one_sum)?;
            pairs.push(RankSumPair { first, second, difference, p_alone, p_family });
        }
    }
    Ok(RankSumPairs {
        level,
        least_significant_difference: normal_quantile(1.0 - level / 2.0)? * one_difference,
        family_difference: range.quantile(1.0 - level)? * one_sum,
        pairs,
    })
}

#[cfg(test)]
mod tests;
