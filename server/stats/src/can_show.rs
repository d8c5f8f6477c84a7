//! What n people can show, in one honest sentence: of scores, and of a difference test.

use super::forced_choice::{Test, power, smallest_n};
use super::interval::SIGNIFICANCE;
use super::missed::{Design, Overall, smallest_told_apart};
use super::power::{POWER, SD_OF_DIFFERENCES};

/// The fewest seats for which anything is said.
const FEWEST: usize = 3;
/// The share of tasters who truly tell the teas apart for whom the power of a difference test is stated: one half.
pub const DISCRIMINATORS: f64 = 0.5;

/// What `seats` seats can show of `teas` teas with `attributes` attributes on the sheet, in one honest sentence: by the rule
/// that a summary goes by, a test over all teas with all attributes allowed for, then the two teas.
pub fn sentence(seats: usize, teas: usize, attributes: usize) -> String {
    let many = if seats == 1 { "1 seat".to_string() } else { format!("{seats} seats") };
    if teas < 2 {
        return format!(
            "With {many} and one tea there is nothing to compare; the class speaks for itself only."
        );
    }
    let overall = if teas == 2 { Overall::SignedRanks } else { Overall::Friedman };
    let level = SIGNIFICANCE / attributes.max(1) as f64;
    let found = smallest_told_apart(&Design::full(overall, level, teas, seats)).filter(|_| seats >= FEWEST);
    // The difference of two scores of one seat has twice the variance of what is left over.
    let Some(points) = found.map(|sd| sd * SD_OF_DIFFERENCES / std::f64::consts::SQRT_2) else {
        return format!("With {many} nothing can be shown: whatever differs may be chance.");
    };
    let points = if points < 1.0 { format!("{points:.2}") } else { format!("{points:.1}") };
    let between = if teas > 2 { " (the other teas between them)" } else { "" };
    let allowing =
        if attributes > 1 { format!(", {attributes} attributes allowed for") } else { String::new() };
    format!(
        "With {many}, two teas whose true means lie {points} points apart{between} are told apart in four classes out of \
         five (differences within a seat varying with an SD of {SD_OF_DIFFERENCES}{allowing}); smaller differences often go \
         unseen, so finding none does not show that there is none, and the class speaks for itself only."
    )
}

/// How many right answers out of `n` would show something, how often that would happen, and how many answers it would
/// take to be fairly sure, `tests` tests sharing the 5 % (Holm: the first of them has to reach the level over their number).
pub fn what_it_takes(test: Test, n: usize, tests: usize) -> String {
    let alone = SIGNIFICANCE / tests.max(1) as f64;
    let level = if tests > 1 { format!("level 5 % over {tests} tests") } else { "level 5 %".to_string() };
    let enough = match smallest_n(test, alone, DISCRIMINATORS, POWER) {
        Ok(enough) if enough.n <= n => String::new(),
        Ok(enough) => format!("; {} answers would have a chance of {}", enough.n, percent(enough.power)),
        Err(_) => String::new(),
    };
    let alike = if test == Test::PairedTwoSided { "for one of the two" } else { "right" };
    let answers = if n == 1 { "1 answer".to_string() } else { format!("{n} answers") };
    match power(test, n, alone, DISCRIMINATORS) {
        Ok(found) => format!(
            "Of {answers} {} {alike} show a difference ({level}, really {}). If half of the tasters truly tell the two \
             apart, the chance of that is {}{enough}.",
            found.smallest_correct,
            percent(found.actual_alpha),
            percent(found.power)
        ),
        Err(_) => format!("With {answers} nothing can be shown ({level}){enough}."),
    }
}

/// A share in per cent, with as many digits as a person can use.
pub fn percent(share: f64) -> String {
    match share * 100.0 {
        p if p > 0.0 && p < 0.1 => "less than 0.1 %".into(),
        p if p < 9.95 => format!("{p:.1} %"),
        p if p > 99.5 && p < 100.0 => "more than 99 %".into(),
        p => format!("{p:.0} %"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn too_few_seats_are_informed_that_nothing_can_be_shown() {
        assert_eq!(sentence(1, 4, 1), "With 1 seat nothing can be shown: whatever differs may be chance.");
        for seats in [0, 2, 5] {
            assert!(sentence(seats, 2, 1).starts_with(&format!("With {seats} seats nothing can be shown")));
        }
        assert!(sentence(8, 1, 1).starts_with("With 8 seats and one tea there is nothing to compare"));
    }

    #[test]
    fn more_teas_and_more_attributes_leave_less_to_be_shown() {
        let points = |teas: usize, attributes: usize| -> f64 {
            let said = sentence(12, teas, attributes);
            said.split("lie ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap()
        };
        assert!(
            points(2, 1) < points(4, 1) && points(4, 1) < points(4, 4),
            "{} {}",
            points(4, 1),
            points(4, 4)
        );
        assert!(points(4, 4) < points(8, 6));
    }

    #[test]
    fn too_few_answers_come_with_the_number_it_takes() {
        assert_eq!(
            what_it_takes(Test::DuoTrio, 4, 1),
            "With 4 answers nothing can be shown (level 5 %); 23 answers would have a chance of 80 %."
        );
        assert_eq!(
            what_it_takes(Test::Triangle, 1, 1),
            "With 1 answer nothing can be shown (level 5 %); 16 answers would have a chance of 87 %."
        );
        assert!(!what_it_takes(Test::Triangle, 40, 1).contains("would have"));
    }

    /// P(X ≥ 8) of 12 by guessing one of three is 1.9 %, P(X ≥ 9) 0.39 %.
    #[test]
    fn three_tests_that_share_the_level_take_more_right_answers_each() {
        let said = what_it_takes(Test::Triangle, 12, 3);
        assert!(
            said.starts_with(
                "Of 12 answers 9 right show a difference (level 5 % over 3 tests, really 0.4 %)"
            ),
            "{said}"
        );
    }

    #[test]
    fn shares_have_as_many_digits_as_help() {
        for (share, words) in [
            (0.0, "0.0 %"),
            (0.0004, "less than 0.1 %"),
            (0.0312, "3.1 %"),
            (0.6, "60 %"),
            (0.999, "more than 99 %"),
            (1.0, "100 %"),
        ] {
            assert_eq!(percent(share), words);
        }
    }
}
