//! Two ways of steeping one leaf, scored by the same tasters: how far apart, and how sure.

use super::Interval;
use super::cannot::Cannot;
use super::describe::mean_interval;
use super::dist::t_two_sided;
use super::noncentral_t::noncentrality_interval;
use schemars::JsonSchema;
use serde::Serialize;

/// What the paired t test found.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Paired {
    /// How many tasters scored both.
    pub n: usize,
    /// The mean of first less second, points on the scale.
    pub mean_difference: f64,
    /// The standard deviation of the differences (divisor n − 1), points.
    pub sd: f64,
    /// The standard error of the mean difference, points.
    pub standard_error: f64,
    /// The t interval of the mean difference, points.
    pub interval: Interval,
    /// The mean difference over its standard error.
    pub t: f64,
    /// Degrees of freedom, n − 1.
    pub df: usize,
    /// Two-sided p.
    pub p: f64,
    /// The standardised effect: the mean difference over the standard deviation of the differences.
    pub d_z: f64,
    /// The interval of the standardised effect.
    pub d_z_interval: Interval,
}

/// The paired t test of each taster's first score less the second; two tasters at least.
///
/// The interval of d_z comes from the noncentral t distribution: the noncentralities that leave the t found just
/// possible, over √n (the exact interval of a standardized mean; Kelley, Journal of Statistical Software 20(8), 2007).
pub fn paired(differences: &[f64], confidence: f64) -> Result<Paired, Cannot> {
    let mean = mean_interval(differences, confidence).map_err(|why| match why {
        Cannot::Scores(n) => Cannot::Tasters(n),
        other => other,
    })?;
    let (root_n, df) = ((mean.n as f64).sqrt(), mean.df as f64);
    let t = mean.mean / mean.standard_error;
    let ends = noncentrality_interval(t, df, confidence)?;
    Ok(Paired {
        n: mean.n,
        mean_difference: mean.mean,
        sd: mean.sd,
        standard_error: mean.standard_error,
        interval: mean.interval,
        t,
        df: mean.df,
        p: t_two_sided(t, df)?,
        d_z: mean.mean / mean.sd,
        d_z_interval: Interval { low: ends.low / root_n, high: ends.high / root_n, confidence },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::examples::MAIZE;

    /// Darwin's maize (Wilcoxon 1945), computed with scipy 1.17.1: t = 2.1479875, df 14, p = 0.0497029. For the interval of
    /// d_z no published example is at hand; it is held to SciPy's noncentral t (`tests/reference/pairs.py`).
    #[test]
    fn darwins_maize_gives_the_known_t() {
        let found = paired(&MAIZE, 0.95).unwrap();
        assert!((found.t - 2.1479875).abs() < 1e-7 && (found.p - 0.0497029).abs() < 1e-7, "{found:?}");
        assert!(found.interval.low > 0.0 && found.d_z_interval.low > 0.0, "p is just below 5 %: {found:?}");
    }

    #[test]
    fn what_nobody_or_everybody_says_alike_has_no_t() {
        assert_eq!(paired(&[1.0], 0.95), Err(Cannot::Tasters(2)));
        assert_eq!(paired(&[1.0, 1.0, 1.0], 0.95), Err(Cannot::NoSpread));
        assert_eq!(paired(&[1.0, f64::INFINITY], 0.95), Err(Cannot::NotFinite));
    }
}
