//! All pairs of teas at once (Tukey's honestly significant differences).

use super::Interval;
use super::cannot::Cannot;
use super::studentized_range::StudentizedRange;
use super::two_way::TwoWay;

/// All pairs of means, with one level for all of them together.
#[derive(Clone, Debug, PartialEq)]
pub struct Tukey {
    /// Degrees of freedom of the spread that the pairs are measured against.
    pub df: usize,
    /// The chance that all intervals together hold their true differences.
    pub confidence: f64,
    /// The studentized range's quantile for these means, degrees of freedom and confidence.
    pub q_critical: f64,
    /// Every pair once, in the order of the means.
    pub pairs: Vec<Pair>,
}

/// Two means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// One of them, counted from 0.
    pub first: usize,
    /// The other, after it.
    pub second: usize,
    /// First mean less second.
    pub difference: f64,
    /// The standard error of the difference.
    pub standard_error: f64,
    /// The difference's interval, simultaneous for all pairs.
    pub interval: Interval,
    /// √2 · |difference| / standard error.
    pub q: f64,
    /// p with all pairs looked at.
    pub p: f64,
    /// Whether the interval leaves out 0.
    pub differs: bool,
}

/// Tea means of a two-way analysis, against what it leaves over.
pub fn of_two_way(found: &TwoWay, confidence: f64) -> Result<Tukey, Cannot> {
    let one = found.residual.mean_square / found.taster_means.len() as f64;
    pairs(&found.tea_means, found.residual.df, confidence, |_, _| (2.0 * one).sqrt())
}

/// All pairs of two means or more. `standard_error` of the difference of the means at two places must be above 0; where
/// it is not the same for all pairs the level is held about, and not exactly (Tukey–Kramer).
pub fn pairs(
    means: &[f64],
    df: usize,
    confidence: f64,
    standard_error: impl Fn(usize, usize) -> f64,
) -> Result<Tukey, Cannot> {
    if means.len() < 2 {
        return Err(Cannot::Teas(2));
    }
    if df == 0 {
        return Err(Cannot::NoFreedom);
    }
    let range = StudentizedRange::new(means.len(), df as f64)?;
    let q_critical = range.quantile(confidence)?;
    let mut pairs = Vec::new();
    for first in 0..means.len() {
        for second in first + 1..means.len() {
            let (difference, standard_error) = (means[first] - means[second], standard_error(first, second));
            if !difference.is_finite() || !standard_error.is_finite() {
                return Err(Cannot::NotFinite);
            }
            if standard_error <= 0.0 {
                return Err(Cannot::NoSpread);
            }
            let reach = q_critical * standard_error / std::f64::consts::SQRT_2;
            let q = difference.abs() / standard_error * std::f64::consts::SQRT_2;
            let interval = Interval { low: difference - reach, high: difference + reach, confidence };
            let (p, differs) = (range.upper(q)?, q > q_critical);
            pairs.push(Pair { first, second, difference, standard_error, interval, q, p, differs });
        }
    }
    Ok(Tukey { df, confidence, q_critical, pairs })
}

#[cfg(test)]
mod tests;
