//! What was put right afterwards, and what is missing. Nothing is erased: the entries it is about stay in the ledger, and so
//! does the reason.

use crate::Room;
use protocol::say::many;
use protocol::{Code, SeatId};
use std::fmt;

/// One thing that was put right, with the names as they were then.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Amendment {
    /// A seat has another name.
    Renamed {
        /// What it was called.
        from: String,
        /// What it is called.
        to: String,
    },
    /// Entries are missing that a seat had been told of.
    FellShort {
        /// Whose seat.
        seat: String,
        /// The number it had been told of.
        heard: u64,
        /// How far the ledger had come when it was opened.
        ended: u64,
    },
    /// Two seats were one person's.
    Joined {
        /// Whose scores went over.
        from: String,
        /// Whose they are.
        into: String,
    },
    /// Two seats that had been joined are two persons' again.
    Parted {
        /// Whose scores go back.
        seat: String,
        /// Whose they had been.
        from: String,
    },
    /// Seats were sent away.
    SentAway {
        /// Their names.
        seats: Vec<String>,
        /// Whether their scores went with them.
        without_scores: bool,
        /// Why; empty where nothing was said.
        reason: String,
    },
    /// Seats that had been sent away were let back.
    LetBack {
        /// Their names.
        seats: Vec<String>,
    },
    /// The scores of a cup that had come in do not count.
    Voided {
        /// The tea.
        code: Code,
        /// The steep.
        steep: u32,
        /// Whose score; nobody is named when it was the cup of all.
        seat: Option<String>,
        /// Why.
        reason: String,
        /// How many scores it was about.
        scores: usize,
    },
    /// The scores of a cup that had been voided count again.
    Restored {
        /// The tea.
        code: Code,
        /// The steep.
        steep: u32,
        /// Whose score; nobody is named when it was the cup of all.
        seat: Option<String>,
        /// Why.
        reason: String,
        /// How many scores it was about.
        scores: usize,
    },
}

/// How a ledger that is not the one a seat was told of differs from it: it ends before that, or another entry stands there.
pub fn missing(seat: &str, heard: u64, ended: u64) -> String {
    if heard > ended {
        return format!(
            "entries are missing: the ledger ended with entry {ended} when it was opened, and {seat} had been told of entry {heard}"
        );
    }
    format!(
        "entries are missing: entry {heard} is another one than {seat} had been told of, as if the class had gone on from an earlier copy of its ledger"
    )
}

/// Of many names so many are said.
const NAMED: usize = 6;

/// Names in a row: `Ann, Bob and 5 more`.
pub fn some_of(names: &[String]) -> String {
    match names {
        [] => "nobody".into(),
        [one] => one.clone(),
        all if all.len() <= NAMED => {
            let (last, first) = (&all[all.len() - 1], &all[..all.len() - 1]);
            format!("{} and {last}", first.join(", "))
        }
        all => format!("{} and {} more", all[..NAMED - 1].join(", "), all.len() - NAMED + 1),
    }
}

impl fmt::Display for Amendment {
    /// What was done, and why: "417 steep 1 does not count (4 scores): spilled".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Amendment::Renamed { from, to } => write!(f, "{from} is called {to}"),
            Amendment::FellShort { seat, heard, ended } => {
                write!(f, "{}; what the seats still had was sent again", missing(seat, *heard, *ended))
            }
            Amendment::Joined { from, into } => write!(f, "{from} and {into} are one person: {into}"),
            Amendment::Parted { seat, from } => write!(f, "{seat} and {from} are two persons again"),
            Amendment::SentAway { seats, without_scores, reason } => {
                let (were, counts) = match (seats.len(), without_scores) {
                    (1, false) => ("was", "what was scored there counts"),
                    (1, true) => ("was", "what was scored there does not count"),
                    (_, false) => ("were", "what they scored counts"),
                    (_, true) => ("were", "what they scored does not count"),
                };
                let why = if reason.is_empty() { String::new() } else { format!(" ({reason})") };
                write!(f, "{} {were} sent away{why}; {counts}", some_of(seats))
            }
            Amendment::LetBack { seats } => {
                let were = if seats.len() == 1 { "was" } else { "were" };
                write!(f, "{} {were} let back", some_of(seats))
            }
            Amendment::Voided { code, steep, seat: Some(seat), reason, .. } => {
                write!(f, "{code} steep {steep} of {seat} does not count: {reason}")
            }
            Amendment::Voided { code, steep, seat: None, reason, scores } => {
                let scores = many(*scores, "score");
                write!(f, "{code} steep {steep} does not count ({scores}): {reason}")
            }
            Amendment::Restored { code, steep, seat: Some(seat), reason, .. } => {
                write!(f, "{code} steep {steep} of {seat} counts again: {reason}")
            }
            Amendment::Restored { code, steep, seat: None, reason, scores } => {
                let scores = many(*scores, "score");
                write!(f, "{code} steep {steep} counts again ({scores}): {reason}")
            }
        }
    }
}

impl Room {
    pub(crate) fn fell_short(&mut self, seat: SeatId, heard: u64, ended: u64) {
        let seat = self.seat_of(seat).map_or(String::new(), |seat| seat.name.clone());
        self.amendments.push(Amendment::FellShort { seat, heard, ended });
    }

    /// Of one seat, what has come in by now; of all, what comes later too.
    pub(crate) fn voided(&mut self, code: Code, steep: u32, seat: Option<SeatId>, reason: String) {
        let scores = match seat {
            Some(seat) => self.scores.void_of(seat, (code, steep)),
            None => self.scores.void((code, steep)),
        };
        let seat = seat.map(|id| self.seat_of(id).map_or(String::new(), |seat| seat.name.clone()));
        self.amendments.push(Amendment::Voided { code, steep, seat, reason, scores });
    }

    /// What was voided by mistake counts again.
    pub(crate) fn restored(&mut self, code: Code, steep: u32, seat: Option<SeatId>, reason: String) {
        let scores = match seat {
            Some(seat) => self.scores.restore_of(seat, (code, steep)),
            None => self.scores.restore((code, steep)),
        };
        let seat = seat.map(|id| self.seat_of(id).map_or(String::new(), |seat| seat.name.clone()));
        self.amendments.push(Amendment::Restored { code, steep, seat, reason, scores });
    }
}
