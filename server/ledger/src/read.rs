//! Reads a ledger from its beginning, and tells where it stops being whole.

use crate::chain::Link;
use crate::head::{FOREIGN_WAL, Head, gone, has_foreign_wal, head};
use crate::mark::{self, Marked};
use crate::schema::{self, fault};
use crate::wal::{self, Rest};
use crate::{LedgerError, Record, Visitor, beside, record, so_far};
use protocol::HostTime;
use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags, Row};
use std::path::Path;
use tempfile::TempDir;

/// What was found in a ledger.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// The last entry that is whole, with all before it.
    pub entries: u64,
    /// The link behind it.
    pub link: Link,
    /// From which entry on there are links; one behind the last if there are none.
    pub chained_from: u64,
    /// How it ends.
    pub ending: Ending,
    /// Why nothing is shown of what follows the last whole entry.
    pub broken: Option<String>,
}

/// How a ledger ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// The host that wrote it closed it and said how far it had come.
    Closed,
    /// A host has it open, or went down without closing it; its mark says how far it had come.
    Open,
    /// The same, but its mark is not there: nothing looks damaged, and nobody can tell whether the last entries are there.
    Unmarked,
    /// It was written before ledgers could say how far they had come.
    Unknown,
}

impl Found {
    /// Why not all of it is whole, as the end of a sentence: "entry 1 is whole, but ...".
    pub fn broken_words(&self) -> Option<String> {
        let problem = self.broken.as_ref()?;
        Some(format!("{} whole, but {problem}", so_far(self.entries)))
    }

    /// The same, if that leaves anything of it unread.
    pub fn breaks_off(&self) -> Option<String> {
        self.broken_words().filter(|_| self.broken.as_deref() != Some(record::LINE_ENDS))
    }

    /// As an error, if it is not whole.
    ///
    /// # Errors
    /// [`LedgerError::Broken`].
    pub fn whole(self, path: &Path) -> Result<Self, LedgerError> {
        match self.broken {
            Some(problem) => Err(LedgerError::Broken { path: path.into(), whole: self.entries, problem }),
            None => Ok(self),
        }
    }
}

/// What a ledger says of itself.
struct State {
    is_open: bool,
    closed: Option<Marked>,
    chained_from: u64,
}

/// A ledger opened for reading, and the copy that is read where the ledger itself can't be.
pub(crate) struct Reading {
    pub db: Connection,
    schema: usize,
    /// What its mark said before it was opened.
    marked: Option<Marked>,
    /// How far it was whole when it was looked at before.
    pub seen: Option<Marked>,
    rest: Rest,
    has_wal: bool,
    has_foreign_wal: bool,
    _copy: Option<TempDir>,
}

/// Opens a ledger for reading; a host may be writing meanwhile. What is there is left as it is: the `-wal` of a host that
/// went down stays, whatever is in it.
pub(crate) fn open(path: &Path) -> Result<Reading, LedgerError> {
    if let Some(gone) = gone(path) {
        return Err(gone);
    }
    if !path.exists() {
        return Err(LedgerError::Missing(path.into()));
    }
    if !path.is_file() {
        return Err(LedgerError::Foreign(path.into()));
    }
    let real = std::fs::canonicalize(path).unwrap_or_else(|_| path.into());
    // Before the ledger: a host that is writing gets ahead of its mark, never behind it.
    let marked = mark::read(&real);
    let mut wal = std::fs::read(beside(&real, "-wal")).unwrap_or_default();
    if head(&real) == Head::Closed {
        wal.clear();
    }
    let rest = wal::rest(&wal);
    if head(&real) == Head::Closed && beside(&real, "-wal").exists() {
        // It was closed without a -wal: one of the two was put there, and SQLite would take it in unseen.
        let (copy, at) = copied(&real, false).map_err(|e| disk(path, &e))?;
        let db = connect(&at).map_err(fault(path))?;
        let schema = schema::of(&db, path)?;
        return Ok(Reading {
            db,
            schema,
            marked,
            seen: None,
            rest,
            has_wal: false,
            has_foreign_wal: has_foreign_wal(&real),
            _copy: Some(copy),
        });
    }
    let ready = |db: &Connection| schema::of(db, path);
    let (db, schema, copy) = match connect(&real).map_err(fault(path)).and_then(|db| Ok((ready(&db)?, db))) {
        Ok((schema, db)) => (db, schema, None),
        // Where nothing can be written, SQLite can't read what a host left open: a copy will do.
        Err(LedgerError::Disk { .. }) => {
            let (copy, at) = copied(&real, true).map_err(|e| disk(path, &e))?;
            let db = connect(&at).map_err(fault(path))?;
            (schema::of(&db, path).map(|schema| (db, schema, Some(copy))))?
        }
        Err(other) => return Err(other),
    };
    Ok(Reading {
        db,
        schema,
        marked,
        seen: None,
        rest,
        has_wal: !wal.is_empty(),
        has_foreign_wal: false,
        _copy: copy,
    })
}

/// Opens the ledger that this program itself has open, to look at it from outside. The file is opened by SQLite alone: to close
/// it otherwise would let go of the locks that SQLite holds on it.
pub(crate) fn own(path: &Path) -> Result<Reading, LedgerError> {
    let marked = mark::read(path);
    let db = connect(path).map_err(fault(path))?;
    let schema = schema::of(&db, path)?;
    Ok(Reading {
        db,
        schema,
        marked,
        seen: None,
        rest: Rest::Nothing,
        has_wal: true,
        has_foreign_wal: false,
        _copy: None,
    })
}

fn disk(path: &Path, e: &std::io::Error) -> LedgerError {
    LedgerError::Disk { path: path.into(), problem: e.to_string() }
}

pub(crate) fn connect(path: &Path) -> Result<Connection, rusqlite::Error> {
    // WAL needs the right to make its side files; on read-only media they are not there and need not be.
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let read_only = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let db =
        Connection::open_with_flags(path, flags).or_else(|_| Connection::open_with_flags(path, read_only))?;
    // Else whoever reads last would fold into the ledger what SQLite takes of its -wal, and remove the rest for good.
    db.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
    Ok(db)
}

/// A copy of a ledger, with what lies beside it or alone.
fn copied(ledger: &Path, with_wal: bool) -> std::io::Result<(TempDir, std::path::PathBuf)> {
    let folder = tempfile::tempdir()?;
    let copy = folder.path().join("copy.ledger");
    std::fs::copy(ledger, &copy)?;
    let wal = beside(ledger, "-wal");
    if with_wal && wal.exists() {
        std::fs::copy(wal, beside(&copy, "-wal"))?;
    }
    Ok((folder, copy))
}

/// Why an entry can't be shown.
enum Stop {
    /// It is not whole.
    Broken(String),
    /// Something else.
    Other(LedgerError),
}

impl Reading {
    /// Whether it is a database in which nothing was ever made, as a host leaves it that went down in its first moment.
    pub(crate) fn is_blank(&self) -> bool {
        self.schema == 0
    }

    /// How it ends, without a look at its entries.
    pub(crate) fn end(&self) -> Ending {
        self.ending(self.state().ok().flatten().as_ref())
    }

    /// Shows every entry up to the first that is not whole.
    pub(crate) fn walk(&self, path: &Path, each: Visitor<'_>) -> Result<Found, LedgerError> {
        // One moment of the ledger, whatever is written meanwhile.
        self.db.execute_batch("BEGIN").map_err(fault(path))?;
        let found = self.walk_now(path, each);
        // Nothing was written.
        let _ = self.db.execute_batch("COMMIT");
        found
    }

    fn walk_now(&self, path: &Path, each: Visitor<'_>) -> Result<Found, LedgerError> {
        let is_chained = self.schema >= schema::CHAINED;
        let state = if is_chained { self.state() } else { Ok(None) };
        let mut found = Found {
            entries: 0,
            link: Link::START,
            chained_from: state
                .as_ref()
                .ok()
                .and_then(|state| Some(state.as_ref()?.chained_from))
                .unwrap_or(1),
            ending: Ending::Unknown,
            broken: None,
        };
        // The links at the numbers that something vouches for.
        let closed = state.as_ref().ok().and_then(|state| state.as_ref()?.closed);
        let vouched = [self.marked, closed, self.seen];
        let mut other_history = false;
        let columns =
            if is_chained { "seq, at_us, kind, body, link" } else { "seq, at_us, kind, body, NULL" };
        let mut shown = |row: &Row<'_>, found: &mut Found| -> Result<(), Stop> {
            let (record, own) = entry(row, found.entries + 1)?;
            let link = found.link.then(&record);
            match own {
                Some(own) if own != link => {
                    let seq = record.seq;
                    let earlier = if seq == found.chained_from && seq > 1 { " or one before it" } else { "" };
                    return Err(Stop::Broken(format!(
                        "entry {seq}{earlier} was changed after it was written"
                    )));
                }
                None if is_chained && record.seq >= found.chained_from => {
                    return Err(Stop::Broken(format!("entry {} has lost its link", record.seq)));
                }
                _ => {}
            }
            other_history |= vouched.iter().flatten().any(|v| v.seq == record.seq && v.link != link);
            let seq = record.seq;
            each(record).map_err(|problem| {
                Stop::Other(LedgerError::Entry { path: path.into(), seq: seq as i64, problem })
            })?;
            (found.entries, found.link) = (seq, link);
            Ok(())
        };
        let done = (|| -> Result<(), Stop> {
            let mut query = self.db.prepare(&format!("SELECT {columns} FROM event ORDER BY seq"))?;
            let mut rows = query.query([])?;
            while let Some(row) = rows.next()? {
                shown(row, &mut found)?;
            }
            Ok(())
        })();
        match done {
            Ok(()) => {}
            Err(Stop::Broken(problem)) => found.broken = Some(problem),
            Err(Stop::Other(error)) => return Err(error),
        }
        if !is_chained {
            found.chained_from = found.entries + 1;
            return Ok(found);
        }
        if found.broken.is_none() {
            found.broken = match &state {
                Err(_) => Some("what it says of itself can't be read".into()),
                Ok(None) => Some("what it says of itself is gone".into()),
                Ok(Some(_)) if other_history => Some(
                    "its entries are not those that its mark tells of: another file was put in its place"
                        .into(),
                ),
                Ok(Some(_)) if self.has_foreign_wal => Some(FOREIGN_WAL.into()),
                Ok(Some(state)) => {
                    let furthest = vouched.into_iter().flatten().max_by_key(|vouched| vouched.seq);
                    self.missing(state, furthest, found.entries)
                }
            };
        }
        found.ending = self.ending(state.as_ref().ok().and_then(Option::as_ref));
        Ok(found)
    }

    /// How it ends, if it can say so at all.
    fn ending(&self, state: Option<&State>) -> Ending {
        match state {
            _ if self.schema < schema::CHAINED => Ending::Unknown,
            Some(State { is_open: false, .. }) => Ending::Closed,
            Some(_) if self.marked.is_some() => Ending::Open,
            _ => Ending::Unmarked,
        }
    }

    /// What is missing at the end.
    fn missing(&self, state: &State, vouched: Option<Marked>, entries: u64) -> Option<String> {
        if let Some(Marked { seq, .. }) = vouched.filter(|vouched| vouched.seq > entries) {
            // Of what was written after the last whole entry, if there is one.
            let after = if entries == 0 { "" } else { " after it" };
            let gone = if seq == entries + 1 {
                format!("entry {seq}, which was written{after}, is missing")
            } else {
                format!("entries {} to {seq}, which were written{after}, are missing", entries + 1)
            };
            let wal = if state.is_open && !self.has_wal { "; its -wal is not beside it" } else { "" };
            return Some(gone + wal);
        }
        if !state.is_open || self.marked.is_some() {
            return None;
        }
        if !self.has_wal {
            return Some(
                "a host had it open and did not close it, and neither its -wal nor its -mark is beside it: what was written last may be missing"
                    .into(),
            );
        }
        match self.rest {
            Rest::Nothing => None,
            Rest::Torn => Some(
                "its -wal breaks off, and its -mark, which would tell whether anything is missing, is not beside it".into(),
            ),
            Rest::Damaged => Some("its -wal was changed after it was written".into()),
        }
    }

    fn state(&self) -> Result<Option<State>, rusqlite::Error> {
        let mut query = self.db.prepare("SELECT is_open, seq, link, chained_from FROM state")?;
        let mut rows = query.query([])?;
        let Some(row) = rows.next()? else { return Ok(None) };
        let number = |column| Ok::<_, rusqlite::Error>(row.get::<_, i64>(column)?.unsigned_abs());
        let link = row.get_ref(2)?.as_blob_or_null()?.and_then(Link::from_slice);
        let seq = number(1)?;
        let closed = link.map(|link| Marked { seq, link });
        Ok(Some(State { is_open: number(0)? != 0, closed, chained_from: number(3)? }))
    }
}

/// One entry, which has to be the `next` one.
fn entry<'a>(row: &'a Row<'_>, next: u64) -> Result<(Record<'a>, Option<Link>), Stop> {
    let unreadable = |_| Stop::Broken(format!("entry {next} can't be read"));
    let seq = row.get::<_, i64>(0).map_err(unreadable)?;
    if seq < 1 || seq.unsigned_abs() != next {
        return Err(Stop::Broken(format!("entry {next} is missing")));
    }
    let at = row.get::<_, i64>(1).map_err(unreadable)?;
    let text = |column| {
        let text = row.get_ref(column).ok().and_then(|value| value.as_str().ok());
        text.ok_or_else(|| Stop::Broken(format!("entry {next} can't be read")))
    };
    let (kind, json) = (text(2)?.into(), text(3)?.into());
    let link = match row.get_ref(4).ok().and_then(|value| value.as_blob_or_null().ok()) {
        None => return Err(Stop::Broken(format!("entry {next} can't be read"))),
        Some(None) => None,
        Some(Some(bytes)) => {
            Some(Link::from_slice(bytes).ok_or_else(|| Stop::Broken(format!("entry {next} can't be read")))?)
        }
    };
    Ok((Record { seq: next, at: HostTime(at), kind, json, once: None }, link))
}

impl From<rusqlite::Error> for Stop {
    fn from(error: rusqlite::Error) -> Self {
        match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked | ErrorCode::OutOfMemory) => {
                Self::Other(LedgerError::Disk { path: "".into(), problem: error.to_string() })
            }
            _ => Self::Broken(format!("what follows can't be read ({error})")),
        }
    }
}
