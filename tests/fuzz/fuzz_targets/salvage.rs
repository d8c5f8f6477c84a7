//! The bytes of a ledger, or of the `-wal` beside one that is whole: it is read as far as it goes, and what is saved of it
//! is a whole ledger with all that was read and proven, that makes a room or a sentence why not.
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
    let mut shown = Vec::new();
    let found = inspect(&from, |record| {
        shown.push(record.into_owned());
        Ok(())
    });
    match found {
        Ok(found) => {
            assert_eq!(found.entries, shown.len() as u64);
            // Only a link proves them.
            if found.entries < found.chained_from {
                shown.clear();
            }
        }
        Err(error) => {
            assert!(!error.to_string().is_empty());
            shown.clear();
        }
    }
    let done = match salvage(&from, &to, &Events) {
        Ok(Some(done)) => done,
        Ok(None) => {
            assert!(shown.is_empty() && !to.exists());
            return;
        }
        Err(error) => {
            assert!(shown.is_empty() && !error.to_string().is_empty() && !to.exists());
            return;
        }
    };
    let (mut entries, mut proven) = (Vec::new(), shown.into_iter());
    let found = inspect(&to, |record| {
        if let Some(proven) = proven.next() {
            assert_eq!(record, proven);
        }
        let Record { seq, at, kind, json, .. } = record;
        entries.push(Event::read(&kind, &json).map(|event| Entry::new(seq, at, event)));
        Ok(())
    });
    let found = found.unwrap();
    assert_eq!(proven.next(), None);
    assert_eq!((found.entries, found.chained_from, found.broken), (done.entries + u64::from(!done.end_known), 1, None));
    // What was proven to be as it was written may be of a kind that this program does not know.
    if let Err(words) = entries.into_iter().collect::<Result<Vec<_>, _>>().and_then(Room::replay) {
        assert!(!words.is_empty());
    }
});
