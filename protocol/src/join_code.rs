//! The code on the teacher's screen that lets a new seat in.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use uuid::Uuid;

/// The characters of a join code: the digits and capitals that are taken for no other one, read off a screen or a blackboard.
/// Of each set that looks alike one is here (2 of 2 and Z, 5 of 5 and S, 8 of 8 and B, V of U and V) or none (0, O; 1, I, L).
const ALPHABET: &[u8; 27] = b"23456789ACDEFGHJKMNPQRTVWXY";
/// How many characters a code has.
const CHARS: usize = 8;
/// How many codes there are: a little more than 2^38.
const CODES: u64 = (ALPHABET.len() as u64).pow(CHARS as u32);

/// A join code, written `KX7M-QR4T`. It is one number, so that comparing two takes the same time whatever they are.
#[derive(Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct JoinCode(u64);

impl JoinCode {
    /// The code that a fresh random id draws. Ids of version 4 and 7 have 62 random bits at their end: no code is likelier
    /// than another by more than one in ten million.
    pub fn drawn(fresh: Uuid) -> Self {
        let (_, random) = fresh.as_u64_pair();
        Self((random & (u64::MAX >> 2)) % CODES)
    }
}

impl fmt::Display for JoinCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (mut left, mut text) = (self.0, [0; CHARS]);
        for place in text.iter_mut().rev() {
            let base = ALPHABET.len() as u64;
            *place = ALPHABET[(left % base) as usize];
            left /= base;
        }
        let text: String = text.iter().map(|&character| char::from(character)).collect();
        f.pad(&format!("{}-{}", &text[..CHARS / 2], &text[CHARS / 2..]))
    }
}

impl fmt::Debug for JoinCode {
    /// A join code never reaches a log.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("JoinCode(…)")
    }
}

impl FromStr for JoinCode {
    type Err = String;
    /// A code as somebody typed it: in any case, with dashes and spaces or without. A character that a code does not have is
    /// taken for the one that it looks like.
    fn from_str(typed: &str) -> Result<Self, String> {
        let mut code = 0;
        let mut chars = 0;
        for typed in typed.chars().filter(|c| !matches!(c, '-' | '–' | '_' | ' ')) {
            let meant = match typed.to_ascii_uppercase() {
                'Z' => '2',
                'S' => '5',
                'B' => '8',
                'U' => 'V',
                other => other,
            };
            let Some(digit) = ALPHABET.iter().position(|&known| char::from(known) == meant) else {
                return Err(match meant {
                    '0' | 'O' | '1' | 'I' | 'L' => format!("a join code has no {meant}; {LOOKS}"),
                    _ => format!("that is no join code; {LOOKS}"),
                });
            };
            chars += 1;
            if chars > CHARS {
                return Err(format!("that is too long for a join code; {LOOKS}"));
            }
            code = code * ALPHABET.len() as u64 + digit as u64;
        }
        match chars {
            CHARS => Ok(Self(code)),
            _ => Err(format!("that is too short for a join code; {LOOKS}")),
        }
    }
}

/// What a join code looks like.
const LOOKS: &str = "it is eight letters and digits such as KX7M-QR4T, on the teacher's screen";

impl TryFrom<String> for JoinCode {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        text.parse()
    }
}

impl From<JoinCode> for String {
    fn from(code: JoinCode) -> String {
        code.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn there_are_as_many_codes_as_38_bits_can_tell_apart() {
        assert_eq!(CODES.ilog2(), 38);
        let mut once = ALPHABET.to_vec();
        once.dedup();
        assert!(once.len() == ALPHABET.len() && once.is_sorted());
        assert!(!ALPHABET.iter().any(|character| b"01BILOSUZ".contains(character)));
    }

    #[test]
    fn a_code_is_taken_as_people_type_it() {
        let code: JoinCode = "KX7M-QR4T".parse().unwrap();
        assert_eq!(code.to_string(), "KX7M-QR4T");
        for typed in ["kx7mqr4t", " kx7m qr4t ", "KX7M–QR4T", "K-X-7-M-Q-R-4-T"] {
            assert_eq!(typed.parse(), Ok(code), "{typed}");
        }
        let seen: JoinCode = "2589-VVVV".parse().unwrap();
        assert_eq!("zsb9-uvuv".parse(), Ok(seen), "what looks like another character is taken for it");
    }

    #[test]
    fn what_is_no_code_is_told_what_one_looks_like() {
        for (typed, words) in [
            ("", "too short"),
            ("KX7M", "too short"),
            ("KX7M-QR4T-2", "too long"),
            ("KX0M-QR4T", "has no 0"),
            ("kxlm-qr4t", "has no L"),
            ("KX7M-QR4\u{1b}", "that is no join code"),
            ("192.0.2.7", "has no 1"),
        ] {
            let said = typed.parse::<JoinCode>().unwrap_err();
            assert!(said.contains(words) && said.ends_with("on the teacher's screen"), "{typed}: {said}");
            assert!(!said.contains('\u{1b}'));
        }
        assert_eq!(format!("{:?}", JoinCode(1)), "JoinCode(…)");
    }

    proptest! {
        #[test]
        fn every_code_is_read_as_it_is_written(id in any::<u128>()) {
            let code = JoinCode::drawn(Uuid::from_u128(id));
            prop_assert!(code.0 < CODES);
            prop_assert_eq!(code.to_string().parse(), Ok(code));
            prop_assert_eq!(code.to_string().to_lowercase().replace('-', "").parse(), Ok(code));
        }

        #[test]
        fn whatever_is_typed_for_a_code_is_one_or_is_answered(typed in any::<String>()) {
            match typed.parse::<JoinCode>() {
                Ok(code) => prop_assert_eq!(code.to_string().parse(), Ok(code)),
                Err(said) => prop_assert!(said.contains("KX7M-QR4T")),
            }
        }
    }
}
