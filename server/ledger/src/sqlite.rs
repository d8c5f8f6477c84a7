//! A ledger in one SQLite file, append-only, as the host has it open.
//!
//! WAL with synchronous EXTRA: a commit survives a crash of the program and a loss of power. While it is open, its `-wal` and
//! its `-mark` belong to it; closed, it is one file of its own.

mod frames;

use crate::fresh;
use crate::head::gone;
use crate::mark::{Mark, Marked};
use crate::place::{Identity, Lock, Written, lies, lock, network_drive, rescues, sync_folder};
use crate::schema::{MIGRATIONS, fault, migrate};
use crate::{
    Ending, Found, Ledger, LedgerError, Link, Record, Visitor, beside, mark, numbered, read, record,
};
use frames::Frames;
use rusqlite::config::DbConfig;
use rusqlite::{Connection, TransactionBehavior, params};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long a write waits for another program that holds the file, before it says so.
const PATIENCE: Duration = Duration::from_millis(200);
/// How often a write begins again because somebody else wrote meanwhile, before it says so.
const LOOKS: u32 = 20;
/// How long the `-wal` grows before it is folded into the ledger, in bytes.
const WAL_BYTES: u64 = 4 << 20;

/// Kind and JSON of an entry that notes that more may have been written before it.
pub type Note<'n> = &'n dyn Fn() -> (String, String);

/// A ledger that is open for a host, locked against any other host.
#[derive(Debug)]
pub struct Sqlite {
    path: PathBuf,
    /// Where it lies, whatever links lead there.
    real: PathBuf,
    db: Connection,
    /// Everything in it, so that it can be written again should the file be lost, and the link behind each.
    records: Vec<Record<'static>>,
    links: Vec<Link>,
    mark: Mark,
    /// What lay at the places of the ledger and of its `-wal` when they were last looked at.
    places: Places,
    frames: Frames,
    /// All of the `-wal` is in the ledger, so that the next commit may begin it anew.
    is_folded: bool,
    found: Option<Found>,
    /// It is not where it was: nothing there is this ledger's any more.
    is_gone: bool,
    // Last, so that it is let go of after the database.
    _lock: Lock,
}

/// What lies where a ledger is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Places {
    ledger: Option<Identity>,
    wal: Option<Identity>,
    written: [Option<Written>; 2],
}

impl Places {
    /// One look at each file: it is looked at thrice for every acknowledgement.
    fn of(ledger: &Path) -> Self {
        let [ledger, wal] = [lies(ledger), lies(&beside(ledger, "-wal"))];
        let written = [ledger, wal].map(|file| file.map(|(_, written)| written));
        Self { ledger: ledger.map(|(file, _)| file), wal: wal.map(|(file, _)| file), written }
    }

    /// How long the `-wal` is, in bytes.
    fn wal_bytes(&self) -> u64 {
        self.written[1].map_or(0, |(_, bytes)| bytes)
    }
}

impl Sqlite {
    /// Opens a ledger for writing, makes it if it is not there, and brings its schema up to date.
    ///
    /// # Errors
    /// See [`LedgerError`]; a file of another kind, or one that is damaged, is left untouched.
    pub fn open(path: &Path) -> Result<Self, LedgerError> {
        Self::open_holding(path, 0, None)
    }

    /// The same, and notes for good, before anything vouches for what is there, that nothing vouched for its last entries.
    ///
    /// # Errors
    /// As [`open`](Self::open).
    pub fn open_noting(path: &Path, note: Note<'_>) -> Result<Self, LedgerError> {
        Self::open_holding(path, 0, Some(note))
    }

    /// The same where so many entries have to be there already.
    fn open_holding(path: &Path, least: u64, note: Option<Note<'_>>) -> Result<Self, LedgerError> {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        if let Some(kind) = network_drive(folder) {
            return Err(LedgerError::Network { path: path.into(), kind });
        }
        let is_there = std::fs::metadata(path).is_ok_and(|found| found.len() > 0);
        if let Some(gone) = gone(path) {
            return Err(gone);
        }
        if record::is_one(path) {
            return Err(LedgerError::Record(path.into()));
        }
        let lock = lock(path)?;
        let is_new = lock.is_new;
        Self::open_locked(path, is_there, least, note, lock).inspect_err(|_| {
            if is_new {
                // Nothing is left lying about.
                let _ = std::fs::remove_file(path);
            }
        })
    }

    fn open_locked(
        path: &Path,
        is_there: bool,
        least: u64,
        note: Option<Note<'_>>,
        lock: Lock,
    ) -> Result<Self, LedgerError> {
        let real = std::fs::canonicalize(path).unwrap_or_else(|_| path.into());
        let (mut records, mut links) = (Vec::new(), vec![Link::START]);
        let mut take = |record: Record<'_>| {
            links.push(links[links.len() - 1].then(&record));
            records.push(record.into_owned());
            Ok(())
        };
        // Nothing is written before all of it was found whole.
        let found = match is_there.then(|| read::open(path)).transpose()? {
            Some(reading) if !reading.is_blank() => Some(reading.walk(path, &mut take)?.whole(path)?),
            _ => None,
        };
        if found.as_ref().map_or(0, |found| found.entries) < least {
            return Err(LedgerError::Empty(path.into()));
        }
        let mut db = Connection::open(&real).map_err(fault(path))?;
        let ready = |db: &Connection| -> Result<(), rusqlite::Error> {
            db.busy_timeout(PATIENCE)?;
            // It is folded into the ledger here, and only when it is known to be whole and in its place.
            db.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
            // Begun anew, the -wal is as long as what was written since.
            // EXTRA also for the journal of this very step: were the folder not synchronised, an old journal could come
            // back after a loss of power.
            db.execute_batch(
                "PRAGMA synchronous = EXTRA; PRAGMA journal_mode = WAL; PRAGMA wal_autocheckpoint = 0; \
                 PRAGMA journal_size_limit = 0;",
            )
        };
        ready(&db).map_err(fault(path))?;
        migrate(&mut db, path, MIGRATIONS.len())?;
        let disk = |e: std::io::Error| LedgerError::Disk { path: path.into(), problem: e.to_string() };
        let is_unvouched = found.as_ref().is_some_and(|found| found.ending == Ending::Unmarked);
        let noted = note.filter(|_| is_unvouched).and_then(|note| Some(behind(records.last()?, note())));
        // Whoever holds the file refuses it here, before anything beside it is touched.
        let begun = db.transaction_with_behavior(TransactionBehavior::Immediate).map_err(fault(path))?;
        begun.execute("UPDATE state SET is_open = 1", []).map_err(fault(path))?;
        let is_noted = noted.is_some();
        if let Some(record) = noted {
            let link = links[links.len() - 1].then(&record);
            if insert(&begun, &record, &link).map_err(fault(path))? != 1 {
                let problem = "it takes no entry".into();
                return Err(LedgerError::Refused { path: path.into(), problem });
            }
            records.push(record);
            links.push(link);
        }
        let marked = Marked { seq: records.len() as u64, link: links[records.len()] };
        let mark = if is_noted {
            // A mark that was there before the note would vouch for an end that nobody knows.
            begun.commit().map_err(fault(path))?;
            Mark::begin(&real, marked).map_err(disk)?
        } else {
            // First the mark, then the ledger that says there is one.
            let mark = Mark::begin(&real, marked).map_err(disk)?;
            begun.commit().map_err(fault(path))?;
            mark
        };
        checkpoint(&db).map_err(fault(path))?;
        sync_folder(&real).map_err(disk)?;
        let (places, frames) = (Places::of(&real), Frames::of(&beside(&real, "-wal")));
        let (path, is_folded, is_gone) = (path.to_path_buf(), false, false);
        Ok(Self {
            path,
            real,
            db,
            records,
            links,
            mark,
            places,
            frames,
            is_folded,
            found,
            is_gone,
            _lock: lock,
        })
    }

    /// As [`open_noting`](Self::open_noting), for a ledger that must be there and have a class in it.
    ///
    /// # Errors
    /// See [`LedgerError`]; one that is empty is left as it is.
    pub fn reopen(path: &Path, note: Note<'_>) -> Result<Self, LedgerError> {
        if path.exists() {
            Self::open_holding(path, 1, Some(note))
        } else {
            Err(gone(path).unwrap_or_else(|| LedgerError::Missing(path.into())))
        }
    }

    /// What was found in it; nothing if it is new.
    pub fn found(&self) -> Option<&Found> {
        self.found.as_ref()
    }

    /// Writes entries behind entry `last`, unless somebody else wrote to the file since it was looked at: the number of the
    /// last entry that was found there.
    fn write(
        &mut self,
        last: u64,
        records: &[Record<'_>],
        links: &[Link],
    ) -> Result<Option<u64>, rusqlite::Error> {
        let transaction = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        // From here on nobody else writes.
        if Places::of(&self.real).written != self.places.written {
            return Ok(None);
        }
        {
            let mut highest = transaction.prepare_cached("SELECT coalesce(max(seq), 0) FROM event")?;
            let found = highest.query_row([], |row| row.get::<_, i64>(0))?.unsigned_abs();
            if found != last {
                return Ok(Some(found));
            }
            for (record, link) in records.iter().zip(links) {
                // A trigger that somebody has put into the file may have swallowed it.
                if insert(&transaction, record, link)? != 1 {
                    return Ok(Some(record.seq));
                }
            }
            if let (0, Some(first)) = (last, records.first()) {
                transaction.execute("UPDATE state SET first = ?1", [&first.json])?;
            }
        }
        transaction.commit()?;
        Ok(Some(last))
    }

    fn marked(&self) -> Marked {
        Marked { seq: self.records.len() as u64, link: self.links[self.records.len()] }
    }

    fn gone(&mut self, how: &'static str) -> LedgerError {
        self.is_gone = true;
        LedgerError::Gone { path: self.path.clone(), how }
    }

    /// What became of the files, if others lie at their places or none.
    fn is_elsewhere(&self, now: &Places) -> Option<&'static str> {
        let before = self.places;
        match (now.ledger, now.wal) {
            _ if self.is_gone => Some("is not where it was"),
            (None, _) => Some("was removed or moved"),
            (ledger, _) if ledger != before.ledger => Some("was replaced by another file"),
            (_, None) if before.wal.is_some() => Some("lost its -wal"),
            (_, wal) if before.wal.is_some() && wal != before.wal => Some("had its -wal replaced"),
            _ => None,
        }
    }

    /// Whether the ledger lies where it was, and ends as `marked` says.
    fn look(&mut self, marked: Marked) -> Result<(), LedgerError> {
        let now = Places::of(&self.real);
        let before = self.places;
        if let Some(how) = self.is_elsewhere(&now) {
            return Err(self.gone(how));
        }
        // Somebody has written to it, who is not this host: is it still the same class?
        let is_changed = now.written != before.written || !self.frames.stand();
        if is_changed && !self.is_still(marked) {
            return Err(self.gone("was overwritten"));
        }
        if is_changed {
            self.frames.take(0, 0);
        }
        self.places = now;
        if !self.mark.is_there() {
            self.mark = Mark::begin(&self.real, marked)
                .map_err(|e| LedgerError::Disk { path: self.path.clone(), problem: e.to_string() })?;
        }
        Ok(())
    }

    /// Whether the file as it lies there holds every entry up to this one, and no other, and would after a crash.
    fn is_still(&self, marked: Marked) -> bool {
        if !self.frames.can_be_read() {
            return false;
        }
        let found = read::own(&self.real).and_then(|reading| reading.walk(&self.real, &mut |_| Ok(())));
        found.is_ok_and(|found| {
            found.broken.is_none() && (found.entries, found.link) == (marked.seq, marked.link)
        })
    }

    /// Whether the `-wal` was begun anew by the commit after it was folded in.
    fn is_anew(&self) -> bool {
        self.is_folded && self.frames.began_anew()
    }

    /// Whether what lies there now can be this host's own writing and nobody else's: a commit only makes the `-wal` longer, or
    /// begins it anew.
    fn is_own_writing(&self, now: &Places) -> bool {
        let is_longer = || now.wal_bytes() >= self.places.wal_bytes() && self.frames.stand();
        now.written[0] == self.places.written[0] && (self.is_anew() || is_longer())
    }

    /// What was written just now was written by this host, or all of it is still as it has to be.
    fn wrote(&mut self, marked: Marked) -> Result<(), LedgerError> {
        let now = Places::of(&self.real);
        if !self.is_own_writing(&now) && !self.is_still(marked) {
            return Err(self.gone(self.is_elsewhere(&now).unwrap_or("was overwritten")));
        }
        let before = if self.is_anew() { 0 } else { self.places.wal_bytes() };
        self.is_folded = false;
        self.frames.take(before, now.wal_bytes());
        self.places.written = now.written;
        Ok(())
    }

    /// Folds the `-wal` into the ledger when it has grown long.
    fn fold(&mut self) {
        if self.places.wal_bytes() <= WAL_BYTES {
            return;
        }
        // How many frames there are, and how many are in the ledger: all of them, unless somebody reads at this moment.
        let frames = |row: &rusqlite::Row<'_>| Ok((row.get::<_, i64>(1)?, row.get::<_, i64>(2)?));
        if let Ok((there, folded)) = self.db.query_row("PRAGMA wal_checkpoint(PASSIVE)", [], frames) {
            self.places.written = Places::of(&self.real).written;
            self.is_folded = there == folded;
        }
    }

    /// Says in the ledger itself how far it has come, and leaves it as one file.
    fn close(&mut self) {
        let marked = self.marked();
        let close = || -> Result<(), rusqlite::Error> {
            let link = marked.link.as_bytes().as_slice();
            self.db.execute(
                "UPDATE state SET is_open = 0, seq = ?1, link = ?2",
                params![marked.seq as i64, link],
            )?;
            checkpoint(&self.db)?;
            self.db.execute_batch("PRAGMA journal_mode = DELETE")
        };
        // Whoever reads at this moment keeps it from becoming one file; with what lies beside it, it is as good.
        if close().is_ok() {
            mark::remove(&self.real);
        }
    }
}

/// How many entries were put in: one.
fn insert(db: &Connection, record: &Record<'_>, link: &Link) -> Result<usize, rusqlite::Error> {
    let mut insert =
        db.prepare_cached("INSERT INTO event (seq, at_us, kind, body, link) VALUES (?1, ?2, ?3, ?4, ?5)")?;
    let link = link.as_bytes().as_slice();
    insert.execute(params![record.seq as i64, record.at.0, record.kind, record.json, link])
}

/// An entry of a kind and its JSON behind another one.
fn behind(last: &Record<'_>, (kind, json): (String, String)) -> Record<'static> {
    Record { seq: last.seq + 1, at: last.at, kind: kind.into(), json: json.into(), once: None }
}

/// Folds all of the `-wal` into the ledger, unless somebody reads it at this moment.
fn checkpoint(db: &Connection) -> Result<(), rusqlite::Error> {
    db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))
}

impl Drop for Sqlite {
    fn drop(&mut self) {
        let marked = self.marked();
        if self.look(marked).is_ok() {
            self.close();
        }
    }
}

impl Ledger for Sqlite {
    fn path(&self) -> &Path {
        &self.path
    }

    fn append(&mut self, last: u64, records: &[Record<'_>]) -> Result<(), LedgerError> {
        let path = self.path.clone();
        numbered(&path, last, records)?;
        let mut link = self.marked().link;
        let links: Vec<Link> = records
            .iter()
            .map(|record| {
                link = link.then(record);
                link
            })
            .collect();
        // What others have done to it meanwhile is not taken for this host's own writing.
        let mut looks = 0;
        let written = loop {
            self.look(self.marked())?;
            looks += 1;
            match self.write(last, records, &links).map_err(fault(&path)) {
                Ok(Some(found)) => break Ok(found),
                Ok(None) if looks < LOOKS => {}
                Ok(None) => return Err(LedgerError::Busy(path)),
                Err(error) => break Err(error),
            }
        };
        let marked = Marked { seq: last + records.len() as u64, link };
        let is_written = written.as_ref().is_ok_and(|found| *found == last);
        self.wrote(if is_written { marked } else { self.marked() })?;
        match written {
            Ok(found) if found == last => {}
            // This host alone appends: whoever has taken entries out of the file or put some in has overwritten it.
            Ok(_) if last == self.marked().seq => return Err(self.gone("was overwritten")),
            Ok(found) => return Err(LedgerError::Moved { path, expected: last, found }),
            Err(LedgerError::Broken { .. } | LedgerError::Foreign(_)) => {
                return Err(self.gone("was overwritten"));
            }
            Err(error) => return Err(error),
        }
        self.mark.set(marked).map_err(|e| LedgerError::Disk { path, problem: e.to_string() })?;
        // Before anybody hears of it.
        self.look(marked)?;
        self.records.extend(records.iter().map(|record| record.clone().into_owned()));
        self.links.extend(links);
        self.fold();
        Ok(())
    }

    fn visit(&self, each: Visitor<'_>) -> Result<(), LedgerError> {
        for record in &self.records {
            let (seq, shown) = (record.seq as i64, Record { once: None, ..record.clone() });
            each(shown).map_err(|problem| LedgerError::Entry { path: self.path.clone(), seq, problem })?;
        }
        Ok(())
    }

    fn link(&self, seq: u64) -> Option<Link> {
        self.links.get(usize::try_from(seq).ok()?).copied()
    }

    fn in_place(&mut self) -> Result<(), LedgerError> {
        self.look(self.marked())
    }

    fn settle(&mut self) -> Result<(), LedgerError> {
        let marked = self.marked();
        self.look(marked)?;
        if self.is_still(marked) { Ok(()) } else { Err(self.gone("was overwritten")) }
    }

    fn rescue(&mut self) -> Result<(), LedgerError> {
        let name = self.path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let name = name.split_once(".rescued").map_or(name.as_str(), |(name, _)| name);
        // Its folder may be gone, too.
        let folders =
            [self.real.parent().map(PathBuf::from), std::env::current_dir().ok(), Some(std::env::temp_dir())];
        let mut refused = LedgerError::Disk {
            path: self.path.clone(),
            problem: "no folder is there for what was kept".into(),
        };
        for folder in folders.into_iter().flatten() {
            match self.rescued_to(&folder.join(name)) {
                Ok(fresh) => {
                    *self = fresh;
                    return Ok(());
                }
                Err(error) => refused = error,
            }
        }
        Err(refused)
    }
}

impl Sqlite {
    /// All that was kept, in a fresh ledger whose name begins with this one.
    fn rescued_to(&self, stem: &Path) -> Result<Self, LedgerError> {
        let free = |path: &PathBuf| {
            !path.exists() && !mark::path_of(path).exists() && !beside(path, "-wal").exists()
        };
        let Some(path) = rescues(stem).find(free) else {
            let problem = "no name is free for what was rescued".into();
            return Err(LedgerError::Disk { path: self.path.clone(), problem });
        };
        // Whole or not at all, wherever a host goes down in the middle of this.
        fresh::write(&path, &self.records, 1)?;
        Self::open(&path)
    }
}

#[cfg(test)]
mod tests;
