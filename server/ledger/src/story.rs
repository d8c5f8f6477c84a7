//! The promises of every ledger, told once and kept by all of them.

use super::*;

/// A record of a score whose id is `id`.
pub fn scored(seq: u64, id: u128) -> Record<'static> {
    let id = Uuid::from_u128(id);
    let json = format!(r#"{{"kind":"scored","score":{{"id":"{id}","note":"warm 'bread'"}}}}"#);
    Record { seq, at: HostTime(5), kind: "scored".into(), json: json.into(), once: Some(id) }
}

/// A record of anything else.
fn other(seq: u64) -> Record<'static> {
    Record { seq, at: HostTime(7), kind: "held".into(), json: r#"{"kind":"held"}"#.into(), once: None }
}

/// What is noted where nothing vouches for the end of a ledger.
pub fn note() -> (String, String) {
    ("end".into(), r#"{"kind":"end"}"#.into())
}

/// Everything that a visit shows.
pub fn all(ledger: &dyn Ledger) -> Vec<Record<'static>> {
    let mut found = Vec::new();
    let mut take = |record: Record<'_>| {
        found.push(record.into_owned());
        Ok(())
    };
    ledger.visit(&mut take).unwrap();
    found
}

fn shown(record: Record<'static>) -> Record<'static> {
    Record { once: None, ..record }
}

/// Each `open` opens the same ledger, empty at first.
fn promises(open: impl Fn() -> Box<dyn Ledger>) {
    let mut ledger = open();
    assert_eq!(all(&*ledger), [], "a new ledger is empty");
    ledger.append(0, &[other(1), scored(2, 1)]).unwrap();
    ledger.append(2, &[]).unwrap();
    ledger.append(2, &[scored(3, 2)]).unwrap();
    let three = [other(1), scored(2, 1), scored(3, 2)].map(shown);
    assert_eq!(all(&*ledger), three, "what is appended is shown, in order");

    for (last, records, why) in [
        (2, vec![other(3)], "somebody has written meanwhile"),
        (4, vec![other(5)], "a record is missing"),
        (3, vec![other(5)], "a number is left out"),
        (3, vec![other(4), other(4)], "a number comes twice"),
    ] {
        let refused = ledger.append(last, &records);
        assert!(matches!(refused, Err(LedgerError::Moved { .. })), "{why}: {refused:?}");
    }
    assert!(ledger.append(3, &[other(4), scored(5, 1)]).is_err(), "a score goes in once");
    assert!(ledger.append(3, &[scored(4, 9), scored(5, 9)]).is_err(), "in one batch too");
    assert_eq!(all(&*ledger), three, "a batch goes in whole or not at all");

    let mut unreadable = |record: Record<'_>| if record.seq == 2 { Err("odd".into()) } else { Ok(()) };
    let refused = ledger.visit(&mut unreadable);
    assert!(matches!(refused, Err(LedgerError::Entry { seq: 2, .. })), "the entry is named: {refused:?}");

    drop(ledger);
    let mut ledger = open();
    assert_eq!(all(&*ledger), three, "it is all there when the ledger is opened again");
    ledger.append(3, &[other(4)]).unwrap();
    assert_eq!(all(&*ledger).len(), 4);
}

#[test]
fn a_ledger_in_a_file_keeps_the_promises() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("class.ledger");
    promises(|| Box::new(Sqlite::open(&path).unwrap()));
}

#[test]
fn a_ledger_in_memory_keeps_the_promises() {
    let memory = Memory::new("a class in memory");
    promises(|| Box::new(memory.clone()));
}
