//! How often a review is right, on drawn classes with fixed seeds; `calibrate` draws many of all kinds.
//!
//! The bounds are tails of the binomial distribution. What holds its 5 % is in fewer than 5 of 1,000 choices of seeds shown in more
//! than
//!
//! | classes | 30 | 40 | 60 | 240 |
//! |---|---|---|---|---|
//! | with nothing true | 5 | 6 | 8 | 21 |
//!
//! of them. What is shown in 12 % of classes passes 21 of 240 in 7 of 100 choices of seeds. So it passes 18 of 210, which what holds
//! 5 % misses in fewer than 10 of 1,000 and 9 % passes in 48 of 100. What was shown in the 27 and 41 %
//! of the faults that are told below passes its row in fewer than 3 of 100. Exact tests of counts keep 2 to 3 %, so that their bounds
//! are lower: 7 of 100 is passed by 2.5 % in 4 of 1,000 choices, and by 12 % in 92 of 100; 14 of 210 by 3.2 % in 4 of 1,000, where 9 %
//! comes to 14 or fewer in 15 of 100 and 12 % in 1; 10 of 210 by 2 % in 4 of 1,000, where 9 % comes to 10 or fewer in 2 of 100. Power
//! has a lower bound that is missed by what
//! `calibrate` finds in fewer than 6 of 1,000.

use tests::calibrate::families::{Case, all};
use tests::calibrate::kinds::Kind;
use tests::calibrate::{counted, missed, reached};

/// The case whose name has these words; of the first kind of scores that it is drawn with.
fn case(words: &str) -> Case {
    all().into_iter().find(|case| case.what.contains(words)).unwrap()
}

/// How often a kind is shown in so many classes without, or with, a true difference.
fn shown(words: &str, truth: bool, classes: u64, kinds: &[Kind]) -> Vec<usize> {
    let found = counted(&case(words), truth, classes, 1);
    // A page need not have a sentence of every kind.
    kinds.iter().map(|kind| found.get(kind).copied().unwrap_or(0)).collect()
}

fn null(words: &str, classes: u64, kinds: &[Kind]) -> Vec<usize> {
    shown(words, false, classes, kinds)
}

fn truth(words: &str, classes: u64, kind: Kind) -> usize {
    shown(words, true, classes, &[kind])[0]
}

#[test]
fn teas_that_are_alike_are_seldom_called_different_and_no_page_contradicts_itself() {
    let kinds = [Kind::Differ, Kind::DifferAtSteep, Kind::Agree, Kind::AtOdds];
    let rows =
        ["2 teas, 8 tasters", "3 teas, 6 tasters", "4 teas, 8 tasters"].map(|words| null(words, 80, &kinds));
    let all: Vec<usize> = (0..kinds.len()).map(|kind| rows.iter().map(|row| row[kind]).sum()).collect();
    assert!(all[..3].iter().all(|&shown| shown <= 21) && all[3] == 0, "{all:?} of {rows:?}");
}

#[test]
fn teas_that_differ_are_found() {
    let found = truth("4 teas, 20 tasters", 40, Kind::Differ);
    assert!(found >= 33, "{found}");
}

/// When every two ways were judged by themselves, six ways that are all alike were called different in 27 % of classes, beside "no
/// difference between the teas is shown" in 28 %.
#[test]
fn six_ways_of_a_leaf_that_are_alike_are_seldom_called_different_and_no_page_contradicts_itself() {
    let found = null("6 ways of a leaf, 8 tasters", 210, &[Kind::Ways, Kind::AtOdds]);
    assert!(found[0] <= 18 && found[1] == 0, "{found:?}");
}

/// When codes were compared, ways that tasters see differently were called different in 41 % of classes with no true
/// difference.
#[test]
fn the_same_way_under_two_codes_is_judged_as_one_way() {
    let words = "3 ways of a leaf, each twice, 14 tasters";
    let found = null(words, 30, &[Kind::Differ, Kind::Ways, Kind::AtOdds]);
    assert!(found[0] <= 5 && found[1] <= 5 && found[2] == 0, "{found:?}");
}

/// When the votes on each code went by themselves, two codes of one tea had different advice in 15 of 40 classes.
#[test]
fn one_tea_under_two_codes_has_one_advice() {
    let words = "3 ways of a leaf, each twice, 10 tasters, with votes";
    let null = null(words, 40, &[Kind::Strength, Kind::AtOdds]);
    let truth = shown(words, true, 40, &[Kind::Strength, Kind::AtOdds]);
    assert!(null[0] <= 6 && null[1] == 0 && truth[0] >= 20 && truth[1] == 0, "{null:?} {truth:?}");
}

/// The test over all tasters once stood for the agreement of the few who had scored every tea; and beside a way of a leaf that was
/// shown to be liked more the teas were to be left as they are.
#[test]
fn no_page_with_gaps_or_with_a_better_way_contradicts_itself() {
    let words = "4 teas, 16 tasters, 40 % missing";
    let agree = null(words, 40, &[Kind::Agree, Kind::AtOdds]);
    let gaps = shown(words, true, 40, &[Kind::AtOdds]);
    let ways = shown("6 ways of a leaf, 8 tasters", true, 30, &[Kind::AtOdds, Kind::Ways]);
    assert!(agree[0] <= 6 && agree[1] == 0 && gaps[0] == 0, "{agree:?} {gaps:?}");
    assert!(ways[0] == 0 && ways[1] >= 5, "{ways:?}");
}

/// When Skillings and Mack's test alone decided, 25 % of such classes found what is there.
#[test]
fn what_is_there_is_found_though_scores_are_missing() {
    let words = "4 teas, 16 tasters, 40 % missing";
    let (null, truth) = (null(words, 40, &[Kind::Differ]), truth(words, 60, Kind::Differ));
    assert!(null[0] <= 6 && truth >= 23, "{null:?} {truth}");
}

#[test]
fn what_is_shown_of_three_classes_or_more_is_shown_against_how_it_moves() {
    let words = "6 classes of 8, 4 ways, moving";
    let found = null(words, 60, &[Kind::PooledDiffer, Kind::PooledPair, Kind::PooledLetters]);
    let truth = truth(words, 60, Kind::PooledPair);
    assert!(found.iter().all(|&shown| shown <= 8) && truth >= 40, "{found:?} {truth}");
}

/// When letters went by all ways and pairs by themselves, letters told two ways apart whose pair was not shown on 36 of 60 such pages
/// of three classes, and of two classes a pair was shown on 24 of 60 though the ways as a whole were not.
#[test]
fn no_page_of_several_classes_contradicts_itself() {
    for words in ["2 classes of 8, 2 ways of 2 leaves", "3 classes of 8, 2 ways of 2 leaves"] {
        let at_odds = shown(words, true, 40, &[Kind::AtOdds, Kind::PooledPair]);
        let null = null(words, 40, &[Kind::AtOdds, Kind::PooledPair, Kind::PooledDiffer]);
        assert!(at_odds[0] == 0 && at_odds[1] >= 10, "{words}: {at_odds:?}");
        assert!(null[0] == 0 && null[1] <= 6 && null[2] <= 6, "{words}: {null:?}");
    }
}

#[test]
fn the_votes_of_several_classes_find_what_is_there_and_seldom_what_is_not() {
    let words = "3 classes of 8, 2 teas × 3 steeps";
    let null = null(words, 60, &[Kind::PooledStrength, Kind::PooledSteep, Kind::AtOdds]);
    let truth = truth(words, 40, Kind::PooledStrength);
    assert!(null[..2].iter().all(|&shown| shown <= 8) && null[2] == 0 && truth >= 33, "{null:?} {truth}");
}

/// A hint from the votes on one tea, the others not looked at, stood in short in 6 of 30 classes of eight teas that were all right.
#[test]
fn nothing_is_advised_of_teas_that_are_right_and_no_mark_contradicts_it() {
    for (teas, most) in [("4 teas × 3 steeps, 14 tasters, half just right", 7), ("8 teas × 3 steeps", 5)] {
        let classes = if most == 7 { 100 } else { 60 };
        let found = null(teas, classes, &[Kind::Strength, Kind::Leave, Kind::Advice, Kind::AtOdds]);
        assert!(found[..3].iter().all(|&shown| shown <= most) && found[3] == 0, "{teas}: {found:?}");
    }
}

#[test]
fn votes_over_all_steeps_of_a_tea_find_what_is_there() {
    let words = "4 teas × 3 steeps, 14 tasters, half just right, of one mind";
    let kinds = [Kind::Strength, Kind::Advice, Kind::AtOdds];
    let found = shown(words, true, 40, &kinds);
    assert!(found[0] >= 30 && found[1] >= found[0] && found[2] == 0, "{found:?}");
}

#[test]
fn words_are_seldom_said_to_tell_apart_teas_that_are_alike() {
    let found = null("4 teas, 10 tasters, 8 words", 210, &[Kind::Words]);
    assert!(found[0] <= 10, "{found:?}");
}

#[test]
fn difference_tests_show_what_is_there_and_seldom_what_is_not() {
    let words = "three tests, 12 tasters";
    let (null, truth) = (null(words, 210, &[Kind::Tests, Kind::AtOdds]), truth(words, 30, Kind::Tests));
    assert!(null[0] <= 14 && null[1] == 0 && truth >= 9, "{null:?} {truth}");
}

#[test]
fn the_first_cup_is_found_where_it_counts_and_nowhere_else() {
    let words = "6 teas, 9 tasters, the first cup as others or lower";
    let (null, truth) = (null(words, 60, &[Kind::FirstCup]), truth(words, 40, Kind::FirstCup));
    assert!(null[0] <= 8 && truth >= 33, "{null:?} {truth}");
}

/// "Missed in one of five" once stood beside differences that were found in 47 to 59 % of classes. Of 80 classes 80 % lies within
/// these bounds in 99 of 100 choices of seeds; 50 % does in fewer than 2 of 1,000, and 92 % in 31 of 100.
#[test]
fn what_is_said_to_be_missed_in_one_of_five_is() {
    for words in ["2 teas, 8 tasters", "4 teas, 8 tasters"] {
        let reach = missed::all().into_iter().find(|reach| reach.what == words).unwrap();
        let (_, rate) = reached(&reach, 84, 1);
        let of_80 = rate.x as f64 * 80.0 / rate.n as f64;
        assert!(rate.n >= 70 && (54.0..=72.5).contains(&of_80), "{words}: {rate:?}");
    }
}

/// Ways of two leaves also have to pass the test of all teas. What was said of their own test alone, 80 %, was 69 %.
#[test]
fn nothing_is_said_to_be_missed_of_ways_that_other_teas_stand_beside() {
    let reach = missed::all().into_iter().find(|reach| reach.what.contains("ways of 2 leaves")).unwrap();
    assert_eq!(reached(&reach, 4, 1).1.n, 0);
}
