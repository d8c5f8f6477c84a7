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
    /// The owner is no more.
    #[error("the host has stopped")]
    Stopped,
}
