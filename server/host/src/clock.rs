//! The host's clock: the only place in this program that reads the time or draws ids.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use protocol::HostTime;
use protocol::proof::Secret;
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

    /// Host time now, never before `last`.
    pub(crate) fn now_after(&self, last: HostTime) -> HostTime {
        self.now().max(last)
    }

    /// Microseconds of the room's time since the clock showed 0.
    pub(crate) fn room_us(&self) -> i64 {
        (self.now().0 as f64 / self.pace) as i64
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

/// Today where this machine is, as `YYYY-MM-DD`.
pub fn today() -> String {
    day_in(&TimeZone::system(), unix_us())
}

/// The day in a time zone at an instant in microseconds since 1970, as `YYYY-MM-DD`.
fn day_in(zone: &TimeZone, unix_us: i64) -> String {
    let instant = Timestamp::from_microsecond(unix_us).unwrap_or_default();
    zone.to_datetime(instant).date().to_string()
}

/// Microseconds since it was last so late where this machine is.
pub fn since_us(hour: u8, minute: u8) -> i64 {
    ago_us(&TimeZone::system(), unix_us(), (hour, minute))
}

/// Microseconds at an instant since it was last so late in a time zone.
fn ago_us(zone: &TimeZone, unix_us: i64, (hour, minute): (u8, u8)) -> i64 {
    let now = zone.to_datetime(Timestamp::from_microsecond(unix_us).unwrap_or_default()).time();
    let passed =
        (i64::from(now.hour()) - i64::from(hour)) * 3600 + (i64::from(now.minute()) - i64::from(minute)) * 60;
    (passed + i64::from(now.second())).rem_euclid(24 * 3600) * SECOND_US
        + i64::from(now.subsec_nanosecond()) / 1000
}

/// Where new ids come from.
pub type Ids = Box<dyn FnMut() -> Uuid + Send>;

/// A fresh secret of 128 random bits, for a key.
pub fn fresh_secret() -> Secret {
    // An id has six bits that say what it is, in its bytes 6 and 8.
    let random = |id: Uuid| id.into_bytes().into_iter().enumerate().filter(|(n, _)| !matches!(n, 6 | 8));
    let mut bytes = random(fresh_id()).chain(random(fresh_id())).map(|(_, byte)| byte);
    std::array::from_fn(|_| bytes.next().unwrap_or_default())
}

/// A fresh random id.
#[expect(clippy::disallowed_methods, reason = "this is the one place that draws ids")]
pub fn fresh_id() -> Uuid {
    Uuid::new_v4()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn today_is_the_day_where_the_class_is_held() {
        // 2026-11-25 at 23:00 UTC.
        let instant = 1_795_647_600_000_000;
        for (hours, day) in [(0, "2026-11-25"), (8, "2026-11-26"), (-5, "2026-11-25")] {
            let zone = TimeZone::fixed(jiff::tz::offset(hours));
            assert_eq!(day_in(&zone, instant), day, "{hours} h from UTC");
        }
        assert_eq!(day_in(&TimeZone::UTC, 951_782_400_000_000), "2000-02-29");
    }

    #[test]
    fn a_time_of_day_was_within_the_last_day() {
        // 00:00:30 of a day in UTC.
        let instant = 951_782_430_000_000;
        for (hour, minute, ago_s) in [(0, 0, 30), (23, 59, 90), (0, 1, 86_370), (12, 0, 43_230)] {
            assert_eq!(ago_us(&TimeZone::UTC, instant, (hour, minute)), ago_s * SECOND_US, "{hour}:{minute}");
        }
    }
}
