//! The storage of a class: numbered records, appended in order and never changed, on disk before anybody hears of them.
//!
//! What a record means is not known here: its kind is a word and its body is JSON. [`Sqlite`] keeps a ledger in a file,
//! [`Memory`] in the memory of the program; both keep the same promises, which `story.rs` holds them to. Every record is
//! chained to those before it, and whoever reads a ledger is told where it stops being whole.

pub mod chain;
mod fresh;
mod head;
mod look;
mod mark;
mod memory;
mod place;
mod read;
pub mod record;
mod rescued;
pub mod salvage;
mod schema;
mod sqlite;
#[cfg(test)]
mod story;
#[cfg(test)]
mod trials;
mod wal;

pub use chain::Link;
pub use head::gone;
pub use look::{ending, inspect, visit};
pub use memory::Memory;
pub(crate) use place::beside;
pub use place::refuse_in_use;
pub use read::{Ending, Found};
pub use rescued::{Rescued, rescued};
pub use sqlite::{Note, Sqlite};

use protocol::HostTime;
use std::borrow::Cow;
use std::path::{Path, PathBuf};
use thiserror::Error;
use uuid::Uuid;

/// One entry as it is stored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Record<'a> {
    /// From 1, without gaps.
    pub seq: u64,
    /// Host time.
    pub at: HostTime,
    /// What kind of entry it is.
    pub kind: Cow<'a, str>,
    /// The entry, as JSON.
    pub json: Cow<'a, str>,
    /// What may stand in a ledger only once, whatever the program does: the id of a score. [`Sqlite`] reads it from the
    /// JSON by itself, and gives back none.
    pub once: Option<Uuid>,
}

impl Record<'_> {
    /// The same record on its own.
    pub fn into_owned(self) -> Record<'static> {
        let Self { seq, at, kind, json, once } = self;
        Record { seq, at, kind: kind.into_owned().into(), json: json.into_owned().into(), once }
    }
}

/// What [`Ledger::visit`] calls for each record; what it can't read it says in words.
pub type Visitor<'v> = &'v mut dyn FnMut(Record<'_>) -> Result<(), String>;

/// Somewhere to keep the records of one class.
pub trait Ledger: Send {
    /// What the ledger is called when something is said about it: its file.
    fn path(&self) -> &Path;

    /// Appends records behind number `last`, all or none, and returns once they can't be lost.
    ///
    /// # Errors
    /// See [`LedgerError`]; nothing has been appended then. [`LedgerError::Moved`] when `last` is not the last number.
    fn append(&mut self, last: u64, records: &[Record<'_>]) -> Result<(), LedgerError>;

    /// Shows every record in the order of the numbers.
    ///
    /// # Errors
    /// See [`LedgerError`]; what `each` can't read is a [`LedgerError::Entry`].
    fn visit(&self, each: Visitor<'_>) -> Result<(), LedgerError>;

    /// The link behind an entry, [`Link::START`] behind none; nothing for a number that it has not come to.
    fn link(&self, seq: u64) -> Option<Link>;

    /// Whether it is still where it was opened, and what is appended is kept.
    ///
    /// # Errors
    /// [`LedgerError::Gone`], and what is to be done then is [`rescue`](Ledger::rescue).
    fn in_place(&mut self) -> Result<(), LedgerError>;

    /// The same, looked at entry by entry: before it is left.
    ///
    /// # Errors
    /// As [`in_place`](Ledger::in_place).
    fn settle(&mut self) -> Result<(), LedgerError>;

    /// Goes on in a fresh place with everything that was ever appended; [`path`](Ledger::path) says where.
    ///
    /// # Errors
    /// See [`LedgerError`]; it stays where it was then.
    fn rescue(&mut self) -> Result<(), LedgerError>;
}

/// Why a ledger can't be used. The words say what to do.
#[derive(Debug, Error)]
pub enum LedgerError {
    /// No such file.
    #[error("there is no ledger {0}; `kettlecall open` makes one from a class file")]
    Missing(PathBuf),
    /// Only its `-wal` is there.
    #[error(
        "{0}: the ledger itself is gone, while what a host keeps beside it still lies here: leave {0}-wal where it is, it holds what was written last. Is there a copy of {0}? Put it back. If not, `kettlecall check {0} --salvage NEW.ledger` saves what the -wal holds"
    )]
    OnlyWal(PathBuf),
    /// Only its `-mark` is there.
    #[error(
        "{0}: the ledger itself is gone, while what a host keeps beside it still lies here: {0}-mark, which holds no scores. Put a copy of {0} back, or make a ledger of a record of it with `kettlecall restore`; to begin anew, move {0}-mark away"
    )]
    OnlyMark(PathBuf),
    /// Another file.
    #[error("{0} is not a Kettlecall ledger; name another file")]
    Foreign(PathBuf),
    /// Nothing is in it, where something has to be.
    #[error("{0} is empty: no class was ever opened in it; name another file")]
    Empty(PathBuf),
    /// A record, where a ledger is to be written to.
    #[error(
        "{0} is a record, which is only read; `kettlecall restore {0} -o NEW.ledger` makes a ledger of it"
    )]
    Record(PathBuf),
    /// A record made by a later program.
    #[error("{0} is a record of a later form; update the program")]
    NewerRecord(PathBuf),
    /// Something is where a new ledger was to be written.
    #[error("{0} is there already, or what belongs to a ledger of that name; name another file")]
    There(PathBuf),
    /// Made by a later program.
    #[error("{path} has schema {found}, but this program knows schemas up to {known}; update the program")]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its schema.
        found: usize,
        /// The newest known.
        known: usize,
    },
    /// Open elsewhere.
    #[error("{0} is open in another host; close that one first, or name another ledger")]
    InUse(PathBuf),
    /// An entry that this program can't read.
    #[error("{path}: event {seq} can't be read: {problem}; the ledger is left as it is")]
    Entry {
        /// The file.
        path: PathBuf,
        /// The entry.
        seq: i64,
        /// What is wrong with it.
        problem: String,
    },
    /// Somebody else has written to it meanwhile, or a number was left out.
    #[error("{path}: its last event is number {found}, not {expected}; another program has written to it")]
    Moved {
        /// The file.
        path: PathBuf,
        /// The last number that was expected.
        expected: u64,
        /// The last number that is there.
        found: u64,
    },
    /// Not all of it is whole.
    #[error(
        "{path} is damaged: {} whole, but {problem}. `--up-to-break` reads what is whole; `kettlecall check {path} --salvage NEW.ledger` saves all that can be saved",
        so_far(*whole)
    )]
    Broken {
        /// The file.
        path: PathBuf,
        /// The last entry that is whole, with all before it.
        whole: u64,
        /// What is wrong with what follows.
        problem: String,
    },
    /// It is not where it was any more.
    #[error("{path} {how} while the host had it open")]
    Gone {
        /// The file.
        path: PathBuf,
        /// What has happened to it.
        how: &'static str,
    },
    /// Another program holds it for the moment.
    #[error("{0} is held by another program (a backup, a browser of databases?); close that, then try again")]
    Busy(PathBuf),
    /// The disk is full.
    #[error("{0}: the disk is full; make room, then open the ledger again. What was acknowledged is in it")]
    Full(PathBuf),
    /// It lies on another machine.
    #[error(
        "{path} lies on {kind}, which can't promise that what is written stays; name a file on a disk of this machine with --ledger"
    )]
    Network {
        /// The file.
        path: PathBuf,
        /// What kind of drive.
        kind: &'static str,
    },
    /// It breaks a rule of the ledger.
    #[error("{path}: {problem}; nothing was written")]
    Refused {
        /// The file.
        path: PathBuf,
        /// Which one.
        problem: String,
    },
    /// The file system or SQLite says no.
    #[error("{path}: {problem}; ledgers need a local disk with room that may be written to")]
    Disk {
        /// The file.
        path: PathBuf,
        /// What it said.
        problem: String,
    },
}

/// What lies beside a ledger and belongs to it.
pub fn beside_it(ledger: &Path) -> Vec<PathBuf> {
    let real = std::fs::canonicalize(ledger).unwrap_or_else(|_| ledger.into());
    let endings = ["-wal", "-mark"]
        .into_iter()
        .filter(|ending| std::fs::metadata(beside(&real, ending)).is_ok_and(|found| found.len() > 0));
    endings.map(|ending| beside(ledger, ending)).collect()
}

/// Up to which entry the mark beside a ledger vouches for it.
pub fn marked(ledger: &Path) -> Option<u64> {
    let real = std::fs::canonicalize(ledger).unwrap_or_else(|_| ledger.into());
    mark::read(&real).map(|marked| marked.seq)
}

/// How much of a damaged ledger is whole.
fn so_far(whole: u64) -> String {
    match whole {
        0 => "no entry is".into(),
        1 => "entry 1 is".into(),
        n => format!("entries 1 to {n} are"),
    }
}

/// Whether the numbers go on behind `last`; else the number that does not.
fn numbered(path: &Path, last: u64, records: &[Record<'_>]) -> Result<(), LedgerError> {
    for (before, record) in (last..).zip(records) {
        if record.seq != before + 1 {
            let (path, found) = (path.into(), record.seq);
            return Err(LedgerError::Moved { path, expected: before + 1, found });
        }
    }
    Ok(())
}
