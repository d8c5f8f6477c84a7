//! What can be put right: a name, a seat that one person has twice, a cup that was spilled, whose scores count.

use super::{Refusal, refuse};
use crate::{Event, Room, Seat};
use protocol::wire::RefusalCode;
use protocol::{Code, HostTime, person, text};

/// What somebody wants put right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Correction {
    /// A seat gets another name.
    Rename {
        /// The seat by its name.
        seat: String,
        /// Its right name.
        name: String,
    },
    /// Two seats are one person's.
    Join {
        /// Whose scores go over, by name.
        from: String,
        /// Whose they are, by name.
        into: String,
    },
    /// A seat that was joined to another one by mistake is another person's again.
    Part {
        /// The seat by the name that it had when it was joined.
        seat: String,
    },
    /// A cup does not count.
    Void {
        /// The tea.
        code: Code,
        /// The steep.
        steep: u32,
        /// For this seat alone, by its name.
        seat: Option<String>,
        /// Why.
        reason: String,
    },
    /// A cup that was voided by mistake counts again.
    Restore {
        /// The tea.
        code: Code,
        /// The steep.
        steep: u32,
        /// For this seat alone, by its name.
        seat: Option<String>,
        /// Why.
        reason: String,
    },
    /// A seat's scores count, or do not.
    Count {
        /// The seat by its name.
        name: String,
        /// Whether they count.
        counts: bool,
    },
}

impl Room {
    /// What putting something right leads to; no events if it is so already.
    ///
    /// # Errors
    /// A refusal; the state of the class is as before.
    pub fn correct(&self, wish: &Correction) -> Result<Vec<Event>, Refusal> {
        match wish {
            Correction::Rename { seat, name } => self.rename(seat, name),
            Correction::Join { from, into } => self.join_seats(from, into),
            Correction::Part { seat } => self.part_seats(seat),
            Correction::Void { code, steep, seat, reason } => {
                self.void(*code, *steep, seat.as_deref(), reason)
            }
            Correction::Restore { code, steep, seat, reason } => {
                self.restore(*code, *steep, seat.as_deref(), reason)
            }
            Correction::Count { name, counts } => self.let_count(name, *counts),
        }
    }

    /// The same while a class is led: a cup that is still to come can't have been spilled.
    pub(super) fn correct_live(&self, wish: &Correction, now: HostTime) -> Result<Vec<Event>, Refusal> {
        if let &Correction::Void { code, steep, .. } = wish
            && self.course.steep((code, steep)).is_some()
            && !self.timetable.poured(code, steep, now)
        {
            let reason =
                format!("{code} is not poured yet in round {steep}; `skip {code} {steep}` leaves it out");
            return refuse(RefusalCode::NotPoured, reason);
        }
        self.correct(wish)
    }

    /// The seat of a name that somebody typed.
    pub(super) fn must_mean(&self, name: &str) -> Result<&Seat, Refusal> {
        let found = self.seat_meant(name.trim());
        found.ok_or_else(|| Refusal { code: RefusalCode::BadName, reason: self.no_such_seat(name) })
    }

    fn rename(&self, seat: &str, name: &str) -> Result<Vec<Event>, Refusal> {
        let seat = self.must_mean(seat)?;
        let name = person::name(name).map_err(|fault| Refusal {
            code: RefusalCode::BadName,
            reason: format!("that name can't be taken: {fault}"),
        })?;
        match self.seat_named(&name) {
            Some(other) if other.id != seat.id => {
                let reason = format!(
                    "another seat is named {}; choose another name, or join the two if they are one person's",
                    other.name
                );
                refuse(RefusalCode::NameTaken, reason)
            }
            _ if name == seat.name => Ok(Vec::new()),
            _ => Ok(vec![Event::Renamed { seat: seat.id, name }]),
        }
    }

    fn join_seats(&self, from: &str, into: &str) -> Result<Vec<Event>, Refusal> {
        let (from, into) = (self.must_mean(from)?, self.must_mean(into)?);
        if from.id == into.id {
            return Ok(Vec::new());
        }
        Ok(vec![Event::SeatsJoined { from: from.id, into: into.id }])
    }

    fn part_seats(&self, name: &str) -> Result<Vec<Event>, Refusal> {
        let joined = |seat: &&Seat| seat.same_as.is_some();
        let named = |seat: &&Seat| text::name_key(&seat.name) == text::name_key(name.trim());
        let Some(seat) = self.seats.iter().filter(joined).rfind(named) else {
            let person = self.must_mean(name)?;
            let of = |seat: &&Seat| self.is_same(seat.id, person.id);
            let others: Vec<&str> =
                self.seats.iter().filter(joined).filter(of).map(|seat| seat.name.as_str()).collect();
            let there = match &others[..] {
                [] => String::new(),
                others => format!("; joined to it: {}", others.join(", ")),
            };
            return refuse(
                RefusalCode::BadName,
                format!("{} is joined to no other seat{there}", person.name),
            );
        };
        match self.seat_named(&seat.name) {
            // It has got the name meanwhile.
            Some(other) if text::name_key(&other.name) == text::name_key(&seat.name) => {
                let reason = format!("both would be named {}; rename that one first", other.name);
                refuse(RefusalCode::NameTaken, reason)
            }
            _ => Ok(vec![Event::SeatsParted { seat: seat.id }]),
        }
    }

    fn void(&self, code: Code, steep: u32, seat: Option<&str>, reason: &str) -> Result<Vec<Event>, Refusal> {
        self.check_cup(code, steep)?;
        let reason = why(reason)?;
        let cup = (code, steep);
        let seat = seat.map(|name| self.must_mean(name)).transpose()?;
        if let Some(seat) = seat
            && self.scores.of(seat.id, cup).is_none()
        {
            let reason = format!("{} has no score of {code} steep {steep} that counts", seat.name);
            return refuse(RefusalCode::UnknownCup, reason);
        }
        if seat.is_none() && self.is_void(cup) {
            return Ok(Vec::new());
        }
        Ok(vec![Event::Voided { code, steep, seat: seat.map(|seat| seat.id), reason }])
    }

    fn restore(
        &self,
        code: Code,
        steep: u32,
        seat: Option<&str>,
        reason: &str,
    ) -> Result<Vec<Event>, Refusal> {
        self.check_cup(code, steep)?;
        let reason = why(reason)?;
        let seat = seat.map(|name| self.must_mean(name)).transpose()?;
        let void = match seat {
            Some(seat) => self.scores.is_void_of(seat.id, (code, steep)),
            None => self.is_void((code, steep)),
        };
        if !void {
            let whose = seat.map_or(String::new(), |seat| format!(" of {}", seat.name));
            let reason = format!("{code} steep {steep}{whose} is not voided; there is nothing to restore");
            return refuse(RefusalCode::UnknownCup, reason);
        }
        Ok(vec![Event::Restored { code, steep, seat: seat.map(|seat| seat.id), reason }])
    }

    pub(super) fn let_count(&self, name: &str, counts: bool) -> Result<Vec<Event>, Refusal> {
        let seat = self.must_mean(name)?;
        if seat.counts == counts {
            return Ok(Vec::new());
        }
        Ok(vec![Event::SeatCounts { seat: seat.id, counts, undone: false }])
    }

    /// Whether the class has such a cup at all.
    pub(super) fn check_cup(&self, code: Code, steep: u32) -> Result<(), Refusal> {
        if self.course.steep((code, steep)).is_some() {
            return Ok(());
        }
        refuse(RefusalCode::UnknownCup, format!("this class has no {code} steep {steep}"))
    }
}

fn why(reason: &str) -> Result<String, Refusal> {
    let reason = text::clean(reason.trim(), text::NOTE_CHARS);
    if reason.is_empty() {
        return refuse(RefusalCode::Other, "say why: the reason stands in the review");
    }
    Ok(reason)
}
