use super::*;
use crate::record::{About, text};
use crate::salvage::tests::{Plain, entries, places};
use crate::salvage::{Saved, chosen};
use crate::{Ending, Found};
use protocol::HostTime;

/// A class of a few entries, with notes in more than one script, and the record of it.
fn sample(chained_from: u64) -> (Vec<Record<'static>>, String) {
    let first = Record {
        json: r#"{"kind":"class","title":"An \"evening\", 温い"}"#.into(),
        ..entries()[0].clone()
    };
    let notes = ["warm bread", "grün, süß", "烘焙 花香", "🍵"];
    let score = |(seq, note): (u64, &str)| {
        let mut record =
            Record { seq, at: HostTime(1_234_567 * seq as i64), ..entries()[seq as usize + 1].clone() };
        record.json = record.json.replace("warm", note).into();
        assert!(record.json.contains(note), "{}", record.json);
        record
    };
    let records: Vec<_> = [first].into_iter().chain((2..).zip(notes).map(score)).collect();
    let link = records.iter().fold(Link::START, |link, record| link.then(record));
    let found = Found { entries: 5, link, chained_from, ending: Ending::Closed, broken: None };
    let about = About { class_id: uuid::Uuid::nil(), title: "An evening".into() };
    let text = text(&about, &records, &found);
    (records, text)
}

/// What can be saved of a record.
fn saved(bytes: &[u8]) -> Option<Saved> {
    chosen(&scan(bytes), None, &Plain)
}

#[test]
fn of_a_record_with_a_changed_byte_everything_is_saved() {
    let (records, text) = sample(1);
    for at in places(text.len(), 400) {
        for mask in [1 << (at % 8), 0xff, 0x80] {
            let mut bytes = text.clone().into_bytes();
            bytes[at] ^= mask;
            let shown = || String::from_utf8_lossy(&bytes[at.saturating_sub(20)..(at + 9).min(bytes.len())]);
            let saved = saved(&bytes).unwrap_or_else(|| panic!("{at} {mask}: {}", shown()));
            assert!(saved.records == records, "{at} {mask}: {} {:?}", shown(), saved.done);
            assert!(
                saved.done.proven() == 5 && saved.done.end_known,
                "{at} {mask}: {} {:?}",
                shown(),
                saved.done
            );
        }
    }
}

/// The lines of a record with one of them replaced; without it if it is replaced by nothing.
fn with(text: &str, line: usize, by: &str) -> String {
    let lines = text.lines().enumerate().map(|(at, old)| if at == line { by } else { old });
    lines.filter(|line| !line.is_empty()).map(|line| line.to_owned() + "\n").collect()
}

#[test]
fn of_a_record_without_one_of_its_lines_only_that_is_lost_and_its_end_is_known() {
    let (records, text) = sample(1);
    for (line, by, lost, is_end_known) in [
        (0, "", &[][..], true),
        (1, "", &[], true),
        (1, "{\"seq\":1,\"at_us\":0,\"kind\":", &[], true),
        (2, "", &[2], true),
        (5, "", &[5], true),
        (4, "x", &[4], true),
        (6, "", &[], false),
    ] {
        let Saved { records: saved, done, .. } = saved(with(&text, line, by).as_bytes()).unwrap();
        let case = format!("{line} {by:?}: {done:?}");
        assert_eq!((done.entries, &done.lost[..], done.end_known), (5, lost, is_end_known), "{case}");
        for (saved, record) in saved.iter().zip(&records).filter(|(saved, _)| !lost.contains(&saved.seq)) {
            assert_eq!(saved, record, "{case}");
        }
    }
}

#[test]
fn an_entry_whose_number_was_changed_is_not_placed_behind_the_last_one() {
    let (records, text) = sample(1);
    for number in [6, 7, 9, 41] {
        let changed = text.replacen("{\"seq\":3,", &format!("{{\"seq\":{number},"), 1);
        let Saved { records: saved, done, .. } = saved(changed.as_bytes()).unwrap();
        assert!(saved == records && done.proven() == 5 && done.end_known, "{number}: {done:?}");
        // Nor where what links it to the others was changed with it.
        let changed = changed.replacen("grün", "grau", 1);
        let Saved { done, .. } = self::saved(changed.as_bytes()).unwrap();
        assert!(done.entries == 5 && done.lost == [3] && done.end_known, "{number}: {done:?}");
    }
}

#[test]
fn a_last_line_whose_number_was_changed_costs_no_entry() {
    // Chained from the first entry on, or from the last one alone.
    for chained_from in [1, 5] {
        let (records, text) = sample(chained_from);
        for number in ["2", "4", "6", "77", "x"] {
            let changed = text.replacen("{\"entries\":5,", &format!("{{\"entries\":{number},"), 1);
            let Saved { records: saved, done, .. } = saved(changed.as_bytes()).unwrap();
            let is_saved = saved == records && done.proven() == 5 && done.end_known;
            assert!(is_saved, "{chained_from} {number}: {done:?}");
        }
    }
}

#[test]
fn what_stands_at_line_ends_costs_no_entry() {
    let (records, text) = sample(1);
    for end in ["\r\n", " \n", "\n\n"] {
        let Saved { records: saved, done, .. } = saved(text.replace('\n', end).as_bytes()).unwrap();
        assert!(saved == records && done.proven() == 5 && done.end_known, "{end:?}: {done:?}");
    }
}

#[test]
fn what_the_last_line_repeats_counts_as_much_as_the_first_entry_itself() {
    for chained_from in [1, 4] {
        let (records, text) = sample(chained_from);
        // Where the entry was changed, where its repetition was, and where it was changed into something that is none.
        for changed in [
            text.replacen("evening\\\", 温い\"}", "morning\\\", 温い\"}", 1),
            text.replacen("{\"seq\":1,\"at_us\":0", "{\"sex\":l,\"at_us\":0", 1),
            text.replace(",\"first\":{\"seq\":1,\"at_us\":0", ",\"first\":{\"seq\":1,\"at_us\":9"),
        ] {
            assert_ne!(changed, text);
            let Saved { records: saved, done, .. } = saved(changed.as_bytes()).unwrap();
            assert!(saved == records && done.proven() == 5, "{chained_from}: {done:?} {changed}");
        }
    }
}
