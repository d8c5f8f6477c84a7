//! Who owes which sheets, and whose scores count: the one place that says it, for the console, the seats and the review.

use crate::scores::Cup;
use crate::{Room, Seat};
use protocol::{Action, Cue, HostTime, SeatId};

/// A cup and since when it has been there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Served {
    /// The cup.
    pub cup: Cup,
    /// The end of its decant; nothing if the timetable has none.
    pub decanted_at: Option<HostTime>,
}

impl Room {
    /// The seats whose scores count, in the order in which they were taken: each person once, without those that the
    /// teacher leaves out.
    pub fn counted(&self) -> impl Iterator<Item = &Seat> {
        self.seats.iter().filter(|seat| self.is_counted(seat))
    }

    /// Whether a seat's scores count.
    pub fn is_counted(&self, seat: &Seat) -> bool {
        seat.same_as.is_none() && seat.counts && !self.aside.contains(&seat.id) && !self.left_no_trace(seat)
    }

    /// The seats that are left out, and whether only here and not by the ledger.
    pub fn left_out(&self) -> impl Iterator<Item = (&Seat, bool)> {
        let persons = self.seats.iter().filter(|seat| seat.same_as.is_none() && !self.left_no_trace(seat));
        let left = persons.filter(|seat| !self.is_counted(seat));
        left.map(|seat| (seat, seat.counts))
    }

    /// Leaves a seat out of whatever is computed from this room; the ledger knows nothing of it.
    pub fn set_aside(&mut self, seat: SeatId) {
        self.aside.insert(seat);
    }

    /// From when on a seat owes sheets, for what is decanted later than this; nothing for one that owes none.
    pub fn owes_from(&self, seat: &Seat) -> Option<HostTime> {
        (self.is_counted(seat) && seat.role.scores() && seat.away.is_none()).then_some(seat.asked_since)
    }

    /// Whether a seat owes the sheet of a cup, which may be still to come.
    pub fn owes(&self, seat: &Seat, served: &Served) -> bool {
        // A cup that this host never saw poured was there for all.
        let later = |from| served.decanted_at.is_none_or(|at| at > from);
        self.owes_from(seat).is_some_and(later) && !self.is_void(served.cup)
    }

    /// Whether a sheet is counted as due: it is owed, or it is there without being owed.
    pub fn is_due(&self, seat: &Seat, served: &Served) -> bool {
        self.owes(seat, served) || self.is_counted(seat) && self.scores.of(seat.id, served.cup).is_some()
    }

    /// Whether a cup was voided for everybody.
    pub fn is_void(&self, cup: Cup) -> bool {
        self.scores.is_void(cup)
    }

    /// A cup with the end of its decant.
    pub fn served(&self, (code, round): Cup) -> Served {
        let decant = self.timetable.find(Action::Decant, Some(code), round);
        Served { cup: (code, round), decanted_at: decant.map(Cue::end) }
    }

    /// The cups that can be scored at `now`, in the order of their decants.
    pub fn cups(&self, now: HostTime) -> Vec<Served> {
        let now = self.until_close(now);
        let decants = self.timetable.cues.iter().filter(|c| c.action == Action::Decant);
        let cups = decants.filter_map(|c| Some((c.code?, c.round())));
        let there =
            |&(code, round): &Cup| self.timetable.has_cup(code, round, now) && !self.is_void((code, round));
        cups.filter(there).map(|cup| self.served(cup)).collect()
    }
}
