//! NIST Statistical Reference Datasets, analysis of variance, with their certified values.

use super::*;

fn close(ours: f64, certified: f64, relative: f64) {
    assert!((ours / certified - 1.0).abs() < relative, "{ours}, certified {certified}");
}

/// NIST StRD SiRstv, lower difficulty.
#[test]
fn nist_si_rstv_is_met() {
    let found = one_way(&[
        vec![196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
        vec![196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
        vec![196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
        vec![196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
        vec![196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
    ])
    .unwrap();
    assert_eq!((found.between.df, found.within.df), (4, 20));
    close(found.between.squares, 5.11462616000000E-02, 1e-9);
    close(found.within.squares, 2.16636560000000E-01, 1e-9);
    close(found.between.mean_square, 1.27865654000000E-02, 1e-9);
    close(found.within.mean_square, 1.08318280000000E-02, 1e-9);
    close(found.between.f, 1.18046237440255E+00, 1e-9);
    close(found.between.partial_eta_squared, 1.90999039051129E-01, 1e-9);
    close(found.residual_sd, 1.04076068334656E-01, 1e-9);
    close(found.between.p, 0.34944749, 1e-7); // scipy 1.17.1
}

/// NIST StRD AtmWtAg, average difficulty: a one-pass sum of squares fails here.
#[test]
fn nist_atm_wt_ag_is_met() {
    let weights = |digits: &[u32]| -> Vec<f64> {
        digits.iter().map(|d| format!("107.868{d}").parse::<f64>().unwrap()).collect()
    };
    let found = one_way(&[
        weights(&[
            1568, 1465, 1572, 1785, 1446, 1903, 1526, 1494, 1616, 1587, 1519, 1486, 1419, 1569, 1508, 1672,
            1385, 1518, 1662, 1424, 1360, 1333, 1610, 1477,
        ]),
        weights(&[
            1079, 1344, 1513, 1197, 1604, 1385, 1642, 1365, 1151, 1082, 1517, 1448, 1198, 1482, 1334, 1609,
            1101, 1512, 1469, 1360, 1254, 1261, 1450, 1368,
        ]),
    ])
    .unwrap();
    assert_eq!((found.between.df, found.within.df), (1, 46));
    close(found.between.squares, 3.63834187500000E-09, 1e-9);
    close(found.within.squares, 1.04951729166667E-08, 1e-9);
    close(found.between.f, 1.59467335677930E+01, 1e-9);
    close(found.between.partial_eta_squared, 2.57426544538321E-01, 1e-9);
    close(found.residual_sd, 1.51048314446410E-05, 1e-9);
}

/// NIST StRD SmLs01, SmLs04 and SmLs07 (9 groups of 21), made by their rule from decimal text; certified SS 1.68 and
/// 1.80, F 21, residual SD 0.1. The ever larger constant in front leaves ever fewer digits in the data themselves.
#[test]
fn nist_sm_ls_is_met_as_far_as_its_digits_reach() {
    for (front, relative) in [("", 1e-12), ("1000000", 1e-8), ("1000000000000", 1e-3)] {
        let score = |tenths: u32| -> f64 {
            let text = if front.is_empty() { format!("1.{tenths}") } else { format!("{front}.{tenths}") };
            text.parse().unwrap()
        };
        let group = |number: u32| -> Vec<f64> {
            let centre = if number == 1 { 4 } else { 3 + 2 * (number % 2) };
            let rest = (0..20).map(|i| score(if i % 2 == 0 { centre - 1 } else { centre + 1 }));
            [score(centre)].into_iter().chain(rest).collect()
        };
        let found = one_way(&(1..=9).map(group).collect::<Vec<_>>()).unwrap();
        assert_eq!((found.n, found.between.df, found.within.df), (189, 8, 180));
        close(found.between.f, 21.0, relative);
        close(found.between.squares, 1.68, relative);
        close(found.within.squares, 1.80, relative);
        close(found.residual_sd, 0.1, relative);
        close(found.between.partial_eta_squared, 4.82758620689655E-01, relative.max(1e-11));
    }
}

/// ISO 8586-1:1993, annex example: one-way between six samples for each of four assessors; 7.42 and 13.36, 7.83 and
/// 2.66, 2.80 and 2.40 are printed there, the rest computed.
#[test]
fn the_standards_four_assessors_get_their_f() {
    let known = [
        (7.422, 13.36, 0.745, 1.483e-4),
        (7.833, 2.66, 1.716, 0.0766),
        (2.800, 2.40, 1.080, 0.0994),
        (6.133, 13.80, 0.667, 1.265e-4),
    ];
    for (assessor, (mean_square, f, sd, p)) in known.into_iter().enumerate() {
        let found = one_way(&crate::examples::ISO_8586[assessor].map(Vec::from)).unwrap();
        assert!((found.between.mean_square - mean_square).abs() < 5.1e-4, "{found:?}");
        assert!((found.between.f - f).abs() < 5.1e-3 && (found.residual_sd - sd).abs() < 5.1e-4, "{found:?}");
        assert!((found.between.p / p - 1.0).abs() < 1e-3, "{found:?}");
    }
}

#[test]
fn what_can_not_be_analysed_is_said() {
    assert_eq!(one_way(&[vec![1.0, 2.0]]), Err(Cannot::Teas(2)));
    assert_eq!(one_way(&[vec![1.0], vec![]]), Err(Cannot::UnscoredTea(1)));
    assert_eq!(one_way(&[vec![1.0], vec![2.0]]), Err(Cannot::NoFreedom));
    assert_eq!(one_way(&[vec![3.0, 3.0], vec![3.0]]), Err(Cannot::AllEqual));
    assert_eq!(one_way(&[vec![3.1, 3.1], vec![4.7, 4.7, 4.7]]), Err(Cannot::NothingLeft));
    assert_eq!(one_way(&[vec![3.1, f64::NAN], vec![4.7]]), Err(Cannot::NotFinite));
}
