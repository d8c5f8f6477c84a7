use super::*;
use crate::story::scored;
use crate::{Ledger, Sqlite, inspect};
use protocol::HostTime;
use std::fs;
use std::path::PathBuf;

/// How many entries a ledger of these trials has.
const ENTRIES: u64 = 60;

/// Of these trials: an entry has to be JSON that names its kind, and a score's id.
struct Plain;

impl Meaning for Plain {
    fn kind(&self, json: &str) -> Option<String> {
        let json: serde_json::Value = serde_json::from_str(json).ok()?;
        let kind =
            json["kind"].as_str().filter(|kind| ["class", "started", "scored", "lost"].contains(kind))?;
        let has_id = || json["score"]["id"].as_str().is_some_and(|id| id.parse::<uuid::Uuid>().is_ok());
        (kind != "scored" || has_id()).then(|| kind.into())
    }

    fn lost(&self) -> (String, String) {
        ("lost".into(), r#"{"kind":"lost"}"#.into())
    }
}

fn other(seq: u64, kind: &'static str, length: usize) -> Record<'static> {
    let long: String = (0..length).map(|at| char::from(b'a' + (at * at % 26) as u8)).collect();
    let json = format!("{{\"kind\":\"{kind}\",\"long\":\"{long}\"}}");
    Record { seq, at: HostTime(seq as i64 * 1_000 - 1_000), kind: kind.into(), json: json.into(), once: None }
}

/// A class whose first entries are longer than a page, and some scores.
fn entries() -> Vec<Record<'static>> {
    let score = |seq: u64| Record { once: None, at: HostTime(seq as i64 * 1_000), ..scored(seq, seq.into()) };
    let two = [other(1, "class", 5_000), other(2, "started", 14_000)];
    two.into_iter().chain((3..=ENTRIES).map(score)).collect()
}

/// A ledger in a folder, as a host leaves it that closed it, or one that was killed.
fn written(folder: &Path, closed: bool) -> PathBuf {
    let (path, killed) = (folder.join("a.ledger"), folder.join("killed.ledger"));
    let mut ledger = Sqlite::open(&path).unwrap();
    for record in entries() {
        ledger.append(record.seq - 1, &[record]).unwrap();
    }
    if closed {
        return path;
    }
    for ending in ["", "-wal", "-mark"] {
        fs::copy(beside(&path, ending), beside(&killed, ending)).unwrap();
    }
    killed
}

/// What is saved is what was written, but for what it says is not.
fn is_saved(records: &[Record<'_>], done: &Salvaged, at: usize) {
    let whole = entries();
    assert!(done.entries == ENTRIES && records.len() as u64 == ENTRIES, "byte {at}: {done:?}");
    for (saved, whole) in records.iter().zip(&whole) {
        let is_said = done.lost.contains(&saved.seq) || done.changed.contains(&saved.seq);
        assert!(saved == whole || is_said, "byte {at}: {saved:?} {done:?}");
    }
    // A score that nothing can be said about is all the same the one that was written.
    assert!(done.lost.len() + done.changed.len() <= 1 && done.unproven.len() <= 1, "byte {at}: {done:?}");
}

/// Places of a file; in the suite some of them, or as many as KETTLECALL_TRIALS says.
fn places(size: usize, some: usize) -> impl Iterator<Item = usize> {
    let wished = std::env::var("KETTLECALL_TRIALS").ok().and_then(|number| number.parse().ok());
    let step = (size / wished.unwrap_or(some).max(1)).max(1);
    (0..size).step_by(step)
}

#[test]
fn of_a_ledger_with_a_changed_byte_at_most_what_it_touched_is_lost() {
    let (mut tried, mut mended, mut lost, mut changed, mut unproven) = (0, 0, 0, 0, 0);
    for closed in [true, false] {
        let folder = tempfile::tempdir().unwrap();
        let path = written(folder.path(), closed);
        let read = |ending| fs::read(beside(&path, ending)).unwrap_or_default();
        let (main, wal) = (read(""), read("-wal"));
        let marked = mark::read(&path).map(|marked| (marked.seq, marked.link));
        let mut try_one = |main: &[u8], wal: &[u8], at: usize| {
            let finds = scan::scan(main, wal);
            let (records, done) =
                choose::choose(&finds, marked.as_slice(), &Plain).expect("the first entry is twice there");
            is_saved(&records, &done, at);
            (tried, mended, lost) = (tried + 1, mended + done.mended.len(), lost + done.lost.len());
            (changed, unproven) = (changed + done.changed.len(), unproven + done.unproven.len());
        };
        for at in places(main.len(), 60) {
            let mut hurt = main.clone();
            hurt[at] ^= 1 << (at % 8);
            try_one(&hurt, &wal, at);
        }
        for at in places(wal.len(), 10) {
            let mut hurt = wal.clone();
            hurt[at] ^= 1 << (at % 8);
            try_one(&main, &hurt, at);
        }
    }
    println!(
        "{tried} changed bytes: {mended} put right, {lost} lost, {changed} changed, {unproven} taken unproven"
    );
}

#[test]
fn what_is_saved_is_a_ledger_that_opens_and_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let path = written(folder.path(), true);
    let mut bytes = fs::read(&path).unwrap();
    // Neither the first pages nor one of the scores, changed in two places, can be read.
    bytes[..4096].fill(7);
    let id = uuid::Uuid::from_u128(20).to_string();
    for at in 0..bytes.len() - id.len() {
        if bytes[at..].starts_with(id.as_bytes()) {
            bytes[at..at + 2].fill(b'"');
        }
    }
    fs::write(&path, &bytes).unwrap();
    assert!(Sqlite::open(&path).is_err());
    let saved = folder.path().join("saved.ledger");
    let done = salvage(&path, &saved, &Plain).unwrap().unwrap();
    assert_eq!(
        (done.entries, &done.lost[..], done.changed.len() + done.unproven.len()),
        (ENTRIES, &[20][..], 0)
    );
    assert!(matches!(salvage(&path, &saved, &Plain), Err(LedgerError::There(_))));
    let mut kinds = Vec::new();
    let found = inspect(&saved, |record| {
        kinds.push(record.kind.to_string());
        Ok(())
    });
    let found = found.unwrap();
    assert_eq!((found.entries, found.chained_from, found.broken), (ENTRIES, 1, None));
    assert_eq!((kinds[19].as_str(), kinds[20].as_str()), ("lost", "scored"));
    Sqlite::open(&saved).unwrap().append(ENTRIES, &[scored(ENTRIES + 1, 1_000)]).unwrap();
}

#[test]
fn without_the_first_entry_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let (path, saved) = (folder.path().join("a.ledger"), folder.path().join("saved.ledger"));
    for bytes in [vec![], vec![0; 9_000], b"SQLite format 3\0".repeat(1_000)] {
        fs::write(&path, bytes).unwrap();
        assert_eq!(salvage(&path, &saved, &Plain).unwrap(), None);
        assert!(!saved.exists());
    }
}

#[test]
fn a_damaged_record_is_saved_like_a_ledger() {
    let folder = tempfile::tempdir().unwrap();
    let [path, saved] = ["a.record", "saved.ledger"].map(|name| folder.path().join(name));
    let records = entries();
    let link = records.iter().fold(Link::START, |link, record| link.then(record));
    let found =
        crate::Found { entries: ENTRIES, link, chained_from: 1, ending: crate::Ending::Closed, broken: None };
    let about = record::About { class_id: uuid::Uuid::nil(), title: "A".into() };
    let text = record::text(&about, &records, &found);
    fs::write(&path, text.replacen("\"seq\":9,", "\"seq\":x,", 1)).unwrap();
    let done = salvage(&path, &saved, &Plain).unwrap().unwrap();
    assert_eq!((done.entries, &done.lost[..], &done.unproven[..]), (ENTRIES, &[9][..], &[10][..]));
}

#[test]
fn one_changed_byte_of_an_entry_is_put_right_by_its_link() {
    let whole = entries();
    let before = whole[..19].iter().fold(Link::START, |link, record| link.then(record));
    let link = before.then(&whole[19]);
    let mend = |record: &Record<'_>| {
        repair::one_byte(record, &[before], &|found| *found == link, &repair::Budget::new())
            .map(|(record, _)| record)
    };
    for at in 0..whole[19].json.len() {
        for changed in [b'"', b'7', 0xe1] {
            let mut json = whole[19].json.as_bytes().to_vec();
            if json[at] == changed {
                continue;
            }
            json[at] = changed;
            let json = String::from_utf8_lossy(&json).into_owned();
            assert_eq!(
                mend(&Record { json: json.into(), ..whole[19].clone() }).as_ref(),
                Some(&whole[19]),
                "byte {at}"
            );
        }
    }
    assert_eq!(mend(&Record { at: HostTime(19), ..whole[19].clone() }), None);
    assert_eq!(
        mend(&Record { at: HostTime(20_000 + (1 << 40)), ..whole[19].clone() }).as_ref(),
        Some(&whole[19])
    );
}
