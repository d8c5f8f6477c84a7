//! A record. Its bytes are read as a file that somebody sends: what is shown of it is numbered and chained up to where it
//! says. Written as a record again, and as a ledger, that reads the same. And its lines are taken for entries of their own,
//! which a record has to give back whatever stands in them.
#![no_main]

use ledger::record::{About, restore, text};
use ledger::{Ending, Found, LedgerError, Link, Record, inspect};
use libfuzzer_sys::fuzz_target;
use protocol::HostTime;
use std::fs::write;
use std::path::Path;
use uuid::Uuid;

/// What a file shows, and what is said of it.
fn read(path: &Path) -> Result<(Vec<Record<'static>>, Found), LedgerError> {
    let mut records = Vec::new();
    let found = inspect(path, |record| {
        records.push(record.into_owned());
        Ok(())
    })?;
    let mut link = Link::START;
    for (seq, record) in (1..).zip(&records) {
        assert_eq!(record.seq, seq);
        link = link.then(record);
    }
    assert_eq!((records.len() as u64, link), (found.entries, found.link));
    Ok((records, found))
}

/// What is written as a record reads as what it was.
fn reads_the_same(path: &Path, records: &[Record<'_>], found: &Found) {
    let about = About { class_id: Uuid::from_u128(7), title: "A \"record\"\n温".into() };
    write(path, text(&about, records, found)).unwrap();
    let (again, told) = read(path).unwrap();
    assert_eq!(again, records);
    assert_eq!(told, Found { ending: Ending::Closed, broken: None, ..found.clone() });
}

/// Lines as entries: up to the first comma what kind, then what it says. A line that begins with a space goes on.
fn entries(bytes: &[u8]) -> Vec<Record<'static>> {
    let text = String::from_utf8_lossy(bytes).replace("\n ", "\u{b}");
    let entry = |(seq, line): (u64, &str)| {
        let (kind, json) = line.split_once(',').unwrap_or((line, ""));
        let [kind, json] = [kind, json].map(|part| part.replace('\u{b}', "\n "));
        let at = HostTime(i64::MIN.wrapping_mul(seq as i64).wrapping_add(seq as i64));
        Record { seq, at, kind: kind.into(), json: json.into(), once: None }
    };
    (1..).zip(text.split('\n')).map(entry).collect()
}

fuzz_target!(|bytes: &[u8]| {
    let folder = tempfile::tempdir().unwrap();
    let [sent, made, restored] = ["a.record", "b.record", "c.ledger"].map(|name| folder.path().join(name));
    write(&sent, bytes).unwrap();
    match read(&sent) {
        Ok((records, found)) => {
            reads_the_same(&made, &records, &found);
            if found.broken.is_none() && restore(&restored, &records, found.chained_from).is_ok() {
                let (again, told) = read(&restored).unwrap();
                assert_eq!((again, told), (records, Found { ending: Ending::Closed, ..found }));
            }
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
    let records = entries(bytes);
    let link = records.iter().fold(Link::START, |link, record| link.then(record));
    let entries = records.len() as u64;
    let chained_from = bytes.first().map_or(1, |byte| u64::from(*byte) % (entries + 1) + 1);
    reads_the_same(
        &made,
        &records,
        &Found { entries, link, chained_from, ending: Ending::Open, broken: None },
    );
});
