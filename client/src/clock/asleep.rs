//! Whether the machine has slept: its ordinary clock stands still then, another one goes on.

use std::time::{Duration, Instant};

/// A gap between the two clocks that grows by less than this says nothing.
const SHORTEST: Duration = Duration::from_millis(100);
/// Two readings of the ordinary clock this near to each other have the other one's in between.
const TOGETHER: Duration = Duration::from_millis(2);

/// By how much the two clocks differed when the seat began.
#[derive(Clone, Copy, Debug)]
pub struct Asleep {
    began: Instant,
    gap: Option<Duration>,
}

impl Asleep {
    /// From now on.
    pub fn start() -> Self {
        let began = read();
        Self { began, gap: gap(began) }
    }

    /// How many microseconds longer the machine has slept than is known; `None` if it has not, or can't tell.
    pub fn more_us(&self, known_us: i64) -> Option<i64> {
        let asleep = gap(self.began)?.checked_sub(self.gap?)?;
        let more_us = i64::try_from(asleep.as_micros()).ok()? - known_us;
        (more_us >= SHORTEST.as_micros() as i64).then_some(more_us)
    }
}

/// By how much the clock that goes on in sleep is ahead of the time since `began` on the one that does not. `None` where
/// the machine has no second clock (its one clock counts sleep, or nobody can say), or was too busy to read both together.
fn gap(began: Instant) -> Option<Duration> {
    (0..3).find_map(|_| {
        let before = read();
        let goes_on = goes_on()?;
        let after = read();
        let together = after.duration_since(before) <= TOGETHER;
        together.then(|| goes_on.saturating_sub(before.duration_since(began)))
    })
}

/// The clock that goes on while the machine sleeps. Rust's own monotonic clock does not, on these systems.
#[cfg(any(target_os = "linux", target_os = "android", target_vendor = "apple"))]
fn goes_on() -> Option<Duration> {
    use rustix::time::{ClockId, clock_gettime};
    #[cfg(any(target_os = "linux", target_os = "android"))]
    let clock = ClockId::Boottime;
    #[cfg(target_vendor = "apple")]
    let clock = ClockId::Monotonic;
    let time = clock_gettime(clock);
    Some(Duration::new(u64::try_from(time.tv_sec).ok()?, u32::try_from(time.tv_nsec).ok()?))
}

#[cfg(not(any(target_os = "linux", target_os = "android", target_vendor = "apple")))]
fn goes_on() -> Option<Duration> {
    None
}

#[expect(clippy::disallowed_methods, reason = "compared with the clock that goes on in sleep")]
fn read() -> Instant {
    Instant::now()
}
