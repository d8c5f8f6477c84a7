//! Tails and quantiles of the distributions, over the incomplete beta and gamma functions of `statrs`.
//!
//! The arguments are put so that a small tail is computed as such, not as one less a number near one, and quantiles
//! are found by halving an interval: slower than the crate's own, and exact to the last digits.

use statrs::distribution::{ContinuousCDF, Normal};
use statrs::function::beta::beta_reg;
use statrs::function::gamma::gamma_ur;

/// The chance that chi-squared with `df` degrees of freedom (above 0) is at least `x`.
pub(super) fn chi_squared_upper(x: f64, df: f64) -> f64 {
    if x <= 0.0 { 1.0 } else { gamma_ur(df / 2.0, x / 2.0) }
}

/// The chance that F with these degrees of freedom (above 0) is at least `f`.
pub(super) fn f_upper(f: f64, df1: f64, df2: f64) -> f64 {
    if f <= 0.0 { 1.0 } else { beta_reg(df2 / 2.0, df1 / 2.0, df2 / (df2 + df1 * f)) }
}

/// The value that F exceeds with the chance `tail` (between 0 and 1).
pub(super) fn f_exceeded(tail: f64, df1: f64, df2: f64) -> f64 {
    let x = beta_quantile(tail, df2 / 2.0, df1 / 2.0);
    df2 * (1.0 - x) / (df1 * x)
}

/// The chance that Student's t with `df` degrees of freedom (above 0) lies beyond ± `t`.
pub(super) fn t_two_sided(t: f64, df: f64) -> f64 {
    beta_reg(df / 2.0, 0.5, df / (df + t * t))
}

/// The t beyond which, on both sides together, the chance is `tails` (between 0 and 1).
pub(super) fn t_exceeded(tails: f64, df: f64) -> f64 {
    let x = beta_quantile(tails, df / 2.0, 0.5);
    (df * (1.0 - x) / x).sqrt()
}

/// The standard normal value beyond which, on both sides together, the chance is `tails` (between 0 and 1).
pub(super) fn normal_exceeded(tails: f64) -> f64 {
    -Normal::standard().inverse_cdf(tails / 2.0)
}

/// The value below which a beta variable lies with the chance `p` (between 0 and 1).
pub(super) fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    loop {
        let middle = (low + high) / 2.0;
        if middle <= low || middle >= high {
            return middle;
        }
        if beta_reg(a, b, middle) < p { low = middle } else { high = middle }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(value: f64, expected: f64) {
        assert!((value - expected).abs() <= 1e-4, "{value} is not {expected}");
    }

    /// Quantiles computed with scipy 1.17.1, as every table prints them.
    #[test]
    fn quantiles_and_tails_are_those_of_the_tables() {
        for (df, t) in [(5.0, 2.5706), (9.0, 2.2622), (29.0, 2.0452), (120.0, 1.9799)] {
            near(t_exceeded(0.05, df), t);
            assert!((t_two_sided(t_exceeded(0.05, df), df) - 0.05).abs() < 1e-12);
        }
        near(t_exceeded(0.01, 20.0), 2.8453);
        for (df1, df2, f) in [(2.0, 10.0, 4.1028), (3.0, 21.0, 3.0725), (5.0, 25.0, 2.6030)] {
            near(f_exceeded(0.05, df1, df2), f);
            assert!((f_upper(f_exceeded(0.05, df1, df2), df1, df2) - 0.05).abs() < 1e-12);
        }
        near(f_exceeded(0.01, 4.0, 20.0), 4.4307);
        for (df, x) in [(1.0, 3.8415), (5.0, 11.0705), (10.0, 18.3070)] {
            assert!((chi_squared_upper(x, df) - 0.05).abs() < 2e-6);
        }
        assert!((normal_exceeded(0.05) - 1.959_963_984_540_054).abs() < 1e-13);
    }

    #[test]
    fn nothing_beyond_what_is_always_exceeded() {
        assert_eq!(
            (chi_squared_upper(0.0, 3.0), f_upper(0.0, 2.0, 5.0), t_two_sided(0.0, 4.0)),
            (1.0, 1.0, 1.0)
        );
    }
}
