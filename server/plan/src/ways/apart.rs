//! Who stands apart from the others, and in what.
//!
//! A way stands apart in one thing if it lies farther from the median than three times the usual distance from it (the median of all
//! these distances, times 1.4826: then it is the standard deviation of a normal spread), and by no less than [`FLOOR_FOLD`] or
//! [`FLOOR_C`], so that nobody stands apart for a gram more where the others agree to the gram.

use super::differ::Factor;
use super::middle::median;
use class::ways::Way;
use serde::Serialize;

/// Of fewer ways none can be said to stand apart. Our own rule.
pub const LEAST_WAYS: usize = 4;
/// So many usual distances from the median are far. Common practice.
const FAR: f64 = 3.0;
/// What makes the median distance of a normal spread its standard deviation.
const NORMAL: f64 = 1.4826;
/// The least fold of leaf or time that counts as far. Our own rule.
const FLOOR_FOLD: f64 = 1.5;
/// The least difference of water that counts as far, °C. Our own rule.
const FLOOR_C: f64 = 10.0;

/// In what a way stands apart, and how far.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Apart {
    /// In what.
    pub factor: Factor,
    /// How many times the median it is, below 1 for less; for water, °C above the median, below 0 for cooler.
    pub from_median: f64,
}

/// For each of the ways, in what it stands apart.
pub(super) fn of(ways: &[&Way]) -> Vec<Vec<Apart>> {
    let mut all = vec![Vec::new(); ways.len()];
    if ways.len() < LEAST_WAYS {
        return all;
    }
    for factor in Factor::ALL {
        let Some(values) = factor.values(ways) else { continue };
        let scaled: Vec<f64> = values.iter().map(|v| if factor.in_folds() { v.ln() } else { *v }).collect();
        let middle = median(&scaled);
        let distances: Vec<f64> = scaled.iter().map(|v| (v - middle).abs()).collect();
        let floor = if factor.in_folds() { FLOOR_FOLD.ln() } else { FLOOR_C };
        let far = (FAR * NORMAL * median(&distances)).max(floor);
        for (apart, value) in all.iter_mut().zip(&scaled).filter(|(_, value)| (*value - middle).abs() > far) {
            let from_median = if factor.in_folds() { (value - middle).exp() } else { value - middle };
            apart.push(Apart { factor, from_median });
        }
    }
    all
}
