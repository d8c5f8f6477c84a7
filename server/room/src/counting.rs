//! Which of several entries of one seat for one thing counts.

use protocol::SeatId;
use std::collections::hash_map::Entry;
use std::collections::{BTreeMap, HashMap};
use uuid::Uuid;

/// What one seat sent for one thing: a cup, a difference test.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Sent {
    /// The place of the one that counts.
    counting: usize,
    revision: u32,
    times: usize,
}

/// Which entries count. For a seat and a thing the highest revision counts; of equal revisions the later one. An entry
/// whose id is known counts once. Whoever reads a ledger asks here, however little of an entry it keeps.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Counting<Thing> {
    by_id: HashMap<Uuid, usize>,
    by_seat: BTreeMap<SeatId, BTreeMap<Thing, Sent>>,
}

impl<Thing> Default for Counting<Thing> {
    fn default() -> Self {
        Self { by_id: HashMap::new(), by_seat: BTreeMap::new() }
    }
}

impl<Thing: Ord> Counting<Thing> {
    /// Takes the next entry in; whether it is a new one. New ones have the places 0, 1, 2 … in the order in which they
    /// came in.
    pub(crate) fn add(&mut self, id: Uuid, seat: SeatId, thing: Thing, revision: u32) -> bool {
        let place = self.by_id.len();
        let Entry::Vacant(unknown) = self.by_id.entry(id) else { return false };
        unknown.insert(place);
        let new = Sent { counting: place, revision, times: 0 };
        let sent = self.by_seat.entry(seat).or_default().entry(thing).or_insert(new);
        sent.times += 1;
        if revision >= sent.revision {
            (sent.counting, sent.revision) = (place, revision);
        }
        true
    }

    /// The place of the entry of an id.
    pub(crate) fn place(&self, id: Uuid) -> Option<usize> {
        self.by_id.get(&id).copied()
    }

    /// The places of those that count, by seat and thing.
    pub(crate) fn places(&self) -> impl Iterator<Item = usize> {
        self.by_seat.values().flat_map(BTreeMap::values).map(|sent| sent.counting)
    }

    /// The places of those of one seat, by thing.
    pub(crate) fn of_seat(&self, seat: SeatId) -> impl Iterator<Item = usize> {
        self.by_seat.get(&seat).into_iter().flat_map(BTreeMap::values).map(|sent| sent.counting)
    }

    /// The place of the one of a seat for a thing.
    pub(crate) fn of(&self, seat: SeatId, thing: Thing) -> Option<usize> {
        self.sent(seat, &thing).map(|sent| sent.counting)
    }

    /// How many a seat has sent for a thing.
    pub(crate) fn times(&self, seat: SeatId, thing: Thing) -> usize {
        self.sent(seat, &thing).map_or(0, |sent| sent.times)
    }

    fn sent(&self, seat: SeatId, thing: &Thing) -> Option<&Sent> {
        self.by_seat.get(&seat)?.get(thing)
    }
}
