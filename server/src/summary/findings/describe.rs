//! Describing each tea, steep, leaf and way of steeping; the single scores behind it.

use super::Known;
use crate::stats::Interval;
use protocol::Code;
use serde::Serialize;

/// The figures of one attribute over one value for each taster.
///
/// What it is of is said by `tea`, `leaf`, `way` and `steep`, one of the first three being there. Where a taster gave
/// several scores (over the steeps, over the teas of a leaf), the taster's mean counts as one value.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Described {
    /// The attribute.
    pub attribute: String,
    /// One tea; else `null`.
    pub tea: Option<Code>,
    /// All revealed teas of one leaf; else `null`.
    pub leaf: Option<String>,
    /// All revealed teas steeped in one way, as [`super::ways::way`] tells it; else `null`.
    pub way: Option<String>,
    /// The steep; `null` for all steeps together.
    pub steep: Option<u32>,
    /// How many tasters.
    pub n: usize,
    /// How many scores they gave.
    pub scores: usize,
    /// Arithmetic mean; `null` without scores, as are all figures below.
    pub mean: Option<f64>,
    /// Standard deviation of a sample (divisor n − 1); `null` for fewer than two tasters.
    pub sd: Option<f64>,
    /// The lowest.
    pub min: Option<f64>,
    /// A quarter of the way through the values in order, interpolated straight.
    pub lower_quartile: Option<f64>,
    /// The middle one.
    pub median: Option<f64>,
    /// Three quarters of the way.
    pub upper_quartile: Option<f64>,
    /// The highest.
    pub max: Option<f64>,
    /// The 95 % t interval of the mean.
    pub interval: Known<Interval>,
}

/// One score of one taster.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Dot {
    /// The attribute.
    pub attribute: String,
    /// The tea.
    pub tea: Code,
    /// The steep.
    pub steep: u32,
    /// The seat's name.
    pub seat: String,
    /// The score, points.
    pub value: f64,
}

/// One attribute of one tea from steep to steep.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Curve {
    /// The attribute.
    pub attribute: String,
    /// The tea.
    pub tea: Code,
    /// The steeps that were served, in order.
    pub steeps: Vec<CurvePoint>,
}

/// One steep of a curve.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CurvePoint {
    /// The steep.
    pub steep: u32,
    /// How many scored it.
    pub n: usize,
    /// Their mean; `null` if nobody did.
    pub mean: Option<f64>,
    /// Its 95 % t interval.
    pub interval: Known<Interval>,
}
