use super::*;

fn close(ours: f64, known: f64, relative: f64) {
    assert!((ours / known - 1.0).abs() < relative, "{ours}, not {known}");
}

/// Six targets scored by four judges (Shrout & Fleiss 1979, value from memory): rows here are targets, columns judges.
const SIX_BY_FOUR: [[f64; 4]; 6] = [
    [9.0, 2.0, 5.0, 8.0],
    [6.0, 1.0, 3.0, 2.0],
    [8.0, 4.0, 6.0, 8.0],
    [7.0, 1.0, 2.0, 6.0],
    [10.0, 5.0, 6.0, 9.0],
    [6.0, 2.0, 4.0, 7.0],
];

/// Shrout & Fleiss 1979 (value from memory), recomputed.
#[test]
fn six_targets_and_four_judges_give_the_known_squares() {
    let found = two_way(&SIX_BY_FOUR.map(Vec::from)).unwrap();
    close(found.tasters.squares, 56.208333333333, 1e-10);
    close(found.teas.squares, 97.458333333333, 1e-10);
    close(found.residual.squares, 15.291666666667, 1e-10);
    assert_eq!((found.tasters.df, found.teas.df, found.residual.df), (5, 3, 15));
    close(found.tasters.f, 11.0272480, 1e-8);
    close(found.tasters.p, 1.34567e-4, 1e-5);
    close(found.teas.f, 31.8664850, 1e-8);
    close(found.teas.p, 9.45426e-7, 1e-5);
}

/// A worked example of a general data-analysis program's manual, kept in a public collection of mathematics texts:
/// it prints 21.3036, 11.2881, 3.91216, F 16.3364 and 14.427; recomputed.
#[test]
fn a_manuals_worked_example_is_met() {
    let found = two_way(&[
        vec![4.04, 5.08, 2.83, 3.06],
        vec![4.91, 4.68, 3.17, 2.71],
        vec![2.94, 1.90, 1.61, 2.02],
        vec![5.95, 5.26, 4.85, 4.45],
        vec![3.90, 4.85, 2.69, 2.93],
        vec![5.72, 5.14, 4.39, 3.29],
    ])
    .unwrap();
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
