//! On which terms people come to a class: they are the class's, and go on when its ledger is opened again.

use protocol::Pin;
use serde::{Deserialize, Serialize};

/// The terms.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct DoorTerms {
    /// Whether the teacher lets people in by name.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub by_name: bool,
    /// How many places there are, if the teacher said so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub places: Option<u32>,
    /// TLS, if seats can join over it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tls: Option<TlsTerms>,
}

/// How seats join over TLS.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct TlsTerms {
    /// Whether none joins without it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub only: bool,
    /// By what seats know the certificate.
    pub pin: Pin,
}

impl DoorTerms {
    /// Whether nothing is said that would not hold without it.
    pub(crate) fn are_usual(&self) -> bool {
        *self == Self::default()
    }
}
