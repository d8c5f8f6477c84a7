//! Reads many ledgers at once, each on one of the machine's threads.

use super::Part;
use host::HostError;
use protocol::text::{NAME_CHARS, clean, name_key};
use room::light::{ClassScores, Reader};
use room::near::nearest;
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
    /// A seat that is to be left out and sat in none of them.
    #[error("no seat is named {0} in any of these classes{1}")]
    Nobody(String, String),
}

/// One ledger, read and worked up.
type Read = Result<(ClassScores, Digest), HostError>;

/// The classes of some ledgers in the order of their days, worked up, without the seats of some names.
///
/// # Errors
/// The first ledger, in the order given, that can't be read, or one that is there twice, or a name that no seat
/// has.
pub fn read(paths: &[PathBuf], part: Part<'_>) -> Result<Vec<(ClassScores, Digest)>, PoolError> {
    read_by(std::thread::available_parallelism().map_or(1, usize::from), paths, part)
}

/// The same by so many threads, the caller's among them. However many there are, each class is worked up by one, and all are
/// put together in the order given.
///
/// # Errors
/// As [`read`].
pub fn read_by(
    threads: usize,
    paths: &[PathBuf],
    part: Part<'_>,
) -> Result<Vec<(ClassScores, Digest)>, PoolError> {
    let threads = threads.min(paths.len());
    let next = AtomicUsize::new(0);
    let work = || {
        let mut done = Vec::new();
        while let Some((place, path)) =
            Some(next.fetch_add(1, Ordering::Relaxed)).and_then(|i| Some((i, paths.get(i)?)))
        {
            done.push((place, one(path, part)));
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
    let names = |(record, _): &(ClassScores, Digest)| {
        [&record.seats, &record.left_out, &record.joined, &record.former_names]
            .into_iter()
            .flatten()
            .cloned()
            .collect::<Vec<_>>()
    };
    known(part.without, &classes.iter().flat_map(names).collect::<Vec<_>>())?;
    classes.sort_by(|(a, _), (b, _)| a.class.date.cmp(&b.class.date));
    Ok(classes)
}

/// Whether each of some names is that of a seat, or was.
pub(super) fn known(without: &[String], names: &[String]) -> Result<(), PoolError> {
    for name in without {
        if !names.iter().any(|known| name_key(known) == name_key(name)) {
            let meant = nearest(name, names.iter().map(String::as_str));
            let meant = meant.map_or(String::new(), |near| format!("; did you mean {near}?"));
            return Err(PoolError::Nobody(clean(name, NAME_CHARS), meant));
        }
    }
    Ok(())
}

fn one(path: &Path, part: Part<'_>) -> Read {
    let mut reader = Reader::without(part.without);
    let found = ledger::inspect(path, |record| reader.take(record.seq, &record.kind, &record.json))?;
    let broken = found.breaks_off();
    if !part.up_to_break || found.entries == 0 {
        found.whole(path)?;
    }
    let mut record = reader.finish().map_err(|problem| HostError::Replay(path.into(), problem))?;
    broken.iter().for_each(|why| record.damage.breaks_off(why));
    let digest = Digest::of(&record);
    Ok((record, digest))
}
