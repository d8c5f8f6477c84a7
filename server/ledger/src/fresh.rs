//! Writes a ledger that is finished, all at once: as a host would have left it that closed it.

use crate::chain::Link;
use crate::place::{own, sync_folder};
use crate::schema::{MIGRATIONS, fault, migrate};
use crate::{LedgerError, Record, beside, mark};
use rusqlite::{Connection, ErrorCode, params};
use std::fs::File;
use std::path::Path;
use tempfile::{Builder, TempPath};

/// Makes a ledger of these entries, which are numbered from 1, chained from a number on. It is there whole or not at all.
///
/// # Errors
/// [`LedgerError::There`] if the name is taken; [`LedgerError::Entry`] if an entry can't stand behind those before it.
pub(crate) fn write(path: &Path, records: &[Record<'_>], chained_from: u64) -> Result<(), LedgerError> {
    // The -wal of another ledger would become a part of the new one.
    let beside_it = [beside(path, "-wal"), beside(path, "-journal"), mark::path_of(path)];
    if std::fs::symlink_metadata(path).is_ok() || beside_it.iter().any(|place| place.exists()) {
        return Err(LedgerError::There(path.into()));
    }
    let disk = |e: std::io::Error| LedgerError::Disk { path: path.into(), problem: e.to_string() };
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let part = Builder::new().prefix(".kettlecall-").tempdir_in(folder).map_err(disk)?;
    let made = part.path().join("new.ledger");
    {
        own().create_new(true).open(&made).map_err(disk)?;
        let mut db = Connection::open(&made).map_err(fault(path))?;
        // Nobody knows of it yet: it is synchronised once, when it is whole.
        db.execute_batch("PRAGMA journal_mode = MEMORY; PRAGMA synchronous = OFF;").map_err(fault(path))?;
        migrate(&mut db, path, MIGRATIONS.len())?;
        fill(&mut db, path, records, chained_from)?;
    }
    File::open(&made).and_then(|file| file.sync_all()).map_err(disk)?;
    let made = TempPath::try_from_path(made).map_err(disk)?;
    made.persist_noclobber(path).map_err(|e| match e.error.kind() {
        std::io::ErrorKind::AlreadyExists => LedgerError::There(path.into()),
        _ => disk(e.error),
    })?;
    sync_folder(path).map_err(disk)
}

fn fill(
    db: &mut Connection,
    path: &Path,
    records: &[Record<'_>],
    chained_from: u64,
) -> Result<(), LedgerError> {
    let entry = |seq: u64, e: rusqlite::Error| match e.sqlite_error_code() {
        Some(ErrorCode::ConstraintViolation) => {
            let problem = "a score of its id is there already, or it is no JSON".into();
            LedgerError::Entry { path: path.into(), seq: seq as i64, problem }
        }
        _ => fault(path)(e),
    };
    let transaction = db.transaction().map_err(fault(path))?;
    let mut link = Link::START;
    {
        let mut insert = transaction
            .prepare("INSERT INTO event (seq, at_us, kind, body, link) VALUES (?1, ?2, ?3, ?4, ?5)")
            .map_err(fault(path))?;
        for record in records {
            link = link.then(record);
            let own = (record.seq >= chained_from).then_some(link.as_bytes().as_slice());
            insert
                .execute(params![record.seq as i64, record.at.0, record.kind, record.json, own])
                .map_err(|e| entry(record.seq, e))?;
        }
    }
    let (seq, first) = (records.len() as i64, records.first().map(|record| record.json.as_ref()));
    transaction
        .execute(
            "UPDATE state SET is_open = 0, seq = ?1, link = ?2, chained_from = ?3, first = ?4",
            params![seq, link.as_bytes().as_slice(), chained_from as i64, first],
        )
        .map_err(fault(path))?;
    transaction.commit().map_err(fault(path))
}
