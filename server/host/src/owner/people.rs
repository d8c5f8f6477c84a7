//! Who comes in, waits at the door, is let in and is sent away.

use super::{Batch, Owner};
use crate::after::After;
use crate::ask::{Entered, Happening, LinkId, Outgoing};
use crate::door::rate::REJOINS;
use crate::door::tries::Wrong;
use crate::lobby::Meant;
use protocol::wire::{Heard, Hello, Join, RefusalCode};
use protocol::{Challenge, SeatId, Token, text};
use room::{Comer, Command, Console, Letting, Refusal, Teacher, Who, fits};
use std::net::IpAddr;
use tokio::sync::{mpsc, oneshot};

impl Owner {
    /// Somebody who was let in asks for a place.
    #[expect(clippy::too_many_arguments, reason = "who asks, from where, and where the answer goes")]
    pub(super) fn join(
        &mut self,
        join: Join,
        comer: Comer,
        from: Option<IpAddr>,
        link: LinkId,
        outlet: mpsc::Sender<Outgoing>,
        entered: oneshot::Sender<Entered>,
        batch: &mut Batch,
    ) -> After {
        if let Err(refusal) = self.check_at_door(&join.name, comer) {
            return After::Refuse { refusal, outlet, entered };
        }
        if let Some(refusal) = self.comes_too_often(comer) {
            return After::Refuse { refusal, outlet, entered };
        }
        let (since, fresh_seat, name) = (join.since, SeatId((self.ids)()), join.name.clone());
        let letting =
            Letting { places: self.room.door.places, by_name: self.room.door.by_name, on_paper: false };
        let beyond = join.heard.clone().filter(|heard| self.falls_short_of(heard));
        match self.decide(Command::Join { join, comer, fresh_seat, letting }, None, batch) {
            Err(refusal) => {
                let refusal = self.at_door(refusal, &name, comer, from, batch);
                After::Refuse { refusal, outlet, entered }
            }
            Ok(changed) => {
                if let Comer::Says(token) = comer {
                    self.lobby.sat_down(token);
                }
                // Decided just now: somebody sits there.
                let seat = self.room.seat_coming(comer).map_or(fresh_seat, |s| s.id);
                if let Some(&Heard { seq: heard, .. }) = beyond.as_ref() {
                    // It can't be refused, and the seat hears of it by the whole welcome.
                    let _ =
                        self.decide(Command::FellShort { seat, heard, ended: self.began_at }, None, batch);
                }
                // Whose place is another one now needs to hear all of it; whose number is of entries that are
                // lost, too; and whose scores may count no more.
                let as_before = |since: &u64| !changed && beyond.is_none() && *since >= self.room.voided_seq;
                let since = since.filter(as_before);
                After::Welcome { seat, link, outlet, entered, since }
            }
        }
    }

    /// What a seat hears that joins again and again: each time it is sent the whole class.
    fn comes_too_often(&mut self, comer: Comer) -> Option<Refusal> {
        let seat = self.room.seat_coming(comer)?.id;
        let is_within = self.rejoins.is_within(REJOINS, seat, self.clock.room_us());
        (!is_within).then(|| Refusal {
            code: RefusalCode::TooFast,
            reason: "this seat has joined again and again within a minute; what is acknowledged is kept; it may join again in some seconds".into(),
        })
    }

    /// Somebody who waits at the door, and proves it.
    pub(super) fn waits(&mut self, hello: &Hello, over: Challenge) -> Option<(Join, Token)> {
        let join = hello.join.as_ref().filter(|join| join.class_id == self.room.class_id)?;
        Some((join.clone(), self.lobby.proved(join, over, join.class_id)?))
    }

    /// Whether a newcomer's name is not that of somebody who waits at the door.
    fn check_at_door(&mut self, name: &str, comer: Comer) -> Result<(), Refusal> {
        self.lobby.look(self.clock.room_us());
        match (comer, text::name(name)) {
            (Comer::Says(token), Ok(name)) if self.room.seat_coming(comer).is_none() => {
                self.lobby.check(&name, token)
            }
            _ => Ok(()),
        }
    }

    /// What somebody hears who was refused a place; who only has to be let in waits for it, and the teacher hears of that once.
    fn at_door(
        &mut self,
        refusal: Refusal,
        name: &str,
        comer: Comer,
        from: Option<IpAddr>,
        batch: &mut Batch,
    ) -> Refusal {
        let (RefusalCode::NotAdmitted, Comer::Says(token)) = (refusal.code, comer) else { return refusal };
        let Ok(name) = text::name(name) else { return refusal };
        let now_us = self.clock.room_us();
        let asked = self.lobby.ask(&name, token, from, now_us);
        if let Some((called, why)) = asked.news
            && self.lobby.lines.one(now_us)
        {
            batch.after.push(After::Happen(Happening::AtDoor { called, why }));
        }
        if asked.is_full {
            let words = "as many people are at the door as can wait; from now on the oldest of the address that holds most places goes for whoever is new. `code new` draws another join code, which strangers don't know; `admit` and a name lets somebody in who is to come";
            batch.after.push(After::Follows(words.into()));
        }
        asked.refusal
    }

    /// Lets people in by name; whether that is news.
    pub(super) fn admit(
        &mut self,
        names: &str,
        console: &Console,
        batch: &mut Batch,
    ) -> Result<bool, Refusal> {
        self.lobby.look(self.clock.room_us());
        let meant = self.lobby.meant(names)?;
        for name in meant.iter().map(Meant::name) {
            if self.room.seat_named(name).is_some_and(|seat| seat.away.is_none() && !seat.released) {
                let reason = format!("{name} is seated already, and comes back without being let in");
                return Err(Refusal { code: RefusalCode::BadName, reason });
            }
        }
        self.check_places(&meant)?;
        let mut news = false;
        for meant in meant {
            let name = match meant {
                Meant::Here(called) => self.lobby.give(&called).unwrap_or(called),
                Meant::ToCome(name) => {
                    let words = format!("nobody is at the door as {name}: {name} is let in on coming");
                    batch.after.push(After::Follows(words));
                    name
                }
            };
            news |= self.decide(Command::Admit(name), Some(console.clone()), batch)?;
        }
        Ok(news)
    }

    /// Whether all of these can have a place, beside those who are let in already and wait for theirs.
    fn check_places(&self, meant: &[Meant]) -> Result<(), Refusal> {
        let is_known = |name: &str| self.room.is_admitted(name);
        let more = meant.iter().filter(|meant| !is_known(meant.name())).count();
        let waiting = self.lobby.names().iter().filter(|name| is_known(name)).count();
        let (seated, places) = self.room.places(self.room.door.places);
        let taken = seated + waiting;
        if taken + more <= places {
            return Ok(());
        }
        let left = match places.saturating_sub(taken) {
            0 => format!("all {places} places are taken"),
            1 => format!("{more} would be let in, and 1 of {places} places is left"),
            left => format!("{more} would be let in, and {left} of {places} places are left"),
        };
        let reason = format!(
            "{left}; nobody was let in. Say the names of those you know, or make room with `places {}`",
            taken + more
        );
        Err(Refusal { code: RefusalCode::ClassFull, reason })
    }

    /// Sends people away: who is seated, who waits at the door under a name that no seat has, and who was let in and has not come.
    /// Whether anything changed.
    pub(super) fn send_away(
        &mut self,
        wish: Teacher,
        console: Console,
        batch: &mut Batch,
    ) -> Result<bool, Refusal> {
        let Teacher::Away { who: Who::Named(names), without_scores, reason } = wish else {
            return self.decide(Command::Teacher(wish), Some(console), batch);
        };
        let now_us = self.clock.room_us();
        self.lobby.look(now_us);
        let (mut turned, mut seats) = (Vec::new(), Vec::new());
        // A name may have a comma in it.
        let whole = self.room.seat_meant(names.trim()).is_some();
        for name in names.split(',').map(str::trim).filter(|name| !whole && !name.is_empty()) {
            let is_seat = self.room.seat_meant(name).is_some();
            let gone = if is_seat { Vec::new() } else { self.lobby.turn_away(name, now_us) };
            let taken_back = self.admit_no_more(name, &console, batch)?;
            if gone.is_empty() && !taken_back {
                seats.push(name);
            }
            turned.extend(gone);
        }
        let done = whole || names.split(',').all(|name| name.trim().is_empty());
        let rest = if done { names } else { seats.join(", ") };
        if !turned.is_empty() {
            let words = format!(
                "turned away at the door: {}; for 5 minutes you are not asked about them again, nor about who is new from their address, unless it is this machine's own. `admit` and the name lets in whoever it is all the same",
                room::some_of(&turned)
            );
            batch.after.push(After::Follows(words));
        }
        if rest.is_empty() {
            return Ok(true);
        }
        let who = Who::Named(rest);
        self.decide(Command::Teacher(Teacher::Away { who, without_scores, reason }), Some(console), batch)
    }

    /// Takes back that people of a name, or of one with `*` for any letters, are let in on coming; whether anybody was to be.
    fn admit_no_more(&mut self, typed: &str, console: &Console, batch: &mut Batch) -> Result<bool, Refusal> {
        let pattern = text::name_key(typed);
        let is_meant = |name: &&str| fits(&text::name_key(name), &pattern);
        let meant: Vec<String> = self.room.admitted().filter(is_meant).map(str::to_string).collect();
        for name in &meant {
            self.decide(Command::AdmitNoMore(name.clone()), Some(console.clone()), batch)?;
        }
        Ok(!meant.is_empty())
    }

    /// Says how many more have come to the door than had a line of their own.
    pub(super) fn tell_of_more(&mut self, batch: &mut Batch) {
        if let Some(more) = self.lobby.lines.more(self.clock.room_us()) {
            batch.after.push(After::Follows(format!("… and {more} more at the door; type: lobby")));
        }
    }

    /// What somebody hears who says a wrong join code; the teacher hears of it when there are too many.
    pub(super) fn wrong_code(&mut self, from: Option<IpAddr>, batch: &mut Batch) -> Refusal {
        match self.tries.wrong(from, self.clock.room_us()) {
            Wrong::Counted => Refusal {
                code: RefusalCode::JoinCodeWrong,
                reason: "that join code is not right; the right one is on the teacher's screen".into(),
            },
            Wrong::TooOften { wait_s, is_first } => {
                if is_first {
                    let from =
                        from.map_or("somewhere".to_string(), |address| address.to_canonical().to_string());
                    let words = format!(
                        "many wrong join codes come from {from}; nobody comes in by them. `code new` draws another code"
                    );
                    batch.after.push(After::Happen(Happening::Guesses(words)));
                }
                let reason = format!(
                    "too many wrong join codes have come from this address; wait {wait_s} s, and read the right one on the teacher's screen"
                );
                Refusal { code: RefusalCode::JoinCodeTooOften, reason }
            }
        }
    }
}
