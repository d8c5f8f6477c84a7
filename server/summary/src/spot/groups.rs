//! Tasters who like a leaf best in different ways: two groups, the best way of each, and what one way for all costs them.
//!
//! Only what differs within classes is seen: tasters of two classes may differ because of the water or the day.

use super::coding::{Coding, Factor, What};
use super::fitted::Fitted;
use super::pour::Pour;
use super::rows::Leaf;
use schemars::JsonSchema;
use serde::Serialize;
use stats::surface::Estimate;
use stats::surface::canonical::highest;
use stats::surface::groups;

/// Whose group is as likely as this belongs there for sure.
const SURE: f64 = 0.9;
/// Bests that lie nearer than this in a factor are alike in it, steps.
const ALIKE: f64 = 0.25;

/// Two groups of tasters whose bests differ more than chance alone would make them.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "SpotGroups")]
pub struct TwoGroups {
    /// The share of orders of each taster's cups, drawn by lot, that would part the tasters as much.
    pub p: f64,
    /// The groups, the larger first.
    pub groups: [TasteGroup; 2],
}

/// One group of tasters.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "SpotGroup")]
pub struct TasteGroup {
    /// How many tasters are more likely of this group than of the other; only tasters of four cups or more are in either.
    pub tasters: usize,
    /// For how many of these that is sure, at 90 % or more.
    pub surely: usize,
    /// The best way for them within what was tasted, as it can be poured.
    pub best: Pour,
    /// Where that lies in coded units, in the order of the factors.
    pub at: Vec<f64>,
    /// In which factors it lies away from the other group's, and to which side.
    pub than_others: Vec<Away>,
    /// How many points the best way for all loses in this group against its own; the standard error is that of the common surface,
    /// as if the groups were known.
    pub loses: Estimate,
}

/// To which side of the other group's best a best lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(rename = "SpotGroupAway")]
pub struct Away {
    /// The factor.
    pub what: What,
    /// More of it; else less.
    pub more: bool,
}

/// The groups of a leaf's tasters, where the best for all lies at `at`. Nothing where none are shown, or both like the same best within
/// what was tasted.
pub fn groups(leaf: &Leaf, coding: &Coding, fitted: &Fitted, at: &[f64]) -> Option<TwoGroups> {
    let cells: Vec<(usize, usize)> = leaf.liked().map(|(cup, _)| (cup.class, cup.way)).collect();
    let spread = fitted.prior.as_ref().map_or(f64::INFINITY, |prior| prior.slope);
    let found = groups::groups(&fitted.surface, &fitted.runs, &cells, spread)?;
    let surfaces = found.slopes.each_ref().map(|slopes| fitted.surface.steeper(slopes));
    let tops =
        surfaces.each_ref().map(|surface| highest(&surface.shape, &surface.coefficients, &fitted.tried));
    let group = |number: usize| {
        let shares = || {
            let share = |(_, second): &(usize, f64)| if number == 1 { *second } else { 1.0 - second };
            found.second.iter().map(share)
        };
        let away = |(i, factor): (usize, &Factor)| {
            let apart = tops[number][i] - tops[1 - number][i];
            (apart.abs() >= ALIKE).then_some(Away { what: factor.what, more: apart > 0.0 })
        };
        TasteGroup {
            tasters: shares().filter(|share| *share > 0.5).count(),
            surely: shares().filter(|share| *share >= SURE).count(),
            best: Pour::of(leaf, coding, &tops[number], true),
            at: tops[number].clone(),
            than_others: coding.factors.iter().enumerate().filter_map(away).collect(),
            loses: surfaces[number].difference(&tops[number], at),
        }
    };
    let mut groups = [group(0), group(1)];
    groups.sort_by_key(|group| std::cmp::Reverse(group.tasters));
    (!groups[0].than_others.is_empty()).then_some(TwoGroups { p: found.p, groups })
}
