//! Numbers in running text.

use crate::stats::Interval;

/// The chance of a false alarm and of a miss that "four classes out of five" stands for: the normal quantiles at
/// 97.5 % and 80 %.
const NORMAL_975: f64 = 1.959_963_984_540_054;
const NORMAL_80: f64 = 0.841_621_233_572_914;

/// "1.9 points"; below a tenth in words.
pub fn points(value: f64) -> String {
    let size = value.abs();
    match format!("{size:.1}").as_str() {
        "0.0" if size > 0.0 => "less than 0.1 points".into(),
        "1.0" => "1.0 point".into(),
        shown => format!("{shown} points"),
    }
}

/// "p 0.012", "p below 0.001".
pub fn p(p: f64) -> String {
    if p < 0.001 {
        "p below 0.001".into()
    } else if p < 0.1 {
        format!("p {p:.3}")
    } else {
        format!("p {p:.2}")
    }
}

/// p by itself and, where it went through Holm with others, adjusted: "p 0.012, with all 4 tests looked at 0.048".
pub fn p_of_family(alone: f64, adjusted: f64, family: usize) -> String {
    if family < 2 {
        return p(alone);
    }
    let adjusted = p(adjusted);
    format!("{}; {} allowing for {family} tests", p(alone), adjusted)
}

/// "0.6 to 3.2": an interval of points, its sign taken along. An end near 0 has two decimals, to show on which side it lies.
pub fn range(interval: Interval) -> String {
    let end = |value: f64| if value.abs() < 0.05 { fine(value) } else { signed(value) };
    format!("{} to {}", end(interval.low), end(interval.high))
}

/// "−0.4": with a minus sign, not a hyphen, and never "−0.0".
pub fn signed(value: f64) -> String {
    let shown = format!("{:.1}", value.abs());
    if value < 0.0 && shown != "0.0" { format!("−{shown}") } else { shown }
}

/// The same with two decimals.
pub fn fine(value: f64) -> String {
    let shown = format!("{:.2}", value.abs());
    if value < 0.0 && shown != "0.00" { format!("−{shown}") } else { shown }
}

/// "+0.46", "−0.08": a difference with two decimals and always its sign.
pub fn plus(value: f64) -> String {
    let shown = fine(value);
    if value > 0.0 && shown != "0.00" { format!("+{shown}") } else { shown }
}

/// An interval turned round with its difference.
pub fn turned(interval: Interval) -> Interval {
    Interval { low: -interval.high, high: -interval.low, ..interval }
}

/// "8 tasters".
pub fn many(n: usize, one: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") }
}

/// "steep 1", "steeps 1 to 3", "steeps 1, 3 and 4".
pub fn steeps(steeps: &[u32]) -> String {
    match steeps {
        [one] => format!("steep {one}"),
        [first, .., last] if (last - first) as usize + 1 == steeps.len() && steeps.len() > 2 => {
            format!("steeps {first} to {last}")
        }
        _ => format!("steeps {}", list(&steeps.iter().map(ToString::to_string).collect::<Vec<_>>())),
    }
}

/// "A, B and C".
pub fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

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
    use crate::plan::power::{POWER, power};

    #[test]
    fn numbers_read_as_words() {
        assert_eq!((points(1.94).as_str(), points(-0.04).as_str()), ("1.9 points", "less than 0.1 points"));
        assert_eq!((points(1.0).as_str(), points(0.0).as_str()), ("1.0 point", "0.0 points"));
        assert_eq!([0.0004, 0.0496, 0.34].map(p), ["p below 0.001", "p 0.050", "p 0.34"]);
        assert_eq!(p_of_family(0.01, 0.03, 3), "p 0.010; p 0.030 allowing for 3 tests");
        assert_eq!((signed(-0.04).as_str(), signed(-1.25).as_str()), ("0.0", "−1.2"));
        assert_eq!(
            (fine(-0.004).as_str(), fine(-0.25).as_str(), fine(1.0).as_str()),
            ("0.00", "−0.25", "1.00")
        );
        assert_eq!([0.456, -0.08, 0.001].map(plus), ["+0.46", "−0.08", "0.00"]);
        assert_eq!(list(&["a", "b", "c"].map(String::from)), "a, b and c");
        assert_eq!(
            [&[2][..], &[1, 2], &[1, 2, 3], &[1, 3, 4]].map(steeps),
            ["steep 2", "steeps 1 and 2", "steeps 1 to 3", "steeps 1, 3 and 4"]
        );
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
}
