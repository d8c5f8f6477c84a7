//! The ways that can't be told from the level point of a surface.
//!
//! A way belongs to the region if the slopes that are estimated there could all be 0 (Box & Hunter's region of 1954, in the usual
//! form: the slopes' Hotelling statistic against F). With a prior it is the region of the posterior.

use super::Surface;
use crate::dist::f_quantile;
use crate::linear::{Root, dot};
use crate::{Cannot, Interval};

/// A region in which the level point of a surface lies with some confidence.
#[derive(Clone, Copy, Debug)]
pub struct Region<'a> {
    surface: &'a Surface,
    most: f64,
    confidence: f64,
}

/// The ends of a region, as far as it was looked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Reach {
    /// For each factor the least and the greatest coded value found in the region.
    pub factors: Vec<Interval>,
    /// For each factor, whether the region goes on below and above where it was looked for.
    pub goes_on: Vec<(bool, bool)>,
    /// The share of the points looked at that belong to it, 0 to 1.
    pub share: f64,
}

impl<'a> Region<'a> {
    /// The region of a confidence between 0 and 1.
    ///
    /// # Errors
    /// Another confidence.
    pub fn new(surface: &'a Surface, confidence: f64) -> Result<Self, Cannot> {
        let most = f_quantile(confidence, surface.shape.factors as f64, surface.residual.df as f64)?;
        Ok(Self { surface, most, confidence })
    }

    /// The F that the slopes may reach in it.
    pub fn most(&self) -> f64 {
        self.most
    }

    /// Whether a way, in coded units, belongs to it.
    ///
    /// # Errors
    /// As [`f_of_level`].
    pub fn holds(&self, x: &[f64]) -> Result<bool, Cannot> {
        Ok(f_of_level(self.surface, x)? <= self.most)
    }

    /// Its ends, looked for on a grid of `points` ≥ 2 values of each factor from `low` to `high`, in coded units. Nothing if no point
    /// belongs to it.
    ///
    /// # Errors
    /// Ends that are not as many as the factors or not in order, fewer points, or as [`f_of_level`].
    pub fn reach(&self, low: &[f64], high: &[f64], points: usize) -> Result<Option<Reach>, Cannot> {
        let factors = self.surface.shape.factors;
        let ordered = low.iter().zip(high).all(|(low, high)| low < high);
        if low.len() != factors || high.len() != factors || !ordered || points < 2 {
            return Err(Cannot::OutOfRange);
        }
        let value = |i: usize, n: usize| low[i] + (high[i] - low[i]) * n as f64 / (points - 1) as f64;
        let mut ends: Vec<Option<(usize, usize)>> = vec![None; factors];
        let all = points.pow(factors as u32);
        let mut inside = 0;
        for number in 0..all {
            let place = |i: usize| number / points.pow(i as u32) % points;
            let x: Vec<f64> = (0..factors).map(|i| value(i, place(i))).collect();
            if self.holds(&x)? {
                inside += 1;
                for (i, end) in ends.iter_mut().enumerate() {
                    let (least, most) = end.unwrap_or((points, 0));
                    *end = Some((least.min(place(i)), most.max(place(i))));
                }
            }
        }
        let Some(ends) = ends.into_iter().collect::<Option<Vec<_>>>() else { return Ok(None) };
        let interval = |(i, &(least, most)): (usize, &(usize, usize))| Interval {
            low: value(i, least),
            high: value(i, most),
            confidence: self.confidence,
        };
        Ok(Some(Reach {
            factors: ends.iter().enumerate().map(interval).collect(),
            goes_on: ends.iter().map(|&(least, most)| (least == 0, most == points - 1)).collect(),
            share: f64::from(inside) / all as f64,
        }))
    }
}

/// The F with which the slopes at a way, in coded units, speak against its being level: on as many degrees of freedom as factors, and
/// those of the residual. At the centre it is the F of the slopes given all other terms.
///
/// # Errors
/// A factor that has no slope of its own at this way.
pub fn f_of_level(surface: &Surface, x: &[f64]) -> Result<f64, Cannot> {
    let (slopes, covariance) = surface.slopes(x);
    let part = Root::of(&covariance).ok_or(Cannot::WaysTooAlike)?.forward(&slopes);
    Ok(dot(&part, &part) / slopes.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::examples::near;
    use crate::surface::analysis::analysis;
    use crate::surface::examples::reaction;
    use crate::surface::fieller::level_point;
    use crate::surface::laws::{classes, drawn};
    use crate::surface::shape::Shape;
    use crate::surface::{Run, fit};
    use proptest::prelude::*;

    /// The data of Myers, Montgomery & Anderson-Cook 2009, table 7.6; the region was computed apart, on a grid of 0.004.
    #[test]
    fn the_reactions_top_lies_in_a_small_region() {
        let surface = fit(&reaction(), &Shape::second_order(2), None).unwrap();
        let region = Region::new(&surface, 0.95).unwrap();
        near(region.most, 4.737414, 1e-6);
        near(f_of_level(&surface, &[0.5, 0.5]).unwrap(), 8.745399, 1e-6);
        near(f_of_level(&surface, &[0.3, 0.2]).unwrap(), 8.731983, 1e-6);
        assert_eq!(region.holds(&[0.5, 0.5]), Ok(false));
        assert_eq!(region.holds(&surface.level_point().unwrap().at), Ok(true));
        let found = region.reach(&[0.0, 0.0], &[0.8, 0.8], 201).unwrap().unwrap();
        for (own, (low, high)) in found.factors.iter().zip([(0.288, 0.476), (0.220, 0.480)]) {
            assert!((own.low - low).abs() < 0.0041 && (own.high - high).abs() < 0.0041, "{found:?}");
        }
        assert_eq!(found.goes_on, [(false, false); 2]);
        let cut = region.reach(&[0.0, 0.3], &[0.4, 0.8], 101).unwrap().unwrap();
        assert_eq!(cut.goes_on, [(false, true), (true, false)]);
        assert_eq!(region.reach(&[2.0, 2.0], &[3.0, 3.0], 11), Ok(None));
        assert_eq!(region.reach(&[2.0], &[3.0], 11), Err(Cannot::OutOfRange));
    }

    /// The published F of the first-order terms, which in this plan are told apart from all others.
    #[test]
    fn at_the_centre_it_is_the_f_of_the_slopes() {
        let surface = fit(&reaction(), &Shape::second_order(2), None).unwrap();
        near(f_of_level(&surface, &[0.0, 0.0]).unwrap(), 180.7341, 1e-4);
    }

    proptest! {
        #[test]
        fn at_the_centre_it_is_the_f_of_the_slopes_of_any_balanced_classes(scores in drawn()) {
            let (runs, shape) = (classes(&scores), Shape::second_order(2));
            let Ok(surface) = fit(&runs, &shape, None) else { return Ok(()) };
            let f = analysis(&runs, &shape).unwrap().slopes.f;
            prop_assert!((f_of_level(&surface, &[0.0, 0.0]).unwrap() - f).abs() < 1e-8 * (1.0 + f));
        }

        /// One factor: the same region by two routes.
        #[test]
        fn with_one_factor_it_is_fiellers(scores in prop::collection::vec(1u8..10, 20), x in -4.0..4.0f64) {
            let run = |(n, &score): (usize, &u8)| Run { at: vec![(n % 5) as f64 - 2.0], blocks: vec![n / 5], score: f64::from(score) };
            let runs: Vec<Run> = scores.iter().enumerate().map(run).collect();
            let Ok(surface) = fit(&runs, &Shape::second_order(1), None) else { return Ok(()) };
            let held = Region::new(&surface, 0.95).unwrap().holds(&[x]).unwrap();
            if let Ok(interval) = level_point(&surface, 0.95) {
                prop_assert_eq!(held, interval.contains(x));
                let top = -surface.coefficients[0] / (2.0 * surface.coefficients[1]);
                prop_assert!(interval.contains(top));
            } else {
                // Unbounded: far enough out, one side or both belong to it.
                let region = Region::new(&surface, 0.95).unwrap();
                prop_assert!(region.holds(&[1e7]).unwrap() || region.holds(&[-1e7]).unwrap());
            }
        }
    }
}
