//! A score over several things that can be turned (dose, temperature, time): a surface of the second order by least squares, each
//! taster's and each class's own level taken out.
//!
//! The model is score = level of the blocks + Σ bᵢxᵢ + Σ bᵢⱼxᵢxⱼ + Σ bᵢᵢxᵢ² (Box & Wilson's, of any textbook of response surfaces), over
//! factors x in coded units: 0 is the centre, 1 a step from it. Blocks may be many thousands: the first kind of them is taken out by
//! its means, the others stand in columns.

mod absorbed;
pub mod analysis;
pub mod canonical;
pub mod cells;
pub mod ends;
pub mod fieller;
pub mod groups;
pub mod prior;
pub mod region;
pub mod shape;
pub mod varied;

use super::Cannot;
use super::anova::Leftover;
use super::dist::t_quantile;
use super::interval::Interval;
use super::linear::{Root, dot, sandwich, times};
use super::sums;
use absorbed::{Absorbed, Level, Line};
use prior::Prior;
use schemars::JsonSchema;
use serde::Serialize;
use shape::Shape;
use std::cmp::Ordering;

/// One score: of which way, by whom.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Where the way lies, in coded units, each factor from about −3 to 3.
    pub at: Vec<f64>,
    /// Its block of every kind, each kind numbered from 0. The kind with the most blocks comes first, as the taster before the class.
    pub blocks: Vec<usize>,
    /// The score, in points.
    pub score: f64,
}

/// A figure and how far chance alone would move it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Estimate {
    pub value: f64,
    /// Its standard error, in the same unit.
    pub standard_error: f64,
}

/// A surface that has been fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct Surface {
    /// What each coefficient belongs to.
    pub shape: Shape,
    /// The coefficients in the order of the shape, points per coded unit or per its square.
    pub coefficients: Vec<f64>,
    /// The variances and covariances of the coefficients.
    pub covariance: Vec<Vec<f64>>,
    /// The score at the centre of the factors, the mean over the blocks of all scores.
    pub centre: Estimate,
    /// What is left over: with a prior, the squares by which the coefficients miss it are in it too.
    pub residual: Leftover,
    /// How many scores.
    pub scores: usize,
    /// How many coefficients the scores tell by themselves: all of them without a prior, fewer the more it weighs (of any textbook of ridge
    /// regression).
    pub told: f64,
    /// The means of the shape's terms over all scores.
    means: Vec<f64>,
    levels: Vec<Option<Level>>,
    /// The inverse for the other blocks' columns and the coefficients, and the solution.
    inverse: Vec<Vec<f64>>,
    solution: Vec<f64>,
}

/// The surface of some scores. Without a prior, least squares; with one, the middle of the posterior where the prior's spreads are
/// measured against the residual (the conjugate normal prior of any textbook of Bayesian regression; the degrees of freedom are the
/// scores less the blocks and the coefficients that the prior leaves free).
///
/// # Errors
/// Runs that do not fit the shape, scores that are no numbers, too few or too like ways, nothing left over.
pub fn fit(runs: &[Run], shape: &Shape, prior: Option<&Prior>) -> Result<Surface, Cannot> {
    let lines = lines(runs, shape)?;
    let absorbed = Absorbed::of(&lines.lines);
    let (mut gram, mut totals) = (absorbed.gram.clone(), absorbed.totals.clone());
    let (mut penalty, mut free) = (0.0, shape.terms.len());
    let weights = prior.map(|prior| prior.weights(shape)).transpose()?.unwrap_or_default();
    for (i, &(weight, expected)) in weights.iter().enumerate() {
        let at = lines.others + i;
        gram[at][at] += weight;
        totals[at] += weight * expected;
        free -= usize::from(weight > 0.0);
    }
    // One more row that no block's level is taken out of: it counts as a score of its own.
    let level = prior.map(|prior| prior.level(shape)).transpose()?.flatten();
    if let Some((row, weight)) = &level {
        for (i, a) in row.iter().enumerate() {
            for (j, b) in row.iter().enumerate() {
                gram[lines.others + i][lines.others + j] += weight * a * b;
            }
        }
    }
    let root = Root::passing_over(&gram, lines.others).ok_or_else(|| too_like(runs, shape))?;
    let solution = root.back(&root.forward(&totals));
    let coefficients = solution[lines.others..].to_vec();
    for (&(weight, expected), found) in weights.iter().zip(&coefficients) {
        penalty += weight * (found - expected).powi(2);
    }
    penalty += level.as_ref().map_or(0.0, |(row, weight)| weight * dot(row, &coefficients).powi(2));
    let taken = absorbed.blocks() + lines.others - root.alike() + free;
    let rows = runs.len() + usize::from(level.is_some());
    let df = rows.checked_sub(taken).filter(|&df| df > 0).ok_or(Cannot::NoFreedom)?;
    let left = absorbed.left(&lines.lines, &solution);
    if sums::is_rounding(left, runs.iter().map(|run| &run.score)) {
        return Err(Cannot::NothingLeft);
    }
    let residual = Leftover::new(left + penalty, df);
    let inverse = root.inverse();
    let mut held: f64 = weights
        .iter()
        .enumerate()
        .map(|(i, (weight, _))| weight * inverse[lines.others + i][lines.others + i])
        .sum();
    held += level.as_ref().map_or(0.0, |(row, weight)| {
        let part: Vec<Vec<f64>> =
            inverse[lines.others..].iter().map(|own| own[lines.others..].to_vec()).collect();
        weight * dot(row, &times(&part, row))
    });
    let part = |row: &Vec<f64>| row[lines.others..].iter().map(|v| v * residual.mean_square).collect();
    let covariance: Vec<Vec<f64>> = inverse[lines.others..].iter().map(part).collect();
    let means = absorbed.means(lines.others);
    let variance = residual.mean_square / runs.len() as f64 + dot(&means, &times(&covariance, &means));
    let scores: Vec<f64> = runs.iter().map(|run| run.score).collect();
    Ok(Surface {
        shape: shape.clone(),
        centre: Estimate {
            value: sums::mean(&scores) - dot(&means, &coefficients),
            standard_error: variance.sqrt(),
        },
        coefficients,
        covariance,
        residual,
        scores: runs.len(),
        told: shape.terms.len() as f64 - held,
        means,
        levels: absorbed.levels,
        inverse,
        solution,
    })
}

/// What the scores are put together of, and how many columns stand for blocks of the kinds after the first.
struct Lines {
    lines: Vec<Line>,
    others: usize,
}

/// The columns of the model.
fn lines(runs: &[Run], shape: &Shape) -> Result<Lines, Cannot> {
    let Some(first) = runs.first() else { return Err(Cannot::Scores(shape.terms.len() + 2)) };
    let kinds = first.blocks.len();
    if runs.iter().any(|run| run.at.len() != shape.factors || run.blocks.len() != kinds) {
        return Err(Cannot::Uneven);
    }
    sums::finite(runs.iter().flat_map(|run| run.at.iter().chain([&run.score])))?;
    // The first block of a kind is what the others of the kind are measured from.
    let sizes: Vec<usize> =
        (1..kinds).map(|kind| runs.iter().map(|run| run.blocks[kind]).max().unwrap_or(0)).collect();
    let line = |run: &Run| {
        let mut line =
            Line { block: run.blocks.first().copied().unwrap_or(0), columns: Vec::new(), score: run.score };
        let mut from = 0;
        for (block, size) in run.blocks.iter().skip(1).zip(&sizes) {
            line.columns.extend(block.checked_sub(1).map(|block| (from + block, 1.0)));
            from += size;
        }
        line.columns
            .extend(shape.values(&run.at).into_iter().enumerate().map(|(i, value)| (from + i, value)));
        line
    };
    Ok(Lines { lines: runs.iter().map(line).collect(), others: sizes.iter().sum() })
}

/// Why the ways don't tell the coefficients.
fn too_like(runs: &[Run], shape: &Shape) -> Cannot {
    let needed = shape.terms.len() + 1;
    if ways(runs).1.len() < needed { Cannot::Ways(needed) } else { Cannot::WaysTooAlike }
}

/// The number of each run's way, and the ways.
fn ways(runs: &[Run]) -> (Vec<usize>, Vec<&[f64]>) {
    let order = |a: &&[f64], b: &&[f64]| a.partial_cmp(b).unwrap_or(Ordering::Equal);
    let mut ways: Vec<&[f64]> = runs.iter().map(|run| run.at.as_slice()).collect();
    ways.sort_by(order);
    ways.dedup();
    let number = |run: &Run| ways.partition_point(|way| order(way, &run.at.as_slice()).is_lt());
    (runs.iter().map(number).collect(), ways)
}

impl Surface {
    /// Each coefficient with its standard error.
    pub fn estimates(&self) -> Vec<Estimate> {
        let own =
            |(i, &value): (usize, &f64)| Estimate { value, standard_error: self.covariance[i][i].sqrt() };
        self.coefficients.iter().enumerate().map(own).collect()
    }

    /// The score expected at a way, the mean over the blocks of all scores; the standard error is that of this mean.
    pub fn at(&self, x: &[f64]) -> Estimate {
        let values = self.shape.values(x);
        let from_mean: Vec<f64> = values.iter().zip(&self.means).map(|(value, mean)| value - mean).collect();
        let variance = self.residual.mean_square / self.scores as f64
            + dot(&from_mean, &times(&self.covariance, &from_mean));
        Estimate {
            value: self.centre.value + dot(&values, &self.coefficients),
            standard_error: variance.sqrt(),
        }
    }

    /// The interval of a figure of this surface, by t.
    ///
    /// # Errors
    /// A confidence that is not between 0 and 1.
    pub fn interval(&self, of: Estimate, confidence: f64) -> Result<Interval, Cannot> {
        let half = t_quantile(f64::midpoint(1.0, confidence), self.residual.df as f64)? * of.standard_error;
        Ok(Interval { low: of.value - half, high: of.value + half, confidence })
    }

    /// How many points `x` lies above `y`; the blocks don't matter for it.
    pub fn difference(&self, x: &[f64], y: &[f64]) -> Estimate {
        let apart: Vec<f64> =
            self.shape.values(x).iter().zip(self.shape.values(y)).map(|(x, y)| x - y).collect();
        let variance = dot(&apart, &times(&self.covariance, &apart));
        Estimate { value: dot(&apart, &self.coefficients), standard_error: variance.sqrt() }
    }

    /// How steeply the score rises at a way along each factor, points per coded unit, and the covariances of that.
    pub fn slopes(&self, x: &[f64]) -> (Vec<f64>, Vec<Vec<f64>>) {
        let by_coefficient = self.shape.slopes(x);
        (times(&by_coefficient, &self.coefficients), sandwich(&by_coefficient, &self.covariance))
    }

    /// The score at the centre of the factors in a block of the first kind, where the blocks of other kinds are their first ones.
    /// Nothing for a block without scores.
    pub fn level(&self, block: usize) -> Option<Estimate> {
        let level = self.levels.get(block)?.as_ref()?;
        let means = level.means(self.solution.len());
        Some(self.of_means(1.0 / level.count, &means, self.own(level)))
    }

    fn own(&self, level: &Level) -> f64 {
        level.score - dot(&level.means(self.solution.len()), &self.solution)
    }

    /// How many points a block of the first kind lies above another.
    pub fn level_above(&self, block: usize, other: usize) -> Option<Estimate> {
        let (one, two) = (self.levels.get(block)?.as_ref()?, self.levels.get(other)?.as_ref()?);
        let columns = self.solution.len();
        let apart: Vec<f64> =
            one.means(columns).iter().zip(two.means(columns)).map(|(one, two)| one - two).collect();
        let value = one.score - two.score - dot(&apart, &self.solution);
        Some(self.of_means(1.0 / one.count + 1.0 / two.count, &apart, value))
    }

    fn of_means(&self, own: f64, means: &[f64], value: f64) -> Estimate {
        let variance = self.residual.mean_square * (own + dot(means, &times(&self.inverse, means)));
        Estimate { value, standard_error: variance.sqrt() }
    }
}

#[cfg(test)]
mod examples;
#[cfg(test)]
mod laws;
#[cfg(test)]
mod tests;
