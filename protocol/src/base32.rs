//! The digits of base32 (RFC 4648 §6), in which a pin and a key are pasted.

const ALPHABET: &[u8; 32] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";

/// The character of a digit; only its last five bits count.
pub(crate) fn character(digit: usize) -> char {
    char::from(ALPHABET[digit & 31])
}

/// The digit that a character is, in any case; `None` if it is none.
pub(crate) fn digit(c: char) -> Option<usize> {
    ALPHABET.iter().position(|&known| char::from(known) == c.to_ascii_uppercase())
}

/// What was pasted without what people and programs put between groups.
pub(crate) fn without_gaps(pasted: &str) -> impl Iterator<Item = char> + '_ {
    pasted.chars().filter(|c| !matches!(c, '-' | '–' | '_' | ' '))
}
