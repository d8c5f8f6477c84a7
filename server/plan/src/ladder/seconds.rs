//! Seconds as they are poured by the clock.

use std::ops::RangeInclusive;

/// However soon a pot is poured off, water was on the leaf for so long, seconds: a flash steep counts as that. Common practice, no
/// source.
const FLASH_S: u32 = 5;
/// Up to here whole seconds, above steps of [`COARSE_S`].
const FINE_UP_TO_S: f64 = 60.0;
const COARSE_S: f64 = 5.0;
/// No steep is longer, seconds.
const LONGEST_S: f64 = 3600.0;

/// The seconds for which water is on the leaf in a steep of so many seconds.
pub fn water_s(seconds: u32) -> f64 {
    f64::from(seconds.max(FLASH_S))
}

/// How fine a clock is set, seconds.
fn step(seconds: f64) -> f64 {
    if seconds > FINE_UP_TO_S { COARSE_S } else { 1.0 }
}

/// So many seconds as a clock would be set to them: whole, above a minute in steps of five.
pub(crate) fn poured_s(seconds: f64) -> u32 {
    let step = step(seconds);
    ((seconds / step).round() * step).min(LONGEST_S) as u32
}

/// The seconds that a clock would be set to: the nearest within `within`, whole, above a minute in steps of five. `None` where that
/// is `planned_s` or as near to it as such steps go.
pub(super) fn nearest(seconds: f64, within: &RangeInclusive<f64>, planned_s: u32) -> Option<u32> {
    let end = within.end().min(LONGEST_S);
    let start = within.start().min(end);
    let seconds = seconds.clamp(start, end);
    let to = |s: f64, round: fn(f64) -> f64| round(s / step(s)) * step(s);
    let least = to(start, f64::ceil);
    let most = to(end, f64::floor).max(least);
    // Anything shorter is a flash steep, too.
    let takes = water_s(to(seconds, f64::round).clamp(least, most) as u32);
    let planned_s = water_s(planned_s);
    let near = (seconds - planned_s).abs() < step(seconds) / 2.0;
    (!near && takes != planned_s).then_some(takes as u32)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seconds_are_whole_and_above_a_minute_fives_and_never_beyond_the_bounds() {
        for (seconds, within, planned_s, takes) in [
            (33.6, 16.7..=37.5, 25, Some(34)),
            (25.4, 16.7..=37.5, 25, None),
            (44.0, 16.7..=37.5, 25, Some(37)),
            (9.0, 16.7..=37.5, 25, Some(17)),
            (61.0, 40.0..=90.0, 60, None),
            (72.9, 40.0..=90.0, 60, Some(75)),
            (300.0, 42.0..=93.0, 62, Some(90)),
            (64.9, 42.0..=93.0, 63, None),
            (5.2, 3.3..=7.5, 0, None),
            (7.2, 3.3..=7.5, 0, Some(7)),
            (4.0, 3.3..=7.5, 0, None),
            (4.0, 4.0..=9.0, 6, Some(5)),
            (5000.0, 2000.0..=4500.0, 3000, Some(3600)),
        ] {
            assert_eq!(nearest(seconds, &within, planned_s), takes, "{seconds} s within {within:?}");
        }
    }
}
