//! Sheets that the teacher opened again.

use crate::away::Change;
use crate::scores::Cup;
use crate::{Room, Seat};
use protocol::wire::OpenSheet;
use protocol::{HostTime, SeatId};

/// When a sheet was opened again, and until when.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Reopened {
    /// The number of the event.
    seq: u64,
    until: HostTime,
}

impl Room {
    pub(crate) fn reopened(&mut self, seq: u64, seats: &[SeatId], cup: Cup, until: HostTime) {
        let seats: Vec<SeatId> = seats.iter().filter_map(|&id| Some(self.seat_of(id)?.id)).collect();
        self.owes_otherwise(seq, &seats);
        self.reopened.extend(seats.iter().map(|&seat| ((seat, cup), Reopened { seq, until })));
        self.changes.push((seq, Change::Reopened(seats, cup)));
    }

    pub(crate) fn shut(&mut self, seq: u64, seats: &[SeatId], cup: Cup) {
        let seats: Vec<SeatId> = seats.iter().filter_map(|&id| Some(self.seat_of(id)?.id)).collect();
        self.owes_otherwise(seq, &seats);
        self.reopened.retain(|(seat, of), _| *of != cup || !seats.contains(seat));
        let same = |(_, change): &(u64, Change)| matches!(change, Change::Reopened(_, of) if *of == cup);
        if let Some(last) = self.changes.iter().rposition(same) {
            self.changes.remove(last);
        }
    }

    fn owes_otherwise(&mut self, seq: u64, seats: &[SeatId]) {
        for &id in seats {
            self.seat_mut(id).into_iter().for_each(|seat| seat.owes_since_seq = seq);
        }
    }

    /// Whether a sheet is open again and has not been filled since.
    pub fn is_reopened(&self, seat: &Seat, cup: Cup) -> bool {
        let again = self.reopened.get(&(seat.id, cup));
        let since = |again: &Reopened| self.scores.of(seat.id, cup).is_some_and(|kept| kept.seq > again.seq);
        again.is_some_and(|again| !since(again)) && !self.is_void(cup)
    }

    /// The sheets of a seat's that are open again.
    pub fn open_sheets(&self, seat: &Seat) -> Vec<OpenSheet> {
        let is_own =
            |((of, cup), _): &(&(SeatId, Cup), &Reopened)| *of == seat.id && self.is_reopened(seat, *cup);
        let own = self.reopened.iter().filter(is_own);
        own.map(|(&(_, (code, steep)), again)| OpenSheet { code, steep, until_us: again.until }).collect()
    }
}
