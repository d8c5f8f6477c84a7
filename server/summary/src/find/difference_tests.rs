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
use stats::multiple::holm;

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
    /// What n answers could have found if half of the tasters tell the teas apart, this test by itself.
    pub power: Known<Power>,
    /// Its p by Holm over the class's tests that have answers: what is called shown goes by it. `null` without answers.
    pub p_holm: Option<f64>,
    /// Over how many tests Holm went.
    pub family: usize,
    /// How many tests, this one with them, have to share the 5 % for this one to be shown: those of the family that are not
    /// shown themselves.
    pub sharing: usize,
    /// What n answers could have found as `power` has it, 5 % being shared so.
    pub power_sharing: Known<Power>,
    /// All of it in sentences; empty until it is put into words.
    pub words: Vec<String>,
}

impl TestFound {
    /// Whether it is shown that the teas differ, all tests of the class allowed for.
    pub fn shown(&self) -> bool {
        self.p_holm.is_some_and(|p| p <= SIGNIFICANCE)
    }
}

/// What the tests of a class found, without their words.
pub fn evaluate_all(given: &[TestAnswers]) -> Vec<TestFound> {
    let mut all: Vec<TestFound> = given.iter().map(evaluate).collect();
    let p: Vec<f64> = all.iter().filter_map(|test| Some(test.outcome.get()?.p)).collect();
    // Without an adjustment p stands as it is; chances never lie outside 0 to 1.
    let adjusted = holm(&p).unwrap_or_else(|_| p.clone());
    let shown = adjusted.iter().filter(|p| **p <= SIGNIFICANCE).count();
    let mut adjusted = adjusted.into_iter();
    for (test, given) in all.iter_mut().zip(given) {
        test.p_holm = test.outcome.get().and_then(|_| adjusted.next());
        test.family = p.len();
        // Those that are shown leave their part of the level to the others.
        test.sharing = (p.len() - shown + usize::from(test.shown())).max(1);
        let level = SIGNIFICANCE / test.sharing as f64;
        test.power_sharing = power(statistic(&given.asking), test.n, level, DISCRIMINATORS).into();
    }
    all
}

fn evaluate(given: &TestAnswers) -> TestFound {
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
        p_holm: None,
        family: 0,
        sharing: 1,
        power_sharing: power(test, n, SIGNIFICANCE, DISCRIMINATORS).into(),
        words: Vec::new(),
    }
}

#[cfg(test)]
mod tests;
