//! What the first bytes of a ledger's file say, and whether the file is gone while what a host keeps beside it still lies there.

use crate::{LedgerError, beside, mark};
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// What a ledger has at least: the head of its file.
const HEAD_BYTES: usize = 100;

/// What the first bytes of a file say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Head {
    /// There are not enough of them.
    None,
    /// A ledger that was closed, one file of its own.
    Closed,
    /// A ledger with a `-wal`.
    Open,
}

/// What the first bytes of a ledger say: bytes 18 and 19 are 1 where there is no `-wal` ("Database File Format", section
/// 1.3.3).
pub(crate) fn head(ledger: &Path) -> Head {
    let mut bytes = [0; HEAD_BYTES];
    let read = File::open(ledger).and_then(|mut file| file.read_exact(&mut bytes));
    match (read, bytes[18], bytes[19]) {
        (Err(_), ..) => Head::None,
        (_, 1, 1) => Head::Closed,
        _ => Head::Open,
    }
}

/// What is wrong where [`has_foreign_wal`] says so.
pub(crate) const FOREIGN_WAL: &str = "a -wal lies beside it, and a ledger that was closed has none: another file, or an earlier copy of it, was put in its place, or that -wal beside it. Save first what both hold, with kettlecall check --salvage; only then move that -wal away";

/// Whether something stands in a `-wal` beside a ledger that was closed: a host takes its own away before it calls the ledger
/// closed, and calls it open before it begins one.
pub(crate) fn has_foreign_wal(ledger: &Path) -> bool {
    let is_closed = || head(ledger) == Head::Closed;
    is_closed() && std::fs::metadata(beside(ledger, "-wal")).is_ok_and(|found| found.len() > 0) && is_closed()
}

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
