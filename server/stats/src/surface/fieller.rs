//! One factor: the interval of the level point of a curve.

use super::Surface;
use crate::dist::t_quantile;
use crate::{Cannot, Interval};

/// The interval in which the level point of a curve lies, in coded units, with a confidence between 0 and 1: all x at which the slope
/// b₁ + 2·b₂·x could be 0, by Fieller's theorem. It is bounded only if the bend itself is told from 0; whether it is a top, the sign of
/// the bend says.
///
/// # Errors
/// [`Cannot::NotLocated`] if it is not bounded; a surface that is no curve over one factor; another confidence.
pub fn level_point(surface: &Surface, confidence: f64) -> Result<Interval, Cannot> {
    let [slope, bend] = surface.coefficients[..] else { return Err(Cannot::OutOfRange) };
    if surface.shape.factors != 1 {
        return Err(Cannot::OutOfRange);
    }
    let reach = t_quantile(f64::midpoint(1.0, confidence), surface.residual.df as f64)?.powi(2);
    let variance = &surface.covariance;
    // x belongs to it where square·x² + twice·x + rest ≤ 0.
    let square = 4.0 * (bend * bend - reach * variance[1][1]);
    let twice = 4.0 * (slope * bend - reach * variance[0][1]);
    let rest = slope * slope - reach * variance[0][0];
    if square <= 0.0 {
        return Err(Cannot::NotLocated);
    }
    let middle = -twice / (2.0 * square);
    let half = (middle * middle - rest / square).max(0.0).sqrt();
    Ok(Interval { low: middle - half, high: middle + half, confidence })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::shape::Shape;
    use crate::surface::{Run, fit};

    fn curve(scores: &[f64]) -> Surface {
        let run =
            |(n, &score): (usize, &f64)| Run { at: vec![(n % 3) as f64 - 1.0], blocks: vec![n / 3], score };
        fit(&scores.iter().enumerate().map(run).collect::<Vec<_>>(), &Shape::second_order(1), None).unwrap()
    }

    #[test]
    fn a_sharp_top_is_located_and_a_dull_one_is_not() {
        let sharp = level_point(&curve(&[3.0, 8.0, 5.0, 2.0, 8.0, 5.0, 3.0, 9.0, 5.0]), 0.95).unwrap();
        assert!(sharp.contains(0.15) && sharp.low > 0.0 && sharp.high < 0.4, "{sharp:?}");
        let dull = curve(&[5.0, 6.0, 5.0, 7.0, 6.0, 5.0, 4.0, 6.0, 7.0]);
        assert_eq!(level_point(&dull, 0.95), Err(Cannot::NotLocated));
    }
}
