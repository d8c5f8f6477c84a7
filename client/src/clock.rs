//! The one place that reads the clock and draws ids.

use crate::host_clock::OwnTime;
use tokio::time::{Duration, Instant};
use uuid::Uuid;

/// Longer than any seat is at work.
const LONGEST: Duration = Duration::from_secs(10 * 365 * 86_400);

/// The seat's own monotonic clock, counting from when it was made.
#[derive(Clone, Copy, Debug)]
pub struct OwnClock {
    began: Instant,
}

impl OwnClock {
    /// A clock that shows 0 now.
    pub fn start() -> Self {
        Self { began: read() }
    }

    /// What it shows.
    pub fn now(&self) -> OwnTime {
        OwnTime(i64::try_from(read().duration_since(self.began).as_micros()).unwrap_or(i64::MAX))
    }

    /// Waits until it shows `at`.
    pub async fn wait_until(&self, at: OwnTime) {
        // An instant that a clock can't hold is as good as one that never comes.
        let wait = Duration::from_micros(at.0.max(0).unsigned_abs()).min(LONGEST);
        tokio::time::sleep_until(self.began + wait).await;
    }
}

#[expect(
    clippy::disallowed_methods,
    reason = "the seat's one look at the clock; tokio's, so that tests can pause it"
)]
fn read() -> Instant {
    Instant::now()
}

/// An id for a score.
#[expect(clippy::disallowed_methods, reason = "the seat's one draw of ids")]
pub fn fresh_id() -> Uuid {
    Uuid::new_v4()
}
