//! What the owner is asked, and what goes out of it.

use bytes::Bytes;
use protocol::wire::{Hello, HostMessage, RefusalCode};
use protocol::{Answer, HostTime, Score, SeatId};
use room::view::View;
use room::{Entry, Refusal, Room, Teacher};
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

/// What the rest of the program asks of the owner.
#[derive(Debug)]
pub(crate) enum Ask {
    /// A connection said hello. The welcome, or the refusal, goes out through the outlet.
    Join {
        /// What it said.
        hello: Hello,
        /// The connection.
        link: LinkId,
        /// Where its messages go.
        outlet: mpsc::Sender<Outgoing>,
        /// The seat it got, or nothing if it was refused.
        seated: oneshot::Sender<Option<SeatId>>,
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
    /// The teacher wants something; the answer says whether anything changed, or why not.
    Teacher(Teacher, oneshot::Sender<Result<bool, Refusal>>),
    /// The class as it is just now, with at most that many cues ahead.
    View(usize, oneshot::Sender<View>),
    /// The whole state as it is just now, to look at at leisure, and what the time is.
    Room(oneshot::Sender<(Arc<Room>, HostTime)>),
    /// The host goes down: hold the class if it runs, notify the seats, and end.
    Stop,
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
    /// Something that the teacher has to know, in words.
    Notice(String),
    /// The ledger lies elsewhere from now on.
    Moved(PathBuf),
}
