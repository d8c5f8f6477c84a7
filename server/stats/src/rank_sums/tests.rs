use super::*;
use crate::examples::{EIGHT_BY_FOUR, FIRST_BASE};
use crate::friedman::friedman;

/// Tasters, then the two differences at 5 % for 3, 4, 5 and 6 teas; by the formulas of common practice,
/// computed with scipy 1.17.1.
#[test]
fn both_differences_are_those_computed_for_the_standards_formulas() {
    let table: [(usize, [f64; 4], [f64; 4]); 6] = [
        (6, [6.79, 8.77, 10.74, 12.70], [8.12, 11.49, 14.94, 18.47]),
        (8, [7.84, 10.12, 12.40, 14.67], [9.37, 13.27, 17.25, 21.33]),
        (10, [8.77, 11.32, 13.86, 16.40], [10.48, 14.83, 19.29, 23.84]),
        (12, [9.60, 12.40, 15.18, 17.96], [11.48, 16.25, 21.13, 26.12]),
        (16, [11.09, 14.31, 17.53, 20.74], [13.26, 18.76, 24.40, 30.16]),
        (20, [12.40, 16.00, 19.60, 23.19], [14.82, 20.98, 27.28, 33.72]),
    ];
    for (tasters, single, family) in table {
        for (teas, (single, family)) in (3..=6).zip(single.into_iter().zip(family)) {
            let row: Vec<f64> = (0..teas).map(f64::from).collect();
            let found = compare(&friedman(&vec![row; tasters]).unwrap(), 0.05).unwrap();
            let (a, b) = (found.least_significant_difference, found.family_difference);
            assert!((a - single).abs() < 0.0051, "{tasters} × {teas}: {a}, not {single}");
            assert!((b - family).abs() < 0.0051, "{tasters} × {teas}: {b}, not {family}");
        }
    }
}

/// Computed from the rank sums of Hollander & Wolfe's data: differences 6, 21 and 15; out–wide and narrow–wide pass the
/// least significant difference, only out–wide the family-wise one.
#[test]
fn rounding_first_base_tells_one_pair_apart() {
    let found = compare(&friedman(&FIRST_BASE.map(Vec::from)).unwrap(), 0.05).unwrap();
    assert!((found.least_significant_difference - 13.0009).abs() < 1e-4, "{found:?}");
    assert!((found.family_difference - 15.5464).abs() < 1e-4, "{found:?}");
    let pairs: Vec<(usize, usize, f64)> =
        found.pairs.iter().map(|p| (p.first, p.second, p.difference)).collect();
    assert_eq!(pairs, [(0, 1, 6.0), (0, 2, 21.0), (1, 2, 15.0)]);
    let alone: Vec<bool> = found.pairs.iter().map(|p| p.p_alone <= 0.05).collect();
    let family: Vec<bool> = found.pairs.iter().map(|p| p.differs(0.05)).collect();
    assert_eq!((alone, family), (vec![false, true, true], vec![false, true, false]));
}

#[test]
fn a_pair_passes_a_difference_exactly_if_its_p_is_below_the_level() {
    let found = compare(&friedman(&EIGHT_BY_FOUR.map(Vec::from)).unwrap(), 0.05).unwrap();
    assert_eq!(found.pairs.len(), 6);
    for pair in &found.pairs {
        let size = pair.difference.abs();
        assert_eq!(size > found.least_significant_difference, pair.p_alone < 0.05, "{pair:?}");
        assert_eq!(size > found.family_difference, pair.differs(0.05), "{pair:?}");
        assert!(pair.p_alone <= pair.p_family, "{pair:?}");
    }
    assert!(compare(&friedman(&EIGHT_BY_FOUR.map(Vec::from)).unwrap(), 1.0).is_err());
}

/// The annex example of ISO 8587, as a public page on the standard's formulas has it: 8 assessors rank 5 products, the rank
/// sums are 17, 31, 32, 23 and 17; the least significant difference sets the first and the last apart from the second and
/// the third, and the fourth from none.
#[test]
fn the_standards_example_has_its_groups() {
    let rows = vec![vec![1.0, 2.0, 3.0, 4.0, 5.0]; 8];
    let example = Friedman { rank_sums: vec![17.0, 31.0, 32.0, 23.0, 17.0], ..friedman(&rows).unwrap() };
    let found = compare(&example, 0.05).unwrap();
    assert!((found.least_significant_difference - 12.4).abs() < 0.05, "{found:?}");
    let apart = found.pairs.iter().filter(|pair| pair.p_alone <= 0.05).map(|pair| (pair.first, pair.second));
    assert_eq!(apart.collect::<Vec<_>>(), [(0, 1), (0, 2), (1, 4), (2, 4)]);
}
