//! Saves of a damaged ledger or record whatever is whole: read raw, chosen by its links, written into a new ledger.

mod choose;
mod history;
mod repair;
mod scan;
#[cfg(test)]
mod tests;

use crate::head::{Head, gone, head};
use crate::{Ending, LedgerError, Link, Record, beside, fresh, mark, record};
use scan::{Cell, Finds};
use std::path::Path;

/// What entries mean, of which this crate knows nothing.
pub trait Meaning {
    /// The kind under which an entry is to be filed; nothing if it can't be read.
    fn kind(&self, json: &str) -> Option<String>;

    /// Kind and JSON of an entry that stands where another one was lost.
    fn lost(&self) -> (String, String);

    /// Kind and JSON of an entry behind the last one that was found, where more may have been written.
    fn end_unknown(&self) -> (String, String);
}

/// What has become of the entries.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Salvaged {
    /// How many there are, with those that are lost.
    pub entries: u64,
    /// The numbers of those that were changed and could be put right: their links prove it.
    pub mended: Vec<u64>,
    /// The numbers of those that were changed after they were written, and are taken as they read.
    pub changed: Vec<u64>,
    /// The numbers of those that nothing can be said about, and are taken as they read.
    pub unproven: Vec<u64>,
    /// The numbers of those that are lost.
    pub lost: Vec<u64>,
    /// The numbers at which entries were found that are proven to be of another ledger: they are left out.
    pub others: Vec<u64>,
    /// Whether something tells that no more was written. If not, one more entry behind them says so for good.
    pub end_known: bool,
}

impl Salvaged {
    /// How many entries are proven to be as they were written.
    pub fn proven(&self) -> u64 {
        self.entries - (self.lost.len() + self.changed.len() + self.unproven.len()) as u64
    }
}

/// Everything that has the shape of an entry.
fn finds(path: &Path, bytes: &[u8], wal: &[u8]) -> Finds {
    if !record::is_one(path) {
        return scan::scan(bytes, wal);
    }
    let cell = |(record, link): (Record<'_>, Option<Link>)| Cell {
        seq: record.seq,
        at: record.at.0,
        kind: record.kind.into(),
        json: record.json.into(),
        link,
    };
    let cells = record::cells(bytes).into_iter().map(cell).collect();
    Finds { cells, closed_at: record::entries(bytes).into_iter().collect(), ..Finds::default() }
}

/// Entries that can be saved, and what has become of them.
type Saved = (Vec<Record<'static>>, Salvaged);

/// All of a ledger or a record, if it is whole.
fn whole(path: &Path) -> Option<Saved> {
    let mut records = Vec::new();
    let found = crate::inspect(path, |record| {
        records.push(record.into_owned());
        Ok(())
    });
    let found = found.ok().filter(|found| found.broken.is_none() && found.entries > 0)?;
    let end_known = matches!(found.ending, Ending::Closed | Ending::Open);
    let done = Salvaged { entries: found.entries, end_known, ..Salvaged::default() };
    Some((records, done))
}

/// Of two ledgers the one of which more is proven to be whole; what the other one has there is left out.
fn most(two: [Option<Saved>; 2]) -> Option<Saved> {
    match two {
        [Some(one), Some(other)] => {
            let is_less = one.1.proven() < other.1.proven();
            let ((records, mut done), (left, _)) = if is_less { (other, one) } else { (one, other) };
            let differ = |left: &&Record<'_>| records.get(left.seq as usize - 1) != Some(*left);
            done.others.extend(left.iter().filter(differ).map(|left| left.seq));
            done.others.sort_unstable();
            done.others.dedup();
            Some((records, done))
        }
        [one, other] => one.or(other),
    }
}

/// Writes whatever is whole of a ledger or a record into a new ledger, chained anew. Entries keep their numbers. Nothing if
/// the first entry can't be had from anywhere: then nothing is written.
///
/// # Errors
/// See [`LedgerError`]; nothing is written then.
pub fn salvage(from: &Path, to: &Path, meaning: &dyn Meaning) -> Result<Option<Salvaged>, LedgerError> {
    let disk = |e: std::io::Error| LedgerError::Disk { path: from.into(), problem: e.to_string() };
    let is_gone = gone(from).is_some();
    if !is_gone && !from.exists() {
        return Err(LedgerError::Missing(from.into()));
    }
    // Before anything is opened as a ledger, and in the order in which a host gets ahead of them.
    let real = std::fs::canonicalize(from).unwrap_or_else(|_| from.into());
    let marked = mark::read(&real).map(|marked| (marked.seq, marked.link));
    let bytes =
        std::fs::read(&real).or_else(|e| if is_gone { Ok(Vec::new()) } else { Err(e) }).map_err(disk)?;
    let wal = std::fs::read(beside(&real, "-wal")).unwrap_or_default();
    let chosen = |bytes: &[u8], wal: &[u8], marked: &[(u64, Link)]| {
        let finds = finds(&real, bytes, wal);
        let (records, mut done) = choose::choose(&finds, marked, meaning)?;
        done.end_known = !marked.is_empty() || finds.ends_at(done.entries);
        Some((records, done))
    };
    let saved = if is_gone {
        chosen(&[], &wal, marked.as_slice())
    } else if !wal.is_empty() && head(&real) == Head::Closed {
        // What was closed needs no -wal: that one, and the mark, are of another ledger.
        let closed = whole(from).or_else(|| chosen(&bytes, &[], &[]));
        most([closed, chosen(&[], &wal, marked.as_slice())])
    } else {
        whole(from).or_else(|| chosen(&bytes, &wal, marked.as_slice()))
    };
    let Some((mut records, mut done)) = saved else { return Ok(None) };
    if let (false, Some(last)) = (done.end_known, records.last()) {
        let (kind, json) = meaning.end_unknown();
        records.push(Record {
            seq: last.seq + 1,
            at: last.at,
            kind: kind.into(),
            json: json.into(),
            once: None,
        });
    }
    loop {
        match fresh::write(to, &records, 1) {
            // It can't stand behind those before it: a score that was changed into another one.
            Err(LedgerError::Entry { seq, .. }) if !done.lost.contains(&seq.unsigned_abs()) => {
                let (kind, json) = meaning.lost();
                let seq = seq.unsigned_abs();
                let at = records[seq as usize - 1].at;
                records[seq as usize - 1] =
                    Record { seq, at, kind: kind.into(), json: json.into(), once: None };
                done.changed.retain(|other| *other != seq);
                done.unproven.retain(|other| *other != seq);
                done.lost.push(seq);
                done.lost.sort_unstable();
            }
            other => return other.map(|()| Some(done)),
        }
    }
}
