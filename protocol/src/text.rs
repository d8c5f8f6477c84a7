//! Text from a person is inert: on a terminal, in a spreadsheet, in a page.
//!
//! Names are checked and refused with a reason; notes are cleaned, because losing a note is worse than
//! losing an odd character in it.

use std::ops::Deref;
use std::{fmt, io};
use unicode_normalization::UnicodeNormalization;
use unicode_properties::{GeneralCategory as Category, UnicodeGeneralCategory};

/// The longest name of a seat, a tea or an attribute, in characters.
pub const NAME_CHARS: usize = 40;
/// The longest title of a class, in characters.
pub const TITLE_CHARS: usize = 80;
/// The longest note, in characters.
pub const NOTE_CHARS: usize = 400;

/// Whether a character could act on a terminal or turn the direction of text instead of being shown:
/// controls, format characters (direction overrides, invisible marks), line separators, private use
/// and unassigned characters. The two joiners that some scripts need inside words are let through.
pub fn acts(c: char) -> bool {
    if matches!(c, '\u{200c}' | '\u{200d}') {
        return false;
    }
    matches!(
        c.general_category(),
        Category::Control
            | Category::Format
            | Category::Surrogate
            | Category::PrivateUse
            | Category::Unassigned
            | Category::LineSeparator
            | Category::ParagraphSeparator
    )
}

/// The two joiners, which some scripts need inside words and which show nothing by themselves.
const JOINERS: [char; 2] = ['\u{200c}', '\u{200d}'];
/// Whether a character is one of them.
pub(crate) fn is_joiner(c: char) -> bool {
    JOINERS.contains(&c)
}

/// How many marks may sit on one letter.
const MARKS: usize = 2;

/// Whether a character shows nothing though it is no format character: those of Unicode's
/// Default_Ignorable_Code_Point (DerivedCoreProperties) outside the category Cf, and the empty braille cell.
fn shows_nothing(c: char) -> bool {
    matches!(
        c,
        '\u{34f}' | '\u{115f}'..='\u{1160}' | '\u{17b4}'..='\u{17b5}' | '\u{180b}'..='\u{180f}' | '\u{2800}'
            | '\u{3164}' | '\u{fe00}'..='\u{fe0f}' | '\u{ffa0}' | '\u{e0100}'..='\u{e01ef}'
    )
}

/// Whether every joiner stands between two letters of a script that may need it.
fn joiners_are_needed(text: &str) -> bool {
    let chars: Vec<char> = text.chars().collect();
    let letter =
        |i: Option<usize>| i.and_then(|i| chars.get(i)).is_some_and(|c| c.is_alphabetic() && *c > '\u{24f}');
    (0..chars.len())
        .filter(|&i| JOINERS.contains(&chars[i]))
        .all(|i| letter(i.checked_sub(1)) && letter(Some(i + 1)))
}

/// Whether a character sits on the letter before it.
pub(crate) fn is_mark(c: char) -> bool {
    matches!(c.general_category(), Category::NonspacingMark | Category::EnclosingMark)
}

/// Whether more marks are piled on a letter than any script needs.
fn piles_marks(text: &str) -> bool {
    let mut run = 0;
    text.chars().any(|c| {
        run = if is_mark(c) { run + 1 } else { 0 };
        run > MARKS
    })
}

/// What two names are compared by: compatibility forms made one (NFKC), capitals and joiners left out.
pub fn name_key(name: &str) -> String {
    let plain = name.nfkc().filter(|c| !JOINERS.contains(c)).collect::<String>();
    plain.to_lowercase().nfkc().collect()
}

/// A name with its outer spaces taken off and runs of spaces made one.
///
/// # Errors
/// A sentence saying what is wrong: empty, too long, or holding a character that is not plain text.
pub fn name(raw: &str) -> Result<String, String> {
    line(raw, NAME_CHARS)
}

/// The same for a title, which may be longer.
///
/// # Errors
/// As for [`name`].
pub fn title(raw: &str) -> Result<String, String> {
    line(raw, TITLE_CHARS)
}

fn line(raw: &str, limit: usize) -> Result<String, String> {
    if let Some(c) = raw.chars().find(|&c| acts(c) || shows_nothing(c)) {
        return Err(format!(
            "it holds a character that is not plain text (U+{:04X}); leave it out",
            c as u32
        ));
    }
    let name = raw.split_whitespace().collect::<Vec<_>>().join(" ");
    if !joiners_are_needed(&name) || piles_marks(&name) {
        return Err("it holds marks or joiners that belong to no word; leave them out".into());
    }
    if !name.chars().any(char::is_alphanumeric) {
        return Err("it needs at least one letter or digit".into());
    }
    if name.chars().count() > limit {
        return Err(format!("it is longer than {limit} characters; shorten it"));
    }
    Ok(name)
}

/// How many marks are shown on one letter; more would reach into the lines above and below. No script needs so many.
const MARKS_SHOWN: usize = 4;

/// The characters of a text without those marks that pile up on a letter.
fn without_piles(text: &str) -> impl Iterator<Item = char> + '_ {
    text.chars()
        .scan(0, |run, c| {
            *run = if is_mark(c) { *run + 1 } else { 0 };
            Some((*run <= MARKS_SHOWN).then_some(c))
        })
        .flatten()
}

/// Any text made safe to show: acting characters become spaces, outer spaces go, and it ends at `limit` characters.
pub fn clean(raw: &str, limit: usize) -> String {
    let inert: String = without_piles(raw).map(|c| if acts(c) { ' ' } else { c }).collect();
    let cut: String = inert.trim().chars().take(limit).collect();
    cut.trim_end().to_string()
}

/// What a message shows in place of a character that acts.
const REPLACED: char = '\u{fffd}';

/// Text that acts on nothing wherever it is shown. Only this module makes it, and nothing else leaves a program: no line, no page
/// and no log.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Inert(String);

impl Deref for Inert {
    type Target = str;
    fn deref(&self) -> &str {
        &self.0
    }
}

impl PartialEq<String> for Inert {
    fn eq(&self, other: &String) -> bool {
        self.0 == *other
    }
}

impl fmt::Display for Inert {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// A message about a person's text, which may quote it: its line breaks stay, a tab is a space, and every other character
/// that acts is shown as `\u{fffd}`.
pub fn message(text: &str) -> Inert {
    let shown = |c: char| match c {
        '\n' => '\n',
        '\t' => ' ',
        c if acts(c) => REPLACED,
        c => c,
    };
    Inert(without_piles(text).map(shown).collect())
}

/// The same for a file that a program reads, whose lines may end in CR and LF (RFC 4180).
pub fn file(text: &str) -> Inert {
    let lines: Vec<String> = text.split("\r\n").map(|line| message(line).0).collect();
    Inert(lines.join("\r\n"))
}

/// Writes on what is written to it as [`message`]s, a whole one at a time: for a log, whose lines others make.
#[derive(Clone, Debug)]
pub struct Messages<W>(pub W);

impl<W: io::Write> io::Write for Messages<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write_all(message(&String::from_utf8_lossy(bytes)).as_bytes())?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}

/// A text cell that no spreadsheet runs as a formula: one that starts with a character which opens a formula
/// gets an apostrophe in front. (Common practice, no source; the full-width forms are included because some
/// programs fold them.)
pub fn spreadsheet_cell(text: &str) -> String {
    let opens = |c: char| matches!(c, '=' | '+' | '-' | '@' | '\t' | '\r' | '\n' | '＝' | '＋' | '－' | '＠');
    if text.trim_start().starts_with(opens) || text.starts_with(opens) {
        format!("'{text}")
    } else {
        text.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_plain_name_in_any_script_is_taken() {
        for (raw, kept) in [
            ("Ann", "Ann"),
            ("  Li  Wei ", "Li Wei"),
            ("O'Brien-Ødegård", "O'Brien-Ødegård"),
            ("明月", "明月"),
            ("می\u{200c}خواهم", "می\u{200c}خواهم"),
        ] {
            assert_eq!(name(raw).as_deref(), Ok(kept));
        }
    }

    #[test]
    fn a_name_that_acts_is_refused_with_the_character_named() {
        for (raw, point) in [
            ("A\u{1b}[2J", "U+001B"),
            ("A\u{202e}nn", "U+202E"),
            ("A\u{2066}b", "U+2066"),
            ("a\u{200b}b", "U+200B"),
            ("a\nb", "U+000A"),
            ("\u{3164}", "U+3164"),
            ("Ann\u{fe0f}", "U+FE0F"),
            ("a\u{2800}", "U+2800"),
            ("A\u{200d}nn", "joiners"),
            ("Z\u{300}\u{301}\u{302}o", "marks"),
            ("a\u{9b}31m", "U+009B"),
        ] {
            assert!(name(raw).unwrap_err().contains(point), "{raw:?}");
        }
        assert!(name("  ").unwrap_err().contains("letter or digit"));
        assert!(name(&"x".repeat(41)).unwrap_err().contains("40"));
    }

    #[test]
    fn controls_old_and_new_turns_of_direction_and_line_separators_are_shown_as_marks() {
        for c in ('\0'..=' ').chain('\u{7f}'..='\u{9f}').filter(|c| !matches!(c, '\n' | '\t' | ' ')) {
            assert_eq!(&*message(&format!("a{c}b")), "a\u{fffd}b", "U+{:04X}", c as u32);
        }
        for c in "\u{202a}\u{202b}\u{202c}\u{202d}\u{202e}\u{2066}\u{2067}\u{2068}\u{2069}\u{200e}\u{2028}\u{2029}\u{feff}".chars() {
            assert_eq!(&*message(&format!("a{c}b")), "a\u{fffd}b", "U+{:04X}", c as u32);
        }
        assert_eq!(&*message("one\ttwo\nthree"), "one two\nthree");
        assert_eq!(&*file("a,b\r\nc\rd\r\n"), "a,b\r\nc\u{fffd}d\r\n");
        let mut log = Vec::new();
        io::Write::write_all(&mut Messages(&mut log), "a\u{202e}b\n".as_bytes()).unwrap();
        assert_eq!(log, "a\u{fffd}b\n".as_bytes());
    }

    #[test]
    fn marks_that_pile_up_on_a_letter_are_left_out_and_those_of_every_script_stay() {
        let piled = format!("Z{}o", "\u{301}".repeat(500));
        for shown in [message(&piled).to_string(), clean(&piled, NOTE_CHARS)] {
            assert_eq!(shown.chars().count(), 2 + MARKS_SHOWN);
        }
        // Vietnamese taken apart, Thai, pointed Hebrew.
        for word in ["e\u{302}\u{301}", "ที่", "שִּׁ"] {
            assert_eq!(&*message(word), word);
        }
    }

    #[test]
    fn two_spellings_of_one_name_are_one_name() {
        for (one, other) in [
            ("Ann", "ANN"),
            ("é", "e\u{301}"),
            ("Ａｎｎ", "ann"),
            ("می\u{200c}خواهم", "میخواهم"),
            ("ﬁn", "Fin"),
        ] {
            assert_eq!(name_key(one), name_key(other));
        }
        assert_ne!(name_key("Ann"), name_key("Anna"));
    }

    #[test]
    fn a_cell_that_would_run_is_made_inert_and_others_are_left_alone() {
        for (raw, cell) in [
            ("=1+1", "'=1+1"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("-2", "'-2"),
            (" =1", "' =1"),
            ("\t=1", "'\t=1"),
            ("Ann", "Ann"),
            ("a=b", "a=b"),
            ("", ""),
        ] {
            assert_eq!(spreadsheet_cell(raw), cell);
        }
    }

    proptest! {
        #[test]
        fn cleaned_text_never_acts_and_cleaning_twice_changes_nothing(raw in any::<String>()) {
            let once = clean(&raw, NOTE_CHARS);
            prop_assert!(!once.chars().any(acts));
            prop_assert!(once.chars().count() <= NOTE_CHARS);
            prop_assert_eq!(clean(&once, NOTE_CHARS), once);
        }

        #[test]
        fn a_message_never_acts_and_keeps_its_lines(raw in any::<String>()) {
            let shown = message(&raw);
            prop_assert!(!shown.chars().any(|c| acts(c) && c != '\n'));
            prop_assert_eq!(shown.matches('\n').count(), raw.matches('\n').count());
        }

        #[test]
        fn a_name_that_was_taken_is_taken_again_unchanged(raw in any::<String>()) {
            if let Ok(kept) = name(&raw) {
                prop_assert_eq!(name(&kept), Ok(kept));
            }
        }
    }
}
