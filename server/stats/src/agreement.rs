//! Whether the tasters agree: Kendall's W on their orders, Cronbach's alpha on their scores. [`super::icc`] has the
//! intraclass correlations.

use super::Cannot;
use super::dist::chi_squared_upper;
use super::ranks::midranks;
use super::sums::{full_table, squares};
use schemars::JsonSchema;
use serde::Serialize;

/// How far the tasters put the teas in the same order.
#[derive(Clone, Debug, PartialEq)]
pub struct Concordance {
    pub tasters: usize,
    pub teas: usize,
    /// Kendall's W, corrected for ties: 0 no common order, 1 all the same order.
    pub w: f64,
    /// m (n − 1) W, the same as Friedman's statistic.
    pub chi_squared: f64,
    /// Degrees of freedom, n − 1.
    pub df: usize,
    /// The chance of so much agreement if all orders were drawn blindly; an approximation that is rough for fewer
    /// than about eight tasters.
    pub p: f64,
    /// Each tea's sum of ranks; rank 1 is a taster's lowest score, equal scores share their mean rank.
    pub rank_sums: Vec<f64>,
    /// How many tasters gave every tea the same score. They have no order, so they pull W down without contradicting
    /// anybody.
    pub flat_tasters: usize,
    /// The mean of the rank correlations of every two tasters; absent if no two have an order.
    pub spearman: Option<MeanSpearman>,
}

/// The mean of Spearman's rank correlations of every two tasters.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MeanSpearman {
    /// The mean, −1 to 1.
    pub mean: f64,
    /// Over how many pairs of tasters who both have an order.
    pub pairs: usize,
}

/// Kendall's coefficient of concordance (Kendall and Babington Smith 1939) with the correction for ties:
/// W = 12 S / (m² (n³ − n) − m ΣT), S the squared deviations of the rank sums, T = Σ(t³ − t) over a taster's ties.
/// Rows of `scores` are tasters, columns teas; no cell may be missing.
///
/// # Errors
/// With fewer than two tasters or teas, a table that is not rectangular or not of numbers, or no order at all.
pub fn concordance(scores: &[Vec<f64>]) -> Result<Concordance, Cannot> {
    let (tasters, teas) = full_table(scores)?;
    let ranked: Vec<Vec<f64>> = scores.iter().map(|row| midranks(row).ranks).collect();
    let rank_sums: Vec<f64> = (0..teas).map(|tea| ranked.iter().map(|row| row[tea]).sum()).collect();
    let (m, n) = (tasters as f64, teas as f64);
    // The squared deviations of a taster's ranks are (n³ − n − T) / 12.
    let within: Vec<f64> = ranked.iter().map(|row| squares(row)).collect();
    let most = m * within.iter().sum::<f64>();
    if most == 0.0 {
        return Err(Cannot::AllTied);
    }
    let w = (squares(&rank_sums) / most).min(1.0);
    let chi_squared = m * (n - 1.0) * w;
    Ok(Concordance {
        tasters,
        teas,
        w,
        chi_squared,
        df: teas - 1,
        p: chi_squared_upper(chi_squared, n - 1.0)?,
        rank_sums,
        flat_tasters: within.iter().filter(|&&s| s == 0.0).count(),
        spearman: mean_spearman(&ranked, &within),
    })
}

/// From the ranks and each taster's squared deviations of them.
fn mean_spearman(ranked: &[Vec<f64>], within: &[f64]) -> Option<MeanSpearman> {
    let middle = (ranked[0].len() as f64 + 1.0) / 2.0;
    let (mut sum, mut pairs) = (0.0, 0);
    for (i, a) in ranked.iter().enumerate() {
        for (j, b) in ranked.iter().enumerate().skip(i + 1) {
            if within[i] > 0.0 && within[j] > 0.0 {
                let together: f64 = a.iter().zip(b).map(|(x, y)| (x - middle) * (y - middle)).sum();
                sum += together / (within[i] * within[j]).sqrt();
                pairs += 1;
            }
        }
    }
    (pairs > 0).then(|| MeanSpearman { mean: sum / f64::from(pairs), pairs: pairs as usize })
}

/// How well the class's mean scores would repeat with other tasters of the same kind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Alpha {
    /// How many tasters, the items of the formula.
    pub tasters: usize,
    /// How many teas, the cases of the formula.
    pub teas: usize,
    /// Cronbach's alpha, at most 1; below 0 if the tasters contradict each other. The same as ICC(3,k), whose interval
    /// and p hold for it.
    pub alpha: f64,
}

/// Cronbach's alpha (Cronbach 1951), k / (k − 1) · (1 − Σ variances of the tasters / variance of their sums).
/// Rows of `scores` are tasters, columns teas; no cell may be missing.
///
/// # Errors
/// With fewer than two tasters or teas, a table that is not rectangular or not of numbers, or teas whose mean scores
/// are all equal.
pub fn cronbach_alpha(scores: &[Vec<f64>]) -> Result<Alpha, Cannot> {
    let (tasters, teas) = full_table(scores)?;
    let single: f64 = scores.iter().map(|row| squares(row)).sum();
    if single == 0.0 {
        return Err(Cannot::AllEqual);
    }
    let sums: Vec<f64> = (0..teas).map(|tea| scores.iter().map(|row| row[tea]).sum()).collect();
    let whole = squares(&sums);
    if whole == 0.0 {
        return Err(Cannot::NoReliability);
    }
    let k = tasters as f64;
    Ok(Alpha { tasters, teas, alpha: k / (k - 1.0) * (1.0 - single / whole) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::examples::{EIGHT_BY_FOUR, FIRST_BASE, SHROUT_AND_FLEISS};
    use crate::sums::columns;
    use proptest::prelude::*;

    fn table<const N: usize>(rows: &[[i32; N]]) -> Vec<Vec<f64>> {
        rows.iter().map(|row| row.iter().map(|&v| f64::from(v)).collect()).collect()
    }

    /// 4 judges, 10 projects: a public worked example of Kendall's W; it prints the rank sums and ΣD² = 1048.
    #[test]
    fn kendalls_w_is_that_of_the_published_example() {
        let projects = table(&[
            [1, 2, 3, 4],
            [3, 1, 2, 2],
            [4, 4, 1, 3],
            [5, 5, 5, 1],
            [2, 6, 7, 6],
            [8, 3, 4, 7],
            [6, 8, 6, 5],
            [7, 7, 8, 9],
            [10, 10, 9, 8],
            [9, 9, 10, 10],
        ]);
        let found = concordance(&columns(&projects)).unwrap();
        assert_eq!(found.rank_sums, [10.0, 8.0, 12.0, 16.0, 21.0, 22.0, 25.0, 31.0, 37.0, 38.0]);
        assert_eq!(squares(&found.rank_sums), 1048.0);
        assert!((found.w - 0.793_939_4).abs() < 5e-8 && (found.chi_squared - 28.581_818).abs() < 5e-7);
        assert_eq!((found.tasters, found.teas, found.df, found.flat_tasters), (4, 10, 9, 0));
        assert!((found.p - 7.6208e-4).abs() < 5e-9);
        let spearman = found.spearman.unwrap();
        assert!(spearman.pairs == 6 && (spearman.mean - (4.0 * found.w - 1.0) / 3.0).abs() < 1e-12);
    }

    /// Hollander and Wolfe (1973), p. 140: 22 players rounding first base in three ways; W corrected for ties, and
    /// Friedman's statistic 11.143 with p 0.003805 as a statistics package prints them.
    #[test]
    fn w_of_the_ball_players_is_corrected_for_their_ties() {
        let found = concordance(&FIRST_BASE.map(Vec::from)).unwrap();
        assert_eq!(found.rank_sums, [53.0, 47.0, 32.0]);
        assert!((found.w - 0.253_246_8).abs() < 5e-8 && (found.chi_squared - 11.142_857_1).abs() < 5e-8);
        assert!((found.p - 0.003_805_04).abs() < 5e-9);
    }

    /// Own scores with ties: W is Friedman's corrected statistic, 16.63636 (scipy), over m (n − 1).
    #[test]
    fn ties_are_corrected_as_in_friedmans_test() {
        let found = concordance(&EIGHT_BY_FOUR.map(Vec::from)).unwrap();
        assert_eq!(found.rank_sums, [29.5, 23.0, 18.0, 9.5]);
        assert!((found.chi_squared - 16.636_36).abs() < 5e-6 && (found.p - 0.000_839_47).abs() < 5e-9);
    }

    /// Alpha with the judges as items; equal to ICC(3,k), as it must be.
    #[test]
    fn alpha_is_that_of_shrout_and_fleiss() {
        let found = cronbach_alpha(&columns(&SHROUT_AND_FLEISS.map(Vec::from))).unwrap();
        assert!((found.alpha - 0.909_315_5).abs() < 5e-8 && found.tasters == 4 && found.teas == 6);
    }

    #[test]
    fn what_has_no_order_is_said() {
        assert_eq!(concordance(&table(&[[5, 5, 5], [3, 3, 3]])), Err(Cannot::AllTied));
        assert_eq!(cronbach_alpha(&table(&[[5, 5, 5], [3, 3, 3]])), Err(Cannot::AllEqual));
        assert_eq!(cronbach_alpha(&table(&[[1, 2], [2, 1]])), Err(Cannot::NoReliability));
        assert_eq!(concordance(&table(&[[1, 2]])), Err(Cannot::Tasters(2)));
        assert_eq!(concordance(&[vec![1.0, f64::NAN], vec![1.0, 2.0]]), Err(Cannot::NotFinite));
        let one_order = concordance(&table(&[[5, 5, 5], [1, 2, 3]])).unwrap();
        assert_eq!((one_order.flat_tasters, one_order.spearman), (1, None));
        let two_of_three = concordance(&table(&[[1, 2, 3], [5, 5, 5], [1, 2, 3]])).unwrap();
        assert!((two_of_three.w - 2.0 / 3.0).abs() < 1e-12 && two_of_three.spearman.unwrap().mean == 1.0);
    }

    proptest! {
        #[test]
        fn w_lies_between_no_order_and_the_same_order(
            rows in prop::collection::vec([1i32..9, 1..9, 1..9, 1..9], 2..12),
        ) {
            if let Ok(found) = concordance(&table(&rows)) {
                prop_assert!((0.0..=1.0).contains(&found.w) && (0.0..=1.0).contains(&found.p));
                prop_assert!(found.spearman.is_none_or(|s| (-1.0 - 1e-12..=1.0 + 1e-12).contains(&s.mean)));
            }
            let same: Vec<[i32; 4]> = rows.iter().map(|_| [2, 1, 3, 3]).collect();
            prop_assert_eq!(concordance(&table(&same)).unwrap().w, 1.0);
        }

        #[test]
        fn without_ties_w_and_the_mean_correlation_say_the_same(
            keys in prop::collection::vec(any::<[u32; 5]>(), 2..10),
        ) {
            let scores: Vec<Vec<f64>> = keys.iter().map(|row| row.iter().map(|&v| f64::from(v)).collect()).collect();
            // A draw may fall on one number twice, or so near that it counts as a tie.
            prop_assume!(scores.iter().all(|row| midranks(row).ties == 0.0));
            let found = concordance(&scores).unwrap();
            let m = scores.len() as f64;
            prop_assert!((found.spearman.unwrap().mean - (m * found.w - 1.0) / (m - 1.0)).abs() < 1e-12);
        }
    }
}
