//! Host time: the one time base of a class.

use serde::{Deserialize, Serialize};
use std::ops::{Add, Sub};

/// Microseconds in a second.
pub const SECOND_US: i64 = 1_000_000;

/// An instant on the host's clock, in microseconds since the class's epoch (the making of its ledger).
///
/// At a pace of 60 a minute of host time passes in a second of the room's time.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct HostTime(pub i64);

impl HostTime {
    /// The instant `seconds` after this one.
    pub fn plus_s(self, seconds: u32) -> Self {
        self + i64::from(seconds) * SECOND_US
    }

    /// Whole seconds from `now` until this instant, rounded up, and 0 once it has come:
    /// a countdown shows 1 until the very end and 0 only when it is time.
    pub fn seconds_until(self, now: HostTime) -> i64 {
        let left_us = (self - now).max(0);
        (left_us + SECOND_US - 1) / SECOND_US
    }
}

impl Add<i64> for HostTime {
    type Output = HostTime;
    fn add(self, us: i64) -> HostTime {
        HostTime(self.0.saturating_add(us))
    }
}

impl Sub for HostTime {
    type Output = i64;
    fn sub(self, other: HostTime) -> i64 {
        self.0.saturating_sub(other.0)
    }
}

/// Seconds as a person reads them on a kitchen clock: `0:07`, `2:05`, `1:00:00`.
pub fn clock_face(seconds: i64) -> String {
    let (h, m, s) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    if h > 0 { format!("{h}:{m:02}:{s:02}") } else { format!("{m}:{s:02}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_countdown_reaches_nought_only_at_the_instant() {
        let at = HostTime(10 * SECOND_US);
        for (now_us, shown) in
            [(0, 10), (9_000_000, 1), (9_000_001, 1), (9_999_999, 1), (10_000_000, 0), (11_000_000, 0)]
        {
            assert_eq!(at.seconds_until(HostTime(now_us)), shown, "at {now_us}");
        }
    }

    #[test]
    fn seconds_read_like_a_kitchen_clock() {
        for (s, shown) in [(0, "0:00"), (7, "0:07"), (125, "2:05"), (3599, "59:59"), (3600, "1:00:00")] {
            assert_eq!(clock_face(s), shown);
        }
    }
}
