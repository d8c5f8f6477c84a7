//! What n people can show, in one honest sentence: of scores, and of a difference test.

use super::forced_choice::{Test, power, smallest_n};
use super::interval::SIGNIFICANCE;
use super::power::{POWER, SD_OF_DIFFERENCES, smallest_difference};

/// The fewest seats for which anything is said.
const FEWEST: usize = 3;
/// The share of tasters who truly tell the teas apart for whom the power of a difference test is stated: one half.
pub const DISCRIMINATORS: f64 = 0.5;

/// What n seats can show, in one honest sentence.
pub fn sentence(seats: usize) -> String {
    let many = if seats == 1 { "1 seat".to_string() } else { format!("{seats} seats") };
    let found = smallest_difference(seats).filter(|_| seats >= FEWEST);
    let Some(points) = found else {
        return format!("With {many} nothing can be shown: whatever differs may be chance.");
    };
    let points = if points < 1.0 { format!("{points:.2}") } else { format!("{points:.1}") };
    format!(
        "With {many}, two teas whose true means lie {points} points apart are told apart in four classes out of \
         five (two-sided paired t test at 5 %, differences within a seat varying with an SD of {SD_OF_DIFFERENCES}); \
         smaller differences often go unseen, so finding none does not show that there is none, and the class speaks \
         for itself only."
    )
}

/// How many right answers out of `n` would show something, how often that would happen, and how many answers it would
/// take to be fairly sure.
pub fn what_it_takes(test: Test, n: usize) -> String {
    let enough = match smallest_n(test, SIGNIFICANCE, DISCRIMINATORS, POWER) {
        Ok(enough) if enough.n <= n => String::new(),
        Ok(enough) => format!("; {} answers would have a chance of {}", enough.n, percent(enough.power)),
        Err(_) => String::new(),
    };
    let alike = if test == Test::PairedTwoSided { "for one of the two" } else { "right" };
    let answers = if n == 1 { "1 answer".to_string() } else { format!("{n} answers") };
    match power(test, n, SIGNIFICANCE, DISCRIMINATORS) {
        Ok(found) => format!(
            "Of {answers} {} {alike} show a difference (level 5 %, really {}). If half of the tasters truly tell the two \
             apart, the chance of that is {}{enough}.",
            found.smallest_correct,
            percent(found.actual_alpha),
            percent(found.power)
        ),
        Err(_) => format!("With {answers} nothing can be shown (level 5 %){enough}."),
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
        assert_eq!(sentence(1), "With 1 seat nothing can be shown: whatever differs may be chance.");
        for seats in [0, 2] {
            assert!(sentence(seats).starts_with(&format!("With {seats} seats nothing can be shown")));
        }
        assert!(sentence(3).contains("points apart"));
        assert!(sentence(8).starts_with("With 8 seats, two teas whose true means lie 1.7 points apart"));
        assert!(sentence(20).contains("lie 0.99 points apart"));
    }

    #[test]
    fn too_few_answers_come_with_the_number_it_takes() {
        assert_eq!(
            what_it_takes(Test::DuoTrio, 4),
            "With 4 answers nothing can be shown (level 5 %); 23 answers would have a chance of 80 %."
        );
        assert_eq!(
            what_it_takes(Test::Triangle, 1),
            "With 1 answer nothing can be shown (level 5 %); 16 answers would have a chance of 87 %."
        );
        assert!(!what_it_takes(Test::Triangle, 40).contains("would have"));
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
