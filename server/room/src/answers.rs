//! All the answers to difference tests, and which of them count.

use protocol::{Answer, HostTime, SeatId};
use std::collections::{BTreeMap, HashMap};
use uuid::Uuid;

/// One answer as the ledger has it.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptAnswer {
    /// The ledger's number of it.
    pub seq: u64,
    /// When it came in.
    pub at: HostTime,
    /// Whose it is.
    pub seat: SeatId,
    /// The answer.
    pub answer: Answer,
}

/// Every answer ever kept. For a seat and a test the highest revision counts; of equal revisions the later one.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Answers {
    all: Vec<KeptAnswer>,
    by_id: HashMap<Uuid, usize>,
    by_seat: BTreeMap<SeatId, BTreeMap<u32, Vec<usize>>>,
}

impl Answers {
    /// Takes an answer in. One whose id is known changes nothing.
    pub fn add(&mut self, seq: u64, at: HostTime, seat: SeatId, answer: Answer) {
        if self.by_id.contains_key(&answer.id) {
            return;
        }
        self.by_id.insert(answer.id, self.all.len());
        self.by_seat.entry(seat).or_default().entry(answer.test).or_default().push(self.all.len());
        self.all.push(KeptAnswer { seq, at, seat, answer });
    }

    /// Every answer, changed ones too, in the order of the ledger.
    pub fn all(&self) -> &[KeptAnswer] {
        &self.all
    }

    /// The answer of an id.
    pub fn get(&self, id: Uuid) -> Option<&KeptAnswer> {
        self.by_id.get(&id).map(|&index| &self.all[index])
    }

    /// The answer of a seat to a test that counts.
    pub fn of(&self, seat: SeatId, test: u32) -> Option<&KeptAnswer> {
        self.counting(self.by_seat.get(&seat)?.get(&test)?)
    }

    /// The answers of one seat that count, by test.
    pub fn of_seat(&self, seat: SeatId) -> impl Iterator<Item = &KeptAnswer> {
        let tests = self.by_seat.get(&seat).into_iter().flat_map(|tests| tests.values());
        tests.filter_map(|given| self.counting(given))
    }

    /// How often a seat has answered a test.
    pub fn times(&self, seat: SeatId, test: u32) -> usize {
        self.by_seat.get(&seat).and_then(|tests| tests.get(&test)).map_or(0, Vec::len)
    }

    fn counting(&self, given: &[usize]) -> Option<&KeptAnswer> {
        given.iter().map(|&index| &self.all[index]).max_by_key(|kept| kept.answer.revision)
    }
}
