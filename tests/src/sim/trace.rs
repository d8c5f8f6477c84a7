//! What happened in a simulated class, in order, with the true instant of each thing.

use protocol::{Cue, HostTime};
use seat::app::{End, Happening};
use std::fmt;
use std::sync::{Arc, Mutex};
use std::time::Duration;

/// One thing that happened.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// True time in microseconds since the simulation began.
    pub at_us: i64,
    /// To whom: `host`, `network` or a seat's name.
    pub who: String,
    /// Which run of its program, from 1; 0 for the network.
    pub run: u32,
    /// What.
    pub what: What,
}

/// What happened.
#[derive(Clone, Debug, PartialEq)]
pub enum What {
    /// A message left a seat.
    Sent(String),
    /// A message reached a seat.
    Received(String),
    /// A host opened the ledger: host time then, and the number of its clock.
    Opened {
        /// Host time.
        at: HostTime,
        /// The clock's number.
        clock: u64,
        /// What the teacher is told.
        notices: Vec<String>,
    },
    /// The teacher wanted something, and what came of it.
    Teacher(String),
    /// The ledger was read back while the host was at work, up to this event; in what it differs from the live room.
    Replayed {
        /// The event.
        seq: u64,
        /// The difference, if any.
        differs: Option<String>,
    },
    /// The network or a machine was changed.
    Fault(String),
    /// A seat's program began.
    Began,
    /// What a seat's screen shows.
    Shown(Shown),
    /// A seat was cued.
    Cue {
        /// The cue.
        cue: Cue,
        /// What the seat's screen showed.
        shown: Shown,
        /// Whether it came too late to be of use.
        missed: bool,
        /// Whether a bell belongs to it.
        bell: bool,
    },
    /// A seat's bell rang.
    Rang,
    /// A seat said something else.
    Said(Happening),
    /// A seat's machine slept so long from here on, and counted so much of it, both in microseconds.
    Slept {
        /// How long.
        length_us: i64,
        /// How much of it the machine counted.
        counted_us: i64,
    },
    /// A seat's program was killed.
    Killed,
    /// A seat's program ended by itself.
    Ended(End),
    /// A task at the host panicked.
    Panicked,
}

/// What a seat's screen shows at one instant.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Shown {
    /// Host time.
    pub host: Option<HostTime>,
    /// The bound on its error that the seat states, ± microseconds.
    pub bound_us: Option<i64>,
    /// The highest number of the ledger's that it has heard.
    pub seq: u64,
}

impl fmt::Display for Record {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { at_us, who, run, what } = self;
        write!(f, "{at_us:>10} {who}/{run} ")?;
        match what {
            What::Sent(text) => write!(f, "→ {text}"),
            What::Received(text) => write!(f, "← {text}"),
            other => write!(f, "{other:?}"),
        }
    }
}

/// Where everybody notes what happens.
#[derive(Clone, Debug, Default)]
pub struct Trace(Arc<Mutex<Vec<Record>>>);

impl Trace {
    /// Notes something now.
    pub fn note(&self, who: &str, run: u32, what: What) {
        self.note_at(now_us(), who, run, what);
    }

    /// Notes something at a true instant, from outside the simulation.
    pub fn note_at(&self, at_us: i64, who: &str, run: u32, what: What) {
        self.0.lock().unwrap().push(Record { at_us, who: who.into(), run, what });
    }

    /// All of it so far.
    pub fn records(&self) -> Vec<Record> {
        self.0.lock().unwrap().clone()
    }
}

/// True time inside the simulation, in microseconds since it began.
pub fn now_us() -> i64 {
    turmoil::sim_elapsed().map_or(0, |elapsed| elapsed.as_micros() as i64)
}

/// Waits for a true instant.
pub async fn until_us(at_us: i64) {
    let ahead_us = at_us - now_us();
    if ahead_us > 0 {
        tokio::time::sleep(Duration::from_micros(ahead_us as u64)).await;
    }
}
