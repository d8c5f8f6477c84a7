//! The keys by which a console elsewhere leads a class, or looks on at what the teacher sees.

use crate::base32;
use crate::proof::{Purpose, Secret};
use std::fmt;
use std::str::FromStr;

/// How many characters a key has: 128 bits, and two more that are nought.
const CHARS: usize = 26;
/// How many characters stand together; the last group has one more.
const TOGETHER: usize = 5;

/// A key with what it is for, written `teacher: ABCDE-FGHIJ-KLMNO-PQRST-UVWXY2`. The host's own terminal shows it
/// where it is asked for; over the wire it is only proved.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct ConsoleKey {
    /// [`Purpose::Teacher`] or [`Purpose::Observer`].
    pub purpose: Purpose,
    /// What is proved.
    pub secret: Secret,
}

impl ConsoleKey {
    /// What it is for, in one word.
    fn word(self) -> &'static str {
        match self.purpose {
            Purpose::Observer => "observer",
            Purpose::Teacher | Purpose::Seat => "teacher",
        }
    }

    /// The key of a text: the one line of it that holds one, or of both keys of a class the teacher's. Lines that begin with `#`
    /// only explain.
    ///
    /// # Errors
    /// A sentence: there is no key in it, or something that is none.
    pub fn of_text(text: &str) -> Result<Self, String> {
        let lines = text.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#'));
        let keys = lines.map(str::parse).collect::<Result<Vec<Self>, String>>()?;
        let teachers = keys.iter().find(|key| key.purpose == Purpose::Teacher);
        teachers.or(keys.first()).copied().ok_or_else(|| format!("there is no key in it; {LOOKS}"))
    }
}

impl fmt::Debug for ConsoleKey {
    /// A key never reaches a log.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "ConsoleKey({}, …)", self.word())
    }
}

impl fmt::Display for ConsoleKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Two bits of nought behind the last of the key's own.
        let bits = u128::from_be_bytes(self.secret);
        let digit = |place: usize| match place + 1 {
            CHARS => bits << 2 & 31,
            before => bits >> (128 - 5 * before) & 31,
        };
        write!(f, "{}: ", self.word())?;
        for place in 0..CHARS {
            if place > 0 && place % TOGETHER == 0 && place < CHARS - 1 {
                f.write_str("-")?;
            }
            write!(f, "{}", base32::character(digit(place) as usize))?;
        }
        Ok(())
    }
}

/// What a key looks like.
const LOOKS: &str = "a key is a line such as `teacher: ABCDE-FGHIJ-KLMNO-PQRST-UVWXY2`, in the file beside the class's ledger; copy that file or that line";

impl FromStr for ConsoleKey {
    type Err = String;
    /// A line with a key, in any case, with dashes and spaces or without.
    fn from_str(line: &str) -> Result<Self, String> {
        let (word, key) = line.split_once(':').ok_or_else(|| format!("a line in it is no key; {LOOKS}"))?;
        let purpose = match word.trim().to_ascii_lowercase().as_str() {
            "teacher" => Purpose::Teacher,
            "observer" => Purpose::Observer,
            _ => return Err(format!("a line in it is no key; {LOOKS}")),
        };
        let (mut bits, mut chars) = (0_u128, 0);
        for c in base32::without_gaps(key) {
            let digit = base32::digit(c)
                .ok_or_else(|| format!("the {word} key has a character that no key has; {LOOKS}"))?;
            chars += 1;
            match chars {
                CHARS if digit & 3 != 0 => {
                    return Err(format!("the {word} key ends as no key does; {LOOKS}"));
                }
                CHARS => bits = bits << 3 | digit as u128 >> 2,
                _ => bits = bits << 5 | digit as u128,
            }
            if chars > CHARS {
                return Err(format!("the {word} key is too long; {LOOKS}"));
            }
        }
        if chars < CHARS {
            return Err(format!("the {word} key is too short; {LOOKS}"));
        }
        Ok(Self { purpose, secret: bits.to_be_bytes() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// By Python's `base64.b32encode` of the bytes 0 to 15.
    #[test]
    fn a_key_is_written_in_base32_with_what_it_is_for() {
        let key = ConsoleKey { purpose: Purpose::Teacher, secret: std::array::from_fn(|n| n as u8) };
        assert_eq!(key.to_string(), "teacher: AAAQE-AYEAU-DAOCA-JBIFQ-YDIOB4");
        assert_eq!(format!("{key:?}"), "ConsoleKey(teacher, …)");
        for typed in ["teacher: AAAQE-AYEAU-DAOCA-JBIFQ-YDIOB4", " TEACHER:aaaqeayeaudaocajbifqydiob4"] {
            assert_eq!(typed.parse(), Ok(key), "{typed}");
        }
    }

    #[test]
    fn of_both_keys_the_teachers_is_meant_and_of_one_that_one() {
        let [teacher, observer] = [Purpose::Teacher, Purpose::Observer]
            .map(|purpose| ConsoleKey { purpose, secret: [purpose as u8; 16] });
        let both = format!("# Keep this file\n{observer}\n\n{teacher}\n");
        assert_eq!(ConsoleKey::of_text(&both), Ok(teacher));
        assert_eq!(ConsoleKey::of_text(&format!("{observer}\r\n")), Ok(observer));
    }

    #[test]
    fn what_is_no_key_is_told_what_one_looks_like() {
        for (text, words) in [
            ("", "there is no key in it"),
            ("# only words", "there is no key in it"),
            ("AAAQE-AYEAU-DAOCA-JBIFQ-YDIOB4", "no key"),
            ("pupil: AAAQE-AYEAU-DAOCA-JBIFQ-YDIOB4", "no key"),
            ("teacher: AAAQE", "too short"),
            ("teacher: AAAQE-AYEAU-DAOCA-JBIFQ-YDIOB4-A", "too long"),
            ("teacher: AAAQE-AYEAU-DAOCA-JBIFQ-YDIOB1", "that no key has"),
            ("teacher: AAAQE-AYEAU-DAOCA-JBIFQ-YDIOB5", "ends as no key does"),
            ("\u{1b}[2J", "no key"),
        ] {
            let said = ConsoleKey::of_text(text).unwrap_err();
            assert!(said.contains(words) && said.contains("beside the class's ledger"), "{text}: {said}");
            assert!(!said.contains('\u{1b}'));
        }
    }

    proptest! {
        #[test]
        fn every_key_is_read_as_it_is_written(secret: [u8; 16], observes: bool) {
            let purpose = if observes { Purpose::Observer } else { Purpose::Teacher };
            let key = ConsoleKey { purpose, secret };
            prop_assert_eq!(key.to_string().parse(), Ok(key));
        }

        #[test]
        fn no_text_makes_its_reader_panic(text in "(teacher:|observer:)?[ -Z2-9–a-z\u{1b}é]{0,40}") {
            let _ = ConsoleKey::of_text(&text);
        }
    }
}
