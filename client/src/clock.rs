//! The one place that reads the clock, waits for instants and draws ids.

mod alarm;
mod asleep;
mod ids;
#[cfg(test)]
mod tests;

pub use alarm::{Ring, Set};

pub use ids::Ids;

use alarm::Alarm;
use asleep::Asleep;
use seat::host_clock::OwnTime;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, Mutex};
use tokio::sync::watch;
use tokio::time::{Duration, Instant};

/// Longer than any seat is at work.
const LONGEST: Duration = Duration::from_secs(10 * 365 * 86_400);

/// The seat's own monotonic clock, counting from when it was made. The wall clock has no part in it. While the
/// machine sleeps it goes on, as far as the machine can tell how long that was; whoever asks is told of the sleep.
#[derive(Clone, Debug)]
pub struct OwnClock(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    began: Instant,
    /// How much faster than the machine's this clock runs, in parts per million: 0 but in simulations.
    skew_ppm: i64,
    /// Microseconds slept, so far as they are known.
    asleep_us: AtomicI64,
    machine: Option<Asleep>,
    slept: watch::Sender<i64>,
    alarm: Option<Alarm>,
    /// When a simulated machine slept.
    naps: Mutex<Vec<Nap>>,
}

/// A simulated machine sleeps: how long its clock had run then, for how long it sleeps, and what it counts more or less.
#[derive(Clone, Copy, Debug)]
struct Nap {
    from_us: i64,
    length_us: i64,
    more_us: i64,
}

impl Nap {
    /// What was counted more or less up to an instant: the same each microsecond, so that the clock never goes back.
    fn counted_us(&self, passed_us: i64) -> i64 {
        let part_us = (passed_us - self.from_us).clamp(0, self.length_us);
        (i128::from(self.more_us) * i128::from(part_us) / i128::from(self.length_us.max(1))) as i64
    }
}

impl OwnClock {
    /// A clock that shows 0 now and waits by the runtime's timers: a millisecond or two late, and in tests by paused
    /// time.
    pub fn start() -> Self {
        Self::skewed(0)
    }

    /// For simulations: like [`OwnClock::start`], but it gains this many parts per million on the room.
    pub fn skewed(gains_ppm: i64) -> Self {
        Self::new(gains_ppm, None, None)
    }

    /// A clock for people: it waits by an alarm thread of its own, some hundredths of a millisecond late, and
    /// notices when the machine has slept.
    pub fn precise() -> Self {
        let clock = Self::new(0, Some(Asleep::start()), Some(Alarm::start()));
        let reader = Arc::downgrade(&clock.0);
        if let Some(alarm) = &clock.0.alarm {
            alarm.run(move || reader.upgrade().map(OwnClock));
        }
        clock
    }

    fn new(skew_ppm: i64, machine: Option<Asleep>, alarm: Option<Alarm>) -> Self {
        let (began, asleep_us, slept) = (read(), AtomicI64::new(0), watch::Sender::new(0));
        Self(Arc::new(Inner { began, skew_ppm, asleep_us, machine, slept, alarm, naps: Mutex::default() }))
    }

    /// What it shows.
    pub fn now(&self) -> OwnTime {
        let known_us = self.0.asleep_us.load(Ordering::Relaxed);
        if let Some(more_us) = self.0.machine.as_ref().and_then(|machine| machine.more_us(known_us)) {
            self.noticed(known_us, more_us);
        }
        self.now_awake()
    }

    /// The machine was found to have slept for longer than was known. The alarm thread and the seats may all find that at
    /// once; it is counted once.
    fn noticed(&self, known_us: i64, more_us: i64) {
        let counts = known_us + more_us;
        let first = self.0.asleep_us.compare_exchange(known_us, counts, Ordering::Relaxed, Ordering::Relaxed);
        if first.is_ok() {
            self.0.slept.send_modify(|total| *total += more_us);
        }
    }

    /// What it shows, if the machine has not slept since somebody last looked.
    fn now_awake(&self) -> OwnTime {
        let passed = read().duration_since(self.0.began);
        let passed_us = i64::try_from(passed.as_micros()).unwrap_or(i64::MAX);
        let gained_us = i128::from(passed_us) * i128::from(self.0.skew_ppm) / 1_000_000;
        let asleep_us = self.0.asleep_us.load(Ordering::Relaxed) + self.dozed_us(passed_us);
        OwnTime(passed_us + gained_us as i64 + asleep_us)
    }

    /// What a simulated machine has counted more or less in its sleep.
    fn dozed_us(&self, passed_us: i64) -> i64 {
        if self.0.machine.is_some() {
            return 0;
        }
        self.0.naps.lock().map_or(0, |naps| naps.iter().map(|nap| nap.counted_us(passed_us)).sum())
    }

    /// For simulations: the machine has slept for so long, and counted this many microseconds of it.
    pub fn sleep(&self, length_us: i64, counted_us: i64) {
        self.0.asleep_us.fetch_add(counted_us, Ordering::Relaxed);
        self.wake(length_us);
    }

    /// For simulations: the machine sleeps from now on for so long, and counts this many microseconds more.
    pub fn doze(&self, length_us: i64, more_us: i64) {
        let passed = read().duration_since(self.0.began);
        let from_us = i64::try_from(passed.as_micros()).unwrap_or(i64::MAX);
        if let Ok(mut naps) = self.0.naps.lock() {
            naps.push(Nap { from_us, length_us, more_us });
        }
    }

    /// For simulations: the machine has slept for so long, and notices.
    pub fn wake(&self, length_us: i64) {
        self.0.slept.send_modify(|total| *total += length_us);
    }

    /// The microseconds slept in all; changes when the machine has slept again.
    pub fn slept(&self) -> watch::Receiver<i64> {
        self.0.slept.subscribe()
    }

    /// Waits until it shows `at`, as exactly as this clock can.
    pub async fn wait_until(&self, at: OwnTime) {
        match &self.0.alarm {
            Some(alarm) => alarm.wait_until(at).await,
            None => self.wait_about(at).await,
        }
    }

    /// Waits until it shows `at`, give or take some milliseconds, for what nobody watches.
    pub async fn wait_about(&self, at: OwnTime) {
        while self.now() < at {
            let wait_us = (at.0 - self.now().0) as f64 / (1.0 + self.0.skew_ppm as f64 * 1e-6);
            // An instant that a clock can't hold is as good as one that never comes.
            let wait = Duration::from_micros(wait_us.ceil().max(1.0) as u64).min(LONGEST);
            tokio::time::sleep(wait).await;
        }
    }

    /// Rings at `at`, on the alarm's own thread, unless what is returned is dropped before or the machine sleeps over it;
    /// `None` for a clock without such a thread.
    pub fn ring_at(&self, at: OwnTime, ring: Ring) -> Option<Set> {
        self.0.alarm.as_ref().map(|alarm| alarm.ring_at(at, ring))
    }
}

#[expect(
    clippy::disallowed_methods,
    reason = "the seat's one look at the clock; tokio's, so that tests can pause it"
)]
fn read() -> Instant {
    Instant::now()
}
