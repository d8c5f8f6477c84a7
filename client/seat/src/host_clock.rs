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
        (self.0 as f64 * pace).floor() as i64
    }

    /// The end of this microsecond counted at the class's pace: when an answer was there for certain.
    pub fn over_at_pace(self, pace: f64) -> i64 {
        ((self.0 + 1) as f64 * pace).ceil() as i64
    }
}

/// A pace a clock can run at, far beyond what any class is held at: a host that sends anything else is taken to mean
/// the room's own pace.
pub fn sound_pace(pace: f64) -> f64 {
    if (0.001..=100_000.0).contains(&pace) { pace } else { 1.0 }
}

/// After a sleep the machine's own count of it is trusted to this, in microseconds of the room: a machine's battery clock
/// counts whole seconds. Common practice, no source.
const SLEPT_US: i64 = 2_000_000;

/// Why the estimate is set again by the next exchange.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// The host's clock is another one than before.
    Host,
    /// This machine has slept.
    Slept,
}

/// Why host time moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// The estimate was doubted.
    Doubt(Doubt),
    /// An exchange contradicts all before it: one of the two clocks has jumped.
    Jump,
    /// A much better answer came.
    Better,
}

/// A contradiction that moves host time by less than this is not worth a word, in microseconds of the room: time services
/// do that while they correct a clock.
const JUMP_US: u64 = 100_000;

/// The estimate was set again, or host time went back further than a screen can hide.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moved {
    /// Why.
    pub why: Why,
    /// By how many microseconds of the room host time moved by it.
    pub by_us: i64,
    /// The bound on the error from now on, ± microseconds of the room.
    pub bound_us: i64,
}

/// Host time as this seat knows it.
#[derive(Clone, Debug)]
pub struct HostClock {
    estimate: Estimate,
    pace: f64,
    /// The number of the host's clock, if the host says one.
    number: Option<u64>,
    doubted: Option<Doubt>,
    /// What this machine has slept up to the newest news of it, in microseconds.
    slept_us: i64,
}

impl Default for HostClock {
    fn default() -> Self {
        Self { estimate: Estimate::default(), pace: 1.0, number: None, doubted: None, slept_us: 0 }
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

    /// A host has been joined, whose clock has this number. Exchanges with another clock mean nothing any more; until
    /// the first one with the new clock they are all there is.
    pub fn joined(&mut self, number: Option<u64>) {
        if number.is_none() || number != self.number {
            self.doubted = self.doubted.or(Some(Doubt::Host));
        }
        self.number = number;
    }

    /// This machine has slept, `slept_us` in all since the program began. Until the next exchange the estimate is
    /// trusted only as far as a machine counts its own sleep. Whether that was news.
    pub fn slept(&mut self, slept_us: i64) -> bool {
        let news = slept_us > self.slept_us;
        if news {
            self.slept_us = slept_us;
            self.doubted = Some(Doubt::Slept);
        }
        news
    }

    /// What this machine has slept up to the newest news of it, in microseconds.
    pub fn slept_us(&self) -> i64 {
        self.slept_us
    }

    /// Takes in an exchange made when the machine had slept `slept_us` in all. If the estimate was set again by it, by
    /// how much host time moved.
    pub fn add(&mut self, exchange: Exchange, slept_us: i64) -> Option<Moved> {
        // From before a sleep: its instants are of two different clocks.
        if slept_us < self.slept_us || exchange.delay_us() < 0 {
            return None;
        }
        self.slept(slept_us);
        let at_us = exchange.t4_us;
        let (before, resets) = (self.estimate.host_time(at_us), self.estimate.resets());
        let why = self.doubted.take();
        if why.is_some() {
            self.estimate.reset();
        }
        self.estimate.add(exchange);
        let jumped = why.is_none() && self.estimate.resets() > resets;
        let by_us = self.in_room_us(self.estimate.host_time(at_us)? - before?);
        let why = why.map(Why::Doubt).or((jumped && by_us.unsigned_abs() >= JUMP_US).then_some(Why::Jump))?;
        Some(Moved { why, by_us, bound_us: self.in_room_us(self.estimate.bound_us(at_us)?) })
    }

    /// A length of host time as the room counts it, in microseconds, rounded away from 0.
    pub fn in_room_us(&self, host_us: i64) -> i64 {
        let room_us = host_us as f64 / self.pace;
        (if room_us < 0.0 { room_us.floor() } else { room_us.ceil() }) as i64
    }

    /// Forgets the host, for a class that is another one.
    pub fn reset(&mut self) {
        self.estimate.reset();
    }

    /// Host time at `now`; `None` before the first exchange.
    pub fn host_time(&self, now: OwnTime) -> Option<HostTime> {
        self.estimate.host_time(now.at_pace(self.pace))
    }

    /// The bound on the error of [`Self::host_time`], ± microseconds of the room.
    pub fn bound_us(&self, now: OwnTime) -> Option<i64> {
        let bound_us = self.in_room_us(self.estimate.bound_us(now.at_pace(self.pace))?);
        Some(if self.doubted == Some(Doubt::Slept) { bound_us.saturating_add(SLEPT_US) } else { bound_us })
    }

    /// Why the estimate is not to be trusted until the next exchange, if so.
    pub fn doubt(&self) -> Option<Doubt> {
        self.doubted.filter(|_| self.estimate.chosen().is_some())
    }

    /// The exchanges behind the estimate.
    pub fn estimate(&self) -> &Estimate {
        &self.estimate
    }

    /// The first own instant at which host time is `at` or later.
    pub fn own_time(&self, at: HostTime) -> Option<OwnTime> {
        let own_us = self.estimate.own_us(at)? as f64;
        // The extra microseconds pay for the rounding, so that a wake at this instant never comes too early.
        Some(OwnTime((((own_us + 1.0) / self.pace).ceil() as i64).saturating_add(1)))
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
            clock.add(Exchange { t1_us: 10, t2_us: 5_000_013, t3_us: 5_000_013, t4_us: 20 }, 0);
            for at in [5_000_100, 6_000_000, 123_456_789, 86_400_000_001] {
                let own = clock.own_time(HostTime(at)).unwrap();
                let host = clock.host_time(own).unwrap();
                assert!(host >= HostTime(at), "{pace} {at}: {host:?}");
                assert!(host - HostTime(at) <= (2.0 * pace).ceil() as i64 + 1, "{pace} {at}: {host:?}");
            }
        }
    }

    fn exchange(own_us: i64, ahead_us: i64) -> Exchange {
        let host_us = own_us + 500 + ahead_us;
        Exchange { t1_us: own_us, t2_us: host_us, t3_us: host_us, t4_us: own_us + 1_000 }
    }

    #[test]
    fn another_clock_at_the_host_is_believed_from_its_first_exchange_on_and_the_same_one_goes_on() {
        let mut clock = HostClock::default();
        clock.joined(Some(2));
        assert_eq!(clock.add(exchange(0, 100), 0), None, "nothing was known before");
        clock.joined(Some(2));
        assert_eq!(clock.add(exchange(10_000, 100), 0), None, "the same clock goes on");
        assert!(clock.bound_us(OwnTime(11_000)).is_some_and(|b| b < 520));
        clock.joined(Some(9));
        assert_eq!(
            clock.host_time(OwnTime(11_000)),
            Some(HostTime(11_100)),
            "all there is until the next exchange"
        );
        let moved = Moved { why: Why::Doubt(Doubt::Host), by_us: 800, bound_us: 502 };
        assert_eq!(clock.add(exchange(20_000, 900), 0), Some(moved));
        assert_eq!(clock.host_time(OwnTime(21_000)), Some(HostTime(21_900)));
    }

    #[test]
    fn after_a_sleep_the_estimate_is_doubted_until_an_exchange_from_after_it() {
        let mut clock = HostClock::default();
        clock.joined(Some(2));
        clock.add(exchange(0, 100), 0);
        assert!(clock.slept(40_000_000));
        assert!(!clock.slept(40_000_000), "told once");
        assert_eq!(clock.doubt(), Some(Doubt::Slept));
        assert!(clock.bound_us(OwnTime(40_001_000)).is_some_and(|b| b > SLEPT_US));
        assert_eq!(clock.add(exchange(40_000_000, 100), 0), None, "asked before the sleep");
        assert_eq!(clock.doubt(), Some(Doubt::Slept));
        let moved = clock.add(exchange(40_010_000, 700_100), 40_000_000).unwrap();
        assert_eq!((moved.why, moved.by_us, moved.bound_us), (Why::Doubt(Doubt::Slept), 700_000, 502));
        assert_eq!(clock.doubt(), None);
    }

    #[test]
    fn a_clock_that_has_jumped_is_said_and_a_small_correction_is_not() {
        let mut clock = HostClock::default();
        clock.joined(Some(2));
        clock.add(exchange(0, 100), 0);
        assert_eq!(clock.add(exchange(10_000, 30_100), 0), None, "a time service has corrected it");
        let moved = Moved { why: Why::Jump, by_us: 8_000_000, bound_us: 502 };
        assert_eq!(clock.add(exchange(20_000, 8_030_100), 0), Some(moved));
    }

    #[test]
    fn in_a_rehearsal_what_moved_is_counted_in_the_rooms_time() {
        let mut clock = HostClock::default();
        clock.set_pace(10.0);
        clock.joined(Some(2));
        clock.add(exchange(0, 0), 0);
        clock.joined(Some(3));
        let moved = Moved { why: Why::Doubt(Doubt::Host), by_us: -6_000_000, bound_us: 51 };
        assert_eq!(clock.add(exchange(1_000, -60_000_000), 0), Some(moved));
        assert_eq!(clock.bound_us(OwnTime(200)), Some(51), "as the corner of the screen says");
    }

    #[test]
    fn a_senseless_pace_is_the_rooms_own() {
        for pace in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e-300, 1e300] {
            assert_eq!(sound_pace(pace), 1.0);
        }
    }
}
