//! Which ways of a leaf would tell most of its best one.
//!
//! Beside what was tasted, ways are exchanged over a grid until the liking is known best where the best may still lie (I-optimal: the
//! smallest mean variance of how far the best lies above the ways that can't be told from it). The grid goes a step beyond what was
//! tasted, and holds no way that is expected to lie far below the best. Whether the two best again would be worth more, [`super::again`] says.

use super::again::again;
use crate::spot::coding::{Coding, Factor, What};
use crate::spot::fitted::{Fitted, Scale, USUAL};
use crate::spot::pour::Pour;
use crate::spot::region::Alike;
use crate::spot::rows::Leaf;
use plan::ways::choose::HILL;
use stats::design::exchange::{Aim, Search, exchange};
use stats::design::{Model, Planned, alike, cube};
use stats::surface::prior::Prior;
use stats::surface::shape::Shape;

/// How far the grid goes beyond what was tasted, steps.
pub const BEYOND: f64 = 1.0;
/// No way is tasted that is expected to lie so many points below the best, of a scale from 1 to 9.
pub const MOST_BELOW: f64 = 2.0;
/// The grid has so many values of each factor at most, and none nearer than half a step.
const LEVELS: usize = 10;
/// The shortest steep, s.
const SHORTEST_S: f64 = 5.0;
/// Exchanges from so many drawn starts.
const STARTS: usize = 4;
/// The same ledgers give the same class.
const SEED: u64 = 7;

/// What a class is to find out of a leaf.
#[derive(Clone, Debug)]
pub struct Asked<'a> {
    /// The leaf.
    pub leaf: &'a Leaf,
    /// How its places are coded.
    pub coding: &'a Coding,
    /// Its surface, where the best way is known.
    pub fitted: Option<&'a Fitted>,
    /// The best so far, or the middle where there is none, coded.
    pub best: Vec<f64>,
    /// The scale of its scores.
    pub scale: Scale,
    /// How many are to taste it.
    pub tasters: usize,
    /// Water boils at so many °C there.
    pub boiling_c: f64,
    /// The temperatures that its water may have, °C; nothing where any will do.
    pub only_c: Option<Vec<f64>>,
}

/// The ways chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Chosen {
    /// Beside those that the class has in any case, in coded units; where the two best come again, all that it has.
    pub ways: Vec<Vec<f64>>,
    /// Whether the two best of those tasted come again, half of the cups each, instead of all others.
    pub again: bool,
    /// The share that is left of how far the best may lie from where it is thought to be, 0 to 1.
    pub left: f64,
    /// By how many points the liking about the best will be known more closely, standard error less standard error.
    pub gain: f64,
}

/// So many ways of a leaf beside the `given` ones of the class, at least one of each. Where these are only there to tie the classes
/// together (`free`), the two best come again instead of all, if that is worth more. `None` where no set of ways tells anything.
pub fn choose(asked: &Asked<'_>, given: &[Vec<f64>], free: bool, more: usize) -> Option<Chosen> {
    let mut candidates = asked.candidates();
    candidates.retain(|way| given.iter().all(|there| !same(there, way)));
    let (made, classes) = asked.made();
    let (model, prior) = (asked.model(classes), asked.prior());
    let moments = moments(&model, asked.fitted, &asked.best, &candidates);
    let served = given.iter().map(|at| Planned { at: at.clone(), block: classes });
    let with: Vec<Planned> = made.iter().cloned().chain(served).collect();
    let mut wanted = vec![0; classes];
    wanted.push(more);
    let search = Search {
        model: &model,
        candidates: &candidates,
        made: &with,
        wanted: &wanted,
        repeats: false,
        aim: Aim::I(moments),
        prior: Some(&prior),
    };
    let chosen = exchange(&search, STARTS, SEED).ok()?;
    let all: Vec<Planned> = with[made.len()..].iter().chain(&chosen).cloned().collect();
    let again = free.then(|| again(asked, (&model, &prior, &made), &candidates, &all)).flatten();
    let after = |class: &[Planned]| search.variance(&[&made, class].concat());
    let before = search.variance(&made)?.sqrt();
    let after = after(again.as_ref().unwrap_or(&all))?.sqrt();
    let ways = again.as_ref().unwrap_or(&chosen).iter().map(|run| run.at.clone()).collect();
    Some(Chosen {
        ways,
        again: again.is_some(),
        left: (after / before).min(1.0),
        gain: (before - after).max(0.0) * prior.noise,
    })
}

/// Whether two places are one.
pub fn same(one: &[f64], other: &[f64]) -> bool {
    one.iter().zip(other).all(|(a, b)| (a - b).abs() < 1e-9)
}

impl Asked<'_> {
    /// The surface, with a level for each class so far and one for the next.
    pub fn model(&self, classes: usize) -> Model {
        Model { shape: Shape::second_order(self.coding.factors.len()), blocks: classes + 1 }
    }

    /// What is assumed beforehand; one run stands for a whole class's cups of a way.
    pub fn prior(&self) -> Prior {
        let points = self.scale.points();
        let noise =
            self.fitted.map_or(HILL.noise * points, |fitted| fitted.surface.residual.mean_square.sqrt());
        Prior::hill(noise / (self.tasters.max(1) as f64).sqrt(), USUAL.loss * points, USUAL.reach)
    }

    /// The ways of each class once, and how many classes there are.
    pub fn made(&self) -> (Vec<Planned>, usize) {
        let classes = self.leaf.classes();
        let of = |(block, class): (usize, &usize)| {
            let own = self.leaf.ways.iter().filter(|way| way.cups > 0 && way.classes.contains(class));
            own.map(|way| Planned { at: self.coding.code(&way.place), block }).collect::<Vec<_>>()
        };
        (classes.iter().enumerate().flat_map(of).collect(), classes.len())
    }

    /// A place as it is poured, rounded within what may be tasted.
    pub fn pour(&self, coded: &[f64]) -> Pour {
        let ends = |factor: &Factor| {
            let (low, high) = self.ends(factor);
            (factor.said(low), factor.said(high))
        };
        Pour::within(self.leaf, self.coding, coded, ends, self.boiling_c.floor())
    }

    /// Between which coded values a factor may be tasted: a step beyond what was tasted at most, and nothing that boils away or is over
    /// at once.
    fn ends(&self, factor: &Factor) -> (f64, f64) {
        let at = self.coding.factors.iter().position(|own| own.what == factor.what).unwrap_or_default();
        let (low, high) =
            self.fitted.map_or((0.0, 0.0), |fitted| (fitted.tried.low[at], fitted.tried.high[at]));
        let (low, high) = (low - BEYOND, high + BEYOND);
        let (low, high) = match factor.what {
            What::Temperature => (low, high.min(factor.coded(self.boiling_c.floor()))),
            What::Time => (low.max(factor.coded(SHORTEST_S.ln())), high),
            What::Dose => (low, high),
        };
        // Where all that was tasted lies outside, the nearest that may be tasted.
        (low.min(high), high)
    }

    /// The ways that may be tasted, each as it is poured and once, in coded units: none expected to lie far below the best.
    pub fn candidates(&self) -> Vec<Vec<f64>> {
        let levels = |factor: &Factor| -> Vec<f64> {
            let (low, high) = self.ends(factor);
            if let (What::Temperature, Some(only)) = (factor.what, &self.only_c) {
                let fits = |c: &f64| (low - 1e-9..=high + 1e-9).contains(c);
                return only.iter().map(|&c| factor.coded(c)).filter(fits).collect();
            }
            let n = (((high - low) / 0.5).round() as usize + 1).clamp(2, LEVELS);
            (0..n).map(|k| low + (high - low) * k as f64 / (n - 1) as f64).collect()
        };
        let mut cells = self.coding.factors.iter().fold(vec![vec![]], |cells: Vec<Vec<f64>>, factor| {
            let levels = levels(factor);
            cells.iter().flat_map(|cell| levels.iter().map(|x| [cell.as_slice(), &[*x]].concat())).collect()
        });
        cells.iter_mut().for_each(|cell| *cell = self.coding.code(&self.pour(cell).place()));
        cells.sort_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
        cells.dedup_by(|a, b| same(a, b));
        cells.retain(|way| self.below(way) < MOST_BELOW * self.scale.points());
        cells
    }

    /// By how many points a way is expected to lie below the best; 0 where nothing is known.
    pub fn below(&self, way: &[f64]) -> f64 {
        self.fitted.map_or(0.0, |fitted| fitted.surface.difference(&self.best, way).value)
    }
}

/// Over which ways the liking is to be known, beside the best: those that can't be told from it, and where nothing is known the whole.
fn moments(model: &Model, fitted: Option<&Fitted>, best: &[f64], candidates: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let about = fitted.and_then(|fitted| Alike::about(fitted, best, true).ok());
    let open: Vec<Vec<f64>> = match &about {
        Some(alike) => candidates.iter().filter(|x| alike.holds(x)).cloned().collect(),
        None => Vec::new(),
    };
    let points = if open.is_empty() { cube(model.shape.factors) } else { alike(&open) };
    model.contrasts(&points, best)
}
