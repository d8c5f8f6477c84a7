//! How far the tasters agree.

use super::Known;
use crate::stats::Interval;
use crate::stats::agreement::MeanSpearman;
use serde::Serialize;

/// One attribute, over the steeps: each taster's mean of each tea, complete tasters only.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Agreement {
    /// The attribute.
    pub attribute: String,
    /// Complete tasters.
    pub tasters: usize,
    /// Teas.
    pub teas: usize,
    /// Kendall's coefficient of concordance.
    pub kendall: Known<Kendall>,
    /// ICC(2,1): how well one taster's score stands for another's, level included.
    pub icc_2_1: Known<IccFinding>,
    /// ICC(3,1): the same, differences of level not counted.
    pub icc_3_1: Known<IccFinding>,
    /// ICC(3,k): how well the mean of this class would repeat.
    pub icc_3_k: Known<IccFinding>,
}

/// Kendall's W.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Kendall {
    /// 0 no common order, 1 all the same order.
    pub w: f64,
    /// The mean rank correlation of every two tasters; `null` if no two have an order.
    pub spearman: Option<MeanSpearman>,
    /// Tasters who gave every tea the same score.
    pub flat_tasters: usize,
}

/// An intraclass correlation.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct IccFinding {
    /// At most 1; below 0 if the teas' means differ less than chance would have it.
    pub value: f64,
    /// Its 95 % interval; `null` where there is none.
    pub interval: Option<Interval>,
    /// F against a true correlation of 0.
    pub f: f64,
    /// Degrees of freedom of F.
    pub df: (usize, usize),
    /// p of F.
    pub p: f64,
}
