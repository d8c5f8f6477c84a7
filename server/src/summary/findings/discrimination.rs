//! What the answers to the difference tests show: triangle, duo-trio, paired comparison.

use super::Known;
use super::sentences::{About, Evidence, Sentence};
use class::difference::{Side, Way};
use plan::difference::statistic;
use protocol::TestKind;
use room::Room;
use room::given::{SeatAnswer, TestGiven, TestTea};
use serde::Serialize;
use stats::can_show::{DISCRIMINATORS, percent, what_it_takes};
use stats::forced_choice::{Outcome, Power, Test, outcome, power};
use stats::interval::SIGNIFICANCE;

/// What one test found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TestFound {
    /// Its number, from 1.
    pub number: u32,
    /// The way of asking.
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
    /// What so many answers could have found if [`DISCRIMINATORS`] of the tasters tell the teas apart.
    pub power: Known<Power>,
    /// All of it in sentences.
    pub words: Vec<String>,
}

/// What every difference test of the class found, in their order.
pub fn tests(room: &Room) -> Vec<TestFound> {
    room.tests_given().iter().map(evaluate).collect()
}

/// One sentence for each test that was opened.
pub fn sentences(tests: &[TestFound]) -> impl Iterator<Item = Sentence> {
    tests.iter().filter(|test| test.opened).map(|test| {
        let p = test.outcome.get().map(|outcome| outcome.p);
        let (number, kind) = (test.number, test.kind);
        let evidence = Evidence {
            steep: Some(test.steep),
            teas: test.teas.iter().filter_map(|tea| tea.code).collect(),
            n: test.n,
            test: Some(kind.to_string()),
            p,
            ..Evidence::default()
        };
        Sentence {
            text: format!("Test {number} ({kind}, {}): {}", between(&test.teas), test.words.join(" ")),
            about: About::Tests,
            shown: p.is_some_and(|p| p <= SIGNIFICANCE),
            evidence,
        }
    })
}

/// Both teas, for a person.
pub fn between(teas: &[TestTea; 2]) -> String {
    format!("{} and {}", name(&teas[0]), name(&teas[1]))
}

/// What a test found.
pub fn evaluate(given: &TestGiven) -> TestFound {
    let (test, n) = (statistic(&given.way), given.answers.len());
    let counts = |answer: &&SeatAnswer| answer.correct.unwrap_or(answer.picked == Side::First);
    let correct = given.answers.iter().filter(counts).count();
    let outcome = outcome(test, correct, n);
    let mut words = match &outcome {
        Ok(outcome) => found(given, outcome),
        Err(_) if !given.open => vec!["The test was not opened.".to_string()],
        Err(_) => vec!["Nobody has answered.".to_string()],
    };
    if n > 0 {
        words.push(what_it_takes(test, n));
    }
    if given.open && (1..given.seats).contains(&n) {
        words.push(format!("{} of {} seats have not answered.", given.seats - n, given.seats));
    }
    TestFound {
        number: given.number,
        kind: given.way.kind(),
        ask: match &given.way {
            Way::Paired { ask, .. } => Some(ask.clone()),
            Way::Triangle | Way::DuoTrio { .. } => None,
        },
        teas: given.teas.clone(),
        steep: given.steep,
        opened: given.open,
        seats: given.seats,
        n,
        correct,
        outcome: outcome.into(),
        power: power(test, n, SIGNIFICANCE, DISCRIMINATORS).into(),
        words,
    }
}

fn found(given: &TestGiven, outcome: &Outcome) -> Vec<String> {
    let Outcome { test, correct, n, p, .. } = *outcome;
    let [first, second] = &given.teas;
    let chosen = match &given.way {
        Way::Triangle => format!("{correct} of {n} found the odd cup"),
        Way::DuoTrio { .. } => format!("{correct} of {n} found the cup that was the same"),
        Way::Paired { ask, .. } => {
            format!(
                "{correct} of {n} called {} {ask}, {} called {} so",
                name(first),
                n - correct,
                name(second)
            )
        }
    };
    let expected = n as f64 * test.guess();
    let guessed = match test {
        Test::PairedTwoSided => "So uneven a split comes by chance alone in",
        _ => "So many or more come by guessing alone in",
    };
    let what = match test {
        Test::PairedTwoSided | Test::PairedOneSided => "the two differ in this",
        Test::Triangle | Test::DuoTrio => "the class can tell the two apart",
    };
    let verdict = if p <= SIGNIFICANCE {
        format!("it is shown that {what}")
    } else {
        format!("it is not shown that {what}, though it may be so")
    };
    let mut words = vec![
        format!("{chosen}; guessing brings {expected:.1} on average."),
        format!("{guessed} {} of such classes: {verdict} (level 5 %).", percent(p)),
    ];
    words.extend(outcome.discriminators.as_ref().map(|d| {
        format!(
            "An estimated {} of the tasters truly tell them apart (95 % interval {} to {}, exact).",
            percent(d.share),
            percent(d.exact.low),
            percent(d.exact.high)
        )
    }));
    words
}

/// A tea as a sentence calls it.
pub fn name(tea: &TestTea) -> String {
    let code = tea.code.map(|code| code.to_string());
    match (code, &tea.name) {
        (Some(code), Some(name)) => format!("{code} {name}"),
        (code, name) => code.or_else(|| name.clone()).unwrap_or_else(|| "a tea".into()),
    }
}

#[cfg(test)]
mod tests;
