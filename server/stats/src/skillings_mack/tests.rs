use super::*;
use crate::examples::table;
use crate::friedman::friedman;
use proptest::prelude::*;

#[test]
fn a_taster_of_one_tea_says_nothing_about_differences() {
    let with = skillings_mack(&table(&["123", "21-", "-13", "5--"])).unwrap();
    let without = skillings_mack(&table(&["123", "21-", "-13"])).unwrap();
    assert_eq!(with, without);
    assert_eq!((with.tasters, with.scores, with.df), (3, 7, 2));
}

#[test]
fn what_can_not_be_ranked_is_said() {
    assert_eq!(skillings_mack(&table(&["12--", "--34", "21--"])), Err(Cannot::Disconnected));
    assert_eq!(skillings_mack(&table(&["33-", "-44", "2-2"])), Err(Cannot::AllTied));
    assert_eq!(skillings_mack(&table(&["12-", "21-"])), Err(Cannot::UnscoredTea(2)));
    assert_eq!(skillings_mack(&table(&["1-", "-1"])), Err(Cannot::Tasters(2)));
}

proptest! {
    /// No published example is at hand, and neither SciPy nor statsmodels has the test: without gaps it is held to
    /// Friedman's, with gaps to its definition by NumPy on 500 sets (`tests/reference/ranks.py`).
    #[test]
    fn without_gaps_it_is_friedmans_statistic(cells in prop::collection::vec(1i32..10, 20)) {
        let rows: Vec<Vec<f64>> = cells.chunks(4).map(|row| row.iter().map(|&c| f64::from(c)).collect()).collect();
        let gapless: Vec<Vec<Option<f64>>> = rows.iter().map(|row| row.iter().copied().map(Some).collect()).collect();
        match (friedman(&rows), skillings_mack(&gapless)) {
            (Ok(known), Ok(found)) => {
                prop_assert!((known.uncorrected - found.chi_squared).abs() < 1e-9, "{known:?} {found:?}");
                prop_assert_eq!(known.tied, found.tied);
            }
            (known, found) => prop_assert_eq!(known.err(), found.err()),
        }
    }

    #[test]
    fn the_order_of_tasters_and_teas_is_nothing_to_it(cells in prop::collection::vec(prop::option::weighted(0.8, 1i32..10), 24)) {
        let rows: Vec<Vec<Option<f64>>> =
            cells.chunks(4).map(|row| row.iter().map(|c| c.map(f64::from)).collect()).collect();
        let turned: Vec<Vec<Option<f64>>> =
            rows.iter().rev().map(|row| row.iter().rev().copied().collect()).collect();
        match (skillings_mack(&rows), skillings_mack(&turned)) {
            (Ok(one), Ok(other)) => prop_assert!((one.chi_squared - other.chi_squared).abs() < 1e-9),
            (one, other) => prop_assert_eq!(one.is_ok(), other.is_ok()),
        }
    }
}
