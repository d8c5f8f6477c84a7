//! What so many seats can show: the power of a paired t test between two teas.
//!
//! Every seat scores both teas; the test looks at the seats' differences. If their true mean is d and their standard
//! deviation is s, the test's t follows the noncentral t distribution with n − 1 degrees of freedom and noncentrality
//! d/s·√n (common statistics; for instance Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 2,
//! from memory, not shown as a citation). The tests hold it against values computed elsewhere.

/// The standard deviation of the seats' differences that is taken for granted, points on the scale: what a spread of
/// 1.5 points per score gives if the two scores of one seat correlate by one half.
pub const SD_OF_DIFFERENCES: f64 = 1.5;
/// The chance to be found that a difference is asked to have.
pub const POWER: f64 = 0.8;
/// The chance of an alarm without any difference, both sides together.
pub const SIGNIFICANCE: f64 = 0.05;
/// Steps of the integration over the spread that a class happens to find; even.
const STEPS: u32 = 600;
/// Halvings of an interval when a number is searched.
const HALVINGS: u32 = 45;

/// The chance that a standard normal variable is below `x`: the series of Marsaglia (Evaluating the Normal
/// Distribution, Journal of Statistical Software 11(4), 2004).
fn normal(x: f64) -> f64 {
    if x.abs() > 8.0 {
        return if x > 0.0 { 1.0 } else { 0.0 };
    }
    let (mut term, mut sum, mut odd) = (x, 0.0, 1.0);
    // Once a term no longer changes the sum, none after it does; a fixed number of terms bounds the work.
    for _ in 0..400 {
        let next = sum + term;
        if next == sum {
            break;
        }
        sum = next;
        odd += 2.0;
        term *= x * x / odd;
    }
    0.5 + sum * (-x * x / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt()
}

/// Noncentral t with a whole number of degrees of freedom, as a mixture: given the ratio u of the standard deviation
/// found to the true one, t·u less the noncentrality is a standard normal variable.
struct NoncentralT {
    /// The ratios at which it is looked at, each with its weight; the weights add up to one.
    ratios: Vec<(f64, f64)>,
}

impl NoncentralT {
    /// `freedom` degrees of freedom, at least 1.
    fn new(freedom: f64) -> Self {
        // u² · freedom follows a chi-squared distribution; u lies near 1 ± 1/√(2·freedom), with tails no longer than
        // normal ones. The constant in front of the density drops out because the weights are made to add up to one.
        let reach = 10.0 / (2.0 * freedom).sqrt();
        let (from, to) = ((1.0 - reach).max(0.0), 1.0 + reach);
        let step = (to - from) / f64::from(STEPS);
        // In logarithms, since each factor alone leaves the range of f64 for a large class; ln 0 is kept finite.
        let density =
            |u: f64| ((freedom - 1.0) * u.max(f64::MIN_POSITIVE).ln() - freedom * (u * u - 1.0) / 2.0).exp();
        let mut ratios: Vec<(f64, f64)> = (0..=STEPS)
            .map(|i| {
                let u = from + step * f64::from(i);
                // Simpson's rule: 1, 4, 2, 4, …, 4, 1.
                let simpson = if i == 0 || i == STEPS { 1.0 } else { 2.0 + 2.0 * f64::from(i % 2) };
                (u, simpson * density(u))
            })
            .collect();
        let total: f64 = ratios.iter().map(|&(_, w)| w).sum();
        ratios.iter_mut().for_each(|(_, w)| *w /= total);
        Self { ratios }
    }

    /// The chance to lie beyond ± `t` with this noncentrality.
    fn beyond(&self, t: f64, noncentrality: f64) -> f64 {
        let either = |u: f64| normal(noncentrality - t * u) + normal(-noncentrality - t * u);
        self.ratios.iter().map(|&(u, weight)| weight * either(u)).sum()
    }
}

/// Where a rising function passes `target`, between 0 and a bound found by doubling.
fn search(target: f64, rising: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        if rising(high) >= target {
            break;
        }
        (low, high) = (high, high * 2.0);
    }
    for _ in 0..HALVINGS {
        let middle = (low + high) / 2.0;
        if rising(middle) < target { low = middle } else { high = middle }
    }
    high
}

/// The paired t test of one class.
struct PairedT {
    seats: f64,
    t: NoncentralT,
    /// Beyond ± this, a difference counts as found.
    critical: f64,
}

impl PairedT {
    /// For at least two seats.
    fn new(seats: usize) -> Option<Self> {
        if seats < 2 {
            return None;
        }
        let seats = seats as f64;
        let t = NoncentralT::new(seats - 1.0);
        let critical = search(1.0 - SIGNIFICANCE, |bound| 1.0 - t.beyond(bound, 0.0));
        Some(Self { seats, t, critical })
    }

    /// The power for a difference in units of the standard deviation.
    fn power(&self, effect: f64) -> f64 {
        self.t.beyond(self.critical, effect * self.seats.sqrt())
    }
}

/// The chance that `seats` seats find a true difference of so many points, if their differences vary with a standard
/// deviation of `sd` points (above 0): two-sided paired t test at 5 %. Two seats or more, else there is no test.
pub fn power(seats: usize, difference: f64, sd: f64) -> Option<f64> {
    PairedT::new(seats).map(|test| test.power((difference / sd).abs()))
}

/// The smallest true difference, in points on the scale, that `seats` seats find with 80 % power, if their
/// differences vary with a standard deviation of 1.5 points. Two seats or more, else there is no test.
pub fn smallest_difference(seats: usize) -> Option<f64> {
    let test = PairedT::new(seats)?;
    Some(SD_OF_DIFFERENCES * search(POWER, |effect| test.power(effect)))
}

/// The chance of a false alarm and of a miss that "four classes out of five" stands for: the normal quantiles at
/// 97.5 % and 80 %.
const NORMAL_975: f64 = 1.959_963_984_540_054;
const NORMAL_80: f64 = 0.841_621_233_572_914;

/// About how many tasters find a true difference of `difference` points in four classes out of five, if their differences
/// vary with a standard deviation of `sd` (paired t test, 5 %): the normal approximation with Guenther's correction
/// (Sample size formulas for normal theory t tests, The American Statistician 35, 1981, from memory); nothing where that
/// is more than any class.
pub fn tasters_for(difference: f64, sd: f64) -> Option<usize> {
    let needed = ((NORMAL_975 + NORMAL_80) * sd / difference).powi(2) + NORMAL_975 * NORMAL_975 / 2.0;
    (needed.is_finite() && needed <= 500.0).then(|| needed.ceil() as usize)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn near(value: f64, expected: f64, tolerance: f64) {
        assert!((value - expected).abs() <= tolerance, "{value} is not {expected} ± {tolerance}");
    }

    #[test]
    fn the_normal_distribution_has_its_known_values() {
        // Quantiles of every statistics table.
        for (x, p) in [(0.0, 0.5), (1.959_963_985, 0.975), (-1.644_853_627, 0.05), (3.090_232_306, 0.999)] {
            near(normal(x), p, 1e-9);
        }
        near(normal(7.9), 1.0, 1e-12);
        assert_eq!((normal(40.0), normal(-40.0)), (1.0, 0.0));
    }

    #[test]
    fn t_has_the_critical_values_of_the_tables() {
        // Student's t, 5 % two-sided, as every statistics table prints it.
        for (freedom, t) in [(1, 12.7062), (2, 4.3027), (3, 3.1824), (4, 2.7764), (10, 2.2281), (30, 2.0423)]
        {
            near(PairedT::new(freedom + 1).unwrap().critical, t, 1e-4);
        }
        near(PairedT::new(1000).unwrap().critical, 1.9623, 1e-4);
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
    fn too_few_seats_are_told_that_nothing_can_be_shown() {
        assert_eq!((power(0, 1.0, 1.5), power(1, 1.0, 1.5), smallest_difference(1)), (None, None, None));
        assert!(smallest_difference(2).unwrap() > 9.0, "two seats find nothing that fits on a scale");
    }

    #[test]
    fn so_many_tasters_have_the_power_and_two_fewer_have_not() {
        for (difference, sd) in [(1.0, 1.0), (1.0, 1.5), (1.0, 2.12), (0.4, 1.5), (2.5, 1.5), (0.3, 2.0)] {
            let n = tasters_for(difference, sd).unwrap();
            assert!(power(n + 1, difference, sd).unwrap() >= POWER, "{n} for {difference} of {sd}");
            assert!(power(n - 2, difference, sd).unwrap() < POWER, "{n} for {difference} of {sd}");
        }
        assert_eq!((tasters_for(0.0, 1.0), tasters_for(0.01, 3.0)), (None, None));
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
