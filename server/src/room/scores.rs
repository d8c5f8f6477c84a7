//! All the scores of a class, and which of them count.

use protocol::{Code, HostTime, Score, SeatId};
use std::collections::{BTreeMap, HashMap};
use uuid::Uuid;

/// A cup: one tea at one steep.
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

/// What one seat did for one cup.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Filled {
    /// The place of the score that counts.
    counting: usize,
    /// How often the sheet was filled.
    times: usize,
}

/// Every score ever kept. For a seat and a cup the highest revision counts; of equal revisions the later one.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Scores {
    all: Vec<Kept>,
    by_id: HashMap<Uuid, usize>,
    by_seat: BTreeMap<SeatId, BTreeMap<Cup, Filled>>,
}

impl Scores {
    /// Takes a score in. One whose id is known changes nothing.
    pub fn add(&mut self, seq: u64, at: HostTime, seat: SeatId, score: Score) {
        if self.by_id.contains_key(&score.id) {
            return;
        }
        let index = self.all.len();
        self.by_id.insert(score.id, index);
        let cups = self.by_seat.entry(seat).or_default();
        let filled = cups.entry((score.code, score.steep)).or_insert(Filled { counting: index, times: 0 });
        filled.times += 1;
        if self.all.get(filled.counting).is_none_or(|k| score.revision >= k.score.revision) {
            filled.counting = index;
        }
        self.all.push(Kept { seq, at, seat, score });
    }

    /// Every score, revisions too, in the order of the ledger.
    pub fn all(&self) -> &[Kept] {
        &self.all
    }

    /// The score of an id.
    pub fn get(&self, id: Uuid) -> Option<&Kept> {
        self.by_id.get(&id).map(|&index| &self.all[index])
    }

    /// The scores that count, by seat and cup.
    pub fn counting(&self) -> impl Iterator<Item = &Kept> {
        self.by_seat.values().flat_map(|cups| cups.values()).map(|filled| &self.all[filled.counting])
    }

    /// The score of a seat for a cup that counts.
    pub fn of(&self, seat: SeatId, cup: Cup) -> Option<&Kept> {
        self.filled(seat, cup).map(|filled| &self.all[filled.counting])
    }

    /// The scores of one seat that count, by cup.
    pub fn of_seat(&self, seat: SeatId) -> impl Iterator<Item = &Kept> {
        let cups = self.by_seat.get(&seat).into_iter().flat_map(|cups| cups.values());
        cups.map(|filled| &self.all[filled.counting])
    }

    /// How often a seat has filled the sheet for a cup.
    pub fn fills(&self, seat: SeatId, cup: Cup) -> usize {
        self.filled(seat, cup).map_or(0, |filled| filled.times)
    }

    fn filled(&self, seat: SeatId, cup: Cup) -> Option<&Filled> {
        self.by_seat.get(&seat)?.get(&cup)
    }
}
