//! Who may sit where.

use super::{Refusal, refuse};
use crate::{Event, Room, Seat};
use class::{MAX_SEATS, Pourers};
use protocol::wire::{Hello, PROTOCOL, RefusalCode, version_words};
use protocol::{Role, SeatId, Token, text};

impl Room {
    /// The seat that a good hello leads to, known already or to be seated by the event.
    ///
    /// # Errors
    /// A refusal; the state of the class is as before.
    pub fn join(&self, hello: &Hello, fresh_seat: SeatId) -> Result<Vec<Event>, Refusal> {
        if hello.protocol != PROTOCOL {
            return refuse(RefusalCode::ProtocolVersion, version_words(PROTOCOL, hello.protocol));
        }
        let token = hello.token;
        if let Some(seat) = self.seat_with(token) {
            self.check_pourer(hello, Some(seat))?;
            // The name is the seat's own; a rejoining seat keeps the one the ledger has.
            let pourer = hello.pourer.or(seat.pourer).filter(|_| hello.role != Role::Watches);
            if (pourer, hello.role) == (seat.pourer, seat.role) && !seat.released {
                return Ok(Vec::new());
            }
            return Ok(vec![seated(seat, token, pourer, hello.role)]);
        }
        let name = text::name(&hello.name).map_err(|fault| Refusal {
            code: RefusalCode::BadName,
            reason: format!("that name can't be taken: {fault}"),
        })?;
        if let Some(seat) = self.seat_named(&name) {
            if !seat.released {
                let reason = format!(
                    "another seat is named {}; choose another name, or ask the teacher to type: release {}",
                    seat.name, seat.name
                );
                return refuse(RefusalCode::NameTaken, reason);
            }
            self.check_pourer(hello, Some(seat))?;
            return Ok(vec![seated(seat, token, hello.pourer.or(seat.pourer), hello.role)]);
        }
        self.check_pourer(hello, None)?;
        if self.seats.len() >= MAX_SEATS as usize {
            return refuse(RefusalCode::ClassFull, format!("all {MAX_SEATS} seats are taken"));
        }
        Ok(vec![Event::Seated { seat: fresh_seat, name, token, pourer: hello.pourer, role: hello.role }])
    }

    /// Whether a seat (`own`, if it is known already) may be this pourer.
    fn check_pourer(&self, hello: &Hello, own: Option<&Seat>) -> Result<(), Refusal> {
        let Some(pourer) = hello.pourer else { return Ok(()) };
        if hello.role == Role::Watches {
            return refuse(
                RefusalCode::BadPourer,
                "who watches does not pour; join without a pourer's number, or without --watch",
            );
        }
        match self.class.pourers {
            Pourers::EachSeat => refuse(
                RefusalCode::BadPourer,
                "each seat brews its own set in this class; join without a pourer's number",
            ),
            Pourers::Table(hands) if !(1..=hands).contains(&pourer) => {
                refuse(RefusalCode::BadPourer, format!("this table has pourers 1 to {hands}, not {pourer}"))
            }
            Pourers::Table(_) => match self.seats.iter().find(|s| s.pourer == Some(pourer)) {
                Some(other) if own.is_none_or(|own| own.id != other.id) => refuse(
                    RefusalCode::BadPourer,
                    format!("{} is pourer {pourer} already; choose another number or none", other.name),
                ),
                _ => Ok(()),
            },
        }
    }

    /// Frees a seat for whoever comes next under its name.
    pub(super) fn release(&self, name: &str) -> Result<Vec<Event>, Refusal> {
        let seat = self.must_mean(name)?;
        Ok(if seat.released { Vec::new() } else { vec![Event::Released { seat: seat.id }] })
    }
}

fn seated(seat: &Seat, token: Token, pourer: Option<u8>, role: Role) -> Event {
    Event::Seated { seat: seat.id, name: seat.name.clone(), token, pourer, role }
}
