//! How the program ends.

use crate::commands::new::NewError;
use crate::commands::review::read::PoolError;
use crate::console::ConsoleError;
use crate::output::NotWritten;
use host::HostError;
use ledger::LedgerError;
use plan::rounds::Unplannable;
use report::text::wrapped;
use report::xlsx::NoSpreadsheet;

/// Why the program ends badly: the words for the person and the exit code for the script.
#[derive(Debug)]
pub struct Failure {
    /// The words.
    pub words: String,
    /// The exit code; `--help` lists them.
    pub code: u8,
}

impl From<Unplannable> for Failure {
    /// As lines of a terminal.
    fn from(fault: Unplannable) -> Self {
        Self { words: wrapped("", &format!("the class can't be planned: {fault}"), 80).join("\n"), code: 3 }
    }
}

impl From<LedgerError> for Failure {
    fn from(error: LedgerError) -> Self {
        let code = if matches!(error, LedgerError::There(_)) { 1 } else { 4 };
        Self { words: error.to_string(), code }
    }
}

impl From<HostError> for Failure {
    fn from(error: HostError) -> Self {
        let code = match error {
            HostError::Unplannable(fault) => return fault.into(),
            HostError::Stopped => 1,
            HostError::Ledger(_)
            | HostError::Replay(..)
            | HostError::Rehearsal(_)
            | HostError::NoRehearsal(_) => 4,
        };
        Self { words: error.to_string(), code }
    }
}

impl From<PoolError> for Failure {
    fn from(error: PoolError) -> Self {
        match error {
            PoolError::Ledger(error) => error.into(),
            PoolError::Twice(..) => Self { words: error.to_string(), code: 4 },
            PoolError::Nobody(..) => Self { words: error.to_string(), code: 2 },
        }
    }
}

impl From<std::io::Error> for Failure {
    fn from(error: std::io::Error) -> Self {
        Self { words: error.to_string(), code: 1 }
    }
}

impl From<NotWritten> for Failure {
    fn from(error: NotWritten) -> Self {
        Self { words: error.to_string(), code: error.code() }
    }
}

impl From<NoSpreadsheet> for Failure {
    fn from(error: NoSpreadsheet) -> Self {
        Self { words: error.to_string(), code: 1 }
    }
}

impl From<ConsoleError> for Failure {
    fn from(error: ConsoleError) -> Self {
        match error {
            ConsoleError::Host(error) => error.into(),
            ConsoleError::Io(error) => error.into(),
        }
    }
}

impl From<NewError> for Failure {
    fn from(error: NewError) -> Self {
        Self { words: error.to_string(), code: error.code() }
    }
}
