//! Numbers in running text.

use crate::Interval;

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
    decimals(p).map_or_else(|| "p below 0.001".into(), |shown| format!("p {shown}"))
}

/// The same where a head says that it is a p: "0.012", "<0.001".
pub fn bare_p(p: f64) -> String {
    decimals(p).unwrap_or_else(|| "<0.001".into())
}

/// A p in two figures or so, unless it is below 0.001.
fn decimals(p: f64) -> Option<String> {
    match p {
        p if p < 0.001 => None,
        p if p < 0.1 => Some(format!("{p:.3}")),
        p => Some(format!("{p:.2}")),
    }
}

/// p by itself and, where it went through Holm with others, adjusted: "p 0.012; p 0.048 allowing for 4 tests".
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_as_words() {
        assert_eq!((points(1.94).as_str(), points(-0.04).as_str()), ("1.9 points", "less than 0.1 points"));
        assert_eq!((points(1.0).as_str(), points(0.0).as_str()), ("1.0 point", "0.0 points"));
        assert_eq!([0.0004, 0.0496, 0.34].map(p), ["p below 0.001", "p 0.050", "p 0.34"]);
        assert_eq!([0.0004, 0.0496, 0.34].map(bare_p), ["<0.001", "0.050", "0.34"]);
        assert_eq!(p_of_family(0.01, 0.03, 3), "p 0.010; p 0.030 allowing for 3 tests");
        assert_eq!((signed(-0.04).as_str(), signed(-1.25).as_str()), ("0.0", "−1.2"));
        assert_eq!(
            (fine(-0.004).as_str(), fine(-0.25).as_str(), fine(1.0).as_str()),
            ("0.00", "−0.25", "1.00")
        );
        assert_eq!([0.456, -0.08, 0.001].map(plus), ["+0.46", "−0.08", "0.00"]);
    }
}
