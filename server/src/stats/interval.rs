//! A range that a true value is estimated to lie in.

/// A chance up to this counts as shown; a true value lies outside its interval with this chance.
pub const SIGNIFICANCE: f64 = 0.05;

/// A 95 % confidence interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Its lower end.
    pub lower: f64,
    /// Its upper end.
    pub upper: f64,
}

impl Interval {
    /// The interval `half` to either side of `middle`.
    pub(super) fn around(middle: f64, half: f64) -> Self {
        Self { lower: middle - half, upper: middle + half }
    }

    /// Both ends changed by a rising function.
    pub(super) fn map(self, rising: impl Fn(f64) -> f64) -> Self {
        Self { lower: rising(self.lower), upper: rising(self.upper) }
    }

    /// Whether `value` lies in it, ends included.
    pub fn contains(&self, value: f64) -> bool {
        (self.lower..=self.upper).contains(&value)
    }
}
