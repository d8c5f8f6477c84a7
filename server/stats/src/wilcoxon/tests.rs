use super::*;
use crate::examples::MAIZE;
use proptest::prelude::*;

/// V = 96 and p = 0.04126 as published; exactly 1352 of 32768 ways, computed with scipy 1.17.1.
#[test]
fn darwins_maize_gives_the_known_p() {
    let found = wilcoxon(&MAIZE).unwrap();
    assert_eq!((found.ranks_for_first, found.ranks_for_second), (96.0, 24.0));
    assert_eq!((found.n, found.alike, found.p), (15, 0, 1352.0 / 32768.0));
    assert!((found.rank_biserial - 0.6).abs() < 1e-12);
}

#[test]
fn five_tasters_can_never_show_anything_at_five_per_cent() {
    let known = [(1, 1.0), (2, 0.5), (5, 0.0625), (6, 0.03125), (7, 0.015625), (8, 0.0078125)];
    for (n, p) in known {
        assert_eq!(smallest_p(n), p);
        let agreeing: Vec<f64> = (1..=n).map(|d| d as f64).collect();
        assert_eq!(wilcoxon(&agreeing).unwrap().p, p, "{n} tasters who agree");
    }
}

#[test]
fn who_scores_both_alike_is_left_out_and_counted() {
    let found = wilcoxon(&[0.0, 1.0, 0.0, 2.0, -1.0, 0.3 - (0.1 + 0.2)]).unwrap();
    assert_eq!((found.pairs, found.alike, found.n), (6, 3, 3));
    assert_eq!((found.ranks_for_first, found.ranks_for_second), (4.5, 1.5));
}

#[test]
fn nothing_to_compare_is_said() {
    assert_eq!(wilcoxon(&[]), Err(Cannot::Tasters(1)));
    assert_eq!(wilcoxon(&[0.0, 0.0]), Err(Cannot::NoDifference));
    assert_eq!(wilcoxon(&[1.0, f64::NAN]), Err(Cannot::NotFinite));
}

/// Two in three for the first, sizes in rising order with ties.
fn lopsided(n: i32) -> Vec<f64> {
    (1..=n).map(|i| f64::from(i / 2 + 1) * if i % 3 == 0 { -1.0 } else { 1.0 }).collect()
}

#[test]
fn a_large_class_is_counted_and_a_huge_one_is_not() {
    let p = |n: i32| wilcoxon(&lopsided(n)).map(|found| (found.exact, found.p)).unwrap();
    assert!(matches!(p(500), (true, p) if p > 0.0 && p < 1e-9), "{:?}", p(500));
    assert!(matches!(p(501), (false, p) if p > 0.0 && p < 1e-9), "{:?}", p(501));
    assert!(!p(10_000).0);
}

#[test]
fn the_normal_distribution_is_as_good_where_counting_ends() {
    let ranks = midranks(&lopsided(500).iter().map(|d| d.abs()).collect::<Vec<f64>>()).ranks;
    for sum in [50_000.0, 55_000.0, 58_000.0, 62_000.0] {
        let (counted, about) = (at_most(&ranks, sum), about_at_most(&ranks, sum).unwrap());
        assert!((counted - about).abs() < 1e-4, "{sum}: {counted}, about {about}");
    }
}

proptest! {
    #[test]
    fn the_p_counts_all_ways_the_signs_could_fall(differences in prop::collection::vec(-4i32..5, 1..11)) {
        let differences: Vec<f64> = differences.into_iter().map(f64::from).collect();
        let left: Vec<f64> = differences.iter().copied().filter(|d| *d != 0.0).collect();
        prop_assert_eq!(wilcoxon(&differences).is_err(), left.is_empty());
        let Ok(found) = wilcoxon(&differences) else { return Ok(()) };
        let ranks = midranks(&left.iter().map(|d| d.abs()).collect::<Vec<_>>()).ranks;
        let sum_of = |way: usize| -> f64 {
            ranks.iter().enumerate().filter(|(i, _)| way >> i & 1 == 1).map(|(_, r)| r).sum()
        };
        let ways = 1usize << left.len();
        let least = found.ranks_for_first.min(found.ranks_for_second);
        let as_far = (0..ways).filter(|&way| sum_of(way) <= least).count();
        prop_assert_eq!(found.p, (2.0 * as_far as f64 / ways as f64).min(1.0));
        prop_assert!(found.p >= found.smallest_p);
    }
}

/// Ranks of few sizes, many of each.
#[test]
fn ranks_that_are_tied_are_counted_together_to_the_same_chance() {
    for sizes in [&[70][..], &[30, 50], &[5, 40, 60], &[3, 20, 30, 90]] {
        let differences: Vec<f64> =
            sizes.iter().enumerate().flat_map(|(size, &n)| vec![size as f64 + 1.0; n]).collect();
        let ranks = midranks(&differences).ranks;
        let all: f64 = ranks.iter().sum();
        for share in [0.0, 0.2, 0.37, 0.45, 0.5] {
            let (together, each) = (at_most(&ranks, share * all), one_by_one(&ranks, share * all));
            assert!(
                (together - each).abs() < 1e-12 + 1e-9 * each,
                "{sizes:?} {share}: {together} is not {each}"
            );
        }
    }
}
