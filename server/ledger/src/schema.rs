//! The schema of a ledger in SQLite, and how an older one is brought up to date.

use crate::LedgerError;
use rusqlite::{Connection, ErrorCode, TransactionBehavior};
use std::io::Read;
use std::path::Path;

/// Marks a file as a Kettlecall ledger ("KCLL").
const APPLICATION_ID: i32 = 0x4b43_4c4c;
/// Where in its first bytes a file has that.
const APPLICATION_ID_AT: usize = 68;
/// One step per number; a step is never changed once it has been released, only followed by another.
pub(crate) const MIGRATIONS: [&str; 3] = [
    include_str!("../migrations/0001_events.sql"),
    include_str!("../migrations/0002_score_once.sql"),
    include_str!("../migrations/0003_chain.sql"),
];
/// From which schema on entries are chained and a ledger knows of itself whether it is open.
pub(crate) const CHAINED: usize = 3;

/// How many more schemas there may ever be; a number beyond that was never written by any program.
const LATER: usize = 1000;

/// What went wrong, in the words of a ledger.
pub(crate) fn fault(path: &Path) -> impl Fn(rusqlite::Error) -> LedgerError + '_ {
    move |e| match e.sqlite_error_code() {
        Some(ErrorCode::NotADatabase) if !was_a_ledger(path) => LedgerError::Foreign(path.into()),
        Some(ErrorCode::NotADatabase | ErrorCode::DatabaseCorrupt) => LedgerError::Broken {
            path: path.into(),
            whole: 0,
            problem: "its first pages can't be read".into(),
        },
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => LedgerError::Busy(path.into()),
        Some(ErrorCode::DiskFull) => LedgerError::Full(path.into()),
        Some(ErrorCode::ConstraintViolation) => {
            LedgerError::Refused { path: path.into(), problem: e.to_string() }
        }
        // A table that is not as it was made.
        Some(ErrorCode::Unknown) => LedgerError::Broken {
            path: path.into(),
            whole: 0,
            problem: format!("its tables are not as they were made ({e})"),
        },
        _ => LedgerError::Disk { path: path.into(), problem: e.to_string() },
    }
}

/// Whether a file that SQLite does not know bears the marks of a ledger all the same.
fn was_a_ledger(path: &Path) -> bool {
    let mut head = [0; APPLICATION_ID_AT + 4];
    let read = std::fs::File::open(path).and_then(|mut file| file.read_exact(&mut head));
    let is_marked = head[APPLICATION_ID_AT..] == APPLICATION_ID.to_be_bytes();
    read.is_ok() && (is_marked || head.starts_with(b"SQLite format 3\0"))
        || crate::mark::path_of(path).exists()
        || crate::beside(path, "-wal").exists()
}

/// The schema of a ledger, 0 for a new file.
///
/// # Errors
/// It is another kind of file, newer than this program, or can't be read.
pub(crate) fn of(db: &Connection, path: &Path) -> Result<usize, LedgerError> {
    let pragma =
        |name: &str| db.pragma_query_value(None, name, |row| row.get::<_, i64>(0)).map_err(fault(path));
    let tables: i64 =
        db.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0)).map_err(fault(path))?;
    let has_events = || {
        db.query_row("SELECT count(*) FROM sqlite_schema WHERE name = 'event'", [], |row| {
            row.get::<_, i64>(0)
        })
        .is_ok_and(|n| n == 1)
    };
    let found = pragma("user_version")?;
    if pragma("application_id")? != i64::from(APPLICATION_ID) && (tables > 0 || found != 0) {
        if !has_events() {
            return Err(LedgerError::Foreign(path.into()));
        }
        let problem = "what it says of its own kind was changed".into();
        return Err(LedgerError::Broken { path: path.into(), whole: 0, problem });
    }
    let found = usize::try_from(found).unwrap_or(usize::MAX);
    if found > MIGRATIONS.len() + LATER {
        let problem = "what it says of its schema was changed".into();
        return Err(LedgerError::Broken { path: path.into(), whole: 0, problem });
    }
    if found > MIGRATIONS.len() {
        return Err(LedgerError::Newer { path: path.into(), found, known: MIGRATIONS.len() });
    }
    Ok(found)
}

/// Brings the schema up to `target`, each step and its number in one transaction.
///
/// # Errors
/// See [`of`].
pub(crate) fn migrate(db: &mut Connection, path: &Path, target: usize) -> Result<(), LedgerError> {
    let found = of(db, path)?;
    for (done, step) in MIGRATIONS.iter().enumerate().take(target).skip(found) {
        let apply = |db: &mut Connection| -> Result<(), rusqlite::Error> {
            let transaction = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
            transaction.execute_batch(step)?;
            transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
            transaction.pragma_update(None, "user_version", done as i64 + 1)?;
            transaction.commit()
        };
        apply(db).map_err(fault(path))?;
    }
    Ok(())
}
