//! One thread that wakes a whole process at its instants.
//!
//! The runtime's timers work in whole milliseconds and wake one or two of them late. This thread sleeps until shortly
//! before the earliest instant that anybody wants and watches the clock for the rest, less than a millisecond for
//! each instant; between instants it looks up once a second, to see whether the machine has slept.

use super::OwnClock;
use seat::host_clock::OwnTime;
use std::cmp::{Ordering, Reverse};
use std::collections::binary_heap::PeekMut;
use std::collections::{BinaryHeap, VecDeque};
use std::fmt;
use std::sync::atomic::{AtomicU8, Ordering::SeqCst};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use tokio::sync::oneshot;

/// Woken this long before an instant, the thread watches the clock. A sleeping thread mostly wakes a tenth of a millisecond
/// late, but on a machine that shares its processors now and then half of one.
const WATCH: Duration = Duration::from_micros(700);
/// What is due within this is taken out and put in order: with a thousand seats in one process that takes longer than
/// the thread watches for.
const PREPARE: Duration = Duration::from_millis(3);
/// A ring that comes later than this does not ring: the machine slept over its instant, and whether a bell is still of use
/// is for whoever set it to say, in microseconds.
const TOO_LATE_US: i64 = 1_000_000;
/// It looks up at least this often.
const LOOK: Duration = Duration::from_secs(1);

/// What is done at an instant: it has to be short, and is given the instant at which it is done.
pub type Ring = Arc<dyn Fn(OwnTime) + Send + Sync>;

/// The alarm of a process.
#[derive(Clone)]
pub struct Alarm(Arc<Shared>);

struct Shared {
    wanted: Mutex<Wanted>,
    changed: Condvar,
}

#[derive(Default)]
struct Wanted {
    heap: BinaryHeap<Reverse<Due>>,
    made: u64,
}

/// Something to be done at an instant. The first made of one instant is done first, and rings come before wakes.
struct Due {
    at: OwnTime,
    order: (bool, u64),
    what: What,
}

enum What {
    Wake(oneshot::Sender<()>),
    Ring(Ring, Arc<AtomicU8>),
}

impl PartialEq for Due {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Due {}

impl PartialOrd for Due {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Due {
    fn cmp(&self, other: &Self) -> Ordering {
        (self.at, self.order).cmp(&(other.at, other.order))
    }
}

const SET: u8 = 0;
const RUNG: u8 = 1;
const OFF: u8 = 2;

/// A ring that is set. Dropped, it does not ring any more.
pub struct Set(Arc<AtomicU8>);

impl Set {
    /// Whether it has rung.
    pub fn has_rung(&self) -> bool {
        self.0.load(SeqCst) == RUNG
    }

    /// Keeps it from ringing, so that somebody else can; not if it has rung, or has been taken over already.
    pub fn take_over(&self) -> bool {
        self.0.compare_exchange(SET, OFF, SeqCst, SeqCst).is_ok()
    }
}

impl Drop for Set {
    fn drop(&mut self) {
        self.take_over();
    }
}

impl fmt::Debug for Set {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Set").field(&self.0.load(SeqCst)).finish()
    }
}

impl fmt::Debug for Alarm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Alarm").field(&self.0.lock().heap.len()).finish()
    }
}

impl Wanted {
    /// Moves what is due soon after `now` over to `due`, which stays in its order.
    fn take_due(&mut self, now: OwnTime, due: &mut VecDeque<Due>) {
        let before = due.len();
        while let Some(first) = self.heap.peek_mut() {
            if !first.0.is_off() && first.0.at > now.plus(PREPARE) {
                break;
            }
            let Reverse(first) = PeekMut::pop(first);
            if !first.is_off() {
                due.push_back(first);
            }
        }
        if due.len() > before {
            due.make_contiguous().sort();
        }
    }
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, Wanted> {
        // What a panicking ring leaves behind is whole: it is run outside the lock.
        self.wanted.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Alarm {
    /// An alarm whose thread has still to be [`Alarm::run`].
    pub fn start() -> Self {
        Self(Arc::new(Shared { wanted: Mutex::default(), changed: Condvar::new() }))
    }

    /// Starts the thread. It ends when `clock` gives nothing any more.
    pub fn run(&self, clock: impl Fn() -> Option<OwnClock> + Send + 'static) {
        let shared = self.0.clone();
        let thread = std::thread::Builder::new().name("alarm".into()).spawn(move || work(&shared, clock));
        if let Err(error) = thread {
            tracing::error!(%error, "no alarm thread; nothing will ring");
        }
    }

    fn add(&self, at: OwnTime, what: What) {
        let mut wanted = self.0.lock();
        wanted.made += 1;
        let order = (matches!(what, What::Wake(_)), wanted.made);
        let first = wanted.heap.peek().is_none_or(|due| at < due.0.at);
        wanted.heap.push(Reverse(Due { at, order, what }));
        // Somebody who gave up waiting leaves an empty place behind; now and then they are swept out.
        if wanted.made.is_multiple_of(4096) {
            wanted.heap.retain(|due| !due.0.is_off());
        }
        drop(wanted);
        if first {
            self.0.changed.notify_one();
        }
    }

    /// Waits until the clock shows `at`.
    pub async fn wait_until(&self, at: OwnTime) {
        let (wake, woken) = oneshot::channel();
        self.add(at, What::Wake(wake));
        // The thread lives as long as its clock, which the caller holds.
        let _ = woken.await;
    }

    /// Rings at `at` unless what is returned is dropped before, or the machine sleeps over it.
    pub fn ring_at(&self, at: OwnTime, ring: Ring) -> Set {
        let state = Arc::new(AtomicU8::new(SET));
        self.add(at, What::Ring(ring, state.clone()));
        Set(state)
    }
}

impl Due {
    fn is_off(&self) -> bool {
        match &self.what {
            What::Wake(wake) => wake.is_closed(),
            What::Ring(_, state) => state.load(SeqCst) == OFF,
        }
    }

    fn act(self, now: OwnTime) {
        match self.what {
            What::Wake(wake) => drop(wake.send(())),
            What::Ring(ring, state) => {
                if now.0 - self.at.0 < TOO_LATE_US
                    && state.compare_exchange(SET, RUNG, SeqCst, SeqCst).is_ok()
                {
                    ring(now);
                }
            }
        }
    }
}

fn work(shared: &Shared, clock: impl Fn() -> Option<OwnClock>) {
    wake_early();
    let mut due = VecDeque::new();
    loop {
        // Held only as long as it takes: the thread ends with the last other holder.
        let Some(clock) = clock() else { return };
        let now = clock.now();
        let mut wanted = shared.lock();
        wanted.take_due(now, &mut due);
        let next_at = due.front().map(|due: &Due| due.at);
        if next_at.is_none_or(|at| at > now.plus(WATCH)) {
            drop(clock);
            let until = |at: OwnTime, before: Duration| {
                Duration::from_micros((at.0 - now.0).max(0) as u64).saturating_sub(before)
            };
            let prepare = wanted.heap.peek().map(|due| until(due.0.at, PREPARE));
            let wait = next_at.map(|at| until(at, WATCH)).or(prepare).unwrap_or(LOOK);
            // Woken for whatever reason, it looks again.
            drop(shared.changed.wait_timeout(wanted, wait.min(LOOK)));
            continue;
        }
        drop(wanted);
        act(&clock, &mut due);
    }
}

/// Does what is due now, each at its instant, until there is time to look up. Those who are woken want the processor and
/// the lock for themselves, so nobody is woken while somebody's bell is about to ring.
fn act(clock: &OwnClock, due: &mut VecDeque<Due>) {
    let mut wakes = Vec::new();
    let mut now = clock.now_awake();
    while let Some(next) = due.pop_front_if(|next| next.at <= now.plus(WATCH)) {
        match next.what {
            What::Ring(..) => {
                now = watch(clock, next.at);
                next.act(now);
            }
            What::Wake(_) => wakes.push(next),
        }
    }
    for wake in wakes {
        let at = watch(clock, wake.at);
        wake.act(at);
    }
}

/// Watches the clock until it shows `at`.
fn watch(clock: &OwnClock, at: OwnTime) -> OwnTime {
    loop {
        let now = clock.now_awake();
        if now >= at {
            return now;
        }
        std::hint::spin_loop();
    }
}

/// Asks the system not to gather this thread's wakes with others': Linux would let them be up to 50 µs late.
fn wake_early() {
    #[cfg(target_os = "linux")]
    let _ = rustix::thread::set_current_timer_slack(std::num::NonZeroU64::new(1));
}
