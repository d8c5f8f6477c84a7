//! Who pours: a tea is given to a pourer, a pourer leaves, and is back.

use super::steer::no;
use super::{Refusal, Rounds, Steering, refuse};
use crate::{Event, Room, Seat};
use class::Pourers;
use class::course::{Act, Course, Turn};
use plan::steer::{is_begun, wet};
use protocol::wire::RefusalCode;
use protocol::{Code, HostTime, Phase, Role, SeatId};

impl Room {
    pub(super) fn hand_over(&self, code: Code, to: Option<&str>) -> Result<Option<Act>, Refusal> {
        self.several_pour()?;
        let hands = to.map(|to| self.pourer_meant(to)).transpose()?;
        if let Some(gone) = hands.filter(|&hands| self.course.has_left(hands)) {
            return no(format!("pourer {gone} has left; `pourer {gone} back` says that they are back"));
        }
        Ok((self.course.handed(code) != hands).then_some(Act::Handed { code, hands }))
    }

    pub(super) fn pourer_leaves(&self, pourer: &str) -> Result<Option<Act>, Refusal> {
        self.several_pour()?;
        let hands = self.pourer_meant(pourer)?;
        if self.course.has_left(hands) {
            return Ok(None);
        }
        if (1..=self.class.pourers.hands()).all(|other| other == hands || self.course.has_left(other)) {
            return no("nobody else is left to pour; `hold` waits until somebody is");
        }
        Ok(Some(Act::PourerLeft { hands }))
    }

    pub(super) fn pourer_back(&self, pourer: &str) -> Result<Option<Act>, Refusal> {
        self.several_pour()?;
        let hands = self.pourer_meant(pourer)?;
        Ok(self.course.has_left(hands).then_some(Act::PourerBack { hands }))
    }

    /// Somebody who is seated takes over a pourer's place: what is wet there too, and it pours again if its pourer had left.
    pub(super) fn pourer_is(
        &self,
        pourer: &str,
        name: &str,
        now: HostTime,
        rounds: &Rounds,
    ) -> Result<Vec<Event>, Refusal> {
        if self.class.pourers == Pourers::EachSeat {
            return no("each seat brews its own set in this class");
        }
        let hands = self.pourer_meant(pourer)?;
        let seat = self.must_mean(name)?;
        if !self.is_here(seat) {
            return no(format!("{} was sent away; `back {}` lets them back", seat.name, seat.name));
        }
        if seat.role == Role::Watches {
            return no(format!("{} watches; to pour, join again without --watch", seat.name));
        }
        if let Some(other) = seat.pourer.filter(|&other| other != hands) {
            return no(format!(
                "{} is pourer {other}; `pourer {other} is` and another name first, or `hand` a tea to {}",
                seat.name, seat.name
            ));
        }
        let sits = |seat: &Seat, pourer| Event::Seated {
            seat: seat.id,
            name: seat.name.clone(),
            token: seat.token,
            pourer,
            role: seat.role,
        };
        let before = self.seats.iter().find(|other| other.pourer == Some(hands) && other.id != seat.id);
        let mut events: Vec<Event> = before.map(|before| sits(before, None)).into_iter().collect();
        if seat.pourer.is_none() {
            events.push(sits(seat, Some(hands)));
        }
        if self.course.has_left(hands) {
            events.extend(self.steer(&Steering::PourerBack(hands.to_string()), now, rounds)?);
        }
        Ok(events)
    }

    /// Says whose places at the table are empty once these seats are gone, as long as anything is poured.
    pub(super) fn leaves_empty(&self, seats: &[SeatId]) -> Option<String> {
        let gone = self.seats.iter().filter(|seat| seats.contains(&seat.id));
        let empty: Vec<u8> = gone.filter_map(|seat| seat.pourer).collect();
        let &first = empty.first().filter(|_| matches!(self.phase, Phase::Running | Phase::Held))?;
        let places: Vec<String> = empty.iter().map(u8::to_string).collect();
        let others = if self.class.pourers.hands() > 1 {
            format!("`pourer {first} leaves` gives the work to the others, ")
        } else {
            String::new()
        };
        Some(format!(
            "nobody is pourer {} now: {others}`pourer {first} is` and a name to somebody",
            places.join(", ")
        ))
    }

    fn several_pour(&self) -> Result<(), Refusal> {
        match self.class.pourers {
            Pourers::EachSeat => no("each seat brews its own set in this class"),
            Pourers::Table(1) => no("there is one pourer in this class"),
            Pourers::Table(_) => Ok(()),
        }
    }

    /// The pourer of a number, or of a seat's name.
    pub(super) fn pourer_meant(&self, typed: &str) -> Result<u8, Refusal> {
        let hands = self.class.pourers.hands();
        match typed.trim().parse::<u8>() {
            Ok(pourer) if (1..=hands).contains(&pourer) => return Ok(pourer),
            Ok(pourer) if self.seat_meant(typed).is_none() => {
                return refuse(
                    RefusalCode::BadPourer,
                    format!("this table has pourers 1 to {hands}, not {pourer}"),
                );
            }
            _ => {}
        }
        let seat = self.must_mean(typed)?;
        let reason = || format!("{} is no pourer; name one by number, 1 to {hands}", seat.name);
        seat.pourer.ok_or_else(|| Refusal { code: RefusalCode::BadPourer, reason: reason() })
    }

    /// The cups that are dry and have other pourers in another course.
    pub(super) fn poured_by_others(&self, course: &Course, now: HostTime) -> Vec<Turn> {
        let by = |course: &Course, code| (course.hands_for(&self.class, code), course.hands(&self.class));
        let dry = |turn: &Turn| !is_begun(&self.timetable, *turn, now);
        let others = self
            .class
            .coded()
            .map(|(code, _)| code)
            .filter(|&code| by(course, code) != by(&self.course, code));
        let turns = others.flat_map(|code| {
            course.of(code).filter(|(_, steep)| !steep.skipped).map(move |(round, _)| (code, round))
        });
        turns.filter(dry).collect()
    }

    /// What is wet of a tea that is given to another pourer, and whose it is.
    pub(super) fn wet_handed(&self, course: &Course, now: HostTime) -> Vec<(Turn, u8)> {
        let given = self.class.coded().filter_map(|(code, _)| Some((code, course.handed(code)?)));
        let given = given.filter(|&(code, hands)| self.course.handed(code) != Some(hands));
        let turns =
            given.flat_map(|(code, hands)| course.of(code).map(move |(round, _)| ((code, round), hands)));
        let is_others = |&(turn, hands): &(Turn, u8)| {
            wet(&self.timetable, turn, now).is_some_and(|decant| decant.hands != hands)
        };
        turns.filter(is_others).collect()
    }
}
