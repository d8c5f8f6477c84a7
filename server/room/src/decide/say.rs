//! What the teacher says: to all seats, or to one.

use super::{Refusal, refuse};
use crate::{Event, Room, Seat};
use protocol::text::{NOTE_CHARS, clean};
use protocol::wire::RefusalCode;

impl Room {
    /// Something is said to all.
    pub(super) fn say(&self, words: &str) -> Result<Vec<Event>, Refusal> {
        Ok(vec![Event::Said { seat: None, words: spoken(words)? }])
    }

    /// Something is said to one: `typed` begins with the name, of as many words as it has.
    pub(super) fn say_to(&self, typed: &str) -> Result<Vec<Event>, Refusal> {
        let (seat, words) = self.named_first(typed)?;
        Ok(vec![Event::Said { seat: Some(seat.id), words: spoken(words)? }])
    }

    /// The seat whose name a text begins with, the longest that there is, and what stands behind the name.
    fn named_first<'t>(&self, typed: &'t str) -> Result<(&Seat, &'t str), Refusal> {
        let ends = typed.char_indices().filter(|(_, c)| c.is_whitespace()).map(|(at, _)| at);
        let mut ends: Vec<usize> = ends.chain([typed.len()]).collect();
        ends.reverse();
        let named = |&end: &usize| {
            let (name, words) = typed.split_at(end);
            let name = name.trim();
            let seat = self.seat_meant(name).or_else(|| self.seat_meant(name.strip_suffix(':')?))?;
            Some((seat, words.trim()))
        };
        ends.iter().find_map(named).ok_or_else(|| {
            let first = typed.split_whitespace().next().unwrap_or_default();
            Refusal { code: RefusalCode::BadName, reason: self.no_such_seat(first) }
        })
    }
}

/// What is said as every seat can show it.
fn spoken(words: &str) -> Result<String, Refusal> {
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    if words.chars().count() > NOTE_CHARS {
        return refuse(
            RefusalCode::Other,
            format!("that is longer than {NOTE_CHARS} characters; say it in two"),
        );
    }
    match clean(&words, NOTE_CHARS) {
        words if words.is_empty() => {
            refuse(RefusalCode::Other, "say what? `say TEXT` tells all seats something")
        }
        words => Ok(words),
    }
}
