//! Who may sit where.

use super::{Refusal, refuse};
use crate::{Event, Room, Seat};
use class::{MAX_SEATS, Pourers};
use protocol::wire::{Join, RefusalCode};
use protocol::{Role, SeatId, Token, person, text};

/// A class has no fewer places.
const FEWEST_PLACES: u32 = 8;
/// What a program hears that names a seat which is none of this class.
const NO_SEAT: &str = "there is no such seat in this class";

/// Who asks for a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Comer {
    /// A seat that has proved its token.
    Proved(SeatId),
    /// Somebody who says a token, which leads to the place from now on.
    Says(Token),
}

/// Which newcomers get a place, for as long as a host has a ledger open.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Letting {
    /// How many places there are, if the teacher said so.
    pub places: Option<u32>,
    /// Only those whom the teacher has let in by name.
    pub by_name: bool,
    /// The names stand on the teacher's own paper: any that nobody has will do.
    pub on_paper: bool,
}

impl Room {
    /// The seat that whoever was admitted gets, known already or to be seated by the event.
    ///
    /// # Errors
    /// A refusal; the state of the class is as before.
    pub fn join(
        &self,
        join: &Join,
        comer: Comer,
        fresh_seat: SeatId,
        letting: Letting,
    ) -> Result<Vec<Event>, Refusal> {
        if let Some(seat) = self.seat_coming(comer) {
            self.check_is_here(seat.id)?;
            // Who had a pourer's place that the teacher has given to another still asks for it.
            let taken = |pourer: &u8| self.seats.iter().any(|s| s.pourer == Some(*pourer) && s.id != seat.id);
            let join = &Join {
                pourer: join.pourer.filter(|pourer| seat.pourer.is_some() || !taken(pourer)),
                ..join.clone()
            };
            self.check_pourer(join, Some(seat))?;
            // The name is the seat's own; a rejoining seat keeps the one the ledger has.
            let pourer = join.pourer.or(seat.pourer).filter(|_| join.role != Role::Watches);
            if (pourer, join.role) == (seat.pourer, seat.role) && !seat.released {
                return Ok(Vec::new());
            }
            return Ok(vec![seated(seat, seat.token, pourer, join.role)]);
        }
        let Comer::Says(token) = comer else { return refuse(RefusalCode::Other, NO_SEAT) };
        let name = text::name(&join.name).map_err(bad_name)?;
        // Who was sent away under a name has no claim to it.
        let gives_way = self.seat_named(&name).filter(|seat| seat.away.is_some());
        if let Some(seat) = self.seat_named(&name).filter(|_| gives_way.is_none()) {
            if !seat.released {
                let reason = format!(
                    "another seat is named {}; choose another name, or ask the teacher to type: release {}",
                    seat.name, seat.name
                );
                return refuse(RefusalCode::NameTaken, reason);
            }
            self.check_pourer(join, Some(seat))?;
            return Ok(vec![seated(seat, token, join.pourer.or(seat.pourer), join.role)]);
        }
        // One that was taken before there was a rule may be taken again, as above.
        let name = if letting.on_paper { name } else { person::name(&name).map_err(bad_name)? };
        self.check_pourer(join, None)?;
        // Before the places, which may be more by the time the teacher lets them in.
        if letting.by_name && !self.is_admitted(&name) {
            return refuse(RefusalCode::NotAdmitted, "the teacher lets people in by name");
        }
        let places = self.all_places(letting.places);
        if self.seats_taken() >= places {
            let reason = format!(
                "{} taken; ask the teacher, who can type `places` and a greater number, or `away` and the name of somebody who does not belong here",
                if places == 1 { "the one place is".into() } else { format!("all {places} places are") }
            );
            return refuse(RefusalCode::ClassFull, reason);
        }
        // Not whose: somebody who is not let in yet would hear who is here.
        if !letting.on_paper && self.looks_like(&name) {
            return refuse(
                RefusalCode::NameTaken,
                "that name looks like that of somebody who is here; choose one that can be told apart, with a surname for example",
            );
        }
        let renamed =
            gives_way.map(|seat| Event::Renamed { seat: seat.id, name: self.name_away(&seat.name) });
        let seated = Event::Seated { seat: fresh_seat, name, token, pourer: join.pourer, role: join.role };
        Ok(renamed.into_iter().chain([seated]).collect())
    }

    /// The seat that somebody has already.
    pub fn seat_coming(&self, comer: Comer) -> Option<&Seat> {
        match comer {
            Comer::Proved(seat) => self.seat_of(seat),
            Comer::Says(token) => self.seat_with(token),
        }
    }

    fn seats_taken(&self) -> usize {
        self.seats.iter().filter(|seat| seat.away.is_none()).count()
    }

    fn all_places(&self, said: Option<u32>) -> usize {
        said.unwrap_or_else(|| self.usual_places()).min(MAX_SEATS) as usize
    }

    /// How many places are taken, and how many there are, where the teacher has said so many.
    pub fn places(&self, said: Option<u32>) -> (usize, usize) {
        (self.seats_taken(), self.all_places(said))
    }

    /// How many places a class has unless the teacher says otherwise: twice the seats that it expects, so that people who came
    /// along, boards and somebody at a new machine find one, and strangers can't fill a ledger.
    fn usual_places(&self) -> u32 {
        (2 * self.class.seats).max(FEWEST_PLACES)
    }

    /// Whether somebody is here under a name that reads the same.
    fn looks_like(&self, name: &str) -> bool {
        let looks = person::looks(name);
        let known = self.by_looks.get(&looks).into_iter().flatten().map(|&index| &self.seats[index]);
        // One of them may be called something else by now.
        known.into_iter().any(|seat| seat.away.is_none() && person::looks(&seat.name) == looks)
    }

    /// Whether a seat (`own`, if it is known already) may be this pourer.
    fn check_pourer(&self, join: &Join, own: Option<&Seat>) -> Result<(), Refusal> {
        let Some(pourer) = join.pourer else { return Ok(()) };
        if join.role == Role::Watches {
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
            Pourers::Table(hands) if !(1..=hands).contains(&pourer) => refuse(
                RefusalCode::BadPourer,
                format!(
                    "this table has pourers 1 to {hands}, not {pourer}; choose one of them, or join without a number"
                ),
            ),
            Pourers::Table(_) => match self.seats.iter().find(|s| s.pourer == Some(pourer)) {
                Some(other) if own.is_none_or(|own| own.id != other.id) => refuse(
                    RefusalCode::BadPourer,
                    format!("{} is pourer {pourer} already; choose another number or none", other.name),
                ),
                _ => Ok(()),
            },
        }
    }

    /// Whether the teacher has let somebody in of this name who has not sat down yet.
    pub fn is_admitted(&self, name: &str) -> bool {
        self.admitted.contains_key(&text::name_key(name))
    }

    /// The names under which the teacher has let people in who have not sat down yet.
    pub fn admitted(&self) -> impl Iterator<Item = &str> {
        self.admitted.values().map(String::as_str)
    }

    /// Lets the next one in who comes under a name.
    pub(super) fn admit(&self, name: String) -> Vec<Event> {
        if self.is_admitted(&name) { Vec::new() } else { vec![Event::Admitted { name }] }
    }

    /// Lets nobody in any more who comes under a name.
    pub(super) fn admit_no_more(&self, name: String) -> Vec<Event> {
        if self.is_admitted(&name) { vec![Event::AdmittedNoMore { name }] } else { Vec::new() }
    }

    /// Frees a seat for whoever comes next under its name.
    pub(super) fn release(&self, name: &str) -> Result<Vec<Event>, Refusal> {
        let seat = self.must_mean(name)?;
        Ok(if seat.released { Vec::new() } else { vec![Event::Released { seat: seat.id }] })
    }
}

fn bad_name(fault: String) -> Refusal {
    Refusal { code: RefusalCode::BadName, reason: format!("that name can't be taken: {fault}") }
}

fn seated(seat: &Seat, token: Token, pourer: Option<u8>, role: Role) -> Event {
    Event::Seated { seat: seat.id, name: seat.name.clone(), token, pourer, role }
}
