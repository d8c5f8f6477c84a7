//! How often a review is right, on a few drawn classes with fixed seeds; `calibrate` draws many of all kinds.

use tests::calibrate::families::{Case, all};
use tests::calibrate::kinds::Kind;
use tests::calibrate::rows;
use tests::calibrate::table::Row;

/// So many classes: a kind of sentence that holds 5 % is shown in more than nine of them once in two thousand times (binomial).
const CLASSES: u64 = 60;
const MOST: usize = 9;

/// The case whose name has these words; of the first kind of scores that it is drawn with.
fn case(words: &str) -> Case {
    all().into_iter().find(|case| case.what.contains(words)).unwrap()
}

fn row(words: &str, kind: Kind) -> Row {
    rows(&case(words), CLASSES, 1).remove(&kind).unwrap()
}

#[test]
fn what_is_shown_of_three_classes_or_more_is_shown_against_how_it_moves() {
    for kind in [Kind::PooledDiffer, Kind::PooledPair, Kind::PooledLetters] {
        let found = row("6 classes of 8, 4 ways, moving", kind);
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
