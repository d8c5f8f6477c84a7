//! Two ways of steeping one leaf.

use super::Known;
use crate::stats::paired::Paired;
use crate::stats::wilcoxon::Wilcoxon;
use protocol::Code;
use serde::Serialize;

/// Two revealed teas that are one leaf.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TwoWays {
    /// The leaf.
    pub leaf: String,
    /// One tea.
    pub first: Code,
    /// The other.
    pub second: Code,
    /// How the first is steeped, for instance "3 g, 100 ml, 95 °C, 45 60 90 s".
    pub first_way: String,
    /// How the second is steeped.
    pub second_way: String,
    /// Whether both are steeped the same way: a true repeat under two codes.
    pub same_way: bool,
    /// Each attribute: over the steeps, then steep by steep.
    pub comparisons: Vec<Comparison>,
}

/// One attribute of the two.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Comparison {
    /// The attribute.
    pub attribute: String,
    /// The steep of both, `null` over the steeps.
    pub steep: Option<u32>,
    /// Tasters who scored both.
    pub n: usize,
    /// The mean of first less second, points; `null` without tasters.
    pub mean_difference: Option<f64>,
    /// The exact signed rank test, with the smallest p that so many tasters can reach.
    pub wilcoxon: Known<Wilcoxon>,
    /// The signed rank test's p by Holm, over the attributes (over the steeps) or attributes and steeps (at one).
    pub p_holm: Option<f64>,
    /// The paired t test with the difference's interval and d_z.
    pub paired: Known<Paired>,
}
