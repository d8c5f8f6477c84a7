//! All the scores of a class, and which of them count.

use crate::counting::Counting;
use protocol::{Code, HostTime, Score, SeatId};
use std::sync::Arc;
use uuid::Uuid;

/// A cup: one tea, and the round in which it was served.
pub type Cup = (Code, u32);

/// One score as the ledger has it.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// The ledger's number of it.
    pub seq: u64,
    /// When it came in.
    pub at: HostTime,
    /// Whose it is.
    pub seat: SeatId,
    /// The score.
    pub score: Score,
}

/// Every score ever kept, and which of them count.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Scores {
    /// Shared between copies of a room: whoever looks at one in peace copies no score.
    all: Vec<Arc<Kept>>,
    counting: Counting<Cup>,
}

impl Scores {
    /// Takes a score in. One whose id is known changes nothing.
    pub fn add(&mut self, seq: u64, at: HostTime, seat: SeatId, score: Score) {
        if self.counting.add(score.id, seat, (score.code, score.steep), score.revision) {
            self.all.push(Arc::new(Kept { seq, at, seat, score }));
        }
    }

    /// What one seat has scored is another one's.
    pub(crate) fn join(&mut self, from: SeatId, into: SeatId) {
        self.counting.join(from, into);
    }

    /// What was sent from one seat is its own again.
    pub(crate) fn part(&mut self, seat: SeatId) {
        self.counting.part(seat);
    }

    /// No score of a cup counts any more; how many had counted.
    pub(crate) fn void(&mut self, cup: Cup) -> usize {
        self.counting.void(cup)
    }

    /// What a seat has scored of a cup does not count any more; how many had counted.
    pub(crate) fn void_of(&mut self, seat: SeatId, cup: Cup) -> usize {
        self.counting.void_of(seat, &cup)
    }

    /// Whether no score of a cup counts.
    pub(crate) fn is_void(&self, cup: Cup) -> bool {
        self.counting.is_void(&cup)
    }

    /// The scores of a cup count again; how many do.
    pub(crate) fn restore(&mut self, cup: Cup) -> usize {
        self.counting.restore(&cup)
    }

    /// What was voided of a seat's cup counts again; how many do.
    pub(crate) fn restore_of(&mut self, seat: SeatId, cup: Cup) -> usize {
        self.counting.restore_of(seat, &cup)
    }

    /// Whether a seat's score of a cup was voided, and none has come since.
    pub(crate) fn is_void_of(&self, seat: SeatId, cup: Cup) -> bool {
        self.counting.is_void_of(seat, &cup)
    }

    /// Every score, revisions too, in the order of the ledger.
    pub fn all(&self) -> &[Arc<Kept>] {
        &self.all
    }

    /// The score of an id.
    pub fn get(&self, id: Uuid) -> Option<&Kept> {
        self.counting.place(id).map(|place| &*self.all[place])
    }

    /// Whether anybody has ever scored a cup.
    pub fn is_scored(&self, cup: Cup) -> bool {
        self.all.iter().any(|kept| (kept.score.code, kept.score.steep) == cup)
    }

    /// The scores that count, by seat and cup.
    pub fn counting(&self) -> impl Iterator<Item = &Kept> {
        self.counting.places().map(|place| &*self.all[place])
    }

    /// The score of a seat for a cup that counts.
    pub fn of(&self, seat: SeatId, cup: Cup) -> Option<&Kept> {
        self.counting.of(seat, cup).map(|place| &*self.all[place])
    }

    /// The scores of one seat that count, by cup.
    pub fn of_seat(&self, seat: SeatId) -> impl Iterator<Item = &Kept> {
        self.counting.of_seat(seat).map(|place| &*self.all[place])
    }

    /// How often a seat has filled the sheet for a cup.
    pub fn fills(&self, seat: SeatId, cup: Cup) -> usize {
        self.counting.times(seat, cup)
    }
}
