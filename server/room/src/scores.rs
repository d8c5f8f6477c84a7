//! All the scores of a class, and which of them count.

use protocol::{Code, HostTime, Score, SeatId};
use std::collections::hash_map::Entry;
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
    /// Its revision.
    revision: u32,
    /// How often the sheet was filled.
    times: usize,
}

/// Which scores count. For a seat and a cup the highest revision counts; of equal revisions the later one. A score whose
/// id is known counts once. Whoever reads a ledger asks here, however little of a score it keeps.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Counting {
    by_id: HashMap<Uuid, usize>,
    by_seat: BTreeMap<SeatId, BTreeMap<Cup, Filled>>,
}

impl Counting {
    /// Takes the next score in; whether it is a new one. New ones have the places 0, 1, 2 … in the order in which they
    /// came in.
    pub fn add(&mut self, id: Uuid, seat: SeatId, cup: Cup, revision: u32) -> bool {
        let place = self.by_id.len();
        let Entry::Vacant(unknown) = self.by_id.entry(id) else { return false };
        unknown.insert(place);
        let new = Filled { counting: place, revision, times: 0 };
        let filled = self.by_seat.entry(seat).or_default().entry(cup).or_insert(new);
        filled.times += 1;
        if revision >= filled.revision {
            (filled.counting, filled.revision) = (place, revision);
        }
        true
    }

    /// The places of the scores that count, by seat and cup.
    pub fn places(&self) -> impl Iterator<Item = usize> {
        self.by_seat.values().flat_map(BTreeMap::values).map(|filled| filled.counting)
    }

    /// The places of those of one seat, by cup.
    fn of_seat(&self, seat: SeatId) -> impl Iterator<Item = usize> {
        self.by_seat.get(&seat).into_iter().flat_map(BTreeMap::values).map(|filled| filled.counting)
    }

    fn filled(&self, seat: SeatId, cup: Cup) -> Option<&Filled> {
        self.by_seat.get(&seat)?.get(&cup)
    }
}

/// Every score ever kept, and which of them count.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Scores {
    all: Vec<Kept>,
    counting: Counting,
}

impl Scores {
    /// Takes a score in. One whose id is known changes nothing.
    pub fn add(&mut self, seq: u64, at: HostTime, seat: SeatId, score: Score) {
        if self.counting.add(score.id, seat, (score.code, score.steep), score.revision) {
            self.all.push(Kept { seq, at, seat, score });
        }
    }

    /// Every score, revisions too, in the order of the ledger.
    pub fn all(&self) -> &[Kept] {
        &self.all
    }

    /// The score of an id.
    pub fn get(&self, id: Uuid) -> Option<&Kept> {
        self.counting.by_id.get(&id).map(|&place| &self.all[place])
    }

    /// The scores that count, by seat and cup.
    pub fn counting(&self) -> impl Iterator<Item = &Kept> {
        self.counting.places().map(|place| &self.all[place])
    }

    /// The score of a seat for a cup that counts.
    pub fn of(&self, seat: SeatId, cup: Cup) -> Option<&Kept> {
        self.counting.filled(seat, cup).map(|filled| &self.all[filled.counting])
    }

    /// The scores of one seat that count, by cup.
    pub fn of_seat(&self, seat: SeatId) -> impl Iterator<Item = &Kept> {
        self.counting.of_seat(seat).map(|place| &self.all[place])
    }

    /// How often a seat has filled the sheet for a cup.
    pub fn fills(&self, seat: SeatId, cup: Cup) -> usize {
        self.counting.filled(seat, cup).map_or(0, |filled| filled.times)
    }
}
