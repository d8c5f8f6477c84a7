//! The ledger: one SQLite file per class, append-only, on disk before anybody hears of it.
//!
//! WAL with synchronous FULL: a commit survives a crash of the program and a loss of power. The only file that knows SQL.

use protocol::HostTime;
use room::{Entry, Event};
use rusqlite::{Connection, OpenFlags, TransactionBehavior, params};
use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Marks a file as a Kettlecall ledger ("KCLL").
const APPLICATION_ID: i32 = 0x4b43_4c4c;
/// One step per number; a step is never changed once it has been released, only followed by another.
const MIGRATIONS: [&str; 2] =
    [include_str!("../migrations/0001_events.sql"), include_str!("../migrations/0002_score_once.sql")];

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
    /// The file system or SQLite says no.
    #[error("{path}: {problem}; ledgers need a local disk with room that may be written to")]
    Disk {
        /// The file.
        path: PathBuf,
        /// What it said.
        problem: String,
    },
}

/// A ledger that is open for a host, locked against any other host.
#[derive(Debug)]
pub struct Ledger {
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

impl Ledger {
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

    /// Where the ledger lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Everything in it.
    ///
    /// # Errors
    /// See [`LedgerError`].
    pub fn entries(&self) -> Result<Vec<Entry>, LedgerError> {
        entries(&self.db, &self.path)
    }

    /// Appends entries and returns once they are on disk, all or none.
    ///
    /// # Errors
    /// See [`LedgerError`]; nothing has been appended then.
    pub fn append(&mut self, entries: &[Entry]) -> Result<(), LedgerError> {
        let path = self.path.as_path();
        let write = |db: &mut Connection| -> Result<(), rusqlite::Error> {
            let transaction = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
            {
                let mut insert = transaction
                    .prepare_cached("INSERT INTO event (seq, at_us, kind, body) VALUES (?1, ?2, ?3, ?4)")?;
                for entry in entries {
                    let body = serde_json::to_string(&entry.event)
                        .map_err(|e| rusqlite::Error::ToSqlConversionFailure(Box::new(e)))?;
                    insert.execute(params![entry.seq as i64, entry.at.0, entry.event.kind(), body])?;
                }
            }
            transaction.commit()
        };
        write(&mut self.db).map_err(disk(path))
    }
}

/// Everything in a ledger, read without changing it; a host may be writing meanwhile.
///
/// # Errors
/// See [`LedgerError`].
pub fn read(path: &Path) -> Result<Vec<Entry>, LedgerError> {
    entries(&to_read(path)?, path)
}

/// Shows every entry as it is stored: its number, what kind it is, its JSON. For readers that need little of many
/// ledgers; [`read`] has the whole.
///
/// # Errors
/// See [`LedgerError`]; what `each` can't read is an entry that can't be read.
pub fn visit(
    path: &Path,
    mut each: impl FnMut(u64, &str, &str) -> Result<(), String>,
) -> Result<(), LedgerError> {
    let db = to_read(path)?;
    let mut query = db.prepare("SELECT seq, kind, body FROM event ORDER BY seq").map_err(disk(path))?;
    let mut rows = query.query([]).map_err(disk(path))?;
    while let Some(row) = rows.next().map_err(disk(path))? {
        let text = |column| Ok::<_, rusqlite::Error>(row.get_ref(column)?.as_str()?);
        let seq: i64 = row.get(0).map_err(disk(path))?;
        let (kind, body) = (text(1).map_err(disk(path))?, text(2).map_err(disk(path))?);
        each(seq.unsigned_abs(), kind, body).map_err(|problem| LedgerError::Entry {
            path: path.into(),
            seq,
            problem,
        })?;
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

fn entries(db: &Connection, path: &Path) -> Result<Vec<Entry>, LedgerError> {
    let read = || -> Result<Vec<(i64, i64, String)>, rusqlite::Error> {
        let mut query = db.prepare("SELECT seq, at_us, body FROM event ORDER BY seq")?;
        let rows = query.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
        rows.collect()
    };
    let rows = read().map_err(disk(path))?;
    let entry = |(seq, at_us, body): (i64, i64, String)| {
        let event: Event = serde_json::from_str(&body).map_err(|e| LedgerError::Entry {
            path: path.into(),
            seq,
            problem: e.to_string(),
        })?;
        Ok(Entry { seq: seq.unsigned_abs(), at: HostTime(at_us), event: event.inert() })
    };
    rows.into_iter().map(entry).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use protocol::{Code, Score, SeatId};
    use uuid::Uuid;

    fn scored(seq: u64, id: u128) -> Entry {
        let score = Score {
            id: Uuid::from_u128(id),
            code: Code::new(417).unwrap(),
            steep: 1,
            revision: 1,
            values: [("aroma".to_string(), 5)].into(),
            strength: None,
            note: "warm 'bread'".into(),
            words: Vec::new(),
        };
        let event = Event::Scored { seat: SeatId(Uuid::from_u128(1)), score, on_paper: false };
        Entry { seq, at: HostTime(5), event }
    }

    fn folder() -> tempfile::TempDir {
        tempfile::tempdir().unwrap()
    }

    #[test]
    fn what_is_appended_is_read_back_even_while_a_host_has_it_open() {
        let folder = folder();
        let path = folder.path().join("class.ledger");
        let mut ledger = Ledger::open(&path).unwrap();
        ledger.append(&[scored(1, 1), scored(2, 2)]).unwrap();
        assert_eq!(read(&path).unwrap(), [scored(1, 1), scored(2, 2)]);
        drop(ledger);
        assert_eq!(Ledger::open(&path).unwrap().entries().unwrap().len(), 2);
    }

    #[test]
    fn the_ledger_is_on_disk_in_wal_with_full_synchronisation() {
        let folder = folder();
        let ledger = Ledger::open(&folder.path().join("class.ledger")).unwrap();
        let pragma = |name: &str| {
            ledger.db.pragma_query_value(None, name, |r| r.get::<_, rusqlite::types::Value>(0)).unwrap()
        };
        assert_eq!(pragma("journal_mode"), rusqlite::types::Value::Text("wal".into()));
        assert_eq!(pragma("synchronous"), rusqlite::types::Value::Integer(2), "2 is FULL");
    }

    #[test]
    fn a_batch_goes_in_whole_or_not_at_all_and_no_score_goes_in_twice() {
        let folder = folder();
        let mut ledger = Ledger::open(&folder.path().join("class.ledger")).unwrap();
        ledger.append(&[scored(1, 1)]).unwrap();
        assert!(ledger.append(&[scored(2, 2), scored(3, 1)]).is_err());
        assert_eq!(ledger.entries().unwrap(), [scored(1, 1)]);
    }

    #[test]
    fn a_ledger_from_anywhere_is_read_as_inert_text() {
        let folder = folder();
        let mut ledger = Ledger::open(&folder.path().join("class.ledger")).unwrap();
        let (seat, token) = (SeatId(Uuid::from_u128(1)), protocol::Token(Uuid::from_u128(2)));
        let event = Event::Seated { seat, name: "A\u{1b}]0;x\u{7}nn".into(), token, pourer: None };
        ledger.append(&[Entry { seq: 1, at: HostTime(0), event }]).unwrap();
        let Event::Seated { name, .. } = &ledger.entries().unwrap()[0].event else { panic!("a seat") };
        assert_eq!(name, "A ]0;x nn");
    }

    #[test]
    fn nothing_in_the_ledger_can_be_changed_or_removed() {
        let folder = folder();
        let mut ledger = Ledger::open(&folder.path().join("class.ledger")).unwrap();
        ledger.append(&[scored(1, 1)]).unwrap();
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
            let body = serde_json::to_string(&scored(1, 1).event).unwrap();
            db.execute("INSERT INTO event VALUES (1, 5, 'scored', ?1)", [body]).unwrap();
        }
        assert_eq!(read(&path).unwrap(), [scored(1, 1)], "reading needs no migration");
        let mut ledger = Ledger::open(&path).unwrap();
        assert_eq!(check_kind(&ledger.db, &path).unwrap(), MIGRATIONS.len());
        assert_eq!(ledger.entries().unwrap(), [scored(1, 1)]);
        assert!(ledger.append(&[scored(2, 1)]).is_err(), "the newer rule is in force");
    }

    #[test]
    fn a_ledger_is_refused_in_words_when_it_is_newer_foreign_missing_or_in_use() {
        let folder = folder();
        let path = folder.path().join("class.ledger");
        assert!(read(&path).unwrap_err().to_string().contains("there is no ledger"));
        let ledger = Ledger::open(&path).unwrap();
        assert!(Ledger::open(&path).unwrap_err().to_string().contains("open in another host"));
        ledger.db.pragma_update(None, "user_version", 99).unwrap();
        drop(ledger);
        assert!(Ledger::open(&path).unwrap_err().to_string().contains("update the program"));
        assert!(read(&path).unwrap_err().to_string().contains("schema 99"));
        let text = folder.path().join("notes.txt");
        std::fs::write(&text, "not a ledger ".repeat(100)).unwrap();
        assert!(matches!(Ledger::open(&text), Err(LedgerError::Foreign(_))));
        assert!(!folder.path().join("notes.txt.lock").exists(), "nothing is left lying about");
        assert!(matches!(read(folder.path()), Err(LedgerError::Foreign(_))));
        assert!(matches!(read(&text), Err(LedgerError::Foreign(_))));
        let other = folder.path().join("other.db");
        Connection::open(&other).unwrap().execute_batch("CREATE TABLE x (y)").unwrap();
        assert!(matches!(Ledger::open(&other), Err(LedgerError::Foreign(_))));
    }
}
