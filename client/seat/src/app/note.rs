//! The note: written, pasted, and full at its end. Nothing is cut without a word.

use super::Key;
use crate::words;
use protocol::text::{self, NOTE_CHARS};

/// From here on it is shown how much is used.
const NEAR: usize = 350;

/// How much of a note's room is used, near its end: `362 of 400`.
pub fn room(note: &str) -> Option<String> {
    let used = note.chars().count();
    (used >= NEAR).then(|| format!("{used} of {NOTE_CHARS}"))
}

/// A key at the note; how many characters had no room.
pub fn edit(note: &mut String, key: &Key) -> usize {
    match key {
        Key::Char(c) => push_inert(note, &c.to_string()),
        Key::Paste(pasted) => push_inert(note, pasted),
        Key::Backspace => {
            note.pop();
            0
        }
        _ => 0,
    }
}

/// So many characters had no room: `12 characters no longer fit: the note holds 400`.
pub fn unfit(characters: usize) -> String {
    let (what, fit) = (words::count(characters, "character"), if characters == 1 { "fits" } else { "fit" });
    format!("{what} no longer {fit}: the note holds {NOTE_CHARS}")
}

/// Adds text to a note as far as it has room, and says how many characters had none; characters that act become spaces, as
/// they would on sending.
fn push_inert(note: &mut String, added: &str) -> usize {
    let room = NOTE_CHARS.saturating_sub(note.chars().count());
    let inert = |c: char| text::clean(&format!("x{c}x"), 3).chars().nth(1).unwrap_or(' ');
    note.extend(added.chars().take(room).map(inert));
    added.chars().count().saturating_sub(room)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_near_its_end_says_how_much_is_used_and_takes_no_more_than_fits() {
        let mut note = "a".repeat(NEAR - 1);
        assert_eq!(room(&note), None);
        assert_eq!(edit(&mut note, &Key::Char('b')), 0);
        assert_eq!(room(&note).as_deref(), Some("350 of 400"));
        assert_eq!(edit(&mut note, &Key::Paste("c".repeat(60))), 10);
        assert_eq!((note.chars().count(), room(&note).as_deref()), (400, Some("400 of 400")));
        assert_eq!(edit(&mut note, &Key::Char('d')), 1);
        assert_eq!(unfit(1), "1 character no longer fits: the note holds 400");
        edit(&mut note, &Key::Backspace);
        assert_eq!(edit(&mut note, &Key::Paste("é".into())), 0, "a character, however many bytes");
        assert!(note.ends_with('é'));
    }
}
