//! What the teacher says to the seats: kept in the ledger, and heard by each seat once.

use crate::{Room, Seat};
use protocol::wire::{SAYINGS, Saying};
use protocol::{HostTime, SeatId};

/// Something that the teacher said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// The ledger's number of it.
    pub seq: u64,
    /// When.
    pub at: HostTime,
    /// The seat it was said to; without one, to all.
    pub seat: Option<SeatId>,
    /// The words.
    pub words: String,
}

impl Room {
    /// What was said to a seat, or to all, after event `since` and not before the seat was taken: the newest.
    pub fn said_to(&self, seat: &Seat, since: u64) -> Vec<Saying> {
        let later = self.said.iter().filter(|said| said.seq > since && said.at >= seat.joined_at);
        let heard: Vec<Saying> = later.filter_map(|said| self.saying(said, seat.id)).collect();
        heard[heard.len().saturating_sub(SAYINGS)..].to_vec()
    }

    /// How a seat hears what was said; nothing if it was said to another one.
    pub fn saying(&self, said: &Said, seat: SeatId) -> Option<Saying> {
        let to_you = said.seat.is_some_and(|to| self.is_same(to, seat));
        (said.seat.is_none() || to_you).then(|| Saying { seq: said.seq, words: said.words.clone(), to_you })
    }
}
