//! What a command leads to: events, or a refusal with its reason. Nothing is changed here.

mod adapt;
mod away;
mod correct;
mod difference_test;
mod hands;
mod reopen;
mod say;
mod score;
mod seat;
mod steer;
mod taste;
mod teacher;

pub use away::{Who, fits};
pub use seat::{Comer, Letting};
pub use teacher::LEAD_S;

pub use correct::Correction;
pub use steer::Steering;

use crate::{DoorTerms, Event, Room};
use plan::rounds::{RoundPlan, Unplannable};
use protocol::wire::{Join, RefusalCode};
use protocol::{Answer, Code, HostTime, JoinCode, KeyHash, Phase, Score, SeatId};

/// How often one seat may fill the sheet for one cup.
const MAX_FILLS: usize = 100;

/// The rounds of a class as [`plan::plan_rounds`] gives them, or why they can't be given.
///
/// They follow from the class alone, but planning them may take seconds. So whoever leads a class plans them once, before
/// anybody waits, and hands them to [`Room::decide`]; a room that is only read back or reviewed never needs them.
pub type Rounds = Result<Vec<RoundPlan>, Unplannable>;

/// What somebody wants of a class that is being led.
#[derive(Clone, Debug)]
pub enum Command {
    /// A person wants to sit and has been admitted ([`Room::admits`]).
    Join {
        /// What the person said.
        join: Join,
        /// Who that is.
        comer: Comer,
        /// An id for a new seat.
        fresh_seat: SeatId,
        /// Whom there is room for.
        letting: Letting,
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
    /// A seat had been told of an entry that the ledger does not have.
    FellShort {
        /// Whose.
        seat: SeatId,
        /// The entry's number.
        heard: u64,
        /// How far the ledger had come when it was opened.
        ended: u64,
    },
    /// The teacher changes the terms on which people come.
    Door(DoorTerms),
    /// The teacher lets somebody in by name.
    Admit(String),
    /// The teacher thinks better of it.
    AdmitNoMore(String),
    /// The teacher wants something.
    Teacher(Teacher),
    /// The time that a last call gives has passed.
    TimeUp,
    /// The suggestions that the class file wants followed are taken, as soon as their time has come.
    Follow,
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
    /// Show the seats the names of all teas, or of one.
    Reveal(Option<Code>),
    /// Open a difference test, by its number from 1.
    Test(u32),
    /// Free a seat for somebody who lost its token.
    Release(String),
    /// Somebody takes over a pourer's place, by number or by the name of whoever has it.
    PourerIs {
        /// Whose place.
        pourer: String,
        /// Who pours from now on.
        name: String,
    },
    /// Let new seats in with this join code, and no more with the one before.
    JoinCode(JoinCode),
    /// Let consoles elsewhere in with keys of these hashes, and with none before.
    Keys {
        /// Of the key that leads.
        teacher: KeyHash,
        /// Of the key that looks on.
        observer: KeyHash,
    },
    /// Let a seat's scores count, or leave them out.
    Count {
        /// The seat by its name.
        name: String,
        /// Whether they count.
        counts: bool,
    },
    /// Send seats away.
    Away {
        /// Which ones.
        who: Who,
        /// Their scores go with them.
        without_scores: bool,
        /// Why, which they are told; empty where nothing is.
        reason: String,
    },
    /// Let seats back that were sent away, by their names as in [`Who::Named`]; `all` for all of them.
    Back(String),
    /// Open the sheets of a cup again.
    Reopen {
        /// The tea.
        code: Code,
        /// The round; the last that is in the cup where none is named.
        round: Option<u32>,
        /// The seat by its name; all that owe the sheet where none is named.
        seat: Option<String>,
    },
    /// Say something to all seats.
    Say(String),
    /// Say something to one seat: its name, then the words.
    SayTo(String),
    /// Put something right while the class goes on.
    Correct(Correction),
    /// Change the course of the class.
    Steer(Steering),
    /// End the class with a last call.
    Close {
        /// How long it is, in seconds of the room's time: [`LAST_CALL_S`](crate::last_call::LAST_CALL_S) where nothing
        /// else is wished, 0 to close at once.
        last_call_s: u32,
    },
}

/// Why not, for a program and for a person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// For a program.
    pub code: RefusalCode,
    /// For a person: what is wrong and what to do.
    pub reason: String,
}

fn refuse<T>(code: RefusalCode, reason: impl Into<String>) -> Result<T, Refusal> {
    Err(Refusal { code, reason: reason.into() })
}

impl Room {
    /// What `command` leads to at `now`. No events means that everything is already as wanted.
    ///
    /// # Errors
    /// A refusal; the state of the class is as before.
    pub fn decide(&self, command: Command, now: HostTime, rounds: &Rounds) -> Result<Vec<Event>, Refusal> {
        match command {
            Command::Join { join, comer, fresh_seat, letting } => {
                self.join(&join, comer, fresh_seat, letting)
            }
            Command::Door(door) if door == self.door => Ok(Vec::new()),
            Command::Door(door) => Ok(vec![Event::DoorSet { door }]),
            Command::Admit(name) => Ok(self.admit(name)),
            Command::AdmitNoMore(name) => Ok(self.admit_no_more(name)),
            Command::Score { seat, score } => self.score(seat, score, Some(now)),
            Command::Answer { seat, answer } => self.answer(seat, &answer),
            Command::FellShort { seat, heard, ended } => Ok(vec![Event::FellShort { seat, heard, ended }]),
            Command::Teacher(wish) => self.teacher(&wish, now, rounds),
            Command::TimeUp => Ok(self.time_up(now)),
            Command::Follow => self.follow_due(now, rounds),
            Command::Stop if self.phase == Phase::Running => Ok(vec![self.held_event(now)]),
            Command::Stop => Ok(Vec::new()),
        }
    }
}
