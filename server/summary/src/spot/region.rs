//! The ways that can't be told from the best.
//!
//! A way belongs to them if the liking may be level there (Box & Hunter's region, in the usual form: the slopes against F), and if the best
//! does not lie above it for sure (Scheffé's bound over as many factors). By itself the first would also hold the bottoms and saddles of a
//! surface that is hardly known. Where the best lies at an edge it need not be level, and the second alone decides.

use super::coding::{Coding, Factor, What};
use super::fitted::Fitted;
use schemars::JsonSchema;
use serde::Serialize;
use stats::Cannot;
use stats::interval::CONFIDENCE;
use stats::surface::region::Region;

/// The ways that can't be told from the best: where the liking may be level (Box & Hunter; with a prior, by the posterior) and is not surely
/// lower. At an edge the second alone.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "SpotRegion")]
pub struct RegionFound {
    /// Its confidence.
    pub confidence: f64,
    /// How far it reaches along each factor, within what was tasted.
    pub factors: Vec<RegionFactor>,
    /// The share of what was tasted that belongs to it, by volume in coded units.
    pub share: f64,
}

/// How far a region reaches along one factor.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "SpotRegionFactor")]
pub struct RegionFactor {
    /// The factor.
    pub what: What,
    /// Its lowest value there, in g/100 ml, °C or s.
    pub low: f64,
    /// Its highest value.
    pub high: f64,
    /// The same in coded units.
    pub low_coded: f64,
    /// The same in coded units.
    pub high_coded: f64,
    /// Whether it reaches the lowest value that was tasted, and so perhaps beyond.
    pub open_below: bool,
    /// Whether it reaches the highest.
    pub open_above: bool,
}

/// What decides whether a way belongs to the region.
pub struct Alike<'a> {
    fitted: &'a Fitted,
    /// The best way, in coded units.
    best: Vec<f64>,
    level: Option<Region<'a>>,
    reach: f64,
}

impl<'a> Alike<'a> {
    /// About the best way, in coded units; at an edge of what was tasted it need not be level.
    ///
    /// # Errors
    /// No degrees of freedom.
    pub fn about(fitted: &'a Fitted, best: &[f64], at_edge: bool) -> Result<Self, Cannot> {
        let region = Region::new(&fitted.surface, CONFIDENCE)?;
        let reach = (best.len() as f64 * region.most()).sqrt();
        Ok(Self { fitted, best: best.to_vec(), level: (!at_edge).then_some(region), reach })
    }

    /// Whether a way, in coded units, can't be told from the best.
    pub fn holds(&self, x: &[f64]) -> bool {
        let level = self.level.is_none_or(|region| region.holds(x).unwrap_or(true));
        let below = self.fitted.surface.difference(&self.best, x);
        level && below.value <= self.reach * below.standard_error + 1e-9
    }
}

/// How finely a region is looked for along each factor, by how many there are.
fn points(factors: usize) -> usize {
    match factors {
        1 => 401,
        2 => 81,
        _ => 21,
    }
}

/// How far the region about the best reaches within what was tasted.
pub fn region(coding: &Coding, fitted: &Fitted, best: &[f64], at_edge: bool) -> Option<RegionFound> {
    let alike = Alike::about(fitted, best, at_edge).ok()?;
    let (factors, tried) = (coding.factors.len(), &fitted.tried);
    let points = points(factors);
    let value =
        |i: usize, n: usize| tried.low[i] + (tried.high[i] - tried.low[i]) * n as f64 / (points - 1) as f64;
    let mut ends: Vec<(f64, f64)> = best.iter().map(|&x| (x, x)).collect();
    let (mut inside, all) = (0, points.pow(factors as u32));
    for number in 0..all {
        let x: Vec<f64> = (0..factors).map(|i| value(i, number / points.pow(i as u32) % points)).collect();
        if alike.holds(&x) {
            inside += 1;
            ends.iter_mut().zip(&x).for_each(|(end, &x)| *end = (end.0.min(x), end.1.max(x)));
        }
    }
    let factor = |(i, factor): (usize, &Factor)| RegionFactor {
        what: factor.what,
        low: factor.said(ends[i].0),
        high: factor.said(ends[i].1),
        low_coded: ends[i].0,
        high_coded: ends[i].1,
        open_below: ends[i].0 <= tried.low[i] + 1e-9,
        open_above: ends[i].1 >= tried.high[i] - 1e-9,
    };
    Some(RegionFound {
        confidence: CONFIDENCE,
        factors: coding.factors.iter().enumerate().map(factor).collect(),
        share: f64::from(inside) / all as f64,
    })
}
