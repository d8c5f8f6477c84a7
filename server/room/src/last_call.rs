//! The last call: a class that closes says so first, so that what is half written is sent.

use crate::Room;
use protocol::HostTime;
use protocol::time::SECOND_US;

/// How long it lasts where nothing else is wished, in seconds of the room's time.
pub const LAST_CALL_S: u32 = 30;
/// How long it may last at most, in seconds of the room's time.
pub const LONGEST_LAST_CALL_S: u32 = 600;
/// How long after it the class is closed: what a seat sends at its end has to arrive. In seconds of the room's time.
pub const ARRIVE_S: u32 = 3;
/// How long a host that was opened again waits at least before it closes: a seat that has lost its link may take that
/// long to find back with what it has written. In seconds of the room's time.
pub const RETURN_S: u32 = 20;

impl Room {
    /// The host time that passes in so many seconds of the room.
    pub(crate) fn room_us(&self, seconds: u32) -> i64 {
        let pace = self.anchor.map_or(1.0, |anchor| anchor.pace);
        (f64::from(seconds) * pace * SECOND_US as f64) as i64
    }

    pub(crate) fn called_last(&mut self, until: HostTime) {
        self.last_call = Some(until);
        self.closes_at = Some(until + self.room_us(ARRIVE_S));
    }

    /// The host is there again, at the pace that holds from now on.
    pub(crate) fn called_again(&mut self, at: HostTime) {
        self.closes_at = self.closes_at.map(|closes| closes.max(at + self.room_us(RETURN_S)));
    }

    /// When the class closes by itself, if a last call has been made.
    pub fn closes_at(&self) -> Option<HostTime> {
        self.closes_at
    }
}
