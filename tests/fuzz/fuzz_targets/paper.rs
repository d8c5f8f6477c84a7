//! Scores from paper: entered as a whole, and then nothing more by the same file, or faults with their lines.
#![no_main]

use class::read;
use libfuzzer_sys::fuzz_target;
use protocol::HostTime;
use protocol::text::message;
use room::{Entry, Event, Room};
use server::commands::enter::entering::enter;
use server::commands::enter::fault::render;
use std::sync::LazyLock;
use uuid::Uuid;

static ROOM: LazyLock<Room> = LazyLock::new(|| {
    let class = read::class(include_str!("../../../server/tests/classes/two-ways.toml")).unwrap();
    let event = Event::Class { class_id: Uuid::from_u128(1), seed: 7, class: Box::new(class) };
    Room::replay(vec![Entry::new(1, HostTime(0), event)]).unwrap()
});

fuzz_target!(|file: &[u8]| {
    let mut next = 0;
    let mut ids = || {
        next += 1;
        Uuid::from_u128(next)
    };
    match enter(&ROOM, file, &[], &mut ids) {
        Ok(entering) => {
            assert_eq!(message(&entering.to_string()), entering.to_string());
            let mut room = ROOM.clone();
            for Entry { seq, at, event, .. } in entering.entries {
                room.fold(seq, at, event);
            }
            let again = enter(&room, file, &[], &mut ids).unwrap();
            assert_eq!((again.entries.len(), again.scores), (0, 0));
        }
        Err(faults) => {
            assert!(!faults.is_empty() && faults.iter().all(|fault| fault.line > 0));
            let drawn = render("scores.csv", &faults);
            assert_eq!(message(&drawn), drawn);
        }
    }
});
