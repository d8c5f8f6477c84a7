//! `kettlecall correct`.

use super::put::{New, put};
use crate::cli::{Correct, OneCup};
use crate::exit::Failure;
use crate::output::print;
use room::{Correction, Entry, Event, Room};
use std::path::Path;

/// Puts something right, or with `check` only says what would be.
pub fn run(ledger: &Path, what: Correct, check: bool) -> Result<(), Failure> {
    let wish = wish(what);
    let done = if check { "checked, nothing put right" } else { "put right" };
    let made = |room: &Room| -> Result<New, Failure> {
        let events = room.correct(&wish).map_err(|refusal| Failure { words: refusal.reason, code: 2 })?;
        // No moment of the class: the entries bear the instant of the last one, so that all else stays as it is.
        let entries: Vec<Entry> =
            (room.seq + 1..).zip(events).map(|(seq, event)| Entry::new(seq, room.last_at, event)).collect();
        let words = match &entries[..] {
            [] => "it is so already\n".to_string(),
            entries => format!("{done}: {}\n", said(room, entries)),
        };
        Ok(New { entries, words })
    };
    Ok(print(&put(ledger, check, made)?)?)
}

fn wish(what: Correct) -> Correction {
    match what {
        Correct::Rename { seat, name } => Correction::Rename { seat, name },
        Correct::Join { seat, into } => Correction::Join { from: seat, into },
        Correct::Part { seat } => Correction::Part { seat },
        Correct::Void(OneCup { cup: (code, steep), reason, seat }) => {
            Correction::Void { code, steep, seat, reason }
        }
        Correct::Restore(OneCup { cup: (code, steep), reason, seat }) => {
            Correction::Restore { code, steep, seat, reason }
        }
        Correct::LeaveOut { seat } => Correction::Count { name: seat, counts: false },
        Correct::Count { seat } => Correction::Count { name: seat, counts: true },
    }
}

/// What is put right, in the words of the review.
fn said(room: &Room, entries: &[Entry]) -> String {
    let mut after = room.clone();
    entries.iter().for_each(|entry| after.fold(entry.seq, entry.at, entry.event.clone()));
    let mut said: Vec<String> =
        after.amendments[room.amendments.len()..].iter().map(ToString::to_string).collect();
    said.extend(entries.iter().filter_map(|entry| match &entry.event {
        Event::SeatCounts { seat, counts, .. } => {
            let name = room.seat_of(*seat).map_or("", |seat| seat.name.as_str());
            let does = if *counts { "count" } else { "do not count" };
            Some(format!("the scores of {name} {does}"))
        }
        _ => None,
    }));
    said.join("; ")
}
