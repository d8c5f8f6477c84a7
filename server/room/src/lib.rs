//! The room: the state of a class as a fold of its ledger, and what may happen next.
//!
//! Pure. [`Room::decide`] turns a command at an instant into events or a refusal and changes nothing;
//! [`Room::fold`] takes in one event that is already in the ledger. Two rooms are equal if all that they hold is: what only
//! follows from the class and is slow to compute, the planned [`Rounds`], is no part of a room but handed to it.

mod anchor;
pub mod answers;
mod counting;
mod decide;
pub mod difference_test;
pub mod event;
mod greet;
pub mod light;
pub mod scores;
pub mod view;

pub use anchor::{Anchor, World};
pub use decide::{Command, Refusal, Rounds, Teacher};
pub use event::{Boot, Entry, Event, Kind};

use answers::Answers;
use class::{Class, Pourers};
use protocol::{Action, Code, Cue, HostTime, Phase, SeatId, Timetable, Token, text};
use scores::{Cup, Scores};
use std::collections::{BTreeMap, HashMap};
use uuid::Uuid;

/// What is wrong with a ledger that says something else first.
pub(crate) const NO_CLASS: &str = "the ledger does not begin with a class";
/// What is wrong with a ledger without entries.
pub(crate) const EMPTY: &str = "the ledger is empty";

/// What is wrong with a ledger in which an entry is missing.
pub(crate) fn jumps(from: u64, to: u64) -> String {
    format!("the ledger jumps from event {from} to event {to}")
}

/// One seat as the ledger knows it.
#[derive(Clone, Debug, PartialEq)]
pub struct Seat {
    /// Its id.
    pub id: SeatId,
    /// Its name as the person wrote it.
    pub name: String,
    /// What lets it back in.
    pub token: Token,
    /// Which pourer at the table it is, if any.
    pub pourer: Option<u8>,
    /// When it was first seated.
    pub joined_at: HostTime,
    /// Released by the teacher: the next one of this name gets the place without the token.
    pub released: bool,
}

/// The state of a class.
#[derive(Clone, Debug, PartialEq)]
pub struct Room {
    /// The class's id.
    pub class_id: Uuid,
    /// The class, with its codes drawn.
    pub class: Class,
    /// What its codes and serving orders were drawn from.
    pub seed: u64,
    /// The seats in the order in which they were first taken.
    pub seats: Vec<Seat>,
    /// Where the class stands.
    pub phase: Phase,
    /// All the cues.
    pub timetable: Timetable,
    /// The number of the event that gave them.
    pub timetable_seq: u64,
    /// All the scores.
    pub scores: Scores,
    /// The teas whose names the seats may know, and the number of the event that revealed them.
    pub revealed: BTreeMap<Code, u64>,
    /// The difference tests that are open, and the number of the event that opened each.
    pub opened: BTreeMap<u32, u64>,
    /// All the answers to them.
    pub answers: Answers,
    /// The last time the ledger was opened.
    pub anchor: Option<Anchor>,
    /// What a hold left of a tasting.
    tasting_left_s: Option<u32>,
    /// The number of the last event.
    pub seq: u64,
    /// The instant of the last event.
    pub last_at: HostTime,
    by_id: HashMap<SeatId, usize>,
    by_name: HashMap<String, usize>,
    by_token: HashMap<Token, usize>,
}

impl Room {
    /// A room before anybody came.
    fn new(class_id: Uuid, seed: u64, class: Class) -> Self {
        Self {
            class_id,
            class,
            seed,
            seats: Vec::new(),
            phase: Phase::Lobby,
            timetable: Timetable::default(),
            timetable_seq: 0,
            scores: Scores::default(),
            revealed: BTreeMap::new(),
            opened: BTreeMap::new(),
            answers: Answers::default(),
            anchor: None,
            tasting_left_s: None,
            seq: 0,
            last_at: HostTime(0),
            by_id: HashMap::new(),
            by_name: HashMap::new(),
            by_token: HashMap::new(),
        }
    }

    /// The state that a ledger's entries add up to.
    ///
    /// # Errors
    /// A sentence when the entries are no ledger of a class: empty, not begun by a class, or with a gap.
    pub fn replay(entries: impl IntoIterator<Item = Entry>) -> Result<Self, String> {
        let mut room: Option<Room> = None;
        for entry in entries {
            match (&mut room, entry.event) {
                (None, Event::Class { class_id, seed, class }) => {
                    let mut begun = Room::new(class_id, seed, *class);
                    (begun.seq, begun.last_at) = (entry.seq, entry.at);
                    room = Some(begun);
                }
                (None, _) => return Err(NO_CLASS.into()),
                (Some(room), _) if entry.seq != room.seq + 1 => return Err(jumps(room.seq, entry.seq)),
                (Some(room), event) => room.fold(entry.seq, entry.at, event),
            }
        }
        room.ok_or_else(|| EMPTY.into())
    }

    /// Takes in one event.
    pub fn fold(&mut self, seq: u64, at: HostTime, event: Event) {
        (self.seq, self.last_at) = (seq, at);
        match event {
            // A second class can't come: the ledger refuses it.
            Event::Class { .. } => {}
            Event::Opened { unix_us, pace, boot } => {
                let world = World { unix_us, boot };
                let goes_on = self.anchor.as_ref().filter(|a| a.goes_on(&world) && a.pace == pace);
                let clock = goes_on.map_or(seq, |a| a.clock);
                self.anchor = Some(Anchor { at, world, pace, clock });
            }
            Event::Seated { seat, name, token, pourer } => self.seat(at, seat, name, token, pourer),
            Event::Released { seat } => {
                if let Some(&index) = self.by_id.get(&seat) {
                    // A pourer's place goes with it, so that somebody else can pour.
                    (self.seats[index].released, self.seats[index].pourer) = (true, None);
                }
            }
            Event::Started { timetable } | Event::Resumed { timetable } => {
                (self.phase, self.timetable, self.tasting_left_s) = (Phase::Running, timetable, None);
                self.timetable_seq = seq;
            }
            Event::Held { timetable, tasting_left_s } => {
                (self.phase, self.timetable, self.tasting_left_s) = (Phase::Held, timetable, tasting_left_s);
                self.timetable_seq = seq;
            }
            Event::Scored { seat, score, on_paper } => {
                if on_paper {
                    self.was_there(seat, (score.code, score.steep));
                }
                self.scores.add(seq, at, seat, score);
            }
            Event::Revealed { codes } => self.revealed.extend(codes.into_iter().map(|code| (code, seq))),
            Event::TestOpened { test } => drop(self.opened.entry(test).or_insert(seq)),
            Event::Answered { seat, answer } => self.answers.add(seq, at, seat, answer),
            Event::Closed => self.phase = Phase::Closed,
        }
    }

    /// A new seat, or a known one that sits down again with a new token or at another pourer's place.
    fn seat(&mut self, at: HostTime, id: SeatId, name: String, token: Token, pourer: Option<u8>) {
        if let Some(&index) = self.by_id.get(&id) {
            let seat = &mut self.seats[index];
            self.by_token.remove(&seat.token);
            self.by_token.insert(token, index);
            (seat.token, seat.pourer, seat.released) = (token, pourer, false);
            return;
        }
        self.by_token.insert(token, self.seats.len());
        self.by_id.insert(id, self.seats.len());
        self.by_name.insert(text::name_key(&name), self.seats.len());
        self.seats.push(Seat { id, name, token, pourer, joined_at: at, released: false });
    }

    /// A seat that hands in paper for a cup had come by the time that cup was decanted, whenever it is entered.
    fn was_there(&mut self, seat: SeatId, (code, steep): Cup) {
        let decant = self.timetable.find(Action::Decant, Some(code), steep).map_or(HostTime(0), Cue::end);
        if let Some(&index) = self.by_id.get(&seat) {
            let seat = &mut self.seats[index];
            seat.joined_at = seat.joined_at.min(decant);
        }
    }

    /// The seat of an id.
    pub fn seat_of(&self, id: SeatId) -> Option<&Seat> {
        self.by_id.get(&id).map(|&index| &self.seats[index])
    }

    /// As which one a seat was first taken, from 0.
    pub fn place_of(&self, id: SeatId) -> Option<usize> {
        self.by_id.get(&id).copied()
    }

    /// The seat of a token.
    pub fn seat_with(&self, token: Token) -> Option<&Seat> {
        self.by_token.get(&token).map(|&index| &self.seats[index])
    }

    /// The seat of a name, however it is spelt.
    pub fn seat_named(&self, name: &str) -> Option<&Seat> {
        self.by_name.get(&text::name_key(name)).map(|&index| &self.seats[index])
    }

    /// Whose hands a seat is: its own when each seat brews, the pourer's number at a table.
    pub(crate) fn hands_of(&self, seat: &Seat) -> Option<u8> {
        match self.class.pourers {
            Pourers::EachSeat => Some(1),
            Pourers::Table(_) => seat.pourer,
        }
    }

    /// Whether seats may know this tea's name.
    pub fn is_open(&self, code: Code) -> bool {
        !self.class.blind || self.revealed.contains_key(&code)
    }
}

#[cfg(test)]
mod tests;
