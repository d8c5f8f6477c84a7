//! The seat's own time, and host time read from it.

use protocol::HostTime;
use protocol::clock::{Estimate, Exchange};
use std::time::Duration;

/// An instant on the seat's own monotonic clock, in microseconds since the program began.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct OwnTime(pub i64);

impl OwnTime {
    /// The instant `wait` after this one.
    pub fn plus(self, wait: Duration) -> Self {
        Self(self.0.saturating_add(i64::try_from(wait.as_micros()).unwrap_or(i64::MAX)))
    }

    /// Whole seconds since `earlier`, rounded down.
    pub fn seconds_since(self, earlier: OwnTime) -> i64 {
        (self.0 - earlier.0).max(0) / 1_000_000
    }

    /// Whole seconds until this instant, rounded up.
    pub fn seconds_until(self, now: OwnTime) -> i64 {
        ((self.0 - now.0).max(0) + 999_999) / 1_000_000
    }

    /// This instant counted at the class's pace: what goes into a ping.
    pub fn at_pace(self, pace: f64) -> i64 {
        (self.0 as f64 * pace) as i64
    }
}

/// A pace a clock can run at, far beyond what any class is held at: a host that sends anything else is taken to mean
/// the room's own pace.
pub fn sound_pace(pace: f64) -> f64 {
    if (0.001..=100_000.0).contains(&pace) { pace } else { 1.0 }
}

/// Host time as this seat knows it.
#[derive(Clone, Debug)]
pub struct HostClock {
    estimate: Estimate,
    pace: f64,
}

impl Default for HostClock {
    fn default() -> Self {
        Self { estimate: Estimate::default(), pace: 1.0 }
    }
}

impl HostClock {
    /// Host seconds per second of the room.
    pub fn pace(&self) -> f64 {
        self.pace
    }

    /// Takes over the class's pace. Exchanges made at another pace mean nothing and are forgotten.
    pub fn set_pace(&mut self, pace: f64) {
        let pace = sound_pace(pace);
        if pace != self.pace {
            self.estimate.reset();
            self.pace = pace;
        }
    }

    /// Takes in an exchange. The first one of a connection forgets the earlier ones: the host may be a new process.
    pub fn add(&mut self, exchange: Exchange, first: bool) {
        if first && exchange.delay_us() >= 0 {
            self.estimate.reset();
        }
        self.estimate.add(exchange);
    }

    /// Forgets the host, for a class that is another one.
    pub fn reset(&mut self) {
        self.estimate.reset();
    }

    /// Host time at `now`; `None` before the first exchange.
    pub fn host_time(&self, now: OwnTime) -> Option<HostTime> {
        self.estimate.host_time(now.at_pace(self.pace))
    }

    /// The bound on the error of [`Self::host_time`], ± host microseconds.
    pub fn bound_us(&self) -> Option<i64> {
        self.estimate.bound_us()
    }

    /// The first own instant at which host time is `at` or later.
    pub fn own_time(&self, at: HostTime) -> Option<OwnTime> {
        let offset_us = self.estimate.host_time(0)?;
        // The extra microsecond pays for the rounding, so that a wake at this instant never comes too early.
        Some(OwnTime((((at - offset_us) as f64 / self.pace).ceil() as i64).saturating_add(1)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_own_instant_is_never_too_early_for_its_host_instant() {
        for pace in [0.5, 1.0, 7.3, 60.0] {
            let mut clock = HostClock::default();
            clock.set_pace(pace);
            clock.add(Exchange { t1_us: 10, t2_us: 5_000_013, t3_us: 5_000_013, t4_us: 20 }, true);
            for at in [5_000_100, 6_000_000, 123_456_789, 86_400_000_001] {
                let own = clock.own_time(HostTime(at)).unwrap();
                let host = clock.host_time(own).unwrap();
                assert!(host >= HostTime(at), "{pace} {at}: {host:?}");
                assert!(host - HostTime(at) <= (2.0 * pace).ceil() as i64 + 1, "{pace} {at}: {host:?}");
            }
        }
    }

    #[test]
    fn the_first_exchange_of_a_connection_forgets_the_earlier_ones() {
        let mut clock = HostClock::default();
        clock.add(Exchange { t1_us: 0, t2_us: 100, t3_us: 100, t4_us: 0 }, true);
        clock.add(Exchange { t1_us: 0, t2_us: 905, t3_us: 905, t4_us: 10 }, true);
        assert_eq!(clock.host_time(OwnTime(0)), Some(HostTime(900)));
    }

    #[test]
    fn a_senseless_pace_is_the_rooms_own() {
        for pace in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e-300, 1e300] {
            assert_eq!(sound_pace(pace), 1.0);
        }
    }
}
