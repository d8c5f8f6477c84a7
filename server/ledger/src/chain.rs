//! The chain over the entries of a ledger: each link is computed from an entry and the link before it, so that one changed
//! bit anywhere changes every link after it.
//!
//! Link of entry n = SHA-256 (FIPS 180-4) of, in this order: the link of entry n - 1 (32 bytes; zeros before the first
//! entry), the number n (8 bytes), the instant in microseconds (8 bytes), the length of the kind in bytes (4 bytes), the
//! kind, the entry's JSON. Numbers are big-endian, text is UTF-8. No key is used: the chain shows damage and careless
//! changes, and the seats, who were told links, show a ledger that was written anew as a whole.

use crate::Record;
use sha2::{Digest, Sha256};
use std::fmt;
use std::str::FromStr;

/// One link of the chain.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Link([u8; 32]);

impl Link {
    /// What stands before the first entry.
    pub const START: Self = Self([0; 32]);

    /// The link of the entry that follows.
    #[must_use]
    pub fn then(&self, record: &Record<'_>) -> Self {
        // In few pieces: a review of many classes takes millions of links.
        let mut head = [0; 52];
        head[..32].copy_from_slice(&self.0);
        head[32..40].copy_from_slice(&record.seq.to_be_bytes());
        head[40..48].copy_from_slice(&record.at.0.to_be_bytes());
        head[48..].copy_from_slice(&(record.kind.len() as u32).to_be_bytes());
        let mut hash = Sha256::new();
        hash.update(head);
        hash.update(record.kind.as_bytes());
        hash.update(record.json.as_bytes());
        Self(hash.finalize().into())
    }

    /// The same hash of any bytes.
    pub(crate) fn sum_of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// Its 32 bytes.
    pub fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }

    /// Its first 16 hexadecimal digits: enough to tell one ledger's entry from another's.
    pub fn short(&self) -> String {
        let digits = self.0[..8].iter().flat_map(|byte| [byte >> 4, byte & 15]);
        digits.filter_map(|digit| char::from_digit(u32::from(digit), 16)).collect()
    }

    /// From its 32 bytes; nothing if they are more or fewer.
    pub fn from_slice(bytes: &[u8]) -> Option<Self> {
        Some(Self(bytes.try_into().ok()?))
    }
}

impl fmt::Display for Link {
    /// In hexadecimal, 64 characters.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Link {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for Link {
    type Err = ();

    fn from_str(text: &str) -> Result<Self, ()> {
        let digits = text.as_bytes();
        if digits.len() != 64 {
            return Err(());
        }
        let digit = |byte: u8| char::from(byte).to_digit(16).ok_or(());
        let mut bytes = [0; 32];
        for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
            *byte = (digit(pair[0])? * 16 + digit(pair[1])?) as u8;
        }
        Ok(Self(bytes))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use protocol::HostTime;

    fn record(seq: u64, at: i64, kind: &'static str, json: &'static str) -> Record<'static> {
        Record { seq, at: HostTime(at), kind: kind.into(), json: json.into(), once: None }
    }

    /// Computed beside it: `(head -c 39 /dev/zero; printf '\001'; head -c 7 /dev/zero; printf '\005\000\000\000\004heldx') |
    /// sha256sum`.
    #[test]
    fn a_link_is_the_sha_256_that_anybody_can_compute() {
        let link = Link::START.then(&record(1, 5, "held", "x"));
        assert_eq!(link.to_string(), "785496d166a36bb8fb13f7fc9d3e2f5a8f5e566650f7cf2e11d354c6b2662f4e");
        assert_eq!(link.to_string().parse(), Ok(link));
    }

    #[test]
    fn whatever_is_changed_gives_another_link() {
        let link = Link::START.then(&record(1, 5, "held", "{}"));
        for other in [
            Link::START.then(&record(2, 5, "held", "{}")),
            Link::START.then(&record(1, 6, "held", "{}")),
            Link::START.then(&record(1, 5, "hel", "d{}")),
            Link::START.then(&record(1, 5, "held", "{ }")),
            link.then(&record(1, 5, "held", "{}")),
        ] {
            assert_ne!(link, other);
        }
        assert!("ab".parse::<Link>().is_err() && "x".repeat(64).parse::<Link>().is_err());
    }
}
