//! What n seats can show: the power of a paired t test between two teas.
//!
//! Every seat scores both teas; the test looks at the seats' differences. If their true mean is d and their standard
//! deviation is s, the test's t follows the noncentral t distribution with n − 1 degrees of freedom and noncentrality
//! d/s·√n (common practice; held to statsmodels below).

use super::dist::t_quantile;
use super::interval::SIGNIFICANCE;
use super::noncentral_t::NoncentralT;
use super::root::root_above;

/// The standard deviation of the seats' differences that is taken for granted, points on the scale: what a spread of
/// 1.5 points per score gives if the two scores of one seat correlate by one half.
pub const SD_OF_DIFFERENCES: f64 = 1.5;
/// The chance to be found that a difference is asked to have.
pub(crate) const POWER: f64 = 0.8;
/// The search for a difference doubles its first guess, one standard deviation, this often at most.
const DOUBLINGS: u32 = 45;

/// The paired t test of one class.
struct PairedT {
    seats: f64,
    /// At the t beyond which a difference counts as found.
    critical: NoncentralT,
}

impl PairedT {
    /// For at least two seats.
    fn new(seats: usize) -> Option<Self> {
        let df = seats.checked_sub(1)? as f64;
        let t = t_quantile(1.0 - SIGNIFICANCE / 2.0, df).ok()?;
        Some(Self { seats: seats as f64, critical: NoncentralT::new(t, df, f64::INFINITY) })
    }

    /// The power for a difference in units of the standard deviation.
    fn power(&self, effect: f64) -> f64 {
        self.critical.beyond(effect * self.seats.sqrt())
    }
}

/// The chance that `seats` seats find a true difference of `difference` points, if their differences vary with a standard
/// deviation of `sd` points (above 0): two-sided paired t test at 5 %. Two seats or more, else there is no test.
pub fn power(seats: usize, difference: f64, sd: f64) -> Option<f64> {
    PairedT::new(seats).map(|test| test.power((difference / sd).abs()))
}

/// The smallest true difference, in points on the scale, that `seats` seats find with 80 % power, if their
/// differences vary with a standard deviation of 1.5 points. Two seats or more, else there is no test.
pub fn smallest_difference(seats: usize) -> Option<f64> {
    let test = PairedT::new(seats)?;
    Some(SD_OF_DIFFERENCES * root_above(0.0, 1.0, DOUBLINGS, |effect| test.power(effect) - POWER))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn near(value: f64, expected: f64, tolerance: f64) {
        assert!((value - expected).abs() <= tolerance, "{value} is not {expected} ± {tolerance}");
    }

    #[test]
    fn power_is_that_of_a_statistics_package() {
        // statsmodels 0.15.0, TTestPower().power(1/sd, n, .05), printed to 0.001; a true difference of 1 point.
        let seats = [6, 8, 10, 12, 16, 20, 30];
        let table = [
            (1.0, [0.507, 0.681, 0.803, 0.883, 0.962, 0.989, 1.000]),
            (1.5, [0.265, 0.371, 0.469, 0.558, 0.703, 0.807, 0.942]),
            (2.0, [0.171, 0.232, 0.293, 0.353, 0.465, 0.565, 0.754]),
            (2.12, [0.157, 0.212, 0.266, 0.320, 0.423, 0.517, 0.704]),
        ];
        for (sd, row) in table {
            for (n, expected) in seats.into_iter().zip(row) {
                near(power(n, 1.0, sd).unwrap(), expected, 0.000_6);
            }
        }
    }

    #[test]
    fn one_point_needs_as_many_seats_as_a_statistics_package_says() {
        // statsmodels 0.15.0: 9.94, 19.67, 33.37 and 37.29 seats for 80 %.
        for (sd, n) in [(1.0, 10), (1.5, 20), (2.0, 34), (2.12, 38)] {
            assert!(
                power(n - 1, 1.0, sd).unwrap() < POWER && power(n, 1.0, sd).unwrap() >= POWER,
                "{n} for {sd}"
            );
        }
    }

    #[test]
    fn the_smallest_differences_are_those_of_the_reference_table() {
        // statsmodels 0.15.0, SD 1.5, printed to 0.01.
        let table = [
            (6, 2.15),
            (8, 1.73),
            (10, 1.49),
            (12, 1.33),
            (16, 1.12),
            (20, 0.99),
            (30, 0.79),
            (60, 0.55),
            (100, 0.42),
        ];
        for (n, points) in table {
            near(smallest_difference(n).unwrap(), points, 0.006);
        }
        // For many seats the normal approximation is as good: (1.9600 + 0.8416)·1.5/√n.
        near(smallest_difference(1000).unwrap(), 2.8016 * 1.5 / 1000f64.sqrt(), 0.000_5);
        near(smallest_difference(10_000).unwrap(), 2.8016 * 1.5 / 100.0, 0.000_5);
    }

    #[test]
    fn too_few_seats_have_no_power() {
        assert_eq!((power(0, 1.0, 1.5), power(1, 1.0, 1.5), smallest_difference(1)), (None, None, None));
        assert!(smallest_difference(2).unwrap() > 9.0, "two seats find nothing that fits on a scale");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]
        #[test]
        fn more_seats_and_larger_differences_are_found_more_often(seats in 2usize..1000, points in 0.0..3.0f64) {
            let base = power(seats, points, 1.5).unwrap();
            prop_assert!((SIGNIFICANCE - 1e-6..=1.0 + 1e-9).contains(&base));
            prop_assert!(power(seats, points + 0.1, 1.5).unwrap() >= base - 1e-9);
            prop_assert!(power(seats + 1, points, 1.5).unwrap() >= base - 1e-6);
            prop_assert!((power(seats, -points, 1.5).unwrap() - base).abs() < 1e-12, "either tea may be the better");
        }

        #[test]
        fn the_smallest_difference_has_the_power_it_promises(seats in 2usize..1000) {
            let points = smallest_difference(seats).unwrap();
            prop_assert!((power(seats, points, SD_OF_DIFFERENCES).unwrap() - POWER).abs() < 1e-6);
            prop_assert!(smallest_difference(seats + 1).unwrap() < points);
        }
    }
}
