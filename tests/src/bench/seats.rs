//! A room of real seats in one process, each with the bell of a real program.

use super::Fallible;
use super::air::{Air, dial};
use super::child::Parent;
use super::instant::{now_ns, sleep_until, used_ns};
use super::stamps::{Stamps, by_cue};
use client::clock::{Ids, OwnClock};
use client::drive::{Bell, Options, Seat};
use protocol::wire::PING_BURST;
use seat::app::Happening;
use serde::{Deserialize, Serialize};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use tokio::sync::{Semaphore, mpsc};

/// How many seats may be on their way to their place at once; a door lets more wait.
pub const JOINING: usize = 256;
/// How long after the last cue seats may still act on it, in nanoseconds.
pub const SETTLE_NS: i64 = 2_000_000_000;

/// Who is to sit where.
#[derive(Clone, Serialize, Deserialize)]
pub struct Order {
    /// The host.
    pub address: String,
    /// How many.
    pub seats: usize,
    /// What is between them.
    pub air: Option<Air>,
}

/// What came of the cues.
#[derive(Serialize, Deserialize)]
pub struct Heard {
    /// When the bells rang.
    pub ring: Stamps,
    /// When the cues came out of the seats.
    pub said: Stamps,
    /// Processor time of all seats while they waited for the first cue, in milliseconds per second.
    pub waiting_ms_per_s: Option<f64>,
}

/// Instants of the shared clock, from many seats.
#[derive(Clone, Default)]
pub struct Book(Arc<Mutex<Vec<i64>>>);

impl Book {
    fn lock(&self) -> MutexGuard<'_, Vec<i64>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// An empty one with room for this many stamps, so that stamping takes no time.
    pub fn with_room(stamps: usize) -> Self {
        Self(Arc::new(Mutex::new(Vec::with_capacity(stamps))))
    }

    /// Now.
    pub fn stamp(&self) {
        let now_ns = now_ns();
        self.lock().push(now_ns);
    }

    /// Every stamp to its cue, and the book is empty again.
    pub fn take(&self, cues_ns: &[i64]) -> Stamps {
        by_cue(cues_ns, &std::mem::take(&mut *self.lock()))
    }
}

/// Takes all places, says so once every seat has had its burst of exchanges, and hears the cues.
pub async fn play(mut parent: Parent) -> Fallible<()> {
    let order: Order = parent.hear().await?;
    let (ring, said) = (Book::with_room(order.seats * 64), Book::with_room(order.seats * 64));
    let clock = OwnClock::precise();
    let gate = Arc::new(Semaphore::new(JOINING));
    let (ready, mut all_ready) = mpsc::unbounded_channel();
    for number in 0..order.seats {
        let bell = ring.clone();
        let options = Options {
            seed: number as u64,
            ids: Ids::Random,
            clock: clock.clone(),
            ring: Some(Bell(Arc::new(move |_| bell.stamp()))),
            ..Options::new(format!("seat {number}"), order.address.clone())
        };
        tokio::spawn(sit(number, order.clone(), options, gate.clone(), ready.clone(), said.clone()));
    }
    drop(ready);
    for _ in 0..order.seats {
        all_ready.recv().await.ok_or("a seat has ended")??;
    }
    parent.tell(&true)?;
    let cues_ns: Vec<i64> = parent.hear().await?;
    let (Some(first), Some(last)) = (cues_ns.first(), cues_ns.last()) else { return Err("no cues".into()) };
    // Between the announcement of the first cue, ten seconds before it, and the cue.
    let quiet_ns = (first - 8_500_000_000, first - 500_000_000);
    sleep_until(quiet_ns.0).await;
    let before = (now_ns(), used_ns());
    sleep_until(quiet_ns.1).await;
    let passed_ns = now_ns() - before.0;
    let used = used_ns().zip(before.1).map(|(now, before)| now - before);
    sleep_until(last + SETTLE_NS).await;
    let waiting_ms_per_s = used.map(|used_ns| used_ns as f64 / passed_ns as f64 * 1e3);
    parent.tell(&Heard { ring: ring.take(&cues_ns), said: said.take(&cues_ns), waiting_ms_per_s })
}

async fn sit(
    number: usize,
    order: Order,
    options: Options,
    gate: Arc<Semaphore>,
    ready: mpsc::UnboundedSender<Fallible<()>>,
    said: Book,
) {
    let place = gate.acquire().await;
    let dialler = move || {
        let address = order.address.clone();
        async move { dial(&address, order.air, number).await }
    };
    let mut seat = match Seat::open(dialler, options) {
        Ok(seat) => seat,
        Err(error) => return drop(ready.send(Err(error.into()))),
    };
    let (mut place, mut exchanges, mut last) = (Some(place), 0, None);
    while seat.end().is_none() {
        let before = (exchanges < PING_BURST.0).then(|| seat.app().clock.estimate().clone());
        match seat.next().await.map(|happened| happened.what) {
            // What is due at one instant is one bell.
            Some(Happening::Cue { bell: true, cue, .. }) if last.replace(cue.at) != Some(cue.at) => {
                said.stamp()
            }
            Some(Happening::Seated { .. }) => drop(place.take()),
            _ => {}
        }
        if before.is_some_and(|before| before != *seat.app().clock.estimate()) {
            exchanges += 1;
            if exchanges == PING_BURST.0 {
                let _ = ready.send(Ok(()));
            }
        }
    }
    let _ = ready.send(Err(format!("seat {number} has ended: {:?}", seat.end()).into()));
}
