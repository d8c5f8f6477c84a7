//! Describing a handful of numbers.

use serde::Serialize;

/// The figures of some scores. What too few scores can't give is absent, never made up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Figures {
    /// How many scores.
    pub n: usize,
    /// Arithmetic mean; needs one score.
    pub mean: Option<f64>,
    /// The middle score, or halfway between the two middle ones; needs one score.
    pub median: Option<f64>,
    /// Standard deviation of a sample (divisor n − 1); needs two scores.
    pub sd: Option<f64>,
    /// The lowest score.
    pub min: Option<f64>,
    /// The highest score.
    pub max: Option<f64>,
}

impl Figures {
    /// The figures of finite `values`, in any order.
    pub fn of(mut values: Vec<f64>) -> Self {
        values.sort_by(f64::total_cmp);
        let n = values.len();
        let (Some(&min), Some(&max)) = (values.first(), values.last()) else { return Self::default() };
        let count = n as f64;
        // The mean of the differences from a first mean takes off the rounding of the first: exact for whole
        // points, and good where large numbers differ little.
        let rough = values.iter().sum::<f64>() / count;
        let mean = rough + values.iter().map(|v| v - rough).sum::<f64>() / count;
        let squares: f64 = values.iter().map(|v| (v - mean) * (v - mean)).sum();
        let middle = (values[(n - 1) / 2] + values[n / 2]) / 2.0;
        Self {
            n,
            mean: Some(mean),
            median: Some(middle),
            sd: (n > 1).then(|| (squares / (count - 1.0)).sqrt()),
            min: Some(min),
            max: Some(max),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn too_few_scores_give_no_made_up_figures() {
        assert_eq!(Figures::of(vec![]), Figures::default());
        let one = Figures::of(vec![7.0]);
        assert_eq!((one.n, one.mean, one.median, one.sd), (1, Some(7.0), Some(7.0), None));
    }

    #[test]
    fn two_middle_scores_share_the_median() {
        assert_eq!(Figures::of(vec![9.0, 1.0, 4.0, 7.0]).median, Some(5.5));
        assert_eq!(Figures::of(vec![9.0, 1.0, 4.0]).median, Some(4.0));
    }

    proptest! {
        #[test]
        fn figures_lie_where_they_must(values in prop::collection::vec(-100i32..100, 1..40), shift in -50i32..50) {
            let of = |shift: i32| Figures::of(values.iter().map(|&v| f64::from(v + shift)).collect());
            let (plain, moved) = (of(0), of(shift));
            let (mean, min, max) = (plain.mean.unwrap(), plain.min.unwrap(), plain.max.unwrap());
            prop_assert!((min..=max).contains(&mean) && (min..=max).contains(&plain.median.unwrap()));
            prop_assert!((moved.mean.unwrap() - mean - f64::from(shift)).abs() < 1e-9, "a shift moves the mean");
            if let (Some(a), Some(b)) = (plain.sd, moved.sd) {
                prop_assert!((a - b).abs() < 1e-9 && a <= (max - min), "and leaves the spread");
            }
        }
    }
}
