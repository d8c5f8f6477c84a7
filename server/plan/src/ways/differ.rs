//! What ways differ in, one thing at a time, and how much each of them does to the cup.

use super::{Middle, Served, Strength};
use crate::ladder::water_s;
use class::ways::Way;
use serde::Serialize;

/// Leaf and times agree where the most is less than so many times the least. Our own rule.
pub const AGREE_FOLD: f64 = 1.25;
/// Water agrees where it is at most so many °C apart. Our own rule.
pub const AGREE_C: f64 = 5.0;

/// One thing in which ways can differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Factor {
    /// Leaf, grams per 100 ml.
    Leaf,
    /// Water of the first steep, °C.
    Water,
    /// The first steep, seconds.
    FirstSteep,
    /// The steeps after it, as many as all ways have: their mean on the logarithm, seconds.
    LaterSteeps,
}

impl Factor {
    /// All of them.
    pub const ALL: [Self; 4] = [Factor::Leaf, Factor::Water, Factor::FirstSteep, Factor::LaterSteeps];

    /// Whether it is told in folds; else in °C.
    pub fn in_folds(self) -> bool {
        self != Factor::Water
    }

    /// Its value in every one of the ways; `None` where they have no second steep in common.
    pub(super) fn values(self, ways: &[&Way]) -> Option<Vec<f64>> {
        let common = ways.iter().map(|way| way.steep_s.len()).min().unwrap_or(0);
        let later = |way: &Way| {
            let logs = way.steep_s[1..common].iter().map(|&s| water_s(s).ln());
            (logs.sum::<f64>() / (common - 1) as f64).exp()
        };
        match self {
            Factor::Leaf => Some(ways.iter().map(|way| way.dose_g_per_100_ml).collect()),
            Factor::Water => ways.iter().map(|way| way.temp_c.first().copied()).collect(),
            Factor::FirstSteep => ways.iter().map(|way| way.steep_s.first().map(|&s| water_s(s))).collect(),
            Factor::LaterSteeps if common < 2 => None,
            Factor::LaterSteeps => Some(ways.iter().map(|way| later(way)).collect()),
        }
    }
}

/// How far ways lie apart in one thing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Difference {
    /// In what.
    pub factor: Factor,
    /// The least of them, in its unit; a flash steep counts as 5 s.
    pub least: f64,
    /// The most of them.
    pub most: f64,
    /// How far they are apart: the most over the least, for water the most less the least, °C.
    pub span: f64,
    /// How many times as strong it alone makes the cup from its weakest to its strongest value, everything else as in the middle way:
    /// the first cup, for the later steeps the second.
    pub strength_fold: f64,
    /// Whether they agree in it.
    pub agree: bool,
}

/// What the ways differ in.
pub(super) fn all(ways: &[&Way], middle: &Middle, at: Strength) -> Vec<Difference> {
    let kind = ways.first().map(|way| way.kind).unwrap_or_default();
    let one = |factor: Factor| {
        let values = factor.values(ways)?;
        let least = values.iter().copied().reduce(f64::min)?;
        let most = values.iter().copied().reduce(f64::max)?;
        let span = if factor.in_folds() { most / least } else { most - least };
        let agree = if factor.in_folds() { span < AGREE_FOLD } else { span <= AGREE_C };
        let cup = |value: f64| {
            let mut served = Served::of(&middle.as_way(kind));
            let steep = usize::from(factor == Factor::LaterSteeps);
            match factor {
                Factor::Leaf => served.dose_g_per_100_ml = value,
                Factor::Water => served.steeps.first_mut()?.1 = value,
                Factor::FirstSteep => served.steeps.first_mut()?.0 = value,
                Factor::LaterSteeps => served.steeps.get_mut(1)?.0 = value,
            }
            at.of(&served).get(steep).copied()
        };
        Some(Difference { factor, least, most, span, strength_fold: cup(most)? / cup(least)?, agree })
    };
    Factor::ALL.into_iter().filter_map(one).collect()
}
