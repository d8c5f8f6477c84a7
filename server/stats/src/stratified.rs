//! A mean over groups of values, each group a block of its own: what lies between groups is no part of the spread.

use super::Interval;
use super::cannot::Cannot;
use super::dist::{TReach, t_two_sided};
use super::sums;

/// Groups of values, taken one after the other.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Strata {
    n: usize,
    groups: usize,
    sum: f64,
    squares_within: f64,
    largest: f64,
}

/// The mean of all values, judged by their spread within the groups.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stratified {
    /// How many values.
    pub n: usize,
    /// How many groups.
    pub groups: usize,
    /// The mean of all values: each group weighs as many values as it has.
    pub mean: f64,
    /// The standard error of the mean: the standard deviation within groups over √n.
    pub standard_error: f64,
    /// Degrees of freedom, values less groups.
    pub df: usize,
    /// Mean ± t · standard error.
    pub interval: Interval,
    /// Two-sided p that the mean is zero in these groups.
    pub p: f64,
}

impl Strata {
    /// Takes a group in; an empty one is none.
    pub fn add(&mut self, group: &[f64]) {
        if group.is_empty() {
            return;
        }
        self.n += group.len();
        self.groups += 1;
        self.sum += group.iter().sum::<f64>();
        self.squares_within += sums::squares_about_mean(group);
        self.largest = group.iter().fold(self.largest, |largest, v| largest.max(v.abs()));
    }

    /// How many values.
    pub fn n(&self) -> usize {
        self.n
    }

    /// The mean of all values; `None` without any.
    pub fn mean(&self) -> Option<f64> {
        (self.n > 0).then(|| self.sum / self.n as f64)
    }

    /// The mean with its t interval and test: the model value = group + error, the mean of the groups weighed by their
    /// size, its variance s² / n with s² the mean square within groups (one-way analysis of variance with fixed blocks;
    /// any textbook of the linear model). It speaks for these groups. Of one group it is the one-sample t test.
    ///
    /// # Errors
    /// Too few values, no spread within the groups, or a value that is no number.
    pub fn stratified(&self, reach: &mut TReach) -> Result<Stratified, Cannot> {
        let mean = self.mean().ok_or(Cannot::Tasters(2))?;
        sums::finite(&[self.largest, self.sum])?;
        let df = self.n - self.groups;
        match (df, self.groups) {
            (0, 1) => return Err(Cannot::Tasters(2)),
            (0, _) => return Err(Cannot::NoFreedom),
            _ => {}
        }
        if sums::is_rounding(self.squares_within, std::iter::repeat_n(&self.largest, self.n)) {
            return Err(Cannot::NoSpread);
        }
        let standard_error = (self.squares_within / df as f64 / self.n as f64).sqrt();
        let half = reach.of(df)? * standard_error;
        let interval = Interval { low: mean - half, high: mean + half, confidence: reach.confidence() };
        let p = t_two_sided(mean / standard_error, df as f64)?;
        Ok(Stratified { n: self.n, groups: self.groups, mean, standard_error, df, interval, p })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::anova::one_way;
    use crate::paired::paired;
    use proptest::prelude::*;

    fn strata(groups: &[Vec<f64>]) -> Strata {
        let mut strata = Strata::default();
        groups.iter().for_each(|group| strata.add(group));
        strata
    }

    fn stratified(groups: &[Vec<f64>]) -> Result<Stratified, Cannot> {
        strata(groups).stratified(&mut TReach::new(0.95).unwrap())
    }

    /// Two classes of three: within squares 2 + 8, df 4, s² 2.5, standard error √(2.5/6) = 0.645497; mean 3; t(4) of
    /// 97.5 % is 2.776445 (common t tables).
    #[test]
    fn what_lies_between_classes_is_no_part_of_the_spread() {
        let found = stratified(&[vec![0.0, 1.0, 2.0], vec![3.0, 5.0, 7.0]]).unwrap();
        assert_eq!((found.n, found.groups, found.df, found.mean), (6, 2, 4, 3.0));
        assert!((found.standard_error - 0.645_497_2).abs() < 1e-7, "{found:?}");
        assert!((found.interval.high - (3.0 + 2.776_445_1 * 0.645_497_2)).abs() < 1e-6, "{found:?}");
    }

    #[test]
    fn what_cannot_be_judged_is_said() {
        assert_eq!(stratified(&[]), Err(Cannot::Tasters(2)));
        assert_eq!(stratified(&[vec![], vec![]]), Err(Cannot::Tasters(2)));
        assert_eq!(stratified(&[vec![1.0]]), Err(Cannot::Tasters(2)));
        assert_eq!(stratified(&[vec![1.0], vec![2.0]]), Err(Cannot::NoFreedom));
        assert_eq!(stratified(&[vec![1.0, 1.0], vec![2.0, 2.0]]), Err(Cannot::NoSpread));
        assert_eq!(stratified(&[vec![0.1 + 0.2, 0.3]]), Err(Cannot::NoSpread));
        assert_eq!(stratified(&[vec![1.0, f64::INFINITY]]), Err(Cannot::NotFinite));
    }

    proptest! {
        #[test]
        fn one_group_gives_the_one_sample_test(values in prop::collection::vec(-20i32..20, 2..20)) {
            let values: Vec<f64> = values.into_iter().map(f64::from).collect();
            match (stratified(std::slice::from_ref(&values)), paired(&values, 0.95)) {
                (Ok(ours), Ok(known)) => {
                    prop_assert!((ours.p - known.p).abs() < 1e-9);
                    prop_assert!((ours.interval.low - known.interval.low).abs() < 1e-9);
                }
                (ours, known) => prop_assert_eq!(ours.err(), known.err()),
            }
        }

        #[test]
        fn the_spread_is_that_of_the_analysis_of_variance(
            groups in prop::collection::vec(prop::collection::vec(-20i32..20, 1..9), 2..6),
        ) {
            let groups: Vec<Vec<f64>> =
                groups.into_iter().map(|g| g.into_iter().map(f64::from).collect()).collect();
            if let (Ok(ours), Ok(known)) = (stratified(&groups), one_way(&groups)) {
                prop_assert_eq!(ours.df, known.within.df);
                prop_assert!((ours.standard_error - (known.within.mean_square / known.n as f64).sqrt()).abs() < 1e-9);
            }
        }
    }
}
