//! Which hello comes first, and what follows where a host wants another join code.

use super::{Ending, Known, Settings};
use protocol::{JoinCode, Pin};
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
    /// By which pin the host is to be known: as the person says, else as is kept of the class whose code they typed, else of
    /// the class at this address.
    pub(crate) fn pin(&self) -> Option<Pin> {
        let of_code = || self.join_code.borrow().and_then(|code| self.pinned.of_code(code));
        self.by.map_or_else(|| of_code().or(self.kept_pin), Known::pin)
    }

    /// The class and the join code to name first to the host of the certificate with the pin that was seen; of what is known
    /// without the person only the token, unless it is to be tried. A class of an earlier run is named with the token alone:
    /// its host may hold another class by now, at whose door the kept code would be a wrong one.
    pub(super) fn first(
        &self,
        tries_known: bool,
        seen: Option<Pin>,
    ) -> Result<(Option<Uuid>, Option<JoinCode>), Ending> {
        let (given, seated) = (*self.join_code.borrow(), self.known.borrow().map(|(id, _)| id));
        if let Some(pin) = given.and_then(|code| self.pinned.of_code(code))
            && !self.may_meet(pin, seen)
        {
            return Err(self.has_a_pin());
        }
        Ok(match (seated, self.named(seen).filter(|_| tries_known)) {
            // Beside the token, for a host that has lost the seat.
            (Some(class_id), _) => {
                let kept = self.kept_code.filter(|_| self.kept_class == Some(class_id));
                (Some(class_id), given.or(kept).filter(|_| tries_known))
            }
            (None, Some(class_id)) => (Some(class_id), None),
            (None, None) => (None, given),
        })
    }

    /// The class of an earlier run that is named to the host of the certificate with this pin, or to one without TLS.
    fn named(&self, seen: Option<Pin>) -> Option<Uuid> {
        let there = self.kept_class.filter(|class_id| self.check(*class_id, seen).is_ok());
        there.or_else(|| self.pinned.class_with(seen?))
    }

    /// Nothing is said of a class that was joined with a pin to whoever has another certificate, or none; but what the person
    /// has pasted now is the teacher's word.
    pub(super) fn check(&self, class_id: Uuid, seen: Option<Pin>) -> Result<(), Ending> {
        match self.pinned.of_class(class_id) {
            Some(pin) if !self.may_meet(pin, seen) => Err(self.has_a_pin()),
            _ => Ok(()),
        }
    }

    fn may_meet(&self, pin: Pin, seen: Option<Pin>) -> bool {
        let pasted = seen.is_some() && self.by.and_then(Known::pin) == seen;
        // A teacher may go on without TLS. Whoever types both knows that, and says nothing that was kept but proofs, which hold nowhere else.
        let typed = self.by == Some(Known::ByNothing) && self.join_code.borrow().is_some();
        seen == Some(pin) || pasted || seen.is_none() && typed
    }

    fn has_a_pin(&self) -> Ending {
        Ending::NotTheHost(format!(
            "this class was joined with a pin, and the host at {} has not that certificate; paste the whole line from the teacher's screen. {}",
            self.address,
            self.without_pin()
        ))
    }

    /// How to go on where the teacher has given up TLS, or another class is held there.
    fn without_pin(&self) -> String {
        format!(
            "Only if the teacher says that the class has no pin any more: kettleseat {} --pin none --code CODE (all that is said there can be read and changed on the way)",
            self.address
        )
    }

    /// Whoever answers is not the host of the pin. Where the person has typed none, the class may have none any more.
    pub(super) fn not_the_host(&self, words: String) -> Ending {
        Ending::NotTheHost(match self.by {
            Some(_) => words,
            None => format!("{words}. {}", self.without_pin()),
        })
    }

    /// What follows a refusal for want of the right join code; `tried` says whether what is known was named.
    pub(super) fn at_door(&self, tried: bool) -> AtDoor {
        let kept = self.named(self.pin()).is_some();
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
