//! All the answers to difference tests, and which of them count.

use crate::counting::Counting;
use protocol::{Answer, HostTime, SeatId};
use uuid::Uuid;

/// One answer as the ledger has it.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptAnswer {
    /// The ledger's number of it.
    pub seq: u64,
    /// When it came in.
    pub at: HostTime,
    /// Whose it was when it came in: the cups are those of this seat.
    pub seat: SeatId,
    /// The answer.
    pub answer: Answer,
}

/// Every answer ever kept, and which of them count.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Answers {
    all: Vec<KeptAnswer>,
    /// By the number of the test.
    counting: Counting<u32>,
}

impl Answers {
    /// Takes an answer in. One whose id is known changes nothing.
    pub fn add(&mut self, seq: u64, at: HostTime, seat: SeatId, answer: Answer) {
        if self.counting.add(answer.id, seat, answer.test, answer.revision) {
            self.all.push(KeptAnswer { seq, at, seat, answer });
        }
    }

    /// What one seat has answered is another one's.
    pub(crate) fn join(&mut self, from: SeatId, into: SeatId) {
        self.counting.join(from, into);
    }

    /// What was sent from one seat is its own again.
    pub(crate) fn part(&mut self, seat: SeatId) {
        self.counting.part(seat);
    }

    /// Every answer, changed ones too, in the order of the ledger.
    pub fn all(&self) -> &[KeptAnswer] {
        &self.all
    }

    /// The answer of an id.
    pub fn get(&self, id: Uuid) -> Option<&KeptAnswer> {
        self.counting.place(id).map(|place| &self.all[place])
    }

    /// The answer of a seat to a test that counts.
    pub fn of(&self, seat: SeatId, test: u32) -> Option<&KeptAnswer> {
        self.counting.of(seat, test).map(|place| &self.all[place])
    }

    /// The answers of one seat that count, by test.
    pub fn of_seat(&self, seat: SeatId) -> impl Iterator<Item = &KeptAnswer> {
        self.counting.of_seat(seat).map(|place| &self.all[place])
    }

    /// How often a seat has answered a test.
    pub fn times(&self, seat: SeatId, test: u32) -> usize {
        self.counting.times(seat, test)
    }
}
