//! A class without the names of its tasters, for everybody's eyes. The names are taken out of the entries before anything is made
//! of them, so that no form of a review can hold one.

use protocol::SeatId;
use protocol::text::name_key;
use room::{Entry, Event};
use std::collections::HashMap;
use uuid::Uuid;

/// Calls every seat `Taster` and a number, drawn for the class so that it does not tell who came first; also in notes and
/// reasons, where a name stands as a word of its own.
pub fn nameless(entries: &mut [Entry]) {
    let class = entries.iter().find_map(|entry| match &entry.event {
        Event::Class { class_id, .. } => Some(*class_id),
        _ => None,
    });
    let mut seats: Vec<SeatId> = Vec::new();
    let mut names: Vec<(String, SeatId)> = Vec::new();
    for entry in entries.iter() {
        if let Event::Seated { seat, name, .. } | Event::Renamed { seat, name } = &entry.event {
            seats.push(*seat);
            names.push((name_key(name), *seat));
        }
    }
    let class = class.unwrap_or_default();
    let drawn = |seat: &SeatId| Uuid::new_v5(&class, seat.0.as_bytes());
    seats.sort_by_key(drawn);
    seats.dedup();
    let called: HashMap<SeatId, String> =
        (1..).zip(seats).map(|(n, seat)| (seat, format!("Taster {n}"))).collect();
    // The longest first: Li Wei before Li.
    names.sort_by_key(|(name, _)| std::cmp::Reverse(name.len()));
    let plain = |text: &str| {
        names.iter().fold(text.to_string(), |text, (name, seat)| replaced(&text, name, &called[seat]))
    };
    for entry in entries {
        // A console may be called as its taster is.
        entry.by = None;
        match &mut entry.event {
            Event::Seated { seat, name, .. } | Event::Renamed { seat, name } => {
                name.clone_from(&called[seat])
            }
            Event::Voided { reason, .. } | Event::Restored { reason, .. } => *reason = plain(reason),
            Event::Scored { score, .. } => {
                score.note = plain(&score.note);
                // The id of a score from paper follows from the seat's name.
                score.id = Uuid::new_v5(&class, &entry.seq.to_be_bytes());
            }
            _ => {}
        }
    }
}

/// The text with another word for a name, wherever it stands by itself; `name` in small letters.
fn replaced(text: &str, name: &str, by: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while !rest.is_empty() {
        let before = out.chars().next_back();
        let free = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric());
        let ends = rest.char_indices().map(|(at, c)| at + c.len_utf8());
        let end = ends.take(name.chars().count() * 2).find(|&end| name_key(&rest[..end]) == name);
        match end.filter(|&end| free(before) && free(rest[end..].chars().next())) {
            Some(end) => {
                out += by;
                rest = &rest[end..];
            }
            None => {
                let mut letters = rest.chars();
                out.extend(letters.next());
                rest = letters.as_str();
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_taken_out_where_it_stands_by_itself_however_it_is_spelt() {
        for (text, name, plain) in [
            ("drank from Chen's cup", "chen", "drank from Taster 2's cup"),
            ("CHEN, Chen and chen", "chen", "Taster 2, Taster 2 and Taster 2"),
            ("kitchen; Cheng; chen2", "chen", "kitchen; Cheng; chen2"),
            ("Li Wei poured", "li wei", "Taster 2 poured"),
            ("", "chen", ""),
        ] {
            assert_eq!(replaced(text, name, "Taster 2"), plain);
        }
    }
}
