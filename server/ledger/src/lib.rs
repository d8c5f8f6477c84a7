//! The storage of a class: numbered records, appended in order and never changed, on disk before anybody hears of them.
//!
//! What a record means is not known here: its kind is a word and its body is JSON. [`Sqlite`] keeps a ledger in a file,
//! [`Memory`] in the memory of the program; both keep the same promises, which `story.rs` holds them to.

mod memory;
mod sqlite;
#[cfg(test)]
mod story;

pub use memory::Memory;
pub use sqlite::{Sqlite, visit};

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
}

/// Why a ledger can't be used. The words say what to do.
#[derive(Debug, Error)]
pub enum LedgerError {
    /// No such file.
    #[error("there is no ledger {0}; `kettlecall open` makes one from a class file")]
    Missing(PathBuf),
    /// Another file.
    #[error("{0} is not a Kettlecall ledger; name another file")]
    Foreign(PathBuf),
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
    /// The file system or SQLite says no.
    #[error("{path}: {problem}; ledgers need a local disk with room that may be written to")]
    Disk {
        /// The file.
        path: PathBuf,
        /// What it said.
        problem: String,
    },
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
