//! The host's clock: the only place in this program that reads the time or draws ids.

use protocol::HostTime;
use protocol::time::SECOND_US;
use room::{Boot, World};
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use tokio::time::Instant;
use uuid::Uuid;

/// Host time on the machine's monotonic clock. A step of the wall clock does not touch it, and it goes on while the
/// machine sleeps.
#[derive(Clone, Copy, Debug)]
pub struct HostClock {
    origin: Instant,
    /// What the machine's clock that goes on in sleep showed at the origin, if that is the one to go by.
    origin_up: Option<Duration>,
    base: HostTime,
    pace: f64,
}

impl HostClock {
    /// A clock that showed 0 when the world's clocks showed `world`, and runs `pace` times as fast as the room.
    pub fn starting_at(world: &World, pace: f64) -> Self {
        let origin_up = world.boot.and_then(|boot| u64::try_from(boot.up_us).ok()).map(Duration::from_micros);
        Self { origin: runtime_now(), origin_up: origin_up.or_else(up), base: HostTime(0), pace }
    }

    /// For tests and simulations: a clock that shows 0 now, by the runtime's clock, which they can pause.
    pub fn simulated(pace: f64) -> Self {
        Self { origin: runtime_now(), origin_up: None, base: HostTime(0), pace }
    }

    /// The same clock, but it showed `base` when it began.
    pub fn from(self, base: HostTime) -> Self {
        Self { base, ..self }
    }

    /// Host time now.
    pub fn now(&self) -> HostTime {
        let passed = match self.origin_up.and_then(|origin| Some(up()?.saturating_sub(origin))) {
            Some(passed) => passed,
            None => runtime_now().saturating_duration_since(self.origin),
        };
        self.base + (passed.as_nanos() as f64 / 1000.0 * self.pace) as i64
    }

    /// Host seconds per second of the room.
    pub fn pace(&self) -> f64 {
        self.pace
    }

    /// When the room's clock will show this host time; for sleeping until then.
    pub fn instant_of(&self, at: HostTime) -> Instant {
        let ahead_us = (at - self.base).max(0) as f64 / self.pace;
        // A century is for ever.
        let ahead_us = ahead_us.min(3.2e9 * SECOND_US as f64);
        self.origin + Duration::from_nanos((ahead_us * 1000.0).ceil() as u64)
    }
}

#[expect(clippy::disallowed_methods, reason = "this is the one place that reads the monotonic clock")]
fn runtime_now() -> Instant {
    Instant::now()
}

/// Time since the machine was started, sleep included; `None` where Rust's own monotonic clock has to do.
fn up() -> Option<Duration> {
    #[cfg(any(target_os = "linux", target_os = "android"))]
    let clock = rustix::time::ClockId::Boottime;
    #[cfg(target_vendor = "apple")]
    let clock = rustix::time::ClockId::Monotonic;
    #[cfg(any(target_os = "linux", target_os = "android", target_vendor = "apple"))]
    {
        let time = rustix::time::clock_gettime(clock);
        Some(Duration::new(u64::try_from(time.tv_sec).ok()?, u32::try_from(time.tv_nsec).ok()?))
    }
    #[cfg(not(any(target_os = "linux", target_os = "android", target_vendor = "apple")))]
    None
}

/// What the machine's clocks show now, to tie host time to the world when a ledger is opened.
pub fn world() -> World {
    let boot = || {
        // Linux gives every start of the machine a name of its own; elsewhere the wall clock has to do.
        let id = std::fs::read_to_string("/proc/sys/kernel/random/boot_id").ok()?;
        Some(Boot { id: id.trim().parse().ok()?, up_us: i64::try_from(up()?.as_micros()).ok()? })
    };
    World { unix_us: unix_us(), boot: boot() }
}

/// The wall clock, microseconds since 1970.
#[expect(clippy::disallowed_methods, reason = "this is the one place that reads the wall clock")]
pub fn unix_us() -> i64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.as_micros() as i64)
}

/// Today in UTC, as `YYYY-MM-DD`.
pub fn today() -> String {
    day_of(unix_us().div_euclid(SECOND_US))
}

/// The day in UTC of an instant in seconds since 1970, as `YYYY-MM-DD`, in the Gregorian calendar.
fn day_of(unix_s: i64) -> String {
    const DAYS_IN_400_YEARS: i64 = 146_097;
    // Counted from 1 March of the year 0, so that a leap day is the last of its year.
    let days = unix_s.div_euclid(86_400) + 719_468;
    let (era, day) = (days.div_euclid(DAYS_IN_400_YEARS), days.rem_euclid(DAYS_IN_400_YEARS));
    let year = (day - day / 1460 + day / 36_524 - day / 146_096) / 365;
    let day = day - (365 * year + year / 4 - year / 100);
    let month = (5 * day + 2) / 153;
    let day = day - (153 * month + 2) / 5 + 1;
    let (month, next) = if month < 10 { (month + 3, 0) } else { (month - 9, 1) };
    format!("{:04}-{month:02}-{day:02}", era * 400 + year + next)
}

/// A fresh random id.
#[expect(clippy::disallowed_methods, reason = "this is the one place that draws ids")]
pub fn fresh_id() -> Uuid {
    Uuid::new_v4()
}

#[cfg(test)]
mod tests {
    use super::day_of;

    #[test]
    fn a_day_is_that_of_the_calendar() {
        for (unix_s, day) in [
            (0, "1970-01-01"),
            (86_399, "1970-01-01"),
            (-1, "1969-12-31"),
            (951_782_400, "2000-02-29"),
            (951_868_800, "2000-03-01"),
            (1_709_164_800, "2024-02-29"),
            (1_735_689_599, "2024-12-31"),
            (1_735_689_600, "2025-01-01"),
            (1_795_867_200, "2026-11-28"),
            (4_107_542_400, "2100-03-01"),
        ] {
            assert_eq!(day_of(unix_s), day, "{unix_s}");
        }
    }
}
