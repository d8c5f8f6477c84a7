//! What is left over between cells of scores, as the ways of each class: the error to judge a surface by where it is to hold for other
//! classes than these.
//!
//! A way may be liked better in one class than in another: then its scores in a class hang together, and there are fewer free ones than
//! scores. Beside the surface it is the cells' means that vary freely (way × class as the error, common practice in analyses of variance
//! over several occasions).

use super::{Run, Surface};
use crate::anova::Leftover;
use crate::linear::dot;
use std::collections::BTreeMap;

/// Degrees of freedom are whole to this.
const ROUNDING: f64 = 1e-6;

impl Surface {
    /// What is left over once the blocks of the first kind and the surface are taken out, one for each run.
    pub fn left_over(&self, runs: &[Run]) -> Vec<f64> {
        let levels: Vec<f64> =
            self.levels.iter().map(|level| level.as_ref().map_or(0.0, |l| self.own(l))).collect();
        let told = |run: &Run| {
            let level = run.blocks.first().map_or_else(|| levels.first(), |&block| levels.get(block));
            level.copied().unwrap_or(0.0) + dot(&self.shape.values(&run.at), &self.coefficients)
        };
        runs.iter().map(|run| run.score - told(run)).collect()
    }

    /// The squares of the means of cells about the surface, each weighted by its scores; `cell` numbers the cell of each run, `hidden`
    /// is the variance of what is not known of it ([`super::ends`]), `classes` is how many blocks hold them. With a prior the surface takes as many degrees of freedom as the scores tell coefficients, in full
    /// ones rounded down. Nothing where it leaves the cells none.
    pub fn between_cells(
        &self,
        runs: &[Run],
        hidden: &[f64],
        cell: &[usize],
        classes: usize,
    ) -> Option<Leftover> {
        let left = self.left_over(runs);
        let mut cells: BTreeMap<usize, (f64, f64, f64)> = BTreeMap::new();
        for ((cell, left), hidden) in cell.iter().zip(&left).zip(hidden) {
            let (sum, unknown, n) = cells.entry(*cell).or_default();
            (*sum, *unknown, *n) = (*sum + left, *unknown + hidden, *n + 1.0);
        }
        let squares: f64 = cells.values().map(|(sum, unknown, n)| (sum * sum + unknown) / n).sum();
        let free = cells.len() as f64 - classes as f64 - self.told;
        let df = (free + ROUNDING).floor();
        (df >= 1.0).then(|| Leftover { squares, df: df as usize, mean_square: squares / free })
    }

    /// The same surface judged by another error.
    pub fn judged_by(mut self, error: Leftover) -> Self {
        let times = error.mean_square / self.residual.mean_square;
        self.covariance.iter_mut().flatten().for_each(|value| *value *= times);
        self.centre.standard_error *= times.sqrt();
        self.residual = error;
        self
    }
}

#[cfg(test)]
mod tests {
    use crate::surface::laws::{classes, drawn};
    use crate::surface::shape::Shape;
    use crate::surface::{Run, fit};
    use proptest::prelude::*;

    proptest! {
        /// Everybody tastes every way: the surface through the cells' means is the same, and so is its error.
        #[test]
        fn of_whole_classes_the_cells_are_judged_as_their_means_would_be(scores in drawn()) {
            let (runs, shape) = (classes(&scores), Shape::second_order(2));
            let Ok(surface) = fit(&runs, &shape, None) else { return Ok(()) };
            let cell: Vec<usize> = runs.iter().enumerate().map(|(n, run)| n % 9 + 9 * run.blocks[1]).collect();
            let mean = |cell_of: usize| {
                let own: Vec<&Run> = runs.iter().zip(&cell).filter(|(_, c)| **c == cell_of).map(|(run, _)| run).collect();
                let score = own.iter().map(|run| run.score).sum::<f64>() / own.len() as f64;
                Run { at: own[0].at.clone(), blocks: vec![cell_of / 9], score }
            };
            let means: Vec<Run> = (0..18).map(mean).collect();
            let Ok(plain) = fit(&means, &shape, None) else { return Ok(()) };
            let error = surface.between_cells(&runs, &[0.0; 36], &cell, 2).unwrap();
            prop_assert_eq!(error.df, plain.residual.df);
            prop_assert!((error.squares - 2.0 * plain.residual.squares).abs() < 1e-8);
            let judged = surface.judged_by(error);
            for (a, b) in judged.estimates().iter().zip(plain.estimates()) {
                prop_assert!((a.value - b.value).abs() < 1e-9 && (a.standard_error - b.standard_error).abs() < 1e-9);
            }
        }

        #[test]
        fn what_is_left_over_is_the_residual(scores in drawn()) {
            let mut runs = classes(&scores);
            runs.iter_mut().for_each(|run| run.blocks.truncate(1));
            let Ok(surface) = fit(&runs, &Shape::second_order(2), None) else { return Ok(()) };
            let squares: f64 = surface.left_over(&runs).iter().map(|left| left * left).sum();
            prop_assert!((squares - surface.residual.squares).abs() < 1e-8);
        }
    }
}
