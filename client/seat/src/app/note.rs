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

/// A key at the note.
///
/// # Errors
/// What did not fit, in words.
pub fn edit(note: &mut String, key: &Key) -> Result<(), String> {
    match key {
        Key::Char(c) => match push_inert(note, &c.to_string()) {
            0 => Ok(()),
            _ => Err(format!("the note is full: {NOTE_CHARS} characters")),
        },
        Key::Paste(pasted) => match push_inert(note, pasted) {
            0 => Ok(()),
            left_out => {
                let (what, are) =
                    (words::count(left_out, "character"), if left_out == 1 { "is" } else { "are" });
                Err(format!("{what} of what was pasted {are} left out: the note holds {NOTE_CHARS}"))
            }
        },
        Key::Backspace => {
            note.pop();
            Ok(())
        }
        _ => Ok(()),
    }
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
        edit(&mut note, &Key::Char('b')).unwrap();
        assert_eq!(room(&note).as_deref(), Some("350 of 400"));
        let pasted = Key::Paste("c".repeat(60));
        assert_eq!(
            edit(&mut note, &pasted),
            Err("10 characters of what was pasted are left out: the note holds 400".into())
        );
        assert_eq!((note.chars().count(), room(&note).as_deref()), (400, Some("400 of 400")));
        assert_eq!(edit(&mut note, &Key::Char('d')), Err("the note is full: 400 characters".into()));
        edit(&mut note, &Key::Backspace).unwrap();
        assert_eq!(edit(&mut note, &Key::Paste("é".into())), Ok(()), "a character, however many bytes");
        assert!(note.ends_with('é'));
    }
}
