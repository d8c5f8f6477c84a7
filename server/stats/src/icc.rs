//! Intraclass correlations: what share of the spread of the scores is the teas' own.

use super::dist::{f_quantile, f_upper};
use super::interval::SIGNIFICANCE;
use super::sums::{columns, full_table, mean, unless_rounding};
use super::{Cannot, Interval};
use std::fmt;

/// A denominator of less, beside what it is made of, is zero but for rounding.
const NOTHING: f64 = 1e-12;

/// Which intraclass correlation, after Shrout and Fleiss (1979).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// ICC(1,1): other tasters for each tea; one taster's score.
    OneWaySingle,
    /// ICC(2,1): the same tasters for all teas, drawn from many; one taster's score, level included.
    RandomSingle,
    /// ICC(3,1): just these tasters; one taster's score, differences of level not counted.
    FixedSingle,
    /// ICC(1,k): as ICC(1,1) for the mean of all.
    OneWayMean,
    /// ICC(2,k): as ICC(2,1) for the mean of all.
    RandomMean,
    /// ICC(3,k): as ICC(3,1) for the mean of all; Cronbach's alpha.
    FixedMean,
}

impl Form {
    /// All forms: those of one taster, then those of the mean.
    pub const ALL: [Form; 6] = [
        Form::OneWaySingle,
        Form::RandomSingle,
        Form::FixedSingle,
        Form::OneWayMean,
        Form::RandomMean,
        Form::FixedMean,
    ];

    /// The form of one taster's score that it goes with.
    fn single(self) -> Form {
        match self {
            Form::OneWaySingle | Form::OneWayMean => Form::OneWaySingle,
            Form::RandomSingle | Form::RandomMean => Form::RandomSingle,
            Form::FixedSingle | Form::FixedMean => Form::FixedSingle,
        }
    }
}

impl fmt::Display for Form {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Form::OneWaySingle => "ICC(1,1)",
            Form::RandomSingle => "ICC(2,1)",
            Form::FixedSingle => "ICC(3,1)",
            Form::OneWayMean => "ICC(1,k)",
            Form::RandomMean => "ICC(2,k)",
            Form::FixedMean => "ICC(3,k)",
        })
    }
}

/// One intraclass correlation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Icc {
    /// Which one.
    pub form: Form,
    pub tasters: usize,
    pub teas: usize,
    /// The correlation, at most 1; below 0 if the teas' means differ less than chance would have it.
    pub value: f64,
    /// Its 95 % interval. Absent for ICC(2,·) where the tasters contradict each other so much that the approximation
    /// behind it breaks down.
    pub interval: Option<Interval>,
    /// F against a true correlation of 0.
    pub f: f64,
    /// Degrees of freedom of F: teas, and what they are compared with.
    pub df: (usize, usize),
    /// The chance of so large an F if the teas didn't differ.
    pub p: f64,
}

/// The mean squares of a table of teas by tasters, one score in each cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeanSquares {
    /// How many tasters, k.
    pub tasters: usize,
    /// How many teas, n.
    pub teas: usize,
    /// Between teas, n − 1 degrees of freedom.
    pub between_teas: f64,
    /// Within teas, n (k − 1) degrees of freedom.
    pub within_teas: f64,
    /// Between tasters, k − 1 degrees of freedom.
    pub between_tasters: f64,
    /// What is left, (n − 1)(k − 1) degrees of freedom.
    pub residual: f64,
}

impl MeanSquares {
    /// The mean squares of `scores`: rows are tasters, columns teas; no cell may be missing.
    ///
    /// # Errors
    /// With fewer than two tasters or teas, a table that is not rectangular or not of numbers, or equal scores all over.
    pub fn of(scores: &[Vec<f64>]) -> Result<Self, Cannot> {
        let (tasters, teas) = full_table(scores)?;
        let by_taster: Vec<f64> = scores.iter().map(|row| mean(row)).collect();
        let by_tea: Vec<f64> = columns(scores).iter().map(|column| mean(column)).collect();
        let grand = mean(&by_taster);
        let (k, n) = (tasters as f64, teas as f64);
        let sum_over_cells = |part: &dyn Fn(usize, usize) -> f64| {
            let cells = (0..tasters).flat_map(|taster| (0..teas).map(move |tea| (taster, tea)));
            unless_rounding(cells.map(|(i, j)| part(i, j).powi(2)).sum(), scores.iter().flatten())
        };
        let found = Self {
            tasters,
            teas,
            between_teas: sum_over_cells(&|_, j| by_tea[j] - grand) / (n - 1.0),
            within_teas: sum_over_cells(&|i, j| scores[i][j] - by_tea[j]) / (n * (k - 1.0)),
            between_tasters: sum_over_cells(&|i, _| by_taster[i] - grand) / (k - 1.0),
            residual: sum_over_cells(&|i, j| scores[i][j] - by_tea[j] - by_taster[i] + grand)
                / ((n - 1.0) * (k - 1.0)),
        };
        if found.between_teas == 0.0 && found.within_teas == 0.0 {
            return Err(Cannot::AllEqual);
        }
        Ok(found)
    }

    /// One intraclass correlation. Values and F after Shrout and Fleiss (1979), Psychological Bulletin 86:420; intervals
    /// after McGraw and Wong (1996), Psychological Methods 1:30. Held to those formulas over statsmodels' mean squares on 500
    /// sets (`tests/reference/agreement.py`).
    ///
    /// # Errors
    /// If there is no spread to compare with, or the teas' means differ so little that a mean has no reliability.
    pub fn icc(&self, form: Form) -> Result<Icc, Cannot> {
        let single = form.single();
        let one_way = single == Form::OneWaySingle;
        let error = if one_way { self.within_teas } else { self.residual };
        if error == 0.0 {
            return Err(Cannot::NothingLeft);
        }
        let df1 = self.teas - 1;
        let df2 = if one_way { self.teas * (self.tasters - 1) } else { df1 * (self.tasters - 1) };
        let f = self.between_teas / error;
        let value = self.value(single).ok_or(Cannot::NoReliability)?;
        let limits = if single == Form::RandomSingle {
            self.random_interval(value)?
        } else {
            Some(self.simple_interval(f, df1 as f64, df2 as f64)?)
        };
        let (value, interval) = if form == single {
            (value, limits)
        } else {
            (self.of_mean(value).ok_or(Cannot::NoReliability)?, limits.and_then(|l| self.of_mean_interval(l)))
        };
        let p = f_upper(f, df1 as f64, df2 as f64)?;
        Ok(Icc { form, tasters: self.tasters, teas: self.teas, value, interval, f, df: (df1, df2), p })
    }

    /// The correlation of one taster's scores; none where all spread is of the kind that is left over.
    fn value(&self, single: Form) -> Option<f64> {
        let (k, n) = (self.tasters as f64, self.teas as f64);
        let error = if single == Form::OneWaySingle { self.within_teas } else { self.residual };
        let levels =
            if single == Form::RandomSingle { k * (self.between_tasters - self.residual) / n } else { 0.0 };
        let whole = self.between_teas + (k - 1.0) * error + levels;
        (whole > NOTHING * error).then(|| (self.between_teas - error) / whole)
    }

    /// From the correlation of one taster to that of the mean of all (Spearman and Brown); none where it isn't defined.
    fn of_mean(&self, single: f64) -> Option<f64> {
        let k = self.tasters as f64;
        let denominator = 1.0 + (k - 1.0) * single;
        (denominator > NOTHING).then(|| k * single / denominator)
    }

    fn of_mean_interval(&self, single: Interval) -> Option<Interval> {
        Some(Interval::usual(self.of_mean(single.low)?, self.of_mean(single.high)?))
    }

    /// The interval of the one-way and the fixed form: that of F, turned into a correlation.
    fn simple_interval(&self, f: f64, df1: f64, df2: f64) -> Result<Interval, Cannot> {
        let p = 1.0 - SIGNIFICANCE / 2.0;
        let k = self.tasters as f64;
        let of_f = Interval::usual(f / f_quantile(p, df1, df2)?, f * f_quantile(p, df2, df1)?);
        Ok(of_f.map(|f| (f - 1.0) / (f + k - 1.0)))
    }

    /// The interval of ICC(2,1), with Satterthwaite's degrees of freedom. They are those of a sum of two mean squares
    /// and mean nothing where one is subtracted so largely that less than one is left.
    fn random_interval(&self, value: f64) -> Result<Option<Interval>, Cannot> {
        let (k, n) = (self.tasters as f64, self.teas as f64);
        let (teas, tasters, error) = (self.between_teas, self.between_tasters, self.residual);
        let of_tasters = k * value * tasters;
        let of_error = (n * (1.0 + (k - 1.0) * value) - k * value) * error;
        let df = (of_tasters + of_error).powi(2)
            / (of_tasters.powi(2) / (k - 1.0) + of_error.powi(2) / ((n - 1.0) * (k - 1.0)));
        if !(df.is_finite() && df >= 1.0 - 1e-9) {
            return Ok(None);
        }
        let p = 1.0 - SIGNIFICANCE / 2.0;
        let (low, high) = (f_quantile(p, n - 1.0, df)?, f_quantile(p, df, n - 1.0)?);
        let spread = k * tasters + (k * n - k - n) * error;
        Ok(Some(Interval::usual(
            n * (teas - low * error) / (low * spread + n * teas),
            n * (high * teas - error) / (spread + n * high * teas),
        )))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::agreement::cronbach_alpha;
    use crate::examples::{MANUAL, SHROUT_AND_FLEISS};
    use proptest::prelude::*;

    /// A row for each target becomes one for each judge.
    fn by_judge<const N: usize>(targets: [[f64; N]; 6]) -> Vec<Vec<f64>> {
        columns(&targets.map(Vec::from))
    }

    fn near(value: f64, expected: f64, tolerance: f64) {
        assert!((value - expected).abs() <= tolerance, "{value} is not {expected}");
    }

    /// Computed with numpy and scipy; rounded to two places as the paper is quoted: mean squares 11.24, 6.26, 32.49, 1.02,
    /// correlations .17 .29 .71 .44 .62 .91.
    #[test]
    fn correlations_are_those_of_shrout_and_fleiss() {
        let squares = MeanSquares::of(&by_judge(SHROUT_AND_FLEISS)).unwrap();
        near(squares.between_teas, 11.241_667, 5e-7);
        near(squares.within_teas, 6.263_889, 5e-7);
        near(squares.between_tasters, 32.486_111, 5e-7);
        near(squares.residual, 1.019_444, 5e-7);
        let expected = [0.165_742, 0.289_764, 0.714_841, 0.442_797, 0.620_051, 0.909_316];
        for (form, expected) in Form::ALL.into_iter().zip(expected) {
            let found = squares.icc(form).unwrap();
            near(found.value, expected, 5e-7);
            assert!(found.interval.unwrap().contains(found.value), "{form}");
        }
        let fixed = squares.icc(Form::FixedSingle).unwrap();
        near(fixed.f, 11.027_248_0, 5e-8);
        near(fixed.p, 1.345_67e-4, 5e-10);
        assert_eq!((fixed.df, fixed.tasters, fixed.teas), ((5, 15), 4, 6));
        assert_eq!(squares.icc(Form::OneWayMean).unwrap().df, (5, 18));
        assert_eq!(fixed.form.to_string(), "ICC(3,1)");
    }

    /// A worked two-way example from a general data-analysis program's manual, in a public collection of mathematics
    /// texts: rows are factor A.
    #[test]
    fn mean_squares_are_those_of_a_second_published_table() {
        let squares = MeanSquares::of(&by_judge(MANUAL)).unwrap();
        near(squares.between_teas * 5.0, 21.303_587_5, 1e-7);
        near(squares.between_tasters * 3.0, 11.288_112_5, 1e-7);
        near(squares.residual * 15.0, 3.912_162_5, 1e-7);
        near(squares.icc(Form::FixedSingle).unwrap().f, 16.336_428_38, 1e-7);
    }

    #[test]
    fn what_leaves_no_spread_is_said() {
        let shifted = vec![vec![1.1, 2.3, 4.2], vec![2.1, 3.3, 5.2]];
        let squares = MeanSquares::of(&shifted).unwrap();
        assert_eq!(squares.icc(Form::FixedSingle), Err(Cannot::NothingLeft));
        assert!(squares.icc(Form::OneWaySingle).is_ok(), "tasters differ in level");
        assert_eq!(MeanSquares::of(&[vec![5.0; 3], vec![5.0; 3]]), Err(Cannot::AllEqual));
        let equal = MeanSquares::of(&[vec![1.0, 2.0], vec![2.0, 1.0]]).unwrap();
        assert_eq!(equal.icc(Form::FixedMean), Err(Cannot::NoReliability));
        near(equal.icc(Form::FixedSingle).unwrap().value, -1.0, 1e-12);
        assert_eq!(equal.icc(Form::RandomSingle), Err(Cannot::NoReliability), "tasters don't differ either");
    }

    proptest! {
        #[test]
        fn the_mean_of_these_tasters_is_as_reliable_as_alpha_says(
            rows in prop::collection::vec([1i32..9, 1..9, 1..9], 2..9),
        ) {
            let scores: Vec<Vec<f64>> = rows.iter().map(|r| r.iter().map(|&v| f64::from(v)).collect()).collect();
            let icc = MeanSquares::of(&scores).and_then(|squares| squares.icc(Form::FixedMean));
            if let (Ok(icc), Ok(alpha)) = (icc, cronbach_alpha(&scores)) {
                prop_assert!((icc.value - alpha.alpha).abs() <= 1e-9 * alpha.alpha.abs().max(1.0));
            }
        }

        #[test]
        fn every_figure_is_finite_and_in_its_interval(
            rows in prop::collection::vec([1i32..5, 1..5, 1..5, 1..5], 2..9),
        ) {
            let scores: Vec<Vec<f64>> = rows.iter().map(|r| r.iter().map(|&v| f64::from(v)).collect()).collect();
            let Ok(squares) = MeanSquares::of(&scores) else { return Ok(()) };
            for icc in Form::ALL.into_iter().filter_map(|form| squares.icc(form).ok()) {
                prop_assert!(icc.value.is_finite() && icc.value <= 1.0 && icc.f.is_finite());
                prop_assert!((0.0..=1.0).contains(&icc.p));
                if let Some(i) = icc.interval {
                    prop_assert!(i.low.is_finite() && i.high.is_finite(), "{icc:?}");
                    prop_assert!(i.low <= icc.value + 1e-9 && icc.value <= i.high + 1e-9, "{icc:?}");
                }
            }
        }
    }
}
