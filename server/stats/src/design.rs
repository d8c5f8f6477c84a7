//! Which ways to taste next: how much a set of ways tells of a surface, and the set that tells most.
//!
//! Runs are rows of the surface's terms beside a column for each block (class), and X′X of these rows is what they tell: the
//! coefficients' covariances are the scores' variance times its inverse (Kiefer & Wolfowitz; of any textbook of optimal design).

pub mod exchange;
pub mod gain;
pub mod named;

use super::linear::{Root, dot, sandwich};
use super::surface::shape::Shape;

/// What is to be fitted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Model {
    pub shape: Shape,
    /// How many blocks there are, as classes, each with a level of its own; 1 at least.
    pub blocks: usize,
}

/// One way in one block.
#[derive(Clone, Debug, PartialEq)]
pub struct Planned {
    /// In coded units.
    pub at: Vec<f64>,
    /// Its block, from 0.
    pub block: usize,
}

/// How much a set of runs tells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Criteria {
    /// |X′X|: the larger, the smaller the region of all coefficients together.
    pub determinant: f64,
    /// |X′X/N|^(1/p) for N runs and p columns: the same for each run and coefficient.
    pub d: f64,
    /// The mean variance of the coefficients, times N over the scores' variance.
    pub a: f64,
    /// The mean variance of the expected score over the points that are asked for, times N over the scores' variance.
    pub i: f64,
    /// p over the largest variance of the expected score at these points, on the same scale: 1 is as good as can be (G-efficiency).
    pub g: f64,
}

/// Points over which a surface is wanted, each with its weight; the weights add up to 1.
pub type Points = Vec<(Vec<f64>, f64)>;

/// These points, all alike.
pub fn alike(points: &[Vec<f64>]) -> Points {
    points.iter().map(|point| (point.clone(), 1.0 / points.len() as f64)).collect()
}

/// Points that stand for the whole cube from −1 to 1: means over them of a second-order surface's variance are exact, as three points
/// of Gauss integrate up to the fifth power. The largest variance is not at one of them.
pub fn cube(factors: usize) -> Points {
    let end = 0.6_f64.sqrt();
    let axis = [(-end, 5.0 / 18.0), (0.0, 8.0 / 18.0), (end, 5.0 / 18.0)];
    (0..factors).fold(vec![(vec![], 1.0)], |points, _| {
        let longer = |(point, weight): &(Vec<f64>, f64)| {
            let (point, weight) = (point.clone(), *weight);
            axis.map(move |(x, share)| ([point.as_slice(), &[x]].concat(), weight * share))
        };
        points.iter().flat_map(longer).collect()
    })
}

impl Model {
    /// How many coefficients: a level for each block, and the surface's.
    pub fn columns(&self) -> usize {
        self.blocks + self.shape.terms.len()
    }

    /// A run's row: 1 for its block, and the surface's terms.
    pub fn row(&self, run: &Planned) -> Vec<f64> {
        let block = (0..self.blocks).map(|block| f64::from(u8::from(block == run.block)));
        block.chain(self.shape.values(&run.at)).collect()
    }

    /// The row of the expected score at a way, the mean over the blocks.
    fn expected(&self, x: &[f64]) -> Vec<f64> {
        [vec![1.0 / self.blocks as f64; self.blocks], self.shape.values(x)].concat()
    }

    /// X′X of some runs.
    pub fn information(&self, runs: &[Planned]) -> Vec<Vec<f64>> {
        let rows: Vec<(Vec<f64>, f64)> = runs.iter().map(|run| (self.row(run), 1.0)).collect();
        products(&rows, self.columns())
    }

    /// The mean products of the terms over some points: a covariance matrix times this, its trace, is the mean variance there.
    pub fn moments(&self, points: &Points) -> Vec<Vec<f64>> {
        let rows: Vec<(Vec<f64>, f64)> =
            points.iter().map(|(point, weight)| (self.expected(point), *weight)).collect();
        products(&rows, self.columns())
    }

    /// The same of how far the expected score at some way lies above that at the points: the blocks don't matter for it.
    pub fn contrasts(&self, points: &Points, way: &[f64]) -> Vec<Vec<f64>> {
        let row = |at: &[f64]| [vec![0.0; self.blocks], self.shape.values(at)].concat();
        let from = row(way);
        let apart = |point: &[f64]| from.iter().zip(row(point)).map(|(way, point)| way - point).collect();
        let rows: Vec<(Vec<f64>, f64)> =
            points.iter().map(|(point, weight)| (apart(point), *weight)).collect();
        products(&rows, self.columns())
    }

    /// How much some runs tell, of the surface over some points. Nothing if they don't tell all coefficients.
    pub fn criteria(&self, runs: &[Planned], points: &Points) -> Option<Criteria> {
        let root = Root::of(&self.information(runs))?;
        let (n, p) = (runs.len() as f64, self.columns() as f64);
        let inverse = root.inverse();
        let rows: Vec<Vec<f64>> = points.iter().map(|(point, _)| self.expected(point)).collect();
        let variance = |row: &Vec<f64>| sandwich(std::slice::from_ref(row), &inverse)[0][0];
        let largest = rows.iter().map(variance).fold(0.0, f64::max);
        let log = root.log_determinant();
        Some(Criteria {
            determinant: log.exp(),
            d: (log / p).exp() / n,
            a: n / p * (0..inverse.len()).map(|i| inverse[i][i]).sum::<f64>(),
            i: n * trace_of_product(&inverse, &self.moments(points)),
            g: p / (n * largest),
        })
    }
}

/// Σ weight · row · rowᵀ.
fn products(rows: &[(Vec<f64>, f64)], columns: usize) -> Vec<Vec<f64>> {
    let mut sums = vec![vec![0.0; columns]; columns];
    rows.iter().for_each(|(row, weight)| add(&mut sums, *weight, row));
    sums
}

/// Adds weight · row · rowᵀ.
fn add(sums: &mut [Vec<f64>], weight: f64, row: &[f64]) {
    for (sums, value) in sums.iter_mut().zip(row) {
        sums.iter_mut().zip(row).for_each(|(sum, other)| *sum += weight * value * other);
    }
}

/// The trace of the product of two symmetric matrices.
fn trace_of_product(a: &[Vec<f64>], b: &[Vec<f64>]) -> f64 {
    a.iter().zip(b).map(|(a, b)| dot(a, b)).sum()
}

#[cfg(test)]
mod tests;
