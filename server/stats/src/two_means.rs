//! Two groups of different people: does their mean differ? Student's and Welch's t.

use super::dist::{t_quantile, t_two_sided};
use super::interval::SIGNIFICANCE;
use super::sums::{finite, mean, squares};
use super::{Cannot, Interval};
use schemars::JsonSchema;
use serde::Serialize;

/// A t test of a difference of means.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TTest {
    /// The difference in points, first less second.
    pub difference: f64,
    /// Its 95 % interval.
    pub interval: Interval,
    /// The difference in units of its standard error.
    pub t: f64,
    /// Degrees of freedom; Welch's are no whole number.
    pub df: f64,
    /// Two-sided p.
    pub p: f64,
}

impl TTest {
    /// From a difference and its standard error, not zero.
    pub(super) fn of(difference: f64, error: f64, df: f64) -> Result<Self, Cannot> {
        let interval = Interval::around(difference, t_quantile(1.0 - SIGNIFICANCE / 2.0, df)? * error);
        let t = difference / error;
        Ok(Self { difference, interval, t, df, p: t_two_sided(t, df)? })
    }
}

/// Student's t with the pooled variance: for groups that spread alike.
///
/// # Errors
/// With fewer than two scores in a group, scores that are no numbers, or no spread in either group.
pub fn pooled(first: &[f64], second: &[f64]) -> Result<TTest, Cannot> {
    let (a, b) = sides(first, second)?;
    let df = a.n + b.n - 2.0;
    let variance = (a.squares + b.squares) / df;
    TTest::of(a.mean - b.mean, (variance * (1.0 / a.n + 1.0 / b.n)).sqrt(), df)
}

/// Welch's t (Welch 1947): for groups that may spread differently.
///
/// # Errors
/// With fewer than two scores in a group, scores that are no numbers, or no spread in either group.
pub fn welch(first: &[f64], second: &[f64]) -> Result<TTest, Cannot> {
    let (a, b) = sides(first, second)?;
    let (va, vb) = (a.squares / (a.n - 1.0) / a.n, b.squares / (b.n - 1.0) / b.n);
    // The shares, since the squares of tiny variances would vanish.
    let (sa, sb) = (va / (va + vb), vb / (va + vb));
    let df = 1.0 / (sa * sa / (a.n - 1.0) + sb * sb / (b.n - 1.0));
    TTest::of(a.mean - b.mean, (va + vb).sqrt(), df)
}

struct Side {
    n: f64,
    mean: f64,
    squares: f64,
}

fn sides(first: &[f64], second: &[f64]) -> Result<(Side, Side), Cannot> {
    finite(first.iter().chain(second))?;
    if first.len().min(second.len()) < 2 {
        return Err(Cannot::VotesInEachGroup(2));
    }
    let side = |v: &[f64]| Side { n: v.len() as f64, mean: mean(v), squares: squares(v) };
    let (a, b) = (side(first), side(second));
    if a.squares == 0.0 && b.squares == 0.0 { Err(Cannot::NoSpread) } else { Ok((a, b)) }
}
