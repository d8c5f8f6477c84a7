//! A test over several classes.

use schemars::JsonSchema;
use serde::Serialize;
use stats::anova::{Effect, Leftover};

/// A test.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "PooledTest")]
pub struct Test {
    /// F or chi-squared.
    pub statistic: f64,
    /// Its degrees of freedom.
    pub df: usize,
    /// Those beneath, for F.
    pub df_below: Option<usize>,
    /// p.
    pub p: f64,
}

impl Test {
    /// The F test of an effect against what is left over.
    pub fn of(effect: Effect, left: Leftover) -> Self {
        Self { statistic: effect.f, df: effect.df, df_below: Some(left.df), p: effect.p }
    }
}
