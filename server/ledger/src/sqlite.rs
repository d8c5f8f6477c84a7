//! A ledger in one SQLite file, append-only.
//!
//! WAL with synchronous FULL: a commit survives a crash of the program and a loss of power. The only file that knows SQL.

use super::{Ledger, LedgerError, Record, Visitor, numbered};
use protocol::HostTime;
use rusqlite::{Connection, OpenFlags, TransactionBehavior, params};
use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};

/// Marks a file as a Kettlecall ledger ("KCLL").
const APPLICATION_ID: i32 = 0x4b43_4c4c;
/// One step per number; a step is never changed once it has been released, only followed by another.
const MIGRATIONS: [&str; 2] =
    [include_str!("../migrations/0001_events.sql"), include_str!("../migrations/0002_score_once.sql")];

/// A ledger that is open for a host, locked against any other host.
#[derive(Debug)]
pub struct Sqlite {
    path: PathBuf,
    db: Connection,
    // Held for its lock.
    _lock: Lock,
}

/// A lock against other hosts, held as long as its file is open.
#[derive(Debug)]
struct Lock {
    path: PathBuf,
    _file: File,
}

impl Drop for Lock {
    fn drop(&mut self) {
        // Only tidiness: the lock itself goes with the open file. Should two hosts slip through at this very moment,
        // the number of an event can still be written only once, and the second one stops.
        let _ = std::fs::remove_file(&self.path);
    }
}

fn disk(path: &Path) -> impl Fn(rusqlite::Error) -> LedgerError + '_ {
    move |e| match e.sqlite_error_code() {
        Some(rusqlite::ErrorCode::NotADatabase) => LedgerError::Foreign(path.into()),
        _ => LedgerError::Disk { path: path.into(), problem: e.to_string() },
    }
}

impl Sqlite {
    /// Opens a ledger for writing, makes it if it is not there, and brings its schema up to date.
    ///
    /// # Errors
    /// See [`LedgerError`]; a file of another kind is left untouched.
    pub fn open(path: &Path) -> Result<Self, LedgerError> {
        let lock = lock(path)?;
        let mut db = Connection::open(path).map_err(disk(path))?;
        check_kind(&db, path)?;
        let pragmas = "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;";
        db.execute_batch(pragmas).map_err(disk(path))?;
        migrate(&mut db, path, MIGRATIONS.len())?;
        Ok(Self { path: path.into(), db, _lock: lock })
    }

    /// The same for a ledger that must be there.
    ///
    /// # Errors
    /// See [`LedgerError`].
    pub fn reopen(path: &Path) -> Result<Self, LedgerError> {
        if path.exists() { Self::open(path) } else { Err(LedgerError::Missing(path.into())) }
    }
}

impl Ledger for Sqlite {
    fn path(&self) -> &Path {
        &self.path
    }

    fn append(&mut self, last: u64, records: &[Record<'_>]) -> Result<(), LedgerError> {
        let path = self.path.as_path();
        numbered(path, last, records)?;
        let write = |db: &mut Connection| -> Result<u64, rusqlite::Error> {
            let transaction = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
            {
                let mut highest = transaction.prepare_cached("SELECT coalesce(max(seq), 0) FROM event")?;
                let found = highest.query_row([], |row| row.get::<_, i64>(0))?.unsigned_abs();
                if found != last {
                    return Ok(found);
                }
                let mut insert = transaction
                    .prepare_cached("INSERT INTO event (seq, at_us, kind, body) VALUES (?1, ?2, ?3, ?4)")?;
                for record in records {
                    insert.execute(params![record.seq as i64, record.at.0, record.kind, record.json])?;
                }
            }
            transaction.commit()?;
            Ok(last)
        };
        match write(&mut self.db).map_err(disk(path))? {
            found if found == last => Ok(()),
            found => Err(LedgerError::Moved { path: path.into(), expected: last, found }),
        }
    }

    fn visit(&self, each: Visitor<'_>) -> Result<(), LedgerError> {
        visit_in(&self.db, &self.path, each)
    }
}

/// Shows every record of a ledger file without changing it; a host may be writing meanwhile.
///
/// # Errors
/// See [`LedgerError`]; what `each` can't read is a [`LedgerError::Entry`].
pub fn visit(path: &Path, mut each: impl FnMut(Record<'_>) -> Result<(), String>) -> Result<(), LedgerError> {
    visit_in(&to_read(path)?, path, &mut each)
}

fn visit_in(db: &Connection, path: &Path, each: Visitor<'_>) -> Result<(), LedgerError> {
    let mut query =
        db.prepare("SELECT seq, at_us, kind, body FROM event ORDER BY seq").map_err(disk(path))?;
    let mut rows = query.query([]).map_err(disk(path))?;
    while let Some(row) = rows.next().map_err(disk(path))? {
        let number = |column| row.get::<_, i64>(column).map_err(disk(path));
        let text = |column| Ok::<_, rusqlite::Error>(row.get_ref(column)?.as_str()?.into());
        let (seq, at) = (number(0)?, HostTime(number(1)?));
        let (kind, json) = (text(2).map_err(disk(path))?, text(3).map_err(disk(path))?);
        each(Record { seq: seq.unsigned_abs(), at, kind, json, once: None })
            .map_err(|problem| LedgerError::Entry { path: path.into(), seq, problem })?;
    }
    Ok(())
}

/// A ledger opened for reading; a host may be writing meanwhile.
fn to_read(path: &Path) -> Result<Connection, LedgerError> {
    if !path.exists() {
        return Err(LedgerError::Missing(path.into()));
    }
    if !path.is_file() {
        return Err(LedgerError::Foreign(path.into()));
    }
    // WAL needs the right to make its side files; on read-only media they are not there and need not be.
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let read_only = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let db = Connection::open_with_flags(path, flags)
        .or_else(|_| Connection::open_with_flags(path, read_only))
        .map_err(disk(path))?;
    if check_kind(&db, path)? == 0 {
        return Err(LedgerError::Foreign(path.into()));
    }
    Ok(db)
}

fn lock(path: &Path) -> Result<Lock, LedgerError> {
    let mut name = path.as_os_str().to_owned();
    name.push(".lock");
    let lock_path = PathBuf::from(name);
    let refuse = |e: std::io::Error| LedgerError::Disk { path: lock_path.clone(), problem: e.to_string() };
    let file = File::options().create(true).truncate(false).write(true).open(&lock_path).map_err(refuse)?;
    match file.try_lock() {
        Ok(()) => Ok(Lock { path: lock_path, _file: file }),
        Err(TryLockError::WouldBlock) => Err(LedgerError::InUse(path.into())),
        Err(TryLockError::Error(e)) => Err(refuse(e)),
    }
}

/// The schema of a ledger, 0 for a new file.
fn check_kind(db: &Connection, path: &Path) -> Result<usize, LedgerError> {
    let pragma =
        |name: &str| db.pragma_query_value(None, name, |row| row.get::<_, i64>(0)).map_err(disk(path));
    let tables: i64 =
        db.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0)).map_err(disk(path))?;
    let found = pragma("user_version")?;
    if pragma("application_id")? != i64::from(APPLICATION_ID) && (tables > 0 || found != 0) {
        return Err(LedgerError::Foreign(path.into()));
    }
    let found = usize::try_from(found).unwrap_or(usize::MAX);
    if found > MIGRATIONS.len() {
        return Err(LedgerError::Newer { path: path.into(), found, known: MIGRATIONS.len() });
    }
    Ok(found)
}

/// Brings the schema up to `target`, each step and its number in one transaction.
fn migrate(db: &mut Connection, path: &Path, target: usize) -> Result<(), LedgerError> {
    let found = check_kind(db, path)?;
    for (done, step) in MIGRATIONS.iter().enumerate().take(target).skip(found) {
        let apply = |db: &mut Connection| -> Result<(), rusqlite::Error> {
            let transaction = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
            transaction.execute_batch(step)?;
            transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
            transaction.pragma_update(None, "user_version", done as i64 + 1)?;
            transaction.commit()
        };
        apply(db).map_err(disk(path))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::story::{all, scored};

    fn folder() -> tempfile::TempDir {
        tempfile::tempdir().unwrap()
    }

    fn read(path: &Path) -> Result<usize, LedgerError> {
        let mut records = 0;
        visit(path, |_| {
            records += 1;
            Ok(())
        })?;
        Ok(records)
    }

    #[test]
    fn a_ledger_can_be_read_while_a_host_has_it_open() {
        let folder = folder();
        let path = folder.path().join("class.ledger");
        let mut ledger = Sqlite::open(&path).unwrap();
        ledger.append(0, &[scored(1, 1), scored(2, 2)]).unwrap();
        assert_eq!(read(&path).unwrap(), 2);
    }

    #[test]
    fn the_ledger_is_on_disk_in_wal_with_full_synchronisation() {
        let folder = folder();
        let ledger = Sqlite::open(&folder.path().join("class.ledger")).unwrap();
        let pragma = |name: &str| {
            ledger.db.pragma_query_value(None, name, |r| r.get::<_, rusqlite::types::Value>(0)).unwrap()
        };
        assert_eq!(pragma("journal_mode"), rusqlite::types::Value::Text("wal".into()));
        assert_eq!(pragma("synchronous"), rusqlite::types::Value::Integer(2), "2 is FULL");
    }

    #[test]
    fn nothing_in_the_ledger_can_be_changed_or_removed() {
        let folder = folder();
        let mut ledger = Sqlite::open(&folder.path().join("class.ledger")).unwrap();
        ledger.append(0, &[scored(1, 1)]).unwrap();
        for sql in ["UPDATE event SET at_us = 0", "DELETE FROM event"] {
            let refusal = ledger.db.execute(sql, []).unwrap_err().to_string();
            assert!(refusal.contains("append-only"), "{refusal}");
        }
    }

    #[test]
    fn an_older_schema_is_brought_up_to_date_and_keeps_its_entries() {
        let folder = folder();
        let path = folder.path().join("class.ledger");
        {
            let mut db = Connection::open(&path).unwrap();
            migrate(&mut db, &path, 1).unwrap();
            db.execute("INSERT INTO event VALUES (1, 5, 'scored', ?1)", [scored(1, 1).json]).unwrap();
        }
        assert_eq!(read(&path).unwrap(), 1, "reading needs no migration");
        let mut ledger = Sqlite::open(&path).unwrap();
        assert_eq!(check_kind(&ledger.db, &path).unwrap(), MIGRATIONS.len());
        assert_eq!(all(&ledger), [Record { once: None, ..scored(1, 1) }]);
        assert!(ledger.append(1, &[scored(2, 1)]).is_err(), "the newer rule is in force");
    }

    #[test]
    fn a_ledger_is_refused_in_words_when_it_is_newer_foreign_missing_or_in_use() {
        let folder = folder();
        let path = folder.path().join("class.ledger");
        assert!(read(&path).unwrap_err().to_string().contains("there is no ledger"));
        let ledger = Sqlite::open(&path).unwrap();
        assert!(Sqlite::open(&path).unwrap_err().to_string().contains("open in another host"));
        ledger.db.pragma_update(None, "user_version", 99).unwrap();
        drop(ledger);
        assert!(Sqlite::open(&path).unwrap_err().to_string().contains("update the program"));
        assert!(read(&path).unwrap_err().to_string().contains("schema 99"));
        let text = folder.path().join("notes.txt");
        std::fs::write(&text, "not a ledger ".repeat(100)).unwrap();
        assert!(matches!(Sqlite::open(&text), Err(LedgerError::Foreign(_))));
        assert!(!folder.path().join("notes.txt.lock").exists(), "nothing is left lying about");
        assert!(matches!(read(folder.path()), Err(LedgerError::Foreign(_))));
        assert!(matches!(read(&text), Err(LedgerError::Foreign(_))));
        let other = folder.path().join("other.db");
        Connection::open(&other).unwrap().execute_batch("CREATE TABLE x (y)").unwrap();
        assert!(matches!(Sqlite::open(&other), Err(LedgerError::Foreign(_))));
    }
}
