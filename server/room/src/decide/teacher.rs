//! What a teacher may do when.

use super::{Refusal, Rounds, Steering, Teacher, refuse};
use crate::{Event, Room};
use class::Pourers;
use plan::{Rest, held, hold, plan};
use protocol::time::clock_face;
use protocol::wire::RefusalCode;
use protocol::{Action, Code, Cue, HostTime, Phase, Timetable};

/// Host seconds between a start or a resumption and the first new cue: time to put the cups down and look up.
pub const LEAD_S: u32 = 10;

impl Room {
    pub(super) fn teacher(
        &self,
        wish: &Teacher,
        now: HostTime,
        rounds: &Rounds,
    ) -> Result<Vec<Event>, Refusal> {
        let no = |reason: &str| refuse(RefusalCode::Other, reason);
        match (wish, self.phase) {
            (Teacher::Reveal(code), _) => self.reveal(*code),
            (Teacher::Release(name), _) => self.release(name),
            (Teacher::Away { who, without_scores, reason }, _) => {
                self.send_away(who, *without_scores, reason)
            }
            (Teacher::Back(names), _) => self.let_in_again(names),
            (Teacher::Steer(Steering::Undo), phase)
                if phase != Phase::Closed && self.last_reopened().is_some() =>
            {
                Ok(self.last_reopened().into_iter().collect())
            }
            (Teacher::Steer(Steering::Undo), _) if self.last_put_right().is_some() => {
                Ok(self.last_put_right().into_iter().collect())
            }
            (Teacher::Steer(Steering::Undo), _) if self.last_sent_away().is_some() => {
                let seats = self.last_sent_away().unwrap_or_default();
                Ok(vec![Event::LetBack { seats, undone: true }])
            }
            (Teacher::Keys { teacher, observer }, _) => {
                Ok(vec![Event::KeysDrawn { teacher: *teacher, observer: *observer }])
            }
            (Teacher::JoinCode(code), _) => Ok(vec![Event::JoinCodeDrawn { join_code: *code }]),
            (Teacher::Correct(wish), _) => self.correct_live(wish, now),
            (Teacher::Say(words), _) => self.say(words),
            (Teacher::SayTo(typed), _) => self.say_to(typed),
            (Teacher::Count { name, counts }, _) => self.let_count(name, *counts),
            (Teacher::Close { .. }, Phase::Closed) => Ok(Vec::new()),
            (_, Phase::Closed) => no("the class is closed; open a new ledger to give it again"),
            (Teacher::Close { last_call_s }, _) => self.close(*last_call_s, now),
            (Teacher::Start { .. } | Teacher::Resume, _) if self.last_call.is_some() => {
                no("the last call is on: the class closes by itself, and nothing is poured any more")
            }
            (Teacher::PourerIs { pourer, name }, _) => self.pourer_is(pourer, name, now, rounds),
            (Teacher::Reopen { code, round, seat }, _) => self.reopen(*code, *round, seat.as_deref(), now),
            (Teacher::Steer(wish), _) => self.steer(wish, now, rounds),
            (Teacher::Test(number), _) => self.open_test(*number, now),
            (Teacher::Start { anyway: false }, Phase::Lobby) if self.empty_pourer().is_some() => {
                let pourer = self.empty_pourer().unwrap_or(1);
                no(&format!(
                    "nobody is pourer {pourer}; join a seat with --pourer {pourer}, or type: start anyway"
                ))
            }
            (Teacher::Start { .. }, Phase::Lobby) => {
                let cues = self.plan(rounds, Rest::default(), now)?;
                Ok(vec![Event::Started { timetable: Timetable::new(self.timetable.revision + 1, cues) }])
            }
            (Teacher::Start { .. }, _) => no("the class has begun; `resume` goes on after a hold"),
            (Teacher::Hold, Phase::Running) => Ok(vec![self.held_event(now)]),
            (Teacher::Hold, Phase::Held) => Ok(Vec::new()),
            (Teacher::Hold, _) => no("the class has not begun; there is nothing to hold"),
            (Teacher::Resume, Phase::Held) => {
                let rest = Rest { kept: &self.timetable.cues, tasting_left_s: self.tasting_left_s };
                let cues = self.plan(rounds, rest, now)?;
                Ok(vec![Event::Resumed { timetable: Timetable::new(self.timetable.revision + 1, cues) }])
            }
            (Teacher::Resume, Phase::Running) => Ok(Vec::new()),
            (Teacher::Resume, _) => no("the class has not begun; `start` begins it"),
        }
    }

    /// The first pourer at a table whose place nobody has taken.
    fn empty_pourer(&self) -> Option<u8> {
        match self.class.pourers {
            Pourers::EachSeat => None,
            Pourers::Table(hands) => (1..=hands).find(|&p| !self.seats.iter().any(|s| s.pourer == Some(p))),
        }
    }

    fn plan(&self, rounds: &Rounds, rest: Rest<'_>, now: HostTime) -> Result<Vec<Cue>, Refusal> {
        let whole = rounds.as_deref().map_err(Clone::clone);
        whole
            .and_then(|whole| plan(&self.class, &self.course, whole, rest, now.plus_s(LEAD_S)))
            .map_err(|fault| Refusal { code: RefusalCode::Other, reason: fault.to_string() })
    }

    pub(super) fn held_event(&self, now: HostTime) -> Event {
        Event::Held {
            timetable: Timetable::new(self.timetable.revision + 1, held(&self.timetable, now)),
            tasting_left_s: hold::tasting_left_s(&self.timetable, now),
        }
    }

    /// The class ends: at once if that is wanted or there is nothing to score yet, else with a last call, during which
    /// nothing dry is started.
    fn close(&self, last_call_s: u32, now: HostTime) -> Result<Vec<Event>, Refusal> {
        // Already, or to be begun in a moment.
        let Event::Held { timetable: held, .. } = self.held_event(now) else { return Ok(Vec::new()) };
        let wet = held.cues.iter().filter(|c| c.action == Action::Decant && c.end() > now);
        if let Some(decant) = wet.max_by_key(|c| c.end()) {
            let code = decant.code.map_or(String::new(), |code| code.to_string());
            let left = clock_face(decant.end().seconds_until(now));
            let reason =
                format!("{code} is wet for another {left}; close the class when it has been decanted");
            return refuse(RefusalCode::Other, reason);
        }
        if last_call_s == 0 || self.cups(now).is_empty() {
            return Ok(vec![Event::Closed]);
        }
        if self.last_call.is_some() {
            return Ok(Vec::new());
        }
        let more_to_pour = self.timetable.cues.iter().any(|c| c.action == Action::Pour && c.at > now);
        let hold = (self.phase == Phase::Running && more_to_pour).then(|| self.held_event(now));
        let last_call = Event::LastCall { until: now + self.room_us(last_call_s) };
        Ok(hold.into_iter().chain([last_call]).collect())
    }

    /// The end of a last call.
    pub(super) fn time_up(&self, now: HostTime) -> Vec<Event> {
        let is_over = self.closes_at().is_some_and(|closes| closes <= now);
        if is_over { vec![Event::Closed] } else { Vec::new() }
    }

    fn reveal(&self, code: Option<Code>) -> Result<Vec<Event>, Refusal> {
        if let Some(code) = code
            && self.class.tea(code).is_none()
        {
            return refuse(RefusalCode::UnknownCup, format!("this class has no tea {code}"));
        }
        let hidden = self
            .class
            .coded()
            .map(|(c, _)| c)
            .filter(|&c| !self.is_open(c) && code.is_none_or(|one| one == c));
        let codes: Vec<Code> = hidden.collect();
        Ok(if codes.is_empty() { Vec::new() } else { vec![Event::Revealed { codes }] })
    }
}
