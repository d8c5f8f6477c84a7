use super::read::told;
use super::*;
use crate::story::scored;
use crate::{Ending, Found, Ledger, Link, Sqlite, inspect, visit};
use proptest::prelude::*;
use protocol::HostTime;
use rusqlite::Connection;
use std::fs;
use uuid::Uuid;

fn about() -> About {
    About { class_id: Uuid::from_u128(7), title: "An \"evening\", 温い".into() }
}

/// What is in a ledger or a record, and what was found with it.
fn read(path: &Path) -> (Vec<Record<'static>>, Found) {
    let mut records = Vec::new();
    let found = inspect(path, |record| {
        records.push(record.into_owned());
        Ok(())
    });
    (records, found.unwrap())
}

/// The links as they are stored.
fn links(path: &Path) -> (Vec<Option<Vec<u8>>>, i64) {
    let db = Connection::open(path).unwrap();
    let mut query = db.prepare("SELECT link FROM event ORDER BY seq").unwrap();
    let links = query.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
    (links, db.query_row("SELECT chained_from FROM state", [], |row| row.get(0)).unwrap())
}

fn some_json() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => any::<String>().prop_map(|note| serde_json::json!({ "kind": "scored", "note": note }).to_string()),
        // As another program might have written it.
        1 => any::<i64>().prop_map(|n| format!("{{ \"a\" :\r\n {n}.50e0 }}")),
        1 => Just("\"}\"".to_string()),
        1 => Just("[1, 2]".to_string()),
        1 => Just("{\"entry\":{\"link\":null},\"x\":\"\\u2028\u{2028}\"}".to_string()),
    ]
}

fn some_records() -> impl Strategy<Value = Vec<Record<'static>>> {
    let kind = prop_oneof![3 => "[a-z_]{1,12}".boxed(), 1 => "[\"\\\\:,a温\n]{1,9}".boxed()];
    prop::collection::vec((any::<i64>(), kind, some_json()), 0..20).prop_map(|entries| {
        let record = |((at, kind, json), seq): ((i64, String, String), u64)| {
            let kind = if kind == "scored" { "other".to_string() } else { kind };
            Record { seq, at: HostTime(at), kind: kind.into(), json: json.into(), once: None }
        };
        entries.into_iter().zip(1..).map(record).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]
    #[test]
    fn a_ledger_goes_into_a_record_and_comes_out_of_it_equal(records in some_records(), part in 0.0..=1.0f64) {
        let folder = tempfile::tempdir().unwrap();
        let [first, kept, again] = ["a.ledger", "a.record", "b.ledger"].map(|name| folder.path().join(name));
        // As many entries as that are from before the chain.
        let chained_from = (records.len() as f64 * part) as u64 + 1;
        restore(&first, &records, chained_from).unwrap();
        let (read_first, found) = read(&first);
        prop_assert_eq!((&read_first, found.chained_from), (&records, chained_from));
        let written = text(&about(), &read_first, &found);
        fs::write(&kept, &written).unwrap();
        prop_assert_eq!(written.lines().count(), records.len() + 2);
        let (from_record, of_record) = read(&kept);
        prop_assert_eq!((&from_record, &of_record), (&records, &found));
        restore(&again, &from_record, of_record.chained_from).unwrap();
        prop_assert_eq!(read(&again), (records, found));
        prop_assert_eq!(links(&again), links(&first));
        prop_assert_eq!(text(&about(), &read(&again).0, &of_record), written);
    }
}

/// A record whose first entries have no link.
fn sample(chained_from: u64) -> (Vec<Record<'static>>, String) {
    let records: Vec<Record<'static>> =
        (1..=6).map(|seq| Record { once: None, ..scored(seq, seq.into()) }).collect();
    let link = records.iter().fold(Link::START, |link, record| link.then(record));
    let found = Found { entries: 6, link, chained_from, ending: Ending::Closed, broken: None };
    let text = text(&about(), &records, &found);
    (records, text)
}

/// What is shown was written, and all of it or it is said why not.
fn is_honest(bytes: &[u8], records: &[Record<'static>]) -> bool {
    let told = told(bytes);
    assert!(records.starts_with(&told.records));
    assert_eq!(told.found.entries, told.records.len() as u64);
    assert!(told.found.broken.is_some() || told.records == records, "{:?}", told.found);
    told.found.broken.is_some()
}

#[test]
fn every_cut_and_every_changed_bit_of_a_record_is_noticed_or_changes_nothing() {
    for chained_from in [1, 4, 7] {
        let (records, text) = sample(chained_from);
        let bytes = text.as_bytes();
        assert!(!is_honest(bytes, &records));
        // The last line's end says nothing.
        let is_noticed = |at: usize, noticed: bool| assert!(noticed || at + 1 == bytes.len(), "byte {at}");
        for at in 0..bytes.len() {
            is_noticed(at, is_honest(&bytes[..at], &records));
            let mut changed = bytes.to_vec();
            changed[at] ^= 1 << (at % 8);
            is_noticed(at, is_honest(&changed, &records));
        }
        let lines: Vec<&str> = text.lines().collect();
        for left_out in 0..lines.len() {
            let others = lines.iter().enumerate().filter(|(at, _)| *at != left_out).map(|(_, line)| *line);
            assert!(is_honest(others.collect::<Vec<_>>().join("\n").as_bytes(), &records));
        }
    }
}

#[test]
fn a_record_of_the_first_form_is_whole() {
    for (entries, name) in [(13, "chained"), (5, "partly"), (4, "not-chained")] {
        let seed = format!("../../tests/fuzz/seeds/record/{name}.record");
        let (records, found) = read(Path::new(&seed));
        assert_eq!((records.len(), found.broken), (entries, None), "{name}");
    }
}

#[test]
fn a_record_whose_line_ends_another_program_has_changed_is_damaged_and_read_whole() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.record");
    let (records, text) = sample(1);
    for end in ["\r\n", " \n", "\t\r\n", "\n\n"] {
        fs::write(&path, text.replace('\n', end)).unwrap();
        let (shown, found) = read(&path);
        let words = found.broken_words().unwrap();
        assert!(shown == records && words.contains("nothing else in it was changed"), "{end:?}: {words}");
        assert_eq!(found.breaks_off(), None, "{end:?}");
        // Where something else was changed, too, that is said first.
        let damaged = text.replacen("000005\",\"note\":\"warm", "000005\",\"note\":\"cold", 1);
        fs::write(&path, damaged.replace('\n', end)).unwrap();
        let (shown, found) = read(&path);
        let words = found.breaks_off().unwrap();
        assert_eq!(shown, records[..4], "{end:?}");
        assert!(
            words.contains("entry 5 was changed") && words.contains("line ends were changed, too"),
            "{words}"
        );
    }
}

#[test]
fn any_line_of_a_record_that_is_left_tells_that_it_is_one() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.record");
    let (_, text) = sample(1);
    let lines: Vec<&str> = text.lines().collect();
    for (kept, is_record) in [
        (&lines[..], true),
        (&lines[1..], true),
        (&lines[3..5], true),
        (&lines[7..], true),
        (&["", "", lines[7], " "][..], true),
        (&["[class]", "{\"seq\":,", "{\"entries\""][..], false),
    ] {
        fs::write(&path, kept.join("\n")).unwrap();
        assert_eq!(is_one(&path), is_record, "{kept:?}");
    }
    // Its last line alone, behind many that can't be told.
    let long = lines.join("\n").replace("{\"seq\"", "{\"sex\"").replace("{\"kettlecall", "{\"cattlecall");
    fs::write(&path, format!("{}{long}", "a".repeat(100_000))).unwrap();
    assert!(is_one(&path));
}

#[test]
fn it_is_said_which_entries_of_a_damaged_record_are_whole() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.record");
    let (_, text) = sample(4);
    for (from, to, whole, words) in [
        ("\"seq\":5", "\"seq\":8", 4, "entry 5 was changed"),
        ("000005\",\"note\":\"warm", "000005\",\"note\":\"cold", 4, "entry 5 was changed"),
        ("000002\",\"note\":\"warm", "000002\",\"note\":\"cold", 0, "entry 4 or one before it was changed"),
        ("evening", "morning", 6, "no link covers"),
    ] {
        fs::write(&path, text.replacen(from, to, 1)).unwrap();
        let (_, found) = read(&path);
        assert!(found.entries == whole && found.broken.as_ref().unwrap().contains(words), "{found:?}");
    }
    let (head, entries) = text.split_once('\n').unwrap();
    fs::write(&path, entries).unwrap();
    let (shown, found) = read(&path);
    assert!(shown.len() == 6 && found.broken.unwrap().contains("no link covers"), "without {head}");
    // Damage may make any number of that of its form: only one that its sum bears out is another form's.
    let other_form = text.replacen(":2,", ":3,", 1);
    fs::write(&path, &other_form).unwrap();
    let (shown, found) = read(&path);
    assert!(shown.len() == 6 && found.broken.unwrap().contains("no link covers"));
    let sum = |text: &str| Link::sum_of(&text.as_bytes()[..text.rfind("{\"entries").unwrap()]).to_string();
    fs::write(&path, other_form.replace(&sum(&text), &sum(&other_form))).unwrap();
    assert!(matches!(visit(&path, |_| Ok(())), Err(LedgerError::NewerRecord(_))));
}

#[test]
fn a_record_is_never_written_to_and_no_ledger_is_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let [kept, ledger] = ["a.record", "a.ledger"].map(|name| folder.path().join(name));
    let (records, text) = sample(1);
    fs::write(&kept, &text).unwrap();
    assert!(matches!(Sqlite::open(&kept), Err(LedgerError::Record(_))));
    assert_eq!(fs::read_to_string(&kept).unwrap(), text);
    drop(Sqlite::open(&ledger).unwrap());
    assert!(matches!(restore(&ledger, &records, 1), Err(LedgerError::There(_))));
    fs::remove_file(&ledger).unwrap();
    fs::write(crate::beside(&ledger, "-wal"), "of another one").unwrap();
    assert!(matches!(restore(&ledger, &records, 1), Err(LedgerError::There(_))));
    fs::remove_file(crate::beside(&ledger, "-wal")).unwrap();
    let twice = [records[0].clone(), Record { seq: 2, ..records[0].clone() }];
    assert!(matches!(restore(&ledger, &twice, 1), Err(LedgerError::Entry { seq: 2, .. })));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is left lying about");
}

#[test]
fn a_record_is_made_of_a_ledger_that_a_host_has_open() {
    let folder = tempfile::tempdir().unwrap();
    let [kept, ledger] = ["a.record", "a.ledger"].map(|name| folder.path().join(name));
    let mut host = Sqlite::open(&ledger).unwrap();
    host.append(0, &[scored(1, 1), scored(2, 2)]).unwrap();
    let (records, found) = read(&ledger);
    fs::write(&kept, text(&about(), &records, &found)).unwrap();
    host.append(2, &[scored(3, 3)]).unwrap();
    assert_eq!(read(&kept).0, records);
    drop(host);
    // Nor is a ledger that was made of it any less one.
    fs::remove_file(&ledger).unwrap();
    restore(&ledger, &records, found.chained_from).unwrap();
    Sqlite::open(&ledger).unwrap().append(2, &[scored(3, 3)]).unwrap();
    assert_eq!(read(&ledger).0.len(), 3);
}
