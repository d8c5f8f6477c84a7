//! What tasting one way more is worth, when several have been tasted and one is to be named in the end.

use crate::Cannot;
use crate::dist::{normal_density, normal_upper};
use crate::sums;

/// How far a way is expected to lie above the best known, in points, counting nothing where it lies below: the expected improvement (of
/// any textbook of Bayesian optimisation). `mean` and `sd` ≥ 0 say what is known of the way, `best` is the best known.
///
/// # Errors
/// Numbers that are none, or a spread below 0.
pub fn expected_improvement(mean: f64, sd: f64, best: f64) -> Result<f64, Cannot> {
    sums::finite(&[mean, sd, best])?;
    if sd < 0.0 {
        return Err(Cannot::OutOfRange);
    }
    if sd == 0.0 {
        return Ok((mean - best).max(0.0));
    }
    spread_above((mean - best) / sd).map(|above| sd * above)
}

/// By how many points tasting each way once more is expected to raise the way that is then named best: the knowledge gradient for
/// independent normal beliefs (Frazier, Powell & Dayanik, SIAM Journal on Control and Optimization 47, 2008). `means` in points and
/// `variances` ≥ 0 say what is known of each way; `noise` > 0 is the variance of what a class would find of it.
///
/// # Errors
/// Fewer than two ways, numbers that are none or out of range.
pub fn knowledge_gradient(means: &[f64], variances: &[f64], noise: f64) -> Result<Vec<f64>, Cannot> {
    sums::finite(means.iter().chain(variances).chain([&noise]))?;
    if means.len() < 2 {
        return Err(Cannot::Ways(2));
    }
    if means.len() != variances.len() || noise <= 0.0 || variances.iter().any(|variance| *variance < 0.0) {
        return Err(Cannot::OutOfRange);
    }
    let of = |(way, (mean, variance)): (usize, (&f64, &f64))| {
        // By so much the way's mean will move.
        let moves = variance / (variance + noise).sqrt();
        let others = means.iter().enumerate().filter(|(other, _)| *other != way);
        let best = others.map(|(_, mean)| *mean).fold(f64::NEG_INFINITY, f64::max);
        if moves == 0.0 {
            return Ok(0.0);
        }
        spread_above(-(mean - best).abs() / moves).map(|above| moves * above)
    };
    means.iter().zip(variances).enumerate().map(of).collect()
}

/// How far a standard normal variable moved up by `z` lies above 0 in the mean, nothing counted where it lies below: z·Φ(z) + φ(z).
fn spread_above(z: f64) -> Result<f64, Cannot> {
    Ok((z * normal_upper(-z)? + normal_density(z)).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::examples::near;
    use proptest::prelude::*;

    /// The first three as in the public tests of a library of Bayesian optimisation; the others were computed apart.
    #[test]
    fn expected_improvements_are_the_known_ones() {
        for (mean, sd, best, known, digit) in [
            (-0.5, 1.0, 0.0, 0.19780, 1e-5),
            (0.0, 1.0, 0.0, 0.39894, 1e-5),
            (0.5, 1.0, 0.0, 0.69780, 1e-5),
            (5.8, 0.6, 6.0, 0.152542, 1e-6),
            (6.2, 0.3, 6.0, 0.245336, 1e-6),
            (6.0, 0.01, 6.0, 0.003989, 1e-6),
            (7.0, 0.0, 6.0, 1.0, 1e-12),
            (5.0, 0.0, 6.0, 0.0, 1e-12),
        ] {
            near(expected_improvement(mean, sd, best).unwrap(), known, digit);
        }
        assert_eq!(expected_improvement(1.0, -1.0, 0.0), Err(Cannot::OutOfRange));
        assert_eq!(expected_improvement(f64::NAN, 1.0, 0.0), Err(Cannot::NotFinite));
    }

    /// Computed apart: the fourth way is not the best known, but most may still be learnt of it.
    #[test]
    fn the_way_worth_tasting_need_not_be_the_best_known() {
        let found =
            knowledge_gradient(&[5.0, 5.5, 6.0, 5.8], &[1.0, 0.5, 0.1, 0.3], 1.5_f64.powi(2) / 8.0).unwrap();
        for (own, known) in found.iter().zip([0.056893, 0.058510, 0.008454, 0.076833]) {
            near(*own, known, 1e-6);
        }
        assert_eq!(knowledge_gradient(&[5.0], &[1.0], 1.0), Err(Cannot::Ways(2)));
        assert_eq!(knowledge_gradient(&[5.0, 6.0], &[1.0, -1.0], 1.0), Err(Cannot::OutOfRange));
        assert_eq!(knowledge_gradient(&[5.0, 6.0], &[1.0, 0.0], 1.0).unwrap()[1], 0.0);
    }

    proptest! {
        /// Nothing is lost by looking: gains are never below 0, and grow with what is unknown.
        #[test]
        fn what_is_less_known_is_worth_more(mean in 1.0..9.0f64, best in 1.0..9.0f64, sd in 0.01..2.0f64, more in 0.01..2.0f64) {
            let of = |sd: f64| expected_improvement(mean, sd, best).unwrap();
            prop_assert!(of(sd) >= 0.0 && of(sd + more) >= of(sd) && of(sd) >= mean - best - 1e-12);
            let gradient = |sd: f64| knowledge_gradient(&[mean, best], &[sd * sd, 0.1], 0.3).unwrap()[0];
            prop_assert!(gradient(sd) >= 0.0 && gradient(sd + more) >= gradient(sd));
        }
    }
}
