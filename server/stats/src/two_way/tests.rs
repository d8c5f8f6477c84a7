use super::*;
use crate::examples::{MANUAL, SHROUT_AND_FLEISS};

fn close(ours: f64, known: f64, relative: f64) {
    assert!((ours / known - 1.0).abs() < relative, "{ours}, not {known}");
}

/// The mean squares that Shrout & Fleiss (1979) print (11.24, 32.49, 1.02), to more places; computed with scipy 1.17.1.
#[test]
fn six_targets_and_four_judges_give_the_known_squares() {
    let found = two_way(&SHROUT_AND_FLEISS.map(Vec::from)).unwrap();
    close(found.tasters.squares, 56.208333333333, 1e-10);
    close(found.teas.squares, 97.458333333333, 1e-10);
    close(found.residual.squares, 15.291666666667, 1e-10);
    assert_eq!((found.tasters.df, found.teas.df, found.residual.df), (5, 3, 15));
    close(found.tasters.f, 11.0272480, 1e-8);
    close(found.tasters.p, 1.34567e-4, 1e-5);
    close(found.teas.f, 31.8664850, 1e-8);
    close(found.teas.p, 9.45426e-7, 1e-5);
}

/// The manual prints 21.3036, 11.2881, 3.91216, F 16.3364 and 14.427; recomputed.
#[test]
fn a_manuals_worked_example_is_met() {
    let found = two_way(&MANUAL.map(Vec::from)).unwrap();
    close(found.tasters.squares, 21.3035875, 1e-7);
    close(found.teas.squares, 11.2881125, 1e-7);
    close(found.residual.squares, 3.9121625, 1e-7);
    close(found.tasters.f, 16.33642838, 1e-7);
    close(found.teas.f, 14.42694737, 1e-7);
}

#[test]
fn what_can_not_be_analysed_is_said() {
    assert_eq!(two_way(&[vec![1.0, 2.0]]), Err(Cannot::Tasters(2)));
    assert_eq!(two_way(&[vec![5.0, 5.0], vec![5.0, 5.0]]), Err(Cannot::AllEqual));
    assert_eq!(two_way(&[vec![5.1, 6.4], vec![6.2, 7.5], vec![7.3, 8.6]]), Err(Cannot::NothingLeft));
    assert_eq!(two_way(&[vec![5.0, 6.0], vec![f64::INFINITY, 7.0]]), Err(Cannot::NotFinite));
}
