//! The seats that are linked just now, and what goes out to them and to the console.

use crate::ask::{Happening, LinkId, Outgoing};
use crate::clock::HostClock;
use crate::flapping::{Flapping, Tell};
use protocol::SeatId;
use protocol::wire::{HostMessage, RefusalCode};
use room::Room;
use std::collections::BTreeMap;
use tokio::sync::mpsc;

struct Link {
    id: LinkId,
    outlet: mpsc::Sender<Outgoing>,
    /// Something is filled in there and not sent.
    writing: bool,
}

/// All links, and who is watching.
pub(crate) struct Links {
    /// In an order of their own, so that a simulated run repeats itself.
    by_seat: BTreeMap<SeatId, Link>,
    happenings: mpsc::UnboundedSender<Happening>,
    flapping: Flapping,
    clock: HostClock,
    /// Of how many seats all have been told.
    pub(crate) told_of: usize,
}

impl Links {
    /// No links yet.
    pub(crate) fn new(happenings: mpsc::UnboundedSender<Happening>, clock: HostClock) -> Self {
        Self { by_seat: BTreeMap::new(), happenings, flapping: Flapping::default(), clock, told_of: 0 }
    }

    pub(crate) fn has(&self, seat: SeatId) -> bool {
        self.by_seat.contains_key(&seat)
    }

    pub(crate) fn is_writing(&self, seat: SeatId) -> bool {
        self.by_seat.get(&seat).is_some_and(|link| link.writing)
    }

    /// Something is filled in at a seat, or no longer, as it says over that connection.
    pub(crate) fn writing(&mut self, seat: SeatId, id: LinkId, writing: bool) {
        if let Some(link) = self.by_seat.get_mut(&seat).filter(|link| link.id == id) {
            link.writing = writing;
        }
    }

    /// A seat is linked over this connection from now on, and over no other.
    pub(crate) fn link(&mut self, room: &Room, seat: SeatId, id: LinkId, outlet: mpsc::Sender<Outgoing>) {
        if let Some(old) = self.by_seat.insert(seat, Link { id, outlet, writing: false }) {
            let words =
                "this seat has joined from elsewhere and goes on there; to go on here, start it again";
            let _ = old.outlet.try_send(Outgoing::bye(RefusalCode::Replaced, words));
        } else if let Some(known) = room.seat_of(seat) {
            let name = &known.name;
            match self.flapping.came(seat, self.clock.room_us()) {
                Tell::It => self.happen(Happening::Linked(name.clone())),
                Tell::Often => self.happen(Happening::Notice(format!(
                    "the link of {name} comes and goes; no more is told of it for a minute, and `who` shows who is linked"
                ))),
                Tell::Nothing => {}
            }
        }
    }

    /// A connection has ended; the seat may have another one by now.
    pub(crate) fn left(&mut self, room: &Room, seat: SeatId, id: LinkId) {
        if self.by_seat.get(&seat).is_some_and(|link| link.id == id) {
            self.unlink(room, seat);
        }
    }

    fn unlink(&mut self, room: &Room, seat: SeatId) {
        if self.by_seat.remove(&seat).is_some()
            && let Some(known) = room.seat_of(seat)
            && self.flapping.tells_of_going(seat)
        {
            self.happen(Happening::Unlinked(known.name.clone()));
        }
    }

    /// Ends the links of seats that were sent away, with why.
    pub(crate) fn send_away(&mut self, room: &Room, seats: &[SeatId], words: &str) {
        for seat in seats.iter().filter_map(|&id| room.seat_of(id)) {
            if let Some(link) = self.by_seat.remove(&seat.id) {
                let _ = link.outlet.try_send(Outgoing::bye(RefusalCode::SentAway, words));
            }
        }
    }

    /// Ends the links of seats whose place has changed: they join again by themselves, and are told all of it.
    pub(crate) fn reseat(&mut self, seats: &[SeatId]) {
        for link in seats.iter().filter_map(|seat| self.by_seat.remove(seat)) {
            let words = "the teacher has changed who pours; this seat joins again by itself";
            let _ = link.outlet.try_send(Outgoing::bye(RefusalCode::Other, words));
        }
    }

    /// Sends to every seat that is there what there is for it. One whose outlet is full is let go: its connection says
    /// so to it, and a new one begins with all it missed.
    pub(crate) fn broadcast(&mut self, room: &Room, message: impl Fn(SeatId) -> Option<Outgoing>) {
        let unread = self
            .by_seat
            .iter()
            .filter(|(seat, to)| message(**seat).is_some_and(|message| to.outlet.try_send(message).is_err()));
        let unread: Vec<SeatId> = unread.map(|(seat, _)| *seat).collect();
        unread.into_iter().for_each(|seat| self.unlink(room, seat));
    }

    /// Sends to a seat over that connection, if it is still its own.
    pub(crate) fn send(&mut self, room: &Room, seat: SeatId, id: LinkId, message: Outgoing) {
        let Some(to) = self.by_seat.get(&seat).filter(|to| to.id == id) else { return };
        if to.outlet.try_send(message).is_err() {
            self.unlink(room, seat);
        }
    }

    /// Tells every seat something, in words.
    pub(crate) fn notice(&mut self, room: &Room, words: &str) {
        let message = Outgoing::say(&HostMessage::Notice { words: words.into() });
        self.broadcast(room, |_| Some(message.clone()));
    }

    pub(crate) fn happen(&self, happening: Happening) {
        // Nobody may be watching.
        let _ = self.happenings.send(happening);
    }

    /// Ends every link with why the host stops.
    pub(crate) fn stop(&mut self, words: &str) {
        for link in std::mem::take(&mut self.by_seat).into_values() {
            let _ = link.outlet.try_send(Outgoing::bye(RefusalCode::HostStopping, words));
        }
    }
}
