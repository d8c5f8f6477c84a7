//! Places in coded units: 0 is the middle of what was tasted, 1 a step from it.
//!
//! A step is half as much leaf again, 10 °C, half as long again. People tell strengths by their ratio, so dose and time are counted by
//! their logarithms; and what people do with one leaf differs about threefold in leaf, by 30 °C and fourfold in time, which is about
//! three such steps of each.

use super::rows::{Leaf, Place};
use plan::ways::choose::{STEP_C, STEP_FOLD};
use schemars::JsonSchema;
use serde::Serialize;

/// A factor was varied if its ways lie so many steps apart at least: less is a slip of the hand.
const VARIED: f64 = 0.25;

/// What can be turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// Grams of leaf per 100 ml of water.
    Dose,
    /// The water's temperature.
    Temperature,
    /// How long it steeps.
    Time,
}

/// One thing that was varied, and how it is coded: coded = (natural − ln centre or centre) / step.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "SpotFactor")]
pub struct Factor {
    /// What: dose in grams per 100 ml of water, temperature in °C, time in seconds of the first steep.
    pub what: What,
    /// Whether it is counted by its natural logarithm: dose and time. Its natural unit is then ln g/100 ml, or ln s.
    pub logarithm: bool,
    /// The value at which the coded unit is 0, in g/100 ml, °C or s: the middle of what was tasted, of dose and time the geometric one.
    pub centre: f64,
    /// How far a coded unit goes in the natural unit: ln 1.5 for dose and time, 10 for the temperature.
    pub step: f64,
    /// The lowest value that was tasted, in g/100 ml, °C or s.
    pub low: f64,
    /// The highest one.
    pub high: f64,
    /// At how many values it was tasted.
    pub levels: usize,
}

impl What {
    /// All of them, in the order of a [`Place`].
    pub const ALL: [What; 3] = [What::Dose, What::Temperature, What::Time];

    fn is_logarithm(self) -> bool {
        self != What::Temperature
    }

    /// A coded unit in the natural unit.
    pub fn step(self) -> f64 {
        if self.is_logarithm() { STEP_FOLD.ln() } else { STEP_C }
    }

    /// What people say, grams per 100 ml, °C or seconds, in the natural unit.
    pub fn natural(self, said: f64) -> f64 {
        if self.is_logarithm() { said.ln() } else { said }
    }

    /// A natural value as people say it: grams per 100 ml, °C, seconds.
    pub fn said(self, natural: f64) -> f64 {
        if self.is_logarithm() { natural.exp() } else { natural }
    }
}

impl Factor {
    /// The centre in natural units.
    pub fn natural_centre(&self) -> f64 {
        if self.logarithm { self.centre.ln() } else { self.centre }
    }

    /// A coded value in the natural unit.
    pub fn natural(&self, coded: f64) -> f64 {
        self.natural_centre() + self.step * coded
    }

    /// A coded value as people say it.
    pub fn said(&self, coded: f64) -> f64 {
        self.what.said(self.natural(coded))
    }

    /// A natural value, coded.
    pub fn coded(&self, natural: f64) -> f64 {
        (natural - self.natural_centre()) / self.step
    }
}

/// How the places of a leaf are coded.
#[derive(Clone, Debug, PartialEq)]
pub struct Coding {
    /// What was varied.
    pub factors: Vec<Factor>,
    /// The middle of what was tasted, natural; what was not varied stays there.
    pub middle: Place,
}

impl Coding {
    /// Of the ways of a leaf.
    pub fn of(leaf: &Leaf) -> Self {
        let values = |i: usize| leaf.ways.iter().map(move |way| way.place[i]);
        let ends = [0, 1, 2]
            .map(|i| (values(i).fold(f64::INFINITY, f64::min), values(i).fold(f64::NEG_INFINITY, f64::max)));
        let middle = ends.map(|(low, high)| f64::midpoint(low, high));
        let factor = |(i, what): (usize, What)| {
            let (low, high) = ends[i];
            let mut levels: Vec<f64> = values(i).collect();
            levels.sort_by(f64::total_cmp);
            levels.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
            (high - low >= VARIED * what.step()).then(|| Factor {
                what,
                logarithm: what.is_logarithm(),
                centre: what.said(middle[i]),
                step: what.step(),
                low: what.said(low),
                high: what.said(high),
                levels: levels.len(),
            })
        };
        Self { factors: What::ALL.into_iter().enumerate().filter_map(factor).collect(), middle }
    }

    /// Of a leaf of which hardly anything was varied yet: all three, about the middle of what was tasted.
    pub fn whole(leaf: &Leaf) -> Self {
        let middle = Self::of(leaf).middle;
        let factor = |what: What| {
            let centre = what.said(middle[what as usize]);
            let (logarithm, step) = (what.is_logarithm(), what.step());
            Factor { what, logarithm, centre, step, low: centre, high: centre, levels: 1 }
        };
        Self { factors: What::ALL.map(factor).to_vec(), middle }
    }

    /// A place in coded units.
    pub fn code(&self, place: &Place) -> Vec<f64> {
        self.factors.iter().map(|factor| factor.coded(place[factor.what as usize])).collect()
    }

    /// The place of coded units.
    pub fn place(&self, coded: &[f64]) -> Place {
        let mut place = self.middle;
        for (factor, coded) in self.factors.iter().zip(coded) {
            place[factor.what as usize] = factor.natural(*coded);
        }
        place
    }
}
