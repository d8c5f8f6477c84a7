//! The middle of several ways: the median of each thing, of leaf and time on their logarithms, because people differ in folds there.

use crate::ladder::{poured_s, water_s};
use class::ways::{LeafKind, Way};
use serde::Serialize;

/// The middle way, in numbers that can be weighed, set and poured.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Middle {
    /// Dry leaf, grams per 100 ml, to a tenth.
    pub dose_g_per_100_ml: f64,
    /// Water of each steep, whole °C.
    pub temp_c: Vec<f64>,
    /// Seconds of each steep; 0 is a flash steep. As many steeps as the middle one of them has.
    pub steep_s: Vec<u32>,
    /// Seconds of a rinse, where more than half of them rinse.
    pub rinse_s: Option<u32>,
}

/// The middle of some values, or the mean of the two in the middle; 0 of none.
pub(super) fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let half = sorted.len() / 2;
    match (sorted.get(half), sorted.len() % 2) {
        (Some(&middle), 1) => middle,
        (Some(&upper), _) => f64::midpoint(sorted[half - 1], upper),
        (None, _) => 0.0,
    }
}

impl Middle {
    /// That of some ways; of a single one, the way itself.
    pub fn of(ways: &[&Way]) -> Self {
        if let [way] = ways {
            let Way { dose_g_per_100_ml, rinse_s, .. } = **way;
            let (temp_c, steep_s) = (way.temp_c.clone(), way.steep_s.clone());
            return Self { dose_g_per_100_ml, temp_c, steep_s, rinse_s };
        }
        let doses: Vec<f64> = ways.iter().map(|way| way.dose_g_per_100_ml.ln()).collect();
        let mut counts: Vec<usize> = ways.iter().map(|way| way.steep_s.len()).collect();
        counts.sort_unstable();
        let steeps = counts.get(counts.len().saturating_sub(1) / 2).copied().unwrap_or(0);
        let temp_c = (0..steeps).map(|steep| {
            let all: Vec<f64> = ways.iter().filter_map(|way| way.temp_c.get(steep).copied()).collect();
            median(&all).round()
        });
        let steep_s = (0..steeps).map(|steep| {
            let all: Vec<u32> = ways.iter().filter_map(|way| way.steep_s.get(steep).copied()).collect();
            let flash = all.iter().filter(|s| **s == 0).count() * 2 > all.len();
            let logs: Vec<f64> = all.iter().map(|&s| water_s(s).ln()).collect();
            if flash { 0 } else { poured_s(median(&logs).exp()) }
        });
        let rinses: Vec<f64> = ways.iter().filter_map(|way| way.rinse_s).map(f64::from).collect();
        let rinsed = rinses.len() * 2 > ways.len();
        Self {
            dose_g_per_100_ml: (median(&doses).exp() * 10.0).round() / 10.0,
            temp_c: temp_c.collect(),
            steep_s: steep_s.collect(),
            rinse_s: rinsed.then(|| median(&rinses).round() as u32),
        }
    }

    /// The same as somebody's way of such leaf.
    pub fn as_way(&self, kind: LeafKind) -> Way {
        Way {
            who: "middle way".into(),
            kind,
            dose_g_per_100_ml: self.dose_g_per_100_ml,
            water_ml: None,
            temp_c: self.temp_c.clone(),
            steep_s: self.steep_s.clone(),
            rinse_s: self.rinse_s,
            remarks: None,
        }
    }
}
