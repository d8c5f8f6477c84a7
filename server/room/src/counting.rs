//! Which of several entries of one seat for one thing counts.

use protocol::SeatId;
use std::collections::hash_map::Entry;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use uuid::Uuid;

/// What one seat sent for one thing: a cup, a difference test.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Sent {
    /// The place of the one that counts; none when what had come in was voided.
    counting: Option<usize>,
    /// The place of the one that counted until it was voided.
    voided: Option<usize>,
    revision: u32,
    times: usize,
}

/// Which entries count. For a seat and a thing the highest revision counts; of equal revisions the later one. An entry
/// whose id is known counts once. What was voided does not count, and the entries of seats that were joined are one seat's.
/// Whoever reads a ledger asks here, however little of an entry it keeps.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Counting<Thing> {
    by_id: HashMap<Uuid, usize>,
    by_seat: BTreeMap<SeatId, BTreeMap<Thing, Sent>>,
    /// Whose entries are another one's.
    same: BTreeMap<SeatId, SeatId>,
    /// What no entry counts for.
    void: BTreeSet<Thing>,
    /// All that was done, so that seats which were joined can be parted.
    done: Vec<Done<Thing>>,
}

/// What was done, with the seats as the ledger names them.
#[derive(Clone, Debug, PartialEq)]
enum Done<Thing> {
    Added {
        place: usize,
        seat: SeatId,
        thing: Thing,
        revision: u32,
    },
    Joined {
        from: SeatId,
        into: SeatId,
    },
    Voided(Thing),
    /// Of all the seats that were one person's then.
    VoidedOf(Vec<SeatId>, Thing),
    Restored(Thing),
    RestoredOf(Vec<SeatId>, Thing),
}

impl<Thing> Default for Counting<Thing> {
    fn default() -> Self {
        let (by_id, by_seat) = (HashMap::new(), BTreeMap::new());
        Self { by_id, by_seat, same: BTreeMap::new(), void: BTreeSet::new(), done: Vec::new() }
    }
}

impl<Thing: Copy + Ord> Counting<Thing> {
    /// Takes the next entry in; whether it is a new one. New ones have the places 0, 1, 2 … in the order in which they
    /// came in.
    pub(crate) fn add(&mut self, id: Uuid, seat: SeatId, thing: Thing, revision: u32) -> bool {
        let place = self.by_id.len();
        let Entry::Vacant(unknown) = self.by_id.entry(id) else { return false };
        unknown.insert(place);
        self.done.push(Done::Added { place, seat, thing, revision });
        self.added(place, seat, thing, revision);
        true
    }

    fn added(&mut self, place: usize, seat: SeatId, thing: Thing, revision: u32) {
        let new = Sent { counting: None, voided: None, revision, times: 0 };
        let sent = self.by_seat.entry(self.person(seat)).or_default().entry(thing).or_insert(new);
        sent.times += 1;
        // After what was voided whatever comes counts.
        if sent.counting.is_none() || revision >= sent.revision {
            (sent.counting, sent.revision) = (Some(place), revision);
        }
    }

    /// Whose entries a seat's are.
    fn person(&self, mut seat: SeatId) -> SeatId {
        while let Some(into) = self.same.get(&seat) {
            seat = *into;
        }
        seat
    }

    /// The entries of one seat are the other's from now on. Where both sent one for a thing, the later one counts.
    pub(crate) fn join(&mut self, from: SeatId, into: SeatId) {
        let (from, into) = (self.person(from), self.person(into));
        if from == into {
            return;
        }
        self.done.push(Done::Joined { from, into });
        self.unite(from, into);
    }

    fn unite(&mut self, from: SeatId, into: SeatId) {
        self.same.insert(from, into);
        let stays = self.by_seat.remove(&from).map(|gone| (gone, self.by_seat.entry(into).or_default()));
        let Some((gone, stays)) = stays else { return };
        for (thing, sent) in gone {
            let Some(other) = stays.get_mut(&thing) else {
                stays.insert(thing, sent);
                continue;
            };
            other.times += sent.times;
            other.voided = other.voided.max(sent.voided);
            other.counting = other.counting.max(sent.counting);
            // Each machine of theirs goes on from its own revisions, and what comes from either is later.
            other.revision = other.revision.min(sent.revision);
        }
    }

    /// What was sent from a seat that was joined is its own again, as if it never had been. What was voided or restored of
    /// the two together was so of each.
    pub(crate) fn part(&mut self, seat: SeatId) {
        let joined = |done: &Done<Thing>| matches!(done, Done::Joined { from, .. } if *from == seat);
        let Some(at) = self.done.iter().rposition(joined) else { return };
        self.done.remove(at);
        (self.by_seat, self.same, self.void) = Default::default();
        let all = std::mem::take(&mut self.done);
        for done in &all {
            match *done {
                Done::Added { place, seat, thing, revision } => self.added(place, seat, thing, revision),
                Done::Joined { from, into } => self.unite(from, into),
                Done::Voided(thing) => {
                    self.void.insert(thing);
                }
                Done::VoidedOf(ref seats, thing) => {
                    for &seat in seats {
                        self.unsend(seat, thing);
                    }
                }
                Done::Restored(thing) => {
                    self.void.remove(&thing);
                }
                Done::RestoredOf(ref seats, thing) => {
                    for &seat in seats {
                        self.resend(seat, thing);
                    }
                }
            }
        }
        self.done = all;
    }

    /// A seat and all others of the same person.
    fn seats_of(&self, seat: SeatId) -> Vec<SeatId> {
        let person = self.person(seat);
        let others = self.same.keys().copied().filter(|&other| self.person(other) == person);
        std::iter::once(person).chain(others).collect()
    }

    /// No entry for a thing counts, those to come neither. How many had counted.
    pub(crate) fn void(&mut self, thing: Thing) -> usize {
        let counted =
            |all: &BTreeMap<Thing, Sent>| all.get(&thing).is_some_and(|sent| sent.counting.is_some());
        let counted = self.by_seat.values().filter(|all| counted(all)).count();
        self.done.push(Done::Voided(thing));
        if self.void.insert(thing) { counted } else { 0 }
    }

    /// What a seat has sent for a thing does not count; what it sends later does. How many had counted.
    pub(crate) fn void_of(&mut self, seat: SeatId, thing: &Thing) -> usize {
        self.done.push(Done::VoidedOf(self.seats_of(seat), *thing));
        usize::from(self.unsend(seat, *thing) && !self.void.contains(thing))
    }

    fn unsend(&mut self, seat: SeatId, thing: Thing) -> bool {
        let seat = self.person(seat);
        let sent = self.by_seat.get_mut(&seat).and_then(|all| all.get_mut(&thing));
        let Some(sent) = sent else { return false };
        let Some(counted) = sent.counting.take() else { return false };
        sent.voided = Some(counted);
        true
    }

    /// Entries for a thing count again. How many do.
    pub(crate) fn restore(&mut self, thing: &Thing) -> usize {
        self.done.push(Done::Restored(*thing));
        if !self.void.remove(thing) {
            return 0;
        }
        let counts = |all: &BTreeMap<Thing, Sent>| all.get(thing).is_some_and(|sent| sent.counting.is_some());
        self.by_seat.values().filter(|all| counts(all)).count()
    }

    /// What was voided of a seat counts again, unless something came later that counts. How many do.
    pub(crate) fn restore_of(&mut self, seat: SeatId, thing: &Thing) -> usize {
        self.done.push(Done::RestoredOf(self.seats_of(seat), *thing));
        usize::from(self.resend(seat, *thing) && !self.void.contains(thing))
    }

    fn resend(&mut self, seat: SeatId, thing: Thing) -> bool {
        let seat = self.person(seat);
        let sent = self.by_seat.get_mut(&seat).and_then(|all| all.get_mut(&thing));
        let Some(sent) = sent.filter(|sent| sent.counting.is_none()) else { return false };
        sent.counting = sent.voided.take();
        sent.counting.is_some()
    }

    /// Whether something of a seat was voided, and nothing has come since that counts.
    pub(crate) fn is_void_of(&self, seat: SeatId, thing: &Thing) -> bool {
        self.sent(seat, thing).is_some_and(|sent| sent.counting.is_none() && sent.voided.is_some())
    }

    /// Whether no entry counts for a thing.
    pub(crate) fn is_void(&self, thing: &Thing) -> bool {
        self.void.contains(thing)
    }

    /// The place of the entry of an id.
    pub(crate) fn place(&self, id: Uuid) -> Option<usize> {
        self.by_id.get(&id).copied()
    }

    /// The places of those that count, by seat and thing.
    pub(crate) fn places(&self) -> impl Iterator<Item = usize> {
        self.by_seat.values().flat_map(|all| self.standing(all))
    }

    /// The places of those of one seat, by thing.
    pub(crate) fn of_seat(&self, seat: SeatId) -> impl Iterator<Item = usize> {
        self.by_seat.get(&self.person(seat)).into_iter().flat_map(|all| self.standing(all))
    }

    fn standing<'a>(&'a self, all: &'a BTreeMap<Thing, Sent>) -> impl Iterator<Item = usize> + 'a {
        let standing = all.iter().filter(|(thing, _)| !self.void.contains(thing));
        standing.filter_map(|(_, sent)| sent.counting)
    }

    /// The place of the one of a seat for a thing.
    pub(crate) fn of(&self, seat: SeatId, thing: Thing) -> Option<usize> {
        let sent = self.sent(seat, &thing).filter(|_| !self.void.contains(&thing));
        sent.and_then(|sent| sent.counting)
    }

    /// How many a seat has sent for a thing.
    pub(crate) fn times(&self, seat: SeatId, thing: Thing) -> usize {
        self.sent(seat, &thing).map_or(0, |sent| sent.times)
    }

    fn sent(&self, seat: SeatId, thing: &Thing) -> Option<&Sent> {
        self.by_seat.get(&self.person(seat))?.get(thing)
    }
}
