//! How good the way will be that is named in the end, after some runs more.

use super::{Model, Planned, add};
use crate::Cannot;
use crate::linear::{Root, sandwich};
use crate::lot::Lot;
use crate::sums;
use crate::surface::prior::Prior;

/// So many outcomes are drawn, each with its mirror image. The mean of so many is off by about two hundredths of their spread.
const DRAWS: usize = 1000;
/// What keeps outcomes that hang together from having no root, beside the largest variance.
const ROUNDING: f64 = 1e-9;

/// What is known before some runs, where each way may lie off the surface by a deviation of its own.
#[derive(Clone, Copy, Debug)]
pub struct Naming<'a> {
    pub model: &'a Model,
    /// What is known of the surface beforehand; its noise is that of one run, points.
    pub prior: &'a Prior,
    /// The spread of ways about the surface, points, above 0.
    pub own: f64,
    /// Two places are one way if they lie nearer than so many steps along every factor.
    pub apart: f64,
    /// The runs already made.
    pub made: &'a [Planned],
    /// The ways of which one will be named.
    pub options: &'a [Vec<f64>],
    /// What is expected of each so far, points.
    pub expected: &'a [f64],
}

impl Naming<'_> {
    /// By how many points the way that is named after some runs is expected to lie above that named now: the mean of the largest of the
    /// means that the runs will leave, less the largest now (the value of sample information, of any textbook of decisions). By drawn
    /// outcomes, the same for the same numbers.
    ///
    /// # Errors
    /// No options, as many expectations as there are not options, spreads out of range, places that do not fit the model.
    pub fn gain(&self, runs: &[Planned]) -> Result<f64, Cannot> {
        sums::finite(self.expected.iter().chain([&self.own]))?;
        let fits = |at: &[f64]| at.len() == self.model.shape.factors;
        let all_fit = self.options.iter().all(|way| fits(way))
            && self.made.iter().chain(runs).all(|run| fits(&run.at) && run.block < self.model.blocks);
        if self.options.is_empty() || self.options.len() != self.expected.len() || self.own <= 0.0 || !all_fit
        {
            return Err(Cannot::OutOfRange);
        }
        let ways = Ways::of(self.made.iter().chain(runs), self.apart);
        let (now, after) = (self.covariance(&ways, &[])?, self.covariance(&ways, runs)?);
        // What the runs will take off what is not known is how far the means will move.
        let moves: Vec<Vec<f64>> = now
            .iter()
            .zip(&after)
            .map(|(now, after)| now.iter().zip(after).map(|(a, b)| a - b).collect())
            .collect();
        let rows: Vec<Vec<f64>> = self
            .options
            .iter()
            .map(|at| [vec![0.0; self.model.blocks], self.model.shape.values(at), ways.column(at)].concat())
            .collect();
        let mut moves = sandwich(&rows, &moves);
        let variance = self.prior.noise.powi(2);
        moves.iter_mut().flatten().for_each(|value| *value *= variance);
        let largest = (0..moves.len()).map(|i| moves[i][i]).fold(0.0, f64::max);
        if largest <= 0.0 {
            return Ok(0.0);
        }
        (0..moves.len()).for_each(|i| moves[i][i] += ROUNDING * largest);
        Ok(self.mean_largest(&moves)? - largest_of(self.expected.iter().copied()))
    }

    /// The covariances of all coefficients after the runs made and these, over the variance of one run.
    fn covariance(&self, ways: &Ways, runs: &[Planned]) -> Result<Vec<Vec<f64>>, Cannot> {
        let columns = self.model.columns() + ways.0.len();
        let mut information = vec![vec![0.0; columns]; columns];
        for run in self.made.iter().chain(runs) {
            add(&mut information, 1.0, &[self.model.row(run), ways.column(&run.at)].concat());
        }
        // A class's level is all but free.
        (0..self.model.blocks).for_each(|i| information[i][i] += super::exchange::NEXT_TO_NOTHING);
        for (i, (weight, _)) in self.prior.weights(&self.model.shape)?.into_iter().enumerate() {
            information[self.model.blocks + i][self.model.blocks + i] += weight;
        }
        let own = (self.prior.noise / self.own).powi(2);
        (self.model.columns()..columns).for_each(|i| information[i][i] += own);
        Ok(Root::of(&information).ok_or(Cannot::WaysTooAlike)?.inverse())
    }

    /// The mean of the largest expectation, moved by drawn normal deviations of these covariances.
    fn mean_largest(&self, moves: &[Vec<f64>]) -> Result<f64, Cannot> {
        let root = Root::of(moves).ok_or(Cannot::WaysTooAlike)?;
        let mut lot = Lot::of(1);
        let mut sum = 0.0;
        for _ in 0..DRAWS {
            let drawn: Vec<f64> = moves.iter().map(|_| normal(&mut lot)).collect();
            let moved = root.times(&drawn);
            for sign in [1.0, -1.0] {
                sum += largest_of(self.expected.iter().zip(&moved).map(|(mean, by)| mean + sign * by));
            }
        }
        Ok(sum / (2 * DRAWS) as f64)
    }
}

/// The ways that some runs have, each once, and how far apart two places are two ways.
struct Ways(Vec<Vec<f64>>, f64);

impl Ways {
    fn of<'a>(runs: impl Iterator<Item = &'a Planned>, apart: f64) -> Self {
        let mut ways = Self(Vec::new(), apart);
        for run in runs {
            if ways.column(&run.at).iter().all(|own| *own == 0.0) {
                ways.0.push(run.at.clone());
            }
        }
        ways
    }

    /// A place's own columns: 1 for the way that it is, the nearest if there are several.
    fn column(&self, at: &[f64]) -> Vec<f64> {
        let off = |way: &Vec<f64>| way.iter().zip(at).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        let nearest = (0..self.0.len()).min_by(|&a, &b| off(&self.0[a]).total_cmp(&off(&self.0[b])));
        let is = nearest.filter(|&way| off(&self.0[way]) < self.1);
        (0..self.0.len()).map(|way| f64::from(u8::from(is == Some(way)))).collect()
    }
}

fn largest_of(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(f64::NEG_INFINITY, f64::max)
}

/// A standard normal number (Box & Muller).
fn normal(lot: &mut Lot) -> f64 {
    (-2.0 * lot.share().ln()).sqrt() * (std::f64::consts::TAU * lot.share()).cos()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::gain::knowledge_gradient;
    use crate::examples::near;
    use crate::surface::shape::Shape;

    /// Two ways whose surface is known to be level, so that only their own deviations are open.
    fn level() -> (Model, Prior) {
        let prior =
            Prior { noise: 0.5, slope: 1e-4, cross: 1e-4, bend: -1e-4, bend_spread: 1e-4, level: None };
        (Model { shape: Shape::second_order(1), blocks: 1 }, prior)
    }

    fn run(x: f64) -> Planned {
        Planned { at: vec![x], block: 0 }
    }

    /// Of two ways tasted side by side in one class, the difference has the variance 2·own², of which the class tells
    /// 2·own²/(own² + noise²/k) · own²; the mean of the larger of two is then in closed form √(…/2π).
    #[test]
    fn of_two_ways_the_gain_is_that_of_the_known_formula() {
        let (model, prior) = level();
        for (own, times) in [(0.25, 1), (0.25, 3), (1.0, 2)] {
            let options = [vec![-1.0], vec![1.0]];
            let naming = Naming {
                model: &model,
                prior: &prior,
                own,
                apart: 0.1,
                made: &[],
                options: &options,
                expected: &[6.0, 6.0],
            };
            let runs: Vec<Planned> = std::iter::repeat_n([run(-1.0), run(1.0)], times).flatten().collect();
            let told = 2.0 * own.powi(4) / (own.powi(2) + 0.25 / times as f64);
            let known = (told / std::f64::consts::TAU).sqrt();
            near(naming.gain(&runs).unwrap(), known, 0.05);
        }
    }

    /// Nothing between the two is open where one is far better; and the way more that tells most by the known rule tells most here.
    #[test]
    fn what_is_far_below_is_not_worth_another_cup() {
        let (model, prior) = level();
        let options = [vec![-1.0], vec![0.0], vec![1.0]];
        let gain = |expected: [f64; 3], ways: [f64; 2]| {
            let naming = Naming {
                model: &model,
                prior: &prior,
                own: 0.25,
                apart: 0.1,
                made: &[],
                options: &options,
                expected: &expected,
            };
            naming.gain(&ways.map(run)).unwrap()
        };
        assert!(gain([6.0, 5.9, 3.0], [-1.0, 0.0]) > 2.0 * gain([6.0, 5.9, 3.0], [-1.0, 1.0]));
        assert!(gain([6.0, 3.0, 3.0], [-1.0, 0.0]) < 1e-6);
        let by_rule = knowledge_gradient(&[6.0, 5.9, 3.0], &[0.0625; 3], 0.25).unwrap();
        assert!(by_rule[1] > by_rule[2]);
        let none = Naming {
            model: &model,
            prior: &prior,
            own: 0.25,
            apart: 0.1,
            made: &[],
            options: &[],
            expected: &[],
        };
        assert_eq!(none.gain(&[run(0.0)]), Err(Cannot::OutOfRange));
    }
}
