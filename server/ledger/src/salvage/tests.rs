use super::scan::Cell;
use super::*;
use crate::story::{note, scored};
use crate::{Ledger, Sqlite, inspect};
use protocol::HostTime;
use std::fs;
use std::path::PathBuf;

mod wal;

/// How many entries a ledger of these trials has.
const ENTRIES: u64 = 60;

/// Of these trials: an entry has to be JSON that names its kind, and a score's id.
pub(super) struct Plain;

impl Meaning for Plain {
    fn kind(&self, json: &str) -> Option<String> {
        let json: serde_json::Value = serde_json::from_str(json).ok()?;
        let kind = json["kind"]
            .as_str()
            .filter(|kind| ["class", "started", "scored", "lost", "end"].contains(kind))?;
        let has_id = || json["score"]["id"].as_str().is_some_and(|id| id.parse::<uuid::Uuid>().is_ok());
        (kind != "scored" || has_id()).then(|| kind.into())
    }

    fn lost(&self) -> (String, String) {
        ("lost".into(), r#"{"kind":"lost"}"#.into())
    }

    fn end_unknown(&self) -> (String, String) {
        ("end".into(), r#"{"kind":"end"}"#.into())
    }
}

fn other(seq: u64, kind: &'static str, length: usize) -> Record<'static> {
    let long: String = (0..length).map(|at| char::from(b'a' + (at * at % 26) as u8)).collect();
    let json = format!("{{\"kind\":\"{kind}\",\"long\":\"{long}\"}}");
    Record { seq, at: HostTime(seq as i64 * 1_000 - 1_000), kind: kind.into(), json: json.into(), once: None }
}

/// A class whose first entries are longer than a page, and some scores.
pub(super) fn entries() -> Vec<Record<'static>> {
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
pub(super) fn places(size: usize, some: usize) -> impl Iterator<Item = usize> {
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
            let Saved { records, done, .. } =
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
fn a_page_that_passes_for_another_one_hides_nothing_of_that() {
    let folder = tempfile::tempdir().unwrap();
    let path = written(folder.path(), false);
    let (main, wal) = (fs::read(&path).unwrap(), fs::read(beside(&path, "-wal")).unwrap());
    let last = wal.len() - (24 + 4096);
    for number in 1..16 {
        let mut hurt = wal.clone();
        hurt[last + 3] = number;
        let Saved { records, done, .. } = choose::choose(&scan::scan(&main, &hurt), &[], &Plain).unwrap();
        assert!(records == entries() && done.proven() == ENTRIES, "{number}: {done:?}");
    }
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
    let [path, to] = ["a.record", "saved.ledger"].map(|name| folder.path().join(name));
    let records = entries();
    let link = records.iter().fold(Link::START, |link, record| link.then(record));
    let found =
        crate::Found { entries: ENTRIES, link, chained_from: 1, ending: crate::Ending::Closed, broken: None };
    let about = record::About { class_id: uuid::Uuid::nil(), title: "A".into() };
    let text = record::text(&about, &records, &found);
    let but_for_9 = text.lines().filter(|line| !line.starts_with("{\"seq\":9,"));
    fs::write(&path, but_for_9.map(|line| line.to_owned() + "\n").collect::<String>()).unwrap();
    let done = salvage(&path, &to, &Plain).unwrap().unwrap();
    assert_eq!((done.entries, &done.lost[..], &done.unproven[..]), (ENTRIES, &[9][..], &[10][..]));
    assert!(done.end_known, "its last line says how many there are");
    let cut: String = text.lines().take(31).map(|line| line.to_owned() + "\n").collect();
    fs::write(&path, cut).unwrap();
    let (records, done) = saved(&path, &folder.path().join("cut.ledger"));
    assert!(!done.end_known && done.entries == 30 && records[30].kind == "end", "{done:?}");
}

#[test]
fn one_changed_byte_of_an_entry_is_put_right_by_its_link() {
    let mut whole = entries();
    whole[19].json = whole[19].json.replace("warm", "grün 烘焙 🍵").into();
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
            let mended = match str::from_utf8(&json) {
                Ok(json) => mend(&Record { json: json.into(), ..whole[19].clone() }),
                Err(_) => {
                    let (at, kind) = (whole[19].at.0, &whole[19].kind);
                    repair::one_byte_of_no_text((20, at, kind, &json), &[before], &|found| *found == link)
                        .map(|(record, _)| record)
                }
            };
            assert_eq!(mended.as_ref(), Some(&whole[19]), "byte {at}");
        }
    }
    assert_eq!(mend(&Record { at: HostTime(19), ..whole[19].clone() }), None);
    // One bit, as a ledger stores it, or one digit, as a record does.
    for at in [20_000 + (1 << 40), 70_000, 20_009, 320_000] {
        assert_eq!(
            mend(&Record { at: HostTime(at), ..whole[19].clone() }).as_ref(),
            Some(&whole[19]),
            "{at}"
        );
    }
}

#[test]
fn a_byte_that_makes_no_json_of_a_long_entry_is_put_right_whatever_it_was() {
    let steps: Vec<serde_json::Value> =
        (0..120).map(|at| serde_json::json!({ "code": "417", "at_us": at * 1_000, "pour": true })).collect();
    let json = serde_json::json!({ "kind": "started", "steps": steps }).to_string();
    let whole = Record { json: json.clone().into(), ..entries()[1].clone() };
    let link = Link::START.then(&whole);
    let mut tried = 0;
    for at in (0..json.len()).step_by(211) {
        let mut bytes = json.clone().into_bytes();
        bytes[at] ^= 0x1b;
        let Ok(text) = String::from_utf8(bytes) else { continue };
        if serde_json::from_str::<serde::de::IgnoredAny>(&text).is_ok() {
            continue;
        }
        tried += 1;
        let hurt = Record { json: text.into(), ..whole.clone() };
        let gives = |found: &Link| *found == link;
        let mended = repair::one_byte(&hurt, &[Link::START], &gives, &repair::Budget::new());
        assert_eq!(mended.map(|(record, _)| record).as_ref(), Some(&whole), "byte {at}");
    }
    assert!(json.len() > 4_000 && tried > 5, "{} {tried}", json.len());
}

/// A ledger of so many scores whose ids begin at `from`, with its `-wal` and its mark as they lie there while it is open.
fn of_another(folder: &Path, name: &str, from: u64, scores: u64) -> (Vec<Record<'static>>, Sqlite) {
    let mut ledger = Sqlite::open(&folder.join(name)).unwrap();
    let mut records = vec![other(1, "class", 300 + from as usize)];
    records.extend((2..=scores + 1).map(|seq| Record { once: None, ..scored(seq, (from + seq).into()) }));
    for record in &records {
        ledger.append(record.seq - 1, std::slice::from_ref(record)).unwrap();
    }
    (records, ledger)
}

/// What is saved of a ledger.
fn saved(path: &Path, to: &Path) -> (Vec<Record<'static>>, Salvaged) {
    let done = salvage(path, to, &Plain).unwrap().unwrap();
    let mut records = Vec::new();
    let found = inspect(to, |record| {
        records.push(record.into_owned());
        Ok(())
    });
    assert_eq!(found.unwrap().broken, None);
    (records, done)
}

#[test]
fn of_two_ledgers_in_one_file_one_is_saved_and_never_a_mixture() {
    // Ours is the one that has the mark; the other one is shorter, longer, closed or still open.
    for (theirs, closed) in [(20, true), (20, false), (60, true), (60, false)] {
        for marked in [true, false] {
            let folder = tempfile::tempdir().unwrap();
            let (our, our_ledger) = of_another(folder.path(), "our.ledger", 0, 40);
            let (their, their_ledger) = of_another(folder.path(), "their.ledger", 1_000, theirs);
            let (main, path) = (folder.path().join("their.ledger"), folder.path().join("a.ledger"));
            if closed {
                drop(their_ledger);
            } else {
                assert!(their_ledger.found().is_none());
                rusqlite::Connection::open(&main)
                    .unwrap()
                    .query_row("PRAGMA wal_checkpoint(FULL)", [], |_| Ok(()))
                    .unwrap();
                std::mem::forget(their_ledger);
            }
            fs::copy(&main, &path).unwrap();
            for ending in ["-wal", "-mark"].iter().filter(|ending| marked || **ending == "-wal") {
                fs::copy(beside(our_ledger.path(), ending), beside(&path, ending)).unwrap();
            }
            if !closed {
                // SQLite would not notice that the one does not belong to the other.
                let mut wal = fs::read(beside(&path, "-wal")).unwrap();
                wal[20] ^= 1;
                fs::write(beside(&path, "-wal"), wal).unwrap();
            }
            let (mut records, done) = saved(&path, &folder.path().join("saved.ledger"));
            if !done.end_known {
                assert_eq!(records.pop().unwrap().kind, "end");
            }
            let case = format!("{theirs} {closed} {marked}: {done:?}");
            let is_ours = theirs < 40 || marked;
            assert!(records == if is_ours { our } else { their }, "{case}");
            assert_eq!(done.proven(), records.len() as u64, "{case}");
            assert_eq!(done.end_known, marked || closed && !is_ours, "{case}");
            assert_eq!(done.other_in_wal, (closed && !is_ours).then_some(41), "{case}");
            let all = if is_ours { 1..=theirs + 1 } else { 1..=41 };
            assert_eq!(done.others, all.collect::<Vec<_>>(), "{case}");
        }
    }
}

/// What lies at the places of a ledger, put at the places of another one.
fn put(from: &Path, endings: &[&str], path: &Path) {
    for ending in endings {
        fs::copy(beside(from, ending), beside(path, ending)).unwrap();
    }
}

#[test]
fn an_earlier_copy_of_a_ledger_and_what_was_written_after_it_are_saved_as_one() {
    for marked in [true, false] {
        let folder = tempfile::tempdir().unwrap();
        let (our, our_ledger) = of_another(folder.path(), "our.ledger", 0, 40);
        drop(our_ledger);
        let (own, path) = (folder.path().join("our.ledger"), folder.path().join("a.ledger"));
        put(&own, &[""], &path);
        let mut ledger = Sqlite::open(&own).unwrap();
        let more: Vec<Record<'_>> =
            (42..=50).map(|seq| Record { once: None, ..scored(seq, seq.into()) }).collect();
        ledger.append(41, &more).unwrap();
        put(&own, if marked { &["-wal", "-mark"] } else { &["-wal"] }, &path);
        let (mut records, done) = saved(&path, &folder.path().join("saved.ledger"));
        assert_eq!(done.end_known, marked, "{done:?}");
        if !marked {
            assert_eq!(records.pop().unwrap().kind, "end");
        }
        assert_eq!(records, [our, more].concat());
        assert!(done.proven() == 50 && done.others.is_empty() && done.loose.is_empty(), "{done:?}");
    }
}

#[test]
fn what_lies_beside_another_classs_closed_ledger_and_has_no_first_entry_is_named() {
    let folder = tempfile::tempdir().unwrap();
    drop(of_another(folder.path(), "our.ledger", 0, 400));
    let (their, their_ledger) = of_another(folder.path(), "their.ledger", 1_000, 405);
    drop(their_ledger);
    let (own, path) = (folder.path().join("our.ledger"), folder.path().join("a.ledger"));
    let mut ledger = Sqlite::open(&own).unwrap();
    ledger.append(401, &[scored(402, 402), scored(403, 403)]).unwrap();
    put(&own, &["-wal", "-mark"], &path);
    put(&folder.path().join("their.ledger"), &[""], &path);
    let (records, done) = saved(&path, &folder.path().join("saved.ledger"));
    assert!(records == their && done.proven() == 406 && done.mark_of_another == Some(403), "{done:?}");
    assert!(done.loose.ends_with(&[402, 403]) && !done.loose.contains(&1), "{done:?}");
    // With its mark alone.
    fs::remove_file(beside(&path, "-wal")).unwrap();
    let (records, done) = saved(&path, &folder.path().join("again.ledger"));
    assert!(records == their && done.mark_of_another == Some(403) && done.end_known, "{done:?}");
}

/// The rows of some entries, chained from the first of them on.
fn cells(records: &[Record<'_>]) -> Vec<Cell> {
    let mut link = Link::START;
    let cell = |record: &Record<'_>| {
        link = link.then(record);
        let (seq, at) = (record.seq, record.at.0);
        Cell {
            seq,
            at,
            kind: record.kind.to_string(),
            json: record.json.to_string().into(),
            link: Some(link),
        }
    };
    records.iter().map(cell).collect()
}

#[test]
fn what_goes_on_from_another_first_entry_than_is_there_is_left_out_and_named() {
    let (our, whole) = (entries(), entries());
    let their: Vec<Record<'_>> =
        whole[..30].iter().map(|record| Record { at: HostTime(record.at.0 + 1), ..record.clone() }).collect();
    // Of ours what was written last, of theirs all: where both have an entry, one is of another ledger.
    let finds = Finds {
        cells: cells(&their).into_iter().chain(cells(&our).split_off(19)).collect(),
        ..Finds::default()
    };
    let Saved { records, done, .. } = choose::choose(&finds, &[], &Plain).unwrap();
    assert!(records == their && done.proven() == 30, "{done:?}");
    assert_eq!(done.others, (21..=60).collect::<Vec<_>>());
    // Where the first entries of ours are there, too, one that can't be read does not let the others be taken for it.
    let mut hurt = cells(&our);
    hurt[9].json = b"{".to_vec();
    let finds = Finds { cells: cells(&their).into_iter().chain(hurt).collect(), ..Finds::default() };
    let Saved { records, done, .. } = choose::choose(&finds, &[], &Plain).unwrap();
    let is_ours = |record: &&Record<'_>| our.contains(record);
    assert_eq!((records.iter().filter(is_ours).count(), done.entries), (59, 60), "{done:?}");
    assert!(done.proven() == 59 && done.others == (1..=30).collect::<Vec<_>>(), "{done:?}");
}

#[test]
fn a_first_entry_from_which_the_others_do_not_go_on_is_left_out() {
    let whole = entries();
    let cell = |record: &Record<'_>, link| {
        let (seq, at) = (record.seq, record.at.0);
        Cell {
            seq,
            at,
            kind: record.kind.to_string(),
            json: record.json.to_string().into(),
            link: Some(link),
        }
    };
    let finds = Finds { cells: cells(&whole).into_iter().collect(), ..Finds::default() };
    for seq in [1, 30] {
        let before = whole[..seq - 1].iter().fold(Link::START, |link, record| link.then(record));
        // Whatever comes first among those of one number.
        for at in [HostTime(-1), HostTime(i64::MAX)] {
            let forged =
                Record { at, json: whole[seq - 1].json.replace("a", "b").into(), ..whole[seq - 1].clone() };
            let mut finds = Finds { cells: finds.cells.clone(), ..Finds::default() };
            finds.cells.insert(cell(&forged, before.then(&forged)));
            let Saved { records, done, .. } = choose::choose(&finds, &[], &Plain).unwrap();
            assert!(records == whole, "{seq} {at:?}: {done:?}");
            assert_eq!((done.proven(), &done.others[..]), (ENTRIES, &[seq as u64][..]));
            // Where what was there is gone, it is said that the others go on from something else.
            let true_link = before.then(&whole[seq - 1]);
            finds.cells.remove(&cell(&whole[seq - 1], true_link));
            let vouched = [(seq as u64, true_link)];
            let Saved { records, done, .. } = choose::choose(&finds, &vouched, &Plain).unwrap();
            assert!(records[seq] == whole[seq] && done.changed == [seq as u64], "{seq} {at:?}: {done:?}");
        }
    }
}

#[test]
fn of_a_ledger_that_is_gone_all_that_its_wal_holds_is_saved() {
    for left in [None, Some(0), Some(99)] {
        for ending in ["-wal", "-mark"] {
            let folder = tempfile::tempdir().unwrap();
            let (path, to) = (written(folder.path(), false), folder.path().join("saved.ledger"));
            match left {
                Some(bytes) => fs::write(&path, vec![b'S'; bytes]).unwrap(),
                None => fs::remove_file(&path).unwrap(),
            }
            let said = |words: &str| {
                for error in [
                    Sqlite::open(&path).map(drop).unwrap_err(),
                    Sqlite::reopen(&path, &note).map(drop).unwrap_err(),
                    inspect(&path, |_| Ok(())).map(drop).unwrap_err(),
                ] {
                    assert!(error.to_string().contains(words), "{left:?}: {error}");
                }
            };
            let wal = fs::read(beside(&path, "-wal")).unwrap();
            if ending == "-wal" {
                said("saves what the -wal holds");
                let (records, done) = saved(&path, &to);
                assert!(records == entries() && done.proven() == ENTRIES, "{left:?}: {done:?}");
                assert!(fs::read(beside(&path, "-wal")).unwrap() == wal);
            } else {
                fs::remove_file(beside(&path, "-wal")).unwrap();
                said("killed.ledger-mark, which holds no scores");
                assert_eq!(salvage(&path, &to, &Plain).unwrap(), None);
            }
            assert_eq!(path.exists(), left.is_some(), "it is not made anew");
        }
    }
}
