//! Reads a ledger that a host may open or close at the same moment.
//!
//! What lies beside a ledger is looked at before the ledger itself, and a host that comes or goes in between makes it look
//! damaged. So nothing is called damaged, and no end unknown, before it was found so twice in files that did not change.

use crate::mark::Marked;
use crate::place::{Identity, Written, lies};
use crate::read::{Ending, Found, open};
use crate::{LedgerError, Record, beside, record};
use std::path::Path;
use std::time::Duration;

/// How often a ledger is looked at that changes all the while, and how long it is left alone in between.
const LOOKS: usize = 6;
const PAUSE: Duration = Duration::from_millis(10);

/// What lies at the places of a ledger, and when each of them was last written.
type Lying = [Option<(Identity, Written)>; 3];

/// Looks again while `doubt` has something against what was found, unless it is the same twice.
#[expect(
    clippy::disallowed_methods,
    reason = "a host that comes or goes is another program, and tells nobody"
)]
fn steady<T>(
    lying: impl Fn() -> Lying,
    mut look: impl FnMut() -> Result<T, LedgerError>,
    doubt: impl Fn(&T) -> Option<String>,
) -> Result<T, LedgerError> {
    let (mut before, mut looks) = (None, 0);
    loop {
        looks += 1;
        let lies = lying();
        let found = look();
        let why = match &found {
            Ok(found) => doubt(found),
            Err(e @ (LedgerError::Broken { .. } | LedgerError::OnlyWal(_) | LedgerError::OnlyMark(_))) => {
                Some(e.to_string())
            }
            Err(_) => None,
        };
        let now = why.map(|why| (lies, why));
        if looks == LOOKS || now.is_none() || before == now {
            return found;
        }
        before = now;
        std::thread::sleep(PAUSE);
    }
}

/// What lies at the places of a ledger now.
fn lying(path: &Path) -> Lying {
    let real = std::fs::canonicalize(path).unwrap_or_else(|_| path.into());
    ["", "-wal", "-mark"].map(|ending| lies(&beside(&real, ending)))
}

/// Shows the entries of a ledger or a record up to the first that is not whole, without changing it, and says what was found; a
/// host may be writing meanwhile.
///
/// # Errors
/// See [`LedgerError`]; what `each` can't read is a [`LedgerError::Entry`].
pub fn inspect(
    path: &Path,
    mut each: impl FnMut(Record<'_>) -> Result<(), String>,
) -> Result<Found, LedgerError> {
    if record::is_one(path) {
        return record::inspect(path, &mut each);
    }
    // What was shown is not shown again, and has to be there still.
    let mut seen: Option<Marked> = None;
    let look = || {
        let mut reading = open(path)?;
        if reading.is_blank() {
            return Err(LedgerError::Empty(path.into()));
        }
        reading.seen = seen;
        let shown = seen.map_or(0, |seen| seen.seq);
        let found =
            reading.walk(path, &mut |record| if record.seq > shown { each(record) } else { Ok(()) })?;
        if found.entries > shown {
            seen = Some(Marked { seq: found.entries, link: found.link });
        }
        Ok(found)
    };
    let doubt = |found: &Found| {
        let is_doubtful = found.broken.is_some() || found.ending == Ending::Unmarked;
        is_doubtful.then(|| format!("{found:?}"))
    };
    steady(|| lying(path), look, doubt)
}

/// How a ledger or a record ends, without a look at what is in it.
///
/// # Errors
/// See [`LedgerError`].
pub fn ending(path: &Path) -> Result<Ending, LedgerError> {
    if record::is_one(path) {
        return Ok(Ending::Closed);
    }
    let doubt = |ending: &Ending| (*ending == Ending::Unmarked).then(String::new);
    steady(|| lying(path), || Ok(open(path)?.end()), doubt)
}

/// Shows every entry of a ledger or a record without changing it; a host may be writing meanwhile.
///
/// # Errors
/// See [`LedgerError`]; what `each` can't read is a [`LedgerError::Entry`]. [`LedgerError::Broken`] if not all of it is whole:
/// what was shown is to be forgotten then.
pub fn visit(path: &Path, each: impl FnMut(Record<'_>) -> Result<(), String>) -> Result<(), LedgerError> {
    inspect(path, each)?.whole(path).map(drop)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::story::scored;
    use crate::{Ledger, Sqlite, mark};
    use std::cell::Cell;

    #[test]
    fn what_is_in_doubt_stands_when_it_is_found_twice_in_the_same_files_and_else_is_looked_at_again() {
        let looks = |found: &[&str], changes: bool| {
            let looked = Cell::new(0);
            let lying = || [None, None, changes.then(|| (Identity::none(), (None, looked.get() as u64)))];
            let look = || {
                looked.set(looked.get() + 1);
                Ok(found[(looked.get() - 1).min(found.len() - 1)])
            };
            let found = steady(lying, look, |found| (*found != "whole").then(|| found.to_string()));
            (found.unwrap().to_string(), looked.get())
        };
        assert_eq!(looks(&["whole"], false), ("whole".into(), 1));
        assert_eq!(looks(&["broken", "whole"], true), ("whole".into(), 2));
        assert_eq!(looks(&["broken", "otherwise", "otherwise"], false), ("otherwise".into(), 3));
        assert_eq!(looks(&["broken"], false), ("broken".into(), 2));
        assert_eq!(looks(&["broken"], true), ("broken".into(), LOOKS));
    }

    #[test]
    fn a_damaged_ledger_is_looked_at_twice_and_shows_each_entry_once() {
        let folder = tempfile::tempdir().unwrap();
        let [path, killed] = ["a.ledger", "b.ledger"].map(|name| folder.path().join(name));
        let mut ledger = Sqlite::open(&path).unwrap();
        (1..=5).for_each(|seq| ledger.append(seq - 1, &[scored(seq, seq.into())]).unwrap());
        for ending in ["", "-wal"] {
            std::fs::copy(beside(&path, ending), beside(&killed, ending)).unwrap();
        }
        assert!(!mark::path_of(&killed).exists());
        let mut shown = Vec::new();
        let found = inspect(&killed, |record| {
            shown.push(record.seq);
            Ok(())
        });
        assert_eq!((found.unwrap().ending, &shown[..]), (Ending::Unmarked, &[1, 2, 3, 4, 5][..]));
    }
}
