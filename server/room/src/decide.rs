//! What a command leads to: events, or a refusal with its reason. Nothing is changed here.

use super::{Event, Room, Seat};
use class::{MAX_SEATS, Pourers};
use plan::rounds::{RoundPlan, Unplannable};
use plan::{Rest, held, hold, plan};
use protocol::time::clock_face;
use protocol::wire::{Hello, PROTOCOL, RefusalCode, version_words};
use protocol::{Action, Answer, Code, Cue, HostTime, Phase, Score, SeatId, Timetable, Token, text};

/// Host seconds between a start or a resumption and the first new cue: time to put the cups down and look up.
pub const LEAD_S: u32 = 10;
/// How often one seat may fill the sheet for one cup.
pub(super) const MAX_FILLS: usize = 100;

/// The rounds of a class as [`plan::plan_rounds`] gives them, or why they can't be held.
///
/// They follow from the class alone, but planning them may take seconds. So whoever leads a class plans them once, before
/// anybody waits, and hands them to [`Room::decide`]; a room that is only read back or reviewed never needs them.
pub type Rounds = Result<Vec<RoundPlan>, Unplannable>;

/// What somebody wants of a class that is being led.
#[derive(Clone, Debug)]
pub enum Command {
    /// A person wants to sit.
    Join {
        /// What the person said.
        hello: Hello,
        /// An id for a new seat.
        fresh_seat: SeatId,
    },
    /// A seat sends a score.
    Score {
        /// Whose.
        seat: SeatId,
        /// The score.
        score: Score,
    },
    /// A seat answers a difference test.
    Answer {
        /// Whose.
        seat: SeatId,
        /// The answer.
        answer: Answer,
    },
    /// The teacher wants something.
    Teacher(Teacher),
    /// The host process goes down in good order: the class is held if it runs.
    Stop,
}

/// What a teacher can want.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Teacher {
    /// Begin; with `anyway` even if a pourer's place is empty.
    Start {
        /// Nobody has to sit at every pourer's place.
        anyway: bool,
    },
    /// Wait.
    Hold,
    /// Go on.
    Resume,
    /// Tell the seats the names of all teas, or of one.
    Reveal(Option<Code>),
    /// Open a difference test, by its number from 1.
    Test(u32),
    /// Free a seat for somebody who lost its token.
    Release(String),
    /// End the class.
    Close,
}

/// Why not, for a program and for a person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// For a program.
    pub code: RefusalCode,
    /// For a person: what is wrong and what to do.
    pub reason: String,
}

pub(super) fn refuse<T>(code: RefusalCode, reason: impl Into<String>) -> Result<T, Refusal> {
    Err(Refusal { code, reason: reason.into() })
}

impl Room {
    /// What `command` leads to at `now`. No events means that everything is already as wanted.
    ///
    /// # Errors
    /// A refusal; the state of the class is as before.
    pub fn decide(&self, command: Command, now: HostTime, rounds: &Rounds) -> Result<Vec<Event>, Refusal> {
        match command {
            Command::Join { hello, fresh_seat } => self.join(&hello, fresh_seat),
            Command::Score { seat, score } => self.score(seat, score, Some(now)),
            Command::Answer { seat, answer } => self.answer(seat, &answer),
            Command::Teacher(wish) => self.teacher(&wish, now, rounds),
            Command::Stop if self.phase == Phase::Running => Ok(vec![self.held_event(now)]),
            Command::Stop => Ok(Vec::new()),
        }
    }

    /// What comes of a score that was taken on paper by a seat of this class.
    ///
    /// # Errors
    /// A refusal; the state of the class is as before.
    pub fn enter(&self, seat: SeatId, score: Score) -> Result<Vec<Event>, Refusal> {
        self.score(seat, score, None)
    }

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
            self.check_pourer(hello.pourer, Some(seat))?;
            // The name is the seat's own; a rejoining seat keeps the one the ledger has.
            let pourer = hello.pourer.or(seat.pourer);
            if pourer == seat.pourer && !seat.released {
                return Ok(Vec::new());
            }
            return Ok(vec![seated(seat, token, pourer)]);
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
            self.check_pourer(hello.pourer, Some(seat))?;
            return Ok(vec![seated(seat, token, hello.pourer.or(seat.pourer))]);
        }
        self.check_pourer(hello.pourer, None)?;
        if self.seats.len() >= MAX_SEATS as usize {
            return refuse(RefusalCode::ClassFull, format!("all {MAX_SEATS} seats are taken"));
        }
        Ok(vec![Event::Seated { seat: fresh_seat, name, token, pourer: hello.pourer }])
    }

    /// Whether a seat (`own`, if it is known already) may be this pourer.
    fn check_pourer(&self, pourer: Option<u8>, own: Option<&Seat>) -> Result<(), Refusal> {
        let Some(pourer) = pourer else { return Ok(()) };
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

    /// A score that is sent at an instant, or that comes on paper. Paper knows no instants: it is taken after the class
    /// is closed too, and for cups that this host has never seen poured.
    fn score(&self, seat: SeatId, score: Score, sent_at: Option<HostTime>) -> Result<Vec<Event>, Refusal> {
        let score = score.inert();
        if let Some(kept) = self.scores.get(score.id) {
            if kept.seat == seat && kept.score == score {
                return Ok(Vec::new());
            }
            return refuse(
                RefusalCode::IdReused,
                "the score's id belongs to another score; send it with a new id",
            );
        }
        if self.answers.get(score.id).is_some() {
            return refuse(
                RefusalCode::IdReused,
                "the score's id belongs to an answer; send it with a new id",
            );
        }
        if sent_at.is_some() && self.phase == Phase::Closed {
            return refuse(RefusalCode::ClassClosed, "the class is closed; scores are no longer taken");
        }
        if !self.class.tea(score.code).is_some_and(|tea| (1..=tea.steeps()).contains(&score.steep)) {
            return refuse(
                RefusalCode::UnknownCup,
                format!("this class has no {} steep {}", score.code, score.steep),
            );
        }
        if let Err(fault) = score.check(&self.class.sheet) {
            return refuse(RefusalCode::BadScore, format!("{} steep {}: {fault}", score.code, score.steep));
        }
        if sent_at.is_some_and(|now| !self.timetable.poured(score.code, score.steep, now)) {
            let reason = format!(
                "{} steep {} has not been poured yet; score it when it is in the cup",
                score.code, score.steep
            );
            return refuse(RefusalCode::NotPoured, reason);
        }
        if self.scores.fills(seat, (score.code, score.steep)) >= MAX_FILLS {
            let reason = format!(
                "{} steep {} has been scored {MAX_FILLS} times by this seat; the last one counts",
                score.code, score.steep
            );
            return refuse(RefusalCode::BadScore, reason);
        }
        Ok(vec![Event::Scored { seat, score, on_paper: sent_at.is_none() }])
    }

    fn teacher(&self, wish: &Teacher, now: HostTime, rounds: &Rounds) -> Result<Vec<Event>, Refusal> {
        let no = |reason: &str| refuse(RefusalCode::Other, reason);
        match (wish, self.phase) {
            (Teacher::Reveal(code), _) => self.reveal(*code),
            (Teacher::Release(name), _) => self.release(name),
            (Teacher::Close, Phase::Closed) => Ok(Vec::new()),
            (_, Phase::Closed) => no("the class is closed; open a new ledger to hold it again"),
            (Teacher::Close, _) => match self.wet_until(now) {
                Some((code, until)) => {
                    let left = clock_face(until.seconds_until(now));
                    no(&format!(
                        "{code} is wet for another {left}; close the class when it has been decanted"
                    ))
                }
                None => Ok(vec![Event::Closed]),
            },
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
            .and_then(|whole| plan(&self.class, whole, rest, now.plus_s(LEAD_S)))
            .map_err(|fault| Refusal { code: RefusalCode::Other, reason: fault.to_string() })
    }

    fn held_event(&self, now: HostTime) -> Event {
        Event::Held {
            timetable: Timetable::new(self.timetable.revision + 1, held(&self.timetable, now)),
            tasting_left_s: hold::tasting_left_s(&self.timetable, now),
        }
    }

    /// The tea that is under water longest, and until when.
    fn wet_until(&self, now: HostTime) -> Option<(Code, HostTime)> {
        let decants = self.timetable.cues.iter().filter(|c| c.action == Action::Decant && c.end() > now);
        let wet = decants
            .filter_map(|c| Some((c.code?, c)))
            .filter(|(code, c)| self.timetable.poured(*code, c.steep, now));
        wet.map(|(code, c)| (code, c.end())).max_by_key(|&(_, end)| end)
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

    fn release(&self, name: &str) -> Result<Vec<Event>, Refusal> {
        match self.seat_named(name.trim()) {
            Some(seat) if seat.released => Ok(Vec::new()),
            Some(seat) => Ok(vec![Event::Released { seat: seat.id }]),
            None => refuse(
                RefusalCode::BadName,
                format!("no seat is named {}", text::clean(name, text::NAME_CHARS)),
            ),
        }
    }
}

fn seated(seat: &Seat, token: Token, pourer: Option<u8>) -> Event {
    Event::Seated { seat: seat.id, name: seat.name.clone(), token, pourer }
}
