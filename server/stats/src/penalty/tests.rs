use super::*;
use crate::binomial::at_least;
use proptest::prelude::*;

const MUCH_TOO_THIN: i8 = -2;
const TOO_THIN: i8 = -1;
const TOO_STRONG: i8 = 1;
const MUCH_TOO_STRONG: i8 = 2;

fn votes(thin: &[i32], right: &[i32], strong: &[i32]) -> Vec<(i8, f64)> {
    let group = |vote: i8, scores: &[i32]| -> Vec<(i8, f64)> {
        scores.iter().map(|&score| (vote, f64::from(score))).collect()
    };
    [group(TOO_THIN, thin), group(JUST_RIGHT, right), group(TOO_STRONG, strong)].concat()
}

fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} is not {expected}");
}

/// A worked example of our own, computed with scipy 1.17.1: the method is common practice, and no published example is at
/// hand. Its t tests are held to SciPy's on 500 sets more (`tests/reference/answers.py`).
#[test]
fn penalties_are_those_of_the_worked_example() {
    let found =
        penalties(&votes(&[7, 6, 7], &[8, 7, 8, 7, 7, 8, 6, 7, 8, 7, 7], &[5, 6, 5, 4, 6, 5])).unwrap();
    assert_eq!((found.n, found.just_right), (20, 11));
    near(found.just_right_mean, 7.2727, 5e-5);
    near(found.mean, 6.55, 1e-12);
    near(found.overall_drop.unwrap(), 1.6061, 5e-5);
    near(found.weighted_sum, 0.7227, 5e-5);
    let thin = found.too_thin.unwrap();
    assert!(thin.n == 3 && !thin.large_enough);
    near(thin.drop, 0.6061, 5e-5);
    near(thin.weighted, 0.0909, 5e-5);
    let strong = found.too_strong.unwrap();
    assert!(strong.n == 6 && strong.large_enough);
    near(strong.share, 0.3, 1e-12);
    near(strong.drop, 2.1061, 5e-5);
    near(strong.weighted, 0.6318, 5e-5);
    let (pooled, welch) = (strong.pooled.unwrap(), strong.welch.unwrap());
    near(pooled.t, 6.0680, 5e-5);
    near(pooled.p, 2.1522e-5, 5e-10);
    assert_eq!(pooled.df, 15.0);
    near(welch.t, 5.7866, 5e-5);
    near(welch.df, 9.0983, 5e-5);
    assert!(pooled.interval.contains(strong.drop) && pooled.interval.low > 0.0);
}

#[test]
fn without_just_right_a_penalty_is_undefined_not_zero() {
    assert_eq!(penalties(&votes(&[5, 6], &[], &[4])), Err(Cannot::NoJustRight));
    assert_eq!(penalties(&[]), Err(Cannot::Answers(1)));
    assert_eq!(penalties(&[(JUST_RIGHT, f64::NAN)]), Err(Cannot::NotFinite));
}

#[test]
fn groups_without_spread_or_people_say_so() {
    let found = penalties(&votes(&[5], &[7, 7], &[4, 4])).unwrap();
    let (thin, strong) = (found.too_thin.unwrap(), found.too_strong.unwrap());
    assert_eq!(thin.welch, Err(Cannot::VotesInEachGroup(2)));
    assert_eq!(strong.pooled, Err(Cannot::NoSpread));
    assert_eq!((thin.drop, strong.drop), (2.0, 3.0));
    let happy = penalties(&votes(&[], &[7, 8], &[])).unwrap();
    assert_eq!(
        (happy.too_thin, happy.too_strong, happy.overall_drop, happy.weighted_sum),
        (None, None, None, 0.0)
    );
}

#[test]
fn a_fifth_of_the_class_is_large_enough() {
    let found = penalties(&votes(&[5], &[7, 8, 7, 8], &[])).unwrap();
    assert!(found.too_thin.unwrap().large_enough);
    let found = penalties(&votes(&[5], &[7, 8, 7, 8, 7], &[])).unwrap();
    assert!(!found.too_thin.unwrap().large_enough);
}

#[test]
fn the_steep_is_changed_only_where_a_test_carries_it() {
    let of = |thin: usize, right: usize, strong: usize| {
        let votes =
            [vec![MUCH_TOO_THIN; thin], vec![JUST_RIGHT; right], vec![MUCH_TOO_STRONG; strong]].concat();
        steep_hint(&tally(&votes).unwrap())
    };
    // Six of six on one side: 2 / 64; five of five: 2 / 32, not enough.
    assert_eq!(
        of(6, 2, 0).to_string(),
        "lengthen: 6 find it too thin, 0 too strong (exact sign test, n 6, p 0.031)"
    );
    assert_eq!(of(0, 2, 6).hint, Hint::Shorten);
    assert_eq!(
        of(5, 2, 0).to_string(),
        "too few to tell: 5 find it too thin, 0 too strong (exact sign test, n 5, p 0.062)"
    );
    // Nine of ten just right: 11 / 1024.
    assert_eq!(
        of(1, 9, 0).to_string(),
        "leave: 9 of 10 find it just right (exact binomial test, n 10, p 0.011)"
    );
    assert_eq!(of(0, 4, 0).hint, Hint::TooFewToTell);
    assert_eq!(of(6, 24, 0).hint, Hint::Leave, "a shown majority is not disturbed");
    assert_eq!(tally(&[]), Err(Cannot::Answers(1)));
}

#[test]
fn votes_are_counted_step_by_step() {
    let found = tally(&[MUCH_TOO_THIN, TOO_THIN, TOO_THIN, JUST_RIGHT, MUCH_TOO_STRONG]).unwrap();
    assert_eq!(found.counts, [1, 2, 1, 0, 1]);
    assert_eq!((found.n, found.too_thin, found.just_right, found.too_strong), (5, 3, 1, 1));
    near(found.shares[1], 0.4, 1e-15);
}

proptest! {
    #[test]
    fn weighted_penalties_add_up_to_what_the_class_loses(
        thin in prop::collection::vec(1i32..10, 0..12),
        right in prop::collection::vec(1i32..10, 1..12),
        strong in prop::collection::vec(1i32..10, 0..12),
    ) {
        let found = penalties(&votes(&thin, &right, &strong)).unwrap();
        let weighted = |side: &Option<Penalty>| side.as_ref().map_or(0.0, |penalty| penalty.weighted);
        let sum = weighted(&found.too_thin) + weighted(&found.too_strong);
        prop_assert!((sum - (found.just_right_mean - found.mean)).abs() < 1e-9);
        prop_assert!((sum - found.weighted_sum).abs() < 1e-9);
        for side in [found.too_thin, found.too_strong].into_iter().flatten() {
            for test in [side.pooled, side.welch].into_iter().flatten() {
                prop_assert!((0.0..=1.0).contains(&test.p) && test.t.is_finite() && test.df >= 1.0);
                prop_assert!((test.difference - side.drop).abs() < 1e-12);
                prop_assert_eq!(test.interval.contains(0.0), test.p > 0.05);
            }
        }
    }

    #[test]
    fn a_hint_is_turned_round_with_the_votes(thin in 0usize..20, right in 0usize..20, strong in 0usize..20) {
        prop_assume!(thin + right + strong > 0);
        let of = |a: usize, b: usize| {
            let votes = [vec![TOO_THIN; a], vec![JUST_RIGHT; right], vec![TOO_STRONG; b]].concat();
            steep_hint(&tally(&votes).unwrap())
        };
        let (one, other) = (of(thin, strong), of(strong, thin));
        let turned = match one.hint {
            Hint::Lengthen => Hint::Shorten,
            Hint::Shorten => Hint::Lengthen,
            same => same,
        };
        prop_assert_eq!(other.hint, turned);
        prop_assert_eq!(one.majority_p, at_least(right, thin + right + strong, 0.5));
        prop_assert!((0.0..=1.0).contains(&one.sign_p));
    }
}
