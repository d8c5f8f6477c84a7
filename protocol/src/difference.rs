//! Difference tests: can the class tell two teas apart? What a seat is asked, and what it answers.

use crate::Code;
use serde::{Deserialize, Serialize};
use std::fmt;
use uuid::Uuid;

/// A way of asking.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum TestKind {
    /// Three cups, two of them the same: which is the odd one? (ISO 4120)
    Triangle,
    /// A cup to begin with, then two: which of them is the same? (ISO 10399)
    DuoTrio,
    /// Two cups: which has more of something? (ISO 5495)
    Paired,
    /// A way of a later protocol. Question and codes say all that a seat needs.
    #[serde(other)]
    Other,
}

impl fmt::Display for TestKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            TestKind::Triangle => "triangle",
            TestKind::DuoTrio => "duo-trio",
            TestKind::Paired => "paired comparison",
            TestKind::Other => "comparison",
        })
    }
}

/// What one seat is asked: its own cups under codes of their own.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct TestCard {
    /// Which of the class's tests, from 1.
    pub test: u32,
    /// The way of asking.
    pub kind: TestKind,
    /// The question in words.
    pub question: String,
    /// The cup to taste first and compare with, which is no answer itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference: Option<Code>,
    /// The cups to choose from, in the order in which they are tasted.
    pub codes: Vec<Code>,
}

impl TestCard {
    /// All the cups in the order in which they are tasted.
    pub fn cups(&self) -> impl Iterator<Item = Code> {
        self.reference.into_iter().chain(self.codes.iter().copied())
    }
}

/// A seat's answer to a test, as the seat sends it and the ledger keeps it.
///
/// As with a score, the seat gives the id and the answer counts once; a changed mind is an answer of its own with a new
/// id and a higher revision, and the highest revision counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    /// The id the seat gave it.
    pub id: Uuid,
    /// Which test.
    pub test: u32,
    /// The cup chosen, one of the seat's own [`TestCard::codes`].
    pub pick: Code,
    /// From 1; the highest counts for this seat and test.
    #[serde(default = "first", skip_serializing_if = "is_first")]
    pub revision: u32,
}

fn first() -> u32 {
    1
}

fn is_first(revision: &u32) -> bool {
    *revision == 1
}
