//! Which hello comes first, and what follows where a host wants another join code.

use super::Settings;
use protocol::JoinCode;
use uuid::Uuid;

/// What follows a refusal for want of the right join code.
pub(super) enum AtDoor {
    /// Another hello at once: what is known from an earlier run is of another class.
    Again,
    /// The next attempt as after a lost link: a seat that was seated in this run goes on, and its class may come back. Another
    /// one is held there now, or an earlier copy of its own.
    Later,
    /// A code from the person.
    Ask,
    /// Nobody can be asked.
    End,
}

impl Settings {
    /// The class and the join code to name first; of what is known without the person only the token, unless it is to be
    /// tried. A class of an earlier run is named with the token alone: its host may hold another class by now, at whose door
    /// the kept code would be a wrong one.
    pub(super) fn first(&self, tries_known: bool) -> (Option<Uuid>, Option<JoinCode>) {
        let (given, seated) = (*self.join_code.borrow(), self.known.borrow().map(|(id, _)| id));
        let kept = self.kept_code.filter(|_| tries_known);
        match (seated, self.kept_class.filter(|_| tries_known)) {
            // Beside the token, for a host that has lost the seat.
            (Some(class_id), _) => (Some(class_id), given.or(kept).filter(|_| tries_known)),
            (None, Some(class_id)) => (Some(class_id), None),
            (None, None) => (None, given.or(kept)),
        }
    }

    /// What follows a refusal for want of the right join code; `tried` says whether what is known was named.
    pub(super) fn at_door(&self, tried: bool) -> AtDoor {
        let kept = self.kept_class.is_some() || self.kept_code.is_some() && self.join_code.borrow().is_none();
        if self.known.borrow().is_some() {
            AtDoor::Later
        } else if tried && kept {
            AtDoor::Again
        } else if self.asks {
            AtDoor::Ask
        } else {
            AtDoor::End
        }
    }
}
