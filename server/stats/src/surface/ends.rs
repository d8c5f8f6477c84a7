//! A surface of scores whose scale ends: who gives the lowest point may mean that or anything below.
//!
//! Far from its top a hill goes on falling where the scale does not, and least squares would bend the whole surface to follow the scale. So
//! a score at an end says only that it lies beyond it (the censored normal regression of any textbook, Tobin's model), and is put where the
//! surface has it in the mean; surface and scores are found in turn (expectation and maximisation).

use super::prior::Prior;
use super::shape::Shape;
use super::{Run, Surface, fit};
use crate::Cannot;
use crate::anova::Leftover;
use crate::dist::{normal_density, normal_upper};

/// Turns at most.
const TURNS: usize = 60;
/// Scores that move by less than this share of their spread have settled.
const SETTLED: f64 = 1e-3;
/// A score is given to a whole point: the lowest stands for whatever is nearer to it than to the next.
const HALF: f64 = 0.5;
/// So far out nothing is left of a normal distribution but its edge.
const FAR: f64 = 8.0;

/// A surface, and the scores as they may have been without ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Ended {
    /// The surface.
    pub surface: Surface,
    /// The runs, those at an end as far beyond it as the surface has them in the mean.
    pub runs: Vec<Run>,
    /// The variance of what is not known of each of them: 0 but at an end.
    pub hidden: Vec<f64>,
}

/// The surface of scores of whole points on a scale from `low` to `high`.
///
/// # Errors
/// As [`fit`].
pub fn fit_ended(
    runs: &[Run],
    shape: &Shape,
    prior: Option<&Prior>,
    (low, high): (f64, f64),
) -> Result<Ended, Cannot> {
    // For a score at the lower end 1, at the upper −1: turned round, every end is a lower one.
    let end = |run: &Run| match run.score {
        score if score <= low => 1.0,
        score if score >= high => -1.0,
        _ => 0.0,
    };
    let ends: Vec<f64> = runs.iter().map(end).collect();
    let mut found =
        Ended { surface: fit(runs, shape, prior)?, runs: runs.to_vec(), hidden: vec![0.0; runs.len()] };
    for _ in 0..TURNS {
        let surface = &found.surface;
        let left = surface.left_over(&found.runs);
        let sd = ((surface.residual.squares + found.hidden.iter().sum::<f64>()) / surface.residual.df as f64)
            .sqrt();
        let mut moved: f64 = 0.0;
        let known = ends.iter().zip(runs).zip(&left).enumerate().filter(|(_, ((end, _), _))| **end != 0.0);
        for (n, ((&end, given), left)) in known {
            let run = &mut found.runs[n];
            let mean = run.score - left;
            let (to, variance) = beyond(end * mean, sd, end * given.score + HALF)?;
            moved = moved.max((end * to - run.score).abs() / sd);
            (run.score, found.hidden[n]) = (end * to, variance);
        }
        found.surface = fit(&found.runs, shape, prior)?;
        if moved < SETTLED {
            break;
        }
    }
    let (residual, hidden) = (found.surface.residual, found.hidden.iter().sum::<f64>());
    found.surface = found.surface.judged_by(Leftover::new(residual.squares + hidden, residual.df));
    Ok(found)
}

/// The mean and the variance of a normal number that is known to lie below a cut.
fn beyond(mean: f64, sd: f64, cut: f64) -> Result<(f64, f64), Cannot> {
    let z = (cut - mean) / sd;
    if z < -FAR {
        return Ok((cut, 0.0));
    }
    let ratio = normal_density(z) / normal_upper(-z)?;
    Ok((mean - sd * ratio, sd * sd * (1.0 - z * ratio - ratio * ratio).max(0.0)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dist::normal_quantile;
    use crate::examples::near;
    use crate::lot::Lot;
    use crate::surface::laws::{classes, drawn};
    use proptest::prelude::*;

    #[test]
    fn what_lies_below_a_cut_is_known_in_the_mean() {
        // Half of a normal distribution: mean −√(2/π), variance 1 − 2/π.
        let (mean, variance) = beyond(0.0, 1.0, 0.0).unwrap();
        near(mean, -0.7978845608, 1e-9);
        near(variance, 0.3633802276, 1e-9);
        let (mean, variance) = beyond(-9.0, 1.5, 1.5).unwrap();
        near(mean, -9.0, 1e-9);
        near(variance, 2.25, 1e-6);
        assert_eq!(beyond(90.0, 1.0, 1.5).unwrap(), (1.5, 0.0));
    }

    /// A steep hill whose flanks lie below the scale: its bend is found again, and without the ends it is not.
    #[test]
    fn a_hill_is_found_whose_flanks_lie_below_the_scale() {
        let mut lot = Lot::of(1);
        let mut run = |n: usize| {
            let x = (n % 7) as f64 - 3.0;
            let noise = normal_quantile(lot.share().min(1.0 - 1e-9)).unwrap();
            let score = (7.0 - 1.5 * x * x + noise).round().clamp(1.0, 9.0);
            Run { at: vec![x], blocks: vec![n / 7], score }
        };
        let runs: Vec<Run> = (0..700).map(&mut run).collect();
        let shape = Shape::second_order(1);
        let plain = fit(&runs, &shape, None).unwrap().coefficients[1];
        let found = fit_ended(&runs, &shape, None, (1.0, 9.0)).unwrap().surface;
        assert!((found.coefficients[1] + 1.5).abs() < 0.12, "{:?}", found.coefficients);
        assert!(plain > -1.0, "{plain}");
        near(found.residual.mean_square, 1.08, 0.2);
    }

    proptest! {
        #[test]
        fn where_nobody_reaches_an_end_it_is_the_plain_surface(scores in drawn()) {
            let (runs, shape) = (classes(&scores), Shape::second_order(2));
            let Ok(plain) = fit(&runs, &shape, None) else { return Ok(()) };
            prop_assert_eq!(&fit_ended(&runs, &shape, None, (0.0, 10.0)).unwrap().surface, &plain.clone().judged_by(plain.residual));
        }

        /// Turned upside down it is the same surface upside down.
        #[test]
        fn both_ends_are_alike(scores in drawn()) {
            let (runs, shape) = (classes(&scores), Shape::second_order(2));
            let turned: Vec<Run> = runs.iter().map(|run| Run { score: 10.0 - run.score, ..run.clone() }).collect();
            let of = |runs: &[Run]| fit_ended(runs, &shape, None, (1.0, 9.0));
            let (Ok(up), Ok(down)) = (of(&runs), of(&turned)) else { return Ok(()) };
            for (a, b) in up.surface.coefficients.iter().zip(&down.surface.coefficients) {
                prop_assert!((a + b).abs() < 1e-6, "{a} {b}");
            }
        }
    }
}
