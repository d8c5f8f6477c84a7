//! Finding the number at which a steady function passes a value.

/// Steps at most: enough to use up the digits of an `f64` by halving in every other step.
const STEPS: u32 = 160;

/// Where `rising` passes zero between `low` and `high`, or the end nearest to it.
///
/// The straight line between the ends says where to look next; an end that stays is given half its weight (the Illinois
/// form of the false position). A step that has not halved the interval is followed by one that does.
pub(super) fn root(mut low: f64, mut high: f64, rising: impl Fn(f64) -> f64) -> f64 {
    let (mut below, mut above) = (rising(low), rising(high));
    if below >= 0.0 {
        return low;
    }
    if above < 0.0 {
        return high;
    }
    let mut halve = false;
    let mut moved_low = None;
    for _ in 0..STEPS {
        let width = high - low;
        let middle = low + width / 2.0;
        if middle <= low || middle >= high {
            break;
        }
        let line = low - below / (above - below) * width;
        let next = if !halve && line > low && line < high { line } else { middle };
        let value = rising(next);
        if value == 0.0 {
            return next;
        }
        if value < 0.0 {
            (low, below) = (next, value);
            above = if moved_low == Some(true) { above / 2.0 } else { above };
        } else {
            (high, above) = (next, value);
            below = if moved_low == Some(false) { below / 2.0 } else { below };
        }
        moved_low = Some(value < 0.0);
        halve = high - low > width / 2.0;
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
    fn the_line_needs_fewer_looks_than_halving_would() {
        let looks = std::cell::Cell::new(0);
        let found = root(0.0, 8.0, |x| {
            looks.set(looks.get() + 1);
            0.95 - (-x).exp()
        });
        assert!((found - -(0.95f64.ln())).abs() < 1e-15 && looks.get() < 30, "{} looks", looks.get());
        // Where the line says nothing there is still halving.
        assert!((root(-300.0, 300.0, |x| if x < 1.5 { -1e-300 } else { 1.0 }) - 1.5).abs() < 1e-12);
    }

    #[test]
    fn without_a_root_the_nearest_end_is_given() {
        assert_eq!(root(0.0, 1.0, |_| -1.0), 1.0);
        assert!(root(0.0, 1.0, |_| 1.0) < 1e-20);
    }
}
