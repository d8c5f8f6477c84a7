//! Why a host can't be opened or had to stop.

use ledger::LedgerError;
use plan::rounds::Unplannable;
use std::path::PathBuf;
use thiserror::Error;

/// Why a host can't be opened or had to stop.
#[derive(Debug, Error)]
pub enum HostError {
    /// The ledger.
    #[error(transparent)]
    Ledger(#[from] LedgerError),
    /// The ledger's contents.
    #[error("{0}: {1}; the ledger is left as it is")]
    Replay(PathBuf, String),
    /// No order of these hands and kettles can serve the class.
    #[error("the class can't be planned: {0}")]
    Unplannable(Unplannable),
    /// The ledger is that of a rehearsal, and the class itself was to be opened in it.
    #[error(
        "{0} is the ledger of a rehearsal. For the class itself name a new file with --ledger; to go on rehearsing, give --pace"
    )]
    Rehearsal(PathBuf),
    /// The ledger is that of a class, and a rehearsal was to be opened in it.
    #[error(
        "{0} is the ledger of a class and no rehearsal. To go on with the class, leave --pace out; to rehearse it, open its class file with --pace, which makes a ledger beside it"
    )]
    NoRehearsal(PathBuf),
    /// The owner is no more.
    #[error("the host has stopped")]
    Stopped,
}
