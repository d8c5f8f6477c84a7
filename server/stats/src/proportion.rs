//! What share of everybody a count speaks for.

use super::dist::{beta_quantile, normal_quantile};
use super::interval::SIGNIFICANCE;
use super::{Cannot, Interval};
use schemars::JsonSchema;
use serde::Serialize;

/// A share with its 95 % intervals.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Proportion {
    /// How many of them.
    pub x: usize,
    /// Out of how many.
    pub n: usize,
    /// x / n.
    pub share: f64,
    /// Wilson's score interval: near 95 % on average.
    pub wilson: Interval,
    /// The exact interval of Clopper and Pearson: never below 95 %, so wider.
    pub exact: Interval,
}

/// The share that `x` out of `n` stand for. Wilson's formula as in Newcombe (1998), Two-sided confidence intervals for the
/// single proportion, method 3; the exact one by quantiles of the beta distribution, method 5 there.
///
/// # Errors
/// If `n` is zero, or `x` more than `n`.
pub fn proportion(x: usize, n: usize) -> Result<Proportion, Cannot> {
    if n == 0 {
        return Err(Cannot::Answers(1));
    }
    if x > n {
        return Err(Cannot::MoreThanAll { correct: x, n });
    }
    let (many, count) = (n as f64, x as f64);
    let share = count / many;
    let z2 = normal_quantile(1.0 - SIGNIFICANCE / 2.0)?.powi(2);
    let middle = (share + z2 / (2.0 * many)) / (1.0 + z2 / many);
    let half = (z2 * (share * (1.0 - share) + z2 / (4.0 * many)) / many).sqrt() / (1.0 + z2 / many);
    let tail = SIGNIFICANCE / 2.0;
    // At the ends the formulas give 0 and 1 only up to rounding, or not at all.
    let ends = |low: f64, high: f64| {
        Interval::usual(if x == 0 { 0.0 } else { low }, if x == n { 1.0 } else { high })
    };
    let exact_lower = if x == 0 { 0.0 } else { beta_quantile(tail, count, many - count + 1.0)? };
    let exact_upper = if x == n { 1.0 } else { 1.0 - beta_quantile(tail, many - count, count + 1.0)? };
    Ok(Proportion {
        x,
        n,
        share,
        wilson: ends(middle - half, middle + half),
        exact: ends(exact_lower, exact_upper),
    })
}

/// The lower end of the exact one-sided 95 % interval of a share: the share for which so many or more would come with a
/// chance of 5 % (Clopper and Pearson, Biometrika 26, 1934). It lies above a chance exactly where so many or more, if all went
/// by that chance, come in less than 5 %. `x` is at most `n`.
pub(crate) fn at_least(x: usize, n: usize) -> Result<f64, Cannot> {
    if x == 0 {
        return Ok(0.0);
    }
    beta_quantile(SIGNIFICANCE, x as f64, (n - x + 1) as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed with scipy 1.17.1, `binomtest(x, n, alternative='greater').proportion_ci(0.95, 'exact').low`.
    #[test]
    fn the_one_sided_bound_is_that_of_the_reference() {
        for (x, n, low) in [
            (8, 12, 0.390862301771),
            (5, 6, 0.418196590748),
            (9, 12, 0.47267339644),
            (13, 24, 0.357563959347),
            (7, 7, 0.651836344869),
            (1, 29, 0.001767171001),
        ] {
            assert!((at_least(x, n).unwrap() - low).abs() < 1e-9, "{x} of {n}");
        }
        assert_eq!(at_least(0, 9), Ok(0.0));
    }

    /// The first four are the cases of Newcombe's (1998) table I; 6 of 32 is a public worked example; all computed with statsmodels 0.15.0, `proportion_confint`.
    #[test]
    fn intervals_of_shares_are_those_of_the_reference() {
        for (x, n, wilson, exact) in [
            (81, 263, (0.255289, 0.366210), (0.252737, 0.367622)),
            (15, 148, (0.062386, 0.160487), (0.057844, 0.161650)),
            (0, 20, (0.0, 0.161125), (0.0, 0.168433)),
            (1, 29, (0.006113, 0.171755), (0.000873, 0.177644)),
            (6, 32, (0.08889545, 0.35309155), (0.072076, 0.364392)),
            (9, 12, (0.467695, 0.911058), (0.428142, 0.945139)),
            (7, 7, (0.645670, 1.0), (0.590384, 1.0)),
        ] {
            let ours = proportion(x, n).unwrap();
            for (interval, (lower, upper)) in [(ours.wilson, wilson), (ours.exact, exact)] {
                assert!((interval.low - lower).abs() < 6e-7, "{x} of {n}: {ours:?}");
                assert!((interval.high - upper).abs() < 6e-7, "{x} of {n}: {ours:?}");
            }
        }
    }

    #[test]
    fn ends_are_clamped_and_nonsense_is_refused() {
        assert_eq!(proportion(7, 7).unwrap().wilson.high, 1.0);
        assert_eq!(proportion(0, 7).unwrap().wilson.low, 0.0);
        assert_eq!(proportion(0, 0), Err(Cannot::Answers(1)));
        assert_eq!(proportion(3, 2), Err(Cannot::MoreThanAll { correct: 3, n: 2 }));
    }
}
