//! How often a review is right, on a few drawn classes with fixed seeds; `calibrate` draws many of all kinds.

use tests::calibrate::families::{Case, all};
use tests::calibrate::kinds::Kind;
use tests::calibrate::table::Row;
use tests::calibrate::{counted, rows};

/// So many classes: a kind of sentence that holds 5 % is shown in more than nine of them once in two thousand times (binomial);
/// in more than seven of 40, and in more than six of 30, no more often than once in a thousand.
const CLASSES: u64 = 60;
const MOST: usize = 9;

/// The case whose name has these words; of the first kind of scores that it is drawn with.
fn case(words: &str) -> Case {
    all().into_iter().find(|case| case.what.contains(words)).unwrap()
}

fn row(words: &str, kind: Kind) -> Row {
    rows(&case(words), CLASSES, 1).remove(&kind).unwrap()
}

/// How often a kind is shown in so many classes without, or with, a true difference.
fn shown(words: &str, truth: bool, classes: u64, kinds: &[Kind]) -> Vec<usize> {
    let found = counted(&case(words), truth, classes, 1);
    kinds.iter().map(|kind| found[kind]).collect()
}

/// When every two ways were judged by themselves, six ways that are all alike were called different in 27 % of classes, beside "no
/// difference between the teas is shown" in 28 %.
#[test]
fn six_ways_of_a_leaf_that_are_alike_are_seldom_called_different_and_no_page_contradicts_itself() {
    let found = shown("6 ways of a leaf, 8 tasters", false, 40, &[Kind::Ways, Kind::AtOdds]);
    assert!(found[0] <= 7 && found[1] == 0, "{found:?}");
}

/// When codes were compared, ways that tasters see differently were called different in 41 % of classes with no true
/// difference.
#[test]
fn the_same_way_under_two_codes_is_judged_as_one_way() {
    let words = "3 ways of a leaf, each twice, 14 tasters";
    let found = shown(words, false, 30, &[Kind::Differ, Kind::Ways, Kind::AtOdds]);
    assert!(found[0] <= 6 && found[1] <= 6 && found[2] == 0, "{found:?}");
}

/// When Skillings and Mack's test alone decided, 25 % of such classes found what is there.
#[test]
fn what_is_there_is_found_though_scores_are_missing() {
    let words = "4 teas, 16 tasters, 40 % missing";
    let (null, truth) = (shown(words, false, 40, &[Kind::Differ]), shown(words, true, 40, &[Kind::Differ]));
    assert!(null[0] <= 7 && truth[0] >= 13, "{null:?} {truth:?}");
}

#[test]
fn what_is_shown_of_three_classes_or_more_is_shown_against_how_it_moves() {
    let all = rows(&case("6 classes of 8, 4 ways, moving"), CLASSES, 1);
    for kind in [Kind::PooledDiffer, Kind::PooledPair, Kind::PooledLetters] {
        let found = &all[&kind];
        assert!(found.null.x <= MOST && found.truth.x >= 40, "{kind}: {found:?}");
    }
}

#[test]
fn votes_over_all_steeps_of_a_tea_keep_their_rate_and_find_what_is_there() {
    let found = row("4 teas × 3 steeps, 14 tasters, half just right, of one mind", Kind::Strength);
    assert!(found.null.x <= MOST && found.truth.x >= 50, "{found:?}");
}

#[test]
fn the_first_cup_is_found_where_it_counts_and_nowhere_else() {
    let found = row("6 teas, 9 tasters, the first cup as others or lower", Kind::FirstCup);
    assert!(found.null.x <= MOST && found.truth.x >= 40, "{found:?}");
}
