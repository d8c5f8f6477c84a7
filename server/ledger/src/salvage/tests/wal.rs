//! What is saved where the `-wal` beside a ledger breaks off.

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
