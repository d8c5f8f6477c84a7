//! Finding the number at which a steady function passes a value.

/// Halvings of the interval: enough to use up the digits of an `f64`.
const HALVINGS: u32 = 80;

/// Where `rising` passes zero between `low` and `high`, or the end nearest to it.
pub(super) fn root(mut low: f64, mut high: f64, rising: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..HALVINGS {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            break;
        }
        if rising(middle) < 0.0 { low = middle } else { high = middle }
    }
    low + (high - low) / 2.0
}

/// The same, from `low` up to a bound that is found by doubling a first guess, at most `doublings` times.
pub(super) fn root_above(low: f64, guess: f64, doublings: u32, rising: impl Fn(f64) -> f64) -> f64 {
    let (mut from, mut reach) = (low, guess);
    for _ in 0..doublings {
        if rising(low + reach) >= 0.0 {
            break;
        }
        from = low + reach;
        reach *= 2.0;
    }
    root(from, low + reach, rising)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_root_is_found_to_the_last_digits() {
        assert!((root(0.0, 2.0, |x| x * x - 2.0) - 2f64.sqrt()).abs() < 1e-15);
        assert!((root_above(-1.0, 0.5, 40, |x| x - 1000.25) - 1000.25).abs() < 1e-12);
    }

    #[test]
    fn without_a_root_the_nearest_end_is_given() {
        assert_eq!(root(0.0, 1.0, |_| -1.0), 1.0);
        assert!(root(0.0, 1.0, |_| 1.0) < 1e-20);
    }
}
