//! Which ways of a leaf would tell most of its best one.
//!
//! Beside what was tasted, ways are exchanged over a grid until the liking is known best where the best may still lie (I-optimal: the
//! smallest mean variance of how far the best lies above the ways that can't be told from it). The grid goes a step beyond what was
//! tasted, within [`limits`], and holds no way that is expected to lie far below the best. Until the best is known it holds new ways only;
//! of what was tasted the best so far comes again where it tells more than one more new way. Whether the two best again would be worth more,
//! [`super::again`] says.

use super::again::{APART, again};
use crate::spot::coding::{Coding, Factor, What};
use crate::spot::fitted::{Fitted, Scale, USUAL};
use crate::spot::limits::{beyond, limits};
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
    /// How many tasted it in a class so far. What is asked must not hang on how many seats the next class has.
    pub tasters: usize,
    /// Whether its best way is known well enough to look no further.
    pub known: bool,
    /// Water boils at so many °C there.
    pub boiling_c: f64,
    /// The temperatures that its water may have, °C; nothing where any will do.
    pub only_c: Option<Vec<f64>>,
}

/// The ways chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Chosen {
    /// Beside those that the class has in any case, in coded units; where the two best come again, all that it has, these first.
    pub ways: Vec<Vec<f64>>,
    /// How many of them are cups of the two best of those tasted, in turn; 0 where these do not come again.
    pub again: usize,
    /// Whether the best so far, where it was there only to tie the classes together, is in it.
    pub ties: bool,
    /// The share that will be left of how far the best may lie from where it is thought to be, 0 to 1, factor by factor.
    pub left: Vec<f64>,
    /// By how many points the liking about the best will be known more closely, standard error less standard error.
    pub gain: f64,
}

/// So many ways of a leaf beside the `given` ones of the class, at least one of each. Where these are only there to tie the classes
/// together (`free`), one more new way comes in place of one tasted before, and the two best again, if that is worth more. `None` where no
/// set of ways tells anything.
pub fn choose(asked: &Asked<'_>, given: &[Vec<f64>], free: bool, more: usize) -> Option<Chosen> {
    let mut candidates = asked.candidates();
    candidates.retain(|way| given.iter().all(|there| !same(there, way)));
    let (made, classes) = asked.made();
    let new: Vec<Vec<f64>> = candidates.iter().filter(|way| !asked.tasted(way)).cloned().collect();
    let grid = if asked.known || new.len() <= more { &candidates } else { &new };
    let (model, prior) = (asked.model(classes), asked.prior());
    let moments = moments(&model, asked.fitted, &asked.best, &candidates);
    let runs = |ways: &[Vec<f64>]| -> Vec<Planned> {
        ways.iter().map(|at| Planned { at: at.clone(), block: classes }).collect()
    };
    // The class of some ways and so many more, as it tells most.
    let found = |there: &[Planned], more: usize| -> Option<Vec<Planned>> {
        let with = [&made, there].concat();
        let mut wanted = vec![0; classes];
        wanted.push(more);
        let search = Search {
            model: &model,
            candidates: grid,
            made: &with,
            wanted: &wanted,
            repeats: false,
            aim: Aim::I(moments.clone()),
            prior: Some(&prior),
        };
        let chosen = exchange(&search, STARTS, SEED).ok()?;
        Some([there, &chosen].concat())
    };
    let variance = |aim: &[Vec<f64>], class: &[Planned]| {
        let search = Search {
            model: &model,
            candidates: grid,
            made: &[],
            wanted: &[],
            repeats: false,
            aim: Aim::I(aim.to_vec()),
            prior: Some(&prior),
        };
        search.variance(&[&made, class].concat())
    };
    let tied = found(&runs(given), more)?;
    let again_only = free && given.iter().all(|way| asked.tasted(way)) && !asked.known;
    let untied = again_only.then(|| found(&[], more + given.len())).flatten();
    let untied = untied.filter(|untied| variance(&moments, untied) < variance(&moments, &tied));
    let (ties, class) = (untied.is_none(), untied.unwrap_or(tied));
    let again = free.then(|| again(asked, (&model, &prior, &made), &candidates, &class, &found)).flatten();
    let ties = ties && again.is_none();
    let given = if ties { given.len() } else { 0 };
    let (again, class) = again.unwrap_or((0, class));
    let (before, after) = (variance(&moments, &[])?.sqrt(), variance(&moments, &class)?.sqrt());
    // The best lies as far off as its slopes are unsure, over how much the hill bends.
    let left = |factor: usize| {
        let off = |by: f64| {
            let mut at = asked.best.clone();
            at[factor] += by;
            at
        };
        let slope = model.contrasts(&alike(&[off(0.5)]), &off(-0.5));
        Some((variance(&slope, &class)? / variance(&slope, &[])?).sqrt().min(1.0))
    };
    Some(Chosen {
        ways: class[given..].iter().map(|run| run.at.clone()).collect(),
        again,
        ties,
        left: (0..asked.best.len()).map(left).collect::<Option<_>>()?,
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

    /// Between which coded values a factor may be tasted: a step beyond what was tasted at most, and within the limits.
    fn ends(&self, factor: &Factor) -> (f64, f64) {
        let (least, most) = limits(factor.what, self.boiling_c);
        let coded = |said: f64| factor.coded(factor.what.natural(said));
        beyond(factor.what, self.tried(factor), (coded(least), coded(most)), BEYOND)
    }

    /// Between which coded values a factor was tasted; the middle, where no surface is known.
    pub fn tried(&self, factor: &Factor) -> (f64, f64) {
        let at = self.coding.factors.iter().position(|own| own.what == factor.what).unwrap_or_default();
        self.fitted.map_or((0.0, 0.0), |fitted| (fitted.tried.low[at], fitted.tried.high[at]))
    }

    /// Whether a way is one that was tasted, to within a slip of the hand.
    pub fn tasted(&self, way: &[f64]) -> bool {
        let near = |own: &Vec<f64>| own.iter().zip(way).all(|(a, b)| (a - b).abs() < APART);
        self.leaf.ways.iter().filter(|own| own.cups > 0).any(|own| near(&self.coding.code(&own.place)))
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
