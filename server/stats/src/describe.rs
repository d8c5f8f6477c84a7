//! Describing a handful of scores, and how far their mean can be trusted.

use super::Interval;
use super::cannot::Cannot;
use super::dist::{chance, t_quantile};
use super::sums;
use schemars::JsonSchema;
use serde::Serialize;

/// The figures of some scores.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "PooledFigures")]
pub struct Description {
    /// How many scores.
    pub n: usize,
    /// Arithmetic mean.
    pub mean: f64,
    /// Standard deviation of a sample (divisor n − 1); `null` for a single score.
    pub sd: Option<f64>,
    /// The lowest score.
    pub min: f64,
    /// A quarter of the way through the scores in order.
    pub lower_quartile: f64,
    /// The middle score, or halfway between the two middle ones.
    pub median: f64,
    /// Three quarters of the way through the scores in order.
    pub upper_quartile: f64,
    /// The highest score.
    pub max: f64,
}

/// A mean with its t interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeanInterval {
    pub n: usize,
    pub mean: f64,
    /// Their standard deviation (divisor n − 1).
    pub sd: f64,
    /// The standard error of the mean, sd / √n.
    pub standard_error: f64,
    /// Degrees of freedom, n − 1.
    pub df: usize,
    /// Mean ± t · standard error.
    pub interval: Interval,
}

/// The figures of `values` in any order; one at least.
///
/// Quartiles are interpolated straight between the scores in order, at (n − 1)·¼ and (n − 1)·¾ counted from 0
/// (definition 7 of Hyndman & Fan, Sample quantiles in statistical packages, The American Statistician 50, 1996).
pub fn describe(values: &[f64]) -> Result<Description, Cannot> {
    sums::finite(values)?;
    let mut ordered = values.to_vec();
    ordered.sort_by(f64::total_cmp);
    let (Some(&min), Some(&max)) = (ordered.first(), ordered.last()) else { return Err(Cannot::Scores(1)) };
    let n = ordered.len();
    let quantile = |quarters: usize| {
        let place = (n - 1) * quarters;
        let (whole, rest) = (place / 4, (place % 4) as f64 / 4.0);
        ordered[whole] + (ordered[(whole + 1).min(n - 1)] - ordered[whole]) * rest
    };
    Ok(Description {
        n,
        mean: sums::mean(&ordered),
        sd: (n > 1).then(|| (sums::squares_about_mean(&ordered) / (n - 1) as f64).sqrt()),
        min,
        lower_quartile: quantile(1),
        median: quantile(2),
        upper_quartile: quantile(3),
        max,
    })
}

/// The mean of two scores or more, and its two-sided t interval with this confidence (0 to 1, both excluded).
pub fn mean_interval(values: &[f64], confidence: f64) -> Result<MeanInterval, Cannot> {
    chance(confidence)?;
    sums::finite(values)?;
    if values.len() < 2 {
        return Err(Cannot::Scores(2));
    }
    let squares = sums::squares_about_mean(values);
    if sums::is_rounding(squares, values) {
        return Err(Cannot::NoSpread);
    }
    let (n, df, mean) = (values.len(), values.len() - 1, sums::mean(values));
    let sd = (squares / df as f64).sqrt();
    let standard_error = sd / (n as f64).sqrt();
    let reach = t_quantile((1.0 + confidence) / 2.0, df as f64)? * standard_error;
    let interval = Interval { low: mean - reach, high: mean + reach, confidence };
    Ok(MeanInterval { n, mean, sd, standard_error, df, interval })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn quartiles_lie_between_the_scores_in_order() {
        let five = describe(&[9.0, 1.0, 3.0, 7.0, 5.0]).unwrap();
        assert_eq!((five.lower_quartile, five.median, five.upper_quartile), (3.0, 5.0, 7.0));
        let four = describe(&[1.0, 2.0, 4.0, 8.0]).unwrap();
        assert_eq!((four.lower_quartile, four.median, four.upper_quartile), (1.75, 3.0, 5.0));
        let one = describe(&[6.0]).unwrap();
        assert_eq!((one.lower_quartile, one.median, one.upper_quartile, one.sd), (6.0, 6.0, 6.0, None));
    }

    #[test]
    fn too_few_scores_are_said_in_words() {
        assert_eq!(describe(&[]), Err(Cannot::Scores(1)));
        assert_eq!(describe(&[1.0, f64::NAN]), Err(Cannot::NotFinite));
        assert_eq!(mean_interval(&[4.0], 0.95), Err(Cannot::Scores(2)));
        assert_eq!(mean_interval(&[0.1, 0.1, 0.1], 0.95), Err(Cannot::NoSpread));
        assert_eq!(mean_interval(&[4.0, 5.0], 1.0), Err(Cannot::OutOfRange));
    }

    /// Mean 5, sd 2.581989 of 2, 4, 6, 8; t(3) of 97.5 % is 3.182446 (common t tables).
    #[test]
    fn a_mean_comes_with_its_t_interval() {
        let m = mean_interval(&[2.0, 4.0, 6.0, 8.0], 0.95).unwrap();
        assert!((m.interval.low - (5.0 - 3.182446305 * 2.581988897 / 2.0)).abs() < 1e-8, "{m:?}");
        assert!((m.interval.high + m.interval.low - 10.0).abs() < 1e-12);
    }

    #[test]
    fn two_middle_scores_share_the_median() {
        assert_eq!(describe(&[9.0, 1.0, 4.0, 7.0]).unwrap().median, 5.5);
        assert_eq!(describe(&[9.0, 1.0, 4.0]).unwrap().median, 4.0);
    }

    proptest! {
        #[test]
        fn figures_lie_where_they_must(values in prop::collection::vec(-100i32..100, 1..40), shift in -50i32..50) {
            let of = |shift: i32| {
                describe(&values.iter().map(|&v| f64::from(v + shift)).collect::<Vec<_>>()).unwrap()
            };
            let (plain, moved) = (of(0), of(shift));
            prop_assert!((plain.min..=plain.max).contains(&plain.mean));
            prop_assert!((moved.mean - plain.mean - f64::from(shift)).abs() < 1e-9, "a shift moves the mean");
            if let (Some(a), Some(b)) = (plain.sd, moved.sd) {
                prop_assert!((a - b).abs() < 1e-9 && a <= (plain.max - plain.min), "and leaves the spread");
            }
            prop_assert!(plain.min <= plain.lower_quartile && plain.lower_quartile <= plain.median);
            prop_assert!(plain.median <= plain.upper_quartile && plain.upper_quartile <= plain.max);
        }
    }
}
