//! Whom the door lets in, before anything of the class is said.

use crate::{Away, Comer, Refusal, Room};
use protocol::Challenge;
use protocol::wire::{Hello, Join, PROTOCOL, RefusalCode, version_words};

/// What a hello that is let in leads to.
#[derive(Clone, Debug, PartialEq)]
pub enum Admitted {
    /// The place it asks for, if that can be had ([`Room::join`]).
    ToJoin(Join, Comer),
    /// To hear which class this is: it named none, or another one, or proved no token that is known here and said no new one.
    ToHear,
}

/// Why a hello is not let in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotAdmitted {
    /// For a reason that says nothing of the class.
    Because(Refusal),
    /// It says a join code that is not this class's.
    WrongCode,
}

impl Room {
    /// Whether a hello is let in over the connection of this challenge. A seat of this class proves that it knows its token, everybody
    /// else says the join code, unless the door is open. Who is not let in hears the same, whichever class they name.
    ///
    /// # Errors
    /// Why not.
    pub fn admits(&self, hello: &Hello, over: Challenge, open_door: bool) -> Result<Admitted, NotAdmitted> {
        let refused = |code, reason: String| Err(NotAdmitted::Because(Refusal { code, reason }));
        if hello.protocol != PROTOCOL {
            return refused(RefusalCode::ProtocolVersion, version_words(PROTOCOL, hello.protocol));
        }
        let here = hello.join.as_ref().filter(|join| join.class_id == self.class_id);
        // Whoever was sent away hears that, and no more of the class.
        let known = here
            .and_then(|join| self.seat_proved(&join.proofs, over).or_else(|| self.seat_with(join.token?)));
        if let Some(away) = known.and_then(|seat| seat.away.as_ref()) {
            return refused(RefusalCode::SentAway, Away::words(&away.reason));
        }
        match hello.join_code {
            _ if known.is_some() || open_door => {}
            Some(code) if self.join_code == Some(code) => {}
            Some(_) => return Err(NotAdmitted::WrongCode),
            None => return refused(RefusalCode::JoinCodeWanted, WANTED.into()),
        }
        let comer = match known {
            Some(seat) => Some(Comer::Proved(seat.id)),
            None => here.and_then(|join| join.token).map(Comer::Says),
        };
        let place = here.zip(comer).map(|(join, comer)| Admitted::ToJoin(join.clone(), comer));
        Ok(place.unwrap_or(Admitted::ToHear))
    }
}

/// What somebody hears who says no code.
const WANTED: &str = "a join code is needed here; it is on the teacher's screen";
