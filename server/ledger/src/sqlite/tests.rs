//! A ledger in its file: what is refused, what is noticed, what is left beside it.

use super::*;
use crate::story::{all, note, scored};
use crate::{schema, visit};
use std::fs;

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

fn read(path: &Path) -> Result<usize, LedgerError> {
    let mut records = 0;
    visit(path, |_| {
        records += 1;
        Ok(())
    })?;
    Ok(records)
}

#[cfg(unix)]
#[test]
fn a_ledger_and_all_beside_it_are_made_for_their_owner_alone_and_one_that_is_there_keeps_its_rights() {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder();
    let path = folder.path().join("class.ledger");
    let modes = |of: &Path| {
        let mut found: Vec<(String, u32)> = fs::read_dir(of)
            .unwrap()
            .map(|entry| entry.unwrap())
            .map(|entry| {
                (
                    entry.file_name().into_string().unwrap(),
                    entry.metadata().unwrap().permissions().mode() & 0o777,
                )
            })
            .collect();
        found.sort();
        found
    };
    let own = |names: &[&str]| names.iter().map(|name| (name.to_string(), 0o600)).collect::<Vec<_>>();
    let mut ledger = Sqlite::open(&path).unwrap();
    ledger.append(0, &[scored(1, 1)]).unwrap();
    assert_eq!(
        modes(folder.path()),
        own(&["class.ledger", "class.ledger-mark", "class.ledger-shm", "class.ledger-wal"])
    );
    drop(ledger);
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    let ledger = Sqlite::open(&path).unwrap();
    let of_the_ledger: Vec<u32> = modes(folder.path()).into_iter().map(|(_, mode)| mode).collect();
    assert_eq!(of_the_ledger, [0o640, 0o600, 0o640, 0o640]);
    drop(ledger);
    let made = tempfile::tempdir().unwrap();
    crate::fresh::write(&made.path().join("restored.ledger"), &[scored(1, 1)], 1).unwrap();
    assert_eq!(modes(made.path()), own(&["restored.ledger"]));
}

#[test]
fn a_ledger_can_be_read_while_a_host_has_it_open() {
    let folder = folder();
    let path = folder.path().join("class.ledger");
    let mut ledger = Sqlite::open(&path).unwrap();
    ledger.append(0, &[scored(1, 1), scored(2, 2)]).unwrap();
    assert_eq!(read(&path).unwrap(), 2);
}

#[test]
fn the_ledger_is_on_disk_in_wal_with_every_synchronisation() {
    let folder = folder();
    let ledger = Sqlite::open(&folder.path().join("class.ledger")).unwrap();
    let pragma = |name: &str| {
        ledger.db.pragma_query_value(None, name, |r| r.get::<_, rusqlite::types::Value>(0)).unwrap()
    };
    assert_eq!(pragma("journal_mode"), rusqlite::types::Value::Text("wal".into()));
    assert_eq!(pragma("synchronous"), rusqlite::types::Value::Integer(3), "3 is EXTRA");
}

#[test]
fn nothing_in_the_ledger_can_be_changed_or_removed() {
    let folder = folder();
    let mut ledger = Sqlite::open(&folder.path().join("class.ledger")).unwrap();
    ledger.append(0, &[scored(1, 1)]).unwrap();
    for sql in ["UPDATE event SET at_us = 0", "DELETE FROM event"] {
        let refusal = ledger.db.execute(sql, []).unwrap_err().to_string();
        assert!(refusal.contains("append-only"), "{refusal}");
    }
}

#[test]
fn an_older_schema_is_brought_up_to_date_and_keeps_its_entries() {
    let folder = folder();
    let path = folder.path().join("class.ledger");
    {
        let mut db = Connection::open(&path).unwrap();
        migrate(&mut db, &path, 1).unwrap();
        db.execute("INSERT INTO event VALUES (1, 5, 'scored', ?1)", [scored(1, 1).json]).unwrap();
    }
    assert_eq!(read(&path).unwrap(), 1, "reading needs no migration");
    let mut ledger = Sqlite::open(&path).unwrap();
    assert_eq!(schema::of(&ledger.db, &path).unwrap(), MIGRATIONS.len());
    assert_eq!(all(&ledger), [Record { once: None, ..scored(1, 1) }]);
    assert!(ledger.append(1, &[scored(2, 1)]).is_err(), "the newer rule is in force");
}

#[test]
fn a_ledger_is_refused_in_words_when_it_is_newer_foreign_missing_or_in_use() {
    let folder = folder();
    let path = folder.path().join("class.ledger");
    assert!(read(&path).unwrap_err().to_string().contains("there is no ledger"));
    let ledger = Sqlite::open(&path).unwrap();
    assert!(Sqlite::open(&path).unwrap_err().to_string().contains("open in another host"));
    ledger.db.pragma_update(None, "user_version", 99).unwrap();
    drop(ledger);
    assert!(Sqlite::open(&path).unwrap_err().to_string().contains("update the program"));
    assert!(read(&path).unwrap_err().to_string().contains("schema 99"));
    Connection::open(&path).unwrap().pragma_update(None, "user_version", 3_473_411).unwrap();
    assert!(read(&path).unwrap_err().to_string().contains("what it says of its schema was changed"));
    let text = folder.path().join("notes.txt");
    std::fs::write(&text, "not a ledger ".repeat(100)).unwrap();
    assert!(matches!(Sqlite::open(&text), Err(LedgerError::Foreign(_))));
    let beside_it = |name: &fs::DirEntry| name.file_name().to_string_lossy().starts_with("notes.txt");
    let left = fs::read_dir(folder.path()).unwrap().filter(|entry| beside_it(entry.as_ref().unwrap()));
    assert_eq!(left.count(), 1, "nothing is left lying about");
    assert!(matches!(read(folder.path()), Err(LedgerError::Foreign(_))));
    assert!(matches!(read(&text), Err(LedgerError::Foreign(_))));
    let other = folder.path().join("other.db");
    Connection::open(&other).unwrap().execute_batch("CREATE TABLE x (y)").unwrap();
    assert!(matches!(Sqlite::open(&other), Err(LedgerError::Foreign(_))));
}

/// A ledger with some scores in it, as a host leaves it that closed it, and as one that was killed.
fn written(folder: &Path, entries: u64) -> (PathBuf, PathBuf) {
    let (closed, killed) = (folder.join("closed.ledger"), folder.join("killed.ledger"));
    let mut ledger = Sqlite::open(&closed).unwrap();
    for seq in 1..=entries {
        ledger.append(seq - 1, &[scored(seq, seq.into())]).unwrap();
    }
    for ending in ["", "-wal", "-mark"] {
        fs::copy(beside(&closed, ending), beside(&killed, ending)).unwrap();
    }
    drop(ledger);
    (closed, killed)
}

#[test]
fn a_closed_ledger_is_one_file_that_knows_how_far_it_has_come() {
    let folder = folder();
    let (closed, killed) = written(folder.path(), 5);
    assert!(!beside(&closed, "-wal").exists() && !beside(&closed, "-mark").exists());
    let found = |path: &Path| crate::inspect(path, |_| Ok(())).unwrap();
    assert_eq!((found(&closed).entries, found(&closed).ending), (5, crate::Ending::Closed));
    assert_eq!((found(&killed).entries, found(&killed).ending), (5, crate::Ending::Open));
    assert_eq!(found(&closed).link, found(&killed).link);
    fs::remove_file(mark::path_of(&killed)).unwrap();
    assert_eq!((found(&killed).entries, found(&killed).ending), (5, crate::Ending::Unmarked));
    fs::remove_file(beside(&killed, "-wal")).unwrap();
    assert!(read(&killed).unwrap_err().to_string().contains("neither its -wal nor its -mark"));
}

#[test]
fn a_ledger_that_is_removed_moved_or_replaced_is_noticed_before_anybody_hears_of_an_entry_and_goes_on_beside()
{
    type Deed = fn(&Path);
    let deeds: [(&str, Deed); 6] = [
        ("was removed or moved", |path| fs::remove_file(path).unwrap()),
        ("was removed or moved", |path| fs::rename(path, beside(path, ".moved")).unwrap()),
        ("was replaced by another file", |path| {
            fs::copy(path, beside(path, ".other")).unwrap();
            fs::rename(beside(path, ".other"), path).unwrap();
        }),
        ("was overwritten", |path| fs::write(path, [7; 8192]).unwrap()),
        ("lost its -wal", |path| fs::remove_file(beside(path, "-wal")).unwrap()),
        ("had its -wal replaced", |path| {
            fs::copy(beside(path, "-wal"), beside(path, ".other")).unwrap();
            fs::rename(beside(path, ".other"), beside(path, "-wal")).unwrap();
        }),
    ];
    for (how, deed) in deeds {
        let folder = folder();
        let path = folder.path().join("class.ledger");
        let mut ledger = Sqlite::open(&path).unwrap();
        ledger.append(0, &[scored(1, 1), scored(2, 2)]).unwrap();
        deed(&path);
        let refused = ledger.append(2, &[scored(3, 3)]).unwrap_err();
        assert!(matches!(&refused, LedgerError::Gone { how: found, .. } if *found == how), "{refused}");
        assert!(matches!(ledger.in_place(), Err(LedgerError::Gone { .. })));
        ledger.rescue().unwrap();
        assert_eq!(ledger.path(), folder.path().join("class.rescued.ledger"));
        ledger.append(2, &[scored(3, 3)]).unwrap();
        drop(ledger);
        assert_eq!(read(&folder.path().join("class.rescued.ledger")).unwrap(), 3, "{how}");
    }
}

#[test]
fn who_reads_a_ledger_or_takes_its_mark_away_disturbs_nothing() {
    let folder = folder();
    let path = folder.path().join("class.ledger");
    let mut ledger = Sqlite::open(&path).unwrap();
    ledger.append(0, &[scored(1, 1)]).unwrap();
    fs::remove_file(mark::path_of(&path)).unwrap();
    assert_eq!(read(&path).unwrap(), 1);
    ledger.in_place().unwrap();
    assert!(mark::path_of(&path).exists(), "it is made anew");
    ledger.append(1, &[scored(2, 2)]).unwrap();
    assert_eq!(read(&path).unwrap(), 2);
}

#[cfg(unix)]
#[test]
fn one_ledger_is_one_by_whatever_name_it_is_opened() {
    let folder = folder();
    let (path, link, hard) =
        (folder.path().join("a.ledger"), folder.path().join("b.ledger"), folder.path().join("c.ledger"));
    let ledger = Sqlite::open(&path).unwrap();
    std::os::unix::fs::symlink(&path, &link).unwrap();
    fs::hard_link(&path, &hard).unwrap();
    for name in [&link, &hard] {
        for refused in [Sqlite::open(name).unwrap_err(), crate::refuse_in_use(name).unwrap_err()] {
            assert!(matches!(refused, LedgerError::InUse(_)), "{refused}");
        }
    }
    drop(ledger);
    crate::refuse_in_use(&path).unwrap();
    drop(Sqlite::open(&link).unwrap());
}

#[test]
fn another_program_that_holds_the_file_for_a_while_only_delays() {
    let folder = folder();
    let path = folder.path().join("class.ledger");
    let mut ledger = Sqlite::open(&path).unwrap();
    let other = Connection::open(&path).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let refused = ledger.append(0, &[scored(1, 1)]).unwrap_err();
    assert!(matches!(refused, LedgerError::Busy(_)), "{refused}");
    other.execute_batch("ROLLBACK").unwrap();
    ledger.append(0, &[scored(1, 1)]).unwrap();
    assert_eq!(all(&ledger).len(), 1);
}

#[test]
fn a_ledger_cut_to_nothing_keeps_what_lies_beside_it_whoever_looks() {
    let folder = folder();
    let (_, killed) = written(folder.path(), 5);
    let wal = fs::read(beside(&killed, "-wal")).unwrap();
    for bytes in [0, 1, 60] {
        fs::write(&killed, vec![b'S'; bytes]).unwrap();
        let said = read(&killed).unwrap_err().to_string();
        assert!(said.contains("the ledger itself is gone") && said.contains("--salvage"), "{said}");
        assert!(Sqlite::open(&killed).is_err());
        assert!(fs::read(beside(&killed, "-wal")).unwrap() == wal, "{bytes}");
    }
}

#[test]
fn a_wal_that_is_not_its_own_is_not_taken_in_by_a_closed_ledger() {
    let folder = folder();
    let (closed, killed) = written(folder.path(), 5);
    let mut ledger = Sqlite::open(&closed).unwrap();
    ledger.append(5, &[scored(6, 6)]).unwrap();
    drop(ledger);
    fs::copy(beside(&killed, "-wal"), beside(&closed, "-wal")).unwrap();
    let found = crate::inspect(&closed, |_| Ok(())).unwrap();
    assert_eq!(found.entries, 6, "what it says itself can be read");
    assert!(found.broken.unwrap().contains("a -wal lies beside it, and a ledger that was closed has none"));
    let refused = Sqlite::open(&closed).unwrap_err().to_string();
    assert!(refused.contains("a -wal lies beside it, and a ledger that was closed has none"), "{refused}");
    fs::remove_file(beside(&closed, "-wal")).unwrap();
    assert_eq!(all(&Sqlite::open(&closed).unwrap()).len(), 6);
}

#[test]
fn another_classs_closed_ledger_put_over_a_killed_one_is_noticed_by_what_lies_beside_it() {
    let folder = folder();
    let (_, killed) = written(folder.path(), 5);
    for entries in [3, 5, 9] {
        let other = folder.path().join(format!("other-{entries}.ledger"));
        let mut ledger = Sqlite::open(&other).unwrap();
        for seq in 1..=entries {
            ledger.append(seq - 1, &[scored(seq, u128::from(seq) + 100)]).unwrap();
        }
        drop(ledger);
        let place = tempfile::tempdir().unwrap();
        let over = place.path().join("killed.ledger");
        let put = |beside_it: &[&str]| {
            fs::copy(&other, &over).unwrap();
            for ending in beside_it {
                fs::copy(beside(&killed, ending), beside(&over, ending)).unwrap();
            }
            read(&over).unwrap_err().to_string()
        };
        let said = put(&["-mark"]);
        let missing =
            entries < 5 && said.contains("entries 4 to 5, which were written after it, are missing");
        assert!(missing || said.contains("another file was put in its place"), "{entries}: {said}");
        let said = put(&["-mark", "-wal"]);
        assert!(said.contains("was put in its place"), "{entries}: {said}");
        fs::remove_file(mark::path_of(&over)).unwrap();
        assert!(put(&["-wal"]).contains("a -wal lies beside it, and a ledger that was closed has none"));
    }
}

#[test]
fn an_entry_that_the_file_swallows_is_not_acknowledged_and_the_class_is_rescued() {
    let folder = folder();
    let path = folder.path().join("class.ledger");
    let mut ledger = Sqlite::open(&path).unwrap();
    ledger.append(0, &[scored(1, 1)]).unwrap();
    let other = Connection::open(&path).unwrap();
    other
        .execute_batch("CREATE TRIGGER swallow BEFORE INSERT ON event BEGIN SELECT RAISE(IGNORE); END")
        .unwrap();
    let refused = ledger.append(1, &[scored(2, 2)]).unwrap_err();
    assert!(matches!(refused, LedgerError::Gone { .. }), "{refused}");
    ledger.rescue().unwrap();
    ledger.append(1, &[scored(2, 2)]).unwrap();
    assert_eq!(all(&ledger).len(), 2);
}

#[test]
fn whatever_is_written_over_an_open_ledger_is_noticed_at_the_next_look_or_before_it_is_left() {
    type Deed = fn(&Path);
    let deeds: [Deed; 5] = [
        |path| fs::write(path, vec![0; fs::metadata(path).unwrap().len() as usize]).unwrap(),
        |path| fs::OpenOptions::new().write(true).open(path).unwrap().set_len(4096).unwrap(),
        |path| fs::write(beside(path, "-wal"), [0; 8192]).unwrap(),
        |path| fs::OpenOptions::new().write(true).open(beside(path, "-wal")).unwrap().set_len(0).unwrap(),
        |path| {
            let other = Connection::open(path).unwrap();
            other
                .execute_batch("DROP TRIGGER event_is_never_removed; DELETE FROM event WHERE seq = 2")
                .unwrap();
        },
    ];
    for (number, deed) in deeds.into_iter().enumerate() {
        let folder = folder();
        let path = folder.path().join("class.ledger");
        let records = |from: u64, to: u64| (from..=to).map(|n| scored(n, n.into())).collect::<Vec<_>>();
        let mut ledger = Sqlite::open(&path).unwrap();
        ledger.append(0, &records(1, 60)).unwrap();
        drop(ledger);
        let mut ledger = Sqlite::open(&path).unwrap();
        ledger.append(60, &records(61, 62)).unwrap();
        deed(&path);
        let found = ledger.in_place().and_then(|()| ledger.settle()).unwrap_err();
        assert!(matches!(found, LedgerError::Gone { .. }), "{number}: {found}");
        ledger.rescue().unwrap();
        ledger.append(62, &records(63, 63)).unwrap();
        drop(ledger);
        assert_eq!(read(&folder.path().join("class.rescued.ledger")).unwrap(), 63, "{number}");
    }
}

#[test]
fn a_ledger_whose_folder_is_gone_is_written_again_elsewhere() {
    let folder = folder();
    let inner = folder.path().join("inner");
    fs::create_dir(&inner).unwrap();
    let name = format!("gone-{}.ledger", uuid::Uuid::from_u128(std::process::id().into()));
    let mut ledger = Sqlite::open(&inner.join(name)).unwrap();
    ledger.append(0, &[scored(1, 1)]).unwrap();
    fs::remove_dir_all(&inner).unwrap();
    assert!(matches!(ledger.in_place(), Err(LedgerError::Gone { .. })));
    ledger.rescue().unwrap();
    let rescued = ledger.path().to_path_buf();
    drop(ledger);
    assert_eq!(read(&rescued).unwrap(), 1);
    fs::remove_file(rescued).unwrap();
}

#[test]
fn a_ledger_in_which_nothing_is_yet_is_not_opened_again_and_left_as_it_is() {
    let folder = folder();
    let [blank, bare, old, new] =
        ["blank", "bare", "old", "new"].map(|name| folder.path().join(name).with_extension("ledger"));
    fs::write(&blank, "").unwrap();
    Connection::open(&bare).unwrap().execute_batch("PRAGMA user_version = 0; VACUUM").unwrap();
    migrate(&mut Connection::open(&old).unwrap(), &old, 2).unwrap();
    drop(Sqlite::open(&new).unwrap());
    for path in [blank, bare, old, new] {
        let before = fs::read(&path).unwrap();
        let refused = Sqlite::reopen(&path, &note).map(drop).unwrap_err();
        assert!(matches!(refused, LedgerError::Empty(_)), "{path:?}: {refused}");
        assert!(fs::read(&path).unwrap() == before, "{path:?}");
        for ending in ["-wal", "-mark"] {
            assert!(!beside(&path, ending).exists(), "{path:?}{ending}");
        }
        assert!(Sqlite::open(&path).is_ok(), "{path:?}: a class can begin in it");
    }
}

/// Every byte of a ledger and of what belongs to it.
fn bytes(path: &Path) -> [Option<Vec<u8>>; 3] {
    ["", "-wal", "-mark"].map(|ending| fs::read(beside(path, ending)).ok())
}

#[test]
fn a_ledger_that_another_program_holds_is_refused_and_every_byte_stays_as_it_was() {
    let folder = folder();
    let (closed, killed) = written(folder.path(), 5);
    let unmarked = folder.path().join("unmarked.ledger");
    for ending in ["", "-wal"] {
        fs::copy(beside(&killed, ending), beside(&unmarked, ending)).unwrap();
    }
    for path in [closed, killed, unmarked] {
        let before = bytes(&path);
        for how in ["BEGIN IMMEDIATE", "BEGIN EXCLUSIVE"] {
            let other = Connection::open(&path).unwrap();
            other.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true).unwrap();
            other.execute_batch(how).unwrap();
            let refused = Sqlite::reopen(&path, &note).map(drop).unwrap_err();
            assert!(matches!(refused, LedgerError::Busy(_)), "{path:?} {how}: {refused}");
            other.execute_batch("ROLLBACK").unwrap();
            drop(other);
            assert!(bytes(&path) == before, "{path:?} {how}");
        }
    }
}

#[test]
fn an_end_that_nobody_vouches_for_is_noted_before_anything_vouches_for_it() {
    let folder = folder();
    let (_, killed) = written(folder.path(), 5);
    fs::remove_file(mark::path_of(&killed)).unwrap();
    // As if the host went down just before it makes its mark.
    let in_the_way = beside(&killed, "-mark.new");
    fs::create_dir(&in_the_way).unwrap();
    assert!(matches!(Sqlite::open_noting(&killed, &note), Err(LedgerError::Disk { .. })));
    let found = crate::inspect(&killed, |_| Ok(())).unwrap();
    assert_eq!((found.entries, found.ending, found.broken), (6, crate::Ending::Unmarked, None));
    fs::remove_dir(&in_the_way).unwrap();
    let mut ledger = Sqlite::open_noting(&killed, &note).unwrap();
    assert_eq!(all(&ledger).iter().filter(|record| record.kind == "end").count(), 2);
    ledger.append(7, &[scored(8, 8)]).unwrap();
    drop(ledger);
    let ledger = Sqlite::open_noting(&killed, &note).unwrap();
    assert_eq!(all(&ledger).len(), 8, "it is noted once");
}

#[test]
fn what_is_done_to_the_wal_during_a_commit_is_not_taken_for_the_commit() {
    type Deed = fn(&fs::File, u64);
    let zero = |file: &fs::File, from: u64, to: u64| {
        use std::io::{Seek, SeekFrom, Write};
        let mut file = file;
        file.seek(SeekFrom::Start(from)).unwrap();
        file.write_all(&vec![0; (to - from) as usize]).unwrap();
    };
    // Before or after what the commit writes, which the file's time and length then hide.
    let deeds: [(&str, Deed); 3] = [
        ("empties it", |file, _| file.set_len(0).unwrap()),
        ("cuts it", |file, bytes| file.set_len(bytes / 2).unwrap()),
        ("overwrites its end", |_, _| {}),
    ];
    for (what, deed) in deeds {
        for late in [true, false] {
            let folder = folder();
            let path = folder.path().join("class.ledger");
            let mut ledger = Sqlite::open(&path).unwrap();
            (1..=5).for_each(|seq| ledger.append(seq - 1, &[scored(seq, seq.into())]).unwrap());
            let wal = fs::OpenOptions::new().write(true).open(beside(&path, "-wal")).unwrap();
            let bytes = ledger.places.wal_bytes();
            let deed = || {
                if what == "overwrites its end" { zero(&wal, bytes / 2, bytes) } else { deed(&wal, bytes) }
            };
            let records = [scored(6, 6)];
            let marked = Marked { seq: 6, link: ledger.marked().link.then(&records[0]) };
            if !late {
                deed();
            }
            // Half of an append: what was looked at before it saw nothing yet.
            ledger.write(5, &records, &[marked.link]).unwrap();
            if late {
                deed();
            }
            let found = ledger.wrote(marked);
            assert!(matches!(found, Err(LedgerError::Gone { .. })), "{what} {late}: {found:?}");
            ledger.rescue().unwrap();
            ledger.append(5, &records).unwrap();
        }
    }
}

#[test]
fn one_changed_bit_anywhere_in_the_wal_is_noticed_at_the_next_look() {
    let folder = folder();
    let path = folder.path().join("class.ledger");
    let mut ledger = Sqlite::open(&path).unwrap();
    for seq in 1..=12 {
        ledger.append(seq - 1, &[scored(seq, seq.into())]).unwrap();
    }
    let wal = beside(&path, "-wal");
    let bytes = fs::read(&wal).unwrap();
    // The last commit, in part in the last frame, has a look of its own.
    for at in (40..bytes.len()).step_by(bytes.len() / 40) {
        let mut changed = bytes.clone();
        changed[at] ^= 1;
        fs::write(&wal, &changed).unwrap();
        // What the clock of the file system does not tell apart.
        ledger.places.written[1] = None;
        assert!(!ledger.is_still(ledger.marked()), "byte {at}");
        fs::write(&wal, &bytes).unwrap();
        assert!(ledger.in_place().is_ok(), "byte {at} put right");
    }
}

#[test]
fn what_another_program_writes_while_a_commit_waits_for_it_is_looked_at_before_the_commit() {
    let folder = folder();
    let path = folder.path().join("class.ledger");
    for (harm, deed) in [
        (true, "UPDATE event SET kind = 'held' WHERE seq = 2"),
        (false, "CREATE TABLE IF NOT EXISTS mine (x)"),
    ] {
        let mut ledger = Sqlite::open(&path).unwrap();
        let first = ledger.marked().seq;
        for seq in first + 1..=first + 5 {
            ledger.append(seq - 1, &[scored(seq, seq.into())]).unwrap();
        }
        let other = Connection::open(&path).unwrap();
        let triggers: Vec<String> = {
            let mut query = other.prepare("SELECT name FROM sqlite_master WHERE type = 'trigger'").unwrap();
            query.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect()
        };
        let (records, marked) = ([scored(first + 6, 77)], ledger.marked());
        let link = marked.link.then(&records[0]);
        ledger.look(marked).unwrap();
        // Between the look and the lock.
        if harm {
            for trigger in triggers {
                other.execute_batch(&format!("DROP TRIGGER {trigger}")).unwrap();
            }
        }
        other.execute_batch(deed).unwrap();
        assert_eq!(ledger.write(first + 5, &records, &[link]).unwrap(), None, "nothing is written over it");
        let appended = ledger.append(first + 5, &records);
        assert_eq!(matches!(appended, Err(LedgerError::Gone { .. })), harm, "{appended:?}");
        drop((other, ledger));
        for ending in ["", "-wal", "-shm", "-mark"] {
            let _ = fs::remove_file(beside(&path, ending));
        }
    }
}

#[test]
fn a_wal_that_another_program_folds_and_cuts_is_no_harm() {
    let folder = folder();
    let path = folder.path().join("class.ledger");
    let mut ledger = Sqlite::open(&path).unwrap();
    let other = Connection::open(&path).unwrap();
    for seq in 1..=10 {
        ledger.append(seq - 1, &[scored(seq, seq.into())]).unwrap();
        if seq % 3 == 0 {
            other.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
            assert_eq!(fs::metadata(beside(&path, "-wal")).unwrap().len(), 0);
            assert!(ledger.in_place().is_ok(), "after entry {seq}");
        }
    }
    drop((other, ledger));
    assert_eq!(read(&path).unwrap(), 10);
}

#[test]
fn a_wal_grows_to_its_measure_is_folded_once_and_begun_anew_without_the_ledger_being_read_again() {
    let folder = folder();
    let path = folder.path().join("class.ledger");
    let mut ledger = Sqlite::open(&path).unwrap();
    let wal = || fs::read(beside(&path, "-wal")).unwrap();
    let round = |wal: &[u8]| u32::from_be_bytes(wal[12..16].try_into().unwrap());
    let long = "warm ".repeat(20_000);
    let (mut rounds, mut longest) = (Vec::new(), 0);
    for seq in 1..=130 {
        let record = Record { json: format!("{{\"note\":\"{long}\"}}").into(), ..scored(seq, seq.into()) };
        // Half of an append at a time, to see that nothing but heads is looked at.
        ledger.look(ledger.marked()).unwrap();
        let marked = Marked { seq, link: ledger.marked().link.then(&record) };
        ledger.write(seq - 1, std::slice::from_ref(&record), &[marked.link]).unwrap();
        assert!(ledger.is_own_writing(&Places::of(&ledger.real)), "entry {seq}");
        ledger.wrote(marked).unwrap();
        ledger.mark.set(marked).unwrap();
        ledger.records.push(record);
        ledger.links.push(marked.link);
        longest = longest.max(wal().len() as u64);
        rounds.push(round(&wal()));
        ledger.fold();
    }
    rounds.dedup();
    assert_eq!(rounds, [rounds[0], rounds[0] + 1, rounds[0] + 2, rounds[0] + 3], "each is folded once");
    assert!((WAL_BYTES..WAL_BYTES + WAL_BYTES / 8).contains(&longest), "{longest}");
    drop(ledger);
    assert_eq!(read(&path).unwrap(), 130);
}

#[test]
fn a_wal_that_sqlite_begins_anew_and_one_that_another_program_writes_to_disturb_nothing() {
    let folder = folder();
    let path = folder.path().join("class.ledger");
    let mut ledger = Sqlite::open(&path).unwrap();
    let other = Connection::open(&path).unwrap();
    for seq in 1..=40 {
        ledger.append(seq - 1, &[scored(seq, seq.into())]).unwrap();
        match seq {
            10 | 20 => other.query_row("PRAGMA wal_checkpoint(PASSIVE)", [], |_| Ok(())).unwrap(),
            15 => other.execute_batch("CREATE TABLE mine (x)").unwrap(),
            30 => other.execute_batch("BEGIN; INSERT INTO mine VALUES (1); ROLLBACK").unwrap(),
            _ => {}
        }
        ledger.in_place().unwrap();
    }
    drop(other);
    drop(ledger);
    assert_eq!(read(&path).unwrap(), 40);
}
