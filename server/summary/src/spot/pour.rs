//! A place as it is poured: grams, °C and seconds that a scale, a kettle and a clock can be set to.

use super::coding::{Coding, Factor, What};
use super::limits::limits;
use super::rows::{Leaf, Place};
use schemars::JsonSchema;
use serde::Serialize;

/// A scale shows tenths of a gram.
const GRAMS: f64 = 0.1;
/// A kettle is set to whole °C.
const CELSIUS: f64 = 1.0;
/// The hottest water.
const BOILING_C: f64 = 100.0;

/// A way that can be poured.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Pour {
    /// Dry leaf, grams.
    pub leaf_g: f64,
    /// Water per steep, millilitres: that of the last class.
    pub water_ml: f64,
    /// The dose that makes, grams per 100 ml.
    pub dose_g_per_100_ml: f64,
    /// Water of each steep, °C.
    pub temp_c: Vec<f64>,
    /// Each steep, seconds: as many as were tasted, by the leaf's usual ladder.
    pub steep_s: Vec<u32>,
}

/// Seconds go in steps of this many.
fn seconds_step(seconds: f64) -> f64 {
    match seconds {
        s if s < 20.0 => 1.0,
        s if s < 180.0 => 5.0,
        _ => 15.0,
    }
}

/// To a step, but never out of the ends.
fn round(value: f64, step: f64, (low, high): (f64, f64)) -> f64 {
    let value = if low <= high { value.clamp(low, high) } else { value };
    let inside = |v: &f64| *v >= low - 1e-9 && *v <= high + 1e-9;
    let tries = [(value / step).round() * step, (value / step).floor() * step, (value / step).ceil() * step];
    tries.into_iter().find(inside).unwrap_or(value)
}

/// A number without what rounding leaves behind.
fn clean(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}

impl Pour {
    /// The place of coded units, rounded within what was tasted; where `inside` is no, it may lie beyond, as far as there are no [`limits`].
    pub fn of(leaf: &Leaf, coding: &Coding, coded: &[f64], inside: bool) -> Self {
        let ends = |factor: &Factor| match limits(factor.what, BOILING_C) {
            _ if inside => (factor.low, factor.high),
            (least, most) => (least.min(factor.low), most.max(factor.high)),
        };
        Self::within(leaf, coding, coded, ends, BOILING_C)
    }

    /// The same, rounded within the ends of each factor, g/100 ml, °C or s; no water that is varied is hotter than `hottest_c`.
    pub fn within(
        leaf: &Leaf,
        coding: &Coding,
        coded: &[f64],
        ends: impl Fn(&Factor) -> (f64, f64),
        hottest_c: f64,
    ) -> Self {
        let place = coding.place(coded);
        let varied = |what: What| coding.factors.iter().find(|factor| factor.what == what);
        // What was the same in all ways stays as it is.
        let ends = |what: What| varied(what).map_or((f64::INFINITY, 0.0), &ends);
        let hottest_c = varied(What::Temperature).map_or(BOILING_C, |_| hottest_c.min(BOILING_C));
        let water_ml = leaf.water_ml;
        let dose = ends(What::Dose);
        let leaf_g = What::Dose.said(place[0]) * water_ml / 100.0;
        let leaf_g = round(leaf_g, GRAMS, (dose.0 * water_ml / 100.0, dose.1 * water_ml / 100.0));
        let temp_c = round(place[1], CELSIUS, ends(What::Temperature)).min(hottest_c);
        let seconds = What::Time.said(place[2]);
        let seconds = round(seconds, seconds_step(seconds), ends(What::Time));
        let steeps = 0..leaf.ladder.tasted.max(1);
        let step_s = |steep: usize| {
            let own = seconds * leaf.ladder.times.get(steep).copied().unwrap_or(1.0);
            if steep == 0 { own } else { (own / seconds_step(own)).round() * seconds_step(own) }
        };
        let step_c = |steep: usize| {
            let hotter = leaf.ladder.hotter_c.get(steep).copied().unwrap_or(0.0);
            clean((temp_c + hotter).min(hottest_c))
        };
        Self {
            leaf_g: clean(leaf_g),
            water_ml,
            dose_g_per_100_ml: clean(leaf_g * 100.0 / water_ml),
            temp_c: steeps.clone().map(step_c).collect(),
            steep_s: steeps.map(|steep| step_s(steep).round().max(1.0) as u32).collect(),
        }
    }

    /// Where it lies.
    pub fn place(&self) -> Place {
        let first_s = self.steep_s.first().copied().unwrap_or(1);
        let first_c = self.temp_c.first().copied().unwrap_or(BOILING_C);
        [self.dose_g_per_100_ml.ln(), first_c, f64::from(first_s).ln()]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_are_rounded_within_what_was_tasted() {
        for (value, step, ends, to) in [
            (4.23, 0.1, (2.0, 6.0), 4.2),
            (5.98, 0.1, (2.0, 5.98), 5.9),
            (2.01, 0.1, (2.01, 6.0), 2.1),
            (87.6, 1.0, (80.0, 95.0), 88.0),
            (33.0, 5.0, (20.0, 60.0), 35.0),
            (33.0, 5.0, (32.0, 34.0), 33.0),
            (3.25, 0.1, (f64::INFINITY, 0.0), 3.25),
            (14.2, 0.1, (0.5, 12.0), 12.0),
        ] {
            assert!((round(value, step, ends) - to).abs() < 1e-9, "{value} within {ends:?}");
        }
        assert_eq!([12.0, 45.0, 200.0].map(seconds_step), [1.0, 5.0, 15.0]);
    }
}
