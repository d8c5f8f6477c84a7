//! What is saved where the `-wal` beside a ledger breaks off, or is an earlier one.

use super::*;

#[test]
fn the_newest_entry_is_saved_from_a_wal_that_breaks_off_behind_it() {
    let folder = tempfile::tempdir().unwrap();
    let (records, _ledger) = of_another(folder.path(), "our.ledger", 0, 9);
    let (our, path) = (folder.path().join("our.ledger"), folder.path().join("a.ledger"));
    put(&our, &["", "-wal", "-mark"], &path);
    let wal = fs::read(beside(&our, "-wal")).unwrap();
    let newest = records[9].json.as_bytes();
    let at = (0..wal.len()).rev().find(|&at| wal[at..].starts_with(newest)).unwrap();
    let link_behind = at + newest.len() + 32;
    for (cut, is_saved) in [(link_behind + 1, true), (link_behind, true), (at, false)] {
        fs::write(beside(&path, "-wal"), &wal[..cut]).unwrap();
        let (saved, done) = saved(&path, &folder.path().join(format!("{cut}.ledger")));
        assert_eq!((done.proven(), done.entries), (9 + u64::from(is_saved), 10), "{cut}: {done:?}");
        assert!(saved[..9] == records[..9] && (saved[9] == records[9]) == is_saved, "{cut}: {done:?}");
    }
}

#[test]
fn what_an_earlier_wal_hides_of_a_ledger_is_told_and_saved() {
    let folder = tempfile::tempdir().unwrap();
    let (mut records, ledger) = of_another(folder.path(), "our.ledger", 0, 99);
    drop(ledger);
    let [our, own, path] = ["our.ledger", "own.ledger", "a.ledger"].map(|name| folder.path().join(name));
    let mut ledger = Sqlite::open(&our).unwrap();
    let mut append = |numbers: std::ops::RangeInclusive<u64>| {
        let more: Vec<Record<'_>> =
            numbers.map(|seq| Record { once: None, ..scored(seq, seq.into()) }).collect();
        more.iter().for_each(|record| ledger.append(record.seq - 1, std::slice::from_ref(record)).unwrap());
        records.extend(more);
    };
    append(101..=160);
    let earlier = fs::read(beside(&our, "-wal")).unwrap();
    append(161..=200);
    let folds = rusqlite::Connection::open(&our).unwrap();
    folds.query_row("PRAGMA wal_checkpoint(FULL)", [], |_| Ok(())).unwrap();
    put(&our, &["", "-wal"], &own);
    assert_eq!(hidden_end(&own, &Plain), None, "nothing is hidden by its own -wal");
    put(&our, &[""], &path);
    fs::write(beside(&path, "-wal"), earlier).unwrap();
    let found = inspect(&path, |_| Ok(())).unwrap();
    assert_eq!((found.entries, found.broken, found.ending), (160, None, crate::Ending::Unmarked));
    assert_eq!(hidden_end(&path, &Plain), Some(200));
    let (mut saved, done) = saved(&path, &folder.path().join("saved.ledger"));
    assert_eq!(saved.pop().unwrap().kind, "end");
    assert!(saved == records && done.proven() == 200 && !done.end_known, "{done:?}");
    put(&our, &["-mark"], &path);
    assert_eq!(hidden_end(&path, &Plain), None, "its mark says what is missing");
}
