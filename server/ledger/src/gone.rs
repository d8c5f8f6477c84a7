//! A ledger that is gone while what a host keeps beside it still lies there.

use crate::{LedgerError, beside, mark};
use std::path::Path;

/// What a ledger has at least: the head of its file.
pub(crate) const HEAD_BYTES: usize = 100;

/// What to say of a ledger that is not there, or empty, while its `-wal` or its `-mark` is; else nothing.
pub fn gone(ledger: &Path) -> Option<LedgerError> {
    let real = std::fs::canonicalize(ledger).unwrap_or_else(|_| ledger.into());
    if std::fs::metadata(&real).is_ok_and(|found| !found.is_file() || found.len() >= HEAD_BYTES as u64) {
        return None;
    }
    let path = ledger.to_path_buf();
    if beside(&real, "-wal").exists() {
        return Some(LedgerError::OnlyWal(path));
    }
    mark::path_of(&real).exists().then_some(LedgerError::OnlyMark(path))
}
