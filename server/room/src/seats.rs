//! The seats of a class: who sits where, under which name, and which of them are one person.

use crate::{Amendment, Away, Room};
use class::Pourers;
use protocol::wire::PROOFS;
use protocol::{Action, Challenge, Cue, HostTime, Proved, Role, SeatId, Token, person, text};

/// One seat as the ledger knows it.
#[derive(Clone, Debug, PartialEq)]
pub struct Seat {
    /// Its id.
    pub id: SeatId,
    /// Its name as the person wrote it, or as it was corrected.
    pub name: String,
    /// What lets it back in.
    pub token: Token,
    /// Which pourer at the table it is, if any.
    pub pourer: Option<u8>,
    /// What it has come for.
    pub role: Role,
    /// As which one it first came to score, from 0: its row of the serving design and its turn in the difference tests. It keeps
    /// it, whatever it comes for later. A seat that has never come to score has none and takes none from the others.
    pub place: Option<usize>,
    /// When it was first seated.
    pub joined_at: HostTime,
    /// Since when sheets are asked of it, if they are: since it sat down, or since it came to score.
    pub asked_since: HostTime,
    /// Released by the teacher: the next one of this name gets the place without the token.
    pub released: bool,
    /// Sent away by the teacher: it is let in no more, its name is free, and it owes nothing.
    pub away: Option<Away>,
    /// The number of the last event by which the teacher changed what it owes: it was let back, or sheets were opened again.
    pub owes_since_seq: u64,
    /// Whether the teacher lets its scores count.
    pub counts: bool,
    /// The seat it was joined to: both are one person's.
    pub same_as: Option<SeatId>,
}

/// What two seats were before they were joined.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Joining {
    /// The seat that was no more.
    from: usize,
    pourer: Option<u8>,
    /// The seat that stayed.
    into: usize,
    into_pourer: Option<u8>,
    into_joined_at: HostTime,
    into_asked_since: HostTime,
}

/// What the ledger says of a seat that is taken.
pub(crate) struct Taken {
    pub(crate) id: SeatId,
    pub(crate) name: String,
    pub(crate) token: Token,
    pub(crate) pourer: Option<u8>,
    pub(crate) role: Role,
}

impl Room {
    /// A new seat, or a known one that sits down again: with a new token, at another pourer's place, for something else.
    pub(crate) fn seat(&mut self, at: HostTime, taken: Taken) {
        let Taken { id, name, token, pourer, role } = taken;
        let place = role.scores().then(|| self.seats.iter().filter(|seat| seat.place.is_some()).count());
        if let Some(index) = self.index_of(id) {
            let seat = &mut self.seats[index];
            self.by_key.remove(&seat.token.key());
            self.by_key.insert(token.key(), (token, index));
            if role.scores() && !seat.role.scores() {
                seat.asked_since = at;
            }
            (seat.token, seat.pourer, seat.role, seat.released) = (token, pourer, role, false);
            seat.place = seat.place.or(place);
            return;
        }
        self.by_key.insert(token.key(), (token, self.seats.len()));
        self.by_id.insert(id, self.seats.len());
        self.names.seated(&name, self.seats.len());
        self.admitted.remove(&text::name_key(&name));
        self.by_looks.entry(person::looks(&name)).or_default().push(self.seats.len());
        let (joined_at, asked_since) = (at, at);
        let (released, away, owes_since_seq, counts, same_as) = (false, None, 0, true, None);
        let seat = Seat {
            id,
            name,
            token,
            pourer,
            role,
            place,
            joined_at,
            asked_since,
            released,
            away,
            owes_since_seq,
            counts,
            same_as,
        };
        self.seats.push(seat);
    }

    pub(crate) fn released(&mut self, id: SeatId) {
        if let Some(index) = self.index_of(id) {
            // A pourer's place goes with it, so that somebody else can pour.
            (self.seats[index].released, self.seats[index].pourer) = (true, None);
        }
    }

    pub(crate) fn lets_count(&mut self, id: SeatId, counts: bool) {
        if let Some(index) = self.index_of(id) {
            let seat = &mut self.seats[index];
            seat.counts = counts;
            // What is said now stands when it is let back.
            if let Some(away) = &mut seat.away {
                away.counted = None;
            }
        }
    }

    pub(crate) fn renamed(&mut self, id: SeatId, name: String) {
        let Some(index) = self.index_of(id) else { return };
        let from = std::mem::replace(&mut self.seats[index].name, name.clone());
        self.names.renamed(index, &from, &name);
        self.by_looks.entry(person::looks(&name)).or_default().push(index);
        self.amendments.push(Amendment::Renamed { from, to: name });
    }

    /// What the first has scored and answered is the second's from now on, and so are its name and its token.
    pub(crate) fn joined(&mut self, from: SeatId, into: SeatId) {
        let (Some(old), Some(new)) = (self.index_of(from), self.index_of(into)) else { return };
        if old == new {
            return;
        }
        let (from, into) = (self.seats[old].id, self.seats[new].id);
        self.scores.join(from, into);
        self.answers.join(from, into);
        self.by_key.values_mut().filter(|(_, seat)| *seat == old).for_each(|(_, seat)| *seat = new);
        let gone = &mut self.seats[old];
        gone.same_as = Some(into);
        let (name, pourer) = (gone.name.clone(), gone.pourer.take());
        let (joined_at, asked_since) = (gone.joined_at, gone.asked_since);
        let stays = &mut self.seats[new];
        self.joinings.push(Joining {
            from: old,
            pourer,
            into: new,
            into_pourer: stays.pourer,
            into_joined_at: stays.joined_at,
            into_asked_since: stays.asked_since,
        });
        stays.pourer = stays.pourer.or(pourer);
        stays.joined_at = stays.joined_at.min(joined_at);
        stays.asked_since = stays.asked_since.min(asked_since);
        self.amendments.push(Amendment::Joined { from: name, into: stays.name.clone() });
    }

    /// Two seats that had been joined are two persons' again: each has what was sent from it, and the name and the token
    /// that were its own.
    pub(crate) fn parted(&mut self, id: SeatId) {
        let own = self.by_id.get(&id).copied();
        let Some(old) = own.filter(|&index| self.seats[index].same_as.is_some()) else { return };
        let Some(person) = self.index_of(id) else { return };
        let Some(at) = self.joinings.iter().rposition(|joining| joining.from == old) else { return };
        let was = self.joinings.remove(at);
        self.seats[old].same_as = None;
        let from = self.seats[person].name.clone();
        self.scores.part(id);
        self.answers.part(id);
        // Its own, and those of seats that had been joined to it before.
        let own: Vec<usize> =
            (0..self.seats.len()).filter(|&seat| self.index_of(self.seats[seat].id) == Some(old)).collect();
        for seat in own {
            let token = self.seats[seat].token;
            self.by_key.insert(token.key(), (token, old));
        }
        let stays = &mut self.seats[was.into];
        // What has changed since stands.
        if stays.pourer == was.into_pourer.or(was.pourer) {
            stays.pourer = was.into_pourer;
            self.seats[old].pourer = was.pourer;
        }
        let (joined_at, asked_since) = (self.seats[old].joined_at, self.seats[old].asked_since);
        let stays = &mut self.seats[was.into];
        if stays.joined_at == was.into_joined_at.min(joined_at) {
            stays.joined_at = was.into_joined_at;
        }
        if stays.asked_since == was.into_asked_since.min(asked_since) {
            stays.asked_since = was.into_asked_since;
        }
        self.amendments.push(Amendment::Parted { seat: self.seats[old].name.clone(), from });
    }

    /// A seat that hands in paper for a cup had come by the time that cup was decanted, whenever it is entered.
    pub(crate) fn was_there(&mut self, seat: SeatId, (code, steep): crate::scores::Cup) {
        let decant = self.timetable.find(Action::Decant, Some(code), steep);
        let came = decant.map_or(HostTime(0), |Cue { at, .. }| *at);
        if let Some(index) = self.index_of(seat) {
            let seat = &mut self.seats[index];
            seat.joined_at = seat.joined_at.min(came);
            seat.asked_since = seat.asked_since.min(came);
        }
    }

    /// Where the seat of an id stands, or the one that it was joined to.
    fn index_of(&self, id: SeatId) -> Option<usize> {
        self.by_id.get(&id).map(|&index| self.person_at(index))
    }

    /// Where the seat stands that the one at `index` was joined to, or else that one itself.
    fn person_at(&self, mut index: usize) -> usize {
        // A seat is joined only to one that is not joined itself, so that this comes to an end.
        while let Some(next) = self.seats[index].same_as.and_then(|into| self.by_id.get(&into)) {
            index = *next;
        }
        index
    }

    /// How many people sit here for the class: two seats of one person are one, who only looks on, such as a board, is
    /// none, and neither is who was sent away.
    pub fn persons(&self) -> usize {
        let is_one = |seat: &&Seat| self.is_here(seat) && seat.role != Role::Watches;
        self.seats.iter().filter(is_one).count()
    }

    pub(crate) fn seat_mut(&mut self, id: SeatId) -> Option<&mut Seat> {
        self.index_of(id).map(|index| &mut self.seats[index])
    }

    /// The seat of an id; of one that was joined to another, that other one.
    pub fn seat_of(&self, id: SeatId) -> Option<&Seat> {
        self.index_of(id).map(|index| &self.seats[index])
    }

    /// Whether two ids are those of one person.
    pub(crate) fn is_same(&self, one: SeatId, other: SeatId) -> bool {
        one == other || self.index_of(one).is_some_and(|index| self.index_of(other) == Some(index))
    }

    /// The place of a seat among those that have come to score. One that was joined to another keeps its own, if it had one.
    pub fn place_of(&self, id: SeatId) -> Option<usize> {
        let own = self.by_id.get(&id).and_then(|&index| self.seats[index].place);
        own.or_else(|| self.seat_of(id)?.place)
    }

    /// The seat of a token.
    pub fn seat_with(&self, token: Token) -> Option<&Seat> {
        let (known, index) = self.by_key.get(&token.key())?;
        (*known == token).then(|| &self.seats[*index])
    }

    /// The seat of the first proof that holds over the challenge, of so many as a hello may have.
    pub(crate) fn seat_proved(&self, proofs: &[Proved], over: Challenge) -> Option<&Seat> {
        proofs.iter().take(PROOFS).find_map(|Proved { key, proof }| {
            let (token, index) = self.by_key.get(key)?;
            token.is_proved_by(proof, over, self.class_id).then(|| &self.seats[*index])
        })
    }

    /// The seat of a name, however it is spelt.
    pub fn seat_named(&self, name: &str) -> Option<&Seat> {
        self.names.of(name).map(|index| &self.seats[self.person_at(index)])
    }

    /// The seat that somebody means by a name: the one that has it, or else the one that had it before it was renamed.
    pub fn seat_meant(&self, name: &str) -> Option<&Seat> {
        self.names.meant(name).map(|index| &self.seats[self.person_at(index)])
    }

    /// Whose hands a seat is: its own when each seat brews, the pourer's number at a table, none for one that watches.
    pub(crate) fn hands_of(&self, seat: &Seat) -> Option<u8> {
        match self.class.pourers {
            _ if seat.role == Role::Watches || seat.away.is_some() => None,
            Pourers::EachSeat => Some(1),
            Pourers::Table(_) => seat.pourer,
        }
    }
}
