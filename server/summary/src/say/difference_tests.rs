//! What the answers to the difference tests show, in words.

use crate::find::difference_tests::TestFound;
use crate::sentence::{About, Evidence, Sentence};
use class::difference::Asking;
use plan::difference_test::statistic;
use room::difference_test::{TestAnswers, TestTea};
use stats::can_show::{percent, what_it_takes};
use stats::forced_choice::{Outcome, Test};

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
            p_adjusted: test.p_holm,
            ..Evidence::default()
        };
        Sentence {
            text: format!("Test {number} ({kind}, {}): {}", between(&test.teas), test.words.join(" ")),
            about: About::Tests,
            shown: test.shown(),
            evidence,
        }
    })
}

/// Both teas, for a person.
pub fn between(teas: &[TestTea; 2]) -> String {
    format!("{} and {}", name(&teas[0]), name(&teas[1]))
}

/// What a test found, in sentences.
pub fn words(given: &TestAnswers, found: &TestFound) -> Vec<String> {
    let n = found.n;
    let mut words = match found.outcome.get() {
        Some(outcome) => chances(given, outcome, found),
        None if !given.open => vec!["The test was not opened.".to_string()],
        None => vec!["Nobody has answered.".to_string()],
    };
    if n > 0 {
        words.push(what_it_takes(statistic(&given.asking), n, found.sharing));
    }
    if given.open && (1..given.seats).contains(&n) {
        words.push(format!("{} of {} seats have not answered.", given.seats - n, given.seats));
    }
    words
}

fn chances(given: &TestAnswers, outcome: &Outcome, found: &TestFound) -> Vec<String> {
    let Outcome { test, correct, n, p, .. } = *outcome;
    let [first, second] = &given.teas;
    let chosen = match &given.asking {
        Asking::Triangle => format!("{correct} of {n} found the odd cup"),
        Asking::DuoTrio { .. } => format!("{correct} of {n} found the cup that was the same"),
        Asking::Paired { ask, .. } => {
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
        Test::PairedTwoSided => "A split this uneven comes by chance alone in",
        _ => "This many or more come by guessing alone in",
    };
    let what = match test {
        Test::PairedTwoSided | Test::PairedOneSided => "the two differ in this",
        Test::Triangle | Test::DuoTrio => "the class can tell the two apart",
    };
    let verdict = if found.shown() {
        format!("it is shown that {what}")
    } else {
        format!("it is not shown that {what}, though it may be so")
    };
    let allowing = found
        .p_holm
        .filter(|_| found.family > 1)
        .map_or(String::new(), |p| format!(", {} allowing for {} tests", percent(p), found.family));
    let mut words = vec![
        format!("{chosen}; guessing brings {expected:.1} on average."),
        format!("{guessed} {} of such classes{allowing}: {verdict} (level 5 %).", percent(p)),
    ];
    words.extend(outcome.discriminators.as_ref().map(|d| {
        if found.shown() && d.at_least > 0.0 {
            format!(
                "An estimated {} of the tasters truly tell them apart, at least {} (exact, 95 % sure).",
                percent(d.share),
                percent(d.at_least)
            )
        } else {
            format!(
                "An estimated {} of the tasters truly tell them apart; it may be nobody, and hardly more than {}.",
                percent(d.share),
                percent(d.exact.high)
            )
        }
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
