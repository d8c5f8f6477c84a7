//! Whether tasters have their tops in different places, and two groups of them if so.
//!
//! On hills that bend alike and differ in their top, a taster's scores rise along some factor more than the common surface does: the tops'
//! distances stand in the slopes. So what each cup is off the surface, less what its cell (a way in one class) and its taster are off in
//! the mean, is laid along the factors, taster by taster. Who merely uses more of the scale than others is left out of it: the factors
//! are first freed of the surface itself. The test takes the direction in which these slopes spread most, against the same of
//! each taster's cups in orders drawn by lot; the two groups are a mixture of two slopes by expectation and maximisation (of any
//! textbook of mixtures). A rule of our own.

use super::{Run, Surface};
use crate::eigen::axes;
use crate::linear::{Root, dot, times};
use crate::lot::Lot;
use std::collections::BTreeMap;

/// Fewer cups of a taster say nothing of where the taster's top lies.
const LEAST_CUPS: usize = 4;
/// Fewer tasters are no two groups.
const LEAST_TASTERS: usize = 6;
/// Orders drawn beside the true one.
const ORDERS: usize = 499;
/// A difference is shown if so many of all orders, the true one among them, give as much at most.
const LEVEL: f64 = 0.05;
/// Where the orders begin; any number would do.
const SEED: u64 = 20_261;
/// Rounds in which cells and tasters take turns to be centred: one is enough where all have tasted all.
const CENTRINGS: usize = 3;
/// Turns of the mixture at most, and what counts as settled.
const TURNS: usize = 200;
const SETTLED: f64 = 1e-5;
/// What is left of a direction is rounding below this share of it.
const ROUNDING: f64 = 1e-9;

/// Two groups of tasters.
#[derive(Clone, Debug, PartialEq)]
pub struct Groups {
    /// The share of orders that part the tasters as much, the true one among them.
    pub p: f64,
    /// What each group's slopes are above the common ones, points per coded unit.
    pub slopes: [Vec<f64>; 2],
    /// Each taster's block, and how likely the taster is of the second group, 0 to 1. Who has too few cups is not in it.
    pub second: Vec<(usize, f64)>,
}

impl Surface {
    /// The same surface with so many points per coded unit added to each factor's slope.
    pub fn steeper(&self, slopes: &[f64]) -> Self {
        let mut steeper = self.clone();
        // Slopes come first in every shape.
        steeper.coefficients.iter_mut().zip(slopes).for_each(|(own, more)| *own += more);
        steeper
    }
}

/// A taster with enough cups.
struct Own {
    block: usize,
    runs: Vec<usize>,
    /// Each factor over the cups, centred and freed of the surface.
    columns: Vec<Vec<f64>>,
    /// Their products.
    gram: Vec<Vec<f64>>,
}

/// Two groups of tasters, if their tops differ more than chance alone would make them. The first kind of blocks is the taster; `cells` has
/// the class and the way of each run; `spread` is the standard deviation about 0 that a group's slope is expected to have, points per
/// coded unit, infinite for none. Nothing where there are too few cups or tasters, where nothing is shown, or where one group would
/// be a single taster.
pub fn groups(surface: &Surface, runs: &[Run], cells: &[(usize, usize)], spread: f64) -> Option<Groups> {
    let owns = owns(surface, runs);
    if owns.len() < LEAST_TASTERS {
        return None;
    }
    let left = centred(&surface.left_over(runs), runs, cells);
    let total = sum(owns.iter().map(|own| own.gram.clone()))?;
    let root = Root::of(&total)?;
    let slopes = |left: &[f64]| owns.iter().map(|own| own.along(left)).collect::<Vec<_>>();
    let true_slopes = slopes(&left);
    let (most, direction) = spread_most(&root, &true_slopes, &left);
    let p = p(most, &left, &owns, |left| {
        let left = centred(left, runs, cells);
        spread_most(&root, &slopes(&left), &left).0
    })?;
    let first = |slopes: &Vec<f64>| f64::from(u8::from(dot(&root.forward(slopes), &direction) > 0.0));
    let start = true_slopes.iter().map(first).collect();
    let squares = left.iter().map(|left| left * left).sum();
    let (slopes, second) =
        Mixture { owns: &owns, slopes: &true_slopes, squares, spread, df: df(runs, cells) }.found(start)?;
    let of_second = second.iter().filter(|share| **share > 0.5).count();
    let both = of_second > 1 && owns.len() - of_second > 1;
    both.then(|| Groups { p, slopes, second: owns.iter().map(|own| own.block).zip(second).collect() })
}

/// The share of orders that spread as much; nothing as soon as it is sure to lie above the level.
fn p(most: f64, left: &[f64], owns: &[Own], spread: impl Fn(&[f64]) -> f64) -> Option<f64> {
    let (mut lot, mut as_much) = (Lot::of(SEED), 1);
    for _ in 0..ORDERS {
        let mut drawn = left.to_vec();
        for own in owns {
            let mut of_taster: Vec<f64> = own.runs.iter().map(|&n| left[n]).collect();
            lot.shuffle(&mut of_taster);
            own.runs.iter().zip(of_taster).for_each(|(&n, left)| drawn[n] = left);
        }
        as_much += usize::from(spread(&drawn) >= most);
        if as_much as f64 > LEVEL * (ORDERS + 1) as f64 {
            return None;
        }
    }
    Some(as_much as f64 / (ORDERS + 1) as f64)
}

/// How free cells' and tasters' leavings are.
fn df(runs: &[Run], cells: &[(usize, usize)]) -> f64 {
    let count = |values: &mut Vec<(usize, usize)>| {
        values.sort_unstable();
        values.dedup();
        values.len() as f64
    };
    let tasters = count(&mut runs.iter().map(|run| (0, block(run))).collect());
    let classes = count(&mut cells.iter().map(|cell| (0, cell.0)).collect());
    (runs.len() as f64 - tasters - count(&mut cells.to_vec()) + classes).max(1.0)
}

fn block(run: &Run) -> usize {
    run.blocks.first().copied().unwrap_or_default()
}

/// What is left once the means of cells and of tasters are taken out.
fn centred(left: &[f64], runs: &[Run], cells: &[(usize, usize)]) -> Vec<f64> {
    let mut left = left.to_vec();
    let tasters: Vec<(usize, usize)> = runs.iter().map(|run| (0, block(run))).collect();
    for _ in 0..CENTRINGS {
        for of in [cells, &tasters] {
            let mut means: BTreeMap<(usize, usize), (f64, f64)> = BTreeMap::new();
            for (of, left) in of.iter().zip(&left) {
                let mean = means.entry(*of).or_default();
                *mean = (mean.0 + left, mean.1 + 1.0);
            }
            left.iter_mut().zip(of).for_each(|(left, of)| *left -= means[of].0 / means[of].1);
        }
    }
    left
}

/// The tasters with enough cups.
fn owns(surface: &Surface, runs: &[Run]) -> Vec<Own> {
    let mut of: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (n, run) in runs.iter().enumerate() {
        of.entry(block(run)).or_default().push(n);
    }
    let own = |(block, own): (usize, Vec<usize>)| {
        let height = |&n: &usize| dot(&surface.shape.values(&runs[n].at), &surface.coefficients);
        let height = about_mean(own.iter().map(height).collect());
        let squares = dot(&height, &height);
        let column = |i: usize| {
            let mut column = about_mean(own.iter().map(|&n| runs[n].at[i]).collect());
            let share = if squares > ROUNDING { dot(&column, &height) / squares } else { 0.0 };
            column.iter_mut().zip(&height).for_each(|(value, height)| *value -= share * height);
            column
        };
        let columns: Vec<Vec<f64>> = (0..surface.shape.factors).map(column).collect();
        let gram = columns.iter().map(|a| columns.iter().map(|b| dot(a, b)).collect()).collect();
        Own { block, runs: own, columns, gram }
    };
    of.into_iter().filter(|(_, own)| own.len() >= LEAST_CUPS).map(own).collect()
}

fn about_mean(mut values: Vec<f64>) -> Vec<f64> {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    values.iter_mut().for_each(|value| *value -= mean);
    values
}

impl Own {
    /// What is left of the taster's cups, along each factor.
    fn along(&self, left: &[f64]) -> Vec<f64> {
        let sum = |column: &Vec<f64>| column.iter().zip(&self.runs).map(|(x, &n)| x * left[n]).sum();
        self.columns.iter().map(sum).collect()
    }
}

/// How much of all squares the slopes spread along the direction in which they do so most, and that direction, in units in which all are alike
/// well known.
fn spread_most(root: &Root, slopes: &[Vec<f64>], left: &[f64]) -> (f64, Vec<f64>) {
    let parts: Vec<Vec<f64>> = slopes.iter().map(|slopes| root.forward(slopes)).collect();
    let factors = parts.first().map_or(0, Vec::len);
    let cell = |i: usize, j: usize| parts.iter().map(|part| part[i] * part[j]).sum::<f64>();
    let matrix: Vec<Vec<f64>> = (0..factors).map(|i| (0..factors).map(|j| cell(i, j)).collect()).collect();
    let squares: f64 = left.iter().map(|left| left * left).sum();
    let first = axes(&matrix).into_iter().next();
    first.map_or((0.0, Vec::new()), |axis| (axis.value / squares, axis.direction))
}

fn sum(matrices: impl Iterator<Item = Vec<Vec<f64>>>) -> Option<Vec<Vec<f64>>> {
    matrices.reduce(|mut sum, matrix| {
        sum.iter_mut().flatten().zip(matrix.iter().flatten()).for_each(|(sum, value)| *sum += value);
        sum
    })
}

/// Two slopes, of which each taster has one.
struct Mixture<'a> {
    owns: &'a [Own],
    slopes: &'a [Vec<f64>],
    squares: f64,
    df: f64,
    spread: f64,
}

impl Mixture<'_> {
    /// The slopes of the groups, and each taster's share in the second.
    fn found(&self, mut second: Vec<f64>) -> Option<([Vec<f64>; 2], Vec<f64>)> {
        let mut noise = self.squares / self.df;
        let mut slopes = [Vec::new(), Vec::new()];
        for _ in 0..TURNS {
            let first: Vec<f64> = second.iter().map(|share| 1.0 - share).collect();
            slopes = [self.of(&first, noise)?, self.of(&second, noise)?];
            let told: [Vec<f64>; 2] = [0, 1].map(|g| self.told(&slopes[g]));
            let explained: f64 =
                (0..second.len()).map(|i| first[i] * told[0][i] + second[i] * told[1][i]).sum();
            noise = ((self.squares - explained) / self.df).max(ROUNDING * self.squares);
            let part = second.iter().sum::<f64>() / second.len() as f64;
            let odds = |(one, two): (&f64, &f64)| (part / (1.0 - part)).ln() + (two - one) / (2.0 * noise);
            let next: Vec<f64> =
                told[0].iter().zip(&told[1]).map(|told| 1.0 / (1.0 + (-odds(told)).exp())).collect();
            let moved = next.iter().zip(&second).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            second = next;
            if moved < SETTLED || moved.is_nan() {
                break;
            }
        }
        second.iter().all(|share| share.is_finite()).then_some((slopes, second))
    }

    /// The slopes of a group, each taster weighted.
    fn of(&self, weights: &[f64], noise: f64) -> Option<Vec<f64>> {
        let weighted = |(own, weight): (&Own, &f64)| -> Vec<Vec<f64>> {
            own.gram.iter().map(|row| row.iter().map(|value| weight * value).collect()).collect()
        };
        let mut gram = sum(self.owns.iter().zip(weights).map(weighted))?;
        let trace: f64 = (0..gram.len()).map(|i| gram[i][i]).sum();
        for (i, row) in gram.iter_mut().enumerate() {
            row[i] += noise / self.spread.powi(2) + 1e-6 * trace;
        }
        let total =
            |i: usize| self.slopes.iter().zip(weights).map(|(slopes, weight)| weight * slopes[i]).sum();
        let totals: Vec<f64> = (0..gram.len()).map(total).collect();
        let root = Root::of(&gram)?;
        Some(root.back(&root.forward(&totals)))
    }

    /// The squares that a group's slopes take off each taster's.
    fn told(&self, group: &[f64]) -> Vec<f64> {
        let own = |(own, slopes): (&Own, &Vec<f64>)| {
            2.0 * dot(slopes, group) - dot(group, &times(&own.gram, group))
        };
        self.owns.iter().zip(self.slopes).map(own).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dist::normal_quantile;
    use crate::surface::fit;
    use crate::surface::shape::Shape;

    /// A class of nine ways; each taster's top lies so far from 0 along the first factor.
    fn class(tops: &[f64], wider: f64, seed: u64) -> (Vec<Run>, Vec<(usize, usize)>) {
        let mut lot = Lot::of(seed);
        let mut run = |n: usize| {
            let (taster, way) = (n / 9, n % 9);
            let at = vec![(way % 3) as f64 - 1.0, (way / 3) as f64 - 1.0];
            let height = -(at[0] - tops[taster]).powi(2) - at[1] * at[1];
            let noise = normal_quantile(lot.share().min(1.0 - 1e-9)).unwrap();
            let times = if taster % 2 == 0 { wider } else { 1.0 };
            Run { at, blocks: vec![taster], score: times * height + noise }
        };
        let runs: Vec<Run> = (0..9 * tops.len()).map(&mut run).collect();
        (runs, (0..9 * tops.len()).map(|n| (0, n % 9)).collect())
    }

    fn found(tops: &[f64], wider: f64, seed: u64) -> Option<Groups> {
        let (runs, cells) = class(tops, wider, seed);
        let surface = fit(&runs, &Shape::second_order(2), None).unwrap();
        groups(&surface, &runs, &cells, f64::INFINITY)
    }

    #[test]
    fn tasters_with_tops_on_either_side_are_parted_where_they_were() {
        let tops: Vec<f64> = (0..12).map(|n| if n < 5 { -0.8 } else { 0.8 }).collect();
        let groups = found(&tops, 1.0, 1).unwrap();
        assert!(groups.p <= 0.01, "{groups:?}");
        let up = usize::from(groups.slopes[1][0] > groups.slopes[0][0]);
        let right = groups.second.iter().filter(|(n, share)| {
            usize::from(*share > 0.5) == usize::from(*n >= 5) * up + usize::from(*n < 5) * (1 - up)
        });
        assert!(right.count() >= 11, "{groups:?}");
        // Slopes differ by twice the bend times the distance.
        assert!((groups.slopes[up][0] - groups.slopes[1 - up][0] - 3.2).abs() < 0.8, "{groups:?}");
    }

    /// Binomial of 200 at 5 %: above 20 in 3 of 1,000 choices of seeds.
    #[test]
    fn where_all_have_one_top_groups_are_seldom_seen_even_if_half_use_more_of_the_scale() {
        for (wider, top) in [(1.0, 0.0), (1.8, 0.0), (1.8, 0.6)] {
            let seen = (0..200).filter(|seed| found(&[top; 10], wider, *seed).is_some()).count();
            assert!(seen <= 20, "{seen} of 200 with {wider}");
        }
    }

    #[test]
    fn too_few_tasters_or_cups_say_nothing() {
        assert_eq!(found(&[-2.0, 2.0, -2.0, 2.0, 2.0], 1.0, 1), None);
        let (mut runs, cells) = class(&[-2.0, 2.0, -2.0, 2.0, -2.0, 2.0], 1.0, 1);
        let surface = fit(&runs, &Shape::second_order(2), None).unwrap();
        assert!(groups(&surface, &runs, &cells, f64::INFINITY).is_some());
        for (n, run) in runs.iter_mut().enumerate() {
            run.blocks[0] = n / 3;
        }
        assert_eq!(groups(&surface, &runs, &cells, f64::INFINITY), None);
    }
}
