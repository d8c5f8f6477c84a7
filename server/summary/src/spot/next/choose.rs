//! Which ways of a leaf would tell most of its best one.
//!
//! Beside what was tasted, ways are exchanged over a grid until the liking is known best where the best may still lie (I-optimal: the
//! smallest mean variance of how far the best lies above the ways that can't be told from it). The grid goes a step beyond what was
//! tasted, and holds no way that is expected to lie far below the best.

use crate::spot::coding::{Coding, What};
use crate::spot::fitted::{Fitted, Scale, USUAL};
use crate::spot::region::Alike;
use crate::spot::rows::Leaf;
use plan::ways::choose::HILL;
use stats::design::exchange::{Aim, Search, exchange};
use stats::design::{Model, Planned, alike, cube};
use stats::surface::prior::Prior;
use stats::surface::shape::Shape;

/// How far the grid goes beyond what was tasted, steps.
const BEYOND: f64 = 1.0;
/// No way is tasted that is expected to lie so many points below the best, of a scale from 1 to 9.
const MOST_BELOW: f64 = 2.0;
/// The grid has so many values of each factor at most, and none nearer than half a step.
const LEVELS: usize = 9;
/// The hottest water, and the shortest steep, s.
const BOILING_C: f64 = 100.0;
const SHORTEST_S: f64 = 5.0;
/// Exchanges from so many drawn starts.
const STARTS: usize = 4;
/// The same ledgers give the same class.
const SEED: u64 = 7;

/// The ways chosen, in coded units.
#[derive(Clone, Debug, PartialEq)]
pub struct Chosen {
    /// The first is the best so far, or the middle where there is none.
    pub ways: Vec<Vec<f64>>,
    /// The share that is left of how far the best may lie from where it is thought to be, 0 to 1.
    pub left: f64,
}

/// So many ways of a leaf, at least two, to be tasted by so many. `None` where no set of them tells anything.
pub fn choose(
    leaf: &Leaf,
    coding: &Coding,
    fitted: Option<&Fitted>,
    best: Option<&[f64]>,
    scale: Scale,
    (count, tasters): (usize, usize),
) -> Option<Chosen> {
    let factors = coding.factors.len();
    let first = best.map_or_else(|| vec![0.0; factors], <[f64]>::to_vec);
    let candidates = grid(coding, fitted, &first, scale);
    let (made, classes) = made(leaf, coding);
    let model = Model { shape: Shape::second_order(factors), blocks: classes + 1 };
    let noise =
        fitted.map_or(HILL.noise * scale.points(), |fitted| fitted.surface.residual.mean_square.sqrt());
    // One run stands for a whole class's cups of a way.
    let prior = Prior::hill(noise / (tasters.max(1) as f64).sqrt(), USUAL.loss * scale.points(), USUAL.reach);
    let moments = moments(&model, fitted, &first, &candidates);
    let tie = Planned { at: first.clone(), block: classes };
    let made: Vec<Planned> = made.into_iter().chain([tie]).collect();
    let mut wanted = vec![0; classes];
    wanted.push(count.saturating_sub(1));
    let aim = Aim::I(moments.clone());
    let search = Search {
        model: &model,
        candidates: &candidates,
        made: &made,
        wanted: &wanted,
        repeats: false,
        aim,
        prior: Some(&prior),
    };
    let chosen = exchange(&search, STARTS, SEED).ok()?;
    let with: Vec<Planned> = made.iter().chain(&chosen).cloned().collect();
    let without = &made[..made.len() - 1];
    let left = (search.variance(&with)? / search.variance(without)?).sqrt();
    let ways = std::iter::once(first).chain(chosen.into_iter().map(|run| run.at)).collect();
    Some(Chosen { ways, left: left.min(1.0) })
}

/// The ways of each class once, and how many classes there are.
fn made(leaf: &Leaf, coding: &Coding) -> (Vec<Planned>, usize) {
    let classes = leaf.classes();
    let of = |(block, class): (usize, &usize)| {
        let own = leaf.ways.iter().filter(|way| way.cups > 0 && way.classes.contains(class));
        own.map(|way| Planned { at: coding.code(&way.place), block }).collect::<Vec<_>>()
    };
    (classes.iter().enumerate().flat_map(of).collect(), classes.len())
}

/// The ways that may be tasted: a step beyond what was tasted at most, none that boils away or is over at once, none far below the best.
fn grid(coding: &Coding, fitted: Option<&Fitted>, best: &[f64], scale: Scale) -> Vec<Vec<f64>> {
    let ends = |i: usize| match fitted {
        Some(fitted) => (fitted.tried.low[i] - BEYOND, fitted.tried.high[i] + BEYOND),
        None => (-BEYOND, BEYOND),
    };
    let levels = |i: usize| -> Vec<f64> {
        let factor = &coding.factors[i];
        let (low, high) = ends(i);
        let (low, high) = match factor.what {
            What::Temperature => (low, high.min(factor.coded(BOILING_C))),
            What::Time => (low.max(factor.coded(SHORTEST_S.ln())), high),
            What::Dose => (low, high),
        };
        let n = (((high - low) / 0.5).round() as usize + 1).clamp(2, LEVELS);
        (0..n).map(|k| low + (high - low) * k as f64 / (n - 1) as f64).collect()
    };
    let cells = (0..coding.factors.len()).fold(vec![vec![]], |cells: Vec<Vec<f64>>, i| {
        let levels = levels(i);
        cells.iter().flat_map(|cell| levels.iter().map(|x| [cell.as_slice(), &[*x]].concat())).collect()
    });
    let most = MOST_BELOW * scale.points();
    let liked = |x: &Vec<f64>| fitted.is_none_or(|fitted| fitted.surface.difference(best, x).value <= most);
    cells.into_iter().filter(liked).collect()
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
