//! A ledger in memory, for tests and rehearsals that leave nothing behind. Handles made by `clone` share one ledger.

use super::{Ledger, LedgerError, Link, Record, Visitor, numbered};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// A ledger that lasts as long as its last handle.
#[derive(Clone, Debug)]
pub struct Memory {
    name: PathBuf,
    records: Arc<Mutex<Vec<Record<'static>>>>,
}

impl Memory {
    /// An empty ledger that is called `name` when something is said about it.
    pub fn new(name: &str) -> Self {
        Self { name: name.into(), records: Arc::default() }
    }

    fn records(&self) -> MutexGuard<'_, Vec<Record<'static>>> {
        // Records are only ever added whole, so that a panic elsewhere leaves none half-written.
        self.records.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Ledger for Memory {
    fn path(&self) -> &Path {
        &self.name
    }

    fn append(&mut self, last: u64, records: &[Record<'_>]) -> Result<(), LedgerError> {
        numbered(&self.name, last, records)?;
        let mut kept = self.records();
        let found = kept.last().map_or(0, |record| record.seq);
        if found != last {
            return Err(LedgerError::Moved { path: self.name.clone(), expected: last, found });
        }
        let before = kept.len();
        for record in records {
            if record.once.is_some() && kept.iter().any(|k| k.once == record.once) {
                kept.truncate(before);
                let problem = "what may be there once is there already".into();
                return Err(LedgerError::Disk { path: self.name.clone(), problem });
            }
            kept.push(record.clone().into_owned());
        }
        Ok(())
    }

    fn visit(&self, each: Visitor<'_>) -> Result<(), LedgerError> {
        for record in self.records().iter() {
            each(Record { once: None, ..record.clone() }).map_err(|problem| LedgerError::Entry {
                path: self.name.clone(),
                seq: record.seq as i64,
                problem,
            })?;
        }
        Ok(())
    }

    fn link(&self, seq: u64) -> Option<Link> {
        let records = self.records();
        let before = records.get(..usize::try_from(seq).ok()?)?;
        Some(before.iter().fold(Link::START, |link, record| link.then(record)))
    }

    fn in_place(&mut self) -> Result<(), LedgerError> {
        Ok(())
    }

    fn settle(&mut self) -> Result<(), LedgerError> {
        Ok(())
    }

    fn rescue(&mut self) -> Result<(), LedgerError> {
        Ok(())
    }
}
