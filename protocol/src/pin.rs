//! By what a seat knows a host's certificate.

use crate::base32;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt;
use std::str::FromStr;

/// How many characters a pin has: 100 bits.
const CHARS: usize = 20;
/// How many characters stand together.
const TOGETHER: usize = 5;

/// The first 100 bits of the SHA-256 of a certificate, written `ABCDE-FGHIJ-KLMNO-PQRST`. It is no secret: it says which
/// certificate is the class's, so that nobody else's is taken for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Pin([char; CHARS]);

impl Pin {
    /// The pin of a certificate in its standard form (DER).
    pub fn of(certificate: &[u8]) -> Self {
        Self::cut(&Sha256::digest(certificate).into())
    }

    /// The pin of the certificate that has this SHA-256.
    pub(crate) fn cut(hash: &[u8; 32]) -> Self {
        let bit = |n: usize| usize::from(hash[n / 8] >> (7 - n % 8) & 1);
        Self(std::array::from_fn(|place| {
            let digit = (0..5).fold(0, |digit, n| digit << 1 | bit(place * 5 + n));
            base32::character(digit)
        }))
    }
}

impl fmt::Display for Pin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let groups = self.0.chunks(TOGETHER).map(|group| group.iter().collect());
        f.pad(&groups.collect::<Vec<String>>().join("-"))
    }
}

/// What a pin looks like.
const LOOKS: &str = "it is twenty letters and digits such as ABCDE-FGHIJ-KLMNO-PQRST, in the line that the teacher's screen shows; paste it";

impl FromStr for Pin {
    type Err = String;
    /// A pin as it was pasted: in any case, with dashes and spaces or without.
    fn from_str(pasted: &str) -> Result<Self, String> {
        let mut pin = ['A'; CHARS];
        let mut places = pin.iter_mut();
        for c in base32::without_gaps(pasted) {
            let Some(known) = base32::digit(c) else { return Err(format!("that is no pin; {LOOKS}")) };
            let Some(place) = places.next() else {
                return Err(format!("that is too long for a pin; {LOOKS}"));
            };
            *place = base32::character(known);
        }
        match places.next() {
            None => Ok(Self(pin)),
            Some(_) => Err(format!("that is too short for a pin; {LOOKS}")),
        }
    }
}

impl TryFrom<String> for Pin {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        text.parse()
    }
}

impl From<Pin> for String {
    fn from(pin: Pin) -> String {
        pin.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// SHA-256 of "abc" begins BA7816BF 8F01CFEA 414140DE 5 (FIPS 180-4's example); in base32 that is what stands here, by
    /// Python's `base64.b32encode`.
    #[test]
    fn a_pin_is_the_first_hundred_bits_of_the_hash_in_base32() {
        assert_eq!(Pin::of(b"abc").to_string(), "XJ4BN-P4PAH-H6UQK-BIDPF");
    }

    #[test]
    fn a_pin_is_taken_as_it_is_pasted() {
        let pin = Pin::of(b"abc");
        for pasted in ["XJ4BN-P4PAH-H6UQK-BIDPF", "xj4bnp4pahh6uqkbidpf", " xj4bn p4pah h6uqk bidpf "] {
            assert_eq!(pasted.parse(), Ok(pin), "{pasted}");
        }
        let said = |pasted: &str| pasted.parse::<Pin>().unwrap_err();
        assert!(said("XJ4BN").starts_with("that is too short for a pin; it is twenty"));
        assert!(said("XJ4BN-P4PAH-H6UQK-BIDPF-A").starts_with("that is too long"));
        assert!(said("XJ4BN-P4PAH-H6UQK-BIDP1").starts_with("that is no pin"));
    }
}
