//! Which cups do not count for a seat, and why.

use crate::{Room, Seat};
use protocol::wire::VoidCup;

impl Room {
    /// The cups that do not count: for nobody, or what this seat has scored of them.
    pub fn voided_for(&self, seat: &Seat) -> Vec<VoidCup> {
        let is_void = |&(&(cup, of), _): &(&(crate::scores::Cup, Option<_>), &String)| match of {
            None => self.is_void(cup),
            Some(id) => {
                let own = self.is_same(id, seat.id) && self.scores.is_void_of(seat.id, cup);
                own && !self.is_void(cup)
            }
        };
        let void = self.why_void.iter().filter(is_void);
        let cup = |(&((code, steep), of), reason): (&(_, Option<_>), &String)| VoidCup {
            code,
            steep,
            reason: reason.clone(),
            only_yours: of.is_some(),
        };
        void.map(cup).collect()
    }
}
