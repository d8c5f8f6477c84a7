//! What the answers to the difference tests show: triangle, duo-trio, paired comparison.

use crate::known::Known;
use class::difference::{Asking, Side};
use plan::difference_test::statistic;
use protocol::TestKind;
use room::difference_test::{SeatAnswer, TestAnswers, TestTea};
use schemars::JsonSchema;
use serde::Serialize;
use stats::can_show::DISCRIMINATORS;
use stats::forced_choice::{Outcome, Power, outcome, power};
use stats::interval::SIGNIFICANCE;

/// What one test found.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TestFound {
    /// Its number, from 1.
    pub number: u32,
    /// The kind of test.
    pub kind: TestKind,
    /// What a paired comparison asks: which is …; else `null`.
    pub ask: Option<String>,
    /// The two teas.
    pub teas: [TestTea; 2],
    /// Whose liquor was tasted, from 1.
    pub steep: u32,
    /// Whether the teacher has opened it.
    pub opened: bool,
    /// How many seats there are.
    pub seats: usize,
    /// Answers.
    pub n: usize,
    /// Right answers; in a two-sided paired comparison the answers for the first tea.
    pub correct: usize,
    /// Chance, share and discriminators, or why there are none.
    pub outcome: Known<Outcome>,
    /// What n answers could have found if half of the tasters tell the teas apart.
    pub power: Known<Power>,
    /// All of it in sentences; empty until it is put into words.
    pub words: Vec<String>,
}

/// What a test found, without its words.
pub fn evaluate(given: &TestAnswers) -> TestFound {
    let (test, n) = (statistic(&given.asking), given.answers.len());
    let counts = |answer: &&SeatAnswer| answer.correct.unwrap_or(answer.picked == Side::First);
    let correct = given.answers.iter().filter(counts).count();
    let outcome = outcome(test, correct, n);
    TestFound {
        number: given.number,
        kind: given.asking.kind(),
        ask: match &given.asking {
            Asking::Paired { ask, .. } => Some(ask.clone()),
            Asking::Triangle | Asking::DuoTrio { .. } => None,
        },
        teas: given.teas.clone(),
        steep: given.steep,
        opened: given.open,
        seats: given.seats,
        n,
        correct,
        outcome: outcome.into(),
        power: power(test, n, SIGNIFICANCE, DISCRIMINATORS).into(),
        words: Vec::new(),
    }
}

#[cfg(test)]
mod tests;
