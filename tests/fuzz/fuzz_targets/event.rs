//! A ledger's events, one a line: each is read or refused in words, what was read is stored as what reads the same, and
//! all together make a room or a sentence why not.
#![no_main]

use libfuzzer_sys::fuzz_target;
use protocol::HostTime;
use room::{Entry, Event, Room};

fuzz_target!(|text: &str| {
    let mut entries: Vec<Entry> = Vec::new();
    for line in text.lines() {
        let kind = serde_json::from_str::<Event>(line).map_or("scored", |event| event.kind().name());
        match Event::read(kind, line) {
            Ok(event) => {
                let stored = event.to_json().unwrap();
                assert_eq!(Event::read(kind, &stored).as_ref(), Ok(&event));
                let seq = entries.len() as u64 + 1;
                entries.push(Entry::new(seq, HostTime(seq as i64 * 1_000_000), event));
            }
            Err(words) => assert!(!words.is_empty()),
        }
    }
    if let Err(words) = Room::replay(entries) {
        assert!(!words.is_empty());
    }
});
