//! Weighted totals out of 100 points.

use super::Known;
use super::differences::Difference;
use crate::stats::Interval;
use protocol::Code;
use serde::Serialize;

/// The totals of a class that names weights.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Totals {
    /// Where the weights come from, in words.
    pub source: String,
    /// The weights.
    pub weights: Vec<Weight>,
    /// Each tea. A taster's total is the mean of the totals at the steeps for which all weighted attributes are scored.
    pub teas: Vec<TeaTotal>,
    /// Each taster's total of each tea.
    pub tasters: Vec<TasterTotal>,
    /// Whether the totals differ.
    pub difference: Option<Box<Difference>>,
}

/// The weight of one attribute.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Weight {
    /// The attribute.
    pub attribute: String,
    /// Percent; they add up to 100.
    pub percent: f64,
    /// The scale that was stretched straight to 0 to 100; `null` if it was that already.
    pub stretched_from: Option<[i32; 2]>,
}

/// One tea.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TeaTotal {
    /// The tea.
    pub tea: Code,
    /// Tasters with a total.
    pub n: usize,
    /// Tasters who scored the tea but not enough for a total.
    pub without: usize,
    /// Their mean, 0 to 100; `null` without tasters.
    pub mean: Option<f64>,
    /// Standard deviation; `null` for fewer than two.
    pub sd: Option<f64>,
    /// The 95 % t interval of the mean.
    pub interval: Known<Interval>,
}

/// One taster's total.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TasterTotal {
    /// The seat's name.
    pub seat: String,
    /// The tea.
    pub tea: Code,
    /// 0 to 100.
    pub points: f64,
}
