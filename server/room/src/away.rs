//! Seats that the teacher sent away, and let back.

use crate::scores::Cup;
use crate::{Amendment, Event, Room, Seat};
use class::course::Act;
use protocol::{HostTime, Phase, SeatId};

/// What a seat was that is sent away: it is that again when it is let back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Away {
    /// Why, in the teacher's words; empty where nothing was said.
    pub reason: String,
    /// Whether its scores counted before, where they went with it.
    pub(crate) counted: Option<bool>,
    /// Which pourer it was.
    pourer: Option<u8>,
}

/// Why a cup counts again, or not, where that takes a change back.
const UNDONE: &str = "undone";

/// A change that can be taken back.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Change {
    /// The course of the class was changed; the course has its acts.
    Course,
    /// Seats were sent away.
    Away(Vec<SeatId>),
    /// Sheets of a cup were opened again.
    Reopened(Vec<SeatId>, Cup),
    /// Something was put right: what puts it as it was.
    PutRight(Box<Event>),
}

/// What takes back that a cup was voided or restored, or that a seat's scores were left out or let count.
fn inverse(event: &Event) -> Option<Event> {
    let reason = || UNDONE.to_string();
    match *event {
        Event::Voided { code, steep, seat, .. } => {
            Some(Event::Restored { code, steep, seat, reason: reason() })
        }
        Event::Restored { code, steep, seat, .. } => {
            Some(Event::Voided { code, steep, seat, reason: reason() })
        }
        Event::SeatCounts { seat, counts, .. } => {
            Some(Event::SeatCounts { seat, counts: !counts, undone: true })
        }
        _ => None,
    }
}

impl Room {
    pub(crate) fn sent_away(&mut self, seats: &[SeatId], without_scores: bool, reason: &str) {
        let mut names = Vec::new();
        for &id in seats {
            let Some(seat) = self.seat_mut(id).filter(|seat| seat.away.is_none()) else { continue };
            let counted = without_scores.then_some(seat.counts);
            seat.away = Some(Away { reason: reason.into(), counted, pourer: seat.pourer.take() });
            seat.counts &= !without_scores;
            names.push(seat.name.clone());
        }
        self.changes.push((self.seq, Change::Away(seats.to_vec())));
        let reason = reason.to_string();
        self.amendments.push(Amendment::SentAway { seats: names, without_scores, reason });
    }

    /// Sheets are asked of it again from now on; if its going was a slip, as if it had never gone.
    pub(crate) fn let_back(&mut self, (seq, at): (u64, HostTime), seats: &[SeatId], undone: bool) {
        let mut names = Vec::new();
        for &id in seats {
            let Some(seat) = self.seat_mut(id) else { continue };
            let Some(Away { counted, pourer, .. }) = seat.away.take() else { continue };
            (seat.counts, seat.owes_since_seq) = (counted.unwrap_or(seat.counts), seq);
            if !undone {
                seat.asked_since = seat.asked_since.max(at);
            }
            names.push(seat.name.clone());
            let is_free = !self.seats.iter().any(|other| other.pourer.is_some() && other.pourer == pourer);
            if let Some(seat) = self.seat_mut(id).filter(|_| is_free) {
                seat.pourer = pourer;
            }
        }
        let gone = |id: &SeatId| self.seat_of(*id).is_some_and(|seat| seat.away.is_some());
        let stands = |change: &Change| match change {
            Change::Away(seats) => seats.iter().any(gone),
            Change::Course | Change::Reopened(..) | Change::PutRight(_) => true,
        };
        let stand: Vec<(u64, Change)> =
            self.changes.iter().filter(|(_, change)| stands(change)).cloned().collect();
        self.changes = stand;
        self.amendments.push(Amendment::LetBack { seats: names });
    }

    /// Something was put right, or that is taken back.
    pub(crate) fn put_right(&mut self, event: &Event) {
        let undone = match event {
            Event::Voided { reason, .. } | Event::Restored { reason, .. } => reason == UNDONE,
            Event::SeatCounts { undone, .. } => *undone,
            _ => return,
        };
        match self.changes.last() {
            Some((_, Change::PutRight(back))) if undone && **back == *event => drop(self.changes.pop()),
            _ => {
                let back = inverse(event).map(Box::new).map(Change::PutRight);
                self.changes.extend(back.map(|change| (self.seq, change)));
            }
        }
    }

    /// What takes the last change back, where something was put right by it.
    pub(crate) fn last_put_right(&self) -> Option<Event> {
        let (_, Change::PutRight(back)) = self.changes.last()? else { return None };
        Some(Event::clone(back))
    }

    /// The course was changed, or its last change taken back.
    pub(crate) fn course_changed(&mut self, act: &Act) {
        if *act != Act::Undone {
            self.changes.push((self.seq, Change::Course));
        } else if let Some(last) = self.last_of_course() {
            self.changes.remove(last);
        }
    }

    fn last_of_course(&self) -> Option<usize> {
        self.changes.iter().rposition(|(_, change)| *change == Change::Course)
    }

    /// The number of the entry that `undo` takes back, if anything can be.
    pub fn undoes(&self) -> Option<u64> {
        let (last, change) = self.changes.last()?;
        // While the class is closed its course stays, and only what was put right is taken back.
        if *change == Change::Course || self.phase == Phase::Closed && matches!(change, Change::Reopened(..))
        {
            return self.last_of_course().map(|place| self.changes[place].0);
        }
        Some(*last)
    }

    /// The seats that were sent away by the last change, where that is what it was.
    pub(crate) fn last_sent_away(&self) -> Option<Vec<SeatId>> {
        let (_, Change::Away(seats)) = self.changes.last()? else { return None };
        let gone = |id: &SeatId| self.seat_of(*id).is_some_and(|seat| seat.away.is_some());
        Some(seats.iter().copied().filter(gone).collect())
    }

    /// What takes the last change back, where sheets were opened again by it.
    pub(crate) fn last_reopened(&self) -> Option<Event> {
        let (_, Change::Reopened(seats, (code, round))) = self.changes.last()? else { return None };
        Some(Event::SheetsShut { seats: seats.clone(), code: *code, round: *round })
    }

    /// Whether somebody sits there for the class: not joined to another seat, not sent away.
    pub(crate) fn is_here(&self, seat: &Seat) -> bool {
        seat.same_as.is_none() && seat.away.is_none()
    }

    /// Whether a seat was sent away before anything came from it: then it is in no review.
    pub(crate) fn left_no_trace(&self, seat: &Seat) -> bool {
        let gave = || {
            self.scores.of_seat(seat.id).next().is_some() || self.answers.of_seat(seat.id).next().is_some()
        };
        seat.away.is_some() && !gave()
    }
}

impl Away {
    /// What somebody hears at the door who was sent away.
    pub fn words(reason: &str) -> String {
        let why = if reason.is_empty() { String::new() } else { format!(" ({reason})") };
        format!(
            "the teacher has sent this seat away{why}; ask the teacher, who can let it back. What was scored here is kept"
        )
    }
}
