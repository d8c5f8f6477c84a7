//! The clock that all processes of a machine share, and waiting for its instants.

use super::Fallible;
use host::clock::HostClock;
use std::num::NonZeroU64;
use std::time::Duration;

/// Woken this long before an instant, a thread watches the clock, in nanoseconds: as long as a seat's alarm thread does, so
/// that a baseline is not late where ours is not.
const WATCH_NS: i64 = 700_000;
/// How often host time and the shared clock are read together.
const PAIRS: usize = 5_000;

/// The machine's monotonic clock in nanoseconds. All processes read the same one.
#[cfg(unix)]
pub fn now_ns() -> i64 {
    nanoseconds(rustix::time::ClockId::Monotonic)
}

/// The processor time that this process has used, in nanoseconds, if the machine counts it.
#[cfg(unix)]
pub fn used_ns() -> Option<i64> {
    Some(nanoseconds(rustix::time::ClockId::ProcessCPUTime))
}

#[cfg(unix)]
fn nanoseconds(clock: rustix::time::ClockId) -> i64 {
    let time = rustix::time::clock_gettime(clock);
    time.tv_sec * 1_000_000_000 + time.tv_nsec
}

/// Where no monotonic clock can be compared between processes, the wall clock is shared.
#[cfg(not(unix))]
pub fn now_ns() -> i64 {
    host::clock::unix_us() * 1000
}

/// Not counted here.
#[cfg(not(unix))]
pub fn used_ns() -> Option<i64> {
    None
}

/// By how many nanoseconds the host's clock, at the room's own pace, is ahead of the shared one. Each reading of the
/// host's clock between two of the shared one bounds it; what all readings allow is narrower than a microsecond.
///
/// # Errors
/// The two clocks do not run alike.
pub fn host_ahead_ns(clock: &HostClock) -> Fallible<i64> {
    let pairs = (0..PAIRS).map(|_| (now_ns(), clock.now().0 * 1000, now_ns()));
    // The host's clock shows whole microseconds, so it was up to one more.
    let bounds = pairs.map(|(before, host, after)| (host - after, host + 1000 - before));
    let (least, most) = bounds.fold((i64::MIN, i64::MAX), |all, pair| (all.0.max(pair.0), all.1.min(pair.1)));
    if least > most + 1000 {
        return Err("the host's clock and the machine's do not run alike".into());
    }
    Ok((least + most) / 2)
}

/// Waits until the shared clock shows `at_ns`, as exactly as a thread can.
pub fn wait_until(at_ns: i64) {
    while let Some(early) = u64::try_from(at_ns - now_ns() - WATCH_NS).ok().and_then(NonZeroU64::new) {
        std::thread::park_timeout(Duration::from_nanos(early.get()));
    }
    while now_ns() < at_ns {
        std::hint::spin_loop();
    }
}

/// Asks the system not to gather this thread's wakes with others'.
pub fn wake_early() {
    #[cfg(target_os = "linux")]
    let _ = rustix::thread::set_current_timer_slack(NonZeroU64::new(1));
}

/// Waits until the shared clock shows `at_ns` by the runtime's timers.
pub async fn sleep_until(at_ns: i64) {
    if let Ok(wait) = u64::try_from(at_ns - now_ns()) {
        tokio::time::sleep(Duration::from_nanos(wait)).await;
    }
}
