//! What the owner is asked, and what goes out of it.

use crate::door::key_holders::KeyHolder;
use bytes::Bytes;
use protocol::wire::{Hello, HostMessage, RefusalCode};
use protocol::{Answer, Challenge, HostTime, Score, SeatId};
use room::view::View;
use room::{Console, Entry, Refusal, Room, Teacher};
use std::net::IpAddr;
use std::path::PathBuf;
use std::sync::Arc;
use tokio::sync::{mpsc, oneshot};

/// How many asks are decided and committed together at most.
pub(crate) const BATCH: usize = 2048;
/// How many asks may wait before those who ask have to.
pub(crate) const ASKS: usize = 4096;
/// How many messages may wait for a seat that reads slowly. More than a batch, which may acknowledge that many.
pub(crate) const OUTLET: usize = 2 * BATCH;

/// What goes out to one connection: JSON.
#[derive(Clone, Debug)]
pub(crate) enum Outgoing {
    /// One message.
    Say(Bytes),
    /// The last message; the connection is closed after it.
    Bye(Bytes),
}

impl Outgoing {
    pub(crate) fn say(message: &HostMessage) -> Self {
        Self::Say(message.to_json().into())
    }

    pub(crate) fn bye(code: RefusalCode, reason: &str) -> Self {
        Self::Bye(HostMessage::refusal(code, reason).to_json().into())
    }
}

/// The number of a connection, unique in the life of a host process.
pub(crate) type LinkId = u64;

/// What has come of a hello; what the seat hears of it is in its outlet by then.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Entered {
    /// It has this seat.
    Seat(SeatId),
    /// It hears which class this is, and is to say hello again.
    Told,
    /// It is refused.
    Refused,
}

/// What the rest of the program asks of the owner.
#[derive(Debug)]
pub(crate) enum Ask {
    /// A connection said hello. The welcome, which class this is or the refusal goes out through the outlet.
    Hello {
        /// What it said.
        hello: Hello,
        /// What its proofs are made over.
        over: Challenge,
        /// From which address it comes, if from one.
        from: Option<IpAddr>,
        /// The connection.
        link: LinkId,
        /// Where its messages go.
        outlet: mpsc::Sender<Outgoing>,
        /// What has come of it.
        entered: oneshot::Sender<Entered>,
    },
    /// Somebody wanted to lead or to look on by a key that is none of this class's.
    WrongKey {
        /// From which address, if from one.
        from: Option<IpAddr>,
    },
    /// A console that has proved a key is there from now on, or no longer.
    Console {
        /// Which.
        console: KeyHolder,
        /// Whether it has come, or has gone.
        is_here: bool,
    },
    /// A seat sends a score; the answer goes out through its outlet.
    Score {
        /// Whose.
        seat: SeatId,
        /// Over which connection.
        link: LinkId,
        /// The score.
        score: Score,
    },
    /// A seat answers a difference test; the answer to that goes out through its outlet.
    Answer {
        /// Whose.
        seat: SeatId,
        /// Over which connection.
        link: LinkId,
        /// The answer.
        answer: Answer,
    },
    /// A seat says on how many sheets something is filled in and not sent.
    Writing {
        /// Whose.
        seat: SeatId,
        /// Over which connection.
        link: LinkId,
        /// How many.
        sheets: u32,
    },
    /// A connection has ended.
    Left {
        /// Whose.
        seat: SeatId,
        /// Which.
        link: LinkId,
    },
    /// The teacher wants something, at a console; the answer says whether anything changed, or why not.
    Teacher(Teacher, Console, oneshot::Sender<Result<bool, Refusal>>),
    /// Let these people in who are at the door, at a console; the answer says whether anything changed, or why not.
    Admit(String, Console, oneshot::Sender<Result<bool, Refusal>>),
    /// Let people in by name from now on, or no longer, if that is wished; the answer says how it is then.
    Lobby(Option<bool>, Console, oneshot::Sender<AtDoor>),
    /// So many places from now on.
    Places(u32, Console),
    /// The class as it is just now, with at most that many cues ahead.
    View(usize, oneshot::Sender<View>),
    /// The whole state as it is just now, to look at at leisure, and what the time is.
    Room(oneshot::Sender<(Arc<Room>, HostTime)>),
    /// The host goes down: hold the class if it runs, notify the seats, and end.
    Stop,
}

/// How people are let in, and who waits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AtDoor {
    /// Whether the teacher lets them in by name.
    pub by_name: bool,
    /// Who waits for it, in the order in which they came.
    pub names: Vec<String>,
    /// Who is let in and has not come yet.
    pub ahead: Vec<String>,
}

/// What the console hears of.
#[derive(Clone, Debug)]
pub enum Happening {
    /// Something is in the ledger.
    Entry(Entry),
    /// A seat is linked.
    Linked(String),
    /// A seat's link has ended.
    Unlinked(String),
    /// What a change of course has moved, in words.
    Follows(String),
    /// Somebody waits to be let in.
    AtDoor {
        /// What they are called there.
        called: String,
        /// Why so, behind it, where it is not the name under which they came.
        why: String,
    },
    /// Too many wrong join codes come from somewhere, in words.
    Guesses(String),
    /// Consoles have come in by a key, or have gone, in words.
    Consoles {
        /// The words.
        words: String,
        /// Whose coming it is, where it is one's alone: that console knows.
        of: Option<String>,
    },
    /// Something that the teacher has to know, in words.
    Notice(String),
    /// The ledger lies elsewhere from now on.
    Moved(PathBuf),
}
