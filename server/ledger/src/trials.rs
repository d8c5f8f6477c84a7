//! A ledger is damaged in every way that can be counted: whatever is read of it afterwards is what was written, or it is said
//! that it is not.
//!
//! In the suite few of the places are tried; KETTLECALL_TRIALS=2500 tries that many of each kind.

use crate::story::scored;
use crate::{Ledger, LedgerError, Link, Sqlite, beside, inspect};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use std::fs;
use std::path::{Path, PathBuf};

/// How many entries a ledger of these trials has.
const ENTRIES: u64 = 58;

/// What lies at each of the places of a ledger.
struct Files {
    folder: tempfile::TempDir,
    bytes: Vec<(&'static str, Vec<u8>)>,
    link: Link,
}

impl Files {
    /// As a host leaves it that closed it, or one that was killed.
    fn of(closed: bool) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("first.ledger");
        let mut ledger = Sqlite::open(&path).unwrap();
        for seq in 1..=ENTRIES {
            ledger.append(seq - 1, &[scored(seq, seq.into())]).unwrap();
        }
        let link = ledger.link(ENTRIES).unwrap();
        let (endings, ledger) = if closed {
            (drop(ledger), (vec![""], None)).1
        } else {
            (vec!["", "-wal", "-mark"], Some(ledger))
        };
        let bytes = endings.iter().map(|&e| (e, fs::read(beside(&path, e)).unwrap())).collect();
        drop(ledger);
        Self { folder, bytes, link }
    }

    fn size(&self, ending: &str) -> usize {
        self.bytes.iter().find(|(e, _)| *e == ending).unwrap().1.len()
    }

    /// The ledger with something changed at one of its places; without its mark if that is left out.
    fn with(&self, at: &str, marked: bool, change: impl Fn(&mut Vec<u8>)) -> PathBuf {
        let path = self.folder.path().join("tried.ledger");
        for ending in ["", "-wal", "-mark", "-shm"] {
            let _ = fs::remove_file(beside(&path, ending));
        }
        for (ending, bytes) in self.bytes.iter().filter(|(e, _)| marked || *e != "-mark") {
            let mut bytes = bytes.clone();
            if *ending == at {
                change(&mut bytes);
            }
            fs::write(beside(&path, ending), bytes).unwrap();
        }
        path
    }

    /// What is found is what was written, or it is said that it is not; and a host says the same and spoils nothing.
    fn is_honest(&self, path: &Path) -> Result<(), TestCaseError> {
        let mut link = Link::START;
        let found = inspect(path, |record| {
            link = link.then(&record);
            Ok(())
        });
        let said = match &found {
            Ok(found) => match &found.broken {
                Some(broken) => Err(broken.clone()),
                None => Ok((found.entries, found.link)),
            },
            Err(LedgerError::Entry { .. }) => {
                return Err(TestCaseError::fail("an entry was shown that was changed"));
            }
            Err(other) => Err(other.to_string()),
        };
        match &said {
            Ok(whole) => prop_assert_eq!((*whole, link), ((ENTRIES, self.link), self.link)),
            Err(words) => prop_assert!(!words.is_empty() && !words.contains("with room"), "{}", words),
        }
        let before: Vec<_> = ["", "-wal"].iter().map(|e| fs::read(beside(path, e)).ok()).collect();
        let opened = Sqlite::open(path);
        prop_assert_eq!(opened.is_ok(), said.is_ok(), "{:?} but {:?}", opened.err(), said);
        if said.is_err() {
            let after: Vec<_> = ["", "-wal"].iter().map(|e| fs::read(beside(path, e)).ok()).collect();
            prop_assert!(before == after, "what is damaged is left as it is: {:?}", said);
        }
        Ok(())
    }
}

/// Some numbers below `size`, drawn at random.
fn places(size: usize, some: u32, each: impl Fn(usize) -> Result<(), TestCaseError>) {
    let wished = std::env::var("KETTLECALL_TRIALS").ok().and_then(|number| number.parse().ok());
    let config = Config { cases: wished.unwrap_or(some), failure_persistence: None, ..Config::default() };
    TestRunner::new(config).run(&(0..size), each).unwrap();
}

#[test]
fn a_changed_byte_of_a_closed_ledger_is_noticed_or_changes_nothing() {
    let files = Files::of(true);
    places(files.size(""), 40, |place| {
        files.is_honest(&files.with("", true, |bytes| bytes[place] ^= 1 << (place % 8)))
    });
}

#[test]
fn a_closed_ledger_that_is_cut_is_noticed() {
    let files = Files::of(true);
    places(files.size(""), 15, |place| {
        let path = files.with("", true, |bytes| bytes.truncate(place));
        prop_assert!(place == 0 || inspect(&path, |_| Ok(())).map_or(true, |found| found.broken.is_some()));
        if place == 0 { Ok(()) } else { files.is_honest(&path) }
    });
}

#[test]
fn a_changed_byte_beside_a_killed_ledger_is_noticed_or_changes_nothing() {
    let files = Files::of(false);
    for (at, marked, some) in [("-wal", true, 40), ("-wal", false, 20), ("", true, 10), ("-mark", true, 10)] {
        places(files.size(at), some, |place| {
            files.is_honest(&files.with(at, marked, |bytes| bytes[place] ^= 1 << (place % 8)))
        });
    }
}

#[test]
fn a_cut_beside_a_killed_ledger_is_noticed() {
    let files = Files::of(false);
    places(files.size("-wal"), 25, |place| {
        files.is_honest(&files.with("-wal", true, |bytes| bytes.truncate(place)))
    });
    // Without the mark nobody can tell that whole writes are missing at the end; all other cuts are seen.
    const FRAME: usize = 24 + 4096;
    places(files.size("-wal"), 15, |place| {
        let path = files.with("-wal", false, |bytes| bytes.truncate(place));
        if (place.max(32) - 32) % FRAME == 0 { Ok(()) } else { files.is_honest(&path) }
    });
}

#[test]
fn a_write_that_a_crash_broke_off_is_left_out_and_everything_before_it_is_there() {
    let files = Files::of(false);
    // One more write that nobody heard of is cut anywhere: the mark does not know of it yet.
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("next.ledger");
    for (ending, bytes) in &files.bytes {
        fs::write(beside(&path, ending), bytes).unwrap();
    }
    let mut ledger = Sqlite::open(&path).unwrap();
    ledger.append(ENTRIES, &[scored(ENTRIES + 1, 1_000)]).unwrap();
    let mark = fs::read(beside(&path, "-mark")).unwrap();
    let before = fs::metadata(beside(&path, "-wal")).unwrap().len() as usize;
    ledger.append(ENTRIES + 1, &[scored(ENTRIES + 2, 1_001)]).unwrap();
    let (main, wal) = (fs::read(&path).unwrap(), fs::read(beside(&path, "-wal")).unwrap());
    places(wal.len() - before, 20, |place| {
        let path = folder.path().join("torn.ledger");
        fs::write(&path, &main).unwrap();
        fs::write(beside(&path, "-wal"), &wal[..before + place]).unwrap();
        fs::write(beside(&path, "-mark"), &mark).unwrap();
        let found = inspect(&path, |_| Ok(())).unwrap();
        prop_assert_eq!((found.entries, found.broken), (ENTRIES + 1, None));
        let mut ledger = Sqlite::open(&path).unwrap();
        ledger.append(ENTRIES + 1, &[scored(ENTRIES + 2, 1_001)]).unwrap();
        Ok(())
    });
}
