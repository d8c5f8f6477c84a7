//! A range that a true value is estimated to lie in.

use schemars::JsonSchema;
use serde::Serialize;

/// A chance up to this counts as shown; a true value lies outside its interval with this chance.
pub const SIGNIFICANCE: f64 = 0.05;
/// The confidence of intervals where none is asked for.
pub const CONFIDENCE: f64 = 1.0 - SIGNIFICANCE;

/// An interval that would hold the true value in a share `confidence` of such classes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Interval {
    /// Its lower end.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
    /// The share, between 0 and 1.
    pub confidence: f64,
}

impl Interval {
    /// The interval of [`CONFIDENCE`] with these ends.
    pub(super) fn usual(low: f64, high: f64) -> Self {
        Self { low, high, confidence: CONFIDENCE }
    }

    /// The same `half` to either side of `middle`.
    pub(super) fn around(middle: f64, half: f64) -> Self {
        Self::usual(middle - half, middle + half)
    }

    /// Both ends changed by a rising function.
    pub(super) fn map(self, rising: impl Fn(f64) -> f64) -> Self {
        Self { low: rising(self.low), high: rising(self.high), ..self }
    }

    /// Whether `value` lies in it, ends included.
    pub fn contains(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}
