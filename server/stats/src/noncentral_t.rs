//! Noncentral t: (Z + δ) / u with Z standard normal and u = s/σ an independent found spread.
//!
//! It is at most t if Z + δ ≤ t·u, so that its chances are the mean of Φ(t·u − δ) over u, or as well the mean over Z of
//! the chance that u is at least (Z + δ)/t: straight from the definition, and held to SciPy's below.

use super::Interval;
use super::cannot::Cannot;
use super::dist::{chance, chi_squared_quantile, chi_squared_upper};
use super::root::root;
use super::spread::Spread;
use statrs::distribution::{Continuous, ContinuousCDF, Normal};

/// Above this t, Φ(t·u − δ) is nearly a step in u, and the mean is taken over Z instead.
const STEEP: f64 = 1000.0;
/// Ratios of spread above this have no chance worth counting.
const WIDEST_RATIO: f64 = 10.0;
/// Z is looked at from −`REACH` to `REACH` in steps of a tenth.
const REACH: f64 = 8.5;

/// Noncentral t, looked at where it is at most one t.
pub(crate) struct NoncentralT {
    t: f64,
    df: f64,
    /// Not needed above [`STEEP`].
    spread: Option<Spread>,
}

impl NoncentralT {
    /// At `t` ≥ 0, with `df` ≥ 1 degrees of freedom, both finite, and noncentralities up to ± `widest`.
    pub(crate) fn new(t: f64, df: f64, widest: f64) -> Self {
        let sharpness = widest.min(WIDEST_RATIO * t);
        Self { t, df, spread: (t <= STEEP).then(|| Spread::new(df, sharpness)) }
    }

    /// The chance to lie at or below t.
    fn lower(&self, noncentrality: f64) -> f64 {
        let normal = Normal::standard();
        let Some(spread) = &self.spread else { return self.lower_by_steps(noncentrality) };
        spread.average(|ratio| normal.cdf(self.t * ratio - noncentrality)).clamp(0.0, 1.0)
    }

    /// The chance to lie beyond ± t: what lies below −t lies above t with the noncentrality turned round.
    pub(crate) fn beyond(&self, noncentrality: f64) -> f64 {
        2.0 - self.lower(noncentrality) - self.lower(-noncentrality)
    }

    fn lower_by_steps(&self, noncentrality: f64) -> f64 {
        let (normal, steps) = (Normal::standard(), (REACH * 10.0) as i32);
        let at_least =
            |ratio: f64| chi_squared_upper(self.df * ratio.max(0.0).powi(2), self.df).unwrap_or(0.0);
        let at = |z: f64| normal.pdf(z) / 10.0 * at_least((z + noncentrality) / self.t);
        (-steps..=steps).map(|i| at(f64::from(i) / 10.0)).sum::<f64>().clamp(0.0, 1.0)
    }
}

/// The interval of noncentralities that a `t` with `df` ≥ 1 degrees of freedom leaves possible: at its ends the t found
/// is just at the edge of what would be found (Steiger & Fouladi, Noncentrality interval estimation and the evaluation of
/// statistical models, 1997). Held to SciPy on 500 sets (`tests/reference/pairs.py`).
pub(crate) fn noncentrality_interval(t: f64, df: f64, confidence: f64) -> Result<Interval, Cannot> {
    let tail = (1.0 - chance(confidence)?) / 2.0;
    if t.is_nan() || t.abs() > 1e100 || df < 1.0 {
        return Err(Cannot::OutOfRange);
    }
    if t < 0.0 {
        let mirrored = noncentrality_interval(-t, df, confidence)?;
        return Ok(Interval { low: -mirrored.high, high: -mirrored.low, confidence });
    }
    // What the spread may be sets how far away the ends can be; what Z may be adds the rest.
    let widest = t * (chi_squared_quantile(1.0 - tail / 10.0, df)? / df).sqrt() + REACH;
    let law = NoncentralT::new(t, df, widest);
    let end = |chance: f64| root(-REACH, widest, |noncentrality| chance - law.lower(noncentrality));
    Ok(Interval { low: end(1.0 - tail), high: end(tail), confidence })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dist::t_upper;

    fn lower(t: f64, df: f64, noncentrality: f64) -> f64 {
        NoncentralT::new(t, df, noncentrality.abs()).lower(noncentrality)
    }

    /// Computed with scipy 1.17.1, `scipy.stats.nct.cdf(t, df, delta)`; no published table is at hand. The intervals that
    /// come from it are held to SciPy on 500 sets (`tests/reference/pairs.py`).
    #[test]
    fn the_chances_agree_with_another_library() {
        let known = [
            (2.0, 5.0, 1.0, 0.7780746626162148),
            (1.0, 3.0, -0.5, 1.0 - 0.09212120981435942),
            (0.3, 1.0, -2.0, 0.9863463466532643),
            (10.0, 7.0, 8.0, 0.711305418696024),
            (40.0, 23.0, 38.0, 0.5948208643981078),
            (2.1479875, 14.0, 0.5, 0.9326542809232182),
            (250.0, 2.0, 200.0, 0.5272947861078295),
        ];
        for (t, df, delta, known) in known {
            let ours = lower(t, df, delta);
            assert!((ours - known).abs() < 1e-9, "t {t}, df {df}, delta {delta}: {ours}, not {known}");
        }
    }

    #[test]
    fn without_noncentrality_it_is_students_t() {
        for df in [1.0, 4.0, 23.0, 200.0] {
            for t in [0.0, 0.5, 1.0, 8.0] {
                let (ours, known) = (lower(t, df, 0.0), 1.0 - t_upper(t, df).unwrap());
                assert!((ours - known).abs() < 1e-9, "t {t}, df {df}: {ours}, not {known}");
            }
        }
    }

    #[test]
    fn both_ways_of_taking_the_mean_agree_where_they_meet() {
        for df in [1.0, 2.0, 5.0, 23.0] {
            let below = noncentrality_interval(STEEP, df, 0.95).unwrap();
            let above = noncentrality_interval(STEEP * (1.0 + 1e-12), df, 0.95).unwrap();
            let (low, high) = (below.low / above.low - 1.0, below.high / above.high - 1.0);
            assert!(low.abs() < 1e-8 && high.abs() < 1e-8, "df {df}: {low}, {high}");
        }
    }

    #[test]
    fn a_negative_t_mirrors_the_interval() {
        let (up, down) = (noncentrality_interval(2.5, 7.0, 0.9), noncentrality_interval(-2.5, 7.0, 0.9));
        let (up, down) = (up.unwrap(), down.unwrap());
        assert_eq!((up.low, up.high), (-down.high, -down.low));
        assert!(up.low < 2.5 && 2.5 < up.high);
    }

    #[test]
    fn what_is_out_of_range_is_refused_and_what_is_huge_is_not() {
        assert_eq!(noncentrality_interval(f64::NAN, 3.0, 0.95), Err(Cannot::OutOfRange));
        assert_eq!(noncentrality_interval(1.0, 0.5, 0.95), Err(Cannot::OutOfRange));
        assert_eq!(noncentrality_interval(1.0, 3.0, 1.0), Err(Cannot::OutOfRange));
        let huge = noncentrality_interval(1e12, 3.0, 0.95).unwrap();
        assert!(huge.low > 1e11 && huge.high < 1e13, "{huge:?}");
    }
}
