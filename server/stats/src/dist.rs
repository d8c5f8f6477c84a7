//! Tails and quantiles of the normal, t, F, chi-squared and beta distributions.
//!
//! Beneath are the functions of the crate `statrs`. Its normal and chi-squared tails are within 1e-9 of another library's.
//! Two things are done here because there it falls short of 1e-8, by the same comparison: the tails of t and F are put
//! together from the incomplete beta function, which keeps the digits near 0, and the quantiles of t, F and
//! chi-squared, which there lose theirs far out and near zero, are searched over the tails.

use super::cannot::Cannot;
use super::root::root;
use statrs::distribution::{ChiSquared, ContinuousCDF, Normal};
use statrs::function::beta::checked_beta_reg;
use std::collections::HashMap;
use std::f64::consts::TAU;

/// Quantiles are searched between e^−`REACH` and e^`REACH`.
const REACH: f64 = 300.0;
/// More degrees of freedom than any class has; the functions beneath are not asked for more.
const MOST_FREEDOM: f64 = 1e9;

/// The chance that a standard normal variable lies above `z`.
pub(crate) fn normal_upper(z: f64) -> Result<f64, Cannot> {
    Ok(normal().sf(finite(z)?))
}

/// The density of a standard normal variable at `z`.
pub(crate) fn normal_density(z: f64) -> f64 {
    (-z * z / 2.0).exp() / TAU.sqrt()
}

/// The `z` below which a standard normal variable lies with chance `p`, 0 < p < 1.
pub(crate) fn normal_quantile(p: f64) -> Result<f64, Cannot> {
    Ok(normal().inverse_cdf(chance(p)?))
}

fn normal() -> Normal {
    Normal::standard()
}

/// The chance that Student's t with `df` > 0 degrees of freedom lies beyond ± `t`: t² is F with 1 and `df`.
pub(crate) fn t_two_sided(t: f64, df: f64) -> Result<f64, Cannot> {
    f_upper(finite(t)?.powi(2).min(f64::MAX), 1.0, df)
}

/// The chance that Student's t with `df` > 0 degrees of freedom lies above `t`.
pub(crate) fn t_upper(t: f64, df: f64) -> Result<f64, Cannot> {
    let half = t_two_sided(t, df)? / 2.0;
    Ok(if t < 0.0 { 1.0 - half } else { half })
}

/// The t below which Student's t with `df` > 0 degrees of freedom lies with chance `p`, 0 < p < 1.
pub(crate) fn t_quantile(p: f64, df: f64) -> Result<f64, Cannot> {
    let (p, df) = (chance(p)?, freedom(df)?);
    if p == 0.5 {
        return Ok(0.0);
    }
    let tail = p.min(1.0 - p);
    let size = search(tail, |t| t_upper(t, df))?;
    Ok(if p < 0.5 { -size } else { size })
}

/// How many standard errors an interval reaches to either side, by its degrees of freedom, each searched for only once.
#[derive(Clone, Debug)]
pub struct TReach {
    confidence: f64,
    by_df: HashMap<usize, f64>,
}

impl TReach {
    /// For intervals of this confidence, between 0 and 1.
    pub fn new(confidence: f64) -> Result<Self, Cannot> {
        Ok(Self { confidence: chance(confidence)?, by_df: HashMap::new() })
    }

    pub fn confidence(&self) -> f64 {
        self.confidence
    }

    /// The quantile of Student's t with `df` > 0 degrees of freedom that leaves the same chance on either side.
    pub fn of(&mut self, df: usize) -> Result<f64, Cannot> {
        if let Some(&known) = self.by_df.get(&df) {
            return Ok(known);
        }
        let found = t_quantile((1.0 + self.confidence) / 2.0, df as f64)?;
        self.by_df.insert(df, found);
        Ok(found)
    }
}

/// The chance that F with `df` > 0 and `df_below` > 0 degrees of freedom lies above `f` ≥ 0.
///
/// It is I(df_below/2, df/2) at df_below / (df_below + df·f), and its complement where F is small and that argument
/// near 1; a tail far out is never one less something.
pub(crate) fn f_upper(f: f64, df: f64, df_below: f64) -> Result<f64, Cannot> {
    let (df, df_below) = (freedom(df)?, freedom(df_below)?);
    let above = df * not_negative(f)?;
    if f < 1.0 {
        Ok(1.0 - incomplete_beta(df / 2.0, df_below / 2.0, above / (df_below + above))?)
    } else {
        incomplete_beta(df_below / 2.0, df / 2.0, df_below / (df_below + above))
    }
}

/// The F below which F with `df` > 0 and `df_below` > 0 degrees of freedom lies with chance `p`, 0 < p < 1.
pub(crate) fn f_quantile(p: f64, df: f64, df_below: f64) -> Result<f64, Cannot> {
    search(1.0 - chance(p)?, |f| f_upper(f, df, df_below))
}

/// The chance that chi-squared with `df` > 0 degrees of freedom lies above `x` ≥ 0.
pub(crate) fn chi_squared_upper(x: f64, df: f64) -> Result<f64, Cannot> {
    let law = ChiSquared::new(freedom(df)?).map_err(|_| Cannot::OutOfRange)?;
    Ok(law.sf(not_negative(x)?))
}

/// The value below which chi-squared with `df` > 0 degrees of freedom lies with chance `p`, 0 < p < 1.
pub(crate) fn chi_squared_quantile(p: f64, df: f64) -> Result<f64, Cannot> {
    search(1.0 - chance(p)?, |x| chi_squared_upper(x, df))
}

/// The value below which a beta variable with parameters `a` > 0 and `b` > 0 lies with chance `p`, 0 < p < 1.
pub(crate) fn beta_quantile(p: f64, a: f64, b: f64) -> Result<f64, Cannot> {
    let p = chance(p)?;
    incomplete_beta(a, b, p)?;
    Ok(root(0.0, 1.0, |x| incomplete_beta(a, b, x).unwrap_or(1.0) - p))
}

/// Where an upper tail on the positive numbers comes down to `tail`. Searched on the logarithm, so that small values
/// keep their digits.
fn search(tail: f64, upper: impl Fn(f64) -> Result<f64, Cannot>) -> Result<f64, Cannot> {
    upper(1.0)?;
    Ok(root(-REACH, REACH, |log| tail - upper(log.exp()).unwrap_or(0.0)).exp())
}

fn incomplete_beta(a: f64, b: f64, x: f64) -> Result<f64, Cannot> {
    checked_beta_reg(a, b, x).map_err(|_| Cannot::OutOfRange)
}

fn finite(x: f64) -> Result<f64, Cannot> {
    if x.is_finite() { Ok(x) } else { Err(Cannot::OutOfRange) }
}

/// Degrees of freedom above 0.
fn freedom(df: f64) -> Result<f64, Cannot> {
    if df > 0.0 && df <= MOST_FREEDOM { Ok(df) } else { Err(Cannot::OutOfRange) }
}

fn not_negative(x: f64) -> Result<f64, Cannot> {
    finite(x).and_then(|x| if x >= 0.0 { Ok(x) } else { Err(Cannot::OutOfRange) })
}

/// A chance strictly between 0 and 1.
pub(super) fn chance(p: f64) -> Result<f64, Cannot> {
    if p > 0.0 && p < 1.0 { Ok(p) } else { Err(Cannot::OutOfRange) }
}

#[cfg(test)]
mod tests;
