//! Reads many ledgers at once, each on one of the machine's threads.

use host::HostError;
use room::light::{ClassScores, Reader};
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use summary::several::digest::Digest;
use thiserror::Error;

/// Why classes can't be pooled.
#[derive(Debug, Error)]
pub enum PoolError {
    /// A ledger.
    #[error(transparent)]
    Ledger(#[from] HostError),
    /// One class twice.
    #[error("{0} and {1} are ledgers of one and the same class; name each class once")]
    Twice(PathBuf, PathBuf),
}

/// One ledger, read and worked up.
type Read = Result<(ClassScores, Digest), HostError>;

/// The classes of some ledgers in the order of their days, worked up.
///
/// # Errors
/// The first ledger, in the order given, that can't be read, or one that is there twice.
pub fn read(paths: &[PathBuf]) -> Result<Vec<(ClassScores, Digest)>, PoolError> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from).min(paths.len());
    let next = AtomicUsize::new(0);
    let work = || {
        let mut done = Vec::new();
        while let Some((place, path)) =
            Some(next.fetch_add(1, Ordering::Relaxed)).and_then(|i| Some((i, paths.get(i)?)))
        {
            done.push((place, one(path)));
        }
        done
    };
    let mut found: Vec<(usize, Read)> = std::thread::scope(|scope| {
        let others: Vec<_> = (1..threads).map(|_| scope.spawn(work)).collect();
        let mut done = work();
        for other in others {
            done.extend(other.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
        }
        done
    });
    found.sort_by_key(|(place, _)| *place);
    let mut classes = Vec::new();
    let mut seen: HashMap<uuid::Uuid, usize> = HashMap::new();
    for (place, class) in found {
        let class = class?;
        if let Some(first) = seen.insert(class.0.class_id, place) {
            return Err(PoolError::Twice(paths[first].clone(), paths[place].clone()));
        }
        classes.push(class);
    }
    classes.sort_by(|(a, _), (b, _)| a.class.date.cmp(&b.class.date));
    Ok(classes)
}

fn one(path: &Path) -> Read {
    let mut reader = Reader::default();
    ledger::visit(path, |record| reader.take(record.seq, &record.kind, &record.json))?;
    let record = reader.finish().map_err(|problem| HostError::Replay(path.into(), problem))?;
    let digest = Digest::of(&record);
    Ok((record, digest))
}
