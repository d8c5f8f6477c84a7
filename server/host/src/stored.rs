//! The events of a class as a ledger stores them.

use ledger::{Ledger, LedgerError, Record};
use room::{DoorTerms, Entry, Event, Kind};
use std::path::Path;

/// Everything in a ledger.
///
/// # Errors
/// See [`LedgerError`].
pub fn entries(ledger: &dyn Ledger) -> Result<Vec<Entry>, LedgerError> {
    let mut entries = Vec::new();
    ledger.visit(&mut |record| take(record, &mut entries))?;
    Ok(entries)
}

/// Everything in a ledger file, read without changing it; a host may be writing meanwhile.
///
/// # Errors
/// See [`LedgerError`].
pub fn read(path: &Path) -> Result<Vec<Entry>, LedgerError> {
    let mut entries = Vec::new();
    ledger::visit(path, |record| take(record, &mut entries))?;
    Ok(entries)
}

/// At what pace a ledger file was first opened; nothing if there is no such file, or nobody has opened it yet.
///
/// # Errors
/// See [`LedgerError`].
pub fn first_pace(path: &Path) -> Result<Option<f64>, LedgerError> {
    let mut first = None;
    visit_begun(path, |record| {
        if first.is_none()
            && record.kind == Kind::Opened.name()
            && let Event::Opened { pace, .. } = Event::read(&record.kind, &record.json)?
        {
            first = Some(pace);
        }
        Ok(())
    })?;
    Ok(first)
}

/// On which terms people come to the class in a ledger file; the usual ones if there is no such file, or no class in it yet.
///
/// # Errors
/// See [`LedgerError`].
pub fn door(path: &Path) -> Result<DoorTerms, LedgerError> {
    let mut last = DoorTerms::default();
    visit_begun(path, |record| {
        if [Kind::Opened.name(), Kind::DoorSet.name()].contains(&&*record.kind)
            && let Event::Opened { door, .. } | Event::DoorSet { door } =
                Event::read(&record.kind, &record.json)?
        {
            last = door;
        }
        Ok(())
    })?;
    Ok(last)
}

/// Visits the records of a ledger that is to be opened: none of one that is not there, or whose host was ended before it wrote the first.
fn visit_begun(path: &Path, visit: impl FnMut(Record<'_>) -> Result<(), String>) -> Result<(), LedgerError> {
    if !path.exists() {
        return Ok(());
    }
    match ledger::visit(path, visit) {
        Err(LedgerError::Empty(_)) => Ok(()),
        done => done,
    }
}

fn take(record: Record<'_>, entries: &mut Vec<Entry>) -> Result<(), String> {
    entries.push(Entry::read(record.seq, record.at, &record.kind, &record.json)?);
    Ok(())
}

/// Appends entries behind the last one, all or none, and returns once they are on disk.
///
/// # Errors
/// See [`LedgerError`]; nothing has been appended then.
pub fn append(ledger: &mut dyn Ledger, entries: &[Entry]) -> Result<(), LedgerError> {
    let Some(first) = entries.first() else { return Ok(()) };
    let record = |entry: &Entry| {
        let json = entry.to_json().map_err(|problem| LedgerError::Entry {
            path: ledger.path().into(),
            seq: entry.seq as i64,
            problem,
        })?;
        let once = match &entry.event {
            Event::Scored { score, .. } => Some(score.id),
            _ => None,
        };
        Ok(Record {
            seq: entry.seq,
            at: entry.at,
            kind: entry.event.kind().name().into(),
            json: json.into(),
            once,
        })
    };
    let records = entries.iter().map(record).collect::<Result<Vec<_>, LedgerError>>()?;
    ledger.append(first.seq.saturating_sub(1), &records)
}
