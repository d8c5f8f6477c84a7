//! How somebody shows that they know a secret without saying it.
//!
//! A host that only pretends to be the class learns from a proof nothing that opens the real one: the proof is for its own nonce,
//! and for its own certificate. Who passes both on in the same moment can do so only where there is no certificate.

use crate::{Pin, Token};
use hmac::{Hmac, KeyInit, Mac};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt;
use std::fmt::Write as _;
use std::str::FromStr;
use uuid::Uuid;

/// The secrets that are proved: a seat's token, a teacher's key, an observer's.
pub type Secret = [u8; 16];

/// What a secret is for. A proof for one purpose is none for another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Purpose {
    /// To have one's place in a class back.
    Seat,
    /// To lead a class.
    Teacher,
    /// To look on at what a teacher sees.
    Observer,
}

impl Purpose {
    fn word(self) -> &'static [u8] {
        match self {
            Purpose::Seat => b"seat",
            Purpose::Teacher => b"teacher",
            Purpose::Observer => b"observer",
        }
    }
}

/// Bytes that are written as hexadecimal digits, two for each.
macro_rules! in_hex {
    ($name:ident, $bytes:literal, $a:literal) => {
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&hex(&self.0))
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{}({self})", stringify!($name))
            }
        }

        impl FromStr for $name {
            type Err = String;
            fn from_str(text: &str) -> Result<Self, String> {
                bytes::<$bytes>(text)
                    .map(Self)
                    .ok_or_else(|| format!(concat!($a, " is {} hexadecimal digits"), 2 * $bytes))
            }
        }

        impl TryFrom<String> for $name {
            type Error = String;
            fn try_from(text: String) -> Result<Self, String> {
                text.parse()
            }
        }

        impl From<$name> for String {
            fn from(this: $name) -> String {
                this.to_string()
            }
        }
    };
}

/// A number that a host draws for one connection and never again: what is proved over it is proved now.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Nonce(pub [u8; 16]);
in_hex!(Nonce, 16, "a nonce");

impl Nonce {
    /// The one of a connection by its number, from a secret that a host draws at each of its starts: another one for every
    /// connection, and none that anybody else could know before.
    pub fn drawn(secret: &Secret, connection: u64) -> Self {
        let whole = keyed(secret).chain_update(b"nonce\0").chain_update(connection.to_be_bytes()).finalize();
        Self(cut(&whole.into_bytes()))
    }
}

/// Which secret is meant, without a word of it: the first 8 bytes of SHA-256 over its purpose's word, NUL and the secret.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct KeyId([u8; 8]);
in_hex!(KeyId, 8, "a key's name");

impl KeyId {
    /// What a secret is called.
    pub fn of(purpose: Purpose, secret: &Secret) -> Self {
        let KeyHash(hash) = KeyHash::of(purpose, secret);
        Self(cut(&hash))
    }
}

/// By what a secret is known that is kept elsewhere: the SHA-256 over its purpose's word, NUL and the secret.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct KeyHash([u8; 32]);
in_hex!(KeyHash, 32, "a key's hash");

impl KeyHash {
    /// The hash of a secret.
    pub fn of(purpose: Purpose, secret: &Secret) -> Self {
        let hash = Sha256::new().chain_update(purpose.word()).chain_update([0]).chain_update(secret);
        Self(hash.finalize().into())
    }
}

/// The certificate of a host: the SHA-256 of its standard form (DER). It is what RFC 5929 §4 calls `tls-server-end-point`, with
/// SHA-256 whatever hash the certificate itself was signed with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Certificate(pub [u8; 32]);

impl Certificate {
    /// The one that has this standard form.
    pub fn of(der: &[u8]) -> Self {
        Self(Sha256::digest(der).into())
    }

    /// By what a person knows it.
    pub fn pin(&self) -> Pin {
        Pin::cut(&self.0)
    }
}

/// What a proof is made over: the nonce of the connection, and the host's certificate as this side of the connection knows it, if
/// the connection is over TLS.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Challenge {
    /// What the host has drawn for the connection.
    pub nonce: Nonce,
    /// The certificate with which the host speaks TLS; none where what is said can be read on the way.
    pub certificate: Option<Certificate>,
}

impl Challenge {
    /// Of a connection without TLS.
    pub fn plain(nonce: Nonce) -> Self {
        Self { nonce, certificate: None }
    }
}

/// The first 16 bytes of HMAC-SHA256 (RFC 2104, cut short as in its section 5), keyed by the secret, over the purpose's word, NUL,
/// the nonce, the class's id and, over TLS, the SHA-256 of the host's certificate.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Proof([u8; 16]);
in_hex!(Proof, 16, "a proof");

impl Proof {
    /// Shows that the secret is known, to the host of this challenge, for the class of this id.
    pub fn of(purpose: Purpose, secret: &Secret, over: Challenge, class_id: Uuid) -> Self {
        Self(cut(&keyed_over(secret, purpose, over, class_id).finalize().into_bytes()))
    }

    /// Whether it is one of this secret. It takes the same time however much of it is right.
    pub fn holds(&self, purpose: Purpose, secret: &Secret, over: Challenge, class_id: Uuid) -> bool {
        keyed_over(secret, purpose, over, class_id).verify_truncated_left(&self.0).is_ok()
    }
}

/// A secret named and proved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Proved {
    /// Which secret.
    pub key: KeyId,
    /// That it is known.
    pub proof: Proof,
}

impl Proved {
    /// A secret, to the host of this challenge, for the class of this id.
    pub fn of(purpose: Purpose, secret: &Secret, over: Challenge, class_id: Uuid) -> Self {
        let (key, proof) = (KeyId::of(purpose, secret), Proof::of(purpose, secret, over, class_id));
        Self { key, proof }
    }
}

impl Token {
    /// What a token is called.
    pub fn key(&self) -> KeyId {
        KeyId::of(Purpose::Seat, self.0.as_bytes())
    }

    /// Named and proved, to the host of this challenge, for the class of this id.
    pub fn proved(&self, over: Challenge, class_id: Uuid) -> Proved {
        Proved::of(Purpose::Seat, self.0.as_bytes(), over, class_id)
    }

    /// Whether that proves this token.
    pub fn is_proved_by(&self, proof: &Proof, over: Challenge, class_id: Uuid) -> bool {
        proof.holds(Purpose::Seat, self.0.as_bytes(), over, class_id)
    }
}

fn keyed_over(secret: &Secret, purpose: Purpose, over: Challenge, class_id: Uuid) -> Hmac<Sha256> {
    keyed(secret)
        .chain_update(purpose.word())
        .chain_update([0])
        .chain_update(over.nonce.0)
        .chain_update(class_id.as_bytes())
        .chain_update(over.certificate.as_ref().map_or(&[][..], |certificate| &certificate.0))
}

fn keyed(key: &[u8]) -> Hmac<Sha256> {
    // RFC 2104 takes a key of any length.
    Hmac::new_from_slice(key).expect("a key of any length will do")
}

/// The beginning of a hash.
fn cut<const N: usize>(whole: &[u8]) -> [u8; N] {
    std::array::from_fn(|place| whole[place])
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        // A String takes whatever is written to it.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

fn bytes<const N: usize>(text: &str) -> Option<[u8; N]> {
    let digits: Vec<u8> = text.chars().map(|c| Some(c.to_digit(16)? as u8)).collect::<Option<_>>()?;
    (digits.len() == 2 * N).then(|| std::array::from_fn(|n| digits[2 * n] << 4 | digits[2 * n + 1]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const PURPOSES: [Purpose; 3] = [Purpose::Seat, Purpose::Teacher, Purpose::Observer];

    fn small(n: u8) -> [u8; 16] {
        Uuid::from_u128(n.into()).into_bytes()
    }

    /// RFC 4231, test case 2 and, cut to the same length as our proofs, test case 5.
    #[test]
    fn the_keyed_hash_is_that_of_the_rfc() {
        for (key, data, is) in [
            (
                &b"Jefe"[..],
                &b"what do ya want for nothing?"[..],
                "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843",
            ),
            (&[0x0c; 20], b"Test With Truncation", "a3b6167473100ee06e0c796c2955552b"),
        ] {
            let hash = hex(&keyed(key).chain_update(data).finalize().into_bytes());
            assert!(hash.starts_with(is), "{hash}");
        }
    }

    /// By Python's `hmac` and `hashlib`, for the secret 2, the nonce 7 and the class 9, each a number of 16 bytes, without a certificate
    /// and with one that reads `abc`.
    #[test]
    fn a_secret_has_the_same_name_and_proof_in_every_program() {
        for (purpose, key, proof) in [
            (
                Purpose::Seat,
                "bb176b6c181328bc",
                ["9f3e21778666ff299d5e23ed9e9a7fcb", "dbd4ddaa31e299b5b92737260432f1ac"],
            ),
            (
                Purpose::Teacher,
                "579eecf79f01c868",
                ["3825c8908a3347bf5ef3aa926bc8d333", "1973ebe6cf6e81cd81e83d06154f0341"],
            ),
            (
                Purpose::Observer,
                "4a8bee91ef59c23d",
                ["af5e25e0cfd0a1f0b2cc3a952e3e0ee9", "fb0c30efdb883c1c3466fa73f2888c81"],
            ),
        ] {
            for (certificate, proof) in [None, Some(Certificate::of(b"abc"))].into_iter().zip(proof) {
                let over = Challenge { nonce: Nonce(small(7)), certificate };
                let proved = Proved::of(purpose, &small(2), over, Uuid::from_u128(9));
                assert_eq!((proved.key.to_string(), proved.proof.to_string()), (key.into(), proof.into()));
            }
        }
    }

    #[test]
    fn what_is_not_hexadecimal_of_the_right_length_is_answered() {
        for (text, is) in [
            ("0123456789abcdef0123456789ABCDEF", true),
            ("", false),
            ("0123456789abcdef0123456789abcde", false),
            ("0123456789abcdef0123456789abcdef0", false),
            ("0123456789abcdef0123456789abcdeg", false),
            ("+123456789abcdef0123456789abcdef", false),
            ("٠123456789abcdef0123456789abcdef", false),
        ] {
            assert_eq!(text.parse::<Nonce>().is_ok(), is, "{text}");
        }
        assert_eq!("x".parse::<KeyId>().unwrap_err(), "a key's name is 16 hexadecimal digits");
        assert_eq!("x".parse::<Proof>().unwrap_err(), "a proof is 32 hexadecimal digits");
        assert_eq!(format!("{:?}", KeyId([1; 8])), "KeyId(0101010101010101)");
    }

    #[test]
    fn no_two_connections_have_one_nonce_and_neither_have_two_starts_of_a_host() {
        let of = |secret| (0..50).map(move |connection| Nonce::drawn(&small(secret), connection));
        let nonces: std::collections::BTreeSet<String> =
            of(1).chain(of(2)).map(|nonce| nonce.to_string()).collect();
        assert_eq!(nonces.len(), 100);
    }

    /// Who stands between and passes everything on has another certificate than the host, or none: one row for each way.
    #[test]
    fn a_proof_that_is_passed_on_over_another_certificate_or_none_opens_nothing() {
        let [hosts, relays] = [&b"the host's"[..], b"the relay's"].map(|der| Some(Certificate::of(der)));
        for (seen, own, opens, case) in [
            (None, None, true, "no TLS on either side: whoever stands between passes everything on"),
            (hosts, hosts, true, "the host's own certificate at both ends"),
            (relays, hosts, false, "a relay with a certificate of its own before a host with TLS"),
            (None, hosts, false, "a relay without TLS before a host with TLS"),
            (relays, None, false, "a relay with a certificate of its own before a host without TLS"),
            (hosts, None, false, "what was heard over TLS, said without"),
        ] {
            let of = |certificate| Challenge { nonce: Nonce(small(7)), certificate };
            for purpose in PURPOSES {
                let proof = Proof::of(purpose, &small(2), of(seen), Uuid::from_u128(9));
                assert_eq!(proof.holds(purpose, &small(2), of(own), Uuid::from_u128(9)), opens, "{case}");
            }
        }
    }

    #[test]
    fn a_certificate_has_the_pin_that_people_see() {
        assert_eq!(Certificate::of(b"abc").pin(), Pin::of(b"abc"));
    }

    proptest! {
        #[test]
        fn a_proof_holds_for_what_it_was_made_for_and_for_nothing_else(
            secret: [u8; 16], nonce: [u8; 16], class_id: u128, other: [u8; 16], bit in 0..128_usize, purpose in 0..3_usize,
            certificate: Option<[u8; 32]>, another: Option<[u8; 32]>,
        ) {
            let (nonce, class_id, purpose) = (Nonce(nonce), Uuid::from_u128(class_id), PURPOSES[purpose]);
            let with = |nonce, hash: Option<_>| Challenge { nonce, certificate: hash.map(Certificate) };
            let over = with(nonce, certificate);
            let proof = Proof::of(purpose, &secret, over, class_id);
            prop_assert!(proof.holds(purpose, &secret, over, class_id));
            prop_assert_eq!(proof.to_string().parse(), Ok(proof));
            let mut wrong = proof;
            wrong.0[bit / 8] ^= 1 << (bit % 8);
            prop_assert!(!wrong.holds(purpose, &secret, over, class_id));
            for elsewhere in PURPOSES.into_iter().filter(|&elsewhere| elsewhere != purpose) {
                prop_assert!(!proof.holds(elsewhere, &secret, over, class_id));
            }
            if other != secret {
                prop_assert!(!proof.holds(purpose, &other, over, class_id));
                prop_assert_ne!(KeyId::of(purpose, &other), KeyId::of(purpose, &secret));
            }
            if another != certificate {
                prop_assert!(!proof.holds(purpose, &secret, with(nonce, another), class_id));
            }
            if Nonce(other) != nonce {
                prop_assert!(!proof.holds(purpose, &secret, with(Nonce(other), certificate), class_id));
            }
            if Uuid::from_bytes(other) != class_id {
                prop_assert!(!proof.holds(purpose, &secret, over, Uuid::from_bytes(other)));
            }
        }
    }
}
