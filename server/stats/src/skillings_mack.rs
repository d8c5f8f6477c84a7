//! The Skillings–Mack test: Friedman's question where scores are missing.

use super::cannot::Cannot;
use super::dist::chi_squared_upper;
use super::incomplete::linked;
use super::linear::{dot, inverse, times};
use super::ranks::midranks;

/// What the Skillings–Mack test found.
#[derive(Clone, Debug, PartialEq)]
pub struct SkillingsMack {
    /// How many tasters scored two teas at least; the others say nothing about differences and are left out.
    pub tasters: usize,
    pub teas: usize,
    /// How many scores count.
    pub scores: usize,
    /// Each tea's weighted sum of ranks about their middle: above 0 for a tea that is mostly scored above others.
    pub weighted_sums: Vec<f64>,
    /// Whether some taster scored two teas alike; the statistic is then a little too small.
    pub tied: bool,
    /// The statistic; without gaps and ties it is Friedman's.
    pub chi_squared: f64,
    /// Its degrees of freedom, teas − 1.
    pub df: usize,
    /// Its p by the chi-squared distribution.
    pub p: f64,
}

/// The test of a table that may have gaps; two tasters with two teas at least, and all teas linked through tasters.
///
/// Skillings & Mack, On the use of a Friedman-type statistic in balanced and unbalanced block designs, Technometrics 23,
/// 1981; mean ranks where a taster's scores tie.
pub fn skillings_mack(rows: &[Vec<Option<f64>>]) -> Result<SkillingsMack, Cannot> {
    let (tasters, teas) = linked(rows, 2)?;
    let mut sums = vec![0.0; teas];
    let mut covariance = vec![vec![0.0; teas]; teas];
    let (mut tied, mut ranked_apart) = (false, false);
    for taster in &tasters {
        let (count, ranked) = (taster.teas.len() as f64, midranks(&taster.scores));
        tied |= ranked.ties > 0.0;
        ranked_apart |= ranked.ties < count * count * count - count;
        let weight = (12.0 / (count + 1.0)).sqrt();
        for (&tea, rank) in taster.teas.iter().zip(&ranked.ranks) {
            sums[tea] += weight * (rank - (count + 1.0) / 2.0);
            for &other in taster.teas.iter().filter(|&&other| other != tea) {
                covariance[tea][tea] += 1.0;
                covariance[tea][other] -= 1.0;
            }
        }
    }
    if !ranked_apart {
        return Err(Cannot::AllTied);
    }
    // The sums add up to 0, so the last says nothing new; without it the covariance has an inverse.
    let free = teas - 1;
    covariance.truncate(free);
    covariance.iter_mut().for_each(|row| row.truncate(free));
    let inverse = inverse(&covariance).ok_or(Cannot::Disconnected)?;
    let chi_squared = dot(&sums[..free], &times(&inverse, &sums[..free])).max(0.0);
    Ok(SkillingsMack {
        tasters: tasters.len(),
        teas,
        scores: tasters.iter().map(|t| t.teas.len()).sum(),
        weighted_sums: sums,
        tied,
        chi_squared,
        df: free,
        p: chi_squared_upper(chi_squared, free as f64)?,
    })
}

#[cfg(test)]
mod tests;
