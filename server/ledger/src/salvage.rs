//! Saves of a damaged ledger or record whatever is whole: read raw, chosen by its links, written into a new ledger.

mod choose;
mod history;
mod lines;
mod repair;
mod scan;
#[cfg(test)]
mod tests;
mod two;

use crate::head::{Head, gone, head};
use crate::mark::{self, Marked};
use crate::{Ending, LedgerError, Link, Record, beside, fresh, record};
use scan::Finds;
use std::path::Path;
use two::Borne;

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
    /// The numbers of entries in the `-wal` beside a closed ledger that nothing joins to those that were saved.
    pub loose: Vec<u64>,
    /// How many entries of another ledger the `-wal` alone would give: the one that was saved has more that is proven.
    pub other_in_wal: Option<u64>,
    /// Up to which entry the mark tells of another ledger than the one that was saved.
    pub mark_of_another: Option<u64>,
    /// With which entry a ledger that was closed says it ends, where its mark tells of more.
    pub closed_at: Option<u64>,
    /// Whether something else was found at the ends of a record's lines than what was written there; it was left out.
    pub line_ends: bool,
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
    if record::is_one(path) { lines::scan(bytes) } else { scan::scan(bytes, wal) }
}

/// Entries that can be saved, what has become of them, and the link behind each, where it is known.
struct Saved {
    records: Vec<Record<'static>>,
    done: Salvaged,
    links: Vec<Option<Link>>,
}

/// All of a ledger or a record, if it is whole.
fn whole(path: &Path) -> Option<Saved> {
    let (mut records, mut links) = (Vec::new(), Vec::new());
    let mut link = Link::START;
    let found = crate::inspect(path, |record| {
        link = link.then(&record);
        links.push(Some(link));
        records.push(record.into_owned());
        Ok(())
    });
    let found = found.ok().filter(|found| found.breaks_off().is_none() && found.entries > 0)?;
    let end_known = matches!(found.ending, Ending::Closed | Ending::Open);
    let done = Salvaged { entries: found.entries, end_known, ..Salvaged::default() };
    Some(Saved { records, done, links })
}

/// What can be saved of these bytes.
fn chosen(finds: &Finds, marked: Option<Marked>, meaning: &dyn Meaning) -> Option<Saved> {
    let key = marked.map(|marked| (marked.seq, marked.link));
    let mut saved = choose::choose(finds, key.as_slice(), meaning)?;
    if let Some(marked) = marked.filter(|_| saved.borne_out(marked) == Borne::Against) {
        // A mark of another ledger tells nothing of this one.
        saved = choose::choose(finds, &[], meaning)?;
        saved.done.mark_of_another = Some(marked.seq);
    }
    let is_marked = marked.is_some() && saved.done.mark_of_another.is_none();
    saved.done.end_known =
        is_marked || finds.ends_with(saved.done.entries, saved.links.last().copied().flatten());
    Some(saved)
}

/// What its own bytes prove to have been written after what can be read of a ledger, for whose end nothing vouches: an earlier
/// `-wal` of its own hides it.
fn hidden(read: &Saved, finds: impl Fn() -> Finds, meaning: &dyn Meaning) -> Option<Saved> {
    if read.done.end_known {
        return None;
    }
    let goes_on = |saved: &Saved| {
        let is_after = saved.done.proven() > read.done.entries;
        is_after && read.links.last().is_some_and(|link| saved.link(read.done.entries) == *link)
    };
    chosen(&finds(), None, meaning).filter(goes_on)
}

/// Up to which entry a ledger was written, as its own bytes prove, where less of it can be read and nothing vouches for its end.
pub fn hidden_end(path: &Path, meaning: &dyn Meaning) -> Option<u64> {
    let read = whole(path).filter(|read| !read.done.end_known)?;
    let real = std::fs::canonicalize(path).ok()?;
    let (bytes, wal) = (std::fs::read(&real).ok()?, std::fs::read(beside(&real, "-wal")).unwrap_or_default());
    Some(hidden(&read, || finds(&real, &bytes, &wal), meaning)?.done.entries)
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
    let marked = mark::read(&real);
    let bytes =
        std::fs::read(&real).or_else(|e| if is_gone { Ok(Vec::new()) } else { Err(e) }).map_err(disk)?;
    let wal = std::fs::read(beside(&real, "-wal")).unwrap_or_default();
    let is_closed = !is_gone && head(&real) == Head::Closed;
    let saved = if is_closed && !wal.is_empty() {
        two::of_two(&bytes, &wal, marked, meaning)
    } else {
        let finds = || finds(&real, &bytes, &wal);
        let read = (!is_gone).then(|| whole(from)).flatten();
        let read = read.map(|read| hidden(&read, finds, meaning).unwrap_or(read));
        read.or_else(|| {
            let finds = finds();
            let mut saved = chosen(&finds, marked, meaning)?;
            let said = finds.closed_at.last().copied().filter(|_| is_closed);
            saved.done.closed_at = said.filter(|&said| marked.is_some_and(|marked| marked.seq > said));
            Some(saved)
        })
    };
    let Some(Saved { mut records, mut done, .. }) = saved else { return Ok(None) };
    done.line_ends = record::is_one(&real) && record::plain(&bytes).is_some();
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
