//! The room: the state of a class as a fold of its ledger, and what may happen next.
//!
//! Pure. [`Room::decide`] turns a command at an instant into events or a refusal and changes nothing;
//! [`Room::fold`] takes in one event that is already in the ledger. Two rooms are equal if all that they hold is: what only
//! follows from the class and is slow to compute, the planned [`Rounds`], is no part of a room but handed to it.

pub mod adapting;
mod amend;
mod anchor;
pub mod answers;
mod away;
mod by;
mod counting;
mod damage;
mod decide;
pub mod difference_test;
mod door;
pub mod event;
mod greet;
pub mod last_call;
pub mod light;
mod names;
pub mod near;
mod owing;
mod reopened;
mod sayings;
pub mod scores;
mod seats;
mod terms;
pub mod view;
mod voids;

pub use adapting::{Adapted, Offer};
pub use amend::{Amendment, missing, some_of};
pub use anchor::{Anchor, World};
pub use away::Away;
pub use by::Console;
pub use damage::Damage;
pub use decide::{
    Comer, Command, Correction, LEAD_S, Letting, Refusal, Rounds, Steering, Teacher, Who, fits,
};
pub use door::{Admitted, NotAdmitted};
pub use event::{Boot, Entry, Event, Kind};
pub use greet::Sees;
pub use owing::Served;
pub use sayings::Said;
pub use seats::Seat;
pub use terms::{DoorTerms, TlsTerms};

use answers::Answers;
use away::Change;
use by::Elsewhere;
use class::Class;
use class::course::Course;
use names::Names;
use protocol::{Code, HostTime, JoinCode, KeyHash, KeyId, Phase, SeatId, Timetable, Token, text};
use reopened::Reopened;
use scores::Scores;
use seats::{Joining, Taken};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use uuid::Uuid;

/// What is wrong with a ledger that says something else first.
pub(crate) const NO_CLASS: &str = "the ledger does not begin with a class";
/// What is wrong with a ledger without entries.
pub(crate) const EMPTY: &str = "the ledger is empty";

/// What is wrong with a ledger in which an entry is missing.
pub(crate) fn jumps(from: u64, to: u64) -> String {
    format!("the ledger jumps from event {from} to event {to}")
}

/// The state of a class.
#[derive(Clone, Debug, PartialEq)]
pub struct Room {
    /// The class's id.
    pub class_id: Uuid,
    /// The class, with its codes drawn.
    pub class: Class,
    /// The class as it is run: as written, with what the teacher changed on the way.
    pub course: Course,
    /// The steeps that were given another time by the votes, in order, those that were undone among them.
    pub adapted: Vec<Adapted>,
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
    /// Why cups were voided that are or were, for all or for one seat.
    why_void: BTreeMap<(scores::Cup, Option<SeatId>), String>,
    /// The number of the last event by which a cup was voided or counts again.
    pub voided_seq: u64,
    /// What the teacher has said, in the order of the ledger.
    pub said: Vec<Said>,
    /// The sheets that the teacher opened again.
    reopened: BTreeMap<(SeatId, scores::Cup), Reopened>,
    /// What can be taken back, the last at the end, each with the number of its event.
    changes: Vec<(u64, Change)>,
    /// What was put right afterwards, in the order of the ledger.
    pub amendments: Vec<Amendment>,
    /// What of both was done at a console elsewhere.
    elsewhere: Elsewhere,
    /// What is not there any more.
    pub damage: Damage,
    /// When the last call ends, while there is one.
    pub last_call: Option<HostTime>,
    /// What lets a new seat in; a ledger of an earlier program has none until it is opened.
    pub join_code: Option<JoinCode>,
    /// The names of people whom the teacher has let in and who have not sat down yet, by their keys.
    admitted: BTreeMap<String, String>,
    /// On which terms people come.
    pub door: DoorTerms,
    /// The keys by which consoles elsewhere come in, by their hashes: the one that leads, the one that looks on.
    pub keys: Option<(KeyHash, KeyHash)>,
    /// The last time the ledger was opened.
    pub anchor: Option<Anchor>,
    /// The pace of its first opening.
    first_pace: Option<f64>,
    closes_at: Option<HostTime>,
    /// When it was closed: nothing is poured after that.
    closed_at: Option<HostTime>,
    /// What joined seats were before, in the order of the ledger.
    joinings: Vec<Joining>,
    /// Seats that are left out here, and not by the ledger.
    aside: BTreeSet<SeatId>,
    /// What a hold left of a tasting.
    tasting_left_s: Option<u32>,
    /// The number of the last event.
    pub seq: u64,
    /// The instant of the last event.
    pub last_at: HostTime,
    by_id: HashMap<SeatId, usize>,
    names: Names,
    /// The tokens that lead to a seat, by what a hello calls them.
    by_key: HashMap<KeyId, (Token, usize)>,
    /// The seats that have or had a name that reads so.
    by_looks: HashMap<String, Vec<usize>>,
}

impl Room {
    /// A room before anybody came.
    fn new(class_id: Uuid, seed: u64, class: Class) -> Self {
        Self {
            class_id,
            course: Course::written(&class),
            class,
            adapted: Vec::new(),
            seed,
            seats: Vec::new(),
            phase: Phase::Lobby,
            timetable: Timetable::default(),
            timetable_seq: 0,
            scores: Scores::default(),
            revealed: BTreeMap::new(),
            opened: BTreeMap::new(),
            answers: Answers::default(),
            why_void: BTreeMap::new(),
            voided_seq: 0,
            said: Vec::new(),
            reopened: BTreeMap::new(),
            changes: Vec::new(),
            amendments: Vec::new(),
            elsewhere: Elsewhere::default(),
            damage: Damage::default(),
            last_call: None,
            join_code: None,
            admitted: BTreeMap::new(),
            door: DoorTerms::default(),
            keys: None,
            anchor: None,
            first_pace: None,
            closes_at: None,
            closed_at: None,
            joinings: Vec::new(),
            aside: BTreeSet::new(),
            tasting_left_s: None,
            seq: 0,
            last_at: HostTime(0),
            by_id: HashMap::new(),
            names: Names::default(),
            by_key: HashMap::new(),
            by_looks: HashMap::new(),
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
                (Some(room), event) => room.take(Entry { event, ..entry }),
            }
        }
        room.ok_or_else(|| EMPTY.into())
    }

    /// Takes in one event.
    pub fn fold(&mut self, seq: u64, at: HostTime, event: Event) {
        (self.seq, self.last_at) = (seq, at);
        self.put_right(&event);
        match event {
            // A second class can't come: the ledger refuses it.
            Event::Class { .. } => {}
            Event::Opened { unix_us, pace, boot, door } => {
                self.door = door;
                let world = World { unix_us, boot };
                let goes_on = self.anchor.as_ref().filter(|a| a.goes_on(&world) && a.pace == pace);
                let clock = goes_on.map_or(seq, |a| a.clock);
                self.anchor = Some(Anchor { at, world, pace, clock });
                self.first_pace.get_or_insert(pace);
                self.called_again(at);
            }
            Event::DoorSet { door } => self.door = door,
            Event::JoinCodeDrawn { join_code } => self.join_code = Some(join_code),
            Event::KeysDrawn { teacher, observer } => self.keys = Some((teacher, observer)),
            Event::Seated { seat: id, name, token, pourer, role } => {
                self.seat(at, Taken { id, name, token, pourer, role })
            }
            Event::Released { seat } => self.released(seat),
            Event::Admitted { name } => drop(self.admitted.insert(text::name_key(&name), name)),
            Event::AdmittedNoMore { name } => drop(self.admitted.remove(&text::name_key(&name))),
            Event::SentAway { seats, without_scores, reason } => {
                self.sent_away(&seats, without_scores, &reason)
            }
            Event::LetBack { seats, undone } => self.let_back((seq, at), &seats, undone),
            Event::SheetsReopened { seats, code, round, until } => {
                self.reopened(seq, &seats, (code, round), until);
            }
            Event::SheetsShut { seats, code, round } => self.shut(seq, &seats, (code, round)),
            Event::SeatCounts { seat, counts, .. } => self.lets_count(seat, counts),
            Event::FellShort { seat, heard, ended } => self.fell_short(seat, heard, ended),
            Event::Renamed { seat, name } => self.renamed(seat, name),
            Event::SeatsJoined { from, into } => self.joined(from, into),
            Event::SeatsParted { seat } => self.parted(seat),
            Event::Voided { code, steep, seat, reason } => {
                self.voided_seq = seq;
                self.why_void.insert(((code, steep), seat), reason.clone());
                self.voided(code, steep, seat, reason);
            }
            Event::Restored { code, steep, seat, reason } => {
                self.voided_seq = seq;
                self.restored(code, steep, seat, reason);
            }
            Event::Started { timetable } | Event::Resumed { timetable } => {
                (self.phase, self.timetable, self.tasting_left_s) = (Phase::Running, timetable, None);
                self.timetable_seq = seq;
            }
            Event::Held { timetable, tasting_left_s } => {
                (self.phase, self.timetable, self.tasting_left_s) = (Phase::Held, timetable, tasting_left_s);
                self.timetable_seq = seq;
            }
            Event::Steered { act, suggested, timetable } => {
                self.adapted.extend(suggested);
                self.course = self.course.after(&self.class, &act);
                self.course_changed(&act);
                if let Some(timetable) = timetable {
                    (self.timetable, self.timetable_seq) = (timetable, seq);
                }
            }
            Event::Scored { seat, score, on_paper } => {
                if on_paper {
                    self.was_there(seat, (score.code, score.steep));
                }
                self.scores.add(seq, at, seat, score);
            }
            Event::Revealed { codes } => self.revealed.extend(codes.into_iter().map(|code| (code, seq))),
            Event::TestOpened { test } => drop(self.opened.entry(test).or_insert(seq)),
            Event::Said { seat, words } => self.said.push(Said { seq, at, seat, words }),
            Event::Answered { seat, answer } => self.answers.add(seq, at, seat, answer),
            Event::Lost { at_end, .. } => self.damage.lose(seq, at_end),
            Event::LastCall { until } => self.called_last(until),
            Event::Closed => {
                (self.phase, self.last_call, self.closes_at) = (Phase::Closed, None, None);
                self.closed_at.get_or_insert(at);
            }
        }
    }

    /// The instant up to which something has happened at the table: a closed class stands still.
    fn until_close(&self, now: HostTime) -> HostTime {
        self.closed_at.map_or(now, |closed| closed.min(now))
    }

    /// The pace of a class that was only rehearsed: one that was first opened at another pace than the room's.
    pub fn rehearsal(&self) -> Option<f64> {
        self.first_pace.filter(|&pace| pace != 1.0)
    }

    /// Whether seats may know this tea's name.
    pub fn is_open(&self, code: Code) -> bool {
        !self.class.blind || self.revealed.contains_key(&code)
    }
}

#[cfg(test)]
mod tests;
