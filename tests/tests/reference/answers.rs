//! Words ticked, strength votes and forced choices, against general reference libraries: 500 random sets each. The golden files
//! name the libraries and their versions; `tests/reference/words.py` and `answers.py` rewrite them.

use super::golden::{Check, Figure, chance, full, list, sets, sum};
use serde_json::Value;
use stats::forced_choice::{self, Outcome, Power, Test};
use stats::penalty::{Penalties, Penalty, STEPS, penalties, steep_hint, tally};
use stats::ticks::{CochranQ, Mcnemar, cochran_q, mcnemar_pairs};
use stats::two_means::TTest;
use stats::{Cannot, Interval};

const WORDS: &str = include_str!("../../reference/words.json");
const ANSWERS: &str = include_str!("../../reference/answers.json");

fn ends(interval: Interval) -> [Figure; 2] {
    [sum(interval.low), sum(interval.high)]
}

fn ticks(set: &Value) -> Vec<Vec<bool>> {
    full(&set["rows"]).into_iter().map(|row| row.into_iter().map(|tick| tick == 1.0).collect()).collect()
}

#[test]
fn cochrans_q_agrees() {
    let mut check = Check::default();
    for set in sets(WORDS, "sets") {
        let figures = |ours: &CochranQ| vec![sum(ours.q), chance(ours.p)];
        check.hold(&set["rows"], cochran_q(&ticks(&set)), &set["q"], figures);
    }
    check.covers(430, 860);
}

#[test]
fn mcnemars_exact_test_of_every_pair_agrees() {
    let mut check = Check::default();
    for set in sets(WORDS, "sets") {
        let figures = |ours: &Vec<Mcnemar>| {
            let pair =
                |pair: &Mcnemar| [sum(pair.first_only as f64), sum(pair.second_only as f64), chance(pair.p)];
            ours.iter().flat_map(pair).collect()
        };
        check.hold(&set["rows"], mcnemar_pairs(&ticks(&set)), &set["pairs"], figures);
    }
    check.covers(500, 10_000);
}

fn votes(set: &Value) -> Vec<(i8, f64)> {
    let rows = full(&set["rows"]);
    rows[0].iter().map(|&step| STEPS[step as usize]).zip(rows[1].iter().copied()).collect()
}

fn t_figures(test: &TTest) -> Vec<Figure> {
    [sum(test.t), sum(test.df), chance(test.p)].into_iter().chain(ends(test.interval)).collect()
}

/// Penalty analysis is common practice, and no published example is at hand; its t tests are held to SciPy's.
#[test]
fn penalties_agree() {
    let [mut whole, mut costs, mut pooled, mut welch] = [(); 4].map(|()| Check::default());
    for set in sets(ANSWERS, "votes") {
        let (what, found) = (&set["rows"], penalties(&votes(&set)));
        for side in ["thin", "strong"] {
            let ours: Result<Penalty, Cannot> = found.clone().and_then(|found| {
                // Nobody on that side.
                if side == "thin" { found.too_thin } else { found.too_strong }.ok_or(Cannot::Answers(1))
            });
            let theirs = &set[side];
            costs.hold(what, ours.clone(), &theirs[0], |ours| {
                vec![sum(ours.drop), sum(ours.weighted), sum(f64::from(u8::from(ours.large_enough)))]
            });
            pooled.hold(what, ours.clone().and_then(|ours| ours.pooled), &theirs[1], t_figures);
            welch.hold(what, ours.and_then(|ours| ours.welch), &theirs[2], t_figures);
        }
        whole.hold(what, found, &set["whole"], |ours: &Penalties| {
            [Some(ours.mean), Some(ours.just_right_mean), ours.overall_drop, Some(ours.weighted_sum)]
                .map(sum)
                .into()
        });
    }
    whole.covers(380, 1450);
    costs.covers(470, 1400);
    pooled.covers(280, 1400);
    welch.covers(280, 1400);
}

#[test]
fn the_tests_behind_the_hint_for_the_steep_agree() {
    let mut check = Check::default();
    for set in sets(ANSWERS, "votes") {
        let steps: Vec<i8> = votes(&set).into_iter().map(|(step, _)| step).collect();
        let hint = tally(&steps).map(|tally| steep_hint(&tally));
        check.hold(&set["rows"], hint, &set["hint"], |hint| {
            vec![chance(hint.sign_p), chance(hint.majority_p)]
        });
    }
    check.covers(500, 1000);
}

fn test_named(name: &Value) -> Test {
    match name.as_str().unwrap() {
        "triangle" => Test::Triangle,
        "duo-trio" => Test::DuoTrio,
        "paired one-sided" => Test::PairedOneSided,
        "paired two-sided" => Test::PairedTwoSided,
        other => panic!("{other} is no test"),
    }
}

fn whole(value: &Value) -> usize {
    usize::try_from(value.as_u64().unwrap()).unwrap()
}

#[test]
fn outcomes_of_forced_choices_agree() {
    let mut check = Check::default();
    for set in sets(ANSWERS, "choices") {
        let asked = &set["asked"];
        let found = forced_choice::outcome(test_named(&asked[0]), whole(&asked[1]), whole(&asked[2]));
        check.hold(asked, found, &set["outcome"], |ours: &Outcome| {
            let mut figures = vec![chance(ours.p)];
            figures.extend([ours.share.wilson, ours.share.exact].into_iter().flat_map(ends));
            let beyond = ours.discriminators;
            figures.push(sum(beyond.map(|found| found.share)));
            for interval in [beyond.map(|found| found.wilson), beyond.map(|found| found.exact)] {
                figures.extend([sum(interval.map(|i| i.low)), sum(interval.map(|i| i.high))]);
            }
            figures
        });
    }
    check.covers(500, 4000);
}

/// The power of a forced choice: no published example is at hand; held to SciPy's binomial distribution.
#[test]
fn the_power_of_forced_choices_agrees() {
    let mut check = Check::default();
    let figures =
        |ours: &Power| vec![sum(ours.smallest_correct as f64), chance(ours.actual_alpha), chance(ours.power)];
    for set in sets(ANSWERS, "choices") {
        let asked = list(&set["asked"]);
        let (level, share) = (asked[3].as_f64().unwrap(), asked[4].as_f64().unwrap());
        let found = forced_choice::power(test_named(&asked[0]), whole(&asked[2]), level, share);
        check.hold(&set["asked"], found, &set["power"], figures);
    }
    check.covers(430, 1290);
}

#[test]
fn the_smallest_numbers_of_answers_with_a_power_agree() {
    let mut check = Check::default();
    for set in sets(ANSWERS, "sizes") {
        let asked = &set["asked"];
        let number = |place: usize| asked[place].as_f64().unwrap();
        let found = forced_choice::smallest_n(test_named(&asked[0]), number(1), number(2), number(3));
        check.hold(asked, found, &set["size"], |ours: &Power| {
            vec![sum(ours.n as f64), sum(ours.smallest_correct as f64), chance(ours.power)]
        });
    }
    check.covers(490, 1470);
}
