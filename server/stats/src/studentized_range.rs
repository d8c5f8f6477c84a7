//! The studentized range: greatest less smallest of some standard normal variables, over an independent estimate of
//! their standard deviation.
//!
//! By its defining integral (the form that Copenhaver & Holland, Journal of Statistical Computation and Simulation 30,
//! 1988, start from): the range of k variables is at most w with chance k·∫ φ(z)·[Φ(z + w) − Φ(z)]^(k − 1) dz, where z
//! is the smallest; then the mean over the ratio of the found standard deviation to the true one. Both integrals by the
//! trapezoidal rule, whose error here falls exponentially with the step.

use super::cannot::Cannot;
use super::dist::chance;
use super::root::root_above;
use super::spread::Spread;
use statrs::distribution::{Continuous, ContinuousCDF, Normal};

/// The smallest of the variables is looked at from −`REACH` to `REACH`.
const REACH: f64 = 8.5;
/// Steps to either side of 0: a step of 0.17 holds 1e-10 up to about 20 means.
const STEPS: i32 = 50;
/// Doublings of the first bound when a quantile is searched; with one degree of freedom they lie far out.
const DOUBLINGS: u32 = 40;

/// The studentized range of a number of means with some degrees of freedom.
pub(crate) struct StudentizedRange {
    means: i32,
    spread: Spread,
    /// z, Φ(z), and step · k · φ(z).
    smallest: Vec<(f64, f64, f64)>,
}

impl StudentizedRange {
    /// Of `means` means, 2 to 100, and `df` ≥ 1 degrees of freedom, which may be infinite.
    pub fn new(means: usize, df: f64) -> Result<Self, Cannot> {
        if !(2..=100).contains(&means) || df.is_nan() || df < 1.0 {
            return Err(Cannot::OutOfRange);
        }
        let (normal, step) = (Normal::standard(), REACH / f64::from(STEPS));
        let at = |i: i32| {
            let z = step * f64::from(i);
            (z, normal.cdf(z), step * means as f64 * normal.pdf(z))
        };
        let smallest = (-STEPS..=STEPS).map(at).collect();
        Ok(Self { means: means as i32, spread: Spread::new(df, 1.0), smallest })
    }

    /// The chance to lie above `q` ≥ 0; absolute error below 1e-9.
    pub fn upper(&self, q: f64) -> Result<f64, Cannot> {
        if !q.is_finite() || q < 0.0 {
            return Err(Cannot::OutOfRange);
        }
        Ok((1.0 - self.spread.average(|ratio| self.range_at_most(q * ratio))).clamp(0.0, 1.0))
    }

    /// The q below which it lies with chance `p`, 0 < p < 1.
    pub(crate) fn quantile(&self, p: f64) -> Result<f64, Cannot> {
        let tail = 1.0 - chance(p)?;
        Ok(root_above(0.0, 4.0, DOUBLINGS, |q| tail - self.upper(q).unwrap_or(0.0)))
    }

    fn range_at_most(&self, w: f64) -> f64 {
        let normal = Normal::standard();
        let each = |&(z, below, weight): &(f64, f64, f64)| {
            weight * (normal.cdf(z + w) - below).max(0.0).powi(self.means - 1)
        };
        self.smallest.iter().map(each).sum()
    }
}

#[cfg(test)]
mod tests;
