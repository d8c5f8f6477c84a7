//! The host's clock: the only place in this program that reads the time or draws ids.

use protocol::HostTime;
use protocol::time::SECOND_US;
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use tokio::time::Instant;
use uuid::Uuid;

/// Host time on the machine's monotonic clock. A step of the wall clock does not touch it.
#[derive(Clone, Copy, Debug)]
pub struct HostClock {
    origin: Instant,
    base: HostTime,
    pace: f64,
}

impl HostClock {
    /// A clock that shows `base` now and runs `pace` times as fast as the room.
    #[expect(clippy::disallowed_methods, reason = "this is the one place that reads the monotonic clock")]
    pub fn starting_at(base: HostTime, pace: f64) -> Self {
        Self { origin: Instant::now(), base, pace }
    }

    /// Host time now.
    #[expect(clippy::disallowed_methods, reason = "this is the one place that reads the monotonic clock")]
    pub fn now(&self) -> HostTime {
        let passed_us = Instant::now().saturating_duration_since(self.origin).as_nanos() as f64 / 1000.0;
        self.base + (passed_us * self.pace) as i64
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

/// The wall clock, microseconds since 1970; used only to tie host time to the world when a ledger is opened.
#[expect(clippy::disallowed_methods, reason = "this is the one place that reads the wall clock")]
pub fn unix_us() -> i64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.as_micros() as i64)
}

/// A fresh random id.
#[expect(clippy::disallowed_methods, reason = "this is the one place that draws ids")]
pub fn fresh_id() -> Uuid {
    Uuid::new_v4()
}
