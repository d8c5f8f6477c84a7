use super::*;
use crate::examples::{EIGHT_BY_FOUR, FIRST_BASE};

/// Rank sums as published with the data; the rest computed with scipy 1.17.1.
#[test]
fn rounding_first_base_gives_the_known_figures() {
    let found = friedman(&FIRST_BASE.map(Vec::from)).unwrap();
    assert_eq!(found.rank_sums, [53.0, 47.0, 32.0]);
    assert!(found.tied);
    assert!((found.uncorrected - 10.6363636).abs() < 1e-7, "{found:?}");
    assert!((found.chi_squared - 11.1428571).abs() < 1e-7 && found.df == 2, "{found:?}");
    assert!((found.p - 0.00380504).abs() < 1e-8, "{found:?}");
    assert!((found.kendall_w - 0.2532468).abs() < 1e-7, "{found:?}");
    let f = found.f.unwrap();
    assert!((f.f - 7.1217391).abs() < 1e-7 && (f.p - 0.00217130).abs() < 1e-8, "{f:?}");
    assert_eq!((f.df, f.df_below), (2, 42));
}

/// Own data, computed with scipy 1.17.1; the ties corrected (common practice).
#[test]
fn eight_tasters_of_four_teas_give_the_known_figures() {
    let found = friedman(&EIGHT_BY_FOUR.map(Vec::from)).unwrap();
    assert_eq!(found.rank_sums, [29.5, 23.0, 18.0, 9.5]);
    assert!((found.chi_squared - 16.63636).abs() < 1e-5 && (found.p - 0.00083947).abs() < 1e-8, "{found:?}");
}

/// Gravetter & Wallnau, Statistics for the Behavioral Sciences, appendix E: five people, rank sums 6, 9.5, 15.5 and 19
/// give 12.3 without correction, p = 0.00642. The book's single ranks were not seen; these are ours and have its sums.
#[test]
fn a_textbooks_rank_sums_give_its_statistic() {
    let alike = [1.0, 2.0, 3.0, 4.0];
    let rows = [alike, alike, alike, [1.0, 2.5, 2.5, 4.0], [2.0, 1.0, 4.0, 3.0]];
    let found = friedman(&rows.map(Vec::from)).unwrap();
    assert_eq!(found.rank_sums, [6.0, 9.5, 15.5, 19.0]);
    assert!((found.uncorrected - 12.3).abs() < 1e-12, "{found:?}");
    let p = chi_squared_upper(found.uncorrected, 3.0).unwrap();
    assert!((p - 0.00642).abs() < 5e-6, "{p}");
}

#[test]
fn tasters_who_all_rank_alike_have_no_f_but_full_agreement() {
    let found = friedman(&[vec![1.0, 5.0, 9.0], vec![2.0, 3.0, 4.0], vec![1.0, 2.0, 9.0]]).unwrap();
    assert_eq!((found.kendall_w, found.chi_squared, found.f), (1.0, 6.0, None));
}

#[test]
fn what_can_not_be_ranked_is_said() {
    assert_eq!(friedman(&[]), Err(Cannot::Tasters(2)));
    assert_eq!(friedman(&[vec![1.0, 2.0]]), Err(Cannot::Tasters(2)));
    assert_eq!(friedman(&[vec![1.0], vec![2.0]]), Err(Cannot::Teas(2)));
    assert_eq!(friedman(&[vec![1.0, 2.0], vec![2.0]]), Err(Cannot::Uneven));
    assert_eq!(friedman(&[vec![1.0, 2.0], vec![f64::NAN, 1.0]]), Err(Cannot::NotFinite));
    assert_eq!(friedman(&[vec![4.0, 4.0], vec![6.0, 6.0]]), Err(Cannot::AllTied));
}

/// Counted again by hand, by going through all orders of three teas.
#[test]
fn small_classes_have_the_chance_that_counting_gives() {
    let rows = |orders: &[[u8; 3]]| -> Vec<Vec<f64>> {
        orders.iter().map(|order| order.iter().map(|&rank| f64::from(rank)).collect()).collect()
    };
    for (orders, chi_squared, p) in [
        (vec![[1, 2, 3], [1, 2, 3], [1, 3, 2]], 14.0 / 3.0, 0.194_444_44),
        (vec![[1, 2, 3], [1, 2, 3], [1, 3, 2], [1, 3, 2]], 6.0, 0.069_444_44),
        (vec![[1, 2, 3], [1, 2, 3], [1, 2, 3], [1, 3, 2]], 6.5, 0.041_666_67),
    ] {
        let found = friedman(&rows(&orders)).unwrap();
        assert!((found.chi_squared - chi_squared).abs() < 1e-12, "{found:?}");
        assert!((found.exact_p.unwrap() - p).abs() < 1e-8, "{found:?}");
    }
}

/// By going through every order of every taster, ties kept, on drawn tables.
#[test]
fn the_exact_chance_is_that_of_all_orders() {
    let mut rng = fastrand::Rng::with_seed(11);
    for _ in 0..40 {
        let rows: Vec<Vec<f64>> =
            (0..3).map(|_| (0..3).map(|_| f64::from(rng.i32(1..=4))).collect()).collect();
        let Ok(found) = friedman(&rows) else { continue };
        let orders = [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]];
        let (mut reached, mut all) = (0, 0);
        for one in orders {
            for two in orders {
                let turned = |row: &[f64], order: [usize; 3]| order.map(|place| row[place]).to_vec();
                let other =
                    friedman(&[rows[0].clone(), turned(&rows[1], one), turned(&rows[2], two)]).unwrap();
                all += 1;
                reached += u32::from(other.chi_squared >= found.chi_squared - 1e-9);
            }
        }
        let p = f64::from(reached) / f64::from(all);
        assert!((found.exact_p.unwrap() - p).abs() < 1e-12, "{rows:?} {found:?} {p}");
    }
}
