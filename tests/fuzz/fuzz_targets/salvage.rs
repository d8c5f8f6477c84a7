//! The bytes of a ledger, or of the `-wal` beside one that is whole: it is read as far as it goes, and whatever is saved of it
//! is a whole ledger that makes a room or a sentence why not.
#![no_main]

use ledger::salvage::salvage;
use ledger::{Record, inspect};
use libfuzzer_sys::fuzz_target;
use room::{Entry, Event, Room};
use server::commands::salvage::Events;
use std::fs::write;

/// What the `-wal` belongs to.
const OPEN: &[u8] = include_bytes!("../seeds/salvage/open");
/// How a `-wal` begins, but for its lowest bit.
const WAL: &[u8] = &[0x37, 0x7f, 0x06];

fuzz_target!(|bytes: &[u8]| {
    let folder = tempfile::tempdir().unwrap();
    let [from, wal, to] = ["a.ledger", "a.ledger-wal", "b.ledger"].map(|name| folder.path().join(name));
    if bytes.starts_with(WAL) {
        write(&from, OPEN).unwrap();
        write(&wal, bytes).unwrap();
    } else {
        write(&from, bytes).unwrap();
    }
    let mut shown = 0;
    let found = inspect(&from, |_| {
        shown += 1;
        Ok(())
    });
    match found {
        Ok(found) => assert_eq!(found.entries, shown),
        Err(error) => assert!(!error.to_string().is_empty()),
    }
    let done = match salvage(&from, &to, &Events) {
        Ok(Some(done)) => done,
        Ok(None) => {
            assert!(!to.exists());
            return;
        }
        Err(error) => {
            assert!(!error.to_string().is_empty() && !to.exists());
            return;
        }
    };
    let mut entries = Vec::new();
    let found = inspect(&to, |Record { seq, at, kind, json, .. }| {
        entries.push(Event::read(&kind, &json).map(|event| Entry { seq, at, event }));
        Ok(())
    });
    let found = found.unwrap();
    assert_eq!((found.entries, found.chained_from, found.broken), (done.entries, 1, None));
    // What was proven to be as it was written may be of a kind that this program does not know.
    if let Err(words) = entries.into_iter().collect::<Result<Vec<_>, _>>().and_then(Room::replay) {
        assert!(!words.is_empty());
    }
});
